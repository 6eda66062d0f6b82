//! The page by modes: what each mode is, what was found where it is the worst; the settings that break a rule; and
//! every finding in groups.

use std::collections::HashMap;

use serde::Serialize;

use super::line::Line;
use crate::judge::{Finding, Verdict};
use crate::report::Report;
use crate::report::figures::{BearingTable, Drawings};
use crate::report::paper::Figure;
use crate::report::table::fold;
use crate::report::text::{setting, settings};
use crate::ruleset::Strength;

/// One mode.
#[derive(Serialize)]
pub(super) struct Mode {
    anchor: String,
    id: String,
    purpose: String,
    /// The settings that lead to it.
    set: String,
    /// How many of the required findings for which it is the worst mode came to each verdict that occurs.
    tally: String,
    /// Findings for which it is the worst mode and that do not pass, or pass with the least room.
    lines: Vec<Line>,
    figures: Vec<Figure>,
}

/// One setting of the vehicle in which something required is not met, or open.
#[derive(Serialize)]
pub(super) struct Setting {
    anchor: String,
    set: String,
    lines: Vec<Line>,
    /// Which head gives how much at which bearing, in zones of these findings.
    tables: Vec<BearingTable>,
}

/// Findings of one ruleset with one purpose and level.
#[derive(Serialize)]
pub(super) struct Group {
    anchor: String,
    title: String,
    rows: Vec<Row>,
}

/// One finding, or passes of one rule folded together under the one with the least room.
#[derive(Serialize)]
struct Row {
    line: Line,
    others: Vec<Line>,
}

/// The figures and tables of light that have not found their place on the page yet.
pub(super) struct Drawn {
    /// Each with its mode, by place in the package.
    of_modes: Vec<(usize, Figure)>,
    tables: Vec<BearingTable>,
}

impl Drawn {
    /// All of a report, each drawn once: what each mode gives round the vehicle, then when its heads are lit.
    pub fn of(drawings: &Drawings<'_>) -> Self {
        let polars = drawings.polars().into_iter().map(|polar| (polar.mode, polar.figure));
        let strips = drawings.strips().into_iter().map(|strip| (strip.mode, strip.figure));
        Self { of_modes: polars.chain(strips).collect(), tables: drawings.bearing_tables() }
    }

    /// Those of a mode.
    fn of_mode(&mut self, mode: usize) -> Vec<Figure> {
        self.of_modes.extract_if(.., |(of, _)| *of == mode).map(|(_, figure)| figure).collect()
    }

    /// Tables behind some of these findings, each at the first place where one of them stands.
    fn tables_of(&mut self, lines: &[Line]) -> Vec<BearingTable> {
        let stands = |table: &mut BearingTable| {
            table.findings.iter().any(|finding| lines.iter().any(|line| line.id == *finding))
        };
        self.tables.extract_if(.., stands).collect()
    }
}

/// As many of the passes with the least room are told of a mode.
const CLOSEST: usize = 5;

/// As many settings for a mode are named.
const MOST_SETTINGS: usize = 4;

/// Every mode of the package.
pub(super) fn modes(report: &Report<'_>, lines: &[Line], drawn: &mut Drawn) -> Vec<Mode> {
    let conduct = report.conduct;
    let package = report.package();
    let modes = package.modes.iter().zip(&conduct.modes).enumerate();
    modes
        .map(|(at, (mode, region))| {
            let set = match (conduct.space().inputs().described, region.is_empty()) {
                (_, true) => "no state that can occur".to_owned(),
                (false, _) => "its own displays; the package names no inputs".to_owned(),
                (true, false) => settings(conduct.space(), region, MOST_SETTINGS),
            };
            let here: Vec<(&Finding, &Line)> = report
                .findings()
                .zip(lines)
                .filter(|(finding, _)| finding.scope.mode.as_deref() == Some(mode.id.as_str()))
                .collect();
            Mode {
                anchor: format!("mode-{}", at + 1),
                id: mode.id.clone(),
                purpose: mode.purpose.clone().unwrap_or_default(),
                set,
                tally: tally(&here),
                lines: worth_telling(&here),
                figures: drawn.of_mode(at),
            }
        })
        .collect()
}

fn tally(here: &[(&Finding, &Line)]) -> String {
    let mut words: Vec<(&str, usize)> = Vec::new();
    for (_, line) in here.iter().filter(|(finding, _)| finding.strength == Strength::Required) {
        match words.iter_mut().find(|(word, _)| *word == line.word) {
            Some((_, count)) => *count += 1,
            None => words.push((&line.word, 1)),
        }
    }
    let said: Vec<String> = words.into_iter().map(|(word, count)| format!("{count} {word}")).collect();
    if said.is_empty() { "no required finding has its worst here".to_owned() } else { said.join(", ") }
}

/// What does not pass, and then the passes with the least room.
fn worth_telling(here: &[(&Finding, &Line)]) -> Vec<Line> {
    let required = here.iter().filter(|(finding, _)| finding.strength == Strength::Required);
    let (mut passes, others): (Vec<_>, Vec<_>) =
        required.partition(|(finding, _)| matches!(finding.verdict, Verdict::Pass | Verdict::NotApplicable));
    passes.retain(|(finding, _)| finding.margin.is_some());
    let room = |finding: &Finding| finding.margin.unwrap_or(f64::INFINITY);
    passes.sort_by(|(a, _), (b, _)| room(a).total_cmp(&room(b)));
    others.into_iter().chain(passes.into_iter().take(CLOSEST)).map(|(_, line)| line.clone()).collect()
}

/// The settings in which something required fails or is open, each once.
pub(super) fn worst(report: &Report<'_>, lines: &[Line], drawn: &mut Drawn) -> Vec<Setting> {
    let mut all: Vec<Setting> = Vec::new();
    for (finding, line) in report.findings().zip(lines) {
        let bad = matches!(finding.verdict, Verdict::Fail | Verdict::TooClose | Verdict::NotShown);
        if finding.strength != Strength::Required || !bad || finding.witness.state.is_none() {
            continue;
        }
        let Some(set) = setting(finding) else { continue };
        match all.iter_mut().find(|known| known.set == set) {
            Some(known) => known.lines.push(line.clone()),
            None => {
                let anchor = format!("setting-{}", all.len() + 1);
                all.push(Setting { anchor, set, lines: vec![line.clone()], tables: Vec::new() });
            }
        }
    }
    for setting in &mut all {
        setting.tables = drawn.tables_of(&setting.lines);
    }
    all
}

/// Every finding, by ruleset, purpose and level, in the order in which they were judged.
pub(super) fn groups(report: &Report<'_>, lines: &[Line]) -> Vec<Group> {
    let mut groups: Vec<(String, Vec<&Finding>)> = Vec::new();
    for finding in report.findings() {
        let scope = &finding.scope;
        let purpose = scope.purpose.as_deref().unwrap_or("the vehicle");
        let level = scope.level.as_deref().map(|level| format!(", {level} level")).unwrap_or_default();
        let title = format!("{}: {purpose}{level}", finding.ruleset);
        match groups.iter_mut().find(|(known, _)| *known == title) {
            Some((_, group)) => group.push(finding),
            None => groups.push((title, vec![finding])),
        }
    }
    let known: HashMap<&str, &Line> = lines.iter().map(|line| (line.id.as_str(), line)).collect();
    let line = |finding: &Finding| known.get(finding.id.as_str()).map(|line| (*line).clone());
    let rows = |findings: &[&Finding]| -> Vec<Row> {
        let row = |row: crate::report::table::Row<'_>| {
            let others = row.others.iter().filter_map(|finding| line(finding)).collect();
            Some(Row { line: line(row.finding)?, others })
        };
        fold(findings).into_iter().filter_map(row).collect()
    };
    let numbered = groups.iter().enumerate();
    numbered
        .map(|(at, (title, findings))| Group {
            anchor: format!("group-{}", at + 1),
            title: title.clone(),
            rows: rows(findings),
        })
        .collect()
}

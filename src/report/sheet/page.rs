//! The sheet to print: lines that ask the same stand under one heading, and say only what is their own.

use serde::Serialize;

use super::care::{BEFORE, FILL_IN};
use super::{Row, by_hand, in_short, lines_of, reckon, row, rule, source};
use crate::readings::{Line, STOPS};
use crate::report::paper::{Paper, in_html};
use crate::ruleset::Strength;

/// Heads named on paper before the rest is only counted.
const MOST_NAMED: usize = 12;

/// Empty rows for instruments.
const INSTRUMENTS: usize = 4;

/// What is the sheet's own.
#[derive(Serialize)]
struct Sheet {
    owner: String,
    count: usize,
    left_out: String,
    before: &'static [&'static str],
    fill_in: &'static [&'static str],
    stops: Vec<Stop>,
    sources: Vec<String>,
    instruments: Vec<usize>,
}

/// One stop of the walk.
#[derive(Serialize)]
struct Stop {
    id: String,
    name: &'static str,
    groups: Vec<Group>,
}

/// Lines that ask the same, under one heading.
#[derive(Serialize)]
struct Group {
    says: String,
    /// What stands before the `@` of the ids of its lines.
    rule: String,
    /// Its place in the list of sources, from 1.
    source: usize,
    /// How it is done, where that is not as in the group before.
    how: String,
    /// What all of its lines are set to; where they differ, each says it.
    set_to: String,
    care: String,
    rows: Vec<Row>,
    /// Those that may stand on another page than the heading.
    more: Vec<Row>,
}

/// So many lines stand on one page with their heading; of more the first two.
const KEPT_TOGETHER: usize = 4;

/// What is said once of a line and of those after it.
fn heading(line: &Line) -> (String, String, String) {
    let advice = if line.strength == Strength::Required { "" } else { " (advice)" };
    let reckon = match reckon(line) {
        reckon if reckon.is_empty() => reckon,
        reckon => format!(", reckon with {reckon}"),
    };
    let how = format!("{} ({}{reckon}): {}", line.proof.word(), line.instrument, by_hand(line));
    (format!("{}{advice}", line.says), source(line), how)
}

/// Lines in their order, those after each other that are shown in the same way together.
fn groups(lines: &[(usize, &Line)], sources: &mut Vec<String>) -> Vec<Group> {
    let mut before = String::new();
    let alike = lines.chunk_by(|(_, one), (_, other)| heading(one) == heading(other) && rule(one) == rule(other));
    let groups = alike.filter_map(|part| {
        let first = part.first()?.1;
        let rule = rule(first).to_owned();
        let (says, source, how) = heading(first);
        let mut rows: Vec<Row> = part.iter().map(|(number, line)| row(*number, line, MOST_NAMED)).collect();
        let (mut set_to, mut care) = (String::new(), String::new());
        if part.len() > 1 && part.iter().all(|(_, line)| line.state == first.state) {
            (set_to, care) = (first.state.clone().unwrap_or_default(), in_short(first));
            for row in &mut rows {
                (row.set_to, row.care) = (String::new(), String::new());
            }
        }
        let at = sources.iter().position(|known| *known == source).unwrap_or(sources.len());
        if at == sources.len() {
            sources.push(source);
        }
        let source = at + 1;
        let more = if rows.len() > KEPT_TOGETHER { rows.split_off(2) } else { Vec::new() };
        let how = if before == how { String::new() } else { how };
        if !how.is_empty() {
            before.clone_from(&how);
        }
        Some(Group { says, rule, source, how, set_to, care, rows, more })
    });
    groups.collect()
}

/// The sheet to print.
pub(in crate::report) fn write_html(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let (lines, left_out) = lines_of(paper);
    let numbered: Vec<(usize, &Line)> = lines.iter().enumerate().map(|(at, line)| (at + 1, line)).collect();
    let mut sources = Vec::new();
    let stops = STOPS.iter().map(|(name, stop)| {
        let here: Vec<(usize, &Line)> = numbered.iter().filter(|(_, line)| line.stop == *stop).copied().collect();
        Stop { id: name.replace(' ', "-"), name, groups: groups(&here, &mut sources) }
    });
    let stops: Vec<Stop> = stops.filter(|stop| !stop.groups.is_empty()).collect();
    let vehicle = &paper.report.package().vehicle;
    let sheet = Sheet {
        owner: vehicle.owner.clone().unwrap_or_default(),
        count: lines.len(),
        left_out,
        before: BEFORE,
        fill_in: FILL_IN,
        stops,
        sources,
        instruments: (1..=INSTRUMENTS).collect(),
    };
    in_html("sheet.html", &format!("Acceptance sheet: {}", vehicle.name), paper, sheet)
}

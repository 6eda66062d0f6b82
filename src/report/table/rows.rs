//! The rows: findings grouped, folded, and set in columns that line up from group to group.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, Width, presets};

use super::super::Report;
use super::super::number::{margin, pair};
use super::super::text::{LEAST_WIDTH, paragraph};
use super::ROOMY;
use crate::judge::{Finding, Found, Verdict};
use crate::package::Grade;
use crate::ruleset::{Demand, Require, Ruleset, Strength};
use crate::units::Dimension;

/// Findings in groups: by purpose, then level, then zone. All groups share their column widths.
pub(super) fn findings_table(report: &Report<'_>, ruleset: &Ruleset, findings: &[&Finding], out: &mut String) {
    let mut purposes: Vec<Option<&str>> = ruleset.purposes().into_iter().map(Some).collect();
    purposes.push(None);
    let mut levels: Vec<Option<&str>> = ruleset.protocol.levels.iter().map(|level| Some(level.name.as_str())).collect();
    levels.push(None);
    let mut zones: Vec<Option<&str>> =
        ruleset.protocol.zones.sectors.iter().map(|sector| Some(sector.name.as_str())).collect();
    zones.push(None);
    let mut groups: Vec<(String, Vec<Vec<String>>)> = Vec::new();
    for purpose in purposes {
        for level in &levels {
            let here = |finding: &&&Finding| {
                finding.scope.purpose.as_deref() == purpose && finding.scope.level.as_deref() == *level
            };
            let mut group: Vec<&Finding> = findings.iter().filter(here).copied().collect();
            group.sort_by_key(|finding| zones.iter().position(|zone| *zone == finding.scope.zone.as_deref()));
            if !group.is_empty() {
                let several = modes_for(report, purpose).len() > 1;
                let rows = fold(&group).iter().map(|row| cells(row, report.width >= ROOMY, several)).collect();
                groups.push((group_title(report, purpose, *level), rows));
            }
        }
    }
    let header = if report.width >= ROOMY { ROOMY_HEADER.as_slice() } else { NARROW_HEADER.as_slice() };
    let widths = widths(header, &groups, report.width);
    for (title, rows) in &groups {
        out.push('\n');
        paragraph(title, "", report.width, out);
        print_rows(header, rows, &widths, out);
    }
}

const ROOMY_HEADER: [&str; 9] =
    ["verdict", "zone", "rule", "required", "found", "margin", "basis", "evidence", "look at"];
const NARROW_HEADER: [&str; 8] = ["verdict", "zone, rule", "required", "found", "margin", "basis", "evid.", "look at"];

fn group_title(report: &Report<'_>, purpose: Option<&str>, level: Option<&str>) -> String {
    let title = match (purpose, level) {
        (Some(purpose), Some(level)) => format!("{purpose}, {level} level"),
        (Some(purpose), None) if report.rulesets.iter().all(|ruleset| ruleset.protocol.levels.is_empty()) => {
            purpose.to_owned()
        }
        (Some(purpose), None) => format!("{purpose}, all levels together"),
        (None, Some(level)) => format!("mounting, {level} level"),
        (None, None) => "the vehicle".to_owned(),
    };
    let modes = modes_for(report, purpose);
    if modes.is_empty() { title } else { format!("{title} (mode {})", modes.join(", ")) }
}

fn modes_for<'p>(report: &Report<'p>, purpose: Option<&str>) -> Vec<&'p str> {
    let modes = report.package().modes.iter().filter(|mode| purpose.is_some() && mode.purpose.as_deref() == purpose);
    modes.map(|mode| mode.id.as_str()).collect()
}

/// A row of the table: one finding, or passing findings of one rule folded together.
pub(in crate::report) struct Row<'a> {
    /// Of those that are folded, the one with the least room.
    pub finding: &'a Finding,
    /// All others, in their order.
    pub others: Vec<&'a Finding>,
}

/// Passing findings that differ only in the head (not in its colour), the circuit or the sounder and its tone become one
/// row with the least margin.
pub(in crate::report) fn fold<'a>(findings: &[&'a Finding]) -> Vec<Row<'a>> {
    let mut rows: Vec<Row<'a>> = Vec::new();
    for finding in findings {
        let of_many = |finding: &Finding| {
            let scope = &finding.scope;
            scope.head.is_some() || scope.circuit.is_some() || scope.sounder.is_some()
        };
        let folds = |finding: &Finding| of_many(finding) && finding.verdict == Verdict::Pass;
        let same = |row: &&mut Row<'_>| {
            let (one, other) = (&row.finding.scope, &finding.scope);
            // A colour or class has a limit of its own.
            let place = one.zone == other.zone && one.emitter == other.emitter && one.class == other.class;
            let alike = row.finding.rule == finding.rule && place;
            alike && folds(finding) && folds(row.finding)
        };
        match rows.iter_mut().find(same) {
            Some(row) => {
                let closer = finding.margin.unwrap_or(f64::INFINITY) < row.finding.margin.unwrap_or(f64::INFINITY);
                let other = if closer { std::mem::replace(&mut row.finding, finding) } else { finding };
                row.others.push(other);
            }
            None => rows.push(Row { finding, others: Vec::new() }),
        }
    }
    rows
}

/// `several`: more than one mode serves the purpose, so each row names its worst.
fn cells(row: &Row<'_>, roomy: bool, several: bool) -> Vec<String> {
    let finding = row.finding;
    let folded = !row.others.is_empty();
    let (found, required) = pair(finding);
    let scope = &finding.scope;
    let class = scope.class.as_ref().map(|class| format!("class {class}"));
    let thing = [&scope.head, &scope.circuit, &scope.supply, &scope.sounder, &scope.place].into_iter().flatten().next();
    let head = if folded { None } else { thing.cloned() };
    let things = match (scope.circuit.is_some(), scope.tone.is_some(), scope.sounder.is_some()) {
        (true, ..) => "circuits",
        (_, true, _) => "tones",
        (.., true) => "sounders",
        _ => "heads",
    };
    let tone = scope.tone.clone().filter(|_| !folded);
    let heads = folded.then(|| format!("({} {things})", row.others.len() + 1));
    // A thing that a person states often gives its name to the rule.
    let item = scope.item.clone().filter(|item| *item != finding.rule);
    let about = [Some(finding.rule.clone()), class, head, tone, scope.emitter.clone(), item, heads];
    let rule = about.into_iter().flatten().collect::<Vec<_>>().join(" ");
    let found = if folded { of_all(row, found) } else { found };
    let zone = finding.scope.zone.clone().unwrap_or_default();
    let with_mode = |place: String| match &finding.scope.mode {
        Some(mode) if several && place.is_empty() => mode.clone(),
        Some(mode) if several => format!("{place}, {mode}"),
        _ => place,
    };
    let missing = matches!(finding.limit, Demand::Missing { .. });
    let basis = if missing { "-" } else { finding.source.basis.word() };
    if roomy {
        let unit = if missing || finding.unit.dimension() == Dimension::Words { "" } else { finding.unit.symbol() };
        let required = format!("{required} {unit}").trim_end().to_owned();
        let evidence = finding.evidence.map(Grade::word).unwrap_or_default().to_owned();
        let look = with_mode(look_at(finding, folded));
        vec![mark(finding), zone, rule, required, found, margin(finding), basis.to_owned(), evidence, look]
    } else {
        let rule = if zone.is_empty() { rule } else { format!("{zone} {rule}") };
        let required = required.replace(">= ", ">=").replace("<= ", "<=");
        let short = |grade| match grade {
            Grade::Laboratory => "lab",
            Grade::Measured => "meas.",
            Grade::Maker => "maker",
            Grade::Estimate => "est.",
        };
        let evidence = finding.evidence.map(short).unwrap_or_default().to_owned();
        let basis = basis.replace('-', " ").trim().to_owned();
        vec![
            mark(finding),
            rule,
            required,
            found,
            margin(finding),
            basis,
            evidence,
            with_mode(look_at_briefly(finding)),
        ]
    }
}

/// What was found of all that are folded: from the least room on, or, where a limit lies on both sides, between what they
/// are found to be and which of these is the nearest.
fn of_all(row: &Row<'_>, nearest: String) -> String {
    if row.finding.unit.dimension() == Dimension::Words {
        return nearest;
    }
    if row.finding.require == Require::AtMost {
        return format!("up to {nearest}");
    }
    if !matches!(row.finding.limit, Demand::Range { .. }) {
        return format!("from {nearest}");
    }
    let number = |finding: &&Finding| match finding.found {
        Found::Number(number) => number,
        _ => f64::NAN,
    };
    let all = || row.others.iter().copied().chain([row.finding]);
    let least = all().min_by(|one, other| number(one).total_cmp(&number(other)));
    let most = all().max_by(|one, other| number(one).total_cmp(&number(other)));
    match (least.map(|one| pair(one).0), most.map(|one| pair(one).0)) {
        (Some(least), Some(most)) if least == most => least,
        (Some(least), Some(most)) => format!("{least} to {most} (nearest a limit: {nearest})"),
        _ => nearest,
    }
}

/// Of a cell its length, that of its longest word, and that of its longest piece between blanks and hyphens.
type Lengths = (usize, usize, usize);

/// As wide as the widest cell; where that is too much, the columns give way in which the fewest cells must wrap.
fn widths(header: &[&str], groups: &[(String, Vec<Vec<String>>)], width: u16) -> Vec<usize> {
    let measured = |cell: &str| -> Lengths {
        let length = |text: &str| text.chars().count();
        let longest = |pieces: &mut dyn Iterator<Item = &str>| pieces.map(length).max().unwrap_or(0);
        let pieces = longest(&mut cell.split(' ').flat_map(|word| word.split_inclusive('-')));
        (length(cell), longest(&mut cell.split(' ')), pieces)
    };
    let cells = |at: usize| {
        // A title stands over every group.
        let titles = std::iter::repeat_n(header.get(at).copied(), groups.len()).flatten();
        let rows = groups.iter().flat_map(|(_, rows)| rows).filter_map(move |row| row.get(at).map(String::as_str));
        titles.chain(rows).map(measured).collect()
    };
    let columns: Vec<Vec<Lengths>> = (0..header.len()).map(cells).collect();
    let wraps = |column: &[Lengths], width: usize| -> usize {
        let of_cell = |(length, longest_word, longest_piece): &Lengths| match () {
            () if *length <= width => 0,
            () if *longest_word <= width => 1,
            () if *longest_piece <= width => PARTED,
            () => BROKEN,
        };
        column.iter().map(of_cell).sum()
    };
    let mut widths: Vec<usize> =
        columns.iter().map(|column| column.iter().map(|(length, ..)| *length).max().unwrap_or(0)).collect();
    let all = usize::from(width.max(LEAST_WIDTH)).saturating_sub(header.len() * GAP);
    while widths.iter().sum::<usize>() > all {
        let narrowed = widths.iter().zip(&columns).enumerate().filter(|(_, (width, _))| **width > NARROWEST);
        let cost = |(at, (width, column)): (usize, (&usize, &Vec<Lengths>))| {
            (wraps(column, width - 1) - wraps(column, *width), usize::MAX - width, at)
        };
        let Some((_, _, at)) = narrowed.map(cost).min() else { break };
        widths.iter_mut().skip(at).take(1).for_each(|width| *width -= 1);
    }
    widths
}

/// A name parted behind a hyphen is as bad as this many cells that wrap between words.
const PARTED: usize = 12;

/// A word or a figure broken where it has no hyphen is as bad as this many, more than any table has.
const BROKEN: usize = 10_000;

/// No column is narrower.
const NARROWEST: usize = 5;

/// Columns apart.
const GAP: usize = 1;

/// A cell in lines of this width, where a word of it is wider: such a name is parted behind its hyphens.
fn at_hyphens(cell: &str, width: usize) -> String {
    let length = |text: &str| text.chars().count();
    if cell.split(' ').all(|word| length(word) <= width) {
        return cell.to_owned();
    }
    let mut lines = vec![String::new()];
    for word in cell.split(' ') {
        let pieces: Vec<&str> = if length(word) > width { word.split_inclusive('-').collect() } else { vec![word] };
        for (at, piece) in pieces.into_iter().enumerate() {
            let Some(line) = lines.last_mut() else { continue };
            let gap = if at == 0 && !line.is_empty() { " " } else { "" };
            if line.is_empty() || length(line) + gap.len() + length(piece) <= width {
                line.push_str(gap);
                line.push_str(piece);
            } else {
                lines.push(piece.to_owned());
            }
        }
    }
    lines.join("\n")
}

fn print_rows(header: &[&str], rows: &[Vec<String>], widths: &[usize], out: &mut String) {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_header(header.to_vec());
    for row in rows {
        table.add_row(row.iter().zip(widths).map(|(cell, width)| at_hyphens(cell, *width)));
    }
    let gap = u16::try_from(GAP).unwrap_or(1);
    for ((column, width), title) in table.column_iter_mut().zip(widths).zip(header) {
        column.set_padding((0, gap));
        let width = u16::try_from(width + GAP).unwrap_or(u16::MAX);
        column.set_constraint(ColumnConstraint::Absolute(Width::Fixed(width)));
        if matches!(*title, "required" | "found" | "margin") {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    for line in table.lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

/// The verdict as the first word of a row: a mark that is read without colour, then the word.
pub(super) fn mark(finding: &Finding) -> String {
    let mark = match finding.verdict {
        Verdict::Pass => " ",
        Verdict::Fail if finding.strength == Strength::Advice => "x",
        Verdict::Fail => return "X FAIL".to_owned(),
        Verdict::NotShown => "?",
        Verdict::TooClose => "~",
        Verdict::Excepted => "=",
        Verdict::NotApplicable => "-",
    };
    format!("{mark} {}", finding.verdict.print())
}

/// Where to look: bearing and elevation, or the head.
pub(in crate::report) fn look_at(finding: &Finding, folded: bool) -> String {
    let witness = &finding.witness;
    let bearing = witness.bearing.map(|bearing| format!("{bearing} deg"));
    let elevation = witness.elevation.filter(|elevation| *elevation != 0.0);
    let elevation = elevation.map(|up| format!("{} {}", up.abs(), if up > 0.0 { "up" } else { "down" }));
    let named = witness.head.clone().filter(|_| folded || finding.scope.head.is_none());
    let parts: Vec<String> = [bearing, elevation, named].into_iter().flatten().collect();
    parts.join(", ")
}

/// The bearing and elevation alone, `315 -5`; heads are named in the lists below the table.
fn look_at_briefly(finding: &Finding) -> String {
    let witness = &finding.witness;
    let elevation = witness.elevation.filter(|elevation| *elevation != 0.0).map(|up| format!(" {up:+}"));
    witness.bearing.map(|bearing| format!("{bearing}{}", elevation.unwrap_or_default())).unwrap_or_default()
}

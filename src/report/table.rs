//! The table for a terminal: what was found, by purpose, level and zone; then what fails, in full.
//!
//! The last lines stay on screen, so the failing rows stand there once more, each in words. The verdict is the first
//! word of its row, with a mark that is read without colour.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, Width, presets};

use super::number::{margin, pair};
use super::text::{LEAST_WIDTH, heading, paragraph};
use super::{CAUTIONS, Report, source_line};
use crate::judge::{Counts, Finding, Status, Verdict};
use crate::measure::BoundaryPoints;
use crate::package::Grade;
use crate::ruleset::{Demand, Ruleset, Strength};
use crate::units::{Dimension, Unit};

/// Below this many columns words are shortened and cells wrap.
const ROOMY: u16 = 120;

/// The whole table.
pub(super) fn write(report: &Report<'_>) -> String {
    let mut out = String::new();
    header(report, &mut out);
    for ruleset in report.rulesets {
        let of_it = report.findings().filter(|finding| finding.ruleset == ruleset.id);
        let (required, advice): (Vec<_>, Vec<_>) = of_it.partition(|finding| finding.strength == Strength::Required);
        ruleset_lines(report, ruleset, &mut out);
        findings_table(report, ruleset, &required, &mut out);
        if !advice.is_empty() {
            heading(&format!("Advice of {} (never touches the result)", ruleset.id), report.width, &mut out);
            findings_table(report, ruleset, &advice, &mut out);
        }
    }
    sources(report, &mut out);
    notes(report, &mut out);
    remarks(report, &mut out);
    open_points(report, &mut out);
    failing(report, &mut out);
    summary(report, &mut out);
    out
}

fn header(report: &Report<'_>, out: &mut String) {
    let package = report.package;
    let vehicle = &package.vehicle;
    let lines = [
        format!("{}  ({}), as of {}", vehicle.name, package.file, report.as_of),
        vehicle.owner.clone().map(|owner| format!("owner: {owner}")).unwrap_or_default(),
        vehicle.contracted.map(|date| format!("contracted: {date}")).unwrap_or_default(),
    ];
    for line in lines.iter().filter(|line| !line.is_empty()) {
        paragraph(line, "", report.width, out);
    }
}

fn ruleset_lines(report: &Report<'_>, ruleset: &Ruleset, out: &mut String) {
    heading(&format!("{}: {}, edition {}", ruleset.id, ruleset.title, ruleset.edition), report.width, out);
    for overlay in &ruleset.overlays {
        let line =
            format!("changed by {}: {} ({}, {})", overlay.id, overlay.title, overlay.authority, overlay.reference);
        paragraph(&line, "", report.width, out);
    }
    if report.width < ROOMY {
        let mut said: Vec<String> = Vec::new();
        for unit in Unit::all().filter(|unit| unit.dimension() != Dimension::Words) {
            let of_it = ruleset.rules.iter().filter(|rule| rule.unit == unit);
            let rules: Vec<&str> = of_it.map(|rule| rule.id.as_str()).collect();
            if !rules.is_empty() {
                said.push(format!("{unit} for {}", rules.join(", ")));
            }
        }
        let line = format!("Units: {}. Look at: bearing, elevation in deg.", said.join("; "));
        paragraph(&line, "  ", report.width, out);
    }
}

/// Findings in groups: by purpose, then level, then zone. All groups share their column widths.
fn findings_table(report: &Report<'_>, ruleset: &Ruleset, findings: &[&Finding], out: &mut String) {
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
    let modes = report.package.modes.iter().filter(|mode| purpose.is_some() && mode.purpose.as_deref() == purpose);
    modes.map(|mode| mode.id.as_str()).collect()
}

/// A row of the table: one finding, or passing findings of one rule folded together.
struct Row<'a> {
    finding: &'a Finding,
    heads: usize,
}

/// Passing findings that differ only in the head become one row with the least margin.
fn fold<'a>(findings: &[&'a Finding]) -> Vec<Row<'a>> {
    let mut rows: Vec<Row<'a>> = Vec::new();
    for finding in findings {
        let folds = |finding: &Finding| finding.scope.head.is_some() && finding.verdict == Verdict::Pass;
        let same = |row: &&mut Row<'_>| {
            let alike = row.finding.rule == finding.rule && row.finding.scope.zone == finding.scope.zone;
            alike && folds(finding) && folds(row.finding)
        };
        match rows.iter_mut().find(same) {
            Some(row) => {
                row.heads += 1;
                if finding.margin.unwrap_or(f64::INFINITY) < row.finding.margin.unwrap_or(f64::INFINITY) {
                    row.finding = finding;
                }
            }
            None => rows.push(Row { finding, heads: 1 }),
        }
    }
    rows
}

/// `several`: more than one mode serves the purpose, so each row names its worst.
fn cells(row: &Row<'_>, roomy: bool, several: bool) -> Vec<String> {
    let finding = row.finding;
    let folded = row.heads > 1;
    let (found, required) = pair(finding);
    let rule = match (&finding.scope.head, folded) {
        (_, true) => format!("{} ({} heads)", finding.rule, row.heads),
        (Some(head), false) => format!("{} {head}", finding.rule),
        (None, false) => finding.rule.clone(),
    };
    let found = if folded { format!("from {found}") } else { found };
    let zone = finding.scope.zone.clone().unwrap_or_default();
    let with_mode = |place: String| match &finding.scope.mode {
        Some(mode) if several && place.is_empty() => mode.clone(),
        Some(mode) if several => format!("{place}, {mode}"),
        _ => place,
    };
    let missing = matches!(finding.limit, Demand::Missing { .. });
    let basis = if missing { "-" } else { finding.source.basis.word() };
    if roomy {
        let unit = if missing || finding.unit.symbol() == "colours" { "" } else { finding.unit.symbol() };
        let required = format!("{required} {unit}").trim_end().to_owned();
        let evidence = finding.evidence.map(Grade::word).unwrap_or_default().to_owned();
        let look = with_mode(look_at(finding, folded));
        vec![mark(finding.verdict), zone, rule, required, found, margin(finding), basis.to_owned(), evidence, look]
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
            mark(finding.verdict),
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

/// As wide as the widest cell; where that is too much, the cells that can wrap at words give way.
fn widths(header: &[&str], groups: &[(String, Vec<Vec<String>>)], width: u16) -> Vec<usize> {
    let rows = || groups.iter().flat_map(|(_, rows)| rows);
    let widest = |at: usize| rows().filter_map(|row| row.get(at)).map(|cell| cell.chars().count()).max().unwrap_or(0);
    let word = |at: usize| {
        let words = rows().filter_map(|row| row.get(at)).flat_map(|cell| cell.split(' '));
        words.map(|word| word.chars().count()).max().unwrap_or(0)
    };
    let mut widths: Vec<usize> = (0..).zip(header).map(|(at, title)| widest(at).max(title.len())).collect();
    let gaps = header.len() * GAP;
    let mut excess = (widths.iter().sum::<usize>() + gaps).saturating_sub(usize::from(width.max(LEAST_WIDTH)));
    // The widest first, down to its longest word; last of all the words themselves.
    for floor_is_word in [true, false] {
        while excess > 0 {
            let floor = |at: usize| {
                let title = header.get(at).map_or(0, |title| title.split(' ').map(str::len).max().unwrap_or(0));
                if floor_is_word { word(at).max(title) } else { 5 }
            };
            let can = widths.iter().enumerate().filter(|(at, width)| **width > floor(*at));
            let Some(at) = can.max_by_key(|(_, width)| **width).map(|(at, _)| at) else { break };
            if let Some(width) = widths.get_mut(at) {
                *width -= 1;
                excess -= 1;
            }
        }
    }
    widths
}

/// Columns apart.
const GAP: usize = 1;

fn print_rows(header: &[&str], rows: &[Vec<String>], widths: &[usize], out: &mut String) {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_header(header.to_vec());
    for row in rows {
        table.add_row(row.clone());
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
fn mark(verdict: Verdict) -> String {
    let mark = match verdict {
        Verdict::Pass => " ",
        Verdict::Fail => return "X FAIL".to_owned(),
        Verdict::NotShown => "?",
        Verdict::TooClose => "~",
        Verdict::Excepted => "=",
        Verdict::NotApplicable => "-",
    };
    format!("{mark} {}", verdict.print())
}

/// Where to look: bearing and elevation, or the head.
fn look_at(finding: &Finding, folded: bool) -> String {
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

fn sources(report: &Report<'_>, out: &mut String) {
    let mut lines: Vec<(String, Vec<&str>)> = Vec::new();
    for finding in report.findings().filter(|finding| !matches!(finding.limit, Demand::Missing { .. })) {
        let line = format!("{} [{}]", source_line(&finding.source), finding.source.basis.word());
        match lines.iter_mut().find(|(known, _)| *known == line) {
            Some((_, rules)) if rules.contains(&finding.rule.as_str()) => {}
            Some((_, rules)) => rules.push(&finding.rule),
            None => lines.push((line, vec![&finding.rule])),
        }
    }
    if lines.is_empty() {
        return;
    }
    heading("Where the limits come from", report.width, out);
    for (line, rules) in lines {
        paragraph(&format!("- {}: {line}", rules.join(", ")), "  ", report.width, out);
    }
}

/// How the vehicle was looked at, and which displays took heads from others.
fn notes(report: &Report<'_>, out: &mut String) {
    heading("How it was looked at", report.width, out);
    let mut methods: Vec<&str> = report.findings().filter_map(|finding| finding.method.as_deref()).collect();
    methods.sort_unstable();
    methods.dedup();
    for method in methods {
        paragraph(&format!("- {method}"), "  ", report.width, out);
    }
    for ruleset in report.rulesets {
        let protocol = &ruleset.protocol;
        let boundary = match protocol.zones.boundary_points {
            BoundaryPoints::Both => "points on a dividing line belong to both zones",
            BoundaryPoints::First => "points on a dividing line belong to the zone they begin",
            BoundaryPoints::Unknown => {
                "whom points on a dividing line belong to is not known: both readings are computed, the less favourable stands in the table"
            }
        };
        let signal = crate::units::format_number(protocol.signal.at_least.value(), 1);
        paragraph(&format!("- {}: {boundary}; a signal is {signal} cd.s/min", ruleset.id), "  ", report.width, out);
    }
    let mut taken: Vec<String> = Vec::new();
    for (mode, one) in &report.judged.overrides {
        let line = format!("- mode {mode}: display \"{}\" takes heads from \"{}\"", one.winner, one.loser);
        if !taken.contains(&line) {
            taken.push(line);
        }
    }
    for line in taken {
        paragraph(&line, "  ", report.width, out);
    }
}

/// The other reading of the boundary points; `explain`, JSON and CSV hold it.
fn is_reading(note: &str) -> bool {
    note.starts_with("with boundary points")
}

/// What a reader must know about findings that are decided all the same (lower bounds, other voltages, exceptions).
fn remarks(report: &Report<'_>, out: &mut String) {
    let mut remarks: Vec<(&str, Vec<&str>)> = Vec::new();
    for finding in report.findings() {
        let decided = matches!(finding.verdict, Verdict::Pass | Verdict::Excepted);
        for note in finding.notes.iter().filter(|note| decided && !is_reading(note)) {
            match remarks.iter_mut().find(|(known, _)| known == note) {
                Some((_, ids)) => ids.push(&finding.id),
                None => remarks.push((note, vec![&finding.id])),
            }
        }
    }
    if remarks.is_empty() {
        return;
    }
    heading("Remarks", report.width, out);
    for (note, ids) in remarks {
        let more = if ids.len() > 3 { format!(" and {} more", ids.len() - 3) } else { String::new() };
        let ids: Vec<&str> = ids.into_iter().take(3).collect();
        paragraph(&format!("- {note}: {}{more}", ids.join(" ")), "  ", report.width, out);
    }
}

/// What is open, and what would show it; findings that want the same thing stand together.
fn open_points(report: &Report<'_>, out: &mut String) {
    let open = report.findings().filter(|finding| matches!(finding.verdict, Verdict::NotShown | Verdict::TooClose));
    let mut groups: Vec<(String, Vec<&Finding>)> = Vec::new();
    for finding in open {
        let reason = finding.notes.first().cloned().unwrap_or_else(|| "within the uncertainty of the limit".to_owned());
        match groups.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, findings)) => findings.push(finding),
            None => groups.push((reason, vec![finding])),
        }
    }
    if groups.is_empty() {
        return;
    }
    heading("Not shown, and what would show it", report.width, out);
    for (reason, findings) in groups {
        paragraph(&format!("? {reason}"), "  ", report.width, out);
        let advice = findings.iter().all(|finding| finding.strength == Strength::Advice);
        let ids: Vec<&str> = findings.iter().map(|finding| finding.id.as_str()).collect();
        let kind = if advice { " (advice)" } else { "" };
        paragraph(&format!("  leaves open{kind}: {}", ids.join(" ")), "    ", report.width, out);
        // One example a rule is enough; the other places want the same row with their own names.
        let mut told: Vec<(&str, &str)> = Vec::new();
        for finding in &findings {
            let Some(what) = finding.would_show.as_deref() else { continue };
            if told.iter().all(|(rule, known)| *rule != finding.rule && *known != what) {
                told.push((&finding.rule, what));
                paragraph(&format!("  would show it: {what}"), "    ", report.width, out);
            }
        }
    }
}

fn failing(report: &Report<'_>, out: &mut String) {
    let fails: Vec<&Finding> = report
        .findings()
        .filter(|finding| finding.verdict == Verdict::Fail && finding.strength == Strength::Required)
        .collect();
    if fails.is_empty() {
        return;
    }
    heading(&format!("What fails ({})", fails.len()), report.width, out);
    for finding in fails {
        let (found, required) = pair(finding);
        let unit = if finding.unit.symbol() == "colours" { "" } else { finding.unit.symbol() };
        let place = look_at(finding, true);
        let place = if place.is_empty() { String::new() } else { format!(", look at {place}") };
        let required = if required.is_empty() { String::new() } else { format!(", required {required}") };
        let mode = finding.scope.mode.as_ref().map(|mode| format!(", mode {mode}")).unwrap_or_default();
        let said = if finding.rule == "applies" {
            String::new()
        } else {
            format!(": found {} {unit}{required} {unit}{mode}{place}", found).replace("  ", " ").replace(" ,", ",")
        };
        paragraph(&format!("X FAIL {}{}", finding.id, said.trim_end()), "    ", report.width, out);
        for note in finding.notes.iter().filter(|note| !is_reading(note)) {
            paragraph(&format!("       {note}"), "         ", report.width, out);
        }
    }
    paragraph("How one of them came about: wayproof explain PACKAGE FINDING", "", report.width, out);
}

/// Only what occurs, passes and fails always.
fn tally(counts: &Counts) -> String {
    let rest = [
        (counts.too_close, "too close"),
        (counts.not_shown, "not shown"),
        (counts.not_applicable, "not applicable"),
        (counts.excepted, "excepted"),
    ];
    let rest = rest.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!(", {count} {word}"));
    format!("{} pass, {} fail{}", counts.pass, counts.fail, rest.collect::<String>())
}

fn summary(report: &Report<'_>, out: &mut String) {
    let summary = report.judged.summary;
    let counts = summary.required;
    heading("Result", report.width, out);
    for caution in CAUTIONS {
        paragraph(&format!("- {caution}"), "  ", report.width, out);
    }
    paragraph(&format!("Required: {}.", tally(&counts)), "", report.width, out);
    paragraph(&format!("Advice: {}.", tally(&summary.advice)), "", report.width, out);
    if counts.on_memory > 0 {
        let line = format!(
            "{} of these passes and fails rest on limits that are known from memory: compare them with your own copy of the document.",
            counts.on_memory
        );
        paragraph(&line, "", report.width, out);
    }
    if counts.on_estimate > 0 {
        paragraph(
            &format!("{} rest on an estimate, and show nothing for good.", counts.on_estimate),
            "",
            report.width,
            out,
        );
    }
    let last = match summary.status() {
        Status::Met => "Every required rule that was judged passes.",
        Status::Failed => "X FAIL At least one required rule is not met.",
        Status::Open => "? not shown: no required rule fails, but something is open.",
    };
    paragraph(last, "", report.width, out);
}

/// Colours the lines that begin with a mark. Words stay, so nothing is lost without colour.
pub(super) fn colour(text: &str) -> String {
    use anstyle::{AnsiColor, Style};
    let styles = [
        ("X FAIL", AnsiColor::Red.on_default().bold()),
        ("? not shown", AnsiColor::Yellow.on_default()),
        ("? ", AnsiColor::Yellow.on_default()),
        ("~ too close", AnsiColor::Yellow.on_default()),
        ("= excepted", AnsiColor::Cyan.on_default()),
        ("  pass", AnsiColor::Green.on_default()),
    ];
    let title = Style::new().bold();
    let lines: Vec<&str> = text.lines().collect();
    let mut out = String::new();
    for (at, line) in lines.iter().enumerate() {
        let styled = styles.iter().find(|(mark, _)| line.starts_with(mark));
        let heads_section = lines.get(at + 1).is_some_and(|next| !next.is_empty() && next.chars().all(|c| c == '='));
        match styled {
            // The mark alone for a pass; the whole line for what wants attention.
            Some((mark, style)) if *mark == "  pass" => {
                let rest = line.get(mark.len()..).unwrap_or_default();
                out.push_str(&format!("{style}{mark}{style:#}{rest}\n"));
            }
            Some((_, style)) => out.push_str(&format!("{style}{line}{style:#}\n")),
            None if heads_section => out.push_str(&format!("{title}{line}{title:#}\n")),
            None => {
                out.push_str(line);
                out.push('\n');
            }
        }
    }
    out
}

//! The table for a terminal: what was found, by purpose, level and zone; then what fails, in full.
//!
//! The last lines stay on screen, so the failing rows stand there once more, each in words. The verdict is the first
//! word of its row, with a mark that is read without colour.

mod colour;
mod lists;
mod overlays;
mod rows;

use super::power::circuits;
use super::sound::sounders;
use super::text::{heading, paragraph};
use super::{CAUTIONS, Report};
use crate::judge::{APPLIES, Counts, Status, Verdict};
use crate::ruleset::{Ruleset, Strength};
use crate::units::{Dimension, Unit};

pub(in crate::report) use colour::colour;
use lists::{advice, cautions, closest, failing, meetings, notes, open_points, permitted, remarks, sources};
pub(in crate::report) use lists::{is_reading, looked_at};
pub(in crate::report) use overlays::changed;
use rows::findings_table;
pub(in crate::report) use rows::{Row, fold, look_at};

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
        let failed = |finding: &&crate::judge::Finding| finding.rule == APPLIES && finding.verdict == Verdict::Fail;
        if required.iter().any(failed) {
            let line = "X FAIL It does not fit this vehicle, so its other rules are not applicable; see the end.";
            paragraph(line, "", report.width, &mut out);
            continue;
        }
        findings_table(report, ruleset, &required, &mut out);
        if !advice.is_empty() {
            heading(&format!("Advice of {} (never touches the result)", ruleset.id), report.width, &mut out);
            findings_table(report, ruleset, &advice, &mut out);
        }
    }
    let of_circuit = |finding: &crate::judge::Finding| finding.scope.circuit.is_some();
    // Nothing is solved for the table alone.
    let power = if report.findings().any(of_circuit) { report.conduct.power() } else { None };
    if let Some(power) = power {
        circuits(report, power, ("all states", report.conduct.space().allowed()), &mut out);
    }
    sounders(report, &mut out);
    meetings(report, &mut out);
    overlays::changes(report, &mut out);
    sources(report, &mut out);
    notes(report, &mut out);
    permitted(report, &mut out);
    remarks(report, &mut out);
    closest(report, &mut out);
    cautions(report, &mut out);
    open_points(report, &mut out);
    advice(report, &mut out);
    failing(report, &mut out);
    summary(report, &mut out);
    out
}

fn header(report: &Report<'_>, out: &mut String) {
    let package = report.package();
    let vehicle = &package.vehicle;
    let lines = [
        format!("{}  ({}), as of {}", vehicle.name, package.file, report.as_of),
        vehicle.owner.clone().map(|owner| format!("owner: {owner}")).unwrap_or_default(),
        vehicle.contracted.map(|date| format!("contracted: {date}")).unwrap_or_default(),
    ];
    for line in lines.iter().filter(|line| !line.is_empty()) {
        paragraph(line, "", report.width, out);
    }
    let more = if report.judged.summary.required.fail > 0 { "; what fails stands at the end" } else { "" };
    paragraph(&format!("required: {}{more}", tally(&report.judged.summary.required)), "", report.width, out);
}

fn ruleset_lines(report: &Report<'_>, ruleset: &Ruleset, out: &mut String) {
    heading(&format!("{}: {}, edition {}", ruleset.id, ruleset.title, ruleset.edition), report.width, out);
    overlays::of_ruleset(ruleset, report.as_of, report.width, out);
    if report.width < ROOMY {
        let mut said: Vec<String> = Vec::new();
        for unit in Unit::all().filter(|unit| unit.dimension() != Dimension::Words) {
            let of_it = ruleset.rules.iter().filter(|rule| rule.unit == unit && !rule.limits.is_empty());
            let rules: Vec<&str> = of_it.map(|rule| rule.id.as_str()).collect();
            if !rules.is_empty() {
                said.push(format!("{unit} for {}", rules.join(", ")));
            }
        }
        let units = if said.is_empty() { String::new() } else { format!("Units: {}. ", said.join("; ")) };
        let line = format!("{units}Look at: bearing, elevation in deg.");
        paragraph(&line, "  ", report.width, out);
    }
}

/// A unit as it stands behind a figure; words have none.
pub(in crate::report) fn unit_shown(unit: Unit) -> &'static str {
    if unit.dimension() == Dimension::Words { "" } else { unit.symbol() }
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
    for doubt in &report.package().doubts {
        paragraph(&format!("Doubtful in the package: {doubt}"), "  ", report.width, out);
    }
    let last = match summary.status() {
        Status::Met => "Every required rule that was judged passes.",
        Status::Failed => "X FAIL At least one required rule is not met.",
        Status::Open => "? not shown: no required rule fails, but something is open.",
    };
    paragraph(last, "", report.width, out);
}

//! The lists under the rows: sources, conventions, remarks, what is open and what fails.

use super::super::number::pair;
use super::super::text::{heading, paragraph, settings};
use super::super::{Report, source_line};
use super::rows::look_at;
use crate::judge::{Finding, Verdict};
use crate::logic::Region;
use crate::measure::BoundaryPoints;
use crate::ruleset::{Demand, Strength};
use crate::units::Dimension;

pub(super) fn sources(report: &Report<'_>, out: &mut String) {
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
pub(super) fn notes(report: &Report<'_>, out: &mut String) {
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
    overrides(report, out);
}

/// Which displays take heads from others, and when.
fn overrides(report: &Report<'_>, out: &mut String) {
    let conduct = report.conduct;
    let space = conduct.space();
    let mut taken: Vec<(usize, usize, Region, Vec<&str>)> = Vec::new();
    for one in &conduct.overrides {
        let Some(head) = conduct.package.heads.get(one.head) else { continue };
        match taken.iter_mut().find(|(winner, loser, ..)| (*winner, *loser) == (one.winner, one.loser)) {
            Some((_, _, region, heads)) => {
                *region = space.or(region, &one.region);
                heads.push(&head.id);
            }
            None => taken.push((one.winner, one.loser, one.region.clone(), vec![&head.id])),
        }
    }
    for (winner, loser, region, heads) in taken {
        let (winner, loser) = (conduct.display(winner), conduct.display(loser));
        let who = if winner == loser {
            format!("a later row of display \"{winner}\" wins")
        } else {
            format!("display \"{winner}\" wins over \"{loser}\"")
        };
        let when = settings(space, &region, 3);
        paragraph(&format!("- {who} for {}, with {when}", heads.join(", ")), "  ", report.width, out);
    }
}

/// The other reading of the boundary points; `explain`, JSON and CSV hold it.
fn is_reading(note: &str) -> bool {
    note.starts_with("with boundary points")
}

/// What a reader must know about findings that are decided all the same (lower bounds, other voltages, exceptions).
pub(super) fn remarks(report: &Report<'_>, out: &mut String) {
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
pub(super) fn open_points(report: &Report<'_>, out: &mut String) {
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

pub(super) fn failing(report: &Report<'_>, out: &mut String) {
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
        let unit = if finding.unit.dimension() == Dimension::Words { "" } else { finding.unit.symbol() };
        let place = look_at(finding, true);
        let place = if place.is_empty() { String::new() } else { format!(", look at {place}") };
        let required = if required.is_empty() { String::new() } else { format!(", required {required}") };
        let mode = finding.scope.mode.as_ref().map(|mode| format!(", mode {mode}")).unwrap_or_default();
        let said = format!(": found {found} {unit}{required} {unit}{mode}{place}");
        let said = said.replace("  ", " ").replace(" ,", ",");
        paragraph(&format!("X FAIL {}{}", finding.id, said.trim_end()), "    ", report.width, out);
        for note in finding.notes.iter().filter(|note| !is_reading(note)) {
            paragraph(&format!("       {note}"), "         ", report.width, out);
        }
    }
    paragraph("How one of them came about: wayproof explain PACKAGE FINDING", "", report.width, out);
}

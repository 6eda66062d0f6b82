//! The lists under the rows: sources, conventions, remarks, what is open and what fails.

use super::super::Report;
use super::super::layers::overrides;
use super::super::number::{margin, pair};
use super::super::sound::is_on_sound;
use super::super::text::{heading, paragraph, setting, with_lines};
use super::rows::{look_at, mark};
use crate::judge::{Finding, Found, Verdict};
use crate::measure::BoundaryPoints;
use crate::quantity::Measure;
use crate::ruleset::{Demand, Rule, Strength};
use crate::units::Dimension;

pub(super) fn sources(report: &Report<'_>, out: &mut String) {
    let mut lines: Vec<(String, Vec<&str>)> = Vec::new();
    let has_source = |finding: &&Finding| !matches!(finding.limit, Demand::Missing { .. }) && !finding.is_meeting();
    for finding in report.findings().filter(has_source) {
        let line = format!("{} [{}]", finding.source.in_words(), finding.source.basis.word());
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

/// What several rulesets ask of one place together: where no value meets all, and where fewer do than each allows.
pub(super) fn meetings(report: &Report<'_>, out: &mut String) {
    if !report.findings().any(Finding::is_meeting) {
        return;
    }
    heading("What several rulesets ask together", report.width, out);
    for finding in report.findings().filter(|finding| finding.is_meeting()) {
        in_full(&mark(finding), "required together", finding, report.width, out);
    }
}

/// How the vehicle was looked at, and which displays took heads from others.
pub(super) fn notes(report: &Report<'_>, out: &mut String) {
    heading("How it was looked at", report.width, out);
    for line in looked_at(report) {
        paragraph(&format!("- {line}"), "  ", report.width, out);
    }
    overrides(report.conduct, report.width, out);
}

/// How the vehicle was looked at, a line each: from where, by which conventions, over which states.
pub(in crate::report) fn looked_at(report: &Report<'_>) -> Vec<String> {
    let mut methods: Vec<&str> = report.findings().filter_map(|finding| finding.method.as_deref()).collect();
    methods.sort_unstable();
    methods.dedup();
    let mut lines: Vec<String> = methods.into_iter().map(str::to_owned).collect();
    let looks = |rule: &Rule| matches!(rule.quantity.measure, Measure::Light { .. });
    for ruleset in report.rulesets.iter().filter(|ruleset| ruleset.rules.iter().any(looks)) {
        let protocol = &ruleset.protocol;
        let boundary = match protocol.zones.boundary_points {
            BoundaryPoints::Both => "points on a dividing line belong to both zones",
            BoundaryPoints::First => "points on a dividing line belong to the zone they begin",
            BoundaryPoints::Unknown => {
                "whom points on a dividing line belong to is not known: both readings are computed, the less favourable stands in the table"
            }
        };
        let signal = crate::units::format_number(protocol.signal.at_least.value(), 1);
        lines.push(format!("{}: {boundary}; a signal is {signal} cd.s/min", ruleset.id));
    }
    lines.push(states(report));
    lines
}

/// Over which states the rules are judged.
fn states(report: &Report<'_>) -> String {
    let space = report.conduct.space();
    if !space.inputs().described {
        return "the package names no inputs: each mode is one state, and what doors and switches change is not judged"
            .to_owned();
    }
    let inputs = space.inputs().list.len();
    let states = crate::units::format_number(space.count(space.allowed()), 0);
    format!(
        "every state that can occur: {states} states of {inputs} inputs; each rule stands for the worst of those in which its purpose is served"
    )
}

/// The other reading of the boundary points; `explain`, JSON and CSV hold it.
pub(in crate::report) fn is_reading(note: &str) -> bool {
    note.starts_with("with boundary points")
}

/// What a reader must know about findings that are decided all the same (lower bounds, other voltages, exceptions).
pub(super) fn remarks(report: &Report<'_>, out: &mut String) {
    let mut remarks: Vec<(&str, Vec<&str>)> = Vec::new();
    // How far inside its region a colour lies is its margin; `explain` says the rest.
    let of_colour = |finding: &&Finding| finding.unit.dimension() == Dimension::Words && finding.margin.is_some();
    for finding in report.findings().filter(|finding| !finding.is_meeting() && !of_colour(finding)) {
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
        // What fills one place of a rule fills all of them.
        let mut told: Vec<(&str, &str)> = Vec::new();
        for finding in &findings {
            let Some(what) = finding.would_show.as_deref() else { continue };
            if told.iter().all(|(rule, known)| *rule != finding.rule && *known != what) {
                told.push((&finding.rule, what));
                with_lines(&format!("  would show it: {what}"), "    ", report.width, out);
            }
        }
    }
}

/// What harms without breaking a rule: found, source, where; no verdict.
pub(super) fn cautions(report: &Report<'_>, out: &mut String) {
    if report.cautions().next().is_none() {
        return;
    }
    heading("Cautions (never a verdict)", report.width, out);
    for finding in report.cautions() {
        in_full("!", "published bound", finding, report.width, out);
        let source = format!("{} [{}]", finding.source.in_words(), finding.source.basis.word());
        paragraph(&format!("  {} Source: {source}", finding.says), "    ", report.width, out);
    }
}

/// What the documents leave free, so that nobody takes it for a fault.
pub(super) fn permitted(report: &Report<'_>, out: &mut String) {
    if report.rulesets.iter().all(|ruleset| ruleset.permitted.is_empty()) {
        return;
    }
    heading("Permitted, and not judged", report.width, out);
    let mut told: Vec<String> = Vec::new();
    for permission in report.rulesets.iter().flat_map(|ruleset| &ruleset.permitted) {
        let source = format!("{} [{}]", permission.source.in_words(), permission.source.basis.word());
        let line = format!("- {} Source: {source}", permission.says);
        // Rulesets may rest on the same document.
        if !told.contains(&line) {
            paragraph(&line, "  ", report.width, out);
            told.push(line);
        }
    }
}

/// The passes with the least room, one a rule and purpose: where to look first with a meter.
pub(super) fn closest(report: &Report<'_>, out: &mut String) {
    let passes = |finding: &&Finding| {
        let of_light = finding.margin.is_some() && finding.scope.mode.is_some();
        finding.verdict == Verdict::Pass && finding.strength == Strength::Required && of_light
    };
    let mut closest: Vec<&Finding> = report.findings().filter(passes).collect();
    closest.sort_by(|a, b| a.margin.unwrap_or(f64::INFINITY).total_cmp(&b.margin.unwrap_or(f64::INFINITY)));
    let mut told: Vec<(&str, &str, &Option<String>)> = Vec::new();
    closest.retain(|finding| {
        let place = (finding.ruleset.as_str(), finding.rule.as_str(), &finding.scope.purpose);
        let first = !told.contains(&place);
        told.push(place);
        first
    });
    closest.truncate(CLOSEST);
    if closest.is_empty() {
        return;
    }
    heading(&format!("The {} closest passes", closest.len()), report.width, out);
    for finding in closest {
        in_full(&format!("{} at", margin(finding)), "required", finding, report.width, out);
    }
}

/// How many of the closest passes are told.
const CLOSEST: usize = 5;

/// Advice that is not met, the worst first: what is lost when one thing fails, and the like.
pub(super) fn advice(report: &Report<'_>, out: &mut String) {
    let missed = |finding: &&Finding| finding.verdict == Verdict::Fail && finding.strength == Strength::Advice;
    let mut missed: Vec<&Finding> = report.findings().filter(missed).collect();
    if missed.is_empty() {
        return;
    }
    // Things that are counted have no margin, and come first where most are lost.
    let count = |finding: &Finding| match (finding.counts_things(), &finding.found) {
        (true, Found::Number(number)) => *number,
        _ => 0.0,
    };
    missed.sort_by(|a, b| {
        let margins = a.margin.unwrap_or(f64::NEG_INFINITY).total_cmp(&b.margin.unwrap_or(f64::NEG_INFINITY));
        margins.then(count(b).total_cmp(&count(a)))
    });
    heading(&format!("Advice that is not met, worst first ({})", missed.len()), report.width, out);
    // What fails for the same reason with the same setting stands together, where the worst of it stands.
    let mut groups: Vec<(String, Vec<&Finding>)> = Vec::new();
    for finding in missed {
        let mut said = format!("x fail {}:{}", finding.ruleset, finding.rule);
        let notes = finding.notes.iter().filter(|note| note.starts_with("worst without"));
        notes.for_each(|note| said.push_str(&format!(", {note}")));
        setting(finding).iter().for_each(|setting| said.push_str(&format!("; set: {setting}")));
        match groups.iter_mut().find(|(known, _)| *known == said) {
            Some((_, findings)) => findings.push(finding),
            None => groups.push((said, vec![finding])),
        }
    }
    for (said, findings) in groups {
        paragraph(&said, "    ", report.width, out);
        let found = |finding: &&Finding| {
            let (found, required) = pair(finding);
            let place = finding.id.split_once('@').map_or("", |(_, place)| place);
            format!("{place}: {found} ({required} {})", finding.unit.symbol())
        };
        let found: Vec<String> = findings.iter().map(found).collect();
        paragraph(&format!("       {}", found.join(", ")), "         ", report.width, out);
    }
}

pub(super) fn failing(report: &Report<'_>, out: &mut String) {
    let fails = |finding: &&Finding| finding.verdict == Verdict::Fail && finding.strength == Strength::Required;
    let fails: Vec<&Finding> = report.findings().filter(fails).collect();
    if fails.is_empty() {
        return;
    }
    heading(&format!("What fails ({})", fails.len()), report.width, out);
    for finding in fails {
        in_full("X FAIL", "required", finding, report.width, out);
    }
    paragraph("How one of them came about: wayproof explain PACKAGE FINDING", "", report.width, out);
}

/// One finding with its figures, the setting that shows it, and what a reader must know.
fn in_full(mark: &str, asked: &str, finding: &Finding, width: u16, out: &mut String) {
    let (found, required) = pair(finding);
    let unit = if finding.unit.dimension() == Dimension::Words { "" } else { finding.unit.symbol() };
    let place = look_at(finding, true);
    let place = if place.is_empty() { String::new() } else { format!(", look at {place}") };
    let required = if required.is_empty() { String::new() } else { format!(", {asked} {required}") };
    let said = format!(": found {found} {unit}{required} {unit}{place}");
    let said = said.replace("  ", " ").replace(" ,", ",");
    paragraph(&format!("{mark} {}{}", finding.id, said.trim_end()), "    ", width, out);
    let set = setting(finding).map(|setting| format!("set: {setting}"));
    let listen = finding.method.as_ref().filter(|_| is_on_sound(finding)).map(|place| format!("listen: {place}"));
    for line in set.iter().chain(&listen).chain(finding.notes.iter().filter(|note| !is_reading(note))) {
        paragraph(&format!("       {line}"), "         ", width, out);
    }
}

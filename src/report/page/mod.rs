//! The page: one self-contained HTML file about one vehicle. The verdict stands first, then what to mend and where to
//! look, then how it was seen in each mode, and at the end every finding with its source.

mod line;
mod modes;
mod open;
mod register;
mod sources;

use serde::Serialize;

use self::line::Line;
use super::figures::{Drawings, Layout};
use super::paper::{Figure, Paper, in_html};
use crate::judge::{Counts, Status, Verdict};
use crate::ruleset::Strength;

/// What is the page's own.
#[derive(Serialize)]
struct Page {
    vehicle: Vec<(&'static str, String)>,
    status: StatusLine,
    tallies: Vec<Tally>,
    remarks: Vec<String>,
    fails: Vec<Line>,
    excepted: Vec<Line>,
    missed_advice: Vec<Line>,
    open: Vec<open::Group>,
    missing: Vec<open::Missing>,
    cautions: Vec<Line>,
    modes: Vec<modes::Mode>,
    worst: Vec<modes::Setting>,
    layout: Layout,
    /// What batteries give, circuit use, then current over time.
    power: Vec<Figure>,
    sound: Vec<Figure>,
    looked_at: Vec<String>,
    findings: Vec<modes::Group>,
    register: register::Register,
    sources: sources::Sources,
}

/// The verdict in a word, a shape and a sentence.
#[derive(Serialize)]
struct StatusLine {
    class: &'static str,
    shape: &'static str,
    says: String,
}

/// How many findings of each verdict, in the order of the header.
#[derive(Serialize)]
struct Tally {
    name: &'static str,
    counts: [usize; 6],
}

/// Writes the page.
pub(super) fn write(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let report = paper.report;
    let sources = sources::sources(report);
    let line = |(at, finding)| {
        let line = Line::of(finding, at);
        Line { cited: sources.number(&line.source, line.basis), ..line }
    };
    let lines: Vec<Line> = report.findings().enumerate().map(line).collect();
    let of = |strength: Strength, verdict: Verdict| -> Vec<Line> {
        let findings = report.findings().zip(&lines);
        let wanted = findings.filter(|(finding, _)| finding.strength == strength && finding.verdict == verdict);
        wanted.map(|(_, line)| line.clone()).collect()
    };
    let drawings = Drawings::of(report);
    let mut drawn = modes::Drawn::of(&drawings);
    let layout = drawings.layout();
    let power = drawings.batteries().into_iter().chain(drawings.circuit_use()).chain(drawings.currents()).collect();
    let summary = &report.judged.summary;
    let page = Page {
        vehicle: vehicle(paper),
        status: status(summary.status(), &summary.required),
        tallies: vec![tally("required", &summary.required), tally("advice", &summary.advice)],
        remarks: remarks(&summary.required),
        fails: of(Strength::Required, Verdict::Fail),
        excepted: of(Strength::Required, Verdict::Excepted),
        missed_advice: of(Strength::Advice, Verdict::Fail),
        open: open::groups(report, &lines),
        missing: open::missing(report),
        cautions: report.cautions().enumerate().map(|(at, finding)| Line::of_caution(finding, at)).collect(),
        modes: modes::modes(report, &lines, &mut drawn),
        worst: modes::worst(report, &lines, &mut drawn),
        layout,
        power,
        sound: drawings.sound(),
        looked_at: super::table::looked_at(report),
        findings: modes::groups(report, &lines),
        register: register::register(report),
        sources,
    };
    in_html("page.html", &report.package().vehicle.name, paper, page)
}

fn vehicle(paper: &Paper<'_>) -> Vec<(&'static str, String)> {
    let report = paper.report;
    let package = report.package();
    let vehicle = &package.vehicle;
    let mut lines = vec![("package", package.file.clone())];
    lines.extend(vehicle.owner.clone().map(|owner| ("owner", owner)));
    lines.extend(vehicle.contracted.map(|day| ("contracted", day.to_string())));
    lines.push(("judged as of", report.as_of.to_string()));
    let ids: Vec<&str> = report.rulesets.iter().map(|ruleset| ruleset.id.as_str()).collect();
    lines.push(("judged by", if ids.is_empty() { "no ruleset".to_owned() } else { ids.join(", ") }));
    lines
}

fn status(status: Status, counts: &Counts) -> StatusLine {
    let rules =
        |count: usize| if count == 1 { "1 required finding".to_owned() } else { format!("{count} required findings") };
    let (verdict, says) = match status {
        Status::Met if counts.excepted > 0 => {
            let says = format!(
                "Every required rule that was judged passes, or was accepted in writing ({}).",
                counts.excepted
            );
            (Verdict::Excepted, says)
        }
        Status::Met => (Verdict::Pass, "Every required rule that was judged passes.".to_owned()),
        Status::Failed => (Verdict::Fail, format!("Fail: the limit of {} is not met.", rules(counts.fail))),
        Status::Open => {
            let open = [
                (counts.not_shown, "not shown"),
                (counts.too_close, "too close to tell"),
                (counts.on_estimate, "resting on an estimate"),
            ];
            let open = open.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!("{count} {what}"));
            let open: Vec<String> = open.collect();
            let open = if open.is_empty() { "nothing was judged".to_owned() } else { open.join(", ") };
            (Verdict::NotShown, format!("Not shown: no required finding fails, but something is open ({open})."))
        }
    };
    StatusLine { class: verdict.word(), shape: line::shape(verdict), says }
}

fn tally(name: &'static str, counts: &Counts) -> Tally {
    let Counts { pass, fail, too_close, not_shown, not_applicable, excepted, .. } = *counts;
    Tally { name, counts: [pass, fail, too_close, not_shown, not_applicable, excepted] }
}

fn remarks(counts: &Counts) -> Vec<String> {
    let memory = format!(
        "{} of these passes and fails rest on limits that are known from memory: compare them with your own copy of the document.",
        counts.on_memory
    );
    let estimate = format!("{} rest on an estimate, and show nothing for good.", counts.on_estimate);
    let all = [(counts.on_memory, memory), (counts.on_estimate, estimate)];
    all.into_iter().filter(|(count, _)| *count > 0).map(|(_, text)| text).collect()
}

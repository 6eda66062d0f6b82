//! Two tables of the electrical side: what each battery gives in each mode, and every circuit with its worst figures.

use comfy_table::{Table, presets};

use super::super::Report;
use super::super::number::margin;
use super::super::text::heading;
use super::{amperes, number, push, right};
use crate::judge::{Finding, Verdict};
use crate::logic::Region;
use crate::measure::{Power, Range, WorstFlow};

/// What each battery gives in each mode: the mean of its worst moment, and bounds of RMS and peak.
pub(super) fn modes(report: &Report<'_>, power: &Power, out: &mut String) {
    heading("Modes: what each battery gives at its worst moment, all loads on that can be", report.width, out);
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    let volts = power.supply.voltages.all();
    let roomy = report.width >= 100;
    // Where there is little room, the regulator's voltage is left out, and RMS stands with each circuit.
    let shown = if roomy { 3 } else { 2 };
    let means = volts.iter().take(shown).map(|(_, volts)| format!("mean A, {} V", volts.value()));
    let header = ["mode", "battery"].map(str::to_owned).into_iter().chain(means);
    let bounds: &[&str] = if roomy { &["RMS A at most", "peak A at most"] } else { &["peak A <="] };
    table.set_header(header.chain(bounds.iter().map(|title| (*title).to_owned())));
    for (mode, states) in report.package().modes.iter().zip(&report.conduct.modes) {
        for (at, battery) in power.supply.batteries.iter().enumerate() {
            let mean = |name: &'static str| match power.most(report.conduct, at, states, &[name], |_| true) {
                Ok(Some(most)) => amperes(most.current),
                Ok(None) => "-".to_owned(),
                Err(_) => "not shown".to_owned(),
            };
            let bounds = power.bounds(report.conduct, at, states);
            let told = |of: fn(&(f64, f64)) -> f64| match &bounds {
                Ok(bounds) if of(bounds).is_finite() => format!("{:.2}", of(bounds)),
                _ => "not shown".to_owned(),
            };
            let means = volts.iter().take(shown).map(|(name, _)| mean(name));
            let rms = roomy.then(|| told(|bounds| bounds.0));
            let bounds = rms.into_iter().chain([told(|bounds| bounds.1)]);
            table.add_row([mode.id.clone(), battery.id.clone()].into_iter().chain(means).chain(bounds));
        }
    }
    right(&mut table, &[2, 3, 4, 5, 6]);
    push(&table, out);
}

/// Every circuit with its worst figures, the one nearest to its limits first.
pub(in crate::report) fn circuits(
    report: &Report<'_>,
    power: &Power,
    (whose, states): (&str, &Region),
    out: &mut String,
) {
    let title =
        format!("Circuits, the one nearest to its limits first; currents: the worst of {whose} and all voltages");
    heading(&title, report.width, out);
    let mut ordered: Vec<(f64, usize, Option<&Finding>)> = Vec::new();
    for (at, circuit) in power.supply.circuits.iter().enumerate() {
        let of_it = report.findings().filter(|one| one.scope.circuit.as_ref() == Some(&circuit.id));
        let nearest = of_it.min_by(|one, other| rank(one).total_cmp(&rank(other)));
        ordered.push((nearest.map_or(f64::INFINITY, rank), at, nearest));
    }
    ordered.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    let roomy = report.width >= 100;
    let mean = roomy.then_some("mean A");
    let header = ["RMS A", "peak A", "end V", "nearest rule", "margin", "verdict"];
    table.set_header(["circuit", "fuse A"].into_iter().chain(mean).chain(header));
    for (_, at, nearest) in ordered {
        let Some(circuit) = power.supply.circuits.get(at) else { continue };
        let worst = power.worst(report.conduct, at, states);
        // Where there is little room, the most that it can be.
        let most = |range: Range| if roomy || range.high.is_infinite() { range } else { Range::exactly(range.high) };
        let flows = |worst: &WorstFlow| worst.peak.high > 0.0 || worst.voltage.is_none();
        let here = worst.as_ref().filter(|worst| flows(worst));
        let figure = |of: fn(&WorstFlow) -> Range| here.map_or("-".to_owned(), |one| amperes(most(of(one))));
        let voltage = |one: &WorstFlow| one.voltage.map_or("none".to_owned(), |at| format!("{:.2}", at.low));
        let volts = here.map_or("-".to_owned(), voltage);
        // Where nothing ever flows a pass would say nothing; a fuse too large for its wire is a fault all the same.
        let ever = power.worst(report.conduct, at, report.conduct.space().allowed()).is_some_and(|worst| flows(&worst));
        let nearest = nearest.filter(|one| ever || one.verdict == Verdict::Fail);
        let fuse = circuit.fuse.map_or("-".to_owned(), |fuse| number(fuse.rating.value()));
        let mean = roomy.then(|| figure(|one| one.average));
        let figures = [
            figure(|one| one.rms),
            figure(|one| one.peak),
            volts,
            nearest.map_or(String::new(), |one| one.rule.clone()),
            nearest.map_or(String::new(), margin),
            nearest.map_or(String::new(), |one| one.verdict.print().to_owned()),
        ];
        table.add_row([circuit.id.clone(), fuse].into_iter().chain(mean).chain(figures));
    }
    right(&mut table, if roomy { &[1, 2, 3, 4, 5, 7] } else { &[1, 2, 3, 4, 6] });
    push(&table, out);
}

/// Failures first, then what is open, then by margin.
fn rank(finding: &Finding) -> f64 {
    match finding.verdict {
        Verdict::Fail => -1e9 + finding.margin.unwrap_or(0.0),
        Verdict::NotShown | Verdict::TooClose => -1e6,
        _ => finding.margin.unwrap_or(f64::MAX),
    }
}

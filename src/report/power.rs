//! The load analysis of a vehicle: alternators, loads by kind with their sums, tests, what is left, circuits; and what
//! one more lamp changes.

use comfy_table::{CellAlignment, Table, presets};

use super::number::{margin, pair};
use super::text::{heading, paragraph, settings};
use super::{CAUTIONS, Report};
use crate::judge::{Finding, Judged, Verdict};
use crate::logic::Region;
use crate::measure::{Balance, EngineOff, LoadAnalysis, LoadRow, Power, Range};
use crate::package::{Battery, LoadKind, Supply};
use crate::quantity::{Measure, find};
use crate::units::{Dimension, format_number};

/// The whole page; the loads are those of the worst moment in some states, which `whose` names. The circuits are those
/// of all states, or of these where they alone are asked for.
pub fn load_analysis(report: &Report<'_>, whose: &str, states: &Region, alone: bool) -> String {
    let mut out = String::new();
    let (vehicle, package) = (&report.package().vehicle, report.package());
    paragraph(&format!("{} ({}), as of {}", vehicle.name, package.file, report.as_of), "", report.width, &mut out);
    let Some(power) = report.conduct.power() else { return out };
    let supply = &power.supply;
    for (at, battery) in supply.batteries.iter().enumerate() {
        let title = format!("Battery {}: {} V system, {whose}", battery.id, supply.system.value());
        heading(&title, report.width, &mut out);
        match LoadAnalysis::of(report.conduct, power, at, states, "regulated") {
            Ok(Some(analysis)) => of_battery(report, power, at, battery, &analysis, states, &mut out),
            Ok(None) => paragraph("Nothing hangs on it.", "", report.width, &mut out),
            Err(why) => paragraph(&format!("? not shown: {why}"), "  ", report.width, &mut out),
        }
    }
    modes(report, power, &mut out);
    other_sources(report, supply, &mut out);
    let every = ("all states".to_owned(), report.conduct.space().allowed());
    let (of_what, states) = if alone { (format!("the states {whose}"), states) } else { every };
    circuits(report, power, (&of_what, states), &mut out);
    heading("What to know", report.width, &mut out);
    let calculated = "Calculated; a test is still required: the start after ten minutes with the engine off, the balance at idle, the full load. Measure with a DC clamp, averages over at least 10 s: flashing lamps make a meter jump, and a clamp for alternating current alone misses what is steady.";
    paragraph(&format!("- {calculated}"), "  ", report.width, &mut out);
    let counts = report.judged.summary.required;
    let verdicts = format!("{} pass, {} fail, {} not shown", counts.pass, counts.fail, counts.not_shown);
    let judged = format!(
        "- No limit stands on this page: `wayproof check` judges ({verdicts}), at whichever voltage is the worst; the sums here are at the regulator's."
    );
    paragraph(&judged, "  ", report.width, &mut out);
    CAUTIONS.iter().for_each(|caution| paragraph(&format!("- {caution}"), "  ", report.width, &mut out));
    out
}

fn of_battery(
    report: &Report<'_>,
    power: &Power,
    at: usize,
    battery: &Battery,
    analysis: &LoadAnalysis,
    states: &Region,
    out: &mut String,
) {
    let supply = &power.supply;
    let space = report.conduct.space();
    if space.inputs().described {
        let set = settings(space, &analysis.region, 1);
        paragraph(&format!("Means at {} V, with {set}", analysis.volts.value()), "  ", report.width, out);
    } else {
        paragraph(&format!("Means at {} V", analysis.volts.value()), "  ", report.width, out);
    }
    if let Err(why) = power.all_wired() {
        paragraph(&format!("? {why}: in no figure below"), "  ", report.width, out);
    }
    let mut line = |text: String| paragraph(&text, "    ", report.width, out);
    line(String::new());
    line("1. Alternators".to_owned());
    let charging: Vec<_> = supply.alternators.iter().filter(|one| one.charges.contains(&at)).collect();
    for one in &charging {
        let rated = one.rated.map_or("no nameplate rating".to_owned(), |rated| {
            format!("nameplate {} A (cool air, full speed: nothing is judged by it)", number(rated.value()))
        });
        let hot = one.hot_idle.as_ref().map_or("? hot at idle: not stated".to_owned(), |hot| {
            let warm = hot.at.map(|at| format!(" at {} degC", at.value())).unwrap_or_default();
            format!("hot at idle {} A{warm} ({})", number(hot.output.value()), hot.evidence.grade.word())
        });
        line(format!("   {}: {rated}; {hot}", one.id));
    }
    for one in supply.converters.iter().filter(|one| one.charges == Some(at)) {
        line(format!("   {}: a converter, {} A", one.id, number(one.output.value())));
    }
    if charging.is_empty() && !supply.converters.iter().any(|one| one.charges == Some(at)) {
        line("   none charges it".to_owned());
    }
    let parts = [
        ("2. Minimum continuous load", LoadKind::Minimum),
        ("3. Loads that make it the total continuous load", LoadKind::Continuous),
        ("4. Intermittent loads, each as if it were on; in no sum", LoadKind::Intermittent),
    ];
    for (title, kind) in parts {
        out.push_str(&format!("\n{title}\n"));
        rows(analysis, kind, out);
    }
    out.push_str(&format!("\n   total continuous load (2 and 3): {} A\n", amperes(analysis.total())));
    if at == 0 {
        // Of the whole vehicle, and said once.
        tests(report, out);
    }
    let found = Balance::of(report.conduct, power, at, states, &["regulated"]);
    balance(report, power, at, &found, out);
    engine_off(report, power, at, battery, states, &found, out);
}

fn rows(analysis: &LoadAnalysis, kind: LoadKind, out: &mut String) {
    let of_it: Vec<&LoadRow> = analysis.rows.iter().filter(|row| row.kind == kind).collect();
    if of_it.is_empty() {
        out.push_str("   none\n");
        return;
    }
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_header(["  load", "circuit", "mean A", "evidence"]);
    for row in of_it {
        let grade = row.grade.map_or("not stated", crate::package::Grade::word);
        table.add_row([format!("  {}", row.name), row.circuit.clone(), amperes(row.current), grade.to_owned()]);
    }
    if kind != LoadKind::Intermittent {
        table.add_row(["  sum".to_owned(), String::new(), amperes(analysis.sum(kind)), String::new()]);
    }
    right(&mut table, &[2]);
    push(&table, out);
}

/// What the rules ask a person to have tested, and what was said.
fn tests(report: &Report<'_>, out: &mut String) {
    out.push_str("\n5. Test results\n");
    let stated = |finding: &&Finding| {
        let quantity = find(finding.quantity);
        finding.ruleset.starts_with("load-analysis")
            && quantity.is_some_and(|one| matches!(one.measure, Measure::Stated(_)))
    };
    let all: Vec<&Finding> = report.findings().filter(stated).collect();
    if all.is_empty() {
        out.push_str("   the ruleset `load-analysis` is not asked for, so no test is asked for either\n");
    }
    for finding in all {
        let item = finding.scope.item.as_deref().unwrap_or(&finding.rule);
        let (found, required) = pair(finding);
        let unit = if finding.unit.dimension() == Dimension::Words { "" } else { finding.unit.symbol() };
        let verdict = finding.verdict.print();
        let (found, required) = (format!("{found} {unit}"), format!("{required} {unit}"));
        let line = format!("   {item}: {} (required {}): {verdict}", found.trim_end(), required.trim_end());
        paragraph(&line, "     ", report.width, out);
    }
}

fn balance(report: &Report<'_>, power: &Power, at: usize, found: &Found, out: &mut String) {
    out.push_str("\nBalance hot at idle\n");
    let supply = &power.supply;
    let mut line = |text: String| paragraph(&text, "     ", report.width, out);
    let balance = match found {
        Ok(Some(balance)) => balance,
        Ok(None) => return line("   nothing hangs on it".to_owned()),
        Err(why) => return line(format!("   ? not shown: {why}")),
    };
    let others =
        balance.batteries.iter().filter(|other| **other != at).filter_map(|other| supply.batteries.get(*other));
    let others: Vec<&str> = others.map(|other| other.id.as_str()).collect();
    if !others.is_empty() {
        line(format!("   with {}, on the same alternators: loads and charging of all of them", others.join(", ")));
    }
    let sources: Vec<String> =
        balance.sources.iter().map(|(id, output)| format!("{id} {} A", amperes(*output))).collect();
    line(format!("   {} A from {}", amperes(balance.output), sources.join(", ")));
    line(format!("   beside the loads charging {} A", number(balance.charging.value())));
    line(format!(
        "   left over the minimum continuous load, converters at full output: {} A",
        amperes(balance.left_minimum)
    ));
    line(format!("   left over the total continuous load: {} A", amperes(balance.left_total)));
    let every = report.conduct.space().allowed();
    match Balance::of(report.conduct, power, at, every, &["regulated"]) {
        Ok(Some(all)) => {
            let warm = all.at.map(|at| format!(" and {} degC under the hood", at.value())).unwrap_or_default();
            line(format!(
                "   for the tag: generating capacity left at {} V{warm}, in the worst of all states: {} A (calculated)",
                supply.voltages.regulated.value(),
                amperes(all.left_total)
            ));
        }
        Ok(None) => {}
        Err(why) => line(format!("   for the tag: ? not shown: {why}")),
    }
}

type Found = Result<Option<Balance>, String>;

fn engine_off(
    report: &Report<'_>,
    power: &Power,
    at: usize,
    battery: &Battery,
    states: &Region,
    balance: &Found,
    out: &mut String,
) {
    out.push_str("\nEngine off\n");
    let supply = &power.supply;
    let mut line = |text: String| paragraph(&text, "     ", report.width, out);
    let off = match EngineOff::of(report.conduct, power, at, states) {
        Ok(Some(off)) => off,
        Ok(None) => return line("   nothing hangs on it".to_owned()),
        Err(why) => return line(format!("   ? not shown: {why}")),
    };
    let (most, Some(bank)) = (&off.most, battery.bank) else { return };
    if most.current.high.is_infinite() {
        return line(format!("   ? not shown: no current is stated for {}", most.unknown.join(", ")));
    }
    if most.current.high <= 0.0 {
        return line(format!("   mean {} A at {} V", amperes(most.current), most.volts.value()));
    }
    let hours = |seconds: f64| seconds / 3600.0;
    line(format!(
        "   mean {} A at {} V: {} h to {} % of {} Ah, Peukert exponent {} on the {}-hour rate, as a share of the time",
        amperes(most.current),
        most.volts.value(),
        amperes(Range { low: hours(off.lasts.low), high: hours(off.lasts.high) }),
        number((1.0 - bank.usable.value()) * 100.0),
        number(bank.capacity.value()),
        number(bank.exponent),
        number(hours(bank.rate.value()))
    ));
    let round = match balance {
        Ok(Some(balance)) => balance.stop_start(battery, &off),
        Ok(None) => return,
        Err(why) => Err(why.clone()),
    };
    let round = match round {
        Ok(round) => round,
        Err(why) => return line(format!("   stopped and started by the battery: ? not shown: {why}")),
    };
    let (stands, runs) = (round.stands().value() / 3600.0, round.runs().value() / 3600.0);
    let saved = 10.0 * (1.0 - round.running().value());
    line(format!(
        "   stopped and started by the battery: {} h off, {} h on, {} starts an hour; of ten hours {} without the engine{}",
        number(stands),
        number(runs),
        number(1.0 / (stands + runs)),
        number(saved),
        supply.idle.map_or(String::new(), |idle| {
            let litres = idle.rate.value() * saved;
            format!(
                ", {} L ({} gal) of fuel saved at the published rate without load ({})",
                number(litres),
                number(litres / 3.785_411_784),
                idle.vehicle
            )
        })
    ));
}

/// Converters, inverters and inlets: what the findings say of them.
fn other_sources(report: &Report<'_>, supply: &Supply, out: &mut String) {
    let ids: Vec<&String> =
        supply.converters.iter().map(|one| &one.id).chain(supply.inverters.iter().map(|one| &one.id)).collect();
    let ids: Vec<&String> = ids.into_iter().chain(supply.inlets.iter().map(|one| &one.id)).collect();
    let of_them: Vec<&Finding> =
        report.findings().filter(|one| one.scope.supply.as_ref().is_some_and(|id| ids.contains(&id))).collect();
    if of_them.is_empty() {
        return;
    }
    heading("Converters, inverters, shore", report.width, out);
    for finding in of_them {
        let (found, required) = pair(finding);
        let id = finding.scope.supply.as_deref().unwrap_or_default();
        let line = format!("{id}: {found} {} (required {required}): {}", finding.unit, finding.verdict.print());
        paragraph(&line, "  ", report.width, out);
    }
}

/// What each battery gives in each mode: the mean of its worst moment, and bounds of RMS and peak.
fn modes(report: &Report<'_>, power: &Power, out: &mut String) {
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
pub(super) fn circuits(report: &Report<'_>, power: &Power, (whose, states): (&str, &Region), out: &mut String) {
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
        let flows = |worst: &crate::measure::WorstFlow| worst.peak.high > 0.0 || worst.voltage.is_none();
        let here = worst.as_ref().filter(|worst| flows(worst));
        let figure =
            |of: fn(&crate::measure::WorstFlow) -> Range| here.map_or("-".to_owned(), |one| amperes(most(of(one))));
        let voltage =
            |one: &crate::measure::WorstFlow| one.voltage.map_or("none".to_owned(), |at| format!("{:.2}", at.low));
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

/// What another lamp changes: every verdict that is another one, and every figure of the supply that moved.
pub fn changed(report: &Report<'_>, before: &Judged) -> String {
    let mut out = String::new();
    let width = report.width;
    let (package, lamp) = (report.package(), report.package().heads.last());
    paragraph(&format!("{} ({}), as of {}", package.vehicle.name, package.file, report.as_of), "", width, &mut out);
    if let Some(lamp) = lamp {
        let model = package.models.get(lamp.model).map_or("", |model| model.id.as_str());
        let circuit = lamp.circuit.as_deref().unwrap_or("no circuit");
        paragraph(&format!("With one more lamp, `{}`: model {model}, on {circuit}", lamp.id), "  ", width, &mut out);
    }
    heading("What it changes", width, &mut out);
    let mut any = false;
    for finding in report.findings() {
        let old = before.findings.iter().find(|old| old.id == finding.id);
        let of_supply = finding.scope.circuit.is_some() || finding.scope.supply.is_some();
        let moved = old.is_none_or(|old| old.verdict != finding.verdict || (of_supply && old.found != finding.found));
        // A lamp that passes what each lamp is asked is no news.
        if !moved || (old.is_none() && finding.verdict == Verdict::Pass) {
            continue;
        }
        let (now, required) = pair(finding);
        let was = old.map_or("-".to_owned(), |old| pair(old).0);
        // What prints as equal is no news either.
        if was == now && old.is_some_and(|old| old.verdict == finding.verdict) {
            continue;
        }
        any = true;
        let now_says = finding.verdict.print();
        let verdict = match old {
            Some(old) if old.verdict != finding.verdict => format!("{} before, {now_says} now", old.verdict.print()),
            _ => now_says.to_owned(),
        };
        let sign = if finding.verdict == Verdict::Fail { "X" } else { "-" };
        let line = format!("{sign} {}: {was} to {now} {}, required {required}: {verdict}", finding.id, finding.unit);
        paragraph(&line, "  ", width, &mut out);
    }
    if !any {
        paragraph("No verdict, and no figure of the supply.", "", width, &mut out);
    }
    heading("Result", width, &mut out);
    CAUTIONS.iter().for_each(|caution| paragraph(&format!("- {caution}"), "  ", width, &mut out));
    let count = |judged: &Judged| {
        format!(
            "{} pass, {} fail, {} not shown",
            judged.summary.required.pass, judged.summary.required.fail, judged.summary.required.not_shown
        )
    };
    paragraph(&format!("Required before: {}.", count(before)), "", width, &mut out);
    paragraph(&format!("Required with it: {}.", count(report.judged)), "", width, &mut out);
    out
}

fn right(table: &mut Table, columns: &[usize]) {
    for (at, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        if columns.contains(&at) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
}

fn push(table: &Table, out: &mut String) {
    for line in table.lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

fn amperes(range: Range) -> String {
    // No minus before a zero.
    let plain = |value: f64| if value.abs() < 5e-3 { 0.0 } else { value };
    let range = Range { low: plain(range.low), high: plain(range.high) };
    if range.high.is_infinite() {
        format!(">= {:.2}", range.low)
    } else if (range.high - range.low).abs() < 5e-3 {
        format!("{:.2}", range.high)
    } else {
        format!("{:.2} to {:.2}", range.low, range.high)
    }
}

fn number(value: f64) -> String {
    format_number(value, 2)
}

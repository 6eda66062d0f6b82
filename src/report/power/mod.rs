//! The load analysis of a vehicle: alternators, loads by kind with their sums, tests, what is left, then modes and
//! circuits.

mod added;
mod tables;

pub use added::changed;
pub(super) use tables::circuits;
use tables::modes;

use comfy_table::{CellAlignment, Table, presets};

use super::number::pair;
use super::text::{heading, paragraph, settings};
use super::{CAUTIONS, Report};
use crate::judge::Finding;
use crate::logic::Region;
use crate::measure::{Balance, EngineOff, LoadAnalysis, LoadRow, Power, Range};
use crate::package::{Battery, LoadKind, Supply};
use crate::quantity::{Measure, find};
use crate::units::{Dimension, Seconds, Unit, format_number};

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
    balance(report, power, at, states, &found, out);
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

fn balance(report: &Report<'_>, power: &Power, at: usize, states: &Region, found: &Found, out: &mut String) {
    let supply = &power.supply;
    let regulated = supply.voltages.regulated.value();
    out.push_str("\nBalance hot at idle\n");
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
    // Rules are judged at the worse of the voltages with the engine running, which need not be the regulator's.
    if let Ok(Some(worst)) = Balance::of(report.conduct, power, at, states, &["running", "regulated"]) {
        for (which, worst, here, volts) in [
            ("minimum continuous load", worst.left_minimum, balance.left_minimum, worst.minimum.volts),
            ("total continuous load", worst.left_total, balance.left_total, worst.total.volts),
        ] {
            if amperes(worst) != amperes(here) {
                let (volts, left) = (volts.value(), amperes(worst));
                line(format!("   at {volts} V, where `check` judges it, left over the {which}: {left} A"));
            }
        }
    }
    let every = report.conduct.space().allowed();
    match Balance::of(report.conduct, power, at, every, &["regulated"]) {
        Ok(Some(all)) => {
            let warm = all.at.map(|at| format!(" and {} degC under the hood", at.value())).unwrap_or_default();
            line(format!(
                "   for the tag: generating capacity left at {regulated} V{warm}, in the worst of all states: {} A (calculated)",
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
    let (hour, scene) = (Seconds::new(3600.0), Seconds::new(36_000.0));
    let saved = round.saves_of(scene);
    line(format!(
        "   stopped and started by the battery: {} h off, {} h on, {} starts an hour; of ten hours {} without the engine{}",
        number(hours(round.stands().value())),
        number(hours(round.runs().value())),
        number(round.starts_in(hour)),
        number(hours(saved.value())),
        supply.idle.map_or(String::new(), |idle| {
            let fuel = idle.burns_in(saved);
            let gallons = Unit::parse("gal").map_or(0.0, |gallon| fuel.in_unit(gallon));
            format!(
                ", {} L ({} gal) of fuel saved at the published rate without load ({})",
                number(fuel.value()),
                number(gallons),
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

//! The electrical side: the load analysis battery by battery, and every circuit with its fuse, its wire and its worst
//! figures.

use super::super::{Report, verdict_word};
use super::table::{Cell, Table};
use crate::electrical::{Size, Strand};
use crate::logic::Region;
use crate::measure::{Balance, EngineOff, LoadAnalysis, Power, Range};
use crate::package::{Cable, Feed, LoadKind, Supply, shortest};
use crate::units::{Length, Unit};

const ANALYSIS: [&str; 11] = [
    "battery",
    "part",
    "what",
    "circuit",
    "states",
    "mean at least (A)",
    "mean at most (A)",
    "lasts at least (h)",
    "lasts at most (h)",
    "evidence",
    "note",
];

/// What a row is about.
struct Line<'t> {
    table: &'t mut Table,
    battery: String,
    states: String,
}

impl Line<'_> {
    fn add(
        &mut self,
        part: &str,
        what: &str,
        circuit: &str,
        amperes: Option<Range>,
        hours: Option<Range>,
        said: [&str; 2],
    ) {
        let low = |range: Option<Range>| Cell::from(range.map(|range| range.low));
        let high = |range: Option<Range>| Cell::from(range.map(|range| range.high));
        let [evidence, note] = said;
        let open = amperes.or(hours).is_some_and(|range| !range.high.is_finite());
        let note = if open && note.is_empty() { "no upper end is known" } else { note };
        self.table.rows.push(vec![
            self.battery.as_str().into(),
            part.into(),
            what.into(),
            circuit.into(),
            self.states.as_str().into(),
            low(amperes),
            high(amperes),
            low(hours),
            high(hours),
            evidence.into(),
            note.into(),
        ]);
    }
}

/// Loads by kind with their sums, what charges, what is left hot at idle, how long the battery lasts.
pub(super) fn analysis(report: &Report<'_>) -> Table {
    let mut table = Table::new("Load analysis", 3, &ANALYSIS);
    let Some(power) = report.conduct.power() else { return table };
    let serves = |mode: &crate::package::Mode| mode.purpose.as_deref() == Some("blocking");
    let blocking = report.package().modes.iter().any(serves).then(|| report.conduct.purpose("blocking"));
    let (whose, states) = match &blocking {
        Some(states) => ("blocking, the worst of its states", states),
        None => ("the worst of all states", report.conduct.space().allowed()),
    };
    for (at, battery) in power.supply.batteries.iter().enumerate() {
        let states_said = format!("{whose}, at {} V", power.supply.voltages.regulated.value());
        let line = Line { table: &mut table, battery: battery.id.clone(), states: states_said };
        of_battery(report, power, at, states, line);
    }
    table
}

fn of_battery(report: &Report<'_>, power: &Power, at: usize, states: &Region, mut line: Line<'_>) {
    let supply = &power.supply;
    let Some(battery) = supply.batteries.get(at) else { return };
    for one in supply.alternators.iter().filter(|one| one.charges.contains(&at)) {
        let rated = one.rated.map(|rated| Range::exactly(rated.value()));
        let known = "a cool-air figure: nothing is judged by it";
        line.add("alternators", &format!("{}, nameplate", one.id), "", rated, None, ["", known]);
        let hot = one.hot_idle.as_ref();
        let output = hot.map(|hot| Range::exactly(hot.output.value()));
        let grade = hot.map_or("", |hot| hot.evidence.grade.word());
        let note = if hot.is_some() { "" } else { "not stated" };
        line.add("alternators", &format!("{}, hot at idle", one.id), "", output, None, [grade, note]);
    }
    let analysis = match LoadAnalysis::of(report.conduct, power, at, states, "regulated") {
        Ok(Some(analysis)) => analysis,
        Ok(None) => return line.add("loads", "nothing hangs on it", "", None, None, ["", ""]),
        Err(why) => return line.add("loads", "not shown", "", None, None, ["", &why]),
    };
    let kinds = [
        ("minimum continuous load", LoadKind::Minimum),
        ("added for the total continuous load", LoadKind::Continuous),
        ("intermittent loads, in no sum", LoadKind::Intermittent),
    ];
    for (part, kind) in kinds {
        for row in analysis.rows.iter().filter(|row| row.kind == kind) {
            let grade = row.grade.map_or("not stated", crate::package::Grade::word);
            line.add(part, &row.name, &row.circuit, Some(row.current), None, [grade, ""]);
        }
        if kind != LoadKind::Intermittent {
            line.add(part, "sum", "", Some(analysis.sum(kind)), None, ["", ""]);
        }
    }
    line.add("total continuous load", "sum", "", Some(analysis.total()), None, ["", "a test is still required"]);
    match Balance::of(report.conduct, power, at, states, &["regulated"]) {
        Ok(Some(balance)) => {
            let part = "balance hot at idle";
            let charging = Range::exactly(balance.charging.value());
            line.add(part, "output", "", Some(balance.output), None, ["", ""]);
            line.add(part, "charging", "", Some(charging), None, ["", ""]);
            let left = "left over the minimum continuous load";
            line.add(part, left, "", Some(balance.left_minimum), None, ["", "converters at full output"]);
            line.add(part, "left over the total continuous load", "", Some(balance.left_total), None, ["", ""]);
        }
        Ok(None) => {}
        Err(why) => line.add("balance hot at idle", "not shown", "", None, None, ["", &why]),
    }
    match EngineOff::of(report.conduct, power, at, states) {
        Ok(Some(off)) => {
            let hours = |seconds: f64| seconds / 3600.0;
            let lasts = Range { low: hours(off.lasts.low), high: hours(off.lasts.high) };
            let note = battery.bank.map(|bank| format!("to {} % of its charge", (1.0 - bank.usable.value()) * 100.0));
            let note = note.unwrap_or_default();
            line.add("engine off", "mean current", "", Some(off.most.current), Some(lasts), ["", &note]);
        }
        Ok(None) => {}
        Err(why) => line.add("engine off", "not shown", "", None, None, ["", &why]),
    }
}

/// Every circuit: first what a schedule says, as `wayproof import` reads it again, then what was found.
pub(super) fn circuits(report: &Report<'_>) -> Table {
    let mut table = Table::new("Circuits", 1, &[]);
    let power = report.conduct.power();
    let supply = power.map(|power| &*power.supply);
    let unit = supply.and_then(unit_of).or(Unit::parse("m"));
    let Some(unit) = unit else { return table };
    let stated =
        ["circuit", "from", "fuse kind", "fuse rating (A)", "fuse ambient (degC)", "wire size"].map(str::to_owned);
    let wire = [
        format!("wire length ({unit})"),
        "strand".to_owned(),
        "insulation (degC)".to_owned(),
        "copper (degC)".to_owned(),
        "engine space".to_owned(),
        "ampacity (A)".to_owned(),
    ];
    let found = [
        "mean at most (A)",
        "RMS at most (A)",
        "peak at most (A)",
        "voltage at its end at least (V)",
        "nearest rule",
        "margin (share of the limit)",
        "verdict",
        "note",
    ];
    table.head = stated.into_iter().chain(wire).chain(found.map(str::to_owned)).collect();
    let (Some(power), Some(supply)) = (power, supply) else { return table };
    for (at, circuit) in supply.circuits.iter().enumerate() {
        let fuse = circuit.fuse;
        let mut row: Vec<Cell> = vec![
            circuit.id.as_str().into(),
            feed(supply, circuit.from).into(),
            fuse.map_or("", |fuse| fuse.kind.word()).into(),
            fuse.map(|fuse| fuse.rating.value()).into(),
            fuse.and_then(|fuse| fuse.ambient).map(|ambient| ambient.value()).into(),
        ];
        row.extend(circuit.cable.map_or_else(|| vec![Cell::Empty; 7], |cable| of_cable(&cable, unit)));
        let worst = power.worst(report.conduct, at, report.conduct.space().allowed());
        let most = |of: fn(&crate::measure::WorstFlow) -> Range| Cell::from(worst.as_ref().map(|worst| of(worst).high));
        let volts = worst.as_ref().and_then(|worst| worst.voltage).map(|volts| volts.low);
        row.extend([most(|one| one.average), most(|one| one.rms), most(|one| one.peak), volts.into()]);
        let of_it = report.findings().filter(|one| one.scope.circuit.as_ref() == Some(&circuit.id));
        let nearest = of_it.min_by(|one, other| {
            let rank = |one: &crate::judge::Finding| (std::cmp::Reverse(one.verdict), one.margin.unwrap_or(f64::MAX));
            let (one, other) = (rank(one), rank(other));
            one.0.cmp(&other.0).then(one.1.total_cmp(&other.1))
        });
        row.push(nearest.map_or("", |one| &one.rule).into());
        row.push(nearest.and_then(|one| one.margin).into());
        row.push(nearest.map_or("", verdict_word).into());
        let unknown = worst.as_ref().is_some_and(|worst| !worst.peak.high.is_finite());
        row.push(if unknown { "a current on it is not stated".into() } else { Cell::Empty });
        table.rows.push(row);
    }
    table
}

/// What feeds a circuit, by its id.
fn feed(supply: &Supply, from: Feed) -> &str {
    let found = match from {
        Feed::Battery(at) => supply.batteries.get(at).map(|one| &one.id),
        Feed::Converter(at) => supply.converters.get(at).map(|one| &one.id),
        Feed::Circuit(at) => supply.circuits.get(at).map(|one| &one.id),
    };
    found.map_or("", String::as_str)
}

fn written(length: Length, unit: Unit) -> f64 {
    shortest(length, unit, |read| read == length)
}

/// The unit in which the wires were most likely measured.
fn unit_of(supply: &Supply) -> Option<Unit> {
    let digits = |unit: &Unit| -> usize {
        let cables = supply.circuits.iter().filter_map(|circuit| circuit.cable);
        cables.map(|cable| written(cable.wire.length, *unit).to_string().len()).sum()
    };
    ["ft", "m", "in", "mm"].into_iter().filter_map(Unit::parse).min_by_key(digits)
}

fn of_cable(cable: &Cable, unit: Unit) -> Vec<Cell> {
    let wire = cable.wire;
    vec![
        size(wire.size).into(),
        written(wire.length, unit).into(),
        match wire.strand {
            Strand::Solid => "solid",
            Strand::Stranded => "stranded",
        }
        .into(),
        cable.insulation.map(|insulation| insulation.rated().value()).into(),
        wire.temperature.value().into(),
        if cable.engine_space { "yes".into() } else { Cell::Empty },
        cable.ampacity.map(|most| most.value()).into(),
    ]
}

/// As a package writes it.
fn size(size: Size) -> String {
    let number = |number: i32| if number < 0 { format!("{}/0", 1 - number) } else { number.to_string() };
    match size {
        Size::Awg(0) => "1/0 AWG".to_owned(),
        Size::Awg(gauge) => format!("{} AWG", number(gauge)),
        Size::Sae(0) => "1/0 SAE".to_owned(),
        Size::Sae(gauge) => format!("{} SAE", number(gauge)),
        Size::Metric(area) => {
            let full = area.value() * 1e6;
            let rounded = |digits: i32| (full * 10_f64.powi(digits)).round() / 10_f64.powi(digits);
            let same = |number: &f64| *number * 1e-6 == area.value();
            format!("{} mm2", (0..=9).map(rounded).find(same).unwrap_or(full))
        }
    }
}

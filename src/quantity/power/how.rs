//! How a figure of the electrical side came about, for `explain`: what hangs there, what it draws, and the current over
//! time in characters.

use crate::electrical::CurrentTrain;
use crate::measure::{Case, Conduct, Power, Range, Tree};
use crate::package::Feed;
use crate::quantity::{Ask, Measured, Working};

/// Columns and rows of the plot.
const COLUMNS: u16 = 60;
const ROWS: u16 = 8;

/// The lines behind a figure of a circuit or of a battery, in the states that are its worst.
pub fn how(conduct: &Conduct<'_>, _: &Ask<'_>, measured: &Measured) -> Working {
    let mut working = Working { lines: measured.steps.clone(), ..Working::default() };
    let Some(power) = conduct.power() else { return working };
    let states = measured.states.as_ref().unwrap_or_else(|| conduct.space().allowed());
    let in_it = |tree: &Tree| tree.cases.iter().position(|case| conduct.space().meet(&case.region, states));
    let circuit = measured.circuit.as_ref();
    if let Some(at) = circuit.and_then(|id| power.supply.circuits.iter().position(|one| one.id == *id)) {
        let Some((tree, place)) = power.of_circuit(at) else { return working };
        let Some(case) = in_it(tree).and_then(|case| tree.cases.get(case)) else { return working };
        of_circuit(power, tree, place, case, &mut working);
    }
    let battery = measured.supply.as_ref();
    if let Some(at) = battery.and_then(|id| power.supply.batteries.iter().position(|one| one.id == *id)) {
        for tree in power.on_battery(at) {
            let case = in_it(tree).and_then(|case| tree.cases.get(case));
            case.into_iter().for_each(|case| of_tree(power, case, &mut working));
        }
    }
    working
}

fn of_circuit(power: &Power, tree: &Tree, place: usize, case: &Case, working: &mut Working) {
    let beneath = beneath(power, tree, place);
    for (at, one) in case.drawing.iter().enumerate().filter(|(_, one)| beneath.contains(&one.circuit)) {
        let draws = case.flows.iter().filter_map(|flows| Some((flows.source.1.value(), *flows.draws.get(at)?)));
        let draws: Vec<String> = draws.map(|(volts, draw)| format!("{} at {volts} V", amperes(draw))).collect();
        working.lines.push(format!("{}: mean {}", one.name, draws.join(", ")));
    }
    for flows in &case.flows {
        let Some(flow) = flows.flows.as_ref().and_then(|all| all.get(place)) else { continue };
        let clamp = flow.train.as_ref().map(|train| {
            format!(" (a clamp for alternating current alone would show {:.3} A)", train.ripple().value())
        });
        working.lines.push(format!(
            "in all at {} V: mean {}, RMS {}{}, peak {}; at the end of the wire at least {:.3} V",
            flows.source.1.value(),
            amperes(flow.average),
            amperes(flow.rms),
            clamp.unwrap_or_default(),
            amperes(flow.peak),
            flow.voltage.low
        ));
    }
    if let Some(circuit) = tree.circuits.get(place).and_then(|at| power.supply.circuits.get(*at)) {
        working.lines.extend(circuit.cable.map(|cable| {
            let wire = cable.wire;
            format!(
                "wire {}, {:.2} m one way, copper at {} degC: {:.2} mohm out and back",
                wire.size,
                wire.length.value(),
                wire.temperature.value(),
                wire.resistance().value() * 1e3
            )
        }));
        working.lines.extend(circuit.fuse.map(|fuse| {
            let ambient = fuse.ambient.map(|ambient| format!(", {} degC around it", ambient.value()));
            format!("fuse {} A, {}{}", fuse.rating.value(), fuse.kind.word(), ambient.unwrap_or_default())
        }));
    }
    let lowest = case.flows.iter().min_by(|one, other| one.source.1.value().total_cmp(&other.source.1.value()));
    let flow = lowest.and_then(|flows| Some((flows.source.1, flows.flows.as_ref()?.get(place)?)));
    if let Some((volts, train)) = flow.and_then(|(volts, flow)| Some((volts, flow.train.as_ref()?))) {
        working.plot = plot(train, volts.value());
    }
}

fn of_tree(power: &Power, case: &Case, working: &mut Working) {
    for (at, one) in case.drawing.iter().enumerate() {
        let draws = case.flows.iter().filter_map(|flows| Some((flows.source.1.value(), *flows.draws.get(at)?)));
        let draws: Vec<String> = draws.map(|(volts, draw)| format!("{} at {volts} V", amperes(draw))).collect();
        let circuit = power.supply.circuits.get(one.circuit).map_or("", |circuit| circuit.id.as_str());
        working.lines.push(format!("{} on {circuit} ({}): mean {}", one.name, one.kind.word(), draws.join(", ")));
    }
}

/// The circuits through which flows what a circuit feeds: itself and all behind it.
fn beneath(power: &Power, tree: &Tree, place: usize) -> Vec<usize> {
    let mut found: Vec<usize> = tree.circuits.get(place).copied().into_iter().collect();
    for at in &tree.circuits {
        let fed = power.supply.circuits.get(*at).map(|circuit| circuit.from);
        if matches!(fed, Some(Feed::Circuit(from)) if found.contains(&from)) {
            found.push(*at);
        }
    }
    found
}

fn amperes(range: Range) -> String {
    if range.high.is_infinite() {
        format!("at least {:.3} A", range.low)
    } else if (range.high - range.low).abs() < 5e-4 {
        format!("{:.3} A", range.high)
    } else {
        format!("{:.3} to {:.3} A", range.low, range.high)
    }
}

/// The current over one period (or its first two seconds) in characters.
fn plot(train: &CurrentTrain, volts: f64) -> Vec<String> {
    let peak = train.peak().value();
    let period = train.period().get();
    let shown = period.min(2_000_000);
    if peak <= 0.0 {
        return Vec::new();
    }
    let current = |column: u16| {
        let at = shown * i64::from(column) / i64::from(COLUMNS);
        let here = train.steps().find(|(end, _)| end.get() > at);
        here.map_or(0.0, |(_, current)| current.value())
    };
    let columns: Vec<f64> = (0..COLUMNS).map(current).collect();
    let mut rows = vec![format!("current at {volts} V, peak {peak:.2} A")];
    for row in (0..ROWS).rev() {
        let level = peak * (f64::from(row) + 0.5) / f64::from(ROWS);
        let bars: String = columns.iter().map(|current| if *current >= level { '#' } else { ' ' }).collect();
        rows.push(format!("{:>8.2} A |{}", peak * f64::from(row + 1) / f64::from(ROWS), bars.trim_end()));
    }
    rows.push(format!("{:>10} +{}", "0 A", "-".repeat(usize::from(COLUMNS))));
    // Whole milliseconds, as near as a plot shows.
    let more = if shown < period { format!(" of {}", train.period()) } else { String::new() };
    let end = crate::units::Micros::new(shown);
    rows.push(format!("{:>12}{:>width$}", "0", format!("{end}{more}"), width = usize::from(COLUMNS) - 1));
    rows
}

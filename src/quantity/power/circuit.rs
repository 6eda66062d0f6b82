//! What is asked of each circuit: fuse, wire, and the voltage that is left at its end.

use super::{OneCircuit, Worst, each_circuit, each_fixed, no_fuse, no_supply, of_power};
use crate::electrical::Overload;
use crate::logic::Region;
use crate::measure::{Case, Conduct, Flow, Flows, Power, Range};
use crate::package::{Converter, Feed, Fuse, Plug};
use crate::quantity::{Measured, Quantity, Value};
use crate::units::{Ampere, Dimension};

const CLAMP: &str =
    "DC clamp meter (true RMS) on the wire at the fuse, over at least 10 s, everything on that can be on";

/// The voltage of the system.
pub(in crate::quantity) static SYSTEM: Quantity = of_power(
    "system-voltage",
    "the voltage of the vehicle's system, as the package states it",
    Dimension::Voltage,
    false,
    "read the label of a battery",
    |conduct, _| {
        let Some(power) = conduct.power() else { return no_supply() };
        vec![Measured::new(Value::exactly(power.supply.system.value()))]
    },
);

/// RMS current over what the fuse may carry.
pub(in crate::quantity) static FUSE_USE: Quantity = of_power(
    "fuse-use",
    "the greatest RMS current of a circuit as a share of its fuse's rating in the warmth around it",
    Dimension::Share,
    false,
    CLAMP,
    |conduct, _| {
        each_circuit(
            conduct,
            Worst::Greatest,
            |_, one| one.circuit.fuse.is_some(),
            |_, one, _, flow| with_fuse(one, |fuse| over(flow.rms, left(fuse)?)),
        )
    },
);

/// Pulses above the rating against the shortest opening times.
pub(in crate::quantity) static FUSE_OVERLOAD: Quantity = of_power(
    "fuse-overload-time",
    "the longest time above a fuse's rating as a share of the shortest published opening time at that overload; 0 where it never exceeds 110 %",
    Dimension::Share,
    false,
    "oscilloscope with a DC clamp on the wire at the fuse: height and length of the pulses",
    |conduct, _| {
        each_circuit(
            conduct,
            Worst::Greatest,
            |_, one| one.circuit.fuse.is_some(),
            |_, one, _, flow| with_fuse(one, |fuse| overload(fuse, flow)),
        )
    },
);

/// What the wire carries over the fuse's rating.
pub(in crate::quantity) static WIRE_OVER_FUSE: Quantity = of_power(
    "wire-over-fuse",
    "what a circuit's wire may carry where it lies, as a share of the rating of the fuse that protects it",
    Dimension::Share,
    false,
    "read the fuse's rating, and the wire's size and insulation on its jacket",
    |conduct, _| {
        each_fixed(conduct, has_fuse_or_wire, |power, one| {
            let fuse = one.fuse(power)?;
            Ok(Range::exactly(carries(one, true)?.value() / fuse.rating.value()))
        })
    },
);

/// The fuse's rating over what the wire carries.
pub(in crate::quantity) static FUSE_OVER_AMPACITY: Quantity = of_power(
    "fuse-over-ampacity",
    "the rating of the fuse that protects a circuit's wire, as a share of the wire's ampacity by table",
    Dimension::Share,
    false,
    "read the fuse's rating, and the wire's size and insulation on its jacket",
    |conduct, _| {
        each_fixed(conduct, has_fuse_or_wire, |power, one| {
            let fuse = one.fuse(power)?;
            Ok(Range::exactly(fuse.rating.value() / carries(one, false)?.value()))
        })
    },
);

/// RMS current over what the wire may carry.
pub(in crate::quantity) static WIRE_USE: Quantity = of_power(
    "wire-use",
    "the greatest RMS current of a circuit as a share of what its wire may carry where it lies",
    Dimension::Share,
    false,
    CLAMP,
    |conduct, _| {
        each_circuit(conduct, Worst::Greatest, has_cable, |_, one, _, flow| over(flow.rms, carries(one, true)?.value()))
    },
);

/// What is lost on the way, of the source's voltage.
pub(in crate::quantity) static DROP_OF_SOURCE: Quantity = of_power(
    "voltage-drop-of-source",
    "the voltage lost from source to the end of a circuit at its greatest current, as a share of the source's voltage",
    Dimension::Share,
    false,
    DROP_BY_HAND,
    |conduct, _| {
        each_circuit(conduct, Worst::GreatestOr(1.0), loaded, |power, one, flows, flow| {
            dropped(power, one, flows, flow, None)
        })
    },
);

/// What is lost on the way, of the system's voltage.
pub(in crate::quantity) static DROP_OF_SYSTEM: Quantity = of_power(
    "voltage-drop-of-system",
    "the voltage lost from source to the end of a circuit at its greatest current, as a share of the system's 12 or 24 V",
    Dimension::Share,
    false,
    DROP_BY_HAND,
    |conduct, _| {
        each_circuit(conduct, Worst::GreatestOr(1.0), loaded, |power, one, flows, flow| {
            dropped(power, one, flows, flow, Some(power.supply.system.value()))
        })
    },
);

/// What is left at the end.
pub(in crate::quantity) static VOLTAGE_AT_LOAD: Quantity = of_power(
    "voltage-at-load",
    "the lowest voltage at the end of a circuit",
    Dimension::Voltage,
    false,
    DROP_BY_HAND,
    |conduct, _| {
        each_circuit(conduct, Worst::LeastOr(0.0), loaded, |power, one, _, flow| {
            described(power, one)?;
            Ok(flow.voltage)
        })
    },
);

const DROP_BY_HAND: &str = "voltmeter at the lamp's own terminals and at the source at the same time, lamps lit, lowest reading (min/max hold)";

/// The current that is the whole of a quantity which is a share of what a circuit's fuse or wire may carry, so that a clamp
/// meter shows it. `None` for other quantities, and where it is not known.
pub(in crate::quantity) fn whole(conduct: &Conduct<'_>, quantity: &str, circuit: &str) -> Option<Ampere> {
    let power = conduct.power()?;
    let at = power.supply.circuits.iter().position(|known| known.id == circuit)?;
    let (tree, place) = power.of_circuit(at)?;
    let one = OneCircuit { circuit: power.supply.circuits.get(at)?, at, tree, place };
    if quantity == FUSE_USE.name {
        left(one.circuit.fuse.as_ref()?).ok().map(Ampere::new)
    } else if quantity == WIRE_USE.name {
        carries(&one, true).ok()
    } else {
        None
    }
}

/// The greatest RMS current of a circuit at each voltage of its source: the least and the most of these, in amperes, and the
/// voltages in words; and whether at one voltage too it may be more or less. `None` where it is not known for all of them.
pub(in crate::quantity) fn by_voltage(conduct: &Conduct<'_>, circuit: &str) -> Option<(Range, Vec<String>, bool)> {
    let power = conduct.power()?;
    let at = power.supply.circuits.iter().position(|known| known.id == circuit)?;
    let (tree, place) = power.of_circuit(at)?;
    if tree.rest || tree.cases.iter().any(|case| !case.unknown().is_empty()) {
        return None;
    }
    let mut greatest: Vec<(f64, Range)> = Vec::new();
    let mut named = Vec::new();
    for flows in tree.cases.iter().flat_map(|case| &case.flows) {
        let (rms, source) = (flows.flows.as_ref()?.get(place)?.rms, flows.source.1.value());
        match greatest.iter_mut().find(|(volts, _)| *volts == source) {
            Some((_, range)) => {
                *range = Range { low: range.low.max(rms.low), high: range.high.max(rms.high) };
            }
            None => {
                greatest.push((source, rms));
                named.push(format!("{} ({})", super::volts(source), super::at_source(flows.source.0)));
            }
        }
    }
    let varies = greatest.iter().any(|(_, range)| range.high - range.low > ONE_CURRENT * range.high.abs());
    let range = greatest.into_iter().map(|(_, range)| range).reduce(Range::join)?;
    (range.low.is_finite() && range.high.is_finite()).then_some((range, named, varies))
}

/// Currents that differ by less than this share, and voltages by less than this many volts, are one to a person on the
/// vehicle: a fifth of what the trade reckons with for clamp meter and voltmeter.
const ONE_CURRENT: f64 = 0.006;
const ONE_VOLTAGE: f64 = 0.02;

/// The states in which a circuit's end has the voltage of the states `at`, at every voltage of its source; for currents, and
/// for pulses, which most often are nowhere too long and then the same in all states, those in which the most flows.
/// `None` where that is not known.
pub(in crate::quantity) fn as_loaded(
    conduct: &Conduct<'_>,
    quantity: &str,
    circuit: &str,
    at: Option<&Region>,
) -> Option<Region> {
    let power = conduct.power()?;
    let place = power.supply.circuits.iter().position(|known| known.id == circuit)?;
    let (tree, place) = power.of_circuit(place)?;
    let by_current = [FUSE_USE.name, WIRE_USE.name, FUSE_OVERLOAD.name];
    let by_voltage = [DROP_OF_SOURCE.name, DROP_OF_SYSTEM.name, VOLTAGE_AT_LOAD.name];
    if tree.rest || ![&by_current[..], &by_voltage[..]].concat().contains(&quantity) {
        return None;
    }
    let space = conduct.space();
    let flow = |case: &Case| -> Option<Vec<Flow>> {
        let of = |flows: &Flows| flows.flows.as_ref()?.get(place).cloned();
        case.flows.iter().map(of).collect()
    };
    let cases: Vec<(&Region, Vec<Flow>)> =
        tree.cases.iter().filter_map(|case| Some((&case.region, flow(case)?))).collect();
    let most = |flows: &[Flow]| flows.iter().map(|flow| flow.rms.high).fold(0.0, f64::max);
    let at = at.filter(|_| by_voltage.contains(&quantity));
    let (_, loaded) = match at {
        Some(at) => cases.iter().find(|(region, _)| space.meet(region, at))?,
        None => cases.iter().reduce(|one, other| if most(&other.1) > most(&one.1) { other } else { one })?,
    };
    let currents = |flow: &Flow| [flow.rms.low, flow.rms.high, flow.peak.low, flow.peak.high];
    let voltages = |flow: &Flow| [flow.voltage.low, flow.voltage.high];
    let alike = |one: &Flow, other: &Flow| match by_current.contains(&quantity) {
        true => currents(one).iter().zip(currents(other)).all(|(a, b)| (a - b).abs() <= ONE_CURRENT * a.abs()),
        false => voltages(one).iter().zip(voltages(other)).all(|(a, b)| (a - b).abs() <= ONE_VOLTAGE),
    };
    let same = cases.iter().filter(|(_, flows)| flows.iter().zip(loaded).all(|(one, other)| alike(other, one)));
    Some(same.fold(space.none(), |all, (region, _)| space.or(&all, region)))
}

fn has_cable(_: &Power, one: &OneCircuit<'_>) -> bool {
    one.circuit.cable.is_some()
}

fn has_fuse_or_wire(_: &Power, one: &OneCircuit<'_>) -> bool {
    // A circuit with neither wire nor fuse of its own is a name for something that needs none here.
    one.circuit.cable.is_some() || one.circuit.fuse.is_some()
}

/// Whether anything hangs on the end of this circuit itself.
fn loaded(power: &Power, one: &OneCircuit<'_>) -> bool {
    let supply = &power.supply;
    let head = supply.of_heads.iter().flatten().any(|circuit| *circuit == one.at);
    let load = supply.loads.iter().any(|load| load.at == Plug::Circuit(one.at));
    let converter = |converter: &Converter| converter.from == Feed::Circuit(one.at);
    let inverter = supply.inverters.iter().any(|inverter| inverter.circuit == one.at);
    head || load || inverter || supply.converters.iter().any(converter)
}

fn with_fuse(one: &OneCircuit<'_>, figure: impl FnOnce(&Fuse) -> Result<Range, String>) -> Result<Range, String> {
    figure(one.circuit.fuse.as_ref().ok_or_else(no_fuse)?)
}

fn over(range: Range, of: f64) -> Result<Range, String> {
    Ok(Range { low: range.low / of, high: range.high / of })
}

/// What is left of a fuse's rating in the warmth around it, in amperes.
fn left(fuse: &Fuse) -> Result<f64, String> {
    let Some(ambient) = fuse.ambient else { return Ok(fuse.rating.value()) };
    match fuse.kind.left_at(ambient) {
        Some(share) => Ok(fuse.rating.value() * share.value()),
        None => Err(format!(
            "what is left of a fuse of the kind `{}` at {} degC is not published",
            fuse.kind.word(),
            ambient.value()
        )),
    }
}

fn overload(fuse: &Fuse, flow: &Flow) -> Result<Range, String> {
    let unknown =
        || format!("no published opening time covers this overload of a fuse of the kind `{}`", fuse.kind.word());
    let of = |current: f64, lasts| match fuse.kind.overload(fuse.rating, Ampere::new(current), lasts) {
        Overload::None => Ok(0.0),
        // A steady overload outlasts any time; a hundred times stands for that.
        Overload::Lasting(share) => Ok(share.min(100.0)),
        Overload::Unknown => Err(unknown()),
    };
    match &flow.train {
        Some(train) => {
            let times = train.above(fuse.rating * 1.10);
            let shares =
                times.into_iter().map(|(lasts, peak)| of(peak.value(), lasts)).collect::<Result<Vec<_>, _>>()?;
            Ok(Range::exactly(shares.into_iter().fold(0.0, f64::max)))
        }
        // Without its phases only a current that never exceeds the rating is sure.
        None => {
            Ok(Range { low: 0.0, high: if flow.peak.high <= fuse.rating.value() * 1.10 { 0.0 } else { f64::INFINITY } })
        }
    }
}

/// What a circuit's wire may carry; in its place, or as the table has it.
fn carries(one: &OneCircuit<'_>, in_place: bool) -> Result<Ampere, String> {
    let cable = one.circuit.cable.as_ref().ok_or("no `wire` is described")?;
    let open = match (cable.ampacity, cable.insulation) {
        (Some(stated), _) => stated,
        (None, None) => return Err("neither the `insulation` of the wire nor its `ampacity` is stated".to_owned()),
        (None, Some(insulation)) => cable.wire.size.ampacity(insulation).ok_or_else(|| {
            format!("no published table holds a wire of {}: its `ampacity` is not stated", cable.wire.size)
        })?,
    };
    if !in_place || !cable.engine_space {
        return Ok(open);
    }
    let share = cable.insulation.and_then(crate::electrical::Insulation::in_engine_space);
    share
        .map(|share| open * share.value())
        .ok_or_else(|| "what the wire may carry in an engine space is not known without its `insulation`".to_owned())
}

/// Every wire from the source to the end of a circuit is described.
fn described(power: &Power, one: &OneCircuit<'_>) -> Result<(), String> {
    match power.supply.towards_source(one.at).find(|circuit| circuit.cable.is_none()) {
        Some(circuit) => Err(format!("no `wire` is described for the circuit `{}`", circuit.id)),
        None => Ok(()),
    }
}

fn dropped(
    power: &Power,
    one: &OneCircuit<'_>,
    flows: &Flows,
    flow: &Flow,
    base: Option<f64>,
) -> Result<Range, String> {
    described(power, one)?;
    let source = flows.source.1.value();
    let base = base.unwrap_or(source);
    Ok(Range { low: (source - flow.voltage.high) / base, high: (source - flow.voltage.low) / base })
}

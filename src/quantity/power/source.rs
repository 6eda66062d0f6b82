//! What is asked of batteries, alternators, converters, inverters and shore inlets.

use super::{no_supply, of_power};
use crate::logic::{Condition, Region};
use crate::measure::{Conduct, Drawing, MOST_WAYS, Power, Range, converter_input};
use crate::package::{Battery, Converter, Feed, LoadKind, Plug, Rating};
use crate::quantity::{Ask, Measured, Quantity, Value, weakest};
use crate::units::{Ampere, Dimension};

/// What is left of the alternators, hot at idle, over the minimum continuous load.
pub(in crate::quantity) static HOT_IDLE_MARGIN: Quantity = of_power(
    "hot-idle-margin",
    "what the alternators give hot at idle, less the mean of the warning lamps, the minimum continuous loads, converters at full output and charging",
    Dimension::Current,
    true,
    "engine hot, at idle, all of the load on: clamp meter on the battery cable, no current out of the battery",
    |conduct, ask| hot_idle(conduct, ask, false),
);

/// The same with the total continuous load.
pub(in crate::quantity) static HOT_IDLE_MARGIN_TOTAL: Quantity = of_power(
    "hot-idle-margin-total",
    "what the alternators give hot at idle, less the mean of the warning lamps, all continuous loads, converters at full output and charging",
    Dimension::Current,
    true,
    "engine hot, at idle, all of the load on: clamp meter on the battery cable, no current out of the battery",
    |conduct, ask| hot_idle(conduct, ask, true),
);

/// How long a battery lasts with the engine off.
pub(in crate::quantity) static ENGINE_OFF_TIME: Quantity = of_power(
    "engine-off-time",
    "how long a battery carries the warning lamps and all continuous loads with the engine off, down to its usable share",
    Dimension::Time,
    true,
    "engine off, battery full, all of the load on: time until the low-voltage alarm, then start the engine",
    |conduct, ask| {
        // What charges another battery stands still with the engine.
        let with_it_off = |one: &Drawing| continuous(one) && !one.charges;
        each_battery(conduct, ask, &["battery"], with_it_off, |battery, current| {
            let bank = battery
                .bank
                .ok_or("the `capacity`, the `usable` share or the `exponent` of the battery is not stated")?;
            let lasts =
                |amperes: f64| if amperes > 0.0 { bank.lasts(Ampere::new(amperes)).value() } else { f64::INFINITY };
            Ok(Range { low: lasts(current.high), high: lasts(current.low) })
        })
    },
);

/// How much of a reserve capacity ten minutes of the minimum load take.
pub(in crate::quantity) static RESERVE_USED: Quantity = of_power(
    "reserve-used-in-10-min",
    "the share of a battery's reserve capacity that ten minutes of the warning lamps and the minimum continuous loads take, engine off; a test is still required",
    Dimension::Share,
    true,
    "engine off, batteries full: minimum continuous load for 10 min, then the engine must start",
    |conduct, ask| {
        let minimum = |one: &Drawing| one.kind == LoadKind::Minimum;
        each_battery(conduct, ask, &["battery"], minimum, |battery, current| {
            let reserve = battery.reserve.ok_or("no `reserve` capacity of the battery is stated")?;
            let exponent =
                battery.exponent.ok_or("no `exponent` of the battery is stated, nor the figures to compute it from")?;
            // From I = 25 n (share RC / t)^(1/k).
            let used =
                |amperes: f64| 600.0 / reserve.value() * (amperes / (25.0 * f64::from(battery.count))).powf(exponent);
            Ok(Range { low: used(current.low), high: used(current.high) })
        })
    },
);

/// What a converter gives of what it can.
pub(in crate::quantity) static CONVERTER_USE: Quantity = of_power(
    "converter-use",
    "the greatest current that is drawn from a converter as a share of its output",
    Dimension::Share,
    false,
    "clamp meter on the converter's output, everything on that can be on",
    |conduct, _| converters(conduct),
);

/// What an inverter gives of what it can.
pub(in crate::quantity) static INVERTER_USE: Quantity = of_power(
    "inverter-use",
    "the greatest power that is drawn from an inverter as a share of its output",
    Dimension::Share,
    false,
    "power meter at the inverter's outlet, everything on that can be on",
    |conduct, _| {
        let Some(power) = conduct.power() else { return no_supply() };
        let inverters = power.supply.inverters.iter().enumerate();
        inverters.map(|(at, one)| plugged(conduct, power, Plug::Inverter(at), &one.id, one.output.value())).collect()
    },
);

/// What a shore inlet gives of its rating.
pub(in crate::quantity) static SHORE_USE: Quantity = of_power(
    "shore-use",
    "the greatest power that is drawn through a shore inlet as a share of its rating",
    Dimension::Share,
    false,
    "clamp meter on one conductor of the shore cord, chargers bulk charging, everything on that can be on",
    |conduct, _| {
        let Some(power) = conduct.power() else { return no_supply() };
        let inlets = power.supply.inlets.iter().enumerate();
        let of = |(at, one): (usize, &crate::package::Inlet)| {
            plugged(conduct, power, Plug::Inlet(at), &one.id, one.rated.value() * one.voltage.value())
        };
        inlets.map(of).collect()
    },
);

/// How far apart the voltages of the current figures lie.
pub(in crate::quantity) static SHEET_VOLTAGES: Quantity = of_power(
    "sheet-voltage-spread",
    "the difference between the highest and the lowest voltage at which the currents of the fitted lamps are stated",
    Dimension::Voltage,
    false,
    "read on each lamp's sheet at which voltage its current was measured",
    |conduct, _| vec![sheet_voltages(conduct)],
);

fn continuous(one: &Drawing) -> bool {
    one.kind != LoadKind::Intermittent
}

/// With the minimum continuous load, or with the total.
fn hot_idle(conduct: &Conduct<'_>, ask: &Ask<'_>, total: bool) -> Vec<Measured> {
    let Some(power) = conduct.power() else { return no_supply() };
    let supply = &power.supply;
    let counts = |one: &Drawing| if total { continuous(one) } else { one.kind == LoadKind::Minimum };
    let charging = |battery: &str| {
        let at = supply.batteries.iter().position(|known| known.id == battery);
        supply.alternators.iter().filter(move |one| at.is_some_and(|at| one.charges.contains(&at)))
    };
    let mut found = each_battery(conduct, ask, &["running", "regulated"], counts, |battery, current| {
        if charging(&battery.id).next().is_none() {
            return Err(NO_ALTERNATOR.to_owned());
        }
        let mut output = 0.0;
        for alternator in charging(&battery.id) {
            let hot = alternator.hot_idle.as_ref().ok_or_else(|| match alternator.rated {
                Some(rated) => format!(
                    "no `hot-idle` output of the alternator `{}` is stated: its rating of {} A is for cool air at full speed",
                    alternator.id,
                    rated.value()
                ),
                None => format!("no `hot-idle` output of the alternator `{}` is stated", alternator.id),
            })?;
            output += hot.output.value();
        }
        // A converter that charges another battery is a load of this one; on a circuit the total counts it already.
        let root = supply.batteries.iter().position(|known| known.id == battery.id).map(Feed::Battery);
        let adds = |converter: &&Converter| match converter.from {
            Feed::Circuit(circuit) => !total && power.of_circuit(circuit).map(|(tree, _)| tree.source) == root,
            feed => Some(feed) == root && converter.charges.is_some(),
        };
        let mut load = current + Range::exactly(battery.charging.value());
        for converter in supply.converters.iter().filter(adds) {
            let input = converter_input(converter, supply.voltages.running)
                .ok_or_else(|| format!("no `efficiency` of the converter `{}` is stated", converter.id))?;
            load = load + Range::exactly(input.value());
        }
        Ok(Range { low: output - load.high, high: output - load.low })
    });
    found.retain(|measured| measured.value != Value::Unknown(NO_ALTERNATOR.to_owned()));
    for measured in &mut found {
        let of_alternators = charging(measured.supply.as_deref().unwrap_or_default());
        let grades = of_alternators.filter_map(|one| Some(one.hot_idle.as_ref()?.evidence.grade));
        measured.evidence = weakest(measured.evidence.into_iter().chain(grades));
    }
    found
}

const NO_ALTERNATOR: &str = "no alternator charges it";

/// What each battery gives in a purpose, as a figure of its current.
fn each_battery(
    conduct: &Conduct<'_>,
    ask: &Ask<'_>,
    voltages: &[&str],
    counts: impl Fn(&Drawing) -> bool + Copy,
    figure: impl Fn(&Battery, Range) -> Result<Range, String>,
) -> Vec<Measured> {
    let Some(power) = conduct.power() else { return no_supply() };
    let purpose = conduct.purpose(ask.purpose.unwrap_or_default());
    let mut found = Vec::new();
    for (at, battery) in power.supply.batteries.iter().enumerate() {
        let mut measured = match power.most(conduct, at, &purpose, voltages, counts) {
            Ok(None) => continue,
            Err(why) => Measured::new(Value::Unknown(why)),
            Ok(Some(most)) => match figure(battery, most.current) {
                Err(why) => Measured::new(Value::Unknown(why)),
                Ok(range) => {
                    let mut measured = Measured::new(Value::Number { low: range.low, high: range.high, occurs: false });
                    let current = if most.current.low == most.current.high {
                        format!("{:.2} A", most.current.high)
                    } else {
                        format!("{:.2} to {:.2} A", most.current.low, most.current.high)
                    };
                    measured.steps.push(format!("mean {current} at {} V", most.volts.value()));
                    if !most.unknown.is_empty() {
                        measured.notes.insert(0, format!("no current is stated for {}", most.unknown.join(", ")));
                    }
                    measured.evidence = most.evidence;
                    measured.states = Some(most.region);
                    measured
                }
            },
        };
        measured.supply = Some(battery.id.clone());
        found.push(measured);
    }
    found
}

fn converters(conduct: &Conduct<'_>) -> Vec<Measured> {
    let Some(power) = conduct.power() else { return no_supply() };
    let mut found = Vec::new();
    for (at, converter) in power.supply.converters.iter().enumerate() {
        let trees: Vec<_> = power.trees.iter().filter(|tree| tree.source == Feed::Converter(at)).collect();
        if trees.is_empty() {
            continue;
        }
        let peak = |tree: &&crate::measure::Tree| {
            let peaks = tree.cases.iter().flat_map(|case| &case.flows).map(|flows| {
                flows
                    .flows
                    .as_ref()
                    .and_then(|all| all.first())
                    .map_or(Range { low: 0.0, high: f64::INFINITY }, |flow| flow.peak)
            });
            peaks.fold(Range::exactly(0.0), |most, peak| Range {
                low: most.low.max(peak.low),
                high: most.high.max(peak.high),
            })
        };
        // Trees are on together or apart; together is the most, and of several the greatest alone is sure.
        let peaks: Vec<Range> = trees.iter().map(peak).collect();
        let low = peaks.iter().map(|peak| peak.low).fold(0.0, f64::max);
        let high: f64 = peaks.iter().map(|peak| peak.high).sum();
        let output = converter.output.value();
        let mut measured = Measured::new(Value::Number { low: low / output, high: high / output, occurs: false });
        measured.evidence =
            weakest(trees.iter().flat_map(|tree| &tree.cases).filter_map(crate::measure::Case::evidence));
        measured.supply = Some(converter.id.clone());
        found.push(measured);
    }
    found
}

/// What alternating-current loads take together, as a share of what feeds them.
fn plugged(conduct: &Conduct<'_>, power: &Power, plug: Plug, id: &str, output: f64) -> Measured {
    let space = conduct.space();
    let loads: Vec<_> = power.supply.loads.iter().filter(|load| load.at == plug).collect();
    let volts = match plug {
        Plug::Inlet(at) => power.supply.inlets.get(at).map_or(0.0, |inlet| inlet.voltage.value()),
        Plug::Inverter(_) | Plug::Circuit(_) => 0.0,
    };
    let watts = |rating: Rating| match rating {
        Rating::Power(power) => power.value(),
        // At an inlet a current is one at its voltage.
        Rating::Current(current, at, _) => current.value() * if at.value() > 0.0 { at.value() } else { volts },
    };
    let mut ways: Vec<(Region, f64)> = vec![(space.allowed().clone(), 0.0)];
    for load in &loads {
        let adds = watts(load.rating);
        if load.when == Condition::Always || ways.len() > MOST_WAYS {
            ways.iter_mut().for_each(|(_, sum)| *sum += adds);
            continue;
        }
        let on = space.holds(&load.when);
        let split =
            |(region, sum): (Region, f64)| [(space.and(&region, &on), sum + adds), (space.minus(&region, &on), sum)];
        ways = ways.into_iter().flat_map(split).filter(|(region, _)| !region.is_empty()).collect();
    }
    let most = ways.into_iter().max_by(|one, other| one.1.total_cmp(&other.1));
    let (region, sum) = most.unwrap_or_else(|| (space.none(), 0.0));
    let mut measured = Measured::new(Value::exactly(sum / output));
    measured.notes.push(format!("{sum:.0} W of {output:.0} W"));
    measured.evidence = weakest(loads.iter().map(|load| load.evidence.grade));
    measured.states = (region != *space.allowed()).then_some(region);
    measured.supply = Some(id.to_owned());
    measured
}

fn sheet_voltages(conduct: &Conduct<'_>) -> Measured {
    let package = conduct.package;
    let mut known: Vec<(f64, String)> = Vec::new();
    for (_, at, shown) in conduct.shown() {
        let Some(head) = package.heads.get(at) else { continue };
        let emitter = package.models.get(head.model).and_then(|model| model.emitters.get(shown.show.emitter));
        let volts = emitter.and_then(|emitter| emitter.current?.at);
        known.extend(volts.map(|volts| (volts.value(), head.id.clone())));
    }
    let ends = known.iter().min_by(|a, b| a.0.total_cmp(&b.0)).zip(known.iter().max_by(|a, b| a.0.total_cmp(&b.0)));
    let Some((low, high)) = ends else {
        return Measured::new(Value::Absent("no lamp's current is stated at a voltage".to_owned()));
    };
    let mut measured = Measured::new(Value::exactly(high.0 - low.0));
    if low.0 < high.0 {
        measured.notes.push(format!("{} V for `{}`, {} V for `{}`", low.0, low.1, high.0, high.1));
    }
    measured
}

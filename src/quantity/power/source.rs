//! What is asked of batteries, alternators, converters, inverters and shore inlets.

use super::{no_supply, of_power};
use crate::electrical::reserve_used;
use crate::logic::{Condition, Region};
use crate::measure::{Balance, Conduct, Drawing, EngineOff, MOST_WAYS, Most, Power, Range};
use crate::package::{Battery, Feed, Grade, Inlet, Load, Plug, Rating};
use crate::quantity::{Ask, Measured, Quantity, Value, weakest};
use crate::units::{Ampere, Dimension, Seconds};

/// What is left of the alternators, hot at idle, over the minimum continuous load.
pub(in crate::quantity) static HOT_IDLE_MARGIN: Quantity = of_power(
    "hot-idle-margin",
    "what alternators give hot at idle, and converters that charge the battery, less the mean of the warning lamps, the minimum continuous loads, converters at full output and charging; batteries that share an alternator together",
    Dimension::Current,
    true,
    "engine hot, at idle, all of the load on: clamp meter on the battery cable, no current out of the battery",
    |conduct, ask| hot_idle(conduct, ask, false),
);

/// The same with the total continuous load.
pub(in crate::quantity) static HOT_IDLE_MARGIN_TOTAL: Quantity = of_power(
    "hot-idle-margin-total",
    "what alternators give hot at idle, and converters that charge the battery, less the mean of the warning lamps, all continuous loads, converters at full output and charging; batteries that share an alternator together",
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
        each_battery(conduct, ask, |power, at, _, states| {
            let lasts = EngineOff::of(conduct, power, at, states)?;
            Ok(lasts.map(|off| Figure { range: off.lasts, moment: off.most, evidence: None, note: None }))
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
        each_battery(conduct, ask, |power, at, battery, states| {
            let minimum = |one: &Drawing| power.is_minimum(one);
            let Some(most) = power.most(conduct, at, states, &["battery"], minimum)? else { return Ok(None) };
            let reserve = battery.reserve.ok_or("no `reserve` capacity of the battery is stated")?;
            let exponent =
                battery.exponent.ok_or("no `exponent` of the battery is stated, nor the figures to compute it from")?;
            let time = Seconds::new(600.0);
            let used =
                |amperes: f64| reserve_used(Ampere::new(amperes), battery.count, reserve, exponent, time).value();
            let range = Range { low: used(most.current.low), high: used(most.current.high) };
            Ok(Some(Figure { range, moment: most, evidence: None, note: None }))
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
        let watts = |load: &Load| match load.rating {
            Rating::Power(power) => Range::exactly(power.value()),
            Rating::Current(current, at, _) => Range::exactly(current.value() * at.value()),
        };
        let of = |(at, one): (usize, &crate::package::Inverter)| {
            plugged(conduct, power, Plug::Inverter(at), &one.id, (one.output.value(), "W"), watts)
        };
        inverters.map(of).collect()
    },
);

/// What a shore inlet gives of its rating.
pub(in crate::quantity) static SHORE_USE: Quantity = of_power(
    "shore-use",
    "the greatest current that is drawn through a shore inlet as a share of its rating; a power is a lower bound of what is drawn for it",
    Dimension::Share,
    false,
    "clamp meter on one conductor of the shore cord, chargers bulk charging, everything on that can be on",
    |conduct, _| {
        let Some(power) = conduct.power() else { return no_supply() };
        let inlets = power.supply.inlets.iter().enumerate();
        let of = |(at, one): (usize, &Inlet)| {
            let amperes = |load: &Load| match load.rating {
                // Its power factor is not stated: more can flow than the watts ask for.
                Rating::Power(power) => Range { low: power.value() / one.voltage.value(), high: f64::INFINITY },
                Rating::Current(current, _, _) => Range::exactly(current.value()),
            };
            let mut measured = plugged(conduct, power, Plug::Inlet(at), &one.id, (one.rated.value(), "A"), amperes);
            let by_power = |load: &&Load| load.at == Plug::Inlet(at) && matches!(load.rating, Rating::Power(_));
            let unsure: Vec<&str> = power.supply.loads.iter().filter(by_power).map(|load| load.id.as_str()).collect();
            if !unsure.is_empty() {
                let note = "a power says nothing of the power factor: ask for the input amperes its maker states";
                measured.notes.insert(0, format!("{}: {note}", unsure.join(", ")));
            }
            measured
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

/// With the minimum continuous load, or with the total.
fn hot_idle(conduct: &Conduct<'_>, ask: &Ask<'_>, total: bool) -> Vec<Measured> {
    each_battery(conduct, ask, |power, at, _, states| {
        let Some(balance) = Balance::of(conduct, power, at, states, &["running", "regulated"])? else {
            return Ok(None);
        };
        let id = |at: &usize| power.supply.batteries.get(*at).map(|battery| format!("`{}`", battery.id));
        let ids: Vec<String> = balance.batteries.iter().filter_map(id).collect();
        let note = (ids.len() > 1).then(|| format!("{} share alternators: one balance of them all", ids.join(", ")));
        let (range, moment) = match total {
            true => (balance.left_total, balance.total),
            false => (balance.left_minimum, balance.minimum),
        };
        Ok(Some(Figure { range, moment, evidence: balance.evidence, note }))
    })
}

/// A figure of a battery, and the moment at which it holds.
struct Figure {
    range: Range,
    moment: Most,
    /// What the figure rests on beside what is drawn.
    evidence: Option<Grade>,
    note: Option<String>,
}

/// A figure of each battery in a purpose, where something hangs on it; an error says what is not known.
fn each_battery(
    conduct: &Conduct<'_>,
    ask: &Ask<'_>,
    figure: impl Fn(&Power, usize, &Battery, &Region) -> Result<Option<Figure>, String>,
) -> Vec<Measured> {
    let Some(power) = conduct.power() else { return no_supply() };
    if power.supply.batteries.is_empty() {
        return vec![Measured::new(Value::Unknown("no [[battery]] is described".to_owned()))];
    }
    let purpose = conduct.purpose(ask.purpose.unwrap_or_default());
    let mut found = Vec::new();
    for (at, battery) in power.supply.batteries.iter().enumerate() {
        // A lamp on no circuit may hang on any of them.
        let figure = power.all_wired().and_then(|()| figure(power, at, battery, &purpose));
        let measured = match figure {
            Ok(None) => continue,
            Err(why) => Measured::new(Value::Unknown(why)),
            Ok(Some(figure)) => told(figure),
        };
        found.push(Measured { supply: Some(battery.id.clone()), ..measured });
    }
    found
}

fn told(figure: Figure) -> Measured {
    let Figure { range, moment, evidence, note } = figure;
    let mut measured = Measured::new(Value::Number { low: range.low, high: range.high, occurs: false });
    let current = if moment.current.low == moment.current.high {
        format!("{:.2} A", moment.current.high)
    } else {
        format!("{:.2} to {:.2} A", moment.current.low, moment.current.high)
    };
    measured.steps.push(format!("mean {current} at {} V", moment.volts.value()));
    measured.notes.extend(note);
    if !moment.unknown.is_empty() {
        measured.notes.insert(0, format!("no current is stated for {}", moment.unknown.join(", ")));
    }
    measured.evidence = weakest(moment.evidence.into_iter().chain(evidence));
    measured.states = Some(moment.region);
    measured
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
fn plugged(
    conduct: &Conduct<'_>,
    power: &Power,
    plug: Plug,
    id: &str,
    (output, unit): (f64, &str),
    drawn: impl Fn(&Load) -> Range,
) -> Measured {
    let space = conduct.space();
    let loads: Vec<_> = power.supply.loads.iter().filter(|load| load.at == plug).collect();
    let nothing = Range::exactly(0.0);
    let mut ways: Vec<(Region, Range)> = vec![(space.allowed().clone(), nothing)];
    for load in &loads {
        let adds = drawn(load);
        if load.when == Condition::Always || ways.len() > MOST_WAYS {
            ways.iter_mut().for_each(|(_, sum)| *sum = *sum + adds);
            continue;
        }
        let on = space.holds(&load.when);
        let split =
            |(region, sum): (Region, Range)| [(space.and(&region, &on), sum + adds), (space.minus(&region, &on), sum)];
        ways = ways.into_iter().flat_map(split).filter(|(region, _)| !region.is_empty()).collect();
    }
    let high = ways.iter().map(|(_, sum)| sum.high).fold(0.0, f64::max);
    let most = ways.into_iter().max_by(|one, other| one.1.low.total_cmp(&other.1.low));
    let (region, sum) = most.unwrap_or_else(|| (space.none(), nothing));
    let mut measured = Measured::new(Value::Number { low: sum.low / output, high: high / output, occurs: false });
    let digits = usize::from(unit == "A");
    let at_least = if high.is_infinite() { "at least " } else { "" };
    measured.notes.push(format!("{at_least}{:.digits$} {unit} of {output:.digits$} {unit}", sum.low));
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

//! What alternators and converters give hot at idle against all that is drawn, and how a battery lasts without them.
//!
//! Rules and the load analysis both read it here, so that they cannot disagree. Batteries that share an alternator are
//! balanced together: what one takes, the other does not get.

use super::{Drawing, Most, Power, Range, converter_input};
use crate::electrical::StopStart;
use crate::logic::{Condition, Region};
use crate::measure::Conduct;
use crate::package::{Alternator, Battery, Converter, Feed, Grade, HotIdle, LoadKind, Supply};
use crate::units::{Ampere, Celsius, Volt};

/// How warm an alternator has to be for its output to count as hot: 200 degF, which KKK-A-1822E 3.7.6 and NFPA 1901 ask
/// for (both from memory).
pub const HOT: Celsius = Celsius::new(93.0);

/// What is left hot at idle; currents in amperes.
#[derive(Clone, Debug)]
pub struct Balance {
    /// The batteries that share these sources, as places in the supply.
    pub batteries: Vec<usize>,
    /// What charges them, by id.
    pub sources: Vec<(String, Range)>,
    /// Their sum.
    pub output: Range,
    /// What the batteries take while they are charged.
    pub charging: Ampere,
    /// The greatest minimum continuous load, with all converters on circuits at full output.
    pub minimum: Most,
    /// The greatest total continuous load.
    pub total: Most,
    /// What is left over the minimum continuous load, converters and charging.
    pub left_minimum: Range,
    /// What is left over the total continuous load and charging.
    pub left_total: Range,
    /// The weakest evidence of the alternators.
    pub evidence: Option<Grade>,
    /// How warm the coolest of the alternators was.
    pub at: Option<Celsius>,
}

impl Balance {
    /// The balance of a battery, and of those that share its alternators, in some states: the worst of these voltages;
    /// none where nothing hangs on them.
    ///
    /// # Errors
    /// Says what is not known: an output, an efficiency, what draws.
    pub fn of(
        conduct: &Conduct<'_>,
        power: &Power,
        battery: usize,
        states: &Region,
        voltages: &[&str],
    ) -> Result<Option<Self>, String> {
        power.all_wired()?;
        let supply = &power.supply;
        let batteries = sharing(supply, battery);
        let of_minimum = |one: &Drawing| power.is_minimum(one) || power.converter(one).is_some();
        let of_total = |one: &Drawing| one.kind != LoadKind::Intermittent;
        let Some(mut minimum) = power.most_of(conduct, &batteries, states, voltages, of_minimum)? else {
            return Ok(None);
        };
        let Some(mut total) = power.most_of(conduct, &batteries, states, voltages, of_total)? else {
            return Ok(None);
        };
        let (sources, evidence, at) = sources(conduct, supply, &batteries, states)?;
        let output = sources.iter().fold(Range::exactly(0.0), |sum, (_, output)| sum + *output);
        for at in &batteries {
            for load in [&mut minimum, &mut total] {
                let chargers = power.direct_chargers(*at, load.volts)?;
                load.current = chargers.into_iter().fold(load.current, |sum, (_, charger)| sum + charger);
            }
        }
        let of_it = batteries.iter().filter_map(|at| supply.batteries.get(*at));
        let charging = of_it.fold(Ampere::ZERO, |sum, one| sum + one.charging);
        let left = |load: Range| Range {
            low: output.low - load.high - charging.value(),
            high: output.high - load.low - charging.value(),
        };
        let (left_minimum, left_total) = (left(minimum.current), left(total.current));
        Ok(Some(Self { batteries, sources, output, charging, minimum, total, left_minimum, left_total, evidence, at }))
    }

    /// The battery stopped and started by: from how it lasts, and from what is left to charge it.
    ///
    /// # Errors
    /// Says what is not known, or that nothing is left to charge it with.
    pub fn stop_start(&self, battery: &Battery, off: &EngineOff) -> Result<StopStart, String> {
        let bank = battery.bank.ok_or(NO_BANK)?;
        let efficiency = battery.charge_efficiency.ok_or("no `charge-efficiency` of the battery is stated")?;
        if battery.charging.value() <= 0.0 {
            return Err("no `charging` current of the battery is stated".to_owned());
        }
        let left = self.left_total.low + battery.charging.value();
        if left <= 0.0 {
            return Err("nothing is left to charge it with".to_owned());
        }
        let net = Ampere::new(left.min(battery.charging.value()));
        let drawn = Ampere::new(off.most.current.high);
        Ok(StopStart { capacity: bank.capacity, window: bank.usable, off: drawn, net, efficiency })
    }
}

/// How long a battery lasts with the engine off.
#[derive(Clone, Debug)]
pub struct EngineOff {
    /// What it gives.
    pub most: Most,
    /// For how long, in seconds.
    pub lasts: Range,
}

const NO_BANK: &str = "the `capacity`, the `usable` share or the `exponent` of the battery is not stated";

impl EngineOff {
    /// Of a battery in some states, with all continuous loads but the chargers of other batteries, which stand still
    /// with the engine; none where nothing hangs on it.
    ///
    /// # Errors
    /// Says what is not known.
    pub fn of(conduct: &Conduct<'_>, power: &Power, battery: usize, states: &Region) -> Result<Option<Self>, String> {
        let with_it_off = |one: &Drawing| one.kind != LoadKind::Intermittent && !one.charges;
        let Some(most) = power.most(conduct, battery, states, &["battery"], with_it_off)? else { return Ok(None) };
        let bank = power.supply.batteries.get(battery).and_then(|battery| battery.bank).ok_or(NO_BANK)?;
        let lasts = |amperes: f64| if amperes > 0.0 { bank.lasts(Ampere::new(amperes)).value() } else { f64::INFINITY };
        let lasts = Range { low: lasts(most.current.high), high: lasts(most.current.low) };
        Ok(Some(Self { most, lasts }))
    }
}

impl Power {
    /// What converters straight on a battery that charge another one draw at full output, by id.
    ///
    /// # Errors
    /// Says whose efficiency is not stated.
    pub fn direct_chargers(&self, battery: usize, volts: Volt) -> Result<Vec<(String, Range)>, String> {
        let of_it = |one: &&Converter| one.from == Feed::Battery(battery) && one.charges.is_some();
        let drawn = |converter: &Converter| {
            let input = converter_input(converter, volts).ok_or_else(|| no_efficiency(converter))?.value();
            let low = if converter.when == Condition::Always { input } else { 0.0 };
            Ok((converter.id.clone(), Range { low, high: input }))
        };
        self.supply.converters.iter().filter(of_it).map(drawn).collect()
    }
}

pub(super) fn no_efficiency(converter: &Converter) -> String {
    format!("no `efficiency` of the converter `{}` is stated", converter.id)
}

/// The batteries that share alternators with one, itself included.
fn sharing(supply: &Supply, battery: usize) -> Vec<usize> {
    let mut group = vec![battery];
    loop {
        let joined = |one: &&Alternator| one.charges.iter().any(|at| group.contains(at));
        let reached = supply.alternators.iter().filter(joined).flat_map(|one| &one.charges);
        let new: Vec<usize> = reached.filter(|at| !group.contains(at)).copied().take(1).collect();
        if new.is_empty() {
            group.sort_unstable();
            return group;
        }
        group.extend(new);
    }
}

type Sources = (Vec<(String, Range)>, Option<Grade>, Option<Celsius>);

/// What alternators give hot at idle, and converters at full output; one that is not always on may give nothing.
fn sources(conduct: &Conduct<'_>, supply: &Supply, batteries: &[usize], states: &Region) -> Result<Sources, String> {
    let space = conduct.space();
    let (mut found, mut evidence, mut coolest) = (Vec::new(), None, None);
    for alternator in supply.alternators.iter().filter(|one| one.charges.iter().any(|at| batteries.contains(at))) {
        let (hot, at) = hot_output(alternator)?;
        found.push((alternator.id.clone(), Range::exactly(hot.output.value())));
        evidence = evidence.max(Some(hot.evidence.grade));
        coolest = Some(coolest.map_or(at, |known: Celsius| if known < at { known } else { at }));
    }
    for converter in &supply.converters {
        if converter.charges.is_some_and(|at| batteries.contains(&at)) {
            let always = space.minus(states, &space.holds(&converter.when)).is_empty();
            let output = converter.output.value();
            found.push((converter.id.clone(), Range { low: if always { output } else { 0.0 }, high: output }));
        }
    }
    if found.is_empty() {
        return Err("no alternator and no converter charges it".to_owned());
    }
    Ok((found, evidence, coolest))
}

fn hot_output(alternator: &Alternator) -> Result<(&HotIdle, Celsius), String> {
    let id = &alternator.id;
    let hot = alternator.hot_idle.as_ref().ok_or_else(|| match alternator.rated {
        Some(rated) => format!(
            "no `hot-idle` output of the alternator `{id}` is stated: its rating of {} A is for cool air at full speed",
            rated.value()
        ),
        None => format!("no `hot-idle` output of the alternator `{id}` is stated"),
    })?;
    let at = hot.at.ok_or_else(|| format!("the `hot-idle` output of `{id}` is stated without its temperature `at`"))?;
    if at < HOT {
        let (at, hot) = (at.value(), HOT.value());
        return Err(format!("the `hot-idle` output of `{id}` is stated at {at} degC, cooler than {hot} degC"));
    }
    Ok((hot, at))
}

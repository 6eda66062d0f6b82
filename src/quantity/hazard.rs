//! Flashing that can harm people who react to it: many flashes a second from one place, and pulses within a flash.
//! What comes out here is a caution, never a verdict: the published figures are of screens, not of lamps outdoors.

use std::collections::BTreeMap;

use super::flash::describe_timeline;
use super::states::{PURPOSE, of_states};
use super::ways::by_flashes;
use super::{Ask, Measure, Measured, OneMore, Quantity, Value, Working, bearing, points};
use crate::flash::Timeline;
use crate::logic::Region;
use crate::measure::{Conduct, LitHead, Protocol, Reach, Survey};
use crate::units::{Dimension, Micros, Rate};

/// The most flashes that arrive at a point.
pub(super) static GREATEST_FLASH_SUM: Quantity = Quantity {
    name: "greatest-flash-sum-at-point",
    says: "flash rates of all heads whose signal reaches a point, added up, heads that flash in step once; the most over all points",
    dimension: Dimension::Rate,
    scope: PURPOSE,
    each_head: false,
    looks: true,
    counts_permitted: false,
    by_hand: "film the vehicle from the point at 240 frames a second and count how often any lamp lights up in 10 s",
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: |lit, ask, protocol| lit.flashing && reaches_any(lit, ask, protocol),
        // Another rhythm may fall in step with other heads.
        compare: by_flashes,
        measure: |survey, ask| vec![greatest(survey, ask)],
    },
    working: |survey, ask, found| {
        let at = survey.protocol.zones.bearings.iter().position(|known| Some(*known) == found.witness.bearing);
        let trains = trains(survey);
        let lines = at.map(|at| arriving(&trains, at).map(describe_timeline).collect()).unwrap_or_default();
        Working { lines, ..super::no_working(survey, ask, found) }
    },
};

fn reaches_any(lit: &LitHead<'_>, ask: &Ask<'_>, protocol: &Protocol) -> bool {
    super::zone_points(protocol, ask).any(|point| lit.reach(point) == Reach::Surely)
}

/// The heads that flash, each with the number of its train: heads in step are one.
fn trains<'s, 'a>(survey: &'s Survey<'a>) -> Vec<(usize, &'s LitHead<'a>)> {
    let mut trains: Vec<&LitHead<'a>> = Vec::new();
    let mut numbered = Vec::new();
    for lit in survey.lit.iter().filter(|lit| lit.flashing) {
        let number = trains.iter().position(|known| known.is_in_step_with(lit)).unwrap_or(trains.len());
        if number == trains.len() {
            trains.push(lit);
        }
        numbered.push((number, &**lit));
    }
    numbered
}

/// Those whose signal reaches a point, one of each train.
fn arriving<'s, 'a>(
    trains: &'s [(usize, &'s LitHead<'a>)],
    point: usize,
) -> impl Iterator<Item = &'s LitHead<'a>> + use<'s, 'a> {
    let mut met = vec![false; trains.len()];
    trains.iter().filter_map(move |(number, lit)| {
        let met = met.get_mut(*number)?;
        let arrives = !*met && lit.reach(point) == Reach::Surely;
        *met |= arrives;
        arrives.then_some(*lit)
    })
}

fn greatest(survey: &Survey<'_>, ask: &Ask<'_>) -> Measured {
    let trains = trains(survey);
    let sum = |point: usize| arriving(&trains, point).map(|lit| lit.rate.per_minute()).sum::<f64>();
    let sums = points(survey, ask).map(|point| (sum(point), point));
    // The first of the most, in the order of the bearings.
    let most = sums.fold(None, |best: Option<(f64, usize)>, next| match best {
        Some(best) if best.0 >= next.0 => Some(best),
        _ => Some(next),
    });
    let Some((most, point)) = most else {
        return Measured::new(Value::Unknown("the ruleset names no such points".to_owned()));
    };
    let mut found = Measured::new(Value::exactly(most));
    found.witness.bearing = Some(bearing(survey, point));
    found
}

/// How fast pulses follow each other within a flash.
pub(super) static PULSE_FREQUENCY: Quantity = of_states(
    "pulse-frequency",
    "how often pulses follow each other within one flash; each frequency that occurs is judged",
    Dimension::Rate,
    PURPOSE,
    "film the lamp at 240 frames a second and count the frames from one pulse to the next",
    pulse_frequencies,
);

fn pulse_frequencies(conduct: &Conduct<'_>, protocol: &Protocol, ask: &Ask<'_>) -> Vec<Measured> {
    let space = conduct.space();
    let states = conduct.purpose(ask.purpose.unwrap_or_default());
    let mut met: BTreeMap<i64, (Region, Vec<&str>)> = BTreeMap::new();
    for (region, head, shown) in conduct.shown() {
        let gaps = pulse_gaps(&shown.timeline(conduct.package), protocol.flash.dark_at_least);
        let here = space.and(region, &states);
        if gaps.is_empty() || here.is_empty() {
            continue;
        }
        for gap in gaps {
            let (known, heads) = met.entry(gap).or_insert_with(|| (space.none(), Vec::new()));
            *known = space.or(known, &here);
            heads.push(super::states::name(conduct, head));
        }
    }
    let one = |(gap, (region, heads)): (i64, (Region, Vec<&str>))| {
        let mut found = Measured::new(Value::exactly(Rate::new(1, gap).map_or(f64::INFINITY, Rate::per_minute)));
        found.witness.head = heads.first().map(|head| (*head).to_owned());
        found.states = Some(region);
        found
    };
    met.into_iter().map(one).collect()
}

/// Microseconds from the start of a pulse to the start of the next one of the same flash.
fn pulse_gaps(timeline: &Timeline, dark_at_least: Micros) -> Vec<i64> {
    let period = timeline.period().get();
    let pulses = timeline.pulses();
    let next = pulses.iter().skip(1).map(|pulse| pulse.start.get());
    let next = next.chain(pulses.first().map(|first| first.start.get() + period));
    let pairs = pulses.iter().zip(next);
    let within = |(pulse, next): &(&crate::flash::Pulse, i64)| {
        let dark = next - pulse.end.get();
        dark > 0 && dark < dark_at_least.get()
    };
    let mut gaps: Vec<i64> = pairs.filter(within).map(|(pulse, next)| next - pulse.start.get()).collect();
    gaps.sort_unstable();
    gaps.dedup();
    gaps
}

//! How much of the vehicle's light arrives far away: illuminance from effective intensity. Effective intensities of
//! lamps do not add up; their light does, so waveforms are added first and the method is applied to the sum.

use super::device_light::illuminance;
use super::ways::in_plane;
use super::{
    Ask, DeviceKey, LevelScope, Measure, Measured, OneMore, Quantity, Scope, Uncertainty, Value, Witness, Working,
    bearing, counting, counts_here, evidence_at, heads_without_data, points, why_not_counted,
};
use crate::flash::{ClockId, EffectiveMethod, Train, VISUAL_TIME};
use crate::measure::{LitHead, Sample, Survey};
use crate::units::{Candela, Dimension, Length, Micros, Share, format_number};

/// What a rule has to say in `device`, and what it may say.
pub(super) static KEYS: &[(&Quantity, &[DeviceKey], &[DeviceKey])] =
    &[(&ILLUMINANCE, &[DeviceKey::Distance, DeviceKey::Effective], &[])];

/// The least over a zone.
pub(super) static ILLUMINANCE: Quantity = Quantity {
    name: "illuminance-at-distance",
    says: "illuminance at the rule's distance in clear air, from the effective intensity of the flashing heads together; least over the zone's points in the horizontal plane",
    dimension: Dimension::Illuminance,
    scope: Scope { purpose: true, level: LevelScope::Optional, zone: true },
    each_head: false,
    looks: true,
    counts_permitted: true,
    by_hand: "no meter shows it: look from the distance in the light that the requirement names, and have the authority accept what is seen",
    measure: Measure::Light {
        // More light is never less effective by any method that is taken here, and never ends a flash.
        one_more: OneMore::Raises,
        heeds: counts_here,
        // Light of another rhythm may fall together with that of other heads, or not.
        compare: |one, other, ask, protocol| {
            if one.rhythm == other.rhythm { in_plane(one, other, ask, protocol) } else { None }
        },
        measure: |survey, ask| vec![least(survey, ask)],
    },
    working,
};

/// Between which bounds the effective intensity of some trains lies.
///
/// Heads on one clock keep step: their sum is exact. Clocks run free of each other, so that their flashes fall together
/// or apart: at least that of the best clock alone is there, and never more than all peaks at once.
fn together(clocks: &[Vec<Train>], method: EffectiveMethod, dark: Micros) -> (f64, f64) {
    let mut trains: Vec<Train> = Vec::new();
    for in_step in clocks {
        match Train::sum(in_step) {
            Some(sum) => trains.push(sum),
            // Without a common period that is short enough they are taken as free of each other.
            None => trains.extend(in_step.iter().cloned()),
        }
    }
    let alone = trains.iter().map(|train| strongest(train, method, dark)).fold(0.0, f64::max);
    let peaks: f64 = trains.iter().map(|train| train.peak().value()).sum();
    (alone, if trains.len() > 1 { peaks } else { alone })
}

/// The effective intensity of a train's strongest flash. All its light counts as lit, so that more of it never cuts a
/// flash in two.
fn strongest(train: &Train, method: EffectiveMethod, dark: Micros) -> f64 {
    let flashes = train.effective(method, VISUAL_TIME, dark, Share::ZERO);
    let most = flashes.into_iter().map(Candela::value).reduce(f64::max);
    most.unwrap_or_else(|| train.effective_throughout(method, VISUAL_TIME).value())
}

/// What arrives at a point at least and at most; and the number of clocks.
fn at_point(survey: &Survey<'_>, heads: &[&LitHead<'_>], point: usize, method: EffectiveMethod) -> (f64, f64, usize) {
    let mut clocks: Vec<(Option<ClockId>, Vec<Train>)> = Vec::new();
    let mut unknown = false;
    for lit in heads {
        match lit.at(0, point) {
            Sample::Power(power) if power.value() > 0.0 => {
                let full = Candela::new(power.value() / 60.0 / lit.on_fraction.value());
                let train = Train::new(&lit.timeline, full);
                match clocks.iter_mut().find(|(clock, _)| clock.is_some() && *clock == lit.clock) {
                    Some((_, in_step)) => in_step.push(train),
                    None => clocks.push((lit.clock, vec![train])),
                }
            }
            Sample::NoData => unknown = true,
            Sample::Power(_) | Sample::Hidden | Sample::Behind => {}
        }
    }
    let clocks: Vec<Vec<Train>> = clocks.into_iter().map(|(_, trains)| trains).collect();
    let (low, high) = together(&clocks, method, survey.protocol.flash.dark_at_least);
    (low, if unknown { f64::INFINITY } else { high }, clocks.len())
}

fn asked(ask: &Ask<'_>) -> Option<(EffectiveMethod, Length)> {
    let terms = ask.device.terms?;
    Some((terms.effective?, terms.distance?))
}

/// An effective intensity in candela, and the point where it is found.
type Found = (f64, usize);

fn least(survey: &Survey<'_>, ask: &Ask<'_>) -> Measured {
    let Some((method, distance)) = asked(ask) else {
        return Measured::new(Value::Unknown("the rule names no distance and no method".to_owned()));
    };
    let heads = counting(survey, ask);
    let (mut low, mut high): (Option<Found>, Option<Found>) = (None, None);
    let mut free = 0;
    for point in points(survey, ask) {
        let (least, most, clocks) = at_point(survey, &heads, point, method);
        free = free.max(clocks);
        if low.is_none_or(|(known, _)| least < known) {
            low = Some((least, point));
        }
        if high.is_none_or(|(known, _)| most < known) {
            high = Some((most, point));
        }
    }
    let (Some((low, at)), Some((high, high_at))) = (low, high) else {
        return Measured::new(Value::Unknown("the ruleset names no such points".to_owned()));
    };
    let lux = |intensity: f64| illuminance(Candela::new(intensity), distance).value();
    let mut found = Measured::new(Value::Number { low: lux(low), high: lux(high), occurs: false });
    let place = |at: usize| Witness { bearing: Some(bearing(survey, at)), ..Witness::default() };
    (found.witness, found.high_witness) = (place(at), Some(place(high_at)));
    found.evidence = evidence_at(&heads, points(survey, ask));
    let lacks = |lit: &&&LitHead<'_>| points(survey, ask).any(|at| lit.at(0, at) == Sample::NoData);
    let without: Vec<&str> = heads.iter().filter(lacks).map(|lit| lit.head.id.as_str()).collect();
    if !without.is_empty() {
        found.notes.push(format!("lower bound: {}", heads_without_data(&without)));
    }
    if free > 1 {
        let note = "only bounds are known where clocks run free of each other; heads on one `clock` keep their phase";
        found.notes.push(note.to_owned());
    }
    if ask.with_uncertainty {
        // In proportion to the light, and never less for more of it: all heads off by the widest share is the most.
        let gives = |lit: &&&LitHead<'_>| lit.at(0, at).at_least().value() > 0.0;
        let shares = heads.iter().filter(gives).map(|lit| lit.emitter.light.as_ref()?.uncertainty);
        let widest = shares.collect::<Option<Vec<Share>>>();
        let widest = widest.map(|shares| shares.iter().map(|share| share.value()).fold(0.0, f64::max));
        found.uncertainty = widest.map_or(Uncertainty::Missing, |share| Uncertainty::Known(share * lux(low)));
    }
    found
}

fn working(survey: &Survey<'_>, ask: &Ask<'_>, found: &Measured) -> Working {
    let mut working = Working::default();
    let bearings = &survey.protocol.zones.bearings;
    let at = bearings.iter().position(|known| Some(*known) == found.witness.bearing);
    let (Some((method, distance)), Some(at)) = (asked(ask), at) else { return working };
    let heads = counting(survey, ask);
    let number = |value: f64| format_number(value, 2);
    for lit in &heads {
        let full = lit.at(0, at).at_least().value() / 60.0 / lit.on_fraction.value();
        let train = Train::new(&lit.timeline, Candela::new(full));
        let alone = strongest(&train, method, survey.protocol.flash.dark_at_least);
        let clock = lit.head.clock.as_deref().unwrap_or("of its own");
        let id = &lit.head.id;
        working.lines.push(format!(
            "{id}: {} cd while lit, {} cd effective alone; clock {clock}",
            number(full),
            number(alone)
        ));
    }
    let (low, high, _) = at_point(survey, &heads, at, method);
    let most = if high.is_finite() { number(high) } else { "any number of".to_owned() };
    let metres = number(distance.value());
    working.lines.push(format!(
        "together {} to {most} cd effective by {}, over {metres} m squared",
        number(low),
        method.word()
    ));
    working.lines.push("haze, rain and what the eye needs to notice a light are not in this figure".to_owned());
    for lit in &survey.lit {
        if let Some(why) = why_not_counted(lit, ask) {
            working.left_out.push((lit.head.id.clone(), why.to_owned()));
        }
    }
    working
}

//! Flash rates: of one head, added up at a point, and of the light of all heads together at a point.

use std::cmp::Ordering;

use super::ways::{by_flashes, by_reach, in_all};
use super::{
    Ask, LevelScope, Measure, Measured, OneMore, Quantity, Scope, Value, Witness, Working, bearing, counted, counting,
    counts_here, evidence_at, heads_without_data, lacks_data, no_working, points, reaching, why_not_counted,
};
use crate::flash::{Clocked, Exactness, union_rate};
use crate::measure::{LitHead, Survey};
use crate::package::Role;
use crate::units::{Dimension, Rate};

/// The rate of one flashing head.
pub(super) static FLASH_RATE: Quantity = Quantity {
    name: "flash-rate",
    says: "flash rate of one flashing warning head",
    dimension: Dimension::Rate,
    scope: Scope { purpose: true, level: LevelScope::Never, zone: false },
    each_head: true,
    looks: false,
    counts_permitted: false,
    by_hand: "count flashes for 60 s, or film at 240 frames a second and count frames over 20 flashes",
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: |lit, _, _| lit.role == Role::Warning && lit.flashing,
        compare: |one, other, _, _| one.rate.partial_cmp(&other.rate),
        measure: flash_rate,
    },
    working: |survey, _, found| {
        let lit = survey.lit.iter().find(|lit| Some(&lit.head.id) == found.head.as_ref());
        Working { lines: lit.map(|lit| describe_timeline(lit)).into_iter().collect(), ..Working::default() }
    },
};

/// The rates of the heads that reach a point, added up; the least over the zone.
pub(super) static FLASH_SUM: Quantity = Quantity {
    name: "flash-sum-at-point",
    says: "flash rates of the heads of all levels whose signal reaches a point, added up whatever their phase; least over the zone",
    dimension: Dimension::Rate,
    scope: Scope { purpose: true, level: LevelScope::Never, zone: true },
    each_head: false,
    looks: true,
    counts_permitted: true,
    by_hand: "from the point, count the flashes of each head that is seen for 60 s and add them up",
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: counts_here,
        compare: |one, other, ask, protocol| {
            in_all([one.rate.partial_cmp(&other.rate), by_reach(one, other, ask, protocol)])
        },
        measure: flash_sum,
    },
    working: working_at_point,
};

/// Flashes of the summed light at a point; the least over the zone.
pub(super) static FLASH_COUNT: Quantity = Quantity {
    name: "flash-count-at-point",
    says: "flashes of the summed light of all heads whose signal reaches a point; least over the zone",
    dimension: Dimension::Rate,
    scope: Scope { purpose: true, level: LevelScope::Never, zone: true },
    each_head: false,
    looks: true,
    counts_permitted: true,
    by_hand: "film from the point at 240 frames a second and count the dark gaps of the whole vehicle",
    measure: Measure::Light {
        one_more: OneMore::Either,
        heeds: counts_here,
        compare: by_flashes,
        measure: flash_count,
    },
    working: working_at_point,
};

/// Warning heads that are lit and do not flash.
pub(super) static STEADY_HEADS: Quantity = Quantity {
    name: "steady-warning-heads",
    says: "warning heads that are lit without flashing, whose light is not counted",
    dimension: Dimension::Heads,
    scope: Scope { purpose: true, level: LevelScope::Never, zone: false },
    each_head: false,
    looks: false,
    counts_permitted: false,
    by_hand: "watch each lit warning head through two of its periods",
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: |lit, _, _| lit.role == Role::Warning && !lit.flashing,
        compare: |_, _, _, _| Some(Ordering::Equal),
        measure: |survey, _| {
            let steady: Vec<&str> = steady_heads(survey).map(|lit| lit.head.id.as_str()).collect();
            let mut found = Measured::new(Value::exactly(counted(steady.len())));
            found.witness.head = steady.first().map(|id| (*id).to_owned());
            vec![found]
        },
    },
    working: |survey, _, _| {
        let lines = steady_heads(survey).map(|lit| format!("{} is lit without flashing", lit.head.id)).collect();
        Working { lines, ..Working::default() }
    },
};

fn steady_heads<'s>(survey: &'s Survey<'_>) -> impl Iterator<Item = &'s LitHead<'s>> {
    survey.lit.iter().map(|lit| &**lit).filter(|lit| lit.role == Role::Warning && !lit.flashing)
}

fn flash_rate(survey: &Survey<'_>, _: &Ask<'_>) -> Vec<Measured> {
    let flashing = survey.lit.iter().map(|lit| &**lit).filter(|lit| lit.role == Role::Warning && lit.flashing);
    let one = |lit: &LitHead<'_>| {
        let mut found = Measured::new(Value::exactly(lit.rate.per_minute()));
        found.head = Some(lit.head.id.clone());
        found.witness.head = Some(lit.head.id.clone());
        found
    };
    flashing.map(one).collect()
}

fn sum_of_rates(heads: &[&LitHead<'_>]) -> f64 {
    let exact = heads.iter().try_fold(Rate::ZERO, |sum, lit| sum.checked_add(lit.rate));
    // Without a common measure the sum is rounded once more; 15 digits are left.
    exact.map_or_else(|| heads.iter().map(|lit| lit.rate.per_minute()).sum(), Rate::per_minute)
}

fn flash_sum(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    least_over_points(survey, ask, |sure, unsure| {
        let low = sum_of_rates(sure);
        (low, low + sum_of_rates(unsure), unsure.is_empty())
    })
}

fn flash_count(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    let mut bounds = false;
    let mut found = least_over_points(survey, ask, |sure, unsure| {
        // Many points and states see the same rhythms, and each set of them is counted once; heads in step are one.
        let mut heads = sure.to_vec();
        heads.dedup_by(|one, other| one.is_in_step_with(other));
        let set = heads.iter().map(|lit| lit.rhythm).collect();
        let mut counted = survey.counted.borrow_mut();
        let rate = *counted.entry((set, None)).or_insert_with(|| {
            let heads: Vec<Clocked<'_>> = heads.iter().map(|lit| clocked(lit)).collect();
            let terms = &survey.protocol.flash;
            union_rate(&heads, terms.dark_at_least, terms.lit_above)
        });
        bounds |= rate.exactness == Exactness::Bounds;
        // A head without data may merge with the others or add flashes, so it widens the range both ways.
        let high = if unsure.is_empty() { rate.most.per_minute() } else { f64::INFINITY };
        let low = if unsure.is_empty() { rate.least.per_minute() } else { 0.0 };
        (low, high, unsure.is_empty() && rate.exactness == Exactness::Exact)
    });
    if bounds {
        let note = "only bounds are known where more than three clocks run free; heads on one `clock` keep their phase";
        found.iter_mut().for_each(|found| found.notes.push(note.to_owned()));
    }
    found
}

/// The point with the least value: `value` gives the range there and whether all of it occurs. It gets the heads that
/// surely reach the point, and those that may; heads of one rhythm stand together.
pub(super) fn least_over_points(
    survey: &Survey<'_>,
    ask: &Ask<'_>,
    mut value: impl FnMut(&[&LitHead<'_>], &[&LitHead<'_>]) -> (f64, f64, bool),
) -> Vec<Measured> {
    let mut heads = counting(survey, ask);
    heads.sort_unstable_by_key(|lit| lit.rhythm);
    let mut least: Option<(f64, bool, usize)> = None;
    let mut high = (f64::INFINITY, None);
    let mut seen: Vec<usize> = Vec::new();
    for point in points(survey, ask) {
        // Most points see the same heads as another, and the first of them stands.
        let sees_the_same = |known: &usize| heads.iter().all(|lit| lit.reach(*known) == lit.reach(point));
        if seen.iter().rev().any(sees_the_same) {
            continue;
        }
        seen.push(point);
        let (sure, unsure) = reaching(&heads, point);
        let (low, most, occurs) = value(&sure, &unsure);
        if most < high.0 {
            high = (most, Some(point));
        }
        if least.is_none_or(|(known, _, _)| low < known) {
            least = Some((low, occurs, point));
        }
        // There is no less than nothing.
        if most <= 0.0 {
            break;
        }
    }
    let Some((low, occurs, point)) = least else {
        return vec![Measured::new(Value::Unknown("the ruleset names no such points".to_owned()))];
    };
    let lacking = heads.iter().filter(|lit| lacks_data(survey, ask, lit));
    let mut without: Vec<&str> = lacking.map(|lit| lit.head.id.as_str()).collect();
    without.sort_unstable();
    let mut found = Measured::new(Value::Number { low, high: high.0, occurs });
    found.witness.bearing = Some(bearing(survey, point));
    found.high_witness = high.1.map(|at| Witness { bearing: Some(bearing(survey, at)), ..Witness::default() });
    found.evidence = evidence_at(&heads, points(survey, ask));
    if !without.is_empty() {
        found.notes.push(format!("no data counts as no signal: {}", heads_without_data(&without)));
    }
    vec![found]
}

pub(super) fn clocked<'h>(lit: &'h LitHead<'_>) -> Clocked<'h> {
    Clocked { timeline: &lit.timeline, clock: lit.clock }
}

pub(super) fn working_at_point(survey: &Survey<'_>, ask: &Ask<'_>, found: &Measured) -> Working {
    let mut working = no_working(survey, ask, found);
    let bearings = &survey.protocol.zones.bearings;
    let Some(point) = bearings.iter().position(|known| Some(*known) == found.witness.bearing) else { return working };
    let heads = counting(survey, ask);
    let (sure, unsure) = reaching(&heads, point);
    for lit in sure {
        working.lines.push(format!(
            "{}; clock {}",
            describe_timeline(lit),
            lit.head.clock.as_deref().unwrap_or("of its own")
        ));
    }
    for lit in unsure {
        working.lines.push(format!("{}: no data at this point", lit.head.id));
    }
    for lit in &survey.lit {
        if let Some(why) = why_not_counted(lit, ask) {
            working.left_out.push((lit.head.id.clone(), why.to_owned()));
        }
    }
    working
}

/// `bar-front-1: 75/min, lit 0-50, 100-150 of 800 ms`.
pub(super) fn describe_timeline(lit: &LitHead<'_>) -> String {
    let ms = |micros: crate::units::Micros| {
        #[allow(clippy::cast_precision_loss)] // Below 2^53 by the limit on a period.
        let micros = micros.get() as f64;
        crate::units::format_number(micros / 1000.0, 3)
    };
    let pulses = lit.timeline.pulses().iter().map(|pulse| format!("{}-{}", ms(pulse.start), ms(pulse.end)));
    let pulses: Vec<String> = pulses.collect();
    format!("{}: {}, lit {} of {} ms", lit.head.id, lit.rate, pulses.join(", "), ms(lit.timeline.period()))
}

//! Light sums: the total over a zone, its least point, its least point beside the horizontal plane.
//!
//! Optical power at a point is the sum over heads of 60 times the mean intensity, whatever their phases. Where a
//! head has no data the sum is a lower bound, and says so.

use super::ways::{self, in_plane, in_total};
use super::{
    Ask, LevelScope, Measure, Measured, OneMore, Part, PointCount, Quantity, Scope, Value, Witness, Working, bearing,
    counting, counts_here, heads_without_data, points, weakest, why_not_counted,
};
use crate::measure::{LitHead, Sample, Survey};
use crate::units::{Degrees, Dimension};

const SCOPE: Scope = Scope { purpose: true, level: LevelScope::Optional, zone: true };
const BY_HAND: &str = "a laboratory measures each head on a goniometer; on the vehicle only identity, place, aim and pattern can be checked";

/// Sum over the zone's points in the horizontal plane.
pub(super) static ZONE_TOTAL: Quantity = Quantity {
    name: "zone-total-optical-power",
    says: "optical power of the flashing heads, added up over the zone's points in the horizontal plane",
    dimension: Dimension::OpticalPower,
    scope: SCOPE,
    each_head: false,
    looks: true,
    counts_permitted: true,
    by_hand: BY_HAND,
    measure: Measure::Light { one_more: OneMore::Raises, heeds: counts_here, compare: in_total, measure: zone_total },
    working: |survey, ask, _| working(survey, ask, &h_plane(survey, ask)),
};

/// The weakest of the zone's points in the horizontal plane.
pub(super) static LEAST_POINT: Quantity = Quantity {
    name: "least-point-optical-power",
    says: "optical power at the weakest of the zone's points in the horizontal plane",
    dimension: Dimension::OpticalPower,
    scope: SCOPE,
    each_head: false,
    looks: true,
    counts_permitted: true,
    by_hand: BY_HAND,
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: counts_here,
        compare: in_plane,
        measure: |survey, ask| least(survey, ask, &h_plane(survey, ask)),
    },
    working: working_at_witness,
};

/// The weakest of the zone's points above and below the horizontal plane.
pub(super) static LEAST_OFF_PLANE: Quantity = Quantity {
    name: "least-off-plane-optical-power",
    says: "optical power at the weakest of the zone's points above and below the horizontal plane",
    dimension: Dimension::OpticalPower,
    scope: SCOPE,
    each_head: false,
    looks: true,
    counts_permitted: true,
    by_hand: BY_HAND,
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: counts_here,
        compare: ways::off_plane,
        measure: |survey, ask| least(survey, ask, &off_plane(survey, ask)),
    },
    working: working_at_witness,
};

/// Expanded uncertainty (k = 2) of a value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Uncertainty {
    /// Nobody asked.
    NotAsked,
    /// A contributor has none, so the sum has none.
    Missing,
    /// In the base unit of the quantity.
    Known(f64),
}

/// A point looked at: elevation and bearing as places in the survey's lists.
pub(super) type Point = (usize, usize);

pub(super) fn h_plane(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Point> {
    points(survey, ask).map(|at| (0, at)).collect()
}

fn off_plane(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Point> {
    let rows = 1..survey.elevations().len();
    rows.flat_map(|row| points(survey, ask).map(move |at| (row, at))).collect()
}

fn zone_total(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    let heads = counting(survey, ask);
    let points = h_plane(survey, ask);
    let low = heads.iter().map(|lit| known_sum(lit, &points)).sum();
    vec![measured_sum(survey, ask, &heads, &points, low, Witness::default())]
}

fn least(survey: &Survey<'_>, ask: &Ask<'_>, points: &[Point]) -> Vec<Measured> {
    let heads = counting(survey, ask);
    if ask.with_uncertainty {
        // The weakest point need not be the one nearest to the limit in terms of its own uncertainty: each is judged,
        // and the worst stays.
        let one = |point: &Point| {
            let low = heads.iter().map(|lit| known_sum(lit, &[*point])).sum();
            measured_sum(survey, ask, &heads, &[*point], low, at_point(survey, *point))
        };
        return points.iter().map(one).collect();
    }
    let sum = |point: &Point| heads.iter().map(|lit| known_sum(lit, &[*point])).sum::<f64>();
    let sums: Vec<(f64, Point)> = points.iter().map(|point| (sum(point), *point)).collect();
    let least = |(a, _): &&(f64, Point), (b, _): &&(f64, Point)| a.total_cmp(b);
    let Some((low, point)) = sums.iter().min_by(least).copied() else {
        return vec![Measured::new(Value::Unknown("the ruleset names no such points".to_owned()))];
    };
    let mut found = measured_sum(survey, ask, &heads, points, low, at_point(survey, point));
    // A point with all its data bounds the least from above, even where others lack some.
    let complete = |(_, (row, at)): &&(f64, Point)| heads.iter().all(|lit| lit.at(*row, *at) != Sample::NoData);
    let known = sums.iter().filter(complete).min_by(least).copied();
    let high = known.map_or(f64::INFINITY, |(high, _)| high);
    found.high_witness = known.map(|(_, point)| at_point(survey, point));
    found.value = Value::Number { low, high, occurs: false };
    vec![found]
}

fn at_point(survey: &Survey<'_>, (row, at): Point) -> Witness {
    Witness { bearing: Some(bearing(survey, at)), elevation: survey.elevations().get(row).copied(), head: None }
}

pub(super) fn measured_sum(
    survey: &Survey<'_>,
    ask: &Ask<'_>,
    heads: &[&LitHead<'_>],
    points: &[Point],
    low: f64,
    witness: Witness,
) -> Measured {
    // Most heads are known in all of the horizontal plane.
    let level = points.iter().all(|(row, _)| *row == 0);
    let lacks = |lit: &&&LitHead<'_>| {
        (lit.lacks_data() || !level) && points.iter().any(|(row, at)| lit.at(*row, *at) == Sample::NoData)
    };
    let without: Vec<&str> = heads.iter().filter(lacks).map(|lit| lit.head.id.as_str()).collect();
    let high = if without.is_empty() { low } else { f64::INFINITY };
    let gives = |lit: &&&LitHead<'_>| points.iter().any(|(row, at)| lit.at(*row, *at).at_least().value() > 0.0);
    let contributors: Vec<_> = heads.iter().filter(gives).collect();
    let mut found = Measured::new(Value::Number { low, high, occurs: false });
    found.evidence = weakest(contributors.iter().map(|lit| lit.emitter.evidence.grade));
    found.witness = witness;
    if !without.is_empty() {
        found.notes.push(format!("lower bound: {}", heads_without_data(&without)));
    }
    if let Some(asked) = survey.protocol.voltage {
        let lights = contributors.iter().filter_map(|lit| lit.emitter.light.as_ref()?.at);
        let mut other: Vec<f64> =
            lights.map(|at| at.value()).filter(|at| (at - asked.value()).abs() > 0.1001).collect();
        other.sort_by(f64::total_cmp);
        other.dedup();
        for at in other {
            found
                .notes
                .push(format!("rests on figures at {at} V, used as they are; the ruleset names {} V", asked.value()));
        }
    }
    if ask.with_uncertainty {
        found.uncertainty = uncertainty(heads, points);
    }
    found
}

/// What is known to arrive from one head, added over points.
pub(super) fn known_sum(lit: &LitHead<'_>, points: &[Point]) -> f64 {
    points.iter().map(|(row, at)| lit.at(*row, *at).at_least().value()).sum()
}

/// Heads under one report err together (their U add up), different reports do not (root of the sum of squares).
fn uncertainty(heads: &[&LitHead<'_>], points: &[Point]) -> Uncertainty {
    let mut by_report: Vec<(String, f64)> = Vec::new();
    for lit in heads {
        let sum = known_sum(lit, points);
        if sum <= 0.0 {
            continue;
        }
        let Some(share) = lit.emitter.light.as_ref().and_then(|light| light.uncertainty) else {
            return Uncertainty::Missing;
        };
        // Without a report number the emitter's own description is the common source.
        let own = || format!("{:?}", lit.emitter.span);
        let report = lit.emitter.evidence.report.clone().unwrap_or_else(own);
        match by_report.iter_mut().find(|(known, _)| *known == report) {
            Some((_, total)) => *total += sum * share.value(),
            None => by_report.push((report, sum * share.value())),
        }
    }
    Uncertainty::Known(by_report.iter().map(|(_, total)| total * total).sum::<f64>().sqrt())
}

fn working_at_witness(survey: &Survey<'_>, ask: &Ask<'_>, found: &Measured) -> Working {
    let elevations = survey.elevations();
    let row = elevations.iter().position(|elevation| Some(*elevation) == found.witness.elevation);
    let at = survey.protocol.zones.bearings.iter().position(|known| Some(*known) == found.witness.bearing);
    match (row, at) {
        (Some(row), Some(at)) => working(survey, ask, &[(row, at)]),
        _ => Working::default(),
    }
}

fn working(survey: &Survey<'_>, ask: &Ask<'_>, points: &[Point]) -> Working {
    let mut working = Working::default();
    for lit in &survey.lit {
        if let Some(why) = why_not_counted(lit, ask) {
            working.left_out.push((lit.head.id.clone(), why.to_owned()));
            continue;
        }
        let mut count = PointCount::default();
        let mut strongest = (0.0, points.first().copied().unwrap_or_default());
        for (row, at) in points {
            let sample = lit.at(*row, *at);
            count.add(sample);
            if sample.at_least().value() > strongest.0 {
                strongest = (sample.at_least().value(), (*row, *at));
            }
        }
        let (_, (row, at)) = strongest;
        let elevation = survey.elevations().get(row).copied().unwrap_or(Degrees::ZERO);
        let detail = survey.detail(lit, bearing(survey, at), elevation);
        working.parts.push(Part {
            head: lit.head.id.clone(),
            colour: lit.emitter.colour.clone(),
            bearing: bearing(survey, at),
            elevation,
            lamp: detail.lamp,
            intensity: detail.intensity.map(|intensity| intensity.value()),
            on_fraction: lit.on_fraction.value(),
            adds: known_sum(lit, points),
            points: count,
            evidence: lit.emitter.evidence.grade,
            report: lit.emitter.evidence.report.clone(),
        });
    }
    working.parts.sort_by(|a, b| b.adds.total_cmp(&a.adds));
    working
}

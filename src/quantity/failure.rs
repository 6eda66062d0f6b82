//! What is left when one head goes dark.

use super::{
    Ask, LevelScope, Measure, Measured, OneMore, Quantity, Scope, Value, Working, bearing, counting, counts_here,
    evidence_at, heads_without_data, points,
};
use crate::measure::{LitHead, Sample, Survey};
use crate::units::Dimension;

/// The most points that one dark head leaves without a signal.
pub(super) static ONE_HEAD_DARK: Quantity = Quantity {
    name: "signal-with-one-head-dark",
    says: "points in the horizontal plane that the worst single dark head leaves without a signal",
    dimension: Dimension::Points,
    scope: Scope { purpose: true, level: LevelScope::Optional, zone: true },
    each_head: false,
    looks: true,
    counts_permitted: true,
    by_hand: "cover or unplug one head at a time and walk the zone at the radius the requirement names",
    measure: Measure::Light {
        one_more: OneMore::Lowers,
        heeds: counts_here,
        measure: |survey, ask| vec![measure(survey, ask)],
    },
    working,
};

/// For each point, the heads whose signal reaches it, and those of which that is not known.
struct Reach {
    point: usize,
    sure: Vec<usize>,
    unsure: Vec<usize>,
}

fn reach(survey: &Survey<'_>, heads: &[&LitHead<'_>], ask: &Ask<'_>) -> Vec<Reach> {
    let threshold = survey.protocol.signal.at_least;
    let one = |point: usize| {
        let mut reach = Reach { point, sure: Vec::new(), unsure: Vec::new() };
        for (at, lit) in heads.iter().enumerate() {
            match lit.at(0, point) {
                Sample::Power(power) if power >= threshold => reach.sure.push(at),
                Sample::NoData => reach.unsure.push(at),
                Sample::Power(_) | Sample::Hidden | Sample::Behind => {}
            }
        }
        reach
    };
    points(survey, ask).into_iter().map(one).collect()
}

/// Points without a signal once `dark` is out; `sure_only`: no data counts as no signal.
fn left_without(reach: &[Reach], dark: Option<usize>, sure_only: bool) -> impl Iterator<Item = &Reach> {
    reach.iter().filter(move |point| {
        let unsure: &[usize] = if sure_only { &[] } else { &point.unsure };
        point.sure.iter().chain(unsure).all(|head| Some(*head) == dark)
    })
}

/// The worst head and how many points it takes. Only heads that are some point's only one can matter, so the work
/// grows with points, not with heads times heads.
fn worst(reach: &[Reach], sure_only: bool) -> (usize, Option<usize>) {
    let mut candidates: Vec<usize> = Vec::new();
    for point in reach {
        let unsure: &[usize] = if sure_only { &[] } else { &point.unsure };
        let mut heads = point.sure.iter().chain(unsure);
        if let (Some(only), None) = (heads.next(), heads.next()) {
            candidates.push(*only);
        }
    }
    candidates.sort_unstable();
    candidates.dedup();
    let taken = |dark: Option<usize>| left_without(reach, dark, sure_only).count();
    // First of the worst, so that the answer does not depend on anything but the order of the file.
    let with_head = candidates.into_iter().map(|head| (taken(Some(head)), Some(head)));
    with_head.fold((taken(None), None), |best, next| if next.0 > best.0 { next } else { best })
}

fn measure(survey: &Survey<'_>, ask: &Ask<'_>) -> Measured {
    let heads = counting(survey, ask);
    let reach = reach(survey, &heads, ask);
    let (high, dark) = worst(&reach, true);
    let (low, _) = worst(&reach, false);
    let count = |points: usize| f64::from(u32::try_from(points).unwrap_or(u32::MAX));
    let mut found = Measured::new(Value::Number { low: count(low), high: count(high), occurs: false });
    let lost = left_without(&reach, dark, true).next().map(|point| bearing(survey, point.point));
    found.witness.bearing = lost;
    found.witness.head = dark.and_then(|at| heads.get(at)).map(|lit| lit.head.id.clone());
    found.evidence = evidence_at(&heads, &points(survey, ask));
    let unsure = |at: usize| reach.iter().any(|point| point.unsure.contains(&at));
    let without: Vec<&str> =
        heads.iter().enumerate().filter(|(at, _)| unsure(*at)).map(|(_, lit)| lit.head.id.as_str()).collect();
    if high > 0 && !without.is_empty() {
        found.notes.push(format!("no data counts as no signal: {}", heads_without_data(&without)));
    }
    if heads.is_empty() {
        found.notes.push("no head counts here at all".to_owned());
    }
    found
}

fn working(survey: &Survey<'_>, ask: &Ask<'_>, found: &Measured) -> Working {
    let heads = counting(survey, ask);
    let reach = reach(survey, &heads, ask);
    let dark = heads.iter().position(|lit| Some(&lit.head.id) == found.witness.head.as_ref());
    let name = |at: &usize| heads.get(*at).map_or("", |lit| lit.head.id.as_str());
    let mut lines = Vec::new();
    for point in left_without(&reach, dark, true) {
        let names: Vec<&str> = point.sure.iter().map(name).collect();
        let reached =
            if names.is_empty() { "no signal at all".to_owned() } else { format!("only {}", names.join(", ")) };
        lines.push(format!("at {:.1} deg: {reached}", bearing(survey, point.point).value()));
    }
    if lines.is_empty() {
        let fewest = reach.iter().min_by_key(|point| point.sure.len());
        if let Some(point) = fewest {
            let names: Vec<&str> = point.sure.iter().map(name).collect();
            let at = bearing(survey, point.point).value();
            lines.push(format!("fewest at {at:.1} deg: {} heads: {}", names.len(), names.join(", ")));
        }
    }
    Working { lines, ..Working::default() }
}

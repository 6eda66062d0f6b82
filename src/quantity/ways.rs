//! How two ways in which a head can be lit compare: dimmed, turned away, hidden in part, in another pattern.
//!
//! `Less` says that the first in place of the second is to a quantity what one lit head less is: it may lower what one
//! more head raises, and never does the opposite. Ways that are `Equal` are one to the quantity. Both ways count for
//! what is asked; `None` where neither does less.

use std::cmp::Ordering;
use std::ops::RangeInclusive;

use super::{Ask, zone_points};
use crate::measure::{LitHead, Protocol, Sample};

/// One order that holds for all, if there is one.
pub fn in_all(orders: impl IntoIterator<Item = Option<Ordering>>) -> Option<Ordering> {
    let mut all = Ordering::Equal;
    for order in orders {
        match (all, order?) {
            (Ordering::Equal, order) => all = order,
            (_, Ordering::Equal) => {}
            (known, order) if known == order => {}
            _ => return None,
        }
    }
    Some(all)
}

/// What is known of the light at a point: at least and at most.
fn bounds(sample: Sample) -> (f64, f64) {
    match sample {
        Sample::NoData => (0.0, f64::INFINITY),
        known => (known.at_least().value(), known.at_least().value()),
    }
}

fn of_bounds((low, high): (f64, f64), (other_low, other_high): (f64, f64)) -> Option<Ordering> {
    in_all([low.partial_cmp(&other_low), high.partial_cmp(&other_high)])
}

fn at_each_point(
    rows: RangeInclusive<usize>,
    one: &LitHead<'_>,
    other: &LitHead<'_>,
    points: impl Iterator<Item = usize> + Clone,
) -> Option<Ordering> {
    let at = |row: usize, at: usize| of_bounds(bounds(one.at(row, at)), bounds(other.at(row, at)));
    in_all(rows.flat_map(|row| points.clone().map(move |at| (row, at))).map(|(row, point)| at(row, point)))
}

/// By the light at each of the zone's points in the horizontal plane.
pub(super) fn in_plane(one: &LitHead<'_>, other: &LitHead<'_>, ask: &Ask<'_>, protocol: &Protocol) -> Option<Ordering> {
    at_each_point(0..=0, one, other, zone_points(protocol, ask))
}

/// By the light at each of the zone's points above and below the horizontal plane.
pub(super) fn off_plane(
    one: &LitHead<'_>,
    other: &LitHead<'_>,
    ask: &Ask<'_>,
    protocol: &Protocol,
) -> Option<Ordering> {
    at_each_point(1..=protocol.zones.off_plane.len(), one, other, zone_points(protocol, ask))
}

/// By the light in the horizontal plane of the zone as a whole.
pub(super) fn in_total(one: &LitHead<'_>, other: &LitHead<'_>, ask: &Ask<'_>, protocol: &Protocol) -> Option<Ordering> {
    let sum = |lit: &LitHead<'_>| {
        let each = zone_points(protocol, ask).map(|at| bounds(lit.at(0, at)));
        each.fold((0.0, 0.0), |(low, high), (least, most)| (low + least, high + most))
    };
    of_bounds(sum(one), sum(other))
}

/// By the points of the zone that a signal reaches.
pub(super) fn by_reach(one: &LitHead<'_>, other: &LitHead<'_>, ask: &Ask<'_>, protocol: &Protocol) -> Option<Ordering> {
    let points = zone_points(protocol, ask);
    in_all(points.map(|point| Some(one.reach(point).cmp(&other.reach(point)))))
}

/// By the points of the zone that flashes reach; another rhythm is neither less nor more.
pub(super) fn by_flashes(
    one: &LitHead<'_>,
    other: &LitHead<'_>,
    ask: &Ask<'_>,
    protocol: &Protocol,
) -> Option<Ordering> {
    if one.rhythm == other.rhythm { by_reach(one, other, ask, protocol) } else { None }
}

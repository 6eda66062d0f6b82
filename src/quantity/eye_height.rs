//! How much of its light a head that is mounted high still sends to the eyes of those before it: what a maker sets the
//! greatest mounting height of a lamp by.
//!
//! Documents speak of a share of what is *required* at the optical centre, which is no figure of one lamp where heads
//! count together. Here it is a share of what the lamp itself gives along its axis: a lamp that keeps that share keeps
//! it of any requirement that its axis meets.

use glam::DVec3;

use super::{Ask, LevelScope, Measure, Measured, Quantity, Scope, Value, Witness, no_working};
use crate::geometry::{BEHIND_AT, bearing_of, direction, elevation_of};
use crate::measure::{Method, Survey, figure_towards, level_of};
use crate::package::{Head, Role};
use crate::units::{Degrees, Dimension};

/// Towards the rule's ring, where the head faces.
pub(super) static AT_EYE_HEIGHT: Quantity = Quantity {
    name: "light-at-eye-height",
    says: "intensity of a warning head towards the point of the rule's ring that it faces, as a share of its intensity along its axis; the least of its colours, lit or not, whatever stands between",
    dimension: Dimension::Share,
    scope: Scope { purpose: false, level: LevelScope::Always, zone: false },
    each_head: true,
    looks: true,
    counts_permitted: false,
    by_hand: "work out the angle from the optical centre down to the eyes there, and read the lamp's intensity file at that angle and on the axis",
    measure: Measure::Mounting(|survey, ask| {
        let on_level =
            |head: &&Head| head.role == Role::Warning && level_of(survey.protocol, head, &head.pose) == ask.level;
        survey.package.heads.iter().filter(on_level).filter_map(|head| share(survey, ask, head)).collect()
    }),
    working: no_working,
};

fn share(survey: &Survey<'_>, _: &Ask<'_>, head: &Head) -> Option<Measured> {
    let model = survey.package.models.get(head.model)?;
    let Method::Ring { radius, height } = survey.method else { return None };
    let level = direction(head.pose.axis_bearing(), Degrees::ZERO) * radius.value();
    let towards = (DVec3::new(level.x, level.y, height.value()) - head.pose.at()).normalize_or_zero();
    let lamp = head.pose.to_lamp(towards);
    let behind = lamp.x <= BEHIND_AT && !model.all_round;
    let shares: Vec<Option<f64>> = model
        .emitters
        .iter()
        .map(|emitter| {
            let (there, axis) = (figure_towards(emitter, head, lamp), figure_towards(emitter, head, DVec3::X)?);
            let there = if behind { 0.0 } else { there? };
            (axis > 0.0).then(|| there / axis)
        })
        .collect();
    let least = shares.iter().flatten().copied().reduce(f64::min);
    let without: Vec<&str> = model
        .emitters
        .iter()
        .zip(&shares)
        .filter(|(_, share)| share.is_none())
        .map(|(emitter, _)| emitter.colour.as_str())
        .collect();
    let mut found = match least {
        Some(least) if without.is_empty() => Measured::new(Value::exactly(least)),
        Some(least) => Measured::new(Value::Number { low: 0.0, high: least, occurs: false }),
        None => Measured::new(Value::Unknown(format!("no data for `{}` on its axis and towards these eyes", head.id))),
    };
    if least.is_some() && !without.is_empty() {
        found.notes.push(format!("no data for {} of `{}`", without.join(", "), model.id));
    }
    found.evidence = model.emitters.iter().map(|emitter| emitter.evidence.grade).max();
    found.head = Some(head.id.clone());
    // Where a person points the eye: no closer than it can be told.
    let tenths = |angle: Degrees| Some(Degrees::new((angle.value() * 10.0).round() / 10.0));
    let (bearing, elevation) = (tenths(bearing_of(towards)), tenths(elevation_of(towards)));
    found.witness = Witness { bearing, elevation, head: Some(head.id.clone()) };
    Some(found)
}

//! The shape of one emitter's beam: how far it spreads beside its axis, and how high its strongest direction points
//! once the lamp is mounted.

use super::device::{Shining, each_emitter_of, of_devices, shining};
use super::{Ask, DeviceKey, Measured, Quantity, Value, Witness};
use crate::geometry::{bearing_of, direction, elevation_of, lamp_angles};
use crate::measure::{Conduct, OnBench};
use crate::units::{Degrees, Dimension, format_number};

/// What a rule has to say in `device` for each quantity here, and what it may say.
pub(super) static KEYS: &[(&Quantity, &[DeviceKey], &[DeviceKey])] = &[
    (&SPREAD_ACROSS, &[DeviceKey::Share], &[]),
    (&SPREAD_UP_AND_DOWN, &[DeviceKey::Share], &[]),
    (&PEAK_ELEVATION, &[], &[]),
];

const BY_HAND: &str = "a laboratory turns the lamp on a goniometer until the intensity falls to the share";

/// Left and right.
pub(super) static SPREAD_ACROSS: Quantity = of_devices(
    "beam-spread-across",
    "angle from the lamp's axis out to which one emitter still gives the rule's share of its greatest intensity, in the lamp's horizontal plane; the smaller of left and right",
    Dimension::Angle,
    BY_HAND,
    |conduct, _, ask| each_spread(conduct, ask, |angle| (Degrees::new(angle), Degrees::ZERO), 180.0),
);

/// Up and down.
pub(super) static SPREAD_UP_AND_DOWN: Quantity = of_devices(
    "beam-spread-up-and-down",
    "angle from the lamp's axis out to which one emitter still gives the rule's share of its greatest intensity, in the lamp's upright plane; the smaller of up and down",
    Dimension::Angle,
    BY_HAND,
    |conduct, _, ask| each_spread(conduct, ask, |angle| (Degrees::ZERO, Degrees::new(angle)), 90.0),
);

/// Looked at this far apart; within a step the edge is found by halving.
const STEP: f64 = 0.25;

fn each_spread(conduct: &Conduct<'_>, ask: &Ask<'_>, at: fn(f64) -> (Degrees, Degrees), most: f64) -> Vec<Measured> {
    let Some(share) = ask.device.terms.and_then(|terms| terms.share) else { return Vec::new() };
    each_emitter_of(conduct, ask, |one| {
        let bench = OnBench::new(conduct.package, one.head, one.model, one.emitter, one.shown);
        let gives = |angle: f64| {
            let (h, v) = at(angle);
            bench.intensity(direction(h, v)).map(|intensity| intensity.value())
        };
        let strongest = bench.strongest().first().and_then(|lamp| bench.intensity(*lamp));
        let Some(strongest) = strongest else {
            let why = format!("no data for the {} light of `{}`", one.emitter.colour, one.model.id);
            return Some(Measured::new(Value::Unknown(why)));
        };
        let edge = share.value() * strongest.value();
        let sides = [1.0, -1.0].map(|side| spread(|angle| gives(side * angle), edge, most));
        let low = sides.iter().map(|(low, _)| *low).fold(f64::INFINITY, f64::min);
        let high = sides.iter().map(|(_, high)| *high).fold(f64::INFINITY, f64::min);
        let mut found = Measured::new(Value::Number { low, high, occurs: false });
        found.evidence = Some(one.emitter.evidence.grade);
        if low < high {
            found.notes.push(format!("no data for directions beyond {} deg", format_number(low, 2)));
        }
        let [one_side, other] = sides.map(|(low, _)| format_number(low, 2));
        found.steps.push(format!("to the right, or up: {one_side} deg; to the left, or down: {other} deg"));
        let number = |value: f64| format_number(value, 2);
        found.steps.push(format!("still at least {} cd of {} cd", number(edge), number(strongest.value())));
        Some(found)
    })
}

/// How far out a side gives at least `edge`: known for sure, and at most. Data that end before say no more.
fn spread(gives: impl Fn(f64) -> Option<f64>, edge: f64, most: f64) -> (f64, f64) {
    let (mut inside, mut angle) = (0.0, 0.0);
    while angle <= most {
        match gives(angle) {
            None => return (inside, most),
            Some(value) if value < edge && angle == 0.0 => return (0.0, 0.0),
            Some(value) if value < edge => {
                let mut outside = angle;
                for _ in 0..40 {
                    let middle = 0.5 * (inside + outside);
                    if gives(middle).is_some_and(|value| value >= edge) { inside = middle } else { outside = middle }
                }
                return (inside, inside);
            }
            Some(_) => inside = angle,
        }
        angle += STEP;
    }
    (most, most)
}

/// Of the strongest direction, as mounted.
pub(super) static PEAK_ELEVATION: Quantity = of_devices(
    "peak-elevation",
    "elevation of one emitter's strongest direction as it is mounted, above the horizontal plane of the vehicle; of several as strong, the nearest to it",
    Dimension::Angle,
    "put a white board before the lamp and find the brightest spot; measure its height and that of the lamp",
    |conduct, _, ask| {
        let mut found: Vec<Measured> = Vec::new();
        for one in shining(conduct, ask) {
            found.extend(elevations(conduct, &one));
        }
        found
    },
);

/// One for each pose that the head has in these states.
fn elevations(conduct: &Conduct<'_>, one: &Shining<'_, '_>) -> Vec<Measured> {
    let space = conduct.space();
    let bench = OnBench::new(conduct.package, one.head, one.model, one.emitter, one.shown);
    let strongest = bench.strongest();
    let of_pose = |(region, pose): (crate::logic::Region, &crate::geometry::Pose)| {
        let states = space.and(&region, one.states);
        if states.is_empty() {
            return None;
        }
        let world = strongest.iter().map(|lamp| (pose.to_world(*lamp), *lamp));
        let level = |of: glam::DVec3| elevation_of(of).value().abs();
        let nearest = world.min_by(|(a, _), (b, _)| level(*a).total_cmp(&level(*b)));
        let mut found = match nearest {
            Some((world, lamp)) => {
                let mut found = Measured::new(Value::exactly(elevation_of(world).value()));
                let (h, v) = lamp_angles(lamp);
                let number = |angle: Degrees| format_number(angle.value(), 2);
                found.steps.push(format!("strongest at H {} V {} deg of the lamp", number(h), number(v)));
                found.witness = Witness { bearing: Some(bearing_of(world)), ..Witness::default() };
                found.witness.elevation = Some(elevation_of(world));
                found
            }
            None => {
                let why = format!("no data for the {} light of `{}`", one.emitter.colour, one.model.id);
                Measured::new(Value::Unknown(why))
            }
        };
        found.evidence = Some(one.emitter.evidence.grade);
        found.head = Some(one.head.id.clone());
        found.emitter = Some(one.emitter.colour.clone());
        found.witness.head = Some(one.head.id.clone());
        found.states = Some(states);
        Some(found)
    };
    conduct.poses(one.head).into_iter().filter_map(of_pose).collect()
}

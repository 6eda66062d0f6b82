//! A head as a schedule writes it: distances and angles in figures that read back as the very same place.

use super::{Head, Vehicle};
use crate::geometry::{Pose, elevation_of, fold};
use crate::units::{Amount, Degrees, Length, Unit};

/// Where a head is, in numbers of one unit of length and in degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Written {
    /// Behind the foremost point.
    pub behind_front: f64,
    /// Right of the middle; left of it is negative.
    pub right: f64,
    /// Above the ground.
    pub height: f64,
    /// Where it looks, clockwise from straight ahead.
    pub faces: f64,
    /// Nose up, the wedge with it.
    pub tilt: f64,
    /// Right side down.
    pub roll: f64,
}

impl Written {
    /// How a schedule whose lengths are in `unit` writes the place of a head at rest.
    pub fn of(head: &Head, vehicle: &Vehicle, unit: Unit) -> Self {
        let at = head.pose.at();
        let middle = vehicle.length * 0.5;
        let (ahead, right, height) = (Length::new(at.x), head.right, Length::new(at.z));
        let (faces, tilt, roll) = angles(&head.pose);
        Self {
            behind_front: shortest(middle - ahead, unit, |behind| middle - behind == ahead),
            right: shortest(right, unit, |written| written == right),
            height: shortest(height, unit, |written| written == height),
            faces,
            tilt,
            roll,
        }
    }

    /// How many digits its lengths take: fewer in the unit that a person measured in.
    pub fn digits(&self) -> usize {
        [self.behind_front, self.right, self.height].into_iter().map(|length| length.to_string().len()).sum()
    }
}

/// A length in a unit with no more decimals than it takes for `is_same` to hold of what is read back.
pub fn shortest(length: Length, unit: Unit, is_same: impl Fn(Length) -> bool) -> f64 {
    let full = length.in_unit(unit);
    let reads = |number: &f64| {
        let read = Amount::new(*number, unit).ok().and_then(|amount| Length::try_from(amount).ok());
        read.is_some_and(&is_same)
    };
    (0..=12).map(|digits| rounded(full, digits)).find(reads).unwrap_or(full)
}

fn rounded(number: f64, digits: i32) -> f64 {
    let factor = 10_f64.powi(digits);
    // No minus before a zero.
    (number * factor).round() / factor + 0.0
}

/// Bearing, tilt and roll of a pose, in degrees: with no more decimals than it takes.
fn angles(pose: &Pose) -> (f64, f64, f64) {
    let axis = pose.axis();
    let (left, up) = (pose.to_world(glam::DVec3::Y), pose.to_world(glam::DVec3::Z));
    let tilt = elevation_of(axis).value();
    let level = axis.x.hypot(axis.y);
    // Straight up or down, bearing and roll turn about the same axis.
    let (faces, roll) = if level > 1e-9 {
        (pose.axis_bearing().value(), left.z.atan2(up.z).to_degrees())
    } else {
        (fold(Degrees::new(left.x.atan2(left.y).to_degrees())).value(), 0.0)
    };
    let tried = (0..=10).map(|digits| [faces, tilt, roll].map(|angle| rounded(angle, digits)));
    let same = |angles: &[f64; 3]| {
        let [faces, tilt, roll] = angles.map(Degrees::new);
        let other = Pose::new(pose.at(), faces, tilt, roll);
        [glam::DVec3::X, glam::DVec3::Y, glam::DVec3::Z]
            .into_iter()
            .all(|axis| (other.to_world(axis) - pose.to_world(axis)).abs().max_element() < 1e-15)
    };
    let [faces, tilt, roll] = tried.into_iter().find(same).unwrap_or([faces, tilt, roll]);
    // 360 is 0 again.
    (fold(Degrees::new(faces)).value(), tilt, roll)
}

impl Head {
    /// Whether another head is its mirror image about the vehicle's lengthwise plane, as `mirror = true` makes it.
    pub fn is_mirror_of(&self, other: &Self) -> bool {
        let flip = glam::DVec3::new(1.0, -1.0, 1.0);
        let near = |one: glam::DVec3, other: glam::DVec3| (one - other).abs().max_element() < 1e-9;
        let mirrored = |one: &Pose, other: &Pose| {
            near(one.at() * flip, other.at())
                && near(one.axis() * flip, other.axis())
                && near(one.to_world(glam::DVec3::Z) * flip, other.to_world(glam::DVec3::Z))
        };
        let posed = self.poses.iter().zip(&other.poses);
        (self.model, self.role) == (other.model, other.role)
            && (&self.level, &self.clock, &self.groups) == (&other.level, &other.clock, &other.groups)
            && mirrored(&self.pose, &other.pose)
            && self.poses.len() == other.poses.len()
            && posed.into_iter().all(|(one, other)| mirrored(&one.1, &other.1))
    }
}

#[cfg(test)]
mod tests {
    use super::super::heads::Place;
    use super::*;

    /// Every place that a person could write comes back as it was written.
    #[test]
    fn what_was_written_is_written_again() {
        let inch = Unit::parse("in").unwrap();
        for number in [0.0, 12.0, -44.0, 49.4, 117.125, 72.0] {
            let length = Length::try_from(Amount::new(number, inch).unwrap()).unwrap();
            assert_eq!(shortest(length, inch, |read| read == length), number);
        }
        let at = Place {
            at: (Length::new(1.0), Length::ZERO, Length::new(2.0)),
            faces: Degrees::ZERO,
            tilt: Degrees::ZERO,
            wedge: Degrees::ZERO,
            roll: Degrees::ZERO,
        };
        for (faces, tilt, roll) in
            [(0.0, 0.0, 0.0), (90.0, -12.0, 3.5), (188.0, 4.25, -2.0), (359.5, 1.5, 180.0), (45.0, 90.0, 0.0)]
        {
            let place = Place { faces: Degrees::new(faces), tilt: Degrees::new(tilt), roll: Degrees::new(roll), ..at };
            assert_eq!(angles(&place.pose()), (faces, tilt, roll));
        }
    }
}

//! A head as a schedule writes it: distances and angles in figures that read back as the very same place.

use super::{Aim, Head, Model, Package, Vehicle};
use crate::geometry::Pose;
use crate::units::{Amount, Length, Unit};

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
    /// Of the surface under it, nose up.
    pub tilt: f64,
    /// What is put under it, nose up.
    pub wedge: f64,
    /// Right side down.
    pub roll: f64,
}

impl Written {
    /// How a schedule whose lengths are in `unit` writes the place of a head at rest.
    pub fn of(head: &Head, vehicle: &Vehicle, unit: Unit) -> Self {
        let at = head.pose.at();
        let middle = vehicle.length * 0.5;
        let (ahead, right, height) = (Length::new(at.x), head.right, Length::new(at.z));
        let Aim { faces, tilt, wedge, roll } = head.aim;
        // As stated; no minus before a zero.
        let [faces, tilt, wedge, roll] = [faces, tilt, wedge, roll].map(|angle| angle.value() + 0.0);
        Self {
            behind_front: shortest(middle - ahead, unit, |behind| middle - behind == ahead),
            right: shortest(right, unit, |written| written == right),
            height: shortest(height, unit, |written| written == height),
            faces,
            tilt,
            wedge,
            roll,
        }
    }

    /// The unit in which the places of a package's heads were most likely measured: the one that takes fewer digits.
    pub fn unit_of(package: &Package) -> Option<Unit> {
        let digits = |unit: &Unit| -> usize {
            package.heads.iter().map(|head| Self::of(head, &package.vehicle, *unit).digits()).sum()
        };
        ["in", "mm"].into_iter().filter_map(Unit::parse).min_by_key(digits)
    }

    /// How many digits its lengths take.
    fn digits(&self) -> usize {
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

/// A cell of the workbook that no import takes over.
#[derive(Clone, Debug, PartialEq)]
pub enum Beside {
    /// Nothing is said.
    Nothing,
    /// In the unit of its title.
    Number(f64),
    /// As it stands.
    Words(String),
}

/// What the workbook shows of a head beside what is read again, by the titles of its columns.
pub const BESIDE: [&str; 4] = ["glass before it (%)", "other places", "maker", "evidence"];

/// What stands under [`BESIDE`]: glass before a head and where else it can stand, who makes its model and the weakest
/// evidence of the model's emitters.
pub fn beside(head: Option<&Head>, model: Option<&Model>) -> [Beside; 4] {
    let words = |text: Option<String>| text.filter(|text| !text.is_empty()).map_or(Beside::Nothing, Beside::Words);
    let glass = head.and_then(|head| head.glass);
    let places = head.map(|head| head.poses.len()).filter(|places| *places > 0);
    let grade = model.and_then(|model| model.emitters.iter().map(|emitter| emitter.evidence.grade).max());
    [
        glass.map_or(Beside::Nothing, |glass| Beside::Number(glass.value() * 100.0)),
        words(places.map(|places| format!("{places}, see the package"))),
        words(model.and_then(|model| model.maker.clone())),
        words(grade.map(|grade| grade.word().to_owned())),
    ]
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
    use super::*;

    /// Every place that a person could write comes back as it was written.
    #[test]
    fn what_was_written_is_written_again() {
        let inch = Unit::parse("in").unwrap();
        for number in [0.0, 12.0, -44.0, 49.4, 117.125, 72.0] {
            let length = Length::try_from(Amount::new(number, inch).unwrap()).unwrap();
            assert_eq!(shortest(length, inch, |read| read == length), number);
        }
    }
}

//! Where a head is, which way it looks, and what stands in its way.
//!
//! Vehicle frame: x forward, y left, z up, metres, origin on the ground under the middle of length and width.
//! A bearing is clockwise from straight ahead seen from above; an elevation is positive upwards.

use glam::{DMat3, DVec3};

use crate::units::{Degrees, Length};

/// A lamp-frame x of a unit direction at or below this lies behind the mounting plane (the plane itself is behind).
pub const BEHIND_AT: f64 = 1e-9;

/// The unit vector to a bearing and an elevation.
pub fn direction(bearing: Degrees, elevation: Degrees) -> DVec3 {
    let (sin_b, cos_b) = bearing.value().to_radians().sin_cos();
    let (sin_e, cos_e) = elevation.value().to_radians().sin_cos();
    DVec3::new(cos_e * cos_b, -cos_e * sin_b, sin_e)
}

/// The bearing of a direction, 0 up to but not including 360 degrees.
pub fn bearing_of(direction: DVec3) -> Degrees {
    let degrees = (-direction.y).atan2(direction.x).to_degrees().rem_euclid(360.0);
    // rem_euclid of a tiny negative angle rounds up to 360.
    Degrees::new(if degrees >= 360.0 { 0.0 } else { degrees })
}

/// A bearing folded into 0 up to but not including 360 degrees.
pub fn fold(bearing: Degrees) -> Degrees {
    let folded = bearing.value().rem_euclid(360.0);
    Degrees::new(if folded >= 360.0 { 0.0 } else { folded })
}

/// Place and orientation of a lamp. World = Rz(-yaw) Ry(-pitch) Rx(roll) lamp.
#[derive(Clone, Debug)]
pub struct Pose {
    at: DVec3,
    to_world: DMat3,
}

impl Pose {
    /// `yaw` clockwise seen from above, `pitch` nose up, `roll` right side down; `at` in metres.
    pub fn new(at: DVec3, yaw: Degrees, pitch: Degrees, roll: Degrees) -> Self {
        let radians = |angle: Degrees| angle.value().to_radians();
        let to_world = DMat3::from_rotation_z(-radians(yaw))
            * DMat3::from_rotation_y(-radians(pitch))
            * DMat3::from_rotation_x(radians(roll));
        Self { at, to_world }
    }

    /// The optical centre, metres in the vehicle frame.
    pub fn at(&self) -> DVec3 {
        self.at
    }

    /// Height of the optical centre above the ground.
    pub fn height(&self) -> Length {
        Length::new(self.at.z)
    }

    /// The way the lamp looks.
    pub fn axis(&self) -> DVec3 {
        self.to_world.x_axis
    }

    /// The bearing the lamp looks at.
    pub fn axis_bearing(&self) -> Degrees {
        bearing_of(self.axis())
    }

    /// A direction of the vehicle frame as the lamp sees it: x along the beam, y left, z up.
    pub fn to_lamp(&self, world: DVec3) -> DVec3 {
        self.to_world.transpose() * world
    }

    /// A direction of the lamp's frame in the vehicle frame.
    pub fn to_world(&self, lamp: DVec3) -> DVec3 {
        self.to_world * lamp
    }
}

/// The elevation of a direction.
pub fn elevation_of(direction: DVec3) -> Degrees {
    Degrees::new(direction.z.atan2(direction.x.hypot(direction.y)).to_degrees())
}

/// H (right positive) and V (up positive) of a lamp-frame direction, vertical axis first.
pub fn lamp_angles(lamp: DVec3) -> (Degrees, Degrees) {
    let h = (-lamp.y).atan2(lamp.x).to_degrees();
    let v = lamp.z.atan2(lamp.x.hypot(lamp.y)).to_degrees();
    (Degrees::new(h), Degrees::new(v))
}

/// A part of the vehicle that can stand in the way of a head: a box along the axes of the vehicle frame.
#[derive(Clone, Debug)]
pub struct Block {
    low: DVec3,
    high: DVec3,
}

impl Block {
    /// The box between two opposite corners, metres.
    pub fn between(one: DVec3, other: DVec3) -> Self {
        Self { low: one.min(other), high: one.max(other) }
    }

    /// Two opposite corners, metres: the least of each coordinate, then the greatest.
    pub fn corners(&self) -> (DVec3, DVec3) {
        (self.low, self.high)
    }

    /// Whether the optical centre lies in the box or on its surface: the head is then mounted on it,
    /// and its mounting plane says what is behind.
    fn holds(&self, point: DVec3) -> bool {
        point.cmpge(self.low).all() && point.cmple(self.high).all()
    }

    /// The box as it stands before a point; none where the point is on it or in it.
    pub fn seen_from(&self, from: DVec3) -> Option<Screen> {
        (!self.holds(from)).then(|| Screen { low: self.low - from, high: self.high - from })
    }

    /// Whether the box cuts the line from `from` along the unit vector `towards`, up to `reach` metres away.
    pub fn hides(&self, from: DVec3, towards: DVec3, reach: f64) -> bool {
        self.seen_from(from).is_some_and(|screen| screen.hides(towards, reach))
    }
}

/// A [`Block`] as one point sees it.
#[derive(Clone, Copy, Debug)]
pub struct Screen {
    low: DVec3,
    high: DVec3,
}

impl Screen {
    /// Whether it cuts the line from the point along the unit vector `towards`, up to `reach` metres away.
    /// Slab method (Kay and Kajiya 1986); a line that only grazes a face is free.
    pub fn hides(&self, towards: DVec3, reach: f64) -> bool {
        let (low, high) = (self.low, self.high);
        let (mut enters, mut leaves) = (0.0_f64, reach);
        // Most lines lead away from the box, and need no division.
        let away = (low.cmpge(DVec3::ZERO) & towards.cmple(DVec3::ZERO))
            | (high.cmple(DVec3::ZERO) & towards.cmpge(DVec3::ZERO));
        if away.any() {
            return false;
        }
        for ((low, high), towards) in low.to_array().into_iter().zip(high.to_array()).zip(towards.to_array()) {
            if towards == 0.0 {
                continue;
            }
            let (near, far) =
                if towards > 0.0 { (low / towards, high / towards) } else { (high / towards, low / towards) };
            enters = enters.max(near);
            leaves = leaves.min(far);
            if enters >= leaves {
                return false;
            }
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn degrees(value: f64) -> Degrees {
        Degrees::new(value)
    }

    #[test]
    fn bearings_run_clockwise_seen_from_above() {
        let right = direction(degrees(90.0), degrees(0.0));
        assert!((right - DVec3::new(0.0, -1.0, 0.0)).length() < 1e-15);
        assert!((bearing_of(DVec3::new(0.0, 1.0, 0.0)).value() - 270.0).abs() < 1e-12);
    }

    #[test]
    fn a_box_hides_what_lies_behind_it_and_not_what_stands_before_it() {
        let block = Block::between(DVec3::new(2.0, -1.0, 0.0), DVec3::new(3.0, 1.0, 2.0));
        let eye = DVec3::new(0.0, 0.0, 1.0);
        assert!(block.hides(eye, DVec3::X, f64::INFINITY));
        assert!(!block.hides(eye, DVec3::X, 1.5), "the point lies before the box");
        assert!(!block.hides(eye, -DVec3::X, f64::INFINITY));
        assert!(!block.hides(DVec3::new(2.0, 0.0, 1.0), DVec3::X, f64::INFINITY), "mounted on its face");
        assert!(!block.hides(DVec3::new(0.0, 1.0, 1.0), DVec3::X, f64::INFINITY), "grazing a face");
    }
}

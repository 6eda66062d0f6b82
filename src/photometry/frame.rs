//! Directions seen from a lamp, and how the goniometers of the trade number them.
//!
//! The lamp's own frame: x along the beam, y left, z up. H is positive to the right as seen from
//! behind the lamp, V positive up. The letters A, B and C mean different machines in different
//! documents, so a frame is said in words: which way the axis points that the planes share.

use std::fmt;

use glam::DVec3;

use super::error::{Fault, ReadError};
use crate::units::Degrees;

/// Nearer to a pole than this (sine of the angle) the other angle has no meaning and is taken as 0.
const POLE: f64 = 1e-12;

/// A direction from the lamp's optical centre: x along the beam, y left, z up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction(DVec3);

impl Direction {
    /// The way `vector` points, whatever its length; `None` for a zero or not finite vector.
    pub fn new(vector: DVec3) -> Option<Self> {
        vector.try_normalize().filter(|unit| unit.is_finite()).map(Self)
    }

    /// From the lamp's H and V (vertical axis): H to the right, V up.
    pub fn from_h_v(h: Degrees, v: Degrees) -> Self {
        Goniometer::VerticalAxis.direction(h, v)
    }

    /// The unit vector.
    pub fn vector(self) -> DVec3 {
        self.0
    }

    /// The lamp's own H (-180 to 180) and V (-90 to 90), vertical axis: `H = atan2(-y, x)`, `V = asin z`.
    pub fn h_v(self) -> (Degrees, Degrees) {
        Goniometer::VerticalAxis.angles(self)
    }
}

/// Which way the axis points that all planes of a measurement share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Frame {
    /// Upright: the lamp turns like a door. LM-63 types A and C, the lamp as mounted.
    VerticalAxis,
    /// Across the lamp: it nods. LM-63 type B.
    HorizontalAxis,
    /// Along the beam: the lamp was measured face down in C and gamma, and is mounted upright.
    BeamAxis,
}

impl Frame {
    /// Every frame, in the order in which they are explained.
    pub const ALL: [Self; 3] = [Self::VerticalAxis, Self::HorizontalAxis, Self::BeamAxis];

    /// The word in files and print.
    pub fn name(self) -> &'static str {
        match self {
            Self::VerticalAxis => "vertical-axis",
            Self::HorizontalAxis => "horizontal-axis",
            Self::BeamAxis => "beam-axis",
        }
    }

    /// The frame that a word names.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|frame| frame.name() == word)
    }
}

impl fmt::Display for Frame {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// Where the plane C0 lies in the lamp's frame, for data in C and gamma.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zero {
    /// Along the beam (vertical axis only).
    Forward,
    /// To the left as seen from behind.
    Left,
    /// Against the beam (vertical axis only).
    Back,
    /// To the right as seen from behind.
    Right,
    /// Up (beam axis only).
    Up,
    /// Down (beam axis only).
    Down,
}

impl Zero {
    /// Every place of C0.
    pub const ALL: [Self; 6] = [Self::Forward, Self::Left, Self::Back, Self::Right, Self::Up, Self::Down];

    /// The word in files and print.
    pub fn name(self) -> &'static str {
        match self {
            Self::Forward => "forward",
            Self::Left => "left",
            Self::Back => "back",
            Self::Right => "right",
            Self::Up => "up",
            Self::Down => "down",
        }
    }

    /// The place that a word names.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|zero| zero.name() == word)
    }

    /// How far C0 is turned from forward (vertical axis) or up (beam axis), anticlockwise from above or behind.
    fn turned(self, frame: Frame) -> Option<f64> {
        match (frame, self) {
            (Frame::VerticalAxis, Self::Forward) | (Frame::BeamAxis, Self::Up) => Some(0.0),
            (Frame::VerticalAxis | Frame::BeamAxis, Self::Left) => Some(90.0),
            (Frame::VerticalAxis, Self::Back) | (Frame::BeamAxis, Self::Down) => Some(180.0),
            (Frame::VerticalAxis | Frame::BeamAxis, Self::Right) => Some(270.0),
            _ => None,
        }
    }
}

impl fmt::Display for Zero {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// How one file numbers directions: two angles, the first counting planes, the second within a plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Goniometer {
    /// H and V about an upright axis: H is the azimuth, V the latitude.
    VerticalAxis,
    /// H and V about an axis across the lamp: H is the latitude.
    HorizontalAxis,
    /// C and gamma of the lamp as mounted: gamma from straight down, C anticlockwise from above.
    Hung {
        /// C of the forward direction when C0 itself is forward is 0; this is how far C0 is turned to the left of it.
        turned: Degrees,
    },
    /// C and gamma of a lamp measured face down: gamma from the beam axis, C anticlockwise from behind.
    FaceDown {
        /// How far C0 is turned to the left of up.
        turned: Degrees,
    },
}

impl Goniometer {
    /// For data in H and V. Refuses `beam-axis`, whose data are C and gamma.
    pub(super) fn for_h_v(frame: Frame) -> Result<Self, ReadError> {
        match frame {
            Frame::VerticalAxis => Ok(Self::VerticalAxis),
            Frame::HorizontalAxis => Ok(Self::HorizontalAxis),
            Frame::BeamAxis => Err(ReadError::new(
                Fault::Orientation,
                "`beam-axis` is for data in C and gamma, and these are in H and V",
            )
            .help("`frame = \"vertical-axis\"` or `frame = \"horizontal-axis\"`, as the report says")),
        }
    }

    /// For data in C and gamma. The place of C0 must be said, but for light that is the same all round.
    pub(super) fn for_c_gamma(frame: Option<Frame>, zero: Option<Zero>, rotational: bool) -> Result<Self, ReadError> {
        let error = |message: String| ReadError::new(Fault::Orientation, message);
        let frame = match frame {
            Some(frame @ (Frame::VerticalAxis | Frame::BeamAxis)) => frame,
            Some(Frame::HorizontalAxis) => {
                return Err(error("`horizontal-axis` is for data in H and V, and these are in C and gamma".into())
                    .help("`frame = \"vertical-axis\"` (gamma 0 is straight down) or `\"beam-axis\"` (gamma 0 is the beam)"));
            }
            None => {
                return Err(error("the angles are C and gamma, and it is not said how the lamp stood".into()).help(
                    "`frame = \"vertical-axis\"` if gamma 0 is straight down below the mounted lamp, `frame = \"beam-axis\"` if it was measured face down and gamma 0 is its beam",
                ));
            }
        };
        let places = if frame == Frame::BeamAxis { "up, left, down, right" } else { "forward, left, back, right" };
        let turned = match (zero, rotational) {
            (_, true) => 0.0,
            (Some(zero), false) => zero.turned(frame).ok_or_else(|| {
                error(format!("C0 cannot point {zero} with `{frame}`"))
                    .help(format!("one of {places}, seen from behind the lamp"))
            })?,
            (None, false) => {
                return Err(error("it is not said where C0 points, and the light differs from plane to plane".into())
                    .help(format!("`c0 = ` one of {places}, seen from behind the lamp as mounted")));
            }
        };
        let turned = Degrees::new(turned);
        Ok(if frame == Frame::BeamAxis { Self::FaceDown { turned } } else { Self::Hung { turned } })
    }

    /// The words for it.
    pub fn frame(self) -> Frame {
        match self {
            Self::VerticalAxis | Self::Hung { .. } => Frame::VerticalAxis,
            Self::HorizontalAxis => Frame::HorizontalAxis,
            Self::FaceDown { .. } => Frame::BeamAxis,
        }
    }

    /// The angles of a direction. H and V of the turning axis lie in -180 to 180, of the other in -90 to 90;
    /// C in 0 to 360 (360 left out), gamma in 0 to 180. Right at a pole the turning angle is 0.
    pub fn angles(self, direction: Direction) -> (Degrees, Degrees) {
        let DVec3 { x, y, z } = direction.0;
        // atan2 with the hypotenuse keeps all digits near the poles, where asin and acos lose half of them.
        let turn = |side: f64, ahead: f64| if side.hypot(ahead) < POLE { 0.0 } else { side.atan2(ahead).to_degrees() };
        let round = |c: f64, ahead: f64, turned: Degrees| {
            if c.hypot(ahead) < POLE { 0.0 } else { once_round(c.atan2(ahead).to_degrees() - turned.value()) }
        };
        let (first, second) = match self {
            Self::VerticalAxis => (turn(-y, x), z.atan2(x.hypot(y)).to_degrees()),
            Self::HorizontalAxis => ((-y).atan2(x.hypot(z)).to_degrees(), turn(z, x)),
            Self::Hung { turned } => (round(y, x, turned), x.hypot(y).atan2(-z).to_degrees()),
            Self::FaceDown { turned } => (round(y, z, turned), y.hypot(z).atan2(x).to_degrees()),
        };
        (Degrees::new(first), Degrees::new(second))
    }

    /// The direction of a pair of angles.
    pub fn direction(self, first: Degrees, second: Degrees) -> Direction {
        let (sin_first, cos_first) = sin_cos(first);
        let (sin, cos) = sin_cos(second);
        Direction(match self {
            Self::VerticalAxis => DVec3::new(cos * cos_first, -cos * sin_first, sin),
            Self::HorizontalAxis => DVec3::new(cos_first * cos, -sin_first, cos_first * sin),
            Self::Hung { turned } => {
                let (side, ahead) = sin_cos(first + turned);
                DVec3::new(sin * ahead, sin * side, -cos)
            }
            Self::FaceDown { turned } => {
                let (side, up) = sin_cos(first + turned);
                DVec3::new(cos, sin * side, sin * up)
            }
        })
    }
}

fn sin_cos(angle: Degrees) -> (f64, f64) {
    angle.value().to_radians().sin_cos()
}

/// An angle brought to 0 (included) to 360 (left out).
pub(super) fn once_round(angle: f64) -> f64 {
    let round = angle.rem_euclid(360.0);
    // A tiny negative angle rounds to 360 itself.
    if round < 360.0 { round } else { 0.0 }
}

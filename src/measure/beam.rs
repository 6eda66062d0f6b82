//! What one head sends towards one point while it is lit, and what stands in between.

use std::rc::Rc;

use glam::DVec3;

use super::Method;
use super::survey::{LitHead, Sample};
use crate::geometry::{BEHIND_AT, Block, Pose, Screen, direction};
use crate::package::Figures;
use crate::photometry::Direction;
use crate::units::{Candela, Degrees, OpticalPower, Share};

/// Something to look at from a head.
#[derive(Clone, Copy, Debug)]
pub(super) enum Target {
    /// A direction; the observer is far away.
    Direction(DVec3),
    /// A point on a ring, metres.
    Point(DVec3),
}

/// What arrives while the head is lit in full.
#[derive(Clone, Copy, Debug)]
pub(super) enum Cast {
    Hidden,
    Behind,
    NoData,
    Intensity(Candela),
    Power(OpticalPower),
}

/// The direction of a point as the head sees it, and the ring method's (R/d)^2.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ray {
    pub lamp: DVec3,
    pub distance_factor: f64,
}

/// One emitter of a head in one pose, at every point: a row an elevation, a value a bearing.
#[derive(Debug)]
pub(super) struct Beam {
    pub rows: Vec<Rc<[Cast]>>,
}

impl Beam {
    /// The points that what comes and goes can take light from: not hidden anyway, nor behind the mounting plane.
    pub fn lit_points(&self) -> impl Iterator<Item = (usize, usize)> {
        let lit = |cast: &Cast| !matches!(cast, Cast::Hidden | Cast::Behind);
        let row = move |(row, casts): (usize, &Rc<[Cast]>)| {
            let lit: Vec<usize> = casts.iter().enumerate().filter(|(_, cast)| lit(cast)).map(|(at, _)| at).collect();
            lit.into_iter().map(move |at| (row, at))
        };
        self.rows.iter().enumerate().flat_map(row)
    }

    /// What arrives when the head is lit as `lit`, with what stands there only now before it.
    pub fn field(&self, lit: &LitHead<'_>, hidden: impl Fn(usize, usize) -> bool) -> Vec<Vec<Sample>> {
        let sample = |row: usize, at: usize, cast: &Cast| {
            if hidden(row, at) { Sample::Hidden } else { cast.sample(lit) }
        };
        let row = |(row, casts): (usize, &Rc<[Cast]>)| {
            casts.iter().enumerate().map(|(at, cast)| sample(row, at, cast)).collect()
        };
        self.rows.iter().enumerate().map(row).collect()
    }
}

impl Cast {
    /// What arrives over time: 60 times the mean intensity of the flashing, perhaps dimmed, light.
    pub fn sample(self, lit: &LitHead<'_>) -> Sample {
        match self {
            Self::Hidden => Sample::Hidden,
            Self::Behind => Sample::Behind,
            Self::NoData => Sample::NoData,
            Self::Intensity(intensity) => {
                let mean = lit.on_fraction.value() * lit.dim.value();
                Sample::Power(OpticalPower::new(60.0 * intensity.value() * mean))
            }
            Self::Power(power) => Sample::Power(power * lit.dim.value()),
        }
    }
}

impl Target {
    /// The point at a bearing and an elevation; a ring has no elevations.
    pub fn at(bearing: Degrees, elevation: Degrees, method: Method) -> Self {
        match method {
            Method::Angular => Self::Direction(direction(bearing, elevation)),
            Method::Ring { radius, height } => {
                let level = direction(bearing, Degrees::ZERO) * radius.value();
                Self::Point(DVec3::new(level.x, level.y, height.value()))
            }
        }
    }

    /// The unit vector towards it, and how far it is.
    fn from(self, pose: &Pose) -> (DVec3, f64) {
        match self {
            Self::Direction(towards) => (towards, f64::INFINITY),
            Self::Point(point) => {
                let ray = point - pose.at();
                let distance = ray.length();
                // An observer at the optical centre itself would be no measurement; the direction is then forward.
                (if distance > 0.0 { ray / distance } else { pose.axis() }, distance)
            }
        }
    }

    /// Whether a box stands between a head and it.
    pub fn hidden_by(self, screen: &Screen, pose: &Pose) -> bool {
        let (towards, reach) = self.from(pose);
        screen.hides(towards, reach)
    }
}

/// What of some boxes can stand before a head: all but those that it is mounted on.
pub(super) fn screens<'b>(blocks: impl IntoIterator<Item = &'b Block>, pose: &Pose) -> Vec<Screen> {
    blocks.into_iter().filter_map(|block| block.seen_from(pose.at())).collect()
}

/// What a head sends to a target past some boxes. Hidden is tested before behind; both are known zeros.
pub(super) fn cast(lit: &LitHead<'_>, target: &Target, screens: &[Screen], method: Method) -> (Ray, Cast) {
    let (towards, reach) = target.from(lit.pose);
    let distance_factor = match method {
        Method::Ring { radius, .. } if reach.is_finite() => (radius.value() / reach).powi(2),
        Method::Ring { .. } | Method::Angular => 1.0,
    };
    let lamp = lit.pose.to_lamp(towards);
    let ray = Ray { lamp, distance_factor };
    if screens.iter().any(|screen| screen.hides(towards, reach)) {
        return (ray, Cast::Hidden);
    }
    if lamp.x <= BEHIND_AT && !lit.all_round {
        return (ray, Cast::Behind);
    }
    (ray, shine(lit, lamp, distance_factor))
}

fn shine(lit: &LitHead<'_>, lamp: DVec3, distance_factor: f64) -> Cast {
    let Some(light) = &lit.emitter.light else { return Cast::NoData };
    let beam = if lit.head.mirrored_beam { DVec3::new(lamp.x, -lamp.y, lamp.z) } else { lamp };
    let Some(beam) = Direction::new(beam) else { return Cast::NoData };
    // An observer at the optical centre has no distance to refer back from; a pattern that the evidence does not
    // cover is not known.
    if !distance_factor.is_finite() || !lit.is_covered() {
        return Cast::NoData;
    }
    let reaches = lit.head.glass.map_or(1.0, Share::value) * distance_factor;
    match &light.figures {
        Figures::Intensity(distribution) => {
            distribution.at(beam).map_or(Cast::NoData, |intensity| Cast::Intensity(intensity * reaches))
        }
        Figures::OpticalPower { distribution, pattern } if lit.pattern_id() == Some(pattern.as_str()) => {
            distribution.at(beam).map_or(Cast::NoData, |power| Cast::Power(power * reaches))
        }
        Figures::OpticalPower { .. } => Cast::NoData,
    }
}

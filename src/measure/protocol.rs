//! How a ruleset looks at a vehicle: which bearings, which zones and levels, what a flash and a signal are.

use std::collections::HashMap;

use crate::flash::RateBy;
use crate::geometry::fold;
use crate::units::{Degrees, Length, Micros, OpticalPower, Share, Volt};

/// Everything a ruleset says about how to look.
#[derive(Clone, Debug)]
pub struct Protocol {
    /// Where to look.
    pub zones: Zones,
    /// Bands of mounting heights that are judged on their own; empty where all heads count together.
    pub levels: Vec<Level>,
    /// What a flash is.
    pub flash: FlashTerms,
    /// When light reaches a point.
    pub signal: Signal,
    /// The voltage at which devices are tested; light is never scaled with voltage, only remarked on.
    pub voltage: Option<Volt>,
}

/// The points around the vehicle and the sectors they belong to.
#[derive(Clone, Debug)]
pub struct Zones {
    /// All bearings looked from, each once.
    pub bearings: Vec<Degrees>,
    /// The sectors, in the order of the ruleset.
    pub sectors: Vec<Sector>,
    /// Elevations beside the horizontal plane.
    pub off_plane: Vec<Degrees>,
    /// Whom the points on a dividing line belong to.
    pub boundary_points: BoundaryPoints,
}

/// A sector of bearings.
#[derive(Clone, Debug)]
pub struct Sector {
    /// Its name in findings.
    pub name: String,
    /// First limit, clockwise.
    pub from: Degrees,
    /// Last limit.
    pub to: Degrees,
    /// Its points as places in [`Zones::bearings`], from the first limit to the last, both included.
    points: Vec<usize>,
}

/// What a ruleset says of points on a dividing line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BoundaryPoints {
    /// They belong to both sectors.
    Both,
    /// They belong to the sector they begin.
    First,
    /// It is not known which; both are computed.
    Unknown,
}

/// One reading of [`BoundaryPoints`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Boundary {
    /// Both limits are in.
    Both,
    /// The first limit is in, the last out.
    First,
}

impl BoundaryPoints {
    /// The readings to compute.
    pub fn readings(self) -> &'static [Boundary] {
        match self {
            Self::Both => &[Boundary::Both],
            Self::First => &[Boundary::First],
            Self::Unknown => &[Boundary::Both, Boundary::First],
        }
    }
}

/// A band of mounting heights.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// Its name in findings.
    pub name: String,
    /// Lowest height, included.
    pub from: Option<Length>,
    /// Lowest height, not included.
    pub above: Option<Length>,
    /// Highest height, included.
    pub to: Option<Length>,
}

/// What a flash is.
#[derive(Clone, Copy, Debug)]
pub struct FlashTerms {
    /// A dark gap of at least this ends a flash.
    pub dark_at_least: Micros,
    /// Lit means above this share of the head's peak.
    pub lit_above: Share,
    /// How a rate is counted.
    pub rate: RateBy,
}

/// When a head's light reaches a point.
#[derive(Clone, Copy, Debug)]
pub struct Signal {
    /// At least this much there.
    pub at_least: OpticalPower,
    /// When a head shows its colour in a zone.
    pub colour_in_zone: ColourInZone,
}

/// When a head shows its colour in a zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ColourInZone {
    /// When its axis points there.
    Axis,
    /// When its light reaches a point of it.
    Light,
}

/// From where a point is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Method {
    /// Directions as on the bench: the observer is far away and there is no parallax.
    Angular,
    /// Points on a ring about the vehicle's centre, the receiver facing the head, referred back to the radius.
    Ring {
        /// Of the ring.
        radius: Length,
        /// Of the ring above the ground.
        height: Length,
    },
}

impl Method {
    /// As printed.
    pub fn describe(self) -> String {
        match self {
            Self::Angular => "angular: directions as on the bench, no parallax".to_owned(),
            Self::Ring { radius, height } => {
                format!("ring: points {:.2} m away, {:.2} m above the ground", radius.value(), height.value())
            }
        }
    }
}

/// A ruleset that looks from more bearings or elevations would keep its user waiting: a degree apart in two overlapping
/// rounds is 720.
const MOST_BEARINGS: f64 = 2_000.0;
const MOST_ELEVATIONS: usize = 8;

impl Zones {
    /// Builds the points of the sectors, `step` apart, from each sector's first limit on.
    ///
    /// Errors: a sector that is no whole number of steps wide, or wider than a turn; the text says which.
    pub fn new(
        sectors: Vec<(String, Degrees, Degrees)>,
        step: Degrees,
        off_plane: Vec<Degrees>,
        boundary_points: BoundaryPoints,
    ) -> Result<Self, String> {
        let mut zones = Self { bearings: Vec::new(), sectors: Vec::new(), off_plane, boundary_points };
        if step.value() < 0.01 {
            return Err("the step must be at least 0.01 deg".to_owned());
        }
        let mut known: HashMap<i64, usize> = HashMap::new();
        let mut looked = 0.0;
        for (name, from, to) in sectors {
            let width = to.value() - from.value();
            let steps = width / step.value();
            if !(steps >= 1.0 && width <= 360.0 && (steps - steps.round()).abs() < 1e-6) {
                return Err(format!("sector {name} is not a whole number of steps wide, going clockwise"));
            }
            looked += steps;
            if looked > MOST_BEARINGS || zones.off_plane.len() > MOST_ELEVATIONS {
                return Err("more points than any requirement asks for: widen the step".to_owned());
            }
            let mut points = Vec::new();
            let mut at = 0.0;
            while at <= steps + 0.5 {
                let bearing = fold(Degrees::new(from.value() + at * step.value()));
                // A billionth of a degree is no difference; in range, since a bearing is below 360.
                #[allow(clippy::cast_possible_truncation)]
                let key = (bearing.value() * 1e9).round() as i64;
                let next = zones.bearings.len();
                let place = *known.entry(key).or_insert(next);
                if place == next {
                    zones.bearings.push(bearing);
                }
                points.push(place);
                at += 1.0;
            }
            zones.sectors.push(Sector { name, from, to, points });
        }
        Ok(zones)
    }

    /// The sectors that hold a bearing (two on a dividing line under [`Boundary::Both`]).
    pub fn sectors_at(&self, bearing: Degrees, boundary: Boundary) -> impl Iterator<Item = usize> {
        (0..).zip(&self.sectors).filter(move |(_, sector)| sector.holds(bearing, boundary)).map(|(at, _)| at)
    }
}

impl Sector {
    /// Its points as places in [`Zones::bearings`].
    pub fn points(&self, boundary: Boundary) -> &[usize] {
        match boundary {
            Boundary::Both => &self.points,
            Boundary::First => self.points.split_last().map_or(&[], |(_, rest)| rest),
        }
    }

    /// Whether a bearing lies in it; limits count as in `boundary`, a billionth of a degree is no difference.
    pub fn holds(&self, bearing: Degrees, boundary: Boundary) -> bool {
        let width = self.to.value() - self.from.value();
        let mut along = fold(Degrees::new(bearing.value() - self.from.value())).value();
        if along > 360.0 - 1e-9 {
            along = 0.0;
        }
        match boundary {
            Boundary::Both => along <= width + 1e-9,
            Boundary::First => along < width - 1e-9,
        }
    }
}

impl Level {
    /// Whether a height lies in the band.
    pub fn holds(&self, height: Length) -> bool {
        self.from.is_none_or(|from| height >= from)
            && self.above.is_none_or(|above| height > above)
            && self.to.is_none_or(|to| height <= to)
    }
}

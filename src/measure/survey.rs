//! One vehicle with some heads lit, looked at as a protocol says: what each gives where.

use std::cell::RefCell;
use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::beam::{Target, cast, screens};
use super::{FlashTerms, Method, Protocol};
use crate::flash::{ClockId, Timeline, UnionRate};
use crate::geometry::{Block, Pose, lamp_angles};
use crate::package::{Emitter, Head, Package, Pattern, Role};
use crate::units::{Candela, Degrees, OpticalPower, Rate, Share};

/// What one head gives at one point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sample {
    /// This much, known.
    Power(OpticalPower),
    /// Nothing: the body stands in between.
    Hidden,
    /// Nothing: the point lies behind the mounting plane.
    Behind,
    /// Not known: outside the data, or data of another pattern.
    NoData,
}

impl Sample {
    /// What is known to arrive at least: nothing where there is no data.
    pub fn at_least(self) -> OpticalPower {
        match self {
            Self::Power(power) => power,
            Self::Hidden | Self::Behind | Self::NoData => OpticalPower::ZERO,
        }
    }
}

/// A head that is lit, in one way.
#[derive(Clone, Debug)]
pub struct LitHead<'a> {
    /// Its place in [`Package::heads`].
    pub index: usize,
    /// Tells this way of being lit from all others of the vehicle.
    pub number: usize,
    /// The head.
    pub head: &'a Head,
    /// What it shows.
    pub emitter: &'a Emitter,
    /// Its light over time, phase included.
    pub timeline: Timeline,
    /// The clock that it keeps step with; without one it runs free.
    pub clock: Option<ClockId>,
    /// Tells its timeline and its clock, or that it has none, from all others of the vehicle.
    pub rhythm: usize,
    /// Its pattern, if it is not steady.
    pub pattern: Option<&'a Pattern>,
    /// Mean level over the period, before dimming.
    pub on_fraction: Share,
    /// What is left of full light.
    pub dim: Share,
    /// Whether it flashes in the protocol's terms.
    pub flashing: bool,
    /// Its own flash rate.
    pub rate: Rate,
    /// What it is there for in this display.
    pub role: Role,
    /// Place of the display that shows it.
    pub display: usize,
    /// Its place in [`Protocol::levels`].
    pub level: Option<usize>,
    /// Where it is and looks.
    pub pose: &'a Pose,
    /// It also lights what is behind its mounting plane.
    pub(super) all_round: bool,
    /// What an arrow took the head from: the head as it would be lit without the arrow.
    pub instead_of: Option<Rc<LitHead<'a>>>,
    /// Boxes that stand there now.
    pub(super) hidden_by: Vec<&'a Block>,
    // One row an elevation (the horizontal plane first), one sample a bearing.
    pub(super) field: Vec<Vec<Sample>>,
    // Of the horizontal plane, one a bearing; and whether any of them is not known.
    pub(super) reach: Vec<Reach>,
    pub(super) lacks_data: bool,
}

/// Whether a head's signal reaches a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reach {
    /// It does not.
    No,
    /// It may: there is no data.
    Perhaps,
    /// It does.
    Surely,
}

impl Reach {
    pub(super) fn of(sample: Sample, protocol: &Protocol) -> Self {
        match sample {
            Sample::NoData => Self::Perhaps,
            Sample::Power(power) if power >= protocol.signal.at_least => Self::Surely,
            Sample::Power(_) | Sample::Hidden | Sample::Behind => Self::No,
        }
    }
}

/// How one sample came about.
#[derive(Clone, Debug)]
pub struct Detail {
    /// The head's own H and V towards the point.
    pub lamp: (Degrees, Degrees),
    /// Its intensity there while lit in full, where the data are candela.
    pub intensity: Option<Candela>,
    /// (R/d)^2 of the ring method; 1 without parallax.
    pub distance_factor: f64,
    /// What arrives.
    pub sample: Sample,
}

/// One vehicle, seen.
#[derive(Debug)]
pub struct Survey<'a> {
    /// The vehicle.
    pub package: &'a Package,
    /// How it is looked at.
    pub protocol: &'a Protocol,
    /// From where.
    pub method: Method,
    /// Heads that are lit, in the order of the package.
    pub lit: Vec<Rc<LitHead<'a>>>,
    /// Flashes of the summed light of some heads: many states and points share them.
    pub counted: Counted,
}

/// What is known already of the summed light of heads, by their [`LitHead::rhythm`]s and the clock that is lost, if one
/// is.
pub type Counted = Rc<RefCell<FxHashMap<(Vec<usize>, Option<ClockId>), UnionRate>>>;

/// Whether a light flashes: at least one dark gap of the given length in each period.
pub fn counts_as_flashing(timeline: &Timeline, terms: &FlashTerms) -> bool {
    timeline.is_flashing(terms.dark_at_least, terms.lit_above)
}

impl<'a> Survey<'a> {
    /// The vehicle with nothing lit.
    pub fn dark(package: &'a Package, protocol: &'a Protocol, method: Method) -> Self {
        Self { package, protocol, method, lit: Vec::new(), counted: Counted::default() }
    }

    /// The elevations looked at: the horizontal plane, then those beside it (none of them on a ring).
    pub fn elevations(&self) -> Vec<Degrees> {
        let mut elevations = vec![Degrees::ZERO];
        if self.method == Method::Angular {
            elevations.extend(&self.protocol.zones.off_plane);
        }
        elevations
    }

    /// How much a head gives at a bearing and elevation, with all that led to it.
    pub fn detail(&self, lit: &LitHead<'_>, bearing: Degrees, elevation: Degrees) -> Detail {
        let screens = screens(lit.hidden_by.iter().copied(), lit.pose);
        let (ray, cast) = cast(lit, &Target::at(bearing, elevation, self.method), &screens, self.method);
        let intensity = match cast {
            super::beam::Cast::Intensity(intensity) => Some(intensity),
            _ => None,
        };
        Detail {
            lamp: lamp_angles(ray.lamp),
            intensity,
            distance_factor: ray.distance_factor,
            sample: cast.sample(lit),
        }
    }
}

impl LitHead<'_> {
    /// What it gives at a point: `elevation` as a place in [`Survey::elevations`], `bearing` in the zones' bearings.
    pub fn at(&self, elevation: usize, bearing: usize) -> Sample {
        self.field.get(elevation).and_then(|row| row.get(bearing)).copied().unwrap_or(Sample::NoData)
    }

    /// Whether it is looked at from this elevation at all.
    pub fn knows(&self, elevation: usize) -> bool {
        elevation < self.field.len()
    }

    /// The id of its pattern, if it is not steady.
    pub fn pattern_id(&self) -> Option<&str> {
        self.pattern.map(|pattern| pattern.id.as_str())
    }

    /// Whether its evidence covers the pattern that it runs: one that names a pattern index holds for no other.
    pub fn is_covered(&self) -> bool {
        let Some(covered) = &self.emitter.evidence.pattern_index else { return true };
        self.pattern.is_none_or(|pattern| pattern.index.as_ref() == Some(covered))
    }

    /// Whether its signal reaches a point of the horizontal plane: a place in the zones' bearings.
    pub fn reach(&self, bearing: usize) -> Reach {
        self.reach.get(bearing).copied().unwrap_or(Reach::Perhaps)
    }

    /// Whether there is no data for it at some bearing of the horizontal plane.
    pub fn lacks_data(&self) -> bool {
        self.lacks_data
    }

    /// Whether it lights up and goes dark with another head, for good.
    pub fn is_in_step_with(&self, other: &Self) -> bool {
        self.rhythm == other.rhythm && self.head.clock.is_some()
    }

    /// Whether nothing tells two ways in which one head is lit apart to those who look from these bearings.
    pub fn is_seen_as(&self, other: &Self, bearings: &[usize]) -> bool {
        let same_in =
            |(one, other): (&Vec<Sample>, &Vec<Sample>)| bearings.iter().all(|at| one.get(*at) == other.get(*at));
        let same_loss = match (&self.instead_of, &other.instead_of) {
            (Some(one), Some(other)) => one.is_seen_as(other, bearings),
            (None, None) => true,
            _ => false,
        };
        std::ptr::eq(self.emitter, other.emitter)
            && std::ptr::eq(self.pose, other.pose)
            && (self.role, self.dim) == (other.role, other.dim)
            && self.rhythm == other.rhythm
            && same_loss
            && self.field.iter().zip(&other.field).all(same_in)
    }
}

/// The level of a head: the one it names, else the band that holds its height.
pub fn level_of(protocol: &Protocol, head: &Head, pose: &Pose) -> Option<usize> {
    match &head.level {
        Some(name) => protocol.levels.iter().position(|level| level.name == *name),
        None => protocol.levels.iter().position(|level| level.holds(pose.height())),
    }
}

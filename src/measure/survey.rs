//! One vehicle in one mode, looked at as a protocol says: which heads are lit, and what each gives where.

use glam::DVec3;

use super::displays::shown;
use super::{FlashTerms, Method, Protocol};
use crate::flash::Timeline;
use crate::geometry::{BEHIND_AT, Pose, direction, lamp_angles};
use crate::package::{Emitter, Figures, Head, Mode, Package, Role};
use crate::photometry::Direction;
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

/// A head that is lit in the mode.
#[derive(Debug)]
pub struct LitHead<'a> {
    /// Its place in [`Package::heads`].
    pub index: usize,
    /// The head.
    pub head: &'a Head,
    /// What it shows.
    pub emitter: &'a Emitter,
    /// Its light over time, phase included.
    pub timeline: Timeline,
    /// Its pattern's id, if it is not steady.
    pub pattern: Option<&'a str>,
    /// Mean level over the period.
    pub on_fraction: Share,
    /// Whether it flashes in the protocol's terms.
    pub flashing: bool,
    /// Its own flash rate.
    pub rate: Rate,
    /// What it is there for in this display.
    pub role: Role,
    /// Its place in [`Protocol::levels`].
    pub level: Option<usize>,
    /// Where it is and looks in this mode.
    pub pose: &'a Pose,
    all_round: bool,
    // One row an elevation (the horizontal plane first), one sample a bearing.
    field: Vec<Vec<Sample>>,
}

/// How one sample came about.
#[derive(Clone, Debug)]
pub struct Detail {
    /// The head's own H and V towards the point.
    pub lamp: (Degrees, Degrees),
    /// Its intensity there, where the data are candela.
    pub intensity: Option<Candela>,
    /// (R/d)^2 of the ring method; 1 without parallax.
    pub distance_factor: f64,
    /// What arrives.
    pub sample: Sample,
}

/// One vehicle in one mode.
#[derive(Debug)]
pub struct Survey<'a> {
    /// The vehicle.
    pub package: &'a Package,
    /// The mode; without one nothing is lit and only the mounting can be looked at.
    pub mode: Option<&'a Mode>,
    /// How it is looked at.
    pub protocol: &'a Protocol,
    /// From where.
    pub method: Method,
    /// Heads that are lit, in the order of the package.
    pub lit: Vec<LitHead<'a>>,
}

/// Whether a light flashes: at least one dark gap of the given length in each period.
pub fn counts_as_flashing(timeline: &Timeline, terms: &FlashTerms) -> bool {
    timeline.is_flashing(terms.dark_at_least, terms.lit_above)
}

impl<'a> Survey<'a> {
    /// Finds who is lit in the mode and computes what arrives at every point.
    pub fn new(package: &'a Package, mode: Option<&'a Mode>, protocol: &'a Protocol, method: Method) -> Self {
        let mut survey = Self { package, mode, protocol, method, lit: Vec::new() };
        survey.light_heads();
        let hidden_by = survey.standing();
        let targets = survey.targets();
        for lit in &mut survey.lit {
            let at = |point: &Target| sample(lit, point, &hidden_by, method);
            lit.field = targets.iter().map(|row| row.iter().map(|point| at(point).sample).collect()).collect();
        }
        survey
    }

    /// Each head ends in one display: a later one wins.
    fn light_heads(&mut self) {
        let Some(mode) = self.mode else { return };
        let (shown, _) = shown(self.package, mode);
        for (index, (head, slot)) in self.package.heads.iter().zip(shown).enumerate() {
            let Some(show) = slot else { continue };
            let Some(model) = self.package.models.get(head.model) else { continue };
            let Some(emitter) = model.emitters.get(show.emitter) else { continue };
            let pattern = show.pattern.and_then(|at| self.package.patterns.get(at));
            let timeline = match pattern {
                Some(pattern) => pattern.timeline.delayed(show.phase),
                None => Timeline::steady(),
            };
            let terms = &self.protocol.flash;
            let pose = head.pose_when(&mode.given);
            self.lit.push(LitHead {
                index,
                head,
                emitter,
                pattern: pattern.map(|pattern| pattern.id.as_str()),
                on_fraction: timeline.mean(),
                flashing: counts_as_flashing(&timeline, terms),
                rate: timeline.rate(terms.dark_at_least, terms.lit_above, terms.rate),
                timeline,
                role: show.role,
                level: level_of(self.protocol, head, pose),
                pose,
                all_round: model.all_round,
                field: Vec::new(),
            });
        }
    }

    /// The elevations looked at: the horizontal plane, then those beside it (none of them on a ring).
    pub fn elevations(&self) -> Vec<Degrees> {
        let mut elevations = vec![Degrees::ZERO];
        if self.method == Method::Angular {
            elevations.extend(&self.protocol.zones.off_plane);
        }
        elevations
    }

    fn targets(&self) -> Vec<Vec<Target>> {
        let bearings = &self.protocol.zones.bearings;
        let row = |elevation| bearings.iter().map(|bearing| self.target(*bearing, elevation)).collect();
        self.elevations().into_iter().map(row).collect()
    }

    fn target(&self, bearing: Degrees, elevation: Degrees) -> Target {
        match self.method {
            Method::Angular => Target::Direction(direction(bearing, elevation)),
            Method::Ring { radius, height } => {
                let level = direction(bearing, Degrees::ZERO) * radius.value();
                Target::Point(DVec3::new(level.x, level.y, height.value()))
            }
        }
    }

    /// How much a head gives at a bearing and elevation, with all that led to it.
    pub fn detail(&self, lit: &LitHead<'_>, bearing: Degrees, elevation: Degrees) -> Detail {
        sample(lit, &self.target(bearing, elevation), &self.standing(), self.method)
    }

    /// The boxes that stand there in this mode.
    fn standing(&self) -> Vec<&'a crate::geometry::Block> {
        let given = |name: &String| self.mode.is_some_and(|mode| mode.given.contains(name));
        let bodies = self.package.bodies.iter().filter(|body| body.when.as_ref().is_none_or(given));
        bodies.map(|body| &body.block).collect()
    }
}

impl LitHead<'_> {
    /// What it gives at a point: `elevation` as a place in [`Survey::elevations`], `bearing` in the zones' bearings.
    pub fn at(&self, elevation: usize, bearing: usize) -> Sample {
        self.field.get(elevation).and_then(|row| row.get(bearing)).copied().unwrap_or(Sample::NoData)
    }
}

/// The level of a head: the one it names, else the band that holds its height.
pub fn level_of(protocol: &Protocol, head: &Head, pose: &Pose) -> Option<usize> {
    match &head.level {
        Some(name) => protocol.levels.iter().position(|level| level.name == *name),
        None => protocol.levels.iter().position(|level| level.holds(pose.height())),
    }
}

/// Something to look at from a head.
enum Target {
    Direction(DVec3),
    Point(DVec3),
}

fn sample(lit: &LitHead<'_>, target: &Target, blocks: &[&crate::geometry::Block], method: Method) -> Detail {
    let from = lit.pose.at();
    let (towards, reach, distance_factor) = match (target, method) {
        (Target::Direction(towards), _) => (*towards, f64::INFINITY, 1.0),
        (Target::Point(point), Method::Ring { radius, .. }) => {
            let ray = *point - from;
            let distance = ray.length();
            // An observer at the optical centre itself would be no measurement; the direction is then forward.
            let towards = if distance > 0.0 { ray / distance } else { lit.pose.axis() };
            (towards, distance, (radius.value() / distance).powi(2))
        }
        (Target::Point(point), Method::Angular) => (point.normalize_or(DVec3::X), f64::INFINITY, 1.0),
    };
    let lamp = lit.pose.to_lamp(towards);
    let detail = |intensity, sample| Detail { lamp: lamp_angles(lamp), intensity, distance_factor, sample };
    if blocks.iter().any(|block| block.hides(from, towards, reach)) {
        return detail(None, Sample::Hidden);
    }
    if lamp.x <= BEHIND_AT && !lit.all_round {
        return detail(None, Sample::Behind);
    }
    let Some(light) = &lit.emitter.light else { return detail(None, Sample::NoData) };
    let beam = if lit.head.mirrored_beam { DVec3::new(lamp.x, -lamp.y, lamp.z) } else { lamp };
    let Some(beam) = Direction::new(beam) else { return detail(None, Sample::NoData) };
    if !distance_factor.is_finite() {
        // An observer at the optical centre: no distance to refer back from.
        return detail(None, Sample::NoData);
    }
    let reaches = lit.head.glass.map_or(1.0, Share::value) * distance_factor;
    match &light.figures {
        Figures::Intensity(distribution) => {
            let Some(intensity) = distribution.at(beam) else { return detail(None, Sample::NoData) };
            let intensity = intensity * reaches;
            let power = OpticalPower::new(60.0 * intensity.value() * lit.on_fraction.value());
            detail(Some(intensity), Sample::Power(power))
        }
        Figures::OpticalPower { distribution, pattern } if lit.pattern == Some(pattern.as_str()) => {
            let power = distribution.at(beam).map(|power| power * reaches);
            detail(None, power.map_or(Sample::NoData, Sample::Power))
        }
        Figures::OpticalPower { .. } => detail(None, Sample::NoData),
    }
}

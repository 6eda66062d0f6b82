//! The most that a bare device could give, before anybody mounts it: towards a direction of its own, and into a zone at
//! its best aim. Where its data end it is taken to give as much as anywhere, so that what is found is never too little.

use glam::DVec3;

use crate::geometry::{BEHIND_AT, Pose, direction};
use crate::package::{Emitter, Figures, Model};
use crate::photometry::{Direction, Distribution, Light};
use crate::units::{Candela, Degrees, OpticalPower, Share};

/// One colour of a model that no vehicle carries yet.
#[derive(Clone, Copy, Debug)]
pub struct Bare<'a> {
    /// The model.
    pub model: &'a Model,
    /// The colour.
    pub emitter: &'a Emitter,
}

/// How much a device lit all the time could give into a zone, added up over the zone's points in the horizontal plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IntoZone {
    /// At the best of the aims that were tried: no more than a search, so another aim may give more. `None` where trying
    /// was too much work.
    pub tried: Option<OpticalPower>,
    /// No aim gives more: as often its greatest as points can lie before it at once.
    pub most: OpticalPower,
    /// Whether it scales with the share of time lit; what a catalogue states as optical power is of one pattern.
    pub scales: bool,
}

impl IntoZone {
    /// One of its sums, lit for no more than this share of the time.
    pub fn lit(&self, sum: OpticalPower, lit: Share) -> OpticalPower {
        if self.scales { OpticalPower::new(sum.value() * lit.value()) } else { sum }
    }
}

/// Up and down, aims are tried two degrees apart up to this, and where the light is strongest in the horizontal plane.
const FARTHEST_TILT: i32 = 6;
/// Across, aims are tried a degree apart, and farther apart in zones that are wider than this.
const MOST_PANS: f64 = 90.0;

/// How often at most light is asked of one device while its aims into a zone are tried: pans and those that turn the peak
/// there, by tilts, by points.
pub fn looks_into(points: &[Degrees]) -> usize {
    2 * 91 * 8 * points.len()
}

/// Every emitter of some models.
pub fn bare(models: &[Model]) -> impl Iterator<Item = Bare<'_>> {
    models.iter().flat_map(|model| model.emitters.iter().map(move |emitter| Bare { model, emitter }))
}

impl Bare<'_> {
    /// The most it gives while lit towards H (right) and V (up) of its own; `None` where no intensity is stated. Of a
    /// model that is made for either side, the better one.
    pub fn intensity(&self, h: Degrees, v: Degrees) -> Option<Candela> {
        let Figures::Intensity(distribution) = &self.emitter.light.as_ref()?.figures else { return None };
        let sides = if self.model.handed { vec![h, -h] } else { vec![h] };
        let most = sides.into_iter().map(|h| self.most(distribution, Candela::value, direction(h, v)));
        most.reduce(f64::max).map(Candela::new)
    }

    /// The most it gives anywhere while lit; `None` where no intensity is stated.
    pub fn peak(&self) -> Option<Candela> {
        match &self.emitter.light.as_ref()?.figures {
            Figures::Intensity(distribution) => distribution.peak(),
            Figures::OpticalPower { .. } => None,
        }
    }

    /// The most optical power towards H and V, lit for no more than this share of the time: 60 times the mean intensity.
    /// What a catalogue states as optical power is of one pattern, and holds as it stands.
    pub fn power(&self, h: Degrees, v: Degrees, lit: Share) -> Option<OpticalPower> {
        self.power_towards(direction(h, v), lit)
    }

    /// What it could give into a zone, whose points are counted clockwise; aims are tried where `search` says so. `None`
    /// where nothing is known of its light.
    pub fn into_zone(&self, points: &[Degrees], search: bool) -> Option<IntoZone> {
        let (peak, scales, strongest) = match &self.emitter.light.as_ref()?.figures {
            Figures::Intensity(light) => (60.0 * light.peak()?.value(), true, strongest(light, Candela::value)),
            Figures::OpticalPower { distribution, .. } => {
                (distribution.peak()?.value(), false, strongest(distribution, OpticalPower::value))
            }
        };
        let most = OpticalPower::new(peak * f64::from(self.before_it(points)));
        let tried = search.then(|| self.try_aims(points, strongest)).flatten();
        Some(IntoZone { tried, most, scales })
    }

    /// How many of the points can lie before it at once, however it is turned: those of half a turn, unless it shines all
    /// round.
    fn before_it(&self, points: &[Degrees]) -> u32 {
        // A little wider than half a turn at both ends, so that rounding takes no point away.
        let wide = 1e-6;
        let after = |from: &Degrees, at: &Degrees| (at.value() - from.value() + wide).rem_euclid(360.0);
        let within = |from: &Degrees| points.iter().filter(|at| after(from, at) < 180.0 + 2.0 * wide).count();
        let many =
            if self.model.all_round { points.len() } else { points.iter().map(within).max().unwrap_or_default() };
        u32::try_from(many).unwrap_or(u32::MAX)
    }

    /// The best of some aims, lit all the time.
    fn try_aims(&self, points: &[Degrees], (peak_h, peak_v): (Degrees, Degrees)) -> Option<OpticalPower> {
        let (first, last) = (points.first()?.value(), points.last()?.value());
        let apart = ((last - first) / MOST_PANS).max(1.0);
        let across = (0_u32..).map(|at| first + f64::from(at) * apart).take_while(|at| *at <= last);
        let across = across.flat_map(|at| [at, at - peak_h.value()]);
        let tilts = (-FARTHEST_TILT..=FARTHEST_TILT).step_by(2).map(f64::from).chain([-peak_v.value()]);
        let tilts: Vec<f64> = tilts.collect();
        let towards: Vec<DVec3> = points.iter().map(|point| direction(*point, Degrees::ZERO)).collect();
        let all_the_time = Share::new(1.0);
        let mut best: Option<OpticalPower> = None;
        for h in across.map(Degrees::new) {
            for v in tilts.iter().copied().map(Degrees::new) {
                let pose = Pose::new(DVec3::ZERO, h, v, Degrees::ZERO);
                let each = towards.iter().map(|towards| self.power_towards(pose.to_lamp(*towards), all_the_time));
                let sum = each.sum::<Option<OpticalPower>>()?;
                best = Some(best.map_or(sum, |best| if sum > best { sum } else { best }));
            }
        }
        best
    }

    fn power_towards(&self, lamp: DVec3, lit: Share) -> Option<OpticalPower> {
        let power = match &self.emitter.light.as_ref()?.figures {
            Figures::Intensity(distribution) => 60.0 * lit.value() * self.most(distribution, Candela::value, lamp),
            Figures::OpticalPower { distribution, .. } => self.most(distribution, OpticalPower::value, lamp),
        };
        Some(OpticalPower::new(power))
    }

    /// What the figures say towards a direction of the lamp; their greatest where they say nothing.
    fn most<Q: Light>(&self, distribution: &Distribution<Q>, value: fn(Q) -> f64, lamp: DVec3) -> f64 {
        if lamp.x <= BEHIND_AT && !self.model.all_round {
            return 0.0;
        }
        let known = Direction::new(lamp).and_then(|towards| distribution.at(towards)).or_else(|| distribution.peak());
        known.map_or(0.0, value)
    }
}

/// Where data are greatest, to the right and up of the lamp's own axis; the axis where a figure was declared.
fn strongest<Q: Light>(distribution: &Distribution<Q>, value: fn(Q) -> f64) -> (Degrees, Degrees) {
    let greatest = distribution.nodes().map(|(towards, light)| (towards, value(light)));
    let greatest = greatest.filter(|(_, light)| !light.is_nan()).max_by(|one, other| one.1.total_cmp(&other.1));
    greatest.map_or((Degrees::ZERO, Degrees::ZERO), |(towards, _)| towards.h_v())
}

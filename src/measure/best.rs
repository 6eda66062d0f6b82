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

/// How much a device gives into a zone, and how it is turned for that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BestAim {
    /// Added up over the zone's points in the horizontal plane.
    pub sum: OpticalPower,
    /// To the right of the zone's middle.
    pub h: Degrees,
    /// Up.
    pub v: Degrees,
}

/// Aims are tried a degree apart across, two degrees apart up and down, up to this.
const FARTHEST_TILT: i32 = 6;

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

    /// The most it gives into a zone, whose points are counted from its middle; `None` where nothing is known of its light.
    pub fn into_zone(&self, points: &[Degrees], lit: Share) -> Option<BestAim> {
        self.emitter.light.as_ref()?;
        let (first, last) = (points.first()?.value(), points.last()?.value());
        let across = (0_u32..).map(|at| first + f64::from(at)).take_while(|at| *at <= last);
        let towards: Vec<DVec3> = points.iter().map(|point| direction(*point, Degrees::ZERO)).collect();
        let mut best: Option<BestAim> = None;
        for h in across.map(Degrees::new) {
            for v in (-FARTHEST_TILT..=FARTHEST_TILT).step_by(2).map(|tilt| Degrees::new(f64::from(tilt))) {
                let pose = Pose::new(DVec3::ZERO, h, v, Degrees::ZERO);
                let each = towards.iter().map(|towards| self.power_towards(pose.to_lamp(*towards), lit));
                let sum = each.sum::<Option<OpticalPower>>()?;
                if best.is_none_or(|best| sum > best.sum) {
                    best = Some(BestAim { sum, h, v });
                }
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

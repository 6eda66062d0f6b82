//! One emitter on the bench: how much it gives in a direction of its own, whatever stands round it on the vehicle. Glass
//! in front of a lamp belongs to the vehicle and takes nothing here; dimming belongs to what is shown.

use glam::DVec3;

use super::Shown;
use crate::geometry::BEHIND_AT;
use crate::package::{Emitter, Figures, Head, Model, Package, Pattern};
use crate::photometry::{Direction, Distribution, Light};
use crate::units::{Candela, OpticalPower};

/// An emitter as a head shows it, ready to be looked at.
#[derive(Clone, Copy, Debug)]
pub struct OnBench<'a> {
    emitter: &'a Emitter,
    mirrored: bool,
    all_round: bool,
    pattern: Option<&'a Pattern>,
}

/// Directions are one if the light in them differs by less than rounding.
const SAME: f64 = 1e-12;

impl<'a> OnBench<'a> {
    /// Takes the emitter that is shown.
    pub fn new(package: &'a Package, head: &Head, model: &Model, emitter: &'a Emitter, shown: &Shown<'a>) -> Self {
        let pattern = shown.show.pattern.and_then(|at| package.patterns.get(at));
        Self { emitter, mirrored: head.mirrored_beam, all_round: model.all_round, pattern }
    }

    /// Its intensity at the full level of a pattern, towards a direction of the lamp's frame; `None` where that is not
    /// known. Behind the mounting plane of a lamp that looks one way it is nothing.
    ///
    /// Figures of optical power are those of one pattern, and the light of its pulses is worked out from them.
    pub fn intensity(&self, lamp: DVec3) -> Option<Candela> {
        if lamp.x <= BEHIND_AT && !self.all_round {
            return Some(Candela::ZERO);
        }
        let towards = Direction::new(self.turned(lamp))?;
        match &self.emitter.light.as_ref().filter(|_| self.is_covered())?.figures {
            Figures::Intensity(distribution) => distribution.at(towards),
            Figures::OpticalPower { distribution, pattern } => {
                let shown = self.pattern.filter(|shown| shown.id == *pattern)?;
                let mean = shown.timeline.mean().value();
                let power = distribution.at(towards).filter(|_| mean > 0.0)?;
                Some(Candela::new(power.value() / 60.0 / mean))
            }
        }
    }

    /// Whether intensities are worked out from optical power.
    pub fn is_worked_out(&self) -> bool {
        let figures = self.emitter.light.as_ref().map(|light| &light.figures);
        matches!(figures, Some(Figures::OpticalPower { .. }))
    }

    /// The directions in which its figures are greatest, in the lamp's frame; none without figures.
    pub fn strongest(&self) -> Vec<DVec3> {
        let seen = |lamp: DVec3| self.all_round || lamp.x > BEHIND_AT;
        let strongest = match self.emitter.light.as_ref().map(|light| &light.figures) {
            None => Vec::new(),
            Some(Figures::Intensity(distribution)) => strongest(distribution, Candela::value, seen),
            Some(Figures::OpticalPower { distribution, .. }) => strongest(distribution, OpticalPower::value, seen),
        };
        strongest.into_iter().map(|direction| self.turned(direction)).collect()
    }

    /// A mirrored lamp gives to the left what its figures say of the right.
    fn turned(&self, lamp: DVec3) -> DVec3 {
        if self.mirrored { DVec3::new(lamp.x, -lamp.y, lamp.z) } else { lamp }
    }

    /// Evidence that names a pattern index holds for no other.
    fn is_covered(&self) -> bool {
        let Some(covered) = &self.emitter.evidence.pattern_index else { return true };
        self.pattern.is_none_or(|pattern| pattern.index.as_ref() == Some(covered))
    }
}

/// What the figures of an emitter, of intensity or of optical power, say of a direction of the lamp, lit or not: shares
/// of each other are those of its light.
pub fn figure_towards(emitter: &Emitter, head: &Head, lamp: DVec3) -> Option<f64> {
    let towards = if head.mirrored_beam { DVec3::new(lamp.x, -lamp.y, lamp.z) } else { lamp };
    let towards = Direction::new(towards)?;
    match &emitter.light.as_ref()?.figures {
        Figures::Intensity(distribution) => distribution.at(towards).map(Candela::value),
        Figures::OpticalPower { distribution, .. } => distribution.at(towards).map(OpticalPower::value),
    }
}

/// Where a distribution is greatest: between its own directions it cannot be greater than at them.
fn strongest<Q: Light>(
    distribution: &Distribution<Q>,
    value: fn(Q) -> f64,
    seen: impl Fn(DVec3) -> bool,
) -> Vec<DVec3> {
    if distribution.goniometer().is_none() {
        // A declared figure has its greatest value on the axis.
        return vec![DVec3::X];
    }
    let nodes = || distribution.nodes().map(|(direction, light)| (direction.vector(), value(light)));
    let nodes = || nodes().filter(|(direction, _)| seen(*direction));
    let Some(most) = nodes().map(|(_, value)| value).reduce(f64::max) else { return Vec::new() };
    let as_much = |value: f64| value >= most * (1.0 - SAME);
    // A file may give one side only and say that the other is the same.
    let other = |direction: DVec3| Direction::new(DVec3::new(direction.x, -direction.y, direction.z));
    let top = nodes().filter(|(_, value)| as_much(*value)).map(|(direction, _)| direction);
    let both = top.flat_map(|direction| {
        let other = other(direction).filter(|other| distribution.at(*other).map(value).is_some_and(as_much));
        [Some(direction), other.map(Direction::vector)]
    });
    both.flatten().collect()
}

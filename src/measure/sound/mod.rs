//! What sounds in which states, and how loud it arrives where one listens.

mod around;
mod chain;
mod ears;

use crate::logic::{Region, Space};
use crate::package::SoundSide;

use super::Conduct;

pub use around::{Heard, Place, heard, level_of, ring};
pub use chain::{Chain, Span, Term, laboratory, off_axis};
pub use ears::{AtEar, dose, exposure};

/// More ways of sounding together than any vehicle has; beyond, nothing is said of sums.
const MOST_WAYS: usize = 1024;

/// One sounder while it sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Voice {
    /// Place in [`SoundSide::sounders`].
    pub sounder: usize,
    /// Place in the sheets of its model.
    pub sheet: usize,
    /// Place in [`SoundSide::soundings`].
    pub sounding: usize,
}

/// What sounds in every state.
#[derive(Debug)]
pub struct Sounds {
    /// For each sounder the states in which it sounds, each with its voice.
    pub voices: Vec<Vec<(Region, Voice)>>,
    /// What sounds together, and where; silence is none of them.
    pub ways: Vec<(Region, Vec<Voice>)>,
    /// There are more ways than are gone through.
    pub too_many: bool,
}

impl Sounds {
    /// Lays the soundings over each other: a later one wins the sounders that it names while it is on.
    pub(super) fn new(side: &SoundSide, space: &Space) -> Self {
        let on: Vec<Region> = side.soundings.iter().map(|sounding| space.holds(&sounding.when)).collect();
        let voices: Vec<Vec<(Region, Voice)>> =
            (0..side.sounders.len()).map(|at| of_one(side, space, &on, at)).collect();
        let mut ways: Vec<(Region, Vec<Voice>)> = vec![(space.allowed().clone(), Vec::new())];
        let mut too_many = false;
        for parts in &voices {
            let mut next: Vec<(Region, Vec<Voice>)> = Vec::with_capacity(ways.len());
            for (region, together) in ways {
                let mut rest = region;
                for (states, voice) in parts {
                    let both = space.and(&rest, states);
                    if !both.is_empty() {
                        rest = space.minus(&rest, states);
                        next.push((both, together.iter().copied().chain([*voice]).collect()));
                    }
                }
                if !rest.is_empty() {
                    next.push((rest, together));
                }
            }
            ways = next;
            if ways.len() > MOST_WAYS {
                too_many = true;
                break;
            }
        }
        ways.retain(|(_, together)| !together.is_empty());
        Self { voices, ways, too_many }
    }

    /// The states in which any sounder that is `wanted` sounds.
    pub fn sounding(&self, space: &Space, wanted: impl Fn(usize) -> bool) -> Region {
        let parts = self.voices.iter().enumerate().filter(|(at, _)| wanted(*at)).flat_map(|(_, parts)| parts);
        parts.fold(space.none(), |all, (region, _)| space.or(&all, region))
    }
}

/// The states in which one sounder sounds.
fn of_one(side: &SoundSide, space: &Space, on: &[Region], sounder: usize) -> Vec<(Region, Voice)> {
    let mut parts: Vec<(Region, Voice)> = Vec::new();
    for ((sounding, claim), on) in side.soundings.iter().enumerate().zip(on) {
        let Some((_, sheet)) = claim.rows.iter().find(|(named, _)| *named == sounder) else { continue };
        parts.iter_mut().for_each(|(region, _)| *region = space.minus(region, on));
        parts.push((on.clone(), Voice { sounder, sheet: *sheet, sounding }));
    }
    parts.retain(|(region, _)| !region.is_empty());
    parts
}

impl Conduct<'_> {
    /// What sounds, worked out once it is asked for.
    pub fn sounds(&self) -> &Sounds {
        self.sounds.get_or_init(|| Sounds::new(&self.package.sound, self.space()))
    }
}

//! What a single change of one input does to the light.

use super::Lights;
use crate::logic::{Region, Space};

/// One input put into a position in which it was not, from the states of one light.
#[derive(Clone, Debug)]
pub struct Change {
    /// Place of the input.
    pub input: usize,
    /// Place of its new position.
    pub position: usize,
    /// The states before it.
    pub before: Region,
    /// The states it leads to.
    pub after: Region,
    /// The lights it leads to, as places in the list, each with the states that do: one, or several where other inputs
    /// decide.
    pub to: Vec<(usize, Region)>,
    /// It leads to lights that are not in the list, too.
    pub unlisted: bool,
    /// The first of the states before it, the place of the position of each input: rest positions first.
    pub from: Vec<usize>,
    /// The light that it leads to from there, if that is in the list.
    pub first: Option<usize>,
}

impl Lights<'_> {
    /// Every single change that can occur in states of one light, in the order of inputs and positions.
    pub fn changes(&self, space: &Space, states: &Region) -> Vec<Change> {
        let mut changes = Vec::new();
        for (input, positions) in space.inputs().list.iter().map(|input| input.positions.len()).enumerate() {
            for position in 0..positions {
                let after = space.after(states, input, position);
                if after.is_empty() {
                    continue;
                }
                let before = space.before(&after, input, position);
                let before = space.and(&before, states);
                let (to, unlisted) = self.met(space, &after);
                let from = space.first(&before).unwrap_or_default();
                let mut there = from.clone();
                there.iter_mut().skip(input).take(1).for_each(|at| *at = position);
                let first = self.of(space, &there);
                changes.push(Change { input, position, before, after, to, unlisted, from, first });
            }
        }
        changes
    }

    /// The lights that states show, and whether some of them show one that is not in the list.
    fn met(&self, space: &Space, states: &Region) -> (Vec<(usize, Region)>, bool) {
        let (mut met, mut unlisted) = (Vec::new(), false);
        let mut left = states.clone();
        while let Some(state) = space.first(&left) {
            let at = self.of(space, &state);
            let light = at.and_then(|at| Some((at, &self.list.get(at)?.region)));
            let (at, region) = light.map_or((None, &self.rest), |(at, region)| (Some(at), region));
            let here = space.and(&left, region);
            if here.is_empty() {
                break;
            }
            left = space.minus(&left, region);
            unlisted |= at.is_none();
            met.extend(at.map(|at| (at, here)));
        }
        met.sort_unstable_by_key(|(at, _)| *at);
        (met, unlisted)
    }
}

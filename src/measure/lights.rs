//! Distinct lights: the states of the controller, parted by what all heads show together.
//!
//! Heads that change in the same states are looked at once. The lights are found one after the other, each from the
//! first state that belongs to none of those found, so they stand in the order of their first states: rest positions
//! first.

use std::cell::OnceCell;
use std::collections::HashMap;

use super::conduct::Part;
use super::{Conduct, Override, Shown};
use crate::logic::{Region, Space};

/// More distinct lights than this are not gone through.
pub const MOST_LIGHTS: usize = 4096;

/// One distinct light, and every state that shows it.
#[derive(Clone, Debug)]
pub struct Light<'a> {
    /// The states.
    pub region: Region,
    /// For each head of the package what it shows; none where it is dark.
    pub shown: Vec<Option<Shown<'a>>>,
}

/// All distinct lights of a vehicle.
#[derive(Debug)]
pub struct Lights<'a> {
    /// In the order of their first states.
    pub list: Vec<Light<'a>>,
    /// States of lights that are not in the list, since there are more than [`MOST_LIGHTS`].
    pub rest: Region,
    splits: Vec<Split<'a>>,
    known: HashMap<Vec<usize>, usize>,
}

/// How some heads part the states, all in the same way.
#[derive(Debug)]
struct Split<'a> {
    /// The parts; together they are all states.
    parts: Vec<Region>,
    /// Each head with what it shows in each part.
    heads: Vec<(usize, Vec<Option<Shown<'a>>>)>,
}

impl<'a> Lights<'a> {
    /// Finds them, at most `most`.
    pub fn new(conduct: &Conduct<'a>, most: usize) -> Self {
        Self::among(conduct, |_| true, most)
    }

    /// The lights of some of the heads alone; the others are taken to be dark.
    pub fn among(conduct: &Conduct<'a>, some: impl Fn(usize) -> bool, most: usize) -> Self {
        let space = conduct.space();
        let splits = splits(conduct, some);
        let (mut list, mut known) = (Vec::new(), HashMap::new());
        let mut rest = space.allowed().clone();
        while list.len() < most && !space.is_tangled() {
            let Some(state) = space.first(&rest) else { break };
            let key = key(space, &splits, &space.state(&state));
            let parts = || splits.iter().zip(&key);
            let regions = parts().filter_map(|(split, part)| split.parts.get(*part));
            let region = regions.fold(space.allowed().clone(), |met, part| space.and(&met, part));
            let mut shown = vec![None; conduct.heads.len()];
            for (split, part) in parts() {
                for (head, shows) in &split.heads {
                    let of_head = shows.get(*part).copied().flatten();
                    shown.iter_mut().skip(*head).take(1).for_each(|shown| *shown = of_head);
                }
            }
            rest = space.minus(&rest, &region);
            known.insert(key, list.len());
            list.push(Light { region, shown });
        }
        Self { list, rest, splits, known }
    }

    /// The place in the list of the light that a state shows.
    pub fn of(&self, space: &Space, state: &[usize]) -> Option<usize> {
        self.known.get(&key(space, &self.splits, &space.state(state))).copied()
    }
}

impl<'a> Conduct<'a> {
    /// The vehicle in some of its states only; less of it has to be looked at.
    pub fn within(&self, states: &Region) -> Self {
        let space = self.space();
        let narrowed = |region: &Region| Some(space.and(region, states)).filter(|region| !region.is_empty());
        let of_head = |parts: &Vec<Part<'a>>| {
            parts.iter().filter_map(|(region, shown)| Some((narrowed(region)?, *shown))).collect()
        };
        let of_override = |one: &Override| Some(Override { region: narrowed(&one.region)?, ..one.clone() });
        Self {
            package: self.package,
            heads: self.heads.iter().map(of_head).collect(),
            overrides: self.overrides.iter().filter_map(of_override).collect(),
            modes: self.modes.iter().map(|region| space.and(region, states)).collect(),
            bodies: self.bodies.clone(),
            never_seen: self.never_seen.clone(),
            rows: self.rows.clone(),
            power: OnceCell::new(),
            sounds: OnceCell::new(),
        }
    }
}

impl Light<'_> {
    /// Heads that show something else, or nothing, in another light.
    pub fn differs(&self, other: &Self) -> Vec<usize> {
        let pairs = self.shown.iter().zip(&other.shown).enumerate();
        pairs.filter(|(_, (one, other))| !alike(one.as_ref(), other.as_ref())).map(|(head, _)| head).collect()
    }
}

/// The part of each split in which a state lies.
fn key(space: &Space, splits: &[Split<'_>], state: &Region) -> Vec<usize> {
    let part = |split: &Split<'_>| split.parts.iter().position(|part| space.meet(part, state));
    splits.iter().map(|split| part(split).unwrap_or(split.parts.len())).collect()
}

fn alike(one: Option<&Shown<'_>>, other: Option<&Shown<'_>>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => one.looks_like(other),
        (None, None) => true,
        _ => false,
    }
}

/// The states parted by what each head shows, whichever display it has it from.
fn splits<'a>(conduct: &Conduct<'a>, some: impl Fn(usize) -> bool) -> Vec<Split<'a>> {
    let space = conduct.space();
    let mut splits: Vec<Split<'a>> = Vec::new();
    let mut known: HashMap<Vec<Region>, usize> = HashMap::new();
    for (head, parts) in conduct.heads.iter().enumerate().filter(|(head, _)| some(*head)) {
        let (mut regions, mut shows): (Vec<Region>, Vec<Option<Shown<'a>>>) = (Vec::new(), Vec::new());
        for (region, shown) in parts {
            let same = shows.iter().position(|known| alike(known.as_ref(), shown.as_ref()));
            match same.and_then(|at| regions.get_mut(at)) {
                Some(known) => *known = space.or(known, region),
                None => {
                    regions.push(region.clone());
                    shows.push(*shown);
                }
            }
        }
        let next = splits.len();
        let at = *known.entry(regions.clone()).or_insert(next);
        match splits.get_mut(at) {
            Some(split) => split.heads.push((head, shows)),
            None => splits.push(Split { parts: regions, heads: vec![(head, shows)] }),
        }
    }
    splits
}

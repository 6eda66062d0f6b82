//! The heads that can change the answer to a question, grouped by the states in which they are lit so or so.

use std::cell::RefCell;
use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::light::Asked;
use super::question::{Group, Light};
use crate::logic::{Region, Space};
use crate::measure::{Boundary, LitHead, Look, Protocol};

/// The light in the states of one mode.
pub(super) struct InMode<'a> {
    pub states: Region,
    looks: Looked<'a>,
    /// The looks that those tell apart who look from one zone only.
    zones: RefCell<FxHashMap<Option<usize>, Rc<Looked<'a>>>>,
    numbered: RefCell<Numbered>,
}

/// For each head the ways in which it is lit.
type Looked<'a> = Vec<Vec<Way<'a>>>;

/// One head or several that are lit so or so in the same states: a list for each way.
type Members<'a> = Vec<Light<'a>>;

/// A way in which a head is lit, with the number of the states that show it.
struct Way<'a> {
    states: usize,
    lit: Rc<LitHead<'a>>,
}

/// Sets of states, equal ones under one number, and what was made of them.
#[derive(Default)]
struct Numbered {
    regions: Vec<Region>,
    numbers: FxHashMap<Region, usize>,
    /// All states of some.
    unions: FxHashMap<Vec<usize>, usize>,
    /// What is left of the mode's states without those of some.
    rests: FxHashMap<Vec<usize>, Region>,
}

impl Numbered {
    fn number(&mut self, region: Region) -> usize {
        let next = self.regions.len();
        let number = *self.numbers.entry(region.clone()).or_insert(next);
        if number == next {
            self.regions.push(region);
        }
        number
    }

    fn region(&self, space: &Space, number: usize) -> Region {
        self.regions.get(number).cloned().unwrap_or(space.none())
    }

    fn union(&mut self, space: &Space, first: usize, mut numbers: Vec<usize>) -> usize {
        numbers.insert(0, first);
        if let Some(known) = self.unions.get(&numbers) {
            return *known;
        }
        let all = numbers.iter().fold(space.none(), |all, number| space.or(&all, &self.region(space, *number)));
        let number = self.number(all);
        self.unions.insert(numbers, number);
        number
    }

    fn rest(&mut self, space: &Space, states: &Region, numbers: &[usize]) -> Region {
        if let Some(known) = self.rests.get(numbers) {
            return known.clone();
        }
        let without = |rest: Region, number: &usize| space.minus(&rest, &self.region(space, *number));
        let rest = numbers.iter().fold(states.clone(), without);
        self.rests.insert(numbers.to_vec(), rest.clone());
        rest
    }

    /// One way instead of several that are alike, in the states of them all.
    fn merged<'m, 'a>(
        &mut self,
        space: &Space,
        ways: impl Iterator<Item = &'m Way<'a>>,
        are_alike: impl Fn(&LitHead<'a>, &LitHead<'a>) -> bool,
    ) -> Vec<Way<'a>>
    where
        'a: 'm,
    {
        // Most ways are like no other.
        let mut merged: Vec<(&Way<'a>, Vec<usize>)> = Vec::new();
        for way in ways {
            match merged.iter_mut().find(|(first, _)| are_alike(&first.lit, &way.lit)) {
                Some((_, others)) => others.push(way.states),
                None => merged.push((way, Vec::new())),
            }
        }
        let one = |(first, others): (&Way<'a>, Vec<usize>)| {
            let states = if others.is_empty() { first.states } else { self.union(space, first.states, others) };
            Way { states, lit: first.lit.clone() }
        };
        merged.into_iter().map(one).collect()
    }
}

impl<'a> InMode<'a> {
    /// The looks that occur in some states.
    pub fn new(space: &Space, states: Region, looks: &[Vec<Look<'a>>]) -> Self {
        let mut numbered = Numbered::default();
        let mut met: FxHashMap<&Region, Option<usize>> = FxHashMap::default();
        let mut heads = Vec::new();
        for looks in looks {
            let mut here = Vec::new();
            for look in looks {
                let number = *met.entry(&look.region).or_insert_with(|| {
                    let region = space.and(&look.region, &states);
                    (!region.is_empty()).then(|| numbered.number(region))
                });
                here.extend(number.map(|states| Way { states, lit: look.lit.clone() }));
            }
            heads.push(here);
        }
        Self { states, looks: heads, zones: RefCell::default(), numbered: RefCell::new(numbered) }
    }

    /// How many heads the vehicle has.
    pub fn heads(&self) -> usize {
        self.looks.len()
    }

    /// Heads that can change the answer, by the states in which they are lit so or so.
    pub fn groups(&self, space: &Space, asked: &Asked<'_, 'a>, heads: &[usize]) -> Vec<Group<'a>> {
        let looks = self.seen_from(space, asked.zone(), asked.protocol);
        let mut numbered = self.numbered.borrow_mut();
        let mut groups: Vec<(Vec<usize>, Members<'a>)> = Vec::new();
        for looks in heads.iter().filter_map(|head| looks.get(*head)) {
            let heeded = looks.iter().filter(|way| asked.heeds(&way.lit));
            let ways = numbered.merged(space, heeded, |one, other| asked.are_alike(one, other));
            if ways.is_empty() {
                continue;
            }
            let states: Vec<usize> = ways.iter().map(|way| way.states).collect();
            let lit = ways.into_iter().map(|way| way.lit);
            match groups.iter_mut().find(|(known, _)| *known == states) {
                Some((_, members)) => members.iter_mut().zip(lit).for_each(|(members, lit)| members.push(lit)),
                None => groups.push((states, lit.map(|lit| vec![lit]).collect())),
            }
        }
        let group = |(states, members): (Vec<usize>, Members<'a>)| {
            let dark = numbered.rest(space, &self.states, &states);
            let regions = states.iter().map(|number| numbered.region(space, *number));
            Group { ways: regions.zip(members).collect(), dark }
        };
        groups.into_iter().map(group).collect()
    }

    /// What those tell apart who look from one zone only.
    fn seen_from(&self, space: &Space, zone: Option<usize>, protocol: &Protocol) -> Rc<Looked<'a>> {
        if let Some(known) = self.zones.borrow().get(&zone) {
            return known.clone();
        }
        let sector = zone.and_then(|zone| protocol.zones.sectors.get(zone));
        let all: Vec<usize> = (0..protocol.zones.bearings.len()).collect();
        let bearings = sector.map_or(all.as_slice(), |sector| sector.points(Boundary::Both));
        let mut numbered = self.numbered.borrow_mut();
        let mut of_head =
            |looks: &Vec<Way<'a>>| numbered.merged(space, looks.iter(), |one, other| one.is_seen_as(other, bearings));
        let looks: Rc<Looked<'a>> = Rc::new(self.looks.iter().map(&mut of_head).collect());
        self.zones.borrow_mut().insert(zone, looks.clone());
        looks
    }
}

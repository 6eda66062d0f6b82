//! One question - one rule at one place in one mode - asked of every state without going through the states.
//!
//! Heads that can change the answer are grouped by the states in which they are lit so or so. Where one more lit head
//! can only raise (or only lower) a value, the light with as few (or as many) heads as the states left allow is no
//! better than any of them: when such a state exists it is the worst, and when it does not, a set of states whose
//! bound is no worse than what was found already needs no further look.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

use super::readings::is_worse;
use super::{Finding, Verdict};
use crate::logic::{Region, Space};
use crate::measure::LitHead;

/// More different lights than this are not gone through where nothing is known of the way a quantity goes.
const MOST_LIGHTS: usize = 4096;

/// Which end of the light is the unfavourable one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Worst {
    /// Few heads.
    Fewest,
    /// Many heads.
    Most,
    /// It is not known; every light has to be looked at.
    Any,
}

/// Heads that are lit so or so in the same states.
pub(super) struct Group<'a> {
    /// The ways, each with its states and the heads lit then.
    pub ways: Vec<(Region, Vec<Rc<LitHead<'a>>>)>,
    /// The states in which all are dark, as far as the question goes.
    pub dark: Region,
}

/// Which of its ways a group is in: none where it is dark, several only in a bound that no state shows.
type Pick = Vec<usize>;

/// The question.
pub(super) struct Question<'q, 'a> {
    pub space: &'q Space,
    pub groups: Vec<Group<'a>>,
    pub worst: Worst,
    pub judge: &'q dyn Fn(Vec<Rc<LitHead<'a>>>) -> Option<Finding>,
    known: RefCell<HashMap<Vec<Pick>, Option<Rc<Finding>>>>,
}

/// The worst finding, and the states in which the light that matters is as there.
pub(super) type Found = Option<(Rc<Finding>, Region)>;

/// Why a look through the states ended early.
#[derive(Debug)]
pub(super) struct TooMany;

impl<'q, 'a> Question<'q, 'a> {
    pub fn new(
        space: &'q Space,
        groups: Vec<Group<'a>>,
        worst: Worst,
        judge: &'q dyn Fn(Vec<Rc<LitHead<'a>>>) -> Option<Finding>,
    ) -> Self {
        Self { space, groups, worst, judge, known: RefCell::new(HashMap::new()) }
    }

    /// The worst finding over some states.
    pub fn worst_in(&self, states: &Region) -> Result<Found, TooMany> {
        let mut best = None;
        self.search(states.clone(), &mut best)?;
        Ok(best)
    }

    fn search(&self, states: Region, best: &mut Found) -> Result<(), TooMany> {
        let possible = self.possible(&states);
        let (light, unsure) = self.extreme(&possible, self.worst);
        let in_the_way = match unsure {
            Some(at) => at,
            None => match self.settle(&states, &possible, &light) {
                Ok(settled) => {
                    let found = self.light(&light)?;
                    if let Some(found) = found
                        && best.as_ref().is_none_or(|(known, _)| is_worse(&found, known))
                    {
                        *best = Some((found, settled));
                    }
                    return Ok(());
                }
                Err(at) => at,
            },
        };
        if self.worst != Worst::Any {
            // The bound is a light that no state shows; nothing in these states is worse.
            let bound = self.light(&light)?;
            if let (Some(bound), Some((known, _))) = (&bound, best.as_ref())
                && !is_worse(bound, known)
            {
                return Ok(());
            }
        }
        // The pick of the bound first: what is promising narrows the rest.
        let picks = possible.get(in_the_way).map_or(&[][..], Vec::as_slice);
        let first = light.get(in_the_way).filter(|pick| picks.contains(pick));
        let order = first.into_iter().chain(picks.iter().filter(|pick| Some(*pick) != first));
        for pick in order {
            let part = self.space.and(&states, self.region(in_the_way, pick));
            if !part.is_empty() {
                self.search(part, best)?;
            }
        }
        Ok(())
    }

    /// The states in which a finding of this verdict comes out, given that none is worse.
    pub fn showing(&self, states: &Region, verdict: Verdict) -> Result<Region, TooMany> {
        let possible = self.possible(states);
        // A bound may be worse than any state, and still no state is.
        let shows = |found: Option<Rc<Finding>>| found.is_some_and(|found| found.verdict >= verdict);
        let (worst, unsure) = self.extreme(&possible, self.worst);
        let Some(several) = possible.iter().position(|picks| picks.len() > 1) else {
            return Ok(if shows(self.light(&worst)?) { states.clone() } else { self.space.none() });
        };
        if self.worst != Worst::Any {
            if !shows(self.light(&worst)?) {
                return Ok(self.space.none());
            }
            let other = if self.worst == Worst::Fewest { Worst::Most } else { Worst::Fewest };
            if shows(self.light(&self.extreme(&possible, other).0)?) {
                return Ok(states.clone());
            }
        }
        let in_the_way = unsure.or_else(|| self.settle(states, &possible, &worst).err()).unwrap_or(several);
        let mut all = self.space.none();
        for pick in possible.get(in_the_way).into_iter().flatten() {
            let part = self.space.and(states, self.region(in_the_way, pick));
            if !part.is_empty() {
                all = self.space.or(&all, &self.showing(&part, verdict)?);
            }
        }
        Ok(all)
    }

    fn region(&self, group: usize, pick: &[usize]) -> &Region {
        let group = self.groups.get(group);
        let region = match pick.first() {
            Some(way) => group.and_then(|group| group.ways.get(*way)).map(|(region, _)| region),
            None => group.map(|group| &group.dark),
        };
        region.unwrap_or(self.space.allowed())
    }

    /// What each group can be in some states.
    fn possible(&self, states: &Region) -> Vec<Vec<Pick>> {
        let of_group = |(at, group): (usize, &Group<'a>)| {
            let picks = (0..group.ways.len()).map(|way| vec![way]).chain([Vec::new()]);
            picks.filter(|pick| self.space.meet(states, self.region(at, pick))).collect()
        };
        self.groups.iter().enumerate().map(of_group).collect()
    }

    /// The light with the fewest or the most heads, and a group of which that is not a light but a bound: several ways
    /// together give more than each, and none of them less.
    fn extreme(&self, possible: &[Vec<Pick>], end: Worst) -> (Vec<Pick>, Option<usize>) {
        let (mut light, mut unsure) = (Vec::new(), None);
        for (at, picks) in possible.iter().enumerate() {
            let lit: Vec<usize> = picks.iter().flatten().copied().collect();
            let dark = picks.len() > lit.len();
            let (pick, sure) = match (end, picks.as_slice()) {
                (_, [only]) => (only.clone(), true),
                (Worst::Fewest, _) => (Vec::new(), dark),
                (Worst::Most, _) => (lit.clone(), lit.len() == 1),
                (Worst::Any, _) => (Vec::new(), false),
            };
            light.push(pick);
            unsure = unsure.or((!sure).then_some(at));
        }
        (light, unsure)
    }

    /// The states that show just this light; a group that stands in the way.
    fn settle(&self, states: &Region, possible: &[Vec<Pick>], light: &[Pick]) -> Result<Region, usize> {
        let mut settled = states.clone();
        for (at, pick) in light.iter().enumerate() {
            if possible.get(at).is_some_and(|picks| picks.len() > 1) {
                settled = self.space.and(&settled, self.region(at, pick));
                if settled.is_empty() {
                    return Err(at);
                }
            }
        }
        Ok(settled)
    }

    /// What comes out for one light; each is judged once.
    fn light(&self, picks: &[Pick]) -> Result<Option<Rc<Finding>>, TooMany> {
        if let Some(known) = self.known.borrow().get(picks) {
            return Ok(known.clone());
        }
        if self.known.borrow().len() >= MOST_LIGHTS || self.space.is_tangled() {
            return Err(TooMany);
        }
        let picked =
            picks.iter().zip(&self.groups).flat_map(|(pick, group)| pick.iter().map(|way| group.ways.get(*way)));
        let mut heads: Vec<Rc<LitHead<'a>>> = picked.flatten().flat_map(|(_, heads)| heads.iter().cloned()).collect();
        heads.sort_by_key(|lit| lit.index);
        let found = (self.judge)(heads).map(Rc::new);
        self.known.borrow_mut().insert(picks.to_vec(), found.clone());
        Ok(found)
    }
}

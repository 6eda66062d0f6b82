//! One question - one rule at one place in one mode - asked of every state without going through the states.
//!
//! Heads that can change the answer are grouped by the states in which they are lit so or so. Where one more lit head
//! can only raise (or only lower) a value, the light with as few (or as many) heads as the states left allow is no
//! better than any of them: when such a state exists it is the worst, and when it does not, a set of states whose
//! bound is no worse than what was found already needs no further look.

use std::cell::RefCell;
use std::cmp::Ordering;
use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::light::Answer;
use super::readings::Rank;
use crate::logic::{Region, Space};
use crate::measure::LitHead;
use crate::quantity::in_all;

/// To judge a light takes about as long as to visit this many nodes of diagrams.
const NODES_A_LIGHT: usize = 1 << 8;

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

/// Lit heads, in the order of the package.
pub(super) type Light<'a> = Vec<Rc<LitHead<'a>>>;

/// What is asked of a light.
pub(super) struct Judge<'q, 'a> {
    /// What comes out for it.
    pub answer: &'q dyn Fn(Light<'a>) -> Answer,
    /// How two ways in which a head is lit compare: `Less` is to the light as one head less.
    pub compare: &'q dyn Fn(&LitHead<'a>, &LitHead<'a>) -> Option<Ordering>,
    /// No light is worse than this.
    pub floor: Option<Rank>,
}

/// The question.
pub(super) struct Question<'q, 'a> {
    space: &'q Space,
    pub groups: Vec<Group<'a>>,
    worst: Worst,
    judge: Judge<'q, 'a>,
    known: RefCell<FxHashMap<Vec<usize>, Rc<Answer>>>,
    /// How two ways of a group compare: every part of the states asks it again.
    orders: RefCell<FxHashMap<(usize, usize, usize), Option<Ordering>>>,
    began: usize,
    most: usize,
}

/// What a group is taken to be in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pick {
    Dark,
    Way(usize),
    /// All the ways that are left at once: a bound that no state shows.
    Every,
}

/// Some of the states, and for each group what it can be in there.
struct Part {
    states: Region,
    left: Vec<Vec<Pick>>,
}

/// What every group is taken to be in, and the first of which that is a bound: several ways together give more than
/// each, and none of them less.
struct Extreme {
    picks: Vec<Pick>,
    unsure: Option<usize>,
}

/// The worst of the lights looked at, and the states that show it.
pub(super) struct Found {
    pub rank: Rank,
    pub answer: Rc<Answer>,
    pub states: Region,
}

/// More than is looked at; where a light is known to fail, others may be worse.
pub(super) struct TooMany {
    pub known: Option<Found>,
}

impl<'q, 'a> Question<'q, 'a> {
    /// A question that may take as long as it takes to visit `most` nodes of diagrams.
    pub fn new(space: &'q Space, groups: Vec<Group<'a>>, worst: Worst, judge: Judge<'q, 'a>, most: usize) -> Self {
        let (known, orders) = (RefCell::default(), RefCell::default());
        Self { space, groups, worst, judge, known, orders, began: space.work(), most }
    }

    /// How long it took so far.
    pub fn took(&self) -> usize {
        self.space.work().saturating_sub(self.began) + NODES_A_LIGHT * self.known.borrow().len()
    }

    /// The worst light over some states: all of the mode, of which each group's are a part.
    pub fn worst_in(&self, states: &Region) -> Result<Option<Found>, TooMany> {
        let mut worst: Option<Found> = None;
        let mut open = vec![self.whole(states)];
        let at_floor = |worst: &Option<Found>| match (self.judge.floor, worst) {
            (Some(floor), Some(known)) => !floor.is_worse_than(known.rank),
            _ => false,
        };
        while let Some(part) = open.pop()
            && !at_floor(&worst)
        {
            let Some(in_the_way) = self.look(&part, &mut worst) else { continue };
            if self.took() > self.most {
                return Err(TooMany { known: worst });
            }
            // The pick of the bound first: what is promising narrows the rest.
            let first = self.extreme(&part.left, self.worst).picks.get(in_the_way).copied();
            let mut picks = part.left.get(in_the_way).cloned().unwrap_or_default();
            picks.sort_by_key(|pick| Some(*pick) != first);
            open.extend(picks.iter().rev().filter_map(|pick| self.narrowed(&part, in_the_way, *pick)));
        }
        // Sets of states are empty then, and nothing was looked at.
        if self.space.is_tangled() { Err(TooMany { known: worst }) } else { Ok(worst) }
    }

    /// Compares the light at the unfavourable end with the best known; the group by which to part the states where that
    /// does not settle them.
    fn look(&self, part: &Part, worst: &mut Option<Found>) -> Option<usize> {
        let Extreme { picks, unsure } = self.extreme(&part.left, self.worst);
        let settled = unsure.map_or_else(|| self.settle(part, &picks), Err);
        if settled.is_err() && self.worst == Worst::Any {
            return settled.err();
        }
        let light = self.light(part, &picks);
        let answer = self.answer(light);
        let is_worse = match (answer.rank, worst.as_ref()) {
            (Some(rank), Some(known)) => rank.is_worse_than(known.rank),
            _ => true,
        };
        match (settled, answer.rank) {
            // A bound is a light that no state shows; nothing in these states is worse.
            (Err(at), _) => is_worse.then_some(at),
            (Ok(states), Some(rank)) if is_worse => {
                *worst = Some(Found { rank, answer, states });
                None
            }
            (Ok(_), _) => None,
        }
    }

    /// The states in which what comes out is as bad as this or worse; none where that is more than is looked at.
    pub fn showing(&self, states: &Region, floor: Rank) -> Option<Region> {
        let shows = |part: &Part, picks: &[Pick]| {
            self.answer(self.light(part, picks)).rank.is_some_and(|rank| !floor.is_worse_than(rank))
        };
        let other_end = match self.worst {
            Worst::Fewest => Worst::Most,
            Worst::Most => Worst::Fewest,
            Worst::Any => Worst::Any,
        };
        let mut all = self.space.none();
        let mut open = vec![self.whole(states)];
        let most = self.took() + self.most / 8;
        while let Some(part) = open.pop() {
            let Extreme { picks, unsure } = self.extreme(&part.left, self.worst);
            let several = part.left.iter().position(|picks| picks.len() > 1);
            let has_ends = several.is_none() || self.worst != Worst::Any;
            if has_ends && !shows(&part, &picks) {
                continue;
            }
            match several {
                Some(several) if !has_ends || !shows(&part, &self.extreme(&part.left, other_end).picks) => {
                    if self.took() > most {
                        return None;
                    }
                    let in_the_way = unsure.or_else(|| self.settle(&part, &picks).err()).unwrap_or(several);
                    let picks = part.left.get(in_the_way).map_or(&[][..], Vec::as_slice);
                    open.extend(picks.iter().filter_map(|pick| self.narrowed(&part, in_the_way, *pick)));
                }
                _ => all = self.space.or(&all, &part.states),
            }
        }
        (!self.space.is_tangled()).then_some(all)
    }

    /// All states there are; every way of a group occurs in some.
    fn whole(&self, states: &Region) -> Part {
        let of_group = |group: &Group<'a>| {
            let dark = (!group.dark.is_empty()).then_some(Pick::Dark);
            (0..group.ways.len()).map(Pick::Way).chain(dark).collect()
        };
        Part { states: states.clone(), left: self.groups.iter().map(of_group).collect() }
    }

    /// The states of a part in which a group is in this; none where that cannot be.
    fn narrowed(&self, part: &Part, group: usize, pick: Pick) -> Option<Part> {
        let states = self.space.and(&part.states, self.region(group, pick));
        if states.is_empty() {
            return None;
        }
        let left = part.left.iter().enumerate().map(|(at, picks)| match picks.as_slice() {
            _ if at == group => vec![pick],
            [_] => picks.clone(),
            _ => picks.iter().copied().filter(|pick| self.space.meet(&states, self.region(at, *pick))).collect(),
        });
        let left = left.collect();
        Some(Part { states, left })
    }

    /// The states in which a group is in this.
    fn region(&self, group: usize, pick: Pick) -> &Region {
        let group = self.groups.get(group);
        let region = match pick {
            Pick::Dark => group.map(|group| &group.dark),
            Pick::Way(way) => group.and_then(|group| group.ways.get(way)).map(|(region, _)| region),
            Pick::Every => None,
        };
        region.unwrap_or(self.space.allowed())
    }

    /// The light at one end.
    fn extreme(&self, left: &[Vec<Pick>], end: Worst) -> Extreme {
        let mut extreme = Extreme { picks: Vec::with_capacity(left.len()), unsure: None };
        for (at, picks) in left.iter().enumerate() {
            let (pick, sure) = match (end, picks.as_slice()) {
                (_, [only]) => (*only, true),
                (Worst::Fewest, [.., Pick::Dark]) => (Pick::Dark, true),
                (Worst::Fewest, _) => {
                    self.at_end(at, picks, Ordering::Less).map_or((Pick::Dark, false), |least| (least, true))
                }
                (Worst::Most, _) => {
                    self.at_end(at, picks, Ordering::Greater).map_or((Pick::Every, false), |most| (most, true))
                }
                (Worst::Any, _) => (Pick::Dark, false),
            };
            extreme.picks.push(pick);
            extreme.unsure = extreme.unsure.or((!sure).then_some(at));
        }
        extreme
    }

    /// The one that stands at an end of them all (`Less` for the one that does least), if there is one.
    fn at_end(&self, group: usize, picks: &[Pick], end: Ordering) -> Option<Pick> {
        let stands = |one: Pick, other: Pick| {
            self.compare(group, one, other).is_some_and(|order| order == end || order == Ordering::Equal)
        };
        let first = picks.iter().copied().reduce(|known, next| if stands(known, next) { known } else { next })?;
        picks.iter().all(|pick| stands(first, *pick)).then_some(first)
    }

    fn compare(&self, group: usize, one: Pick, other: Pick) -> Option<Ordering> {
        let ways = self.groups.get(group).map_or(&[][..], |group| group.ways.as_slice());
        let lit = |way: usize| ways.get(way).map_or(&[][..], |(_, lit)| lit.as_slice());
        match (one, other) {
            (one, other) if one == other => Some(Ordering::Equal),
            (Pick::Dark, Pick::Way(_)) => Some(Ordering::Less),
            (Pick::Way(_), Pick::Dark) => Some(Ordering::Greater),
            (Pick::Way(one), Pick::Way(other)) => {
                let order =
                    || in_all(lit(one).iter().zip(lit(other)).map(|(one, other)| (self.judge.compare)(one, other)));
                *self.orders.borrow_mut().entry((group, one, other)).or_insert_with(order)
            }
            _ => None,
        }
    }

    /// The states that show just this light; a group that stands in the way.
    fn settle(&self, part: &Part, picks: &[Pick]) -> Result<Region, usize> {
        let mut settled = part.states.clone();
        for (at, (pick, left)) in picks.iter().zip(&part.left).enumerate() {
            if left.len() > 1 {
                settled = self.space.and(&settled, self.region(at, *pick));
                if settled.is_empty() {
                    return Err(at);
                }
            }
        }
        Ok(settled)
    }

    fn light(&self, part: &Part, picks: &[Pick]) -> Light<'a> {
        let mut light: Light<'a> = Vec::new();
        for ((pick, left), group) in picks.iter().zip(&part.left).zip(&self.groups) {
            let picked = if *pick == Pick::Every { left.as_slice() } else { std::slice::from_ref(pick) };
            for pick in picked {
                if let Pick::Way(way) = pick {
                    light.extend(group.ways.get(*way).into_iter().flat_map(|(_, heads)| heads).cloned());
                }
            }
        }
        light.sort_by_key(|lit| lit.index);
        light
    }

    /// What comes out for a light; each is asked about once.
    fn answer(&self, light: Light<'a>) -> Rc<Answer> {
        let key: Vec<usize> = light.iter().map(|lit| lit.number).collect();
        if let Some(known) = self.known.borrow().get(&key) {
            return known.clone();
        }
        let answer = Rc::new((self.judge.answer)(light));
        self.known.borrow_mut().insert(key, answer.clone());
        answer
    }
}

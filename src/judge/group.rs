//! The heads that can change the answer to a question, grouped by the states in which they are lit so or so.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

use super::light::Asked;
use super::question::Group;
use crate::logic::{Region, Space};
use crate::measure::{LitHead, Look};

/// The light in the states of one mode.
pub(super) struct InMode<'a> {
    pub states: Region,
    /// For each head its looks there, with the numbers of their states.
    heads: Vec<Vec<(usize, Rc<LitHead<'a>>)>>,
    numbered: RefCell<Numbered>,
}

/// Sets of states, equal ones under one number, and what was made of them.
#[derive(Default)]
struct Numbered {
    regions: Vec<Region>,
    numbers: HashMap<Region, usize>,
    /// All states of some.
    unions: HashMap<Vec<usize>, usize>,
    /// What is left of the mode's states without those of some.
    rests: HashMap<Vec<usize>, Region>,
}

/// A way in which a head is lit, as far as a question can tell, with the numbers of the states that show it.
struct Way<'m, 'a> {
    numbers: Vec<usize>,
    lit: &'m Rc<LitHead<'a>>,
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

    fn union(&mut self, space: &Space, numbers: Vec<usize>) -> usize {
        if let [only] = numbers.as_slice() {
            return *only;
        }
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
        let rest = numbers.iter().fold(states.clone(), |rest, number| space.minus(&rest, &self.region(space, *number)));
        self.rests.insert(numbers.to_vec(), rest.clone());
        rest
    }
}

impl<'a> InMode<'a> {
    /// The looks that occur in some states.
    pub fn new(space: &Space, states: Region, looks: &[Vec<Look<'a>>]) -> Self {
        let mut numbered = Numbered::default();
        let mut met: HashMap<&Region, Option<usize>> = HashMap::new();
        let mut heads = Vec::new();
        for looks in looks {
            let mut here = Vec::new();
            for look in looks {
                let number = *met.entry(&look.region).or_insert_with(|| {
                    let region = space.and(&look.region, &states);
                    (!region.is_empty()).then(|| numbered.number(region))
                });
                here.extend(number.map(|number| (number, look.lit.clone())));
            }
            heads.push(here);
        }
        Self { states, heads, numbered: RefCell::new(numbered) }
    }

    /// How many heads the vehicle has.
    pub fn heads(&self) -> usize {
        self.heads.len()
    }

    /// Heads that can change the answer, by the states in which they are lit so or so.
    pub fn groups(&self, space: &Space, asked: &Asked<'_, 'a>, heads: &[usize]) -> Vec<Group<'a>> {
        let mut numbered = self.numbered.borrow_mut();
        let mut groups: Vec<(Vec<usize>, Vec<Vec<Rc<LitHead<'a>>>>)> = Vec::new();
        for looks in heads.iter().filter_map(|head| self.heads.get(*head)) {
            let ways = ways(asked, looks);
            if ways.is_empty() {
                continue;
            }
            let (numbers, lit): (Vec<usize>, Vec<_>) =
                ways.into_iter().map(|way| (numbered.union(space, way.numbers), way.lit.clone())).unzip();
            match groups.iter_mut().find(|(known, _)| *known == numbers) {
                Some((_, members)) => members.iter_mut().zip(lit).for_each(|(members, lit)| members.push(lit)),
                None => groups.push((numbers, lit.into_iter().map(|lit| vec![lit]).collect())),
            }
        }
        let group = |(numbers, members): (Vec<usize>, Vec<Vec<Rc<LitHead<'a>>>>)| {
            let dark = numbered.rest(space, &self.states, &numbers);
            let regions = numbers.iter().map(|number| numbered.region(space, *number));
            Group { ways: regions.zip(members).collect(), dark }
        };
        groups.into_iter().map(group).collect()
    }
}

/// The ways of one head that the question can tell apart.
fn ways<'m, 'a>(asked: &Asked<'_, 'a>, looks: &'m [(usize, Rc<LitHead<'a>>)]) -> Vec<Way<'m, 'a>> {
    let mut ways: Vec<Way<'m, 'a>> = Vec::new();
    for (number, lit) in looks.iter().filter(|(_, lit)| asked.heeds(lit)) {
        match ways.iter_mut().find(|way| asked.are_alike(way.lit, lit)) {
            Some(way) => way.numbers.push(*number),
            None => ways.push(Way { numbers: vec![*number], lit }),
        }
    }
    ways
}

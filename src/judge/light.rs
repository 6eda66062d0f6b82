//! Questions on light: which heads can change the answer, grouped by the states in which they are lit, and the worst
//! finding over the states of a mode with its witness.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

use super::assemble::in_words;
use super::question::{Found, Group, Question, TooMany, Worst};
use super::{Finding, Verdict};
use crate::logic::Region;
use crate::measure::{LitHead, Looks, Protocol, Survey};
use crate::package::Grade;
use crate::quantity::{Ask, OneMore};
use crate::ruleset::{Require, Rule};

/// The light of a vehicle seen in one way, with what it has been asked already.
pub(super) struct Scene<'a> {
    looks: Looks<'a>,
    modes: RefCell<HashMap<usize, Rc<InMode<'a>>>>,
    words: RefCell<HashMap<Region, Option<String>>>,
}

/// The light in the states of one mode.
struct InMode<'a> {
    states: Region,
    /// For each head its looks there; states are numbered, equal ones alike.
    heads: Vec<Vec<(usize, Rc<LitHead<'a>>)>>,
    regions: Vec<Region>,
    /// What is left of the mode's states without those of some looks.
    rest: RefCell<HashMap<Vec<usize>, Region>>,
}

/// One question.
pub(super) struct Asked<'l, 'a> {
    pub rule: &'l Rule,
    pub one_more: OneMore,
    pub heeds: fn(&LitHead<'_>, &Ask<'_>, &Protocol) -> bool,
    pub ask: Ask<'l>,
    pub mode: usize,
    pub within: &'a Region,
    pub guarded: bool,
}

/// Heads of one group, one list a way of being lit.
type Members<'a> = Vec<Vec<Rc<LitHead<'a>>>>;

/// What comes out for the heads that are lit.
type Judge<'j, 'a> = dyn Fn(&Survey<'a>) -> Vec<Finding> + 'j;

impl<'a> Scene<'a> {
    pub fn new(looks: Looks<'a>) -> Self {
        Self { looks, modes: RefCell::default(), words: RefCell::default() }
    }

    /// The worst findings over the states of a mode: one, or for quantities found head by head one a head.
    pub fn ask(&self, asked: &Asked<'_, 'a>, judge: &Judge<'_, 'a>) -> Vec<Finding> {
        let Some(in_mode) = self.in_mode(asked.mode, asked.within) else { return Vec::new() };
        let worst = asked.worst();
        let of_heads = |heads: &[usize]| self.worst_of(asked, &in_mode, heads, worst, judge);
        if asked.rule.quantity.each_head {
            (0..in_mode.heads.len()).filter_map(|head| of_heads(&[head])).collect()
        } else {
            let all: Vec<usize> = (0..in_mode.heads.len()).collect();
            of_heads(&all).into_iter().collect()
        }
    }

    fn in_mode(&self, mode: usize, within: &Region) -> Option<Rc<InMode<'a>>> {
        if let Some(known) = self.modes.borrow().get(&mode) {
            return Some(known.clone());
        }
        let conduct = self.looks.conduct;
        let space = conduct.space();
        let states = space.and(conduct.modes.get(mode)?, within);
        if states.is_empty() {
            return None;
        }
        let mut met: HashMap<Region, Option<usize>> = HashMap::new();
        let mut numbers: HashMap<Region, usize> = HashMap::new();
        let mut regions: Vec<Region> = Vec::new();
        let mut heads = Vec::new();
        for looks in &self.looks.heads {
            let mut here = Vec::new();
            for look in looks {
                let number = *met.entry(look.region.clone()).or_insert_with(|| {
                    let region = space.and(&look.region, &states);
                    if region.is_empty() {
                        return None;
                    }
                    let next = regions.len();
                    let number = *numbers.entry(region.clone()).or_insert(next);
                    if number == next {
                        regions.push(region);
                    }
                    Some(number)
                });
                here.extend(number.map(|number| (number, look.lit.clone())));
            }
            heads.push(here);
        }
        let in_mode = Rc::new(InMode { states, heads, regions, rest: RefCell::default() });
        self.modes.borrow_mut().insert(mode, in_mode.clone());
        Some(in_mode)
    }

    fn worst_of(
        &self,
        asked: &Asked<'_, 'a>,
        in_mode: &InMode<'a>,
        heads: &[usize],
        worst: Worst,
        judge: &Judge<'_, 'a>,
    ) -> Option<Finding> {
        let groups = self.groups(asked, in_mode, heads);
        if asked.rule.quantity.each_head && groups.is_empty() {
            return None;
        }
        let judge_light = |lit: Vec<Rc<LitHead<'a>>>| judge(&self.looks.survey(lit)).into_iter().next();
        let space = self.looks.conduct.space();
        let question = Question::new(space, groups, worst, &judge_light);
        let found = question.worst_in(&in_mode.states);
        match found {
            Ok(found) => self.finish(found, &question, in_mode, judge),
            Err(TooMany) => {
                // Not a light that was looked at, but the place is the same.
                let mut finding = judge(&self.looks.survey(Vec::new())).into_iter().next()?;
                finding.verdict = Verdict::NotShown;
                finding.found = super::Found::Nothing;
                finding.margin = None;
                finding.notes = vec!["the inputs lead to more different lights here than are looked at".to_owned()];
                finding.would_show = Some("`assume` in the mode, or fewer inputs that act on these heads".to_owned());
                Some(finding)
            }
        }
    }

    /// Heads that can change the answer, by the states in which they are lit so or so.
    fn groups(&self, asked: &Asked<'_, 'a>, in_mode: &InMode<'a>, heads: &[usize]) -> Vec<Group<'a>> {
        let space = self.looks.conduct.space();
        let mut groups: Vec<(Vec<usize>, Members<'a>)> = Vec::new();
        for looks in heads.iter().filter_map(|head| in_mode.heads.get(*head)) {
            let mut ways: Vec<(usize, Rc<LitHead<'a>>)> = Vec::new();
            for (number, lit) in looks.iter().filter(|(_, lit)| (asked.heeds)(lit, &asked.ask, self.looks.protocol)) {
                ways.push((*number, lit.clone()));
            }
            if ways.is_empty() {
                continue;
            }
            let key: Vec<usize> = ways.iter().map(|(number, _)| *number).collect();
            let at = match groups.iter().position(|(known, _)| *known == key) {
                Some(at) => at,
                None => {
                    groups.push((key, vec![Vec::new(); ways.len()]));
                    groups.len() - 1
                }
            };
            if let Some((_, members)) = groups.get_mut(at) {
                members.iter_mut().zip(ways).for_each(|(members, (_, lit))| members.push(lit));
            }
        }
        let group = |(numbers, members): (Vec<usize>, Members<'a>)| {
            let mut rest = in_mode.rest.borrow_mut();
            let dark = rest.entry(numbers.clone()).or_insert_with(|| {
                let regions = numbers.iter().filter_map(|number| in_mode.regions.get(*number));
                regions.fold(in_mode.states.clone(), |rest, region| space.minus(&rest, region))
            });
            let regions = numbers.iter().filter_map(|number| in_mode.regions.get(*number)).cloned();
            Group { ways: regions.zip(members).collect(), dark: dark.clone() }
        };
        groups.into_iter().map(group).collect()
    }

    /// Adds the worst state and its witness, and the weakest evidence that a pass may rest on.
    fn finish(
        &self,
        found: Found,
        question: &Question<'_, 'a>,
        in_mode: &InMode<'a>,
        judge: &Judge<'_, 'a>,
    ) -> Option<Finding> {
        let (found, settled) = found?;
        let mut finding = (*found).clone();
        let conduct = self.looks.conduct;
        let space = conduct.space();
        let state = space.first(&settled);
        if let Some(trace) = &mut finding.trace {
            trace.state = state.clone();
        }
        if conduct.space().inputs().described {
            if finding.verdict == Verdict::Pass {
                finding.witness.state = self.words(&settled);
            } else if let (Some(state), Ok(showing)) = (&state, question.showing(&in_mode.states, finding.verdict)) {
                finding.witness.state = Some(space.words(&space.witness(&showing, state)));
                let worst = self.words(&settled).filter(|worst| Some(worst) != finding.witness.state.as_ref());
                if finding.verdict == Verdict::Fail {
                    finding.notes.extend(worst.map(|worst| format!("found with: {worst}")));
                    finding.notes.extend(self.broken_by(&showing, &in_mode.states));
                }
            }
        }
        if let (Verdict::Pass, Some(known)) = (finding.verdict, finding.evidence) {
            finding.evidence = Some(self.weakest(question, known, judge));
        }
        Some(finding)
    }

    /// A setting that leads to these states, in words.
    fn words(&self, states: &Region) -> Option<String> {
        if let Some(known) = self.words.borrow().get(states) {
            return known.clone();
        }
        let words = in_words(self.looks.conduct, states);
        self.words.borrow_mut().insert(states.clone(), words.clone());
        words
    }

    /// Which single change of an input leads from a state of the mode where the rule holds to one where it fails.
    fn broken_by(&self, failing: &Region, states: &Region) -> Option<String> {
        let space = self.looks.conduct.space();
        let holding = space.minus(states, failing);
        let mut changes = Vec::new();
        for (input, positions) in space.inputs().list.iter().map(|input| &input.positions).enumerate() {
            for (at, position) in positions.iter().enumerate() {
                if space.meet(&space.before(failing, input, at), &holding) {
                    changes.push(position.words.as_str());
                }
            }
        }
        (!changes.is_empty()).then(|| format!("a single change that breaks it: {}", changes.join(", or ")))
    }

    /// The weakest evidence of any light that the question looks at.
    fn weakest(&self, question: &Question<'_, 'a>, known: Grade, judge: &Judge<'_, 'a>) -> Grade {
        let lits = question.groups.iter().flat_map(|group| &group.ways).flat_map(|(_, lits)| lits);
        let mut weakest = known;
        for lit in lits {
            if lit.emitter.evidence.grade > weakest {
                let alone = judge(&self.looks.survey(vec![lit.clone()])).into_iter().next();
                weakest = weakest.max(alone.and_then(|finding| finding.evidence).unwrap_or(weakest));
            }
        }
        weakest
    }
}

impl Asked<'_, '_> {
    /// Which end of the light is the unfavourable one for this rule.
    fn worst(&self) -> Worst {
        // A head without a stated uncertainty leaves a sum without one, so more light is not always better there.
        if self.guarded || self.rule.quantity.each_head {
            return Worst::Any;
        }
        match (self.one_more, self.rule.require) {
            (OneMore::Raises, Require::AtLeast | Require::SomeOf) => Worst::Fewest,
            (OneMore::Raises, Require::AtMost | Require::Only | Require::NoneOf) => Worst::Most,
            (OneMore::Lowers, Require::AtLeast) => Worst::Most,
            (OneMore::Lowers, Require::AtMost) => Worst::Fewest,
            _ => Worst::Any,
        }
    }
}

//! Questions on light: the worst finding over the states of a mode, with its witness.

use std::cell::{Cell, RefCell};
use std::cmp::Ordering;
use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::group::InMode;
use super::question::{Found, Judge, Light, Question, TooMany, Worst};
use super::readings::Rank;
use super::{Finding, Verdict};
use crate::logic::Region;
use crate::measure::{Boundary, LitHead, Looks, Protocol, Survey};
use crate::package::Grade;
use crate::quantity::{Ask, Measured, OneMore, in_all};
use crate::ruleset::{Require, Rule, Strength};

/// The light of a vehicle seen in one way, with what it has been asked already.
pub(super) struct Scene<'a> {
    looks: Looks<'a>,
    modes: RefCell<FxHashMap<usize, Rc<InMode<'a>>>>,
    words: RefCell<FxHashMap<(Region, Vec<usize>), String>>,
    /// How long all questions may take from now on, as [`Question::took`] counts.
    left: Cell<usize>,
}

/// All questions on one scene together: a few seconds.
const MOST_WORK: usize = 1 << 25;
/// One question may take this part of what is left, so that those after it have their share, and always this much.
const SHARE: usize = 8;
const LEAST_WORK: usize = 1 << 14;

/// Compares two ways in which a head is lit.
type Compare = fn(&LitHead<'_>, &LitHead<'_>, &Ask<'_>, &Protocol) -> Option<Ordering>;

/// One question.
pub(super) struct Asked<'l, 'a> {
    pub rule: &'l Rule,
    pub one_more: OneMore,
    pub heeds: fn(&LitHead<'_>, &Ask<'_>, &Protocol) -> bool,
    pub compare: Compare,
    /// What is asked under each reading of the boundary points, the widest first.
    pub asks: &'l [Ask<'l>],
    pub protocol: &'l Protocol,
    pub mode: usize,
    pub within: &'a Region,
    pub guarded: bool,
    /// No light is worse than this.
    pub floor: Option<Rank>,
    /// What comes out with some heads lit.
    pub answer: &'l dyn Fn(&Survey<'a>) -> Answer,
    /// The findings of an answer.
    pub find: &'l dyn Fn(&Answer) -> Vec<Finding>,
}

/// What comes out for one light.
pub(super) struct Answer {
    /// How bad the one finding is that is made of it; none where there is nothing to judge.
    pub rank: Option<Rank>,
    /// What was measured under each reading.
    pub readings: Vec<(Boundary, Vec<Measured>)>,
}

impl<'a> Scene<'a> {
    pub fn new(looks: Looks<'a>) -> Self {
        Self { looks, modes: RefCell::default(), words: RefCell::default(), left: Cell::new(MOST_WORK) }
    }

    /// The worst findings over the states of a mode: one, or for quantities found head by head one a head.
    pub fn ask(&self, asked: &Asked<'_, 'a>) -> Vec<Finding> {
        let Some(in_mode) = self.in_mode(asked.mode, asked.within) else { return Vec::new() };
        let all: Vec<usize> = (0..in_mode.heads()).collect();
        let each = if asked.rule.quantity.each_head { 1 } else { all.len().max(1) };
        all.chunks(each).filter_map(|heads| self.worst_of(asked, &in_mode, heads)).collect()
    }

    fn in_mode(&self, mode: usize, within: &Region) -> Option<Rc<InMode<'a>>> {
        if let Some(known) = self.modes.borrow().get(&mode) {
            return Some(known.clone());
        }
        let conduct = self.looks.conduct;
        let states = conduct.space().and(conduct.modes.get(mode)?, within);
        if states.is_empty() {
            return None;
        }
        let in_mode = Rc::new(InMode::new(conduct.space(), states, &self.looks.heads));
        self.modes.borrow_mut().insert(mode, in_mode.clone());
        Some(in_mode)
    }

    fn worst_of(&self, asked: &Asked<'_, 'a>, in_mode: &InMode<'a>, heads: &[usize]) -> Option<Finding> {
        let space = self.looks.conduct.space();
        let groups = in_mode.groups(space, asked, heads);
        if asked.rule.quantity.each_head && groups.is_empty() {
            return None;
        }
        let answer = |light: Light<'a>| (asked.answer)(&self.looks.survey(light));
        let compare = |one: &LitHead<'a>, other: &LitHead<'a>| asked.compare(one, other);
        let judge = Judge { answer: &answer, compare: &compare, floor: asked.floor };
        let (began, left) = (space.work(), self.left.get());
        let question = Question::new(space, groups, asked.worst(), judge, left / SHARE + LEAST_WORK);
        let finding = self.settled(asked, &question, in_mode);
        self.left.set(left.saturating_sub(question.took()));
        space.forget_work(began);
        finding
    }

    fn settled(&self, asked: &Asked<'_, 'a>, question: &Question<'_, 'a>, in_mode: &InMode<'a>) -> Option<Finding> {
        match question.worst_in(&in_mode.states) {
            Ok(found) => self.finish(found?, asked, question, in_mode),
            Err(TooMany { known: Some(found) }) if found.rank.verdict == Verdict::Fail => {
                let mut finding = self.finish(found, asked, question, in_mode)?;
                finding.notes.push("not every light was looked at: another may be worse".to_owned());
                Some(finding)
            }
            Err(TooMany { .. }) => {
                // Not a light that was looked at, but the place is the same.
                let mut finding = self.found_with(Vec::new(), asked)?;
                finding.verdict = Verdict::NotShown;
                finding.found = super::Found::Nothing;
                finding.margin = None;
                finding.notes = vec!["the inputs lead to more different lights here than are looked at".to_owned()];
                finding.would_show = Some("`assume` in the mode, or fewer inputs that act on these heads".to_owned());
                Some(finding)
            }
        }
    }

    /// The finding with these heads lit.
    fn found_with(&self, light: Light<'a>, asked: &Asked<'_, 'a>) -> Option<Finding> {
        asked.found(&(asked.answer)(&self.looks.survey(light)))
    }

    /// Adds the worst state and its witness, and the weakest evidence that a pass may rest on.
    fn finish(
        &self,
        found: Found,
        asked: &Asked<'_, 'a>,
        question: &Question<'_, 'a>,
        in_mode: &InMode<'a>,
    ) -> Option<Finding> {
        let mut finding = asked.found(&found.answer)?;
        let space = self.looks.conduct.space();
        let state = space.first(&found.states)?;
        if space.inputs().described {
            // As little as is needed to see the verdict, and of what breaks a rule to see just what was found. For the
            // rest one state that shows it is enough: looking for the least of each takes longer than judging.
            let broken = finding.verdict == Verdict::Fail && finding.strength == Strength::Required;
            let worst = broken.then(|| question.showing(&in_mode.states, found.rank)).flatten();
            let worst = worst.unwrap_or(found.states);
            finding.trace.iter_mut().for_each(|trace| trace.states = Some(worst.clone()));
            let worst = self.words(&worst, &state);
            let showing = match finding.verdict {
                Verdict::Pass => None,
                verdict => question.showing(&in_mode.states, Rank::just(verdict)),
            };
            finding.witness.state = Some(showing.as_ref().map_or(worst.clone(), |showing| self.words(showing, &state)));
            if let (true, Some(showing)) = (broken, showing) {
                let found_with = format!("found with: {worst}");
                // What else is said of it holds there.
                finding.notes.splice(0..0, (finding.witness.state.as_ref() != Some(&worst)).then_some(found_with));
                finding.notes.extend(self.broken_by(&showing, &in_mode.states));
            }
        }
        if let Some(trace) = &mut finding.trace {
            trace.state = Some(state);
        }
        if let (Verdict::Pass, Some(known)) = (finding.verdict, finding.evidence) {
            finding.evidence = Some(self.weakest(question, known, asked));
        }
        Some(finding)
    }

    /// As little of a state as is needed to be sure to be in one of these, in words.
    fn words(&self, states: &Region, state: &[usize]) -> String {
        let key = (states.clone(), state.to_vec());
        let space = self.looks.conduct.space();
        let words = || space.words(&space.witness(states, state));
        self.words.borrow_mut().entry(key).or_insert_with(words).clone()
    }

    /// Which single change of an input leads from a state of the mode where the rule holds to one where it fails.
    fn broken_by(&self, failing: &Region, states: &Region) -> Option<String> {
        let space = self.looks.conduct.space();
        let holding = space.minus(states, failing);
        let mut changes = Vec::new();
        // What does not decide whether it fails does not break it.
        for input in space.deciding(failing) {
            let positions = space.inputs().list.get(input).map_or(&[][..], |input| input.positions.as_slice());
            for (at, position) in positions.iter().enumerate() {
                if space.meet(&space.before(failing, input, at), &holding) {
                    changes.push(position.words.as_str());
                }
            }
        }
        (!changes.is_empty()).then(|| format!("broken by a single change: {}", changes.join(", or ")))
    }

    /// The weakest evidence of any light that the question looks at.
    fn weakest(&self, question: &Question<'_, 'a>, known: Grade, asked: &Asked<'_, 'a>) -> Grade {
        let lits = question.groups.iter().flat_map(|group| &group.ways).flat_map(|(_, lits)| lits);
        let mut weakest = known;
        for lit in lits {
            if lit.emitter.evidence.grade > weakest {
                let alone = self.found_with(vec![lit.clone()], asked);
                weakest = weakest.max(alone.and_then(|finding| finding.evidence).unwrap_or(weakest));
            }
        }
        weakest
    }
}

impl Asked<'_, '_> {
    /// The one finding of an answer; of a head by itself where each is judged.
    fn found(&self, answer: &Answer) -> Option<Finding> {
        (self.find)(answer).into_iter().next()
    }

    /// The zone that it is about.
    pub fn zone(&self) -> Option<usize> {
        self.asks.first().and_then(|ask| ask.zone)
    }

    /// Whether a head that is lit so can change the answer.
    pub fn heeds(&self, lit: &LitHead<'_>) -> bool {
        self.asks.first().is_some_and(|ask| (self.heeds)(lit, ask, self.protocol))
    }

    /// How two ways in which a head is lit compare, whichever reading counts.
    fn compare(&self, one: &LitHead<'_>, other: &LitHead<'_>) -> Option<Ordering> {
        let order = |ask: &Ask<'_>| (self.compare)(one, other, ask, self.protocol);
        in_all(self.asks.iter().map(order))
    }

    /// Whether two ways in which a head is lit come to the same, evidence included.
    pub fn are_alike(&self, one: &LitHead<'_>, other: &LitHead<'_>) -> bool {
        std::ptr::eq(one.emitter, other.emitter) && self.compare(one, other) == Some(Ordering::Equal)
    }

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

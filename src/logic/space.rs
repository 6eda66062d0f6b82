//! All states of the inputs, and sets of them, as decision diagrams: dozens of inputs have more states than can be
//! gone through one by one, and sets of them are small all the same.
//!
//! An input with n positions takes the bits that n needs; codes that stand for no position are in no set.

use std::cell::{Cell, RefCell};
use std::fmt;
use std::rc::Rc;

use biodivine_lib_bdd::{Bdd, BddPartialValuation, BddPointer, BddVariable, BddVariableSet, op_function};

use super::apply::Apply;
use super::computed::{Computed, Operation};
use super::{Condition, Input, Inputs};

/// More bits than this are no controller; the decision diagrams number them in 16 bits.
pub const MOST_BITS: usize = 64;

/// A diagram of more nodes than this is given up, and so is a run that makes or visits more nodes than [`MOST_WORK`] in
/// all: both are seconds.
const MOST_NODES: usize = 1 << 18;
const MOST_WORK: usize = 1 << 25;

/// Up to this many pairs of nodes of two diagrams are marked one by one: a moment's work to set aside.
const MOST_MARKS: usize = 1 << 16;

/// A set of states; copies share it.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Region(pub(super) Rc<Bdd>);

impl From<Bdd> for Region {
    fn from(diagram: Bdd) -> Self {
        Self(Rc::new(diagram))
    }
}

/// What some inputs are set to: place of the input, place of its position; in the order of the inputs.
pub type Setting = Vec<(usize, usize)>;

/// All states that can occur.
pub struct Space {
    inputs: Inputs,
    bits: Vec<Vec<BddVariable>>,
    vars: BddVariableSet,
    allowed: Region,
    computed: RefCell<Computed>,
    apply: RefCell<Apply>,
    walk: RefCell<Walk>,
    work: Cell<usize>,
    tangled: Cell<bool>,
}

/// Room for walking through two diagrams at once: a question walks through thousands, and new room for each takes
/// longer than most walks.
#[derive(Default)]
struct Walk {
    /// The pairs of nodes that were met, one after the other.
    marks: Vec<bool>,
    /// The pairs that are still to be looked at.
    open: Vec<(BddPointer, BddPointer)>,
}

impl fmt::Debug for Region {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Region({} nodes)", self.0.size())
    }
}

impl fmt::Debug for Space {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Space({} inputs, {} states)", self.inputs.list.len(), self.count(&self.allowed))
    }
}

/// How many bits tell an input's positions apart.
pub fn bits_of(input: &Input) -> usize {
    let most = input.positions.len().saturating_sub(1);
    usize::try_from(usize::BITS - most.leading_zeros()).unwrap_or(0)
}

impl Region {
    /// Whether no state is in it.
    pub fn is_empty(&self) -> bool {
        self.0.is_false()
    }
}

impl Space {
    /// The states of these inputs in which none of `never` holds. At most [`MOST_BITS`] bits (the reader sees to it).
    pub fn new(inputs: &Inputs, never: &[Condition]) -> Self {
        let widths: Vec<usize> = inputs.list.iter().map(bits_of).collect();
        let total = widths.iter().sum::<usize>();
        let vars = BddVariableSet::new_anonymous(u16::try_from(total).unwrap_or(u16::MAX));
        let mut all = vars.variables().into_iter();
        let bits = widths.iter().map(|width| all.by_ref().take(*width).collect()).collect();
        let allowed = Region::from(vars.mk_true());
        let (computed, apply, walk) = (RefCell::default(), RefCell::default(), RefCell::default());
        let (work, tangled) = (Cell::new(0), Cell::new(false));
        let mut space = Self { inputs: inputs.clone(), bits, vars, allowed, computed, apply, walk, work, tangled };
        for (at, input) in inputs.list.iter().enumerate() {
            let positions: Vec<usize> = (0..input.positions.len()).collect();
            space.allowed = space.and(&space.allowed, &space.standing(at, &positions));
        }
        for condition in never {
            space.rule_out(&space.holds(condition));
        }
        space
    }

    /// Takes states out of those that can occur.
    pub fn rule_out(&mut self, states: &Region) {
        self.allowed = self.minus(&self.allowed, states);
    }

    /// The inputs that span it.
    pub fn inputs(&self) -> &Inputs {
        &self.inputs
    }

    /// Every state that can occur.
    pub fn allowed(&self) -> &Region {
        &self.allowed
    }

    /// Whether the conditions were too tangled to be looked at: no set is right then.
    pub fn is_tangled(&self) -> bool {
        self.tangled.get()
    }

    /// Gives up: what is looked at in these states is more than can be told apart.
    pub fn give_up(&self) {
        self.tangled.set(true);
    }

    /// No state.
    pub fn none(&self) -> Region {
        self.vars.mk_false().into()
    }

    fn all(&self) -> Region {
        self.vars.mk_true().into()
    }

    /// The states that can occur in which a condition holds.
    pub fn holds(&self, condition: &Condition) -> Region {
        self.and(&self.allowed, &self.meant(condition))
    }

    fn meant(&self, condition: &Condition) -> Region {
        match condition {
            Condition::Always => self.all(),
            Condition::Is { input, positions } => self.standing(*input, positions),
            Condition::Not(inner) => self.minus(&self.all(), &self.meant(inner)),
            Condition::And(parts) => parts.iter().fold(self.all(), |met, part| self.and(&met, &self.meant(part))),
            Condition::Or(parts) => parts.iter().fold(self.none(), |met, part| self.or(&met, &self.meant(part))),
        }
    }

    /// The input in one of these positions.
    fn standing(&self, input: usize, positions: &[usize]) -> Region {
        let one = |position: &usize| self.cube(&[(input, *position)]);
        positions.iter().fold(self.none(), |met, position| self.or(&met, &one(position)))
    }

    /// All codes with these inputs in these positions.
    pub(super) fn cube(&self, setting: &[(usize, usize)]) -> Region {
        self.vars.mk_conjunctive_clause(&self.code(setting)).into()
    }

    pub(super) fn code(&self, setting: &[(usize, usize)]) -> BddPartialValuation {
        let mut code = BddPartialValuation::empty();
        for (input, position) in setting {
            self.set_code(&mut code, *input, *position);
        }
        code
    }

    pub(super) fn set_code(&self, code: &mut BddPartialValuation, input: usize, position: usize) {
        for (at, bit) in self.bits_of(input).iter().rev().enumerate() {
            code.set_value(*bit, position >> at & 1 == 1);
        }
    }

    /// Lets an input stand in any position.
    pub(super) fn free_code(&self, code: &mut BddPartialValuation, input: usize) {
        self.bits_of(input).iter().for_each(|bit| code.unset_value(*bit));
    }

    fn bits_of(&self, input: usize) -> &[BddVariable] {
        self.bits.get(input).map_or(&[][..], Vec::as_slice)
    }

    /// States in both.
    pub fn and(&self, a: &Region, b: &Region) -> Region {
        match (&*a.0, &*b.0) {
            (one, other) if other.is_true() || one.is_false() || Rc::ptr_eq(&a.0, &b.0) => self.known(a),
            (one, other) if one.is_true() || other.is_false() => self.known(b),
            _ => self.made(Operation::And, a, b),
        }
    }

    /// States in either.
    pub fn or(&self, a: &Region, b: &Region) -> Region {
        match (&*a.0, &*b.0) {
            (one, other) if one.is_true() || other.is_false() || Rc::ptr_eq(&a.0, &b.0) => self.known(a),
            (one, other) if one.is_false() || other.is_true() => self.known(b),
            _ => self.made(Operation::Or, a, b),
        }
    }

    /// States in the first and not in the second.
    pub fn minus(&self, a: &Region, b: &Region) -> Region {
        match (&*a.0, &*b.0) {
            (one, other) if one.is_false() || other.is_false() => self.known(a),
            (_, other) if other.is_true() || Rc::ptr_eq(&a.0, &b.0) => self.none(),
            _ => self.made(Operation::Minus, a, b),
        }
    }

    /// A set that need not be made.
    fn known(&self, region: &Region) -> Region {
        if self.tangled.get() { self.none() } else { region.clone() }
    }

    /// Once the conditions are too tangled, whoever asked is told by `is_tangled`, and every set is empty: what is left
    /// to do is short.
    fn made(&self, operation: Operation, a: &Region, b: &Region) -> Region {
        if self.tangled.get() {
            return self.none();
        }
        let known = self.computed.borrow().find(operation, a, b);
        let made = known.or_else(|| {
            // There are no more nodes than pairs of nodes.
            let made = if a.0.size().saturating_mul(b.0.size()) <= MOST_MARKS {
                operation.make_small(&mut self.apply.borrow_mut(), a, b)?
            } else {
                operation.make(MOST_NODES, a, b)?
            };
            self.computed.borrow_mut().keep(operation, a, b, &made);
            Some(made)
        });
        // What was known already counts all the same, so that what is given up does not hang on what was asked before.
        self.worked(made.as_ref().map_or(MOST_NODES, |made| made.0.size()));
        if made.is_none() {
            self.tangled.set(true);
        }
        made.filter(|_| !self.tangled.get()).unwrap_or_else(|| self.none())
    }

    /// How many nodes were made or visited so far.
    pub fn work(&self) -> usize {
        self.work.get()
    }

    /// Forgets what was done since: whoever did it bounds it, and it says nothing of the conditions.
    pub fn forget_work(&self, since: usize) {
        self.work.set(since);
    }

    pub(super) fn worked(&self, nodes: usize) {
        self.work.set(self.work.get().saturating_add(nodes));
        if self.work.get() > MOST_WORK {
            self.tangled.set(true);
        }
    }

    /// Whether any state is in both.
    pub fn meet(&self, a: &Region, b: &Region) -> bool {
        let (a, b) = (&*a.0, &*b.0);
        let pairs = a.size().saturating_mul(b.size());
        if pairs > MOST_MARKS {
            // The check counts steps, of which there are at most as many as pairs of nodes.
            let checked = Bdd::check_binary_op(MOST_NODES * 4, a, b, op_function::and);
            self.worked(checked.map_or(MOST_WORK, |(_, steps)| steps));
            return checked.is_some_and(|(met, _)| met);
        }
        let Walk { marks, open } = &mut *self.walk.borrow_mut();
        marks.clear();
        marks.resize(pairs, false);
        open.clear();
        open.push((a.root_pointer(), b.root_pointer()));
        let mut steps = 0;
        let met = loop {
            let Some((left, right)) = open.pop() else { break false };
            if left.is_zero() || right.is_zero() {
                continue;
            }
            // Every node but that of no state leads to some state.
            if left.is_one() || right.is_one() {
                break true;
            }
            let mark = marks.get_mut(left.to_index() * b.size() + right.to_index());
            if mark.is_none_or(|mark| std::mem::replace(mark, true)) {
                continue;
            }
            steps += 1;
            let (at, other) = (a.var_of(left), b.var_of(right));
            let (low, high) = if at <= other { (a.low_link_of(left), a.high_link_of(left)) } else { (left, left) };
            let (other_low, other_high) =
                if other <= at { (b.low_link_of(right), b.high_link_of(right)) } else { (right, right) };
            open.push((high, other_high));
            open.push((low, other_low));
        };
        self.worked(steps);
        met
    }

    /// How many states are in it; exact below 2^53.
    pub fn count(&self, region: &Region) -> f64 {
        region.0.cardinality()
    }

    /// One of its states, rest positions first: the place of the position of each input.
    pub fn first(&self, region: &Region) -> Option<Vec<usize>> {
        let valuation = region.0.first_valuation()?;
        let position =
            |bits: &Vec<BddVariable>| bits.iter().fold(0, |code, bit| code << 1 | usize::from(valuation.value(*bit)));
        Some(self.bits.iter().map(position).collect())
    }

    /// Exactly this state.
    pub fn state(&self, state: &[usize]) -> Region {
        let setting: Setting = state.iter().copied().enumerate().collect();
        self.cube(&setting)
    }

    /// The states that can occur with one input in one position.
    pub fn with(&self, input: usize, position: usize) -> Region {
        self.and(&self.allowed, &self.standing(input, &[position]))
    }

    /// Whether an input stands in a position in some state that can occur.
    pub fn occurs(&self, input: usize, position: usize) -> bool {
        self.meet(&self.allowed, &self.standing(input, &[position]))
    }

    /// The inputs on which it hangs whether a state lies in a region; of the others any position will do.
    pub fn deciding(&self, region: &Region) -> Vec<usize> {
        let deciding = region.0.support_set();
        let decides = |(_, bits): &(usize, &Vec<BddVariable>)| bits.iter().any(|bit| deciding.contains(bit));
        self.bits.iter().enumerate().filter(decides).map(|(input, _)| input).collect()
    }

    /// What some inputs are set to in these states, whatever the others are: the same for regions that agree in it.
    pub fn only(&self, region: &Region, inputs: &[usize]) -> Region {
        let others = self.bits.iter().enumerate().filter(|(input, _)| !inputs.contains(input));
        let bits: Vec<BddVariable> = others.flat_map(|(_, bits)| bits.iter().copied()).collect();
        Region::from(region.0.exists(&bits))
    }

    /// The same states with one input in any position, as far as they can occur.
    fn freed(&self, region: &Region, input: usize) -> Region {
        let bits = self.bits_of(input);
        let either = |region: Region, bit: &BddVariable| {
            let with = |value| region.0.var_restrict(*bit, value).into();
            self.or(&with(false), &with(true))
        };
        self.and(&bits.iter().fold(region.clone(), either), &self.allowed)
    }

    /// Where one gets from these states by putting one input into a position in which it is not already.
    pub fn after(&self, from: &Region, input: usize, position: usize) -> Region {
        let there = self.standing(input, &[position]);
        let from = self.minus(from, &there);
        self.and(&self.freed(&from, input), &there)
    }

    /// The states from which putting one input into a position in which it is not already leads into these.
    pub fn before(&self, into: &Region, input: usize, position: usize) -> Region {
        let there = self.standing(input, &[position]);
        let into = self.and(into, &there);
        self.minus(&self.freed(&into, input), &there)
    }
}

#[cfg(test)]
mod tests {
    use super::super::Position;
    use super::*;

    fn inputs() -> Inputs {
        let input = |id: &str, positions: &[&str]| Input {
            id: id.to_owned(),
            positions: positions
                .iter()
                .map(|position| Position { id: (*position).to_owned(), words: format!("{id} {position}") })
                .collect(),
            is_bool: positions.len() == 2,
            means: None,
        };
        let list = vec![input("warning", &["off", "low", "high"]), input("park", &["off", "on"])];
        Inputs { list, described: true }
    }

    fn is(input: usize, position: usize) -> Condition {
        Condition::Is { input, positions: vec![position] }
    }

    #[test]
    fn states_are_counted_and_codes_without_a_position_are_none() {
        let space = Space::new(&inputs(), &[]);
        assert_eq!(space.count(space.allowed()), 6.0);
        let space = Space::new(&inputs(), &[Condition::And(vec![is(0, 0), is(1, 1)])]);
        assert_eq!(space.count(space.allowed()), 5.0);
        assert_eq!(space.count(&space.holds(&Condition::Not(Box::new(is(0, 2))))), 3.0);
    }

    #[test]
    fn a_change_of_one_input_leads_out_and_back() {
        let space = Space::new(&inputs(), &[]);
        let driving = space.holds(&Condition::And(vec![is(0, 2), is(1, 0)]));
        let after = space.after(&driving, 1, 1);
        assert_eq!(space.first(&after), Some(vec![2, 1]));
        assert_eq!(space.before(&after, 1, 1), driving);
        assert!(space.after(&driving, 0, 2).is_empty());
    }

    #[test]
    fn a_witness_says_no_more_than_it_must() {
        let space = Space::new(&inputs(), &[Condition::And(vec![is(0, 0), is(1, 1)])]);
        // While parked the switch cannot be off, so `park on` and `not low` is all of high.
        let target = space.holds(&Condition::And(vec![is(0, 2), is(1, 1)]));
        let setting = space.witness(&target, &[2, 1]);
        assert_eq!(space.words(&setting), "warning high, park on");
        let (cover, whole) = space.cover(&space.holds(&Condition::Or(vec![is(0, 2), is(1, 1)])), 9);
        assert!(whole);
        assert_eq!(cover, vec![vec![(1, 1)], vec![(0, 2)]]);
        // Of the states with park set, those on high are told by the switch alone.
        let parked = space.holds(&is(1, 1));
        assert_eq!(space.cover_within(&parked, &target, 9), (vec![vec![(0, 2)]], true));
        assert_eq!(space.cover_within(&target, &target, 9), (vec![Vec::new()], true));
    }
}

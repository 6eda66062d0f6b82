//! One set of states made of two small ones: the usual walk through two diagrams at once (Bryant 1986), in room that is
//! kept from one walk to the next. Most sets have a dozen nodes, and tables made anew for each walk take longer than
//! the walk itself.
//!
//! Nodes come in the order in which the crate makes them, so equal sets are equal diagrams, whoever made them.

use biodivine_lib_bdd::{Bdd, BddNode, BddPointer};
use rustc_hash::FxHashMap;

/// More room than this is given back after a walk: to clear it takes longer than most walks.
const MOST_PLACES: usize = 1 << 10;

/// Room for a walk.
#[derive(Default)]
pub(super) struct Apply {
    /// For each pair of nodes what was made of it.
    made: Vec<Option<BddPointer>>,
    /// The nodes of the new set, that of no state and that of every state first.
    nodes: Vec<BddNode>,
    /// Where in `nodes` each of them lies.
    places: FxHashMap<BddNode, BddPointer>,
}

/// Two diagrams, and what comes out where one or both are decided; none where that is still open.
struct Walk<'a, F> {
    a: &'a Bdd,
    b: &'a Bdd,
    decided: F,
}

impl Apply {
    /// Makes it; none where the crate does not take the nodes for a diagram.
    pub fn make(
        &mut self,
        a: &Bdd,
        b: &Bdd,
        decided: impl Fn(Option<bool>, Option<bool>) -> Option<bool>,
    ) -> Option<Bdd> {
        let inputs = a.num_vars();
        self.made.clear();
        self.made.resize(a.size() * b.size(), None);
        self.nodes.clear();
        self.nodes.extend([BddNode::mk_zero(inputs), BddNode::mk_one(inputs)]);
        self.places.clear();
        let root = self.of_pair(&Walk { a, b, decided }, a.root_pointer(), b.root_pointer());
        if root.is_zero() {
            // The set without any state has no node for every state.
            self.nodes.truncate(1);
        }
        let made = Bdd::from_nodes(&self.nodes).ok();
        if self.places.capacity() > MOST_PLACES {
            *self = Self::default();
        }
        made
    }

    /// Goes no deeper than there are bits of inputs, at most [`super::MOST_BITS`].
    fn of_pair<F>(&mut self, walk: &Walk<'_, F>, left: BddPointer, right: BddPointer) -> BddPointer
    where
        F: Fn(Option<bool>, Option<bool>) -> Option<bool>,
    {
        if let Some(decided) = (walk.decided)(left.as_bool(), right.as_bool()) {
            return BddPointer::from_bool(decided);
        }
        let (a, b) = (walk.a, walk.b);
        let pair = left.to_index() * b.size() + right.to_index();
        if let Some(Some(made)) = self.made.get(pair) {
            return *made;
        }
        let (at, other) = (a.var_of(left), b.var_of(right));
        let (low, high) = if at <= other { (a.low_link_of(left), a.high_link_of(left)) } else { (left, left) };
        let (other_low, other_high) =
            if other <= at { (b.low_link_of(right), b.high_link_of(right)) } else { (right, right) };
        let high = self.of_pair(walk, high, other_high);
        let low = self.of_pair(walk, low, other_low);
        let made = if low == high { low } else { self.node(BddNode::mk_node(at.min(other), low, high)) };
        self.made.iter_mut().skip(pair).take(1).for_each(|known| *known = Some(made));
        made
    }

    fn node(&mut self, node: BddNode) -> BddPointer {
        let next = BddPointer::from_index(self.nodes.len());
        let place = *self.places.entry(node).or_insert(next);
        if place == next {
            self.nodes.push(node);
        }
        place
    }
}

#[cfg(test)]
mod tests {
    use biodivine_lib_bdd::{BddVariableSet, op_function};
    use proptest::prelude::*;

    use super::*;

    const INPUTS: u16 = 6;

    /// Any set of states of six bits: for each state whether it is in it.
    fn set(members: u64) -> Bdd {
        let all = BddVariableSet::new_anonymous(INPUTS);
        let bits = all.variables();
        let cube = |state: u64| {
            let literals: Vec<_> = bits.iter().enumerate().map(|(at, bit)| (*bit, state >> at & 1 == 1)).collect();
            all.mk_conjunctive_clause(&biodivine_lib_bdd::BddPartialValuation::from_values(&literals))
        };
        let cubes = (0..64).filter(|state| members >> state & 1 == 1).map(cube);
        cubes.fold(all.mk_false(), |set, cube| set.or(&cube))
    }

    proptest! {
        #[test]
        fn the_crate_makes_the_same_diagrams(pairs in prop::collection::vec((any::<u64>(), any::<u64>()), 1..4)) {
            let mut apply = Apply::default();
            for (a, b) in pairs {
                // Full and half-empty sets; sets that share states or do not.
                for (a, b) in [(a, b), (a & b, b), (a & !b, b), (a & 0xffff, b & 0xffff_0000), (0, b), (u64::MAX, b)] {
                    let (a, b) = (set(a), set(b));
                    prop_assert_eq!(apply.make(&a, &b, op_function::and), Some(a.and(&b)));
                    prop_assert_eq!(apply.make(&a, &b, op_function::or), Some(a.or(&b)));
                    prop_assert_eq!(apply.make(&a, &b, op_function::and_not), Some(a.and_not(&b)));
                }
            }
        }
    }
}

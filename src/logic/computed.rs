//! Sets of states that were made already. Many questions part the states by the same sets in the same order, so the
//! same two sets meet again and again; the diagrams that this saves take a tenth of the time of a run.
//!
//! Copies of a set share its diagram, so a set is known again by where its diagram lies. What is remembered keeps its
//! diagrams alive, and so no other one can come to lie there.

use std::rc::Rc;

use biodivine_lib_bdd::{Bdd, op_function};
use rustc_hash::FxHashMap;

use super::Region;
use super::apply::Apply;

/// Diagrams of more nodes than these in all are not kept: some ten megabytes.
const MOST_KEPT: usize = 1 << 20;

/// What is made of two sets.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Operation {
    And,
    Or,
    Minus,
}

/// What was made, of what.
struct Known {
    made: Region,
    _of: [Region; 2],
}

/// What is remembered.
#[derive(Default)]
pub(super) struct Computed {
    known: FxHashMap<(Operation, usize, usize), Known>,
    nodes: usize,
}

impl Operation {
    /// Makes it; none where that is more than `most` nodes.
    pub fn make(self, most: usize, a: &Region, b: &Region) -> Option<Region> {
        let made = match self {
            Self::And => Bdd::binary_op_with_limit(most, &a.0, &b.0, op_function::and),
            Self::Or => Bdd::binary_op_with_limit(most, &a.0, &b.0, op_function::or),
            Self::Minus => Bdd::binary_op_with_limit(most, &a.0, &b.0, op_function::and_not),
        };
        made.map(Region::from)
    }

    /// Makes the same of two small sets.
    pub fn make_small(self, room: &mut Apply, a: &Region, b: &Region) -> Option<Region> {
        let made = match self {
            Self::And => room.make(&a.0, &b.0, op_function::and),
            Self::Or => room.make(&a.0, &b.0, op_function::or),
            Self::Minus => room.make(&a.0, &b.0, op_function::and_not),
        };
        made.map(Region::from)
    }

    fn key(self, a: &Region, b: &Region) -> (Self, usize, usize) {
        let place = |region: &Region| Rc::as_ptr(&region.0).addr();
        (self, place(a), place(b))
    }
}

impl Computed {
    /// What was made of two sets.
    pub fn find(&self, operation: Operation, a: &Region, b: &Region) -> Option<Region> {
        self.known.get(&operation.key(a, b)).map(|known| known.made.clone())
    }

    /// Remembers it. All is forgotten where it becomes too much: what is asked next is mostly like what was asked last.
    pub fn keep(&mut self, operation: Operation, a: &Region, b: &Region, made: &Region) {
        self.nodes += [a, b, made].iter().map(|region| region.0.size()).sum::<usize>();
        if self.nodes > MOST_KEPT {
            *self = Self::default();
            return;
        }
        let known = Known { made: made.clone(), _of: [a.clone(), b.clone()] };
        self.known.insert(operation.key(a, b), known);
    }
}

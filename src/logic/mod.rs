//! Inputs of the controller, conditions over them, and sets of states. No head and no lamp is known here.

mod apply;
mod atom;
mod computed;
mod condition;
pub mod expression;
mod inputs;
mod setting;
mod space;

pub use condition::{Condition, Mistake};
pub use inputs::{Input, Inputs, MEANINGS, Meaning, Position};
pub use space::{MOST_BITS, Region, Setting, Space, bits_of};

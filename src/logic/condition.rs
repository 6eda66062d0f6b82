//! Conditions over inputs: `warning == high and not parked`. What they are, whether they hold, and how they are
//! written.

use std::fmt;

use super::atom::Binder;
use super::{Inputs, expression};

/// A condition with every name bound.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Condition {
    /// Holds in every state.
    Always,
    /// The input stands in one of these positions (places in its list, ascending, each once).
    Is {
        /// Place in [`Inputs::list`].
        input: usize,
        /// Places in its positions.
        positions: Vec<usize>,
    },
    /// The other does not hold.
    Not(Box<Condition>),
    /// All hold.
    And(Vec<Condition>),
    /// At least one holds.
    Or(Vec<Condition>),
}

/// What is wrong in the text of a condition.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// Where it begins, in bytes.
    pub at: usize,
    /// How long it is, in bytes; 0 at the end of the text.
    pub len: usize,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: Option<String>,
    /// The name that is not known, and those that are, so that the nearest can be told.
    pub unknown: Option<(String, Vec<String>)>,
}

impl Condition {
    /// Reads a condition and binds its names.
    ///
    /// Texts that differ only in spaces, needless parentheses, double negations or the way one input is compared
    /// (`not warning == high`, `warning != high`) give equal conditions.
    ///
    /// Errors: every name and type that does not fit, or the first place where the grammar is not met.
    pub fn parse(text: &str, inputs: &Inputs) -> Result<Self, Vec<Mistake>> {
        let mut binder = Binder::new(inputs);
        let condition = expression::parse(text, &mut binder).map_err(|mistake| vec![mistake])?;
        if binder.mistakes.is_empty() { Ok(condition) } else { Err(binder.mistakes) }
    }

    /// The inputs that it names, as places in [`Inputs::list`].
    pub fn inputs(&self) -> Vec<usize> {
        match self {
            Self::Always => Vec::new(),
            Self::Is { input, .. } => vec![*input],
            Self::Not(inner) => inner.inputs(),
            Self::And(parts) | Self::Or(parts) => parts.iter().flat_map(Self::inputs).collect(),
        }
    }

    /// Writes it with the fewest parentheses; a condition that was read is read from it again. `inputs` are those that
    /// it was read with.
    pub fn text(&self, inputs: &Inputs) -> String {
        Written { condition: self, inputs, under: Connective::Or }.to_string()
    }

    /// Whether it holds in a state: the place of the position of each input.
    pub fn holds(&self, state: &[usize]) -> bool {
        match self {
            Self::Always => true,
            Self::Is { input, positions } => state.get(*input).is_some_and(|at| positions.contains(at)),
            Self::Not(inner) => !inner.holds(state),
            Self::And(parts) => parts.iter().all(|part| part.holds(state)),
            Self::Or(parts) => parts.iter().any(|part| part.holds(state)),
        }
    }
}

/// Which connective stands around a condition: those that bind closer than the one inside need parentheses.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Connective {
    Or,
    And,
    Not,
}

/// A condition as text.
struct Written<'c> {
    condition: &'c Condition,
    inputs: &'c Inputs,
    under: Connective,
}

impl fmt::Display for Written<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { inputs, under, .. } = *self;
        match self.condition {
            Condition::Always => f.write_str("always"),
            Condition::Is { input, positions } => write_comparison(f, inputs, *input, positions),
            Condition::Not(inner) => {
                write!(f, "not {}", Self { condition: inner, inputs, under: Connective::Not })
            }
            // Never read, but it can be made: all of no conditions hold, one of no conditions never does.
            Condition::And(parts) if parts.is_empty() => f.write_str("always"),
            Condition::Or(parts) if parts.is_empty() => f.write_str("not always"),
            Condition::And(parts) | Condition::Or(parts) => {
                let (own, word) = match self.condition {
                    Condition::And(_) => (Connective::And, " and "),
                    _ => (Connective::Or, " or "),
                };
                // A single part is written as if nothing stood around it.
                let alone = parts.len() == 1;
                let (open, close) = if own < under && !alone { ("(", ")") } else { ("", "") };
                f.write_str(open)?;
                for (at, condition) in parts.iter().enumerate() {
                    f.write_str(if at > 0 { word } else { "" })?;
                    write!(f, "{}", Self { condition, inputs, under: if alone { under } else { own } })?;
                }
                f.write_str(close)
            }
        }
    }
}

/// The shortest comparison that means these positions of one input.
fn write_comparison(f: &mut fmt::Formatter<'_>, inputs: &Inputs, input: usize, positions: &[usize]) -> fmt::Result {
    // An input that is not there stands in no position.
    let Some(input) = inputs.list.get(input) else { return f.write_str("not always") };
    let (mut inside, mut outside) = (Vec::new(), Vec::new());
    for (at, position) in input.positions.iter().enumerate() {
        if positions.contains(&at) { inside.push(position.id.as_str()) } else { outside.push(position.id.as_str()) }
    }
    let name = &input.id;
    match (input.is_bool, inside.as_slice(), outside.as_slice()) {
        (true, [], _) => f.write_str("not always"),
        (true, _, []) => f.write_str("always"),
        (true, ..) if positions.contains(&0) => write!(f, "not {name}"),
        (true, ..) => write!(f, "{name}"),
        (false, [], all) => write!(f, "not {name} in [{}]", all.join(", ")),
        (false, [one], _) => write!(f, "{name} == {one}"),
        (false, _, [one]) => write!(f, "{name} != {one}"),
        (false, some, _) => write!(f, "{name} in [{}]", some.join(", ")),
    }
}

//! What is required: zones and levels to look at, rules with their limits, and where each number comes from.

mod allowed;
mod amend;
mod applies;
mod citation;
mod confirm;
mod device;
mod fit;
mod limits;
mod lint;
mod listen;
mod loader;
mod overlay;
mod permitted;
mod read;
mod regions;
mod select;
pub mod shipped;
mod terms;

use std::sync::Arc;

use crate::colour;
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::{Date, Text};
use crate::measure::{Method, Protocol};
use crate::quantity::{DeviceTerms, ListenTerms, Quantity};
use crate::units::Unit;

pub use allowed::Allowed;
pub use amend::{Amended, Amendment, LimitPlace, PRECEDENCES, Precedence};
pub use applies::Condition;
pub(crate) use device::read_device;
pub(crate) use listen::read_listen;
pub(crate) use read::read_method;

pub use citation::{BASES, Basis, Citation, Confirmed, Origin};
pub use fit::{FINDS_COLOURS, USUAL_COLOURS, warn_of_misfits};
pub use lint::lint;
pub use loader::Loader;
pub use overlay::Overlaid;
pub use permitted::Permitted;
pub use regions::{Regions, SourcedRegion};

/// A set of rules that speak of one way of looking at a vehicle.
#[derive(Clone, Debug)]
pub struct Ruleset {
    /// Its id in findings.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Which edition of the ruleset (not of the documents it rests on).
    pub edition: String,
    /// Who decides.
    pub defers_to: String,
    /// How much its word counts against that of an overlay.
    pub precedence: Precedence,
    /// The last day for which its editions of the documents hold.
    pub until: Option<Date>,
    /// For whom it is, in a sentence or two.
    pub about: Option<String>,
    /// SHA-256 of the file, in hex.
    pub sha256: String,
    /// To which vehicles it applies.
    pub applies: Option<Applies>,
    /// How it looks at a vehicle.
    pub protocol: Protocol,
    /// Its conventions, each with its source: what is not a limit and still decides.
    pub conventions: Vec<(String, Citation)>,
    /// Its rules, in the order of the file.
    pub rules: Vec<Rule>,
    /// What its documents leave free, in the order of the file: nothing is judged by it.
    pub permitted: Vec<Permission>,
    /// Colour regions that its rules may name.
    pub regions: Regions,
    /// Which of the tables that say how to look at a vehicle its file lacks.
    lacks: Vec<&'static str>,
    /// Overlays that were asked for with it, in this order.
    pub overlays: Vec<Overlaid>,
}

/// To which vehicles a ruleset applies.
#[derive(Clone, Debug)]
pub struct Applies {
    /// The condition.
    pub when: Condition,
    /// As written.
    pub text: String,
    /// Where it comes from.
    pub source: Citation,
}

/// One requirement.
#[derive(Clone, Debug)]
pub struct Rule {
    /// Its id in findings.
    pub id: String,
    /// What it asks, in our words.
    pub says: String,
    /// Of what.
    pub quantity: &'static Quantity,
    /// The unit of its limits.
    pub unit: Unit,
    /// From where one looks.
    pub method: Method,
    /// For quantities of single devices: of which, and where one looks.
    pub device: Option<DeviceTerms>,
    /// For quantities of sound: of which sounders, and where one listens.
    pub listen: Option<ListenTerms>,
    /// How found and limit are compared.
    pub require: Require,
    /// Whether it decides.
    pub strength: Strength,
    /// Its limits.
    pub limits: Vec<Limit>,
    /// Its line in the file.
    pub span: Span,
}

/// What a document leaves free, so that nobody takes it for a fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Permission {
    /// What may be done, in our words.
    pub says: String,
    /// Where it comes from.
    pub source: Citation,
}

/// How found and limit are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Require {
    /// Found is the limit or more.
    AtLeast,
    /// Found is the limit or less.
    AtMost,
    /// Found lies in a range, its ends included.
    Between,
    /// Found lies out of a range; its ends are part of what is not wanted.
    Outside,
    /// Nothing but the listed words.
    Only,
    /// None of the listed words.
    NoneOf,
    /// At least one of the listed words.
    SomeOf,
    /// The number, or all of the words and no others.
    Exactly,
}

/// The words for [`Require`].
pub const REQUIRES: &[(&str, Require)] = &[
    ("at-least", Require::AtLeast),
    ("at-most", Require::AtMost),
    ("between", Require::Between),
    ("outside", Require::Outside),
    ("only", Require::Only),
    ("none-of", Require::NoneOf),
    ("some-of", Require::SomeOf),
    ("exactly", Require::Exactly),
];

impl Require {
    /// Whether its limits are ranges rather than single values.
    pub fn asks_a_range(self) -> bool {
        matches!(self, Self::Between | Self::Outside)
    }

    /// The word in files and print.
    pub fn word(self) -> &'static str {
        REQUIRES.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// Whether a rule decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Strength {
    /// It decides.
    Required,
    /// It is said, and never touches the exit status.
    Advice,
    /// What to take care of; never a verdict.
    Caution,
}

/// The words for [`Strength`].
pub const STRENGTHS: &[(&str, Strength)] =
    &[("required", Strength::Required), ("advice", Strength::Advice), ("caution", Strength::Caution)];

impl Strength {
    /// The word in files and print.
    pub fn word(self) -> &'static str {
        STRENGTHS.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// One limit at one place.
#[derive(Clone, Debug)]
pub struct Limit {
    /// For which purpose.
    pub purpose: Option<String>,
    /// Into which purpose a change has to lead.
    pub leads_to: Option<String>,
    /// On which level, as a place in the protocol's list.
    pub level: Option<usize>,
    /// In which zone, as a place in the protocol's list.
    pub zone: Option<usize>,
    /// For emitters of which colour; of quantities of light, which heads count.
    pub colour: Option<String>,
    /// For devices of which class.
    pub class: Option<String>,
    /// The colour regions that its words name.
    pub regions: Vec<Arc<colour::Region>>,
    /// About which thing a person states something.
    pub item: Option<String>,
    /// What is asked.
    pub demand: Demand,
    /// Where it comes from.
    pub source: Citation,
    /// Its place in the file.
    pub span: Span,
}

impl Demand {
    /// As text, without its unit.
    pub fn in_words(&self) -> String {
        // As many digits as anyone writes.
        let number = |number: &f64| crate::units::format_number(*number, 9);
        match self {
            Self::Number(one) => number(one),
            Self::Range { from, to } => format!("{} to {}", number(from), number(to)),
            Self::Words(words) if words.is_empty() => "none".to_owned(),
            Self::Words(words) => words.join(" "),
            Self::Missing { .. } => "missing".to_owned(),
        }
    }
}

/// What a limit asks; numbers are in the rule's unit.
#[derive(Clone, Debug, PartialEq)]
pub enum Demand {
    /// A number.
    Number(f64),
    /// A range.
    Range {
        /// Its lower end.
        from: f64,
        /// Its upper end.
        to: f64,
    },
    /// Words.
    Words(Vec<String>),
    /// Nobody here knows the figure.
    Missing {
        /// Why it is missing.
        why: String,
        /// Where a person finds it.
        see: Option<String>,
    },
}

impl Ruleset {
    /// Where one of its limits holds, by its names.
    pub fn place(&self, limit: &Limit) -> LimitPlace {
        LimitPlace::of(&limit.scope(), &self.protocol)
    }

    /// The place of the rule that an overlay names; an error where there is none.
    fn rule_called(&self, name: &Text, log: &Log) -> Option<usize> {
        let found = self.rules.iter().position(|rule| rule.id == name.text);
        if found.is_none() {
            let error = Diagnostic::error("unknown-rule", format!("`{}` has no rule `{}`", self.id, name.text));
            let known = self.rules.iter().map(|rule| rule.id.as_str());
            log.suggest(error.at(&name.span, ""), &name.text, known);
        }
        found
    }

    /// The purposes that any of its limits speaks of, in the order of the file.
    pub fn purposes(&self) -> Vec<&str> {
        let mut purposes = Vec::new();
        for limit in self.rules.iter().flat_map(|rule| &rule.limits) {
            if let Some(purpose) = limit.purpose.as_deref().filter(|purpose| !purposes.contains(purpose)) {
                purposes.push(purpose);
            }
        }
        purposes
    }
}

//! Requirements as clauses of a bid: what is asked, how it is tested, by whom, what paper proves it. Clauses are made
//! from rules, written as a draft that people edit, read again and looked over: what cannot be tested as it stands, what
//! contradicts, what no device of a catalogue meets.

mod clause;
mod conditions;
mod contradict;
mod draft;
mod feasible;
mod figures;
mod layout;
mod lint;
mod placeholder;
mod proof;
mod single;
mod together;
mod toml_out;
mod totals;
mod words;

pub use clause::{Clause, Place, Row, Wishes, clauses};
pub use contradict::contradictions;
pub use draft::read_draft;
pub use feasible::{Devices, Feasible, feasible};
pub use layout::Layout;
pub use lint::{Cause, Fault, lint};
pub use proof::{Heading, Proof};
pub use toml_out::to_toml;
pub use totals::Takes;
pub use words::{Unclear, unclear};

use crate::ruleset::{Basis, Ruleset};

/// The requirements of one bid.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bid {
    /// Its title.
    pub title: Option<String>,
    /// What it rests on: each ruleset with its edition, and to which vehicles it applies.
    pub rests_on: Vec<String>,
    /// Which word goes before which, highest first.
    pub precedence: Vec<String>,
    /// How a bidder shows that something else is as good.
    pub equals: Option<String>,
    /// How many heads of one level fit towards one zone, where the purchaser knows.
    pub most_heads: Option<u32>,
    /// How the finished vehicle is accepted.
    pub acceptance: Acceptance,
    /// Zones and levels, by the ruleset that they are of.
    pub layouts: Vec<Layout>,
    /// What is asked.
    pub clauses: Vec<Clause>,
    /// What stays free.
    pub free: Vec<Free>,
}

/// How the finished vehicle is accepted.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Acceptance {
    /// Where.
    pub place: Option<String>,
    /// When.
    pub time: Option<String>,
    /// How.
    pub method: Option<String>,
    /// By what.
    pub criteria: Option<String>,
    /// Who signs.
    pub signed_by: Option<String>,
}

/// What a document leaves free.
#[derive(Clone, Debug, PartialEq)]
pub struct Free {
    /// What may be done.
    pub says: String,
    /// Where it comes from.
    pub source: Option<String>,
    /// How that is known.
    pub basis: Option<Basis>,
}

impl Acceptance {
    /// Each part of it with its key in the draft and the fault where it is not said.
    pub fn parts(&self) -> [(&'static str, &Option<String>); 5] {
        [
            ("place", &self.place),
            ("time", &self.time),
            ("method", &self.method),
            ("criteria", &self.criteria),
            ("signed-by", &self.signed_by),
        ]
    }

    /// What the tool proposes, to be edited.
    fn proposed() -> Self {
        let text = |text: &str| Some(text.to_owned());
        Self {
            place: text("where the finished vehicle is handed over; the purchaser may name another place in the order"),
            time: text(
                "before the vehicle enters service and before the last payment; a receipt for delivery is no acceptance",
            ),
            method: text(
                "each clause is tested as it says, on the finished vehicle, in every state of its switches that the clause names",
            ),
            criteria: text(
                "every required clause is met, or its deviation was accepted in writing before the order was placed",
            ),
            signed_by: text("the purchaser's inspector whom the order names, and the builder"),
        }
    }
}

impl Bid {
    /// The clauses of some rulesets, with what the tool proposes for the rest.
    pub fn of(rulesets: &[Ruleset], title: Option<&str>, wishes: &Wishes<'_>) -> Self {
        let titles: Vec<&str> = rulesets.iter().map(|ruleset| ruleset.title.as_str()).collect();
        let precedence = ["the law", "the standard that a clause names", "this text"];
        let free = rulesets.iter().flat_map(|ruleset| &ruleset.permitted).map(|free| Free {
            says: free.says.clone(),
            source: Some(free.source.in_words()),
            basis: Some(free.source.basis),
        });
        Self {
            title: Some(title.map_or_else(|| titles.join("; "), str::to_owned)),
            rests_on: rulesets.iter().map(rests_on).chain(left_out(rulesets, wishes)).collect(),
            precedence: precedence.map(str::to_owned).to_vec(),
            equals: Some(
                "whoever offers something else states its figure for every limit of the clause, in the unit of the clause, \
                 and hands in the same paper"
                    .to_owned(),
            ),
            most_heads: None,
            acceptance: Acceptance::proposed(),
            layouts: rulesets.iter().filter_map(Layout::of).collect(),
            clauses: rulesets.iter().flat_map(|ruleset| clauses(ruleset, wishes)).collect(),
            free: free.collect(),
        }
    }

    /// The layout that a clause goes by.
    pub fn layout_of(&self, clause: &Clause) -> Option<&Layout> {
        let name = clause.layout.as_ref()?;
        self.layouts.iter().find(|layout| layout.id == *name)
    }

    /// How many figures there are, how many of them are only remembered, and how many are missing.
    pub fn known(&self) -> Known {
        let mut known = Known::default();
        for term in self.layouts.iter().flat_map(|layout| &layout.terms) {
            known.all += 1;
            known.memory += usize::from(term.basis == Some(Basis::Memory));
        }
        for clause in &self.clauses {
            for row in &clause.rows {
                known.all += 1;
                known.missing += usize::from(row.is_missing());
                known.memory += usize::from(!row.is_missing() && clause.basis_of(row) == Some(Basis::Memory));
            }
        }
        known
    }
}

/// How well the figures of a bid are known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Known {
    /// All limits, and terms of layouts.
    pub all: usize,
    /// Those that are only remembered.
    pub memory: usize,
    /// Those that nobody here knows.
    pub missing: usize,
}

/// What a wish for some uses leaves out of the rulesets; nothing where all were wanted.
fn left_out(rulesets: &[Ruleset], wishes: &Wishes<'_>) -> Option<String> {
    let mut others: Vec<&str> = rulesets.iter().flat_map(Ruleset::purposes).collect();
    others.retain(|purpose| !wishes.purposes.iter().any(|wanted| wanted == purpose));
    others.sort_unstable();
    others.dedup();
    (!wishes.purposes.is_empty() && !others.is_empty()).then(|| {
        format!(
            "only what is asked for {}, and for every use: what the rulesets ask for {} is LEFT OUT",
            wishes.purposes.join(", "),
            others.join(", ")
        )
    })
}

/// `zones-two-level, edition 2026-11: Four zones ...; for vehicles of which this holds: ...; the AHJ decides`.
fn rests_on(ruleset: &Ruleset) -> String {
    let Ruleset { id, edition, title, defers_to, .. } = ruleset;
    let mut said = format!("{id}, edition {edition}: {title}");
    said.extend(ruleset.applies.iter().map(|applies| {
        format!("; for vehicles of which this holds: {} [{}]", applies.text, applies.source.basis.word())
    }));
    said.extend(ruleset.overlays.iter().map(|overlay| match overlay.in_force {
        true => {
            format!("; changed by {} ({}), {}: {}", overlay.title, overlay.id, overlay.authority, overlay.reference)
        }
        false => format!("; overlay {} is not in force ({}) and changes nothing here", overlay.id, overlay.term()),
    }));
    said.push_str(&format!("; {defers_to} decides"));
    said
}

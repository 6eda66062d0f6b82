//! Looks a draft over: demands that nobody can test as they stand, and what has to be looked up before anybody signs.

use super::conditions::{conditions, places, steps};
use super::contradict::doubled;
use super::figures::{figures, uses};
use super::placeholder::{is_said, is_there};
use super::words::{OF_A_MAKER, is_named, stands_in, unclear};
use super::{Bid, Clause, Place, Row};
use crate::package::{Model, SounderKind, SounderModel};
use crate::quantity::{LevelScope, Quantity};
use crate::ruleset::{BASES, Basis, Demand, Require, Strength};
use crate::units::Dimension;

/// What a fault of a draft means for it; the order is that of weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// No bidder can meet it.
    CannotBeMet,
    /// Nobody can test it as it stands.
    CannotBeTested,
    /// To be looked up, or thought over.
    Advice,
}

/// One thing that is wrong with a draft.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// What kind it is.
    pub code: &'static str,
    /// What it means.
    pub cause: Cause,
    /// The clause, or the table of the draft, and the limit in it.
    pub at: String,
    /// What is wrong.
    pub says: String,
    /// What to do about it.
    pub help: String,
    /// Its place in the draft.
    pub place: Place,
}

impl Fault {
    /// `code@where`: stable, and short enough to be told on the telephone.
    pub fn id(&self) -> String {
        format!("{}@{}", self.code, self.at)
    }

    /// On a clause.
    pub(super) fn on(
        clause: &Clause,
        cause: Cause,
        code: &'static str,
        says: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        let place = clause.place.clone();
        Self { code, cause, at: clause.id.clone(), says: says.into(), help: help.into(), place }
    }

    /// On one of its limits.
    #[must_use]
    pub(super) fn in_row(mut self, row: &Row) -> Self {
        let scope = row.scope();
        if !scope.is_empty() {
            self.at = format!("{}/{}", self.at, scope.join("/"));
        }
        if row.place.0.is_some() {
            self.place = row.place.clone();
        }
        self
    }
}

/// Everything that cannot be tested, then what has to be looked up. Whoever makes a device, or what it is called, is no
/// demand: the names of these models and their makers are looked for.
pub fn lint(bid: &Bid, models: &[Model], sounders: &[SounderModel]) -> Vec<Fault> {
    // An id that is the word for a kind of thing asks for no product.
    let kinds = SounderKind::WORDS.map(|(word, _)| word);
    let ids = models.iter().map(|model| &model.id).chain(sounders.iter().map(|model| &model.id));
    let ids = ids.map(String::as_str).filter(|id| !kinds.contains(id));
    let makers = models.iter().filter_map(|model| model.maker.as_deref());
    let makers = makers.chain(sounders.iter().filter_map(|model| model.maker.as_deref()));
    let names: Vec<&str> = ids.chain(makers).collect();
    let mut faults = Vec::new();
    whole(bid, &mut faults);
    let uses = uses(bid);
    for clause in &bid.clauses {
        parts(clause, &mut faults);
        limits(bid, clause, &mut faults);
        conditions(bid, clause, &mut faults);
        figures(bid, clause, &uses, &mut faults);
        wording(bid, clause, &names, &mut faults);
        basis(clause, &mut faults);
    }
    steps(bid, &mut faults);
    faults.extend(doubled(bid));
    faults
}

/// What belongs to the whole draft.
fn whole(bid: &Bid, faults: &mut Vec<Fault>) {
    let mut say = |code, at: &str, says: &str, help: &str| {
        let (says, help) = (says.to_owned(), help.to_owned());
        faults.push(Fault {
            code,
            cause: Cause::CannotBeTested,
            at: at.to_owned(),
            says,
            help,
            place: Place::default(),
        });
    };
    if !bid.precedence.iter().any(|word| is_said(word)) {
        say(
            "no-precedence",
            "bid",
            "it is not said which word goes first where law, standard and this text differ",
            "precedence = [\"the law\", \"the standard that a clause names\", \"this text\"]",
        );
    }
    if !is_there(bid.equals.as_ref()) {
        say(
            "no-equals",
            "bid",
            "it is not said how a bidder shows that something else is as good",
            "equals = \"...\": which figures, in which units, and which papers",
        );
    }
    for (key, said) in bid.acceptance.parts() {
        let (code, says, help) = match key {
            "place" => ("no-place", "it is not said where the finished vehicle is accepted", "place = \"...\""),
            "time" => (
                "no-time",
                "it is not said when the finished vehicle is accepted",
                "time = \"...\": before which step, within how many days",
            ),
            "method" => (
                "no-method",
                "it is not said how acceptance goes",
                "method = \"...\": which clauses are tested, in which states",
            ),
            "criteria" => ("no-criteria", "it is not said what makes the vehicle accepted", "criteria = \"...\""),
            _ => ("no-signature", "it is not said who signs", "signed-by = \"...\""),
        };
        if !is_there(said.as_ref()) {
            say(code, "acceptance", says, help);
        }
    }
    let equals = [("equals", &bid.equals)];
    for (key, said) in bid.acceptance.parts().into_iter().chain(equals) {
        let at = if key == "equals" { "bid" } else { "acceptance" };
        let Some(text) = said.as_ref().filter(|text| is_said(text)) else { continue };
        for unclear in unclear().filter(|unclear| stands_in(text, unclear.words)) {
            // How an equal is shown may well speak of equals.
            if key != "equals" || !unclear.of_equals() {
                let says = format!("`{}` in `{key}`: {}", unclear.words, unclear.why);
                say("unclear-word", at, &says, unclear.instead);
            }
        }
    }
}

/// What a clause needs besides its limits.
fn parts(clause: &Clause, faults: &mut Vec<Fault>) {
    let proposal = clause.known_quantity();
    let by_hand = proposal
        .map_or("how it is found on the vehicle or in a paper".to_owned(), |quantity| quantity.by_hand.to_owned());
    let missing: [(bool, &'static str, &str, String); 6] = [
        (
            !is_said(&clause.says),
            "no-words",
            "it is not said in words what is asked",
            "says = \"...\": who or what does how much of what, and when".to_owned(),
        ),
        (
            !is_there(clause.tested.as_ref()),
            "no-method",
            "it is not said how it is tested",
            format!("tested = \"{by_hand}\""),
        ),
        (
            !is_there(clause.by.as_ref()),
            "no-party",
            "it is not said who shows it and who looks",
            "by = \"the builder measures; the purchaser's inspector signs\"".to_owned(),
        ),
        (
            !is_there(clause.when.as_ref()),
            "no-time",
            "it is not said when it is tested",
            "when = \"at acceptance of the finished vehicle\"".to_owned(),
        ),
        (
            !is_there(clause.paper.as_ref()),
            "no-paper",
            "it is not said which paper proves it",
            "paper = \"...\": a report, a record, a signed list".to_owned(),
        ),
        (
            !is_there(clause.deviation.as_ref()),
            "no-deviation",
            "it is not said what a deviation must state",
            "deviation = \"the figure offered, its paper, who accepts it in writing\"".to_owned(),
        ),
    ];
    for (_, code, says, help) in missing.into_iter().filter(|(absent, ..)| *absent) {
        faults.push(Fault::on(clause, Cause::CannotBeTested, code, says, help));
    }
    // A test of one kind cannot be a paper of another; that is left to the author. What kind it is must be said.
    if clause.proof.is_none() && is_there(clause.tested.as_ref()) {
        let help = "proof = \"document\", \"visual\" or \"measurement\"";
        faults.push(Fault::on(
            clause,
            Cause::CannotBeTested,
            "no-proof",
            "it is not said whether a paper, a look or a measurement decides",
            help,
        ));
    }
}

/// The limits of a clause, its unit and how the two are compared.
fn limits(bid: &Bid, clause: &Clause, faults: &mut Vec<Fault>) {
    let mut say = |code, says: String, help: String, row: Option<&Row>| {
        let fault = Fault::on(clause, Cause::CannotBeTested, code, says, help);
        faults.push(row.map_or(fault.clone(), |row| fault.in_row(row)));
    };
    if clause.rows.is_empty() {
        say(
            "no-limit",
            "it asks for something and sets no limit".to_owned(),
            "limits = [{ value = ... }]".to_owned(),
            None,
        );
    }
    let quantity = clause.known_quantity();
    let figures = clause.rows.iter().any(|row| matches!(row.demand, Some(Demand::Number(_) | Demand::Range { .. })));
    let of_words = |quantity: &Quantity| quantity.dimension == Dimension::Words;
    match (&clause.unit, clause.known_unit()) {
        (None, _) if figures || quantity.is_some_and(|quantity| !of_words(quantity)) => {
            let fits = quantity.map(|quantity| format!("; units that fit: {}", quantity.dimension.symbols()));
            say(
                "no-unit",
                "its figures have no unit".to_owned(),
                format!("unit = \"...\"{}", fits.unwrap_or_default()),
                None,
            );
        }
        (Some(unit), None) => {
            let fits = quantity.map(|quantity| format!("units that fit: {}", quantity.dimension.symbols()));
            let fits =
                fits.unwrap_or_else(|| "write it as standards do: \"cd\", \"dB(A)\", \"/min\", \"in\"".to_owned());
            say("unknown-unit", format!("`{unit}` is not a unit that is read here"), fits, None);
        }
        (Some(_), Some(unit)) => {
            if let Some(quantity) = quantity.filter(|quantity| quantity.dimension != unit.dimension()) {
                let says = format!("`{unit}` does not fit `{}`, which is {}", quantity.name, quantity.dimension.name());
                say("wrong-unit", says, format!("units that fit: {}", quantity.dimension.symbols()), None);
            }
        }
        (None, _) => {}
    }
    let range = clause.require.is_some_and(Require::asks_a_range);
    for row in &clause.rows {
        let of_no_level = quantity.filter(|quantity| quantity.scope.level == LevelScope::Never);
        if let (Some(quantity), Some(level)) = (of_no_level, &row.level) {
            let says = format!("`{}` has no level: it is of all heights, and `{level}` bounds nothing", quantity.name);
            say("no-such-level", says, "leave `level` out".to_owned(), Some(row));
        }
        match &row.demand {
            None => say(
                "no-limit",
                "this row sets no limit".to_owned(),
                "write `value`, or `from` and `to`".to_owned(),
                Some(row),
            ),
            Some(Demand::Missing { why, see }) => {
                let help = see.as_ref().map_or("look the figure up and write it as `value`".to_owned(), |see| {
                    format!("look it up: {see}; then write it as `value`")
                });
                say("limit-missing", format!("nobody here knows the figure: {why}"), help, Some(row));
            }
            Some(demand) => {
                let fits = match (clause.require, demand) {
                    (None, _) => true,
                    (Some(Require::Exactly), Demand::Range { .. }) => false,
                    (Some(Require::Exactly), _) => true,
                    (Some(Require::Only | Require::NoneOf | Require::SomeOf), demand) => {
                        matches!(demand, Demand::Words(_))
                    }
                    (Some(_), Demand::Number(_)) => !range,
                    (Some(_), Demand::Range { .. }) => range,
                    (Some(_), _) => false,
                };
                if let (false, Some(require)) = (fits, clause.require) {
                    let says = format!("`{}` cannot be asked of {}", require.word(), demand.in_words());
                    let help = "numbers are at-least, at-most or exactly; ranges between or outside; words only, none-of, some-of or exactly";
                    say("wrong-comparison", says, help.to_owned(), Some(row));
                }
            }
        }
    }
    if clause.require.is_none() && !clause.rows.is_empty() {
        let help = "require = \"at-least\", \"at-most\", \"between\", \"outside\", \"only\", \"none-of\", \"some-of\" or \"exactly\"";
        say(
            "no-comparison",
            "it is not said whether the limit is the least, the most or what else".to_owned(),
            help.to_owned(),
            None,
        );
    }
    places(bid, clause, quantity, &mut say);
}

/// Words that cannot be tested, and somebody's products.
fn wording(bid: &Bid, clause: &Clause, names: &[&str], faults: &mut Vec<Fault>) {
    let said =
        [Some(&clause.says), clause.tested.as_ref(), clause.by.as_ref(), clause.when.as_ref(), clause.paper.as_ref()];
    let said = said.into_iter().chain([clause.deviation.as_ref(), clause.source.as_ref()]).flatten();
    let said: Vec<&String> = said.filter(|text| is_said(text)).collect();
    let stands = |words: &str| said.iter().any(|text| stands_in(text, words));
    let mut told: Vec<&str> = Vec::new();
    for unclear in unclear().filter(|unclear| stands(unclear.words)) {
        // With a way to show it, and a limit by which to show it, an equal can be tested.
        let shown = unclear.of_equals() && is_there(bid.equals.as_ref()) && !clause.rows.is_empty();
        // `are bright` in `are bright enough` is told already.
        let goes_on = |longer: &&str| {
            let (first, rest) = longer.split_once(' ').unwrap_or((longer, ""));
            unclear.words.ends_with(first) && stands(&format!("{} {rest}", unclear.words))
        };
        let within = told.iter().any(|longer| longer.contains(unclear.words) || goes_on(longer));
        if within || shown {
            continue;
        }
        told.push(unclear.words);
        let says = format!("`{}`: {}", unclear.words, unclear.why);
        faults.push(Fault::on(clause, Cause::CannotBeTested, "unclear-word", says, unclear.instead));
    }
    let mut of_maker: Vec<&str> = OF_A_MAKER.iter().copied().filter(|words| stands(words)).collect();
    of_maker.extend(names.iter().filter(|name| is_named(&clause.says, name)));
    if let Some(words) = of_maker.first() {
        let says = format!("`{words}`: it asks for somebody's product, not for what it does");
        let help = "write what it does, with figure and test; a product may be named for reference where `equals` says how another is shown";
        faults.push(Fault::on(clause, Cause::CannotBeTested, "brand", says, help));
    }
}

/// Figures that nobody has looked up.
fn basis(clause: &Clause, faults: &mut Vec<Fault>) {
    let known = |row: &&Row| row.demand.is_some() && !row.is_missing();
    let from_memory = clause.rows.iter().filter(known).any(|row| clause.basis_of(row) == Some(Basis::Memory));
    if from_memory && clause.strength != Strength::Caution {
        let source = clause.source.as_deref().unwrap_or("the document that sets it");
        let help = format!("look it up: {source}; then change `basis`");
        faults.push(Fault::on(clause, Cause::Advice, "from-memory", "remembered, not looked up", help));
    }
    if clause.rows.iter().filter(known).any(|row| clause.basis_of(row).is_none()) {
        let says = "it is not said how the limit is known: looked up, remembered, or what the purchaser wants";
        let words: Vec<String> = BASES.iter().map(|(word, ..)| format!("\"{word}\"")).collect();
        faults.push(Fault::on(clause, Cause::Advice, "no-basis", says, format!("basis = {}", words.join(" or "))));
    }
    let source = |row: &Row| clause.source_of(row).is_some_and(is_said);
    let unsourced = clause.rows.iter().filter(known).any(|row| !source(row));
    if unsourced {
        let help = "source = \"document, edition, clause\", or why the purchaser wants it; and basis";
        faults.push(Fault::on(clause, Cause::Advice, "no-source", "it is not said where the limit comes from", help));
    }
}

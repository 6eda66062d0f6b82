//! Documents of a bid: clauses to read, the matrix to fill in, the draft to edit, and what looking a draft over found.

mod colours;
mod grid;
mod html;
mod matrix;
mod over;
mod text;

use crate::bid::{Bid, Clause, Heading, Row};
use crate::load::files::InputFile;
use crate::load::reader::Date;
use crate::ruleset::{Demand, Require, Ruleset, Strength};
use crate::units::{Dimension, format_number};

pub use over::looked_over;

/// A bid and the files that it was made from.
#[derive(Clone, Copy, Debug)]
pub struct BidPaper<'a> {
    /// The clauses.
    pub bid: &'a Bid,
    /// The rulesets that they are of: what their clauses name is said there.
    pub rulesets: &'a [Ruleset],
    /// What they were made from.
    pub inputs: &'a [InputFile],
    /// The day by which overlays are in force.
    pub as_of: Date,
    /// Columns of the terminal.
    pub width: u16,
}

/// Makes a document of a bid; the error is for a person.
pub type WriteBid = fn(&BidPaper<'_>) -> Result<Vec<u8>, String>;

/// Every ending, with how a bid is written to such a file.
pub const BID_ENDINGS: &[(&str, WriteBid)] = &[("html", html::write), ("csv", matrix::write), ("toml", draft)];

/// To be read on a terminal.
pub fn bid_text(paper: &BidPaper<'_>) -> String {
    text::write(paper)
}

fn draft(paper: &BidPaper<'_>) -> Result<Vec<u8>, String> {
    let mut text = crate::bid::to_toml(paper.bid, &super::paper::made_from(paper.inputs));
    let regions = colours::regions(paper);
    if !regions.is_empty() {
        text.push_str(&format!("\n# Colour regions that clauses name. {}\n", colours::REGIONS));
    }
    for (title, lines) in regions {
        let said = std::iter::once(title).chain(lines.iter().map(|line| format!("  {line}")));
        said.for_each(|line| text.push_str(&format!("# {}\n", one_line(&line))));
    }
    Ok(text.into_bytes())
}

/// Nothing that a remark of a TOML file may not hold.
fn one_line(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}

/// Clauses by heading, in the order of the document; headings without a clause are left out.
fn by_heading(bid: &Bid) -> Vec<(Heading, Vec<&Clause>)> {
    let of = |heading: Heading| bid.clauses.iter().filter(|clause| clause.heading == heading).collect::<Vec<_>>();
    let all = Heading::WORDS.iter().map(|(_, heading, _)| (*heading, of(*heading)));
    all.filter(|(_, clauses)| !clauses.is_empty()).collect()
}

/// What a reader has to know before anything else.
fn warnings(bid: &Bid) -> Vec<String> {
    let known = bid.known();
    let mut said = Vec::new();
    if known.memory > 0 {
        said.push(format!(
            "{} of {} limits and terms of zones, levels and flashes are from memory: look each of them up in the document before it goes into a contract.",
            known.memory, known.all
        ));
    }
    if known.missing > 0 {
        said.push(format!(
            "{} of {} are missing: nobody here knows the figure. A clause without its limit cannot be tested.",
            known.missing, known.all
        ));
    }
    said.push("The clauses are in our own words. Where a law or a standard is named, its own text decides.".to_owned());
    said.push("What stands under acceptance, and who does what, is proposed: the purchaser edits it.".to_owned());
    said
}

/// The zones and levels that clauses name, each ruleset's with its name before it.
fn layouts(bid: &Bid) -> Vec<(String, Vec<String>)> {
    bid.layouts.iter().map(|layout| (layout.id.clone(), layout.describe())).collect()
}

/// How a clause's limits are compared, before them.
fn sign(clause: &Clause) -> &'static str {
    match clause.require {
        Some(Require::AtLeast) => "at least",
        Some(Require::AtMost) => "at most",
        Some(Require::Between) => "from",
        Some(Require::Outside) => "not from",
        Some(Require::Only) => "only",
        Some(Require::NoneOf) => "none of",
        Some(Require::SomeOf) => "at least one of",
        Some(Require::Exactly) => "exactly",
        None => "",
    }
}

/// The unit as a reader needs it; words have none.
fn unit_of(clause: &Clause) -> &str {
    let words = clause.known_unit().is_some_and(|unit| unit.dimension() == Dimension::Words);
    clause.unit.as_deref().filter(|_| !words).unwrap_or_default()
}

/// `1,000,000`, `75 to 125`, `red, blue`, `missing`.
fn figure(demand: Option<&Demand>) -> String {
    let number = |value: f64| {
        let digits = (0..6).find(|digits| format_number(value, *digits).replace(',', "").parse() == Ok(value));
        format_number(value, digits.unwrap_or(6))
    };
    match demand {
        None => "not said".to_owned(),
        Some(Demand::Number(value)) => number(*value),
        Some(Demand::Range { from, to }) => format!("{} to {}", number(*from), number(*to)),
        Some(Demand::Words(words)) if words.is_empty() => "none".to_owned(),
        Some(Demand::Words(words)) => words.join(", "),
        Some(Demand::Missing { .. }) => "missing".to_owned(),
    }
}

/// `at least 75 /min`, for a limit that stands alone.
fn demanded(clause: &Clause, demand: Option<&Demand>) -> String {
    let figure = figure(demand);
    if matches!(demand, None | Some(Demand::Missing { .. })) {
        return figure;
    }
    // One of one word is that word.
    let alone =
        matches!((clause.require, demand), (Some(Require::SomeOf), Some(Demand::Words(words))) if words.len() == 1);
    let sign = if alone { "" } else { sign(clause) };
    [sign, &figure, unit_of(clause)].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

/// What a clause is worth.
fn weight(clause: &Clause) -> &'static str {
    match clause.strength {
        Strength::Required => "required",
        Strength::Advice => "advice: the figure is to be stated, and need not be met",
        Strength::Caution => "caution: to be heeded, never a verdict",
    }
}

/// In which use a limit holds; of a change, from which into which.
fn use_of(row: &Row) -> Option<String> {
    match (&row.purpose, &row.leads_to) {
        (Some(from), Some(to)) => Some(format!("from {from} to {to}")),
        (None, Some(to)) => Some(format!("to {to}")),
        (from, None) => from.clone(),
    }
}

/// Where a limit holds, in words.
fn holds(row: &Row) -> String {
    let parts = [&row.level, &row.zone, &row.colour, &row.class, &row.item];
    let parts = use_of(row).into_iter().chain(parts.into_iter().flatten().cloned());
    parts.collect::<Vec<_>>().join(" ")
}

/// Where a limit holds, before what it asks.
fn before(row: &Row) -> String {
    let holds = holds(row);
    if holds.is_empty() { holds } else { format!("{holds}: ") }
}

/// What is found, of which lamps or sounders, and how one looks; nothing where the draft does not say.
fn found(bid: &Bid, clause: &Clause) -> Option<String> {
    let found = clause.known_quantity().map(|quantity| quantity.says.to_owned());
    let mut looks = clause.looks();
    let of_signals = |says: &str| says.contains(" a signal") || says.contains("whose signal");
    if clause.layout.is_some() && clause.known_quantity().is_some_and(|quantity| of_signals(quantity.says)) {
        looks.push("how much light is a signal: see Zones, levels and flashes".to_owned());
    }
    let looks = looks.into_iter().chain(colours::counted(bid, clause));
    found.map(|found| std::iter::once(found).chain(looks).collect::<Vec<_>>().join("; "))
}

/// All parts of a clause but its limits: a label and what is said.
fn parts(bid: &Bid, clause: &Clause) -> Vec<(&'static str, String)> {
    let mut parts: Vec<(&'static str, String)> = Vec::new();
    let mut add =
        |label, text: Option<String>| parts.extend(text.filter(|text| !text.is_empty()).map(|text| (label, text)));
    add("Found", found(bid, clause));
    let tested = clause.tested.clone().unwrap_or_else(|| "not said".to_owned());
    add("Tested", Some(clause.proof.map_or(tested.clone(), |proof| format!("{}: {tested}", proof.word()))));
    add("By", Some(clause.by.clone().unwrap_or_else(|| "not said".to_owned())));
    add("When", Some(clause.when.clone().unwrap_or_else(|| "not said".to_owned())));
    add("Paper", Some(clause.paper.clone().unwrap_or_else(|| "not said".to_owned())));
    add("Deviation", clause.deviation.clone());
    add("Source", Some(source(clause)));
    for row in &clause.rows {
        if let Some(Demand::Missing { why, see }) = &row.demand {
            let here = before(row);
            let see = see.as_deref().map(|see| format!("; look up {see}")).unwrap_or_default();
            add("Missing", Some(format!("{here}{why}{see}")));
        }
    }
    parts
}

/// Where the limits come from, each source once, with its basis.
fn source(clause: &Clause) -> String {
    let mut said: Vec<String> = Vec::new();
    for row in &clause.rows {
        let basis = clause.basis_of(row).map_or("basis not said", crate::ruleset::Basis::word);
        let line = format!("{} [{basis}]", clause.source_of(row).unwrap_or("not said"));
        if !said.contains(&line) {
            said.push(line);
        }
    }
    if said.is_empty() { "not said".to_owned() } else { said.join("; ") }
}

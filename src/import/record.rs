//! What comes of a sheet: records of lamps and circuits, and what is doubtful about them; and which cells say nothing.

use std::collections::{BTreeMap, BTreeSet};

use super::words::slug;
use crate::load::reader::is_name;

/// Stands for what the sheet does not say for sure; no reader of a package takes it.
pub(super) const DOUBTFUL: &str = "?";

/// A lamp or a circuit, its cells by their meaning, as a package writes them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// Its id.
    pub id: String,
    /// Where it stands: sheet and row.
    pub place: String,
    /// What is said of it; [`Value`] in `?` where it is doubtful.
    pub cells: BTreeMap<&'static str, Value>,
    /// What stands beside and has no place in a package.
    pub remarks: Vec<String>,
    /// Of which cells the sheet has a column. What it has none for is as the package says it, where there is one.
    pub columns: BTreeSet<&'static str>,
}

/// A cell as a package writes it.
pub type Value = String;

impl Record {
    /// A cell that is not empty.
    pub(super) fn get(&self, name: &str) -> Option<&str> {
        self.cells.get(name).map(String::as_str).filter(|text| !text.is_empty())
    }

    pub(super) fn set(&mut self, name: &'static str, value: impl Into<String>) {
        self.cells.insert(name, value.into());
    }
}

/// Something that a person has to look at, or that was read from words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    /// The cell, or the row.
    pub place: String,
    /// The lamp or circuit.
    pub id: String,
    /// Which of its cells.
    pub what: &'static str,
    /// Why.
    pub why: String,
}

/// All that was read.
#[derive(Clone, Debug, Default)]
pub struct Imported {
    /// Lamps, in the order of the sheet.
    pub lamps: Vec<Record>,
    /// Circuits, in the order in which they were met.
    pub circuits: Vec<Record>,
    /// What is `?` in the package.
    pub doubts: Vec<Doubt>,
    /// What a remark may say of a lamp. Nothing is `?` for it, and it is open until somebody has looked.
    pub asked: Vec<Doubt>,
    /// What does not add up, and stands nowhere in the package.
    pub counts: Vec<Doubt>,
    /// What was read from words of another cell.
    pub derived: Vec<Doubt>,
    /// What else there is to say.
    pub notes: Vec<String>,
    /// What stands in the sheet for each name that was made of it; names of one kind only are held against each other.
    pub(super) names: BTreeMap<(&'static str, String), String>,
}

impl Imported {
    pub(super) fn doubt(&mut self, record: &mut Record, place: &str, what: &'static str, why: impl Into<String>) {
        record.set(what, DOUBTFUL);
        self.doubts.push(Doubt { place: place.to_owned(), id: record.id.clone(), what, why: why.into() });
    }

    /// See [`Imported::asked`].
    pub(super) fn ask(&mut self, record: &Record, place: &str, what: &'static str, why: &str) {
        let why =
            format!("{why} It is kept as the columns say; [[reads]] of `notes` in the mapping settles the remark");
        self.asked.push(Doubt { place: place.to_owned(), id: record.id.clone(), what, why });
    }

    /// The name that a text has in a package.
    ///
    /// # Errors
    /// Says that it has none, or that another text has the same: whether both mean one thing only a person knows.
    pub(super) fn name_of(&mut self, kind: &'static str, text: &str) -> Result<String, String> {
        let name = if is_name(text) { text.to_owned() } else { slug(text) };
        if name.is_empty() {
            return Err(format!("`{text}` cannot be a name"));
        }
        match self.names.entry((kind, name.clone())).or_insert_with(|| text.to_owned()) {
            known if known.to_lowercase() == text.to_lowercase() => Ok(name),
            known => Err(format!("`{text}` and `{known}` are both `{name}`: do they mean the same? Write them alike")),
        }
    }

    pub(super) fn derive(&mut self, record: &mut Record, place: &str, what: &'static str, value: &str, why: &str) {
        record.set(what, value);
        let why = format!("`{value}`, from {why}");
        self.derived.push(Doubt { place: place.to_owned(), id: record.id.clone(), what, why });
    }
}

/// Stands for a formula of which the file holds no value.
pub(super) const NOT_CALCULATED: &str = "formula without a value";

/// Signs and words for `the same as above`.
const DITTO: &[&str] = &[
    "\"",
    "''",
    "\u{2033}",
    "\u{201d}",
    "\u{201c}",
    "\u{3003}",
    "-\"-",
    "\" \"",
    "ditto",
    "do",
    "do.",
    "-do-",
    "same",
    "as above",
    "same as above",
    "see above",
];

/// Words that stand where nothing is known.
const UNKNOWN: &[&str] = &[
    "tbd",
    "tba",
    "tbc",
    "t.b.d.",
    "to be determined",
    "to be confirmed",
    "n/a",
    "n.a.",
    "na",
    "unknown",
    "not known",
    "see note",
    "see notes",
];

/// Why a cell says nothing of its own: it holds what a spreadsheet shows where a formula went wrong, a sign that nothing is
/// known, or one that stands for another cell. None of a cell that says something.
pub(super) fn why_nothing(text: &str) -> Option<String> {
    let small = text.trim().to_lowercase();
    let says = || format!("the cell says `{text}`");
    if small == NOT_CALCULATED {
        let why = "a formula, and the file holds no value of it: open it in a spreadsheet, let it calculate, save it";
        return Some(why.to_owned());
    }
    if DITTO.contains(&small.as_str()) {
        return Some(format!("{}: write out what it repeats", says()));
    }
    let is_error = text.starts_with('#')
        && text.ends_with(['!', '?', 'A', '0'])
        && text.len() > 3
        && small.chars().any(|c| c == '/' || c == '!' || c == '?');
    let is_sign = !small.is_empty()
        && small.chars().all(|c| matches!(c, '?' | '-' | '\u{2013}' | '\u{2014}' | '.' | ',' | ';' | '*' | '/' | ' '));
    let nothing = is_error || is_sign || UNKNOWN.contains(&small.as_str()) || small.starts_with("date ");
    nothing.then(says)
}

/// See [`why_nothing`].
pub(super) fn says_nothing(text: &str) -> bool {
    why_nothing(text).is_some()
}

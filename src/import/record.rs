//! What comes of a sheet: records of lamps and circuits, and what is doubtful about them. And the sheet as its mapping
//! reads it: rows of cells by their meaning.

use std::collections::BTreeMap;

use super::book::{Book, Row, Sheet, letters};
use super::columns::{Field, Measures};
use super::figures::{Writing, amount};
use super::mapping::{ColumnMap, Mapping, SheetMap};
use crate::units::Amount;

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
    /// What was read from words of another cell.
    pub derived: Vec<Doubt>,
    /// What else there is to say.
    pub notes: Vec<String>,
}

impl Imported {
    pub(super) fn doubt(&mut self, record: &mut Record, place: &str, what: &'static str, why: impl Into<String>) {
        record.set(what, DOUBTFUL);
        self.doubts.push(Doubt { place: place.to_owned(), id: record.id.clone(), what, why: why.into() });
    }

    pub(super) fn derive(&mut self, record: &mut Record, place: &str, what: &'static str, value: &str, why: &str) {
        record.set(what, value);
        let why = format!("`{value}`, from {why}");
        self.derived.push(Doubt { place: place.to_owned(), id: record.id.clone(), what, why });
    }
}

/// A sheet as its mapping reads it.
pub(super) struct Reading<'a> {
    pub sheet: &'a Sheet,
    pub mapping: &'a Mapping,
    pub comma: bool,
    /// Row of the heads.
    head: &'a Row,
    /// Place of each column in the sheet, and what it means.
    columns: Vec<(usize, &'a ColumnMap)>,
}

/// A cell that is not empty.
#[derive(Clone, Debug)]
pub(super) struct Cell<'a> {
    /// What is read: the cell's text, or what the mapping says it means.
    pub text: String,
    /// Where it stands, for a person.
    pub place: String,
    pub column: &'a ColumnMap,
}

impl<'a> Reading<'a> {
    /// Finds the sheet, its heads and its columns; columns may have moved since.
    pub fn new(book: &'a Book, of_sheet: &'a SheetMap, mapping: &'a Mapping) -> Result<Self, String> {
        let named = book.sheets.iter().find(|sheet| sheet.name == of_sheet.name);
        // A text file is its only sheet, whatever it is called now.
        let only = book.sheets.first().filter(|_| book.sheets.len() == 1 && mapping.sheets.len() == 1);
        let sheet = named.or(only).ok_or_else(|| {
            let names: Vec<&str> = book.sheets.iter().map(|sheet| sheet.name.as_str()).collect();
            format!("the mapping speaks of a sheet `{}`; there are: {}", of_sheet.name, names.join(", "))
        })?;
        let used: Vec<&ColumnMap> = of_sheet.columns.iter().filter(|column| column.means.is_some()).collect();
        let has = |row: &Row, column: &ColumnMap| row.cells.contains(&column.head);
        let holds_all = |row: &&Row| used.iter().all(|column| has(row, column));
        let there = sheet.rows.iter().find(|row| row.number == of_sheet.head_row).filter(holds_all);
        let head = there.or_else(|| sheet.rows.iter().find(holds_all)).ok_or_else(|| {
            let near = sheet.rows.iter().find(|row| row.number == of_sheet.head_row);
            let lost = used.iter().filter(|column| near.is_none_or(|row| !has(row, column)));
            let lost: Vec<String> = lost.map(|column| format!("`{}`", column.head)).collect();
            format!(
                "no row of the sheet `{}` has all heads of the mapping any more; row {} has no {}: make the mapping anew, or put the heads right",
                sheet.name,
                of_sheet.head_row,
                lost.join(", ")
            )
        })?;
        let mut columns = Vec::new();
        for column in used {
            let places: Vec<usize> =
                head.cells.iter().enumerate().filter(|(_, cell)| **cell == column.head).map(|(at, _)| at).collect();
            // Of heads that stand twice the one in its old place.
            let at = places.iter().find(|at| **at == column.at).or(places.first());
            if let Some(at) = at {
                columns.push((*at, column));
            }
        }
        for (at, (_, column)) in columns.iter().enumerate() {
            let means = column.means.map_or("", |means| means.name);
            let twice = columns.iter().skip(at + 1).any(|(_, other)| other.means == column.means);
            if twice && means != "notes" {
                return Err(format!("two columns of the sheet `{}` mean `{means}`: keep one of them", sheet.name));
            }
        }
        Ok(Self { sheet, mapping, comma: of_sheet.comma, head, columns })
    }

    pub fn has(&self, name: &str) -> bool {
        self.columns.iter().any(|(_, column)| column.means.is_some_and(|means| means.name == name))
    }

    /// Whether rows stand for lamps: something is said that only lamps have.
    pub fn speaks_of_lamps(&self) -> bool {
        let of_lamp = |field: &Field| !field.of_circuit && !matches!(field.name, "circuit" | "notes" | "current");
        self.columns.iter().filter_map(|(_, column)| column.means).any(of_lamp)
    }

    /// Whether something is said of circuits, and which they are.
    pub fn speaks_of_circuits(&self) -> bool {
        self.has("circuit") && self.columns.iter().filter_map(|(_, column)| column.means).any(|field| field.of_circuit)
    }

    /// The place of a row, for a person.
    pub fn row_place(&self, row: &Row) -> String {
        format!("{} row {}", self.sheet.name, row.number)
    }

    /// The rows of the schedule: without the head where it is repeated, headings between rows and sums below.
    pub fn rows(&self, notes: &mut Vec<String>) -> Vec<&'a Row> {
        let mut rows = Vec::new();
        for row in self.sheet.rows.iter().filter(|row| row.number > self.head.number) {
            let known = self.columns.iter().filter(|(at, _)| !row.cell(*at).is_empty()).count();
            let first = row.cells.iter().find(|cell| !cell.is_empty()).map_or("", String::as_str);
            let small = first.to_lowercase();
            let is_sum = ["total", "sum", "totals", "subtotal", "sub-total"].iter().any(|word| {
                small == *word || small.starts_with(&format!("{word} ")) || small.starts_with(&format!("{word}:"))
            });
            let place = self.row_place(row);
            if self.columns.iter().all(|(at, column)| row.cell(*at) == column.head) {
                notes.push(format!("{place}: the heads again, passed over"));
            } else if is_sum {
                notes.push(format!("{place}: `{first}`: a sum, passed over"));
            } else if row.filled() == 1 && self.columns.len() > 2 {
                notes.push(format!("{place}: `{first}` stands alone: taken for a heading, passed over"));
            } else if known > 0 {
                rows.push(row);
            } else {
                notes.push(format!("{place}: nothing in a column that is read, passed over"));
            }
        }
        rows
    }

    /// The cell of a row that means this; `id` is that of the lamp or circuit, where it is known.
    pub fn cell(&self, row: &Row, name: &str, id: &str) -> Option<Cell<'a>> {
        let (at, column) =
            self.columns.iter().find(|(_, column)| column.means.is_some_and(|means| means.name == name))?;
        self.cell_at(row, *at, column, id)
    }

    fn cell_at(&self, row: &Row, at: usize, column: &'a ColumnMap, id: &str) -> Option<Cell<'a>> {
        let said = row.cell(at);
        let means = column.means?;
        let reads = self
            .mapping
            .reads
            .iter()
            .find(|one| one.column == means && one.says == said && one.id.as_ref().is_none_or(|known| known == id));
        let text = reads.map_or(said, |one| one.reads.as_str()).trim().to_owned();
        let place = format!("{}!{}{}", self.sheet.name, letters(at), row.number);
        (!text.is_empty()).then_some(Cell { text, place, column })
    }

    /// All remarks of a row.
    pub fn notes(&self, row: &Row) -> Vec<String> {
        let of_it = self.columns.iter().filter(|(_, column)| column.means.is_some_and(|means| means.name == "notes"));
        of_it.filter_map(|(at, column)| self.cell_at(row, *at, column, "")).map(|cell| cell.text).collect()
    }

    /// A cell as an amount.
    pub fn amount(&self, cell: &Cell<'_>) -> Result<Amount, String> {
        let Some(Measures::Figure(dimension)) = cell.column.means.map(|means| means.measures) else {
            return Err(format!("`{}` is no figure", cell.text));
        };
        amount(&cell.text, dimension, Writing { unit: cell.column.unit_of(dimension), comma: self.comma })
    }
}

/// Whether a cell holds what a spreadsheet shows where a formula went wrong, or a sign that nothing is known.
pub(super) fn says_nothing(text: &str) -> bool {
    let small = text.trim().to_lowercase();
    text.starts_with('#')
        && text.ends_with(['!', '?', 'A', '0'])
        && text.len() > 3
        && small.chars().any(|c| c == '/' || c == '!' || c == '?')
        || matches!(
            small.as_str(),
            "tbd" | "tba" | "tbc" | "?" | "??" | "???" | "n/a" | "unknown" | "-" | "--" | "see note"
        )
        || small.starts_with("date ")
}

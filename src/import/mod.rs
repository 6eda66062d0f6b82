//! Spreadsheets that people keep, made into packages: a sheet is read, a meaning is proposed for each of its columns, a
//! person confirms it in a file, and only then lamps and circuits are made of it. What a cell does not say for sure
//! becomes `?`, which the package's reader refuses, and is listed.
//!
//! `book` and `packed` read files into rows of text, `bounds` says how many, `shown` what else a workbook shows of them;
//! `columns`, `heads` and `propose` say what a column may mean; `mapping` is the file to confirm; `reading` is a sheet as it reads it;
//! `figures`, `words` and `hints` read cells; `lamps`, `place` and `circuits` make records of rows, `against` tells what does
//! not fit; `library` knows the models of catalogues, `models`, `onto` and `write` make files of records; `differ` compares
//! them with what was made `before`.

use std::collections::BTreeSet;

mod against;
mod before;
pub mod book;
mod bounds;
mod circuits;
mod columns;
mod differ;
mod figures;
mod heads;
mod hints;
mod lamps;
mod library;
mod mapping;
mod models;
mod onto;
mod packed;
mod place;
mod propose;
mod reading;
mod record;
mod shown;
mod words;
mod write;

pub use before::{Before, made_before};
pub use book::{Book, Row, Sheet, read_book};
pub use columns::{FIELDS, Field, Measures};
pub use differ::{Change, differ};
pub use library::Library;
pub use mapping::{ColumnMap, Mapping, SheetMap, read_mapping, to_text};
pub use onto::{Onto, read_onto};
pub use packed::texts_of;
pub use propose::propose;
pub use record::{Doubt, Imported, Record, Value};
pub use write::{Files, made};

/// How a package is read beside a sheet; of lamps and circuits alike.
const BLANK: &str = "what the sheet has no column for is as the package says it; an empty cell of a column that it has takes out what the package says there, and is told as a change";

/// Makes records of the sheets that a confirmed mapping speaks of.
///
/// # Errors
/// Says which column of the mapping the sheet does not have.
pub fn imported(book: &Book, mapping: &Mapping, onto: Option<&Onto>) -> Result<Imported, String> {
    let mut imported = Imported::default();
    let mut speaks_of_lamps = false;
    let (mut heads, mut met) = (Vec::new(), BTreeSet::new());
    for of_sheet in &mapping.sheets {
        let reading = reading::Reading::new(book, of_sheet, mapping)?;
        let head = (reading.sheet.name.clone(), reading.met().0);
        if heads.contains(&head) {
            return Err(format!("the mapping reads the table of the sheet `{}` in row {} twice", head.0, head.1));
        }
        heads.push(head);
        imported.counts.extend(reading.columns_beyond(of_sheet));
        if reading.sheet.is_hidden {
            imported
                .notes
                .push(format!("{}: this sheet is hidden, and read since the mapping names it", of_sheet.name));
        }
        if reading.speaks_of_lamps() {
            speaks_of_lamps = true;
            lamps::read(&reading, onto, &mut imported);
        }
        if reading.speaks_of_circuits() {
            circuits::read(&reading, &mut imported);
        }
        met.extend(reading.met().1);
        let aside = of_sheet.columns.iter().filter(|column| column.means.is_none() && !column.head.is_empty());
        let aside: Vec<String> = aside.map(|column| format!("`{}`", column.head)).collect();
        if !aside.is_empty() {
            imported.notes.push(format!(
                "{}: columns left aside, as the mapping says: {}",
                of_sheet.name,
                aside.join(", ")
            ));
        }
    }
    against::what_is_not_read(book, mapping, &heads, &met, &mut imported);
    if let Some(onto) = onto {
        if !speaks_of_lamps && !imported.circuits.is_empty() {
            imported.lamps = onto.before().lamps;
            imported.notes.push("no sheet speaks of lamps: they are as the package says".to_owned());
        }
        imported.notes.push(BLANK.to_owned());
    }
    Ok(imported)
}

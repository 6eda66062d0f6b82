//! Rows to circuits: one a name; what several rows say of one has to agree.

use super::book::Row;
use super::figures::wire_size;
use super::reading::Reading;
use super::record::{DOUBTFUL, Doubt, Imported, Record};
use super::words::slug;
use crate::electrical::FuseKind;

const FIGURES: [&str; 6] = ["fuse-rating", "fuse-ambient", "wire-length", "insulation", "copper", "ampacity"];
/// What a package has no place for.
const REMARKS: [&str; 2] = ["wire-colour", "feeds"];

/// Adds the circuits of a sheet.
pub(super) fn read(reading: &Reading<'_>, imported: &mut Imported) {
    // Where the sheet is of lamps too, this has been said.
    let mut said = Imported::default();
    let rows = reading.rows(if reading.speaks_of_lamps() { &mut said } else { &mut *imported });
    for row in rows {
        let place = reading.row_place(row);
        let Some(name) = reading.cell(row, "circuit", "") else {
            // A lamp without a circuit, or a row that nobody can use.
            if !reading.speaks_of_lamps() {
                imported.notes.push(format!("{place}: names no circuit, passed over"));
            }
            continue;
        };
        if let Some(why) = name.why_nothing() {
            // Of a lamp's row it is told at the lamp.
            if !reading.speaks_of_lamps() {
                let why = format!("{why}: which circuit is it? The row is passed over");
                imported.doubts.push(Doubt { place: name.place, id: String::new(), what: "circuit", why });
            }
            continue;
        }
        let (id, clash) = match imported.name_of("circuit", &name.text) {
            Ok(id) => (id, None),
            Err(why) if slug(&name.text).is_empty() => {
                imported.notes.push(format!("{}: {why} of a circuit, passed over", name.place));
                continue;
            }
            // What two rows with names of their own say is never mixed.
            Err(why) => (format!("{}-row-{}", slug(&name.text), row.number), Some(why)),
        };
        let before = imported.doubts.len();
        let columns = reading.meanings().collect();
        let mut record = Record { id: id.clone(), place: place.clone(), columns, ..Record::default() };
        if id != name.text && clash.is_none() && !reading.speaks_of_lamps() {
            imported.derive(&mut record, &name.place, "circuit", &id, &format!("`{}`, which is no name", name.text));
            record.cells.remove("circuit");
        }
        fill(reading, row, &mut record, imported);
        if let Some(why) = clash {
            imported.doubt(&mut record, &name.place, "from", why);
        }
        match imported.circuits.iter().position(|known| known.id == id) {
            None => imported.circuits.push(record),
            Some(at) => {
                let doubts = imported.doubts.split_off(before);
                let Some(mut known) = imported.circuits.get(at).cloned() else { continue };
                join(&mut known, record, imported);
                for doubt in doubts {
                    // What is doubtful already was told of an earlier row.
                    if known.get(doubt.what) != Some(DOUBTFUL) {
                        known.set(doubt.what, DOUBTFUL);
                        imported.doubts.push(doubt);
                    }
                }
                if let Some(slot) = imported.circuits.get_mut(at) {
                    *slot = known;
                }
            }
        }
    }
}

fn fill(reading: &Reading<'_>, row: &Row, record: &mut Record, imported: &mut Imported) {
    let id = record.id.clone();
    let mut cell = |name: &'static str, record: &mut Record| {
        let cell = reading.cell(row, name, &id)?;
        if let Some(why) = cell.why_nothing() {
            imported.doubt(record, &cell.place, name, why);
            return None;
        }
        Some(cell)
    };
    let mut figures = Vec::new();
    for name in FIGURES {
        figures.extend(cell(name, record).map(|cell| (name, cell)));
    }
    let (from, kind) = (cell("from", record), cell("fuse-kind", record));
    let (size, strand, engine) = (cell("wire-size", record), cell("strand", record), cell("engine-space", record));
    for (name, cell) in figures {
        // `15 A blade`: the kind of the fuse stands behind its rating.
        let spoken = if name == "fuse-rating" {
            kind_of(&cell.text).map(|(rest, kind)| (rest, kind, cell.clone()))
        } else {
            None
        };
        let mut figure = cell.clone();
        if let Some((rest, word, cell)) = spoken {
            figure.text = rest;
            if kind.is_none() {
                imported.derive(record, &cell.place, "fuse-kind", word, &format!("`{}`", cell.text));
            }
        }
        match reading.amount(&figure) {
            Ok(amount) => record.set(name, amount.to_string()),
            Err(why) => imported.doubt(record, &cell.place, name, why),
        }
    }
    if let Some(cell) = from {
        // A circuit may feed another.
        match imported.name_of("circuit", &cell.text) {
            Ok(name) => record.set("from", name),
            Err(why) => imported.doubt(record, &cell.place, "from", why),
        }
    }
    if let Some(cell) = kind {
        match kind_of(&format!("1 {}", cell.text)) {
            Some((_, word)) => record.set("fuse-kind", word),
            None => {
                let why = format!("`{}` is not one of blade, large-blade, breaker, other", cell.text);
                imported.doubt(record, &cell.place, "fuse-kind", why);
            }
        }
    }
    if let Some(cell) = size {
        match wire_size(&cell.text, cell.column.gauge(), reading.comma) {
            Ok(size) => record.set("wire-size", size),
            Err(why) => imported.doubt(record, &cell.place, "wire-size", why),
        }
    }
    if let Some(cell) = strand {
        match cell.text.to_lowercase().as_str() {
            word @ ("solid" | "stranded") => record.set("strand", word),
            _ => imported.doubt(record, &cell.place, "strand", format!("`{}`: solid or stranded?", cell.text)),
        }
    }
    if let Some(cell) = engine {
        match cell.text.to_lowercase().as_str() {
            "yes" | "true" | "x" | "y" => record.set("engine-space", "yes"),
            "no" | "false" | "n" => {}
            _ => imported.doubt(record, &cell.place, "engine-space", format!("`{}`: yes or no?", cell.text)),
        }
    }
    for name in REMARKS {
        if let Some(cell) = reading.cell(row, name, &record.id) {
            record.remarks.push(format!("{}: {}", name.replace('-', " "), cell.text));
        }
    }
    if !reading.speaks_of_lamps() {
        record.remarks.extend(reading.notes(row, &record.id));
    }
}

/// A text without the kind of fuse that it ends in.
pub(super) fn kind_of(text: &str) -> Option<(String, &'static str)> {
    const WORDS: &[(&str, FuseKind)] = &[
        ("large blade", FuseKind::LargeBlade),
        ("large-blade", FuseKind::LargeBlade),
        ("blade fuse", FuseKind::Blade),
        ("blade", FuseKind::Blade),
        ("circuit breaker", FuseKind::Breaker),
        ("breaker", FuseKind::Breaker),
        ("cb", FuseKind::Breaker),
        ("other", FuseKind::Other),
    ];
    let small = text.trim().to_lowercase();
    WORDS.iter().find_map(|(word, kind)| {
        let rest = small.strip_suffix(word)?;
        // A word of its own.
        (rest.is_empty() || rest.ends_with(' ')).then(|| (rest.trim().to_owned(), kind.word()))
    })
}

/// What another row says of a circuit that is known.
fn join(known: &mut Record, other: Record, imported: &mut Imported) {
    for (name, value) in other.cells {
        match known.cells.get(name) {
            Some(said) if *said == value || said == DOUBTFUL || value == DOUBTFUL => {}
            Some(said) => {
                let why = format!("{} says `{said}`, this row `{value}`", known.place);
                let place = other.place.clone();
                imported.doubt(known, &place, name, why);
            }
            None if value != DOUBTFUL => known.set(name, value),
            None => {}
        }
    }
    known.columns.extend(other.columns);
    for remark in other.remarks {
        if !known.remarks.contains(&remark) {
            known.remarks.push(remark);
        }
    }
}

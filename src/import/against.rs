//! What a sheet says against what is known otherwise: sums against the lamps that were made, and what a package cannot take
//! over against what it shows. None of it is ever lost without a word.

use std::collections::BTreeSet;

use super::book::{Book, letters, tidy};
use super::differ::same;
use super::figures::number;
use super::lamps::OfRow;
use super::mapping::Mapping;
use super::propose::looks_like_schedule;
use super::reading::Reading;
use super::record::{DOUBTFUL, Doubt, Imported, Record};
use crate::package::Beside;

/// The workbook's title of the colours of a model.
const COLOURS: &str = "colours";

/// Holds sums against the lamps that were made of the rows above, each with its number.
pub(super) fn count_again(reading: &Reading<'_>, made: &[(usize, usize)], imported: &mut Imported) {
    let mut last = 0;
    for (number, place, is_all, said) in reading.sums() {
        let above = made.iter().filter(|(row, _)| *row < number);
        let all: usize = above.clone().map(|(_, lamps)| lamps).sum();
        let since: usize = above.filter(|(row, _)| *row > last).map(|(_, lamps)| lamps).sum();
        last = number;
        let Some(said) = said else { continue };
        if said != all && (is_all || said != since) {
            let since = if is_all || since == all { String::new() } else { format!(", {since} since the sum before") };
            let why = format!("? {said} lamps by this sum; {all} were made of the rows above{since}");
            imported.counts.push(Doubt { place, id: String::new(), what: "quantity", why });
        }
    }
}

/// What stands in the file and is not read, though somebody may think so: sheets that came after the mapping, `[[reads]]`
/// of cells that are not there, readings in the workbook's sheet of them. `heads` are the sheets that are read, `met` the
/// `[[reads]]` that were.
pub(super) fn what_is_not_read(
    book: &Book,
    mapping: &Mapping,
    heads: &[(String, usize)],
    met: &BTreeSet<usize>,
    imported: &mut Imported,
) {
    for sheet in book.sheets.iter().filter(|sheet| heads.iter().all(|(read, _)| *read != sheet.name)) {
        let is_new = mapping.aside.as_ref().is_some_and(|aside| !aside.contains(&sheet.name));
        if is_new && looks_like_schedule(sheet) {
            let why = "this sheet looks like a schedule, the mapping does not speak of it, and it is not read: make the mapping anew, or name the sheet in its `aside`";
            let (place, why) = (sheet.name.clone(), why.to_owned());
            imported.counts.push(Doubt { place, id: String::new(), what: "sheet", why });
        } else if is_new {
            imported
                .notes
                .push(format!("{}: the mapping does not speak of this sheet, and it is not read", sheet.name));
        }
    }
    let mut tell = |place: String, what: &'static str, why: String| {
        imported.counts.push(Doubt { place, id: String::new(), what, why });
    };
    for (_, reads) in mapping.reads.iter().enumerate().filter(|(at, _)| !met.contains(at)) {
        let of = reads.id.as_ref().map(|id| format!(" of {id}")).unwrap_or_default();
        let why =
            format!("[[reads]]: no cell of `{}`{of} says `{}`, so this does nothing", reads.column.name, reads.says);
        tell("the mapping".to_owned(), "reads", why);
    }
    for sheet in &book.sheets {
        let Some((head, rows)) = sheet.rows.split_first() else { continue };
        let column = |title: &str| head.cells.iter().position(|cell| cell == title);
        let (Some(line), Some(reading), Some(verdict)) = (column("line"), column("reading"), column("verdict")) else {
            continue;
        };
        for row in rows.iter().filter(|row| !row.cell(reading).is_empty() && row.cell(verdict).is_empty()) {
            let place = format!("{}!{}{}", sheet.name, letters(reading), row.number);
            let why = format!(
                "a reading of `{}` is written here and not taken: it belongs into the acceptance sheet, for `wayproof readings`",
                row.cell(line)
            );
            tell(place, "reading", why);
        }
    }
}

impl OfRow<'_, '_> {
    /// What the sheet shows in columns that are left aside, against what the package would show there.
    pub(super) fn compare_beside(&self, record: &mut Record, imported: &mut Imported) {
        let Some(onto) = self.onto else { return };
        let model = self.reading.cell(self.row, "model", &record.id).map(|cell| cell.text);
        let model = model.or_else(|| record.get("model").map(str::to_owned)).unwrap_or_default();
        let mut open = Vec::new();
        for (title, shown) in onto.beside(&record.id, &model) {
            let Some((said, place)) = self.reading.headed(self.row, title) else { continue };
            let is_it = |shown: &&Beside| match shown {
                Beside::Nothing => said.is_empty(),
                Beside::Number(shown) => {
                    let said = number(&said, self.reading.comma);
                    said.is_ok_and(|said| (said - shown).abs() <= 1e-9 * shown.abs().max(1.0))
                }
                Beside::Words(shown) => tidy(shown) == said,
            };
            if shown.iter().any(is_it) || shown.is_empty() && said.is_empty() {
                continue;
            }
            let named = |beside: &&Beside| match beside {
                Beside::Nothing => "nothing".to_owned(),
                Beside::Number(number) => number.to_string(),
                Beside::Words(words) => format!("`{words}`"),
            };
            let was = shown.first().map_or_else(|| "nothing".to_owned(), named);
            let said = if said.is_empty() { "nothing".to_owned() } else { format!("`{said}`") };
            let why = format!(
                "the sheet says {said}, the package shows {was}; this column is not taken over: change it in the package, or put the cell right"
            );
            open.push((title, place, why));
        }
        for (title, place, why) in open {
            imported.doubt(record, &place, title, why);
        }
    }

    /// A colour that the model of the package cannot show was swapped, in one of the two.
    pub(super) fn check_colour(&self, record: &mut Record, imported: &mut Imported) {
        let known = record.get("model").and_then(|model| self.onto.and_then(|onto| onto.colours(model)));
        // A workbook shows every colour of the model: there an empty cell was edited too.
        let shown = self.reading.headed(self.row, COLOURS);
        let said = match (record.get("colour"), &shown) {
            (Some(DOUBTFUL), _) | (None, None) => return,
            (Some(said), _) => said.to_owned(),
            (None, Some((said, _))) => said.clone(),
        };
        let Some(known) = known else { return };
        let all = known.iter().all(|one| said.split(' ').any(|colour| colour == one));
        let none_beyond = said.split(' ').all(|colour| known.iter().any(|one| one == colour));
        if if shown.is_some() { all && (none_beyond || said.is_empty()) } else { none_beyond } {
            return;
        }
        let said = if said.is_empty() { "nothing" } else { &said };
        let why = format!(
            "the sheet says {said}, the model `{}` of the package shows {}: another model, or a colour that was swapped?",
            record.get("model").unwrap_or_default(),
            known.join(" ")
        );
        let cell = self.reading.cell(self.row, "colour", &record.id).map(|cell| cell.place);
        let place = cell.or(shown.map(|(_, place)| place)).unwrap_or_default();
        imported.doubt(record, &place, "colour", why);
    }

    /// A lamp that stands elsewhere in some states is moved in its place at rest alone.
    pub(super) fn tell_moved(&self, record: &Record, imported: &mut Imported) {
        const PLACE: [&str; 8] = ["behind-front", "ahead", "right", "height", "faces", "tilt", "wedge", "roll"];
        let Some(onto) = self.onto.filter(|onto| onto.has_places(&record.id)) else { return };
        let is_moved = |old: Record| PLACE.iter().any(|what| !same(&old, record, what));
        if onto.lamp(&record.id).is_some_and(is_moved) {
            imported.notes.push(format!(
                "{}: {} is moved; its other places (`poses`) stay as the package says: look whether they still fit",
                self.reading.row_place(self.row),
                record.id
            ));
        }
    }
}

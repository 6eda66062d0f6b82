//! Proposes what each column of a sheet means, how sure that is and why. Nothing is taken for granted: a person
//! confirms it.

use super::book::{Book, Row, Sheet};
use super::columns::{FIELDS, Field, Measures, field};
use super::figures::{Writing, amount, count, gauge, unit, wire_size};
use super::heads::{Head, head_row, known_head, read_title};
use super::hints::sided;
use super::lamps::ACROSS;
use super::mapping::{ColumnMap, Mapping, SheetMap};
use super::words::{is_colours, is_side};
use crate::units::Dimension;

const EXAMPLES: usize = 3;

/// How sure a proposal is.
const SURE: &str = "sure";
const LIKELY: &str = "likely";
const GUESS: &str = "guess";

/// Proposes a mapping for every sheet that looks like a schedule, or for the one that is asked for.
///
/// # Errors
/// Says that none does, or that there is no sheet of that name.
pub fn propose(book: &Book, only: Option<&str>) -> Result<Mapping, String> {
    if let Some(name) = only.filter(|name| book.sheets.iter().all(|sheet| sheet.name != *name)) {
        let names: Vec<&str> = book.sheets.iter().map(|sheet| sheet.name.as_str()).collect();
        return Err(format!("there is no sheet `{name}`; there are: {}", names.join(", ")));
    }
    // What nobody sees is no schedule until somebody names it.
    let asked = book.sheets.iter().filter(|sheet| only.map_or(!sheet.is_hidden, |name| sheet.name == name));
    let found = asked.filter_map(of_sheet);
    // Of sheets that nobody named, one that is mostly about something else is not a schedule.
    let sheets: Vec<SheetMap> = found.filter(|sheet| only.is_some() || is_schedule(sheet)).collect();
    if sheets.is_empty() {
        let hidden: Vec<&str> =
            book.sheets.iter().filter(|sheet| sheet.is_hidden).map(|sheet| sheet.name.as_str()).collect();
        if only.is_none() && !hidden.is_empty() {
            return Err(format!(
                "no sheet that is shown looks like a schedule; --sheet NAME reads one that is hidden: {}",
                hidden.join(", ")
            ));
        }
        return Err(
            "no row looks like the head of a schedule: at least three columns, and half of them, need a title such as id, model, height, circuit, fuse; --sheet NAME reads a sheet with fewer all the same"
                .to_owned(),
        );
    }
    let aside = book.sheets.iter().filter(|sheet| sheets.iter().all(|known| known.name != sheet.name));
    let aside = Some(aside.map(|sheet| sheet.name.clone()).collect());
    Ok(Mapping { sheets, aside, ..Mapping::default() })
}

/// Whether a sheet looks like a schedule that should have been in the mapping.
pub(super) fn looks_like_schedule(sheet: &Sheet) -> bool {
    of_sheet(sheet).is_some_and(|sheet| is_schedule(&sheet))
}

/// Whether at least half of the columns mean something that their heads say.
fn is_schedule(sheet: &SheetMap) -> bool {
    let known = sheet.columns.iter().filter(|column| column.means.is_some() && column.sure != GUESS).count();
    known * 2 >= sheet.columns.len()
}

fn of_sheet(sheet: &Sheet) -> Option<SheetMap> {
    let head = head_row(sheet)?;
    let below: Vec<&Row> = sheet.rows.iter().filter(|row| row.number > head.number).collect();
    // The last columns may have cells and no title.
    let wide = below.iter().map(|row| row.cells.len()).chain([head.cells.len()]).max().unwrap_or(0);
    let heads: Vec<Head> = (0..wide).map(|at| read_title(head.cell(at))).collect();
    let is_wiring = is_wiring(&heads);
    let mut columns: Vec<ColumnMap> = Vec::new();
    for (at, head_of) in heads.iter().enumerate() {
        let cells: Vec<&str> = below.iter().map(|row| row.cell(at)).filter(|cell| !cell.is_empty()).collect();
        if head_of.words.is_empty() && cells.is_empty() {
            continue;
        }
        let mut column = proposed(head_of, &cells, is_wiring, sheet.comma);
        column.at = at;
        column.head = head.cell(at).to_owned();
        let mut examples: Vec<String> = Vec::new();
        for cell in &cells {
            if examples.len() < EXAMPLES && examples.iter().all(|known| known != cell) {
                examples.push(cell.chars().take(40).collect());
            }
        }
        column.examples = examples;
        columns.push(column);
    }
    settle(&mut columns);
    Some(SheetMap { name: sheet.name.clone(), head_row: head.number, comma: sheet.comma, columns })
}

/// Whether the sheet is about wires and has nothing that only lamps have.
fn is_wiring(heads: &[Head]) -> bool {
    let has = |names: &[&str]| {
        heads.iter().filter_map(|head| known_head(&head.words)).any(|field| names.contains(&field.name))
    };
    has(&["wire-size", "fuse-rating", "wire-length"])
        && !has(&["model", "faces", "behind-front", "ahead", "height", "groups"])
}

/// What a column with this head and these cells may mean.
fn proposed(head: &Head, cells: &[&str], is_wiring: bool, comma: bool) -> ColumnMap {
    let exact = known_head(&head.words);
    let inside = || {
        let padded = format!(" {} ", head.words);
        let held = |field: &&Field| {
            let longest = field
                .heads
                .iter()
                .filter(|words| **words != "from" && padded.contains(&format!(" {words} ")))
                .map(|words| words.len());
            longest.max().unwrap_or(0)
        };
        let best = FIELDS.iter().map(|field| (held(&field), field)).filter(|(length, _)| *length >= 4);
        let most = best.clone().map(|(length, _)| length).max()?;
        let mut of_most = best.filter(|(length, _)| *length == most);
        let first = of_most.next();
        // Two meanings that fit as well are none.
        if of_most.next().is_some() { None } else { first.map(|(_, field)| field) }
    };
    let (mut found, mut sure, mut why) = match (exact, inside()) {
        (Some(field), _) => (Some(field), SURE, "its head says so".to_owned()),
        (None, Some(field)) => (Some(field), LIKELY, "words of its head say so".to_owned()),
        (None, None) => match by_cells(cells) {
            Some((field, why)) => (Some(field), GUESS, why.to_owned()),
            None => (None, "", "neither its head nor its cells say what it means".to_owned()),
        },
    };
    if is_wiring {
        // In a list of wires these words speak of the wire.
        let of_wire = found.and_then(|found| match found.name {
            "colour" => field("wire-colour"),
            "id" => field("circuit"),
            "current" | "location" => field("feeds").filter(|_| found.name == "location"),
            _ => None,
        });
        if let Some(of_wire) = of_wire {
            (found, sure) = (Some(of_wire), LIKELY);
            why = "its head says so, in a list of wires".to_owned();
        }
    }
    if found.is_some_and(|found| found.name == "right") && head.words.split(' ').any(|word| word == "left") {
        // `Left/right` over figures does not say which of the two is negative, over words it is the side.
        sure = GUESS;
        why =
            "its head names both sides: are its figures positive to the right? A column of sides is `side`".to_owned();
        if !cells.is_empty() && cells.iter().all(|cell| is_side(cell)) {
            (found, why) = (field("side"), "its head names both sides, and so do its cells".to_owned());
        }
    }
    let mut column = ColumnMap { means: found, sure, why, ..ColumnMap::default() };
    let Some(found) = found else { return column };
    column.unit = match found.measures {
        Measures::Figure(dimension) => {
            head.unit.as_deref().and_then(|word| unit(word, dimension)).map(|unit| unit.symbol().to_owned())
        }
        Measures::WireSize => {
            let counted = head.unit.as_deref().and_then(gauge).or_else(|| head.words.split(' ').find_map(gauge));
            let word = super::figures::GAUGES.iter().find(|(_, gauge)| Some(*gauge) == counted);
            word.map(|(word, _)| (*word).to_owned())
        }
        Measures::Words | Measures::Count => None,
    };
    let read = cells.iter().filter(|cell| fits(found, cell, &column, comma)).count();
    if !cells.is_empty() && read * 2 < cells.len() {
        column.sure = GUESS;
        column.why = format!("{}, but {} of its {} cells do not read so", column.why, cells.len() - read, cells.len());
    }
    if column.unit.is_none() && matches!(found.measures, Measures::Figure(_)) {
        let bare = cells.iter().filter(|cell| cell.chars().all(|c| c.is_ascii_digit() || ",.-+ ".contains(c))).count();
        if bare > 0 {
            column.why = format!("{}; NO UNIT is said for {bare} of its cells", column.why);
        }
    }
    column
}

/// Whether a cell reads as what the column means.
fn fits(field: &Field, cell: &str, column: &ColumnMap, comma: bool) -> bool {
    match field.measures {
        Measures::Words => true,
        Measures::Count => count(cell).is_ok(),
        Measures::WireSize => {
            let any = super::figures::GAUGES.iter().map(|(_, gauge)| *gauge);
            wire_size(cell, column.gauge(), comma).is_ok()
                || any.into_iter().any(|one| wire_size(cell, Some(one), comma).is_ok())
        }
        Measures::Figure(dimension) => {
            let base = [Dimension::Length, Dimension::Angle, Dimension::Current, Dimension::Temperature];
            let symbols = ["m", "deg", "A", "degC"];
            let some = base
                .iter()
                .zip(symbols)
                .find(|(one, _)| **one == dimension)
                .and_then(|(_, word)| unit(word, dimension));
            let cell = sided(cell).filter(|_| ACROSS.contains(&field.name)).map_or(cell, |(figure, _)| figure);
            let words = field.name == "faces" && cell.chars().all(|c| !c.is_ascii_digit());
            // The kind of a fuse may stand behind its rating.
            let kind = super::circuits::kind_of(cell).filter(|_| field.name == "fuse-rating");
            let cell = kind.as_ref().map_or(cell, |(rest, _)| rest.as_str());
            words || amount(cell, dimension, Writing { unit: column.unit_of(dimension).or(some), comma }).is_ok()
        }
    }
}

/// What the cells alone say.
fn by_cells(cells: &[&str]) -> Option<(&'static Field, &'static str)> {
    let most = |holds: &dyn Fn(&str) -> bool| {
        !cells.is_empty() && cells.iter().filter(|cell| holds(cell)).count() * 5 >= cells.len() * 4
    };
    if most(&is_colours) {
        return field("colour").map(|field| (field, "its cells are colours"));
    }
    if most(&|cell| wire_size(cell, None, false).is_ok()) {
        return field("wire-size").map(|field| (field, "its cells are sizes of wire"));
    }
    None
}

/// No two columns mean the same: the surer one keeps it, then the one further left.
fn settle(columns: &mut [ColumnMap]) {
    let rank = |sure: &str| [SURE, LIKELY, GUESS].iter().position(|known| *known == sure).unwrap_or(3);
    let mut taken: Vec<(&'static Field, String)> = Vec::new();
    let mut order: Vec<usize> = (0..columns.len()).collect();
    order.sort_by_key(|at| columns.get(*at).map_or(3, |column| rank(column.sure)));
    for at in order {
        let Some(column) = columns.get_mut(at) else { continue };
        let Some(means) = column.means else { continue };
        match taken.iter().find(|(known, _)| *known == means) {
            // Several columns of remarks are all kept.
            Some((_, by)) if means.name != "notes" => {
                column.why = format!("`{}` is column {by} already", means.name);
                (column.means, column.sure, column.unit) = (None, "", None);
            }
            _ => taken.push((means, super::book::letters(column.at))),
        }
    }
}

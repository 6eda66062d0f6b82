//! Workbooks in a zip archive (xlsx, ods). They are unpacked once to count what is in them before anything is read, so
//! that a small file that unpacks to a huge one is refused.

use std::collections::{BTreeMap, HashSet};
use std::io::{Cursor, Read};

use calamine::{Data, DataRef, DataType, Ods, Reader, SheetVisible, Xlsx};

use super::book::{Book, Kind, MOST_COLUMNS, MOST_ROWS, Row, Sheet, Unsure, tidy};
use super::bounds::{Budget, TOO_LARGE, held};
use super::record::NOT_CALCULATED;
use super::shown::{Dress, Shown, dresses, key, of_ods, struck_texts};

/// A schedule of thousands of lamps takes a hundredth of this.
const MOST_UNPACKED: u64 = 64 * 1024 * 1024;
const MOST_ENTRIES: usize = 2_000;
const TOO_MUCH: &str = "unpacked it is larger than 64 MiB, and no schedule is";

/// Reads a workbook.
///
/// # Errors
/// Says that it is none, or too large.
pub(super) fn read(bytes: &[u8]) -> Result<Book, String> {
    let looked = look_through(bytes)?;
    match looked.content {
        Some(content) => {
            let held = held(&content).ok_or(TOO_LARGE)?;
            Budget::new().spend(held.cells, held.text)?;
            let shown = of_ods(&content);
            drop(content);
            from_ods(bytes, &shown)
        }
        None => from_xlsx(bytes, &looked.struck),
    }
}

/// The texts of one sheet of an xlsx workbook, each as it stands, in order.
///
/// # Errors
/// Says that it is no workbook with such a sheet, or too large.
pub fn texts_of(bytes: &[u8], sheet: &str) -> Result<Vec<String>, String> {
    look_through(bytes)?;
    let broken = |error: calamine::XlsxError| format!("it is no workbook that can be read: {error}");
    let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(broken)?;
    let mut reader = workbook.worksheet_cells_reader(sheet).map_err(broken)?;
    let (mut texts, mut budget) = (Vec::new(), Budget::new());
    while let Some(cell) = reader.next_cell().map_err(broken)? {
        // A text that many cells share is not copied before it is known that there is room for it.
        let text = match cell.get_value() {
            DataRef::String(text) => text.as_str(),
            DataRef::SharedString(text) => text,
            _ => continue,
        };
        budget.spend(1, text.len())?;
        texts.push(text.to_owned());
    }
    Ok(texts)
}

/// What is known of an archive before its sheets are read.
#[derive(Default)]
struct Looked {
    /// The content of an ods file, where it is one.
    content: Option<Vec<u8>>,
    /// Texts of an xlsx file that are struck through in part, see [`key`].
    struck: HashSet<String>,
}

/// Unpacks everything to see how large it is.
fn look_through(bytes: &[u8]) -> Result<Looked, String> {
    let broken = |why: &dyn std::fmt::Display| format!("it is no workbook that can be read: {why}");
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| broken(&error))?;
    if archive.len() > MOST_ENTRIES {
        return Err(broken(&"it holds too many parts"));
    }
    let (mut left, mut looked) = (MOST_UNPACKED, Looked::default());
    for at in 0..archive.len() {
        let entry = archive.by_index(at).map_err(|error| broken(&error))?;
        let is_content = entry.name().is_ok_and(|name| name == "content.xml");
        let is_text = entry.name().is_ok_and(|name| name.starts_with("xl/") && name.ends_with(".xml"));
        let mut part = entry.take(left + 1);
        let size = if is_content || is_text {
            let mut held = Vec::new();
            part.read_to_end(&mut held).map_err(|error| broken(&error))?;
            let size = u64::try_from(held.len()).unwrap_or(u64::MAX);
            if size > left {
                return Err(TOO_MUCH.to_owned());
            }
            if is_content {
                looked.content = Some(held);
            } else if std::str::from_utf8(&held).is_ok_and(|text| text.contains("strike")) {
                let of_part = struck_texts(&held).ok_or_else(|| broken(&"a part of it is no XML"))?;
                looked.struck.extend(of_part);
            }
            size
        } else {
            std::io::copy(&mut part, &mut std::io::sink()).map_err(|error| broken(&error))?
        };
        left = left.checked_sub(size).ok_or(TOO_MUCH)?;
    }
    Ok(looked)
}

fn from_xlsx(bytes: &[u8], struck: &HashSet<String>) -> Result<Book, String> {
    let broken = |error: calamine::XlsxError| format!("it is no workbook that can be read: {error}");
    let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(broken)?;
    let mut book = Book::default();
    let hidden = hidden(workbook.sheets_metadata());
    let mut budget = Budget::new();
    for name in workbook.sheet_names() {
        let mut cells: Vec<Placed> = Vec::new();
        let is_hidden = hidden.contains(&name);
        let mut sheet = Sheet { name: tidy(&name), is_hidden, ..Sheet::default() };
        {
            let Ok(dressed) = dressed(&mut workbook, &name, &mut budget) else { continue };
            // A sheet of charts has no cells.
            let Ok(mut reader) = workbook.worksheet_cells_reader(&name) else { continue };
            let mut beyond = false;
            while let Some(cell) = reader.next_cell_with_formula_metadata().map_err(broken)? {
                let place = (as_place(cell.pos.0), as_place(cell.pos.1));
                let is_open = cell.formula.is_some() && matches!(cell.value, DataRef::Empty);
                if matches!(cell.value, DataRef::Empty) && !is_open {
                    continue;
                }
                if place.0 >= MOST_ROWS || place.1 >= MOST_COLUMNS {
                    beyond = true;
                    continue;
                }
                let mut text = if is_open { NOT_CALCULATED.to_owned() } else { text_of(&cell.value) };
                let mut kind = Kind { number: is_number(&cell.value), unsure: None };
                if let Some(dress) = dressed.get(&place) {
                    kind.unsure = dress.unsure.filter(|unsure| kind.number || *unsure == Unsure::Struck);
                    if let Some((before, after)) = dress.round.as_ref().filter(|_| kind.number) {
                        text = tidy(&format!("{before}{text}{after}"));
                    }
                }
                if !kind.number && !struck.is_empty() && struck.contains(&key(&text)) {
                    kind.unsure = Some(Unsure::Struck);
                }
                if !text.is_empty() {
                    budget.spend(1, text.len())?;
                    cells.push(Placed { row: place.0, column: place.1, text, kind });
                }
            }
            if beyond {
                let note = format!("only the first {MOST_ROWS} rows and {MOST_COLUMNS} columns were read");
                sheet.notes.push(note);
            }
        }
        put_all(&mut sheet.rows, cells, &mut budget)?;
        let merged = workbook.merge_cells_by_sheet_name(&name).unwrap_or_default();
        for region in merged.iter().take(MOST_ROWS) {
            fill_down(&mut sheet, region.start, region.end, &mut budget)?;
        }
        book.sheets.push(sheet);
    }
    Ok(book)
}

/// The cells of a sheet whose style adds something to them.
fn dressed(
    workbook: &mut Xlsx<Cursor<&[u8]>>,
    name: &str,
    budget: &mut Budget,
) -> Result<BTreeMap<(usize, usize), Dress>, String> {
    let broken = |error: calamine::XlsxError| format!("it is no workbook that can be read: {error}");
    let mut reader = workbook.worksheet_cells_reader(name).map_err(broken)?;
    let dresses = dresses(reader.styles());
    let mut found = BTreeMap::new();
    if dresses.is_empty() {
        return Ok(found);
    }
    while let Some((row, column, style)) = reader.next_style_id().map_err(broken)? {
        let place = (as_place(row), as_place(column));
        if let Some(dress) = dresses.get(&style).filter(|_| place.0 < MOST_ROWS && place.1 < MOST_COLUMNS) {
            budget.spend(1, 0)?;
            found.insert(place, dress.clone());
        }
    }
    Ok(found)
}

/// The names of sheets that are not shown.
fn hidden(sheets: &[calamine::Sheet]) -> HashSet<String> {
    sheets.iter().filter(|sheet| sheet.visible != SheetVisible::Visible).map(|sheet| sheet.name.clone()).collect()
}

fn as_place(number: u32) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX)
}

/// A cell that holds something, and where.
struct Placed {
    row: usize,
    column: usize,
    text: String,
    kind: Kind,
}

/// Whether the workbook holds a number, not a text that looks like one.
fn is_number(cell: &impl DataType) -> bool {
    cell.is_float() || cell.is_int()
}

/// Puts texts into their places, in whatever order they were met. A row takes up room from its first column on.
fn put_all(rows: &mut Vec<Row>, mut cells: Vec<Placed>, budget: &mut Budget) -> Result<(), String> {
    cells.sort_by_key(|cell| (cell.row, cell.column));
    for cell in cells {
        let (row, column) = (cell.row, cell.column);
        let wide = rows.last().filter(|last| last.number == row + 1).map_or(0, |last| last.cells.len());
        budget.spend((column + 1).saturating_sub(wide), 0)?;
        put(rows, cell);
    }
    Ok(())
}

/// Puts a text into its place; rows come in order.
fn put(rows: &mut Vec<Row>, cell: Placed) {
    let Placed { row, column, text, kind } = cell;
    if rows.last().is_none_or(|last| last.number != row + 1) {
        rows.push(Row { number: row + 1, cells: Vec::new(), kinds: Vec::new() });
    }
    if let Some(last) = rows.last_mut() {
        if last.cells.len() <= column {
            last.cells.resize(column + 1, String::new());
            last.kinds.resize(column + 1, Kind::default());
        }
        if let (Some(cell), Some(known)) = (last.cells.get_mut(column), last.kinds.get_mut(column)) {
            (*cell, *known) = (text, kind);
        }
    }
}

/// One cell that was merged over several rows speaks of each of them.
fn fill_down(sheet: &mut Sheet, start: (u32, u32), end: (u32, u32), budget: &mut Budget) -> Result<(), String> {
    let (first, last, column) = (as_place(start.0), as_place(end.0), as_place(start.1));
    if first >= last || column >= MOST_COLUMNS {
        return Ok(());
    }
    // Rows stand in order of their numbers.
    let at = sheet.rows.partition_point(|row| row.number < first + 1);
    let top = sheet.rows.get(at).filter(|row| row.number == first + 1);
    let Some(top) = top.filter(|row| !row.cell(column).is_empty()) else { return Ok(()) };
    let (text, kind) = (top.cell(column).to_owned(), top.kind(column));
    let mut filled = 0;
    // Only rows in which something stands: a title merged over empty rows makes none.
    for row in sheet.rows.iter_mut().skip(at + 1).take_while(|row| row.number <= last.saturating_add(1)) {
        // Regions that overlap are gone through again and again.
        budget.spend((column + 1).saturating_sub(row.cells.len()).max(1), 0)?;
        if row.cells.len() <= column {
            row.cells.resize(column + 1, String::new());
            row.kinds.resize(column + 1, Kind::default());
        }
        if let Some(cell) = row.cells.get_mut(column).filter(|cell| cell.is_empty()) {
            budget.spend(0, text.len())?;
            cell.clone_from(&text);
            if let Some(known) = row.kinds.get_mut(column) {
                *known = kind;
            }
            filled += 1;
        }
    }
    if filled > 0 {
        let column = super::book::letters(column);
        let note =
            format!("{column}{}:{column}{} are merged: `{text}` is read in each of these rows", first + 1, last + 1);
        budget.spend(0, note.len())?;
        sheet.notes.push(note);
    }
    Ok(())
}

/// What a cell says; a text that many cells share is read where it stands, never copied whole.
fn text_of(cell: &impl DataType) -> String {
    if let Some(text) = cell.get_string().or(cell.get_datetime_iso()).or(cell.get_duration_iso()) {
        return tidy(text);
    }
    // A quantity that the spreadsheet took for a day is for a person to put right.
    let day = cell.get_datetime().map(|day| format!("date {}", day.as_f64()));
    let number = || cell.get_float().map(|number| number.to_string()).or(cell.get_int().map(|whole| whole.to_string()));
    let word = || cell.get_bool().map(|yes| if yes { "yes" } else { "no" }.to_owned());
    let error = || cell.get_error().map(|error| format!("{error}"));
    day.or_else(number).or_else(word).or_else(error).unwrap_or_default()
}

fn from_ods(bytes: &[u8], shown: &BTreeMap<String, Shown>) -> Result<Book, String> {
    let broken = |error: calamine::OdsError| format!("it is no workbook that can be read: {error}");
    let mut workbook: Ods<_> = Ods::new(Cursor::new(bytes)).map_err(broken)?;
    let mut book = Book::default();
    let hidden = hidden(workbook.sheets_metadata());
    let mut budget = Budget::new();
    for name in workbook.sheet_names() {
        let is_hidden = hidden.contains(&name);
        let mut sheet = Sheet { name: tidy(&name), is_hidden, ..Sheet::default() };
        let shown = shown.get(&name).cloned().unwrap_or_default();
        let mut cells = Vec::new();
        let mut beyond = false;
        let mut take = |top_left: Option<(u32, u32)>, row: usize, column: usize, text: String, number: bool| {
            let (top, left) = top_left.unwrap_or((0, 0));
            let (row, column) = (as_place(top).saturating_add(row), as_place(left).saturating_add(column));
            if row >= MOST_ROWS || column >= MOST_COLUMNS {
                beyond = true;
            } else if !text.is_empty() {
                let dress = shown.round.get(&(row, column)).filter(|_| number).cloned().unwrap_or_default();
                let (before, after) = dress.round.unwrap_or_default();
                let text = if number { tidy(&format!("{before}{text}{after}")) } else { text };
                budget.spend(1, text.len())?;
                let struck = shown.struck.contains(&(row, column)).then_some(Unsure::Struck);
                let kind = Kind { number, unsure: struck.or(dress.unsure) };
                cells.push(Placed { row, column, text, kind });
            }
            Ok::<(), String>(())
        };
        let range = workbook.worksheet_range(&name).map_err(broken)?;
        for (row, column, cell) in range.used_cells() {
            take(range.start(), row, column, text_of(cell), is_number(cell))?;
        }
        let formulas = workbook.worksheet_formula(&name).map_err(broken)?;
        for (row, column, _) in formulas.used_cells() {
            let (top, left) = formulas.start().unwrap_or((0, 0));
            let at = |start: u32, more: usize| u32::try_from(more).unwrap_or(u32::MAX).saturating_add(start);
            if range.get_value((at(top, row), at(left, column))).is_none_or(|cell| *cell == Data::Empty) {
                take(formulas.start(), row, column, NOT_CALCULATED.to_owned(), false)?;
            }
        }
        if beyond {
            sheet.notes.push(format!("only the first {MOST_ROWS} rows and {MOST_COLUMNS} columns were read"));
        }
        put_all(&mut sheet.rows, cells, &mut budget)?;
        for (first, last) in &shown.merged {
            fill_down(&mut sheet, *first, *last, &mut budget)?;
        }
        book.sheets.push(sheet);
    }
    Ok(book)
}

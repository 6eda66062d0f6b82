//! Workbooks in a zip archive (xlsx, ods). They are unpacked once to count what is in them before anything is read, so
//! that a small file that unpacks to a huge one is refused.

use std::io::{Cursor, Read};

use calamine::{Data, Ods, Reader, Xlsx};

use super::book::{Book, MOST_COLUMNS, MOST_ROWS, Row, Sheet, tidy};

/// A schedule of thousands of lamps takes a hundredth of this.
const MOST_UNPACKED: u64 = 64 * 1024 * 1024;
const MOST_ENTRIES: usize = 2_000;
/// Rows times columns of an ods sheet that is held in memory.
const MOST_CELLS: usize = 2_000_000;

/// Reads a workbook.
///
/// # Errors
/// Says that it is none, or too large.
pub(super) fn read(bytes: &[u8]) -> Result<Book, String> {
    let content = look_through(bytes)?;
    match content {
        Some(content) => {
            if area(&content).is_none_or(|cells| cells > MOST_CELLS) {
                return Err("a sheet of it is larger than any schedule: delete empty rows and columns".to_owned());
            }
            from_ods(bytes)
        }
        None => from_xlsx(bytes),
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
    let mut texts = Vec::new();
    while let Some(cell) = reader.next_cell().map_err(broken)? {
        if let Data::String(text) = Data::from(cell.get_value().clone()) {
            texts.push(text);
        }
    }
    Ok(texts)
}

/// Unpacks everything to see how large it is; the content of an ods file, where it is one.
fn look_through(bytes: &[u8]) -> Result<Option<Vec<u8>>, String> {
    let broken = |why: &dyn std::fmt::Display| format!("it is no workbook that can be read: {why}");
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| broken(&error))?;
    if archive.len() > MOST_ENTRIES {
        return Err(broken(&"it holds too many parts"));
    }
    let (mut left, mut content) = (MOST_UNPACKED, None);
    for at in 0..archive.len() {
        let entry = archive.by_index(at).map_err(|error| broken(&error))?;
        let is_content = entry.name().is_ok_and(|name| name == "content.xml");
        let mut part = entry.take(left + 1);
        let size = if is_content {
            let mut held = Vec::new();
            part.read_to_end(&mut held).map_err(|error| broken(&error))?;
            let size = u64::try_from(held.len()).unwrap_or(u64::MAX);
            content = Some(held);
            size
        } else {
            std::io::copy(&mut part, &mut std::io::sink()).map_err(|error| broken(&error))?
        };
        left = left.checked_sub(size).ok_or("unpacked it is larger than 64 MiB, and no schedule is")?;
    }
    Ok(content)
}

fn from_xlsx(bytes: &[u8]) -> Result<Book, String> {
    let broken = |error: calamine::XlsxError| format!("it is no workbook that can be read: {error}");
    let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(broken)?;
    let mut book = Book::default();
    for name in workbook.sheet_names() {
        let mut cells: Vec<(usize, usize, String)> = Vec::new();
        let mut sheet = Sheet { name: tidy(&name), ..Sheet::default() };
        {
            // A sheet of charts has no cells.
            let Ok(mut reader) = workbook.worksheet_cells_reader(&name) else { continue };
            let mut beyond = false;
            while let Some(cell) = reader.next_cell().map_err(broken)? {
                let (row, column) = cell.get_position();
                let place = (usize::try_from(row).unwrap_or(usize::MAX), usize::try_from(column).unwrap_or(usize::MAX));
                let text = text_of(&Data::from(cell.get_value().clone()));
                if text.is_empty() {
                    continue;
                }
                if place.0 >= MOST_ROWS || place.1 >= MOST_COLUMNS {
                    beyond = true;
                } else {
                    cells.push((place.0, place.1, text));
                }
            }
            if beyond {
                let note = format!("only the first {MOST_ROWS} rows and {MOST_COLUMNS} columns were read");
                sheet.notes.push(note);
            }
        }
        cells.sort_by_key(|(row, column, _)| (*row, *column));
        for (row, column, text) in cells {
            put(&mut sheet.rows, row, column, text);
        }
        let merged = workbook.merge_cells_by_sheet_name(&name).unwrap_or_default();
        for region in merged.iter().take(MOST_ROWS) {
            fill_down(&mut sheet, region.start, region.end);
        }
        book.sheets.push(sheet);
    }
    Ok(book)
}

/// Puts a text into its place; rows come in order.
fn put(rows: &mut Vec<Row>, row: usize, column: usize, text: String) {
    if rows.last().is_none_or(|last| last.number != row + 1) {
        rows.push(Row { number: row + 1, cells: Vec::new() });
    }
    if let Some(last) = rows.last_mut() {
        if last.cells.len() <= column {
            last.cells.resize(column + 1, String::new());
        }
        if let Some(cell) = last.cells.get_mut(column) {
            *cell = text;
        }
    }
}

/// One cell that was merged over several rows speaks of each of them.
fn fill_down(sheet: &mut Sheet, start: (u32, u32), end: (u32, u32)) {
    let place = |number: u32| usize::try_from(number).unwrap_or(usize::MAX);
    let (first, last, column) = (place(start.0), place(end.0), place(start.1));
    if first == last || column >= MOST_COLUMNS {
        return;
    }
    let Some(text) = sheet.rows.iter().find(|row| row.number == first + 1).map(|row| row.cell(column).to_owned())
    else {
        return;
    };
    if text.is_empty() {
        return;
    }
    let mut filled = 0;
    // Only rows in which something stands: a title merged over empty rows makes none.
    for row in sheet.rows.iter_mut().filter(|row| row.number > first + 1 && row.number <= last + 1) {
        if row.cells.len() <= column {
            row.cells.resize(column + 1, String::new());
        }
        if let Some(cell) = row.cells.get_mut(column).filter(|cell| cell.is_empty()) {
            cell.clone_from(&text);
            filled += 1;
        }
    }
    if filled > 0 {
        let column = super::book::letters(column);
        let note =
            format!("{column}{}:{column}{} are merged: `{text}` is read in each of these rows", first + 1, last + 1);
        sheet.notes.push(note);
    }
}

fn text_of(cell: &Data) -> String {
    match cell {
        Data::Empty => String::new(),
        Data::Int(number) => number.to_string(),
        Data::Float(number) => number.to_string(),
        Data::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Data::String(text) => tidy(text),
        // A quantity that the spreadsheet took for a day is for a person to put right.
        Data::DateTime(day) => format!("date {}", day.as_f64()),
        Data::DateTimeIso(text) | Data::DurationIso(text) => tidy(text),
        Data::Error(error) => format!("{error}"),
    }
}

fn from_ods(bytes: &[u8]) -> Result<Book, String> {
    let broken = |error: calamine::OdsError| format!("it is no workbook that can be read: {error}");
    let mut workbook: Ods<_> = Ods::new(Cursor::new(bytes)).map_err(broken)?;
    let mut book = Book::default();
    for name in workbook.sheet_names() {
        let range = workbook.worksheet_range(&name).map_err(broken)?;
        let mut sheet = Sheet { name: tidy(&name), ..Sheet::default() };
        let (top, left) = range.start().unwrap_or((0, 0));
        let place = |number: u32| usize::try_from(number).unwrap_or(usize::MAX);
        let mut beyond = false;
        for (row, column, cell) in range.used_cells() {
            let text = text_of(cell);
            let (row, column) = (place(top).saturating_add(row), place(left).saturating_add(column));
            if row >= MOST_ROWS || column >= MOST_COLUMNS {
                beyond = true;
            } else if !text.is_empty() {
                put(&mut sheet.rows, row, column, text);
            }
        }
        if beyond {
            sheet.notes.push(format!("only the first {MOST_ROWS} rows and {MOST_COLUMNS} columns were read"));
        }
        book.sheets.push(sheet);
    }
    Ok(book)
}

/// The most cells that a sheet of an ods file takes up in memory, from the first to the last that holds something; none
/// where that cannot be told.
fn area(content: &[u8]) -> Option<usize> {
    let mut most = 0_usize;
    let (mut rows, mut used_rows, mut widest) = (0_usize, 0_usize, 0_usize);
    let (mut cells, mut used_cells, mut repeats) = (0_usize, 0_usize, 1_usize);
    let mut text = content;
    while let Some(at) = text.iter().position(|byte| *byte == b'<') {
        text = text.get(at..)?;
        if let Some(end) = skipped(text, b"<!--", b"-->").or_else(|| skipped(text, b"<![CDATA[", b"]]>")) {
            text = text.get(end..)?;
            continue;
        }
        let end = end_of_tag(text)?;
        let tag = text.get(..end)?;
        text = text.get(end..)?;
        let name: Vec<u8> =
            tag.iter().skip(1).copied().take_while(|b| !b.is_ascii_whitespace() && !matches!(b, b'/' | b'>')).collect();
        let closed = tag.ends_with(b"/>");
        match (name.as_slice(), tag.get(1)) {
            (b"table:table", _) => (rows, used_rows, widest) = (0, 0, 0),
            (b"table:table-row", _) => {
                (cells, used_cells) = (0, 0);
                repeats = repeated(tag, b"table:number-rows-repeated")?;
                if closed {
                    rows = rows.saturating_add(repeats);
                }
            }
            (b"table:table-cell" | b"table:covered-table-cell", _) => {
                cells = cells.saturating_add(repeated(tag, b"table:number-columns-repeated")?);
                if !closed || tag.windows(7).any(|part| part == b"office:") {
                    used_cells = cells;
                }
            }
            (b"", Some(b'/')) if closes(tag, b"table:table-row") => {
                rows = rows.saturating_add(repeats);
                if used_cells > 0 {
                    used_rows = rows;
                    widest = widest.max(used_cells);
                }
                most = most.max(used_rows.saturating_mul(widest));
            }
            _ => {}
        }
    }
    Some(most)
}

/// Whether a tag closes the element of this name.
fn closes(tag: &[u8], name: &[u8]) -> bool {
    let inside = tag.strip_prefix(b"</").and_then(|rest| rest.strip_suffix(b">"));
    inside.is_some_and(|inside| inside.trim_ascii_end() == name)
}

/// Where a part of the text that is passed over ends.
fn skipped(text: &[u8], opens: &[u8], closes: &[u8]) -> Option<usize> {
    let inside = text.strip_prefix(opens)?;
    let end = inside.windows(closes.len()).position(|part| part == closes);
    Some(end.map_or(text.len(), |end| opens.len() + end + closes.len()))
}

/// The byte behind the end of a tag; `>` may stand in quotes.
fn end_of_tag(text: &[u8]) -> Option<usize> {
    let mut quote = None;
    for (at, byte) in text.iter().enumerate() {
        match (quote, byte) {
            (None, b'"' | b'\'') => quote = Some(*byte),
            (Some(open), byte) if open == *byte => quote = None,
            (None, b'>') => return Some(at + 1),
            _ => {}
        }
    }
    None
}

/// How often a row or cell is repeated; none where that is no plain number.
fn repeated(tag: &[u8], key: &[u8]) -> Option<usize> {
    let Some(at) = tag.windows(key.len()).position(|part| part == key) else { return Some(1) };
    let rest = std::str::from_utf8(tag.get(at + key.len()..)?).ok()?;
    let value = rest.trim_start().strip_prefix('=')?.trim_start();
    let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    let (number, _) = value.get(1..)?.split_once(quote)?;
    number.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn repeated_cells_are_counted_before_they_are_made() {
        let sheet = |rows: &str| format!("<office:spreadsheet><table:table>{rows}</table:table></office:spreadsheet>");
        let row = |repeats: usize, cells: &str| {
            format!("<table:table-row table:number-rows-repeated=\"{repeats}\">{cells}</table:table-row>")
        };
        let full = "<table:table-cell office:value-type=\"float\" office:value=\"1\"/>";
        let wide = "<table:table-cell table:number-columns-repeated=\"16384\" office:value=\"1\"/>";
        let empty = "<table:table-cell table:number-columns-repeated=\"16384\"/>";
        let of = |rows: String| area(sheet(&rows).as_bytes());
        assert_eq!(of(row(3, full)), Some(3));
        assert_eq!(of(row(1_048_576, empty)), Some(0));
        assert_eq!(of(row(1_000_000, wide)), Some(16_384_000_000));
        assert_eq!(of(row(1_000, empty) + &row(1, wide)), Some(1_001 * 16_384));
        assert_eq!(of(format!("<!-- {} -->{}", row(9_999, wide), row(1, full))), Some(1));
        assert_eq!(of("<table:table-row table:number-rows-repeated=\"&#57;9\">".to_owned()), None);
    }
}

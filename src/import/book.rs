//! A spreadsheet as rows of texts, whatever kind of file it was.

use super::heads::join_lines;
use super::packed;
use crate::load::text::{decode_table, from_cell};

/// More rows or columns than any schedule has; what lies beyond is not read, and that is said.
pub const MOST_ROWS: usize = 20_000;
/// See [`MOST_ROWS`].
pub const MOST_COLUMNS: usize = 200;
/// A longer text is cut.
const LONGEST_CELL: usize = 2_000;

/// All sheets of a file.
#[derive(Clone, Debug, Default)]
pub struct Book {
    /// In the order of the file.
    pub sheets: Vec<Sheet>,
}

/// One sheet.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    /// Its name; of a text file, the name of the file.
    pub name: String,
    /// Rows in which something stands.
    pub rows: Vec<Row>,
    /// What a person should know of how it was read.
    pub notes: Vec<String>,
    /// Rows, by their numbers, that may have swallowed others.
    pub doubts: Vec<(usize, String)>,
    /// It is not shown to whoever opens the file.
    pub is_hidden: bool,
    /// A comma stands before decimals, by the look of it.
    pub comma: bool,
}

/// One row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Its number in the file, from 1.
    pub number: usize,
    /// Its cells, from column A on; empty texts where nothing stands.
    pub cells: Vec<String>,
    /// What a workbook knows of each besides its text; of a text file nothing.
    pub kinds: Vec<Kind>,
}

/// What a workbook knows of a cell besides its text.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Kind {
    /// It is a number, so that a point in it is sure to stand before decimals.
    pub number: bool,
    /// Why what it holds is not sure.
    pub unsure: Option<Unsure>,
}

/// Why what a cell holds is not what it says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsure {
    /// All or some of it is struck through.
    Struck,
    /// Its number format shows another figure, or parts it.
    ShownOtherwise,
    /// Whole rows stand in it.
    Swallows,
}

impl Row {
    /// The text of a cell.
    pub fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    /// What a workbook knows of a cell.
    pub fn kind(&self, column: usize) -> Kind {
        self.kinds.get(column).copied().unwrap_or_default()
    }

    /// How many cells hold something.
    pub fn filled(&self) -> usize {
        self.cells.iter().filter(|cell| !cell.is_empty()).count()
    }
}

/// The letters of a column: A, B, ... Z, AA.
pub fn letters(column: usize) -> String {
    let mut letters = Vec::new();
    let mut left = column.checked_add(1).unwrap_or_default();
    while left > 0 {
        let digit = u8::try_from((left - 1) % 26).unwrap_or(0);
        letters.push(char::from(b'A' + digit));
        left = (left - 1) / 26;
    }
    letters.iter().rev().collect()
}

/// A text as one line without what cannot be seen, and no longer than any cell of a schedule.
pub(super) fn tidy(text: &str) -> String {
    let plain = text.chars().map(|c| if c.is_whitespace() || c.is_control() { ' ' } else { c });
    let plain: String = plain.take(LONGEST_CELL).collect();
    plain.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Reads a file by what it holds, and by its ending where that does not tell.
///
/// # Errors
/// Says why it is no spreadsheet that can be read, and what to do.
pub fn read_book(bytes: &[u8], name: &str) -> Result<Book, String> {
    let mut book = if bytes.starts_with(b"PK") {
        packed::read(bytes)?
    } else if bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
        return Err("this is an old workbook (.xls) or one with a password: save it as .xlsx, .ods or .csv".to_owned());
    } else {
        Book { sheets: vec![from_text(bytes, name)?] }
    };
    for sheet in &mut book.sheets {
        sheet.rows.retain(|row| row.filled() > 0);
        join_lines(sheet);
    }
    book.sheets.retain(|sheet| !sheet.rows.is_empty());
    if book.sheets.is_empty() {
        return Err("nothing stands in it".to_owned());
    }
    Ok(book)
}

/// Which of the usual letters parts the cells: the one that parts most lines into equally many.
fn separator(text: &str) -> u8 {
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).take(200).collect();
    let score = |letter: char| {
        let counts: Vec<usize> =
            lines.iter().map(|line| outside_quotes(line, letter)).filter(|count| *count > 0).collect();
        let usual = counts.iter().map(|count| (counts.iter().filter(|other| *other == count).count(), *count)).max();
        usual.map_or((0, 0), |(lines, count)| (lines * count.min(50), count))
    };
    let all = [(b';', ';'), (b'\t', '\t'), (b',', ',')];
    let mut best = (b',', (0, 0));
    for (byte, letter) in all {
        let of_it = score(letter);
        if of_it > best.1 {
            best = (byte, of_it);
        }
    }
    best.0
}

fn outside_quotes(line: &str, letter: char) -> usize {
    let mut inside = false;
    let mut count = 0;
    for c in line.chars() {
        match c {
            '"' => inside = !inside,
            _ if c == letter && !inside => count += 1,
            _ => {}
        }
    }
    count
}

fn from_text(bytes: &[u8], name: &str) -> Result<Sheet, String> {
    let utf16 = utf16(bytes);
    let text = match &utf16 {
        Some(text) => std::borrow::Cow::Borrowed(text.as_str()),
        None => decode_table(bytes, name).map_err(|error| error.message)?,
    };
    // Some programs end lines with a carriage return alone.
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let delimiter = separator(&text);
    let mut sheet = Sheet { name: stem(name), ..Sheet::default() };
    let said = match delimiter {
        b';' => "semicolons",
        b'\t' => "tabs",
        _ => "commas",
    };
    sheet.notes.push(format!("cells are parted by {said}"));
    if text.contains('\u{fffd}') {
        sheet.notes.push("it is not UTF-8: letters that could not be read stand as a replacement sign".to_owned());
    }
    let mut builder = csv::ReaderBuilder::new();
    builder.has_headers(false).flexible(true).delimiter(delimiter);
    let mut reader = builder.from_reader(text.as_bytes());
    let (mut number, mut counted) = (1, 0);
    for record in reader.records().filter_map(Result::ok) {
        if sheet.rows.len() >= MOST_ROWS {
            sheet.notes.push(format!("only the first {MOST_ROWS} rows were read"));
            break;
        }
        // The reader's own place lies before the ends of lines that it passes over.
        let start = record.position().and_then(|place| usize::try_from(place.byte()).ok()).unwrap_or(0);
        let ends =
            text.get(start..).unwrap_or_default().bytes().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        number += text.get(counted..start + ends).unwrap_or_default().bytes().filter(|byte| *byte == b'\n').count();
        counted = start + ends;
        if record.len() > MOST_COLUMNS {
            sheet.notes.push(format!("line {number}: only the first {MOST_COLUMNS} cells were read"));
        }
        let swallows = |cell: &str| cell.contains('\n') && cell.contains(char::from(delimiter));
        let unsure = |cell: &str| swallows(cell).then_some(Unsure::Swallows);
        let kinds = record.iter().map(|cell| Kind { number: false, unsure: unsure(cell) });
        let kinds = if record.iter().any(swallows) { kinds.take(MOST_COLUMNS).collect() } else { Vec::new() };
        if !kinds.is_empty() {
            let why = "a quotation mark opens here and closes lines below: whole rows stand in one of its cells, and are not read";
            sheet.doubts.push((number, why.to_owned()));
        }
        let cells = record.iter().take(MOST_COLUMNS).map(|cell| from_cell(&tidy(cell)).to_owned()).collect();
        sheet.rows.push(Row { number, cells, kinds });
    }
    sheet.comma = delimiter != b',' && has_decimal_commas(&sheet);
    if sheet.comma {
        sheet.notes.push("a comma stands before decimals".to_owned());
    }
    Ok(sheet)
}

/// What some spreadsheets call Unicode text.
fn utf16(bytes: &[u8]) -> Option<String> {
    let (is_little, rest) = match bytes {
        [0xff, 0xfe, rest @ ..] => (true, rest),
        [0xfe, 0xff, rest @ ..] => (false, rest),
        _ => return None,
    };
    let unit = |pair| if is_little { u16::from_le_bytes(pair) } else { u16::from_be_bytes(pair) };
    let units = rest.chunks_exact(2).filter_map(|pair| <[u8; 2]>::try_from(pair).ok()).map(unit);
    Some(char::decode_utf16(units).map(|c| c.unwrap_or('\u{fffd}')).collect())
}

fn stem(name: &str) -> String {
    let path = std::path::Path::new(name);
    path.file_stem().map_or_else(|| name.to_owned(), |stem| tidy(&stem.to_string_lossy()))
}

/// Whether more numbers have a comma before their decimals than a point.
fn has_decimal_commas(sheet: &Sheet) -> bool {
    let mut counts = (0, 0);
    for cell in sheet.rows.iter().flat_map(|row| &row.cells) {
        let number: String = cell.chars().take_while(|c| c.is_ascii_digit() || matches!(c, ',' | '.' | '-')).collect();
        let parts = |mark| number.split_once(mark).is_some_and(|(one, other)| !one.is_empty() && !other.is_empty());
        match (parts(','), parts('.')) {
            (true, false) => counts.0 += 1,
            (false, true) => counts.1 += 1,
            _ => {}
        }
    }
    counts.0 > counts.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_lettered_as_spreadsheets_letter_them() {
        let found: Vec<String> = [0, 1, 25, 26, 51, 52, 701, 702].into_iter().map(letters).collect();
        assert_eq!(found, ["A", "B", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
    }

    #[test]
    fn what_parts_the_cells_is_seen() {
        for (text, expected) in [
            ("a;b;c\n1,5;2;3\n2,5;3;4\n", b';'),
            ("a\tb\n1,5\t2\n", b'\t'),
            ("a,b\n\"x;y;z\",2\n", b','),
            ("title\n\na;b\n\"1;2\";3\n", b';'),
            ("one", b','),
        ] {
            assert_eq!(char::from(separator(text)), char::from(expected), "{text}");
        }
    }
}

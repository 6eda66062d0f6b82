//! How much a workbook may hold. A small file can say that a long text stands in millions of cells, so cells and their
//! text are counted: of an ods file before anything is made of it, of the others while they are read.

/// Places of a whole workbook, from the first column to the last cell of each row; a schedule of thousands of lamps
/// takes a tenth of this.
const MOST_CELLS: usize = 2_000_000;
/// Bytes of text in all cells; each counts as often as it stands there.
const MOST_TEXT: usize = 64 * 1024 * 1024;

/// What is said where there is more.
pub(super) const TOO_LARGE: &str = "unpacked, its cells and their text are larger than any schedule: delete rows and columns that nobody needs, or save the one sheet as .csv";

/// What may still be read.
#[derive(Debug)]
pub(super) struct Budget {
    cells: usize,
    text: usize,
}

impl Budget {
    pub fn new() -> Self {
        Self { cells: MOST_CELLS, text: MOST_TEXT }
    }

    /// Takes so many cells and bytes of text.
    ///
    /// # Errors
    /// Says that it is more than there is.
    pub fn spend(&mut self, cells: usize, text: usize) -> Result<(), String> {
        let left = self.cells.checked_sub(cells).zip(self.text.checked_sub(text));
        (self.cells, self.text) = left.ok_or(TOO_LARGE)?;
        Ok(())
    }
}

/// What the sheets of an ods file take up in memory at most; none where that cannot be told, which is to be refused.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Held {
    pub cells: usize,
    pub text: usize,
}

/// A row that is being counted.
#[derive(Default)]
struct OpenRow {
    repeats: usize,
    /// Cells so far; those up to the last that holds something; those before the last.
    cells: usize,
    used: usize,
    before_last: usize,
    text: usize,
    /// How often the cell that is open stands here.
    cell: Option<usize>,
}

/// The size of one table: rows so far, those up to the last that holds something, the widest.
#[derive(Default)]
struct OpenTable {
    rows: usize,
    used: usize,
    widest: usize,
}

/// Counts an ods file's content. The file may be made to deceive: what the reader could see otherwise (another encoding,
/// a document type, tables within cells) is not told.
pub(super) fn held(content: &[u8]) -> Option<Held> {
    if content.contains(&0) || std::str::from_utf8(content).is_err() {
        return None;
    }
    let mut held = Held::default();
    let mut table = OpenTable::default();
    let mut row: Option<OpenRow> = None;
    let mut text = content;
    loop {
        let at = text.iter().position(|byte| *byte == b'<');
        // What stands between two tags.
        let between = at.unwrap_or(text.len());
        if let Some((row, repeats)) = row.as_mut().and_then(|row| row.cell.map(|repeats| (row, repeats))) {
            row.text = row.text.saturating_add(between.saturating_mul(repeats));
        }
        let Some(at) = at else { break };
        text = text.get(at..)?;
        let (tag, rest) = text.split_at_checked(end_of_markup(text)?)?;
        text = rest;
        if tag.starts_with(b"<![CDATA[")
            && let Some((row, repeats)) = row.as_mut().and_then(|row| row.cell.map(|repeats| (row, repeats)))
        {
            row.text = row.text.saturating_add(tag.len().saturating_mul(repeats));
        }
        if tag.starts_with(b"<!") || tag.starts_with(b"<?") {
            is_plain(tag).then_some(())?;
            continue;
        }
        let closed = tag.ends_with(b"/>");
        match (name_of(tag), &mut row) {
            (b"table:table", None) => table = OpenTable::default(),
            (b"table:table-row", None) => {
                let repeats = count_of(tag, b"table:number-rows-repeated")?;
                match closed {
                    true => table.rows = table.rows.saturating_add(repeats),
                    false => row = Some(OpenRow { repeats, ..OpenRow::default() }),
                }
            }
            (b"table:table" | b"table:table-row", Some(_)) => return None,
            (b"table:table-cell" | b"table:covered-table-cell", Some(row)) => {
                if row.cell.is_some() {
                    return None;
                }
                let repeats = count_of(tag, b"table:number-columns-repeated")?;
                row.before_last = row.cells;
                row.cells = row.cells.saturating_add(repeats);
                let holds = |name: &[u8]| name.starts_with(b"office:") || name == b"table:formula";
                if !closed || attributes(tag)?.iter().any(|(name, _)| holds(name)) {
                    row.used = row.cells;
                    row.text = row.text.saturating_add(tag.len().saturating_mul(repeats));
                }
                row.cell = (!closed).then_some(repeats);
            }
            (b"text:s", Some(row)) => {
                let blanks = count_of(tag, b"text:c")?;
                row.text = row.text.saturating_add(blanks.saturating_mul(row.cell.unwrap_or(1)));
            }
            (b"/table:table-cell" | b"/table:covered-table-cell", Some(row)) => row.cell = None,
            (b"/table:table-row", Some(_)) => {
                let row = row.take()?;
                table.rows = table.rows.saturating_add(row.repeats);
                let before = table.used.saturating_mul(table.widest);
                if row.used > 0 {
                    table.used = table.rows;
                    table.widest = table.widest.max(row.used);
                }
                let more = table.used.saturating_mul(table.widest).saturating_sub(before);
                // The row itself is held once, before it is repeated.
                held.cells = held.cells.saturating_add(more).saturating_add(row.used.max(row.before_last));
                held.text = held.text.saturating_add(row.text.saturating_mul(row.repeats));
            }
            _ => {}
        }
    }
    Some(held)
}

/// Where a tag, a remark or an instruction ends.
pub(super) fn end_of_markup(text: &[u8]) -> Option<usize> {
    for (opens, closes) in [(&b"<!--"[..], &b"-->"[..]), (b"<![CDATA[", b"]]>"), (b"<?", b"?>")] {
        if let Some(inside) = text.strip_prefix(opens) {
            let end = inside.windows(closes.len()).position(|part| part == closes)?;
            return Some(opens.len() + end + closes.len());
        }
    }
    let is_end = text.starts_with(b"</");
    let mut quote = None;
    for (at, byte) in text.iter().enumerate() {
        match (quote, byte) {
            // Nothing but its name stands in the tag that closes an element.
            (_, b'"' | b'\'') if is_end => return None,
            (None, b'"' | b'\'') => quote = Some(*byte),
            (Some(open), byte) if open == *byte => quote = None,
            (None, b'>') => return Some(at + 1),
            _ => {}
        }
    }
    None
}

/// Whether a remark, an instruction or a text in brackets leaves the rest as it is read here.
fn is_plain(tag: &[u8]) -> bool {
    let small = tag.to_ascii_lowercase();
    let says = |word: &[u8]| small.windows(word.len()).any(|part| part == word);
    match tag.starts_with(b"<?xml") {
        true => !says(b"encoding") || says(b"utf-8"),
        false => [&b"<!--"[..], b"<![CDATA[", b"<?"].iter().any(|opens| tag.starts_with(opens)),
    }
}

pub(super) fn name_of(tag: &[u8]) -> &[u8] {
    let inside = tag.get(1..).unwrap_or_default();
    let end = inside
        .iter()
        .enumerate()
        .position(|(at, byte)| byte.is_ascii_whitespace() || *byte == b'>' || (at > 0 && *byte == b'/'));
    inside.get(..end.unwrap_or(inside.len())).unwrap_or_default()
}

/// The attributes of a tag as they stand.
pub(super) fn attributes(tag: &[u8]) -> Option<Vec<(&[u8], &[u8])>> {
    let mut found = Vec::new();
    let mut rest = tag.get(1 + name_of(tag).len()..)?;
    while let Some(equals) = rest.iter().position(|byte| *byte == b'=') {
        let name = rest.get(..equals)?.trim_ascii();
        rest = rest.get(equals + 1..)?.trim_ascii_start();
        let quote = *rest.first().filter(|byte| matches!(byte, b'"' | b'\''))?;
        rest = rest.get(1..)?;
        let end = rest.iter().position(|byte| *byte == quote)?;
        found.push((name, rest.get(..end)?));
        rest = rest.get(end + 1..)?;
    }
    Some(found)
}

/// How often something is repeated; none where that is no plain number.
pub(super) fn count_of(tag: &[u8], key: &[u8]) -> Option<usize> {
    let all = attributes(tag)?;
    let mut counts = all
        .iter()
        .filter(|(name, _)| *name == key)
        .map(|(_, value)| std::str::from_utf8(value).ok().and_then(|text| text.trim().parse::<usize>().ok()));
    counts.try_fold(None, |most: Option<usize>, count| Some(most.max(Some(count?)))).map(|most| most.unwrap_or(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(rows: &str) -> Option<Held> {
        held(format!("<office:spreadsheet><table:table>{rows}</table:table></office:spreadsheet>").as_bytes())
    }

    fn row(repeats: usize, cells: &str) -> String {
        format!("<table:table-row table:number-rows-repeated=\"{repeats}\">{cells}</table:table-row>")
    }

    const FULL: &str = "<table:table-cell office:value-type=\"float\" office:value=\"1\"/>";
    const WIDE: &str = "<table:table-cell table:number-columns-repeated=\"16384\" office:value=\"1\"/>";
    const EMPTY: &str = "<table:table-cell table:number-columns-repeated=\"16384\"/>";

    #[test]
    fn repeated_cells_are_counted_before_they_are_made() {
        let cells = |rows: String| of(&rows).map(|held| held.cells);
        assert_eq!(cells(row(3, FULL)), Some(3 + 1));
        assert_eq!(cells(row(1_048_576, EMPTY)), Some(0));
        assert_eq!(cells(row(1_000_000, WIDE)), Some(16_384_000_000 + 16_384));
        assert_eq!(cells(row(1_000, EMPTY) + &row(1, WIDE)), Some(1_001 * 16_384 + 16_384));
        assert_eq!(cells(format!("<!-- {} -->{}", row(9_999, WIDE), row(1, FULL))), Some(1 + 1));
        // Empty cells before another are made too, once a row.
        assert_eq!(cells(row(1, &format!("{EMPTY}<table:table-cell/>")).repeat(10)), Some(163_840));
        let formula = "<table:table-cell table:number-columns-repeated=\"9\" table:formula=\"of:=1\"/>";
        assert_eq!(cells(row(1, formula)), Some(9 + 9));
        // Two sheets are both held.
        assert_eq!(cells(format!("{}</table:table><table:table>{}", row(3, FULL), row(3, FULL))), Some(8));
    }

    #[test]
    fn text_counts_as_often_as_it_stands_there() {
        let long = "x".repeat(20_000);
        let cell = format!(
            "<table:table-cell office:value-type=\"string\" table:number-columns-repeated=\"199\"><text:p>{long}</text:p></table:table-cell>"
        );
        let text = of(&row(10_000, &cell)).unwrap().text;
        assert!((39_800_000_000..41_000_000_000).contains(&text), "{text}");
        let blanks = "<table:table-cell office:value-type=\"string\"><text:p><text:s text:c=\"5000000\"/></text:p></table:table-cell>";
        assert!(of(&row(10, blanks)).unwrap().text > 50_000_000);
    }

    #[test]
    fn what_could_be_read_otherwise_is_not_told() {
        for rows in [
            "<table:table-row table:number-rows-repeated=\"&#57;9\">".to_owned(),
            // Tables in cells, cells in cells.
            row(9, &format!("<table:table-cell>{}</table:table-cell>", row(1, FULL))),
            row(9, &format!("<table:table-cell>{FULL}</table:table-cell>")),
            "<!DOCTYPE a [ <!-- ' --> ]>".to_owned(),
            "</table:table-row '>".to_owned(),
            "<!-- never closed".to_owned(),
        ] {
            assert_eq!(of(&rows), None, "{rows}");
        }
        assert_eq!(held(b"<?xml version='1.0' encoding='UTF-16'?><a/>"), None);
        assert!(held(b"<?xml version='1.0' encoding='UTF-8'?><a/>").is_some());
        // A number that stands in the value of something else is none.
        let decoy =
            "<table:table-cell office:a=\"table:number-columns-repeated='1'\" table:number-columns-repeated=\"50\"/>";
        assert_eq!(of(&row(1, decoy)).unwrap().cells, 100);
    }
}

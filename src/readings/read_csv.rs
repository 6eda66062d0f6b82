//! Readings from a table, as a sheet comes back from a spreadsheet: commas or semicolons, a comma before decimals where
//! semicolons part the cells, a byte order mark, columns in any order. Columns that only explain are passed over, and a
//! row without a value is a line that nobody read.

use std::collections::HashMap;

use super::described::{ABOUT_INSTRUMENTS, Described};
use super::read::Photos;
use super::record::{Reading, Record, told_of_early};
use super::uncertainty::Spread;
use crate::diagnostic::{Diagnostic, Log, SourceId, Span};
use crate::load::reader::{Date, Text, is_name};
use crate::load::text::{from_cell, is_decimal_comma};
use crate::units::Amount;

/// Columns that are read.
pub const COLUMNS: &[&str] = &[
    "line",
    "value",
    "unit",
    "uncertainty",
    "instrument",
    "instrument-kind",
    "instrument-serial",
    "instrument-class",
    "instrument-uncertainty",
    "instrument-limits-of-error",
    "digit",
    "calibrated",
    "calibration-due",
    "no-calibration",
    "by",
    "on",
    "photos",
    "responsible",
    "due",
    "note",
    "vehicle",
    "mark",
];

/// Columns of a sheet that only explain.
pub const EXPLAINING: &[&str] =
    &["where", "what", "heads", "set-to", "method", "how", "with", "reckon-with", "limit", "expected", "source"];

/// A header with more cells is no header.
const MOST_COLUMNS: usize = 100;

struct Sheet<'a> {
    text: &'a str,
    source: SourceId,
    photos: &'a Photos<'a>,
    semicolons: bool,
}

/// One row: its cells by column.
pub(super) struct Row<'a> {
    sheet: &'a Sheet<'a>,
    cells: HashMap<&'a str, String>,
    columns: &'a [String],
    pub span: Span,
}

/// Reads a table of readings; `None` where it is none at all.
pub(super) fn read_table(text: &str, source: SourceId, photos: &Photos<'_>) -> Option<Record> {
    let header_line = text.lines().find(|line| !line.trim().is_empty() && !line.starts_with('#')).unwrap_or_default();
    let semicolons = header_line.contains(';') && !header_line.contains(',');
    let sheet = Sheet { text, source, photos, semicolons };
    let mut builder = csv::ReaderBuilder::new();
    builder.has_headers(false).flexible(true).trim(csv::Trim::All).comment(Some(b'#'));
    builder.delimiter(if semicolons { b';' } else { b',' });
    let mut reader = builder.from_reader(text.as_bytes());
    // The text is UTF-8, so no record can fail; the reader says so with a type.
    let mut records = reader.records().filter_map(Result::ok).filter(|record| !record.iter().all(str::is_empty));
    let Some(header) = records.next() else {
        let error = Diagnostic::error("empty-table", "this table of readings is empty").at(&sheet.span(0..0), "");
        photos.log.push(error.help("its first row names the columns: line, value, unit, instrument, by, on, ..."));
        return None;
    };
    let columns = sheet.header(&header)?;
    let (mut record, mut described) = (Record::default(), Described::default());
    // Remarks stand before the head or behind the last row; between rows one may hide a reading.
    let (mut remarks, mut hidden, mut end): (Vec<Span>, Vec<Span>, usize) = Default::default();
    for cells in records {
        let span = sheet.line_of(&cells);
        let start = cells.position().and_then(|place| usize::try_from(place.byte()).ok()).unwrap_or(0);
        remarks.extend(sheet.remarks(start..span.range.start));
        end = span.range.end;
        if is_remark(&columns, &cells) {
            if names_line(&columns, &cells) {
                hidden.push(span)
            } else {
                remarks.push(span)
            }
            continue;
        }
        hidden.append(&mut remarks);
        if cells.len() > columns.len() && cells.iter().skip(columns.len()).any(|cell| !cell.is_empty()) {
            let message = format!("this row has {} cells, the header {}", cells.len(), columns.len());
            photos.log.push(
                Diagnostic::error("too-many-cells", message)
                    .at(&span, "")
                    .help("a comma inside a cell needs quotation marks around the cell"),
            );
        }
        let filled = columns.iter().zip(cells.iter()).filter(|(_, cell)| !cell.is_empty());
        let cells = filled.map(|(column, cell)| (column.as_str(), from_cell(cell).to_owned())).collect();
        Row { sheet: &sheet, cells, columns: &columns, span }.read(&mut record, &mut described);
    }
    hidden.extend(sheet.remarks(end..text.len()).into_iter().filter(|span| sheet.hides_reading(&columns, span)));
    if let Some(first) = hidden.first() {
        let message = format!("a row that begins with `#` stands in the table ({} of them)", hidden.len());
        let error = Diagnostic::error("remark-in-table", message).at(first, "is this a reading?");
        photos.log.push(error.help(
            "remarks stand before the head or behind the last row; a row that is one begins with something else",
        ));
    }
    record.instruments = described.instruments(photos.log);
    Some(record)
}

/// Whether a row is none: its first cell, or the one that names its line, begins as a remark does.
fn is_remark(columns: &[String], cells: &csv::StringRecord) -> bool {
    let first = cells.iter().find(|cell| !cell.is_empty());
    let line = columns.iter().zip(cells).find(|(column, _)| *column == "line").map(|(_, cell)| cell);
    first.into_iter().chain(line).any(|cell| from_cell(cell).starts_with('#'))
}

/// Whether a remark names a line where a row does.
fn names_line(columns: &[String], cells: &csv::StringRecord) -> bool {
    let is_id = |cell: &str| !from_cell(cell).starts_with('#') && cell.contains(':') && cell.contains('@');
    columns.iter().zip(cells).any(|(column, cell)| column == "line" && is_id(cell))
}

/// A day in a cell; a mistake where it is none.
pub(super) fn day(cell: &str, name: &str, span: &Span, log: &Log) -> Option<Date> {
    let read = cell.parse::<toml::value::Datetime>().ok().and_then(|read| read.date);
    if read.is_none() {
        let error = Diagnostic::error("bad-date", format!("`{cell}` is no date for `{name}`"));
        log.push(error.at(span, format!("column `{name}`")).help(
            "write year-month-day, such as 2026-11-18; format the column as text first, so that the spreadsheet keeps it",
        ));
    }
    read
}

/// Whether a figure has one point with three digits behind it: `1.016`, and not `0.125`.
fn may_be_thousands(cell: &str) -> bool {
    let number = cell.split_whitespace().next().unwrap_or_default();
    let Some((whole, rest)) = number.split_once('.') else { return false };
    let whole = whole.trim_start_matches(['-', '+']);
    let digits = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
    digits(whole) && whole.len() <= 3 && !whole.starts_with('0') && rest.len() == 3 && digits(rest)
}

/// Where the cell of this number stands in a line, without quotation marks round it; none where it is empty.
fn cell_in(line: &str, number: usize, parts: char) -> Option<std::ops::Range<usize>> {
    let (mut cell, mut start, mut quoted) = (0, 0, false);
    let ends = line.char_indices().chain([(line.len(), parts)]);
    for (at, letter) in ends {
        quoted ^= letter == '"';
        if at < line.len() && (quoted || letter != parts) {
            continue;
        }
        if cell == number {
            let text = line.get(start..at)?;
            let inner = text.trim().trim_matches('"');
            let offset = text.find(inner)?;
            return (!inner.is_empty()).then_some(start + offset..start + offset + inner.len());
        }
        (cell, start) = (cell + 1, at + letter.len_utf8());
    }
    None
}

impl Sheet<'_> {
    fn span(&self, range: std::ops::Range<usize>) -> Span {
        Span { source: self.source, range }
    }

    /// Lines of a part of the text that begin as remarks do.
    fn remarks(&self, part: std::ops::Range<usize>) -> Vec<Span> {
        let (mut at, mut found) = (part.start, Vec::new());
        for line in self.text.get(part).unwrap_or_default().split_inclusive('\n') {
            if line.starts_with('#') {
                found.push(self.span(at..at + line.trim_end().len()));
            }
            at += line.len();
        }
        found
    }

    /// Whether a line that is taken for a remark holds what a row does.
    fn hides_reading(&self, columns: &[String], span: &Span) -> bool {
        let line = self.text.get(span.range.clone()).unwrap_or_default();
        let delimiter = if self.semicolons { b';' } else { b',' };
        let reader = csv::ReaderBuilder::new().has_headers(false).delimiter(delimiter).from_reader(line.as_bytes());
        reader.into_records().filter_map(Result::ok).any(|cells| names_line(columns, &cells))
    }

    /// The first line of a record. Its own position may lie before blank lines and remarks that were passed over.
    fn line_of(&self, record: &csv::StringRecord) -> Span {
        let mut start = record.position().and_then(|place| usize::try_from(place.byte()).ok()).unwrap_or(0);
        loop {
            let line = self.text.get(start..).and_then(|rest| rest.split_inclusive('\n').next()).unwrap_or_default();
            let shown = line.trim_end();
            if line.is_empty() || !(shown.is_empty() || shown.starts_with('#')) {
                return self.span(start..start + shown.len());
            }
            start += line.len();
        }
    }

    fn header(&self, header: &csv::StringRecord) -> Option<Vec<String>> {
        let (span, log) = (self.line_of(header), self.photos.log);
        if header.len() > MOST_COLUMNS {
            let message = format!("this is no table of readings: its first row has {} cells", header.len());
            log.push(Diagnostic::error("too-many-cells", message).at(&span, "the header"));
            return None;
        }
        let mut columns: Vec<String> = Vec::new();
        for title in header {
            let name = title.trim().to_lowercase().replace([' ', '_'], "-");
            if !name.is_empty() && !COLUMNS.contains(&name.as_str()) && !EXPLAINING.contains(&name.as_str()) {
                let error =
                    Diagnostic::error("unknown-column", format!("`{name}` is not a column of a table of readings"));
                log.suggest(error.at(&span, ""), &name, COLUMNS.iter().copied());
            } else if !name.is_empty() && columns.contains(&name) {
                let error = Diagnostic::error("double-column", format!("the column `{name}` stands here twice"));
                log.push(error.at(&span, ""));
            }
            columns.push(name);
        }
        for needed in ["line", "value"] {
            if !columns.iter().any(|column| column == needed) {
                let error = Diagnostic::error("missing-column", format!("the column `{needed}` is missing"));
                log.push(error.at(&span, "the header"));
                return None;
            }
        }
        Some(columns)
    }
}

impl Row<'_> {
    fn cell(&self, name: &str) -> Option<&str> {
        self.cells.get(name).map(String::as_str)
    }

    /// A text with the place of the cell that it comes from.
    fn text(&self, name: &str, text: &str) -> Text {
        Text { text: text.to_owned(), span: self.place(name), opening: None }
    }

    /// Where a cell stands; the whole row where it has none, or goes on in the next line.
    fn place(&self, name: &str) -> Span {
        let line = self.sheet.text.get(self.span.range.clone()).unwrap_or_default();
        let parts = if self.sheet.semicolons { ';' } else { ',' };
        let at = self.columns.iter().position(|column| column == name);
        let Some(cell) = at.and_then(|at| cell_in(line, at, parts)) else { return self.span.clone() };
        self.sheet.span(self.span.range.start + cell.start..self.span.range.start + cell.end)
    }

    /// A mistake of this row.
    fn mistake(&self, code: &'static str, message: String, help: &str) {
        self.sheet.photos.log.push(Diagnostic::error(code, message).at(&self.span, "in this row").help(help));
    }

    /// A mistake in one of its cells.
    fn mistake_in(&self, name: &str, code: &'static str, message: String, help: &str) {
        let label = format!("column `{name}`");
        self.sheet.photos.log.push(Diagnostic::error(code, message).at(&self.place(name), label).help(help));
    }

    fn day_of(&self, name: &str) -> Option<Option<Date>> {
        let Some(cell) = self.cell(name) else { return Some(None) };
        day(cell, name, &self.place(name), self.sheet.photos.log).map(Some)
    }

    /// A figure with the decimals of the sheet.
    fn figure(&self, cell: &str) -> String {
        let number = cell.split_whitespace().next().unwrap_or_default();
        if self.sheet.semicolons && is_decimal_comma(number) { cell.replacen(',', ".", 1) } else { cell.to_owned() }
    }

    /// A spread with the decimals of the sheet.
    fn spread_text(&self, cell: &str) -> String {
        let parts: Vec<String> = cell.split('+').map(|part| self.figure(part.trim())).collect();
        parts.join(" + ")
    }

    /// The unit of the value: that behind its number, else that of its own column. What was counted has none.
    fn unit_of_value(&self) -> Option<String> {
        let value = self.figure(self.cell("value")?);
        match Amount::parse(&value) {
            Ok(amount) => Some(amount.unit().symbol().to_owned()),
            Err(_) if value.parse::<f64>().is_ok() => self.cell("unit").map(str::to_owned),
            Err(_) => None,
        }
    }

    /// The uncertainty of this reading; a number alone is in the unit of its value.
    fn spread(&self, name: &str) -> Option<Option<(Spread, String)>> {
        let Some(cell) = self.cell(name) else { return Some(None) };
        let text = self.spread_text(cell);
        let text = match self.unit_of_value().filter(|_| text.parse::<f64>().is_ok()) {
            Some(unit) => format!("{text} {unit}"),
            None => text,
        };
        match Spread::parse(&text) {
            Ok(spread) => Some(Some((spread, text))),
            Err(why) => {
                self.mistake_in(
                    name,
                    "bad-uncertainty",
                    format!("`{name}`: {why}"),
                    "for example \"2 % + 5 digits\" or \"0.5 in\"",
                );
                None
            }
        }
    }

    fn read(&self, record: &mut Record, described: &mut Described) {
        let instrument = self.instrument(described);
        // A table has one vehicle, however many rows say so.
        match (self.cell("vehicle"), record.vehicles.first()) {
            (Some(name), None) => record.vehicles.push(self.text("vehicle", name)),
            (Some(name), Some(known)) if known.text != name => {
                let message = format!("this row is of `{name}`, those before it of `{}`", known.text);
                self.mistake_in("vehicle", "other-vehicle", message, "one table is of one vehicle");
            }
            _ => {}
        }
        let Some(value) = self.cell("value") else {
            record.blank += 1;
            return;
        };
        let Some(line) = self.cell("line") else {
            self.mistake(
                "missing-cell",
                "this row has no `line`".to_owned(),
                "it is the id in the sheet's first column",
            );
            return;
        };
        let value = self.figure(value);
        if self.sheet.semicolons && may_be_thousands(&value) {
            let message = format!("`{value}` may be a thousand or a decimal, where decimals have a comma");
            self.mistake_in("value", "ambiguous-figure", message, "write 1016 for a thousand, or 1,0160 for a decimal");
            return;
        }
        // The unit stands behind the number, in the cell or in its own column.
        let with_unit = match self.cell("unit") {
            Some(unit) if value.parse::<f64>().is_ok() => format!("{value} {unit}"),
            _ => value,
        };
        let (by, on) = (self.cell("by"), self.day_of("on"));
        for (name, missing) in [("by", by.is_none()), ("on", matches!(on, Some(None)))] {
            if missing {
                self.mistake(
                    "missing-cell",
                    format!("this row has no `{name}`"),
                    "a reading says who took it, and when",
                );
            }
        }
        let (own, due) = (self.spread("uncertainty"), self.day_of("due"));
        let names =
            self.cell("photos").unwrap_or_default().split([';', '|']).map(str::trim).filter(|name| !name.is_empty());
        let photos = names.filter_map(|name| self.sheet.photos.named(name, &self.place("photos"))).collect();
        let word = |name| self.cell(name).map(str::to_owned);
        let (Some(by), Some(Some(on)), Some(own), Some(due)) = (by, on, own, due) else { return };
        told_of_early(on, due, &self.place("due"), self.sheet.photos.log);
        record.readings.push(Reading {
            line: self.text("line", line),
            mark: word("mark"),
            value: self.text("value", &with_unit),
            uncertainty: own.map(|(spread, _)| (spread, 2.0)),
            instrument,
            by: by.to_owned(),
            on,
            note: word("note"),
            photos,
            responsible: word("responsible"),
            due,
            span: self.span.clone(),
        });
    }

    /// The instrument of this row; what the row says of it is kept with the row.
    fn instrument(&self, described: &mut Described) -> Option<Text> {
        let id = self.cell("instrument")?;
        if !is_name(id) {
            let help = "ids are made of letters, digits, `.`, `_` and `-`";
            self.mistake_in("instrument", "bad-id", format!("`{id}` cannot be the id of an instrument"), help);
            return None;
        }
        let said = ABOUT_INSTRUMENTS.iter().filter_map(|name| Some((*name, self.about_instrument(name)?)));
        described.add(self, id, said.collect());
        Some(self.text("instrument", id))
    }

    /// What a cell says of the instrument, in words that mean the same in every row.
    fn about_instrument(&self, name: &str) -> Option<String> {
        let cell = self.cell(name)?;
        Some(match name {
            "instrument-uncertainty" | "instrument-limits-of-error" => {
                let text = self.spread_text(cell);
                if text.parse::<f64>().is_ok() {
                    let message = format!("`{name}`: `{text}` has no unit");
                    self.mistake("bad-uncertainty", message, "for example \"2 % + 5 digits\" or \"0.5 in\"");
                    return None;
                }
                text
            }
            "digit" => self.figure(cell),
            _ => cell.to_owned(),
        })
    }
}

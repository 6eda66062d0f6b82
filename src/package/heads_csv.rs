//! Heads as people keep them: rows of a spreadsheet, with a unit in the header or in the cell.

use super::heads::{HeadDoc, Place, find_model, lose, parse_faces};
use super::{Model, ROLES, Role};
use crate::diagnostic::{Diagnostic, Log, SourceId, Span};
use crate::load::reader::{Text, quantity_error};
use crate::units::{Amount, AmountError, Degrees, Dimension, Length};

/// One cell of the spreadsheet.
struct Cell {
    text: String,
    unit: Option<String>,
    span: Span,
}

impl Cell {
    fn quantity<Q: TryFrom<Amount, Error = AmountError>>(&self, dimension: Dimension, log: &Log) -> Option<Q> {
        let mut parsed = Amount::parse(&self.text);
        if let (Err(AmountError::NoUnit { .. }), Some(unit)) = (&parsed, &self.unit) {
            parsed = Amount::parse(&format!("{} {unit}", self.text));
        }
        match parsed.and_then(Q::try_from) {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                log.push(quantity_error(&error, dimension, &self.text, &self.span));
                None
            }
        }
    }
}

const COLUMNS: [&str; 18] = [
    "id",
    "model",
    "groups",
    "behind-front",
    "ahead",
    "right",
    "height",
    "faces",
    "tilt",
    "wedge",
    "roll",
    "level",
    "role",
    "circuit",
    "output",
    "clock",
    "serial",
    "mirror",
];

/// Reads heads from a table of the columns above; a unit stands in the header (`height (in)`) or in the cell.
pub(super) fn read_heads_csv(
    text: &str,
    source: SourceId,
    middle: Length,
    models: &[Model],
    log: &Log,
) -> Vec<HeadDoc> {
    let mut builder = csv::ReaderBuilder::new();
    // Spreadsheets of many countries write semicolons, and then decimal commas.
    let header = text.lines().find(|line| !line.trim().is_empty() && !line.starts_with('#')).unwrap_or_default();
    let semicolons = header.contains(';') && !header.contains(',');
    builder.delimiter(if semicolons { b';' } else { b',' });
    builder.has_headers(false).flexible(true).trim(csv::Trim::All).comment(Some(b'#'));
    let mut reader = builder.from_reader(text.as_bytes());
    let mut records = reader.records();
    let line_span = |record: &csv::StringRecord| {
        let start = record.position().map_or(0, |place| usize::try_from(place.byte()).unwrap_or(0));
        let line = text.get(start..).map_or(0, |rest| rest.find('\n').unwrap_or(rest.len()));
        Span { source, range: start..start + line }
    };
    let bad_csv = |error: csv::Error| {
        let at = error.position().map_or(0, |place| usize::try_from(place.byte()).unwrap_or(0));
        let span = Span { source, range: at..at + 1 };
        log.push(Diagnostic::error("csv-syntax", error.to_string()).at(&span, ""));
    };
    let header = match records.next() {
        Some(Ok(header)) => header,
        Some(Err(error)) => {
            bad_csv(error);
            return Vec::new();
        }
        None => {
            log.push(
                Diagnostic::error("empty-table", "the table of heads is empty").at(&Span { source, range: 0..0 }, ""),
            );
            return Vec::new();
        }
    };
    let mut columns: Vec<(String, Option<String>)> = Vec::new();
    for title in &header {
        let title = title.trim_start_matches('\u{feff}');
        let (name, unit) = match title.split_once('(') {
            Some((name, unit)) => (name.trim(), Some(unit.trim_end_matches(')').trim().to_owned())),
            None => (title.trim(), None),
        };
        let message = if !COLUMNS.contains(&name) {
            Some(format!("`{name}` is not a column of a table of heads"))
        } else if columns.iter().any(|(earlier, _)| earlier == name) {
            Some(format!("the column `{name}` stands here twice"))
        } else {
            None
        };
        if let Some(message) = message {
            let line = line_span(&header);
            let at = text.get(line.range.clone()).and_then(|row| row.find(name)).unwrap_or(0) + line.range.start;
            let span = Span { source, range: at..at + name.len() };
            log.push(Diagnostic::error("unknown-column", message).at(&span, "").nearest(name, COLUMNS));
        }
        columns.push((name.to_owned(), unit));
    }
    let sheet = Sheet { columns, decimal_comma: semicolons, text, middle, models, log };
    let mut heads = Vec::new();
    for record in records {
        match record {
            Ok(record) if record.iter().all(str::is_empty) => {}
            Ok(record) => {
                let line = line_span(&record);
                heads.extend(read_row(&record, &line, &sheet));
            }
            Err(error) => bad_csv(error),
        }
    }
    heads
}

/// What all rows of one table share.
struct Sheet<'a> {
    columns: Vec<(String, Option<String>)>,
    decimal_comma: bool,
    text: &'a str,
    middle: Length,
    models: &'a [Model],
    log: &'a Log,
}

fn read_row(record: &csv::StringRecord, line: &Span, sheet: &Sheet<'_>) -> Option<HeadDoc> {
    let Sheet { columns, decimal_comma, text, middle, models, log } = sheet;
    if record.len() > columns.len() {
        let message = format!("this row has {} cells, the header {}", record.len(), columns.len());
        log.push(Diagnostic::error("too-many-cells", message).at(line, "").help("is there a comma too many?"));
    }
    let mut from = line.range.start;
    let mut cells: Vec<(&str, Cell)> = Vec::new();
    for ((name, unit), value) in columns.iter().zip(record) {
        // The csv reader keeps no places of cells, so each is found behind the one before it.
        let ahead = text.get(from..line.range.end).unwrap_or_default();
        let start = from + ahead.find(value).unwrap_or(0);
        from = start + value.len();
        if !value.is_empty() {
            let span = Span { source: line.source, range: start..from };
            let is_name = matches!(name.as_str(), "id" | "model" | "groups" | "serial");
            let text = if *decimal_comma && !is_name { value.replace(',', ".") } else { value.to_owned() };
            cells.push((name, Cell { text, unit: unit.clone(), span }));
        }
    }
    let cell = |name: &str| cells.iter().find(|(column, _)| *column == name).map(|(_, cell)| cell);
    let require = |name: &str| {
        let found = cell(name);
        if found.is_none() {
            let message = format!("this row has no `{name}`");
            log.push(Diagnostic::error("missing-cell", message).at(line, "in this row"));
        }
        found
    };
    let word = |name: &str| cell(name).map(|cell| cell.text.clone());
    let as_text = |cell: &Cell| Text { text: cell.text.clone(), span: cell.span.clone() };
    let length = |cell: &Cell| cell.quantity::<Length>(Dimension::Length, log);
    let angle = |name: &str| cell(name).map_or(Some(Degrees::ZERO), |cell| cell.quantity(Dimension::Angle, log));

    let id = require("id").map(as_text);
    let model = require("model").map(as_text).and_then(|name| find_model(&name, models, log));
    for name in ["id", "level", "circuit", "output", "clock"] {
        let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-');
        if let Some(cell) = cell(name).filter(|cell| !cell.text.chars().all(fits)) {
            let message = format!("`{}` cannot be a name for `{name}`", cell.text);
            let error = Diagnostic::error("bad-id", message).at(&cell.span, "");
            log.push(error.help("names are made of letters, digits, `.`, `_` and `-`"));
            return None;
        }
    }
    let groups = cell("groups").map(|cell| {
        let names = cell.text.split([' ', ';']).filter(|name| !name.is_empty());
        names.map(|name| Text { text: name.to_owned(), span: cell.span.clone() }).collect()
    });
    let ahead = match (cell("behind-front"), cell("ahead")) {
        (_, Some(cell)) => length(cell),
        (Some(cell), None) => length(cell).map(|behind: Length| *middle - behind),
        (None, None) => require("behind-front").and_then(length),
    };
    let right = cell("right").map_or(Some(Length::ZERO), length);
    let height = require("height").and_then(length).filter(|height| {
        let fits = height.value() >= 0.0;
        if !fits {
            log.push(Diagnostic::error("not-positive", "a height below the ground cannot be").at(line, ""));
        }
        fits
    });
    let faces = require("faces").and_then(|cell| {
        let text = match &cell.unit {
            Some(unit) if cell.text.parse::<f64>().is_ok() => format!("{} {unit}", cell.text),
            _ => cell.text.clone(),
        };
        let faces = parse_faces(&text);
        if let Err(error) = &faces {
            let error = Diagnostic::error("unknown-bearing", error.clone()).at(&cell.span, "");
            log.push(error.help("front, right, rear, left, or a bearing such as \"35 deg\""));
        }
        faces.ok()
    });
    let role = cell("role").map_or(Some(Role::Warning), |cell| {
        let role = ROLES.iter().find(|(word, _)| *word == cell.text).map(|(_, role)| *role);
        if role.is_none() {
            let error = Diagnostic::error("unknown-word", format!("`{}` is not a role", cell.text));
            log.push(error.at(&cell.span, "").nearest(&cell.text, ROLES.iter().map(|(word, _)| *word)));
        }
        role
    });
    let mirror = match cell("mirror").map(|cell| (cell.text.to_lowercase(), cell)) {
        None => Some(false),
        Some((text, _)) if matches!(text.as_str(), "yes" | "true" | "x") => Some(true),
        Some((text, _)) if matches!(text.as_str(), "no" | "false") => Some(false),
        Some((text, cell)) => {
            let error = Diagnostic::error("unknown-word", format!("`{text}` does not fit `mirror`"));
            log.push(error.at(&cell.span, "").help("write yes or no, or leave the cell empty"));
            None
        }
    };
    let (tilt, wedge, roll) = (angle("tilt"), angle("wedge"), angle("roll"));
    let place = || {
        let pitch = tilt? + wedge?;
        Some(Place { ahead: ahead?, right: right?, height: height?, faces: faces?, pitch, roll: roll? })
    };
    let groups: Vec<Text> = groups.unwrap_or_default();
    let (Some(place), Some(model), Some(role), Some(mirror)) = (place(), model, role, mirror) else {
        let names = id.iter().chain(&groups).map(|name| name.text.as_str());
        names.for_each(|name| lose(name, mirror.unwrap_or(false), log));
        return None;
    };
    Some(HeadDoc {
        id: id?,
        model,
        groups,
        place,
        poses: Vec::new(),
        level: word("level"),
        role,
        circuit: word("circuit"),
        output: word("output"),
        clock: word("clock"),
        serial: word("serial"),
        glass: None,
        mirror,
    })
}

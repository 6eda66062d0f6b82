//! Heads from a table, as people keep lamp schedules: units in the header or in the cell, commas or semicolons.

use super::heads::{HeadDoc, Mount, Names, Place, UPRIGHT, read_faces};
use super::vehicle::ALONG;
use super::{ROLES, Role};
use crate::diagnostic::{Diagnostic, Log, SourceId, Span};
use crate::load::figure::{Figure, figure};
use crate::load::reader::{Text, is_name};
use crate::load::text::{from_cell, is_decimal_comma};
use crate::units::{Amount, AmountError, Degrees, Dimension, Length, Unit};

/// The columns, and what those that hold figures measure.
const COLUMNS: [(&str, Option<Dimension>); 18] = [
    ("id", None),
    ("model", None),
    ("groups", None),
    ("behind-front", Some(Dimension::Length)),
    ("ahead", Some(Dimension::Length)),
    ("right", Some(Dimension::Length)),
    ("height", Some(Dimension::Length)),
    ("faces", Some(Dimension::Angle)),
    ("tilt", Some(Dimension::Angle)),
    ("wedge", Some(Dimension::Angle)),
    ("roll", Some(Dimension::Angle)),
    ("level", None),
    ("role", None),
    ("circuit", None),
    ("output", None),
    ("clock", None),
    ("serial", None),
    ("mirror", None),
];

/// Columns without which no row can be read.
const NEEDED: [&str; 4] = ["id", "model", "height", "faces"];

/// A header with more cells is no header.
const MOST_COLUMNS: usize = 100;

/// One title of the header.
struct Column {
    name: String,
    unit: Option<Unit>,
    /// Its title has a mistake, which its cells would only repeat.
    broken: bool,
}

/// The table as a whole.
struct Schedule<'a> {
    text: &'a str,
    source: SourceId,
    log: &'a Log,
    middle: Length,
    columns: Vec<Column>,
    /// Written where the comma stands before decimals.
    semicolons: bool,
}

/// Reads heads from a table; `middle` is half the vehicle's length. `None` where it is no table of heads at all.
pub(super) fn read_heads_csv(text: &str, source: SourceId, middle: Length, log: &Log) -> Option<Vec<HeadDoc>> {
    let header_line = text.lines().find(|line| !line.trim().is_empty() && !line.starts_with('#')).unwrap_or_default();
    let semicolons = header_line.contains(';') && !header_line.contains(',');
    let mut schedule = Schedule { text, source, log, middle, columns: Vec::new(), semicolons };
    let mut builder = csv::ReaderBuilder::new();
    builder.has_headers(false).flexible(true).trim(csv::Trim::All).comment(Some(b'#'));
    builder.delimiter(if semicolons { b';' } else { b',' });
    let mut reader = builder.from_reader(text.as_bytes());
    // The text is UTF-8, so no record can fail; the reader says so with a type.
    let mut records = reader.records().filter_map(Result::ok).filter(|record| !record.iter().all(str::is_empty));
    let Some(header) = records.next() else {
        let error = Diagnostic::error("empty-table", "this table of heads is empty").at(&schedule.span(0..0), "");
        log.push(error.help("its first row names the columns: id, model, behind-front (in), right (in), ..."));
        return None;
    };
    if !schedule.read_header(&header) {
        return None;
    }
    let heads: Vec<HeadDoc> = records.map(|record| schedule.read_row(&record)).collect();
    if heads.is_empty() {
        let warning = Diagnostic::warning("empty-table", "this table of heads has a header and no head");
        log.push(warning.at(&schedule.line_of(&header), ""));
    }
    Some(heads)
}

impl Schedule<'_> {
    fn span(&self, range: std::ops::Range<usize>) -> Span {
        Span { source: self.source, range }
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

    /// Whether this is a header.
    fn read_header(&mut self, header: &csv::StringRecord) -> bool {
        let line = self.line_of(header);
        if header.len() > MOST_COLUMNS {
            let message = format!("this is no table of heads: its first row has {} cells", header.len());
            self.log.push(Diagnostic::error("too-many-cells", message).at(&line, "the header"));
            return false;
        }
        let places = self.cell_spans(header);
        for (title, span) in header.iter().zip(places) {
            let (name, unit) = match title.split_once(['(', '[']) {
                Some((name, unit)) => (name.trim(), Some(unit.trim_end_matches([')', ']']).trim())),
                None => (title.trim(), None),
            };
            let name = name.to_lowercase();
            let known = COLUMNS.iter().find(|(known, _)| *known == name);
            let mut broken = false;
            let mut fault = |error: Diagnostic| {
                broken = true;
                error.at(&span, "")
            };
            if known.is_none() {
                let message = format!("`{name}` is not a column of a table of heads");
                let error = fault(Diagnostic::error("unknown-column", message));
                self.log.suggest(error, &name, COLUMNS.iter().map(|(known, _)| *known));
            } else if self.columns.iter().any(|earlier| earlier.name == name) {
                let message = format!("the column `{name}` stands here twice");
                self.log.push(fault(Diagnostic::error("double-column", message)));
            }
            let found = unit.and_then(Unit::parse);
            if let (Some(unit), Some((_, dimension))) = (unit, known)
                && found.map(Unit::dimension).is_none_or(|found| Some(found) != *dimension)
            {
                let message = format!("`{unit}` is no unit for the column `{name}`");
                let help = dimension.map_or("this column takes no unit".to_owned(), |dimension| {
                    format!("units that fit: {}", dimension.symbols())
                });
                self.log.push(fault(Diagnostic::error("unknown-unit", message)).help(help));
            }
            self.columns.push(Column { name, unit: found, broken });
        }
        let has = |name: &str| self.columns.iter().any(|column| column.name == name);
        let missing = NEEDED.into_iter().filter(|name| !has(name));
        for name in missing.chain((!has("behind-front") && !has("ahead")).then_some("behind-front")) {
            let error = Diagnostic::error("missing-column", format!("the column `{name}` is missing"));
            let error = error.at(&line, "the header");
            self.log.push(if name == "behind-front" { error.help(ALONG) } else { error });
        }
        true
    }

    /// Where each cell stands: the reader keeps no places, so each is found behind the one before it.
    fn cell_spans(&self, record: &csv::StringRecord) -> Vec<Span> {
        let mut from = self.line_of(record).range.start;
        let spans = record.iter().take(MOST_COLUMNS).map(|value| {
            let first = value.lines().next().unwrap_or_default();
            let ahead = self.text.get(from..).unwrap_or_default();
            // Quotation marks doubled inside a cell are not found again; such a cell is marked where it begins.
            let most = first.len() + 200;
            let near = (most..most + 4).find_map(|most| ahead.get(..most)).unwrap_or(ahead);
            let found = near.find(first);
            let start = from + found.unwrap_or(0);
            let end = start + if found.is_some() { first.len() } else { 0 };
            from = end;
            self.span(start..end)
        });
        spans.collect()
    }

    fn read_row(&self, record: &csv::StringRecord) -> HeadDoc {
        let line = self.line_of(record);
        if record.len() > self.columns.len() {
            let message = format!("this row has {} cells, the header {}", record.len(), self.columns.len());
            let help = if self.semicolons {
                "is there a semicolon too many?"
            } else {
                "is there a comma too many? A comma inside a cell needs quotation marks around the cell"
            };
            self.log.push(Diagnostic::error("too-many-cells", message).at(&line, "").help(help));
        }
        let places = self.cell_spans(record);
        let cells = self.columns.iter().zip(record.iter().zip(places));
        let cells = cells.filter(|(column, (text, _))| !text.is_empty() && !column.broken);
        let cells = cells.map(|(column, (text, span))| Cell { column, text: from_cell(text), span }).collect();
        Row { schedule: self, line, cells }.read()
    }
}

/// One cell that is not empty.
struct Cell<'a> {
    column: &'a Column,
    text: &'a str,
    span: Span,
}

struct Row<'a> {
    schedule: &'a Schedule<'a>,
    line: Span,
    cells: Vec<Cell<'a>>,
}

impl<'a> Row<'a> {
    fn cell(&self, name: &str) -> Option<&Cell<'a>> {
        self.cells.iter().find(|cell| cell.column.name == name)
    }

    /// Whether a cell of this name can be asked for; otherwise the header has its error.
    fn can_have(&self, name: &str) -> bool {
        self.schedule.columns.iter().any(|column| column.name == name && !column.broken)
    }

    fn require(&self, name: &str) -> Option<&Cell<'a>> {
        let found = self.cell(name);
        if found.is_none() && self.can_have(name) {
            let message = format!("this row has no `{name}`");
            self.schedule.log.push(Diagnostic::error("missing-cell", message).at(&self.line, "in this row"));
        }
        found
    }

    /// A word that may stand in ids of findings; `Some(None)` where the cell is empty.
    fn name(&self, name: &str) -> Option<Option<Text>> {
        let Some(cell) = self.cell(name) else { return Some(None) };
        if is_name(cell.text) {
            return Some(Some(cell.text()));
        }
        let message = format!("`{}` cannot be a name for `{name}`", cell.text);
        let error = Diagnostic::error("bad-id", message).at(&cell.span, "");
        self.schedule.log.push(error.help("names are made of letters, digits, `.`, `_` and `-`"));
        None
    }

    fn figure<Q: Figure>(&self, cell: &Cell<'_>) -> Option<Q> {
        figure(&self.with_unit(cell)?, &cell.span, self.schedule.log)
    }

    /// The cell's text with the unit of its column, and a comma before decimals read where it can be nothing else.
    fn with_unit(&self, cell: &Cell<'_>) -> Option<String> {
        let mut text = cell.text.to_owned();
        if self.schedule.semicolons && is_decimal_comma(&text) {
            text = text.replace(',', ".");
        }
        match (cell.column.unit, Amount::parse(&text)) {
            (Some(unit), Err(AmountError::NoUnit { .. })) => Some(format!("{text} {unit}")),
            (Some(unit), Ok(own)) if own.unit() != unit => {
                let message = format!("the header says {unit}, this cell {}", own.unit());
                let error = Diagnostic::error("two-units", message).at(&cell.span, "");
                self.schedule.log.push(error.help("write the unit in one of them only"));
                None
            }
            _ => Some(text),
        }
    }

    fn angle(&self, name: &str, most: f64, range: &str) -> Option<Degrees> {
        let Some(cell) = self.cell(name) else { return Some(Degrees::ZERO) };
        let angle: Degrees = self.figure(cell)?;
        if angle.value().abs() > most {
            let error = Diagnostic::error("out-of-range", format!("`{name}` lies outside {range}"));
            self.schedule.log.push(error.at(&cell.span, "").help(format!("write a figure from {range}")));
            return None;
        }
        Some(angle)
    }

    fn ahead(&self) -> Option<Length> {
        match (self.cell("behind-front"), self.cell("ahead")) {
            (Some(behind), None) => self.figure::<Length>(behind).map(|behind| self.schedule.middle - behind),
            (None, Some(ahead)) => self.figure(ahead),
            (Some(behind), Some(ahead)) => {
                let error = Diagnostic::error("two-places", "`ahead` and `behind-front` are both filled in");
                let error = error.at(&ahead.span, "this").at(&behind.span, "and this");
                self.schedule.log.push(error.help("keep one of them"));
                None
            }
            (None, None) => {
                let error =
                    Diagnostic::error("missing-cell", "this row does not say where along the vehicle it stands");
                self.schedule.log.push(error.at(&self.line, "in this row").help(ALONG));
                None
            }
        }
    }

    fn right(&self) -> Option<Length> {
        self.cell("right").map_or(Some(Length::ZERO), |cell| self.figure(cell))
    }

    fn height(&self) -> Option<Length> {
        let cell = self.require("height")?;
        let height: Length = self.figure(cell)?;
        if height < Length::ZERO {
            let error = Diagnostic::error("below-ground", "a height below the ground cannot be").at(&cell.span, "");
            self.schedule.log.push(error.help("measure from level ground up"));
            return None;
        }
        Some(height)
    }

    fn faces(&self) -> Option<Degrees> {
        let cell = self.require("faces")?;
        let is_word = cell.text.starts_with(|c: char| c.is_alphabetic());
        let text = if is_word { cell.text.to_owned() } else { self.with_unit(cell)? };
        read_faces(&text, &cell.span, self.schedule.log)
    }

    fn role(&self) -> Option<Role> {
        let Some(cell) = self.cell("role") else { return Some(Role::Warning) };
        let role = ROLES.iter().find(|(word, _)| *word == cell.text).map(|(_, role)| *role);
        if role.is_none() {
            let error = Diagnostic::error("unknown-word", format!("`{}` is not a role", cell.text));
            self.schedule.log.suggest(error.at(&cell.span, ""), cell.text, ROLES.iter().map(|(word, _)| *word));
        }
        role
    }

    fn mirror(&self) -> Option<bool> {
        let Some(cell) = self.cell("mirror") else { return Some(false) };
        match cell.text.to_lowercase().as_str() {
            "yes" | "true" | "x" => Some(true),
            "no" | "false" => Some(false),
            text => {
                let error = Diagnostic::error("unknown-word", format!("`{text}` does not fit `mirror`"));
                self.schedule.log.push(error.at(&cell.span, "").help("write yes or no, or leave the cell empty"));
                None
            }
        }
    }

    fn read(&self) -> HeadDoc {
        let id = self.require("id").and_then(|_| self.name("id")).flatten();
        let model = self.require("model").map(Cell::text);
        let groups = self.cell("groups").map(|cell| {
            let names = cell.text.split([' ', ';', ',']).filter(|name| !name.is_empty());
            names.map(|name| Text { text: name.to_owned(), span: cell.span.clone(), opening: None }).collect()
        });
        let (at, faces) = ((self.ahead(), self.right(), self.height()), self.faces());
        let (tilt, wedge) = (self.angle("tilt", 90.0, UPRIGHT), self.angle("wedge", 90.0, UPRIGHT));
        let roll = self.angle("roll", 180.0, "-180 to 180 deg");
        let word = |name| self.name(name).map(|name| name.map(|name| name.text));
        let (level, circuit, output, clock) = (word("level"), word("circuit"), word("output"), word("clock"));
        let serial = self.cell("serial").map(|cell| cell.text.to_owned());
        let (role, mirror) = (self.role(), self.mirror());
        let mount = || {
            let at = (at.0?, at.1?, at.2?);
            let place = Place { at, faces: faces?, tilt: tilt?, wedge: wedge?, roll: roll? };
            let (level, clock) = (level?, clock?);
            let (circuit, output, serial) = (Names::shared(circuit?), Names::own(output?), Names::own(serial));
            Some(Mount { place, poses: Vec::new(), level, role: role?, circuit, output, clock, serial, glass: None })
        };
        HeadDoc { id, model, groups: groups.unwrap_or_default(), mirror: mirror.unwrap_or(false), mount: mount() }
    }
}

impl Cell<'_> {
    fn text(&self) -> Text {
        Text { text: self.text.to_owned(), span: self.span.clone(), opening: None }
    }
}

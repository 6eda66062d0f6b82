//! Heads as people keep them: tables in the package, rows of a spreadsheet, and mirrored twins.

use glam::DVec3;

use super::{Head, Model, ROLES, Role, Vehicle, bearing_word};
use crate::diagnostic::{Diagnostic, Log, SourceId, Span};
use crate::geometry::{Pose, fold};
use crate::load::reader::{Node, Table, Text, quantity_error};
use crate::units::{Amount, AmountError, Degrees, Dimension, Length, Share};

/// A head as written, before names are bound.
pub(super) struct HeadDoc {
    pub id: Text,
    pub model: Text,
    groups: Vec<Text>,
    place: Place,
    poses: Vec<(Text, Place)>,
    level: Option<String>,
    role: Role,
    circuit: Option<String>,
    output: Option<String>,
    clock: Option<String>,
    serial: Option<String>,
    glass: Option<Share>,
    mirror: bool,
}

/// Where a head is and how it is turned.
#[derive(Clone, Copy)]
struct Place {
    ahead: Length,
    right: Length,
    height: Length,
    faces: Degrees,
    pitch: Degrees,
    roll: Degrees,
}

impl Place {
    fn pose(self) -> Pose {
        let at: DVec3 = Vehicle::point(self.ahead, self.right, self.height);
        Pose::new(at, self.faces, self.pitch, self.roll)
    }

    /// The mirror image about the vehicle's lengthwise plane.
    fn mirrored(self) -> Self {
        let faces = fold(Degrees::new(360.0 - self.faces.value()));
        Self { right: -self.right, faces, roll: -self.roll, ..self }
    }
}

/// Reads `{ behind-front | ahead, right, height }`; `middle` is half the vehicle's length.
pub(super) fn read_place(table: &mut Table<'_>, middle: Length) -> Option<(Length, Length, Length)> {
    let ahead = read_ahead(table, middle);
    let right = table.get("right").map_or(Some(Length::ZERO), |node| node.quantity(Dimension::Length));
    let height: Option<Length> = table.require("height").and_then(|node| {
        let height: Length = node.quantity(Dimension::Length)?;
        if height.value() < 0.0 {
            node.error("not-positive", "a height below the ground cannot be", "measure from level ground up");
            return None;
        }
        Some(height)
    });
    Some((ahead?, right?, height?))
}

/// Reads `behind-front` or `ahead` as metres ahead of the middle.
pub(super) fn read_ahead(table: &mut Table<'_>, middle: Length) -> Option<Length> {
    match (table.get("behind-front"), table.get("ahead")) {
        (Some(node), None) => node.quantity(Dimension::Length).map(|behind: Length| middle - behind),
        (None, Some(node)) => node.quantity(Dimension::Length),
        (Some(_), Some(node)) => {
            node.error("two-places", "`ahead` and `behind-front` both stand here", "keep one of them");
            None
        }
        (None, None) => {
            let message = "the place along the vehicle is missing";
            table.log().push(Diagnostic::error("missing-key", message).at(&table.span(), "here").help(
                "write `behind-front = \"...\"` (behind the foremost point) or `ahead = \"...\"` (of the middle)",
            ));
            None
        }
    }
}

/// Reads one `[[head]]`.
pub(super) fn read_head(mut table: Table<'_>, middle: Length) -> Option<HeadDoc> {
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("head `{}`", id.text));
    }
    let model = table.require("model").and_then(|node| node.text());
    let groups = table.get("groups").map(|node| node.texts()).unwrap_or_default();
    let place = read_pose(&mut table, middle, None);
    let poses = table.get("poses").map(|node| node.list()).unwrap_or_default();
    let poses = poses.iter().filter_map(Node::table).filter_map(|mut pose| {
        let when = pose.require("when").and_then(|node| bare_name(&node));
        let moved = read_pose(&mut pose, middle, place);
        pose.finish();
        Some((when?, moved?))
    });
    let poses = poses.collect();
    let mut name = |key| table.get(key).and_then(|node| node.id()).map(|text| text.text);
    let (level, circuit, output, clock) = (name("level"), name("circuit"), name("output"), name("clock"));
    let role = table.get("role").map_or(Some(Role::Warning), |node| node.word(ROLES));
    let serial = table.get("serial").and_then(|node| node.text()).map(|text| text.text);
    let mirror = table.get("mirror").is_some_and(|node| node.boolean() == Some(true));
    let glass = table.get("behind").and_then(|node| read_glass(&node));
    table.finish();
    let (id, model, place, role) = (id?, model?, place?, role?);
    Some(HeadDoc { id, model, groups, place, poses, level, role, circuit, output, clock, serial, glass, mirror })
}

/// A name that may be given in a mode: conditions in full come with input logic, here it is one bare name.
pub(super) fn bare_name(node: &Node<'_>) -> Option<Text> {
    let text = node.text()?;
    let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-');
    if !text.text.is_empty() && text.text.chars().all(fits) {
        return Some(text);
    }
    let message = format!("`{}` is not one bare name", text.text);
    node.error(
        "not-a-name",
        message,
        "write one name here, and list it under `given` in the modes in which it is true",
    );
    None
}

fn read_pose(table: &mut Table<'_>, middle: Length, rest: Option<Place>) -> Option<Place> {
    let at = match (table.get("at"), rest) {
        (Some(node), _) => node.table().and_then(|mut at| {
            let place = read_place(&mut at, middle);
            at.finish();
            place
        }),
        (None, Some(rest)) => Some((rest.ahead, rest.right, rest.height)),
        (None, None) => {
            table.require("at");
            None
        }
    };
    let faces = match (table.get("faces"), rest) {
        (Some(node), _) => node.text().and_then(|text| match parse_faces(&text.text) {
            Ok(faces) => Some(faces),
            Err(error) => {
                node.error("unknown-bearing", error, "front, right, rear, left, or a bearing such as \"35 deg\"");
                None
            }
        }),
        (None, Some(rest)) => Some(rest.faces),
        (None, None) => {
            table.require("faces");
            None
        }
    };
    let mut angle = |key| table.get(key).map_or(Some(Degrees::ZERO), |node| node.quantity(Dimension::Angle));
    let (tilt, wedge, roll) = (angle("tilt"), angle("wedge"), angle("roll"));
    let (ahead, right, height) = at?;
    Some(Place { ahead, right, height, faces: faces?, pitch: tilt? + wedge?, roll: roll? })
}

fn parse_faces(text: &str) -> Result<Degrees, String> {
    if let Some(bearing) = bearing_word(text) {
        return Ok(bearing);
    }
    let parsed = Amount::parse(text).and_then(Degrees::try_from);
    parsed.map_err(|error| format!("`{text}` is not a bearing: {error}"))
}

fn read_glass(node: &Node<'_>) -> Option<Share> {
    let mut table = node.table()?;
    let value = table.require("transmittance")?;
    let share = if value.is_text() { value.quantity(Dimension::Share)? } else { Share::new(value.number()?) };
    table.finish();
    if !(0.0..=1.0).contains(&share.value()) {
        value.error("out-of-range", "a transmittance lies between 0 and 1", "clear windscreen glass is near 0.9");
        return None;
    }
    Some(share)
}

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
pub(super) fn read_heads_csv(text: &str, source: SourceId, middle: Length, log: &Log) -> Vec<HeadDoc> {
    let mut builder = csv::ReaderBuilder::new();
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
            log.push(Diagnostic::error("unknown-column", message).at(&line_span(&header), "").nearest(name, COLUMNS));
        }
        columns.push((name.to_owned(), unit));
    }
    let mut heads = Vec::new();
    for record in records {
        match record {
            Ok(record) if record.iter().all(str::is_empty) => {}
            Ok(record) => {
                let line = line_span(&record);
                heads.extend(read_row(&record, &columns, text, &line, middle, log));
            }
            Err(error) => bad_csv(error),
        }
    }
    heads
}

fn read_row(
    record: &csv::StringRecord,
    columns: &[(String, Option<String>)],
    text: &str,
    line: &Span,
    middle: Length,
    log: &Log,
) -> Option<HeadDoc> {
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
            cells.push((name, Cell { text: value.to_owned(), unit: unit.clone(), span }));
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

    let (id, model) = (require("id").map(as_text), require("model").map(as_text));
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
        (Some(cell), None) => length(cell).map(|behind| middle - behind),
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
    let place =
        Place { ahead: ahead?, right: right?, height: height?, faces: faces?, pitch: tilt? + wedge?, roll: roll? };
    Some(HeadDoc {
        id: id?,
        model: model?,
        groups: groups.unwrap_or_default(),
        place,
        poses: Vec::new(),
        level: word("level"),
        role: role?,
        circuit: word("circuit"),
        output: word("output"),
        clock: word("clock"),
        serial: word("serial"),
        glass: None,
        mirror: mirror?,
    })
}

/// Binds models and makes the twins; reports double ids and what cannot be mirrored.
pub(super) fn bind(docs: Vec<HeadDoc>, models: &[Model], log: &Log) -> Vec<Head> {
    let mut heads: Vec<Head> = Vec::new();
    let mut add = |head: Head| {
        if let Some(first) = heads.iter().find(|earlier| earlier.id == head.id) {
            let message = format!("two heads are called `{}`", head.id);
            let error =
                Diagnostic::error("double-id", message).at(&head.span, "this one").at(&first.span, "and this one");
            log.push(error.help("a `mirror = true` head makes its twin by itself"));
        } else {
            heads.push(head);
        }
    };
    for doc in docs {
        let Some(model) = models.iter().position(|model| model.id == doc.model.text) else {
            let message = format!("no catalogue describes the model `{}`", doc.model.text);
            let error = Diagnostic::error("unknown-model", message).at(&doc.model.span, "named here");
            log.push(error.nearest(&doc.model.text, models.iter().map(|model| model.id.as_str())));
            continue;
        };
        let handed = models.get(model).is_some_and(|model| model.handed);
        let head = Head {
            id: doc.id.text.clone(),
            model,
            groups: doc.groups.iter().map(|group| group.text.clone()).collect(),
            pose: doc.place.pose(),
            right: doc.place.right,
            poses: doc.poses.iter().map(|(when, place)| (when.text.clone(), place.pose())).collect(),
            level: doc.level,
            role: doc.role,
            circuit: doc.circuit,
            output: doc.output,
            clock: doc.clock,
            serial: doc.serial,
            glass: doc.glass,
            mirrored_beam: false,
            span: doc.id.span.clone(),
        };
        if doc.mirror {
            let twin_id = match (doc.id.text.strip_suffix("-left"), doc.id.text.strip_suffix("-right")) {
                (Some(stem), _) => format!("{stem}-right"),
                (_, Some(stem)) => format!("{stem}-left"),
                (None, None) => {
                    let message = format!("`{}` cannot be mirrored: its id does not say its side", doc.id.text);
                    let error = Diagnostic::error("no-side", message).at(&doc.id.span, "");
                    log.push(error.help("let the id end in `-left` or `-right`"));
                    continue;
                }
            };
            let twin = Head {
                id: twin_id,
                pose: doc.place.mirrored().pose(),
                right: -head.right,
                poses: doc.poses.iter().map(|(when, place)| (when.text.clone(), place.mirrored().pose())).collect(),
                output: None,
                serial: None,
                mirrored_beam: handed,
                ..head.clone()
            };
            add(head);
            add(twin);
        } else {
            add(head);
        }
    }
    heads
}

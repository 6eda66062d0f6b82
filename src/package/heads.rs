//! Heads: tables in the package, and the twins that `mirror` makes. Rows of a spreadsheet are in [`super::heads_csv`].

use std::collections::HashMap;

use glam::DVec3;

use super::{Head, Model, ROLES, Role, Vehicle, bearing_word};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::geometry::{Pose, fold};
use crate::load::reader::{Node, Table, Text};
use crate::units::{Amount, AmountError, Degrees, Dimension, Length, Share};

/// No vehicle carries as many; a table that does is a mistake, and would keep its user waiting.
const MOST_HEADS: usize = 2_000;

/// A head as written, before names are bound.
pub(super) struct HeadDoc {
    pub id: Text,
    /// Which of the models.
    pub model: usize,
    pub groups: Vec<Text>,
    pub place: Place,
    pub poses: Vec<(Text, Place)>,
    pub level: Option<String>,
    pub role: Role,
    pub circuit: Option<String>,
    pub output: Option<String>,
    pub clock: Option<String>,
    pub serial: Option<String>,
    pub glass: Option<Share>,
    pub mirror: bool,
}

/// Where a head is and how it is turned.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub ahead: Length,
    pub right: Length,
    pub height: Length,
    pub faces: Degrees,
    pub pitch: Degrees,
    pub roll: Degrees,
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
pub(super) fn read_head(mut table: Table<'_>, middle: Length, models: &[Model]) -> Option<HeadDoc> {
    let log = table.log();
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("head `{}`", id.text));
    }
    let model = table.require("model").and_then(|node| node.text());
    let model = model.and_then(|name| find_model(&name, models, log));
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
    let (Some(id), Some(model), Some(place), Some(role)) = (id.clone(), model, place, role) else {
        let names = id.iter().chain(&groups).map(|name| name.text.as_str());
        names.for_each(|name| lose(name, mirror, log));
        return None;
    };
    Some(HeadDoc { id, model, groups, place, poses, level, role, circuit, output, clock, serial, glass, mirror })
}

/// The place of a model in the catalogues, or the error that no catalogue describes it.
pub(super) fn find_model(name: &Text, models: &[Model], log: &Log) -> Option<usize> {
    let found = models.iter().position(|model| model.id == name.text);
    if found.is_none() && !log.has_lost(&name.text) {
        let message = format!("no catalogue describes the model `{}`", name.text);
        let error = Diagnostic::error("unknown-model", message).at(&name.span, "named here");
        log.push(error.nearest(&name.text, models.iter().map(|model| model.id.as_str())));
    }
    found
}

/// Notes the names of a head that cannot be made, its twin's too.
pub(super) fn lose(name: &str, mirror: bool, log: &Log) {
    log.lose(name);
    if let (true, Some(twin)) = (mirror, twin_id(name)) {
        log.lose(&twin);
    }
}

/// `-left` becomes `-right` and back; `None` for an id that does not say its side.
fn twin_id(id: &str) -> Option<String> {
    let to_right = id.strip_suffix("-left").map(|stem| format!("{stem}-right"));
    to_right.or_else(|| id.strip_suffix("-right").map(|stem| format!("{stem}-left")))
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

pub(super) fn parse_faces(text: &str) -> Result<Degrees, String> {
    if let Some(bearing) = bearing_word(text) {
        return Ok(bearing);
    }
    match Amount::parse(text).and_then(Degrees::try_from) {
        Ok(bearing) => Ok(fold(bearing)),
        Err(AmountError::NotANumber { .. }) => Err(format!("`{text}` is not a bearing")),
        Err(error) => Err(format!("`{text}` is not a bearing: {error}")),
    }
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

/// Binds models and makes the twins; reports double ids and what cannot be mirrored.
pub(super) fn bind(docs: Vec<HeadDoc>, models: &[Model], log: &Log) -> Vec<Head> {
    if let Some(beyond) = docs.get(MOST_HEADS) {
        let message = format!("{} heads stand in this package, and at most {MOST_HEADS} are read", docs.len());
        log.push(Diagnostic::error("too-many-heads", message).at(&beyond.id.span, "the first one too many"));
        return Vec::new();
    }
    let mut heads: Vec<Head> = Vec::new();
    let mut places: HashMap<String, Span> = HashMap::new();
    let mut add = |head: Head| {
        if let Some(first) = places.get(&head.id) {
            let message = format!("two heads are called `{}`", head.id);
            let error = Diagnostic::error("double-id", message).at(&head.span, "this one").at(first, "and this one");
            log.push(error.help("a `mirror = true` head makes its twin by itself"));
        } else {
            places.insert(head.id.clone(), head.span.clone());
            heads.push(head);
        }
    };
    for doc in docs {
        let handed = models.get(doc.model).is_some_and(|model| model.handed);
        let head = Head {
            id: doc.id.text.clone(),
            model: doc.model,
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
            let Some(twin_id) = twin_id(&doc.id.text) else {
                let message = format!("`{}` cannot be mirrored: its id does not say its side", doc.id.text);
                let error = Diagnostic::error("no-side", message).at(&doc.id.span, "");
                log.push(error.help("let the id end in `-left` or `-right`"));
                doc.groups.iter().chain([&doc.id]).for_each(|name| log.lose(&name.text));
                continue;
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

//! Heads as tables in the package, and what all heads have in common: names bound to models, mirrored twins.

use std::collections::HashSet;

use super::catalogue::Catalogues;
use super::fold::at_heads;
use super::inputs::Signals;
use super::vehicle::{self, read_place};
use super::{Aim, Head, ROLES, Role, Vehicle};
use crate::diagnostic::{Diagnostic, Log, Span, nearest};
use crate::geometry::{Pose, fold};
use crate::load::distinct::Distinct;
use crate::load::figure::figure;
use crate::load::reader::{Node, Table, Text};
use crate::logic::Condition;
use crate::units::{Degrees, Length, Share};

/// A head as written, before names are bound. Its names are known even where other things about it are wrong, so
/// that displays which use them are not called mistaken too.
pub(super) struct HeadDoc {
    pub id: Option<Text>,
    pub model: Option<Text>,
    pub groups: Vec<Text>,
    pub mirror: bool,
    pub mount: Option<Mount>,
}

/// How a head is mounted and wired.
pub(super) struct Mount {
    pub place: Place,
    pub poses: Vec<(Condition, Place)>,
    pub level: Option<String>,
    pub role: Role,
    pub circuit: Names,
    pub output: Names,
    pub clock: Option<String>,
    pub serial: Names,
    pub glass: Option<Share>,
}

/// What something is called at a head and at its mirrored twin.
#[derive(Clone, Default)]
pub(super) struct Names {
    head: Option<String>,
    twin: Option<String>,
}

impl Names {
    /// One name, which the twin has too.
    pub fn shared(name: Option<String>) -> Self {
        Self { twin: name.clone(), head: name }
    }

    /// One name, which the twin cannot have too.
    pub fn own(head: Option<String>) -> Self {
        Self { head, twin: None }
    }

    /// One name for each side, `{ left = "A1", right = "A2" }`.
    fn by_side(node: &Node<'_>, mirror: bool, id: Option<&Text>, read: fn(&Node<'_>) -> Option<Text>) -> Option<Self> {
        let mut table = node.table()?;
        let mut side = |key| table.require(key).and_then(|node| read(&node)).map(|text| text.text);
        let (left, right) = (side("left"), side("right"));
        table.finish();
        if !mirror {
            let help = "write one name, or `mirror = true`, which makes the other side";
            node.error("no-side", "this goes by side, and the head has no twin", help);
            return None;
        }
        let (head, twin) = if id.is_some_and(|id| id.text.ends_with("-right")) { (right, left) } else { (left, right) };
        Some(Self { head, twin })
    }
}

/// Where a head is and how it is turned.
#[derive(Clone, Copy, PartialEq)]
pub(super) struct Place {
    pub at: vehicle::Place,
    pub faces: Degrees,
    pub tilt: Degrees,
    pub wedge: Degrees,
    pub roll: Degrees,
}

impl Place {
    pub fn pose(self) -> Pose {
        let (ahead, right, height) = self.at;
        Pose::new(Vehicle::point(ahead, right, height), self.faces, self.tilt + self.wedge, self.roll)
    }

    /// The angles as stated.
    fn aim(self) -> Aim {
        Aim { faces: self.faces, tilt: self.tilt, wedge: self.wedge, roll: self.roll }
    }

    fn right(self) -> Length {
        self.at.1
    }

    /// The mirror image about the vehicle's lengthwise plane.
    pub fn mirrored(self) -> Self {
        let (ahead, right, height) = self.at;
        let faces = fold(Degrees::new(360.0 - self.faces.value()));
        Self { at: (ahead, -right, height), faces, roll: -self.roll, ..self }
    }
}

/// Reads one `[[head]]`.
pub(super) fn read_head(mut table: Table<'_>, middle: Length, signals: &Signals<'_>) -> HeadDoc {
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("head `{}`", id.text));
    }
    let model = table.require("model").and_then(|node| node.text());
    let groups = table.get("groups").map(|node| node.texts()).unwrap_or_default();
    let place = read_pose(&mut table, middle, None);
    let poses = table.get("poses").map(|node| node.list()).unwrap_or_default();
    let poses = poses.iter().filter_map(Node::table).filter_map(|pose| {
        let mut pose = pose.named("this pose");
        let when = pose.require("when").and_then(|node| signals.standing(&node));
        let moved = read_pose(&mut pose, middle, Some(place));
        pose.finish();
        Some((when?, moved?))
    });
    let poses = poses.collect();
    let mut name = |key| table.get(key).and_then(|node| node.id()).map(|text| text.text);
    let (level, clock) = (name("level"), name("clock"));
    let role = table.get("role").map_or(Some(Role::Warning), |node| node.word(ROLES));
    let mirror = table.get("mirror").is_some_and(|node| node.boolean() == Some(true));
    let mut names = |key, read: fn(&Node<'_>) -> Option<Text>, one: fn(Option<String>) -> Names| match table.get(key) {
        Some(node) if node.is_table() => Names::by_side(&node, mirror, id.as_ref(), read).unwrap_or_default(),
        node => one(node.and_then(|node| read(&node)).map(|text| text.text)),
    };
    let (circuit, output) =
        (names("circuit", |node| node.id(), Names::shared), names("output", |node| node.id(), Names::own));
    let serial = names("serial", |node| node.text(), Names::own);
    let glass = table.get("behind").and_then(|node| read_glass(&node));
    table.finish();
    let mount = place.zip(role);
    let mount = mount.map(|(place, role)| Mount { place, poses, level, role, circuit, output, clock, serial, glass });
    HeadDoc { id, model, groups, mirror, mount }
}

/// Reads where a head is; a pose takes what it does not say from its head (`Some(None)`: whose place is unknown).
pub(super) fn read_pose(table: &mut Table<'_>, middle: Length, head: Option<Option<Place>>) -> Option<Place> {
    let is_pose = head.is_some();
    let rest = head.flatten();
    let at = match table.get("at") {
        Some(node) => node.table().and_then(|at| {
            let mut at = at.named("`at`");
            let place = read_place(&mut at, middle);
            at.finish();
            place
        }),
        None if is_pose => rest.map(|rest| rest.at),
        None => table.require("at").and(None),
    };
    let faces = match table.get("faces") {
        Some(node) => node.text().and_then(|text| read_faces(&text.text, &text.span, table.log())),
        None if is_pose => rest.map(|rest| rest.faces),
        None => table.require("faces").and(None),
    };
    let mut angle = |key, most: f64, range: &str, rest: Degrees| match table.get(key) {
        Some(node) => node.within(Degrees::new(-most), Degrees::new(most), range),
        None => Some(rest),
    };
    let from = |part: fn(&Place) -> Degrees| rest.as_ref().map_or(Degrees::ZERO, part);
    let tilt = angle("tilt", 90.0, UPRIGHT, from(|rest| rest.tilt));
    let wedge = angle("wedge", 90.0, UPRIGHT, from(|rest| rest.wedge));
    let roll = angle("roll", 180.0, "-180 to 180 deg", from(|rest| rest.roll));
    Some(Place { at: at?, faces: faces?, tilt: tilt?, wedge: wedge?, roll: roll? })
}

/// What a tilt can be.
pub(super) const UPRIGHT: &str = "-90 to 90 deg";

/// What a bearing word says: `front` 0, `right` 90, `rear` 180, `left` 270 degrees.
fn bearing_word(word: &str) -> Option<Degrees> {
    match word {
        "front" => Some(Degrees::new(0.0)),
        "right" => Some(Degrees::new(90.0)),
        "rear" => Some(Degrees::new(180.0)),
        "left" => Some(Degrees::new(270.0)),
        _ => None,
    }
}

/// The word of [`bearing_word`] that somebody means who writes another. Sides of the road or of the driver are none:
/// they change with the country.
fn meant_bearing(text: &str) -> Option<&'static str> {
    match text.trim().to_lowercase().as_str() {
        "back" | "backward" | "backwards" | "behind" | "rearward" | "aft" | "astern" => Some("rear"),
        "forward" | "forwards" | "ahead" | "fore" => Some("front"),
        other => nearest(other, &["front", "right", "rear", "left"]),
    }
}

/// Reads a bearing: a word, or an angle.
pub(super) fn read_faces(text: &str, span: &Span, log: &Log) -> Option<Degrees> {
    if let Some(bearing) = bearing_word(text) {
        return Some(bearing);
    }
    const HELP: &str = "write front, right, rear, left, or a bearing such as \"35 deg\", clockwise from straight ahead";
    if !text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.')) {
        let error = Diagnostic::error("unknown-bearing", format!("`{text}` is not a bearing")).at(span, "");
        let error = match meant_bearing(text) {
            Some(word) => error.help(format!("did you mean `{word}`?")),
            None => error,
        };
        log.push(error.help(HELP));
        return None;
    }
    let bearing: Degrees = figure(text, span, log)?;
    // Sums of a heading and an offset run past a full turn; more than two turns are a slip of the finger.
    if bearing.value().abs() > 720.0 {
        log.push(Diagnostic::error("out-of-range", "this bearing is more than two turns").at(span, "").help(HELP));
        return None;
    }
    Some(bearing)
}

fn read_glass(node: &Node<'_>) -> Option<Share> {
    let mut table = node.table()?.named("`behind`");
    let value = table.require("transmittance");
    table.finish();
    let value = value?;
    let share = if value.is_text() { value.quantity()? } else { Share::new(value.number()?) };
    if share.value() <= 0.0 || share.value() > 1.0 {
        let help = "write 0.71 or \"71 %\"; clear windscreen glass is near 0.9";
        value.error("out-of-range", "a transmittance lies above 0 and up to 1", help);
        return None;
    }
    Some(share)
}

/// All heads, and the names of those whose own mistakes have been reported.
pub(super) struct Heads {
    pub heads: Vec<Head>,
    pub broken_ids: HashSet<String>,
    pub broken_groups: HashSet<String>,
    /// False where a table of heads could not be read, so that any name may be one of its.
    pub all_read: bool,
}

/// Binds models and makes the twins; reports double ids and what cannot be mirrored.
pub(super) fn bind(docs: Vec<HeadDoc>, catalogues: &Catalogues, log: &Log) -> Heads {
    let (broken_ids, broken_groups) = (HashSet::new(), HashSet::new());
    let mut heads = Heads { heads: Vec::new(), broken_ids, broken_groups, all_read: true };
    let mut ids = Distinct::new("heads", log).with_help("a `mirror = true` head makes its twin by itself");
    for doc in docs {
        let model = doc.model.as_ref().and_then(|name| catalogues.find(name, log));
        let twin_id = doc.id.as_ref().filter(|_| doc.mirror).and_then(|id| twin_id(id, log));
        let (Some(id), Some(model), Some(mount), true) = (&doc.id, model, doc.mount, doc.mirror == twin_id.is_some())
        else {
            heads.broken_ids.extend(doc.id.map(|id| id.text));
            heads.broken_ids.extend(twin_id);
            heads.broken_groups.extend(doc.groups.into_iter().map(|group| group.text));
            continue;
        };
        if doc.mirror {
            check_twin(id, &mount, log);
        }
        let posed = |mirror: fn(Place) -> Place| {
            mount.poses.iter().map(|(when, place)| (when.clone(), mirror(*place).pose())).collect()
        };
        let head = Head {
            id: id.text.clone(),
            model,
            groups: doc.groups.iter().map(|group| group.text.clone()).collect(),
            pose: mount.place.pose(),
            aim: mount.place.aim(),
            right: mount.place.right(),
            poses: posed(|place| place),
            level: mount.level,
            role: mount.role,
            circuit: mount.circuit.head,
            output: mount.output.head,
            clock: mount.clock,
            serial: mount.serial.head,
            glass: mount.glass,
            mirrored_beam: false,
            span: id.span.clone(),
        };
        let twin = twin_id.map(|id| Head {
            id,
            pose: mount.place.mirrored().pose(),
            aim: mount.place.mirrored().aim(),
            right: -head.right,
            poses: posed(Place::mirrored),
            circuit: mount.circuit.twin,
            output: mount.output.twin,
            serial: mount.serial.twin,
            mirrored_beam: catalogues.models.get(model).is_some_and(|model| model.handed),
            ..head.clone()
        });
        heads.heads.extend([Some(head), twin].into_iter().flatten().filter(|head| ids.is_new(&head.id, &head.span)));
    }
    warn_of_sides(&heads.heads, log);
    heads
}

/// The id of the mirrored twin.
pub(super) fn twin_id(id: &Text, log: &Log) -> Option<String> {
    match (id.text.strip_suffix("-left"), id.text.strip_suffix("-right")) {
        (Some(stem), _) => Some(format!("{stem}-right")),
        (_, Some(stem)) => Some(format!("{stem}-left")),
        (None, None) => {
            let message = format!("`{}` cannot be mirrored: its id does not say its side", id.text);
            let error = Diagnostic::error("no-side", message).at(&id.span, "");
            log.push(error.help("let the id end in `-left` or `-right`"));
            None
        }
    }
}

/// A head in the middle that faces along the vehicle has no other side to be mirrored to.
fn check_twin(id: &Text, mount: &Mount, log: &Log) {
    let place = mount.place;
    if place == place.mirrored() {
        let message = format!("the mirrored twin of `{}` stands in its very place", id.text);
        let warning = Diagnostic::warning("twin-in-place", message).at(&id.span, "");
        log.push(warning.help("say how far `right` of the middle it stands (left is negative), or drop `mirror`"));
    }
}

/// A sign forgotten before `right` puts heads on the wrong side; their names give it away.
fn warn_of_sides(heads: &[Head], log: &Log) {
    let is_astray = |head: &&Head| {
        let other = if head.right < Length::ZERO { "-right" } else { "-left" };
        head.right != Length::ZERO && head.id.ends_with(other)
    };
    let astray: Vec<&Head> = heads.iter().filter(is_astray).collect();
    let message = |names: &str, several: bool| match astray.first() {
        Some(head) if !several => {
            let side = if head.right < Length::ZERO { "left" } else { "right" };
            format!("{names} stands on the {side} side of the vehicle")
        }
        _ => format!("the heads {names} stand on the other side of the vehicle than their names say"),
    };
    if !astray.is_empty() {
        let warning = at_heads("wrong-side", &astray, message, "the name says the other side");
        log.push(warning.help("`right` is negative on the left side, as seen by the driver"));
    }
}

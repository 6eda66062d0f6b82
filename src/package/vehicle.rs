//! The vehicle's own figures, places on it, and the boxes that can hide a head.

use glam::DVec3;

use super::catalogue::read_classes;
use super::fold::at_heads;
use super::inputs::Signals;
use super::{Body, Head, Vehicle};
use crate::diagnostic::{Diagnostic, Log};
use crate::geometry::Block;
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table};
use crate::logic::Condition;
use crate::units::Length;

/// A place as metres ahead of the middle, right of the middle, above the ground.
pub(super) type Place = (Length, Length, Length);

impl Vehicle {
    /// A place on the vehicle: metres ahead of the middle, right of the middle, above the ground.
    pub(super) fn point(ahead: Length, right: Length, height: Length) -> DVec3 {
        DVec3::new(ahead.value(), -right.value(), height.value())
    }
}

pub(super) fn read_vehicle(mut table: Table<'_>) -> Option<Vehicle> {
    let name = table.require("name").and_then(|node| node.text());
    let owner = table.get("owner").and_then(|node| node.text()).map(|text| text.text);
    let mut size = |key| table.require(key).and_then(|node| node.positive::<Length>());
    let (length, width, height) = (size("length"), size("width"), size("height"));
    let middle = length.map_or(Length::ZERO, |length| length * 0.5);
    let mut axle = |key| {
        table.get(key).and_then(|node| node.table()).and_then(|mut axle| {
            let ahead = read_ahead(&mut axle, middle);
            axle.finish();
            ahead
        })
    };
    let (front_axle, rear_axle) = (axle("front-axle"), axle("rear-axle"));
    let contracted = table.get("contracted").and_then(|node| node.date());
    let classes = table.get("classes").and_then(|node| node.table()).map(read_classes).unwrap_or_default();
    table.finish();
    let (name, length, width, height) = (name?.text, length?, width?, height?);
    Some(Vehicle { name, owner, length, width, height, front_axle, rear_axle, contracted, classes })
}

pub(super) fn read_bodies(tables: Vec<Table<'_>>, middle: Length, signals: &Signals<'_>, log: &Log) -> Vec<Body> {
    let mut ids = Distinct::new("bodies", log);
    tables.into_iter().filter_map(|table| read_body(table, middle, signals, &mut ids)).collect()
}

fn read_body(mut table: Table<'_>, middle: Length, signals: &Signals<'_>, ids: &mut Distinct<'_>) -> Option<Body> {
    let log = table.log();
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("body `{}`", id.text));
    }
    let mut corner = |key| {
        table.require(key).and_then(|node| {
            let mut corner = node.table()?;
            let place = read_place(&mut corner, middle);
            corner.finish();
            Some((place?, node.span()))
        })
    };
    let (from, to) = (corner("from"), corner("to"));
    let when = table.get("when").map_or(Some(Condition::Always), |node| signals.standing(&node));
    table.finish();
    let (id, (from, from_span), (to, to_span)) = (id?, from?, to?);
    if !ids.keeps(&id) {
        return None;
    }
    if from.0 == to.0 || from.1 == to.1 || from.2 == to.2 {
        let error =
            Diagnostic::error("flat-box", format!("the box `{}` is flat, and a flat box hides nothing", id.text));
        let error = error.at(&to_span, "this corner").at(&from_span, "and this one share a coordinate");
        log.push(error.help("give two opposite corners that differ along, across and in height"));
    }
    let point = |(ahead, right, height): Place| Vehicle::point(ahead, right, height);
    let block = Block::between(point(from), point(to));
    Some(Body { id: id.text, block, when: when? })
}

/// Reads `{ behind-front | ahead, right, height }`; `middle` is half the vehicle's length.
pub(super) fn read_place(table: &mut Table<'_>, middle: Length) -> Option<Place> {
    let ahead = read_ahead(table, middle);
    let right = table.get("right").map_or(Some(Length::ZERO), |node| node.quantity());
    let height = table.require("height").and_then(|node| read_height(&node));
    Some((ahead?, right?, height?))
}

fn read_height(node: &Node<'_>) -> Option<Length> {
    let height: Length = node.quantity()?;
    if height < Length::ZERO {
        node.error("below-ground", "a height below the ground cannot be", "measure from level ground up");
        return None;
    }
    Some(height)
}

/// Reads `behind-front` or `ahead` as metres ahead of the middle.
fn read_ahead(table: &mut Table<'_>, middle: Length) -> Option<Length> {
    match (table.get("behind-front"), table.get("ahead")) {
        (Some(node), None) => node.quantity().map(|behind: Length| middle - behind),
        (None, Some(node)) => node.quantity(),
        (Some(_), Some(node)) => {
            node.error("two-places", "`ahead` and `behind-front` both stand here", "keep one of them");
            None
        }
        (None, None) => {
            let error = Diagnostic::error("missing-key", "the place along the vehicle is missing");
            table.log().push(error.at(&table.span(), "here").help(ALONG));
            None
        }
    }
}

/// How to say where along the vehicle something stands.
pub(super) const ALONG: &str =
    "write `behind-front` (distance behind the foremost point) or `ahead` (distance ahead of the middle)";

/// A slip of a unit puts a lamp beside the vehicle, and light seen from afar would not show it.
pub(super) fn warn_off_the_vehicle(heads: &[Head], vehicle: &Vehicle, log: &Log) {
    // Mirrors, racks and masts stand out; a foot and a half is more than they do.
    let reach = 0.45;
    let beyond = |place: f64, half: Length| place.abs() > half.value() * 0.5 + reach;
    let is_off = |what: &str, head: &Head| {
        let at = head.pose.at();
        match what {
            "in front of or behind" => beyond(at.x, vehicle.length),
            "beside" => beyond(at.y, vehicle.width),
            _ => at.z > vehicle.height.value() + reach,
        }
    };
    let mut left: Vec<&Head> = heads.iter().collect();
    for what in ["in front of or behind", "beside", "above"] {
        let off: Vec<&Head>;
        (off, left) = left.into_iter().partition(|head| is_off(what, head));
        if off.is_empty() {
            continue;
        }
        let message = |names: &str, several: bool| {
            let (heads, stand) = if several { ("heads", "stand") } else { ("head", "stands") };
            format!("the {heads} {names} {stand} {what} the vehicle")
        };
        let warning = at_heads("head-off-the-vehicle", &off, message, "");
        log.push(warning.help("compare the place and its units with the vehicle's length, width and height"));
    }
}

//! The vehicle, what can hide a head, and the heads: where they stand, how they look and what feeds them.

use glam::DVec3;

use super::{Facts, Kind, NOT_STATED, Thing, classes, figure, length, percent};
use crate::geometry::{Pose, bearing_of, elevation_of, fold};
use crate::logic::Inputs;
use crate::package::{Aim, Body, Head, Package, Vehicle};
use crate::units::{Degrees, Length};

pub(super) fn vehicle(vehicle: &Vehicle) -> Thing {
    let Vehicle { name, owner, length: whole, width, height, front_axle, rear_axle, contracted, classes: claimed } =
        vehicle;
    let mut facts = Facts::default();
    facts.say("name", name);
    facts.say_if("owner", owner.clone());
    facts.say("length", length(*whole));
    facts.say("width", length(*width));
    facts.say("height", length(*height));
    let axle = |ahead: &Option<Length>| ahead.map(|ahead| behind_front(ahead.value(), vehicle));
    facts.say_if("front axle behind the front", axle(front_axle));
    facts.say_if("rear axle behind the front", axle(rear_axle));
    facts.say_if("contracted", contracted.map(|date| date.to_string()));
    facts.say("classes", classes(claimed));
    facts.of(Kind::Vehicle, "")
}

/// A place along the vehicle as it is measured: from its foremost point.
fn behind_front(ahead: f64, vehicle: &Vehicle) -> String {
    length(vehicle.length * 0.5 - Length::new(ahead))
}

fn point(point: DVec3, vehicle: &Vehicle) -> String {
    let (along, right, height) =
        (behind_front(point.x, vehicle), length(Length::new(-point.y)), length(Length::new(point.z)));
    format!("{along} behind the front, {right} right, {height} high")
}

pub(super) fn body(body: &Body, vehicle: &Vehicle, inputs: &Inputs) -> Thing {
    let Body { id, block, when } = body;
    let (low, high) = block.corners();
    let mut facts = Facts::default();
    facts.say("one corner", point(low, vehicle));
    facts.say("other corner", point(high, vehicle));
    facts.say("when", super::when(when, inputs));
    facts.of(Kind::Body, id)
}

/// Keys under which the place of a head stands.
pub(in crate::compare) const BEHIND: &str = "behind the front";
pub(in crate::compare) const RIGHT: &str = "right of the middle";
pub(in crate::compare) const HEIGHT: &str = "height";

pub(super) fn head(head: &Head, package: &Package) -> Thing {
    let Head {
        id,
        model,
        groups,
        pose,
        aim,
        right,
        poses,
        level,
        role,
        circuit,
        output,
        clock,
        serial,
        glass,
        mirrored_beam,
        span: _,
    } = head;
    let Aim { faces, tilt, wedge, roll } = aim;
    let (vehicle, inputs) = (&package.vehicle, package.space.inputs());
    let mut facts = Facts::default();
    let degrees = |angle: Degrees| figure(angle.value(), "deg");
    facts.say("model", package.models.get(*model).map_or(NOT_STATED, |model| &model.id));
    facts.say(BEHIND, behind_front(pose.at().x, vehicle));
    facts.say_mirrored(RIGHT, length(*right), length(-*right));
    facts.say(HEIGHT, length(pose.height()));
    facts.say_mirrored("faces", degrees(fold(*faces)), degrees(fold(-*faces)));
    facts.say("tilt", degrees(*tilt));
    facts.say("wedge", degrees(*wedge));
    facts.say_mirrored("roll", degrees(*roll), degrees(-*roll));
    let moved = |mirrored: bool| {
        let said = poses
            .iter()
            .map(|(when, pose)| format!("while {}: {}", super::when(when, inputs), posed(pose, vehicle, mirrored)));
        let said: Vec<String> = said.collect();
        if said.is_empty() { NOT_STATED.to_owned() } else { said.join("; ") }
    };
    facts.say_mirrored("moves", moved(false), moved(true));
    facts.say_if("level", level.clone());
    facts.say("role", role.word());
    facts.say("groups", if groups.is_empty() { NOT_STATED.to_owned() } else { groups.join(", ") });
    facts.say_if("circuit", circuit.clone());
    facts.say_if("output", output.clone());
    facts.say_if("clock", clock.clone());
    facts.say_if("serial", serial.clone());
    facts.say_if("glass before it lets through", glass.map(percent));
    facts.say("beam turned left for right", super::yes(*mirrored_beam));
    facts.of(Kind::Head, id)
}

/// Where something is and looks; `mirrored` about the vehicle's lengthwise plane.
pub(super) fn posed(pose: &Pose, vehicle: &Vehicle, mirrored: bool) -> String {
    let across = |y: f64| if mirrored { -y } else { y };
    let at = pose.at();
    let at = DVec3::new(at.x, across(at.y), at.z);
    let turned = |of: DVec3| DVec3::new(of.x, across(of.y), of.z);
    let axis = turned(pose.axis());
    // What was to its left is to its right in a mirror; the top stays the top.
    let up = turned(pose.to_world(DVec3::Z));
    let degrees = |angle: Degrees| figure(angle.value(), "deg");
    let top = figure(up.z, "");
    let lean = figure(up.y, "");
    let (faces, pitch) = (degrees(bearing_of(axis)), degrees(elevation_of(axis)));
    format!("{}, faces {faces}, {pitch} up, its top {top} up and {lean} to the left", point(at, vehicle))
}

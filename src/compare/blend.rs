//! One package with one change of another put in, so that it can be judged by itself.
//!
//! What a line of [`super::differences`] says is taken over from the other package, and nothing else. Both packages have
//! the same inputs and the same length, so conditions and places of one mean the same in the other. Whoever asks compares
//! the result with both packages once more: a change that cannot be taken over alone is then told, and not guessed.

use std::rc::Rc;

use super::changed::{Change, Difference};
use super::facts::{BEHIND, HEIGHT, Kind, RIGHT};
use super::wired;
use crate::geometry::Pose;
use crate::logic::Space;
use crate::package::{Display, Head, Package, Show};
use crate::units::Degrees;

/// A package of its own with the same in it.
pub(super) fn copied(package: &Package) -> Package {
    Package {
        file: package.file.clone(),
        sha256: package.sha256.clone(),
        vehicle: package.vehicle.clone(),
        bodies: package.bodies.clone(),
        models: package.models.clone(),
        heads: package.heads.clone(),
        space: Space::new(package.space.inputs(), &package.never),
        never: package.never.clone(),
        patterns: package.patterns.clone(),
        displays: package.displays.clone(),
        modes: package.modes.clone(),
        exceptions: package.exceptions.clone(),
        statements: package.statements.clone(),
        supply: package.supply.clone(),
        sound: package.sound.clone(),
        doubts: package.doubts.clone(),
        decision: package.decision,
    }
}

/// `base` with these changes as `other` has them; none where one of them cannot be taken over alone.
pub(super) fn blended(base: &Package, other: &Package, changes: &[&Difference]) -> Option<Package> {
    let mut made = copied(base);
    let alone = |change: &Difference| wired::stands_alone(change, base, other);
    // What hangs together is taken over together, and before the heads that hang on it.
    if changes.iter().any(|change| change.kind.is_wired() && !alone(change)) {
        made.sound = other.sound.clone();
        made.supply = other.supply.clone();
        wired::put_back(&mut made, base);
    }
    for change in changes {
        if change.kind.is_wired() && alone(change) {
            wired::take(&mut made, other, change)?;
        } else {
            take(&mut made, other, change)?;
        }
    }
    rewire(&mut made);
    Some(made)
}

fn take(made: &mut Package, other: &Package, change: &Difference) -> Option<()> {
    let key = match &change.change {
        Change::Says { key, .. } => key.as_str(),
        Change::New(_) | Change::Gone(_) | Change::Order { .. } => "",
    };
    for id in &change.ids {
        match change.kind {
            Kind::Package if key == "decision" => made.decision = other.decision,
            Kind::Package => {
                made.never.clone_from(&other.never);
                made.space = Space::new(other.space.inputs(), &other.never);
            }
            Kind::Vehicle => vehicle(made, other, key)?,
            Kind::Body => list(&mut made.bodies, &other.bodies, |one| &one.id, id),
            Kind::Mode => list(&mut made.modes, &other.modes, |one| &one.id, id),
            Kind::Statement => list(&mut made.statements, &other.statements, |one| &one.item, id),
            // All that was accepted of a finding.
            Kind::Exception => {
                let of_it = other.exceptions.iter().filter(|one| one.finding == *id).cloned();
                made.exceptions.retain(|one| one.finding != *id);
                made.exceptions.extend(of_it);
            }
            Kind::Head => head(made, other, id, key)?,
            Kind::Model => model(made, other, id)?,
            Kind::Pattern => pattern(made, other, id)?,
            Kind::Display => display(made, other, id, key)?,
            Kind::Row => row(made, other, change.within.as_deref()?, id)?,
            // Other inputs mean other states; what is wired has been taken over.
            Kind::Input => return None,
            _ => {}
        }
    }
    if let (Kind::Display, Change::Order { .. }) = (change.kind, &change.change) {
        let place = |display: &Display| other.displays.iter().position(|known| known.id == display.id);
        made.displays.sort_by_key(place);
    }
    Some(())
}

/// One thing of a list as the other has it: changed where it stands, else at the end, or left out.
fn list<T: Clone>(made: &mut Vec<T>, other: &[T], id: fn(&T) -> &String, wanted: &str) {
    let now = other.iter().find(|one| id(one) == wanted);
    match (made.iter_mut().find(|one| id(one) == wanted), now) {
        (Some(place), Some(now)) => *place = now.clone(),
        (None, Some(now)) => made.push(now.clone()),
        (_, None) => made.retain(|one| id(one) != wanted),
    }
}

fn vehicle(made: &mut Package, other: &Package, key: &str) -> Option<()> {
    let (vehicle, other) = (&mut made.vehicle, &other.vehicle);
    match key {
        "name" => vehicle.name.clone_from(&other.name),
        "owner" => vehicle.owner.clone_from(&other.owner),
        "width" => vehicle.width = other.width,
        "height" => vehicle.height = other.height,
        "front axle behind the front" => vehicle.front_axle = other.front_axle,
        "rear axle behind the front" => vehicle.rear_axle = other.rear_axle,
        "contracted" => vehicle.contracted = other.contracted,
        "classes" => vehicle.classes.clone_from(&other.classes),
        // All places are told from the middle, so another length moves everything.
        _ => return None,
    }
    Some(())
}

/// The place of a model of the other package; it is put in where it is not there.
fn model_of(made: &mut Package, other: &Package, at: usize) -> Option<usize> {
    let wanted = other.models.get(at)?;
    let known = made.models.iter().position(|model| model.id == wanted.id);
    Some(known.unwrap_or_else(|| {
        made.models.push(wanted.clone());
        made.models.len() - 1
    }))
}

fn head(made: &mut Package, other: &Package, id: &str, key: &str) -> Option<()> {
    let place = made.heads.iter().position(|head| head.id == id);
    let now = other.heads.iter().position(|head| head.id == id);
    match (place, now) {
        (Some(at), Some(now)) => one_key(made, other, at, other.heads.get(now)?, key),
        (Some(at), None) => {
            without_head(made, at);
            Some(())
        }
        (None, Some(now)) => {
            let new = other.heads.get(now)?;
            let model = model_of(made, other, new.model)?;
            made.heads.push(Head { model, ..new.clone() });
            // What it shows in displays that are there.
            let of_both: Vec<String> = made.displays.iter().map(|display| display.id.clone()).collect();
            for display in of_both {
                if shows(other, &display, id).next().is_some() {
                    row(made, other, &display, id)?;
                }
            }
            for display in &mut made.displays {
                let dims = other.displays.iter().find(|known| known.id == display.id).and_then(|d| d.dims.as_ref());
                if let (Some(dims), Some(_)) = (&mut display.dims, dims.filter(|dims| dims.heads.contains(&now))) {
                    dims.heads.push(made.heads.len() - 1);
                }
            }
            Some(())
        }
        (None, None) => None,
    }
}

fn one_key(made: &mut Package, other: &Package, at: usize, new: &Head, key: &str) -> Option<()> {
    if key == "model" {
        let old: Vec<String> = colours(made, made.heads.get(at)?.model);
        let model = model_of(made, other, new.model)?;
        made.heads.get_mut(at)?.model = model;
        return repaint(made, &old, |head, _| head == at);
    }
    if key == "role" {
        let old = made.heads.get(at)?.role;
        let shows = made.displays.iter_mut().flat_map(|display| &mut display.shows);
        shows.filter(|show| show.head == at && show.role == old).for_each(|show| show.role = new.role);
    }
    let head = made.heads.get_mut(at)?;
    let mut place = head.pose.at();
    match key {
        BEHIND => place.x = new.pose.at().x,
        RIGHT => {
            place.y = new.pose.at().y;
            head.right = new.right;
        }
        HEIGHT => place.z = new.pose.at().z,
        "faces" => head.aim.faces = new.aim.faces,
        "tilt" => head.aim.tilt = new.aim.tilt,
        "wedge" => head.aim.wedge = new.aim.wedge,
        "roll" => head.aim.roll = new.aim.roll,
        "moves" => head.poses.clone_from(&new.poses),
        "level" => head.level.clone_from(&new.level),
        "role" => head.role = new.role,
        "groups" => head.groups.clone_from(&new.groups),
        "circuit" => head.circuit.clone_from(&new.circuit),
        "output" => head.output.clone_from(&new.output),
        "clock" => head.clock.clone_from(&new.clock),
        "serial" => head.serial.clone_from(&new.serial),
        "glass before it lets through" => head.glass = new.glass,
        "beam turned left for right" => head.mirrored_beam = new.mirrored_beam,
        _ => return None,
    }
    let aim = head.aim;
    let pitch: Degrees = aim.tilt + aim.wedge;
    head.pose = Pose::new(place, aim.faces, pitch, aim.roll);
    Some(())
}

/// Takes a head out, with all that it shows.
fn without_head(made: &mut Package, gone: usize) {
    made.heads.remove(gone);
    let after = |head: usize| if head > gone { head - 1 } else { head };
    for display in &mut made.displays {
        display.shows.retain(|show| show.head != gone);
        display.shows.iter_mut().for_each(|show| show.head = after(show.head));
        if let Some(dims) = &mut display.dims {
            dims.heads.retain(|head| *head != gone);
            dims.heads.iter_mut().for_each(|head| *head = after(*head));
        }
    }
}

fn colours(package: &Package, model: usize) -> Vec<String> {
    let emitters = package.models.get(model).map(|model| model.emitters.as_slice()).unwrap_or_default();
    emitters.iter().map(|emitter| emitter.colour.clone()).collect()
}

/// Heads whose model has another list of emitters show the colours that they showed; none where one is not there.
fn repaint(made: &mut Package, old: &[String], of_it: impl Fn(usize, usize) -> bool) -> Option<()> {
    let models: Vec<usize> = made.heads.iter().map(|head| head.model).collect();
    let emitters: Vec<Vec<String>> = (0..made.models.len()).map(|at| colours(made, at)).collect();
    for show in made.displays.iter_mut().flat_map(|display| &mut display.shows) {
        let model = *models.get(show.head)?;
        if of_it(show.head, model) {
            let colour = old.get(show.emitter)?;
            show.emitter = emitters.get(model)?.iter().position(|known| known == colour)?;
        }
    }
    Some(())
}

fn model(made: &mut Package, other: &Package, id: &str) -> Option<()> {
    let at = made.models.iter().position(|model| model.id == id)?;
    let new = other.models.iter().find(|model| model.id == id)?;
    let old = colours(made, at);
    *made.models.get_mut(at)? = new.clone();
    repaint(made, &old, |_, model| model == at)
}

fn pattern(made: &mut Package, other: &Package, id: &str) -> Option<()> {
    let new = other.patterns.iter().find(|pattern| pattern.id == id);
    match (made.patterns.iter_mut().find(|pattern| pattern.id == id), new) {
        (Some(place), Some(new)) => *place = new.clone(),
        (None, Some(new)) => made.patterns.push(new.clone()),
        // Taken out alone it would leave rows without a pattern.
        (_, None) => return None,
    }
    Some(())
}

/// What a head does in a display, as its package has it.
fn shows<'p>(package: &'p Package, display: &str, head: &str) -> impl Iterator<Item = &'p Show> {
    let display = package.displays.iter().find(|known| known.id == display);
    let at = package.heads.iter().position(|known| known.id == head);
    display.into_iter().flat_map(|display| &display.shows).filter(move |show| Some(show.head) == at)
}

/// What a head does in a display, as the other has it.
fn row(made: &mut Package, other: &Package, display: &str, head: &str) -> Option<()> {
    let place = made.heads.iter().position(|known| known.id == head)?;
    let mut taken = Vec::new();
    for show in shows(other, display, head) {
        taken.push(bound(made, other, show, place)?);
    }
    let of_it = &mut made.displays.iter_mut().find(|known| known.id == display)?.shows;
    // Where the first of its rows stood, so that the rows keep their order.
    let at = of_it.iter().position(|show| show.head == place).unwrap_or(of_it.len());
    of_it.retain(|show| show.head != place);
    let at = at.min(of_it.len());
    of_it.splice(at..at, taken);
    Some(())
}

/// A row of the other package with the names of this one.
fn bound(made: &mut Package, other: &Package, show: &Show, head: usize) -> Option<Show> {
    let of_other = other.heads.get(show.head)?;
    let colour = &other.models.get(of_other.model)?.emitters.get(show.emitter)?.colour;
    let here = made.heads.get(head)?;
    let emitter = colours(made, here.model).iter().position(|known| known == colour)?;
    // A head that is what it is by itself stays so.
    let role = if show.role == of_other.role { here.role } else { show.role };
    let pattern = match show.pattern {
        None => None,
        Some(at) => {
            let wanted = other.patterns.get(at)?;
            let known = made.patterns.iter().position(|pattern| pattern.id == wanted.id);
            Some(known.unwrap_or_else(|| {
                made.patterns.push(wanted.clone());
                made.patterns.len() - 1
            }))
        }
    };
    Some(Show { head, emitter, pattern, role, ..show.clone() })
}

fn display(made: &mut Package, other: &Package, id: &str, key: &str) -> Option<()> {
    let place = made.displays.iter().position(|display| display.id == id);
    let Some(at) = other.displays.iter().position(|display| display.id == id) else {
        made.displays.remove(place?);
        return Some(());
    };
    let new = other.displays.get(at)?;
    let here = |made: &Package, head: usize| {
        let id = &other.heads.get(head)?.id;
        made.heads.iter().position(|known| known.id == *id)
    };
    let dims = match &new.dims {
        None => None,
        Some(dims) => {
            let heads: Vec<usize> = dims.heads.iter().filter_map(|head| here(made, *head)).collect();
            Some(crate::package::Dimming { to: dims.to, heads })
        }
    };
    match (place.and_then(|at| made.displays.get_mut(at)), key) {
        (Some(display), "when") => display.when = new.when.clone(),
        (Some(display), "dims") => display.dims = dims,
        (Some(display), "arrow") => display.arrow = new.arrow,
        (Some(_), _) => return None,
        (None, _) => {
            let mut taken = Vec::new();
            for show in &new.shows {
                // A head that is not there shows nothing.
                if let Some(head) = here(made, show.head) {
                    taken.push(bound(made, other, show, head)?);
                }
            }
            // Behind the last of those that stand before it there, since a later display wins.
            let before = other.displays.iter().take(at).map(|display| display.id.as_str());
            let before: Vec<&str> = before.collect();
            let behind = made.displays.iter().rposition(|display| before.contains(&display.id.as_str()));
            let display = Display { shows: taken, dims, ..new.clone() };
            made.displays.insert(behind.map_or(0, |at| at + 1), display);
        }
    }
    Some(())
}

/// Binds the circuit of each head again.
fn rewire(made: &mut Package) {
    let Some(supply) = &made.supply else { return };
    let place = |head: &Head| {
        let name = head.circuit.as_deref()?;
        supply.circuits.iter().position(|circuit| circuit.id == name)
    };
    let of_heads: Vec<Option<usize>> = made.heads.iter().map(place).collect();
    if of_heads != supply.of_heads {
        let mut supply = (**supply).clone();
        supply.of_heads = of_heads;
        made.supply = Some(Rc::new(supply));
    }
}

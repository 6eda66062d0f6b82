//! Two packages over one list of inputs, so that a condition of one speaks of the same states in the other. An input that
//! one of them lacks is put in there, and no condition of that package asks for it.

use std::rc::Rc;

use super::blend::copied;
use crate::logic::{Condition, Input, Inputs, Space};
use crate::package::Package;

/// Whether both have the same inputs in the same order; in a package without a controller these are its modes.
/// How a position is told in words is no matter.
pub(super) fn are_alike(old: &Package, new: &Package) -> bool {
    let (old, new) = (old.space.inputs(), new.space.inputs());
    let same = |(one, other): (&Input, &Input)| one.id == other.id && is_alike(one, other);
    old.described == new.described && old.list.len() == new.list.len() && old.list.iter().zip(&new.list).all(same)
}

/// Whether two inputs have the same positions, by their ids and in the same order.
fn is_alike(one: &Input, other: &Input) -> bool {
    let ids = |input: &Input| input.positions.iter().map(|position| position.id.clone()).collect::<Vec<_>>();
    one.is_bool == other.is_bool && one.means == other.means && ids(one) == ids(other)
}

/// Whether one may be the other by its places: each input has as many positions, whatever it and they are called. Those
/// that both have stand at the same places.
pub(super) fn stand_alike(old: &Package, new: &Package) -> bool {
    let (old, new) = (old.space.inputs(), new.space.inputs());
    let same = |(at, one): (usize, &Input)| {
        let as_many = new.list.get(at).is_some_and(|other| one.positions.len() == other.positions.len());
        as_many && new.find(&one.id).is_none_or(|place| place == at)
    };
    old.list.len() == new.list.len() && old.list.iter().enumerate().all(same)
}

/// Both over the inputs of both, matched by name; none where an input of both has other positions, or where one of them
/// has no controller.
pub(super) fn over_all(old: &Package, new: &Package) -> Option<(Package, Package)> {
    let (before, after) = (old.space.inputs(), new.space.inputs());
    if !before.described || !after.described {
        return None;
    }
    let mut all = Inputs { list: after.list.clone(), described: true };
    for input in &before.list {
        match after.find(&input.id).and_then(|at| after.list.get(at)) {
            Some(now) if !is_alike(now, input) => return None,
            Some(_) => {}
            None => all.list.push(input.clone()),
        }
    }
    Some((over(old, &all)?, over(new, &all)?))
}

/// A package over a longer list of inputs.
fn over(package: &Package, all: &Inputs) -> Option<Package> {
    let known = &package.space.inputs().list;
    let places: Vec<usize> = known.iter().map(|input| all.find(&input.id)).collect::<Option<_>>()?;
    let mut made = copied(package);
    for condition in conditions(&mut made) {
        renumber(condition, &places)?;
    }
    made.space = Space::new(all, &made.never);
    Some(made)
}

/// Every condition of a package.
fn conditions(package: &mut Package) -> Vec<&mut Condition> {
    let mut all: Vec<&mut Condition> = package.never.iter_mut().collect();
    all.extend(package.bodies.iter_mut().map(|body| &mut body.when));
    all.extend(package.heads.iter_mut().flat_map(|head| &mut head.poses).map(|(when, _)| when));
    all.extend(package.displays.iter_mut().map(|display| &mut display.when));
    for mode in &mut package.modes {
        all.push(&mut mode.when);
        all.extend(mode.assume.as_mut());
    }
    if let Some(supply) = &mut package.supply {
        let supply = Rc::make_mut(supply);
        all.extend(supply.converters.iter_mut().map(|one| &mut one.when));
        all.extend(supply.inverters.iter_mut().map(|one| &mut one.when));
        all.extend(supply.loads.iter_mut().map(|one| &mut one.when));
    }
    all.extend(package.sound.soundings.iter_mut().map(|sounding| &mut sounding.when));
    all
}

fn renumber(condition: &mut Condition, places: &[usize]) -> Option<()> {
    match condition {
        Condition::Always => {}
        Condition::Is { input, .. } => *input = *places.get(*input)?,
        Condition::Not(inner) => renumber(inner, places)?,
        Condition::And(parts) | Condition::Or(parts) => {
            for part in parts {
                renumber(part, places)?;
            }
        }
    }
    Some(())
}

//! What comes and goes before the heads: bodies that take light away while they stand there, and heads that move.
//! Neither is switched by the controller; it happens to whatever light there is.

use std::collections::HashMap;

use super::beam::{Cast, Target, cast, screens};
use super::{Conduct, LitHead, Looks};
use crate::geometry::Block;
use crate::logic::{Condition, Region};
use crate::package::Package;
use crate::units::Degrees;

/// Bodies that come and go together take light from a head.
#[derive(Clone, Debug)]
pub struct Shade {
    /// Place of the head in the package.
    pub head: usize,
    /// Places of the bodies in the package.
    pub bodies: Vec<usize>,
    /// The states in which they stand there.
    pub when: Region,
    /// The states in which they take it.
    pub states: Region,
    /// At how many bearings of the horizontal plane.
    pub hidden: usize,
    /// At how many bearings the head gives light without them.
    pub of: usize,
}

/// A head that looks another way, or from another place, while something holds.
#[derive(Clone, Debug)]
pub struct Move {
    /// Place of the head in the package.
    pub head: usize,
    /// The states in which it does.
    pub states: Region,
}

/// What bodies take from one way of being lit, of how much.
type Taken = Option<(usize, usize)>;

/// What a head in one pose shows there, by places in memory, which tell them apart; and which bodies.
type Key = (*const (), *const (), *const (), usize);

/// All shades, by head and bodies.
pub fn shades(looks: &Looks<'_>) -> Vec<Shade> {
    let space = looks.conduct.space();
    let bodies = &looks.conduct.package.bodies;
    let mut always: Vec<&Block> = Vec::new();
    let mut comings: Vec<(Region, Vec<usize>)> = Vec::new();
    for (at, (body, when)) in bodies.iter().zip(&looks.conduct.bodies).enumerate() {
        if when == space.allowed() {
            always.push(&body.block);
            continue;
        }
        match comings.iter_mut().find(|(known, _)| known == when) {
            Some((_, together)) => together.push(at),
            None => comings.push((when.clone(), vec![at])),
        }
    }
    let plane = looks.conduct.rows.at(&looks.protocol.zones.bearings, Degrees::ZERO, looks.method);
    let mut known: HashMap<Key, Taken> = HashMap::new();
    let mut shades: Vec<Shade> = Vec::new();
    for (head, look) in looks.heads.iter().enumerate().flat_map(|(at, looks)| looks.iter().map(move |look| (at, look)))
    {
        let lit = &look.lit;
        for (number, (when, together)) in comings.iter().enumerate() {
            let blocks = together.iter().filter_map(|at| bodies.get(*at)).map(|body| &body.block);
            let stands = space.and(&look.region, when);
            if stands.is_empty() {
                continue;
            }
            let pattern = lit.pattern.map_or(std::ptr::null(), |pattern| std::ptr::from_ref(pattern).cast());
            let (emitter, pose) = (std::ptr::from_ref(lit.emitter).cast(), std::ptr::from_ref(lit.pose).cast());
            let taken = known.entry((emitter, pattern, pose, number));
            let taken = taken.or_insert_with(|| {
                let screens = screens(blocks, lit.pose);
                let hides = |target: &Target| screens.iter().any(|screen| target.hidden_by(screen, lit.pose));
                taken_by(hides, lit, plane.targets(), &always, looks)
            });
            let Some((hidden, of)) = *taken else { continue };
            let same = |shade: &&mut Shade| {
                shade.head == head && shade.bodies == *together && (shade.hidden, shade.of) == (hidden, of)
            };
            match shades.iter_mut().find(same) {
                Some(shade) => shade.states = space.or(&shade.states, &stands),
                None => {
                    let (bodies, when) = (together.clone(), when.clone());
                    shades.push(Shade { head, bodies, when, states: stands, hidden, of });
                }
            }
        }
    }
    shades
}

/// At how many points the light is taken, and how many there are; none where none is.
fn taken_by(
    hides: impl Fn(&Target) -> bool,
    lit: &LitHead<'_>,
    plane: &[Target],
    always: &[&Block],
    looks: &Looks<'_>,
) -> Taken {
    let screens = screens(always.iter().copied(), lit.pose);
    let gives = |target: &&Target| match cast(lit, target, &screens, looks.method).1 {
        Cast::Hidden | Cast::Behind => false,
        Cast::NoData => true,
        Cast::Intensity(intensity) => intensity.value() > 0.0,
        Cast::Power(power) => power.value() > 0.0,
    };
    let lit_points: Vec<&Target> = plane.iter().filter(gives).collect();
    let hidden = lit_points.iter().filter(|target| hides(target)).count();
    (hidden > 0).then_some((hidden, lit_points.len()))
}

/// The inputs that say what stands where and how heads look, in their order.
pub fn come_and_go(package: &Package) -> Vec<usize> {
    let bodies = package.bodies.iter().map(|body| &body.when);
    let poses = package.heads.iter().flat_map(|head| &head.poses).map(|(when, _)| when);
    let mut inputs: Vec<usize> = bodies.chain(poses).flat_map(Condition::inputs).collect();
    inputs.sort_unstable();
    inputs.dedup();
    inputs
}

/// All heads that move.
pub fn moves(conduct: &Conduct<'_>) -> Vec<Move> {
    let heads = conduct.package.heads.iter().enumerate();
    let of_head = |(at, head)| {
        let poses = conduct.poses(head).into_iter();
        let moved = poses.filter(move |(_, pose)| !std::ptr::eq(*pose, &head.pose));
        moved.map(move |(states, _)| Move { head: at, states })
    };
    heads.flat_map(of_head).collect()
}

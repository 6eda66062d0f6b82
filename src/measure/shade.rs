//! What comes and goes before the heads: bodies that take light away while they stand there, and heads that move.
//! Neither is switched by the controller; it happens to whatever light there is.

use std::collections::HashMap;

use super::beam::{Cast, Target, cast};
use super::{Conduct, LitHead, Looks, Survey};
use crate::geometry::Block;
use crate::logic::Region;

/// A body that comes and goes takes light from a head.
#[derive(Clone, Debug)]
pub struct Shade {
    /// Place of the head in the package.
    pub head: usize,
    /// Place of the body in the package.
    pub body: usize,
    /// The states in which it does.
    pub states: Region,
    /// At how many bearings of the horizontal plane.
    pub hidden: usize,
    /// At how many bearings the head gives light without it.
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

/// The light of one way of being lit that a body takes, of how much.
type Taken = Option<(usize, usize)>;

/// What a head in one pose shows there, and the body: all by their places in memory, which tell them apart.
type Key = (*const (), *const (), *const (), usize);

/// All shades, by head and body.
pub fn shades(looks: &Looks<'_>) -> Vec<Shade> {
    let conduct = looks.conduct;
    let space = conduct.space();
    let bodies = &conduct.package.bodies;
    let comes_and_goes: Vec<usize> =
        (0..).zip(bodies).filter(|(_, body)| space.holds(&body.when) != *space.allowed()).map(|(at, _)| at).collect();
    let always: Vec<&Block> =
        (0..).zip(bodies).filter(|(at, _)| !comes_and_goes.contains(at)).map(|(_, body)| &body.block).collect();
    let targets = Survey::dark(conduct.package, looks.protocol, looks.method).targets();
    let plane = targets.first().map_or(&[][..], Vec::as_slice);
    let mut known: HashMap<Key, Taken> = HashMap::new();
    let mut shades: Vec<Shade> = Vec::new();
    for (head, look) in looks.heads.iter().enumerate().flat_map(|(at, looks)| looks.iter().map(move |look| (at, look)))
    {
        let lit = &look.lit;
        for body in comes_and_goes.iter().copied() {
            let Some(block) = bodies.get(body).map(|body| &body.block) else { continue };
            if !lit.hidden_by.iter().any(|standing| std::ptr::eq(*standing, block)) {
                continue;
            }
            let pattern = lit.pattern.map_or(std::ptr::null(), |pattern| std::ptr::from_ref(pattern).cast());
            let (emitter, pose) = (std::ptr::from_ref(lit.emitter).cast(), std::ptr::from_ref(lit.pose).cast());
            let taken = known.entry((emitter, pattern, pose, body));
            let taken = taken.or_insert_with(|| taken_by(block, lit, plane, &always, looks));
            if let Some((hidden, of)) = *taken {
                let same =
                    |shade: &&mut Shade| (shade.head, shade.body, shade.hidden, shade.of) == (head, body, hidden, of);
                match shades.iter_mut().find(same) {
                    Some(shade) => shade.states = space.or(&shade.states, &look.region),
                    None => shades.push(Shade { head, body, states: look.region.clone(), hidden, of }),
                }
            }
        }
    }
    shades
}

/// At how many points a body takes the light, and how many there are; none where it takes none.
fn taken_by(block: &Block, lit: &LitHead<'_>, plane: &[Target], always: &[&Block], looks: &Looks<'_>) -> Taken {
    let gives = |target: &&Target| match cast(lit, target, always, looks.method).1 {
        Cast::Hidden | Cast::Behind => false,
        Cast::NoData => true,
        Cast::Intensity(intensity) => intensity.value() > 0.0,
        Cast::Power(power) => power.value() > 0.0,
    };
    let lit_points: Vec<&Target> = plane.iter().filter(gives).collect();
    let hidden = lit_points.iter().filter(|target| target.hidden_by(block, lit.pose)).count();
    (hidden > 0).then_some((hidden, lit_points.len()))
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

//! What the heads show in every state of the inputs: displays laid over each other, each head ending in one of them.
//!
//! The states are never gone through one by one: each head parts them into a few regions, and heads that the same
//! displays claim share them.

use std::cell::OnceCell;
use std::collections::HashSet;
use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::power::Power;
use super::row::Rows;
use super::sound::Sounds;
use crate::flash::Timeline;
use crate::geometry::Pose;
use crate::logic::{Region, Space};
use crate::package::{Display, Head, Mode, Package, Role, Show};
use crate::units::Share;

/// What a head shows in some states.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    /// Place of the display in [`Package::displays`].
    pub display: usize,
    /// Its row for the head.
    pub show: &'a Show,
    /// Its level, after all dimming.
    pub level: Share,
    /// Place of the display that dims it.
    pub dimmed_by: Option<usize>,
    /// What an arrow took the head from, and the level at which it would be lit without the arrow.
    pub instead_of: Option<(&'a Show, Share)>,
}

impl Shown<'_> {
    /// Its light over time, phase included.
    pub fn timeline(&self, package: &Package) -> Timeline {
        let pattern = self.show.pattern.and_then(|at| package.patterns.get(at));
        pattern.map_or_else(Timeline::steady, |pattern| pattern.timeline.delayed(self.show.phase))
    }

    /// The colour in which a head, by its place in the package, shows it.
    pub fn colour<'p>(&self, package: &'p Package, head: usize) -> &'p str {
        let model = package.heads.get(head).and_then(|head| package.models.get(head.model));
        model.and_then(|model| model.emitters.get(self.show.emitter)).map_or("", |emitter| emitter.colour.as_str())
    }

    /// Whether a person who looks at the head sees the same.
    pub fn looks_like(&self, other: &Self) -> bool {
        let (a, b) = (self.show, other.show);
        let in_phase = a.phase == b.phase || a.pattern.is_none();
        let same = a.emitter == b.emitter && a.pattern == b.pattern && in_phase && a.role == b.role;
        same && self.level == other.level
    }
}

/// A display that took heads from an earlier one, and in which states.
#[derive(Clone, Debug)]
pub struct Override {
    /// Place of the head in [`Package::heads`].
    pub head: usize,
    /// Place of the display that shows it.
    pub winner: usize,
    /// Place of the display that wanted it too, and its row.
    pub loser: usize,
    /// What the winner has it there for.
    pub winner_role: Role,
    /// What the loser wants it there for.
    pub loser_role: Role,
    /// The states.
    pub region: Region,
}

/// A part of the states in which a head shows one thing, or nothing.
pub type Part<'a> = (Region, Option<Shown<'a>>);

/// The behaviour of all heads over all states.
#[derive(Debug)]
pub struct Conduct<'a> {
    /// The vehicle.
    pub package: &'a Package,
    /// For each head, what it shows where; the parts make up all states that can occur.
    pub heads: Vec<Vec<Part<'a>>>,
    /// Who took which head from whom.
    pub overrides: Vec<Override>,
    /// For each mode the states in which it is judged.
    pub modes: Vec<Region>,
    /// For each body the states in which it stands there.
    pub bodies: Vec<Region>,
    /// Displays, by place, that in no state show or dim any head.
    pub never_seen: Vec<usize>,
    /// What was cast of its light so far.
    pub(super) rows: Rows,
    /// What flows, once it is asked for.
    pub(super) power: OnceCell<Option<Power>>,
    /// What sounds, once it is asked for.
    pub(super) sounds: OnceCell<Sounds>,
}

/// A claim of a display on a head.
#[derive(Clone, Copy)]
struct Claim<'a> {
    display: usize,
    /// None where it dims.
    show: Option<&'a Show>,
    /// To what it dims.
    dims: Option<Share>,
}

/// What a claim does with the head, as far as the layers are concerned.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Kind {
    Dims,
    Shows,
    ShowsAnArrow,
}

impl Claim<'_> {
    fn kind(&self) -> Kind {
        match self.show.map(|show| show.role) {
            None => Kind::Dims,
            Some(Role::Arrow) => Kind::ShowsAnArrow,
            Some(_) => Kind::Shows,
        }
    }
}

/// Who shows a head, as places of claims in its list.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Won {
    /// The claim that shows it; it is dark without one.
    by: Option<usize>,
    /// The claim that dims it most.
    dimmed: Option<usize>,
    /// The claim from which an arrow took it, and the one that dims it most there.
    from: Option<usize>,
    from_dimmed: Option<usize>,
}

/// How one sequence of displays parts the states, and who lost what: winner, loser, states.
struct Layers {
    parts: Vec<(Region, Won)>,
    lost: Vec<(usize, usize, Region)>,
}

impl<'a> Conduct<'a> {
    /// Lays the displays over each other.
    pub fn new(package: &'a Package) -> Self {
        let space = &package.space;
        let on: Vec<Region> = package.displays.iter().map(|display| space.holds(&display.when)).collect();
        let mut known: FxHashMap<Vec<(usize, Kind)>, Rc<Layers>> = FxHashMap::default();
        let (heads, overrides, modes, never_seen) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let bodies = package.bodies.iter().map(|body| space.holds(&body.when)).collect();
        let (rows, power, sounds) = (Rows::default(), OnceCell::new(), OnceCell::new());
        let mut conduct = Self { package, heads, overrides, modes, bodies, never_seen, rows, power, sounds };
        for (at, claims) in claims(package).into_iter().enumerate() {
            let key: Vec<(usize, Kind)> = claims.iter().map(|claim| (claim.display, claim.kind())).collect();
            let layers = known.entry(key).or_insert_with(|| Rc::new(lay(space, &on, &claims))).clone();
            conduct.add(at, &claims, &layers);
        }
        let seen: HashSet<usize> =
            conduct.shown().flat_map(|(_, _, shown)| [Some(shown.display), shown.dimmed_by]).flatten().collect();
        conduct.never_seen = (0..package.displays.len()).filter(|at| !seen.contains(at)).collect();
        conduct.modes = package.modes.iter().map(|mode| judged(space, mode)).collect();
        conduct
    }

    fn add(&mut self, head: usize, claims: &[Claim<'a>], layers: &Layers) {
        let level = |show: &Show, dimmed: Option<usize>| {
            let to = dimmed.and_then(|at| claims.get(at)?.dims);
            to.filter(|to| *to < show.dim).unwrap_or(show.dim)
        };
        let shown = |won: &Won| {
            let claim = claims.get(won.by?)?;
            let show = claim.show?;
            let dims = won.dimmed.and_then(|at| claims.get(at)).filter(|claim| claim.dims < Some(show.dim));
            let instead_of = won.from.and_then(|at| claims.get(at)?.show);
            Some(Shown {
                display: claim.display,
                show,
                level: level(show, won.dimmed),
                dimmed_by: dims.map(|claim| claim.display),
                instead_of: instead_of.map(|show| (show, level(show, won.from_dimmed))),
            })
        };
        self.heads.push(layers.parts.iter().map(|(region, won)| (region.clone(), shown(won))).collect());
        for (winner, loser, region) in &layers.lost {
            let claim = |at: usize| claims.get(at).and_then(|claim| Some((claim.display, claim.show?.role)));
            if let (Some((winner, winner_role)), Some((loser, loser_role))) = (claim(*winner), claim(*loser)) {
                let region = region.clone();
                self.overrides.push(Override { head, winner, loser, winner_role, loser_role, region });
            }
        }
    }

    /// The states of the inputs that can occur.
    pub fn space(&self) -> &'a Space {
        &self.package.space
    }

    /// The modes that serve a purpose, with the states in which they are judged.
    pub fn serving(&self, purpose: &str) -> impl Iterator<Item = (usize, &Region)> {
        let modes = self.package.modes.iter().zip(&self.modes).enumerate();
        modes
            .filter(move |(_, (mode, region))| mode.purpose.as_deref() == Some(purpose) && !region.is_empty())
            .map(|(at, (_, region))| (at, region))
    }

    /// The modes in which what speaks of a purpose is judged; what speaks of none is judged in all of them.
    pub fn modes_for(&self, purpose: Option<&str>) -> Vec<usize> {
        match purpose {
            Some(purpose) => self.serving(purpose).map(|(at, _)| at).collect(),
            None => (0..self.modes.len()).collect(),
        }
    }

    /// All states in which a purpose is served.
    pub fn purpose(&self, purpose: &str) -> Region {
        let space = self.space();
        self.serving(purpose).fold(space.none(), |all, (_, region)| space.or(&all, region))
    }

    /// The poses of a head with the states in which it has them: a later one wins while it holds.
    pub fn poses(&self, head: &'a Head) -> Vec<(Region, &'a Pose)> {
        let space = self.space();
        let mut poses: Vec<(Region, &'a Pose)> = vec![(space.allowed().clone(), &head.pose)];
        for (when, pose) in &head.poses {
            let held = space.holds(when);
            poses.iter_mut().for_each(|(region, _)| *region = space.minus(region, &held));
            poses.push((held, pose));
        }
        poses.retain(|(region, _)| !region.is_empty());
        poses
    }

    /// The states in which some head shows what `wanted` says yes to.
    pub fn showing(&self, wanted: impl Fn(usize, &Shown<'a>) -> bool) -> Region {
        let space = self.space();
        let mut met: HashSet<&Region> = HashSet::new();
        let mut all = space.none();
        for (region, _, _) in self.shown().filter(|(_, head, shown)| wanted(*head, shown)) {
            if met.insert(region) {
                all = space.or(&all, region);
            }
        }
        all
    }

    /// Everything that heads show: the states, the place of the head, what it shows.
    pub fn shown(&self) -> impl Iterator<Item = (&Region, usize, &Shown<'a>)> {
        let parts = self.heads.iter().enumerate().flat_map(|(head, parts)| parts.iter().map(move |part| (head, part)));
        parts.filter_map(|(head, (region, shown))| Some((region, head, shown.as_ref()?)))
    }

    /// What a head shows in a state.
    pub fn shown_in(&self, head: usize, state: &Region) -> Option<Shown<'a>> {
        let parts = self.heads.get(head)?;
        parts.iter().find(|(region, _)| self.space().meet(region, state)).and_then(|(_, shown)| *shown)
    }

    /// What flows in the vehicle; none where the package describes no supply.
    pub fn power(&self) -> Option<&Power> {
        self.power.get_or_init(|| Power::new(self)).as_ref()
    }

    /// The name of a display.
    pub fn display(&self, at: usize) -> &'a str {
        self.package.displays.get(at).map_or("", |display: &Display| display.id.as_str())
    }
}

/// The states in which a mode is judged: those in which it holds, narrowed by what it assumes.
fn judged(space: &Space, mode: &Mode) -> Region {
    let held = space.holds(&mode.when);
    mode.assume.as_ref().map_or(held.clone(), |assume| space.and(&held, &space.holds(assume)))
}

/// For each head the claims on it, in the order of the file.
fn claims(package: &Package) -> Vec<Vec<Claim<'_>>> {
    let mut claims: Vec<Vec<Claim<'_>>> = package.heads.iter().map(|_| Vec::new()).collect();
    for (at, display) in package.displays.iter().enumerate() {
        for show in &display.shows {
            claims
                .get_mut(show.head)
                .into_iter()
                .for_each(|of| of.push(Claim { display: at, show: Some(show), dims: None }));
        }
        if let Some(dimming) = &display.dims {
            for head in &dimming.heads {
                let claim = Claim { display: at, show: None, dims: Some(dimming.to) };
                claims.get_mut(*head).into_iter().for_each(|of| of.push(claim));
            }
        }
    }
    claims
}

/// Parts the states: a later claim replaces what an earlier one gave while its display is on, one that dims only
/// ever lowers it, whatever else dims it.
fn lay(space: &Space, on: &[Region], claims: &[Claim<'_>]) -> Layers {
    let none = space.none();
    let mut parts: Vec<(Region, Won)> = vec![(space.allowed().clone(), Won::default())];
    let mut lost = Vec::new();
    for (at, claim) in claims.iter().enumerate() {
        let on = on.get(claim.display).unwrap_or(&none);
        let mut next: Vec<(Region, Won)> = Vec::new();
        for (region, won) in parts {
            let inside = space.and(&region, on);
            // A dark head cannot be dimmed.
            if inside.is_empty() || (claim.show.is_none() && won.by.is_none()) {
                join(space, &mut next, region, won);
                continue;
            }
            let outside = space.minus(&region, on);
            let now = match claim.kind() {
                Kind::Dims => {
                    let from_dimmed = won.from.map(|_| dimmer(claims, won.from_dimmed, at));
                    Won { dimmed: Some(dimmer(claims, won.dimmed, at)), from_dimmed, ..won }
                }
                Kind::Shows => Won { by: Some(at), ..Won::default() },
                Kind::ShowsAnArrow => Won { by: Some(at), dimmed: None, ..taken(claims, won) },
            };
            if now == won {
                join(space, &mut next, region, won);
                continue;
            }
            if claim.show.is_some() {
                lost.extend(won.by.map(|loser| (at, loser, inside.clone())));
            }
            join(space, &mut next, inside, now);
            if !outside.is_empty() {
                join(space, &mut next, outside, won);
            }
        }
        parts = next;
    }
    Layers { parts, lost }
}

/// Which of two claims dims more; the earlier of equals.
fn dimmer(claims: &[Claim<'_>], known: Option<usize>, next: usize) -> usize {
    let to = |at: usize| claims.get(at).and_then(|claim| claim.dims);
    known.filter(|known| to(*known) <= to(next)).unwrap_or(next)
}

/// What an arrow takes: what shows the head, or, from another arrow, what that one took.
fn taken(claims: &[Claim<'_>], won: Won) -> Won {
    let shows = |at: &usize| claims.get(*at).is_some_and(|claim| claim.kind() == Kind::Shows);
    match won.by.filter(shows) {
        Some(by) => Won { from: Some(by), from_dimmed: won.dimmed, ..won },
        None => won,
    }
}

/// Adds a part; parts that show the same are one.
fn join(space: &Space, parts: &mut Vec<(Region, Won)>, region: Region, won: Won) {
    match parts.iter_mut().find(|(_, known)| *known == won) {
        Some((known, _)) => *known = space.or(known, &region),
        None => parts.push((region, won)),
    }
}

//! Things that only got another id: gone under the one and new under the other, and saying the same. Nothing on the
//! vehicle changed, so the old package is taken with the new ids, and what was found of it is carried over.

use std::rc::Rc;

use super::blend::copied;
use super::facts::{Fact, Kind, NOT_STATED, Thing, things};
use crate::logic::Space;
use crate::package::{Figures, Package};

/// One thing under two ids.
#[derive(Clone, Debug, PartialEq)]
pub struct Renamed {
    /// What it is.
    pub kind: Kind,
    /// Its id in the old package.
    pub before: String,
    /// Its id in the new one.
    pub after: String,
}

impl Renamed {
    /// The whole line.
    pub fn in_words(&self) -> String {
        let Self { kind, before, after } = self;
        format!(
            "{} {before} is called {after} now: under it everything is said as before, so that what was found of it is carried over",
            kind.word()
        )
    }
}

/// Before `head`, whatever heads name.
const KINDS: [Kind; 7] = [Kind::Input, Kind::Pattern, Kind::Circuit, Kind::Body, Kind::Display, Kind::Mode, Kind::Head];

/// More pairs than these are not tried.
const MOST_TRIED: usize = 200;

/// The old package with the ids of the new one, and what is called otherwise; none where nothing is.
pub fn renamed(old: &Package, new: &Package) -> Option<(Package, Vec<Renamed>)> {
    let (mut made, mut found, mut tried) = (copied(old), Vec::new(), 0_usize);
    let after = things(new);
    for kind in KINDS {
        let before = things(&made);
        let alone = |all: &[Thing], others: &[Thing]| {
            let of_kind = all.iter().filter(|thing| thing.kind == kind);
            let alone = of_kind.filter(|thing| !others.iter().any(|other| other.key() == thing.key()));
            alone.cloned().collect::<Vec<_>>()
        };
        let mut appeared = alone(&after, &before);
        for gone in alone(&before, &after) {
            let fits = |thing: &Thing| say_alike(&gone, thing);
            for at in (0..appeared.len()).filter(|at| appeared.get(*at).is_some_and(fits)).collect::<Vec<_>>() {
                tried += 1;
                let Some(now) = appeared.get(at).filter(|_| tried <= MOST_TRIED) else { break };
                let one = Renamed { kind, before: gone.id.clone(), after: now.id.clone() };
                let Some(with) = with(&made, new, &one).filter(|with| is_all(&made, with, &after, &one)) else {
                    continue;
                };
                made = with;
                found.push(one);
                appeared.remove(at);
                break;
            }
        }
    }
    (!found.is_empty()).then_some((made, found))
}

/// Whether two things say the same, whatever they are called.
fn say_alike(one: &Thing, other: &Thing) -> bool {
    let plain = |thing: &Thing, text: &str| match thing.kind {
        // How a position is told goes by the input's name, where nobody says it otherwise.
        Kind::Input => text.replace(&thing.id, "\u{1}").replace(&thing.id.replace('-', " "), "\u{1}"),
        _ => text.to_owned(),
    };
    let alike = |(one_fact, other_fact): (&Fact, &Fact)| {
        let same = one_fact.text == other_fact.text;
        one_fact.key == other_fact.key && (same || plain(one, &one_fact.text) == plain(other, &other_fact.text))
    };
    // What a head is fed by may have another name too: that is looked at when it has been given.
    one.facts.len() == other.facts.len() && one.facts.iter().zip(&other.facts).all(alike)
}

/// Whether the other id takes differences away and brings none: then it is all that happened to the thing.
fn is_all(made: &Package, with: &Package, after: &[Thing], one: &Renamed) -> bool {
    // Two inputs may be alike and be asked for by other things; two of anything else stand where they stand.
    let plain = |text: String| if one.kind == Kind::Input { text } else { text.replace(&one.before, &one.after) };
    let known: Vec<String> = differing(&things(made), after).into_iter().map(plain).collect();
    let left = differing(&things(with), after);
    left.len() < known.len() && left.into_iter().all(|difference| known.contains(&plain(difference)))
}

/// What differs, a text for each thing that one has alone and each key that says something else.
fn differing(old: &[Thing], new: &[Thing]) -> Vec<String> {
    let find = |all: &[Thing], like: &Thing| all.iter().position(|thing| thing.key() == like.key());
    // What was accepted in writing of a finding is no part of the thing.
    let of = |thing: &&Thing| thing.kind != Kind::Exception;
    let mut all = Vec::new();
    for thing in old.iter().filter(of) {
        let said = |fact: &Fact, now: &str| format!("{:?} {} -> {now}", thing.key(), fact.text);
        match find(new, thing).and_then(|at| new.get(at)) {
            None => all.push(format!("gone {:?} {}", thing.key(), thing.in_short(false))),
            Some(now) => {
                let text = |fact: &Fact| now.fact(&fact.key).map_or(NOT_STATED, |fact| &fact.text).to_owned();
                let other = thing.facts.iter().filter(|fact| fact.text != text(fact));
                all.extend(other.map(|fact| format!("{} {}", fact.key, said(fact, &text(fact)))));
                let more = now.facts.iter().filter(|fact| thing.fact(&fact.key).is_none());
                all.extend(more.map(|fact| format!("more {:?} {} {}", thing.key(), fact.key, fact.text)));
            }
        }
    }
    let alone = new.iter().filter(of).filter(|thing| find(old, thing).is_none());
    all.extend(alone.map(|thing| format!("new {:?} {}", thing.key(), thing.in_short(false))));
    all
}

/// A package with another id for one thing; none where more hangs on the id than is told here.
fn with(package: &Package, new: &Package, one: &Renamed) -> Option<Package> {
    let mut made = copied(package);
    let Renamed { kind, before, after } = one;
    match kind {
        Kind::Input => {
            let mut inputs = made.space.inputs().clone();
            let now = new.space.inputs().list.iter().find(|input| input.id == *after)?;
            *inputs.list.iter_mut().find(|input| input.id == *before)? = now.clone();
            made.space = Space::new(&inputs, &made.never);
        }
        Kind::Pattern => {
            let emitters = made.models.iter().flat_map(|model| &model.emitters);
            let figures =
                |figures: &Figures| matches!(figures, Figures::OpticalPower { pattern, .. } if pattern == before);
            // A catalogue gives figures for it by its name: under another it has none.
            if emitters.filter_map(|emitter| emitter.light.as_ref()).any(|light| figures(&light.figures)) {
                return None;
            }
            made.patterns.iter_mut().find(|pattern| pattern.id == *before)?.id.clone_from(after);
        }
        Kind::Circuit => {
            let supply = Rc::make_mut(made.supply.as_mut()?);
            supply.circuits.iter_mut().find(|circuit| circuit.id == *before)?.id.clone_from(after);
            let of_heads = made.heads.iter_mut().filter_map(|head| head.circuit.as_mut());
            of_heads.filter(|circuit| *circuit == before).for_each(|circuit| circuit.clone_from(after));
            let of_sounders = made.sound.sounders.iter_mut().filter_map(|sounder| sounder.circuit.as_mut());
            of_sounders.filter(|circuit| circuit.text == *before).for_each(|circuit| circuit.text.clone_from(after));
        }
        Kind::Body => made.bodies.iter_mut().find(|body| body.id == *before)?.id.clone_from(after),
        Kind::Display => made.displays.iter_mut().find(|display| display.id == *before)?.id.clone_from(after),
        Kind::Mode => made.modes.iter_mut().find(|mode| mode.id == *before)?.id.clone_from(after),
        Kind::Head => made.heads.iter_mut().find(|head| head.id == *before)?.id.clone_from(after),
        _ => return None,
    }
    // Exceptions name findings, and these name heads and circuits.
    for exception in &mut made.exceptions {
        if let Some((rule, place)) = exception.finding.split_once('@') {
            let parts: Vec<&str> = place.split('/').map(|part| if part == before { after } else { part }).collect();
            exception.finding = format!("{rule}@{}", parts.join("/"));
        }
    }
    Some(made)
}

//! Things that only got another id: gone under the one and new under the other, and saying the same. Nothing on the
//! vehicle changed, so the old package is taken with the new ids, and what was found of it is carried over.

use std::rc::Rc;

use super::blend::copied;
use super::facts::{DIMS, Fact, Kind, NOT_STATED, Thing, things};
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

/// What is only called otherwise.
pub struct Names {
    /// The old package with the ids of the new one; none where nothing is called otherwise.
    pub package: Option<Package>,
    /// Each thing that is.
    pub list: Vec<Renamed>,
    /// Why more may be.
    pub not_tried: Option<String>,
}

/// Pairs what is gone with what is new, as long as pairs are found: a name that is known may tell another.
pub fn renamed(old: &Package, new: &Package) -> Names {
    let after = things(new);
    let mut search = Search { made: copied(old), new, after: &after, found: Vec::new(), tried: 0 };
    loop {
        let before = search.found.len();
        KINDS.iter().for_each(|kind| search.of_kind(*kind));
        if search.found.len() == before {
            break;
        }
    }
    let not_tried = (search.tried > MOST_TRIED).then(|| {
        format!(
            "more may only have another name than is told here: {MOST_TRIED} pairs of what is gone and what is new were looked at, and the rest was not"
        )
    });
    let package = (!search.found.is_empty()).then_some(search.made);
    Names { package, list: search.found, not_tried }
}

struct Search<'p> {
    made: Package,
    new: &'p Package,
    after: &'p [Thing],
    found: Vec<Renamed>,
    tried: usize,
}

impl Search<'_> {
    fn of_kind(&mut self, kind: Kind) {
        let before = things(&self.made);
        let alone = |all: &[Thing], others: &[Thing]| {
            let of_kind = all.iter().filter(|thing| thing.kind == kind);
            let alone = of_kind.filter(|thing| !others.iter().any(|other| other.key() == thing.key()));
            alone.cloned().collect::<Vec<_>>()
        };
        let mut appeared = alone(self.after, &before);
        for gone in alone(&before, self.after) {
            let fits: Vec<&Thing> = appeared.iter().filter(|thing| say_alike(&gone, thing)).collect();
            let pairs = fits.iter().map(|now| Renamed { kind, before: gone.id.clone(), after: now.id.clone() });
            let Some((one, made)) = self.best(pairs.collect()) else { continue };
            appeared.retain(|thing| thing.id != one.after);
            self.made = made;
            self.found.push(one);
        }
    }

    /// Of several that say the same, the one with which most of what hangs on it says the same too.
    fn best(&mut self, pairs: Vec<Renamed>) -> Option<(Renamed, Package)> {
        let known = if pairs.is_empty() { Vec::new() } else { differing(&things(&self.made), self.after) };
        let mut best: Option<(usize, Renamed, Package)> = None;
        for one in pairs {
            self.tried += 1;
            if self.tried > MOST_TRIED {
                break;
            }
            let Some(made) = with(&self.made, self.new, &one) else { continue };
            let with = things(&made);
            let left = differing(&with, self.after);
            let open = left.len() + without_like(&with, self.after);
            let is_better = best.as_ref().is_none_or(|(least, ..)| open < *least);
            if is_better && is_all(&known, &left, &one) {
                best = Some((open, one, made));
            }
        }
        best.map(|(_, one, made)| (one, made))
    }
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

/// One thing that differs: that one package alone has it, or a word of a key.
#[derive(PartialEq)]
struct Differs {
    kind: Kind,
    within: Option<String>,
    id: String,
    what: String,
}

/// Whether the other id takes differences away and brings none: then it is all that happened to the thing.
fn is_all(known: &[Differs], left: &[Differs], one: &Renamed) -> bool {
    let is_known = |differs: &Differs| {
        known.iter().any(|known| {
            let now =
                |id: &str, of: Kind| if of == one.kind && id == one.before { one.after.clone() } else { id.into() };
            let (of, within) =
                if known.kind == Kind::Row { (Kind::Head, Kind::Display) } else { (known.kind, known.kind) };
            (known.kind, &known.what) == (differs.kind, &differs.what)
                && now(&known.id, of) == differs.id
                && known.within.as_deref().map(|id| now(id, within)) == differs.within
        })
    };
    left.len() < known.len() && left.iter().all(is_known)
}

/// What differs, thing by thing and word by word, so that one name more or less is seen by itself.
fn differing(old: &[Thing], new: &[Thing]) -> Vec<Differs> {
    // What was accepted in writing of a finding is no part of the thing.
    let of = |thing: &&Thing| thing.kind != Kind::Exception;
    let one = |thing: &Thing, what: String| Differs {
        kind: thing.kind,
        within: thing.within.clone(),
        id: thing.id.clone(),
        what,
    };
    let mut all = Vec::new();
    for thing in old.iter().filter(of) {
        let Some(now) = find(new, thing) else {
            all.push(one(thing, "gone".to_owned()));
            continue;
        };
        for fact in &thing.facts {
            let text = now.fact(&fact.key).map_or(NOT_STATED, |fact| &fact.text);
            let words = words_that_differ(&fact.key, &fact.text, text);
            all.extend(words.into_iter().map(|what| one(thing, format!("{}: {what}", fact.key))));
        }
        let more = now.facts.iter().filter(|fact| thing.fact(&fact.key).is_none());
        all.extend(more.map(|fact| one(thing, format!("{}: more: {}", fact.key, fact.text))));
    }
    let alone = new.iter().filter(of).filter(|thing| find(old, thing).is_none());
    all.extend(alone.map(|thing| one(thing, "new".to_owned())));
    all
}

fn find<'t>(all: &'t [Thing], like: &Thing) -> Option<&'t Thing> {
    all.iter().find(|thing| thing.key() == like.key())
}

fn words_that_differ(key: &str, old: &str, new: &str) -> Vec<String> {
    if old == new {
        return Vec::new();
    }
    // A list that is sorted by name stands in another order under other names.
    if let (DIMS, Some((old, old_to)), Some((new, new_to))) = (key, old.rsplit_once(" to "), new.rsplit_once(" to ")) {
        let lacks = |one: &str, other: &str, sign: char| {
            let others: Vec<&str> = other.split(", ").collect();
            let alone = one.split(", ").filter(|word| !others.contains(word));
            alone.map(|word| format!("{sign}{word}")).collect::<Vec<_>>()
        };
        let to = (old_to != new_to).then(|| format!("{old_to} -> {new_to}"));
        return [lacks(old, new, '-'), lacks(new, old, '+'), Vec::from_iter(to)].concat();
    }
    let (before, after): (Vec<&str>, Vec<&str>) = (old.split_whitespace().collect(), new.split_whitespace().collect());
    if before.len() != after.len() {
        return vec![format!("{old} -> {new}")];
    }
    let pairs = before.iter().zip(&after).enumerate().filter(|(_, (old, new))| old != new);
    pairs.map(|(at, (old, new))| format!("{at} {old} -> {new}")).collect()
}

/// Of how many things that are gone nothing that is new says the same.
fn without_like(old: &[Thing], new: &[Thing]) -> usize {
    let alone = |all: &[Thing], others: &[Thing]| {
        let alone = all.iter().filter(|thing| find(others, thing).is_none());
        alone.map(|thing| (thing.kind, thing.in_short(false))).collect::<Vec<_>>()
    };
    let appeared = alone(new, old);
    alone(old, new).iter().filter(|gone| !appeared.contains(gone)).count()
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

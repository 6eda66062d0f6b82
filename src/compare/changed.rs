//! What differs between two packages, one line a change: things that are new or gone, and keys that say something else.
//!
//! Things are matched by kind and id; one that got another id is gone and new. What changes alike at several things is
//! one line, and so is a pair of twins that changes in a mirrored way.

use super::facts::{Fact, Kind, NOT_STATED, Thing, things};
use super::names::{folded, twin};
use crate::package::Package;

/// What became of things.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// They are in the later package alone; what is stated of the first of them.
    New(String),
    /// They are in the earlier package alone; what was stated of the first of them.
    Gone(String),
    /// A key says something else.
    Says {
        /// The key.
        key: String,
        /// What it said of the first of them.
        before: String,
        /// What it says now.
        after: String,
    },
    /// Of those of this kind that both packages have, a later one wins, and they stand in another order.
    Order {
        /// As they stood.
        before: String,
        /// As they stand.
        after: String,
    },
}

/// One line of what was changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// What kind of things.
    pub kind: Kind,
    /// The display of rows.
    pub within: Option<String>,
    /// Their ids, in the order of the files.
    pub ids: Vec<String>,
    /// What became of them.
    pub change: Change,
    /// What the twin of the first of them says, where it says it in a mirrored way.
    mirrored: Option<Change>,
    /// Twins are among them that changed in a mirrored way.
    pub is_mirrored: bool,
}

impl Difference {
    fn new(thing: &Thing, change: Change, mirrored: Option<Change>) -> Self {
        let (within, ids) = (thing.within.clone(), vec![thing.id.clone()]);
        Self { kind: thing.kind, within, ids, change, mirrored, is_mirrored: false }
    }

    /// Of what the line speaks: `rear-lower-left and -right`, `pattern two-pulse`, `display rear, roof-beacon`.
    pub fn subject(&self) -> String {
        let named: Vec<String> = self.ids.iter().filter(|id| !id.is_empty()).cloned().collect();
        let ids = folded(&named);
        match (self.kind, &self.within) {
            (Kind::Head | Kind::Sounder, _) => ids,
            (kind, Some(within)) => format!("{} `{within}`, {ids}", kind.word()),
            (kind, None) if ids.is_empty() => kind.word().to_owned(),
            (kind, None) => format!("{} {}", kind.word(), ids),
        }
    }

    /// What became of it: `wedge 12 deg -> 0 deg`.
    pub fn said(&self) -> String {
        let said = match &self.change {
            Change::New(what) => format!("new: {what}"),
            Change::Gone(what) => format!("gone; it was: {what}"),
            Change::Says { key, before, after } => format!("{key} {before} -> {after}"),
            Change::Order { before, after } => format!("order {before} -> {after}"),
        };
        if self.is_mirrored { format!("{said} (and mirrored on the other side)") } else { said }
    }

    /// Another length of the vehicle, from whose middle all places are told.
    pub(super) fn is_length(&self) -> bool {
        self.kind == Kind::Vehicle && self.said().starts_with("length ")
    }

    /// The whole line.
    pub fn in_words(&self) -> String {
        format!("{}: {}", self.subject(), self.said())
    }

    /// Takes in a change that is the same, or the mirrored one of a twin. Answers whether it did.
    fn takes(&mut self, other: &Self) -> bool {
        if self.kind != other.kind || self.within != other.within || matches!(self.change, Change::Order { .. }) {
            return false;
        }
        let is_twin = other.ids.first().and_then(|id| twin(id)).is_some_and(|id| self.ids.contains(&id));
        let alike = self.change == other.change;
        let in_mirror = is_twin && self.mirrored.as_ref() == Some(&other.change);
        if !alike && !in_mirror {
            return false;
        }
        self.ids.extend(other.ids.iter().cloned());
        self.is_mirrored |= !alike;
        true
    }
}

/// What differs, in the order of kinds and of the files.
pub fn differences(old: &Package, new: &Package) -> Vec<Difference> {
    between(&things(old), &things(new))
}

/// The same of facts.
pub(super) fn between(old: &[Thing], new: &[Thing]) -> Vec<Difference> {
    let mut found: Vec<Difference> = Vec::new();
    let find = |all: &[Thing], like: &Thing| all.iter().position(|thing| thing.key() == like.key());
    let has = |all: &[Thing], kind: Kind, id: &str| all.iter().any(|thing| thing.kind == kind && thing.id == id);
    // A row of a head or of a display that is new or gone is said where that is said.
    let is_of_both = |row: &Thing| {
        let display = row.within.as_deref().unwrap_or_default();
        [old, new].iter().all(|all| has(all, Kind::Head, &row.id) && has(all, Kind::Display, display))
    };
    for thing in old {
        match find(new, thing).and_then(|at| new.get(at)) {
            Some(now) => said_else(thing, now, &mut found),
            None if thing.kind != Kind::Row || is_of_both(thing) => found.push(Difference::new(
                thing,
                Change::Gone(whole(thing, old, false)),
                Some(Change::Gone(whole(thing, old, true))),
            )),
            None => {}
        }
    }
    for thing in new.iter().filter(|thing| find(old, thing).is_none()) {
        if thing.kind != Kind::Row || is_of_both(thing) {
            let (said, mirrored) = (whole(thing, new, false), whole(thing, new, true));
            found.push(Difference::new(thing, Change::New(said), Some(Change::New(mirrored))));
        }
    }
    orders(old, new, &mut found);
    // A model that no head uses any more, or did not before, is said at the heads.
    found.retain(|one| {
        !(matches!(one.kind, Kind::Model | Kind::SounderModel)
            && matches!(one.change, Change::New(_) | Change::Gone(_)))
    });
    found.sort_by_key(|one| one.kind);
    let mut lines: Vec<Difference> = Vec::new();
    for one in found {
        if !lines.iter_mut().any(|line| line.takes(&one)) {
            lines.push(one);
        }
    }
    lines
}

/// What is stated of a thing that one package alone has: of a head with what it shows, of a display with its rows.
fn whole(thing: &Thing, all: &[Thing], mirrored: bool) -> String {
    let rows = all.iter().filter(|row| row.kind == Kind::Row);
    let mut said = thing.in_short(mirrored);
    match thing.kind {
        Kind::Head => {
            for row in rows.filter(|row| row.id == thing.id) {
                let display = row.within.as_deref().unwrap_or_default();
                said.push_str(&format!("; in display `{display}`: {}", row.in_short(mirrored)));
            }
        }
        Kind::Display => {
            let of_it = rows.filter(|row| row.within.as_deref() == Some(&thing.id));
            // Rows that say the same are said once, with all their heads.
            let mut alike: Vec<(String, Vec<String>)> = Vec::new();
            for row in of_it {
                let says = row.in_short(false);
                match alike.iter_mut().find(|(known, _)| *known == says) {
                    Some((_, ids)) => ids.push(row.id.clone()),
                    None => alike.push((says, vec![row.id.clone()])),
                }
            }
            alike.iter().for_each(|(says, ids)| said.push_str(&format!("; {}: {says}", folded(ids))));
        }
        _ => {}
    }
    said
}

fn said_else(old: &Thing, new: &Thing, found: &mut Vec<Difference>) {
    let nothing = |key: &str| Fact { key: key.to_owned(), text: NOT_STATED.to_owned(), mirrored: None };
    let mut push = |before: &Fact, after: &Fact| {
        if before.text == after.text {
            return;
        }
        let says = |mirrored: bool| {
            let text = |fact: &Fact| {
                let other = fact.mirrored.as_ref().filter(|_| mirrored);
                other.unwrap_or(&fact.text).clone()
            };
            Change::Says { key: before.key.clone(), before: text(before), after: text(after) }
        };
        let mirrored = (before.mirrored.is_some() || after.mirrored.is_some()).then(|| says(true));
        found.push(Difference::new(old, says(false), mirrored));
    };
    for before in &old.facts {
        let after = new.fact(&before.key).cloned().unwrap_or_else(|| nothing(&before.key));
        push(before, &after);
    }
    for after in new.facts.iter().filter(|fact| old.fact(&fact.key).is_none()) {
        push(&nothing(&after.key), after);
    }
}

/// Things of an ordered kind that both have, where they stand in another order.
fn orders(old: &[Thing], new: &[Thing], found: &mut Vec<Difference>) {
    for kind in [Kind::Display, Kind::Sounding] {
        debug_assert!(kind.is_ordered());
        let common = |all: &[Thing], others: &[Thing]| {
            let of_kind = all.iter().filter(|thing| thing.kind == kind);
            let both = of_kind.filter(|thing| others.iter().any(|other| other.key() == thing.key()));
            both.map(|thing| thing.id.clone()).collect::<Vec<_>>()
        };
        let (before, after) = (common(old, new), common(new, old));
        if before != after {
            let change =
                Change::Order { before: where_they_differ(&before, &after), after: where_they_differ(&after, &before) };
            let (within, ids, mirrored) = (None, Vec::new(), None);
            found.push(Difference { kind, within, ids, change, mirrored, is_mirrored: false });
        }
    }
}

/// One of two orders of the same names, without those at both ends that stand where they stood; between two that changed
/// places `...` stands for those that did not move.
fn where_they_differ(one: &[String], other: &[String]) -> String {
    let stays = |at: &usize| one.get(*at) == other.get(*at);
    let first = (0..one.len()).find(|at| !stays(at)).unwrap_or_default();
    let last = (0..one.len()).rfind(|at| !stays(at)).unwrap_or_default();
    let mut said: Vec<&str> = Vec::new();
    for at in first..=last {
        match (stays(&at), said.last()) {
            (true, Some(&"...")) => {}
            (true, _) => said.push("..."),
            (false, _) => said.extend(one.get(at).map(String::as_str)),
        }
    }
    said.join(", ")
}

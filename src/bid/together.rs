//! Demands of which every two can be met and three or more cannot, and demands on zones that lie within each other.
//!
//! Of three, every set is looked at; of more, all that bind one place are taken at once. Whatever cannot be met by three
//! is not told again with a fourth.

use super::contradict::{
    LEAST_POINT, Member, ZONE_TOTAL, asks, both_say, clash, levels_meet, name, same_place, same_terms,
};
use super::feasible::is_permitted;
use super::layout::{lies_within, same_zone};
use super::{Cause, Fault};
use crate::quantity::one_thing;
use crate::ruleset::{Allowed, Demand, Require};
use crate::units::format_number;

/// With more limits than this on one thing, sets of three are too many to look at.
const MOST_OF_ONE: usize = 150;

/// What several demands of one family together leave no value for; `most` is how many may be told yet.
pub(super) fn together(members: &[Member<'_>], most: usize) -> Vec<Fault> {
    let mut families: Vec<&'static str> = members.iter().map(|member| member.family).collect();
    families.sort_unstable();
    families.dedup();
    let mut faults: Vec<Fault> = Vec::new();
    for family in families {
        let of_it: Vec<&Member<'_>> = members.iter().filter(|member| member.family == family).collect();
        // Of stretches every two of which meet, all meet: only what parts the line, or names words, can need three.
        let parts = |member: &&Member<'_>| match &member.allowed {
            Allowed::Numbers(stretches) => stretches.len() > 1,
            Allowed::Words(_) => true,
        };
        nested(&of_it, &mut faults);
        if !of_it.iter().any(parts) {
            continue;
        }
        match of_it.as_slice() {
            [first, ..] if of_it.len() > MOST_OF_ONE => faults.push(too_many(first, of_it.len())),
            _ => sets(&of_it, &mut faults),
        }
        if faults.len() >= most {
            break;
        }
    }
    faults.truncate(most);
    faults
}

fn too_many(first: &Member<'_>, many: usize) -> Fault {
    let says = format!(
        "{many} limits are on `{}` and the like: whether three or more of them can be met together is NOT looked at, every two are",
        first.quantity.name
    );
    let help = "check parts of the draft by themselves";
    Fault::on(first.clause, Cause::Advice, "not-looked-at", says, help)
}

/// Every set of three, then all that bind one place.
fn sets(of_it: &[&Member<'_>], faults: &mut Vec<Fault>) {
    let many = of_it.len();
    // Whether two bind one place, and whether they can be met, asked once for each pair.
    let meet: Vec<Vec<bool>> =
        of_it.iter().map(|one| of_it.iter().map(|other| bind_together(one, other)).collect()).collect();
    let clashes: Vec<Vec<bool>> =
        of_it.iter().map(|one| of_it.iter().map(|other| clash(one, other)).collect()).collect();
    let at =
        |table: &[Vec<bool>], one: usize, other: usize| table.get(one).and_then(|row| row.get(other)) == Some(&true);
    let mut found: Vec<Vec<usize>> = Vec::new();
    for one in 0..many {
        for other in (one + 1..many).filter(|other| at(&meet, one, *other) && !at(&clashes, one, *other)) {
            // A pair that only lies within each other.
            if empty(of_it, &[one, other]) {
                found.push(vec![one, other]);
                continue;
            }
            for third in other + 1..many {
                let free = |with: usize| at(&meet, with, third) && !at(&clashes, with, third);
                if free(one) && free(other) && empty(of_it, &[one, other, third]) {
                    found.push(vec![one, other, third]);
                }
            }
        }
    }
    found.retain({
        let pairs: Vec<Vec<usize>> = found.iter().filter(|set| set.len() == 2).cloned().collect();
        move |set| set.len() == 2 || !pairs.iter().any(|pair| pair.iter().all(|one| set.contains(one)))
    });
    for anchor in 0..many {
        let mut all = vec![anchor];
        for other in (0..many).filter(|other| *other != anchor) {
            if all.iter().all(|known| at(&meet, *known, other) && !at(&clashes, *known, other)) {
                all.push(other);
            }
        }
        all.sort_unstable();
        let told = found.iter().any(|set| set.iter().all(|one| all.contains(one)));
        if all.len() > 3 && !told && empty(of_it, &all) {
            // As few as are needed.
            for one in all.clone() {
                let fewer: Vec<usize> = all.iter().copied().filter(|known| *known != one).collect();
                if empty(of_it, &fewer) {
                    all = fewer;
                }
            }
            found.push(all);
        }
    }
    for set in found {
        let of_set: Vec<&Member<'_>> = set.iter().filter_map(|at| of_it.get(*at).copied()).collect();
        faults.extend(fault(&of_set, ""));
    }
}

/// Whether both bind one place.
fn bind_together(one: &Member<'_>, other: &Member<'_>) -> bool {
    match (&one.allowed, &other.allowed) {
        (Allowed::Words(_), Allowed::Words(_)) if one.is_of_colours() && other.is_of_colours() => {
            both_say(&one.row.purpose, &other.row.purpose)
                && levels_meet(one, other)
                && (binds(one, other) || binds(other, one))
        }
        _ => one_thing(one.quantity) == one_thing(other.quantity) && same_place(one, other) && same_terms(one, other),
    }
}

/// Whether what a demand on colours says of its place says something of the place of another: both speak of one, or what
/// shows in the narrower has to be allowed in the wider.
fn binds(wide: &Member<'_>, narrow: &Member<'_>) -> bool {
    let bounds = matches!(wide.require, Require::Only | Require::NoneOf | Require::Exactly);
    match (&wide.row.zone, &narrow.row.zone) {
        (None, None) => true,
        (None, Some(_)) => bounds,
        (Some(_), None) => false,
        (Some(_), Some(_)) => match (bounds_of(wide), bounds_of(narrow)) {
            (Some(outer), Some(inner)) => {
                same_zone(outer, inner) || bounds && is_of_one_layout(wide, narrow) && lies_within(inner, outer)
            }
            _ => wide.row.zone == narrow.row.zone,
        },
    }
}

fn is_of_one_layout(one: &Member<'_>, other: &Member<'_>) -> bool {
    one.clause.layout.is_some() && one.clause.layout == other.clause.layout
}

fn bounds_of(member: &Member<'_>) -> Option<(crate::units::Degrees, crate::units::Degrees)> {
    member.bid.layout_of(member.clause)?.zone(member.row.zone.as_ref()?)
}

/// Whether some place that is bound by all of a set is left without a value.
fn empty(of_it: &[&Member<'_>], set: &[usize]) -> bool {
    let set: Vec<&Member<'_>> = set.iter().filter_map(|at| of_it.get(*at).copied()).collect();
    if !set.iter().all(|member| member.is_of_colours()) {
        let all = set.iter().map(|member| member.allowed.clone());
        return all.reduce(|one, other| one.and(&other).unwrap_or(one)).is_some_and(|left| left.is_empty());
    }
    set.iter().any(|narrow| {
        let wide = || set.iter().filter(|wide| !std::ptr::eq(**wide, *narrow));
        let left = || wide().try_fold(narrow.allowed.clone(), |left, wide| left.and(&bound_on(wide, narrow)?));
        wide().all(|wide| binds(wide, narrow)) && left().is_some_and(|left| left.is_empty())
    })
}

/// What a demand on colours says of the place of another: all of it of its own place, of a place within only which colours
/// may show.
fn bound_on(wide: &Member<'_>, narrow: &Member<'_>) -> Option<Allowed> {
    let same = match (bounds_of(wide), bounds_of(narrow)) {
        (Some(one), Some(other)) => same_zone(one, other),
        _ => wide.row.zone == narrow.row.zone,
    };
    match (same, wide.require, &wide.row.demand) {
        (false, Require::Exactly, Some(demand)) => Allowed::of(Require::Only, demand, wide.clause.known_unit()?),
        _ => Some(wide.allowed.clone()),
    }
}

/// A total of a zone that may be no more than what a zone within it has to get.
fn nested(of_it: &[&Member<'_>], faults: &mut Vec<Fault>) {
    for inner in of_it.iter().filter(|one| matches!(one.quantity.name, ZONE_TOTAL | LEAST_POINT)) {
        for outer in of_it.iter().filter(|one| one.quantity.name == ZONE_TOTAL) {
            if let Some(sum) = more_within(inner, outer) {
                faults.extend(fault(&[inner, outer], &sum));
            }
        }
    }
}

fn more_within(inner: &Member<'_>, outer: &Member<'_>) -> Option<String> {
    let (Allowed::Numbers(least), Allowed::Numbers(most)) = (&inner.allowed, &outer.allowed) else { return None };
    let (least, most) = (least.first()?.low, most.last()?.high);
    let (narrow, wide) = (bounds_of(inner)?, bounds_of(outer)?);
    let layout = inner.bid.layout_of(inner.clause)?;
    let step = layout.step?.value();
    let apart = (narrow.0.value() - wide.0.value()).rem_euclid(360.0) / step;
    let on_points = (apart - apart.round()).abs() < 1e-9;
    let same = both_say(&inner.row.purpose, &outer.row.purpose)
        && (&inner.row.level, &inner.row.colour, &inner.row.class)
            == (&outer.row.level, &outer.row.colour, &outer.row.class)
        && is_of_one_layout(inner, outer)
        && same_terms(inner, outer);
    if !same || !on_points || same_zone(narrow, wide) || !lies_within(narrow, wide) || !counts_as_well(inner, outer) {
        return None;
    }
    let points = layout.points_about_middle(inner.row.zone.as_ref()?).len();
    #[allow(clippy::cast_precision_loss)] // A few hundred.
    let sum = if inner.quantity.name == LEAST_POINT { least * points as f64 } else { least };
    let unit = outer.clause.known_unit()?;
    (sum > 0.0 && sum > most * (1.0 + 1e-12)).then(|| {
        let zones = [inner, outer].map(|one| one.row.zone.as_deref().unwrap_or_default());
        let [narrow, wide] = zones;
        format!(
            "; {narrow} lies within {wide}, whose points get at least {} {unit} there",
            format_number(unit.from_base(sum), 0)
        )
    })
}

/// Whether every colour that counts in the inner zone counts in the outer one; one that no clause names stands for all
/// others.
fn counts_as_well(inner: &Member<'_>, outer: &Member<'_>) -> bool {
    let words = inner.bid.clauses.iter().flat_map(|clause| &clause.rows).filter_map(|row| match &row.demand {
        Some(Demand::Words(words)) => Some(words),
        _ => None,
    });
    let all = words.flatten().map(String::as_str).chain([""]);
    let permitted = |one: &Member<'_>, colour: &str| is_permitted(one.bid, (one.clause, one.row), colour);
    all.into_iter().all(|colour| !permitted(inner, colour) || permitted(outer, colour))
}

/// The fault of a set, named the same whichever of them stands first in the draft.
fn fault(set: &[&Member<'_>], why: &str) -> Option<Fault> {
    let (first, many) = (set.first()?, set.len());
    let said: Vec<String> = set.iter().map(|member| format!("{} asks {}", name(member), asks(member))).collect();
    let all = if many == 2 { "both" } else { "all of them" };
    let says = format!("{}{why}; no value meets {all}", said.join("; "));
    let help = "change one of them, or say for which use, zone, colour or class each holds";
    let mut names: Vec<String> = set.iter().map(|member| name(member)).collect();
    names.sort();
    let fault = Fault::on(first.clause, Cause::CannotBeMet, "contradiction", says, help).in_row(first.row);
    Some(Fault { at: names.join("+"), ..fault })
}

//! Two demands that no value meets together; `together.rs` has those of more. Which values a limit allows is the rulesets' own arithmetic of sets
//! ([`Allowed`]), which quantities are one thing is the registry's, and when a least level lies over a greatest the
//! judge's; here stands only which two limits of a draft speak of one thing at one place.

use super::layout::same_zone;
use super::together::together;
use super::{Bid, Cause, Clause, Fault, Row};
use crate::judge::{has_own_words, level_is_over};
use crate::quantity::{DeviceKind, DeviceTerms, LevelScope, ListenTerms, Quantity, least_of, one_thing};
use crate::ruleset::{Allowed, Demand, Require, Strength};
use crate::units::format_number;

/// Quantities whose words are the colours shown: of a zone, of the vehicle in one use, of the vehicle in any use.
pub(super) const COLOURS: [&str; 3] = ["colours-shown", "warning-colours-lit", "colours-shown-in-any-mode"];

/// What each point of a zone gets at least, and what all of them get together.
pub(super) const LEAST_POINT: &str = "least-point-optical-power";
pub(super) const ZONE_TOTAL: &str = "zone-total-optical-power";

/// A limit of which the values that it allows are known.
pub(super) struct Member<'a> {
    pub bid: &'a Bid,
    pub clause: &'a Clause,
    pub row: &'a Row,
    pub quantity: &'static Quantity,
    pub require: Require,
    pub allowed: Allowed,
    /// Limits of two families never meet.
    pub family: &'static str,
}

impl Member<'_> {
    /// Whether its words are the colours shown.
    pub fn is_of_colours(&self) -> bool {
        COLOURS.contains(&self.quantity.name)
    }
}

/// Nobody reads further.
const MOST_TOLD: usize = 1_000;

/// Every pair of required limits that no value meets together, once, whichever stands first; then what only three or more
/// leave no value for.
pub fn contradictions(bid: &Bid) -> Vec<Fault> {
    let members: Vec<Member<'_>> = bid.clauses.iter().flat_map(|clause| of_clause(bid, clause)).collect();
    let mut faults: Vec<Fault> = Vec::new();
    for (at, one) in members.iter().enumerate() {
        let same_family = |other: &&Member<'_>| other.family == one.family;
        for other in members.iter().skip(at + 1).filter(same_family).filter(|other| clash(one, other)) {
            if faults.len() >= MOST_TOLD {
                return faults;
            }
            let (first, second) = (name(one), name(other));
            let sum = points_over(one, other).map(|(points, sum)| format!("; {points} such points are {sum}"));
            let sum = sum.unwrap_or_default();
            let says = format!("{first} asks {}; {second} asks {}{sum}; no value meets both", asks(one), asks(other));
            let help = "change one of the two, or say for which use, zone, colour or class each holds";
            let fault = Fault::on(one.clause, Cause::CannotBeMet, "contradiction", says, help).in_row(one.row);
            // The id is the same whichever of the two stands first in the draft.
            let mut names = [first, second];
            names.sort();
            faults.push(Fault { at: names.join("+"), ..fault });
        }
    }
    faults.extend(together(&members, MOST_TOLD - faults.len()));
    faults
}

/// Pairs of required limits that ask two figures of one thing at one place: the tighter one counts, and hardly anybody
/// meant both.
pub(super) fn doubled(bid: &Bid) -> Vec<Fault> {
    let members: Vec<Member<'_>> = bid.clauses.iter().flat_map(|clause| of_clause(bid, clause)).collect();
    let mut faults: Vec<Fault> = Vec::new();
    for (at, one) in members.iter().enumerate() {
        let bounds = matches!(one.require, Require::AtLeast | Require::AtMost);
        let alike = |other: &&Member<'_>| bounds && other.family == one.family && is_doubled(one, other);
        for other in members.iter().skip(at + 1).filter(alike) {
            if faults.len() >= MOST_TOLD {
                return faults;
            }
            let (first, second) = (name(one), name(other));
            let says = format!("{first} asks {}; {second} asks {}", asks(one), asks(other));
            let mut names = [first, second];
            let help = "strike one of the two out; as it stands the tighter one counts";
            names.sort();
            let fault = Fault::on(one.clause, Cause::Advice, "two-figures", says, help).in_row(one.row);
            faults.push(Fault { at: names.join("+"), ..fault });
        }
    }
    faults
}

/// Whether two limits ask one thing of one scope, each with a figure of its own.
fn is_doubled(one: &Member<'_>, other: &Member<'_>) -> bool {
    let of = |member: &Member<'_>| {
        let device = member.clause.device.as_ref().map(|device| (device.of, device.group.clone()));
        let listen = member.clause.listen.as_ref().map(|listen| (listen.of.clone(), listen.tones.clone()));
        (device, listen)
    };
    one.require == other.require
        && one_thing(one.quantity) == one_thing(other.quantity)
        && one.allowed != other.allowed
        && one.row.purpose == other.row.purpose
        && one.row.class == other.row.class
        && one.row.colour == other.row.colour
        && of(one) == of(other)
        && same_place(one, other)
        && same_terms(one, other)
}

fn of_clause<'a>(bid: &'a Bid, clause: &'a Clause) -> Vec<Member<'a>> {
    let (Some(quantity), Some(require), Some(unit)) = (clause.known_quantity(), clause.require, clause.known_unit())
    else {
        return Vec::new();
    };
    if clause.strength != Strength::Required || quantity.dimension != unit.dimension() {
        return Vec::new();
    }
    let family = match quantity.name {
        name if COLOURS.contains(&name) => COLOURS[0],
        LEAST_POINT => ZONE_TOTAL,
        _ => least_of(quantity).map_or(one_thing(quantity), |(least, _)| least),
    };
    let member = |row: &'a Row| {
        let demand = row.demand.as_ref().filter(|demand| fits(require, demand))?;
        let allowed = Allowed::of(require, demand, unit)?;
        Some(Member { bid, clause, row, quantity, require, allowed, family })
    };
    clause.rows.iter().filter_map(member).collect()
}

/// Whether a comparison has something to say of what is asked; the rest is told elsewhere.
fn fits(require: Require, demand: &Demand) -> bool {
    match demand {
        Demand::Number(_) => matches!(require, Require::AtLeast | Require::AtMost | Require::Exactly),
        Demand::Range { .. } => require.asks_a_range(),
        Demand::Words(_) => {
            matches!(require, Require::Only | Require::NoneOf | Require::SomeOf | Require::Exactly)
        }
        Demand::Missing { .. } => false,
    }
}

pub(super) fn name(member: &Member<'_>) -> String {
    let scope = member.row.scope();
    if scope.is_empty() { member.clause.id.clone() } else { format!("{}/{}", member.clause.id, scope.join("/")) }
}

pub(super) fn asks(member: &Member<'_>) -> String {
    let words = match member.require {
        Require::Between => "from".to_owned(),
        Require::Outside => "not from".to_owned(),
        require => require.word().replace('-', " "),
    };
    let demand = match &member.row.demand {
        Some(Demand::Words(words)) if !words.is_empty() => words.join(", "),
        Some(demand) => demand.in_words(),
        None => String::new(),
    };
    let unit = member.clause.unit.as_deref().filter(|_| !matches!(member.allowed, Allowed::Words(_)));
    format!("{words} {demand}{}", unit.map(|unit| format!(" {unit}")).unwrap_or_default())
}

/// Whether two limits speak of one thing at one place, and nothing meets both.
pub(super) fn clash(one: &Member<'_>, other: &Member<'_>) -> bool {
    if one.is_of_colours() && other.is_of_colours() {
        return both_say(&one.row.purpose, &other.row.purpose)
            && zones_meet(one, other, true)
            && levels_meet(one, other)
            && (colours_clash(one, other) || colours_clash(other, one));
    }
    if !same_place(one, other) {
        return false;
    }
    if points_over(one, other).is_some() {
        return same_terms(one, other);
    }
    if one_thing(one.quantity) == one_thing(other.quantity) {
        return same_terms(one, other) && one.allowed.and(&other.allowed).is_some_and(|both| both.is_empty());
    }
    let level = |member: &Member<'_>| least_of(member.quantity);
    match (level(one), level(other)) {
        (Some((name, true)), Some((same, false))) if name == same => over(one, other),
        (Some((name, false)), Some((same, true))) if name == same => over(other, one),
        _ => false,
    }
}

/// Whether what shows in the narrower place can be what the wider one allows there. What only *some* of the colours of a
/// wider place ask says nothing of one zone.
fn colours_clash(narrow: &Member<'_>, wide: &Member<'_>) -> bool {
    let bounds = matches!(wide.require, Require::Only | Require::NoneOf);
    let covers = wide.row.zone.is_none();
    let same = zones_meet(narrow, wide, false) && narrow.row.purpose == wide.row.purpose;
    let asked = bounds && covers || same;
    asked && narrow.allowed.and(&wide.allowed).is_some_and(|both| both.is_empty())
}

fn over(least: &Member<'_>, greatest: &Member<'_>) -> bool {
    let terms = |member: &Member<'_>| member.clause.listen.clone().unwrap_or_default();
    let (asked, allowed) = (terms(least), terms(greatest));
    let same = asked.clone().place() == allowed.clone().place();
    same && allowed.covers(&asked) && level_is_over((&least.allowed, &asked), &greatest.allowed)
}

/// How many points a zone has, and what they add up to, where each is asked so much that the total is more than it may be.
/// Both limits are taken to speak of one zone.
fn points_over(one: &Member<'_>, other: &Member<'_>) -> Option<(usize, String)> {
    let (point, total) = match (one.quantity.name, other.quantity.name) {
        (LEAST_POINT, ZONE_TOTAL) => (one, other),
        (ZONE_TOTAL, LEAST_POINT) => (other, one),
        _ => return None,
    };
    let ends = |member: &Member<'_>| match &member.allowed {
        Allowed::Numbers(stretches) => Some((stretches.first()?.low, stretches.last()?.high)),
        Allowed::Words(_) => None,
    };
    let ((least, _), (_, most)) = (ends(point)?, ends(total)?);
    let points = point.bid.layout_of(point.clause)?.points_about_middle(point.row.zone.as_ref()?).len();
    #[allow(clippy::cast_precision_loss)] // A few hundred.
    let sum = least * points as f64;
    let unit = total.clause.known_unit()?;
    // Sums of whole figures are exact; a hair above is no contradiction.
    (points > 0 && least > 0.0 && sum > most * (1.0 + 1e-12))
        .then(|| (points, format!("{} {unit}", format_number(unit.from_base(sum), 0))))
}

/// Where one of two says nothing it speaks of all.
pub(super) fn both_say<T: PartialEq>(one: &Option<T>, other: &Option<T>) -> bool {
    one.is_none() || other.is_none() || one == other
}

fn zones_meet(one: &Member<'_>, other: &Member<'_>, all: bool) -> bool {
    let zone = |member: &Member<'_>| {
        let name = member.row.zone.as_ref()?;
        member.bid.layout_of(member.clause)?.zone(name)
    };
    match (&one.row.zone, &other.row.zone) {
        (None, None) => true,
        (Some(first), Some(second)) => match (zone(one), zone(other)) {
            (Some(one), Some(other)) => same_zone(one, other),
            // What is not bounded is told elsewhere; by its name it may still be one.
            (None, None) => first == second,
            _ => false,
        },
        _ => all,
    }
}

pub(super) fn levels_meet(one: &Member<'_>, other: &Member<'_>) -> bool {
    let band = |member: &Member<'_>| {
        let name = member.row.level.as_ref()?;
        member.bid.layout_of(member.clause)?.level(name).map(|level| (level.from, level.above, level.to))
    };
    match (&one.row.level, &other.row.level) {
        (Some(first), Some(second)) => match (band(one), band(other)) {
            (None, None) => first == second,
            (one, other) => one == other,
        },
        (None, None) => true,
        // A limit on all heights speaks of each height only where heads are looked at one by one.
        _ => one.quantity.each_head || one.quantity.scope.level == LevelScope::Never,
    }
}

pub(super) fn same_place(one: &Member<'_>, other: &Member<'_>) -> bool {
    let (first, second) = (one.row, other.row);
    let own_words = has_own_words(one.quantity) || first.class.is_some() && second.class.is_some();
    both_say(&first.purpose, &second.purpose)
        && first.leads_to == second.leads_to
        && first.item == second.item
        && both_say(&first.class, &second.class)
        && (!own_words || one.clause.layout == other.clause.layout)
        && (if one.quantity.counts_permitted {
            first.colour == second.colour
        } else {
            both_say(&first.colour, &second.colour)
        })
        && zones_meet(one, other, false)
        && levels_meet(one, other)
}

/// Whether both look at the same of lamps or sounders that both speak of.
pub(super) fn same_terms(one: &Member<'_>, other: &Member<'_>) -> bool {
    let looks = one.quantity.looks || other.quantity.looks;
    let device = |member: &Member<'_>| member.clause.device.clone().unwrap_or_default();
    let (first, second) = (device(one), device(other));
    let kinds = first.of == second.of || [first.of, second.of].contains(&DeviceKind::Any);
    let groups = both_say(&first.group, &second.group);
    let bare = |terms: DeviceTerms| DeviceTerms { of: DeviceKind::Any, group: None, ..terms };
    let listen = |member: &Member<'_>| member.clause.listen.clone().unwrap_or_default();
    let (heard, too) = (listen(one), listen(other));
    let meet = |one: &[String], other: &[String]| {
        one.is_empty() || other.is_empty() || one.iter().any(|word| other.contains(word))
    };
    let kind_words = |terms: &ListenTerms| terms.of.iter().map(|kind| kind.word().to_owned()).collect::<Vec<_>>();
    let sounders = meet(&kind_words(&heard), &kind_words(&too)) && meet(&heard.tones, &too.tones);
    let silent = |terms: ListenTerms| ListenTerms { of: Vec::new(), tones: Vec::new(), ..terms.spelt_out() };
    (!looks || one.clause.method == other.clause.method)
        && kinds
        && groups
        && bare(first) == bare(second)
        && sounders
        && silent(heard) == silent(too)
}

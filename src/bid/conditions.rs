//! Where a limit holds, and under which conditions it is looked at: in which zone and on which level, from where, in which directions, how far away, at which points of a zone,
//! and what counts as two flashes. Where these are left out, two people measure two things and both are right.

use super::placeholder::is_there;
use super::{Bid, Cause, Clause, Fault, Place, Row};
use crate::quantity::{DeviceKey, LevelScope, ListenKey, QUANTITIES, Quantity, device_keys, listen_keys};
use crate::ruleset::Demand;
use crate::units::{Dimension, Micros};

/// What a clause leaves out of how its limits are looked at.
pub(super) fn conditions(bid: &Bid, clause: &Clause, faults: &mut Vec<Fault>) {
    let mut say = |code, says: &str, help: String| {
        faults.push(Fault::on(clause, Cause::CannotBeTested, code, says, help));
    };
    let Some(quantity) = clause.known_quantity() else {
        if !clause.rows.is_empty() {
            let says = "it is not said which quantity is limited, so nothing shows from where, how far away and over what it is measured";
            say("no-quantity", says, quantities_for(clause));
        }
        return;
    };
    if quantity.looks && clause.method.is_none() {
        let help =
            "method = \"angular\" (by bearings, from far away), or { ring = { radius = \"...\", height = \"...\" } }";
        say("no-viewpoint", "it is not said from where one looks", help.to_owned());
    }
    let (needed, _) = device_keys(quantity).unwrap_or_default();
    for key in needed.iter().filter(|key| !clause.device.as_ref().is_some_and(|terms| terms.has(**key))) {
        let (name, example) = key.words();
        let help = format!("`{name}` in `device`, for example {example}");
        match key {
            DeviceKey::Angles => say("no-direction", "it is not said in which directions of the lamp it holds", help),
            DeviceKey::Table => {
                say("no-direction", "it is not said what is asked in which direction of the lamp", help)
            }
            DeviceKey::Distance => say("no-distance", "it is not said from how far away one looks", help),
            _ => say("no-condition", &format!("it is not said by which `{name}` it is found"), help),
        }
    }
    // A table of levels that nobody knows is a limit that is missing, and told as that.
    let missing = clause.rows.iter().all(|row| matches!(row.demand, Some(Demand::Missing { .. })));
    let needed = listen_keys(quantity).map(|keys| keys.needed).unwrap_or_default();
    for key in needed.iter().filter(|key| !clause.listen.as_ref().is_some_and(|terms| terms.has(**key))) {
        let (name, example) = key.words();
        let help = format!("`{name}` in `listen`, for example {example}");
        match key {
            ListenKey::Table if missing => {}
            ListenKey::Distance => say("no-distance", "it is not said how far away one listens", help),
            ListenKey::From => say("no-viewpoint", "it is not said from which side of the vehicle one listens", help),
            _ => say("no-condition", &format!("it is not said by which `{name}` it is found"), help),
        }
    }
    if counts_flashes(quantity) && dark_time(bid, clause).is_none() {
        let says = "it is not said for how long it is dark between two flashes that count as two";
        let help = "[[layout]] with dark-at-least = \"...\", and `layout` in the clause";
        say("no-dark-time", says, help.to_owned());
    }
}

/// Whether the limits say where they hold: a zone or a level that nobody bounds is looked for in vain.
pub(super) fn places(
    bid: &Bid,
    clause: &Clause,
    quantity: Option<&Quantity>,
    say: &mut impl FnMut(&'static str, String, String, Option<&Row>),
) {
    let layout = bid.layout_of(clause);
    for row in &clause.rows {
        if let Some(zone) = row.zone.as_ref().filter(|zone| layout.is_none_or(|layout| layout.zone(zone).is_none())) {
            let help =
                format!("[[layout]] with zones = {{ {zone} = [\"-45 deg\", \"45 deg\"] }}, and `layout` in the clause");
            say("unknown-zone", format!("it is not said where the zone `{zone}` begins and ends"), help, Some(row));
        }
        if let Some(level) =
            row.level.as_ref().filter(|level| layout.is_none_or(|layout| layout.level(level).is_none()))
        {
            let help =
                format!("[[layout]] with levels = {{ {level} = {{ above = \"62 in\" }} }}, and `layout` in the clause");
            say(
                "unknown-level",
                format!("it is not said between which heights the level `{level}` lies"),
                help,
                Some(row),
            );
        }
    }
    let Some(quantity) = quantity else { return };
    let first = |lacks: &dyn Fn(&Row) -> bool| clause.rows.iter().find(|row| lacks(row));
    if let Some(row) = first(&|row| quantity.scope.purpose && row.purpose.is_none()) {
        let help = "purpose = \"calling\" or \"blocking\", or what the vehicle is used for";
        say("no-purpose", "it is not said in which use of the vehicle it holds".to_owned(), help.to_owned(), Some(row));
    }
    if let Some(row) = first(&|row| quantity.scope.zone && row.zone.is_none()) {
        say("no-zone", "it is not said towards which side it holds".to_owned(), "zone = \"A\"".to_owned(), Some(row));
    }
    // Where all heads are one level none is named.
    let levels = layout.is_none_or(|layout| !layout.levels.is_empty()) && quantity.scope.level == LevelScope::Always;
    if let Some(row) = first(&|row| levels && row.level.is_none()) {
        say(
            "no-level",
            "it is not said for which band of heights it holds".to_owned(),
            "level = \"upper\"".to_owned(),
            Some(row),
        );
    }
}

/// Layouts whose zones have no points to look at.
pub(super) fn steps(bid: &Bid, faults: &mut Vec<Fault>) {
    for layout in bid.layouts.iter().filter(|layout| layout.step.is_none()) {
        let asks = |clause: &&Clause| {
            clause.layout.as_ref() == Some(&layout.id)
                && clause.known_quantity().is_some_and(|quantity| quantity.scope.zone)
                && clause.rows.iter().any(|row| row.zone.as_ref().is_some_and(|zone| layout.zone(zone).is_some()))
        };
        let asking: Vec<&str> = bid.clauses.iter().filter(asks).map(|clause| clause.id.as_str()).collect();
        if !asking.is_empty() {
            faults.push(Fault {
                code: "no-step",
                cause: Cause::CannotBeTested,
                at: format!("layout/{}", layout.id),
                says: format!(
                    "it is not said at which points of a zone one looks, and so not what {} ask",
                    asking.join(", ")
                ),
                help: "step = \"5 deg\" in the layout: a point every 5 deg".to_owned(),
                place: Place::default(),
            });
        }
    }
}

/// Whether it is about flashes, of which only a dark time tells one from the next.
fn counts_flashes(quantity: &Quantity) -> bool {
    quantity.name.contains("flash-") && quantity.dimension != Dimension::Words
}

/// How long it is dark between two flashes, by the layout of a clause; without one by what all layouts of the draft say
/// alike.
pub(super) fn dark_time(bid: &Bid, clause: &Clause) -> Option<Micros> {
    if is_there(clause.layout.as_ref()) {
        return bid.layout_of(clause)?.dark_at_least;
    }
    let mut said = bid.layouts.iter().filter_map(|layout| layout.dark_at_least);
    let first = said.next()?;
    said.all(|other| other == first).then_some(first)
}

/// Which quantities have the unit of a clause, to choose from.
fn quantities_for(clause: &Clause) -> String {
    let dimension = clause.known_unit().map(|unit| unit.dimension());
    let fits = QUANTITIES.iter().filter(|quantity| Some(quantity.dimension) == dimension);
    let names: Vec<&str> = fits.map(|quantity| quantity.name).take(6).collect();
    let own = "`attested` or one that begins with `stated-` for what the tool does not know by itself";
    match names.is_empty() {
        true => format!("quantity = \"...\"; {own}"),
        false => format!("quantity = \"...\", for example {}; {own}", names.join(", ")),
    }
}

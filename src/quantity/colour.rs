//! Which colours a zone is shown.

use super::{Ask, LevelScope, Measured, Quantity, Scope, Value, Witness, Working, points};
use crate::measure::{ColourInZone, LitHead, Survey};
use crate::package::Role;
use crate::units::Dimension;

/// Colours of the lit warning heads that show in the zone, steady ones too.
pub(super) static COLOURS_SHOWN: Quantity = Quantity {
    name: "colours-shown",
    says: "colours of the warning heads that show in the zone, steady ones included",
    dimension: Dimension::Words,
    scope: Scope { purpose: true, level: LevelScope::Never, zone: true },
    each_head: false,
    looks: true,
    by_hand: "walk round the vehicle in each mode and note the colours seen from each zone",
    measure,
    working: |survey, ask, _| {
        let shown = survey.lit.iter().filter(|lit| shows_in_zone(survey, lit, ask));
        let line = |lit: &LitHead<'_>| {
            let axis = lit.pose.axis_bearing().value();
            format!("{} shows {}; its axis points to {axis:.1} deg", lit.head.id, lit.emitter.colour)
        };
        Working { lines: shown.map(line).collect(), ..Working::default() }
    },
};

fn measure(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    let mut words: Vec<(String, Vec<String>)> = Vec::new();
    for lit in survey.lit.iter().filter(|lit| shows_in_zone(survey, lit, ask)) {
        let colour = &lit.emitter.colour;
        match words.iter_mut().find(|(known, _)| known == colour) {
            Some((_, heads)) => heads.push(lit.head.id.clone()),
            None => words.push((colour.clone(), vec![lit.head.id.clone()])),
        }
    }
    words.sort();
    let mut found = Measured::new(Value::Words(words));
    found.witness = Witness::default();
    vec![found]
}

fn shows_in_zone(survey: &Survey<'_>, lit: &LitHead<'_>, ask: &Ask<'_>) -> bool {
    if lit.role != Role::Warning {
        return false;
    }
    let signal = survey.protocol.signal;
    match signal.colour_in_zone {
        ColourInZone::Axis => {
            let sector = ask.zone.and_then(|zone| survey.protocol.zones.sectors.get(zone));
            sector.is_some_and(|sector| sector.holds(lit.pose.axis_bearing(), ask.boundary))
        }
        ColourInZone::Light => points(survey, ask).iter().any(|at| lit.at(0, *at).at_least() >= signal.at_least),
    }
}

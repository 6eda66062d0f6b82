//! Which colours a zone is shown.

use super::{
    Ask, LevelScope, Measure, Measured, OneMore, Quantity, Scope, Value, Working, add_word, evidence_at, points,
    zone_points,
};
use crate::measure::{ColourInZone, LitHead, Protocol, Sample, Survey};
use crate::package::Role;
use crate::units::Dimension;

/// Colours of the lit warning heads that show in the zone, steady ones too.
pub(super) static COLOURS_SHOWN: Quantity = of_colours(
    "colours-shown",
    "colours of the warning heads that show in the zone, steady ones included",
    "walk round the vehicle in each mode and note the colours seen from each zone",
    true,
);

/// The same, for what holds whatever the vehicle is used for.
pub(super) static COLOURS_IN_ANY_MODE: Quantity = of_colours(
    "colours-shown-in-any-mode",
    "colours of the warning heads that show in the zone, steady ones included, in any mode, of whichever purpose or none",
    "walk round the vehicle in each mode, also those that serve no purpose, and note the colours seen from each zone",
    false,
);

const fn of_colours(name: &'static str, says: &'static str, by_hand: &'static str, purpose: bool) -> Quantity {
    Quantity {
        name,
        says,
        dimension: Dimension::Words,
        scope: Scope { purpose, level: LevelScope::Never, zone: true },
        each_head: false,
        looks: true,
        counts_permitted: false,
        by_hand,
        measure: Measure::Light {
            one_more: OneMore::Raises,
            heeds: |lit, ask, protocol| shows_in_zone(protocol, lit, ask) != Some(false),
            compare: |one, other, ask, protocol| {
                let surely = |lit: &LitHead<'_>| shows_in_zone(protocol, lit, ask).is_some();
                (one.emitter.colour == other.emitter.colour).then(|| surely(one).cmp(&surely(other)))
            },
            measure,
        },
        working: |survey, ask, _| {
            let shown = survey.lit.iter().filter(|lit| shows_in_zone(survey.protocol, lit, ask) == Some(true));
            let line = |lit: &LitHead<'_>| {
                let axis = lit.pose.axis_bearing().value();
                format!("{} shows {}; its axis points to {axis:.1} deg", lit.head.id, lit.emitter.colour)
            };
            Working { lines: shown.map(|lit| line(lit)).collect(), ..Working::default() }
        },
    }
}

fn measure(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    let (mut shown, mut perhaps) = (Vec::new(), Vec::new());
    for lit in &survey.lit {
        match shows_in_zone(survey.protocol, lit, ask) {
            Some(true) => add_word(&mut shown, &lit.emitter.colour, &lit.head.id),
            None => add_word(&mut perhaps, &lit.emitter.colour, &lit.head.id),
            Some(false) => {}
        }
    }
    let mut found = Measured::new(Value::Words { shown, perhaps });
    // Where the axis decides, the package alone is asked; light rests on evidence.
    if survey.protocol.signal.colour_in_zone == ColourInZone::Light {
        let warning: Vec<&LitHead<'_>> =
            survey.lit.iter().map(|lit| &**lit).filter(|lit| lit.role == Role::Warning).collect();
        found.evidence = evidence_at(&warning, points(survey, ask));
    }
    vec![found]
}

/// Whether a head shows its colour in the zone; `None` where missing data leave it open.
fn shows_in_zone(protocol: &Protocol, lit: &LitHead<'_>, ask: &Ask<'_>) -> Option<bool> {
    if lit.role != Role::Warning {
        return Some(false);
    }
    let signal = protocol.signal;
    match signal.colour_in_zone {
        ColourInZone::Axis => {
            let sector = ask.zone.and_then(|zone| protocol.zones.sectors.get(zone));
            Some(sector.is_some_and(|sector| sector.holds(lit.pose.axis_bearing(), ask.boundary)))
        }
        ColourInZone::Light => {
            let samples = || zone_points(protocol, ask).map(|at| lit.at(0, at));
            let reached = samples().any(|sample| sample.at_least() >= signal.at_least);
            let open = !reached && samples().any(|sample| sample == Sample::NoData);
            (!open).then_some(reached)
        }
    }
}

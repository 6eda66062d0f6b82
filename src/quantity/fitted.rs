//! Which lamps are fitted, of which class, and when they are on: what a requirement asks of named places on the vehicle
//! (a group of heads in the package) rather than of directions.

use super::device::{each_emitter_of, of_devices, shining};
use super::{Ask, DeviceKey, LevelScope, Measure, Measured, Quantity, Scope, Value, Witness, counted};
use crate::logic::Region;
use crate::measure::Conduct;
use crate::units::{Degrees, Dimension};

/// What a rule may say in `device` for each quantity here.
pub(super) static KEYS: &[(&Quantity, &[DeviceKey], &[DeviceKey])] = &[
    (&ALWAYS_LIT, &[], &[DeviceKey::Group]),
    (&EVER_LIT, &[], &[DeviceKey::Group]),
    (&TURNED_FORWARD, &[], &[DeviceKey::Group]),
    (&CLASS, &[], &[]),
    (&COLOUR, &[], &[DeviceKey::Group]),
];

const fn of_heads_together(
    name: &'static str,
    says: &'static str,
    by_hand: &'static str,
    measure: fn(&Conduct<'_>, &crate::measure::Protocol, &Ask<'_>) -> Vec<Measured>,
) -> Quantity {
    Quantity {
        scope: Scope { purpose: true, level: LevelScope::Never, zone: false },
        each_head: false,
        measure: Measure::Device(measure),
        ..of_devices(name, says, Dimension::Heads, by_hand, measure)
    }
}

/// Heads of a place that are on whenever a purpose is served.
pub(super) static ALWAYS_LIT: Quantity = of_heads_together(
    "heads-always-lit",
    "warning heads of the rule's group that are lit in every state in which the purpose is served",
    "set the vehicle to this use, work every switch in turn, and count the lamps that stay on",
    |conduct, _, ask| {
        if let Some(nobody) = nobody(conduct, ask) {
            return vec![nobody];
        }
        let lit = lit(conduct, ask);
        let served = served(conduct, ask);
        let space = conduct.space();
        let always = lit.iter().filter(|(_, states)| space.minus(&served, states).is_empty());
        let mut found = Measured::new(Value::exactly(counted(always.count())));
        let lost = lit.iter().find(|(_, states)| !space.minus(&served, states).is_empty());
        if let Some((head, states)) = lost {
            found.witness = Witness { head: Some(head.clone()), ..Witness::default() };
            found.states = Some(space.minus(&served, states));
            found.notes.push(format!("{head} is dark, or shows another colour, in some of these states"));
        }
        vec![found]
    },
);

/// Heads of a place that are on at any time while a purpose is served.
pub(super) static EVER_LIT: Quantity = of_heads_together(
    "heads-ever-lit",
    "warning heads of the rule's group that are lit in any state in which the purpose is served",
    "set the vehicle to this use, work every switch in turn, and count the lamps that come on",
    |conduct, _, ask| {
        if let Some(nobody) = nobody(conduct, ask) {
            return vec![nobody];
        }
        let lit = lit(conduct, ask);
        let mut found = Measured::new(Value::exactly(counted(lit.len())));
        if let Some((head, states)) = lit.first() {
            found.witness = Witness { head: Some(head.clone()), ..Witness::default() };
            found.states = Some(states.clone());
        }
        vec![found]
    },
);

/// A group that the package does not know is dark for want of a name, not by what the controller does.
fn nobody(conduct: &Conduct<'_>, ask: &Ask<'_>) -> Option<Measured> {
    let group = ask.device.terms.and_then(|terms| terms.group.as_ref())?;
    let known = conduct.package.heads.iter().any(|head| head.groups.contains(group));
    (!known).then(|| Measured::new(Value::Unknown(format!("no head is in the group `{group}`"))))
}

fn served(conduct: &Conduct<'_>, ask: &Ask<'_>) -> Region {
    ask.purpose.map_or(conduct.space().none(), |purpose| conduct.purpose(purpose))
}

/// The heads that are lit in any of the states, with these, in the order of the package.
fn lit(conduct: &Conduct<'_>, ask: &Ask<'_>) -> Vec<(String, Region)> {
    let (space, served) = (conduct.space(), served(conduct, ask));
    let mut lit: Vec<(String, Region)> = Vec::new();
    for one in shining(conduct, ask) {
        let states = space.and(one.states, &served);
        match lit.iter_mut().find(|(known, _)| *known == one.head.id) {
            _ if states.is_empty() => {}
            Some((_, known)) => *known = space.or(known, &states),
            None => lit.push((one.head.id.clone(), states)),
        }
    }
    lit
}

/// How far a head that looks to the side is turned to the front.
pub(super) static TURNED_FORWARD: Quantity = of_devices(
    "turned-forward",
    "how far the axis of a head is turned from straight sideways to the front (negative: to the rear), in its pose at rest",
    Dimension::Angle,
    "lay a straightedge along the lamp's face and measure its angle to the vehicle's side",
    |conduct, _, ask| {
        each_emitter_of(conduct, ask, |one| {
            let bearing = one.head.pose.axis_bearing().value();
            let from_ahead = if bearing > 180.0 { 360.0 - bearing } else { bearing };
            let mut found = Measured::new(Value::exactly(90.0 - from_ahead));
            found.witness.bearing = Some(Degrees::new(bearing));
            Some(found)
        })
    },
);

/// The colour by name.
pub(super) static COLOUR: Quantity = of_devices(
    "emitter-colour",
    "name of the colour that a head shows",
    Dimension::Words,
    "look at the lamp",
    |conduct, _, ask| {
        each_emitter_of(conduct, ask, |one| {
            let shown = vec![(one.emitter.colour.clone(), vec![one.head.id.clone()])];
            Some(Measured::new(Value::Words { shown, perhaps: Vec::new() }))
        })
    },
);

/// The class that is claimed.
pub(super) static CLASS: Quantity = of_devices(
    "claimed-class",
    "class that the lamp's maker claims for it under this ruleset (`classes` in the catalogue)",
    Dimension::Words,
    "read the mark on the lamp and its papers",
    |conduct, _, ask| {
        each_emitter_of(conduct, ask, |one| {
            let class = one.model.class(ask.device.ruleset);
            Some(Measured::new(match class {
                Some(class) => {
                    Value::Words { shown: vec![(class.to_owned(), vec![one.head.id.clone()])], perhaps: Vec::new() }
                }
                None => Value::Unknown(format!("no class is claimed for the model `{}`", one.model.id)),
            }))
        })
    },
);

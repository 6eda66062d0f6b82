//! What the controller does over all states of its inputs: states that are left out or dark, switches that a
//! requirement asks for, and what lasts across a single change of an input.

use std::cmp::Ordering;

use super::{
    Ask, LevelScope, Measure, Measured, Occurrence, OneMore, Quantity, Scope, Value, add_word, counted, no_working,
};
use crate::logic::{Meaning, Region, Space};
use crate::measure::{Conduct, LitHead, Protocol, Survey};
use crate::package::Role;
use crate::units::Dimension;

pub(super) const VEHICLE: Scope = Scope { purpose: false, level: LevelScope::Never, zone: false };
pub(super) const PURPOSE: Scope = Scope { purpose: true, level: LevelScope::Never, zone: false };

/// A quantity that looks at the vehicle from no particular place: of its states, its circuits, its sounders.
pub(super) const fn from_nowhere(
    name: &'static str,
    says: &'static str,
    dimension: Dimension,
    scope: Scope,
    by_hand: &'static str,
    measure: Measure,
) -> Quantity {
    Quantity {
        name,
        says,
        dimension,
        scope,
        each_head: false,
        looks: false,
        counts_permitted: false,
        by_hand,
        measure,
        working: no_working,
    }
}

/// A quantity of the states.
pub(super) const fn of_states(
    name: &'static str,
    says: &'static str,
    dimension: Dimension,
    scope: Scope,
    by_hand: &'static str,
    measure: fn(&Conduct<'_>, &Protocol, &Ask<'_>) -> Vec<Measured>,
) -> Quantity {
    from_nowhere(name, says, dimension, scope, by_hand, Measure::States(measure))
}

/// States that no mode describes.
pub(super) static IN_NO_MODE: Quantity = of_states(
    "states-in-no-mode",
    "states of the inputs that can occur and in which no mode of the package holds",
    Dimension::States,
    VEHICLE,
    "set the inputs named and say which use of the vehicle that is",
    |conduct, _, _| {
        with_inputs(conduct, |space| {
            let modes = conduct.package.modes.iter();
            let held = modes.fold(space.none(), |held, mode| space.or(&held, &space.holds(&mode.when)));
            how_many(space, space.minus(space.allowed(), &held))
        })
    },
);

/// Modes for one purpose.
pub(super) static SERVING: Quantity = of_states(
    "modes-serving-purpose",
    "modes that serve the purpose and can occur",
    Dimension::Modes,
    PURPOSE,
    "set the switches and the parking brake and see whether the lights change to what the purpose asks",
    |conduct, _, ask| {
        let modes: Vec<&str> = ask
            .purpose
            .into_iter()
            .flat_map(|purpose| conduct.serving(purpose))
            .map(|(at, _)| at)
            .filter_map(|at| conduct.package.modes.get(at))
            .map(|mode| mode.id.as_str())
            .collect();
        let mut found = Measured::new(Value::exactly(counted(modes.len())));
        if !modes.is_empty() {
            found.notes.push(format!("served by: {}", modes.join(", ")));
        }
        vec![found]
    },
);

/// States in which warning is asked for and nothing warns.
pub(super) static DARK: Quantity = of_states(
    "dark-states",
    "states in which the purpose is served and no warning head is lit",
    Dimension::States,
    PURPOSE,
    "set the inputs named and look whether any warning head is lit",
    |conduct, _, ask| {
        let dark = served(conduct, ask, |space, states| {
            let warned = conduct.showing(|_, shown| shown.show.role == Role::Warning);
            how_many(space, space.minus(states, &warned))
        });
        vec![dark]
    },
);

/// Displays that cannot be seen.
pub(super) static NEVER_VISIBLE: Quantity = of_states(
    "displays-never-visible",
    "displays that in no state show or dim any head: never on, or always overridden by later ones",
    Dimension::Displays,
    VEHICLE,
    "read the displays of the controller's program in order: which later one claims the same heads whenever this one is on",
    |conduct, _, _| {
        let mut found = Measured::new(Value::exactly(counted(conduct.never_seen.len())));
        found.notes = conduct.never_seen.iter().map(|at| why_never_seen(conduct, *at)).collect();
        vec![found]
    },
);

fn why_never_seen(conduct: &Conduct<'_>, at: usize) -> String {
    let name = conduct.display(at);
    let never_on =
        conduct.package.displays.get(at).is_none_or(|display| conduct.space().holds(&display.when).is_empty());
    if never_on {
        return format!("`{name}` is never on: its `when` holds in no state that can occur");
    }
    let mut winners: Vec<&str> = Vec::new();
    for taken in conduct.overrides.iter().filter(|taken| taken.loser == at) {
        let winner = conduct.display(taken.winner);
        if !winners.contains(&winner) {
            winners.push(winner);
        }
    }
    match winners.as_slice() {
        [] => format!("`{name}` never dims anything: its heads are dark while it is on, or as dim already"),
        winners => format!("`{name}` is overridden whenever it is on, by `{}`", winners.join("`, `")),
    }
}

/// Warning heads that the best master switch does not rule.
pub(super) static WITHOUT_MASTER: Quantity = of_states(
    "heads-without-master",
    "warning heads used for any purpose that one switch does not both put out at rest and let light in one of its positions; least over the switches",
    Dimension::Heads,
    VEHICLE,
    "turn the master switch off: nothing warns; turn it on: every warning head can be seen",
    |conduct, _, _| with_inputs(conduct, |space| master(conduct, space)),
);

fn master(conduct: &Conduct<'_>, space: &Space) -> Measured {
    let purposes = conduct.package.modes.iter().filter_map(|mode| mode.purpose.as_deref());
    let used = purposes.fold(space.none(), |used, purpose| space.or(&used, &conduct.purpose(purpose)));
    // Heads that warn in the same states are asked about together.
    let mut warning: Vec<(Region, Vec<usize>)> = Vec::new();
    let mut by_head: Vec<(usize, Region)> = Vec::new();
    for (region, head, shown) in conduct.shown() {
        if shown.show.role == Role::Warning {
            match by_head.iter_mut().find(|(known, _)| *known == head) {
                Some((_, known)) => *known = space.or(known, region),
                None => by_head.push((head, region.clone())),
            }
        }
    }
    for (head, region) in by_head.into_iter().filter(|(_, region)| space.meet(region, &used)) {
        match warning.iter_mut().find(|(known, _)| *known == region) {
            Some((_, heads)) => heads.push(head),
            None => warning.push((region, vec![head])),
        }
    }
    let mut best: Option<(Vec<usize>, String)> = None;
    for (at, input) in space.inputs().list.iter().enumerate().filter(|(_, input)| input.means.is_none()) {
        let rest = space.with(at, 0);
        for (position, words) in input.positions.iter().enumerate().skip(1) {
            let on = space.with(at, position);
            let free = warning.iter().filter(|(region, _)| space.meet(region, &rest) || !space.meet(region, &on));
            let missed: Vec<usize> = free.flat_map(|(_, heads)| heads.iter().copied()).collect();
            if best.as_ref().is_none_or(|(known, _)| missed.len() < known.len()) {
                best = Some((missed, format!("taken for the master switch: `{}`, {}", input.id, words.words)));
            }
        }
    }
    let Some((mut missed, note)) = best else {
        return Measured::new(Value::Unknown("no input is a switch".to_owned()));
    };
    missed.sort_unstable();
    let mut found = Measured::new(Value::exactly(counted(missed.len())));
    let names = missed.iter().filter_map(|at| conduct.package.heads.get(*at)).map(|head| head.id.as_str());
    found.witness.head = names.clone().next().map(str::to_owned);
    found.notes.push(note);
    if !missed.is_empty() {
        found.notes.push(format!("without it: {}", names.collect::<Vec<_>>().join(", ")));
    }
    found
}

/// States that setting park should end and does not.
pub(super) static PARK_IN: Quantity = of_states(
    "states-not-ended-by-park-in",
    "states of the purpose in which park is set, or from which setting park does not lead into the purpose that the limit names in `leads-to`",
    Dimension::States,
    PURPOSE,
    "with the lights on, set the parking brake: the lights must change to those of the purpose that has to follow",
    |conduct, _, ask| park(conduct, ask, 1),
);

/// States that releasing park should end and does not.
pub(super) static PARK_OUT: Quantity = of_states(
    "states-not-ended-by-park-out",
    "states of the purpose in which park is released, or from which releasing park does not lead into the purpose that the limit names in `leads-to`",
    Dimension::States,
    PURPOSE,
    "with the lights on, release the parking brake: the lights must change to those of the purpose that has to follow",
    |conduct, _, ask| park(conduct, ask, 0),
);

/// States of a purpose with park at `to`, or from which putting it there does not end the purpose in favour of the one
/// asked for. A change into a state that cannot occur is none.
fn park(conduct: &Conduct<'_>, ask: &Ask<'_>, to: usize) -> Vec<Measured> {
    served_with_inputs(conduct, ask, |space, states| {
        let Some(park) = space.inputs().meaning(Meaning::Park) else {
            let why = "no input says `means = \"park\"`, so it is not known what sets and releases park";
            return Measured::new(Value::Unknown(why.to_owned()));
        };
        let follows = |purpose: &str| ask.leads_to.map_or(Some(purpose) != ask.purpose, |wanted| purpose == wanted);
        let modes = conduct.package.modes.iter();
        let other = modes.filter(|mode| mode.purpose.as_deref().is_some_and(follows));
        let other = other.fold(space.none(), |other, mode| space.or(&other, &space.holds(&mode.when)));
        let after = space.after(states, park, to);
        let lost = space.before(&space.minus(&after, &other), park, to);
        let there = space.and(states, &space.with(park, to));
        how_many(space, space.or(&space.and(states, &lost), &there))
    })
}

/// What heads are there for, the warning ones aside.
pub(super) static ROLES_LIT: Quantity = Quantity {
    name: "roles-lit",
    says: "what lit heads are there for, warning aside: headlamp flashers, scene lamps, stop lamps and the like",
    dimension: Dimension::Words,
    scope: PURPOSE,
    each_head: false,
    looks: false,
    counts_permitted: false,
    by_hand: "walk round the vehicle and note which lamps are lit that do not warn",
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: |lit, _, _| lit.role != Role::Warning,
        compare: |one, other, _, _| (one.role == other.role).then_some(Ordering::Equal),
        measure: |survey, _| vec![words(survey, |lit| (lit.role != Role::Warning).then(|| lit.role.word()))],
    },
    working: no_working,
};

/// Colours of all warning light.
pub(super) static COLOURS_LIT: Quantity = Quantity {
    name: "warning-colours-lit",
    says: "colours of all lit warning heads, wherever they show; flashing headlamps are a role of their own",
    dimension: Dimension::Words,
    scope: PURPOSE,
    each_head: false,
    looks: false,
    counts_permitted: false,
    by_hand: "walk round the vehicle and note the colours of all warning lamps",
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: |lit, _, _| lit.role == Role::Warning,
        compare: |one, other, _, _| (one.emitter.colour == other.emitter.colour).then_some(Ordering::Equal),
        measure: |survey, _| {
            vec![words(survey, |lit| (lit.role == Role::Warning).then_some(lit.emitter.colour.as_str()))]
        },
    },
    working: no_working,
};

fn words<'s>(survey: &'s Survey<'_>, word: impl Fn(&'s LitHead<'s>) -> Option<&'s str>) -> Measured {
    let mut shown = Vec::new();
    for lit in &survey.lit {
        if let Some(word) = word(lit) {
            add_word(&mut shown, word, &lit.head.id);
        }
    }
    Measured::new(Value::Words { shown, perhaps: Vec::new() })
}

pub(super) fn name<'a>(conduct: &Conduct<'a>, head: usize) -> &'a str {
    conduct.package.heads.get(head).map_or("", |head| head.id.as_str())
}

/// Adds states in which a word shows, and what is set last to get there.
pub(super) fn add_occurrence(
    space: &Space,
    occurrences: &mut Vec<Occurrence>,
    word: &str,
    region: &Region,
    set_last: &[&str],
) {
    let known = occurrences.iter_mut().find(|known| known.word == word);
    let new = || set_last.iter().map(|words| (*words).to_owned());
    match known {
        Some(known) => {
            known.states = space.or(&known.states, region);
            known.set_last.extend(new());
            known.set_last.sort();
            known.set_last.dedup();
        }
        None => {
            occurrences.push(Occurrence { word: word.to_owned(), states: region.clone(), set_last: new().collect() })
        }
    }
}

pub(super) fn in_words(shown: Vec<(String, Vec<String>)>, occurrences: Vec<Occurrence>) -> Measured {
    Measured { occurrences, ..Measured::new(Value::Words { shown, perhaps: Vec::new() }) }
}

/// The number of states, which show it if there are any.
pub(super) fn how_many(space: &Space, states: Region) -> Measured {
    let mut found = Measured::new(Value::exactly(space.count(&states)));
    found.states = Some(states).filter(|states| !states.is_empty());
    found
}

/// Only for packages that say what their controller reads.
pub(super) fn with_inputs(conduct: &Conduct<'_>, measure: impl FnOnce(&Space) -> Measured) -> Vec<Measured> {
    let space = conduct.space();
    if space.inputs().described {
        vec![measure(space)]
    } else {
        let why = "the package has no [inputs], so it is not known what its controller does in all its states";
        vec![Measured::new(Value::Unknown(why.to_owned()))]
    }
}

/// Only where some mode serves the purpose asked about; with the states in which it is served.
pub(super) fn served(
    conduct: &Conduct<'_>,
    ask: &Ask<'_>,
    measure: impl FnOnce(&Space, &Region) -> Measured,
) -> Measured {
    let purpose = ask.purpose.unwrap_or_default();
    let states = conduct.purpose(purpose);
    if states.is_empty() {
        return Measured::new(Value::Unknown(format!("no mode serves the purpose `{purpose}`")));
    }
    measure(conduct.space(), &states)
}

pub(super) fn served_with_inputs(
    conduct: &Conduct<'_>,
    ask: &Ask<'_>,
    measure: impl FnOnce(&Space, &Region) -> Measured,
) -> Vec<Measured> {
    with_inputs(conduct, |_| served(conduct, ask, measure))
}

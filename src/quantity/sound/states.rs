//! When sounders sound, over all states.

use super::{ListenKeys, asked, of_sound, spoken_of};
use crate::logic::{Meaning, Region};
use crate::measure::Conduct;
use crate::quantity::{Ask, Measured, Occurrence, Quantity, Value};
use crate::units::Dimension;

/// States of reverse gear in which nothing warns.
pub(in crate::quantity) static SILENT_IN_REVERSE: Quantity = of_sound(
    "silent-states-in-reverse",
    "states with reverse gear in and no sounder of the kinds that the rule names sounding",
    Dimension::States,
    false,
    "engine off, ignition on, wheels blocked, somebody at the brake: reverse gear in, then each switch in turn, and listen from beside the rear corner, ears protected",
    |conduct, ask| {
        let space = conduct.space();
        if !space.inputs().described {
            return vec![Measured::new(Value::Unknown("the package has no [inputs]".to_owned()))];
        }
        let Some(reverse) = space.inputs().meaning(Meaning::Reverse) else {
            let why = "no input is marked as the one that reads reverse gear: means = \"reverse\"";
            return vec![Measured::new(Value::Unknown(why.to_owned()))];
        };
        let backing = space.and(space.allowed(), &space.with(reverse, 1));
        if backing.is_empty() {
            let why = "no state with reverse gear in can occur, so when it is silent was not looked at: see `never`";
            return vec![Measured::new(Value::Unknown(why.to_owned()))];
        }
        let sounders: Vec<usize> = asked(conduct, ask).into_iter().map(|(at, _, _)| at).collect();
        let sounding = sounding(conduct, ask, &sounders);
        let silent = space.minus(&backing, &sounding);
        let mut measured = Measured::new(Value::exactly(space.count(&silent)));
        if sounders.is_empty() {
            measured.notes.push("no such sounder is fitted".to_owned());
        }
        measured.states = (!silent.is_empty()).then_some(silent);
        vec![measured]
    },
);

/// Kinds that sound in some state of a purpose.
pub(in crate::quantity) static SOUNDING: Quantity = of_sound(
    "sounder-kinds-sounding",
    "kinds of sounder that sound in any state in which the purpose is served",
    Dimension::Words,
    true,
    "set the switches and listen, ears protected, nobody before the sounder",
    |conduct, ask| vec![kinds(conduct, ask, conduct.purpose(ask.purpose.unwrap_or_default()))],
);

/// Kinds that sound in some state of all.
pub(in crate::quantity) static EVER_SOUNDING: Quantity = of_sound(
    "sounder-kinds-ever-sounding",
    "kinds of sounder that sound in any state at all",
    Dimension::Words,
    false,
    "set the switches and listen, ears protected, nobody before the sounder",
    |conduct, ask| vec![kinds(conduct, ask, conduct.space().allowed().clone())],
);

/// Kinds of which one sounds in every state of a purpose.
pub(in crate::quantity) static ALWAYS_SOUNDING: Quantity = of_sound(
    "sounder-kinds-always-sounding",
    "kinds of sounder of which at least one sounds in every state in which the purpose is served",
    Dimension::Words,
    true,
    "set the switches and listen, ears protected, nobody before the sounder",
    |conduct, ask| {
        let space = conduct.space();
        let states = conduct.purpose(ask.purpose.unwrap_or_default());
        if states.is_empty() {
            let why = format!("no mode serves the purpose `{}`", ask.purpose.unwrap_or_default());
            return vec![Measured::new(Value::Unknown(why))];
        }
        let mut shown: Vec<(String, Vec<String>)> = Vec::new();
        let mut silent_in = space.none();
        for (kind, sounders) in by_kind(conduct, ask) {
            let sounding = sounding(conduct, ask, &sounders);
            let silent = space.minus(&states, &sounding);
            if silent.is_empty() {
                let ids = sounders.iter().filter_map(|at| conduct.package.sound.sounders.get(*at));
                shown.push((kind.to_owned(), ids.map(|sounder| sounder.id.clone()).collect()));
            } else {
                silent_in = space.or(&silent_in, &silent);
            }
        }
        let states = (!silent_in.is_empty()).then_some(silent_in);
        vec![Measured { states, ..Measured::new(Value::Words { shown, perhaps: Vec::new() }) }]
    },
);

/// The sounders that a rule speaks of, by kind.
fn by_kind(conduct: &Conduct<'_>, ask: &Ask<'_>) -> Vec<(&'static str, Vec<usize>)> {
    let mut kinds: Vec<(&'static str, Vec<usize>)> = Vec::new();
    for (at, _, model) in asked(conduct, ask) {
        match kinds.iter_mut().find(|(known, _)| *known == model.kind.word()) {
            Some((_, sounders)) => sounders.push(at),
            None => kinds.push((model.kind.word(), vec![at])),
        }
    }
    kinds
}

/// The states in which any of some sounders sounds in a tone of which a rule speaks.
fn sounding(conduct: &Conduct<'_>, ask: &Ask<'_>, sounders: &[usize]) -> Region {
    let space = conduct.space();
    let parts = sounders.iter().filter_map(|at| conduct.sounds().voices.get(*at)).flatten();
    let speaks = parts.filter(|(_, voice)| !spoken_of(conduct, ask, &[*voice]).is_empty());
    speaks.fold(space.none(), |all, (region, _)| space.or(&all, region))
}

/// The kinds that sound in some of the states, each with these.
fn kinds(conduct: &Conduct<'_>, ask: &Ask<'_>, states: Region) -> Measured {
    let space = conduct.space();
    if states.is_empty() {
        let why = format!("no mode serves the purpose `{}`", ask.purpose.unwrap_or_default());
        return Measured::new(Value::Unknown(why));
    }
    let (mut shown, mut occurrences) = (Vec::new(), Vec::new());
    for (kind, sounders) in by_kind(conduct, ask) {
        let sounding = sounding(conduct, ask, &sounders);
        let sounding = space.and(&sounding, &states);
        if !sounding.is_empty() {
            let ids = sounders.iter().filter_map(|at| conduct.package.sound.sounders.get(*at));
            shown.push((kind.to_owned(), ids.map(|sounder| sounder.id.clone()).collect()));
            occurrences.push(Occurrence { word: kind.to_owned(), states: sounding, set_last: Vec::new() });
        }
    }
    Measured { occurrences, ..Measured::new(Value::Words { shown, perhaps: Vec::new() }) }
}

/// What rules on these say in `listen`.
pub(super) static KEYS: &[ListenKeys] =
    &[(&SILENT_IN_REVERSE, &[], &[]), (&SOUNDING, &[], &[]), (&EVER_SOUNDING, &[], &[]), (&ALWAYS_SOUNDING, &[], &[])];

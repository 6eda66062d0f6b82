//! What the controller reads and what it shows: inputs, patterns, displays row by row, modes.

use super::{DIMS, Facts, Kind, NOT_STATED, Thing, percent};
use crate::flash::Pulse;
use crate::logic::{Input, Inputs, MEANINGS, Position};
use crate::package::{ARROW_WAYS, Dimming, Display, Mode, Package, Pattern, STEADY, Show};

pub(super) fn inputs(inputs: &Inputs) -> Vec<Thing> {
    let Inputs { list, described } = inputs;
    // Without a description one switch stands for the list of modes, and the modes are told anyway.
    list.iter().filter(|_| *described).map(input).collect()
}

fn input(input: &Input) -> Thing {
    let Input { id, positions, is_bool, means } = input;
    let mut facts = Facts::default();
    let said = positions.iter().map(|Position { id, words }| format!("{id} ({words})"));
    facts.say("positions, at rest first", said.collect::<Vec<_>>().join(", "));
    facts.say("kind", if *is_bool { "on or off" } else { "named positions" });
    let word = means.and_then(|means| MEANINGS.iter().find(|(_, known)| *known == means));
    facts.say("means", word.map_or(NOT_STATED, |(word, _)| word));
    facts.of(Kind::Input, id)
}

pub(super) fn pattern(pattern: &Pattern) -> Thing {
    let Pattern { id, timeline, index } = pattern;
    let mut facts = Facts::default();
    facts.say("period", timeline.period().to_string());
    let pulses = timeline.pulses().iter().map(|Pulse { start, end, level }| {
        let level = if level.value() < 1.0 { format!(" at {}", percent(*level)) } else { String::new() };
        format!("{start} to {end}{level}")
    });
    facts.say("pulses", pulses.collect::<Vec<_>>().join(", "));
    facts.say_if("index in the lamp", index.clone());
    facts.of(Kind::Pattern, id)
}

fn head(package: &Package, at: usize) -> &str {
    package.heads.get(at).map_or(NOT_STATED, |head| &head.id)
}

pub(super) fn display(display: &Display, package: &Package) -> Thing {
    // Its rows are things of their own.
    let Display { id, when, shows: _, dims, arrow, span: _ } = display;
    let mut facts = Facts::default();
    facts.say("when", super::when(when, package.space.inputs()));
    facts.say_if(
        DIMS,
        dims.as_ref().map(|Dimming { to, heads }| {
            let mut heads: Vec<&str> = heads.iter().map(|at| head(package, *at)).collect();
            heads.sort_unstable();
            format!("{} to {}", heads.join(", "), percent(*to))
        }),
    );
    let way = arrow.and_then(|way| ARROW_WAYS.iter().find(|(_, known)| *known == way));
    facts.say("arrow", way.map_or(NOT_STATED, |(word, _)| word));
    facts.of(Kind::Display, id)
}

/// One thing a head that the display shows; a head that stands in several rows is one thing with the keys of all.
pub(super) fn rows(display: &Display, package: &Package) -> Vec<Thing> {
    let mut heads: Vec<(usize, Vec<&Show>)> = Vec::new();
    for show in &display.shows {
        match heads.iter_mut().find(|(known, _)| *known == show.head) {
            Some((_, rows)) => rows.push(show),
            None => heads.push((show.head, vec![show])),
        }
    }
    let of_head = |(at, rows): (usize, Vec<&Show>)| {
        let mut facts = Facts::default();
        for (number, show) in rows.into_iter().enumerate() {
            let lead = if number == 0 { String::new() } else { format!("in row {}: ", number + 1) };
            row(show, package, &lead, &mut facts);
        }
        Thing { within: Some(display.id.clone()), ..facts.of(Kind::Row, head(package, at)) }
    };
    heads.into_iter().map(of_head).collect()
}

fn row(show: &Show, package: &Package, lead: &str, facts: &mut Facts) {
    let Show { head: at, emitter, pattern, phase, role, dim } = show;
    let of_head = package.heads.get(*at);
    let model = of_head.and_then(|head| package.models.get(head.model));
    let colour = model.and_then(|model| model.emitters.get(*emitter));
    facts.say(format!("{lead}colour"), colour.map_or(NOT_STATED, |emitter| &emitter.colour));
    let named = pattern.and_then(|at| package.patterns.get(at)).map(|pattern| pattern.id.clone());
    facts.say(format!("{lead}pattern"), named.unwrap_or_else(|| STEADY.to_owned()));
    facts.say(format!("{lead}phase"), phase.to_string());
    let own = of_head.is_some_and(|head| head.role == *role);
    facts.say(format!("{lead}role"), if own { "its own" } else { role.word() });
    facts.say(format!("{lead}dimmed to"), percent(*dim));
}

pub(super) fn mode(mode: &Mode, inputs: &Inputs) -> Thing {
    let Mode { id, purpose, when, assume, traffic_merges, span: _ } = mode;
    let mut facts = Facts::default();
    facts.say_if("purpose", purpose.clone());
    facts.say("when", super::when(when, inputs));
    facts.say_if("assumed", assume.as_ref().map(|assume| super::when(assume, inputs)));
    facts.say_if("traffic merges", traffic_merges.map(|merges| super::yes(merges).to_owned()));
    facts.of(Kind::Mode, id)
}

//! Lamps of the vehicle itself: those that it must have stay as they are, and headlamps flash only as they may.

use super::states::{VEHICLE, add_occurrence, how_many, in_words, name, of_states, with_inputs};
use super::{Measured, Quantity, Value, add_word, counted};
use crate::flash::{Timeline, lit_together};
use crate::geometry::Block;
use crate::logic::{Meaning, Region};
use crate::measure::{Conduct, Protocol, Shown};
use crate::package::{Head, Role};
use crate::units::Dimension;

/// Lamps that the vehicle must have, and what befalls them.
pub(super) static TROUBLES: Quantity = of_states(
    "vehicle-lamp-troubles",
    "what befalls stop, turn, tail and reversing lamps and headlamps in any state: flashed (a turn signal may), hidden by what comes and goes before them, taken over for another role",
    Dimension::Words,
    VEHICLE,
    "in the state named, press the brake, signal a turn, switch the lamps on, and look at each lamp from its front",
    |conduct, _, _| vec![vehicle_lamps(conduct)],
);

/// The lamps that every vehicle needs to be driven; an upper beam is the flasher's rules' business.
fn is_vehicle_lamp(role: Role) -> bool {
    matches!(role, Role::Stop | Role::Turn | Role::Tail | Role::Reverse | Role::Headlamp)
}

fn vehicle_lamps(conduct: &Conduct<'_>) -> Measured {
    let space = conduct.space();
    let package = conduct.package;
    let (mut shown, mut occurrences) = (Vec::new(), Vec::new());
    let mut add = |word: &'static str, head: usize, region: &Region| {
        if !region.is_empty() {
            add_word(&mut shown, word, name(conduct, head));
            add_occurrence(space, &mut occurrences, word, region, &[]);
        }
    };
    let bodies: Vec<(&Block, Region)> =
        package.bodies.iter().map(|body| (&body.block, space.holds(&body.when))).collect();
    for (region, at, what) in conduct.shown() {
        let Some(head) = package.heads.get(at) else { continue };
        let role = what.show.role;
        if is_vehicle_lamp(head.role) && !is_vehicle_lamp(role) {
            add("taken-over", at, region);
        }
        if !is_vehicle_lamp(role) {
            continue;
        }
        if role != Role::Turn && what.show.pattern.is_some() {
            add("flashed", at, region);
        }
        for (when, pose) in conduct.poses(head) {
            let hides = |block: &Block| block.hides(pose.at(), pose.axis(), f64::INFINITY);
            // What always stands there is the builder's choice of place, and was looked at when the lamp was fitted.
            let passing = bodies.iter().filter(|(block, stands)| stands != space.allowed() && hides(block));
            for (_, stands) in passing {
                add("hidden", at, &space.and(&space.and(region, &when), stands));
            }
        }
    }
    for lost in &conduct.overrides {
        if is_vehicle_lamp(lost.loser_role) && !is_vehicle_lamp(lost.winner_role) {
            add("taken-over", lost.head, &lost.region);
        }
    }
    in_words(shown, occurrences)
}

/// A headlamp that flashes in some states.
struct Flasher<'c, 'a> {
    states: &'c Region,
    head: &'a Head,
    at: usize,
    timeline: Timeline,
}

fn flashers<'c, 'a>(conduct: &'c Conduct<'a>) -> impl Iterator<Item = Flasher<'c, 'a>> {
    let flashes = |(_, _, shown): &(&Region, usize, &Shown<'_>)| shown.show.role == Role::HeadlampFlasher;
    conduct.shown().filter(flashes).filter_map(|(states, at, shown)| {
        let head = conduct.package.heads.get(at)?;
        Some(Flasher { states, head, at, timeline: timeline(conduct, shown) })
    })
}

/// What a head shows over time, its phase included.
pub(super) fn timeline(conduct: &Conduct<'_>, shown: &Shown<'_>) -> Timeline {
    let pattern = shown.show.pattern.and_then(|at| conduct.package.patterns.get(at));
    pattern.map_or_else(Timeline::steady, |pattern| pattern.timeline.delayed(shown.show.phase))
}

/// The rate of each flashing headlamp.
pub(super) static FLASH_RATE: Quantity = Quantity {
    each_head: true,
    ..of_states(
        "headlamp-flash-rate",
        "flash rate of a headlamp that is made to flash",
        Dimension::Rate,
        VEHICLE,
        "count the flashes of one headlamp for 60 s",
        |conduct, protocol, _| {
            let terms = &protocol.flash;
            let one = |flasher: Flasher<'_, '_>| {
                let rate = flasher.timeline.rate(terms.dark_at_least, terms.lit_above, terms.rate);
                of_head(flasher.head, rate.per_minute(), flasher.states)
            };
            flashers(conduct).map(one).collect()
        },
    )
};

/// A value of one head, in the states that show it.
pub(super) fn of_head(head: &Head, value: f64, states: &Region) -> Measured {
    let mut found = Measured::new(Value::exactly(value));
    found.head = Some(head.id.clone());
    found.witness.head = Some(head.id.clone());
    found.states = Some(states.clone());
    found
}

/// How long left and right headlamps are lit together.
pub(super) static SIDES_TOGETHER: Quantity = of_states(
    "headlamp-sides-lit-together",
    "greatest share of time for which a left and a right flashing headlamp are lit together; 0 where they alternate",
    Dimension::Share,
    VEHICLE,
    "film both headlamps at 240 frames a second and look for frames in which both are lit",
    |conduct, protocol, _| sides_together(conduct, protocol),
);

fn sides_together(conduct: &Conduct<'_>, protocol: &Protocol) -> Vec<Measured> {
    let space = conduct.space();
    let (left, right): (Vec<_>, Vec<_>) = flashers(conduct).partition(|flasher| flasher.head.right.value() < 0.0);
    let mut found = Vec::new();
    for one in &left {
        for other in &right {
            let states = space.and(one.states, other.states);
            if states.is_empty() {
                continue;
            }
            let in_step = one.head.clock.is_some() && one.head.clock == other.head.clock;
            let lit_above = protocol.flash.lit_above;
            let together = lit_together(&one.timeline, &other.timeline, lit_above);
            let lit = |timeline: &Timeline| timeline.lit(lit_above).share().value();
            let most = lit(&one.timeline).min(lit(&other.timeline));
            let value = match together.filter(|_| in_step) {
                Some(share) => Value::exactly(share.value()),
                // Out of step they take every phase in time.
                None => Value::Number { low: 0.0, high: most, occurs: true },
            };
            let mut measured = Measured::new(value);
            measured.witness.head = Some(one.head.id.clone());
            measured.states = Some(states);
            if !in_step {
                measured.notes.push(format!("`{}` and `{}` do not run on one `clock`", one.head.id, other.head.id));
            }
            found.push(measured);
        }
    }
    if found.is_empty()
        && let Some(alone) = left.iter().chain(&right).next()
    {
        let mut measured = Measured::new(Value::exactly(1.0));
        measured.witness.head = Some(alone.head.id.clone());
        measured.states = Some(alone.states.clone());
        measured.notes.push("no headlamp of the other side flashes in turn with this one".to_owned());
        found.push(measured);
    }
    found
}

/// Lamps that flash as headlamps and are no upper beams.
pub(super) static NOT_UPPER_BEAM: Quantity = of_states(
    "flashers-not-upper-beam",
    "heads shown as flashing headlamps that are no upper beam (their own `role` is not `upper-beam`)",
    Dimension::Heads,
    VEHICLE,
    "with the flasher on, see which beam flashes",
    |conduct, _, _| heads_that(conduct, |flasher| flasher.head.role != Role::UpperBeam),
);

/// Flashing headlamps that are left dark when the flasher fails.
pub(super) static WITHOUT_STEADY: Quantity = of_states(
    "flashers-without-steady-display",
    "flashing headlamps that no display lights steadily, so that nothing is left of them when the flasher fails",
    Dimension::Heads,
    VEHICLE,
    "unplug the flasher and switch the headlamps on: both beams must work as usual",
    |conduct, _, _| {
        heads_that(conduct, |flasher| {
            let shows = conduct.package.displays.iter().flat_map(|display| &display.shows);
            let steady = |role: Role| matches!(role, Role::UpperBeam | Role::Headlamp);
            !shows.into_iter().any(|show| show.head == flasher.at && show.pattern.is_none() && steady(show.role))
        })
    },
);

/// How many flashing headlamps something is wrong with; nothing where none flashes.
fn heads_that(conduct: &Conduct<'_>, wrong: impl Fn(&Flasher<'_, '_>) -> bool) -> Vec<Measured> {
    let space = conduct.space();
    let (mut names, mut states, mut any): (Vec<&str>, Region, bool) = (Vec::new(), space.none(), false);
    for flasher in flashers(conduct) {
        any = true;
        if wrong(&flasher) {
            states = space.or(&states, flasher.states);
            if !names.contains(&flasher.head.id.as_str()) {
                names.push(&flasher.head.id);
            }
        }
    }
    if !any {
        return Vec::new();
    }
    let mut found = Measured::new(Value::exactly(counted(names.len())));
    found.witness.head = names.first().map(|name| (*name).to_owned());
    found.states = (!states.is_empty()).then_some(states);
    if !names.is_empty() {
        found.notes.push(names.join(", "));
    }
    vec![found]
}

/// States in which the driver wants the upper beam and gets flashes.
pub(super) static WITH_HIGH_BEAM_ON: Quantity = of_states(
    "flasher-states-with-high-beam-on",
    "states with the driver's high-beam switch on in which a headlamp flashes all the same",
    Dimension::States,
    VEHICLE,
    "with the flasher on, switch to high beam: the flashing must stop",
    |conduct, _, _| {
        if flashers(conduct).next().is_none() {
            return Vec::new();
        }
        with_inputs(conduct, |space| {
            let Some(high_beam) = space.inputs().meaning(Meaning::HighBeam) else {
                let why =
                    "no input says `means = \"high-beam\"`, so it is not known when the driver wants the upper beam";
                return Measured::new(Value::Unknown(why.to_owned()));
            };
            let flashing = conduct.showing(|_, shown| shown.show.role == Role::HeadlampFlasher);
            how_many(space, space.and(&flashing, &space.with(high_beam, 1)))
        })
    },
);

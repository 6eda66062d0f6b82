//! Lamps of the vehicle itself: those that it must have stay as they are, and headlamps flash only as they may.

use super::states::{VEHICLE, add_occurrence, how_many, in_words, name, of_states, with_inputs};
use super::together::parted;
use super::{Measured, Quantity, Value, add_word, counted};
use crate::flash::{ClockId, Clocked, Exactness, Timeline, lit_together, union_rate};
use crate::geometry::Block;
use crate::logic::{Meaning, Region};
use crate::measure::{Conduct, Protocol, Shown};
use crate::package::{Head, Role, Show};
use crate::units::Dimension;

/// Lamps that the vehicle must have, and what befalls them.
pub(super) static TROUBLES: Quantity = of_states(
    "vehicle-lamp-troubles",
    "what befalls stop, turn, tail and reversing lamps and headlamps in any state: flashed (a turn signal may), dimmed by a display, hidden by what comes and goes before them, turned away (in a pose that looks more than 45 degrees from where the lamp looks at rest), taken over for another role",
    Dimension::Words,
    VEHICLE,
    "in the state named, press the brake, signal a turn, switch the lamps on, and look at each lamp from its front",
    |conduct, _, _| vec![vehicle_lamps(conduct)],
);

/// What may befall a lamp, in words.
pub const LAMP_TROUBLES: [&str; 5] = ["flashed", "dimmed", "hidden", "turned-away", "taken-over"];

/// The cosine of 45 degrees: a lamp turned further than that from where it looked is not seen from there as it was
/// (practice).
const TURNED_AWAY: f64 = std::f64::consts::FRAC_1_SQRT_2;

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
    let bodies: Vec<(&Block, &Region)> = package.bodies.iter().map(|body| &body.block).zip(&conduct.bodies).collect();
    for (region, at, what) in conduct.shown() {
        let Some(head) = package.heads.get(at) else { continue };
        let role = what.show.role;
        if is_vehicle_lamp(head.role) && !is_vehicle_lamp(role) {
            add("taken-over", at, region);
        }
        // A lower beam that is called a flasher flashes all the same.
        if head.role == Role::Headlamp && role == Role::HeadlampFlasher {
            add("flashed", at, region);
        }
        if !is_vehicle_lamp(role) {
            continue;
        }
        if role != Role::Turn && what.show.pattern.is_some() {
            add("flashed", at, region);
        }
        if what.dimmed_by.is_some() {
            add("dimmed", at, region);
        }
        for (when, pose) in conduct.poses(head) {
            if pose.axis().dot(head.pose.axis()) < TURNED_AWAY {
                add("turned-away", at, &space.and(region, &when));
            }
            let hides = |block: &Block| block.hides(pose.at(), pose.axis(), f64::INFINITY);
            // What always stands there is the builder's choice of place, and was looked at when the lamp was fitted.
            let passing = bodies.iter().filter(|(block, stands)| *stands != space.allowed() && hides(block));
            for (_, stands) in passing {
                add("hidden", at, &space.and(&space.and(region, &when), stands));
            }
        }
    }
    for lost in &conduct.overrides {
        if is_vehicle_lamp(lost.loser_role) && !is_vehicle_lamp(lost.winner_role) {
            // A later display may have given it back.
            let other = |head: usize, shown: &Shown<'_>| head == lost.head && !is_vehicle_lamp(shown.show.role);
            add("taken-over", lost.head, &space.and(&lost.region, &conduct.showing(other)));
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

impl Flasher<'_, '_> {
    fn is_left(&self) -> bool {
        self.head.right.value() < 0.0
    }
}

fn flashers<'c, 'a>(conduct: &'c Conduct<'a>) -> impl Iterator<Item = Flasher<'c, 'a>> {
    let flashes = |(_, _, shown): &(&Region, usize, &Shown<'_>)| shown.show.role == Role::HeadlampFlasher;
    conduct.shown().filter(flashes).filter_map(|(states, at, shown)| {
        let head = conduct.package.heads.get(at)?;
        Some(Flasher { states, head, at, timeline: shown.timeline(conduct.package) })
    })
}

/// The rate of each flashing headlamp, with those beside it.
pub(super) static FLASH_RATE: Quantity = Quantity {
    each_head: true,
    ..of_states(
        "headlamp-flash-rate",
        "flash rate of a headlamp that is made to flash, counted together with the others of its side that flash in the same state",
        Dimension::Rate,
        VEHICLE,
        "cover one side and count the flashes of the other side's headlamps, all together, for 60 s",
        |conduct, protocol, _| {
            let (left, right): (Vec<_>, Vec<_>) = flashers(conduct).partition(Flasher::is_left);
            [left, right].iter().flat_map(|side| rates(conduct, protocol, side)).collect()
        },
    )
};

/// The rate of one side's headlamps, for each of them and each set of them that flashes together.
fn rates(conduct: &Conduct<'_>, protocol: &Protocol, side: &[Flasher<'_, '_>]) -> Vec<Measured> {
    let terms = &protocol.flash;
    let regions: Vec<&Region> = side.iter().map(|flasher| flasher.states).collect();
    let mut clocks: Vec<&str> = side.iter().filter_map(|flasher| flasher.head.clock.as_deref()).collect();
    clocks.sort_unstable();
    clocks.dedup();
    let mut found = Vec::new();
    for (states, there) in parted(conduct.space(), &regions) {
        let together: Vec<&Flasher<'_, '_>> = there.iter().filter_map(|at| side.get(*at)).collect();
        if let [one] = together.as_slice() {
            let rate = one.timeline.rate(terms.dark_at_least, terms.lit_above, terms.rate);
            found.push(of_head(one.head, rate.per_minute(), &states));
            continue;
        }
        let clock = |head: &Head| clocks.iter().position(|known| Some(*known) == head.clock.as_deref()).map(ClockId);
        let clocked = together.iter().map(|one| Clocked { timeline: &one.timeline, clock: clock(one.head) });
        let rate = union_rate(&clocked.collect::<Vec<_>>(), terms.dark_at_least, terms.lit_above);
        let (low, high) = (rate.least.per_minute(), rate.most.per_minute());
        for one in &together {
            let mut measured = of_head(one.head, low, &states);
            measured.value = Value::Number { low, high, occurs: rate.exactness == Exactness::Exact };
            let names: Vec<&str> = together.iter().map(|one| one.head.id.as_str()).collect();
            measured.notes.push(format!("counted together on this side: {}", names.join(", ")));
            found.push(measured);
        }
    }
    found
}

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
    "greatest share of time for which a left and a right flashing headlamp are lit together; 0 where they alternate, all of it in states in which one side flashes and the other does not",
    Dimension::Share,
    VEHICLE,
    "film both headlamps at 240 frames a second and look for frames in which both are lit",
    |conduct, protocol, _| sides_together(conduct, protocol),
);

fn sides_together(conduct: &Conduct<'_>, protocol: &Protocol) -> Vec<Measured> {
    let space = conduct.space();
    let (left, right): (Vec<_>, Vec<_>) = flashers(conduct).partition(Flasher::is_left);
    let mut found = Vec::new();
    for (side, other) in [(&left, &right), (&right, &left)] {
        let answered = other.iter().fold(space.none(), |all, flasher| space.or(&all, flasher.states));
        for one in side {
            let alone = space.minus(one.states, &answered);
            if !alone.is_empty() {
                let mut measured = Measured::new(Value::exactly(1.0));
                measured.witness.head = Some(one.head.id.clone());
                measured.states = Some(alone);
                measured.notes.push("no headlamp of the other side flashes in turn with this one".to_owned());
                found.push(measured);
            }
        }
    }
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
    "flashing headlamps that no display lights steadily in any state, so that nothing is left of them when the flasher fails",
    Dimension::Heads,
    VEHICLE,
    "unplug the flasher and switch the headlamps on: both beams must work as usual",
    |conduct, _, _| {
        heads_that(conduct, |flasher| {
            let steady = |show: &Show| show.pattern.is_none() && matches!(show.role, Role::UpperBeam | Role::Headlamp);
            !conduct.shown().any(|(_, head, shown)| head == flasher.at && steady(shown.show))
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

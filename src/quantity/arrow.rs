//! Directional arrows: how often and how long their elements are lit, in which order, where they are shown, and what
//! light they take from the warning heads.

use super::arrow_elements::{Arrow, Step, arrows};
use super::states::{VEHICLE, add_occurrence, how_many, in_words, of_states};
use super::vehicle_lamps::of_head;
use super::ways::in_total;
use super::{
    Ask, LevelScope, Measure, Measured, OneMore, Quantity, Scope, Value, Working, add_word, counted, counts_here,
    no_working, points, weakest,
};
use crate::logic::Region;
use crate::measure::{Conduct, LitHead, Protocol, Sample, Shown, Survey};
use crate::package::{ArrowWay, Role};
use crate::units::Dimension;

/// The rate of each element.
pub(super) static FLASH_RATE: Quantity = Quantity {
    each_head: true,
    ..of_states(
        "arrow-flash-rate",
        "flash rate of an element of a directional arrow",
        Dimension::Rate,
        VEHICLE,
        "count the flashes of one element for 60 s",
        |conduct, protocol, _| {
            let terms = &protocol.flash;
            let elements = conduct.shown().filter(|(_, _, shown)| shown.show.role == Role::Arrow);
            let one = |(states, at, shown): (&Region, usize, &Shown<'_>)| {
                let rate = shown.timeline(conduct.package).rate(terms.dark_at_least, terms.lit_above, terms.rate);
                Some(of_head(conduct.package.heads.get(at)?, rate.per_minute(), states))
            };
            elements.filter_map(one).collect()
        },
    )
};

/// The colours of all elements.
pub(super) static COLOURS: Quantity = of_states(
    "arrow-colours",
    "colours of the elements of directional arrows",
    Dimension::Words,
    VEHICLE,
    "look at the arrow from behind",
    |conduct, _, _| {
        let (mut shown, mut occurrences) = (Vec::new(), Vec::new());
        for (states, at, what) in conduct.shown().filter(|(_, _, what)| what.show.role == Role::Arrow) {
            let head = conduct.package.heads.get(at);
            let model = head.and_then(|head| conduct.package.models.get(head.model));
            let emitter = model.and_then(|model| model.emitters.get(what.show.emitter));
            if let (Some(head), Some(emitter)) = (head, emitter) {
                add_word(&mut shown, &emitter.colour, &head.id);
                add_occurrence(conduct.space(), &mut occurrences, &emitter.colour, states, &[]);
            }
        }
        if shown.is_empty() { Vec::new() } else { vec![in_words(shown, occurrences)] }
    },
);

/// How long a flashing arrow is lit.
pub(super) static ON_TIME: Quantity = of_states(
    "arrow-on-time",
    "share of time for which an arrow whose elements flash together on one clock is lit; the least",
    Dimension::Share,
    VEHICLE,
    "film the arrow at 240 frames a second and count the frames in which it is lit over 10 flashes",
    |conduct, protocol, _| {
        let arrows = arrows(conduct, protocol);
        let flashing = arrows.iter().filter(|arrow| arrow.flashes_as_one());
        let on = |arrow: &Arrow<'_>| Some(arrow.measured(arrow.elements.first()?.share()));
        flashing.filter_map(on).collect()
    },
);

/// How long each step of a sequence lasts.
pub(super) static STEP: Quantity = of_states(
    "arrow-step",
    "duration of a step of an arrow whose elements light one after the other, as a share of its period; each step is judged",
    Dimension::Share,
    VEHICLE,
    "film the arrow at 240 frames a second and count the frames between one change and the next",
    |conduct, protocol, _| {
        let mut found = Vec::new();
        for arrow in arrows(conduct, protocol).iter().filter(|arrow| arrow.runs()) {
            let step = arrow.step();
            let Step::Keeps(period) = step else {
                // Out of step, every phase between two elements comes round in time.
                let mut measured = arrow.measured(0.0);
                measured.value = Value::Number { low: 0.0, high: 1.0, occurs: true };
                measured.notes.extend(step.why_none().map(str::to_owned));
                found.push(measured);
                continue;
            };
            let changes = arrow.changes(period);
            let next = changes.iter().skip(1).copied().chain(changes.first().map(|first| first + period));
            // Each length once and the longest first, so that of two that are as far off one is found wherever the period
            // begins.
            let mut steps: Vec<i64> = changes.iter().zip(next).map(|(from, to)| to - from).collect();
            steps.sort_unstable_by(|a, b| b.cmp(a));
            steps.dedup();
            found.extend(steps.into_iter().map(|step| arrow.measured(share_of(step, period))));
        }
        found
    },
);

fn share_of(time: i64, period: i64) -> f64 {
    #[allow(clippy::cast_precision_loss)] // Below 2^53 by the limit on a period.
    let (time, period) = (time as f64, period as f64);
    time / period
}

/// Elements that light before those behind them.
pub(super) static OUT_OF_ORDER: Quantity = of_states(
    "arrow-elements-out-of-order",
    "elements of an arrow that light before one that stands behind them on its way, that do not keep step, or that \
     another display has taken while others of the arrow are seen",
    Dimension::Heads,
    VEHICLE,
    "watch the arrow from behind: all of it must light, and run the way that it points",
    |conduct, protocol, _| {
        let arrows = arrows(conduct, protocol);
        let points = |arrow: &&Arrow<'_>| arrow.way != ArrowWay::Caution;
        let asked = |arrow: &&Arrow<'_>| arrow.runs() || !arrow.missing.is_empty();
        arrows.iter().filter(points).filter(asked).map(out_of_order).collect()
    },
);

fn out_of_order(arrow: &Arrow<'_>) -> Measured {
    let step = arrow.step();
    let wrong = match step {
        Step::Keeps(period) => arrow.too_early(period),
        Step::Drifts | Step::TooLong => arrow.drifting(),
    };
    let mut found = arrow.measured(counted(wrong.len() + arrow.missing.len()));
    found.witness.head = wrong.iter().chain(&arrow.missing).next().map(|id| (*id).to_owned());
    match step.why_none() {
        Some(why) => found.notes.push(why.to_owned()),
        None if wrong.is_empty() => {}
        None => found.notes.push(format!("too early: {}", wrong.join(", "))),
    }
    found
}

/// States that send traffic aside where it need not merge.
pub(super) static MERGING: Quantity = of_states(
    "merge-arrow-states",
    "states of modes in which traffic need not merge, and an arrow sends it to a side all the same",
    Dimension::States,
    VEHICLE,
    "in each mode in which nobody has to change lanes, try every position of the arrow switch",
    |conduct, protocol, _| merging(conduct, protocol),
);

fn merging(conduct: &Conduct<'_>, protocol: &Protocol) -> Vec<Measured> {
    let space = conduct.space();
    let sideways = arrows(conduct, protocol).into_iter().filter(|arrow| arrow.way != ArrowWay::Caution);
    let shown = sideways.fold(space.none(), |shown, arrow| space.or(&shown, &arrow.states));
    if shown.is_empty() {
        return Vec::new();
    }
    let (mut wrong, mut unsaid): (Region, Vec<&str>) = (space.none(), Vec::new());
    for mode in &conduct.package.modes {
        let here = space.and(&shown, &space.holds(&mode.when));
        match mode.traffic_merges {
            Some(true) => {}
            Some(false) => wrong = space.or(&wrong, &here),
            None if here.is_empty() => {}
            None => unsaid.push(&mode.id),
        }
    }
    let mut found = how_many(space, wrong);
    if !unsaid.is_empty() {
        let why = format!("an arrow is shown in {}, which do not say `traffic-merges`", unsaid.join(", "));
        if found.states.is_some() {
            found.notes.push(why);
        } else {
            found.value = Value::Unknown(why);
        }
    }
    vec![found]
}

/// The warning light that an arrow takes away.
pub(super) static TAKEN: Quantity = Quantity {
    name: "zone-total-taken-by-arrow",
    says: "optical power over the zone's points in the horizontal plane that heads would add as warning heads if no arrow had taken them",
    dimension: Dimension::OpticalPower,
    scope: Scope { purpose: true, level: LevelScope::Optional, zone: true },
    each_head: false,
    looks: true,
    counts_permitted: true,
    by_hand: "see which warning lamps change when the arrow comes on",
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: |lit, ask, protocol| lost(lit).is_some_and(|lost| counts_here(lost, ask, protocol)),
        compare: |one, other, ask, protocol| match (lost(one), lost(other)) {
            // What the value rests on is the evidence for what was lost.
            (Some(one), Some(other)) if std::ptr::eq(one.emitter, other.emitter) => in_total(one, other, ask, protocol),
            _ => None,
        },
        measure: taken,
    },
    working: |survey, ask, _| {
        let protocol = survey.protocol;
        let lost = survey.lit.iter().filter_map(|lit| lost(lit)).filter(|lost| counts_here(lost, ask, protocol));
        let line = |lost: &LitHead<'_>| {
            let sum: f64 = points(survey, ask).map(|at| lost.at(0, at).at_least().value()).sum();
            format!("{} would add {} in {}", lost.head.id, crate::units::format_number(sum, 1), lost.emitter.colour)
        };
        Working { lines: lost.map(line).collect(), ..no_working(survey, ask, &Measured::new(Value::exactly(0.0))) }
    },
};

/// The warning head as it would be if an arrow had not taken it.
fn lost<'l, 'a>(lit: &'l LitHead<'a>) -> Option<&'l LitHead<'a>> {
    lit.instead_of.as_deref().filter(|_| lit.role == Role::Arrow)
}

fn taken(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    let counts = |lost: &&LitHead<'_>| counts_here(lost, ask, survey.protocol);
    let heads: Vec<&LitHead<'_>> = survey.lit.iter().filter_map(|lit| lost(lit)).filter(counts).collect();
    let samples = || heads.iter().flat_map(|head| points(survey, ask).map(|at| head.at(0, at)));
    let low: f64 = samples().map(|sample| sample.at_least().value()).sum();
    let high = if samples().any(|sample| sample == Sample::NoData) { f64::INFINITY } else { low };
    let mut found = Measured::new(Value::Number { low, high, occurs: false });
    found.evidence = weakest(heads.iter().map(|head| head.emitter.evidence.grade));
    found.witness.head = heads.first().map(|head| head.head.id.clone());
    if !heads.is_empty() {
        let names: Vec<&str> = heads.iter().map(|head| head.head.id.as_str()).collect();
        found.notes.push(format!("taken: {}", names.join(", ")));
    }
    vec![found]
}

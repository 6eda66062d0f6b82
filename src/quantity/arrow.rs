//! Directional arrows: how often and how long their elements are lit, in which order, where they are shown, and what
//! light they take from the warning heads.

use super::states::{VEHICLE, add_occurrence, how_many, in_words, of_states};
use super::vehicle_lamps::{of_head, timeline};
use super::ways::in_total;
use super::{
    Ask, LevelScope, Measure, Measured, OneMore, Quantity, Scope, Value, Working, add_word, counted, counts_here,
    no_working, points, weakest,
};
use crate::flash::{LitIntervals, Timeline};
use crate::logic::Region;
use crate::measure::{Conduct, LitHead, Protocol, Sample, Shown, Survey};
use crate::package::{ArrowWay, Display, Head, Role, Show};
use crate::units::Dimension;

/// What is said of elements that drift against each other.
const OUT_OF_STEP: &str = "its elements do not run on one `clock` with one period";

/// One element of an arrow display.
struct Element<'a> {
    head: &'a Head,
    lit: LitIntervals,
}

impl Element<'_> {
    /// When it lights up and when it goes dark, within the period; never where it is always or never lit.
    fn changes(&self) -> impl Iterator<Item = (i64, i64)> {
        let spans = self.lit.spans().map(|(start, end)| (start.get(), end.get()));
        spans.filter(|(start, end)| end - start < self.lit.period().get())
    }
}

/// One directional display, the states in which any of it is seen, and its elements.
struct Arrow<'a> {
    display: &'a Display,
    way: ArrowWay,
    states: Region,
    elements: Vec<Element<'a>>,
}

impl Arrow<'_> {
    /// Whether its elements all flash together, rather than one after the other.
    fn flashes_as_one(&self) -> bool {
        let first = self.elements.first().map(|first| &first.lit);
        let alike = self.elements.iter().all(|element| Some(&element.lit) == first);
        alike && (self.elements.len() == 1 || self.is_in_step())
    }

    /// Whether it shows a way by lighting one element after the other. Corners that light in turn are a caution and
    /// show none.
    fn runs(&self) -> bool {
        self.way != ArrowWay::Caution && !self.flashes_as_one()
    }

    /// A value of it, in the states in which it is seen.
    fn measured(&self, value: f64) -> Measured {
        let mut found = Measured::new(Value::exactly(value));
        found.states = Some(self.states.clone());
        found.notes.push(format!("the display `{}`", self.display.id));
        found
    }

    /// The period that all its elements share, if they do and keep their phase to each other.
    fn period(&self) -> Option<i64> {
        let first = self.elements.first()?.lit.period();
        let shared = self.elements.iter().all(|element| element.lit.period() == first);
        (shared && self.is_in_step()).then_some(first.get())
    }

    /// Whether its elements keep their phase to each other.
    fn is_in_step(&self) -> bool {
        let clock = |element: &Element<'_>| element.head.clock.clone();
        let first = self.elements.first().and_then(clock);
        first.is_some() && self.elements.iter().all(|element| clock(element) == first)
    }

    /// When elements light up or go dark within the common period, each time once and in order.
    fn changes(&self, period: i64) -> Vec<i64> {
        let changes = self.elements.iter().flat_map(Element::changes);
        let mut times: Vec<i64> = changes.flat_map(|(start, end)| [start, end % period]).collect();
        times.sort_unstable();
        times.dedup();
        times
    }

    /// When the arrow begins again: at the end of its longest dark gap, or where its period does if it never goes dark.
    fn beginning(&self, period: i64) -> i64 {
        let spans = self.elements.iter().flat_map(|element| element.lit.spans());
        let mut spans: Vec<(i64, i64)> = spans.map(|(start, end)| (start.get(), end.get())).collect();
        spans.sort_unstable();
        let (mut best, mut dark_from) = ((0, 0), spans.iter().map(|(_, end)| *end).max().unwrap_or(0) - period);
        for (start, end) in spans {
            best = best.max((start - dark_from, start));
            dark_from = dark_from.max(end);
        }
        if best.0 > 0 { best.1 } else { 0 }
    }

    /// Its elements from where the arrow starts to where it points; a split one starts in the middle.
    fn in_order(&self) -> Vec<&Element<'_>> {
        let along = |element: &&Element<'_>| {
            let right = element.head.right.value();
            match self.way {
                ArrowWay::Left => -right,
                ArrowWay::Right => right,
                ArrowWay::Split | ArrowWay::Caution => right.abs(),
            }
        };
        let mut elements: Vec<&Element<'_>> = self.elements.iter().collect();
        elements.sort_by(|a, b| along(a).total_cmp(&along(b)));
        elements
    }
}

/// The directional displays that are seen in some state.
fn arrows<'a>(conduct: &Conduct<'a>, protocol: &Protocol) -> Vec<Arrow<'a>> {
    let package = conduct.package;
    let seen = |(at, display): (usize, &'a Display)| {
        let way = display.arrow?;
        let states = conduct.showing(|_, shown| shown.display == at);
        let element = |show: &Show| {
            let pattern = show.pattern.and_then(|at| package.patterns.get(at));
            let timeline = pattern.map_or_else(Timeline::steady, |pattern| pattern.timeline.delayed(show.phase));
            let lit = timeline.lit(protocol.flash.lit_above);
            Some(Element { head: package.heads.get(show.head)?, lit })
        };
        let elements = display.shows.iter().filter_map(element).collect();
        (!states.is_empty()).then_some(Arrow { display, way, states, elements })
    };
    package.displays.iter().enumerate().filter_map(seen).collect()
}

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
                let rate = timeline(conduct, shown).rate(terms.dark_at_least, terms.lit_above, terms.rate);
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
        let on = |arrow: &Arrow<'_>| Some(arrow.measured(arrow.elements.first()?.lit.share().value()));
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
            let Some(period) = arrow.period() else {
                // Out of step, every phase between two elements comes round in time.
                let mut measured = arrow.measured(0.0);
                measured.value = Value::Number { low: 0.0, high: 1.0, occurs: true };
                measured.notes.push(OUT_OF_STEP.to_owned());
                found.push(measured);
                continue;
            };
            let changes = arrow.changes(period);
            let next = changes.iter().skip(1).copied().chain(changes.first().map(|first| first + period));
            let steps = changes.iter().zip(next).map(|(from, to)| to - from);
            found.extend(steps.map(|step| arrow.measured(share_of(step, period))));
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
    "elements of an arrow that light before one that stands behind them on its way, or that do not keep step",
    Dimension::Heads,
    VEHICLE,
    "watch the arrow from behind: it must run the way that it points",
    |conduct, protocol, _| arrows(conduct, protocol).iter().filter(|arrow| arrow.runs()).map(out_of_order).collect(),
);

fn out_of_order(arrow: &Arrow<'_>) -> Measured {
    let elements = arrow.in_order();
    let period = arrow.period();
    let mut wrong: Vec<&str> = Vec::new();
    match period {
        Some(period) => {
            let begins = arrow.beginning(period);
            let mut latest = i64::MIN;
            for element in elements {
                let starts = element.lit.spans().map(|(start, _)| (start.get() - begins).rem_euclid(period));
                let start = starts.min().unwrap_or(0);
                if start < latest {
                    wrong.push(&element.head.id);
                }
                latest = latest.max(start);
            }
        }
        None => wrong.extend(elements.iter().map(|element| element.head.id.as_str())),
    }
    let mut found = arrow.measured(counted(wrong.len()));
    found.witness.head = wrong.first().map(|id| (*id).to_owned());
    if period.is_none() {
        found.notes.push(OUT_OF_STEP.to_owned());
    } else if !wrong.is_empty() {
        found.notes.push(format!("too early: {}", wrong.join(", ")));
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

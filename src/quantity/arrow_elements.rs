//! The elements of directional arrows as they are seen: which of them light in which states, when, and in which order.
//!
//! A display that says `arrow` is one arrow, and its rows are its elements. What counts is what its heads show in the
//! end: an element that another display takes is missing. Nothing here hangs on when a period begins or on the order
//! of the rows.

use super::together::parted;
use super::{Measured, Value};
use crate::flash::{LONGEST_PERIOD, LitIntervals, common_period};
use crate::logic::Region;
use crate::measure::{Conduct, Protocol, Shown};
use crate::package::{ArrowWay, Display, Head};

/// Elements less than this many metres apart along the way stand at one place.
const ONE_PLACE: f64 = 0.001;

/// Beyond this many pulses in a common period it is taken for none.
const MOST_PULSES: i64 = 65_536;

/// One element of an arrow.
pub(super) struct Element<'a> {
    pub head: &'a Head,
    lit: LitIntervals,
}

impl Element<'_> {
    /// The share of time for which it is lit.
    pub fn share(&self) -> f64 {
        self.lit.share().value()
    }

    fn period(&self) -> i64 {
        self.lit.period().get()
    }

    /// Its lit intervals, if it ever lights up or goes dark.
    fn spans(&self) -> impl Iterator<Item = (i64, i64)> {
        let spans = self.lit.spans().map(|(start, end)| (start.get(), end.get()));
        spans.filter(|(start, end)| end - start < self.period())
    }

    /// Whether it lights up and goes dark; one that is always lit, or never, has no rhythm of its own.
    fn changes(&self) -> bool {
        self.spans().next().is_some()
    }

    /// Its lit intervals over a multiple of its period, in order; those that run over the end go on past it.
    fn spans_over(&self, period: i64) -> Vec<(i64, i64)> {
        let again = (0..period / self.period()).map(|count| count * self.period());
        again.flat_map(|later| self.spans().map(move |(start, end)| (start + later, end + later))).collect()
    }
}

/// How the elements of an arrow go together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Step {
    /// They keep their phase and repeat together after so many microseconds.
    Keeps(i64),
    /// Nothing keeps their phase.
    Drifts,
    /// They keep their phase and do not repeat together within the longest period.
    TooLong,
}

impl Step {
    /// What is said of elements that have no steps and no order.
    pub fn why_none(self) -> Option<&'static str> {
        match self {
            Self::Keeps(_) => None,
            Self::Drifts => Some("its elements do not run on one `clock`"),
            Self::TooLong => Some("its elements do not repeat together within a minute"),
        }
    }
}

/// One directional display, as it is seen in some states.
pub(super) struct Arrow<'a> {
    pub display: &'a Display,
    pub way: ArrowWay,
    pub states: Region,
    /// In the order of the heads.
    pub elements: Vec<Element<'a>>,
    /// Heads of the display that show something else there.
    pub missing: Vec<&'a str>,
}

impl Arrow<'_> {
    fn changing(&self) -> impl Iterator<Item = &Element<'_>> {
        self.elements.iter().filter(|element| element.changes())
    }

    /// How its elements go together; those without a rhythm keep step with anything.
    pub fn step(&self) -> Step {
        let mut clocks = self.changing().map(|element| element.head.clock.as_deref());
        let first = clocks.next().flatten();
        if clocks.any(|clock| clock.is_none() || clock != first) {
            return Step::Drifts;
        }
        let together = self.changing().try_fold(1, |over, one| common_period(over, one.period(), LONGEST_PERIOD.get()));
        let pulses = |over: i64| -> i64 {
            self.changing().map(|one| (over / one.period()).saturating_mul(one.spans().map(|_| 1).sum())).sum()
        };
        together.filter(|over| pulses(*over) <= MOST_PULSES).map_or(Step::TooLong, Step::Keeps)
    }

    /// Whether its elements all flash together, rather than one after the other.
    pub fn flashes_as_one(&self) -> bool {
        let Some((first, others)) = self.elements.split_first() else { return false };
        // Steady ones are alike whatever period they are written with.
        let unlike = |one: &Element<'_>| one.changes() != first.changes() || one.share() != first.share();
        if others.iter().any(unlike) {
            return false;
        }
        match self.step() {
            Step::Keeps(period) => others.iter().all(|one| one.spans_over(period) == first.spans_over(period)),
            Step::Drifts | Step::TooLong => false,
        }
    }

    /// Whether it shows a way by lighting one element after the other. Corners that light in turn are a caution and
    /// show none.
    pub fn runs(&self) -> bool {
        self.way != ArrowWay::Caution && !self.flashes_as_one()
    }

    /// A value of it, in the states in which it is seen so.
    pub fn measured(&self, value: f64) -> Measured {
        let mut found = Measured::new(Value::exactly(value));
        found.states = Some(self.states.clone());
        found.notes.push(format!("the display `{}`", self.display.id));
        if !self.missing.is_empty() {
            found.notes.push(format!("another display shows there: {}", self.missing.join(", ")));
        }
        found
    }

    /// When elements light up or go dark within the common period, each time once and in order.
    pub fn changes(&self, period: i64) -> Vec<i64> {
        let spans = self.changing().flat_map(|element| element.spans_over(period));
        let mut times: Vec<i64> = spans.flat_map(|(start, end)| [start % period, end % period]).collect();
        times.sort_unstable();
        times.dedup();
        times
    }

    /// The elements that light before one that stands behind them, from where the arrow starts to where it points. The
    /// halves of a split arrow start in the middle, each for itself.
    pub fn too_early(&self, period: i64) -> Vec<&str> {
        let mut all: Vec<Placed<'_>> = Vec::new();
        for element in self.changing() {
            let (along, right) = (self.along(element), element.head.right.value());
            all.push(Placed { id: &element.head.id, along, right, spans: element.spans_over(period) });
        }
        all.sort_by(|a, b| a.along.total_cmp(&b.along));
        let half = |sign: f64| all.iter().filter(|one| one.right * sign > -ONE_PLACE).collect();
        let runs: Vec<Vec<&Placed<'_>>> =
            if self.way == ArrowWay::Split { vec![half(-1.0), half(1.0)] } else { vec![all.iter().collect()] };
        let early: Vec<&str> = runs.iter().flat_map(|run| early_in(run, period)).collect();
        all.iter().map(|one| one.id).filter(|id| early.contains(id)).collect()
    }

    /// Those that light up and go dark, by name.
    pub fn drifting(&self) -> Vec<&str> {
        self.changing().map(|element| element.head.id.as_str()).collect()
    }

    /// How far along its way an element stands.
    fn along(&self, element: &Element<'_>) -> f64 {
        let right = element.head.right.value();
        match self.way {
            ArrowWay::Left => -right,
            ArrowWay::Right => right,
            ArrowWay::Split | ArrowWay::Caution => right.abs(),
        }
    }
}

/// An element that lights up and goes dark, where it stands, and when it is lit within the common period.
struct Placed<'e> {
    id: &'e str,
    along: f64,
    right: f64,
    spans: Vec<(i64, i64)>,
}

impl Placed<'_> {
    /// How long after a moment it first lights up.
    fn waits(&self, begins: i64, period: i64) -> i64 {
        self.spans.iter().map(|(start, _)| (start - begins).rem_euclid(period)).min().unwrap_or(0)
    }
}

/// The elements of one run that light too early, from where the run begins so that the fewest do. Where several
/// beginnings leave as few, the names decide, so that a common delay changes nothing.
fn early_in<'e>(run: &[&Placed<'e>], period: i64) -> Vec<&'e str> {
    let early = |begins: i64| -> Vec<&'e str> {
        let waits: Vec<(f64, i64)> = run.iter().map(|one| (one.along, one.waits(begins, period))).collect();
        let is_early = |(along, wait): &(f64, i64)| {
            waits.iter().any(|(other, longer)| other + ONE_PLACE < *along && longer > wait)
        };
        run.iter().zip(&waits).filter(|(_, placed)| is_early(placed)).map(|(one, _)| one.id).collect()
    };
    beginnings(run, period).into_iter().map(early).min_by_key(|found| (found.len(), found.clone())).unwrap_or_default()
}

/// When a run may be said to begin: at the end of a longest dark gap or, where it never goes dark, when what stands
/// rearmost lights up.
fn beginnings(run: &[&Placed<'_>], period: i64) -> Vec<i64> {
    let mut spans: Vec<(i64, i64)> = run.iter().flat_map(|one| one.spans.iter().copied()).collect();
    spans.sort_unstable();
    let mut lit_until = spans.iter().map(|(_, end)| *end).max().unwrap_or(0) - period;
    let mut gaps = Vec::new();
    for (start, end) in &spans {
        gaps.push((start - lit_until, *start));
        lit_until = lit_until.max(*end);
    }
    let longest = gaps.iter().map(|(gap, _)| *gap).max().unwrap_or(0);
    if longest > 0 {
        return gaps.into_iter().filter(|(gap, _)| *gap == longest).map(|(_, start)| start).collect();
    }
    let rear = run.iter().map(|one| one.along).fold(f64::INFINITY, f64::min);
    let rearmost = run.iter().filter(|one| one.along < rear + ONE_PLACE);
    rearmost.flat_map(|one| one.spans.iter().map(|(start, _)| *start)).collect()
}

/// The directional displays that are seen in some state, once for each set of their elements that is.
pub(super) fn arrows<'a>(conduct: &Conduct<'a>, protocol: &Protocol) -> Vec<Arrow<'a>> {
    let displays = conduct.package.displays.iter().enumerate();
    displays
        .filter_map(|(at, display)| Some((at, display, display.arrow?)))
        .flat_map(|(at, display, way)| {
            let shown: Vec<_> = conduct.shown().filter(|(.., shown)| shown.display == at).collect();
            seen(conduct, protocol, display, way, &shown)
        })
        .collect()
}

fn seen<'a>(
    conduct: &Conduct<'a>,
    protocol: &Protocol,
    display: &'a Display,
    way: ArrowWay,
    shown: &[(&Region, usize, &Shown<'a>)],
) -> Vec<Arrow<'a>> {
    let (space, heads) = (conduct.space(), &conduct.package.heads);
    // One head shows one row of a display, at whatever level: the last that names it.
    let mut rows: Vec<(usize, LitIntervals, Region)> = Vec::new();
    for (region, head, what) in shown {
        match rows.iter_mut().find(|(known, ..)| known == head) {
            Some((.., known)) => *known = space.or(known, region),
            None => rows.push((*head, what.timeline(conduct.package).lit(protocol.flash.lit_above), (*region).clone())),
        }
    }
    let regions: Vec<&Region> = rows.iter().map(|(.., region)| region).collect();
    let arrow = |(states, there): (Region, Vec<usize>)| {
        let elements = there.iter().filter_map(|at| rows.get(*at));
        let elements: Vec<Element<'a>> =
            elements.filter_map(|(at, lit, _)| Some(Element { head: heads.get(*at)?, lit: lit.clone() })).collect();
        let is_seen = |id: &str| elements.iter().any(|element| element.head.id == id);
        let mut missing: Vec<&'a str> = Vec::new();
        for head in display.shows.iter().filter_map(|show| heads.get(show.head)) {
            if !is_seen(&head.id) && !missing.contains(&head.id.as_str()) {
                missing.push(&head.id);
            }
        }
        missing.sort_unstable();
        Arrow { display, way, states, elements, missing }
    };
    parted(space, &regions).into_iter().map(arrow).collect()
}

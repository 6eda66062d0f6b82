//! Which readings of a line count. Several things may stand on one line, heads of one side for instance, and a reading
//! speaks of the one that it names: a good reading of one head says nothing of another. Of each thing the latest reading
//! counts, of those on one day the worse; one that shows nothing takes the place of none that showed a fail. What was
//! accepted in writing covers what was known then, and nothing worse.

use super::decide::Interval;
use super::judgement::Judgement;
use super::lines::Line;
use super::record::{Accepted, Record, key};
use crate::judge::{Found, Verdict};
use crate::load::reader::Date;

/// A judgement with its day and its place.
pub(super) type Taken<'a> = (Date, usize, &'a Judgement);

/// What was read of one thing on a line, in the order in which it counts.
pub(super) struct Course<'a> {
    /// The finding that names it; none where all were read at once, or there is only one.
    pub named: Option<&'a str>,
    /// The judgements, and those of the whole line that were good on a later day.
    pub taken: Vec<Taken<'a>>,
}

/// Which thing on a line an id names: `None` for all of them, and where there is only one, as the current of a fuse and a
/// wire.
fn thing<'a>(line: &Line, named: &'a str) -> Option<&'a str> {
    line.things().iter().any(|thing| thing == named).then_some(named)
}

/// How many of the things on a line were read by themselves, and of how many, where not all were: a reading of all of them
/// is one of each.
pub(super) fn unread(line: &Line, courses: &[Course<'_>]) -> Option<(usize, usize)> {
    let (read, all) = (courses.len(), line.things().len());
    let as_such = courses.iter().any(|course| course.named.is_none());
    (!as_such && read > 0 && read < all).then_some((read, all))
}

/// Everything read of a line until the day of judgement, thing by thing.
pub(super) fn courses<'a>(
    line_at: usize,
    line: &Line,
    judgements: &'a [Judgement],
    record: &'a Record,
    as_of: Date,
) -> Vec<Course<'a>> {
    let mut courses: Vec<Course<'a>> = Vec::new();
    for (at, judgement) in judgements.iter().enumerate().filter(|(_, judgement)| judgement.line == line_at) {
        let Some(reading) = record.readings.get(judgement.reading).filter(|reading| key(reading.on) <= key(as_of))
        else {
            continue;
        };
        let (named, taken) = (thing(line, &reading.line.text), (reading.on, at, judgement));
        match courses.iter_mut().find(|course| course.named == named) {
            Some(course) => course.taken.push(taken),
            None => courses.push(Course { named, taken: vec![taken] }),
        }
    }
    // A good reading of the whole line closes what was found of its things on an earlier day.
    let whole = courses.iter().filter(|course| course.named.is_none()).flat_map(|course| &course.taken);
    let good: Vec<Taken<'a>> = whole.filter(|(_, _, one)| one.is_good()).copied().collect();
    for course in &mut courses {
        let own = course.named.is_none();
        if !own {
            course.taken.extend(&good);
        }
        let of_whole = |at: usize| !own && good.iter().any(|(_, whole, _)| *whole == at);
        // The order of files and rows decides nothing.
        let written = |one: &Judgement| record.readings.get(one.reading).map(|reading| reading.value.text.as_str());
        course
            .taken
            .sort_by_key(|(on, at, one)| (key(*on), !of_whole(*at), rank(one), one.faults.len(), written(one), *at));
    }
    courses
}

/// How bad a verdict is.
fn rank(judgement: &Judgement) -> u8 {
    let bad = match judgement.verdict {
        Verdict::Fail => 3,
        Verdict::TooClose => 2,
        Verdict::NotShown => 1,
        Verdict::Pass | Verdict::Excepted | Verdict::NotApplicable => 0,
    };
    2 * bad + u8::from(judgement.disagrees())
}

/// Where a thing stands after some readings: by the last, unless that one shows nothing and one before it showed worse.
pub(super) fn stands<'a>(taken: impl IntoIterator<Item = Taken<'a>>) -> Option<Taken<'a>> {
    let shows_nothing = |next: &Judgement| next.is_worthless() && next.verdict != Verdict::Fail;
    taken.into_iter().reduce(
        |before, next| {
            if shows_nothing(next.2) && rank(next.2) < rank(before.2) { before } else { next }
        },
    )
}

/// The worst of some.
pub(super) fn worst<'a>(taken: impl IntoIterator<Item = Taken<'a>>) -> Option<Taken<'a>> {
    taken.into_iter().max_by_key(|(on, at, one)| (rank(one), key(*on), *at))
}

impl Course<'_> {
    /// Whether an exception names this thing, or all of the line.
    pub fn is_named_by(&self, line: &Line, exception: &Accepted) -> bool {
        thing(line, &exception.line.text).is_none_or(|named| self.named == Some(named))
    }

    /// Whether what stands was known when the exception was written, or is no worse than what was.
    pub fn was_known(&self, line: &Line, exception: &Accepted) -> bool {
        let Some((on, _, now)) = stands(self.taken.iter().copied()) else { return false };
        let until = |(on, _, _): &Taken<'_>| key(*on) <= key(exception.on);
        let known = stands(self.taken.iter().copied().filter(until));
        key(on) <= key(exception.on) || known.is_some_and(|(_, _, known)| !is_worse(line, now, known))
    }
}

/// Whether a reading is worse than an earlier one.
fn is_worse(line: &Line, now: &Judgement, known: &Judgement) -> bool {
    if rank(now) != rank(known) {
        return rank(now) > rank(known);
    }
    match (&now.found, &known.found) {
        (Found::Number(now_is), Found::Number(known_is)) => {
            // The last bits that a conversion of units leaves make nothing worse.
            let (slack, off) = (1e-9 * now_is.abs(), |value: f64| match line.expected {
                Found::Number(expected) => (value - expected).abs(),
                _ => 0.0,
            });
            let limit = Interval::by(&line.limit, line.require);
            let nearer = limit.is_some_and(|limit| limit.room(*now_is) < limit.room(*known_is) - slack);
            match now.verdict {
                Verdict::Fail | Verdict::TooClose => nearer,
                _ => now.disagrees() && off(*now_is) > off(*known_is) + slack,
            }
        }
        (now, known) => now != known,
    }
}

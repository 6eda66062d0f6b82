//! Flashes of the summed light of several heads at one place.
//!
//! Heads on one clock keep their phase, so their light is put together over their common period. What
//! runs on different clocks drifts, takes every relative phase in time, and is counted as a range.

use std::collections::BTreeMap;

use crate::units::{Micros, Rate, Share};

use super::free::{self, WORK};
use super::{LONGEST_PERIOD, LitIntervals, RateBy, Timeline};

/// Names a clock; heads with equal ones keep their phase to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ClockId(pub usize);

/// One head's light and the clock it runs on.
#[derive(Clone, Copy, Debug)]
pub struct Clocked<'a> {
    /// The light, already delayed by the head's phase.
    pub timeline: &'a Timeline,
    /// The clock; a head without one runs free of all others.
    pub clock: Option<ClockId>,
}

/// Whether the ends of a range are met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exactness {
    /// Some relative phase gives `least`, some gives `most`, none gives less or more.
    Exact,
    /// The rate is nowhere outside, but its own range may be narrower.
    Bounds,
}

/// The flash rate of summed light: flashes over time, in the long run, over every relative phase of
/// the clocks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnionRate {
    /// At the phase with the fewest flashes; [`Rate::ZERO`] where the light need not go dark.
    pub least: Rate,
    /// At the phase with the most.
    pub most: Rate,
    /// Whether both are met.
    pub exactness: Exactness,
}

impl UnionRate {
    /// One rate, whatever the phases.
    pub fn only(rate: Rate) -> Self {
        Self { least: rate, most: rate, exactness: Exactness::Exact }
    }
}

/// Counts the flashes of the light of all `heads` together: a flash ends where all of them are dark
/// for at least `dark_at_least`; a head is lit above `lit_above` of its own peak.
///
/// - Heads of one clock are put together over the least common multiple of their periods; above
///   [`LONGEST_PERIOD`] there is none, and heads of different periods count as free of each other.
/// - Up to three clocks with a common period: the range over all relative phases, exact to the microsecond.
/// - Two clocks without one: the fewest and most flashes, over all phases, in a stretch of whole
///   periods of the faster one that just fits into a minute. The long-run rate is between these.
/// - More: from none to what the clocks would flash one by one, or to as many shortest pulses and
///   dark times as fit.
///
/// Heads that are never lit add nothing; a head that never goes dark long enough keeps all from flashing.
pub fn union_rate(heads: &[Clocked<'_>], dark_at_least: Micros, lit_above: Share) -> UnionRate {
    let mut clocks: BTreeMap<ClockId, Vec<LitIntervals>> = BTreeMap::new();
    let mut groups = Vec::new();
    for head in heads {
        let lit = head.timeline.lit(lit_above);
        if lit.is_dark() {
            continue;
        }
        // What keeps one part from going dark keeps the whole from it, here and below.
        if lit.flashes(dark_at_least) == 0 {
            return UnionRate::only(Rate::ZERO);
        }
        match head.clock {
            Some(clock) => clocks.entry(clock).or_default().push(lit),
            None => groups.push(lit),
        }
    }
    let mut phases_kept = true;
    for members in clocks.values() {
        match together(members) {
            Some(group) => groups.push(group),
            None => {
                phases_kept = false;
                groups.extend(by_period(members));
            }
        }
    }
    if groups.iter().any(|group| group.flashes(dark_at_least) == 0) {
        return UnionRate::only(Rate::ZERO);
    }
    // The answer does not hang on the order in which heads are named.
    groups.sort_unstable();
    let dark = dark_at_least.get().max(1);
    let rate = match groups.as_slice() {
        [] => Some(UnionRate::only(Rate::ZERO)),
        [one] => Some(UnionRate::only(one.rate(dark_at_least, RateBy::CountOverTime))),
        [first, second] => free::two(first, second, dark, LONGEST_PERIOD.get()),
        [first, second, third] => free::three(first, second, third, dark, LONGEST_PERIOD.get()),
        _ => None,
    };
    let mut rate = rate.unwrap_or_else(|| free::bounds(&groups, dark));
    if !phases_kept {
        rate.exactness = Exactness::Bounds;
    }
    rate
}

/// Whether lights that run free of each other can stand so that together they never go dark for `dark_at_least`: seen
/// where those of one period are long enough, laid end to end with gaps just short of it. Only the longest flash of
/// each is laid, so a `false` says nothing.
pub fn can_fill(lights: &[&Timeline], dark_at_least: Micros, lit_above: Share) -> bool {
    let mut laid: BTreeMap<Micros, i64> = BTreeMap::new();
    for lit in lights.iter().map(|timeline| timeline.lit(lit_above)) {
        let longest = longest_flash(&lit, dark_at_least);
        if longest > 0 {
            *laid.entry(lit.period()).or_default() += longest + dark_at_least.get() - 1;
        }
    }
    laid.iter().any(|(period, length)| *length >= period.get())
}

/// The longest stretch of microseconds between two dark gaps of this length; the whole period without any.
fn longest_flash(lit: &LitIntervals, dark_at_least: Micros) -> i64 {
    let period = lit.period().get();
    let mut gaps: Vec<(i64, i64)> = lit
        .dark_gaps()
        .filter(|gap| gap.length >= dark_at_least)
        .map(|gap| (gap.start.get(), gap.start.get() + gap.length.get()))
        .collect();
    gaps.sort_unstable();
    if lit.is_dark() {
        return 0;
    }
    let next = gaps.iter().skip(1).map(|(start, _)| *start).chain(gaps.first().map(|(start, _)| start + period));
    let between = gaps.iter().zip(next).map(|((_, end), next)| next - end);
    between.max().unwrap_or(period)
}

/// The share of time for which both of two lights that keep their phase are lit; `None` where they have no common
/// period within the longest.
pub fn lit_together(first: &Timeline, second: &Timeline, lit_above: Share) -> Option<Share> {
    let members = [first.lit(lit_above), second.lit(lit_above)];
    let both = together(&members)?;
    // What is lit in both is what the two together are short of their sum.
    let [first, second] = &members;
    let over = first.share().value() + second.share().value() - both.share().value();
    Some(Share::new(if over < 1e-12 { 0.0 } else { over }))
}

/// The light of heads that keep their phase, over their common period; `None` where there is none
/// within the longest, or where repeating them takes too many pulses.
fn together(members: &[LitIntervals]) -> Option<LitIntervals> {
    let over =
        members.iter().try_fold(1, |over, member| free::common_period(over, member.micros(), LONGEST_PERIOD.get()))?;
    let spans: i64 = members.iter().map(LitIntervals::span_count).sum();
    let repeated: i64 = members.iter().map(|member| member.span_count() * (over / member.micros())).sum();
    if repeated > spans.max(WORK) {
        return None;
    }
    Some(put_together(members.iter(), over))
}

/// The members of each period put together.
fn by_period(members: &[LitIntervals]) -> Vec<LitIntervals> {
    let mut periods: BTreeMap<i64, Vec<&LitIntervals>> = BTreeMap::new();
    for member in members {
        periods.entry(member.micros()).or_default().push(member);
    }
    periods.into_iter().map(|(period, same)| put_together(same.into_iter(), period)).collect()
}

fn put_together<'a>(members: impl Iterator<Item = &'a LitIntervals>, over: i64) -> LitIntervals {
    let mut pieces = Vec::new();
    for member in members {
        member.pieces(0, over, &mut pieces);
    }
    LitIntervals::from_pieces(over, pieces)
}

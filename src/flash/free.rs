//! The range of the flash count of light on clocks that run free of each other.
//!
//! A flash of the summed light ends where one group goes out while every other stays dark for the dark
//! time. Seen from one group, the other is dark long enough for one stretch of relative phases a gap;
//! so the count is a sum of arcs on the circle of phases, and changes only where an arc begins or ends.

use std::collections::BTreeSet;

use crate::units::{Micros, Rate};

use super::union::{Exactness, UnionRate};
use super::{LitIntervals, RateBy};

/// Most arcs that are looked at for one answer: some tens of milliseconds of work.
pub(super) const WORK: i64 = 1_000_000;

/// Two groups: exact over their common period where it is at most `longest`; bounds otherwise. `None`
/// where it takes too much work.
pub(super) fn two(first: &LitIntervals, second: &LitIntervals, dark: i64, longest: i64) -> Option<UnionRate> {
    let gaps = (gaps(first, dark), gaps(second, dark));
    match common_period(first.micros(), second.micros(), longest) {
        Some(over) => {
            affordable(&[gaps.0.len(), gaps.1.len()], 1)?;
            let (least, most) = count_over_common_period(first, second, dark);
            range(least, most, over, Exactness::Exact)
        }
        None => {
            let (fast, slow) = if first.micros() <= second.micros() { (first, second) } else { (second, first) };
            affordable(&[gaps.0.len(), gaps.1.len()], longest / fast.micros())?;
            let over = longest / fast.micros() * fast.micros();
            let (least, most) = count_in_stretch(fast, slow, dark, over);
            range(least, most, over, Exactness::Bounds)
        }
    }
}

/// Three groups with a common period of at most `longest`: exact. `None` without one, or where it takes
/// too much work.
///
/// The count over all phases of the third is one sweep for each relative phase of the first two. That
/// sweep changes only where an arc between the first two begins or ends, or where arcs of the third
/// with the one and with the other begin or end at one phase of the third: finitely many places.
pub(super) fn three(
    first: &LitIntervals,
    second: &LitIntervals,
    third: &LitIntervals,
    dark: i64,
    longest: i64,
) -> Option<UnionRate> {
    let pair = common_period(first.micros(), second.micros(), longest)?;
    let over = common_period(pair, third.micros(), longest)?;
    let around = gcd(first.micros(), second.micros());
    let step = gcd(around, gcd(gcd(first.micros(), third.micros()), gcd(second.micros(), third.micros())));

    let spans = first.span_count() * (pair / first.micros()) + second.span_count() * (pair / second.micros());
    let sweep = usize::try_from(spans).ok()?;
    let third_gaps = gaps(third, dark).len();
    affordable(&[sweep, third_gaps], 1)?;
    let edges = |a: &LitIntervals, b: &LitIntervals| {
        let (a, b) = (gaps(a, dark), gaps(b, dark));
        affordable(&[a.len(), b.len()], 4)?;
        let mut edges = Vec::new();
        arcs(&a, &b, dark, |from, length| edges.extend([from, from + length]));
        Some(edges)
    };
    // Where the structure changes, over one step; it repeats after that.
    let mut places: BTreeSet<i64> = edges(first, second)?.into_iter().map(|edge| edge.rem_euclid(around)).collect();
    let (with_first, with_second) = (edges(first, third)?, edges(second, third)?);
    affordable(&[with_first.len(), with_second.len()], 1)?;
    let mut meetings: BTreeSet<i64> = BTreeSet::new();
    for edge in &with_first {
        meetings.extend(with_second.iter().map(|other| (edge - other).rem_euclid(step)));
    }
    affordable(&[meetings.len(), sweep, third_gaps], around / step)?;
    for repeat in 0..around / step {
        places.extend(meetings.iter().map(|place| place + repeat * step));
    }
    affordable(&[places.len(), 2, sweep, third_gaps], 1)?;

    // At each place, and just after it for all phases up to the next.
    let after: Vec<i64> = places.iter().map(|place| (place + 1) % around).collect();
    places.extend(after);
    places.insert(0);
    let mut ends: Option<(i64, i64)> = None;
    for phase in places {
        let mut pieces = Vec::new();
        first.pieces(0, pair, &mut pieces);
        second.pieces(phase, pair, &mut pieces);
        let both = LitIntervals::from_pieces(pair, pieces);
        let (least, most) = count_over_common_period(&both, third, dark);
        ends = Some(ends.map_or((least, most), |(low, high)| (low.min(least), high.max(most))));
    }
    let (least, most) = ends?;
    range(least, most, over, Exactness::Exact)
}

/// What holds for any number of groups at any phases. Each flash of the sum ends with a dark gap of
/// one group, so there are no more than the groups have alone; and each holds a whole lit span of
/// some group and a dark time.
pub(super) fn bounds(groups: &[LitIntervals], dark: i64) -> UnionRate {
    let alone = groups
        .iter()
        .try_fold(Rate::ZERO, |sum, group| sum.checked_add(group.rate(Micros::new(dark), RateBy::CountOverTime)));
    let shortest = groups.iter().filter_map(LitIntervals::shortest_span).min();
    let packed = shortest.and_then(|span| Rate::new(1, span.checked_add(dark)?));
    let most = match (alone, packed) {
        (Some(alone), Some(packed)) if alone < packed => alone,
        (alone, packed) => packed.or(alone).unwrap_or(Rate::ZERO),
    };
    UnionRate { least: Rate::ZERO, most, exactness: Exactness::Bounds }
}

/// The least common multiple, if it is at most `longest`.
pub fn common_period(a: i64, b: i64, longest: i64) -> Option<i64> {
    (a / gcd(a, b)).checked_mul(b).filter(|over| *over <= longest)
}

/// Fewest and most flashes over the common period, over all relative phases. In that time each gap of
/// the one meets the other at every phase that the greatest common divisor of the periods leaves.
fn count_over_common_period(first: &LitIntervals, second: &LitIntervals, dark: i64) -> (i64, i64) {
    let mut sweep = Sweep::around(gcd(first.micros(), second.micros()));
    arcs(&gaps(first, dark), &gaps(second, dark), dark, |from, length| sweep.add(from, length));
    sweep.ends()
}

/// Fewest and most flashes that end within a stretch of `over`, whole periods of `fast` from its start,
/// over all phases of `slow`. As the stretches from each start of `fast` cover all time evenly, the
/// long-run rate is a mean of their counts, and so within their range.
fn count_in_stretch(fast: &LitIntervals, slow: &LitIntervals, dark: i64, over: i64) -> (i64, i64) {
    let mut sweep = Sweep::around(slow.micros());
    let (fast_gaps, slow_gaps) = (gaps(fast, dark), gaps(slow, dark));
    for &(start, length) in &fast_gaps {
        for &(slow_start, slow_length) in &slow_gaps {
            // One period before the stretch: that gap may reach into it.
            let mut at = start - fast.micros();
            while at < over {
                if at >= 0 {
                    sweep.add(at - slow_start - (slow_length - dark), slow_length - dark + 1);
                }
                let (from, to) = ((at + 1).max(0), (at + length - dark + 1).min(over));
                sweep.add(from - slow_start, to - from);
                at += fast.micros();
            }
        }
    }
    sweep.ends()
}

/// The delays of `second`, as start and number of microseconds, at which a gap of the one ends a flash
/// because the other is dark too: one arc for each pair of gaps and each that goes out last. Where both
/// go out at once, the first one's gap counts.
fn arcs(first: &[(i64, i64)], second: &[(i64, i64)], dark: i64, mut arc: impl FnMut(i64, i64)) {
    for &(start, length) in first {
        for &(other_start, other_length) in second {
            arc(start - other_start - (other_length - dark), other_length - dark + 1);
            arc(start + 1 - other_start, length - dark);
        }
    }
}

fn gaps(lit: &LitIntervals, dark: i64) -> Vec<(i64, i64)> {
    lit.gaps(dark).collect()
}

fn range(least: i64, most: i64, over: i64, exactness: Exactness) -> Option<UnionRate> {
    let rate = |count: i64| Rate::new(u64::try_from(count).ok()?, over);
    Some(UnionRate { least: rate(least)?, most: rate(most)?, exactness })
}

fn affordable(lengths: &[usize], times: i64) -> Option<()> {
    let work = lengths.iter().try_fold(times, |work, length| work.checked_mul(i64::try_from(*length).ok()?));
    work.filter(|work| *work <= WORK).map(|_| ())
}

fn gcd(mut a: i64, mut b: i64) -> i64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// A sum of arcs on a circle of whole microseconds.
struct Sweep {
    around: i64,
    at_zero: i64,
    steps: Vec<(i64, i64)>,
}

impl Sweep {
    fn around(around: i64) -> Self {
        Self { around, at_zero: 0, steps: Vec::new() }
    }

    /// Adds one on `length` places from `from` on, more than once around where it is longer.
    fn add(&mut self, from: i64, length: i64) {
        if length <= 0 {
            return;
        }
        self.at_zero += length / self.around;
        let length = length % self.around;
        let from = from.rem_euclid(self.around);
        if length > 0 {
            self.steps.push((from, 1));
            let end = from + length;
            if end > self.around {
                self.at_zero += 1;
                self.steps.push((end - self.around, -1));
            } else if end < self.around {
                self.steps.push((end, -1));
            }
        }
    }

    /// The least and the greatest sum on the circle.
    fn ends(mut self) -> (i64, i64) {
        self.steps.sort_unstable();
        let mut sum = self.at_zero;
        let mut ends: Option<(i64, i64)> = None;
        let mut note = |sum: i64| {
            ends = Some(ends.map_or((sum, sum), |(least, most)| (least.min(sum), most.max(sum))));
        };
        if self.steps.first().is_none_or(|(place, _)| *place > 0) {
            note(sum);
        }
        for same_place in self.steps.chunk_by(|a, b| a.0 == b.0) {
            sum += same_place.iter().map(|(_, change)| change).sum::<i64>();
            note(sum);
        }
        ends.unwrap_or((sum, sum))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn lit(period: i64, spans: &[(i64, i64)]) -> LitIntervals {
        let pieces = spans.iter().map(|(start, length)| (start % period, (start % period + length).min(period)));
        LitIntervals::from_pieces(period, pieces.collect())
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// The longest common period is small here, so that a simulation can try every phase and also
        /// count over the whole common period that is too long.
        #[test]
        fn a_stretch_has_the_range_of_all_phases_and_holds_the_long_run(
            fast in (2..20_i64, prop::collection::vec((0..20_i64, 1..5_i64), 1..4)),
            more in 0..20_i64,
            slow in prop::collection::vec((0..40_i64, 1..5_i64), 1..4),
            dark in 1..6_i64,
        ) {
            let (fast, slow) = (lit(fast.0, &fast.1), lit(fast.0 + more, &slow));
            let long = common_period(fast.micros(), slow.micros(), i64::MAX).unwrap();
            let longest = (long - 1).min(60);
            prop_assume!(longest >= slow.micros());
            let over = longest / fast.micros() * fast.micros();
            // A light that never goes dark is answered before; here it has no gaps and no flashes.
            let is_lit = |lit: &LitIntervals, at: i64| {
                lit.spans().any(|(start, end)| (at - start.get()).rem_euclid(lit.micros()) < end.get() - start.get())
            };
            let flashes = |delay: i64, until: i64| {
                let both = |at: i64| is_lit(&fast, at) || is_lit(&slow, at - delay);
                (0..until).filter(|&at| both(at - 1) && (0..dark).all(|wait| !both(at + wait))).count()
            };
            let counts: Vec<usize> = (0..slow.micros()).map(|delay| flashes(delay, over)).collect();
            let union = two(&slow, &fast, dark, longest).unwrap();
            let rate = |count: Option<&usize>| Rate::new(u64::try_from(*count.unwrap()).unwrap(), over).unwrap();
            prop_assert_eq!((union.least, union.most), (rate(counts.iter().min()), rate(counts.iter().max())));
            prop_assert_eq!(union.exactness, Exactness::Bounds);
            for delay in 0..slow.micros() {
                let long_run = Rate::new(u64::try_from(flashes(delay, long)).unwrap(), long).unwrap();
                prop_assert!(union.least <= long_run && long_run <= union.most);
            }
        }
    }

    #[test]
    fn a_sweep_goes_round() {
        let mut sweep = Sweep::around(10);
        sweep.add(-3, 5);
        assert_eq!((sweep.at_zero, sweep.steps.clone()), (1, vec![(7, 1), (2, -1)]));
        sweep.add(4, 23);
        sweep.add(0, 0);
        // 23 places are twice around and the three from 4 on.
        assert_eq!(sweep.ends(), (2, 3));
        assert_eq!(Sweep::around(10).ends(), (0, 0));
    }
}

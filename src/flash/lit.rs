//! When light counts as lit, as intervals on a circle of one period; gaps, flashes and rates from that.

use crate::units::{Micros, Rate, Share};

/// When a light is lit within its period. Touching intervals are one; an interval that goes on over
/// the end of the period is one too.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LitIntervals {
    period: i64,
    // Half-open, in order, none touching another, starts inside the period; the last may end past it.
    // Always lit is the one interval from 0 to the period.
    spans: Vec<(i64, i64)>,
}

/// A dark time between two lit ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DarkGap {
    /// When it begins, within the period.
    pub start: Micros,
    /// How long it stays dark; it may go on over the end of the period.
    pub length: Micros,
}

/// How a flash rate is told from flashes of uneven spacing. The two differ, so a ruleset names one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RateBy {
    /// Flashes in a period over the period.
    CountOverTime,
    /// The mean of the rates of the cycles; a cycle runs from the start of a flash to the start of the next.
    MeanOfCycles,
}

impl LitIntervals {
    /// From half-open pieces inside `0..period`, in any order, which may overlap.
    pub(super) fn from_pieces(period: i64, mut pieces: Vec<(i64, i64)>) -> Self {
        pieces.sort_unstable();
        pieces.dedup_by(|next, last| {
            let joined = next.0 <= last.1;
            if joined {
                last.1 = last.1.max(next.1);
            }
            joined
        });
        if let [(0, first_end), .., (_, last_end)] = pieces.as_mut_slice()
            && *last_end == period
        {
            *last_end += *first_end;
            pieces.remove(0);
        }
        Self { period, spans: pieces }
    }

    /// After how much time it repeats.
    pub fn period(&self) -> Micros {
        Micros::new(self.period)
    }

    /// The lit intervals: start within the period, and end, which is past the period for one that
    /// goes on over its end.
    pub fn spans(&self) -> impl Iterator<Item = (Micros, Micros)> {
        self.spans.iter().map(|&(start, end)| (Micros::new(start), Micros::new(end)))
    }

    /// Never lit.
    pub fn is_dark(&self) -> bool {
        self.spans.is_empty()
    }

    /// Share of the time for which it is lit.
    pub fn share(&self) -> Share {
        let lit: i64 = self.spans.iter().map(|(start, end)| end - start).sum();
        #[allow(clippy::cast_precision_loss)] // Below 2^53 by the limit on a period.
        Share::new(lit as f64 / self.period as f64)
    }

    /// The dark times between the lit ones, in order of the lit interval that each follows; none where
    /// the light never goes out or never comes on.
    pub fn dark_gaps(&self) -> impl Iterator<Item = DarkGap> {
        self.gaps(1).map(|(start, length)| DarkGap { start: Micros::new(start), length: Micros::new(length) })
    }

    /// Flashes in a period: lit intervals with gaps shorter than `dark_at_least` between them are one.
    /// As many as there are gaps of that length, so 0 for a light that never goes dark that long.
    /// Any gap counts where `dark_at_least` is not positive.
    pub fn flashes(&self, dark_at_least: Micros) -> u64 {
        self.gaps(dark_at_least.get()).map(|_| 1).sum()
    }

    /// The flash rate, [`Rate::ZERO`] where there is no flash.
    pub fn rate(&self, dark_at_least: Micros, by: RateBy) -> Rate {
        let rate = match by {
            RateBy::CountOverTime => Rate::new(self.flashes(dark_at_least), self.period),
            RateBy::MeanOfCycles => Rate::mean_of_cycles(&self.cycles(dark_at_least)),
        };
        rate.unwrap_or(Rate::ZERO)
    }

    /// From the start of each flash to the start of the next.
    fn cycles(&self, dark_at_least: Micros) -> Vec<i64> {
        let starts: Vec<i64> = self.gaps(dark_at_least.get()).map(|(start, length)| start + length).collect();
        let Some(first) = starts.first() else { return Vec::new() };
        let around = starts.iter().skip(1).chain([first]);
        let cycle = |(start, next): (&i64, &i64)| match (next - start).rem_euclid(self.period) {
            0 => self.period,
            cycle => cycle,
        };
        starts.iter().zip(around).map(cycle).collect()
    }

    pub(super) fn micros(&self) -> i64 {
        self.period
    }

    pub(super) fn span_count(&self) -> i64 {
        i64::try_from(self.spans.len()).unwrap_or(i64::MAX)
    }

    pub(super) fn shortest_span(&self) -> Option<i64> {
        self.spans.iter().map(|(start, end)| end - start).min()
    }

    /// Start (within the period) and length of each dark gap of at least `dark` microseconds.
    pub(super) fn gaps(&self, dark: i64) -> impl Iterator<Item = (i64, i64)> {
        let next_starts = self.spans.iter().skip(1).map(|(start, _)| *start);
        let around = next_starts.chain(self.spans.first().map(|(start, _)| start + self.period));
        let dark = dark.max(1);
        self.spans
            .iter()
            .zip(around)
            .map(|(&(_, end), next)| (end % self.period, next - end))
            .filter(move |(_, length)| *length >= dark)
    }

    /// Adds the lit pieces over `over` microseconds, a multiple of the period, when delayed by `delay`.
    pub(super) fn pieces(&self, delay: i64, over: i64, pieces: &mut Vec<(i64, i64)>) {
        for &(start, end) in &self.spans {
            let length = end - start;
            let mut start = (start + delay).rem_euclid(self.period);
            while start < over {
                let end = start + length;
                pieces.push((start, end.min(over)));
                if end > over {
                    pieces.push((0, end - over));
                }
                start += self.period;
            }
        }
    }
}

//! One head's light over its period: the pattern as it is described, checked, delayed, averaged.

use crate::units::{Micros, Rate, Share};

use super::{DarkGap, LitIntervals, RateBy};

/// Longest period of a pattern, and of the common period of several: one minute.
pub const LONGEST_PERIOD: Micros = Micros::new(60_000_000);

/// Light from `start` up to, but not at, `end`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulse {
    /// When it begins, counted from the start of the period.
    pub start: Micros,
    /// When it is over.
    pub end: Micros,
    /// Share of the head's peak intensity, 0 to 1.
    pub level: Share,
}

/// One head's light over its period, repeated for ever.
///
/// The pulses are held in one form only: in order, apart from each other, inside the period, touching
/// pulses of one level joined, pulses of level zero left out. A pulse that a delay carried over the
/// end of the period is held as two. Equal light therefore means equal timelines (at one period).
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    period: Micros,
    pulses: Vec<Pulse>,
}

/// What is wrong with a pattern. Pulses are numbered from 0 as they were given; messages count from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PatternError {
    /// A period of nothing or less.
    #[error("a period of {period} is not a positive time")]
    PeriodNotPositive {
        /// The period as given.
        period: Micros,
    },
    /// A period beyond [`LONGEST_PERIOD`].
    #[error("a period of {period} is longer than {LONGEST_PERIOD}")]
    PeriodTooLong {
        /// The period as given.
        period: Micros,
    },
    /// A pattern without a pulse.
    #[error("the pattern has no pulse")]
    NoPulses,
    /// A pulse that is over before it began, or at once.
    #[error("pulse {} does not end after it starts", .pulse + 1)]
    EmptyPulse {
        /// Which pulse.
        pulse: usize,
    },
    /// A pulse that starts before the period does.
    #[error("pulse {} starts before the period", .pulse + 1)]
    BeforePeriod {
        /// Which pulse.
        pulse: usize,
    },
    /// A pulse that runs past the end of the period.
    #[error("pulse {} ends at {end}, past the period of {period}", .pulse + 1)]
    BeyondPeriod {
        /// Which pulse.
        pulse: usize,
        /// Where it ends.
        end: Micros,
        /// The period it should fit in.
        period: Micros,
    },
    /// A level that is not a share of the peak.
    #[error("pulse {} has level {}, which is not between 0 and 1", .pulse + 1, .level.value())]
    LevelOutOfRange {
        /// Which pulse.
        pulse: usize,
        /// Its level.
        level: Share,
    },
    /// Two pulses at one time.
    #[error("pulses {} and {} overlap", .earlier + 1, .later + 1)]
    Overlap {
        /// The one that starts first.
        earlier: usize,
        /// The one that starts before the other is over.
        later: usize,
    },
}

impl PatternError {
    /// The pulses to point at, by their place in the list as given; none where the period is at fault.
    pub fn pulses(&self) -> Vec<usize> {
        match *self {
            Self::PeriodNotPositive { .. } | Self::PeriodTooLong { .. } | Self::NoPulses => Vec::new(),
            Self::EmptyPulse { pulse }
            | Self::BeforePeriod { pulse }
            | Self::BeyondPeriod { pulse, .. }
            | Self::LevelOutOfRange { pulse, .. } => vec![pulse],
            Self::Overlap { earlier, later } => vec![earlier, later],
        }
    }
}

impl Timeline {
    /// Checks a pattern; the order of the pulses does not matter. The first of [`Timeline::mistakes`]
    /// is the error.
    pub fn new(period: Micros, pulses: Vec<Pulse>) -> Result<Self, PatternError> {
        match Self::mistakes(period, &pulses).into_iter().next() {
            Some(mistake) => Err(mistake),
            None => Ok(Self::canonical(period, pulses)),
        }
    }

    /// Everything that is wrong with a pattern, so that a reader can report all of it at once.
    pub fn mistakes(period: Micros, pulses: &[Pulse]) -> Vec<PatternError> {
        let mut found = Vec::new();
        if period <= Micros::ZERO {
            found.push(PatternError::PeriodNotPositive { period });
        } else if period > LONGEST_PERIOD {
            found.push(PatternError::PeriodTooLong { period });
        }
        if pulses.is_empty() {
            found.push(PatternError::NoPulses);
        }
        let mut in_order = Vec::new();
        for (pulse, Pulse { start, end, level }) in pulses.iter().copied().enumerate() {
            if !(0.0..=1.0).contains(&level.value()) {
                found.push(PatternError::LevelOutOfRange { pulse, level });
            }
            if start < Micros::ZERO {
                found.push(PatternError::BeforePeriod { pulse });
            }
            // Nothing can be past a period that is itself a mistake.
            if end > period && period > Micros::ZERO {
                found.push(PatternError::BeyondPeriod { pulse, end, period });
            }
            if end <= start {
                found.push(PatternError::EmptyPulse { pulse });
            } else {
                in_order.push((start, end, pulse));
            }
        }
        in_order.sort_unstable();
        let mut before: Option<(Micros, usize)> = None;
        for (start, end, later) in in_order {
            if let Some((_, earlier)) = before.filter(|(lit_until, _)| start < *lit_until) {
                found.push(PatternError::Overlap { earlier, later });
            }
            if before.is_none_or(|(lit_until, _)| lit_until < end) {
                before = Some((end, later));
            }
        }
        found
    }

    /// Always lit, at its peak.
    pub fn steady() -> Self {
        let period = Micros::new(1_000_000);
        Self { period, pulses: vec![Pulse { start: Micros::ZERO, end: period, level: Share::new(1.0) }] }
    }

    /// After how much time it repeats.
    pub fn period(&self) -> Micros {
        self.period
    }

    /// The pulses, in order.
    pub fn pulses(&self) -> &[Pulse] {
        &self.pulses
    }

    /// The same light later by `phase` (earlier where negative), any number of periods.
    pub fn delayed(&self, phase: Micros) -> Self {
        let period = self.period.get();
        let phase = phase.get().rem_euclid(period);
        let mut pulses = Vec::with_capacity(self.pulses.len() + 1);
        for pulse in &self.pulses {
            let start = (pulse.start.get() + phase) % period;
            let end = start + (pulse.end.get() - pulse.start.get());
            pulses.push(Pulse { start: Micros::new(start), end: Micros::new(end.min(period)), ..*pulse });
            if end > period {
                pulses.push(Pulse { start: Micros::ZERO, end: Micros::new(end - period), ..*pulse });
            }
        }
        Self::canonical(self.period, pulses)
    }

    /// The mean level over the period: time lit at each level, times the level, over the period.
    ///
    /// The times are whole and added before anything is rounded, in an order that no phase changes.
    pub fn mean(&self) -> Share {
        let mut by_level: Vec<(f64, u32)> =
            self.pulses.iter().map(|pulse| (pulse.level.value(), micros(pulse.end) - micros(pulse.start))).collect();
        by_level.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let sum: f64 = by_level
            .chunk_by(|a, b| a.0 == b.0)
            .filter_map(|same| Some((same.first()?.0, same.iter().map(|(_, lit)| *lit).sum::<u32>())))
            .map(|(level, lit)| level * f64::from(lit))
            .sum();
        Share::new(sum / f64::from(micros(self.period)))
    }

    /// The highest level of a pulse.
    pub fn peak(&self) -> Share {
        Share::new(self.pulses.iter().map(|pulse| pulse.level.value()).fold(0.0, f64::max))
    }

    /// When the level is above `lit_above` times the peak of this timeline.
    pub fn lit(&self, lit_above: Share) -> LitIntervals {
        let threshold = lit_above.value() * self.peak().value();
        let lit = self.pulses.iter().filter(|pulse| pulse.level.value() > threshold);
        LitIntervals::from_pieces(self.period.get(), lit.map(|pulse| (pulse.start.get(), pulse.end.get())).collect())
    }

    /// The dark times between lit ones, in order of their starts. A head that is never lit has none.
    pub fn dark_gaps(&self, lit_above: Share) -> Vec<DarkGap> {
        self.lit(lit_above).dark_gaps().collect()
    }

    /// Flashes in one period: pulses with gaps shorter than `dark_at_least` between them are one flash.
    /// 0 for a light that never goes dark that long, and for one that is never lit.
    pub fn flashes(&self, dark_at_least: Micros, lit_above: Share) -> u64 {
        self.lit(lit_above).flashes(dark_at_least)
    }

    /// The flash rate as an exact fraction, [`Rate::ZERO`] where [`Timeline::flashes`] is 0.
    pub fn rate(&self, dark_at_least: Micros, lit_above: Share, by: RateBy) -> Rate {
        self.lit(lit_above).rate(dark_at_least, by)
    }

    /// Whether each period has a dark gap of at least `dark_at_least` between lit times.
    pub fn is_flashing(&self, dark_at_least: Micros, lit_above: Share) -> bool {
        self.flashes(dark_at_least, lit_above) > 0
    }

    /// From pulses that are apart and inside the period.
    fn canonical(period: Micros, mut pulses: Vec<Pulse>) -> Self {
        pulses.retain(|pulse| pulse.level.value() > 0.0);
        pulses.sort_unstable_by_key(|pulse| pulse.start);
        pulses.dedup_by(|next, last| {
            let joined = last.end == next.start && last.level == next.level;
            if joined {
                last.end = next.end;
            }
            joined
        });
        Self { period, pulses }
    }
}

/// Times inside a timeline are from 0 to [`LONGEST_PERIOD`], so they fit and are exact as a float.
fn micros(time: Micros) -> u32 {
    u32::try_from(time.get()).unwrap_or(0)
}

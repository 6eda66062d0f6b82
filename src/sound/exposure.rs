//! What an ear may be exposed to: permitted times, doses, and the level that would give the same dose in eight hours.
//! Never a medical statement.

use crate::units::{Seconds, Share, SoundLevel};

/// A rule of exposure: so much for eight hours, half the time for so much more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Criterion {
    /// Its name.
    pub name: &'static str,
    /// Permitted for eight hours, in dB(A).
    level: f64,
    /// Halves the time, in dB.
    exchange: f64,
    /// Levels below count for nothing, in dB(A).
    from: f64,
    /// What is printed of its factor: `16.61` or `10`.
    factor: f64,
}

/// 29 CFR 1910.95: 90 dB(A) for eight hours, 5 dB halve the time, from 80 dB(A) (table G-16a).
pub const OSHA: Criterion = Criterion { name: "29 CFR 1910.95", level: 90.0, exchange: 5.0, from: 80.0, factor: 16.61 };
/// The recommendation of NIOSH: 85 dB(A) for eight hours, 3 dB halve the time; that it counts from 80 dB(A) is from memory.
pub const NIOSH: Criterion = Criterion { name: "NIOSH 98-126", level: 85.0, exchange: 3.0, from: 80.0, factor: 10.0 };

const EIGHT_HOURS: f64 = 8.0 * 3600.0;

impl Criterion {
    /// How long a level is permitted: `8 h / 2^((L - level) / exchange)`.
    pub fn permits(&self, level: SoundLevel) -> Seconds {
        Seconds::new(EIGHT_HOURS / 2_f64.powf((level.value() - self.level) / self.exchange))
    }

    /// Whether a level counts at all.
    pub fn counts(&self, level: SoundLevel) -> bool {
        level.value() >= self.from
    }

    /// The dose of some stretches of time: the sum of each over what is permitted; 1 is all of it.
    pub fn dose(&self, stretches: impl IntoIterator<Item = (SoundLevel, Seconds)>) -> Share {
        let counts = stretches.into_iter().filter(|(level, _)| self.counts(*level));
        Share::new(counts.map(|(level, lasts)| lasts.value() / self.permits(level).value()).sum())
    }

    /// The level that would give this dose in eight hours.
    pub fn average(&self, dose: Share) -> SoundLevel {
        SoundLevel::new(self.factor * dose.value().log10() + self.level)
    }
}

//! Flashes per minute as an exact fraction, so that 75 a minute meets a limit of 75.

use std::fmt;

/// A rate of events: `count` in `micros` microseconds, kept reduced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rate {
    count: u128,
    micros: u128,
}

const MINUTE: u128 = 60_000_000;

impl Rate {
    /// Nothing happens.
    pub const ZERO: Self = Self { count: 0, micros: 1 };

    /// `count` events in `micros` microseconds; `None` where the time is not positive.
    pub fn new(count: u64, micros: i64) -> Option<Self> {
        let micros = u128::try_from(micros).ok().filter(|micros| *micros > 0)?;
        Some(Self { count: u128::from(count), micros }.reduced())
    }

    /// The mean of the rates `1 / cycle`, cycles in microseconds; `None` where there is no cycle or one
    /// is not positive.
    ///
    /// Exact, save where the common multiple of the cycles no longer fits (more than five cycles of many
    /// seconds without a common measure): there each rate is rounded to 1e-24 a microsecond.
    pub fn mean_of_cycles(cycles: &[i64]) -> Option<Self> {
        const FINE: u128 = 1_000_000_000_000_000_000_000_000;
        let cycles: Option<Vec<u128>> =
            cycles.iter().map(|cycle| u128::try_from(*cycle).ok().filter(|cycle| *cycle > 0)).collect();
        let mut cycles = cycles?;
        cycles.sort_unstable();
        let number = u64::try_from(cycles.len()).ok()?;
        // Equal cycles first: fewer sums, and most patterns have few lengths.
        let exact = cycles.chunk_by(|a, b| a == b).try_fold(Self::ZERO, |sum, same| {
            let micros = *same.first()?;
            sum.checked_add(Self { count: u128::try_from(same.len()).ok()?, micros }.reduced())
        });
        let sum = exact.unwrap_or_else(|| {
            let rounded = cycles.iter().map(|cycle| (FINE + cycle / 2) / cycle).sum();
            Self { count: rounded, micros: FINE }.reduced()
        });
        sum.checked_div(number)
    }

    /// The exact sum; `None` where it no longer fits (rates without a common measure).
    pub fn checked_add(self, other: Self) -> Option<Self> {
        let common = gcd(self.micros, other.micros);
        let (left, right) = (other.micros / common, self.micros / common);
        let micros = self.micros.checked_mul(left)?;
        let count = self.count.checked_mul(left)?.checked_add(other.count.checked_mul(right)?)?;
        Some(Self { count, micros }.reduced())
    }

    /// The exact quotient; `None` for a division by zero.
    pub fn checked_div(self, by: u64) -> Option<Self> {
        let micros = self.micros.checked_mul(u128::from(by)).filter(|micros| *micros > 0)?;
        Some(Self { count: self.count, micros }.reduced())
    }

    /// Events per minute, rounded once.
    pub fn per_minute(self) -> f64 {
        // Rounding once is the point: below 2^53 both sides are exact, and those of every pattern that loads are so once
        // they are reduced.
        let scaled = self.count.saturating_mul(MINUTE);
        #[allow(clippy::cast_precision_loss)]
        match (u64::try_from(scaled), u64::try_from(self.micros)) {
            (Ok(scaled), Ok(micros)) if (scaled | micros) >> f64::MANTISSA_DIGITS == 0 => scaled as f64 / micros as f64,
            _ => {
                let divisor = gcd(scaled, self.micros);
                (scaled / divisor) as f64 / (self.micros / divisor) as f64
            }
        }
    }

    fn reduced(self) -> Self {
        let divisor = gcd(self.count, self.micros);
        Self { count: self.count / divisor, micros: self.micros / divisor }
    }
}

impl PartialOrd for Rate {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        match (self.count.checked_mul(other.micros), other.count.checked_mul(self.micros)) {
            (Some(left), Some(right)) => Some(left.cmp(&right)),
            _ => self.per_minute().partial_cmp(&other.per_minute()),
        }
    }
}

impl fmt::Display for Rate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/min", super::format_number(self.per_minute(), 2))
    }
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seventy_five_a_minute_is_exactly_that() {
        let one = Rate::new(1, 800_000).unwrap();
        assert_eq!(one.per_minute(), 75.0);
        let both = one.checked_add(Rate::new(3, 2_400_000).unwrap()).unwrap();
        assert_eq!(both.per_minute(), 150.0);
        assert!(both > one);
    }

    #[test]
    fn mean_of_cycles_is_exact_and_stays_close_where_it_cannot_be() {
        let even = Rate::mean_of_cycles(&[800_000, 800_000, 800_000]);
        assert_eq!(even, Rate::new(1, 800_000));
        // 1/3 and 1/6 have the mean 1/4.
        assert_eq!(Rate::mean_of_cycles(&[3, 6]), Rate::new(1, 4));
        assert_eq!(Rate::mean_of_cycles(&[]), None);
        assert_eq!(Rate::mean_of_cycles(&[5, 0]), None);
        // Primes: their product does not fit 128 bits.
        let primes: [u32; 7] = [7_999_993, 7_999_987, 7_999_981, 7_999_939, 7_999_931, 7_999_927, 7_999_919];
        let mean = Rate::mean_of_cycles(&primes.map(i64::from)).unwrap().per_minute();
        let float = primes.iter().map(|cycle| 6e7 / f64::from(*cycle)).sum::<f64>() / 7.0;
        assert!((mean - float).abs() < 1e-14 * float, "{mean} {float}");
    }
}

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

    /// The exact sum; `None` where it no longer fits (rates without a common measure).
    pub fn checked_add(self, other: Self) -> Option<Self> {
        let left = self.count.checked_mul(other.micros)?;
        let right = other.count.checked_mul(self.micros)?;
        let micros = self.micros.checked_mul(other.micros)?;
        Some(Self { count: left.checked_add(right)?, micros }.reduced())
    }

    /// The exact quotient; `None` for a division by zero.
    pub fn checked_div(self, by: u64) -> Option<Self> {
        let micros = self.micros.checked_mul(u128::from(by)).filter(|micros| *micros > 0)?;
        Some(Self { count: self.count, micros }.reduced())
    }

    /// Events per minute, rounded once.
    pub fn per_minute(self) -> f64 {
        // Both sides are reduced and far below 2^53 for every pattern that loads; rounding once is the point.
        let scaled = self.count.saturating_mul(MINUTE);
        let divisor = gcd(scaled, self.micros);
        #[allow(clippy::cast_precision_loss)]
        {
            (scaled / divisor) as f64 / (self.micros / divisor) as f64
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
}

//! Whether a reading with its uncertainty meets a limit: the conformity decision of JCGM 106:2012.
//!
//! What is known of the true value is a normal distribution round the reading, of standard uncertainty u = U / k, where
//! nothing else is known (JCGM 106, clauses 6 and 7; clauses from memory). Simple acceptance lets the reading decide.
//! Guarded decisions keep a guard band of w = U on both sides of each limit: inside it, it is too close to tell.

use crate::judge::Verdict;
use crate::package::Decision;
use crate::ruleset::{Demand, Require};

/// How a decision is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DecisionRule {
    /// Simple or guarded.
    pub decision: Decision,
    /// Coverage factor: U = k u.
    pub k: f64,
}

impl Default for DecisionRule {
    /// Guarded with k = 2: whoever holds a meter knows that it is not exact.
    fn default() -> Self {
        Self { decision: Decision::Guarded, k: 2.0 }
    }
}

/// The values that a limit allows, in one unit: a range whose ends belong to it, or all outside a range whose ends are
/// not allowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower end, may be minus infinity.
    pub from: f64,
    /// Upper end, may be infinity.
    pub to: f64,
    /// The range is what is not allowed.
    pub outside: bool,
}

impl Interval {
    /// What a demand on numbers allows; `None` for words and missing limits.
    pub fn by(demand: &Demand, require: Require) -> Option<Self> {
        let outside = require == Require::Outside;
        let (from, to) = match demand {
            Demand::Number(limit) => match require {
                Require::AtLeast => (*limit, f64::INFINITY),
                Require::AtMost => (f64::NEG_INFINITY, *limit),
                _ => (*limit, *limit),
            },
            Demand::Range { from, to } => (*from, *to),
            Demand::Words(_) | Demand::Missing { .. } => return None,
        };
        Some(Self { from, to, outside })
    }

    /// Whether a value is allowed.
    pub fn holds(&self, value: f64) -> bool {
        (self.from <= value && value <= self.to) != self.outside
    }

    /// How far a value lies inside what is allowed; below zero where it is not.
    pub(super) fn room(&self, value: f64) -> f64 {
        if self.holds(value) { self.distance(value) } else { -self.distance(value) }
    }

    /// How far a value lies from the nearest limit.
    fn distance(&self, value: f64) -> f64 {
        let to = |limit: f64| if limit.is_finite() { (value - limit).abs() } else { f64::INFINITY };
        to(self.from).min(to(self.to))
    }
}

/// The probability that the true value is allowed, for a reading with a standard uncertainty: the normal distribution
/// between the limits (JCGM 106, clause 7). With no uncertainty it is 0 or 1.
pub fn conformance(reading: f64, standard: f64, allowed: &Interval) -> f64 {
    if standard <= 0.0 {
        return f64::from(u8::from(allowed.holds(reading)));
    }
    let beyond = |room: f64| 0.5 * libm::erfc(room / (standard * std::f64::consts::SQRT_2));
    let inside = (1.0 - beyond(reading - allowed.from) - beyond(allowed.to - reading)).clamp(0.0, 1.0);
    if allowed.outside { 1.0 - inside } else { inside }
}

/// The verdict on a reading: `Pass`, `Fail`, or `TooClose` inside the guard band. `expanded` is U for the rule's own k, in
/// the unit of the limit; a reading that is exactly U off the limit is decided.
pub fn decide(reading: f64, expanded: f64, allowed: &Interval, rule: DecisionRule) -> Verdict {
    // The last bits that a conversion of units leaves decide nothing.
    let close = expanded - 1e-9 * (expanded + reading.abs());
    let is_close = allowed.distance(reading) < close || !close.is_finite();
    if rule.decision == Decision::Guarded && is_close {
        Verdict::TooClose
    } else if allowed.holds(reading) {
        Verdict::Pass
    } else {
        Verdict::Fail
    }
}

//! Which values a limit allows, as a set: so that one can say whether a limit is stricter than another, and what both
//! allow together.
//!
//! Numbers are stretches of the real line in the base unit of their dimension; of words it is said which may show,
//! which may not, and of which at least one must.

use super::{Demand, Require};
use crate::units::Unit;

/// The values that meet a limit.
#[derive(Clone, Debug, PartialEq)]
pub enum Allowed {
    /// Numbers in base units, as stretches in rising order.
    Numbers(Vec<Stretch>),
    /// Words.
    Words(Wordings),
}

/// A stretch of numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Its lower end; minus infinity without one.
    pub low: f64,
    /// Its upper end; infinity without one.
    pub high: f64,
    /// Whether its ends are left out, as where a range is not wanted.
    pub open: (bool, bool),
}

/// Sets of words that meet a limit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wordings {
    /// No others than these; any without a list.
    within: Option<Vec<String>>,
    /// None of these.
    without: Vec<String>,
    /// At least one of each list.
    one_of: Vec<Vec<String>>,
}

impl Allowed {
    /// What a limit allows; `None` where the figure is missing.
    pub fn of(require: Require, demand: &Demand, unit: Unit) -> Option<Self> {
        let closed = |low: f64, high: f64| Stretch { low, high, open: (false, false) };
        let (least, most) = (f64::NEG_INFINITY, f64::INFINITY);
        let numbers = |stretches: Vec<Stretch>| Some(Self::Numbers(stretches));
        match demand {
            Demand::Number(number) => {
                let number = unit.to_base(*number);
                match require {
                    Require::AtLeast => numbers(vec![closed(number, most)]),
                    Require::AtMost => numbers(vec![closed(least, number)]),
                    _ => numbers(vec![closed(number, number)]),
                }
            }
            Demand::Range { from, to } => {
                let (from, to) = (unit.to_base(*from), unit.to_base(*to));
                if require == Require::Outside {
                    let below = Stretch { low: least, high: from, open: (false, true) };
                    let above = Stretch { low: to, high: most, open: (true, false) };
                    return numbers(vec![below, above]);
                }
                numbers(vec![closed(from, to)])
            }
            Demand::Words(words) => Some(Self::Words(Wordings::of(require, words))),
            Demand::Missing { .. } => None,
        }
    }

    /// The values that both allow; `None` where one is of numbers and the other of words.
    pub fn and(&self, other: &Self) -> Option<Self> {
        match (self, other) {
            (Self::Numbers(one), Self::Numbers(other)) => {
                let pairs = one.iter().flat_map(|one| other.iter().filter_map(|other| one.and(*other)));
                Some(Self::Numbers(pairs.collect()))
            }
            (Self::Words(one), Self::Words(other)) => Some(Self::Words(one.and(other))),
            _ => None,
        }
    }

    /// Whether no value at all is allowed. Of words that is said where none is left that may show.
    pub fn is_empty(&self) -> bool {
        match self {
            Self::Numbers(stretches) => stretches.is_empty(),
            Self::Words(words) => words.is_empty(),
        }
    }

    /// Whether whatever meets this meets the other too.
    pub fn implies(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Numbers(inner), Self::Numbers(outer)) => {
                inner.iter().all(|inner| outer.iter().any(|outer| outer.holds(*inner)))
            }
            (Self::Words(inner), Self::Words(outer)) => inner.implies(outer),
            _ => false,
        }
    }

    /// As a limit in `unit`; `None` where one requirement cannot say it.
    pub fn as_limit(&self, unit: Unit) -> Option<(Require, Demand)> {
        match self {
            Self::Numbers(stretches) => {
                let [one] = stretches.as_slice() else { return None };
                let (low, high) = (unit.from_base(one.low), unit.from_base(one.high));
                match (low.is_finite(), high.is_finite()) {
                    (true, true) => Some((Require::Between, Demand::Range { from: low, to: high })),
                    (true, false) => Some((Require::AtLeast, Demand::Number(low))),
                    (false, true) => Some((Require::AtMost, Demand::Number(high))),
                    (false, false) => None,
                }
            }
            Self::Words(Wordings { within, without, one_of }) if one_of.is_empty() => match within {
                Some(within) => Some((Require::Only, Demand::Words(within.clone()))),
                None => Some((Require::NoneOf, Demand::Words(without.clone()))),
            },
            Self::Words(_) => None,
        }
    }
}

/// Equal to the last bits that conversions of units leave.
fn alike(one: f64, other: f64) -> bool {
    // Next to infinity every distance would be small.
    one == other || (one.is_finite() && other.is_finite() && (one - other).abs() <= 1e-12 * one.abs().max(other.abs()))
}

impl Stretch {
    fn and(self, other: Self) -> Option<Self> {
        let (low, open_low) = match () {
            () if alike(self.low, other.low) => (self.low, self.open.0 || other.open.0),
            () if self.low > other.low => (self.low, self.open.0),
            () => (other.low, other.open.0),
        };
        let (high, open_high) = match () {
            () if alike(self.high, other.high) => (self.high, self.open.1 || other.open.1),
            () if self.high < other.high => (self.high, self.open.1),
            () => (other.high, other.open.1),
        };
        let point = alike(low, high) && !open_low && !open_high;
        (point || (low < high && !alike(low, high))).then_some(Self { low, high, open: (open_low, open_high) })
    }

    fn holds(self, inner: Self) -> bool {
        let low = match () {
            () if alike(self.low, inner.low) => !self.open.0 || inner.open.0,
            () => self.low < inner.low,
        };
        let high = match () {
            () if alike(self.high, inner.high) => !self.open.1 || inner.open.1,
            () => self.high > inner.high,
        };
        low && high
    }
}

impl Wordings {
    fn of(require: Require, words: &[String]) -> Self {
        let words = words.to_vec();
        match require {
            Require::NoneOf => Self { without: words, ..Self::default() },
            Require::SomeOf => Self { one_of: vec![words], ..Self::default() },
            Require::Exactly => {
                let each = words.iter().map(|word| vec![word.clone()]).collect();
                Self { within: Some(words), one_of: each, ..Self::default() }
            }
            _ => Self { within: Some(words), ..Self::default() },
        }
    }

    /// Whether a word may show.
    fn allows(&self, word: &String) -> bool {
        let within = self.within.as_ref().is_none_or(|within| within.contains(word));
        within && !self.without.contains(word)
    }

    fn and(&self, other: &Self) -> Self {
        let both = |word: &String| self.allows(word) && other.allows(word);
        let within = self.within.as_ref().or(other.within.as_ref());
        let within = within.map(|words| words.iter().filter(|word| both(word)).cloned().collect());
        let more = other.without.iter().filter(|word| !self.without.contains(word));
        let without = self.without.iter().chain(more).cloned().collect();
        Self { within, without, one_of: [self.one_of.clone(), other.one_of.clone()].concat() }
    }

    fn is_empty(&self) -> bool {
        // Nothing shown would do for `only`; but who names colours and is left with none has asked for something else.
        let none_left = self.within.as_ref().is_some_and(Vec::is_empty);
        none_left || self.one_of.iter().any(|list| !list.iter().any(|word| self.allows(word)))
    }

    fn implies(&self, other: &Self) -> bool {
        let within = other.within.as_ref().is_none_or(|outer| {
            let inner = self.within.as_ref();
            inner.is_some_and(|inner| inner.iter().filter(|word| self.allows(word)).all(|word| outer.contains(word)))
        });
        let without = other.without.iter().all(|word| !self.allows(word));
        let one_of = other.one_of.iter().all(|outer| {
            let sure =
                |inner: &Vec<String>| inner.iter().filter(|word| self.allows(word)).all(|word| outer.contains(word));
            self.one_of.iter().any(sure)
        });
        within && without && one_of
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn allowed(text: &str) -> Allowed {
        let (require, rest) = text.split_once(' ').unwrap();
        let (_, require) = super::super::REQUIRES.iter().find(|(word, _)| *word == require).unwrap();
        let (unit, demand) = match rest.split_once("..") {
            Some((from, to)) => ("/min", Demand::Range { from: from.parse().unwrap(), to: to.parse().unwrap() }),
            None => match rest.parse() {
                Ok(number) => ("/min", Demand::Number(number)),
                Err(_) => ("colours", Demand::Words(rest.split(',').map(str::to_owned).collect())),
            },
        };
        Allowed::of(*require, &demand, Unit::parse(unit).unwrap()).unwrap()
    }

    /// Two limits, and how the first is to the second: stricter, looser, alike, apart (no value meets both), or crossing.
    #[test]
    fn limits_compare_as_sets_of_values() {
        for (one, other, expected) in [
            ("at-least 75", "at-least 60", "stricter"),
            ("at-least 75", "at-most 75", "crossing"),
            ("at-least 75", "at-most 74", "apart"),
            ("at-least 75", "between 75..125", "looser"),
            ("between 75..125", "between 120..240", "crossing"),
            ("between 75..119", "between 120..240", "apart"),
            ("exactly 25", "between 20..30", "stricter"),
            ("exactly 25", "exactly 26", "apart"),
            ("outside 5..30", "at-most 4", "looser"),
            ("outside 5..30", "at-most 5", "crossing"),
            ("outside 5..30", "between 6..30", "apart"),
            ("outside 5..30", "between 5..30", "apart"),
            ("outside 5..30", "outside 6..29", "stricter"),
            ("outside 5..30", "outside 5..30", "alike"),
            ("only red,blue", "only blue,red", "alike"),
            ("only red", "only red,blue", "stricter"),
            ("only red,amber", "only red,blue", "crossing"),
            ("only amber", "only red,blue", "apart"),
            ("only amber,red", "none-of amber", "crossing"),
            ("only red", "none-of amber", "stricter"),
            ("only amber", "none-of amber", "apart"),
            ("none-of amber,white", "none-of amber", "stricter"),
            ("none-of amber", "none-of white", "crossing"),
            ("some-of red,blue", "only amber", "apart"),
            ("some-of red,blue", "only amber,red", "crossing"),
            ("some-of red", "some-of blue", "crossing"),
            ("some-of red", "some-of blue,red", "stricter"),
            ("some-of red", "none-of red", "apart"),
            ("exactly red,blue", "only red,blue", "stricter"),
            ("exactly red,blue", "exactly red", "apart"),
            ("exactly red,blue", "none-of red", "apart"),
            ("exactly red,blue", "some-of blue", "stricter"),
        ] {
            let found = |one: &Allowed, other: &Allowed| match (one.implies(other), other.implies(one)) {
                (true, true) => "alike",
                (true, false) => "stricter",
                (false, true) => "looser",
                (false, false) if one.and(other).unwrap().is_empty() => "apart",
                (false, false) => "crossing",
            };
            let (first, second) = (allowed(one), allowed(other));
            assert_eq!(found(&first, &second), expected, "{one} to {other}");
            let turned = match expected {
                "stricter" => "looser",
                "looser" => "stricter",
                same => same,
            };
            assert_eq!(found(&second, &first), turned, "{other} to {one}");
        }
    }

    #[test]
    fn what_both_allow_is_a_limit_again() {
        let per_minute = Unit::parse("/min").unwrap();
        let both = |one: &str, other: &str| allowed(one).and(&allowed(other)).unwrap().as_limit(per_minute);
        let range = |from, to| Some((Require::Between, Demand::Range { from, to }));
        assert_eq!(both("between 75..125", "between 120..240"), range(120.0, 125.0));
        assert_eq!(both("at-least 75", "at-most 125"), range(75.0, 125.0));
        assert_eq!(both("at-most 125", "at-most 240"), Some((Require::AtMost, Demand::Number(125.0))));
        assert_eq!(both("at-least 1", "outside 5..30"), None, "two stretches are no single limit");
        let words = |words: &[&str]| Demand::Words(words.iter().map(|word| (*word).to_owned()).collect());
        assert_eq!(both("only red,amber,blue", "none-of amber"), Some((Require::Only, words(&["red", "blue"]))));
        assert_eq!(both("none-of amber", "none-of white"), Some((Require::NoneOf, words(&["amber", "white"]))));
        assert_eq!(both("some-of red,blue", "none-of red"), None, "`some-of` with a ban is no single limit");
    }

    /// 12 in and 1 ft are one length, whatever the last bit of their metres.
    #[test]
    fn units_make_no_difference() {
        let of = |number: f64, unit: &str| {
            Allowed::of(Require::AtMost, &Demand::Number(number), Unit::parse(unit).unwrap()).unwrap()
        };
        for (inches, feet) in [(12.0, 1.0), (62.0, 62.0 / 12.0), (39.370_078_740_157_48, 3.280_839_895_013_123)] {
            let (one, other) = (of(inches, "in"), of(feet, "ft"));
            assert!(one.implies(&other) && other.implies(&one), "{inches} in and {feet} ft");
        }
    }
}

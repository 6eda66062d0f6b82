//! A reading beside what was computed: whether they differ by more than both are uncertain, lie far apart where nobody
//! knows how uncertain the calculation is, or stand on two sides of the limit.

use super::close::differs_by;
use super::decide::Interval;
use super::lines::{Answer, Calculated, Line};
use super::uncertainty::Spread;
use crate::judge::{Found, Verdict};
use crate::ruleset::Require;
use crate::units::{Dimension, digits_apart, format_number};

/// Where how far a calculation may be off is not known, or only the worst end of what it allows, a reading is far from it
/// below this share of it, or above its inverse; practice.
const FAR: f64 = 0.5;

/// The same of a dose of noise: a few decibels make half or twice of it.
const FAR_OF_A_DOSE: f64 = 0.25;

/// The same of levels, in decibels: twice or half the sound pressure.
const FAR_IN_DECIBELS: f64 = 6.0;

/// What comparing comes to.
#[derive(Default)]
pub(super) struct Compared {
    /// How they differ.
    pub differs: Option<String>,
    /// What a reader must know where they do not.
    pub note: Option<&'static str>,
    /// The reading is worse than what was computed, by more than both are uncertain.
    pub is_worse: bool,
}

/// A figure beside what was computed. `of_reading` is its expanded uncertainty for the coverage factor `k`, and `verdict`
/// what the limit says of it.
pub(super) fn compared(line: &Line, value: f64, of_reading: f64, k: f64, verdict: Verdict) -> Compared {
    let Found::Number(expected) = line.expected else { return Compared::default() };
    if !line.is_value {
        return Compared::default();
    }
    let room = |value: f64| Interval::by(&line.limit, line.require).map(|limit| limit.room(value));
    let worse_by = room(expected).zip(room(value)).map_or(0.0, |(was, is)| was - is);
    if line.answer == Answer::Count {
        let [counted, computed] = [value, expected].map(|number| format_number(number, 0));
        let differs = (expected != value)
            .then(|| format!("the calculation counts {computed}, this {counted}; {}", look_for(line)));
        return Compared { differs, note: None, is_worse: worse_by > 0.0 };
    }
    let (least, most) = match (line.calculated, line.require) {
        (Calculated::Between(least, most), _) => (least, most),
        (Calculated::WorstEnd, Require::AtMost) => (f64::NEG_INFINITY, expected),
        (Calculated::WorstEnd, Require::AtLeast) => (expected, f64::INFINITY),
        _ => (expected, expected),
    };
    let nearest = value.max(least).min(most);
    // What the calculation starts from was measured or stated no better than the trade measures.
    let of_calculation = line.reckoned(nearest, k);
    let both = of_reading.hypot(of_calculation.unwrap_or(0.0));
    // What the sheet prints is rounded, and a person compares with that.
    let is_off = |from: f64| (value - from).abs() > (both + line.rounding(from)) * (1.0 + 1e-9);
    let is_worse = worse_by > (both + line.rounding(expected)) * (1.0 + 1e-9);
    let bounded = matches!(line.calculated, Calculated::Between(..));
    let unit = line.unit;
    let differs = if of_calculation.is_some() && is_off(nearest) {
        let digits = digits_apart(&[value, nearest, both], 1);
        let number = |number| format_number(number, digits);
        let computed = if least.is_finite() && most.is_finite() && least < most {
            format!("{} to {} {unit} was computed, over all voltages", number(least), number(most))
        } else {
            format!("{} {unit} was computed", number(nearest))
        };
        let value = number(value);
        Some(format!("{computed}, {value} {unit} read: more apart than both are uncertain, {} {unit}", number(both)))
    } else if let Some(far) = Far::of(line).told(value, expected).filter(|_| !bounded && is_off(expected)) {
        let [computed, read] = told(line, [expected, value]);
        Some(format!("{computed} {unit} was computed, {read} {unit} read: {far}"))
    } else if of_calculation.is_none() && verdict == Verdict::Fail && line.met == Some(true) {
        let [computed, read] = told(line, [expected, value]);
        Some(format!("{computed} {unit} was computed, within the limit, and {read} {unit} read"))
    } else {
        None
    };
    let note = match (of_calculation, line.calculated) {
        (None, _) => Some(
            "how far the calculation may be off is not known: what is told is a reading on the other side of the limit, or far away",
        ),
        (_, Calculated::WorstEnd) if is_off(expected) => {
            Some("computed is the worst end of what may be; a reading near it on the good side is no disagreement")
        }
        _ => None,
    };
    let differs = differs.map(|differs| format!("{differs}; {}", look_for(line)));
    Compared { note: note.filter(|_| differs.is_none()), differs, is_worse }
}

/// What is to be done about a difference.
fn look_for(line: &Line) -> String {
    format!("look for: {}", differs_by(line))
}

/// Words beside what was computed.
pub(super) fn compared_words(line: &Line, words: &[String]) -> Compared {
    let Found::Words(expected) = &line.expected else { return Compared::default() };
    if !line.is_value || same(expected, words) {
        return Compared::default();
    }
    let says = |words: &[String]| if words.is_empty() { "none".to_owned() } else { words.join(" ") };
    let differs = format!("by the package it is {}, this says {}", says(expected), says(words));
    Compared { differs: Some(differs), note: None, is_worse: true }
}

/// How a value is far from another.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Far {
    /// Below this share of it, or above its inverse.
    Share(f64),
    /// So many decibels off.
    Decibels(f64),
}

impl Far {
    fn of(line: &Line) -> Self {
        match line.unit.dimension() {
            Dimension::SoundLevel | Dimension::Decibels => Self::Decibels(FAR_IN_DECIBELS),
            _ if line.quantity.starts_with("noise-dose") => Self::Share(FAR_OF_A_DOSE),
            _ => Self::Share(FAR),
        }
    }

    /// In words, where a value is far from what was expected. Of two signs, or beside nothing at all, nothing is near.
    fn told(self, value: f64, expected: f64) -> Option<String> {
        let share = value / expected;
        match self {
            Self::Decibels(most) => {
                ((value - expected).abs() > most).then(|| format!("more than {most} dB apart [practice]"))
            }
            Self::Share(_) if share < 0.0 => Some("of another sign".to_owned()),
            Self::Share(least) if share < least => Some(format!("less than 1/{} of it [practice]", 1.0 / least)),
            Self::Share(least) if share <= 1.0 / least => None,
            Self::Share(least) => Some(format!("more than {} times as much [practice]", 1.0 / least)),
        }
    }
}

fn told(line: &Line, numbers: [f64; 2]) -> [String; 2] {
    let digits = digits_apart(&numbers, 0);
    numbers.map(|number| format_number(number, digits.max(line.decimals(number).min(2))))
}

impl Line {
    /// What the trade reckons with at a value, place and handling included: U for a coverage factor, in the line's unit.
    pub(super) fn reckoned(&self, at: f64, k: f64) -> Option<f64> {
        let (amount, _) = self.reckon?;
        let spread = Spread::parse(&amount.to_string()).ok()?.at(at, self.unit, None).ok()?;
        Some(0.5 * k * spread)
    }
}

/// Whether two lists hold the same words, in any order.
pub(super) fn same(one: &[String], other: &[String]) -> bool {
    one.iter().all(|word| has(other, word)) && other.iter().all(|word| has(one, word))
}

/// Whether a list holds a word.
pub(super) fn has(list: &[String], word: &str) -> bool {
    list.iter().any(|known| known.eq_ignore_ascii_case(word))
}

#[cfg(test)]
mod tests {
    use super::Far;

    #[test]
    fn far_is_beyond_a_share_either_way_another_sign_or_too_many_decibels() {
        for (far, value, expected, is_far) in [
            (Far::Share(0.5), 3.0, 6.0, false),
            (Far::Share(0.5), 2.99, 6.0, true),
            (Far::Share(0.5), 12.0, 6.0, false),
            (Far::Share(0.5), 12.1, 6.0, true),
            (Far::Share(0.5), 5.0, -6.8, true),
            (Far::Share(0.5), -5.0, -6.8, false),
            (Far::Share(0.5), 0.1, 0.0, true),
            (Far::Share(0.25), 15.0, 40.0, false),
            (Far::Share(0.25), 9.0, 40.0, true),
            (Far::Decibels(6.0), 84.0, 90.0, false),
            (Far::Decibels(6.0), 83.9, 90.0, true),
            (Far::Decibels(6.0), -3.0, 3.0, false),
        ] {
            assert_eq!(far.told(value, expected).is_some(), is_far, "{far:?}: {value} beside {expected}");
        }
    }
}

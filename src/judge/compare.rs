//! The comparison of one value with one limit, in full precision.

use super::{Found, Verdict};
use crate::package::Decision;
use crate::quantity::{Uncertainty, Value};
use crate::ruleset::{Demand, Require};
use crate::units::{Dimension, Unit};

/// The outcome of one comparison.
#[derive(Clone, Debug)]
pub(super) struct Compared {
    pub verdict: Verdict,
    pub found: Found,
    pub margin: Option<f64>,
    pub notes: Vec<String>,
    /// A head that bears what is not permitted.
    pub head: Option<String>,
    /// The words that are not permitted.
    pub words: Vec<String>,
    /// The upper end of what is known decided, and is shown as found.
    pub by_high: bool,
    /// All that occurs, where that is more than one value.
    pub drifts: Option<(f64, f64)>,
}

impl Compared {
    /// As a reader wants to see it; the many that are only ranked need not.
    pub fn tidied(mut self) -> Self {
        if let Found::Number(number) = &mut self.found {
            *number = tidy(*number);
        }
        if let Some((low, high)) = self.drifts {
            let number = |value| crate::units::format_number(value, 1);
            self.notes.insert(0, format!("from {} to {} as the clocks drift", number(low), number(high)));
        }
        self
    }
}

/// Compares; numbers of `demand` are in `unit`, those of `value` in its base unit.
pub(super) fn compare(
    value: &Value,
    uncertainty: Uncertainty,
    demand: &Demand,
    require: Require,
    unit: Unit,
    decision: Decision,
) -> Compared {
    let nothing = |verdict, note: Option<String>| Compared {
        verdict,
        found: Found::Nothing,
        margin: None,
        notes: note.into_iter().collect(),
        head: None,
        words: Vec::new(),
        by_high: false,
        drifts: None,
    };
    match (value, demand) {
        (Value::Unknown(why), _) => nothing(Verdict::NotShown, Some(why.clone())),
        (Value::Absent(why), Demand::Missing { .. }) => nothing(Verdict::NotShown, Some(why.clone())),
        // Nothing there cannot be too much, and cannot be enough.
        (Value::Absent(why), _)
            if matches!(require, Require::AtMost | Require::Outside | Require::NoneOf | Require::Only) =>
        {
            nothing(Verdict::NotApplicable, Some(why.clone()))
        }
        (Value::Absent(why), _) => nothing(Verdict::Fail, Some(why.clone())),
        (Value::Words { shown, perhaps }, _) => compare_words(shown, perhaps, demand, require),
        (Value::Number { low, high, occurs }, _) => {
            let span = Span { low: *low, high: *high, occurs: *occurs };
            let mut compared = compare_number(span, demand, require, unit);
            if decision == Decision::Guarded && !matches!(demand, Demand::Missing { .. }) {
                guard(&mut compared, uncertainty, demand, unit);
            }
            compared
        }
    }
}

/// Words and the heads that bear them.
type Words = [(String, Vec<String>)];

fn compare_words(shown: &Words, perhaps: &Words, demand: &Demand, require: Require) -> Compared {
    let found = Found::Words(shown.iter().map(|(word, _)| word.clone()).collect());
    let mut compared = Compared {
        verdict: Verdict::NotShown,
        found,
        margin: None,
        notes: Vec::new(),
        head: None,
        words: Vec::new(),
        by_high: false,
        drifts: None,
    };
    let Demand::Words(listed) = demand else { return compared };
    let unwanted = |(word, _): &&(String, Vec<String>)| match require {
        Require::NoneOf => listed.contains(word),
        Require::SomeOf => false,
        _ => !listed.contains(word),
    };
    let has = |words: &Words, word: &String| words.iter().any(|(known, _)| known == word);
    let wanted = |words: &Words| match require {
        Require::SomeOf => listed.iter().any(|word| has(words, word)),
        Require::Exactly => listed.iter().all(|word| has(words, word)),
        _ => true,
    };
    let both = [shown, perhaps].concat();
    let offending: Vec<_> = shown.iter().filter(unwanted).collect();
    let disputed: Vec<_> = perhaps.iter().filter(unwanted).collect();
    compared.verdict = if !offending.is_empty() || !wanted(&both) {
        Verdict::Fail
    } else if !disputed.is_empty() || !wanted(shown) {
        Verdict::NotShown
    } else {
        Verdict::Pass
    };
    let note = |(word, heads): &&(String, Vec<String>)| format!("{word} is shown by {}", heads.join(", "));
    compared.notes = offending.iter().map(note).collect();
    let open: Vec<String> = perhaps.iter().flat_map(|(_, heads)| heads.iter().cloned()).collect();
    // What no head bears is open for a reason that its quantity says.
    if compared.verdict == Verdict::NotShown && !open.is_empty() {
        compared
            .notes
            .push(format!("no data for {} at some of the points, so its colour may show there", open.join(", ")));
    }
    compared.words = offending.iter().map(|(word, _)| word.clone()).collect();
    compared.head = offending.first().and_then(|(_, heads)| heads.first()).cloned();
    compared
}

/// What is known of a number, in base units.
#[derive(Clone, Copy)]
struct Span {
    low: f64,
    high: f64,
    occurs: bool,
}

fn compare_number(span: Span, demand: &Demand, require: Require, unit: Unit) -> Compared {
    // Both sides in base units, so that 62 in meets 62 in to the last bit.
    let (from, to) = match demand {
        Demand::Number(limit) => match require {
            Require::AtLeast => (unit.to_base(*limit), f64::INFINITY),
            Require::AtMost => (f64::NEG_INFINITY, unit.to_base(*limit)),
            _ => (unit.to_base(*limit), unit.to_base(*limit)),
        },
        Demand::Range { from, to } => (unit.to_base(*from), unit.to_base(*to)),
        Demand::Words(_) | Demand::Missing { .. } => (f64::NAN, f64::NAN),
    };
    let Span { low, high, occurs } = span;
    if require == Require::Outside {
        return compare_outside(span, from, to, unit);
    }
    let verdict = if from.is_nan() {
        Verdict::NotShown
    } else if low >= from && high <= to {
        Verdict::Pass
    } else if occurs || high < from || low > to {
        Verdict::Fail
    } else {
        Verdict::NotShown
    };
    // The end that lies farther out decides what is shown as found.
    let shown = if high.is_finite() && high - to > from - low { high } else { low };
    // A lower bound says nothing of a limit that even the upper end misses.
    let by_high = require == Require::AtLeast && verdict == Verdict::Fail && !occurs && low < high;
    let shown = match require {
        Require::AtLeast if by_high => high,
        Require::AtMost if high.is_finite() => high,
        Require::AtLeast | Require::AtMost => low,
        _ => shown,
    };
    // Of a range with one end at zero the other one says how much its room is worth.
    let other = |end: f64| if end.is_finite() { end.abs() } else { 0.0 };
    let room = |limit: f64, beside: f64, room: f64| {
        if in_decibels(unit) {
            return limit.is_finite().then_some(room);
        }
        let share_of = if limit == 0.0 { other(beside) } else { limit.abs() };
        (share_of != 0.0 && limit.is_finite()).then(|| room / share_of)
    };
    let margin =
        [room(from, to, shown - from), room(to, from, to - shown)].into_iter().flatten().min_by(f64::total_cmp);
    of_number(span, verdict, shown, margin, by_high, unit)
}

/// Whether the room to a limit is a difference, as it is of levels.
fn in_decibels(unit: Unit) -> bool {
    matches!(unit.dimension(), Dimension::SoundLevel | Dimension::Decibels)
}

/// A range that is not wanted, its ends included: a value on an end lies in it.
fn compare_outside(span: Span, from: f64, to: f64, unit: Unit) -> Compared {
    let Span { low, high, occurs } = span;
    let verdict = if from.is_nan() {
        Verdict::NotShown
    } else if high < from || low > to {
        Verdict::Pass
    } else if occurs || (low >= from && high <= to) {
        Verdict::Fail
    } else {
        Verdict::NotShown
    };
    // Of what is known to occur, the value nearest to the middle of the range is the worst; of one unknown value no
    // more is known than where it begins.
    let nearest = (0.5 * (from + to)).min(high).max(low);
    let shown = if occurs || verdict == Verdict::Pass { nearest } else { low };
    let near_from = shown - from < to - shown;
    let (end, beyond) = if near_from { (from, from - shown) } else { (to, shown - to) };
    let margin = if in_decibels(unit) { Some(beyond) } else { (end != 0.0).then(|| beyond / end.abs()) };
    of_number(span, verdict, shown, margin, verdict == Verdict::Pass && low < high && shown == high, unit)
}

/// A comparison of numbers with what a reader must know of the span.
fn of_number(span: Span, verdict: Verdict, shown: f64, margin: Option<f64>, by_high: bool, unit: Unit) -> Compared {
    let Span { low, high, occurs } = span;
    let drifts = (occurs && low < high).then(|| (unit.from_base(low), unit.from_base(high)));
    // A bound has no margin.
    let margin = if verdict == Verdict::NotShown { None } else { margin };
    Compared {
        verdict,
        // Where a bound is all or nothing there is no figure to show.
        found: if shown.is_finite() { Found::Number(unit.from_base(shown)) } else { Found::Nothing },
        margin,
        notes: Vec::new(),
        head: None,
        words: Vec::new(),
        by_high,
        drifts,
    }
}

/// Whether a figure lies within its expanded uncertainty of the limit (JCGM 106, guard band of width U).
fn guard(compared: &mut Compared, uncertainty: Uncertainty, demand: &Demand, unit: Unit) {
    let Found::Number(found) = compared.found else { return };
    let found = tidy(found);
    match uncertainty {
        Uncertainty::NotAsked => {}
        Uncertainty::Missing => {
            compared.verdict = Verdict::NotShown;
            compared
                .notes
                .push("a contributor states no uncertainty, so the guarded decision cannot be taken".to_owned());
        }
        Uncertainty::Known(expanded) => {
            let expanded = unit.from_base(expanded);
            let near = |limit: f64| (found - limit).abs() < expanded;
            let close = match demand {
                Demand::Number(limit) => near(*limit),
                Demand::Range { from, to } => near(*from) || near(*to),
                Demand::Words(_) | Demand::Missing { .. } => false,
            };
            let number = crate::units::format_number(expanded, 0);
            compared.notes.push(format!("expanded uncertainty (k = 2): {number} {unit}"));
            if close && compared.verdict != Verdict::NotShown {
                compared.verdict = Verdict::TooClose;
            }
        }
    }
}

/// Takes away the last bit that a conversion of units leaves (61.99999999999999 in).
fn tidy(value: f64) -> f64 {
    // An empty sum is -0.0, which nobody wants to read.
    let value = value + 0.0;
    // A whole number that 13 digits write is left as it is.
    if value.fract() == 0.0 && value.abs() < 1e12 {
        return value;
    }
    let text = format!("{value:.12e}");
    let rounded: f64 = text.parse().unwrap_or(value);
    if (rounded - value).abs() <= 4.0 * f64::EPSILON * value.abs() { rounded } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at_least(low: f64, high: f64, limit: f64) -> Verdict {
        let unit = Unit::parse("cd.s/min").unwrap();
        let value = Value::Number { low, high, occurs: false };
        let demand = Demand::Number(limit);
        compare(&value, Uncertainty::NotAsked, &demand, Require::AtLeast, unit, Decision::Simple).verdict
    }

    #[test]
    fn a_lower_bound_passes_by_itself_and_never_fails_by_itself() {
        assert_eq!(at_least(10.0, f64::INFINITY, 10.0), Verdict::Pass);
        assert_eq!(at_least(9.0, f64::INFINITY, 10.0), Verdict::NotShown);
        assert_eq!(at_least(9.0, 9.5, 10.0), Verdict::Fail);
    }

    #[test]
    fn a_height_on_the_limit_meets_it() {
        let unit = Unit::parse("in").unwrap();
        let value = Value::exactly(unit.to_base(62.0));
        let demand = Demand::Range { from: 18.0, to: 62.0 };
        let compared =
            compare(&value, Uncertainty::NotAsked, &demand, Require::Between, unit, Decision::Simple).tidied();
        assert_eq!((compared.verdict, compared.found), (Verdict::Pass, Found::Number(62.0)));
    }

    #[test]
    fn a_value_on_the_end_at_zero_has_no_room() {
        let margin = |found: f64| {
            let (value, demand) = (Value::exactly(found), Demand::Range { from: -3.0, to: 0.0 });
            let unit = Unit::parse("deg").unwrap();
            compare(&value, Uncertainty::NotAsked, &demand, Require::Between, unit, Decision::Simple).margin.unwrap()
        };
        assert_eq!(margin(0.0), 0.0);
        assert_eq!(margin(-1.5), 0.5);
        assert_eq!(margin(-3.0), 0.0);
        assert!(margin(0.1) < 0.0);
    }

    fn outside(low: f64, high: f64, occurs: bool) -> Compared {
        let value = Value::Number { low: 60.0 * low, high: 60.0 * high, occurs };
        let demand = Demand::Range { from: 5.0, to: 30.0 };
        let unit = Unit::parse("Hz").unwrap();
        compare(&value, Uncertainty::NotAsked, &demand, Require::Outside, unit, Decision::Simple).tidied()
    }

    #[test]
    fn outside_fails_within_the_range_and_on_its_ends() {
        for (hertz, verdict, margin) in [
            (2.0, Verdict::Pass, 0.6), // (5 - 2) / 5
            (4.5, Verdict::Pass, 0.1),
            (5.0, Verdict::Fail, 0.0),
            (6.0, Verdict::Fail, -0.2),  // 1 Hz past 5 Hz
            (24.0, Verdict::Fail, -0.2), // 6 Hz short of 30 Hz
            (30.0, Verdict::Fail, 0.0),
            (36.0, Verdict::Pass, 0.2),
        ] {
            let compared = outside(hertz, hertz, true);
            assert_eq!((compared.verdict, &compared.found), (verdict, &Found::Number(hertz)), "{hertz}");
            assert!((compared.margin.unwrap() - margin).abs() < 1e-12, "{hertz}: {:?}", compared.margin);
        }
        // The nearest representable numbers beside an end lie out of the range.
        assert_eq!(outside(5.0_f64.next_down(), 5.0_f64.next_down(), true).verdict, Verdict::Pass);
        assert_eq!(outside(30.0_f64.next_up(), 30.0_f64.next_up(), true).verdict, Verdict::Pass);
    }

    #[test]
    fn the_room_outside_a_range_of_levels_is_a_difference() {
        for (found, margin) in [(85.0, 5.0), (92.0, -2.0), (110.0, 10.0)] {
            let (value, demand) = (Value::exactly(found), Demand::Range { from: 90.0, to: 100.0 });
            let unit = Unit::parse("dB(A)").unwrap();
            let compared =
                compare(&value, Uncertainty::NotAsked, &demand, Require::Outside, unit, Decision::Simple).tidied();
            assert_eq!(compared.margin, Some(margin), "{found}");
        }
    }

    #[test]
    fn outside_fails_on_a_span_only_where_a_value_in_the_range_is_certain() {
        assert_eq!(outside(2.0, 10.0, true).verdict, Verdict::Fail, "10 Hz occurs");
        assert_eq!(outside(2.0, 40.0, true).found, Found::Number(17.5), "all of the range occurs");
        assert_eq!(outside(2.0, 10.0, false).verdict, Verdict::NotShown, "it may be 3 Hz");
        assert_eq!(outside(2.0, 40.0, false).verdict, Verdict::NotShown);
        assert_eq!(outside(2.0, 40.0, false).margin, None);
        assert_eq!(outside(6.0, 7.0, false).verdict, Verdict::Fail, "whichever it is");
        assert_eq!(outside(31.0, f64::INFINITY, false).verdict, Verdict::Pass);
        assert_eq!(outside(6.0, f64::INFINITY, false).verdict, Verdict::NotShown);
        let below = outside(1.0, 4.0, false);
        assert_eq!((below.verdict, below.found), (Verdict::Pass, Found::Number(4.0)), "the nearer end is shown");
    }

    #[test]
    fn nothing_there_lies_in_no_range() {
        let verdict = |require| {
            let (value, demand) = (Value::Absent("none".to_owned()), Demand::Range { from: 5.0, to: 30.0 });
            compare(&value, Uncertainty::NotAsked, &demand, require, Unit::parse("Hz").unwrap(), Decision::Simple)
                .verdict
        };
        assert_eq!((verdict(Require::Outside), verdict(Require::Between)), (Verdict::NotApplicable, Verdict::Fail));
    }

    #[test]
    fn guarded_says_too_close_inside_the_band_on_either_side() {
        let unit = Unit::parse("cd").unwrap();
        let verdict = |found: f64| {
            let (value, demand) = (Value::exactly(found), Demand::Number(100.0));
            compare(&value, Uncertainty::Known(8.0), &demand, Require::AtLeast, unit, Decision::Guarded).verdict
        };
        assert_eq!(verdict(107.0), Verdict::TooClose);
        assert_eq!(verdict(93.0), Verdict::TooClose);
        assert_eq!(verdict(108.0), Verdict::Pass);
        assert_eq!(verdict(92.0), Verdict::Fail);
    }
}

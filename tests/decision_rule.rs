//! The decision rule on readings: conformance probabilities and guard bands.
//!
//! Outside: worked examples of JCGM 106:2012 as they are remembered (tests/reference/readings/jcgm-106.csv says which, and
//! that they are from memory), and 400 probabilities summed in Python to fifty digits
//! (tests/reference/conformance.py). Laws on random readings.

mod common;

use common::root;
use proptest::prelude::*;
use wayproof::judge::Verdict;
use wayproof::package::Decision;
use wayproof::readings::{DecisionRule, Interval, Kind, Spread, conformance, decide};
use wayproof::ruleset::{Demand, Require};
use wayproof::units::{Amount, Unit};

const GUARDED: DecisionRule = DecisionRule { decision: Decision::Guarded, k: 2.0 };
const SIMPLE: DecisionRule = DecisionRule { decision: Decision::Simple, k: 2.0 };

fn rows(file: &str) -> Vec<csv::StringRecord> {
    let path = root().join("tests/reference/readings").join(file);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(path).unwrap();
    reader.records().map(Result::unwrap).collect()
}

fn end(cell: &str, without: f64) -> f64 {
    if cell.is_empty() { without } else { cell.parse().unwrap() }
}

fn interval(from: &str, to: &str, outside: bool) -> Interval {
    Interval { from: end(from, f64::NEG_INFINITY), to: end(to, f64::INFINITY), outside }
}

#[test]
fn worked_examples_of_jcgm_106_come_out_as_remembered() {
    let examples = rows("jcgm-106.csv");
    assert!(examples.len() >= 8);
    for row in examples {
        let number = |at: usize| row[at].parse::<f64>().unwrap();
        let found = conformance(number(1), number(2), &interval(&row[3], &row[4], false));
        assert!((found - number(5)).abs() <= number(6), "{}: {found}", &row[0]);
    }
}

#[test]
fn the_reading_from_which_on_a_speed_is_surely_too_high() {
    // JCGM 106, 8.3 (from memory): 99.9 % sure that 100 km/h are exceeded, u = 2 % of the reading: 107 km/h.
    let sure = |speed: f64| conformance(speed, 0.02 * speed, &interval("100", "", false)) >= 0.999;
    let first = (100..120).find(|speed| sure(f64::from(*speed)));
    assert_eq!(first, Some(107));
}

#[test]
fn probabilities_agree_with_fifty_digits() {
    let table = rows("conformance.csv");
    assert_eq!(table.len(), 400);
    for row in table {
        let number = |at: usize| row[at].parse::<f64>().unwrap();
        let found = conformance(number(0), number(1), &interval(&row[2], &row[3], &row[4] == "yes"));
        assert!((found - number(5)).abs() < 1e-13, "{row:?}: {found}");
    }
}

#[test]
fn a_guard_band_is_as_wide_as_the_uncertainty_on_either_side() {
    let limit = interval("62", "", false);
    for (reading, verdict) in [
        (62.5, Verdict::Pass),
        (62.49, Verdict::TooClose),
        (62.0, Verdict::TooClose),
        (61.51, Verdict::TooClose),
        (61.5, Verdict::Fail),
    ] {
        assert_eq!(decide(reading, 0.5, &limit, GUARDED), verdict, "{reading}");
    }
    for (reading, verdict) in [(62.0, Verdict::Pass), (61.99, Verdict::Fail)] {
        assert_eq!(decide(reading, 0.5, &limit, SIMPLE), verdict, "{reading}");
    }
    // Outside a range that is not wanted, whose ends belong to it.
    let outside = Interval { from: 5.0, to: 30.0, outside: true };
    for (reading, verdict) in [
        (3.9, Verdict::Pass),
        (4.5, Verdict::TooClose),
        (5.5, Verdict::TooClose),
        (17.0, Verdict::Fail),
        (29.5, Verdict::TooClose),
        (31.0, Verdict::Pass),
    ] {
        assert_eq!(decide(reading, 1.0, &outside, GUARDED), verdict, "{reading}");
    }
    assert_eq!(decide(30.0, 0.0, &outside, GUARDED), Verdict::Fail);
}

#[test]
fn what_no_number_holds_is_too_close_and_never_a_pass() {
    let limit = interval("0", "", false);
    for expanded in [f64::INFINITY, f64::NAN, f64::MAX] {
        assert_eq!(decide(1.0, expanded, &limit, GUARDED), Verdict::TooClose, "{expanded}");
    }
}

fn spread(text: &str, reading: f64, unit: &str, digit: Option<&str>) -> Result<f64, String> {
    let digit = digit.map(|text| Amount::parse(text).unwrap());
    Spread::parse(text)?.at(reading, Unit::parse(unit).unwrap(), digit)
}

#[test]
fn a_spread_adds_its_parts_in_the_unit_of_the_reading() {
    let close = |found: Result<f64, String>, wanted: f64| {
        let found = found.unwrap();
        assert!((found - wanted).abs() < 1e-12 * wanted.max(1.0), "{found} {wanted}");
    };
    // 2 % and five digits of 0.01 A: 12 % at 0.5 A, 4.5 % at 2 A, 2.5 % at 10 A.
    for (reading, share) in [(0.5, 0.12), (2.0, 0.045), (10.0, 0.025)] {
        close(spread("2 % + 5 digits", reading, "A", Some("0.01 A")), share * reading);
    }
    close(spread("12.7 mm", 62.0, "in", None), 0.5);
    close(spread("1.4 dB", 88.0, "dB(A)", None), 1.4);
    close(spread("1.8 degF", 20.0, "degC", None), 1.0);
    close(spread("1 % + 0.1 V", 12.0, "V", None), 0.22);
    for (text, unit, digit) in [
        ("2 %", "dB(A)", None),
        ("0.5 in", "A", None),
        ("5 digits", "A", None),
        ("5 digits", "A", Some("0.01 V")),
        ("100 %", "A", None),
        ("-0.1 A", "A", None),
        ("0.1 A + 0.2 A", "A", None),
        ("about 2", "A", None),
        ("", "A", None),
        ("1e308 A + 99 %", "mA", None),
    ] {
        assert!(spread(text, 1e305, unit, digit).is_err(), "{text} of a reading in {unit}");
    }
}

#[test]
fn limits_of_error_are_a_rectangle_and_a_certificate_says_its_k() {
    assert!((Kind::LimitsOfError.standard(1.0) - 1.0 / 3f64.sqrt()).abs() < 1e-15);
    assert_eq!(Kind::Expanded { k: 2.0 }.standard(1.0), 0.5);
    assert_eq!(Kind::Expanded { k: 3.0 }.standard(1.5), 0.5);
}

fn worse(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Pass => 0,
        Verdict::TooClose => 1,
        _ => 2,
    }
}

prop_compose! {
    fn any_limit()(limit in -1e3..1e3f64, wide in 0.0..1e3f64, kind in 0..3) -> (Demand, Require) {
        match kind {
            0 => (Demand::Number(limit), Require::AtLeast),
            1 => (Demand::Number(limit), Require::AtMost),
            _ => (Demand::Range { from: limit, to: limit + wide }, Require::Between),
        }
    }
}

proptest! {
    /// Into what is allowed, away from the nearest limit: never worse.
    #[test]
    fn moving_away_from_the_limit_never_turns_a_pass_into_a_fail(
        (demand, require) in any_limit(), start in -2e3..2e3f64, step in 0.0..1e3f64, share in 0.0..0.5f64, fixed in 0.0..50.0f64,
    ) {
        let allowed = Interval::by(&demand, require).unwrap();
        // The middle of a range is as far from its limits as can be.
        let target = match (&demand, require) {
            (Demand::Range { from, to }, _) => 0.5 * (from + to),
            (_, Require::AtLeast) => f64::INFINITY,
            _ => f64::NEG_INFINITY,
        };
        let moved = if target >= start { (start + step).min(target) } else { (start - step).max(target) };
        for rule in [GUARDED, SIMPLE] {
            let verdict = |value: f64, spread: f64| decide(value, spread, &allowed, rule);
            prop_assert!(worse(verdict(moved, fixed)) <= worse(verdict(start, fixed)));
            // Also where the uncertainty grows with the reading, it turns no pass into a fail.
            let with_share = |value: f64| verdict(value, fixed + share * value.abs());
            prop_assert!(!(with_share(start) == Verdict::Pass && with_share(moved) == Verdict::Fail));
        }
    }

    #[test]
    fn without_uncertainty_guarded_is_simple((demand, require) in any_limit(), reading in -2e3..2e3f64) {
        let allowed = Interval::by(&demand, require).unwrap();
        let simple = decide(reading, 0.0, &allowed, SIMPLE);
        prop_assert_eq!(decide(reading, 0.0, &allowed, GUARDED), simple);
        prop_assert_eq!(simple == Verdict::Pass, allowed.holds(reading));
        prop_assert_eq!(conformance(reading, 0.0, &allowed) == 1.0, allowed.holds(reading));
    }

    /// A guarded pass is at least 97.7 % sure with k = 2 against one limit, a guarded fail at most 2.3 %.
    #[test]
    fn a_guarded_decision_is_as_sure_as_its_k(
        limit in -1e3..1e3f64, reading in -1.1e3..1.1e3f64, expanded in 1e-3..100.0f64, least in any::<bool>(),
    ) {
        let require = if least { Require::AtLeast } else { Require::AtMost };
        let allowed = Interval::by(&Demand::Number(limit), require).unwrap();
        let sure = conformance(reading, expanded / 2.0, &allowed);
        match decide(reading, expanded, &allowed, GUARDED) {
            Verdict::Pass => prop_assert!(sure > 0.977, "{sure}"),
            Verdict::Fail => prop_assert!(sure < 0.023, "{sure}"),
            _ => prop_assert!(sure > 0.022 && sure < 0.978, "{sure}"),
        }
        prop_assert!((0.0..=1.0).contains(&sure));
    }

    /// Another unit changes nothing.
    #[test]
    fn a_scale_changes_no_verdict(
        (demand, require) in any_limit(), reading in -2e3..2e3f64, expanded in 0.0..100.0f64, power in -8..8,
    ) {
        // Powers of two scale without rounding.
        let scale = 2f64.powi(power);
        let scaled = match &demand {
            Demand::Number(limit) => Demand::Number(limit * scale),
            Demand::Range { from, to } => Demand::Range { from: from * scale, to: to * scale },
            other => other.clone(),
        };
        let verdict = |demand: &Demand, scale: f64| {
            decide(reading * scale, expanded * scale, &Interval::by(demand, require).unwrap(), GUARDED)
        };
        prop_assert_eq!(verdict(&demand, 1.0), verdict(&scaled, scale));
    }
}

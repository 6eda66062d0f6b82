//! Numbers for people: rounded only here, and with digits enough that a fail never prints as equal.

use crate::judge::{Finding, Found};
use crate::ruleset::{Demand, Require};
use crate::units::{Dimension, format_number};

/// Found and required as text, told apart where they differ.
pub(super) fn pair(finding: &Finding) -> (String, String) {
    let found = |digits: usize| match &finding.found {
        Found::Number(number) => format_number(*number, digits),
        Found::Words(words) if words.is_empty() => "none".to_owned(),
        Found::Words(words) => words.join(" "),
        Found::Nothing => "-".to_owned(),
    };
    let limit = |digits: usize| match &finding.limit {
        Demand::Number(number) => format_number(*number, digits),
        Demand::Range { from, to } => format!("{} to {}", format_number(*from, digits), format_number(*to, digits)),
        Demand::Words(words) => words.join(" "),
        Demand::Missing { .. } => "missing".to_owned(),
    };
    let limits: Vec<f64> = match &finding.limit {
        Demand::Number(number) => vec![*number],
        Demand::Range { from, to } => vec![*from, *to],
        Demand::Words(_) | Demand::Missing { .. } => Vec::new(),
    };
    let mut digits = match &finding.found {
        Found::Number(number) if !finding.counts_things() && number.abs() < 1000.0 => 1,
        _ => 0,
    };
    // A small limit keeps a digit that is not zero.
    while digits < 12 && limits.iter().any(|limit| *limit != 0.0 && format_number(*limit, digits) == "0") {
        digits += 1;
    }
    if let Found::Number(number) = &finding.found {
        let looks_equal = |digits: usize| {
            limits.iter().any(|limit| limit != number && found(digits) == format_number(*limit, digits))
        };
        while digits < 12 && looks_equal(digits) {
            digits += 1;
        }
    }
    let sign = match (&finding.limit, finding.require) {
        (Demand::Number(_), Require::AtLeast) => ">= ",
        (Demand::Number(_), Require::AtMost) => "<= ",
        (Demand::Words(_), Require::Only) if !matches!(&finding.limit, Demand::Words(words) if words.is_empty()) => {
            "only "
        }
        (Demand::Range { .. }, Require::Outside) => "outside ",
        (Demand::Words(_), Require::NoneOf) => "none of ",
        (Demand::Words(_), Require::SomeOf) => "one of ",
        _ => "",
    };
    // A limit is printed as it is asked: 11.8 is not 12.
    (found(digits), format!("{sign}{}", limit(digits.max(3))))
}

/// What is asked of several figures: as it is asked (11.8 is not 12), and a small one keeps a digit that is not zero.
pub(super) fn asked(limit: f64) -> String {
    let digits = (3..12).find(|digits| limit == 0.0 || format_number(limit, *digits) != "0");
    format_number(limit, digits.unwrap_or(12))
}

/// A figure beside what is asked of it, if anything is: with digits enough that it prints on the side on which it lies,
/// and as equal only where it is.
pub(super) fn beside(found: f64, limit: Option<f64>) -> String {
    let Some(limit) = limit else { return format_number(found, 0) };
    let wanted = asked(limit);
    if found == limit {
        return wanted;
    }
    let tells = |digits: &usize| {
        let side = |one: f64| one.partial_cmp(&limit);
        let digits = *digits;
        let stays = format!("{found:.digits$}").parse().is_ok_and(|rounded: f64| side(rounded) == side(found));
        stays && format_number(found, digits) != wanted
    };
    format_number(found, (0..12).find(tells).unwrap_or(12))
}

/// A margin in per cent with its sign, for colours a distance in x, y, for levels in decibels; a small one keeps a digit that is not zero.
pub(super) fn margin(finding: &Finding) -> String {
    let Some(margin) = finding.margin else { return String::new() };
    if finding.unit.dimension() == Dimension::Words {
        // A distance in the x, y diagram, which has no unit.
        return format!("{margin:+.4}");
    }
    if matches!(finding.unit.dimension(), Dimension::SoundLevel | Dimension::Decibels) {
        let mut digits = 1;
        while digits < 6 && margin != 0.0 && format_number(margin, digits) == "0" {
            digits += 1;
        }
        let sign = if margin > 0.0 { "+" } else { "" };
        return format!("{sign}{} dB", format_number(margin, digits));
    }
    let percent = margin * 100.0;
    if percent == 0.0 {
        return "0 %".to_owned();
    }
    let mut digits = usize::from(percent.abs() < 10.0);
    while digits < 6 && format_number(percent, digits) == "0" {
        digits += 1;
    }
    let sign = if percent > 0.0 { "+" } else { "" };
    format!("{sign}{} %", format_number(percent, digits))
}

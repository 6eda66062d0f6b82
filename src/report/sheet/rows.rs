//! Limit, expected value and uncertainty of a line in words.

use crate::judge::Found;
use crate::readings::{Answer, Line};
use crate::ruleset::{Demand, Require};
use crate::units::{Dimension, digits_apart, format_number};

/// The unit of what is written into a line; questions and words have none.
pub(in crate::report) fn unit(line: &Line) -> &'static str {
    if line.unit.dimension() == Dimension::Words { "" } else { line.unit.symbol() }
}

/// What is asked, as a person reads it.
pub(in crate::report) fn limit(line: &Line) -> String {
    let number = |number: f64| {
        let shown = format_number(number, digits_apart(&[number], 3));
        format!("{shown} {}", unit(line)).trim_end().to_owned()
    };
    match &line.limit {
        Demand::Number(limit) => match line.require {
            Require::AtLeast => format!(">= {}", number(*limit)),
            Require::AtMost => format!("<= {}", number(*limit)),
            _ => number(*limit),
        },
        Demand::Range { from, to } => {
            let lead = if line.require == Require::Outside { "outside " } else { "" };
            let digits = digits_apart(&[*from, *to], 3);
            format!("{lead}{} to {} {}", format_number(*from, digits), format_number(*to, digits), unit(line))
                .trim_end()
                .to_owned()
        }
        Demand::Words(words)
            if line.answer == Answer::YesNo || *words == ["yes"] && line.require != Require::NoneOf =>
        {
            "yes".to_owned()
        }
        Demand::Words(words) => {
            let lead = match line.require {
                Require::NoneOf => "none of ",
                Require::SomeOf => "one of ",
                Require::Exactly => "exactly ",
                _ if words.is_empty() => "none",
                _ => "only ",
            };
            format!("{lead}{}", words.join(" "))
        }
        Demand::Missing { see, .. } => match see {
            Some(see) => format!("missing: look up {see}"),
            None => "missing".to_owned(),
        },
    }
}

/// What is said of a figure that is only a bound of what was computed.
pub(in crate::report) const NOT_KNOWN_WELL: &str = "not known well";

/// What was computed.
pub(in crate::report) fn expected(line: &Line) -> String {
    match &line.expected {
        Found::Number(number) => {
            let bound = if line.is_value { String::new() } else { format!("{NOT_KNOWN_WELL}: ") };
            // Without commas between thousands, so that it can be typed as it stands.
            let shown = format_number(*number, line.decimals(*number)).replace(',', "");
            format!("{bound}{shown} {}", unit(line)).trim_end().to_owned()
        }
        Found::Words(words) if words.is_empty() => "none".to_owned(),
        Found::Words(words) => words.join(" "),
        Found::Nothing => "-".to_owned(),
    }
}

/// How far off the trade reckons a reading to be, and how that is known.
pub(in crate::report) fn reckon(line: &Line) -> String {
    line.reckon.map(|(amount, basis)| format!("{amount} either way [{basis}]")).unwrap_or_default()
}

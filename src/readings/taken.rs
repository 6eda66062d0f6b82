//! What stands in a line, as a figure in the line's unit or as words.

use super::lines::{Answer, Line};
use crate::diagnostic::{Diagnostic, Log};
use crate::load::figure::mistake;
use crate::load::reader::Text;
use crate::units::{Amount, AmountError, Dimension, Unit};

/// What was read.
pub(super) enum Taken {
    /// A figure in the line's unit.
    Number {
        value: f64,
        /// Of what was counted over a time: one more or less, in the line's unit, taken as U with k = 2.
        counted: Option<f64>,
    },
    /// Words.
    Words(Vec<String>),
}

/// Reads a value as its line asks; mistakes are logged at it.
pub(super) fn taken(line: &Line, value: &Text, log: &Log) -> Option<Taken> {
    let text = value.text.trim();
    let refuse = |error: Diagnostic| {
        log.push(error.at(&value.span, ""));
        None
    };
    match line.answer {
        Answer::Words => Some(Taken::Words(words(text))),
        Answer::YesNo => match text.to_lowercase().as_str() {
            word @ ("yes" | "no") => Some(Taken::Words(vec![word.to_owned()])),
            _ => refuse(
                Diagnostic::error("unknown-word", format!("`{text}` does not answer this line"))
                    .help("write yes or no"),
            ),
        },
        Answer::Count => {
            let read = text
                .parse::<f64>()
                .or_else(|_| Amount::parse(text).and_then(|amount| amount.in_dimension(line.unit.dimension())));
            match read {
                Ok(number) if number >= 0.0 && number.fract() == 0.0 && number <= 1e9 => {
                    Some(Taken::Number { value: number, counted: None })
                }
                _ => refuse(
                    Diagnostic::error("not-a-number", format!("`{text}` is no number of things"))
                        .help("write a whole number, such as 2"),
                ),
            }
        }
        Answer::Figure => {
            if let Some(found) = counted(text, line.unit) {
                return Some(found);
            }
            match Amount::parse(text).and_then(|amount| in_unit(amount, line.unit)) {
                Ok(value) => Some(Taken::Number { value, counted: None }),
                Err(error) => refuse(mistake(&error, line.unit.dimension(), text)),
            }
        }
    }
}

/// In the line's own unit a figure stays as it was written.
fn in_unit(amount: Amount, unit: Unit) -> Result<f64, AmountError> {
    if amount.unit() == unit {
        return Ok(amount.number());
    }
    amount.in_dimension(unit.dimension()).map(|base| unit.from_base(base))
}

/// `75 in 60 s`: what was counted, and over which time.
fn counted(text: &str, unit: Unit) -> Option<Taken> {
    if unit.dimension() != Dimension::Rate {
        return None;
    }
    let (number, time) = text.split_once(" in ")?;
    let number = number.trim().parse::<f64>().ok().filter(|number| *number >= 0.0 && number.is_finite())?;
    let minutes = Amount::parse(time).ok()?.in_dimension(Dimension::Time).ok()? / 60.0;
    let rate = |count: f64| unit.from_base(count / minutes);
    (minutes > 0.0 && rate(number).is_finite()).then(|| Taken::Number { value: rate(number), counted: Some(rate(1.0)) })
}

/// Words as people part them; `none` and `-` are none.
fn words(text: &str) -> Vec<String> {
    let words = text.split([' ', ',', ';']).map(str::trim);
    words.filter(|word| !matches!(*word, "" | "none" | "-" | "and")).map(str::to_owned).collect()
}

//! What stands in a line, as a figure in the line's unit or as words.

use super::lines::{Answer, Line};
use super::words;
use crate::diagnostic::{Diagnostic, Log};
use crate::load::figure::mistake;
use crate::load::reader::Text;
use crate::quantity::is_drop_of_source;
use crate::ruleset::Demand;
use crate::units::{Amount, AmountError, Dimension, Unit, digits_apart};

/// What was read.
pub(super) enum Taken {
    /// A figure in the line's unit.
    Number {
        value: f64,
        /// How it came about, where it was not read as it stands.
        how: Option<How>,
    },
    /// Words.
    Words(Vec<String>),
}

/// What a figure was worked out from.
#[derive(Clone, Copy)]
pub(super) enum How {
    /// From a count and its time.
    Counted(Counted),
    /// From two voltages, in volts.
    Of {
        /// What is lost.
        part: f64,
        /// What there is at the source.
        whole: f64,
    },
}

/// A number of flashes over a time.
#[derive(Clone, Copy)]
pub(super) struct Counted {
    /// One flash more or less, in the line's unit: U with k = 2.
    pub one: f64,
    /// The time, in seconds.
    pub seconds: f64,
}

/// Reads a value as its line asks; mistakes are logged at it.
pub(super) fn taken(line: &Line, value: &Text, log: &Log) -> Option<Taken> {
    let text = value.text.trim();
    let refuse = |error: Diagnostic| {
        log.push(error.at(&value.span, ""));
        None
    };
    match line.answer {
        Answer::Words | Answer::YesNo => words::read(line, value, log).map(Taken::Words),
        Answer::Count => {
            let read = text
                .parse::<f64>()
                .or_else(|_| Amount::parse(text).and_then(|amount| amount.in_dimension(line.unit.dimension())));
            match read {
                Ok(number) if number >= 0.0 && number.fract() == 0.0 && number <= 1e9 => {
                    Some(Taken::Number { value: number, how: None })
                }
                _ => refuse(
                    Diagnostic::error("not-a-number", format!("`{text}` is no number of things"))
                        .help("write a whole number, such as 2"),
                ),
            }
        }
        Answer::Figure => {
            if let Some(found) = counted(text, line.unit).or_else(|| of_voltages(text, line)) {
                return Some(found);
            }
            match Amount::parse(text).and_then(|amount| in_unit(amount, line.unit)) {
                Ok(value) if value < 0.0 && !line.signed => refuse(
                    Diagnostic::error("below-zero", format!("`{text}` is below zero, which this cannot be"))
                        .help("write the amount that was read; check the leads or the zero of the instrument"),
                ),
                Ok(value) => Some(Taken::Number { value, how: None }),
                Err(error) => {
                    let told = mistake(&error, line.unit.dimension(), text);
                    let fraction =
                        line.unit.dimension() == Dimension::Length && text.contains(['/', '\'', '"', '\u{2032}']);
                    refuse(if fraction {
                        told.help("write decimals: 25.5 in for 25 1/2, 148 in for 12 ft 4 in")
                    } else {
                        told
                    })
                }
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
    let how = Counted { one: rate(1.0), seconds: 60.0 * minutes };
    (minutes > 0.0 && rate(number).is_finite())
        .then(|| Taken::Number { value: rate(number), how: Some(How::Counted(how)) })
}

/// `1.3 V of 13.8 V`: what is lost of the voltage of the source.
fn of_voltages(text: &str, line: &Line) -> Option<Taken> {
    if !is_drop_of_source(line.quantity) {
        return None;
    }
    let (part, whole) = text.split_once(" of ")?;
    let volts = |text: &str| Amount::parse(text).ok()?.in_dimension(Dimension::Voltage).ok();
    let (part, whole) = (volts(part)?, volts(whole)?);
    let value = line.unit.from_base(part / whole);
    (part >= 0.0 && whole > 0.0 && value.is_finite())
        .then_some(Taken::Number { value, how: Some(How::Of { part, whole }) })
}

impl Line {
    /// How many decimals a figure of this line is printed with: three significant digits, and as many as tell it from
    /// the limit. Things that are counted have none.
    pub fn decimals(&self, number: f64) -> usize {
        let mut beside = vec![number];
        match &self.limit {
            Demand::Number(limit) => beside.push(*limit),
            Demand::Range { from, to } => beside.extend([*from, *to]),
            Demand::Words(_) | Demand::Missing { .. } => {}
        }
        let three = |number: f64| {
            let small = (1..=12_u8).find(|digits| number.abs() * 10_f64.powi(i32::from(*digits)) >= 99.95);
            usize::from(if number == 0.0 { 1 } else { small.unwrap_or(12) })
        };
        let least = if self.answer == Answer::Count { 0 } else { three(number) };
        digits_apart(&beside, least)
    }

    /// Half a unit of the last digit that the expected figure is printed with: what rounding takes from it.
    pub(super) fn rounding(&self, number: f64) -> f64 {
        let decimals = i32::try_from(self.decimals(number)).unwrap_or(12);
        0.5 * 10_f64.powi(-decimals)
    }
}

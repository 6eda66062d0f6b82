//! A number with its unit as text: `"330 in"`, `"1_000_000 cd.s/min"`, `"-4 deg"`.

use std::fmt;

use super::{Dimension, Unit};

/// A finite number and the unit it was written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Amount {
    number: f64,
    unit: Unit,
}

/// Why a text is not the quantity that was asked for.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum AmountError {
    /// No unit behind the number.
    #[error("`{text}` has no unit")]
    NoUnit {
        /// What was written.
        text: String,
    },
    /// The unit is not known.
    #[error("`{unit}` is not a unit that is read here")]
    UnknownUnit {
        /// The unit as written.
        unit: String,
    },
    /// What stands before the unit is not a finite number.
    #[error("`{text}` is not a finite number")]
    NotANumber {
        /// What was written.
        text: String,
    },
    /// The unit measures something else.
    #[error("`{unit}` is {is}, but {wanted} is needed", is = .is.name(), wanted = .wanted.name())]
    WrongDimension {
        /// The unit as written.
        unit: &'static str,
        /// What it measures.
        is: Dimension,
        /// What was needed.
        wanted: Dimension,
    },
    /// A time that is not a whole number of microseconds.
    #[error("`{text}` is not a whole number of microseconds within 100 days")]
    NotWholeMicros {
        /// What was written.
        text: String,
    },
}

impl Amount {
    /// A number in a unit. Not finite numbers are refused.
    pub fn new(number: f64, unit: Unit) -> Result<Self, AmountError> {
        if number.is_finite() && unit.to_base(number).is_finite() {
            Ok(Self { number, unit })
        } else {
            Err(AmountError::NotANumber { text: number.to_string() })
        }
    }

    /// Reads `"330 in"`. Underscores may group digits; a space before the unit is optional.
    pub fn parse(text: &str) -> Result<Self, AmountError> {
        let text = text.trim();
        let end = number_end(text);
        let (number, unit) = text.split_at_checked(end).unwrap_or((text, ""));
        let unit = unit.trim();
        let number = parse_number(number)?;
        if unit.is_empty() {
            return Err(AmountError::NoUnit { text: text.to_owned() });
        }
        let unit = Unit::parse(unit).ok_or_else(|| AmountError::UnknownUnit { unit: unit.to_owned() })?;
        Self::new(number, unit)
    }

    /// The number as written.
    pub fn number(self) -> f64 {
        self.number
    }

    /// The unit as written.
    pub fn unit(self) -> Unit {
        self.unit
    }

    /// The number in the base unit of `wanted`, or an error if it measures something else.
    pub fn in_dimension(self, wanted: Dimension) -> Result<f64, AmountError> {
        if self.unit.dimension() == wanted {
            Ok(self.unit.to_base(self.number))
        } else {
            Err(AmountError::WrongDimension { unit: self.unit.symbol(), is: self.unit.dimension(), wanted })
        }
    }
}

/// How many bytes of `text` belong to the number: digits, signs, a point, underscores, an exponent.
fn number_end(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut end = 0;
    for (at, byte) in bytes.iter().enumerate() {
        let exponent = matches!(byte, b'e' | b'E')
            && at > 0
            && bytes.get(at + 1).is_some_and(|next| next.is_ascii_digit() || matches!(next, b'+' | b'-'));
        if byte.is_ascii_digit() || matches!(byte, b'+' | b'-' | b'.' | b'_') || exponent {
            end = at + 1;
        } else {
            break;
        }
    }
    end
}

fn parse_number(text: &str) -> Result<f64, AmountError> {
    let digits: String = text.trim().chars().filter(|c| *c != '_').collect();
    match digits.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => Err(AmountError::NotANumber { text: text.trim().to_owned() }),
    }
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.number, self.unit)
    }
}

/// Below this every whole number is a number of its own (2^53).
const MOST_WHOLE: f64 = 9_007_199_254_740_992.0;

/// A number for a person: thousands grouped, `digits` decimals, no trailing zeros after the point.
pub fn format_number(number: f64, digits: usize) -> String {
    // Whole numbers are what is printed most, and need no exact decimals, which are slow.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Whole, not negative and below 2^53.
    let fixed = match number.abs() {
        whole if whole.fract() == 0.0 && whole < MOST_WHOLE => (whole as u64).to_string(),
        number => format!("{number:.digits$}"),
    };
    let (whole, fraction) = fixed.split_once('.').unwrap_or((&fixed, ""));
    let fraction = fraction.trim_end_matches('0');
    let mut text = String::with_capacity(2 * fixed.len() + 1);
    if number < 0.0 && (whole != "0" || !fraction.is_empty()) {
        text.push('-');
    }
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    if !fraction.is_empty() {
        text.push('.');
        text.push_str(fraction);
    }
    text
}

/// How many decimals keep these numbers apart in print, and those that are not zero from zero; at least `least`.
pub fn digits_apart(numbers: &[f64], least: usize) -> usize {
    let alike = |digits: usize| {
        let shown = |number: f64| format_number(number, digits);
        let same = |one: f64, other: f64| one != other && shown(one) == shown(other);
        numbers.iter().any(|one| same(*one, 0.0) || numbers.iter().any(|other| same(*one, *other)))
    };
    (least..12).find(|digits| !alike(*digits)).unwrap_or(12)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_metric_and_inch() {
        let length = |text| Amount::parse(text).unwrap().in_dimension(Dimension::Length).unwrap();
        assert_eq!(length("330 in"), 8.382);
        assert_eq!(length("-4.5mm"), -0.0045);
        assert_eq!(length("1e3 m"), 1000.0);
        assert_eq!(Amount::parse("1_000_000 cd.s/min").unwrap().number(), 1e6);
    }

    #[test]
    fn refuses_what_is_not_a_quantity() {
        assert!(matches!(Amount::parse("12"), Err(AmountError::NoUnit { .. })));
        assert!(matches!(Amount::parse("nan deg"), Err(AmountError::NotANumber { .. })));
        assert!(matches!(Amount::parse("1e999 m"), Err(AmountError::NotANumber { .. })));
        assert!(matches!(Amount::parse("3 furlong"), Err(AmountError::UnknownUnit { .. })));
        let seconds = Amount::parse("3 s").unwrap();
        assert!(matches!(seconds.in_dimension(Dimension::Length), Err(AmountError::WrongDimension { .. })));
    }

    #[test]
    fn numbers_that_differ_are_told_apart() {
        assert_eq!(digits_apart(&[62.0, 62.04], 1), 2);
        assert_eq!(digits_apart(&[62.0, 62.0, 1.0], 1), 1);
        assert_eq!(digits_apart(&[0.0004], 1), 4);
    }

    #[test]
    fn groups_thousands() {
        assert_eq!(format_number(1_000_000.0, 0), "1,000,000");
        assert_eq!(format_number(-1234.5, 2), "-1,234.5");
        assert_eq!(format_number(-0.001, 1), "0");
        assert_eq!(format_number(-1234.0, 2), "-1,234");
        assert_eq!(format_number(-0.0, 1), "0");
        assert_eq!(format_number(MOST_WHOLE - 1.0, 1), "9,007,199,254,740,991");
        assert_eq!(format_number(1e16, 0), "10,000,000,000,000,000");
    }
}

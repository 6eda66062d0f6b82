//! How far an instrument may be off, as its paper says it: `"2 % + 5 digits"`, `"0.5 in"`, `"1.4 dB"`.

use crate::units::{Amount, AmountError, Dimension, Unit};

/// A share of the reading, an absolute part and digits of the display, added up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Spread {
    /// A share of which it is not said of what: of the reading, or points where the reading is itself a share.
    share: f64,
    /// A share that is said to be of the reading.
    of_reading: f64,
    absolute: Option<Amount>,
    digits: f64,
}

/// How a spread is meant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// Expanded uncertainty with its coverage factor.
    Expanded {
        /// U = k u.
        k: f64,
    },
    /// Limits of error, nothing within them likelier than anything else: u = a / sqrt 3 (JCGM 100, clause 4.3.7, clause
    /// from memory).
    LimitsOfError,
}

impl Spread {
    /// Reads a spread; the error says what is wrong.
    ///
    /// # Errors
    /// A part that is no share below 100 %, no figure with its unit and no number of digits; nothing at all.
    pub fn parse(text: &str) -> Result<Self, String> {
        let mut spread = Self::default();
        for part in text.split('+').map(str::trim) {
            if let Some(digits) = part.strip_suffix("digits").or_else(|| part.strip_suffix("digit")) {
                let number = digits.trim().parse::<f64>().ok().filter(|number| number.is_finite() && *number >= 0.0);
                spread.digits += number.ok_or_else(|| format!("`{part}` is no number of digits"))?;
                continue;
            }
            let (part, of_reading) = match part.strip_suffix("of reading") {
                Some(rest) => (rest.trim(), true),
                None => (part, false),
            };
            let amount = Amount::parse(part).map_err(|error: AmountError| error.to_string())?;
            if amount.number() < 0.0 {
                return Err(format!("`{part}` is below zero"));
            }
            if of_reading {
                if amount.unit().dimension() != Dimension::Share {
                    return Err(format!("`{part}` is no share of a reading"));
                }
                spread.of_reading += amount.unit().to_base(amount.number());
            } else if amount.unit().dimension() == Dimension::Share {
                spread.share += amount.unit().to_base(amount.number());
            } else if spread.absolute.replace(amount).is_some() {
                return Err("it has two figures with a unit; write one".to_owned());
            }
        }
        let absolute = spread.absolute.map_or(0.0, Amount::number);
        let share = spread.share + spread.of_reading;
        if share == 0.0 && absolute == 0.0 && spread.digits == 0.0 {
            return Err("it has to be greater than zero: nothing is read exactly".to_owned());
        }
        if share >= 1.0 {
            return Err("100 % and more of the reading leaves nothing known".to_owned());
        }
        Ok(spread)
    }

    /// Whether it counts digits of the display, so that their size has to be known.
    pub fn counts_digits(&self) -> bool {
        self.digits > 0.0
    }

    /// What its figure with a unit is of, where it has one.
    pub(super) fn dimension(&self) -> Option<Dimension> {
        self.absolute.map(|amount| amount.unit().dimension())
    }

    /// What it comes to for a reading, in `unit`; `digit` is the last digit of the display.
    ///
    /// # Errors
    /// A unit that does not fit the reading, or a share of a level in decibels, which says nothing.
    pub fn at(&self, reading: f64, unit: Unit, digit: Option<Amount>) -> Result<f64, String> {
        let share = self.share + self.of_reading;
        let is_level = matches!(unit.dimension(), Dimension::SoundLevel | Dimension::Decibels);
        if share > 0.0 && is_level {
            return Err("a share of a level says nothing: state decibels".to_owned());
        }
        let absolute = self.absolute.map_or(Ok(0.0), |amount| difference(amount, unit))?;
        let digit = match digit {
            Some(digit) if self.counts_digits() => difference(digit, unit)?,
            _ if self.counts_digits() => return Err("`digit` does not say what one digit is worth".to_owned()),
            _ => 0.0,
        };
        let spread = share * reading.abs() + absolute + self.digits * digit;
        if spread.is_finite() { Ok(spread) } else { Err("it is beyond all numbers".to_owned()) }
    }
}

impl Spread {
    /// The same beside a reading, as a person writes it: `0.5 %` beside 9.9 % are points, and only `5 % of reading` is a
    /// share of it.
    ///
    /// # Errors
    /// As [`Spread::at`].
    pub fn beside(&self, reading: f64, unit: Unit) -> Result<f64, String> {
        if unit.dimension() != Dimension::Share {
            return self.at(reading, unit, None);
        }
        let points = unit.from_base(self.share);
        Ok(points + Self { share: 0.0, ..self.clone() }.at(reading, unit, None)?)
    }
}

impl Kind {
    /// The standard uncertainty that a spread of this kind means.
    pub fn standard(self, spread: f64) -> f64 {
        match self {
            Self::Expanded { k } => spread / k,
            Self::LimitsOfError => spread / 3f64.sqrt(),
        }
    }
}

/// A difference in another unit: without the zero of temperatures, and decibels for any level.
pub(super) fn difference(amount: Amount, unit: Unit) -> Result<f64, String> {
    let (is, wanted) = (amount.unit().dimension(), unit.dimension());
    let levels = [Dimension::SoundLevel, Dimension::Decibels];
    if is != wanted && !(levels.contains(&is) && levels.contains(&wanted)) {
        return Err(format!("{amount} is {}, and the reading is {}", is.name(), wanted.name()));
    }
    if amount.unit() == unit {
        return Ok(amount.number());
    }
    let base = amount.unit().to_base(amount.number()) - amount.unit().to_base(0.0);
    Ok(unit.from_base(base) - unit.from_base(0.0))
}

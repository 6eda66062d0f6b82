//! Figures with a unit as typed quantities, and what is said of those that are none.

use crate::diagnostic::{Diagnostic, Log, Span};
use crate::units::{
    Amount, AmountError, Ampere, AmpereHour, Area, Candela, Celsius, Decibels, Degrees, Dimension, Kilopascal, Length,
    LitrePerHour, Micros, Ohm, OpticalPower, PerMinute, Seconds, Share, SoundLevel, Unit, Volt, Watt, Wavelength,
};

/// A quantity that can be read from a text.
pub trait Figure: TryFrom<Amount, Error = AmountError> + PartialOrd + Copy {
    /// What its units measure.
    const DIMENSION: Dimension;
    /// None of it.
    const ZERO: Self;
}

macro_rules! figures {
    ($($name:ident: $dimension:ident),*) => {$(
        impl Figure for $name {
            const DIMENSION: Dimension = Dimension::$dimension;
            const ZERO: Self = $name::ZERO;
        }
    )*};
}
figures!(
    Length: Length, Degrees: Angle, Micros: Time, Candela: Intensity, OpticalPower: OpticalPower, Volt: Voltage,
    Ampere: Current, Share: Share, Wavelength: Wavelength, Watt: Power, Ohm: Resistance, AmpereHour: Charge,
    Celsius: Temperature, Seconds: Time, Area: Area, LitrePerHour: FuelRate, SoundLevel: SoundLevel, Decibels: Decibels,
    Kilopascal: Pressure, PerMinute: Rate
);

/// Reads a figure; a mistake is logged at `span`.
pub fn figure<Q: Figure>(text: &str, span: &Span, log: &Log) -> Option<Q> {
    let read = Amount::parse(text).and_then(|amount| Ok((amount, Q::try_from(amount)?)));
    match read {
        Ok((amount, quantity)) if is_plausible(amount) => Some(quantity),
        Ok(_) => {
            let message = format!("`{}` cannot be meant: no vehicle has anything like it", text.trim());
            log.push(Diagnostic::error("out-of-range", message).at(span, "").help("check the figure and its unit"));
            None
        }
        Err(error) => {
            log.push(mistake(&error, Q::DIMENSION, text).at(span, ""));
            None
        }
    }
}

/// Figures of vehicles and lamps lie many orders of magnitude inside these bounds (practice); without them the
/// arithmetic behind could leave the finite numbers.
fn is_plausible(amount: Amount) -> bool {
    let dimension = amount.unit().dimension();
    let largest = match dimension {
        Dimension::Length => 1e5,
        Dimension::Angle => 3600.0,
        Dimension::OpticalPower => 1e12,
        Dimension::Temperature => 300.0,
        _ => 1e9,
    };
    // A time is held exactly, and has bounds of its own.
    let size = amount.unit().to_base(amount.number()).abs();
    let small = matches!(dimension, Dimension::Temperature | Dimension::Area | Dimension::Resistance);
    dimension == Dimension::Time || (small && size <= largest) || size == 0.0 || (1e-6..=largest).contains(&size)
}

/// What a bad figure is told, with the units that fit.
pub fn mistake(error: &AmountError, wanted: Dimension, text: &str) -> Diagnostic {
    let text = text.trim();
    let symbols = wanted.symbols();
    // The unit that lamp lists are mostly written in.
    let usual = match wanted {
        Dimension::Length => "in",
        Dimension::Time => "ms",
        Dimension::Share => "%",
        Dimension::Area => "mm2",
        _ => Unit::base(wanted).symbol(),
    };
    if has_decimal_comma(text) {
        let message = format!("`{text}` has a comma in its number");
        let help = "write a point before the decimals and nothing between thousands, such as 1016.5";
        return Diagnostic::error("decimal-comma", message).help(help);
    }
    if text.is_empty() {
        let message = format!("{} with its unit is needed here, and nothing stands here", wanted.name());
        return Diagnostic::error("not-a-number", message).help(format!("units that fit: {symbols}"));
    }
    match error {
        AmountError::NoUnit { .. } => Diagnostic::error("no-unit", error.to_string())
            .help(format!("units that fit: {symbols}; \"{text} {usual}\" if it is that")),
        AmountError::UnknownUnit { unit } => {
            let known: Vec<&str> = Unit::all().filter(|unit| unit.dimension() == wanted).map(Unit::symbol).collect();
            let error = Diagnostic::error("unknown-unit", error.to_string());
            let error = match crate::diagnostic::nearest(unit, &known) {
                _ if unit.contains(|c: char| c.is_ascii_digit()) => {
                    error.help("write one number and one unit: 12 ft 6 in is \"150 in\"")
                }
                Some(near) => error.help(format!("did you mean `{near}`?")),
                None => error,
            };
            error.help(format!("units that fit: {symbols}"))
        }
        AmountError::WrongDimension { .. } => {
            Diagnostic::error("wrong-dimension", error.to_string()).help(format!("units that fit: {symbols}"))
        }
        AmountError::NotANumber { .. } => {
            Diagnostic::error("not-a-number", format!("`{text}` does not begin with a finite number"))
                .help(format!("write a number and its unit, such as \"12 {usual}\"; units that fit: {symbols}"))
        }
        AmountError::NotWholeMicros { .. } => Diagnostic::error("too-fine-a-time", error.to_string())
            .help("times are read to the microsecond (\"us\"), up to 100 days"),
    }
}

/// Whether a comma stands between two digits, or before the first.
fn has_decimal_comma(text: &str) -> bool {
    let mut before = '0';
    text.chars().zip(text.chars().skip(1)).any(|(c, next)| {
        let found = c == ',' && next.is_ascii_digit() && (before.is_ascii_digit() || matches!(before, '-' | '+'));
        before = c;
        found
    })
}

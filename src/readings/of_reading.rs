//! How uncertain one reading is: by what it says itself, by counting, and by its instrument.

use super::lines::{Answer, Line};
use super::record::{Instrument, Reading, Record};
use super::taken::Counted;
use super::uncertainty::{Kind, Spread};
use crate::units::{Amount, Dimension, Unit, digits_apart, format_number};

/// What is known of the uncertainty of a reading.
#[derive(Default)]
pub(super) struct Known {
    /// The standard uncertainty, in the line's unit; none where nothing says it.
    pub standard: Option<f64>,
    /// What a reader must know of it.
    pub notes: Vec<String>,
    /// The instrument, or what is said of it, cannot measure this.
    pub wrong: Option<String>,
}

/// The standard uncertainty of a figure. Of what was counted it is that of the count (one flash, k = 2) and that of the
/// time, relative to each, as the root of their squares (JCGM 100, clause 5.1.6, from memory). What the reading says
/// itself goes before its instrument, never below what counting leaves open, and never makes an instrument fit.
pub(super) fn known(record: &Record, line: &Line, reading: &Reading, value: f64, counted: Option<Counted>) -> Known {
    if line.answer == Answer::Count {
        return Known { standard: Some(0.0), ..Known::default() };
    }
    let unit = line.unit;
    let named = reading.instrument.as_ref().and_then(|named| record.instrument(&named.text));
    let of_count = counted.map(|counted| 0.5 * counted.one);
    let of_instrument = match named.map(|instrument| by_instrument(instrument, unit, value, counted)) {
        // Of what is reckoned from several readings of an instrument only the person knows the uncertainty.
        Some(Err(_)) if reading.uncertainty.is_some() && named.is_some_and(|named| is_reckoned(named, unit)) => None,
        Some(Err(why)) => return Known { wrong: Some(why), ..Known::default() },
        Some(Ok(standard)) => standard,
        None => None,
    };
    let own = reading.uncertainty.as_ref().map(|(spread, k)| (spread.beside(value, unit), Kind::Expanded { k: *k }));
    let mut known = Known::default();
    known.standard = match own {
        Some((Err(why), _)) => return Known { wrong: Some(format!("its uncertainty does not fit: {why}")), ..known },
        Some((Ok(spread), kind)) => {
            let own = kind.standard(spread);
            let least = of_count.unwrap_or(0.0);
            if own < least {
                let digits = digits_apart(&[2.0 * least], 1);
                known.notes.push(format!(
                    "its own uncertainty is less than one flash of the count: U = {} {unit} is taken",
                    format_number(2.0 * least, digits)
                ));
            }
            Some(own.max(least))
        }
        // Without a stopwatch, or one of which nothing is known, the time may be anything.
        None => match (of_count, of_instrument) {
            (Some(count), Some(time)) => Some(count.hypot(time)),
            (Some(count), None) if named.is_none() => Some(count),
            (Some(_), None) => None,
            (None, of_instrument) => of_instrument,
        },
    };
    // A share of nothing is nothing, and says nothing.
    if known.standard == Some(0.0) {
        known.standard = None;
        known
            .notes
            .push("a share of zero is no uncertainty: state it as a figure with its unit, or in digits of the instrument and `digit`".to_owned());
    }
    known
}

/// Whether a figure in this unit is reckoned from what the instrument reads: a share from two readings, a rate from a
/// time, an area from lengths.
fn is_reckoned(instrument: &Instrument, unit: Unit) -> bool {
    let of = instrument.spread.as_ref().and_then(|(spread, _)| spread.dimension());
    match unit.dimension() {
        Dimension::Share => true,
        Dimension::Rate => of == Some(Dimension::Time),
        Dimension::Area => of == Some(Dimension::Length),
        _ => false,
    }
}

/// What an instrument adds: to what it reads itself, or as the share by which its time may be off.
fn by_instrument(
    instrument: &Instrument,
    unit: Unit,
    value: f64,
    counted: Option<Counted>,
) -> Result<Option<f64>, String> {
    let Some((spread, kind)) = &instrument.spread else { return Ok(None) };
    let digit = instrument.digit;
    let wrong = |why: String| format!("the uncertainty of `{}` does not fit: {why}", instrument.id.text);
    let at = |value: f64, unit: Unit, digit: Option<Amount>| Spread::at(spread, value, unit, digit).map_err(wrong);
    let Some(counted) = counted else { return Ok(Some(kind.standard(at(value, unit, digit)?))) };
    let time = kind.standard(at(counted.seconds, Unit::base(Dimension::Time), digit)?);
    Ok(Some(value * time / counted.seconds))
}

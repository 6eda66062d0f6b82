//! How uncertain one reading is: by what it says itself, by counting, and by its instrument.

use super::instrument::unfit;
use super::lines::{Answer, Line};
use super::record::{Instrument, Reading, Record};
use super::taken::How;
use super::uncertainty::{Kind, Spread};
use crate::quantity::{is_drop_of_source, is_worked_out};
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
    /// Its own uncertainty is below that of its instrument.
    pub understated: Option<String>,
}

/// The standard uncertainty of a figure. Of what was counted it is that of the count (one flash, k = 2) and that of the
/// time, relative to each, as the root of their squares; of a drop that of the difference of two voltages and of its quotient
/// (JCGM 100, clauses 5.1.2 and 5.1.6, from memory). What the reading says itself counts where its instrument, or counting, leaves no more open, and never
/// makes an instrument fit.
pub(super) fn known(record: &Record, line: &Line, reading: &Reading, value: f64, how: Option<How>) -> Known {
    if line.answer == Answer::Count {
        return Known { standard: Some(0.0), ..Known::default() };
    }
    let unit = line.unit;
    let wrong = |why: String| Known { wrong: Some(why), ..Known::default() };
    let named = reading.instrument.as_ref().and_then(|named| record.instrument(&named.text));
    if let Some(why) = named.and_then(|instrument| unfit(instrument, line.instrument)) {
        return wrong(why);
    }
    let of_count = match how {
        Some(How::Counted(counted)) => Some(0.5 * counted.one),
        _ => None,
    };
    let of_instrument = match named {
        // Of what is worked out from several readings of an instrument only the person knows the uncertainty.
        Some(instrument) if how.is_none() && is_reckoned(instrument, line) => {
            if reading.uncertainty.is_none() && instrument.spread.is_some() {
                return wrong(state_it(instrument, line));
            }
            // A drop leaves open what its two meters do, whatever is said of it.
            match drop_in_volts(line, value).map(|drop| by_instrument(instrument, unit, value, Some(drop))) {
                Some(Err(why)) => return wrong(why),
                Some(Ok(standard)) => standard,
                None => None,
            }
        }
        Some(instrument) => match by_instrument(instrument, unit, value, how) {
            Err(why) => return wrong(why),
            Ok(standard) => standard,
        },
        None => None,
    };
    // Without a stopwatch, or one of which nothing is known, the time may be anything.
    let least = match (of_count, of_instrument) {
        (Some(count), Some(time)) => Some(count.hypot(time)),
        (Some(count), None) if named.is_none() => Some(count),
        (Some(_), None) => None,
        (None, of_instrument) => of_instrument,
    };
    let mut known = Known::default();
    let own = reading.uncertainty.as_ref().map(|(spread, k)| (spread.beside(value, unit), Kind::Expanded { k: *k }));
    known.standard = match own {
        Some((Err(why), _)) => return wrong(format!("its uncertainty does not fit: {why}")),
        Some((Ok(spread), kind)) => {
            let own = kind.standard(spread);
            let floor = least.or(of_count).unwrap_or(0.0);
            if own < 0.999 * floor {
                let digits = digits_apart(&[2.0 * own, 2.0 * floor], 1);
                let [own, floor] = [own, floor].map(|u| format_number(2.0 * u, digits));
                let of = if of_count.is_some() { "count and time leave open" } else { "its instrument leaves open" };
                known.understated =
                    Some(format!("its own uncertainty, {own} {unit}, is less than {of}: U = {floor} {unit} is taken"));
            }
            Some(own.max(floor))
        }
        None => least,
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

/// A drop that is written as a share, in volts of a source that stands as high as it can: two meters leave no less open.
fn drop_in_volts(line: &Line, value: f64) -> Option<How> {
    let whole = line.volts?;
    Some(How::Of { part: line.unit.to_base(value) * whole, whole })
}

/// Whether a figure on this line is worked out from what the instrument reads: a drop from two voltages, a rate from a
/// count and a time, an area from lengths.
fn is_reckoned(instrument: &Instrument, line: &Line) -> bool {
    let of = instrument.spread.as_ref().and_then(|(spread, _)| spread.dimension());
    match line.unit.dimension() {
        _ if is_worked_out(line.quantity) => true,
        // Where the trade reckons with a figure of its own, a share of the time is one of the rate.
        Dimension::Rate => of == Some(Dimension::Time) || line.reckon.is_none(),
        // A share of what a meter shows is one of the load that it makes; amperes, watts and decibels are none.
        Dimension::Share => {
            let of_digit = instrument.digit.map(|digit| digit.unit().dimension());
            let counts = instrument.spread.as_ref().is_some_and(|(spread, _)| spread.counts_digits());
            of.or(of_digit.filter(|_| counts)).is_some_and(|of| of != Dimension::Share)
        }
        _ => false,
    }
}

/// What to write instead of the instrument's uncertainty.
fn state_it(instrument: &Instrument, line: &Line) -> String {
    let id = &instrument.id.text;
    let rest = match line.unit.dimension() {
        Dimension::Rate => "write what was counted and over which time, such as \"76 in 60 s\"".to_owned(),
        Dimension::Share if is_drop_of_source(line.quantity) => {
            "state `uncertainty` of the drop, in points, or write the drop and the source voltage, such as \"1.3 V of 13.8 V\"".to_owned()
        }
        Dimension::Share => "state its own `uncertainty`, in points".to_owned(),
        _ => format!("state its own `uncertainty`, in {}", line.unit),
    };
    format!("the uncertainty of `{id}` is not that of this figure, which is worked out from several readings: {rest}")
}

/// What an instrument adds: to what it reads itself, as the share by which its time may be off, or by both voltages: the
/// drop is the difference of what is shown at the source and at the load, and a share of the former.
fn by_instrument(instrument: &Instrument, unit: Unit, value: f64, how: Option<How>) -> Result<Option<f64>, String> {
    let Some((spread, kind)) = &instrument.spread else { return Ok(None) };
    let digit = instrument.digit;
    let wrong = |why: String| format!("the uncertainty of `{}` does not fit: {why}", instrument.id.text);
    let at = |value: f64, unit: Unit, digit: Option<Amount>| {
        Spread::at(spread, value, unit, digit).map(|spread| kind.standard(spread)).map_err(wrong)
    };
    Ok(Some(match how {
        None => at(value, unit, digit)?,
        Some(How::Counted(counted)) => {
            value * at(counted.seconds, Unit::base(Dimension::Time), digit)? / counted.seconds
        }
        Some(How::Of { part, whole }) => {
            let volts = Unit::base(Dimension::Voltage);
            let (at_source, at_load) = (at(whole, volts, digit)?, at(whole - part, volts, digit)?);
            unit.from_base(at_source.hypot(at_load).hypot(part / whole * at_source) / whole)
        }
    }))
}

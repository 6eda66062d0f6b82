//! What is asked of an instrument's description, in whichever kind of file it stands: what one digit is worth, and dates
//! of a calibration that belong together.

use super::record::key;
use crate::load::reader::Date;
use crate::units::Amount;

/// How what a digit is worth is written.
pub(super) const ONE_DIGIT: &str = "what the last digit of the display is worth, with its unit, such as \"0.01 A\"";

/// So many years after a calibration without an end nobody goes by it; practice.
pub(super) const YEARS_WITHOUT_END: u16 = 5;

/// What one digit of a display is worth; the error is its code and words.
pub(super) fn one_digit(text: &str) -> Result<Amount, (&'static str, String)> {
    match Amount::parse(text) {
        Ok(amount) if amount.number() > 0.0 => Ok(amount),
        Ok(_) => Err(("not-positive", "one digit is worth something".to_owned())),
        Err(error) => Err(("bad-figure", error.to_string())),
    }
}

/// Dates that say no calibration: code, words, what to write.
pub(super) fn unlike_calibration(
    id: &str,
    calibrated: Option<Date>,
    due: Option<Date>,
) -> Option<(&'static str, String, &'static str)> {
    match (calibrated, due) {
        (None, Some(due)) => Some((
            "no-day-of-calibration",
            format!("the calibration of `{id}` ends on {due}, and nothing says when it was made"),
            "write `calibrated` as its certificate says it",
        )),
        (Some(calibrated), Some(due)) if key(due) < key(calibrated) => Some((
            "ends-before-it-begins",
            format!("`{id}` was calibrated on {calibrated}, and that ended on {due}"),
            "`due` is the last day on which the calibration holds",
        )),
        _ => None,
    }
}

/// Whether a calibration without an end is too old on a day.
pub(super) fn is_too_old(calibrated: Date, on: Date) -> bool {
    key(Date { year: calibrated.year.saturating_add(YEARS_WITHOUT_END), ..calibrated }) < key(on)
}

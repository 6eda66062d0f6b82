//! What is asked of an instrument's description, in whichever kind of file it stands: what one digit is worth, and dates
//! of a calibration that belong together, and whether what it is called can measure what is asked.

use super::record::{Instrument, key};
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

/// Texts that say nothing of why an instrument needs no calibration.
const NO_REASONS: &[&str] = &[
    "no",
    "yes",
    "none",
    "not",
    "never",
    "unknown",
    "not known",
    "n/a",
    "na",
    "not applicable",
    "not needed",
    "not required",
    "true",
    "false",
    "ok",
    "fine",
    "tbd",
    "x",
    "xx",
    "xxx",
];

/// What to write instead.
pub(super) const A_REASON: &str = "say why, such as \"compared with a steel rule on the same day\"; an instrument of which nothing is known has no `no-calibration`";

/// Whether a text is no reason.
pub(super) fn is_no_reason(text: &str) -> bool {
    let said = text.trim().trim_end_matches('.').to_lowercase();
    NO_REASONS.contains(&said.as_str()) || !said.chars().any(char::is_alphabetic)
}

/// Words in what an instrument is called, and what it then measures.
const MEASURES: &[(&str, &[&str])] = &[
    ("length", &["tape", "rule", "ruler", "yardstick"]),
    ("current", &["clamp", "ammeter", "shunt", "multimeter", "oscilloscope"]),
    ("voltage", &["voltmeter", "multimeter", "oscilloscope"]),
    ("time", &["stopwatch", "watch", "clock", "timer", "camera", "oscilloscope"]),
    ("angle", &["protractor", "inclinometer", "goniometer"]),
    ("sound", &["sound", "dosimeter"]),
];

/// What an instrument that is called so measures; nothing where no word says it.
fn measures(called: &str) -> Vec<&'static str> {
    let called = called.to_lowercase();
    let words: Vec<&str> = called.split(|c: char| !c.is_alphanumeric()).collect();
    let is = |known: &&str| words.iter().any(|word| word == known || word.strip_suffix('s') == Some(known));
    MEASURES.iter().filter(|(_, names)| names.iter().any(is)).map(|(what, _)| *what).collect()
}

/// Why an instrument cannot measure what is measured with another, where both are known; it is called by its kind, or
/// else by its id.
pub(super) fn unfit(instrument: &Instrument, with: &str) -> Option<String> {
    let id = &instrument.id.text;
    let called = instrument.kind.as_deref().unwrap_or(id);
    let (is, asked) = (measures(called), measures(with));
    let fits = is.is_empty() || asked.is_empty() || is.iter().any(|what| asked.contains(what));
    (!fits).then(|| format!("`{id}` ({called}) measures {}, and this is read with: {with}", is.join(", ")))
}

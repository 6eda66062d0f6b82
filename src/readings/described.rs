//! Instruments of a table: what its rows say of each, put together. Two rows that say it differently are a mistake, for
//! which of them held would hang on their order.

use std::collections::HashMap;

use super::instrument::{A_REASON, ONE_DIGIT, is_no_reason, one_digit, unlike_calibration};
use super::read::too_many;
use super::read_csv::Row;
use super::record::{Instrument, MOST_INSTRUMENTS};
use super::uncertainty::{Kind, Spread};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::{Date, Text};
use crate::units::Amount;

/// Columns about the instrument of a row.
pub(super) const ABOUT_INSTRUMENTS: &[&str] = &[
    "instrument-kind",
    "instrument-serial",
    "instrument-class",
    "instrument-uncertainty",
    "instrument-limits-of-error",
    "digit",
    "calibrated",
    "calibration-due",
    "no-calibration",
];

/// One instrument: what is said of it, by column, and in which row first.
struct One {
    id: Text,
    said: HashMap<&'static str, (String, Span)>,
}

/// What the rows of a table say of instruments.
#[derive(Default)]
pub(super) struct Described {
    all: Vec<One>,
    is_full: bool,
    /// What differs was told of these.
    told: Vec<(usize, &'static str)>,
    mistakes: Vec<Diagnostic>,
}

impl Described {
    /// What one row says of its instrument.
    pub fn add(&mut self, row: &Row<'_>, id: &str, said: Vec<(&'static str, String)>) {
        let place = self.all.iter().position(|known| known.id.text == id);
        if place.is_none() && self.all.len() == MOST_INSTRUMENTS {
            if !std::mem::replace(&mut self.is_full, true) {
                self.mistakes.push(too_many(&row.span));
            }
            return;
        }
        let place = place.unwrap_or(self.all.len());
        if place == self.all.len() {
            let id = Text { text: id.to_owned(), span: row.span.clone(), opening: None };
            self.all.push(One { id, said: HashMap::new() });
        }
        let Some(one) = self.all.get_mut(place) else { return };
        for (column, cell) in said {
            let (first, span) = one.said.entry(column).or_insert_with(|| (cell.clone(), row.span.clone()));
            if *first != cell && !self.told.contains(&(place, column)) {
                self.told.push((place, column));
                let message = format!("two rows say differently of `{id}` what its `{column}` is: `{first}`, `{cell}`");
                let error = Diagnostic::error("two-descriptions", message).at(&row.span, "this row");
                self.mistakes.push(
                    error
                        .at(span, "and this one")
                        .help("describe an instrument once, or alike; another instrument needs an id of its own"),
                );
            }
        }
    }

    /// The instruments of which something is said; mistakes go to the log.
    pub fn instruments(self, log: &Log) -> Vec<Instrument> {
        self.mistakes.into_iter().for_each(|mistake| log.push(mistake));
        self.all.into_iter().filter(|one| !one.said.is_empty()).map(|one| one.read(log)).collect()
    }
}

impl One {
    fn cell(&self, column: &str) -> Option<&(String, Span)> {
        self.said.get(column)
    }

    fn spread(&self, column: &str, log: &Log) -> Option<(Spread, String)> {
        let (cell, span) = self.cell(column)?;
        match Spread::parse(cell) {
            Ok(spread) => Some((spread, cell.clone())),
            Err(why) => {
                let error = Diagnostic::error("bad-uncertainty", format!("`{column}`: {why}")).at(span, "in this row");
                log.push(error.help("for example \"2 % + 5 digits\" or \"0.5 in\""));
                None
            }
        }
    }

    fn day_in(&self, column: &str, log: &Log) -> Option<Date> {
        let (cell, span) = self.cell(column)?;
        super::read_csv::day(cell, column, span, log)
    }

    fn digit(&self, log: &Log) -> Option<Amount> {
        let (cell, span) = self.cell("digit")?;
        let read = one_digit(cell);
        if let Err((code, message)) = &read {
            log.push(Diagnostic::error(code, format!("`digit`: {message}")).at(span, "in this row").help(ONE_DIGIT));
        }
        read.ok()
    }

    fn read(self, log: &Log) -> Instrument {
        let expanded = self.spread("instrument-uncertainty", log);
        let limits = self.spread("instrument-limits-of-error", log);
        if let (Some(_), Some(_), Some((_, span))) = (&expanded, &limits, self.cell("instrument-limits-of-error")) {
            let message = "`instrument-uncertainty` and `instrument-limits-of-error` both say how far it may be off";
            let help = "keep what its paper says: the certificate's uncertainty, or the maker's limits";
            log.push(Diagnostic::error("two-uncertainties", message).at(span, "in this row").help(help));
        }
        let expanded = expanded.map(|(spread, said)| (spread, Kind::Expanded { k: 2.0 }, said));
        let limits = limits.map(|(spread, said)| (spread, Kind::LimitsOfError, said));
        let found = expanded.or(limits);
        let (calibrated, due) = (self.day_in("calibrated", log), self.day_in("calibration-due", log));
        let dated = self.cell("calibration-due").or_else(|| self.cell("calibrated"));
        if let (Some((code, message, help)), Some((_, span))) =
            (unlike_calibration(&self.id.text, calibrated, due), dated)
        {
            log.push(Diagnostic::error(code, message).at(span, "in this row").help(help));
        }
        if let Some((text, span)) = self.cell("no-calibration").filter(|(text, _)| is_no_reason(text)) {
            let error = Diagnostic::error("no-reason", format!("`no-calibration`: `{text}` is no reason"));
            log.push(error.at(span, "in this row").help(A_REASON));
        }
        let word = |column: &str| self.cell(column).map(|(cell, _)| cell.clone());
        Instrument {
            kind: word("instrument-kind"),
            serial: word("instrument-serial"),
            class: word("instrument-class"),
            said: found.as_ref().map(|(_, _, said)| said.clone()),
            spread: found.map(|(spread, kind, _)| (spread, kind)),
            digit: self.digit(log),
            calibrated,
            due,
            without: word("no-calibration"),
            id: self.id,
        }
    }
}

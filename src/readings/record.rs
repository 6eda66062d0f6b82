//! What a person wrote down: readings, the instruments they were taken with, and what was accepted in writing.

use super::decide::DecisionRule;
use super::uncertainty::{Kind, Spread};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::{Date, Text};
use crate::units::Amount;

/// One or several files of readings.
#[derive(Debug, Default)]
pub struct Record {
    /// The vehicle that each of them says it is about, where it does.
    pub vehicles: Vec<Text>,
    /// How a decision is taken, and where that stands; the usual one where no file says.
    pub decision: Option<(DecisionRule, Span)>,
    /// How many days a deficiency may stay, where its reading does not say when it is due.
    pub due_within: Option<u16>,
    /// What was used.
    pub instruments: Vec<Instrument>,
    /// In the order of the files. Lines that nothing was written into are left out.
    pub readings: Vec<Reading>,
    /// Lines that stand in the files with nothing written into them.
    pub blank: usize,
    /// What was accepted in writing.
    pub exceptions: Vec<Accepted>,
}

/// No inspection uses more instruments, and finding one among them stays quick.
pub(super) const MOST_INSTRUMENTS: usize = 200;

/// What was used.
#[derive(Debug)]
pub struct Instrument {
    /// Its id.
    pub id: Text,
    /// What it is.
    pub kind: Option<String>,
    /// Its serial number.
    pub serial: Option<String>,
    /// Its class, as its paper says.
    pub class: Option<String>,
    /// How far it may be off.
    pub spread: Option<(Spread, Kind)>,
    /// The same as it was written.
    pub said: Option<String>,
    /// What the last digit of its display is worth.
    pub digit: Option<Amount>,
    /// When it was calibrated.
    pub calibrated: Option<Date>,
    /// Until when that holds.
    pub due: Option<Date>,
    /// Why it needs no calibration.
    pub without: Option<String>,
}

/// One reading.
#[derive(Debug)]
pub struct Reading {
    /// The line that it belongs to.
    pub line: Text,
    /// What the line asked when its sheet was made.
    pub mark: Option<String>,
    /// What was read, as written.
    pub value: Text,
    /// Its own expanded uncertainty.
    pub uncertainty: Option<(Spread, f64)>,
    /// The instrument.
    pub instrument: Option<Text>,
    /// Who.
    pub by: String,
    /// When.
    pub on: Date,
    /// What else was seen.
    pub note: Option<String>,
    /// Pictures, with the SHA-256 of each.
    pub photos: Vec<(String, String)>,
    /// Who answers for the line.
    pub responsible: Option<String>,
    /// When what is wrong has to be put right.
    pub due: Option<Date>,
    /// Its place.
    pub span: Span,
}

/// What the authority or the buyer accepted in writing, though a line does not pass.
#[derive(Debug)]
pub struct Accepted {
    /// The line.
    pub line: Text,
    /// Who.
    pub by: String,
    /// Why.
    pub reason: String,
    /// In which paper.
    pub reference: String,
    /// When.
    pub on: Date,
    /// Until when.
    pub until: Date,
}

impl Record {
    /// Adds what a further file says. Two decision rules are a mistake: which one held would hang on the order of the
    /// files. Of the days to put something right the later counts.
    pub fn join(&mut self, other: Self, log: &Log) {
        if let (Some((rule, first)), Some((otherwise, second))) = (&self.decision, &other.decision)
            && rule != otherwise
        {
            let error = Diagnostic::error("two-decisions", "two files of readings say differently how to decide");
            let error = error.at(second, "this file says so").at(first, "and that one so");
            log.push(error.help("keep the decision rule that was agreed, in one file or alike in all"));
        }
        self.vehicles.extend(other.vehicles);
        self.decision = self.decision.take().or(other.decision);
        self.due_within = other.due_within.or(self.due_within);
        self.instruments.extend(other.instruments);
        self.readings.extend(other.readings);
        self.exceptions.extend(other.exceptions);
        self.blank += other.blank;
    }

    /// The instrument called so.
    pub fn instrument(&self, id: &str) -> Option<&Instrument> {
        self.instruments.iter().find(|instrument| instrument.id.text == id)
    }
}

/// A date as numbers that sort.
pub(super) fn key(date: Date) -> (u16, u8, u8) {
    (date.year, date.month, date.day)
}

/// Tells of something that has to be put right before it was read.
pub(super) fn told_of_early(on: Date, due: Option<Date>, span: &Span, log: &Log) {
    if let Some(due) = due.filter(|due| key(*due) < key(on)) {
        let message = format!("it was read on {on} and had to be put right by {due}, which is earlier");
        log.push(Diagnostic::error("due-before-reading", message).at(span, "here").help(
            "`due` is the day by which it has to be put right, `on` the day on which it was read: year-month-day",
        ));
    }
}

/// The day so many days later.
pub(super) fn days_later(date: Date, days: u16) -> Option<Date> {
    let (year, month, day) =
        (i16::try_from(date.year).ok()?, i8::try_from(date.month).ok()?, i8::try_from(date.day).ok()?);
    let first = jiff::civil::Date::new(year, month, day).ok()?;
    let later = first.checked_add(jiff::Span::new().days(i32::from(days))).ok()?;
    let part = |number: i8| u8::try_from(number).ok();
    Some(Date { year: u16::try_from(later.year()).ok()?, month: part(later.month())?, day: part(later.day())? })
}

//! What a record rests on beside its lines, as rows of words: exceptions, pictures, instruments, and readings that settle
//! nothing.

use serde::Serialize;

use super::rows::why;
use crate::judge::Verdict;
use crate::load::reader::Date;
use crate::package::Package;
use crate::readings::{ReadingsJudged, deficiencies};

/// What was accepted in writing.
#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Exception {
    pub line: String,
    pub accepted_by: String,
    pub reason: String,
    pub reference: String,
    pub on: String,
    pub until: String,
    /// In which file it stands: `readings` or `package`.
    pub stands_in: &'static str,
    /// Whether it holds on the day of judgement.
    pub in_force: bool,
}

/// Exceptions of the readings, and then those of the package itself.
pub(super) fn exceptions(package: &Package, judged: &ReadingsJudged) -> Vec<Exception> {
    let day = |date: Date| (date.year, date.month, date.day);
    let holds = |on, until| (day(on)..=day(until)).contains(&day(judged.as_of));
    let of_readings = judged.record.exceptions.iter().map(|one| Exception {
        line: one.line.text.clone(),
        accepted_by: one.by.clone(),
        reason: one.reason.clone(),
        reference: one.reference.clone(),
        on: one.on.to_string(),
        until: one.until.to_string(),
        stands_in: "readings",
        in_force: holds(one.on, one.until),
    });
    let of_package = package.exceptions.iter().map(|one| Exception {
        line: one.finding.clone(),
        accepted_by: one.accepted_by.clone(),
        reason: one.reason.clone(),
        reference: one.reference.clone(),
        on: one.on.to_string(),
        until: one.until.to_string(),
        stands_in: "package",
        in_force: holds(one.on, one.until),
    });
    of_readings.chain(of_package).collect()
}

/// A picture, and the line that it shows.
#[derive(Serialize)]
pub(super) struct Photo {
    pub line: String,
    pub on: String,
    pub file: String,
    pub sha256: String,
}

pub(super) fn photos(judged: &ReadingsJudged) -> Vec<Photo> {
    let of = |reading: &crate::readings::Reading| {
        let photo = |(file, sha256): &(String, String)| Photo {
            line: reading.line.text.clone(),
            on: reading.on.to_string(),
            file: file.clone(),
            sha256: sha256.clone(),
        };
        reading.photos.iter().map(photo).collect::<Vec<_>>()
    };
    judged.record.readings.iter().flat_map(of).collect()
}

/// What was read and is neither good nor a deficiency, in sentences: readings that do not count yet, and those that show
/// nothing and blame nobody.
pub(super) fn not_settled(judged: &ReadingsJudged) -> Vec<String> {
    let day = |date: Date| (date.year, date.month, date.day);
    let mut said = Vec::new();
    let later: Vec<&str> = judged
        .record
        .readings
        .iter()
        .filter(|reading| day(reading.on) > day(judged.as_of))
        .map(|reading| reading.line.text.as_str())
        .collect();
    if !later.is_empty() {
        said.push(format!("Dated after {}, so that it does not count yet: {}.", judged.as_of, later.join(", ")));
    }
    let known: Vec<usize> = deficiencies(judged).iter().map(|one| one.line).collect();
    for (at, (line, result)) in judged.lines.iter().zip(&judged.results).enumerate() {
        let shows_nothing = matches!(result.verdict, Verdict::NotShown | Verdict::TooClose) && !known.contains(&at);
        if let (true, Some(judgement)) = (shows_nothing, result.judgement.and_then(|at| judged.judgements.get(at))) {
            let why = why(judgement).join("; ");
            said.push(format!("Read, and {}: {} ({why}).", result.verdict.print(), line.id));
        }
    }
    said
}

/// One instrument.
#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Tool {
    pub id: String,
    pub kind: String,
    pub class: String,
    pub serial: String,
    pub uncertainty: String,
    pub calibrated: String,
    pub due: String,
}

/// What was used.
pub(super) fn instruments(judged: &ReadingsJudged) -> Vec<Tool> {
    let word = |text: &Option<String>| text.clone().unwrap_or_default();
    let day = |date: Option<Date>| date.map(|date| date.to_string()).unwrap_or_default();
    let of = |instrument: &crate::readings::Instrument| {
        let how = match &instrument.spread {
            Some((_, crate::readings::Kind::LimitsOfError)) => "limits of error ",
            Some(_) => "U = ",
            None => "not stated",
        };
        let calibrated = match &instrument.without {
            Some(why) if instrument.calibrated.is_none() => format!("none: {why}"),
            _ => day(instrument.calibrated),
        };
        Tool {
            id: instrument.id.text.clone(),
            kind: word(&instrument.kind),
            class: word(&instrument.class),
            serial: word(&instrument.serial),
            uncertainty: format!("{how}{}", word(&instrument.said)),
            calibrated,
            due: day(instrument.due),
        }
    };
    judged.record.instruments.iter().map(of).collect()
}

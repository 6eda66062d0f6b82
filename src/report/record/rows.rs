//! Lines, remarks and deficiencies of a record as rows of words.

use serde::Serialize;

use super::super::sheet::{expected, limit, unit};
use crate::judge::{Found, Verdict};
use crate::readings::{Answer, Deficiency, Judgement, LineResult, ReadingsJudged, Standing, listed};
use crate::ruleset::{Demand, Strength};
use crate::units::{digits_apart, format_number};

/// One line with what became of it.
#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Row {
    pub line: String,
    pub verdict: &'static str,
    pub says: String,
    pub heads: String,
    pub limit: String,
    pub computed: String,
    pub read: String,
    pub expanded_uncertainty: String,
    /// Probability that the true value meets the limit, in per cent.
    pub probability: String,
    pub instrument: String,
    pub by: String,
    pub on: String,
    pub why: String,
    pub source: String,
    pub advice: bool,
    /// It does not fit the calculation.
    pub differs: bool,
}

/// Something that is wrong beside a verdict.
#[derive(Serialize)]
pub(super) struct Remark {
    pub kind: &'static str,
    pub line: String,
    pub on: String,
    pub text: String,
}

/// A deficiency with its history.
#[derive(Serialize)]
pub(super) struct Closing {
    pub line: String,
    pub says: String,
    pub heads: String,
    pub limit: String,
    pub opened: String,
    pub because: String,
    pub responsible: String,
    pub due: String,
    pub standing: String,
    #[serde(rename = "to-do")]
    pub to_do: &'static str,
    pub history: Vec<String>,
    #[serde(skip)]
    pub is_open: bool,
}

/// The word for a line that nobody read.
pub(super) const NOT_READ: &str = "not-read";

/// The word for where a line stands.
pub(super) fn word(result: &LineResult) -> &'static str {
    if result.judgement.is_none() && result.verdict == Verdict::NotShown { NOT_READ } else { result.verdict.word() }
}

/// What was read and its uncertainty, told apart from limit and calculation.
pub(super) fn read(judged: &ReadingsJudged, judgement: &Judgement) -> (String, String) {
    let Some(line) = judged.lines.get(judgement.line) else { return Default::default() };
    match &judgement.found {
        Found::Number(number) => {
            let mut beside = vec![*number];
            match &line.limit {
                Demand::Number(limit) => beside.push(*limit),
                Demand::Range { from, to } => beside.extend([*from, *to]),
                Demand::Words(_) | Demand::Missing { .. } => {}
            }
            let least = usize::from(line.answer != Answer::Count);
            let with_unit =
                |number: f64, digits| format!("{} {}", format_number(number, digits), unit(line)).trim_end().to_owned();
            let expanded = judgement.expanded.filter(|expanded| *expanded > 0.0);
            let expanded = expanded.map(|expanded| with_unit(expanded, digits_apart(&[expanded], 2)));
            (with_unit(*number, digits_apart(&beside, least)), expanded.unwrap_or_default())
        }
        Found::Words(words) if words.is_empty() => ("none".to_owned(), String::new()),
        Found::Words(words) => (words.join(" "), String::new()),
        Found::Nothing => Default::default(),
    }
}

/// A probability in per cent that never rounds to certainty.
fn percent(probability: f64) -> String {
    match 100.0 * probability {
        p if p > 99.9 => "over 99.9 %".to_owned(),
        p if p < 0.1 => "under 0.1 %".to_owned(),
        p => format!("{} %", format_number(p, 1)),
    }
}

/// Everything that is to be said of a judgement.
fn why(judgement: &Judgement) -> Vec<String> {
    judgement.faults.iter().map(|fault| fault.text.clone()).chain(judgement.notes.iter().cloned()).collect()
}

pub(super) fn row(judged: &ReadingsJudged, at: usize) -> Option<Row> {
    let (line, result) = (judged.lines.get(at)?, judged.results.get(at)?);
    let judgement = result.judgement.and_then(|at| judged.judgements.get(at));
    let reading = judgement.and_then(|judgement| judged.record.readings.get(judgement.reading));
    let (read, expanded_uncertainty) = judgement.map(|judgement| read(judged, judgement)).unwrap_or_default();
    let mut why: Vec<String> = judgement.map(why).unwrap_or_default();
    why.extend(reading.and_then(|reading| reading.note.clone()).map(|note| format!("noted: {note}")));
    // In another unit, or counted, the figure stands beside what was written.
    let written = reading.map(|reading| reading.value.text.trim()).filter(|_| !read.is_empty());
    let symbol = unit(line);
    why.extend(
        written.filter(|text| !symbol.is_empty() && !text.ends_with(symbol)).map(|text| format!("written: {text}")),
    );
    why.extend(result.notes.iter().cloned());
    Some(Row {
        line: line.id.clone(),
        verdict: word(result),
        says: line.whole(),
        heads: listed(&line.of, 12),
        limit: limit(line),
        computed: expected(line),
        read,
        expanded_uncertainty,
        probability: judgement.and_then(|judgement| judgement.probability).map(percent).unwrap_or_default(),
        instrument: reading
            .and_then(|reading| reading.instrument.as_ref())
            .map(|id| id.text.clone())
            .unwrap_or_default(),
        by: reading.map(|reading| reading.by.clone()).unwrap_or_default(),
        on: reading.map(|reading| reading.on.to_string()).unwrap_or_default(),
        why: why.join("; "),
        source: format!("{} [{}]", line.source.in_words(), line.source.basis.word()),
        advice: line.strength != Strength::Required,
        differs: judgement.is_some_and(Judgement::disagrees),
    })
}

/// Faults of all readings, those included that a later reading took the place of.
pub(super) fn remark_rows(judged: &ReadingsJudged) -> Vec<Remark> {
    let of = |judgement: &Judgement| {
        let line = judged.lines.get(judgement.line).map(|line| line.id.clone()).unwrap_or_default();
        let on =
            judged.record.readings.get(judgement.reading).map(|reading| reading.on.to_string()).unwrap_or_default();
        judgement
            .faults
            .iter()
            .map(|fault| Remark {
                kind: fault.kind.word(),
                line: line.clone(),
                on: on.clone(),
                text: fault.text.clone(),
            })
            .collect::<Vec<_>>()
    };
    judged.judgements.iter().flat_map(of).collect()
}

pub(super) fn closing(judged: &ReadingsJudged, deficiency: &Deficiency) -> Option<Closing> {
    let line = judged.lines.get(deficiency.line)?;
    let told = |at: &usize| {
        let judgement = judged.judgements.get(*at)?;
        let reading = judged.record.readings.get(judgement.reading)?;
        let (value, expanded) = read(judged, judgement);
        let expanded = if expanded.is_empty() { expanded } else { format!(", U = {expanded}") };
        let why = why(judgement);
        let why = if why.is_empty() { String::new() } else { format!(" ({})", why.join("; ")) };
        Some(format!("{}: {value}{expanded}, {}{why}; read by {}", reading.on, judgement.verdict.print(), reading.by))
    };
    let history: Vec<String> = deficiency.history.iter().filter_map(told).collect();
    let standing = match deficiency.standing {
        Standing::Closed(on) => format!("closed on {on}"),
        other => other.word().to_owned(),
    };
    Some(Closing {
        line: line.id.clone(),
        says: if line.strength == Strength::Required { line.whole() } else { format!("{} (advice)", line.whole()) },
        heads: listed(&line.of, 12),
        limit: limit(line),
        opened: deficiency.opened.to_string(),
        because: history.first().cloned().unwrap_or_default(),
        responsible: deficiency.responsible.clone().unwrap_or_else(|| "nobody is named".to_owned()),
        due: deficiency.due.map_or_else(|| "no day is set".to_owned(), |due| due.to_string()),
        standing,
        to_do: deficiency.to_do(judged),
        history,
        is_open: matches!(deficiency.standing, Standing::Open | Standing::Overdue),
    })
}

/// Line, who, reason, reference, from, until.
pub(super) fn exceptions(judged: &ReadingsJudged) -> Vec<[String; 6]> {
    let of = |exception: &crate::readings::Accepted| {
        let texts = [&exception.line.text, &exception.by, &exception.reason, &exception.reference].map(String::clone);
        let [line, by, reason, reference] = texts;
        [line, by, reason, reference, exception.on.to_string(), exception.until.to_string()]
    };
    judged.record.exceptions.iter().map(of).collect()
}

/// Id, kind, class, serial number, how far off, calibrated, due.
pub(super) fn instruments(judged: &ReadingsJudged) -> Vec<[String; 7]> {
    let word = |text: &Option<String>| text.clone().unwrap_or_default();
    let day = |date: Option<crate::load::reader::Date>| date.map(|date| date.to_string()).unwrap_or_default();
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
        [
            instrument.id.text.clone(),
            word(&instrument.kind),
            word(&instrument.class),
            word(&instrument.serial),
            format!("{how}{}", word(&instrument.said)),
            calibrated,
            day(instrument.due),
        ]
    };
    judged.record.instruments.iter().map(of).collect()
}

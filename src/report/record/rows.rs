//! Lines, remarks and deficiencies of a record as rows of words.

use serde::Serialize;

use super::super::number::pair;
use super::super::sheet::{expected, limit, unit};
use super::super::text::setting;
use crate::judge::{Finding, Found, Verdict};
use crate::readings::{
    Answer, Deficiency, Judgement, Line, LineResult, ReadingsJudged, Standing, deficiencies, listed,
};
use crate::ruleset::Strength;
use crate::units::{Dimension, digits_apart, format_number};

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
    /// `open`, or by what it is settled.
    pub standing: String,
    /// It is on advice.
    pub advice: bool,
}

impl Remark {
    /// Whether a reading that does not fit the calculation still waits for an answer.
    pub fn is_open_difference(&self) -> bool {
        self.kind == "disagrees" && self.standing == OPEN
    }
}

/// The word for what is not settled.
const OPEN: &str = "open";

/// A required finding that no reading decides.
#[derive(Serialize)]
pub(super) struct Unread {
    pub verdict: &'static str,
    pub stands: String,
    pub finding: String,
    pub says: String,
    pub found: String,
    pub required: String,
    pub note: String,
    #[serde(rename = "set-to")]
    pub set_to: String,
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
    /// What is wrong, in a line: what was read, and what is asked.
    pub headline: String,
    #[serde(rename = "set-to")]
    pub set_to: String,
    /// Where the limit comes from, and how well it is known.
    pub source: String,
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
            let with_unit =
                |number: f64, digits| format!("{} {}", format_number(number, digits), unit(line)).trim_end().to_owned();
            let expanded = judgement.expanded.filter(|expanded| *expanded > 0.0);
            let expanded = expanded.map(|expanded| with_unit(expanded, digits_apart(&[expanded], 2)));
            (with_unit(*number, line.decimals(*number)), expanded.unwrap_or_default())
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
pub(super) fn why(judgement: &Judgement) -> Vec<String> {
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

/// Faults of all readings, those included that a later reading took the place of, each with where it stands.
pub(super) fn remark_rows(judged: &ReadingsJudged) -> Vec<Remark> {
    let all = deficiencies(judged);
    let of = |(at, judgement): (usize, &Judgement)| {
        let line = judged.lines.get(judgement.line);
        let on =
            judged.record.readings.get(judgement.reading).map(|reading| reading.on.to_string()).unwrap_or_default();
        let standing = standing(judged, &all, at, judgement);
        let remark = |fault: &crate::readings::Fault| Remark {
            kind: fault.kind.word(),
            line: line.map(|line| line.id.clone()).unwrap_or_default(),
            on: on.clone(),
            text: fault.text.clone(),
            standing: standing.clone(),
            advice: line.is_some_and(|line| line.strength != Strength::Required),
        };
        judgement.faults.iter().map(remark).collect::<Vec<_>>()
    };
    judged.judgements.iter().enumerate().flat_map(of).collect()
}

/// Where what is wrong with a reading stands.
fn standing(judged: &ReadingsJudged, all: &[Deficiency], at: usize, judgement: &Judgement) -> String {
    let deficiency = all.iter().find(|one| one.history.contains(&at));
    let result = judged.results.get(judgement.line);
    let (standing, accepted) =
        result.map(|result| (result.standing.as_slice(), result.accepted.as_slice())).unwrap_or_default();
    match deficiency.map(|one| one.standing) {
        Some(Standing::Closed(on)) => return format!("closed on {on}"),
        Some(Standing::Accepted) => return Standing::Accepted.word().to_owned(),
        _ if accepted.contains(&at) => return Standing::Accepted.word().to_owned(),
        _ if standing.contains(&at) => return OPEN.to_owned(),
        _ => {}
    }
    // What stands of the same thing: by its deficiency, or by the name that both give it.
    let named = |at: usize| {
        let one = judged.judgements.get(at)?;
        judged.record.readings.get(one.reading).map(|reading| reading.line.text.as_str())
    };
    let of_deficiency = standing.iter().find(|known| deficiency.is_some_and(|one| one.history.contains(known)));
    let of_name = || standing.iter().find(|known| named(**known) == named(at));
    let latest = of_deficiency.or_else(of_name).copied().or_else(|| result.and_then(|result| result.judgement));
    let day = |at: usize| {
        let on = judged.judgements.get(at).and_then(|one| judged.record.readings.get(one.reading))?.on;
        Some((on.year, on.month, on.day))
    };
    match (day(at), latest.and_then(day)) {
        (Some(this), Some(last)) if this == last => "beside a worse reading of that day".to_owned(),
        (Some(this), Some((year, month, of_month))) if this < (year, month, of_month) => {
            format!("read again on {year:04}-{month:02}-{of_month:02}")
        }
        // It shows nothing, and so takes the place of nothing.
        (Some(_), Some(_)) if deficiency.is_some() => OPEN.to_owned(),
        _ => "does not count yet".to_owned(),
    }
}

/// What no reading decides and the calculation leaves not met or open, the worst first.
pub(super) fn unread_rows(judged: &ReadingsJudged) -> Vec<Unread> {
    let mut all: Vec<&Finding> = judged.beyond.iter().collect();
    all.sort_by_key(|finding| std::cmp::Reverse(finding.verdict));
    let row = |finding: &&Finding| {
        let (found, required) = pair(finding);
        let unit = finding.unit.symbol();
        let with_unit = |text: String| match text.is_empty() || finding.unit.dimension() == Dimension::Words {
            true => text,
            false => format!("{text} {unit}"),
        };
        let (found, required) = (with_unit(found), with_unit(required));
        let estimate = if finding.on_estimate() { " on an estimate" } else { "" };
        Unread {
            verdict: finding.verdict.word(),
            stands: format!("{}{estimate}", finding.verdict.print()),
            finding: finding.id.clone(),
            says: finding.says.clone(),
            found,
            required,
            note: finding.note(),
            set_to: setting(finding).unwrap_or_default(),
        }
    };
    all.iter().map(row).collect()
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
        let of =
            if reading.line.text == line.id { String::new() } else { format!(" on {}", thing(&reading.line.text)) };
        let verdict = match judgement.verdict {
            Verdict::Pass if judgement.disagrees() => "passes the limit, and differs from the calculation".to_owned(),
            verdict => verdict.print(),
        };
        Some(format!("{}: {value}{expanded}{of}, {verdict}{why}; read by {}", reading.on, reading.by))
    };
    let history: Vec<String> = deficiency.history.iter().filter_map(told).collect();
    let standing = match deficiency.standing {
        Standing::Closed(on) => format!("closed on {on}"),
        other => other.word().to_owned(),
    };
    let heads = deficiency.of.as_deref().map_or_else(|| listed(&line.of, 12), |named| thing(named).to_owned());
    Some(Closing {
        headline: headline(judged, deficiency, line),
        set_to: line
            .state
            .iter()
            .cloned()
            .chain(line.care.iter().map(|care| (*care).to_owned()))
            .collect::<Vec<_>>()
            .join("; "),
        source: format!("{} [{}]", line.source.in_words(), line.source.basis.word()),
        line: line.id.clone(),
        says: if line.strength == Strength::Required { line.whole() } else { format!("{} (advice)", line.whole()) },
        heads,
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

/// What is wrong with a line by its latest reading that stands, in one line.
fn headline(judged: &ReadingsJudged, deficiency: &Deficiency, line: &Line) -> String {
    let named = deficiency.of.as_deref().and_then(|named| named.rsplit(['@', '/']).next());
    let on = named.map_or_else(|| listed(&line.of, 2), str::to_owned);
    let on = match on.as_str() {
        "" if line.about.is_empty() => line.says.clone(),
        "" => line.about.clone(),
        on if line.about.is_empty() => on.to_owned(),
        on => format!("{on} ({})", line.about),
    };
    let last = deficiency.history.last().and_then(|at| judged.judgements.get(*at));
    let Some(judgement) = last else { return on };
    let (value, expanded) = read(judged, judgement);
    let asked = asked(line);
    match judgement.verdict {
        _ if line.answer == Answer::YesNo && value == "no" => format!("{on}: not so: {}", line.says),
        Verdict::Pass if judgement.disagrees() => format!("{on}: {value} read, {} computed", expected(line)),
        Verdict::TooClose if !expanded.is_empty() => {
            format!("{on}: {value} read, {asked} asked: too close to tell within {expanded}")
        }
        Verdict::NotShown => format!("{on}: {value} read, which shows nothing yet; {asked} asked"),
        _ => format!("{on}: {value} read, {asked} asked"),
    }
}

/// A limit as it is said in a sentence.
fn asked(line: &Line) -> String {
    let limit = limit(line);
    match (limit.strip_prefix(">= "), limit.strip_prefix("<= ")) {
        (Some(least), _) => format!("at least {least}"),
        (_, Some(most)) => format!("at most {most}"),
        _ => limit,
    }
}

/// What a finding is about: what stands behind the `@` of its id.
fn thing(named: &str) -> &str {
    named.split_once('@').map_or(named, |(_, of)| of)
}

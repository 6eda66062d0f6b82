//! A whole record beside the lines of a sheet: where each line stands by its latest reading, what was accepted in
//! writing, and what that means together.

use super::decide::DecisionRule;
use super::judgement::{Desk, Judgement};
use super::lines::Line;
use super::record::{Accepted, Record, key};
use crate::diagnostic::{Diagnostic, Log};
use crate::judge::{Status, Terms, Verdict};
use crate::load::distinct::Distinct;
use crate::load::reader::{Date, Text};
use crate::ruleset::{Basis, Strength};

/// Where a line stands.
#[derive(Clone, Debug)]
pub struct LineResult {
    /// `NotShown` where nothing was read.
    pub verdict: Verdict,
    /// The place of the latest judgement; none where nothing was read.
    pub judgement: Option<usize>,
    /// The place of the exception that is in force.
    pub exception: Option<usize>,
    /// Exceptions that are not.
    pub notes: Vec<String>,
}

/// Required lines by verdict, and what else is open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Lines that pass.
    pub pass: usize,
    /// Lines that fail.
    pub fail: usize,
    /// Lines inside the guard band.
    pub too_close: usize,
    /// Lines that were read and show nothing.
    pub not_shown: usize,
    /// Lines that nobody read.
    pub not_read: usize,
    /// Lines that were accepted in writing.
    pub excepted: usize,
    /// Of all lines, those whose reading does not fit the calculation.
    pub disagree: usize,
    /// Of those that pass, fail or are too close, how many rest on a limit from memory.
    pub on_memory: usize,
    /// Advice that does not pass, read or not.
    pub advice_open: usize,
}

impl Tally {
    /// What it means as an exit status: a line that fails is 1, anything open 3.
    pub fn status(&self) -> Status {
        if self.fail > 0 {
            Status::Failed
        } else if self.too_close + self.not_shown + self.not_read + self.disagree > 0 || self.pass + self.excepted == 0
        {
            Status::Open
        } else {
            Status::Met
        }
    }
}

/// A record beside the lines of a sheet.
#[derive(Debug)]
pub struct ReadingsJudged {
    /// The lines, in the order of the walk.
    pub lines: Vec<Line>,
    /// What was written down.
    pub record: Record,
    /// How decisions were taken.
    pub rule: DecisionRule,
    /// One a reading, in their order.
    pub judgements: Vec<Judgement>,
    /// One a line.
    pub results: Vec<LineResult>,
    /// How many of each.
    pub tally: Tally,
    /// The day of judgement.
    pub as_of: Date,
}

/// Judges a record; mistakes in it go to the log, and where there are any the answer is `None`.
pub fn judge_readings(
    lines: Vec<Line>,
    record: Record,
    vehicle: &str,
    terms: Terms,
    log: &Log,
) -> Option<ReadingsJudged> {
    if let Some(other) = record.vehicle.as_ref().filter(|name| name.text != vehicle) {
        let message = format!("these readings are of `{}`, the package is of `{vehicle}`", other.text);
        log.push(
            Diagnostic::error("other-vehicle", message).at(&other.span, "").help("name the package of this vehicle"),
        );
    }
    let mut ids = Distinct::new("instruments", log);
    record.instruments.iter().for_each(|instrument| {
        ids.keeps(&instrument.id);
    });
    let rule = record.decision.unwrap_or_default();
    let place = |named: &Text| {
        let found = lines.iter().position(|line| line.id == named.text || line.findings.contains(&named.text));
        if found.is_none() {
            let error = Diagnostic::error("unknown-line", format!("`{}` is no line of this sheet", named.text));
            let ids = lines.iter().map(|line| line.id.as_str());
            log.suggest(error.at(&named.span, "").help("`report --as sheet` writes all lines"), &named.text, ids);
        }
        found
    };
    let as_of = terms.as_of;
    let desk = Desk { record: &record, rule, terms, log };
    let mut judgements = Vec::new();
    for (at, reading) in record.readings.iter().enumerate() {
        let Some(line_at) = place(&reading.line) else { continue };
        let Some(line) = lines.get(line_at) else { continue };
        judgements.extend(desk.judge(line, line_at, reading, at));
    }
    let excepted: Vec<Option<usize>> = record.exceptions.iter().map(|exception| place(&exception.line)).collect();
    if log.has_errors() {
        return None;
    }
    let on = |judgement: &Judgement| record.readings.get(judgement.reading).map(|reading| key(reading.on));
    let counts = |judgement: &&Judgement| on(judgement).is_some_and(|day| day <= key(as_of));
    let results: Vec<LineResult> = (0..lines.len())
        .map(|at| {
            let of_line = judgements.iter().enumerate().filter(|(_, one)| one.line == at && counts(one));
            let latest = of_line.max_by_key(|(place, one)| (on(one), *place));
            let mut result = LineResult {
                verdict: latest.map_or(Verdict::NotShown, |(_, one)| one.verdict),
                judgement: latest.map(|(place, _)| place),
                exception: None,
                notes: Vec::new(),
            };
            let disagrees = latest.is_some_and(|(_, one)| one.disagrees());
            if let Some(note) = lines.get(at).and_then(|line| line.excepted.as_ref())
                && (result.verdict != Verdict::Pass || disagrees)
            {
                result.notes.push(format!("{note} (in the package)"));
                result.verdict = Verdict::Excepted;
            }
            for (which, exception) in record.exceptions.iter().enumerate() {
                if excepted.get(which) == Some(&Some(at)) {
                    accept(&mut result, disagrees, which, exception, as_of);
                }
            }
            result
        })
        .collect();
    let tally = tally(&lines, &results, &judgements);
    Some(ReadingsJudged { lines, record, rule, judgements, results, tally, as_of })
}

fn accept(result: &mut LineResult, disagrees: bool, which: usize, exception: &Accepted, as_of: Date) {
    if key(as_of) > key(exception.until) {
        result.notes.push(format!("an exception by {} ended on {}", exception.by, exception.until));
    } else if key(as_of) < key(exception.on) {
        result.notes.push(format!("an exception by {} begins on {}", exception.by, exception.on));
    } else if result.verdict != Verdict::Pass || disagrees {
        result.notes.push(format!(
            "was {}; accepted by {}, {}, on {}, until {}: {}",
            result.verdict.print(),
            exception.by,
            exception.reference,
            exception.on,
            exception.until,
            exception.reason
        ));
        result.verdict = Verdict::Excepted;
        result.exception = Some(which);
    }
}

fn tally(lines: &[Line], results: &[LineResult], judgements: &[Judgement]) -> Tally {
    let mut tally = Tally::default();
    for (line, result) in lines.iter().zip(results) {
        if line.strength != Strength::Required {
            tally.advice_open += usize::from(!matches!(result.verdict, Verdict::Pass | Verdict::Excepted));
            continue;
        }
        let latest = result.judgement.and_then(|at| judgements.get(at));
        tally.disagree += usize::from(result.verdict != Verdict::Excepted && latest.is_some_and(Judgement::disagrees));
        let decided = matches!(result.verdict, Verdict::Pass | Verdict::Fail | Verdict::TooClose);
        tally.on_memory += usize::from(decided && line.source.basis == Basis::Memory);
        match result.verdict {
            Verdict::Pass => tally.pass += 1,
            Verdict::Fail => tally.fail += 1,
            Verdict::TooClose => tally.too_close += 1,
            Verdict::Excepted => tally.excepted += 1,
            Verdict::NotShown | Verdict::NotApplicable if latest.is_none() => tally.not_read += 1,
            Verdict::NotShown | Verdict::NotApplicable => tally.not_shown += 1,
        }
    }
    tally
}

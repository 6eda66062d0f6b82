//! A whole record beside the lines of a sheet: where each line stands by its latest reading, what was accepted in
//! writing, and what that means together.

use super::beyond::{Beyond, leave_undecided};
use super::counting::{Course, courses, stands, unread, worst};
use super::decide::{DecisionRule, Interval, decide};
use super::judgement::{Desk, Judgement};
use super::lines::Line;
use super::record::{Accepted, Record, key};
use crate::diagnostic::{Diagnostic, Log, SourceId};
use crate::judge::{Finding, Found, Status, Terms, Verdict};
use crate::load::distinct::Distinct;
use crate::load::reader::{Date, Text};
use crate::ruleset::{Basis, Demand, Strength};

/// Where a line stands.
#[derive(Clone, Debug)]
pub struct LineResult {
    /// `NotShown` where nothing was read.
    pub verdict: Verdict,
    /// The place of the judgement that decides, the worst of those that stand; none where nothing was read.
    pub judgement: Option<usize>,
    /// The places of all judgements that stand, one of each thing on the line that was read.
    pub standing: Vec<usize>,
    /// Those of them that were accepted in writing.
    pub accepted: Vec<usize>,
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
    /// Required lines with a reading that does not fit the calculation and was not accepted; advice is in `advice_open`.
    pub disagree: usize,
    /// Of those that pass, fail or are too close, how many rest on a limit from memory.
    pub on_memory: usize,
    /// Advice that does not pass, read or not.
    pub advice_open: usize,
    /// What no reading decides.
    pub beyond: Beyond,
}

impl Tally {
    /// What it means as an exit status: a line that fails, or what no reading decides and the calculation says is not met, is
    /// 1, anything open 3.
    pub fn status(&self) -> Status {
        self.of_lines().max(self.beyond.status())
    }

    /// What the lines alone mean.
    pub fn of_lines(&self) -> Status {
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
    /// What no reading decides and is not settled by the calculation.
    pub beyond: Vec<Finding>,
    /// From which other files sheets were made, in words.
    pub made_from_others: Vec<String>,
}

/// Judges a record by the lines of a sheet and by what the calculation leaves unsettled and no reading decides; mistakes in it go to the log, and where there are any the answer is `None`.
pub fn judge_readings(
    (lines, mut beyond): (Vec<Line>, Vec<Finding>),
    record: Record,
    vehicle: &str,
    terms: Terms,
    log: &Log,
) -> Option<ReadingsJudged> {
    let same = |name: &&Text| name.text.split_whitespace().eq(vehicle.split_whitespace());
    for other in record.vehicles.iter().filter(|name| !same(name)) {
        let message = format!("these readings are of `{}`, the package is of `{vehicle}`", other.text);
        log.push(
            Diagnostic::error("other-vehicle", message).at(&other.span, "").help("name the package of this vehicle"),
        );
    }
    // One sentence instead of one a line: these are no slips of the finger.
    if log.has_errors() || of_another(&lines, &record, log) {
        return None;
    }
    let mut ids = Distinct::new("instruments", log);
    record.instruments.iter().for_each(|instrument| {
        ids.keeps(&instrument.id);
    });
    let rule = record.decision.as_ref().map(|(rule, _)| *rule).unwrap_or_default();
    let place = |named: &Text| {
        let found = find(&lines, named);
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
    let results: Vec<LineResult> = lines
        .iter()
        .enumerate()
        .map(|(at, line)| {
            let courses = courses(at, line, &judgements, &record, as_of);
            let which = |(which, place): (usize, &Option<usize>)| (*place == Some(at)).then_some(which);
            let exceptions: Vec<usize> = excepted.iter().enumerate().filter_map(which).collect();
            of_line(line, &courses, &exceptions, &record, as_of)
        })
        .collect();
    leave_undecided(&mut beyond, &lines, &results, &judgements, &record);
    let tally = Tally { beyond: Beyond::of(&beyond), ..tally(&lines, &results, &judgements) };
    Some(ReadingsJudged {
        lines,
        record,
        rule,
        judgements,
        results,
        tally,
        as_of,
        beyond,
        made_from_others: Vec::new(),
    })
}

/// The place of the line that an id names.
fn find(lines: &[Line], named: &Text) -> Option<usize> {
    lines.iter().position(|line| line.id == named.text || line.findings.contains(&named.text))
}

/// Fewer unknown lines than this are told one by one.
const MOST_SLIPS: usize = 3;

/// Whether most lines of one file stand on no line of this sheet; then the log says so once.
fn of_another(lines: &[Line], record: &Record, log: &Log) -> bool {
    let mut files: Vec<(SourceId, usize, Vec<&Text>)> = Vec::new();
    for named in record.readings.iter().map(|reading| &reading.line) {
        let unknown = find(lines, named).is_none().then_some(named);
        match files.iter_mut().find(|(file, ..)| *file == named.span.source) {
            Some((_, all, names)) => {
                *all += 1;
                names.extend(unknown);
            }
            None => files.push((named.span.source, 1, unknown.into_iter().collect())),
        }
    }
    let mut other = false;
    for (_, all, unknown) in files {
        let Some(first) = unknown.first().filter(|_| unknown.len() > MOST_SLIPS && 2 * unknown.len() > all) else {
            continue;
        };
        let message = format!("{} of {all} readings are on no line of this vehicle's sheet", unknown.len());
        let help =
            "these are readings of another vehicle or by other rules: name its package, or its rules with --rules";
        log.push(Diagnostic::error("other-vehicle", message).at(&first.span, "the first of them").help(help));
        other = true;
    }
    other
}

/// Where a line stands by what was read of each thing on it, and by what was accepted of that.
fn of_line(line: &Line, courses: &[Course<'_>], exceptions: &[usize], record: &Record, as_of: Date) -> LineResult {
    let mut result = LineResult {
        verdict: Verdict::NotShown,
        judgement: None,
        standing: Vec::new(),
        accepted: Vec::new(),
        exception: None,
        notes: Vec::new(),
    };
    let rule = record.decision.as_ref().map(|(rule, _)| *rule).unwrap_or_default();
    let exceptions: Vec<(usize, &Accepted)> =
        exceptions.iter().filter_map(|which| Some((*which, record.exceptions.get(*which)?))).collect();
    for (_, exception) in &exceptions {
        if key(as_of) > key(exception.until) {
            result.notes.push(format!("an exception by {} ended on {}", exception.by, exception.until));
        } else if key(as_of) < key(exception.on) {
            result.notes.push(format!("an exception by {} begins on {}", exception.by, exception.on));
        } else if courses.is_empty() {
            result.notes.push(format!("accepted by {}, and yet nobody read it", exception.by));
        }
    }
    let (mut open, mut covered, mut covers) = (Vec::new(), Vec::new(), Vec::new());
    for course in courses {
        let Some(stands) = stands(course.taken.iter().copied()) else { continue };
        let (on, at, judgement) = stands;
        result.standing.push(at);
        let of_day = course.taken.iter().filter(|(day, ..)| key(*day) == key(on)).count();
        if of_day > 1 {
            let note = format!("{of_day} readings of this day: the worst of them stands");
            if !result.notes.contains(&note) {
                result.notes.push(note);
            }
        }
        let in_force = exceptions.iter().filter(|(_, exception)| {
            let days = key(exception.on)..=key(exception.until);
            days.contains(&key(as_of)) && course.is_named_by(line, exception)
        });
        let mut accepted = None;
        if let Some(note) = line.excepted.as_ref().filter(|_| !judgement.is_good()) {
            match beyond_package(line, judgement) {
                None => accepted = Some((None, format!("{note} (in the package)"))),
                Some(why) => result.notes.push(format!("{note} (in the package); {why}: it needs a new exception")),
            }
        }
        let (known, new): (Vec<_>, Vec<_>) =
            in_force.filter(|_| !judgement.is_good()).partition(|(_, exception)| course.was_known(line, exception));
        for (_, exception) in new {
            let (by, of) = (&exception.by, exception.on);
            let note =
                format!("read on {on}, and not known like this when {by} accepted it on {of}: it needs a new one");
            result.notes.push(note);
        }
        let left = left_unmet(line, judgement, rule, &known);
        for (which, exception) in &known {
            let was = judgement.verdict.print();
            let Accepted { by, reference, on, until, reason, .. } = exception;
            let note = format!("was {was}; accepted by {by}, {reference}, on {on}, until {until}: {reason}");
            match &left {
                None => accepted = Some((Some(*which), note)),
                Some(left) => result.notes.push(format!("{note}; {left} is not met either, and nobody accepted that")),
            }
        }
        match accepted.filter(|_| !judgement.is_good()) {
            Some((which, note)) => {
                covered.push(stands);
                result.accepted.push(at);
                covers.push((at, which, note));
            }
            None => open.push(stands),
        }
    }
    // What is covered is looked at only where nothing else is open.
    let open_worst = worst(open).filter(|(_, _, one)| !one.is_good() || covered.is_empty());
    if let Some((_, at, one)) = open_worst {
        (result.judgement, result.verdict) = (Some(at), one.verdict);
    } else if let Some((_, at, _)) = worst(covered) {
        (result.judgement, result.verdict) = (Some(at), Verdict::Excepted);
    }
    // An exception speaks for the line only where it covers what decides it.
    if let Some((_, which, note)) = covers.into_iter().find(|(at, ..)| result.judgement == Some(*at)) {
        result.exception = which;
        result.notes.push(note);
    }
    if let Some((read, all)) = unread(line, courses) {
        if matches!(result.verdict, Verdict::Pass | Verdict::Excepted) {
            result.verdict = Verdict::NotShown;
        }
        let id = &line.id;
        result.notes.push(format!("{read} of {all} read; it passes when each of them was, or all of them as `{id}`"));
    } else if courses.len() > 1 {
        result.notes.push(format!("{} things were read on this line, the worst decides", courses.len()));
    }
    result
}

/// Which limit on a current was missed and is named by none of these exceptions: each covers the findings that it names
/// only, though fuse and wire stand on one line.
fn left_unmet(line: &Line, judgement: &Judgement, rule: DecisionRule, known: &[(usize, &Accepted)]) -> Option<String> {
    let Found::Number(value) = judgement.found else { return None };
    let missed = |limit: &Demand| {
        let allowed = Interval::by(limit, line.require)?;
        Some(decide(value, judgement.expanded.unwrap_or(0.0), &allowed, rule) != Verdict::Pass)
    };
    let named = |id: &str| known.iter().any(|(_, exception)| exception.line.text == id);
    let left = line.limits.iter().find(|(id, limit)| missed(limit) == Some(true) && !named(id));
    left.map(|(id, _)| format!("`{id}`"))
}

/// Why what the package says was accepted does not cover a reading: it was written of what was computed, and accepts
/// nothing that is worse and no reading that shows nothing.
fn beyond_package(line: &Line, judgement: &Judgement) -> Option<&'static str> {
    if judgement.is_worthless() {
        Some("this reading shows nothing")
    } else if judgement.is_worse {
        Some("this is worse than what was computed when it was accepted")
    } else if !line.is_value && judgement.verdict == Verdict::Fail {
        Some("nothing was known when it was accepted, and this fails")
    } else {
        None
    }
}

fn tally(lines: &[Line], results: &[LineResult], judgements: &[Judgement]) -> Tally {
    let mut tally = Tally::default();
    for (line, result) in lines.iter().zip(results) {
        if line.strength != Strength::Required {
            tally.advice_open += usize::from(!matches!(result.verdict, Verdict::Pass | Verdict::Excepted));
            continue;
        }
        let open = result.standing.iter().filter(|at| !result.accepted.contains(at));
        let disagrees = open.filter_map(|at| judgements.get(*at)).any(Judgement::disagrees);
        tally.disagree += usize::from(disagrees);
        let decided = matches!(result.verdict, Verdict::Pass | Verdict::Fail | Verdict::TooClose);
        tally.on_memory += usize::from(decided && line.source.basis == Basis::Memory);
        match result.verdict {
            Verdict::Pass => tally.pass += 1,
            Verdict::Fail => tally.fail += 1,
            Verdict::TooClose => tally.too_close += 1,
            Verdict::Excepted => tally.excepted += 1,
            Verdict::NotShown | Verdict::NotApplicable if result.judgement.is_none() => tally.not_read += 1,
            Verdict::NotShown | Verdict::NotApplicable => tally.not_shown += 1,
        }
    }
    tally
}

//! Deficiencies: lines whose readings are not good, since when, until when they have to be put right, and by which later
//! reading they were closed.

use super::counting::{Course, courses, stands};
use super::judge::{LineResult, ReadingsJudged};
use super::lines::Line;
use super::record::{days_later, key};
use crate::judge::Verdict;
use crate::load::reader::Date;

/// Where a deficiency stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nothing has closed it.
    Open,
    /// Nothing has, and the day by which it had to be is over.
    Overdue,
    /// A later reading was good.
    Closed(Date),
    /// It was accepted in writing.
    Accepted,
}

impl Standing {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Overdue => "overdue",
            Self::Closed(_) => "closed",
            Self::Accepted => "accepted",
        }
    }
}

/// One line that was found wanting.
#[derive(Clone, Debug)]
pub struct Deficiency {
    /// Place of the line.
    pub line: usize,
    /// The finding that was named, where it is not the line as a whole.
    pub of: Option<String>,
    /// When it was found.
    pub opened: Date,
    /// Places of all its judgements from then on, in the order of the days.
    pub history: Vec<usize>,
    /// When it has to be put right.
    pub due: Option<Date>,
    /// Who answers for it.
    pub responsible: Option<String>,
    /// Where it stands.
    pub standing: Standing,
}

impl Deficiency {
    /// What has to be done next, by its latest reading.
    pub fn to_do(&self, judged: &ReadingsJudged) -> &'static str {
        let taken = |at: &usize| {
            let judgement = judged.judgements.get(*at)?;
            Some((judged.record.readings.get(judgement.reading)?.on, *at, judgement))
        };
        let latest = stands(self.history.iter().filter_map(taken));
        let overturns = latest.is_some_and(|(_, _, one)| one.disagrees() && !one.is_worthless());
        match (self.standing, latest.map(|(_, _, judgement)| judgement.verdict)) {
            (Standing::Closed(_) | Standing::Accepted, _) | (_, None) => "nothing",
            (_, Some(Verdict::Fail)) => "put it right, then read it again",
            (_, Some(Verdict::TooClose)) => {
                "read it again with less uncertainty, move it away from the limit, or have the AHJ accept it in writing"
            }
            (_, Some(Verdict::NotShown)) if overturns => {
                "find out why the calculation fails what was read as good; then correct the package, or have it accepted in writing"
            }
            (_, Some(Verdict::Pass)) => {
                "find out why reading and calculation differ, and mend the vehicle or its papers"
            }
            _ => "read it again, with an instrument that can show it",
        }
    }
}

/// Why a reading of this kind differs from what was computed, most often.
pub(super) fn differs_by(line: &Line) -> &'static str {
    match line.instrument {
        with if with.contains("tape") || with.contains("protractor") || with.contains("angle") => {
            "another place or aim than described, a figure of the package, load and tyres, where it was measured from"
        }
        with if with.contains("clamp") || with.contains("shunt") => {
            "a lamp that is dark or of another kind, another pattern or circuit, the voltage, which wire the clamp was on"
        }
        with if with.contains("voltmeter") => "a joint, an earth, the size or length of a wire, the load that was on",
        with if with.contains("stopwatch") || with.contains("camera") || with.contains("oscilloscope") => {
            "another pattern, phase or clock than described, another setting of the vehicle"
        }
        with if with.contains("sound") || with.contains("noise") => {
            "what stands before the sounder, walls and wind, the tone that was on, the voltage, another model"
        }
        "papers" => "papers of another model or edition, a figure of the package",
        _ => "another head, colour or setting than described, a figure of the package",
    }
}

/// All deficiencies of a record, those that are closed too, in the order of the lines. What was found, closed and found
/// again is two.
pub fn deficiencies(judged: &ReadingsJudged) -> Vec<Deficiency> {
    let mut found = Vec::new();
    for (at, (line, result)) in judged.lines.iter().zip(&judged.results).enumerate() {
        for course in courses(at, line, &judged.judgements, &judged.record, judged.as_of) {
            of_thing(at, &course, result, judged, &mut found);
        }
    }
    for deficiency in &mut found {
        let within = judged.record.due_within.and_then(|days| days_later(deficiency.opened, days));
        deficiency.due = deficiency.due.or(within);
        let late = deficiency.due.is_some_and(|due| key(judged.as_of) > key(due));
        if deficiency.standing == Standing::Open && late {
            deficiency.standing = Standing::Overdue;
        }
    }
    found
}

/// The deficiencies of one thing on a line.
fn of_thing(
    line: usize,
    course: &Course<'_>,
    result: &LineResult,
    judged: &ReadingsJudged,
    found: &mut Vec<Deficiency>,
) {
    let mut open: Option<Deficiency> = None;
    // Where no limit is known, the vehicle is not to blame.
    for (on, at, judgement) in course.taken.iter().filter(|(_, _, one)| one.limit_known) {
        let good = judgement.is_good();
        if !good && open.is_none() {
            open = Some(Deficiency {
                line,
                of: course.named.map(str::to_owned),
                opened: *on,
                history: Vec::new(),
                due: None,
                responsible: None,
                standing: Standing::Open,
            });
        }
        let Some(deficiency) = &mut open else { continue };
        deficiency.history.push(*at);
        if let Some(reading) = judged.record.readings.get(judgement.reading) {
            deficiency.due = reading.due.or(deficiency.due);
            deficiency.responsible = reading.responsible.clone().or(deficiency.responsible.take());
        }
        if good {
            deficiency.standing = Standing::Closed(*on);
            found.extend(open.take());
        }
    }
    let accepted = stands(course.taken.iter().copied()).is_some_and(|(_, at, _)| result.accepted.contains(&at));
    found.extend(
        open.map(|open| Deficiency { standing: if accepted { Standing::Accepted } else { open.standing }, ..open }),
    );
}

//! Deficiencies: lines whose readings are not good, since when, until when they have to be put right, and by which later
//! reading they were closed.

use super::judge::{LineResult, ReadingsJudged};
use super::judgement::Judgement;
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
        let latest = self.history.last().and_then(|at| judged.judgements.get(*at));
        match (self.standing, latest.map(|judgement| judgement.verdict)) {
            (Standing::Closed(_) | Standing::Accepted, _) | (_, None) => "nothing",
            (_, Some(Verdict::Fail)) => "put it right, then read it again",
            (_, Some(Verdict::TooClose)) => {
                "read it again with less uncertainty, move it away from the limit, or have the AHJ accept it in writing"
            }
            (_, Some(Verdict::Pass)) => "find out why reading and calculation differ: the head, the pattern, the wire",
            _ => "read it again, with an instrument that can show it",
        }
    }
}

/// All deficiencies of a record, those that are closed too, in the order of the lines. What was found, closed and found
/// again is two.
pub fn deficiencies(judged: &ReadingsJudged) -> Vec<Deficiency> {
    let mut found = Vec::new();
    for (line, result) in judged.results.iter().enumerate() {
        let day = |judgement: &Judgement| judged.record.readings.get(judgement.reading).map(|reading| reading.on);
        // Where no limit is known, the vehicle is not to blame.
        let of_line = judged.judgements.iter().enumerate().filter(|(_, one)| one.line == line && one.limit_known);
        let mut taken: Vec<(Date, usize, &Judgement)> =
            of_line.filter_map(|(at, judgement)| Some((day(judgement)?, at, judgement))).collect();
        taken.retain(|(on, _, _)| key(*on) <= key(judged.as_of));
        taken.sort_by_key(|(on, at, _)| (key(*on), *at));
        let mut open: Option<Deficiency> = None;
        for (on, at, judgement) in taken {
            let good = judgement.is_good();
            if !good && open.is_none() {
                let standing = Standing::Open;
                open =
                    Some(Deficiency { line, opened: on, history: Vec::new(), due: None, responsible: None, standing });
            }
            let Some(deficiency) = &mut open else { continue };
            deficiency.history.push(at);
            if let Some(reading) = judged.record.readings.get(judgement.reading) {
                deficiency.due = reading.due.or(deficiency.due);
                deficiency.responsible = reading.responsible.clone().or(deficiency.responsible.take());
            }
            if good {
                deficiency.standing = Standing::Closed(on);
                found.extend(open.take());
            }
        }
        found.extend(open.map(|deficiency| standing(result, deficiency)));
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

fn standing(result: &LineResult, deficiency: Deficiency) -> Deficiency {
    let accepted = result.verdict == Verdict::Excepted;
    Deficiency { standing: if accepted { Standing::Accepted } else { deficiency.standing }, ..deficiency }
}

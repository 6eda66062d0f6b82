//! What no reading decides: above all the light of zones, which only the calculation speaks of, and lines that nobody
//! read. A record must not look better than the calculation allows, so what is not met or open there stands beside the
//! lines.

use std::collections::HashSet;

use super::judge::LineResult;
use super::judgement::Judgement;
use super::lines::Line;
use super::record::Record;
use crate::judge::{Finding, Judged, Status, Verdict};
use crate::quantity::{Proof, on_vehicle};
use crate::ruleset::Strength;

/// Required findings that are not met, open, on an estimate or accepted in writing, in the order of the judgement: beside
/// the lines where no reading decides them. What several rulesets ask together of something that can be read is decided by
/// the lines of each.
pub fn beyond(judged: &Judged) -> Vec<Finding> {
    let by_lines = |finding: &Finding| finding.is_meeting() && on_vehicle(finding.quantity).proof != Proof::Heads;
    let counts = |finding: &&Finding| {
        let settled = matches!(finding.verdict, Verdict::Pass | Verdict::NotApplicable) && !finding.on_estimate();
        finding.strength == Strength::Required && !settled && !by_lines(finding)
    };
    judged.findings.iter().filter(counts).cloned().collect()
}

/// Takes out what a reading decides, of a line or of the thing on it that it names. One that shows nothing decides
/// nothing.
pub(super) fn leave_undecided(
    beyond: &mut Vec<Finding>,
    lines: &[Line],
    results: &[LineResult],
    judgements: &[Judgement],
    record: &Record,
) {
    let mut decided: HashSet<&str> = HashSet::new();
    for (line, result) in lines.iter().zip(results) {
        for judgement in result.standing.iter().filter_map(|at| judgements.get(*at)) {
            let Some(reading) = record.readings.get(judgement.reading) else { continue };
            if judgement.is_worthless() && judgement.verdict == Verdict::NotShown {
                continue;
            }
            match line.things().iter().find(|thing| **thing == reading.line.text) {
                Some(thing) => decided.extend([thing.as_str()]),
                None => decided.extend(line.findings.iter().map(String::as_str)),
            }
        }
    }
    beyond.retain(|finding| !decided.contains(finding.id.as_str()));
}

/// How many of them there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Beyond {
    /// Not met.
    pub fail: usize,
    /// Too close, not shown, or passing on an estimate only.
    pub open: usize,
    /// Accepted in writing.
    pub excepted: usize,
}

impl Beyond {
    /// Counts them.
    pub(super) fn of(findings: &[Finding]) -> Self {
        let mut counts = Self::default();
        for finding in findings {
            match finding.verdict {
                Verdict::Fail => counts.fail += 1,
                Verdict::Excepted => counts.excepted += 1,
                _ => counts.open += 1,
            }
        }
        counts
    }

    /// What they mean by themselves.
    pub fn status(&self) -> Status {
        match self {
            Self { fail: 0, open: 0, .. } => Status::Met,
            Self { fail: 0, .. } => Status::Open,
            _ => Status::Failed,
        }
    }
}

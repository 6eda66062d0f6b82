//! What no line of the sheet can read: above all the light of zones, which only the calculation speaks of. A record must
//! not look better than the calculation allows, so what is not met or open there stands beside the lines.

use super::lines::Line;
use crate::judge::{Finding, Judged, Status, Verdict};
use crate::quantity::{Proof, on_vehicle};
use crate::ruleset::Strength;

/// Required findings that no line reads and that are not met, open, on an estimate or accepted in writing, in the order
/// of the judgement. What several rulesets ask together of something that can be read is decided by the lines of each.
pub fn beyond(lines: &[Line], judged: &Judged) -> Vec<Finding> {
    let read: std::collections::HashSet<&str> =
        lines.iter().flat_map(|line| &line.findings).map(String::as_str).collect();
    let is_read = |finding: &Finding| {
        let together = finding.is_meeting() && on_vehicle(finding.quantity).proof != Proof::Heads;
        together || read.contains(finding.id.as_str())
    };
    let counts = |finding: &&Finding| {
        let settled = matches!(finding.verdict, Verdict::Pass | Verdict::NotApplicable) && !finding.on_estimate();
        finding.strength == Strength::Required && !settled && !is_read(finding)
    };
    judged.findings.iter().filter(counts).cloned().collect()
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

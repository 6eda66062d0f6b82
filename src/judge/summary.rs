//! How many findings of each verdict there are, and what that means as an exit status.

use serde::Serialize;

use super::{Finding, Verdict};
use crate::ruleset::Strength;

/// Findings by verdict.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Counts {
    /// The limit is met.
    pub pass: usize,
    /// It is not.
    pub fail: usize,
    /// Within the uncertainty.
    pub too_close: usize,
    /// Data are missing.
    pub not_shown: usize,
    /// The rule does not speak of this vehicle.
    pub not_applicable: usize,
    /// Accepted in writing.
    pub excepted: usize,
    /// Of these, resting on a limit from memory.
    pub on_memory: usize,
    /// Of these, resting on an estimate.
    pub on_estimate: usize,
}

/// Required findings, and advice apart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Summary {
    /// Required findings.
    #[serde(flatten)]
    pub required: Counts,
    /// Advice; it never touches the exit status.
    pub advice: Counts,
    /// Whether any rule beyond `applies` came to a pass or an exception.
    #[serde(skip)]
    pub anything_judged: bool,
}

/// What the exit status says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Status {
    /// Every required rule passes on evidence better than an estimate, or is excepted or not applicable.
    Met,
    /// None fails, but something is open.
    Open,
    /// At least one fails.
    Failed,
}

impl Status {
    /// The process's exit status.
    pub fn code(self) -> u8 {
        match self {
            Self::Met => 0,
            Self::Failed => 1,
            Self::Open => 3,
        }
    }
}

impl Counts {
    fn add(&mut self, finding: &Finding) {
        match finding.verdict {
            Verdict::Pass => self.pass += 1,
            Verdict::Fail => self.fail += 1,
            Verdict::TooClose => self.too_close += 1,
            Verdict::NotShown => self.not_shown += 1,
            Verdict::NotApplicable => self.not_applicable += 1,
            Verdict::Excepted => self.excepted += 1,
        }
        self.on_memory += usize::from(finding.on_memory());
        self.on_estimate += usize::from(finding.on_estimate());
    }
}

impl Summary {
    /// Counts findings.
    pub fn of(findings: &[Finding]) -> Self {
        let mut summary = Self::default();
        for finding in findings {
            match finding.strength {
                Strength::Required => {
                    summary.required.add(finding);
                    let decided = matches!(finding.verdict, Verdict::Pass | Verdict::Excepted);
                    summary.anything_judged |= decided && finding.rule != super::APPLIES;
                }
                Strength::Advice => summary.advice.add(finding),
                Strength::Caution => {}
            }
        }
        summary
    }

    /// What they mean together.
    pub fn status(&self) -> Status {
        let required = &self.required;
        if required.fail > 0 {
            Status::Failed
        } else if required.too_close + required.not_shown + required.on_estimate > 0 || !self.anything_judged {
            Status::Open
        } else {
            Status::Met
        }
    }
}

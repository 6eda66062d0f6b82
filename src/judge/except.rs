//! Exceptions: what the authority or the buyer accepted in writing, from when to when.

use super::{Finding, Verdict};
use crate::load::reader::Date;
use crate::package::Package;

/// Applies the exceptions; gives back those that match nothing.
pub fn except(package: &Package, findings: &mut [Finding], as_of: Date) -> Vec<usize> {
    let key = |date: Date| (date.year, date.month, date.day);
    let mut idle = Vec::new();
    for (at, exception) in package.exceptions.iter().enumerate() {
        let Some(finding) = findings.iter_mut().find(|finding| finding.id == exception.finding) else {
            idle.push(at);
            continue;
        };
        let (from, until) = (exception.on, exception.until);
        if key(as_of) > key(until) {
            finding.notes.push(format!("an exception by {} ended on {until}", exception.accepted_by));
        } else if key(as_of) < key(from) {
            finding.notes.push(format!("an exception by {} begins on {from}", exception.accepted_by));
        } else if matches!(finding.verdict, Verdict::Fail | Verdict::TooClose | Verdict::NotShown) {
            finding.notes.push(format!(
                "was {}; accepted by {}, {}, on {from}, until {until}: {}",
                finding.verdict.print(),
                exception.accepted_by,
                exception.reference,
                exception.reason
            ));
            finding.was = Some(finding.verdict);
            finding.verdict = Verdict::Excepted;
            finding.would_show = None;
        }
    }
    idle
}

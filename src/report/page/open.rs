//! What is open on the page: findings that want the same thing stand together, and limits that nobody here knows.

use serde::Serialize;

use super::line::Line;
use crate::judge::Verdict;
use crate::report::Report;
use crate::ruleset::{Demand, Strength};

/// Findings that are open for one reason.
#[derive(Serialize)]
pub(super) struct Group {
    reason: String,
    shape: &'static str,
    /// All of them are advice.
    advice: bool,
    lines: Vec<Line>,
    /// What would show it: a sentence, and what is there to be pasted.
    would_show: Vec<(String, String)>,
}

/// A limit that is missing.
#[derive(Serialize)]
pub(super) struct Missing {
    rule: String,
    says: String,
    place: String,
    why: String,
    see: String,
}

/// The open findings by reason, in the order in which they are met.
pub(super) fn groups(report: &Report<'_>, lines: &[Line]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (finding, line) in report.findings().zip(lines) {
        if !matches!(finding.verdict, Verdict::NotShown | Verdict::TooClose) {
            continue;
        }
        let reason = finding.notes.first().cloned().unwrap_or_else(|| "within the uncertainty of the limit".to_owned());
        let advice = finding.strength == Strength::Advice;
        let at = groups.iter().position(|group| group.reason == reason && group.shape == line.shape);
        let would_show = finding.would_show.as_deref().map(|what| {
            let (said, pasted) = what.split_once('\n').unwrap_or((what, ""));
            (said.to_owned(), pasted.to_owned())
        });
        match at.and_then(|at| groups.get_mut(at)) {
            Some(group) => {
                group.advice &= advice;
                group.lines.push(line.clone());
                if let Some(what) = would_show.filter(|what| !group.would_show.contains(what)) {
                    group.would_show.push(what);
                }
            }
            None => groups.push(Group {
                reason,
                shape: line.shape,
                advice,
                lines: vec![line.clone()],
                would_show: would_show.into_iter().collect(),
            }),
        }
    }
    // What decides stands first.
    groups.sort_by_key(|group| group.advice);
    groups
}

/// The limits that a ruleset asks for and nobody here knows, with what to look up.
pub(super) fn missing(report: &Report<'_>) -> Vec<Missing> {
    let rules = report.rulesets.iter().flat_map(|ruleset| ruleset.rules.iter().map(move |rule| (ruleset, rule)));
    let mut all = Vec::new();
    for (ruleset, rule) in rules {
        for limit in &rule.limits {
            let Demand::Missing { why, see } = &limit.demand else { continue };
            let place = ruleset.place(limit).in_words();
            let see = see.clone().unwrap_or_default();
            let rule_id = format!("{}:{}", ruleset.id, rule.id);
            all.push(Missing { rule: rule_id, says: rule.says.clone(), place, why: why.clone(), see });
        }
    }
    all
}

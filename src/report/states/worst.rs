//! What the rules say of a row: its worst verdict, who has it, and the least margin.

use super::{Row, States};
use crate::judge::{Finding, Verdict};
use crate::ruleset::Strength;

/// The findings of a row that speak of its light.
pub(super) struct Worst<'r> {
    /// How many there are.
    pub judged: usize,
    /// The worst verdict.
    pub verdict: Verdict,
    /// All that have it, unless it is a pass.
    pub having: Vec<&'r Finding>,
    /// The one with the least room of all that have a margin and speak of a place around the vehicle.
    pub least: Option<&'r Finding>,
    /// The one with the least room of those that speak of one head: flash rates and the like.
    pub least_of_heads: Option<&'r Finding>,
}

/// Required findings about the light of the row's modes; none where nothing was judged.
pub(super) fn worst<'r>(row: &'r Row<'_>) -> Option<Worst<'r>> {
    // What speaks of no mode speaks of the vehicle as it stands, whatever is lit.
    let counts = |finding: &&Finding| {
        let required = finding.strength == Strength::Required && finding.scope.mode.is_some();
        required && finding.verdict != Verdict::NotApplicable
    };
    let findings: Vec<&Finding> = row.findings.iter().flat_map(|findings| findings.iter()).filter(counts).collect();
    let verdict = findings.iter().map(|finding| finding.verdict).max()?;
    let least = |of_head: bool| {
        let those = findings.iter().filter(|finding| finding.scope.head.is_some() == of_head);
        let with_margin = those.filter_map(|finding| Some((*finding, finding.margin?)));
        with_margin.min_by(|(_, one), (_, other)| one.total_cmp(other)).map(|(finding, _)| finding)
    };
    let (least, least_of_heads) = (least(false), least(true));
    let judged = findings.len();
    let having = findings.into_iter().filter(|finding| finding.verdict == verdict && verdict != Verdict::Pass);
    Some(Worst { judged, verdict, having: having.collect(), least, least_of_heads })
}

/// A finding by its place, short: `zone-total@calling/upper/A`, with its ruleset where another one has such a rule.
pub(super) fn place<'f>(states: &States<'_>, finding: &'f Finding) -> &'f str {
    let namesakes = states.rulesets.iter().filter(|ruleset| ruleset.rules.iter().any(|rule| rule.id == finding.rule));
    let short = finding.id.split_once(':').map_or(finding.id.as_str(), |(_, place)| place);
    if namesakes.count() > 1 { &finding.id } else { short }
}

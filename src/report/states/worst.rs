//! What the rules say of a row: its worst verdict, who has it and with what open, and the least margin.

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
    /// Those of them that have it with doors and the like at rest too.
    pub at_rest: Vec<&'r Finding>,
    /// The others, by what must be open or moved.
    pub only_with: Vec<(String, Vec<&'r Finding>)>,
    /// The worst verdict with doors and the like at rest, and the one with the least room there; none where that is
    /// no question of its own.
    pub resting: Option<(Verdict, Option<&'r Finding>)>,
    /// The one with the least room of all that have a margin and speak of a place around the vehicle.
    pub least: Option<&'r Finding>,
    /// The one with the least room of those that speak of one head: flash rates and the like.
    pub least_of_heads: Option<&'r Finding>,
}

impl Worst<'_> {
    /// The worst verdict with doors and the like at rest; where nothing comes and goes, the only one there is.
    pub fn verdict_at_rest(&self) -> Verdict {
        self.resting.map_or(self.verdict, |(verdict, _)| verdict)
    }
}

/// Required findings about the light of the row's modes; none where nothing was judged.
pub(super) fn worst<'r>(states: &States<'_>, row: &'r Row<'_>) -> Option<Worst<'r>> {
    let of_row = row.findings.as_ref()?;
    let findings = counting(&of_row.whole);
    let verdict = findings.iter().map(|finding| finding.verdict).max()?;
    let resting = of_row.at_rest.as_ref().map(|at_rest| counting(at_rest));
    let (least, least_of_heads) = (least(&findings, false), least(&findings, true));
    let judged = findings.len();
    let having = findings.into_iter().filter(|finding| finding.verdict == verdict && verdict != Verdict::Pass);
    let having: Vec<&Finding> = having.collect();
    let at_rest_too = |finding: &&Finding| {
        let Some(resting) = &resting else { return true };
        resting.iter().any(|known| known.id == finding.id && known.verdict == verdict)
    };
    let (at_rest, others): (Vec<_>, Vec<_>) = having.iter().copied().partition(at_rest_too);
    let mut only_with: Vec<(String, Vec<&Finding>)> = Vec::new();
    for finding in others {
        let with = states.needed(row, finding);
        match only_with.iter_mut().find(|(known, _)| *known == with) {
            Some((_, findings)) => findings.push(finding),
            None => only_with.push((with, vec![finding])),
        }
    }
    let resting = resting.map(|resting| {
        // Nothing is judged at rest where no mode that is judged holds then.
        let verdict = resting.iter().map(|finding| finding.verdict).max().unwrap_or(Verdict::NotApplicable);
        (verdict, self::least(&resting, false))
    });
    Some(Worst { judged, verdict, having, at_rest, only_with, resting, least, least_of_heads })
}

/// Those that count in the verdict of a row.
fn counting(findings: &[Finding]) -> Vec<&Finding> {
    // What speaks of no mode speaks of the vehicle as it stands, whatever is lit.
    let counts = |finding: &&Finding| {
        let required = finding.strength == Strength::Required && finding.scope.mode.is_some();
        required && finding.verdict != Verdict::NotApplicable
    };
    findings.iter().filter(counts).collect()
}

fn least<'r>(findings: &[&'r Finding], of_head: bool) -> Option<&'r Finding> {
    let those = findings.iter().filter(|finding| finding.scope.head.is_some() == of_head);
    let with_margin = those.filter_map(|finding| Some((*finding, finding.margin?)));
    with_margin.min_by(|(_, one), (_, other)| one.total_cmp(other)).map(|(finding, _)| finding)
}

/// A finding by its place, short: `zone-total@calling/upper/A`, with its ruleset where another one has such a rule.
pub(super) fn place<'f>(states: &States<'_>, finding: &'f Finding) -> &'f str {
    let namesakes = states.rulesets.iter().filter(|ruleset| ruleset.rules.iter().any(|rule| rule.id == finding.rule));
    let short = finding.id.split_once(':').map_or(finding.id.as_str(), |(_, place)| place);
    if namesakes.count() > 1 { &finding.id } else { short }
}

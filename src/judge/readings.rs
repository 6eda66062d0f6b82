//! Several answers to one question: readings of the boundary points, and modes that serve one purpose.

use super::{Finding, Found, Verdict};
use crate::measure::Boundary;
use crate::ruleset::Require;

/// Puts the readings of the boundary points together: the less favourable is found, the other is noted, and where
/// the verdicts differ nothing is shown.
pub(super) fn join_readings(findings: Vec<Finding>, readings: &[Boundary]) -> Vec<Finding> {
    if readings.len() < 2 {
        return findings;
    }
    let mut joined: Vec<Finding> = Vec::new();
    for mut finding in findings {
        let Some(known) = joined.iter_mut().find(|known| known.id == finding.id) else {
            joined.push(finding);
            continue;
        };
        let differ = known.verdict != finding.verdict;
        let same = known.found == finding.found && !differ;
        // The worse one is kept.
        if is_worse(&finding, known) {
            std::mem::swap(known, &mut finding);
        }
        if !same {
            let reading = match finding.trace.as_ref().map(|trace| trace.boundary) {
                Some(Boundary::First) => "with boundary points in the sector they begin",
                _ => "with boundary points in both sectors",
            };
            let found = match &finding.found {
                Found::Number(number) => crate::units::format_number(*number, 1),
                Found::Words(words) => words.join(", "),
                Found::Nothing => "nothing".to_owned(),
            };
            known.notes.push(format!("{reading}: {found} ({})", finding.verdict.print()));
        }
        if differ {
            known.verdict = Verdict::NotShown;
            known.notes.insert(0, "the verdict hangs on whom points on a dividing line belong to".to_owned());
            known.would_show =
                Some("the document's word on whom points on a dividing line belong to (`boundary-points`)".to_owned());
        }
    }
    joined
}

/// How bad what was found is: by its verdict, then by how little room there is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rank {
    pub verdict: Verdict,
    room: f64,
}

impl Rank {
    pub fn new(verdict: Verdict, margin: Option<f64>, found: &Found, require: Require) -> Self {
        // Without a margin (zero limits, missing limits) the number itself says which is worse.
        let room = margin.unwrap_or(match (found, require) {
            (Found::Number(number), Require::AtMost) => -number,
            (Found::Number(number), Require::AtLeast) => *number,
            _ => 0.0,
        });
        Self { verdict, room }
    }

    /// The least bad of all with this verdict.
    pub fn just(verdict: Verdict) -> Self {
        Self { verdict, room: f64::INFINITY }
    }

    fn of(finding: &Finding) -> Self {
        Self::new(finding.verdict, finding.margin, &finding.found, finding.require)
    }

    /// A worse verdict, or the same with less room.
    pub fn is_worse_than(self, other: Self) -> bool {
        (self.verdict, -self.room) > (other.verdict, -other.room)
    }

    pub fn worse(self, other: Self) -> Self {
        if other.is_worse_than(self) { other } else { self }
    }

    /// The rank of what [`join_readings`] makes of two readings.
    pub fn joined(self, other: Self) -> Self {
        let verdict = if self.verdict == other.verdict { self.verdict } else { Verdict::NotShown };
        Self { verdict, ..self.worse(other) }
    }
}

/// A worse verdict, or the same with less room.
pub(super) fn is_worse(one: &Finding, other: &Finding) -> bool {
    Rank::of(one).is_worse_than(Rank::of(other))
}

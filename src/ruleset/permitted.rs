//! Which heads and modes a ruleset's rules on light speak of: those of permitted colours, and of every mode where a limit
//! names no purpose.

use super::{Demand, Limit, Require, Rule, Ruleset, Strength};
use crate::quantity::Measure;

/// Which colours count.
#[derive(Clone, Debug, PartialEq)]
pub enum Permitted {
    /// No rule says.
    All,
    /// These.
    Colours(Vec<String>),
    /// A rule says, but its limit is missing.
    Unknown,
}

impl Permitted {
    /// As a list to count by; nothing counts for sure where it is unknown.
    pub fn list(&self) -> Option<&[String]> {
        match self {
            Self::All => None,
            Self::Colours(colours) => Some(colours),
            Self::Unknown => Some(&[]),
        }
    }
}

impl Ruleset {
    /// The colours that count in a zone while serving a purpose: those that every required `only` rule on colours
    /// shown allows there. Advice never decides.
    pub fn permitted(&self, purpose: &str, zone: Option<usize>) -> Permitted {
        let decides = |rule: &&Rule| {
            let colours = rule.require == Require::Only && rule.quantity.name == "colours-shown";
            colours && rule.strength == Strength::Required
        };
        let limits = self.rules.iter().filter(decides).flat_map(|rule| &rule.limits);
        let mut permitted = Permitted::All;
        for limit in limits.filter(|limit| limit.purpose.as_deref() == Some(purpose) && limit.zone == zone) {
            permitted = match (permitted, &limit.demand) {
                (Permitted::Unknown, _) | (_, Demand::Missing { .. }) => Permitted::Unknown,
                (Permitted::Colours(known), Demand::Words(words)) => {
                    Permitted::Colours(known.into_iter().filter(|colour| words.contains(colour)).collect())
                }
                (_, Demand::Words(words)) => Permitted::Colours(words.clone()),
                (permitted, _) => permitted,
            };
        }
        permitted
    }

    /// The colours that count for a limit.
    pub fn permitted_by(&self, limit: &Limit) -> Permitted {
        limit.purpose.as_deref().map_or(Permitted::All, |purpose| self.permitted(purpose, limit.zone))
    }

    /// Whether a rule on light speaks of no purpose, so that it is asked of every mode.
    pub fn judges_every_mode(&self) -> bool {
        let of_light = |rule: &&Rule| matches!(rule.quantity.measure, Measure::Light { .. });
        self.rules.iter().filter(of_light).flat_map(|rule| &rule.limits).any(|limit| limit.purpose.is_none())
    }
}

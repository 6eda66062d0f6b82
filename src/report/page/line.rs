//! One finding as it stands on the page: word and shape of its verdict, figures, where to look, source.

use serde::Serialize;

use crate::judge::{Finding, Verdict};
use crate::report::number::{margin, pair};
use crate::report::table::{is_reading, look_at};
use crate::report::text::setting;
use crate::report::verdict_word;
use crate::ruleset::{Demand, Strength};
use crate::units::Dimension;

/// One finding.
#[derive(Clone, Serialize)]
pub(super) struct Line {
    /// Names its row within the page.
    pub anchor: String,
    pub id: String,
    /// The id without its ruleset.
    pub name: String,
    pub word: String,
    pub class: &'static str,
    pub shape: &'static str,
    pub strength: &'static str,
    pub says: String,
    pub found: String,
    pub required: String,
    pub unit: &'static str,
    /// Found and required with their unit, in a sentence.
    pub told: String,
    pub margin: String,
    pub set: String,
    pub look: String,
    pub source: String,
    /// Its number in the list of sources.
    pub cited: usize,
    pub basis: &'static str,
    pub evidence: &'static str,
    pub notes: Vec<String>,
}

/// The shape of a verdict: told apart without colour.
pub(super) fn shape(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "\u{25cf}",
        Verdict::Fail => "\u{25b2}",
        Verdict::TooClose => "\u{25d0}",
        Verdict::NotShown => "\u{25cb}",
        Verdict::NotApplicable => "\u{2013}",
        Verdict::Excepted => "\u{25c7}",
    }
}

impl Line {
    /// The finding at this place of the list.
    pub fn of(finding: &Finding, at: usize) -> Self {
        Self::new(finding, format!("finding-{}", at + 1))
    }

    /// The caution at this place of their list.
    pub fn of_caution(finding: &Finding, at: usize) -> Self {
        Self { shape: "!", ..Self::new(finding, format!("caution-{}", at + 1)) }
    }

    fn new(finding: &Finding, anchor: String) -> Self {
        let (found, required) = pair(finding);
        let unit = if finding.unit.dimension() == Dimension::Words { "" } else { finding.unit.symbol() };
        let asked = if matches!(finding.limit, Demand::Missing { .. }) { "" } else { unit };
        let told = format!("found {found} {unit}, required {required} {asked}");
        let notes = finding.notes.iter().filter(|note| !is_reading(note)).cloned();
        Self {
            anchor,
            name: finding.id.split_once(':').map_or("", |(_, name)| name).to_owned(),
            id: finding.id.clone(),
            word: verdict_word(finding).replace('-', " "),
            class: verdict_word(finding),
            shape: shape(finding.verdict),
            strength: match finding.strength {
                Strength::Advice => "advice",
                Strength::Required | Strength::Caution => "",
            },
            says: finding.says.clone(),
            told: told.replace("  ", " ").replace(" ,", ",").trim_end().to_owned(),
            found,
            required,
            unit,
            margin: margin(finding),
            set: setting(finding).unwrap_or_default(),
            look: look_at(finding, true),
            source: finding.source.in_words(),
            cited: 0,
            basis: finding.source.basis.word(),
            evidence: finding.evidence.map_or("", crate::package::Grade::word),
            notes: finding.method.iter().cloned().chain(notes).collect(),
        }
    }
}

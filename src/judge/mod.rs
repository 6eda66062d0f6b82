//! Rules against measurements: one [`Finding`] a rule and place, with its verdict, margin and witness.
//!
//! The judge knows no physics. What it adds to a measured value is the comparison, the choice of the worst mode, and
//! what the ruleset's conventions mean for the verdict.

mod asked;
mod assemble;
mod compare;
mod conflict;
mod except;
mod fit;
mod group;
mod light;
mod question;
mod readings;
mod run;
mod summary;
mod unheard;
mod unspoken;
mod would_show;

use serde::Serialize;

use crate::package::Grade;
use crate::ruleset::{Citation, Demand, Require, Strength};
use crate::units::{Dimension, Unit};

pub use asked::{ask_of, working};
pub use conflict::{has_own_words, level_is_over};
pub use except::except;
pub use run::{Judged, LESS_TANGLED, Terms, judge, judge_within};
pub use summary::{Counts, Status, Summary};

/// The rule id of the finding on whether a ruleset fits the vehicle.
pub const APPLIES: &str = "applies";

/// What is said of one rule at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The limit is met.
    Pass,
    /// The authority or the buyer accepted it in writing.
    Excepted,
    /// The rule does not speak of this vehicle.
    NotApplicable,
    /// Within the uncertainty of the limit.
    TooClose,
    /// Data are missing; never a pass.
    NotShown,
    /// The limit is not met.
    Fail,
}

/// All verdicts with their words, as written in files and options.
pub const VERDICTS: &[(&str, Verdict)] = &[
    ("pass", Verdict::Pass),
    ("fail", Verdict::Fail),
    ("too-close", Verdict::TooClose),
    ("not-shown", Verdict::NotShown),
    ("not-applicable", Verdict::NotApplicable),
    ("excepted", Verdict::Excepted),
];

impl Verdict {
    /// As written in files.
    pub fn word(self) -> &'static str {
        VERDICTS.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }

    /// As printed: without the hyphen.
    pub fn print(self) -> String {
        self.word().replace('-', " ")
    }
}

/// One rule at one place.
#[derive(Clone, Debug)]
pub struct Finding {
    /// Stable and shell-safe: `ruleset:rule@purpose/level/zone/class/head/emitter/circuit/supply/sounder/tone/place/item`.
    pub id: String,
    /// The rule's id.
    pub rule: String,
    /// The ruleset's id.
    pub ruleset: String,
    /// What the rule asks.
    pub says: String,
    /// Whether it decides.
    pub strength: Strength,
    /// The quantity's name.
    pub quantity: &'static str,
    /// The unit of limit and found.
    pub unit: Unit,
    /// Where.
    pub scope: FindingScope,
    /// How they are compared.
    pub require: Require,
    /// What is asked, in `unit`.
    pub limit: Demand,
    /// What was found, in `unit`.
    pub found: Found,
    /// Room, as a share of the limit; negative where it is not met.
    pub margin: Option<f64>,
    /// The verdict.
    pub verdict: Verdict,
    /// What the verdict was before it was accepted in writing, where it was.
    pub was: Option<Verdict>,
    /// The weakest evidence it rests on.
    pub evidence: Option<Grade>,
    /// Where to look.
    pub witness: FindingWitness,
    /// Where the limit comes from.
    pub source: Citation,
    /// The limits that are asked of this place together, where it is on several.
    pub together: Vec<Together>,
    /// What a reader must know.
    pub notes: Vec<String>,
    /// What would show it, where something is missing.
    pub would_show: Option<String>,
    /// From where one looked, for quantities that depend on it.
    pub method: Option<String>,
    /// How it came about, for `explain`.
    pub trace: Option<Trace>,
}

/// One of the limits that several rulesets ask of one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// The ruleset's id.
    pub ruleset: String,
    /// The rule's id.
    pub rule: String,
    /// How found and limit are compared.
    pub require: Require,
    /// What is asked, in `unit`.
    pub limit: Demand,
    /// Its unit.
    pub unit: Unit,
    /// Where it comes from.
    pub source: Citation,
}

/// Where a finding holds.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct FindingScope {
    /// What the vehicle is being used for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub purpose: Option<String>,
    /// The worst mode that serves it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mode: Option<String>,
    /// The level.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub level: Option<String>,
    /// The zone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// The class of devices.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub class: Option<String>,
    /// The head.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub head: Option<String>,
    /// The emitter of the head, by its colour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub emitter: Option<String>,
    /// The circuit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub circuit: Option<String>,
    /// The battery, converter, inverter or shore inlet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub supply: Option<String>,
    /// The sounder.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sounder: Option<String>,
    /// The tone of the sounder.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tone: Option<String>,
    /// The ear that hears a shift.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// What a person states.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub item: Option<String>,
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// A number in the finding's unit.
    Number(f64),
    /// Words.
    Words(Vec<String>),
    /// Nothing to compare.
    Nothing,
}

/// What makes a finding what it is.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct FindingWitness {
    /// The state to set the vehicle to, in words: no more inputs than decide.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    /// Degrees clockwise from straight ahead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bearing: Option<f64>,
    /// Degrees above the horizontal plane.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elevation: Option<f64>,
    /// The head to look at.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub head: Option<String>,
}

/// Which rule, limit, mode, reading and state led to a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trace {
    /// Place in the list of rulesets.
    pub ruleset: usize,
    /// Place in the ruleset's rules.
    pub rule: usize,
    /// Place in the rule's limits.
    pub limit: usize,
    /// Place in the package's modes; none where no mode matters.
    pub mode: Option<usize>,
    /// Which reading of the boundary points.
    pub boundary: crate::measure::Boundary,
    /// The worst state: the place of the position of each input. None where all states were looked at together.
    pub state: Option<Vec<usize>>,
    /// All states that are known to show the same. None where all states were looked at together.
    pub states: Option<crate::logic::Region>,
}

impl Finding {
    /// The parts of the id behind the `@`, from a scope.
    pub(crate) fn place(scope: &FindingScope) -> String {
        let of_device = [&scope.class, &scope.head, &scope.emitter, &scope.circuit, &scope.supply];
        let of_sound = [&scope.sounder, &scope.tone, &scope.place, &scope.item];
        let parts = [&scope.purpose, &scope.level, &scope.zone].into_iter().chain(of_device).chain(of_sound);
        let parts: Vec<&str> = parts.flatten().map(String::as_str).collect();
        if parts.is_empty() { "vehicle".to_owned() } else { parts.join("/") }
    }

    /// Whether it is on what several rulesets ask together.
    pub fn is_meeting(&self) -> bool {
        conflict::is_meeting(&self.ruleset)
    }

    /// Its notes, and what would show it, in one text.
    pub fn note(&self) -> String {
        let would_show = self.would_show.iter().map(|what| format!("would show it: {what}"));
        self.notes.iter().cloned().chain(would_show).collect::<Vec<_>>().join("; ")
    }

    /// Whether its verdict rests on an estimate.
    pub fn on_estimate(&self) -> bool {
        let judged = matches!(self.verdict, Verdict::Pass | Verdict::Fail | Verdict::TooClose);
        judged && self.evidence == Some(Grade::Estimate)
    }

    /// Whether its limit is one that is only remembered.
    pub fn on_memory(&self) -> bool {
        let judged = matches!(self.verdict, Verdict::Pass | Verdict::Fail | Verdict::TooClose);
        judged && self.source.basis == crate::ruleset::Basis::Memory
    }

    /// Whether found and limit are whole things that are counted.
    pub fn counts_things(&self) -> bool {
        use Dimension::{Displays, Heads, Modes, Points, Sounders, States};
        matches!(self.unit.dimension(), Points | Heads | Sounders | States | Displays | Modes)
    }
}

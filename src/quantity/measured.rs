//! What a quantity comes to: a value with what is known of it, where to look, and what a reader must know.

use super::Uncertainty;
use crate::logic::Region;
use crate::package::Grade;
use crate::units::Degrees;

/// One value at one place.
#[derive(Clone, Debug)]
pub struct Measured {
    /// The head it is about, for quantities found head by head.
    pub head: Option<String>,
    /// The colour of the emitter it is about, for quantities found emitter by emitter.
    pub emitter: Option<String>,
    /// The circuit it is about, for quantities found circuit by circuit.
    pub circuit: Option<String>,
    /// The battery, converter, inverter or inlet it is about.
    pub supply: Option<String>,
    /// The sounder it is about.
    pub sounder: Option<String>,
    /// The tone it is about.
    pub tone: Option<String>,
    /// The ear it is about, for what people hear over a shift.
    pub place: Option<String>,
    /// The head has no level, whatever the limit asked about.
    pub outside_levels: bool,
    /// The vehicle side, for quantities found side by side, as a place in the protocol's zones.
    pub zone: Option<usize>,
    /// The states that show it, for quantities found from all of them.
    pub states: Option<Region>,
    /// For words where each shows, for quantities found from all states.
    pub occurrences: Vec<Occurrence>,
    /// The value.
    pub value: Value,
    /// Where to look: what makes `low` what it is.
    pub witness: Witness,
    /// Where to look when `high` decides, if that is another place.
    pub high_witness: Option<Witness>,
    /// The weakest evidence it rests on; none for facts of the package itself.
    pub evidence: Option<Grade>,
    /// Its expanded uncertainty, where it was asked for.
    pub uncertainty: Uncertainty,
    /// The room that it leaves, where that is no share of a limit: for colours a signed distance in x, y.
    pub margin: Option<f64>,
    /// What a reader must know.
    pub notes: Vec<String>,
    /// How it came about, for `explain`; only of quantities that look at single devices.
    pub steps: Vec<String>,
}

/// Where a word shows.
#[derive(Clone, Debug)]
pub struct Occurrence {
    /// The word.
    pub word: String,
    /// The states that show it.
    pub states: Region,
    /// What is set last to get there, in words; none where that does not matter.
    pub set_last: Vec<String>,
}

/// A value, or why there is none.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A number in the base unit of the quantity's dimension, known to lie from `low` to `high`.
    Number {
        /// At least this.
        low: f64,
        /// At most this (infinite where nothing is known).
        high: f64,
        /// Every value in between occurs (phases that drift), rather than one unknown one.
        occurs: bool,
    },
    /// Words, each with the heads that bear it.
    Words {
        /// Those that are known.
        shown: Vec<(String, Vec<String>)>,
        /// Those that missing data may hide.
        perhaps: Vec<(String, Vec<String>)>,
    },
    /// Nothing there to measure; the text says what is absent. A demand on it fails.
    Absent(String),
    /// It cannot be known from the files; the text says what is missing.
    Unknown(String),
}

impl Value {
    /// A number that is exactly known.
    pub fn exactly(value: f64) -> Self {
        Self::Number { low: value, high: value, occurs: true }
    }
}

/// What makes a value what it is: the place to look at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Witness {
    /// A bearing.
    pub bearing: Option<Degrees>,
    /// An elevation.
    pub elevation: Option<Degrees>,
    /// A head.
    pub head: Option<String>,
}

impl Measured {
    /// A value without anything beside it.
    pub fn new(value: Value) -> Self {
        Self {
            head: None,
            emitter: None,
            circuit: None,
            supply: None,
            sounder: None,
            tone: None,
            place: None,
            outside_levels: false,
            zone: None,
            states: None,
            occurrences: Vec::new(),
            value,
            witness: Witness::default(),
            high_witness: None,
            evidence: None,
            uncertainty: Uncertainty::NotAsked,
            margin: None,
            notes: Vec::new(),
            steps: Vec::new(),
        }
    }
}

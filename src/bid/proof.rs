//! How each kind of demand is proved: by a paper, by looking or by measuring; who does it, at which stage, and what a
//! deviation has to state. One table for all rulesets, so that no clause is left without.

use crate::quantity::{ListenKey, Listens, Measure, Quantity, device_keys, is_of_shift, listen_keys};
use crate::units::{Dimension, Unit};

/// What kind of proof a clause asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proof {
    /// A paper is read.
    Document,
    /// Somebody looks at the vehicle, or works its switches.
    Visual,
    /// Somebody measures or counts.
    Measurement,
}

impl Proof {
    /// The words in files.
    pub const WORDS: [(&'static str, Self); 3] =
        [("document", Self::Document), ("visual", Self::Visual), ("measurement", Self::Measurement)];

    /// The word in files and print.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// Under which heading a clause stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heading {
    /// Light by zone, level and colour.
    Zones,
    /// Single lamps.
    Lamps,
    /// Where lamps stand.
    Mounting,
    /// Modes and switches.
    Modes,
    /// Headlamps and other lamps that every vehicle has.
    Headlamps,
    /// The directional arrow.
    Arrow,
    /// What feeds the lamps.
    Power,
    /// What sounds.
    Sound,
    /// What is shown by papers, or vouched for.
    Papers,
}

impl Heading {
    /// The words in files, with the titles in print, in the order of the document.
    pub const WORDS: [(&'static str, Self, &'static str); 9] = [
        ("zones", Self::Zones, "Zones and colours"),
        ("lamps", Self::Lamps, "Each lamp"),
        ("mounting", Self::Mounting, "Where lamps stand"),
        ("modes", Self::Modes, "Modes and switches"),
        ("headlamps", Self::Headlamps, "Headlamps and the lamps of every vehicle"),
        ("arrow", Self::Arrow, "Directional arrow"),
        ("power", Self::Power, "Power"),
        ("sound", Self::Sound, "Sound"),
        ("papers", Self::Papers, "Papers, and what a person vouches for"),
    ];

    /// Its word in files.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, known, _)| *known == self).map_or("", |(word, _, _)| word)
    }

    /// Its title in print.
    pub fn title(self) -> &'static str {
        Self::WORDS.iter().find(|(_, known, _)| *known == self).map_or("", |(_, _, title)| title)
    }
}

/// The heading under which clauses on a quantity stand.
pub(super) fn heading_of(quantity: &Quantity) -> Heading {
    let about = |words: &[&str]| words.iter().any(|word| quantity.name.contains(word));
    match (quantity.measure, quantity.dimension) {
        (Measure::Sound(_), _) => Heading::Sound,
        (Measure::Power(_), _) | (_, Dimension::Current) => Heading::Power,
        (Measure::Stated(_), Dimension::SoundLevel | Dimension::Decibels) => Heading::Sound,
        (Measure::Stated(_), Dimension::Voltage) => Heading::Power,
        (Measure::Stated(_), _) => Heading::Papers,
        _ if about(&["arrow"]) => Heading::Arrow,
        _ if about(&["headlamp", "flasher", "vehicle-lamp"]) => Heading::Headlamps,
        (Measure::States(_), _) => Heading::Modes,
        (Measure::Mounting(_), _) => Heading::Mounting,
        (Measure::Device(_), _) => Heading::Lamps,
        (Measure::Light { .. }, _) if device_keys(quantity).is_some() => Heading::Lamps,
        (Measure::Light { .. }, _) => Heading::Zones,
    }
}

/// How a demand on a quantity is proved.
pub(super) fn proof_of(quantity: &Quantity) -> Proof {
    use Dimension::{
        Angle, Displays, FlashEnergy, Heads, Illuminance, Intensity, Modes, OpticalPower, Points, Share, SoundLevel,
        Sounders, States, Words,
    };
    match (quantity.measure, quantity.dimension) {
        // No meter on the vehicle shows these: a laboratory measures the lamp, and the zones are added up on paper.
        (_, Intensity | FlashEnergy | OpticalPower | Illuminance) => Proof::Document,
        (Measure::Device(_), Share | Angle) => Proof::Document,
        (Measure::Device(_), Words) if quantity.name != "emitter-colour" => Proof::Document,
        // A single sounder is measured in a laboratory, too.
        (Measure::Sound(_), SoundLevel | Dimension::Decibels) if is_on_its_sheet(quantity) => Proof::Document,
        (_, Points | Heads | Sounders | States | Displays | Modes | Words) => Proof::Visual,
        _ => Proof::Measurement,
    }
}

/// Whether a level is one of a sounder in the free field rather than one at a place round the vehicle or over a shift.
fn is_on_its_sheet(quantity: &Quantity) -> bool {
    let round = |keys: Listens| keys.needed.contains(&ListenKey::From) || keys.more.contains(&ListenKey::From);
    listen_keys(quantity).is_some_and(|keys| !round(keys)) && !is_of_shift(quantity)
}

/// Who shows it, and who looks.
pub(super) fn party(proof: Proof) -> &'static str {
    match proof {
        Proof::Document => "the bidder hands the paper in; the purchaser's inspector compares it with what is fitted",
        Proof::Visual => "the builder shows it on the finished vehicle; the purchaser's inspector looks and signs",
        Proof::Measurement => {
            "the builder measures on the finished vehicle; the purchaser's inspector is present and signs"
        }
    }
}

/// At which stage.
pub(super) fn stage(proof: Proof) -> &'static str {
    match proof {
        Proof::Document => "with the bid, and again with the finished vehicle",
        Proof::Visual | Proof::Measurement => "at acceptance of the finished vehicle",
    }
}

/// The paper that proves it.
pub(super) fn paper(heading: Heading, proof: Proof) -> &'static str {
    match (heading, proof) {
        (Heading::Zones, Proof::Document) => {
            "the laboratory's report of each lamp (colour, pattern, voltage), the list of lamps with position and aim, and the calculation of every zone"
        }
        (Heading::Sound, Proof::Document) => {
            "the laboratory's report of the sounder, with distance, angle and voltage of every level"
        }
        (_, Proof::Document) => "the laboratory's report of the device, with its date, colour, pattern and voltage",
        (Heading::Modes | Heading::Headlamps | Heading::Arrow, Proof::Visual) => {
            "the truth table of the controller with the version of its program, and the signed list of acceptance"
        }
        (_, Proof::Visual) => "the signed list of acceptance, with a photograph",
        (Heading::Power, Proof::Measurement) => {
            "the load analysis, and the record of the test: figure, meter, its calibration, day, name"
        }
        (_, Proof::Measurement) => {
            "the record of the test: figure, uncertainty, instrument, its calibration, day, name"
        }
    }
}

/// What a deviation has to state.
pub(super) fn deviation(unit: Unit) -> String {
    let what = match unit.dimension() {
        Dimension::Words => "what is offered instead, word by word".to_owned(),
        _ => format!("the figure offered, in {unit}"),
    };
    format!(
        "{what}, for each limit that is not met; the paper it is from; what makes up for it; and who of the purchaser accepts it in writing"
    )
}

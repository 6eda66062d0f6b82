//! What feeds the heads: batteries, alternators, converters, circuits as a tree, and loads that are no lamps.
//!
//! Everything is referred to by its place in these lists; a circuit stands behind the one that feeds it.

mod bind;
mod read;
mod sounders;

use crate::electrical::{Bank, Driver, FuseKind, IdleRate, Insulation, Wire};
use crate::logic::Condition;
use crate::package::Evidence;
use crate::units::{Ampere, Celsius, Seconds, Share, Volt, Watt};

pub(super) use read::read_supply;

/// The electrical side of a vehicle.
#[derive(Clone, Debug)]
pub struct Supply {
    /// 12 or 24 V.
    pub system: Volt,
    /// At which it is judged.
    pub voltages: Voltages,
    /// Batteries, those side by side as one.
    pub batteries: Vec<Battery>,
    /// What charges them.
    pub alternators: Vec<Alternator>,
    /// From one direct voltage to another.
    pub converters: Vec<Converter>,
    /// From direct to alternating voltage.
    pub inverters: Vec<Inverter>,
    /// Where a cord from a building is plugged in.
    pub inlets: Vec<Inlet>,
    /// Wires with or without a fuse; a circuit stands behind the one that feeds it.
    pub circuits: Vec<Circuit>,
    /// What draws current and is no lamp.
    pub loads: Vec<Load>,
    /// What the engine burns at idle.
    pub idle: Option<&'static IdleRate>,
    /// The circuit of each head of the package; none where the package names none.
    pub of_heads: Vec<Option<usize>>,
}

impl Supply {
    /// A circuit and those that feed it, up to the source.
    pub fn towards_source(&self, circuit: usize) -> impl Iterator<Item = &Circuit> {
        let fed_by = |circuit: &&Circuit| match circuit.from {
            Feed::Circuit(from) => self.circuits.get(from),
            Feed::Battery(_) | Feed::Converter(_) => None,
        };
        std::iter::successors(self.circuits.get(circuit), fed_by)
    }
}

/// The voltages at the sources at which a vehicle is judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Voltages {
    /// The engine stands.
    pub battery: Volt,
    /// The engine runs.
    pub running: Volt,
    /// The regulator holds it.
    pub regulated: Volt,
}

impl Voltages {
    /// Each with its name, lowest use first.
    pub fn all(&self) -> [(&'static str, Volt); 3] {
        [("battery", self.battery), ("running", self.running), ("regulated", self.regulated)]
    }
}

/// Batteries side by side.
#[derive(Clone, Debug)]
pub struct Battery {
    /// Its id.
    pub id: String,
    /// How many there are.
    pub count: u32,
    /// All of them together; none where their capacity or their exponent is not known.
    pub bank: Option<Bank>,
    /// Reserve capacity of one: minutes at 25 A.
    pub reserve: Option<Seconds>,
    /// Peukert's exponent, stated or from the two capacities.
    pub exponent: Option<f64>,
    /// What it takes while it is charged, beside the loads.
    pub charging: Ampere,
    /// Which share of the charge put in comes out again.
    pub charge_efficiency: Option<Share>,
}

/// What charges batteries while the engine runs.
#[derive(Clone, Debug)]
pub struct Alternator {
    /// Its id.
    pub id: String,
    /// Its nameplate: a cool-air figure, from which nothing is judged.
    pub rated: Option<Ampere>,
    /// What it gives hot at idle.
    pub hot_idle: Option<HotIdle>,
    /// Which batteries it charges.
    pub charges: Vec<usize>,
}

/// Output of an alternator with the engine idling and hot.
#[derive(Clone, Debug)]
pub struct HotIdle {
    /// The current.
    pub output: Ampere,
    /// How warm it was.
    pub at: Option<Celsius>,
    /// How well it is known.
    pub evidence: Evidence,
}

/// From one direct voltage to another.
#[derive(Clone, Debug)]
pub struct Converter {
    /// Its id.
    pub id: String,
    /// What feeds it.
    pub from: Feed,
    /// The voltage it gives.
    pub voltage: Volt,
    /// The most that it gives.
    pub output: Ampere,
    /// Its efficiency.
    pub efficiency: Option<Share>,
    /// What it draws without load.
    pub idle: Ampere,
    /// The battery that it charges.
    pub charges: Option<usize>,
    /// When it is on.
    pub when: Condition,
}

/// From direct to alternating voltage.
#[derive(Clone, Debug)]
pub struct Inverter {
    /// Its id.
    pub id: String,
    /// The circuit that feeds it.
    pub circuit: usize,
    /// The most that it gives.
    pub output: Watt,
    /// Its efficiency.
    pub efficiency: Option<Share>,
    /// What it draws without load.
    pub idle: Ampere,
    /// When it is on.
    pub when: Condition,
}

/// Where a cord from a building is plugged in.
#[derive(Clone, Debug)]
pub struct Inlet {
    /// Its id.
    pub id: String,
    /// Its rating.
    pub rated: Ampere,
    /// The building's voltage.
    pub voltage: Volt,
}

/// What feeds something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feed {
    /// A battery.
    Battery(usize),
    /// A converter.
    Converter(usize),
    /// A circuit.
    Circuit(usize),
}

/// A wire from a source, or from the end of another wire, with what protects it.
#[derive(Clone, Debug)]
pub struct Circuit {
    /// Its id.
    pub id: String,
    /// What feeds it.
    pub from: Feed,
    /// What protects it.
    pub fuse: Option<Fuse>,
    /// The wire.
    pub cable: Option<Cable>,
}

/// What protects a circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fuse {
    /// Its kind.
    pub kind: FuseKind,
    /// Its rating.
    pub rating: Ampere,
    /// How warm it is around it.
    pub ambient: Option<Celsius>,
}

/// The wire of a circuit, and where it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cable {
    /// The wire.
    pub wire: Wire,
    /// The rating of its insulation.
    pub insulation: Option<Insulation>,
    /// It passes through an engine space.
    pub engine_space: bool,
    /// What its maker lets it carry, where the law's table has no such wire.
    pub ampacity: Option<Ampere>,
}

/// What a load analysis calls a load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadKind {
    /// Part of the minimum continuous load: never shed.
    Minimum,
    /// Part of the total continuous load.
    Continuous,
    /// On for short times (sirens, horns, winches).
    Intermittent,
}

impl LoadKind {
    /// The words in files.
    pub const WORDS: [(&'static str, Self); 3] =
        [("minimum", Self::Minimum), ("continuous", Self::Continuous), ("intermittent", Self::Intermittent)];

    /// The word in files and print.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, kind)| *kind == self).map_or("", |(word, _)| word)
    }
}

/// Where a load is plugged in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plug {
    /// At the end of a circuit.
    Circuit(usize),
    /// Behind an inverter.
    Inverter(usize),
    /// Behind a shore inlet.
    Inlet(usize),
}

/// What a load draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rating {
    /// A current at a voltage; how it follows the voltage, where that is stated.
    Current(Ampere, Volt, Option<Driver>),
    /// A power, whatever the voltage.
    Power(Watt),
}

/// What draws current and is no lamp.
#[derive(Clone, Debug)]
pub struct Load {
    /// Its id.
    pub id: String,
    /// Where it is plugged in.
    pub at: Plug,
    /// What it draws while on.
    pub rating: Rating,
    /// The share of the time in which it does: a radio transmits a tenth of it.
    pub share: Share,
    /// What a load analysis calls it.
    pub kind: LoadKind,
    /// When it is on.
    pub when: Condition,
    /// How well its draw is known.
    pub evidence: Evidence,
}

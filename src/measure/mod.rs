//! What an observer receives: physics only. No rule is known here, and no zone that a ruleset did not give.
//!
//! A [`Conduct`] is what all heads show over all states, and what sounds in them ([`sound`]). A [`Protocol`] says how to look (zones, levels, flash terms,
//! signal). [`Looks`] are all ways in which each head is seen so, and a [`Survey`] is the vehicle with some of them lit.

mod beam;
mod bench;
mod best;
mod changes;
mod conduct;
mod lights;
mod looks;
mod power;
mod protocol;
mod row;
mod shade;
pub mod sound;
mod survey;

pub use bench::{OnBench, figure_towards};
pub use best::{Bare, IntoZone, bare, looks_into};
pub use changes::Change;
pub use conduct::{Conduct, Override, Shown};
pub use lights::{Light, Lights, MOST_LIGHTS};
pub use looks::{Look, Looks};
pub use power::{
    Balance, Case, Drawing, EngineOff, Flow, Flows, LoadAnalysis, LoadRow, MOST_WAYS, Most, Power, Range, Tree,
    Worst as WorstFlow, converter_input,
};
pub use protocol::{
    Boundary, BoundaryPoints, ColourInZone, FlashTerms, Level, Method, Protocol, Sector, Signal, Zones,
};
pub use shade::{Move, Shade, come_and_go, moves, shades};
pub use survey::{Detail, LitHead, Reach, Sample, Survey, counts_as_flashing, level_of};

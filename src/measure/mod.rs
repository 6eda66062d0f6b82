//! What an observer receives: physics only. No rule is known here, and no zone that a ruleset did not give.
//!
//! A [`Protocol`] says how to look (zones, levels, flash terms, signal); a [`Survey`] is one vehicle in one mode
//! looked at that way, with the light of every head at every point.

mod displays;
mod protocol;
mod survey;

pub use displays::{Override, shown};
pub use protocol::{
    Boundary, BoundaryPoints, ColourInZone, FlashTerms, Level, Method, Protocol, Sector, Signal, Zones,
};
pub use survey::{Detail, LitHead, Sample, Survey, counts_as_flashing, level_of};

//! The electrical side without any vehicle: how much a lamp draws at a voltage, current over time, wire, fuses, the
//! tree of wires from a source to its loads, batteries.
//!
//! Three currents answer three questions: the average what a generator and a battery must give, the RMS what heats a
//! wire and a fuse, the peak what voltage is left at a lamp. Only averages add.

mod battery;
mod driver;
mod fuse;
mod network;
mod train;
mod wire;

pub use battery::{
    Bank, Chemistry, IDLE_RATES, IdleRate, StopStart, exponent_of, input_current, reserve_of, reserve_used,
};
pub use driver::Driver;
pub use fuse::{FuseKind, Overload};
pub use network::{Branch, NoOperatingPoint, Operating, solve};
pub use train::{CurrentTrain, Together, levels};
pub use wire::{Insulation, Size, Strand, Wire};

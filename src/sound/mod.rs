//! Sound without any vehicle: levels and their sums, spreading, absorption by air, weighting, and what an ear is exposed
//! to.
//!
//! Levels are A-weighted sound pressure levels re 20 uPa unless said otherwise; a level without its distance says
//! nothing. Far from a source, in the open and over no ground, a level falls 6 dB with each doubling of the distance.

mod air;
mod exposure;
mod level;
mod spectrum;

pub use air::Air;
pub use exposure::{Criterion, NIOSH, OSHA};
pub use level::{add_coherent, add_incoherent, distance_of, spread};
pub use spectrum::{OCTAVES, Octave, Spectrum, a_weighting};

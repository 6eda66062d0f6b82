//! The colour of light by numbers: CIE 1931 chromaticity from spectra, wavelengths and mixtures, the spectral locus,
//! and the regions of the x, y diagram that documents call red, amber or blue.
//!
//! The colour matching functions are those of the crate `colorimetry` (2-degree observer, 1 nm). No rule is known
//! here: a region is a shape with named edges, whoever drew it.

mod line;
mod locus;
mod region;
mod spectrum;
mod union;

pub use line::{Line, LineError};
pub use locus::{LONGEST_WAVE, Locus, SHORTEST_WAVE};
pub use region::{Edge, EdgeTerms, Nearest, Path, Region, RegionError};
pub use spectrum::{Spectrum, SpectrumError};

use crate::units::Candela;

/// A point of the CIE 1931 x, y diagram.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chromaticity {
    /// The share of X in X + Y + Z.
    pub x: f64,
    /// The share of Y in X + Y + Z.
    pub y: f64,
}

/// A distance in the x, y diagram; it has no unit. Where it has a sign, inside is positive.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Distance(f64);

impl Distance {
    /// None.
    pub const ZERO: Self = Self(0.0);

    /// From a number.
    pub const fn new(value: f64) -> Self {
        Self(value)
    }

    /// The number.
    pub const fn value(self) -> f64 {
        self.0
    }
}

impl Chromaticity {
    /// The white of equal energy, from which purity is counted here.
    pub const EQUAL_ENERGY: Self = Self { x: 1.0 / 3.0, y: 1.0 / 3.0 };

    /// How far another point is.
    pub fn distance(self, other: Self) -> Distance {
        Distance((self.x - other.x).hypot(self.y - other.y))
    }

    /// The point at a share of the way to another.
    pub fn towards(self, other: Self, share: f64) -> Self {
        Self { x: self.x + share * (other.x - self.x), y: self.y + share * (other.y - self.y) }
    }
}

/// The chromaticity of lights that arrive together, each with its chromaticity and luminous intensity. None where
/// nothing arrives, or where a light is said to be luminous at y = 0, which no light is.
///
/// It holds for emitters that are seen as one: two lamps that the eye parts stay two colours.
pub fn mixture(lights: &[(Chromaticity, Candela)]) -> Option<Chromaticity> {
    let (mut x, mut y, mut sum) = (0.0, 0.0, 0.0);
    for (at, intensity) in lights.iter().filter(|(_, intensity)| intensity.value() != 0.0) {
        // X + Y + Z of a light whose Y is its intensity.
        let all = intensity.value() / at.y;
        (x, y, sum) = (x + at.x * all, y + intensity.value(), sum + all);
    }
    let mixed = Chromaticity { x: x / sum, y: y / sum };
    (mixed.x.is_finite() && mixed.y.is_finite()).then_some(mixed)
}

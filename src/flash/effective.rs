//! Effective intensity: the steady light that is seen as well as a flash, by the methods that requirements name.
//!
//! The methods differ by half for a group of four pulses and by more than twice for strobes, so there is no default: a
//! rule names one. With `E` the energy of one flash, `Imax` its peak and `a` the time constant (0.2 s):
//!
//! | word | effective intensity | light that counts |
//! |---|---|---|
//! | `blondel-rey` | the greatest energy of a window over `a` and its length; windows may span dark gaps | one flash |
//! | `form-factor` | `E / (a + E / Imax)` | one flash |
//! | `on-time` | `E / (a + time lit)`, dark gaps left out | one flash |
//! | `allard` | greatest answer of the kernel `exp(-t/a) / a` | one flash |
//! | `modified-allard` | greatest answer of the kernel `a / (a + t)^2` | one flash |
//! | `modified-allard-endless` | the same | all flashes before it too, for ever |
//!
//! One flash is all light from where it lights up to where the next one does, pulses with short gaps included
//! ([`Train::flashes`](super::Train::flashes)). A carrier that only dims, pulses of a millisecond, has to be written as a
//! level: as pulses it is no flash, or one far too intense.
//!
//! All methods grow with the light in proportion. With more light at any time none falls but `on-time`, where long weak
//! light adds more to the time than to the energy.

use crate::units::Micros;

/// The time constant of all methods (Blondel and Rey had 0.21 s; later practice is 0.2 s).
pub const VISUAL_TIME: Micros = Micros::new(200_000);

/// How effective intensity is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EffectiveMethod {
    /// Blondel-Rey with the limits that make it greatest.
    BlondelRey,
    /// The form factor of Schmidt-Clausen.
    FormFactor,
    /// Blondel-Rey over the time lit, dark gaps left out.
    OnTime,
    /// Allard's exponential kernel.
    Allard,
    /// The hyperbolic kernel, which agrees with Blondel-Rey on rectangles.
    ModifiedAllard,
    /// The hyperbolic kernel over a train that has always been there.
    ModifiedAllardEndless,
}

impl EffectiveMethod {
    /// As rulesets name them.
    pub const WORDS: &[(&str, Self)] = &[
        ("blondel-rey", Self::BlondelRey),
        ("form-factor", Self::FormFactor),
        ("on-time", Self::OnTime),
        ("allard", Self::Allard),
        ("modified-allard", Self::ModifiedAllard),
        ("modified-allard-endless", Self::ModifiedAllardEndless),
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, method)| *method == self).map_or("", |(word, _)| word)
    }
}

/// A time in seconds.
pub(super) fn seconds(time: Micros) -> f64 {
    // Times of patterns are below 2^53 by far.
    #[allow(clippy::cast_precision_loss)]
    let micros = time.get() as f64;
    micros / 1e6
}

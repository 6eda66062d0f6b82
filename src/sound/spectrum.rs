//! Octave bands and the A-weighting of IEC 61672-1.

use crate::units::{Decibels, SoundLevel};

/// An octave band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Octave {
    /// As it is called, in hertz.
    pub nominal: u32,
    /// Its exact midband is `1000 x 10^(3 k / 10)` hertz.
    k: i8,
}

/// The bands from 63 Hz to 8 kHz.
pub const OCTAVES: [Octave; 8] = [
    Octave { nominal: 63, k: -4 },
    Octave { nominal: 125, k: -3 },
    Octave { nominal: 250, k: -2 },
    Octave { nominal: 500, k: -1 },
    Octave { nominal: 1000, k: 0 },
    Octave { nominal: 2000, k: 1 },
    Octave { nominal: 4000, k: 2 },
    Octave { nominal: 8000, k: 3 },
];

impl Octave {
    /// The exact midband, in hertz.
    pub fn midband(self) -> f64 {
        1000.0 * 10_f64.powf(0.3 * f64::from(self.k))
    }
}

/// Levels of the octaves of [`OCTAVES`], each relative to the A-weighted whole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spectrum([f64; 8]);

impl Spectrum {
    /// From unweighted band levels in decibels; only their differences matter, and the A-weighted sum is taken off.
    pub fn of_bands(levels: [f64; 8]) -> Self {
        let weighted = Self::weigh(levels);
        Self(levels.map(|level| level - weighted))
    }

    /// All of it at one frequency's band: a tone.
    pub fn tone(octave: usize) -> Self {
        let mut levels = [f64::NEG_INFINITY; 8];
        levels.iter_mut().skip(octave).take(1).for_each(|level| *level = 0.0);
        Self::of_bands(levels)
    }

    /// The unweighted levels of the bands, under the A-weighted whole.
    pub fn bands(&self) -> [f64; 8] {
        self.0
    }

    /// The A-weighted level of bands from which something has been taken.
    pub fn left(&self, whole: SoundLevel, lost: impl Fn(Octave) -> Decibels) -> SoundLevel {
        let mut levels = self.0;
        for (level, octave) in levels.iter_mut().zip(OCTAVES) {
            *level += whole.value() - lost(octave).value();
        }
        SoundLevel::new(Self::weigh(levels))
    }

    fn weigh(levels: [f64; 8]) -> f64 {
        let band = |(level, octave): (f64, Octave)| 10_f64.powf((level + a_weighting(octave.midband()).value()) / 10.0);
        10.0 * levels.into_iter().zip(OCTAVES).map(band).sum::<f64>().log10()
    }
}

/// The A-weighting at a frequency in hertz: the closed form of IEC 61672-1, zero at 1 kHz.
pub fn a_weighting(hertz: f64) -> Decibels {
    // The poles, computed from the standard's own terms.
    const F1: f64 = 20.598_997_057_618_316;
    const F2: f64 = 107.652_648_643_046_29;
    const F3: f64 = 737.862_230_736_289_9;
    const F4: f64 = 12_194.217_147_998_012;
    let response = |f: f64| {
        let f2 = f * f;
        F4 * F4 * f2 * f2 / ((f2 + F1 * F1) * (f2 + F2 * F2).sqrt() * (f2 + F3 * F3).sqrt() * (f2 + F4 * F4))
    };
    Decibels::new(20.0 * (response(hertz) / response(1000.0)).log10())
}

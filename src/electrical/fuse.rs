//! Fuses: how long one surely carries an overload, and how much of its rating is left where it is warm.
//!
//! The opening times are those of a fuse maker's sheets as two public notes quote them (second-hand; the standards' own
//! tables, ISO 8820-3 and SAE J1284, were not reached). Nothing is interpolated: the next tabulated overload decides.

use crate::units::{Ampere, Celsius, Micros, Share};

/// A kind of overcurrent device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FuseKind {
    /// A blade fuse of the usual size.
    Blade,
    /// A large blade fuse.
    LargeBlade,
    /// A circuit breaker.
    Breaker,
    /// Another; nothing is known of its times.
    Other,
}

/// One row of the published points: from this share of the rating, the fuse carries it at least so many seconds.
type Point = (f64, Option<f64>);

// Rows of several ratings stand together; where two differ the shorter time is kept. 110 % is from memory.
const BLADE: &[Point] = &[
    (1.10, Some(360_000.0)),
    (1.35, Some(0.75)),
    (1.60, Some(0.25)),
    (2.0, Some(0.15)),
    (3.5, Some(0.08)),
    (6.0, None),
];
const LARGE_BLADE: &[Point] =
    &[(1.10, Some(360_000.0)), (1.35, Some(60.0)), (2.0, Some(2.0)), (3.5, Some(0.2)), (6.0, Some(0.04))];

/// Of a large blade fuse of 40 A: what is left of the rating up to a temperature.
const WARM: &[(f64, f64)] = &[(20.0, 1.0), (65.0, 0.85), (85.0, 0.75), (110.0, 0.625), (125.0, 0.55)];

/// Up to this share of its rating a fuse does not open.
const HOLDS: f64 = 1.10;

/// How an overload compares with what a fuse surely carries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Overload {
    /// It never exceeds what the fuse holds.
    None,
    /// It lasts this share of the shortest opening time at the next published overload.
    Lasting(f64),
    /// No published point covers it.
    Unknown,
}

impl FuseKind {
    /// The words in files.
    pub const WORDS: [(&'static str, Self); 4] =
        [("blade", Self::Blade), ("large-blade", Self::LargeBlade), ("breaker", Self::Breaker), ("other", Self::Other)];

    /// The word in files and print.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, kind)| *kind == self).map_or("", |(word, _)| word)
    }

    /// A pulse of `current` that lasts `lasts` (for ever without one) against a rating.
    pub fn overload(self, rating: Ampere, current: Ampere, lasts: Option<Micros>) -> Overload {
        let share = current.value() / rating.value();
        if share <= HOLDS {
            return Overload::None;
        }
        let points = match self {
            Self::Blade => BLADE,
            Self::LargeBlade => LARGE_BLADE,
            Self::Breaker | Self::Other => return Overload::Unknown,
        };
        // Whole microseconds of at most a minute are exact as a float.
        let seconds =
            lasts.map_or(f64::INFINITY, |lasts| u32::try_from(lasts.get()).map_or(f64::INFINITY, f64::from) / 1e6);
        match points.iter().find(|(over, _)| *over >= share) {
            Some((_, Some(carries))) => Overload::Lasting(seconds / carries),
            _ => Overload::Unknown,
        }
    }

    /// What is left of the rating in air of this temperature: the next warmer published point; `None` beyond the last,
    /// and for what is no blade fuse. Published for a large blade fuse of 40 A alone.
    pub fn left_at(self, ambient: Celsius) -> Option<Share> {
        match self {
            Self::Blade | Self::LargeBlade => {
                let row = WARM.iter().find(|(warm, _)| *warm >= ambient.value());
                row.map(|(_, left)| Share::new(*left))
            }
            Self::Breaker | Self::Other => None,
        }
    }
}

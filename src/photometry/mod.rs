//! Intensity distributions of lamps: LM-63, EULUMDAT, H-V grids, point lists and declared figures.
//!
//! Bytes in, a [`Distribution`] out, or a [`ReadError`] that says where in the file and what would be
//! right. No file is opened here. Nothing is guessed: values in another unit, a lamp that depends on
//! its tilt, a missing value, an unstated frame are refused, and what is outside the data stays
//! unknown. What a reader decided for the user stands in [`Read::notes`].

mod distribution;
mod error;
mod eulumdat;
mod frame;
mod lm63;
mod numbers;
mod scan;
mod table;

use std::fmt;

pub use distribution::{DeclaredError, Distribution, Light};
pub use error::{Fault, Note, ReadError};
pub use eulumdat::read_eulumdat;
pub use frame::{Direction, Frame, Goniometer, Zero};
pub use lm63::read_lm63;
pub use table::{read_grid, read_points};

use crate::units::Candela;

/// What a photometric file held.
#[derive(Clone, Debug, PartialEq)]
pub struct Read<Q = Candela> {
    /// The light.
    pub distribution: Distribution<Q>,
    /// What the file says of itself.
    pub header: Header,
    /// What the user should know: odd things that were read all the same, and how.
    pub notes: Vec<Note>,
}

/// What a photometric file says of itself, kept for the record.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// The format, with its edition.
    pub format: Format,
    /// The letter of the goniometer, where the file has one.
    pub letter: Option<Letter>,
    /// What the numbers in the file were multiplied with to get the unit of the distribution.
    pub factor: f64,
    /// Keyword and text, in the order of the file; the keyword is empty for free text.
    pub labels: Vec<(String, String)>,
}

/// The format of a photometric file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// LM-63, with its edition.
    Lm63(Edition),
    /// EULUMDAT.
    Eulumdat,
    /// A table with H across and V down.
    Grid,
    /// A list of points.
    Points,
}

/// The edition of LM-63.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edition {
    /// 1986: no version line.
    Y1986,
    /// 1991.
    Y1991,
    /// 1995.
    Y1995,
    /// 2002.
    Y2002,
    /// 2019.
    Y2019,
    /// A version line that no edition knows.
    Unknown,
}

/// The letter of the goniometer in an LM-63 file: a default for the frame, not more, since the letters
/// mean different machines in different documents.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Letter {
    /// H and V about an upright axis.
    A,
    /// H and V about an axis across the lamp.
    B,
    /// C and gamma.
    C,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Lm63(Edition::Y1986) => "LM-63-1986",
            Self::Lm63(Edition::Y1991) => "LM-63-1991",
            Self::Lm63(Edition::Y1995) => "LM-63-1995",
            Self::Lm63(Edition::Y2002) => "LM-63-2002",
            Self::Lm63(Edition::Y2019) => "LM-63-2019",
            Self::Lm63(Edition::Unknown) => "LM-63 (edition unknown)",
            Self::Eulumdat => "EULUMDAT",
            Self::Grid => "H-V grid",
            Self::Points => "point list",
        })
    }
}

impl fmt::Display for Letter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::A => "A",
            Self::B => "B",
            Self::C => "C",
        })
    }
}

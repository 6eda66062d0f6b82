//! What is wrong, or worth saying, about a photometric file: where, why, and what would be right.

use std::fmt;

/// What kind of mistake a [`ReadError`] reports.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// The bytes are not a file of this format.
    Format,
    /// Something stands where a number belongs.
    Number,
    /// More or fewer values than the file itself declares.
    Count,
    /// Angles out of order or out of range.
    Angles,
    /// A negative intensity, or a factor that cannot be one.
    Value,
    /// The values are not in the unit that is wanted.
    Unit,
    /// The lamp was measured tilted, or depends on its tilt.
    Tilt,
    /// The symmetry does not fit the angles.
    Symmetry,
    /// How the lamp stood on the goniometer was not said, or does not fit. The cure is in the catalogue, not in the file.
    Orientation,
}

impl Fault {
    /// A short name that does not change between versions.
    pub fn code(self) -> &'static str {
        match self {
            Self::Format => "photometry-format",
            Self::Number => "photometry-number",
            Self::Count => "photometry-count",
            Self::Angles => "photometry-angles",
            Self::Value => "photometry-value",
            Self::Unit => "photometry-unit",
            Self::Tilt => "photometry-tilt",
            Self::Symmetry => "photometry-symmetry",
            Self::Orientation => "photometry-orientation",
        }
    }
}

/// Why a photometric file was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct ReadError {
    /// The kind of mistake.
    pub fault: Fault,
    /// Line in the file, from 1, where one can be named.
    pub line: Option<u32>,
    /// Column in that line in characters, from 1, where one can be named.
    pub column: Option<u32>,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: Option<String>,
}

impl ReadError {
    pub(super) fn new(fault: Fault, message: impl Into<String>) -> Self {
        Self { fault, line: None, column: None, message: message.into(), help: None }
    }

    pub(super) fn at(mut self, (line, column): (u32, Option<u32>)) -> Self {
        (self.line, self.column) = (Some(line), column);
        self
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// Something about a file that was read which its user should know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Line in the file, from 1, where one can be named.
    pub line: Option<u32>,
    /// What to know.
    pub message: String,
    /// Nothing odd: true of every good file of its kind, and worth no warning.
    pub as_usual: bool,
}

impl Note {
    pub(super) fn new(line: impl Into<Option<u32>>, message: impl Into<String>) -> Self {
        Self { line: line.into(), message: message.into(), as_usual: false }
    }

    pub(super) fn usual(self) -> Self {
        Self { as_usual: true, ..self }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "line {line}: {}", self.message),
            None => f.write_str(&self.message),
        }
    }
}

//! A device model as its catalogue describes it: its emitters, the light and current of each, and how well they are known.

use std::sync::Arc;

use super::StatedColour;
use crate::diagnostic::Span;
use crate::electrical::Driver;
use crate::load::reader::Date;
use crate::photometry::Distribution;
use crate::units::{Ampere, Candela, Length, OpticalPower, Share, Volt};

/// A device model.
#[derive(Clone, Debug)]
pub struct Model {
    /// Its id.
    pub id: String,
    /// Who makes it.
    pub maker: Option<String>,
    /// How its current follows the voltage.
    pub driver: Option<Driver>,
    /// The greatest height that its maker states.
    pub max_height: Option<Length>,
    /// It also lights what is behind its mounting plane.
    pub all_round: bool,
    /// Its beam differs left and right, and a mirrored one is made.
    pub handed: bool,
    /// Classes that its maker claims for it: a ruleset that knows them, the class.
    pub classes: Vec<(String, String)>,
    /// One a colour.
    pub emitters: Vec<Emitter>,
    /// Its line in the catalogue.
    pub span: Span,
}

impl Model {
    /// The class that its maker claims under a ruleset.
    pub fn class(&self, ruleset: &str) -> Option<&str> {
        self.classes.iter().find(|(known, _)| known == ruleset).map(|(_, class)| class.as_str())
    }
}

/// One colour of a model, with its own light and current.
#[derive(Clone, Debug)]
pub struct Emitter {
    /// The colour's name.
    pub colour: String,
    /// What is stated of its colour by numbers.
    pub stated: Option<StatedColour>,
    /// Its light, if anything is known.
    pub light: Option<Light>,
    /// Current while lit, and between.
    pub current: Option<Current>,
    /// How well the light is known.
    pub evidence: Evidence,
    /// Its line in the catalogue.
    pub span: Span,
}

impl Emitter {
    /// Whether what is known of its light may hold for one pattern and not for another.
    pub fn hangs_on_pattern(&self) -> bool {
        let of_one = self.light.as_ref().is_some_and(|light| matches!(light.figures, Figures::OpticalPower { .. }));
        of_one || self.evidence.pattern_index.is_some()
    }
}

/// The light of an emitter by direction.
#[derive(Clone, Debug)]
pub struct Light {
    /// The figures.
    pub figures: Figures,
    /// The voltage they hold at.
    pub at: Option<Volt>,
    /// Expanded uncertainty (k = 2) as a share of the figure.
    pub uncertainty: Option<Share>,
}

/// The figures of a [`Light`].
#[derive(Clone, Debug)]
pub enum Figures {
    /// Luminous intensity while lit.
    Intensity(Arc<Distribution<Candela>>),
    /// Optical power, good for the named pattern alone.
    OpticalPower {
        /// By direction.
        distribution: Arc<Distribution<OpticalPower>>,
        /// The pattern's id.
        pattern: String,
    },
}

/// Current of an emitter.
#[derive(Clone, Copy, Debug)]
pub struct Current {
    /// While lit.
    pub lit: Ampere,
    /// Between pulses.
    pub standby: Ampere,
    /// The voltage at which that holds.
    pub at: Option<Volt>,
}

/// How well a device's figure is known, best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// An independent laboratory's report.
    Laboratory,
    /// Measured by the user.
    Measured,
    /// The maker's sheet.
    Maker,
    /// A declared or guessed figure.
    Estimate,
}

impl Grade {
    /// The word in files and print.
    pub fn word(self) -> &'static str {
        match self {
            Self::Laboratory => "laboratory",
            Self::Measured => "measured",
            Self::Maker => "maker",
            Self::Estimate => "estimate",
        }
    }
}

/// Where a device's figure comes from.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// How good.
    pub grade: Grade,
    /// The report's number.
    pub report: Option<String>,
    /// Its date.
    pub date: Option<Date>,
    /// The index of the only pattern that it holds for, where the lamp was tested running one of its own.
    pub pattern_index: Option<String>,
}

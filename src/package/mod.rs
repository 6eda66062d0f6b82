//! What the user describes, with every name bound: the vehicle, its heads, sounders, patterns, displays and modes.
//!
//! Heads, emitters, patterns and displays are referred to by their place in these lists, so that nothing after
//! this step can meet an unknown name.

mod addition;
mod catalogue;
mod colour;
mod device;
mod displays;
mod doubts;
mod fold;
mod heads;
mod heads_csv;
mod inputs;
mod light;
mod modes;
mod patterns;
mod resolve;
mod row_roles;
mod sound;
mod statements;
mod supply;
mod vehicle;
mod written;

use std::rc::Rc;

use crate::diagnostic::Span;
use crate::flash::Timeline;
use crate::geometry::{Block, Pose};
use crate::load::reader::Date;
use crate::logic::{Condition, Space};
use crate::units::{Degrees, Length, Micros, Share};

pub use addition::Addition;
pub use catalogue::read_models;
pub use colour::{ColourEvidence, StatedColour};
pub use device::{Current, Emitter, Evidence, Figures, Grade, Light, Model};
pub use fold::at_heads;
pub use inputs::read_condition;
pub use resolve::{PackageFile, load};
pub use sound::{
    Declared, Exposure, Heard, Listening, Mount, Sheet, SoundSide, Sounder, SounderKind, SounderModel, Sounding,
    Stretch,
};
pub use statements::{Said, Statement};
pub use supply::{
    Alternator, Battery, Cable, Circuit, Converter, Feed, Fuse, HotIdle, Inlet, Inverter, Load, LoadKind, Plug, Rating,
    Supply, Voltages,
};
pub use written::{BESIDE, Beside, Written, beside, shortest};

/// All warning devices of one vehicle, how they are mounted and switched.
#[derive(Debug)]
pub struct Package {
    /// Name of the file, as the user gave it.
    pub file: String,
    /// SHA-256 of the file, in hex.
    pub sha256: String,
    /// The vehicle.
    pub vehicle: Vehicle,
    /// What can hide a head.
    pub bodies: Vec<Body>,
    /// Device models of all catalogues.
    pub models: Vec<Model>,
    /// All heads, twins included.
    pub heads: Vec<Head>,
    /// The states of the controller's inputs that can occur.
    pub space: Space,
    /// What cannot occur; [`Package::space`] has it left out.
    pub never: Vec<Condition>,
    /// Flash patterns.
    pub patterns: Vec<Pattern>,
    /// Which heads show what.
    pub displays: Vec<Display>,
    /// How the vehicle is being used.
    pub modes: Vec<Mode>,
    /// Findings that somebody accepted in writing.
    pub exceptions: Vec<Exception>,
    /// What a person vouches for or measured.
    pub statements: Vec<Statement>,
    /// What feeds it, if the package says so.
    pub supply: Option<Rc<Supply>>,
    /// Its sounders, and who listens.
    pub sound: SoundSide,
    /// What was doubtful when its files were read, in words.
    pub doubts: Vec<String>,
    /// How measurement uncertainty enters a verdict.
    pub decision: Decision,
}

/// The vehicle's own figures.
#[derive(Clone, Debug)]
pub struct Vehicle {
    /// Its name.
    pub name: String,
    /// Who owns it.
    pub owner: Option<String>,
    /// Bumper to bumper.
    pub length: Length,
    /// Widest.
    pub width: Length,
    /// Highest.
    pub height: Length,
    /// How far the front axle stands ahead of the middle.
    pub front_axle: Option<Length>,
    /// How far the rear axle stands ahead of the middle (negative: behind it).
    pub rear_axle: Option<Length>,
    /// When it was contracted for.
    pub contracted: Option<Date>,
    /// Classes that it claims: a ruleset that knows them, the class.
    pub classes: Vec<(String, String)>,
}

impl Vehicle {
    /// The class that it claims under a ruleset.
    pub fn class(&self, ruleset: &str) -> Option<&str> {
        self.classes.iter().find(|(known, _)| known == ruleset).map(|(_, class)| class.as_str())
    }
}

/// A part of the vehicle that can hide a head.
#[derive(Clone, Debug)]
pub struct Body {
    /// Its id.
    pub id: String,
    /// The box.
    pub block: Block,
    /// When it stands there.
    pub when: Condition,
}

/// What a head is there for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// It warns; the rules of warning lamps judge it.
    Warning,
    /// An upper beam that is made to flash.
    HeadlampFlasher,
    /// Part of a directional arrow.
    Arrow,
    /// It lights a work area.
    Scene,
    /// A stop lamp.
    Stop,
    /// A turn signal.
    Turn,
    /// A tail lamp.
    Tail,
    /// A reversing lamp.
    Reverse,
    /// A headlamp's lower beam.
    Headlamp,
    /// A headlamp's upper beam.
    UpperBeam,
}

/// The words for [`Role`].
pub const ROLES: &[(&str, Role)] = &[
    ("warning", Role::Warning),
    ("headlamp-flasher", Role::HeadlampFlasher),
    ("arrow", Role::Arrow),
    ("scene", Role::Scene),
    ("stop", Role::Stop),
    ("turn", Role::Turn),
    ("tail", Role::Tail),
    ("reverse", Role::Reverse),
    ("headlamp", Role::Headlamp),
    ("upper-beam", Role::UpperBeam),
];

impl Role {
    /// The word in files and print.
    pub fn word(self) -> &'static str {
        ROLES.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// One lamp unit with its own optical centre.
#[derive(Clone, Debug)]
pub struct Head {
    /// Its id.
    pub id: String,
    /// Which of [`Package::models`].
    pub model: usize,
    /// Names under which displays may call it.
    pub groups: Vec<String>,
    /// Where it is and looks, unless one of `poses` holds.
    pub pose: Pose,
    /// The angles that make its pose, as the package states them.
    pub aim: Aim,
    /// How far right of the middle it is mounted (sign decides phases and vehicle sides).
    pub right: Length,
    /// Where it is and looks while a condition holds; a later one wins.
    pub poses: Vec<(Condition, Pose)>,
    /// The level the user names for it.
    pub level: Option<String>,
    /// What it is there for.
    pub role: Role,
    /// The circuit that feeds it.
    pub circuit: Option<String>,
    /// The controller's output that switches it.
    pub output: Option<String>,
    /// Heads with the same clock keep their phase.
    pub clock: Option<String>,
    /// Its serial number.
    pub serial: Option<String>,
    /// Transmittance of glass in front of it.
    pub glass: Option<Share>,
    /// Whether the beam is turned left for right (the twin of a handed model).
    pub mirrored_beam: bool,
    /// Its line in the file.
    pub span: Span,
}

/// The angles of a head as the package states them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aim {
    /// The bearing that it faces, 0 up to but not including 360 degrees for a twin, else as written.
    pub faces: Degrees,
    /// Of the surface under it, nose up.
    pub tilt: Degrees,
    /// What is put under it, nose up.
    pub wedge: Degrees,
    /// Right side down.
    pub roll: Degrees,
}

/// A flash pattern.
#[derive(Clone, Debug)]
pub struct Pattern {
    /// Its id.
    pub id: String,
    /// Its light over time.
    pub timeline: Timeline,
    /// Under which index the lamp or the controller keeps it.
    pub index: Option<String>,
}

/// The word for a head that is lit all the time.
pub const STEADY: &str = "steady";

/// Which heads show which colour in which pattern, and when. A later display wins a head that an earlier one shows.
#[derive(Clone, Debug)]
pub struct Display {
    /// Its id.
    pub id: String,
    /// When it is on.
    pub when: Condition,
    /// One a head, in the order of its rows.
    pub shows: Vec<Show>,
    /// It lights nothing itself, and dims what is lit.
    pub dims: Option<Dimming>,
    /// The directional message that it is.
    pub arrow: Option<ArrowWay>,
    /// Its place in the file.
    pub span: Span,
}

/// What one head does in a display.
#[derive(Clone, Debug, PartialEq)]
pub struct Show {
    /// Which of [`Package::heads`].
    pub head: usize,
    /// Which emitter of its model.
    pub emitter: usize,
    /// Which of [`Package::patterns`]; steady without one.
    pub pattern: Option<usize>,
    /// How much later than the pattern.
    pub phase: Micros,
    /// What the head is there for while it does this.
    pub role: Role,
    /// Its level, as a share of full light.
    pub dim: Share,
}

/// Heads that keep what they show, at a lower level.
#[derive(Clone, Debug)]
pub struct Dimming {
    /// The level, as a share of full light.
    pub to: Share,
    /// Which of [`Package::heads`].
    pub heads: Vec<usize>,
}

/// Where a directional message sends traffic, as its driver sees it from behind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ArrowWay {
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// To either side.
    Split,
    /// Nowhere: take care.
    Caution,
}

/// The words for [`ArrowWay`].
pub const ARROW_WAYS: &[(&str, ArrowWay)] =
    &[("left", ArrowWay::Left), ("right", ArrowWay::Right), ("split", ArrowWay::Split), ("caution", ArrowWay::Caution)];

/// How the vehicle is being used.
#[derive(Clone, Debug)]
pub struct Mode {
    /// Its id.
    pub id: String,
    /// What rulesets call such a use (`calling`, `blocking`).
    pub purpose: Option<String>,
    /// When the vehicle is used so.
    pub when: Condition,
    /// What is taken to hold as well while this mode is judged.
    pub assume: Option<Condition>,
    /// Whether traffic has to change lanes where the vehicle stands.
    pub traffic_merges: Option<bool>,
    /// Its place in the file.
    pub span: Span,
}

/// A finding that the authority or the buyer accepted in writing.
#[derive(Clone, Debug)]
pub struct Exception {
    /// The finding's id.
    pub finding: String,
    /// Who accepted it.
    pub accepted_by: String,
    /// In which letter.
    pub reference: String,
    /// When.
    pub on: Date,
    /// Until when.
    pub until: Date,
    /// Why.
    pub reason: String,
    /// Its line in the file.
    pub span: Span,
}

/// How measurement uncertainty enters a verdict (JCGM 106).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    /// The figure alone decides.
    Simple,
    /// Within its expanded uncertainty of a limit it is too close to tell.
    Guarded,
}

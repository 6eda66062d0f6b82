//! What sounds: sounders and how they are mounted, what their makers' sheets say, when they sound, who listens.
//!
//! A level is an A-weighted sound pressure level re 20 uPa. It says nothing without its distance and its angle, so a
//! sheet keeps them together. Everything is referred to by its place in these lists.

mod doubts;
mod read;
mod sheet;

use glam::DVec3;

use crate::diagnostic::Span;
use crate::electrical::Driver;
use crate::geometry::Pose;
use crate::load::reader::Text;
use crate::logic::Condition;
use crate::package::Evidence;
use crate::sound::{Air, Spectrum};
use crate::units::{Ampere, Decibels, Degrees, Length, PerMinute, Seconds, SoundLevel, Volt};

pub(super) use doubts::warn_of_sounders;
pub(super) use read::read_sound;
pub(super) use sheet::{is_sounder, read_sounder_model};

/// Everything on a vehicle that sounds, and where ears are.
#[derive(Clone, Debug, Default)]
pub struct SoundSide {
    /// Sounder models of all catalogues.
    pub models: Vec<SounderModel>,
    /// All sounders, twins included.
    pub sounders: Vec<Sounder>,
    /// When they sound; a later one wins the sounders that it names.
    pub soundings: Vec<Sounding>,
    /// What is assumed of the air, the ground and the ears.
    pub listening: Listening,
    /// What people near it hear over a shift.
    pub exposures: Vec<Exposure>,
}

impl SoundSide {
    /// The model of a sounder.
    pub fn model_of(&self, sounder: &Sounder) -> Option<&SounderModel> {
        self.models.get(sounder.model)
    }
}

/// What kind of device sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SounderKind {
    /// The loudspeaker of an electronic siren.
    SirenSpeaker,
    /// A siren with a rotor.
    MechanicalSiren,
    /// An electric horn.
    Horn,
    /// A horn blown by compressed air.
    AirHorn,
    /// It sounds while the vehicle backs up.
    BackUpAlarm,
    /// A loudspeaker for tones so low that they enter a closed car.
    LowFrequencySpeaker,
}

impl SounderKind {
    /// The words in files.
    pub const WORDS: [(&'static str, Self); 6] = [
        ("siren-speaker", Self::SirenSpeaker),
        ("mechanical-siren", Self::MechanicalSiren),
        ("horn", Self::Horn),
        ("air-horn", Self::AirHorn),
        ("back-up-alarm", Self::BackUpAlarm),
        ("low-frequency-speaker", Self::LowFrequencySpeaker),
    ];

    /// An electronic siren drives it; a horn, a rotor and an alarm drive themselves.
    pub fn is_speaker(self) -> bool {
        matches!(self, Self::SirenSpeaker | Self::LowFrequencySpeaker)
    }

    /// The word in files and print.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, kind)| *kind == self).map_or("", |(word, _)| word)
    }
}

/// A sounder as its maker's or a laboratory's sheet describes it.
#[derive(Clone, Debug)]
pub struct SounderModel {
    /// Its id.
    pub id: String,
    /// What it is.
    pub kind: SounderKind,
    /// Who makes it.
    pub maker: Option<String>,
    /// How its current follows the voltage.
    pub driver: Option<Driver>,
    /// Classes that its maker claims for it: a ruleset that knows them, the class.
    pub classes: Vec<(String, String)>,
    /// One a tone.
    pub sheets: Vec<Sheet>,
    /// Its line in the catalogue.
    pub span: Span,
}

impl SounderModel {
    /// The class that its maker claims under a ruleset.
    pub fn class(&self, ruleset: &str) -> Option<&str> {
        self.classes.iter().find(|(known, _)| known == ruleset).map(|(_, class)| class.as_str())
    }
}

/// What is known of one tone of a model.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The tone's name: `wail`, `yelp`, `horn`, `alarm`.
    pub tone: String,
    /// How far from the sounder its levels were measured; without it they say nothing.
    pub distance: Option<Length>,
    /// Levels by angle off the axis, right positive, ascending; of a varying tone its greatest.
    pub levels: Vec<(Degrees, SoundLevel)>,
    /// The voltage at which they hold.
    pub at: Option<Volt>,
    /// Cycles of a varying tone, or pulses of one that comes and goes.
    pub rate: Option<PerMinute>,
    /// How far below its level the lowest part of a cycle lies.
    pub lowest_part: Option<Decibels>,
    /// Its predominant frequency, in cycles a minute.
    pub frequency: Option<PerMinute>,
    /// Its octaves, relative to the whole.
    pub spectrum: Option<Spectrum>,
    /// Expanded uncertainty (k = 2) of a level.
    pub uncertainty: Option<Decibels>,
    /// What it draws while it sounds, at that voltage.
    pub current: Option<Ampere>,
    /// How well all that is known.
    pub evidence: Evidence,
    /// Its line in the catalogue.
    pub span: Span,
}

impl Sheet {
    /// The level at an angle off the axis, right positive: straight lines in decibels between angles that are stated, no
    /// farther apart than 90 degrees; none beyond them.
    pub fn level_at(&self, angle: Degrees) -> Option<SoundLevel> {
        let angle = angle.value();
        let behind = self.levels.iter().rev().find(|(known, _)| known.value() <= angle)?;
        let ahead = self.levels.iter().find(|(known, _)| known.value() >= angle)?;
        let width = ahead.0.value() - behind.0.value();
        if width > WIDEST_GAP {
            return None;
        }
        let share = if width > 0.0 { (angle - behind.0.value()) / width } else { 0.0 };
        Some(behind.1 + (ahead.1 - behind.1) * share)
    }
}

/// Between angles farther apart than this, in degrees, nothing is known (practice).
const WIDEST_GAP: f64 = 90.0;

/// Where on a vehicle a sounder is mounted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mount {
    /// On or in the bumper, free to the front.
    Bumper,
    /// Behind the bumper.
    BehindBumper,
    /// Behind the grille.
    Grille,
    /// Under the hood.
    UnderHood,
    /// On the roof.
    Roof,
    /// At a fender or a running board.
    Fender,
    /// At the frame, under the body.
    Frame,
    /// At the rear of the body.
    Rear,
}

impl Mount {
    /// The words in files.
    pub const WORDS: [(&'static str, Self); 8] = [
        ("bumper", Self::Bumper),
        ("behind-bumper", Self::BehindBumper),
        ("grille", Self::Grille),
        ("under-hood", Self::UnderHood),
        ("roof", Self::Roof),
        ("fender", Self::Fender),
        ("frame", Self::Frame),
        ("rear", Self::Rear),
    ];

    /// The word in files and print.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, mount)| *mount == self).map_or("", |(word, _)| word)
    }
}

/// One sounder on the vehicle.
#[derive(Clone, Debug)]
pub struct Sounder {
    /// Its id.
    pub id: String,
    /// Which of [`SoundSide::models`].
    pub model: usize,
    /// Where its opening is and looks.
    pub pose: Pose,
    /// Where it is mounted.
    pub mount: Option<Mount>,
    /// The circuit that feeds it.
    pub circuit: Option<Text>,
    /// What drives it: sounders on one amplifier keep their phase.
    pub amplifier: Option<String>,
    /// Its wires are crossed; none where the package does not say.
    pub reversed: Option<bool>,
    /// What a bumper or a grille before it takes, always.
    pub behind: Decibels,
    /// What the vehicle's own body takes where it stands in between; a declared figure.
    pub screened: Option<Decibels>,
    /// Its line in the file.
    pub span: Span,
}

/// Which sounders sound in which tone, and when.
#[derive(Clone, Debug)]
pub struct Sounding {
    /// Its id.
    pub id: String,
    /// When it is on.
    pub when: Condition,
    /// Which of [`SoundSide::sounders`], and which sheet of its model.
    pub rows: Vec<(usize, usize)>,
    /// Its place in the file.
    pub span: Span,
}

/// What is assumed where one listens; each is said wherever it decides.
#[derive(Clone, Debug, Default)]
pub struct Listening {
    /// The air.
    pub air: Option<Air>,
    /// What the ground adds to the free field.
    pub reflection: Option<Decibels>,
    /// How loud it is where the vehicle works.
    pub ambient: Option<SoundLevel>,
    /// What a closed car keeps out.
    pub closed_car: Option<Declared>,
    /// What the vehicle's own cab keeps out with its windows shut.
    pub windows_shut: Option<Declared>,
}

/// A figure that somebody declares, and where it is from.
#[derive(Clone, Debug, PartialEq)]
pub struct Declared {
    /// What it takes.
    pub takes: Decibels,
    /// Where it is from, in words.
    pub source: Option<String>,
}

/// What one person hears over a shift.
#[derive(Clone, Debug)]
pub struct Exposure {
    /// Who, or where: `driver`, `bystander`.
    pub id: String,
    /// Where the ear is.
    pub at: Option<DVec3>,
    /// What is heard, and how long.
    pub stretches: Vec<Stretch>,
    /// Its line in the file.
    pub span: Span,
}

/// A part of a shift.
#[derive(Clone, Debug)]
pub struct Stretch {
    /// How long it lasts.
    pub lasts: Seconds,
    /// What is heard.
    pub heard: Heard,
    /// How well the level is known.
    pub evidence: Evidence,
}

/// What is heard in a [`Stretch`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Heard {
    /// A level that was measured there, or that somebody states.
    Level(SoundLevel),
    /// One of [`SoundSide::soundings`], outside or with open windows, or through shut ones.
    Sounding {
        /// Which.
        at: usize,
        /// The windows are shut.
        shut: bool,
    },
}

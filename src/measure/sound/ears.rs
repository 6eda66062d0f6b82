//! What an ear near the vehicle takes in over a shift.

use super::around::{self, Place};
use super::chain::Span;
use super::{Conduct, Voice};
use crate::package::{Exposure, Grade, Heard, Stretch};
use crate::sound::Criterion;
use crate::units::{Seconds, Share, SoundLevel, format_number};

/// A part of a shift, with the level at the ear.
#[derive(Clone, Debug)]
pub struct AtEar {
    /// What is heard: a sounding, or a level that is stated.
    pub what: String,
    /// How long.
    pub lasts: Seconds,
    /// The level at the ear.
    pub level: Span,
    /// What is missing for more than bounds.
    pub missing: Option<String>,
    /// How well it is known.
    pub evidence: Grade,
}

impl AtEar {
    /// In one line.
    pub fn describe(&self) -> String {
        let level = match (self.level.low.is_finite(), self.level.high.is_finite()) {
            (_, false) => "an unknown level in".to_owned(),
            (false, true) => format!("at most {:.1}", self.level.high),
            (true, true) if self.level.low == self.level.high => format!("{:.1}", self.level.high),
            (true, true) => format!("{:.1} to {:.1}", self.level.low, self.level.high),
        };
        format!("{}: {level} dB(A) at the ear for {} min", self.what, format_number(self.lasts.value() / 60.0, 1))
    }
}

/// The dose of a shift.
pub fn dose(parts: &[AtEar], criterion: &Criterion) -> (Share, Share) {
    let dose = |end: fn(&Span) -> f64| {
        criterion.dose(parts.iter().map(|part| (SoundLevel::new(end(&part.level)), part.lasts)))
    };
    (dose(|span| span.low), dose(|span| span.high))
}

/// Each part of a shift, heard by itself.
pub fn exposure(conduct: &Conduct<'_>, exposure: &Exposure) -> Vec<AtEar> {
    exposure.stretches.iter().map(|stretch| at_ear(conduct, exposure, stretch)).collect()
}

fn at_ear(conduct: &Conduct<'_>, exposure: &Exposure, stretch: &Stretch) -> AtEar {
    let side = &conduct.package.sound;
    let (at, shut) = match stretch.heard {
        Heard::Level(level) => {
            let level = Span::exactly(level.value());
            let what = "a stated level".to_owned();
            return AtEar { what, lasts: stretch.lasts, level, missing: None, evidence: stretch.evidence.grade };
        }
        Heard::Sounding { at, shut } => (at, shut),
    };
    let sounding = side.soundings.get(at);
    let rows = sounding.map(|sounding| sounding.rows.as_slice()).unwrap_or_default();
    let voice = |(sounder, sheet): &(usize, usize)| Voice { sounder: *sounder, sheet: *sheet, sounding: at };
    let voices: Vec<Voice> = rows.iter().map(voice).collect();
    // What shut windows keep out is measured against open ones, and through these the ground is heard too.
    let place = exposure.at.map(|at| Place { at, over_ground: true });
    let heard = place.and_then(|place| around::heard(conduct, &voices, place));
    let mut missing = heard.as_ref().and_then(|heard| heard.missing().map(str::to_owned));
    let outside = heard.as_ref().map_or(Span::UNKNOWN, |heard| heard.level);
    let level = match (shut, &side.listening.windows_shut) {
        (false, _) => outside,
        (true, Some(declared)) => outside + Span::exactly(-declared.takes.value()),
        (true, None) => {
            missing.get_or_insert_with(|| {
                "what shut windows keep out, `windows-shut`, is not stated in [listening]".to_owned()
            });
            Span { low: f64::NEG_INFINITY, high: outside.high }
        }
    };
    let windows = if shut { ", windows shut" } else { ", in the open" };
    let what = format!("{}{windows}", sounding.map_or("", |sounding| &sounding.id));
    let evidence = heard.and_then(|heard| heard.evidence()).unwrap_or(Grade::Estimate);
    AtEar { what, lasts: stretch.lasts, level, missing, evidence }
}

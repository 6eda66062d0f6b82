//! The level of one sounder where one listens, term by term: what its sheet says, then everything on the way.

use glam::DVec3;

use super::{Conduct, Voice};
use crate::geometry::Pose;
use crate::package::{Body, Grade, Sheet, Sounder};
use crate::sound::{Air, OCTAVES, Octave, Spectrum, a_weighting, spread};
use crate::units::{Decibels, Degrees, Length, SoundLevel, format_number};

/// A level or a difference known to lie from `low` to `high`, in decibels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// At least this; minus infinity where it may be silence.
    pub low: f64,
    /// At most this; infinite where nothing is known.
    pub high: f64,
}

impl Span {
    /// One figure.
    pub const fn exactly(value: f64) -> Self {
        Self { low: value, high: value }
    }

    /// Nothing is known.
    pub const UNKNOWN: Self = Self { low: f64::NEG_INFINITY, high: f64::INFINITY };
}

impl std::ops::Add for Span {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { low: self.low + other.low, high: self.high + other.high }
    }
}

/// One step on the way.
#[derive(Clone, Debug)]
pub struct Term {
    /// What it is, in words.
    pub what: String,
    /// What it adds.
    pub adds: Span,
}

/// The level of one sounder at one place.
#[derive(Clone, Debug)]
pub struct Chain {
    /// Whose.
    pub voice: Voice,
    /// The steps, the stated level first; without their words where nobody reads them.
    pub terms: Vec<Term>,
    /// Their sum.
    pub level: Span,
    /// From the sounder's opening to the place.
    pub way: Length,
    /// Octave by octave, where the sheet has them: what it gives, what air takes, the weighting.
    pub bands: Vec<String>,
    /// What is missing for more than a bound.
    pub missing: Option<String>,
    /// How well the sheet's level is known.
    pub evidence: Grade,
}

/// The level that the sheet gives at an angle and a distance of the free field; an error says what is missing.
pub fn laboratory(sheet: &Sheet, angle: Degrees, distance: Length) -> Result<SoundLevel, String> {
    let stated = sheet.distance.ok_or_else(|| no_distance(sheet))?;
    let level = sheet.level_at(angle).ok_or_else(|| no_level(sheet, angle))?;
    Ok(SoundLevel::new(level.value() + spread(stated, distance).value()))
}

fn no_distance(sheet: &Sheet) -> String {
    format!("the level of the tone `{}` is stated without its distance", sheet.tone)
}

fn no_level(sheet: &Sheet, angle: Degrees) -> String {
    match sheet.levels.is_empty() {
        true => format!("no level of the tone `{}` is stated", sheet.tone),
        false => format!("no level of the tone `{}` is stated at {} deg", sheet.tone, format_number(angle.value(), 0)),
    }
}

/// The angle of a direction off the axis, right positive: 0 ahead, 180 behind.
pub fn off_axis(pose: &Pose, towards: DVec3) -> Degrees {
    let local = pose.to_lamp(towards.normalize_or_zero());
    let angle = local.x.clamp(-1.0, 1.0).acos().to_degrees();
    Degrees::new(if local.y > 0.0 { -angle } else { angle })
}

/// Nothing of a sounder's spectrum is known: its tones lie below this octave (practice), so air takes no more.
const HIGHEST_OCTAVE: usize = 6;

/// So near to the axis a sounder of which no more is stated gives what it gives on it (practice).
const NEAR_THE_AXIS: f64 = 5.0;

/// The way of one voice to a place; `told`: somebody reads it.
pub(super) fn chain(conduct: &Conduct<'_>, voice: Voice, to: DVec3, told: bool) -> Option<Chain> {
    let side = &conduct.package.sound;
    let sounder = side.sounders.get(voice.sounder)?;
    let sheet = side.model_of(sounder)?.sheets.get(voice.sheet)?;
    let towards = to - sounder.pose.at();
    let way = Length::new(towards.length());
    let (mut terms, mut bands) = (Vec::new(), Vec::new());
    let mut missing: Option<String>;
    let mut add = |what: &dyn Fn() -> String, adds: Span| {
        terms.push(Term { what: if told { what() } else { String::new() }, adds });
    };
    let metres = |length: Length| format!("{} m", format_number(length.value(), 2));
    match sheet.distance.zip(sheet.level_at(Degrees::ZERO)).filter(|_| way.value() > 0.0) {
        Some((stated, on_axis)) => {
            add(&|| format!("its sheet, {} on its axis", metres(stated)), Span::exactly(on_axis.value()));
            let angle = off_axis(&sounder.pose, towards);
            let (directivity, note) = turned(sheet, on_axis, angle);
            missing = note;
            add(&|| format!("directivity, {} deg off its axis", format_number(angle.value(), 1)), directivity);
            let spreading = spread(stated, way);
            add(&|| format!("spreading, {} to {}", metres(stated), metres(way)), Span::exactly(spreading.value()));
            // Nearer than the sheet's distance air has taken less than there.
            let further = way - stated;
            let air = side.listening.air.unwrap_or(Air::MILD);
            let (what, takes) = absorption(sheet, air, further);
            add(&|| what.to_owned(), takes);
            if told {
                bands = sheet.spectrum.map(|spectrum| octaves(&spectrum, air, further)).unwrap_or_default();
            }
        }
        None => {
            missing = Some(match (sheet.distance, way.value() > 0.0) {
                (None, _) => no_distance(sheet),
                (Some(_), true) => no_level(sheet, Degrees::ZERO),
                (Some(_), false) => format!("the place is that of `{}` itself", sounder.id),
            });
            add(&|| "its level".to_owned(), Span::UNKNOWN);
        }
    }
    if sounder.behind != Decibels::ZERO {
        add(&|| "what stands before its opening: a declared figure".to_owned(), Span::exactly(-sounder.behind.value()));
    }
    if let Some((whose, adds)) = screened(conduct, sounder, to, told) {
        add(&|| format!("{whose} between"), adds);
        if adds.low == f64::NEG_INFINITY && missing.is_none() {
            missing =
                Some(format!("{whose} between `{}` and there, and what the body takes is not declared", sounder.id));
        }
    }
    let level = terms.iter().map(|term| term.adds).reduce(|sum, term| sum + term)?;
    Some(Chain { voice, terms, level, way, bands, missing, evidence: sheet.evidence.grade })
}

/// What the direction adds to the level on the axis. Where the axis alone is stated, nothing is louder elsewhere.
fn turned(sheet: &Sheet, on_axis: SoundLevel, angle: Degrees) -> (Span, Option<String>) {
    match sheet.level_at(angle) {
        Some(level) => (Span::exactly((level - on_axis).value()), None),
        None if sheet.levels.len() == 1 && angle.value().abs() <= NEAR_THE_AXIS => (Span::exactly(0.0), None),
        None if sheet.levels.len() == 1 => (Span { low: f64::NEG_INFINITY, high: 0.0 }, Some(no_level(sheet, angle))),
        None => (Span::UNKNOWN, Some(no_level(sheet, angle))),
    }
}

/// What air takes between the sheet's distance and the place.
fn absorption(sheet: &Sheet, air: Air, further: Length) -> (&'static str, Span) {
    if let Some(spectrum) = sheet.spectrum {
        let left = spectrum.left(SoundLevel::new(0.0), |octave| air.absorbs(octave.midband(), further));
        return ("absorption by air, octave by octave", Span::exactly(left.value()));
    }
    let most = OCTAVES.get(HIGHEST_OCTAVE).map_or(0.0, |octave| air.absorbs(octave.midband(), further).value());
    let what = "absorption by air: the octaves are not stated, so from nothing to that of 4 kHz";
    (what, Span { low: (-most).min(0.0), high: (-most).max(0.0) })
}

/// What stands in between, and what it takes; nothing where the way is free. A box that holds the opening or the ear is
/// no hindrance: the one is mounted on it, the other sits in it.
fn screened(conduct: &Conduct<'_>, sounder: &Sounder, to: DVec3, told: bool) -> Option<(String, Span)> {
    let (from, towards) = (sounder.pose.at(), to - sounder.pose.at());
    let (reach, direction) = (towards.length(), towards.normalize_or_zero());
    let hides = |body: &Body| body.block.hides(from, direction, reach) && body.block.seen_from(to).is_some();
    let bodies = conduct.package.bodies.iter().zip(&conduct.bodies);
    let between: Vec<_> = bodies.filter(|(body, _)| hides(body)).collect();
    let (first, _) = between.first()?;
    let always = between.iter().any(|(_, when)| *when == conduct.space().allowed());
    let whose = match between.len() {
        _ if !told => String::new(),
        1 => format!("`{}` stands", first.id),
        more => format!("`{}` and {} more stand", first.id, more - 1),
    };
    // Without a figure it may take all, and what comes and goes may take nothing.
    let takes = sounder.screened.map_or(f64::INFINITY, Decibels::value);
    let least = if always { sounder.screened.map_or(0.0, Decibels::value) } else { 0.0 };
    Some((whose, Span { low: -takes, high: 0.0 - least }))
}

/// A line of titles, then one a band that adds anything.
fn octaves(spectrum: &Spectrum, air: Air, further: Length) -> Vec<String> {
    let titles = "octave, dB:  sheet  A-weighting     air   together (the whole is 0)";
    let band = |(octave, level): (&Octave, f64)| {
        let (lost, weight) = (air.absorbs(octave.midband(), further).value(), a_weighting(octave.midband()).value());
        let left = level + weight - lost;
        format!("{:>7} Hz  {level:>6.1}  {weight:>+11.1}  {:>6.2}  {left:>9.1}", octave.nominal, 0.0 - lost)
    };
    let bands = OCTAVES.iter().zip(spectrum.bands()).filter(|(_, level)| level.is_finite());
    std::iter::once(titles.to_owned()).chain(bands.map(band)).collect()
}

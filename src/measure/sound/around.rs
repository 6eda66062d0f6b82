//! Several sounders at one place: those on one amplifier between against each other and with each other, all else added
//! as sounds that know nothing of each other.

use std::f64::consts::{PI, TAU};

use glam::DVec3;

use super::chain::{Chain, Span, chain};
use super::{Conduct, Voice};
use crate::geometry::direction;
use crate::package::{Grade, Sheet, Sounder};
use crate::sound::{add_coherent, add_incoherent};
use crate::units::{Decibels, Degrees, Length, SoundLevel};

/// Where one listens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Metres in the vehicle frame.
    pub at: DVec3,
    /// The ground adds to it, or takes from it; not in the free field.
    pub over_ground: bool,
}

/// What arrives at a place.
#[derive(Clone, Debug)]
pub struct Heard {
    /// One a sounder.
    pub chains: Vec<Chain>,
    /// Their sum in the free field.
    pub free_field: Span,
    /// What the ground adds.
    pub ground: Span,
    /// All together.
    pub level: Span,
    /// Sounders in step make it a range.
    pub in_step: bool,
}

/// Pressure doubles over hard ground at most; soft ground takes up to 4.8 dB (ISO 9613-2, equation 10, from memory).
const GROUND: Span = Span { low: -4.8, high: 6.02 };

impl Heard {
    /// The weakest evidence of what is heard.
    pub fn evidence(&self) -> Option<Grade> {
        self.chains.iter().map(|chain| chain.evidence).max()
    }

    /// What is missing for more than bounds.
    pub fn missing(&self) -> Option<&str> {
        self.chains.iter().find_map(|chain| chain.missing.as_deref())
    }

    /// The greatest expanded uncertainty of the sheets; none where one states none.
    pub fn uncertainty(&self, conduct: &Conduct<'_>) -> Option<Decibels> {
        let stated = |chain: &Chain| sheet_of(conduct, chain.voice).and_then(|(_, sheet)| sheet.uncertainty);
        let greater = |most: Decibels, one: Decibels| if one > most { one } else { most };
        self.chains.iter().try_fold(Decibels::ZERO, |most, chain| Some(greater(most, stated(chain)?)))
    }
}

/// The sounder of a voice, and the sheet of its tone.
pub(super) fn sheet_of<'c>(conduct: &'c Conduct<'_>, voice: Voice) -> Option<(&'c Sounder, &'c Sheet)> {
    let side = &conduct.package.sound;
    let sounder = side.sounders.get(voice.sounder)?;
    Some((sounder, side.model_of(sounder)?.sheets.get(voice.sheet)?))
}

/// Everything that sounds together, heard at a place, with the words of each step; none of silence.
pub fn heard(conduct: &Conduct<'_>, voices: &[Voice], place: Place) -> Option<Heard> {
    summed(conduct, voices, place, true)
}

/// The level alone; none of silence.
pub fn level_of(conduct: &Conduct<'_>, voices: &[Voice], place: Place) -> Option<Span> {
    summed(conduct, voices, place, false).map(|heard| heard.level)
}

fn summed(conduct: &Conduct<'_>, voices: &[Voice], place: Place, told: bool) -> Option<Heard> {
    let chains: Vec<Chain> = voices.iter().filter_map(|voice| chain(conduct, *voice, place.at, told)).collect();
    let groups = groups(conduct, &chains);
    let levels: Vec<Span> = groups.iter().map(|chains| in_step(conduct, chains)).collect();
    let sum = |end: fn(&Span) -> f64| {
        let levels = levels.iter().map(end).map(SoundLevel::new);
        add_incoherent(levels).map_or(f64::NEG_INFINITY, |level| level.value())
    };
    let free_field = Span { low: sum(|span| span.low), high: sum(|span| span.high) };
    let stated = conduct.package.sound.listening.reflection.map(|adds| Span::exactly(adds.value()));
    let ground = if place.over_ground { stated.unwrap_or(GROUND) } else { Span::exactly(0.0) };
    let several = groups.iter().any(|chains| chains.len() > 1);
    (!chains.is_empty()).then(|| Heard { chains, free_field, ground, level: free_field + ground, in_step: several })
}

/// Sounders that may be in step: speakers on one amplifier, and all speakers where one does not say what drives it.
fn groups<'c>(conduct: &Conduct<'_>, chains: &'c [Chain]) -> Vec<Vec<&'c Chain>> {
    let side = &conduct.package.sound;
    let is_speaker = |chain: &Chain| {
        let model = side.sounders.get(chain.voice.sounder).and_then(|one| side.model_of(one));
        model.is_some_and(|model| model.kind.is_speaker())
    };
    let amplifier = |chain: &Chain| side.sounders.get(chain.voice.sounder).and_then(|one| one.amplifier.as_deref());
    let unsaid = chains.iter().any(|chain| is_speaker(chain) && amplifier(chain).is_none());
    let mut groups: Vec<(Option<&str>, Vec<&Chain>)> = Vec::new();
    for chain in chains {
        let key = if unsaid && is_speaker(chain) { Some("") } else { amplifier(chain) };
        match groups.iter_mut().find(|(known, _)| key.is_some() && *known == key) {
            Some((_, together)) => together.push(chain),
            None => groups.push((key, vec![chain])),
        }
    }
    groups.into_iter().map(|(_, chains)| chains).collect()
}

/// Sounds in step: with each other where their ways are alike, against each other where these differ by half a wave, or
/// where wires are crossed. A second speaker only ever counts against the lower end: nobody may count on it without a
/// test at the angle in question.
fn in_step(conduct: &Conduct<'_>, chains: &[&Chain]) -> Span {
    let levels: Vec<Span> = chains.iter().map(|chain| chain.level).collect();
    let [first, _, ..] = chains else { return levels.first().copied().unwrap_or(Span::UNKNOWN) };
    let pressure = |level: f64| 10_f64.powf(level / 20.0);
    let decibels = |pressure: f64| if pressure > 0.0 { 20.0 * pressure.log10() } else { f64::NEG_INFINITY };
    let loudest = levels.iter().map(|span| span.low).fold(f64::NEG_INFINITY, f64::max);
    // One that outweighs all others cannot be cancelled by them.
    let outweighs = |at: usize| {
        let others = levels.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, span)| pressure(span.high));
        pressure(levels.get(at).map_or(f64::NEG_INFINITY, |span| span.low)) - others.sum::<f64>()
    };
    let alone = (0..levels.len()).map(outweighs).fold(0.0, f64::max);
    // Alike in all that sets the phase: device, tone, and wires of which both say how they lie.
    let source = |chain: &Chain| {
        let (sounder, sheet) = sheet_of(conduct, chain.voice)?;
        Some((sounder.model, sheet.tone.as_str(), sounder.reversed?))
    };
    let alike = source(first).is_some() && chains.iter().all(|chain| source(chain) == source(first));
    // Of phases no farther apart than this, each leaves at least so much along the one half way between the outermost.
    let ways = || chains.iter().map(|chain| chain.way.value());
    let apart = ways().fold(f64::NEG_INFINITY, f64::max) - ways().fold(f64::INFINITY, f64::min);
    let phase = TAU * HIGHEST_TONE * apart / SPEED_OF_SOUND;
    let together = levels.iter().map(|span| pressure(span.low)).sum::<f64>() * (phase * 0.5).cos();
    let together = if !alike || phase >= PI { 0.0 } else { together };
    let highs: Vec<SoundLevel> = levels.iter().map(|span| SoundLevel::new(span.high)).collect();
    let high = add_coherent(&highs).map_or(f64::NEG_INFINITY, |(_, high)| high.value());
    Span { low: decibels(alone.max(together)).min(loudest), high }
}

/// At 20 degC, in metres a second.
const SPEED_OF_SOUND: f64 = 343.2;

/// What sirens radiate above, in hertz, is little (practice).
const HIGHEST_TONE: f64 = 4000.0;

/// Places on a ring round the middle of the vehicle, at a height above the ground: the bearing, and the place.
pub fn ring(radius: Length, height: Length, step: u16) -> impl Iterator<Item = (Degrees, Place)> {
    (0..360_u16).step_by(usize::from(step.max(1))).map(move |bearing| {
        let bearing = Degrees::new(f64::from(bearing));
        let at = direction(bearing, Degrees::ZERO) * radius.value() + DVec3::Z * height.value();
        (bearing, Place { at, over_ground: true })
    })
}

//! What arrives round the vehicle, over all ways in which sounders sound together.

use super::{ListenKey, ListenKeys, of_sound, place, spoken_of, terms};
use crate::logic::Region;
use crate::measure::Conduct;
use crate::measure::sound::{Heard, Span, Voice, heard, level_of};
use crate::quantity::{Ask, Measured, Quantity, Uncertainty, Value};
use crate::sound::distance_of;
use crate::units::{Dimension, Length, SoundLevel, format_number};

const ON_VEHICLE: &str = "class 1 meter, A-weighted, fast, at the distance and height named, engine running, wind under 5 m/s, no wall within 30 m, ears protected, nobody before the sounder; ground and body change it by several dB against the free field";

/// The least level at a place of what a rule speaks of.
pub(in crate::quantity) static LEVEL: Quantity = of_sound(
    "sound-level-at-place",
    "the level at a place beside the vehicle of the sounders that the rule speaks of, in whichever tone and state in which any of them sounds gives least there",
    Dimension::SoundLevel,
    false,
    ON_VEHICLE,
    |conduct, ask| vec![worst(conduct, ask, End::Least)],
);

/// The greatest level at a place.
pub(in crate::quantity) static GREATEST: Quantity = of_sound(
    "greatest-sound-level-at-place",
    "the greatest level at a place beside the vehicle of the sounders that the rule speaks of, over all states",
    Dimension::SoundLevel,
    false,
    ON_VEHICLE,
    |conduct, ask| vec![worst(conduct, ask, End::Greatest)],
);

/// How far it exceeds what is around.
pub(in crate::quantity) static OVER_AMBIENT: Quantity = of_sound(
    "sound-level-over-ambient",
    "by how much the level at a place beside the vehicle exceeds how loud it is where the vehicle works (`ambient` in [listening])",
    Dimension::Decibels,
    false,
    "meter at the place named, first with all sounders silent and the work going on, then with the sounder on",
    |conduct, ask| {
        let mut measured = worst(conduct, ask, End::Least);
        match (&mut measured.value, conduct.package.sound.listening.ambient) {
            (Value::Number { low, high, .. }, Some(ambient)) => {
                let (there, around) = (Span { low: *low, high: *high }, format_number(ambient.value(), 1));
                *low -= ambient.value();
                *high -= ambient.value();
                measured.notes.push(format!("{} dB(A) there, {around} dB(A) around", figure(there, false)));
                measured.steps.push(format!("less what is around: {around} dB(A)"));
            }
            (Value::Number { .. }, None) => measured.value = Value::Unknown(NO_AMBIENT.to_owned()),
            _ => {}
        }
        vec![measured]
    },
);

const NO_AMBIENT: &str = "no `ambient` level is stated in [listening]";
const TOO_MANY: &str = "sounders can sound together in more ways than are gone through";

/// How far away it is still heard over what is around.
pub(in crate::quantity) static HEARD_AT: Quantity = of_sound(
    "distance-heard",
    "the distance from a side of the vehicle up to which the level stays over what is around by the margin that the rule names; no promise that anybody hears it",
    Dimension::Length,
    false,
    "somebody with normal hearing stands at the distance, away from walls, and says whether it is heard over what is around",
    |conduct, ask| vec![distance(conduct, ask)],
);

/// Which of all ways of sounding is asked for.
#[derive(Clone, Copy, PartialEq)]
enum End {
    /// The softest.
    Least,
    /// The loudest.
    Greatest,
}

impl End {
    /// What is known of the worst of two ways: of both ends the one on its side.
    fn join(self, one: Span, other: Span) -> Span {
        match self {
            Self::Least => Span { low: one.low.min(other.low), high: one.high.min(other.high) },
            Self::Greatest => Span { low: one.low.max(other.low), high: one.high.max(other.high) },
        }
    }

    /// Whether a way is told rather than the one known: it reaches farther to this side.
    fn reaches_beyond(self, new: Span, known: Span) -> bool {
        match self {
            Self::Least => (new.low, new.high) < (known.low, known.high),
            Self::Greatest => (new.high, new.low) > (known.high, known.low),
        }
    }
}

fn nothing() -> Measured {
    Measured::new(Value::Absent("nothing of what the rule speaks of ever sounds".to_owned()))
}

/// The ways in which something of what a rule speaks of sounds: the states, and its voices.
fn ways(conduct: &Conduct<'_>, ask: &Ask<'_>) -> Result<Vec<(Region, Vec<Voice>)>, Box<Measured>> {
    let sounds = conduct.sounds();
    if sounds.too_many {
        return Err(Box::new(Measured::new(Value::Unknown(TOO_MANY.to_owned()))));
    }
    let mut ways: Vec<(Region, Vec<Voice>)> = Vec::new();
    for (region, voices) in &sounds.ways {
        let voices = spoken_of(conduct, ask, voices);
        // Ways that differ only in what the rule does not speak of are one; so are tones, whichever sounding asks for them.
        match ways.iter_mut().find(|(_, known)| alike(known, &voices)) {
            Some((states, _)) => *states = conduct.space().or(states, region),
            None if voices.is_empty() => {}
            None => ways.push((region.clone(), voices)),
        }
    }
    if ways.is_empty() { Err(Box::new(nothing())) } else { Ok(ways) }
}

/// Whether the same sounders sound in the same tones.
fn alike(one: &[Voice], other: &[Voice]) -> bool {
    let tone = |voice: &Voice| (voice.sounder, voice.sheet);
    one.len() == other.len() && one.iter().map(tone).eq(other.iter().map(tone))
}

/// What all ways of sounding leave of the softest or the loudest at a place, and the way that reaches farthest.
fn worst(conduct: &Conduct<'_>, ask: &Ask<'_>, end: End) -> Measured {
    let terms = terms(ask);
    let place = place(conduct, terms, terms.distance.unwrap_or(Length::ZERO));
    let ways = match ways(conduct, ask) {
        Ok(ways) => ways,
        Err(measured) => return *measured,
    };
    let mut joint: Option<Span> = None;
    let mut told: Option<(Span, Region, &[Voice])> = None;
    for (region, voices) in &ways {
        let Some(level) = level_of(conduct, voices, place) else { continue };
        joint = Some(joint.map_or(level, |known| end.join(known, level)));
        told = match told {
            Some((known, states, voices)) if known == level => {
                Some((known, conduct.space().or(&states, region), voices))
            }
            Some(known) if !end.reaches_beyond(level, known.0) => Some(known),
            _ => Some((level, region.clone(), voices)),
        };
    }
    let Some((level, (_, region, voices))) = joint.zip(told) else { return nothing() };
    let Some(heard) = heard(conduct, voices, place) else { return nothing() };
    let mut measured = of_heard(conduct, ask, &heard, &region);
    measured.value = Value::Number { low: level.low, high: level.high, occurs: false };
    measured
}

/// All that is said of one way of sounding, whatever its value.
fn of_heard(conduct: &Conduct<'_>, ask: &Ask<'_>, heard: &Heard, region: &Region) -> Measured {
    let value = Value::Number { low: heard.level.low, high: heard.level.high, occurs: false };
    let mut measured = Measured { evidence: heard.evidence(), steps: steps(conduct, heard), ..Measured::new(value) };
    let bounds = (heard.level.low < heard.level.high).then(|| why_bounds(conduct, heard));
    measured.notes.extend(heard.missing().map(str::to_owned).or(bounds));
    measured.uncertainty = match (ask.with_uncertainty, heard.uncertainty(conduct)) {
        (false, _) => Uncertainty::NotAsked,
        (true, Some(expanded)) => Uncertainty::Known(expanded.value()),
        (true, None) => Uncertainty::Missing,
    };
    measured.states = (*region != *conduct.space().allowed()).then(|| region.clone());
    measured
}

/// Why a level is a range though nothing of it is missing.
fn why_bounds(conduct: &Conduct<'_>, heard: &Heard) -> String {
    let mut why = Vec::new();
    if heard.ground.low < heard.ground.high {
        why.push("what the ground adds is not stated");
    }
    if heard.in_step {
        why.push("speakers in step and against each other");
    }
    let side = &conduct.package.sound;
    let without_octaves = heard.chains.iter().any(|chain| {
        let model = side.sounders.get(chain.voice.sounder).and_then(|one| side.model_of(one));
        model.and_then(|model| model.sheets.get(chain.voice.sheet)).is_some_and(|sheet| sheet.spectrum.is_none())
    });
    if without_octaves {
        why.push("octaves not stated, so what air takes is a range");
    }
    if why.is_empty() {
        why.push("what stands in between comes and goes");
    }
    format!("the level is a range: {}", why.join("; "))
}

/// The way of each sounder to the place, then their sum.
fn steps(conduct: &Conduct<'_>, heard: &Heard) -> Vec<String> {
    let side = &conduct.package.sound;
    let mut lines = Vec::new();
    for chain in &heard.chains {
        let sounder = side.sounders.get(chain.voice.sounder);
        let sheet = sounder.and_then(|one| side.model_of(one)).and_then(|model| model.sheets.get(chain.voice.sheet));
        let (id, tone) = (sounder.map_or("", |one| &one.id), sheet.map_or("", |sheet| &sheet.tone));
        lines.push(format!("{id}, {tone}:"));
        for (at, term) in chain.terms.iter().enumerate() {
            let unit = if at == 0 { "dB(A)" } else { "dB" };
            lines.push(format!("  {} {unit}  {}", figure(term.adds, at > 0), term.what));
        }
        lines.extend(chain.bands.iter().map(|band| format!("    {band}")));
        if chain.bands.is_empty() && chain.missing.is_none() {
            lines.push("    weighting: the sheet's level is A-weighted, and its octaves are not stated".to_owned());
        }
        lines.push(format!("  = {} dB(A)  from this sounder", figure(chain.level, false)));
    }
    lines.push(format!("sum in the free field: {} dB(A)", figure(heard.free_field, false)));
    let stated = match side.listening.reflection {
        Some(_) => "as [listening] states",
        None => "not stated: from soft ground to doubled pressure",
    };
    lines.push(format!("ground: {} dB, {stated}", figure(heard.ground, true)));
    lines.push(format!("level there: {} dB(A)", figure(heard.level, false)));
    lines
}

/// `-34.12`, or `-3.02 to 0.00`.
fn figure(span: Span, signed: bool) -> String {
    let one = |value: f64| match () {
        () if value == f64::NEG_INFINITY => "silence".to_owned(),
        () if value == f64::INFINITY => "unknown".to_owned(),
        () if signed => format!("{:+.2}", value + 0.0),
        () => format!("{value:.2}"),
    };
    if span.low == span.high { one(span.low) } else { format!("{} to {}", one(span.low), one(span.high)) }
}

/// Nobody hears a siren farther away (practice).
const FURTHEST: Length = Length::new(5000.0);
const NEAREST: Length = Length::new(1.0);

/// How much farther each place is at which one listens: a level may dip and rise again with the angle.
const STRIDE: f64 = 1.05;

fn distance(conduct: &Conduct<'_>, ask: &Ask<'_>) -> Measured {
    let terms = terms(ask);
    let listening = &conduct.package.sound.listening;
    let Some(ambient) = listening.ambient else { return Measured::new(Value::Unknown(NO_AMBIENT.to_owned())) };
    let car = match (terms.in_closed_car, &listening.closed_car) {
        (false, _) => 0.0,
        (true, Some(declared)) => declared.takes.value(),
        (true, None) => {
            let why = "what a closed car keeps out, `closed-car`, is not stated in [listening]";
            return Measured::new(Value::Unknown(why.to_owned()));
        }
    };
    let ways = match ways(conduct, ask) {
        Ok(ways) => ways,
        Err(measured) => return *measured,
    };
    let over = terms.over.map_or(0.0, |over| over.value());
    let wanted = ambient.value() + car + over;
    let mut least: Option<(Length, &Region, &[Voice])> = None;
    let mut high = f64::INFINITY;
    for (region, voices) in &ways {
        let level = |away: Length| {
            level_of(conduct, voices, place(conduct, terms, away)).unwrap_or(Span::exactly(f64::NEG_INFINITY))
        };
        let (surely, perhaps) = reach(wanted, level);
        high = high.min(perhaps.value());
        if least.is_none_or(|(known, ..)| surely < known) {
            least = Some((surely, region, voices));
        }
    }
    let Some((low, region, voices)) = least else { return nothing() };
    let at = place(conduct, terms, if low > Length::ZERO { low } else { NEAREST });
    let Some(heard) = heard(conduct, voices, at) else { return nothing() };
    let mut measured = of_heard(conduct, ask, &heard, region);
    measured.uncertainty = Uncertainty::NotAsked;
    measured.value = Value::Number { low: low.value(), high, occurs: false };
    let number = |value: f64| format_number(value, 1);
    let needed = format!(
        "heard is what exceeds {} dB(A): {} around, {} over it, {} for a closed car",
        number(wanted),
        number(ambient.value()),
        number(over),
        number(car)
    );
    let there = format!("at {} m, the last place at which that is sure:", format_number(low.value(), 2));
    measured.steps.splice(0..0, [needed, there]);
    measured
}

/// Up to where a level surely stays over what is wanted, and the farthest place at which it may be over it.
fn reach(wanted: f64, level: impl Fn(Length) -> Span) -> (Length, Length) {
    let (mut surely, mut perhaps) = (None, Length::ZERO);
    let mut at = NEAREST;
    let mut last = NEAREST;
    loop {
        let here = level(at);
        if here.low < wanted && surely.is_none() {
            // Somewhere behind the last place; at none where even the first is too soft.
            let between = |away: Length| SoundLevel::new(level(away).low);
            let found = distance_of(SoundLevel::new(wanted), (last, at), between);
            surely = Some(if at == NEAREST { Length::ZERO } else { found.unwrap_or(last) });
        }
        if here.high >= wanted {
            perhaps = at;
        } else if perhaps == last {
            let between = |away: Length| SoundLevel::new(level(away).high);
            perhaps = distance_of(SoundLevel::new(wanted), (last, at), between).unwrap_or(perhaps);
        }
        if at >= FURTHEST {
            let beyond = Length::new(f64::INFINITY);
            return (surely.unwrap_or(FURTHEST), if perhaps >= FURTHEST { beyond } else { perhaps });
        }
        last = at;
        at = Length::new((at.value() * STRIDE).min(FURTHEST.value()));
    }
}

/// What rules on these say in `listen`.
pub(super) static KEYS: &[ListenKeys] = &[
    (&LEVEL, &[ListenKey::From, ListenKey::Distance], &[ListenKey::Height]),
    (&GREATEST, &[ListenKey::From, ListenKey::Distance], &[ListenKey::Height]),
    (&OVER_AMBIENT, &[ListenKey::From, ListenKey::Distance], &[ListenKey::Height]),
    (&HEARD_AT, &[ListenKey::From, ListenKey::Over], &[ListenKey::Height, ListenKey::InClosedCar]),
];

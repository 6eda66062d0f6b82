//! Single sounders as a laboratory measures them: levels by angle and distance in the free field, cycles, tones.

use super::{ListenKey, ListenKeys, asked, each_tone, of_sound, of_tone, sheets, terms};
use crate::measure::Conduct;
use crate::measure::sound::laboratory;
use crate::package::Sheet;
use crate::quantity::{Ask, Measured, Quantity, Uncertainty, Value};
use crate::units::{Degrees, Dimension, Length, SoundLevel, format_number};

/// In the laboratory, not at the vehicle.
const BY_METER: &str = "a laboratory measures it in the free field; on the vehicle, at the same distance and height with a class 1 meter, A-weighted, at the stated voltage, wind under 5 m/s, ears protected: ground and body change it by several dB";

/// The level at some angles.
pub(in crate::quantity) static LEVEL: Quantity = of_sound(
    "sound-level",
    "the least level of a sounder at the angles and the distance that the rule names, in the free field, from its sheet; of a varying tone the greatest of a cycle",
    Dimension::SoundLevel,
    false,
    BY_METER,
    |conduct, ask| {
        let terms = terms(ask);
        let on_axis = [Degrees::ZERO];
        let angles = if terms.angles.is_empty() { on_axis.as_slice() } else { terms.angles.as_slice() };
        levels(conduct, ask, |sheet, distance| {
            let at: Result<Vec<(Degrees, f64)>, String> =
                angles.iter().map(|angle| Ok((*angle, laboratory(sheet, *angle, distance)?.value()))).collect();
            at.map(|at| least(at, terms.low))
        })
    },
);

/// The greatest level in any direction.
pub(in crate::quantity) static GREATEST: Quantity = of_sound(
    "greatest-sound-level",
    "the greatest level of a sounder in any direction that its sheet states, at the distance that the rule names, in the free field",
    Dimension::SoundLevel,
    false,
    BY_METER,
    |conduct, ask| {
        levels(conduct, ask, |sheet, distance| {
            let greatest = sheet.levels.iter().max_by(|one, other| one.1.value().total_cmp(&other.1.value()));
            let angle = greatest.map_or(Degrees::ZERO, |(angle, _)| *angle);
            laboratory(sheet, angle, distance).map(|level| (angle, level.value()))
        })
    },
);

/// The room over a table of levels by angle.
pub(in crate::quantity) static OVER_TABLE: Quantity = of_sound(
    "sound-level-over-table",
    "the least difference between the level of a sounder and the level that the rule's table asks at the same angle, at the distance that the rule names, in the free field",
    Dimension::Decibels,
    false,
    BY_METER,
    |conduct, ask| {
        let terms = terms(ask);
        levels(conduct, ask, |sheet, distance| {
            let over = |(angle, least): &(Degrees, SoundLevel)| {
                Ok((*angle, laboratory(sheet, *angle, distance)?.value() - least.value()))
            };
            let at: Result<Vec<(Degrees, f64)>, String> = terms.table.iter().map(over).collect();
            at.map(|at| least(at, terms.low))
        })
    },
);

/// The least of some figures, where the lowest few may be a little low: these are lifted by as much first.
fn least(mut at: Vec<(Degrees, f64)>, low: Option<(u32, crate::units::Decibels)>) -> (Degrees, f64) {
    at.sort_by(|one, other| one.1.total_cmp(&other.1));
    if let Some((points, by)) = low {
        let points = usize::try_from(points).unwrap_or(usize::MAX);
        at.iter_mut().take(points).for_each(|(_, level)| *level += by.value());
    }
    let least = at.into_iter().min_by(|one, other| one.1.total_cmp(&other.1));
    least.unwrap_or((Degrees::ZERO, f64::NAN))
}

/// A level of each tone of each sounder asked for, and the angle at which it is.
fn levels(
    conduct: &Conduct<'_>,
    ask: &Ask<'_>,
    level: impl Fn(&Sheet, Length) -> Result<(Degrees, f64), String>,
) -> Vec<Measured> {
    let Some(distance) = terms(ask).distance else { return Vec::new() };
    let mut found = Vec::new();
    for (_, sounder, model) in asked(conduct, ask) {
        for sheet in sheets(model, ask) {
            let measured = match level(sheet, distance) {
                Err(why) => of_tone(sounder, sheet, Value::Unknown(format!("{why} (model `{}`)", model.id))),
                Ok((angle, level)) => {
                    let mut measured = of_tone(sounder, sheet, Value::exactly(level));
                    let stated = sheet.distance.unwrap_or(distance);
                    if stated != distance {
                        let metres = |length: Length| format_number(length.value(), 2);
                        measured.notes.push(format!(
                            "stated at {} m, by spreading alone at {} m",
                            metres(stated),
                            metres(distance)
                        ));
                    }
                    measured.notes.extend(
                        sheet.at.is_none().then(|| "at which voltage it holds, `at`, is not stated".to_owned()),
                    );
                    measured.steps = steps(sheet, angle, distance);
                    if angle != Degrees::ZERO {
                        let angle = format_number(angle.value(), 1);
                        measured.notes.push(format!("found {angle} deg off its axis"));
                    }
                    measured
                }
            };
            let uncertainty = match (ask.with_uncertainty, sheet.uncertainty) {
                (false, _) => Uncertainty::NotAsked,
                (true, Some(expanded)) => Uncertainty::Known(expanded.value()),
                (true, None) => Uncertainty::Missing,
            };
            found.push(Measured { uncertainty, ..measured });
        }
    }
    found
}

/// How a level came about, in decibels.
fn steps(sheet: &Sheet, angle: Degrees, distance: Length) -> Vec<String> {
    let Some((stated, level)) = sheet.distance.zip(sheet.level_at(angle)) else { return Vec::new() };
    let metres = |length: Length| format_number(length.value(), 2);
    let mut steps = vec![format!(
        "its sheet, {} m, {} deg off its axis: {} dB(A)",
        metres(stated),
        format_number(angle.value(), 1),
        format_number(level.value(), 2)
    )];
    let spreading = crate::sound::spread(stated, distance).value();
    steps.push(format!("spreading, {} to {} m: {spreading:+.2} dB", metres(stated), metres(distance)));
    steps.extend(sheet.at.map(|volts| format!("at {} V", volts.value())));
    steps
}

/// How far below its level the lowest part of a cycle lies.
pub(in crate::quantity) static LOWEST_PART: Quantity = of_sound(
    "lowest-part-of-cycle",
    "how far below its level the lowest part of a cycle of a varying tone lies",
    Dimension::Decibels,
    false,
    "read it in the siren's test report",
    |conduct, ask| each_tone(conduct, ask, "lowest-part", |sheet| sheet.lowest_part.map(|below| below.value())),
);

/// Cycles or pulses a minute.
pub(in crate::quantity) static RATE: Quantity = of_sound(
    "tone-rate",
    "cycles of a varying tone a minute, or pulses of one that comes and goes",
    Dimension::Rate,
    false,
    "count the cycles of ten seconds and multiply by six; ears protected, nobody before the sounder",
    |conduct, ask| each_tone(conduct, ask, "rate", |sheet| sheet.rate.map(|rate| rate.value())),
);

/// The predominant frequency.
pub(in crate::quantity) static FREQUENCY: Quantity = of_sound(
    "tone-frequency",
    "the predominant frequency of a tone",
    Dimension::Rate,
    false,
    "read it in the sounder's papers, or with a frequency analyser",
    |conduct, ask| each_tone(conduct, ask, "frequency", |sheet| sheet.frequency.map(|frequency| frequency.value())),
);

/// The tones that a sounder makes.
pub(in crate::quantity) static TONES: Quantity = of_sound(
    "sounder-tones",
    "the tones that its sheet names for a sounder",
    Dimension::Words,
    false,
    "turn the selector through all its positions, ears protected, nobody before the sounder",
    |conduct, ask| {
        let words = |(_, sounder, model): (usize, &crate::package::Sounder, &crate::package::SounderModel)| {
            let shown = model.sheets.iter().map(|sheet| (sheet.tone.clone(), vec![sounder.id.clone()])).collect();
            let measured = Measured::new(Value::Words { shown, perhaps: Vec::new() });
            Measured { sounder: Some(sounder.id.clone()), ..measured }
        };
        asked(conduct, ask).into_iter().map(words).collect()
    },
);

/// The class that is claimed.
pub(in crate::quantity) static CLASS: Quantity = of_sound(
    "sounder-class",
    "the class that its maker claims for a sounder under this ruleset",
    Dimension::Words,
    false,
    "read the mark on the device and its papers",
    |conduct, ask| {
        let rules = ask.device.ruleset;
        let class = |(_, sounder, model): (usize, &crate::package::Sounder, &crate::package::SounderModel)| {
            let value = match model.class(rules) {
                Some(class) => {
                    Value::Words { shown: vec![(class.to_owned(), vec![sounder.id.clone()])], perhaps: Vec::new() }
                }
                None => Value::Unknown(format!("no class is claimed under `{rules}` for the model `{}`", model.id)),
            };
            Measured { sounder: Some(sounder.id.clone()), ..Measured::new(value) }
        };
        asked(conduct, ask).into_iter().map(class).collect()
    },
);

/// What rules on these say in `listen`.
pub(super) static KEYS: &[ListenKeys] = &[
    (&LEVEL, &[ListenKey::Distance], &[ListenKey::Angles, ListenKey::Low]),
    (&GREATEST, &[ListenKey::Distance], &[]),
    (&OVER_TABLE, &[ListenKey::Distance, ListenKey::Table], &[ListenKey::Low]),
    (&LOWEST_PART, &[], &[]),
    (&RATE, &[], &[]),
    (&FREQUENCY, &[], &[]),
    (&TONES, &[], &[]),
    (&CLASS, &[], &[]),
];

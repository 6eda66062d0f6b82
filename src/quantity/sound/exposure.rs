//! What people near the vehicle hear over a shift that the package describes. Never a medical statement.

use super::{ListenKeys, of_sound};
use crate::measure::Conduct;
use crate::measure::sound::{AtEar, Span, dose, exposure};
use crate::quantity::{Measured, Quantity, Value, weakest};
use crate::sound::{Criterion, NIOSH, OSHA};
use crate::units::{Dimension, SoundLevel, format_number};

const BY_DOSEMETER: &str = "dosemeter at the ear over a whole shift, or a class 1 meter at the seat with windows as in use; who decides on hearing protection is the employer, with a person trained for it";

/// The dose by the rule for workplaces.
pub(in crate::quantity) static OSHA_DOSE: Quantity = of_sound(
    "noise-dose-29-cfr-1910-95",
    "noise dose of the shift that an `exposure` of the package describes: 90 dB(A) for eight hours is all of it, 5 dB halve the time",
    Dimension::Share,
    false,
    BY_DOSEMETER,
    |conduct, _| doses(conduct, &OSHA),
);

/// The dose by the recommendation.
pub(in crate::quantity) static NIOSH_DOSE: Quantity = of_sound(
    "noise-dose-niosh",
    "noise dose of the shift that an `exposure` of the package describes: 85 dB(A) for eight hours is all of it, 3 dB halve the time",
    Dimension::Share,
    false,
    BY_DOSEMETER,
    |conduct, _| doses(conduct, &NIOSH),
);

/// The greatest level of a shift.
pub(in crate::quantity) static GREATEST: Quantity = of_sound(
    "greatest-exposure-level",
    "the greatest level in the shift that an `exposure` of the package describes",
    Dimension::SoundLevel,
    false,
    BY_DOSEMETER,
    |conduct, _| {
        each_place(conduct, |parts| {
            let greatest = parts
                .iter()
                .map(|part| part.level)
                .reduce(|one, other| Span { low: one.low.max(other.low), high: one.high.max(other.high) })?;
            Some((greatest, Vec::new()))
        })
    },
);

/// A figure of each place, from the parts of its shift.
fn each_place(conduct: &Conduct<'_>, figure: impl Fn(&[AtEar]) -> Option<(Span, Vec<String>)>) -> Vec<Measured> {
    let mut found = Vec::new();
    for one in &conduct.package.sound.exposures {
        let heard = exposure(conduct, one);
        let Some((span, steps)) = figure(&heard) else { continue };
        let mut measured = Measured::new(Value::Number { low: span.low, high: span.high, occurs: false });
        measured.place = Some(one.id.clone());
        measured.evidence = weakest(heard.iter().map(|stretch| stretch.evidence));
        let missing = heard.iter().find_map(|stretch| stretch.missing.clone());
        let bounds = (span.low < span.high).then(|| BOUNDS.to_owned());
        measured.notes.extend(missing.or(bounds));
        measured.steps = heard.iter().map(AtEar::describe).chain(steps).collect();
        found.push(measured);
    }
    found
}

const BOUNDS: &str = "between bounds of the level at the ear";

fn doses(conduct: &Conduct<'_>, criterion: &Criterion) -> Vec<Measured> {
    each_place(conduct, |parts| {
        let (low, high) = dose(parts, criterion);
        let span = Span { low: low.value(), high: high.value() };
        let permitted = |part: &AtEar| {
            let level = SoundLevel::new(part.level.high);
            let time = match (level.value().is_finite(), criterion.counts(level)) {
                (true, true) => {
                    let minutes = format_number(criterion.permits(level).value() / 60.0, 1);
                    format!("{minutes} min permitted at {} dB(A)", format_number(level.value(), 1))
                }
                (true, false) => "under what is counted".to_owned(),
                (false, _) => "no time known".to_owned(),
            };
            format!("{}: {}, {time}", criterion.name, part.what)
        };
        let sum = match span.low == span.high {
            true => format!("dose: {} %", format_number(span.high * 100.0, 1)),
            false => format!(
                "dose: from {} % to {} %",
                format_number(span.low * 100.0, 1),
                format_number(span.high * 100.0, 1)
            ),
        };
        Some((span, parts.iter().map(permitted).chain([sum]).collect()))
    })
}

/// What rules on these say in `listen`.
pub(super) static KEYS: &[ListenKeys] = &[(&OSHA_DOSE, &[], &[]), (&NIOSH_DOSE, &[], &[]), (&GREATEST, &[], &[])];

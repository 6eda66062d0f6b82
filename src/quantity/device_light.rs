//! The light of one emitter in directions of its own: effective intensity, energy of a flash, optical power, and the
//! intensity while lit, with the aim that serves a table best.
//!
//! A value is the least over the directions that the rule names. A direction without data may hold anything, so there
//! is then no lower bound; the least of the known ones is an upper bound.

use super::device::{Angle, DeviceTerms, Shining, each_emitter_of, of_devices};
use super::{Ask, DeviceKey, Measured, Quantity, Uncertainty, Value};
use crate::flash::{EffectiveMethod, Train, VISUAL_TIME};
use crate::geometry::{Pose, direction};
use crate::measure::{Conduct, OnBench, Protocol};
use crate::units::{Candela, Degrees, Dimension, Length, format_number};
use glam::DVec3;

const BY_HAND: &str = "a laboratory measures the lamp on a goniometer, running the pattern; on the vehicle only identity, pattern and dimming can be checked";

/// What a rule has to say in `device` for each quantity here, and what it may say.
pub(super) static KEYS: &[(&Quantity, &[DeviceKey], &[DeviceKey])] = &[
    (&EFFECTIVE_INTENSITY, &[DeviceKey::Effective, DeviceKey::Angles], &[]),
    (&GREATEST_EFFECTIVE_INTENSITY, &[DeviceKey::Effective, DeviceKey::Angles], &[]),
    (&FLASH_ENERGY, &[DeviceKey::Angles], &[]),
    (&OPTICAL_POWER, &[DeviceKey::Angles], &[]),
    (&LIT_INTENSITY, &[DeviceKey::Angles], &[DeviceKey::Reaim]),
    (&LIT_INTENSITY_RATIO, &[DeviceKey::Table], &[DeviceKey::Reaim]),
];

/// The weakest direction by a named method.
pub(super) static EFFECTIVE_INTENSITY: Quantity = of_devices(
    "effective-intensity",
    "effective intensity of the weakest flash of one emitter, by the method that the rule names; least over the rule's directions of the lamp, dimming included, glass before the lamp not",
    Dimension::Intensity,
    BY_HAND,
    |conduct, protocol, ask| effective(conduct, protocol, ask, Extreme::Least),
);

/// The strongest direction by a named method, for limits from above.
pub(super) static GREATEST_EFFECTIVE_INTENSITY: Quantity = of_devices(
    "greatest-effective-intensity",
    "effective intensity of the strongest flash of one emitter, by the method that the rule names; greatest over the rule's directions of the lamp, dimming included, glass before the lamp not",
    Dimension::Intensity,
    BY_HAND,
    |conduct, protocol, ask| effective(conduct, protocol, ask, Extreme::Greatest),
);

/// Candela-seconds in one flash.
pub(super) static FLASH_ENERGY: Quantity = of_devices(
    "flash-energy",
    "light of the weakest flash of one emitter (intensity over time, all its pulses); least over the rule's directions of the lamp, dimming included, glass before the lamp not",
    Dimension::FlashEnergy,
    BY_HAND,
    |conduct, protocol, ask| {
        each_flashing(conduct, protocol, ask, Extreme::Least, |train| {
            let terms = &protocol.flash;
            let flashes = train.flashes(terms.dark_at_least, terms.lit_above);
            let energies = flashes.iter().map(|flash| flash.light.energy().value());
            Some((energies.collect(), "cd.s a flash for each candela".to_owned()))
        })
    },
);

/// Candela-seconds a minute.
pub(super) static OPTICAL_POWER: Quantity = of_devices(
    "device-optical-power",
    "optical power of one emitter that flashes (60 times the mean intensity); least over the rule's directions of the lamp, dimming included, glass before the lamp not",
    Dimension::OpticalPower,
    BY_HAND,
    |conduct, protocol, ask| {
        each_flashing(conduct, protocol, ask, Extreme::Least, |train| {
            #[allow(clippy::cast_precision_loss)] // Below 2^53 by the limit on a period.
            let minutes = train.period().get() as f64 / 60e6;
            Some((vec![train.energy().value() / minutes], "cd.s/min for each candela".to_owned()))
        })
    },
);

/// Candela while lit.
pub(super) static LIT_INTENSITY: Quantity = of_devices(
    "lit-intensity",
    "intensity of one emitter while it is lit, flashing or not; least over the rule's directions of the lamp, at the best aim within the rule's `reaim`, dimming included, glass before the lamp not",
    Dimension::Intensity,
    BY_HAND,
    |conduct, _, ask| {
        let Some(terms) = ask.device.terms else { return Vec::new() };
        let points: Vec<(Angle, f64)> = terms.angles.iter().map(|at| (*at, 1.0)).collect();
        each_emitter_of(conduct, ask, |one| Some(aimed(conduct, ask, one, terms, &points, "cd")))
    },
);

/// Candela while lit as a share of what a table asks for.
pub(super) static LIT_INTENSITY_RATIO: Quantity = of_devices(
    "lit-intensity-ratio",
    "intensity of one emitter while it is lit, as a share of what the rule's table asks for in that direction; least over the table, at the best aim within the rule's `reaim`, dimming included, glass before the lamp not",
    Dimension::Share,
    BY_HAND,
    |conduct, _, ask| {
        let Some(terms) = ask.device.terms else { return Vec::new() };
        each_emitter_of(conduct, ask, |one| {
            let asked = |(colour, _): &&(String, Candela)| *colour == one.emitter.colour;
            let points: Vec<(Angle, f64)> = terms
                .table
                .iter()
                .filter_map(|point| Some((point.at, point.least.iter().find(asked)?.1.value())))
                .filter(|(_, least)| *least > 0.0)
                .collect();
            if points.is_empty() {
                let why = format!("the rule's table asks nothing of {}", one.emitter.colour);
                return Some(Measured::new(Value::Unknown(why)));
            }
            Some(aimed(conduct, ask, one, terms, &points, "of what is asked"))
        })
    },
);

/// Which direction, and which flash, stands for all.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Extreme {
    Least,
    Greatest,
}

fn effective(conduct: &Conduct<'_>, protocol: &Protocol, ask: &Ask<'_>, extreme: Extreme) -> Vec<Measured> {
    let method: Option<EffectiveMethod> = ask.device.terms.and_then(|terms| terms.effective);
    let terms = &protocol.flash;
    each_flashing(conduct, protocol, ask, extreme, |train| {
        let method = method?;
        let each = train.effective(method, VISUAL_TIME, terms.dark_at_least, terms.lit_above);
        let each = each.into_iter().map(Candela::value).collect();
        Some((each, format!("cd effective for each candela by {}", method.word())))
    })
}

/// What each emitter that flashes comes to. All these quantities are in proportion to the intensity, so `per_candela`
/// finds them for a light of 1 cd, flash by flash, and says what they are.
fn each_flashing(
    conduct: &Conduct<'_>,
    protocol: &Protocol,
    ask: &Ask<'_>,
    extreme: Extreme,
    per_candela: impl Fn(&Train) -> Option<(Vec<f64>, String)>,
) -> Vec<Measured> {
    let Some(terms) = ask.device.terms else { return Vec::new() };
    each_emitter_of(conduct, ask, |one| {
        // Steady light has no flashes, and other rules speak of it.
        one.shown.show.pattern?;
        let train = Train::new(&one.shown.timeline(conduct.package), Candela::new(one.shown.level.value()));
        let flash = &protocol.flash;
        if train.flashes(flash.dark_at_least, flash.lit_above).is_empty() {
            return Some(Measured::new(Value::Absent(does_not_flash(flash.dark_at_least))));
        }
        let (each, what) = per_candela(&train)?;
        let pick = if extreme == Extreme::Least { f64::min } else { f64::max };
        let factor = each.into_iter().reduce(pick)?;
        let bench = OnBench::new(conduct.package, one.head, one.model, one.emitter, one.shown);
        let points: Vec<(Angle, f64)> = terms.angles.iter().map(|at| (*at, 1.0)).collect();
        let seen = Seen::at(&bench, &points, None);
        let mut found = measured(ask, one, &bench, seen, factor, extreme);
        let level = format_number(one.shown.level.value() * 100.0, 2);
        found.steps.push(format!("{} {what}, at {level} % of full light", format_number(factor, 6)));
        Some(found)
    })
}

/// Why a pattern has no flash.
pub(super) fn does_not_flash(dark_at_least: crate::units::Micros) -> String {
    format!("its pattern is never dark for {dark_at_least}, so it does not flash")
}

/// What is known of a set of directions, each over what is asked there.
#[derive(Clone, Debug)]
struct Seen {
    least: Option<(f64, Angle)>,
    greatest: Option<(f64, Angle)>,
    /// How many directions there are, how many without data, and the first of these.
    all: usize,
    without: usize,
    first_without: Option<Angle>,
}

impl Seen {
    /// Looks at the lamp turned by `aim`: to the right and up.
    fn at(bench: &OnBench<'_>, points: &[(Angle, f64)], aim: Option<Angle>) -> Self {
        let mut seen = Self { least: None, greatest: None, all: points.len(), without: 0, first_without: None };
        let pose = aim.map(|aim| Pose::new(DVec3::ZERO, aim.h, aim.v, Degrees::ZERO));
        for (at, asked) in points {
            let towards = direction(at.h, at.v);
            let lamp = pose.as_ref().map_or(towards, |pose| pose.to_lamp(towards));
            match bench.intensity(lamp) {
                Some(intensity) => {
                    let value = intensity.value() / asked;
                    if seen.least.is_none_or(|(known, _)| value < known) {
                        seen.least = Some((value, *at));
                    }
                    if seen.greatest.is_none_or(|(known, _)| value > known) {
                        seen.greatest = Some((value, *at));
                    }
                }
                None => {
                    seen.without += 1;
                    seen.first_without.get_or_insert(*at);
                }
            }
        }
        seen
    }

    /// What it is sure to reach everywhere.
    fn sure(&self) -> f64 {
        if self.without > 0 { 0.0 } else { self.least.map_or(0.0, |(least, _)| least) }
    }

    /// What it can reach at most, whatever is not known.
    fn hoped(&self) -> f64 {
        self.least.map_or(f64::INFINITY, |(least, _)| least)
    }
}

/// The value of an emitter from what is seen of it.
fn measured(
    ask: &Ask<'_>,
    one: &Shining<'_, '_>,
    bench: &OnBench<'_>,
    seen: Seen,
    factor: f64,
    extreme: Extreme,
) -> Measured {
    let (low, high, place) = match extreme {
        Extreme::Least => (seen.sure() * factor, seen.hoped() * factor, seen.least),
        Extreme::Greatest => {
            let known = seen.greatest.map_or(0.0, |(greatest, _)| greatest) * factor;
            (known, if seen.without > 0 { f64::INFINITY } else { known }, seen.greatest)
        }
    };
    let mut found = Measured::new(Value::Number { low, high, occurs: false });
    found.evidence = Some(one.emitter.evidence.grade);
    if let Some(at) = seen.first_without {
        let first = in_words(at);
        found.notes.push(format!("no data for {} of the {} directions, the first at {first}", seen.without, seen.all));
    }
    if let Some((value, at)) = place {
        let end = if extreme == Extreme::Least { "least" } else { "greatest" };
        found.notes.push(format!("{end} at {}", in_words(at)));
        found.steps.push(format!("{end} of {} directions: {} at {}", seen.all, format_number(value, 2), in_words(at)));
    }
    if bench.is_worked_out() {
        found.steps.push("its intensity is worked out from optical power and the pulses of the pattern".to_owned());
    }
    if let Some(light) = one.emitter.light.as_ref().and_then(|light| light.at) {
        found.steps.push(format!("figures at {} V, used as they are", light.value()));
    }
    if ask.with_uncertainty {
        let share = one.emitter.light.as_ref().and_then(|light| light.uncertainty);
        let end = if high.is_finite() { high } else { low };
        found.uncertainty = share.map_or(Uncertainty::Missing, |share| Uncertainty::Known(share.value() * end));
    }
    found
}

fn in_words(at: Angle) -> String {
    let number = |angle: Degrees| format_number(angle.value(), 2);
    format!("H {} V {} deg of the lamp", number(at.h), number(at.v))
}

/// Aims tried to either side of a middle one: 21 by 21, and as many again a tenth as far apart round the best of these,
/// and once more. What is found is an aim that can be set; a better one, were it missed, would differ by next to nothing
/// where the beam is even.
const AIMS: i32 = 10;

/// The intensity while lit over what is asked, at the one aim that serves all directions best.
fn aimed(
    conduct: &Conduct<'_>,
    ask: &Ask<'_>,
    one: &Shining<'_, '_>,
    terms: &DeviceTerms,
    points: &[(Angle, f64)],
    what: &str,
) -> Measured {
    let bench = OnBench::new(conduct.package, one.head, one.model, one.emitter, one.shown);
    let straight = Angle { h: Degrees::ZERO, v: Degrees::ZERO };
    let mut best = (straight, Seen::at(&bench, points, None));
    // Of aims that are sure of as much, the one that has known directions to hope for.
    let worth = |seen: &Seen| (seen.sure(), if seen.without > 0 { 0.0 } else { seen.hoped() });
    if let Some(reach) = terms.reaim {
        let mut middle = straight;
        let mut step = (reach.h.value() / f64::from(AIMS), reach.v.value() / f64::from(AIMS));
        for _ in 0..3 {
            for (h, v) in (-AIMS..=AIMS).flat_map(|h| (-AIMS..=AIMS).map(move |v| (f64::from(h), f64::from(v)))) {
                let within = |at: f64, reach: Degrees| Degrees::new(at.clamp(-reach.value(), reach.value()));
                let aim = Angle {
                    h: within(middle.h.value() + h * step.0, reach.h),
                    v: within(middle.v.value() + v * step.1, reach.v),
                };
                let seen = Seen::at(&bench, points, Some(aim));
                if worth(&seen) > worth(&best.1) {
                    best = (aim, seen);
                }
            }
            middle = best.0;
            step = (step.0 / f64::from(AIMS), step.1 / f64::from(AIMS));
        }
    }
    let (aim, seen) = best;
    let level = one.shown.level.value() * one.shown.timeline(conduct.package).peak().value();
    let mut found = measured(ask, one, &bench, seen, level, Extreme::Least);
    // Another aim may serve better where not all directions are known.
    if let (Value::Number { low, high, .. }, true) = (&found.value, terms.reaim.is_some()) {
        let high = if low < high { f64::INFINITY } else { *high };
        found.value = Value::Number { low: *low, high, occurs: false };
    }
    if terms.reaim.is_some() {
        let number = |angle: Degrees| format_number(angle.value(), 2);
        found.notes.push(format!("aimed {} deg to the right and {} deg up", number(aim.h), number(aim.v)));
    }
    found.steps.push(format!("{} % of full light while lit; figures in {what}", format_number(level * 100.0, 2)));
    found
}

/// For quantities of light at a distance.
pub(super) fn illuminance(intensity: Candela, distance: Length) -> crate::units::Lux {
    crate::units::Lux::new(intensity.value() / (distance.value() * distance.value()))
}

//! What is asked of single devices, against what each of a catalogue could reach at most: lamps by the directions that a
//! clause names, sounders by their sheets.

use super::feasible::{Candidate, Feasible, Look, best_of, least_rate, most_lit, name_of, refuse, ruleset_of};
use super::{Clause, Row};
use crate::measure::{Bare, bare};
use crate::quantity::DeviceKind;
use crate::units::{Candela, Degrees, SoundLevel, Unit};

/// What is asked of each lamp by itself. False where nothing was looked at.
pub(super) fn single_lamp(look: &mut Look<'_>, clause: &Clause, row: &Row, limit: (f64, Unit)) -> bool {
    let Some(terms) = &clause.device else { return false };
    let lit = most_lit(look.bid, clause, &row.purpose);
    let rate = least_rate(look.bid, clause, &row.purpose);
    let weakest = |bare: &Bare<'_>, of: &dyn Fn(Degrees, Degrees) -> Option<f64>| match terms.reaim {
        // However it is turned, nowhere is it stronger than where it is strongest.
        Some(_) => bare.peak().map(Candela::value),
        None => {
            terms.angles.iter().map(|at| of(at.h, at.v)).collect::<Option<Vec<f64>>>()?.into_iter().reduce(f64::min)
        }
    };
    let reach = |bare: &Bare<'_>| -> Option<f64> {
        let intensity = |h: Degrees, v: Degrees| bare.intensity(h, v).map(Candela::value);
        match clause.quantity? {
            // An effective intensity is never more than the intensity.
            "lit-intensity" | "effective-intensity" => weakest(bare, &intensity),
            "device-optical-power" => weakest(bare, &|h, v| Some(bare.power(h, v, lit)?.value())),
            "flash-energy" => Some(weakest(bare, &intensity)? * 60.0 / rate? * lit.value()),
            "lit-intensity-ratio" => {
                let asked = terms.table.iter().filter_map(|point| {
                    let least = point.least.iter().find(|(colour, _)| *colour == bare.emitter.colour)?.1.value();
                    Some((point.at, least)).filter(|(_, least)| *least > 0.0)
                });
                let peak = bare.peak().map(Candela::value);
                let share = asked.map(|(at, least)| {
                    let given = if terms.reaim.is_some() { peak } else { intensity(at.h, at.v) };
                    Some(given? / least)
                });
                share.collect::<Option<Vec<f64>>>()?.into_iter().reduce(f64::min)
            }
            _ => None,
        }
    };
    const LOOKED_AT: [&str; 5] =
        ["lit-intensity", "effective-intensity", "device-optical-power", "flash-energy", "lit-intensity-ratio"];
    if !clause.quantity.is_some_and(|name| LOOKED_AT.contains(&name)) || look.devices.models.is_empty() {
        return false;
    }
    let of_table = |bare: &Bare<'_>| {
        let asked = |colour: &str| terms.table.iter().any(|point| point.least.iter().any(|(known, _)| known == colour));
        terms.table.is_empty() || asked(&bare.emitter.colour)
    };
    let fits = |bare: &Bare<'_>| {
        let kind = match terms.of {
            DeviceKind::Any => true,
            DeviceKind::AllRound => bare.model.all_round,
            DeviceKind::Directional => !bare.model.all_round,
        };
        let class = row.class.as_ref().is_none_or(|class| bare.model.class(ruleset_of(clause)) == Some(class));
        kind && class && of_table(bare) && row.colour.as_ref().is_none_or(|colour| bare.emitter.colour == *colour)
    };
    let candidates: Vec<Candidate<'_>> = bare(look.devices.models)
        .filter(fits)
        .map(|bare| (name_of(&bare), reach(&bare), bare.emitter.colour.as_str()))
        .collect();
    judge(clause, row, limit, &candidates, &mut look.found)
}

/// Levels of single sounders, from their sheets. False where nothing was looked at.
pub(super) fn sound_level(look: &mut Look<'_>, clause: &Clause, row: &Row, limit: (f64, Unit)) -> bool {
    let Some(terms) = &clause.listen else { return false };
    let Some(distance) = terms.distance.filter(|_| !look.devices.sounders.is_empty()) else { return false };
    let on_axis = [Degrees::ZERO];
    let angles: &[Degrees] = if terms.angles.is_empty() { &on_axis } else { &terms.angles };
    let lift = terms.low.map_or(0.0, |(_, by)| by.value());
    let mut candidates: Vec<Candidate<'_>> = Vec::new();
    for model in look.devices.sounders.iter().filter(|model| terms.of.is_empty() || terms.of.contains(&model.kind)) {
        if row.class.as_ref().is_some_and(|class| model.class(ruleset_of(clause)) != Some(class)) {
            continue;
        }
        for sheet in model.sheets.iter().filter(|sheet| terms.tones.is_empty() || terms.tones.contains(&sheet.tone)) {
            // Where the sheet says nothing, it is taken to be as loud as anywhere on it.
            let loudest = sheet.levels.iter().map(|(_, level)| level.value()).reduce(f64::max);
            let at = |angle: &Degrees| sheet.level_at(*angle).map(SoundLevel::value).or(loudest);
            let least = angles.iter().map(at).collect::<Option<Vec<f64>>>();
            let least = least.and_then(|levels| levels.into_iter().reduce(f64::min));
            let spread = |known: f64, from: f64| known - 20.0 * (distance.value() / from).log10() + lift;
            let level = least.zip(sheet.distance).map(|(least, from)| spread(least, from.value()));
            candidates.push((format!("{} ({})", model.id, sheet.tone), level, ""));
        }
    }
    judge(clause, row, limit, &candidates, &mut look.found)
}

/// Tells what the best of some candidates means for a limit. False where there was none to look at.
fn judge(clause: &Clause, row: &Row, limit: (f64, Unit), candidates: &[Candidate<'_>], found: &mut Feasible) -> bool {
    let here = || std::iter::once(clause.id.as_str()).chain(row.scope()).collect::<Vec<_>>().join("/");
    let best = best_of(candidates);
    match best {
        None if candidates.is_empty() => {
            found.unseen.push(format!("{}: no device of the catalogue is of this colour, kind or class", here()));
        }
        Some((_, value)) if value >= limit.0 => {}
        // A device whose papers say nothing may do it.
        _ if candidates.iter().any(|(_, value, _)| value.is_none()) => {
            let unknown: Vec<&str> =
                candidates.iter().filter(|(_, value, _)| value.is_none()).map(|(name, _, _)| name.as_str()).collect();
            found.unseen.push(format!("{}: not known of {}", here(), unknown.join(", ")));
        }
        best => refuse(clause, row, limit, best, found),
    }
    true
}

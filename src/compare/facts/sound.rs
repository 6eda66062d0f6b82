//! What sounds: sounders and their sheets, when they sound, what is assumed where one listens, and shifts.

use std::collections::BTreeSet;

use glam::DVec3;

use super::devices::driver;
use super::mounting::posed;
use super::{Facts, Kind, NOT_STATED, Thing, classes, evidence, figure, length, percent, yes};
use crate::package::{
    Declared, Exposure, Heard, Listening, Package, Sheet, SoundSide, Sounder, SounderModel, Sounding, Stretch,
};
use crate::sound::Air;
use crate::units::Length;

pub(super) fn side(side: &SoundSide, package: &Package) -> Vec<Thing> {
    let SoundSide { models, sounders, soundings, listening: assumed, exposures } = side;
    let used: BTreeSet<usize> = sounders.iter().map(|sounder| sounder.model).collect();
    let of_it = models.iter().enumerate().filter(|(at, _)| used.contains(at));
    let mut all: Vec<Thing> = of_it.map(|(_, one)| model(one)).collect();
    all.extend(sounders.iter().map(|one| sounder(one, side, package)));
    all.extend(soundings.iter().map(|one| sounding(one, side, package)));
    if !sounders.is_empty() || !exposures.is_empty() {
        all.push(listening(assumed));
    }
    all.extend(exposures.iter().map(|one| exposure(one, side, package)));
    all
}

fn model(model: &SounderModel) -> Thing {
    let SounderModel { id, kind, maker, driver: follows, classes: claimed, sheets, span: _ } = model;
    let mut facts = Facts::default();
    facts.say("kind", kind.word());
    facts.say_if("maker", maker.clone());
    facts.say_if("driver", follows.map(driver));
    facts.say("classes", classes(claimed));
    for sheet in sheets {
        of_sheet(sheet, &mut facts);
    }
    facts.of(Kind::SounderModel, id)
}

fn of_sheet(sheet: &Sheet, facts: &mut Facts) {
    let Sheet {
        tone,
        distance,
        levels,
        at,
        rate,
        lowest_part,
        frequency,
        spectrum,
        uncertainty,
        current,
        evidence: known,
        span: _,
    } = sheet;
    let mut say = |key: &str, text: Option<String>| facts.say_if(format!("{tone}: {key}"), text);
    say("distance", distance.map(length));
    let said = levels
        .iter()
        .map(|(angle, level)| format!("{} at {}", figure(level.value(), "dB(A)"), figure(angle.value(), "deg")));
    say("levels", (!levels.is_empty()).then(|| said.collect::<Vec<_>>().join(", ")));
    say("voltage", at.map(|volt| figure(volt.value(), "V")));
    say("rate", rate.map(|rate| figure(rate.value(), "a minute")));
    say("lowest part", lowest_part.map(|level| figure(level.value(), "dB")));
    say("frequency", frequency.map(|cycles| figure(cycles.value() / 60.0, "Hz")));
    say(
        "octaves",
        spectrum.map(|bands| bands.bands().iter().map(|band| figure(*band, "dB")).collect::<Vec<_>>().join(", ")),
    );
    say("uncertainty", uncertainty.map(|band| figure(band.value(), "dB")));
    say("current", current.map(|current| figure(current.value(), "A")));
    say("evidence", Some(evidence(known)));
}

fn place(at: DVec3, package: &Package) -> String {
    let behind = length(package.vehicle.length * 0.5 - Length::new(at.x));
    let (right, height) = (length(Length::new(-at.y)), length(Length::new(at.z)));
    format!("{behind} behind the front, {right} right, {height} high")
}

fn sounder(sounder: &Sounder, side: &SoundSide, package: &Package) -> Thing {
    let Sounder { id, model: _, pose, mount, circuit, amplifier, reversed, behind, screened, span: _ } = sounder;
    let mut facts = Facts::default();
    facts.say("model", side.model_of(sounder).map_or(NOT_STATED, |model| &model.id));
    let at = |mirrored| posed(pose, &package.vehicle, mirrored);
    facts.say_mirrored("stands", at(false), at(true));
    facts.say("mounted", mount.map_or(NOT_STATED, |mount| mount.word()));
    facts.say_if("circuit", circuit.as_ref().map(|circuit| circuit.text.clone()));
    facts.say_if("amplifier", amplifier.clone());
    facts.say_if("wires crossed", reversed.map(|crossed| yes(crossed).to_owned()));
    facts.say("what stands before it takes", figure(behind.value(), "dB"));
    facts.say_if("the body between takes", screened.map(|level| figure(level.value(), "dB")));
    facts.of(Kind::Sounder, id)
}

fn sounding(sounding: &Sounding, side: &SoundSide, package: &Package) -> Thing {
    let Sounding { id, when, rows, span: _ } = sounding;
    let mut facts = Facts::default();
    facts.say("when", super::when(when, package.space.inputs()));
    for (at, sheet) in rows {
        let Some(sounder) = side.sounders.get(*at) else { continue };
        let tone = side.model_of(sounder).and_then(|model| model.sheets.get(*sheet));
        facts.say(format!("tone of {}", sounder.id), tone.map_or(NOT_STATED, |sheet| &sheet.tone));
    }
    facts.of(Kind::Sounding, id)
}

fn listening(listening: &Listening) -> Thing {
    let Listening { air, reflection, ambient, closed_car, windows_shut } = listening;
    let mut facts = Facts::default();
    facts.say_if(
        "air",
        air.map(|Air { temperature, humidity, pressure }| {
            let (warm, wet) = (figure(temperature.value(), "degC"), percent(humidity));
            format!("{warm}, {wet}, {}", figure(pressure.value(), "kPa"))
        }),
    );
    facts.say_if("the ground adds", reflection.map(|level| figure(level.value(), "dB")));
    facts.say_if("ambient", ambient.map(|level| figure(level.value(), "dB(A)")));
    let declared = |one: &Option<Declared>| {
        one.as_ref().map(|Declared { takes, source }| {
            let source = source.as_ref().map(|source| format!(" ({source})")).unwrap_or_default();
            format!("{}{source}", figure(takes.value(), "dB"))
        })
    };
    facts.say_if("a closed car keeps out", declared(closed_car));
    facts.say_if("shut windows keep out", declared(windows_shut));
    facts.of(Kind::Listening, "")
}

fn exposure(exposure: &Exposure, side: &SoundSide, package: &Package) -> Thing {
    let Exposure { id, at, stretches, span: _ } = exposure;
    let mut facts = Facts::default();
    facts.say_if("the ear is at", at.map(|at| place(at, package)));
    for (number, Stretch { lasts, heard, evidence: known }) in stretches.iter().enumerate() {
        let heard = match *heard {
            Heard::Level(level) => figure(level.value(), "dB(A)"),
            Heard::Sounding { at, shut } => {
                let name = side.soundings.get(at).map_or(NOT_STATED, |sounding| &sounding.id);
                format!("{name}{}", if shut { ", windows shut" } else { "" })
            }
        };
        let lasts = figure(lasts.value() / 60.0, "min");
        facts.say(format!("part {}", number + 1), format!("{heard} for {lasts} ({})", evidence(known)));
    }
    facts.of(Kind::Exposure, id)
}

//! Models that heads use: the light, the colour and the current of each of their emitters, and how well they are known.

use std::collections::BTreeSet;

use super::{Facts, Kind, NOT_STATED, Thing, classes, evidence, figure, fingerprint, length, percent, yes};
use crate::electrical::Driver;
use crate::package::{Current, Emitter, Figures, Light, Model, Package, StatedColour};
use crate::units::format_number;

/// One thing a model that a head uses, in the order of the catalogues.
pub(super) fn models(package: &Package) -> impl Iterator<Item = Thing> {
    let used: BTreeSet<usize> = package.heads.iter().map(|head| head.model).collect();
    let of_it = package.models.iter().enumerate().filter(move |(at, _)| used.contains(at));
    of_it.map(|(_, one)| model(one))
}

fn model(model: &Model) -> Thing {
    let Model { id, maker, driver: follows, max_height, all_round, handed, classes: claimed, emitters, span: _ } =
        model;
    let mut facts = Facts::default();
    facts.say_if("maker", maker.clone());
    facts.say_if("driver", follows.map(driver));
    facts.say_if("greatest height", max_height.map(length));
    facts.say("shines all round", yes(*all_round));
    facts.say("handed", yes(*handed));
    facts.say("classes", classes(claimed));
    for one in emitters {
        emitter(one, &mut facts);
    }
    facts.of(Kind::Model, id)
}

fn emitter(emitter: &Emitter, facts: &mut Facts) {
    let Emitter { colour, stated, light: shines, current: draws, evidence: known, span: _ } = emitter;
    facts.say_if(format!("{colour}: chromaticity"), stated.as_ref().map(chromaticity));
    let light = shines.as_ref();
    facts.say(format!("{colour}: light"), light.map_or(NOT_STATED.to_owned(), figures));
    let (at, uncertainty) = light.map_or((None, None), |Light { figures: _, at, uncertainty }| (*at, *uncertainty));
    facts.say_if(format!("{colour}: voltage of the light"), at.map(|volt| figure(volt.value(), "V")));
    facts.say_if(format!("{colour}: uncertainty of the light"), uncertainty.map(percent));
    facts.say_if(format!("{colour}: current"), draws.as_ref().map(current));
    facts.say(format!("{colour}: evidence"), evidence(known));
}

fn chromaticity(stated: &StatedColour) -> String {
    let StatedColour { evidence, at, beyond, uncertainty } = stated;
    let mut said = evidence.describe();
    at.iter().for_each(|at| said.push_str(&format!(", x {} y {}", figure(at.x, ""), figure(at.y, ""))));
    beyond.iter().for_each(|beyond| said.push_str(&format!(", {} outside the locus", figure(beyond.value(), ""))));
    uncertainty.iter().for_each(|band| said.push_str(&format!(", within {}", figure(band.value(), ""))));
    said
}

fn figures(light: &Light) -> String {
    let (kind, peak, unit, print) = match &light.figures {
        Figures::Intensity(by_direction) => {
            let peak = by_direction.peak().map(|peak| peak.value());
            ("intensity".to_owned(), peak, "cd", fingerprint(by_direction))
        }
        Figures::OpticalPower { distribution, pattern } => {
            let peak = distribution.peak().map(|peak| peak.value());
            (format!("optical power in {pattern}"), peak, "cd.s/min", fingerprint(distribution))
        }
    };
    let peak = peak.map(|peak| format!(", greatest {} {unit}", format_number(peak, 3))).unwrap_or_default();
    format!("{kind}{peak} (figures {print})")
}

fn current(current: &Current) -> String {
    let Current { lit, standby, at } = current;
    let at = at.map(|volt| format!(" at {}", figure(volt.value(), "V"))).unwrap_or_default();
    format!("{} lit, {} between{at}", figure(lit.value(), "A"), figure(standby.value(), "A"))
}

pub(super) fn driver(driver: Driver) -> String {
    match driver {
        Driver::ConstantPower => "constant power".to_owned(),
        Driver::ConstantCurrent => "constant current".to_owned(),
        Driver::Resistive => "resistive".to_owned(),
        Driver::Exponent(n) => format!("exponent {}", figure(n, "")),
        Driver::Most | Driver::Least => NOT_STATED.to_owned(),
    }
}

//! The electrical side: batteries, what charges them, circuits with their fuses and wires, loads.

use super::devices::driver;
use super::{Facts, Kind, NOT_STATED, Thing, evidence, figure, length, percent, yes};
use crate::electrical::{Bank, Chemistry, Insulation, Strand, Wire};
use crate::logic::Inputs;
use crate::package::{
    Alternator, Battery, Cable, Circuit, Converter, Feed, Fuse, HotIdle, Inlet, Inverter, Load, Plug, Rating, Supply,
    Voltages,
};
use crate::units::{Ampere, Seconds, Volt};

fn ampere(current: Ampere) -> String {
    figure(current.value(), "A")
}

fn volt(volt: Volt) -> String {
    figure(volt.value(), "V")
}

pub(super) fn supply(supply: &Supply, inputs: &Inputs) -> Vec<Thing> {
    // The circuit of each head stands at the head.
    let Supply {
        system,
        voltages,
        batteries,
        alternators,
        converters,
        inverters,
        inlets,
        circuits,
        loads,
        idle,
        of_heads: _,
    } = supply;
    let Voltages { battery: standing, running, regulated } = voltages;
    let mut whole = Facts::default();
    whole.say("system", volt(*system));
    whole.say("voltage with the engine off", volt(*standing));
    whole.say("voltage with the engine running", volt(*running));
    whole.say("regulated voltage", volt(*regulated));
    whole.say("burns at idle as", idle.map_or(NOT_STATED, |idle| idle.vehicle));
    let mut all = vec![whole.of(Kind::Supply, "")];
    all.extend(batteries.iter().map(battery));
    all.extend(alternators.iter().map(|one| alternator(one, supply)));
    all.extend(converters.iter().map(|one| converter(one, supply, inputs)));
    all.extend(inverters.iter().map(|one| inverter(one, supply, inputs)));
    all.extend(inlets.iter().map(inlet));
    all.extend(circuits.iter().map(|one| circuit(one, supply)));
    all.extend(loads.iter().map(|one| load(one, supply, inputs)));
    all
}

fn battery(battery: &Battery) -> Thing {
    let Battery { id, count, bank, reserve, exponent, charging, charge_efficiency } = battery;
    let mut facts = Facts::default();
    facts.say("count", count.to_string());
    let minutes = |time: Seconds| figure(time.value() / 60.0, "min");
    facts.say_if(
        "bank",
        bank.map(|Bank { chemistry, capacity, rate, usable, exponent }| {
            let kind = match chemistry {
                Chemistry::Lead => "lead",
                Chemistry::Lithium => "lithium",
            };
            let (capacity, hours) = (figure(capacity.value(), "Ah"), figure(rate.value() / 3600.0, "h"));
            format!("{kind}, {capacity} over {hours}, {} usable, exponent {}", percent(usable), figure(exponent, ""))
        }),
    );
    facts.say_if("reserve capacity", reserve.map(minutes));
    facts.say_if("exponent", exponent.map(|exponent| figure(exponent, "")));
    facts.say("takes while it is charged", ampere(*charging));
    facts.say_if("charge efficiency", charge_efficiency.map(percent));
    facts.of(Kind::Battery, id)
}

fn named(names: impl Iterator<Item = Option<String>>) -> String {
    let names: Vec<String> = names.flatten().collect();
    if names.is_empty() { NOT_STATED.to_owned() } else { names.join(", ") }
}

fn battery_name(supply: &Supply, at: usize) -> Option<String> {
    supply.batteries.get(at).map(|battery| battery.id.clone())
}

fn circuit_name(supply: &Supply, at: usize) -> Option<String> {
    supply.circuits.get(at).map(|circuit| circuit.id.clone())
}

fn alternator(alternator: &Alternator, supply: &Supply) -> Thing {
    let Alternator { id, rated, hot_idle, charges } = alternator;
    let mut facts = Facts::default();
    facts.say_if("nameplate", rated.map(ampere));
    facts.say_if(
        "hot at idle",
        hot_idle.as_ref().map(|HotIdle { output, at, evidence: known }| {
            let at = at.map(|warm| format!(" at {}", figure(warm.value(), "degC"))).unwrap_or_default();
            format!("{}{at} ({})", ampere(*output), evidence(known))
        }),
    );
    facts.say("charges", named(charges.iter().map(|at| battery_name(supply, *at))));
    facts.of(Kind::Alternator, id)
}

fn feed(feed: Feed, supply: &Supply) -> String {
    let (kind, name) = match feed {
        Feed::Battery(at) => ("battery", battery_name(supply, at)),
        Feed::Converter(at) => ("converter", supply.converters.get(at).map(|one| one.id.clone())),
        Feed::Circuit(at) => ("circuit", circuit_name(supply, at)),
    };
    format!("{kind} {}", name.unwrap_or_default())
}

fn converter(converter: &Converter, supply: &Supply, inputs: &Inputs) -> Thing {
    let Converter { id, from, voltage, output, efficiency, idle, charges, when } = converter;
    let mut facts = Facts::default();
    facts.say("fed by", feed(*from, supply));
    facts.say("voltage", volt(*voltage));
    facts.say("output", ampere(*output));
    facts.say_if("efficiency", efficiency.map(percent));
    facts.say("draws without load", ampere(*idle));
    facts.say_if("charges", charges.and_then(|at| battery_name(supply, at)));
    facts.say("when", super::when(when, inputs));
    facts.of(Kind::Converter, id)
}

fn inverter(inverter: &Inverter, supply: &Supply, inputs: &Inputs) -> Thing {
    let Inverter { id, circuit, output, efficiency, idle, when } = inverter;
    let mut facts = Facts::default();
    facts.say_if("circuit", circuit_name(supply, *circuit));
    facts.say("output", figure(output.value(), "W"));
    facts.say_if("efficiency", efficiency.map(percent));
    facts.say("draws without load", ampere(*idle));
    facts.say("when", super::when(when, inputs));
    facts.of(Kind::Inverter, id)
}

fn inlet(inlet: &Inlet) -> Thing {
    let Inlet { id, rated, voltage } = inlet;
    let mut facts = Facts::default();
    facts.say("rating", ampere(*rated));
    facts.say("voltage", volt(*voltage));
    facts.of(Kind::Inlet, id)
}

fn circuit(circuit: &Circuit, supply: &Supply) -> Thing {
    let Circuit { id, from, fuse, cable } = circuit;
    let mut facts = Facts::default();
    facts.say("fed by", feed(*from, supply));
    facts.say_if(
        "fuse",
        fuse.map(|Fuse { kind, rating, ambient }| {
            let warm = ambient.map(|warm| format!(", {} around it", figure(warm.value(), "degC"))).unwrap_or_default();
            format!("{}, {}{warm}", kind.word(), ampere(rating))
        }),
    );
    let wire = cable.map(|cable| cable.wire);
    let of_wire = |say: fn(&Wire) -> String| wire.as_ref().map(say);
    facts.say_if("wire", of_wire(|wire| wire.size.to_string()));
    facts.say_if("length of the wire", of_wire(|wire| length(wire.length)));
    let more = |Wire { size: _, length: _, strand, temperature }: &Wire| {
        let strand = match strand {
            Strand::Solid => "solid",
            Strand::Stranded => "stranded",
        };
        format!("{strand}, {} in use", figure(temperature.value(), "degC"))
    };
    facts.say_if("kind of wire", wire.as_ref().map(more));
    let cable = cable.map(|Cable { wire: _, insulation: rated, engine_space, ampacity }| {
        (rated.map(insulation), yes(engine_space).to_owned(), ampacity.map(ampere))
    });
    let (rated, through, ampacity) = cable.unwrap_or((None, NOT_STATED.to_owned(), None));
    facts.say_if("insulation", rated.map(str::to_owned));
    facts.say("through an engine space", through);
    facts.say_if("ampacity that its maker states", ampacity);
    facts.of(Kind::Circuit, id)
}

fn insulation(insulation: Insulation) -> &'static str {
    match insulation {
        Insulation::C60 => "60 degC",
        Insulation::C75 => "75 degC",
        Insulation::C80 => "80 degC",
        Insulation::C90 => "90 degC",
        Insulation::C105 => "105 degC",
        Insulation::C125 => "125 degC",
        Insulation::C200 => "200 degC",
    }
}

fn load(load: &Load, supply: &Supply, inputs: &Inputs) -> Thing {
    let Load { id, at, rating, share, kind, when, evidence: known } = load;
    let mut facts = Facts::default();
    let place = match *at {
        Plug::Circuit(at) => ("circuit", circuit_name(supply, at)),
        Plug::Inverter(at) => ("inverter", supply.inverters.get(at).map(|one| one.id.clone())),
        Plug::Inlet(at) => ("inlet", supply.inlets.get(at).map(|one| one.id.clone())),
    };
    facts.say("on", format!("{} {}", place.0, place.1.unwrap_or_default()));
    facts.say(
        "draws",
        match *rating {
            Rating::Current(current, at, follows) => {
                let follows = follows.map(|follows| format!(", {}", driver(follows))).unwrap_or_default();
                format!("{} at {}{follows}", ampere(current), volt(at))
            }
            Rating::Power(power) => figure(power.value(), "W"),
        },
    );
    facts.say("share of the time", percent(*share));
    facts.say("kind", kind.word());
    facts.say("when", super::when(when, inputs));
    facts.say("evidence", evidence(known));
    facts.of(Kind::Load, id)
}

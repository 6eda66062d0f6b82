//! `[supply]` and the tables of the electrical side, each figure with its unit, every mistake of each.

use super::bind::{Doc, Names, bind_circuits, find};
use super::sounders::loads_of;
use super::{
    Alternator, Battery, Cable, Converter, Feed, Fuse, HotIdle, Inlet, Inverter, Load, LoadKind, Plug, Rating, Supply,
    Voltages,
};
use crate::diagnostic::{Diagnostic, Log};
use crate::electrical::{
    Bank, Chemistry, FuseKind, IDLE_RATES, IdleRate, Insulation, Size, Strand, Wire, exponent_of, reserve_of,
};
use crate::load::distinct::Distinct;
use crate::load::figure::Figure;
use crate::load::reader::{Node, Table};
use crate::logic::Condition;
use crate::package::catalogue::{evidence_or_estimate, read_driver};
use crate::package::inputs::Signals;
use crate::package::{Head, SoundSide};
use crate::units::{Ampere, AmpereHour, Celsius, Length, Seconds, Share, Volt, Watt};

/// Copper in use, where the package does not say how warm it is (practice).
const WARM_COPPER: Celsius = Celsius::new(75.0);

/// Reads the electrical side; none where the package has no `[supply]`.
pub(in crate::package) fn read_supply(
    top: &mut Table<'_>,
    heads: &[Head],
    sound: &SoundSide,
    signals: &Signals<'_>,
    log: &Log,
) -> Option<Supply> {
    let mut tables = |key| top.tables(key);
    let (batteries, alternators) = (tables("battery"), tables("alternator"));
    let (converters, inverters, inlets) = (tables("converter"), tables("inverter"), tables("shore"));
    let (circuits, loads) = (tables("circuit"), tables("load"));
    let Some(node) = top.get("supply") else {
        let all = [&batteries, &alternators, &converters, &inverters, &inlets, &circuits, &loads];
        if let Some(first) = all.into_iter().flatten().next() {
            let error = Diagnostic::error("missing-key", "what feeds the vehicle needs a table [supply]");
            log.push(error.at(&first.span(), "asked for by this").help("[supply] system = \"12 V\" (a line each)"));
        }
        return None;
    };
    let (system, voltages, idle) = read_voltages(node.table()?)?;
    // One name means one thing, so that `from` can say any of them.
    let mut ids = Distinct::new("parts of the electrical side", log);
    let batteries: Vec<Doc<Battery>> = docs(batteries, "battery", &mut ids, read_battery);
    let names = Names::of(&batteries, &converters, &circuits, &inverters, &inlets);
    let alternators = docs(alternators, "alternator", &mut ids, |table| read_alternator(table, &names));
    let converters = docs(converters, "converter", &mut ids, |table| read_converter(table, &names, signals));
    let circuits = docs(circuits, "circuit", &mut ids, |table| read_circuit(table, &names));
    let inverters = docs(inverters, "inverter", &mut ids, |table| read_inverter(table, &names, signals));
    let inlets = docs(inlets, "shore", &mut ids, read_inlet);
    // Nothing refers to a load, so it may be called as its circuit is.
    let mut of_loads = Distinct::new("loads", log);
    let loads = docs(loads, "load", &mut of_loads, |table| read_load(table, &names, signals));
    let sounders = loads_of(sound, &names.circuits, log);
    if log.has_errors() {
        return None;
    }
    let mut supply = Supply {
        system,
        voltages,
        batteries: batteries.into_iter().filter_map(|doc| doc.kept).collect(),
        alternators: alternators.into_iter().filter_map(|doc| doc.kept).collect(),
        converters: converters.into_iter().filter_map(|doc| doc.kept).collect(),
        inverters: inverters.into_iter().filter_map(|doc| doc.kept).collect(),
        inlets: inlets.into_iter().filter_map(|doc| doc.kept).collect(),
        circuits: circuits.into_iter().filter_map(|doc| doc.kept).collect(),
        loads: loads.into_iter().filter_map(|doc| doc.kept).chain(sounders).collect(),
        idle,
        of_heads: Vec::new(),
    };
    bind_circuits(&mut supply, heads, &names, log)?;
    Some(supply)
}

/// Reads each table of a kind; one whose id is taken is left out, with its error.
fn docs<'d, T>(
    tables: Vec<Table<'d>>,
    kind: &str,
    ids: &mut Distinct<'_>,
    mut read: impl FnMut(Table<'d>) -> Option<T>,
) -> Vec<Doc<T>> {
    let mut found = Vec::new();
    for mut table in tables {
        let id = table.require("id").and_then(|node| node.id());
        if let Some(id) = &id {
            table = table.named(format!("{kind} `{}`", id.text));
        }
        let kept = read(table);
        if let Some(id) = id.filter(|id| ids.keeps(id)) {
            found.push(Doc { id, kept });
        }
    }
    found
}

fn name(table: &mut Table<'_>) -> Option<String> {
    table.get("id").filter(Node::is_text).and_then(|node| node.text()).map(|text| text.text)
}

fn read_voltages(mut table: Table<'_>) -> Option<(Volt, Voltages, Option<&'static IdleRate>)> {
    let (log, span) = (table.log(), table.span());
    let systems = [("12 V", Volt::new(12.0)), ("24 V", Volt::new(24.0))];
    let system = table.require("system").and_then(|node| node.word(&systems));
    let stated = table.get("voltages").and_then(|node| node.table()).map(|mut table| {
        let mut volts = |key| table.require(key).and_then(|node| node.positive::<Volt>());
        let voltages = (volts("battery"), volts("running"), volts("regulated"));
        table.finish();
        voltages
    });
    let rates: Vec<(&str, &'static IdleRate)> = IDLE_RATES.iter().map(|rate| (rate.vehicle, rate)).collect();
    let idle = table.get("idles-as").and_then(|node| node.word(&rates));
    table.finish();
    let system = system?;
    let (battery, running, regulated) = match stated {
        Some((battery, running, regulated)) => {
            let all = [battery?, running?, regulated?];
            let [battery, running, regulated] = all;
            // Practice: further out no vehicle's battery or regulator works.
            let fits = |volts: &Volt| (0.75..=1.4).contains(&(volts.value() / system.value()));
            if !all.iter().all(fits) || battery > running || running > regulated {
                let message = format!("these are no voltages of a {} V system", system.value());
                let error = Diagnostic::error("bad-voltages", message).at(&span, "");
                log.push(error.help("battery, running, regulated, each no lower than the one before: \"12.0 V\", \"13.8 V\", \"14.2 V\" at 12 V, twice that at 24 V"));
                return None;
            }
            (battery, running, regulated)
        }
        // Practice: a rested battery, a running engine, the regulator's voltage; twice that at 24 V.
        None => {
            let volts = |at_twelve: f64| Volt::new(at_twelve * system.value() / 12.0);
            (volts(12.0), volts(13.8), volts(14.2))
        }
    };
    Some((system, Voltages { battery, running, regulated }, idle))
}

fn read_battery(mut table: Table<'_>) -> Option<Battery> {
    let (log, here) = (table.log(), table.span());
    let id = name(&mut table);
    let kinds = [("lead", Chemistry::Lead), ("lithium", Chemistry::Lithium)];
    let chemistry = table.require("chemistry").and_then(|node| node.word(&kinds));
    let capacity = table.get("capacity").map(|node| (node.span(), node.positive::<AmpereHour>()));
    let rate = table.get("at-rate").and_then(|node| node.positive::<Seconds>());
    let reserve = table.get("reserve").and_then(|node| node.positive::<Seconds>());
    let count = table.get("count").map_or(Some(1.0), |node| node.number().filter(|count| is_count(*count, &node)));
    let usable = table.get("usable").and_then(|node| node.within(Share::new(0.01), Share::new(1.0), "1 % to 100 %"));
    let stated = table.get("exponent").and_then(|node| {
        let exponent = node.number()?;
        if !(1.0..=2.0).contains(&exponent) {
            node.error("out-of-range", "Peukert's exponent lies from 1 to 2", "leave it out if it is not known");
            return None;
        }
        Some(exponent)
    });
    let charging = table.get("charging").and_then(|node| drawn(&node, Ampere::ZERO)).unwrap_or(Ampere::ZERO);
    let charge_efficiency =
        table.get("charge-efficiency").and_then(|node| node.within(Share::new(0.3), Share::new(1.0), "30 % to 100 %"));
    table.finish();
    let (chemistry, count) = (chemistry?, count?);
    if let (Some((span, Some(_))), None, Chemistry::Lead) = (&capacity, rate, chemistry) {
        let error = Diagnostic::error("no-rate", "a lead battery's capacity says nothing without its discharge time");
        log.push(error.at(span, "").help("for example at-rate = \"20 h\""));
        return None;
    }
    let capacity = capacity.and_then(|(_, capacity)| capacity);
    let from_two = match (capacity, rate, reserve) {
        (Some(capacity), Some(rate), Some(reserve)) => Some(exponent_of(capacity, rate, reserve)),
        _ => None,
    };
    // What a lithium battery gives at the 25 A of a reserve capacity is its capacity.
    let reserve = reserve.or(match (chemistry, capacity) {
        (Chemistry::Lithium, Some(capacity)) => Some(reserve_of(capacity)),
        _ => None,
    });
    // A charge that hardly depends on the current: 1, and no rate is needed.
    let exponent = stated.or(from_two.filter(|k| (1.0..=2.0).contains(k))).or(match chemistry {
        Chemistry::Lithium => Some(1.0),
        Chemistry::Lead => None,
    });
    if let (Some(exponent), None, Some(_)) = (stated.filter(|exponent| *exponent != 1.0), rate, capacity) {
        let message = format!("an exponent of {exponent} says nothing without the discharge time of the capacity");
        log.push(Diagnostic::error("no-rate", message).at(&here, "").help("for example at-rate = \"5 h\""));
        return None;
    }
    // With an exponent of 1 the rate does not matter.
    let rate = rate.unwrap_or(Seconds::new(5.0 * 3600.0));
    let bank = capacity.zip(exponent).zip(usable).map(|((capacity, exponent), usable)| Bank {
        chemistry,
        capacity: capacity * count,
        rate,
        usable,
        exponent,
    });
    // Whole and small, by the test above.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let count = count as u32;
    Some(Battery { id: id?, count, bank, reserve, exponent, charging, charge_efficiency })
}

fn is_count(count: f64, node: &Node<'_>) -> bool {
    let fits = count.fract() == 0.0 && (1.0..=100.0).contains(&count);
    if !fits {
        node.error("out-of-range", "a number of batteries is whole, from 1 to 100", "count them");
    }
    fits
}

fn read_alternator(mut table: Table<'_>, names: &Names) -> Option<Alternator> {
    let id = name(&mut table);
    let rated = table.get("rated").and_then(|node| node.positive::<Ampere>());
    let hot_idle = table.get("hot-idle").map(|node| {
        let mut table = node.table()?;
        let output = table.require("output").and_then(|node| node.positive::<Ampere>());
        let at = table.get("at").and_then(|node| node.quantity::<Celsius>());
        let evidence = evidence_or_estimate(&mut table);
        table.finish();
        Some(HotIdle { output: output?, at, evidence })
    });
    let charges = table.require("charges").map(|node| node.texts()).unwrap_or_default();
    let found = charges.iter().map(|name| find(name, &names.batteries, "battery", table.log()));
    let charges = found.collect::<Option<Vec<usize>>>();
    table.finish();
    Some(Alternator { id: id?, rated, hot_idle: hot_idle.flatten(), charges: charges? })
}

fn read_converter(mut table: Table<'_>, names: &Names, signals: &Signals<'_>) -> Option<Converter> {
    let id = name(&mut table);
    let from = table.require("from").and_then(|node| Some((node.span(), node.text()?)));
    let from = from.and_then(|(span, text)| match names.feed(&text, table.log())? {
        Feed::Converter(_) => {
            let error = Diagnostic::error("fed-by-a-converter", "a converter hangs on a battery or on a circuit");
            table.log().push(error.at(&span, "this is a converter").help("name the circuit between the two"));
            None
        }
        feed => Some(feed),
    });
    let voltage = table.require("voltage").and_then(|node| node.positive::<Volt>());
    let output = table.require("output").and_then(|node| node.positive::<Ampere>());
    let (efficiency, idle) = read_losses(&mut table);
    let charges = table.get("charges").and_then(|node| node.text());
    let battery = charges.as_ref().map(|name| find(name, &names.batteries, "battery", table.log()));
    let when = read_when(&mut table, signals);
    table.finish();
    let (from, voltage, output, when) = (from?, voltage?, output?, when?);
    Some(Converter { id: id?, from, voltage, output, efficiency, idle, charges: battery.flatten(), when })
}

/// A figure of what is drawn: below zero it would feed the others.
fn drawn<Q: Figure>(node: &Node<'_>, none: Q) -> Option<Q> {
    let figure = node.quantity::<Q>()?;
    if figure < none {
        node.error("below-zero", "nothing draws less than nothing", "write the figure without a minus");
        return None;
    }
    Some(figure)
}

fn read_losses(table: &mut Table<'_>) -> (Option<Share>, Ampere) {
    let efficiency =
        table.get("efficiency").and_then(|node| node.within(Share::new(0.05), Share::new(1.0), "5 % to 100 %"));
    (efficiency, table.get("idle").and_then(|node| drawn(&node, Ampere::ZERO)).unwrap_or(Ampere::ZERO))
}

fn read_when(table: &mut Table<'_>, signals: &Signals<'_>) -> Option<Condition> {
    table.get("when").map_or(Some(Condition::Always), |node| signals.standing(&node))
}

fn read_inverter(mut table: Table<'_>, names: &Names, signals: &Signals<'_>) -> Option<Inverter> {
    let id = name(&mut table);
    let circuit = table.require("circuit").and_then(|node| node.text());
    let circuit = circuit.and_then(|name| find(&name, &names.circuits, "circuit", table.log()));
    let output = table.require("output").and_then(|node| node.positive::<Watt>());
    let (efficiency, idle) = read_losses(&mut table);
    let when = read_when(&mut table, signals);
    table.finish();
    Some(Inverter { id: id?, circuit: circuit?, output: output?, efficiency, idle, when: when? })
}

fn read_inlet(mut table: Table<'_>) -> Option<Inlet> {
    let id = name(&mut table);
    let rated = table.require("rated").and_then(|node| node.positive::<Ampere>());
    let voltage = table.require("voltage").and_then(|node| node.positive::<Volt>());
    table.finish();
    Some(Inlet { id: id?, rated: rated?, voltage: voltage? })
}

fn read_circuit(mut table: Table<'_>, names: &Names) -> Option<super::Circuit> {
    let id = name(&mut table);
    let from = table.require("from").and_then(|node| node.text()).and_then(|text| names.feed(&text, table.log()));
    let fuse = table.get("fuse").map(|node| read_fuse(node.table()?));
    let cable = table.get("wire").map(|node| read_cable(node.table()?));
    table.finish();
    Some(super::Circuit { id: id?, from: from?, fuse: fuse.flatten(), cable: cable.flatten() })
}

fn read_fuse(mut table: Table<'_>) -> Option<Fuse> {
    let kind = table.require("kind").and_then(|node| node.word(&FuseKind::WORDS));
    let rating = table.require("rating").and_then(|node| node.positive::<Ampere>());
    let ambient = table.get("ambient").and_then(|node| node.quantity::<Celsius>());
    table.finish();
    Some(Fuse { kind: kind?, rating: rating?, ambient })
}

fn read_cable(mut table: Table<'_>) -> Option<Cable> {
    let size = table.require("size").and_then(|node| {
        let text = node.text()?;
        let size = Size::parse(&text.text);
        if size.is_none() {
            let message = format!("`{}` is no size of wire that is read here", text.text);
            node.error("bad-wire", message, "for example \"14 AWG\", \"2/0 AWG\", \"14 SAE\" or \"2.5 mm2\"");
        }
        size
    });
    let length = table.require("length").and_then(|node| node.positive::<Length>());
    let strand = table
        .get("strand")
        .map_or(Some(Strand::Stranded), |node| node.word(&[("solid", Strand::Solid), ("stranded", Strand::Stranded)]));
    let insulation = table.get("insulation").and_then(|node| {
        let rated = node.quantity::<Celsius>()?;
        let known = Insulation::parse(rated);
        if known.is_none() {
            let help = "60, 75, 80, 90, 105, 125 or 200 degC; leave it out if another is marked";
            node.error("bad-insulation", "no published ampacity is known for this rating", help);
        }
        known
    });
    let copper = (Celsius::new(-60.0), Celsius::new(250.0));
    let temperature =
        table.get("temperature").map_or(Some(WARM_COPPER), |node| node.within(copper.0, copper.1, "-60 to 250 degC"));
    let engine_space = table.get("engine-space").is_some_and(|node| node.boolean() == Some(true));
    let ampacity = table.get("ampacity").and_then(|node| node.positive::<Ampere>());
    table.finish();
    let wire = Wire { size: size?, length: length?, strand: strand?, temperature: temperature? };
    Some(Cable { wire, insulation, engine_space, ampacity })
}

fn read_load(mut table: Table<'_>, names: &Names, signals: &Signals<'_>) -> Option<Load> {
    let log = table.log();
    let id = name(&mut table);
    let plugs = [("circuit", &names.circuits), ("inverter", &names.inverters), ("shore", &names.inlets)];
    let mut plugged: Vec<(usize, Option<usize>)> = Vec::new();
    for (at, (key, known)) in plugs.into_iter().enumerate() {
        if let Some(node) = table.get(key) {
            plugged.push((at, node.text().and_then(|text| find(&text, known, key, log))));
        }
    }
    let current = table.get("current").map(|node| drawn(&node, Ampere::ZERO));
    let at = table.get("at").and_then(|node| node.positive::<Volt>());
    let driver = table.get("driver").map(|node| read_driver(&node));
    let power = table.get("power").map(|node| drawn(&node, Watt::ZERO));
    let share = table
        .get("share")
        .map_or(Some(Share::new(1.0)), |node| node.within(Share::new(0.0), Share::new(1.0), "0 % to 100 %"));
    let kind = table.require("kind").and_then(|node| node.word(&LoadKind::WORDS));
    let when = read_when(&mut table, signals);
    let evidence = evidence_or_estimate(&mut table);
    let span = table.span();
    table.finish();
    let [(at_key, found)] = plugged.as_slice() else {
        let error =
            Diagnostic::error("no-feed", "a load hangs on one thing: a `circuit`, an `inverter` or a `shore` inlet");
        log.push(error.at(&span, "").help("for example circuit = \"radio\""));
        return None;
    };
    let rating = match (current, power) {
        (Some(current), None) => {
            // Without a voltage it is one at an inlet, or refused below.
            let driver = driver.flatten();
            Rating::Current(current?, at.unwrap_or(Volt::ZERO), driver)
        }
        (None, Some(power)) => Rating::Power(power?),
        _ => {
            let error = Diagnostic::error("no-draw", "a load draws one thing: a `current` or a `power`");
            log.push(error.at(&span, "").help("current = \"5 A\", at = \"13.8 V\", or power = \"120 W\""));
            return None;
        }
    };
    if let (Rating::Current(_, Volt::ZERO, _), true) = (&rating, *at_key != 2) {
        let error = Diagnostic::error("no-voltage", "a current needs the voltage at which it was read");
        log.push(error.at(&span, "").help("for example at = \"13.8 V\""));
        return None;
    }
    let found = (*found)?;
    let at = match at_key {
        0 => Plug::Circuit(found),
        1 => Plug::Inverter(found),
        _ => Plug::Inlet(found),
    };
    Some(Load { id: id?, at, rating, share: share?, kind: kind?, when: when?, evidence })
}

//! `[[sounder]]`, `[[sounding]]`, `[listening]` and `[[exposure]]`: how sounders are mounted, when they sound, who
//! listens.

use std::collections::HashMap;

use glam::DVec3;

use super::sheet::read_level;
use super::{Declared, Exposure, Heard, Listening, Mount, SoundSide, Sounder, SounderModel, Sounding, Stretch};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text, transpose};
use crate::logic::Condition;
use crate::package::Vehicle;
use crate::package::catalogue::{Catalogues, evidence_or_estimate};
use crate::package::heads::{Place, read_pose, twin_id};
use crate::package::inputs::Signals;
use crate::package::vehicle::read_place;
use crate::sound::Air;
use crate::units::{Celsius, Decibels, Kilopascal, Length, Seconds, Share};

/// Many times what any vehicle has.
const MOST_SOUNDERS: usize = 64;
const MOST_SOUNDINGS: usize = 256;
const MOST_EXPOSURES: usize = 64;
const MOST_STRETCHES: usize = 256;

/// Nothing that a vehicle carries takes more.
const MOST_LOSS: Decibels = Decibels::new(60.0);

/// Reads all four tables. The models come from the catalogues.
pub(in crate::package) fn read_sound(
    top: &mut Table<'_>,
    catalogues: &Catalogues,
    middle: Length,
    signals: &Signals<'_>,
    log: &Log,
) -> SoundSide {
    let mut tables = |key, most: usize| {
        let tables = top.tables(key);
        if let Some(beyond) = tables.get(most) {
            let error =
                Diagnostic::error("too-many-tables", format!("more than {most} tables [[{key}]] are no vehicle"));
            log.push(error.at(&beyond.span(), "from here"));
        }
        tables.into_iter().take(most).collect::<Vec<_>>()
    };
    let sounders = tables("sounder", MOST_SOUNDERS);
    let soundings = tables("sounding", MOST_SOUNDINGS);
    let exposures = tables("exposure", MOST_EXPOSURES);
    let listening = top.get("listening").and_then(|node| node.table()).and_then(read_listening);
    let mut named = Named { by_id: HashMap::new(), broken: Vec::new() };
    let sounders = read_sounders(sounders, catalogues, middle, &mut named, log);
    let mut ids = Distinct::new("soundings", log);
    let mut of_soundings = Named { by_id: HashMap::new(), broken: Vec::new() };
    let mut kept: Vec<Sounding> = Vec::new();
    for table in soundings {
        let (id, sounding) = read_sounding(table, &sounders, &catalogues.sounders, &named, signals);
        let Some(id) = id.filter(|id| ids.keeps(id)) else { continue };
        match sounding {
            Some(sounding) => {
                of_soundings.by_id.insert(id.text, kept.len());
                kept.push(sounding);
            }
            None => of_soundings.broken.push(id.text),
        }
    }
    let mut ids = Distinct::new("exposures", log);
    let exposures = exposures.into_iter().filter_map(|table| read_exposure(table, middle, &of_soundings));
    let exposures = exposures.filter(|exposure| ids.is_new(&exposure.id, &exposure.span)).collect();
    SoundSide {
        models: catalogues.sounders.clone(),
        sounders,
        soundings: kept,
        listening: listening.unwrap_or_default(),
        exposures,
    }
}

/// Names of one kind: where each stands, and those whose own mistakes have been reported.
struct Named {
    by_id: HashMap<String, usize>,
    broken: Vec<String>,
}

impl Named {
    /// The place of a name; an unknown one is reported.
    fn find(&self, name: &Text, kind: &str, code: &'static str, log: &Log) -> Option<usize> {
        let found = self.by_id.get(&name.text).copied();
        if found.is_none() && !self.broken.contains(&name.text) {
            let error = Diagnostic::error(code, format!("there is no {kind} `{}`", name.text));
            let mut known: Vec<&str> = self.by_id.keys().map(String::as_str).collect();
            known.sort_unstable();
            log.suggest(error.at(&name.span, "named here"), &name.text, known);
        }
        found
    }
}

fn read_sounders(
    tables: Vec<Table<'_>>,
    catalogues: &Catalogues,
    middle: Length,
    named: &mut Named,
    log: &Log,
) -> Vec<Sounder> {
    let mut ids = Distinct::new("sounders", log).with_help("a `mirror = true` sounder makes its twin by itself");
    let mut sounders: Vec<Sounder> = Vec::new();
    for table in tables {
        let (id, mirror, doc) = read_sounder(table, catalogues, middle);
        let Some(id) = id else { continue };
        let twin = if mirror { twin_id(&id, log) } else { None };
        let Some((sounder, place)) = doc else {
            named.broken.extend(twin.into_iter().chain([id.text]));
            continue;
        };
        let twin = twin.map(|id| Sounder { id, pose: place.mirrored().pose(), ..sounder.clone() });
        for sounder in [Some(sounder), twin].into_iter().flatten() {
            if ids.is_new(&sounder.id, &sounder.span) {
                named.by_id.insert(sounder.id.clone(), sounders.len());
                sounders.push(sounder);
            }
        }
    }
    sounders
}

/// Its name, whether it has a twin, and the rest where all of it can be read.
fn read_sounder(
    mut table: Table<'_>,
    catalogues: &Catalogues,
    middle: Length,
) -> (Option<Text>, bool, Option<(Sounder, Place)>) {
    let log = table.log();
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("sounder `{}`", id.text));
    }
    let model = table.require("model").and_then(|node| node.text());
    let model = model.and_then(|name| catalogues.find_sounder(&name, log));
    let place = read_pose(&mut table, middle, None);
    let mount = table.get("mounted").map(|node| node.word(&Mount::WORDS));
    let circuit = table.get("circuit").map(|node| node.id());
    let amplifier = table.get("amplifier").map(|node| node.id().map(|text| text.text));
    let reversed = table.get("polarity").map(|node| node.word(&[("normal", false), ("reversed", true)]));
    let mut loss = |key| table.get(key).map(|node| node.within(Decibels::ZERO, MOST_LOSS, "0 to 60 dB"));
    let (behind, screened) = (loss("behind"), loss("screened"));
    let mirror = table.get("mirror").is_some_and(|node| node.boolean() == Some(true));
    table.finish();
    let read = || {
        let id = id.as_ref()?;
        let place = place?;
        let sounder = Sounder {
            id: id.text.clone(),
            model: model?,
            pose: place.pose(),
            mount: transpose(mount)?,
            circuit: transpose(circuit)?,
            amplifier: transpose(amplifier)?,
            reversed: transpose(reversed)?,
            behind: transpose(behind)?.unwrap_or(Decibels::ZERO),
            screened: transpose(screened)?,
            span: id.span.clone(),
        };
        Some((sounder, place))
    };
    let doc = read();
    (id, mirror, doc)
}

fn read_sounding(
    mut table: Table<'_>,
    sounders: &[Sounder],
    models: &[SounderModel],
    named: &Named,
    signals: &Signals<'_>,
) -> (Option<Text>, Option<Sounding>) {
    let log = table.log();
    let id = table.require("id").and_then(|node| node.text());
    if let Some(id) = &id {
        table = table.named(format!("sounding `{}`", id.text));
    }
    let when = match table.get("when") {
        Some(node) => signals.condition(&node),
        None if signals.inputs.described => {
            let message = format!("`when` is missing in {}", table.name());
            let error = Diagnostic::error("missing-key", message).at(&table.span(), "here");
            log.push(error.help("say when it sounds, or `when = \"always\"`"));
            None
        }
        // Without inputs nothing switches it.
        None => Some(Condition::Always),
    };
    let tone = table.require("tone").and_then(|node| node.text());
    let names = table.require("sounders").map(|node| (node.texts(), node));
    let span = table.span();
    table.finish();
    if let Some((_, node)) = names.as_ref().filter(|(names, node)| names.is_empty() && node.is_list()) {
        node.error("no-sounder", "this sounding names no sounder", "name those that sound, or take it out");
    }
    let read = || {
        let tone = tone.as_ref()?;
        let mut rows = Vec::new();
        let mut told: Vec<usize> = Vec::new();
        let mut whole = true;
        for name in names.iter().flat_map(|(names, _)| names) {
            let found = named.find(name, "sounder", "unknown-sounder", log);
            let row = found.and_then(|at| Some((at, sounders.get(at)?.model)));
            let Some((at, model)) = row else {
                whole = false;
                continue;
            };
            match models.get(model).and_then(|known| sheet_of(known, tone, &told, model, log)) {
                Some(sheet) => rows.push((at, sheet)),
                None => {
                    told.push(model);
                    whole = false;
                }
            }
        }
        rows.sort_unstable();
        rows.dedup();
        (whole && !rows.is_empty()).then(|| Some((rows, when.clone()?))).flatten()
    };
    let read = read();
    let sounding = id.clone().zip(read).map(|(id, (rows, when))| Sounding { id: id.text, when, rows, span });
    (id, sounding)
}

/// The sheet of a tone; a model that lacks it is told once.
fn sheet_of(model: &SounderModel, tone: &Text, told: &[usize], at: usize, log: &Log) -> Option<usize> {
    let found = model.sheets.iter().position(|sheet| sheet.tone == tone.text);
    if found.is_none() && !told.contains(&at) {
        let message = format!("the model `{}` has no tone `{}`", model.id, tone.text);
        let error = Diagnostic::error("no-such-tone", message).at(&tone.span, "asked for here");
        let error = error.at(&model.span, "described here");
        log.suggest(error, &tone.text, model.sheets.iter().map(|sheet| sheet.tone.as_str()));
    }
    found
}

fn read_listening(mut table: Table<'_>) -> Option<Listening> {
    let air = table.get("air").map(|node| read_air(&node));
    let mut loss = |key| table.get(key).map(|node| read_declared(&node));
    let (closed_car, windows_shut) = (loss("closed-car"), loss("windows-shut"));
    // Pressure doubles over hard ground; soft ground and dips of a tone take.
    let (least, most) = (Decibels::new(-10.0), Decibels::new(6.1));
    let reflection = table.get("reflection").map(|node| node.within(least, most, "-10 to 6.1 dB"));
    let ambient = table.get("ambient").map(|node| read_level(&node));
    table.finish();
    Some(Listening {
        air: transpose(air)?,
        reflection: transpose(reflection)?,
        ambient: transpose(ambient)?,
        closed_car: transpose(closed_car)?,
        windows_shut: transpose(windows_shut)?,
    })
}

/// A figure, or `{ takes = "25 dB", source = "..." }`.
fn read_declared(node: &Node<'_>) -> Option<Declared> {
    let takes = |node: &Node<'_>| node.within(Decibels::ZERO, MOST_LOSS, "0 to 60 dB");
    if !node.is_table() {
        return Some(Declared { takes: takes(node)?, source: None });
    }
    let mut table = node.table()?;
    let value = table.require("takes").and_then(|node| takes(&node));
    let source = table.require("source").and_then(|node| node.text()).map(|text| text.text);
    table.finish();
    Some(Declared { takes: value?, source })
}

/// `{ temperature, humidity, pressure }`; a standard atmosphere where no pressure is said.
fn read_air(node: &Node<'_>) -> Option<Air> {
    let mut table = node.table()?.named("`air`");
    // The range for which ISO 9613-1 states its accuracy.
    let (cold, warm) = (Celsius::new(-20.0), Celsius::new(50.0));
    let temperature = table.require("temperature").and_then(|node| node.within(cold, warm, "-20 to 50 degC"));
    let (dry, wet) = (Share::new(0.01), Share::new(1.0));
    let humidity = table.require("humidity").and_then(|node| node.within(dry, wet, "1 % to 100 %"));
    let (low, high) = (Kilopascal::new(50.0), Kilopascal::new(200.0));
    let pressure = table.get("pressure").map(|node| node.within(low, high, "50 to 200 kPa"));
    table.finish();
    let pressure = transpose(pressure)?.unwrap_or(Air::MILD.pressure);
    Some(Air { temperature: temperature?, humidity: humidity?, pressure })
}

fn read_exposure(mut table: Table<'_>, middle: Length, soundings: &Named) -> Option<Exposure> {
    let log = table.log();
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("exposure `{}`", id.text));
    }
    let at = table.get("at").map(|node| {
        let mut place = node.table()?.named("`at`");
        let read = read_place(&mut place, middle);
        place.finish();
        read.map(|(ahead, right, height)| Vehicle::point(ahead, right, height))
    });
    let nodes = table.require("stretches").map(|node| (node.list(), node));
    table.finish();
    let (nodes, list) = nodes?;
    if nodes.is_empty() || nodes.len() > MOST_STRETCHES {
        let message = format!("{} parts of a shift are listed; there are 1 to {MOST_STRETCHES}", nodes.len());
        list.error(
            "no-stretch",
            message,
            "for example [{ sounding = \"wail\", lasts = \"20 min\", windows = \"shut\" }]",
        );
        return None;
    }
    let at: Option<DVec3> = transpose(at)?;
    let stretches: Vec<Option<Stretch>> =
        nodes.iter().map(|node| read_stretch(node, at.is_some(), soundings, log)).collect();
    let (stretches, id) = (stretches.into_iter().collect::<Option<Vec<_>>>()?, id?);
    let hours = stretches.iter().map(|stretch| stretch.lasts.value()).sum::<f64>() / 3600.0;
    if hours > 24.0 {
        list.error("out-of-range", "these parts of a shift last longer than a day", "check their units");
        return None;
    }
    Some(Exposure { id: id.text, at, stretches, span: id.span })
}

fn read_stretch(node: &Node<'_>, placed: bool, soundings: &Named, log: &Log) -> Option<Stretch> {
    let mut table = node.table()?.named("this part of a shift");
    let span: Span = table.span();
    let lasts = table.require("lasts").and_then(|node| node.positive::<Seconds>());
    let sounding = table.get("sounding").map(|node| node.text());
    let windows = table.get("windows").map(|node| (node.word(&[("open", false), ("shut", true)]), node));
    let level = table.get("level").map(|node| read_level(&node));
    let evidence = evidence_or_estimate(&mut table);
    table.finish();
    let heard = match (sounding, level) {
        (Some(name), None) => {
            let at = soundings.find(&name?, "sounding", "unknown-sounding", log)?;
            if !placed {
                let error = Diagnostic::error("missing-key", "what is heard of a sounding depends on where the ear is");
                log.push(error.at(&span, "").help("say `at` in this exposure, or a `level` that was measured there"));
                return None;
            }
            Heard::Sounding { at, shut: windows.map_or(Some(false), |(shut, _)| shut)? }
        }
        (None, Some(level)) => {
            if let Some((_, node)) = windows {
                node.error("wrong-key", "a level at the ear holds as it was measured", "leave `windows` out");
                return None;
            }
            Heard::Level(level?)
        }
        _ => {
            let error =
                Diagnostic::error("no-level", "a part of a shift has one thing to hear: a `sounding` or a `level`");
            log.push(error.at(&span, "").help("sounding = \"wail\", windows = \"shut\", or level = \"84 dB(A)\""));
            return None;
        }
    };
    Some(Stretch { lasts: lasts?, heard, evidence })
}

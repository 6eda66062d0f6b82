//! The package file from bytes to a [`Package`]: reads every table, binds every name, reports every mistake.

use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::catalogue::read_catalogues;
use super::displays::Bound;
use super::heads::{HeadDoc, bare_name, bind, read_ahead, read_head, read_place};
use super::heads_csv::read_heads_csv;
use super::{Body, Decision, Display, Exception, Head, Mode, Model, Package, Pattern, STEADY, Vehicle};
use crate::diagnostic::{Diagnostic, Log, Sources};
use crate::flash::{Pulse, Timeline};
use crate::geometry::Block;
use crate::load::files::read_inside;
use crate::load::reader::{Node, Table, Text, document, without_mark};
use crate::units::{Dimension, Length, Micros, Share};

/// What the command line gives to find a package's files.
#[derive(Debug, Clone)]
pub struct Inputs {
    /// The package's name for messages.
    pub name: String,
    /// What it holds.
    pub bytes: Vec<u8>,
    /// The folder it lies in.
    pub folder: PathBuf,
    /// Folders given with `--library`.
    pub libraries: Vec<PathBuf>,
}

/// Reads and binds a package. `None` when anything in it is an error; the log says what. The rulesets that it names
/// come beside it, so that mistakes in them are reported in the same run.
pub fn load(inputs: &Inputs, sources: &Sources, log: &Log) -> (Option<Package>, Vec<Text>) {
    let Ok(text) = std::str::from_utf8(&inputs.bytes) else {
        let error = Diagnostic::error("not-text", "a package is a TOML file in UTF-8");
        log.push(error.in_file(&inputs.name));
        return (None, Vec::new());
    };
    let sha256 = Sha256::digest(&inputs.bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    let text = without_mark(text);
    let source = sources.add(&inputs.name, text);
    let mut rules = Vec::new();
    let package = document(text, source, log, |mut top| {
        rules = top.get("rules").map(|node| node.texts()).unwrap_or_default();
        read_package(top, inputs, sha256, sources, log)
    });
    (package.filter(|_| !log.has_errors()), rules)
}

fn read_package(mut top: Table<'_>, inputs: &Inputs, sha256: String, sources: &Sources, log: &Log) -> Option<Package> {
    let catalogues = top.get("catalogues").map(|node| node.texts()).unwrap_or_default();
    let models = read_catalogues(&catalogues, &catalogue_folders(inputs), sources, log);

    let vehicle = top.require("vehicle").and_then(|node| node.table()).and_then(read_vehicle);
    let middle = vehicle.as_ref().map_or(Length::ZERO, |vehicle| vehicle.length * 0.5);
    let bodies = top.tables("body").into_iter().filter_map(|table| read_body(table, middle)).collect();
    let mut docs: Vec<HeadDoc> = Vec::new();
    if let Some(name) = top.get("heads").and_then(|node| node.text()) {
        docs.extend(read_table_of_heads(&name, inputs, middle, &models, sources, log));
    }
    docs.extend(top.tables("head").into_iter().filter_map(|table| read_head(table, middle, &models)));
    let heads = bind(docs, &models, log);

    let patterns = unique(top.tables("pattern").into_iter().filter_map(read_pattern), "patterns", log);
    refuse_input_logic(&mut top);
    let bound = Bound { heads: &heads, models: &models, patterns: &patterns, log };
    let displays = top.tables("display").into_iter().filter_map(|table| bound.read_display(table));
    let displays = unique(displays, "displays", log);
    let modes = top.tables("mode").into_iter().filter_map(|table| read_mode(table, &displays, log));
    let modes = unique(modes, "modes", log);
    let exceptions = top.tables("exception").into_iter().filter_map(read_exception).collect();
    let decision = top.get("decision").and_then(|node| node.table()).map(|mut table| {
        let word = table
            .require("rule")
            .and_then(|node| node.word(&[("simple", Decision::Simple), ("guarded", Decision::Guarded)]));
        table.finish();
        word
    });
    top.finish();

    let displays: Vec<Display> = displays.into_iter().map(|(_, display)| display).collect();
    let modes: Vec<Mode> = modes.into_iter().map(|(_, mode)| mode).collect();
    if !log.has_errors() {
        warn_unused(&heads, &displays, &modes, log);
    }
    let patterns = patterns.into_iter().map(|(_, pattern)| pattern).collect();
    let decision = decision.map_or(Some(Decision::Simple), |decision| decision)?;
    let file = inputs.name.clone();
    Some(Package {
        file,
        sha256,
        vehicle: vehicle?,
        bodies,
        models,
        heads,
        patterns,
        displays,
        modes,
        exceptions,
        decision,
    })
}

/// Beside the package, in each library, then in a folder `catalogue` beside the package's folder.
fn catalogue_folders(inputs: &Inputs) -> Vec<PathBuf> {
    let mut folders = vec![inputs.folder.clone()];
    folders.extend(inputs.libraries.iter().cloned());
    let above =
        if inputs.folder.as_os_str().is_empty() { Path::new("..").to_owned() } else { inputs.folder.join("..") };
    // `a/package/..` reads badly in messages; the plain parent is the same folder where there is one.
    let plain =
        inputs.folder.parent().filter(|parent| !parent.as_os_str().is_empty() && !inputs.folder.ends_with(".."));
    folders.push(plain.map_or(above, Path::to_path_buf).join("catalogue"));
    folders
}

fn read_vehicle(mut table: Table<'_>) -> Option<Vehicle> {
    let name = table.require("name").and_then(|node| node.text());
    let owner = table.get("owner").and_then(|node| node.text()).map(|text| text.text);
    let mut size = |key| table.require(key).and_then(|node| node.positive::<Length>(Dimension::Length));
    let (length, width, height) = (size("length"), size("width"), size("height"));
    let middle = length.map_or(Length::ZERO, |length| length * 0.5);
    let mut axle = |key| {
        table.get(key).and_then(|node| node.table()).and_then(|mut axle| {
            let ahead = read_ahead(&mut axle, middle);
            axle.finish();
            ahead
        })
    };
    let (front_axle, rear_axle) = (axle("front-axle"), axle("rear-axle"));
    let contracted = table.get("contracted").and_then(|node| node.date());
    table.finish();
    let (name, length, width, height) = (name?.text, length?, width?, height?);
    Some(Vehicle { name, owner, length, width, height, front_axle, rear_axle, contracted })
}

fn read_body(mut table: Table<'_>, middle: Length) -> Option<Body> {
    let id = table.require("id").and_then(|node| node.id());
    let mut corner = |key| {
        table.require(key).and_then(|node| node.table()).and_then(|mut corner| {
            let place = read_place(&mut corner, middle);
            corner.finish();
            place
        })
    };
    let (from, to) = (corner("from"), corner("to"));
    let when = table.get("when").map(|node| bare_name(&node));
    table.finish();
    let point = |(ahead, right, height)| Vehicle::point(ahead, right, height);
    let block = Block::between(point(from?), point(to?));
    let when = match when {
        Some(name) => Some(name?.text),
        None => None,
    };
    Some(Body { id: id?.text, block, when })
}

fn read_table_of_heads(
    name: &Text,
    inputs: &Inputs,
    middle: Length,
    models: &[Model],
    sources: &Sources,
    log: &Log,
) -> Vec<HeadDoc> {
    let mut folders = vec![inputs.folder.clone()];
    folders.extend(inputs.libraries.iter().cloned());
    match read_inside(&name.text, &folders) {
        Ok(file) => {
            // Spreadsheets write Latin-1 now and then; a stray byte must not cost the user the table.
            let text = String::from_utf8_lossy(&file.bytes);
            let text = without_mark(&text);
            let source = sources.add(&file.path.display().to_string(), text);
            read_heads_csv(text, source, middle, models, log)
        }
        Err(error) => {
            log.push(error.diagnostic(Some(&name.span)));
            Vec::new()
        }
    }
}

fn read_pattern(mut table: Table<'_>) -> Option<(Text, Pattern)> {
    let log = table.log();
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("pattern `{}`", id.text));
        if id.text == STEADY {
            let error = Diagnostic::error("reserved-name", "`steady` already means lit all the time");
            log.push(error.at(&id.span, "").help("choose another id for this pattern"));
        }
    }
    let period_node = table.require("period");
    let period = period_node.as_ref().and_then(|node| node.positive::<Micros>(Dimension::Time));
    let nodes = table.require("pulses").map(|node| node.list()).unwrap_or_default();
    let pulses: Vec<Option<Pulse>> = nodes.iter().map(read_pulse).collect();
    table.finish();
    let id = id?;
    let pulses: Option<Vec<Pulse>> = pulses.into_iter().collect();
    let (Some(period), Some(pulses)) = (period, pulses) else {
        log.lose(&id.text);
        return None;
    };
    match Timeline::new(period, pulses) {
        Ok(timeline) => Some((id.clone(), Pattern { id: id.text, timeline })),
        Err(error) => {
            let mut diagnostic = Diagnostic::error("bad-pattern", format!("pattern `{}`: {error}", id.text));
            for node in error.pulses().iter().filter_map(|at| nodes.get(*at)) {
                diagnostic = diagnostic.at(&node.span(), "this pulse");
            }
            if let Some(node) = period_node {
                diagnostic = diagnostic.at(&node.span(), "the period");
            }
            log.push(diagnostic.help("pulses are [start, end] in the order of time, inside one period"));
            log.lose(&id.text);
            None
        }
    }
}

/// `["0 ms", "50 ms"]`, or with a level, `["0 ms", "50 ms", "60 %"]`.
fn read_pulse(node: &Node<'_>) -> Option<Pulse> {
    let parts = node.list();
    match parts.as_slice() {
        [start, end, level @ ..] if level.len() <= 1 => {
            let start = start.quantity::<Micros>(Dimension::Time);
            let end = end.quantity::<Micros>(Dimension::Time);
            let level = level.first().map_or(Some(Share::new(1.0)), |node| node.positive(Dimension::Share));
            Some(Pulse { start: start?, end: end?, level: level? })
        }
        _ => {
            node.error("bad-pulse", "a pulse is a start and an end", "for example [\"0 ms\", \"50 ms\"]");
            None
        }
    }
}

/// Conditions over inputs are not part of this version; saying so beats judging the wrong light.
fn refuse_input_logic(top: &mut Table<'_>) {
    if let Some(node) = top.get("inputs") {
        let help = "list in each mode its `displays` and the names that are true in it (`given`)";
        node.error("no-input-logic", "this version does not judge conditions over inputs", help);
    }
}

fn read_mode(mut table: Table<'_>, displays: &[(Text, Display)], log: &Log) -> Option<(Text, Mode)> {
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("mode `{}`", id.text));
    }
    let purpose = table.get("purpose").and_then(|node| node.id()).map(|text| text.text);
    if let Some(node) = table.get("when") {
        let help = "list the mode's `displays`, and under `given` the names that are true in it";
        node.error("no-input-logic", "this version does not judge conditions over inputs", help);
    }
    let mut listed = Vec::new();
    for name in table.require("displays").map(|node| node.texts()).unwrap_or_default() {
        match displays.iter().position(|(_, display)| display.id == name.text) {
            Some(found) => listed.push(found),
            None => {
                let error = Diagnostic::error("unknown-display", format!("there is no display `{}`", name.text));
                let known = displays.iter().map(|(_, display)| display.id.as_str());
                log.push(error.at(&name.span, "named here").nearest(&name.text, known));
            }
        }
    }
    // Later in the file wins, whatever the order in which a mode lists them.
    listed.sort_unstable();
    listed.dedup();
    let given = table.get("given").map(|node| node.texts()).unwrap_or_default();
    let given = given.into_iter().map(|name| name.text).collect();
    table.finish();
    let id = id?;
    Some((id.clone(), Mode { id: id.text, purpose, displays: listed, given, span: id.span }))
}

fn read_exception(mut table: Table<'_>) -> Option<Exception> {
    let finding = table.require("finding").and_then(|node| node.text());
    let mut text = |key| table.require(key).and_then(|node| node.text()).map(|text| text.text);
    let (accepted_by, reference, reason) = (text("accepted-by"), text("reference"), text("reason"));
    let mut date = |key| table.require(key).and_then(|node| node.date());
    let (on, until) = (date("on"), date("until"));
    table.finish();
    let finding = finding?;
    let span = finding.span;
    let (accepted_by, reference, reason) = (accepted_by?, reference?, reason?);
    Some(Exception { finding: finding.text, accepted_by, reference, on: on?, until: until?, reason, span })
}

/// Keeps the first of each id and reports the others with both places.
fn unique<T>(found: impl Iterator<Item = (Text, T)>, what: &str, log: &Log) -> Vec<(Text, T)> {
    let mut kept: Vec<(Text, T)> = Vec::new();
    for (id, one) in found {
        match kept.iter().find(|(earlier, _)| earlier.text == id.text) {
            Some((first, _)) => {
                let error = Diagnostic::error("double-id", format!("two {what} are called `{}`", id.text));
                log.push(error.at(&id.span, "this one").at(&first.span, "and this one"));
            }
            None => kept.push((id, one)),
        }
    }
    kept
}

fn warn_unused(heads: &[Head], displays: &[Display], modes: &[Mode], log: &Log) {
    let shown = |at: usize| {
        let listed = modes.iter().flat_map(|mode| &mode.displays).filter_map(|display| displays.get(*display));
        listed.flat_map(|display| &display.shows).any(|show| show.head == at)
    };
    for (_, head) in heads.iter().enumerate().filter(|(at, _)| !shown(*at)) {
        let warning = Diagnostic::warning("head-in-no-mode", format!("the head `{}` is lit in no mode", head.id));
        log.push(warning.at(&head.span, "").help("show it in a display that a mode lists, or take it out"));
    }
}

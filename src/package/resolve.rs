//! The package file from bytes to a [`Package`]: reads every table, binds every name, reports every mistake.

use std::path::{Path, PathBuf};
use std::rc::Rc;

use super::catalogue::read_catalogues;
use super::displays::{Names, read_displays};
use super::doubts::{Bound, rule_out, warn};
use super::heads::{HeadDoc, bind, read_head};
use super::heads_csv::read_heads_csv;
use super::inputs::Signals;
use super::modes::read_modes;
use super::patterns::read_patterns;
use super::sound::{read_sound, warn_of_sounders};
use super::statements::read_statements;
use super::supply::read_supply;
use super::vehicle::{read_bodies, read_vehicle, warn_off_the_vehicle};
use super::{Decision, Exception, Package};
use crate::diagnostic::{Diagnostic, Log, Sources};
use crate::load::files::{read_inside, sha256};
use crate::load::reader::{Table, Text, document};
use crate::load::text::{decode, decode_table};
use crate::logic::{Inputs, Space};
use crate::units::Length;

/// What the command line gives to find a package's files.
#[derive(Debug, Clone)]
pub struct PackageFile {
    /// The package's name for messages.
    pub name: String,
    /// What it holds.
    pub bytes: Vec<u8>,
    /// The folder it lies in.
    pub folder: PathBuf,
    /// Folders given with `--library`.
    pub libraries: Vec<PathBuf>,
}

/// Reads and binds a package. `None` when anything in it is an error; the log says what. The rulesets it asks for are
/// known even then, so that their mistakes are shown in the same run.
pub fn load(inputs: &PackageFile, sources: &Sources, log: &Log) -> (Option<Package>, Vec<Text>) {
    let text = match decode(&inputs.bytes, &inputs.name) {
        Ok(text) => text,
        Err(error) => {
            log.push(error.in_file(&inputs.name));
            return (None, Vec::new());
        }
    };
    let source = sources.add(&inputs.name, text);
    let read = document(text, source, log, |top| is_package(&top).then(|| read_package(top, inputs, sources)));
    let (package, rules) = read.unwrap_or_default();
    (package.filter(|_| !log.has_errors()), rules)
}

/// Whether this may be a package; a file of another kind is told apart at once.
fn is_package(top: &Table<'_>) -> bool {
    let (kind, help) = if top.has("vehicle") || top.has("head") {
        return true;
    } else if top.has("model") {
        ("a catalogue", "name it in the `catalogues` of a package, and judge the package")
    } else if top.has("ruleset") || top.has("overlay") {
        ("a ruleset or an overlay", "judge a package by it: name it with --rules, or in the package's `rules`")
    } else {
        return true;
    };
    let error = Diagnostic::error("not-a-package", format!("this is {kind}, not a package"));
    top.log().push(error.at(&top.span(), "").help(help));
    false
}

fn read_package(mut top: Table<'_>, inputs: &PackageFile, sources: &Sources) -> (Option<Package>, Vec<Text>) {
    let log = top.log();
    let rules = top.get("rules").map(|node| node.texts()).unwrap_or_default();
    let catalogues = top.get("catalogues").map(|node| node.texts()).unwrap_or_default();
    let catalogues = read_catalogues(&catalogues, &catalogue_folders(inputs), sources, log);

    let vehicle = top.require("vehicle").and_then(|node| node.table()).and_then(read_vehicle);
    // A vehicle without a length has its error already; its heads are read about a middle of 0.
    let middle = vehicle.as_ref().map_or(Length::ZERO, |vehicle| vehicle.length * 0.5);
    let mut modes = top.tables("mode");
    let signals = Signals::read(&mut top, &mut modes, log);
    let never = signals.read_never(&mut top);
    let bodies = read_bodies(top.tables("body"), middle, &signals, log);
    let mut docs: Vec<HeadDoc> = Vec::new();
    let mut all_read = true;
    if let Some(name) = top.get("heads").and_then(|node| node.text()) {
        let table = read_table_of_heads(&name, inputs, middle, sources, log);
        all_read = table.is_some();
        docs.extend(table.unwrap_or_default());
    }
    docs.extend(top.tables("head").into_iter().map(|table| read_head(table, middle, &signals)));
    let mut heads = bind(docs, &catalogues, log);
    heads.all_read = all_read;

    let patterns = read_patterns(top.tables("pattern"), log);
    let names = Names::new(&heads, &catalogues.models, &patterns, log);
    let displays = read_displays(top.tables("display"), &names, &signals);
    let modes = read_modes(modes, displays, &signals, log);
    let exceptions = top.tables("exception").into_iter().filter_map(read_exception).collect();
    let statements = read_statements(top.tables("statement"), log);
    let sound = read_sound(&mut top, &catalogues, middle, &signals, log);
    let supply = read_supply(&mut top, &heads.heads, &sound, &signals, log);
    let decision = top.get("decision").and_then(|node| node.table()).and_then(read_decision);
    top.finish();

    let (heads, patterns) = (heads.heads, patterns.kept);
    // Nothing is judged after a mistake, and there may be more inputs than can be looked at together.
    let inputs_of = if log.has_errors() { &Inputs::default() } else { &signals.inputs };
    let mut space = Space::new(inputs_of, &[]);
    if !log.has_errors() {
        rule_out(&never, &signals, &mut space, log);
    }
    if !log.has_errors() {
        vehicle.iter().for_each(|vehicle| warn_off_the_vehicle(&heads, vehicle, log));
        let (displays, modes, whens) = (&modes.displays, &modes.kept, &modes.whens);
        let soundings = &sound.soundings;
        let (heads, bodies, signals, space) = (&heads, &bodies, &signals, &space);
        let bound = Bound { heads, bodies, displays, soundings, modes, whens, signals, space };
        warn(&bound, inputs, log);
        vehicle.iter().for_each(|vehicle| warn_of_sounders(&sound, vehicle, space, log));
    }
    let package = vehicle.map(|vehicle| Package {
        file: inputs.name.clone(),
        sha256: sha256(&inputs.bytes),
        vehicle,
        bodies,
        models: catalogues.models,
        heads,
        space,
        never: never.into_iter().map(|(condition, _)| condition).collect(),
        patterns,
        displays: modes.displays,
        modes: modes.kept,
        exceptions,
        statements,
        supply: supply.map(Rc::new),
        sound,
        doubts: Vec::new(),
        decision: decision.unwrap_or(Decision::Simple),
    });
    (package, rules)
}

/// Beside the package, in each library, then in a folder `catalogue` beside the package's folder.
fn catalogue_folders(inputs: &PackageFile) -> Vec<PathBuf> {
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

/// `None` where the table as a whole cannot be read, so that its heads are not known.
fn read_table_of_heads(
    name: &Text,
    inputs: &PackageFile,
    middle: Length,
    sources: &Sources,
    log: &Log,
) -> Option<Vec<HeadDoc>> {
    let mut folders = vec![inputs.folder.clone()];
    folders.extend(inputs.libraries.iter().cloned());
    let file = match read_inside(&name.text, &folders) {
        Ok(file) => file,
        Err(error) => {
            log.push(error.with_libraries(&name.span));
            return None;
        }
    };
    sources.remember(&file.path, &file.bytes);
    let path = file.path.display().to_string();
    match decode_table(&file.bytes, &path) {
        Ok(text) => read_heads_csv(&text, sources.add(&path, &text), middle, log),
        Err(error) => {
            log.push(error.at(&name.span, "named here"));
            None
        }
    }
}

fn read_decision(mut table: Table<'_>) -> Option<Decision> {
    let words = [("simple", Decision::Simple), ("guarded", Decision::Guarded)];
    let rule = table.require("rule").and_then(|node| node.word(&words));
    table.finish();
    rule
}

fn read_exception(mut table: Table<'_>) -> Option<Exception> {
    let log = table.log();
    let finding = table.require("finding").and_then(|node| node.text());
    let mut text = |key| table.require(key).and_then(|node| node.text()).map(|text| text.text);
    let (accepted_by, reference, reason) = (text("accepted-by"), text("reference"), text("reason"));
    let mut date = |key| table.require(key).and_then(|node| Some((node.date()?, node.span())));
    let (on, until) = (date("on"), date("until"));
    table.finish();
    let (finding, (on, on_span), (until, until_span)) = (finding?, on?, until?);
    if (until.year, until.month, until.day) < (on.year, on.month, on.day) {
        let error = Diagnostic::error("bad-dates", "this exception ends before it begins");
        log.push(error.at(&until_span, "the last day").at(&on_span, "the first day"));
    }
    let (accepted_by, reference, reason) = (accepted_by?, reference?, reason?);
    Some(Exception { finding: finding.text, accepted_by, reference, on, until, reason, span: finding.span })
}

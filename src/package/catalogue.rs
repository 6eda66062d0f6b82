//! Catalogues: what a laboratory or a maker says of a device, one colour, one pattern, one voltage at a time.

use std::collections::{HashMap, HashSet};
use std::path::PathBuf;

use super::colour::read_stated;
use super::light::{Files, read_declared, read_intensity, read_optical_power};
use super::sound::{SounderModel, is_sounder, read_sounder_model};
use super::{Current, Emitter, Evidence, Grade, Model};
use crate::diagnostic::{Diagnostic, Log, Sources, Span};
use crate::electrical::Driver;
use crate::load::distinct::Distinct;
use crate::load::files::read_inside;
use crate::load::reader::{Node, Table, Text, document, transpose};
use crate::load::text::decode;
use crate::units::{Ampere, Length, Volt};

const GRADES: &[(&str, Grade)] = &[
    ("laboratory", Grade::Laboratory),
    ("measured", Grade::Measured),
    ("maker", Grade::Maker),
    ("estimate", Grade::Estimate),
];

/// The models of all catalogues of a package, and the names of those whose own mistakes have been reported.
pub(super) struct Catalogues {
    pub models: Vec<Model>,
    pub sounders: Vec<SounderModel>,
    by_id: HashMap<String, usize>,
    broken: HashSet<String>,
    /// False where a catalogue could not be read, so that any name may be one of its.
    all_read: bool,
}

impl Catalogues {
    /// The place of a model in [`Catalogues::sounders`]; an unknown name is reported.
    pub fn find_sounder(&self, name: &Text, log: &Log) -> Option<usize> {
        let found = self.sounders.iter().position(|model| model.id == name.text);
        if found.is_none() && self.by_id.contains_key(&name.text) {
            let error = Diagnostic::error("not-a-sounder", format!("the model `{}` is a lamp", name.text));
            log.push(error.at(&name.span, "named here").help("mount it as a [[head]]"));
        } else if found.is_none() && self.all_read && !self.broken.contains(&name.text) {
            let message = format!("no catalogue describes the model `{}`", name.text);
            let error = Diagnostic::error("unknown-model", message).at(&name.span, "named here");
            log.suggest(error, &name.text, self.sounders.iter().map(|model| model.id.as_str()));
        }
        found
    }

    /// The place of a model in [`Catalogues::models`]; an unknown name is reported.
    pub fn find(&self, name: &Text, log: &Log) -> Option<usize> {
        let found = self.by_id.get(&name.text).copied();
        if found.is_none() && self.sounders.iter().any(|model| model.id == name.text) {
            let error = Diagnostic::error("not-a-lamp", format!("the model `{}` is a sounder", name.text));
            log.push(error.at(&name.span, "named here").help("mount it as a [[sounder]]"));
        } else if found.is_none() && self.all_read && !self.broken.contains(&name.text) {
            let message = format!("no catalogue describes the model `{}`", name.text);
            let mut error = Diagnostic::error("unknown-model", message).at(&name.span, "named here");
            if self.models.is_empty() {
                error =
                    error.help("name the file that describes it: `catalogues = [\"...\"]` at the top of the package");
            }
            log.suggest(error, &name.text, self.models.iter().map(|model| model.id.as_str()));
        }
        found
    }
}

/// Reads catalogues that no package names: files anywhere, each with what lies beside it. Where the log has errors some
/// of their models may be missing.
pub fn read_models(files: &[PathBuf], sources: &Sources, log: &Log) -> (Vec<Model>, Vec<SounderModel>) {
    let (by_id, broken) = (HashMap::new(), HashSet::new());
    let mut catalogues = Catalogues { models: Vec::new(), sounders: Vec::new(), by_id, broken, all_read: true };
    let mut ids = Distinct::new("models", log);
    for path in files {
        let shown = path.display().to_string();
        // The place where it is named is the command line.
        let source = sources.add("the command line", &shown);
        let span = Span { source, range: 0..shown.len() };
        let folder = path.parent().map_or_else(PathBuf::new, PathBuf::from);
        let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        let name = Text { text: name, span, opening: None };
        read_catalogue(&name, &[folder], sources, log, &mut ids, &mut catalogues);
    }
    (catalogues.models, catalogues.sounders)
}

/// Reads every catalogue the package names. A model id must be unique over all of them.
pub(super) fn read_catalogues(names: &[Text], folders: &[PathBuf], sources: &Sources, log: &Log) -> Catalogues {
    let (by_id, broken) = (HashMap::new(), HashSet::new());
    let mut catalogues = Catalogues { models: Vec::new(), sounders: Vec::new(), by_id, broken, all_read: true };
    let mut ids = Distinct::new("models", log);
    let mut named: HashMap<&str, &Span> = HashMap::new();
    for name in names {
        if let Some(first) = named.insert(&name.text, &name.span) {
            let warning = Diagnostic::warning("named-twice", format!("the catalogue `{}` is named twice", name.text));
            log.push(warning.at(&name.span, "").at(first, "first here").help("it is read once"));
            continue;
        }
        if read_catalogue(name, folders, sources, log, &mut ids, &mut catalogues).is_none() {
            catalogues.all_read = false;
        }
    }
    catalogues
}

fn read_catalogue(
    name: &Text,
    folders: &[PathBuf],
    sources: &Sources,
    log: &Log,
    ids: &mut Distinct<'_>,
    catalogues: &mut Catalogues,
) -> Option<()> {
    let file = read_inside(&name.text, folders).map_err(|error| log.push(error.with_libraries(&name.span))).ok()?;
    sources.remember(&file.path, &file.bytes);
    let path = file.path.display().to_string();
    let text = decode(&file.bytes, &path).map_err(|error| log.push(error.at(&name.span, "named here"))).ok()?;
    let source = sources.add(&path, text);
    // What a catalogue names lies beside it.
    let folder = file.path.parent().map_or_else(|| file.root.clone(), PathBuf::from);
    let files = Files::new(folder, sources, log);
    document(text, source, log, |mut top| {
        if !top.has("model") {
            let error = Diagnostic::error("no-model", format!("`{path}` describes no model"));
            log.push(error.at(&name.span, "named here").help("in a catalogue, each model is a table `[[model]]`"));
            return None;
        }
        let tables = top.tables("model");
        top.finish();
        for table in tables {
            if is_sounder(&table) {
                let (id, model) = read_sounder_model(table, log);
                let Some(id) = id.filter(|id| ids.keeps(id)) else { continue };
                match model {
                    Some(model) => catalogues.sounders.push(model),
                    None => {
                        catalogues.broken.insert(id.text);
                    }
                }
                continue;
            }
            let (id, model) = read_model(table, &files);
            let Some(id) = id.filter(|id| ids.keeps(id)) else { continue };
            match model {
                Some(model) => {
                    catalogues.by_id.insert(id.text, catalogues.models.len());
                    catalogues.models.push(model);
                }
                None => {
                    catalogues.broken.insert(id.text);
                }
            }
        }
        Some(())
    })
}

/// One housing holds a few colours; more are a mistake of the file.
const MOST_EMITTERS: usize = 64;

/// The id where it can be read, the model where all of its names can.
fn read_model(mut table: Table<'_>, files: &Files<'_>) -> (Option<Text>, Option<Model>) {
    let log = files.log;
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("model `{}`", id.text));
    }
    let maker = table.get("maker").and_then(|node| node.text()).map(|text| text.text);
    let driver = table.get("driver").and_then(|node| read_driver(&node));
    let max_height = table.get("max-height").and_then(|node| node.positive::<Length>());
    let mut yes = |key| table.get(key).is_some_and(|node| node.boolean() == Some(true));
    let (all_round, handed) = (yes("all-round"), yes("handed"));
    let classes = table.get("classes").and_then(|node| node.table()).map(read_classes).unwrap_or_default();
    let tables = table.tables("emitter");
    let has_none = table.get("emitter").is_none_or(|node| node.is_list() && node.list().is_empty());
    if tables.len() > MOST_EMITTERS || has_none {
        let message = format!("this model has {} emitters; a model has 1 to {MOST_EMITTERS}", tables.len());
        let error = Diagnostic::error("no-emitter", message).at(&table.span(), "");
        log.push(error.help("add a table `[[model.emitter]]` with at least a `colour`"));
    }
    table.finish();
    let mut colours = Distinct::new("emitters of one model", log);
    let emitters: Vec<Option<Emitter>> =
        tables.into_iter().take(MOST_EMITTERS).map(|emitter| read_emitter(emitter, files)).collect();
    let emitters: Option<Vec<Emitter>> = emitters.into_iter().collect();
    let known = emitters.as_ref().is_some_and(|emitters| !emitters.is_empty());
    let emitters = emitters.map(|emitters| {
        emitters.into_iter().filter(|emitter| colours.is_new(&emitter.colour, &emitter.span)).collect()
    });
    let model = id.clone().zip(emitters.filter(|_| known));
    let model = model.map(|(id, emitters)| Model {
        id: id.text,
        maker,
        driver,
        max_height,
        all_round,
        handed,
        classes,
        emitters,
        span: id.span,
    });
    (id, model)
}

/// `{ all-round-lamp = "2" }`: under which ruleset the maker claims which class.
pub(super) fn read_classes(table: Table<'_>) -> Vec<(String, String)> {
    let class = |(ruleset, node): (Text, Node<'_>)| Some((ruleset.text, node.id()?.text));
    table.entries().into_iter().filter_map(class).collect()
}

fn read_emitter(mut table: Table<'_>, files: &Files<'_>) -> Option<Emitter> {
    let log = files.log;
    let colour = table.require("colour").and_then(|node| node.id());
    if let Some(colour) = &colour {
        table = table.named(format!("emitter `{}`", colour.text));
    }
    let stated = read_stated(&mut table, files);
    let kinds = [
        table.get("intensity").map(|node| (node.span(), read_intensity(&node, files))),
        table.get("optical-power").map(|node| (node.span(), read_optical_power(&node, files))),
        table.get("declared").map(|node| (node.span(), read_declared(&node))),
    ];
    let declared = table.has("declared");
    let mut kinds = kinds.into_iter().flatten();
    let light = kinds.next();
    if let (Some((first, _)), Some((second, _))) = (&light, kinds.next()) {
        let error = Diagnostic::error("two-lights", "the light of an emitter is given twice");
        log.push(error.at(&second, "here").at(first, "and here").help("keep the better known of the two"));
    }
    let light = light.and_then(|(_, light)| light);
    let current = table.get("current").and_then(|node| read_current(&node));
    let evidence = table.get("evidence").and_then(|node| read_evidence(&node));
    if let (true, Some(found)) = (declared, evidence.as_ref().filter(|found| found.grade != Grade::Estimate)) {
        let message = format!("a declared figure is an estimate, not `{}`", found.grade.word());
        let error = Diagnostic::error("not-an-estimate", message).at(&table.span(), "");
        log.push(error.help("give the report's intensity file instead of `declared`, or drop `evidence`"));
    }
    table.finish();
    let colour = colour?;
    let unknown = Evidence { grade: Grade::Estimate, report: None, date: None, pattern_index: None };
    Some(Emitter {
        colour: colour.text,
        stated,
        light,
        current,
        evidence: evidence.unwrap_or(unknown),
        span: colour.span,
    })
}

/// How the current follows the voltage: `constant-power`, `constant-current`, `resistive`, or an exponent from -1 to 1.
pub(super) fn read_driver(node: &Node<'_>) -> Option<Driver> {
    if node.is_text() {
        return node.word(&[
            ("constant-power", Driver::ConstantPower),
            ("constant-current", Driver::ConstantCurrent),
            ("resistive", Driver::Resistive),
        ]);
    }
    let exponent = node.number()?;
    if !(-1.0..=1.0).contains(&exponent) {
        let help = "-1 is constant power, 0 constant current, 1 a resistor; a filament has about 0.55";
        node.error("out-of-range", "a current follows the voltage with an exponent from -1 to 1", help);
        return None;
    }
    Some(Driver::Exponent(exponent))
}

fn read_current(node: &Node<'_>) -> Option<Current> {
    let mut table = node.table()?;
    let mut ampere = |key| table.get(key).map(|node| node.quantity::<Ampere>());
    let (lit, standby) = (ampere("lit"), ampere("standby"));
    let at = table.get("at").and_then(|node| node.positive::<Volt>());
    table.finish();
    let (lit, standby) = (transpose(lit)?, transpose(standby)?.unwrap_or(Ampere::ZERO));
    match lit {
        Some(lit) if standby.value() > lit.value() && lit.value() >= 0.0 => {
            let help = "`lit` at the level 1, `standby` while the pattern is dark";
            node.error("bad-current", "a lamp draws no more while it is dark than while it is lit", help);
            None
        }
        Some(lit) if lit.value() >= 0.0 && standby.value() >= 0.0 => Some(Current { lit, standby, at }),
        _ => {
            node.error(
                "bad-current",
                "a current needs `lit`, and no figure below zero",
                "{ lit = \"1.8 A\", standby = \"0.02 A\" }",
            );
            None
        }
    }
}

/// `evidence`, an estimate without it.
pub(super) fn evidence_or_estimate(table: &mut Table<'_>) -> Evidence {
    let unknown = Evidence { grade: Grade::Estimate, report: None, date: None, pattern_index: None };
    table.get("evidence").and_then(|node| read_evidence(&node)).unwrap_or(unknown)
}

pub(super) fn read_evidence(node: &Node<'_>) -> Option<Evidence> {
    let mut table = node.table()?;
    let grade = table.require("grade").and_then(|node| node.word(GRADES));
    let report = table.get("report").and_then(|node| node.text()).map(|text| text.text);
    let date = table.get("date").and_then(|node| node.date());
    let pattern_index = table.get("pattern-index").and_then(|node| node.text()).map(|text| text.text);
    table.finish();
    Some(Evidence { grade: grade?, report, date, pattern_index })
}

/// Where a model shows `colour`, or the error that names both places.
pub(super) fn emitter_of(model: &Model, colour: &str, asked: &Span, log: &Log) -> Option<usize> {
    let found = model.emitters.iter().position(|emitter| emitter.colour == colour);
    if found.is_none() {
        let message = format!("the model `{}` has no {colour} emitter", model.id);
        let error =
            Diagnostic::error("no-such-colour", message).at(asked, "asked for here").at(&model.span, "described here");
        log.suggest(error, colour, model.emitters.iter().map(|emitter| emitter.colour.as_str()));
    }
    found
}

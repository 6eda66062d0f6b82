//! Catalogues: what a laboratory or a maker says of a device, one colour, one pattern, one voltage at a time.

use std::path::PathBuf;
use std::sync::Arc;

use super::{Current, Emitter, Evidence, Grade, Light, LightKind, Model};
use crate::diagnostic::{Diagnostic, Log, Sources, Span};
use crate::load::files::{FileBytes, read_inside};
use crate::load::reader::{Node, Table, document};
use crate::photometry::{Distribution, Frame, Zero, read};
use crate::units::{Ampere, Candela, Degrees, Dimension, Length, Share, Volt};

const GRADES: &[(&str, Grade)] = &[
    ("laboratory", Grade::Laboratory),
    ("measured", Grade::Measured),
    ("maker", Grade::Maker),
    ("estimate", Grade::Estimate),
];

/// Reads every catalogue the package names. A model id must be unique over all of them.
pub(super) fn read_catalogues(
    names: &[crate::load::reader::Text],
    folders: &[PathBuf],
    sources: &Sources,
    log: &Log,
) -> Vec<Model> {
    let mut models: Vec<Model> = Vec::new();
    for name in names {
        let file = match read_inside(&name.text, folders) {
            Ok(file) => file,
            Err(error) => {
                log.push(error.diagnostic(Some(&name.span)));
                continue;
            }
        };
        let path = file.path.display().to_string();
        let Ok(text) = std::str::from_utf8(&file.bytes) else {
            log.push(Diagnostic::error("not-text", format!("`{path}` is not UTF-8 text")).at(&name.span, "named here"));
            continue;
        };
        let source = sources.add(&path, text);
        let read = document(text, source, log, |mut top| {
            let tables = top.tables("model");
            let models: Vec<Model> = tables.into_iter().filter_map(|table| read_model(table, &file, log)).collect();
            top.finish();
            Some(models)
        });
        for model in read.unwrap_or_default() {
            match models.iter().find(|earlier| earlier.id == model.id) {
                Some(first) => {
                    let error = Diagnostic::error("double-id", format!("two models are called `{}`", model.id));
                    log.push(error.at(&model.span, "this one").at(&first.span, "and this one"));
                }
                None => models.push(model),
            }
        }
    }
    models
}

fn read_model(mut table: Table<'_>, file: &FileBytes, log: &Log) -> Option<Model> {
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("model `{}`", id.text));
    }
    let maker = table.get("maker").and_then(|node| node.text()).map(|text| text.text);
    // Kept for the electrical and mounting rules; read here so that a wrong figure is reported at once.
    table.get("driver").and_then(|node| {
        node.word(&[("constant-power", ()), ("constant-current", ()), ("resistive", ())])
    });
    table.get("max-height").and_then(|node| node.positive::<Length>(Dimension::Length));
    let mut yes = |key| table.get(key).is_some_and(|node| node.boolean() == Some(true));
    let (all_round, handed) = (yes("all-round"), yes("handed"));
    let mut emitters: Vec<Emitter> = Vec::new();
    for emitter in table.tables("emitter").into_iter().filter_map(|emitter| read_emitter(emitter, file, log)) {
        match emitters.iter().find(|earlier| earlier.colour == emitter.colour) {
            Some(first) => {
                let message = format!("two emitters of one model are {}", emitter.colour);
                let error = Diagnostic::error("double-colour", message);
                log.push(error.at(&emitter.span, "this one").at(&first.span, "and this one"));
            }
            None => emitters.push(emitter),
        }
    }
    if emitters.is_empty() {
        let error = Diagnostic::error("no-emitter", "a model without an emitter gives no light");
        log.push(error.at(&table.span(), "").help("add a table `[[model.emitter]]` with at least a `colour`"));
    }
    table.finish();
    let id = id?;
    Some(Model { id: id.text, maker, all_round, handed, emitters, span: id.span })
}

fn read_emitter(mut table: Table<'_>, file: &FileBytes, log: &Log) -> Option<Emitter> {
    let colour = table.require("colour").and_then(|node| node.id());
    if let Some(colour) = &colour {
        table = table.named(format!("emitter `{}`", colour.text));
    }
    let chromaticity = table.get("chromaticity").and_then(|node| read_chromaticity(&node));
    let pattern_light = |node: &Node<'_>| read_light(node, file, true, log);
    let kinds = [
        table.get("intensity").map(|node| (node.span(), read_light(&node, file, false, log))),
        table.get("optical-power").map(|node| (node.span(), pattern_light(&node))),
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
    let unknown = Evidence { grade: Grade::Estimate, report: None, date: None };
    Some(Emitter {
        colour: colour.text,
        chromaticity,
        light,
        current,
        evidence: evidence.unwrap_or(unknown),
        span: colour.span,
    })
}

fn read_chromaticity(node: &Node<'_>) -> Option<(f64, f64)> {
    let values: Vec<f64> = node.list().iter().filter_map(Node::number).collect();
    match values.as_slice() {
        [x, y] if *x >= 0.0 && *y >= 0.0 && x + y <= 1.0 => Some((*x, *y)),
        _ => {
            node.error("bad-chromaticity", "this is not a chromaticity", "write `[x, y]` with x, y and 1 - x - y from 0 to 1");
            None
        }
    }
}

fn read_light(node: &Node<'_>, file: &FileBytes, for_pattern: bool, log: &Log) -> Option<Light> {
    let mut table = node.table()?;
    let name = table.require("file").and_then(|node| node.text());
    let frame = table.get("frame").map(|node| node.word(&Frame::WORDS));
    let zero = table.get("c0").map(|node| node.word(&Zero::WORDS));
    let at = table.get("at").map(|node| node.positive::<Volt>(Dimension::Voltage));
    let uncertainty = table.get("uncertainty").map(|node| node.positive::<Share>(Dimension::Share));
    let pattern = if for_pattern { Some(table.require("pattern").and_then(|node| node.text())) } else { None };
    table.finish();
    let name = name?;
    // A key that is there but wrong has been reported; the light is then unknown.
    let (frame, zero) = (transpose(frame)?, transpose(zero)?);
    let (at, uncertainty, pattern) = (transpose(at)?, transpose(uncertainty)?, transpose(pattern)?);
    // What a catalogue names lies beside it: the folder of the catalogue, inside the folder that was given.
    let beside = file.path.parent().map_or_else(|| file.root.clone(), PathBuf::from);
    let bytes = match read_inside(&name.text, &[beside]) {
        Ok(found) => found.bytes,
        Err(error) => {
            log.push(error.diagnostic(Some(&name.span)));
            return None;
        }
    };
    let distribution = match read(&name.text, &bytes, frame, zero) {
        Ok(read) => {
            for note in read.notes {
                log.push(Diagnostic::warning("photometric-file", format!("{}: {note}", name.text)).at(&name.span, ""));
            }
            read.distribution
        }
        Err(error) => {
            let place = error.line.map(|line| format!(", line {line}")).unwrap_or_default();
            let message = format!("`{}`{place}: {}", name.text, error.message);
            log.push(Diagnostic::error(error.code, message).at(&name.span, "named here").help(error.help));
            return None;
        }
    };
    let kind = match pattern {
        Some(pattern) => LightKind::OpticalPower { pattern: pattern.text },
        None => LightKind::Intensity,
    };
    Some(Light { kind, distribution: Arc::new(distribution), at, uncertainty })
}

fn transpose<T>(asked: Option<Option<T>>) -> Option<Option<T>> {
    match asked {
        None => Some(None),
        Some(None) => None,
        Some(found) => Some(found),
    }
}

fn read_declared(node: &Node<'_>) -> Option<Light> {
    let mut table = node.table()?;
    let axis = table.require("axis").and_then(|node| node.positive::<Candela>(Dimension::Intensity));
    let half_angle = table.require("half-angle").and_then(|node| node.positive::<Degrees>(Dimension::Angle));
    let at = table.get("at").map(|node| node.positive::<Volt>(Dimension::Voltage));
    table.finish();
    let at = transpose(at)?;
    match Distribution::declared(axis?, half_angle?) {
        Ok(distribution) => {
            Some(Light { kind: LightKind::Intensity, distribution: Arc::new(distribution), at, uncertainty: None })
        }
        Err(error) => {
            node.error(error.code, error.message, error.help);
            None
        }
    }
}

fn read_current(node: &Node<'_>) -> Option<Current> {
    let mut table = node.table()?;
    let mut ampere = |key| table.get(key).map(|node| node.quantity::<Ampere>(Dimension::Current));
    let (lit, standby) = (ampere("lit"), ampere("standby"));
    table.get("at").and_then(|node| node.positive::<Volt>(Dimension::Voltage));
    table.finish();
    let (lit, standby) = (transpose(lit)?, transpose(standby)?.unwrap_or(Ampere::ZERO));
    match lit {
        Some(lit) if lit.value() >= 0.0 && standby.value() >= 0.0 => Some(Current { lit, standby }),
        _ => {
            node.error("bad-current", "a current needs `lit`, and no figure below zero", "{ lit = \"1.8 A\", standby = \"0.02 A\" }");
            None
        }
    }
}

fn read_evidence(node: &Node<'_>) -> Option<Evidence> {
    let mut table = node.table()?;
    let grade = table.require("grade").and_then(|node| node.word(GRADES));
    let report = table.get("report").and_then(|node| node.text()).map(|text| text.text);
    let date = table.get("date").and_then(|node| node.date());
    table.finish();
    Some(Evidence { grade: grade?, report, date })
}

/// Where a model shows `colour`, or the error that names both places.
pub(super) fn emitter_of(model: &Model, colour: &str, asked: &Span, log: &Log) -> Option<usize> {
    let found = model.emitters.iter().position(|emitter| emitter.colour == colour);
    if found.is_none() {
        let message = format!("the model `{}` has no {colour} emitter", model.id);
        let error = Diagnostic::error("no-such-colour", message).at(asked, "asked for here").at(&model.span, "described here");
        log.push(error.nearest(colour, model.emitters.iter().map(|emitter| emitter.colour.as_str())));
    }
    found
}

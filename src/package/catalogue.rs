//! Catalogues: what a laboratory or a maker says of a device, one colour, one pattern, one voltage at a time.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{Current, Emitter, Evidence, Figures, Grade, Light, Model};
use crate::diagnostic::{Diagnostic, Log, Sources, Span};
use crate::load::files::read_inside;
use crate::load::reader::{Node, Table, Text, document, without_mark};
use crate::photometry::{self, Distribution, Frame, Read, ReadError, Zero};
use crate::units::{Ampere, Candela, Degrees, Dimension, Length, OpticalPower, Share, Volt};

const GRADES: &[(&str, Grade)] = &[
    ("laboratory", Grade::Laboratory),
    ("measured", Grade::Measured),
    ("maker", Grade::Maker),
    ("estimate", Grade::Estimate),
];

/// Reads every catalogue the package names. A model id must be unique over all of them.
pub(super) fn read_catalogues(names: &[Text], folders: &[PathBuf], sources: &Sources, log: &Log) -> Vec<Model> {
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
        let text = without_mark(text);
        let source = sources.add(&path, text);
        // What a catalogue names lies beside it.
        let folder = file.path.parent().map_or_else(|| file.root.clone(), PathBuf::from);
        let files = Files { folder, sources, log, intensities: RefCell::default() };
        let read = document(text, source, log, |mut top| {
            let tables = top.tables("model");
            let models: Vec<Model> = tables.into_iter().filter_map(|table| read_model(table, &files)).collect();
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

fn read_model(mut table: Table<'_>, files: &Files<'_>) -> Option<Model> {
    let log = files.log;
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("model `{}`", id.text));
    }
    let maker = table.get("maker").and_then(|node| node.text()).map(|text| text.text);
    // Kept for the electrical and mounting rules; read here so that a wrong figure is reported at once.
    table
        .get("driver")
        .and_then(|node| node.word(&[("constant-power", ()), ("constant-current", ()), ("resistive", ())]));
    table.get("max-height").and_then(|node| node.positive::<Length>(Dimension::Length));
    let mut yes = |key| table.get(key).is_some_and(|node| node.boolean() == Some(true));
    let (all_round, handed) = (yes("all-round"), yes("handed"));
    let mut emitters: Vec<Emitter> = Vec::new();
    let described = table.tables("emitter");
    let described_emitters = described.len();
    for emitter in described.into_iter().filter_map(|emitter| read_emitter(emitter, files)) {
        match emitters.iter().find(|earlier| earlier.colour == emitter.colour) {
            Some(first) => {
                let message = format!("two emitters of one model are {}", emitter.colour);
                let error = Diagnostic::error("double-colour", message);
                log.push(error.at(&emitter.span, "this one").at(&first.span, "and this one"));
            }
            None => emitters.push(emitter),
        }
    }
    if described_emitters == 0 {
        let error = Diagnostic::error("no-emitter", "a model without an emitter gives no light");
        log.push(error.at(&table.span(), "").help("add a table `[[model.emitter]]` with at least a `colour`"));
    }
    table.finish();
    let id = id?;
    if emitters.len() < described_emitters {
        log.lose(&id.text);
    }
    Some(Model { id: id.text, maker, all_round, handed, emitters, span: id.span })
}

fn read_emitter(mut table: Table<'_>, files: &Files<'_>) -> Option<Emitter> {
    let log = files.log;
    let colour = table.require("colour").and_then(|node| node.id());
    if let Some(colour) = &colour {
        table = table.named(format!("emitter `{}`", colour.text));
    }
    let chromaticity = table.get("chromaticity").and_then(|node| read_chromaticity(&node));
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
            node.error(
                "bad-chromaticity",
                "this is not a chromaticity",
                "write `[x, y]` with x, y and 1 - x - y from 0 to 1",
            );
            None
        }
    }
}

/// Where intensity files are looked for, and where their text and their mistakes go.
struct Files<'a> {
    folder: PathBuf,
    sources: &'a Sources,
    log: &'a Log,
    // Several models may share a file; it is read, and remarked on, once.
    intensities: RefCell<Vec<Intensity>>,
}

/// How a lamp stood on the goniometer, as the catalogue says.
type Orientation = (Option<Frame>, Option<Zero>);

/// A file that has been read: its name, how the lamp stood, its light.
type Intensity = (String, Orientation, Arc<Distribution<Candela>>);

/// What stands in `intensity` and `optical-power` beside the file.
struct LightKeys {
    file: Text,
    frame: Option<Frame>,
    zero: Option<Zero>,
    at: Option<Volt>,
    uncertainty: Option<Share>,
}

impl LightKeys {
    /// A key that is there but wrong has been reported; the light is then unknown.
    fn read(table: &mut Table<'_>) -> Option<Self> {
        let frames = Frame::ALL.map(|frame| (frame.name(), frame));
        let zeros = Zero::ALL.map(|zero| (zero.name(), zero));
        let file = table.require("file").and_then(|node| node.text());
        let frame = table.get("frame").map(|node| node.word(&frames));
        let zero = table.get("c0").map(|node| node.word(&zeros));
        let at = table.get("at").map(|node| node.positive::<Volt>(Dimension::Voltage));
        let uncertainty = table.get("uncertainty").map(|node| node.positive::<Share>(Dimension::Share));
        let (frame, zero, at) = (transpose(frame)?, transpose(zero)?, transpose(at)?);
        Some(Self { file: file?, frame, zero, at, uncertainty: transpose(uncertainty)? })
    }
}

fn read_intensity(node: &Node<'_>, files: &Files<'_>) -> Option<Light> {
    let mut table = node.table()?;
    let keys = LightKeys::read(&mut table);
    table.finish();
    let keys = keys?;
    let figures = Figures::Intensity(files.intensity(&keys)?);
    Some(Light { figures, at: keys.at, uncertainty: keys.uncertainty })
}

fn read_optical_power(node: &Node<'_>, files: &Files<'_>) -> Option<Light> {
    let mut table = node.table()?;
    let keys = LightKeys::read(&mut table);
    let pattern = table.require("pattern").and_then(|node| node.id());
    table.finish();
    let (keys, pattern) = (keys?, pattern?);
    if has_ending(&keys.file.text, &["ies", "ldt"]) {
        let message = "candela files say nothing of optical power";
        let error = Diagnostic::error("not-optical-power", message).at(&keys.file.span, "");
        files.log.push(error.help("give it as `intensity`, or give a grid or point list in cd.s/min"));
        return None;
    }
    let distribution = Arc::new(files.read::<OpticalPower>(&keys)?);
    let figures = Figures::OpticalPower { distribution, pattern: pattern.text };
    Some(Light { figures, at: keys.at, uncertainty: keys.uncertainty })
}

fn has_ending(name: &str, endings: &[&str]) -> bool {
    let ending = Path::new(name).extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_lowercase();
    endings.contains(&ending.as_str())
}

impl Files<'_> {
    fn intensity(&self, keys: &LightKeys) -> Option<Arc<Distribution<Candela>>> {
        let orientation = (keys.frame, keys.zero);
        let same = |(name, how, _): &&Intensity| *name == keys.file.text && *how == orientation;
        let known = self.intensities.borrow().iter().find(same).map(|(_, _, read)| Arc::clone(read));
        if known.is_some() {
            return known;
        }
        let read = Arc::new(self.read::<Candela>(keys)?);
        self.intensities.borrow_mut().push((keys.file.text.clone(), orientation, Arc::clone(&read)));
        Some(read)
    }

    /// Reads an intensity file by its ending: `.ies` LM-63, `.ldt` EULUMDAT, `.csv` a grid or a list of points.
    fn read<Q: photometry::Light + Photometric>(&self, keys: &LightKeys) -> Option<Distribution<Q>> {
        let name = &keys.file;
        let found = match read_inside(&name.text, std::slice::from_ref(&self.folder)) {
            Ok(found) => found,
            Err(error) => {
                self.log.push(error.diagnostic(Some(&name.span)));
                return None;
            }
        };
        if !has_ending(&name.text, &["ies", "ldt", "csv", "txt"]) {
            let message = format!("`{}` is no kind of intensity file that is read here", name.text);
            let error = Diagnostic::error("unknown-format", message).at(&name.span, "named here");
            self.log.push(error.help(".ies (LM-63), .ldt (EULUMDAT), or .csv (an H-V grid or a list of points)"));
            return None;
        }
        let path = found.path.display().to_string();
        match Q::read(&name.text, &found.bytes, keys.frame, keys.zero) {
            Ok(read) => {
                for note in read.notes.into_iter().filter(|note| !note.as_usual) {
                    let place = note.line.map(|line| format!(":{line}")).unwrap_or_default();
                    let warning = Diagnostic::warning("photometric-file", format!("{path}{place}: {}", note.message));
                    self.log.push(warning.at(&name.span, "named here"));
                }
                Some(read.distribution)
            }
            Err(error) => {
                self.log.push(self.refused(&error, &path, &found.bytes, &name.span));
                None
            }
        }
    }

    /// The reader's error, with the place in the intensity file and the place that names it.
    fn refused(&self, error: &ReadError, path: &str, bytes: &[u8], named: &Span) -> Diagnostic {
        let mut diagnostic = Diagnostic::error(error.fault.code(), format!("{path}: {}", error.message));
        if let Some(line) = error.line.and_then(|line| usize::try_from(line).ok()) {
            let text = String::from_utf8_lossy(bytes);
            let before = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum::<usize>();
            let row = text.get(before..).unwrap_or_default().lines().next().unwrap_or_default();
            let column = error.column.and_then(|column| usize::try_from(column).ok()).unwrap_or(1).saturating_sub(1);
            let from = before + row.char_indices().nth(column).map_or(row.len(), |(at, _)| at);
            let word = text.get(from..before + row.len()).unwrap_or_default();
            let len = word.find([' ', ',', ';', '\t']).unwrap_or(word.len());
            let span = Span { source: self.sources.add(path, &text), range: from..from + len };
            diagnostic = diagnostic.at(&span, "");
        }
        diagnostic = diagnostic.at(named, "named here");
        match &error.help {
            Some(help) => diagnostic.help(help.clone()),
            None => diagnostic,
        }
    }
}

/// What intensity files can hold.
trait Photometric: Sized {
    fn read(name: &str, bytes: &[u8], frame: Option<Frame>, zero: Option<Zero>) -> Result<Read<Self>, ReadError>;
}

/// A list of points says what it holds in its first line, a grid begins with `V\H`.
fn read_csv<Q: photometry::Light>(bytes: &[u8], frame: Option<Frame>) -> Result<Read<Q>, ReadError> {
    let head = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let lists_points =
        head.iter().find(|byte| !byte.is_ascii_whitespace()).is_some_and(|byte| matches!(byte, b'H' | b'h'));
    if lists_points { photometry::read_points(bytes, frame) } else { photometry::read_grid(bytes, frame) }
}

impl Photometric for Candela {
    fn read(name: &str, bytes: &[u8], frame: Option<Frame>, zero: Option<Zero>) -> Result<Read<Self>, ReadError> {
        if has_ending(name, &["ies"]) {
            photometry::read_lm63(bytes, frame, zero)
        } else if has_ending(name, &["ldt"]) {
            photometry::read_eulumdat(bytes, frame, zero)
        } else {
            read_csv(bytes, frame)
        }
    }
}

impl Photometric for OpticalPower {
    fn read(_: &str, bytes: &[u8], frame: Option<Frame>, _: Option<Zero>) -> Result<Read<Self>, ReadError> {
        read_csv(bytes, frame)
    }
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
        Ok(distribution) => Some(Light { figures: Figures::Intensity(Arc::new(distribution)), at, uncertainty: None }),
        Err(error) => {
            node.error(
                "bad-declared-figure",
                error.to_string(),
                "for example { axis = \"900 cd\", half-angle = \"20 deg\" }",
            );
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
            node.error(
                "bad-current",
                "a current needs `lit`, and no figure below zero",
                "{ lit = \"1.8 A\", standby = \"0.02 A\" }",
            );
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
    if found.is_none() && !log.has_lost(&model.id) {
        let message = format!("the model `{}` has no {colour} emitter", model.id);
        let error =
            Diagnostic::error("no-such-colour", message).at(asked, "asked for here").at(&model.span, "described here");
        log.push(error.nearest(colour, model.emitters.iter().map(|emitter| emitter.colour.as_str())));
    }
    found
}

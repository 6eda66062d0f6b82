//! The light of an emitter: which file or figure says it, under which frame, voltage and uncertainty.

use std::cell::RefCell;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{Figures, Light};
use crate::diagnostic::{Diagnostic, Log, Sources, Span};
use crate::load::files::{FileBytes, read_inside};
use crate::load::reader::{Node, Table, Text, transpose};
use crate::photometry::{self, Distribution, Frame, Read, ReadError, Zero};
use crate::units::{Candela, Degrees, OpticalPower, Share, Volt};

/// Where intensity files are looked for, and where their text and their mistakes go.
pub(super) struct Files<'a> {
    folder: PathBuf,
    sources: &'a Sources,
    pub log: &'a Log,
    // Several models may share a file; it is read, remarked on or refused once.
    intensities: RefCell<Known<Candela>>,
    optical_powers: RefCell<Known<OpticalPower>>,
}

/// What has been read, by the file's name and by how the lamp stood on the goniometer as the catalogue says; `None`
/// where it was refused.
type Known<Q> = HashMap<(String, Option<&'static str>, Option<&'static str>), Option<Arc<Distribution<Q>>>>;

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
        let at = table.get("at").map(|node| node.positive::<Volt>());
        let uncertainty = table.get("uncertainty").map(|node| node.positive::<Share>());
        let (frame, zero, at) = (transpose(frame)?, transpose(zero)?, transpose(at)?);
        Some(Self { file: file?, frame, zero, at, uncertainty: transpose(uncertainty)? })
    }
}

pub(super) fn read_intensity(node: &Node<'_>, files: &Files<'_>) -> Option<Light> {
    let mut table = node.table()?;
    let keys = LightKeys::read(&mut table);
    table.finish();
    let keys = keys?;
    let figures = Figures::Intensity(files.light(&keys)?);
    Some(Light { figures, at: keys.at, uncertainty: keys.uncertainty })
}

pub(super) fn read_optical_power(node: &Node<'_>, files: &Files<'_>) -> Option<Light> {
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
    let distribution = files.light(&keys)?;
    let figures = Figures::OpticalPower { distribution, pattern: pattern.text };
    Some(Light { figures, at: keys.at, uncertainty: keys.uncertainty })
}

fn has_ending(name: &str, endings: &[&str]) -> bool {
    let ending = Path::new(name).extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_lowercase();
    endings.contains(&ending.as_str())
}

impl<'a> Files<'a> {
    pub fn new(folder: PathBuf, sources: &'a Sources, log: &'a Log) -> Self {
        Self { folder, sources, log, intensities: RefCell::default(), optical_powers: RefCell::default() }
    }

    /// The light in a file, read once.
    fn light<Q: Photometric>(&self, keys: &LightKeys) -> Option<Arc<Distribution<Q>>> {
        let key = (keys.file.text.clone(), keys.frame.map(Frame::name), keys.zero.map(Zero::name));
        let known = Q::known(self).borrow().get(&key).cloned();
        known.unwrap_or_else(|| {
            let read = self.read::<Q>(keys).map(Arc::new);
            Q::known(self).borrow_mut().insert(key, read.clone());
            read
        })
    }

    /// Reads an intensity file by its ending: `.ies` LM-63, `.ldt` EULUMDAT, `.csv` a grid or a list of points.
    fn read<Q: Photometric>(&self, keys: &LightKeys) -> Option<Distribution<Q>> {
        let name = &keys.file;
        if !has_ending(&name.text, &["ies", "ldt", "csv", "txt"]) {
            let message = format!("`{}` is no kind of intensity file that is read here", name.text);
            let error = Diagnostic::error("unknown-format", message).at(&name.span, "named here");
            self.log.push(error.help(".ies (LM-63), .ldt (EULUMDAT), or .csv (an H-V grid or a list of points)"));
            return None;
        }
        let found = self.open(name)?;
        let path = found.path.display().to_string();
        let read = match Q::read(&name.text, &found.bytes, keys.frame, keys.zero) {
            Ok(read) => read,
            Err(error) => {
                self.log.push(self.refused(&Fault::from(error), &path, &found.bytes, &name.span));
                return None;
            }
        };
        for note in read.notes.into_iter().filter(|note| !note.as_usual) {
            let place = note.line.map(|line| format!(":{line}")).unwrap_or_default();
            let warning = Diagnostic::warning("photometric-file", format!("{path}{place}: {}", note.message));
            self.log.push(warning.at(&name.span, "named here"));
        }
        if read.distribution.peak().is_some_and(|peak| peak > Q::LARGEST) {
            let message = format!("{path}: the greatest value cannot be meant: no lamp gives that much light");
            let error = Diagnostic::error("out-of-range", message).at(&name.span, "named here");
            self.log.push(error.help("check the unit of the values, and the multiplier of the file"));
            return None;
        }
        Some(read.distribution)
    }

    /// A file that a model names; an error where it cannot be read.
    pub fn open(&self, name: &Text) -> Option<FileBytes> {
        let found = read_inside(&name.text, std::slice::from_ref(&self.folder));
        let file = found.map_err(|error| self.log.push(error.diagnostic(Some(&name.span)))).ok()?;
        self.sources.remember(&file.path, &file.bytes);
        Some(file)
    }

    /// The reader's error, with the place in the file and the place that names it.
    pub fn refused(&self, error: &Fault, path: &str, bytes: &[u8], named: &Span) -> Diagnostic {
        let mut diagnostic = Diagnostic::error(error.code, format!("{path}: {}", error.message));
        if let Some(line) = error.line {
            let text = String::from_utf8_lossy(bytes);
            let before = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum::<usize>();
            let row = text.get(before..).unwrap_or_default().lines().next().unwrap_or_default();
            let column = error.column.unwrap_or(1).saturating_sub(1);
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

/// What is wrong in a file that a model names.
pub(super) struct Fault {
    pub code: &'static str,
    pub message: String,
    pub line: Option<usize>,
    pub column: Option<usize>,
    pub help: Option<String>,
}

impl From<ReadError> for Fault {
    fn from(error: ReadError) -> Self {
        let place = |number: Option<u32>| number.and_then(|number| usize::try_from(number).ok());
        let (line, column) = (place(error.line), place(error.column));
        Self { code: error.fault.code(), message: error.message, line, column, help: error.help }
    }
}

/// What intensity files can hold.
trait Photometric: photometry::Light + PartialOrd + Sized {
    /// Beyond any lamp (practice); without a bound the sums behind could leave the finite numbers.
    const LARGEST: Self;
    fn known<'f>(files: &'f Files<'_>) -> &'f RefCell<Known<Self>>;
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
    const LARGEST: Self = Self::new(1e9);

    fn known<'f>(files: &'f Files<'_>) -> &'f RefCell<Known<Self>> {
        &files.intensities
    }

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
    const LARGEST: Self = Self::new(1e12);

    fn known<'f>(files: &'f Files<'_>) -> &'f RefCell<Known<Self>> {
        &files.optical_powers
    }

    fn read(_: &str, bytes: &[u8], frame: Option<Frame>, _: Option<Zero>) -> Result<Read<Self>, ReadError> {
        read_csv(bytes, frame)
    }
}

pub(super) fn read_declared(node: &Node<'_>) -> Option<Light> {
    let mut table = node.table()?;
    let axis = table.require("axis").and_then(|node| node.positive::<Candela>());
    let half_angle = table.require("half-angle").and_then(|node| node.positive::<Degrees>());
    let at = table.get("at").map(|node| node.positive::<Volt>());
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

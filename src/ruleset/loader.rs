//! Finding rulesets and overlays: shipped ones by name, others by a path that stays where it may look.

use std::path::{Path, PathBuf};

use super::overlay::Overlay;
use super::read::read_ruleset;
use super::{Ruleset, shipped};
use crate::diagnostic::{Diagnostic, Log, Sources, Span};
use crate::load::files::{read_file, read_inside, sha256};
use crate::load::reader::{Date, Text, document};
use crate::load::text::decode;

/// Finds and reads rulesets and overlays.
#[derive(Debug)]
pub struct Loader<'a> {
    /// Where texts are kept.
    pub sources: &'a Sources,
    /// Where mistakes go.
    pub log: &'a Log,
    /// Folders that a package's own files may lie in.
    pub folders: Vec<PathBuf>,
    /// What was asked for so far; not fit to judge by where the log has errors.
    pub rulesets: Vec<Ruleset>,
    /// The day of judgement; without one every overlay is in force.
    as_of: Option<Date>,
}

/// A ruleset file that was found.
struct Found {
    bytes: Vec<u8>,
    name: String,
    /// Where the ruleset that it extends may lie.
    folders: Vec<PathBuf>,
}

impl<'a> Loader<'a> {
    /// A loader that looks in `folders` for what packages name.
    pub fn new(sources: &'a Sources, log: &'a Log, folders: Vec<PathBuf>) -> Self {
        Self { sources, log, folders, rulesets: Vec::new(), as_of: None }
    }

    /// The same for a day of judgement: overlays that are not in force then change nothing.
    #[must_use]
    pub fn on(self, day: Date) -> Self {
        Self { as_of: Some(day), ..self }
    }

    /// Adds a ruleset that a package names: a shipped one, or a file beside the package.
    pub fn add_named(&mut self, name: &Text) {
        if let Some(found) = self.find(&name.text, Some(&name.span), Some(&self.folders)) {
            self.add(&found, Some(&name.span), false);
        }
    }

    /// Adds a ruleset from the command line: a shipped one, or a file anywhere.
    pub fn add_anywhere(&mut self, name: &str) {
        if let Some(found) = self.find(name, None, None) {
            self.add(&found, None, false);
        }
    }

    /// Finds a ruleset named at `span`, a file inside `folders` or, without these, anywhere.
    fn find(&self, name: &str, span: Option<&Span>, folders: Option<&[PathBuf]>) -> Option<Found> {
        if let Some(text) = shipped::find(name) {
            let (bytes, name) = (text.as_bytes().to_vec(), format!("{name} (shipped)"));
            self.sources.remember(Path::new(&name), &bytes);
            return Some(Found { bytes, name, folders: Vec::new() });
        }
        let looks_like_file =
            name.contains(['/', '\\']) || Path::new(name).extension().is_some_and(|end| end == "toml");
        if name == "colour-regions" {
            let message = "`colour-regions` holds regions of colours and no rules";
            let mut error = Diagnostic::error("no-rules", message);
            if let Some(span) = span {
                error = error.at(span, "named here");
            }
            self.log.push(error.help(
                "name the ruleset that asks for a colour; `wayproof rules show colour-regions` prints the regions",
            ));
            return None;
        }
        if !looks_like_file {
            let mut error = Diagnostic::error("unknown-ruleset", format!("there is no ruleset `{name}`"));
            if let Some(span) = span {
                error = error.at(span, "named here");
            }
            let error = error.help("shipped rulesets go by name, others by a path that ends in .toml");
            self.log.suggest(error, name, shipped::SHIPPED.iter().map(|(id, _)| *id));
            return None;
        }
        let read = match folders {
            Some(folders) => read_inside(name, folders).map(|file| (file.bytes, file.path)),
            None => read_file(Path::new(name), name).map(|bytes| (bytes, PathBuf::from(name))),
        };
        let (bytes, path) = read.map_err(|error| self.log.push(error.diagnostic(span))).ok()?;
        self.sources.remember(&path, &bytes);
        let folder = path.parent().map_or_else(PathBuf::new, Path::to_path_buf);
        Some(Found { bytes, name: path.display().to_string(), folders: vec![folder] })
    }

    /// Reads what was found; the answer is the place of the ruleset it is, or extends, in [`Loader::rulesets`].
    /// `named_at`: the place of its name; `extended`: it is an overlay that names it, and extends rulesets only.
    fn add(&mut self, found: &Found, named_at: Option<&Span>, extended: bool) -> Option<usize> {
        let log = self.log;
        let placed = |error: Diagnostic| match named_at {
            Some(span) => error.at(span, "named here"),
            None => error.in_file(&found.name),
        };
        let text = match decode(&found.bytes, &found.name) {
            Ok(text) => text,
            Err(error) => {
                log.push(placed(error));
                return None;
            }
        };
        let source = self.sources.add(&found.name, text);
        let sha256 = sha256(&found.bytes);
        document(text, source, log, |mut top| {
            if top.has("overlay") {
                if extended {
                    let error = Diagnostic::error("extends-an-overlay", "an overlay extends a ruleset, not an overlay");
                    log.push(placed(error).help("let both extend the ruleset and ask for both; the later one wins"));
                    return None;
                }
                let overlay = Overlay::begin(&mut top, sha256, self.as_of)?;
                let base = self.base_of(&overlay.extends, &found.folders)?;
                let ruleset = self.rulesets.get_mut(base)?;
                match ruleset.overlays.iter().find(|known| known.id == overlay.id.text) {
                    Some(known) if overlay.is(known) => {
                        let message = format!("`{}` is asked for twice", known.id);
                        let warning = Diagnostic::warning("double-ruleset", message);
                        log.push(placed(warning).help("it is applied once"));
                    }
                    Some(known) => {
                        let message = format!("two different overlays are called `{}`", known.id);
                        let error = Diagnostic::error("double-ruleset", message).at(&overlay.id.span, "");
                        log.push(error.help("give one of them an `id` of its own"));
                    }
                    None => overlay.apply(top, ruleset),
                }
                return Some(base);
            }
            if !top.has("ruleset") {
                let error =
                    Diagnostic::error("not-a-ruleset", format!("`{}` is no ruleset and no overlay", found.name));
                log.push(placed(error).help("a ruleset has a table [ruleset], an overlay has [overlay]"));
                return None;
            }
            let ruleset = read_ruleset(top, sha256)?;
            let known = self.rulesets.iter().position(|known| known.id == ruleset.id);
            Some(match known.and_then(|at| Some((at, self.rulesets.get(at)?))) {
                Some((at, known)) if known.sha256 == ruleset.sha256 => {
                    // An overlay may well extend what has been asked for already.
                    if !extended {
                        let message = format!("`{}` is asked for twice", ruleset.id);
                        let warning = Diagnostic::warning("double-ruleset", message);
                        log.push(placed(warning).help("it is judged once"));
                    }
                    at
                }
                Some((at, _)) => {
                    let message = format!("two different rulesets are called `{}`", ruleset.id);
                    let error = placed(Diagnostic::error("double-ruleset", message));
                    log.push(error.help("give the copy an `id` of its own, or change single limits by an overlay"));
                    at
                }
                None => {
                    self.rulesets.push(ruleset);
                    self.rulesets.len() - 1
                }
            })
        })
    }

    /// The ruleset an overlay extends, read now if it has not been asked for.
    fn base_of(&mut self, name: &Text, folders: &[PathBuf]) -> Option<usize> {
        if let Some(at) = self.rulesets.iter().position(|ruleset| ruleset.id == name.text) {
            return Some(at);
        }
        let found = self.find(&name.text, Some(&name.span), Some(folders))?;
        self.add(&found, Some(&name.span), true)
    }
}

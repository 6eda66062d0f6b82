//! What is wrong in a user's file: a code, the place, and what would be right.
//!
//! A step that reads or binds a file pushes into a [`Log`] and goes on, so that one run shows every
//! mistake. A *finding* about a vehicle is never a diagnostic.

mod log;
mod render;

use std::cell::RefCell;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::rc::Rc;

pub use log::Log;
pub use render::render;

/// Which file of a [`Sources`] a place is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SourceId(usize);

/// A stretch of bytes in one file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Span {
    /// The file.
    pub source: SourceId,
    /// Byte range in it.
    pub range: Range<usize>,
}

/// A text that was read, kept for showing the lines around a place.
#[derive(Debug)]
struct Source {
    name: String,
    text: String,
    /// Where each line begins.
    lines: Vec<usize>,
}

/// The files that were read, and their texts.
#[derive(Default, Debug)]
pub struct Sources {
    texts: RefCell<Vec<Rc<Source>>>,
    files: RefCell<Vec<(PathBuf, Vec<u8>)>>,
}

impl Sources {
    /// Keeps a text under the name that messages use.
    pub fn add(&self, name: &str, text: &str) -> SourceId {
        let ends = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
        let lines = std::iter::once(0).chain(ends.map(|(at, _)| at + 1)).collect();
        let mut texts = self.texts.borrow_mut();
        texts.push(Rc::new(Source { name: name.to_owned(), text: text.to_owned(), lines }));
        SourceId(texts.len() - 1)
    }

    /// Remembers a file that was read, as it was read: documents say by their hashes what they were made from.
    pub fn remember(&self, path: &Path, bytes: &[u8]) {
        let mut files = self.files.borrow_mut();
        if files.iter().all(|(known, _)| known != path) {
            files.push((path.to_path_buf(), bytes.to_vec()));
        }
    }

    /// Every file that was read, with what it held, in the order of reading.
    pub fn files(&self) -> Vec<(PathBuf, Vec<u8>)> {
        self.files.borrow().clone()
    }

    fn get(&self, id: SourceId) -> Option<Rc<Source>> {
        self.texts.borrow().get(id.0).cloned()
    }
}

impl Source {
    /// The line that holds a byte, from 0, and the stretch of bytes it takes without its end.
    fn line(&self, at: usize) -> (usize, Range<usize>) {
        let line = self.lines.partition_point(|start| *start <= at).saturating_sub(1);
        let start = self.lines.get(line).copied().unwrap_or(0);
        let end = self.lines.get(line + 1).map_or(self.text.len(), |next| next - 1);
        (line, start..end.max(start))
    }
}

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// Nothing is judged.
    Error,
    /// Said, and changes no status.
    Warning,
}

/// One mistake, with the places it concerns.
#[derive(Clone, Debug)]
pub struct Diagnostic {
    /// A stable name for the kind of mistake.
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, in one sentence.
    pub message: String,
    /// Where; the first is the main place.
    pub labels: Vec<(Span, String)>,
    /// Name of the file, where there is no place inside it.
    pub file: Option<String>,
    /// What would be right.
    pub help: Vec<String>,
}

impl Diagnostic {
    /// An error without a place yet.
    pub fn error(code: &'static str, message: impl Into<String>) -> Self {
        let (labels, help) = (Vec::new(), Vec::new());
        Self { code, severity: Severity::Error, message: message.into(), labels, file: None, help }
    }

    /// It in a sentence, with its place, for documents.
    pub fn in_words(&self, sources: &Sources) -> String {
        let place = self.labels.first().and_then(|(span, _)| {
            let source = sources.get(span.source)?;
            Some(format!(" ({}, line {})", source.name, source.line(span.range.start).0 + 1))
        });
        let place = place.or_else(|| self.file.as_ref().map(|file| format!(" ({file})"))).unwrap_or_default();
        let help: String = self.help.iter().map(|help| format!("; {help}")).collect();
        format!("{}{place}{help}", self.message)
    }

    /// A warning without a place yet.
    pub fn warning(code: &'static str, message: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(code, message) }
    }

    /// Adds a place and what is to be said there (may be empty).
    #[must_use]
    pub fn at(mut self, span: &Span, label: impl Into<String>) -> Self {
        self.labels.push((span.clone(), label.into()));
        self
    }

    /// Names the file, for a mistake that has no place inside one.
    #[must_use]
    pub fn in_file(mut self, name: impl Into<String>) -> Self {
        self.file = Some(name.into());
        self
    }

    /// Adds what would be right.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help.push(help.into());
        self
    }

    /// Adds the nearest of `known` as a suggestion, or lists what is known where nothing is near.
    #[must_use]
    pub fn nearest<'a>(self, name: &str, known: impl IntoIterator<Item = &'a str>) -> Self {
        let mut known: Vec<&str> = known.into_iter().take(MOST_COMPARED).collect();
        known.sort_unstable();
        known.dedup();
        match nearest(name, &known) {
            Some(near) => self.help(format!("did you mean `{near}`?")),
            None if known.is_empty() => self,
            None if known.len() <= 12 => self.help(format!("known here: {}", known.join(", "))),
            None => self,
        }
    }
}

/// Names compared for a suggestion: more than any vehicle has, few enough to be quick.
const MOST_COMPARED: usize = 2000;

/// The known name most like `name`, if one is like it (Jaro similarity above 0.7).
pub fn nearest<'a>(name: &str, known: &[&'a str]) -> Option<&'a str> {
    let score = |candidate: &&str| strsim::jaro(&name.to_lowercase(), &candidate.to_lowercase());
    let best = known.iter().copied().max_by(|a, b| score(a).total_cmp(&score(b)))?;
    (score(&best) > 0.7).then_some(best)
}

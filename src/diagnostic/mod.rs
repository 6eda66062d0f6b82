//! What is wrong in a user's file: a code, the place, and what would be right.
//!
//! A step that reads or binds a file pushes into a [`Log`] and goes on, so that one run shows every
//! mistake. A *finding* about a vehicle is never a diagnostic.

mod render;

use std::cell::RefCell;
use std::collections::HashSet;
use std::ops::Range;
use std::rc::Rc;

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

/// The texts that were read, kept for showing the lines around a place.
#[derive(Default, Debug)]
pub struct Sources(RefCell<Vec<(Rc<str>, Rc<str>)>>);

impl Sources {
    /// Keeps a text under the name that messages use.
    pub fn add(&self, name: &str, text: &str) -> SourceId {
        let mut files = self.0.borrow_mut();
        files.push((name.into(), text.into()));
        SourceId(files.len() - 1)
    }

    /// Name and text of a file.
    pub fn get(&self, id: SourceId) -> (Rc<str>, Rc<str>) {
        self.0.borrow().get(id.0).cloned().unwrap_or_else(|| ("".into(), "".into()))
    }

    /// `file:line` of a place, for print.
    pub fn place(&self, span: &Span) -> String {
        let (name, text) = self.get(span.source);
        let before = text.get(..span.range.start).unwrap_or(&text);
        format!("{name}:{}", before.matches('\n').count() + 1)
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
        let mut known: Vec<&str> = known.into_iter().collect();
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

/// The known name most like `name`, if one is like it (Jaro similarity above 0.7).
pub fn nearest<'a>(name: &str, known: &[&'a str]) -> Option<&'a str> {
    let score = |candidate: &&str| strsim::jaro(&name.to_lowercase(), &candidate.to_lowercase());
    let best = known.iter().copied().max_by(|a, b| score(a).total_cmp(&score(b)))?;
    (score(&best) > 0.7).then_some(best)
}

/// Collects diagnostics while reading goes on.
#[derive(Default, Debug)]
pub struct Log {
    diagnostics: RefCell<Vec<Diagnostic>>,
    lost: RefCell<HashSet<String>>,
}

impl Log {
    /// Keeps one.
    pub fn push(&self, diagnostic: Diagnostic) {
        self.diagnostics.borrow_mut().push(diagnostic);
    }

    /// Whether anything was an error.
    pub fn has_errors(&self) -> bool {
        self.diagnostics.borrow().iter().any(|one| one.severity == Severity::Error)
    }

    /// Notes a name whose description has a mistake, so that those who refer to it are not blamed as well.
    pub fn lose(&self, name: &str) {
        self.lost.borrow_mut().insert(name.to_owned());
    }

    /// Whether a name was lost to a mistake that has been reported.
    pub fn has_lost(&self, name: &str) -> bool {
        self.lost.borrow().contains(name)
    }

    /// All of them, in the order found.
    pub fn take(&self) -> Vec<Diagnostic> {
        std::mem::take(&mut self.diagnostics.borrow_mut())
    }
}

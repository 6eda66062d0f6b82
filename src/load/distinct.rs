//! Ids that must differ: the first keeps its name, each other one is reported with both places.

use std::collections::HashMap;

use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::Text;

/// The ids of one kind that have been met.
pub struct Distinct<'l> {
    log: &'l Log,
    what: &'static str,
    help: Option<&'static str>,
    met: HashMap<String, Span>,
}

impl<'l> Distinct<'l> {
    /// `what` names the kind in messages, in the plural: `two {what} are called ...`.
    pub fn new(what: &'static str, log: &'l Log) -> Self {
        Self { log, what, help: None, met: HashMap::new() }
    }

    /// What is said to all who meet a double.
    #[must_use]
    pub fn with_help(self, help: &'static str) -> Self {
        Self { help: Some(help), ..self }
    }

    /// Whether the id is new; an error that names both places otherwise.
    pub fn is_new(&mut self, id: &str, span: &Span) -> bool {
        let Some(first) = self.met.get(id) else {
            self.met.insert(id.to_owned(), span.clone());
            return true;
        };
        let error = Diagnostic::error("double-id", format!("two {} are called `{id}`", self.what));
        let error = error.at(span, "again here").at(first, "first here");
        self.log.push(match self.help {
            Some(help) => error.help(help),
            None => error,
        });
        false
    }

    /// [`Distinct::is_new`] for an id with its place.
    pub fn keeps(&mut self, id: &Text) -> bool {
        self.is_new(&id.text, &id.span)
    }
}

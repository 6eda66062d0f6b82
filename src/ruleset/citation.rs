//! Where a number comes from: the documents of a ruleset, `cite`, and what cells inherit.

use std::collections::HashMap;

use super::{BASES, Basis, Citation, Origin};
use crate::diagnostic::Diagnostic;
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table};

/// The documents of a ruleset or overlay, for reading `cite`.
pub(super) struct Citations {
    /// Title and edition by id; neither where the document's own mistakes have been reported.
    documents: HashMap<String, Option<(String, String)>>,
    authority: Option<String>,
}

impl Citations {
    /// Reads each `[[document]]`; `authority` is by whose word an overlay speaks.
    pub fn new(top: &mut Table<'_>, authority: Option<String>) -> Self {
        let mut ids = Distinct::new("documents", top.log());
        let mut documents = HashMap::new();
        for mut table in top.tables("document") {
            let id = table.require("id").and_then(|node| node.id());
            let mut text = |key| table.require(key).and_then(|node| node.text()).map(|text| text.text);
            let (title, edition) = (text("title"), text("edition"));
            table.finish();
            if let Some(id) = id.filter(|id| ids.keeps(id)) {
                documents.insert(id.text, title.zip(edition));
            }
        }
        Self { documents, authority }
    }

    /// A required `cite`. Where it cannot be read a stand-in takes its place, so that the rest of the table is
    /// checked too; the error keeps it from being judged by.
    pub fn require(&self, table: &mut Table<'_>) -> Citation {
        let read = table.require("cite").and_then(|node| self.read(&node));
        read.unwrap_or_else(|| self.own(String::new(), Basis::Memory))
    }

    fn own(&self, why: String, basis: Basis) -> Citation {
        Citation { origin: Origin::Own(why), basis, authority: self.authority.clone() }
    }

    /// `{ document, clause, basis }` or `{ own = "why" }`.
    fn read(&self, node: &Node<'_>) -> Option<Citation> {
        let mut table = node.table()?.named("`cite`");
        if let Some(own) = table.get("own") {
            let basis = table.get("basis").map_or(Some(Basis::Practice), |node| node.word(BASES));
            table.finish();
            return Some(self.own(own.text()?.text, basis?));
        }
        let document = table.require("document").and_then(|node| node.text());
        let clause = table.require("clause").and_then(|node| node.text());
        let basis = table.require("basis").and_then(|node| node.word(BASES));
        let log = table.log();
        table.finish();
        let document = document?;
        let Some(known) = self.documents.get(&document.text) else {
            let error = Diagnostic::error("unknown-document", format!("there is no [[document]] `{}`", document.text));
            let mut known: Vec<&str> = self.documents.keys().map(String::as_str).collect();
            known.sort_unstable();
            log.suggest(error.at(&document.span, "cited here"), &document.text, known);
            return None;
        };
        let (title, edition) = known.clone()?;
        let origin = Origin::Document { title, edition, clause: clause?.text };
        Some(Citation { origin, basis: basis?, authority: self.authority.clone() })
    }

    /// A cell's own `cite`, `basis` or `clause` over what it inherits.
    pub fn refine(&self, table: &mut Table<'_>, inherited: &Citation) -> Option<Citation> {
        let cite = table.get("cite").map(|node| self.read(&node));
        let basis = table.get("basis").map(|node| node.word(BASES));
        let clause = table.get("clause");
        let mut citation = match cite {
            Some(cite) => cite?,
            None => inherited.clone(),
        };
        if let Some(basis) = basis {
            citation.basis = basis?;
        }
        if let Some(node) = clause {
            let text = node.text()?.text;
            match &mut citation.origin {
                Origin::Document { clause, .. } => *clause = text,
                Origin::Own(_) => node.error("no-document", "a clause needs a document", "give `cite` a `document`"),
            }
        }
        Some(citation)
    }
}

//! `cite` and what inherits it: every number says where it comes from and how it is known.

use super::{BASES, Basis, Citation, Origin};
use crate::diagnostic::Diagnostic;
use crate::load::reader::{Node, Table};

/// The documents of a ruleset, for reading `cite`.
pub(super) struct Citations {
    pub documents: Vec<(String, String, String)>,
    pub authority: Option<String>,
}

impl Citations {
    pub(super) fn read_documents(top: &mut Table<'_>) -> Vec<(String, String, String)> {
        let read = |mut table: Table<'_>| {
            let id = table.require("id").and_then(|node| node.id());
            let mut text = |key| table.require(key).and_then(|node| node.text()).map(|text| text.text);
            let (title, edition) = (text("title"), text("edition"));
            table.finish();
            Some((id?.text, title?, edition?))
        };
        top.tables("document").into_iter().filter_map(read).collect()
    }

    /// `{ document, clause, basis }` or `{ own = "why" }`.
    pub(super) fn read(&self, node: &Node<'_>) -> Option<Citation> {
        let mut table = node.table()?.named("`cite`");
        if let Some(own) = table.get("own") {
            let basis = table.get("basis").map_or(Some(Basis::Practice), |node| node.word(BASES));
            table.finish();
            let origin = Origin::Own(own.text()?.text);
            return Some(Citation { origin, basis: basis?, authority: self.authority.clone() });
        }
        let document = table.require("document").and_then(|node| node.text());
        let clause = table.require("clause").and_then(|node| node.text());
        let basis = table.require("basis").and_then(|node| node.word(BASES));
        let log = table.log();
        table.finish();
        let document = document?;
        let Some((_, title, edition)) = self.documents.iter().find(|(id, _, _)| *id == document.text) else {
            let error = Diagnostic::error("unknown-document", format!("there is no [[document]] `{}`", document.text));
            let known = self.documents.iter().map(|(id, _, _)| id.as_str());
            log.push(error.at(&document.span, "cited here").nearest(&document.text, known));
            return None;
        };
        let origin = Origin::Document { title: title.clone(), edition: edition.clone(), clause: clause?.text };
        Some(Citation { origin, basis: basis?, authority: self.authority.clone() })
    }

    /// A required `cite` of a table.
    pub(super) fn require(&self, table: &mut Table<'_>) -> Option<Citation> {
        table.require("cite").and_then(|node| self.read(&node))
    }

    /// A cell's own `cite`, `basis` or `clause` over what it inherits.
    pub(super) fn refine(&self, table: &mut Table<'_>, inherited: &Citation) -> Option<Citation> {
        let mut citation = inherited.clone();
        if let Some(node) = table.get("cite") {
            citation = self.read(&node)?;
        }
        if let Some(node) = table.get("basis") {
            citation.basis = node.word(BASES)?;
        }
        if let Some(node) = table.get("clause") {
            let text = node.text()?.text;
            match &mut citation.origin {
                Origin::Document { clause, .. } => *clause = text,
                Origin::Own(_) => node.error("no-document", "a clause needs a document", "give `cite` a `document`"),
            }
        }
        Some(citation)
    }
}

/// A value that may say where it comes from: bare, or `{ value = ..., basis = ... }`.
pub(super) fn valued<T>(
    name: &str,
    node: &Node<'_>,
    citations: &Citations,
    inherited: &Citation,
    conventions: &mut Vec<(String, Citation)>,
    read: impl Fn(&Node<'_>) -> Option<T>,
) -> Option<T> {
    let (value, citation) = if node.is_table() {
        let mut table = node.table()?;
        let value = table.require("value").and_then(|node| read(&node));
        let citation = citations.refine(&mut table, inherited);
        table.finish();
        (value?, citation?)
    } else {
        (read(node)?, inherited.clone())
    };
    conventions.push((name.to_owned(), citation));
    Some(value)
}

//! Where a number comes from, and how it is known: the documents of a ruleset, `cite`, and what cells inherit.

use std::collections::HashMap;

use crate::diagnostic::Diagnostic;
use crate::load::distinct::Distinct;
use crate::load::reader::{Date, Node, Table, Text};

/// Where a number or a convention comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Citation {
    /// The document, or our own reason.
    pub origin: Origin,
    /// How the number is known.
    pub basis: Basis,
    /// By whose word an overlay set it.
    pub authority: Option<String>,
    /// Where the document was seen.
    pub address: Option<String>,
    /// On which day it was seen there.
    pub seen: Option<Date>,
    /// Who compared the number with the own copy.
    pub confirmed: Option<Confirmed>,
}

/// Who compared a number with the own copy of the document.
#[derive(Clone, Debug, PartialEq)]
pub struct Confirmed {
    /// Name or office.
    pub by: String,
    /// On which day.
    pub on: Date,
    /// The edition of that copy.
    pub edition: String,
    /// Where it stands there.
    pub clause: String,
}

impl Citation {
    /// Our own reason, without a document.
    pub fn own(why: impl Into<String>, basis: Basis) -> Self {
        let origin = Origin::Own(why.into());
        Self { origin, basis, authority: None, address: None, seen: None, confirmed: None }
    }

    /// In one line: `NFPA 1901 ... (2016), clause 13.8.13.5`, after the authority of an overlay.
    pub fn in_words(&self) -> String {
        let text = match &self.origin {
            Origin::Document { title, edition, clause } => {
                let clause = if clause.contains("unknown") { clause.clone() } else { format!("clause {clause}") };
                format!("{title} ({edition}), {clause}")
            }
            Origin::Own(why) => format!("own: {why}"),
        };
        match &self.authority {
            Some(authority) => format!("{authority}; {text}"),
            None => text,
        }
    }
}

/// A document, or our own reason.
#[derive(Clone, Debug, PartialEq)]
pub enum Origin {
    /// A published document.
    Document {
        /// Its title.
        title: String,
        /// Its edition.
        edition: String,
        /// The clause, or that it is unknown.
        clause: String,
    },
    /// Practice or logic: why this is asked.
    Own(String),
}

/// How a number is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Basis {
    /// Read in the document or an official copy.
    Read,
    /// Checked by the user against the own copy.
    Confirmed,
    /// Seen on another party's page.
    SecondHand,
    /// A habit of the trade.
    Practice,
    /// Remembered, not looked up.
    Memory,
}

/// The words for [`Basis`].
pub const BASES: &[(&str, Basis)] = &[
    ("read", Basis::Read),
    ("second-hand", Basis::SecondHand),
    ("memory", Basis::Memory),
    ("practice", Basis::Practice),
    ("confirmed", Basis::Confirmed),
];

impl Basis {
    /// The word in files and print.
    pub fn word(self) -> &'static str {
        BASES.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// A `[[document]]`.
struct Document {
    title: String,
    edition: String,
    seen: Seen,
}

/// Where a document was seen, and when: of the document as a whole, or of what is cited from it.
#[derive(Clone, Default)]
struct Seen {
    address: Option<String>,
    on: Option<Date>,
}

impl Seen {
    fn read(table: &mut Table<'_>) -> Self {
        let address = table.get("address").and_then(|node| node.text()).filter(|text| is_address(text, table));
        let on = table.get("seen").and_then(|node| node.date());
        Self { address: address.map(|text| text.text), on }
    }

    /// What is said of one citation goes before what is said of all.
    fn over(self, all: Self) -> Self {
        Self { address: self.address.or(all.address), on: self.on.or(all.on) }
    }
}

/// An address is one that a browser opens; what stands on a shelf is said in the title.
fn is_address(text: &Text, table: &Table<'_>) -> bool {
    let rest = text.text.strip_prefix("https://").or_else(|| text.text.strip_prefix("http://"));
    let fits = rest.is_some_and(|rest| !rest.is_empty() && !text.text.contains(char::is_whitespace));
    if !fits {
        let error = Diagnostic::error("bad-address", format!("`{}` is no address of a page", text.text));
        table.log().push(error.at(&text.span, "").help("it begins with https:// or http:// and has no blanks"));
    }
    fits
}

/// The documents of a ruleset or overlay, for reading `cite`.
pub(super) struct Citations {
    /// By id; none where the document's own mistakes have been reported.
    documents: HashMap<String, Option<Document>>,
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
            let seen = Seen::read(&mut table);
            table.finish();
            if let Some(id) = id.filter(|id| ids.keeps(id)) {
                let document = title.zip(edition).map(|(title, edition)| Document { title, edition, seen });
                documents.insert(id.text, document);
            }
        }
        Self { documents, authority }
    }

    /// A required `cite`. Where it cannot be read a stand-in takes its place, so that the rest of the table is
    /// checked too; the error keeps it from being judged by.
    pub fn require(&self, table: &mut Table<'_>) -> Citation {
        let read = table.require("cite").and_then(|node| self.read(&node));
        read.unwrap_or_else(|| self.none())
    }

    /// A stand-in where nothing is cited.
    pub fn none(&self) -> Citation {
        self.own(String::new(), Basis::Memory)
    }

    fn own(&self, why: String, basis: Basis) -> Citation {
        Citation { authority: self.authority.clone(), ..Citation::own(why, basis) }
    }

    /// `{ document, clause, basis }` or `{ own = "why" }`.
    fn read(&self, node: &Node<'_>) -> Option<Citation> {
        let mut table = node.table()?.named("`cite`");
        if let Some(own) = table.get("own") {
            let basis = table.get("basis").map_or(Some(Basis::Practice), |node| node.word(BASES));
            let seen = Seen::read(&mut table);
            table.finish();
            return Some(Citation { address: seen.address, seen: seen.on, ..self.own(own.text()?.text, basis?) });
        }
        let document = table.require("document").and_then(|node| node.text());
        let clause = table.require("clause").and_then(|node| node.text());
        let basis = table.require("basis").and_then(|node| node.word(BASES));
        let seen = Seen::read(&mut table);
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
        let Document { title, edition, seen: of_all } = known.as_ref()?;
        let origin = Origin::Document { title: title.clone(), edition: edition.clone(), clause: clause?.text };
        let Seen { address, on } = seen.over(of_all.clone());
        let authority = self.authority.clone();
        Some(Citation { origin, basis: basis?, authority, address, seen: on, confirmed: None })
    }

    /// A cell's own `cite`, `basis`, `clause`, `address` or `seen` over what it inherits.
    pub fn refine(&self, table: &mut Table<'_>, inherited: &Citation) -> Option<Citation> {
        let cite = table.get("cite").map(|node| self.read(&node));
        let basis = table.get("basis").map(|node| node.word(BASES));
        let clause = table.get("clause");
        let seen = Seen::read(table);
        let mut citation = match cite {
            Some(cite) => cite?,
            None => inherited.clone(),
        };
        citation.address = seen.address.or(citation.address);
        citation.seen = seen.on.or(citation.seen);
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

//! Documents for people to hold: which there are, how each is written, and what all of them say of themselves.
//!
//! Adding a document: a room of its own beside this one with a function from [`Paper`] to bytes, and one line in
//! [`PAPERS`]. Those in HTML share the frame in `frame.html`; every text in it is escaped by the template library.

mod figure;
mod made_from;
mod terms;

use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, escape_formatter};
use serde::Serialize;

use super::{CAUTIONS, LeftOut, Report, page, record, sheet, workbook};
use crate::load::files::InputFile;
use crate::load::reader::Date;
use crate::readings::ReadingsJudged;

pub use figure::{Anchor, Figure, Mark};
pub(super) use made_from::made_from;
pub use made_from::named_in;

/// Everything a document may speak of.
#[derive(Debug)]
pub struct Paper<'a> {
    /// What was found.
    pub report: &'a Report<'a>,
    /// The files that it was made from.
    pub inputs: &'a [InputFile],
    /// What was read on the vehicle, if it was asked for.
    pub readings: Option<&'a ReadingsJudged>,
    /// What a sheet leaves out.
    pub left_out: &'a [LeftOut],
}

/// Makes a document; the error is for a person.
pub type Write = fn(&Paper<'_>) -> Result<Vec<u8>, String>;

/// One kind of document.
#[derive(Clone, Copy, Debug)]
pub struct PaperKind {
    /// Its name on the command line.
    pub name: &'static str,
    /// Endings of files, each with how it is written there.
    pub endings: &'static [(&'static str, Write)],
    /// It speaks of readings where there are any.
    pub takes_readings: bool,
    /// It speaks of readings, and is not written without them.
    pub asks_readings: bool,
}

/// Every document about one package.
pub const PAPERS: &[PaperKind] = &[
    PaperKind { name: "page", endings: &[("html", page::write)], takes_readings: false, asks_readings: false },
    PaperKind { name: "workbook", endings: &[("xlsx", workbook::write)], takes_readings: true, asks_readings: false },
    PaperKind {
        name: "sheet",
        endings: &[("html", sheet::write_html), ("csv", sheet::write_csv), ("toml", sheet::write_toml)],
        takes_readings: false,
        asks_readings: false,
    },
    PaperKind {
        name: "record",
        endings: &[("html", record::write_html), ("toml", record::write_toml)],
        takes_readings: true,
        asks_readings: true,
    },
    PaperKind { name: "letter", endings: &[("html", record::write_letter)], takes_readings: true, asks_readings: true },
];

/// The templates, by name. One whose name ends in `.html` has its texts escaped.
const TEMPLATES: &[(&str, &str)] = &[
    ("frame.html", include_str!("frame.html")),
    ("figure.html", include_str!("figure.html")),
    ("about-it.html", include_str!("about_it.html")),
    ("signatures.html", include_str!("signatures.html")),
    ("undecided.html", include_str!("../record/undecided.html")),
    ("page.html", include_str!("../page/page.html")),
    ("bid.html", include_str!("../bid/bid.html")),
    ("change.html", include_str!("../change/change.html")),
    ("sheet.html", include_str!("../sheet/sheet.html")),
    ("record.html", include_str!("../record/record.html")),
    ("letter.html", include_str!("../record/letter.html")),
    ("compare.html", include_str!("../compare/compare.html")),
];

/// The looks of all documents in HTML.
const STYLE: &str = include_str!("style.css");

/// What stands in the frame round every document.
#[derive(Debug, Serialize)]
struct Frame<'a, T: Serialize> {
    /// The name of the document and of the vehicle.
    title: &'a str,
    style: &'static str,
    tool: &'static str,
    version: &'static str,
    as_of: String,
    cautions: &'static [&'static str],
    /// What was doubtful when the files of the package were read.
    doubts: &'a [String],
    /// One line a file, see [`made_from`].
    made_from: String,
    /// The terms that occur in it.
    terms: Vec<terms::Term>,
    /// What is the document's own.
    own: T,
}

/// Fills the template of a document with what is its own.
///
/// # Errors
/// What the template asks and does not get, in words: a mistake in this program.
pub(super) fn in_html(template: &str, title: &str, paper: &Paper<'_>, own: impl Serialize) -> Result<Vec<u8>, String> {
    framed(template, title, paper.report.as_of, (paper.inputs, &paper.report.package().doubts), own)
}

/// The same for a document about several packages, all judged on one day, or about none; `inputs` are the files of them
/// all.
///
/// # Errors
/// What the template asks and does not get, in words: a mistake in this program.
pub(super) fn in_html_of(
    template: &str,
    title: &str,
    as_of: Date,
    inputs: &[InputFile],
    own: impl Serialize,
) -> Result<Vec<u8>, String> {
    framed(template, title, as_of, (inputs, &[]), own)
}

fn framed(
    template: &str,
    title: &str,
    as_of: Date,
    (inputs, doubts): (&[InputFile], &[String]),
    own: impl Serialize,
) -> Result<Vec<u8>, String> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    let syntax = SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build();
    environment.set_syntax(syntax.map_err(|error| format!("{error:#}"))?);
    environment.set_formatter(|out, state, value| match value.as_str().and_then(without_turns) {
        Some(text) => escape_formatter(out, state, &text.into()),
        None => escape_formatter(out, state, value),
    });
    for (name, text) in TEMPLATES {
        environment.add_template(name, text).map_err(|error| format!("{error:#}"))?;
    }
    let mut frame = Frame {
        title,
        style: STYLE,
        tool: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        as_of: as_of.to_string(),
        cautions: CAUTIONS,
        doubts,
        made_from: made_from(inputs),
        terms: Vec::new(),
        own,
    };
    let made = environment.get_template(template).map_err(|error| format!("{error:#}"))?;
    let text = made.render(Serde(&frame)).map_err(|error| format!("{error:#}"))?;
    frame.terms = terms::terms_in(template, &text);
    if frame.terms.is_empty() {
        return Ok(text.into_bytes());
    }
    made.render(Serde(&frame)).map(String::into_bytes).map_err(|error| format!("{error:#}"))
}

/// A text whose letters that turn the direction of writing, or that no page may hold, are spelled out, so that what
/// stands behind them is read as it is written; nothing where it has none.
fn without_turns(text: &str) -> Option<String> {
    let turns = |letter: char| {
        let forbidden = letter.is_control() && !matches!(letter, '\n' | '\t' | '\r');
        forbidden || matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let spelled =
        |letter: char| if turns(letter) { format!("[U+{:04X}]", u32::from(letter)) } else { letter.to_string() };
    text.contains(turns).then(|| text.chars().map(spelled).collect())
}

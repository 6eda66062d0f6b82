//! A reader over one TOML table that keeps places, logs every mistake and goes on.
//!
//! Serde stops at the first mistake of a table, and a person with forty heads wants to see all of them at once;
//! so tables are asked key by key, and [`Table::finish`] reports what nobody asked for.

use std::borrow::Cow;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::diagnostic::{Diagnostic, Log, SourceId, Span, nearest};
use crate::load::figure::{Figure, figure};
use crate::load::syntax;

/// A text and where it stands.
#[derive(Clone, Debug)]
pub struct Text {
    /// The text.
    pub text: String,
    /// Its place.
    pub span: Span,
    /// How many bytes of the place stand before it, where it stands in the file as it is, without escapes.
    pub opening: Option<usize>,
}

impl Text {
    /// The place of a part of it, by bytes. Where escapes part the text from the file, all of it is meant.
    pub fn part(&self, at: usize, len: usize) -> Span {
        let all = &self.span.range;
        let start = self.opening.map(|opening| all.start + opening + at);
        let range = start.map_or(all.clone(), |start| start..start + len);
        Span { source: self.span.source, range }
    }
}

/// How many bytes open a text that takes so many more bytes in the file than it has: `"`, or `"""` and perhaps the end
/// of its line.
fn opening(more: usize) -> usize {
    more - if more < 6 { 1 } else { 3 }
}

/// A calendar date as written in a file (TOML's local date).
pub type Date = toml::value::Date;

/// Whether a text may stand in ids of findings: letters, digits, `.`, `_`, `-`.
pub fn is_name(text: &str) -> bool {
    let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-');
    !text.is_empty() && text.chars().all(fits)
}

/// Whether a name may stand in ids of findings; an error says where it may not.
pub fn is_id(name: &Text, log: &Log) -> bool {
    let fits = is_name(&name.text);
    if !fits {
        let error = Diagnostic::error("bad-id", format!("`{}` cannot be an id", name.text)).at(&name.span, "");
        log.push(error.help("ids are made of letters, digits, `.`, `_` and `-`"));
    }
    fits
}

/// One table that is being read.
pub struct Table<'d> {
    log: &'d Log,
    source: SourceId,
    table: &'d DeTable<'d>,
    range: Range<usize>,
    name: String,
    known: Vec<&'static str>,
}

/// One value that is being read.
#[derive(Clone)]
pub struct Node<'d> {
    log: &'d Log,
    source: SourceId,
    value: &'d Spanned<DeValue<'d>>,
    key: String,
}

/// Parses a whole file and hands its top table to `read`. Syntax errors are all logged; then `read` is not called.
pub fn document<T>(text: &str, source: SourceId, log: &Log, read: impl FnOnce(Table<'_>) -> Option<T>) -> Option<T> {
    let (root, errors) = DeTable::parse_recoverable(text);
    let told = errors.iter().map(|error| (error.span().unwrap_or(0..0), error.message()));
    syntax::report(told.collect(), text, source, log);
    if !errors.is_empty() {
        return None;
    }
    let range = root.span();
    let name = "the file".to_owned();
    let mut top = Table { log, source, table: root.get_ref(), range, name, known: Vec::new() };
    // Without `format` the rest is read all the same, to show its mistakes too; another format is another language.
    let format = top.require("format").and_then(|node| node.number().map(|number| (number, node.span())));
    if let Some((number, span)) = format
        && number != 1.0
    {
        let error = Diagnostic::error("unknown-format", "this format of file is not known").at(&span, "");
        log.push(error.help("this version of wayproof reads `format = 1`"));
        return None;
    }
    read(top)
}

impl<'d> Table<'d> {
    /// Where the table begins.
    pub fn span(&self) -> Span {
        Span { source: self.source, range: self.range.clone() }
    }

    /// What messages call this table.
    #[must_use]
    pub fn named(mut self, name: impl Into<String>) -> Self {
        self.name = name.into();
        self
    }

    /// What messages call it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The value of a key that may be absent.
    pub fn get(&mut self, key: &'static str) -> Option<Node<'d>> {
        self.known.push(key);
        let value = self.table.get(key)?;
        Some(Node { log: self.log, source: self.source, value, key: key.to_owned() })
    }

    /// The value of a key that must be there.
    pub fn require(&mut self, key: &'static str) -> Option<Node<'d>> {
        let found = self.get(key);
        if found.is_none() {
            let message = format!("`{key}` is missing in {}", self.name);
            self.log.push(Diagnostic::error("missing-key", message).at(&self.span(), "here"));
        }
        found
    }

    /// The same, of a key whose value is not plain from its name; the error shows an example of it.
    pub fn require_like(&mut self, key: &'static str, example: &str) -> Option<Node<'d>> {
        let found = self.get(key);
        if found.is_none() {
            let message = format!("`{key}` is missing in {}", self.name);
            let error = Diagnostic::error("missing-key", message).at(&self.span(), "here");
            self.log.push(error.help(format!("for example {example}")));
        }
        found
    }

    /// Whether a key stands here, without asking for it.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// The tables of `[[key]]`, each named `key` in messages. One that is written `[key]` is read all the same, so that
    /// what uses it is not called mistaken too.
    pub fn tables(&mut self, key: &'static str) -> Vec<Table<'d>> {
        let Some(node) = self.get(key) else { return Vec::new() };
        if node.is_table() {
            let message = format!("`{key}` must be a list, but one table stands here");
            node.error("wrong-type", message, format!("two square brackets make a list: write `[[{key}]]`"));
            return node.table().into_iter().collect();
        }
        node.list().iter().filter_map(Node::table).collect()
    }

    /// All keys and values in the order of the file, for tables whose keys are names (zones, inputs).
    pub fn entries(&self) -> Vec<(Text, Node<'d>)> {
        let mut entries: Vec<_> = self
            .table
            .iter()
            .map(|(key, value)| {
                let span = Span { source: self.source, range: key.span() };
                let name = Text { text: key.get_ref().to_string(), span, opening: None };
                let node = Node { log: self.log, source: self.source, value, key: name.text.clone() };
                (name, node)
            })
            .collect();
        entries.sort_by_key(|(name, _)| name.span.range.start);
        entries
    }

    /// Reports keys that nobody asked for.
    pub fn finish(self) {
        for (name, _) in self.entries() {
            if !self.known.contains(&name.text.as_str()) {
                let message = format!("`{}` is not a key of {}", name.text, self.name);
                let error = Diagnostic::error("unknown-key", message).at(&name.span, "not known here");
                self.log.suggest(error, &name.text, self.known.iter().copied());
            }
        }
    }

    /// The log, for a reader that has more to say.
    pub fn log(&self) -> &'d Log {
        self.log
    }
}

impl<'d> Node<'d> {
    /// Where the value stands.
    pub fn span(&self) -> Span {
        Span { source: self.source, range: self.value.span() }
    }

    /// Logs an error at this value.
    pub fn error(&self, code: &'static str, message: impl Into<String>, help: impl Into<String>) {
        self.log.push(Diagnostic::error(code, message).at(&self.span(), "").help(help));
    }

    /// The log, for a reader that has more to say.
    pub fn log(&self) -> &'d Log {
        self.log
    }

    fn wrong_type(&self, wanted: &str) {
        let is = match self.value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let message = format!("`{}` must be {wanted}, but {is} stands here", self.key);
        self.log.push(Diagnostic::error("wrong-type", message).at(&self.span(), format!("expected {wanted}")));
    }

    /// Whether the value is a text / table / list, for keys that may be written in two ways.
    pub fn is_text(&self) -> bool {
        self.value.get_ref().is_str()
    }

    /// See [`Node::is_text`].
    pub fn is_table(&self) -> bool {
        self.value.get_ref().is_table()
    }

    /// See [`Node::is_text`].
    pub fn is_list(&self) -> bool {
        self.value.get_ref().is_array()
    }

    /// A text.
    pub fn text(&self) -> Option<Text> {
        match self.value.get_ref().as_str() {
            Some(text) => {
                let span = self.span();
                // What the parser did not have to copy stands in the file as it is.
                let is_plain = matches!(self.value.get_ref(), DeValue::String(Cow::Borrowed(_)));
                let more = span.range.len().checked_sub(text.len()).filter(|more| is_plain && *more >= 2);
                Some(Text { text: text.to_owned(), span, opening: more.map(opening) })
            }
            None => {
                self.wrong_type("a text in quotes");
                None
            }
        }
    }

    /// A text that may stand in ids of findings: letters, digits, `.`, `_`, `-`.
    pub fn id(&self) -> Option<Text> {
        self.text().filter(|text| is_id(text, self.log))
    }

    /// A text that must be one of `words`; the answer is its place in the list.
    pub fn word<T: Copy>(&self, words: &[(&str, T)]) -> Option<T> {
        let text = self.text()?;
        let found = words.iter().find(|(word, _)| *word == text.text);
        if found.is_none() {
            let message = format!("`{}` does not fit `{}`", text.text, self.key);
            let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let near = nearest(&text.text, &known).map(|near| format!("did you mean `{near}`? ")).unwrap_or_default();
            let error = Diagnostic::error("unknown-word", message).at(&text.span, "");
            self.log.push(error.help(format!("{near}one of: {}", known.join(", "))));
        }
        found.map(|(_, value)| *value)
    }

    /// A yes or no.
    pub fn boolean(&self) -> Option<bool> {
        let found = self.value.get_ref().as_bool();
        if found.is_none() {
            self.wrong_type("true or false");
        }
        found
    }

    /// A finite number.
    pub fn number(&self) -> Option<f64> {
        let digits = match self.value.get_ref() {
            DeValue::Integer(whole) if whole.radix() == 10 => whole.as_str().to_owned(),
            DeValue::Float(float) => float.as_str().to_owned(),
            _ => {
                self.wrong_type("a number");
                return None;
            }
        };
        match digits.replace('_', "").parse::<f64>() {
            Ok(number) if number.is_finite() => Some(number),
            _ => {
                self.error("not-finite", format!("`{digits}` is not a finite number"), "write a finite number");
                None
            }
        }
    }

    /// A date, written without quotes.
    pub fn date(&self) -> Option<Date> {
        let found = self.value.get_ref().as_datetime().and_then(|datetime| datetime.date);
        if found.is_none() {
            self.wrong_type("a date such as 2026-02-10");
        }
        found
    }

    /// The members of a list.
    pub fn list(&self) -> Vec<Node<'d>> {
        match self.value.get_ref().as_array() {
            Some(array) => {
                let (log, source) = (self.log, self.source);
                array.iter().map(|value| Node { log, source, value, key: self.key.clone() }).collect()
            }
            None => {
                self.wrong_type("a list");
                Vec::new()
            }
        }
    }

    /// A list of texts. A text that stands alone is a mistake, and read all the same, so that what uses it is not
    /// called mistaken too.
    pub fn texts(&self) -> Vec<Text> {
        if let Some(text) = self.value.get_ref().as_str() {
            let message = format!("`{}` must be a list, but a text stands here", self.key);
            self.error("wrong-type", message, format!("square brackets make a list: {} = [\"{text}\"]", self.key));
            return self.text().into_iter().collect();
        }
        self.list().iter().filter_map(Node::text).collect()
    }

    /// A table.
    pub fn table(&self) -> Option<Table<'d>> {
        match self.value.get_ref().as_table() {
            Some(table) => {
                let name = format!("`{}`", self.key);
                let (log, source, range) = (self.log, self.source, self.value.span());
                Some(Table { log, source, table, range, name, known: Vec::new() })
            }
            None => {
                self.wrong_type("a table");
                None
            }
        }
    }

    /// A figure with a unit, as a typed quantity.
    pub fn quantity<Q: Figure>(&self) -> Option<Q> {
        match self.value.get_ref() {
            DeValue::String(text) => figure(text, &self.span(), self.log),
            DeValue::Integer(number) => figure(number.as_str(), &self.span(), self.log),
            DeValue::Float(number) => figure(number.as_str(), &self.span(), self.log),
            _ => {
                self.wrong_type(&format!("{} with its unit, in quotes", Q::DIMENSION.name()));
                None
            }
        }
    }

    /// A figure above zero.
    pub fn positive<Q: Figure>(&self) -> Option<Q> {
        let quantity: Q = self.quantity()?;
        if quantity <= Q::ZERO {
            self.error("not-positive", format!("`{}` must be above zero", self.key), "write a figure above zero");
            return None;
        }
        Some(quantity)
    }

    /// A figure from `low` to `high`; `range` says these in words.
    pub fn within<Q: Figure>(&self, low: Q, high: Q, range: &str) -> Option<Q> {
        let quantity: Q = self.quantity()?;
        if !(low..=high).contains(&quantity) {
            self.error(
                "out-of-range",
                format!("`{}` lies outside {range}", self.key),
                format!("write a figure from {range}"),
            );
            return None;
        }
        Some(quantity)
    }
}

/// A key that may be absent, read: `Some(None)` where it is, `None` where its value is wrong and has been reported.
pub fn transpose<T>(asked: Option<Option<T>>) -> Option<Option<T>> {
    match asked {
        None => Some(None),
        Some(None) => None,
        Some(found) => Some(found),
    }
}

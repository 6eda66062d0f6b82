//! What is said of a file that is no TOML: the mistakes that people make who write it for the first time, each told in
//! their words and once a line, with what would be right.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::ops::Range;

use crate::diagnostic::{Diagnostic, Log, SourceId, Span};

/// Tables that are lists, in packages, catalogues and rulesets.
const LISTS: &[&str] = &[
    "head",
    "body",
    "pattern",
    "display",
    "mode",
    "exception",
    "model",
    "model.emitter",
    "document",
    "rule",
    "permitted",
    "change",
];

/// Tables of one name that a message marks; the rest are left out.
const MOST_MARKED: usize = 6;

/// What the parser says of a key or a table that stands twice.
const DUPLICATE: &str = "duplicate key";

/// What the parser says of a text that never ends.
const UNCLOSED: &str = "invalid basic string, expected `\"`";

/// What the parser says of words without quotes.
const UNQUOTED: &str = "string values must be quoted, expected literal string";

/// What the parser says of what stands behind a complete value.
const UNEXPECTED: &str = "unexpected key or value";

/// What the parser says, and where.
pub(super) type Told<'t> = (Range<usize>, &'t str);

/// One line of the file that holds a mistake.
struct Line<'t> {
    start: usize,
    text: &'t str,
}

/// Logs the mistakes in the order of the file.
pub(super) fn report(told: Vec<Told<'_>>, text: &str, source: SourceId, log: &Log) {
    if told.is_empty() {
        return;
    }
    let place = |range: Range<usize>| Span { source, range };
    let mut by_line: BTreeMap<usize, Vec<Told<'_>>> = BTreeMap::new();
    let ends: Vec<usize> = text.match_indices('\n').map(|(at, _)| at + 1).collect();
    for (range, message) in told {
        let line = ends.partition_point(|end| *end <= range.start);
        by_line.entry(line).or_default().push((range, message));
    }
    let mut headers = Headers::new(text);
    let mut quotes = Vec::new();
    for (line, mut told) in by_line {
        told.sort_by_key(|(range, _)| range.start);
        let start = line.checked_sub(1).and_then(|before| ends.get(before)).copied().unwrap_or(0);
        let end = ends.get(line).copied().unwrap_or(text.len());
        let line = Line { start, text: text.get(start..end).unwrap_or_default().trim_end_matches(['\n', '\r']) };
        if told.iter().all(|(_, message)| *message == DUPLICATE) {
            if let Some(error) = headers.repeated(&line, &place) {
                log.push(error);
                continue;
            }
            if headers.is_told(&line) {
                continue;
            }
        }
        if let Some(quote) = line.typographic() {
            quotes.push(quote);
            continue;
        }
        let errors = line.mistake(&told).map_or_else(|| plain(&line, &told), |mistake| vec![mistake]);
        for (message, range, help) in errors {
            let error = Diagnostic::error("toml-syntax", message).at(&place(range), "");
            log.push(match help {
                Some(help) => error.help(help),
                None => error,
            });
        }
    }
    if let Some(error) = typographic(&quotes, text, &place) {
        log.push(error);
    }
}

/// One error for all quotes of a word processor: it changes every one of a file.
fn typographic(quotes: &[Range<usize>], text: &str, place: &impl Fn(Range<usize>) -> Span) -> Option<Diagnostic> {
    let message = match quotes {
        [] => return None,
        [only] => format!("`{}` is a typographic quote", text.get(only.clone()).unwrap_or_default()),
        all => format!("typographic quotes stand on {} lines", all.len()),
    };
    let error = Diagnostic::error("toml-syntax", message);
    let error = quotes.iter().take(MOST_MARKED).fold(error, |error, quote| error.at(&place(quote.clone()), ""));
    Some(error.help("write straight quotes, \" and \"; word processors change them, text editors do not"))
}

/// A message, its place, and what would be right.
type Mistake = (String, Range<usize>, Option<String>);

/// The parser's own words, where nothing better is known.
fn plain(line: &Line<'_>, told: &[Told<'_>]) -> Vec<Mistake> {
    let one = |(range, message): &Told<'_>| match *message {
        UNQUOTED => {
            let words = line.part(range).unwrap_or_default();
            let help = format!("write it in quotes: \"{}\"", words.replace('"', ""));
            ("this text stands without quotes".to_owned(), range.clone(), Some(help))
        }
        UNCLOSED => {
            let help = "a text ends on its line, with the quote that it begins with".to_owned();
            ("this text has no end".to_owned(), range.clone(), Some(help))
        }
        DUPLICATE => ("this key stands twice in one table".to_owned(), range.clone(), None),
        other => (other.to_owned(), range.clone(), None),
    };
    told.iter().map(one).collect()
}

impl Line<'_> {
    fn part(&self, range: &Range<usize>) -> Option<&str> {
        self.text.get(range.start.checked_sub(self.start)?..range.end.checked_sub(self.start)?)
    }

    fn place(&self, range: Range<usize>) -> Range<usize> {
        self.start + range.start..self.start + range.end
    }

    /// The mistake that explains whatever the parser says of this line, if it is one of those known.
    fn mistake(&self, told: &[Told<'_>]) -> Option<Mistake> {
        let is_unquoted = |(_, message): &Told<'_>| *message == UNQUOTED || message.starts_with(UNEXPECTED);
        let (key, value) = self.text.split_once('=').unwrap_or((self.text, ""));
        let (key, value) = (key.trim(), without_remark(value).trim());
        let words: Vec<&str> = key.split_whitespace().collect();
        match words.as_slice() {
            [_] if !value.is_empty() && told.iter().all(is_unquoted) => self.unquoted(key, value),
            [_, _, ..] if !value.is_empty() && words.iter().all(|word| is_bare(word)) => {
                let help = format!("names have no spaces; use a hyphen: {} = {value}", words.join("-"));
                Some((format!("the name `{key}` has spaces"), self.found(key)?, Some(help)))
            }
            [name, rest @ ..] if !self.text.contains('=') && is_bare(name) && !rest.is_empty() => {
                let rest = rest.join(" ");
                let rest = if rest.starts_with(['"', '\'', '[', '{']) { rest } else { format!("\"{rest}\"") };
                let help = format!("put `=` behind the name: {name} = {rest}");
                Some((format!("`=` is missing behind `{name}`"), self.found(key)?, Some(help)))
            }
            _ => None,
        }
    }

    /// Quotes of a word processor, outside a text in straight ones or where such a text should end.
    fn typographic(&self) -> Option<Range<usize>> {
        let mut open: Option<char> = None;
        let mut found = None;
        for (at, c) in self.text.char_indices() {
            match open {
                Some(quote) => open = open.filter(|_| c != quote),
                None if c == '#' => break,
                None if matches!(c, '"' | '\'') => open = Some(c),
                None if is_typographic(c) => {
                    found = Some((at, c));
                    break;
                }
                None => {}
            }
        }
        let last =
            self.text.trim_end().char_indices().next_back().filter(|(_, c)| open.is_some() && is_typographic(*c));
        let (at, c) = found.or(last)?;
        Some(self.place(at..at + c.len_utf8()))
    }

    /// `when = warning == off`
    fn unquoted(&self, key: &str, value: &str) -> Option<Mistake> {
        let starts = value.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '(' | '-' | '+' | '.'));
        // `length = 5 width = 2` are two entries on one line.
        let single = value.match_indices('=').find(|(at, _)| {
            let (before, after) = (value.get(..*at).unwrap_or_default(), value.get(at + 1..).unwrap_or_default());
            !before.ends_with(['=', '!', '<', '>']) && !after.starts_with('=')
        });
        let two = single.is_some_and(|(at, _)| value.get(..at).is_some_and(|head| head.split_whitespace().count() > 1));
        if !starts || two || !is_bare(key) {
            return None;
        }
        let help = format!("write it in quotes: {key} = \"{}\"", value.replace(['"', '\''], ""));
        Some(("this text stands without quotes".to_owned(), self.found(value)?, Some(help)))
    }

    /// Where a part of the line stands that was cut out of it.
    fn found(&self, part: &str) -> Option<Range<usize>> {
        self.text.rfind(part).map(|at| self.place(at..at + part.len()))
    }
}

/// The heads of tables, with their lines.
struct Headers<'t> {
    all: Vec<(usize, &'t str)>,
    by_name: HashMap<&'t str, Vec<usize>>,
    told: HashSet<&'t str>,
}

impl<'t> Headers<'t> {
    fn new(text: &'t str) -> Self {
        let mut start = 0;
        let (mut all, mut by_name): (Vec<_>, HashMap<&str, Vec<usize>>) = (Vec::new(), HashMap::new());
        for line in text.split_inclusive('\n') {
            if let Some(name) = header(line) {
                all.push((start, name));
                by_name.entry(name).or_default().push(start);
            }
            start += line.len();
        }
        Self { all, by_name, told: HashSet::new() }
    }

    /// The mistake of a table that stands twice as `[pattern]`, told once a name.
    fn repeated(&mut self, line: &Line<'t>, place: &impl Fn(Range<usize>) -> Span) -> Option<Diagnostic> {
        let name = header(line.text)?;
        if !self.told.insert(name) {
            return None;
        }
        let error = Diagnostic::error("toml-syntax", format!("the table `{name}` stands more than once"));
        let mut error = error.at(&place(line.place(0..line.text.trim_end().len())), "again here");
        let others = self.by_name.get(name).into_iter().flatten().filter(|start| **start != line.start);
        for start in others.take(MOST_MARKED) {
            let label = if *start < line.start { "here already" } else { "and here" };
            error = error.at(&place(*start..*start + name.len() + 2), label);
        }
        Some(if LISTS.contains(&name) {
            error.help(format!("two square brackets make a list: write `[[{name}]]` at each of them"))
        } else {
            error.help(format!("put all its lines below one `[{name}]`"))
        })
    }

    /// Whether a line stands in, or at the head of, a table that has been told of.
    fn is_told(&self, line: &Line<'_>) -> bool {
        let above = self.all.partition_point(|(start, _)| *start <= line.start);
        let head = above.checked_sub(1).and_then(|at| self.all.get(at));
        head.is_some_and(|(_, name)| self.told.contains(name))
    }
}

/// The name in `[name]` or `[[name]]`.
fn header(line: &str) -> Option<&str> {
    let line = line.trim_end().strip_prefix('[')?;
    let line = line.strip_prefix('[').unwrap_or(line);
    let (name, _) = line.split_once(']')?;
    Some(name.trim()).filter(|name| name.split('.').all(is_bare))
}

/// A value without the remark behind it.
fn without_remark(value: &str) -> &str {
    if value.contains(['"', '\'']) { value } else { value.split('#').next().unwrap_or(value) }
}

fn is_bare(name: &str) -> bool {
    !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-'))
}

fn is_typographic(c: char) -> bool {
    matches!(c, '\u{2018}'..='\u{201f}' | '\u{ab}' | '\u{bb}' | '\u{2039}' | '\u{203a}' | '\u{301d}'..='\u{301f}')
}

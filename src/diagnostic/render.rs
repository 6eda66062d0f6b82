//! Diagnostics as text: title, file, line, caret, help. The only place that knows the renderer.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Element, Group, Level, Origin, Renderer, Snippet};

use super::{Diagnostic, Severity, Source, SourceId, Sources, Span};

/// Places at most this many lines apart are shown as one excerpt.
const ONE_EXCERPT: usize = 20;

/// Longer lines are not shown; their place is given as numbers.
const LONGEST_LINE: usize = 2000;

/// More are counted rather than shown. A log keeps fewer.
const MOST_SHOWN: usize = 300;

/// More of a message is left out, in characters.
const LONGEST_MESSAGE: usize = 500;

/// The text of `diagnostics`; with terminal colours if `colour`.
pub fn render(diagnostics: &[Diagnostic], sources: &Sources, colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let shown = diagnostics.iter().take(MOST_SHOWN);
    let mut texts: Vec<String> = shown.map(|one| render_one(&renderer, one, sources)).collect();
    if let Some(more) = diagnostics.len().checked_sub(MOST_SHOWN).filter(|more| *more > 0) {
        texts.push(format!("and {more} more"));
    }
    texts.join("\n\n")
}

fn render_one(renderer: &Renderer, one: &Diagnostic, sources: &Sources) -> String {
    let level = match one.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let excerpts = excerpts(one, sources);
    let mut body: Vec<Element<'_>> = excerpts.iter().map(Excerpt::element).collect();
    if let (true, Some(file)) = (body.is_empty(), &one.file) {
        body.push(Element::from(Origin::path(file.clone())));
    }
    let mut groups: Vec<Group<'_>> = vec![level.primary_title(shortened(&one.message)).id(one.code).elements(body)];
    for help in &one.help {
        groups.push(Group::with_title(Level::HELP.secondary_title(shortened(help))));
    }
    renderer.render(&groups)
}

/// A message repeats names and figures of the file, of whatever length they are there.
fn shortened(text: &str) -> String {
    let mut shown: String = text.chars().take(LONGEST_MESSAGE).collect();
    if shown.len() < text.len() {
        shown.push_str(" ...");
    }
    shown
}

/// Some neighbouring lines of one file, with the places that are marked in them.
struct Excerpt {
    file: SourceId,
    name: String,
    text: String,
    /// First and last line, from 0.
    first: usize,
    last: usize,
    /// Where the text begins in the file.
    start: usize,
    /// Line and byte column of the first mark, from 1.
    place: (usize, usize),
    marks: Vec<Mark>,
}

struct Mark {
    kind: AnnotationKind,
    range: Range<usize>,
    label: String,
}

/// The places of a diagnostic, the main one first; near ones share an excerpt.
fn excerpts(one: &Diagnostic, sources: &Sources) -> Vec<Excerpt> {
    let mut excerpts: Vec<Excerpt> = Vec::new();
    for (span, label) in &one.labels {
        let Some(source) = sources.get(span.source) else { continue };
        let kind = if excerpts.is_empty() { AnnotationKind::Primary } else { AnnotationKind::Context };
        let range = inside(span, &source);
        let line = source.line(range.start).0;
        let mark = Mark { kind, range, label: label.clone() };
        let near = |other: &&mut Excerpt| {
            other.file == span.source && line + ONE_EXCERPT >= other.first && line <= other.last + ONE_EXCERPT
        };
        match excerpts.iter_mut().find(near) {
            Some(excerpt) => excerpt.add(mark, line, &source),
            None => excerpts.push(Excerpt::new(span.source, mark, line, &source)),
        }
    }
    excerpts
}

impl Excerpt {
    fn new(file: SourceId, mark: Mark, line: usize, source: &Source) -> Self {
        let place = (line + 1, mark.range.start - source.line(mark.range.start).1.start + 1);
        let (name, text, marks) = (source.name.clone(), String::new(), Vec::new());
        let mut excerpt = Self { file, name, text, first: line, last: line, start: 0, place, marks };
        excerpt.add(mark, line, source);
        excerpt
    }

    fn add(&mut self, mark: Mark, line: usize, source: &Source) {
        (self.first, self.last) = (self.first.min(line), self.last.max(line));
        self.marks.push(mark);
        let at = |line: usize| source.lines.get(line).copied().unwrap_or(0);
        self.start = at(self.first);
        let end = source.line(at(self.last)).1.end;
        self.text = source.text.get(self.start..end).unwrap_or_default().to_owned();
    }

    fn element(&self) -> Element<'_> {
        if self.text.lines().any(|line| line.len() > LONGEST_LINE) {
            let (line, column) = self.place;
            return Element::from(Origin::path(self.name.clone()).line(line).char_column(column));
        }
        let mut snippet = Snippet::source(self.text.clone()).path(self.name.clone()).line_start(self.first + 1);
        for mark in &self.marks {
            let range = mark.range.start.saturating_sub(self.start)..mark.range.end.saturating_sub(self.start);
            snippet = snippet.annotation(mark.kind.span(range).label(mark.label.clone()));
        }
        Element::from(snippet)
    }
}

/// A range inside the text and on character borders, whatever was handed in; of several lines only the first.
fn inside(span: &Span, source: &Source) -> Range<usize> {
    let text = &source.text;
    let floor = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = floor(span.range.start);
    let line = source.line(start).1;
    start..floor(span.range.end.min(line.end)).max(start)
}

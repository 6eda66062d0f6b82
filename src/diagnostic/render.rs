//! Diagnostics as text: title, file, line, caret, help. The only place that knows the renderer.

use annotate_snippets::{AnnotationKind, Element, Group, Level, Origin, Renderer, Snippet};

use super::{Diagnostic, Severity, SourceId, Sources, Span};

/// More are counted rather than shown: nobody reads on.
const MOST_SHOWN: usize = 100;

/// The text of `diagnostics`, the first hundred of them in full; with terminal colours if `colour`.
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
    let mut body: Vec<Element<'_>> = files(one)
        .into_iter()
        .map(|file| {
            let (name, text) = sources.get(file);
            let labels = || one.labels.iter().enumerate().filter(|(_, (span, _))| span.source == file);
            // Only the lines that are spoken of: a renderer that walks a long file for each mistake takes for ever.
            let ranges: Vec<_> = labels().map(|(_, (span, _))| inside(span, &text)).collect();
            let start = ranges.iter().map(|range| range.start).min().unwrap_or(0);
            let end = ranges.iter().map(|range| range.end).max().unwrap_or(0);
            let from = text.get(..start).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
            let to = text.get(end..).and_then(|after| after.find('\n')).map_or(text.len(), |at| end + at);
            let lines_before = text.get(..from).map_or(0, |before| before.matches('\n').count());
            let lines = text.get(from..to).unwrap_or_default().to_owned();
            let mut snippet = Snippet::source(lines).path(name.to_string()).line_start(lines_before + 1);
            for ((at, (_, label)), range) in labels().zip(&ranges) {
                let kind = if at == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
                snippet = snippet.annotation(kind.span(range.start - from..range.end - from).label(label.clone()));
            }
            Element::from(snippet)
        })
        .collect();
    if let (true, Some(file)) = (body.is_empty(), &one.file) {
        body.push(Element::from(Origin::path(file.clone())));
    }
    let mut groups: Vec<Group<'_>> = vec![level.primary_title(one.message.clone()).id(one.code).elements(body)];
    for help in &one.help {
        groups.push(Group::with_title(Level::HELP.secondary_title(help.clone())));
    }
    renderer.render(&groups)
}

/// The files a diagnostic speaks of, the main one first.
fn files(one: &Diagnostic) -> Vec<SourceId> {
    let mut files = Vec::new();
    for (span, _) in &one.labels {
        if !files.contains(&span.source) {
            files.push(span.source);
        }
    }
    files
}

/// A range that lies inside the text and on character borders, whatever was handed in.
fn inside(span: &Span, text: &str) -> std::ops::Range<usize> {
    let floor = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = floor(span.range.start);
    start..floor(span.range.end).max(start)
}

//! Diagnostics as text: title, file, line, caret, help. The only place that knows the renderer.

use annotate_snippets::{AnnotationKind, Element, Group, Level, Origin, Renderer, Snippet};

use super::{Diagnostic, Severity, SourceId, Sources, Span};

/// The text of all `diagnostics`; with terminal colours if `colour`.
pub fn render(diagnostics: &[Diagnostic], sources: &Sources, colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let texts: Vec<String> = diagnostics.iter().map(|one| render_one(&renderer, one, sources)).collect();
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
            let mut snippet = Snippet::source(text.clone()).path(name);
            for (at, (span, label)) in one.labels.iter().enumerate().filter(|(_, (span, _))| span.source == file) {
                let kind = if at == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
                snippet = snippet.annotation(kind.span(inside(span, &text)).label(label.clone()));
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

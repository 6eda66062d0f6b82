//! Paragraphs, headings and settings in words, for a terminal of a given width.

use crate::judge::Finding;
use crate::logic::{Region, Space};

/// Narrower than this nothing can be read; a terminal that says less is not believed.
pub(super) const LEAST_WIDTH: u16 = 60;

/// A title, underlined, after an empty line.
pub(super) fn heading(text: &str, width: u16, out: &mut String) {
    out.push('\n');
    paragraph(text, "  ", width, out);
    let longest = text.chars().count().min(usize::from(width.max(LEAST_WIDTH)));
    out.push_str(&"=".repeat(longest));
    out.push('\n');
}

/// One paragraph, wrapped at words; further lines begin with `indent`.
pub(super) fn paragraph(text: &str, indent: &str, width: u16, out: &mut String) {
    let lead: String = text.chars().take_while(|c| *c == ' ').collect();
    wrapped(&lead, text, indent, width, out);
}

/// A paragraph, and behind its first line what is there to be pasted, line by line as it is.
pub(super) fn with_lines(text: &str, indent: &str, width: u16, out: &mut String) {
    let (said, lines) = text.split_once('\n').unwrap_or((text, ""));
    paragraph(said, indent, width, out);
    for line in lines.lines() {
        out.push_str(&format!("{indent}{line}\n"));
    }
}

/// A label in a column of its own, and a text wrapped beside it.
pub(super) fn labelled(label: &str, text: &str, width: u16, out: &mut String) {
    wrapped(&format!("{label:<9} "), text, "          ", width, out);
}

fn wrapped(lead: &str, text: &str, indent: &str, width: u16, out: &mut String) {
    let width = usize::from(width.max(LEAST_WIDTH));
    let mut line = lead.to_owned();
    let mut length = line.chars().count();
    let mut empty = true;
    for word in text.split_whitespace() {
        let more = word.chars().count();
        if !empty && length + 1 + more > width {
            out.push_str(line.trim_end());
            out.push('\n');
            line.clear();
            line.push_str(indent);
            length = indent.chars().count();
            empty = true;
        }
        if !empty {
            line.push(' ');
            length += 1;
        }
        line.push_str(word);
        length += more;
        empty = false;
    }
    out.push_str(line.trim_end());
    out.push('\n');
}

/// Some states in words, as settings that lead to them: `warning high, park in; or warning low`. At most `most` settings are named.
pub(super) fn settings(space: &Space, states: &Region, most: usize) -> String {
    let (settings, whole) = space.cover(states, most);
    let mut said: Vec<String> = settings.iter().map(|setting| space.words(setting)).collect();
    if !whole {
        said.push("other settings".to_owned());
    }
    said.join("; or ")
}

/// What to set the vehicle to: `warning high, park in (mode on-scene)`; the mode alone where that is all that is known.
pub(super) fn setting(finding: &Finding) -> Option<String> {
    match (&finding.witness.state, &finding.scope.mode) {
        (Some(state), Some(mode)) if state != mode => Some(format!("{state} (mode {mode})")),
        (Some(state), None) => Some(state.clone()),
        (_, mode) => mode.as_ref().map(|mode| format!("mode {mode}")),
    }
}

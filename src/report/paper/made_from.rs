//! What a document says of the files that it was made from, and how that is read again.

use crate::load::files::InputFile;

/// One line a file: its SHA-256, two spaces, its name. Every document holds these lines, whatever stands before them.
pub(in crate::report) fn made_from(inputs: &[InputFile]) -> String {
    inputs.iter().map(|file| format!("{}  {}\n", file.sha256, file.name)).collect()
}

/// The files that a document names: HTML, TOML or CSV.
pub fn named_in(text: &str) -> Vec<InputFile> {
    text.lines().filter_map(line).collect()
}

fn line(line: &str) -> Option<InputFile> {
    let (before, name) = line.split_once("  ")?;
    let at = before.len().checked_sub(64)?;
    let sha256 = before.get(at..)?;
    let is_hex = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
    // A longer row of digits is something else.
    let alone = before.get(..at).is_some_and(|lead| !lead.bytes().next_back().is_some_and(is_hex));
    if !alone || !sha256.bytes().all(is_hex) {
        return None;
    }
    let name = name.trim_end_matches([',', '"', '\r']);
    Some(InputFile { name: unescaped(name), sha256: sha256.to_owned() })
}

/// A text as it was before it was escaped for HTML.
fn unescaped(text: &str) -> String {
    let mut text = text.to_owned();
    for (code, letter) in [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#x27;", "'"), ("&#x2f;", "/")] {
        text = text.replace(code, letter);
    }
    text.replace("&amp;", "&")
}

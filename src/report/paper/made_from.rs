//! What a document says of the files that it was made from, and how that is read again.

use crate::load::files::InputFile;

/// One line a file: its SHA-256, two spaces, its name. Every document holds these lines one after the other: a page in
/// the element that [`IN_HTML`] begins, other texts as lines or remarks.
pub(in crate::report) fn made_from(inputs: &[InputFile]) -> String {
    inputs.iter().map(|file| format!("{}  {}\n", file.sha256, file.name)).collect()
}

/// What begins the list in the frame of documents in HTML. No text of a file can write it there.
const IN_HTML: &str = "<pre class=\"files\"";

/// The files that a document names: HTML, TOML or CSV. A text of the package may look like such a line; so of a page only
/// its list is read, and of others the last lines that stand together.
pub fn named_in(text: &str) -> Vec<InputFile> {
    let lines = |text: &str, in_html: bool| -> Vec<InputFile> {
        let all: Vec<Option<InputFile>> = text.lines().map(|text| line(text, in_html)).collect();
        let last = all.rsplit(Option::is_none).find(|block| !block.is_empty());
        last.unwrap_or_default().iter().flatten().cloned().collect()
    };
    if text.trim_start().starts_with("<!DOCTYPE html>") {
        let list = text.split_once(IN_HTML).and_then(|(_, rest)| rest.split_once('>')).map_or("", |(_, rest)| rest);
        return lines(list.split("</pre>").next().unwrap_or_default(), true);
    }
    lines(text, false)
}

/// One line of the list; in a text it may be a remark, or a cell with separators behind it.
fn line(line: &str, in_html: bool) -> Option<InputFile> {
    let quoted = line.strip_prefix('"');
    let line = quoted.unwrap_or(line);
    let line = line.strip_prefix("# ").unwrap_or(line);
    let (sha256, name) = line.split_once("  ")?;
    let is_hex = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
    if sha256.len() != 64 || !sha256.bytes().all(is_hex) {
        return None;
    }
    if in_html {
        return Some(InputFile { name: unescaped(name), sha256: sha256.to_owned() });
    }
    // No name holds a quotation mark, see `InputFile::new`.
    let name = name.split('"').next().unwrap_or_default().trim_end_matches([',', ';']);
    Some(InputFile { name: name.to_owned(), sha256: sha256.to_owned() })
}

/// A text as it was before it was escaped for HTML.
fn unescaped(text: &str) -> String {
    let mut text = text.to_owned();
    for (code, letter) in [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#x27;", "'"), ("&#x2f;", "/")] {
        text = text.replace(code, letter);
    }
    text.replace("&amp;", "&")
}

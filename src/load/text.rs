//! Bytes to text: UTF-8 with or without a byte order mark, and a plain word about everything else people save.

use std::borrow::Cow;

use crate::diagnostic::Diagnostic;

/// The text of a file in UTF-8, its byte order mark taken off. The error still lacks a place.
pub fn decode<'b>(bytes: &'b [u8], name: &str) -> Result<&'b str, Diagnostic> {
    let bytes = no_other_format(bytes, name)?;
    std::str::from_utf8(bytes).map_err(|error| {
        let line = bytes.iter().take(error.valid_up_to()).filter(|byte| **byte == b'\n').count() + 1;
        not_text(name, format!("line {line} holds a byte that is not UTF-8"), "save it as UTF-8 text")
    })
}

/// Like [`decode`] for tables: spreadsheets write another encoding now and then, and a stray letter in a remark must
/// not cost the user the table. Such a letter becomes a replacement character, which no id can hold.
pub fn decode_table<'b>(bytes: &'b [u8], name: &str) -> Result<Cow<'b, str>, Diagnostic> {
    Ok(String::from_utf8_lossy(no_other_format(bytes, name)?))
}

fn no_other_format<'b>(bytes: &'b [u8], name: &str) -> Result<&'b [u8], Diagnostic> {
    if bytes.starts_with(b"PK\x03\x04") {
        return Err(not_text(name, "it is a workbook or another archive", "save the sheet as CSV in UTF-8"));
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Err(not_text(name, "it is UTF-16", "save it as UTF-8 text"));
    }
    if bytes.contains(&0) {
        return Err(not_text(name, "it holds bytes that no text holds", "name a text file in UTF-8"));
    }
    // Some programs take the mark for three letters and encode them once more.
    let marks: [&[u8]; 2] = [b"\xef\xbb\xbf", b"\xc3\xaf\xc2\xbb\xc2\xbf"];
    Ok(marks.iter().fold(bytes, |bytes, mark| bytes.strip_prefix(*mark).unwrap_or(bytes)))
}

fn not_text(name: &str, why: impl std::fmt::Display, help: &str) -> Diagnostic {
    Diagnostic::error("not-text", format!("`{name}` is not a text file that can be read: {why}")).help(help)
}

/// Whether a spreadsheet runs a cell that begins so. Full-width signs count in some of them.
fn is_run(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'])
}

/// A text for a cell of a CSV file that no spreadsheet runs: an apostrophe before it, where it needs one. One that has an
/// apostrophe there already gets another, so that [`from_cell`] gives the same text back.
pub fn in_cell(text: &str) -> Cow<'_, str> {
    if is_run(text.trim_start_matches('\'')) { Cow::Owned(format!("'{text}")) } else { Cow::Borrowed(text) }
}

/// What [`in_cell`] was made of.
pub fn from_cell(text: &str) -> &str {
    text.strip_prefix('\'').filter(|rest| is_run(rest.trim_start_matches('\''))).unwrap_or(text)
}

/// A remark as a line of a CSV file, which a spreadsheet parts into cells as any other line: no part of it is run, or
/// opens quotation marks that swallow the lines below.
pub fn in_remark(text: &str) -> String {
    let mut line = String::new();
    let mut rest = text;
    while let Some(at) = rest.find([',', ';', '\t']) {
        let (before, after) = rest.split_at(at);
        let after_it = after.get(1..).unwrap_or_default();
        line.push_str(before);
        let next = after_it.trim_start();
        line.push_str(if is_run(next) || next.starts_with(['"', '\'']) {
            " /"
        } else {
            after.get(..1).unwrap_or_default()
        });
        rest = after_it;
    }
    line + rest
}

/// A text in quotation marks, as TOML reads it.
pub fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// Whether the one comma of a number stands before decimals: `2,5` and `0,125`, but `1,016` may be a thousand.
pub fn is_decimal_comma(text: &str) -> bool {
    let Some((whole, rest)) = text.split_once(',') else { return false };
    let whole = whole.trim_start_matches(['-', '+']);
    let decimals = rest.chars().take_while(char::is_ascii_digit).count();
    let is_number = whole.chars().all(|c| c.is_ascii_digit()) && !rest.contains([',', '.']);
    is_number && decimals > 0 && (decimals != 3 || whole.is_empty() || whole == "0")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_byte_order_mark_is_taken_off_encoded_once_or_twice() {
        for text in
            ["line,value", "\u{feff}line,value", "\u{ef}\u{bb}\u{bf}line,value", "\u{feff}\u{ef}\u{bb}\u{bf}line,value"]
        {
            assert_eq!(decode(text.as_bytes(), "a.csv").ok(), Some("line,value"), "{text:?}");
        }
        assert_eq!(
            decode("\u{ef}line".as_bytes(), "a.csv").ok(),
            Some("\u{ef}line"),
            "any other text keeps its letters"
        );
    }

    #[test]
    fn what_is_kept_from_a_spreadsheet_reads_back_the_same() {
        for (text, cell) in [
            ("=1+1", "'=1+1"),
            ("@SUM(1)", "'@SUM(1)"),
            ("-B", "'-B"),
            ("'=1+1", "''=1+1"),
            ("''=1", "'''=1"),
            ("'plain", "'plain"),
            ("L1", "L1"),
            ("", ""),
            ("\u{ff1d}1", "'\u{ff1d}1"),
        ] {
            assert_eq!(in_cell(text), cell);
            assert_eq!(from_cell(cell), text);
        }
    }

    #[test]
    fn no_part_of_a_remark_is_run() {
        for (text, line) in [
            ("# see note,=1+1", "# see note /=1+1"),
            ("# a; +2,  -3, b", "# a / +2 /  -3, b"),
            ("# a,\"b", "# a /\"b"),
            ("# 12,5 or 1,016; or not,", "# 12,5 or 1,016; or not,"),
        ] {
            assert_eq!(in_remark(text), line);
        }
    }
}

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
    Ok(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes))
}

fn not_text(name: &str, why: impl std::fmt::Display, help: &str) -> Diagnostic {
    Diagnostic::error("not-text", format!("`{name}` is not a text file that can be read: {why}")).help(help)
}

/// Whether the one comma of a number stands before decimals: `2,5` and `0,125`, but `1,016` may be a thousand.
pub fn is_decimal_comma(text: &str) -> bool {
    let Some((whole, rest)) = text.split_once(',') else { return false };
    let whole = whole.trim_start_matches(['-', '+']);
    let decimals = rest.chars().take_while(char::is_ascii_digit).count();
    let is_number = whole.chars().all(|c| c.is_ascii_digit()) && !rest.contains([',', '.']);
    is_number && decimals > 0 && (decimals != 3 || whole.is_empty() || whole == "0")
}

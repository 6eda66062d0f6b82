//! Text of photometric files: bytes of any encoding, lines, places for messages, numbers as such.

use std::borrow::Cow;

use super::error::{Fault, ReadError};

/// A file as text. Bytes that are not UTF-8 are taken as Latin-1, as the older programs write it.
pub(super) struct Text<'a>(Cow<'a, str>);

/// A piece of the text, with its offset in bytes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece<'t> {
    pub at: usize,
    pub text: &'t str,
}

impl<'a> Text<'a> {
    pub fn new(bytes: &'a [u8]) -> Self {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        Self(match std::str::from_utf8(bytes) {
            Ok(text) => Cow::Borrowed(text),
            Err(_) => Cow::Owned(bytes.iter().map(|byte| char::from(*byte)).collect()),
        })
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The lines, ended by CR LF, LF or CR; without their ends.
    pub fn lines(&self) -> Lines<'_> {
        Lines { rest: Some(Piece { at: 0, text: &self.0 }) }
    }

    /// Line and column of an offset, both from 1.
    pub fn place(&self, at: usize) -> (u32, Option<u32>) {
        let (number, line) = (1u32..)
            .zip(self.lines())
            .take_while(|(_, line)| line.at <= at)
            .last()
            .unwrap_or((1, Piece { at: 0, text: "" }));
        let before = line.text.get(..at.saturating_sub(line.at)).unwrap_or(line.text);
        (number, u32::try_from(before.chars().count() + 1).ok())
    }

    /// The line of an offset.
    pub fn line(&self, at: usize) -> u32 {
        self.place(at).0
    }

    /// An error at a piece of this text.
    pub fn error(&self, fault: Fault, at: usize, message: impl Into<String>) -> ReadError {
        ReadError::new(fault, message).at(self.place(at))
    }

    /// An error where the text ends.
    pub fn end_error(&self, message: impl Into<String>) -> ReadError {
        let end = self.0.trim_end().len();
        self.error(Fault::Count, end, message)
    }
}

/// See [`Text::lines`].
#[derive(Clone)]
pub(super) struct Lines<'t> {
    rest: Option<Piece<'t>>,
}

impl<'t> Lines<'t> {
    /// Offset of what has not been read yet.
    pub fn offset(&self) -> Option<usize> {
        self.rest.map(|rest| rest.at)
    }
}

impl<'t> Iterator for Lines<'t> {
    type Item = Piece<'t>;

    fn next(&mut self) -> Option<Piece<'t>> {
        let Piece { at, text } = self.rest.take()?;
        // Byte by byte, as both ends of a line are bytes of their own: twice as fast as letter by letter.
        let Some(end) = text.bytes().position(|byte| matches!(byte, b'\r' | b'\n')) else {
            return (!text.is_empty()).then_some(Piece { at, text });
        };
        let (line, rest) = text.split_at_checked(end)?;
        let rest = rest.strip_prefix("\r\n").or_else(|| rest.strip_prefix(['\r', '\n'])).unwrap_or(rest);
        self.rest = Some(Piece { at: at + text.len() - rest.len(), text: rest });
        Some(Piece { at, text: line })
    }
}

/// A finite number written with digits, signs, a point and an exponent. Besides these Rust reads only names of
/// numbers that are not finite.
pub(super) fn number(text: &str) -> Option<f64> {
    // Adding zero makes -0 a 0.
    text.parse::<f64>().ok().filter(|number| number.is_finite()).map(|number| number + 0.0)
}

/// A number with a decimal comma, as EULUMDAT files and spreadsheets with semicolons write it.
pub(super) fn number_with_comma(text: &str) -> Option<f64> {
    if text.contains('.') { number(text) } else { number(&text.replacen(',', ".", 1)) }
}

/// Whether a free text says that the values are not luminous: watts per steradian, in any size.
pub(super) fn says_radiant(text: &str) -> bool {
    let text = text.to_ascii_lowercase();
    ["w/sr", "watt/sr", "watts/sr", "per steradian", "radiometric units"].iter().any(|words| text.contains(words))
}

/// What to say of such a text.
pub(super) const SAYS_RADIANT: &str =
    "the text speaks of radiometric units; the values are read as candela, check with the laboratory that they are";

/// A text as it fits a message: the first characters, without control characters.
pub(super) fn shown(text: &str) -> String {
    let mut short: String = text.chars().map(|c| if c.is_control() { '\u{b7}' } else { c }).take(40).collect();
    if text.chars().nth(40).is_some() {
        short.push_str("...");
    }
    short
}

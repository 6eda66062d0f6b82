//! The numbers of an LM-63 file: one stream whose lines may break anywhere, ended only by its count.

use super::distribution::MOST_VALUES;
use super::error::{Fault, Note, ReadError};
use super::scan::{Piece, Text, number, shown};

/// A list of angles in ascending order, and where it begins and ends.
pub(super) struct Angles {
    pub values: Vec<f64>,
    pub first_at: usize,
    pub last_at: usize,
}

impl Angles {
    pub fn ends(&self) -> (f64, f64) {
        (self.values.first().copied().unwrap_or(0.0), self.values.last().copied().unwrap_or(0.0))
    }

    pub fn check_range(&self, text: &Text<'_>, name: &str, least: f64, most: f64) -> Result<(), ReadError> {
        let (from, to) = self.ends();
        let (angle, at) = if from < least { (from, self.first_at) } else { (to, self.last_at) };
        if from >= least && to <= most {
            return Ok(());
        }
        Err(text
            .error(Fault::Angles, at, format!("the {name} angle {angle} is outside {least} to {most}"))
            .help("the type of photometry (1 = C, 2 = B, 3 = A) says what the angles can be"))
    }
}

/// The numbers below the labels, one after the other, wherever the lines break.
pub(super) struct Numbers<'t> {
    text: &'t Text<'t>,
    at: usize,
}

impl<'t> Numbers<'t> {
    pub fn new(text: &'t Text<'t>, at: usize) -> Self {
        Self { text, at }
    }

    /// The next word; commas and white space part them.
    pub fn token(&mut self) -> Option<Piece<'t>> {
        let part = |c: char| c == ',' || c.is_ascii_whitespace();
        let rest = self.text.as_str().get(self.at..)?;
        let start = rest.trim_start_matches(part);
        let at = self.at + rest.len() - start.len();
        let word = start.split(part).next().filter(|word| !word.is_empty())?;
        self.at = at + word.len();
        Some(Piece { at, text: word })
    }

    pub fn parse(&self, token: Piece<'_>, what: &str) -> Result<f64, ReadError> {
        number(token.text).ok_or_else(|| {
            self.text.error(Fault::Number, token.at, format!("`{}` stands where {what} should", shown(token.text)))
        })
    }

    pub fn next(&mut self, what: &str) -> Result<(f64, usize), ReadError> {
        let token =
            self.token().ok_or_else(|| self.text.end_error(format!("the file ends where {what} should stand")))?;
        Ok((self.parse(token, what)?, token.at))
    }

    pub fn factor(&mut self, what: &str) -> Result<f64, ReadError> {
        let (factor, at) = self.next(what)?;
        if factor > 0.0 {
            return Ok(factor);
        }
        Err(self.text.error(Fault::Value, at, format!("{what} is {factor}")).help("a number above 0"))
    }

    pub fn count(&mut self, what: &str) -> Result<usize, ReadError> {
        let (count, at) = self.next(what)?;
        if (1.0..=1e9).contains(&count) && count.fract() == 0.0 {
            // A whole number from 1 to 1e9.
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            return Ok(count as usize);
        }
        Err(self.text.error(Fault::Count, at, format!("{what} is {count}")).help("a whole number, at least 1"))
    }

    /// Refuses counts for which the rest of the file has no room, before any memory is asked for.
    pub fn check_room(&self, rows: usize, planes: usize) -> Result<(), ReadError> {
        let left = self.text.as_str().len().saturating_sub(self.at);
        // A number takes a digit and a separator.
        let room = left.div_ceil(2);
        if rows.saturating_mul(planes) > MOST_VALUES {
            let message =
                format!("the file declares {rows} by {planes} values, more than the {MOST_VALUES} that are read");
            return Err(self.text.error(Fault::Count, self.at, message));
        }
        match rows.checked_mul(planes).and_then(|values| values.checked_add(rows)) {
            Some(wanted) if wanted <= room => Ok(()),
            _ => Err(self.text.error(
                Fault::Count,
                self.at,
                format!(
                    "the file declares {rows} by {planes} values, but what is left of it holds {room} numbers at most"
                ),
            )),
        }
    }

    pub fn angles(&mut self, count: usize, name: &str) -> Result<Angles, ReadError> {
        let mut values = Vec::with_capacity(count);
        let (mut first_at, mut last_at) = (self.at, self.at);
        for done in 0..count {
            let Some(token) = self.token() else {
                return Err(self.text.end_error(format!("the file ends after {done} of {count} {name} angles")));
            };
            let (angle, at) = (self.parse(token, "an angle")?, token.at);
            if let Some(before) = values.last().copied().filter(|before| angle <= *before) {
                let message = format!("the {name} angle {angle} follows {before}: angles must ascend");
                return Err(self.text.error(Fault::Angles, at, message));
            }
            if done == 0 {
                first_at = at;
            }
            last_at = at;
            values.push(angle);
        }
        Ok(Angles { values, first_at, last_at })
    }

    pub fn values(&mut self, rows: usize, planes: usize, factor: f64) -> Result<Vec<f64>, ReadError> {
        let count = rows * planes;
        let mut values = Vec::with_capacity(count);
        while values.len() < count {
            let Some(token) = self.token() else {
                let message =
                    format!("the values end after {} of {count} ({rows} V angles by {planes} H angles)", values.len());
                return Err(self.text.end_error(message));
            };
            let Some(value) = number(token.text) else {
                let message =
                    format!("`{}` stands where value {} of {count} should", shown(token.text), values.len() + 1);
                return Err(self.text.error(Fault::Number, token.at, message));
            };
            let light = value * factor;
            if light < 0.0 || !light.is_finite() {
                let message = format!("the intensity `{}` is not possible", shown(token.text));
                return Err(self.text.error(Fault::Value, token.at, message).help("a number of candela, 0 or more"));
            }
            values.push(light);
        }
        Ok(values)
    }

    /// More numbers than declared are a mistake in the counts; words after the last value are only odd.
    pub fn check_end(&mut self, rows: usize, planes: usize, notes: &mut Vec<Note>) -> Result<(), ReadError> {
        let Some(token) = self.token() else { return Ok(()) };
        if number(token.text).is_some() {
            let message = format!("`{}` follows the last of {rows} by {planes} values", shown(token.text));
            return Err(self
                .text
                .error(Fault::Count, token.at, message)
                .help("the counts of V and H angles must match the values"));
        }
        notes.push(Note::new(self.text.line(token.at), "text after the last value is left aside"));
        Ok(())
    }
}

//! LM-63 files (".ies"), editions 1986 to 2019, photometry of types A, B and C.
//!
//! Labels, then `TILT=`, then numbers whose end only their count marks. The editions differ in what
//! the twelfth number after the labels means, and in 1986 the code 1 stood for types A and C alike.

use super::distribution::{Axis, Distribution, Grid, Symmetry, close_circle, note_poles};
use super::error::{Fault, Note, ReadError};
use super::frame::{Frame, Goniometer, Zero};
use super::numbers::{Angles, Numbers};
use super::scan::{Piece, SAYS_RADIANT, Text, says_radiant, shown};
use super::{Edition, Format, Header, Letter, Read};

/// Reads an LM-63 file.
///
/// `frame` and `zero` are what the user says of the goniometer. Without `frame` a type A file is taken about the
/// vertical and a type B file about the horizontal axis; the user's word wins over the letter. Type C needs `frame`,
/// and `zero` unless the light is the same all round.
pub fn read_lm63(bytes: &[u8], frame: Option<Frame>, zero: Option<Zero>) -> Result<Read, ReadError> {
    let text = Text::new(bytes);
    let mut notes = Vec::new();
    let labels = Labels::read(&text, &mut notes)?;
    let mut numbers = Numbers::new(&text, labels.end);
    labels.check_unit(&text, &mut notes)?;
    labels.check_tilt(&text, &mut numbers)?;

    numbers.next("the number of lamps")?;
    numbers.next("the lumens of a lamp (-1 for absolute photometry)")?;
    let multiplier = numbers.factor("the multiplier")?;
    let rows = numbers.count("the number of V angles")?;
    let planes = numbers.count("the number of H angles")?;
    let (code, code_at) = numbers.next("the type of photometry")?;
    for what in ["the unit of the dimensions", "the width", "the length", "the height"] {
        numbers.next(what)?;
    }
    let ballast = numbers.factor("the ballast factor")?;
    let twelfth = numbers.token().ok_or_else(|| text.end_error("the file ends where field 12 should stand"))?;
    let field12 = numbers.parse(twelfth, "field 12")?;
    numbers.next("the input watts")?;
    let factor = multiplier * ballast * labels.field12_factor(&text, twelfth, field12, &mut notes)?;
    if !factor.is_finite() {
        return Err(ReadError::new(Fault::Value, "multiplier and factors together are not a finite number"));
    }

    numbers.check_room(rows, planes)?;
    let second = numbers.angles(rows, "V")?;
    let first = numbers.angles(planes, "H")?;
    let letter = labels.letter(&text, (code, code_at), &first, &second, &mut notes)?;
    let mut values = numbers.values(rows, planes, factor)?;
    numbers.check_end(rows, planes, &mut notes)?;

    let (symmetry, goniometer) = match letter {
        Letter::C => {
            first.check_range(&text, "H", 0.0, 360.0)?;
            second.check_range(&text, "V", 0.0, 180.0)?;
            let symmetry = type_c_symmetry(&text, &first)?;
            (symmetry, Goniometer::for_c_gamma(frame, zero, symmetry == Symmetry::Rotational)?)
        }
        Letter::A | Letter::B => {
            if zero.is_some() {
                return Err(no_zero(letter));
            }
            let own = if letter == Letter::A { Frame::VerticalAxis } else { Frame::HorizontalAxis };
            let frame = frame.unwrap_or(own);
            let goniometer = Goniometer::for_h_v(frame)?;
            if frame != own {
                let message = format!("the file says type {letter} ({own}); taken as {frame}, as the catalogue says");
                notes.push(Note::new(text.line(code_at), message));
            }
            let (h, v) = if frame == Frame::VerticalAxis { (180.0, 90.0) } else { (90.0, 180.0) };
            first.check_range(&text, "H", -h, h)?;
            second.check_range(&text, "V", -v, v)?;
            let mirrored = first.ends() == (0.0, 90.0);
            (if mirrored { Symmetry::LeftRight } else { Symmetry::None }, goniometer)
        }
    };
    let first_ends = first.ends();
    let mut planes = first.values;
    if letter == Letter::C && symmetry == Symmetry::None {
        let message = if first_ends.1 - first_ends.0 >= 360.0 {
            let once = values.get(..rows) == values.get(values.len() - rows..);
            (!once).then_some("the H angles 0 and 360 give one plane twice, with different values")
        } else if close_circle(&mut planes, &mut values, rows) {
            Some("the H angles end before 360: the first plane closes the circle")
        } else {
            Some("the H angles do not go all the way round: no data in the rest")
        };
        notes.extend(message.map(|message| Note::new(text.line(first.last_at), message)));
    }
    let around = goniometer != Goniometer::HorizontalAxis;
    let (first, second) = (Axis::new(planes, around), Axis::new(second.values, !around));
    let grid = Grid { goniometer, symmetry, first, second, values };
    note_poles(&grid, &mut notes);
    let header = Header { format: Format::Lm63(labels.edition), letter: Some(letter), factor, labels: labels.pairs() };
    Ok(Read { distribution: Distribution::new(grid), header, notes })
}

/// More label lines than this are no labels.
const MOST_LABELS: usize = 10_000;

/// What stands above the numbers.
struct Labels<'t> {
    edition: Edition,
    version: &'t str,
    /// Keyword (empty for free text), text, and where the text begins. [MORE] lines keep the keyword of the line before.
    entries: Vec<(&'t str, Piece<'t>)>,
    tilt: Piece<'t>,
    /// Offset of what follows the TILT line.
    end: usize,
}

impl<'t> Labels<'t> {
    fn read(text: &'t Text<'_>, notes: &mut Vec<Note>) -> Result<Self, ReadError> {
        let mut lines = text.lines();
        let (mut version, mut edition) = ("", None);
        let mut entries: Vec<(&str, Piece<'_>)> = Vec::new();
        while let Some(line) = lines.next() {
            let trimmed = line.text.trim();
            if let Some(tilt) = tilt_value(trimmed) {
                let end = lines.offset().unwrap_or(text.as_str().len());
                let tilt = Piece { at: line.at, text: tilt };
                return Ok(Self { edition: edition.unwrap_or(Edition::Y1986), version, entries, tilt, end });
            }
            if trimmed.is_empty() {
                continue;
            }
            if entries.len() == MOST_LABELS {
                break;
            }
            if edition.is_none() {
                edition = Some(edition_of(trimmed));
                if edition == Some(Edition::Unknown) {
                    version = trimmed;
                    let message =
                        format!("`{}` is no version line of LM-63; read as far as all editions agree", shown(trimmed));
                    notes.push(Note::new(text.line(line.at), message));
                }
                if edition != Some(Edition::Y1986) {
                    continue;
                }
            }
            let (keyword, rest) = match trimmed.strip_prefix('[').and_then(|rest| rest.split_once(']')) {
                Some((keyword, rest)) => (keyword.trim(), rest.trim()),
                None => ("", trimmed),
            };
            let above = entries.last().map_or("", |(keyword, _)| keyword);
            let keyword = if keyword.eq_ignore_ascii_case("MORE") { above } else { keyword };
            entries.push((keyword, Piece { at: line.at, text: rest }));
        }
        Err(ReadError::new(Fault::Format, "no line begins with `TILT=`, so this is not an LM-63 file")
            .help("an LM-63 file has labels, then `TILT=NONE`, then the numbers"))
    }

    /// Refuses values that a keyword says are not candela; free text that says so is only noted.
    fn check_unit(&self, text: &Text<'_>, notes: &mut Vec<Note>) -> Result<(), ReadError> {
        let (mut radiant_at, mut near_field) = (None, None);
        for (keyword, entry) in &self.entries {
            let keyword = keyword.to_ascii_uppercase();
            let of_intensity = keyword.trim_start_matches('_') == "INTENSITYUNITS";
            let radiant = says_radiant(entry.text);
            let luminous = ["cd", "candela", "candelas"].iter().any(|unit| entry.text.eq_ignore_ascii_case(unit));
            if (of_intensity && !luminous) || (radiant && keyword.contains("UNIT")) {
                let message =
                    format!("[{keyword}] says that the values are in `{}`, not in candela", shown(entry.text));
                return Err(text
                    .error(Fault::Unit, entry.at, message)
                    .help("radiant intensity says nothing about what an eye sees; ask the laboratory for candela"));
            }
            if radiant {
                radiant_at = radiant_at.or(Some(entry.at));
            }
            if keyword == "NEARFIELD" {
                near_field = near_field.or(Some(entry));
            }
        }
        // Each once: the file may repeat itself.
        notes.extend(radiant_at.map(|at| Note::new(text.line(at), SAYS_RADIANT)));
        notes.extend(near_field.map(|entry| {
            let message = format!(
                "[NEARFIELD] {}: closer than that, light does not fall with the square of the distance",
                shown(entry.text)
            );
            Note::new(text.line(entry.at), message)
        }));
        Ok(())
    }

    /// `TILT=NONE`, or a table within the file whose factors are all 1.
    fn check_tilt(&self, text: &Text<'_>, numbers: &mut Numbers<'_>) -> Result<(), ReadError> {
        const HELP: &str = "only lamps whose light does not depend on their tilt are read: `TILT=NONE`";
        if self.tilt.text.eq_ignore_ascii_case("NONE") {
            return Ok(());
        }
        if !self.tilt.text.eq_ignore_ascii_case("INCLUDE") {
            let message =
                format!("the tilt factors are in another file, `{}`, which is not read", shown(self.tilt.text));
            return Err(text.error(Fault::Tilt, self.tilt.at, message).help(HELP));
        }
        numbers.next("the lamp geometry of the tilt table")?;
        let count = numbers.count("the number of tilt angles")?;
        numbers.check_room(count, 1)?;
        for _ in 0..count {
            numbers.next("a tilt angle")?;
        }
        for _ in 0..count {
            let (factor, at) = numbers.next("a tilt factor")?;
            if factor != 1.0 {
                let message = format!("the light changes with the tilt of the lamp (factor {factor})");
                return Err(text.error(Fault::Tilt, at, message).help(HELP));
            }
        }
        Ok(())
    }

    /// Field 12 is a factor until 1991, unused until 2002, and since 2019 a code for how the file was made.
    fn field12_factor(
        &self,
        text: &Text<'_>,
        raw: Piece<'_>,
        value: f64,
        notes: &mut Vec<Note>,
    ) -> Result<f64, ReadError> {
        match self.edition {
            Edition::Y1986 | Edition::Y1991 if value > 0.0 => return Ok(value),
            Edition::Y1986 | Edition::Y1991 => {
                let message = format!("field 12 is a factor in this edition, and `{}` is none", shown(raw.text));
                return Err(text.error(Fault::Value, raw.at, message).help("a factor above 0"));
            }
            Edition::Unknown if value != 1.0 => {
                let message = format!(
                    "field 12 is `{}`: a factor in the oldest editions, none in the later ones, and `{}` tells neither",
                    shown(raw.text),
                    shown(self.version)
                );
                return Err(text.error(Fault::Format, raw.at, message).help(
                    "the version line of the edition that the file was written to, for example `IESNA:LM-63-2002`",
                ));
            }
            Edition::Y2019 => {
                let message =
                    format!("field 12 is `{}`: a code for how the file was made, not a factor", shown(raw.text));
                notes.push(Note::new(text.line(raw.at), message).usual());
            }
            Edition::Y1995 | Edition::Y2002 if value != 1.0 => {
                let message = format!(
                    "field 12 is `{}`; this edition does not use it, so nothing is multiplied",
                    shown(raw.text)
                );
                notes.push(Note::new(text.line(raw.at), message));
            }
            Edition::Unknown | Edition::Y1995 | Edition::Y2002 => {}
        }
        Ok(1.0)
    }

    fn letter(
        &self,
        text: &Text<'_>,
        (code, at): (f64, usize),
        first: &Angles,
        second: &Angles,
        notes: &mut Vec<Note>,
    ) -> Result<Letter, ReadError> {
        let negative = first.ends().0 < 0.0 || second.ends().0 < 0.0;
        match code {
            1.0 if self.edition == Edition::Y1986 => {
                let (letter, why) = if negative {
                    (Letter::A, "some angles are negative")
                } else {
                    (Letter::C, "no angle is negative")
                };
                let message =
                    format!("type 1 means A or C in a file without a version line; taken as {letter}, since {why}");
                notes.push(Note::new(text.line(at), message));
                Ok(letter)
            }
            1.0 => Ok(Letter::C),
            2.0 => Ok(Letter::B),
            3.0 => Ok(Letter::A),
            _ => Err(text
                .error(Fault::Format, at, format!("`{code}` is no type of photometry"))
                .help("1 for type C, 2 for type B, 3 for type A")),
        }
    }

    fn pairs(&self) -> Vec<(String, String)> {
        self.entries.iter().map(|(keyword, entry)| ((*keyword).to_owned(), entry.text.to_owned())).collect()
    }
}

fn tilt_value(line: &str) -> Option<&str> {
    let (word, rest) = line.split_at_checked(4)?;
    if word.eq_ignore_ascii_case("TILT") { rest.trim_start().strip_prefix('=').map(str::trim) } else { None }
}

/// A first line that is one word beginning with IES is meant as a version line; any other is a title of 1986.
fn edition_of(line: &str) -> Edition {
    match line.to_ascii_uppercase().as_str() {
        "IESNA91" => Edition::Y1991,
        "IESNA:LM-63-1995" => Edition::Y1995,
        "IESNA:LM-63-2002" => Edition::Y2002,
        "IES:LM-63-2019" => Edition::Y2019,
        word if word.starts_with("IES") && !word.contains(char::is_whitespace) => Edition::Unknown,
        _ => Edition::Y1986,
    }
}

fn no_zero(letter: Letter) -> ReadError {
    ReadError::new(
        Fault::Orientation,
        format!("C0 is said, but the file is of type {letter}, whose angles are H and V"),
    )
    .help("leave `c0` out")
}

/// What the range of H says about the planes that are not tabulated.
fn type_c_symmetry(text: &Text<'_>, first: &Angles) -> Result<Symmetry, ReadError> {
    let (from, to) = first.ends();
    match (from, to) {
        (0.0, 0.0) => Ok(Symmetry::Rotational),
        (0.0, 90.0) => Ok(Symmetry::Quarter),
        (0.0, 180.0) | (90.0, 270.0) => Ok(Symmetry::Half),
        _ if to - from > 180.0 => Ok(Symmetry::None),
        _ => Err(text
            .error(
                Fault::Symmetry,
                first.last_at,
                format!("the H angles run from {from} to {to}, which tells no symmetry"),
            )
            .help("type C files have H at 0 alone, 0 to 90, 0 to 180, 90 to 270, or 0 to 360")),
    }
}

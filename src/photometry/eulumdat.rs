//! EULUMDAT files (".ldt"): one value a line, in C and gamma, in candela for 1000 lm of the lamps.
//!
//! The symmetry indicator alone says which planes are stored; the type indicator and the steps in the
//! header often contradict it or the angles, and are not needed.

use super::distribution::{Axis, Distribution, Grid, MOST_VALUES, Symmetry, close_circle, note_poles};
use super::error::{Fault, Note, ReadError};
use super::frame::{Frame, Goniometer, Zero};
use super::scan::{Lines, Piece, SAYS_RADIANT, Text, number_with_comma, says_radiant, shown};
use super::{Format, Header, Read};

/// Reads an EULUMDAT file.
///
/// The format does not say how the lamp stood: `frame` is needed, and `zero` unless the light is the same all round.
/// Intensity is value x conversion factor x flux of all lamp sets / 1000 lm; a negative number of lamps only marks
/// absolute photometry and changes nothing in that.
pub fn read_eulumdat(bytes: &[u8], frame: Option<Frame>, zero: Option<Zero>) -> Result<Read, ReadError> {
    let text = Text::new(bytes);
    let mut file = File { text: &text, lines: text.lines(), labels: Vec::new(), radiant_at: None, notes: Vec::new() };
    file.label("COMPANY")?;
    let kind = file.number("the type indicator")?.0;
    let (indicator, indicator_at) = file.number("the symmetry indicator")?;
    let (planes, planes_at) = file.count("the number of C planes")?;
    let (plane_step, plane_step_at) = file.number("the step of the C planes")?;
    let rows = file.count("the number of gamma angles")?.0;
    file.number("the step of the gamma angles")?;
    for name in ["REPORT", "LUMINAIRE", "NUMBER", "FILE", "DATE"] {
        file.label(name)?;
    }
    file.skip(11, "a dimension, the downward flux or the light output ratio")?;
    let conversion = file.factor("the conversion factor")?;
    let (tilt, tilt_at) = file.number("the tilt during measurement")?;
    if tilt != 0.0 {
        let message = format!("measured with the luminaire tilted by {tilt} deg; the angles are taken as they stand");
        file.notes.push(Note::new(text.line(tilt_at), message));
    }
    let flux = file.flux()?;
    file.skip(10, "a direct ratio")?;
    let factor = conversion * flux / 1000.0;
    if !factor.is_finite() {
        return Err(ReadError::new(Fault::Value, "conversion factor and flux together are not a finite number"));
    }

    let symmetry = stored_planes(indicator, planes).map_err(|error| {
        let at = if error.fault == Fault::Symmetry { indicator_at } else { planes_at };
        error.at(text.place(at))
    })?;
    file.check_room(planes, rows, symmetry.count(planes))?;
    let angles = file.angles(planes, "C", 360.0)?;
    let second = file.angles(rows, "gamma", 180.0)?;
    let mut values = file.values(symmetry.count(planes) * rows, factor)?;
    file.check_end()?;

    if kind == 1.0 && symmetry != Stored::One {
        let message =
            format!("the type indicator says rotational, the symmetry indicator {indicator}: the symmetry counts");
        file.notes.push(Note::new(text.line(indicator_at), message));
    }
    let uneven = |step: f64| angles.windows(2).any(|pair| matches!(pair, [a, b] if (b - a - step).abs() > 1e-6));
    if plane_step > 0.0 && uneven(plane_step) {
        let message = format!("the C planes do not step by {plane_step} as the header says: the list counts");
        file.notes.push(Note::new(text.line(plane_step_at), message));
    }
    let mut first = symmetry.angles(&angles).map_err(|error| error.at(text.place(indicator_at)))?;
    if symmetry == Stored::All
        && !close_circle(&mut first, &mut values, rows)
        && first.last().zip(first.first()).is_none_or(|(last, first)| last - first < 360.0)
    {
        let message = "symmetry 0, but the C planes do not go all the way round";
        return Err(text.error(Fault::Symmetry, indicator_at, message));
    }
    let goniometer = Goniometer::for_c_gamma(frame, zero, symmetry == Stored::One)?;
    let (first, second) = (Axis::new(first, true), Axis::new(second, false));
    let grid = Grid { goniometer, symmetry: symmetry.meaning(), first, second, values };
    let mut notes = file.notes;
    notes.extend(file.radiant_at.map(|at| Note::new(text.line(at), SAYS_RADIANT)));
    note_poles(&grid, &mut notes);
    let header = Header { format: Format::Eulumdat, letter: None, factor, labels: file.labels };
    Ok(Read { distribution: Distribution::new(grid), header, notes })
}

/// Which of the planes in the list of C angles have values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stored {
    /// Symmetry 0.
    All,
    /// Symmetry 1.
    One,
    /// Symmetry 2: C0 to C180.
    FromC0,
    /// Symmetry 3: C270 over C0 to C90, in this order. Readers differ here: one is known that takes them for C90 to
    /// C270; three others agree with this order.
    FromC270,
    /// Symmetry 4: C0 to C90.
    Quarter,
}

fn stored_planes(indicator: f64, planes: usize) -> Result<Stored, ReadError> {
    let (stored, parts) = match indicator {
        0.0 => (Stored::All, 1),
        1.0 => (Stored::One, 1),
        2.0 => (Stored::FromC0, 2),
        3.0 => (Stored::FromC270, 4),
        4.0 => (Stored::Quarter, 4),
        _ => {
            return Err(ReadError::new(Fault::Symmetry, format!("`{indicator}` is no symmetry indicator"))
                .help("0 none, 1 rotational, 2 mirrored in C0-C180, 3 in C90-C270, 4 in both"));
        }
    };
    if !planes.is_multiple_of(parts) {
        let message = format!("{planes} C planes cannot be mirrored with symmetry {indicator}");
        return Err(ReadError::new(Fault::Count, message).help(format!(
            "the number and the list of C planes are those of the whole circle, whatever the symmetry: a multiple of {parts} here"
        )));
    }
    Ok(stored)
}

impl Stored {
    /// How many planes have values, of `planes` in the whole circle.
    fn count(self, planes: usize) -> usize {
        match self {
            Self::All => planes,
            Self::One => 1,
            Self::FromC0 | Self::FromC270 => planes / 2 + 1,
            Self::Quarter => planes / 4 + 1,
        }
    }

    /// Their angles, ascending; an error where the list does not hold the planes that the symmetry needs.
    fn angles(self, list: &[f64]) -> Result<Vec<f64>, ReadError> {
        let count = self.count(list.len());
        let stored: Vec<f64> = match self {
            Self::All => return Ok(list.to_vec()),
            Self::One => return Ok(vec![0.0]),
            Self::FromC0 | Self::Quarter => list.iter().take(count).copied().collect(),
            Self::FromC270 => {
                let start = list.len() / 4 * 3;
                let before = list.iter().skip(start).map(|angle| angle - 360.0);
                before.chain(list.iter().take(count - (list.len() - start)).copied()).collect()
            }
        };
        let ends = match self {
            Self::FromC270 => (-90.0, 90.0),
            Self::Quarter => (0.0, 90.0),
            _ => (0.0, 180.0),
        };
        if stored.first().zip(stored.last()) == Some((&ends.0, &ends.1)) {
            return Ok(stored);
        }
        let (from, to) = (ends.0 + if ends.0 < 0.0 { 360.0 } else { 0.0 }, ends.1);
        Err(ReadError::new(
            Fault::Symmetry,
            format!("the symmetry needs planes from C{from} to C{to}, and the C list does not have them there"),
        )
        .help("the list of C planes is that of the whole circle, whatever the symmetry"))
    }

    fn meaning(self) -> Symmetry {
        match self {
            Self::All => Symmetry::None,
            Self::One => Symmetry::Rotational,
            Self::FromC0 | Self::FromC270 => Symmetry::Half,
            Self::Quarter => Symmetry::Quarter,
        }
    }
}

/// More lamp sets than this are a shifted line, not lamps.
const MOST_SETS: usize = 100;

struct File<'t> {
    text: &'t Text<'t>,
    lines: Lines<'t>,
    labels: Vec<(String, String)>,
    /// Where the text first speaks of radiometric units.
    radiant_at: Option<usize>,
    notes: Vec<Note>,
}

impl<'t> File<'t> {
    /// The next line, blank or not; what it should hold is only worded where it is missing.
    fn line(&mut self, what: impl Fn() -> String) -> Result<Piece<'t>, ReadError> {
        let Some(Piece { at, text }) = self.lines.next() else {
            return Err(self.text.end_error(format!("the file ends where {} should stand", what())));
        };
        let start = text.trim_start();
        Ok(Piece { at: at + text.len() - start.len(), text: start.trim_end() })
    }

    /// The next line that is not blank: among the angles and values blank lines mean nothing.
    fn value(&mut self, what: impl Fn() -> String) -> Result<(f64, Piece<'t>), ReadError> {
        loop {
            let line = self.line(&what)?;
            if !line.text.is_empty() {
                return Ok((self.parse(line, &what)?, line));
            }
        }
    }

    fn parse(&self, line: Piece<'_>, what: impl Fn() -> String) -> Result<f64, ReadError> {
        number_with_comma(line.text).ok_or_else(|| {
            let message = format!("`{}` stands where {} should", shown(line.text), what());
            self.text.error(Fault::Number, line.at, message).help("one number a line")
        })
    }

    fn label(&mut self, name: &str) -> Result<(), ReadError> {
        let line = self.line(|| "a text".into())?;
        if says_radiant(line.text) {
            self.radiant_at = self.radiant_at.or(Some(line.at));
        }
        self.labels.push((name.to_owned(), line.text.to_owned()));
        Ok(())
    }

    fn number(&mut self, what: &str) -> Result<(f64, usize), ReadError> {
        let line = self.line(|| what.into())?;
        Ok((self.parse(line, || what.into())?, line.at))
    }

    fn factor(&mut self, what: &str) -> Result<f64, ReadError> {
        let (factor, at) = self.number(what)?;
        if factor > 0.0 {
            return Ok(factor);
        }
        Err(self.text.error(Fault::Value, at, format!("{what} is {factor}")).help("a number above 0"))
    }

    fn count(&mut self, what: &str) -> Result<(usize, usize), ReadError> {
        let (count, at) = self.number(what)?;
        if (1.0..=1e6).contains(&count) && count.fract() == 0.0 {
            // A whole number from 1 to 1e6.
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            return Ok((count as usize, at));
        }
        Err(self.text.error(Fault::Count, at, format!("{what} is {count}")).help("a whole number, at least 1"))
    }

    /// Lines whose numbers are not needed. They are looked at all the same: a missing line would shift all others.
    fn skip(&mut self, lines: usize, what: &str) -> Result<(), ReadError> {
        for _ in 0..lines {
            let line = self.line(|| what.into())?;
            if !line.text.is_empty() {
                self.parse(line, || what.into())?;
            }
        }
        Ok(())
    }

    /// The flux of all lamp sets together, in lumens.
    fn flux(&mut self) -> Result<f64, ReadError> {
        let (sets, at) = self.count("the number of lamp sets")?;
        if sets > MOST_SETS {
            return Err(self.text.error(Fault::Count, at, format!("{sets} sets of lamps are more than {MOST_SETS}")));
        }
        let mut sum = 0.0;
        for _ in 0..sets {
            self.number("the number of lamps")?;
            self.label("LAMP")?;
            sum += self.factor("the flux of the lamps")?;
            self.label("COLOUR")?;
            self.label("RENDERING")?;
            self.label("WATTS")?;
        }
        if sets > 1 {
            let message = format!("{sets} sets of lamps: their fluxes are added, {sum} lm together");
            self.notes.push(Note::new(self.text.line(at), message));
        }
        Ok(sum)
    }

    /// Compares what the file declares with the lines that are left, before any memory is asked for.
    fn check_room(&self, planes: usize, rows: usize, stored: usize) -> Result<(), ReadError> {
        if stored.saturating_mul(rows) > MOST_VALUES {
            let message =
                format!("the file declares {stored} by {rows} values, more than the {MOST_VALUES} that are read");
            return Err(ReadError::new(Fault::Count, message));
        }
        let left = self.lines.clone().filter(|line| !line.text.trim().is_empty()).count();
        let tail = stored.saturating_mul(rows).saturating_add(rows);
        if planes.saturating_add(tail) <= left {
            return Ok(());
        }
        let message = format!(
            "the file declares {planes} C angles, {rows} gamma angles and {stored} planes of {rows} values, but has {left} lines left for them"
        );
        let help = if stored != planes && stored.saturating_add(tail) == left {
            format!(
                "the C list seems to hold only the {stored} planes that are stored; it must hold all {planes} of the whole circle"
            )
        } else {
            "one value a line, none left out".to_owned()
        };
        Err(self.text.end_error(message).help(help))
    }

    fn angles(&mut self, count: usize, name: &str, most: f64) -> Result<Vec<f64>, ReadError> {
        let mut angles: Vec<f64> = Vec::with_capacity(count);
        for done in 0..count {
            let (angle, line) = self.value(|| format!("{name} angle {} of {count}", done + 1))?;
            if !(0.0..=most).contains(&angle) {
                let message = format!("the {name} angle {angle} is outside 0 to {most}");
                return Err(self.text.error(Fault::Angles, line.at, message));
            }
            if let Some(before) = angles.last().filter(|before| angle <= **before) {
                let message = format!("the {name} angle {angle} follows {before}: angles must ascend");
                return Err(self.text.error(Fault::Angles, line.at, message));
            }
            angles.push(angle);
        }
        Ok(angles)
    }

    fn values(&mut self, count: usize, factor: f64) -> Result<Vec<f64>, ReadError> {
        let mut values = Vec::with_capacity(count);
        for done in 0..count {
            let (value, line) = self.value(|| format!("value {} of {count}", done + 1))?;
            let light = value * factor;
            if light < 0.0 || !light.is_finite() {
                let message = format!("the intensity `{}` is not possible", shown(line.text));
                return Err(self
                    .text
                    .error(Fault::Value, line.at, message)
                    .help("a number of cd for 1000 lm, 0 or more"));
            }
            values.push(light);
        }
        Ok(values)
    }

    /// More numbers than declared are a mistake in the counts; words after the last value are only odd.
    fn check_end(&mut self) -> Result<(), ReadError> {
        let Some(line) = self.lines.find(|line| !line.text.trim().is_empty()) else { return Ok(()) };
        if number_with_comma(line.text.trim()).is_some() {
            let message = format!("`{}` follows the last value", shown(line.text.trim()));
            let help = "the counts of C planes and gamma angles, and the symmetry, must match the values";
            return Err(self.text.error(Fault::Count, line.at, message).help(help));
        }
        self.notes.push(Note::new(self.text.line(line.at), "text after the last value is left aside"));
        Ok(())
    }
}

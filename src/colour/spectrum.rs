//! A spectrum in a table of two columns, wavelength in nm and value, and its chromaticity.
//!
//! Each sample is weighted by the colour matching functions at its own wavelength and by the width that it stands for.
//! For equal steps that is the plain sum of the colorimetry documents; straight lines between samples would widen a
//! narrow lamp instead.

use super::locus::{matching, of_tristimulus};
use super::{Chromaticity, Distance};
use crate::units::Wavelength;

/// Wider steps could miss a narrow lamp; at 5 nm the sums are good to 0.00003 in x, y.
const WIDEST_STEP: f64 = 5.0;
/// What is cut off at the ends may change x, y by no more, if it goes on as it stands there.
const LARGEST_CUT: f64 = 0.0005;
/// Noise below zero, as a share of the greatest value.
const LARGEST_NOISE: f64 = 0.02;
/// No instrument has more samples.
const MOST_SAMPLES: usize = 20_000;
/// Where the colour matching functions begin and end.
const VISIBLE: (f64, f64) = (380.0, 780.0);

/// Spectral values by wavelength, in any unit of power a nm.
#[derive(Clone, Debug)]
pub struct Spectrum {
    /// Wavelengths in nm, ascending, with values.
    samples: Vec<(f64, f64)>,
}

/// Why a table is no spectrum that a chromaticity can be computed from.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{message}")]
pub struct SpectrumError {
    /// A short code for the fault.
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: &'static str,
    /// The line, from 1.
    pub line: Option<usize>,
}

impl SpectrumError {
    fn new(code: &'static str, message: impl Into<String>, help: &'static str) -> Self {
        Self { code, message: message.into(), help, line: None }
    }
}

const FORM: &str = "the table has the columns `nm,value`, one sample a line, such as `625,0.83`";

impl Spectrum {
    /// Reads a table; semicolons part columns where numbers may have decimal commas.
    pub fn read(text: &str) -> Result<Self, SpectrumError> {
        let lines = text.lines().enumerate().map(|(at, line)| (at + 1, line.trim()));
        let mut lines = lines.filter(|(_, line)| !line.is_empty() && !line.starts_with('#')).peekable();
        // Names of the columns, in whatever words.
        if lines.peek().is_some_and(|(_, line)| !line.starts_with(|c: char| c.is_ascii_digit())) {
            lines.next();
        }
        let mut samples = Vec::new();
        for (line, row) in lines {
            let sample = read_row(row).ok_or_else(|| SpectrumError {
                line: Some(line),
                ..SpectrumError::new("bad-spectrum", "this line is not a wavelength and a value", FORM)
            })?;
            if samples.len() == MOST_SAMPLES {
                let message = format!("a spectrum has at most {MOST_SAMPLES} samples");
                return Err(SpectrumError::new("bad-spectrum", message, "give one sample a nm"));
            }
            samples.push((line, sample));
        }
        if let Some(((line, _), _)) =
            samples.iter().skip(1).zip(&samples).find(|((_, next), (_, sample))| next.0 <= sample.0)
        {
            let (message, help) = ("the wavelengths do not ascend here", "sort the table; each wavelength stands once");
            return Err(SpectrumError { line: Some(*line), ..SpectrumError::new("bad-spectrum", message, help) });
        }
        Self::new(samples.into_iter().map(|(_, sample)| sample).collect())
    }

    /// A spectrum from samples of ascending wavelength in nm.
    pub fn new(samples: Vec<(f64, f64)>) -> Result<Self, SpectrumError> {
        let visible = |(nm, _): &&(f64, f64)| (VISIBLE.0..=VISIBLE.1).contains(nm);
        let most = samples.iter().filter(visible).map(|(_, value)| *value).fold(0.0, f64::max);
        let least = samples.iter().filter(visible).map(|(_, value)| *value).fold(0.0, f64::min);
        if samples.iter().filter(visible).count() < 3 || most <= 0.0 || !most.is_finite() {
            let message = "it has no light from 380 to 780 nm";
            return Err(SpectrumError::new("bad-spectrum", message, FORM));
        }
        if least < -LARGEST_NOISE * most {
            let message = "it has values further below zero than noise explains";
            return Err(SpectrumError::new("bad-spectrum", message, "take the instrument's dark reading off again"));
        }
        let steps = samples.iter().zip(samples.iter().skip(1)).map(|(one, next)| (one.0, next.0));
        let steps = steps.filter(|(from, to)| *to > VISIBLE.0 && *from < VISIBLE.1);
        if let Some((from, to)) = steps.into_iter().find(|(from, to)| to - from > WIDEST_STEP + 1e-9) {
            let message = format!("from {from} to {to} nm there is no sample");
            let help = "give a sample at least every 5 nm: a lamp of one colour fits between wider ones";
            return Err(SpectrumError::new("coarse-spectrum", message, help));
        }
        Ok(Self { samples })
    }

    /// Its chromaticity, or why what was cut off at an end could change it.
    pub fn chromaticity(&self) -> Result<Chromaticity, SpectrumError> {
        let found = chromaticity(&self.samples);
        let flat = chromaticity(&self.extended());
        if found.distance(flat) > Distance::new(LARGEST_CUT) {
            let message = "it ends where the lamp still gives light";
            let help = "measure from 380 to 780 nm, or further than the lamp gives light";
            return Err(SpectrumError::new("cut-spectrum", message, help));
        }
        Ok(found)
    }

    /// As if the values at both ends went on to the ends of the visible.
    fn extended(&self) -> Vec<(f64, f64)> {
        let mut samples = self.samples.clone();
        let wide = WIDEST_STEP;
        while let Some((nm, value)) = samples.first().copied().filter(|(nm, _)| nm - wide >= VISIBLE.0) {
            samples.insert(0, (nm - wide, value));
        }
        while let Some((nm, value)) = samples.last().copied().filter(|(nm, _)| nm + wide <= VISIBLE.1) {
            samples.push((nm + wide, value));
        }
        samples
    }
}

fn chromaticity(samples: &[(f64, f64)]) -> Chromaticity {
    let nm = |at: Option<usize>| at.and_then(|at| samples.get(at)).map(|(nm, _)| *nm);
    let mut sum = [0.0; 3];
    for (at, (here, value)) in samples.iter().enumerate() {
        // The first and the last stand for as much beyond them as before them.
        let (before, behind) = (nm(at.checked_sub(1)), nm(at.checked_add(1)));
        let width = match (before, behind) {
            (Some(before), Some(behind)) => (behind - before) / 2.0,
            (Some(before), None) => here - before,
            (None, Some(behind)) => behind - here,
            (None, None) => 1.0,
        };
        for (sum, matching) in sum.iter_mut().zip(matching(Wavelength::new(*here))) {
            *sum += value * matching * width;
        }
    }
    of_tristimulus(sum)
}

fn read_row(row: &str) -> Option<(f64, f64)> {
    let (delimiter, comma) = if row.contains(';') { (';', true) } else { (',', false) };
    let delimiter = if row.contains(delimiter) { delimiter } else { '\t' };
    let mut cells = row.split(delimiter).map(str::trim);
    let number = |cell: &str| {
        let cell = if comma { cell.replace(',', ".") } else { cell.to_owned() };
        cell.parse::<f64>().ok().filter(|number| number.is_finite() && number.abs() < 1e12)
    };
    let (nm, value) = (number(cells.next()?)?, number(cells.next()?)?);
    (nm > 0.0 && cells.all(str::is_empty)).then_some((nm, value))
}

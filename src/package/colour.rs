//! What a catalogue states of an emitter's colour by numbers: a measured chromaticity, a spectrum, a dominant
//! wavelength, or only the words of a standard that its maker claims.

use super::light::{Fault, Files};
use crate::colour::{Chromaticity, Distance, LONGEST_WAVE, Locus, SHORTEST_WAVE, Spectrum};
use crate::diagnostic::Diagnostic;
use crate::load::reader::{Node, Table, Text};
use crate::load::text::decode_table;
use crate::units::{Share, Wavelength, format_number};

/// Farther outside the locus no reading of an instrument comes (practice); a mistake of writing does.
const FARTHEST_BEYOND: Distance = Distance::new(0.005);

/// No instrument that is worse is used for a colour (practice).
const LARGEST_UNCERTAINTY: f64 = 0.05;

/// What is stated of an emitter's colour by numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct StatedColour {
    /// How it is known.
    pub evidence: ColourEvidence,
    /// Its chromaticity, where the evidence gives one: the nearest that a light can have.
    pub at: Option<Chromaticity>,
    /// How far outside the spectral locus the chromaticity as stated lies.
    pub beyond: Option<Distance>,
    /// Expanded uncertainty (k = 2) of x and y.
    pub uncertainty: Option<Distance>,
}

/// How the colour of an emitter is known: four strengths, best first.
#[derive(Clone, Debug, PartialEq)]
pub enum ColourEvidence {
    /// A spectrum, from this file.
    Spectrum(String),
    /// A chromaticity.
    Chromaticity,
    /// A dominant wavelength against the white of equal energy, with the excitation purity where it is stated.
    DominantWavelength(Wavelength, Option<Share>),
    /// The words of a standard that its maker claims.
    Claimed(String),
}

impl ColourEvidence {
    /// In words, for a note.
    pub fn describe(&self) -> String {
        match self {
            Self::Spectrum(file) => format!("computed from the spectrum `{file}`"),
            Self::Chromaticity => "as the catalogue states it".to_owned(),
            Self::DominantWavelength(wavelength, None) => {
                format!("from the dominant wavelength {} nm alone", wavelength.value())
            }
            Self::DominantWavelength(wavelength, Some(purity)) => {
                let purity = format_number(purity.value() * 100.0, 1);
                format!("from the dominant wavelength {} nm and a purity of {purity} %", wavelength.value())
            }
            Self::Claimed(words) => format!("its maker claims `{words}`, and states no chromaticity"),
        }
    }
}

/// Reads the keys of an emitter that state its colour; one of the four at most.
pub(super) fn read_stated(table: &mut Table<'_>, files: &Files<'_>) -> Option<StatedColour> {
    let locus = Locus::cie_1931();
    let kinds = [
        table.get("chromaticity").map(|node| (node.span(), read_chromaticity(&node, &locus))),
        table.get("spectrum").map(|node| (node.span(), read_spectrum(&node, files, &locus))),
        table.get("dominant-wavelength").map(|node| (node.span(), read_dominant(&node, &locus))),
        table.get("claims-colour").map(|node| (node.span(), read_claim(&node))),
    ];
    let uncertainty = table.get("chromaticity-uncertainty").map(|node| (node.span(), read_uncertainty(&node)));
    let mut kinds = kinds.into_iter().flatten();
    let first = kinds.next();
    if let (Some((first, _)), Some((second, _))) = (&first, kinds.next()) {
        let error = Diagnostic::error("two-colours", "the colour of an emitter is stated twice");
        files.log.push(error.at(&second, "here").at(first, "and here").help("keep the better known of the two"));
    }
    let stated = first.and_then(|(_, stated)| stated);
    match uncertainty {
        None => stated,
        Some((span, uncertainty)) => {
            if stated.as_ref().is_some_and(|stated| stated.at.is_none()) {
                let error =
                    Diagnostic::error("no-chromaticity", "an uncertainty needs a chromaticity that it belongs to");
                files.log.push(error.at(&span, "").help("state `chromaticity = [x, y]`, or drop it"));
            }
            stated.map(|stated| StatedColour { uncertainty, ..stated })
        }
    }
}

/// A chromaticity that a light can have, and how it is known.
fn known(evidence: ColourEvidence, stated: Chromaticity, locus: &Locus) -> StatedColour {
    let beyond = locus.beyond(stated);
    let at = beyond.map_or(stated, |(_, near)| near);
    StatedColour { evidence, at: Some(at), beyond: beyond.map(|(distance, _)| distance), uncertainty: None }
}

fn read_chromaticity(node: &Node<'_>, locus: &Locus) -> Option<StatedColour> {
    let list = node.list();
    let values: Vec<f64> = list.iter().filter_map(Node::number).collect();
    let at = match values.as_slice() {
        [x, y] if *x >= 0.0 && *y >= 0.0 && x + y <= 1.0 => Chromaticity { x: *x, y: *y },
        _ => {
            let help = "write `[x, y]` with x, y and 1 - x - y from 0 to 1";
            node.error("bad-chromaticity", "this is not a chromaticity", help);
            return None;
        }
    };
    let found = known(ColourEvidence::Chromaticity, at, locus);
    if let Some(beyond) = found.beyond.filter(|beyond| *beyond > FARTHEST_BEYOND) {
        let message =
            format!("no light has this chromaticity: it lies {:.4} outside the spectral locus", beyond.value());
        node.error("outside-the-locus", message, "check the figures, and that they are x and y of CIE 1931");
        return None;
    }
    Some(found)
}

fn read_spectrum(node: &Node<'_>, files: &Files<'_>, locus: &Locus) -> Option<StatedColour> {
    let name = node.text()?;
    let at = spectrum_of(&name, files)?;
    Some(known(ColourEvidence::Spectrum(name.text), at, locus))
}

/// The chromaticity of the spectrum in a file.
fn spectrum_of(name: &Text, files: &Files<'_>) -> Option<Chromaticity> {
    let found = files.open(name)?;
    let path = found.path.display().to_string();
    let text = match decode_table(&found.bytes, &path) {
        Ok(text) => text,
        Err(error) => {
            files.log.push(error.at(&name.span, "named here"));
            return None;
        }
    };
    match Spectrum::read(&text).and_then(|spectrum| spectrum.chromaticity()) {
        Ok(at) => Some(at),
        Err(error) => {
            let (message, help) = (error.message, Some(error.help.to_owned()));
            let fault = Fault { code: error.code, message, line: error.line, column: None, help };
            files.log.push(files.refused(&fault, &path, &found.bytes, &name.span));
            None
        }
    }
}

/// `"626 nm"`, or `{ at = "626 nm", purity = "98 %" }`.
fn read_dominant(node: &Node<'_>, locus: &Locus) -> Option<StatedColour> {
    let read = |node: &Node<'_>| node.within::<Wavelength>(SHORTEST_WAVE, LONGEST_WAVE, "380 to 699 nm");
    let (wavelength, purity) = if node.is_table() {
        let mut table = node.table()?;
        let wavelength = table.require("at").and_then(|node| read(&node));
        let purity = table.require("purity").and_then(|node| node.within(Share::ZERO, Share::new(1.0), "0 to 100 %"));
        table.finish();
        (wavelength?, Some(purity?))
    } else {
        (read(node)?, None)
    };
    let pure = locus.at(wavelength)?;
    let at = Chromaticity::EQUAL_ENERGY.towards(pure, purity.map_or(1.0, Share::value));
    Some(known(ColourEvidence::DominantWavelength(wavelength, purity), at, locus))
}

fn read_claim(node: &Node<'_>) -> Option<StatedColour> {
    let words = node.text()?.text;
    Some(StatedColour { evidence: ColourEvidence::Claimed(words), at: None, beyond: None, uncertainty: None })
}

fn read_uncertainty(node: &Node<'_>) -> Option<Distance> {
    let number = node.number()?;
    if !(number > 0.0 && number <= LARGEST_UNCERTAINTY) {
        let message = "an uncertainty of x and y lies above 0 and is at most 0.05";
        node.error("out-of-range", message, "for example chromaticity-uncertainty = 0.003");
        return None;
    }
    Some(Distance::new(number))
}

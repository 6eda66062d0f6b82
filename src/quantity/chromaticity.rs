//! Whether the light of a head has the colour that documents mean: in which regions of the x, y diagram it lies, how
//! far from their edges, and how well that is known.

use super::device::{Shining, each_emitter, of_devices};
use super::{Ask, Measured, Quantity, Value};
use crate::colour::{Chromaticity, Distance, Region};
use crate::package::{ColourEvidence, Grade, StatedColour};
use crate::units::Dimension;

/// What instruments for x and y are good to, where nothing is stated (practice).
const USUAL_UNCERTAINTY: Distance = Distance::new(0.003);

/// The regions in which the light of a head lies, of those that are asked for.
pub(super) static REGIONS: Quantity = of_devices(
    "chromaticity-regions",
    "regions of the CIE 1931 x, y diagram in which the light of one head and colour lies; the light of heads beside each \
     other is not mixed",
    Dimension::Words,
    "hold a spectroradiometer's sensor in the beam of the head alone, steady or over whole periods, and note x and y",
    |conduct, _, ask| each_emitter(conduct, ask, |one| measure(one, ask)),
);

fn measure(one: &Shining<'_, '_>, ask: &Ask<'_>) -> Measured {
    let Some((stated, at)) = one.emitter.stated.as_ref().and_then(|stated| Some((stated, stated.at?))) else {
        return Measured::new(Value::Unknown(nothing_known(one)));
    };
    let (mut shown, mut perhaps, mut most) = (Vec::new(), Vec::new(), None::<Room<'_>>);
    let uncertainty = stated.uncertainty.unwrap_or(USUAL_UNCERTAINTY);
    for region in ask.device.regions {
        let room = Room::new(region, at);
        // The finding names the head; a word has no other.
        let word = (region.id.clone(), Vec::new());
        if room.distance >= uncertainty {
            shown.push(word);
        } else if room.distance.value() > -uncertainty.value() {
            perhaps.push(word);
        }
        if most.as_ref().is_none_or(|most| room.distance > most.distance) {
            most = Some(room);
        }
    }
    let open = shown.is_empty() && !perhaps.is_empty();
    let mut found = Measured::new(Value::Words { shown, perhaps });
    found.margin = most.as_ref().map(|most| most.distance.value());
    found.notes = notes(stated, at, most.as_ref(), open.then_some(uncertainty));
    found.evidence = Some(match stated.evidence {
        // Nobody knows how pale the lamp is.
        ColourEvidence::DominantWavelength(_, None) => Grade::Estimate,
        _ => one.emitter.evidence.grade,
    });
    found
}

/// How far inside a region a light lies.
struct Room<'r> {
    region: &'r Region,
    distance: Distance,
    edge: &'r str,
}

impl<'r> Room<'r> {
    fn new(region: &'r Region, at: Chromaticity) -> Self {
        let nearest = region.room(at);
        Self { region, distance: nearest.distance, edge: nearest.edge }
    }
}

/// Where it lies, how that is known, and what leaves it open; `open` is the uncertainty that does.
fn notes(stated: &StatedColour, at: Chromaticity, most: Option<&Room<'_>>, open: Option<Distance>) -> Vec<String> {
    let mut notes = Vec::new();
    let place = format!("x {:.4}, y {:.4}, {},", at.x, at.y, stated.evidence.describe());
    if let Some(most) = most {
        let (far, side) =
            (most.distance.value().abs(), if most.distance < Distance::ZERO { "outside" } else { "inside" });
        let (region, edge) = (&most.region.id, most.edge);
        notes.push(format!("{place} lies {far:.4} {side} `{region}`, nearest edge: {edge}"));
        if let Some(open) = open {
            let whose = if stated.uncertainty.is_some() { "stated" } else { "usual (practice)" };
            let open = open.value();
            notes.push(format!(
                "that is within the {whose} uncertainty of {open} in x and y, so it may lie on either side"
            ));
        }
    }
    if let ColourEvidence::DominantWavelength(_, None) = stated.evidence {
        notes.push(
            "a dominant wavelength alone is taken as pure light: a lamp is paler, so this is a rough screen".to_owned(),
        );
    }
    if let Some(beyond) = stated.beyond {
        let beyond = beyond.value();
        notes.push(format!(
            "as stated it lies {beyond:.5} outside the spectral locus, where no light lies: taken as rounding"
        ));
    }
    notes
}

/// What is said where no chromaticity is known.
fn nothing_known(one: &Shining<'_, '_>) -> String {
    let (model, colour) = (&one.model.id, &one.emitter.colour);
    let known = match one.emitter.stated.as_ref().map(|stated| &stated.evidence) {
        Some(claimed @ ColourEvidence::Claimed(_)) => claimed.describe(),
        _ => "its catalogue states no chromaticity".to_owned(),
    };
    format!("{colour} emitter of `{model}`: {known}")
}

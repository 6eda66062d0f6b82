//! Figures of a catalogue that hold for one pattern alone, where no row runs it any more: light that was known is not
//! known now, though the lamp is the same.

use crate::package::{Figures, Package};

/// One line a lamp and colour whose figures the old package used and the new one does not.
pub fn figures_lost(old: &Package, new: &Package) -> Vec<String> {
    let mut said = Vec::new();
    for model in &new.models {
        for emitter in &model.emitters {
            let Some(Figures::OpticalPower { pattern, .. }) = emitter.light.as_ref().map(|light| &light.figures) else {
                continue;
            };
            let colour = &emitter.colour;
            if runs(old, &model.id, colour, Some(pattern)) && shown_otherwise(new, &model.id, colour, pattern) {
                said.push(format!(
                    "the catalogue's figures of `{}` ({colour}) are for the pattern `{pattern}`; no row uses it now, so its light is not known: call the pattern as the catalogue does if it is the same, or add figures for the new one",
                    model.id
                ));
            }
        }
    }
    said
}

/// Whether a lamp is shown in a colour, and never with this pattern.
fn shown_otherwise(package: &Package, model: &str, colour: &str, pattern: &str) -> bool {
    runs(package, model, colour, None) && !runs(package, model, colour, Some(pattern))
}

/// Whether some row shows a lamp in a colour, with this pattern or with any.
fn runs(package: &Package, model: &str, colour: &str, pattern: Option<&str>) -> bool {
    package.displays.iter().flat_map(|display| &display.shows).any(|show| {
        let of = package.heads.get(show.head).and_then(|head| package.models.get(head.model));
        let shows = of.filter(|of| of.id == model).and_then(|of| of.emitters.get(show.emitter));
        let run = show.pattern.and_then(|at| package.patterns.get(at)).map(|pattern| pattern.id.as_str());
        shows.is_some_and(|emitter| emitter.colour == colour) && pattern.is_none_or(|pattern| run == Some(pattern))
    })
}

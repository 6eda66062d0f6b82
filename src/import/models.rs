//! The parts that a sheet names and the models of catalogues: what each is called, which a catalogue has already, and the
//! catalogue of the others.

use std::collections::{BTreeMap, BTreeSet};

use super::library::Library;
use super::mapping::plain;
use super::onto::Onto;
use super::record::{DOUBTFUL, Doubt, Imported, Record};
use super::words::slug;
use crate::load::reader::is_name;
use crate::load::text::quoted;

/// What one model is called for each part and its colours, so that no two of them share an id. A part whose own name can be
/// one keeps it; one that comes in several colours has the colour behind it, where its name does not end so.
fn model_ids(lamps: &[Record], library: &Library) -> BTreeMap<(String, String), String> {
    let mut kinds: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for lamp in lamps {
        if let Some(part) = lamp.get("model").filter(|part| *part != DOUBTFUL) {
            kinds.entry(part).or_default().insert(lamp.get("colour").unwrap_or_default());
        }
    }
    let mut wanted = Vec::new();
    for (part, colours) in &kinds {
        for colour in colours {
            let stem = if is_name(part) { (*part).to_owned() } else { slug(part) };
            let stem = if stem.is_empty() { "model".to_owned() } else { stem };
            let unknown = *colour == DOUBTFUL || colour.is_empty();
            let shown = if unknown { "colour-unknown".to_owned() } else { colour.replace(' ', "-") };
            let ends_so = stem.to_lowercase().ends_with(&format!("-{shown}"));
            let is_kept = ends_so || library.model(&stem).is_some();
            let id = if colours.len() > 1 && !is_kept { format!("{stem}-{shown}") } else { stem };
            wanted.push((id, (*part).to_owned(), (*colour).to_owned()));
        }
    }
    // A part's own name comes before one that was made.
    wanted.sort_by_key(|(id, part, _)| id != part);
    let (mut ids, mut taken) = (BTreeMap::new(), BTreeSet::new());
    for (id, part, colour) in wanted {
        if id == part && library.model(&id).is_some() {
            ids.insert((part, colour), id);
            continue;
        }
        let others = (2..).map(|next| format!("{id}-{next}"));
        // There are only so many taken.
        let free = std::iter::once(id.clone())
            .chain(others)
            .find(|one| !taken.contains(one) && !library.has(one))
            .unwrap_or(id);
        taken.insert(free.clone());
        ids.insert((part, colour), free);
    }
    ids
}

/// The models that the lamps name and no catalogue has, with the colours that the sheet says and nothing that it does not;
/// and the catalogues of all.
pub(super) fn models_toml(imported: &mut Imported, library: &Library, from: &str) -> (String, Vec<String>) {
    let ids = model_ids(&imported.lamps, library);
    let mut catalogues = BTreeSet::new();
    let mut doubts = Vec::new();
    let mut made: BTreeMap<String, (String, String, Vec<String>)> = BTreeMap::new();
    let mut named = Vec::new();
    for lamp in &mut imported.lamps {
        let Some(part) = lamp.get("model").filter(|part| *part != DOUBTFUL).map(str::to_owned) else { continue };
        let colours = lamp.get("colour").unwrap_or_default().to_owned();
        let kind = (part, colours);
        let id = ids.get(&kind).cloned().unwrap_or_default();
        let (part, colours) = kind;
        if let Some(known) = library.model(&part) {
            catalogues.insert(known.file.clone());
            let shows = |colour: &str| known.colours.iter().any(|one| one == colour);
            let (place, id) = (lamp.place.clone(), lamp.id.clone());
            if colours.is_empty() || colours == DOUBTFUL || colours.split(' ').all(shows) {
                let why = format!("`{part}` of the catalogue {}", known.file);
                named.push(Doubt { place, id, what: "model", why });
            } else {
                let known = known.colours.join(" ");
                let why = format!("the sheet says {colours}, `{part}` of the catalogue shows {known}");
                doubts.push(Doubt { place, id, what: "model", why });
                lamp.set("model", DOUBTFUL);
            }
            continue;
        }
        if id != part {
            let others = ids.iter().filter(|((other, _), _)| *other == part).count() > 1;
            let why = match (is_name(&part), others) {
                (_, true) => "one part in several colours",
                (true, false) => "another model is called so",
                (false, false) => "no name",
            };
            let shorter = id.rsplit_once('-').filter(|(_, last)| last.bytes().all(|byte| byte.is_ascii_digit()));
            let is_other = |name: &str| library.has(name) || ids.values().any(|known| known == name);
            let other = shorter.filter(|(name, _)| is_other(name) && *name != part);
            let other = other.map(|(name, _)| format!(", and `{name}` is another")).unwrap_or_default();
            let why = format!("`{id}`, from `{part}`: {why}{other}");
            named.push(Doubt { place: lamp.place.clone(), id: lamp.id.clone(), what: "model", why });
        }
        lamp.set("model", id.as_str());
        let (_, _, of_it) = made.entry(id).or_insert_with(|| (part, colours, Vec::new()));
        of_it.push(lamp.id.clone());
    }
    imported.derived.extend(named);
    imported.doubts.extend(doubts);
    let mut text = format!(
        "# {from}\n# The models that the sheet names. What a laboratory or a maker says of them is still to be written: until then nothing\n# is known of their light, and no rule on light is met.\nformat = 1\n"
    );
    for (id, (model, colours, lamps)) in made {
        text.push_str(&format!(
            "\n# `{}` in the sheet, of {}\n[[model]]\nid = {}\n",
            plain(&model),
            lamps.join(", "),
            quoted(&id)
        ));
        let colours: Vec<&str> = colours.split(' ').filter(|colour| !colour.is_empty()).collect();
        let colours = if colours.is_empty() { vec![DOUBTFUL] } else { colours };
        for colour in colours {
            text.push_str(&format!("\n[[model.emitter]]\ncolour = {}", quoted(colour)));
            text.push_str(if colour == DOUBTFUL { "        # the sheet does not say it\n" } else { "\n" });
            text.push_str("# intensity = { file = \"FILE.ies\", frame = \"vertical-axis\", at = \"12.8 V\" }\n");
            text.push_str("# current = { lit = \"? A\", standby = \"? A\", at = \"12.8 V\" }\n");
            text.push_str("# evidence = { grade = \"laboratory\", report = \"?\", date = 2026-01-01 }\n");
        }
    }
    let catalogues = std::iter::once("models.toml".to_owned()).chain(catalogues).collect();
    (text, catalogues)
}

/// A part that no catalogue of the package has may be there under the id that an import gave it.
pub(super) fn known_models(imported: &mut Imported, onto: &Onto) {
    let ids = model_ids(&imported.lamps, &Library::default());
    let mut doubts = Vec::new();
    for lamp in &mut imported.lamps {
        let Some(part) = lamp.get("model").filter(|part| *part != DOUBTFUL).map(str::to_owned) else { continue };
        if onto.colours(&part).is_some() {
            continue;
        }
        let said = lamp.get("colour").unwrap_or_default().to_owned();
        let id = ids.get(&(part.clone(), said.clone())).cloned().unwrap_or_default();
        let (place, of) = (lamp.place.clone(), lamp.id.clone());
        let (shows, why) = match onto.colours(&id) {
            None => (
                false,
                format!("no catalogue of the package has `{part}`: name another model, or its folder with --library"),
            ),
            Some(known) => {
                let shows = said.is_empty() || said.split(' ').all(|colour| known.iter().any(|one| one == colour));
                let why = format!("the sheet says {said}, the model `{id}` of the package shows {}", known.join(" "));
                (shows, if shows { format!("`{id}`, from `{part}`") } else { why })
            }
        };
        let doubt = Doubt { place, id: of, what: "model", why };
        if shows {
            imported.derived.push(doubt)
        } else {
            doubts.push(doubt)
        }
        lamp.set("model", if shows { id } else { DOUBTFUL.to_owned() });
    }
    imported.doubts.extend(doubts);
}

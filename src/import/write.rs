//! Records to the files of a package: `?` for what is doubtful, with the reason beside it as a remark.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use super::columns::field;
use super::library::Library;
use super::mapping::{Mapping, VEHICLE, plain};
use super::onto::Onto;
use super::record::{DOUBTFUL, Doubt, Imported, Record};
use super::words::slug;
use crate::load::reader::is_name;
use crate::load::text::{in_cell, in_remark, quoted};
use crate::units::Amount;

/// The files of a package, and what is left to do.
#[derive(Clone, Debug, Default)]
pub struct Files {
    /// Name and text.
    pub files: Vec<(&'static str, String)>,
    /// What the sheet cannot say and is still to be written.
    pub still: Vec<String>,
}

/// Columns of `heads.csv`; the first few always stand there.
const COLUMNS: [&str; 18] = [
    "id",
    "model",
    "behind-front",
    "right",
    "height",
    "faces",
    "groups",
    "ahead",
    "tilt",
    "wedge",
    "roll",
    "level",
    "role",
    "circuit",
    "output",
    "clock",
    "serial",
    "mirror",
];
const ALWAYS: usize = 6;

/// Makes the files; `from` says what they were made from, `library` which models are known.
///
/// # Errors
/// Says that the package to take the rest from cannot be changed.
pub fn made(
    imported: &mut Imported,
    mapping: &Mapping,
    onto: Option<&Onto>,
    library: &Library,
    from: &str,
) -> Result<Files, String> {
    let from = plain(from);
    match onto {
        Some(onto) => onto_package(imported, onto, &from),
        None => Ok(fresh(imported, mapping, library, &from)),
    }
}

fn onto_package(imported: &mut Imported, onto: &Onto, from: &str) -> Result<Files, String> {
    known_models(imported, onto);
    mark(&mut imported.lamps, "model", &COLUMNS);
    let blocks = onto.blocks(&imported.lamps);
    imported.doubts.extend(blocks.doubts);
    let rows: Vec<&Record> = imported.lamps.iter().filter(|lamp| !blocks.held.contains(&lamp.id)).collect();
    let heads = heads_csv(&rows, &imported.doubts, from);
    let known: BTreeMap<String, Record> =
        onto.before().circuits.into_iter().map(|circuit| (circuit.id.clone(), circuit)).collect();
    for circuit in &mut imported.circuits {
        // What the sheet has no column for is as the package says it; an empty cell of a column that it has says nothing.
        if let Some(old) = known.get(&circuit.id) {
            let kept = old.cells.iter().filter(|(name, _)| !circuit.columns.contains(*name));
            let kept: Vec<(&'static str, String)> = kept.map(|(name, value)| (*name, value.clone())).collect();
            for (name, value) in kept {
                circuit.cells.entry(name).or_insert(value);
            }
        }
    }
    complete(imported);
    let circuit_blocks: Vec<String> =
        imported.circuits.iter().map(|circuit| circuit_block(circuit, &imported.doubts)).collect();
    let package = onto.with(&blocks.texts, &circuit_blocks)?;
    Ok(Files { files: vec![("package.toml", package), ("heads.csv", heads)], still: Vec::new() })
}

/// A part that no catalogue of the package has may be there under the id that an import gave it.
fn known_models(imported: &mut Imported, onto: &Onto) {
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

fn fresh(imported: &mut Imported, mapping: &Mapping, library: &Library, from: &str) -> Files {
    let (models, catalogues) = models_toml(imported, library, from);
    for lamp in imported.lamps.iter_mut().filter(|lamp| lamp.get("mirrored-beam") == Some("yes")) {
        lamp.set("mirror", DOUBTFUL);
        let why = "its beam is turned left for right: write `mirror = yes` at the lamp of the other side, and take this one out";
        let (place, id) = (lamp.place.clone(), lamp.id.clone());
        imported.doubts.push(Doubt { place, id, what: "mirror", why: why.to_owned() });
    }
    mark(&mut imported.lamps, "model", &[&COLUMNS[..], &["colour"]].concat());
    complete(imported);
    let circuit_blocks: Vec<String> =
        imported.circuits.iter().map(|circuit| circuit_block(circuit, &imported.doubts)).collect();
    let rows: Vec<&Record> = imported.lamps.iter().collect();
    let heads = heads_csv(&rows, &imported.doubts, from);
    let mut files = Vec::new();
    let mut still = Vec::new();
    files.push(("package.toml", package_toml(imported, mapping, from, &catalogues, &circuit_blocks)));
    let missing: Vec<&str> =
        VEHICLE.iter().zip(&mapping.vehicle).filter(|(_, value)| value.is_none()).map(|(key, _)| *key).collect();
    if !missing.is_empty() {
        still.push(format!("of the vehicle: {} ([vehicle] of the mapping, or of package.toml)", missing.join(", ")));
    }
    if !imported.lamps.is_empty() {
        files.push(("heads.csv", heads));
        files.push(("models.toml", models));
        still.push("of each model in models.toml: its light by direction, its current, its evidence".to_owned());
        still.push("what the lamps do: [inputs], [[pattern]], [[display]] and [[mode]] in package.toml".to_owned());
        still.push("which rules are asked: `rules` in package.toml (`wayproof rules` lists them)".to_owned());
        still.push("what can hide a lamp: [[body]] in package.toml".to_owned());
    }
    if !imported.circuits.is_empty() {
        still.push(
            "what feeds the circuits: [supply], [[battery]], [[alternator]], [[load]] in package.toml".to_owned(),
        );
    }
    Files { files, still }
}

/// A record with a `?` that goes nowhere is held back by what it cannot do without.
fn mark(records: &mut [Record], needed: &'static str, written: &[&str]) {
    for record in records {
        let open = |written_too: bool| {
            let mut cells = record.cells.iter().filter(|(_, value)| *value == DOUBTFUL);
            cells.any(|(name, _)| written_too || written.contains(name))
        };
        if open(true) && !open(false) {
            record.set(needed, DOUBTFUL);
        }
    }
}

/// A comment line a doubt or remark.
fn comments(record: &Record, doubts: &[Doubt], of_circuit: bool) -> String {
    let mut text = String::new();
    // A lamp may be called as its circuit is.
    let is_its =
        |doubt: &&Doubt| doubt.id == record.id && field(doubt.what).is_none_or(|field| field.of_circuit == of_circuit);
    for doubt in doubts.iter().filter(is_its) {
        text.push_str(&format!("# ? {} ({}): {}\n", doubt.what, plain(&doubt.place), plain(&doubt.why)));
    }
    if !record.remarks.is_empty() {
        text.push_str(&format!("# {}: {}\n", plain(&record.place), plain(&record.remarks.join("; "))));
    }
    text
}

fn heads_csv(lamps: &[&Record], doubts: &[Doubt], from: &str) -> String {
    let mut text = format!(
        "# {}\n# A `?` is what the sheet does not say for sure; the remark above the lamp says why.\n",
        in_remark(from)
    );
    let used: Vec<&str> = COLUMNS
        .iter()
        .enumerate()
        .filter(|(at, name)| *at < ALWAYS || lamps.iter().any(|lamp| lamp.get(name).is_some()))
        .map(|(_, name)| *name)
        .collect();
    let row = |cells: Vec<Cow<'_, str>>| -> String {
        let mut writer = csv::Writer::from_writer(Vec::new());
        // Writing to memory does not fail.
        let _ = writer.write_record(cells.iter().map(|cell| cell.as_bytes()));
        writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
    };
    text.push_str(&row(used.iter().map(|name| Cow::Borrowed(*name)).collect()));
    for lamp in lamps {
        comments(lamp, doubts, false).lines().for_each(|line| text.push_str(&format!("{}\n", in_remark(line))));
        let cell = |name: &&str| {
            let said = if *name == "id" { lamp.id.as_str() } else { lamp.get(name).unwrap_or_default() };
            // `-15 in` is nothing that a spreadsheet could run.
            if Amount::parse(said).is_ok() { Cow::Borrowed(said) } else { in_cell(said) }
        };
        text.push_str(&row(used.iter().map(cell).collect()));
    }
    text
}

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
fn models_toml(imported: &mut Imported, library: &Library, from: &str) -> (String, Vec<String>) {
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

fn package_toml(
    imported: &Imported,
    mapping: &Mapping,
    from: &str,
    catalogues: &[String],
    circuits: &[String],
) -> String {
    let mut text = format!(
        "# {from}\n# Each `?` is something that the sheet does not say for sure: put it right here and in heads.csv. Until then the package is\n# refused, so that nothing is judged on a guess.\nformat = 1\nrules = []                       # `wayproof rules` lists those that come with the tool\n"
    );
    if !imported.lamps.is_empty() {
        let catalogues: Vec<String> = catalogues.iter().map(|name| quoted(name)).collect();
        text.push_str(&format!("catalogues = [{}]\nheads = \"heads.csv\"\n", catalogues.join(", ")));
    }
    text.push_str("\n[vehicle]\n");
    for (key, value) in VEHICLE.iter().zip(&mapping.vehicle) {
        text.push_str(&format!("{key} = {}\n", quoted(value.as_deref().unwrap_or(DOUBTFUL))));
    }
    text.push_str(
        "\n# ---- still to be written, since no schedule says it ----\n# [inputs], [[body]], [[pattern]], [[display]], [[mode]]: `wayproof new DIR` writes a small package that shows each of them.\n",
    );
    if !circuits.is_empty() {
        text.push_str(
            "\n# ---- circuits; what feeds them is still to be written: [[battery]], [[alternator]], [[load]] ----\n\n",
        );
        text.push_str(&format!("[supply]\nsystem = {}\n\n", quoted(DOUBTFUL)));
        text.push_str(&circuits.join("\n"));
    }
    text
}

const FUSE: [&str; 3] = ["fuse-kind", "fuse-rating", "fuse-ambient"];
const WIRE: [&str; 7] = ["wire-size", "wire-length", "strand", "insulation", "copper", "engine-space", "ampacity"];

fn has(circuit: &Record, names: &[&str]) -> bool {
    names.iter().any(|name| circuit.get(name).is_some())
}

/// What a circuit cannot do without is `?` where no row says it.
fn complete(imported: &mut Imported) {
    for circuit in &mut imported.circuits {
        let mut needed = vec!["from"];
        needed.extend(if has(circuit, &FUSE) { &["fuse-kind", "fuse-rating"][..] } else { &[] });
        needed.extend(if has(circuit, &WIRE) { &["wire-size", "wire-length"][..] } else { &[] });
        for what in needed {
            if circuit.get(what).is_none() {
                circuit.set(what, DOUBTFUL);
                let (place, id) = (circuit.place.clone(), circuit.id.clone());
                imported.doubts.push(Doubt { place, id, what, why: "not said".to_owned() });
            }
        }
        let fuse: &[&str] = if has(circuit, &FUSE) { &FUSE } else { &[] };
        let wire: &[&str] = if has(circuit, &WIRE) { &WIRE } else { &[] };
        mark(std::slice::from_mut(circuit), "from", &[&["from"], fuse, wire].concat());
    }
}

/// One `[[circuit]]`.
fn circuit_block(circuit: &Record, doubts: &[Doubt]) -> String {
    let cell = |name: &str| quoted(circuit.get(name).unwrap_or(DOUBTFUL));
    let mut text = format!("{}[[circuit]]\nid = {}\n", comments(circuit, doubts, true), quoted(&circuit.id));
    text.push_str(&format!("from = {}\n", cell("from")));
    if has(circuit, &FUSE) {
        let mut parts = vec![format!("kind = {}", cell("fuse-kind")), format!("rating = {}", cell("fuse-rating"))];
        parts.extend(circuit.get("fuse-ambient").map(|value| format!("ambient = {}", quoted(value))));
        text.push_str(&format!("fuse = {{ {} }}\n", parts.join(", ")));
    }
    if has(circuit, &WIRE) {
        let mut parts = vec![format!("size = {}", cell("wire-size")), format!("length = {}", cell("wire-length"))];
        let more =
            [("strand", "strand"), ("insulation", "insulation"), ("copper", "temperature"), ("ampacity", "ampacity")];
        parts.extend(more.iter().filter_map(|(name, key)| Some(format!("{key} = {}", quoted(circuit.get(name)?)))));
        parts.extend(circuit.get("engine-space").map(|value| match value {
            "yes" => "engine-space = true".to_owned(),
            other => format!("engine-space = {}", quoted(other)),
        }));
        text.push_str(&format!("wire = {{ {} }}\n", parts.join(", ")));
    }
    text
}

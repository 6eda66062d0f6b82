//! Records to the files of a package: `?` for what is doubtful, with the reason beside it as a remark.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::columns::field;
use super::library::Library;
use super::mapping::{Mapping, VEHICLE, plain};
use super::models::{known_models, models_toml};
use super::onto::Onto;
use super::record::{DOUBTFUL, Doubt, Imported, Record};
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

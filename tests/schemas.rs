//! The JSON Schemas in rulesets/schemas: every file that comes with the tool and every record that it writes fits its
//! schema, what the readers refuse for a key, a type, a word or a unit the schema refuses too, and no schema can drift
//! away from the readers: their keys, words and units are compared.
//!
//! In tests/schemas stand files with every key of each kind, and the cases that change them.

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use common::root;
use jsonschema::Validator;
use proptest::prelude::*;
use serde_json::{Map, Value as Json, json};
use wayproof::bid::{Heading, Proof};
use wayproof::diagnostic::{Diagnostic, Log, Severity, Sources};
use wayproof::electrical::{FuseKind, IDLE_RATES};
use wayproof::flash::EffectiveMethod;
use wayproof::import::FIELDS;
use wayproof::judge::VERDICTS;
use wayproof::logic::MEANINGS;
use wayproof::package::{ARROW_WAYS, Grade, LoadKind, Mount, PackageFile, ROLES, SounderKind, load};
use wayproof::photometry::{Frame, Zero};
use wayproof::quantity::{DEVICE_KINDS, DEVICE_LIGHTS, QUANTITIES, Side};
use wayproof::readings::DECISIONS;
use wayproof::ruleset::{BASES, Loader, PRECEDENCES, REQUIRES, STRENGTHS};
use wayproof::schema::{KINDS, find};
use wayproof::sound::OCTAVES;
use wayproof::units::{Amount, Dimension, Unit};

fn schema(kind: &str) -> Json {
    serde_json::from_str(find(kind).unwrap_or_else(|| panic!("no schema {kind}")).text).unwrap()
}

fn validator(schema: &Json) -> Validator {
    jsonschema::validator_for(schema).unwrap_or_else(|error| panic!("{error}"))
}

fn validators() -> BTreeMap<&'static str, Validator> {
    KINDS.iter().map(|kind| (kind.name, validator(&schema(kind.name)))).collect()
}

fn mistakes(validator: &Validator, file: &Json) -> Vec<String> {
    validator.iter_errors(file).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

/// A file as JSON, its dates as texts.
fn from_toml(value: &toml::Value) -> Json {
    match value {
        toml::Value::String(text) => json!(text),
        toml::Value::Integer(number) => json!(number),
        toml::Value::Float(number) => json!(number),
        toml::Value::Boolean(yes) => json!(yes),
        toml::Value::Datetime(day) => json!(day.to_string()),
        toml::Value::Array(list) => list.iter().map(from_toml).collect(),
        toml::Value::Table(table) => {
            Json::Object(table.iter().map(|(key, value)| (key.clone(), from_toml(value))).collect())
        }
    }
}

/// `None` where it is no TOML.
fn parsed(text: &str) -> Option<Json> {
    text.parse().ok().map(|table| from_toml(&toml::Value::Table(table)))
}

fn kind_of(file: &Json) -> &'static str {
    let kinds = [
        ("sheet", "mapping"),
        ("vehicle", "package"),
        ("model", "catalogue"),
        ("overlay", "overlay"),
        ("ruleset", "ruleset"),
        ("reading", "readings"),
        ("bid", "bid"),
    ];
    let found = kinds.iter().find(|(key, _)| file.get(key).is_some());
    found.map_or("ruleset", |(_, kind)| kind)
}

fn toml_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            toml_files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "toml") {
            found.push(path);
        }
    }
}

#[test]
fn every_file_names_its_schema_in_its_first_line_and_fits_it() {
    let validators = validators();
    let mut files = Vec::new();
    for folder in ["demo-data", "rulesets", "tests/schemas"] {
        toml_files(&root().join(folder), &mut files);
    }
    files.retain(|file| !file.ends_with("refused.toml"));
    assert!(files.len() >= 35, "{} files", files.len());
    let mut kinds = BTreeSet::new();
    for path in files {
        let text = std::fs::read_to_string(&path).unwrap();
        let file = parsed(&text).unwrap();
        let kind = kind_of(&file);
        let said = mistakes(&validators[kind], &file);
        assert_eq!(said, [""; 0], "{}", path.display());
        let named = text.lines().next().and_then(|line| line.strip_prefix("#:schema "));
        let named = path.parent().unwrap().join(named.unwrap_or_else(|| panic!("{} names none", path.display())));
        let expected = root().join(format!("rulesets/schemas/{kind}.json"));
        assert_eq!(named.canonicalize().unwrap(), expected.canonicalize().unwrap(), "{}", path.display());
        kinds.insert(kind);
    }
    // Of every kind that people write; records are written by the program.
    assert_eq!(kinds.len(), KINDS.len() - 1, "{kinds:?}");
}

#[test]
fn the_first_files_to_edit_fit_too() {
    let validators = validators();
    let files = std::fs::read_dir(root().join("src/cli/new")).unwrap().map(|entry| entry.unwrap().path());
    let files = files.filter(|path| path.extension().is_some_and(|ending| ending == "toml"));
    let kinds = files.map(|path| {
        let file = parsed(&std::fs::read_to_string(&path).unwrap()).unwrap();
        assert_eq!(mistakes(&validators[kind_of(&file)], &file), [""; 0], "{}", path.display());
        kind_of(&file)
    });
    assert_eq!(kinds.collect::<BTreeSet<_>>(), BTreeSet::from(["catalogue", "package", "ruleset"]));
}

/// The schema with no key allowed beside those that it describes.
fn closed(schema: &Json) -> Json {
    match schema {
        Json::Object(map) => {
            let mut map: Map<String, Json> = map.iter().map(|(key, value)| (key.clone(), closed(value))).collect();
            if map.get("properties").is_some_and(Json::is_object) && map.contains_key("type") {
                map.insert("additionalProperties".to_owned(), json!(false));
            }
            Json::Object(map)
        }
        Json::Array(list) => list.iter().map(closed).collect(),
        other => other.clone(),
    }
}

#[test]
fn what_check_writes_fits_the_schema_of_records_and_has_no_key_beside() {
    let validator = validator(&closed(&schema("record")));
    let demo = |name: &str| vec![format!("demo-data/{name}/package.toml")];
    let with = |mut args: Vec<String>, rules: &str| {
        args.extend(["--rules".to_owned(), rules.to_owned()]);
        args
    };
    let mut runs: Vec<Vec<String>> = std::fs::read_dir(root().join("demo-data"))
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.path().join("package.toml").exists())
        .map(|entry| demo(entry.file_name().to_str().unwrap()))
        .collect();
    assert!(runs.len() >= 6, "{runs:?}");
    runs.push(with(demo("brush-2"), "demo-data/overlays/kestrow-limits.toml"));
    runs.push(with(demo("rescue-4"), "demo-data/overlays/kestrow-expired.toml"));
    runs.push(vec!["tests/schemas/package.toml".to_owned()]);
    let (mut met, mut findings) = (String::new(), 0);
    for args in runs {
        let output = assert_cmd::Command::cargo_bin("wayproof")
            .unwrap()
            .current_dir(root())
            .arg("check")
            .args(&args)
            .args(["--format", "json", "--as-of", "2026-11-25"])
            .output()
            .unwrap();
        let text = String::from_utf8(output.stdout).unwrap();
        let record: Json = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{args:?}: {error}"));
        assert_eq!(mistakes(&validator, &record), [""; 0], "{args:?}");
        findings += record["findings"].as_array().unwrap().len();
        met.push_str(&text);
    }
    assert!(findings > 300, "{findings} findings");
    // What the schema describes really occurs.
    const MET: &str = "authority own clause from margin evidence elevation emitter zone item note until in_force changes \
                       confirmed address seen";
    for key in MET.split_whitespace() {
        assert!(met.contains(&format!("\"{key}\": ")), "no record says `{key}`");
    }
    let spoilt = json!({ "format": 1, "summary": {} });
    assert!(!mistakes(&validator, &spoilt).is_empty());
}

/// Reads a package, its catalogues and its rulesets.
fn read(folder: &Path, name: &str, libraries: Vec<PathBuf>) -> Vec<Diagnostic> {
    let bytes = std::fs::read(folder.join(name)).unwrap();
    let inputs = PackageFile { name: name.to_owned(), bytes, folder: folder.to_path_buf(), libraries };
    let (sources, log) = (Sources::default(), Log::default());
    let (_, rules) = load(&inputs, &sources, &log);
    let mut loader = Loader::new(&sources, &log, vec![folder.to_path_buf()]);
    rules.iter().for_each(|name| loader.add_named(name));
    log.take().into_iter().filter(|said| said.severity == Severity::Error).collect()
}

/// Reads a file of readings.
fn read_readings(path: &Path) -> Vec<Diagnostic> {
    let (sources, log) = (Sources::default(), Log::default());
    wayproof::readings::read(path, &sources, &log);
    log.take().into_iter().filter(|said| said.severity == Severity::Error).collect()
}

fn codes(said: &[Diagnostic]) -> Vec<&str> {
    said.iter().map(|said| said.code).collect()
}

const SAMPLES: [&str; 10] = [
    "package.toml",
    "listed.toml",
    "heads.csv",
    "catalogue.toml",
    "lamp.csv",
    "lamp-power.csv",
    "spectrum.csv",
    "ruleset.toml",
    "overlay.toml",
    "readings.toml",
];

#[derive(serde::Deserialize)]
struct Cases {
    case: Vec<Case>,
}

/// `old` in `file` becomes `new`, and the reader says `code`.
#[derive(serde::Deserialize)]
struct Case {
    file: String,
    old: String,
    new: String,
    code: String,
}

#[test]
fn the_reader_and_the_schema_refuse_the_same_mistakes() {
    let samples = root().join("tests/schemas");
    for whole in ["package.toml", "listed.toml"] {
        let said = read(&samples, whole, Vec::new());
        assert!(said.is_empty(), "{whole}: {said:?}");
    }
    let said = read_readings(&samples.join("readings.toml"));
    assert!(said.is_empty(), "readings.toml: {said:?}");
    let validators = validators();
    let cases: Cases = toml::from_str(&std::fs::read_to_string(samples.join("refused.toml")).unwrap()).unwrap();
    assert!(cases.case.len() > 200, "{} cases", cases.case.len());
    let mut wrong = Vec::new();
    for Case { file, old, new, code } in cases.case {
        let text = std::fs::read_to_string(samples.join(&file)).unwrap();
        assert_eq!(text.matches(&old).count(), 1, "{file}: `{old}` stands there once");
        let kind = kind_of(&parsed(&text).unwrap());
        let text = text.replace(&old, &new);
        let dir = tempfile::tempdir().unwrap();
        for sample in SAMPLES {
            std::fs::copy(samples.join(sample), dir.path().join(sample)).unwrap();
        }
        std::fs::write(dir.path().join(&file), &text).unwrap();
        let package = if kind == "package" { &file } else { "package.toml" };
        let said = match kind {
            "readings" => read_readings(&dir.path().join(&file)),
            _ => read(dir.path(), package, Vec::new()),
        };
        if !codes(&said).contains(&code.as_str()) {
            wrong.push(format!("{file}: the reader does not say {code} of `{new}` but {:?}", codes(&said)));
        }
        let changed = parsed(&text).unwrap_or_else(|| panic!("{file}: `{new}` is no TOML"));
        if validators[kind].is_valid(&changed) {
            wrong.push(format!("{file}: the schema takes `{new}`"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A number that is well spelt and too large to be held.
const TOO_LARGE: &str = "infinite.toml";

/// What the reader says of keys, types, words and units.
const PLAIN: &[&str] = &[
    "unknown-key",
    "missing-key",
    "unknown-format",
    "wrong-type",
    "unknown-word",
    "unknown-bearing",
    "no-unit",
    "unknown-unit",
    "wrong-dimension",
    "decimal-comma",
    "not-a-number",
    "bad-id",
    "bad-name",
    "bad-pulse",
    "group-or-head",
    "dims-and-shows",
    "dims-and-points",
    "listed-with-inputs",
    "no-inputs",
    "no-kind-of-input",
    "no-feed",
    "no-draw",
];

#[test]
fn samples_of_bad_input_are_refused_and_doubtful_ones_taken() {
    let validator = validator(&schema("package"));
    let sample = |folder: &str| {
        let folder = root().join("tests").join(folder);
        let names = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().file_name());
        let names = names.map(|name| name.into_string().unwrap()).filter(|name| name.ends_with(".toml"));
        (folder.clone(), names.collect::<BTreeSet<String>>())
    };
    let (folder, names) = sample("bad-input");
    // The package is the first text that is read.
    let package = Sources::default().add("", "");
    let (mut refused, mut wrong) = (0, Vec::new());
    for name in names {
        let Some(file) = std::fs::read_to_string(folder.join(&name)).ok().and_then(|text| parsed(&text)) else {
            continue;
        };
        let mut said = read(&folder, &name, vec![folder.join("files")]);
        said.retain(|said| said.labels.first().is_some_and(|(span, _)| span.source == package));
        let plain = codes(&said).iter().any(|code| PLAIN.contains(code));
        match (plain, validator.is_valid(&file)) {
            (true, true) if name == TOO_LARGE => {}
            (true, true) => wrong.push(format!("{name}: {:?}", codes(&said))),
            (true, false) => refused += 1,
            (false, false) if said.is_empty() => wrong.push(format!("{name}: {:?}", mistakes(&validator, &file))),
            (false, _) => {}
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(refused > 60, "{refused} samples are refused");
    let (folder, names) = sample("doubtful-input");
    assert!(names.len() >= 20);
    for name in names {
        let file = parsed(&std::fs::read_to_string(folder.join(&name)).unwrap()).unwrap();
        assert_eq!(mistakes(&validator, &file), [""; 0], "{name}");
    }
}

#[test]
fn schemas_are_schemas_and_every_key_says_what_it_is() {
    for kind in KINDS {
        let schema = schema(kind.name);
        jsonschema::meta::validate(&schema).unwrap_or_else(|error| panic!("{}: {error}", kind.name));
        let mut silent = Vec::new();
        for_each_key(&schema, &mut |key, said| {
            let target =
                said.get("$ref").and_then(Json::as_str).and_then(|to| schema.pointer(to.trim_start_matches('#')));
            let describes = |one: &Json| one.get("description").is_some();
            // `false` shuts a key out that is described elsewhere.
            if said.is_object() && !describes(said) && !target.is_some_and(describes) {
                silent.push(key.to_owned());
            }
        });
        assert_eq!(silent, [""; 0], "{}", kind.name);
    }
}

/// Calls `each` with every key of every table, but those that stand in a condition (`if`, `then`, `not`, ...) alone.
fn for_each_key(schema: &Json, each: &mut dyn FnMut(&str, &Json)) {
    const CONDITIONS: [&str; 6] = ["if", "then", "else", "not", "oneOf", "dependentSchemas"];
    match schema {
        Json::Object(map) => {
            for (word, value) in map.iter().filter(|(word, _)| !CONDITIONS.contains(&word.as_str())) {
                if let ("properties" | "$defs", Some(parts)) = (word.as_str(), value.as_object()) {
                    for (key, part) in parts {
                        if word == "properties" {
                            each(key, part);
                        }
                        for_each_key(part, each);
                    }
                } else {
                    for_each_key(value, each);
                }
            }
        }
        Json::Array(list) => list.iter().for_each(|one| for_each_key(one, each)),
        _ => {}
    }
}

#[test]
fn what_several_schemas_define_they_define_alike() {
    let mut known: BTreeMap<String, (Json, &str)> = BTreeMap::new();
    let mut shared = 0;
    for kind in KINDS {
        for (name, said) in schema(kind.name)["$defs"].as_object().unwrap() {
            if let Some((first, other)) = known.get(name) {
                assert_eq!(said, first, "`{name}` in {} and {other}", kind.name);
                shared += 1;
            }
            known.insert(name.clone(), (said.clone(), kind.name));
        }
    }
    assert!(shared > 20, "{shared} definitions are shared");
}

fn words<T>(table: &[(&'static str, T)]) -> Vec<&'static str> {
    table.iter().map(|(word, _)| *word).collect()
}

#[test]
fn the_words_of_the_schemas_are_those_of_the_program() {
    let grades = [Grade::Laboratory, Grade::Measured, Grade::Maker, Grade::Estimate].map(Grade::word).to_vec();
    let units: Vec<&str> = Unit::all().map(Unit::symbol).collect();
    let verdicts: Vec<&str> = words(VERDICTS).into_iter().chain(["caution"]).collect();
    let emitter = "/$defs/emitter/properties";
    let idles = IDLE_RATES.iter().map(|rate| rate.vehicle).collect();
    let meanings = FIELDS.iter().map(|field| field.name).chain(["nothing"]).collect();
    let titled = |(word, _, _): &(&'static str, Heading, &str)| *word;
    let expected: [(&str, String, Vec<&str>); 37] = [
        ("mapping", "/$defs/meaning".to_owned(), meanings),
        ("bid", "/$defs/demand/properties/heading".to_owned(), Heading::WORDS.iter().map(titled).collect()),
        ("bid", "/$defs/demand/properties/proof".to_owned(), words(&Proof::WORDS)),
        ("bid", "/$defs/demand/properties/require".to_owned(), words(REQUIRES)),
        ("bid", "/$defs/demand/properties/strength".to_owned(), words(STRENGTHS)),
        ("bid", "/$defs/quantity".to_owned(), QUANTITIES.iter().map(|known| known.name).collect()),
        ("package", "/$defs/role".to_owned(), words(ROLES)),
        ("package", "/$defs/display/properties/arrow".to_owned(), words(ARROW_WAYS)),
        ("package", "/$defs/input-table/properties/means".to_owned(), words(MEANINGS)),
        ("package", "/$defs/circuit/properties/fuse/properties/kind".to_owned(), words(&FuseKind::WORDS)),
        ("package", "/$defs/load/properties/kind".to_owned(), words(&LoadKind::WORDS)),
        ("package", "/$defs/supply/properties/idles-as".to_owned(), idles),
        ("package", "/$defs/sounder/properties/mounted".to_owned(), words(&Mount::WORDS)),
        ("catalogue", "/$defs/model/properties/sounder".to_owned(), words(&SounderKind::WORDS)),
        ("catalogue", "/$defs/sound/properties/evidence/properties/grade".to_owned(), grades.clone()),
        ("ruleset", "/$defs/listen/properties/of/items".to_owned(), words(&SounderKind::WORDS)),
        ("readings", "/properties/decision/properties/rule".to_owned(), words(DECISIONS)),
        ("ruleset", "/$defs/listen/properties/from".to_owned(), words(&Side::WORDS)),
        ("catalogue", format!("{emitter}/intensity/properties/frame"), Frame::ALL.map(Frame::name).to_vec()),
        ("catalogue", format!("{emitter}/intensity/properties/c0"), Zero::ALL.map(Zero::name).to_vec()),
        ("catalogue", format!("{emitter}/evidence/properties/grade"), grades.clone()),
        ("ruleset", "/$defs/quantity".to_owned(), QUANTITIES.iter().map(|known| known.name).collect()),
        ("ruleset", "/$defs/rule/properties/unit".to_owned(), units.clone()),
        ("ruleset", "/$defs/rule/properties/require".to_owned(), words(REQUIRES)),
        ("ruleset", "/$defs/rule/properties/strength".to_owned(), words(STRENGTHS)),
        ("ruleset", "/$defs/basis".to_owned(), words(BASES)),
        ("ruleset", "/$defs/device/properties/of".to_owned(), words(DEVICE_KINDS)),
        ("ruleset", "/$defs/device/properties/light".to_owned(), words(DEVICE_LIGHTS)),
        ("ruleset", "/$defs/device/properties/effective".to_owned(), words(EffectiveMethod::WORDS)),
        ("ruleset", "/properties/ruleset/properties/precedence".to_owned(), words(PRECEDENCES)),
        ("overlay", "/properties/overlay/properties/precedence".to_owned(), words(PRECEDENCES)),
        ("record", "/properties/rulesets/items/properties/precedence".to_owned(), words(PRECEDENCES)),
        ("record", "/$defs/finding/properties/verdict".to_owned(), verdicts),
        ("record", "/$defs/finding/properties/basis".to_owned(), words(BASES)),
        ("record", "/$defs/finding/properties/evidence".to_owned(), grades),
        ("record", "/$defs/finding/properties/require".to_owned(), words(REQUIRES)),
        ("record", "/$defs/finding/properties/unit".to_owned(), units),
    ];
    for (kind, place, expected) in expected {
        let schema = schema(kind);
        let found = schema.pointer(&place).unwrap_or_else(|| panic!("{kind} has no {place}"));
        assert_eq!(found["enum"], json!(expected), "{kind}{place}: write {}", json!(expected));
    }
    let octaves = OCTAVES.map(|octave| octave.nominal.to_string());
    assert_eq!(schema("catalogue")["$defs"]["sound"]["properties"]["octaves"]["propertyNames"]["enum"], json!(octaves));
}

/// A number as it is read before a unit.
const NUMBER: &str = r"_*[-+]?_*(?:[0-9][0-9_]*(?:\.[0-9_]*)?|\._*[0-9][0-9_]*)(?:[eE](?:[0-9]|[-+]_*[0-9])[0-9_]*)?";

/// What figures measure; an amount may be anything.
const FIGURES: [(&str, Option<Dimension>); 17] = [
    ("length", Some(Dimension::Length)),
    ("angle", Some(Dimension::Angle)),
    ("time", Some(Dimension::Time)),
    ("intensity", Some(Dimension::Intensity)),
    ("optical-power", Some(Dimension::OpticalPower)),
    ("current", Some(Dimension::Current)),
    ("voltage", Some(Dimension::Voltage)),
    ("power", Some(Dimension::Power)),
    ("charge", Some(Dimension::Charge)),
    ("temperature", Some(Dimension::Temperature)),
    ("share", Some(Dimension::Share)),
    ("wavelength", Some(Dimension::Wavelength)),
    ("sound-level", Some(Dimension::SoundLevel)),
    ("decibels", Some(Dimension::Decibels)),
    ("rate", Some(Dimension::Rate)),
    ("pressure", Some(Dimension::Pressure)),
    ("amount", None),
];

#[test]
fn figures_take_every_unit_that_fits() {
    let mut met = BTreeSet::new();
    for kind in KINDS {
        let schema = schema(kind.name);
        for (name, dimension) in FIGURES {
            let Some(found) = schema["$defs"].get(name) else { continue };
            let units: Vec<String> = Unit::all()
                .filter(|unit| dimension.is_none_or(|dimension| unit.dimension() == dimension))
                .map(|unit| unit.symbol().replace('.', r"\.").replace('(', r"\(").replace(')', r"\)"))
                .collect();
            let expected = format!(r"^\s*{NUMBER}\s*(?:{})\s*$", units.join("|"));
            assert_eq!(found["pattern"], json!(expected), "{}: {name}: write {}", kind.name, json!(expected));
            met.insert(name);
        }
    }
    assert_eq!(met.len(), FIGURES.len(), "{met:?}");
}

proptest! {
    /// The pattern takes a figure if and only if the program reads it, as far as spelling goes.
    #[test]
    fn a_figure_is_spelt_as_it_is_read(
        pieces in prop::collection::vec(
            prop::sample::select(vec!["", " ", "\t", "-", "+", "_", ".", ",", "0", "5", "e", "E0", "e-5", "ft", "deg"]), 0..5),
        unit in prop::sample::select(vec!["in", " in", " mm ", "", "m", "inch", " deg", "IN"]),
    ) {
        let text = pieces.concat() + unit;
        let read = Amount::parse(&text).is_ok_and(|amount| amount.in_dimension(Dimension::Length).is_ok());
        let length = validator(&schema("package")["$defs"]["length"]);
        prop_assert_eq!(length.is_valid(&json!(text)), read, "`{}`", text);
    }
}

/// How readers ask for a key: as `table.get("...")`, or through a closure of theirs.
const ASKING: &[&str] = &[
    "get", "require", "tables", "text", "names", "name", "words", "yes", "date", "day", "size", "axle", "corner",
    "angle", "ampere", "side", "height", "end", "volts", "loss",
];

/// The keys that a source file asks for.
fn asked(text: &str, keys: &mut BTreeSet<String>) {
    let code = text.split("#[cfg(test)]").next().unwrap_or_default();
    let key_at = |at: usize| {
        let key: String = code[at..].trim_start().strip_prefix('"')?.chars().take_while(|c| *c != '"').collect();
        let fits = !key.is_empty() && key.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
        fits.then_some(key)
    };
    for call in ASKING {
        for (at, found) in code.match_indices(&format!("{call}(")) {
            let before = code[..at].chars().next_back();
            if !before.is_some_and(|c| c.is_ascii_alphanumeric() || c == '_') {
                keys.extend(key_at(at + found.len()));
            }
        }
    }
    // ["left", "right"].map(|key| table.get(key))
    for (end, _) in code.match_indices("].map(|key|") {
        let list = code[..end].rsplit('[').next().unwrap_or_default();
        keys.extend(list.split(',').map(|key| key.trim().trim_matches('"').to_owned()));
    }
}

#[test]
fn every_key_that_a_reader_asks_for_stands_in_a_schema_and_no_other() {
    let mut keys = BTreeSet::from(["format".to_owned()]);
    let mut known = BTreeSet::new();
    for room in ["package", "ruleset", "readings", "bid"] {
        let mut folders = vec![root().join("src").join(room)];
        while let Some(folder) = folders.pop() {
            for path in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
                if path.is_dir() {
                    folders.push(path);
                } else {
                    asked(&std::fs::read_to_string(path).unwrap(), &mut keys);
                }
            }
        }
    }
    asked(&std::fs::read_to_string(root().join("src/import/mapping.rs")).unwrap(), &mut keys);
    for kind in KINDS.iter().filter(|kind| kind.name != "record") {
        for_each_key(&schema(kind.name), &mut |key, _| {
            known.insert(key.to_owned());
        });
    }
    assert!(keys.len() > 110, "{} keys: {keys:?}", keys.len());
    let unknown: Vec<&String> = keys.difference(&known).collect();
    assert!(unknown.is_empty(), "readers ask for {unknown:?}: describe it in rulesets/schemas");
    let unread: Vec<&String> = known.difference(&keys).collect();
    assert!(unread.is_empty(), "no reader asks for {unread:?}: take it out of rulesets/schemas");
}

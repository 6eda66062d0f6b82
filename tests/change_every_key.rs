//! Nothing that a package says is changed without being named: every key of a package and of its catalogue is changed,
//! taken away and put in alone, and whatever loads has to be named.

mod common;

use std::collections::BTreeSet;
use std::path::Path;

use toml::{Table, Value};
use wayproof::compare::differences;
use wayproof::diagnostic::{Log, Sources};
use wayproof::package::{Package, PackageFile, load};

/// Says which rulesets, catalogues and format; `change` speaks of rulesets apart, and of models where heads use them.
const APART: &[&str] = &["format", "rules", "catalogues"];

/// A step into a document.
#[derive(Clone, Debug, PartialEq)]
enum Step {
    Key(String),
    Place(usize),
}

fn files() -> Vec<(&'static str, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/change/every-key");
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    ["package.toml", "catalogue.toml", "flat.csv", "other.csv", "spectrum.csv"].map(|name| (name, read(name))).into()
}

/// Loads the package from a folder; none where something is an error.
fn loaded(folder: &Path) -> Option<Package> {
    let bytes = std::fs::read(folder.join("package.toml")).unwrap();
    let (name, libraries) = ("package.toml".to_owned(), Vec::new());
    let inputs = PackageFile { name, bytes, folder: folder.to_path_buf(), libraries };
    let (sources, log) = (Sources::default(), Log::default());
    let package = load(&inputs, &sources, &log).0;
    package.filter(|_| !log.has_errors())
}

/// Every place of a document, outermost first.
fn places(value: &Value, at: &[Step], found: &mut Vec<Vec<Step>>) {
    let mut go = |step: Step, inner: &Value| {
        let mut path = at.to_vec();
        path.push(step);
        found.push(path.clone());
        places(inner, &path, found);
    };
    match value {
        Value::Table(table) => table.iter().for_each(|(key, inner)| go(Step::Key(key.clone()), inner)),
        Value::Array(list) => list.iter().enumerate().for_each(|(at, inner)| go(Step::Place(at), inner)),
        _ => {}
    }
}

fn at<'v>(value: &'v mut Value, path: &[Step]) -> &'v mut Value {
    path.iter().fold(value, |value, step| match step {
        Step::Key(key) => &mut value[key.as_str()],
        Step::Place(place) => &mut value[*place],
    })
}

fn key(path: &[Step]) -> &str {
    let last = path.iter().rev().find_map(|step| if let Step::Key(key) = step { Some(key.as_str()) } else { None });
    last.unwrap_or_default()
}

/// What else could stand there: another figure, a word that stands under the same key elsewhere, the opposite.
fn others(value: &Value, words: &[String]) -> Vec<Value> {
    match value {
        Value::Boolean(is) => vec![Value::Boolean(!is)],
        Value::Integer(number) => vec![Value::Integer(number + 1)],
        Value::Float(number) => vec![Value::Float(number * 0.99), Value::Float(number * 1.01)],
        Value::Datetime(day) => {
            let text = day.to_string();
            let year: i32 = text[..4].parse().unwrap();
            let other = |year: i32| Value::Datetime(format!("{year}{}", &text[4..]).parse().unwrap());
            vec![other(year - 1), other(year + 1)]
        }
        Value::String(text) => {
            let digits = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-'))).unwrap_or(text.len());
            let mut all = Vec::new();
            if let Ok(number) = text[..digits].parse::<f64>() {
                let figures = [number * 1.01, number * 0.5, number + 1.0];
                let moved = figures.iter().filter(|figure| **figure != number);
                all.extend(moved.map(|figure| format!("{figure}{}", &text[digits..])));
            } else {
                all.extend([format!("{text}-x"), format!("not ({text})")]);
            }
            all.extend(words.iter().filter(|word| *word != text).cloned());
            all.into_iter().map(Value::String).collect()
        }
        Value::Array(_) | Value::Table(_) => Vec::new(),
    }
}

/// Words that are in the program and stand nowhere else in the files.
fn more_words(key: &str) -> &'static [&'static str] {
    match key {
        "rule" => &["guarded"],
        "driver" => &["resistive", "constant-power"],
        "means" => &["high-beam"],
        "kind" => &["large-blade", "continuous", "minimum"],
        "strand" => &["solid"],
        "insulation" => &["90 degC"],
        "chemistry" => &["lithium"],
        "grade" => &["maker", "measured"],
        "idles-as" => &["tow-truck-diesel"],
        "arrow" => &["right"],
        "role" => &["stop", "warning"],
        "mounted" => &["roof"],
        "polarity" => &["reversed"],
        "windows" => &["open"],
        "sounder" => &["low-frequency-speaker"],
        "file" => &["other.csv"],
        "frame" => &["horizontal-axis"],
        "system" => &["24 V"],
        "answer" => &["no"],
        "size" => &["12 AWG", "16 mm2"],
        "faces" => &["right", "20 deg"],
        _ => &[],
    }
}

#[test]
fn every_key_that_is_changed_alone_is_named() {
    let files = files();
    let dir = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(dir.path().join(name), text).unwrap();
    files.iter().for_each(|(name, text)| write(name, text));
    let base = loaded(dir.path()).expect("the package loads");
    let (mut tried, mut unnamed) = (0, Vec::new());
    let mut named: BTreeSet<String> = BTreeSet::new();
    for (name, text) in files.iter().filter(|(name, _)| name.ends_with(".toml")) {
        let document: Value = Value::Table(text.parse::<Table>().unwrap());
        let mut paths = Vec::new();
        places(&document, &[], &mut paths);
        for path in paths.iter().filter(|path| !APART.contains(&key(path))) {
            let mut words: Vec<String> = more_words(key(path)).iter().map(|word| (*word).to_owned()).collect();
            for other in paths.iter().filter(|other| key(other) == key(path)) {
                if let Value::String(word) = at(&mut document.clone(), other) {
                    words.push(word.clone());
                }
            }
            words.sort();
            words.dedup();
            let mut changed: Vec<Value> = Vec::new();
            for other in others(at(&mut document.clone(), path), &words) {
                let mut document = document.clone();
                *at(&mut document, path) = other;
                changed.push(document);
            }
            // And without it.
            let mut without = document.clone();
            let (last, before) = path.split_last().unwrap();
            match (at(&mut without, before), last) {
                (Value::Table(table), Step::Key(key)) => drop(table.remove(key)),
                (Value::Array(list), Step::Place(place)) => drop(list.remove(*place)),
                _ => unreachable!(),
            }
            changed.push(without);
            for mut document in changed {
                write(name, &toml::to_string(&document).unwrap());
                let Some(now) = loaded(dir.path()) else { continue };
                tried += 1;
                let (there, back) = (differences(&base, &now), differences(&now, &base));
                assert_eq!(there.is_empty(), back.is_empty(), "{name} {path:?}");
                if there.is_empty() {
                    let left = at(&mut document, before);
                    let says = match last {
                        Step::Key(key) => left.get(key.as_str()).map(Value::to_string),
                        Step::Place(place) => left.get(*place).map(Value::to_string),
                    };
                    let says = says.unwrap_or_else(|| "taken away".to_owned());
                    unnamed.push(format!("{name} {}: {says}", written(path)));
                } else {
                    named.insert(key(path).to_owned());
                }
            }
        }
        write(name, text);
    }
    assert!(tried > 600, "{tried} packages that load");
    unnamed.sort();
    // Each of these says what was said before.
    let the_same = [
        "package.toml circuit.0.wire.strand: taken away",      // the usual
        "package.toml circuit.0.wire.temperature: taken away", // the usual
        "package.toml decision: taken away",                   // the usual
        "package.toml head.0.poses.0.wedge: taken away",       // a pose takes it from its head
        "package.toml head.0.role: taken away",                // the usual
        "package.toml head.3.faces: \"front\"",                // 0 deg
        "package.toml listening.air.pressure: taken away",     // the usual
        "package.toml sounder.0.faces: \"0 deg\"",             // the front
        "package.toml supply.voltages: taken away",            // the usual
    ];
    assert_eq!(unnamed, the_same);

    // Every key that the schemas know is in the files and was changed alone, but for tables that cannot be taken away,
    // and for what is changed in `tests/change.rs`: keys of packages without a controller, of tables of heads, and a
    // voltage that goes with others; `c0` belongs to one kind of file, of which there is none here.
    let mut keys = BTreeSet::new();
    for schema in ["package", "catalogue"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("rulesets/schemas/{schema}.json"));
        properties(&serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap(), &mut keys);
    }
    let lacking: Vec<&str> =
        keys.iter().map(String::as_str).filter(|key| !named.contains(*key) && !APART.contains(key)).collect();
    let tables =
        ["decision", "emitter", "from", "inputs", "inverter", "shore", "sound", "supply", "to", "vehicle", "voltages"];
    let elsewhere = ["c0", "displays", "given", "heads", "system"];
    let mut expected: Vec<&str> = tables.into_iter().chain(elsewhere).collect();
    expected.sort_unstable();
    assert_eq!(lacking, expected);
}

/// A place as one would say it: `head.0.role`.
fn written(path: &[Step]) -> String {
    let step = |step: &Step| match step {
        Step::Key(key) => key.clone(),
        Step::Place(place) => place.to_string(),
    };
    path.iter().map(step).collect::<Vec<_>>().join(".")
}

fn properties(value: &serde_json::Value, keys: &mut BTreeSet<String>) {
    match value {
        serde_json::Value::Object(object) => {
            if let Some(serde_json::Value::Object(inner)) = object.get("properties") {
                keys.extend(inner.keys().cloned());
            }
            object.values().for_each(|inner| properties(inner, keys));
        }
        serde_json::Value::Array(list) => list.iter().for_each(|inner| properties(inner, keys)),
        _ => {}
    }
}

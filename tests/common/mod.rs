//! What several tests need: a package and rulesets loaded through the library, from text or from a file.

#![allow(dead_code)] // Each test file uses its own part of this.

pub mod case;
pub mod documents;
pub mod electrical;
pub mod every_state;
pub mod figures;
pub mod logic;
pub mod many_inputs;
pub mod oracle;
pub mod power;
pub mod readings;
pub mod sheets;
pub mod sound;

use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use wayproof::diagnostic::{Log, Sources, render};
use wayproof::judge::{Finding, Judged, Terms, Verdict, judge};
use wayproof::load::reader::Date;
use wayproof::measure::{Conduct, Looks, Method, Protocol, Survey};
use wayproof::package::{Package, PackageFile, load};
use wayproof::quantity::{Ask, Measure, Measured, find};
use wayproof::ruleset::{Loader, Ruleset};

/// The time that this thread has been given by the machine so far: what else runs there makes no test fail. Where the
/// system does not say it, the time of the clock.
pub fn thread_time() -> Duration {
    static START: OnceLock<Instant> = OnceLock::new();
    let said = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanos = said.and_then(|said| said.split(' ').next()?.parse().ok());
    nanos.map_or_else(|| START.get_or_init(Instant::now).elapsed(), Duration::from_nanos)
}

pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

pub fn terms() -> Terms {
    Terms { as_of: Date { year: 2026, month: 11, day: 25 }, without_memory: false }
}

/// Loads a package from a file, with the rulesets named (or its own), and fails the test on any diagnostic error.
pub fn load_file(path: &Path, rules: &[&str]) -> (Package, Vec<Ruleset>) {
    let bytes = std::fs::read(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let folder = path.parent().unwrap().to_path_buf();
    let inputs = PackageFile { name: path.display().to_string(), bytes, folder: folder.clone(), libraries: Vec::new() };
    let (sources, log) = (Sources::default(), Log::default());
    let (package, own_rules) = load(&inputs, &sources, &log);
    let mut loader = Loader::new(&sources, &log, vec![folder]);
    for name in own_rules.iter().filter(|_| rules.is_empty()) {
        loader.add_named(name);
    }
    for name in rules {
        loader.add_anywhere(name);
    }
    let rulesets = loader.rulesets;
    let failed = log.has_errors();
    let said = render(&log.take(), &sources, false);
    assert!(!failed, "{said}");
    (package.expect("a package without errors"), rulesets)
}

/// A demo package with the rulesets by which its light is computed a second time: its own. One that names none on zones
/// is looked at through the zones of `zones-one-level`, for vehicles of any size.
pub fn load_with_zones(file: &str) -> (Package, Vec<Ruleset>) {
    let names_none = ["medic-6", "amber-9"].iter().any(|name| file.contains(name));
    let rules: &[&str] = if names_none { &["zones-one-level"] } else { &[] };
    let (package, mut rulesets) = load_file(&root().join(file), rules);
    rulesets.iter_mut().filter(|_| names_none).for_each(|ruleset| ruleset.applies = None);
    (package, rulesets)
}

/// A folder with these files; the first is the package.
pub fn folder(files: &[(&str, &str)]) -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    for (name, text) in files {
        std::fs::write(dir.path().join(name), text).unwrap();
    }
    let package = dir.path().join(files[0].0);
    (dir, package)
}

/// Loads the files and judges by the rulesets that the package names.
pub fn judge_files(files: &[(&str, &str)]) -> Judged {
    let (_dir, path) = folder(files);
    let (package, rulesets) = load_file(&path, &[]);
    judge(&Conduct::new(&package), &rulesets, terms())
}

/// The vehicle in the first state in which a mode is judged, from afar. Without inputs it is the only one.
pub fn survey_in_mode<'a>(conduct: &'a Conduct<'a>, mode: usize, protocol: &'a Protocol) -> Survey<'a> {
    let space = conduct.space();
    let state = space.first(&conduct.modes[mode]).expect("a mode that can occur");
    Looks::new(conduct, protocol, Method::Angular).survey_in(&space.state(&state))
}

/// The vehicle in its first mode.
pub fn survey<'a>(conduct: &'a Conduct<'a>, protocol: &'a Protocol) -> Survey<'a> {
    survey_in_mode(conduct, 0, protocol)
}

/// A quantity that is computed from the heads that are lit.
pub fn measure(name: &str, survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    match find(name).unwrap_or_else(|| panic!("no quantity {name}")).measure {
        Measure::Light { measure, .. } => measure(survey, ask),
        other => panic!("{name} is not computed from light: {other:?}"),
    }
}

pub fn finding<'j>(judged: &'j Judged, id: &str) -> &'j Finding {
    let known: Vec<&str> = judged.findings.iter().map(|finding| finding.id.as_str()).collect();
    judged.findings.iter().find(|finding| finding.id == id).unwrap_or_else(|| panic!("no {id} in {known:?}"))
}

pub fn verdict(judged: &Judged, id: &str) -> Verdict {
    finding(judged, id).verdict
}

/// One row of a CSV as name and value pairs.
pub fn rows(path: &Path) -> Vec<std::collections::HashMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let header = reader.headers().unwrap().clone();
    let row =
        |record: csv::StringRecord| header.iter().map(str::to_owned).zip(record.iter().map(str::to_owned)).collect();
    reader.records().map(|record| row(record.unwrap())).collect()
}

/// Within `tolerance`, relative or absolute, whichever is larger.
pub fn close(found: f64, expected: f64, tolerance: f64) -> bool {
    (found - expected).abs() <= tolerance * expected.abs().max(1.0)
}

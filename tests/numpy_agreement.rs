//! Every zone total, least point and least off-plane point of the demo packages against an independent program.
//!
//! `tests/reference/zone_totals.py` has its own readers, poses, hiding and interpolation in NumPy and shares no code
//! with the tool. The variable WAYPROOF_PYTHON names a Python that has NumPy; without it this says that it was
//! skipped.

mod common;

use std::collections::HashMap;
use std::io::Write as _;
use std::process::Command;

use common::{close, finding, load_file, root, terms};
use wayproof::judge::{Found, Judged, judge};
use wayproof::measure::{Boundary, Method, Survey};
use wayproof::package::Package;
use wayproof::quantity::{Ask, Value, find};
use wayproof::ruleset::Ruleset;

const PACKAGES: [&str; 5] = ["rescue-4", "rescue-4-changed", "brush-2", "brush-2-complete", "brush-2-faults"];

const QUANTITIES: [(&str, &str); 3] = [
    ("zone-total", "zone-total-optical-power"),
    ("least-point", "least-point-optical-power"),
    ("off-plane-point", "least-off-plane-optical-power"),
];

/// What the other program says: its rows, or nothing where it cannot be run.
fn other_program() -> Option<Vec<HashMap<String, String>>> {
    let Some(python) = std::env::var_os("WAYPROOF_PYTHON") else {
        // Straight to standard error: what a passing test prints with the macros is not shown.
        let _ = writeln!(
            std::io::stderr(),
            "SKIPPED: WAYPROOF_PYTHON is not set, so no zone total was recomputed by the NumPy program"
        );
        return None;
    };
    let mut command = Command::new(python);
    command.current_dir(root()).env("PYTHONDONTWRITEBYTECODE", "1").arg("tests/reference/zone_totals.py");
    command.args(PACKAGES.map(|package| format!("demo-data/{package}/package.toml")));
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut reader = csv::Reader::from_reader(output.stdout.as_slice());
    Some(reader.deserialize().map(Result::unwrap).collect())
}

/// The tool's own value, least over the modes that serve the purpose, and whether any of them lacks data.
fn own(package: &Package, ruleset: &Ruleset, row: &HashMap<String, String>) -> (f64, bool) {
    let protocol = &ruleset.protocol;
    let zone = protocol.zones.sectors.iter().position(|sector| sector.name == row["zone"]);
    let level = protocol.levels.iter().position(|level| level.name == row["level"]);
    assert_eq!(level.is_none(), row["level"].is_empty(), "{row:?}");
    let boundary = match row["boundary"].as_str() {
        "both" => Boundary::Both,
        "first" => Boundary::First,
        other => panic!("{other}"),
    };
    let permitted = ruleset.permitted(&row["purpose"], zone);
    let ask = Ask { level, zone, boundary, permitted: permitted.list(), with_uncertainty: false };
    let (_, name) = QUANTITIES.into_iter().find(|(short, _)| *short == row["quantity"]).unwrap();
    let modes = package.modes.iter().filter(|mode| mode.purpose.as_deref() == Some(row["purpose"].as_str()));
    let values = modes.map(|mode| {
        let survey = Survey::new(package, Some(mode), protocol, Method::Angular);
        let measured = (find(name).unwrap().measure)(&survey, &ask);
        let noted = measured[0].notes.iter().any(|note| note.starts_with("lower bound"));
        match measured[0].value {
            Value::Number { low, .. } => (low, noted),
            ref other => panic!("{name}: {other:?}"),
        }
    });
    values.min_by(|(a, _), (b, _)| a.total_cmp(b)).unwrap()
}

#[test]
fn every_total_and_point_of_the_demo_packages_agrees() {
    let Some(rows) = other_program() else { return };
    let loaded: HashMap<String, (Package, Vec<Ruleset>)> = PACKAGES
        .iter()
        .map(|package| format!("demo-data/{package}/package.toml"))
        .map(|file| (file.clone(), load_file(&root().join(&file), &[])))
        .collect();
    let (mut checked, mut above_zero, mut bounds) = (HashMap::<&str, usize>::new(), 0, 0);
    for row in &rows {
        let (package, rulesets) = &loaded[&row["package"]];
        let (value, lower_bound) = own(package, &rulesets[0], row);
        let expected: f64 = row["value"].parse().unwrap();
        assert!(close(value, expected, 1e-9), "{value}, expected {expected}: {row:?}");
        assert_eq!(lower_bound, row["no_data"] != "0", "{row:?}");
        *checked.entry(row["package"].as_str()).or_default() += 1;
        above_zero += usize::from(expected > 1.0);
        bounds += usize::from(lower_bound);
    }
    // Purposes x zones x boundary readings x quantities, twice that where there are two levels.
    for (file, (_, rulesets)) in &loaded {
        let levels = rulesets[0].protocol.levels.len().max(1);
        assert_eq!(checked[file.as_str()], 2 * 4 * 2 * 3 * levels, "{file}");
    }
    assert!(above_zero * 10 > rows.len() * 9, "{above_zero} of {} rows are above zero", rows.len());
    assert!(bounds > 0, "some row is without data");
}

/// What is printed is the less favourable reading of the two, as the other program has it.
#[test]
fn what_is_found_is_the_lesser_of_both_readings() {
    let Some(rows) = other_program() else { return };
    let mut least: HashMap<(String, String), f64> = HashMap::new();
    for row in &rows {
        let level = if row["level"].is_empty() { String::new() } else { format!("/{}", row["level"]) };
        let place = format!("{}@{}{level}/{}", row["quantity"], row["purpose"], row["zone"]);
        let value: f64 = row["value"].parse().unwrap();
        let known = least.entry((row["package"].clone(), place)).or_insert(value);
        *known = known.min(value);
    }
    let judged: HashMap<String, (String, Judged)> = PACKAGES
        .iter()
        .map(|package| format!("demo-data/{package}/package.toml"))
        .map(|file| {
            let (package, rulesets) = load_file(&root().join(&file), &[]);
            (file, (rulesets[0].id.clone(), judge(&package, &rulesets, terms())))
        })
        .collect();
    let mut checked = 0;
    for ((file, place), expected) in least {
        let (id, judged) = &judged[&file];
        let found = finding(judged, &format!("{id}:{place}"));
        let Found::Number(number) = found.found else { panic!("{file} {place}: {:?}", found.found) };
        assert!(close(number, expected, 1e-9), "{file} {place}: {number}, expected {expected}");
        checked += 1;
    }
    assert_eq!(checked, 2 * 48 + 3 * 24);
}

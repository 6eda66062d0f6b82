//! Every zone total, least point and least off-plane point of the demo packages against an independent program.
//!
//! `tests/reference/zone_totals.py` has its own readers, poses, hiding and interpolation in NumPy and shares no code
//! with the tool. The variable WAYPROOF_PYTHON names a Python that has NumPy; without it this says that it was
//! skipped.

mod common;

use std::collections::HashMap;
use std::io::Write as _;
use std::process::Command;

use common::{close, finding, load_with_zones, root, terms};
use wayproof::judge::{Found, Judged, judge};
use wayproof::measure::{BoundaryPoints, Conduct};
use wayproof::ruleset::Demand;

const PACKAGES: [&str; 7] =
    ["rescue-4", "rescue-4-changed", "brush-2", "brush-2-complete", "brush-2-faults", "medic-6", "amber-9"];

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

/// The tool's own values under one reading of the boundary points. No limit is asked, so that the worst of a purpose is
/// the least over all its states, whatever is permitted to be less.
fn own(file: &str, boundary_points: BoundaryPoints) -> (Vec<String>, Judged) {
    let (package, mut rulesets) = load_with_zones(file);
    for ruleset in &mut rulesets {
        ruleset.protocol.zones.boundary_points = boundary_points;
        let light = |name: &str| QUANTITIES.iter().any(|(_, known)| *known == name);
        for limit in ruleset.rules.iter_mut().filter(|rule| light(rule.quantity.name)).flat_map(|rule| &mut rule.limits)
        {
            limit.demand = Demand::Missing { why: "none is asked".to_owned(), see: None };
        }
    }
    let judged = judge(&Conduct::new(&package), &rulesets, terms());
    let levels = rulesets[0].protocol.levels.iter().map(|level| level.name.clone());
    (levels.collect(), judged)
}

/// The id of the finding that a row speaks of, without its ruleset.
fn place(row: &HashMap<String, String>) -> String {
    let level = if row["level"].is_empty() { String::new() } else { format!("/{}", row["level"]) };
    format!("{}@{}{level}/{}", row["quantity"], row["purpose"], row["zone"])
}

#[test]
fn every_total_and_point_of_the_demo_packages_agrees() {
    let Some(rows) = other_program() else { return };
    let mut loaded: HashMap<(String, String), (Vec<String>, Judged)> = HashMap::new();
    for file in PACKAGES.iter().map(|package| format!("demo-data/{package}/package.toml")) {
        for (word, points) in [("both", BoundaryPoints::Both), ("first", BoundaryPoints::First)] {
            loaded.insert((file.clone(), word.to_owned()), own(&file, points));
        }
    }
    let (mut checked, mut above_zero, mut bounds) = (HashMap::<&str, usize>::new(), 0, 0);
    for row in &rows {
        let (levels, judged) = &loaded[&(row["package"].clone(), row["boundary"].clone())];
        assert_eq!(levels.contains(&row["level"]), !row["level"].is_empty(), "{row:?}");
        let place = format!(":{}", place(row));
        let found: Vec<_> = judged.findings.iter().filter(|finding| finding.id.ends_with(&place)).collect();
        let [found] = found[..] else { panic!("{} findings for {row:?}", found.len()) };
        let Found::Number(value) = found.found else { panic!("{row:?}: {:?}", found.found) };
        let lower_bound = found.notes.iter().any(|note| note.starts_with("lower bound"));
        let expected: f64 = row["value"].parse().unwrap();
        assert!(close(value, expected, 1e-9), "{value}, expected {expected}: {row:?}");
        assert_eq!(lower_bound, row["no_data"] != "0", "{row:?}");
        *checked.entry(row["package"].as_str()).or_default() += 1;
        above_zero += usize::from(expected > 1.0);
        bounds += usize::from(lower_bound);
    }
    // Purposes x zones x boundary readings x quantities, twice that where there are two levels.
    for ((file, _), (levels, _)) in &loaded {
        let purposes = if file.contains("amber-9") { 1 } else { 2 };
        assert_eq!(checked[file.as_str()], purposes * 4 * 2 * 3 * levels.len().max(1), "{file}");
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
        let value: f64 = row["value"].parse().unwrap();
        let known = least.entry((row["package"].clone(), place(row))).or_insert(value);
        *known = known.min(value);
    }
    let judged: HashMap<String, (String, Judged)> = PACKAGES
        .iter()
        .map(|package| format!("demo-data/{package}/package.toml"))
        .map(|file| {
            let (package, rulesets) = load_with_zones(&file);
            (file, (rulesets[0].id.clone(), judge(&Conduct::new(&package), &rulesets, terms())))
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
    assert_eq!(checked, 2 * 48 + 4 * 24 + 12);
}

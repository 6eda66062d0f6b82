//! The truth table of the controller: one row a distinct light, every state in exactly one row, and the settings
//! printed lead there. Compared with every state gone through, here and by an independent program.

#[path = "states/asked.rs"]
mod asked;
mod common;
#[path = "states/generated.rs"]
mod generated;
#[path = "states/gone_through.rs"]
mod gone_through;
#[path = "states/judged.rs"]
mod judged;

use std::cell::Cell;
use std::collections::HashMap;
use std::io::Write as _;
use std::path::Path;
use std::process::Command;

use common::{folder, load_file, root, terms};
use generated::{CATALOGUE, cases};
use gone_through::{check_rows, first_told};
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};
use serde_json::Value as Json;
use wayproof::logic::Condition;
use wayproof::measure::{Conduct, Lights, MOST_LIGHTS};
use wayproof::package::Package;
use wayproof::report::{STATES_FORMATS, States, When, Wishes};

const PACKAGES: [&str; 8] = [
    "rescue-4",
    "rescue-4-changed",
    "rescue-4-logic-faults",
    "brush-2",
    "brush-2-complete",
    "brush-2-faults",
    "medic-6",
    "amber-9",
];

fn demo(package: &str) -> String {
    format!("demo-data/{package}/package.toml")
}

/// The table as JSON, without verdicts.
fn table(package: &Package, changes: bool, when: Option<&str>) -> Json {
    serde_json::from_str(&written(package, "json", changes, when)).unwrap()
}

/// The table in a format, without verdicts.
fn written(package: &Package, format: &str, changes: bool, when: Option<&str>) -> String {
    let conduct = Conduct::new(package);
    let when = when.map(|text| {
        let condition = Condition::parse(text, package.space.inputs()).unwrap();
        When { text: text.to_owned(), states: package.space.holds(&condition) }
    });
    let lights = Lights::new(&conduct, MOST_LIGHTS);
    let wishes = Wishes { as_of: terms().as_of, width: 80, rows: None, changes, when };
    let states = States::new(&conduct, &lights, None, &[], wishes);
    let format = STATES_FORMATS.iter().find(|known| known.name == format).unwrap();
    (format.write)(&states)
}

fn list<'v>(value: &'v Json, key: &str) -> &'v [Json] {
    value[key].as_array().unwrap_or_else(|| panic!("no list `{key}` in {value}"))
}

fn wayproof_in(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let mut command = assert_cmd::Command::cargo_bin("wayproof").unwrap();
    let output = command.current_dir(folder).args(args).env("COLUMNS", "80").output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn states(package: &str, more: &[&str]) -> String {
    let file = demo(package);
    let args = [&["states", file.as_str(), "--as-of", "2026-11-25"], more].concat();
    let (status, out, said) = wayproof_in(&root(), &args);
    assert_eq!(status, 0, "{said}");
    out
}

// ---- every state gone through ----------------------------------------------------------------------------------

/// What the independent program counts, by package, what and key.
fn other_program() -> Option<HashMap<(String, String, String), String>> {
    let Some(python) = std::env::var_os("WAYPROOF_PYTHON") else {
        // Straight to standard error: what a passing test prints with the macros is not shown.
        let _ = writeln!(
            std::io::stderr(),
            "SKIPPED: WAYPROOF_PYTHON is not set, so no row was counted by the program that tries every state"
        );
        return None;
    };
    let mut command = Command::new(python);
    command.current_dir(root()).env("PYTHONDONTWRITEBYTECODE", "1").arg("tests/reference/logic_states.py");
    let output = command.args(PACKAGES.map(demo)).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut reader = csv::Reader::from_reader(output.stdout.as_slice());
    let rows = reader.records().map(Result::unwrap);
    Some(rows.map(|row| ((row[0].to_owned(), row[1].to_owned(), row[2].to_owned()), row[3].to_owned())).collect())
}

#[test]
fn rows_of_the_demo_packages_are_as_many_as_a_program_counts_that_tries_every_state() {
    let Some(counted) = other_program() else { return };
    let (mut checked, mut expected) = (0, 0);
    for package in PACKAGES {
        let (loaded, _) = load_file(&root().join(demo(package)), &[]);
        // States allowed and in no mode, distinct lights; states and lights of each mode.
        expected += 3 + 2 * loaded.modes.len();
        let table = table(&loaded, false, None);
        let rows = list(&table, "rows");
        let of_mode = |mode: &str| -> Vec<f64> {
            let uses = rows.iter().flat_map(|row| list(row, "modes")).filter(|used| used["mode"] == mode);
            uses.map(|used| used["judged"].as_f64().unwrap()).filter(|judged| *judged > 0.0).collect()
        };
        let in_no_mode: f64 = rows.iter().map(|row| row["in_no_mode"].as_f64().unwrap()).sum();
        let states: f64 = rows.iter().map(|row| row["states"].as_f64().unwrap()).sum();
        assert_eq!(states, table["states"].as_f64().unwrap(), "{package}");
        for ((_, what, key), value) in counted.iter().filter(|((file, ..), _)| *file == demo(package)) {
            let mode = key.strip_prefix("mode/");
            let found = match (what.as_str(), key.as_str(), mode) {
                ("states", "allowed", _) => states,
                ("states", "in-no-mode", _) => in_no_mode,
                ("states", _, Some(mode)) => of_mode(mode).iter().sum(),
                ("lights", "distinct", _) => f64::from(u32::try_from(rows.len()).unwrap()),
                ("lights", _, Some(mode)) => f64::from(u32::try_from(of_mode(mode).len()).unwrap()),
                _ => continue,
            };
            assert_eq!(found, value.parse::<f64>().unwrap(), "{package} {what} {key}");
            checked += 1;
        }
    }
    assert_eq!(checked, expected);
}

/// medic-6: with the master switch off doors and high beam, 2 x 2; on primary doors with park in or out and high beam on
/// or off, of which high beam on is one, 2 x (2 + 2); on secondary 2 x 2 x 2. amber-9: nothing, no arrow, and three
/// displays of the board by day and by night.
#[test]
fn the_demo_packages_show_so_many_lights() {
    let lights = [("rescue-4", 55), ("brush-2", 21), ("rescue-4-logic-faults", 79), ("medic-6", 20), ("amber-9", 8)];
    for (package, lights) in lights {
        let (loaded, _) = load_file(&root().join(demo(package)), &[]);
        assert_eq!(list(&table(&loaded, false, None), "rows").len(), lights, "{package}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn every_state_is_in_the_one_row_that_shows_its_light(case in cases()) {
        prop_assume!(!case.states().is_empty());
        check_rows(&case, None)?;
    }

    #[test]
    fn a_condition_picks_out_the_states_that_meet_it(case in cases()) {
        prop_assume!(case.states().iter().any(|state| case.asked.holds(state)));
        check_rows(&case, Some(&case.asked))?;
    }
}

/// `row 5 with the rest at rest`: the row's first setting, nothing else moved, and the change lead there.
#[test]
fn the_row_told_first_is_the_one_that_a_person_at_the_vehicle_meets() {
    let tried = Cell::new(0);
    let config = ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() };
    // The same cases each time, so that what is asserted of all of them together holds or does not.
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let checked = runner.run(&cases(), |case| {
        prop_assume!(case.states().iter().any(|state| case.asked.holds(state)));
        tried.set(tried.get() + first_told(&case, None)? + first_told(&case, Some(&case.asked))?);
        Ok(())
    });
    checked.unwrap();
    assert!(tried.get() > 20, "{}", tried.get());
}

// ---- what is printed -------------------------------------------------------------------------------------------

#[test]
fn the_table_of_rescue_4_as_a_person_reads_it() {
    insta::assert_snapshot!("rescue_4_table_80", states("rescue-4", &["--rows", "14"]));
}

#[test]
fn rows_asked_for_as_a_person_reads_them() {
    insta::assert_snapshot!("asked_80", states("rescue-4", &["--when", asked::WHEN, "--rows", "2", "--changes"]));
}

#[test]
fn rows_that_fail_as_a_person_reads_them() {
    let when = "warning == high and not night and not brake and not high-beam and turn == off and arrow == off";
    insta::assert_snapshot!("faults_80", states("rescue-4-logic-faults", &["--when", when]));
}

#[test]
fn the_table_of_rescue_4_for_a_spreadsheet() {
    let out = states("rescue-4", &["--format", "csv"]);
    let mut reader = csv::Reader::from_reader(out.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 55);
    insta::assert_snapshot!("rescue_4_csv", out);
}

/// A lamp on a door that opens, and a box that comes and goes before one half of what another lamp lights.
const SMALL: &str = include_str!("states/small.toml");

fn small(package: &str) -> (tempfile::TempDir, std::path::PathBuf) {
    let rules = common::case::ruleset("both", common::case::TOTAL);
    folder(&[("package.toml", package), ("case.toml", &rules), ("catalogue.toml", CATALOGUE)])
}

#[test]
fn changes_lead_from_row_to_row() {
    let (dir, _) = small(SMALL);
    let args = ["states", "package.toml", "--as-of", "2026-11-25", "--changes"];
    let (status, out, said) = wayproof_in(dir.path(), &args);
    assert_eq!(status, 0, "{said}");
    insta::assert_snapshot!("small_changes", out);
}

/// The box begins a hand's breadth right of the lamp's axis and reaches far out: of the bearings -85 to 85 that the
/// lamp lights it hides 5 to 85.
#[test]
fn what_is_hidden_is_counted_in_bearings() {
    let (dir, _) = small(SMALL);
    let args = ["states", "package.toml", "--as-of", "2026-11-25", "--format", "ndjson"];
    let (status, out, said) = wayproof_in(dir.path(), &args);
    assert_eq!(status, 0, "{said}");
    let lines: Vec<Json> = out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines[0]["lights"], lines.len() - 1);
    let warning = &lines[1..].iter().find(|row| row["settings"][0]["warning"] == "on").unwrap();
    let hidden = list(warning, "hidden");
    assert_eq!(hidden.len(), 2, "{hidden:?}");
    let expected = serde_json::json!({
        "when": "box out", "by": ["box-out"], "heads": [{ "head": "front", "hidden": 17, "of": 35 }]
    });
    assert_eq!(hidden[0], expected);
    let expected = serde_json::json!({ "when": "door open", "heads": [{ "head": "rear-left" }] });
    assert_eq!(hidden[1], expected);
}

/// The same truck by a list of modes.
fn without_inputs(package: &str) -> String {
    let conditions = ["never = ", "when = ", "assume = "];
    let inputs = package.find("[inputs]").unwrap()..package.find("[[body]]").unwrap();
    let plain = package.replace(&package[inputs], "");
    let kept = plain.lines().filter(|line| !conditions.iter().any(|key| line.starts_with(key)));
    let mut package: String = kept.map(|line| format!("{line}\n")).collect();
    package = package.replace("id = \"box-out\"\n", "id = \"box-out\"\nwhen = \"box\"\n");
    package = package.replace("purpose = \"calling\"\n", "purpose = \"calling\"\ndisplays = [\"warning\"]\n");
    package.replace("id = \"resting\"\n", "id = \"resting\"\ndisplays = [\"reverse\"]\ngiven = [\"box\", \"door\"]\n")
}

#[test]
fn without_inputs_each_mode_is_a_state() {
    let package = without_inputs(SMALL);
    let (dir, _) = small(&package);
    let (status, out, said) = wayproof_in(dir.path(), &["states", "package.toml", "--as-of", "2026-11-25"]);
    assert_eq!(status, 0, "{said}");
    insta::assert_snapshot!("small_without_inputs", out);
}

// ---- too much --------------------------------------------------------------------------------------------------

#[test]
fn tangled_conditions_give_no_table() {
    let args = ["states", "conditions-too-tangled.toml", "--library", "../bad-input/files"];
    let (status, out, said) = wayproof_in(&root().join("tests/doubtful-input"), &args);
    assert_eq!((status, out.as_str()), (2, ""), "{said}");
    assert!(said.contains("error[tangled-conditions]") && said.contains("help: "), "{said}");
}

/// Thirteen lamps, each with a switch of its own, show twice as many lights as are looked at.
#[test]
fn a_table_that_is_cut_says_so() {
    let names: Vec<String> = (0..13).map(|at| format!("s{at}")).collect();
    let text = |line: &dyn Fn(&str) -> String| names.iter().map(|name| line(name)).collect::<String>();
    let inputs = text(&|name| format!("{name} = \"bool\"\n"));
    let heads = text(&|name| {
        format!(
            "[[head]]\nid = \"{name}\"\nmodel = \"lamp\"\nat = {{ ahead = \"0 m\", right = \"0 m\", height = \"1 m\" }}\nfaces = \"front\"\n"
        )
    });
    let displays = text(&|name| {
        format!(
            "[[display]]\nid = \"{name}\"\nwhen = \"{name}\"\nshow = [{{ head = \"{name}\", colour = \"red\", pattern = \"steady\" }}]\n"
        )
    });
    let package = format!(
        "format = 1\ncatalogues = [\"catalogue.toml\"]\n[vehicle]\nname = \"case\"\nlength = \"6 m\"\nwidth = \"2 m\"\nheight = \"2 m\"\n[inputs]\n{inputs}{heads}{displays}[[mode]]\nid = \"m\"\nwhen = \"always\"\n"
    );
    let (dir, _) = small(&package);
    let args = ["states", "package.toml", "--rows", "2", "--changes"];
    let (status, out, said) = wayproof_in(dir.path(), &args);
    assert_eq!(status, 0, "{said}");
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains("8,192 states of 13 inputs can occur and show more than 4,096 distinct lights"), "{out}");
    assert!(out.contains("This table is cut: 4,096 states show lights beyond the first 4,096"), "{out}");
    assert!(out.contains("Only rows 1 to 2 of 4,096 are printed"), "{out}");
    assert!(out.contains("s0 on -> a light that is not listed"), "{out}");
    assert!(out.contains("s12 on -> row 2; red steady: s12"), "{out}");
}

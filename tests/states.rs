//! The truth table of the controller: one row a distinct light, every state in exactly one row, and the settings
//! printed lead there. Compared with every state gone through, here and by an independent program.

mod common;
#[path = "states/generated.rs"]
mod generated;
#[path = "states/gone_through.rs"]
mod gone_through;

use std::collections::{BTreeSet, HashMap};
use std::io::Write as _;
use std::path::Path;
use std::process::Command;

use common::{folder, load_file, root, terms};
use generated::{CATALOGUE, cases};
use gone_through::check_rows;
use proptest::prelude::*;
use serde_json::Value as Json;
use wayproof::judge::{Verdict, judge_within};
use wayproof::measure::{Conduct, Lights, MOST_LIGHTS};
use wayproof::package::Package;
use wayproof::quantity::Measure;
use wayproof::report::{STATES_FORMATS, States, Wishes};
use wayproof::ruleset::{Rule, Strength};

const PACKAGES: [&str; 6] =
    ["rescue-4", "rescue-4-changed", "rescue-4-logic-faults", "brush-2", "brush-2-complete", "brush-2-faults"];

fn demo(package: &str) -> String {
    format!("demo-data/{package}/package.toml")
}

/// The table as JSON, without verdicts.
fn table(package: &Package, changes: bool) -> Json {
    let conduct = Conduct::new(package);
    let lights = Lights::new(&conduct, MOST_LIGHTS);
    let wishes = Wishes { as_of: terms().as_of, width: 80, rows: None, changes };
    let states = States::new(&conduct, &lights, None, &[], wishes);
    let json = STATES_FORMATS.iter().find(|format| format.name == "json").unwrap();
    serde_json::from_str(&(json.write)(&states)).unwrap()
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
        let table = table(&loaded, false);
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

#[test]
fn the_demo_packages_show_so_many_lights() {
    for (package, lights) in [("rescue-4", 55), ("brush-2", 21), ("rescue-4-logic-faults", 79)] {
        let (loaded, _) = load_file(&root().join(demo(package)), &[]);
        assert_eq!(list(&table(&loaded, false), "rows").len(), lights, "{package}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn every_state_is_in_the_one_row_that_shows_its_light(case in cases()) {
        prop_assume!(!case.states().is_empty());
        check_rows(&case)?;
    }
}

// ---- what is judged --------------------------------------------------------------------------------------------

/// All rows together fail what the whole vehicle fails, and their least margin is its margin.
#[test]
fn rows_fail_what_the_vehicle_fails_and_no_more() {
    let file = demo("brush-2-faults");
    let args = ["check", &file, "--as-of", "2026-11-25", "--format", "json"];
    let whole: Json = serde_json::from_str(&wayproof_in(&root(), &args).1).unwrap();
    let on_light = |finding: &&Json| finding["strength"] == "required" && finding["scope"].get("mode").is_some();
    let findings: Vec<&Json> = list(&whole, "findings").iter().filter(on_light).collect();
    let table: Json = serde_json::from_str(&states("brush-2-faults", &["--format", "json"])).unwrap();
    let judged: Vec<&Json> = list(&table, "rows").iter().filter_map(|row| row.get("judged")).collect();
    let failing: BTreeSet<&str> = judged
        .iter()
        .filter(|judged| judged["verdict"] == "fail")
        .flat_map(|judged| list(judged, "having"))
        .map(|id| id.as_str().unwrap())
        .collect();
    let fails = findings.iter().filter(|finding| finding["verdict"] == "fail");
    let expected: BTreeSet<&str> = fails.map(|finding| finding["id"].as_str().unwrap()).collect();
    assert!(!expected.is_empty());
    assert_eq!(failing, expected);
    for (key, of_head) in [("least", false), ("least_of_heads", true)] {
        let least = |margins: &mut dyn Iterator<Item = f64>| margins.fold(f64::INFINITY, f64::min);
        let of_rows = least(&mut judged.iter().filter_map(|judged| judged[key]["margin"].as_f64()));
        let own = findings.iter().filter(|finding| finding["scope"].get("head").is_some() == of_head);
        let of_vehicle = least(&mut own.filter_map(|finding| finding["margin"].as_f64()));
        assert_eq!(of_rows, of_vehicle, "{key}");
    }
}

/// Rows that no rule tells apart are judged once: each row has the findings that it has when judged by itself.
#[test]
fn rows_have_the_findings_that_they_have_by_themselves() {
    for (package, least_rows) in [("brush-2", 15), ("rescue-4-logic-faults", 20)] {
        let (loaded, mut rulesets) = load_file(&root().join(demo(package)), &[]);
        let light = |rule: &Rule| matches!(rule.quantity.measure, Measure::Light { .. });
        for ruleset in &mut rulesets {
            ruleset.rules.retain(|rule| rule.strength == Strength::Required && light(rule));
        }
        let conduct = Conduct::new(&loaded);
        let lights = Lights::new(&conduct, MOST_LIGHTS);
        let rows = ["--rows", "34"];
        let more = [&["--format", "json"], rows.as_slice()].concat();
        let table: Json = serde_json::from_str(&states(package, &more)).unwrap();
        let mut judged = 0;
        for (row, light) in list(&table, "rows").iter().zip(&lights.list) {
            let alone = judge_within(&conduct, &rulesets, terms(), &light.region);
            let in_mode = alone.findings.iter().filter(|finding| finding.scope.mode.is_some());
            let found: Vec<_> = in_mode.filter(|finding| finding.verdict != Verdict::NotApplicable).collect();
            let Some(worst) = found.iter().map(|finding| finding.verdict).max() else {
                assert!(row.get("judged").is_none(), "{row}");
                continue;
            };
            let told = &row["judged"];
            assert_eq!((&told["verdict"], &told["findings"]), (&worst.word().into(), &found.len().into()));
            let having = found.iter().filter(|finding| finding.verdict == worst && worst != Verdict::Pass);
            let having: Vec<&str> = having.map(|finding| finding.id.as_str()).collect();
            assert_eq!(told["having"], serde_json::json!(having), "{package} row {}", row["row"]);
            for (key, of_head) in [("least", false), ("least_of_heads", true)] {
                let those = found.iter().filter(|finding| finding.scope.head.is_some() == of_head);
                let least = those.filter_map(|finding| finding.margin).min_by(f64::total_cmp);
                assert_eq!(told[key]["margin"].as_f64(), least, "{package} row {} {key}", row["row"]);
            }
            judged += 1;
        }
        assert!(judged >= least_rows, "{package}: {judged}");
    }
}

/// The tailboard hangs before the lamps at the rear only while the door is open, and the row says so.
#[test]
fn a_fail_behind_a_door_names_the_door() {
    let table: Json =
        serde_json::from_str(&states("rescue-4-logic-faults", &["--rows", "13", "--format", "json"])).unwrap();
    let least = &list(&table, "rows")[12]["judged"]["least"];
    assert_eq!(least["id"], "zones-two-level:least-point@calling/lower/C");
    assert_eq!(
        (&least["verdict"], &least["margin"], &least["bearing"]),
        (&"fail".into(), &(-1.0).into(), &180.0.into())
    );
    assert!(least["with"].as_str().unwrap().contains("rear door open"), "{least}");
}

// ---- what is printed -------------------------------------------------------------------------------------------

#[test]
fn the_table_of_rescue_4_as_a_person_reads_it() {
    insta::assert_snapshot!("rescue_4_table_80", states("rescue-4", &["--rows", "14"]));
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

#[test]
fn without_inputs_each_mode_is_a_state() {
    let conditions = ["never = ", "when = ", "assume = "];
    let inputs = SMALL.find("[inputs]").unwrap()..SMALL.find("[[body]]").unwrap();
    let plain = SMALL.replace(&SMALL[inputs], "");
    let kept = plain.lines().filter(|line| !conditions.iter().any(|key| line.starts_with(key)));
    let mut package: String = kept.map(|line| format!("{line}\n")).collect();
    package = package.replace("id = \"box-out\"\n", "id = \"box-out\"\nwhen = \"box\"\n");
    package = package.replace("purpose = \"calling\"\n", "purpose = \"calling\"\ndisplays = [\"warning\"]\n");
    package = package
        .replace("id = \"resting\"\n", "id = \"resting\"\ndisplays = [\"reverse\"]\ngiven = [\"box\", \"door\"]\n");
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

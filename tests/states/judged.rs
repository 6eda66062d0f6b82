//! What the rules say of rows: the same as they say of the whole vehicle, and as of each row by itself; what fails with
//! doors and the like at rest is told apart from what they bring.

use std::collections::{BTreeSet, HashMap};

use serde_json::Value as Json;
use wayproof::judge::{Verdict, judge_within};
use wayproof::measure::{Conduct, Lights, MOST_LIGHTS};
use wayproof::quantity::Measure;
use wayproof::ruleset::{Rule, Strength};

use super::common::{load_file, root, terms};
use super::{demo, list, states, wayproof_in};

/// Packages, how many of their first rows are judged at least, and the inputs that stand before lamps or move them.
const DOORS: [(&str, usize, &[&str]); 2] = [
    ("brush-2", 15, &["left-door", "right-door", "hose-rack"]),
    ("rescue-4-logic-faults", 20, &["rear-door", "left-door", "right-door", "ladder-stowed"]),
];

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
    for (package, least_rows, doors) in DOORS {
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
        let (mut judged, mut only_moved) = (0, 0);
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
            let space = conduct.space();
            // The verdicts of the same findings with some doors and the like moved and the others at rest.
            let with = |moved: &[&str]| -> HashMap<String, Verdict> {
                let shut = doors.iter().fold(light.region.clone(), |states, door| {
                    let input = space.inputs().find(door).unwrap();
                    let positions = &space.inputs().list[input].positions;
                    let words = |position: &wayproof::logic::Position| moved.contains(&position.words.as_str());
                    space.and(&states, &space.with(input, positions.iter().position(words).unwrap_or(0)))
                });
                let judged = judge_within(&conduct, &rulesets, terms(), &shut);
                judged.findings.into_iter().map(|finding| (finding.id, finding.verdict)).collect()
            };
            let at_rest = with(&[]);
            let (resting, others): (Vec<&str>, Vec<&str>) =
                having.iter().partition(|id| at_rest.get(**id) == Some(&worst));
            assert_eq!(told["at_rest"]["having"], serde_json::json!(resting), "{package} row {}", row["row"]);
            let only_with = list(told, "only_with");
            let ids = only_with.iter().flat_map(|with| list(with, "having")).map(|id| id.as_str().unwrap());
            assert_eq!(ids.collect::<BTreeSet<_>>(), others.into_iter().collect::<BTreeSet<_>>());
            for group in only_with {
                let moved: Vec<&str> = group["with"].as_str().unwrap().split(", ").collect();
                let moved_so = with(&moved);
                for id in list(group, "having") {
                    assert_eq!(moved_so.get(id.as_str().unwrap()), Some(&worst), "{package} {group}");
                    only_moved += 1;
                }
            }
            for (key, of_head) in [("least", false), ("least_of_heads", true)] {
                let those = found.iter().filter(|finding| finding.scope.head.is_some() == of_head);
                let least = those.filter_map(|finding| finding.margin).min_by(f64::total_cmp);
                assert_eq!(told[key]["margin"].as_f64(), least, "{package} row {} {key}", row["row"]);
            }
            judged += 1;
        }
        assert!(judged >= least_rows, "{package}: {judged}");
        assert_eq!(only_moved > 0, package == "rescue-4-logic-faults", "{package}: {only_moved}");
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

/// With the rear door shut the row passes; the tailboard that comes down with the door is all that fails it.
#[test]
fn what_a_door_brings_is_told_apart_from_what_fails_at_rest() {
    let when = "warning == high and not night and not brake and not high-beam and turn == off";
    let out = states("rescue-4-logic-faults", &["--when", when, "--format", "csv"]);
    let mut reader = csv::Reader::from_reader(out.as_bytes());
    let cell = |row: &csv::StringRecord, title: usize| row[title].to_owned();
    assert_eq!(
        reader.headers().unwrap().iter().skip(5).take(4).collect::<Vec<_>>(),
        ["verdict", "verdict_at_rest", "findings_at_rest", "findings_only_with"]
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let row = |number: &str| rows.iter().find(|row| &row[0] == number).unwrap();
    assert_eq!([cell(row("13"), 5), cell(row("13"), 6), cell(row("13"), 7)], ["fail", "pass", ""]);
    assert!(row("13")[8].starts_with("with rear door open: zone-total@calling/lower/C; "), "{:?}", row("13"));
    assert_eq!([cell(row("48"), 5), cell(row("48"), 6), cell(row("48"), 7)], ["fail", "fail", "roles@blocking"]);
    // With the door shut nothing is left of it, and no row fails while the vehicle is on its way.
    let out = states("rescue-4-logic-faults", &["--when", &format!("{when} and not rear-door"), "--rows", "1"]);
    assert!(out.ends_with("Rows judged: 1 of 1: 1 pass, 0 fail.\n"), "{out}");
}

/// With the rear door shut the stowed ladder alone decides: what is asked for is not said again. And the last lines count the
/// rows that fail at rest and those that do not.
#[test]
fn what_fails_at_rest_is_counted_and_what_is_asked_for_is_not_said_again() {
    let when = "warning == high and not rear-door";
    let table = states("rescue-4-logic-faults", &["--when", when, "--format", "json"]);
    let table: Json = serde_json::from_str(&table).unwrap();
    let row = list(&table, "rows").iter().find(|row| row["row"] == 65).unwrap();
    assert_eq!(row["judged"]["at_rest"], serde_json::json!({ "verdict": "pass", "having": [] }));
    let expected = serde_json::json!([
        { "with": "ladder stowed", "having": ["zones-two-level:zone-total@blocking/upper/C"] }
    ]);
    assert_eq!(row["judged"]["only_with"], expected);
    let out = states("rescue-4-logic-faults", &["--when", "warning == high"]);
    assert!(out.contains("Rows judged: 67 of 67: 0 pass, 67 fail.\n"), "{out}");
    let failing = "X FAIL 28 rows with doors and the like at rest: 48 to 63, 68 to 79\n\
                   X FAIL 39 rows only with doors and the like not at rest: 13 to 47, 64 to 67\n";
    assert!(out.ends_with(failing), "{out}");
}

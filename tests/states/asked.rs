//! `--when`: the rows whose states meet a condition, in every format, and what is said where it cannot be met.

use serde_json::Value as Json;

use super::common::root;
use super::{SMALL, demo, list, small, states, wayproof_in};

pub const WHEN: &str = "warning == high and parked and brake";

/// Rows keep their numbers and their light, and what is said of them speaks of the states asked for.
#[test]
fn every_format_has_the_rows_asked_for() {
    let json = |args: &[&str]| -> Json { serde_json::from_str(&states("rescue-4", args)).unwrap() };
    let whole = json(&["--format", "json"]);
    let table = json(&["--format", "json", "--when", WHEN]);
    assert_eq!((&table["when"], &table["lights"]), (&WHEN.into(), &55.into()));
    let rows = list(&table, "rows");
    let numbers: Vec<u64> = rows.iter().map(|row| row["row"].as_u64().unwrap()).collect();
    assert_eq!(numbers, (48..=55).collect::<Vec<_>>());
    for row in rows {
        let number = usize::try_from(row["row"].as_u64().unwrap()).unwrap();
        let in_whole = &list(&whole, "rows")[number - 1];
        assert_eq!((&row["lit"], &row["all_states"]), (&in_whole["lit"], &in_whole["states"]));
        assert!(row["states"].as_f64() < row["all_states"].as_f64());
    }
    let lines = states("rescue-4", &["--format", "ndjson", "--when", WHEN]);
    let lines: Vec<Json> = lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines[0]["when"], WHEN);
    assert_eq!(lines[1..], *rows);
    let out = states("rescue-4", &["--format", "csv", "--when", WHEN]);
    let mut reader = csv::Reader::from_reader(out.as_bytes());
    let when = reader.headers().unwrap().iter().position(|title| title == "when").unwrap();
    let found: Vec<(String, String)> =
        reader.records().map(Result::unwrap).map(|row| (row[0].to_owned(), row[when].to_owned())).collect();
    assert_eq!(found, numbers.iter().map(|number| (number.to_string(), WHEN.to_owned())).collect::<Vec<_>>());
}

#[test]
fn a_condition_that_leaves_one_row_leaves_nothing_to_set() {
    let out = states("rescue-4", &["--when", "warning == off and not reverse and high-beam"]);
    assert!(out.contains("\nrow 2     nothing more to set\nstates    24,576; mode off\n"), "{out}");
}

/// What no state meets, and what is no condition, is told with its place, and nothing is printed.
#[test]
fn what_cannot_be_met_is_told_with_its_place() {
    let cases = [
        (
            "parked and reverse",
            "no-such-state",
            "1:1",
            "with `never` that these do not occur: park in, reverse gear in",
        ),
        ("parked and not parked", "no-such-state", "1:1", "it contradicts itself"),
        ("brake and warnin == high", "bad-condition", "1:11", "did you mean `warning`?"),
        ("warning == ", "bad-condition", "1:12", "for example `warning == high`"),
        ("", "bad-condition", "1:1", "for example `warning == high`"),
        ("parked == on", "bad-condition", "1:1", "write `parked` or `not parked`"),
    ];
    for (when, code, place, help) in cases {
        let (status, out, said) = wayproof_in(&root(), &["states", &demo("rescue-4"), "--when", when]);
        assert_eq!((status, out.as_str()), (2, ""), "{when}: {said}");
        assert!(said.contains(&format!("error[{code}]")), "{when}: {said}");
        assert!(said.contains(&format!("<--when>:{place}")) && said.contains(help), "{when}: {said}");
        assert!(said.contains('^'), "{when}: {said}");
    }
}

/// Without inputs the one switch there is stands for the modes.
#[test]
fn without_inputs_a_mode_is_asked_for() {
    let (dir, _) = small(&super::without_inputs(SMALL));
    let args = |when| ["states", "package.toml", "--when", when];
    let (status, out, said) = wayproof_in(dir.path(), &args("mode == resting"));
    assert_eq!(status, 0, "{said}");
    assert!(out.contains("\nrow 2     nothing more to set\n") && !out.contains("\nrow 1 "), "{out}");
    let (status, _, said) = wayproof_in(dir.path(), &args("parked"));
    assert_eq!(status, 2);
    assert!(said.contains("there is no input `parked`"), "{said}");
}

//! Demands of a draft that every two meet and three do not, on zones within each other, and on a level's own heights.
//! Small sets of values are gone through one by one for what is told.

mod common;

use std::collections::BTreeSet;

use proptest::prelude::*;
use wayproof::bid::{Bid, Fault, contradictions, lint, read_draft};
use wayproof::diagnostic::{Log, Sources, render};

const HEAD: &str = "format = 1\n[bid]\n[[layout]]\nid = \"set\"\nstep = \"5 deg\"\n\
                    levels = { upper = { above = \"62 in\" }, lower = { from = \"18 in\", to = \"62 in\" } }\n\
                    zones = { rear = [\"135 deg\", \"225 deg\"], back = [\"90 deg\", \"270 deg\"], off = [\"91 deg\", \"271 deg\"], side = [\"45 deg\", \"180 deg\"] }\n";

/// One line a clause: an id, a quantity, a comparison, a scope and a limit, parted by `|`.
fn draft(clauses: &str) -> String {
    let mut text = HEAD.to_owned();
    for line in clauses.lines().filter(|line| !line.trim().is_empty()) {
        let parts: Vec<&str> = line.split('|').map(str::trim).collect();
        let [id, quantity, require, scope, limit] = parts.as_slice() else { panic!("{line}") };
        let unit = match *quantity {
            "flash-rate" => "/min",
            "optical-centre-height" => "in",
            "zone-total-optical-power" | "least-point-optical-power" => "cd.s/min",
            _ => "colours",
        };
        let comma = if scope.is_empty() { "" } else { ", " };
        text.push_str(&format!(
            "[[clause]]\nid = \"{id}\"\nsays = \"x\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\nrequire = \"{require}\"\n\
             layout = \"set\"\nmethod = \"angular\"\nlimits = [{{ {scope}{comma}{limit} }}]\n"
        ));
    }
    text
}

fn read(text: &str) -> Bid {
    let (sources, log) = (Sources::default(), Log::default());
    let bid = read_draft("draft.toml", text.as_bytes(), &sources, &log);
    assert!(!log.has_errors(), "{}\n{text}", render(&log.take(), &sources, false));
    bid.unwrap()
}

const LOOKED_FOR: [&str; 2] = ["outside-its-level", "no-such-level"];

fn ids(clauses: &str) -> Vec<String> {
    let bid = read(&draft(clauses));
    let mut ids: Vec<String> = contradictions(&bid).iter().map(Fault::id).collect();
    ids.extend(lint(&bid, &[], &[]).iter().filter(|fault| LOOKED_FOR.contains(&fault.code)).map(Fault::id));
    ids.sort();
    ids
}

const CASES: &[(&str, &str, &[&str])] = &[
    (
        "an interval that a hole swallows",
        "a | flash-rate | at-least | | value = 70
         b | flash-rate | at-most | | value = 130
         c | flash-rate | outside | | from = 60, to = 140",
        &["contradiction@a+b+c"],
    ),
    (
        "an interval that a hole leaves some of",
        "a | flash-rate | at-least | | value = 70
         b | flash-rate | at-most | | value = 141
         c | flash-rate | outside | | from = 60, to = 140",
        &[],
    ),
    (
        "another use",
        "a | flash-rate | at-least | purpose = \"calling\" | value = 70
         b | flash-rate | at-most | purpose = \"blocking\" | value = 130
         c | flash-rate | outside | | from = 60, to = 140",
        &[],
    ),
    (
        "what is left of two lists",
        "a | colours-shown | only | purpose = \"calling\", zone = \"rear\" | value = [\"red\", \"blue\"]
         b | colours-shown | none-of | purpose = \"calling\", zone = \"rear\" | value = [\"blue\"]
         c | colours-shown | some-of | purpose = \"calling\", zone = \"rear\" | value = [\"blue\", \"amber\"]",
        &["contradiction@a/calling/rear+b/calling/rear+c/calling/rear"],
    ),
    (
        "five that only all of them clash",
        "a | colours-shown | some-of | zone = \"rear\" | value = [\"red\", \"blue\", \"amber\", \"white\"]
         b | colours-shown | none-of | zone = \"rear\" | value = [\"red\"]
         c | colours-shown | none-of | zone = \"rear\" | value = [\"blue\"]
         d | colours-shown | none-of | zone = \"rear\" | value = [\"amber\"]
         e | colours-shown | none-of | zone = \"rear\" | value = [\"white\"]",
        &["contradiction@a/rear+b/rear+c/rear+d/rear+e/rear"],
    ),
    (
        "a colour in a zone within one that forbids it",
        "a | colours-shown | only | purpose = \"calling\", zone = \"back\" | value = [\"red\"]
         c | colours-shown | some-of | purpose = \"calling\", zone = \"rear\" | value = [\"amber\"]",
        &["contradiction@a/calling/back+c/calling/rear"],
    ),
    (
        "a colour round a zone that forbids it",
        "a | colours-shown | only | purpose = \"calling\", zone = \"rear\" | value = [\"red\"]
         c | colours-shown | some-of | purpose = \"calling\", zone = \"back\" | value = [\"amber\"]",
        &[],
    ),
    (
        "zones that only overlap",
        "a | colours-shown | only | purpose = \"calling\", zone = \"side\" | value = [\"red\"]
         c | colours-shown | some-of | purpose = \"calling\", zone = \"rear\" | value = [\"amber\"]",
        &[],
    ),
    (
        "more within than all of it may be",
        "a | zone-total-optical-power | at-most | purpose = \"calling\", level = \"upper\", zone = \"back\" | value = 1_000
         b | zone-total-optical-power | at-least | purpose = \"calling\", level = \"upper\", zone = \"rear\" | value = 5_000",
        &["contradiction@a/calling/upper/back+b/calling/upper/rear"],
    ),
    (
        "each of 19 points within",
        "a | zone-total-optical-power | at-most | purpose = \"calling\", level = \"upper\", zone = \"back\" | value = 18_999
         b | least-point-optical-power | at-least | purpose = \"calling\", level = \"upper\", zone = \"rear\" | value = 1_000",
        &["contradiction@a/calling/upper/back+b/calling/upper/rear"],
    ),
    (
        "points that are not the same ones",
        "a | zone-total-optical-power | at-most | purpose = \"calling\", level = \"upper\", zone = \"off\" | value = 1_000
         b | zone-total-optical-power | at-least | purpose = \"calling\", level = \"upper\", zone = \"rear\" | value = 5_000",
        &[],
    ),
    (
        "another level",
        "a | zone-total-optical-power | at-most | purpose = \"calling\", level = \"lower\", zone = \"back\" | value = 1_000
         b | zone-total-optical-power | at-least | purpose = \"calling\", level = \"upper\", zone = \"rear\" | value = 5_000",
        &[],
    ),
    (
        "a colour that a wider zone forbids counts in no part of it",
        "a | zone-total-optical-power | at-most | purpose = \"calling\", level = \"upper\", zone = \"back\" | value = 1_000
         b | zone-total-optical-power | at-least | purpose = \"calling\", level = \"upper\", zone = \"rear\" | value = 5_000
         c | colours-shown | only | purpose = \"calling\", zone = \"back\" | value = [\"red\"]",
        &["contradiction@a/calling/upper/back+b/calling/upper/rear"],
    ),
    (
        "colours of two levels, which the quantity does not have",
        "a | colours-shown | only | level = \"upper\", zone = \"rear\" | value = [\"red\"]
         b | colours-shown | some-of | level = \"lower\", zone = \"rear\" | value = [\"blue\"]",
        &["no-such-level@a/upper/rear", "no-such-level@b/lower/rear"],
    ),
    (
        "colours of two levels, zones within each other",
        "a | colours-shown | only | level = \"upper\", zone = \"back\" | value = [\"red\"]
         b | colours-shown | some-of | level = \"lower\", zone = \"rear\" | value = [\"blue\"]",
        &["no-such-level@a/upper/back", "no-such-level@b/lower/rear"],
    ),
    ("a height below its level", "h | optical-centre-height | at-most | level = \"upper\" | value = 60", &["outside-its-level@h/upper"]),
    ("the end of a level that begins above it", "h | optical-centre-height | at-most | level = \"upper\" | value = 62", &["outside-its-level@h/upper"]),
    ("just above it", "h | optical-centre-height | at-most | level = \"upper\" | value = 62.1", &[]),
    ("a height above its level", "h | optical-centre-height | at-least | level = \"lower\" | value = 63", &["outside-its-level@h/lower"]),
    ("the end of a level that holds it", "h | optical-centre-height | at-least | level = \"lower\" | value = 62", &[]),
];

#[test]
fn what_nobody_meets_is_found_and_nothing_else() {
    for (what, clauses, expected) in CASES {
        assert_eq!(ids(clauses), *expected, "{what}");
        let turned: Vec<&str> = clauses.lines().rev().collect();
        assert_eq!(ids(&turned.join("\n")), *expected, "{what}, turned round");
    }
}

#[test]
fn what_is_too_much_to_look_at_is_said() {
    let many: Vec<String> = (0..151)
        .map(|at| format!("c{at} | colours-shown | only | zone = \"rear\" | value = [\"red\", \"c{at}\"]"))
        .collect();
    let start = common::thread_time();
    let found = contradictions(&read(&draft(&many.join("\n"))));
    assert!(common::thread_time() - start < std::time::Duration::from_secs(20));
    let [fault] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(fault.code, "not-looked-at");
    assert!(fault.says.contains("151 limits") && fault.says.contains("NOT looked at"), "{}", fault.says);
    // As many as are looked at take no longer.
    let start = common::thread_time();
    assert_eq!(contradictions(&read(&draft(&many[..150].join("\n")))), []);
    assert!(common::thread_time() - start < std::time::Duration::from_secs(20));
}

fn demand() -> impl Strategy<Value = (String, Vec<&'static str>)> {
    let words = prop::sample::subsequence(vec!["red", "blue", "white"], 1..3);
    (prop::sample::select(vec!["only", "none-of", "some-of"]), words)
        .prop_map(|(require, words)| (require.to_owned(), words))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Demands on one zone can be met if and only if some set of the colours, not none of them, meets each.
    #[test]
    fn demands_on_colours_are_those_of_some_set(demands in prop::collection::vec(demand(), 2..6)) {
        let lines: Vec<String> = demands.iter().enumerate()
            .map(|(at, (require, words))| format!("c{at} | colours-shown | {require} | zone = \"rear\" | value = {words:?}"))
            .collect();
        let colours = ["red", "blue", "white", "amber"];
        let sets = (1..16_u32).map(|set| {
            colours.iter().enumerate().filter(|(at, _)| set >> at & 1 == 1).map(|(_, colour)| *colour).collect::<BTreeSet<_>>()
        });
        let meets = |set: &BTreeSet<&str>| demands.iter().all(|(require, words)| match require.as_str() {
            "only" => set.iter().all(|colour| words.contains(colour)),
            "none-of" => !set.iter().any(|colour| words.contains(colour)),
            _ => set.iter().any(|colour| words.contains(colour)),
        });
        let met = sets.into_iter().any(|set| meets(&set));
        prop_assert_eq!(ids(&lines.join("\n")).is_empty(), met, "{}", lines.join("\n"));
    }

    /// The same of numbers, on a grid that holds a value of every stretch between ends that are halves.
    #[test]
    fn demands_on_a_rate_are_those_of_some_value(demands in prop::collection::vec((0..3_usize, 1..12_i32, 1..12_i32), 2..5)) {
        let lines: Vec<String> = demands.iter().enumerate().map(|(at, (kind, one, other))| {
            let (from, to) = (one.min(other), one.max(other));
            match kind {
                0 => format!("c{at} | flash-rate | at-least | | value = {one}"),
                1 => format!("c{at} | flash-rate | at-most | | value = {one}"),
                _ => format!("c{at} | flash-rate | outside | | from = {from}, to = {to}"),
            }
        }).collect();
        let met = (0..60).map(|quarter| f64::from(quarter) / 4.0).any(|value| demands.iter().all(|(kind, one, other)| {
            let (one, from, to) = (f64::from(*one), f64::from(*one.min(other)), f64::from(*one.max(other)));
            match kind { 0 => value >= one, 1 => value <= one, _ => value < from || value > to }
        }));
        prop_assert_eq!(ids(&lines.join("\n")).is_empty(), met, "{}", lines.join("\n"));
    }
}

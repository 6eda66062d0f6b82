//! `wayproof change`: what passes only because less is asked is not better, and the change that asks less is named.

mod common;

use common::root;

const BASE: &str = "demo-data/rescue-4-changed/package.toml";

fn change(old: &str, changes: &[(&str, &str)]) -> (String, Option<i32>) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("package.toml");
    let mut text = std::fs::read_to_string(root().join(old)).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    std::fs::write(&path, text).unwrap();
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(["change", old, path.to_str().unwrap()])
        .args(["--library", "demo-data/catalogue", "--as-of", "2026-11-27"])
        .env("COLUMNS", "200")
        .output()
        .unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.code())
}

const ASSUMED: (&str, &str) = ("purpose = \"blocking\"  ", "assume = \"not rear-door\"\npurpose = \"blocking\"  ");
const NEVER: (&str, &str) = ("never = \"reverse and parked\"", "never = \"reverse and parked or rear-door\"");
const NARROW: (&str, &str) = (
    "when = \"warning == high and parked\"\npurpose",
    "when = \"warning == high and parked and not rear-door\"\npurpose",
);
/// The inner rear lamps in amber again: now the zone has its light.
const AMBER: (&str, &str) = (
    "group = \"rear-upper-amber\", colour = \"red\", pattern = \"two-pulse-800ms\"",
    "group = \"rear-upper-amber\", colour = \"amber\", pattern = \"two-pulse-800ms\"",
);

#[test]
fn a_pass_that_came_from_asking_less_is_not_better() {
    for (what, narrowing) in [("assume", ASSUMED), ("never", NEVER), ("when", NARROW)] {
        let (text, _) = change(BASE, &[narrowing]);
        assert!(!text.contains("\nBetter: "), "{what}: {text}");
        let mut part = text.split("\nBetter only because fewer states are asked: 1 required, 0 advice\n");
        let part = part.nth(1).unwrap_or_else(|| panic!("{what}: {text}"));
        assert!(part.contains("zones-two-level:zone-total@blocking/upper/C: fail -> pass"), "{what}: {text}");
        assert!(part.contains("by change 1 alone: asked in fewer states"), "{what}: {text}");
        assert!(text.contains("1 better only because fewer states are asked"), "{what}: {text}");
    }
}

#[test]
fn what_is_better_without_it_is_better() {
    // The lamps alone make it pass, whatever else is asked.
    let (text, _) = change(BASE, &[ASSUMED, AMBER]);
    let better = text.split("\nBetter: ").nth(1).unwrap_or_else(|| panic!("{text}"));
    assert!(better.contains("zones-two-level:zone-total@blocking/upper/C: fail -> pass"), "{text}");
    // Margins with one head dark need both, and are told so.
    let both = text.split("\nBetter only because fewer states are asked: 0 required, 2 advice\n").nth(1);
    let both = both.unwrap_or_else(|| panic!("{text}"));
    assert!(both.contains("change 1 not without it; change 2 not without it: asked in fewer states"), "{text}");
    let (text, _) = change(BASE, &[AMBER]);
    assert!(text.contains("\nBetter: ") && !text.contains("fewer states"), "{text}");
}

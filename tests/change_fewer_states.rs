//! `wayproof change`: what passes only because less is asked is not better, and the change that asks less is named.

mod common;

use common::root;

const BASE: &str = "demo-data/rescue-4-changed/package.toml";

/// A demo package with texts replaced, beside its other files.
fn varied(base: &str, changes: &[(&str, &str)]) -> (tempfile::TempDir, String) {
    let dir = tempfile::tempdir().unwrap();
    let folder = root().join(base).parent().unwrap().to_path_buf();
    for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
        if entry.file_type().unwrap().is_file() {
            std::fs::copy(entry.path(), dir.path().join(entry.file_name())).unwrap();
        }
    }
    let path = dir.path().join("package.toml");
    let mut text = std::fs::read_to_string(&path).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    std::fs::write(&path, text).unwrap();
    let name = path.to_str().unwrap().to_owned();
    (dir, name)
}

fn change(old: &str, changes: &[(&str, &str)]) -> (String, Option<i32>) {
    let (_dir, new) = varied(old, changes);
    changed(old, &new)
}

fn changed(old: &str, new: &str) -> (String, Option<i32>) {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(["change", old, new])
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

/// A pattern that failed is right now. A door that opens is no longer described, and an input has one position more, so that
/// nothing can be tried: no body hides a rate, so that is better; of light it is said that it could not be tried.
#[test]
fn where_nothing_can_be_tried_that_is_said_of_what_a_body_can_hide() {
    const BRUSH: &str = "demo-data/brush-2-complete/package.toml";
    const SLOW: (&str, &str) = (
        "period = \"750 ms\"\npulses = [[\"0 ms\", \"100 ms\"]]",
        "period = \"1000 ms\"\npulses = [[\"0 ms\", \"100 ms\"]]",
    );
    const DOOR: (&str, &str) = (
        "[[body]]\nid = \"left-door-open\"\nfrom = { behind-front = \"72 in\", right = \"-76 in\", height = \"20 in\" }\nto = { behind-front = \"74 in\", right = \"-38.2 in\", height = \"70 in\" }\nwhen = \"left-door\"\n\n",
        "",
    );
    const POSITION: (&str, &str) = (
        "siren = { positions = [\"off\", \"wail\", \"yelp\"]",
        "siren = { positions = [\"off\", \"wail\", \"yelp\", \"phaser\"]",
    );
    const WORDS: (&str, &str) = ("on = \"right door open\"", "on = \"right door is open\"");
    let (_old, old) = varied(BRUSH, &[SLOW]);
    for (what, change) in [("another position", POSITION), ("other words", WORDS)] {
        let (_new, new) = varied(BRUSH, &[DOOR, change]);
        let (text, _) = changed(&old, &new);
        let better = text.split("\nBetter: ").nth(1).unwrap_or_else(|| panic!("{what}: {text}"));
        assert!(better.contains("flash-rate@calling/visor-left: fail -> pass"), "{what}: {text}");
        assert!(!text.contains("only because fewer states") && !text.contains("could not be tried"), "{what}: {text}");
    }
    // A wall beside the rear lamps that comes and goes: what it hides passes without it, and nothing can be tried.
    const RESCUE: &str = "demo-data/rescue-4/package.toml";
    let wall = "[[body]]\nid = \"wall\"\nfrom = { behind-front = \"360 in\", right = \"-60 in\", height = \"5 in\" }\nto = { behind-front = \"362 in\", right = \"60 in\", height = \"150 in\" }\nwhen = \"rear-door\"\n\n[[body]]";
    let text = std::fs::read_to_string(root().join(RESCUE)).unwrap().replacen("[[body]]", wall, 1);
    let (_old, old) = varied(RESCUE, &[]);
    std::fs::write(&old, text).unwrap();
    let (_new, new) = varied(
        RESCUE,
        &[(
            "positions = [\"off\", \"left\", \"right\", \"both\"]",
            "positions = [\"off\", \"left\", \"right\", \"both\", \"none\"]",
        )],
    );
    let (text, _) = changed(&old, &new);
    assert!(!text.contains("only because fewer states"), "{text}");
    let better = text.split("\nBetter: ").nth(1).unwrap_or_else(|| panic!("{text}"));
    assert!(better.contains("how much of it is only fewer states could not be tried"), "{text}");
}

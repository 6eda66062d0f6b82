//! `wayproof change`: what only got another name moves nothing, and what was found of it is carried over. What fails under
//! either name is no new failure. And what a name takes with it (figures of a catalogue, a second exception) is told.

mod common;

use common::root;

const BASE: &str = "demo-data/rescue-4/package.toml";

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

fn change(old: &str, new: &str, more: &[&str]) -> (String, String, Option<i32>) {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(["change", old, new, "--library", "demo-data/catalogue", "--as-of", "2026-11-27"])
        .args(more)
        .env("COLUMNS", "250")
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

/// The beacon flashes too slowly: it fails.
const SLOW: (&str, &str) = (
    "period = \"720 ms\"\npulses = [[\"0 ms\", \"30 ms\"], [\"60 ms\", \"90 ms\"], [\"120 ms\", \"150 ms\"]]",
    "period = \"900 ms\"\npulses = [[\"0 ms\", \"30 ms\"], [\"60 ms\", \"90 ms\"], [\"120 ms\", \"150 ms\"]]",
);
const BEACON: (&str, &str) = ("id = \"roof-beacon\"\nmodel", "id = \"beacon-1\"\nmodel");

#[test]
fn another_name_moves_nothing() {
    let circuit = [("id = \"rear-warning\"", "id = \"rw\""), ("circuit = \"rear-warning\"", "circuit = \"rw\"")];
    for (kind, before, after, changes) in [
        ("circuit", "rear-warning", "rw", &circuit[..]),
        ("pattern", "three-pulse-720ms", "triple", &[("three-pulse-720ms", "triple")]),
        ("input", "ladder-stowed", "ladder-home", &[("ladder-stowed", "ladder-home")]),
        ("mode", "on-scene", "scene-work", &[("id = \"on-scene\"", "id = \"scene-work\"")]),
        ("display", "headlamp flasher", "hf", &[("id = \"headlamp flasher\"", "id = \"hf\"")]),
        // A lamp that stands on both sides.
        ("head", "rear-lower-left", "low-rear-left", &[("id = \"rear-lower-left\"", "id = \"low-rear-left\"")]),
    ] {
        let (_dir, new) = varied(BASE, changes);
        let (text, errors, status) = change(BASE, &new, &[]);
        assert_eq!(status, Some(0), "{before}: {text}{errors}");
        assert!(text.contains(&format!(" - {kind} {before} is called {after} now")), "{before}: {text}");
        assert!(!text.contains(" 1. "), "{before}: {text}");
        assert!(text.contains("Required rules: no verdict moved."), "{before}: {text}");
    }
}

#[test]
fn what_failed_before_fails_under_another_name_and_is_not_new() {
    let ((_one, old), (_other, new)) = (varied(BASE, &[SLOW]), varied(BASE, &[SLOW, BEACON]));
    let (text, _, status) = change(&old, &new, &[]);
    assert_eq!(status, Some(0), "{text}");
    assert!(text.contains("head roof-beacon is called beacon-1 now"), "{text}");
    assert!(!text.contains("Judged no longer") && !text.contains("Judged only now"), "{text}");
    let (csv, ..) = change(&old, &new, &["--format", "csv"]);
    assert!(csv.contains("renamed,beacon-1,"), "{csv}");
    let (json, ..) = change(&old, &new, &["--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["renamed"][0]["before"], "roof-beacon");
    assert_eq!(json["moved"].as_array().map(Vec::len), Some(0));
    // Under another name and slower too: it fails now, and by the pattern.
    let (text, _, status) = change(BASE, &new, &[]);
    assert_eq!(status, Some(1), "{text}");
    assert!(text.contains("flash-rate@calling/beacon-1: pass -> fail"), "{text}");
    // An exception goes with what it is of.
    let excepted = |head: &str| {
        format!(
            "\n[[exception]]\nfinding = \"zones-two-level:flash-rate@calling/{head}\"\naccepted-by = \"the buyer (invented)\"\nreference = \"letter 7\"\non = 2026-03-01\nuntil = 2027-03-01\nreason = \"the order is late\"\n"
        )
    };
    for (file, head) in [(&old, "roof-beacon"), (&new, "beacon-1")] {
        let text = std::fs::read_to_string(file).unwrap();
        std::fs::write(file, text + &excepted(head)).unwrap();
    }
    let (text, errors, status) = change(&old, &new, &[]);
    assert_eq!((status, errors.as_str()), (Some(0), ""), "{text}");
    assert!(text.contains("Required rules: no verdict moved."), "{text}");
    // A second one on the same finding is a change.
    let text = std::fs::read_to_string(&new).unwrap();
    let second = excepted("beacon-1").replace("letter 7", "letter 9");
    std::fs::write(&new, text + &second).unwrap();
    let (text, ..) = change(&old, &new, &[]);
    assert!(text.contains("in exception 2: reference not stated -> letter 9"), "{text}");
}

/// One thing taken away and another put in are no other name.
#[test]
fn what_is_used_otherwise_is_not_renamed() {
    let (_one, new) =
        varied(BASE, &[("ladder-stowed", "ladder-home"), ("when = \"ladder-home\"", "when = \"not ladder-home\"")]);
    let (text, ..) = change(BASE, &new, &[]);
    assert!(!text.contains("is called ladder-home now") && text.contains("input ladder-home: new"), "{text}");
    // Two lamps, one of which moves as well.
    let (_two, new) = varied(BASE, &[BEACON]);
    let text = std::fs::read_to_string(&new).unwrap();
    let place = text.find("id = \"beacon-1\"").unwrap();
    let height = place + text[place..].find("height = \"").unwrap() + "height = \"".len();
    let end = height + text[height..].find('"').unwrap();
    std::fs::write(&new, format!("{}90 in{}", &text[..height], &text[end..])).unwrap();
    let (text, ..) = change(BASE, &new, &[]);
    assert!(!text.contains("is called beacon-1 now"), "{text}");
    assert!(text.contains("beacon-1: new: ") && text.contains("roof-beacon: gone"), "{text}");
}

/// A catalogue gives the power of the grille lamp for one pattern, by its name.
#[test]
fn figures_that_a_pattern_takes_with_it_are_told() {
    let base = BASE;
    let (_dir, new) = varied(base, &[("two-pulse-800ms", "double")]);
    let (text, ..) = change(base, &new, &[]);
    assert!(text.contains("! the catalogue's figures of `grille-lamp"), "{text}");
    assert!(text.contains("are for the pattern `two-pulse-800ms`; no row uses it now"), "{text}");
    assert!(!text.contains("pattern two-pulse-800ms is called double now"), "{text}");
}

/// Nothing is written over what it was made from, and rows for a spreadsheet say the day and the cautions.
#[test]
fn inputs_stay_and_rows_say_the_day() {
    let (_dir, new) = varied(BASE, &[SLOW]);
    let before = std::fs::read_to_string(&new).unwrap();
    let run = |args: &[&str]| {
        let library = ["--library", "demo-data/catalogue", "--force"];
        let mut command = assert_cmd::Command::cargo_bin("wayproof").unwrap();
        let output = command.current_dir(root()).args(args).args(library).output().unwrap();
        (String::from_utf8(output.stderr).unwrap(), output.status.code())
    };
    // Named as a page is, so that only this keeps it.
    let page = new.replace("package.toml", "package.csv");
    std::fs::rename(&new, &page).unwrap();
    for command in ["change", "compare"] {
        let (errors, status) = run(&[command, BASE, &page, "-o", &page]);
        assert_eq!(status, Some(2), "{command}: {errors}");
        assert!(errors.contains("is what this is made from"), "{command}: {errors}");
    }
    assert_eq!(std::fs::read_to_string(&page).unwrap(), before);
    let (csv, ..) = change(BASE, &page, &["--format", "csv"]);
    assert!(csv.contains("read this,,\"both judged as of 2026-11-27 by "), "{csv}");
    assert!(csv.contains("authority having jurisdiction"), "{csv}");
}

#[test]
fn a_bid_stays_off_its_ruleset() {
    let dir = tempfile::tempdir().unwrap();
    let own = dir.path().join("own.toml");
    std::fs::copy(root().join("rulesets/headlamp-flashing.toml"), &own).unwrap();
    let before = std::fs::read_to_string(&own).unwrap();
    let mut command = assert_cmd::Command::cargo_bin("wayproof").unwrap();
    let output = command.args(["bid", own.to_str().unwrap(), "-o", own.to_str().unwrap(), "--force"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8(output.stderr).unwrap().contains("is what this is made from"));
    assert_eq!(std::fs::read_to_string(&own).unwrap(), before);
}

//! Lines that nobody read and that the calculation does not pass: a record never looks better than the calculation, and
//! a reading that shows nothing, or speaks of another head, takes nothing out of it.

mod common;

use std::path::Path;

use assert_cmd::Command;
use common::readings::{changed_demo, judged_on};
use common::{load_file, root, terms};
use wayproof::judge::{Status, Verdict, judge};
use wayproof::measure::Conduct;
use wayproof::readings::ReadingsJudged;

const HEAD: &str = "format = 1\n[record]\nby = \"t\"\non = 2026-11-18\ndue-within-days = 14\n";
const FAULTY: &str = "brush-2-power-faults";

/// A record on a demo, changed where a case needs it.
fn judged(demo: &str, change: &[(String, String)], readings: &str) -> ReadingsJudged {
    let (dir, package) = changed_demo(demo, change);
    let file = dir.path().join("readings.toml");
    std::fs::write(&file, format!("{HEAD}{readings}")).unwrap();
    judged_on(&package, &[file]).unwrap_or_else(|(_, said)| panic!("{said}"))
}

fn reading(line: &str, value: &str, with: &str) -> String {
    let with = if with.is_empty() { String::new() } else { format!("instrument = \"{with}\"\n") };
    format!("[[reading]]\nline = \"{line}\"\nvalue = \"{value}\"\n{with}")
}

const CLAMP: &str =
    "[[instrument]]\nid = \"clamp\"\nuncertainty = \"3 %\"\nno-calibration = \"compared with a shunt\"\n";
const WORK: &str = "supply-12v:fuse-continuous@work";
const HEADS: &str = "vehicle:heads@front/edge-lamp-red-white";

/// Required findings of a package that fail, by `check`.
fn failing(package: &Path) -> Vec<String> {
    let (package, rulesets) = load_file(package, &[]);
    let known = judge(&Conduct::new(&package), &rulesets, terms());
    let fails = known.findings.iter().filter(|finding| {
        finding.strength == wayproof::ruleset::Strength::Required && finding.verdict == Verdict::Fail
    });
    fails.filter(|finding| !finding.is_meeting()).map(|finding| finding.id.clone()).collect()
}

fn is_beside(judged: &ReadingsJudged, id: &str) -> bool {
    judged.beyond.iter().any(|finding| finding.id == id)
}

#[test]
fn what_fails_by_calculation_and_nobody_read_fails_the_record() {
    let all = failing(&root().join("demo-data").join(FAULTY).join("package.toml"));
    assert!(all.len() > 3 && all.iter().any(|id| id == WORK), "{all:?}");
    for (readings, beside, why) in [
        (reading(HEADS, "yes", ""), true, "another line was read"),
        (reading(WORK, "6 A", ""), true, "no instrument is named: it shows nothing"),
        (reading(WORK, "6 A", "clamp") + "on = 2027-01-01\n" + CLAMP, true, "it does not count yet"),
        (reading(WORK, "12.1 A", "clamp") + CLAMP, false, "it was read, and fails as such"),
        (reading(WORK, "6 A", "clamp") + CLAMP, false, "it was read, and is not shown: they differ"),
    ] {
        let judged = judged(FAULTY, &[], &readings);
        assert_eq!(is_beside(&judged, WORK), beside, "{why}: {readings}");
        let left = all.iter().filter(|id| **id != WORK || beside);
        assert!(left.clone().all(|id| is_beside(&judged, id)), "{why}");
        assert_eq!(judged.tally.beyond.fail, left.count(), "{why}");
        assert_eq!(judged.tally.status(), Status::Failed, "{why}");
    }
}

/// Rear brake lamps that stand too low.
fn raised() -> Vec<(String, String)> {
    let at = |height: &str| format!("behind-front = \"330 in\", right = \"-45 in\", height = \"{height}\"");
    vec![(at("50 in"), at("10 in"))]
}

#[test]
fn of_two_heads_on_a_line_the_one_that_was_not_read_stands_beside() {
    let [left, right] = ["left", "right"].map(|side| format!("zones-two-level:lower-height@rear-lower-brake-{side}"));
    let (_dir, package) = changed_demo("rescue-4", &raised());
    let fails = failing(&package);
    assert!([&left, &right].iter().all(|id| fails.contains(id)), "{fails:?}");
    let tape = "[[instrument]]\nid = \"tape\"\nuncertainty = \"0.5 in\"\nno-calibration = \"compared\"\n";
    let whole = format!("{left}/all");
    for (named, beside) in [(&left, [false, true]), (&right, [true, false]), (&whole, [false, false])] {
        let judged = judged("rescue-4", &raised(), &(reading(named, "10 in", "tape") + tape));
        assert_eq!([&left, &right].map(|id| is_beside(&judged, id)), beside, "{named}");
    }
}

#[test]
fn terminal_record_and_letter_name_it_and_the_status_is_that_of_check() {
    let package = root().join("demo-data").join(FAULTY).join("package.toml").display().to_string();
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name).display().to_string();
    std::fs::write(path("one.toml"), format!("{HEAD}{}", reading(HEADS, "yes", ""))).unwrap();
    let run = |args: &[&str]| {
        let mut command = Command::cargo_bin("wayproof").unwrap();
        command.env("COLUMNS", "1000").env("NO_COLOR", "1").args(args).args(["--as-of", "2026-11-25"]);
        let output = command.output().unwrap();
        (String::from_utf8(output.stdout).unwrap(), output.status.code().unwrap())
    };
    assert_eq!(run(&["check", &package]).1, 1);
    let (out, status) = run(&["readings", &package, &path("one.toml")]);
    assert_eq!(status, 1, "{out}");
    let (_, beside) = out.split_once("What no reading decides, by calculation").unwrap();
    assert!(beside.contains(WORK), "{beside}");
    assert!(out.contains("at least one requirement that no reading decides is not met"), "{out}");
    for (kind, name) in [("record", "r.html"), ("record", "r.toml"), ("letter", "l.html")] {
        run(&["report", &package, "--as", kind, "--readings", &path("one.toml"), "-o", &path(name)]);
        let text = std::fs::read_to_string(path(name)).unwrap();
        let (_, beside) = text.split_once(if kind == "letter" { "unreadable" } else { "unread" }).unwrap();
        assert!(beside.contains(WORK), "{name}");
    }
}

//! One sample a fault, named after it; what is said of each is a snapshot. In tests/bad-input are mistakes: nothing is
//! judged, the status is 2, and nothing stands on standard output. In tests/doubtful-input is what is surely not meant:
//! it is told, and judged all the same.

mod common;

use common::root;

fn check(sample: &str) -> (Option<i32>, String, String) {
    check_in("bad-input", "files", sample)
}

fn check_in(folder: &str, library: &str, sample: &str) -> (Option<i32>, String, String) {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root().join("tests").join(folder))
        .args(["check", sample, "--library", library, "--as-of", "2026-11-25"])
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

fn samples(folder: &str) -> Vec<String> {
    let entries = std::fs::read_dir(root().join("tests").join(folder)).unwrap();
    let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let mut samples: Vec<String> = names.filter(|name| name.ends_with(".toml")).collect();
    samples.sort();
    samples
}

/// Files that are no text have no lines to show, and a line too long to be shown has its place in numbers.
const WITHOUT_A_MARK: &[&str] = &["not-utf-8.toml", "saved-as-utf-16.toml", "condition-too-long.toml"];

/// Each message names a file, and marks the place in it.
fn names_a_place(sample: &str, said: &str) {
    let is_head = |line: &str| line.starts_with("error[") || line.starts_with("warning[");
    let mut messages: Vec<String> = Vec::new();
    for line in said.lines() {
        match messages.last_mut() {
            Some(message) if !is_head(line) => *message += &format!("\n{line}"),
            _ => messages.push(line.to_owned()),
        }
    }
    for message in messages {
        assert!(is_head(&message), "{sample}: {message}");
        assert!(message.contains("--> "), "{sample} names a place: {message}");
        let marked = message.contains('^');
        assert_ne!(marked, WITHOUT_A_MARK.contains(&sample), "{sample} marks the place: {message}");
    }
}

#[test]
fn every_fault_is_told_with_its_place() {
    let samples = samples("bad-input");
    assert!(samples.len() >= 235, "{} samples", samples.len());
    for sample in samples {
        let (status, out, said) = check(&sample);
        assert_eq!((status, out.as_str()), (Some(2), ""), "{sample}: {said}");
        assert!(said.contains("error["), "{sample}: {said}");
        names_a_place(&sample, &said);
        assert!(!said.contains("panicked"), "{sample}: {said}");
        insta::with_settings!({ snapshot_path => "snapshots/bad-input", prepend_module_to_snapshot => false }, {
            insta::assert_snapshot!(sample.trim_end_matches(".toml"), said);
        });
    }
}

#[test]
fn every_doubt_is_told_with_its_place_and_judged_all_the_same() {
    let samples = samples("doubtful-input");
    assert!(samples.len() >= 20, "{} samples", samples.len());
    for sample in samples {
        let (status, out, said) = check_in("doubtful-input", "../bad-input/files", &sample);
        assert!(matches!(status, Some(0 | 1 | 3)) && !out.is_empty(), "{sample}, {status:?}: {said}");
        assert!(said.starts_with("warning[") && !said.contains("error["), "{sample}: {said}");
        names_a_place(&sample, &said);
        insta::with_settings!({ snapshot_path => "snapshots/doubtful-input", prepend_module_to_snapshot => false }, {
            insta::assert_snapshot!(sample.trim_end_matches(".toml"), said);
        });
    }
}

/// Where too little can be known to judge, nothing passes but what hangs on no state.
#[test]
fn conditions_too_tangled_to_look_at_show_nothing() {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root().join("tests/doubtful-input"))
        .args(["check", "conditions-too-tangled.toml", "--library", "../bad-input/files", "--format", "csv"])
        .output()
        .unwrap();
    let mut verdicts: std::collections::BTreeMap<String, Vec<String>> = std::collections::BTreeMap::new();
    for record in csv::Reader::from_reader(output.stdout.as_slice()).records() {
        let record = record.unwrap();
        verdicts.entry(record[1].to_owned()).or_default().push(record[0].to_owned());
    }
    assert_eq!(output.status.code(), Some(3));
    assert_eq!(verdicts.keys().collect::<Vec<_>>(), ["not-shown", "pass"], "{verdicts:?}");
    assert_eq!(verdicts["pass"], ["zones-one-level:applies@vehicle"]);
}

#[test]
fn all_mistakes_of_all_files_come_in_one_run() {
    let (_, _, said) = check("many-mistakes.toml");
    for code in
        ["no-unit", "unknown-model", "missing-key", "unknown-key", "bad-pattern", "unknown-display", "unknown-ruleset"]
    {
        assert!(said.contains(&format!("error[{code}]")), "{code}: {said}");
    }
    assert!(said.contains("nothing was judged: 7 mistakes"), "no mistake brings another with it: {said}");
}

#[test]
fn an_error_that_concerns_two_places_shows_both() {
    for (sample, places) in [
        ("double-head.toml", 2),
        ("double-pattern.toml", 2),
        ("pulses-overlap.toml", 2),
        ("colour-the-model-lacks.toml", 2),
        ("phase-by-side-on-the-centre-line.toml", 2),
        ("pattern-table-twice-in-single-brackets.toml", 2),
        ("mode-tables-in-single-brackets.toml", 3),
    ] {
        let (_, _, said) = check(sample);
        let marks = said.lines().filter(|line| line.contains("^^") || line.contains("--- ")).count();
        assert!(marks >= places, "{sample}: {said}");
    }
}

/// What causes the rest stands before it: a mode that never holds, then the heads that are dark by it, in one warning.
#[test]
fn causes_are_told_before_what_follows_from_them() {
    let (_, _, said) = check_in("doubtful-input", "../bad-input/files", "many-heads-lit-in-no-state.toml");
    let codes: Vec<&str> = said.lines().filter_map(|line| line.strip_prefix("warning[")?.split(']').next()).collect();
    assert_eq!(codes, ["mode-never-holds", "head-in-no-mode"], "{said}");
    assert!(said.contains("`lamp-6-left/right` and 4 more are lit in no state"), "{said}");
}

/// Nothing of the demos, nor the package that a person begins with, is doubted.
#[test]
fn what_is_meant_is_not_doubted() {
    let dir = tempfile::tempdir().unwrap();
    let own = dir.path().join("own");
    let wayproof = || assert_cmd::Command::cargo_bin("wayproof").unwrap();
    assert!(wayproof().arg("new").arg(&own).output().unwrap().status.success());
    let mut folders: Vec<_> =
        std::fs::read_dir(root().join("demo-data")).unwrap().map(|demo| demo.unwrap().path()).collect();
    folders.push(own);
    let packages: Vec<_> =
        folders.iter().map(|folder| folder.join("package.toml")).filter(|file| file.exists()).collect();
    assert!(packages.len() >= 7, "{packages:?}");
    for package in packages {
        let output = wayproof().arg("check").arg(&package).output().unwrap();
        assert_eq!(String::from_utf8(output.stderr).unwrap(), "", "{}", package.display());
    }
}

#[test]
fn spreadsheets_of_other_countries_are_read() {
    let dir = tempfile::tempdir().unwrap();
    let sample = std::fs::read_to_string(root().join("tests/bad-input/files/lamps.toml")).unwrap();
    std::fs::write(dir.path().join("lamps.toml"), format!("\u{feff}{sample}")).unwrap();
    let package = "\u{feff}format = 1\r\nrules = [\"zones-one-level\"]\r\ncatalogues = [\"lamps.toml\"]\r\nheads = \"heads.csv\"\r\n\
        [vehicle]\r\nname = \"x\"\r\nlength = \"5,9 m\"\r\nwidth = \"2 m\"\r\nheight = \"2 m\"\r\n";
    let table = "\u{feff}id;model;behind-front (m);right;height (m);faces\r\na-left;lamp;0,05;-0,6 m;1,1;front\r\n";
    std::fs::write(dir.path().join("heads.csv"), table).unwrap();
    let run = |package: &str| {
        std::fs::write(dir.path().join("package.toml"), package).unwrap();
        let output = assert_cmd::Command::cargo_bin("wayproof")
            .unwrap()
            .current_dir(dir.path())
            .args(["check", "package.toml"])
            .output();
        let output = output.unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    };
    // In TOML a decimal comma is a mistake that is told; in a table with semicolons it is the decimal mark.
    let (status, said) = run(package);
    assert_eq!(status, Some(2));
    assert!(said.contains("package.toml:7:10") && said.contains("error[decimal-comma]"), "{said}");
    let (status, said) = run(&package.replace("5,9 m", "5.9 m"));
    assert_ne!(status, Some(2), "{said}");
    assert!(said.contains("this package has no mode"), "{said}");
}

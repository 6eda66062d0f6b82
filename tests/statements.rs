//! What a person states: unanswered, answered with the wrong kind of thing, impossible or dated after the day of
//! judgement, it is never a pass; and lamps that a rule on devices cannot see are not passed over.

mod common;

use std::process::Command;

use assert_cmd::prelude::*;

/// The striping rule on the left side, judged with these lines in the package, on 2026-06-01: verdict and note.
fn judged(statement: &str) -> (String, String) {
    judged_by("conspicuity-striping", "side-stripe@stripe-left", statement)
}

/// A rule of a shipped ruleset, judged so.
fn judged_by(rules: &str, finding: &str, statement: &str) -> (String, String) {
    let folder = tempfile::tempdir().unwrap();
    let wayproof = || Command::cargo_bin("wayproof").unwrap();
    let package = folder.path().join("vehicle");
    assert!(wayproof().args(["new", package.to_str().unwrap()]).output().unwrap().status.success());
    let file = package.join("package.toml");
    let text = format!("{}\n{statement}", std::fs::read_to_string(&file).unwrap());
    std::fs::write(&file, text).unwrap();
    let args = ["check", file.to_str().unwrap(), "--rules", rules, "--as-of", "2026-06-01"];
    let output = wayproof().args(args).args(["--format", "csv"]).output().unwrap();
    let mut reader = csv::Reader::from_reader(output.stdout.as_slice());
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|column| column == name).unwrap();
    let row = reader.records().map(Result::unwrap).find(|row| row[0].ends_with(finding)).unwrap();
    (row[at("verdict")].to_owned(), row[at("note")].to_owned())
}

fn said(answer: &str, on: &str) -> String {
    format!("[[statement]]\nitem = \"stripe-left\"\n{answer}\nby = \"the inspector\"\non = {on}\n")
}

#[test]
fn only_an_answer_that_can_be_is_judged() {
    for (statement, verdict, note) in [
        (said("value = \"52 %\"", "2026-05-01"), "pass", "said by the inspector on 2026-05-01"),
        (said("value = \"49 %\"", "2026-05-01"), "fail", "said by the inspector"),
        (said("value = \"50 %\"", "2026-05-01"), "pass", "said by the inspector"),
        (String::new(), "not-shown", "[[statement]] item = \"stripe-left\", value = \"... %\""),
        (said("value = \"52 in\"", "2026-05-01"), "not-shown", "value = \"... %\""),
        (said("answer = \"yes\"", "2026-05-01"), "not-shown", "answered with a word, not with a figure"),
        (said("value = \"520 %\"", "2026-05-01"), "not-shown", "which cannot be"),
        (said("value = \"52 %\"", "2026-06-02"), "not-shown", "nobody has answered"),
        (said("value = \"52 %\"", "2026-06-01"), "pass", "2026-06-01"),
    ] {
        let (found, told) = judged(&statement);
        assert_eq!(found, verdict, "{statement}: {told}");
        assert!(told.contains(note), "{statement}: {told}");
    }
}

/// A level below nothing cannot be, a difference of levels below nothing can.
#[test]
fn levels_and_their_differences_are_stated_in_their_own_units() {
    for (rules, item, value, verdict) in [
        ("travel-alarms", "alarm-at-the-operator", "3 dB", "pass"),
        ("travel-alarms", "alarm-at-the-operator", "3.1 dB", "fail"),
        ("travel-alarms", "alarm-at-the-operator", "-4 dB", "pass"),
        ("travel-alarms", "alarm-at-the-operator", "2 dB(A)", "not-shown"),
        ("travel-alarms", "horn-over-machine", "9.9 dB", "fail"),
        ("travel-alarms", "horn-over-machine", "-9.9 dB", "fail"),
        ("siren-cap-90-at-50-ft", "siren-level-at-50-ft", "90 dB(A)", "pass"),
        ("siren-cap-90-at-50-ft", "siren-level-at-50-ft", "90.1 dB(A)", "fail"),
        ("siren-cap-90-at-50-ft", "siren-level-at-50-ft", "-1 dB(A)", "not-shown"),
        ("siren-cap-90-at-50-ft", "siren-level-at-50-ft", "89 dB", "not-shown"),
    ] {
        let statement =
            format!("[[statement]]\nitem = \"{item}\"\nvalue = \"{value}\"\nby = \"the inspector\"\non = 2026-05-01\n");
        let (found, told) = judged_by(rules, &format!("@{item}"), &statement);
        assert_eq!(found, verdict, "{item}, {value}: {told}");
    }
}

/// The medic's package with one text changed, judged by one ruleset: all findings as id and verdict.
fn medic(from: &str, to: &str, rules: &str) -> Vec<(String, String)> {
    let source = common::root().join("demo-data");
    let folder = tempfile::tempdir().unwrap();
    for (from_folder, to_folder) in [("medic-6", "medic-6"), ("catalogue", "catalogue")] {
        std::fs::create_dir(folder.path().join(to_folder)).unwrap();
        for entry in std::fs::read_dir(source.join(from_folder)).unwrap().map(Result::unwrap) {
            let text = std::fs::read_to_string(entry.path()).unwrap();
            // Where a sounder is mounted is a word of the tool, and no group.
            let text = text.replace(from, to).replace("mounted = \"front-grille\"", "mounted = \"grille\"");
            std::fs::write(folder.path().join(to_folder).join(entry.file_name()), text).unwrap();
        }
    }
    let file = folder.path().join("medic-6/package.toml");
    let output = Command::cargo_bin("wayproof")
        .unwrap()
        .args(["check", file.to_str().unwrap(), "--rules", rules, "--as-of", "2026-11-25", "--format", "csv"])
        .output()
        .unwrap();
    let mut reader = csv::Reader::from_reader(output.stdout.as_slice());
    reader.records().map(Result::unwrap).map(|row| (row[0].to_owned(), row[1].to_owned())).collect()
}

#[test]
fn a_lamp_of_two_levels_that_is_never_dimmed_is_not_passed_over() {
    let found = medic("classes = { all-round-lamp = \"1\" }", "classes = { all-round-lamp = \"2\" }", "all-round-lamp");
    let verdict = |id: &str| found.iter().find(|(known, _)| known == id).map(|(_, verdict)| verdict.as_str());
    assert_eq!(verdict("all-round-lamp:day-on-axis@2/beacon/amber"), Some("pass"), "{found:?}");
    assert_eq!(verdict("all-round-lamp:night-on-axis@2/beacon/amber"), Some("not-shown"), "{found:?}");
}

#[test]
fn a_group_that_the_package_does_not_know_is_not_dark() {
    let found = medic("grille", "front-grille", "ambulance-fixed-set");
    let verdict = |id: &str| found.iter().find(|(known, _)| known == id).map(|(_, verdict)| verdict.as_str());
    assert_eq!(verdict("ambulance-fixed-set:grille-off@blocking"), Some("not-shown"), "{found:?}");
}

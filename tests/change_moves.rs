//! `wayproof change`: under which heading a finding stands that moved, which exit status that gives, and what is said of
//! why.

mod common;

use common::{load_file, root, terms};
use wayproof::compare::{Move, moved};
use wayproof::judge::{Verdict, judge};
use wayproof::measure::Conduct;

const OLD: &str = "demo-data/rescue-4/package.toml";
const NEW: &str = "demo-data/rescue-4-changed/package.toml";

fn run(args: &[&str]) -> (String, Option<i32>) {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(args)
        .args(["--library", "demo-data/catalogue", "--as-of", "2026-11-27"])
        .env("COLUMNS", "110")
        .output()
        .unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.code())
}

fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A package of its own folder.
fn file(text: &str) -> (tempfile::TempDir, String) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("package.toml");
    std::fs::write(&path, text).unwrap();
    let name = path.to_str().unwrap().to_owned();
    (dir, name)
}

fn text_of(package: &str) -> String {
    std::fs::read_to_string(root().join(package)).unwrap()
}

/// Every verdict before against every verdict after, written by hand: rows are before, columns after.
#[test]
fn each_pair_of_verdicts_stands_under_its_heading() {
    let order =
        [Verdict::Pass, Verdict::Excepted, Verdict::NotApplicable, Verdict::TooClose, Verdict::NotShown, Verdict::Fail];
    let table = [
        // pass, excepted, not-applicable, too-close, not-shown, fail
        ["", "excepted-now", "other-scope", "worse", "newly-not-shown", "worse"],
        ["no-longer-excepted", "", "no-longer-excepted", "no-longer-excepted", "newly-not-shown", "worse"],
        ["other-scope", "excepted-now", "", "other-scope", "newly-not-shown", "worse"],
        ["better", "excepted-now", "other-scope", "", "newly-not-shown", "worse"],
        ["newly-shown", "excepted-now", "other-scope", "newly-shown", "", "newly-shown-to-fail"],
        ["better", "excepted-now", "other-scope", "better", "newly-not-shown", ""],
    ];
    let (package, rulesets) = load_file(&root().join("demo-data/brush-2/package.toml"), &[]);
    let one = judge(&Conduct::new(&package), &rulesets, terms()).findings.swap_remove(0);
    for (before, row) in order.iter().zip(table) {
        for (after, expected) in order.iter().zip(row) {
            let (mut old, mut new) = (one.clone(), one.clone());
            (old.verdict, new.verdict) = (*before, *after);
            let (old, new) = ([old], [new]);
            let found: Vec<&str> = moved(&old, &new).iter().map(|moved| moved.how.word()).collect();
            assert_eq!(found.first().copied().unwrap_or_default(), expected, "{before:?} -> {after:?}");
        }
    }
    let words: std::collections::BTreeSet<&str> = Move::ALL.iter().map(|how| how.word()).collect();
    assert_eq!(words.len(), Move::ALL.len());
}

/// Exceptions for all that the swapped colours and the missing wedges move.
fn all_excepted() -> String {
    let csv = std::fs::read_to_string(root().join("demo-data/rescue-4-changed/expected.csv")).unwrap();
    let mut text = text_of(NEW);
    for row in csv.lines().skip(1) {
        let id = row.split(',').next().unwrap();
        text.push_str(&format!(
            "\n[[exception]]\nfinding = \"{id}\"\naccepted-by = \"the buyer (invented)\"\nreference = \"letter 7\"\non = 2026-03-01\nuntil = 2027-03-01\nreason = \"the order is late\"\n"
        ));
    }
    text
}

#[test]
fn what_is_excepted_now_is_neither_worse_nor_better_and_never_passed_over() {
    let (_dir, excepted) = file(&all_excepted());
    // Passed before: nothing fails, and it is not said that nothing got worse.
    let (text, status) = run(&["change", OLD, &excepted]);
    let said = in_one_line(&text);
    assert_eq!(status, Some(3), "{text}");
    assert!(said.contains("Excepted now: 11 required") && said.contains("Worse: 0 required"), "{text}");
    assert!(said.contains("11 required rules are met only by an exception that did not stand before"), "{text}");
    assert!(!text.contains("got worse") && said.contains("Required rules: 11 excepted now"), "{text}");
    // Failed before: it is no better by a letter, and the status asks for a look at the letter.
    let (text, status) = run(&["change", NEW, &excepted]);
    assert_eq!(status, Some(3), "{text}");
    assert!(text.contains("Excepted now: 11 required") && !text.contains("\nBetter:"), "{text}");
    // And back: met without one, and failing without one.
    let (text, status) = run(&["change", &excepted, OLD]);
    assert_eq!(status, Some(0), "{text}");
    assert!(text.contains("No longer excepted: 11 required") && text.contains("Nothing that is required got worse"));
    let (text, status) = run(&["change", &excepted, NEW]);
    assert_eq!(status, Some(1), "{text}");
    assert!(text.contains("Worse: 9 required") && text.contains("Newly not shown: 2 required"), "{text}");
    let (help, _) = run(&["change", "--help"]);
    assert!(in_one_line(&help).contains("on an estimate or excepted in writing that was not"), "{help}");
}

#[test]
fn why_a_finding_is_not_shown_any_more_stands_under_it() {
    let note = |csv: &str| {
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(csv.as_bytes());
        let header = reader.headers().unwrap().clone();
        let at = |name: &str| header.iter().position(|known| known == name).unwrap();
        let (how, id, unit, note) = (at("how"), at("id"), at("unit"), at("note"));
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        // A unit that is no unit is not written.
        let words = rows.iter().filter(|row| row.get(unit) == Some("words")).count();
        assert_eq!(words, 0);
        let row = rows.iter().find(|row| row.get(how) == Some("newly-not-shown")).unwrap();
        (row[id].to_owned(), row[note].to_owned())
    };
    let (id, note) = note(&run(&["change", OLD, NEW, "--format", "csv"]).0);
    let (package, rulesets) = load_file(&root().join(NEW), &[]);
    let judged = judge(&Conduct::new(&package), &rulesets, terms());
    let finding = judged.findings.iter().find(|finding| finding.id == id).unwrap();
    assert_eq!(Some(&note), finding.notes.first());
    assert!(!note.is_empty());
    let (text, _) = run(&["change", OLD, NEW]);
    assert!(in_one_line(&text).contains(&format!("note: {}", in_one_line(&note))), "{text}");
    let dir = tempfile::tempdir().unwrap();
    let page = dir.path().join("change.html");
    run(&["change", OLD, NEW, "-o", page.to_str().unwrap()]);
    let html = std::fs::read_to_string(page).unwrap();
    let start: String = note.chars().take_while(|c| c.is_alphanumeric() || *c == ' ').collect();
    assert!(html.contains(&format!("note: {start}")), "{start}");
}

/// Another list of rulesets is a change of what is asked for, whatever both are judged by.
#[test]
fn other_rulesets_are_named_among_what_was_changed() {
    let (_dir, other) = file(&text_of(OLD).replace("\"headlamp-flashing\", ", ""));
    for more in [&[][..], &["--rules", "zones-two-level"]] {
        let (text, status) = run(&[&["change", OLD, &other][..], more].concat());
        assert_eq!(status, Some(0), "{text}");
        let changed = text.split("What was changed").nth(1).unwrap().split("Result").next().unwrap();
        let said = in_one_line(changed);
        assert!(said.contains("what is asked for: `new` does not ask for headlamp-flashing"), "{text}");
        assert!(said.contains("judged by the same rulesets here, so this moves nothing"), "{text}");
        assert!(!text.contains("Nothing that the packages say"), "{text}");
    }
}

/// One input more that nothing asks for leaves the other changes told apart; an input whose positions differ does not, and
/// that is said before anything is read.
#[test]
fn an_input_more_hides_no_cause() {
    let tilt = text_of(NEW);
    let at = tilt.find("\n[inputs]").unwrap();
    let line = at + 1 + tilt[at + 1..].find('\n').unwrap() + 1;
    // The changes of the demo with one input more, before the others.
    let (before, after) = tilt.split_at(line);
    for input in ["spare = \"bool\"", "spare = [\"off\", \"one\", \"two\"]"] {
        let (_dir, new) = file(&format!("{before}{input}\n{after}"));
        for (one, other, what) in [(OLD, new.as_str(), "new:"), (new.as_str(), OLD, "gone;")] {
            let (text, _) = run(&["change", one, other]);
            let said = in_one_line(&text);
            assert!(said.contains(&format!("input spare: {what}")), "{text}");
            assert!(!said.contains("moved what is NOT told"), "{text}");
            let lines = said.matches(" alone ").count();
            assert!(lines >= 11, "{lines}: {text}");
            assert!(said.contains("The words behind a change: `alone`: this change and no other"), "{text}");
        }
    }
    let (_dir, new) = file(&tilt.replace("warning = [\"off\", ", "warning = [\"off\", \"middle\", "));
    let (text, _) = run(&["change", OLD, &new]);
    let top = in_one_line(text.split("\nWorse:").next().unwrap());
    assert!(top.contains("Which change moved what is NOT told: an input of both has other positions"), "{text}");
}

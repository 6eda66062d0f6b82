//! `wayproof bid check`: what cannot be tested, what contradicts, what no device of a catalogue meets. Against planted
//! faults in a demo, one change at a time of a clean draft with lamps whose figures are worked out by hand, and laws.

mod common;

use std::collections::BTreeSet;
use std::path::PathBuf;

use assert_cmd::Command;
use common::root;
use proptest::prelude::*;
use wayproof::bid::{Bid, Cause, Devices, Fault, Wishes, contradictions, feasible, lint, read_draft, to_toml, unclear};
use wayproof::diagnostic::{Diagnostic, Log, Sources, render};
use wayproof::package::{Model, SounderModel, read_models};
use wayproof::ruleset::{Demand, Loader, shipped::SHIPPED};
use wayproof::schema::find;

fn read(text: &str) -> Result<Bid, Vec<Diagnostic>> {
    let (sources, log) = (Sources::default(), Log::default());
    let bid = read_draft("draft.toml", text.as_bytes(), &sources, &log);
    if log.has_errors() { Err(log.take()) } else { Ok(bid.unwrap()) }
}

fn catalogue(files: &[&str]) -> (Vec<Model>, Vec<SounderModel>) {
    let (sources, log) = (Sources::default(), Log::default());
    let files: Vec<PathBuf> = files.iter().map(|file| root().join(file)).collect();
    let found = read_models(&files, &sources, &log);
    assert!(!log.has_errors(), "{}", render(&log.take(), &sources, false));
    found
}

fn all_faults(bid: &Bid, (models, sounders): &(Vec<Model>, Vec<SounderModel>)) -> Vec<Fault> {
    let mut faults = contradictions(bid);
    faults.extend(feasible(bid, Devices { models, sounders }).faults);
    faults.extend(lint(bid, models, sounders));
    faults
}

fn sorted(mut ids: Vec<String>) -> Vec<String> {
    ids.sort();
    ids
}

const CATALOGUES: [&str; 3] = [
    "demo-data/catalogue/edge-lamps.toml",
    "demo-data/catalogue/perimeter-lamps.toml",
    "demo-data/catalogue/sounders.toml",
];

#[test]
fn the_demo_has_exactly_the_faults_that_were_planted() {
    let text = std::fs::read_to_string(root().join("demo-data/bid-rescue/draft.toml")).unwrap();
    let found = all_faults(&read(&text).unwrap(), &catalogue(&CATALOGUES));
    let word = |cause: Cause| match cause {
        Cause::CannotBeMet => "cannot-be-met",
        Cause::CannotBeTested => "cannot-be-tested",
        Cause::Advice => "to-be-looked-up",
    };
    let found = sorted(found.iter().map(|fault| format!("{},{}", fault.id(), word(fault.cause))).collect());
    let mut reader = csv::Reader::from_path(root().join("demo-data/bid-rescue/expected.csv")).unwrap();
    let expected = reader.records().map(Result::unwrap).map(|row| format!("{},{}", &row[0], &row[1]));
    assert_eq!(found, sorted(expected.collect()));
}

#[derive(serde::Deserialize)]
struct Cases {
    case: Vec<Case>,
    refused: Vec<Refused>,
}

#[derive(serde::Deserialize)]
struct Case {
    old: String,
    new: String,
    faults: Vec<String>,
}

#[derive(serde::Deserialize)]
struct Refused {
    old: String,
    new: String,
    code: String,
}

fn clean() -> (String, Cases) {
    let file = |name: &str| std::fs::read_to_string(root().join("tests/bid").join(name)).unwrap();
    (file("clean.toml"), toml::from_str(&file("cases.toml")).unwrap())
}

#[test]
fn one_change_makes_its_own_faults_and_no_other() {
    let (text, cases) = clean();
    let devices = catalogue(&["tests/bid/lamps.toml"]);
    let ids = |bid: &Bid| sorted(all_faults(bid, &devices).iter().map(Fault::id).collect());
    assert_eq!(ids(&read(&text).unwrap()), [""; 0]);
    assert!(cases.case.len() > 50);
    let mut wrong = Vec::new();
    for Case { old, new, faults } in cases.case {
        assert_eq!(text.matches(&old).count(), 1, "`{old}` stands there once");
        let changed = text.replace(&old, &new);
        let bid = read(&changed).unwrap_or_else(|said| panic!("`{new}`: {said:?}"));
        let found = ids(&bid);
        if found != sorted(faults.clone()) {
            wrong.push(format!("`{old}` to `{new}`: found {found:?}, expected {faults:?}"));
        }
        // A draft with faults is printed and read like any other.
        assert_eq!(read(&to_toml(&bid, "")).unwrap(), bid, "{new}");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_reader_and_the_schema_refuse_the_same_mistakes() {
    let (text, cases) = clean();
    let schema: serde_json::Value = serde_json::from_str(find("bid").unwrap().text).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let json = |text: &str| serde_json::to_value(toml::from_str::<toml::Value>(text).unwrap()).unwrap();
    assert!(validator.is_valid(&json(&text)));
    assert!(cases.refused.len() >= 15);
    for Refused { old, new, code } in cases.refused {
        assert_eq!(text.matches(&old).count(), 1, "`{old}` stands there once");
        let changed = text.replace(&old, &new);
        let said = read(&changed).expect_err(&new);
        assert!(said.iter().any(|said| said.code == code), "`{new}`: {said:?}");
        assert!(said.iter().all(|said| !said.labels.is_empty()), "`{new}` has a place");
        assert!(!validator.is_valid(&json(&changed)), "the schema takes `{new}`");
    }
    // What `bid` writes fits too.
    for (name, _) in SHIPPED {
        let (sources, log) = (Sources::default(), Log::default());
        let mut loader = Loader::new(&sources, &log, Vec::new());
        loader.add_anywhere(name);
        let bid = Bid::of(&loader.rulesets, None, &Wishes { purposes: &[], advice: true, cautions: true });
        let mistakes: Vec<String> = validator
            .iter_errors(&json(&to_toml(&bid, "")))
            .map(|error| format!("{}: {error}", error.instance_path()))
            .collect();
        assert_eq!(mistakes, [""; 0], "{name}");
    }
}

/// What `bid` writes lacks nothing but the limits that the ruleset itself lacks, and contradicts itself nowhere.
#[test]
fn a_draft_as_written_lacks_what_its_rulesets_lack() {
    let mut missing = 0;
    for (name, _) in SHIPPED {
        let (sources, log) = (Sources::default(), Log::default());
        let mut loader = Loader::new(&sources, &log, Vec::new());
        loader.add_anywhere(name);
        let rulesets = loader.rulesets;
        let bid = Bid::of(&rulesets, None, &Wishes { purposes: &[], advice: true, cautions: true });
        let bid = read(&to_toml(&bid, "")).unwrap();
        assert_eq!(contradictions(&bid), [], "{name}");
        let found = lint(&bid, &[], &[]);
        let codes: BTreeSet<&str> = found.iter().map(|fault| fault.code).collect();
        assert!(codes.is_subset(&BTreeSet::from(["limit-missing", "from-memory"])), "{name}: {found:?}");
        let lacks = rulesets[0].rules.iter().flat_map(|rule| &rule.limits);
        let lacks = lacks.filter(|limit| matches!(limit.demand, Demand::Missing { .. })).count();
        assert_eq!(found.iter().filter(|fault| fault.code == "limit-missing").count(), lacks, "{name}");
        missing += lacks;
    }
    assert!(missing > 20, "{missing}");
}

#[test]
fn every_unclear_word_has_a_reason_is_found_once_and_in_no_other_word() {
    let (text, _) = clean();
    let mut known = BTreeSet::new();
    for unclear in unclear() {
        assert!(known.insert(unclear.words), "`{}` stands twice", unclear.words);
        assert!(unclear.why.len() > 10 && unclear.instead.len() > 10, "{}", unclear.words);
        assert_eq!(unclear.words, unclear.words.to_lowercase());
        let said = |says: &str| {
            let changed = text
                .replace("Each switch has a label.", says)
                .replace("equals = \"by the same figures and papers\"\n", "");
            let found = lint(&read(&changed).unwrap(), &[], &[]);
            found.iter().filter(|fault| fault.id() == "unclear-word@labels").count()
        };
        let shout = unclear.words.to_uppercase();
        assert!(said(&format!("Labels: {shout}, and so forth.")) > 0, "{}", unclear.words);
        assert_eq!(said(&format!("Labels x{}y.", unclear.words.replace(' ', "z"))), 0, "{}", unclear.words);
    }
}

/// A clause on one quantity, with one limit.
fn clause(id: &str, quantity: &str, unit: &str, require: &str, scope: &str, limit: &str) -> String {
    let comma = if scope.is_empty() { "" } else { ", " };
    format!(
        "[[clause]]\nid = \"{id}\"\nsays = \"x\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\nrequire = \"{require}\"\n\
         layout = \"set\"\nlimits = [{{ {scope}{comma}{limit} }}]\n"
    )
}

const HEAD: &str = "format = 1\n[bid]\n[[layout]]\nid = \"set\"\n\
                    zones = { A = [\"-45 deg\", \"45 deg\"], front = [\"315 deg\", \"405 deg\"], C = [\"135 deg\", \"225 deg\"] }\n";

fn of(clauses: &[String]) -> Bid {
    read(&format!("{HEAD}{}", clauses.concat())).unwrap_or_else(|said| panic!("{said:?}"))
}

fn pairs(bid: &Bid) -> BTreeSet<String> {
    contradictions(bid).iter().map(Fault::id).collect()
}

/// A comparison with a figure of halves from 0 to 10.
fn numbers() -> impl Strategy<Value = (String, String)> {
    let single = (prop::sample::select(vec!["at-least", "at-most", "exactly"]), 0..20_i32)
        .prop_map(|(require, half)| (require.to_owned(), format!("value = {}", f64::from(half) / 2.0)));
    let range =
        (prop::sample::select(vec!["between", "outside"]), 0..20_i32, 0..20_i32).prop_map(|(require, one, other)| {
            let (from, to) = (f64::from(one.min(other)) / 2.0, f64::from(one.max(other)) / 2.0);
            (require.to_owned(), format!("from = {from}, to = {to}"))
        });
    prop_oneof![single, range]
}

fn allows(require: &str, limit: &str, value: f64) -> bool {
    let number = |key: &str| {
        limit.split(&format!("{key} = ")).nth(1).map(|rest| rest.split(',').next().unwrap().parse::<f64>().unwrap())
    };
    match (require, number("value"), number("from"), number("to")) {
        ("at-least", Some(least), ..) => value >= least,
        ("at-most", Some(most), ..) => value <= most,
        ("exactly", Some(exact), ..) => value == exact,
        ("between", _, Some(from), Some(to)) => (from..=to).contains(&value),
        ("outside", _, Some(from), Some(to)) => value < from || value > to,
        other => panic!("{other:?}"),
    }
}

fn any_clause() -> impl Strategy<Value = String> {
    let scope = prop::sample::select(vec![
        "purpose = \"calling\"",
        "purpose = \"blocking\"",
        "purpose = \"blocking\", zone = \"A\"",
        "purpose = \"blocking\", zone = \"front\"",
        "purpose = \"calling\", zone = \"C\"",
        "zone = \"C\"",
        "colour = \"red\"",
        "",
    ]);
    let quantity = prop::sample::select(vec!["flash-rate", "device-flash-rate", "flash-sum-at-point"]);
    let rates = (quantity, numbers(), scope.clone())
        .prop_map(|(quantity, (require, limit), scope)| (quantity, "/min", require, scope, limit));
    let words = prop::sample::subsequence(vec!["red", "blue", "white"], 1..3);
    let shown = prop::sample::select(vec!["colours-shown", "warning-colours-lit", "colours-shown-in-any-mode"]);
    let require = prop::sample::select(vec!["only", "none-of", "some-of", "exactly"]);
    let colours = (shown, require, words, scope).prop_map(|(quantity, require, words, scope)| {
        (quantity, "colours", require.to_owned(), scope, format!("value = {words:?}"))
    });
    prop_oneof![rates, colours]
        .prop_map(|(quantity, unit, require, scope, limit)| clause("ID", quantity, unit, &require, scope, &limit))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Two demands on one thing contradict if and only if no value of a fine grid meets both. Ends are halves, so a grid of
    /// quarters holds a value of every stretch between them.
    #[test]
    fn a_contradiction_is_one_on_a_grid_of_values(one in numbers(), other in numbers()) {
        let bid = of(&[
            clause("one", "device-flash-rate", "/min", &one.0, "", &one.1),
            clause("other", "flash-rate", "/min", &other.0, "purpose = \"calling\"", &other.1),
        ]);
        let grid = (-8..60).map(|quarter| f64::from(quarter) / 4.0);
        let met = grid.into_iter().any(|value| allows(&one.0, &one.1, value) && allows(&other.0, &other.1, value));
        prop_assert_eq!(pairs(&bid).is_empty(), met);
    }

    /// Which of two stands first changes nothing, and a clause more takes no contradiction away.
    #[test]
    fn contradiction_is_symmetric_and_grows(clauses in prop::collection::vec(any_clause(), 2..6)) {
        let named: Vec<String> = clauses.iter().enumerate().map(|(at, text)| text.replace("ID", &format!("c{at}"))).collect();
        let turned: Vec<String> = named.iter().rev().cloned().collect();
        let all = pairs(&of(&named));
        prop_assert_eq!(&all, &pairs(&of(&turned)));
        let (_, fewer) = named.split_last().unwrap();
        prop_assert!(pairs(&of(fewer)).is_subset(&all));
        for fault in &all {
            let (one, other) = fault.trim_start_matches("contradiction@").split_once('+').unwrap();
            prop_assert!(one.split('/').next() != other.split('/').next());
        }
    }

    /// Zones are one by their bearings, not by their names; other uses, other sides and other colours do not meet.
    #[test]
    fn only_demands_on_one_place_contradict(zone in prop::sample::select(vec!["A", "front", "C"]), purpose in prop::sample::select(vec!["calling", "blocking"])) {
        let scope = format!("purpose = \"{purpose}\", zone = \"{zone}\"");
        let bid = of(&[
            clause("one", "flash-sum-at-point", "/min", "at-least", "purpose = \"calling\", zone = \"A\"", "value = 150"),
            clause("other", "flash-sum-at-point", "/min", "at-most", &scope, "value = 100"),
        ]);
        prop_assert_eq!(pairs(&bid).len(), usize::from(purpose == "calling" && zone != "C"));
    }
}

fn demo_devices() -> &'static (Vec<Model>, Vec<SounderModel>) {
    static DEVICES: std::sync::OnceLock<(Vec<Model>, Vec<SounderModel>)> = std::sync::OnceLock::new();
    DEVICES.get_or_init(|| catalogue(&CATALOGUES))
}

#[test]
fn the_exit_status_says_what_the_draft_needs() {
    let dir = tempfile::tempdir().unwrap();
    let (text, _) = clean();
    let run = |text: &str, more: &[&str]| {
        let file = dir.path().join("draft.toml");
        std::fs::write(&file, text).unwrap();
        let mut command = Command::cargo_bin("wayproof").unwrap();
        let output = command
            .current_dir(root())
            .env("COLUMNS", "100")
            .args(["bid", "check"])
            .arg(&file)
            .args(more)
            .output()
            .unwrap();
        let said = |bytes| String::from_utf8(bytes).unwrap();
        (output.status.code().unwrap(), said(output.stdout), said(output.stderr))
    };
    let lamps = ["--catalogue", "tests/bid/lamps.toml"];
    assert_eq!(run(&text, &lamps).0, 0);
    let (status, out, _) = run(&text.replace("basis = \"practice\"", "basis = \"memory\""), &lamps);
    assert_eq!(status, 3, "what is to be looked up is no draft to sign");
    assert!(out.contains("To be looked up before anybody signs"), "{out}");
    let help = Command::cargo_bin("wayproof").unwrap().args(["bid", "check", "--help"]).output().unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    assert!(help.contains("looked up or said before anybody signs"), "{help}");
    assert_eq!(run(&text.replace("unit = \"cd\"\n", ""), &lamps).0, 3);
    assert_eq!(run(&text.replace("value = 900_000", "value = 1e9").replace("unit = \"cd\"\n", ""), &lamps).0, 1);
    let (status, out, _) = run(&text.replace("value = 900_000", "value = 1e9"), &[]);
    assert_eq!(status, 0);
    assert!(out.contains("it was not asked whether any device can meet this"), "{out}");
    let (status, out, said) = run(&text.replace("\"between\"", "\"betwen\""), &lamps);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(said.contains("did you mean `between`?") && said.contains("draft.toml:"), "{said}");
    let (status, out, _) = run(&text.replace("unit = \"cd\"\n", ""), &lamps);
    let line = text.lines().position(|line| line == "id = \"set:intensity\"").unwrap() + 1;
    assert_eq!(status, 3);
    assert!(out.contains(&format!("no-unit@set:intensity (line {line})")), "{out}");
    let demo = Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .env("COLUMNS", "100")
        .args(["bid", "check", "demo-data/bid-rescue/draft.toml"])
        .args(CATALOGUES.iter().flat_map(|file| ["--catalogue", *file]))
        .output()
        .unwrap();
    assert_eq!(demo.status.code(), Some(1));
    insta::assert_snapshot!("bid_check_demo", String::from_utf8(demo.stdout).unwrap());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Whatever stands in a file, it is answered: read, or refused with what is wrong.
    #[test]
    fn any_text_is_answered(noise in prop::collection::vec(any::<u8>(), 0..200), at in 0..8_000_usize, cut in 0..60_usize, piece in prop::sample::select(vec!["\"", "[", "]", "= ", "{", "}", "\n", "[[clause]]", "limits", "1e999", "-", "zone", "\u{fffd}"])) {
        let (sources, log) = (Sources::default(), Log::default());
        let read = read_draft("noise", &noise, &sources, &log);
        prop_assert!(read.is_some() || log.has_errors());
        let mut text = clean().0;
        let at = (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap();
        let end = (at + cut).min(text.len());
        text.replace_range(at..end, piece);
        let (sources, log) = (Sources::default(), Log::default());
        match read_draft("changed", text.as_bytes(), &sources, &log) {
            Some(bid) if !log.has_errors() => {
                let (models, sounders) = demo_devices();
                let faults = contradictions(&bid).len() + feasible(&bid, Devices { models, sounders }).faults.len();
                prop_assert!(faults + lint(&bid, models, sounders).len() < 500);
            }
            _ => prop_assert!(log.has_errors(), "{}", text),
        }
    }
}

/// A draft of any size is answered at once: what is more than anybody reads is refused.
#[test]
fn a_draft_without_end_is_refused() {
    let rows = "{ purpose = \"calling\", value = 1 }, ".repeat(4_001);
    let long = format!(
        "{HEAD}{}",
        clause("long", "flash-rate", "/min", "at-least", "", "value = 1").replace("{ value = 1 }", &rows)
    );
    assert!(read(&long).unwrap_err().iter().any(|said| said.code == "too-many"));
    let many: Vec<String> = (0..1_000)
        .map(|at| clause(&format!("c{at}"), "device-flash-rate", "/min", "exactly", "", &format!("value = {at}")))
        .collect();
    let start = common::thread_time();
    assert_eq!(contradictions(&of(&many)).len(), 1_000, "no more are told");
    assert!(common::thread_time() - start < std::time::Duration::from_secs(20));
}

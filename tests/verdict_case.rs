//! What the judge makes of a value, one convention each: bounds, readings, modes, levels, exceptions, overlays. The
//! values are those of tests/worked_case.rs: a constant 100 cd lamp at half duty gives 57,000 cd.s/min in zone A.

mod common;

use common::case::*;
use common::{finding, folder, load_file, terms, verdict};
use wayproof::judge::{Verdict, judge};
use wayproof::measure::Conduct;

/// Both readings where the convention is unknown: 57,000 meets the limit, 54,000 does not, so nothing is shown; the
/// less favourable is found, and the other stands in the note.
#[test]
fn unknown_boundary_points_show_nothing_where_the_readings_differ() {
    let judged = run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &ruleset("unknown", TOTAL));
    let found = finding(&judged, "case:total@calling/A");
    assert_eq!(found.verdict, Verdict::NotShown);
    same(number(&judged, "case:total@calling/A"), 54_000.0);
    assert!(found.notes.iter().any(|note| note.contains("in both sectors: 57,000 (pass)")), "{:?}", found.notes);
}

/// A limit nobody knows is never a pass, and what a person will hold against the document is the lesser reading:
/// 54,000, not 57,000; and of two modes the weaker.
#[test]
fn a_missing_limit_is_not_shown_and_the_lesser_reading_is_found() {
    let missing = "A = { missing = \"the page is torn\", see = \"clause 7\" }";
    let rules = ruleset("unknown", &TOTAL.replace("A = 57000", missing));
    let judged = run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &rules);
    let found = finding(&judged, "case:total@calling/A");
    assert_eq!((found.verdict, found.margin), (Verdict::NotShown, None));
    same(number(&judged, "case:total@calling/A"), 54_000.0);
    assert!(found.would_show.as_deref().is_some_and(|text| text.contains("clause 7")), "{:?}", found.would_show);
    let more = "[[display]]\nid = \"dim\"\nshow = [{ head = \"a\", colour = \"red\", pattern = \"quarter\" }]\n\
                [[pattern]]\nid = \"quarter\"\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"200 ms\"]]\n\
                [[mode]]\nid = \"day\"\npurpose = \"calling\"\ndisplays = [\"all\"]\n\
                [[mode]]\nid = \"night\"\npurpose = \"calling\"\ndisplays = [\"dim\"]\n";
    let judged = run(&package(&head("a", "lamp", "front", ""), &show("a"), more), &rules);
    assert_eq!(finding(&judged, "case:total@calling/A").scope.mode.as_deref(), Some("night"));
    same(number(&judged, "case:total@calling/A"), 27_000.0);
}

/// Without limits from memory nothing is judged by one, and other limits are judged as before.
#[test]
fn limits_from_memory_can_be_left_out() {
    let memory = LEAST.replace("cite = { own = \"a case\" }", "cite = { own = \"a case\", basis = \"memory\" }");
    let rules = ruleset("both", &format!("{TOTAL}{memory}"));
    let text = package(&head("a", "lamp", "front", ""), &show("a"), "");
    let beams = beams();
    let (_dir, path) = folder(&files(&text, &rules, &beams));
    let (package, rulesets) = load_file(&path, &[]);
    let with = judge(&Conduct::new(&package), &rulesets, terms());
    assert_eq!(verdict(&with, "case:least@calling/A"), Verdict::Pass);
    assert_eq!((with.summary.required.on_memory, with.summary.status().code()), (1, 0));
    let without = judge(&Conduct::new(&package), &rulesets, wayproof::judge::Terms { without_memory: true, ..terms() });
    assert_eq!(verdict(&without, "case:least@calling/A"), Verdict::NotShown);
    same(number(&without, "case:least@calling/A"), 3_000.0);
    assert_eq!(verdict(&without, "case:total@calling/A"), Verdict::Pass);
    assert_eq!(without.summary.status().code(), 3);
}

/// `at-most` on a lower bound: exceeded by what is known it fails, otherwise it is not shown.
#[test]
fn at_most_on_a_lower_bound() {
    let rule = |limit: &str| ruleset("both", &TOTAL.replace("at-least", "at-most").replace("57000", limit));
    let heads = format!("{}{}", head("a", "narrow", "front", "tilt = \"30 deg\""), head("b", "lamp", "front", ""));
    let package = package(&heads, &format!("{}{}", show("a"), show("b")), "");
    assert_eq!(verdict(&run(&package, &rule("56999")), "case:total@calling/A"), Verdict::Fail);
    assert_eq!(verdict(&run(&package, &rule("57001")), "case:total@calling/A"), Verdict::NotShown);
}

/// A declared figure is an estimate: it may pass, and the status still is 3.
#[test]
fn an_estimate_never_gives_status_0() {
    let rules = ruleset("both", &LEAST.replace("1000", "100"));
    let judged = run(&package(&head("a", "guess", "front", ""), &show("a"), ""), &rules);
    assert_eq!(verdict(&judged, "case:least@calling/A"), Verdict::Pass);
    assert_eq!(judged.summary.required.on_estimate, 1);
    assert_eq!(judged.summary.status().code(), 3);
    // At 45 degrees, I = 100 cos(45)^m with m = ln 0.5 / ln cos 60 = 1: 70.71 cd, times 30.
    same(number(&judged, "case:least@calling/A"), 100.0 * std::f64::consts::FRAC_1_SQRT_2 * 30.0);
}

/// U of one head is 10 % of 57,000 = 5,700; two heads under one report add up to 11,400.
#[test]
fn the_guarded_decision() {
    let limit = |limit: &str| ruleset("both", &TOTAL.replace("57000", limit));
    let guarded = "[decision]\nrule = \"guarded\"\n";
    let one = package(&head("a", "lamp", "front", ""), &show("a"), guarded);
    assert_eq!(verdict(&run(&one, &limit("51301")), "case:total@calling/A"), Verdict::TooClose);
    assert_eq!(verdict(&run(&one, &limit("51299")), "case:total@calling/A"), Verdict::Pass);
    assert_eq!(verdict(&run(&one, &limit("62699")), "case:total@calling/A"), Verdict::TooClose);
    assert_eq!(verdict(&run(&one, &limit("62701")), "case:total@calling/A"), Verdict::Fail);
    let heads = format!("{}{}", head("a", "lamp", "front", ""), head("b", "lamp", "front", ""));
    let two = package(&heads, &format!("{}{}", show("a"), show("b")), guarded);
    assert_eq!(verdict(&run(&two, &limit("102601")), "case:total@calling/A"), Verdict::TooClose);
    assert_eq!(verdict(&run(&two, &limit("102599")), "case:total@calling/A"), Verdict::Pass);
    // The amber emitter states no uncertainty: then nothing is decided.
    let amber = "{ head = \"a\", colour = \"amber\", pattern = \"half\" }";
    let none = package(&head("a", "lamp", "front", ""), amber, guarded);
    assert_eq!(verdict(&run(&none, &limit("1")), "case:total@calling/A"), Verdict::NotShown);
}

/// An exception holds between its dates, and only for what does not pass.
#[test]
fn exceptions_hold_between_their_dates() {
    let rules = ruleset("both", &TOTAL.replace("57000", "99999"));
    let exception = |finding: &str, until: &str| {
        format!(
            "[[exception]]\nfinding = \"{finding}\"\naccepted-by = \"the buyer\"\nreference = \"letter 1\"\non = 2026-01-01\nuntil = {until}\nreason = \"why\"\n"
        )
    };
    let judged = |more: &str| run(&package(&head("a", "lamp", "front", ""), &show("a"), more), &rules);
    let held = judged(&exception("case:total@calling/A", "2027-01-01"));
    assert_eq!(verdict(&held, "case:total@calling/A"), Verdict::Excepted);
    assert_eq!(held.summary.status().code(), 0);
    let ended = judged(&exception("case:total@calling/A", "2026-02-01"));
    assert_eq!(verdict(&ended, "case:total@calling/A"), Verdict::Fail);
    let idle = judged(&exception("case:total@calling/B", "2027-01-01"));
    assert_eq!(idle.idle_exceptions, vec![0]);
}

/// A level is the key, else the band; on none, a head counts nowhere and the height rule fails.
#[test]
fn levels_by_key_by_height_and_below_every_band() {
    let height = r#"
[[rule]]
id = "height"
says = "a case"
quantity = "optical-centre-height"
unit = "in"
require = "between"
cite = { own = "a case" }
limits = [{ level = "lower", from = 18, to = 62 }]
"#;
    let total = TOTAL.replace("purpose = \"calling\",", "purpose = \"calling\", level = \"lower\",");
    let rules = ruleset("both", &format!("{total}{height}"));
    let at = |inches: &str, more: &str| {
        let head = head("a", "lamp", "front", more).replace("height = \"1 m\"", &format!("height = \"{inches} in\""));
        run(&package(&head, &show("a"), ""), &rules)
    };
    let on_limit = at("62", "");
    assert_eq!(verdict(&on_limit, "case:height@lower/a"), Verdict::Pass);
    same(number(&on_limit, "case:total@calling/lower/A"), 57_000.0);
    let keyed = at("63", "level = \"lower\"");
    assert_eq!(verdict(&keyed, "case:height@lower/a"), Verdict::Fail);
    same(number(&keyed, "case:total@calling/lower/A"), 57_000.0);
    let below = at("17", "");
    assert_eq!(verdict(&below, "case:height@a"), Verdict::Fail);
    same(number(&below, "case:total@calling/lower/A"), 0.0);
}

/// Two modes serve the purpose: the worst is reported by name. A later display takes a head, and the tool says so.
#[test]
fn the_worst_mode_and_the_later_display() {
    let rules = ruleset("both", TOTAL);
    let more = "[[display]]\nid = \"dim\"\nshow = [{ head = \"a\", colour = \"red\", pattern = \"quarter\" }]\n\
                [[pattern]]\nid = \"quarter\"\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"200 ms\"]]\n\
                [[mode]]\nid = \"day\"\npurpose = \"calling\"\ndisplays = [\"all\"]\n\
                [[mode]]\nid = \"night\"\npurpose = \"calling\"\ndisplays = [\"dim\", \"all\"]\n";
    let text = package(&head("a", "lamp", "front", ""), &show("a"), more);
    let judged = run(&text, &rules);
    let found = finding(&judged, "case:total@calling/A");
    assert_eq!(found.scope.mode.as_deref(), Some("night"), "the later display in the file wins: a quarter, not half");
    same(number(&judged, "case:total@calling/A"), 28_500.0);
    let beams = beams();
    let (_dir, path) = folder(&files(&text, &rules, &beams));
    let (package, _) = load_file(&path, &[]);
    let conduct = Conduct::new(&package);
    let [taken] = &conduct.overrides[..] else { panic!("{:?}", conduct.overrides) };
    assert_eq!((conduct.display(taken.winner), conduct.display(taken.loser), taken.head), ("dim", "all", 0));
    assert_eq!(taken.region, conduct.modes[1], "at night, and in no other mode");
}

/// A purpose that no mode serves is not shown, and the wrong ruleset is one finding that fails.
#[test]
fn purposes_without_a_mode_and_rulesets_that_do_not_fit() {
    let rules = ruleset("both", &TOTAL.replace("calling", "blocking"));
    let judged = run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &rules);
    assert_eq!(verdict(&judged, "case:total@blocking/A"), Verdict::NotShown);
    let applies = "[applies]\nwhen = \"vehicle.length >= 25 ft\"\ncite = { own = \"a case\" }\n";
    let judged =
        run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &ruleset("both", &format!("{TOTAL}{applies}")));
    assert_eq!(verdict(&judged, "case:applies@vehicle"), Verdict::Fail);
    assert_eq!(verdict(&judged, "case:total@calling/A"), Verdict::NotApplicable);
    assert_eq!(judged.summary.status().code(), 1);
}

/// An overlay changes a limit by name and says by whose authority; the finding keeps its id.
#[test]
fn an_overlay_speaks_by_authority() {
    let overlay = r#"
format = 1
[overlay]
id = "county"
title = "a county"
edition = "1"
extends = "case.toml"
authority = "a county (invented)"
reference = "rule 7"
[[change]]
rule = "total"
cite = { own = "because" }
limits = [{ purpose = "calling", zones = { A = 57001, C = 1 } }]
"#;
    let rules = ruleset("both", TOTAL);
    let text = package(&head("a", "lamp", "front", ""), &show("a"), "");
    let beams = beams();
    let mut all = files(&text, &rules, &beams);
    all.push(("county.toml", overlay));
    let (dir, path) = folder(&all);
    let county = dir.path().join("county.toml");
    let (package, rulesets) = load_file(&path, &[county.to_str().unwrap()]);
    let judged = judge(&Conduct::new(&package), &rulesets, terms());
    let found = finding(&judged, "case:total@calling/A");
    assert_eq!(found.verdict, Verdict::Fail);
    assert_eq!(found.source.authority.as_deref(), Some("a county (invented), rule 7"));
    assert_eq!(verdict(&judged, "case:total@calling/C"), Verdict::Fail, "an added limit is judged too");
    assert_eq!(rulesets[0].overlays[0].id, "county");
}

/// A figure of a thousand and more is printed whole only where it then still lies on its side of the limit: 57,000.4
/// of at most 57,000.3 is not `57,000`.
#[test]
fn a_failing_figure_is_never_printed_as_if_it_passed() {
    let rules = ruleset("both", &TOTAL.replace("at-least", "at-most").replace("57000", "57000.3"));
    let text = package(&head("a", "lamp", "front", ""), &show("a"), "");
    let mut beams = beams();
    beams[0] = flat("100.0007");
    let (_dir, path) = folder(&files(&text, &rules, &beams));
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .args(["check", "--only", "fail"])
        .arg(&path)
        .output()
        .unwrap();
    let shown = String::from_utf8(output.stdout).unwrap();
    assert!(shown.contains("FAIL") && shown.contains("<= 57,000.3"), "{shown}");
    assert!(shown.contains("57,000.4"), "{shown}");
}

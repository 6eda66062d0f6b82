//! What a rule on sounders may say, and what is said where it finds nothing: keys that would be ignored are refused, rows
//! of a class speak of that class alone, and a tone, a reverse gear or a shift that is not there is never a pass.
//!
//! No level is checked here (tests/sounders.rs does that); levels are round figures that only have to lie on one side of a limit.

mod common;

use common::sound::{found, rule, yard};
use common::{folder, judge_files};
use wayproof::diagnostic::{Log, Sources};
use wayproof::judge::{Judged, Verdict};
use wayproof::ruleset::Loader;

/// A speaker of each of two classes, and an alarm.
const CATALOGUE: &str = r#"
format = 1
[[model]]
id = "loud"
sounder = "siren-speaker"
classes = { yard = "A" }
[[model.sound]]
tone = "wail"
distance = "3 m"
levels = [["0 deg", "120 dB(A)"], ["30 deg", "120 dB(A)"], ["60 deg", "120 dB(A)"], ["90 deg", "120 dB(A)"], ["120 deg", "120 dB(A)"], ["150 deg", "120 dB(A)"], ["180 deg", "120 dB(A)"]]
symmetric = true
[[model.sound]]
tone = "yelp"
distance = "3 m"
levels = [["0 deg", "118 dB(A)"], ["30 deg", "118 dB(A)"], ["60 deg", "118 dB(A)"], ["90 deg", "118 dB(A)"], ["120 deg", "118 dB(A)"], ["150 deg", "118 dB(A)"], ["180 deg", "118 dB(A)"]]
symmetric = true
[[model]]
id = "soft"
sounder = "siren-speaker"
classes = { yard = "B" }
[[model.sound]]
tone = "wail"
distance = "3 m"
levels = [["0 deg", "90 dB(A)"], ["30 deg", "90 dB(A)"], ["60 deg", "90 dB(A)"], ["90 deg", "90 dB(A)"], ["120 deg", "90 dB(A)"], ["150 deg", "90 dB(A)"], ["180 deg", "90 dB(A)"]]
symmetric = true
[[model]]
id = "alarm"
sounder = "back-up-alarm"
[[model.sound]]
tone = "alarm"
distance = "1 m"
levels = [["0 deg", "97 dB(A)"], ["30 deg", "97 dB(A)"], ["60 deg", "97 dB(A)"], ["90 deg", "97 dB(A)"], ["120 deg", "97 dB(A)"], ["150 deg", "97 dB(A)"], ["180 deg", "97 dB(A)"]]
symmetric = true
[[model.sound]]
tone = "night"
distance = "1 m"
levels = [["0 deg", "80 dB(A)"], ["30 deg", "80 dB(A)"], ["60 deg", "80 dB(A)"], ["90 deg", "80 dB(A)"], ["120 deg", "80 dB(A)"], ["150 deg", "80 dB(A)"], ["180 deg", "80 dB(A)"]]
symmetric = true
[[model]]
id = "low"
sounder = "low-frequency-speaker"
[[model.sound]]
tone = "low"
distance = "3 m"
octaves = { 125 = "140 dB" }
levels = [["0 deg", "140 dB(A)"], ["30 deg", "140 dB(A)"], ["60 deg", "140 dB(A)"], ["90 deg", "140 dB(A)"], ["120 deg", "140 dB(A)"], ["150 deg", "140 dB(A)"], ["180 deg", "140 dB(A)"]]
symmetric = true
"#;

/// What the controller reads and in which modes it is, for a vehicle 6 m long.
const INPUTS: &str = r#"
[inputs]
siren = ["off", "on"]
reverse = { means = "reverse", on = "reverse in", off = "reverse out" }
mute = "bool"
[[mode]]
id = "responding"
purpose = "calling"
when = "siren == on"
"#;

fn vehicle(rest: &str) -> String {
    format!(
        "format = 1\nrules = [\"yard.toml\"]\ncatalogues = [\"sounders.toml\"]\n[vehicle]\nname = \"Sample\"\n\
         length = \"6 m\"\nwidth = \"2 m\"\nheight = \"2 m\"\n{INPUTS}\n[listening]\nreflection = \"0 dB\"\n{rest}"
    )
}

fn fitted(id: &str, model: &str, when: &str, tone: &str) -> String {
    format!(
        "[[sounder]]\nid = \"{id}\"\nmodel = \"{model}\"\nfaces = \"front\"\n\
         at = {{ behind-front = \"0 m\", right = \"0 m\", height = \"1.2 m\" }}\n\
         [[sounding]]\nid = \"{id} {tone}\"\nwhen = \"{when}\"\nsounders = [\"{id}\"]\ntone = \"{tone}\"\n"
    )
}

fn judged(rest: &str, rules: &str) -> Judged {
    let (package, rules) = (vehicle(rest), yard(rules));
    judge_files(&[("package.toml", &package), ("sounders.toml", CATALOGUE), ("yard.toml", &rules)])
}

/// Codes and words of what is wrong in a ruleset with this rule.
fn said(rule: &str) -> Vec<(String, String)> {
    let (_dir, path) = folder(&[("yard.toml", &yard(rule))]);
    let (sources, log) = (Sources::default(), Log::default());
    Loader::new(&sources, &log, Vec::new()).add_anywhere(path.to_str().unwrap());
    log.take().iter().map(|said| (said.code.to_string(), said.message.clone())).collect()
}

#[test]
fn keys_that_a_quantity_does_not_heed_are_refused() {
    let of = "of = [\"siren-speaker\"]";
    let tones = "tones = [\"wail\"]";
    // The quantity, its unit, what it needs in `listen`, a limit; whether it heeds `of` and `tones`.
    let cases = [
        ("sounder-mount", "words", "", "only", "value = [\"roof\"]", true, false),
        ("sounder-height", "m", "", "at-most", "value = 1", true, false),
        ("sounder-turned", "deg", "from = \"front\"", "at-most", "value = 1", true, false),
        ("sounder-kinds-fitted", "words", "", "some-of", "value = [\"horn\"]", true, false),
        ("opposed-speakers", "sounders", "", "at-most", "value = 0", true, false),
        ("sounder-class", "words", "", "some-of", "value = [\"A\"]", true, false),
        ("sounder-tones", "words", "", "some-of", "value = [\"wail\"]", true, false),
        ("tone-rate", "/min", "", "at-most", "value = 100", true, true),
        ("sound-level", "dB(A)", "distance = \"3 m\"", "at-least", "value = 100", true, true),
        ("silent-states-in-reverse", "states", "", "at-most", "value = 0", true, true),
        ("sounder-kinds-ever-sounding", "words", "", "some-of", "value = [\"horn\"]", true, true),
        ("distance-heard", "m", "from = \"front\", over = \"0 dB\"", "at-least", "value = 1", true, true),
        ("greatest-exposure-level", "dB(A)", "", "at-most", "value = 115", false, false),
        ("noise-dose-niosh", "%", "", "at-most", "value = 100", false, false),
    ];
    for (quantity, unit, needs, require, limit, heeds_of, heeds_tones) in cases {
        for (key, name, heeds) in [(of, "of", heeds_of), (tones, "tones", heeds_tones)] {
            let listen = if needs.is_empty() { key.to_owned() } else { format!("{key}, {needs}") };
            let said = said(&rule("one", quantity, unit, require, &listen, &format!("{{ {limit} }}")));
            if heeds {
                assert_eq!(said, [], "{quantity} {name}");
            } else {
                let expected = ("wrong-scope".to_owned(), format!("`{quantity}` makes no use of `{name}`"));
                assert_eq!(said, [expected], "{quantity} {name}");
            }
        }
    }
}

#[test]
fn an_empty_list_of_kinds_or_tones_is_a_mistake() {
    for listen in ["of = []", "tones = []"] {
        let said = said(&rule("one", "tone-rate", "/min", "at-most", listen, "{ value = 100 }"));
        assert_eq!(said.iter().map(|(code, _)| code.as_str()).collect::<Vec<_>>(), ["nothing-named"], "{listen}");
    }
}

#[test]
fn a_class_is_refused_where_no_sounder_is_looked_at() {
    for (quantity, unit, require) in
        [("greatest-exposure-level", "dB(A)", "at-most"), ("noise-dose-niosh", "%", "at-most")]
    {
        let said = said(&rule("one", quantity, unit, require, "", "{ class = \"A\", value = 100 }"));
        assert_eq!(said, [("wrong-scope".to_owned(), format!("a limit on `{quantity}` speaks of no `class`"))]);
    }
    let kinds = rule("one", "sounder-kinds-fitted", "words", "some-of", "", "{ class = \"A\", value = [\"horn\"] }");
    assert_eq!(said(&kinds), []);
}

#[test]
fn without_a_state_of_reverse_nothing_is_shown_of_it() {
    let alarm = fitted("rear", "alarm", "reverse and not mute", "alarm");
    let rules =
        rule("silent", "silent-states-in-reverse", "states", "at-most", "of = [\"back-up-alarm\"]", "{ value = 0 }");
    let seldom = judged(&alarm, &rules);
    assert_eq!(found(&seldom, "silent@vehicle").verdict, Verdict::Fail);
    let (package, rules) = (format!("never = \"reverse\"\n{}", vehicle(&alarm)), yard(&rules));
    let never = judge_files(&[("package.toml", &package), ("sounders.toml", CATALOGUE), ("yard.toml", &rules)]);
    let finding = found(&never, "silent@vehicle");
    assert_eq!(finding.verdict, Verdict::NotShown);
    assert!(finding.notes[0].contains("no state with reverse gear in"), "{:?}", finding.notes);
    assert!(finding.would_show.as_deref().unwrap().contains("`never`"), "{:?}", finding.would_show);
}

/// An alarm that only whispers in some states does not sound its loud tone there.
#[test]
fn tones_are_heeded_over_all_states() {
    let alarm = fitted("rear", "alarm", "reverse and not mute", "alarm")
        + "[[sounding]]\nid = \"hush\"\nwhen = \"reverse and mute\"\nsounders = [\"rear\"]\ntone = \"night\"\n";
    let silent = |id: &str, tones: &str| {
        let listen = format!("of = [\"back-up-alarm\"]{tones}");
        rule(id, "silent-states-in-reverse", "states", "at-most", &listen, "{ value = 0 }")
    };
    let ever = |id: &str, tones: &str| {
        let limit = "{ value = [\"back-up-alarm\"] }";
        rule(id, "sounder-kinds-ever-sounding", "words", "none-of", &format!("tones = [\"{tones}\"]"), limit)
    };
    let rules =
        silent("any", "") + &silent("loud", ", tones = [\"alarm\"]") + &ever("night", "night") + &ever("hum", "hum");
    let judged = judged(&alarm, &rules);
    assert_eq!(found(&judged, "any@vehicle").verdict, Verdict::Pass);
    let loud = found(&judged, "loud@vehicle");
    assert_eq!((loud.verdict, loud.witness.state.as_deref()), (Verdict::Fail, Some("reverse in, mute on")));
    assert_eq!(found(&judged, "night@vehicle").verdict, Verdict::Fail);
    assert_eq!(found(&judged, "hum@vehicle").verdict, Verdict::Pass);
}

/// 120 dB(A) at 3 m are about 109.5 at 10 m, 90 are 79.5: each row looks at its own class, and none at the other.
#[test]
fn a_row_of_a_class_speaks_of_that_class_alone() {
    let two = fitted("a", "loud", "siren == on", "wail") + &fitted("b", "soft", "siren == on", "wail");
    let ahead = "from = \"front\", distance = \"10 m\"";
    let rows = "{ class = \"A\", value = 105 }, { class = \"B\", value = 70 }, { class = \"C\", value = 130 }";
    let least = rule("least", "sound-level-at-place", "dB(A)", "at-least", ahead, rows);
    let soft =
        rule("most", "greatest-sound-level-at-place", "dB(A)", "at-most", ahead, "{ class = \"B\", value = 95 }");
    let judged = judged(&two, &(least + &soft));
    assert_eq!(found(&judged, "least@A").verdict, Verdict::Pass);
    assert_eq!(found(&judged, "least@B").verdict, Verdict::Pass);
    assert_eq!(found(&judged, "most@B").verdict, Verdict::Pass, "the loud one is of another class");
    // Nothing claims class C.
    assert!(judged.findings.iter().all(|finding| !finding.id.ends_with("@C")));
}

#[test]
fn a_tone_that_no_sheet_has_is_not_shown_and_the_tones_are_named() {
    let one = fitted("a", "loud", "siren == on", "wail");
    let listen = |more: &str| format!("of = [\"siren-speaker\"], tones = [\"wial\"]{more}");
    let ahead = listen(", from = \"front\", distance = \"10 m\"");
    let rules = rule("bench", "sound-level", "dB(A)", "at-least", &listen(", distance = \"3 m\""), "{ value = 100 }")
        + &rule("rate", "tone-rate", "/min", "between", &listen(""), "{ from = 10, to = 30 }")
        + &rule("there", "sound-level-at-place", "dB(A)", "at-least", &ahead, "{ value = 100 }")
        + &rule(
            "sounds",
            "sounder-kinds-ever-sounding",
            "words",
            "some-of",
            &listen(""),
            "{ value = [\"siren-speaker\"] }",
        )
        + &rule("lowest", "lowest-part-of-cycle", "dB", "at-most", &listen(""), "{ value = 10 }")
        + &rule(
            "horn",
            "tone-rate",
            "/min",
            "between",
            "of = [\"horn\"], tones = [\"wial\"]",
            "{ from = 10, to = 30 }",
        );
    let judged = judged(&one, &rules);
    for id in ["bench", "there", "sounds"] {
        let finding = found(&judged, &format!("{id}@vehicle"));
        assert_eq!(finding.verdict, Verdict::NotShown, "{id}");
        assert_eq!(finding.notes, ["no sheet has the tone `wial`; they have: wail, yelp"], "{id}");
        assert!(finding.would_show.as_deref().unwrap().contains("`tones`"), "{:?}", finding.would_show);
    }
    // Nothing of the kind is there, or what is asked is asked only of what is there: a siren need not yelp.
    for id in ["horn", "lowest", "rate"] {
        assert_eq!(found(&judged, &format!("{id}@vehicle")).verdict, Verdict::NotApplicable, "{id}");
    }
}

#[test]
fn a_shift_that_is_not_described_is_not_shown_where_something_sounds() {
    let rules = rule("dose", "noise-dose-niosh", "%", "at-most", "", "{ value = 100 }")
        + &rule("most", "greatest-exposure-level", "dB(A)", "at-most", "", "{ value = 115 }");
    let sounds = judged(&fitted("a", "loud", "siren == on", "wail"), &rules);
    let silent = judged("", &rules);
    for id in ["dose@vehicle", "most@vehicle"] {
        let finding = found(&sounds, id);
        assert_eq!((finding.verdict, finding.notes[0].as_str()), (Verdict::NotShown, "no [[exposure]] is described"));
        assert!(finding.would_show.as_deref().unwrap().contains("stretches"), "{:?}", finding.would_show);
        assert_eq!(found(&silent, id).verdict, Verdict::NotApplicable);
    }
}

/// A table that nobody here knows stands nowhere: that is told, with a rule to paste, and never taken for a limit.
#[test]
fn a_table_may_be_missing_only_where_all_limits_are() {
    let over = |limit: &str| {
        rule(
            "over",
            "sound-level-over-table",
            "dB",
            "at-least",
            "distance = \"3 m\"",
            &format!("{{ class = \"A\", {limit} }}"),
        )
    };
    assert_eq!(said(&over("value = 0")).iter().map(|(code, _)| code.as_str()).collect::<Vec<_>>(), ["missing-key"]);
    let missing = over("missing = \"torn page\"");
    assert_eq!(said(&missing), []);
    let two = fitted("a", "loud", "siren == on", "wail") + &fitted("b", "soft", "siren == on", "wail");
    let judged = judged(&two, &missing);
    let finding = found(&judged, "over@A");
    assert_eq!((finding.verdict, finding.notes[0].as_str()), (Verdict::NotShown, "limit missing: torn page"));
    assert!(finding.would_show.as_deref().unwrap().contains("table = [["), "{:?}", finding.would_show);
    assert_eq!(judged.findings.iter().filter(|finding| finding.rule == "over").count(), 1);
}

/// The vehicle judged by rulesets that come with the tool.
fn judged_by(rest: &str, rulesets: &str) -> Judged {
    let package = vehicle(rest).replace("[\"yard.toml\"]", rulesets);
    judge_files(&[("package.toml", &package), ("sounders.toml", CATALOGUE)])
}

#[test]
fn what_is_fitted_and_never_sounds_fails() {
    let rules = "[\"sounders\", \"back-up-alarms\", \"road-horns\"]";
    let both = fitted("a", "loud", "siren == on", "wail") + &fitted("rear", "alarm", "reverse", "alarm");
    let sounding = judged_by(&both, rules);
    // The same sounders, and nothing that sounds them.
    let silent: String =
        both.split("[[").filter(|table| table.starts_with("sounder]]")).map(|table| format!("[[{table}")).collect();
    let silent = judged_by(&silent, rules);
    for (fitted, sounds) in [
        ("sounders:siren-fitted", "sounders:siren-sounds"),
        ("back-up-alarms:alarm-fitted", "back-up-alarms:alarm-sounds"),
    ] {
        let verdict = |judged: &Judged, id: &str| common::verdict(judged, &format!("{id}@vehicle"));
        assert_eq!((verdict(&sounding, fitted), verdict(&sounding, sounds)), (Verdict::Pass, Verdict::Pass));
        assert_eq!((verdict(&silent, fitted), verdict(&silent, sounds)), (Verdict::Pass, Verdict::Fail));
    }
    assert_eq!(common::verdict(&sounding, "road-horns:horn-sounds@vehicle"), Verdict::Fail, "it has no horn");
}

/// 140 dB(A) at 3 m are about 123.5 at 20 m and 126 at 50 ft.
#[test]
fn low_tones_count_under_a_cap_and_no_siren_is_no_pass() {
    let rules = "[\"siren-cap-90-at-50-ft\", \"siren-90-to-120-at-20-m\", \"siren-110-at-3.5-m\"]";
    let low = judged_by(&fitted("a", "low", "siren == on", "low"), rules);
    let verdict = |id: &str| common::verdict(&low, &format!("{id}@vehicle"));
    assert_eq!(verdict("siren-cap-90-at-50-ft:siren-at-most-90"), Verdict::Fail);
    assert_eq!(verdict("siren-90-to-120-at-20-m:siren-at-most-120"), Verdict::Fail);
    assert_eq!(verdict("siren-90-to-120-at-20-m:siren-at-least-90"), Verdict::Fail, "a low tone is no siren");
    assert_eq!(verdict("siren-110-at-3.5-m:siren-fitted"), Verdict::Fail);
}

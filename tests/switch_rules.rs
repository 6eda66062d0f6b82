//! What the controller does over all its states, with values worked out by hand: a master switch, modes, park, dark
//! states, displays that are never seen, what is lit, and what is carried over a change.
//!
//! What is asked of switches and modes is recalled from NFPA 1901 (2016), 13.8, and second-hand knowledge; the shipped
//! rulesets say which is which. That a controller's logic is checked as a truth table is how open-source vehicle
//! projects do it (second-hand); tests/conditions.rs has a table in that form.

mod common;

#[path = "switch_rules/park.rs"]
mod park;

use common::logic::*;
use common::{finding, verdict};
use park::park;
use wayproof::judge::Verdict;

/// Two switches, park and a door: 2 x 2 x 2 x 2 = 16 states.
const INPUTS: &str = r#"
[inputs]
warning = { on = "warning on", off = "warning off" }
parked = { means = "park", on = "park in", off = "park out" }
extra = { on = "extra on", off = "extra off" }
door = { on = "door open", off = "door shut" }
"#;

const RED_A: &str = r#"head = "a", colour = "red", pattern = "half""#;
const RED_B: &str = r#"head = "b", colour = "red", pattern = "half""#;

const CALLING: &str = "purpose = \"calling\"";
const BLOCKING: &str = "purpose = \"blocking\"";

/// Heads a and b, and the usual two modes.
fn usual(displays: &str) -> String {
    let modes = [mode("go", "warning and not parked", CALLING), mode("stand", "warning and parked", BLOCKING)].concat();
    package("", &[INPUTS, &head("a", -0.5, ""), &head("b", 0.5, ""), displays, &modes].concat())
}

fn with_modes(top: &str, modes: &str) -> String {
    package(top, &[INPUTS, &head("a", -0.5, ""), &display("a", "warning", RED_A), modes].concat())
}

fn master() -> String {
    rule("heads-without-master", "heads", "at-most", "{ value = 0 }")
}

#[test]
fn a_master_switch_rules_every_warning_head() {
    for (a, b, missed, said) in [
        // `warning` rules both.
        ("warning", "warning and door", 0.0, "taken for the master switch: `warning`, warning on"),
        // b is lit with `warning` at rest. `door` would rule b, but then a is lit with `door` at rest: one head each.
        ("warning", "door", 1.0, "without it: b"),
        // b shines while `warning` is off and is never seen while it is on.
        ("warning", "not warning", 1.0, "without it: b"),
        // `extra` rules both, `warning` only a.
        ("warning and extra", "extra", 0.0, "taken for the master switch: `extra`, extra on"),
    ] {
        // b has to be lit in a purpose to count, so all states with `door` open serve one.
        let modes = mode("m", "warning or door or extra or not warning", CALLING);
        let displays = [display("a", a, RED_A), display("b", b, RED_B)].concat();
        let text = package("", &[INPUTS, &head("a", -0.5, ""), &head("b", 0.5, ""), &displays, &modes].concat());
        let judged = judged(&text, &master());
        let place = "heads-without-master@vehicle";
        assert_eq!(number(&judged, place), Some(missed), "{a}; {b}");
        assert!(note(&judged, place).contains(said), "{a}; {b}: {}", note(&judged, place));
        let head = finding(&judged, &format!("case:{place}")).witness.head.clone();
        assert_eq!(head.as_deref(), (missed > 0.0).then_some("b"));
    }
}

/// Of the positions of a master switch one has to let every head light, whatever the others do.
#[test]
fn one_position_of_the_master_switch_lights_all() {
    let inputs = "[inputs]\nwarning = [\"off\", \"low\", \"high\"]\ndoor = \"bool\"\n";
    for (a, b, missed) in [
        ("warning == high", "warning != off", 0.0),
        // On low a is dark, on high b: either way one head is missed.
        ("warning == high", "warning == low", 1.0),
        // It is enough that b may light there.
        ("warning == high", "warning == high and door or warning == low", 0.0),
    ] {
        let displays = [display("a", a, RED_A), display("b", b, RED_B)].concat();
        let heads = [head("a", -0.5, ""), head("b", 0.5, "")].concat();
        let text = package("", &[inputs, &heads, &displays, &mode("m", "warning != off", CALLING)].concat());
        assert_eq!(number(&judged(&text, &master()), "heads-without-master@vehicle"), Some(missed), "{a}; {b}");
    }
}

/// Marking lamps that are lit in no purpose may be switched apart, and so may other lamps than warning ones.
#[test]
fn the_master_switch_need_not_rule_what_serves_no_purpose() {
    let scene = display("scene", "door", "head = \"b\", colour = \"white\", pattern = \"steady\", role = \"scene\"");
    let judged_scene = judged(&usual(&[display("a", "warning", RED_A), scene].concat()), &master());
    assert_eq!(number(&judged_scene, "heads-without-master@vehicle"), Some(0.0));
    let marking = [display("a", "warning", RED_A), display("b", "extra and not warning", RED_B)].concat();
    let judged_marking = judged(&usual(&marking), &master());
    assert_eq!(number(&judged_marking, "heads-without-master@vehicle"), Some(0.0));
}

/// Park is no switch of the warning lights: where nothing else is read, no input can be the master.
#[test]
fn park_is_no_master_switch() {
    let inputs = "[inputs]\nparked = { means = \"park\", on = \"park in\", off = \"park out\" }\n";
    let tables = [inputs, &head("a", 0.0, ""), &display("a", "parked", RED_A), &mode("m", "parked", BLOCKING)].concat();
    let judged = judged(&package("", &tables), &master());
    let found = finding(&judged, "case:heads-without-master@vehicle");
    assert_eq!(found.verdict, Verdict::NotShown);
    assert!(found.note().contains("no input is a switch"), "{}", found.note());
}

#[test]
fn modes_count_for_a_purpose_when_they_can_occur() {
    let rule = rule(
        "modes-serving-purpose",
        "modes",
        "at-least",
        "{ purpose = \"calling\", value = 1 }, { purpose = \"blocking\", value = 1 }",
    );
    let modes = [
        mode("go", "warning and not parked", CALLING),
        mode("creep", "warning and not parked and door", CALLING),
        // Park and an open door never meet, so this mode does not occur.
        mode("stand", "warning and parked and door", BLOCKING),
    ];
    let judged = judged(&with_modes("never = \"parked and door\"", &modes.concat()), &rule);
    assert_eq!(number(&judged, "modes-serving-purpose@calling"), Some(2.0));
    assert!(note(&judged, "modes-serving-purpose@calling").contains("served by: go, creep"));
    assert_eq!(number(&judged, "modes-serving-purpose@blocking"), Some(0.0));
    assert_eq!(verdict(&judged, "case:modes-serving-purpose@blocking"), Verdict::Fail);
}

fn dark() -> String {
    let limits = "{ purpose = \"calling\", value = 0 }, { purpose = \"blocking\", value = 0 }";
    rule("dark-states", "states", "at-most", limits)
}

/// The head goes out when the door opens: while calling in 2 states (`extra` on or off), while blocking in 2.
#[test]
fn a_state_is_dark_when_no_warning_head_is_lit() {
    let judged_door = judged(&usual(&display("a", "warning and not door", RED_A)), &dark());
    for (place, witness) in [
        ("dark-states@calling", "warning on, park out, door open"),
        ("dark-states@blocking", "warning on, park in, door open"),
    ] {
        assert_eq!(number(&judged_door, place), Some(2.0));
        assert_eq!(state(&judged_door, place), witness);
    }
    // Another lit lamp is no warning; a second warning head is, steady or not.
    let other = |role: &str| {
        display("b", "door", &format!("head = \"b\", colour = \"white\", pattern = \"steady\", role = \"{role}\""))
    };
    for (role, states) in [("scene", 2.0), ("turn", 2.0), ("arrow", 2.0), ("warning", 0.0)] {
        let other = other(role).replace("show =", if role == "arrow" { "arrow = \"left\"\nshow =" } else { "show =" });
        let displays = [display("a", "warning and not door", RED_A), other].concat();
        assert_eq!(number(&judged(&usual(&displays), &dark()), "dark-states@calling"), Some(states), "{role}");
    }
    // A later display that takes the head for something else leaves it dark as a warning head.
    let taken = display("taken", "extra", "head = \"a\", colour = \"amber\", pattern = \"half\", role = \"turn\"");
    let judged_taken = judged(&usual(&[display("a", "warning", RED_A), taken].concat()), &dark());
    assert_eq!(number(&judged_taken, "dark-states@calling"), Some(2.0), "`extra` on, door open or shut");
    assert_eq!(state(&judged_taken, "dark-states@calling"), "warning on, park out, extra on");
}

#[test]
fn states_in_no_mode_are_counted() {
    let rule = rule("states-in-no-mode", "states", "at-most", "{ value = 0 }");
    // 16 less the 8 with `warning` on; with `off` for the rest none, with `off` only while parked 4.
    let go = mode("go", "warning", CALLING);
    for (more, states, witness) in [
        (String::new(), 8.0, "warning off"),
        (mode("off", "not warning", ""), 0.0, ""),
        (mode("off", "not warning and parked", ""), 4.0, "warning off, park out"),
    ] {
        let judged = judged(&with_modes("", &[go.clone(), more].concat()), &rule);
        assert_eq!(number(&judged, "states-in-no-mode@vehicle"), Some(states));
        assert_eq!(state(&judged, "states-in-no-mode@vehicle"), witness);
    }
    // What a mode assumes does not take its states away; what cannot occur needs no mode.
    let assumed = mode("go", "warning", &format!("{CALLING}\nassume = \"door\""));
    let judged_assumed = judged(&with_modes("never = \"not warning and not parked\"", &assumed), &rule);
    assert_eq!(number(&judged_assumed, "states-in-no-mode@vehicle"), Some(4.0), "off and parked");
}

#[test]
fn displays_that_are_never_seen_are_named() {
    let rule = rule("displays-never-visible", "displays", "at-most", "{ value = 0 }");
    let dims = |id: &str, when: &str| format!("[[display]]\nid = \"{id}\"\nwhen = \"{when}\"\ndim-to = \"40 %\"\n");
    let amber = |id: &str, when: &str| display(id, when, "head = \"a\", colour = \"amber\", pattern = \"half\"");
    for (what, displays, never) in [
        ("one display", display("first", "warning", RED_A), &[][..]),
        (
            "always under another",
            [display("under", "warning and door", RED_A), amber("over", "warning")].concat(),
            &["`under` is overridden whenever it is on, by `over`"],
        ),
        ("now and then under another", [display("under", "warning", RED_A), amber("over", "door")].concat(), &[]),
        (
            "under two that take turns",
            [display("under", "warning", RED_A), amber("go", "not parked"), amber("stand", "parked")].concat(),
            &["`under` is overridden whenever it is on, by `go`, `stand`"],
        ),
        (
            "never on",
            [display("first", "warning", RED_A), amber("odd", "door and not door")].concat(),
            &["`odd` is never on: its `when` holds in no state that can occur"],
        ),
        ("dims", [display("first", "warning", RED_A), dims("night", "extra")].concat(), &[]),
        (
            "dims what is dark",
            [display("first", "warning", RED_A), dims("night", "not warning")].concat(),
            &["`night` never dims anything: its heads are dark while it is on, or as dim already"],
        ),
        (
            "dims before anything is lit",
            [dims("night", "extra"), display("first", "warning", RED_A)].concat(),
            &["`night` never dims anything: its heads are dark while it is on, or as dim already"],
        ),
    ] {
        let judged = judged(&usual(&displays), &rule);
        let place = "displays-never-visible@vehicle";
        #[allow(clippy::cast_precision_loss)] // Two at most.
        let expected = never.len() as f64;
        assert_eq!(number(&judged, place), Some(expected), "{what}: {}", note(&judged, place));
        assert_eq!(note(&judged, place), never.join("; "), "{what}");
    }
}

const WHITE_B: &str = r#"head = "b", colour = "white", pattern = "half""#;
const FLASHER_B: &str = r#"head = "b", colour = "white", pattern = "half", role = "headlamp-flasher""#;

/// Words come from any state, and the witness sets no more inputs than it must.
#[test]
fn colours_and_roles_that_are_lit_in_some_state_are_found() {
    let rules = [
        rule("warning-colours-lit", "colours", "none-of", "{ purpose = \"blocking\", value = [\"white\"] }"),
        rule("roles-lit", "roles", "none-of", "{ purpose = \"blocking\", value = [\"headlamp-flasher\"] }"),
    ]
    .concat();
    let red = display("a", "warning", RED_A);
    let lit = |second: &str| judged(&usual(&[red.clone(), second.to_owned()].concat()), &rules);

    let clean = lit(&display("b", "warning and not parked", WHITE_B));
    assert_eq!(words(&clean, "warning-colours-lit@blocking"), ["red"]);
    assert_eq!(verdict(&clean, "case:warning-colours-lit@blocking"), Verdict::Pass);
    assert_eq!(words(&clean, "roles-lit@blocking"), [""; 0]);

    let white = lit(&display("b", "extra and (warning or door)", WHITE_B));
    assert_eq!(words(&white, "warning-colours-lit@blocking"), ["red", "white"]);
    assert_eq!(state(&white, "warning-colours-lit@blocking"), "warning on, park in, extra on");
    assert_eq!(finding(&white, "case:warning-colours-lit@blocking").witness.head.as_deref(), Some("b"));

    // A flashing headlamp is no warning head but a role of its own, and the rule on roles judges it; a white scene lamp
    // is neither.
    let flasher = lit(&display("b", "warning and door", FLASHER_B));
    assert_eq!(words(&flasher, "warning-colours-lit@blocking"), ["red"]);
    assert_eq!(verdict(&flasher, "case:warning-colours-lit@blocking"), Verdict::Pass);
    assert_eq!(verdict(&flasher, "case:roles-lit@blocking"), Verdict::Fail);
    assert_eq!(words(&flasher, "roles-lit@blocking"), ["headlamp-flasher"]);
    assert_eq!(state(&flasher, "roles-lit@blocking"), "warning on, park in, door open");
    let scene =
        lit(&display("b", "warning", "head = \"b\", colour = \"white\", pattern = \"steady\", role = \"scene\""));
    assert_eq!(verdict(&scene, "case:warning-colours-lit@blocking"), Verdict::Pass);
    assert_eq!(words(&scene, "roles-lit@blocking"), ["scene"]);
    assert_eq!(verdict(&scene, "case:roles-lit@blocking"), Verdict::Pass);
}

/// Into blocking lead setting park and, while parked, switching `warning` on.
#[test]
fn what_one_change_leaves_on_is_carried_over() {
    let rule = rule(
        "carried-into",
        "words",
        "none-of",
        "{ purpose = \"blocking\", value = [\"white\", \"headlamp-flasher\"] }",
    );
    let red = display("a", "warning", RED_A);
    let again = |when: &str| display("again", when, WHITE_B);
    for (what, displays, carried, witness) in [
        ("nothing else", String::new(), &["red"][..], ""),
        ("white ends with park", display("b", "warning and not parked", WHITE_B), &["red"], ""),
        (
            "white goes on",
            display("b", "warning and door", WHITE_B),
            &["red", "white"],
            "warning on, park in, door open",
        ),
        // Lit before by one display and after by another, and white all the same.
        (
            "white goes on by another display",
            [display("b", "warning and not parked and door", WHITE_B), again("warning and parked and extra")].concat(),
            &["red", "white"],
            "warning on, park in, extra on, door open",
        ),
        // White before and amber after, and a flasher before and white after, are other words: nothing stays.
        (
            "white turns amber",
            [
                display("b", "warning and not parked", WHITE_B),
                display("amber", "warning and parked", "head = \"b\", colour = \"amber\", pattern = \"half\""),
            ]
            .concat(),
            &["red"],
            "",
        ),
        ("white begins with park", again("warning and parked"), &["red"], ""),
        (
            "the flasher goes on",
            display("b", "warning", FLASHER_B),
            &["headlamp-flasher", "red"],
            "warning on, park in",
        ),
        // Lit before `warning` is switched on while parked: no change of park is needed.
        (
            "on before warning is",
            display("b", "parked and extra", WHITE_B),
            &["red", "white"],
            "warning on, park in, extra on",
        ),
        // `extra` does not lead into blocking, so what it switches off does not matter.
        ("ends with another input", display("b", "warning and extra and not parked", WHITE_B), &["red"], ""),
    ] {
        let judged = judged(&usual(&[red.clone(), displays].concat()), &rule);
        assert_eq!(words(&judged, "carried-into@blocking"), carried, "{what}");
        assert_eq!(state(&judged, "carried-into@blocking"), witness, "{what}");
    }
}

/// A package that lists displays in its modes says nothing of what its controller does in between.
#[test]
fn without_inputs_what_hangs_on_switches_is_not_shown() {
    let rules = [
        master(),
        park(),
        dark(),
        rule("states-in-no-mode", "states", "at-most", "{ value = 0 }"),
        rule("carried-into", "words", "none-of", "{ purpose = \"blocking\", value = [\"white\"] }"),
        rule("displays-never-visible", "displays", "at-most", "{ value = 0 }"),
        rule("warning-colours-lit", "colours", "none-of", "{ purpose = \"blocking\", value = [\"white\"] }"),
    ]
    .concat();
    let tables = [
        &head("a", 0.0, ""),
        "[[display]]\nid = \"a\"\nshow = [{ head = \"a\", colour = \"red\", pattern = \"half\" }]\n",
        "[[display]]\nid = \"w\"\nshow = [{ head = \"a\", colour = \"white\", pattern = \"half\" }]\n",
        "[[mode]]\nid = \"go\"\npurpose = \"calling\"\ndisplays = [\"a\"]\n",
        "[[mode]]\nid = \"stand\"\npurpose = \"blocking\"\ndisplays = []\n",
    ]
    .concat();
    let judged = judged(&package("", &tables), &rules);
    for place in [
        "heads-without-master@vehicle",
        "states-not-ended-by-park-in@calling",
        "states-not-ended-by-park-out@blocking",
        "states-in-no-mode@vehicle",
        "carried-into@blocking",
    ] {
        let found = finding(&judged, &format!("case:{place}"));
        assert_eq!(found.verdict, Verdict::NotShown, "{place}");
        assert!(found.note().contains("the package has no [inputs]"), "{place}: {}", found.note());
    }
    // What each mode lists is known: nothing is lit in `stand`, and `w` is in no mode.
    assert_eq!(number(&judged, "dark-states@calling"), Some(0.0));
    assert_eq!(number(&judged, "dark-states@blocking"), Some(1.0));
    assert_eq!(number(&judged, "displays-never-visible@vehicle"), Some(1.0));
    assert_eq!(verdict(&judged, "case:warning-colours-lit@blocking"), Verdict::Pass);
}

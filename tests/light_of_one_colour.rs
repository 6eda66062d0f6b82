//! Limits on the light of one colour: worked by hand, as a law, and where limits meet, change and are explained.
//!
//! The lamps are those of tests/worked_case.rs: 100 cd over the front half at half duty are 3,000 cd.s/min at a point,
//! 57,000 over the 19 points of a zone that the lamp faces.

mod common;

use common::case::*;
use common::{finding, folder, load_file, terms};
use proptest::collection::vec;
use proptest::prelude::*;
use wayproof::judge::{Judged, Verdict, judge};
use wayproof::measure::Conduct;

fn row(head: &str, colour: &str) -> String {
    format!("{{ head = \"{head}\", colour = \"{colour}\", pattern = \"half\" }},")
}

fn rule(id: &str, quantity: &str, unit: &str, require: &str, rows: &str) -> String {
    format!(
        "[[rule]]\nid = \"{id}\"\nsays = \"a case\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\n\
         require = \"{require}\"\ncite = {{ own = \"a case\" }}\nlimits = [{rows}]\n"
    )
}

fn limit(colour: &str, zones: &str) -> String {
    let colour = if colour.is_empty() { String::new() } else { format!("colour = \"{colour}\", ") };
    format!("{{ purpose = \"calling\", {colour}zones = {{ {zones} }} }}")
}

fn total(colour: &str) -> String {
    let id = if colour.is_empty() { "total".to_owned() } else { format!("total-{colour}") };
    rule(&id, "zone-total-optical-power", "cd.s/min", "at-least", &limit(colour, "A = 60000"))
}

/// Two amber lamps and a red one face front: 171,000 in all, 114,000 of it amber, 57,000 red. With the red lamp showing
/// amber instead there is no red, which is less than was asked; a colour that no lamp shows adds nothing.
#[test]
fn only_heads_of_the_colour_count() {
    let heads: String = ["a", "b", "c"].map(|id| head(id, "lamp", "front", "")).concat();
    let rules = ["", "amber", "red", "blue"].map(total).concat();
    let run = |third: &str| {
        let shows = [row("a", "amber"), row("b", "amber"), row("c", third)].concat();
        run(&package(&heads, &shows, ""), &ruleset("both", &rules))
    };
    let judged = run("red");
    same(number(&judged, "case:total@calling/A"), 171_000.0);
    for (colour, expected, verdict) in
        [("amber", 114_000.0, Verdict::Pass), ("red", 57_000.0, Verdict::Fail), ("blue", 0.0, Verdict::Fail)]
    {
        let id = format!("case:total-{colour}@calling/A/{colour}");
        same(number(&judged, &id), expected);
        assert_eq!(finding(&judged, &id).verdict, verdict, "{colour}");
    }
    same(number(&run("amber"), "case:total-red@calling/A/red"), 0.0);
}

/// One lamp shows red in one state and amber in another, a second one red in both: of amber the worst is none, of red
/// the second lamp alone.
#[test]
fn the_worst_state_is_that_of_the_colour() {
    let display = |id: &str, when: &str, shows: &[String]| {
        format!("[[display]]\nid = \"{id}\"\nwhen = \"{when}\"\nshow = [{}]\n", shows.concat())
    };
    let more = [
        "[inputs]\nturn = \"bool\"\n[[mode]]\nid = \"m\"\npurpose = \"calling\"\nwhen = \"always\"\n".to_owned(),
        display("amber", "not turn", &[row("a", "amber")]),
        display("red", "turn", &[row("a", "red")]),
    ];
    let heads = [head("a", "lamp", "front", ""), head("b", "lamp", "front", "")].concat();
    let text =
        package(&heads, &row("b", "red"), &more.concat()).replace("id = \"all\"", "id = \"all\"\nwhen = \"always\"");
    let judged = run(&text, &ruleset("both", &["amber", "red"].map(total).concat().replace("60000", "50000")));
    for (colour, expected, state) in [("amber", 0.0, "turn on"), ("red", 57_000.0, "turn off")] {
        let id = format!("case:total-{colour}@calling/A/{colour}");
        same(number(&judged, &id), expected);
        assert_eq!(finding(&judged, &id).witness.state.as_deref(), Some(state), "{colour}");
    }
}

/// Red is shown in a mode that serves no purpose, where no rule with a purpose looks.
#[test]
fn a_colour_is_forbidden_in_any_mode() {
    let none = |quantity: &str, place: &str| {
        rule(
            quantity,
            quantity,
            "colours",
            "none-of",
            &format!("{{ {place}zones = {{ A = [\"red\"], C = [\"red\"] }} }}"),
        )
    };
    let rules = [none("colours-shown-in-any-mode", ""), none("colours-shown", "purpose = \"calling\", ")].concat();
    let more = "[inputs]\nturn = \"bool\"\n[[mode]]\nid = \"m\"\npurpose = \"calling\"\nwhen = \"not turn\"\n\
                [[mode]]\nid = \"on-the-way\"\nwhen = \"turn\"\n";
    let text = package(&head("a", "lamp", "front", ""), &row("a", "red"), more);
    let text = text.replace("id = \"all\"", "id = \"all\"\nwhen = \"turn\"");
    let judged = run(&text, &ruleset("both", &rules));
    let of = |id: &str| finding(&judged, id).verdict;
    assert_eq!(of("case:colours-shown@calling/A"), Verdict::Pass);
    assert_eq!(of("case:colours-shown-in-any-mode@A"), Verdict::Fail);
    assert_eq!(of("case:colours-shown-in-any-mode@C"), Verdict::Pass);
    let found = finding(&judged, "case:colours-shown-in-any-mode@A");
    assert_eq!(found.scope.mode.as_deref(), Some("on-the-way"));
    assert_eq!(found.witness.state.as_deref(), Some("turn on"));
}

/// Illuminance, flashes and the loss of a head heed the colour too. One amber and one red lamp to the front, 75 flashes
/// a minute each: with the amber one dark no point of zone A has an amber signal, and with a red one dark all have.
#[test]
fn other_quantities_of_light_take_a_colour() {
    let sum = rule("sum", "flash-sum-at-point", "/min", "at-least", &limit("amber", "A = 75"));
    let dark = rule("dark", "signal-with-one-head-dark", "points", "at-most", &limit("amber", "A = 0"));
    let all_dark = rule("all-dark", "signal-with-one-head-dark", "points", "at-most", &limit("", "A = 0"));
    let far = rule("far", "illuminance-at-distance", "mlx", "at-least", &limit("amber", "A = 1"))
        .replace("limits =", "device = { distance = \"100 m\", effective = \"blondel-rey\" }\nlimits =");
    let heads = [head("a", "lamp", "front", ""), head("b", "lamp", "front", "")].concat();
    let shows = [row("a", "amber"), row("b", "red")].concat();
    let judged = run(&package(&heads, &shows, ""), &ruleset("both", &[sum, dark, all_dark, far].concat()));
    same(number(&judged, "case:sum@calling/A/amber"), 75.0);
    same(number(&judged, "case:dark@calling/A/amber"), 19.0);
    same(number(&judged, "case:all-dark@calling/A"), 0.0);
    // 100 cd for 0.4 s: 100 x 0.4 / 0.6 cd effective, over 100 m squared.
    same(number(&judged, "case:far@calling/A/amber"), 1000.0 * 100.0 * 0.4 / 0.6 / 1e4);
}

/// Light of one colour and all light are two things, whoever asks for them: 60,000 of amber and 50,000 of all are no
/// conflict, and 60,000 and 50,000 of amber are one.
#[test]
fn limits_meet_on_the_same_colour_alone() {
    let met = |one: &str, other: &str| {
        let both = [(one, "at-least", 60_000), (other, "at-most", 50_000)];
        let texts = both.map(|(colour, require, value)| {
            let row = limit(colour, &format!("A = {value}"));
            ruleset("both", &rule("cap", "zone-total-optical-power", "cd.s/min", require, &row))
        });
        let text = package(&head("a", "lamp", "front", ""), &row("a", "amber"), "");
        let second = texts[1].replace("id = \"case\"", "id = \"other\"");
        let beams = beams();
        let mut all = files(&text, &texts[0], &beams);
        all.push(("other.toml", second.as_str()));
        let (dir, path) = folder(&all);
        let names = ["case.toml", "other.toml"].map(|name| dir.path().join(name).display().to_string());
        let (package, rulesets) = load_file(&path, &names.each_ref().map(String::as_str));
        let judged = judge(&Conduct::new(&package), &rulesets, terms());
        judged
            .findings
            .iter()
            .filter(|finding| finding.is_meeting())
            .map(|finding| finding.id.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(met("amber", "amber"), ["conflict:zone-total-optical-power@calling/A/amber"]);
    assert_eq!(met("", ""), ["conflict:zone-total-optical-power@calling/A"]);
    for (one, other) in [("amber", ""), ("", "amber"), ("amber", "red")] {
        assert_eq!(met(one, other), [""; 0], "{one} {other}");
    }
}

/// An overlay names the limit of a colour by that colour, and changes no other one.
#[test]
fn an_overlay_changes_the_limit_of_a_colour() {
    let rows = [limit("amber", "A = 60000"), limit("", "A = 60000")].join(", ");
    let base = ruleset("both", &rule("total", "zone-total-optical-power", "cd.s/min", "at-least", &rows));
    let overlay = |change: &str| {
        format!(
            "format = 1\n[overlay]\nid = \"more\"\ntitle = \"t\"\nedition = \"1\"\nextends = \"case.toml\"\n\
             authority = \"the county\"\nreference = \"letter 1\"\n{change}"
        )
    };
    let judged = |change: &str| -> Judged {
        let text = package(&head("a", "lamp", "front", ""), &row("a", "amber"), "");
        let (overlay, beams) = (overlay(change), beams());
        let mut all = files(&text, &base, &beams);
        all.push(("more.toml", overlay.as_str()));
        let (dir, path) = folder(&all);
        let names = ["case.toml", "more.toml"].map(|name| dir.path().join(name).display().to_string());
        let (package, rulesets) = load_file(&path, &names.each_ref().map(String::as_str));
        judge(&Conduct::new(&package), &rulesets, terms())
    };
    let verdicts = |judged: &Judged| {
        let one = |finding: &wayproof::judge::Finding| (finding.id.clone(), finding.verdict);
        judged.findings.iter().map(one).collect::<Vec<_>>()
    };
    let (of_amber, of_all) = ("case:total@calling/A/amber".to_owned(), "case:total@calling/A".to_owned());
    let cite = "cite = { own = \"less will do\" }";
    let changed =
        judged(&format!("[[change]]\nrule = \"total\"\n{cite}\nlimits = [{}]\n", limit("amber", "A = 50000")));
    assert_eq!(verdicts(&changed), [(of_amber, Verdict::Pass), (of_all.clone(), Verdict::Fail)]);
    let zones = "limits = [{ purpose = \"calling\", colour = \"amber\", zones = [\"A\"] }]";
    let removed = judged(&format!("[[remove]]\nrule = \"total\"\n{cite}\n{zones}\n"));
    assert_eq!(verdicts(&removed), [(of_all, Verdict::Fail)]);
}

#[test]
fn explain_says_which_heads_count() {
    let text = package(
        &[head("a", "lamp", "front", ""), head("b", "lamp", "front", "")].concat(),
        &[row("a", "amber"), row("b", "red")].concat(),
        "",
    );
    let (rules, beams) = (ruleset("both", &total("amber")), beams());
    let (_dir, path) = folder(&files(&text, &rules, &beams));
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .args(["explain", path.to_str().unwrap(), "case:total-amber@calling/A/amber"])
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("counts heads that show amber, and no others"), "{said}");
    assert!(said.contains("another colour: b"), "{said}");
}

/// What a lamp shows and where it looks; its beam.
type Lamp = (&'static str, &'static str, &'static str);

fn lamp() -> impl Strategy<Value = Lamp> {
    let colour = prop::sample::select(vec!["red", "amber"]);
    let faces = prop::sample::select(vec!["front", "right", "rear", "left", "20 deg", "200 deg"]);
    (colour, faces, prop::sample::select(vec!["half", "other"]))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, ..ProptestConfig::default() })]

    /// Each lamp shows one colour, so what all of them give is what those of each colour give, added up.
    #[test]
    fn the_totals_of_the_colours_add_up(lamps in vec(lamp(), 1..6)) {
        let heads: String = (0..).zip(&lamps).map(|(at, (_, faces, _))| head(&format!("h{at}"), "lamp", faces, "")).collect();
        let show = |(at, (colour, _, pattern)): (usize, &Lamp)| row(&format!("h{at}"), colour).replace("half", pattern);
        let shows: String = lamps.iter().enumerate().map(show).collect();
        let zones = "A = 1, B = 1, C = 1, D = 1";
        let rows = ["", "red", "amber"].map(|colour| limit(colour, zones)).join(", ");
        let rules = ruleset("both", &rule("total", "zone-total-optical-power", "cd.s/min", "at-least", &rows));
        let judged = run(&package(&heads, &shows, ""), &rules);
        for zone in ["A", "B", "C", "D"] {
            let of = |colour: &str| number(&judged, &format!("case:total@calling/{zone}{colour}"));
            let (all, red, amber) = (of(""), of("/red"), of("/amber"));
            prop_assert!((all - red - amber).abs() <= 1e-9 * all.max(1.0), "{zone}: {all} = {red} + {amber}");
        }
    }
}

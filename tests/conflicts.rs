//! What several rulesets ask of one place: conflicts, narrowed ranges, and what one asks more strictly than another.
//!
//! The package is that of tests/worked_case.rs: one red lamp that faces front, 100 cd at half duty, 75 flashes a minute,
//! zone A 57,000 cd.s/min.

mod common;

use common::case::*;
use common::{finding, folder, load_file, terms};
use wayproof::judge::{Found, Judged, Terms, Verdict, judge};
use wayproof::measure::Conduct;
use wayproof::ruleset::{Demand, Require};

/// A rule: quantity, unit, `require`, a row of limits.
type Asked<'a> = (&'a str, &'a str, &'a str, &'a str);

const RATE: &str = "flash-rate";
const PER_MINUTE: &str = "/min";

fn rule(id: &str, (quantity, unit, require, row): Asked<'_>) -> String {
    format!(
        "[[rule]]\nid = \"{id}\"\nsays = \"a case\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\n\
         require = \"{require}\"\ncite = {{ own = \"{id} wants it\" }}\nlimits = [{row}]\n"
    )
}

/// The case judged by several rulesets of one rule each.
fn judged_by(rulesets: &[String], heads: &str, shows: &str, terms: Terms) -> Judged {
    let package = package(heads, shows, "");
    let beams = beams();
    let names: Vec<String> = (0..rulesets.len()).map(|at| format!("rules-{at}.toml")).collect();
    let mut all = files(&package, &rulesets[0], &beams);
    all.extend(names.iter().map(String::as_str).zip(rulesets.iter().map(String::as_str)));
    let (_dir, path) = folder(&all);
    let paths: Vec<String> = names.iter().map(|name| path.parent().unwrap().join(name).display().to_string()).collect();
    let (package, rulesets) = load_file(&path, &paths.iter().map(String::as_str).collect::<Vec<_>>());
    judge(&Conduct::new(&package), &rulesets, terms)
}

fn rules(id: &str, asked: Asked<'_>) -> String {
    ruleset("both", &rule(id, asked)).replace("id = \"case\"", &format!("id = \"{id}\""))
}

fn asked(all: &[Asked<'_>]) -> Judged {
    let names = ["one", "two", "three"];
    let rulesets: Vec<String> = names.iter().zip(all).map(|(id, asked)| rules(id, *asked)).collect();
    judged_by(&rulesets, &head("a", "lamp", "front", ""), &show("a"), terms())
}

/// The findings on several rulesets: id, verdict, and limit as the table has it.
fn met(judged: &Judged) -> Vec<(String, Verdict, String)> {
    let met = judged.findings.iter().filter(|finding| finding.is_meeting());
    let limit = |require: Require, demand: &Demand| format!("{} {}", require.word(), demand.in_words());
    met.map(|finding| (finding.id.clone(), finding.verdict, limit(finding.require, &finding.limit))).collect()
}

const CALLING_75: &str = "{ purpose = \"calling\", value = 75 }";

#[test]
fn a_planted_conflict_is_reported_once_and_fails() {
    let judged = asked(&[
        (RATE, PER_MINUTE, "at-least", "{ purpose = \"calling\", value = 60 }, { purpose = \"blocking\", value = 60 }"),
        (RATE, PER_MINUTE, "at-most", "{ purpose = \"calling\", value = 50 }"),
    ]);
    let conflicts: Vec<_> = judged.findings.iter().filter(|finding| finding.is_meeting()).collect();
    assert_eq!(conflicts.len(), 1, "{conflicts:?}");
    let conflict = conflicts[0];
    assert_eq!((conflict.id.as_str(), conflict.verdict), ("conflict:flash-rate@calling", Verdict::Fail));
    for said in [
        "no value meets all of these",
        "one:one asks at least 60 /min: own: one wants it [practice]",
        "two:two asks at most 50 /min: own: two wants it [practice]",
    ] {
        assert!(conflict.notes.iter().any(|note| note == said), "{said}: {:?}", conflict.notes);
    }
    assert_eq!(conflict.source.in_words(), "own: one:one and two:two together");
    let together: Vec<_> = conflict.together.iter().map(|one| (one.rule.as_str(), &one.limit)).collect();
    assert_eq!(together, [("one", &Demand::Number(60.0)), ("two", &Demand::Number(50.0))]);
    // One finding more than the limits themselves: `blocking` is served by no mode and not shown, `at-most` fails.
    let counts = judged.summary.required;
    assert_eq!((counts.pass, counts.fail, counts.not_shown), (1, 2, 1));
    assert_eq!(judged.summary.status().code(), 1);
}

/// Two limits and what they come to together; the lamp flashes 75 times a minute.
#[test]
fn limits_of_two_rulesets_meet() {
    use Verdict::{Fail, Pass};
    let range = |from: f64, to: f64| format!("{{ purpose = \"calling\", from = {from}, to = {to} }}");
    let value = |value: f64| format!("{{ purpose = \"calling\", value = {value} }}");
    for (one, other, expected) in [
        (
            ("between", range(60.0, 100.0)),
            ("between", range(70.0, 120.0)),
            Some(("narrowed", Pass, "between 70 to 100")),
        ),
        (
            ("between", range(60.0, 100.0)),
            ("between", range(80.0, 120.0)),
            Some(("narrowed", Fail, "between 80 to 100")),
        ),
        (("between", range(60.0, 79.0)), ("between", range(80.0, 120.0)), Some(("conflict", Fail, "exactly none"))),
        (("at-least", value(75.0)), ("at-most", value(75.0)), Some(("narrowed", Pass, "between 75 to 75"))),
        (("at-least", value(75.0)), ("at-most", value(120.0)), Some(("narrowed", Pass, "between 75 to 120"))),
        (("at-least", value(75.0)), ("at-least", value(60.0)), None),
        (("at-least", value(75.0)), ("at-least", value(75.0)), None),
        (("between", range(60.0, 100.0)), ("at-most", value(120.0)), None),
        (("exactly", value(75.0)), ("between", range(60.0, 90.0)), None),
        (("outside", range(80.0, 90.0)), ("between", range(80.0, 90.0)), Some(("conflict", Fail, "exactly none"))),
        (("outside", range(80.0, 90.0)), ("at-most", value(85.0)), Some(("narrowed", Pass, "at-most 80"))),
        // Two stretches are left, which no single limit says; each is judged by itself.
        (("outside", range(80.0, 90.0)), ("at-least", value(70.0)), None),
    ] {
        let judged = asked(&[(RATE, PER_MINUTE, one.0, &one.1), (RATE, PER_MINUTE, other.0, &other.1)]);
        let expected: Vec<_> = expected
            .map(|(kind, verdict, limit)| (format!("{kind}:flash-rate@calling"), verdict, limit.to_owned()))
            .into_iter()
            .collect();
        assert_eq!(met(&judged), expected, "{one:?} {other:?}");
        // The order makes no difference.
        let turned = asked(&[(RATE, PER_MINUTE, other.0, &other.1), (RATE, PER_MINUTE, one.0, &one.1)]);
        assert_eq!(met(&turned), expected, "{other:?} {one:?}");
    }
}

#[test]
fn the_weaker_limit_says_who_asks_more() {
    let weaker = "{ purpose = \"calling\", value = 60 }";
    for (one, other, weak) in [(CALLING_75, weaker, "two"), (weaker, CALLING_75, "one")] {
        let judged = asked(&[(RATE, PER_MINUTE, "at-least", one), (RATE, PER_MINUTE, "at-least", other)]);
        for id in ["one", "two"] {
            let stricter = if weak == "one" { "two:two" } else { "one:one" };
            let note = format!("asked more strictly by {stricter}");
            let notes = &finding(&judged, &format!("{id}:{id}@calling/a")).notes;
            assert_eq!(notes.contains(&note), id == weak, "{id}: {notes:?}");
        }
    }
    let alike = asked(&[(RATE, PER_MINUTE, "at-least", CALLING_75), (RATE, PER_MINUTE, "at-least", CALLING_75)]);
    let said = |id: &str| finding(&alike, id).notes.iter().any(|note| note.contains("more strictly"));
    assert!(!said("one:one@calling/a") && !said("two:two@calling/a"), "limits that ask the same are no news");
}

/// Zones are one by their bearings, not by their names; levels by their heights; methods must be the same.
#[test]
fn places_are_one_by_what_they_cover() {
    const TOTAL: &str = "zone-total-optical-power";
    let row = |zone: &str, value: &str| format!("{{ purpose = \"calling\", zones = {{ {zone} = {value} }} }}");
    let first = rules("one", (TOTAL, "cd.s/min", "at-least", &row("A", "50000")));
    let most = |zone: &str| rules("two", (TOTAL, "cd.s/min", "at-most", &row(zone, "40000")));
    let renamed = most("front").replace("{ A = [\"-45 deg\"", "{ front = [\"-45 deg\"");
    let turned = most("A")
        .replace("A = [\"-45 deg\", \"45 deg\"]", "A = [\"-45 deg\", \"45 deg\"], E = [\"-30 deg\", \"30 deg\"]");
    let narrower = turned.replace("zones = { A = 40000 }", "zones = { E = 40000 }");
    let other_step = most("A").replace("step = \"5 deg\"", "step = \"2.5 deg\"");
    let on_a_ring =
        most("A").replace("require", "method = { ring = { radius = \"100 ft\", height = \"4 ft\" } }\nrequire");
    let rear = most("C");
    for (second, meets) in [
        (&most("A"), true),
        (&renamed, true),
        (&narrower, false),
        (&other_step, false),
        (&on_a_ring, false),
        (&rear, false),
    ] {
        let judged = judged_by(&[first.clone(), second.clone()], &head("a", "lamp", "front", ""), &show("a"), terms());
        let expected: &[&str] = if meets { &["conflict:zone-total-optical-power@calling/A"] } else { &[] };
        let found: Vec<String> = met(&judged).into_iter().map(|(id, _, _)| id).collect();
        assert_eq!(found, expected, "{second}");
    }
    // Totals of a level and of all levels are two things; so are bands that differ.
    let leveled =
        |text: &str| text.replace("purpose = \"calling\", zones", "purpose = \"calling\", level = \"lower\", zones");
    let lower = leveled(&first);
    let band = |text: &str| text.replace("lower = { from = \"18 in\"", "lower = { from = \"20 in\"");
    let called = |text: &str| text.replace("lower", "low");
    for (one, two, meets) in [
        (&lower, leveled(&most("A")), true),
        (&lower, called(&leveled(&most("A"))), true),
        (&lower, band(&leveled(&most("A"))), false),
    ] {
        let judged = judged_by(&[one.clone(), two.clone()], &head("a", "lamp", "front", ""), &show("a"), terms());
        assert_eq!(met(&judged).len(), usize::from(meets), "{two}");
    }
}

/// Words: no colour is left, or fewer than either permits.
#[test]
fn words_meet_too() {
    use Verdict::{Fail, Pass};
    let row = |words: &str| format!("{{ purpose = \"calling\", zones = {{ A = {words} }} }}");
    for (one, other, expected) in [
        (("only", "[\"red\"]"), ("only", "[\"blue\"]"), Some(("conflict", Fail, "exactly none"))),
        (("only", "[\"red\", \"blue\"]"), ("only", "[\"red\", \"amber\"]"), Some(("narrowed", Pass, "only red"))),
        (("only", "[\"red\", \"blue\"]"), ("only", "[\"blue\", \"amber\"]"), Some(("narrowed", Fail, "only blue"))),
        (("only", "[\"red\"]"), ("none-of", "[\"red\"]"), Some(("conflict", Fail, "exactly none"))),
        (("only", "[\"red\"]"), ("some-of", "[\"blue\"]"), Some(("conflict", Fail, "exactly none"))),
        (("only", "[\"red\"]"), ("only", "[\"red\", \"blue\"]"), None),
        (("none-of", "[\"white\"]"), ("none-of", "[\"blue\"]"), Some(("narrowed", Pass, "none-of white blue"))),
        // Red and blue together meet both.
        (("some-of", "[\"red\"]"), ("some-of", "[\"blue\"]"), None),
    ] {
        let rows = [row(one.1), row(other.1)];
        let words = "colours-shown";
        let judged = asked(&[(words, "colours", one.0, &rows[0]), (words, "colours", other.0, &rows[1])]);
        let expected: Vec<_> = expected
            .map(|(kind, verdict, limit)| (format!("{kind}:colours-shown@calling/A"), verdict, limit.to_owned()))
            .into_iter()
            .collect();
        assert_eq!(met(&judged), expected, "{one:?} {other:?}");
    }
}

/// What a rule on sound asks: quantity, unit, `require`, what stands in `listen` (nothing: it has none), a row of limits.
type Heard<'a> = (&'a str, &'a str, &'a str, &'a str, &'a str);

/// Two rulesets that ask of the sounders of an ambulance, in one order and in the other: how often and as what they meet.
fn meet_by_sound(one: Heard<'_>, two: Heard<'_>) -> Vec<String> {
    let text = |(id, (quantity, unit, require, listen, row)): (&str, Heard<'_>)| {
        let text = rule(id, (quantity, unit, require, row));
        let listens = if listen.is_empty() { String::new() } else { format!("listen = {{ {listen} }}\n") };
        let text = text.replace("cite =", &format!("{listens}cite ="));
        ruleset("both", &text).replace("id = \"case\"", &format!("id = \"{id}\""))
    };
    let (one, two) = (text(("one", one)), text(("two", two)));
    let (_dir, first) = folder(&[("one.toml", &one), ("two.toml", &two)]);
    let second = first.with_file_name("two.toml");
    let (first, second) = (first.to_str().unwrap(), second.to_str().unwrap());
    let package = common::root().join("demo-data/medic-6/package.toml");
    let judge_by = |rules: [&str; 2]| {
        let (package, rulesets) = load_file(&package, &rules);
        met(&judge(&Conduct::new(&package), &rulesets, terms())).into_iter().map(|(id, ..)| id).collect::<Vec<_>>()
    };
    let met = judge_by([first, second]);
    assert_eq!(met, judge_by([second, first]));
    met
}

const LEAST_THERE: &str = "sound-level-at-place";
const GREATEST_THERE: &str = "greatest-sound-level-at-place";
const LEVEL: &str = "dB(A)";
const HORN: &str = "of = [\"horn\"], from = \"front\", distance = \"10 ft\"";

#[test]
fn limits_on_different_sounders_at_one_place_do_not_meet() {
    let alarm = HORN.replace("horn", "back-up-alarm");
    let least = (LEAST_THERE, LEVEL, "at-least", HORN, "{ value = 100 }");
    assert_eq!(meet_by_sound(least, (LEAST_THERE, LEVEL, "at-most", HORN, "{ value = 90 }")).len(), 1);
    assert_eq!(meet_by_sound(least, (LEAST_THERE, LEVEL, "at-most", &alarm, "{ value = 90 }")), [""; 0]);
}

#[test]
fn a_least_over_the_greatest_that_is_allowed_is_a_conflict_and_nothing_else_is() {
    let conflict = ["conflict:sound-level-at-place@vehicle"];
    let least = |listen, row| (LEAST_THERE, LEVEL, "at-least", listen, row);
    let most = |listen, row| (GREATEST_THERE, LEVEL, "at-most", listen, row);
    assert_eq!(meet_by_sound(least(HORN, "{ value = 100 }"), most(HORN, "{ value = 90 }")), conflict);
    let between = (GREATEST_THERE, LEVEL, "between", HORN, "{ from = 80, to = 90 }");
    assert_eq!(meet_by_sound(least(HORN, "{ value = 100 }"), between), conflict);
    // A least and a greatest in one range: 90 to 100 leaves room for both, and narrows neither.
    assert_eq!(meet_by_sound(least(HORN, "{ value = 90 }"), most(HORN, "{ value = 100 }")), [""; 0]);
    assert_eq!(meet_by_sound(least(HORN, "{ value = 90 }"), most(HORN, "{ value = 90 }")), [""; 0]);
    // A least of at most 90 and a greatest of at least 100 are met by any wide range.
    let low = (LEAST_THERE, LEVEL, "at-most", HORN, "{ value = 90 }");
    assert_eq!(meet_by_sound(low, (GREATEST_THERE, LEVEL, "at-least", HORN, "{ value = 100 }")), [""; 0]);
    // 1.2 m is the height where none is said; a cap on more sounders is one on these too, one on others is not.
    let high = format!("{HORN}, height = \"1.2 m\"");
    let more = HORN.replace("[", "[\"air-horn\", ");
    let all = HORN.replace("of = [\"horn\"], ", "");
    for listen in [&high, &more, &all] {
        assert_eq!(meet_by_sound(least(HORN, "{ value = 100 }"), most(listen, "{ value = 90 }")), conflict, "{listen}");
    }
    let other_height = format!("{HORN}, height = \"1.5 m\"");
    let other_kind = HORN.replace("horn", "siren-speaker");
    let farther = HORN.replace("10 ft", "20 ft");
    let tone = format!("{HORN}, tones = [\"other\"]");
    for listen in [&other_height, &other_kind, &farther, &tone] {
        assert_eq!(meet_by_sound(least(HORN, "{ value = 100 }"), most(listen, "{ value = 90 }")), [""; 0], "{listen}");
    }
    assert_eq!(
        meet_by_sound(least(&all, "{ value = 100 }"), most(HORN, "{ value = 90 }")),
        [""; 0],
        "of the horn alone"
    );
}

/// On the bench each sounder and tone is looked at by itself, whatever kinds the rules name; a level at some angles is no
/// more than the greatest in any direction, unless all of the points may be low.
#[test]
fn levels_of_single_sounders_meet_whatever_kinds_are_named() {
    let least = |listen| ("sound-level", LEVEL, "at-least", listen, "{ value = 120 }");
    let most = |listen| ("greatest-sound-level", LEVEL, "at-most", listen, "{ value = 119.5 }");
    let conflict = ["conflict:sound-level@vehicle"];
    let horn = "of = [\"horn\"], distance = \"2 m\"";
    assert_eq!(meet_by_sound(least(horn), most(horn)), conflict);
    assert_eq!(meet_by_sound(least("distance = \"2 m\""), most(horn)), conflict);
    assert_eq!(meet_by_sound(least("distance = \"3 m\""), most(horn)), [""; 0]);
    let low =
        |points: u32| format!("{horn}, angles = [\"0 deg\", \"5 deg\"], low = {{ points = {points}, by = \"1 dB\" }}");
    let (one_low, both_low) = (low(1), low(2));
    assert_eq!(meet_by_sound(least(&one_low), most(horn)), conflict);
    assert_eq!(meet_by_sound(least(&both_low), most(horn)), [""; 0]);
}

#[test]
fn limits_meet_whether_or_not_they_say_of_what() {
    let low = ("sounder-height", "in", "at-most", "", "{ value = 20 }");
    let high = ("sounder-height", "in", "at-least", "of = [\"horn\"]", "{ value = 24 }");
    assert_eq!(meet_by_sound(low, high), ["conflict:sounder-height@vehicle"]);
}

/// Two ears: the first hears 70 dB(A), which both rulesets allow, the second 95, which only one does.
#[test]
fn every_ear_is_judged_where_two_ranges_meet() {
    let ears = "[[exposure]]\nid = \"driver\"\nstretches = [{ level = \"70 dB(A)\", lasts = \"1 h\" }]\n\
                [[exposure]]\nid = \"bystander\"\nstretches = [{ level = \"95 dB(A)\", lasts = \"1 h\" }]\n";
    let quantity = "greatest-exposure-level";
    let one = rules("one", (quantity, LEVEL, "between", "{ from = 50, to = 90 }"));
    let two = rules("two", (quantity, LEVEL, "between", "{ from = 60, to = 100 }"));
    let package = package(&head("a", "lamp", "front", ""), &show("a"), ears);
    let beams = beams();
    let mut all = files(&package, &one, &beams);
    all.push(("two.toml", &two));
    let (_dir, path) = folder(&all);
    let beside = |name: &str| path.parent().unwrap().join(name).display().to_string();
    let (package, rulesets) = load_file(&path, &[&beside("case.toml"), &beside("two.toml")]);
    let judged = judge(&Conduct::new(&package), &rulesets, terms());
    let narrowed =
        ("narrowed:greatest-exposure-level@vehicle".to_owned(), Verdict::Fail, "between 60 to 90".to_owned());
    assert_eq!(met(&judged), [narrowed]);
}

/// Advice, missing limits, and limits on different heads do not meet.
#[test]
fn what_does_not_decide_does_not_meet() {
    let at_least = rules("one", (RATE, PER_MINUTE, "at-least", CALLING_75));
    let at_most = rules("two", (RATE, PER_MINUTE, "at-most", "{ purpose = \"calling\", value = 60 }"));
    let pair = |second: String| {
        met(&judged_by(&[at_least.clone(), second], &head("a", "lamp", "front", ""), &show("a"), terms())).len()
    };
    assert_eq!(pair(at_most.clone()), 1);
    assert_eq!(pair(at_most.replace("require =", "strength = \"advice\"\nrequire =")), 0);
    assert_eq!(pair(at_most.replace("value = 60", "missing = \"torn page\"")), 0);
    assert_eq!(pair(at_most.replace("\"calling\"", "\"blocking\"")), 0);
    let not_for_this = "[applies]\nwhen = \"vehicle.length > 20 m\"\ncite = { own = \"long ones\" }\n[zones]";
    assert_eq!(pair(at_most.replace("[zones]", not_for_this)), 0, "it does not fit this vehicle");
    // Heights of two levels are of two lamps.
    let height = |id: &str, level: &str, require: &str, value: &str| {
        let row = format!("{{ level = \"{level}\", value = {value} }}");
        rules(id, ("optical-centre-height", "in", require, &row))
    };
    let heads = head("low", "lamp", "front", "")
        + &head("high", "lamp", "front", "").replace("height = \"1 m\"", "height = \"2 m\"");
    let shows = show("low") + &show("high");
    let meet = |one: String, two: String| met(&judged_by(&[one, two], &heads, &shows, terms()));
    let (least, most) = ("at-least", "at-most");
    assert_eq!(meet(height("one", "upper", least, "70"), height("two", "lower", most, "60")), []);
    let clash = meet(height("one", "upper", least, "70"), height("two", "upper", most, "60"));
    assert_eq!(clash.len(), 1, "{clash:?}");
}

/// A rate asked by purpose and one asked of every use of a head are one thing asked of the same heads: told once, in
/// flashes a minute, and judged on the range that both allow.
#[test]
fn a_rate_by_purpose_and_a_rate_of_devices_are_one_thing() {
    let by_purpose = "{ purpose = \"calling\", from = 75, to = 125 }, { purpose = \"blocking\", from = 75, to = 125 }";
    let modes = "[[mode]]\nid = \"m\"\npurpose = \"calling\"\ndisplays = [\"all\"]\n\
        [[mode]]\nid = \"n\"\npurpose = \"blocking\"\ndisplays = [\"all\"]\n";
    let device = rules("two", ("device-flash-rate", "Hz", "between", "{ from = 2, to = 4 }"));
    let first = rules("one", (RATE, PER_MINUTE, "between", by_purpose));
    let heads = head("a", "lamp", "front", "") + &head("b", "lamp", "rear", "");
    let package = package(&heads, &(show("a") + &show("b")), modes);
    let beams = beams();
    let mut all = files(&package, &first, &beams);
    all.push(("device.toml", &device));
    let (_dir, path) = folder(&all);
    let beside = |name: &str| path.parent().unwrap().join(name).display().to_string();
    let judge_by = |names: [&str; 2]| {
        let names = names.map(beside);
        let (package, rulesets) = load_file(&path, &[&names[0], &names[1]]);
        judge(&Conduct::new(&package), &rulesets, terms())
    };
    let judged = judge_by(["case.toml", "device.toml"]);
    let expected = ("narrowed:flash-rate@vehicle".to_owned(), Verdict::Fail, "between 120 to 125".to_owned());
    assert_eq!(met(&judged), [expected]);
    let found = finding(&judged, "narrowed:flash-rate@vehicle");
    assert_eq!((&found.found, found.unit.symbol()), (&Found::Number(75.0), "/min"));
    same(found.margin.unwrap(), (75.0 - 120.0) / 120.0);
    assert_eq!(found.notes.len(), 2, "both sources, once each: {:?}", found.notes);
    // In the unit of the ruleset asked first.
    let turned = met(&judge_by(["device.toml", "case.toml"]));
    let [(id, _, limit)] = turned.as_slice() else { panic!("{turned:?}") };
    assert_eq!((id.as_str(), limit.as_str()), ("narrowed:flash-rate@vehicle", "between 2 to 2.083333333"));
}

/// By colour: where the ranges of the colours differ, each is told by itself.
#[test]
fn colours_of_devices_meet_apart() {
    let one = rules("one", (RATE, PER_MINUTE, "between", "{ purpose = \"calling\", from = 60, to = 100 }"));
    let row = "{ colours = { red = { from = 70, to = 120 }, amber = { from = 90, to = 120 } } }";
    let two = rules("two", ("device-flash-rate", PER_MINUTE, "between", row));
    let heads = head("a", "lamp", "front", "") + &head("b", "lamp", "front", "");
    let amber = "{ head = \"b\", colour = \"amber\", pattern = \"half\" },";
    let judged = judged_by(&[one, two], &heads, &(show("a") + amber), terms());
    assert_eq!(
        met(&judged),
        [
            ("narrowed:flash-rate@calling/red".to_owned(), Verdict::Pass, "between 70 to 100".to_owned()),
            ("narrowed:flash-rate@calling/amber".to_owned(), Verdict::Fail, "between 90 to 100".to_owned()),
        ]
    );
}

/// What rests on a limit from memory is not shown where these decide nothing, and may be excepted by its id.
#[test]
fn memory_and_exceptions() {
    let one = rules("one", (RATE, PER_MINUTE, "at-least", CALLING_75));
    let two = rules("two", (RATE, PER_MINUTE, "at-most", "{ purpose = \"calling\", value = 60 }"))
        .replace("own = \"two wants it\"", "own = \"two wants it\", basis = \"memory\"");
    let heads = head("a", "lamp", "front", "");
    let verdicts = |terms: Terms| met(&judged_by(&[one.clone(), two.clone()], &heads, &show("a"), terms))[0].1;
    assert_eq!(verdicts(terms()), Verdict::Fail);
    assert_eq!(verdicts(Terms { without_memory: true, ..terms() }), Verdict::NotShown);
    let exception = "[[exception]]\nfinding = \"conflict:flash-rate@calling\"\naccepted-by = \"the buyer\"\n\
        reference = \"letter 1\"\non = 2026-01-01\nuntil = 2027-01-01\nreason = \"the county decides\"\n";
    let package = package(&heads, &show("a"), exception);
    let beams = beams();
    let mut all = files(&package, &one, &beams);
    all.push(("two.toml", &two));
    let (_dir, path) = folder(&all);
    let beside = |name: &str| path.parent().unwrap().join(name).display().to_string();
    let (package, rulesets) = load_file(&path, &[&beside("case.toml"), &beside("two.toml")]);
    let judged = judge(&Conduct::new(&package), &rulesets, terms());
    assert_eq!(finding(&judged, "conflict:flash-rate@calling").verdict, Verdict::Excepted);
}

/// A rule that an overlay adds meets those of the ruleset, by its own authority; a ruleset's own rules are its own affair.
#[test]
fn an_overlay_meets_the_ruleset_that_it_extends() {
    let cap = (RATE, PER_MINUTE, "at-most", "{ purpose = \"calling\", value = 60 }");
    let own = ruleset("both", &(rule("floor", (RATE, PER_MINUTE, "at-least", CALLING_75)) + &rule("cap", cap)));
    let heads = head("a", "lamp", "front", "");
    assert_eq!(met(&judged_by(&[own], &heads, &show("a"), terms())), []);
    // Both rules of one ruleset together ask more than the other one: it adds nothing to them.
    let two = rule("floor", (RATE, PER_MINUTE, "at-least", CALLING_75))
        + &rule("cap", (RATE, PER_MINUTE, "at-most", "{ purpose = \"calling\", value = 80 }"));
    let wider = rules("two", (RATE, PER_MINUTE, "between", "{ purpose = \"calling\", from = 70, to = 100 }"));
    assert_eq!(met(&judged_by(&[ruleset("both", &two), wider], &heads, &show("a"), terms())), []);
    let base = ruleset("both", &rule("floor", (RATE, PER_MINUTE, "at-least", CALLING_75)));
    let overlay = "format = 1\n[overlay]\nid = \"more\"\ntitle = \"t\"\nedition = \"1\"\nextends = \"rules-0.toml\"\n\
        authority = \"the county\"\nreference = \"letter 1\"\n"
        .to_owned()
        + &rule("cap", cap);
    let judged = judged_by(&[base, overlay], &heads, &show("a"), terms());
    assert_eq!(met(&judged).len(), 1);
    let notes = &finding(&judged, "conflict:flash-rate@calling").notes;
    assert!(
        notes.iter().any(|note| note.contains("case:cap asks at most 60 /min: the county, letter 1; own")),
        "{notes:?}"
    );
}

/// Three rulesets: what none of them implies alone is told once, with all that decide.
#[test]
fn three_rulesets_meet_in_one_finding() {
    let row = |from: u32, to: u32| format!("{{ purpose = \"calling\", from = {from}, to = {to} }}");
    let rows = [row(60, 100), row(70, 120), row(50, 90)];
    let all: Vec<Asked<'_>> = rows.iter().map(|row| (RATE, PER_MINUTE, "between", row.as_str())).collect();
    let judged = asked(&all);
    let expected = ("narrowed:flash-rate@calling".to_owned(), Verdict::Pass, "between 70 to 90".to_owned());
    assert_eq!(met(&judged), [expected]);
    let notes = &finding(&judged, "narrowed:flash-rate@calling").notes;
    assert_eq!(notes.iter().filter(|note| note.contains(" asks ")).count(), 2, "{notes:?}");
}

/// The demo truck under its ruleset and the county's cap on the flash rate: what people and programs see.
#[test]
fn tables_and_files_carry_it() {
    let county = |as_of: &str, format: &str| {
        let output = assert_cmd::Command::cargo_bin("wayproof")
            .unwrap()
            .current_dir(common::root())
            .args(["check", "demo-data/rescue-4/package.toml", "--rules", "demo-data/overlays/kestrow-county.toml"])
            .args(["--as-of", as_of, "--format", format])
            .env("COLUMNS", "160")
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    let table = county("2026-06-01", "table");
    let section = table.split("What several rulesets ask together\n").nth(1).unwrap_or_else(|| panic!("{table}"));
    insta::assert_snapshot!("county_table", section.split("\n\n").next().unwrap());
    let json: serde_json::Value = serde_json::from_str(&county("2026-06-01", "json")).unwrap();
    let findings = json["findings"].as_array().unwrap();
    let narrowed: Vec<_> = findings.iter().filter(|finding| finding["ruleset"] == "narrowed").collect();
    insta::assert_json_snapshot!("county_json", narrowed);
    let rows = county("2026-06-01", "csv");
    assert_eq!(rows.lines().filter(|row| row.starts_with("narrowed:flash-rate@")).count(), narrowed.len());
    // Before its first day the cap is asked by nobody.
    assert!(!county("2026-02-28", "table").contains("What several rulesets ask together"));
}

/// `explain` shows how the value came about that both limits are held against.
#[test]
fn a_narrowed_range_is_explained() {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(common::root())
        .args(["explain", "demo-data/rescue-4/package.toml", "narrowed:flash-rate@blocking", "--as-of", "2026-06-01"])
        .args(["--rules", "demo-data/overlays/kestrow-county.toml"])
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    for said in [
        "75 to 120 /min",
        "zones-two-level:flash-rate and zones-two-level:flash-rate-cap together",
        "asks at most 120 /min",
    ] {
        assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(said), "{said}: {text}");
    }
}

//! Directional arrows: rate, colours, steps, order, where they belong, and the light that they take.

use super::*;

pub const ARROWS: [(&str, &str); 5] = [
    ("arrow-flash-rate", "/min"),
    ("arrow-on-time", "%"),
    ("arrow-step", "%"),
    ("arrow-elements-out-of-order", "heads"),
    ("merge-arrow-states", "states"),
];

pub fn arrow_rules() -> String {
    ARROWS.map(|(quantity, unit)| rule(quantity, unit, "exactly", "{ value = 25 }")).concat()
}

/// Four elements, from left to right one to four, shown with these pulses in a period of 2 s.
fn arrow(way: &str, clock: &str, phase: u32, pulses: [&str; 4], modes: &str) -> Judged {
    let names = ["one", "two", "three", "four"];
    let heads = names
        .iter()
        .zip([-0.9, -0.3, 0.3, 0.9])
        .map(|(id, right)| head(id, right, &format!("role = \"arrow\"\n{clock}")));
    let patterns = names.iter().zip(pulses).map(|(id, pulses)| pattern(id, 2000, pulses));
    let show =
        |id: &&str| format!("{{ head = \"{id}\", colour = \"amber\", pattern = \"{id}\", phase = \"{phase} ms\" }}");
    let shows: Vec<String> = names.iter().map(show).collect();
    let display =
        format!("[[display]]\nid = \"shown\"\nwhen = \"warning\"\narrow = \"{way}\"\nshow = [{}]\n", shows.join(", "));
    let tables: String = heads.chain(patterns).chain([display]).collect();
    judged(&package("", &[INPUTS, &tables, modes].concat()), &arrow_rules())
}

const STEP: &str = "arrow-step@vehicle";
const ORDER: &str = "arrow-elements-out-of-order@vehicle";
const FIRST: &str = "[\"0 ms\", \"1500 ms\"]";
const SECOND: &str = "[\"500 ms\", \"1500 ms\"]";
const POINT: &str = "[\"1000 ms\", \"1500 ms\"]";
const ARROW_CLOCK: &str = "clock = \"arrow\"";

fn modes() -> String {
    mode("m", "always", "")
}

/// Changes at 0, 500, 1000 and 1500 ms of 2000: four steps of 25 %. A delay moves all of them, over the end of the
/// period too.
#[test]
fn an_arrow_in_equal_quarters_meets_its_steps_wherever_its_period_begins() {
    for phase in [0, 300, 500, 700, 1999] {
        let left = arrow("left", ARROW_CLOCK, phase, [POINT, POINT, SECOND, FIRST], &modes());
        assert_eq!((number(&left, STEP), number(&left, ORDER)), (Some(25.0), Some(0.0)), "{phase}");
        assert_eq!(verdict(&left, "case:arrow-step@vehicle"), Verdict::Pass, "{phase}");
        assert!(close(number(&left, "arrow-flash-rate@one").unwrap(), 30.0, 1e-12), "one flash in 2 s");
        // It does not flash together, so its time lit is not asked for.
        assert_eq!(verdict(&left, "case:arrow-on-time@vehicle"), Verdict::NotApplicable);
        // The same run points left only.
        let right = arrow("right", ARROW_CLOCK, phase, [POINT, POINT, SECOND, FIRST], &modes());
        // Along the way one and two light at 1000 ms, then three at 500 and four at 0: these two come too early.
        assert_eq!(number(&right, ORDER), Some(2.0), "{phase}");
        assert!(note(&right, ORDER).contains("too early: three, four"), "{}", note(&right, ORDER));
    }
}

/// An element that is always lit changes nothing: the others still change at 300, 800, 1300 and 1800 ms.
#[test]
fn an_element_that_is_always_lit_makes_no_step() {
    let left = arrow("left", ARROW_CLOCK, 300, ["[\"0 ms\", \"2000 ms\"]", POINT, SECOND, FIRST], &modes());
    assert_eq!((number(&left, STEP), verdict(&left, "case:arrow-step@vehicle")), (Some(25.0), Verdict::Pass));
    assert_eq!(number(&left, "arrow-flash-rate@one"), Some(0.0));
}

/// A split arrow runs from the middle: two and three are lit from 0 to 1000 ms, one and four from 500 to 1500.
#[test]
fn a_split_arrow_begins_in_the_middle() {
    let (inner, outer) = ("[\"0 ms\", \"1000 ms\"]", "[\"500 ms\", \"1500 ms\"]");
    let split = arrow("split", ARROW_CLOCK, 1200, [outer, inner, inner, outer], &modes());
    assert_eq!((number(&split, STEP), number(&split, ORDER)), (Some(25.0), Some(0.0)));
    let inward = arrow("split", ARROW_CLOCK, 0, [inner, outer, outer, inner], &modes());
    assert_eq!(number(&inward, ORDER), Some(2.0), "one and four light before two and three");
}

/// The display of an arrow says where it points.
fn points(display: String) -> String {
    display.replace("show =", "arrow = \"left\"\nshow =")
}

/// A head that an arrow takes is an element of it in whatever colour it then shows.
#[test]
fn an_arrow_has_the_colours_of_its_elements() {
    let place = "arrow-colours@vehicle";
    let rules = rule("arrow-colours", "colours", "only", "{ value = [\"amber\"] }");
    let own = [
        head("a", 0.0, "role = \"arrow\""),
        points(display("a", "warning", "head = \"a\", colour = \"amber\", pattern = \"half\"")),
    ]
    .concat();
    let show = "head = \"b\", colour = \"red\", pattern = \"half\", role = \"arrow\"";
    let taken = points(display("b", "warning and door", show));
    let warns = display("w", "warning", "head = \"b\", colour = \"white\", pattern = \"half\"");
    let amber = judged(&with_inputs(&own), &rules);
    assert_eq!(
        (words(&amber, place), verdict(&amber, "case:arrow-colours@vehicle")),
        (vec!["amber".to_owned()], Verdict::Pass)
    );
    let red = judged(&with_inputs(&[own, head("b", 0.5, ""), warns, taken].concat()), &rules);
    assert_eq!(words(&red, place), ["amber", "red"]);
    assert_eq!(
        (verdict(&red, "case:arrow-colours@vehicle"), &*state(&red, place)),
        (Verdict::Fail, "warning on, door open")
    );
}

/// Changes at 0, 200, 400, 600 and 1600 ms: steps of 10, 10, 10, 50 and 20 %. The farthest from 25 % is found.
#[test]
fn uneven_steps_are_found() {
    let pulses = [
        "[\"600 ms\", \"1600 ms\"]",
        "[\"400 ms\", \"1600 ms\"]",
        "[\"200 ms\", \"1600 ms\"]",
        "[\"0 ms\", \"1600 ms\"]",
    ];
    let tenths = arrow("left", ARROW_CLOCK, 0, pulses, &modes());
    assert_eq!((number(&tenths, STEP), number(&tenths, ORDER)), (Some(50.0), Some(0.0)));
    assert_eq!(state(&tenths, STEP), "warning on");
}

/// What nothing keeps in step has no steps and no order.
#[test]
fn elements_without_one_clock_neither_step_nor_run() {
    let drifting = arrow("left", "", 0, [POINT, POINT, SECOND, FIRST], &modes());
    assert_eq!(verdict(&drifting, "case:arrow-step@vehicle"), Verdict::Fail);
    assert_eq!(number(&drifting, ORDER), Some(4.0));
    for place in [STEP, ORDER] {
        assert!(note(&drifting, place).contains("do not run on one `clock`"), "{}", note(&drifting, place));
    }
    // Alike and still out of step: they do not flash together either.
    let alike = arrow("left", "", 0, [FIRST; 4], &modes());
    assert_eq!(verdict(&alike, "case:arrow-on-time@vehicle"), Verdict::NotApplicable);
    assert_eq!(verdict(&alike, "case:arrow-step@vehicle"), Verdict::Fail);
}

/// 1000 of 2000 ms is half the time, at whatever level.
#[test]
fn an_arrow_that_flashes_as_one_is_lit_for_a_share_of_the_time() {
    for (pulses, share) in [
        ("[\"0 ms\", \"1000 ms\"]", 50.0),
        ("[\"0 ms\", \"900 ms\"]", 45.0),
        ("[\"0 ms\", \"1000 ms\", \"60 %\"]", 50.0),
        ("[\"0 ms\", \"400 ms\"], [\"600 ms\", \"1000 ms\"]", 40.0),
    ] {
        let flashing = arrow("right", ARROW_CLOCK, 1500, [pulses; 4], &modes());
        assert!(close(number(&flashing, "arrow-on-time@vehicle").unwrap(), share, 1e-12), "{pulses}");
        for place in [STEP, ORDER] {
            assert_eq!(verdict(&flashing, &format!("case:{place}")), Verdict::NotApplicable, "{pulses}");
        }
    }
}

/// A caution shows no way: two pairs that light in turn have steps of half the period, and that is no fault.
#[test]
fn a_caution_has_neither_steps_nor_an_order() {
    let (even, odd) = ("[\"0 ms\", \"1000 ms\"]", "[\"1000 ms\", \"2000 ms\"]");
    let caution =
        arrow("caution", ARROW_CLOCK, 0, [even, odd, odd, even], &mode("m", "warning", "traffic-merges = false"));
    for place in [STEP, ORDER, "merge-arrow-states@vehicle"] {
        assert_eq!(verdict(&caution, &format!("case:{place}")), Verdict::NotApplicable);
    }
    assert!(close(number(&caution, "arrow-flash-rate@two").unwrap(), 30.0, 1e-12));
}

/// The arrow is seen in the 8 states with `warning` on; 4 of these are parked.
#[test]
fn an_arrow_to_a_side_belongs_where_traffic_merges() {
    let place = "merge-arrow-states@vehicle";
    let run = [POINT, POINT, SECOND, FIRST];
    let with = |modes: &str| arrow("left", ARROW_CLOCK, 0, run, modes);
    let parked = |merges: &str| mode("parked", "parked", merges);
    let rest = |merges: &str| mode("rest", "not parked", merges);
    let (yes, no) = ("traffic-merges = true", "traffic-merges = false");
    assert_eq!(number(&with(&[parked(yes), rest(yes)].concat()), place), Some(0.0));
    let aside = with(&[parked(yes), rest(no)].concat());
    assert_eq!((number(&aside, place), &*state(&aside, place)), (Some(4.0), "warning on, park out"));
    let unsaid = with(&[parked(yes), rest("")].concat());
    assert_eq!(verdict(&unsaid, &format!("case:{place}")), Verdict::NotShown);
    assert!(note(&unsaid, place).contains("an arrow is shown in rest"), "{}", note(&unsaid, place));
    // A mode in which no arrow is seen need not say.
    let off = with(&[mode("off", "not warning", ""), mode("on", "warning", yes)].concat());
    assert_eq!(number(&off, place), Some(0.0));
}

/// Two lamps of 100 cd that are lit half the time give 60 x 50 = 3,000 cd.s/min at each of the 19 points of zone A,
/// 57,000 each. The arrow takes b.
#[test]
fn an_arrow_takes_what_its_heads_would_give_as_warning_heads() {
    let limits = "{ purpose = \"calling\", zones = { A = 0, C = 0 } }";
    let rules = case::ruleset("both", &rule("zone-total-taken-by-arrow", "cd.s/min", "at-most", limits));
    let show = |id: &str, role: &str| format!("[{{ head = \"{id}\", colour = \"red\", pattern = \"half\"{role} }}]");
    let arrow = ", role = \"arrow\"";
    let display =
        |id: &str, when: &str, show: String| format!("[[display]]\nid = \"{id}\"\nwhen = \"{when}\"\nshow = {show}\n");
    let left = points(display("left", "door", show("b", arrow).replace("red", "amber")));
    let again = points(display("again", "high-beam", show("b", arrow)));
    let warns = |when: &str| [display("a", "always", show("a", "")), display("b", when, show("b", ""))].concat();
    for (what, displays, taken, witness) in [
        ("no arrow", warns("always"), 0.0, ""),
        ("b", [&*warns("always"), &*left].concat(), 57_000.0, "door open"),
        ("b, by one arrow from the other", [&*warns("always"), &*left, &*again].concat(), 57_000.0, "high beam on"),
        ("a dark head", [&*warns("not door"), &*left].concat(), 0.0, ""),
        ("what is under the warning display", [&*left, &*warns("always")].concat(), 0.0, ""),
    ] {
        let heads = [case::head("a", "lamp", "front", ""), case::head("b", "lamp", "front", "")].concat();
        let tables = [INPUTS, &heads, &displays, &mode("m", "always", "purpose = \"calling\"")].concat();
        let (text, beams) = (package("", &tables), case::beams());
        let judged = judge_files(&case::files(&text, &rules, &beams));
        let found = finding(&judged, "case:zone-total-taken-by-arrow@calling/A");
        let Found::Number(number) = found.found else { panic!("{what}: {:?}", found.found) };
        assert!(close(number, taken, 1e-12), "{what}: {number}");
        assert_eq!(found.verdict, if taken > 0.0 { Verdict::Fail } else { Verdict::Pass }, "{what}");
        if !witness.is_empty() {
            assert!(found.witness.state.as_deref().is_some_and(|state| state.contains(witness)), "{what}: {found:?}");
            assert_eq!(found.witness.head.as_deref(), Some("b"), "{what}");
        }
        // Nothing of it shines to the rear.
        assert_eq!(common::verdict(&judged, "case:zone-total-taken-by-arrow@calling/C"), Verdict::Pass, "{what}");
    }
}

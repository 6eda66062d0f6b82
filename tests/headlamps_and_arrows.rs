//! Lamps of the vehicle itself, flashing headlamps, directional arrows and cautions on flashing, with values worked out
//! by hand.
//!
//! The figures that the shipped rulesets ask: WAC 204-21-130(2) for flashing headlamps (read); MUTCD 2009, 6F.61, for
//! arrows (second-hand: 25 to 40 a minute, lit for half the time when flashing, steps of 25 %); WCAG 2.x for more than
//! three flashes a second (read, of screens).

mod common;

use common::case;
use common::logic::*;
use common::{close, finding, judge_files, load_file, root, terms, verdict};
use wayproof::judge::{Found, Judged, Verdict, judge};
use wayproof::measure::Conduct;

/// 2 x 2 x 2 x 2 = 16 states.
const INPUTS: &str = r#"
[inputs]
warning = { on = "warning on", off = "warning off" }
parked = { means = "park", on = "park in", off = "park out" }
high-beam = { means = "high-beam", on = "high beam on", off = "high beam off" }
door = { on = "door open", off = "door shut" }
"#;

fn with_inputs(tables: &str) -> String {
    package("", &[INPUTS, tables, &mode("m", "always", "")].concat())
}

fn pattern(id: &str, period: u32, pulses: &str) -> String {
    format!("[[pattern]]\nid = \"{id}\"\nperiod = \"{period} ms\"\npulses = [{pulses}]\n")
}

// ---- lamps of the vehicle ----------------------------------------------------------------------------------------

fn troubles() -> String {
    let words = "{ value = [\"flashed\", \"hidden\", \"taken-over\"] }";
    rule("vehicle-lamp-troubles", "troubles", "none-of", words)
}

/// What is found, and the state to set.
fn trouble(tables: &str) -> (Vec<String>, String) {
    let judged = judged(&with_inputs(tables), &troubles());
    let place = "vehicle-lamp-troubles@vehicle";
    (words(&judged, place), state(&judged, place))
}

fn lit(when: &str, pattern: &str, role: &str) -> String {
    display(
        &format!("{role} {when}"),
        when,
        &format!("head = \"a\", colour = \"red\", pattern = \"{pattern}\", role = \"{role}\""),
    )
}

/// A turn signal flashes by its nature; no other lamp that the law asks of every vehicle may.
#[test]
fn a_vehicle_lamp_that_flashes_is_found() {
    for role in ["stop", "tail", "reverse", "headlamp"] {
        let lamp = head("a", 0.0, &format!("role = \"{role}\""));
        assert_eq!(trouble(&[&lamp, &*lit("door", "steady", role)].concat()), (vec![], String::new()), "{role}");
        let flashed = trouble(&[&lamp, &*lit("door and warning", "half", role)].concat());
        assert_eq!(flashed, (vec!["flashed".to_owned()], "warning on, door open".to_owned()), "{role}");
    }
    let turn = [head("a", 0.0, "role = \"turn\""), lit("door", "half", "turn")].concat();
    assert_eq!(trouble(&turn).0, [""; 0]);
    // An upper beam made to flash is the business of the rules on flashers.
    let beam = [head("a", 0.0, "role = \"upper-beam\""), lit("warning", "half", "headlamp-flasher")].concat();
    assert_eq!(trouble(&beam).0, [""; 0]);
}

#[test]
fn a_vehicle_lamp_that_is_taken_for_something_else_is_found() {
    let taken = |state: &str| (vec!["taken-over".to_owned()], state.to_owned());
    // The lamp itself used as a warning head.
    let stop = head("a", 0.0, "role = \"stop\"");
    assert_eq!(trouble(&[&stop, &*lit("warning", "half", "warning")].concat()), taken("warning on"));
    let lower_beam = head("a", 0.0, "role = \"headlamp\"");
    assert_eq!(trouble(&[&lower_beam, &*lit("warning", "half", "headlamp-flasher")].concat()), taken("warning on"));
    // A combination lamp: braking may come before warning, and not the other way round.
    let both = head("a", 0.0, "");
    let (brakes, warns) = (lit("door", "steady", "stop"), lit("warning", "half", "warning"));
    assert_eq!(trouble(&[&*both, &*warns, &*brakes].concat()).0, [""; 0]);
    assert_eq!(trouble(&[&*both, &*brakes, &*warns].concat()), taken("warning on, door open"));
    // One vehicle lamp over another takes nothing over.
    assert_eq!(trouble(&[&*both, &*brakes, &*lit("parked", "half", "turn")].concat()).0, [""; 0]);
}

/// The lamp stands 2 m ahead of the middle, 1 m high, and looks to the front. Boxes begin 0.2 m before it.
#[test]
fn a_vehicle_lamp_behind_something_that_comes_and_goes_is_found() {
    let body = |right: (f64, f64), height: (f64, f64), when: &str| {
        format!(
            "[[body]]\nid = \"gate\"\nfrom = {{ ahead = \"2.2 m\", right = \"{} m\", height = \"{} m\" }}\n\
             to = {{ ahead = \"2.4 m\", right = \"{} m\", height = \"{} m\" }}\n{when}\n",
            right.0, height.0, right.1, height.1
        )
    };
    let found = |body: &str, lit: &str| trouble(&[&head("a", 0.0, "role = \"tail\""), lit, body].concat());
    let always = lit("always", "steady", "tail");
    let (across, level, door) = ((-0.5, 0.5), (0.5, 1.5), "when = \"door\"");
    let hidden = |state: &str| (vec!["hidden".to_owned()], state.to_owned());
    assert_eq!(found(&body(across, level, door), &always), hidden("door open"));
    assert_eq!(found(&body(across, level, door), &lit("warning", "steady", "tail")), hidden("warning on, door open"));
    // Below the axis, beside it, never there while the lamp is lit.
    assert_eq!(found(&body(across, (0.5, 0.99), door), &always).0, [""; 0]);
    assert_eq!(found(&body((0.01, 0.5), level, door), &always).0, [""; 0]);
    assert_eq!(found(&body(across, level, door), &lit("not door", "steady", "tail")).0, [""; 0]);
    // What always stands there is where the builder chose to put the lamp.
    assert_eq!(found(&body(across, level, ""), &always).0, [""; 0]);
    // A warning head behind the door is for the rules on its light.
    let warning = [&*head("a", 0.0, ""), &*lit("always", "half", "warning"), &*body(across, level, door)].concat();
    assert_eq!(trouble(&warning).0, [""; 0]);
    // On the door the lamp moves out of the way with it.
    let pose = "role = \"tail\"\nposes = [{ when = \"door\", \
                at = { ahead = \"2 m\", right = \"0.8 m\", height = \"1 m\" }, faces = \"front\" }]";
    assert_eq!(trouble(&[&*head("a", 0.0, pose), &*always, &*body(across, level, door)].concat()).0, [""; 0]);
}

// ---- flashing headlamps ------------------------------------------------------------------------------------------

const FLASHERS: [(&str, &str); 5] = [
    ("headlamp-flash-rate", "/min"),
    ("headlamp-sides-lit-together", "%"),
    ("flashers-not-upper-beam", "heads"),
    ("flashers-without-steady-display", "heads"),
    ("flasher-states-with-high-beam-on", "states"),
];

fn flasher_rules() -> String {
    FLASHERS.map(|(quantity, unit)| rule(quantity, unit, "at-most", "{ value = 0 }")).concat()
}

/// Left and right headlamp on one clock; `patterns` are for left and right, each with its phase in ms.
fn flashers(clock: &str, patterns: [(&str, u32); 2], when: &str, more: &str) -> String {
    let sides = [("left", -0.5), ("right", 0.5)];
    let heads = sides.map(|(id, right)| head(id, right, &format!("role = \"upper-beam\"\n{clock}"))).concat();
    let shows = sides.iter().zip(patterns).map(|((id, _), (pattern, phase))| {
        format!(
            "{{ head = \"{id}\", colour = \"white\", pattern = \"{pattern}\", phase = \"{phase} ms\", role = \"headlamp-flasher\" }}"
        )
    });
    let shows: Vec<String> = shows.collect();
    let flasher = format!("[[display]]\nid = \"flasher\"\nwhen = \"{when}\"\nshow = [{}]\n", shows.join(", "));
    let patterns = [
        pattern("short", 750, "[\"0 ms\", \"300 ms\"]"),
        pattern("long", 750, "[\"0 ms\", \"400 ms\"]"),
        pattern("double", 750, "[\"0 ms\", \"100 ms\"], [\"200 ms\", \"300 ms\"]"),
        pattern("slow", 1200, "[\"0 ms\", \"200 ms\"]"),
        pattern("usual", 800, "[\"0 ms\", \"200 ms\"]"),
        pattern("weak", 750, "[\"0 ms\", \"400 ms\", \"50 %\"]"),
    ];
    [&heads, &patterns.concat(), &flasher, more].concat()
}

const CLOCK: &str = "clock = \"headlamps\"";

/// The driver's own beam; a later display takes nothing but the lamps that it lights itself.
fn beam(when: &str) -> String {
    let show = |id: &str| format!("{{ head = \"{id}\", colour = \"white\", pattern = \"steady\" }}");
    format!("[[display]]\nid = \"beam\"\nwhen = \"{when}\"\nshow = [{}, {}]\n", show("left"), show("right"))
}

fn flashing(tables: &str) -> Judged {
    judged(&with_inputs(tables), &flasher_rules())
}

#[test]
fn headlamps_that_alternate_are_never_lit_together() {
    let together = |clock, patterns| {
        let judged = flashing(&flashers(clock, patterns, "warning", ""));
        number(&judged, "headlamp-sides-lit-together@vehicle").unwrap()
    };
    for (what, clock, patterns, share) in [
        ("300 of 750 ms, half a period apart", CLOCK, [("short", 0), ("short", 375)], 0.0),
        // Left 0 to 400, right 375 to 775: 25 ms at the end of each.
        ("400 of 750 ms, half a period apart", CLOCK, [("long", 0), ("long", 375)], 100.0 * 50.0 / 750.0),
        ("the same with less light", CLOCK, [("weak", 0), ("weak", 375)], 100.0 * 50.0 / 750.0),
        ("in step", CLOCK, [("short", 0), ("short", 0)], 40.0),
        // 800 and 1200 ms have 2400 ms in common. Left is lit from 0, 800 and 1600, right from 400 and 1600, for 200
        // ms each: 200 of 2400 ms together.
        ("of two periods", CLOCK, [("usual", 0), ("slow", 400)], 100.0 * 200.0 / 2400.0),
        // Out of step they will be lit together as long as the shorter of them is lit.
        ("without a clock", "", [("short", 0), ("long", 375)], 40.0),
        ("without a clock, with less light", "", [("weak", 0), ("weak", 375)], 100.0 * 400.0 / 750.0),
    ] {
        let found = together(clock, patterns);
        assert!(close(found, share, 1e-12), "{what}: {found}, expected {share}");
    }
    let drifting = flashing(&flashers("", [("short", 0), ("short", 375)], "warning", ""));
    assert!(note(&drifting, "headlamp-sides-lit-together@vehicle").contains("do not run on one `clock`"));
    assert_eq!(state(&drifting, "headlamp-sides-lit-together@vehicle"), "warning on");
}

/// One headlamp that flashes alone alternates with nothing.
#[test]
fn one_side_alone_does_not_alternate() {
    let show = "head = \"a\", colour = \"white\", pattern = \"half\", role = \"headlamp-flasher\"";
    let judged = flashing(&[head("a", -0.5, "role = \"upper-beam\""), display("a", "warning", show)].concat());
    assert_eq!(number(&judged, "headlamp-sides-lit-together@vehicle"), Some(100.0));
}

/// 60,000 / 750 = 80 and 60,000 / 1200 = 50 a minute; a gap of 100 ms ends no flash where 160 ms do.
#[test]
fn the_rate_of_each_headlamp_is_found() {
    for (patterns, left, right) in
        [([("short", 0), ("slow", 0)], 80.0, 50.0), ([("double", 100), ("usual", 0)], 80.0, 75.0)]
    {
        let judged = flashing(&flashers(CLOCK, patterns, "warning", ""));
        assert!(close(number(&judged, "headlamp-flash-rate@left").unwrap(), left, 1e-12));
        assert!(close(number(&judged, "headlamp-flash-rate@right").unwrap(), right, 1e-12));
    }
}

#[test]
fn the_driver_s_high_beam_stops_the_flasher() {
    let place = "flasher-states-with-high-beam-on@vehicle";
    let pair = [("short", 0), ("short", 375)];
    // `warning` and `high-beam` on: 4 of the 16 states.
    let heedless = flashing(&flashers(CLOCK, pair, "warning", ""));
    assert_eq!((number(&heedless, place), &*state(&heedless, place)), (Some(4.0), "warning on, high beam on"));
    let heeds = flashing(&flashers(CLOCK, pair, "warning and not high-beam", ""));
    assert_eq!(number(&heeds, place), Some(0.0));
    // Laid over the flasher the steady beam ends it too; under it, it does not.
    let over = flashers(CLOCK, pair, "warning", &beam("high-beam"));
    assert_eq!(number(&flashing(&over), place), Some(0.0));
    let under = [beam("high-beam"), flashers(CLOCK, pair, "warning", "")].concat();
    assert_eq!(number(&flashing(&under), place), Some(4.0));
    let unsaid =
        package("", &[&INPUTS.replace("means = \"high-beam\", ", ""), &*over, &mode("m", "always", "")].concat());
    let unsaid = judged(&unsaid, &flasher_rules());
    assert_eq!(verdict(&unsaid, &format!("case:{place}")), Verdict::NotShown);
}

#[test]
fn only_upper_beams_flash_and_each_has_a_steady_use() {
    let pair = [("short", 0), ("short", 375)];
    let (beams, steady) = ("flashers-not-upper-beam@vehicle", "flashers-without-steady-display@vehicle");
    let without = flashing(&flashers(CLOCK, pair, "warning", ""));
    assert_eq!((number(&without, beams), number(&without, steady)), (Some(0.0), Some(2.0)));
    let with = flashing(&flashers(CLOCK, pair, "warning", &beam("high-beam")));
    assert_eq!((number(&with, beams), number(&with, steady)), (Some(0.0), Some(0.0)));
    // A use as a scene lamp is no headlamp; a lower beam is no upper beam.
    let scene = beam("high-beam").replace("\"steady\"", "\"steady\", role = \"scene\"");
    assert_eq!(number(&flashing(&flashers(CLOCK, pair, "warning", &scene)), steady), Some(2.0));
    let lower = flashers(CLOCK, pair, "warning", &beam("high-beam")).replacen("\"upper-beam\"", "\"headlamp\"", 1);
    let lower = flashing(&lower);
    assert_eq!((number(&lower, beams), number(&lower, steady)), (Some(1.0), Some(0.0)));
    assert_eq!(finding(&lower, &format!("case:{beams}")).witness.head.as_deref(), Some("left"));
}

/// Without flashing headlamps and arrows nothing of all this is asked.
#[test]
fn what_is_not_there_is_not_judged() {
    let rules = format!("{}{}", flasher_rules(), arrow_rules());
    let judged = judged(&with_inputs(&[head("a", 0.0, ""), lit("warning", "half", "warning")].concat()), &rules);
    assert_eq!(judged.findings.len(), FLASHERS.len() + ARROWS.len());
    for found in &judged.findings {
        assert_eq!(found.verdict, Verdict::NotApplicable, "{}", found.id);
    }
}

// ---- arrows ------------------------------------------------------------------------------------------------------

const ARROWS: [(&str, &str); 5] = [
    ("arrow-flash-rate", "/min"),
    ("arrow-on-time", "%"),
    ("arrow-step", "%"),
    ("arrow-elements-out-of-order", "heads"),
    ("merge-arrow-states", "states"),
];

fn arrow_rules() -> String {
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

/// A split arrow runs from the middle: two and three are lit from 0 to 1000 ms, one and four from 500 to 1500.
#[test]
fn a_split_arrow_begins_in_the_middle() {
    let (inner, outer) = ("[\"0 ms\", \"1000 ms\"]", "[\"500 ms\", \"1500 ms\"]");
    let split = arrow("split", ARROW_CLOCK, 1200, [outer, inner, inner, outer], &modes());
    assert_eq!((number(&split, STEP), number(&split, ORDER)), (Some(25.0), Some(0.0)));
    let inward = arrow("split", ARROW_CLOCK, 0, [inner, outer, outer, inner], &modes());
    assert_eq!(number(&inward, ORDER), Some(2.0), "one and four light before two and three");
}

/// A head that an arrow takes is an element of it in whatever colour it then shows.
#[test]
fn an_arrow_has_the_colours_of_its_elements() {
    let place = "arrow-colours@vehicle";
    let rules = rule("arrow-colours", "colours", "only", "{ value = [\"amber\"] }");
    let own = [
        head("a", 0.0, "role = \"arrow\""),
        display("a", "warning", "head = \"a\", colour = \"amber\", pattern = \"half\""),
    ]
    .concat();
    let taken =
        display("b", "warning and door", "head = \"b\", colour = \"red\", pattern = \"half\", role = \"arrow\"");
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
    let left = display("left", "door", show("b", arrow).replace("red", "amber"));
    let again = display("again", "high-beam", show("b", arrow));
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

// ---- cautions ----------------------------------------------------------------------------------------------------

fn hazards() -> String {
    [
        rule("greatest-flash-sum-at-point", "/min", "at-most", "{ purpose = \"calling\", value = 180 }"),
        rule("pulse-frequency", "Hz", "outside", "{ purpose = \"calling\", from = 5, to = 30 }"),
    ]
    .concat()
}

fn hazard(tables: &str) -> Judged {
    judged(&package("", &[INPUTS, tables, &mode("m", "always", "purpose = \"calling\"")].concat()), &hazards())
}

/// 800 ms: 75 flashes a minute each. Heads that flash alike on one clock are one train of flashes.
#[test]
fn flashes_are_added_up_and_those_in_step_count_once() {
    let place = "greatest-flash-sum-at-point@calling";
    let sum = |more: [&str; 2], phases: [u32; 2], role: &str| {
        let tables: String = ["a", "b"]
            .iter()
            .zip(more)
            .zip(phases)
            .map(|((id, more), phase)| {
                let show = format!(
                    "head = \"{id}\", colour = \"red\", pattern = \"half\", phase = \"{phase} ms\", role = \"{role}\""
                );
                [head(id, 0.0, more), display(id, "warning", &show)].concat()
            })
            .collect();
        let judged = hazard(&tables);
        (number(&judged, place).unwrap(), verdict(&judged, &format!("case:{place}")))
    };
    let clocks = ["clock = \"c\""; 2];
    assert_eq!(sum(clocks, [0, 0], "warning"), (75.0, Verdict::Pass));
    assert_eq!(sum(clocks, [100, 900], "warning").0, 75.0, "a whole period later is the same");
    assert_eq!(sum(clocks, [0, 400], "warning").0, 150.0);
    assert_eq!(sum(["", ""], [0, 0], "warning").0, 150.0, "nothing keeps them in step");
    assert_eq!(sum(["clock = \"c\"", "clock = \"d\""], [0, 0], "warning").0, 150.0);
    assert_eq!(sum(clocks, [0, 400], "headlamp-flasher").0, 150.0, "whatever a head is there for");
}

/// A head to the front and one to the rear are not seen together; steady light does not flash.
#[test]
fn flashes_are_added_up_where_they_arrive() {
    let place = "greatest-flash-sum-at-point@calling";
    let flash = |id: &str| display(id, "warning", &format!("head = \"{id}\", colour = \"red\", pattern = \"half\""));
    let back = head("b", 0.0, "").replace("faces = \"front\"", "faces = \"rear\"");
    let apart = hazard(&[head("a", 0.0, ""), back, flash("a"), flash("b")].concat());
    assert_eq!(number(&apart, place), Some(75.0));
    let steady = display("b", "warning", "head = \"b\", colour = \"red\", pattern = \"steady\"");
    let beside = hazard(&[head("a", 0.0, ""), head("b", 0.0, ""), flash("a"), steady].concat());
    assert_eq!(number(&beside, place), Some(75.0));
    // Over the states: the third head flashes with the door open only.
    let third = display("c", "door", "head = \"c\", colour = \"red\", pattern = \"half\"");
    let three = [head("a", 0.0, ""), head("b", 0.0, ""), head("c", 0.0, ""), flash("a"), flash("b"), third].concat();
    let three = hazard(&three);
    assert_eq!((number(&three, place), &*state(&three, place)), (Some(225.0), "warning on, door open"));
}

/// From the start of one pulse to the start of the next of the same flash; 160 ms dark end a flash.
#[test]
fn pulses_within_a_flash_have_a_frequency() {
    let place = "pulse-frequency@calling";
    for (what, pulses, hertz, expected) in [
        ("100 ms apart", "[\"0 ms\", \"50 ms\"], [\"100 ms\", \"150 ms\"]", Some(10.0), Verdict::Fail),
        (
            "60 ms apart",
            "[\"0 ms\", \"30 ms\"], [\"60 ms\", \"90 ms\"], [\"120 ms\", \"150 ms\"]",
            Some(1000.0 / 60.0),
            Verdict::Fail,
        ),
        // 700 to 750, then 50 ms dark over the end of the period.
        ("over the end of the period", "[\"0 ms\", \"50 ms\"], [\"700 ms\", \"750 ms\"]", Some(10.0), Verdict::Fail),
        ("250 ms apart", "[\"0 ms\", \"150 ms\"], [\"250 ms\", \"400 ms\"]", Some(4.0), Verdict::Pass),
        ("25 ms apart", "[\"0 ms\", \"10 ms\"], [\"25 ms\", \"35 ms\"]", Some(40.0), Verdict::Pass),
        ("two flashes", "[\"0 ms\", \"50 ms\"], [\"210 ms\", \"260 ms\"]", None, Verdict::NotApplicable),
        ("one pulse", "[\"0 ms\", \"50 ms\"]", None, Verdict::NotApplicable),
    ] {
        let show = "head = \"a\", colour = \"red\", pattern = \"p\", phase = \"30 ms\"";
        let judged =
            hazard(&[head("a", 0.0, ""), pattern("p", 800, pulses), display("a", "warning and door", show)].concat());
        let found = number(&judged, place);
        assert!(found.zip(hertz).is_none_or(|(found, hertz)| close(found, hertz, 1e-12)), "{what}: {found:?}");
        assert_eq!(
            (found.is_some(), verdict(&judged, &format!("case:{place}"))),
            (hertz.is_some(), expected),
            "{what}"
        );
        if expected == Verdict::Fail {
            assert_eq!(state(&judged, place), "warning on, door open", "{what}");
        }
    }
}

/// The demo truck by hand. To the front while calling: red in two phases, 2 x 75; the beacon, 60,000 / 720; the
/// headlamps in turn, 2 x 80. To the rear while blocking: two phases, 2 x 75, and the three steps of an arrow, 3 x 30.
/// The fastest pulses are those of the beacon, 60 ms apart.
#[test]
fn the_shipped_rulesets_caution_and_never_judge_by_it() {
    let (package, rulesets) = load_file(&root().join("demo-data/rescue-4/package.toml"), &[]);
    let judged = judge(&Conduct::new(&package), &rulesets, terms());
    for (id, value) in [
        ("zones-two-level:flash-sum-caution@calling", 150.0 + 60_000.0 / 720.0 + 160.0),
        ("zones-two-level:flash-sum-caution@blocking", 150.0 + 90.0),
        ("zones-two-level:pulse-train-caution@calling", 1000.0 / 60.0),
        ("zones-two-level:pulse-train-caution@blocking", 1000.0 / 60.0),
    ] {
        let caution = judged.cautions.iter().find(|caution| caution.id == id).unwrap_or_else(|| panic!("no {id}"));
        let Found::Number(number) = caution.found else { panic!("{id}: {:?}", caution.found) };
        assert!(close(number, value, 1e-12), "{id}: {number}, expected {value}");
    }
    assert!(judged.findings.iter().all(|finding| !finding.rule.ends_with("caution")));
    assert_eq!(judged.summary.status().code(), 0);
}

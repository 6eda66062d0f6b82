//! Lamps of the vehicle itself, flashing headlamps, directional arrows and cautions on flashing, with values worked out
//! by hand.
//!
//! The figures that the shipped rulesets ask: WAC 204-21-130(2) for flashing headlamps (read); MUTCD 2009, 6F.61, for
//! arrows (second-hand: 25 to 40 a minute, lit for half the time when flashing, steps of 25 %); WCAG 2.x for more than
//! three flashes a second (read, of screens).

mod common;

#[path = "headlamps_and_arrows/arrows.rs"]
mod arrows;
#[path = "headlamps_and_arrows/arrows_as_seen.rs"]
mod arrows_as_seen;
#[path = "headlamps_and_arrows/hazards.rs"]
mod hazards;
#[path = "headlamps_and_arrows/vehicle_lamps.rs"]
mod vehicle_lamps;

use arrows::{ARROWS, arrow_rules};
use common::case;
use common::logic::*;
use common::{close, finding, judge_files, load_file, root, terms, verdict};
use vehicle_lamps::lit;
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

/// Every state in which one side flashes is asked about: alone it alternates with nothing, and beside a steady lamp of
/// the other side it is lit together with it.
#[test]
fn a_side_that_flashes_alone_in_some_states_does_not_alternate_there() {
    let place = "headlamp-sides-lit-together@vehicle";
    let show = |id: &str, more: &str| format!("head = \"{id}\", colour = \"white\", {more}");
    let flash = |id: &str, phase: u32, when: &str| {
        let more = format!("pattern = \"short\", phase = \"{phase} ms\", role = \"headlamp-flasher\"");
        display(&format!("flash {id}"), when, &show(id, &more))
    };
    let beam = |id: &str, when: &str| display(&format!("beam {id}"), when, &show(id, "pattern = \"steady\""));
    let upper = format!("role = \"upper-beam\"\n{CLOCK}");
    let heads = [head("left", -0.5, &upper), head("right", 0.5, &upper)].concat();
    let short = pattern("short", 750, "[\"0 ms\", \"300 ms\"]");
    for (what, displays, share, witness) in [
        ("both", [flash("left", 0, "warning"), flash("right", 375, "warning")].concat(), 0.0, "warning on"),
        (
            "the right one with the door open only",
            [flash("left", 0, "warning"), flash("right", 375, "warning and door")].concat(),
            100.0,
            "warning on, door shut",
        ),
        (
            "the left one with the door open only",
            [flash("left", 0, "warning and door"), flash("right", 375, "warning")].concat(),
            100.0,
            "warning on, door shut",
        ),
        (
            "the right one steady while parked",
            [flash("left", 0, "warning"), flash("right", 375, "warning"), beam("right", "warning and parked")].concat(),
            100.0,
            "warning on, park in",
        ),
    ] {
        let judged = flashing(&[&*heads, &*short, &*displays].concat());
        assert_eq!((number(&judged, place), &*state(&judged, place)), (Some(share), witness), "{what}");
    }
}

/// Two lamps of 600 ms a side, 100 a minute each: half a period apart they make 200 flashes a minute, in step 100. One
/// of them alone, while the other is dark, makes 100.
#[test]
fn the_headlamps_of_one_side_are_counted_together() {
    let lamp = |id: &str, right: f64, clock: &str| head(id, right, &format!("role = \"upper-beam\"\n{clock}"));
    let flash = |id: &str, phase: u32, when: &str| {
        let show = format!(
            "head = \"{id}\", colour = \"white\", pattern = \"fast\", phase = \"{phase} ms\", role = \"headlamp-flasher\""
        );
        display(id, when, &show)
    };
    let rate = |clock: &str, phase: u32, when: &str| {
        let tables = [
            pattern("fast", 600, "[\"0 ms\", \"100 ms\"]"),
            lamp("one", -0.4, clock),
            lamp("two", -0.5, clock),
            lamp("other", 0.5, clock),
            flash("one", 0, "warning"),
            flash("two", phase, when),
            flash("other", 150, "warning"),
        ];
        flashing(&tables.concat())
    };
    let place = |id: &str| format!("headlamp-flash-rate@{id}");
    let apart = rate(CLOCK, 300, "warning");
    for (id, expected) in [("one", 200.0), ("two", 200.0), ("other", 100.0)] {
        assert!(close(number(&apart, &place(id)).unwrap(), expected, 1e-12), "{id}");
    }
    assert!(note(&apart, &place("one")).contains("counted together on this side: one, two"));
    assert!(close(number(&rate(CLOCK, 0, "warning"), &place("one")).unwrap(), 100.0, 1e-12), "in step");
    let at_times = rate(CLOCK, 300, "warning and door");
    assert!(close(number(&at_times, &place("one")).unwrap(), 200.0, 1e-12));
    assert_eq!(state(&at_times, &place("one")), "warning on, door open");
    // What drifts takes every phase: from 100 to 200 a minute. 150 is exceeded at some, and 60 never missed.
    let limits = "{ from = 60, to = 150 }";
    let both = |clock: &str| {
        let tables = [
            pattern("fast", 600, "[\"0 ms\", \"100 ms\"]"),
            lamp("one", -0.4, clock),
            lamp("two", -0.5, clock),
            flash("one", 0, "warning"),
            flash("two", 0, "warning"),
        ];
        judged(&with_inputs(&tables.concat()), &rule("headlamp-flash-rate", "/min", "between", limits))
    };
    assert_eq!(verdict(&both(CLOCK), "case:headlamp-flash-rate@one"), Verdict::Pass);
    assert_ne!(verdict(&both(""), "case:headlamp-flash-rate@one"), Verdict::Pass);
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
    // A display that never comes on, or under the flasher whenever it is on, lights nothing.
    let never = flashing(&flashers(CLOCK, pair, "warning", &beam("door and not door")));
    assert_eq!(number(&never, steady), Some(2.0));
    let under = [beam("warning and high-beam"), flashers(CLOCK, pair, "warning", "")].concat();
    assert_eq!(number(&flashing(&under), steady), Some(2.0));
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
    let colours = rule("arrow-colours", "colours", "only", "{ value = [\"amber\"] }");
    let rules = [flasher_rules(), arrow_rules(), colours].concat();
    let judged = judged(&with_inputs(&[head("a", 0.0, ""), lit("warning", "half", "warning")].concat()), &rules);
    assert_eq!(judged.findings.len(), FLASHERS.len() + ARROWS.len() + 1);
    for found in &judged.findings {
        assert_eq!(found.verdict, Verdict::NotApplicable, "{}", found.id);
    }
}

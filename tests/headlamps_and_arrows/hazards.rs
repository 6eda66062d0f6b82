//! Cautions on flashing: how many flashes arrive at a point, and how fast pulses follow each other within a flash.

use super::*;

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

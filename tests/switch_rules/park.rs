//! Setting and releasing park ends one purpose and begins another.

use super::*;

pub fn park() -> String {
    [
        rule(
            "states-not-ended-by-park-in",
            "states",
            "at-most",
            "{ purpose = \"calling\", leads-to = \"blocking\", value = 0 }",
        ),
        rule(
            "states-not-ended-by-park-out",
            "states",
            "at-most",
            "{ purpose = \"blocking\", leads-to = \"calling\", value = 0 }",
        ),
    ]
    .concat()
}

/// Of the 16 states `warning` is on in 8, in 4 of these park is in. Counted by hand:
#[test]
fn setting_and_releasing_park_changes_the_purpose() {
    for (what, top, calling, blocking, set, released, witness) in [
        ("as it should be", "", "warning and not parked", "warning and parked", 0.0, 0.0, ""),
        // Calling goes on while parked: those 4 states. From the other 4 park leads into blocking.
        ("park does not end it", "", "warning", "warning and parked", 4.0, 0.0, "warning on, park in"),
        // With `extra` off nothing blocks: 2 of the 4 calling states lead nowhere (door open or shut).
        (
            "nothing follows",
            "",
            "warning and not parked",
            "warning and parked and extra",
            2.0,
            0.0,
            "warning on, park out, extra off",
        ),
        // Blocking begins with the door open, too, and goes on while park is out: 2 states (`extra` on or off). From
        // the 4 parked ones releasing park leads into calling, save with the door open: 2 more.
        (
            "blocking with park out",
            "",
            "warning and not parked and not door",
            "warning and (parked or door)",
            0.0,
            4.0,
            "",
        ),
        // What cannot occur is not reached: with the door open park cannot be set, so those calling states count for
        // nothing. The others lead into blocking.
        (
            "park cannot be set",
            "never = \"parked and door\"",
            "warning and not parked",
            "warning and parked",
            0.0,
            0.0,
            "",
        ),
    ] {
        let modes = [mode("go", calling, CALLING), mode("stand", blocking, BLOCKING)].concat();
        let judged = judged(&with_modes(top, &modes), &park());
        assert_eq!(number(&judged, "states-not-ended-by-park-in@calling"), Some(set), "{what}");
        assert_eq!(number(&judged, "states-not-ended-by-park-out@blocking"), Some(released), "{what}");
        if !witness.is_empty() {
            assert_eq!(state(&judged, "states-not-ended-by-park-in@calling"), witness, "{what}");
        }
    }
}

/// Only states that are judged have to lead somewhere, and it is enough that another purpose's mode holds there: what
/// that mode assumes is left out of its own judgement, not out of its use.
#[test]
fn what_a_mode_assumes_narrows_where_park_is_asked_about_and_not_where_it_leads() {
    let go = |more: &str| mode("go", "warning and not parked", &format!("{CALLING}\n{more}"));
    let stand = |when: &str, more: &str| mode("stand", when, &format!("{BLOCKING}\n{more}"));
    let assumed = [go(""), stand("warning and parked", "assume = \"not door\"")].concat();
    assert_eq!(number(&judged(&with_modes("", &assumed), &park()), "states-not-ended-by-park-in@calling"), Some(0.0));
    // Nothing blocks with the door open: 2 states, unless calling is not judged there.
    let shut = stand("warning and parked and not door", "");
    let open = [go(""), shut.clone()].concat();
    assert_eq!(number(&judged(&with_modes("", &open), &park()), "states-not-ended-by-park-in@calling"), Some(2.0));
    let narrowed = [go("assume = \"not door\""), shut].concat();
    assert_eq!(number(&judged(&with_modes("", &narrowed), &park()), "states-not-ended-by-park-in@calling"), Some(0.0));
}

/// A mode of the same purpose is no end of it.
#[test]
fn park_has_to_lead_into_another_purpose() {
    let modes = [mode("go", "warning and not parked", CALLING), mode("rest", "warning and parked", CALLING)].concat();
    let judged = judged(&with_modes("", &modes), &park());
    // 4 states with park in, and 4 from which setting it leads into calling again.
    assert_eq!(number(&judged, "states-not-ended-by-park-in@calling"), Some(8.0));
    let nothing = finding(&judged, "case:states-not-ended-by-park-out@blocking");
    assert_eq!(nothing.verdict, Verdict::NotShown, "nothing blocks: {}", nothing.note());
}

/// Nor is a purpose that the limit does not name: with `extra` off park leads into a parade, from 2 of the 4 calling
/// states, and releasing it from there leads where it should.
#[test]
fn park_has_to_lead_into_the_purpose_that_the_limit_names() {
    let third = |purpose: &str| {
        let modes = [
            mode("go", "warning and not parked", CALLING),
            mode("stand", "warning and parked and extra", BLOCKING),
            mode("odd", "warning and parked and not extra", &format!("purpose = \"{purpose}\"")),
        ];
        judged(&with_modes("", &modes.concat()), &park())
    };
    let place = "states-not-ended-by-park-in@calling";
    let parade = third("parade");
    assert_eq!((number(&parade, place), &*state(&parade, place)), (Some(2.0), "warning on, park out, extra off"));
    assert_eq!(number(&third("blocking"), place), Some(0.0));
}

#[test]
fn without_an_input_that_means_park_nothing_is_shown() {
    let inputs = "[inputs]\nwarning = \"bool\"\n";
    let tables =
        [inputs, &head("a", 0.0, ""), &display("a", "warning", RED_A), &mode("m", "warning", CALLING)].concat();
    let judged = judged(&package("", &tables), &park());
    let found = finding(&judged, "case:states-not-ended-by-park-in@calling");
    assert_eq!(found.verdict, Verdict::NotShown);
    assert!(found.note().contains("means = \"park\""), "{}", found.note());
}

//! How much of its light a lamp that is mounted high still sends to eyes on a ring, worked by hand.
//!
//! The lamp gives 100 - |V - 10| cd: 90 on its axis, 80 at V -10, 100 at V 10. Ten metres away, eyes 1 m above the
//! ground are 10 degrees below a lamp that stands 1 + 10 tan 10 = 2.763 m high.

use super::common::case::{head, number};
use super::common::finding;
use super::mistakes::mistakes;
use super::{package, rule, ruleset, run, show};
use wayproof::judge::{Judged, Verdict};

fn eyes() -> String {
    rule("eyes", "light-at-eye-height", "%", "at-least", "", "value = 90")
        .replace("require =", "method = { ring = { radius = \"10 m\", height = \"1 m\" } }\nrequire =")
}

fn seen(model: &str, height: &str, more: &str) -> Judged {
    let lamp = head("one", model, "front", more).replace("height = \"1 m\"", &format!("height = \"{height} m\""));
    run(&package(&lamp, &show("one", "red", "half"), ""), &ruleset(&eyes()))
}

#[test]
fn the_share_is_that_of_the_angle_down_to_the_eyes() {
    let high = (1.0 + 10.0 * 10.0_f64.to_radians().tan()).to_string();
    for (height, tilt, expected, verdict) in [
        ("1", "", 100.0, Verdict::Pass),
        (high.as_str(), "", 100.0 * 80.0 / 90.0, Verdict::Fail),
        // Tilted down by the same angle it looks at the eyes; tilted up by it, they are 20 degrees below: 70 cd.
        (&high, "tilt = \"-10 deg\"", 100.0, Verdict::Pass),
        (&high, "tilt = \"10 deg\"", 100.0 * 70.0 / 90.0, Verdict::Fail),
    ] {
        let judged = seen("up", height, tilt);
        let found = number(&judged, "case:eyes@one");
        assert!((found - expected).abs() < 1e-6, "{height} {tilt}: {found}");
        assert_eq!(finding(&judged, "case:eyes@one").verdict, verdict, "{height} {tilt}");
    }
    let judged = seen("up", &high, "");
    let looked = finding(&judged, "case:eyes@one").witness.elevation;
    assert!(looked.is_some_and(|elevation| (elevation + 10.0).abs() < 1e-9), "{looked:?}");
}

/// The blue light of `slope` is known from V -20 to 20 alone, so 30 degrees below it is not.
#[test]
fn what_is_not_known_is_not_shown() {
    let judged = seen("slope", &(1.0 + 10.0 * 30.0_f64.to_radians().tan()).to_string(), "");
    let found = finding(&judged, "case:eyes@one");
    assert_eq!(found.verdict, Verdict::NotShown);
    assert_eq!(found.notes, ["no data for blue of `slope`"]);
}

#[test]
fn a_rule_without_a_ring_is_refused() {
    let said = mistakes(&rule("eyes", "light-at-eye-height", "%", "at-least", "", "value = 50"));
    assert!(said.contains("eyes at a height are somewhere on a ring"), "{said}");
}

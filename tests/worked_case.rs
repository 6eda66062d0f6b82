//! Light worked by hand, one convention each. The hand computation stands in the comment above the test.

mod common;

use common::case::*;
use common::{finding, verdict};
use wayproof::judge::{Found, Verdict};

/// 100 cd at 50 % duty: mean 50 cd, times 60 = 3,000 cd.s/min at a point; 19 points of a 90-degree sector with both
/// limits in: 57,000. With the first limit alone, 18 points: 54,000. A second head doubles it.
#[test]
fn a_constant_lamp_at_half_duty() {
    let rules = ruleset("both", &format!("{TOTAL}{LEAST}"));
    let one = run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &rules);
    same(number(&one, "case:total@calling/A"), 57_000.0);
    assert_eq!(verdict(&one, "case:total@calling/A"), Verdict::Pass, "57,000 meets 57,000");
    same(number(&one, "case:least@calling/A"), 3_000.0);
    let first = run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &ruleset("first", TOTAL));
    same(number(&first, "case:total@calling/A"), 54_000.0);
    let heads = format!("{}{}", head("a", "lamp", "front", ""), head("b", "lamp", "front", ""));
    let two = run(&package(&heads, &format!("{}{}", show("a"), show("b")), ""), &rules);
    same(number(&two, "case:total@calling/A"), 114_000.0);
    same(number(&two, "case:least@calling/A"), 6_000.0);
}

/// A lamp of 180 - H candela, facing 10 degrees right of front, level. At bearing b its own H is b - 10, so the sum
/// over b = -45, -40 .. 45 is sum(180 - (b - 10)) = 19 x 190 = 3,610 cd; times 60 x 0.5 = 108,300 cd.s/min.
/// The twin of a handed model has the mirrored beam, 180 + H, and faces 350: at b its H is b + 10, its light
/// 180 + b + 10, the same sum.
#[test]
fn a_turned_lamp_and_its_mirrored_twin() {
    let rules = ruleset("both", TOTAL);
    let judged = run(&package(&head("a", "slope", "10 deg", ""), &show("a"), ""), &rules);
    same(number(&judged, "case:total@calling/A"), 108_300.0);
    let heads = head("a-right", "slope", "10 deg", "mirror = true");
    let left = run(&package(&heads, &show("a-left"), ""), &rules);
    same(number(&left, "case:total@calling/A"), 108_300.0);
    // The twin's weakest front point is bearing -45: 180 - 45 + 10 = 145 cd; the head's is +45: 180 - 35 = 145 cd.
    let least = run(&package(&heads, &show("a-left"), ""), &ruleset("both", LEAST));
    same(number(&least, "case:least@calling/A"), 145.0 * 30.0);
    assert_eq!(finding(&least, "case:least@calling/A").witness.bearing, Some(315.0));
}

/// A lamp of 100 + V candela, tilted 30 degrees up. Straight ahead the horizontal plane lies at its V = -30: 70 cd,
/// 2,100 cd.s/min, the least of A; at bearing b it lies at V = asin(-sin 30 cos b), at 45 at -20.7048: 79.2952 cd,
/// 2,378.856 cd.s/min. Five degrees below the plane straight ahead is V = -35: 65 cd, 1,950 cd.s/min.
///
/// Level and rolled 20 degrees right side down, straight ahead stays on the axis: 3,000 cd.s/min. What lies level at 45
/// to the right is then above the lamp's own horizon by asin(sin 45 sin 20) = asin(0.241845) = 13.9954 degrees:
/// 113.9954 cd, 3,419.863 cd.s/min; to the left it is as far below: 2,580.137.
#[test]
fn a_tilted_lamp_and_a_rolled_one() {
    let off = LEAST.replace("least-point", "least-off-plane").replace("\"least\"", "\"off\"");
    let rules = ruleset("both", &format!("{LEAST}{off}"));
    let tilted = package(&head("a", "rise", "front", "tilt = \"30 deg\""), &show("a"), "");
    let judged = run(&tilted, &rules);
    same(number(&judged, "case:least@calling/A"), 2_100.0);
    assert_eq!(finding(&judged, "case:least@calling/A").witness.bearing, Some(0.0));
    same(number(&judged, "case:off@calling/A"), 1_950.0);
    let witness = &finding(&judged, "case:off@calling/A").witness;
    assert_eq!((witness.bearing, witness.elevation), (Some(0.0), Some(-5.0)));
    let about = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-3, "{found}, expected {expected}");
    about(point(&tilted, &rules, 45.0), 2_378.856);
    let rolled = package(&head("a", "rise", "front", "roll = \"20 deg\""), &show("a"), "");
    same(point(&rolled, &rules, 0.0), 3_000.0);
    about(point(&rolled, &rules, 45.0), 3_419.863);
    about(point(&rolled, &rules, 315.0), 2_580.137);
}

/// Tilted 30 degrees up, a lamp whose data end at V = -20 sees the horizontal plane straight ahead at V = -30: no
/// data. At bearing b the level point lies at V = asin(-sin 30 cos b), which rises above -20 only where
/// cos b < 0.684, |b| > 46.8 degrees: so no point of A has data, and nothing is shown rather than failed.
#[test]
fn outside_the_data_nothing_is_shown() {
    let rules = ruleset("both", &format!("{TOTAL}{LEAST}"));
    let tilted = head("a", "narrow", "front", "tilt = \"30 deg\"");
    let judged = run(&package(&tilted, &show("a"), ""), &rules);
    assert_eq!(verdict(&judged, "case:total@calling/A"), Verdict::NotShown);
    same(number(&judged, "case:total@calling/A"), 0.0);
    // Met by what is known, it passes as a lower bound.
    let heads = format!("{tilted}{}", head("b", "lamp", "front", ""));
    let both = run(&package(&heads, &format!("{}{}", show("a"), show("b")), ""), &rules);
    let found = finding(&both, "case:total@calling/A");
    assert_eq!(found.verdict, Verdict::Pass);
    assert!(found.notes.iter().any(|note| note.starts_with("lower bound")), "{:?}", found.notes);
    // A wedge brings the beam level again: tilt -9, wedge 9.
    let wedged = head("a", "narrow", "front", "tilt = \"-9 deg\"\nwedge = \"9 deg\"");
    same(number(&run(&package(&wedged, &show("a"), ""), &rules), "case:total@calling/A"), 57_000.0);
}

/// The least point is bounded from above by points with all their data, and only by those. The lamp tilted 30 degrees
/// up has no data at any point of A, so 3,000 of another lamp there may be more: 4,000 is not shown. In B it has none at
/// 45 either, but 90 lies behind its plane, and that known zero fails whatever 45 may get.
#[test]
fn the_least_point_where_some_points_have_no_data() {
    let heads = format!("{}{}", head("a", "narrow", "front", "tilt = \"30 deg\""), head("b", "lamp", "front", ""));
    let shows = format!("{}{}", show("a"), show("b"));
    let rule = |zones: &str| ruleset("both", &LEAST.replace("A = 1000", zones));
    let judged = run(&package(&heads, &shows, ""), &rule("A = 4000"));
    assert_eq!(verdict(&judged, "case:least@calling/A"), Verdict::NotShown);
    same(number(&judged, "case:least@calling/A"), 3_000.0);
    assert_eq!(verdict(&run(&package(&heads, &shows, ""), &rule("A = 3000")), "case:least@calling/A"), Verdict::Pass);
    let judged = run(&package(&heads, &shows, ""), &rule("B = 4000"));
    assert_eq!(verdict(&judged, "case:least@calling/B"), Verdict::Fail);
    same(number(&judged, "case:least@calling/B"), 0.0);
}

/// Steady heads, heads of another role, and colours that are not permitted there never count.
#[test]
fn what_does_not_count() {
    let colours = r#"
[[rule]]
id = "colours"
says = "a case"
quantity = "colours-shown"
unit = "colours"
require = "only"
cite = { own = "a case" }
limits = [{ purpose = "calling", zones = { A = ["red"] } }]
"#;
    let rules = ruleset("both", &format!("{TOTAL}{colours}"));
    let lamp = head("a", "lamp", "front", "");
    let steady = "{ head = \"a\", colour = \"red\", pattern = \"steady\" }";
    same(number(&run(&package(&lamp, steady, ""), &rules), "case:total@calling/A"), 0.0);
    let amber = "{ head = \"a\", colour = \"amber\", pattern = \"half\" }";
    let judged = run(&package(&lamp, amber, ""), &rules);
    same(number(&judged, "case:total@calling/A"), 0.0);
    assert_eq!(verdict(&judged, "case:colours@calling/A"), Verdict::Fail);
    assert_eq!(finding(&judged, "case:colours@calling/A").witness.head.as_deref(), Some("a"));
    let arrow = head("a", "lamp", "front", "role = \"arrow\"");
    let pointing = package(&arrow, &show("a"), "").replace("show = [", "arrow = \"left\"\nshow = [");
    let judged = run(&pointing, &rules);
    same(number(&judged, "case:total@calling/A"), 0.0);
    assert_eq!(finding(&judged, "case:colours@calling/A").found, Found::Words(Vec::new()));
}

/// Glass that lets 71 % through: 0.71 x 57,000 = 40,470. A table for pattern `half` of 100 cd.s/min a point sums to
/// 1,900 under that pattern and says nothing of another.
#[test]
fn glass_and_tables_for_one_pattern() {
    let rules = ruleset("both", TOTAL);
    let glazed = head("a", "lamp", "front", "behind = { transmittance = 0.71 }");
    same(number(&run(&package(&glazed, &show("a"), ""), &rules), "case:total@calling/A"), 40_470.0);
    let power = head("a", "power", "front", "");
    let judged = run(&package(&power, &show("a"), ""), &rules);
    same(number(&judged, "case:total@calling/A"), 1_900.0);
    assert_eq!(verdict(&judged, "case:total@calling/A"), Verdict::Fail);
    let other = "{ head = \"a\", colour = \"red\", pattern = \"other\" }";
    assert_eq!(verdict(&run(&package(&power, other, ""), &rules), "case:total@calling/A"), Verdict::NotShown);
}

/// Ring of radius 10 m at the height of the lamp, 1 m, the lamp 2 m ahead of the centre, facing front. Straight
/// ahead it is 8 m away: 3,000 x (10/8)^2 = 4,687.5. At bearing 45 the point is (7.0711, -7.0711); seen from the lamp
/// (5.0711, -7.0711), d^2 = 75.7157, so 3,000 x 100 / 75.7157 = 3,962.1907 and that is the least of A.
#[test]
fn the_ring_has_parallax() {
    let rule = LEAST.replace("require =", "method = { ring = { radius = \"10 m\", height = \"1 m\" } }\nrequire =");
    let lamp = head("a", "lamp", "front", "").replace("ahead = \"0 m\"", "ahead = \"2 m\"");
    let judged = run(&package(&lamp, &show("a"), ""), &ruleset("both", &rule));
    let x = 10.0 * std::f64::consts::FRAC_1_SQRT_2;
    let squared = (x - 2.0) * (x - 2.0) + x * x;
    same(number(&judged, "case:least@calling/A"), 3_000.0 * 100.0 / squared);
    assert!((number(&judged, "case:least@calling/A") - 3_962.19).abs() < 0.01);
}

/// A door that carries a lamp to the left side takes all its light from the front; a body that is there only then
/// hides the other lamp.
#[test]
fn doors_move_heads_and_bodies_come_and_go() {
    let rules = ruleset("both", TOTAL);
    let lamp = head("a", "lamp", "front", "poses = [{ when = \"door\", faces = \"left\" }]");
    let open = MODE.replace("displays", "given = [\"door\"]\ndisplays");
    same(number(&run(&package(&lamp, &show("a"), ""), &rules), "case:total@calling/A"), 57_000.0);
    // Facing left it lights bearings -90 to 90 short of the plane itself: of A, -45 to -5, that is 9 points.
    same(number(&run(&package(&lamp, &show("a"), &open), &rules), "case:total@calling/A"), 27_000.0);
    // The twin's door opens to the other side: bearings 5 to 45.
    let pair = head("a-left", "lamp", "front", "mirror = true\nposes = [{ when = \"door\", faces = \"left\" }]");
    let twin = run(&package(&pair, &show("a-right"), &open), &rules);
    same(number(&twin, "case:total@calling/A"), 27_000.0);
    let rules_b = ruleset("both", &TOTAL.replace("A = 57000", "B = 1, D = 1"));
    let twin = run(&package(&pair, &show("a-right"), &open), &rules_b);
    same(number(&twin, "case:total@calling/B"), 57_000.0);
    same(number(&twin, "case:total@calling/D"), 0.0);
    let body = "[[body]]\nid = \"rack\"\nwhen = \"door\"\nfrom = { ahead = \"1 m\", right = \"-5 m\", height = \"0 m\" }\nto = { ahead = \"2 m\", right = \"5 m\", height = \"2 m\" }\n";
    let heads = format!("{}{body}", head("b", "lamp", "front", ""));
    same(number(&run(&package(&heads, &show("b"), ""), &rules), "case:total@calling/A"), 57_000.0);
    same(number(&run(&package(&heads, &show("b"), &open), &rules), "case:total@calling/A"), 0.0);
}

//! Cases worked by hand, one convention each. The hand computation stands in the comment above the test.

mod common;

use common::{finding, folder, judge_files, load_file, terms, verdict};
use wayproof::judge::{Found, Verdict, judge};

/// A lamp of 100 cd everywhere in its front half, in a grid of 5-degree steps; amber the same.
const CATALOGUE: &str = r#"
format = 1
[[model]]
id = "lamp"
[[model.emitter]]
colour = "red"
intensity = { file = "flat.csv", frame = "vertical-axis", at = "12.8 V", uncertainty = "10 %" }
evidence = { grade = "laboratory", report = "lab-1" }
[[model.emitter]]
colour = "amber"
intensity = { file = "flat.csv", frame = "vertical-axis", at = "12.8 V" }
evidence = { grade = "maker", report = "sheet-2" }
[[model]]
id = "narrow"
[[model.emitter]]
colour = "red"
intensity = { file = "narrow.csv", frame = "vertical-axis" }
evidence = { grade = "laboratory", report = "lab-3" }
[[model]]
id = "slope"
handed = true
[[model.emitter]]
colour = "red"
intensity = { file = "slope.csv", frame = "vertical-axis" }
evidence = { grade = "laboratory", report = "lab-4" }
[[model]]
id = "guess"
[[model.emitter]]
colour = "red"
declared = { axis = "100 cd", half-angle = "60 deg" }
[[model]]
id = "power"
[[model.emitter]]
colour = "red"
optical-power = { file = "flat.csv", frame = "vertical-axis", pattern = "half" }
evidence = { grade = "maker" }
"#;

/// One value over the whole front half, V -90 to 90 in steps of 30.
fn flat(value: &str) -> String {
    grid(&|_, _| value.to_owned(), &[-90, -60, -30, 0, 30, 60, 90])
}

fn grid(value: &dyn Fn(i32, i32) -> String, vertical: &[i32]) -> String {
    let across: Vec<i32> = (-18..=18).map(|step| step * 5).collect();
    let mut text = format!("V\\H,{}\n", across.iter().map(i32::to_string).collect::<Vec<_>>().join(","));
    for v in vertical {
        let row: Vec<String> = across.iter().map(|h| value(*h, *v)).collect();
        text.push_str(&format!("{v},{}\n", row.join(",")));
    }
    text
}

/// A ruleset with one sector of front points and the rule rows given.
fn ruleset(boundary: &str, rules: &str) -> String {
    format!(
        r#"
format = 1
[ruleset]
id = "case"
title = "a case"
edition = "1"
defers-to = "the authority having jurisdiction"
[zones]
cite = {{ own = "a case" }}
origin = "vehicle-centre"
step = "5 deg"
off-plane = ["-5 deg", "5 deg"]
boundary-points = "{boundary}"
voltage = "12.8 V"
sectors = {{ A = ["-45 deg", "45 deg"], B = ["45 deg", "135 deg"], C = ["135 deg", "225 deg"], D = ["225 deg", "315 deg"] }}
[levels]
cite = {{ own = "a case" }}
upper = {{ above = "62 in" }}
lower = {{ from = "18 in", to = "62 in" }}
[flash]
cite = {{ own = "a case" }}
dark-at-least = "160 ms"
lit-above = "10 %"
rate = "count-over-time"
[signal]
cite = {{ own = "a case" }}
at-least = "100 cd.s/min"
colour-in-zone = "axis"
{rules}
"#
    )
}

const TOTAL: &str = r#"
[[rule]]
id = "total"
says = "a case"
quantity = "zone-total-optical-power"
unit = "cd.s/min"
require = "at-least"
cite = { own = "a case" }
limits = [{ purpose = "calling", zones = { A = 57000 } }]
"#;

const LEAST: &str = r#"
[[rule]]
id = "least"
says = "a case"
quantity = "least-point-optical-power"
unit = "cd.s/min"
require = "at-least"
cite = { own = "a case" }
limits = [{ purpose = "calling", zones = { A = 1000 } }]
"#;

/// A package with these heads; `shows` are rows of its only display.
fn package(heads: &str, shows: &str, more: &str) -> String {
    format!(
        r#"
format = 1
rules = ["case.toml"]
catalogues = ["catalogue.toml"]
[vehicle]
name = "case"
length = "6 m"
width = "2 m"
height = "2 m"
front-axle = {{ ahead = "2 m" }}
rear-axle = {{ ahead = "-2 m" }}
{heads}
[[pattern]]
id = "half"
period = "800 ms"
pulses = [["0 ms", "400 ms"]]
[[pattern]]
id = "other"
period = "800 ms"
pulses = [["0 ms", "200 ms"], ["400 ms", "600 ms"]]
[[display]]
id = "all"
show = [{shows}]
{}
"#,
        if more.contains("[[mode]]") { more.to_owned() } else { format!("{MODE}\n{more}") }
    )
}

const MODE: &str = "[[mode]]\nid = \"m\"\npurpose = \"calling\"\ndisplays = [\"all\"]";

fn head(id: &str, model: &str, faces: &str, more: &str) -> String {
    format!(
        "[[head]]\nid = \"{id}\"\nmodel = \"{model}\"\nat = {{ ahead = \"0 m\", right = \"0 m\", height = \"1 m\" }}\nfaces = \"{faces}\"\n{more}\n"
    )
}

fn show(head: &str) -> String {
    format!("{{ head = \"{head}\", colour = \"red\", pattern = \"half\" }},")
}

/// The files of a case; beams are written beside the catalogue.
fn files<'f>(package: &'f str, rules: &'f str, beams: &'f [String; 3]) -> Vec<(&'f str, &'f str)> {
    vec![
        ("package.toml", package),
        ("case.toml", rules),
        ("catalogue.toml", CATALOGUE),
        ("flat.csv", &beams[0]),
        ("narrow.csv", &beams[1]),
        ("slope.csv", &beams[2]),
    ]
}

fn beams() -> [String; 3] {
    [
        flat("100"),
        // 100 cd between -20 and 20 degrees of V only.
        grid(&|_, _| "100".to_owned(), &[-20, 0, 20]),
        // 180 - H: brighter to the left.
        grid(&|h, _| (180 - h).to_string(), &[-90, 0, 90]),
    ]
}

fn run(package: &str, rules: &str) -> wayproof::judge::Judged {
    judge_files(&files(package, rules, &beams()))
}

fn number(judged: &wayproof::judge::Judged, id: &str) -> f64 {
    match &finding(judged, id).found {
        Found::Number(number) => *number,
        other => panic!("{id}: {other:?}"),
    }
}

fn same(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{found}, expected {expected}");
}

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

/// Both readings where the convention is unknown: 57,000 meets the limit, 54,000 does not, so nothing is shown; the
/// less favourable is found, and the other stands in the note.
#[test]
fn unknown_boundary_points_show_nothing_where_the_readings_differ() {
    let judged = run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &ruleset("unknown", TOTAL));
    let found = finding(&judged, "case:total@calling/A");
    assert_eq!(found.verdict, Verdict::NotShown);
    same(number(&judged, "case:total@calling/A"), 54_000.0);
    assert!(found.notes.iter().any(|note| note.contains("in both sectors: 57,000 (pass)")), "{:?}", found.notes);
}

/// A limit nobody knows is never a pass, and what a person will hold against the document is the lesser reading:
/// 54,000, not 57,000; and of two modes the weaker.
#[test]
fn a_missing_limit_is_not_shown_and_the_lesser_reading_is_found() {
    let missing = "A = { missing = \"the page is torn\", see = \"clause 7\" }";
    let rules = ruleset("unknown", &TOTAL.replace("A = 57000", missing));
    let judged = run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &rules);
    let found = finding(&judged, "case:total@calling/A");
    assert_eq!((found.verdict, found.margin), (Verdict::NotShown, None));
    same(number(&judged, "case:total@calling/A"), 54_000.0);
    assert!(found.would_show.as_deref().is_some_and(|text| text.contains("clause 7")), "{:?}", found.would_show);
    let more = "[[display]]\nid = \"dim\"\nshow = [{ head = \"a\", colour = \"red\", pattern = \"quarter\" }]\n\
                [[pattern]]\nid = \"quarter\"\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"200 ms\"]]\n\
                [[mode]]\nid = \"day\"\npurpose = \"calling\"\ndisplays = [\"all\"]\n\
                [[mode]]\nid = \"night\"\npurpose = \"calling\"\ndisplays = [\"dim\"]\n";
    let judged = run(&package(&head("a", "lamp", "front", ""), &show("a"), more), &rules);
    assert_eq!(finding(&judged, "case:total@calling/A").scope.mode.as_deref(), Some("night"));
    same(number(&judged, "case:total@calling/A"), 27_000.0);
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

/// Without limits from memory nothing is judged by one, and other limits are judged as before.
#[test]
fn limits_from_memory_can_be_left_out() {
    let memory = LEAST.replace("cite = { own = \"a case\" }", "cite = { own = \"a case\", basis = \"memory\" }");
    let rules = ruleset("both", &format!("{TOTAL}{memory}"));
    let text = package(&head("a", "lamp", "front", ""), &show("a"), "");
    let beams = beams();
    let (_dir, path) = folder(&files(&text, &rules, &beams));
    let (package, rulesets) = load_file(&path, &[]);
    let with = judge(&package, &rulesets, terms());
    assert_eq!(verdict(&with, "case:least@calling/A"), Verdict::Pass);
    assert_eq!((with.summary.required.on_memory, with.summary.status().code()), (1, 0));
    let without = judge(&package, &rulesets, wayproof::judge::Terms { without_memory: true, ..terms() });
    assert_eq!(verdict(&without, "case:least@calling/A"), Verdict::NotShown);
    same(number(&without, "case:least@calling/A"), 3_000.0);
    assert_eq!(verdict(&without, "case:total@calling/A"), Verdict::Pass);
    assert_eq!(without.summary.status().code(), 3);
}

/// `at-most` on a lower bound: exceeded by what is known it fails, otherwise it is not shown.
#[test]
fn at_most_on_a_lower_bound() {
    let rule = |limit: &str| ruleset("both", &TOTAL.replace("at-least", "at-most").replace("57000", limit));
    let heads = format!("{}{}", head("a", "narrow", "front", "tilt = \"30 deg\""), head("b", "lamp", "front", ""));
    let package = package(&heads, &format!("{}{}", show("a"), show("b")), "");
    assert_eq!(verdict(&run(&package, &rule("56999")), "case:total@calling/A"), Verdict::Fail);
    assert_eq!(verdict(&run(&package, &rule("57001")), "case:total@calling/A"), Verdict::NotShown);
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
    let judged = run(&package(&arrow, &show("a"), ""), &rules);
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
    let body = "[[body]]\nid = \"rack\"\nwhen = \"door\"\nfrom = { ahead = \"1 m\", right = \"-5 m\", height = \"0 m\" }\nto = { ahead = \"2 m\", right = \"5 m\", height = \"2 m\" }\n";
    let heads = format!("{}{body}", head("b", "lamp", "front", ""));
    same(number(&run(&package(&heads, &show("b"), ""), &rules), "case:total@calling/A"), 57_000.0);
    same(number(&run(&package(&heads, &show("b"), &open), &rules), "case:total@calling/A"), 0.0);
}

/// A declared figure is an estimate: it may pass, and the status still is 3.
#[test]
fn an_estimate_never_gives_status_0() {
    let rules = ruleset("both", &LEAST.replace("1000", "100"));
    let judged = run(&package(&head("a", "guess", "front", ""), &show("a"), ""), &rules);
    assert_eq!(verdict(&judged, "case:least@calling/A"), Verdict::Pass);
    assert_eq!(judged.summary.required.on_estimate, 1);
    assert_eq!(judged.summary.status().code(), 3);
    // At 45 degrees, I = 100 cos(45)^m with m = ln 0.5 / ln cos 60 = 1: 70.71 cd, times 30.
    same(number(&judged, "case:least@calling/A"), 100.0 * std::f64::consts::FRAC_1_SQRT_2 * 30.0);
}

/// U of one head is 10 % of 57,000 = 5,700; two heads under one report add up to 11,400.
#[test]
fn the_guarded_decision() {
    let limit = |limit: &str| ruleset("both", &TOTAL.replace("57000", limit));
    let guarded = "[decision]\nrule = \"guarded\"\n";
    let one = package(&head("a", "lamp", "front", ""), &show("a"), guarded);
    assert_eq!(verdict(&run(&one, &limit("51301")), "case:total@calling/A"), Verdict::TooClose);
    assert_eq!(verdict(&run(&one, &limit("51299")), "case:total@calling/A"), Verdict::Pass);
    assert_eq!(verdict(&run(&one, &limit("62699")), "case:total@calling/A"), Verdict::TooClose);
    assert_eq!(verdict(&run(&one, &limit("62701")), "case:total@calling/A"), Verdict::Fail);
    let heads = format!("{}{}", head("a", "lamp", "front", ""), head("b", "lamp", "front", ""));
    let two = package(&heads, &format!("{}{}", show("a"), show("b")), guarded);
    assert_eq!(verdict(&run(&two, &limit("102601")), "case:total@calling/A"), Verdict::TooClose);
    assert_eq!(verdict(&run(&two, &limit("102599")), "case:total@calling/A"), Verdict::Pass);
    // The amber emitter states no uncertainty: then nothing is decided.
    let amber = "{ head = \"a\", colour = \"amber\", pattern = \"half\" }";
    let none = package(&head("a", "lamp", "front", ""), amber, guarded);
    assert_eq!(verdict(&run(&none, &limit("1")), "case:total@calling/A"), Verdict::NotShown);
}

/// An exception holds between its dates, and only for what does not pass.
#[test]
fn exceptions_hold_between_their_dates() {
    let rules = ruleset("both", &TOTAL.replace("57000", "99999"));
    let exception = |finding: &str, until: &str| {
        format!(
            "[[exception]]\nfinding = \"{finding}\"\naccepted-by = \"the buyer\"\nreference = \"letter 1\"\non = 2026-01-01\nuntil = {until}\nreason = \"why\"\n"
        )
    };
    let judged = |more: &str| run(&package(&head("a", "lamp", "front", ""), &show("a"), more), &rules);
    let held = judged(&exception("case:total@calling/A", "2027-01-01"));
    assert_eq!(verdict(&held, "case:total@calling/A"), Verdict::Excepted);
    assert_eq!(held.summary.status().code(), 0);
    let ended = judged(&exception("case:total@calling/A", "2026-02-01"));
    assert_eq!(verdict(&ended, "case:total@calling/A"), Verdict::Fail);
    let idle = judged(&exception("case:total@calling/B", "2027-01-01"));
    assert_eq!(idle.idle_exceptions, vec![0]);
}

/// A level is the key, else the band; on none, a head counts nowhere and the height rule fails.
#[test]
fn levels_by_key_by_height_and_below_every_band() {
    let height = r#"
[[rule]]
id = "height"
says = "a case"
quantity = "optical-centre-height"
unit = "in"
require = "between"
cite = { own = "a case" }
limits = [{ level = "lower", from = 18, to = 62 }]
"#;
    let total = TOTAL.replace("purpose = \"calling\",", "purpose = \"calling\", level = \"lower\",");
    let rules = ruleset("both", &format!("{total}{height}"));
    let at = |inches: &str, more: &str| {
        let head = head("a", "lamp", "front", more).replace("height = \"1 m\"", &format!("height = \"{inches} in\""));
        run(&package(&head, &show("a"), ""), &rules)
    };
    let on_limit = at("62", "");
    assert_eq!(verdict(&on_limit, "case:height@lower/a"), Verdict::Pass);
    same(number(&on_limit, "case:total@calling/lower/A"), 57_000.0);
    let keyed = at("63", "level = \"lower\"");
    assert_eq!(verdict(&keyed, "case:height@lower/a"), Verdict::Fail);
    same(number(&keyed, "case:total@calling/lower/A"), 57_000.0);
    let below = at("17", "");
    assert_eq!(verdict(&below, "case:height@a"), Verdict::Fail);
    same(number(&below, "case:total@calling/lower/A"), 0.0);
}

/// Two modes serve the purpose: the worst is reported by name. A later display takes a head, and the tool says so.
#[test]
fn the_worst_mode_and_the_later_display() {
    let rules = ruleset("both", TOTAL);
    let more = "[[display]]\nid = \"dim\"\nshow = [{ head = \"a\", colour = \"red\", pattern = \"quarter\" }]\n\
                [[pattern]]\nid = \"quarter\"\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"200 ms\"]]\n\
                [[mode]]\nid = \"day\"\npurpose = \"calling\"\ndisplays = [\"all\"]\n\
                [[mode]]\nid = \"night\"\npurpose = \"calling\"\ndisplays = [\"dim\", \"all\"]\n";
    let judged = run(&package(&head("a", "lamp", "front", ""), &show("a"), more), &rules);
    let found = finding(&judged, "case:total@calling/A");
    assert_eq!(found.scope.mode.as_deref(), Some("night"), "the later display in the file wins: a quarter, not half");
    same(number(&judged, "case:total@calling/A"), 28_500.0);
    assert_eq!(judged.overrides.len(), 1);
    assert_eq!((judged.overrides[0].1.winner.as_str(), judged.overrides[0].1.loser.as_str()), ("dim", "all"));
}

/// A purpose that no mode serves is not shown, and the wrong ruleset is one finding that fails.
#[test]
fn purposes_without_a_mode_and_rulesets_that_do_not_fit() {
    let rules = ruleset("both", &TOTAL.replace("calling", "blocking"));
    let judged = run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &rules);
    assert_eq!(verdict(&judged, "case:total@blocking/A"), Verdict::NotShown);
    let applies = "[applies]\nwhen = \"vehicle.length >= 25 ft\"\ncite = { own = \"a case\" }\n";
    let judged =
        run(&package(&head("a", "lamp", "front", ""), &show("a"), ""), &ruleset("both", &format!("{TOTAL}{applies}")));
    assert_eq!(verdict(&judged, "case:applies@vehicle"), Verdict::Fail);
    assert_eq!(verdict(&judged, "case:total@calling/A"), Verdict::NotApplicable);
    assert_eq!(judged.summary.status().code(), 1);
}

/// An overlay changes a limit by name and says by whose authority; the finding keeps its id.
#[test]
fn an_overlay_speaks_by_authority() {
    let overlay = r#"
format = 1
[overlay]
id = "county"
title = "a county"
edition = "1"
extends = "case.toml"
authority = "a county (invented)"
reference = "rule 7"
[[change]]
rule = "total"
cite = { own = "because" }
limits = [{ purpose = "calling", zones = { A = 57001, C = 1 } }]
"#;
    let rules = ruleset("both", TOTAL);
    let text = package(&head("a", "lamp", "front", ""), &show("a"), "");
    let beams = beams();
    let mut all = files(&text, &rules, &beams);
    all.push(("county.toml", overlay));
    let (dir, path) = folder(&all);
    let county = dir.path().join("county.toml");
    let (package, rulesets) = load_file(&path, &[county.to_str().unwrap()]);
    let judged = judge(&package, &rulesets, terms());
    let found = finding(&judged, "case:total@calling/A");
    assert_eq!(found.verdict, Verdict::Fail);
    assert_eq!(found.source.authority.as_deref(), Some("a county (invented), rule 7"));
    assert_eq!(verdict(&judged, "case:total@calling/C"), Verdict::Fail, "an added limit is judged too");
    assert_eq!(rulesets[0].overlays[0].id, "county");
}

//! Lamps whose clocks run free of each other on one wire, and what counts against the alternators, by values found by hand.
//!
//! The vehicle: two lamps of 2 A that light in turn on one clock and a beacon of 1 A on none, each lit 40 % of the time,
//! hang on 10 m of 2.5 mm2, solid and at 20 degC: 0.017241 / 2.5 x 20 = 0.137928 ohm out and back.

mod common;

use common::{finding, judge_files, verdict};
use wayproof::judge::{Judged, Verdict};
use wayproof::package::Grade;

const PACKAGE: &str = r#"
format = 1
rules = ["rules.toml"]
catalogues = ["catalogue.toml"]

[vehicle]
name = "One wire"
length = "6 m"
width = "2 m"
height = "2 m"

[[head]]
id = "lamp-left"
model = "lamp"
groups = ["pair"]
at = { behind-front = "1 m", right = "-0.5 m", height = "1 m" }
faces = "front"
circuit = "lamps"
clock = "main"
mirror = true

[[head]]
id = "beacon"
model = "small-lamp"
at = { behind-front = "2 m", right = "0 m", height = "1.9 m" }
faces = "front"
circuit = "lamps"

[[pattern]]
id = "in-turn"
period = "1 s"
pulses = [["0 ms", "400 ms"]]

[[display]]
id = "all"
show = [
  { group = "pair", colour = "red", pattern = "in-turn", phase = { left = "0 ms", right = "500 ms" } },
  { head = "beacon", colour = "red", pattern = "in-turn" },
]

[[mode]]
id = "on-scene"
purpose = "blocking"
displays = ["all"]

[supply]
system = "12 V"

[[battery]]
id = "chassis"
chemistry = "lead"

[[battery]]
id = "house"
chemistry = "lithium"

[[alternator]]
id = "alternator"
hot-idle = { output = "20 A", at = "93 degC", evidence = { grade = "GRADE" } }
charges = ["chassis"]

[[circuit]]
id = "lamps"
from = "chassis"
wire = { size = "2.5 mm2", strand = "solid", length = "10 m", temperature = "20 degC" }

[[circuit]]
id = "charger-feed"
from = "chassis"
wire = { size = "10 mm2", strand = "solid", length = "1 m", temperature = "20 degC" }

[[converter]]
id = "charger"
from = "FEED"
voltage = "12 V"
output = "10 A"
efficiency = "80 %"
charges = "house"
"#;

const CATALOGUE: &str = r#"
format = 1

[[model]]
id = "lamp"
driver = "constant-current"

[[model.emitter]]
colour = "red"
intensity = { file = "light.csv", frame = "vertical-axis", at = "12.8 V" }
current = { lit = "2 A", standby = "0 A", at = "12.8 V" }
evidence = { grade = "maker" }

[[model]]
id = "small-lamp"
driver = "constant-current"

[[model.emitter]]
colour = "red"
intensity = { file = "light.csv", frame = "vertical-axis", at = "12.8 V" }
current = { lit = "1 A", standby = "0 A", at = "12.8 V" }
evidence = { grade = "maker" }
"#;

/// Rules on one quantity, each with its own limit.
fn rules(rows: &[(&str, &str, &str, &str, &str)]) -> String {
    let head = "format = 1\n\n[ruleset]\nid = \"own\"\ntitle = \"Own\"\nabout = \"a test\"\nedition = \"1\"\ndefers-to = \"nobody\"\n";
    let row = |(id, quantity, unit, require, limit): &(&str, &str, &str, &str, &str)| {
        format!(
            "\n[[rule]]\nid = \"{id}\"\nsays = \"A test.\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\n\
             require = \"{require}\"\ncite = {{ own = \"a test\" }}\nlimits = [{{ {limit} }}]\n"
        )
    };
    rows.iter().fold(head.to_owned(), |text, one| text + &row(one))
}

fn judged(feed: &str, grade: &str, rows: &[(&str, &str, &str, &str, &str)]) -> Judged {
    judged_as(&PACKAGE.replace("FEED", feed).replace("GRADE", grade), rows)
}

/// The vehicle with some of its text replaced, each found once at least, and with more at its end.
fn changed(changes: &[(&str, &str)], more: &str) -> String {
    let package = PACKAGE.replace("FEED", "chassis").replace("GRADE", "maker");
    let change = |text: String, (old, new): &(&str, &str)| {
        assert!(text.contains(old), "{old}");
        text.replace(old, new)
    };
    changes.iter().fold(package, change) + more
}

/// Whether a figure of something lies between two that are this close together.
fn lies_between(package: &str, quantity: &str, unit: &str, place: &str, (low, high): (f64, f64)) {
    let purpose = if place.contains('/') { "purpose = \"blocking\", " } else { "" };
    let limit = |value: f64| format!("{purpose}value = {value}");
    let (low, high) = (limit(low), limit(high));
    let rows = [("low", quantity, unit, "at-least", low.as_str()), ("high", quantity, unit, "at-least", high.as_str())];
    let judged = judged_as(package, &rows);
    assert_eq!(verdict(&judged, &format!("own:low@{place}")), Verdict::Pass, "{place} {low}");
    assert_eq!(verdict(&judged, &format!("own:high@{place}")), Verdict::Fail, "{place} {high}");
}

const IDLE: [(&str, &str, &str, &str, &str); 1] =
    [("idle", "hot-idle-margin", "A", "at-least", "purpose = \"blocking\", value = 0")];

/// 5 A of minimum load on the house battery.
const HOUSE_LOAD: &str = r#"
[[circuit]]
id = "house-feed"
from = "house"
wire = { size = "10 mm2", length = "1 m" }

[[load]]
id = "terminal"
circuit = "house-feed"
current = "5 A"
at = "13.8 V"
driver = "constant-current"
kind = "minimum"
evidence = { grade = "maker" }
"#;

fn judged_as(package: &str, rows: &[(&str, &str, &str, &str, &str)]) -> Judged {
    let light = "V\\H,-90,0,90\n-90,1,1,1\n0,1,100,1\n90,1,1,1\n";
    judge_files(&[
        ("package.toml", package),
        ("catalogue.toml", CATALOGUE),
        ("light.csv", light),
        ("rules.toml", &rules(rows)),
    ])
}

/// Lamps that light in turn are never lit together, whatever else runs free beside them. At 12 V: surely 2 A (2.299 %),
/// at worst 3 A (3.448 %); all three lamps at once would be 5 A (5.747 %).
#[test]
fn lamps_in_turn_are_not_added_because_a_beacon_runs_free() {
    let drop = |id, limit| (id, "voltage-drop-of-source", "%", "at-most", limit);
    let rows = [
        drop("under-sure", "value = 2.29"),
        drop("over-sure", "value = 2.31"),
        drop("under-worst", "value = 3.44"),
        drop("over-worst", "value = 3.46"),
    ];
    let judged = judged("charger-feed", "maker", &rows);
    let of = |rule: &str| verdict(&judged, &format!("own:{rule}@lamps"));
    assert_eq!(of("under-sure"), Verdict::Fail);
    assert_eq!((of("over-sure"), of("under-worst")), (Verdict::NotShown, Verdict::NotShown));
    assert_eq!(of("over-worst"), Verdict::Pass);
}

/// 20 A less the lamps' mean of 2 A (0.4 x (2 + 2 + 1) A) and the converter's 12 V x 10 A / (0.8 x 13.8 V) = 10.870 A
/// leave 7.130 A where the converter hangs on the battery. On its circuit, 0.0034482 ohm out and back, it draws 10.899 A:
/// 150 W at 13.8 V - 0.0034482 ohm x I; 7.101 A are left.
#[test]
fn a_converter_counts_at_full_output_wherever_it_hangs() {
    for (feed, left) in [("chassis", (7.12, 7.14)), ("charger-feed", (7.095, 7.105))] {
        let package = PACKAGE.replace("FEED", feed).replace("GRADE", "maker");
        lies_between(&package, "hot-idle-margin", "A", "blocking/chassis", left);
    }
}

/// What a lamp on no circuit draws hangs on some battery, nobody knows which; without a battery nothing is known at all.
#[test]
fn a_lamp_on_no_circuit_leaves_the_batteries_open() {
    let rows = [
        IDLE[0],
        ("time", "engine-off-time", "h", "at-least", "purpose = \"blocking\", value = 0"),
        ("used", "reserve-used-in-10-min", "%", "at-most", "purpose = \"blocking\", value = 100"),
    ];
    let bare =
        changed(&[("faces = \"front\"\ncircuit = \"lamps\"\n\n[[pattern", "faces = \"front\"\n\n[[pattern")], "");
    let judged = judged_as(&bare, &rows);
    for rule in ["idle", "time", "used"] {
        for battery in ["chassis", "house"] {
            let found = finding(&judged, &format!("own:{rule}@blocking/{battery}"));
            assert_eq!(found.verdict, Verdict::NotShown, "{rule} {battery}");
            assert!(format!("{found:?}").contains("no `circuit` is named for beacon"), "{found:?}");
        }
    }
    let bare = changed(&[("circuit = \"lamps\"\n", "")], "");
    let bare = bare.split("[[battery]]").next().unwrap();
    let judged = judged_as(bare, &rows);
    let open: Vec<_> = judged.findings.iter().filter(|one| one.verdict == Verdict::NotShown).collect();
    assert_eq!((judged.findings.len(), open.len()), (3, 3));
    assert!(open.iter().all(|one| format!("{one:?}").contains("no [[battery]] is described")));
}

/// The charger's 10 A less the 5 A on the house battery leave 5 A there; with nothing that charges it, it is open.
#[test]
fn a_battery_behind_a_converter_lives_on_what_that_gives() {
    let charged = changed(&[], HOUSE_LOAD);
    lies_between(&charged, "hot-idle-margin", "A", "blocking/house", (4.99, 5.01));
    let alone = changed(&[("charges = \"house\"\n", "")], HOUSE_LOAD);
    let judged = judged_as(&alone, &IDLE);
    let found = finding(&judged, "own:idle@blocking/house");
    assert_eq!(found.verdict, Verdict::NotShown);
    assert!(format!("{found:?}").contains("no alternator and no converter charges it"), "{found:?}");
}

/// One alternator of 20 A for 2 A here and 5 A there leaves 13 A at both, not 18 A and 15 A.
#[test]
fn an_alternator_of_two_batteries_gives_its_current_once() {
    let charger = PACKAGE.split("[[converter]]").nth(1).unwrap().replace("FEED", "chassis");
    let charger = format!("[[converter]]{charger}");
    let shared = changed(
        &[("charges = [\"chassis\"]", "charges = [\"chassis\", \"house\"]"), (charger.as_str(), "")],
        HOUSE_LOAD,
    );
    for battery in ["chassis", "house"] {
        lies_between(&shared, "hot-idle-margin", "A", &format!("blocking/{battery}"), (12.99, 13.01));
    }
}

/// An output in cool air, or at no stated temperature, is none hot at idle.
#[test]
fn an_output_that_is_not_hot_shows_nothing() {
    for (at, wanted) in [
        ("at = \"93 degC\", ", Verdict::Pass),
        ("at = \"92 degC\", ", Verdict::NotShown),
        ("at = \"20 degC\", ", Verdict::NotShown),
        ("", Verdict::NotShown),
    ] {
        let judged = judged_as(&changed(&[("at = \"93 degC\", ", at)], ""), &IDLE);
        assert_eq!(verdict(&judged, "own:idle@blocking/chassis"), wanted, "{at}");
    }
}

/// Lamps behind a converter on a circuit: it draws somewhere from nothing to 150 W at 12 V, 12.5 A and a little for its
/// wire. Of 100 min at 25 A ten minutes take I / 250 A: 0 to 5 %.
#[test]
fn lamps_behind_a_converter_take_of_the_reserve() {
    let package = changed(
        &[
            (
                "id = \"chassis\"\nchemistry = \"lead\"",
                "id = \"chassis\"\nchemistry = \"lead\"\nreserve = \"100 min\"\nexponent = 1",
            ),
            ("id = \"lamps\"\nfrom = \"chassis\"", "id = \"lamps\"\nfrom = \"charger\""),
            ("id = \"charger\"\nfrom = \"chassis\"", "id = \"charger\"\nfrom = \"charger-feed\""),
            ("charges = \"house\"\n", ""),
        ],
        "",
    );
    let used = |id, limit| (id, "reserve-used-in-10-min", "%", "at-most", limit);
    let rows =
        [used("over", "purpose = \"blocking\", value = 5.1"), used("under", "purpose = \"blocking\", value = 4.9")];
    let judged = judged_as(&package, &rows);
    assert_eq!(verdict(&judged, "own:over@blocking/chassis"), Verdict::Pass);
    assert_eq!(verdict(&judged, "own:under@blocking/chassis"), Verdict::NotShown);
}

/// 600 W at 120 V are 5 A at least, half of 10 A; how much more the power factor asks for is not known. 5 A are 5 A, at
/// whatever voltage they are stated.
#[test]
fn a_power_from_the_shore_is_a_lower_bound() {
    for (draw, wanted) in [
        ("power = \"600 W\"", [Verdict::Fail, Verdict::NotShown]),
        ("current = \"5 A\"", [Verdict::Fail, Verdict::Pass]),
        ("current = \"5 A\"\nat = \"240 V\"", [Verdict::Fail, Verdict::Pass]),
    ] {
        let shore = format!(
            "\n[[shore]]\nid = \"inlet\"\nrated = \"10 A\"\nvoltage = \"120 V\"\n\n[[load]]\nid = \"battery-charger\"\n\
             shore = \"inlet\"\n{draw}\nkind = \"continuous\"\nevidence = {{ grade = \"maker\" }}\n"
        );
        let used = |id, limit| (id, "shore-use", "%", "at-most", limit);
        let judged = judged_as(&changed(&[], &shore), &[used("under", "value = 49.9"), used("over", "value = 50.1")]);
        let found = ["under", "over"].map(|rule| verdict(&judged, &format!("own:{rule}@inlet")));
        assert_eq!(found, wanted, "{draw}");
    }
}

/// A balance is known no better than the alternator's figure.
#[test]
fn a_balance_rests_on_how_well_the_alternators_are_known() {
    let rows = [("idle", "hot-idle-margin", "A", "at-least", "purpose = \"blocking\", value = 0")];
    for (word, grade) in [("laboratory", Grade::Maker), ("maker", Grade::Maker), ("estimate", Grade::Estimate)] {
        let judged = judged("chassis", word, &rows);
        assert_eq!(finding(&judged, "own:idle@blocking/chassis").evidence, Some(grade), "{word}");
    }
}

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
wire = { size = "10 mm2", length = "1 m" }

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
    let package = PACKAGE.replace("FEED", feed).replace("GRADE", grade);
    let light = "V\\H,-90,0,90\n-90,1,1,1\n0,1,100,1\n90,1,1,1\n";
    judge_files(&[
        ("package.toml", &package),
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
/// leave 7.130 A, whether the converter hangs on the battery or on a circuit of it.
#[test]
fn a_converter_counts_at_full_output_wherever_it_hangs() {
    for feed in ["chassis", "charger-feed"] {
        let margin = |id, limit| (id, "hot-idle-margin", "A", "at-least", limit);
        let rows = [
            margin("less", "purpose = \"blocking\", value = 7.12"),
            margin("more", "purpose = \"blocking\", value = 7.14"),
        ];
        let judged = judged(feed, "maker", &rows);
        assert_eq!(verdict(&judged, "own:less@blocking/chassis"), Verdict::Pass, "{feed}");
        assert_eq!(verdict(&judged, "own:more@blocking/chassis"), Verdict::Fail, "{feed}");
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

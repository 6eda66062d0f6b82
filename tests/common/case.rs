//! A small package to work by hand: lamps of simple beams, one ruleset of four sectors, one display, one mode.

#![allow(dead_code)] // Each test file uses its own part of this.

use wayproof::judge::{Found, Judged};
use wayproof::measure::{Conduct, Sample};
use wayproof::package::Package;
use wayproof::ruleset::Ruleset;
use wayproof::units::Degrees;

use super::{finding, folder, judge_files, load_file, survey};

/// A lamp of 100 cd everywhere in its front half, in a grid of 5-degree steps; amber the same.
pub const CATALOGUE: &str = r#"
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
id = "rise"
[[model.emitter]]
colour = "red"
intensity = { file = "rise.csv", frame = "vertical-axis" }
evidence = { grade = "laboratory", report = "lab-5" }
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
pub fn flat(value: &str) -> String {
    grid(&|_, _| value.to_owned(), &[-90, -60, -30, 0, 30, 60, 90])
}

pub fn grid(value: &dyn Fn(i32, i32) -> String, vertical: &[i32]) -> String {
    let across: Vec<i32> = (-18..=18).map(|step| step * 5).collect();
    let mut text = format!("V\\H,{}\n", across.iter().map(i32::to_string).collect::<Vec<_>>().join(","));
    for v in vertical {
        let row: Vec<String> = across.iter().map(|h| value(*h, *v)).collect();
        text.push_str(&format!("{v},{}\n", row.join(",")));
    }
    text
}

/// A ruleset with one sector of front points and the rule rows given.
pub fn ruleset(boundary: &str, rules: &str) -> String {
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

pub const TOTAL: &str = r#"
[[rule]]
id = "total"
says = "a case"
quantity = "zone-total-optical-power"
unit = "cd.s/min"
require = "at-least"
cite = { own = "a case" }
limits = [{ purpose = "calling", zones = { A = 57000 } }]
"#;

pub const LEAST: &str = r#"
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
pub fn package(heads: &str, shows: &str, more: &str) -> String {
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

pub const MODE: &str = "[[mode]]\nid = \"m\"\npurpose = \"calling\"\ndisplays = [\"all\"]";

pub fn head(id: &str, model: &str, faces: &str, more: &str) -> String {
    format!(
        "[[head]]\nid = \"{id}\"\nmodel = \"{model}\"\nat = {{ ahead = \"0 m\", right = \"0 m\", height = \"1 m\" }}\nfaces = \"{faces}\"\n{more}\n"
    )
}

pub fn show(head: &str) -> String {
    format!("{{ head = \"{head}\", colour = \"red\", pattern = \"half\" }},")
}

/// The files of a case; beams are written beside the catalogue.
pub fn files<'f>(package: &'f str, rules: &'f str, beams: &'f [String; 4]) -> Vec<(&'f str, &'f str)> {
    vec![
        ("package.toml", package),
        ("case.toml", rules),
        ("catalogue.toml", CATALOGUE),
        ("flat.csv", &beams[0]),
        ("narrow.csv", &beams[1]),
        ("slope.csv", &beams[2]),
        ("rise.csv", &beams[3]),
    ]
}

pub fn beams() -> [String; 4] {
    [
        flat("100"),
        // 100 cd between -20 and 20 degrees of V only.
        grid(&|_, _| "100".to_owned(), &[-20, 0, 20]),
        // 180 - H: brighter to the left.
        grid(&|h, _| (180 - h).to_string(), &[-90, 0, 90]),
        // 100 + V: brighter above.
        grid(&|_, v| (100 + v).to_string(), &[-90, 0, 90]),
    ]
}

pub fn run(package: &str, rules: &str) -> Judged {
    judge_files(&files(package, rules, &beams()))
}

pub fn number(judged: &Judged, id: &str) -> f64 {
    match &finding(judged, id).found {
        Found::Number(number) => *number,
        other => panic!("{id}: {other:?}"),
    }
}

pub fn same(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{found}, expected {expected}");
}

/// What the first head gives at a bearing in the horizontal plane, in cd.s/min.
pub fn point(package: &str, rules: &str, bearing: f64) -> f64 {
    let (_dir, path) = folder(&files(package, rules, &beams()));
    let (package, rulesets): (Package, Vec<Ruleset>) = load_file(&path, &[]);
    let conduct = Conduct::new(&package);
    let survey = survey(&conduct, &rulesets[0].protocol);
    match survey.detail(&survey.lit[0], Degrees::new(bearing), Degrees::ZERO).sample {
        Sample::Power(power) => power.value(),
        other => panic!("{bearing}: {other:?}"),
    }
}

//! Laws that hold for any package, on generated small ones that go through the files like a user's.
//!
//! Nothing here has a value typed in: a package is generated, changed in a way whose effect is known (turned,
//! mirrored, dimmed, shifted, a head taken out), and the quantities of both are compared. The loss of one head is
//! checked against brute force, which rebuilds the package without each head in turn.

mod common;

use std::fmt::Write as _;

use common::{folder, load_file, measure, survey};
use proptest::collection::vec;
use proptest::prelude::*;
use wayproof::measure::{Boundary, Conduct, LitHead, Sample, Survey};
use wayproof::package::{Package, Role};
use wayproof::quantity::{Ask, Value};
use wayproof::ruleset::Ruleset;

const LIGHT: [&str; 3] = ["zone-total-optical-power", "least-point-optical-power", "least-off-plane-optical-power"];
const BOUNDARIES: [Boundary; 2] = [Boundary::Both, Boundary::First];

/// A head as generated; lengths in metres, angles in degrees.
#[derive(Clone, Debug)]
struct Lamp {
    model: usize,
    ahead: f64,
    right: f64,
    height: f64,
    faces: f64,
    tilt: f64,
    roll: f64,
    pattern: usize,
    phase_ms: u32,
}

/// Two opposite corners: ahead, right, height.
type Corners = [(f64, f64, f64); 2];

#[derive(Clone, Debug)]
struct Scene {
    lamps: Vec<Lamp>,
    boxes: Vec<Corners>,
    /// Two random tables of candela, 9 H angles by 5 V angles each.
    beams: [Vec<f64>; 2],
}

/// Over all directions; over all but the poles' caps, so that tilted heads have points without data; all round.
const MODELS: [(&str, &str); 3] = [("whole", ""), ("narrow", ""), ("beacon", "all-round = true\n")];
const PATTERNS: [&str; 4] = [
    "period = \"800 ms\"\npulses = [[\"0 ms\", \"400 ms\"]]",
    "period = \"800 ms\"\npulses = [[\"0 ms\", \"50 ms\"], [\"100 ms\", \"150 ms\", \"60 %\"]]",
    "period = \"730 ms\"\npulses = [[\"10 ms\", \"140 ms\"]]",
    // No gap of 160 ms: lit, and not counted.
    "period = \"200 ms\"\npulses = [[\"0 ms\", \"100 ms\"]]",
];

fn lamp() -> impl Strategy<Value = Lamp> {
    let place = (-4.0..4.0, -1.2..1.2, 0.5..3.0);
    let look = (0.0..360.0, -18.0..18.0, -20.0..20.0);
    (0..MODELS.len(), place, look, 0..PATTERNS.len(), 0..800_u32).prop_map(
        |(model, (ahead, right, height), (faces, tilt, roll), pattern, phase_ms)| Lamp {
            model,
            ahead,
            right,
            height,
            faces,
            tilt,
            roll,
            pattern,
            phase_ms,
        },
    )
}

fn scene() -> impl Strategy<Value = Scene> {
    let corner = || (-5.0..5.0, -2.0..2.0, 0.2..3.5);
    let boxes = vec((corner(), corner()).prop_map(|(one, other)| [one, other]), 0..3);
    let beam = || vec(0.0..60.0, 45);
    (vec(lamp(), 2..7), boxes, (beam(), beam())).prop_map(|(lamps, boxes, (one, other))| Scene {
        lamps,
        boxes,
        beams: [one, other],
    })
}

fn grid(values: &[f64], h: &[i32], v: &[i32], factor: f64) -> String {
    let mut text = format!("V\\H,{}\n", h.iter().map(i32::to_string).collect::<Vec<_>>().join(","));
    for (row, v) in values.chunks(h.len()).zip(v) {
        let cells: Vec<String> = row.iter().map(|value| (value * factor).to_string()).collect();
        writeln!(text, "{v},{}", cells.join(",")).unwrap();
    }
    text
}

impl Scene {
    /// The package as a user would write it, with its catalogue and intensity files; candela times `factor`.
    /// `side` says which of a head and its mirrored twin is lit.
    fn files(&self, factor: f64, side: &str) -> Vec<(&'static str, String)> {
        let mut text = String::from(
            "format = 1\ncatalogues = [\"lamps.toml\"]\n[vehicle]\nname = \"case\"\nlength = \"6 m\"\nwidth = \"2 m\"\nheight = \"3 m\"\n",
        );
        let place = |(ahead, right, height): (f64, f64, f64)| {
            format!("{{ ahead = \"{ahead} m\", right = \"{right} m\", height = \"{height} m\" }}")
        };
        for (at, [from, to]) in self.boxes.iter().enumerate() {
            let (from, to) = (place(*from), place(*to));
            writeln!(text, "[[body]]\nid = \"box-{at}\"\nfrom = {from}\nto = {to}").unwrap();
        }
        let mut shows = String::new();
        for (at, lamp) in self.lamps.iter().enumerate() {
            let (model, _) = MODELS[lamp.model];
            let at_place = place((lamp.ahead, lamp.right, lamp.height));
            writeln!(
                text,
                "[[head]]\nid = \"h{at}-left\"\nmodel = \"{model}\"\nmirror = true\nat = {at_place}\nfaces = \"{} deg\"\ntilt = \"{} deg\"\nroll = \"{} deg\"",
                lamp.faces, lamp.tilt, lamp.roll
            )
            .unwrap();
            writeln!(
                shows,
                "  {{ head = \"h{at}-{side}\", colour = \"red\", pattern = \"p{}\", phase = \"{} ms\" }},",
                lamp.pattern, lamp.phase_ms
            )
            .unwrap();
        }
        for (at, pattern) in PATTERNS.iter().enumerate() {
            writeln!(text, "[[pattern]]\nid = \"p{at}\"\n{pattern}").unwrap();
        }
        writeln!(text, "[[display]]\nid = \"all\"\nshow = [\n{shows}]").unwrap();
        text.push_str("[[mode]]\nid = \"m\"\npurpose = \"calling\"\ndisplays = [\"all\"]\n");
        let mut catalogue = String::from("format = 1\n");
        for (name, more) in MODELS {
            let file = if name == "narrow" { "narrow.csv" } else { "whole.csv" };
            writeln!(
                catalogue,
                "[[model]]\nid = \"{name}\"\nhanded = true\n{more}[[model.emitter]]\ncolour = \"red\"\nintensity = {{ file = \"{file}\", frame = \"vertical-axis\" }}\nevidence = {{ grade = \"laboratory\" }}"
            )
            .unwrap();
        }
        let across: Vec<i32> = (-4..=4).map(|step| step * 45).collect();
        // The whole circle must meet itself at 180 degrees, and a pole is one direction: one value a row there.
        let mut whole = self.beams[0].clone();
        for row in whole.chunks_mut(9) {
            row[8] = row[0];
        }
        for row in [0, 4] {
            let pole = whole[row * 9];
            whole[row * 9..row * 9 + 9].fill(pole);
        }
        let front: Vec<i32> = (-4..=4).map(|step| step * 22).collect();
        vec![
            ("package.toml", text),
            ("lamps.toml", catalogue),
            ("whole.csv", grid(&whole, &across, &[-90, -45, 0, 45, 90], factor)),
            ("narrow.csv", grid(&self.beams[1], &front, &[-14, -7, 0, 7, 14], factor)),
        ]
    }

    fn load(&self) -> (Package, Ruleset) {
        self.load_as(1.0, "left")
    }

    fn load_as(&self, factor: f64, side: &str) -> (Package, Ruleset) {
        let files = self.files(factor, side);
        let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let (_dir, path) = folder(&files);
        let (package, mut rulesets) = load_file(&path, &["zones-one-level"]);
        (package, rulesets.remove(0))
    }

    /// Turned a quarter clockwise about the vehicle's centre: what was ahead is now to the right.
    fn turned(&self) -> Self {
        let turn = |(ahead, right, height): (f64, f64, f64)| (-right, ahead, height);
        let lamps = self.lamps.iter().map(|lamp| {
            let (ahead, right, _) = turn((lamp.ahead, lamp.right, 0.0));
            Lamp { ahead, right, faces: lamp.faces + 90.0, ..lamp.clone() }
        });
        let boxes = self.boxes.iter().map(|corners| corners.map(turn)).collect();
        Self { lamps: lamps.collect(), boxes, beams: self.beams.clone() }
    }

    fn without(&self, at: usize) -> Self {
        let mut other = self.clone();
        other.lamps.remove(at);
        other
    }

    fn only(&self, at: usize) -> Self {
        Self { lamps: vec![self.lamps[at].clone()], ..self.clone() }
    }
}

fn ask(zone: usize, boundary: Boundary) -> Ask<'static> {
    Ask {
        purpose: Some("calling"),
        leads_to: None,
        level: None,
        zone: Some(zone),
        boundary,
        permitted: None,
        with_uncertainty: false,
        device: Default::default(),
        listen: None,
        item: None,
    }
}

/// What is known of a quantity in a zone: at least, at most.
fn range(survey: &Survey<'_>, name: &str, zone: usize, boundary: Boundary) -> (f64, f64) {
    match measure(name, survey, &ask(zone, boundary))[0].value {
        Value::Number { low, high, .. } => (low, high),
        ref other => panic!("{name}: {other:?}"),
    }
}

/// Each light quantity in each zone and reading.
fn light(package: &Package, ruleset: &Ruleset) -> Vec<(&'static str, usize, Boundary, (f64, f64))> {
    let conduct = Conduct::new(package);
    let survey = survey(&conduct, &ruleset.protocol);
    let mut values = Vec::new();
    for name in LIGHT {
        for zone in 0..ruleset.protocol.zones.sectors.len() {
            for boundary in BOUNDARIES {
                values.push((name, zone, boundary, range(&survey, name, zone, boundary)));
            }
        }
    }
    values
}

fn close(one: f64, other: f64) -> bool {
    one == other || (one - other).abs() <= 1e-9 * one.abs().max(other.abs())
}

fn both_close(one: (f64, f64), other: (f64, f64)) -> bool {
    close(one.0, other.0) && close(one.1, other.1)
}

fn counts(lit: &LitHead<'_>) -> bool {
    lit.role == Role::Warning && lit.flashing
}

/// Points of a zone that no head's signal reaches; heads without data there count as dark, or as signals.
fn points_without_signal(survey: &Survey<'_>, zone: usize, boundary: Boundary, no_data_is_dark: bool) -> usize {
    let protocol = survey.protocol;
    let points = protocol.zones.sectors[zone].points(boundary);
    let reached = |point: usize| {
        survey.lit.iter().filter(|lit| counts(lit)).any(|lit| match lit.at(0, point) {
            Sample::Power(power) => power.value() >= protocol.signal.at_least.value(),
            Sample::NoData => !no_data_is_dark,
            Sample::Hidden | Sample::Behind => false,
        })
    };
    points.iter().filter(|point| !reached(**point)).count()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn turning_the_vehicle_turns_the_zones(scene in scene()) {
        let (package, ruleset) = scene.load();
        let (turned, _) = scene.turned().load();
        let (conduct, turned) = (Conduct::new(&package), Conduct::new(&turned));
        let (survey, after) = (survey(&conduct, &ruleset.protocol), survey(&turned, &ruleset.protocol));
        for name in LIGHT {
            for (zone, boundary) in (0..4).flat_map(|zone| BOUNDARIES.map(|boundary| (zone, boundary))) {
                let one = range(&survey, name, zone, boundary);
                let other = range(&after, name, (zone + 1) % 4, boundary);
                prop_assert!(both_close(one, other), "{name} {zone} {boundary:?}: {one:?}, {other:?}");
            }
        }
    }

    #[test]
    fn mirrored_twins_swap_right_and_left(scene in scene()) {
        let mirrored = Scene {
            boxes: scene.boxes.iter().map(|box_| box_.map(|(ahead, right, height)| (ahead, -right, height))).collect(),
            ..scene.clone()
        };
        let (package, ruleset) = scene.load();
        let (twins, _) = mirrored.load_as(1.0, "right");
        let (conduct, twins) = (Conduct::new(&package), Conduct::new(&twins));
        let (survey, after) = (survey(&conduct, &ruleset.protocol), survey(&twins, &ruleset.protocol));
        for name in LIGHT {
            for (zone, twin) in [(0, 0), (1, 3), (2, 2), (3, 1)] {
                // With the first limit only, a mirrored sector begins where it ended.
                let one = range(&survey, name, zone, Boundary::Both);
                let other = range(&after, name, twin, Boundary::Both);
                prop_assert!(both_close(one, other), "{name} {zone}: {one:?}, {other:?}");
            }
        }
    }

    #[test]
    fn taking_a_head_out_never_raises_a_light_quantity(scene in scene(), which in any::<prop::sample::Index>()) {
        let (package, ruleset) = scene.load();
        let (fewer, _) = scene.without(which.index(scene.lamps.len())).load();
        for (before, after) in light(&package, &ruleset).into_iter().zip(light(&fewer, &ruleset)) {
            // Sums of the same terms in another order may differ in the last bits.
            let more = |after: f64, before: f64| after > before && !close(after, before);
            prop_assert!(!more(after.3.0, before.3.0) && !more(after.3.1, before.3.1), "{before:?} {after:?}");
        }
    }

    #[test]
    fn doubling_all_intensities_doubles_every_light_quantity(scene in scene()) {
        let (package, ruleset) = scene.load();
        let (brighter, _) = scene.load_as(2.0, "left");
        for (before, after) in light(&package, &ruleset).into_iter().zip(light(&brighter, &ruleset)) {
            // A factor of two is exact in binary.
            prop_assert_eq!((2.0 * before.3.0, 2.0 * before.3.1), after.3, "{:?}", before);
        }
    }

    #[test]
    fn a_phase_changes_no_optical_power(scene in scene(), phases in vec(0..800_u32, 7)) {
        let mut shifted = scene.clone();
        for (lamp, phase) in shifted.lamps.iter_mut().zip(phases) {
            lamp.phase_ms = phase;
        }
        let (package, ruleset) = scene.load();
        let (other, _) = shifted.load();
        for (before, after) in light(&package, &ruleset).into_iter().zip(light(&other, &ruleset)) {
            prop_assert!(both_close(before.3, after.3), "{before:?} {after:?}");
        }
    }

    #[test]
    fn light_of_several_heads_is_the_sum_of_each_alone(scene in scene()) {
        let (package, ruleset) = scene.load();
        let alone: Vec<_> = (0..scene.lamps.len()).map(|at| scene.only(at).load().0).collect();
        let zone_total = |package: &Package, zone, boundary| {
            let conduct = Conduct::new(package);
            range(&survey(&conduct, &ruleset.protocol), "zone-total-optical-power", zone, boundary)
        };
        for (zone, boundary) in (0..4).flat_map(|zone| BOUNDARIES.map(|boundary| (zone, boundary))) {
            let together = zone_total(&package, zone, boundary);
            let parts: Vec<_> = alone.iter().map(|package| zone_total(package, zone, boundary)).collect();
            let sum = parts.iter().fold((0.0, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1));
            prop_assert!(both_close(together, sum), "{zone} {boundary:?}: {together:?}, {sum:?}");
        }
    }

    #[test]
    fn one_head_dark_agrees_with_taking_each_head_out(scene in scene()) {
        let (package, ruleset) = scene.load();
        let fewer: Vec<_> = (0..scene.lamps.len()).map(|at| scene.without(at).load().0).collect();
        let conduct = Conduct::new(&package);
        let fewer: Vec<_> = fewer.iter().map(Conduct::new).collect();
        let dark: Vec<_> = fewer.iter().map(|conduct| survey(conduct, &ruleset.protocol)).collect();
        let survey = survey(&conduct, &ruleset.protocol);
        for (zone, boundary) in (0..4).flat_map(|zone| BOUNDARIES.map(|boundary| (zone, boundary))) {
            let worst = |no_data_is_dark| {
                let lost = |survey: &Survey<'_>| points_without_signal(survey, zone, boundary, no_data_is_dark);
                u32::try_from(dark.iter().chain([&survey]).map(lost).max().unwrap()).unwrap()
            };
            let expected = (f64::from(worst(false)), f64::from(worst(true)));
            let found = range(&survey, "signal-with-one-head-dark", zone, boundary);
            prop_assert_eq!(found, expected, "zone {} {:?}", zone, boundary);
        }
    }
}

/// The generated packages reach what they are made for: hidden, behind, without data, lit, and heads that do not
/// count.
#[test]
fn generated_packages_are_no_easy_ones() {
    use proptest::strategy::ValueTree as _;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let (mut lit, mut hidden, mut behind, mut no_data, mut steady, mut lost) = (0, 0, 0, 0, 0, 0);
    for _ in 0..20 {
        let scene = scene().new_tree(&mut runner).unwrap().current();
        let (package, ruleset) = scene.load();
        let conduct = Conduct::new(&package);
        let survey = survey(&conduct, &ruleset.protocol);
        for head in &survey.lit {
            steady += usize::from(!counts(head));
            for row in 0..survey.elevations().len() {
                for at in 0..ruleset.protocol.zones.bearings.len() {
                    match head.at(row, at) {
                        Sample::Power(_) => lit += 1,
                        Sample::Hidden => hidden += 1,
                        Sample::Behind => behind += 1,
                        Sample::NoData => no_data += 1,
                    }
                }
            }
        }
        let one_dark = (0..4).map(|zone| range(&survey, "signal-with-one-head-dark", zone, Boundary::Both).1);
        lost += one_dark.filter(|points| *points > 0.0 && *points < 19.0).count();
    }
    let seen = [lit, hidden, behind, no_data];
    assert!(seen.iter().all(|count| *count > 500), "lit, hidden, behind, no data: {seen:?}");
    assert!(steady > 5 && lost > 10, "{steady} steady heads, {lost} zones with some points lost");
}

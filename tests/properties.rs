//! Laws that hold for every vehicle: turning it turns the zones, light is additive, a removed head never adds light,
//! doubled lamps give doubled light, phases change none, and one dark head is what brute force finds.

mod common;

use std::fmt::Write as _;

use common::{close, folder, load_file};
use proptest::prelude::*;
use wayproof::measure::{Boundary, Method, Sample, Survey};
use wayproof::package::Package;
use wayproof::quantity::{Ask, Value, find};
use wayproof::ruleset::Ruleset;

#[derive(Clone, Debug)]
struct Lamp {
    ahead: f64,
    right: f64,
    height: f64,
    faces: f64,
    tilt: f64,
    roll: f64,
    wide: bool,
    pattern: usize,
    phase: i64,
}

#[derive(Clone, Debug)]
struct Boxed {
    ahead: f64,
    right: f64,
    size: f64,
}

#[derive(Clone, Debug)]
struct Case {
    lamps: Vec<Lamp>,
    boxes: Vec<Boxed>,
}

fn cases() -> impl Strategy<Value = Case> {
    let lamp = (
        -4.0..4.0f64,
        -1.2..1.2f64,
        0.3..2.9f64,
        0.0..360.0f64,
        -8.0..8.0f64,
        -5.0..5.0f64,
        any::<bool>(),
        0..2usize,
        0..1000i64,
    );
    let lamp = lamp.prop_map(|(ahead, right, height, faces, tilt, roll, wide, pattern, phase)| Lamp {
        ahead,
        right,
        height,
        faces,
        tilt,
        roll,
        wide,
        pattern,
        phase,
    });
    let boxed = (-4.0..4.0f64, -1.0..1.0f64, 0.2..1.5f64).prop_map(|(ahead, right, size)| Boxed { ahead, right, size });
    (prop::collection::vec(lamp, 1..7), prop::collection::vec(boxed, 0..3))
        .prop_map(|(lamps, boxes)| Case { lamps, boxes })
}

/// A smooth beam in 5-degree steps, times `factor`; the narrow one has data to 60 degrees of H only.
fn beam(wide: bool, factor: f64) -> String {
    let (reach, spread) = if wide { (90, 40.0) } else { (60, 12.0) };
    let across: Vec<i32> = (-reach / 5..=reach / 5).map(|step| step * 5).collect();
    let mut text = format!("V\\H,{}\n", across.iter().map(i32::to_string).collect::<Vec<_>>().join(","));
    for v in (-6..=6).map(|step| step * 5) {
        let row = across.iter().map(|h| {
            let (h, v) = (f64::from(*h), f64::from(v));
            let light = 900.0 * (-(h / spread).powi(2) - (v / 10.0).powi(2)).exp();
            // Rounded before it is doubled, so that doubling is exact.
            (factor * (light * 16.0).round() / 16.0).to_string()
        });
        writeln!(text, "{v},{}", row.collect::<Vec<_>>().join(",")).unwrap();
    }
    text
}

fn build(case: &Case, factor: f64) -> (Package, Vec<Ruleset>) {
    let mut text = String::from(
        "format = 1\ncatalogues = [\"c.toml\"]\n[vehicle]\nname = \"x\"\nlength = \"9 m\"\nwidth = \"3 m\"\nheight = \"3 m\"\n\
         [[pattern]]\nid = \"p0\"\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"50 ms\"], [\"100 ms\", \"150 ms\"]]\n\
         [[pattern]]\nid = \"p1\"\nperiod = \"600 ms\"\npulses = [[\"0 ms\", \"90 ms\"]]\n",
    );
    let mut shows = String::new();
    for (at, lamp) in case.lamps.iter().enumerate() {
        let model = if lamp.wide { "wide" } else { "narrow" };
        write!(
            text,
            "[[head]]\nid = \"h{at}\"\nmodel = \"{model}\"\nat = {{ ahead = \"{} m\", right = \"{} m\", height = \"{} m\" }}\nfaces = \"{} deg\"\ntilt = \"{} deg\"\nroll = \"{} deg\"\n",
            lamp.ahead, lamp.right, lamp.height, lamp.faces, lamp.tilt, lamp.roll
        )
        .unwrap();
        write!(
            shows,
            "{{ head = \"h{at}\", colour = \"red\", pattern = \"p{}\", phase = \"{} ms\" }}, ",
            lamp.pattern, lamp.phase
        )
        .unwrap();
    }
    for (at, one) in case.boxes.iter().enumerate() {
        let half = one.size / 2.0;
        write!(
            text,
            "[[body]]\nid = \"b{at}\"\nfrom = {{ ahead = \"{} m\", right = \"{} m\", height = \"0 m\" }}\nto = {{ ahead = \"{} m\", right = \"{} m\", height = \"2 m\" }}\n",
            one.ahead - half, one.right - half, one.ahead + half, one.right + half
        )
        .unwrap();
    }
    write!(text, "[[display]]\nid = \"all\"\nshow = [{shows}]\n[[mode]]\nid = \"m\"\npurpose = \"calling\"\ndisplays = [\"all\"]\n").unwrap();
    let mut catalogue = String::from("format = 1\n");
    for model in ["wide", "narrow"] {
        write!(catalogue, "[[model]]\nid = \"{model}\"\n[[model.emitter]]\ncolour = \"red\"\nintensity = {{ file = \"{model}.csv\", frame = \"vertical-axis\" }}\nevidence = {{ grade = \"maker\" }}\n").unwrap();
    }
    let (wide, narrow) = (beam(true, factor), beam(false, factor));
    let (_dir, path) =
        folder(&[("p.toml", &text), ("c.toml", &catalogue), ("wide.csv", &wide), ("narrow.csv", &narrow)]);
    load_file(&path, &["zones-one-level"])
}

/// The lower bound of a quantity in each of the four zones.
fn in_zones(package: &Package, rulesets: &[Ruleset], quantity: &str) -> Vec<f64> {
    let survey = Survey::new(package, Some(&package.modes[0]), &rulesets[0].protocol, Method::Angular);
    let measure = find(quantity).unwrap().measure;
    (0..4)
        .map(|zone| {
            let ask = Ask {
                level: None,
                zone: Some(zone),
                boundary: Boundary::Both,
                permitted: None,
                with_uncertainty: false,
            };
            let Value::Number { low, .. } = measure(&survey, &ask)[0].value else { panic!("no number") };
            low
        })
        .collect()
}

fn totals(case: &Case, factor: f64) -> Vec<f64> {
    let (package, rulesets) = build(case, factor);
    in_zones(&package, &rulesets, "zone-total-optical-power")
}

/// A quarter turn clockwise: what stood ahead stands to the right.
fn turned(case: &Case) -> Case {
    let lamps = case.lamps.iter().map(|lamp| Lamp {
        ahead: -lamp.right,
        right: lamp.ahead,
        faces: lamp.faces + 90.0,
        ..lamp.clone()
    });
    let boxes = case.boxes.iter().map(|one| Boxed { ahead: -one.right, right: one.ahead, ..one.clone() });
    Case { lamps: lamps.collect(), boxes: boxes.collect() }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn turning_the_vehicle_turns_the_zones(case in cases()) {
        let (before, after) = (totals(&case, 1.0), totals(&turned(&case), 1.0));
        for zone in 0..4 {
            prop_assert!(close(after[(zone + 1) % 4], before[zone], 1e-9), "{before:?} {after:?}");
        }
    }

    #[test]
    fn light_is_additive_and_a_removed_head_never_adds_any(case in cases()) {
        let whole = totals(&case, 1.0);
        let mut sum = [0.0; 4];
        for at in 0..case.lamps.len() {
            let alone = Case { lamps: vec![case.lamps[at].clone()], ..case.clone() };
            for (sum, total) in sum.iter_mut().zip(totals(&alone, 1.0)) {
                *sum += total;
            }
            let mut without = case.clone();
            without.lamps.remove(at);
            if !without.lamps.is_empty() {
                for (less, whole) in totals(&without, 1.0).iter().zip(&whole) {
                    prop_assert!(*less <= whole * (1.0 + 1e-12));
                }
            }
        }
        for (sum, whole) in sum.iter().zip(&whole) {
            prop_assert!(close(*sum, *whole, 1e-9), "{sum} {whole}");
        }
    }

    #[test]
    fn doubled_lamps_give_doubled_light(case in cases()) {
        for (double, single) in totals(&case, 2.0).iter().zip(totals(&case, 1.0)) {
            prop_assert!(close(*double, 2.0 * single, 1e-12));
        }
    }

    #[test]
    fn a_phase_changes_no_light(case in cases(), shift in 0..5000i64) {
        let mut later = case.clone();
        later.lamps.iter_mut().for_each(|lamp| lamp.phase += shift);
        for (one, other) in totals(&case, 1.0).iter().zip(totals(&later, 1.0)) {
            prop_assert!(close(*one, other, 1e-12));
        }
    }

    #[test]
    fn one_dark_head_is_what_brute_force_finds(case in cases()) {
        let (package, rulesets) = build(&case, 1.0);
        let protocol = &rulesets[0].protocol;
        let survey = Survey::new(&package, Some(&package.modes[0]), protocol, Method::Angular);
        let measure = find("signal-with-one-head-dark").unwrap().measure;
        for (zone, sector) in protocol.zones.sectors.iter().enumerate() {
            let points = sector.points(Boundary::Both);
            let left = |dark: Option<usize>, hopeful: bool| {
                let signal = |lit: &wayproof::measure::LitHead<'_>, point: usize| match lit.at(0, point) {
                    Sample::Power(power) => power >= protocol.signal.at_least,
                    Sample::NoData => hopeful,
                    _ => false,
                };
                let rest = || survey.lit.iter().filter(|lit| Some(lit.index) != dark);
                points.iter().filter(|point| !rest().any(|lit| signal(lit, **point))).count()
            };
            let worst = |hopeful| (0..case.lamps.len()).map(|dark| left(Some(dark), hopeful)).max().unwrap();
            let ask = Ask { level: None, zone: Some(zone), boundary: Boundary::Both, permitted: None, with_uncertainty: false };
            let expected = Value::Number { low: worst(true) as f64, high: worst(false) as f64, occurs: false };
            prop_assert_eq!(&measure(&survey, &ask)[0].value, &expected);
        }
    }
}

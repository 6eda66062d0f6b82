//! A whole zone computation from outside: tests/reference/zone-case, made in NumPy from the written conventions
//! before any code of the tool existed. Every point, every lamp angle and every total.

mod common;

use std::collections::HashMap;
use std::fmt::Write as _;

use common::{close, folder, load_file, measure, root, rows, survey};
use wayproof::measure::{Boundary, Conduct, Sample};
use wayproof::quantity::{Ask, Value};
use wayproof::units::Degrees;

fn number(row: &HashMap<String, String>, key: &str) -> f64 {
    row[key].parse().unwrap_or_else(|_| panic!("{key}: {:?}", row[key]))
}

/// The case as a package: heads and the box in metres, patterns from their on-fraction.
fn package() -> (tempfile::TempDir, std::path::PathBuf) {
    let case = root().join("tests/reference/zone-case");
    let mut text = String::from(
        "format = 1\ncatalogues = [\"beams.toml\"]\n[vehicle]\nname = \"zone case\"\nlength = \"10 m\"\nwidth = \"2 m\"\nheight = \"3 m\"\n",
    );
    for row in rows(&case.join("boxes.csv")) {
        let corner = |x: &str, y: &str, z: &str| {
            let right = -number(&row, y);
            format!("{{ ahead = \"{} m\", right = \"{right} m\", height = \"{} m\" }}", row[x], row[z])
        };
        let (from, to) = (corner("x0", "y0", "z0"), corner("x1", "y1", "z1"));
        write!(text, "[[body]]\nid = \"{}\"\nfrom = {from}\nto = {to}\n", row["id"]).unwrap();
    }
    let mut shows = String::new();
    for row in rows(&case.join("heads.csv")) {
        let (id, right) = (&row["id"], -number(&row, "y"));
        write!(
            text,
            "[[head]]\nid = \"{id}\"\nmodel = \"{}\"\nat = {{ ahead = \"{} m\", right = \"{right} m\", height = \"{} m\" }}\nfaces = \"{} deg\"\ntilt = \"{} deg\"\nroll = \"{} deg\"\n",
            row["beam"], row["x"], row["z"], row["faces"], row["pitch"], row["roll"]
        )
        .unwrap();
        let period = number(&row, "period_ms");
        let on = period * number(&row, "on_fraction");
        write!(text, "[[pattern]]\nid = \"p-{id}\"\nperiod = \"{period} ms\"\npulses = [[\"0 ms\", \"{on} ms\"]]\n")
            .unwrap();
        writeln!(shows, "  {{ head = \"{id}\", colour = \"red\", pattern = \"p-{id}\" }},").unwrap();
    }
    write!(text, "[[display]]\nid = \"all\"\nshow = [\n{shows}]\n[[mode]]\nid = \"m\"\npurpose = \"calling\"\ndisplays = [\"all\"]\n").unwrap();
    let mut catalogue = String::from("format = 1\n");
    for beam in ["narrow", "wide", "skewed"] {
        write!(catalogue, "[[model]]\nid = \"{beam}\"\n[[model.emitter]]\ncolour = \"red\"\nintensity = {{ file = \"beam-{beam}.csv\", frame = \"vertical-axis\" }}\nevidence = {{ grade = \"laboratory\" }}\n").unwrap();
    }
    let (dir, path) = folder(&[("package.toml", &text), ("beams.toml", &catalogue)]);
    for beam in ["narrow", "wide", "skewed"] {
        let name = format!("beam-{beam}.csv");
        std::fs::copy(case.join(&name), dir.path().join(&name)).unwrap();
    }
    (dir, path)
}

#[test]
fn every_point_is_met() {
    let (_dir, path) = package();
    let (package, rulesets) = load_file(&path, &["zones-one-level"]);
    let conduct = Conduct::new(&package);
    let survey = survey(&conduct, &rulesets[0].protocol);
    let mut seen: HashMap<String, usize> = HashMap::new();
    for row in rows(&root().join("tests/reference/zone-case/points.csv")) {
        let lit = survey.lit.iter().find(|lit| lit.head.id == row["head"]).unwrap();
        let detail = survey.detail(lit, Degrees::new(number(&row, "bearing")), Degrees::new(number(&row, "elevation")));
        let place = format!("{} at {} {}", row["head"], row["bearing"], row["elevation"]);
        *seen.entry(row["why"].clone()).or_default() += 1;
        match (row["why"].as_str(), detail.sample) {
            ("lit", Sample::Power(power)) => {
                assert!(close(power.value(), number(&row, "optical_power"), 1e-9), "{place}: {power:?}");
                assert!((detail.lamp.0.value() - number(&row, "lamp_H")).abs() < 1e-7, "{place}: {:?}", detail.lamp);
                assert!((detail.lamp.1.value() - number(&row, "lamp_V")).abs() < 1e-7, "{place}: {:?}", detail.lamp);
            }
            ("hidden", Sample::Hidden) | ("behind", Sample::Behind) => {}
            (why, sample) => panic!("{place}: {why} expected, {sample:?} found"),
        }
    }
    assert_eq!(seen.values().sum::<usize>(), 1296);
    assert!(seen["lit"] > 300 && seen["hidden"] > 100 && seen["behind"] > 300, "{seen:?}");
}

#[test]
fn every_total_is_met() {
    let (_dir, path) = package();
    let (package, rulesets) = load_file(&path, &["zones-one-level"]);
    let protocol = &rulesets[0].protocol;
    let conduct = Conduct::new(&package);
    let survey = survey(&conduct, protocol);
    let mut checked = 0;
    for row in rows(&root().join("tests/reference/zone-case/totals.csv")) {
        let zone = protocol.zones.sectors.iter().position(|sector| sector.name == row["zone"]);
        let boundary = if row["boundary_points"] == "both" { Boundary::Both } else { Boundary::First };
        let ask = Ask {
            purpose: Some("calling"),
            leads_to: None,
            level: None,
            zone,
            boundary,
            permitted: None,
            with_uncertainty: false,
            device: Default::default(),
            listen: None,
            item: None,
        };
        for (name, column) in [
            ("zone-total-optical-power", "total"),
            ("least-point-optical-power", "least_point"),
            ("least-off-plane-optical-power", "least_off_plane"),
        ] {
            let measured = measure(name, &survey, &ask);
            let Value::Number { low, high, .. } = measured[0].value else { panic!("{name}: {:?}", measured[0]) };
            assert_eq!(low, high, "all data are there");
            let expected = number(&row, column);
            assert!(close(low, expected, 1e-9), "{} {name} {boundary:?}: {low}, expected {expected}", row["zone"]);
            checked += 1;
        }
    }
    assert_eq!(checked, 24);
}

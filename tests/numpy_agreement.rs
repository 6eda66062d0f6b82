//! An independent NumPy program with its own readers (tests/reference/zone_totals.py) recomputes every zone total,
//! least point and off-plane point of the demo packages; both agree to 1e-9 relative.
//!
//! Needs a Python with NumPy, named by WAYPROOF_PYTHON (`.ci/run` installs one); says that it was skipped otherwise.

mod common;

use std::process::Command;

use common::{close, load_file, root};
use wayproof::measure::{Boundary, Method, Survey};
use wayproof::quantity::{Ask, Value, find};

#[test]
fn numpy_agrees_on_every_zone_of_every_demo_package() {
    let Ok(python) = std::env::var("WAYPROOF_PYTHON") else {
        println!("SKIPPED: WAYPROOF_PYTHON does not name a Python with NumPy");
        return;
    };
    let mut checked = 0;
    for name in ["rescue-4", "rescue-4-changed", "brush-2", "brush-2-complete", "brush-2-faults"] {
        let file = format!("demo-data/{name}/package.toml");
        let output = Command::new(&python)
            .current_dir(root())
            .args(["tests/reference/zone_totals.py", &file])
            .output()
            .unwrap_or_else(|error| panic!("{python}: {error}"));
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let (package, rulesets) = load_file(&root().join(&file), &[]);
        let ruleset = &rulesets[0];
        let mut reader = csv::Reader::from_reader(output.stdout.as_slice());
        let header = reader.headers().unwrap().clone();
        for record in reader.records() {
            let record = record.unwrap();
            let cell = |name: &str| &record[header.iter().position(|title| title == name).unwrap()];
            let purpose = cell("purpose");
            let mode = package.modes.iter().find(|mode| mode.purpose.as_deref() == Some(purpose)).unwrap();
            let survey = Survey::new(&package, Some(mode), &ruleset.protocol, Method::Angular);
            let sectors = &ruleset.protocol.zones.sectors;
            let zone = sectors.iter().position(|sector| sector.name == cell("zone"));
            let level = ruleset.protocol.levels.iter().position(|level| level.name == cell("level"));
            let boundary = if cell("boundary") == "both" { Boundary::Both } else { Boundary::First };
            let permitted = ruleset.permitted(purpose, zone);
            let ask = Ask { level, zone, boundary, permitted: permitted.list(), with_uncertainty: false };
            let quantity = match cell("quantity") {
                "zone-total" => "zone-total-optical-power",
                "least-point" => "least-point-optical-power",
                "off-plane-point" => "least-off-plane-optical-power",
                other => panic!("{other}"),
            };
            let measured = (find(quantity).unwrap().measure)(&survey, &ask);
            let Value::Number { low, .. } = measured[0].value else { panic!("{:?}", measured[0]) };
            let expected: f64 = cell("value").parse().unwrap();
            assert!(close(low, expected, 1e-9), "{name} {record:?}: {low}");
            checked += 1;
        }
    }
    assert!(checked >= 2 * 96 + 3 * 48, "{checked} figures compared");
}

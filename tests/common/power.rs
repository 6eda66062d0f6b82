//! Packages with an electrical side, and what the tool finds for each circuit and each source.

#![allow(dead_code)] // Each test file uses its own part of this.

use std::collections::BTreeMap;

use wayproof::measure::{Boundary, Conduct};
use wayproof::package::Package;
use wayproof::quantity::{Ask, Measure, Measured, Value, find};

use super::{folder, load_file};

/// A catalogue of lamps without light: what they draw is all that is asked.
pub const LAMPS: &str = r#"
format = 1
[[model]]
id = "switching"
driver = "constant-power"
[[model.emitter]]
colour = "red"
current = { lit = "5 A", standby = "0.05 A", at = "12.8 V" }
[[model]]
id = "linear"
driver = "constant-current"
[[model.emitter]]
colour = "red"
current = { lit = "3 A", standby = "0.05 A", at = "12.8 V" }
[[model]]
id = "resistor"
driver = "resistive"
[[model.emitter]]
colour = "red"
current = { lit = "4 A", at = "12.8 V" }
[[model]]
id = "filament"
driver = 0.55
[[model.emitter]]
colour = "red"
current = { lit = "4.4 A", at = "12.8 V" }
[[model]]
id = "unstated"
[[model.emitter]]
colour = "red"
current = { lit = "2 A", at = "12.8 V" }
[[model]]
id = "unknown"
[[model.emitter]]
colour = "red"
"#;

/// A 12 V vehicle with one lead battery.
pub const SUPPLY: &str = r#"
[supply]
system = "12 V"
[[battery]]
id = "main"
chemistry = "lead"
"#;

/// A circuit on the battery, with what more is said of it.
pub fn circuit(id: &str, more: &str) -> String {
    format!("[[circuit]]\nid = \"{id}\"\nfrom = \"main\"\n{more}\n")
}

/// A vehicle, and what stands below it.
pub fn vehicle(rest: &str) -> String {
    let top = r#"
format = 1
catalogues = ["lamps.toml"]
[vehicle]
name = "Sample"
length = "6 m"
width = "2 m"
height = "2 m"
"#;
    format!("{top}{rest}")
}

/// A head at one place, as its line of TOML.
pub fn head(id: &str, model: &str, circuit: &str, more: &str) -> String {
    let place = r#"at = { behind-front = "1 m", right = "0 m", height = "1 m" }"#;
    let names = format!("id = \"{id}\"\nmodel = \"{model}\"\ncircuit = \"{circuit}\"");
    format!("[[head]]\n{names}\n{place}\nfaces = \"front\"\n{more}\n")
}

pub fn loaded(rest: &str) -> Package {
    let text = vehicle(rest);
    let (_dir, path) = folder(&[("package.toml", text.as_str()), ("lamps.toml", LAMPS)]);
    load_file(&path, &[]).0
}

/// What a quantity is for each circuit or source, by id.
pub fn measured(conduct: &Conduct<'_>, quantity: &str, purpose: Option<&str>) -> BTreeMap<String, Measured> {
    let Measure::Power(measure) = find(quantity).unwrap_or_else(|| panic!("no {quantity}")).measure else {
        panic!("{quantity} is no quantity of the electrical side")
    };
    let ask = Ask {
        purpose,
        leads_to: None,
        level: None,
        zone: None,
        boundary: Boundary::Both,
        permitted: None,
        with_uncertainty: false,
        device: Default::default(),
        listen: None,
        item: None,
    };
    let found = measure(conduct, &ask);
    let id = |one: &Measured| one.circuit.clone().or_else(|| one.supply.clone()).unwrap_or_default();
    found.into_iter().map(|one| (id(&one), one)).collect()
}

/// Both ends of a measured number.
pub fn ends(measured: &Measured) -> (f64, f64) {
    match measured.value {
        Value::Number { low, high, .. } => (low, high),
        ref other => panic!("{other:?}"),
    }
}

/// A number without doubt.
pub fn number(measured: &Measured) -> f64 {
    let (low, high) = ends(measured);
    assert!((low - high).abs() <= 1e-9 * high.abs(), "{low} to {high}");
    high
}

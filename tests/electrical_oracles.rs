//! Circuits of whole packages against a circuit simulator, an independent program, and every state gone through.
//!
//! `tests/reference/electrical_netlists.py` runs the circuits of two packages in ngspice; `power_currents.py` has its
//! own readers, wires, states and solution, and samples the currents over time. Both need the Python that the variable
//! WAYPROOF_PYTHON names, with NumPy, and the first needs ngspice; without them this says that it was skipped.

mod common;

use std::collections::{BTreeSet, HashMap};
use std::io::Write as _;
use std::process::Command;

use common::every_state::every_state;
use common::oracle::rows_of;
use common::power::{LAMPS, SUPPLY, circuit, ends, head, measured, vehicle};
use common::{close, folder, load_file, root};
use wayproof::measure::{Conduct, Flow, Range};
use wayproof::package::Package;

type Row = HashMap<String, String>;

fn loaded(file: &str) -> Package {
    // No ruleset is asked of it: one that comes with the tool stands in where the package names none.
    load_file(&root().join(file), &["zones-one-level"]).0
}

/// The worst over the cases of the tree of a circuit at one voltage of its source, each end by itself.
fn worst(conduct: &Conduct<'_>, circuit: &str, source: &str) -> [Range; 4] {
    let power = conduct.power().unwrap();
    let at = power.supply.circuits.iter().position(|known| known.id == circuit).unwrap();
    let (tree, place) = power.of_circuit(at).unwrap();
    assert!(!tree.rest);
    let flows = tree.cases.iter().flat_map(|case| &case.flows).filter(|flows| flows.source.0 == source);
    let flows: Vec<&Flow> = flows.map(|flows| &flows.flows.as_ref().expect("an operating point")[place]).collect();
    assert_eq!(flows.len(), tree.cases.len());
    let greatest = |of: fn(&Flow) -> Range| {
        let all = flows.iter().map(|flow| of(flow));
        all.reduce(|one, other| Range { low: one.low.max(other.low), high: one.high.max(other.high) }).unwrap()
    };
    let least = |of: fn(&Flow) -> Range| {
        let all = flows.iter().map(|flow| of(flow));
        all.reduce(|one, other| Range { low: one.low.min(other.low), high: one.high.min(other.high) }).unwrap()
    };
    [greatest(|flow| flow.average), greatest(|flow| flow.rms), greatest(|flow| flow.peak), least(|flow| flow.voltage)]
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column}: {}", row[column]))
}

const COLUMNS: [&str; 4] = ["average", "rms", "peak", "voltage"];

#[test]
fn a_circuit_simulator_finds_the_same_currents_and_voltages() {
    if Command::new("ngspice").arg("--version").output().is_err() {
        let _ = writeln!(std::io::stderr(), "SKIPPED: there is no ngspice, so no circuit was simulated");
        return;
    }
    let files = ["tests/electrical/steady.toml", "tests/electrical/flashing.toml"];
    let Some(rows) = rows_of("electrical_netlists.py", &files) else { return };
    let mut compared = 0;
    for file in files {
        let package = loaded(file);
        let conduct = Conduct::new(&package);
        for row in rows.iter().filter(|row| row["package"] == file) {
            let found = worst(&conduct, &row["circuit"], &row["source"]);
            for (column, range) in COLUMNS.iter().zip(found) {
                let expected = number(row, column);
                assert!(close(range.low, range.high, 1e-12), "{row:?}: {column}, {range:?}");
                assert!((range.high / expected - 1.0).abs() < 1e-3, "{row:?}: {column}, {range:?}");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 4 * (4 * 3 + 3 * 3));
}

/// The packages with an electrical side, the demos' among them.
fn with_a_supply() -> Vec<String> {
    let mut files: Vec<String> =
        ["steady", "flashing", "states"].iter().map(|name| format!("tests/electrical/{name}.toml")).collect();
    let mut demos: Vec<String> = std::fs::read_dir(root().join("demo-data"))
        .unwrap()
        .map(|entry| format!("demo-data/{}/package.toml", entry.unwrap().file_name().to_str().unwrap()))
        .collect();
    demos.sort();
    let has = |file: &String| {
        std::fs::read_to_string(root().join(file)).is_ok_and(|text| text.lines().any(|line| line == "[supply]"))
    };
    files.extend(demos.into_iter().filter(has));
    files
}

#[test]
fn an_independent_program_finds_the_same_in_the_worst_states() {
    let files = with_a_supply();
    let Some(rows) = rows_of("power_currents.py", &files.iter().map(String::as_str).collect::<Vec<_>>()) else {
        return;
    };
    let (mut exact, mut bounded) = (0, 0);
    let mut wrong = Vec::new();
    for file in &files {
        let package = loaded(file);
        let conduct = Conduct::new(&package);
        let supply = package.supply.as_ref().unwrap();
        let (circuits, loose) = (&supply.circuits, supply.loads.iter().any(|load| load.share.value() < 1.0));
        let of_file: Vec<&Row> = rows.iter().filter(|row| row["package"] == *file).collect();
        let named: BTreeSet<&str> = of_file.iter().map(|row| row["circuit"].as_str()).collect();
        assert_eq!(named.len(), circuits.len(), "{file}");
        for row in of_file {
            let found = worst(&conduct, &row["circuit"], &row["source"]);
            for (column, range) in COLUMNS.iter().zip(found) {
                let (least, most) = (number(row, &format!("{column}-least")), number(row, &format!("{column}-most")));
                // Of a load that is on for a share of the time, the RMS may come to its peak.
                let up_to_peak = loose && *column == "rms" && range.high == found[2].high;
                let holds = if row["sure"] == "yes" {
                    exact += 1;
                    let as_high = close(range.low, range.high, 1e-9) && (range.high - most).abs() <= 1e-4 * most.abs();
                    (up_to_peak || as_high) && (range.low - least).abs() <= 1e-4 * least.abs()
                } else {
                    bounded += 1;
                    // One choice of the phases: an RMS below the mean over them can be met.
                    let low = if *column == "rms" { 0.0 } else { range.low };
                    low <= least * (1.0 + 1e-4) && most <= range.high * (1.0 + 1e-4)
                };
                if !holds {
                    wrong.push(format!(
                        "{file} {} {} {column}: {range:?}, {least} to {most}",
                        row["circuit"], row["source"]
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(exact >= 132 && bounded >= 4, "{exact} exact, {bounded} between bounds");
}

/// A small controller with every state but one ruled out by `never`.
fn pinned(text: &str, inputs: &[(&str, bool)]) -> String {
    let on = |(name, on): &(&str, bool)| format!("\"{}{name}\"", if *on { "not " } else { "" });
    let never: Vec<String> = inputs.iter().map(on).collect();
    let old = "never = \"night and high\"";
    assert!(text.contains(old));
    text.replace(old, &format!("never = [{}]", never.join(", ")))
}

const QUANTITIES: [(&str, bool); 6] = [
    ("fuse-use", true),
    ("fuse-overload-time", true),
    ("wire-use", true),
    ("voltage-drop-of-source", true),
    ("voltage-drop-of-system", true),
    ("voltage-at-load", false),
];

#[test]
fn the_worst_of_a_circuit_is_the_worst_of_all_states_gone_through() {
    let text = std::fs::read_to_string(root().join("tests/electrical/states.toml")).unwrap();
    let lamps = std::fs::read_to_string(root().join("tests/electrical/lamps.toml")).unwrap();
    let load = |text: &str| {
        let (_dir, path) = folder(&[("states.toml", text), ("lamps.toml", lamps.as_str())]);
        load_file(&path, &["zones-one-level"]).0
    };
    let package = load(&text);
    let conduct = Conduct::new(&package);
    let space = conduct.space();
    let names: Vec<&str> = space.inputs().list.iter().map(|input| input.id.as_str()).collect();
    assert_eq!(names.len(), 6);
    let states = every_state(space);
    let allowed: Vec<&Vec<usize>> =
        states.iter().filter(|state| space.meet(&space.state(state), space.allowed())).collect();
    assert_eq!((states.len(), allowed.len()), (64, 48));
    // What each quantity is in each state alone.
    let alone: Vec<Vec<_>> = allowed
        .iter()
        .map(|state| {
            let inputs: Vec<(&str, bool)> =
                names.iter().zip(state.iter()).map(|(name, at)| (*name, *at == 1)).collect();
            let package = load(&pinned(&text, &inputs));
            let conduct = Conduct::new(&package);
            QUANTITIES.iter().map(|(quantity, _)| measured(&conduct, quantity, None)).collect()
        })
        .collect();
    let mut compared = 0;
    for (at, (quantity, greatest)) in QUANTITIES.iter().enumerate() {
        for (circuit, found) in measured(&conduct, quantity, None) {
            let each: Vec<(f64, f64)> = alone.iter().map(|state| ends(&state[at][&circuit])).collect();
            let worse = |one: f64, other: f64| if *greatest { one.max(other) } else { one.min(other) };
            let expected = each.iter().copied().reduce(|one, other| (worse(one.0, other.0), worse(one.1, other.1)));
            let (expected, found_ends) = (expected.unwrap(), ends(&found));
            let same = |one: f64, other: f64| one == other || close(one, other, 1e-9);
            assert!(
                same(found_ends.0, expected.0) && same(found_ends.1, expected.1),
                "{quantity} of {circuit}: {found_ends:?}, gone through: {expected:?}"
            );
            // Every state that is named shows it.
            let sure = if *greatest { found_ends.0 } else { found_ends.1 };
            let named = found.states.as_ref().unwrap_or_else(|| space.allowed());
            for (state, each) in allowed.iter().zip(&each).filter(|(state, _)| space.meet(&space.state(state), named)) {
                let there = if *greatest { each.0 } else { each.1 };
                assert!(same(there, sure), "{quantity} of {circuit} in {state:?}: {there}, named for {sure}");
            }
            compared += 1;
        }
    }
    assert!(compared >= 25, "{compared}");
}

/// Where phases are free the lowest voltage lies between what all peaks at once leave and what is surely lost; two
/// heads that alternate on one clock are never at their peak together.
#[test]
fn lamps_that_alternate_are_not_held_to_be_lit_together() {
    let circuit = circuit("all", r#"wire = { size = "14 SAE", length = "3 m" }"#);
    let on_clock = r#"clock = "main""#;
    let heads = head("one", "switching", "all", on_clock) + &head("two", "switching", "all", on_clock);
    let show = r#"
[[pattern]]
id = "half"
period = "1000 ms"
pulses = [["0 ms", "500 ms"]]
[[mode]]
id = "on"
displays = ["on"]
[[display]]
id = "on"
show = [
  { head = "one", colour = "red", pattern = "half" },
  { head = "two", colour = "red", pattern = "half", phase = "500 ms" },
"#;
    let voltage = |free: &str, shown: &str| {
        let text = vehicle(&format!("{SUPPLY}{circuit}{heads}{free}{show}{shown}]\n"));
        let (_dir, path) = folder(&[("package.toml", text.as_str()), ("lamps.toml", LAMPS)]);
        let package = load_file(&path, &["zones-one-level"]).0;
        let conduct = Conduct::new(&package);
        worst(&conduct, "all", "running")[3]
    };
    let exact = voltage("", "");
    assert_eq!(exact.low, exact.high);
    // A third that runs free: at its dark times the two are as they were, a little lower for its standby.
    let third = head("three", "switching", "all", "");
    let free = voltage(&third, r#"{ head = "three", colour = "red", pattern = "half" }"#);
    assert!(free.low < free.high);
    assert!((free.high - exact.low).abs() < 0.01, "{free:?} and {exact:?}");
}

/// A law that is not stated lies between the least and the most that any law draws at each voltage.
#[test]
fn a_law_that_is_not_stated_is_bounded_by_all_that_are() {
    let circuit = circuit("all", r#"wire = { size = "18 SAE", length = "4 m" }"#);
    let heads = ["one", "two", "three"].map(|id| head(id, "unstated", "all", r#"clock = "main""#)).concat();
    let show = r#"
[[pattern]]
id = "third"
period = "900 ms"
pulses = [["0 ms", "300 ms"]]
[[mode]]
id = "on"
displays = ["on"]
[[display]]
id = "on"
show = [
  { head = "one", colour = "red", pattern = "third" },
  { head = "two", colour = "red", pattern = "third", phase = "150 ms" },
  { head = "three", colour = "red", pattern = "steady" },
]
"#;
    let package = vehicle(&format!("{SUPPLY}{circuit}{heads}{show}"));
    let flows = |driver: &str| {
        let lamps = LAMPS.replace("id = \"unstated\"\n", &format!("id = \"unstated\"\n{driver}\n"));
        let (_dir, path) = folder(&[("package.toml", package.as_str()), ("lamps.toml", lamps.as_str())]);
        let package = load_file(&path, &["zones-one-level"]).0;
        let conduct = Conduct::new(&package);
        ["battery", "running", "regulated"].map(|source| worst(&conduct, "all", source))
    };
    let unstated = flows("");
    for law in [r#""constant-power""#, r#""constant-current""#, r#""resistive""#, "0.55", "-0.4"] {
        for (bounds, found) in unstated.iter().zip(flows(&format!("driver = {law}"))) {
            for ((bounds, found), column) in bounds.iter().zip(found).zip(COLUMNS) {
                assert!(close(found.low, found.high, 1e-9), "{law}, {column}");
                let inside = bounds.low - 1e-9 <= found.low && found.high <= bounds.high + 1e-9;
                assert!(inside, "{law}, {column}: {found:?} outside {bounds:?}");
            }
        }
    }
}

/// A radio that transmits a tenth of the time may do so for a second or for minutes: an overload of its fuse has no
/// length, and its RMS lies between that of the share and that of all the time.
#[test]
fn a_share_of_the_time_says_nothing_of_how_long_at_once() {
    let circuit = circuit("radio", r#"fuse = { kind = "blade", rating = "10 A" }"#);
    let overload = |amperes: &str, share: &str| {
        let load = r#"
[[load]]
id = "set"
circuit = "radio"
at = "13.8 V"
driver = "constant-current"
kind = "minimum"
"#;
        let mode = "[[mode]]\nid = \"on\"\ndisplays = []\n";
        let draw = format!("current = \"{amperes}\"\nshare = \"{share}\"\n");
        let package = common::power::loaded(&format!("{SUPPLY}{circuit}{load}{draw}{mode}"));
        let conduct = Conduct::new(&package);
        let rms = ends(&measured(&conduct, "fuse-use", None)["radio"]);
        (rms, ends(&measured(&conduct, "fuse-overload-time", None)["radio"]))
    };
    let (rms, times) = overload("15 A", "10 %");
    // Whoever talks for an hour heats the wire with all of it.
    assert!(close(rms.0, 1.5 * 0.1_f64.sqrt(), 1e-9) && close(rms.1, 1.5, 1e-9), "{rms:?}");
    assert_eq!(times, (0.0, f64::INFINITY));
    assert_eq!(overload("10.9 A", "10 %").1, (0.0, 0.0));
    // Steady, it is an overload without end, for which a hundred times the opening time stands.
    assert_eq!(overload("15 A", "100 %").1, (100.0, 100.0));
}

//! What is missing from the electrical side never passes: each line of a sound vehicle that is taken away, or changed,
//! opens or fails just what rests on it.

use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;

/// brush-2-complete with its package and its table of heads changed, judged by the electrical rulesets.
fn check(package: impl Fn(String) -> String, heads: impl Fn(String) -> String) -> (Value, String, i32) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let folder = tempfile::tempdir().unwrap();
    let read = |name: &str| std::fs::read_to_string(root.join("brush-2-complete").join(name)).unwrap();
    let (old_package, old_heads) = (read("package.toml"), read("heads.csv"));
    let (new_package, new_heads) = (package(old_package.clone()), heads(old_heads.clone()));
    assert!(new_package != old_package || new_heads != old_heads, "nothing was changed");
    std::fs::write(folder.path().join("package.toml"), new_package).unwrap();
    std::fs::write(folder.path().join("heads.csv"), new_heads).unwrap();
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.arg("check").arg(folder.path().join("package.toml")).arg("--library").arg(root.join("catalogue"));
    command.args(["--rules", "supply-12v", "--rules", "load-analysis", "--format", "json", "--as-of", "2026-11-25"]);
    let output = command.output().unwrap();
    let json = serde_json::from_slice(&output.stdout).unwrap_or(Value::Null);
    (json, String::from_utf8(output.stderr).unwrap(), output.status.code().unwrap())
}

fn same(text: String) -> String {
    text
}

/// The verdict of a finding, and its note.
fn verdict(json: &Value, id: &str) -> (String, String) {
    let findings = json["findings"].as_array().unwrap();
    let found = findings.iter().find(|finding| finding["id"] == id);
    let found = found.unwrap_or_else(|| panic!("{id} is not among {} findings", findings.len()));
    let text = |key: &str| found[key].as_str().unwrap_or_default().to_owned();
    (text("verdict"), text("note"))
}

/// The table of the circuit with this id, up to the next table.
fn circuit(package: &str, id: &str) -> String {
    let from = package.find(&format!("[[circuit]]\nid = \"{id}\"")).unwrap();
    let rest = &package[from..];
    rest[..rest[2..].find("\n[").map_or(rest.len(), |end| end + 2)].to_owned()
}

/// The lines of a table that do not begin with `key`.
fn without(table: &str, key: &str) -> String {
    table.lines().filter(|line| !line.starts_with(key)).map(|line| format!("{line}\n")).collect()
}

#[test]
fn heads_on_no_circuit_are_not_counted_and_that_is_told() {
    let cleared = |heads: String| heads.replace(",bar,", ",,");
    let (json, _, status) = check(same, cleared);
    assert_eq!(status, 3);
    for id in ["supply-12v:fuse-continuous@vehicle", "supply-12v:voltage-drop@vehicle"] {
        let (verdict, note) = verdict(&json, id);
        assert_eq!(verdict, "not-shown", "{id}");
        assert!(note.contains("no `circuit` is named for bar-"), "{note}");
    }
}

#[test]
fn a_wire_without_a_fuse_is_not_shown_to_be_protected() {
    let (json, _, status) = check(
        |package| {
            let feed = circuit(&package, "bed-feed");
            package.replace(&feed, &without(&feed, "fuse"))
        },
        same,
    );
    assert_eq!(status, 3);
    let (verdict, note) = verdict(&json, "supply-12v:wire-over-fuse@bed-feed");
    assert_eq!(verdict, "not-shown");
    assert!(note.contains("no `fuse` is described"), "{note}");
}

#[test]
fn a_wire_that_is_not_described_leaves_the_voltage_open() {
    let (json, _, status) = check(
        |package| {
            let bar = circuit(&package, "bar");
            package.replace(&bar, &without(&bar, "wire"))
        },
        same,
    );
    assert_eq!(status, 3);
    let (verdict, note) = verdict(&json, "supply-12v:voltage-drop@bar");
    assert_eq!(verdict, "not-shown");
    assert!(note.contains("no `wire` is described"), "{note}");
}

#[test]
fn a_load_of_unknown_size_opens_all_that_share_its_feed() {
    let more = "\n[[inverter]]\nid = \"small\"\ncircuit = \"bed-feed\"\noutput = \"300 W\"\n\n\
                [[load]]\nid = \"charger\"\ninverter = \"small\"\npower = \"200 W\"\nkind = \"continuous\"\n";
    let (json, _, status) = check(|package| package + more, same);
    assert_eq!(status, 3);
    let findings = json["findings"].as_array().unwrap();
    let beneath = |finding: &&Value| {
        finding["rule"] == "voltage-drop"
            && ["rear", "side", "work"].iter().any(|id| finding["scope"]["circuit"] == *id)
    };
    let found: Vec<&Value> = findings.iter().filter(beneath).collect();
    assert!(!found.is_empty());
    for finding in found {
        assert_eq!(finding["verdict"], "not-shown", "{}", finding["id"]);
        assert!(finding["note"].as_str().unwrap().contains("no current is stated for charger"), "{}", finding["note"]);
    }
}

#[test]
fn figures_that_cannot_be_are_mistakes() {
    let volts = "voltages = { battery = \"12.0 V\", running = \"13.8 V\", regulated = \"14.2 V\" }";
    for (old, new, told) in [
        ("charging = \"8 A\"", "charging = \"-300 A\"", "below-zero"),
        ("system = \"12 V\"", "system = \"24 V\"", "bad-voltages"),
        (volts, "voltages = { battery = \"14 V\", running = \"13.8 V\", regulated = \"14.2 V\" }", "bad-voltages"),
        (volts, "voltages = { battery = \"1 V\", running = \"13.8 V\", regulated = \"14.2 V\" }", "bad-voltages"),
    ] {
        let (_, error, status) = check(|package| package.replacen(old, new, 1), same);
        assert_eq!(status, 2, "{new}");
        assert!(error.contains(told), "{new}: {error}");
    }
}

#[test]
fn limits_for_12_v_do_not_fit_a_24_v_vehicle() {
    let larger = |package: String| {
        let package = package.replacen("system = \"12 V\"", "system = \"24 V\"", 1);
        package.lines().filter(|line| !line.starts_with("voltages")).map(|line| format!("{line}\n")).collect()
    };
    let (json, _, status) = check(larger, same);
    assert_eq!(status, 1);
    assert_eq!(verdict(&json, "supply-12v:system@vehicle").0, "fail");
}

#[test]
fn a_load_that_no_wire_carries_at_one_voltage_still_fails_its_fuse_at_another() {
    // At 12 V the long thin wire carries no 400 W; at 14.2 V it does, and its fuse of 10 A holds them not.
    let more = "\n[[circuit]]\nid = \"winch-feed\"\nfrom = \"chassis\"\nfuse = { kind = \"blade\", rating = \"10 A\" }\n\
                wire = { size = \"14 AWG\", length = \"16 ft\", insulation = \"105 degC\" }\n\n\
                [[load]]\nid = \"winch\"\ncircuit = \"winch-feed\"\npower = \"400 W\"\nkind = \"continuous\"\n\
                evidence = { grade = \"maker\" }\n";
    let (json, _, status) = check(|package| package + more, same);
    assert_eq!(status, 1);
    assert_eq!(verdict(&json, "supply-12v:fuse-continuous@winch-feed").0, "fail");
    let (verdict, note) = verdict(&json, "supply-12v:voltage-drop@winch-feed");
    assert_eq!(verdict, "fail");
    assert!(note.contains("no operating point: at 12.0 V"), "{note}");
}

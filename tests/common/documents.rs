//! Documents as a person makes them: every kind, of every demo vehicle, by the program itself.

use std::path::{Path, PathBuf};

use assert_cmd::Command;

use super::root;

/// A day, so that documents are the same whenever the tests run.
pub const DAY: &str = "2026-11-25";

/// The demo vehicles, with what else is asked of each.
pub const DEMOS: &[(&str, &[&str])] = &[
    ("rescue-4", &[]),
    ("rescue-4-changed", &[]),
    ("rescue-4-logic-faults", &[]),
    ("brush-2", &[]),
    ("brush-2-complete", &["--rules", "zones-one-level", "--rules", "demo-data/overlays/kestrow-limits.toml"]),
    ("brush-2-faults", &[]),
    ("brush-2-power-faults", &[]),
    ("medic-6", &[]),
    ("medic-6-sound-faults", &[]),
    ("amber-9", &[]),
];

pub fn wayproof() -> Command {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(root());
    command
}

pub fn demo(name: &str) -> String {
    format!("demo-data/{name}/package.toml")
}

/// Writes a document; the answer is its path.
pub fn report(package: &str, kind: &str, ending: &str, folder: &Path, more: &[&str]) -> PathBuf {
    let name = Path::new(package).parent().and_then(Path::file_name).unwrap().to_string_lossy().into_owned();
    let path = folder.join(format!("{name}-{kind}.{ending}"));
    let command = ["report", package, "--as", kind, "--as-of", DAY, "-o"];
    let output = wayproof().args(command).arg(&path).args(more).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{kind} of {package}: {}", String::from_utf8_lossy(&output.stderr));
    path
}

/// What the files in a folder are called.
pub fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// Texts that some program would run, turn round or take for markup.
pub const HOSTILE: &[&str] = &[
    "<script>window.hostile = 1</script>",
    "\"><img src=x onerror=alert(1)>",
    "javascript:alert(1)",
    "=HYPERLINK(\"http://example.invalid\",\"look\")",
    "+1+1",
    "@SUM(A1)",
    "-2+3",
    "</title><b>bold</b>",
    "'; -- {{ 7 * 7 }} {% raw %}",
    "a\u{202e}b\u{2066}c",
    "& &amp; &lt;",
];

/// A vehicle each of whose texts is hostile, in a folder: its path.
pub fn hostile(folder: &Path) -> PathBuf {
    let text = |at: usize| toml::Value::String(HOSTILE[at % HOSTILE.len()].to_owned()).to_string();
    let all = toml::Value::String(HOSTILE.join(" | ")).to_string();
    let package = format!(
        r#"format = 1
rules = ["rules.toml"]
catalogues = ["lamps.toml"]

[vehicle]
name = {all}
owner = {all}
length = "200 in"
width = "80 in"
height = "80 in"

[[head]]
id = "one"
model = "lamp"
at = {{ behind-front = "0 in", right = "0 in", height = "40 in" }}
faces = "front"
serial = {all}

[[mode]]
id = "on"
purpose = "calling"
displays = ["all"]

[[display]]
id = "all"
show = [{{ head = "one", colour = "red", pattern = "slow" }}]

[[pattern]]
id = "slow"
period = "1000 ms"
pulses = [["0 ms", "400 ms"]]

[[statement]]
item = "labels"
answer = "yes"
by = {}
on = 2026-01-02
reference = {}

[[exception]]
finding = "hostile:height@one"
accepted-by = {}
reference = {}
on = 2026-01-02
until = 2027-01-02
reason = {all}
"#,
        text(0),
        text(1),
        text(2),
        text(3)
    );
    let lamps = format!(
        r#"format = 1

[[model]]
id = "lamp"
maker = {all}

[[model.emitter]]
colour = "red"
declared = {{ axis = "900 cd", half-angle = "20 deg" }}
evidence = {{ grade = "estimate", report = {all}, date = 2025-01-02 }}
"#
    );
    let rules = format!(
        r#"format = 1

[ruleset]
id = "hostile"
title = {all}
edition = {}
defers-to = {}
about = {all}

[[document]]
id = "paper"
title = {all}
edition = {}

[[rule]]
id = "height"
says = {all}
quantity = "optical-centre-height"
unit = "in"
require = "at-most"
cite = {{ document = "paper", clause = {}, basis = "memory" }}
limits = [{{ value = 30 }}]

[[rule]]
id = "missing"
says = {all}
quantity = "optical-centre-height"
unit = "in"
require = "at-least"
cite = {{ own = {all} }}
limits = [{{ missing = {all}, see = {all} }}]

[[rule]]
id = "stated"
says = {}
quantity = "attested"
unit = "words"
require = "some-of"
cite = {{ own = {} }}
limits = [{{ item = "labels", value = ["yes"] }}]
"#,
        text(4),
        text(5),
        text(7),
        text(8),
        text(9),
        text(10)
    );
    std::fs::write(folder.join("package.toml"), package).unwrap();
    std::fs::write(folder.join("lamps.toml"), lamps).unwrap();
    std::fs::write(folder.join("rules.toml"), rules).unwrap();
    folder.join("package.toml")
}

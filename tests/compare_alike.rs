//! `wayproof compare`: what is no merit is not marked. Who describes fewer states, who fails, who flashes more than is
//! asked or is known from an estimate is not the best by that.

mod common;

use common::root;

const DAY: [&str; 2] = ["--as-of", "2026-11-27"];

/// A demo package with texts replaced, in a folder of its own, with everything that stands beside it.
fn varied(name: &str, changes: &[(&str, &str)]) -> (tempfile::TempDir, String) {
    let dir = tempfile::tempdir().unwrap();
    for entry in std::fs::read_dir(root().join("demo-data").join(name)).unwrap().map(Result::unwrap) {
        if entry.file_type().unwrap().is_file() {
            std::fs::copy(entry.path(), dir.path().join(entry.file_name())).unwrap();
        }
    }
    let path = dir.path().join("package.toml");
    let mut text = std::fs::read_to_string(&path).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{name}: {from}");
        text = text.replace(from, to);
    }
    std::fs::write(&path, text).unwrap();
    let name = path.to_str().unwrap().to_owned();
    (dir, name)
}

fn compared(files: &[&str], more: &[&str]) -> (String, String) {
    let library = root().join("demo-data/catalogue");
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .arg("compare")
        .args(files)
        .args(["--library", library.to_str().unwrap()])
        .args(DAY)
        .args(more)
        .env("COLUMNS", "300")
        .output()
        .unwrap();
    let errors = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{errors}");
    let text = String::from_utf8(output.stdout).unwrap();
    let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    (text, one_line)
}

/// Rows of the tables in which something is marked; what is said about the word stands before them.
fn marked(text: &str) -> Vec<&str> {
    let rows = text.split("\nFindings\n").nth(1).unwrap().split("\nWhat fails\n").next().unwrap();
    rows.lines().filter(|line| line.split_whitespace().any(|word| word == "best")).collect()
}

/// Each way of describing fewer states, with what is said of it.
#[test]
fn who_is_asked_in_fewer_states_is_not_marked() {
    let base = "demo-data/rescue-4-changed/package.toml";
    let pose = r#"poses = [{ when = "rear-door", at = { behind-front = "341 in", right = "26.2 in", height = "72 in" }, faces = "right" }]"#;
    for (what, changes, said) in [
        (
            "a mode that takes something for granted",
            [("purpose = \"blocking\"", "assume = \"not rear-door\"\npurpose = \"blocking\"")],
            "what modes take for granted (`assume`): A: none | B: on-scene: not rear-door",
        ),
        (
            "what cannot occur",
            [("never = \"reverse and parked\"", "never = \"reverse and parked or rear-door\"")],
            "cannot occur: reverse and parked or rear-door",
        ),
        (
            "a narrower mode",
            [(
                "when = \"warning == high and parked\"\npurpose",
                "when = \"warning == high and parked and not rear-door\"\npurpose",
            )],
            "states judged for blocking: A: ",
        ),
        ("a head that no longer moves", [(pose, "")], "heads that move: A: 1 | B: 0"),
    ] {
        let (_dir, other) = varied("rescue-4-changed", &changes);
        let (text, line) = compared(&[base, &other], &[]);
        assert_eq!(marked(&text), Vec::<&str>::new(), "{what}");
        assert!(line.contains("not judged in the same states, so nothing is marked"), "{what}: {line}");
        assert!(line.contains(said), "{what}: {line}");
    }
    // Another name changes no states.
    let (_dir, other) = varied("rescue-4-changed", &[("Rescue 4", "Rescue 5")]);
    let (_, line) = compared(&[base, &other], &[]);
    assert!(!line.contains("not judged in the same states"), "{line}");
}

/// More flashes than are asked for, a figure that fails and one beside an estimate are no best.
#[test]
fn what_is_no_better_is_not_marked() {
    let base = "demo-data/rescue-4/package.toml";
    // More flashes, with less light each: the sum of flashes goes up.
    let (_dir, slower) = varied("rescue-4", &[("period = \"800 ms\"", "period = \"900 ms\"")]);
    let (text, _) = compared(&[base, &slower], &[]);
    let sums: Vec<Vec<&str>> = text.lines().map(|line| line.split(" (flash-sum)").collect()).collect();
    let differ = |cells: &&Vec<&str>| {
        let figure = |cell: &str| cell.split_whitespace().rev().nth(1).map(str::to_owned);
        cells.len() == 3 && figure(cells[0]) != figure(cells[1])
    };
    assert!(sums.iter().any(|cells| differ(&cells)), "{text}");
    for row in marked(&text) {
        assert!(!row.contains("flash-sum") && !row.contains("-rate)"), "{row}");
    }
    // Both fail: the less failing is not the best.
    let (_dir, other) = varied("rescue-4-changed", &[("tilt = \"-12 deg\"", "tilt = \"-6 deg\"")]);
    let (text, line) = compared(&["demo-data/rescue-4-changed/package.toml", &other], &[]);
    assert!(line.contains("FAILS 9 required findings"), "{line}");
    for row in marked(&text) {
        let before_best: Vec<&str> = row.split(" best").collect();
        let ends = before_best.iter().take(before_best.len() - 1);
        assert!(ends.clone().all(|cell| !cell.ends_with("fail)")), "{row}");
    }
}

/// Who fails is told before any figure, in every format, with the rules that fail.
#[test]
fn failures_stand_at_the_top_and_in_a_list() {
    let files = ["demo-data/rescue-4/package.toml", "demo-data/rescue-4-changed/package.toml"];
    let (text, line) = compared(&files, &[]);
    let top = text.split("\nFindings\n").next().unwrap();
    assert!(top.contains("FAILS 9 required findings"), "{top}");
    assert!(line.contains("What fails ========== A: nothing that is required B: X "), "{line}");
    assert!(line.contains("zones-two-level:zone-total@blocking/upper/C"), "{line}");
    let dir = tempfile::tempdir().unwrap();
    for name in ["offers.csv", "offers.html"] {
        let file = dir.path().join(name);
        compared(&files, &["-o", file.to_str().unwrap()]);
        let text = std::fs::read_to_string(&file).unwrap();
        assert!(text.contains("FAILS 9 required findings"), "{name}");
        let id = "zones-two-level:zone-total@blocking/upper/C";
        assert!(text.replace("&#x2f;", "/").contains(id), "{name}");
        // The day and the usual cautions belong to every document.
        assert!(text.contains("2026-11-27") && text.contains("authority having jurisdiction"), "{name}");
    }
}

/// Other words and other names: the same states are judged, so the better pattern is marked as ever.
#[test]
fn names_and_words_are_no_other_states() {
    let base = "demo-data/brush-2-complete/package.toml";
    let better = ("pulses = [[\"0 ms\", \"100 ms\"]]", "pulses = [[\"0 ms\", \"150 ms\"]]");
    let (_dir, other) = varied("brush-2-complete", &[better]);
    let (text, _) = compared(&[base, &other], &[]);
    let expected: Vec<String> = marked(&text).into_iter().map(str::to_owned).collect();
    assert!(!expected.is_empty(), "{text}");
    for (what, changes) in [
        ("the words of a position", &[("on = \"left door open\"", "on = \"left door is open\"")][..]),
        ("a mode", &[("id = \"responding\"", "id = \"en-route\"")]),
        ("a mode that takes something for granted", &[("id = \"on-scene\"", "id = \"at-work\"")]),
        ("an input", &[("left-door = {", "port-door = {"), ("when = \"left-door\"", "when = \"port-door\"")]),
        (
            "an input of what is taken for granted",
            &[("hose-rack = {", "reel = {"), ("\"hose-rack\"", "\"reel\""), ("not hose-rack", "not reel")],
        ),
    ] {
        let (_dir, other) = varied("brush-2-complete", &[&[better][..], changes].concat());
        let (text, line) = compared(&[base, &other], &[]);
        assert!(!line.contains("not judged in the same states"), "{what}: {line}");
        assert_eq!(marked(&text), expected, "{what}");
    }
    // By another name and in fewer states.
    let fewer = [
        ("left-door = {", "port-door = {"),
        ("when = \"left-door\"", "when = \"port-door\""),
        ("assume = \"not hose-rack\" ", "assume = \"not hose-rack and not port-door\" "),
    ];
    let (_dir, other) = varied("brush-2-complete", &[&[better][..], &fewer].concat());
    let (text, line) = compared(&[base, &other], &[]);
    assert!(line.contains("not judged in the same states"), "{line}");
    assert_eq!(marked(&text), Vec::<&str>::new());
}

//! One sample a fault, named after it, in tests/bad-input; what is said of each is a snapshot. Nothing is judged, the
//! status is 2, and nothing stands on standard output.

mod common;

use common::root;

fn check(sample: &str) -> (Option<i32>, String, String) {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root().join("tests/bad-input"))
        .args(["check", sample, "--library", "files"])
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

#[test]
fn every_fault_is_told_with_its_place() {
    let mut samples: Vec<String> = std::fs::read_dir(root().join("tests/bad-input"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".toml"))
        .collect();
    samples.sort();
    assert!(samples.len() >= 120, "{} samples", samples.len());
    for sample in samples {
        let (status, out, said) = check(&sample);
        assert_eq!((status, out.as_str()), (Some(2), ""), "{sample}: {said}");
        assert!(said.contains("error["), "{sample}: {said}");
        assert!(said.contains("--> "), "{sample} names a place: {said}");
        assert!(!said.contains("panicked"), "{sample}: {said}");
        insta::with_settings!({ snapshot_path => "snapshots/bad-input", prepend_module_to_snapshot => false }, {
            insta::assert_snapshot!(sample.trim_end_matches(".toml"), said);
        });
    }
}

#[test]
fn all_mistakes_of_all_files_come_in_one_run() {
    let (_, _, said) = check("many-mistakes.toml");
    for code in
        ["no-unit", "unknown-model", "missing-key", "unknown-key", "bad-pattern", "unknown-display", "unknown-ruleset"]
    {
        assert!(said.contains(&format!("error[{code}]")), "{code}: {said}");
    }
    assert!(said.contains("nothing was judged: 7 mistakes"), "no mistake brings another with it: {said}");
}

#[test]
fn an_error_that_concerns_two_places_shows_both() {
    for (sample, places) in [
        ("double-head.toml", 2),
        ("double-pattern.toml", 2),
        ("pulses-overlap.toml", 2),
        ("colour-the-model-lacks.toml", 2),
        ("phase-by-side-on-the-centre-line.toml", 2),
    ] {
        let (_, _, said) = check(sample);
        let marks = said.lines().filter(|line| line.contains("^^") || line.contains("--- ")).count();
        assert!(marks >= places, "{sample}: {said}");
    }
}

#[test]
fn spreadsheets_of_other_countries_are_read() {
    let dir = tempfile::tempdir().unwrap();
    let sample = std::fs::read_to_string(root().join("tests/bad-input/files/lamps.toml")).unwrap();
    std::fs::write(dir.path().join("lamps.toml"), format!("\u{feff}{sample}")).unwrap();
    let package = "\u{feff}format = 1\r\nrules = [\"zones-one-level\"]\r\ncatalogues = [\"lamps.toml\"]\r\nheads = \"heads.csv\"\r\n\
        [vehicle]\r\nname = \"x\"\r\nlength = \"5,9 m\"\r\nwidth = \"2 m\"\r\nheight = \"2 m\"\r\n";
    let table = "\u{feff}id;model;behind-front (m);right;height (m);faces\r\na-left;lamp;0,05;-0,6 m;1,1;front\r\n";
    std::fs::write(dir.path().join("heads.csv"), table).unwrap();
    let run = |package: &str| {
        std::fs::write(dir.path().join("package.toml"), package).unwrap();
        let output = assert_cmd::Command::cargo_bin("wayproof")
            .unwrap()
            .current_dir(dir.path())
            .args(["check", "package.toml"])
            .output();
        let output = output.unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    };
    // In TOML a decimal comma is a mistake that is told; in a table with semicolons it is the decimal mark.
    let (status, said) = run(package);
    assert_eq!(status, Some(2));
    assert!(said.contains("package.toml:7:10") && said.contains("error[decimal-comma]"), "{said}");
    let (status, said) = run(&package.replace("5,9 m", "5.9 m"));
    assert_ne!(status, Some(2), "{said}");
    assert!(said.contains("this package has no mode"), "{said}");
}

//! Each step knows only those to its left: the `use crate::` lines of every room are read, and an arrow that runs the
//! wrong way fails.

use std::path::{Path, PathBuf};

/// Rooms from left to right, and what each may use.
const MAY_USE: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("diagnostic", &[]),
    ("logic", &[]),
    ("geometry", &["units"]),
    ("photometry", &["units"]),
    ("flash", &["units"]),
    ("colour", &["units"]),
    ("electrical", &["units", "flash"]),
    ("sound", &["units"]),
    ("load", &["units", "diagnostic"]),
    (
        "package",
        &["units", "logic", "diagnostic", "load", "geometry", "photometry", "flash", "colour", "electrical", "sound"],
    ),
    ("import", &["units", "diagnostic", "load", "electrical", "package"]),
    ("measure", &["units", "logic", "geometry", "photometry", "flash", "electrical", "sound", "package"]),
    ("quantity", &["units", "logic", "geometry", "flash", "colour", "electrical", "sound", "package", "measure"]),
    ("ruleset", &["units", "logic", "diagnostic", "load", "flash", "colour", "package", "measure", "quantity"]),
    ("judge", &["units", "logic", "load", "package", "measure", "quantity", "ruleset"]),
    (
        "bid",
        &["units", "diagnostic", "load", "geometry", "flash", "package", "measure", "quantity", "ruleset", "judge"],
    ),
    (
        "compare",
        &[
            "units",
            "logic",
            "geometry",
            "flash",
            "electrical",
            "sound",
            "load",
            "package",
            "measure",
            "quantity",
            "ruleset",
            "judge",
        ],
    ),
    ("readings", &["units", "diagnostic", "logic", "load", "package", "measure", "quantity", "ruleset", "judge"]),
    (
        "report",
        &[
            "units",
            "logic",
            "geometry",
            "electrical",
            "sound",
            "load",
            "colour",
            "package",
            "measure",
            "quantity",
            "ruleset",
            "judge",
            "bid",
            "compare",
            "readings",
        ],
    ),
    ("schema", &[]),
    (
        "cli",
        &[
            "diagnostic",
            "logic",
            "load",
            "package",
            "import",
            "measure",
            "quantity",
            "ruleset",
            "judge",
            "bid",
            "compare",
            "readings",
            "report",
            "schema",
        ],
    ),
];

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn no_step_knows_one_to_its_right() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut uses = 0;
    for (room, may_use) in MAY_USE {
        let mut found = Vec::new();
        files(&src.join(room), &mut found);
        assert!(!found.is_empty(), "{room} is empty");
        for file in found {
            let text = std::fs::read_to_string(&file).unwrap();
            // Comments may speak of any room.
            let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
            let text = code.collect::<Vec<_>>().join("\n");
            for (at, _) in text.match_indices("crate::") {
                let rest = &text[at + "crate::".len()..];
                let used: String = rest.chars().take_while(|c| c.is_ascii_lowercase() || *c == '_').collect();
                let fine = used == *room || may_use.contains(&used.as_str());
                assert!(fine, "{}: `{room}` uses `{used}`", file.display());
                uses += 1;
            }
        }
    }
    assert!(uses > 60, "{uses} uses read");
    for (at, (room, may_use)) in MAY_USE.iter().enumerate() {
        for used in *may_use {
            let left = MAY_USE.iter().take(at).any(|(known, _)| known == used);
            assert!(left, "`{room}` may use `{used}`, which does not stand to its left");
        }
    }
    let rooms = std::fs::read_dir(&src).unwrap().filter(|entry| entry.as_ref().unwrap().path().is_dir()).count();
    assert_eq!(rooms, MAY_USE.len(), "every room stands in the list");
}

#[test]
fn every_file_says_what_lives_there_and_is_short() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    files(&src, &mut found);
    for file in found {
        let text = std::fs::read_to_string(&file).unwrap();
        assert!(text.starts_with("//!"), "{} has no top comment", file.display());
        let lines = text.lines().count();
        assert!(lines <= 500, "{}: {lines} lines; does it hold two things?", file.display());
    }
}

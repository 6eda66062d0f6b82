//! Which room of `src/` may know which: every `crate::room` in the code is an arrow, and none may run the wrong way.
//!
//! The physics must not know a rule, the judge no physics, and a report nothing that a finding does not hold; the
//! compiler does not see to that, this does.

// A test may fail loudly.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod common;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The rooms from the first to the last; a room knows those of earlier rows, never one of its own row or of a later.
const ROWS: &[&[&str]] = &[
    &["units"],
    &["diagnostic"],
    &["load", "geometry", "flash", "photometry"],
    &["package"],
    &["measure"],
    &["quantity"],
    &["ruleset"],
    &["judge"],
    &["report"],
    &["cli"],
];

/// Rooms of pure calculation: they know typed quantities and nothing of files or messages.
const ONLY_UNITS: &[&str] = &["geometry", "flash", "photometry"];

fn row(room: &str) -> usize {
    let found = ROWS.iter().position(|rooms| rooms.contains(&room));
    found.unwrap_or_else(|| panic!("`{room}` has no row in tests/layers.rs: say what it may know"))
}

/// The rooms that a text names behind `crate::`, comments left out.
fn arrows(text: &str) -> BTreeSet<String> {
    let code = text.lines().map(|line| line.split("//").next().unwrap_or_default());
    let named = code.flat_map(|line| line.split("crate::").skip(1));
    named
        .map(|rest| {
            let name: String = rest.chars().take_while(|c| c.is_ascii_lowercase() || *c == '_').collect();
            assert!(!name.is_empty(), "write one room behind each `crate::`: {rest}");
            name
        })
        .collect()
}

fn complaint(from: &str, to: &str) -> Option<String> {
    if from == to {
        return None;
    }
    if row(to) >= row(from) {
        return Some(format!("{from} knows {to}, which stands to its right"));
    }
    (ONLY_UNITS.contains(&from) && to != "units").then(|| format!("{from} knows {to}, but calculates only"))
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

#[test]
fn no_arrow_runs_the_wrong_way() {
    let src = common::root().join("src");
    let (mut seen, mut wrong, mut met) = (0, Vec::new(), BTreeSet::new());
    for file in rust_files(&src) {
        let inside = file.strip_prefix(&src).unwrap();
        let Some(room) = inside.parent().and_then(|folder| folder.iter().next()) else { continue };
        let room = room.to_str().unwrap().to_owned();
        for to in arrows(&std::fs::read_to_string(&file).unwrap()) {
            seen += 1;
            wrong.extend(complaint(&room, &to).map(|said| format!("{}: {said}", inside.display())));
        }
        met.insert(room);
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    let known: BTreeSet<String> = ROWS.concat().iter().map(|room| (*room).to_owned()).collect();
    assert_eq!(met, known, "each row names rooms that exist");
    assert!(seen > 100, "only {seen} arrows were found");
}

#[test]
fn a_wrong_arrow_would_be_seen() {
    let text = "use crate::units::Length;\n// use crate::cli::Args;\nlet x = crate::ruleset::shipped::find(id);\n";
    let found = arrows(text);
    assert_eq!(found.iter().map(String::as_str).collect::<Vec<_>>(), ["ruleset", "units"]);
    assert!(complaint("measure", "ruleset").is_some());
    assert!(complaint("load", "photometry").is_some(), "neighbours do not know each other");
    assert!(complaint("photometry", "diagnostic").is_some());
    assert!(complaint("ruleset", "measure").is_none());
    assert!(complaint("judge", "load").is_none());
}

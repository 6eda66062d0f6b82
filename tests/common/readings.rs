//! Files of readings judged through the library, on packages of the demo that are changed for a case.

use std::path::{Path, PathBuf};

use wayproof::diagnostic::{Log, Sources, render};
use wayproof::judge::{Verdict, judge};
use wayproof::measure::Conduct;
use wayproof::readings::{Line, ReadingsJudged, Record, beyond, judge_readings, lines, read};

use super::{load_file, root, terms};

/// What the package of a case is: a demo and what is written otherwise in it.
pub fn changed_demo(demo: &str, change: &[(String, String)]) -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    for folder in ["catalogue", "overlays", demo] {
        copy(&root().join("demo-data").join(folder), &dir.path().join(folder));
    }
    let file = dir.path().join(demo).join("package.toml");
    let mut text = std::fs::read_to_string(&file).unwrap();
    for (old, new) in change {
        match old.as_str() {
            "" => text.push_str(new),
            old => {
                assert_eq!(text.matches(old).count(), 1, "{demo}: {old}");
                text = text.replace(old, new);
            }
        }
    }
    std::fs::write(&file, text).unwrap();
    (dir, file)
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            std::fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
        }
    }
}

/// Judges files of readings on 2026-11-25 beside a package; an error is the codes of all mistakes, and how they read.
pub fn judged_on(package: &Path, files: &[PathBuf]) -> Result<ReadingsJudged, (Vec<&'static str>, String)> {
    let (package, rulesets) = load_file(package, &[]);
    let conduct = Conduct::new(&package);
    let known = judge(&conduct, &rulesets, terms());
    let lines = lines(&conduct, &rulesets, &known);
    let beside = beyond(&known);
    let (sources, log) = (Sources::default(), Log::default());
    let mut record = Record::default();
    files.iter().filter_map(|file| read(file, &sources, &log)).for_each(|one| record.join(one, &log));
    let judged = match log.has_errors() {
        true => None,
        false => judge_readings((lines, beside), record, &package.vehicle.name, terms(), &log),
    };
    let judged = judged.map(|mut readings| {
        readings.open_light_of_another(&package, &rulesets, &known);
        readings
    });
    judged.ok_or_else(|| {
        let said = log.take();
        (said.iter().map(|said| said.code).collect(), render(&said, &sources, false))
    })
}

pub fn line<'j>(judged: &'j ReadingsJudged, id: &str) -> (usize, &'j Line) {
    let at = judged.lines.iter().position(|line| line.id == id);
    let at = at
        .unwrap_or_else(|| panic!("no line {id} in {:?}", judged.lines.iter().map(|one| &one.id).collect::<Vec<_>>()));
    (at, &judged.lines[at])
}

/// The verdict of a line in a word.
pub fn word(judged: &ReadingsJudged, line: usize) -> &'static str {
    let result = &judged.results[line];
    if result.judgement.is_none() && result.verdict == Verdict::NotShown { "not-read" } else { result.verdict.word() }
}

/// What is wrong with the reading that counts.
pub fn faults(judged: &ReadingsJudged, line: usize) -> Vec<&'static str> {
    let counts = judged.results[line].judgement.map(|at| &judged.judgements[at]);
    counts.map(|one| one.faults.iter().map(|fault| fault.kind.word()).collect()).unwrap_or_default()
}

/// Everything that is said of a line and of the reading that counts.
pub fn said(judged: &ReadingsJudged, line: usize) -> String {
    let counts = judged.results[line].judgement.map(|at| &judged.judgements[at]);
    let of_reading = counts.into_iter().flat_map(|one| one.faults.iter().map(|fault| &fault.text).chain(&one.notes));
    of_reading.chain(&judged.results[line].notes).cloned().collect::<Vec<_>>().join("; ")
}

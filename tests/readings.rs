//! Readings: each beside its limit and beside what was computed, what is wrong with a record, deficiencies and how they
//! are closed. Cases stand in tests/readings/cases.toml; what the demo's record comes to in tests/readings/rescue-4.csv.

mod common;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use common::{load_file, root, terms};
use proptest::prelude::*;
use wayproof::diagnostic::{Log, Sources};
use wayproof::judge::{Status, Verdict, judge};
use wayproof::measure::Conduct;
use wayproof::readings::{
    Deficiency, FaultKind, Line, ReadingsJudged, Record, Standing, beyond, deficiencies, judge_readings, lines, read,
};

const PACKAGE: &str = "demo-data/rescue-4/package.toml";

/// The lines of a demo.
fn sheet(package: &str) -> Vec<Line> {
    let (package, rulesets) = load_file(&root().join(package), &[]);
    let conduct = Conduct::new(&package);
    let judged = judge(&conduct, &rulesets, terms());
    lines(&conduct, &rulesets, &judged)
}

/// Judges files of readings on 2026-11-25; an error is the codes of all mistakes.
fn judged(sheet: &[Line], files: &[PathBuf]) -> Result<ReadingsJudged, Vec<&'static str>> {
    let (sources, log) = (Sources::default(), Log::default());
    let mut record = Record::default();
    files.iter().filter_map(|file| read(file, &sources, &log)).for_each(|one| record.join(one, &log));
    let judged = match log.has_errors() {
        true => None,
        false => judge_readings((sheet.to_vec(), Vec::new()), record, "Rescue 4", terms(), &log),
    };
    judged.ok_or_else(|| log.take().iter().map(|said| said.code).collect())
}

fn at(judged: &ReadingsJudged, id: &str) -> usize {
    judged.lines.iter().position(|line| line.id == id).unwrap_or_else(|| panic!("no line {id}"))
}

/// The verdict of a line in a word.
fn word(judged: &ReadingsJudged, line: usize) -> &'static str {
    let result = &judged.results[line];
    if result.judgement.is_none() && result.verdict == Verdict::NotShown { "not-read" } else { result.verdict.word() }
}

/// What is wrong with the reading that counts.
fn faults(judged: &ReadingsJudged, line: usize) -> Vec<&'static str> {
    let latest = judged.results[line].judgement.map(|at| &judged.judgements[at]);
    latest.map(|one| one.faults.iter().map(|fault| fault.kind.word()).collect()).unwrap_or_default()
}

/// The last deficiency of a line.
fn deficiency(judged: &ReadingsJudged, line: usize) -> Option<Deficiency> {
    deficiencies(judged).into_iter().rfind(|one| one.line == line)
}

#[derive(serde::Deserialize)]
struct Cases {
    fill: BTreeMap<String, String>,
    case: Vec<Case>,
}

#[derive(serde::Deserialize)]
struct Case {
    name: String,
    text: String,
    line: Option<String>,
    verdict: Option<String>,
    #[serde(default)]
    faults: Vec<String>,
    remarks: Option<Vec<String>>,
    standing: Option<String>,
    due: Option<String>,
    /// It is not good, and the vehicle is not to blame.
    #[serde(default)]
    blameless: bool,
    error: Option<String>,
}

#[test]
fn each_case_comes_out_as_it_says() {
    let text = std::fs::read_to_string(root().join("tests/readings/cases.toml")).unwrap();
    let cases: Cases = toml::from_str(&text).unwrap();
    assert!(cases.case.len() > 55, "{} cases", cases.case.len());
    let sheet = sheet(PACKAGE);
    let mut wrong = Vec::new();
    for case in cases.case {
        let text = cases.fill.iter().fold(case.text.clone(), |text, (name, fill)| text.replace(name, fill));
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("readings.toml");
        std::fs::write(&file, &text).unwrap();
        let mut say = |what: String| wrong.push(format!("{}: {what}", case.name));
        match (judged(&sheet, &[file]), &case.error) {
            (Err(codes), Some(error)) => {
                if !codes.contains(&error.as_str()) {
                    say(format!("the mistakes are {codes:?}"));
                }
            }
            (Err(codes), None) => say(format!("mistakes: {codes:?}")),
            (Ok(_), Some(error)) => say(format!("no mistake, and {error} was meant")),
            (Ok(judged), None) => {
                let line = at(&judged, case.line.as_deref().unwrap());
                let verdict = word(&judged, line);
                if Some(verdict) != case.verdict.as_deref() {
                    say(verdict.to_owned());
                }
                if faults(&judged, line) != case.faults {
                    say(format!("faults {:?}", faults(&judged, line)));
                }
                let of_line = judged.judgements.iter().filter(|one| one.line == line);
                let all: Vec<&str> = of_line.flat_map(|one| &one.faults).map(|fault| fault.kind.word()).collect();
                if case.remarks.as_ref().is_some_and(|remarks| *remarks != all) {
                    say(format!("remarks {all:?}"));
                }
                let last = deficiency(&judged, line);
                let standing = last.as_ref().map(|last| last.standing.word());
                // What is good and agrees is none.
                let wanting =
                    !["pass", "not-read"].contains(&verdict) || case.faults.iter().any(|one| one == "disagrees");
                let wanted = case.standing.is_some() || (wanting && !case.blameless);
                if last.is_some() != wanted {
                    say(format!("a deficiency: {}, and {wanted} was meant", last.is_some()));
                }
                if case.standing.is_some() && standing != case.standing.as_deref() {
                    say(format!("stands {standing:?}"));
                }
                let due = last.and_then(|last| last.due).map(|due| due.to_string());
                if case.due.is_some() && due != case.due {
                    say(format!("due {due:?}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_demo_has_one_of_each_and_all_else_is_not_read() {
    let sheet = sheet(PACKAGE);
    let judged = judged(&sheet, &[root().join("demo-data/rescue-4/readings.toml")]).unwrap();
    let mut reader = csv::Reader::from_path(root().join("tests/readings/rescue-4.csv")).unwrap();
    let expected: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    for row in &expected {
        let line = at(&judged, &row[0]);
        let standing = deficiency(&judged, line).map(|one| one.standing.word()).unwrap_or_default();
        let found = [word(&judged, line), &faults(&judged, line).join(" "), standing].map(str::to_owned);
        assert_eq!(found, [&row[1], &row[2], &row[3]].map(str::to_owned), "{}", &row[0]);
    }
    let read = judged.results.iter().filter(|result| result.judgement.is_some()).count();
    assert_eq!(read, expected.len());
    let closed = deficiency(&judged, at(&judged, "headlamp-flashing:flash-rate@upper-beam-left/all")).unwrap();
    let Standing::Closed(on) = closed.standing else { panic!("{closed:?}") };
    assert_eq!((on.to_string().as_str(), closed.history.len()), ("2026-11-24", 2));
    let tally = judged.tally;
    assert_eq!((tally.pass, tally.fail, tally.too_close, tally.not_shown, tally.disagree), (5, 1, 1, 1, 2));
    let required = judged.lines.iter().filter(|line| line.strength == wayproof::ruleset::Strength::Required).count();
    assert_eq!(tally.pass + tally.fail + tally.too_close + tally.not_shown + tally.not_read + tally.excepted, required);
    assert_eq!(tally.status(), Status::Failed);
}

/// A table as a spreadsheet of another country saves it: semicolons, a comma before decimals, a byte order mark.
const TABLE: &str = "\u{feff}# a remark
Line;Value;Unit;Uncertainty;Instrument;Instrument kind;Instrument limits of error;Digit;\
                     Calibrated;Calibration due;By;On;Responsible;Due;Note;Where
supply-12v:fuse-continuous@side-warning;5,20;A;;clamp-1;clamp meter;2 % + 5 digits;0,01 A;2026-03-11;2027-03-11;technician 2;2026-11-18;upfitter;;;power
zones-two-level:lower-height@lower/grille-left/all;44,1;in;0,5 in;tape;tape;;;2026-03-11;2027-03-11;technician 2;2026-11-18;;;'=noted;front
zones-two-level:lower-height@lower/front-lower-left/all;640;mm;12,7;tape;;;;;;technician 2;2026-11-18;;;;front
zones-two-level:colours@blocking/C;red amber;;;;;;;;;technician 2;2026-11-18;;;;rear
zones-two-level:master@vehicle;;;;;;;;;;;;;;;switches
supply-12v:fuse-continuous@side-warning;7,1;A;;clamp-1;;;;;;technician 4;2026-11-24;;;;power
\"# another; remark\";;;;;;;;;;;;;;;
# a third, with a comma
";

#[test]
fn a_table_from_a_spreadsheet_says_the_same_as_a_file() {
    let sheet = sheet(PACKAGE);
    let dir = tempfile::tempdir().unwrap();
    let (table, file) = (dir.path().join("filled.CSV"), dir.path().join("filled.toml"));
    std::fs::write(&table, TABLE).unwrap();
    let text = r#"
format = 1
[record]
by = "technician 2"
on = 2026-11-18
[[instrument]]
id = "clamp-1"
kind = "clamp meter"
limits-of-error = "2 % + 5 digits"
digit = "0.01 A"
calibrated = 2026-03-11
due = 2027-03-11
[[instrument]]
id = "tape"
kind = "tape"
calibrated = 2026-03-11
due = 2027-03-11
[[reading]]
line = "supply-12v:fuse-continuous@side-warning"
value = "5.20 A"
instrument = "clamp-1"
responsible = "upfitter"
[[reading]]
line = "zones-two-level:lower-height@lower/grille-left/all"
value = "44.1 in"
uncertainty = "0.5 in"
instrument = "tape"
note = "=noted"
[[reading]]
line = "zones-two-level:lower-height@lower/front-lower-left/all"
value = "640 mm"
uncertainty = "12.7 mm"
instrument = "tape"
[[reading]]
line = "zones-two-level:colours@blocking/C"
value = "red amber"
[[reading]]
line = "zones-two-level:master@vehicle"
value = ""
[[reading]]
line = "supply-12v:fuse-continuous@side-warning"
value = "7.1 A"
instrument = "clamp-1"
by = "technician 4"
on = 2026-11-24
"#;
    std::fs::write(&file, text).unwrap();
    let [table, file] = [table, file].map(|path| judged(&sheet, &[path]).unwrap());
    let said = |one: &ReadingsJudged| {
        let of = |judgement: &wayproof::readings::Judgement| {
            let reading = &one.record.readings[judgement.reading];
            let faults: Vec<FaultKind> = judgement.faults.iter().map(|fault| fault.kind).collect();
            let who = (reading.by.clone(), reading.on.to_string(), reading.note.clone(), reading.responsible.clone());
            (judgement.line, judgement.verdict, format!("{:?}", judgement.found), judgement.expanded, faults, who)
        };
        (one.judgements.iter().map(of).collect::<Vec<_>>(), one.tally, one.record.blank)
    };
    assert_eq!(said(&table), said(&file));
    assert_eq!((table.tally.pass, table.record.blank), (4, 1));
    assert_eq!(table.record.instruments.len(), 2);
}

#[test]
fn mistakes_in_a_table_are_told_at_their_row() {
    let sheet = sheet(PACKAGE);
    let dir = tempfile::tempdir().unwrap();
    for (name, text, code) in [
        ("nothing", "", "empty-table"),
        ("no-line", "value,unit\n1,in\n", "missing-column"),
        ("what", "line,value,colour\nx,1,red\n", "unknown-column"),
        ("twice", "line,value,value\nx,1,2\n", "double-column"),
        ("nobody", "line,value,on\nzones-two-level:master@vehicle,0,2026-11-18\n", "missing-cell"),
        ("date", "line,value,by,on\nzones-two-level:master@vehicle,0,t,18.11.2026\n", "bad-date"),
        ("month", "line,value,by,on\nzones-two-level:master@vehicle,0,t,11/18/2026\n", "bad-date"),
        ("tabs", "line\tvalue\tby\ton\nzones-two-level:master@vehicle\t0\tt\t2026-11-18\n", "other-format"),
        ("page", "<!doctype html>\n<p>line,value</p>\n", "other-format"),
        (
            "two-kinds",
            "line,value,by,on,instrument,instrument-kind\nzones-two-level:master@vehicle,0,t,2026-11-18,a,tape\nzones-two-level:master@vehicle,0,t,2026-11-18,a,clamp\n",
            "two-descriptions",
        ),
        (
            "zero",
            "line,value,unit,uncertainty,by,on\nzones-two-level:lower-height@lower/grille-left,44,in,0,t,2026-11-18\n",
            "bad-uncertainty",
        ),
        ("cells", "line,value,by,on\nzones-two-level:master@vehicle,0,t,2026-11-18,x\n", "too-many-cells"),
        ("unit", "line,value,by,on\nzones-two-level:lower-height@lower/grille-left,44,t,2026-11-18\n", "no-unit"),
        ("id", "line,value,by,on,instrument\nzones-two-level:master@vehicle,0,t,2026-11-18,my tape\n", "bad-id"),
        (
            "thousands",
            "line;value;by;on\nzones-two-level:lower-height@lower/grille-left;1.016 mm;t;2026-11-18\n",
            "ambiguous-figure",
        ),
        (
            "digit",
            "line,value,by,on,instrument,digit,calibrated\nzones-two-level:master@vehicle,0,t,2026-11-18,m,-0.01 A,2026-01-01\n",
            "not-positive",
        ),
        (
            "no-digit",
            "line,value,by,on,instrument,digit,calibrated\nzones-two-level:master@vehicle,0,t,2026-11-18,m,small,2026-01-01\n",
            "bad-figure",
        ),
        (
            "both",
            "line,value,by,on,instrument,instrument-uncertainty,instrument-limits-of-error\nzones-two-level:master@vehicle,0,t,2026-11-18,m,1 %,2 %\n",
            "two-uncertainties",
        ),
        (
            "vehicle",
            "line,value,by,on,vehicle\nzones-two-level:master@vehicle,0,t,2026-11-18,Brush 2\n",
            "other-vehicle",
        ),
        ("line", "line,value,by,on\nzones-two-level:mastre@vehicle,0,t,2026-11-18\n", "unknown-line"),
    ] {
        let file = dir.path().join(format!("{name}.csv"));
        std::fs::write(&file, text).unwrap();
        let codes = judged(&sheet, &[file]).unwrap_err();
        assert!(codes.contains(&code), "{name}: {codes:?}");
    }
}

#[test]
fn several_files_are_taken_together() {
    let sheet = sheet(PACKAGE);
    let dir = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        std::fs::write(dir.path().join(name), text).unwrap();
        dir.path().join(name)
    };
    let instruments = write(
        "instruments.toml",
        "format = 1\n[decision]\nrule = \"simple\"\n[[instrument]]\nid = \"tape\"\nuncertainty = \"0.5 in\"\ncalibrated = 2026-01-01\n",
    );
    let filled = write(
        "filled.csv",
        "line,value,instrument,by,on\nzones-two-level:lower-height@lower/rear-lower-brake-left/all,61.8 in,tape,t,2026-11-18\n",
    );
    let line = "zones-two-level:lower-height@lower/rear-lower-brake-left/all";
    let together = judged(&sheet, &[instruments, filled.clone()]).unwrap();
    assert_eq!(word(&together, at(&together, line)), "pass", "simple acceptance, by the other file");
    let alone = judged(&sheet, &[filled]).unwrap();
    assert_eq!(faults(&alone, at(&alone, line)), ["no-instrument", "no-uncertainty", "disagrees"]);
    let guarded = write("guarded.toml", "format = 1\n[decision]\nrule = \"guarded\"\n");
    let other = write("other.toml", "format = 1\n[record]\nvehicle = \"Brush 2\"\n");
    let this = write("this.toml", "format = 1\n[record]\nvehicle = \"Rescue 4\"\n");
    let simple = dir.path().join("instruments.toml");
    assert_eq!(judged(&sheet, &[simple.clone(), guarded.clone()]).unwrap_err(), ["two-decisions"]);
    assert_eq!(judged(&sheet, &[guarded, simple.clone()]).unwrap_err(), ["two-decisions"]);
    assert!(judged(&sheet, &[simple.clone(), this.clone()]).is_ok());
    assert_eq!(judged(&sheet, &[other, this]).unwrap_err(), ["other-vehicle"], "whichever comes last");
}

#[test]
fn a_sheet_of_another_vehicle_or_in_another_code_is_told_once() {
    let sheet = sheet(PACKAGE);
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("filled.csv");
    let rows = |known: usize| {
        let other = (0..8).map(|at| format!("other-rules:height@head-{at},1 in,t,2026-11-18\n"));
        let known = (0..known).map(|_| "zones-two-level:master@vehicle,0,t,2026-11-18\n".to_owned());
        format!("line,value,by,on\n{}", other.chain(known).collect::<String>())
    };
    std::fs::write(&file, rows(2)).unwrap();
    assert_eq!(judged(&sheet, std::slice::from_ref(&file)).unwrap_err(), ["other-vehicle"]);
    std::fs::write(&file, rows(9)).unwrap();
    assert_eq!(judged(&sheet, std::slice::from_ref(&file)).unwrap_err(), ["unknown-line"; 8], "slips are told each");
    // A letter as Windows-1252 has it.
    std::fs::write(&file, b"line,value,by,on\nzones-two-level:master@vehicle,0,J\xf6rg,2026-11-18\n").unwrap();
    assert_eq!(judged(&sheet, &[file]).unwrap_err(), ["not-text"]);
}

#[test]
fn what_no_line_reads_stands_beside_the_lines_and_decides_with_them() {
    let changed = "demo-data/rescue-4-changed/package.toml";
    let (package, rulesets) = load_file(&root().join(changed), &[]);
    let conduct = Conduct::new(&package);
    let judged = judge(&conduct, &rulesets, terms());
    let lines = lines(&conduct, &rulesets, &judged);
    let left = beyond(&judged);
    let open = |finding: &&wayproof::judge::Finding| {
        let required = finding.strength == wayproof::ruleset::Strength::Required;
        let bad = matches!(finding.verdict, Verdict::Fail | Verdict::TooClose | Verdict::NotShown | Verdict::Excepted);
        required && bad && !finding.is_meeting()
    };
    let mut light = 0;
    for finding in judged.findings.iter().filter(open) {
        let on_line = lines.iter().any(|line| line.findings.contains(&finding.id));
        assert!(left.iter().any(|one| one.id == finding.id), "{}: where nothing was read", finding.id);
        light += usize::from(!on_line);
    }
    let failing = left.iter().filter(|finding| finding.verdict == Verdict::Fail).count();
    assert!(failing > 0 && light >= failing, "{light}, {failing}");
    // Nothing read, and the record fails all the same.
    let record = Record::default();
    let read = judge_readings((lines, left), record, &package.vehicle.name, terms(), &Log::default()).unwrap();
    assert_eq!((read.tally.beyond.fail, read.tally.status()), (failing, Status::Failed));
    assert_eq!(read.tally.of_lines(), Status::Open);
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let one = "format = 1\n[record]\nby = \"t\"\non = 2026-11-18\n[[reading]]\nline = \"zones-two-level:master@vehicle\"\nvalue = \"0\"\n";
    std::fs::write(path("one.toml"), one).unwrap();
    let (out, said, status) = wayproof(&root(), &["readings", changed, &path("one.toml")]);
    assert_eq!(status, 1, "{said}{out}");
    let (_, rest) = out.split_once("What no reading decides, by calculation").unwrap();
    assert_eq!(rest.matches("\nfail ").count(), failing, "{out}");
    for (kind, name) in [("record", "r.html"), ("record", "r.toml"), ("letter", "l.html")] {
        let made = ["report", changed, "--as", kind, "--readings", &path("one.toml"), "-o", &path(name)];
        assert_eq!(wayproof(&root(), &made).2, 0, "{name}");
        let text = std::fs::read_to_string(path(name)).unwrap().replace("&#x2f;", "/");
        for finding in read.beyond.iter() {
            assert!(text.contains(&finding.id), "{name}: {}", finding.id);
        }
        if name == "r.html" {
            assert!(text.contains("<section class=\"verdict fail\""), "the box is that of a fail");
            let (head, _) = text.split_once("<section class=\"verdict").unwrap();
            assert!(head.contains("As of 2026-11-25; read on 2026-11-18."), "the day stands at the head");
        }
    }
}

#[test]
fn a_table_of_readings_is_written_over_nothing_that_is_there() {
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let one = "format = 1\n[record]\nby = \"t\"\non = 2026-11-18\n[[reading]]\nline = \"zones-two-level:master@vehicle\"\nvalue = \"0\"\n";
    std::fs::write(path("one.toml"), one).unwrap();
    let (readings, out) = (path("one.toml"), path("out.txt"));
    let write = ["readings", PACKAGE, &readings, "-o", &out];
    assert_eq!(wayproof(&root(), &write).2, 3);
    let (_, said, status) = wayproof(&root(), &write);
    assert!(status == 2 && said.contains("--force"), "{said}");
    assert_eq!(wayproof(&root(), &["readings", PACKAGE, &readings, "-o", &out, "--force"]).2, 3);
    assert_eq!(wayproof(&root(), &["readings", PACKAGE, &readings, "-o", &readings, "--force"]).2, 2);
    assert_eq!(std::fs::read_to_string(&readings).unwrap(), one, "its own input stays");
}

/// Standard output, standard error, exit status.
fn wayproof(folder: &Path, args: &[&str]) -> (String, String, i32) {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(folder).env("COLUMNS", "100").env("NO_COLOR", "1").args(args).args(["--as-of", "2026-11-25"]);
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

#[test]
fn the_command_says_by_its_status_what_the_record_comes_to() {
    let (out, said, status) = wayproof(&root(), &["readings", PACKAGE, "demo-data/rescue-4/readings.toml"]);
    assert_eq!((status, said.as_str()), (1, ""));
    insta::assert_snapshot!("readings-rescue-4", out);
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("one.toml");
    let one =
        "format = 1\n[record]\nby = \"t\"\non = 2026-11-18\n[[reading]]\nline = \"zones-two-level:master@vehicle\"\n";
    std::fs::write(&file, format!("{one}value = \"0\"\n")).unwrap();
    let name = file.to_str().unwrap();
    assert_eq!(wayproof(&root(), &["readings", PACKAGE, name]).2, 3, "the other lines are not read");
    std::fs::write(&file, format!("{one}value = \"none at all\"\n")).unwrap();
    let (out, said, status) = wayproof(&root(), &["readings", PACKAGE, name]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(said.contains("`none at all` is no number of things") && said.contains("^"), "{said}");
    std::fs::write(&file, format!("{one}value = \"1\"\n").replace("master@vehicle", "flash-sum@calling/A")).unwrap();
    let (_, said, status) = wayproof(&root(), &["readings", PACKAGE, name]);
    assert_eq!((status, said.contains("no-unit")), (2, true), "{said}");
    let of_memory = one.replace("master@vehicle", "flash-rate@calling/roof-beacon") + "value = \"60 in 60 s\"\n";
    std::fs::write(&file, of_memory).unwrap();
    assert_eq!(wayproof(&root(), &["readings", PACKAGE, name]).2, 1, "a limit from memory decides");
    let (out, _, status) = wayproof(&root(), &["readings", PACKAGE, name, "--without-memory"]);
    assert_eq!(
        (status, out.contains("known from memory only"), out.contains("Deficiencies")),
        (3, true, false),
        "{out}"
    );
    assert_eq!(wayproof(&root(), &["readings", PACKAGE]).2, 2, "no file");
    assert_eq!(wayproof(&root(), &["readings", PACKAGE, "nowhere.toml"]).2, 2);
}

#[test]
fn a_record_keeps_the_hash_of_each_picture_and_verify_tells_when_one_changes() {
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(path("rear.jpg"), b"a picture").unwrap();
    let text = "format = 1\n[record]\nby = \"t <2>\"\non = 2026-11-18\n[[reading]]\nline = \"zones-two-level:master@vehicle\"\nvalue = \"0\"\nphotos = [\"rear.jpg\"]\n";
    std::fs::write(path("r.toml"), text).unwrap();
    // sha256sum of `a picture`.
    let hash = wayproof::load::files::sha256(b"a picture");
    for (kind, name) in [("record", "record.html"), ("record", "record.toml"), ("letter", "letter.html")] {
        let (readings, written) = (path("r.toml"), path(name));
        let made = ["report", PACKAGE, "--as", kind, "--readings", &readings, "-o", &written];
        assert_eq!(wayproof(&root(), &made), (String::new(), String::new(), 0), "{name}");
        assert_eq!(wayproof(&root(), &made).2, 2, "{name} is not written over");
        let text = std::fs::read_to_string(&written).unwrap();
        assert!(text.contains(&hash) && !text.contains("t <2>") | name.ends_with("toml"), "{name}");
        let verify = ["report", PACKAGE, "--verify", &written, "--readings", &readings];
        assert_eq!(wayproof(&root(), &verify).2, 0, "{name}");
        std::fs::write(path("rear.jpg"), b"another picture").unwrap();
        let (out, _, status) = wayproof(&root(), &verify);
        assert_eq!(status, 1, "{name}: {out}");
        assert!(out.lines().any(|line| line.starts_with("CHANGED") && line.ends_with("rear.jpg")), "{out}");
        std::fs::write(path("rear.jpg"), b"a picture").unwrap();
    }
    let (_, said, status) = wayproof(&root(), &["report", PACKAGE, "--as", "letter", "-o", &path("none.html")]);
    assert_eq!(status, 2);
    assert!(said.contains("--readings FILE"), "{said}");
    for kind in ["sheet", "page"] {
        let ignored = ["report", PACKAGE, "--as", kind, "--readings", &path("r.toml"), "-o", &path("none.html")];
        let (_, said, status) = wayproof(&root(), &ignored);
        assert_eq!(status, 2, "{kind}");
        assert!(said.contains("says nothing of readings; these do: workbook, record, letter"), "{said}");
    }
    assert!(!dir.path().join("none.html").exists());
}

#[test]
fn the_letter_names_what_is_open_with_its_day_and_what_is_settled() {
    let dir = tempfile::tempdir().unwrap();
    let written = dir.path().join("letter.html");
    let readings = "demo-data/rescue-4/readings.toml";
    let made = ["report", PACKAGE, "--as", "letter", "--readings", readings, "-o", written.to_str().unwrap()];
    assert_eq!(wayproof(&root(), &made).2, 0);
    let text = std::fs::read_to_string(&written).unwrap().replace("&#x2f;", "/");
    let (open, settled) = text.split_once("What is settled").unwrap();
    for (line, day) in [
        ("flash-rate@calling/front-upper-1-left", "2026-12-18"),
        ("fuse-continuous@side-warning", "2026-12-09"),
        ("fuse-continuous@front-warning", "2026-12-09"),
        ("voltage-drop@rear-warning", "2026-11-24"),
    ] {
        let part = open.split("<h3>").find(|part| part.contains(line)).unwrap_or_else(|| panic!("{line} is open"));
        assert!(part.contains(day), "{line}: {part}");
    }
    assert_eq!(open.matches("<h3>").count(), 4);
    assert!(
        settled.contains("headlamp-flashing:flash-rate@upper-beam-left") && settled.contains("closed on 2026-11-24")
    );
    assert!(settled.contains("letter 14 of Kestrow Rescue"));
    for word in ["certified", "approved", "<script"] {
        assert!(!text.to_lowercase().contains(word), "{word}");
    }
}

#[test]
fn the_record_in_toml_says_for_each_line_what_the_table_says() {
    let dir = tempfile::tempdir().unwrap();
    let written = dir.path().join("record.toml");
    let readings = "demo-data/rescue-4/readings.toml";
    let made = ["report", PACKAGE, "--as", "record", "--readings", readings, "-o", written.to_str().unwrap()];
    assert_eq!(wayproof(&root(), &made).2, 0);
    let file: toml::Table = std::fs::read_to_string(&written).unwrap().parse().unwrap();
    let lines = file["line"].as_array().unwrap();
    let sheet = sheet(PACKAGE);
    assert_eq!(lines.len(), sheet.len());
    let mut reader = csv::Reader::from_path(root().join("tests/readings/rescue-4.csv")).unwrap();
    for row in reader.records().map(Result::unwrap) {
        let line = lines.iter().find(|line| line["line"].as_str() == Some(&row[0])).unwrap();
        assert_eq!(line["verdict"].as_str(), Some(&row[1]), "{}", &row[0]);
    }
    let unread = lines.iter().filter(|line| line["verdict"].as_str() == Some("not-read")).count();
    assert_eq!(unread, sheet.len() - 9);
    assert_eq!(file["summary"]["fail"].as_integer(), Some(1));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// Whatever stands in a file, it is read or refused.
    #[test]
    fn no_file_of_readings_ends_the_program(
        table in any::<bool>(), at in 0.0..1.0f64, len in 0..40usize,
        put in prop::collection::vec(prop::sample::select(vec![
            "\"", "\n", "=", "[[reading]]", "line = ", "value", "nan", "1e999", "-", "+", "%", ",", ";", "75 in 0 s", "#", "\u{feff}", "\0", "9999-12-31", "'",
        ]), 0..6),
    ) {
        let whole = match table {
            true => TABLE.to_owned(),
            false => std::fs::read_to_string(root().join("demo-data/rescue-4/readings.toml")).unwrap(),
        };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
        let start = (at * whole.len() as f64) as usize;
        let start = (0..=start).rev().find(|at| whole.is_char_boundary(*at)).unwrap();
        let end = (start + len..=whole.len()).find(|at| whole.is_char_boundary(*at)).unwrap_or(whole.len());
        let text = [&whole[..start], &put.concat(), &whole[end..]].concat();
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join(if table { "r.csv" } else { "r.toml" });
        std::fs::write(&file, text).unwrap();
        let sheet = SHEET.with(Clone::clone);
        if let Ok(judged) = judged(&sheet, &[file]) {
            deficiencies(&judged);
        }
    }
}

thread_local! {
    static SHEET: std::rc::Rc<Vec<Line>> = std::rc::Rc::new(sheet(PACKAGE));
}

#[test]
fn a_file_twice_as_long_takes_no_more_than_three_times_as_long() {
    let sheet = sheet(PACKAGE);
    let dir = tempfile::tempdir().unwrap();
    let rows = |many: usize| {
        let mut text = "line,value,by,on,instrument,instrument-kind\n".to_owned();
        (0..many)
            .for_each(|at| text.push_str(&format!("zones-two-level:master@vehicle,0,t,2026-11-18,i{},k\n", at % 150)));
        let file = dir.path().join(format!("{many}.csv"));
        std::fs::write(&file, text).unwrap();
        let start = common::thread_time();
        assert_eq!(judged(&sheet, &[file]).unwrap().judgements.len(), many);
        common::thread_time() - start
    };
    let (one, two) = (rows(4000), rows(8000));
    assert!(two < one * 3 + std::time::Duration::from_millis(50), "{one:?}, {two:?}");
}

//! What is handed over after an inspection: a letter that can be acted on, a record that holds what it rests on, doubts about
//! a package in every document, and the terms that occur.

mod common;

use std::path::{Path, PathBuf};

use common::documents::{DAY, wayproof};
use common::root;

/// A copy of rescue-4 in a folder, with more at its end.
fn package(folder: &Path, more: &str, change: impl Fn(String) -> String) -> PathBuf {
    let demo = root().join("demo-data/rescue-4");
    for file in std::fs::read_dir(&demo).unwrap().map(|entry| entry.unwrap().path()) {
        std::fs::copy(&file, folder.join(file.file_name().unwrap())).unwrap();
    }
    let file = folder.join("package.toml");
    let text = change(std::fs::read_to_string(&file).unwrap());
    std::fs::write(&file, format!("{text}\n{more}")).unwrap();
    file
}

/// Writes a document; the text of the file and what was said, and the status.
fn made(package: &Path, kind: &str, name: &str, readings: Option<&str>) -> (String, String, Option<i32>) {
    let folder = package.parent().unwrap();
    let file = folder.join(name);
    let mut command = wayproof();
    command.arg("report").arg(package).args([
        "--library",
        "demo-data/catalogue",
        "--as",
        kind,
        "--as-of",
        DAY,
        "--force",
    ]);
    if let Some(text) = readings {
        let read = folder.join(if text.starts_with("line,") { "read.csv" } else { "read.toml" });
        std::fs::write(&read, text).unwrap();
        command.arg("--readings").arg(read);
    }
    let output = command.arg("-o").arg(&file).output().unwrap();
    let written = std::fs::read(&file).unwrap_or_default();
    let text = String::from_utf8_lossy(&written).replace("&#x2f;", "/").replace("&gt;", ">").replace("&lt;", "<");
    (text, String::from_utf8_lossy(&output.stderr).into_owned(), output.status.code())
}

const HEAD: &str = "format = 1\n[record]\nby = \"t\"\non = 2026-11-18\ndue-within-days = 21\n\
                    [[instrument]]\nid = \"watch\"\nkind = \"stopwatch\"\nserial = \"77\"\nclass = \"0.1 s\"\nuncertainty = \"0.5 s\"\n\
                    no-calibration = \"time signal\"\n\
                    [[instrument]]\nid = \"tape\"\nuncertainty = \"0.5 in\"\ncalibrated = 2026-02-03\ndue = 2027-02-03\n";

fn reading(line: &str, value: &str, instrument: &str) -> String {
    format!("[[reading]]\nline = \"{line}\"\nvalue = \"{value}\"\ninstrument = \"{instrument}\"\n")
}

const BEACON: &str = "zones-two-level:flash-rate@calling/roof-beacon";
const HIGH: &str = "zones-two-level:upper-height@upper/roof-beacon";

#[test]
fn a_letter_says_what_is_wrong_in_which_setting_by_which_rule_and_what_to_do() {
    let dir = tempfile::tempdir().unwrap();
    let package = package(dir.path(), "", |text| text);
    let readings = HEAD.to_owned() + &reading(BEACON, "66 in 60 s", "watch") + &reading(HIGH, "113 in", "tape");
    let (text, said, status) = made(&package, "letter", "letter.html", Some(&readings));
    assert_eq!((status, said.as_str()), (Some(0), ""));
    let parts: Vec<&str> = text.split("<h3>").collect();
    let part = |line: &str| *parts.iter().find(|part| part.contains(line)).unwrap_or_else(|| panic!("{line}: {text}"));
    let beacon = part(BEACON);
    for word in [
        "roof-beacon (calling): 66 /min read, at least 75 /min asked</h3>",
        "<td>warning high, park out; PARKING BRAKE OUT: wheels blocked",
        "NFPA 1901",
        "[memory]",
        "2026-12-09",
        "put it right, then read it again",
    ] {
        assert!(beacon.contains(word), "{word}: {beacon}");
    }
    // A tape says nothing of wires.
    let high = part(HIGH);
    assert!(high.contains("roof-beacon (upper level): 113 in read, 108 in computed</h3>"), "{high}");
    assert!(high.contains("another place or aim than described") && !high.contains("wire"), "{high}");
}

#[test]
fn a_letter_without_a_day_is_refused_and_a_day_before_the_reading_is_a_mistake() {
    let dir = tempfile::tempdir().unwrap();
    let package = package(dir.path(), "", |text| text);
    let undated = HEAD.replace("due-within-days = 21\n", "") + &reading(BEACON, "66 in 60 s", "watch");
    let (text, said, status) = made(&package, "letter", "letter.html", Some(&undated));
    assert_eq!((status, text.as_str()), (Some(2), ""));
    for word in [BEACON, "due-within-days = 21", "due = 2026-12-18"] {
        assert!(said.contains(word), "{said}");
    }
    assert_eq!(made(&package, "record", "record.html", Some(&undated)).2, Some(0), "a record may leave the day open");
    let dated = undated + "due = 2026-12-01\n";
    assert_eq!(made(&package, "letter", "letter.html", Some(&dated)).2, Some(0));
    let early = dated.replace("due = 2026-12-01", "due = 2026-11-17");
    let table = format!("line,value,by,on,due\n{BEACON},66 in 60 s,t,2026-11-18,2026-11-17\n");
    for readings in [early, table] {
        let (_, said, status) = made(&package, "record", "r.html", Some(&readings));
        assert_eq!(status, Some(2), "{said}");
        assert!(said.contains("due-before-reading") && said.contains("2026-11-17"), "{said}");
    }
}

#[test]
fn a_letter_on_readings_that_do_not_count_says_so() {
    let dir = tempfile::tempdir().unwrap();
    let package = package(dir.path(), "", |text| text);
    let nothing = "Nothing that was read is open.";
    let good = HEAD.to_owned() + &reading(HIGH, "108.2 in", "tape");
    assert!(made(&package, "letter", "a.html", Some(&good)).0.contains(nothing));
    let later = good.replace("[[reading]]\n", "[[reading]]\non = 2026-12-24\n");
    let (text, ..) = made(&package, "letter", "b.html", Some(&later));
    assert!(!text.contains(nothing), "{text}");
    assert!(text.contains(&format!("Dated after {DAY}, so that it does not count yet: {HIGH}.")), "{text}");
    // Nobody knows the limit: no deficiency, and nothing that is settled.
    let blind = HEAD.to_owned() + &reading("zones-two-level:current@calling", "9.9 A", "tape");
    let (text, ..) = made(&package, "letter", "c.html", Some(&blind));
    assert!(!text.contains(nothing) && text.contains("Read, and not shown: zones-two-level:current@calling"), "{text}");
}

#[test]
fn a_record_holds_what_it_rests_on() {
    let dir = tempfile::tempdir().unwrap();
    let excepted = "[[exception]]\nfinding = \"zones-two-level:upper-height@upper/front-upper-1-left\"\naccepted-by = \"the chief\"\n\
                    reference = \"letter 9\"\nreason = \"the bay door\"\non = 2026-11-01\nuntil = 2027-01-31\n";
    let package = package(dir.path(), excepted, |text| text);
    std::fs::write(dir.path().join("high.jpg"), b"a picture").unwrap();
    let readings = HEAD.to_owned() + &reading(HIGH, "108.2 in", "tape") + "photos = [\"high.jpg\"]\n";
    let (page, said, status) = made(&package, "record", "record.html", Some(&readings));
    assert_eq!(status, Some(0), "{said}");
    for word in ["the chief", "letter 9", "the bay door", "2027-01-31", "identification number", "odometer", "plate"] {
        assert!(page.contains(word), "{word}");
    }
    let (_, photos) = page.split_once("<h2 id=\"photos\">").unwrap();
    let photo = photos.split("<tr>").find(|row| row.contains("high.jpg")).unwrap();
    assert!(photo.contains(HIGH), "{photo}");
    let letter = made(&package, "letter", "letter.html", Some(&readings)).0;
    assert!(letter.contains("the chief") && letter.contains("the bay door"), "{letter}");
    let (text, ..) = made(&package, "record", "record.toml", Some(&readings));
    let record: toml::Table = text.parse().unwrap();
    let first = |key: &str| record[key].as_array().unwrap()[0].as_table().unwrap().clone();
    assert_eq!(first("exception")["accepted-by"].as_str(), Some("the chief"));
    assert_eq!(first("exception")["stands-in"].as_str(), Some("package"));
    assert_eq!(first("instrument")["serial"].as_str(), Some("77"));
    assert_eq!(record["instrument"].as_array().unwrap()[1]["due"].as_str(), Some("2027-02-03"));
    assert_eq!((first("photo")["line"].as_str(), first("photo")["file"].as_str()), (Some(HIGH), Some("high.jpg")));
    // A table says the serial number and the class of an instrument too.
    let table = format!(
        "line,value,by,on,instrument,instrument-serial,instrument-class,instrument-uncertainty,no-calibration\n\
         {HIGH},108.2 in,t,2026-11-18,tape,4711,II,0.5 in,new\n"
    );
    let (text, said, _) = made(&package, "record", "table.toml", Some(&table));
    let record: toml::Table = text.parse().unwrap_or_else(|error| panic!("{error}: {said}"));
    let tape = record["instrument"].as_array().unwrap()[0].as_table().unwrap();
    assert_eq!((tape["serial"].as_str(), tape["class"].as_str()), (Some("4711"), Some("II")));
}

#[test]
fn doubts_about_a_package_stand_in_every_document() {
    let dir = tempfile::tempdir().unwrap();
    let spare =
        |text: String| text.replacen("[inputs]\n", "[inputs]\nspare = { on = \"spare on\", off = \"spare off\" }\n", 1);
    let package = package(dir.path(), "", spare);
    let readings = HEAD.to_owned() + &reading(HIGH, "108.2 in", "tape");
    let doubt = "`spare`";
    for (kind, name) in [
        ("page", "p.html"),
        ("sheet", "s.html"),
        ("sheet", "s.csv"),
        ("sheet", "s.toml"),
        ("record", "r.html"),
        ("record", "r.toml"),
        ("letter", "l.html"),
    ] {
        let read = ["record", "letter"].contains(&kind).then_some(readings.as_str());
        let (text, said, status) = made(&package, kind, name, read);
        assert_eq!(status, Some(0), "{said}");
        assert!(said.contains(doubt) && text.contains(doubt), "{name}: {said}");
        if name.ends_with("html") {
            let (_, behind) = text.split_once("Doubts about the package").unwrap();
            assert!(behind.find(doubt) < behind.find("<table"), "{name}: before all tables");
        }
    }
    let (_, _, status) = made(&package, "workbook", "w.xlsx", None);
    assert_eq!(status, Some(0));
    let book = std::fs::read(dir.path().join("w.xlsx")).unwrap();
    let cells = wayproof::import::texts_of(&book, wayproof::report::ABOUT_SHEET).unwrap();
    assert!(cells.iter().any(|cell| cell.contains(doubt)), "{cells:?}");
    for format in ["table", "json", "ndjson"] {
        let file = dir.path().join("check.txt");
        let mut command = wayproof();
        command
            .arg("check")
            .arg(&package)
            .args(["--library", "demo-data/catalogue", "--format", format, "-o"])
            .arg(&file);
        command.output().unwrap();
        assert!(std::fs::read_to_string(&file).unwrap().contains(doubt), "{format}");
    }
    // A package without any says nothing of doubts.
    assert!(!made(&package, "page", "p.html", None).0.is_empty());
    std::fs::copy(root().join("demo-data/rescue-4/package.toml"), &package).unwrap();
    assert!(!made(&package, "page", "p.html", None).0.contains("Doubts about the package"));
}

#[test]
fn terms_that_occur_are_explained_and_no_others() {
    let dir = tempfile::tempdir().unwrap();
    let package = package(dir.path(), "", |text| text);
    let readings = HEAD.to_owned() + &reading(HIGH, "108.2 in", "tape");
    let terms = |kind: &str, name: &str| {
        let (text, ..) = made(&package, kind, name, (kind == "letter").then_some(readings.as_str()));
        let (_, terms) = text.split_once("Terms in this document").unwrap_or_else(|| panic!("{kind}"));
        terms.split("</dl>").next().unwrap().to_owned()
    };
    let (letter, page) = (terms("letter", "l.html"), terms("page", "p.html"));
    assert!(letter.contains("<dt>guarded</dt>") && !letter.contains("<dt>cd.s/min</dt>"), "{letter}");
    assert!(page.contains("<dt>cd.s/min</dt>") && page.contains("<dt>margin</dt>"), "{page}");
    assert!(!page.contains("enough by itself"), "{page}");
}

#[test]
fn heads_between_two_limits_are_told_from_least_to_most() {
    let output =
        wayproof().args(["check", "demo-data/rescue-4/package.toml", "--as-of", DAY]).env("COLUMNS", "200").output();
    let text = String::from_utf8(output.unwrap().stdout).unwrap();
    let row = text.lines().find(|line| line.contains("lower-height (")).unwrap();
    assert!(row.contains("25 to 50 (nearest a limit: 25)") || row.contains("25 to 50 (nearest a limit: 50)"), "{row}");
    assert!(!row.contains("from"), "{row}");
}

#[test]
fn a_mistake_in_a_table_is_told_at_its_cell() {
    let dir = tempfile::tempdir().unwrap();
    let package = package(dir.path(), "", |text| text);
    let header = "line,value,unit,uncertainty,instrument,by,on,due,note\n";
    let row = |value: &str, u: &str, instrument: &str, on: &str, due: &str| {
        format!("{header}{HIGH},{value},in,{u},{instrument},\"t, who\",{on},{due},\"a, b\"\n")
    };
    for (row, cell, help) in [
        (row("25 1/2", "", "tape", "2026-11-18", ""), "25 1/2", "25.5 in for 25 1/2"),
        (row("\"12' 4\"\"\"", "", "tape", "2026-11-18", ""), "12'", "148 in for 12 ft 4 in"),
        (row("25", "wide", "tape", "2026-11-18", ""), "wide", "0.5 in"),
        (row("25", "", "my tape", "2026-11-18", ""), "my tape", "letters"),
        (row("25", "", "tape", "11/18/2026", ""), "11/18/2026", "2026-11-18"),
        (row("25", "", "tape", "2026-11-18", "2026-11-01"), "2026-11-01", "year-month-day"),
    ] {
        let (_, said, status) = made(&package, "record", "r.html", Some(&row));
        assert_eq!(status, Some(2), "{said}");
        let line = row.lines().nth(1).unwrap();
        let column = line.find(cell).unwrap() + 1;
        assert!(said.contains(&format!("read.csv:2:{column}")) && said.contains(help), "{cell} at {column}: {said}");
    }
}

//! A sheet that was made before the package was changed: it says from which files it was made, and what each of its lines
//! asked; both are held against the package as it is.

mod common;

use std::path::Path;

use assert_cmd::Command;
use common::readings::changed_demo;

fn wayproof(args: &[&str]) -> (String, i32) {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.env("COLUMNS", "1000").env("NO_COLOR", "1").args(args).args(["--as-of", "2026-11-25"]);
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout) + &text(output.stderr), output.status.code().unwrap())
}

const HEADS: &str = "vehicle:heads@front/edge-lamp-red-white";
const GRILLE: &str = "zones-two-level:lower-height@lower/grille-left/all";

/// A blank sheet with two lines filled in, as a person or a spreadsheet writes it.
fn filled(blank: &str, table: bool) -> String {
    if !table {
        let mut line = "";
        let rows = blank.lines().map(|row| {
            line = row.strip_prefix("line = ").map_or(line, |id| id.trim_matches('"'));
            match (row.starts_with("value = \"\""), line) {
                (true, HEADS) => "value = \"yes\"".to_owned(),
                (true, GRILLE) => "value = \"44.1 in\"".to_owned(),
                (false, GRILLE) if row == "instrument = \"\"" => "instrument = \"tape\"".to_owned(),
                _ => row
                    .replace("# by = \"name or office\"", "by = \"t\"")
                    .replace("# on = ", "on = ")
                    .replace("# due-within", "due-within"),
            }
        });
        let text = rows.collect::<Vec<_>>().join("\n");
        let instrument = "[[instrument]]\nid = \"tape\"\nuncertainty = \"0.5 in\"\nno-calibration = \"compared\"\n";
        return text.replacen("\n[[reading]]", &format!("\n{instrument}\n[[reading]]"), 1);
    }
    let remarks: String = blank.lines().filter(|row| row.starts_with('#')).map(|row| format!("\"{row}\"\n")).collect();
    let text = blank.trim_start_matches('\u{feff}');
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let place = |name: &str| header.iter().position(|title| title == name).unwrap();
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&header).unwrap();
    for row in reader.records().map(Result::unwrap) {
        let mut cells: Vec<String> = row.iter().map(str::to_owned).collect();
        let value = match &row[place("line")] {
            HEADS => "yes",
            GRILLE => "44.1",
            _ => "",
        };
        if !value.is_empty() {
            for (name, cell) in [("value", value), ("by", "t"), ("on", "2026-11-18"), ("due", "2026-12-18")] {
                cells[place(name)] = cell.to_owned();
            }
        }
        if value == "44.1" {
            for (name, cell) in
                [("instrument", "tape"), ("instrument-uncertainty", "0.5 in"), ("no-calibration", "compared")]
            {
                cells[place(name)] = cell.to_owned();
            }
        }
        writer.write_record(&cells).unwrap();
    }
    String::from_utf8(writer.into_inner().unwrap()).unwrap() + &remarks
}

/// What a line of a record in TOML came to, and why.
fn verdict(record: &toml::Table, id: &str) -> (String, String) {
    let lines = record["line"].as_array().unwrap();
    let line = lines.iter().find(|line| line["line"].as_str() == Some(id)).unwrap_or_else(|| panic!("no {id}"));
    let text = |key: &str| line[key].as_str().unwrap().to_owned();
    (text("verdict"), text("why"))
}

#[test]
fn an_old_sheet_is_told_and_what_it_asked_otherwise_is_not_shown() {
    for (ending, table) in [("toml", false), ("csv", true)] {
        let (dir, package) = changed_demo("rescue-4", &[]);
        let path = |name: &str| dir.path().join(name).display().to_string();
        let (package, sheet) = (package.display().to_string(), path(&format!("sheet.{ending}")));
        let (said, status) = wayproof(&["report", &package, "--as", "sheet", "-o", &sheet]);
        assert_eq!(status, 0, "{said}");
        std::fs::write(&sheet, filled(&std::fs::read_to_string(&sheet).unwrap(), table)).unwrap();
        let record = |name: &str| -> toml::Table {
            let (said, status) =
                wayproof(&["report", &package, "--as", "record", "--readings", &sheet, "-o", &path(name)]);
            assert_eq!(status, 0, "{said}");
            std::fs::read_to_string(path(name)).unwrap().parse().unwrap()
        };
        let same = record("same.toml");
        assert!(same["made-from-others"].as_array().unwrap().is_empty(), "{ending}");
        assert_eq!([HEADS, GRILLE].map(|id| verdict(&same, id).0), ["pass", "pass"], "{ending}");
        assert!(!wayproof(&["readings", &package, &sheet]).0.contains("was made from other files"));

        // A serial number was written down since; the lamps in the grille are as they were.
        let text = std::fs::read_to_string(&package).unwrap();
        std::fs::write(&package, text.replace("serial = \"0401\"", "serial = \"0499\"")).unwrap();
        let changed = record("changed.toml");
        let (was, why) = verdict(&changed, HEADS);
        assert_eq!(was, "not-shown", "{ending}: {why}");
        assert!(why.contains("was changed in the package since its sheet was made"), "{ending}: {why}");
        assert_eq!(verdict(&changed, GRILLE).0, "pass", "{ending}");
        let others = changed["made-from-others"].as_array().unwrap();
        let said = others[0].as_str().unwrap();
        assert!(others.len() == 1 && said.contains("package.toml (SHA-256 ") && said.contains("..., now "), "{said}");
        let (out, status) = wayproof(&["readings", &package, &sheet]);
        let top = out.lines().take(3).collect::<Vec<_>>().join("\n");
        assert!(status == 3 && top.contains("is a sheet that was made from other files than are read now"), "{out}");
        for kind in ["record", "letter"] {
            let page = path(&format!("{kind}.html"));
            let (said, status) = wayproof(&["report", &package, "--as", kind, "--readings", &sheet, "-o", &page]);
            assert_eq!(status, 0, "{said}");
            let text = std::fs::read_to_string(Path::new(&page)).unwrap();
            let (top, _) = text.split_once("<section").unwrap();
            assert!(top.contains("is a sheet that was made from other files"), "{ending}: {kind}");
        }
    }
}

#[test]
fn a_place_an_aim_and_a_model_are_asked_too() {
    let marks = |change: &[(&str, &str)]| {
        let change: Vec<(String, String)> = change.iter().map(|(old, new)| ((*old).into(), (*new).into())).collect();
        let (dir, package) = changed_demo("rescue-4", &change);
        let sheet = dir.path().join("sheet.toml").display().to_string();
        let (said, status) = wayproof(&["report", package.to_str().unwrap(), "--as", "sheet", "-o", &sheet]);
        assert_eq!(status, 0, "{said}");
        let text = std::fs::read_to_string(sheet).unwrap();
        let (_, rest) = text.split_once(&format!("line = \"{HEADS}\"")).unwrap();
        let mark = rest.lines().find_map(|row| row.strip_prefix("mark = ")).unwrap();
        assert_eq!(mark.len(), 10, "{mark}");
        mark.to_owned()
    };
    let is = marks(&[]);
    assert_eq!(marks(&[("", "\n# a remark\n")]), is);
    let at = "at = { behind-front = \"12 in\", right = \"-43 in\", height = \"107 in\" }";
    let serial = "serial = \"0401\"";
    for (old, new) in [
        (at, "at = { behind-front = \"12 in\", right = \"-43 in\", height = \"106 in\" }"),
        (at, "at = { behind-front = \"15 in\", right = \"-43 in\", height = \"107 in\" }"),
        (serial, "serial = \"0401\"\nwedge = \"2 deg\""),
        // One head fewer of this model.
        (
            "id = \"front-upper-2-left\"\nmodel = \"edge-lamp-red-white\"",
            "id = \"front-upper-2-left\"\nmodel = \"edge-lamp-red-amber\"",
        ),
    ] {
        assert_ne!(marks(&[(old, new)]), is, "{new}");
    }
}

#[test]
fn a_file_without_marks_and_hashes_is_told_once() {
    const REMARK: &str = "nothing says from which package this sheet was made";
    let (dir, package) = changed_demo("rescue-4", &[]);
    let package = package.display().to_string();
    let head = "format = 1\n[record]\nby = \"t\"\non = 2026-11-18\n";
    let reading = |mark: &str| format!("[[reading]]\nline = \"{HEADS}\"\n{mark}value = \"yes\"\n");
    let hash = format!("# {}  package.toml\n", "0".repeat(64));
    for (name, text, told) in [
        ("bare", reading("") + &reading(""), 1),
        ("with a mark", reading("mark = \"gggggggg\"\n") + &reading(""), 0),
        ("with a hash", reading("") + &hash, 0),
        ("nothing read", "[decision]\nrule = \"simple\"\n".to_owned(), 0),
    ] {
        let file = dir.path().join("by-hand.toml");
        std::fs::write(&file, format!("{head}{text}")).unwrap();
        let (out, _) = wayproof(&["readings", &package, file.to_str().unwrap()]);
        assert_eq!(out.matches(REMARK).count(), told, "{name}: {out}");
    }
    // The demo's own file has the marks of its sheet.
    let demo = common::root().join("demo-data/rescue-4");
    let path = |name: &str| demo.join(name).display().to_string();
    assert!(!wayproof(&["readings", &path("package.toml"), &path("readings.toml")]).0.contains(REMARK));
}

#[test]
fn paper_speaks_of_no_marks_and_a_table_says_what_to_format_as_text() {
    let (dir, package) = changed_demo("rescue-4", &[]);
    let written = |name: &str| {
        let sheet = dir.path().join(name).display().to_string();
        let (said, status) = wayproof(&["report", package.to_str().unwrap(), "--as", "sheet", "-o", &sheet]);
        assert_eq!(status, 0, "{said}");
        std::fs::read_to_string(sheet).unwrap()
    };
    let keep = "Leave `mark` as it is";
    assert!(!written("sheet.html").contains("`mark`"));
    assert_eq!(["sheet.csv", "sheet.toml"].map(|name| written(name).matches(keep).count()), [1, 1]);
    assert!(written("table.csv").contains("Format the columns value, uncertainty, on and due as text"));
}

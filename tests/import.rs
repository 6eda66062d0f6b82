//! Spreadsheets become packages: three that people could keep, each with the package that has to come of it beside it,
//! and what is said while that is done. The files in tests/import are made by `make.py` there.
//!
//! What has to come of them was read off the spreadsheets by eye and is written down twice: as whole files, and cell by
//! cell in the tests; what is not sure is never judged. Cells that say nothing for sure: `tests/import_doubts.rs`; files
//! that are none: `tests/import_files.rs`.

mod common;

use std::path::Path;

use common::root;
use common::sheets::{path, run, small};

/// A folder of its own with the mapping that a person made of the proposal.
fn with_mapping(name: &str) -> (tempfile::TempDir, String) {
    let dir = tempfile::tempdir().unwrap();
    let out = path(&dir, "out");
    std::fs::create_dir(&out).unwrap();
    let mapping = root().join("tests/import").join(name).join("mapping.toml");
    std::fs::copy(mapping, Path::new(&out).join("mapping.toml")).unwrap();
    (dir, out)
}

/// What is printed, the folder called OUT.
fn printed(text: &str, out: &str) -> String {
    text.replace(out, "OUT")
}

const SHEETS: [(&str, &str); 3] =
    [("lamp-schedule", "lamp-schedule.xlsx"), ("lamps-and-fuses", "lamps-and-fuses.csv"), ("wiring", "wiring.ods")];

#[test]
fn a_mapping_is_proposed_and_nothing_is_made_before_it_is_confirmed() {
    for (name, file) in SHEETS {
        let dir = tempfile::tempdir().unwrap();
        let out = path(&dir, "out");
        let sheet = format!("tests/import/{file}");
        let (text, errors, status) = run(&["import", &sheet, "-o", &out]);
        assert_eq!((errors.as_str(), status), ("", 3), "{file}");
        insta::assert_snapshot!(format!("import_{name}_proposed"), printed(&text, &out));
        // Once more: the mapping is there, nobody confirmed it, nothing is made.
        let (text, _, status) = run(&["import", &sheet, "-o", &out]);
        assert!(text.contains("not confirmed yet"), "{file}: {text}");
        assert_eq!(status, 3);
        let made: Vec<_> = std::fs::read_dir(&out).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        assert_eq!(made, ["mapping.toml"], "{file}");
        // What the person had to change of it is little, and stands in the mapping beside the expected package.
        let proposed = std::fs::read_to_string(Path::new(&out).join("mapping.toml")).unwrap();
        let confirmed = std::fs::read_to_string(root().join("tests/import").join(name).join("mapping.toml")).unwrap();
        assert_eq!(proposed.lines().count(), confirmed.lines().count(), "{file}");
        let changed: Vec<&str> = proposed
            .lines()
            .zip(confirmed.lines())
            .filter(|(one, other)| one != other)
            .map(|(_, other)| other)
            .collect();
        let expected: &[&str] = match name {
            "lamp-schedule" => &["confirmed = true", "driver = \"left\"", "unit = \"in\""],
            "lamps-and-fuses" => &["confirmed = true", "length = \"5.3 m\"", "width = \"2.02 m\""],
            _ => &["confirmed = true"],
        };
        assert_eq!(changed, expected, "{file}");
    }
}

#[test]
fn the_right_package_comes_of_each_and_what_is_not_sure_is_said() {
    for (name, file) in SHEETS {
        let (_dir, out) = with_mapping(name);
        let (text, errors, status) = run(&["import", &format!("tests/import/{file}"), "-o", &out]);
        assert_eq!((errors.as_str(), status), ("", 3), "{file}");
        insta::assert_snapshot!(format!("import_{name}_made"), printed(&text, &out));
        let mut compared = 0;
        for entry in std::fs::read_dir(root().join("tests/import").join(name)).unwrap() {
            let expected = entry.unwrap().path();
            let made = Path::new(&out).join(expected.file_name().unwrap());
            let read = |path: &Path| {
                std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
            };
            assert_eq!(read(&made), read(&expected), "{}", expected.display());
            compared += 1;
        }
        assert_eq!(compared, std::fs::read_dir(&out).unwrap().count(), "{file}");
        // Nothing is judged before every doubt is settled.
        let (text, errors, status) = run(&["check", &format!("{out}/package.toml")]);
        assert_eq!((text.as_str(), status), ("", 2), "{file}");
        assert!(errors.contains("`?`"), "{file}: {errors}");
    }
}

/// A cell of the table of heads that was made.
fn cell(heads: &str, id: &str, column: &str) -> String {
    let mut builder = csv::ReaderBuilder::new();
    let mut reader = builder.comment(Some(b'#')).from_reader(heads.as_bytes());
    let at = reader.headers().unwrap().iter().position(|name| name == column).unwrap_or_else(|| panic!("{column}"));
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let row = rows.iter().find(|row| &row[0] == id).unwrap_or_else(|| panic!("no lamp {id}"));
    row[at].to_owned()
}

#[test]
fn cell_by_cell_it_is_what_the_sheet_says() {
    let heads = |name: &str| std::fs::read_to_string(root().join("tests/import").join(name).join("heads.csv")).unwrap();
    let lamps = heads("lamp-schedule");
    for (id, column, expected) in [
        // Off centre 15", on the driver's side, which the mapping says is the left.
        ("L1", "right", "-15 in"),
        ("L2", "right", "15 in"),
        ("L1", "behind-front", "3 in"),
        ("L1", "faces", "front"),
        ("L2", "circuit", "W-1"),              // the cell is merged with that above
        ("L3-left", "mirror", "yes"),          // two of them, both sides
        ("L3-left", "behind-front", "204 in"), // 17' 0"
        ("L3-left", "right", "-49.375 in"),    // 49 3/8"
        ("L3-left", "faces", "?"),             // ahead of the rear wheel: to the side? the words do not say it
        ("L4", "groups", "rear-upper"),
        ("L4", "faces", "rear"),
        ("L5", "faces", "?"),   // a corner
        ("L6-2", "right", "?"), // three lamps at one place
        ("L6-2", "height", "104 in"),
        ("L7", "height", "?"), // TBD
        ("L7", "role", "?"),   // a scene lamp is no warning lamp
        ("L8", "height", "?"), // ~38
        ("L8", "right", "45 in"),
    ] {
        assert_eq!(cell(&lamps, id, column), expected, "{id} {column}");
    }
    let fuses = heads("lamps-and-fuses");
    for (id, column, expected) in [
        ("bar-1", "behind-front", "1750.5 mm"), // 1750,5
        ("rear-1", "right", "-520.5 mm"),
        ("rear-1", "height", "1016 mm"), // 1016,0
        ("rear-2", "height", "?"),       // 1.016
        ("side-1", "faces", "?"),        // 270 of what?
        ("mast-long", "faces", "?"),     // all round
    ] {
        assert_eq!(cell(&fuses, id, column), expected, "{id} {column}");
    }
    let package = |name: &str| -> toml::Table {
        std::fs::read_to_string(root().join("tests/import").join(name).join("package.toml")).unwrap().parse().unwrap()
    };
    let circuit = |package: &toml::Table, id: &str| -> toml::Table {
        let all = package["circuit"].as_array().unwrap();
        all.iter().find(|one| one["id"].as_str() == Some(id)).unwrap().as_table().unwrap().clone()
    };
    let text = |table: &toml::Table, part: &str, key: &str| table[part][key].as_str().unwrap().to_owned();
    let fuses = package("lamps-and-fuses");
    assert_eq!(text(&circuit(&fuses, "bar"), "wire", "size"), "2.5 mm2");
    assert_eq!(text(&circuit(&fuses, "bar"), "wire", "length"), "4.25 m");
    assert_eq!(text(&circuit(&fuses, "rear"), "fuse", "rating"), "?", "10 A in one row and 7,5 A in the next");
    let wiring = package("wiring");
    assert_eq!(text(&circuit(&wiring, "bar-feed"), "fuse", "rating"), "30 A");
    assert_eq!(text(&circuit(&wiring, "grille"), "wire", "size"), "16 AWG");
    assert_eq!(circuit(&wiring, "grille")["from"].as_str(), Some("bar-feed"));
    assert_eq!(text(&circuit(&wiring, "rear"), "wire", "size"), "?", "14 ga is AWG or SAE");
    assert_eq!(text(&circuit(&wiring, "rear"), "fuse", "kind"), "?", "20A of which kind?");
    assert_eq!(text(&circuit(&wiring, "siren"), "wire", "length"), "9 ft");
    assert_eq!(text(&circuit(&wiring, "siren"), "fuse", "kind"), "breaker");
    assert_eq!(text(&circuit(&wiring, "radio"), "wire", "length"), "?", "about 8");
}

#[test]
fn an_edited_sheet_shows_what_changed_and_nothing_is_written_over() {
    let (_dir, out) = with_mapping("lamp-schedule");
    let import = |file: &str, more: &[&str]| {
        let sheet = format!("tests/import/{file}");
        run(&[&["import", sheet.as_str(), "-o", out.as_str()], more].concat())
    };
    let heads = || std::fs::read_to_string(format!("{out}/heads.csv")).unwrap();
    import("lamp-schedule.xlsx", &[]);
    let first = heads();
    // The same again is no change, and no complaint.
    let (text, _, status) = import("lamp-schedule.xlsx", &[]);
    assert!(text.contains("Nothing changed against"), "{text}");
    assert_eq!((status, heads()), (3, first.clone()));
    // A column was put in before all others: each is found by its head.
    let (text, _, status) = import("lamp-schedule-edited.xlsx", &[]);
    assert_eq!((status, heads()), (2, first), "{text}");
    assert!(text.contains("Nothing was written"), "{text}");
    let changes: Vec<&str> = text
        .lines()
        .skip_while(|line| !line.starts_with("What changed"))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .collect();
    assert_eq!(
        changes,
        [
            "  changed  lamp L1: model was EX-410, is EX-410-red-white",
            "  new      lamp L9",
            "  changed  lamp L4: height was 117 in, is 112 in",
            "  changed  lamp L8: height was ?, is 38 in",
            "  gone     lamp L2",
        ]
    );
    let (_, _, status) = import("lamp-schedule-edited.xlsx", &["--force"]);
    assert_eq!((status, cell(&heads(), "L8", "height")), (3, "38 in".to_owned()));
}

const SMALL: &str = "Lamp,Part No,Colour,Facing,Behind front (in),Right (in),Height (in)\nA,x-1,red,front,3,0,40\nB,x-1,red,side,100,40,40\n";

#[test]
fn what_was_answered_in_the_mapping_makes_a_package_that_loads() {
    let vehicle = [
        ("name = \"\"", "name = \"Case\""),
        ("length = \"\"", "length = \"230 in\""),
        ("width = \"\"", "width = \"80 in\""),
    ];
    let height = ("height = \"\"", "height = \"70 in\"");
    let reads =
        ("[[sheet]]", "[[reads]]\ncolumn = \"faces\"\nid = \"B\"\nsays = \"side\"\nas = \"right\"\n\n[[sheet]]");
    let (dir, text, status) = small(SMALL, &[vehicle[0], vehicle[1], vehicle[2], height], &[]);
    assert_eq!(status, 3, "{text}");
    assert!(text.contains("`side` is not one of front, right, rear, left"), "{text}");
    drop(dir);
    let (dir, text, status) = small(SMALL, &[vehicle[0], vehicle[1], vehicle[2], height, reads], &[]);
    assert_eq!(status, 0, "{text}");
    assert!(!text.contains("Not sure"), "{text}");
    // Nothing is known of any light, so no rule on light passes; but it is a package.
    let package = path(&dir, "out/package.toml");
    let (text, errors, status) = run(&["check", &package, "--rules", "zones-one-level", "--format", "csv"]);
    assert!(status == 1 || status == 3, "{status}: {errors}");
    let total = text.lines().filter(|line| line.contains(":zone-total@"));
    assert!(total.clone().all(|line| !line.contains(",pass,")), "{text}");
}

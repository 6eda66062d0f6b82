//! Spreadsheets become packages: three that people could keep, each with the package that has to come of it beside it,
//! and what is said while that is done. The files in tests/import are made by `make.py` there.
//!
//! What has to come of them was read off the spreadsheets by eye and is written down twice: as whole files, and cell by
//! cell in the tests. Laws: no bytes are a panic, and what is not sure is never judged.

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use proptest::prelude::*;
use wayproof::import::{imported, made, propose, read_book};

/// Standard output, standard error, exit status.
fn run(args: &[&str]) -> (String, String, i32) {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR")).env("COLUMNS", "160").env("NO_COLOR", "1");
    let output = command.args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn path(dir: &tempfile::TempDir, name: &str) -> String {
    dir.path().join(name).display().to_string()
}

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

/// A small sheet, with a mapping that is changed before it is confirmed.
fn small(sheet: &str, change: &[(&str, &str)], more: &[&str]) -> (tempfile::TempDir, String, i32) {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("sheet.csv"), sheet).unwrap();
    let (file, out) = (path(&dir, "sheet.csv"), path(&dir, "out"));
    let (text, errors, status) = run(&["import", &file, "-o", &out]);
    assert_eq!(status, 3, "{text}{errors}");
    let mapping = format!("{out}/mapping.toml");
    let mut text = std::fs::read_to_string(&mapping).unwrap().replace("confirmed = false", "confirmed = true");
    for (old, new) in change {
        assert!(text.contains(old), "{old} in {text}");
        text = text.replace(old, new);
    }
    std::fs::write(&mapping, text).unwrap();
    let (text, errors, status) = run(&[&["import", file.as_str(), "-o", out.as_str()], more].concat());
    (dir, text + &errors, status)
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

#[test]
fn what_cannot_be_used_is_told() {
    let dir = tempfile::tempdir().unwrap();
    let out = path(&dir, "out");
    let refused = |name: &str, bytes: &[u8], says: &str| {
        let file = path(&dir, name);
        std::fs::write(&file, bytes).unwrap();
        let (text, errors, status) = run(&["import", &file, "-o", &out]);
        assert_eq!((text.as_str(), status), ("", 2), "{name}");
        assert!(errors.contains(says), "{name}: {errors}");
    };
    refused("empty.csv", b"", "nothing stands in it");
    refused("prose.csv", b"Dear all,\nthe lamps came.\n", "no row looks like the head of a schedule");
    refused("old.xls", &[0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1], "save it as .xlsx");
    refused("broken.xlsx", b"PK\x03\x04 and so on", "no workbook that can be read");
    refused("image.csv", &[0, 1, 2, 3], "not a text file");
    let (_, errors, status) = run(&["import", "tests/import/wiring.ods", "--sheet", "Lamps", "-o", &out]);
    assert_eq!(status, 2);
    assert!(errors.contains("there is no sheet `Lamps`; there are: Wiring"), "{errors}");
    // A mapping with a mistake, or for other columns.
    let (_keep, text, status) = small(SMALL, &[("means = \"height\"", "means = \"heigth\"")], &[]);
    assert_eq!(status, 2);
    assert!(text.contains("did you mean `height`?"), "{text}");
    let (_keep, text, status) = small(SMALL, &[("head = \"Facing\"", "head = \"Aim\"")], &[]);
    assert_eq!(status, 2);
    assert!(text.contains("row 1 has no `Aim`"), "{text}");
    let (_keep, text, status) = small(SMALL, &[("means = \"colour\"", "means = \"faces\"")], &[]);
    assert_eq!(status, 2);
    assert!(text.contains("two columns of the sheet `sheet` mean `faces`"), "{text}");
}

/// A zip archive whose parts unpack to more than anybody could want.
fn bomb(name: &str, text: &str, times: usize) -> Vec<u8> {
    use std::io::Write;
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    archive.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
    for _ in 0..times {
        archive.write_all(text.as_bytes()).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

#[test]
fn small_files_that_unpack_to_huge_ones_are_refused() {
    let many = bomb("xl/worksheets/sheet1.xml", &"0".repeat(1 << 20), 100);
    assert!(many.len() < 1 << 20, "{} bytes", many.len());
    let said = read_book(&many, "bomb.xlsx").unwrap_err();
    assert!(said.contains("larger than 64 MiB"), "{said}");
    let row = "<table:table-row table:number-rows-repeated=\"1000000\"><table:table-cell office:value-type=\"float\" \
               office:value=\"1\" table:number-columns-repeated=\"16000\"/></table:table-row>";
    let content = format!(
        "<office:document-content><office:body><office:spreadsheet><table:table table:name=\"a\">{row}</table:table>\
         </office:spreadsheet></office:body></office:document-content>"
    );
    let said = read_book(&bomb("content.xml", &content, 1), "bomb.ods").unwrap_err();
    assert!(said.contains("larger than any schedule"), "{said}");
}

/// Reads bytes as a sheet, proposes, confirms, and makes a package.
fn all_the_way(bytes: &[u8], name: &str) {
    let Ok(book) = read_book(bytes, name) else { return };
    let Ok(mut mapping) = propose(&book, None) else { return };
    mapping.confirmed = true;
    let Ok(mut all) = imported(&book, &mapping, None) else { return };
    let files = made(&mut all, &mapping, None, "made from a case").unwrap();
    for (name, text) in &files.files {
        if name.ends_with(".toml") {
            text.parse::<toml::Table>().unwrap_or_else(|error| panic!("{name}: {error}\n{text}"));
        }
    }
    // Every `?` of a lamp has its reason.
    let open = all.lamps.iter().flat_map(|lamp| lamp.cells.values()).filter(|value| *value == "?").count();
    assert!(open <= all.doubts.len(), "{open} of {}", all.doubts.len());
}

fn sheet_of(cells: &[Vec<String>], separator: &str) -> String {
    let quoted = |cell: &String| format!("\"{}\"", cell.replace('"', "\"\""));
    cells.iter().map(|row| row.iter().map(quoted).collect::<Vec<_>>().join(separator) + "\n").collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_bytes_are_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        all_the_way(&bytes, "case.csv");
        all_the_way(&[b"PK\x03\x04".to_vec(), bytes].concat(), "case.xlsx");
    }

    #[test]
    fn no_cells_are_a_panic(
        rows in prop::collection::vec(prop::collection::vec(prop::sample::select(vec![
            "", "?", "-", "12\"", "12 1/2\"", "3' 6\"", "1,5", "1.016", "-44 in", "red/white", "DS grille", "both sides", "2",
            "R/A", "L/R", "total", "14 ga", "2.5 mm2", "20 A blade", "=1+1", "#REF!", "a\nb", "\u{fffd}", "rear corner", "a", "L1", "L1-left",
            "\"\"", "'''", "🚒", "1e9", "99999999999999999999", "front", "scene", "#x", "[[head]]", "\\", "-/2", "//", "1/2/3",
        ]).prop_map(str::to_owned), 0..13), 0..8),
        separator in prop::sample::select(vec![",", ";", "\t"]),
    ) {
        let head = "id;qty;model;colour;location;behind front;off centre;height (in);facing;circuit;fuse;wire;length (ft)";
        let head: Vec<String> = head.split(';').map(str::to_owned).collect();
        let text = sheet_of(&[vec![head], rows].concat(), separator);
        all_the_way(text.as_bytes(), "case.csv");
    }

    #[test]
    fn no_change_of_a_workbook_is_a_panic(
        file in prop::sample::select(vec!["lamp-schedule.xlsx", "wiring.ods", "lamps-and-fuses.csv"]),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let mut bytes = std::fs::read(root().join("tests/import").join(file)).unwrap();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        all_the_way(&bytes, file);
    }

    /// The parts of a workbook themselves, not only the archive round them.
    #[test]
    fn no_change_inside_a_workbook_is_a_panic(
        file in prop::sample::select(vec!["lamp-schedule.xlsx", "wiring.ods"]),
        part in any::<prop::sample::Index>(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), prop::sample::select(b"<>\"/=0a9&; ".to_vec())), 1..5),
    ) {
        use std::io::{Read, Write};
        let bytes = std::fs::read(root().join("tests/import").join(file)).unwrap();
        let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
        let part = part.index(archive.len());
        let mut made = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        for at in 0..archive.len() {
            let mut entry = archive.by_index(at).unwrap();
            let name = entry.name().unwrap().into_owned();
            let mut text = Vec::new();
            entry.read_to_end(&mut text).unwrap();
            if at == part && !text.is_empty() {
                for (place, byte) in &changes {
                    let place = place.index(text.len());
                    text[place] = *byte;
                }
            }
            made.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
            made.write_all(&text).unwrap();
        }
        all_the_way(&made.finish().unwrap().into_inner(), file);
    }
}

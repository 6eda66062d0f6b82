//! Files that are no spreadsheets, or made to harm: small ones that unpack to huge ones are refused before anything is
//! made of them, no bytes are a panic, and what cannot be used is told.

mod common;

use std::time::Duration;

use common::sheets::{archive, ods, path, run, small, xlsx};
use common::{root, thread_time};
use proptest::prelude::*;
use wayproof::import::{Library, imported, made, propose, read_book, texts_of};

const SMALL: &str = "Lamp,Part No,Colour,Facing,Behind front (in),Right (in),Height (in)\nA,x-1,red,front,3,0,40\nB,x-1,red,side,100,40,40\n";

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

/// What a file is refused for, soon.
fn refused(bytes: &[u8], name: &str) -> String {
    let start = thread_time();
    let said = read_book(bytes, name).map(|book| book.sheets.len()).unwrap_err();
    assert!(thread_time() - start < Duration::from_secs(60), "{name}: {:?}", thread_time() - start);
    said
}

#[test]
fn small_files_that_unpack_to_huge_ones_are_refused() {
    let many = archive(&[("xl/worksheets/sheet1.xml", &"0".repeat(100 << 20))]);
    assert!(many.len() < 1 << 20, "{} bytes", many.len());
    let said = refused(&many, "bomb.xlsx");
    assert!(said.contains("larger than 64 MiB"), "{said}");
    let cells = "<table:table-row table:number-rows-repeated=\"1000000\"><table:table-cell office:value-type=\"float\" \
                 office:value=\"1\" table:number-columns-repeated=\"16000\"/></table:table-row>";
    // One text in many cells: 40 GB.
    let text = format!(
        "<table:table-row table:number-rows-repeated=\"10000\"><table:table-cell office:value-type=\"string\" \
         table:number-columns-repeated=\"199\"><text:p>{}</text:p></table:table-cell></table:table-row>",
        "x".repeat(20_000)
    );
    // Blanks that a number stands for.
    let blanks = "<table:table-row table:number-rows-repeated=\"100\"><table:table-cell office:value-type=\"string\">\
                  <text:p>a<text:s text:c=\"900000000\"/></text:p></table:table-cell></table:table-row>";
    // Empty cells before another, row after row.
    let empty = "<table:table-row><table:table-cell table:number-columns-repeated=\"16383\"/><table:table-cell/>\
                 </table:table-row>"
        .repeat(2_000);
    for rows in [cells, text.as_str(), blanks, empty.as_str()] {
        let file = ods(rows);
        assert!(file.len() < 4_000, "{} bytes", file.len());
        let said = refused(&file, "bomb.ods");
        assert!(said.contains("larger than any schedule"), "{said}");
    }
    assert_eq!(
        read_book(&ods("<table:table-row><table:table-cell office:value=\"1\"/></table:table-row>"), "x.ods")
            .unwrap()
            .sheets
            .len(),
        1
    );
}

/// A row of cells that all hold the first of the shared texts.
fn sharing(columns: usize) -> String {
    format!("<row>{}</row>", "<c t=\"s\"><v>0</v></c>".repeat(columns))
}

#[test]
fn a_text_that_many_cells_share_is_not_copied_for_each() {
    // Many cells with a text as long as a cell may be.
    let file = xlsx(&sharing(200).repeat(5_000), "", &["x".repeat(2_000).as_str()]);
    assert!(file.len() < 200_000, "{} bytes", file.len());
    let said = refused(&file, "bomb.xlsx");
    assert!(said.contains("larger than any schedule"), "{said}");
    // Fewer cells, a text of 20 MB: a reader that copied it for each would take a terabyte.
    let file = xlsx(&sharing(100).repeat(200), "", &["x".repeat(20 << 20).as_str()]);
    let start = thread_time();
    let book = read_book(&file, "long.xlsx").unwrap();
    assert_eq!(book.sheets[0].rows.len(), 200);
    assert_eq!(book.sheets[0].rows[0].cells[0].len(), 2_000);
    assert!(thread_time() - start < Duration::from_secs(60), "{:?}", thread_time() - start);
    let said = texts_of(&file, "Lamps").unwrap_err();
    assert!(said.contains("larger than any schedule"), "{said}");
    // One cell at the end of each row takes up the whole row.
    let rows: String =
        (1..=20_000).map(|row| format!("<row r=\"{row}\"><c r=\"GR{row}\"><v>1</v></c></row>")).collect();
    assert!(refused(&xlsx(&rows, "", &[]), "wide.xlsx").contains("larger than any schedule"));
    // Regions over the same rows, again and again.
    let rows: String = (1..=20_000).map(|row| format!("<row r=\"{row}\"><c r=\"A{row}\"><v>1</v></c></row>")).collect();
    let regions = "<mergeCell ref=\"A1:A20000\"/>".repeat(5_000);
    let file = xlsx(&rows, &format!("<mergeCells>{regions}</mergeCells>"), &[]);
    assert!(refused(&file, "merged.xlsx").contains("larger than any schedule"));
}

/// Reads bytes as a sheet, proposes, confirms, and makes a package.
fn all_the_way(bytes: &[u8], name: &str) {
    let Ok(book) = read_book(bytes, name) else { return };
    let Ok(mut mapping) = propose(&book, None) else { return };
    mapping.confirmed = true;
    let Ok(mut all) = imported(&book, &mapping, None) else { return };
    let files = made(&mut all, &mapping, None, &Library::default(), "made from a case").unwrap();
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

//! What stands in a file and would not be read, or be read as something else: a second table below, columns and sheets that
//! came after the mapping, titles that stand twice, rows that a quotation mark swallows. It is told, or refused. Each case is
//! a small sheet.

mod common;

use common::sheets::{as_proposed, cells, confirmed, path, run, small};
use rust_xlsxwriter::Workbook;

const HEAD: &str = "id,model,colour,behind front (in),right (in),height (in),faces\n";
const ROW: &str = "L1,X,red,10,-20,40,front\n";

/// What is told of rows, columns and sheets that are not read.
fn told(sheet: &str) -> Vec<String> {
    let all = as_proposed(sheet.as_bytes(), "sheet.csv");
    all.counts.iter().map(|one| format!("{} {}: {}", one.place, one.what, one.why)).collect()
}

#[test]
fn a_second_table_below_is_not_read_with_the_columns_of_the_first() {
    let second = "id,model,colour,height (mm),right (mm),behind front (mm),faces\nL3,X,red,1016,-500,7000,rear\nL4,X,red,1016,500,7000,rear\n";
    let sheet = format!("{HEAD}{ROW}\nRear lamps\n{second}");
    let all = as_proposed(sheet.as_bytes(), "sheet.csv");
    assert_eq!(cells(&all.lamps, "height"), ["40 in"]);
    let said = told(&sheet);
    assert!(said.len() == 1 && said[0].starts_with("sheet row 5 table: another table begins here"), "{said:?}");
    assert!(said[0].contains("the 2 rows below are not read") && said[0].contains("head-row = 5"), "{said:?}");
    // Among many columns that nobody knows too.
    let more = format!("{HEAD}{ROW}id,vendor,price,height (mm),12V,weight,net,lot,faces\nL3,a,1,1016,2,3,4,5,rear\n");
    assert!(told(&more).len() == 1 && told(&more)[0].contains("another table begins here"), "{:?}", told(&more));
    // The same heads again are those of another page.
    let again = format!("{HEAD}{ROW}{HEAD}L2,X,red,10,20,40,front\n");
    assert_eq!((as_proposed(again.as_bytes(), "sheet.csv").lamps.len(), told(&again)), (2, vec![]));
    // A person may ask for it, as a table of its own.
    let (dir, text, status) = small(&sheet, &[], &[]);
    assert_eq!(status, 3, "{text}");
    let mapping = path(&dir, "out/mapping.toml");
    let first = std::fs::read_to_string(&mapping).unwrap();
    let (_, of_first) = first.split_once("[[sheet]]").unwrap();
    let of_second =
        of_first.replace("head-row = 1", "head-row = 5").replace("(in)", "(mm)").replace("\"in\"", "\"mm\"");
    std::fs::write(&mapping, format!("{first}\n[[sheet]]{of_second}")).unwrap();
    let (text, errors, _) = run(&["import", &path(&dir, "sheet.csv"), "-o", &path(&dir, "out"), "--force"]);
    assert!(text.starts_with("3 lamps,") && !text.contains("another table"), "{text}{errors}");
    let heads = std::fs::read_to_string(path(&dir, "out/heads.csv")).unwrap();
    assert!(heads.contains("L4,X,7000 mm,500 mm,1016 mm,rear"), "{heads}");
    // Nor is one table read twice.
    std::fs::write(&mapping, format!("{first}\n[[sheet]]{of_first}")).unwrap();
    let (_, errors, status) = run(&["import", &path(&dir, "sheet.csv"), "-o", &path(&dir, "out"), "--force"]);
    assert!(status == 2 && errors.contains("in row 1 twice"), "{errors}");
}

#[test]
fn a_second_table_beside_the_first_is_told() {
    let (head, row) = (HEAD.trim_end(), ROW.trim_end());
    let said = told(&format!("{head},,{HEAD}{row},,R1,X,red,10,20,40,front\n"));
    assert!(said.len() == 1 && said[0].starts_with("sheet!I1 table: another table with the same heads"), "{said:?}");
}

#[test]
fn rows_that_may_be_lamps_are_not_passed_over_in_silence() {
    let head = format!("location,{HEAD}");
    let said = told(&format!(
        "{head}Total stop bar left,L1,X,red,10,-20,40,rear\nRear left,L2,X,red,300,-20,40,rear\nTotal,,,,,,,\n"
    ));
    assert!(
        said.len() == 1 && said[0].starts_with("sheet row 2 row: `Total stop bar left`: a sum, or a lamp"),
        "{said:?}"
    );
    let said = told(&format!("{HEAD}{ROW}L2,,,,,,\nRear lamps,,,,,,\n"));
    assert!(said.len() == 1 && said[0].starts_with("sheet row 3 row: `L2` stands alone"), "{said:?}");
}

#[test]
fn rows_that_a_quotation_mark_swallows_are_told() {
    let tabs = |text: &str| text.replace(',', "\t");
    let swallows = format!("{HEAD}{ROW}L2,\",red,10,20,40,front\nL3,\",red,10,20,40,front\nL4,X,red,10,22,40,front\n");
    let said = told(&tabs(&swallows));
    assert!(said.len() == 1 && said[0].starts_with("sheet row 3 row: a quotation mark opens here"), "{said:?}");
    // What stands in the cell is not taken for what the cell says.
    let all = as_proposed(tabs(&swallows).as_bytes(), "sheet.tsv");
    assert_eq!(cells(&all.lamps, "model"), ["X", "?", "X"]);
    // Lines within a cell swallow nothing.
    assert_eq!(told("\"id\",model,\"height\n(in)\",faces,notes\nL1,X,40,front,\"one\ntwo\"\n"), [""; 0]);
}

#[test]
fn lines_may_end_with_a_carriage_return_alone() {
    let sheet = format!("{HEAD}{ROW}L2,X,red,10,20,40,front\n").replace('\n', "\r");
    let all = as_proposed(sheet.as_bytes(), "sheet.csv");
    assert_eq!(all.lamps.iter().map(|lamp| lamp.place.as_str()).collect::<Vec<_>>(), ["sheet row 2", "sheet row 3"]);
}

/// A workbook of sheets, each with its name and rows.
fn book(sheets: &[(&str, &[&[&str]])]) -> Vec<u8> {
    let mut workbook = Workbook::new();
    for (name, rows) in sheets {
        let sheet = workbook.add_worksheet();
        sheet.set_name(*name).unwrap();
        for (row, cells) in (0..).zip(*rows) {
            for (column, cell) in (0..).zip(*cells).filter(|(_, cell)| !cell.is_empty()) {
                sheet.write_string(row, column, *cell).unwrap();
            }
        }
    }
    workbook.save_to_buffer().unwrap()
}

const TITLES: &[&str] = &["id", "model", "height (in)", "faces"];
const LAMP: &[&str] = &["L1", "X", "40", "front"];

/// Imports the first, then the second with the mapping of the first.
fn edited(first: &[u8], second: &[u8], more: &[&str]) -> (String, i32) {
    let (dir, text, status) = confirmed("sheet.xlsx", first, &[], more);
    assert_eq!(status, 3, "{text}");
    std::fs::write(path(&dir, "sheet.xlsx"), second).unwrap();
    let args = ["import", &path(&dir, "sheet.xlsx"), "-o", &path(&dir, "out")];
    let (text, errors, status) = run(&args);
    (text + &errors, status)
}

#[test]
fn columns_and_sheets_that_came_later_are_told() {
    let old = book(&[("Lamps", &[TITLES, LAMP]), ("Photographs", &[&["front", "taken from 20 ft"]])]);
    let titles = [TITLES, &["Tilt (deg)", "price"]].concat();
    let new = book(&[
        ("Lamps", &[&titles, &[LAMP, &["-5", "99", "x"]].concat()]),
        ("Rear", &[TITLES, LAMP]),
        ("Notes", &[&["a", "b"]]),
    ]);
    let (text, status) = edited(&old, &new, &[]);
    assert_eq!(status, 3, "{text}");
    for said in [
        "Lamps!E1",
        "`Tilt (deg)` is not in the mapping",
        "`price` is not in the mapping",
        "Lamps!G1",
        "a column without a title",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert!(
        text.lines().any(|line| line.trim_start().starts_with("Rear") && line.contains("looks like a schedule")),
        "{text}"
    );
    assert!(text.contains("Notes: the mapping does not speak of this sheet"), "{text}");
    // Where nothing was left aside, too.
    let alone = book(&[("Lamps", &[TITLES, LAMP])]);
    let (text, status) = edited(&alone, &book(&[("Lamps", &[TITLES, LAMP]), ("Rear", &[TITLES, LAMP])]), &[]);
    assert!(
        status == 3
            && text.lines().any(|line| line.trim_start().starts_with("Rear") && line.contains("looks like a schedule")),
        "{text}"
    );
    // What was left aside when the mapping was made stays so without a word.
    let (text, _) = edited(&old, &old, &[]);
    assert!(!text.contains("the mapping does not speak"), "{text}");
}

#[test]
fn a_last_column_without_a_title_is_proposed() {
    let lamps = book(&[("Lamps", &[TITLES, &["L1", "X", "40", "front", "Red"], &["L2", "X", "40", "front", "Blue"]])]);
    let all = as_proposed(&lamps, "sheet.xlsx");
    assert_eq!(cells(&all.lamps, "colour"), ["red", "blue"]);
    // It is known by its place alone: where columns have moved it is not guessed at.
    let moved =
        book(&[("Lamps", &[&["zone", "id", "model", "height (in)", "faces"], &["", "L1", "X", "40", "front", "Red"]])]);
    let (text, status) = edited(&lamps, &moved, &[]);
    assert!(status == 2 && text.contains("no empty cell in E, where a column without a title was"), "{text}");
}

#[test]
fn a_title_that_stands_twice_is_not_guessed_at_once_columns_moved() {
    let two = |before: &[&'static str], titles: &[&'static str]| {
        let heads = [before, &["id", "model", "faces"], titles].concat();
        let cells: Vec<&str> = before.iter().map(|_| "a").chain(["L1", "X", "front", "40", "1016"]).collect();
        book(&[("Lamps", &[&heads, &cells])])
    };
    let old = two(&[], &["Height", "Height"]);
    for (new, is_refused) in [
        (two(&["zone"], &["Height", "Height"]), true),
        (two(&[], &["Height"]), true),
        (two(&[], &["Height", "Height"]), false),
    ] {
        let (text, status) = edited(&old, &new, &[]);
        assert_eq!(status == 2 && text.contains("`Height`, which stands"), is_refused, "{text}");
    }
}

#[test]
fn a_sheet_that_is_asked_for_is_read_or_refused() {
    let both = book(&[("Lamps", &[TITLES, LAMP]), ("Rear", &[TITLES, &["R1", "X", "50", "rear"]])]);
    let (dir, text, _) = confirmed("sheet.xlsx", &both, &[], &[]);
    assert!(text.starts_with("2 lamps"), "{text}");
    let import =
        |name: &str| run(&["import", &path(&dir, "sheet.xlsx"), "-o", &path(&dir, "out"), "--sheet", name, "--force"]);
    assert!(import("Rear").0.starts_with("1 lamp,"));
    let (_, errors, status) = import("Roof");
    assert!(status == 2 && errors.contains("does not speak of the sheet `Roof`, but of `Lamps`, `Rear`"), "{errors}");
}

#[test]
fn what_the_mapping_reads_otherwise_and_is_not_there_is_told() {
    let reads = "[[reads]]\ncolumn = \"height\"\nid = \"L9\"\nsays = \"41\"\nas = \"42\"\n\n[[sheet]]";
    let (_, text, status) = small(&format!("{HEAD}{ROW}"), &[("[[sheet]]", reads)], &[]);
    assert!(status == 3 && text.contains("no cell of `height` of L9 says `41`, so this does nothing"), "{text}");
    let reads = reads.replace("L9", "L1").replace("41", "40");
    let (_, text, _) = small(&format!("{HEAD}{ROW}"), &[("[[sheet]]", &reads)], &[]);
    assert!(!text.contains("so this does nothing"), "{text}");
}

#[test]
fn a_distance_from_the_rear_feeds_no_circuit() {
    let sheet = "id,model,distance from rear (in),height (in),faces,circuit,wire size (AWG)\nL1,X,12,40,rear,C1,14\n";
    let all = as_proposed(sheet.as_bytes(), "sheet.csv");
    assert_eq!(cells(&all.circuits, "from"), [""]);
}

#[test]
fn a_reading_that_is_written_into_the_workbook_is_told() {
    let titles: &[&str] = &["line", "reading", "unit", "verdict"];
    let of = |reading, verdict| {
        let file = book(&[("Lamps", &[TITLES, LAMP]), ("Readings", &[titles, &["height@L1", reading, "in", verdict]])]);
        as_proposed(&file, "sheet.xlsx")
            .counts
            .iter()
            .map(|one| format!("{}: {}", one.place, one.why))
            .collect::<Vec<_>>()
    };
    let said = of("41", "");
    assert!(
        said.len() == 1 && said[0].starts_with("Readings!B2: a reading of `height@L1` is written here and not taken"),
        "{said:?}"
    );
    // One that `readings` took stands there with its verdict.
    assert_eq!((of("41", "pass"), of("", "")), (vec![], vec![]));
}

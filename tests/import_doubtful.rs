//! What a sheet leaves open is never settled in silence: sheets that nobody sees, rows that sum up others, figures that
//! could be two, lengths in feet and inches. Each case is a small sheet, and what has to be said of it.

use assert_cmd::Command;
use rust_xlsxwriter::Workbook;
use wayproof::import::{Imported, imported, propose, read_book};

/// Standard output, standard error, exit status.
fn run(args: &[&str]) -> (String, String, i32) {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.env("COLUMNS", "160").env("NO_COLOR", "1");
    let output = command.args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

/// What comes of a sheet as it is proposed.
fn made(sheet: &str) -> Imported {
    let book = read_book(sheet.as_bytes(), "sheet.csv").unwrap();
    let mut mapping = propose(&book, None).unwrap();
    mapping.confirmed = true;
    imported(&book, &mapping, None).unwrap()
}

/// The cell of each lamp, in their order.
fn cells(all: &Imported, name: &str) -> Vec<String> {
    all.lamps.iter().map(|lamp| lamp.cells.get(name).cloned().unwrap_or_default()).collect()
}

/// Imports a file as it is proposed, through the command.
fn confirmed(file: &std::path::Path, more: &[&str]) -> (String, String, i32) {
    let (file, out) = (file.display().to_string(), file.with_extension("out").display().to_string());
    let import = || run(&[&["import", file.as_str(), "-o", out.as_str()], more].concat());
    let (text, errors, status) = import();
    assert_eq!(status, 3, "{text}{errors}");
    let mapping = format!("{out}/mapping.toml");
    let proposed = std::fs::read_to_string(&mapping).unwrap();
    std::fs::write(&mapping, proposed.replace("confirmed = false", "confirmed = true")).unwrap();
    let (again, errors, status) = import();
    (text, again + &errors, status)
}

/// One sheet that is shown and one that is not, each with a lamp.
fn with_hidden(folder: &std::path::Path, hide: &[&str]) -> std::path::PathBuf {
    let mut workbook = Workbook::new();
    for (name, lamp) in [("Lamps", "L1"), ("Old lamps", "X1")] {
        let sheet = workbook.add_worksheet();
        sheet.set_name(name).unwrap();
        for (row, cells) in (0..).zip([["Lamp", "Model", "Height (in)", "Facing"], [lamp, "m", "40", "front"]]) {
            sheet.write_row(row, 0, cells).unwrap();
        }
        sheet.set_hidden(hide.contains(&name));
    }
    let file = folder.join("book.xlsx");
    workbook.save(&file).unwrap();
    file
}

#[test]
fn a_hidden_sheet_is_left_aside_until_it_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let file = with_hidden(dir.path(), &["Old lamps"]);
    let (proposed, made, _) = confirmed(&file, &[]);
    assert!(proposed.contains("Old lamps: this sheet is hidden, so it is left aside"), "{proposed}");
    assert!(made.starts_with("1 lamp,") && !made.contains("X1"), "{made}");
    // Asked for by name it is read, and that is said.
    std::fs::remove_dir_all(dir.path().join("book.out")).unwrap();
    let (proposed, made, _) = confirmed(&file, &["--sheet", "Old lamps"]);
    assert!(proposed.contains("Sheet Old lamps"), "{proposed}");
    assert!(made.contains("Old lamps: this sheet is hidden, and read since the mapping names it"), "{made}");
    assert!(made.contains("X1") && !made.contains("L1"), "{made}");
    // The same sheets shown: both are read.
    let dir = tempfile::tempdir().unwrap();
    let (_, made, _) = confirmed(&with_hidden(dir.path(), &[]), &[]);
    assert!(made.starts_with("2 lamps,") && !made.contains("hidden"), "{made}");
}

const COUNTED: &str = "Lamp,Model,Qty,Height (in),Facing,From front (in),Right (in)\n";

/// What is said of sums, in order.
fn sums(rows: &str) -> Vec<String> {
    let all = made(&format!("{COUNTED}{rows}"));
    all.counts.iter().map(|count| format!("{}: {}", count.place, count.why)).collect()
}

#[test]
fn a_sum_makes_no_lamp_and_is_held_against_those_that_were_made() {
    let three = "A,m,1,40,front,3,0\nB,m,2,40,rear,300,0\n";
    for (below, expected) in [
        ("Total,,3,,,,\n", ""),
        ("TOTAL lamps: 3,,,,,,\n", ""),
        ("Total,,12,,,,\n", "sheet row 4: ? 12 lamps by this sum; 3 were made of the rows above"),
        ("Grand Total,12,,,,,\n", "sheet row 4: ? 12 lamps by this sum; 3 were made of the rows above"),
        ("Sub-total,,4,,,,\n", "sheet row 4: ? 4 lamps by this sum; 3 were made of the rows above"),
        ("The sum of it,,,,,,\n", ""),
    ] {
        let rows = format!("{three}{below}");
        assert_eq!(made(&format!("{COUNTED}{rows}")).lamps.len(), 3, "{below}");
        assert_eq!(sums(&rows).join("; "), expected, "{below}");
    }
    // A sum between is of the rows since the sum before, or of all above; a grand one is of all.
    let parts = format!("{three}Subtotal,,3,,,,\nC,m,1,50,left,90,-40\nSubtotal,,1,,,,\n");
    assert_eq!(sums(&format!("{parts}Grand total,,4,,,,\n")), [""; 0]);
    let found = sums(&format!("{parts}Grand total,,1,,,,\n"));
    assert_eq!(found, ["sheet row 7: ? 1 lamps by this sum; 4 were made of the rows above"]);
    // A lamp whose name only holds the letters is one.
    assert_eq!(made(&format!("{COUNTED}Summit lamp,m,1,40,front,3,0\n")).lamps.len(), 1);
}

#[test]
fn a_sum_that_differs_ends_open() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("lamps.csv");
    std::fs::write(&file, format!("{COUNTED}A,m,1,40,front,3,0\nTotal,,2,,,,\n")).unwrap();
    let (_, text, status) = confirmed(&file, &[]);
    assert_eq!(status, 3, "{text}");
    assert!(text.contains("Does not add up"), "{text}");
    assert!(text.contains("? 2 lamps by this sum; 1 were made of the rows above"), "{text}");
}

#[test]
fn a_blank_number_of_lamps_is_told() {
    let all = made(&format!("{COUNTED}A,m,,40,front,3,0\nB,m,1,40,rear,300,0\n"));
    let told: Vec<(&str, &str)> = all
        .derived
        .iter()
        .filter(|one| one.what == "quantity")
        .map(|one| (one.id.as_str(), one.why.as_str()))
        .collect();
    assert_eq!(told, [("A", "`1`, since no number of lamps stands there")]);
    assert_eq!(all.lamps.len(), 2);
}

#[test]
fn a_figure_that_could_be_two_is_open_where_both_ways_of_writing_occur() {
    let column = |cells: [&str; 4]| {
        let rows = cells.iter().enumerate().map(|(at, cell)| format!("L{at};m;{cell};40;front;0\n"));
        let text = format!("Lamp;Model;From front (in);Height (in);Facing;Right (in)\n{}", rows.collect::<String>());
        cells_of(&text)
    };
    // Most have commas: a comma stands before decimals, a point is open anyway.
    assert_eq!(column(["12,5", "13,5", "12.5", "1,250"]), ["12.5 in", "13.5 in", "?", "?"]);
    assert_eq!(column(["12,5", "12.5", "13.5", "1.250"]), ["?", "12.5 in", "13.5 in", "?"]);
    // Of one way alone it is what it says; a zero before is no thousand.
    assert_eq!(column(["12,5", "13,5", "14,5", "1,250"]), ["12.5 in", "13.5 in", "14.5 in", "1.25 in"]);
    assert_eq!(column(["12,5", "13,5", "12.5", "0,125"]), ["12.5 in", "13.5 in", "?", "0.125 in"]);
}

fn cells_of(sheet: &str) -> Vec<String> {
    cells(&made(sheet), "behind-front")
}

#[test]
fn left_of_the_middle_is_negative_right() {
    let all = made(
        "Lamp,Model,From front,Left of center (in),Height (in),Facing\nA,m,10 ft 6 in,20,40,front\nB,m,3 ft,-20.5,40,front\nC,m,3 ft,0,40,front\nD,m,3 ft,TBD,40,front\n",
    );
    assert_eq!(cells(&all, "right"), ["-20 in", "20.5 in", "0 in", "?"]);
    assert_eq!(cells(&all, "behind-front"), ["126 in", "3 ft", "3 ft", "3 ft"]);
    // Both are said: which is it?
    let head = "Lamp,Model,From front (in),Left of center (in),Right of center (in),Height (in),Facing\n";
    let all =
        made(&format!("{head}A,m,3,20,20,40,front\nB,m,3,20,,40,front\nC,m,3,,20,40,front\nD,m,3,20,?,40,front\n"));
    assert_eq!(cells(&all, "right"), ["?", "-20 in", "20 in", "?"]);
}

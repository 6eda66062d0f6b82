//! Figures that two people would read as two figures are `?`: a stroke between two of them, a point or comma that may part
//! thousands, a unit that only the spreadsheet shows. Figures as shops write them are read. Each case is a small sheet, and
//! what has to come of it.

mod common;

use common::sheets::{as_proposed, cells};

/// The figures of a column under this head, each in a lamp of its own.
fn column(head: &str, name: &str, written: &[&str]) -> Vec<String> {
    let rows = written.iter().enumerate().map(|(at, cell)| format!("L{at}\tm\tred\tfront\t{cell}\n"));
    let sheet = format!("id\tmodel\tcolour\tfaces\t{head}\n{}", rows.collect::<String>());
    cells(&as_proposed(sheet.as_bytes(), "sheet.tsv").lamps, name)
}

#[test]
fn a_stroke_between_two_figures_is_no_division() {
    for (head, name, written, expected) in [
        ("height (in)", "height", "40/42", "?"),
        ("height (in)", "height", "30/32", "?"),
        ("height (in)", "height", "15/16", "?"),
        ("height (in)", "height", "40 1/3", "?"),
        ("height (mm)", "height", "40 1/2", "?"),
        ("tilt (deg)", "tilt", "30/45", "?"),
        ("tilt (deg)", "tilt", "12 1/2", "?"),
        ("height (in)", "height", "40 1/2", "40.5 in"),
        ("height (in)", "height", "40-3/8", "40.375 in"),
        ("height (mm)", "height", "15/16\"", "0.9375 in"),
        ("height (in)", "height", "8'-10", "106 in"),
        ("height", "height", "8'10\"", "106 in"),
        ("height (mm)", "height", "8'10", "?"),
        // One sign for a fraction, as a word processor makes it.
        ("height", "height", "7½\"", "7.5 in"),
        ("height", "height", "9'-1¼\"", "109.25 in"),
        ("height", "height", "12 ⅝ in", "12.625 in"),
        ("height (in)", "height", "40¾", "40.75 in"),
        ("height (in)", "height", "½", "0.5 in"),
        ("right (in)", "right", "-7½", "-7.5 in"),
        ("right (in)", "right", "-½", "-0.5 in"),
        ("height (in)", "height", "40 1⁄2", "40.5 in"),
        ("height (mm)", "height", "40½", "?"),
        ("height (in)", "height", "40⅓", "?"),
        ("height (in)", "height", "40½½", "?"),
        ("height (in)", "height", "½7", "?"),
        ("height (in)", "height", "40.5½", "?"),
        ("tilt (deg)", "tilt", "7½", "?"),
    ] {
        assert_eq!(column(head, name, &[written]), [expected], "{head}: {written}");
    }
    let sheet = b"circuit,from,fuse (A),wire size (AWG),length (ft)\nC1,battery,15/20,14,12/24\nC2,battery,15,14,12\n";
    let circuits = as_proposed(sheet, "sheet.csv").circuits;
    assert_eq!(cells(&circuits, "fuse-rating"), ["?", "15 A"]);
    assert_eq!(cells(&circuits, "wire-length"), ["?", "12 ft"]);
}

#[test]
fn three_digits_after_the_only_mark_are_open_unless_the_column_settles_it() {
    for (head, written, expected) in [
        ("height (mm)", &["1,250", "1,016"][..], &["?", "?"][..]),
        ("height (mm)", &["1.250", "980"], &["?", "980 mm"]),
        // What else stands in the column has decimals: so has this.
        ("height (mm)", &["1250.5", "1.250"], &["1250.5 mm", "1.25 mm"]),
        // No vehicle is 1016 m high, none 40125 in.
        ("height (m)", &["1.016", "1.250"], &["1.016 m", "1.25 m"]),
        ("height (in)", &["40.125"], &["40.125 in"]),
        ("height (mm)", &["0.125"], &["0.125 mm"]),
    ] {
        assert_eq!(column(head, "height", written), expected, "{head}: {written:?}");
    }
    // One column writes decimals with a comma, another with a point, or thousands.
    let sheet = "id;model;colour;behind front (mm);height (mm);faces\nL1;X;Red;1.250;1.016;front\nL2;X;Red;1250.5;990,5;front\n";
    let all = as_proposed(sheet.as_bytes(), "sheet.csv");
    assert_eq!(cells(&all.lamps, "behind-front"), ["?", "1250.5 mm"]);
    assert!(all.doubts.iter().any(|doubt| doubt.why.contains("`1.250` may be thousands or decimals")));
}

/// A number of a workbook has no mark that could be meant otherwise.
#[test]
fn numbers_of_a_workbook_are_what_they_are() {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.write_row(0, 0, ["id", "model", "height (mm)", "faces", "behind front (mm)"]).unwrap();
    for (row, id) in [(1, "L1"), (2, "L2")] {
        sheet.write_row(row, 0, [id, "m"]).unwrap();
        sheet.write_number(row, 2, 1.125).unwrap();
        sheet.write_string(row, 3, "front").unwrap();
        sheet.write_string(row, 4, "1.125").unwrap();
    }
    let all = as_proposed(&workbook.save_to_buffer().unwrap(), "sheet.xlsx");
    assert_eq!(cells(&all.lamps, "height"), ["1.125 mm", "1.125 mm"]);
    assert_eq!(cells(&all.lamps, "behind-front"), ["?", "?"]);
}

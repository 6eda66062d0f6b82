//! What a workbook shows and does not hold as text: what is struck through, units in a number format, merged cells. Nothing of
//! it is read as something else.

mod common;

use common::sheets::{as_proposed, cells, ods, xlsx};
use rust_xlsxwriter::{Format, Workbook};

const TITLES: [&str; 7] = ["id", "model", "colour", "behind front (in)", "right (in)", "height", "faces"];

/// Lamps L1, L2 ... whose cells are written by the function.
fn lamps(many: u32, write: impl Fn(&mut rust_xlsxwriter::Worksheet)) -> wayproof::import::Imported {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.write_row(0, 0, TITLES).unwrap();
    for row in 1..=many {
        for (column, cell) in (0..).zip(["", "X", "red", "10 in", "-20 in", "40 in", "front"]) {
            sheet.write_string(row, column, cell).unwrap();
        }
        sheet.write_string(row, 0, format!("L{row}")).unwrap();
    }
    write(sheet);
    as_proposed(&workbook.save_to_buffer().unwrap(), "sheet.xlsx")
}

#[test]
fn what_is_struck_through_is_asked_for() {
    let (struck, plain) = (Format::new().set_font_strikethrough(), Format::new());
    let all = lamps(4, |sheet| {
        sheet.write_rich_string(1, 5, &[(&struck, "40"), (&plain, "42 in")]).unwrap();
        sheet.write_string_with_format(2, 0, "L2", &struck).unwrap();
        sheet.write_number_with_format(3, 5, 1016, &struck).unwrap();
        sheet.write_rich_string(4, 5, &[(&Format::new().set_bold(), "4"), (&plain, "1 in")]).unwrap();
    });
    assert_eq!(cells(&all.lamps, "height"), ["?", "40 in", "?", "41 in"]);
    assert_eq!(cells(&all.lamps, "model"), ["X", "?", "X", "X"]);
    let why: Vec<&str> = all.doubts.iter().map(|doubt| doubt.why.as_str()).collect();
    assert_eq!(
        why,
        [
            "`4042 in` is struck through, wholly or in part",
            "`L2` is struck through, wholly or in part: is the lamp there?",
            "`1016` is struck through, wholly or in part"
        ]
    );
    // Text that stands in its cell, as some programs write it.
    let text = |text: &str| format!("<c t=\"inlineStr\"><is><t>{text}</t></is></c>");
    let rich = "<c t=\"inlineStr\"><is><r><rPr><strike/></rPr><t>40</t></r><r><t>42</t></r></is></c>";
    let head: String = ["id", "model", "height (in)", "faces"].map(text).concat();
    let row = format!("{}{}{rich}{}", text("L1"), text("X"), text("front"));
    let file = xlsx(&format!("<row>{head}</row><row>{row}</row>"), "", &[]);
    assert_eq!(cells(&as_proposed(&file, "sheet.xlsx").lamps, "height"), ["?"]);
}

#[test]
fn a_unit_in_a_number_format_is_read() {
    let all = lamps(4, |sheet| {
        let mut write = |row, number: f64, format: &str| {
            sheet.write_number_with_format(row, 5, number, &Format::new().set_num_format(format)).unwrap();
        };
        write(1, 40.5, "0.0\" in\"");
        write(2, 1016.0, "#,##0\" mm\"");
        write(3, 40.0, "\"~\"0\" in\"");
        write(4, 406.0, "0\"' \"00");
    });
    // A mark before the figure says that it is not sure; a format that parts it shows another.
    assert_eq!(cells(&all.lamps, "height"), ["40.5 in", "1016 mm", "?", "?"]);
}

/// A cell of an ods file; `more` are attributes.
fn cell(more: &str, text: &str) -> String {
    format!("<table:table-cell office:value-type=\"string\" {more}><text:p>{text}</text:p></table:table-cell>")
}

fn row(cells: &[String]) -> String {
    format!("<table:table-row>{}</table:table-row>", cells.concat())
}

#[test]
fn merged_cells_of_ods_speak_of_each_of_their_rows() {
    let plain = |texts: &[&str]| -> Vec<String> { texts.iter().map(|text| cell("", text)).collect() };
    let head = row(&plain(&["id", "model", "height (in)", "faces", "circuit"]));
    let first = [plain(&["L1", "X", "40", "front"]), vec![cell("table:number-rows-spanned=\"2\"", "C1")]].concat();
    let second = [plain(&["L2", "X", "40", "front"]), vec!["<table:covered-table-cell/>".to_owned()]].concat();
    let third = plain(&["L3", "X", "40", "front", "C2"]);
    let empty = "<table:table-row table:number-rows-repeated=\"3\"/>".to_owned();
    let file = ods(&[empty, head, row(&first), row(&second), row(&third)].concat());
    let all = as_proposed(&file, "sheet.ods");
    assert_eq!(cells(&all.lamps, "circuit"), ["C1", "C1", "C2"]);
    assert!(all.notes.iter().any(|note| note.contains("E5:E6 are merged: `C1` is read")), "{:?}", all.notes);
}

#[test]
fn what_is_struck_through_in_ods_is_asked_for() {
    let plain = |texts: &[&str]| -> Vec<String> { texts.iter().map(|text| cell("", text)).collect() };
    let style = |name: &str, line: &str| {
        format!(
            "<style:style style:name=\"{name}\"><style:text-properties style:text-line-through-style=\"{line}\"/></style:style>"
        )
    };
    let styles =
        format!("<office:automatic-styles>{}{}</office:automatic-styles>", style("ce1", "solid"), style("ce2", "none"));
    let head = row(&plain(&["id", "model", "height (in)", "faces"]));
    let of = |height: String| row(&[plain(&["L1", "X"]), vec![height], plain(&["front"])].concat());
    let rows = [
        head,
        of(cell("table:style-name=\"ce1\"", "40")),
        of(cell("table:style-name=\"ce2\"", "40")),
        of(cell("", "<text:span text:style-name=\"ce1\">40</text:span>42")),
    ];
    let file = ods(&format!("{styles}{}", rows.concat()));
    assert_eq!(cells(&as_proposed(&file, "sheet.ods").lamps, "height"), ["?", "40 in", "?"]);
}

#[test]
fn a_unit_that_ods_shows_is_read() {
    let plain = |texts: &[&str]| -> Vec<String> { texts.iter().map(|text| cell("", text)).collect() };
    let head = row(&plain(&["id", "model", "height", "faces"]));
    let of = |value: &str, shown: &str| {
        let height = format!(
            "<table:table-cell office:value-type=\"float\" office:value=\"{value}\"><text:p>{shown}</text:p></table:table-cell>"
        );
        row(&[plain(&["L1", "X"]), vec![height], plain(&["front"])].concat())
    };
    let rows = [
        head,
        of("40.5", "40.5 in"),
        of("1016", "1,016 mm"),
        of("106", "8' 10&quot;"),
        of("41", "41"),
        of("1.125", "1.125 m"),
    ];
    let all = as_proposed(&ods(&rows.concat()), "sheet.ods");
    assert_eq!(cells(&all.lamps, "height"), ["40.5 in", "1016 mm", "?", "?", "1.125 m"]);
}

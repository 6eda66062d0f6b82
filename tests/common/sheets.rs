//! Spreadsheets: imported from a folder of their own, as a person would; made for a case; read back cell by cell.

use std::collections::BTreeMap;
use std::path::Path;

use assert_cmd::Command;
use calamine::{Data, Reader, Xlsx};

/// Standard output, standard error, exit status.
pub fn run(args: &[&str]) -> (String, String, i32) {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR")).env("COLUMNS", "160").env("NO_COLOR", "1");
    let output = command.args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

pub fn path(dir: &tempfile::TempDir, name: &str) -> String {
    dir.path().join(name).display().to_string()
}

/// Imports a file twice: the mapping that is proposed is changed and confirmed in between.
pub fn confirmed(name: &str, sheet: &[u8], change: &[(&str, &str)], more: &[&str]) -> (tempfile::TempDir, String, i32) {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join(name), sheet).unwrap();
    let (file, out) = (path(&dir, name), path(&dir, "out"));
    let import = || run(&[&["import", file.as_str(), "-o", out.as_str()], more].concat());
    let (text, errors, status) = import();
    assert_eq!(status, 3, "{text}{errors}");
    let mapping = format!("{out}/mapping.toml");
    let mut text = std::fs::read_to_string(&mapping).unwrap().replace("confirmed = false", "confirmed = true");
    for (old, new) in change {
        assert!(text.contains(old), "{old} in {text}");
        text = text.replace(old, new);
    }
    std::fs::write(&mapping, text).unwrap();
    let (text, errors, status) = import();
    (dir, text + &errors, status)
}

/// A small sheet, with a mapping that is changed before it is confirmed.
pub fn small(sheet: &str, change: &[(&str, &str)], more: &[&str]) -> (tempfile::TempDir, String, i32) {
    confirmed("sheet.csv", sheet.as_bytes(), change, more)
}

/// A zip archive of parts.
pub fn archive(parts: &[(&str, &str)]) -> Vec<u8> {
    use std::io::Write;
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, text) in parts {
        archive.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        archive.write_all(text.as_bytes()).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// An ods workbook of one sheet with these rows, written as they stand.
pub fn ods(rows: &str) -> Vec<u8> {
    let content = format!(
        "<office:document-content><office:body><office:spreadsheet><table:table table:name=\"Lamps\">{rows}</table:table>\
         </office:spreadsheet></office:body></office:document-content>"
    );
    archive(&[
        ("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
        ("META-INF/manifest.xml", "<manifest:manifest/>"),
        ("content.xml", &content),
    ])
}

/// An xlsx workbook of one sheet: what stands in `sheetData` and after it, and the texts that cells share.
pub fn xlsx(data: &str, after: &str, shared: &[&str]) -> Vec<u8> {
    const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    const OF_DOCUMENT: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    const OF_PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
    let relation = |id: usize, kind: &str, target: &str| {
        format!("<Relationship Id=\"rId{id}\" Type=\"{OF_DOCUMENT}/{kind}\" Target=\"{target}\"/>")
    };
    let relations = |all: String| format!("<Relationships xmlns=\"{OF_PACKAGE}\">{all}</Relationships>");
    let texts: String = shared.iter().map(|text| format!("<si><t>{text}</t></si>")).collect();
    archive(&[
        ("_rels/.rels", &relations(relation(1, "officeDocument", "xl/workbook.xml"))),
        (
            "xl/workbook.xml",
            &format!(
                "<workbook xmlns=\"{MAIN}\" xmlns:r=\"{OF_DOCUMENT}\"><sheets>\
                 <sheet name=\"Lamps\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>"
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            &relations(
                relation(1, "worksheet", "worksheets/sheet1.xml") + &relation(2, "sharedStrings", "sharedStrings.xml"),
            ),
        ),
        ("xl/sharedStrings.xml", &format!("<sst xmlns=\"{MAIN}\">{texts}</sst>")),
        (
            "xl/worksheets/sheet1.xml",
            &format!("<worksheet xmlns=\"{MAIN}\"><sheetData>{data}</sheetData>{after}</worksheet>"),
        ),
    ])
}

pub fn opened(file: &Path) -> Xlsx<std::io::BufReader<std::fs::File>> {
    calamine::open_workbook(file).unwrap()
}

/// The rows of a sheet, each a cell by the head of its column.
pub fn rows(workbook: &mut Xlsx<std::io::BufReader<std::fs::File>>, sheet: &str) -> Vec<BTreeMap<String, Data>> {
    let range = workbook.worksheet_range(sheet).unwrap_or_else(|error| panic!("{sheet}: {error}"));
    let mut rows = range.rows();
    let Some(head) = rows.next() else { return Vec::new() };
    let named = |row: &[Data]| {
        let cells = head.iter().zip(row).filter(|(_, cell)| **cell != Data::Empty);
        cells.map(|(head, cell)| (head.to_string(), cell.clone())).collect()
    };
    rows.map(named).collect()
}

pub fn number(row: &BTreeMap<String, Data>, head: &str) -> Option<f64> {
    match row.get(head) {
        None => None,
        Some(Data::Float(number)) => Some(*number),
        #[allow(clippy::cast_precision_loss)]
        Some(Data::Int(number)) => Some(*number as f64),
        Some(other) => panic!("{head}: {other:?} is no number"),
    }
}

pub fn text<'r>(row: &'r BTreeMap<String, Data>, head: &str) -> &'r str {
    match row.get(head) {
        None => "",
        Some(Data::String(text)) => text,
        Some(other) => panic!("{head}: {other:?} is no text"),
    }
}

/// What comes of a small sheet as it is proposed, without the command.
pub fn as_proposed(sheet: &[u8], name: &str) -> wayproof::import::Imported {
    let book = wayproof::import::read_book(sheet, name).unwrap();
    let mut mapping = wayproof::import::propose(&book, None).unwrap();
    mapping.confirmed = true;
    wayproof::import::imported(&book, &mapping, None).unwrap()
}

/// The cell of each lamp or circuit, in their order.
pub fn cells(records: &[wayproof::import::Record], name: &str) -> Vec<String> {
    records.iter().map(|one| one.cells.get(name).cloned().unwrap_or_default()).collect()
}

//! Pages on a narrow window: drawings keep letters that can be read and scroll in a box of their own, and an id of a
//! finding breaks behind its parts. In a browser `documents_in_browser.rs` looks at the same pages.

mod common;

use common::root;

fn page(args: &[&str]) -> String {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("page.html");
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(args)
        .args(["--library", "demo-data/catalogue", "--as-of", "2026-11-27", "-o", file.to_str().unwrap()])
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    std::fs::read_to_string(&file).unwrap_or_else(|error| panic!("{error}: {said}"))
}

#[test]
fn letters_of_drawings_are_at_least_eight_pixels_high() {
    let html = page(&["report", "demo-data/rescue-4-changed/package.toml", "--as", "page"]);
    let figures: Vec<&str> = html.split("<figure").skip(1).collect();
    assert!(figures.len() > 20, "{}", figures.len());
    for figure in figures {
        let part = |from: &str, to: &str| figure.split(from).nth(1).unwrap().split(to).next().unwrap();
        let width: f64 = part("viewBox=\"0 0 ", " ").parse().unwrap();
        let least: f64 = part("min-width:", "px").parse().unwrap();
        // Letters are 11 px in the drawing's own measure.
        assert!(11.0 * least / width >= 8.0, "{least} of {width}");
        // Where the window is narrower, the box scrolls, and can be reached by the keyboard.
        let around = figure.split("<svg").next().unwrap();
        assert!(
            around.contains("<div class=\"wide\" role=\"group\" tabindex=\"0\" aria-label=\"Drawing: "),
            "{around}"
        );
    }
}

#[test]
fn ids_of_moved_findings_break_behind_their_parts() {
    let html = page(&["change", "demo-data/rescue-4/package.toml", "demo-data/rescue-4-changed/package.toml"]);
    let id = "zones-two-level:<wbr>zone-total@<wbr>calling/<wbr>lower/<wbr>C<wbr>";
    assert!(html.replace("&#x2f;", "/").contains(id), "{html}");
    let table = html.split("Table: Worse").nth(1).unwrap();
    assert!(table.split("</thead>").next().unwrap().matches("<th ").count() <= 6, "few columns, so that none is thin");
}

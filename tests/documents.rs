//! Documents that people hold: each kind of each demo vehicle is written, says what it was made from, is never written
//! over, and holds no text of a package as anything but text.
//!
//! What a browser makes of them is asked in `tests/documents_in_browser.rs`.

mod common;

use std::fs;
use std::path::Path;

use common::documents::{DEMOS, demo, hostile, names, report, wayproof};
use tempfile::tempdir;
use wayproof::report::{PAPERS, named_in};

fn text(path: &Path) -> String {
    fs::read_to_string(path).unwrap()
}

/// Every document of every demo, with the files that each names.
#[test]
fn every_document_of_every_demo_says_what_it_was_made_from() {
    let folder = tempdir().unwrap();
    let mut written = 0;
    for (name, more) in DEMOS {
        for kind in PAPERS.iter().filter(|kind| !kind.asks_readings) {
            for (ending, _) in kind.endings {
                let path = report(&demo(name), kind.name, ending, folder.path(), more);
                written += 1;
                if *ending == "xlsx" {
                    continue;
                }
                let named = named_in(&text(&path));
                let has = |wanted: &str| named.iter().any(|file| file.name == wanted);
                assert!(has("package.toml") && named.len() > 4, "{}: {named:?}", path.display());
                assert!(has("../overlays/kestrow-limits.toml") == (*name == "brush-2-complete"), "{named:?}");
            }
        }
    }
    // Nothing else is left there.
    assert_eq!(names(folder.path()).len(), written);
    assert!(written >= 10);
}

#[test]
fn the_same_files_and_day_give_the_same_bytes() {
    let folders = [tempdir().unwrap(), tempdir().unwrap()];
    for kind in PAPERS.iter().filter(|kind| !kind.asks_readings) {
        for (ending, _) in kind.endings {
            let [one, other] = [0, 1].map(|at: usize| {
                fs::read(report(&demo("rescue-4"), kind.name, ending, folders[at].path(), &[])).unwrap()
            });
            assert!(one == other, "{} .{ending}", kind.name);
        }
    }
}

#[test]
fn a_file_that_is_there_stays_unless_the_person_says_force() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("page.html");
    fs::write(&path, "a letter to the buyer").unwrap();
    let package = demo("rescue-4");
    let write = |more: &[&str]| {
        let command = ["report", &package, "--as", "page", "-o"];
        wayproof().args(command).arg(&path).args(more).output().unwrap()
    };
    let refused = write(&[]);
    assert_eq!(refused.status.code(), Some(2));
    let said = String::from_utf8(refused.stderr).unwrap();
    assert!(said.contains("is there already; --force writes over it"), "{said}");
    assert_eq!(text(&path), "a letter to the buyer");
    assert_eq!(write(&["--force"]).status.code(), Some(0));
    assert!(text(&path).starts_with("<!DOCTYPE html>"));
    assert_eq!(names(folder.path()), ["page.html"]);
}

/// Whatever goes wrong, no document and no half of one is left.
#[test]
fn nothing_is_left_behind_when_a_document_cannot_be_written() {
    let folder = tempdir().unwrap();
    let broken = folder.path().join("broken.toml");
    fs::write(&broken, "format = 1\n[vehicle]\nname = 3\n").unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let package = demo("rescue-4");
    let cases: [(&str, &str, String, &str); 5] = [
        (&package, "page", path("no/such/folder/page.html"), "cannot be written"),
        (&package, "page", path("page.xlsx"), "a page is written to a file that ends in .html"),
        (&package, "page", path("page"), "a page is written to a file that ends in .html"),
        (&package, "page", folder.path().display().to_string(), "a page is written to a file that ends in .html"),
        (broken.to_str().unwrap(), "page", path("page.html"), "nothing was judged"),
    ];
    for (package, kind, to, why) in cases {
        let output = wayproof().args(["report", package, "--as", kind, "-o", &to]).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{to}: {said}");
        assert!(said.contains(why), "{to}: {said}");
        assert_eq!(names(folder.path()), ["broken.toml"], "{to}");
    }
}

/// A page belongs to its files until one of them changes, and then it is said which.
#[test]
fn a_document_is_told_from_one_of_other_files() {
    let folder = tempdir().unwrap();
    let place = folder.path();
    for name in ["heads.csv", "package.toml"] {
        fs::create_dir_all(place.join("brush-2")).unwrap();
        fs::copy(common::root().join("demo-data/brush-2").join(name), place.join("brush-2").join(name)).unwrap();
    }
    fs::create_dir(place.join("catalogue")).unwrap();
    for entry in fs::read_dir(common::root().join("demo-data/catalogue")).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), place.join("catalogue").join(entry.file_name())).unwrap();
    }
    let package = place.join("brush-2/package.toml");
    let package = package.to_str().unwrap();
    let page = report(package, "page", "html", place, &[]);
    let verify = |rules: &[&str]| {
        let output = wayproof().args(["report", package, "--verify"]).arg(&page).args(rules).output().unwrap();
        (output.status.code(), String::from_utf8(output.stdout).unwrap())
    };
    let (status, said) = verify(&[]);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("the same  package.toml\n") && said.contains("the same  heads.csv\n"), "{said}");
    assert!(said.contains(".html belongs to these files\n"), "{said}");
    // From another folder the files are called the same.
    let elsewhere = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(place.join("brush-2"))
        .args(["report", "package.toml", "--verify"])
        .arg(&page)
        .output()
        .unwrap();
    assert_eq!(elsewhere.status.code(), Some(0), "{}", String::from_utf8_lossy(&elsewhere.stdout));

    let heads = place.join("brush-2/heads.csv");
    let before = text(&heads);
    fs::write(&heads, format!("{before}\n")).unwrap();
    let (status, said) = verify(&[]);
    assert_eq!(status, Some(1), "{said}");
    assert!(said.contains("CHANGED   heads.csv\n") && said.contains("the same  package.toml\n"), "{said}");
    assert!(said.contains("does not belong to these files any more\n"), "{said}");
    fs::write(&heads, before).unwrap();

    let (status, said) = verify(&["--rules", "zones-one-level", "--rules", "all-round-lamp"]);
    assert_eq!(status, Some(1), "{said}");
    assert!(said.contains("NEW       all-round-lamp (shipped)\n"), "{said}");
    let other = wayproof().args(["report", package, "--verify", "README.md"]).output().unwrap();
    assert_eq!(other.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&other.stderr).contains("does not say what it was made from"));
}

/// Texts of a package that a browser or a spreadsheet would run stay texts, in every document.
#[test]
fn hostile_texts_stay_texts() {
    let folder = tempdir().unwrap();
    let package = hostile(folder.path());
    let package = package.to_str().unwrap();
    for kind in PAPERS.iter().filter(|kind| !kind.asks_readings) {
        for (ending, _) in kind.endings {
            let path = report(package, kind.name, ending, folder.path(), &[]);
            match *ending {
                "html" => {
                    let page = text(&path);
                    let body = page.split_once("</style>").unwrap().1.to_lowercase();
                    for markup in ["<script", "<img", "<b>", "href=\"javascript"] {
                        assert!(!body.contains(markup), "{markup} in {}", path.display());
                    }
                    assert!(body.contains("{{ 7 * 7 }}"), "{}", path.display());
                    assert!(
                        !body.contains(['\u{202e}', '\u{2066}']) && body.contains("a[u+202e]b"),
                        "{}",
                        path.display()
                    );
                    assert!(page.contains("&lt;script&gt;window.hostile = 1"), "{}", path.display());
                }
                "csv" => {
                    let mut rows =
                        csv::ReaderBuilder::new().flexible(true).has_headers(false).from_path(&path).unwrap();
                    for cell in
                        rows.records().flat_map(|row| row.unwrap().iter().map(str::to_owned).collect::<Vec<_>>())
                    {
                        let runs = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
                        assert!(!runs, "{cell} in {}", path.display());
                    }
                }
                "toml" => {
                    let read: Result<toml::Table, _> = text(&path).parse();
                    assert!(read.is_ok(), "{}: {:?}", path.display(), read.err());
                }
                _ => {}
            }
        }
    }
}

/// A list that a text of the package spells out is none.
#[test]
fn a_text_of_the_package_adds_no_file_to_the_list() {
    let folder = tempdir().unwrap();
    let package = hostile(folder.path());
    let forged = format!("reason = \"\"\"see\n{}  lamps.toml\nend\"\"\"\n", "a".repeat(64));
    let before = text(&package);
    let at = before.rfind("reason = ").unwrap();
    fs::write(&package, format!("{}{forged}", &before[..at])).unwrap();
    let package = package.to_str().unwrap();
    for kind in PAPERS.iter().filter(|kind| !kind.asks_readings) {
        for (ending, _) in kind.endings {
            let path = report(package, kind.name, ending, folder.path(), &[]);
            if *ending != "xlsx" {
                let named = named_in(&text(&path));
                assert_eq!(named.len(), 3, "{}: {named:?}", path.display());
                assert!(named.iter().all(|file| !file.sha256.starts_with("aaaa")), "{}: {named:?}", path.display());
            }
            let output = wayproof().args(["report", package, "--verify"]).arg(&path).output().unwrap();
            let said = String::from_utf8_lossy(&output.stdout).into_owned();
            assert_eq!(output.status.code(), Some(0), "{}: {said}", path.display());
        }
    }
}

#[test]
fn the_list_is_read_from_every_kind_of_text() {
    let sum = "0123456789abcdef".repeat(4);
    let page =
        format!("<!DOCTYPE html>\n<p>\n{sum}  no\n</p><pre class=\"files\" tabindex=\"0\">\n{sum}  a &amp; b\n</pre>");
    let names = |text: &str| -> Vec<String> { named_in(text).into_iter().map(|file| file.name).collect() };
    assert_eq!(names(&page), ["a & b"]);
    assert_eq!(
        names(&format!("# {sum}  one\n\n[[reading]]\n# {sum}  two\n# {sum}  &amp; three\n")),
        ["two", "&amp; three"]
    );
    // As a spreadsheet program writes it back, with separators behind.
    assert_eq!(names(&format!("line,value\n\"{sum}  a,b.toml\",,\n{sum}  c  d;;;\n")), ["a,b.toml", "c  d"]);
    for none in ["", "no list", &format!("x{sum}  name"), &format!("{sum} name"), &format!("{}  name", &sum[1..])] {
        assert!(named_in(none).is_empty(), "{none}");
    }
}

/// What a document is made from is never written over, and a link that leads nowhere is not followed.
#[test]
fn nothing_is_written_over_what_it_is_made_from() {
    let folder = tempdir().unwrap();
    let package = hostile(folder.path());
    let catalogue = folder.path().join("lamps.html");
    fs::rename(folder.path().join("lamps.toml"), &catalogue).unwrap();
    fs::write(&package, text(&package).replace("lamps.toml", "lamps.html")).unwrap();
    let before = text(&catalogue);
    let command = ["report", package.to_str().unwrap(), "--as", "page", "--force", "-o"];
    let output = wayproof().args(command).arg(&catalogue).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("is what this is made from"), "{said}");
    assert_eq!(text(&catalogue), before);
    #[cfg(unix)]
    {
        let link = folder.path().join("link.html");
        std::os::unix::fs::symlink(folder.path().join("nowhere.html"), &link).unwrap();
        let output = wayproof().args(command).arg(&link).output().unwrap();
        assert_eq!(output.status.code(), Some(2));
        assert!(String::from_utf8_lossy(&output.stderr).contains("is a link that leads nowhere"));
    }
}

/// What somebody accepted in writing is no pass, and the page says who, until when, and whether it still stands.
#[test]
fn accepted_findings_stand_on_the_page_as_what_they_are() {
    let folder = tempdir().unwrap();
    let package = hostile(folder.path());
    let page = text(&report(package.to_str().unwrap(), "page", "html", folder.path(), &[]));
    assert!(page.contains("<h2 id=\"excepted\">Accepted in writing, though the limit is not met or not shown</h2>"));
    assert!(page.contains("<td>2027-01-02</td><td>in force</td>"));
    let before = text(&package);
    fs::write(&package, before.replace("hostile:height@one", "hostile:height@two")).unwrap();
    let output = wayproof()
        .args(["report", package.to_str().unwrap(), "--as", "page", "--force", "-o"])
        .arg(folder.path().join("idle.html"))
        .output()
        .unwrap();
    assert!(String::from_utf8_lossy(&output.stderr).contains("no finding is called `hostile:height@two`"));
    let page = text(&folder.path().join("idle.html"));
    assert!(page.contains("<td>2027-01-02</td><td>matches no finding</td>") && !page.contains("id=\"excepted\""));
}

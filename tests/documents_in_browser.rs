//! Documents as a browser shows and prints them: `tests/reference/documents.mjs` opens each in headless Chromium (no
//! message in its console, no request beyond the file, links of the contents lead somewhere, nothing moves, as wide as
//! the window at 1280 and 390 px), asks an accessibility checker (axe-core), prints it on Letter and A4, and `pdftotext`
//! reads what was printed.
//!
//! It needs the folder that the variable WAYPROOF_BROWSER names, with the npm packages playwright-core and axe-core, and
//! Chromium and Poppler; without them this says that it was skipped.

mod common;

use std::fs;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::Command;

use common::documents::{DEMOS, demo, hostile, report};
use common::root;
use serde_json::Value as Json;
use tempfile::tempdir;
use wayproof::report::PAPERS;

/// What the browser says of each file; nothing, and a word about it, where there is none.
fn opened(files: &[PathBuf]) -> Option<Vec<Json>> {
    if std::env::var_os("WAYPROOF_BROWSER").is_none() {
        let _ = writeln!(std::io::stderr(), "SKIPPED: WAYPROOF_BROWSER is not set, so no document was opened");
        return None;
    }
    let output = Command::new("node").current_dir(root()).arg("tests/reference/documents.mjs").args(files).output();
    let output = output.unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let seen: Vec<Json> =
        String::from_utf8(output.stdout).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(seen.len(), files.len());
    Some(seen)
}

fn without_complaint(seen: &[Json]) {
    let complaints: Vec<String> = seen
        .iter()
        .flat_map(|one| {
            one["complaints"].as_array().unwrap().iter().map(move |what| format!("{}: {what}", one["file"]))
        })
        .collect();
    assert!(complaints.is_empty(), "{}", complaints.join("\n"));
    for one in seen {
        assert!(one["accessible"].as_u64() > Some(10) && one["text"].as_u64() > Some(1000), "{one}");
    }
}

/// The words of a printed text, so that line breaks of the paper do not matter.
fn words(text: &Json) -> String {
    text.as_str().unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_page_of_every_demo_is_opened_and_printed() {
    let folder = tempdir().unwrap();
    let pages: Vec<PathBuf> =
        DEMOS.iter().map(|(name, more)| report(&demo(name), "page", "html", folder.path(), more)).collect();
    let Some(seen) = opened(&pages) else { return };
    without_complaint(&seen);
    for ((name, more), one) in DEMOS.iter().zip(&seen) {
        // The verdict and every required finding that fails stand in print, on either paper.
        let output = common::documents::wayproof()
            .args(["check", &demo(name), "--format", "json", "--as-of", common::documents::DAY])
            .args(*more)
            .output()
            .unwrap();
        let judged: Json = serde_json::from_slice(&output.stdout).unwrap();
        let fails = judged["summary"]["fail"].as_u64().unwrap();
        let verdict = match output.status.code() {
            Some(0) => "Every required rule that was judged passes.".to_owned(),
            Some(1) if fails == 1 => "Fail: the limit of 1 required finding is not met.".to_owned(),
            Some(1) => format!("Fail: the limit of {fails} required findings is not met."),
            _ => "Not shown: no required finding fails, but something is open".to_owned(),
        };
        for paper in ["Letter", "A4"] {
            let printed = words(&one[format!("text_{paper}")]);
            assert!(printed.contains(&verdict), "{name} on {paper}: {verdict}");
            assert!(printed.contains("The authority having jurisdiction (AHJ)"), "{name} on {paper}");
            let pages = one["pages"][paper].as_u64().unwrap();
            assert!((4..=80).contains(&pages), "{name}: {pages} pages of {paper}");
            // Long words are broken in print, so that ids are looked for without spaces.
            let close = printed.replace(' ', "");
            for finding in judged["findings"].as_array().unwrap() {
                if finding["verdict"] == "fail" && finding["strength"] == "required" {
                    let id = finding["id"].as_str().unwrap();
                    assert!(close.contains(id), "{name} on {paper}: {id}");
                }
            }
        }
        assert!(one["links"].as_u64() > Some(20), "{name}: {}", one["links"]);
    }
}

/// Every other document in HTML: what is filled in, handed over, compared and asked of bidders.
#[test]
fn every_other_document_is_opened_and_printed() {
    let folder = tempdir().unwrap();
    let mut files: Vec<(PathBuf, &str)> = DEMOS
        .iter()
        .map(|(name, more)| (report(&demo(name), "sheet", "html", folder.path(), more), "Acceptance sheet"))
        .collect();
    let read = ["--readings", "demo-data/rescue-4/readings.toml"];
    let rescue = demo("rescue-4");
    files.push((report(&rescue, "record", "html", folder.path(), &read), "too close"));
    files.push((report(&rescue, "letter", "html", folder.path(), &read), "put right"));
    let [one, other, third] = ["rescue-4", "rescue-4-changed", "brush-2"].map(demo);
    let written: [(&[&str], &str, &str); 3] = [
        (&["change", &one, &other], "change.html", "wedge 12 deg -> 0 deg"),
        (&["compare", &one, &other, &third], "compare.html", "worst margin"),
        (&["bid", "zones-two-level", "supply-12v", "sounders"], "bid.html", "zones-two-level:zone-total"),
    ];
    for (command, name, holds) in written {
        let path = folder.path().join(name);
        let output = common::documents::wayproof().args(command).arg("-o").arg(&path).output().unwrap();
        assert!(path.exists(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
        files.push((path, holds));
    }
    let paths: Vec<PathBuf> = files.iter().map(|(path, _)| path.clone()).collect();
    let Some(seen) = opened(&paths) else { return };
    without_complaint(&seen);
    for ((path, holds), one) in files.iter().zip(&seen) {
        for paper in ["Letter", "A4"] {
            let printed = words(&one[format!("text_{paper}")]).to_lowercase();
            assert!(printed.contains(&holds.to_lowercase()), "{} on {paper}: {holds}", path.display());
            assert!(printed.contains("the authority having jurisdiction"), "{} on {paper}", path.display());
        }
    }
}

#[test]
fn hostile_texts_do_nothing_in_a_browser() {
    let folder = tempdir().unwrap();
    let package = hostile(folder.path());
    let html =
        PAPERS.iter().filter(|kind| !kind.asks_readings && kind.endings.iter().any(|(ending, _)| *ending == "html"));
    let pages: Vec<PathBuf> =
        html.map(|kind| report(package.to_str().unwrap(), kind.name, "html", folder.path(), &[])).collect();
    let Some(seen) = opened(&pages) else { return };
    without_complaint(&seen);
    for one in &seen {
        assert!(words(&one["text_Letter"]).contains("<script>window.hostile"), "{}", one["file"]);
    }
    assert!(fs::read_dir(folder.path()).unwrap().count() >= 4);
}

//! The workbook: its sheets, its numbers against the record of the same vehicle, texts that stay texts, the same bytes
//! for the same files. Back again through `import`: `tests/import_onto.rs`.
//!
//! Against others: `tests/reference/workbook.py` opens it with openpyxl (the Python that WAYPROOF_PYTHON names), and
//! LibreOffice (`soffice`) turns every sheet into CSV; where one of them is not there, the test says that it was skipped.

mod common;

use std::collections::{BTreeMap, HashMap};
use std::io::Write as _;
use std::path::Path;

use calamine::{Data, Reader};
use common::oracle::rows_of;
use common::root;
use common::sheets::{number, opened, rows, run, text};
use serde_json::Value as Json;

const DEMOS: [&str; 4] = ["rescue-4", "brush-2", "medic-6", "amber-9"];

fn package(demo: &str) -> String {
    format!("demo-data/{demo}/package.toml")
}

fn write(package: &str, file: &Path, more: &[&str]) {
    let file = file.display().to_string();
    let fixed = ["report", package, "--as", "workbook", "-o", &file, "--as-of", "2026-11-25"];
    let (text, errors, status) = run(&[&fixed[..], more].concat());
    assert_eq!((text.as_str(), status), ("", 0), "{package}: {errors}");
}

fn record(package: &str, more: &[&str]) -> Json {
    let (text, errors, _) = run(&[&["check", package, "--as-of", "2026-11-25", "--format", "json"], more].concat());
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{package}: {error}: {errors}"))
}

#[test]
fn the_findings_are_those_of_the_record() {
    let dir = tempfile::tempdir().unwrap();
    let mut compared = 0;
    for demo in DEMOS {
        let file = dir.path().join(format!("{demo}.xlsx"));
        write(&package(demo), &file, &[]);
        let record = record(&package(demo), &[]);
        let findings = rows(&mut opened(&file), "Findings");
        let all = record["findings"].as_array().unwrap().iter().chain(record["cautions"].as_array().unwrap());
        let all: Vec<&Json> = all.collect();
        assert_eq!(findings.len(), all.len(), "{demo}");
        for (row, finding) in findings.iter().zip(all) {
            let id = finding["id"].as_str().unwrap();
            assert_eq!(text(row, "id"), id);
            for (head, key) in [("verdict", "verdict"), ("strength", "strength"), ("basis", "basis"), ("note", "note")]
            {
                assert_eq!(text(row, head), finding[key].as_str().unwrap_or_default(), "{id}: {key}");
            }
            for (head, key) in
                [("found", "found"), ("limit", "limit"), ("margin (share of the limit, of levels dB)", "margin")]
            {
                let expected = match &finding[key] {
                    Json::Object(range) => range["from"].as_f64(),
                    other => other.as_f64(),
                };
                assert_eq!(number(row, head), expected, "{id}: {key}");
                compared += usize::from(expected.is_some());
            }
            assert_eq!(number(row, "limit to"), finding["limit"]["to"].as_f64(), "{id}");
            assert_eq!(number(row, "look at bearing (deg)"), finding["witness"]["bearing"].as_f64(), "{id}");
        }
    }
    assert!(compared > 2_000, "{compared} numbers");
}

#[test]
fn zone_by_bearing_adds_up_to_the_totals() {
    let dir = tempfile::tempdir().unwrap();
    let (mut totals, mut heads) = (0, 0);
    for demo in ["rescue-4", "brush-2"] {
        let file = dir.path().join(format!("{demo}.xlsx"));
        write(&package(demo), &file, &[]);
        let record = record(&package(demo), &[]);
        let findings = record["findings"].as_array().unwrap().iter();
        let mut expected: HashMap<String, f64> = HashMap::new();
        for finding in findings.filter(|finding| finding["quantity"] == "zone-total-optical-power") {
            let part = |key: &str| finding["scope"][key].as_str().unwrap_or_default().to_owned();
            let found = finding["found"].as_f64().unwrap();
            expected.insert([part("purpose"), part("level"), part("zone")].join("/"), found);
        }
        let mut sums: BTreeMap<String, f64> = BTreeMap::new();
        let mut total = 0.0;
        for row in rows(&mut opened(&file), "Bearings") {
            let place = ["purpose", "level", "zone"].map(|head| text(&row, head)).join("/");
            // The figures are of one state, and that is told whole: what a finding leaves open lights lamps too.
            let state = text(&row, "set the vehicle to");
            assert!(demo != "rescue-4" || state.ends_with(", all else at rest"), "{place}: {state}");
            let at: BTreeMap<&String, &Data> =
                row.iter().filter(|(head, _)| head.ends_with("deg (cd.s/min)")).collect();
            assert!(at.len() >= 18, "{place}: {} bearings", at.len());
            let numbers = at.iter().filter_map(|(head, cell)| match cell {
                Data::Float(number) => Some(((*head).clone(), *number)),
                Data::String(word) => {
                    assert!(["hidden", "behind it", "no data"].contains(&word.as_str()), "{word}");
                    None
                }
                other => panic!("{other:?}"),
            });
            let numbers: Vec<(String, f64)> = numbers.collect();
            let sum: f64 = numbers.iter().map(|(_, number)| number).sum();
            let near = |one: f64, other: f64| (one - other).abs() <= 1e-9 * one.abs().max(1.0);
            if text(&row, "head") == "all together" {
                let found = number(&row, "over the zone (cd.s/min)").unwrap();
                assert_eq!(Some(&found), expected.get(&place), "{place}");
                // The heads above add up to it, in all and at each bearing.
                assert!(near(sum, found) && near(total, found), "{place}: {sum}, {total}, {found}");
                for (bearing, number) in numbers {
                    let of_heads = sums.get(&bearing).copied().unwrap_or(0.0);
                    assert!(near(of_heads, number), "{place} at {bearing}: {of_heads}, {number}");
                }
                (sums, total) = (BTreeMap::new(), 0.0);
                totals += 1;
            } else {
                assert!(
                    near(number(&row, "over the zone (cd.s/min)").unwrap(), sum),
                    "{place}: {}",
                    text(&row, "head")
                );
                numbers.into_iter().for_each(|(bearing, number)| *sums.entry(bearing).or_default() += number);
                total += sum;
                heads += 1;
            }
        }
    }
    // Two levels or one, two purposes, four zones.
    assert_eq!(totals, 16 + 8);
    assert!(heads > 150, "{heads}");
}

#[test]
fn circuits_and_loads_are_those_of_the_load_analysis() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("workbook.xlsx");
    write(&package("rescue-4"), &file, &[]);
    let (page, _, _) = run(&["power", &package("rescue-4"), "--as-of", "2026-11-25"]);
    let mut workbook = opened(&file);
    let mut compared = 0;
    for row in rows(&mut workbook, "Circuits") {
        // The page rounds to two decimals.
        let (name, rms) = (text(&row, "circuit"), number(&row, "RMS at most (A)").unwrap());
        let of_it = page.lines().filter(|line| line.split_whitespace().next() == Some(name));
        let of_it: Vec<&str> = of_it.filter(|line| line.contains(&format!("{rms:.2}")) || rms == 0.0).collect();
        assert!(!of_it.is_empty(), "{name}: {rms:.2} A");
        compared += 1;
    }
    assert_eq!(compared, 17);
    let loads = rows(&mut workbook, "Load analysis");
    for battery in ["chassis", "house"] {
        let of_it: Vec<_> = loads.iter().filter(|row| text(row, "battery") == battery).collect();
        let mut sums = 0;
        for part in ["minimum continuous load", "added for the total continuous load"] {
            let rows = of_it.iter().filter(|row| text(row, "part") == part);
            let at_most = |row: &&&BTreeMap<String, Data>| number(row, "mean at most (A)").unwrap();
            let (sum, rows): (Vec<_>, Vec<_>) = rows.partition(|row| text(row, "what") == "sum");
            let added: f64 = rows.iter().map(at_most).sum();
            assert!((at_most(&sum[0]) - added).abs() < 1e-9, "{battery}, {part}: {added}");
            assert!(page.contains(&format!("{:.2}", at_most(&sum[0]))), "{battery}, {part}");
            sums += sum.len();
        }
        assert_eq!(sums, 2);
    }
}

/// Where a head has no data, a sum without it is a lower bound, and says so.
#[test]
fn a_sum_that_lacks_a_head_says_at_least() {
    let dir = tempfile::tempdir().unwrap();
    let (mut bounds, mut whole) = (0, 0);
    for demo in DEMOS {
        let file = dir.path().join(format!("{demo}.xlsx"));
        write(&package(demo), &file, &[]);
        let mut lacking: Vec<String> = Vec::new();
        for row in rows(&mut opened(&file), "Bearings") {
            let at = row.iter().filter(|(_, cell)| **cell == Data::String("no data".to_owned()));
            let at: Vec<String> = at.map(|(head, _)| head.trim_end_matches(" deg (cd.s/min)").to_owned()).collect();
            let said = text(&row, "only at least").trim_start_matches("at least: no data at ").trim_end_matches(" deg");
            let mut said: Vec<String> = said.split(", ").filter(|one| !one.is_empty()).map(str::to_owned).collect();
            let is_sum = text(&row, "head") == "all together";
            let mut expected = if is_sum { std::mem::take(&mut lacking) } else { at.clone() };
            lacking.extend(at);
            expected.sort();
            expected.dedup();
            said.sort();
            assert_eq!(said, expected, "{demo}: {row:?}");
            let count = if said.is_empty() { &mut whole } else { &mut bounds };
            *count += 1;
        }
    }
    assert!(bounds > 0 && whole > 0, "{bounds}, {whole}");
}

/// A package in which every text that a person may choose looks like a formula.
fn with_formulas(dir: &Path) -> String {
    let text = std::fs::read_to_string(root().join(package("rescue-4"))).unwrap();
    let formula = "=HYPERLINK(\\\"nowhere\\\",\\\"Rescue 4\\\")";
    let text = text.replace("name = \"Rescue 4\"", &format!("name = \"{formula}\""));
    let text = text.replace("owner = \"Kestrow Rescue (invented)\"", "owner = \"+1+1\"");
    let text =
        text.replace("serial = \"0401\"", "serial = \"=1+1\"").replace("serial = \"0402\"", "serial = \"@SUM(1)\"");
    let file = dir.join("package.toml");
    std::fs::write(&file, text).unwrap();
    file.display().to_string()
}

#[test]
fn what_looks_like_a_formula_stays_a_text() {
    let dir = tempfile::tempdir().unwrap();
    let package = with_formulas(dir.path());
    let file = dir.path().join("workbook.xlsx");
    write(&package, &file, &["--library", "demo-data/catalogue"]);
    let mut workbook = opened(&file);
    let lamps = rows(&mut workbook, "Lamps");
    let serial = |id: &str| text(lamps.iter().find(|row| text(row, "id") == id).unwrap(), "serial").to_owned();
    assert_eq!(serial("front-upper-1-left"), "=1+1");
    assert_eq!(serial("front-upper-2-left"), "@SUM(1)");
    let about = workbook.worksheet_range("About").unwrap();
    assert!(
        about.used_cells().any(|(_, _, cell)| *cell == Data::String("=HYPERLINK(\"nowhere\",\"Rescue 4\")".to_owned()))
    );
    for sheet in workbook.sheet_names() {
        assert_eq!(workbook.worksheet_formula(&sheet).unwrap().used_cells().count(), 0, "{sheet}");
    }
}

#[test]
fn the_same_files_and_day_give_the_same_bytes_and_the_workbook_knows_its_files() {
    let dir = tempfile::tempdir().unwrap();
    let (one, other, later) =
        (dir.path().join("one.xlsx"), dir.path().join("other.xlsx"), dir.path().join("later.xlsx"));
    let case = dir.path().join("package.toml");
    std::fs::copy(root().join(package("rescue-4")), &case).unwrap();
    let package = case.display().to_string();
    let library = ["--library", "demo-data/catalogue"];
    write(&package, &one, &library);
    // The clock of the machine goes on; a zip archive counts in steps of two seconds.
    std::thread::sleep(std::time::Duration::from_millis(2_100));
    write(&package, &other, &library);
    assert!(std::fs::read(&one).unwrap() == std::fs::read(&other).unwrap(), "two runs differ");
    let file = later.display().to_string();
    run(&["report", &package, "--as", "workbook", "-o", &file, "--as-of", "2026-11-26", library[0], library[1]]);
    assert!(std::fs::read(&one).unwrap() != std::fs::read(&later).unwrap(), "the day is in it");
    let verify =
        |file: &Path| run(&["report", &package, "--verify", &file.display().to_string(), library[0], library[1]]);
    let (text, _, status) = verify(&one);
    assert!(text.contains("belongs to these files") && text.matches("the same").count() > 10, "{text}");
    assert_eq!(status, 0);
    let changed = std::fs::read_to_string(&case).unwrap().replace("height = \"107 in\"", "height = \"106 in\"");
    std::fs::write(&case, changed).unwrap();
    let (text, _, status) = verify(&one);
    assert!(text.lines().any(|line| line.starts_with("CHANGED") && line.ends_with("package.toml")), "{text}");
    assert_eq!(status, 1);
}

#[test]
fn another_library_opens_it_and_finds_the_same() {
    let dir = tempfile::tempdir().unwrap();
    let mut sheets = 0;
    for demo in DEMOS {
        let (file, json) = (dir.path().join(format!("{demo}.xlsx")), dir.path().join(format!("{demo}.json")));
        write(&package(demo), &file, &[]);
        std::fs::write(&json, record(&package(demo), &[]).to_string()).unwrap();
        let arguments = [&file, &json].map(|path| path.display().to_string());
        let Some(rows) = rows_of("workbook.py", &[&arguments[0], &arguments[1]]) else { return };
        sheets += rows.len();
        for row in rows.iter().filter(|row| ["Lamps", "Findings", "Sources"].contains(&row["sheet"].as_str())) {
            let count = |column: &str| row[column].parse::<usize>().unwrap();
            assert!(count("rows") > 10 && count("numbers") > 10 && count("texts") > 10, "{demo}: {row:?}");
        }
    }
    assert_eq!(sheets, 9 * DEMOS.len());
}

/// LibreOffice turns every sheet into CSV: it calculates nothing anew, and sees the same numbers and texts.
#[test]
fn libreoffice_opens_it_and_shows_the_same() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("workbook.xlsx");
    let package = with_formulas(dir.path());
    let library = ["--library", "demo-data/catalogue"];
    write(&package, &file, &library);
    let profile = format!("-env:UserInstallation=file://{}/profile", dir.path().display());
    // Field and text separators, UTF-8, from line 1, no formats, quote all text, no conversion, values not as shown, every
    // sheet a file.
    let filter = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,true,false,false,false,false,-1";
    let mut command = std::process::Command::new("soffice");
    command.args([&profile, "--headless", "--convert-to", filter, "--outdir"]).arg(dir.path()).arg(&file);
    let output = match command.output() {
        Ok(output) => output,
        Err(error) => {
            let _ = writeln!(
                std::io::stderr(),
                "SKIPPED: soffice cannot be run ({error}), so LibreOffice opened no workbook"
            );
            return;
        }
    };
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let sheet = |name: &str| -> Vec<HashMap<String, String>> {
        let path = dir.path().join(format!("workbook-{name}.csv"));
        let mut reader = csv::Reader::from_path(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        reader.deserialize().map(Result::unwrap).collect()
    };
    let record = record(&package, &library);
    let findings = record["findings"].as_array().unwrap();
    let shown = sheet("Findings");
    let mut compared = 0;
    for (row, finding) in shown.iter().zip(findings) {
        assert_eq!(row["id"], finding["id"].as_str().unwrap());
        assert_eq!(row["verdict"], finding["verdict"].as_str().unwrap());
        if let Some(found) = finding["found"].as_f64() {
            let seen: f64 = row["found"].parse().unwrap_or_else(|_| panic!("{}: {}", row["id"], row["found"]));
            // It writes 15 digits.
            assert!((seen - found).abs() <= 1e-13 * found.abs().max(1.0), "{}: {seen}, {found}", row["id"]);
            compared += 1;
        }
    }
    assert!(compared > 400, "{compared}");
    let lamps = sheet("Lamps");
    let serial = |id: &str| lamps.iter().find(|row| row["id"] == id).unwrap()["serial"].clone();
    assert_eq!(serial("front-upper-1-left"), "=1+1");
    let about = std::fs::read_to_string(dir.path().join("workbook-About.csv")).unwrap();
    assert!(about.contains("=HYPERLINK("), "{about}");
    for name in ["Bearings", "Load analysis", "Circuits", "Sources", "Evidence"] {
        assert!(sheet(name).len() > 10, "{name}");
    }
}

/// Readings stand beside limit and calculation, as `readings` judges them; without any, each line has a row that says
/// where a reading is filled in.
#[test]
fn readings_stand_on_a_sheet_of_their_own() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("read.xlsx");
    write(&package("rescue-4"), &file, &["--readings", "demo-data/rescue-4/readings.toml"]);
    let sheet = rows(&mut opened(&file), "Readings");
    let read: Vec<_> = sheet.iter().filter(|row| !text(row, "verdict").is_empty()).collect();
    assert_eq!(read.len(), 10);
    let of = |line: &str| -> Vec<_> { read.iter().filter(|row| text(row, "line") == line).collect() };
    let rate = of("zones-two-level:flash-rate@calling/front-upper-1-left/all");
    let figures = ["computed", "reading", "expanded uncertainty"].map(|head| number(rate[0], head));
    assert_eq!((figures[0], figures[1], text(rate[0], "verdict")), (Some(75.0), Some(75.0), "too close"));
    // One flash in 60 s, and half a second of the stopwatch either way.
    assert!(figures[2].is_some_and(|expanded| (expanded - 1.179).abs() < 0.001), "{figures:?}");
    // Both readings of a line that was read twice, in their order.
    let twice = of("headlamp-flashing:flash-rate@upper-beam-left/all");
    let values: Vec<_> = twice.iter().map(|row| (number(row, "reading"), text(row, "on"))).collect();
    assert_eq!(values, [(Some(134.0), "2026-11-18"), (Some(80.0), "2026-11-24")]);
    let which: Vec<_> = twice.iter().map(|row| text(row, "which counts")).collect();
    assert_eq!(which, ["another", "this one"], "the later day counts");
    let stands: Vec<_> = twice.iter().map(|row| text(row, "where the line stands")).collect();
    assert!(stands.iter().all(|word| *word == text(twice[1], "verdict")), "{stands:?}");
    let expired = of("supply-12v:fuse-continuous@front-warning");
    assert_eq!((text(expired[0], "verdict"), text(expired[0], "calibration due")), ("not shown", "2026-06-30"));
    // Where the sheet to fill in says that a figure is not known well, this one does, and nowhere else.
    let csv = folder.path().join("sheet.csv").display().to_string();
    let fixed = ["report", &package("rescue-4"), "--as", "sheet", "-o", &csv, "--as-of", "2026-11-25"];
    let (_, errors, status) = run(&fixed);
    assert_eq!(status, 0, "{errors}");
    let csv = std::fs::read_to_string(&csv).unwrap();
    let csv = csv.trim_start_matches('\u{feff}');
    let mut reader = csv::ReaderBuilder::new().flexible(true).comment(Some(b'#')).from_reader(csv.as_bytes());
    let of_sheet: Vec<HashMap<String, String>> = reader.deserialize().filter_map(Result::ok).collect();
    let mut bounds = 0;
    for row in of_sheet.iter().filter(|row| !row["line"].starts_with('#') && !row["line"].is_empty()) {
        let line = row["line"].as_str();
        let Some(here) = sheet.iter().find(|one| text(one, "line") == line) else { panic!("{line}") };
        let is_bound = row["expected"].starts_with("not known well: ");
        assert_eq!(text(here, "how well computed"), if is_bound { "not known well" } else { "" }, "{line}");
        bounds += usize::from(is_bound);
    }
    assert!(bounds > 0);
    let form = folder.path().join("form.xlsx");
    write(&package("rescue-4"), &form, &[]);
    let form = rows(&mut opened(&form), "Readings");
    assert!(form.len() > 200 && form.iter().all(|row| !row.contains_key("reading") && !text(row, "line").is_empty()));
    assert!(form.iter().all(|row| text(row, "to know").contains("filled in on the acceptance sheet, not here")));
}

//! `wayproof compare`: offers side by side, by figure, with nothing ranked.

mod common;

use std::collections::BTreeMap;

use common::{load_file, root, terms};
use wayproof::compare::{Better, Offer, OfferPart, OfferRow, offer_rows};
use wayproof::judge::{Judged, judge};
use wayproof::measure::Conduct;
use wayproof::package::Package;

fn run(args: &[&str]) -> (String, String, Option<i32>) {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(args)
        .env("COLUMNS", "110")
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

const DAY: [&str; 2] = ["--as-of", "2026-11-27"];

fn demo(name: &str) -> String {
    format!("demo-data/{name}/package.toml")
}

fn of(names: &[&str], more: &[&str]) -> (String, String, Option<i32>) {
    let files: Vec<String> = names.iter().map(|name| demo(name)).collect();
    let mut args = vec!["compare"];
    args.extend(files.iter().map(String::as_str));
    args.extend(DAY);
    args.extend(more);
    run(&args)
}

#[test]
fn two_offers_stand_side_by_side() {
    let (text, errors, status) = of(&["brush-2", "brush-2-complete"], &[]);
    assert_eq!((errors.as_str(), status), ("", Some(0)));
    insta::assert_snapshot!("brush_2_offers", text);
}

/// Of one offer in one row: the figure, whether it is known, and whether it is the best.
type Figure = (Option<f64>, bool, bool);

struct Judging {
    packages: Vec<Package>,
}

impl Judging {
    fn of(names: &[&str]) -> Self {
        Self { packages: names.iter().map(|name| load_file(&root().join(demo(name)), &[]).0).collect() }
    }

    /// Rows by name.
    fn rows(&self) -> Vec<(String, Vec<Figure>)> {
        let rulesets = load_file(&root().join(demo("brush-2")), &[]).1;
        let conducts: Vec<Conduct<'_>> = self.packages.iter().map(Conduct::new).collect();
        let judged: Vec<Judged> = conducts.iter().map(|conduct| judge(conduct, &rulesets, terms())).collect();
        let offers: Vec<Offer<'_>> =
            conducts.iter().zip(&judged).map(|(conduct, judged)| Offer { conduct, judged }).collect();
        let rows = offer_rows(&offers);
        for row in &rows {
            assert_eq!(row.cells.len(), self.packages.len(), "{}", row.name);
            check_best(row);
        }
        let cells = |row: &OfferRow<'_>| {
            row.cells.iter().map(|cell| (cell.value, cell.open.is_none(), cell.best)).collect::<Vec<_>>()
        };
        rows.iter().map(|row| (format!("{:?} {}", row.part, row.name), cells(row))).collect()
    }
}

/// The best is marked only where all is known and something differs, and then no unmarked figure is better.
fn check_best(row: &OfferRow<'_>) {
    let marked: Vec<f64> = row.cells.iter().filter(|cell| cell.best).map(|cell| cell.value.unwrap()).collect();
    if marked.is_empty() {
        return;
    }
    assert!(row.better.is_some() && row.part != OfferPart::Evidence, "{}", row.name);
    assert!(row.cells.iter().all(|cell| cell.open.is_none() && cell.value.is_some()), "{}", row.name);
    assert!(marked.len() < row.cells.len(), "{}: all alike", row.name);
    for cell in row.cells.iter().filter(|cell| !cell.best) {
        let value = cell.value.unwrap();
        let worse = |best: &f64| if row.better == Some(Better::More) { value < *best } else { value > *best };
        assert!(marked.iter().all(worse), "{}: {value} against {marked:?}", row.name);
    }
}

#[test]
fn the_order_of_the_offers_orders_the_columns_and_nothing_else() {
    let names = ["brush-2", "brush-2-complete", "brush-2-faults", "brush-2-power-faults"];
    let straight = Judging::of(&names).rows();
    for turn in [[1, 0, 2, 3], [3, 2, 1, 0], [2, 3, 0, 1]] {
        let turned = Judging::of(&turn.map(|at| names[at])).rows();
        assert_eq!(turned.len(), straight.len());
        for ((name, cells), (other, moved)) in straight.iter().zip(&turned) {
            assert_eq!(name, other);
            let expected: Vec<_> = turn.iter().map(|at| cells[*at]).collect();
            assert_eq!(&expected, moved, "{name}");
        }
    }
    // One offer twice: the two say the same, and neither is the best alone.
    for (name, cells) in Judging::of(&["brush-2", "brush-2"]).rows() {
        assert_eq!(cells[0], cells[1], "{name}");
        assert!(!cells[0].2, "{name}");
    }
}

/// The same figures from the rows that `check` writes, put together apart from the program.
#[test]
fn margins_and_counts_are_those_of_check() {
    let rows: BTreeMap<_, _> = Judging::of(&["brush-2", "brush-2-complete"]).rows().into_iter().collect();
    let mut compared = 0;
    for (at, name) in ["brush-2", "brush-2-complete"].into_iter().enumerate() {
        let (csv, ..) = run(&["check", &demo(name), "--format", "csv", "--as-of", "2026-11-25"]);
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let header = reader.headers().unwrap().clone();
        let mut worst: BTreeMap<String, (f64, bool)> = BTreeMap::new();
        let mut counts: BTreeMap<String, usize> = BTreeMap::new();
        let mut lost: BTreeMap<String, f64> = BTreeMap::new();
        for record in reader.records().map(Result::unwrap) {
            let cell = |name: &str| &record[header.iter().position(|known| known == name).unwrap()];
            if cell("rule") == "one-head-dark" && cell("verdict") != "not-shown" {
                let most = lost.entry(cell("purpose").to_owned()).or_default();
                *most = most.max(cell("found").parse().unwrap());
            }
            if cell("strength") != "required" {
                continue;
            }
            *counts.entry(cell("verdict").to_owned()).or_default() += 1;
            if cell("zone").is_empty() || cell("verdict") == "not-applicable" {
                continue;
            }
            let place = ["purpose", "level", "zone"].map(cell);
            let place = place.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("/");
            let (margin, all) = worst.entry(place).or_insert((f64::INFINITY, true));
            if cell("verdict") == "not-shown" {
                *all = false;
            } else if let (Ok(here), false) = (cell("margin").parse::<f64>(), cell("unit") == "words") {
                *margin = margin.min(here);
            }
        }
        for (place, (margin, all)) in worst {
            let (found, known, _) = rows[&format!("Margins {place}")][at];
            assert_eq!(known, all && margin.is_finite(), "{name} {place}");
            assert_eq!(found, Some(margin).filter(|margin| margin.is_finite()), "{name} {place}");
            compared += 1;
        }
        for (verdict, words) in [("pass", "pass"), ("fail", "fail"), ("not-shown", "not shown")] {
            let count = counts.get(verdict).copied().unwrap_or(0);
            let found = rows[&format!("Findings required: {words}")][at].0.unwrap();
            assert_eq!(found, f64::from(u32::try_from(count).unwrap()), "{name} {verdict}");
        }
        for (purpose, most) in lost {
            let name =
                format!("Failures {purpose}: points that one dark head leaves without a signal, in the worst zone");
            assert_eq!(rows[&name][at].0, Some(most));
            compared += 1;
        }
    }
    assert!(compared >= 20, "{compared}");
}

/// The same figures as `power` prints.
#[test]
fn currents_and_times_are_those_of_the_load_analysis() {
    let rows: BTreeMap<_, _> = Judging::of(&["brush-2", "brush-2-complete"]).rows().into_iter().collect();
    let (analysis, ..) = run(&["power", &demo("brush-2")]);
    let total = analysis.lines().find(|line| line.contains("total continuous load (2 and 3)")).unwrap();
    let total: f64 = total.split_whitespace().rev().nth(1).unwrap().parse().unwrap();
    let (found, known, _) = rows["Power battery chassis: mean of the continuous loads while blocking"][0];
    assert!(known && (found.unwrap() - total).abs() < 0.006, "{found:?} {total}");
}

#[test]
fn rows_for_a_spreadsheet_and_a_page_are_written_once() {
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let both = ["brush-2", "brush-2-complete"];
    let (csv, page) = (path("offers.csv"), path("offers.html"));
    for file in [&csv, &page] {
        assert_eq!(of(&both, &["-o", file]).2, Some(0));
        let bytes = std::fs::read(file).unwrap();
        assert_eq!(of(&both, &["-o", file]).2, Some(2), "never over a file that is there");
        assert_eq!(of(&both, &["-o", file, "--force"]).2, Some(0));
        assert_eq!(std::fs::read(file).unwrap(), bytes, "the same files and day give the same bytes");
        let (said, _, status) = of(&both, &["--verify", file]);
        assert_eq!(status, Some(0), "{said}");
        assert!(said.contains("the same  A: package.toml") && said.contains("the same  B: heads.csv"), "{said}");
        assert_eq!(of(&["brush-2", "brush-2-faults"], &["--verify", file]).2, Some(1));
        let (_, errors, status) = run(&["report", &demo("brush-2"), "--verify", file]);
        assert_eq!(status, Some(2));
        assert!(errors.contains("wayproof compare OFFER... --verify"), "{errors}");
    }
    let rows = std::fs::read_to_string(&csv).unwrap();
    insta::assert_snapshot!("brush_2_offers_csv", rows.lines().take(30).collect::<Vec<_>>().join("\n"));
    let html = std::fs::read_to_string(&page).unwrap();
    assert!(html.contains("no offer is ranked") && html.contains("What is open"));
    for word in ["certified", "approved", "winner", "http://", "https://", "<script"] {
        assert!(!html.to_lowercase().contains(word), "{word}");
    }
    let (_, errors, status) = of(&both, &["-o", &path("offers.pdf")]);
    assert_eq!(status, Some(2));
    assert!(errors.contains(".html or .csv"), "{errors}");
}

#[test]
fn one_offer_or_a_wrong_file_is_refused() {
    assert_eq!(of(&["brush-2"], &[]).2, Some(2));
    assert_eq!(of(&["brush-2", "no-such"], &[]).2, Some(2));
    assert_eq!(run(&["compare", "-", "-"]).2, Some(2));
    let many: Vec<String> = (0..27).map(|_| demo("brush-2")).collect();
    let mut args = vec!["compare"];
    args.extend(many.iter().map(String::as_str));
    assert_eq!(run(&args).2, Some(2));
}

/// An exception is listed with who and why, and what it covers is told as excepted.
#[test]
fn exceptions_and_the_supply_that_is_lacking_are_told() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("package.toml");
    let text = std::fs::read_to_string(root().join(demo("rescue-4-changed"))).unwrap();
    let exception = r#"
[[exception]]
finding = "zones-two-level:zone-total@blocking/upper/C"
accepted-by = "the buyer (invented)"
reference = "letter 7"
on = 2026-03-01
until = 2027-03-01
reason = "amber comes with the next order"
"#;
    std::fs::write(&path, format!("{text}{exception}")).unwrap();
    let catalogue = root().join("demo-data/catalogue");
    let args = ["compare", &demo("rescue-4"), path.to_str().unwrap(), "--library", catalogue.to_str().unwrap()];
    let (text, errors, status) = run(&[&args[..], &DAY].concat());
    assert_eq!(status, Some(0), "{errors}");
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("required: excepted in writing 0 best 1"), "{text}");
    assert!(
        text.contains("accepted by the buyer (invented), letter 7, from 2026-03-01 until 2027-03-01: amber"),
        "{text}"
    );
    assert!(text.contains("excepted)") && !text.contains("OVER"), "{text}");
    // On a later day it covers nothing, and says so.
    let (text, ..) = run(&[&args[..], &["--as-of", "2027-03-02"]].concat());
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("B: 1 exception, 1 of them over"), "{text}");
    assert!(text.contains("amber comes with the next order - OVER since 2027-03-01: it covers nothing"), "{text}");
    let (text, ..) = run(&[&args[..], &["--as-of", "2026-02-28"]].concat());
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("B: 1 exception, 1 of them not yet begun"), "{text}");
}

/// Where a rule judges a figure of the supply, the row says what the rule found: at the voltage that is the worst, which
/// is not the one that the page of `power` is for.
#[test]
fn figures_of_the_supply_are_those_that_are_judged() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("package.toml");
    let text = std::fs::read_to_string(root().join(demo("rescue-4"))).unwrap();
    // So little is left that one voltage has some and another none.
    let little =
        text.replace("output = \"118 A\"", "output = \"0.5 A\"").replace("output = \"84 A\"", "output = \"79.4 A\"");
    assert_ne!(text, little);
    std::fs::write(&path, little).unwrap();
    let catalogue = root().join("demo-data/catalogue");
    let library = ["--library", catalogue.to_str().unwrap()];
    let args = [&["check", path.to_str().unwrap(), "--format", "csv"], &library[..], &DAY].concat();
    let (csv, ..) = run(&args);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let header = reader.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let at = |name: &str| header.iter().position(|known| known == name).unwrap();
    let judged = |id: &str| {
        let row = rows.iter().find(|row| &row[at("id")] == id).unwrap();
        (row[at("found")].parse::<f64>().unwrap(), row[at("verdict")].replace('-', " "))
    };
    let offers = dir.path().join("offers.csv");
    let args =
        [&["compare", &demo("rescue-4"), path.to_str().unwrap(), "-o", offers.to_str().unwrap()], &library[..], &DAY];
    assert_eq!(run(&args.concat()).2, Some(0));
    let offers = std::fs::read_to_string(offers).unwrap();
    let mut reader = csv::ReaderBuilder::new().flexible(true).has_headers(false).from_reader(offers.as_bytes());
    let offers: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let cell = |name: &str| offers.iter().find(|row| row.get(1) == Some(name)).unwrap()[6].to_owned();
    let mut fails = 0;
    for (rule, name) in [
        ("hot-idle", "left hot at idle over the minimum continuous load while blocking"),
        ("hot-idle-total", "left hot at idle while blocking"),
        ("engine-off", "lasts with the engine off while blocking"),
    ] {
        for battery in ["chassis", "house"] {
            let (found, verdict) = judged(&format!("load-analysis:{rule}@blocking/{battery}"));
            let cell = cell(&format!("battery {battery}: {name}"));
            let shown: Result<f64, _> = cell.trim_start_matches('\'').split(' ').next().unwrap().parse();
            let shown = shown.unwrap_or_else(|_| panic!("{rule} {battery}: {cell}"));
            assert!((shown - found).abs() < 0.006, "{rule} {battery}: {cell} against {found}");
            assert!(cell.contains(" V"), "at a voltage: {cell}");
            if verdict == "fail" {
                fails += 1;
                assert!(cell.contains(&format!("({rule}, fail)")), "{cell}");
            }
        }
    }
    assert!(fails >= 2, "{fails}: the fleet's own figure fails");
    // The page of loads says the other voltage too, where the two differ.
    let (page, ..) = run(&[&["power", path.to_str().unwrap()], &library[..]].concat());
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    let (found, _) = judged("load-analysis:hot-idle-total@blocking/chassis");
    let line = "V, where `check` judges it, left over the total continuous load: ";
    let said = page.split(line).nth(1).unwrap_or_else(|| panic!("{page}"));
    // What is judged is the end that decides.
    let ends: Vec<f64> = said.split(" A").next().unwrap().split(" to ").map(|end| end.parse().unwrap()).collect();
    assert!(ends.iter().any(|end| (end - found).abs() < 0.006), "{ends:?} {found}");
}

/// Who was hardly judged is not the best.
#[test]
fn nothing_is_best_where_a_ruleset_does_not_fit_an_offer() {
    let (text, _, status) = of(&["brush-2", "brush-2-complete", "amber-9"], &[]);
    assert_eq!(status, Some(0));
    let judged = text.split("\nSupply\n").next().unwrap();
    let rows: Vec<&str> = judged.split("\nFindings\n").nth(1).unwrap().lines().collect();
    assert!(rows.iter().all(|row| !row.contains("best")), "{judged}");
    let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("! The ruleset `zones-one-level` does not fit `C`"), "{text}");
    assert!(said.contains("rulesets that do not fit the vehicle 0 0 1"), "{text}");
    assert!(said.contains("? zones-one-level does not fit it"), "{text}");
    // An offer that fits, judged by the same rules, is marked as before.
    let (text, ..) = of(&["brush-2", "brush-2-complete"], &[]);
    assert!(text.contains("best"), "{text}");
}

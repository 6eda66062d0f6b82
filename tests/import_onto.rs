//! Lamps and circuits of a sheet, everything else of a package: the workbook of a demo is imported onto the demo again
//! and judged the same, and a sheet that was edited is judged as the package with the same edit is.

mod common;

use std::collections::BTreeMap;
use std::path::Path;

use calamine::{Data, Reader, Xlsx};
use common::root;
use common::sheets::{run, small};
use serde_json::Value as Json;
use wayproof::compare::differences;
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::package::{Package, PackageFile, load};

const DEMOS: [&str; 4] = ["rescue-4", "brush-2", "medic-6", "amber-9"];

fn package(demo: &str) -> String {
    format!("demo-data/{demo}/package.toml")
}

fn write(package: &str, file: &Path) {
    let file = file.display().to_string();
    let (text, errors, status) = run(&["report", package, "--as", "workbook", "-o", &file, "--as-of", "2026-11-25"]);
    assert_eq!((text.as_str(), status), ("", 0), "{package}: {errors}");
}

fn record(package: &str, more: &[&str]) -> Json {
    let (text, errors, _) = run(&[&["check", package, "--as-of", "2026-11-25", "--format", "json"], more].concat());
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{package}: {error}: {errors}"))
}

#[test]
fn a_workbook_that_is_imported_again_is_judged_the_same() {
    for demo in DEMOS {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("workbook.xlsx");
        write(&package(demo), &file);
        let (sheet, out) = (file.display().to_string(), dir.path().join("out").display().to_string());
        let onto = package(demo);
        let import = || run(&["import", &sheet, "--onto", &onto, "-o", &out]);
        let (text, errors, status) = import();
        assert_eq!(status, 3, "{demo}: {text}{errors}");
        let mapping = format!("{out}/mapping.toml");
        let proposed = std::fs::read_to_string(&mapping).unwrap();
        std::fs::write(&mapping, proposed.replace("confirmed = false", "confirmed = true")).unwrap();
        let (text, errors, status) = import();
        assert_eq!(status, 0, "{demo}: {text}{errors}");
        assert!(text.contains("Nothing changed against"), "{demo}: {text}");
        let libraries = ["--library", &format!("demo-data/{demo}"), "--library", "demo-data/catalogue"];
        let before = record(&onto, &[]);
        let after = record(&format!("{out}/package.toml"), &libraries);
        same_findings(demo, &before, &after);
        // Nor is anything said otherwise that no rule asks for: wedges and what they stand on apart.
        let differences = differences(&loaded(&onto), &loaded(&format!("{out}/package.toml")));
        assert!(differences.is_empty(), "{demo}: {differences:?}");
    }
}

/// A package whose catalogues may lie with the demos.
fn loaded(package: &str) -> Package {
    let path = root().join(package);
    let demos = DEMOS.map(|demo| root().join("demo-data").join(demo));
    let file = PackageFile {
        name: package.to_owned(),
        bytes: std::fs::read(&path).unwrap(),
        folder: path.parent().unwrap().to_path_buf(),
        libraries: [&[root().join("demo-data/catalogue")], &demos[..]].concat(),
    };
    let (sources, log) = (Sources::default(), Log::default());
    let (package, _) = load(&file, &sources, &log);
    assert!(!log.has_errors(), "{}", render(&log.take(), &sources, false));
    package.unwrap()
}

/// The same ids, verdicts and limits; numbers up to the order in which they were added up.
fn same_findings(demo: &str, before: &Json, after: &Json) {
    assert_eq!(before["summary"], after["summary"], "{demo}");
    let by_id = |record: &Json| -> BTreeMap<String, Json> {
        let all = record["findings"].as_array().unwrap().iter().chain(record["cautions"].as_array().unwrap());
        all.map(|finding| (finding["id"].as_str().unwrap().to_owned(), finding.clone())).collect()
    };
    let (before, after) = (by_id(before), by_id(after));
    assert!(before.len() > 150, "{demo}");
    assert_eq!(before.keys().collect::<Vec<_>>(), after.keys().collect::<Vec<_>>(), "{demo}");
    for (id, one) in &before {
        let other = &after[id];
        for key in ["verdict", "limit", "unit", "basis", "evidence", "scope", "require"] {
            assert_eq!(one[key], other[key], "{demo}: {id}: {key}");
        }
        for key in ["found", "margin"] {
            match (one[key].as_f64(), other[key].as_f64()) {
                (Some(one), Some(other)) => {
                    assert!((one - other).abs() <= 1e-12 * one.abs().max(1.0), "{demo}: {id}: {one}, {other}");
                }
                _ => assert_eq!(one[key], other[key], "{demo}: {id}: {key}"),
            }
        }
    }
}

/// The lamps of rescue-4 as its workbook shows them: heads of columns, then rows.
fn lamps() -> Vec<Vec<String>> {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("workbook.xlsx");
    write(&package("rescue-4"), &file);
    let mut workbook: Xlsx<_> = calamine::open_workbook(&file).unwrap();
    let range = workbook.worksheet_range("Lamps").unwrap();
    let text = |cell: &Data| if *cell == Data::Empty { String::new() } else { cell.to_string() };
    range.rows().map(|row| row.iter().map(text).collect()).collect()
}

/// Changes the cell of a lamp.
fn set(lamps: &mut [Vec<String>], id: &str, head: &str, value: &str) {
    let at = lamps[0].iter().position(|known| known == head).unwrap_or_else(|| panic!("no column {head}"));
    lamps.iter_mut().find(|row| row[0] == id).unwrap_or_else(|| panic!("no lamp {id}"))[at] = value.to_owned();
}

/// Imports these rows onto rescue-4; the folder, what was said, the status.
fn import(lamps: &[Vec<String>]) -> (tempfile::TempDir, String, i32) {
    let dir = tempfile::tempdir().unwrap();
    let mut writer = csv::Writer::from_path(dir.path().join("lamps.csv")).unwrap();
    lamps.iter().for_each(|row| writer.write_record(row).unwrap());
    writer.flush().unwrap();
    let at = |name: &str| dir.path().join(name).display().to_string();
    let (sheet, out, onto) = (at("lamps.csv"), at("out"), package("rescue-4"));
    let import = || run(&["import", &sheet, "--onto", &onto, "-o", &out]);
    let (text, errors, status) = import();
    assert_eq!(status, 3, "{text}{errors}");
    let mapping = format!("{out}/mapping.toml");
    let proposed = std::fs::read_to_string(&mapping).unwrap();
    std::fs::write(&mapping, proposed.replace("confirmed = false", "confirmed = true")).unwrap();
    let (text, errors, status) = import();
    (dir, text + &errors, status)
}

const LIBRARIES: [&str; 4] = ["--library", "demo-data/rescue-4", "--library", "demo-data/catalogue"];

#[test]
fn an_edited_sheet_is_judged_as_the_package_with_the_same_edit_is() {
    let mut lamps = lamps();
    // A pair of amber lamps is turned outwards, and one lamp is wired to another output.
    set(&mut lamps, "rear-upper-3-left", "faces (deg)", "190");
    set(&mut lamps, "rear-upper-3-right", "faces (deg)", "170");
    set(&mut lamps, "roof-beacon", "output", "A9");
    let (dir, text, status) = import(&lamps);
    assert_eq!(status, 0, "{text}");
    let changes: Vec<&str> = text.lines().filter(|line| line.starts_with("  changed")).collect();
    assert_eq!(
        changes,
        [
            "  changed  lamp roof-beacon: output was A6, is A9",
            "  changed  lamp rear-upper-3-left: faces was 180 deg, is 190 deg",
            "  changed  lamp rear-upper-3-right: faces was 180 deg, is 170 deg",
        ]
    );
    let text = std::fs::read_to_string(root().join(package("rescue-4"))).unwrap();
    let place = text.find("id = \"rear-upper-3-left\"").unwrap();
    let (before, after) = text.split_at(place);
    let edited = format!("{before}{}", after.replacen("faces = \"rear\"", "faces = \"190 deg\"", 1));
    let edited = edited.replace("output = \"A6\"", "output = \"A9\"");
    let by_hand = dir.path().join("package.toml");
    std::fs::write(&by_hand, edited).unwrap();
    let by_hand = record(&by_hand.display().to_string(), &LIBRARIES);
    let imported = record(&dir.path().join("out/package.toml").display().to_string(), &LIBRARIES);
    same_findings("rescue-4, edited", &by_hand, &imported);
    // And the edit is no trifle.
    let untouched = record(&package("rescue-4"), &[]);
    let of = |record: &Json| {
        record["findings"].as_array().unwrap().iter().map(|one| one["found"].clone()).collect::<Vec<_>>()
    };
    let differ = of(&untouched).iter().zip(of(&imported)).filter(|(one, other)| *one != other).count();
    assert!(differ > 5, "{differ}");
}

#[test]
fn columns_that_the_sheet_lacks_are_as_the_package_says() {
    let lamps = lamps();
    let kept: Vec<usize> = ["id", "height (in)", "circuit"]
        .iter()
        .map(|head| lamps[0].iter().position(|known| known == head).unwrap())
        .collect();
    let few: Vec<Vec<String>> = lamps.iter().map(|row| kept.iter().map(|at| row[*at].clone()).collect()).collect();
    let (dir, text, status) = import(&few);
    assert_eq!(status, 0, "{text}");
    assert!(text.contains("Nothing changed against"), "{text}");
    let imported = record(&dir.path().join("out/package.toml").display().to_string(), &LIBRARIES);
    same_findings("rescue-4, few columns", &record(&package("rescue-4"), &[]), &imported);
}

fn circuit(dir: &tempfile::TempDir, id: &str) -> toml::Table {
    let text = std::fs::read_to_string(dir.path().join("out/package.toml")).unwrap();
    let package: toml::Table = text.parse().unwrap();
    let all = package["circuit"].as_array().unwrap();
    all.iter().find(|one| one["id"].as_str() == Some(id)).unwrap().as_table().unwrap().clone()
}

#[test]
fn a_sheet_of_circuits_alone_leaves_every_lamp() {
    let text = std::fs::read_to_string(root().join(package("rescue-4"))).unwrap();
    let raw: toml::Table = text.parse().unwrap();
    // Three titles make a head of columns.
    let mut sheet = "Circuit,Fuse rating,Feeds\n".to_owned();
    for one in raw["circuit"].as_array().unwrap() {
        let rating = one.get("fuse").and_then(|fuse| fuse["rating"].as_str()).unwrap_or_default();
        sheet.push_str(&format!("{},{rating},lamps\n", one["id"].as_str().unwrap()));
    }
    let (dir, text, status) = small(&sheet, &[], &["--onto", &package("rescue-4")]);
    assert_eq!(status, 0, "{text}");
    assert!(text.contains("Nothing changed against") && !text.contains("  gone"), "{text}");
    assert!(text.contains("no sheet speaks of lamps: they are as the package says"), "{text}");
    let imported = record(&dir.path().join("out/package.toml").display().to_string(), &LIBRARIES);
    same_findings("rescue-4, circuits alone", &record(&package("rescue-4"), &[]), &imported);
}

/// What a wire may have beside its size and length: key of the package, name of the column.
const MORE: [(&str, &str, &str); 4] = [
    ("insulation", "insulation", "\"105 degC\""),
    ("temperature", "copper", "\"90 degC\""),
    ("engine-space", "engine-space", "true"),
    ("ampacity", "ampacity", "\"80 A\""),
];

/// One rule for lamps and circuits: no column keeps what the package says, an empty cell takes it out and is told.
#[test]
fn an_empty_cell_takes_out_and_is_told() {
    let dir = tempfile::tempdir().unwrap();
    let whole = std::fs::read_to_string(root().join(package("rescue-4"))).unwrap();
    let raw: toml::Table = whole.parse().unwrap();
    let all = raw["circuit"].as_array().unwrap();
    let first = all.iter().find(|one| one.get("wire").is_some() && one.get("fuse").is_some()).unwrap();
    let (id, wire) = (first["id"].as_str().unwrap(), first["wire"].as_table().unwrap());
    let own = format!("id = \"{id}\"");
    let of_circuit = whole.split("[[circuit]]").find(|part| part.contains(&own)).unwrap();
    let line = of_circuit.lines().find(|line| line.starts_with("wire = {")).unwrap();
    let more = MORE.iter().filter(|(key, ..)| !wire.contains_key(*key));
    let more: String = more.map(|(key, _, value)| format!(", {key} = {value}")).collect();
    let (before, behind) = line.rsplit_once('}').unwrap();
    let changed = of_circuit.replacen(line, &format!("{}{more} }}{behind}", before.trim_end()), 1);
    let onto = dir.path().join("package.toml");
    std::fs::write(&onto, whole.replacen(of_circuit, &changed, 1)).unwrap();
    let onto = onto.display().to_string();
    let import = |head: &str, cells: &str| {
        let (rating, length) = (first["fuse"]["rating"].as_str().unwrap(), wire["length"].as_str().unwrap());
        let sheet = format!("Circuit,Fuse rating,Wire length,{head}\n{id},{rating},{length},{cells}\n");
        small(&sheet, &[], &[&["--onto", onto.as_str()], &LIBRARIES[..]].concat())
    };
    // Without these columns all stays.
    let (made, text, status) = import("Feeds", "");
    assert_eq!(status, 0, "{text}");
    let kept = circuit(&made, id);
    assert!(MORE.iter().all(|(key, ..)| kept["wire"].get(key).is_some()), "{kept}");
    assert!(!text.contains("  changed"), "{text}");
    // With them empty, or `no`, each goes, and each is told.
    let (made, text, status) = import("Insulation,Copper,Engine space,Ampacity", ",,no,");
    assert_eq!(status, 0, "{text}");
    let left = circuit(&made, id);
    for (key, what, _) in MORE {
        assert!(left["wire"].get(key).is_none(), "{key}: {left}");
        let told = format!("  changed  circuit {id}: {what} was ");
        assert!(text.lines().any(|line| line.starts_with(&told) && line.ends_with("is nothing")), "{what}: {text}");
    }
    assert!(text.contains("an empty cell of a column that it has takes out what the package says there"), "{text}");
    // Of lamps the same.
    let mut lamps = lamps();
    set(&mut lamps, "roof-beacon", "output", "");
    let (_dir, text, _) = self::import(&lamps);
    assert!(text.contains("  changed  lamp roof-beacon: output was A6, is nothing"), "{text}");
}

#[test]
fn what_no_table_can_hold_is_told_where_it_is_lost() {
    let mut lamps = lamps();
    // The beam of this one is that of its twin, turned left for right; one of the two alone is moved.
    set(&mut lamps, "front-lower-right", "height (in)", "27");
    let (dir, text, status) = import(&lamps);
    assert_eq!(status, 3, "{text}");
    assert!(text.contains("the other side is not its mirror image any more"), "{text}");
    let package = dir.path().join("out/package.toml").display().to_string();
    let (_, errors, status) = run(&[&["check", package.as_str()], &LIBRARIES[..]].concat());
    assert_eq!(status, 2);
    assert!(errors.contains("mirror = \"?\""), "{errors}");
    // A lamp that is new says all of itself, or `?`.
    let mut lamps = self::lamps();
    let mut new = vec![String::new(); lamps[0].len()];
    // With nothing beside its name it would be a heading.
    (new[0], new[1]) = ("new-lamp".to_owned(), "edge-lamp-red-white".to_owned());
    lamps.push(new);
    let (_dir, text, status) = import(&lamps);
    assert_eq!(status, 3, "{text}");
    for what in ["height", "faces", "behind-front", "right"] {
        let told =
            text.lines().any(|line| line.contains("new-lamp") && line.split_whitespace().any(|word| word == what));
        assert!(told, "{what}: {text}");
    }
    assert!(text.contains("  new      lamp new-lamp"), "{text}");
}

/// What the package cannot take over is told cell by cell, and holds the new package back: `check` refuses it.
fn held_back(id: &str, head: &str, value: &str, says: &str) {
    let mut lamps = lamps();
    set(&mut lamps, id, head, value);
    let (dir, text, status) = import(&lamps);
    assert_eq!(status, 3, "{head}: {text}");
    let told: Vec<&str> = text.lines().filter(|line| line.contains(says)).collect();
    assert!(told.len() == 1 && told[0].contains(id), "{head}: {text}");
    assert!(!text.contains("Nothing changed"), "{head}: {text}");
    let package = dir.path().join("out/package.toml").display().to_string();
    let (text, errors, status) = run(&[&["check", package.as_str()], &LIBRARIES[..]].concat());
    assert_eq!((text.as_str(), status), ("", 2), "{head}");
    assert!(errors.contains("`?`"), "{head}: {errors}");
}

#[test]
fn a_colour_that_was_edited_in_the_sheet_is_told_and_holds_back() {
    let says = "of the package shows red: another model, or a colour that was swapped?";
    held_back("roof-beacon", "colours", "blue", &format!("the sheet says blue, the model `roof-beacon` {says}"));
    held_back("roof-beacon", "colours", "", &format!("the sheet says nothing, the model `roof-beacon` {says}"));
    held_back("roof-beacon", "colours", "red amber", &format!("says red amber, the model `roof-beacon` {says}"));
    held_back("rear-lower-left", "colours", "red", "the sheet says red, the model `edge-lamp-red-amber`");
    // A colour that is none: nothing else of the package would hold it.
    held_back("roof-beacon", "colours", "ultraviolet", "ultraviolet");
}

#[test]
fn an_edit_in_a_column_that_is_left_aside_is_told_and_holds_back() {
    held_back("roof-beacon", "glass before it (%)", "70", "the sheet says `70`, the package shows nothing");
    held_back("rear-door-lamp", "other places", "", "the sheet says nothing, the package shows `1, see the package`");
    held_back("roof-beacon", "maker", "Another", "the sheet says `Another`");
    held_back("roof-beacon", "evidence", "estimate", "the sheet says `estimate`");
    held_back("roof-beacon", "mirrored beam", "perhaps", "`perhaps`: yes or no?");
}

#[test]
fn a_lamp_with_other_places_that_is_moved_is_told() {
    let mut lamps = lamps();
    set(&mut lamps, "rear-door-lamp", "height (in)", "70");
    let (dir, text, status) = import(&lamps);
    assert_eq!(status, 0, "{text}");
    assert!(text.contains("rear-door-lamp is moved; its other places (`poses`) stay as the package says"), "{text}");
    assert!(text.contains("rear-door-lamp: height was 72 in, is 70 in"), "{text}");
    let (old, new) = (loaded(&package("rescue-4")), loaded(&dir.path().join("out/package.toml").display().to_string()));
    assert_eq!(differences(&old, &new).len(), 1);
    let (_dir, text, _) = import(&self::lamps());
    assert!(!text.contains("is moved"), "{text}");
}

#[test]
fn a_wedge_that_was_edited_is_a_wedge_again() {
    let mut lamps = lamps();
    let is = |head: &str| {
        let at = lamps[0].iter().position(|known| known == head).unwrap();
        lamps.iter().find(|row| row[0] == "rear-lower-left").unwrap()[at].clone()
    };
    assert_eq!([is("tilt (deg)"), is("wedge (deg)")], ["-12", "12"]);
    set(&mut lamps, "rear-lower-left", "wedge (deg)", "10");
    let (dir, text, status) = import(&lamps);
    assert_eq!(status, 0, "{text}");
    assert!(text.contains("  changed  lamp rear-lower-left: wedge was 12 deg, is 10 deg\n"), "{text}");
    let new = loaded(&dir.path().join("out/package.toml").display().to_string());
    let aim = new.heads.iter().find(|head| head.id == "rear-lower-left").unwrap().aim;
    assert_eq!([aim.tilt.value(), aim.wedge.value()], [-12.0, 10.0]);
}

/// Without the package nothing makes the mirrored beam of the second lamp of a pair.
#[test]
fn a_mirrored_beam_is_never_lost_without_a_word() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("workbook.xlsx");
    write(&package("rescue-4"), &file);
    let (sheet, out) = (file.display().to_string(), dir.path().join("out").display().to_string());
    run(&["import", &sheet, "-o", &out]);
    let mapping = format!("{out}/mapping.toml");
    let proposed = std::fs::read_to_string(&mapping).unwrap();
    std::fs::write(&mapping, proposed.replace("confirmed = false", "confirmed = true")).unwrap();
    let (text, errors, status) = run(&["import", &sheet, "-o", &out]);
    assert_eq!(status, 3, "{text}{errors}");
    let told: Vec<&str> = text.lines().filter(|line| line.contains("its beam is turned left for right")).collect();
    assert!(told.len() == 1 && told[0].contains("front-lower-right"), "{told:?}");
    let heads = std::fs::read_to_string(format!("{out}/heads.csv")).unwrap();
    let row = heads.lines().find(|line| line.starts_with("front-lower-right,")).unwrap();
    assert!(row.ends_with(",?"), "{row}");
}

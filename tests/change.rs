//! `wayproof change`: what was changed is named, and every finding that it moved, each charged to the change that did it.

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use common::{load_file, root, terms};
use wayproof::compare::{Causes, Difference, Move, Part, causes, differences, moved};
use wayproof::judge::{Finding, Judged, Verdict, judge};
use wayproof::measure::Conduct;
use wayproof::package::Package;
use wayproof::ruleset::{Ruleset, Strength};

const OLD: &str = "demo-data/rescue-4/package.toml";
const NEW: &str = "demo-data/rescue-4-changed/package.toml";

fn run(args: &[&str]) -> (String, String, Option<i32>) {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(args)
        .args(["--as-of", "2026-11-27"])
        .env("COLUMNS", "100")
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

fn judged(package: &Package, rulesets: &[Ruleset]) -> Judged {
    judge(&Conduct::new(package), rulesets, terms())
}

fn by_id(findings: &[Finding]) -> BTreeMap<&str, &Finding> {
    findings.iter().map(|finding| (finding.id.as_str(), finding)).collect()
}

/// Ids whose verdict is another one, or that one of the two lacks.
fn other_verdicts(old: &[Finding], new: &[Finding]) -> BTreeSet<String> {
    let (old, new) = (by_id(old), by_id(new));
    let all: BTreeSet<&str> = old.keys().chain(new.keys()).copied().collect();
    let verdict = |of: &BTreeMap<&str, &Finding>, id: &str| of.get(id).map(|finding| finding.verdict);
    let moved = all.into_iter().filter(|id| verdict(&old, id) != verdict(&new, id));
    moved.map(str::to_owned).collect()
}

struct Pair {
    lines: Vec<Difference>,
    causes: Causes,
    moved: Vec<(String, Move, bool)>,
}

fn pair(old: &Package, new: &Package, rulesets: &[Ruleset]) -> Pair {
    let (before, after) = (judged(old, rulesets), judged(new, rulesets));
    let lines = differences(old, new);
    let moved = moved(&before.findings, &after.findings);
    let causes = causes((old, &before.findings), (new, &after.findings), &lines, &moved, rulesets, terms());
    let moved = moved.iter().map(|one| (one.id().to_owned(), one.how, one.is_required())).collect();
    Pair { lines, causes, moved }
}

#[test]
fn the_colour_swap_and_the_wedge_are_named_and_what_they_moved() {
    let (text, errors, status) = run(&["change", OLD, NEW]);
    assert_eq!((errors.as_str(), status), ("", Some(1)));
    insta::assert_snapshot!("rescue_4_changed", text);
}

/// `expected.csv` beside the demo was written with its planted faults, before this command was.
#[test]
fn exactly_the_expected_findings_moved_each_by_the_change_expected() {
    let ((old, rulesets), (new, _)) = (load_file(&root().join(OLD), &[]), load_file(&root().join(NEW), &[]));
    let pair = pair(&old, &new, &rulesets);
    let texts: Vec<String> = pair.lines.iter().map(Difference::in_words).collect();
    let wedge = "rear-lower-left and -right, rear-lower-brake-left and -right: wedge 12 deg -> 0 deg";
    let colour = "display `rear`, rear-upper-3-left and -right: colour amber -> red";
    assert_eq!(texts, [wedge, colour]);

    let csv = std::fs::read_to_string(root().join("demo-data/rescue-4-changed/expected.csv")).unwrap();
    let mut expected = BTreeMap::new();
    for row in csv.lines().skip(1) {
        let mut cells = row.splitn(3, ',');
        let (id, verdict, why) = (cells.next().unwrap(), cells.next().unwrap(), cells.next().unwrap());
        let how = if verdict == "fail" { Move::Worse } else { Move::NewlyNotShown };
        let line = if why.starts_with("colour swap") { 1 } else { 0 };
        expected.insert(id.to_owned(), (how, line));
    }
    let mut found = BTreeMap::new();
    for ((id, how, required), because) in pair.moved.iter().zip(&pair.causes.of) {
        if *required && !matches!(how, Move::Figure | Move::Appeared) {
            let [one] = because.as_slice() else { panic!("{id}: {because:?}") };
            assert_eq!(one.part, Part::Alone, "{id}");
            found.insert(id.clone(), (*how, pair.causes.list[one.cause].lines[0]));
        }
    }
    assert_eq!(found, expected);
    // What is judged only now are the colours that are new.
    let new_ids: Vec<&str> =
        pair.moved.iter().filter(|(_, how, _)| *how == Move::Appeared).map(|(id, ..)| id.as_str()).collect();
    let [left, right] = ["left", "right"].map(|side| format!("zones-two-level:chromaticity@rear-upper-3-{side}/red"));
    assert_eq!(new_ids, [left, right]);
}

/// The two changes made by hand in the text of the package, one at a time, loaded and judged as any other package.
#[test]
fn each_change_alone_as_a_file_moves_what_is_charged_to_it() {
    let (old, rulesets) = load_file(&root().join(OLD), &[]);
    let (new, _) = load_file(&root().join(NEW), &[]);
    let text = std::fs::read_to_string(root().join(OLD)).unwrap();
    let (before, rear) = text.split_once("id = \"rear\"\n").unwrap();
    let amber = "{ group = \"rear-upper-amber\", colour = \"amber\"";
    let swapped = format!("{before}id = \"rear\"\n{}", rear.replacen(amber, &amber.replace("\"amber\"", "\"red\""), 1));
    let lines = text.lines().filter(|line| !line.starts_with("wedge = \"12 deg\""));
    let flat: String = lines.map(|line| format!("{line}\n")).collect();
    assert!(swapped != text && text.lines().count() == flat.lines().count() + 2);

    let before = judged(&old, &rulesets);
    let together = pair(&old, &new, &rulesets);
    let mut union = BTreeSet::new();
    for (line, text) in [(0, flat), (1, swapped)] {
        let dir = tempfile::tempdir().unwrap();
        let folder = dir.path().join("vehicle");
        std::fs::create_dir(&folder).unwrap();
        copy(&root().join("demo-data/catalogue"), &dir.path().join("catalogue"));
        std::fs::write(folder.join("package.toml"), text).unwrap();
        let (alone, _) = load_file(&folder.join("package.toml"), &["zones-two-level"]);
        let after = judged(&alone, &rulesets);
        let moved_alone = other_verdicts(&before.findings, &after.findings);
        let charged: BTreeSet<String> = together
            .moved
            .iter()
            .zip(&together.causes.of)
            .filter(|((_, how, _), _)| *how != Move::Figure)
            .filter(|(_, of)| of.iter().any(|one| together.causes.list[one.cause].lines == [line]))
            .map(|((id, ..), _)| id.clone())
            .collect();
        assert_eq!(charged, moved_alone, "change {}", line + 1);
        union.extend(moved_alone);
    }
    let after = judged(&new, &rulesets);
    assert_eq!(union, other_verdicts(&before.findings, &after.findings));
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        std::fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
    }
}

fn demos() -> Vec<PathBuf> {
    let names = ["amber-9", "brush-2", "brush-2-complete", "brush-2-faults", "medic-6", "rescue-4", "rescue-4-changed"];
    names.iter().map(|name| root().join("demo-data").join(name).join("package.toml")).collect()
}

#[test]
fn a_package_and_itself_differ_in_nothing() {
    for path in demos() {
        let ((one, rulesets), (other, _)) = (load_file(&path, &[]), load_file(&path, &[]));
        assert_eq!(differences(&one, &other), [], "{}", path.display());
        let (before, after) = (judged(&one, &rulesets), judged(&other, &rulesets));
        assert!(moved(&before.findings, &after.findings).is_empty(), "{}", path.display());
    }
    let (text, _, status) = run(&["change", OLD, OLD]);
    assert_eq!(status, Some(0));
    assert!(text.contains("Nothing that the packages say.") && text.contains("no verdict moved"), "{text}");
}

#[test]
fn a_change_and_the_change_back_mirror_each_other() {
    // The third has other inputs, so that nothing can be tried alone.
    let pairs = [
        ("rescue-4", "rescue-4-changed", false),
        ("brush-2", "brush-2-complete", false),
        ("brush-2", "brush-2-faults", true),
    ];
    for (one, other, silent) in pairs {
        let load = |name: &str| load_file(&root().join("demo-data").join(name).join("package.toml"), &[]);
        let ((old, rulesets), (new, _)) = (load(one), load(other));
        let (there, back) = (pair(&old, &new, &rulesets), pair(&new, &old, &rulesets));
        let mirror = |how: Move| match how {
            Move::Worse => Move::Better,
            Move::Better | Move::Fewer => Move::Worse,
            Move::NewlyNotShown => Move::NewlyShown,
            Move::ShownToFail => Move::NewlyNotShown,
            Move::NewlyShown => Move::NewlyNotShown,
            Move::Appeared => Move::Gone,
            Move::Gone => Move::Appeared,
            Move::Excepted => Move::NotExcepted,
            Move::NotExcepted => Move::Excepted,
            Move::Evidence | Move::Applies | Move::Figure => how,
        };
        let ways = |pair: &Pair| -> BTreeMap<String, Move> {
            pair.moved.iter().map(|(id, how, _)| (id.clone(), *how)).collect()
        };
        let mut mirrored: BTreeMap<String, Move> =
            ways(&there).into_iter().map(|(id, how)| (id, mirror(how))).collect();
        // What was not shown and fails now is newly shown to fail; the way back it is newly not shown.
        let back_again = ways(&back);
        for (id, how) in &mut mirrored {
            if *how == Move::NewlyShown && back_again.get(id) == Some(&Move::ShownToFail) {
                *how = Move::ShownToFail;
            }
        }
        assert_eq!(mirrored, back_again, "{one} {other}");
        assert!(!mirrored.is_empty());
        assert_eq!(there.causes.silent.is_some(), silent, "{one} {other}");
        if silent {
            assert!(there.causes.of.iter().all(Vec::is_empty), "nothing is said of causes");
            continue;
        }
        // Every change was tried alone, so nothing is left in the dark.
        let dark: Vec<&Difference> = there
            .causes
            .list
            .iter()
            .filter(|cause| !cause.told_apart)
            .flat_map(|cause| cause.lines.iter().map(|line| &there.lines[*line]))
            .collect();
        assert!(dark.is_empty(), "{one} {other}: {dark:#?}");
        let uncharged: Vec<&String> =
            there.moved.iter().zip(&there.causes.of).filter(|(_, of)| of.is_empty()).map(|((id, ..), _)| id).collect();
        assert!(uncharged.is_empty(), "{one} {other}: {uncharged:?}");
    }
}

/// A finding fails that did not: 1. One is open that was not: 3. Neither: 0, even where advice got worse.
#[test]
fn the_exit_status_says_what_got_worse() {
    assert_eq!(run(&["change", OLD, NEW]).2, Some(1));
    assert_eq!(run(&["change", NEW, OLD]).2, Some(0));
    let [declared, complete] = ["brush-2", "brush-2-complete"].map(|name| format!("demo-data/{name}/package.toml"));
    assert_eq!(run(&["change", &complete, &declared]).2, Some(3));
    assert_eq!(run(&["change", &declared, &complete]).2, Some(0));
    assert_eq!(run(&["change", OLD, "demo-data/no-such/package.toml"]).2, Some(2));
    assert_eq!(run(&["change", "-", "-"]).2, Some(2));
    assert_eq!(run(&["change", OLD]).2, Some(2));
}

#[test]
fn rows_and_keys_hold_what_the_text_says() {
    let (json, ..) = run(&["change", OLD, NEW, "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let moved = json["moved"].as_array().unwrap();
    let (csv, ..) = run(&["change", OLD, NEW, "--format", "csv"]);
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(csv.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let findings: Vec<&csv::StringRecord> = rows.iter().filter(|row| &row[0] == "finding").collect();
    assert_eq!(findings.len(), moved.len());
    for (row, one) in findings.iter().zip(moved) {
        assert_eq!((&row[1], &row[2]), (one["id"].as_str().unwrap(), one["how"].as_str().unwrap()));
        let found = |side: &str| one[side]["found"].as_f64();
        assert_eq!((row[6].parse().ok(), row[7].parse().ok()), (found("old"), found("new")), "{row:?}");
    }
    let names = rows.iter().filter(|row| row[0].contains("  old: ") || row[0].contains("  new: ")).count();
    assert!(names > 20, "files of both packages: {names}");
    insta::assert_snapshot!("changes_as_json", serde_json::to_string_pretty(&json["changes"]).unwrap());
    insta::assert_snapshot!("first_move_as_json", serde_json::to_string_pretty(&moved[0]).unwrap());
}

/// NEW asks for other rulesets than OLD: both are judged by those of OLD, and it is said.
#[test]
fn other_rulesets_are_told_and_not_judged_by() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("other.toml");
    let text = std::fs::read_to_string(root().join(OLD)).unwrap();
    let text = text
        .replace("\"headlamp-flashing\", ", "")
        .replace("\"back-up-alarms\"", "\"back-up-alarms\", \"zones-one-level\"");
    std::fs::write(&path, text).unwrap();
    let catalogue = root().join("demo-data/catalogue");
    let args = ["change", OLD, path.to_str().unwrap(), "--library", catalogue.to_str().unwrap()];
    let (said, errors, status) = run(&args);
    assert_eq!(status, Some(0), "{errors}");
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("`new` asks for zones-one-level (edition 2026-11, "), "{said}");
    assert!(said.contains("`new` does not ask for headlamp-flashing (edition 2026-11, "), "{said}");
    assert!(!said.contains("zones-one-level:"), "{said}");
}

#[test]
fn the_page_is_whole_and_belongs_to_its_files_until_one_changes() {
    let dir = tempfile::tempdir().unwrap();
    for name in ["catalogue", "rescue-4", "rescue-4-changed"] {
        copy(&root().join("demo-data").join(name), &dir.path().join(name));
    }
    let path = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let (old, new) = (path("rescue-4/package.toml"), path("rescue-4-changed/package.toml"));
    let page = path("change.html");
    // A name that would be a tag, were it not escaped.
    let text = std::fs::read_to_string(&new).unwrap().replace("name = \"Rescue 4\"", "name = \"Rescue <b>4</b> & co\"");
    std::fs::write(&new, text).unwrap();
    assert_eq!(run(&["change", &old, &new, "-o", &page]).2, Some(1));
    let html = std::fs::read_to_string(&page).unwrap();
    assert!(html.contains("Rescue &lt;b&gt;4&lt;") && !html.contains("<b>4"), "escaped");
    assert!(html.contains("wedge 12 deg -&gt; 0 deg") && html.contains("colour amber -&gt; red"));
    assert!(html.contains("change 2 alone") && html.contains("name Rescue 4 -&gt; Rescue"));
    assert!(html.ends_with("</html>\n") || html.ends_with("</html>"));
    for word in ["certified", "approved", "http://", "https://", "<script"] {
        assert!(!html.to_lowercase().contains(word), "{word}");
    }
    // The name of a file says how it is written, unless --format does.
    let rows = path("change.csv");
    assert_eq!(run(&["change", &old, &new, "-o", &rows]).2, Some(1));
    assert_eq!(std::fs::read_to_string(&rows).unwrap(), run(&["change", &old, &new, "--format", "csv"]).0);
    assert_eq!(run(&["change", &old, &new, "--verify", &rows]).2, Some(0));
    assert_eq!(run(&["change", &old, &new, "-o", &path("other.html"), "--format", "csv"]).2, Some(2));
    // Never over a file that is there.
    assert_eq!(run(&["change", &old, &new, "-o", &page]).2, Some(2));
    assert_eq!(run(&["change", &old, &new, "-o", &page, "--force"]).2, Some(1));
    assert_eq!(std::fs::read_to_string(&page).unwrap(), html, "the same files and day give the same bytes");

    let (said, errors, status) = run(&["change", &old, &new, "--verify", &page]);
    assert_eq!(status, Some(0), "{said}{errors}");
    assert!(said.contains("the same  old: package.toml") && said.contains("the same  new: package.toml"), "{said}");
    let lamps = path("catalogue/edge-lamps.toml");
    let text = std::fs::read_to_string(&lamps).unwrap();
    std::fs::write(&lamps, format!("{text}\n# one more remark\n")).unwrap();
    let (said, _, status) = run(&["change", &old, &new, "--verify", &page]);
    assert_eq!(status, Some(1));
    assert!(said.contains("CHANGED   old: ../catalogue/edge-lamps.toml"), "{said}");
    // Whoever asks the wrong command is told the right one.
    let (_, errors, status) = run(&["report", &old, "--verify", &page]);
    assert_eq!(status, Some(2));
    assert!(errors.contains("wayproof change OLD NEW --verify"), "{errors}");
}

#[test]
fn a_gone_exception_is_named_and_what_it_covered_fails() {
    let (package, rulesets) = load_file(&root().join(NEW), &[]);
    let mut excepted = load_file(&root().join(NEW), &[]).0;
    let id = "zones-two-level:zone-total@blocking/upper/C";
    let day = |year| wayproof::load::reader::Date { year, month: 1, day: 1 };
    let span = excepted.heads[0].span.clone();
    let (accepted_by, reference, reason) = ("the buyer".to_owned(), "letter 1".to_owned(), "agreed".to_owned());
    let (on, until) = (day(2026), day(2028));
    excepted.exceptions.push(wayproof::package::Exception {
        finding: id.to_owned(),
        accepted_by,
        reference,
        on,
        until,
        reason,
        span,
    });
    let found = pair(&excepted, &package, &rulesets);
    let texts: Vec<String> = found.lines.iter().map(Difference::in_words).collect();
    let gone =
        "gone; it was: accepted by the buyer; reference letter 1; on 2026-01-01; until 2028-01-01; reason agreed";
    assert_eq!(texts, [format!("exception {id}: {gone}")]);
    assert_eq!(found.moved, [(id.to_owned(), Move::Worse, true)]);
    assert_eq!(found.causes.of[0][0].part, Part::Alone);
    // Taken in, it is better, and only excepted.
    let before = judged(&package, &rulesets);
    let after = judged(&excepted, &rulesets);
    let now = moved(&before.findings, &after.findings);
    assert_eq!(now.len(), 1);
    assert_eq!((now[0].how, now[0].new.unwrap().verdict), (Move::Excepted, Verdict::Excepted));
    assert_eq!(now[0].new.unwrap().strength, Strength::Required);
}

/// Changes made by hand in the text of one package, with the lines that have to name them.
#[test]
fn hand_made_changes_are_named_as_written_and_tried_alone() {
    let folder = root().join("tests/change");
    let text = std::fs::read_to_string(folder.join("every-key/package.toml")).unwrap();
    let cases: toml::Table = std::fs::read_to_string(folder.join("cases.toml")).unwrap().parse().unwrap();
    let dir = tempfile::tempdir().unwrap();
    let made = dir.path().join("every-key");
    copy(&folder.join("every-key"), &made);
    let path = made.join("package.toml");
    let (old, rulesets) = load_file(&path, &[]);
    for case in cases["case"].as_array().unwrap() {
        let name = case["name"].as_str().unwrap();
        let mut changed = text.clone();
        for edit in case["edit"].as_array().unwrap() {
            let (old, new) = (edit["old"].as_str().unwrap(), edit["new"].as_str().unwrap());
            assert_eq!(changed.matches(old).count(), 1, "{name}: {old}");
            changed = changed.replace(old, new);
        }
        std::fs::write(&path, changed).unwrap();
        let (new, _) = load_file(&path, &[]);
        let found = pair(&old, &new, &rulesets);
        let expected: Vec<&str> = case["lines"].as_array().unwrap().iter().map(|line| line.as_str().unwrap()).collect();
        let lines: Vec<String> = found.lines.iter().map(Difference::in_words).collect();
        assert_eq!(lines, expected, "{name}");
        let silent = case.get("silent").is_some();
        assert_eq!(found.causes.silent.is_some(), silent, "{name}");
        let all = (1..=lines.len()).filter(|_| !silent).collect();
        let apart = case.get("apart").map_or(all, |lines| {
            lines
                .as_array()
                .unwrap()
                .iter()
                .map(|line| usize::try_from(line.as_integer().unwrap()).unwrap())
                .collect::<Vec<_>>()
        });
        let told = found.causes.list.iter().filter(|cause| cause.told_apart);
        let mut told: Vec<usize> = told.flat_map(|cause| cause.lines.iter().map(|line| line + 1)).collect();
        told.sort_unstable();
        assert!(!found.moved.is_empty(), "{name} moves something, so that it is tried");
        assert_eq!(told, apart, "{name}");
        // Which lines could only be tried together.
        if let Some(together) = case.get("together") {
            let mut groups: Vec<Vec<i64>> = found
                .causes
                .list
                .iter()
                .map(|cause| cause.lines.iter().map(|line| i64::try_from(line + 1).unwrap()).collect())
                .collect();
            groups.sort();
            assert_eq!(&toml::Value::try_from(groups).unwrap(), together, "{name}");
        }
    }
}

/// A package without a controller lists displays in its modes, and keeps its lamps in a table.
#[test]
fn lists_of_modes_and_tables_of_heads_are_compared_too() {
    let package = |displays: &str, given: &str| {
        format!(
            r#"format = 1
catalogues = ["catalogue.toml"]
heads = "heads.csv"
[vehicle]
name = "a table"
length = "6 m"
width = "2 m"
height = "2 m"
[[body]]
id = "rack"
from = {{ ahead = "1 m", right = "-1 m", height = "1 m" }}
to = {{ ahead = "2 m", right = "1 m", height = "2 m" }}
when = "rack-out"
[[pattern]]
id = "one-pulse"
period = "700 ms"
pulses = [["0 ms", "300 ms"]]
[[display]]
id = "one"
show = [{{ head = "lamp-a", colour = "red", pattern = "one-pulse" }}]
[[display]]
id = "other"
show = [{{ head = "lamp-b", colour = "red", pattern = "one-pulse" }}]
[[mode]]
id = "standing"
displays = [{displays}]
given = [{given}]
[[mode]]
id = "driving"
displays = ["one"]
given = ["rack-out"]
"#
        )
    };
    let table = "id,model,ahead,right,height,faces,tilt\nlamp-a,declared,2 m,0 m,1 m,front,0 deg\nlamp-b,declared,2 m,0.5 m,1 m,front,TILT\n";
    let catalogue = std::fs::read_to_string(root().join("tests/change/every-key/catalogue.toml")).unwrap();
    let declared = catalogue.split("\n[[model]]").find(|model| model.contains("id = \"declared\"")).unwrap();
    let catalogue = format!("format = 1\n[[model]]{declared}");
    let load = |displays: &str, given: &str, tilt: &str| {
        let (text, heads) = (package(displays, given), table.replace("TILT", tilt));
        let files = [("package.toml", text.as_str()), ("heads.csv", &heads), ("catalogue.toml", &catalogue)];
        let (_dir, path) = common::folder(&files);
        load_file(&path, &[]).0
    };
    let base = load("\"one\"", "", "0 deg");
    let said = |other: &Package| differences(&base, other).iter().map(Difference::in_words).collect::<Vec<_>>();
    assert_eq!(said(&load("\"one\"", "", "2 deg")), ["lamp-b: tilt 0 deg -> 2 deg"]);
    let more = said(&load("\"one\", \"other\"", "", "0 deg"));
    assert_eq!(more, ["display other: when in no mode -> in standing"]);
    let out = said(&load("\"one\"", "\"rack-out\"", "0 deg"));
    assert_eq!(out, ["body rack: when in driving -> in standing, driving"]);
}

#[test]
fn pairs_of_twins_are_written_as_one() {
    let said = |ids: &[&str]| wayproof::compare::folded(&ids.iter().map(|id| (*id).to_owned()).collect::<Vec<_>>());
    assert_eq!(said(&["a-left", "a-right", "b"]), "a-left and -right, b");
    assert_eq!(said(&["a-right", "b", "a-left"]), "a-right and -left, b");
    assert_eq!(said(&["a-left", "b-right"]), "a-left, b-right");
    assert_eq!(said(&[]), "");
}

//! The demo packages: planted faults are found, all and only; exit statuses; outputs as people and programs see them.
//!
//! `expected.csv` beside a package is written by hand from the fault and the rule; it lists required findings that
//! fail, and those not shown for another reason than a missing limit.

mod common;

use std::collections::BTreeSet;
use std::path::PathBuf;

use common::{finding, judge_files, root, rows, verdict};
use serde_json::Value as Json;
use wayproof::judge::Verdict;

/// Runs the program in the repository's folder on a fixed day.
fn wayproof(args: &[&str], columns: &str) -> (i32, String, String) {
    let mut command = assert_cmd::Command::cargo_bin("wayproof").unwrap();
    let output = command.current_dir(root()).args(args).env("COLUMNS", columns).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn check(package: &str, more: &[&str]) -> (i32, String, String) {
    let file = format!("demo-data/{package}/package.toml");
    let args = [&["check", &file, "--as-of", "2026-11-25"], more].concat();
    wayproof(&args, "80")
}

fn json(package: &str, more: &[&str]) -> (i32, Json) {
    let (status, out, _) = check(package, &[&["--format", "json"], more].concat());
    (status, serde_json::from_str(&out).unwrap())
}

fn list(value: &Json) -> Vec<Json> {
    value.as_array().unwrap().clone()
}

fn text<'v>(value: &'v Json, key: &str) -> &'v str {
    value[key].as_str().unwrap_or_default()
}

#[test]
fn planted_faults_are_found_all_and_only() {
    for package in ["rescue-4-changed", "brush-2-faults"] {
        let expected: BTreeSet<(String, String)> = rows(&root().join(format!("demo-data/{package}/expected.csv")))
            .into_iter()
            .map(|row| (row["finding"].clone(), row["verdict"].clone()))
            .collect();
        let (status, report) = json(package, &[]);
        let wanted = |finding: &&Json| {
            let open = matches!(text(finding, "verdict"), "fail" | "too-close" | "not-shown");
            // A missing limit has no `limit`; such findings are open in every package.
            let has_limit = finding.get("limit").is_some();
            text(finding, "strength") == "required" && open && (has_limit || text(finding, "verdict") == "fail")
        };
        let found: BTreeSet<(String, String)> = list(&report["findings"])
            .iter()
            .filter(wanted)
            .map(|finding| (text(finding, "id").to_owned(), text(finding, "verdict").to_owned()))
            .collect();
        assert_eq!(found, expected, "{package}");
        assert!(expected.len() > 8, "{package}");
        assert_eq!(status, 1, "{package}");
    }
}

#[test]
fn exit_statuses() {
    let overlay = ["--rules", "demo-data/overlays/kestrow-limits.toml"];
    for (package, more, expected) in [
        ("rescue-4", &[][..], 0),
        ("brush-2", &[][..], 3),
        ("brush-2-complete", &overlay[..], 0),
        ("brush-2-complete", &[&overlay[..], &["--rules", "supply-12v", "--rules", "load-analysis"]].concat()[..], 0),
        ("brush-2-complete", &[][..], 3),
        ("brush-2-complete", &["--rules", "sounders", "--rules", "road-horns", "--rules", "back-up-alarms"][..], 0),
        ("medic-6-sound-faults", &[][..], 1),
        ("medic-6", &[][..], 3),
        ("amber-9", &[][..], 3),
        ("rescue-4", &["--without-memory"][..], 3),
        ("rescue-4", &["--rules", "zones-one-level"][..], 1),
    ] {
        assert_eq!(check(package, more).0, expected, "{package} {more:?}");
    }
}

/// Rules that do not speak of a vehicle are counted: those on steady arrows, of the rescue truck, whose arrow runs; on
/// what hangs on a converter, where it only charges; on inverters and shore inlets, of the pickup, which has none; on
/// classes of sirens, where none is claimed; on alarms of refuse trucks. The pickup's earlier fit has no sounders.
#[test]
fn how_much_is_not_applicable() {
    let sound = ["siren-level-by-class-a", "siren-level-by-class-b", "alarm-heard-at-100-ft"];
    let (rescue, brush) = (["on-time", "converter"], ["converter", "inverter", "shore"]);
    let (rescue, faults) = ([&rescue[..], &sound].concat(), brush.to_vec());
    let brush = [&brush[..], &sound].concat();
    for (package, expected) in [
        ("rescue-4", &rescue),
        ("rescue-4-changed", &rescue),
        ("rescue-4-logic-faults", &rescue),
        ("brush-2", &brush),
        ("brush-2-complete", &brush),
        ("brush-2-faults", &faults),
    ] {
        let (_, report) = json(package, &[]);
        let left: Vec<Json> = list(&report["findings"])
            .into_iter()
            .filter(|finding| text(finding, "verdict") == "not-applicable")
            .collect();
        assert_eq!(report["summary"]["not-applicable"], expected.len(), "{package}");
        assert_eq!(report["summary"]["advice"]["not-applicable"], 0, "{package}");
        let rules: Vec<&str> = left.iter().map(|finding| text(finding, "rule")).collect();
        assert_eq!(rules, *expected, "{package}");
    }
}

/// Files of a demo package with one piece of text changed, in a folder of their own beside the catalogue.
fn changed(package: &str, change: impl Fn(String) -> String) -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let to = dir.path().join(package);
    std::fs::create_dir(&to).unwrap();
    std::fs::create_dir(dir.path().join("catalogue")).unwrap();
    for entry in std::fs::read_dir(root().join("demo-data/catalogue")).unwrap() {
        let entry = entry.unwrap();
        std::fs::copy(entry.path(), dir.path().join("catalogue").join(entry.file_name())).unwrap();
    }
    let text = std::fs::read_to_string(root().join(format!("demo-data/{package}/package.toml"))).unwrap();
    let new = change(text.clone());
    assert_ne!(new, text, "the change found its place");
    std::fs::write(to.join("package.toml"), new).unwrap();
    (dir, to.join("package.toml"))
}

#[test]
fn each_change_alone_makes_a_named_finding_fail() {
    let amber = "{ group = \"rear-upper-amber\", colour = \"amber\"";
    let swap = |text: String| text.replace(amber, "{ group = \"rear-upper-amber\", colour = \"red\"");
    let (_dir, path) = changed("rescue-4", swap);
    let (package, rulesets) = common::load_file(&path, &[]);
    let judged = wayproof::judge::judge(&wayproof::measure::Conduct::new(&package), &rulesets, common::terms());
    assert_eq!(verdict(&judged, "zones-two-level:zone-total@blocking/upper/C"), Verdict::Fail);
    assert_eq!(verdict(&judged, "zones-two-level:off-plane-point@blocking/lower/C"), Verdict::Pass);

    let (_dir, path) = changed("rescue-4", |text| text.replace("wedge = \"12 deg\"", "# no wedge"));
    let (package, rulesets) = common::load_file(&path, &[]);
    let judged = wayproof::judge::judge(&wayproof::measure::Conduct::new(&package), &rulesets, common::terms());
    assert_eq!(verdict(&judged, "zones-two-level:off-plane-point@blocking/lower/C"), Verdict::Fail);
    assert_eq!(verdict(&judged, "zones-two-level:zone-total@blocking/upper/C"), Verdict::Pass);
}

#[test]
fn the_shares_of_explain_add_up_to_found() {
    let (_, report) = json("rescue-4-changed", &["--only", "fail"]);
    let mut findings = list(&report["findings"]);
    findings.retain(|finding| text(finding, "strength") == "required");
    let margin = |finding: &Json| finding["margin"].as_f64().unwrap();
    let worst = findings.iter().min_by(|a, b| margin(a).total_cmp(&margin(b))).unwrap();
    for finding in [worst].into_iter().chain(&findings) {
        let id = text(finding, "id");
        let (status, out, _) = wayproof(&["explain", "demo-data/rescue-4-changed/package.toml", id], "160");
        assert_eq!(status, 0);
        let header = out.lines().find(|line| line.starts_with("head ")).unwrap();
        let rows = out.lines().skip_while(|line| *line != header).skip(1);
        let (mut sum, mut share, mut heads) = (0.0, 0.0, 0);
        for line in rows.take_while(|line| !line.starts_with("together")) {
            let cells: Vec<&str> = line.split_whitespace().collect();
            let number = |at: usize| cells[at].replace(',', "").parse::<f64>().unwrap();
            (sum, share, heads) = (sum + number(2), share + number(3), heads + 1);
        }
        let found = finding["found"].as_f64().unwrap();
        assert!(heads >= 2, "{id}: {out}");
        assert!((sum - found).abs() < 0.06 * f64::from(heads), "{id}: {sum} of {found}");
        assert!((share - 100.0).abs() < 0.01 * f64::from(heads), "{id}: {share} %");
    }
}

#[test]
fn what_is_open_says_what_would_show_it() {
    let (_, report) = json("brush-2", &[]);
    let open: Vec<Json> =
        list(&report["findings"]).into_iter().filter(|finding| text(finding, "verdict") == "not-shown").collect();
    assert_eq!(open.iter().filter(|finding| text(finding, "strength") == "required").count(), 20);
    for finding in &open {
        assert!(text(finding, "note").contains("would show it: "), "{finding}");
    }
    let (_, out, _) = check("brush-2", &[]);
    assert!(out.contains("Not shown, and what would show it"));
    assert!(out.contains("    [[change]]\n    rule = \"zone-total\"\n    cite = "));
}

#[test]
fn only_changes_what_is_printed_and_never_the_status_or_the_summary() {
    let (status, all) = json("brush-2-faults", &[]);
    let (again, fails) = json("brush-2-faults", &["--only", "fail"]);
    assert_eq!(status, again);
    assert_eq!(all["summary"], fails["summary"]);
    assert!(list(&fails["findings"]).iter().all(|finding| text(finding, "verdict") == "fail"));
    assert!(list(&fails["findings"]).len() < list(&all["findings"]).len());
}

#[test]
fn the_same_files_and_date_give_the_same_bytes_also_into_a_file() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("out.json");
    let more = ["--format", "json", "-o", file.to_str().unwrap()];
    let (status, printed, _) = check("brush-2", &["--format", "json"]);
    assert_eq!(check("brush-2", &["--format", "json"]).1, printed);
    assert_eq!(check("brush-2", &more), (status, String::new(), String::new()));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), printed);
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1, "nothing else is left behind");
    let nowhere = ["--format", "json", "-o", "/nonexistent-folder/out.json"];
    assert_eq!(check("brush-2", &nowhere).0, 2);
}

#[test]
fn json_has_the_documented_keys_and_ids_are_shell_safe() {
    let known = [
        "id", "rule", "ruleset", "strength", "quantity", "unit", "scope", "require", "limit", "found", "margin",
        "verdict", "basis", "evidence", "witness", "source", "note",
    ];
    for package in ["rescue-4", "brush-2", "brush-2-faults"] {
        let (_, report) = json(package, &[]);
        let keys: Vec<&String> = report.as_object().unwrap().keys().collect();
        assert_eq!(keys.len(), 8, "{keys:?}");
        assert_eq!(report["format"], 1);
        assert_eq!(report["as_of"], "2026-11-25");
        assert_eq!(text(&report["package"], "sha256").len(), 64);
        let mut ids = BTreeSet::new();
        let cautions = list(&report["cautions"]);
        assert!(!cautions.is_empty() && cautions.iter().all(|caution| text(caution, "verdict") == "caution"));
        let findings = list(&report["findings"]);
        let counted = findings.len();
        for finding in findings.into_iter().chain(cautions) {
            let id = text(&finding, "id").to_owned();
            assert!(id.chars().all(|c| c.is_ascii_alphanumeric() || "._-:@/".contains(c)), "{id}");
            assert!(ids.insert(id.clone()), "{id} twice");
            for key in finding.as_object().unwrap().keys() {
                assert!(known.contains(&key.as_str()), "{key}");
            }
        }
        let summed: u64 = ["pass", "fail", "too-close", "not-shown", "not-applicable", "excepted"]
            .iter()
            .map(|key| report["summary"][key].as_u64().unwrap() + report["summary"]["advice"][key].as_u64().unwrap())
            .sum();
        assert_eq!(summed, u64::try_from(counted).unwrap());
    }
}

#[test]
fn ndjson_and_csv_have_one_row_a_finding() {
    let (_, report) = json("brush-2", &[]);
    let findings = list(&report["findings"]);
    let (_, lines, _) = check("brush-2", &["--format", "ndjson"]);
    let lines: Vec<Json> = lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines[0]["summary"], report["summary"]);
    let cautions = list(&report["cautions"]);
    assert_eq!(lines[1..=findings.len()], findings);
    assert_eq!(lines[1 + findings.len()..], cautions);
    let (_, table, _) = check("brush-2", &["--format", "csv"]);
    let header = "id,verdict,strength,purpose,mode,level,zone,head,emitter,circuit,supply,sounder,tone,place,rule,\
                  required,limit,found,unit,margin,basis,evidence,set,look_at,source,note";
    assert_eq!(table.lines().next(), Some(header), "other programs read these columns");
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let ids: Vec<String> = reader.records().map(|record| record.unwrap()[0].to_owned()).collect();
    let expected: Vec<&str> = findings.iter().chain(&cautions).map(|finding| text(finding, "id")).collect();
    assert_eq!(ids, expected);
}

#[test]
fn nothing_printed_sounds_like_permission() {
    for package in ["rescue-4", "rescue-4-changed", "brush-2", "brush-2-faults", "medic-6", "amber-9"] {
        for format in ["table", "json", "csv"] {
            let (_, out, _) = check(package, &["--format", format]);
            let out = out.to_lowercase();
            assert!(!out.contains("certif") && !out.contains("approved"), "{package} {format}");
        }
        let (_, table, _) = check(package, &[]);
        let lines: String = table.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(lines.contains("The authority having jurisdiction (AHJ), the law and licensed practice decide"));
        assert!(lines.contains("Flashing light can trigger seizures"));
    }
}

/// Whoever changed a limit is named wherever it decides: on top, in the sources, and in each finding.
#[test]
fn an_overlay_is_named_with_its_authority() {
    let overlay = ["--rules", "demo-data/overlays/kestrow-limits.toml"];
    let (_, out, _) = check("brush-2-complete", &overlay);
    let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("changed by kestrow-limits: "), "{out}");
    assert!(words.contains(
        "zone-total, least-point, off-plane-point: Kestrow Rescue, fleet office (invented), fleet letter 12"
    ));
    let (_, report) = json("brush-2-complete", &overlay);
    for finding in list(&report["findings"]) {
        let side = matches!(text(&finding["scope"], "zone"), "B" | "D");
        let rule = text(&finding, "rule");
        let light = matches!(rule, "zone-total" | "least-point" | "off-plane-point") || rule.starts_with("total-with-");
        let changed = (side && light) || text(&finding, "rule") == "front-low-height";
        let named = text(&finding["source"], "authority") == "Kestrow Rescue, fleet office (invented), fleet letter 12";
        assert_eq!(named, changed, "{finding}");
        let own = ["zones-one-level:", "supply-12v:", "load-analysis:"];
        let id = text(&finding, "id");
        assert!(own.iter().any(|own| id.starts_with(own)), "the id stays that of the ruleset: {finding}");
    }
}

/// A head that two shows claim is told, and an exception that matches nothing is told and changes no status.
#[test]
fn what_might_surprise_is_said() {
    let (_, out, _) = check("brush-2-faults", &[]);
    assert!(out.contains("- a later row of display \"front always\" wins for bumper-right, with any setting"), "{out}");
    let exception = "\n[[exception]]\nfinding = \"zones-two-level:zone-total@calling/upper/E\"\n\
                     accepted-by = \"nobody\"\nreference = \"letter 0\"\non = 2026-01-01\nuntil = 2027-01-01\nreason = \"a slip\"\n";
    let (_dir, path) = changed("rescue-4", |text| text + exception);
    let (status, _, err) = wayproof(&["check", path.to_str().unwrap(), "--as-of", "2026-11-25"], "80");
    assert_eq!(status, 0, "{err}");
    assert!(err.contains("this exception does nothing"), "{err}");
    assert!(err.contains("did you mean `zones-two-level:zone-total@calling/upper/"), "{err}");
}

#[test]
fn the_table_at_80_and_160_columns() {
    for (columns, name) in [("80", "table_80"), ("160", "table_160")] {
        let file = "demo-data/rescue-4-changed/package.toml";
        let (_, out, _) = wayproof(&["check", file, "--as-of", "2026-11-25"], columns);
        let width: usize = columns.parse().unwrap();
        let widest = out.lines().map(|line| line.chars().count()).max().unwrap();
        assert!(widest <= width, "{widest} columns of {width}");
        insta::assert_snapshot!(name, out);
    }
    let (_, out, _) = check("brush-2", &[]);
    insta::assert_snapshot!("brush_2_table_80", out);
    let (_, out, _) = wayproof(&["check", "demo-data/brush-2/package.toml", "--as-of", "2026-11-25"], "160");
    insta::assert_snapshot!("brush_2_table_160", out);
    let (_, out, _) = check("brush-2", &["--format", "json", "--only", "not-shown"]);
    insta::assert_snapshot!("brush_2_json_not_shown", out);
    let (_, out, _) = wayproof(
        &["explain", "demo-data/rescue-4-changed/package.toml", "zones-two-level:zone-total@blocking/upper/C"],
        "80",
    );
    insta::assert_snapshot!("explain_80", out);
}

#[test]
fn colour_only_where_it_is_wanted_and_words_stay() {
    let file = "demo-data/brush-2-faults/package.toml";
    let plain = wayproof(&["check", file, "--as-of", "2026-11-25"], "80").1;
    assert!(!plain.contains('\u{1b}'));
    let coloured = wayproof(&["check", file, "--as-of", "2026-11-25", "--color", "always"], "80").1;
    assert!(coloured.contains("\u{1b}[1m\u{1b}[31mX FAIL"), "failing rows stand out");
    let stripped = anstream::adapter::strip_str(&coloured).to_string();
    assert_eq!(stripped, plain);
}

#[test]
fn the_first_package_checks_at_once() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("first");
    let (status, _, _) = wayproof(&["new", folder.to_str().unwrap()], "80");
    assert_eq!(status, 0);
    let package = folder.join("package.toml");
    let (status, out, err) = wayproof(&["check", package.to_str().unwrap()], "80");
    assert_eq!((status, err.as_str()), (1, ""), "four lamps do not make a front million: some zones fail");
    assert!(out.contains("zone-total"));
    let (status, _, err) = wayproof(&["new", folder.to_str().unwrap()], "80");
    assert_eq!(status, 2, "an existing folder is left alone");
    assert!(err.contains("does not exist yet"), "{err}");
    let judged = judge_files(&[
        ("package.toml", &std::fs::read_to_string(&package).unwrap()),
        ("catalogue.toml", &std::fs::read_to_string(folder.join("catalogue.toml")).unwrap()),
        ("round-lamp-red.csv", &std::fs::read_to_string(folder.join("round-lamp-red.csv")).unwrap()),
    ]);
    assert_eq!(finding(&judged, "zones-one-level:flash-rate@calling/front-left").verdict, Verdict::Pass);
}

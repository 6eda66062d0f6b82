//! Overlays: what they change, add, remove and confirm, which of two wins, and on which days they are in force.
//!
//! The package is that of tests/worked_case.rs: one lamp of 100 cd at half duty gives zone A 57,000 cd.s/min.

mod common;

use std::path::Path;

use common::case::*;
use common::{folder, root};
use serde_json::Value as Json;
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::judge::{Judged, Terms, Verdict, judge};
use wayproof::load::reader::Date;
use wayproof::measure::Conduct;
use wayproof::package::{PackageFile, load};
use wayproof::ruleset::{Amended, Basis, Demand, Loader, Ruleset};

fn day(text: &str) -> Date {
    text.parse::<toml::value::Datetime>().unwrap().date.unwrap()
}

/// The head of an overlay of the case's ruleset, and its tables.
fn overlay(id: &str, head: &str, tables: &str) -> String {
    format!(
        "format = 1\n[overlay]\nid = \"{id}\"\ntitle = \"t\"\nedition = \"1\"\nextends = \"case.toml\"\n\
         authority = \"the county\"\nreference = \"letter {id}\"\n{head}\n{tables}"
    )
}

/// A change of the only limit on the zone total.
fn total(limit: &str) -> String {
    format!(
        "[[change]]\nrule = \"total\"\ncite = {{ own = \"the case asks it\" }}\n\
         limits = [{{ purpose = \"calling\", zones = {{ A = {limit} }} }}]\n"
    )
}

struct Outcome {
    judged: Judged,
    rulesets: Vec<Ruleset>,
    said: String,
}

/// The case judged on a day with overlays, asked for in this order; none where a file is mistaken.
fn outcome(rules: &str, overlays: &[String], as_of: &str, more: &str) -> Result<Outcome, String> {
    let names: Vec<String> = (0..overlays.len()).map(|at| format!("overlay-{at}.toml")).collect();
    let package = package(&head("a", "lamp", "front", ""), &show("a"), more);
    let beams = beams();
    let mut all = files(&package, rules, &beams);
    all.extend(names.iter().map(String::as_str).zip(overlays.iter().map(String::as_str)));
    let (_dir, path) = folder(&all);
    let (sources, log) = (Sources::default(), Log::default());
    let inside = path.parent().unwrap().to_path_buf();
    let bytes = std::fs::read(&path).unwrap();
    let file = PackageFile { name: "package.toml".to_owned(), bytes, folder: inside.clone(), libraries: Vec::new() };
    let (package, _) = load(&file, &sources, &log);
    let terms = Terms { as_of: day(as_of), without_memory: false };
    let mut loader = Loader::new(&sources, &log, vec![inside.clone()]).on(terms.as_of);
    for name in ["case.toml"].into_iter().chain(names.iter().map(String::as_str)) {
        loader.add_anywhere(&inside.join(name).display().to_string());
    }
    let rulesets = loader.rulesets;
    let failed = log.has_errors();
    let said = render(&log.take(), &sources, false);
    if failed {
        return Err(said);
    }
    let package = package.unwrap();
    let judged = judge(&Conduct::new(&package), &rulesets, terms);
    Ok(Outcome { judged, rulesets, said })
}

fn asked(rules: &str, overlays: &[String], as_of: &str) -> Outcome {
    outcome(rules, overlays, as_of, "").unwrap_or_else(|said| panic!("{said}"))
}

/// What the zone total of zone A is asked to be.
fn limit(outcome: &Outcome, rule: &str) -> Option<Demand> {
    let rule = outcome.rulesets[0].rules.iter().find(|known| known.id == rule)?;
    rule.limits.first().map(|limit| limit.demand.clone())
}

fn both() -> String {
    ruleset("both", TOTAL)
}

/// Precedence of the first overlay and its limit, those of the second, the limit that counts, who lost.
#[test]
fn the_higher_precedence_wins_and_among_equals_the_later_asked() {
    for (first, second, counts, lost) in [
        (("law", "60000"), ("contract", "40000"), 60_000.0, Some("two")),
        (("contract", "40000"), ("law", "60000"), 60_000.0, Some("one")),
        (("standard", "60000"), ("contract", "70000"), 60_000.0, Some("two")),
        (("contract", "60000"), ("contract", "40000"), 40_000.0, Some("one")),
        (("law", "60000"), ("law", "50000"), 50_000.0, Some("one")),
        (("advice", "70000"), ("contract", "40000"), 40_000.0, Some("one")),
        (("contract", "60000"), ("advice", "40000"), 60_000.0, Some("two")),
        (("law", "60000"), ("advice", "59000"), 60_000.0, Some("two")),
        // Advice asks more of what nobody else has changed: nobody loses.
        (("advice", "58000"), ("advice", "59000"), 59_000.0, Some("one")),
    ] {
        let precedence = |word: &str| format!("precedence = \"{word}\"");
        let overlays = [
            overlay("one", &precedence(first.0), &total(first.1)),
            overlay("two", &precedence(second.0), &total(second.1)),
        ];
        let outcome = asked(&both(), &overlays, "2026-11-25");
        assert_eq!(limit(&outcome, "total"), Some(Demand::Number(counts)), "{first:?} {second:?}");
        let losers: Vec<&str> = outcome.rulesets[0]
            .overlays
            .iter()
            .filter(|overlay| overlay.amendments.iter().any(|done| done.lost_to.is_some()))
            .map(|overlay| overlay.id.as_str())
            .collect();
        assert_eq!(losers, lost.into_iter().collect::<Vec<_>>(), "{first:?} {second:?}");
    }
}

/// Of a ruleset that is law, and of what is required: who may loosen (56,000), tighten (58,000) and fill in.
#[test]
fn only_a_law_loosens_a_law_and_advice_loosens_nothing_required() {
    for (of_ruleset, by, to, counts) in [
        ("standard", "contract", "56000", 56_000.0),
        ("standard", "advice", "56000", 57_000.0),
        ("standard", "advice", "58000", 58_000.0),
        ("law", "advice", "56000", 57_000.0),
        ("law", "contract", "56000", 57_000.0),
        ("law", "standard", "56000", 57_000.0),
        ("law", "law", "56000", 56_000.0),
        ("law", "contract", "58000", 58_000.0),
    ] {
        let rules = both().replace("edition = \"1\"", &format!("edition = \"1\"\nprecedence = \"{of_ruleset}\""));
        let overlay = overlay("one", &format!("precedence = \"{by}\""), &total(to));
        let outcome = asked(&rules, &[overlay], "2026-11-25");
        assert_eq!(limit(&outcome, "total"), Some(Demand::Number(counts)), "{of_ruleset} {by} {to}");
        let lost = outcome.rulesets[0].overlays[0].amendments[0].lost_to.as_deref();
        let expected = (counts == 57_000.0).then_some("case");
        assert_eq!(lost, expected, "{of_ruleset} {by} {to}");
    }
    // What is missing may be filled in by anyone: nothing is lost by it.
    let missing = both().replace("A = 57000", "A = { missing = \"torn page\" }");
    let law = missing.replace("edition = \"1\"", "edition = \"1\"\nprecedence = \"law\"");
    let outcome = asked(&law, &[overlay("one", "precedence = \"advice\"", &total("1000"))], "2026-11-25");
    assert_eq!(limit(&outcome, "total"), Some(Demand::Number(1000.0)));
    assert_eq!(outcome.rulesets[0].overlays[0].amendments[0].kind, Amended::Changed);
}

/// Whether it is tighter or looser hangs on `require` and the figures.
#[test]
fn tighter_or_looser_is_computed() {
    use Amended::{Changed, Loosened, Restated, Tightened};
    let numbers = "zone-total-optical-power\"\nunit = \"cd.s/min";
    let words = "colours-shown\"\nunit = \"colours";
    for (quantity, require, old, new, expected) in [
        (numbers, "at-least", "10", "11", Tightened),
        (numbers, "at-least", "10", "9", Loosened),
        (numbers, "at-most", "10", "11", Loosened),
        (numbers, "at-most", "10", "9", Tightened),
        (numbers, "between", "{ from = 5, to = 9 }", "{ from = 6, to = 9 }", Tightened),
        (numbers, "between", "{ from = 5, to = 9 }", "{ from = 5, to = 12 }", Loosened),
        (numbers, "between", "{ from = 5, to = 9 }", "{ from = 6, to = 12 }", Changed),
        (numbers, "outside", "{ from = 5, to = 9 }", "{ from = 6, to = 9 }", Loosened),
        (numbers, "outside", "{ from = 5, to = 9 }", "{ from = 5, to = 12 }", Tightened),
        (numbers, "exactly", "5", "6", Changed),
        (numbers, "at-least", "5", "5", Restated),
        (numbers, "at-least", "{ missing = \"why\" }", "5", Changed),
        (numbers, "at-least", "5", "{ missing = \"why\" }", Changed),
        (words, "only", "[\"red\"]", "[\"red\", \"blue\"]", Loosened),
        (words, "only", "[\"red\", \"blue\"]", "[\"blue\"]", Tightened),
        (words, "only", "[\"red\"]", "[\"blue\"]", Changed),
        (words, "none-of", "[\"red\"]", "[\"red\", \"blue\"]", Tightened),
        (words, "some-of", "[\"red\"]", "[\"red\", \"blue\"]", Loosened),
    ] {
        let rule = TOTAL
            .replace("zone-total-optical-power\"\nunit = \"cd.s/min", quantity)
            .replace("at-least", require)
            .replace("A = 57000", &format!("A = {old}"));
        let outcome = asked(&ruleset("both", &rule), &[overlay("one", "", &total(new))], "2026-11-25");
        let kinds: Vec<Amended> =
            outcome.rulesets[0].overlays[0].amendments.iter().map(|amendment| amendment.kind).collect();
        assert_eq!(kinds, [expected], "{require} {old} -> {new}");
    }
}

const CAP: &str = "[[rule]]\nid = \"cap\"\nsays = \"a case\"\nquantity = \"zone-total-optical-power\"\nunit = \"cd.s/min\"\n\
    require = \"at-most\"\ncite = { own = \"it dazzles\" }\nlimits = [{ purpose = \"calling\", zones = { A = 50000 } }]\n";
const REMOVE: &str = "[[remove]]\nrule = \"total\"\ncite = { own = \"nobody looks there\" }\n";

#[test]
fn rules_are_added_and_requirements_removed() {
    let verdict = |outcome: &Outcome, id: &str| {
        outcome.judged.findings.iter().find(|finding| finding.id == id).map(|finding| finding.verdict)
    };
    let added = asked(&both(), &[overlay("one", "", CAP)], "2026-11-25");
    assert_eq!(verdict(&added, "case:total@calling/A"), Some(Verdict::Pass));
    assert_eq!(verdict(&added, "case:cap@calling/A"), Some(Verdict::Fail), "57,000 is more than 50,000");
    let of_cap = added.judged.findings.iter().find(|finding| finding.rule == "cap").unwrap();
    assert_eq!(of_cap.source.authority.as_deref(), Some("the county, letter one"));
    // A second overlay changes what the first added.
    let raised = CAP.replace("[[rule]]\nid", "[[change]]\nrule").replace("50000", "60000");
    let kept = ["says", "quantity", "unit", "require"];
    let raised: Vec<&str> = raised.lines().filter(|line| kept.iter().all(|key| !line.starts_with(key))).collect();
    let second = overlay("two", "", &raised.join("\n"));
    let both_asked = asked(&both(), &[overlay("one", "", CAP), second], "2026-11-25");
    assert_eq!(verdict(&both_asked, "case:cap@calling/A"), Some(Verdict::Pass));

    let two = ruleset("both", &format!("{TOTAL}{LEAST}"));
    let removed = asked(&two, &[overlay("one", "", REMOVE)], "2026-11-25");
    assert_eq!(verdict(&removed, "case:total@calling/A"), None);
    assert_eq!(verdict(&removed, "case:least@calling/A"), Some(Verdict::Pass));
    let done = &removed.rulesets[0].overlays[0].amendments[0];
    assert_eq!((done.kind, &done.from, &done.to), (Amended::Removed, &Some(Demand::Number(57_000.0)), &None));
    // One limit of several, and what a law has set cannot be removed by a contract.
    let zones = TOTAL.replace("A = 57000", "A = 57000, C = 1");
    let part = REMOVE.to_owned() + "limits = [{ purpose = \"calling\", zones = [\"C\"] }]\n";
    let part = asked(&ruleset("both", &zones), &[overlay("one", "", &part)], "2026-11-25");
    assert_eq!(verdict(&part, "case:total@calling/A"), Some(Verdict::Pass));
    assert_eq!(verdict(&part, "case:total@calling/C"), None);
    let law = overlay("law", "precedence = \"law\"", &total("57000"));
    let stays = asked(&two, &[law, overlay("one", "", REMOVE)], "2026-11-25");
    assert_eq!(verdict(&stays, "case:total@calling/A"), Some(Verdict::Pass));
    assert_eq!(stays.rulesets[0].overlays[1].amendments[0].lost_to.as_deref(), Some("law"));
}

/// The day, whether the overlay changes anything, whether the exception holds: both are asked of the same day.
#[test]
fn overlays_and_exceptions_hold_from_their_first_day_to_their_last() {
    let strict = overlay("one", "from = 2026-03-01\nuntil = 2026-12-31", &total("60000"));
    let exception = "[[exception]]\nfinding = \"case:total@calling/A\"\naccepted-by = \"the buyer\"\n\
        reference = \"letter 1\"\non = 2026-06-01\nuntil = 2026-12-31\nreason = \"why\"\n";
    for (as_of, in_force, expected) in [
        ("2026-02-28", false, Verdict::Pass),
        ("2026-03-01", true, Verdict::Fail),
        ("2026-05-31", true, Verdict::Fail),
        ("2026-06-01", true, Verdict::Excepted),
        ("2026-12-31", true, Verdict::Excepted),
        ("2027-01-01", false, Verdict::Pass),
    ] {
        let outcome =
            outcome(&both(), std::slice::from_ref(&strict), as_of, exception).unwrap_or_else(|said| panic!("{said}"));
        assert_eq!(outcome.rulesets[0].overlays[0].in_force, in_force, "{as_of}");
        assert_eq!(common::verdict(&outcome.judged, "case:total@calling/A"), expected, "{as_of}");
    }
}

/// The ruleset of the case, its limit on the zone total being from a document and recalled.
fn recalled() -> String {
    let document = "[[document]]\nid = \"book\"\ntitle = \"A book\"\nedition = \"3\"\n[[rule]]";
    let cite = "cite = { document = \"book\", clause = \"4.2\", basis = \"memory\" }";
    ruleset("both", &TOTAL.replacen("[[rule]]", document, 1).replace("cite = { own = \"a case\" }", cite))
}

fn confirmation(rows: &str) -> String {
    format!(
        "[[confirm]]\nrule = \"total\"\nlimits = {rows}\nby = \"the fleet office\"\non = 2026-05-04\n\
         edition = \"4\"\nclause = \"4.2, table\"\n"
    )
}

#[test]
fn a_confirmed_limit_keeps_who_when_and_which_edition() {
    for rows in [
        "\"all\"",
        "[{ purpose = \"calling\" }]",
        "[{ zones = [\"A\"] }]",
        "[{ zones = { A = 57_000 } }]",
        "[{ purpose = \"calling\", zones = [\"A\"], value = 57000 }]",
        "\"all\"\nvalue = 57000",
    ] {
        let outcome = asked(&recalled(), &[overlay("one", "", &confirmation(rows))], "2026-11-25");
        let found = common::finding(&outcome.judged, "case:total@calling/A");
        assert_eq!((found.source.basis, found.verdict), (Basis::Confirmed, Verdict::Pass), "{rows}");
        let confirmed = found.source.confirmed.as_ref().unwrap();
        assert_eq!((confirmed.by.as_str(), confirmed.edition.as_str()), ("the fleet office", "4"), "{rows}");
        assert_eq!((confirmed.clause.as_str(), confirmed.on), ("4.2, table", day("2026-05-04")), "{rows}");
        assert_eq!(outcome.judged.summary.required.on_memory, 0, "{rows}");
    }
    // What another overlay has put there is not what the document says.
    let overlays = [overlay("one", "", &total("58000")), overlay("two", "", &confirmation("\"all\""))];
    let changed = asked(&recalled(), &overlays, "2026-11-25");
    assert!(changed.said.contains("`one` has changed this limit"), "{}", changed.said);
    assert_eq!(common::finding(&changed.judged, "case:total@calling/A").source.confirmed, None);
}

/// What is told of mistakes, with the place that is marked.
#[test]
fn mistakes_in_overlays_are_told() {
    let named = |tables: &str| overlay("one", "", tables);
    for (rules, overlay, code, said, marked) in [
        (
            recalled(),
            named(&confirmation("[{ zones = { A = 120 } }]")),
            "differs-from-copy",
            "your copy says 120, the ruleset 57,000",
            "120",
        ),
        (
            recalled(),
            named(&confirmation("\"all\"\nvalue = 5_000")),
            "differs-from-copy",
            "your copy says 5,000",
            "5_000",
        ),
        (recalled(), named(&confirmation("[{ zones = [\"B\"] }]")), "unknown-limit", "no limit at this place", "\"B\""),
        (recalled(), named(&confirmation("\"some\"")), "unknown-word", "does not fit `limits`", "\"some\""),
        (both(), named(&confirmation("\"all\"")), "nothing-to-confirm", "names no document", "\"all\""),
        (
            recalled(),
            named(&confirmation("\"all\"").replace("by = \"the fleet office\"\n", "")),
            "missing-key",
            "`by` is missing",
            "",
        ),
        (
            recalled(),
            named(&(total("1") + &confirmation("\"all\""))),
            "double-limit",
            "changes a limit and confirms it too",
            "\"all\"",
        ),
        (both(), named(&REMOVE.replace("total", "totals")), "unknown-rule", "has no rule `totals`", "\"totals\""),
        (both(), named(&(total("1") + REMOVE)), "double-limit", "changes one limit twice", ""),
        (both(), named(&CAP.replace("\"cap\"", "\"total\"")), "double-id", "has a rule `total` already", "\"total\""),
        (
            both(),
            overlay("one", "from = 2026-03-01\nuntil = 2026-02-28", REMOVE),
            "bad-term",
            "ends before it begins",
            "2026-02-28",
        ),
        (
            both(),
            overlay("one", "precedence = \"decree\"", REMOVE),
            "unknown-word",
            "`decree` does not fit `precedence`",
            "\"decree\"",
        ),
        (both(), overlay("one", "until = 2020-01-01", &total("\"x\"")), "wrong-type", "must be a number", "\"x\""),
        (
            both().replace("id = \"case\"", "id = \"narrowed\""),
            named(REMOVE),
            "reserved-name",
            "several rulesets ask",
            "\"narrowed\"",
        ),
    ] {
        let Err(told) = outcome(&rules, std::slice::from_ref(&overlay), "2026-11-25", "") else {
            panic!("{code}: {overlay}")
        };
        assert!(told.contains(&format!("error[{code}]")) && told.contains(said), "{code}: {told}");
        let carets = "^".repeat(marked.len());
        assert!(told.contains(&carets), "{code} marks {marked}: {told}");
    }
}

#[test]
fn an_overlay_asked_for_twice_is_applied_once() {
    let one = overlay("one", "", CAP);
    let twice = asked(&both(), &[one.clone(), one], "2026-11-25");
    assert!(twice.said.contains("warning[double-ruleset]"), "{}", twice.said);
    assert_eq!(twice.rulesets[0].overlays.len(), 1);
    let other = outcome(&both(), &[overlay("one", "", CAP), overlay("one", "", REMOVE)], "2026-11-25", "");
    assert!(other.is_err_and(|said| said.contains("two different overlays are called `one`")));
}

/// Runs the program on the demo truck with both orders of the invented county.
fn county(as_of: &str, more: &[&str]) -> (i32, String) {
    let order = |name: &str| format!("demo-data/overlays/{name}.toml");
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(["check", "demo-data/rescue-4/package.toml", "--as-of", as_of])
        .args(["--rules", &order("kestrow-expired"), "--rules", &order("kestrow-county")])
        .args(more)
        .env("COLUMNS", "160")
        .output()
        .unwrap();
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
    (output.status.code().unwrap(), String::from_utf8(output.stdout).unwrap())
}

/// Before, inside and after the county's order: three days, three answers. The truck shows blue to its sides, which
/// the order of 2026 does not permit; the older order asked less of the rear and nothing of the spacing.
#[test]
fn three_days_three_answers() {
    assert!(Path::new(&root()).join("demo-data/overlays/kestrow-county.toml").exists());
    for (as_of, status, in_force, rear, spacing, side) in [
        ("2026-02-25", 0, "kestrow-expired", 700_000.0, false, "pass"),
        ("2026-06-01", 1, "kestrow-county", 800_000.0, true, "fail"),
        ("2027-01-15", 0, "", 800_000.0, true, "pass"),
    ] {
        let (code, text) = county(as_of, &["--format", "json"]);
        assert_eq!(code, status, "{as_of}");
        let report: Json = serde_json::from_str(&text).unwrap();
        let finding = |id: &str| {
            let findings = report["findings"].as_array().unwrap();
            findings.iter().find(|finding| finding["id"] == format!("zones-two-level:{id}").as_str()).cloned()
        };
        assert_eq!(finding("zone-total@blocking/upper/C").unwrap()["limit"], rear, "{as_of}");
        let spaced = report["findings"].as_array().unwrap().iter().any(|finding| finding["rule"] == "lower-spacing");
        assert_eq!(spaced, spacing, "{as_of}");
        assert_eq!(finding("colours@blocking/B").unwrap()["verdict"], side, "{as_of}");
        let overlays = report["rulesets"].as_array().unwrap().iter().filter(|entry| entry.get("in_force").is_some());
        for entry in overlays {
            let id = entry["id"].as_str().unwrap();
            assert_eq!(entry["in_force"], id == in_force, "{as_of} {id}");
            assert_eq!(entry["changes"].as_array().unwrap().is_empty(), id != in_force, "{as_of} {id}");
        }
        let (_, table) = county(as_of, &[]);
        for (id, term) in
            [("kestrow-expired", "until 2026-02-28"), ("kestrow-county", "from 2026-03-01 until 2026-12-31")]
        {
            let line = format!("overlay {id} is not in force on {as_of} ({term})");
            assert_eq!(table.lines().any(|told| told == line), id != in_force, "{as_of} {id}: {table}");
        }
    }
}

/// The table of states says it too.
#[test]
fn states_are_judged_on_the_same_day() {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(["states", "demo-data/rescue-4/package.toml", "--rows", "1", "--as-of", "2027-01-15"])
        .args(["--rules", "demo-data/overlays/kestrow-county.toml"])
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let line = "overlay kestrow-county is not in force on 2027-01-15 (from 2026-03-01 until 2026-12-31)";
    assert!(text.lines().any(|told| told == line), "{text}");
}

/// An overlay that adds a rule which looks from a direction needs a ruleset that says from where.
#[test]
fn an_added_rule_needs_the_tables_of_its_ruleset() {
    let bare = "format = 1\n[ruleset]\nid = \"case\"\ntitle = \"t\"\nedition = \"1\"\n\
        defers-to = \"the authority having jurisdiction\"\n[[rule]]\nid = \"length\"\nsays = \"a case\"\n\
        quantity = \"attested\"\nunit = \"words\"\nrequire = \"only\"\ncite = { own = \"a case\" }\n\
        limits = [{ item = \"labels\", value = [\"yes\"] }]\n";
    let rate = CAP
        .replace("zone-total-optical-power", "flash-rate")
        .replace("cd.s/min", "/min")
        .replace("zones = { A = 50000 }", "value = 120");
    let Err(said) = outcome(bare, &[overlay("one", "", &rate)], "2026-11-25", "") else { panic!("judged") };
    for table in ["zones", "flash", "signal"] {
        assert!(said.contains(&format!("`case` has no table `[{table}]`, and the rule `cap` needs it")), "{said}");
    }
}

#[test]
fn what_is_loosened_or_removed_is_printed_as_such() {
    let (_, table) = county("2026-02-25", &[]);
    for line in [
        "- removed by the law, order 24-1: zones-two-level:lower-spacing lower (25 ft); Kestrow County (invented), order 24-1; Kestrow County order 24-1 (invented)",
        "- loosened by the law, order 24-1: zones-two-level:zone-total C blocking/upper: 800,000 -> 700,000 cd.s/min",
    ] {
        assert!(table.lines().any(|told| told.starts_with(line)), "{line}: {table}");
    }
    let (_, text) = county("2026-02-25", &["--format", "json"]);
    let report: Json = serde_json::from_str(&text).unwrap();
    let entries = report["rulesets"].as_array().unwrap();
    let old = entries.iter().find(|entry| entry["id"] == "kestrow-expired").unwrap();
    insta::assert_json_snapshot!("overlay_in_json", old["changes"]);
}

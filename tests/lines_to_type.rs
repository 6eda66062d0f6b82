//! What a finding that is open tells a user to type, pasted as it stands: the `[[change]]` that fills the missing limits
//! of a rule, and the key of the catalogue that gives a missing figure of a lamp. Both load, and close what was open.

mod common;

use std::collections::BTreeSet;

use common::case::{flat, head, package};
use common::{folder, load_file, terms};
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::judge::{Finding, Judged, Verdict, judge};
use wayproof::measure::Conduct;
use wayproof::quantity::{Measure, QUANTITIES};
use wayproof::ruleset::shipped::SHIPPED;
use wayproof::ruleset::{Demand, Loader, Ruleset};

/// Two lamps of every class, one of which lights all round.
const LAMPS: &str = r#"
format = 1
[[model]]
id = "round"
all-round = true
classes = { all-round-lamp = "1", device-classes = "1", steady-and-switched-lamp-table = "B" }
[[model.emitter]]
colour = "red"
intensity = { file = "report.csv", frame = "vertical-axis" }
evidence = { grade = "laboratory" }
[[model]]
id = "beam"
classes = { device-classes = "2", steady-and-switched-lamp-table = "B" }
[[model.emitter]]
colour = "red"
intensity = { file = "report.csv", frame = "vertical-axis" }
evidence = { grade = "laboratory" }
[[model]]
id = "siren"
sounder = "siren-speaker"
classes = { sounders = "A" }
[[model.sound]]
tone = "wail"
distance = "3 m"
levels = [["0 deg", "120 dB(A)"], ["50 deg", "110 dB(A)"]]
symmetric = true
[[model]]
id = "small-siren"
sounder = "siren-speaker"
classes = { sounders = "B" }
[[model.sound]]
tone = "wail"
distance = "3 m"
levels = [["0 deg", "120 dB(A)"], ["50 deg", "110 dB(A)"]]
symmetric = true
"#;

/// Sirens of both classes for which tables are missing.
const SIRENS: &str = r#"
[[sounder]]
id = "siren"
model = "siren"
at = { ahead = "60 in", height = "20 in" }
faces = "front"
[[sounder]]
id = "small-siren"
model = "small-siren"
at = { ahead = "60 in", height = "20 in" }
faces = "front"
"#;

fn judged(package: &str, rules: &str, catalogue: &str) -> Judged {
    let light = flat("1500");
    let files = [
        ("package.toml", package),
        ("case.toml", rules),
        ("catalogue.toml", catalogue),
        ("report.csv", light.as_str()),
    ];
    common::judge_files(&files)
}

/// The rules of a ruleset of which a limit is missing.
fn lacking(ruleset: &Ruleset) -> BTreeSet<String> {
    let lacks = |demand: &Demand| matches!(demand, Demand::Missing { .. });
    let rules = ruleset.rules.iter().filter(|rule| rule.limits.iter().any(|limit| lacks(&limit.demand)));
    rules.map(|rule| rule.id.clone()).collect()
}

/// What is to be pasted: all lines behind the first.
fn pasted(finding: &Finding) -> &str {
    finding.would_show.as_deref().unwrap().split_once('\n').unwrap_or_else(|| panic!("{:?}", finding.would_show)).1
}

/// A text with a figure of one's own in the place of each `...`; later ones are greater, as the ends of a range are.
fn filled(text: &str) -> String {
    let mut parts = text.split("...");
    let first = parts.next().unwrap().to_owned();
    parts.enumerate().fold(first, |all, (at, part)| format!("{all}{}{part}", at + 1))
}

#[test]
fn the_lines_for_missing_limits_fill_all_that_their_rule_lacks() {
    let heads = [head("round", "round", "front", ""), head("beam", "beam", "rear", "")].concat();
    let shows = "{ head = \"round\", colour = \"red\", pattern = \"half\" }, \
                 { head = \"beam\", colour = \"red\", pattern = \"half\" },";
    let light = flat("1500");
    let modes = ["calling", "blocking"]
        .map(|purpose| format!("[[mode]]\nid = \"{purpose}\"\npurpose = \"{purpose}\"\ndisplays = [\"all\"]\n"));
    let package = package(&heads, shows, &(modes.concat() + SIRENS));
    let (_dir, path) = folder(&[("package.toml", &package), ("catalogue.toml", LAMPS), ("report.csv", &light)]);
    let ids: Vec<&str> = SHIPPED.iter().map(|(id, _)| *id).collect();
    let (package, mut rulesets) = load_file(&path, &ids);
    rulesets.iter_mut().for_each(|ruleset| ruleset.applies = None);
    let judged = judge(&Conduct::new(&package), &rulesets, terms());
    let mut filled_rules = 0;
    for ruleset in &rulesets {
        let missing =
            |finding: &&Finding| finding.ruleset == ruleset.id && matches!(finding.limit, Demand::Missing { .. });
        let blocks: BTreeSet<&str> = judged.findings.iter().filter(missing).map(pasted).collect();
        // One block a rule, whichever of its places is open.
        let of_rules: BTreeSet<String> =
            blocks.iter().map(|block| block.lines().nth(1).unwrap().split('"').nth(1).unwrap().to_owned()).collect();
        assert_eq!((of_rules.len(), &of_rules), (blocks.len(), &lacking(ruleset)), "{}", ruleset.id);
        let overlay = format!(
            "format = 1\n[overlay]\nid = \"pasted\"\ntitle = \"t\"\nedition = \"1\"\nextends = \"{}\"\n\
             authority = \"the buyer\"\nreference = \"letter 1\"\n{}\n",
            ruleset.id,
            filled(&blocks.into_iter().collect::<Vec<_>>().join("\n"))
        );
        let (_dir, path) = folder(&[("overlay.toml", &overlay)]);
        let (sources, log) = (Sources::default(), Log::default());
        let mut loader = Loader::new(&sources, &log, Vec::new());
        loader.add_anywhere(path.to_str().unwrap());
        let loaded = loader.rulesets;
        assert_eq!(render(&log.take(), &sources, false), "", "{overlay}");
        assert_eq!(lacking(&loaded[0]), BTreeSet::new(), "{overlay}");
        filled_rules += of_rules.len();
    }
    assert!(filled_rules >= 14, "{filled_rules}");
}

#[test]
fn a_figure_that_is_still_open_is_no_figure() {
    let overlay = "format = 1\n[overlay]\nid = \"p\"\ntitle = \"t\"\nedition = \"1\"\nextends = \"device-classes\"\n\
                   authority = \"a\"\nreference = \"r\"\n[[change]]\nrule = \"directional-power\"\n\
                   cite = { own = \"o\" }\nlimits = [{ value = ... }]\n";
    let (_dir, path) = folder(&[("overlay.toml", overlay)]);
    let (sources, log) = (Sources::default(), Log::default());
    Loader::new(&sources, &log, Vec::new()).add_anywhere(path.to_str().unwrap());
    assert!(log.has_errors());
}

fn ruleset(rule: &str) -> String {
    common::case::ruleset("both", rule)
}

fn rule(quantity: &str, unit: &str, require: &str, device: &str, limit: &str) -> String {
    let device = if device.is_empty() { String::new() } else { format!("device = {{ {device} }}\n") };
    format!(
        "[[rule]]\nid = \"open\"\nsays = \"a case\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\n\
         require = \"{require}\"\n{device}cite = {{ own = \"a case\" }}\nlimits = [{{ {limit} }}]\n"
    )
}

/// A lamp of which nothing is known but its colour, with these lines at the model and at its emitter.
fn bare(model: &str, emitter: &str) -> String {
    format!("format = 1\n[[model]]\nid = \"bare\"\n{model}\n[[model.emitter]]\ncolour = \"red\"\n{emitter}\n")
}

const AT: &str = r#"angles = { h = ["0 deg"], v = ["0 deg"] }"#;
const TABLE: &str = r#"table = [{ h = ["0 deg"], v = ["0 deg"], least = { red = "25 cd" } }]"#;

/// Quantities of lamps that rest on the catalogue; the key that a finding names where it is missing.
fn cases() -> Vec<(&'static str, String, &'static str)> {
    let effective = format!("effective = \"form-factor\", {AT}");
    let case = |quantity, unit, require, device: &str, limit, key| {
        (quantity, rule(quantity, unit, require, device, limit), key)
    };
    vec![
        case("effective-intensity", "cd", "at-least", &effective, "value = 9", "intensity"),
        case("greatest-effective-intensity", "cd", "at-most", &effective, "value = 9", "intensity"),
        case("flash-energy", "cd.s", "at-least", AT, "value = 9", "intensity"),
        case("device-optical-power", "cd.s/min", "at-least", AT, "value = 9", "intensity"),
        case("lit-intensity", "cd", "at-least", AT, "value = 9", "intensity"),
        case("lit-intensity-ratio", "%", "at-least", TABLE, "value = 100", "intensity"),
        case("beam-spread-across", "deg", "at-least", "share = \"10 %\"", "value = 9", "intensity"),
        case("beam-spread-up-and-down", "deg", "at-least", "share = \"10 %\"", "value = 9", "intensity"),
        case("peak-elevation", "deg", "at-most", "", "value = 9", "intensity"),
        case("chromaticity-regions", "words", "some-of", "", "value = [\"red-2-digit\"]", "chromaticity"),
        case("claimed-class", "words", "some-of", "", "value = [\"B\", \"C\"]", "classes"),
        case("below-max-height", "in", "at-least", "", "level = \"lower\", value = 0", "max-height"),
        case("average-warning-current", "A", "at-most", "", "purpose = \"calling\", value = 9", "current"),
    ]
}

/// Of single lamps too, and they rest on patterns, displays, names and places alone.
const OF_THE_PACKAGE: [&str; 8] = [
    "device-flash-rate",
    "emitter-colour",
    "flash-off-time",
    "flash-on-share",
    "flash-on-time",
    "heads-always-lit",
    "heads-ever-lit",
    "turned-forward",
];

#[test]
fn a_missing_figure_of_a_lamp_is_named_with_an_example_that_loads() {
    let package =
        package(&head("h", "bare", "front", ""), "{ head = \"h\", colour = \"red\", pattern = \"half\" },", "");
    for (quantity, rule, key) in cases() {
        let rules = ruleset(&rule);
        let found = judged(&package, &rules, &bare("", ""));
        let open: Vec<&Finding> = found.findings.iter().filter(|one| one.rule == "open").collect();
        let [open] = open.as_slice() else { panic!("{quantity}: {open:?}") };
        assert_eq!(open.verdict, Verdict::NotShown, "{quantity}");
        let told = open.would_show.as_deref().unwrap();
        let (place, example) = told.split_once(" in the catalogue, for example ").unwrap_or_else(|| panic!("{told}"));
        assert!(example.starts_with(&format!("{key} = ")), "{quantity}: {told}");
        let known = if place.contains("at the model `bare`") { bare(example, "") } else { bare("", example) };
        assert!(place.contains("at the model `bare`") || place.ends_with("at the emitter"), "{told}");
        let found = judged(&package, &rules, &known);
        let closed = found.findings.iter().find(|one| one.rule == "open").unwrap();
        assert_ne!(closed.verdict, Verdict::NotShown, "{quantity}: {:?}", closed.notes);
    }
}

#[test]
fn every_quantity_of_lamps_has_its_case() {
    let of_lamps = QUANTITIES.iter().filter(|quantity| matches!(quantity.measure, Measure::Device(_)));
    let of_lamps: BTreeSet<&str> = of_lamps.map(|quantity| quantity.name).collect();
    let cases = cases();
    let known: BTreeSet<&str> = cases.iter().map(|(quantity, ..)| *quantity).chain(OF_THE_PACKAGE).collect();
    assert_eq!(of_lamps.difference(&known).collect::<Vec<_>>(), Vec::<&&str>::new());
}

/// With the guarded decision the lamp's uncertainty is a figure like others.
#[test]
fn a_missing_uncertainty_is_named_with_an_example_that_loads() {
    let shows = "{ head = \"h\", colour = \"red\", pattern = \"half\" },";
    let package = package(&head("h", "bare", "front", ""), shows, "[decision]\nrule = \"guarded\"\n");
    let effective = format!("effective = \"form-factor\", {AT}");
    let rules = ruleset(&rule("effective-intensity", "cd", "at-least", &effective, "value = 9"));
    let without = "intensity = { file = \"report.csv\", frame = \"vertical-axis\" }";
    let found = judged(&package, &rules, &bare("", without));
    let open = found.findings.iter().find(|one| one.rule == "open").unwrap();
    assert_eq!(open.verdict, Verdict::NotShown);
    let (_, example) = open.would_show.as_deref().unwrap().split_once(" in the catalogue, for example ").unwrap();
    assert!(example.contains("uncertainty = \"8 %\""), "{example}");
    let found = judged(&package, &rules, &bare("", example));
    assert_eq!(found.findings.iter().find(|one| one.rule == "open").unwrap().verdict, Verdict::Pass);
}

//! Readings beside what was computed, on each demo and on demos that are changed: a reading alone overturns no fail, what
//! is far from the calculation is told, exceptions cover no more than was known, uncertainties are those of what was
//! read; and the light of zones whose heads were found otherwise. Cases stand in tests/readings/beside.toml; their currents and drops are those that `check` prints.

mod common;

use std::collections::{BTreeMap, BTreeSet};

use common::readings::{changed_demo, faults, judged_on, line, said, word};
use common::root;
use wayproof::judge::{Status, Verdict};

#[derive(serde::Deserialize)]
struct Cases {
    fill: BTreeMap<String, String>,
    case: Vec<Case>,
}

#[derive(serde::Deserialize)]
struct Case {
    name: String,
    package: String,
    /// What stands otherwise in the package; nothing before it: at its end.
    #[serde(default)]
    change: Vec<(String, String)>,
    text: String,
    /// The file is a table.
    #[serde(default)]
    table: bool,
    line: Option<String>,
    verdict: Option<String>,
    #[serde(default)]
    faults: Vec<String>,
    /// What has to be said of it.
    says: Option<String>,
    /// What must not be.
    silent: Option<String>,
    /// How far it is off, in the line's unit.
    expanded: Option<f64>,
    error: Option<String>,
}

#[test]
fn each_case_comes_out_as_it_says() {
    let text = std::fs::read_to_string(root().join("tests/readings/beside.toml")).unwrap();
    let cases: Cases = toml::from_str(&text).unwrap();
    assert!(cases.case.len() > 18, "{} cases", cases.case.len());
    let mut wrong = Vec::new();
    for case in cases.case {
        let text = cases.fill.iter().fold(case.text.clone(), |text, (name, fill)| text.replace(name, fill));
        let (dir, package) = changed_demo(&case.package, &case.change);
        let file = dir.path().join(if case.table { "readings.csv" } else { "readings.toml" });
        std::fs::write(&file, &text).unwrap();
        let mut say = |what: String| wrong.push(format!("{}: {what}", case.name));
        let says = |said: &str| case.says.as_ref().is_none_or(|says| said.contains(says.as_str()));
        match (judged_on(&package, &[file]), &case.error) {
            (Err((codes, said)), Some(error)) => {
                if !codes.contains(&error.as_str()) || !says(&said) {
                    say(format!("the mistakes are {said}"));
                }
            }
            (Err((_, said)), None) => say(format!("mistakes: {said}")),
            (Ok(_), Some(error)) => say(format!("no mistake, and {error} was meant")),
            (Ok(judged), None) => {
                let (at, _) = line(&judged, case.line.as_deref().unwrap());
                let verdict = word(&judged, at);
                if Some(verdict) != case.verdict.as_deref() {
                    say(format!("{verdict}: {}", said(&judged, at)));
                }
                if faults(&judged, at) != case.faults {
                    say(format!("faults {:?}: {}", faults(&judged, at), said(&judged, at)));
                }
                if !says(&said(&judged, at)) {
                    say(format!("says {}", said(&judged, at)));
                }
                if case.silent.as_ref().is_some_and(|silent| said(&judged, at).contains(silent.as_str())) {
                    say(format!("says {}", said(&judged, at)));
                }
                let expanded = judged.results[at].judgement.and_then(|at| judged.judgements[at].expanded);
                let near = |wanted: f64| expanded.is_some_and(|expanded| (expanded - wanted).abs() < 0.01 * wanted);
                if case.expanded.is_some_and(|wanted| !near(wanted)) {
                    say(format!("U = {expanded:?}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Zones of the totals that are open in a record on rescue-4, and how many findings are.
fn open_light(readings: &str) -> (BTreeSet<String>, usize, Status) {
    let (dir, package) = changed_demo("rescue-4", &[]);
    let file = dir.path().join("readings.toml");
    let head = "format = 1\n[record]\nby = \"t\"\non = 2026-11-18\n[[instrument]]\nid = \"tape\"\nuncertainty = \"0.5 in\"\nno-calibration = \"compared with a steel rule\"\n";
    std::fs::write(&file, format!("{head}{readings}")).unwrap();
    let judged = judged_on(&package, &[file]).unwrap_or_else(|(_, said)| panic!("{said}"));
    let totals = judged.beyond.iter().filter(|finding| finding.quantity == "zone-total-optical-power");
    let zones = totals.filter_map(|finding| finding.scope.zone.clone()).collect();
    for finding in &judged.beyond {
        assert_eq!(finding.verdict, Verdict::NotShown, "{}", finding.id);
        assert!(
            finding.note().starts_with("met by the calculation, which is of another vehicle"),
            "{}",
            finding.note()
        );
    }
    assert_eq!(judged.tally.beyond.open, judged.beyond.len());
    (zones, judged.beyond.len(), judged.tally.beyond.status())
}

#[test]
fn where_a_head_is_not_that_of_the_package_the_light_of_its_zones_is_open() {
    let reading = |line: &str, value: &str| format!("[[reading]]\nline = \"{line}\"\nvalue = \"{value}\"\n");
    let zones = |zones: &str| zones.chars().map(String::from).collect::<BTreeSet<String>>();
    let front = "vehicle:heads@front/edge-lamp-red-white";
    let height = "zones-two-level:lower-height@lower/rear-lower-brake-left";
    let accepted = format!(
        "[[exception]]\nline = \"{front}\"\naccepted-by = \"a\"\nreason = \"b\"\nreference = \"c\"\non = 2026-11-20\nuntil = 2027-01-01\n"
    );
    let taped = |inches: &str| reading(height, &format!("{inches} in")) + "instrument = \"tape\"\n";
    for (readings, open) in [
        (reading(front, "yes"), ""),
        // A head that faces forward lights nothing behind it.
        (reading(front, "no"), "ABD"),
        (reading(front, "no") + &accepted, "ABD"),
        // This model is fitted at the front only.
        (reading("vehicle:papers@edge-lamp-red-white", "no"), "ABD"),
        (taped("50.2"), ""),
        (taped("40"), "BCD"),
        (reading("zones-two-level:colours@blocking/C", "red amber"), ""),
        (reading("zones-two-level:colours@blocking/C", "red blue"), "C"),
        // A telltale speaks of no head's light.
        (reading("zones-two-level:telltales@telltales", "no"), ""),
    ] {
        let (found, many, status) = open_light(&readings);
        assert_eq!(found, zones(open), "{readings}");
        assert_eq!((many > 0, status == Status::Open), (!open.is_empty(), !open.is_empty()), "{readings}");
    }
    let read_again = reading(front, "no") + &reading(front, "yes") + "on = 2026-11-19\n";
    assert_eq!(open_light(&read_again).1, 0, "what was put right is as reckoned");
}

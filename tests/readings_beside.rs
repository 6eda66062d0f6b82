//! Readings beside what was computed, on each demo and on demos that are changed: a reading alone overturns no fail, what
//! is far from the calculation is told, exceptions cover no more than was known, uncertainties are those of what was
//! read. Cases stand in tests/readings/beside.toml; their currents and drops are those that `check` prints.

mod common;

use std::collections::BTreeMap;

use common::readings::{changed_demo, faults, judged_on, line, said, word};
use common::root;

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

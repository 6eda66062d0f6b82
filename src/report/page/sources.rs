//! By what the page judges: rulesets and overlays with their hashes, where each limit comes from, what is permitted.

use serde::Serialize;

use crate::report::Report;
use crate::report::table::changed;
use crate::ruleset::{Overlaid, Ruleset};

/// What was judged by.
#[derive(Serialize)]
pub(super) struct Sources {
    rulesets: Vec<File>,
    /// What overlays changed.
    changed: Vec<String>,
    limits: Vec<Cited>,
    permitted: Vec<(String, String)>,
}

/// A ruleset or overlay.
#[derive(Serialize)]
struct File {
    id: String,
    title: String,
    edition: String,
    said: String,
    sha256: String,
}

/// One source, and the rules that rest on it.
#[derive(Serialize)]
struct Cited {
    number: usize,
    source: String,
    basis: &'static str,
    address: String,
    rules: String,
}

/// The rulesets of a report and their sources.
pub(super) fn sources(report: &Report<'_>) -> Sources {
    let mut rulesets = Vec::new();
    for ruleset in report.rulesets {
        let Ruleset { id, title, edition, sha256, defers_to, .. } = ruleset.clone();
        rulesets.push(File { id, title, edition, said: format!("defers to {defers_to}"), sha256 });
        for overlay in &ruleset.overlays {
            let Overlaid { id, title, edition, sha256, authority, reference, .. } = overlay;
            let said = format!("extends {}; {authority}, {reference} {}", ruleset.id, overlay.term());
            let said = overlay.not_in_force(report.as_of).unwrap_or(said).trim_end().to_owned();
            let (id, title, edition, sha256) = (id.clone(), title.clone(), edition.clone(), sha256.clone());
            rulesets.push(File { id, title, edition, said, sha256 });
        }
    }
    let mut permitted: Vec<(String, String)> = Vec::new();
    for one in report.rulesets.iter().flat_map(|ruleset| &ruleset.permitted) {
        let line = (one.says.clone(), format!("{} [{}]", one.source.in_words(), one.source.basis.word()));
        if !permitted.contains(&line) {
            permitted.push(line);
        }
    }
    Sources { rulesets, changed: changed(report), limits: cited(report), permitted }
}

fn cited(report: &Report<'_>) -> Vec<Cited> {
    let mut all: Vec<(Cited, Vec<&str>)> = Vec::new();
    for finding in report.findings() {
        let source = finding.source.in_words();
        let basis = finding.source.basis.word();
        match all.iter_mut().find(|(known, _)| known.source == source && known.basis == basis) {
            Some((_, rules)) if rules.contains(&finding.rule.as_str()) => {}
            Some((_, rules)) => rules.push(&finding.rule),
            None => {
                let address = finding.source.address.clone().unwrap_or_default();
                all.push((Cited { number: 0, source, basis, address, rules: String::new() }, vec![&finding.rule]));
            }
        }
    }
    let numbered = all.into_iter().enumerate();
    numbered.map(|(at, (cited, rules))| Cited { number: at + 1, rules: rules.join(", "), ..cited }).collect()
}

impl Sources {
    /// The number of a source in the list.
    pub fn number(&self, source: &str, basis: &str) -> usize {
        let found = self.limits.iter().find(|known| known.source == source && known.basis == basis);
        found.map_or(0, |known| known.number)
    }
}

//! Which words a line knows. A word that nobody can have meant would count as one that is not forbidden, so anything
//! else is a mistake at its place.

use super::lines::{Answer, Line};
use crate::diagnostic::{Diagnostic, Log};
use crate::judge::{Finding, Found};
use crate::load::reader::Text;
use crate::package::{Package, ROLES};
use crate::quantity::LAMP_TROUBLES;
use crate::ruleset::{Demand, FINDS_COLOURS, Ruleset, USUAL_COLOURS};

/// Answers to a question.
pub(super) const ANSWERS: [&str; 2] = ["yes", "no"];

/// Quantities that find colours and roles side by side.
const COLOURS_AND_ROLES: [&str; 2] = ["carried-into", "roles-lit"];

/// The words that a finding's line knows, each once: those of its limit and of what was found, and all that rules on
/// this quantity, lamps and the trade's list of colours could name.
pub(super) fn known(package: &Package, rulesets: &[Ruleset], finding: &Finding) -> Vec<String> {
    let mut known: Vec<String> = Vec::new();
    let mut add = |word: &str| {
        if !known.iter().any(|old| old.eq_ignore_ascii_case(word)) {
            known.push(word.to_owned());
        }
    };
    let listed = |demand: &Demand| match demand {
        Demand::Words(words) => words.clone(),
        _ => Vec::new(),
    };
    listed(&finding.limit).iter().for_each(|word| add(word));
    if let Found::Words(words) = &finding.found {
        words.iter().for_each(|word| add(word));
    }
    let quantity = finding.quantity;
    if quantity == "attested" {
        ANSWERS.iter().for_each(|word| add(word));
        return known;
    }
    let rules = rulesets.iter().flat_map(|ruleset| &ruleset.rules).filter(|rule| rule.quantity.name == quantity);
    rules.flat_map(|rule| &rule.limits).flat_map(|limit| listed(&limit.demand)).for_each(|word| add(&word));
    let and_roles = COLOURS_AND_ROLES.contains(&quantity);
    if and_roles || FINDS_COLOURS.contains(&quantity) {
        USUAL_COLOURS.iter().for_each(|word| add(word));
        package.models.iter().flat_map(|model| &model.emitters).for_each(|emitter| add(&emitter.colour));
    }
    if and_roles {
        ROLES.iter().for_each(|(word, _)| add(word));
    }
    if quantity == "vehicle-lamp-troubles" {
        LAMP_TROUBLES.iter().for_each(|word| add(word));
    }
    if must_be_named(quantity) {
        add("none");
    }
    known
}

/// Whether the answer is one word of several, so that none at all is an answer of its own and not a short list.
pub(super) fn must_be_named(quantity: &str) -> bool {
    quantity == "attested" || quantity.ends_with("-class")
}

/// The words of a reading; a mistake where the line does not know one.
pub(super) fn read(line: &Line, value: &Text, log: &Log) -> Option<Vec<String>> {
    let text = value.text.trim();
    let is_question = line.answer == Answer::YesNo || ANSWERS.iter().all(|word| knows(line, word));
    let mut words = Vec::new();
    for part in text.split([' ', ',', ';', '\t']).map(str::trim).filter(|part| !part.is_empty()) {
        // What a spreadsheet makes of yes and no.
        let part = match part.to_lowercase().as_str() {
            "true" if is_question => "yes".to_owned(),
            "false" if is_question => "no".to_owned(),
            word => word.to_owned(),
        };
        match part.as_str() {
            "none" | "-" | "and" if !line.one_word => {}
            "-" if knows(line, "none") => words.push("none".to_owned()),
            word if knows(line, word) => words.push(part),
            _ => {
                let help = match line.answer {
                    Answer::YesNo => "write yes or no".to_owned(),
                    _ if line.one_word => format!("write one of: {}", line.words.join(", ")),
                    _ => format!("it knows: {}, or none", line.words.join(", ")),
                };
                let error = Diagnostic::error("unknown-word", format!("`{part}` is no word that this line knows"));
                let known = line.words.iter().map(String::as_str);
                log.suggest(error.at(&value.span, "").help(help), &part, known);
                return None;
            }
        }
    }
    if line.one_word && words.len() != 1 {
        let error = Diagnostic::error("unknown-word", format!("`{text}` is no answer to this line"));
        log.push(error.at(&value.span, "").help(format!("write one of: {}", line.words.join(", "))));
        return None;
    }
    Some(words)
}

fn knows(line: &Line, word: &str) -> bool {
    line.words.iter().any(|known| known.eq_ignore_ascii_case(word))
}

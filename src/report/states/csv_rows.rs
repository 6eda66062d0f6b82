//! The truth table for a spreadsheet: one row a light, one column a head.

use super::worst::{Worst, place, worst};
use super::{Row, States, hidden_lines};
use crate::judge::{Finding, Verdict};
use crate::report::csv_rows::as_text;

/// A row names at most this many settings.
const MOST_NAMED: usize = 8;

const HEADER: [&str; 14] = [
    "row",
    "settings",
    "states",
    "modes",
    "purposes",
    "verdict",
    "verdict_at_rest",
    "findings_at_rest",
    "findings_only_with",
    "least_margin",
    "least_margin_at",
    "head_margin",
    "head_margin_at",
    "hidden",
];

/// All rows.
pub(super) fn write(states: &States<'_>) -> String {
    let mut header: Vec<String> = HEADER.iter().map(|&title| title.to_owned()).collect();
    header.extend(states.wishes.changes.then(|| "changes".to_owned()));
    header.extend(states.wishes.when.is_some().then(|| "when".to_owned()));
    header.extend(states.conduct.package.heads.iter().map(|head| head.id.clone()));
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in std::iter::once(header).chain(states.rows.iter().map(|row| cells(states, row))) {
        // Writing to memory does not fail.
        let _ = writer.write_record(row.iter().map(|cell| as_text(cell)));
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

fn cells(states: &States<'_>, row: &Row<'_>) -> Vec<String> {
    let worst = worst(states, row);
    let words = |words: Vec<&str>| words.join("; ");
    let margin =
        |finding: Option<&Finding>| finding.and_then(|finding| finding.margin).map(|margin| margin.to_string());
    let at = |finding: Option<&Finding>| finding.map(|finding| place(states, finding).to_owned());
    let of_places = worst.as_ref().and_then(|worst| worst.least);
    let of_heads = worst.as_ref().and_then(|worst| worst.least_of_heads);
    let hidden = hidden_lines(states, &row.hidden.iter().collect::<Vec<_>>());
    let hidden = hidden.into_iter().map(|(when, what)| format!("with {when}: {what}"));
    let places =
        |findings: &[&Finding]| findings.iter().map(|finding| place(states, finding)).collect::<Vec<_>>().join("; ");
    let at_rest = worst.as_ref().map(|worst| places(&worst.at_rest));
    let only_with = worst.iter().flat_map(|worst| &worst.only_with);
    let only_with = only_with.map(|(with, having)| format!("with {with}: {}", places(having)));
    let verdict = |verdict: Option<Verdict>| verdict.map(|verdict| verdict.word().to_owned()).unwrap_or_default();
    let mut cells = vec![
        row.number.to_string(),
        states.settings(row, MOST_NAMED),
        row.states.to_string(),
        words(row.uses.iter().map(|used| used.mode).collect()),
        words(row.uses.iter().filter_map(|used| used.purpose).collect()),
        verdict(worst.as_ref().map(|worst| worst.verdict)),
        verdict(worst.as_ref().map(Worst::verdict_at_rest)),
        at_rest.unwrap_or_default(),
        only_with.collect::<Vec<_>>().join(" | "),
        margin(of_places).unwrap_or_default(),
        at(of_places).unwrap_or_default(),
        margin(of_heads).unwrap_or_default(),
        at(of_heads).unwrap_or_default(),
        hidden.collect::<Vec<_>>().join("; "),
    ];
    if states.wishes.changes {
        cells.push(row.told.join(" | "));
    }
    cells.extend(states.wishes.when.as_ref().map(|when| when.text.clone()));
    let head = |head: usize| {
        let phase = |lit: &super::Lit<'_>| lit.heads.iter().find(|(at, _)| *at == head).map(|(_, phase)| *phase);
        let shown = row.lit.iter().find_map(|lit| Some(lit.of_one(phase(lit)?)));
        shown.unwrap_or_default()
    };
    cells.extend((0..states.conduct.package.heads.len()).map(head));
    cells
}

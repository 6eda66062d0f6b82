//! The truth table for a spreadsheet: one row a light, one column a head.

use super::worst::{place, worst};
use super::{Row, States, hidden_lines, in_words};
use crate::judge::Finding;
use crate::report::csv_rows::as_text;

/// A row names at most this many settings.
const MOST_NAMED: usize = 8;

const HEADER: [&str; 12] = [
    "row",
    "settings",
    "states",
    "modes",
    "purposes",
    "verdict",
    "findings",
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
    header.extend(states.conduct.package.heads.iter().map(|head| head.id.clone()));
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in std::iter::once(header).chain(states.rows.iter().map(|row| cells(states, row))) {
        // Writing to memory does not fail.
        let _ = writer.write_record(row.iter().map(|cell| as_text(cell)));
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

fn cells(states: &States<'_>, row: &Row<'_>) -> Vec<String> {
    let space = states.conduct.space();
    let worst = worst(row);
    let words = |words: Vec<&str>| words.join("; ");
    let margin =
        |finding: Option<&Finding>| finding.and_then(|finding| finding.margin).map(|margin| margin.to_string());
    let at = |finding: Option<&Finding>| finding.map(|finding| place(states, finding).to_owned());
    let of_places = worst.as_ref().and_then(|worst| worst.least);
    let of_heads = worst.as_ref().and_then(|worst| worst.least_of_heads);
    let hidden = hidden_lines(states, &row.hidden.iter().collect::<Vec<_>>());
    let hidden = hidden.into_iter().map(|(when, what)| format!("with {when}: {what}"));
    let having = worst.iter().flat_map(|worst| &worst.having);
    let mut cells = vec![
        row.number.to_string(),
        in_words(space, &row.settings, row.whole, MOST_NAMED),
        row.states.to_string(),
        words(row.uses.iter().map(|used| used.mode).collect()),
        words(row.uses.iter().filter_map(|used| used.purpose).collect()),
        worst.as_ref().map(|worst| worst.verdict.word().to_owned()).unwrap_or_default(),
        words(having.map(|finding| place(states, finding)).collect()),
        margin(of_places).unwrap_or_default(),
        at(of_places).unwrap_or_default(),
        margin(of_heads).unwrap_or_default(),
        at(of_heads).unwrap_or_default(),
        hidden.collect::<Vec<_>>().join("; "),
    ];
    if states.wishes.changes {
        cells.push(row.told.join(" | "));
    }
    let head = |head: usize| {
        let phase = |lit: &super::Lit<'_>| lit.heads.iter().find(|(at, _)| *at == head).map(|(_, phase)| *phase);
        let shown = row.lit.iter().find_map(|lit| Some(lit.of_one(phase(lit)?)));
        shown.unwrap_or_default()
    };
    cells.extend((0..states.conduct.package.heads.len()).map(head));
    cells
}

//! CSV for spreadsheets: one row a finding, numbers plain, texts safe to open in a spreadsheet.

use super::text::setting;
use super::{Report, verdict_word};
use crate::judge::Found;
use crate::load::text::in_cell;
use crate::ruleset::Demand;

const HEADER: [&str; 26] = [
    "id", "verdict", "strength", "purpose", "mode", "level", "zone", "head", "emitter", "circuit", "supply", "sounder",
    "tone", "place", "rule", "required", "limit", "found", "unit", "margin", "basis", "evidence", "set", "look_at",
    "source", "note",
];

/// All findings as rows, then the cautions.
pub(super) fn write(report: &Report<'_>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut rows = vec![HEADER.map(str::to_owned)];
    for finding in report.findings().chain(report.cautions()) {
        let limit = match &finding.limit {
            Demand::Number(number) => number.to_string(),
            Demand::Range { from, to } => format!("{from}..{to}"),
            Demand::Words(words) => words.join(" "),
            Demand::Missing { .. } => String::new(),
        };
        let found = match &finding.found {
            Found::Number(number) => number.to_string(),
            Found::Words(words) => words.join(" "),
            Found::Nothing => String::new(),
        };
        let scope = &finding.scope;
        let word = |word: &Option<String>| word.clone().unwrap_or_default();
        let witness = &finding.witness;
        let place = [
            witness.bearing.map(|bearing| format!("{bearing} deg")),
            witness.elevation.filter(|elevation| *elevation != 0.0).map(|elevation| format!("{elevation} deg up")),
            witness.head.clone(),
        ];
        let place: Vec<String> = place.into_iter().flatten().collect();
        rows.push([
            finding.id.clone(),
            verdict_word(finding).to_owned(),
            finding.strength.word().to_owned(),
            word(&scope.purpose),
            word(&scope.mode),
            word(&scope.level),
            word(&scope.zone),
            word(&scope.head),
            word(&scope.emitter),
            word(&scope.circuit),
            word(&scope.supply),
            word(&scope.sounder),
            word(&scope.tone),
            word(&scope.place),
            finding.rule.clone(),
            finding.require.word().to_owned(),
            limit,
            found,
            finding.unit.symbol().to_owned(),
            finding.margin.map(|margin| margin.to_string()).unwrap_or_default(),
            finding.source.basis.word().to_owned(),
            finding.evidence.map(|grade| grade.word().to_owned()).unwrap_or_default(),
            setting(finding).unwrap_or_default(),
            place.join(", "),
            finding.source.in_words(),
            finding.note(),
        ]);
    }
    for row in rows {
        // Writing to memory does not fail.
        let _ = writer.write_record(row.iter().map(|cell| as_text(cell)));
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// A text that a spreadsheet would run as a formula gets an apostrophe before it; numbers stay numbers.
pub(super) fn as_text(cell: &str) -> String {
    if cell.parse::<f64>().is_ok() { cell.to_owned() } else { in_cell(cell).into_owned() }
}

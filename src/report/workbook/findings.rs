//! Every finding a row; `limit`, `found` and `margin` are the numbers of the record, in the unit beside them.

use super::super::text::setting;
use super::super::{Report, verdict_word};
use super::table::{Cell, Table};
use crate::judge::Found;
use crate::ruleset::Demand;
use crate::units::Dimension;

const HEAD: [&str; 31] = [
    "id",
    "verdict",
    "strength",
    "what is asked",
    "purpose",
    "mode",
    "level",
    "zone",
    "class",
    "head",
    "colour",
    "circuit",
    "supply",
    "sounder",
    "tone",
    "place",
    "item",
    "how compared",
    "limit",
    "limit to",
    "found",
    "in words",
    "unit",
    "margin (share of the limit, of levels dB)",
    "basis",
    "evidence",
    "set the vehicle to",
    "look at bearing (deg)",
    "look at elevation (deg)",
    "source",
    "note",
];

pub(super) fn table(report: &Report<'_>) -> Table {
    let mut table = Table::new("Findings", 2, &HEAD);
    for finding in report.findings().chain(report.cautions()) {
        let (limit, to, asked): (Cell, Cell, Option<String>) = match &finding.limit {
            Demand::Number(number) => ((*number).into(), Cell::Empty, None),
            Demand::Range { from, to } => ((*from).into(), (*to).into(), None),
            Demand::Words(words) => {
                let words = if words.is_empty() { "none".to_owned() } else { words.join(" ") };
                (Cell::Empty, Cell::Empty, Some(format!("asked: {words}")))
            }
            Demand::Missing { .. } => (Cell::Empty, Cell::Empty, Some("the limit is missing".to_owned())),
        };
        let (found, said): (Cell, Option<String>) = match &finding.found {
            Found::Number(number) => ((*number).into(), None),
            Found::Words(words) if words.is_empty() => (Cell::Empty, Some("found: none".to_owned())),
            Found::Words(words) => (Cell::Empty, Some(format!("found: {}", words.join(" ")))),
            Found::Nothing => (Cell::Empty, None),
        };
        let words: Vec<String> = [asked, said].into_iter().flatten().collect();
        let unit = if finding.unit.dimension() == Dimension::Words { "" } else { finding.unit.symbol() };
        let (scope, witness) = (&finding.scope, &finding.witness);
        let mut row: Vec<Cell> = vec![
            finding.id.as_str().into(),
            verdict_word(finding).into(),
            finding.strength.word().into(),
            finding.says.as_str().into(),
        ];
        let places = [
            &scope.purpose,
            &scope.mode,
            &scope.level,
            &scope.zone,
            &scope.class,
            &scope.head,
            &scope.emitter,
            &scope.circuit,
            &scope.supply,
            &scope.sounder,
            &scope.tone,
            &scope.place,
            &scope.item,
        ];
        row.extend(places.map(|place| Cell::from(place.clone())));
        row.extend([
            finding.require.word().into(),
            limit,
            to,
            found,
            words.join("; ").into(),
            unit.into(),
            finding.margin.into(),
            finding.source.basis.word().into(),
            finding.evidence.map_or("", crate::package::Grade::word).into(),
            setting(finding).into(),
            witness.bearing.into(),
            witness.elevation.into(),
            finding.source.in_words().into(),
            finding.note().into(),
        ]);
        table.rows.push(row);
    }
    table
}

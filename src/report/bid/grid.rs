//! The limits of one clause as a table: a row for each use, level and class, a column for each zone or colour.

use serde::Serialize;

use super::{figure, sign, unit_of, use_of};
use crate::bid::{Clause, Row};

/// A table of limits.
#[derive(Debug, Serialize)]
pub(super) struct Grid {
    /// What all cells have in common: `at least, in cd.s/min`.
    pub over: String,
    /// What stands over the columns; the first is the row's own.
    pub heads: Vec<String>,
    /// Each row: what it holds for, then its cells.
    pub rows: Vec<(String, Vec<String>)>,
}

pub(super) fn grid(clause: &Clause) -> Grid {
    let mut columns: Vec<Option<String>> = Vec::new();
    let mut rows: Vec<(Vec<String>, Vec<&Row>)> = Vec::new();
    for row in &clause.rows {
        let here = column(row);
        if !columns.contains(&here) {
            columns.push(here.clone());
        }
        let label = label(row);
        // Two rows on one scope stand one below the other: nothing is hidden.
        let place =
            rows.iter_mut().find(|(known, cells)| *known == label && cells.iter().all(|cell| column(cell) != here));
        match place {
            Some((_, cells)) => cells.push(row),
            None => rows.push((label, vec![row])),
        }
    }
    let bases: Vec<_> = clause.rows.iter().map(|row| clause.basis_of(row)).collect();
    let one_basis = bases.windows(2).all(|pair| matches!(pair, [one, other] if one == other));
    let cell = |row: &&Row| {
        let basis = clause.basis_of(row).filter(|_| !one_basis && !row.is_missing());
        format!(
            "{}{}",
            figure(row.demand.as_ref()),
            basis.map(|basis| format!(" [{}]", basis.word())).unwrap_or_default()
        )
    };
    let cells = |row: &[&Row]| {
        let of = |title: &Option<String>| row.iter().find(|row| column(row) == *title).map(cell).unwrap_or_default();
        columns.iter().map(of).collect::<Vec<_>>()
    };
    let rows = rows.iter().map(|(label, row)| {
        let label = if label.is_empty() { "all".to_owned() } else { label.join(", ") };
        (label, cells(row))
    });
    let unit = unit_of(clause);
    let unit = if unit.is_empty() { String::new() } else { format!("in {unit}") };
    let over: Vec<&str> = [sign(clause), &unit].into_iter().filter(|part| !part.is_empty()).collect();
    Grid {
        over: over.join(", "),
        heads: columns.iter().map(|title| title.clone().unwrap_or_else(|| "limit".to_owned())).collect(),
        rows: rows.collect(),
    }
}

/// What stands over a limit's column: its zone or its colour.
fn column(row: &Row) -> Option<String> {
    row.zone.as_ref().map(|zone| format!("zone {zone}")).or_else(|| row.colour.clone())
}

fn label(row: &Row) -> Vec<String> {
    let light = row.zone.as_ref().and(row.colour.as_ref()).map(|colour| format!("{colour} light"));
    let class = row.class.as_ref().map(|class| format!("class {class}"));
    [use_of(row), row.level.clone(), light, class, row.item.clone()].into_iter().flatten().collect()
}

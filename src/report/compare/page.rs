//! Offers side by side as a page, for the record of an award.

use serde::Serialize;

use super::{HOW_TO_READ, Offers, better, exceptions, failures, how_many, said, standing_of, unknowns};
use crate::compare::OfferPart;
use crate::report::change::quoted;
use crate::report::paper::in_html_of;

#[derive(Serialize)]
struct Page<'a> {
    how_to_read: String,
    rulesets: String,
    remarks: Vec<String>,
    offers: Vec<One<'a>>,
    parts: Vec<Part>,
}

/// One offer, and what is open in it.
#[derive(Serialize)]
struct One<'a> {
    label: &'a str,
    name: &'a str,
    file: &'a str,
    stands: String,
    fails: Vec<String>,
    open: Vec<String>,
    how_many: String,
    exceptions: Vec<String>,
}

#[derive(Serialize)]
struct Part {
    title: &'static str,
    rows: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    name: String,
    better: &'static str,
    cells: Vec<Cell>,
}

#[derive(Serialize)]
struct Cell {
    text: String,
    best: bool,
    open: bool,
}

/// Writes the page.
pub(super) fn write(offers: &Offers<'_>) -> Result<Vec<u8>, String> {
    let first = offers.reports.first().ok_or("there are no offers")?;
    let of_part = |part: OfferPart| {
        let rows = offers.rows.iter().filter(|row| row.part == part).map(|row| Row {
            name: row.name.clone(),
            better: better(row),
            cells: row
                .cells
                .iter()
                .map(|cell| Cell { text: said(row, cell), best: cell.best, open: cell.open.is_some() })
                .collect(),
        });
        rows.collect::<Vec<Row>>()
    };
    let parts = OfferPart::ALL.iter().map(|(part, title)| Part { title, rows: of_part(*part) });
    let page = Page {
        how_to_read: quoted(HOW_TO_READ),
        rulesets: offers.rulesets(),
        remarks: offers.remarks().iter().map(|remark| quoted(remark)).collect(),
        offers: offers
            .labels
            .iter()
            .zip(offers.reports)
            .map(|(label, report)| One {
                label,
                name: &report.package().vehicle.name,
                file: &report.package().file,
                stands: standing_of(report),
                fails: failures(report),
                open: unknowns(report),
                how_many: how_many(report),
                exceptions: exceptions(report),
            })
            .collect(),
        parts: parts.filter(|part| !part.rows.is_empty()).collect(),
    };
    in_html_of("compare.html", "Offers side by side", first.as_of, offers.inputs, page)
}

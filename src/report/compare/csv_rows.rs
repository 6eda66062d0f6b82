//! Offers side by side as CSV: a row a figure, then what is open and excepted, then the files that it was made from.

use super::{HOW_TO_READ, Offers, better, exceptions, failures, said, standing_of, unknowns};
use crate::compare::OfferPart;
use crate::report::CAUTIONS;
use crate::report::csv_rows::as_text;

/// All rows.
pub(super) fn write(offers: &Offers<'_>) -> String {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let lead = |what: &str, name: &str, better: &str| vec![what.to_owned(), name.to_owned(), better.to_owned()];
    let mut header = lead("part", "figure", "better");
    // The bare number stands beside what is said, so that a spreadsheet can sort and sum it.
    for label in offers.labels {
        header.extend([label.clone(), format!("{label}: number"), format!("{label}: best")]);
    }
    rows.push(header);
    let mut vehicle = lead("offer", "vehicle and file", "");
    for (_, report) in offers.named() {
        let package = report.package();
        vehicle.extend([format!("{} ({})", package.vehicle.name, package.file), String::new(), String::new()]);
    }
    rows.push(vehicle);
    let mut stands = lead("offer", "how it stands", "");
    offers.named().for_each(|(_, report)| stands.extend([standing_of(report), String::new(), String::new()]));
    rows.push(stands);
    for (part, title) in OfferPart::ALL {
        for row in offers.rows.iter().filter(|row| row.part == part) {
            let mut cells = lead(title, &row.name, better(row));
            for cell in &row.cells {
                let number = cell.value.filter(|_| cell.open.is_none()).map(|value| value.to_string());
                let best = if cell.best { "best" } else { "" };
                cells.extend([said(row, cell), number.unwrap_or_default(), best.to_owned()]);
            }
            rows.push(cells);
        }
    }
    for (at, (_, report)) in offers.named().enumerate() {
        let mut list = |what: &str, text: String| {
            let mut cells = lead(what, "", "");
            cells.resize(3 + 3 * at, String::new());
            cells.push(text);
            rows.push(cells);
        };
        if let Some(misfit) = offers.misfit(at) {
            list("does not fit", misfit);
        }
        failures(report).into_iter().for_each(|line| list("fails", line));
        unknowns(report).into_iter().for_each(|line| list("open", line));
        exceptions(report).into_iter().for_each(|line| list("exception", line));
    }
    let day = offers.reports.first().map(|first| format!("judged as of {} by {}", first.as_of, offers.rulesets()));
    let remarks = offers.remarks.iter().cloned().chain(offers.states());
    let said = day.into_iter().chain(remarks).chain([HOW_TO_READ.to_owned()]);
    let said = said.chain(CAUTIONS.iter().map(|caution| (*caution).to_owned()));
    rows.extend(said.map(|line| lead("read this", &line, "")));
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for row in rows {
        // Writing to memory does not fail.
        let _ = writer.write_record(row.iter().map(|cell| as_text(cell)));
    }
    for file in crate::report::paper::made_from(offers.inputs).lines() {
        let _ = writer.write_record([file]);
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

//! Offers side by side for a terminal.

use comfy_table::{ContentArrangement, Table, presets};

use super::{HOW_TO_READ, Offers, exceptions, failures, how_many, said, standing_of, unknowns};
use crate::compare::OfferPart;
use crate::report::CAUTIONS;
use crate::report::text::{heading, paragraph};

/// The whole text.
pub(super) fn write(offers: &Offers<'_>) -> String {
    let mut out = String::new();
    let width = offers.reports.first().map_or(100, |report| report.width);
    for (label, report) in offers.named() {
        let package = report.package();
        let line = format!("{label}: {} ({}): {}", package.vehicle.name, package.file, standing_of(report));
        paragraph(&line, "   ", width, &mut out);
    }
    if let Some(first) = offers.reports.first() {
        let line = format!("all judged as of {} by {}", first.as_of, offers.rulesets());
        paragraph(&line, "  ", width, &mut out);
    }
    offers.remarks().iter().for_each(|remark| paragraph(&format!("! {remark}"), "  ", width, &mut out));
    paragraph(HOW_TO_READ, "", width, &mut out);
    for (part, title) in OfferPart::ALL {
        let of_it: Vec<_> = offers.rows.iter().filter(|row| row.part == part).collect();
        if of_it.is_empty() {
            continue;
        }
        heading(title, width, &mut out);
        let mut table = Table::new();
        table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
        table.set_header(std::iter::once("").chain(offers.labels.iter().map(String::as_str)));
        for row in of_it {
            let cells = row.cells.iter().map(|cell| said(row, cell));
            table.add_row(std::iter::once(row.name.clone()).chain(cells));
        }
        for column in table.column_iter_mut() {
            column.set_padding((0, 2));
        }
        for line in table.lines() {
            out.push_str(line.trim_end());
            out.push('\n');
        }
    }
    heading("What fails", width, &mut out);
    for (label, report) in offers.named() {
        let fails = failures(report);
        let nothing = if fails.is_empty() { " nothing that is required" } else { "" };
        paragraph(&format!("{label}:{nothing}"), "  ", width, &mut out);
        fails.iter().for_each(|line| paragraph(&format!("  X {line}"), "    ", width, &mut out));
    }
    heading("What is open", width, &mut out);
    for (label, report) in offers.named() {
        let open = unknowns(report);
        let nothing = if open.is_empty() { " nothing that is required" } else { "" };
        paragraph(&format!("{label}:{nothing}"), "  ", width, &mut out);
        open.iter().for_each(|line| paragraph(&format!("  ? {line}"), "    ", width, &mut out));
    }
    heading("Exceptions", width, &mut out);
    for (label, report) in offers.named() {
        let all = exceptions(report);
        paragraph(&format!("{label}: {}", how_many(report)), "  ", width, &mut out);
        all.iter().for_each(|line| paragraph(&format!("  - {line}"), "    ", width, &mut out));
    }
    heading("Take care", width, &mut out);
    CAUTIONS.iter().for_each(|caution| paragraph(&format!("- {caution}"), "  ", width, &mut out));
    out
}

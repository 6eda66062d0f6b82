//! A bid for a terminal.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use super::grid::grid;
use super::{BidPaper, before, by_heading, colours, demanded, layouts, parts, warnings, weight};
use crate::bid::{Bid, Clause};
use crate::report::CAUTIONS;
use crate::report::paper::made_from;
use crate::report::text::{heading, paragraph};

pub(super) fn write(paper: &BidPaper<'_>) -> String {
    let (bid, width) = (paper.bid, paper.width);
    let mut out = String::new();
    paragraph(bid.title.as_deref().unwrap_or("Requirements of a bid"), "  ", width, &mut out);
    warnings(bid).iter().for_each(|line| paragraph(&format!("- {line}"), "  ", width, &mut out));
    if !bid.rests_on.is_empty() {
        heading("What it rests on", width, &mut out);
        bid.rests_on.iter().for_each(|line| paragraph(&format!("- {line}"), "  ", width, &mut out));
    }
    if !bid.layouts.is_empty() {
        heading("Zones, levels and flashes", width, &mut out);
        for (name, lines) in layouts(bid) {
            paragraph(&name, "", width, &mut out);
            lines.iter().for_each(|line| paragraph(&format!("- {line}"), "  ", width, &mut out));
        }
    }
    let regions = colours::regions(paper);
    if !regions.is_empty() {
        heading("Colour regions that clauses name", width, &mut out);
        paragraph(colours::REGIONS, "", width, &mut out);
        for (title, lines) in regions {
            paragraph(&title, "  ", width, &mut out);
            lines.iter().for_each(|line| paragraph(&format!("- {line}"), "  ", width, &mut out));
        }
    }
    for (title, clauses) in by_heading(bid) {
        heading(title.title(), width, &mut out);
        clauses.iter().for_each(|one| clause(bid, one, width, &mut out));
    }
    if !bid.free.is_empty() {
        heading("What stays free", width, &mut out);
        for free in &bid.free {
            let basis = free.basis.map(|basis| format!(" [{}]", basis.word())).unwrap_or_default();
            let source = free.source.as_deref().unwrap_or("not said");
            paragraph(&format!("- {} Source: {source}{basis}", free.says), "  ", width, &mut out);
        }
    }
    heading("Acceptance", width, &mut out);
    if !bid.precedence.is_empty() {
        paragraph(&format!("precedence: {}", bid.precedence.join(", then ")), "  ", width, &mut out);
    }
    let parts = bid.acceptance.parts();
    let named = parts.iter().map(|(key, said)| (*key, said.as_deref())).chain([("equals", bid.equals.as_deref())]);
    for (key, said) in named {
        paragraph(&format!("{key}: {}", said.unwrap_or("not said")), "  ", width, &mut out);
    }
    heading("Take care", width, &mut out);
    CAUTIONS.iter().for_each(|caution| paragraph(&format!("- {caution}"), "  ", width, &mut out));
    out.push_str(&format!("\nMade from, as of {}:\n{}", paper.as_of, made_from(paper.inputs)));
    out
}

fn clause(bid: &Bid, clause: &Clause, width: u16, out: &mut String) {
    out.push('\n');
    paragraph(&format!("{} ({})", clause.id, weight(clause)), "  ", width, out);
    paragraph(&format!("  {}", clause.says), "  ", width, out);
    if let [alone] = clause.rows.as_slice() {
        paragraph(
            &format!("  Limit: {}{}", before(alone), demanded(clause, alone.demand.as_ref())),
            "    ",
            width,
            out,
        );
    } else if clause.rows.is_empty() {
        paragraph("  Limit: not said", "    ", width, out);
    } else {
        limits(clause, width, out);
    }
    for (label, said) in parts(bid, clause) {
        paragraph(&format!("  {label}: {said}"), "    ", width, out);
    }
}

fn limits(clause: &Clause, width: u16, out: &mut String) {
    let grid = grid(clause);
    paragraph(&format!("  Limits: {}", grid.over), "    ", width, out);
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
    table.set_header(std::iter::once("    for".to_owned()).chain(grid.heads));
    for (label, cells) in grid.rows {
        table.add_row(std::iter::once(format!("    {label}")).chain(cells));
    }
    for (at, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        if at > 0 {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    for line in table.lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

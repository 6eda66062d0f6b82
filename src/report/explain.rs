//! How one finding came about: the rule, the heads with their shares, and what was left out.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use super::number::{margin, pair};
use super::{CAUTIONS, source_line};
use crate::judge::Finding;
use crate::quantity::{Part, Quantity, Working};
use crate::ruleset::Demand;
use crate::units::format_number;

/// The page for one finding. `working` is what its value is made of.
pub fn explain(finding: &Finding, quantity: Option<&Quantity>, working: &Working, width: u16) -> String {
    let mut out = String::new();
    let mut line = |text: String| {
        out.push_str(text.trim_end());
        out.push('\n');
    };
    let (found, required) = pair(finding);
    let unit = finding.unit.symbol();
    line(finding.id.clone());
    line(String::new());
    line(format!("asks      {}", finding.says));
    if let Some(quantity) = quantity {
        line(format!("quantity  {}: {}", quantity.name, quantity.says));
    }
    line(format!("required  {required} {}", if matches!(finding.limit, Demand::Missing { .. }) { "" } else { unit }));
    line(format!("found     {found} {unit}"));
    line(format!("margin    {}", if finding.margin.is_some() { margin(finding) } else { "none".to_owned() }));
    line(format!("verdict   {}", finding.verdict.print()));
    line(format!("source    {} [{}]", source_line(&finding.source), finding.source.basis.word()));
    if let Some(grade) = finding.evidence {
        line(format!("evidence  {} (the weakest of the heads that contribute)", grade.word()));
    }
    if let Some(mode) = &finding.witness.state {
        line(format!("state     mode {mode}"));
    }
    if let Some(bearing) = finding.witness.bearing {
        let up = finding.witness.elevation.unwrap_or(0.0);
        line(format!("look at   bearing {bearing} deg, elevation {up} deg"));
    }
    if let Some(head) = &finding.witness.head {
        line(format!("head      {head}"));
    }
    if let Some(method) = &finding.method {
        line(format!("method    {method}"));
    }
    for note in &finding.notes {
        line(format!("note      {note}"));
    }
    if let Some(what) = &finding.would_show {
        line(format!("shown by  {what}"));
    }
    if let Some(quantity) = quantity {
        line(format!("by hand   {}", quantity.by_hand));
    }
    if !working.parts.is_empty() {
        line(String::new());
        line(parts_table(&working.parts, unit, width));
    }
    if !working.lines.is_empty() {
        line(String::new());
        line("working".to_owned());
        for one in &working.lines {
            line(format!("  {one}"));
        }
    }
    if !working.left_out.is_empty() {
        line(String::new());
        line("lit, and not counted here".to_owned());
        let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
        for (head, why) in &working.left_out {
            match reasons.iter_mut().find(|(known, _)| known == why) {
                Some((_, heads)) => heads.push(head),
                None => reasons.push((why, vec![head])),
            }
        }
        for (why, heads) in reasons {
            line(format!("  {why}: {}", heads.join(", ")));
        }
    }
    line(String::new());
    for caution in CAUTIONS {
        line(format!("- {caution}"));
    }
    out
}

fn parts_table(parts: &[Part], unit: &str, width: u16) -> String {
    let total: f64 = parts.iter().map(|part| part.adds).sum();
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_content_arrangement(ContentArrangement::Dynamic).set_width(width.max(100));
    table.set_header(vec![
        "head", "colour", unit, "share", "strongest at", "lamp H", "lamp V", "candela", "on", "points", "evidence",
    ]);
    for part in parts {
        let share = if total > 0.0 { format!("{} %", format_number(part.adds / total * 100.0, 1)) } else { String::new() };
        let elevation = if part.elevation.value() == 0.0 { String::new() } else { format!(" {:+}", part.elevation.value()) };
        let points = part.points;
        let counts = [("lit", points.lit), ("hidden", points.hidden), ("behind", points.behind), ("no data", points.no_data)];
        let counts = counts.iter().filter(|(_, count)| *count > 0).map(|(word, count)| format!("{count} {word}"));
        table.add_row(vec![
            part.head.clone(),
            part.colour.clone(),
            format_number(part.adds, 1),
            share,
            format!("{}{elevation} deg", part.bearing.value()),
            format_number(part.lamp.0.value(), 2),
            format_number(part.lamp.1.value(), 2),
            part.intensity.map(|intensity| format_number(intensity, 1)).unwrap_or_default(),
            format!("{} %", format_number(part.on_fraction * 100.0, 2)),
            counts.collect::<Vec<_>>().join(", "),
            match &part.report {
                Some(report) => format!("{} {report}", part.evidence.word()),
                None => part.evidence.word().to_owned(),
            },
        ]);
    }
    table.add_row(vec![String::from("together"), String::new(), format_number(total, 1), "100 %".to_owned()]);
    for (at, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        if matches!(at, 2 | 3 | 5..=8) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let lines: Vec<String> = table.lines().map(|line| line.trim_end().to_owned()).collect();
    lines.join("\n")
}

//! The first sheet: what came out, what to know, and what it was made from.

use rust_xlsxwriter::{Format, FormatAlign, Workbook, XlsxError};

use super::super::CAUTIONS;
use super::super::paper::{Paper, made_from};
use super::table::{bold, fitting, footer, height, lines as lines_of};
use crate::judge::Status;

/// Letters side by side.
const WIDTH: u32 = 110;

/// The sheet that says, a line a cell, which files the workbook was made from.
pub const NAME: &str = "About";

pub(super) fn write(paper: &Paper<'_>, workbook: &mut Workbook) -> Result<(), XlsxError> {
    let report = paper.report;
    let package = report.package();
    let summary = report.judged.summary;
    let counts = summary.required;
    let verdict = match summary.status() {
        Status::Met => "Every required rule that was judged is met by what the files say.",
        Status::Failed => "At least one required rule is not met.",
        Status::Open => "No required rule fails, but something is open.",
    };
    let mut lines: Vec<(&str, String)> = vec![
        ("Vehicle", package.vehicle.name.clone()),
        ("Owner", package.vehicle.owner.clone().unwrap_or_default()),
        ("As of", report.as_of.to_string()),
        ("Result", verdict.to_owned()),
        (
            "Required findings",
            format!(
                "{} pass, {} fail, {} too close, {} not shown, {} not applicable, {} excepted; {} of these rest on a limit known from memory, {} on an estimate",
                counts.pass,
                counts.fail,
                counts.too_close,
                counts.not_shown,
                counts.not_applicable,
                counts.excepted,
                counts.on_memory,
                counts.on_estimate
            ),
        ),
    ];
    lines.extend(package.doubts.iter().map(|doubt| ("Doubts about the package", doubt.clone())));
    for ruleset in report.rulesets {
        lines.push(("Ruleset", format!("{} ({}), edition {}", ruleset.id, ruleset.title, ruleset.edition)));
        for overlay in &ruleset.overlays {
            lines.push(("Overlay", format!("{}, edition {}, on {}", overlay.id, overlay.edition, ruleset.id)));
        }
        lines.push(("Who decides", ruleset.defers_to.clone()));
    }
    lines.extend(CAUTIONS.iter().map(|caution| ("Take care", (*caution).to_owned())));
    lines.extend(report.cautions().map(|finding| ("Take care", format!("{}: {}", finding.id, finding.says))));
    lines.push((
        "Sheets",
        "Lamps and Circuits can be edited and read again: `wayproof import THIS-FILE --onto PACKAGE -o DIR`. The other sheets are results; editing them changes nothing. Readings are filled in on the acceptance sheet, which `wayproof readings` reads, and not here.".to_owned(),
    ));
    lines.push(("Made by", format!("{} {}", env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION"))));
    // The lines are read again by `report --verify`: one a cell.
    let files = made_from(paper.inputs);
    lines.extend(files.lines().map(|line| ("Made from", line.to_owned())));
    let sheet = workbook.add_worksheet();
    sheet.set_name(NAME)?;
    let label = bold().set_align(FormatAlign::Top);
    let text = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    let mut before = "";
    for (row, (name, said)) in (0..).zip(&lines) {
        if *name != before {
            sheet.write_string_with_format(row, 0, *name, &label)?;
        }
        sheet.write_string_with_format(row, 1, fitting(said), &text)?;
        sheet.set_row_height(row, height(lines_of(said, WIDTH)))?;
        before = name;
    }
    sheet.set_column_width(0, 18)?;
    sheet.set_column_width(1, WIDTH)?;
    let last = u32::try_from(lines.len()).unwrap_or(1).saturating_sub(1);
    sheet.set_print_area(0, 0, last, 1)?;
    sheet.set_print_fit_to_pages(1, 0);
    footer(sheet);
    Ok(())
}

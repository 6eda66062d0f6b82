//! The workbook: everything that is known of one vehicle as sheets of a spreadsheet, one table a sheet, numbers as
//! numbers in the unit that the head of their column names.
//!
//! Every text is written as text, so that nothing a file says can become a formula. The sheets `Lamps` and `Circuits`
//! are read again by `wayproof import`.

mod about;
mod bearings;
mod findings;
mod lamps;
mod power;
mod readings;
mod sources;
mod table;

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Workbook};

use super::paper::Paper;

pub use about::NAME as ABOUT_SHEET;

/// Writes the workbook.
pub(super) fn write(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let report = paper.report;
    let mut workbook = Workbook::new();
    let day = report.as_of;
    let (year, month, day) = (day.year, day.month, day.day);
    let made = ExcelDateTime::from_ymd(year, month, day).map_err(|error| error.to_string())?;
    let title = format!("{}: warning devices", report.package().vehicle.name);
    // The day of judgement, so that the same files and day give the same bytes.
    let properties = DocProperties::new().set_title(title).set_creation_datetime(&made);
    workbook.set_properties(&properties);
    about::write(paper, &mut workbook).map_err(|error| error.to_string())?;
    let tables = [
        lamps::table(report),
        findings::table(report),
        bearings::table(report),
        power::analysis(report),
        power::circuits(report),
        readings::table(paper),
        sources::limits(report),
        sources::evidence(report),
    ];
    for table in &tables {
        table.write(&mut workbook).map_err(|error| format!("sheet {}: {error}", table.name))?;
    }
    workbook.save_to_buffer().map_err(|error| error.to_string())
}

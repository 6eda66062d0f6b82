//! What was measured on the vehicle: the heads of the columns, to be filled in by whoever measures.

use super::super::Report;
use super::table::Table;

/// No reading is known yet; the sheet is the form.
pub(super) fn table(_: &Report<'_>) -> Table {
    let head = [
        "of what",
        "id",
        "what is measured",
        "reading",
        "unit",
        "expanded uncertainty, k = 2",
        "instrument",
        "serial of the instrument",
        "calibration due",
        "state of the vehicle",
        "by",
        "on",
    ];
    Table::new("Readings", 2, &head)
}

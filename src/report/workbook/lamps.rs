//! The lamps as a schedule: every head a row, as `heads.csv` has it, and what the package says beside.

use super::super::Report;
use super::table::{Cell, Table};
use crate::package::{BESIDE, Beside, Written, beside};

pub(super) fn table(report: &Report<'_>) -> Table {
    let package = report.package();
    let mut table = Table::new("Lamps", 1, &[]);
    let Some(unit) = Written::unit_of(package) else { return table };
    let lengths = ["behind-front", "right", "height"].map(|name| format!("{name} ({unit})"));
    let angles = ["faces (deg)", "tilt (deg)", "wedge (deg)", "roll (deg)"].map(str::to_owned);
    let words = ["level", "role", "circuit", "output", "clock", "serial", "mirrored beam"].map(str::to_owned);
    table.head = ["id", "model", "groups"].map(str::to_owned).into_iter().chain(lengths).collect();
    table.head.extend(angles.into_iter().chain(words).chain(["colours".to_owned()]));
    // What `import` leaves aside, and compares with what stands here.
    table.head.extend(BESIDE.map(str::to_owned));
    for head in &package.heads {
        let at = Written::of(head, &package.vehicle, unit);
        let model = package.models.get(head.model);
        let emitters = model.into_iter().flat_map(|model| &model.emitters);
        let colours: Vec<&str> = emitters.map(|emitter| emitter.colour.as_str()).collect();
        let mut row: Vec<Cell> = vec![
            head.id.as_str().into(),
            model.map_or("", |model| &model.id).into(),
            head.groups.join(" ").into(),
            at.behind_front.into(),
            at.right.into(),
            at.height.into(),
            at.faces.into(),
            at.tilt.into(),
            at.wedge.into(),
            at.roll.into(),
            head.level.clone().into(),
            head.role.word().into(),
            head.circuit.clone().into(),
            head.output.clone().into(),
            head.clock.clone().into(),
            head.serial.clone().into(),
            if head.mirrored_beam { "yes".into() } else { Cell::Empty },
            colours.join(" ").into(),
        ];
        row.extend(beside(Some(head), model).map(|beside| match beside {
            Beside::Nothing => Cell::Empty,
            Beside::Number(number) => number.into(),
            Beside::Words(words) => words.into(),
        }));
        table.rows.push(row);
    }
    table
}

//! The lamps as a schedule: every head a row, as `heads.csv` has it, and what the package says beside.

use super::super::Report;
use super::table::{Cell, Table};
use crate::package::{Package, Written};
use crate::units::Unit;

/// The unit in which the places of the lamps were most likely measured: the one that takes fewer digits.
pub(super) fn unit_of(package: &Package) -> Option<Unit> {
    let known = ["in", "mm"].into_iter().filter_map(Unit::parse);
    let digits = |unit: &Unit| -> usize {
        package.heads.iter().map(|head| Written::of(head, &package.vehicle, *unit).digits()).sum()
    };
    known.min_by_key(digits)
}

pub(super) fn table(report: &Report<'_>) -> Table {
    let package = report.package();
    let mut table = Table::new("Lamps", 1, &[]);
    let Some(unit) = unit_of(package) else { return table };
    let lengths = ["behind-front", "right", "height"].map(|name| format!("{name} ({unit})"));
    let angles = ["faces (deg)", "tilt (deg)", "roll (deg)"].map(str::to_owned);
    let words = ["level", "role", "circuit", "output", "clock", "serial", "mirrored beam"].map(str::to_owned);
    let more = ["glass before it (%)", "other places", "maker", "colours", "evidence"].map(str::to_owned);
    table.head = ["id", "model", "groups"].map(str::to_owned).into_iter().chain(lengths).collect();
    table.head.extend(angles.into_iter().chain(words).chain(more));
    for head in &package.heads {
        let at = Written::of(head, &package.vehicle, unit);
        let model = package.models.get(head.model);
        let emitters = || model.into_iter().flat_map(|model| &model.emitters);
        let colours: Vec<&str> = emitters().map(|emitter| emitter.colour.as_str()).collect();
        let evidence = emitters().map(|emitter| emitter.evidence.grade).max();
        let poses = head.poses.len();
        table.rows.push(vec![
            head.id.as_str().into(),
            model.map_or("", |model| &model.id).into(),
            head.groups.join(" ").into(),
            at.behind_front.into(),
            at.right.into(),
            at.height.into(),
            at.faces.into(),
            at.tilt.into(),
            at.roll.into(),
            head.level.clone().into(),
            head.role.word().into(),
            head.circuit.clone().into(),
            head.output.clone().into(),
            head.clock.clone().into(),
            head.serial.clone().into(),
            if head.mirrored_beam { "yes".into() } else { Cell::Empty },
            head.glass.map(|glass| glass.value() * 100.0).into(),
            if poses > 0 { format!("{poses}, see the package").into() } else { Cell::Empty },
            model.and_then(|model| model.maker.clone()).into(),
            colours.join(" ").into(),
            evidence.map_or("", crate::package::Grade::word).into(),
        ]);
    }
    table
}

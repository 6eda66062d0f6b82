//! The key `device` of a rule on single devices: of which it speaks, and at which of the lamp's own angles one looks.

use crate::load::reader::{Node, Table};
use crate::quantity::{Angle, DEVICE_KINDS, DeviceTerms};
use crate::units::Degrees;

/// Many times what any requirement looks at.
const MOST_ANGLES: usize = 20_000;

/// Reads `{ of = "...", angles = { h = ..., v = ... } }`.
pub(super) fn read_device(node: &Node<'_>) -> Option<DeviceTerms> {
    let mut table = node.table()?.named("`device`");
    let of = table.get("of").map_or(Some(Default::default()), |node| node.word(DEVICE_KINDS));
    let angles = table.get("angles").map_or(Some(Vec::new()), |node| read_angles(&node));
    table.finish();
    Some(DeviceTerms { of: of?, angles: angles? })
}

/// Every H at every V.
fn read_angles(node: &Node<'_>) -> Option<Vec<Angle>> {
    let mut table = node.table()?.named("`angles`");
    let h = table.require("h").and_then(|node| read_axis(&node, 180.0));
    let v = table.require("v").and_then(|node| read_axis(&node, 90.0));
    table.finish();
    let (h, v) = (h?, v?);
    if h.len().saturating_mul(v.len()) > MOST_ANGLES {
        node.error("too-many-points", "these are more directions than anyone measures", "widen the step");
        return None;
    }
    Some(v.iter().flat_map(|v| h.iter().map(|h| Angle { h: *h, v: *v })).collect())
}

/// A list of angles, or `{ from, to, step }`, its ends included.
fn read_axis(node: &Node<'_>, most: f64) -> Option<Vec<Degrees>> {
    let (low, high) = (Degrees::new(-most), Degrees::new(most));
    let range = format!("-{most} to {most} deg");
    if !node.is_table() {
        let listed = node.list();
        if listed.is_empty() && node.is_list() {
            node.error("no-angles", "no angle is listed", "for example [\"-5 deg\", \"0 deg\", \"5 deg\"]");
            return None;
        }
        return listed.iter().map(|node| node.within(low, high, &range)).collect();
    }
    let mut table: Table<'_> = node.table()?;
    let mut end = |key| table.require(key).and_then(|node| node.within(low, high, &range));
    let (from, to) = (end("from"), end("to"));
    let step =
        table.require("step").and_then(|node| node.within(Degrees::new(0.1), Degrees::new(90.0), "0.1 to 90 deg"));
    table.finish();
    let (from, to, step) = (from?.value(), to?.value(), step?.value());
    if from > to {
        node.error("bad-range", "the lower end of a range comes first", "exchange `from` and `to`");
        return None;
    }
    // Counted, not added up, so that the last one is `to` itself.
    let steps = (0_u32..).map(f64::from).map(|step_at| from + step_at * step);
    Some(steps.take_while(|angle| *angle <= to + 1e-9).map(Degrees::new).collect())
}

//! The key `device` of a rule on single devices: of which it speaks, at which of the lamp's own angles one looks, and by
//! which method.

use crate::diagnostic::{Diagnostic, Log, Span};
use crate::flash::EffectiveMethod;
use crate::load::reader::{Node, Table, Text, transpose};
use crate::quantity::{
    Angle, DEVICE_KINDS, DEVICE_LIGHTS, DeviceKey, DeviceTerms, Measure, Quantity, TablePoint, device_keys,
};
use crate::units::{Candela, Degrees, Length, Share};

/// Many times what any requirement looks at.
const MOST_ANGLES: usize = 20_000;

/// Reads `{ of = "...", angles = { h = ..., v = ... }, effective = "...", ... }`.
pub(crate) fn read_device(node: &Node<'_>) -> Option<DeviceTerms> {
    let mut table = node.table()?.named("`device`");
    let of = table.get("of").map_or(Some(Default::default()), |node| node.word(DEVICE_KINDS));
    let light = table.get("light").map_or(Some(Default::default()), |node| node.word(DEVICE_LIGHTS));
    let angles = table.get("angles").map_or(Some(Vec::new()), |node| read_angles(&node));
    let effective = table.get("effective").map(|node| node.word(EffectiveMethod::WORDS));
    let points = table.get("table").map_or(Some(Vec::new()), |node| read_table(&node));
    let reaim = table.get("reaim").map(|node| read_reaim(&node));
    let distance = table.get("distance").map(|node| node.positive::<Length>());
    let group = table.get("group").map(|node| node.id());
    let share = table.get("share").map(|node| node.within(Share::ZERO, Share::new(1.0), "0 to 100 %"));
    let lit_above = table.get("lit-above").map(|node| node.within(Share::ZERO, Share::new(1.0), "0 to 100 %"));
    let dark_below = table.get("dark-below").map(|node| node.positive::<Candela>());
    table.finish();
    let (lit_above, dark_below) = (transpose(lit_above)?, transpose(dark_below)?);
    let (effective, reaim) = (transpose(effective)?, transpose(reaim)?);
    let (distance, share, group) = (transpose(distance)?, transpose(share)?, transpose(group)?);
    let group = group.map(|group| group.text);
    Some(DeviceTerms {
        of: of?,
        light: light?,
        group,
        angles: angles?,
        effective,
        table: points?,
        reaim,
        distance,
        share,
        lit_above,
        dark_below,
    })
}

/// What a quantity needs and does not find in `device`, and what it finds there and cannot use.
pub(super) fn check_device(rule: &Span, node: Option<&Node<'_>>, terms: &DeviceTerms, quantity: &Quantity, log: &Log) {
    let Some((needed, more)) = device_keys(quantity) else { return };
    let place = node.map_or_else(|| rule.clone(), Node::span);
    for key in DeviceKey::ALL {
        let (name, example) = key.words();
        if needed.contains(&key) && !terms.has(key) {
            let message = format!("a rule on `{}` needs `{name}` in `device`", quantity.name);
            log.push(Diagnostic::error("missing-key", message).at(&place, "").help(format!("for example {example}")));
        } else if terms.has(key) && !needed.contains(&key) && !more.contains(&key) {
            let message = format!("`{}` makes no use of `{name}`", quantity.name);
            log.push(Diagnostic::error("wrong-scope", message).at(&place, "").help(format!("leave `{name}` out")));
        }
    }
    // Light that is added could lower the answer of this method, and the worst state would not be found.
    if matches!(quantity.measure, Measure::Light { .. }) && terms.effective == Some(EffectiveMethod::OnTime) {
        let message = "`on-time` is a method for the flash of one lamp, not for the light of several together";
        log.push(Diagnostic::error("wrong-scope", message).at(&place, "").help("name another method"));
    }
}

/// `[{ h = [...], v = [...], least = { red = "25 cd" } }, ...]`: every H at every V of a row asks for the same.
fn read_table(node: &Node<'_>) -> Option<Vec<TablePoint>> {
    let mut points: Vec<TablePoint> = Vec::new();
    let rows = node.list();
    if rows.is_empty() {
        node.error(
            "no-angles",
            "this table has no row",
            "for example [{ h = [\"0 deg\"], v = [\"0 deg\"], least = { red = \"25 cd\" } }]",
        );
        return None;
    }
    for row in rows {
        let mut row_table = row.table()?.named("this row");
        let (h, v) = read_axes(&mut row_table);
        let least = row_table.require("least").and_then(|node| node.table());
        row_table.finish();
        let colour = |(name, node): (Text, Node<'_>)| Some((name.text, node.positive::<Candela>()?));
        let least: Vec<(String, Candela)> = least?.entries().into_iter().map(colour).collect::<Option<_>>()?;
        if least.is_empty() {
            row.error("no-limit", "this row says no intensity", "for example least = { red = \"25 cd\" }");
            return None;
        }
        for at in every(&row, &h?, &v?)? {
            points.push(TablePoint { at, least: least.clone() });
        }
        if points.len() > MOST_ANGLES {
            too_many(node);
            return None;
        }
    }
    Some(points)
}

/// `{ h = "1 deg", v = "0.5 deg" }`: to either side.
fn read_reaim(node: &Node<'_>) -> Option<Angle> {
    let mut table = node.table()?.named("`reaim`");
    let (none, most) = (Degrees::ZERO, Degrees::new(10.0));
    let mut way = |key| table.require(key).and_then(|node| node.within(none, most, "0 to 10 deg"));
    let (h, v) = (way("h"), way("v"));
    table.finish();
    Some(Angle { h: h?, v: v? })
}

fn too_many(node: &Node<'_>) {
    node.error("too-many-points", "these are more directions than anyone measures", "widen the step");
}

fn read_axes(table: &mut Table<'_>) -> (Option<Vec<Degrees>>, Option<Vec<Degrees>>) {
    let h = table.require("h").and_then(|node| read_axis(&node, 180.0));
    let v = table.require("v").and_then(|node| read_axis(&node, 90.0));
    (h, v)
}

fn every(node: &Node<'_>, h: &[Degrees], v: &[Degrees]) -> Option<Vec<Angle>> {
    if h.len().saturating_mul(v.len()) > MOST_ANGLES {
        too_many(node);
        return None;
    }
    Some(v.iter().flat_map(|v| h.iter().map(|h| Angle { h: *h, v: *v })).collect())
}

/// Every H at every V.
fn read_angles(node: &Node<'_>) -> Option<Vec<Angle>> {
    let mut table = node.table()?.named("`angles`");
    let (h, v) = read_axes(&mut table);
    table.finish();
    every(node, &h?, &v?)
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

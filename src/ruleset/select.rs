//! Which limits of a rule an overlay means: `"all"`, or rows of purpose, level and zones, perhaps with the figures that
//! the writer holds against them.

use super::limits::{RowContext, read_value};
use super::{Demand, Limit, Rule};
use crate::diagnostic::{Diagnostic, Span};
use crate::load::reader::{Node, Table, Text};
use crate::measure::Protocol;

/// One limit that is meant.
pub(super) struct Meant {
    /// Its place in the rule's limits.
    pub at: usize,
    /// What the writer says it is, and where that stands.
    pub said: Option<(Demand, Span)>,
    /// Where it is named.
    pub span: Span,
    /// It is one of all, rather than named by itself.
    pub of_all: bool,
}

/// The limits that `node` means; each row must mean one.
pub(super) fn select(node: &Node<'_>, rule: &Rule, context: &RowContext<'_>) -> Vec<Meant> {
    if node.is_text() {
        let all = node.word(&[("all", ())]).map(|()| rule.limits.iter().enumerate());
        let meant = |(at, _)| Meant { at, said: None, span: node.span(), of_all: true };
        return all.into_iter().flatten().map(meant).collect();
    }
    node.list().iter().filter_map(Node::table).flat_map(|row| select_row(row, rule, context)).collect()
}

fn select_row(row: Table<'_>, rule: &Rule, context: &RowContext<'_>) -> Vec<Meant> {
    let mut row = row.named("this row");
    let (span, log) = (row.span(), row.log());
    let purpose = row.get("purpose").map(|node| node.text());
    let level = row.get("level").map(|node| node.text());
    let zones = row.get("zones");
    let said = read_said(&mut row, context);
    row.finish();
    // What cannot be read has been reported; without it the row would mean more than it says.
    if matches!(purpose, Some(None)) || matches!(level, Some(None)) {
        return Vec::new();
    }
    let (purpose, level) = (purpose.flatten(), level.flatten());
    let names: Vec<(Text, Option<(Demand, Span)>)> = match &zones {
        Some(node) if node.is_table() => {
            let entries = node.table().map(|table| table.entries()).unwrap_or_default();
            entries.into_iter().map(|(name, cell)| (name, read_cell(&cell, context))).collect()
        }
        Some(node) => node.texts().into_iter().map(|name| (name, said.clone())).collect(),
        None => Vec::new(),
    };
    let fits = |limit: &Limit, zone: Option<&str>| {
        let (its_level, its_zone) = names_of(limit, context.protocol);
        let fits = |asked: Option<&str>, its: Option<&str>| asked.is_none() || asked == its;
        let of_purpose = fits(purpose.as_ref().map(|text| text.text.as_str()), limit.purpose.as_deref());
        of_purpose && fits(level.as_ref().map(|text| text.text.as_str()), its_level) && fits(zone, its_zone)
    };
    let meant = |zone: Option<&Text>, said: Option<(Demand, Span)>| -> Vec<Meant> {
        let span = zone.map_or(&span, |zone| &zone.span);
        let here = (0..).zip(&rule.limits).filter(|(_, limit)| fits(limit, zone.map(|zone| zone.text.as_str())));
        let meant: Vec<Meant> =
            here.map(|(at, _)| Meant { at, said: said.clone(), span: span.clone(), of_all: false }).collect();
        if meant.is_empty() {
            let error = Diagnostic::error("unknown-limit", format!("`{}` has no limit at this place", rule.id));
            log.push(error.at(span, "").help(format!("it has limits at {}", places(rule, context.protocol))));
        }
        meant
    };
    if zones.is_none() {
        return meant(None, said);
    }
    names.into_iter().flat_map(|(zone, said)| meant(Some(&zone), said)).collect()
}

fn names_of<'l>(limit: &Limit, protocol: &'l Protocol) -> (Option<&'l str>, Option<&'l str>) {
    let level = limit.level.and_then(|at| protocol.levels.get(at)).map(|level| level.name.as_str());
    let zone = limit.zone.and_then(|at| protocol.zones.sectors.get(at)).map(|sector| sector.name.as_str());
    (level, zone)
}

/// Where a rule has limits: `calling/upper/A, ...`.
fn places(rule: &Rule, protocol: &Protocol) -> String {
    let place = |limit: &Limit| {
        let (level, zone) = names_of(limit, protocol);
        let parts: Vec<&str> = [limit.purpose.as_deref(), level, zone].into_iter().flatten().collect();
        if parts.is_empty() { "the whole vehicle".to_owned() } else { parts.join("/") }
    };
    let places: Vec<String> = rule.limits.iter().map(place).collect();
    if places.is_empty() { "no place any more".to_owned() } else { places.join(", ") }
}

/// `value = 75`, or `from` and `to`, in a table that says more.
pub(super) fn read_said(table: &mut Table<'_>, context: &RowContext<'_>) -> Option<(Demand, Span)> {
    let value = table.get("value").map(|node| (node.span(), read_value(&node, context)));
    let from = table.get("from").map(|node| (node.span(), node.number()));
    let to = table.get("to").map(|node| node.number());
    match (value, from, to) {
        (Some((span, value)), None, None) => Some((value?, span)),
        (None, Some((span, from)), Some(to)) => Some((Demand::Range { from: from?, to: to? }, span)),
        (None, None, None) => None,
        _ => {
            let error = Diagnostic::error("no-limit", "this is no figure to compare with");
            table.log().push(error.at(&table.span(), "").help("write `value`, or both `from` and `to`"));
            None
        }
    }
}

fn read_cell(node: &Node<'_>, context: &RowContext<'_>) -> Option<(Demand, Span)> {
    if node.is_table() {
        let mut table = node.table()?.named("this figure");
        let said = read_said(&mut table, context);
        table.finish();
        return said;
    }
    Some((read_value(node, context)?, node.span()))
}

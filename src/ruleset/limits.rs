//! Limit tables: rows with a purpose, a level and a cell a zone, as published requirements print them.

use super::citation::Citations;
use super::{Citation, Demand, Limit, Require};
use crate::diagnostic::Diagnostic;
use crate::load::reader::{Node, Table};
use crate::measure::Protocol;
use crate::quantity::{LevelScope, Quantity};
use crate::units::Dimension;

/// What a row is read against.
pub(super) struct RowContext<'a> {
    pub protocol: &'a Protocol,
    pub quantity: &'static Quantity,
    pub require: Require,
    pub citations: &'a Citations,
    pub rule_cite: &'a Citation,
}

/// Reads all rows of a rule; two limits on one place are an error.
pub(super) fn read_limits(node: &Node<'_>, context: &RowContext<'_>) -> Vec<Limit> {
    let mut limits: Vec<Limit> = Vec::new();
    for table in node.list().iter().filter_map(Node::table) {
        let log = table.log();
        for limit in read_row(table, context) {
            let same =
                |other: &&Limit| (&other.purpose, other.level, other.zone) == (&limit.purpose, limit.level, limit.zone);
            match limits.iter().find(same) {
                Some(first) => {
                    let error = Diagnostic::error("double-limit", "this place has two limits in one rule");
                    log.push(error.at(&limit.span, "this one").at(&first.span, "and this one"));
                }
                None => limits.push(limit),
            }
        }
    }
    limits
}

fn read_row(table: Table<'_>, context: &RowContext<'_>) -> Vec<Limit> {
    let mut table = table.named("this row of limits");
    let log = table.log();
    let quantity = context.quantity;
    let span = table.span();
    let purpose = table.get("purpose").and_then(|node| node.id());
    let level = table.get("level").map(|node| read_level(&node, context));
    let complaint = match (&purpose, quantity.scope.purpose, &level, quantity.scope.level) {
        (None, true, _, _) => Some("needs a `purpose`"),
        (Some(_), false, _, _) => Some("has no purpose"),
        (_, _, None, LevelScope::Always) if !context.protocol.levels.is_empty() => Some("needs a `level`"),
        (_, _, Some(_), LevelScope::Never) => Some("has no level"),
        _ => None,
    };
    if let Some(complaint) = complaint {
        let message = format!("a limit on `{}` {complaint}", quantity.name);
        log.push(Diagnostic::error("wrong-scope", message).at(&span, "in this row"));
    }
    let purpose = purpose.map(|text| text.text);
    let level = match level {
        Some(None) => return Vec::new(),
        Some(found) => found,
        None => None,
    };
    let limit = |zone, (demand, source), span| Limit { purpose: purpose.clone(), level, zone, demand, source, span };
    let zones = table.get("zones");
    if zones.is_some() != quantity.scope.zone {
        let complaint = if quantity.scope.zone { "needs `zones`" } else { "has no zones" };
        let message = format!("a limit on `{}` {complaint}", quantity.name);
        log.push(Diagnostic::error("wrong-scope", message).at(&span, "in this row"));
        return Vec::new();
    }
    let Some(zones) = zones.and_then(|node| node.table()) else {
        let cell = read_cell_table(table, context);
        return cell.map(|cell| limit(None, cell, span)).into_iter().collect();
    };
    table.finish();
    let mut limits = Vec::new();
    for (name, node) in zones.entries() {
        let sectors = &context.protocol.zones.sectors;
        let Some(zone) = sectors.iter().position(|sector| sector.name == name.text) else {
            let error = Diagnostic::error("unknown-zone", format!("there is no zone `{}`", name.text));
            let known = sectors.iter().map(|sector| sector.name.as_str());
            log.push(error.at(&name.span, "").nearest(&name.text, known));
            continue;
        };
        limits.extend(read_cell(&node, context).map(|cell| limit(Some(zone), cell, node.span())));
    }
    limits
}

fn read_level(node: &Node<'_>, context: &RowContext<'_>) -> Option<usize> {
    let text = node.text()?;
    let levels = &context.protocol.levels;
    let found = levels.iter().position(|level| level.name == text.text);
    if found.is_none() {
        let known: Vec<&str> = levels.iter().map(|level| level.name.as_str()).collect();
        node.error(
            "unknown-level",
            format!("there is no level `{}`", text.text),
            format!("known: {}", known.join(", ")),
        );
    }
    found
}

/// A number, a list of words, or a table that says more.
fn read_cell(node: &Node<'_>, context: &RowContext<'_>) -> Option<(Demand, Citation)> {
    if node.is_table() {
        return read_cell_table(node.table()?.named("this limit"), context);
    }
    let demand = read_value(node, context)?;
    Some((demand, context.rule_cite.clone()))
}

fn read_cell_table(mut table: Table<'_>, context: &RowContext<'_>) -> Option<(Demand, Citation)> {
    let span = table.span();
    let log = table.log();
    let value = table.get("value").map(|node| read_value(&node, context));
    let from = table.get("from").map(|node| node.number());
    let to = table.get("to").map(|node| node.number());
    let missing = table.get("missing").map(|node| node.text());
    let see = table.get("see").and_then(|node| node.text()).map(|text| text.text);
    let source = context.citations.refine(&mut table, context.rule_cite);
    table.finish();
    let demand = match (value, from, to, missing) {
        (Some(value), None, None, None) => value?,
        (None, Some(from), Some(to), None) => {
            let (from, to) = (from?, to?);
            if context.require != Require::Between || from > to {
                let error = Diagnostic::error("bad-range", "a range fits `between`, its lower end first");
                log.push(error.at(&span, ""));
                return None;
            }
            Demand::Range { from, to }
        }
        (None, None, None, Some(why)) => Demand::Missing { why: why?.text, see },
        _ => {
            let help = match context.require {
                Require::Between => "write `from` and `to`, or `missing = \"why\"`",
                _ => "write `value`, or `missing = \"why\"`",
            };
            log.push(Diagnostic::error("no-limit", "this row says no limit").at(&span, "").help(help));
            return None;
        }
    };
    Some((demand, source?))
}

fn read_value(node: &Node<'_>, context: &RowContext<'_>) -> Option<Demand> {
    if context.quantity.dimension == Dimension::Words {
        return Some(Demand::Words(node.texts().into_iter().map(|word| word.text).collect()));
    }
    if context.require == Require::Between {
        node.error("bad-range", "`between` needs two ends", "write { from = ..., to = ... }");
        return None;
    }
    node.number().map(Demand::Number)
}

//! Which limits of a rule an overlay means: `"all"`, or rows of purpose, level, class, item and zones or colours, perhaps with the figures that
//! the writer holds against them.

use super::amend::LimitPlace;
use super::limits::{RowContext, read_value};
use super::{Demand, Limit, Rule};
use crate::diagnostic::{Diagnostic, Span};
use crate::load::reader::{Node, Table, Text, transpose};

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
    let mut name = |key| row.get(key).map(|node| node.text().map(|text| text.text));
    let (purpose, level, class) = (name("purpose"), name("level"), name("class"));
    let (item, colour) = (name("item"), name("colour"));
    let zones = row.get("zones");
    let colours = row.get("colours");
    let said = read_said(&mut row, context);
    row.finish();
    // What cannot be read has been reported; without it the row would mean more than it says.
    let names = [purpose, level, class, item, colour].map(transpose);
    let [Some(purpose), Some(level), Some(class), Some(item), Some(colour)] = names else {
        return Vec::new();
    };
    let row = LimitPlace { purpose, level, class, item, colour, ..LimitPlace::default() };
    let meant = |place: LimitPlace, span: &Span, said: Option<(Demand, Span)>| -> Vec<Meant> {
        let here = |limit: &Limit| includes(&place, &LimitPlace::of(&limit.scope(), context.protocol));
        let here = (0..).zip(&rule.limits).filter(|(_, limit)| here(limit));
        let meant: Vec<Meant> =
            here.map(|(at, _)| Meant { at, said: said.clone(), span: span.clone(), of_all: false }).collect();
        if meant.is_empty() {
            let error = Diagnostic::error("unknown-limit", format!("`{}` has no limit at this place", rule.id));
            log.push(error.at(span, "").help(format!("it has limits at: {}", places(rule, context))));
        }
        meant
    };
    let (Some(node), of_colours) = (zones.or_else(|| colours.clone()), colours.is_some()) else {
        return meant(row, &span, said);
    };
    let cell = |(name, said): Cell| {
        let place = match of_colours {
            true => LimitPlace { colour: Some(name.text), ..row.clone() },
            false => LimitPlace { zone: Some(name.text), ..row.clone() },
        };
        meant(place, &name.span, said)
    };
    cells(&node, said.as_ref(), context).into_iter().flat_map(cell).collect()
}

/// A zone or colour, and what the writer says of it.
type Cell = (Text, Option<(Demand, Span)>);

/// A list of zones or colours, or a table of them with figures.
fn cells(node: &Node<'_>, said: Option<&(Demand, Span)>, context: &RowContext<'_>) -> Vec<Cell> {
    if !node.is_table() {
        return node.texts().into_iter().map(|name| (name, said.cloned())).collect();
    }
    let entries = node.table().map(|table| table.entries()).unwrap_or_default();
    entries.into_iter().map(|(name, cell)| (name, read_cell(&cell, context))).collect()
}

/// Whether a limit stands where a row says; a row that leaves something out means all of it.
fn includes(row: &LimitPlace, place: &LimitPlace) -> bool {
    let fits = |asked: &Option<String>, its: &Option<String>| asked.is_none() || asked == its;
    let parts = [
        (&row.purpose, &place.purpose),
        (&row.level, &place.level),
        (&row.zone, &place.zone),
        (&row.colour, &place.colour),
        (&row.class, &place.class),
        (&row.item, &place.item),
    ];
    parts.into_iter().all(|(asked, its)| fits(asked, its))
}

/// Where a rule has limits: `A calling/upper, ...`.
fn places(rule: &Rule, context: &RowContext<'_>) -> String {
    let place = |limit: &Limit| {
        let place = LimitPlace::of(&limit.scope(), context.protocol).in_words();
        if place.is_empty() { "the whole vehicle".to_owned() } else { place }
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

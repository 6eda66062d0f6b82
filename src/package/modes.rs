//! Modes: how the vehicle is being used, by a condition over the inputs or by the displays that are on.

use super::displays::Displays;
use super::inputs::Signals;
use super::{Display, Mode};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text};
use crate::logic::Condition;

/// The modes of a package, and the displays that they may have switched on.
pub(super) struct Modes {
    pub kept: Vec<Mode>,
    /// Where each says when it holds; without inputs none does.
    pub whens: Vec<Span>,
    pub displays: Vec<Display>,
}

/// Reads the modes. Without inputs they say when the displays are on.
pub(super) fn read_modes(tables: Vec<Table<'_>>, mut displays: Displays, signals: &Signals<'_>, log: &Log) -> Modes {
    let mut ids = Distinct::new("modes", log);
    let (mut kept, mut whens) = (Vec::new(), Vec::new());
    for (at, table) in tables.into_iter().enumerate() {
        let read = read_mode(table, at, &mut displays, signals, log);
        if let Some((mode, when)) = read.filter(|(mode, _)| ids.is_new(&mode.id, &mode.span)) {
            kept.push(mode);
            whens.extend(when);
        }
    }
    Modes { kept, whens, displays: displays.kept }
}

/// A mode, and the place of its condition.
fn read_mode(
    mut table: Table<'_>,
    at: usize,
    displays: &mut Displays,
    signals: &Signals<'_>,
    log: &Log,
) -> Option<(Mode, Option<Span>)> {
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("mode `{}`", id.text));
    }
    let purpose = table.get("purpose").and_then(|node| node.id()).map(|text| text.text);
    let traffic_merges = table.get("traffic-merges").and_then(|node| node.boolean());
    let (when, assume, place) = if signals.inputs.described {
        let listed = ["displays", "given"].map(|key| table.get(key).map(|node| (key, node)));
        for (key, node) in listed.iter().flatten() {
            let message = format!("`{key}` is for packages without [inputs]");
            node.error("listed-with-inputs", message, "say `when` the mode holds; each display says when it is on");
        }
        // Who lists displays has been told to say `when`.
        let when = table.get("when");
        if when.is_none() && listed.iter().all(Option::is_none) {
            let message = format!("`when` is missing in {}", table.name());
            let error = Diagnostic::error("missing-key", message).at(&table.span(), "here");
            log.push(error.help("say in which states the vehicle is used so"));
        }
        let place = when.as_ref().map(Node::span);
        let when = when.and_then(|node| signals.condition(&node));
        (when, table.get("assume").and_then(|node| signals.condition(&node)), place)
    } else {
        let conditions = ["when", "assume"].map(|key| table.get(key));
        conditions.iter().flatten().for_each(|node| drop(signals.condition(node)));
        // Who says `when` has been told of both ways.
        let said = conditions.iter().any(Option::is_some);
        let listed = if said { table.get("displays") } else { table.require("displays") };
        let given = table.get("given").filter(Node::is_list).map(|node| node.texts()).unwrap_or_default();
        signals.check_given(&given);
        listed.into_iter().for_each(|node| list_displays(&node, at, displays, log));
        (Some(Condition::Is { input: 0, positions: vec![at] }), None, None)
    };
    table.finish();
    let Text { text: id, span, .. } = id?;
    Some((Mode { id, purpose, when: when?, assume, traffic_merges, span }, place))
}

/// Switches the displays on in the mode that stands at this place. Later in the file wins, whatever the order in which
/// a mode lists them.
fn list_displays(node: &Node<'_>, mode: usize, displays: &mut Displays, log: &Log) {
    if node.is_list() && node.list().is_empty() {
        let warning = Diagnostic::warning("dark-mode", "this mode shows no display, so nothing is lit in it");
        log.push(warning.at(&node.span(), "").help("name the displays that are on while the vehicle is used so"));
    }
    for name in node.texts() {
        let found = displays.by_id.get(&name.text).and_then(|at| displays.kept.get_mut(*at));
        match found.map(|display| &mut display.when) {
            Some(Condition::Is { positions, .. }) if positions.last() != Some(&mode) => positions.push(mode),
            Some(_) => {}
            None => {
                let error = Diagnostic::error("unknown-display", format!("there is no display `{}`", name.text));
                let known = displays.kept.iter().map(|display| display.id.as_str());
                log.suggest(error.at(&name.span, "named here"), &name.text, known);
            }
        }
    }
}

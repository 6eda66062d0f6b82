//! Modes: how the vehicle is being used, by a condition over the inputs or by the displays that are on.

use std::collections::HashSet;

use super::displays::Displays;
use super::inputs::Signals;
use super::resolve::PackageFile;
use super::{Display, Head, Mode};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text};
use crate::logic::{Condition, Space};

/// Reads the modes. Without inputs they say when the displays are on.
pub(super) fn read_modes(
    tables: Vec<Table<'_>>,
    mut displays: Displays,
    signals: &Signals<'_>,
    log: &Log,
) -> (Vec<Mode>, Vec<Display>) {
    let mut ids = Distinct::new("modes", log);
    let mut modes = Vec::new();
    for (at, table) in tables.into_iter().enumerate() {
        let mode = read_mode(table, at, &mut displays, signals, log);
        modes.extend(mode.filter(|mode| ids.is_new(&mode.id, &mode.span)));
    }
    (modes, displays.kept)
}

fn read_mode(
    mut table: Table<'_>,
    at: usize,
    displays: &mut Displays,
    signals: &Signals<'_>,
    log: &Log,
) -> Option<Mode> {
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("mode `{}`", id.text));
    }
    let purpose = table.get("purpose").and_then(|node| node.id()).map(|text| text.text);
    let traffic_merges = table.get("traffic-merges").and_then(|node| node.boolean());
    let (when, assume) = if signals.inputs.described {
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
        let when = when.and_then(|node| signals.condition(&node));
        (when, table.get("assume").and_then(|node| signals.condition(&node)))
    } else {
        let conditions = ["when", "assume"].map(|key| table.get(key));
        conditions.iter().flatten().for_each(|node| drop(signals.condition(node)));
        // Who says `when` has been told of both ways.
        let said = conditions.iter().any(Option::is_some);
        let listed = if said { table.get("displays") } else { table.require("displays") };
        let given = table.get("given").filter(Node::is_list).map(|node| node.texts()).unwrap_or_default();
        signals.check_given(&given);
        listed.into_iter().for_each(|node| list_displays(&node, at, displays, log));
        (Some(Condition::Is { input: 0, positions: vec![at] }), None)
    };
    table.finish();
    let Text { text: id, span, .. } = id?;
    Some(Mode { id, purpose, when: when?, assume, traffic_merges, span })
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

/// What changes no verdict and is surely not meant: heads that are never lit, modes that never hold.
pub(super) fn warn_unused(
    heads: &[Head],
    displays: &[Display],
    modes: &[Mode],
    space: &Space,
    file: &PackageFile,
    log: &Log,
) {
    for what in [heads.is_empty().then_some("head"), modes.is_empty().then_some("mode")].into_iter().flatten() {
        let warning = Diagnostic::warning("empty-package", format!("this package has no {what}"));
        log.push(warning.in_file(&file.name).help(format!("add a table `[[{what}]]`")));
    }
    // What is too tangled in `never` has been said there.
    if modes.is_empty() || space.is_tangled() {
        return;
    }
    let mut lit: HashSet<usize> = HashSet::new();
    for display in displays {
        if !space.holds(&display.when).is_empty() {
            lit.extend(display.shows.iter().map(|show| show.head));
        }
        if space.is_tangled() {
            return warn_tangled(&display.span, log);
        }
    }
    for (_, head) in heads.iter().enumerate().filter(|(at, _)| !lit.contains(at)) {
        let (what, help) = if space.inputs().described {
            ("no state", "show it in a display that is on in some state, or take it out")
        } else {
            ("no mode", "show it in a display that a mode lists, or take it out")
        };
        let warning = Diagnostic::warning("head-in-no-mode", format!("the head `{}` is lit in {what}", head.id));
        log.push(warning.at(&head.span, "").help(help));
    }
    for mode in modes {
        let held = space.holds(&mode.when);
        let judged = mode.assume.as_ref().map_or(held.clone(), |assume| space.and(&held, &space.holds(assume)));
        if space.is_tangled() {
            return warn_tangled(&mode.span, log);
        }
        let (what, help) = if held.is_empty() {
            ("never holds", "compare its `when` with `never`")
        } else if judged.is_empty() {
            ("never holds together with what it assumes", "compare its `assume` with its `when` and with `never`")
        } else {
            continue;
        };
        let message = format!("the mode `{}` {what}, so nothing is judged in it", mode.id);
        log.push(Diagnostic::warning("mode-never-holds", message).at(&mode.span, "").help(help));
    }
}

/// Sets of states that are too large to be held leave everything open that hangs on them.
fn warn_tangled(span: &Span, log: &Log) {
    let message = "the conditions up to here are too tangled to look at all states, so little can be judged";
    let help = "name fewer inputs in one condition, or put those that it names next to each other under [inputs]";
    log.push(Diagnostic::warning("tangled-conditions", message).at(span, "").help(help));
}

/// Takes out of the states what cannot occur, and says where that is nothing, or all that was left.
pub(super) fn rule_out(never: &[(Condition, Span)], space: &mut Space, log: &Log) {
    for (condition, span) in never {
        let states = space.holds(condition);
        space.rule_out(&states);
        if space.is_tangled() {
            return warn_tangled(span, log);
        }
        if states.is_empty() {
            let message = "no state is left in which this holds, so `never` says nothing by it";
            let warning = Diagnostic::warning("idle-never", message).at(span, "");
            log.push(warning.help("check the condition, or take it out"));
        }
        if space.allowed().is_empty() {
            let error = Diagnostic::error("no-state", "this leaves no state of the inputs that can occur");
            log.push(error.at(span, "").help("say only what cannot occur"));
            return;
        }
    }
}

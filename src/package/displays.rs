//! Displays and modes: which heads show which colour in which pattern, and when.

use std::collections::{HashMap, HashSet};

use super::catalogue::emitter_of;
use super::heads::Heads;
use super::patterns::Patterns;
use super::resolve::Inputs;
use super::{Body, Display, Head, Mode, Model, ROLES, STEADY, Show};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text};
use crate::units::Micros;

/// Beyond this many heads in displays, all counted, something in the file multiplies.
const MOST_SHOWS: usize = 1_000_000;

/// The names that displays use.
pub(super) struct Names<'a> {
    heads: &'a Heads,
    models: &'a [Model],
    patterns: &'a Patterns,
    log: &'a Log,
    head_by_id: HashMap<&'a str, usize>,
    heads_by_group: HashMap<&'a str, Vec<usize>>,
}

impl<'a> Names<'a> {
    pub fn new(heads: &'a Heads, models: &'a [Model], patterns: &'a Patterns, log: &'a Log) -> Self {
        let mut head_by_id = HashMap::new();
        let mut heads_by_group: HashMap<&str, Vec<usize>> = HashMap::new();
        for (at, head) in heads.heads.iter().enumerate() {
            head_by_id.insert(head.id.as_str(), at);
            for group in &head.groups {
                let members = heads_by_group.entry(group).or_default();
                // A group may stand twice at one head.
                if members.last() != Some(&at) {
                    members.push(at);
                }
            }
        }
        Self { heads, models, patterns, log, head_by_id, heads_by_group }
    }

    fn group(&self, name: &Text) -> Vec<usize> {
        let found = self.heads_by_group.get(name.text.as_str()).cloned().unwrap_or_default();
        if found.is_empty() && self.heads.all_read && !self.heads.broken_groups.contains(&name.text) {
            let error = Diagnostic::error("unknown-group", format!("no head is in a group `{}`", name.text));
            let known = self.heads.heads.iter().flat_map(|head| head.groups.iter().map(String::as_str));
            self.log.suggest(error.at(&name.span, "named here"), &name.text, known);
        }
        found
    }

    fn head(&self, name: &Text) -> Vec<usize> {
        let found = self.head_by_id.get(name.text.as_str()).copied();
        if found.is_none() && self.heads.all_read && !self.heads.broken_ids.contains(&name.text) {
            let error = Diagnostic::error("unknown-head", format!("there is no head `{}`", name.text));
            let known = self.heads.heads.iter().map(|head| head.id.as_str());
            self.log.suggest(error.at(&name.span, "named here"), &name.text, known);
        }
        found.into_iter().collect()
    }

    /// `Some(None)` for a steady light.
    fn pattern(&self, name: &Text) -> Option<Option<usize>> {
        if let Some(found) = self.patterns.by_id.get(&name.text) {
            return Some(Some(*found));
        }
        if name.text == STEADY {
            return Some(None);
        }
        if !self.patterns.broken.contains(&name.text) {
            let error = Diagnostic::error("unknown-pattern", format!("there is no pattern `{}`", name.text));
            let known = self.patterns.kept.iter().map(|known| known.id.as_str()).chain([STEADY]);
            self.log.suggest(error.at(&name.span, "named here"), &name.text, known);
        }
        None
    }
}

/// The displays of a package, by their names.
pub(super) struct Displays {
    pub kept: Vec<Display>,
    by_id: HashMap<String, usize>,
}

pub(super) fn read_displays(tables: Vec<Table<'_>>, names: &Names<'_>) -> Displays {
    let mut displays = Displays { kept: Vec::new(), by_id: HashMap::new() };
    let mut ids = Distinct::new("displays", names.log);
    let mut room = MOST_SHOWS;
    for table in tables {
        let span = table.span();
        let (id, shows) = read_display(table, names, &mut room);
        if room == 0 {
            let message = format!("the displays show more than {MOST_SHOWS} heads, all counted");
            names.log.push(Diagnostic::error("too-many-shows", message).at(&span, "up to this display"));
            break;
        }
        if let Some(id) = id.filter(|id| ids.keeps(id)) {
            displays.by_id.insert(id.text.clone(), displays.kept.len());
            displays.kept.push(Display { id: id.text, shows });
        }
    }
    displays
}

fn read_display(mut table: Table<'_>, names: &Names<'_>, room: &mut usize) -> (Option<Text>, Vec<Show>) {
    let id = table.require("id").and_then(|node| node.text());
    if let Some(id) = &id {
        table = table.named(format!("display `{}`", id.text));
    }
    if let Some(node) = table.get("when") {
        let help = "name the display in the `displays` of each mode that shows it";
        node.error("no-input-logic", "this version does not judge conditions over inputs", help);
    }
    let nodes = table.require("show").map(|node| node.list()).unwrap_or_default();
    table.finish();
    let mut shows = Vec::new();
    for show in nodes.iter().filter_map(Node::table) {
        let found = read_show(show.named("this show"), names);
        *room = room.saturating_sub(found.len());
        if *room == 0 {
            break;
        }
        shows.extend(found);
    }
    (id, shows)
}

fn read_show(mut table: Table<'_>, names: &Names<'_>) -> Vec<Show> {
    let log = names.log;
    let group = table.get("group").map(|node| node.text());
    let head = table.get("head").map(|node| node.text());
    let colour = table.require("colour").and_then(|node| node.text());
    let pattern = table.require("pattern").and_then(|node| node.text());
    let role = table.get("role").and_then(|node| node.word(ROLES));
    let phase = table.get("phase").map_or(Some(Phase::Same(Micros::ZERO)), |node| Phase::read(&node));
    let span = table.span();
    table.finish();
    let heads = match (group, head) {
        (Some(Some(group)), None) => names.group(&group),
        (None, Some(Some(head))) => names.head(&head),
        (Some(None), None) | (None, Some(None)) => Vec::new(),
        (Some(_), Some(_)) | (None, None) => {
            let error = Diagnostic::error("group-or-head", "a show names either a `group` or a `head`");
            log.push(error.at(&span, ""));
            Vec::new()
        }
    };
    let pattern = pattern.and_then(|name| names.pattern(&name));
    let Some(colour) = colour else { return Vec::new() };
    let mut shows = Vec::new();
    let mut emitters: HashMap<usize, Option<usize>> = HashMap::new();
    for at in heads {
        let Some(head) = names.heads.heads.get(at) else { continue };
        let Some(model) = names.models.get(head.model) else { continue };
        // A model that lacks the colour is reported once, not once a head.
        let emitter = emitters.entry(head.model).or_insert_with(|| emitter_of(model, &colour.text, &colour.span, log));
        let phase = phase.as_ref().and_then(|phase| phase.of(head, &span, log));
        if let (Some(emitter), Some(pattern), Some(phase)) = (*emitter, pattern, phase) {
            shows.push(Show { head: at, emitter, pattern, phase, role: role.unwrap_or(head.role) });
        }
    }
    shows
}

/// A delay of the pattern, the same for all or by side of the vehicle.
enum Phase {
    Same(Micros),
    Sides { left: Micros, right: Micros },
}

impl Phase {
    fn read(node: &Node<'_>) -> Option<Self> {
        if !node.is_table() {
            return delay(node).map(Self::Same);
        }
        let mut table = node.table()?;
        let mut side = |key| table.require(key).and_then(|node| delay(&node));
        let (left, right) = (side("left"), side("right"));
        table.finish();
        Some(Self::Sides { left: left?, right: right? })
    }

    fn of(&self, head: &Head, span: &Span, log: &Log) -> Option<Micros> {
        match *self {
            Self::Same(delay) => Some(delay),
            Self::Sides { left, .. } if head.right.value() < 0.0 => Some(left),
            Self::Sides { right, .. } if head.right.value() > 0.0 => Some(right),
            Self::Sides { .. } => {
                let message =
                    format!("`{}` stands on the centre line and has neither a left nor a right phase", head.id);
                let error = Diagnostic::error("no-side", message).at(span, "this phase goes by side");
                let error = error.at(&head.span, "this head has `right` = 0");
                log.push(error.help("give it a show of its own, with one phase"));
                None
            }
        }
    }
}

/// A phase only ever delays.
fn delay(node: &Node<'_>) -> Option<Micros> {
    let delay: Micros = node.quantity()?;
    if delay < Micros::ZERO {
        let help = "a head that should come earlier is delayed by the period less that time";
        node.error("negative-time", "a phase is a delay and cannot be negative", help);
        return None;
    }
    Some(delay)
}

pub(super) fn read_modes(
    tables: Vec<Table<'_>>,
    displays: &Displays,
    bodies: &[Body],
    heads: &[Head],
    log: &Log,
) -> Vec<Mode> {
    let posed = heads.iter().flat_map(|head| head.poses.iter().map(|(when, _)| when.as_str()));
    let conditions: HashSet<&str> = bodies.iter().filter_map(|body| body.when.as_deref()).chain(posed).collect();
    let mut ids = Distinct::new("modes", log);
    let modes = tables.into_iter().filter_map(|table| read_mode(table, displays, &conditions, log));
    modes.filter(|(id, _)| ids.keeps(id)).map(|(_, mode)| mode).collect()
}

fn read_mode(mut table: Table<'_>, displays: &Displays, conditions: &HashSet<&str>, log: &Log) -> Option<(Text, Mode)> {
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("mode `{}`", id.text));
    }
    let purpose = table.get("purpose").and_then(|node| node.id()).map(|text| text.text);
    if let Some(node) = table.get("when") {
        let help = "list the mode's `displays`, and under `given` the names that are true in it";
        node.error("no-input-logic", "this version does not judge conditions over inputs", help);
    }
    let names = table.require("displays");
    let given = table.get("given").map(|node| node.texts()).unwrap_or_default();
    table.finish();
    let mut listed = Vec::new();
    if let Some(node) = names {
        if node.is_list() && node.list().is_empty() {
            let warning = Diagnostic::warning("dark-mode", "this mode shows no display, so nothing is lit in it");
            log.push(warning.at(&node.span(), "").help("name the displays that are on while the vehicle is used so"));
        }
        for name in node.texts() {
            match displays.by_id.get(&name.text) {
                Some(found) => listed.push(*found),
                None => {
                    let error = Diagnostic::error("unknown-display", format!("there is no display `{}`", name.text));
                    let known = displays.kept.iter().map(|display| display.id.as_str());
                    log.suggest(error.at(&name.span, "named here"), &name.text, known);
                }
            }
        }
    }
    // Later in the file wins, whatever the order in which a mode lists them.
    listed.sort_unstable();
    listed.dedup();
    for name in given.iter().filter(|name| !conditions.contains(name.text.as_str())) {
        let message = format!("no body and no pose says `when = \"{}\"`", name.text);
        let error = Diagnostic::error("unknown-condition", message).at(&name.span, "given here");
        log.suggest(error, &name.text, conditions.iter().copied());
    }
    let given = given.into_iter().map(|name| name.text).collect();
    let id = id?;
    Some((id.clone(), Mode { id: id.text, purpose, displays: listed, given, span: id.span }))
}

/// What changes no verdict and is surely not meant: heads that are never lit, names that are never given.
pub(super) fn warn_unused(heads: &[Head], displays: &[Display], modes: &[Mode], inputs: &Inputs, log: &Log) {
    let listed: HashSet<usize> = modes.iter().flat_map(|mode| mode.displays.iter().copied()).collect();
    let shows = listed.iter().filter_map(|at| displays.get(*at)).flat_map(|display| &display.shows);
    let lit: HashSet<usize> = shows.map(|show| show.head).collect();
    for what in [heads.is_empty().then_some("head"), modes.is_empty().then_some("mode")].into_iter().flatten() {
        let warning = Diagnostic::warning("empty-package", format!("this package has no {what}"));
        log.push(warning.in_file(&inputs.name).help(format!("add a table `[[{what}]]`")));
    }
    if modes.is_empty() {
        return;
    }
    for (_, head) in heads.iter().enumerate().filter(|(at, _)| !lit.contains(at)) {
        let warning = Diagnostic::warning("head-in-no-mode", format!("the head `{}` is lit in no mode", head.id));
        log.push(warning.at(&head.span, "").help("show it in a display that a mode lists, or take it out"));
    }
}

//! Displays: which heads show which colour in which pattern, which of them are dimmed, and when.

use std::collections::HashMap;
use std::ops::Range;

use super::catalogue::emitter_of;
use super::heads::Heads;
use super::inputs::Signals;
use super::patterns::Patterns;
use super::{ARROW_WAYS, Dimming, Display, Head, Model, Pattern, ROLES, Role, STEADY, Show};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text};
use crate::logic::Condition;
use crate::units::{Micros, Share};

/// Beyond this many heads in displays, all counted, something in the file multiplies.
const MOST_SHOWS: usize = 1_000_000;

/// Rows that a message marks; the rest are left out.
const MOST_MARKED: usize = 3;

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

    /// The heads of a row, by `group` or by `head`.
    fn heads_of(&self, row: &mut Table<'_>) -> Vec<usize> {
        let span = row.span();
        let group = row.get("group").map(|node| node.text());
        let head = row.get("head").map(|node| node.text());
        match (group, head) {
            (Some(Some(group)), None) => self.group(&group),
            (None, Some(Some(head))) => self.head(&head),
            (Some(None), None) | (None, Some(None)) => Vec::new(),
            (Some(_), Some(_)) | (None, None) => {
                let error = Diagnostic::error("group-or-head", "a show names either a `group` or a `head`");
                self.log.push(error.at(&span, ""));
                Vec::new()
            }
        }
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
    pub by_id: HashMap<String, usize>,
}

pub(super) fn read_displays(tables: Vec<Table<'_>>, names: &Names<'_>, signals: &Signals<'_>) -> Displays {
    let mut displays = Displays { kept: Vec::new(), by_id: HashMap::new() };
    let mut ids = Distinct::new("displays", names.log);
    let mut room = MOST_SHOWS;
    for table in tables {
        let span = table.span();
        let display = read_display(table, names, signals, &mut room);
        if room == 0 {
            let message = format!("the displays show more than {MOST_SHOWS} heads, all counted");
            names.log.push(Diagnostic::error("too-many-shows", message).at(&span, "up to this display"));
            break;
        }
        if let Some(display) = display.filter(|display| ids.is_new(&display.id, &display.span)) {
            displays.by_id.insert(display.id.clone(), displays.kept.len());
            displays.kept.push(display);
        }
    }
    displays
}

/// A display is known by its name even where its rows are wrong, so that modes which list it are not called mistaken.
fn read_display(mut table: Table<'_>, names: &Names<'_>, signals: &Signals<'_>, room: &mut usize) -> Option<Display> {
    let id = table.require("id").and_then(|node| node.text());
    if let Some(id) = &id {
        table = table.named(format!("display `{}`", id.text));
    }
    // Without inputs it is on in the modes that list it.
    let listed = Condition::Is { input: 0, positions: Vec::new() };
    let when = match table.get("when") {
        Some(node) => signals.condition(&node),
        None if signals.inputs.described => {
            let message = format!("`when` is missing in {}", table.name());
            let error = Diagnostic::error("missing-key", message).at(&table.span(), "here");
            names.log.push(error.help("say when it is on, or `when = \"always\"`"));
            None
        }
        None => None,
    };
    let arrow = table.get("arrow").and_then(|node| node.word(ARROW_WAYS));
    let dim_to = table.get("dim-to").map(|node| (read_level(&node), node));
    let (shows, dims) = match dim_to {
        Some((to, node)) => {
            if arrow.is_some() {
                let help = "let the display that lights the arrow say `arrow`";
                node.error("dims-and-points", "a display that dims lights nothing, so it is no arrow", help);
            }
            (Vec::new(), read_dimming(to, &mut table, names, room))
        }
        None => (read_shows(&mut table, names, room), None),
    };
    table.finish();
    let is_arrow = |show: &Show| show.role == Role::Arrow;
    if let (Some(_), Some(id), false) = (arrow, &id, shows.is_empty() || shows.iter().any(is_arrow)) {
        let message = format!("no head of the arrow `{}` is there as one, so its light counts otherwise", id.text);
        let warning = Diagnostic::warning("arrow-without-arrow", message).at(&id.span, "");
        names.log.push(warning.help("say `role = \"arrow\"` in its rows, or at the heads"));
    }
    let id = id?;
    Some(Display { id: id.text, when: when.unwrap_or(listed), shows, dims, arrow, span: id.span })
}

/// What a display dims: the heads of its rows, or without rows all there are.
fn read_dimming(to: Option<Share>, table: &mut Table<'_>, names: &Names<'_>, room: &mut usize) -> Option<Dimming> {
    let Some(node) = table.get("show") else {
        let heads: Vec<usize> = (0..names.heads.heads.len()).collect();
        *room = room.saturating_sub(heads.len());
        return Some(Dimming { to: to?, heads });
    };
    let mut heads = Vec::new();
    for row in node.list().iter().filter_map(Node::table) {
        let mut row = row.named("this row of a display that dims");
        let found = names.heads_of(&mut row);
        let shown = ["colour", "pattern", "phase", "role", "dim-to"].map(|key| row.get(key));
        if let Some(node) = shown.iter().flatten().next() {
            let help = "name only heads in its rows; to show them at a lower level, move `dim-to` into the row";
            node.error("dims-and-shows", "a display that dims lights nothing, and so has nothing to show", help);
        }
        row.finish();
        *room = room.saturating_sub(found.len());
        heads.extend(found);
    }
    Some(Dimming { to: to?, heads })
}

/// A level above zero and up to full light.
fn read_level(node: &Node<'_>) -> Option<Share> {
    let level: Share = node.quantity()?;
    if level <= Share::ZERO {
        let help = "to leave heads dark, let no display that shows them be on then: `... and not parked`";
        node.error("not-positive", "a level lies above zero", help);
        return None;
    }
    if level.value() > 1.0 {
        node.error("out-of-range", "a level is at most 100 %", "write what is left of full light, as \"40 %\"");
        return None;
    }
    Some(level)
}

fn read_shows(table: &mut Table<'_>, names: &Names<'_>, room: &mut usize) -> Vec<Show> {
    let nodes = table.require("show").map(|node| node.list()).unwrap_or_default();
    let mut shows = Vec::new();
    let mut rows = Vec::new();
    for show in nodes.iter().filter_map(Node::table) {
        let span = show.span();
        let found = read_show(show.named("this show"), names);
        *room = room.saturating_sub(found.len());
        if *room == 0 {
            break;
        }
        rows.push((span, shows.len()..shows.len() + found.len()));
        shows.extend(found);
    }
    warn_of_lost_rows(&rows, &shows, names.log);
    shows
}

/// Rows all of whose heads later rows show: the place of each, and which of the shows are its.
fn warn_of_lost_rows(rows: &[(Span, Range<usize>)], shows: &[Show], log: &Log) {
    let mut winners: HashMap<usize, usize> = HashMap::new();
    let heads_of = |range: &Range<usize>| shows.get(range.clone()).unwrap_or_default().iter().map(|show| show.head);
    for (row, (_, range)) in rows.iter().enumerate() {
        winners.extend(heads_of(range).map(|head| (head, row)));
    }
    for (row, (span, range)) in rows.iter().enumerate() {
        let mut over: Vec<usize> = heads_of(range).filter_map(|head| winners.get(&head).copied()).collect();
        over.sort_unstable();
        over.dedup();
        if over.is_empty() || over.contains(&row) {
            continue;
        }
        let message = "this row shows nothing: later rows of the same display show all its heads";
        let mut warning = Diagnostic::warning("row-without-heads", message).at(span, "this row");
        for (span, _) in over.iter().take(MOST_MARKED).filter_map(|row| rows.get(*row)) {
            warning = warning.at(span, "takes heads from it");
        }
        log.push(warning.help("put the row with the smaller group last, or take one out"));
    }
}

fn read_show(mut table: Table<'_>, names: &Names<'_>) -> Vec<Show> {
    let log = names.log;
    let heads = names.heads_of(&mut table);
    let colour = table.require("colour").and_then(|node| node.text());
    let pattern = table.require("pattern").and_then(|node| node.text());
    let role = table.get("role").and_then(|node| node.word(ROLES));
    let dim = table.get("dim-to").map_or(Some(Share::new(1.0)), |node| read_level(&node));
    let phase_node = table.get("phase");
    let phase = phase_node.as_ref().map_or(Some(Phase::Same(Micros::ZERO)), Phase::read);
    let span = table.span();
    table.finish();
    let pattern = pattern.and_then(|name| names.pattern(&name));
    if let (Some(node), Some(phase), Some(Some(pattern))) = (phase_node, &phase, pattern) {
        phase.warn_past_period(names.patterns.kept.get(pattern), &node, log);
    }
    let Some(colour) = colour else { return Vec::new() };
    let mut shows = Vec::new();
    let mut emitters: HashMap<usize, Option<usize>> = HashMap::new();
    for at in heads {
        let Some(head) = names.heads.heads.get(at) else { continue };
        let Some(model) = names.models.get(head.model) else { continue };
        // A model that lacks the colour is reported once, not once a head.
        let emitter = emitters.entry(head.model).or_insert_with(|| emitter_of(model, &colour.text, &colour.span, log));
        let phase = phase.as_ref().and_then(|phase| phase.of(head, &span, log));
        if let (Some(emitter), Some(pattern), Some(phase), Some(dim)) = (*emitter, pattern, phase, dim) {
            shows.push(Show { head: at, emitter, pattern, phase, role: role.unwrap_or(head.role), dim });
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

impl Phase {
    /// A phase of a whole period or more is another way to write a shorter one, and surely meant for another pattern.
    fn warn_past_period(&self, pattern: Option<&Pattern>, node: &Node<'_>, log: &Log) {
        let Some(pattern) = pattern else { return };
        let period = pattern.timeline.period();
        let delays = match *self {
            Self::Same(delay) => vec![delay],
            Self::Sides { left, right } => vec![left, right],
        };
        let Some(long) = delays.into_iter().find(|delay| *delay >= period) else { return };
        let rest = Micros::new(long.get().rem_euclid(period.get()));
        let message =
            format!("the pattern `{}` repeats after {period}, so a phase of {long} is the same as {rest}", pattern.id);
        let warning = Diagnostic::warning("phase-past-period", message).at(&node.span(), "");
        log.push(warning.help("write a phase shorter than the period, or name the pattern that it was meant for"));
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

//! Displays: which heads show which colour in which pattern, bound to the heads, emitters and patterns they name.

use super::catalogue::emitter_of;
use super::{Display, Head, Model, Pattern, ROLES, STEADY, Show};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::{Node, Table, Text};
use crate::units::{Dimension, Micros};

/// What displays refer to.
pub(super) struct Bound<'a> {
    pub heads: &'a [Head],
    pub models: &'a [Model],
    pub patterns: &'a [(Text, Pattern)],
    pub log: &'a Log,
}

impl Bound<'_> {
    pub(super) fn read_display(&self, mut table: Table<'_>) -> Option<(Text, Display)> {
        let id = table.require("id").and_then(|node| node.text());
        if let Some(id) = &id {
            table = table.named(format!("display `{}`", id.text));
        }
        if let Some(node) = table.get("when") {
            let help = "name the display in the `displays` of each mode that shows it";
            node.error("no-input-logic", "this version does not judge conditions over inputs", help);
        }
        let shows = table.require("show").map(|node| node.list()).unwrap_or_default();
        let shows = shows.iter().filter_map(Node::table).flat_map(|show| self.read_show(show)).collect();
        table.finish();
        let id = id?;
        Some((id.clone(), Display { id: id.text, shows }))
    }

    fn read_show(&self, mut table: Table<'_>) -> Vec<Show> {
        let group = table.get("group").map(|node| node.text());
        let head = table.get("head").map(|node| node.text());
        let colour = table.require("colour").and_then(|node| node.text());
        let pattern = table.require("pattern").and_then(|node| node.text());
        let role = table.get("role").map(|node| node.word(ROLES));
        let phase = table.get("phase").map(|node| Phase::read(&node));
        let span = table.span();
        table.finish();
        let heads = match (group, head) {
            (Some(Some(group)), None) => self.group(&group),
            (None, Some(Some(head))) => self.head(&head),
            (Some(None), None) | (None, Some(None)) => Vec::new(),
            _ => {
                let error = Diagnostic::error("group-or-head", "a show names either a `group` or a `head`");
                self.log.push(error.at(&span, ""));
                Vec::new()
            }
        };
        let (Some(colour), Some(pattern)) = (colour, pattern) else { return Vec::new() };
        let pattern = match self.patterns.iter().position(|(_, known)| known.id == pattern.text) {
            Some(found) => Some(found),
            None if pattern.text == STEADY => None,
            None if self.log.has_lost(&pattern.text) => return Vec::new(),
            None => {
                let error = Diagnostic::error("unknown-pattern", format!("there is no pattern `{}`", pattern.text));
                let known = self.patterns.iter().map(|(_, known)| known.id.as_str()).chain([STEADY]);
                self.log.push(error.at(&pattern.span, "named here").nearest(&pattern.text, known));
                return Vec::new();
            }
        };
        let phase = match phase {
            None => Phase::Same(Micros::ZERO),
            Some(Some(phase)) => phase,
            Some(None) => return Vec::new(),
        };
        let mut shows = Vec::new();
        let mut told: Vec<usize> = Vec::new();
        for at in heads {
            let Some(head) = self.heads.get(at) else { continue };
            let Some(model) = self.models.get(head.model) else { continue };
            if told.contains(&head.model) {
                continue;
            }
            let Some(emitter) = emitter_of(model, &colour.text, &colour.span, self.log) else {
                told.push(head.model);
                continue;
            };
            let Some(delay) = phase.of(head, &span, self.log) else { continue };
            let role = role.flatten().unwrap_or(head.role);
            shows.push(Show { head: at, emitter, pattern, phase: delay, role });
        }
        shows
    }

    fn group(&self, name: &Text) -> Vec<usize> {
        let in_group = |head: &Head| head.groups.contains(&name.text);
        let found: Vec<usize> = (0..).zip(self.heads).filter(|(_, head)| in_group(head)).map(|(at, _)| at).collect();
        if found.is_empty() && !self.log.has_lost(&name.text) {
            let error = Diagnostic::error("unknown-group", format!("no head is in a group `{}`", name.text));
            let known = self.heads.iter().flat_map(|head| head.groups.iter().map(String::as_str));
            self.log.push(error.at(&name.span, "named here").nearest(&name.text, known));
        }
        found
    }

    fn head(&self, name: &Text) -> Vec<usize> {
        let found = self.heads.iter().position(|head| head.id == name.text);
        if found.is_none() && !self.log.has_lost(&name.text) {
            let error = Diagnostic::error("unknown-head", format!("there is no head `{}`", name.text));
            let known = self.heads.iter().map(|head| head.id.as_str());
            self.log.push(error.at(&name.span, "named here").nearest(&name.text, known));
        }
        found.into_iter().collect()
    }
}

/// A delay of the pattern, the same for all or by side of the vehicle.
enum Phase {
    Same(Micros),
    Sides { left: Micros, right: Micros },
}

impl Phase {
    fn read(node: &Node<'_>) -> Option<Self> {
        if !node.is_table() {
            return node.quantity(Dimension::Time).map(Self::Same);
        }
        let mut table = node.table()?;
        let mut side = |key| table.require(key).and_then(|node| node.quantity::<Micros>(Dimension::Time));
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
                log.push(
                    error.at(&head.span, "this head has `right` = 0").help("give it a show of its own, with one phase"),
                );
                None
            }
        }
    }
}

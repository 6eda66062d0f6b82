//! Overlays: a state, a county or a contract changes, adds and removes requirements of another ruleset, or confirms
//! its figures, and says by whose authority and from when to when.

use std::collections::HashMap;

use super::Ruleset;
use super::amend::{Amendment, New, PRECEDENCES, Precedence, added, amend};
use super::citation::Citations;
use super::confirm::confirm;
use super::limits::{RowContext, Scope, example_row, read_limits};
use super::read::{complain_of_lacks, read_rule};
use super::select::select;
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::{Date, Table, Text};

/// An overlay that was asked for with a ruleset.
#[derive(Clone, Debug, PartialEq)]
pub struct Overlaid {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Which edition.
    pub edition: String,
    /// By whose authority.
    pub authority: String,
    /// In which letter.
    pub reference: String,
    /// How much its word counts.
    pub precedence: Precedence,
    /// The first day on which it is in force.
    pub from: Option<Date>,
    /// The last day on which it is in force.
    pub until: Option<Date>,
    /// Whether it is in force on the day of judgement; else it has changed nothing.
    pub in_force: bool,
    /// What it did, limit by limit, in the order of its file.
    pub amendments: Vec<Amendment>,
    /// SHA-256 of the file, in hex.
    pub sha256: String,
}

impl Overlaid {
    /// When it is in force: `from 2026-03-01 until 2026-12-31`.
    pub fn term(&self) -> String {
        let from = self.from.map(|day| format!("from {day}"));
        let until = self.until.map(|day| format!("until {day}"));
        [from, until].into_iter().flatten().collect::<Vec<_>>().join(" ")
    }

    /// That it changes nothing on the day of judgement; nothing where it is in force.
    pub fn not_in_force(&self, as_of: Date) -> Option<String> {
        let Self { id, in_force, .. } = self;
        (!in_force).then(|| format!("overlay {id} is not in force on {as_of} ({})", self.term()))
    }
}

/// An overlay whose head has been read.
pub(super) struct Overlay {
    pub extends: Text,
    pub id: Text,
    said: Overlaid,
    /// The day of judgement.
    as_of: Option<Date>,
}

/// Limits that the overlay has changed or removed so far, and where.
#[derive(Default)]
struct Changed(HashMap<(usize, Scope), Span>);

impl Changed {
    /// Whether the limit is met for the first time; an error with both places otherwise.
    fn is_new(&mut self, at: usize, scope: Scope, span: &Span, log: &Log) -> bool {
        let first = self.0.insert((at, scope), span.clone());
        if let Some(first) = &first {
            let error = Diagnostic::error("double-limit", "this overlay changes one limit twice");
            log.push(error.at(span, "again here").at(first, "first here"));
        }
        first.is_none()
    }
}

impl Overlay {
    /// Reads `[overlay]`. `as_of` is the day of judgement; without one the overlay is in force.
    pub(super) fn begin(top: &mut Table<'_>, sha256: String, as_of: Option<Date>) -> Option<Self> {
        let mut head = top.require("overlay")?.table()?.named("[overlay]");
        let log = head.log();
        let id = head.require("id").and_then(|node| node.id());
        let mut text = |key| head.require(key).and_then(|node| node.text());
        let (title, edition, extends) = (text("title"), text("edition"), text("extends"));
        let (authority, reference) = (text("authority"), text("reference"));
        let mut day = |key| head.get(key).map(|node| (node.date(), node.span()));
        let (from, until) = (day("from"), day("until"));
        let precedence = head.get("precedence").map_or(Some(Precedence::Contract), |node| node.word(PRECEDENCES));
        head.finish();
        if let (Some((Some(first), start)), Some((Some(last), end))) = (&from, &until)
            && last < first
        {
            let error = Diagnostic::error("bad-term", "this overlay ends before it begins");
            log.push(error.at(end, "ends here").at(start, "begins here"));
        }
        let day = |asked: Option<(Option<Date>, Span)>| match asked {
            None => Some(None),
            Some((day, _)) => day.map(Some),
        };
        let (from, until) = (day(from)?, day(until)?);
        let in_force =
            as_of.is_none_or(|day| from.is_none_or(|from| from <= day) && until.is_none_or(|until| day <= until));
        let id = id?;
        let said = Overlaid {
            id: id.text.clone(),
            title: title?.text,
            edition: edition?.text,
            authority: authority?.text,
            reference: reference?.text,
            precedence: precedence?,
            from,
            until,
            in_force,
            amendments: Vec::new(),
            sha256,
        };
        Some(Self { extends: extends?, id, said, as_of })
    }

    /// Whether it is the overlay that another one is, byte by byte.
    pub(super) fn is(&self, other: &Overlaid) -> bool {
        self.said.sha256 == other.sha256
    }

    /// Reads what it asks and does it to the ruleset. Where it is not in force it is read all the same, so that its
    /// mistakes are told, and changes nothing.
    pub(super) fn apply(self, top: Table<'_>, ruleset: &mut Ruleset) {
        if self.said.in_force {
            let said = self.amended(top, ruleset);
            ruleset.overlays.push(said);
        } else {
            let mut aside = ruleset.clone();
            let said = self.amended(top, &mut aside);
            ruleset.overlays.push(Overlaid { amendments: Vec::new(), ..said });
        }
    }

    fn amended(self, mut top: Table<'_>, ruleset: &mut Ruleset) -> Overlaid {
        let log = top.log();
        let mut said = self.said;
        let citations = Citations::new(&mut top, Some(format!("{}, {}", said.authority, said.reference)));
        let mut changed = Changed::default();
        for table in top.tables("change") {
            change(table, ruleset, &mut said, &citations, &mut changed);
        }
        for table in top.tables("remove") {
            remove(table, ruleset, &mut said, &citations, &mut changed);
        }
        let mut rules = top.tables("rule");
        ruleset.regions.read_with(&mut top, &mut rules, &citations);
        for table in rules {
            let Some(rule) = read_rule(table, &ruleset.protocol, &citations, &ruleset.regions) else { continue };
            if let Some(first) = ruleset.rules.iter().find(|known| known.id == rule.id) {
                let error =
                    Diagnostic::error("double-id", format!("`{}` has a rule `{}` already", ruleset.id, rule.id));
                let error = error.at(&rule.span, "again here").at(&first.span, "first here");
                log.push(error.help("give the new rule another id, or change the limits of the old one by [[change]]"));
                continue;
            }
            complain_of_lacks(&ruleset.lacks, std::slice::from_ref(&rule), &format!("`{}`", ruleset.id), log);
            added(&rule, &ruleset.protocol, &mut said);
            ruleset.rules.push(rule);
        }
        for table in top.tables("confirm") {
            confirm(table, ruleset, &citations, |at, scope| changed.0.get(&(at, scope.clone())), self.as_of);
        }
        top.finish();
        said
    }
}

/// One `[[change]]`: a limit takes the place of the one on the same scope, or is added.
fn change(table: Table<'_>, ruleset: &mut Ruleset, said: &mut Overlaid, citations: &Citations, changed: &mut Changed) {
    let mut table = table.named("this change");
    let log = table.log();
    let name = table.require("rule").and_then(|node| node.text());
    let cite = citations.require(&mut table);
    let rule = name.as_ref().and_then(|name| ruleset.rules.iter().find(|rule| rule.id == name.text));
    let row = rule.map(|rule| example_row(rule.quantity, rule.require, &ruleset.protocol));
    let row = row.unwrap_or_else(|| "{ value = 120 }".to_owned());
    let limits = table.require_like("limits", &format!("limits = [{row}]"));
    table.finish();
    let (Some(name), Some(limits)) = (name, limits) else { return };
    let Some(at) = ruleset.rule_called(&name, log) else { return };
    let Some(rule) = ruleset.rules.get(at) else { return };
    let context = RowContext::of(rule, ruleset, citations, &cite);
    for limit in read_limits(&limits, &context) {
        if changed.is_new(at, limit.scope(), &limit.span, log) {
            amend(ruleset, said, at, limit.scope(), New::Limit(Box::new(limit)));
        }
    }
}

/// One `[[remove]]`: the limits it names are asked no more, or the whole rule where it names none.
fn remove(table: Table<'_>, ruleset: &mut Ruleset, said: &mut Overlaid, citations: &Citations, changed: &mut Changed) {
    let mut table = table.named("this removal");
    let log = table.log();
    let name = table.require("rule").and_then(|node| node.text());
    let cite = citations.require(&mut table);
    let limits = table.get("limits");
    let span = table.span();
    table.finish();
    let Some(name) = name else { return };
    let Some(at) = ruleset.rule_called(&name, log) else { return };
    let Some(rule) = ruleset.rules.get(at) else { return };
    let context = RowContext::of(rule, ruleset, citations, &cite);
    let scopes: Vec<(Scope, Span)> = match limits {
        None => rule.limits.iter().map(|limit| (limit.scope(), span.clone())).collect(),
        Some(node) => {
            let meant = select(&node, rule, &context).into_iter();
            meant.filter_map(|meant| Some((rule.limits.get(meant.at)?.scope(), meant.span))).collect()
        }
    };
    for (scope, span) in scopes {
        if changed.is_new(at, scope.clone(), &span, log) {
            amend(ruleset, said, at, scope, New::Nothing(cite.clone()));
        }
    }
}

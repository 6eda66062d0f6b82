//! What an author of rulesets should know of a file that can be judged by: rules that ask nothing, rules that ask the
//! same twice, places left out, documents that nobody cites, purposes that are likely misspelt. All of it as warnings.

use std::collections::BTreeMap;

use super::fit::warn_of_odd_colours;
use super::{Demand, Limit, Origin, Require, Rule, Ruleset, Strength, shipped};
use crate::diagnostic::{Diagnostic, Log};
use crate::units::Dimension;

/// Warns of what is surely not meant.
pub fn lint(ruleset: &Ruleset, log: &Log) {
    for (at, rule) in ruleset.rules.iter().enumerate() {
        rule.limits.iter().for_each(|limit| asks_nothing(rule, limit, log));
        zones_left_out(ruleset, rule, log);
        let earlier = ruleset.rules.iter().take(at);
        earlier.for_each(|other| asked_twice(ruleset, other, rule, log));
    }
    weak_sources(ruleset, log);
    odd_purposes(ruleset, log);
    warn_of_odd_colours(std::slice::from_ref(ruleset), &[], log);
}

fn asks_nothing(rule: &Rule, limit: &Limit, log: &Log) {
    // No quantity of these kinds is below zero.
    let never_negative = matches!(
        rule.unit.dimension(),
        Dimension::OpticalPower
            | Dimension::Rate
            | Dimension::Heads
            | Dimension::Sounders
            | Dimension::Points
            | Dimension::States
    );
    let nothing = match (&limit.demand, rule.require) {
        (Demand::Number(number), Require::AtLeast) => never_negative && *number <= 0.0,
        (Demand::Range { from, to }, Require::Outside) => never_negative && *to < 0.0 && from <= to,
        _ => false,
    };
    if nothing {
        let message = format!("this limit of `{}` is met by everything", rule.id);
        log.push(Diagnostic::warning("asks-nothing", message).at(&limit.span, "").help("no such value is below zero"));
    }
    let impossible = match (&limit.demand, rule.require) {
        (Demand::Number(number), Require::AtMost) => never_negative && *number < 0.0,
        (Demand::Range { to, .. }, Require::Between) => never_negative && *to < 0.0,
        _ => false,
    };
    if impossible {
        let message = format!("nothing meets this limit of `{}`", rule.id);
        log.push(Diagnostic::warning("never-met", message).at(&limit.span, "").help("no such value is below zero"));
    }
}

/// A row that speaks of some zones and not of others is likely cut short.
fn zones_left_out(ruleset: &Ruleset, rule: &Rule, log: &Log) {
    let mut rows: BTreeMap<(Option<&str>, Option<usize>), Vec<&Limit>> = BTreeMap::new();
    for limit in rule.limits.iter().filter(|limit| limit.zone.is_some()) {
        rows.entry((limit.purpose.as_deref(), limit.level)).or_default().push(limit);
    }
    let widest = rows.values().map(Vec::len).max().unwrap_or(0);
    for limits in rows.values().filter(|limits| limits.len() < widest) {
        let sectors = ruleset.protocol.zones.sectors.iter().enumerate();
        let left_out: Vec<&str> = sectors
            .filter(|(at, _)| limits.iter().all(|limit| limit.zone != Some(*at)))
            .map(|(_, sector)| sector.name.as_str())
            .collect();
        if let Some(limit) = limits.first() {
            let message = format!("this row of `{}` says nothing of {}", rule.id, left_out.join(", "));
            let help = "other rows of the rule do; a figure nobody knows is `{ missing = \"why\", see = \"...\" }`";
            log.push(Diagnostic::warning("zones-left-out", message).at(&limit.span, "").help(help));
        }
    }
}

/// Two rules that ask the same of one place: the stricter decides, and the other is in the way.
fn asked_twice(ruleset: &Ruleset, one: &Rule, other: &Rule, log: &Log) {
    let same = one.quantity.name == other.quantity.name
        && (one.require, one.method, one.strength) == (other.require, other.method, other.strength)
        && one.device == other.device
        && one.listen == other.listen
        // Words that are asked for in two rules may well be different ones.
        && one.unit.dimension() != Dimension::Words;
    if !same || one.strength != Strength::Required {
        return;
    }
    let twice = other.limits.iter().find_map(|limit| {
        let first = one.limits.iter().find(|known| known.scope() == limit.scope())?;
        Some((first, limit))
    });
    if let Some((first, again)) = twice {
        let message = format!("`{}` and `{}` ask the same of one place", one.id, other.id);
        let warning =
            Diagnostic::warning("asked-twice", message).at(&again.span, "again here").at(&first.span, "first here");
        log.push(warning.help(format!("in `{}` one limit a place is enough: keep the stricter", ruleset.id)));
    }
}

/// A reason of a word or two explains nothing.
const SHORTEST_REASON: usize = 12;

fn weak_sources(ruleset: &Ruleset, log: &Log) {
    for rule in &ruleset.rules {
        for limit in &rule.limits {
            let weak = matches!(&limit.source.origin, Origin::Own(why) if why.trim().chars().count() < SHORTEST_REASON);
            if weak {
                let message = format!("a limit of `{}` says too little of where it comes from", rule.id);
                let help = "say in `own` why this is asked, or cite a document and its clause";
                log.push(Diagnostic::warning("weak-source", message).at(&limit.span, "").help(help));
                break;
            }
        }
    }
}

/// A purpose that stands in one limit alone, and nearly as another one of this file or of the shipped rulesets.
fn odd_purposes(ruleset: &Ruleset, log: &Log) {
    let limits = || ruleset.rules.iter().flat_map(|rule| &rule.limits);
    let times = |purpose: &str| limits().filter(|limit| limit.purpose.as_deref() == Some(purpose)).count();
    let usual = shipped::PURPOSES;
    for limit in limits() {
        let Some(purpose) = limit.purpose.as_deref() else { continue };
        if usual.contains(&purpose) || times(purpose) > 1 {
            continue;
        }
        let known: Vec<&str> =
            usual.iter().copied().chain(ruleset.purposes()).filter(|known| *known != purpose).collect();
        let near = crate::diagnostic::nearest(purpose, &known);
        if let Some(near) = near {
            let message = format!("a mode can serve `{purpose}` only if its package spells it so");
            let help = format!("did you mean `{near}`?");
            log.push(Diagnostic::warning("odd-purpose", message).at(&limit.span, "").help(help));
        }
    }
}

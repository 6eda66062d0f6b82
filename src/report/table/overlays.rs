//! What overlays did to the rulesets: what is asked no more or less than before stands first, limit by limit.

use super::super::Report;
use super::super::text::{heading, paragraph};
use crate::load::reader::Date;
use crate::ruleset::{Amended, Amendment, Confirmed, Demand, Overlaid, Ruleset};

/// The lines on overlays under the title of a ruleset.
pub(super) fn of_ruleset(ruleset: &Ruleset, as_of: Date, width: u16, out: &mut String) {
    for overlay in &ruleset.overlays {
        let Overlaid { id, title, authority, reference, .. } = overlay;
        let term = overlay.term();
        let term = if term.is_empty() { term } else { format!("; {term}") };
        let changed = || format!("changed by {id}: {title} ({authority}, {reference}{term})");
        paragraph(&overlay.not_in_force(as_of).unwrap_or_else(changed), "", width, out);
    }
}

/// What overlays in force changed, the losses first.
pub(super) fn changes(report: &Report<'_>, out: &mut String) {
    let lines = changed(report);
    if lines.is_empty() {
        return;
    }
    heading("What overlays changed", report.width, out);
    for line in lines {
        paragraph(&format!("- {line}"), "  ", report.width, out);
    }
}

/// The same, a line each.
pub(in crate::report) fn changed(report: &Report<'_>) -> Vec<String> {
    let mut lines: Vec<(Amended, String)> = Vec::new();
    let mut aside: Vec<String> = Vec::new();
    for ruleset in report.rulesets {
        for overlay in &ruleset.overlays {
            for (kind, group) in groups(overlay) {
                let (done, lost): (Vec<_>, Vec<_>) = group.into_iter().partition(|one| one.lost_to.is_none());
                lines.extend(told(ruleset, overlay, kind, &done).into_iter().map(|line| (kind, line)));
                aside.extend(lost.into_iter().map(|one| set_aside(ruleset, overlay, one)));
            }
        }
        lines.extend(confirmed(ruleset).into_iter().map(|line| (Amended::Restated, line)));
    }
    lines.sort_by_key(|(kind, _)| *kind);
    lines.into_iter().map(|(_, line)| line).chain(aside).collect()
}

/// What an overlay did, by kind and rule, in the order of its file.
fn groups(overlay: &Overlaid) -> Vec<(Amended, Vec<&Amendment>)> {
    let mut groups: Vec<(Amended, &str, Vec<&Amendment>)> = Vec::new();
    for one in &overlay.amendments {
        match groups.iter_mut().find(|(kind, rule, _)| *kind == one.kind && *rule == one.rule) {
            Some((_, _, group)) => group.push(one),
            None => groups.push((one.kind, &one.rule, vec![one])),
        }
    }
    groups.into_iter().map(|(kind, _, group)| (kind, group)).collect()
}

/// What is asked less of stands limit by limit; of the rest it is said how much there is.
fn told(ruleset: &Ruleset, overlay: &Overlaid, kind: Amended, group: &[&Amendment]) -> Vec<String> {
    let Some(first) = group.first() else { return Vec::new() };
    let by = format!("{} by the {}, {}", kind.word(), overlay.precedence.word(), overlay.reference);
    let rule = format!("{}:{}", ruleset.id, first.rule);
    let count = if group.len() == 1 { "1 limit".to_owned() } else { format!("{} limits", group.len()) };
    match kind {
        Amended::Loosened => group.iter().map(|one| format!("{by}: {rule} {}", from_to(one))).collect(),
        Amended::Removed => {
            let places: Vec<String> = group.iter().map(|one| asked(one.from.as_ref(), one)).collect();
            vec![format!("{by}: {rule} {}; {}", places.join(", "), first.source.in_words())]
        }
        _ if group.len() <= MOST_IN_FULL => group.iter().map(|one| format!("{by}: {rule} {}", from_to(one))).collect(),
        _ => vec![format!("{by}: {rule} ({count})")],
    }
}

/// More limits of one rule than this are counted rather than listed, where nothing is lost by them.
const MOST_IN_FULL: usize = 2;

fn set_aside(ruleset: &Ruleset, overlay: &Overlaid, one: &Amendment) -> String {
    let winner = one.lost_to.as_deref().unwrap_or_default();
    let reference = &overlay.reference;
    let what = format!("{}:{} {}", ruleset.id, one.rule, from_to(one));
    format!("set aside, not applied: the {}, {reference}: {what}; {winner} counts more", overlay.precedence.word())
}

/// `A calling/upper: 1,000,000 -> 900,000 cd.s/min`
fn from_to(one: &Amendment) -> String {
    let demand = |demand: Option<&Demand>| demand.map_or("nothing".to_owned(), Demand::in_words);
    let unit = super::unit_shown(one.unit);
    let place = one.place.in_words();
    let change = match (&one.from, &one.to) {
        (None, to) => demand(to.as_ref()),
        (from, to) => format!("{} -> {}", demand(from.as_ref()), demand(to.as_ref())),
    };
    let separator = if place.is_empty() { "" } else { ": " };
    format!("{place}{separator}{change} {unit}").trim_end().to_owned()
}

/// A place with what was asked there.
fn asked(demand: Option<&Demand>, one: &Amendment) -> String {
    let demand =
        demand.map_or(String::new(), |demand| format!(" ({} {})", demand.in_words(), super::unit_shown(one.unit)));
    format!("{}{}", one.place.in_words(), demand.replace(" )", ")")).trim().to_owned()
}

/// Who has compared which limits with the own copy.
fn confirmed(ruleset: &Ruleset) -> Vec<String> {
    let mut groups: Vec<(&Confirmed, Vec<(&str, usize)>)> = Vec::new();
    for rule in &ruleset.rules {
        for confirmed in rule.limits.iter().filter_map(|limit| limit.source.confirmed.as_ref()) {
            let same = |(known, _): &&mut (&Confirmed, _)| {
                (&known.by, known.on, &known.edition) == (&confirmed.by, confirmed.on, &confirmed.edition)
            };
            let at = match groups.iter_mut().find(same) {
                Some((_, rules)) => rules,
                None => {
                    groups.push((confirmed, Vec::new()));
                    let Some((_, rules)) = groups.last_mut() else { continue };
                    rules
                }
            };
            match at.iter_mut().find(|(known, _)| *known == rule.id) {
                Some((_, count)) => *count += 1,
                None => at.push((&rule.id, 1)),
            }
        }
    }
    let line = |(confirmed, rules): (&Confirmed, Vec<(&str, usize)>)| {
        let Confirmed { by, on, edition, .. } = confirmed;
        let rules: Vec<String> = rules.iter().map(|(rule, count)| format!("{rule} ({count})")).collect();
        format!("confirmed by {by} on {on} against edition {edition}: {}: {}", ruleset.id, rules.join(", "))
    };
    groups.into_iter().map(line).collect()
}

//! `[[confirm]]`: a user has compared limits of a ruleset with the own copy of the document.
//!
//! The limit stays; its basis becomes `confirmed`, and who compared it, when and with which edition goes with it. A
//! figure that the user writes down and that differs is a mistake in one of the two, so it is told.

use super::citation::Citations;
use super::limits::{RowContext, Scope};
use super::select::{Meant, read_said, select};
use super::{Basis, Confirmed, Demand, Origin, Ruleset};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::{Date, Table};

/// Reads one `[[confirm]]` and marks the limits that it means. `changed`: where this overlay changes a limit itself.
pub(super) fn confirm<'s>(
    table: Table<'_>,
    ruleset: &mut Ruleset,
    citations: &Citations,
    changed: impl Fn(usize, &Scope) -> Option<&'s Span>,
    as_of: Option<Date>,
) {
    let mut table = table.named("this confirmation");
    let log = table.log();
    let name = table.require("rule").and_then(|node| node.text());
    let limits = table.require_like("limits", "limits = \"all\"");
    let mut text = |key| table.require(key).and_then(|node| node.text()).map(|text| text.text);
    let (by, edition, clause) = (text("by"), text("edition"), text("clause"));
    let on = table.require("on").and_then(|node| node.date());
    let rule = name.as_ref().and_then(|name| ruleset.rule_called(name, log));
    let Some((at, limits)) = rule.zip(limits) else { return };
    let Ruleset { protocol, rules, overlays, id, .. } = ruleset;
    let Some(rule) = rules.get_mut(at) else { return };
    let cite = citations.none();
    let context = RowContext {
        protocol,
        quantity: rule.quantity,
        require: rule.require,
        citations,
        regions: &ruleset.regions,
        rule_cite: &cite,
    };
    let of_all = read_said(&mut table, &context);
    table.finish();
    let (Some(by), Some(on), Some(edition), Some(clause)) = (by, on, edition, clause) else { return };
    if as_of.is_some_and(|day| on > day) {
        let message = format!("this is confirmed on {on}, after the day of judgement");
        let warning = Diagnostic::warning("later-confirmation", message).at(&limits.span(), "not confirmed yet");
        log.push(warning.help("its limits stay as well known as they were"));
        return;
    }
    let confirmed = Confirmed { by, on, edition, clause };
    for meant in select(&limits, rule, &context) {
        let Some(limit) = rule.limits.get_mut(meant.at) else { continue };
        let scope = limit.scope();
        let said = meant.said.as_ref().or(of_all.as_ref());
        if let Some(first) = changed(at, &scope) {
            let error = Diagnostic::error("double-limit", "this overlay changes a limit and confirms it too");
            log.push(error.at(&meant.span, "confirmed here").at(first, "changed here"));
            continue;
        }
        let mut others = overlays.iter().filter(|other| other.in_force);
        let holder = others.find(|other| {
            let mut done = other.amendments.iter();
            done.any(|done| done.rule == rule.id && done.scope == scope && done.lost_to.is_none())
        });
        if let Some(holder) = holder {
            let message = format!("`{}` has changed this limit, so the document's figure does not stand", holder.id);
            let warning = Diagnostic::warning("nothing-to-confirm", message).at(&meant.span, "not confirmed");
            log.push(warning.help("ask for one of the two overlays only, or leave the limit out here"));
            continue;
        }
        let fits = match (&limit.demand, &limit.source.origin) {
            (Demand::Missing { .. }, _) if meant.of_all && said.is_none() => false,
            (Demand::Missing { .. }, _) => {
                let message = format!("`{id}` has no figure here that could be confirmed");
                refuse(message, "type it in by [[change]]", &meant, log)
            }
            (_, Origin::Own(_)) => {
                let message = format!("`{id}` names no document for this limit, so a copy cannot confirm it");
                refuse(message, "where your document gives the figure, use [[change]] with a `cite`", &meant, log)
            }
            (demand, _) => agrees(said, demand, id, log),
        };
        if fits {
            // A limit that names colour regions rests on their lines too, and these stay as well known as they were.
            if limit.regions.is_empty() {
                limit.source.basis = Basis::Confirmed;
            }
            limit.source.confirmed = Some(confirmed.clone());
        }
    }
}

fn refuse(message: String, help: &str, meant: &Meant, log: &Log) -> bool {
    log.push(Diagnostic::error("nothing-to-confirm", message).at(&meant.span, "").help(help));
    false
}

/// Whether the figure that the user wrote down is that of the ruleset; without one the word is taken.
fn agrees(said: Option<&(Demand, Span)>, demand: &Demand, ruleset: &str, log: &Log) -> bool {
    let Some((said, span)) = said else { return true };
    let same = match (said, demand) {
        (Demand::Words(said), Demand::Words(known)) => {
            said.len() == known.len() && said.iter().all(|word| known.contains(word))
        }
        _ => said == demand,
    };
    if !same {
        let message = format!("your copy says {}, the ruleset {}", said.in_words(), demand.in_words());
        let error = Diagnostic::error("differs-from-copy", message).at(span, format!("`{ruleset}` says otherwise"));
        log.push(error.help("if your copy is right, use [[change]], and let `cite` name it"));
    }
    same
}

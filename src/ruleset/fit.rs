//! Where a package and the rulesets asked for do not speak of the same things: said as warnings.

use std::collections::BTreeMap;

use super::Ruleset;
use crate::diagnostic::{Diagnostic, Log, nearest};
use crate::package::{Head, Package, at_heads};

/// Warns of purposes and levels that no ruleset knows: a slip of the finger there leaves rules without light.
pub fn warn_of_misfits(package: &Package, rulesets: &[Ruleset], log: &Log) {
    let purposes: Vec<&str> = rulesets.iter().flat_map(Ruleset::purposes).collect();
    for mode in &package.modes {
        let unknown = mode.purpose.as_deref().filter(|purpose| !purposes.contains(purpose));
        if let (Some(purpose), false) = (unknown, purposes.is_empty()) {
            let message = format!("no ruleset asked for speaks of the purpose `{purpose}`");
            let warning = Diagnostic::warning("unknown-purpose", message).at(&mode.span, "of this mode");
            log.suggest(warning, purpose, purposes.iter().copied());
        }
    }
    let limits = || rulesets.iter().flat_map(|ruleset| &ruleset.rules).flat_map(|rule| &rule.limits);
    let items: Vec<&str> = limits().filter_map(|limit| limit.item.as_deref()).collect();
    // Other rules may ask for what these do not; only a likely slip of the finger is worth a word.
    let open: Vec<&str> =
        items.into_iter().filter(|item| package.statements.iter().all(|said| said.item != *item)).collect();
    let asked = |item: &str| limits().any(|limit| limit.item.as_deref() == Some(item));
    for statement in package.statements.iter().filter(|statement| !asked(&statement.item)) {
        if nearest(&statement.item, &open).is_some() {
            let message = format!("no rule asked for wants to know of `{}`", statement.item);
            let warning = Diagnostic::warning("unknown-item", message).at(&statement.span, "stated here");
            log.suggest(warning, &statement.item, open.iter().copied());
        }
    }
    let levels = || rulesets.iter().flat_map(|ruleset| &ruleset.protocol.levels).map(|level| level.name.as_str());
    // A ruleset without levels has no use for the key, and that is no mistake.
    if levels().next().is_none() {
        return;
    }
    let mut unknown: BTreeMap<&str, Vec<&Head>> = BTreeMap::new();
    for head in &package.heads {
        if let Some(name) = head.level.as_deref().filter(|name| levels().all(|known| known != *name)) {
            unknown.entry(name).or_default().push(head);
        }
    }
    for (name, heads) in unknown {
        let message = |names: &str, several: bool| {
            let (these, count) = if several { ("the heads", "count") } else { ("the head", "counts") };
            format!("no ruleset asked for has a level `{name}`, so {these} {names} {count} nowhere")
        };
        log.suggest(at_heads("unknown-level", &heads, message, "this head"), name, levels());
    }
}

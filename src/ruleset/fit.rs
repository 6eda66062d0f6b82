//! Where a package and the rulesets asked for do not speak of the same things: said as warnings.

use std::collections::BTreeMap;

use super::{Demand, Ruleset};
use crate::diagnostic::{Diagnostic, Log, nearest};
use crate::package::{Head, Package, at_heads};

/// The colours that lamps of vehicles are usually said to have (practice).
pub const USUAL_COLOURS: [&str; 8] = ["red", "amber", "yellow", "white", "blue", "green", "purple", "lime"];

/// Quantities whose words are names of colours.
pub const FINDS_COLOURS: [&str; 5] =
    ["colours-shown", "colours-shown-in-any-mode", "warning-colours-lit", "arrow-colours", "emitter-colour"];

/// Warns of names of colours that no lamp has, neither these nor any: a slip of the finger there is never met, or
/// never forbids anything.
pub fn warn_of_odd_colours(rulesets: &[Ruleset], of_lamps: &[&str], log: &Log) {
    let known: Vec<&str> = USUAL_COLOURS.iter().chain(of_lamps).copied().collect();
    for rule in rulesets.iter().flat_map(|ruleset| &ruleset.rules) {
        for limit in &rule.limits {
            let words = match &limit.demand {
                Demand::Words(words) if FINDS_COLOURS.contains(&rule.quantity.name) => words.as_slice(),
                _ => &[],
            };
            for colour in words.iter().chain(&limit.colour).filter(|colour| !known.contains(&colour.as_str())) {
                let message = format!("no lamp has the colour `{colour}`, which `{}` names", rule.id);
                let warning = Diagnostic::warning("unknown-colour", message).at(&limit.span, "");
                let clear = if colour == "clear" { "did you mean `white`? " } else { "" };
                let near = nearest(colour, &known).map(|near| format!("did you mean `{near}`? ")).unwrap_or_default();
                log.push(warning.help(format!("{clear}{near}usual are {}", USUAL_COLOURS.join(", "))));
            }
        }
    }
}

/// Warns of purposes and levels that no ruleset knows: a slip of the finger there leaves rules without light.
pub fn warn_of_misfits(package: &Package, rulesets: &[Ruleset], log: &Log) {
    let of_lamps: Vec<&str> =
        package.models.iter().flat_map(|model| &model.emitters).map(|emitter| emitter.colour.as_str()).collect();
    warn_of_odd_colours(rulesets, &of_lamps, log);
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

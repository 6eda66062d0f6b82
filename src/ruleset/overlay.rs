//! Overlays: a state, a county or a contract changes named limits of another ruleset, and says by whose authority.

use std::collections::HashMap;

use super::citation::Citations;
use super::limits::{RowContext, Scope, read_limits};
use super::{Overlaid, Ruleset};
use crate::diagnostic::{Diagnostic, Span};
use crate::load::reader::{Table, Text};

/// An overlay whose head has been read.
pub(super) struct Overlay {
    pub extends: Text,
    said: Overlaid,
}

impl Overlay {
    /// Reads `[overlay]`.
    pub(super) fn begin(top: &mut Table<'_>, sha256: String) -> Option<Self> {
        let mut head = top.require("overlay")?.table()?.named("[overlay]");
        let id = head.require("id").and_then(|node| node.id());
        let mut text = |key| head.require(key).and_then(|node| node.text());
        let (title, edition, extends) = (text("title"), text("edition"), text("extends"));
        let (authority, reference) = (text("authority"), text("reference"));
        head.finish();
        let said = Overlaid {
            id: id?.text,
            title: title?.text,
            edition: edition?.text,
            authority: authority?.text,
            reference: reference?.text,
            sha256,
        };
        Some(Self { extends: extends?, said })
    }

    /// Reads each `[[change]]` and puts its limits in the place of those it names.
    pub(super) fn apply(self, mut top: Table<'_>, ruleset: &mut Ruleset) {
        let log = top.log();
        let authority = format!("{}, {}", self.said.authority, self.said.reference);
        let citations = Citations::new(&mut top, Some(authority));
        let mut changed: HashMap<(usize, Scope), Span> = HashMap::new();
        for change in top.tables("change") {
            let mut change = change.named("this change");
            let name = change.require("rule").and_then(|node| node.text());
            let cite = citations.require(&mut change);
            let limits = change.require("limits");
            change.finish();
            let (Some(name), Some(limits)) = (name, limits) else { continue };
            let Some(at) = ruleset.rules.iter().position(|rule| rule.id == name.text) else {
                let message = format!("`{}` has no rule `{}`", ruleset.id, name.text);
                let error = Diagnostic::error("unknown-rule", message).at(&name.span, "");
                log.suggest(error, &name.text, ruleset.rules.iter().map(|rule| rule.id.as_str()));
                continue;
            };
            let Some(rule) = ruleset.rules.get_mut(at) else { continue };
            let context = RowContext {
                protocol: &ruleset.protocol,
                quantity: rule.quantity,
                require: rule.require,
                citations: &citations,
                regions: &ruleset.regions,
                rule_cite: &cite,
            };
            // A limit takes the place of the one on the same scope, or is added.
            let mut places: HashMap<Scope, usize> =
                (0..).zip(&rule.limits).map(|(at, one)| (one.scope(), at)).collect();
            for limit in read_limits(&limits, &context) {
                if let Some(first) = changed.insert((at, limit.scope()), limit.span.clone()) {
                    let error = Diagnostic::error("double-limit", "this overlay changes one limit twice");
                    log.push(error.at(&limit.span, "again here").at(&first, "first here"));
                }
                match places.get(&limit.scope()).and_then(|at| rule.limits.get_mut(*at)) {
                    Some(old) => *old = limit,
                    None => {
                        places.insert(limit.scope(), rule.limits.len());
                        rule.limits.push(limit);
                    }
                }
            }
        }
        top.finish();
        ruleset.overlays.push(self.said);
    }
}

//! Overlays: a state, a county or a contract changes named limits of another ruleset, and says by whose authority.

use super::citation::Citations;
use super::limits::{RowContext, read_limits};
use super::read::Overlaid;
use super::{Limit, Ruleset};
use crate::diagnostic::Diagnostic;
use crate::load::reader::{Table, Text};

/// An overlay whose head has been read.
pub(super) struct Overlay {
    pub extends: Text,
    said: Overlaid,
}

impl Overlay {
    /// Reads `[overlay]`.
    pub(super) fn begin(top: &mut Table<'_>, sha256: String) -> Option<Self> {
        let mut head = top.require("overlay")?.table()?;
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
        let documents = Citations::read_documents(&mut top);
        let authority = Some(format!("{}, {}", self.said.authority, self.said.reference));
        let citations = Citations { documents, authority };
        for mut change in top.tables("change") {
            let name = change.require("rule").and_then(|node| node.text());
            let cite = citations.require(&mut change);
            let limits = change.require("limits");
            change.finish();
            let (Some(name), Some(cite), Some(limits)) = (name, cite, limits) else { continue };
            let known: Vec<String> = ruleset.rules.iter().map(|rule| rule.id.clone()).collect();
            let Some(rule) = ruleset.rules.iter_mut().find(|rule| rule.id == name.text) else {
                let message = format!("`{}` has no rule `{}`", ruleset.id, name.text);
                let error = Diagnostic::error("unknown-rule", message).at(&name.span, "");
                log.push(error.nearest(&name.text, known.iter().map(String::as_str)));
                continue;
            };
            let context = RowContext {
                protocol: &ruleset.protocol,
                quantity: rule.quantity,
                require: rule.require,
                citations: &citations,
                rule_cite: &cite,
            };
            for limit in read_limits(&limits, &context) {
                replace(&mut rule.limits, limit);
            }
        }
        top.finish();
        ruleset.overlays.push(self.said);
    }
}

/// A limit takes the place of the one on the same scope, or is added.
fn replace(limits: &mut Vec<Limit>, new: Limit) {
    let scope = |limit: &Limit| (limit.purpose.clone(), limit.level, limit.zone);
    match limits.iter_mut().find(|old| scope(old) == scope(&new)) {
        Some(old) => *old = new,
        None => limits.push(new),
    }
}

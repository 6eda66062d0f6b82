//! What JSON says of an overlay: when it is in force, and what it did limit by limit.

use serde::Serialize;

use super::{Figure, Source, figure};
use crate::judge::FindingScope;
use crate::ruleset::{Amendment, LimitPlace, Overlaid, Ruleset};

/// What an overlay's line has beside the keys of every ruleset.
#[derive(Serialize)]
pub(super) struct Entry<'a> {
    extends: &'a str,
    authority: &'a str,
    reference: &'a str,
    precedence: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    until: Option<String>,
    in_force: bool,
    changes: Vec<Change<'a>>,
}

#[derive(Serialize)]
struct Change<'a> {
    change: &'static str,
    rule: &'a str,
    scope: FindingScope,
    unit: &'static str,
    /// What the ruleset asks without any overlay; absent where nothing, or where the figure is missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<Figure<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<Figure<'a>>,
    source: Source<'a>,
    /// Whose word counts more; then this change was not made.
    #[serde(skip_serializing_if = "Option::is_none")]
    set_aside_for: Option<&'a str>,
}

pub(super) fn entry<'a>(overlay: &'a Overlaid, ruleset: &'a Ruleset) -> Entry<'a> {
    Entry {
        extends: &ruleset.id,
        authority: &overlay.authority,
        reference: &overlay.reference,
        precedence: overlay.precedence.word(),
        from: overlay.from.map(|day| day.to_string()),
        until: overlay.until.map(|day| day.to_string()),
        in_force: overlay.in_force,
        changes: overlay.amendments.iter().map(change).collect(),
    }
}

fn change(one: &Amendment) -> Change<'_> {
    let LimitPlace { purpose, level, zone, colour: emitter, class, item } = one.place.clone();
    Change {
        change: one.kind.word(),
        rule: &one.rule,
        scope: FindingScope { purpose, level, zone, class, emitter, item, ..FindingScope::default() },
        unit: one.unit.symbol(),
        from: one.from.as_ref().and_then(figure),
        to: one.to.as_ref().and_then(figure),
        source: Source::from(&one.source),
        set_aside_for: one.lost_to.as_deref(),
    }
}

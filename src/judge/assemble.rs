//! From a measured value and its comparison to a finding.

use super::compare::Compared;
use super::would_show::{change_to_type, what_shows};
use super::{Finding, FindingScope, FindingWitness, Found, Trace, Verdict};
use crate::logic::Region;
use crate::measure::Conduct;
use crate::quantity::{LevelScope, Measured, Occurrence};
use crate::ruleset::{Demand, Limit, Rule, Ruleset};

/// A finding for a limit before anything is measured.
pub(super) fn bare(ruleset: &Ruleset, rule: &Rule, limit: &Limit, verdict: Verdict, note: &str) -> Finding {
    let notes = if note.is_empty() { Vec::new() } else { vec![note.to_owned()] };
    Finding { notes, ..within(scope_of(ruleset, limit), ruleset, rule, limit, verdict) }
}

/// What a limit is about.
fn scope_of(ruleset: &Ruleset, limit: &Limit) -> FindingScope {
    let protocol = &ruleset.protocol;
    let level = limit.level.and_then(|at| protocol.levels.get(at)).map(|level| level.name.clone());
    let zone = limit.zone.and_then(|at| protocol.zones.sectors.get(at)).map(|sector| sector.name.clone());
    let (purpose, class, emitter) = (limit.purpose.clone(), limit.class.clone(), limit.colour.clone());
    let item = limit.item.clone();
    FindingScope { purpose, level, zone, class, emitter, item, ..FindingScope::default() }
}

/// A finding about this, of which nothing is known yet.
fn within(scope: FindingScope, ruleset: &Ruleset, rule: &Rule, limit: &Limit, verdict: Verdict) -> Finding {
    Finding {
        id: format!("{}:{}@{}", ruleset.id, rule.id, Finding::place(&scope)),
        rule: rule.id.clone(),
        ruleset: ruleset.id.clone(),
        says: rule.says.clone(),
        strength: rule.strength,
        quantity: rule.quantity.name,
        unit: rule.unit,
        scope,
        require: rule.require,
        limit: limit.demand.clone(),
        found: Found::Nothing,
        margin: None,
        verdict,
        was: None,
        evidence: None,
        witness: FindingWitness::default(),
        source: limit.source.clone(),
        together: Vec::new(),
        notes: Vec::new(),
        would_show: None,
        method: rule.quantity.looks.then(|| rule.method.describe()).or_else(|| listened(rule)),
        trace: None,
    }
}

/// Where one listens, for rules on sound that say so.
fn listened(rule: &Rule) -> Option<String> {
    let terms = rule.listen.as_ref()?;
    let place = terms.from.is_some() && terms.distance.is_some() && terms.height.is_none();
    let mut said = terms.describe();
    said.extend(place.then(|| "1.2 m above the ground".to_owned()));
    (terms.distance.is_some() || terms.from.is_some()).then(|| said.join(", "))
}

/// A finding for a limit with what was measured.
pub(super) fn assemble(
    conduct: &Conduct<'_>,
    ruleset: &Ruleset,
    rule: &Rule,
    limit: &Limit,
    measured: Measured,
    compared: Compared,
    trace: Trace,
) -> Finding {
    let protocol = &ruleset.protocol;
    let mut scope = scope_of(ruleset, limit);
    if measured.outside_levels || rule.quantity.scope.level == LevelScope::Never {
        scope.level = None;
    }
    if limit.zone.is_none() {
        let zone = measured.zone.and_then(|at| protocol.zones.sectors.get(at));
        scope.zone = zone.map(|sector| sector.name.clone());
    }
    let mode = trace.mode.and_then(|at| conduct.package.modes.get(at)).map(|mode| mode.id.clone());
    scope.mode = mode.clone();
    scope.head = measured.head;
    scope.emitter = measured.emitter.or(scope.emitter);
    (scope.circuit, scope.supply) = (measured.circuit, measured.supply);
    (scope.sounder, scope.tone, scope.place) = (measured.sounder, measured.tone, measured.place);
    let mut finding = within(scope, ruleset, rule, limit, compared.verdict);
    let states = measured.states.or_else(|| {
        // All states in which any of the words shows, so that the fewest inputs tell them.
        let space = conduct.space();
        let shown = measured.occurrences.iter().filter(|shown| compared.words.contains(&shown.word));
        shown.map(|shown| shown.states.clone()).reduce(|all, states| space.or(&all, &states))
    });
    let place = if compared.by_high { measured.high_witness.unwrap_or(measured.witness) } else { measured.witness };
    let shown_in = states.as_ref().and_then(|states| conduct.space().first(states));
    finding.witness = FindingWitness {
        state: mode.or_else(|| states.as_ref().and_then(|states| in_words(conduct, states))),
        bearing: place.bearing.map(|bearing| bearing.value()),
        elevation: place.elevation.map(|elevation| elevation.value()),
        head: compared.head.or(place.head),
    };
    finding.notes = measured.notes;
    finding.notes.extend(compared.notes);
    for shown in measured.occurrences.iter().filter(|shown| compared.words.contains(&shown.word)) {
        finding.notes.extend(where_shown(conduct, shown));
    }
    if let Demand::Missing { why, see } = &limit.demand {
        finding.notes.insert(0, format!("limit missing: {why}"));
        let see = see.as_deref().map(|see| format!("look up {see}; then ")).unwrap_or_default();
        let change = change_to_type(ruleset, rule);
        finding.would_show = Some(format!("{see}paste into an overlay, with your figure for each `...`:\n{change}"));
    } else if compared.verdict == Verdict::NotShown {
        // What keeps a decision from being taken stands behind what was found.
        let undecided = finding.notes.iter().find(|note| note.contains("states no uncertainty"));
        let note = undecided.or(finding.notes.first());
        finding.would_show = note.map(|note| what_shows(note, ruleset, rule, limit));
    }
    finding.found = compared.found;
    finding.margin = compared.margin;
    finding.evidence = measured.evidence;
    finding.trace = Some(Trace { state: shown_in, states, ..trace });
    finding
}

/// One of the states in words, with no more than is needed to be sure to be in one of them.
pub(super) fn in_words(conduct: &Conduct<'_>, states: &Region) -> Option<String> {
    let space = conduct.space();
    let state = space.first(states)?;
    Some(space.words(&space.witness(states, &state)))
}

/// A setting that shows a word, and what to set last.
fn where_shown(conduct: &Conduct<'_>, shown: &Occurrence) -> Option<String> {
    let with = in_words(conduct, &shown.states)?;
    let last = if shown.set_last.is_empty() {
        String::new()
    } else {
        format!(", where it was before this is set last: {}", shown.set_last.join(", or "))
    };
    Some(format!("{} is seen with: {with}{last}", shown.word))
}

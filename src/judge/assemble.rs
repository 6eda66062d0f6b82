//! From a measured value and its comparison to a finding, with what would show it where something is missing.

use super::compare::Compared;
use super::{Finding, FindingScope, FindingWitness, Found, Trace, Verdict};
use crate::logic::Region;
use crate::measure::Conduct;
use crate::quantity::{LevelScope, Measured, Occurrence};
use crate::ruleset::{Demand, Limit, Rule, Ruleset};
use crate::units::Dimension;

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
    FindingScope { purpose, mode: None, level, zone, class, head: None, emitter, item: limit.item.clone() }
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
        evidence: None,
        witness: FindingWitness::default(),
        source: limit.source.clone(),
        together: Vec::new(),
        notes: Vec::new(),
        would_show: None,
        method: rule.quantity.looks.then(|| rule.method.describe()),
        trace: None,
    }
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
        state: mode.or_else(|| states.and_then(|states| in_words(conduct, &states))),
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
        finding.would_show = Some(format!("{see}type it into an overlay: {}", line_to_type(ruleset, rule, limit)));
    } else if compared.verdict == Verdict::NotShown {
        finding.would_show = finding.notes.first().map(|note| what_shows(note, ruleset, rule));
    }
    finding.found = compared.found;
    finding.margin = compared.margin;
    finding.evidence = measured.evidence;
    finding.trace = Some(Trace { state: shown_in, ..trace });
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

/// The row that fills a missing limit.
fn line_to_type(ruleset: &Ruleset, rule: &Rule, limit: &Limit) -> String {
    let protocol = &ruleset.protocol;
    let mut row = Vec::new();
    if let Some(purpose) = &limit.purpose {
        row.push(format!("purpose = \"{purpose}\""));
    }
    if let Some(level) = limit.level.and_then(|at| protocol.levels.get(at)) {
        row.push(format!("level = \"{}\"", level.name));
    }
    if let Some(item) = &limit.item {
        row.push(format!("item = \"{item}\""));
    }
    if let Some(class) = &limit.class {
        row.push(format!("class = \"{class}\""));
    }
    let cell = if rule.require.asks_a_range() { "from = ..., to = ..." } else { "value = ..." };
    let sector = limit.zone.and_then(|at| protocol.zones.sectors.get(at)).map(|sector| ("zones", sector.name.as_str()));
    match sector.or(limit.colour.as_deref().map(|colour| ("colours", colour))) {
        Some((key, name)) if rule.require.asks_a_range() => row.push(format!("{key} = {{ {name} = {{ {cell} }} }}")),
        Some((key, name)) => row.push(format!("{key} = {{ {name} = ... }}")),
        None => row.push(cell.to_owned()),
    }
    format!("rule = \"{}\", limits = [{{ {} }}] (unit {})", rule.id, row.join(", "), rule.unit)
}

/// What would show it, for a note on what is missing.
fn what_shows(note: &str, ruleset: &Ruleset, rule: &Rule) -> String {
    let found = |sign: &str| note.contains(sign);
    if note.starts_with("only bounds") {
        "the same `clock` for all heads that one controller keeps in step".to_owned()
    } else if found("no chromaticity") {
        "`chromaticity = [x, y]` from the lamp's report, or `spectrum = \"...\"`, at the emitter in the catalogue"
            .to_owned()
    } else if found("inside `") || found("outside `") {
        "a chromaticity that is measured more closely, with its `chromaticity-uncertainty`, in the catalogue".to_owned()
    } else if found("no data for") {
        "a laboratory's or maker's intensity file that covers these directions, in place of what is in the catalogue"
            .to_owned()
    } else if let Some(item) = note.strip_prefix("nobody has answered for ") {
        let item = item.trim_matches('`');
        let answer = match rule.unit.dimension() {
            Dimension::Words => "answer = \"...\"".to_owned(),
            _ => format!("value = \"... {}\"", rule.unit),
        };
        format!("in the package: [[statement]] item = \"{item}\", {answer}, by = \"who\", on = the day (a line each)")
    } else if note.starts_with("no class is claimed") {
        format!("at the model in the catalogue: classes = {{ {} = \"...\" }}", ruleset.id)
    } else if let (true, Some(item)) = (rule.quantity.name.starts_with("stated-"), note.split('`').nth(1)) {
        format!("for `{item}` in the package: value = \"... {}\"", rule.unit)
    } else if note.starts_with("no head is in the group") {
        format!("{}: `groups` of the heads meant, in the package", note)
    } else if note.starts_with("no mode serves the purpose") {
        let purpose = note.split('`').nth(1).unwrap_or_default();
        format!("a mode with `purpose = \"{purpose}\"` in the package")
    } else if found("no [inputs]") {
        "[inputs] in the package, and `when` for its modes and displays".to_owned()
    } else if found("means = \"park\"") {
        "`means = \"park\"` for the input that reads the parking brake".to_owned()
    } else if note.starts_with("no `circuit`") || note.starts_with("no `output`") {
        format!("the `{}` of these heads in the package", note.split('`').nth(1).unwrap_or_default())
    } else {
        note.to_owned()
    }
}

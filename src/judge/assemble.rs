//! From a measured value and its comparison to a finding, with what would show it where something is missing.

use super::compare::Compared;
use super::{Finding, FindingScope, FindingWitness, Trace, Verdict};
use crate::package::Package;
use crate::quantity::{LevelScope, Measured};
use crate::ruleset::{Demand, Limit, Require, Rule, Ruleset};

pub(super) fn assemble(
    package: &Package,
    ruleset: &Ruleset,
    rule: &Rule,
    limit: &Limit,
    measured: Measured,
    compared: Compared,
    trace: Trace,
) -> Finding {
    let protocol = &ruleset.protocol;
    let mode = trace.mode.and_then(|at| package.modes.get(at)).map(|mode| mode.id.clone());
    let level = limit.level.and_then(|at| protocol.levels.get(at)).map(|level| level.name.clone());
    let level = level.filter(|_| !measured.outside_levels && rule.quantity.scope.level != LevelScope::Never);
    let zone = limit.zone.or(measured.zone).and_then(|at| protocol.zones.sectors.get(at));
    let zone = zone.map(|sector| sector.name.clone());
    let scope =
        FindingScope { purpose: limit.purpose.clone(), mode: mode.clone(), level, zone, head: measured.head.clone() };
    let place = if compared.by_high { measured.high_witness.unwrap_or(measured.witness) } else { measured.witness };
    let witness = FindingWitness {
        state: mode,
        bearing: place.bearing.map(|bearing| bearing.value()),
        elevation: place.elevation.map(|elevation| elevation.value()),
        head: compared.head.or(place.head),
    };
    let mut notes = measured.notes;
    notes.extend(compared.notes);
    let mut would_show = None;
    if let Demand::Missing { why, see } = &limit.demand {
        notes.insert(0, format!("limit missing: {why}"));
        let see = see.as_deref().map(|see| format!("look up {see}; then ")).unwrap_or_default();
        would_show = Some(format!("{see}type it into an overlay: {}", line_to_type(ruleset, rule, limit)));
    } else if compared.verdict == Verdict::NotShown {
        would_show = notes.first().map(|note| what_shows(note));
    }
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
        found: compared.found,
        margin: compared.margin,
        verdict: compared.verdict,
        evidence: measured.evidence,
        witness,
        source: limit.source.clone(),
        notes,
        would_show,
        method: rule.quantity.looks.then(|| rule.method.describe()),
        trace: Some(trace),
    }
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
    let cell = if rule.require == Require::Between { "from = ..., to = ..." } else { "value = ..." };
    match limit.zone.and_then(|at| protocol.zones.sectors.get(at)) {
        Some(sector) if rule.require == Require::Between => {
            row.push(format!("zones = {{ {} = {{ {cell} }} }}", sector.name))
        }
        Some(sector) => row.push(format!("zones = {{ {} = ... }}", sector.name)),
        None => row.push(cell.to_owned()),
    }
    format!("rule = \"{}\", limits = [{{ {} }}] (unit {})", rule.id, row.join(", "), rule.unit)
}

fn what_shows(note: &str) -> String {
    if note.starts_with("only bounds") {
        return "the same `clock` for all heads that one controller keeps in step".to_owned();
    }
    match note.find("no data for") {
        Some(_) => "a laboratory's or maker's intensity file that covers these directions, in place of what is in the catalogue".to_owned(),
        None => note.to_owned(),
    }
}

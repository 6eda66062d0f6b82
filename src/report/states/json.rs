//! The truth table for other programs: settings as inputs and positions, heads by their ids.

use std::collections::BTreeMap;

use serde::Serialize;

use super::lit::{Lit, milliseconds};
use super::worst::worst;
use super::{Row, States};
use crate::judge::{Finding, Verdict};
use crate::logic::Setting;
use crate::measure::Change;
use crate::report::json::{Identity, identity, to_text};

#[derive(Serialize)]
struct Document<'a> {
    #[serde(flatten)]
    identity: Identity<'a>,
    /// The condition that is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    when: Option<&'a str>,
    states: f64,
    /// How many of them meet the condition.
    #[serde(skip_serializing_if = "Option::is_none")]
    states_asked: Option<f64>,
    never: f64,
    lights: usize,
    /// States of lights beyond those.
    unlisted: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    rows: Option<Vec<RowLine<'a>>>,
}

/// Input and position, by their ids.
type Named<'a> = BTreeMap<&'a str, &'a str>;

#[derive(Serialize)]
struct RowLine<'a> {
    row: usize,
    settings: Vec<Named<'a>>,
    all_settings: bool,
    states: f64,
    /// With those that the condition leaves out.
    all_states: f64,
    modes: Vec<ModeLine<'a>>,
    in_no_mode: f64,
    lit: Vec<LitLine<'a>>,
    hidden: Vec<HiddenLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    judged: Option<JudgedLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    changes: Option<Vec<ChangeLine<'a>>>,
}

#[derive(Serialize)]
struct ModeLine<'a> {
    mode: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    purpose: Option<&'a str>,
    states: f64,
    judged: f64,
}

#[derive(Serialize)]
struct LitLine<'a> {
    head: &'a str,
    colour: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pattern: Option<&'a str>,
    phase_ms: f64,
    level: f64,
    role: &'static str,
}

#[derive(Serialize)]
struct HiddenLine<'a> {
    when: &'a str,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    by: Vec<&'a str>,
    heads: Vec<HiddenHead<'a>>,
}

#[derive(Serialize)]
struct HiddenHead<'a> {
    head: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    hidden: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    of: Option<usize>,
}

#[derive(Serialize)]
struct JudgedLine<'a> {
    findings: usize,
    verdict: Verdict,
    having: Vec<&'a str>,
    at_rest: AtRestLine<'a>,
    /// What doors and the like must do for the others.
    only_with: Vec<WithLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    least: Option<LeastLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    least_of_heads: Option<LeastLine<'a>>,
}

/// With doors and the like at rest.
#[derive(Serialize)]
struct AtRestLine<'a> {
    verdict: Verdict,
    /// Those of the findings with the worst verdict that have it at rest too.
    having: Vec<&'a str>,
}

#[derive(Serialize)]
struct WithLine<'a> {
    with: String,
    having: Vec<&'a str>,
}

#[derive(Serialize)]
struct LeastLine<'a> {
    id: &'a str,
    margin: f64,
    verdict: Verdict,
    #[serde(skip_serializing_if = "Option::is_none")]
    with: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    bearing: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    elevation: Option<f64>,
}

#[derive(Serialize)]
struct ChangeLine<'a> {
    input: &'a str,
    position: &'a str,
    rows: Vec<usize>,
    unlisted: bool,
    /// The first of the states from which it leads anywhere, rest positions first.
    from: Named<'a>,
    /// The row that it leads to from there, where that is in the table.
    #[serde(skip_serializing_if = "Option::is_none")]
    first: Option<usize>,
}

/// The whole table as one document.
pub(super) fn write(states: &States<'_>) -> String {
    let mut document = document(states);
    document.rows = Some(states.rows.iter().map(|row| line(states, row)).collect());
    to_text(serde_json::to_string_pretty(&document))
}

/// One line a row, after a first line with all the rest.
pub(super) fn write_lines(states: &States<'_>) -> String {
    let head = to_text(serde_json::to_string(&document(states)));
    let lines = states.rows.iter().map(|row| to_text(serde_json::to_string(&line(states, row))));
    std::iter::once(head).chain(lines).collect()
}

fn document<'s>(states: &'s States<'_>) -> Document<'s> {
    let when = states.wishes.when.as_ref();
    Document {
        identity: identity(states.conduct.package, states.rulesets, states.wishes.as_of),
        when: when.map(|when| when.text.as_str()),
        states: states.states,
        states_asked: when.map(|_| states.states_asked),
        never: states.never.states,
        lights: states.lights.list.len(),
        unlisted: states.unlisted,
        rows: None,
    }
}

fn line<'r>(states: &'r States<'_>, row: &'r Row<'_>) -> RowLine<'r> {
    let modes = row.uses.iter().map(|used| ModeLine {
        mode: used.mode,
        purpose: used.purpose,
        states: used.states,
        judged: used.judged,
    });
    let judged = worst(states, row).map(|worst| JudgedLine {
        findings: worst.judged,
        verdict: worst.verdict,
        having: ids(&worst.having),
        at_rest: AtRestLine { verdict: worst.verdict_at_rest(), having: ids(&worst.at_rest) },
        only_with: worst
            .only_with
            .iter()
            .map(|(with, having)| WithLine { with: with.clone(), having: ids(having) })
            .collect(),
        least: worst.least.and_then(|finding| least(states, finding)),
        least_of_heads: worst.least_of_heads.and_then(|finding| least(states, finding)),
    });
    let bodies = &states.conduct.package.bodies;
    let hidden = row.hidden.iter().map(|hidden| HiddenLine {
        when: &hidden.when,
        by: hidden.bodies.iter().filter_map(|at| bodies.get(*at)).map(|body| body.id.as_str()).collect(),
        heads: hidden
            .heads
            .iter()
            .map(|(head, taken, of)| {
                let hides = !hidden.bodies.is_empty();
                HiddenHead { head: states.head(*head), hidden: hides.then_some(*taken), of: hides.then_some(*of) }
            })
            .collect(),
    });
    let mut lit: Vec<(usize, LitLine<'r>)> = row.lit.iter().flat_map(|lit| heads(states, lit)).collect();
    lit.sort_by_key(|(head, _)| *head);
    RowLine {
        row: row.number,
        settings: row.settings.iter().map(|setting| named(states, setting)).collect(),
        all_settings: row.whole,
        states: row.states,
        all_states: row.all_states,
        modes: modes.collect(),
        in_no_mode: row.unused,
        lit: lit.into_iter().map(|(_, line)| line).collect(),
        hidden: hidden.collect(),
        judged,
        changes: states.wishes.changes.then(|| row.changes.iter().map(|change| changed(states, change)).collect()),
    }
}

fn ids<'r>(findings: &[&'r Finding]) -> Vec<&'r str> {
    findings.iter().map(|finding| finding.id.as_str()).collect()
}

fn least<'r>(states: &States<'_>, finding: &'r Finding) -> Option<LeastLine<'r>> {
    let witness = &finding.witness;
    Some(LeastLine {
        id: &finding.id,
        margin: finding.margin?,
        verdict: finding.verdict,
        with: states.with_doors(finding),
        bearing: witness.bearing,
        elevation: witness.elevation,
    })
}

fn heads<'r>(states: &'r States<'_>, lit: &'r Lit<'_>) -> impl Iterator<Item = (usize, LitLine<'r>)> {
    lit.heads.iter().map(|(head, phase)| {
        let line = LitLine {
            head: states.head(*head),
            colour: lit.colour,
            pattern: lit.pattern,
            phase_ms: milliseconds(*phase),
            level: lit.level.value(),
            role: lit.role.word(),
        };
        (*head, line)
    })
}

fn named<'r>(states: &'r States<'_>, setting: &Setting) -> Named<'r> {
    setting.iter().filter_map(|(input, position)| position_of(states, *input, *position)).collect()
}

fn position_of<'r>(states: &'r States<'_>, input: usize, position: usize) -> Option<(&'r str, &'r str)> {
    let input = states.conduct.space().inputs().list.get(input)?;
    Some((input.id.as_str(), input.positions.get(position)?.id.as_str()))
}

fn changed<'r>(states: &'r States<'_>, change: &Change) -> ChangeLine<'r> {
    let (input, position) = position_of(states, change.input, change.position).unwrap_or_default();
    let rows = change.to.iter().map(|(at, _)| at + 1).collect();
    let from = change.from.iter().copied().enumerate().collect();
    let (from, first) = (named(states, &from), change.first.map(|at| at + 1));
    ChangeLine { input, position, rows, unlisted: change.unlisted, from, first }
}

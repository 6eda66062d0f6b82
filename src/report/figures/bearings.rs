//! Who gives what at which bearing: the data behind a finding on a zone that fails or is open, head by head.

use serde::Serialize;

use super::{Drawings, SUMS, with_state};
use crate::judge::{Finding, Verdict, ask_of};
use crate::measure::{Boundary, LitHead, Sample};
use crate::quantity::{Measure, by_head};
use crate::ruleset::{Demand, Strength};
use crate::units::{Degrees, format_number};

/// A table of one zone in one state. Figures are optical power in cd.s/min.
#[derive(Debug, Serialize)]
pub struct BearingTable {
    /// The findings that it stands behind: the same zone, level, state and heads that count.
    pub findings: Vec<String>,
    /// What it shows.
    pub caption: String,
    /// One column a point, in degrees clockwise from straight ahead.
    pub bearings: Vec<String>,
    /// Heads that count there, in the order of the package, but for those that look away from all of it.
    pub heads: Vec<HeadRow>,
    /// Heads of which the whole zone lies behind the mounting plane.
    pub looking_away: Vec<String>,
    /// All heads together, one a point; `at least` where some head has no data.
    pub together: Vec<String>,
    /// The last row's sum over all points.
    pub sum: String,
    /// The least that is asked of each point, where a rule asks for it and knows the figure.
    pub asked_of_points: Option<String>,
    /// The least that is asked of the sum, likewise.
    pub asked_of_sum: Option<String>,
}

/// One head's row.
#[derive(Debug, Serialize)]
pub struct HeadRow {
    /// Its number in the plan.
    pub number: usize,
    /// Its id.
    pub head: String,
    /// The colour that it shows.
    pub colour: String,
    /// One a point: a figure, or `hidden` (by the body), `behind` (its mounting plane), `no data`.
    pub cells: Vec<String>,
    /// The same over all points, as far as it is known.
    pub sum: String,
    /// What the cells are made of.
    #[serde(skip)]
    pub samples: Vec<Sample>,
}

/// What makes two findings stand behind one table.
#[derive(PartialEq)]
struct Key<'a> {
    ruleset: usize,
    place: (Option<&'a str>, Option<&'a str>, Option<&'a str>),
    colour: Option<&'a str>,
    counts_permitted: bool,
    lit: Vec<usize>,
    boundary: Boundary,
    elevation: usize,
}

/// A cell.
fn cell(sample: Sample) -> String {
    match sample {
        Sample::Power(power) => format_number(power.value(), 0),
        Sample::Hidden => "hidden".to_owned(),
        Sample::Behind => "behind".to_owned(),
        Sample::NoData => "no data".to_owned(),
    }
}

fn is_away(samples: &[Sample]) -> bool {
    samples.iter().all(|sample| *sample == Sample::Behind)
}

fn bound(value: f64, is_bound: bool) -> String {
    let figure = format_number(value, 0);
    if is_bound { format!("at least {figure}") } else { figure }
}

/// The tables of a report, the findings in their order.
pub(super) fn tables<'a>(drawings: &Drawings<'a>) -> Vec<BearingTable> {
    let mut tables: Vec<(Key<'a>, BearingTable)> = Vec::new();
    for finding in &drawings.report.judged.findings {
        let open = matches!(finding.verdict, Verdict::Fail | Verdict::NotShown | Verdict::TooClose);
        let of_zone = finding.scope.zone.is_some() && finding.trace.as_ref().is_some_and(|trace| trace.state.is_some());
        if !open || !of_zone || finding.strength != Strength::Required {
            continue;
        }
        let Some(key) = key(drawings, finding) else { continue };
        match tables.iter_mut().find(|(known, _)| *known == key) {
            Some((_, table)) => {
                let asks = table_of(drawings, finding, &key);
                table.findings.push(finding.id.clone());
                if let Some(asks) = asks {
                    table.asked_of_points = table.asked_of_points.take().or(asks.asked_of_points);
                    table.asked_of_sum = table.asked_of_sum.take().or(asks.asked_of_sum);
                }
            }
            None => {
                let table = table_of(drawings, finding, &key);
                tables.extend(table.map(|table| (key, table)));
            }
        }
    }
    tables.into_iter().map(|(_, table)| table).collect()
}

fn key<'a>(drawings: &Drawings<'a>, finding: &'a Finding) -> Option<Key<'a>> {
    let (trace, rule) = (finding.trace.as_ref()?, drawings.rule_of(finding)?);
    if !matches!(rule.quantity.measure, Measure::Light { .. }) {
        return None;
    }
    let limit = rule.limits.get(trace.limit)?;
    let survey = drawings.survey(trace.ruleset, rule.method, trace.state.as_deref()?)?;
    let zones = &drawings.ruleset(trace.ruleset)?.protocol.zones;
    let row = finding
        .witness
        .elevation
        .and_then(|elevation| zones.off_plane.iter().position(|known| (known.value() - elevation).abs() < 1e-9));
    Some(Key {
        ruleset: trace.ruleset,
        place: (finding.scope.purpose.as_deref(), finding.scope.level.as_deref(), finding.scope.zone.as_deref()),
        colour: limit.colour.as_deref(),
        counts_permitted: rule.quantity.counts_permitted,
        lit: survey.lit.iter().map(|lit| lit.number).collect(),
        boundary: trace.boundary,
        elevation: row.map_or(0, |row| row + 1),
    })
}

fn table_of(drawings: &Drawings<'_>, finding: &Finding, key: &Key<'_>) -> Option<BearingTable> {
    let (trace, rule) = (finding.trace.as_ref()?, drawings.rule_of(finding)?);
    let ruleset = drawings.ruleset(trace.ruleset)?;
    let limit = rule.limits.get(trace.limit)?;
    let permitted = ruleset.permitted_by(limit);
    let decision = drawings.report.package().decision;
    let permitted = permitted.list().filter(|_| key.counts_permitted);
    let ask = ask_of(ruleset, rule, limit, trace.boundary, permitted, decision);
    let survey = drawings.survey(trace.ruleset, rule.method, trace.state.as_deref()?)?;
    let by_head = by_head(&survey, &ask, key.elevation);
    let points = 0..by_head.bearings.len();
    let together = points.clone().map(|at| bound(by_head.at_least(at).value(), by_head.lacks_data(at)));
    let total: f64 = points.clone().map(|at| by_head.at_least(at).value()).sum();
    let lacks = points.clone().any(|at| by_head.lacks_data(at));
    let head = |(lit, samples): &(&LitHead<'_>, Vec<Sample>)| HeadRow {
        number: lit.index + 1,
        head: lit.head.id.clone(),
        colour: lit.emitter.colour.clone(),
        cells: samples.iter().map(|sample| cell(*sample)).collect(),
        sum: bound(samples.iter().map(|sample| sample.at_least().value()).sum(), samples.contains(&Sample::NoData)),
        samples: samples.clone(),
    };
    let asked = match limit.demand {
        Demand::Number(number) if SUMS.contains(&rule.quantity.name) => {
            Some(format_number(rule.unit.to_base(number), 3))
        }
        _ => None,
    };
    let away = by_head.heads.iter().filter(|(_, samples)| is_away(samples));
    let of_sum = rule.quantity.name == "zone-total-optical-power";
    let elevation = survey.elevations().get(key.elevation).copied().unwrap_or(Degrees::ZERO);
    let height = match elevation.value() {
        0.0 => "in the horizontal plane".to_owned(),
        off => format!("{} deg from the horizontal plane", format_number(off, 2)),
    };
    let level = drawings.level(trace.ruleset, limit.level);
    let mode = trace.mode.map_or("", |mode| drawings.mode(mode));
    let zone = finding.scope.zone.as_deref().unwrap_or_default();
    Some(BearingTable {
        findings: vec![finding.id.clone()],
        caption: format!(
            "Optical power in cd.s/min at each bearing of zone {zone}, {height}: mode {mode}, {level}{}",
            with_state(finding)
        ),
        bearings: by_head.bearings.iter().map(|bearing| format_number(bearing.value(), 2)).collect(),
        heads: by_head.heads.iter().filter(|(_, samples)| !is_away(samples)).map(head).collect(),
        looking_away: away.map(|(lit, _)| lit.head.id.clone()).collect(),
        together: together.collect(),
        sum: bound(total, lacks),
        asked_of_points: asked.clone().filter(|_| !of_sum),
        asked_of_sum: asked.filter(|_| of_sum),
    })
}

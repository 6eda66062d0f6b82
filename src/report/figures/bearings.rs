//! Who gives what at which bearing: the data behind a finding on a zone that fails or is open, head by head.

use serde::Serialize;

use super::super::number::{asked, beside};
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

/// A table whose figures are not rounded yet: how far depends on all that is asked of them.
struct Draft<'a> {
    key: Key<'a>,
    table: BearingTable,
    /// All heads together, one a point, each with whether there may be more.
    together: Vec<(f64, bool)>,
    of_points: Option<f64>,
    of_sum: Option<f64>,
}

impl Draft<'_> {
    fn finished(self) -> BearingTable {
        let Draft { table, together, of_points, of_sum, .. } = self;
        let sum = together.iter().map(|(value, _)| value).sum();
        let lacks = together.iter().any(|(_, is_bound)| *is_bound);
        BearingTable {
            together: together.iter().map(|(value, is_bound)| bound(*value, *is_bound, of_points)).collect(),
            sum: bound(sum, lacks, of_sum),
            asked_of_points: of_points.map(asked),
            asked_of_sum: of_sum.map(asked),
            ..table
        }
    }
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

fn bound(value: f64, is_bound: bool, limit: Option<f64>) -> String {
    let figure = beside(value, limit);
    if is_bound { format!("at least {figure}") } else { figure }
}

/// The tables of a report, the findings in their order.
pub(super) fn tables<'a>(drawings: &Drawings<'a>) -> Vec<BearingTable> {
    let mut drafts: Vec<Draft<'a>> = Vec::new();
    for finding in &drawings.report.judged.findings {
        let open = matches!(finding.verdict, Verdict::Fail | Verdict::NotShown | Verdict::TooClose);
        let of_zone = finding.scope.zone.is_some() && finding.trace.as_ref().is_some_and(|trace| trace.state.is_some());
        if !open || !of_zone || finding.strength != Strength::Required {
            continue;
        }
        let Some(key) = key(drawings, finding) else { continue };
        match drafts.iter_mut().find(|draft| draft.key == key) {
            Some(draft) => {
                let (of_points, of_sum) = asks(drawings, finding);
                draft.table.findings.push(finding.id.clone());
                draft.of_points = draft.of_points.or(of_points);
                draft.of_sum = draft.of_sum.or(of_sum);
            }
            None => drafts.extend(draft(drawings, finding, key)),
        }
    }
    drafts.into_iter().map(Draft::finished).collect()
}

/// What a finding's limit asks of each point, and of the sum; nothing where it decides nothing.
fn asks(drawings: &Drawings<'_>, finding: &Finding) -> (Option<f64>, Option<f64>) {
    let limit = || {
        let rule = drawings.rule_of(finding).filter(|rule| SUMS.contains(&rule.quantity.name))?;
        let limit = rule.limits.get(finding.trace.as_ref()?.limit)?;
        match limit.demand {
            Demand::Number(number) if drawings.report.judged.terms.heeds(limit) => Some(rule.unit.to_base(number)),
            _ => None,
        }
    };
    let limit = limit();
    if finding.quantity == "zone-total-optical-power" { (None, limit) } else { (limit, None) }
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

fn draft<'a>(drawings: &Drawings<'_>, finding: &Finding, key: Key<'a>) -> Option<Draft<'a>> {
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
    let together = points.map(|at| (by_head.at_least(at).value(), by_head.lacks_data(at))).collect();
    let head = |(lit, samples): &(&LitHead<'_>, Vec<Sample>)| HeadRow {
        number: lit.index + 1,
        head: lit.head.id.clone(),
        colour: lit.emitter.colour.clone(),
        cells: samples.iter().map(|sample| cell(*sample)).collect(),
        sum: bound(
            samples.iter().map(|sample| sample.at_least().value()).sum(),
            samples.contains(&Sample::NoData),
            None,
        ),
        samples: samples.clone(),
    };
    let away = by_head.heads.iter().filter(|(_, samples)| is_away(samples));
    let elevation = survey.elevations().get(key.elevation).copied().unwrap_or(Degrees::ZERO);
    let height = match elevation.value() {
        0.0 => "in the horizontal plane".to_owned(),
        off => format!("{} deg from the horizontal plane", format_number(off, 2)),
    };
    let level = drawings.level(trace.ruleset, limit.level);
    let mode = trace.mode.map_or("", |mode| drawings.mode(mode));
    let zone = finding.scope.zone.as_deref().unwrap_or_default();
    let table = BearingTable {
        findings: vec![finding.id.clone()],
        caption: format!(
            "Optical power in cd.s/min at each bearing of zone {zone}, {height}: mode {mode}, {level}{}",
            with_state(drawings.report.conduct, trace.state.as_deref()?)
        ),
        bearings: by_head.bearings.iter().map(|bearing| format_number(bearing.value(), 2)).collect(),
        heads: by_head.heads.iter().filter(|(_, samples)| !is_away(samples)).map(head).collect(),
        looking_away: away.map(|(lit, _)| lit.head.id.clone()).collect(),
        together: Vec::new(),
        sum: String::new(),
        asked_of_points: None,
        asked_of_sum: None,
    };
    let (of_points, of_sum) = asks(drawings, finding);
    Some(Draft { key, table, together, of_points, of_sum })
}

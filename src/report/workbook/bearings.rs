//! Zone by bearing: for each total that a rule asks for, in its worst state, what each head gives at each bearing.

use std::collections::HashMap;

use super::super::figures::whole_state;
use super::super::text::setting;
use super::super::{Report, verdict_word};
use super::table::{Cell, Table};
use crate::judge::{Finding, Found, ask_of, working};
use crate::measure::{Looks, Sample};
use crate::quantity::by_head;
use crate::ruleset::Demand;
use crate::units::format_number;

const HEAD: [&str; 13] = [
    "ruleset",
    "purpose",
    "mode",
    "level",
    "zone",
    "set the vehicle to",
    "head",
    "colour",
    "over the zone (cd.s/min)",
    "only at least",
    "least over the zone asked (cd.s/min)",
    "verdict",
    "note",
];

/// The quantity whose findings are shown bearing by bearing.
const TOTAL: &str = "zone-total-optical-power";

/// The row that adds up the heads above it.
const TOGETHER: &str = "all together";

pub(super) fn table(report: &Report<'_>) -> Table {
    let mut table = Table::new("Bearings", 7, &HEAD);
    let totals: Vec<&Finding> = report.findings().filter(|finding| finding.quantity == TOTAL).collect();
    let protocols = report.rulesets.iter().enumerate().filter(|(at, _)| {
        totals.iter().any(|finding| finding.trace.as_ref().is_some_and(|trace| trace.ruleset == *at))
    });
    let mut bearings: Vec<f64> =
        protocols.flat_map(|(_, ruleset)| &ruleset.protocol.zones.bearings).map(|bearing| bearing.value()).collect();
    bearings.sort_by(f64::total_cmp);
    bearings.dedup_by(|one, other| (*one - *other).abs() < 1e-9);
    table.head.extend(bearings.iter().map(|bearing| format!("{bearing} deg (cd.s/min)")));
    // Light is computed once for each ruleset and way of looking.
    let mut seen: HashMap<(usize, usize), Looks<'_>> = HashMap::new();
    for finding in totals {
        of_total(report, finding, &bearings, &mut seen, &mut table);
    }
    table
}

fn of_total<'a>(
    report: &Report<'a>,
    finding: &Finding,
    bearings: &[f64],
    seen: &mut HashMap<(usize, usize), Looks<'a>>,
    table: &mut Table,
) {
    let scope = &finding.scope;
    let (limit, found): (Cell, Cell) = (
        match &finding.limit {
            Demand::Number(number) => (*number).into(),
            Demand::Range { .. } | Demand::Words(_) | Demand::Missing { .. } => Cell::Empty,
        },
        match &finding.found {
            Found::Number(number) => (*number).into(),
            Found::Words(_) | Found::Nothing => Cell::Empty,
        },
    );
    let place = |head: &str, colour: &str| -> Vec<Cell> {
        vec![
            finding.ruleset.as_str().into(),
            scope.purpose.clone().into(),
            scope.mode.clone().into(),
            scope.level.clone().into(),
            scope.zone.clone().into(),
            shown_in(report, finding).into(),
            head.into(),
            colour.into(),
        ]
    };
    let mut together = place(TOGETHER, scope.emitter.as_deref().unwrap_or_default());
    let shown = by_bearing(report, finding, bearings, seen);
    let lacking = shown.as_ref().map(|(_, sums)| sums.lacking.clone()).unwrap_or_default();
    together.extend([found, lacking.into(), limit, verdict_word(finding).into(), finding.note().into()]);
    if let Some((rows, sums)) = shown {
        for (head, colour, row_of) in rows {
            let mut row = place(&head, &colour);
            row.extend([row_of.over.into(), row_of.lacking.into(), Cell::Empty, Cell::Empty, Cell::Empty]);
            row.extend(row_of.cells);
            table.rows.push(row);
        }
        together.extend(sums.cells);
    }
    table.rows.push(together);
}

/// The state that the figures are of: all of it, since other settings of what a finding leaves open give other figures.
fn shown_in(report: &Report<'_>, finding: &Finding) -> String {
    let state = finding.trace.as_ref().and_then(|trace| trace.state.as_deref());
    state.and_then(|state| whole_state(report.conduct, state)).or_else(|| setting(finding)).unwrap_or_default()
}

/// One row bearing by bearing.
struct ByBearing {
    /// Over the zone, where it is not said elsewhere.
    over: Option<f64>,
    /// At which bearings it is a lower bound, in words; nothing where it is none.
    lacking: String,
    cells: Vec<Cell>,
}

/// Where figures are lower bounds, since some head has no data there.
fn at_least(bearings: impl Iterator<Item = f64>) -> String {
    let at: Vec<String> = bearings.map(|bearing| format_number(bearing, 2)).collect();
    if at.is_empty() { String::new() } else { format!("at least: no data at {} deg", at.join(", ")) }
}

/// A head, the colour that it shows, what it gives.
type OfHead = (String, String, ByBearing);

/// A row for each head that counts, with its colour, and what arrives of all of them at each bearing of the zone.
fn by_bearing<'a>(
    report: &Report<'a>,
    finding: &Finding,
    bearings: &[f64],
    seen: &mut HashMap<(usize, usize), Looks<'a>>,
) -> Option<(Vec<OfHead>, ByBearing)> {
    let trace = finding.trace.as_ref()?;
    let ruleset = report.rulesets.get(trace.ruleset)?;
    let rule = ruleset.rules.get(trace.rule)?;
    let limit = rule.limits.get(trace.limit)?;
    let state = report.conduct.space().state(trace.state.as_ref()?);
    let looks = seen
        .entry((trace.ruleset, trace.rule))
        .or_insert_with(|| Looks::new(report.conduct, &ruleset.protocol, rule.method));
    let survey = looks.survey_in(&state);
    let permitted = ruleset.permitted_by(limit);
    let permitted = permitted.list().filter(|_| rule.quantity.counts_permitted);
    let ask = ask_of(ruleset, rule, limit, trace.boundary, permitted, report.package().decision);
    let light = by_head(&survey, &ask, 0);
    let place = |bearing: &f64| light.bearings.iter().position(|known| (known.value() - bearing).abs() < 1e-9);
    let columns: Vec<Option<usize>> = bearings.iter().map(place).collect();
    let bearing = |point: usize| light.bearings.get(point).map(|bearing| bearing.value());
    let mut rows = Vec::new();
    // Which heads count is the judge's to say.
    for part in working(report.conduct, report.rulesets, finding).parts {
        let is_it = |head: &str, colour: &str| head == part.head && colour == part.colour;
        let found = light.heads.iter().find(|(lit, _)| is_it(&lit.head.id, &lit.emitter.colour));
        let Some((_, samples)) = found else { continue };
        let cells = columns.iter().map(|column| match column.and_then(|at| samples.get(at)) {
            Some(Sample::Power(power)) => power.value().into(),
            Some(Sample::Hidden) => "hidden".into(),
            Some(Sample::Behind) => "behind it".into(),
            Some(Sample::NoData) => "no data".into(),
            None => Cell::Empty,
        });
        let unknown = samples.iter().enumerate().filter(|(_, sample)| **sample == Sample::NoData);
        let lacking = at_least(unknown.filter_map(|(at, _)| bearing(at)));
        let row = ByBearing { over: Some(part.adds), lacking, cells: cells.collect() };
        rows.push((part.head.clone(), part.colour.clone(), row));
    }
    let sums = columns.iter().map(|column| column.map(|at| light.at_least(at).value()).into()).collect();
    let unknown = (0..light.bearings.len()).filter(|at| light.lacks_data(*at));
    let lacking = at_least(unknown.filter_map(bearing));
    Some((rows, ByBearing { over: None, lacking, cells: sums }))
}

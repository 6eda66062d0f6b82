//! Zone by bearing: for each total that a rule asks for, in its worst state, what each head gives at each bearing.

use std::collections::HashMap;

use super::super::text::setting;
use super::super::{Report, verdict_word};
use super::table::{Cell, Table};
use crate::judge::{Finding, Found, working};
use crate::measure::{Looks, Sample};
use crate::ruleset::Demand;

const HEAD: [&str; 12] = [
    "ruleset",
    "purpose",
    "mode",
    "level",
    "zone",
    "set the vehicle to",
    "head",
    "colour",
    "over the zone (cd.s/min)",
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
            setting(finding).into(),
            head.into(),
            colour.into(),
        ]
    };
    let mut together = place(TOGETHER, scope.emitter.as_deref().unwrap_or_default());
    together.extend([found, limit, verdict_word(finding).into(), finding.note().into()]);
    if let Some((rows, sums)) = by_bearing(report, finding, bearings, seen) {
        for (head, colour, adds, cells) in rows {
            let mut row = place(&head, &colour);
            row.extend([adds.into(), Cell::Empty, Cell::Empty, Cell::Empty]);
            row.extend(cells);
            table.rows.push(row);
        }
        together.extend(sums);
    }
    table.rows.push(together);
}

/// Head, colour, sum over the zone, one cell a bearing.
type HeadRow = (String, String, f64, Vec<Cell>);

/// A row for each head that counts, and the sum at each bearing of the zone.
fn by_bearing<'a>(
    report: &Report<'a>,
    finding: &Finding,
    bearings: &[f64],
    seen: &mut HashMap<(usize, usize), Looks<'a>>,
) -> Option<(Vec<HeadRow>, Vec<Cell>)> {
    let trace = finding.trace.as_ref()?;
    let ruleset = report.rulesets.get(trace.ruleset)?;
    let rule = ruleset.rules.get(trace.rule)?;
    let zones = &ruleset.protocol.zones;
    let sector = rule.limits.get(trace.limit).and_then(|limit| zones.sectors.get(limit.zone?))?;
    let state = report.conduct.space().state(trace.state.as_ref()?);
    let looks = seen
        .entry((trace.ruleset, trace.rule))
        .or_insert_with(|| Looks::new(report.conduct, &ruleset.protocol, rule.method));
    let survey = looks.survey_in(&state);
    let points: Vec<(usize, f64)> =
        sector.points(trace.boundary).iter().filter_map(|at| Some((*at, zones.bearings.get(*at)?.value()))).collect();
    let place = |bearing: &f64| points.iter().find(|(_, known)| (known - bearing).abs() < 1e-9).map(|(at, _)| *at);
    let columns: Vec<Option<usize>> = bearings.iter().map(place).collect();
    let mut sums = vec![0.0; columns.len()];
    let mut rows = Vec::new();
    // Which heads count is the judge's to say.
    for part in working(report.conduct, report.rulesets, finding).parts {
        let Some(lit) = survey.lit.iter().find(|lit| lit.head.id == part.head) else { continue };
        let cells = columns.iter().zip(&mut sums).map(|(column, sum)| match column.map(|at| lit.at(0, at)) {
            Some(Sample::Power(power)) => {
                *sum += power.value();
                power.value().into()
            }
            Some(Sample::Hidden) => "hidden".into(),
            Some(Sample::Behind) => "behind it".into(),
            Some(Sample::NoData) => "no data".into(),
            None => Cell::Empty,
        });
        rows.push((part.head.clone(), part.colour.clone(), part.adds, cells.collect()));
    }
    let sums = columns.iter().zip(sums).map(|(column, sum)| column.map(|_| sum).into()).collect();
    Some((rows, sums))
}

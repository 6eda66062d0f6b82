//! Where the limits come from, and what the light of each lamp rests on.

use super::super::Report;
use super::table::{Cell, Table};
use crate::package::Figures;
use crate::ruleset::{Demand, Origin};

/// One row a limit of every ruleset asked for.
pub(super) fn limits(report: &Report<'_>) -> Table {
    let head = [
        "ruleset",
        "rule",
        "strength",
        "purpose",
        "level",
        "zone",
        "colour",
        "class",
        "item",
        "how compared",
        "limit",
        "limit to",
        "in words",
        "unit",
        "document",
        "edition",
        "clause",
        "own reason",
        "authority",
        "basis",
        "address",
        "seen on",
        "confirmed",
    ];
    let mut table = Table::new("Sources", 2, &head);
    for ruleset in report.rulesets {
        let protocol = &ruleset.protocol;
        for (rule, limit) in ruleset.rules.iter().flat_map(|rule| rule.limits.iter().map(move |limit| (rule, limit))) {
            let level = limit.level.and_then(|at| protocol.levels.get(at)).map(|level| level.name.clone());
            let zone = limit.zone.and_then(|at| protocol.zones.sectors.get(at)).map(|zone| zone.name.clone());
            let (number, to, words): (Cell, Cell, Cell) = match &limit.demand {
                Demand::Number(number) => ((*number).into(), Cell::Empty, Cell::Empty),
                Demand::Range { from, to } => ((*from).into(), (*to).into(), Cell::Empty),
                Demand::Words(_) => (Cell::Empty, Cell::Empty, limit.demand.in_words().into()),
                Demand::Missing { why, see } => {
                    let see = see.as_ref().map(|see| format!("; see {see}")).unwrap_or_default();
                    (Cell::Empty, Cell::Empty, format!("missing: {why}{see}").into())
                }
            };
            let source = &limit.source;
            let (document, edition, clause, own) = match &source.origin {
                Origin::Document { title, edition, clause } => (title.as_str(), edition.as_str(), clause.as_str(), ""),
                Origin::Own(why) => ("", "", "", why.as_str()),
            };
            let confirmed = source.confirmed.as_ref().map(|confirmed| {
                format!("by {} on {}, edition {}, {}", confirmed.by, confirmed.on, confirmed.edition, confirmed.clause)
            });
            table.rows.push(vec![
                ruleset.id.as_str().into(),
                rule.id.as_str().into(),
                rule.strength.word().into(),
                limit.purpose.clone().into(),
                level.into(),
                zone.into(),
                limit.colour.clone().into(),
                limit.class.clone().into(),
                limit.item.clone().into(),
                rule.require.word().into(),
                number,
                to,
                words,
                rule.unit.symbol().into(),
                document.into(),
                edition.into(),
                clause.into(),
                own.into(),
                source.authority.clone().into(),
                source.basis.word().into(),
                source.address.clone().into(),
                source.seen.map(|day| day.to_string()).into(),
                confirmed.into(),
            ]);
        }
    }
    table
}

/// One row an emitter of every model that is fitted: report, grade, date, and the serial numbers that it speaks of.
pub(super) fn evidence(report: &Report<'_>) -> Table {
    let head = [
        "model",
        "maker",
        "colour",
        "light stated as",
        "measured at (V)",
        "expanded uncertainty, k = 2 (%)",
        "grade",
        "report",
        "date",
        "pattern index",
        "lamps fitted",
        "serial numbers",
        "lamps without a serial number",
    ];
    let mut table = Table::new("Evidence", 1, &head);
    let package = report.package();
    for (at, model) in package.models.iter().enumerate() {
        let fitted: Vec<_> = package.heads.iter().filter(|head| head.model == at).collect();
        if fitted.is_empty() {
            continue;
        }
        let serials: Vec<&str> = fitted.iter().filter_map(|head| head.serial.as_deref()).collect();
        let without: Vec<&str> =
            fitted.iter().filter(|head| head.serial.is_none()).map(|head| head.id.as_str()).collect();
        let fitted: Vec<&str> = fitted.iter().map(|head| head.id.as_str()).collect();
        for emitter in &model.emitters {
            let light = emitter.light.as_ref();
            let stated = match light.map(|light| &light.figures) {
                Some(Figures::Intensity(_)) => "intensity",
                Some(Figures::OpticalPower { .. }) => "optical power of one pattern",
                None => "nothing",
            };
            let evidence = &emitter.evidence;
            table.rows.push(vec![
                model.id.as_str().into(),
                model.maker.clone().into(),
                emitter.colour.as_str().into(),
                stated.into(),
                light.and_then(|light| light.at).map(|volts| volts.value()).into(),
                light.and_then(|light| light.uncertainty).map(|share| share.value() * 100.0).into(),
                evidence.grade.word().into(),
                evidence.report.clone().into(),
                evidence.date.map(|day| day.to_string()).into(),
                evidence.pattern_index.clone().into(),
                fitted.join(" ").into(),
                serials.join(" ").into(),
                without.join(" ").into(),
            ]);
        }
    }
    table
}

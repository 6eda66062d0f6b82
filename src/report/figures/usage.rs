//! How much of its fuse and of its wire each circuit takes: one bar a finding, with its limit.

use super::super::Report;
use super::super::number::pair;
use super::super::paper::{Anchor, Figure};
use super::super::verdict_word;
use super::canvas::{Canvas, fit};
use crate::judge::{Finding, Found};
use crate::ruleset::Demand;
use crate::units::format_number;

const WIDTH: f64 = 760.0;
const FROM: f64 = 240.0;
const TO: f64 = 600.0;
const ROW: f64 = 17.0;

/// The quantities that are drawn, and what each is a share of.
const SHARES: &[(&str, &str)] = &[("fuse-use", "of its fuse"), ("wire-use", "of its wire")];

/// One bar for each circuit and share that a rule asks about; nothing where none does.
pub(super) fn circuit_use(report: &Report<'_>) -> Option<Figure> {
    let power = report.conduct.power()?;
    let mut rows: Vec<(&str, &'static str, &Finding)> = Vec::new();
    for circuit in &power.supply.circuits {
        for (quantity, of) in SHARES {
            let on_it = |finding: &&Finding| {
                finding.quantity == *quantity && finding.scope.circuit.as_deref() == Some(circuit.id.as_str())
            };
            rows.extend(report.findings().filter(on_it).map(|finding| (circuit.id.as_str(), *of, finding)));
        }
    }
    if rows.is_empty() {
        return None;
    }
    let share = |finding: &Finding, number: f64| finding.unit.to_base(number);
    let found = |finding: &Finding| match finding.found {
        Found::Number(number) if number.is_finite() => Some(share(finding, number)),
        _ => None,
    };
    let limit = |finding: &Finding| match finding.limit {
        Demand::Number(number) => Some(share(finding, number)),
        _ => None,
    };
    let figures = rows.iter().flat_map(|(_, _, finding)| [found(finding), limit(finding)]).flatten();
    // A bar that runs out of the drawing is cut and says so.
    let most = figures.fold(1.0, f64::max).min(3.0);
    let x = |share: f64| FROM + (TO - FROM) * share.min(most) / most;
    let mut canvas = Canvas::new(WIDTH);
    let bottom = 26.0 + ROW * rows.iter().map(|_| 1.0).sum::<f64>();
    let mut tick = 0.0;
    while tick <= most + 1e-9 {
        canvas.line((x(tick), 22.0), (x(tick), bottom), "axis");
        canvas.text((x(tick), 14.0), Anchor::Middle, format!("{} %", format_number(tick * 100.0, 0)), "soft");
        tick += if most > 1.6 { 0.5 } else { 0.25 };
    }
    let (mut y, mut before, mut told) = (26.0, "", Vec::new());
    for (circuit, of, finding) in &rows {
        if *circuit != before {
            canvas.text((20.0, y + 11.0), Anchor::Start, fit(circuit, 130.0), "strong");
            before = circuit;
        }
        canvas.text((FROM - 8.0, y + 11.0), Anchor::End, *of, "plain");
        let figure = found(finding);
        if let Some(share) = figure {
            canvas.rect((FROM, y + 2.0), x(share) - FROM, ROW - 6.0, "lit");
        }
        if let Some(limit) = limit(finding) {
            canvas.line((x(limit), y), (x(limit), y + ROW - 2.0), "limit");
        }
        let (number, required) = pair(finding);
        let word = verdict_word(finding).replace('-', " ");
        let unit = finding.unit.symbol();
        let says = if figure.is_some() { format!("{number} {unit}, {word}") } else { word.clone() };
        canvas.text((TO + 10.0, y + 11.0), Anchor::Start, says.clone(), "plain");
        told.push(format!("{circuit}: {says} {of}, required {required} {unit}"));
        y += ROW;
    }
    canvas.line((FROM, 22.0), (FROM, bottom), "edge");
    let cut = rows.iter().any(|(_, _, finding)| found(finding).is_some_and(|share| share > most));
    let mut says = "Bars: the greatest use over all states and voltages; dashed: the most that is allowed.".to_owned();
    if cut {
        says.push_str(" What is over 300 % is cut there.");
    }
    let end = canvas.lines((20.0, bottom + 18.0), &says, "soft");
    let title = "What each circuit takes of its fuse and of its wire".to_owned();
    Some(canvas.figure("circuit-use".to_owned(), title, format!("{}.", told.join("; ")), end))
}

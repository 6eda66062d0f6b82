//! What each battery gives in each mode at its worst moment: the mean as a bar, the most that can flow at once as a
//! tick. The same figures as in the table of modes of the load analysis.

use super::super::Report;
use super::super::paper::{Anchor, Figure};
use super::canvas::{Canvas, fit};
use super::scale::round_up;
use crate::measure::Range;
use crate::units::format_number;

const WIDTH: f64 = 780.0;
const FROM: f64 = 170.0;
const TO: f64 = 490.0;
const ROW: f64 = 18.0;

/// One mode of one battery; an error says why nothing is known.
struct Row<'a> {
    mode: &'a str,
    found: Result<(Range, f64), String>,
}

/// One figure for all batteries; none where the package describes no supply, or nothing hangs on its batteries.
pub(super) fn batteries(report: &Report<'_>) -> Option<Figure> {
    let power = report.conduct.power()?;
    let names: Vec<&str> = power.supply.voltages.all().iter().map(|(name, _)| *name).collect();
    let mut groups: Vec<(&str, Vec<Row<'_>>)> = Vec::new();
    for (at, battery) in power.supply.batteries.iter().enumerate() {
        let mut rows = Vec::new();
        for (mode, states) in report.package().modes.iter().zip(&report.conduct.modes) {
            if states.is_empty() {
                continue;
            }
            let most = power.most(report.conduct, at, states, &names, |_| true);
            let bounds = power.bounds(report.conduct, at, states);
            let found = match (most, bounds) {
                (Ok(None), _) => continue,
                (Ok(Some(most)), Ok((_, peak))) => Ok((most.current, peak)),
                (Ok(Some(most)), Err(_)) => Ok((most.current, f64::INFINITY)),
                (Err(why), _) => Err(why),
            };
            rows.push(Row { mode: &mode.id, found });
        }
        if !rows.is_empty() {
            groups.push((&battery.id, rows));
        }
    }
    (!groups.is_empty()).then(|| draw(&groups))
}

fn draw(groups: &[(&str, Vec<Row<'_>>)]) -> Figure {
    let all = || groups.iter().flat_map(|(_, rows)| rows).filter_map(|row| row.found.as_ref().ok());
    let figures = all().flat_map(|(mean, peak)| [mean.low, mean.high, *peak]).filter(|figure| figure.is_finite());
    let most = round_up(figures.fold(1.0, f64::max));
    let x = |current: f64| FROM + (TO - FROM) * current / most;
    let mut canvas = Canvas::new(WIDTH);
    let (mut y, mut told) = (26.0, Vec::new());
    let rows = groups.iter().map(|(_, rows)| 20.0 + ROW * rows.iter().map(|_| 1.0).sum::<f64>());
    let bottom = y + rows.sum::<f64>();
    for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let at = x(most * share);
        canvas.line((at, 20.0), (at, bottom), "axis");
        canvas.text((at, 14.0), Anchor::Middle, format!("{} A", format_number(most * share, 2)), "soft");
    }
    for (battery, rows) in groups {
        canvas.text((20.0, y + 11.0), Anchor::Start, fit(&format!("battery {battery}"), FROM - 24.0), "strong halo");
        y += 18.0;
        for row in rows {
            canvas.text((FROM - 8.0, y + 11.0), Anchor::End, fit(row.mode, FROM - 40.0), "plain");
            let says = match &row.found {
                Ok((mean, peak)) => {
                    if mean.high.is_finite() {
                        canvas.rect((FROM, y + 2.0), x(mean.low) - FROM, ROW - 7.0, "lit");
                        canvas.rect((x(mean.low), y + 2.0), x(mean.high) - x(mean.low), ROW - 7.0, "span");
                    }
                    if peak.is_finite() {
                        canvas.line((x(*peak), y), (x(*peak), y + ROW - 3.0), "edge");
                    }
                    format!("mean {}, peak {}", mean_in_words(*mean), at_most(*peak))
                }
                Err(why) => format!("not shown: {why}"),
            };
            canvas.text((TO + 10.0, y + 11.0), Anchor::Start, fit(&says, WIDTH - TO - 14.0), "plain");
            told.push(format!("{battery}, mode {}: {says}", row.mode));
            y += ROW;
        }
        y += 2.0;
    }
    canvas.line((FROM, 20.0), (FROM, bottom), "edge");
    let says = "Bar: the mean at the worst moment of the mode, all loads on that can be, at the worst voltage; paler where it may be less. Upright line: the most that can flow at once, whatever the phases.";
    let end = canvas.lines((20.0, bottom + 18.0), says, "soft");
    let title = "What each battery gives in each mode".to_owned();
    canvas.figure("batteries".to_owned(), title, format!("{}.", told.join("; ")), end)
}

fn mean_in_words(mean: Range) -> String {
    let figure = |value: f64| format_number(value, 1);
    match (mean.high.is_finite(), figure(mean.low) == figure(mean.high)) {
        (false, _) => format!("at least {} A", figure(mean.low)),
        (true, true) => format!("{} A", figure(mean.high)),
        (true, false) => format!("{} to {} A", figure(mean.low), figure(mean.high)),
    }
}

fn at_most(peak: f64) -> String {
    if peak.is_finite() { format!("at most {} A", format_number(peak, 1)) } else { "not shown".to_owned() }
}

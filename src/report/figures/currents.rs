//! The current of a circuit over time in its worst state, at the lowest voltage of its source. Where clocks run free of
//! each other there is no one course of time; then the bounds are drawn.

use super::super::Report;
use super::super::paper::{Anchor, Figure};
use super::canvas::{Canvas, time_step};
use super::scale::round_up;
use super::{with_state, worse_first};
use crate::electrical::CurrentTrain;
use crate::judge::Finding;
use crate::measure::{Case, Flow, Power, Range, Tree};
use crate::units::{Micros, Volt, format_number};

const WIDTH: f64 = 640.0;
const FROM: f64 = 64.0;
const TO: f64 = 560.0;
const TOP: f64 = 16.0;
const HIGH: f64 = 110.0;

/// No more time than this is drawn.
const MOST: i64 = 2_000_000;

/// More steps than these cannot be told apart.
const MOST_STEPS: usize = 2_000;

/// One figure a circuit whose current varies; none where the package describes no supply.
pub(super) fn currents(report: &Report<'_>) -> Vec<Figure> {
    let Some(power) = report.conduct.power() else { return Vec::new() };
    let mut figures = Vec::new();
    for at in 0..power.supply.circuits.len() {
        figures.extend(of_circuit(report, power, at, figures.len() + 1));
    }
    figures
}

/// The worst finding on a circuit of those that hold in some state.
fn worst<'a>(report: &Report<'a>, circuit: &str) -> Option<&'a Finding> {
    let of_it = |finding: &&Finding| {
        let in_state = finding.trace.as_ref().is_some_and(|trace| trace.state.is_some());
        in_state && finding.scope.circuit.as_deref() == Some(circuit)
    };
    report.judged.findings.iter().filter(of_it).min_by(|one, other| worse_first(one, other))
}

/// The flow at the lowest voltage of the source that has an operating point.
fn lowest(case: &Case, place: usize) -> Option<(Volt, &Flow)> {
    let flows = case.flows.iter().filter_map(|flows| Some((flows.source.1, flows.flows.as_ref()?.get(place)?)));
    flows.min_by(|one, other| one.0.value().total_cmp(&other.0.value()))
}

fn of_circuit(report: &Report<'_>, power: &Power, at: usize, number: usize) -> Option<Figure> {
    let circuit = power.supply.circuits.get(at)?;
    let (tree, place) = power.of_circuit(at)?;
    let finding = worst(report, &circuit.id);
    let state = finding.and_then(|finding| finding.trace.as_ref()?.state.as_ref());
    let case = match state {
        Some(state) => {
            let state = report.conduct.space().state(state);
            tree.cases.iter().find(|case| report.conduct.space().meet(&case.region, &state))?
        }
        None => greatest(tree, place)?,
    };
    let (volts, flow) = lowest(case, place)?;
    // A steady load is no drawing; that its law is not stated makes it no less steady.
    if flow.peak.high <= 1.1 * flow.average.low || !flow.peak.high.is_finite() || flow.peak.high <= 0.0 {
        return None;
    }
    let with =
        state.map_or_else(|| "; in the case that takes most".to_owned(), |state| with_state(report.conduct, state));
    let title = format!("Current of circuit {} at {} V{with}", circuit.id, format_number(volts.value(), 2));
    let fuse = circuit.fuse.map(|fuse| fuse.rating.value());
    Some(draw(format!("current-{number}"), title, flow, fuse))
}

/// The case that takes most.
fn greatest(tree: &Tree, place: usize) -> Option<&Case> {
    let rms = |case: &Case| lowest(case, place).map_or(0.0, |(_, flow)| flow.rms.high);
    tree.cases.iter().max_by(|one, other| rms(one).total_cmp(&rms(other)))
}

fn amperes(range: Range) -> String {
    let figure = |value: f64| format_number(value, 2);
    if figure(range.low) == figure(range.high) {
        format!("{} A", figure(range.high))
    } else {
        format!("{} to {} A", figure(range.low), figure(range.high))
    }
}

fn draw(id: String, title: String, flow: &Flow, fuse: Option<f64>) -> Figure {
    let peak = flow.peak.high;
    // A fuse far above the peak would leave the current flat on the ground.
    let rating = fuse.filter(|rating| *rating <= 2.5 * peak);
    let most = round_up(peak.max(rating.unwrap_or(0.0)));
    let y = |current: f64| TOP + HIGH * (1.0 - current / most);
    let mut canvas = Canvas::new(WIDTH);
    for share in [0.0, 0.5, 1.0] {
        canvas.line((FROM, y(most * share)), (TO, y(most * share)), "axis");
        canvas.text(
            (FROM - 6.0, y(most * share) + 4.0),
            Anchor::End,
            format!("{} A", format_number(most * share, 2)),
            "soft",
        );
    }
    let mut said = vec![
        format!("mean {}", amperes(flow.average)),
        format!("RMS {}", amperes(flow.rms)),
        format!("peak {}", amperes(flow.peak)),
    ];
    match &flow.train {
        Some(train) => over_time(&mut canvas, train, &y, &mut said),
        None => {
            let band = |on: &mut Canvas, range: Range| {
                on.rect((FROM, y(range.high)), TO - FROM, (y(range.low) - y(range.high)).max(1.0), "span");
            };
            band(&mut canvas, flow.average);
            canvas.line((FROM, y(flow.peak.low)), (TO, y(flow.peak.low)), "bound");
            canvas.line((FROM, y(flow.peak.high)), (TO, y(flow.peak.high)), "curve");
            let apart = y(flow.peak.low) - y(flow.peak.high) > 12.0;
            let (most, least) = if apart { ("peak, at most", "peak, at least") } else { ("peak", "") };
            canvas.text((TO + 6.0, y(flow.peak.high) + 4.0), Anchor::Start, most, "plain");
            canvas.text((TO + 6.0, y(flow.peak.low) + 4.0), Anchor::Start, least, "plain");
            canvas.text(
                (TO + 6.0, 0.5 * (y(flow.average.low) + y(flow.average.high)) + 4.0),
                Anchor::Start,
                "mean",
                "soft",
            );
            said.push("there is no one course of time (clocks that run free, a law that is not stated, or a load that is on for a part of the time), so bounds are drawn".to_owned());
        }
    }
    let mean = 0.5 * (flow.average.low + flow.average.high);
    if flow.train.is_some() {
        canvas.line((FROM, y(mean)), (TO, y(mean)), "border");
        canvas.text((TO + 6.0, y(mean) + 4.0), Anchor::Start, "mean", "soft");
    }
    match (fuse, rating) {
        (Some(rating), Some(_)) => {
            canvas.line((FROM, y(rating)), (TO, y(rating)), "limit");
            canvas.text(
                (TO + 6.0, y(rating) + 4.0),
                Anchor::Start,
                format!("fuse {} A", format_number(rating, 2)),
                "plain",
            );
        }
        (Some(rating), None) => said.push(format!("its fuse of {} A lies above the drawing", format_number(rating, 2))),
        (None, _) => said.push("no fuse of its own".to_owned()),
    }
    canvas.line((FROM, TOP), (FROM, TOP + HIGH), "edge");
    let text = format!("{}.", said.join("; "));
    let end = canvas.lines((FROM, TOP + HIGH + 34.0), &text, "plain");
    canvas.figure(id, title, text, end)
}

fn over_time(canvas: &mut Canvas, train: &CurrentTrain, y: &impl Fn(f64) -> f64, said: &mut Vec<String>) {
    let period = train.period().get();
    let shown = period.min(MOST);
    let micros = |time: i64| u32::try_from(time).map_or(0.0, f64::from);
    let x = |at: i64| FROM + (TO - FROM) * micros(at.min(shown)) / micros(shown).max(1.0);
    let mut points = Vec::new();
    let mut from = 0;
    for (end, current) in train.steps().take(MOST_STEPS) {
        if from >= shown {
            break;
        }
        points.push((x(from), y(current.value())));
        points.push((x(end.get()), y(current.value())));
        from = end.get();
    }
    canvas.through(&points, "curve");
    let step = time_step(shown, 6);
    let mut at = 0;
    while at <= shown {
        canvas.text((x(at), TOP + HIGH + 14.0), Anchor::Middle, Micros::new(at).to_string(), "soft");
        at += step;
    }
    said.push(match shown < period {
        true => format!("the first {} of a period of {}", Micros::new(shown), Micros::new(period)),
        false => format!("one period, {}", Micros::new(period)),
    });
}

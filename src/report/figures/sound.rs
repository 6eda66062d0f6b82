//! The level round the vehicle while a sounding sounds by itself, front up, on the ring of the report's table.

use super::super::Report;
use super::super::paper::{Anchor, Figure};
use super::super::sound::{EAR, RADIUS as AWAY, voices};
use super::canvas::Canvas;
use super::round::{CENTRE, RADIUS, compass, on_ring};
use crate::measure::sound::{Span, level_of, ring};
use crate::units::{Degrees, format_number};

const WIDTH: f64 = 640.0;

/// Degrees between the places on the ring.
const STEP: u16 = 5;

/// Levels round the vehicle, by bearing; none of silence.
type Ring = Vec<(Degrees, Option<Span>)>;

/// One figure for all soundings that are as loud everywhere; none where nothing sounds, or nothing is known of it.
pub(super) fn sound(report: &Report<'_>) -> Vec<Figure> {
    let mut rings: Vec<(Vec<&str>, Ring)> = Vec::new();
    for (at, sounding) in report.package().sound.soundings.iter().enumerate() {
        let voices = voices(sounding, at);
        let levels: Ring =
            ring(AWAY, EAR, STEP).map(|(bearing, place)| (bearing, level_of(report.conduct, &voices, place))).collect();
        match rings.iter_mut().find(|(_, known)| *known == levels) {
            Some((names, _)) => names.push(&sounding.id),
            None => rings.push((vec![&sounding.id], levels)),
        }
    }
    let drawn = rings.iter().enumerate();
    drawn.filter_map(|(at, (names, levels))| draw(format!("sound-{}", at + 1), &names.join(", "), levels)).collect()
}

/// Levels are drawn from a round figure below the least of them on, in steps of ten.
fn draw(id: String, name: &str, levels: &Ring) -> Option<Figure> {
    let finite = |level: f64| Some(level).filter(|level| level.is_finite());
    let known = |end: fn(&Span) -> f64| levels.iter().filter_map(move |(_, span)| finite(end(span.as_ref()?)));
    let all = || known(|span| span.low).chain(known(|span| span.high));
    let most = known(|span| span.high).reduce(f64::max).or(known(|span| span.low).reduce(f64::max))?;
    let most = (most / 10.0).ceil() * 10.0;
    let least = (all().fold(most, f64::min) / 10.0).floor() * 10.0 - 10.0;
    // Silence behind a body would press all else against the rim.
    let least = least.max(most - 80.0);
    let radius = |level: f64| RADIUS * ((level - least) / (most - least)).clamp(0.0, 1.0);
    let mut canvas = Canvas::new(WIDTH);
    let mut ticks = most;
    while ticks > least {
        canvas.circle(CENTRE, radius(ticks), "axis");
        ticks -= 10.0;
    }
    for border in [0.0, 90.0, 180.0, 270.0] {
        canvas.line(CENTRE, on_ring(Degrees::new(border), RADIUS + 6.0), "axis");
    }
    compass(&mut canvas);
    line(&mut canvas, levels, |span| span.low, &radius, "bound");
    line(&mut canvas, levels, |span| span.high, &radius, "curve");
    let mut ticks = most;
    while ticks > least {
        let at = on_ring(Degrees::new(22.0), radius(ticks));
        canvas.text((at.0, at.1 + 4.0), Anchor::Middle, format_number(ticks, 0), "halo soft");
        ticks -= 10.0;
    }
    let mut y = CENTRE.1 + RADIUS + 48.0;
    canvas.line((20.0, y - 4.0), (50.0, y - 4.0), "curve");
    y = canvas.lines((60.0, y), "at most this loud, dB(A)", "plain") + 2.0;
    canvas.line((20.0, y - 4.0), (50.0, y - 4.0), "bound");
    y = canvas.lines(
        (60.0, y),
        "at least this loud; where it is missing it may be silent there, and where both are missing nothing is known",
        "plain",
    );
    y = canvas.lines((20.0, y + 2.0), "The ground, sounders in step and bodies in the way make it a range. Wear hearing protection where you measure.", "soft");
    let feet = format_number(AWAY.value() / 0.3048, 0);
    let title = format!(
        "Level round the vehicle, dB(A), front up: {name}, {} m ({feet} ft) from its middle, {} m high",
        format_number(AWAY.value(), 2),
        format_number(EAR.value(), 1)
    );
    Some(canvas.figure(id, title, description(levels), y))
}

/// A line round the ring through all places where the level is known, with gaps between.
fn line(
    canvas: &mut Canvas,
    levels: &[(Degrees, Option<Span>)],
    end: fn(&Span) -> f64,
    radius: &impl Fn(f64) -> f64,
    class: &'static str,
) {
    let at = |(bearing, span): &(Degrees, Option<Span>)| {
        let level = end(span.as_ref()?);
        level.is_finite().then(|| on_ring(*bearing, radius(level)))
    };
    let mut run = Vec::new();
    for place in levels.iter().chain(levels.first()) {
        match at(place) {
            Some(point) => run.push(point),
            None => {
                canvas.through(&run, class);
                run.clear();
            }
        }
    }
    canvas.through(&run, class);
}

fn description(levels: &[(Degrees, Option<Span>)]) -> String {
    let told = |(bearing, span): &(Degrees, Option<Span>)| {
        let figure = |level: f64| format_number(level, 0);
        let level = match span {
            Some(span) if span.high.is_finite() && span.low.is_finite() => {
                format!("{} to {} dB(A)", figure(span.low), figure(span.high))
            }
            Some(span) if span.high.is_finite() => format!("at most {} dB(A)", figure(span.high)),
            _ => "not known".to_owned(),
        };
        format!("{} deg: {level}", format_number(bearing.value(), 0))
    };
    let eighths = levels.iter().filter(|(bearing, _)| bearing.value() % 45.0 == 0.0);
    format!("{}.", eighths.map(told).collect::<Vec<_>>().join("; "))
}

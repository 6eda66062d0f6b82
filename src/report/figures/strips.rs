//! When each head is lit: one strip a head on a common axis of time, by display and clock. Heads whose clock runs free
//! of all others start somewhere unknown, and are told so.

use std::collections::BTreeSet;

use super::super::paper::{Anchor, Figure};
use super::canvas::{Canvas, fit, time_step};
use super::views::{View, state_of};
use super::{Drawings, worse_first};
use crate::judge::Verdict;
use crate::measure::Shown;
use crate::units::{Micros, format_number};

/// The strips of one state.
#[derive(Debug)]
pub struct Strip {
    /// Place of the mode in the package.
    pub mode: usize,
    /// The state, as the position of each input.
    pub state: Vec<usize>,
    /// What the axis spans.
    pub shown: Micros,
    /// Heads that are lit, by their places in the package, in the order of the rows.
    pub heads: Vec<usize>,
    /// The drawing.
    pub figure: Figure,
}

const WIDTH: f64 = 780.0;
/// The axis of time, from where to where.
const FROM: f64 = 230.0;
const TO: f64 = 680.0;
const ROW: f64 = 15.0;
const BAR: f64 = 10.0;

/// No more time than this is drawn, and no less than the second.
const MOST: i64 = 4_000_000;
const LEAST: i64 = 1_000_000;

/// More pulses than these in a strip cannot be told apart.
const MOST_PULSES: usize = 300;

/// A head that is lit in the state.
struct Lit<'a> {
    head: usize,
    shown: Shown<'a>,
    pulses: Vec<(Micros, Micros, f64)>,
    period: Micros,
    steady: bool,
}

/// One strip for each mode and each light that is drawn of it.
pub(super) fn strips(drawings: &Drawings<'_>) -> Vec<Strip> {
    let conduct = drawings.report.conduct;
    let mut found: Vec<Strip> = Vec::new();
    for mode in 0..conduct.modes.len() {
        let mut drawn: Vec<Vec<(usize, usize)>> = Vec::new();
        for (state, with) in states(drawings, mode) {
            let lit = lit(drawings, &state);
            let light: Vec<(usize, usize)> = lit.iter().map(|one| (one.head, one.shown.display)).collect();
            if lit.is_empty() || drawn.contains(&light) {
                continue;
            }
            drawn.push(light);
            found.push(strip(drawings, found.len() + 1, mode, (state, &with), lit));
        }
    }
    found
}

/// The states of a mode that are drawn, each in words.
fn states(drawings: &Drawings<'_>, mode: usize) -> Vec<(Vec<usize>, String)> {
    let mut views: Vec<&View> = drawings.views().iter().filter(|view| view.mode == mode).collect();
    // The worst of all levels and rulesets first.
    views.sort_by(|one, other| {
        let worse = one.worst.as_ref().zip(other.worst.as_ref()).map(|(one, other)| worse_first(one, other));
        worse.unwrap_or(std::cmp::Ordering::Equal)
    });
    let fails = |view: &View| view.worst.as_ref().is_some_and(|worst| worst.verdict == Verdict::Fail);
    let drawn = views.iter().enumerate().filter(|(at, view)| *at == 0 || fails(view));
    let states: Vec<_> = drawn.map(|(_, view)| (view.state.clone(), view.with.clone())).collect();
    if states.is_empty() { state_of(drawings, mode).into_iter().collect() } else { states }
}

fn lit<'a>(drawings: &Drawings<'a>, state: &[usize]) -> Vec<Lit<'a>> {
    let conduct = drawings.report.conduct;
    let state = conduct.space().state(state);
    let one = |head: usize| {
        let shown = conduct.shown_in(head, &state)?;
        let timeline = shown.timeline(conduct.package);
        let level = shown.level.value();
        let pulses: Vec<(Micros, Micros, f64)> =
            timeline.pulses().iter().map(|pulse| (pulse.start, pulse.end, pulse.level.value() * level)).collect();
        let steady =
            pulses.len() == 1 && pulses.first().is_some_and(|one| one.1.get() - one.0.get() == timeline.period().get());
        (!pulses.is_empty()).then(|| Lit { head, shown, pulses, period: timeline.period(), steady })
    };
    let mut lit: Vec<Lit<'a>> = (0..conduct.heads.len()).filter_map(one).collect();
    let clock = |lit: &Lit<'_>| conduct.package.heads.get(lit.head).and_then(|head| head.clock.clone());
    // What runs free stands behind what keeps step.
    lit.sort_by_key(|lit| (lit.shown.display, clock(lit).is_none(), clock(lit), lit.head));
    lit
}

fn strip(
    drawings: &Drawings<'_>,
    number: usize,
    mode: usize,
    (state, with): (Vec<usize>, &str),
    lit: Vec<Lit<'_>>,
) -> Strip {
    let flashing = || lit.iter().filter(|one| !one.steady);
    let longest = flashing().map(|one| one.period.get()).max().unwrap_or(LEAST);
    let shown = longest.clamp(LEAST, MOST);
    let mut canvas = Canvas::new(WIDTH);
    let mut told: Vec<String> = Vec::new();
    let mut spoken: Vec<(Vec<String>, String)> = Vec::new();
    let mut y = 34.0;
    let top = y - 12.0;
    let package = drawings.report.package();
    let mut before: Option<(usize, Option<&str>)> = None;
    let mut rows: Vec<(f64, &Lit<'_>)> = Vec::new();
    for one in &lit {
        let clock = package.heads.get(one.head).and_then(|head| head.clock.as_deref());
        let group = (one.shown.display, clock);
        if before != Some(group) {
            let of_it = |other: &&Lit<'_>| {
                let clock = package.heads.get(other.head).and_then(|head| head.clock.as_deref());
                (other.shown.display, clock) == group
            };
            let says = says(drawings, group, lit.iter().filter(of_it));
            y += if before.is_some() { 6.0 } else { 0.0 };
            canvas.text((20.0, y + 4.0), Anchor::Start, fit(&says, WIDTH - 40.0), "strong halo");
            told.push(says);
            y += ROW + 2.0;
            before = Some(group);
        }
        rows.push((y, one));
        y += ROW;
    }
    let bottom = y;
    axis(&mut canvas, shown, top, bottom);
    for (y, one) in rows {
        row(&mut canvas, drawings, shown, y, one);
        let (who, when) = in_words(drawings, one);
        match spoken.iter_mut().find(|(_, known)| *known == when) {
            Some((heads, _)) => heads.push(who),
            None => spoken.push((vec![who], when)),
        }
    }
    let clocks: BTreeSet<&str> =
        flashing().filter_map(|one| package.heads.get(one.head).and_then(|head| head.clock.as_deref())).collect();
    let apart = if clocks.len() > 1 { " Clocks run free of each other." } else { "" };
    let free = if flashing().any(|one| is_free(drawings, one)) {
        " Outlined: the head keeps no clock, its flashes start anywhere."
    } else {
        ""
    };
    let caption =
        format!("A bar: the head is lit; its height is the level, full light being the whole row.{apart}{free}");
    let mut y = canvas.lines((20.0, bottom + 30.0), &caption, "soft");
    if longest > shown {
        y = canvas.lines((20.0, y), &format!("The first {} of {}.", Micros::new(shown), Micros::new(longest)), "soft");
    }
    let title = format!("When each head is lit: mode {}{with}", drawings.mode(mode));
    told.extend(spoken.into_iter().map(|(heads, when)| format!("{}: {when}", heads.join("; "))));
    let heads = lit.iter().map(|one| one.head).collect();
    let figure = canvas.figure(format!("strip-{number}"), title, format!("{}.", told.join(". ")), y);
    Strip { mode, state, shown: Micros::new(shown), heads, figure }
}

/// What is said above the strips of a display and a clock.
fn says<'l, 'a: 'l>(
    drawings: &Drawings<'_>,
    (display, clock): (usize, Option<&str>),
    lit: impl Iterator<Item = &'l Lit<'a>>,
) -> String {
    let mut periods: Vec<Micros> = Vec::new();
    let (mut flashing, mut steady) = (0_usize, 0_usize);
    for one in lit {
        if one.steady {
            steady += 1;
            continue;
        }
        flashing += 1;
        if !periods.contains(&one.period) {
            periods.push(one.period);
        }
    }
    let periods: Vec<String> = periods.iter().map(Micros::to_string).collect();
    let step = match (clock, flashing) {
        (_, 0) => "steady".to_owned(),
        (Some(clock), _) => format!("in step on clock {clock}, period {}", periods.join(" and ")),
        (None, 1) => format!("runs free, period {}", periods.join(" and ")),
        (None, _) => format!("each runs free of all others, period {}", periods.join(" and ")),
    };
    let steady = if flashing > 0 && steady > 0 { format!("; {steady} steady") } else { String::new() };
    format!("display {}: {step}{steady}", drawings.report.conduct.display(display))
}

/// Where a time is drawn.
fn x(shown: i64, at: i64) -> f64 {
    // No more than a minute, see `LONGEST_PERIOD`.
    let micros = |time: i64| u32::try_from(time).map_or(0.0, f64::from);
    FROM + (TO - FROM) * micros(at) / micros(shown).max(1.0)
}

fn axis(canvas: &mut Canvas, shown: i64, top: f64, bottom: f64) {
    let step = time_step(shown, 12);
    let mut at = 0;
    while at <= shown {
        canvas.line((x(shown, at), top + 4.0), (x(shown, at), bottom), "axis");
        canvas.text((x(shown, at), bottom + 12.0), Anchor::Middle, Micros::new(at).to_string(), "soft");
        at += step;
    }
    canvas.line((FROM, bottom), (TO, bottom), "edge");
}

fn row(canvas: &mut Canvas, drawings: &Drawings<'_>, shown: i64, y: f64, one: &Lit<'_>) {
    let package = drawings.report.package();
    let id = package.heads.get(one.head).map_or("", |head| head.id.as_str());
    let label = format!("{}  {id}, {}", one.head + 1, one.shown.colour(package, one.head));
    canvas.text((FROM - 8.0, y + 4.0), Anchor::End, fit(&label, FROM - 28.0), "plain");
    let base = y + 5.0;
    let mut boxes = Vec::new();
    let mut start = 0;
    'all: while start < shown {
        for (from, to, level) in &one.pulses {
            let (from, to) = (start + from.get(), (start + to.get()).min(shown));
            if from >= shown {
                break 'all;
            }
            if boxes.len() >= MOST_PULSES {
                break 'all;
            }
            boxes.push((x(shown, from), x(shown, to), BAR * level.clamp(0.1, 1.0)));
        }
        start += one.period.get().max(1);
    }
    if boxes.len() >= MOST_PULSES {
        canvas.rect((FROM, base - BAR), TO - FROM, BAR, "body");
        canvas.text((FROM + 6.0, base - 1.0), Anchor::Start, "lit and dark faster than can be drawn", "soft");
    } else {
        canvas.bars(base, &boxes, if is_free(drawings, one) { "free" } else { "lit" });
    }
    canvas.line((FROM, base), (TO, base), "axis");
    let greatest = one.pulses.iter().map(|(.., level)| *level).fold(0.0, f64::max);
    let mut said = Vec::new();
    if one.steady {
        said.push("steady".to_owned());
    }
    if greatest < 1.0 {
        said.push(format!("{} %", format_number(greatest * 100.0, 1)));
    }
    if !one.steady && one.period.get() > shown {
        said.push(format!("period {}", one.period));
    }
    canvas.text((TO + 8.0, y + 4.0), Anchor::Start, said.join(", "), "soft");
}

/// Whether it flashes and keeps no clock.
fn is_free(drawings: &Drawings<'_>, one: &Lit<'_>) -> bool {
    !one.steady && drawings.report.package().heads.get(one.head).is_some_and(|head| head.clock.is_none())
}

/// A head, and when it is lit.
fn in_words(drawings: &Drawings<'_>, one: &Lit<'_>) -> (String, String) {
    let package = drawings.report.package();
    let id = package.heads.get(one.head).map_or("", |head| head.id.as_str());
    let who = format!("{id}, {}", one.shown.colour(package, one.head));
    if one.steady {
        return (who, "steady".to_owned());
    }
    let pulses = one.pulses.iter().take(8).map(|(from, to, _)| format!("{from} to {to}"));
    let more = if one.pulses.len() > 8 { " and more" } else { "" };
    (who, format!("lit {}{more} of {}", pulses.collect::<Vec<_>>().join(", "), one.period))
}

//! A polar plot of optical power, front up, with the least that is asked of each point drawn in, and found and asked in a
//! small table below.
//!
//! A point at which some head has no data is joined by a dotted line, since what is drawn there is only a lower bound;
//! where nothing else is known to arrive there either, there is a gap. Both are hatched at the rim.

use super::super::paper::{Anchor, Figure};
use super::canvas::{Canvas, Point};
use super::polar::{OfZone, PolarPoint, Sum};
use super::round::{CENTRE, RADIUS, arc, compass, label, on_ring};
use super::scale::Scale;
use super::{Drawings, View};
use crate::judge::Finding;
use crate::units::{Degrees, format_number};

const WIDTH: f64 = 640.0;

/// Where a figure at a bearing is drawn; the front is up.
fn place(scale: &Scale, bearing: Degrees, value: f64) -> Point {
    on_ring(bearing, RADIUS * scale.radius(value))
}

/// Draws what arrives in the zones of a view.
pub(super) fn draw(drawings: &Drawings<'_>, number: usize, view: &View, zones: &[OfZone], scale: &Scale) -> Figure {
    let mut canvas = Canvas::new(WIDTH);
    for ring in scale.rings() {
        canvas.circle(CENTRE, RADIUS * scale.radius(ring), "axis");
    }
    for zone in zones {
        for border in [zone.limits.0, zone.limits.1] {
            canvas.line(CENTRE, on_ring(border, RADIUS + 8.0), "border");
        }
    }
    directions(&mut canvas, zones);
    for zone in zones {
        if let Some(asked) = zone.asked_of_points {
            canvas.through(&arc(zone.limits.0, zone.limits.1, RADIUS * scale.radius(asked)), "limit");
        }
    }
    for (at, zone) in zones.iter().enumerate() {
        // Where a dividing line belongs to the next zone, the line goes on to its first point.
        let next = zones.get((at + 1) % zones.len()).filter(|next| turned(next.limits.0, zone.limits.1));
        let next = next.and_then(|next| next.points.first()).copied();
        let ends_before = zone.points.last().is_some_and(|last| !turned(last.bearing, zone.limits.1));
        curve(&mut canvas, scale, &zone.points, next.filter(|_| ends_before));
    }
    for zone in zones {
        marks(&mut canvas, scale, zone);
    }
    for ring in scale.rings() {
        let at = on_ring(Degrees::new(22.0), RADIUS * scale.radius(ring));
        canvas.text((at.0, at.1 + 4.0), Anchor::Middle, format_number(ring, 3), "halo soft");
    }
    let mut y = key(&mut canvas, zones, scale);
    if zones.iter().any(|zone| !zone.sums.is_empty()) {
        y = table(&mut canvas, zones, y + 8.0);
    } else {
        y = canvas.lines((20.0, y), "No rule asks for sums of light in this mode; all warning heads that flash are added up, whatever colour they show.", "soft");
    }
    let level = drawings.level(view.ruleset, view.level);
    let (mode, ruleset) = (drawings.mode(view.mode), drawings.ruleset(view.ruleset).map_or("", |one| one.id.as_str()));
    let title = format!(
        "Optical power round the vehicle, in cd.s/min, front up: mode {mode}, {level}, by {ruleset}{}",
        view.with
    );
    canvas.figure(format!("polar-{number}"), title, description(zones, view.worst.as_ref()), y)
}

fn turned(one: Degrees, other: Degrees) -> bool {
    let apart = (one.value() - other.value()).rem_euclid(360.0);
    !(1e-6..=360.0 - 1e-6).contains(&apart)
}

/// Letters of the zones, and where front, right, rear and left are.
fn directions(canvas: &mut Canvas, zones: &[OfZone]) {
    compass(canvas);
    for zone in zones {
        let middle = Degrees::new(0.5 * (zone.limits.0.value() + zone.limits.1.value()));
        label(canvas, middle, false, format!("zone {}", zone.name), "strong");
    }
}

/// The line through the points: whole where all is known, dotted where it is a bound, a gap where nothing is.
fn curve(canvas: &mut Canvas, scale: &Scale, points: &[PolarPoint], next: Option<PolarPoint>) {
    let all: Vec<PolarPoint> = points.iter().copied().chain(next).collect();
    let is_gap = |point: &PolarPoint| !point.complete && point.at_least <= 0.0;
    let mut run: Vec<Point> = Vec::new();
    let mut whole = true;
    for pair in all.windows(2) {
        let [one, other] = pair else { continue };
        let known = one.complete && other.complete;
        if known != whole || is_gap(one) || is_gap(other) {
            canvas.through(&run, if whole { "curve" } else { "bound" });
            run.clear();
            whole = known;
        }
        if is_gap(one) || is_gap(other) {
            continue;
        }
        if run.is_empty() {
            run.push(place(scale, one.bearing, one.at_least));
        }
        run.push(place(scale, other.bearing, other.at_least));
    }
    canvas.through(&run, if whole { "curve" } else { "bound" });
}

/// Rings round points that get too little, and hatching at the rim where data are missing.
fn marks(canvas: &mut Canvas, scale: &Scale, zone: &OfZone) {
    for point in &zone.points {
        if !point.complete {
            for turn in [-1.5, 0.0, 1.5] {
                let bearing = Degrees::new(point.bearing.value() + turn);
                let outer = Degrees::new(bearing.value() + 1.2);
                canvas.line(on_ring(bearing, RADIUS - 9.0), on_ring(outer, RADIUS - 1.0), "hatch");
            }
        } else if zone.asked_of_points.is_some_and(|asked| point.at_least < asked) {
            canvas.circle(place(scale, point.bearing, point.at_least), 4.0, "short");
        }
    }
}

/// What the lines mean; the height where it ends.
fn key(canvas: &mut Canvas, zones: &[OfZone], scale: &Scale) -> f64 {
    let top = CENTRE.1 + RADIUS + 62.0;
    let any = |of: fn(&OfZone) -> bool| zones.iter().any(of);
    let short = any(|zone| {
        let short =
            |point: &PolarPoint| zone.asked_of_points.is_some_and(|asked| point.complete && point.at_least < asked);
        zone.points.iter().any(short)
    });
    let lacks = any(|zone| zone.points.iter().any(|point| !point.complete));
    let mut y = top;
    let mut row = |canvas: &mut Canvas, mark: &dyn Fn(&mut Canvas, f64), text: &str| {
        mark(canvas, y - 4.0);
        y = canvas.lines((60.0, y), text, "plain") + 2.0;
    };
    row(
        canvas,
        &|on, y| on.line((20.0, y), (50.0, y), "curve"),
        "what arrives from the heads that count, point by point in the horizontal plane",
    );
    if any(|zone| zone.asked_of_points.is_some()) {
        row(canvas, &|on, y| on.line((20.0, y), (50.0, y), "limit"), "the least that is asked of each point");
    }
    if short {
        row(canvas, &|on, y| on.circle((35.0, y), 4.0, "short"), "a point that gets less than is asked");
    }
    if lacks {
        let mark = |on: &mut Canvas, y: f64| {
            on.line((20.0, y - 3.0), (50.0, y - 3.0), "bound");
            for at in [22.0, 28.0, 34.0, 40.0, 46.0] {
                on.line((at, y + 6.0), (at + 3.0, y), "hatch");
            }
        };
        row(
            canvas,
            &mark,
            "dotted and hatched at the rim: some head has no data there, so there is at least this much; a gap: nothing is known",
        );
    }
    canvas.lines((20.0, y), &format!("Scale: {}.", scale.says()), "soft")
}

/// Columns of the small table: their left edges, or right ones of figures.
const COLUMNS: [f64; 6] = [20.0, 70.0, 320.0, 400.0, 490.0, 505.0];

/// Found and asked, zone by zone; the height where it ends.
fn table(canvas: &mut Canvas, zones: &[OfZone], top: f64) -> f64 {
    let [zone_at, what_at, at_at, asked_at, found_at, word_at] = COLUMNS;
    let mut y = top + 12.0;
    let header = [
        (zone_at, Anchor::Start, "zone"),
        (what_at, Anchor::Start, "cd.s/min"),
        (asked_at, Anchor::End, "asked"),
        (found_at, Anchor::End, "in this state"),
    ];
    for (x, anchor, text) in header {
        canvas.text((x, y), anchor, text, "strong");
    }
    canvas.line((zone_at, y + 5.0), (WIDTH - 20.0, y + 5.0), "axis");
    for zone in zones {
        for (at, sum) in zone.sums.iter().enumerate() {
            y += 16.0;
            if at == 0 {
                canvas.text((zone_at, y), Anchor::Start, zone.name.clone(), "strong");
            }
            canvas.text((what_at, y), Anchor::Start, what(sum), "plain");
            if let Some(bearing) = sum.bearing {
                canvas.text((at_at, y), Anchor::End, format!("at {} deg", format_number(bearing.value(), 2)), "soft");
            }
            let asked = sum.asked.map_or("no figure".to_owned(), |asked| format_number(asked, 0));
            canvas.text((asked_at, y), Anchor::End, asked, "plain");
            canvas.text((found_at, y), Anchor::End, found(sum), "plain");
            canvas.text((word_at, y), Anchor::Start, word(sum), "strong");
        }
    }
    y + 14.0
}

fn what(sum: &Sum) -> &'static str {
    match sum.quantity {
        "zone-total-optical-power" => "total, horizontal plane",
        "least-point-optical-power" => "least point, horizontal plane",
        _ => "least point above and below it",
    }
}

/// With digits enough that a figure below what is asked never prints as equal.
fn found(sum: &Sum) -> String {
    let digits = (0..6).find(|digits| {
        sum.asked.is_none_or(|asked| {
            asked == sum.found || format_number(sum.found, *digits) != format_number(asked, *digits)
        })
    });
    let figure = format_number(sum.found, digits.unwrap_or(6));
    if sum.is_bound { format!("at least {figure}") } else { figure }
}

fn word(sum: &Sum) -> &'static str {
    match sum.asked {
        Some(asked) if sum.found >= asked => "enough",
        _ if sum.falls_short() => "too little",
        _ => "not shown",
    }
}

/// The plot as it would be told on the telephone.
fn description(zones: &[OfZone], worst: Option<&Finding>) -> String {
    let told = |zone: &OfZone| {
        let complete = zone.points.iter().filter(|point| point.complete);
        let by_power = |one: &&PolarPoint, other: &&PolarPoint| one.at_least.total_cmp(&other.at_least);
        let figure = |point: Option<&PolarPoint>| {
            point.map_or("unknown".to_owned(), |point| {
                format!("{} at {} deg", format_number(point.at_least, 0), format_number(point.bearing.value(), 2))
            })
        };
        let (least, most) = (complete.clone().min_by(by_power), complete.max_by(by_power));
        let lacks = zone.points.iter().filter(|point| !point.complete).count();
        let lacks = if lacks > 0 { format!("; data are missing at {lacks} points") } else { String::new() };
        let sums = zone.sums.iter().map(|sum| {
            let asked = sum.asked.map_or("no figure known".to_owned(), |asked| format_number(asked, 0));
            format!("; {}: {} of {asked}, {}", what(sum), found(sum), word(sum))
        });
        let sums: String = sums.collect();
        format!("Zone {}: from {} to {}{sums}{lacks}.", zone.name, figure(least), figure(most))
    };
    let zones: Vec<String> = zones.iter().map(told).collect();
    let whose = match worst {
        Some(worst) => format!("The state is the worst of finding {}.", worst.id),
        None => "No rule asks for sums of light in this mode.".to_owned(),
    };
    format!("{whose} {}", zones.join(" "))
}

//! A polar plot of optical power, front up, with the least that is asked of each point drawn in, and found and asked in a
//! small table below. A verdict is said only of the very figure that a finding is on; any other figure is above or below
//! what is asked, and nothing more.
//!
//! A point at which some head has no data is joined by a dotted line, since what is drawn there is only a lower bound;
//! where nothing else is known to arrive there either, there is a gap. Both are hatched at the rim.

use super::super::number::{asked, beside};
use super::super::paper::{Anchor, Figure};
use super::canvas::{Canvas, Point};
use super::polar::{OfZone, PolarPoint, Sum};
use super::round::{CENTRE, RADIUS, arc, compass, label, on_ring};
use super::scale::Scale;
use super::{Drawings, View};
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
    canvas.figure(format!("polar-{number}"), title, description(drawings, zones, view), y)
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
        row(
            canvas,
            &|on, y| on.circle((35.0, y), 4.0, "short"),
            "a point below what is asked; the verdict is that of its finding",
        );
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
    let named = |of: &dyn Fn(&OfZone) -> bool| {
        let names: Vec<&str> = zones.iter().filter(|zone| of(zone)).map(|zone| zone.name.as_str()).collect();
        (!names.is_empty()).then(|| format!("zone{} {}", if names.len() > 1 { "s" } else { "" }, names.join(", ")))
    };
    let left_out = |sum: &Sum| sum.asked.is_some() && !sum.heeded;
    if let Some(names) = named(&|zone| zone.sums.iter().any(left_out)) {
        let says = format!(
            "Limits from memory decide nothing here: what is asked of {names} in brackets is not compared, and no line is drawn for it."
        );
        y = canvas.lines((20.0, y), &says, "plain");
    }
    if let Some(names) = named(&|zone| zone.on_estimate) {
        y = canvas.lines((20.0, y), &format!("Rests on an estimate, wholly or in part: {names}."), "plain");
    }
    canvas.lines((20.0, y), &format!("Scale: {}.", scale.says()), "soft")
}

/// Columns of the small table: their left edges, or right ones of figures.
const COLUMNS: [f64; 6] = [20.0, 62.0, 300.0, 372.0, 480.0, 494.0];

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
            let wanted = sum.asked.map_or("no figure".to_owned(), asked);
            let wanted = if sum.asked.is_some() && !sum.heeded { format!("({wanted})") } else { wanted };
            canvas.text((asked_at, y), Anchor::End, wanted, "plain");
            let star = if sum.on_estimate { " *" } else { "" };
            canvas.text((found_at, y), Anchor::End, format!("{}{star}", found(sum)), "plain");
            let class = if sum.verdict.is_some() { "strong" } else { "plain" };
            canvas.text((word_at, y), Anchor::Start, word(sum), class);
        }
    }
    y += 16.0;
    let sums = || zones.iter().flat_map(|zone| &zone.sums);
    if sums().any(|sum| sum.on_estimate) {
        y = canvas.lines((zone_at, y), "* rests on an estimate", "soft");
    }
    if sums().any(|sum| sum.verdict_on_worst.is_some()) {
        let says = "Above and below are no verdicts; worst: what the finding says of the state or mode with the worst figure, which is another.";
        y = canvas.lines((zone_at, y), says, "soft");
    }
    y
}

fn what(sum: &Sum) -> &'static str {
    match sum.quantity {
        "zone-total-optical-power" => "total, horizontal plane",
        "least-point-optical-power" => "least point, horizontal plane",
        _ => "least point above and below it",
    }
}

fn found(sum: &Sum) -> String {
    let limit = sum.asked.filter(|_| sum.heeded);
    let figure = beside(sum.found, limit);
    match sum.most {
        _ if !sum.is_bound() => figure,
        most if most.is_finite() => format!("{figure} to {}", beside(most, limit)),
        _ => format!("at least {figure}"),
    }
}

/// The verdict of a finding on this very figure; else on which side of what is asked it lies.
fn word(sum: &Sum) -> String {
    if let Some(verdict) = sum.verdict {
        return verdict.print();
    }
    let side = match sum.asked {
        None => "not compared",
        Some(_) if !sum.heeded => return "not compared".to_owned(),
        Some(asked) if sum.found > asked => "above",
        Some(asked) if sum.most < asked => "below",
        Some(asked) if sum.found == asked => "equal",
        Some(_) => "open",
    };
    match sum.verdict_on_worst {
        Some(verdict) => format!("{side}; worst: {}", verdict.print()),
        None => side.to_owned(),
    }
}

/// The plot as it would be told on the telephone.
fn description(drawings: &Drawings<'_>, zones: &[OfZone], view: &View) -> String {
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
            let wanted = sum.asked.map_or("no figure known".to_owned(), asked);
            let left_out =
                if sum.asked.is_some() && !sum.heeded { ", a limit from memory that decides nothing" } else { "" };
            let estimate = if sum.on_estimate { ", on an estimate" } else { "" };
            format!("; {}: {} of {wanted}{left_out}, {}{estimate}", what(sum), found(sum), word(sum))
        });
        let sums: String = sums.collect();
        let estimate = if zone.on_estimate && zone.sums.is_empty() { "; on an estimate" } else { "" };
        format!("Zone {}: from {} to {}{sums}{lacks}{estimate}.", zone.name, figure(least), figure(most))
    };
    let zones: Vec<String> = zones.iter().map(told).collect();
    let whose = match &view.worst {
        Some(worst) if view.in_report => format!("The state is the worst of finding {}.", worst.id),
        Some(worst) => {
            let zone = worst.scope.zone.as_ref().map(|zone| format!(" in zone {zone}")).unwrap_or_default();
            format!(
                "The state is the worst of mode {} for rule {}{zone}; the finding on that rule is of another mode of the same purpose.",
                drawings.mode(view.mode),
                worst.rule
            )
        }
        None => "No rule asks for sums of light in this mode.".to_owned(),
    };
    format!("{whose} {}", zones.join(" "))
}

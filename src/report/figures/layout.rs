//! Where everything is mounted: a plan and four elevations with numbered positions and short ticks for the aim, the
//! bands of heights that rulesets judge apart, and the table that says which number is which.

use glam::DVec3;
use serde::Serialize;

use super::super::Report;
use super::super::paper::{Anchor, Figure};
use super::canvas::{Canvas, Point};
use super::labels::{Labelled, numbers, placed};
use crate::geometry::Pose;
use crate::measure::{Level, level_of};
use crate::units::{Length, format_number};

/// The drawings, and what the numbers in them are.
#[derive(Debug, Serialize)]
pub struct Layout {
    /// Plan, left, right, front, rear.
    pub figures: Vec<Figure>,
    /// In the order of the numbers.
    pub positions: Vec<Position>,
}

/// What stands behind one number.
#[derive(Debug, Serialize)]
pub struct Position {
    /// The number of a head; of a sounder `S1` and so on.
    pub mark: String,
    /// Its id.
    pub id: String,
    /// Its model.
    pub model: String,
    /// The colours that it can show; `sounder` where it is one.
    pub shows: String,
    /// The level, by the first ruleset that judges levels apart; empty on none.
    pub level: String,
    /// Above the ground.
    pub height: String,
    /// Behind the foremost point of the vehicle.
    pub behind_front: String,
    /// To the right of the middle; to the left where it says so.
    pub right: String,
    /// Where it looks, in degrees clockwise from straight ahead, and up or down.
    pub faces: String,
    /// It stands elsewhere while a door or the like is open.
    pub moves: bool,
}

/// Something with a number.
struct Placed<'a> {
    mark: String,
    pose: &'a Pose,
    all_round: bool,
    sounds: bool,
}

const WIDTH: f64 = 780.0;
const MARGIN: f64 = 56.0;
/// To the right of elevations: the names of the bands.
const BANDS: f64 = 120.0;

/// One way of looking at the vehicle.
struct Side {
    name: &'static str,
    title: &'static str,
    /// Towards the one who looks; none from above.
    towards: Option<DVec3>,
    /// What runs to the right on paper, and what runs up.
    right: DVec3,
    up: DVec3,
}

const SIDES: [Side; 5] = [
    Side { name: "plan", title: "Plan, front to the left", towards: None, right: DVec3::NEG_X, up: DVec3::NEG_Y },
    Side { name: "left", title: "Left side", towards: Some(DVec3::Y), right: DVec3::NEG_X, up: DVec3::Z },
    Side { name: "right", title: "Right side", towards: Some(DVec3::NEG_Y), right: DVec3::X, up: DVec3::Z },
    Side { name: "front", title: "Front", towards: Some(DVec3::X), right: DVec3::Y, up: DVec3::Z },
    Side { name: "rear", title: "Rear", towards: Some(DVec3::NEG_X), right: DVec3::NEG_Y, up: DVec3::Z },
];

/// A head that looks at least so much towards the viewer is drawn in an elevation: the cosine of 75 deg.
const TOWARDS: f64 = 0.258;

/// The layout of a vehicle.
pub(super) fn layout(report: &Report<'_>) -> Layout {
    let positions = positions(report);
    if positions.is_empty() {
        return Layout { figures: Vec::new(), positions };
    }
    let placed = placed_things(report);
    Layout { figures: SIDES.iter().map(|side| elevation(report, side, &placed)).collect(), positions }
}

fn placed_things<'a>(report: &Report<'a>) -> Vec<Placed<'a>> {
    let package = report.package();
    let head = |(at, head): (usize, &'a crate::package::Head)| Placed {
        mark: (at + 1).to_string(),
        pose: &head.pose,
        all_round: package.models.get(head.model).is_some_and(|model| model.all_round),
        sounds: false,
    };
    let sounder = |(at, one): (usize, &'a crate::package::Sounder)| Placed {
        mark: format!("S{}", at + 1),
        pose: &one.pose,
        all_round: false,
        sounds: true,
    };
    let heads = package.heads.iter().enumerate().map(head);
    heads.chain(package.sound.sounders.iter().enumerate().map(sounder)).collect()
}

/// The bands that rulesets judge apart, each once.
fn levels<'a>(report: &Report<'a>) -> Vec<&'a Level> {
    let mut found: Vec<&Level> = Vec::new();
    for level in report.rulesets.iter().flat_map(|ruleset| &ruleset.protocol.levels) {
        let same = |known: &&Level| {
            (&known.name, known.from, known.above, known.to) == (&level.name, level.from, level.above, level.to)
        };
        if !found.iter().any(same) {
            found.push(level);
        }
    }
    found
}

/// `62 in (1,575 mm)`.
fn in_both(length: Length) -> String {
    format!(
        "{} in ({} mm)",
        format_number(length.value() / 0.0254, 1),
        format_number((length.value() * 1e3).round(), 0)
    )
}

fn positions(report: &Report<'_>) -> Vec<Position> {
    let package = report.package();
    let judged = report.rulesets.iter().find(|ruleset| !ruleset.protocol.levels.is_empty());
    let place = |pose: &Pose| {
        let at = pose.at();
        let right = match -at.y {
            right if right.abs() < 5e-4 => "middle".to_owned(),
            right if right > 0.0 => in_both(Length::new(right)),
            right => format!("left {}", in_both(Length::new(-right))),
        };
        (in_both(pose.height()), in_both(Length::new(package.vehicle.length.value() * 0.5 - at.x)), right)
    };
    let faces = |pose: &Pose| {
        let (axis, up) = (pose.axis(), pose.axis().z.clamp(-1.0, 1.0).asin().to_degrees());
        let tilt = match up {
            up if up.abs() < 0.05 => String::new(),
            up if up > 0.0 => format!(", {} up", format_number(up, 1)),
            up => format!(", {} down", format_number(-up, 1)),
        };
        if axis.x.hypot(axis.y) < 1e-6 {
            return if up > 0.0 { "up".to_owned() } else { "down".to_owned() };
        }
        format!("{}{tilt}", format_number(pose.axis_bearing().value(), 1))
    };
    let of_head = |(at, head): (usize, &crate::package::Head)| {
        let model = package.models.get(head.model);
        let colours = model.into_iter().flat_map(|model| &model.emitters).map(|emitter| emitter.colour.as_str());
        let level = judged.and_then(|ruleset| {
            let protocol = &ruleset.protocol;
            protocol.levels.get(level_of(protocol, head, &head.pose)?)
        });
        let (height, behind_front, right) = place(&head.pose);
        Position {
            mark: (at + 1).to_string(),
            id: head.id.clone(),
            model: model.map_or_else(String::new, |model| model.id.clone()),
            shows: colours.collect::<Vec<_>>().join(", "),
            level: level.map_or_else(String::new, |level| level.name.clone()),
            height,
            behind_front,
            right,
            faces: if model.is_some_and(|model| model.all_round) { "all round".to_owned() } else { faces(&head.pose) },
            moves: !head.poses.is_empty(),
        }
    };
    let of_sounder = |(at, one): (usize, &crate::package::Sounder)| {
        let (height, behind_front, right) = place(&one.pose);
        Position {
            mark: format!("S{}", at + 1),
            id: one.id.clone(),
            model: package.sound.model_of(one).map_or_else(String::new, |model| model.id.clone()),
            shows: "sounder".to_owned(),
            level: String::new(),
            height,
            behind_front,
            right,
            faces: faces(&one.pose),
            moves: false,
        }
    };
    let heads = package.heads.iter().enumerate().map(of_head);
    heads.chain(package.sound.sounders.iter().enumerate().map(of_sounder)).collect()
}

/// From metres to paper, for one side.
struct Paper<'s> {
    side: &'s Side,
    scale: f64,
    /// The least of each coordinate on paper, in metres.
    from: (f64, f64),
    /// The greatest height on paper, in metres.
    to: f64,
    left: f64,
    top: f64,
}

impl Paper<'_> {
    fn at(&self, point: DVec3) -> Point {
        let (right, up) = (self.side.right.dot(point), self.side.up.dot(point));
        (self.left + (right - self.from.0) * self.scale, self.top + (self.to - up) * self.scale)
    }
}

fn elevation(report: &Report<'_>, side: &Side, things: &[Placed<'_>]) -> Figure {
    let package = report.package();
    let vehicle = &package.vehicle;
    let half = DVec3::new(vehicle.length.value() * 0.5, vehicle.width.value() * 0.5, 0.0);
    let outline = (-half, half + DVec3::Z * vehicle.height.value());
    let seen: Vec<&Placed<'_>> = things
        .iter()
        .filter(|one| {
            let towards = side.towards.is_none_or(|towards| one.pose.axis().dot(towards) > TOWARDS);
            towards || one.all_round
        })
        .collect();
    let blocks = package.bodies.iter().map(|body| body.block.corners());
    let corners: Vec<DVec3> = std::iter::once(outline)
        .chain(blocks)
        .flat_map(|(low, high)| [low, high])
        .chain(seen.iter().map(|one| one.pose.at()))
        .filter(|corner| corner.is_finite())
        .collect();
    let span = |axis: DVec3| {
        let along = || corners.iter().map(|corner| axis.dot(*corner));
        (along().fold(f64::INFINITY, f64::min), along().fold(f64::NEG_INFINITY, f64::max))
    };
    let (across, up) = (span(side.right), span(side.up));
    let room = if side.towards.is_some() { WIDTH - 2.0 * MARGIN - BANDS } else { WIDTH - 2.0 * MARGIN };
    // Front and rear are drawn at most twice as large as the sides.
    let length = vehicle.length.value().max(across.1 - across.0);
    let along = room / length.max(0.1);
    let end_on = side.right.x == 0.0;
    let scale = if end_on { (2.0 * along).min(360.0 / (across.1 - across.0).max(0.1)) } else { along };
    let paper = Paper { side, scale, from: (across.0, up.0), to: up.1, left: MARGIN, top: MARGIN };
    let right = MARGIN + (across.1 - across.0) * scale;
    let bottom = MARGIN + (up.1 - up.0) * scale;
    let width = if end_on { right + MARGIN + BANDS } else { WIDTH };
    let mut canvas = Canvas::new(width);
    let mut draw = |(low, high): (DVec3, DVec3), class: &'static str| {
        let (one, other) = (paper.at(low), paper.at(high));
        let corner = (one.0.min(other.0), one.1.min(other.1));
        canvas.rect(corner, (one.0 - other.0).abs(), (one.1 - other.1).abs(), class);
    };
    let space = report.conduct.space();
    for (body, when) in package.bodies.iter().zip(&report.conduct.bodies) {
        draw(body.block.corners(), if when == space.allowed() { "body" } else { "comes-and-goes" });
    }
    draw(outline, "outline");
    if side.towards.is_some() {
        bands(&mut canvas, &paper, &levels(report), (right, bottom));
        let ground = paper.at(DVec3::ZERO).1;
        canvas.line((MARGIN - 20.0, ground), (right + 20.0, ground), "edge");
        canvas.text((right + 26.0, ground + 4.0), Anchor::Start, "ground", "soft");
    }
    ends(&mut canvas, side, (right, bottom));
    mark(&mut canvas, &paper, &seen, (4.0, 18.0, right + MARGIN - 6.0, bottom + MARGIN - 20.0));
    let moving = report.conduct.bodies.iter().any(|when| when != space.allowed());
    let mut says = "A point is the optical centre, the tick its aim; numbers as in the table of positions.".to_owned();
    if moving {
        says.push_str(" Dashed boxes come and go (doors and the like).");
    }
    let y = canvas.lines((20.0, bottom + MARGIN), &says, "soft");
    let marks: Vec<String> = seen.iter().map(|one| one.mark.clone()).collect();
    let description = format!("{} positions: {}.", marks.len(), numbers(&marks));
    let title = match side.towards {
        None => format!(
            "{}: positions by number, {} long, {} wide",
            side.title,
            in_both(vehicle.length),
            in_both(vehicle.width)
        ),
        Some(_) if levels(report).is_empty() => format!("{}: positions that look this way", side.title),
        Some(_) => format!("{}: positions that look this way, and the heights that are judged apart", side.title),
    };
    canvas.figure(format!("layout-{}", side.name), title, description, y)
}

/// Words at the ends, so that nobody takes left for right.
fn ends(canvas: &mut Canvas, side: &Side, (right, bottom): Point) {
    let words = match side.name {
        "plan" => ["front", "rear"],
        "left" => ["front", "rear"],
        "right" => ["rear", "front"],
        "front" => ["vehicle's right", "vehicle's left"],
        _ => ["vehicle's left", "vehicle's right"],
    };
    let y = bottom + 34.0;
    canvas.text((MARGIN, y), Anchor::Start, words[0], "strong");
    canvas.text((right, y), Anchor::End, words[1], "strong");
    if side.towards.is_none() {
        let middle = 0.5 * (MARGIN + right);
        canvas.text((middle, 14.0), Anchor::Middle, "vehicle's right", "strong");
        canvas.text((middle, y), Anchor::Middle, "vehicle's left", "strong");
    }
}

/// The bands of heights: their edges with figures, and their names between.
fn bands(canvas: &mut Canvas, paper: &Paper<'_>, levels: &[&Level], (right, bottom): Point) {
    let y = |height: Length| paper.at(DVec3::Z * height.value()).1;
    let mut edges: Vec<Length> =
        levels.iter().flat_map(|level| [level.from, level.above, level.to]).flatten().collect();
    edges.sort_by(|one, other| one.value().total_cmp(&other.value()));
    edges.dedup_by(|one, other| (one.value() - other.value()).abs() < 5e-4);
    let mut taken: Vec<f64> = vec![paper.at(DVec3::ZERO).1 + 4.0];
    // What would stand on another word moves up.
    let mut free = |wanted: f64| {
        let mut at = wanted;
        while taken.iter().any(|known| (known - at).abs() < 12.0) && at > 12.0 {
            at -= 1.0;
        }
        taken.push(at);
        at
    };
    for edge in edges {
        let at = y(edge);
        if at < 12.0 || at > bottom + 20.0 {
            continue;
        }
        canvas.line((MARGIN - 20.0, at), (right + 20.0, at), "border");
        canvas.text((right + 26.0, free(at + 4.0)), Anchor::Start, in_both(edge), "soft");
    }
    for level in levels {
        let low = level.from.or(level.above).map_or(paper.at(DVec3::ZERO).1, y);
        let high = level.to.map_or(paper.top, y);
        canvas.text(
            (right + 26.0, free(0.5 * (low + high) + 4.0)),
            Anchor::Start,
            format!("{} level", level.name),
            "strong",
        );
    }
}

/// Points, ticks and numbers. What lies on one point of the paper shares a text.
fn mark(canvas: &mut Canvas, paper: &Paper<'_>, seen: &[&Placed<'_>], within: (f64, f64, f64, f64)) {
    let mut points: Vec<(Point, Vec<String>)> = Vec::new();
    let mut ticks: Vec<(Point, Point)> = Vec::new();
    for one in seen {
        let at = paper.at(one.pose.at());
        if !(at.0.is_finite() && at.1.is_finite()) {
            continue;
        }
        let axis = one.pose.axis();
        let (dx, dy) = (paper.side.right.dot(axis), -paper.side.up.dot(axis));
        if !one.all_round && dx.hypot(dy) > 0.2 {
            let end = (at.0 + 9.0 * dx, at.1 + 9.0 * dy);
            canvas.line(at, end, "aim");
            ticks.push((at, end));
        }
        if one.all_round {
            canvas.circle(at, 4.5, "aim");
        }
        match one.sounds {
            true => canvas.rect((at.0 - 2.5, at.1 - 2.5), 5.0, 5.0, "point"),
            false => canvas.circle(at, 2.2, "point"),
        }
        match points.iter_mut().find(|(known, _)| (known.0 - at.0).hypot(known.1 - at.1) < 3.0) {
            Some((_, marks)) => marks.push(one.mark.clone()),
            None => points.push((at, vec![one.mark.clone()])),
        }
    }
    let labelled: Vec<Labelled> =
        points.into_iter().map(|(at, marks)| Labelled { at, text: numbers(&marks) }).collect();
    for (one, (at, far)) in labelled.iter().zip(placed(&labelled, ticks, within)) {
        if far {
            canvas.line(one.at, at, "lead");
        }
        canvas.text((at.0, at.1 + 4.0), Anchor::Middle, one.text.clone(), "halo");
    }
}

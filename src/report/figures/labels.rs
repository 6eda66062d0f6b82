//! Where numbers stand beside points that lie close together: each as near to its point as it finds room, with a line
//! to it where it stands further off.

use super::canvas::{LETTER, Point};

/// A point with the text beside it.
#[derive(Debug)]
pub(super) struct Labelled {
    pub at: Point,
    pub text: String,
}

/// A box: left, top, right, bottom.
pub(super) type Box = (f64, f64, f64, f64);

const HEIGHT: f64 = 11.0;

/// How far from its point a text may stand.
const AWAY: &[f64] = &[11.0, 15.0, 20.0, 26.0, 33.0, 41.0, 50.0, 60.0, 72.0, 86.0, 102.0, 120.0];

/// Directions that are tried at each distance.
const TURNS: u16 = 24;

/// For more points than these lines are let cross texts: to look at all pairs would take too long.
const MANY: usize = 250;

/// The middles of the texts, clear of `lines` too, each with whether it stands so far off that a line has to lead to it.
pub(super) fn placed(points: &[Labelled], lines: Vec<(Point, Point)>, within: Box) -> Vec<(Point, bool)> {
    let (left, top, right, bottom) = within;
    let middle = ((left + right) * 0.5, (top + bottom) * 0.5);
    let mut boxes: Vec<Box> = Vec::with_capacity(points.len());
    let mut leads = lines;
    let mut found = Vec::with_capacity(points.len());
    for one in points {
        let half = width(&one.text) * 0.5;
        // Outwards first: what stands in the middle has no room for texts.
        let out = (one.at.1 - middle.1).atan2(one.at.0 - middle.0);
        let mut chosen = None;
        'search: for (step, away) in AWAY.iter().enumerate() {
            for turn in 0..TURNS {
                // 0, 1, -1, 2, -2 ...: nearest to the outward direction first.
                let steps = f64::from(turn.div_ceil(2)) * if turn % 2 == 1 { 1.0 } else { -1.0 };
                let angle = out + steps * std::f64::consts::TAU / f64::from(TURNS);
                let reach = away + (half - 4.0).max(0.0) * angle.cos().abs();
                let at = (one.at.0 + reach * angle.cos(), one.at.1 + reach * angle.sin());
                let area = (at.0 - half, at.1 - HEIGHT * 0.5, at.0 + half, at.1 + HEIGHT * 0.5);
                let inside = area.0 >= left && area.1 >= top && area.2 <= right && area.3 <= bottom;
                let free = inside
                    && boxes.iter().all(|other| !overlap(area, *other))
                    && points.iter().all(|other| !near(area, other.at))
                    && leads.iter().all(|lead| !crosses(*lead, area))
                    && (step < 2 || points.len() > MANY || boxes.iter().all(|other| !crosses((one.at, at), *other)));
                if free {
                    chosen = Some((at, area, step >= 2));
                    break 'search;
                }
            }
        }
        // No room anywhere: beside the point, whatever is there.
        let beside = (one.at.0, one.at.1 - 11.0);
        let area = (beside.0 - half, beside.1 - HEIGHT * 0.5, beside.0 + half, beside.1 + HEIGHT * 0.5);
        let (at, area, far) = chosen.unwrap_or((beside, area, false));
        boxes.push(area);
        if far {
            leads.push((one.at, at));
        }
        found.push((at, far));
    }
    found
}

fn width(text: &str) -> f64 {
    text.chars().map(|_| LETTER).sum::<f64>() + 2.0
}

fn overlap(one: Box, other: Box) -> bool {
    one.0 < other.2 + 1.0 && other.0 < one.2 + 1.0 && one.1 < other.3 && other.1 < one.3
}

fn near(area: Box, point: Point) -> bool {
    let room = 2.5;
    point.0 > area.0 - room && point.0 < area.2 + room && point.1 > area.1 - room && point.1 < area.3 + room
}

/// Whether a line runs through a box: looked at every few user units.
fn crosses((from, to): (Point, Point), area: Box) -> bool {
    (0..=20_u16).any(|step| {
        let share = f64::from(step) / 20.0;
        let at = (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share);
        at.0 > area.0 && at.0 < area.2 && at.1 > area.1 && at.1 < area.3
    })
}

/// Numbers in as few words as they need: `1`, `3, 5`, `7-9`.
pub(super) fn numbers(marks: &[String]) -> String {
    let value = |mark: &String| mark.parse::<usize>().ok();
    let mut said: Vec<String> = Vec::new();
    let mut at = 0;
    while let Some(first) = marks.get(at) {
        let mut last = at;
        while let (Some(one), Some(next)) = (marks.get(last).and_then(value), marks.get(last + 1).and_then(value)) {
            if next != one + 1 {
                break;
            }
            last += 1;
        }
        match marks.get(last).filter(|_| last > at + 1) {
            Some(end) => said.push(format!("{first}-{end}")),
            None => said.extend(marks.get(at..=last).into_iter().flatten().cloned()),
        }
        at = last + 1;
    }
    said.join(", ")
}

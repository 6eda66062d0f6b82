//! What all plots of the way round the vehicle share: front up, bearings clockwise.

use super::super::paper::Anchor;
use super::canvas::{Canvas, Point};
use crate::units::Degrees;

/// The middle of a plot, in user units.
pub const CENTRE: (f64, f64) = (320.0, 235.0);

/// The radius of its rim, in user units.
pub const RADIUS: f64 = 190.0;

/// A point at a bearing, so far from the middle.
pub(super) fn on_ring(bearing: Degrees, radius: f64) -> Point {
    let (sin, cos) = bearing.value().to_radians().sin_cos();
    (CENTRE.0 + radius * sin, CENTRE.1 - radius * cos)
}

/// An arc of a circle round the middle, clockwise.
pub(super) fn arc(from: Degrees, to: Degrees, radius: f64) -> Vec<Point> {
    let width = to.value() - from.value();
    let steps = (width / 2.0).ceil().clamp(1.0, 180.0);
    let mut points = Vec::new();
    let mut at = 0.0;
    while at <= steps {
        points.push(on_ring(Degrees::new(from.value() + width * at / steps), radius));
        at += 1.0;
    }
    points
}

/// A word outside the rim; there is room for two lines at each bearing, the inner (or lower) one is taken by [`compass`].
pub(super) fn label(canvas: &mut Canvas, bearing: Degrees, inner: bool, text: String, class: &'static str) {
    let (sin, cos) = bearing.value().to_radians().sin_cos();
    let anchor = match sin {
        sin if sin > 0.4 => Anchor::Start,
        sin if sin < -0.4 => Anchor::End,
        _ => Anchor::Middle,
    };
    let (x, y) = on_ring(bearing, RADIUS + 12.0);
    let below = match (cos, inner) {
        (cos, true) if cos > 0.9 => 2.0,
        (cos, false) if cos > 0.9 => -12.0,
        (cos, true) if cos < -0.9 => 8.0,
        (cos, false) if cos < -0.9 => 22.0,
        (_, true) => 11.0,
        (_, false) => -3.0,
    };
    canvas.text((x, y + below), anchor, text, class);
}

/// Where front, right, rear and left are.
pub(super) fn compass(canvas: &mut Canvas) {
    let words = [(0.0, "front, 0 deg"), (90.0, "right, 90 deg"), (180.0, "rear, 180 deg"), (270.0, "left, 270 deg")];
    for (bearing, word) in words {
        label(canvas, Degrees::new(bearing), true, word.to_owned(), "soft");
    }
}

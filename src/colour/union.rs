//! The border of joined areas: what of their outlines does not lie inside another of them.

use super::Chromaticity;
use super::region::{Piece, side, winds_round};

/// How far beside a border is looked to see what lies there: far more than rounding, far less than any edge is long.
const BESIDE: f64 = 1e-8;

/// The parts of the outlines with outside on one side.
pub(super) fn border(outlines: &[Vec<Piece>]) -> Vec<Piece> {
    let pieces = || outlines.iter().flatten();
    let mut border = Vec::new();
    for piece in pieces() {
        let mut shares: Vec<f64> = pieces().filter_map(|other| cut(piece, other)).chain([0.0, 1.0]).collect();
        // Where two outlines run along each other, the ends of one part the other.
        shares.extend(pieces().flat_map(|other| [other.from, other.to]).filter_map(|end| share_of(piece, end)));
        shares.sort_by(f64::total_cmp);
        let parts = shares.iter().zip(shares.iter().skip(1));
        for (begin, end) in parts.filter(|(begin, end)| *end - *begin > 0.0) {
            let (from, to) = (piece.from.towards(piece.to, *begin), piece.from.towards(piece.to, *end));
            if is_border(&Piece { from, to, edge: piece.edge }, outlines) {
                border.push(Piece { from, to, edge: piece.edge });
            }
        }
    }
    border
}

/// At which share of a piece another crosses it.
fn cut(piece: &Piece, other: &Piece) -> Option<f64> {
    let (before, behind) = (side(other, piece.from), side(other, piece.to));
    let (one, two) = (side(piece, other.from), side(piece, other.to));
    (before * behind < 0.0 && one * two <= 0.0).then(|| before / (before - behind))
}

/// At which share of a piece a point on it lies.
fn share_of(piece: &Piece, point: Chromaticity) -> Option<f64> {
    let (dx, dy) = (piece.to.x - piece.from.x, piece.to.y - piece.from.y);
    let share = ((point.x - piece.from.x) * dx + (point.y - piece.from.y) * dy) / (dx * dx + dy * dy);
    let on = || point.distance(piece.from.towards(piece.to, share)).value() < super::region::ON_EDGE;
    (share > 0.0 && share < 1.0 && on()).then_some(share)
}

/// Whether one side of a piece is inside and the other is not.
fn is_border(piece: &Piece, outlines: &[Vec<Piece>]) -> bool {
    let middle = piece.from.towards(piece.to, 0.5);
    let (dx, dy) = (piece.to.x - piece.from.x, piece.to.y - piece.from.y);
    let length = dx.hypot(dy);
    let beside = |sign: f64| {
        let step = sign * BESIDE / length;
        let point = Chromaticity { x: middle.x - step * dy, y: middle.y + step * dx };
        outlines.iter().any(|outline| winds_round(outline.iter().copied(), point))
    };
    length > 0.0 && beside(1.0) != beside(-1.0)
}

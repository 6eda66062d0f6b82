//! The spectral locus of the CIE 1931 2-degree observer at 1 nm, closed by the line of purples: no light lies outside.

use colorimetry::observer::Observer;

use super::line::Line;
use super::region::{Piece, closest_on};
use super::{Chromaticity, Distance};
use crate::units::Wavelength;

/// Where the colour matching functions begin.
pub const SHORTEST_WAVE: Wavelength = Wavelength::new(380.0);

/// Where the locus ends: from here on all light has one chromaticity.
pub const LONGEST_WAVE: Wavelength = Wavelength::new(699.0);

/// The locus as a closed outline of straight pieces of 1 nm, and the line of purples.
///
/// A piece of 1 nm is no approximation of the sums made here: colour matching functions that are straight between
/// whole nm put every wavelength in between on it.
#[derive(Clone, Debug)]
pub struct Locus {
    outline: Vec<Chromaticity>,
}

/// A place on the outline: behind which of its points, and at which share of the way to the next.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub at: Chromaticity,
    after: usize,
    share: f64,
}

impl Place {
    /// A corner between straight edges: no way along the locus begins there.
    pub fn off_the_locus(at: Chromaticity) -> Self {
        Self { at, after: 0, share: 0.0 }
    }
}

/// The colour matching functions at a whole number of nm; nothing outside 380 to 780 nm.
fn matching_at(nm: usize) -> [f64; 3] {
    Observer::Cie1931.xyz_at_wavelength(nm).map_or([0.0; 3], |xyz| xyz.to_array())
}

/// The colour matching functions at any wavelength; nothing outside 380 to 780 nm.
pub(super) fn matching(wavelength: Wavelength) -> [f64; 3] {
    let nm = wavelength.value();
    if !(380.0..=780.0).contains(&nm) {
        return [0.0; 3];
    }
    // In range by the test above.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let below = nm.floor() as usize;
    let share = nm - nm.floor();
    let ([a, b, c], [d, e, f]) = (matching_at(below), matching_at(below + 1));
    let between = |low: f64, high: f64| low * (1.0 - share) + high * share;
    [between(a, d), between(b, e), between(c, f)]
}

/// The chromaticity of X, Y and Z.
pub(super) fn of_tristimulus([x, y, z]: [f64; 3]) -> Chromaticity {
    Chromaticity { x: x / (x + y + z), y: y / (x + y + z) }
}

impl Locus {
    /// The locus of the 2-degree observer of 1931.
    pub fn cie_1931() -> Self {
        let whole = Observer::Cie1931.spectral_locus_wavelength_range();
        Self { outline: whole.map(|nm| of_tristimulus(matching_at(nm))).collect() }
    }

    /// The chromaticity of pure light; none where the locus does not reach.
    pub fn at(&self, wavelength: Wavelength) -> Option<Chromaticity> {
        if !(SHORTEST_WAVE..=LONGEST_WAVE).contains(&wavelength) {
            return None;
        }
        Some(of_tristimulus(matching(wavelength)))
    }

    /// The whole outline, from the violet end to the red end; from there the line of purples leads back.
    pub fn outline(&self) -> &[Chromaticity] {
        &self.outline
    }

    /// Whether a light can have this chromaticity; else how far it lies outside, and the nearest that a light can have.
    pub fn beyond(&self, point: Chromaticity) -> Option<(Distance, Chromaticity)> {
        let pieces = || self.pieces().map(|(_, piece)| piece);
        if super::region::winds_round(pieces(), point) {
            return None;
        }
        let near = pieces().map(|piece| closest_on(&piece, point));
        let near = near.min_by(|one, other| point.distance(*one).0.total_cmp(&point.distance(*other).0))?;
        let distance = point.distance(near);
        (distance.0 > super::region::ON_EDGE).then_some((distance, near))
    }

    fn pieces(&self) -> impl Iterator<Item = (usize, Piece)> {
        let nexts = self.outline.iter().cycle().skip(1);
        let piece = |(from, to): (&Chromaticity, &Chromaticity)| Piece { from: *from, to: *to, edge: 0 };
        self.outline.iter().zip(nexts).map(piece).enumerate()
    }

    /// Where a line crosses the outline nearest to a point.
    pub(super) fn crossing(&self, line: Line, near: Chromaticity) -> Option<Place> {
        let crossings = self.pieces().filter_map(|(after, piece)| {
            let (before, behind) = (line.offset(piece.from), line.offset(piece.to));
            let share = before / (before - behind);
            let at = piece.from.towards(piece.to, share);
            (before * behind <= 0.0 && share.is_finite()).then_some(Place { at, after, share })
        });
        crossings.min_by(|one, other| near.distance(one.at).0.total_cmp(&near.distance(other.at).0))
    }

    /// The outline from one place to another, both included, by the shorter way round.
    pub(super) fn way(&self, from: &Place, to: &Place) -> Vec<Chromaticity> {
        let (there, mut back) = (self.forwards(from, to), self.forwards(to, from));
        back.reverse();
        let length = |way: &[Chromaticity]| -> f64 {
            way.iter().zip(way.iter().skip(1)).map(|(one, next)| one.distance(*next).0).sum()
        };
        if length(&there) <= length(&back) { there } else { back }
    }

    /// The outline from one place to another with growing wavelength.
    fn forwards(&self, from: &Place, to: &Place) -> Vec<Chromaticity> {
        let count = self.outline.len();
        let ahead = from.after < to.after || (from.after == to.after && from.share <= to.share);
        let steps = if ahead { to.after - from.after } else { to.after + count - from.after };
        let between = self.outline.iter().cycle().skip(from.after + 1).take(steps);
        std::iter::once(from.at).chain(between.copied()).chain([to.at]).collect()
    }
}

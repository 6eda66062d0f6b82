//! A named region of the x, y diagram: its edges in order, straight or along the spectral locus, and how far inside or
//! outside a chromaticity lies. Regions need not be convex.
//!
//! Corners are where neighbouring edges meet, found here to full precision; the corner that a document prints only
//! says which crossing is meant, so that its rounding decides nothing.

use super::line::Line;
use super::locus::{Locus, Place};
use super::{Chromaticity, Distance, union};

/// Nearer to an edge than this is on it (the arithmetic of the corners, not of any instrument).
pub(super) const ON_EDGE: f64 = 1e-9;

/// A corner that is printed to two decimals lies no further from where its edges meet.
const LARGEST_ROUNDING: f64 = 0.01;

/// What joins two corners.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Path {
    /// A straight line.
    Straight(Line),
    /// The spectral locus with the line of purples, the shorter way round.
    Locus,
}

/// One edge as a document states it.
#[derive(Clone, Debug)]
pub struct EdgeTerms {
    /// What it parts the region from, or `locus`.
    pub name: String,
    /// How it runs.
    pub path: Path,
    /// The corner where it begins, as printed; it ends where the next one begins.
    pub from: Chromaticity,
}

/// One edge.
#[derive(Clone, Debug)]
pub struct Edge {
    /// What it parts the region from, or `locus`.
    pub name: String,
    /// How it runs.
    pub path: Path,
}

/// Why edges do not enclose a region; edges are told by their place in the list.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RegionError {
    /// Fewer than two edges, or nothing between them.
    #[error("these edges enclose nothing")]
    Empty,
    /// Two neighbours do not meet near the corner that is printed.
    #[error("the edges `{before}` and `{name}` do not meet near ({x}, {y})", x = .printed.x, y = .printed.y)]
    Open {
        /// The edge that begins at the corner.
        edge: usize,
        /// Its name.
        name: String,
        /// The name of the edge that ends there.
        before: String,
        /// The corner.
        printed: Chromaticity,
        /// Where they do meet, if anywhere.
        meet: Option<Chromaticity>,
    },
    /// Two edges cross elsewhere than at a corner.
    #[error("the edges `{name}` and `{other_name}` cross each other")]
    Crossing {
        /// One.
        edge: usize,
        /// The other.
        other: usize,
        /// Their names.
        name: String,
        /// Their names.
        other_name: String,
    },
}

/// A region of the diagram.
#[derive(Clone, Debug)]
pub struct Region {
    /// Its id.
    pub id: String,
    /// What it is, in words.
    pub title: String,
    edges: Vec<Edge>,
    /// One closed outline, or several whose areas are joined.
    outlines: Vec<Vec<Piece>>,
    /// What parts inside from outside: of joined areas not what lies inside another.
    border: Vec<Piece>,
}

/// A straight part of an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Piece {
    pub from: Chromaticity,
    pub to: Chromaticity,
    /// Which edge it is a part of.
    pub edge: usize,
}

/// How a chromaticity lies to a region.
#[derive(Clone, Debug, PartialEq)]
pub struct Nearest<'r> {
    /// How far the nearest edge is: positive inside, zero on it, negative outside.
    pub distance: Distance,
    /// The edge.
    pub edge: &'r str,
}

impl Region {
    /// A region within edges, each beginning where the one before it ends, the first where the last ends.
    pub fn new(id: String, title: String, terms: &[EdgeTerms], locus: &Locus) -> Result<Self, RegionError> {
        if terms.len() < 2 {
            return Err(RegionError::Empty);
        }
        let before = || terms.iter().cycle().skip(terms.len().saturating_sub(1));
        let corners: Vec<Place> = terms
            .iter()
            .zip(before())
            .enumerate()
            .map(|(edge, (terms, before))| corner(edge, terms, before, locus))
            .collect::<Result<_, _>>()?;
        let ends = corners.iter().cycle().skip(1);
        let mut outline = Vec::new();
        for ((edge, terms), (from, to)) in terms.iter().enumerate().zip(corners.iter().zip(ends)) {
            let way = match terms.path {
                Path::Straight(_) => vec![from.at, to.at],
                Path::Locus => locus.way(from, to),
            };
            let pieces = way.iter().zip(way.iter().skip(1)).map(|(from, to)| Piece { from: *from, to: *to, edge });
            outline.extend(pieces.filter(|piece| piece.from != piece.to));
        }
        let area: f64 = outline.iter().map(|piece| piece.from.x * piece.to.y - piece.to.x * piece.from.y).sum();
        if area.abs() < 1e-9 {
            return Err(RegionError::Empty);
        }
        if let Some((edge, other)) = crossing(&outline) {
            let name = |at: usize| terms.get(at).map(|terms| terms.name.clone()).unwrap_or_default();
            return Err(RegionError::Crossing { edge, other, name: name(edge), other_name: name(other) });
        }
        let edges = terms.iter().map(|terms| Edge { name: terms.name.clone(), path: terms.path }).collect();
        Ok(Self { id, title, edges, border: outline.clone(), outlines: vec![outline] })
    }

    /// What lies in any of several regions. None where there is none.
    pub fn union(id: String, title: String, parts: &[&Self]) -> Option<Self> {
        let (mut edges, mut outlines) = (Vec::new(), Vec::new());
        for part in parts {
            let count = edges.len();
            edges.extend(part.edges.iter().cloned());
            let shifted = |piece: &Piece| Piece { edge: piece.edge + count, ..*piece };
            outlines.extend(part.outlines.iter().map(|outline| outline.iter().map(shifted).collect::<Vec<_>>()));
        }
        let border = union::border(&outlines);
        (!border.is_empty()).then_some(Self { id, title, edges, outlines, border })
    }

    /// The names of its edges.
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// Its border as straight pieces, each with its edge, for whoever draws it or tests it. Along the locus they are
    /// at most 1 nm long.
    pub fn border(&self) -> impl Iterator<Item = (Chromaticity, Chromaticity, &Edge)> {
        self.border.iter().filter_map(|piece| Some((piece.from, piece.to, self.edges.get(piece.edge)?)))
    }

    /// Whether a chromaticity lies inside; its edges belong to it.
    pub fn contains(&self, point: Chromaticity) -> bool {
        self.signed_distance(point).distance >= Distance::ZERO
    }

    /// How far inside (positive) or outside (negative) a chromaticity lies, and the nearest edge.
    pub fn signed_distance(&self, point: Chromaticity) -> Nearest<'_> {
        self.nearest(point, |_| true)
    }

    /// The room that a light has: like [`Region::signed_distance`], but what limits light itself (the spectral locus,
    /// the line of purples) is no edge that it could cross, so its distance does not count.
    ///
    /// It holds for chromaticities that a light can have ([`Locus::beyond`]).
    pub fn room(&self, point: Chromaticity) -> Nearest<'_> {
        self.nearest(point, |edge| matches!(edge.path, Path::Straight(_)))
    }

    fn nearest(&self, point: Chromaticity, counts: impl Fn(&Edge) -> bool) -> Nearest<'_> {
        let (mut least, mut name, mut on_any) = (f64::INFINITY, "", false);
        for piece in &self.border {
            let Some(edge) = self.edges.get(piece.edge) else { continue };
            let distance = point.distance(closest_on(piece, point)).0;
            on_any |= distance <= ON_EDGE;
            if distance < least && counts(edge) {
                (least, name) = (distance, edge.name.as_str());
            }
        }
        let inside = on_any || self.outlines.iter().any(|outline| winds_round(outline.iter().copied(), point));
        let distance = match (least <= ON_EDGE, inside) {
            (true, _) => 0.0,
            (false, true) => least,
            (false, false) => -least,
        };
        Nearest { distance: Distance(distance), edge: name }
    }
}

/// Where an edge begins: its crossing with the one before it, nearest to what is printed.
fn corner(edge: usize, terms: &EdgeTerms, before: &EdgeTerms, locus: &Locus) -> Result<Place, RegionError> {
    let found = match (before.path, terms.path) {
        (Path::Straight(one), Path::Straight(other)) => one.crossing(other).map(Place::off_the_locus),
        (Path::Straight(line), Path::Locus) | (Path::Locus, Path::Straight(line)) => locus.crossing(line, terms.from),
        // Two pieces of the locus meet nowhere in particular.
        (Path::Locus, Path::Locus) => None,
    };
    let fits = found.filter(|found| found.at.distance(terms.from).0 <= LARGEST_ROUNDING);
    fits.ok_or_else(|| RegionError::Open {
        edge,
        name: terms.name.clone(),
        before: before.name.clone(),
        printed: terms.from,
        meet: found.map(|found| found.at),
    })
}

/// Two edges that cross or touch elsewhere than at a corner between them.
fn crossing(outline: &[Piece]) -> Option<(usize, usize)> {
    let joined = |one: &Piece, other: &Piece| {
        let near = |one: Chromaticity, other: Chromaticity| one.distance(other).0 <= ON_EDGE;
        near(one.to, other.from) || near(other.to, one.from)
    };
    for (at, one) in outline.iter().enumerate() {
        // The locus does not cross itself. Few pieces have a point in common, so that is asked before how near they end.
        let others = outline.iter().skip(at + 1).filter(|other| other.edge != one.edge && crosses(one, other));
        for other in others {
            if !joined(one, other) {
                return Some((one.edge, other.edge));
            }
        }
    }
    None
}

/// Whether two pieces have a point in common.
fn crosses(one: &Piece, other: &Piece) -> bool {
    let sides = |piece: &Piece, by: &Piece| side(by, piece.from) * side(by, piece.to) <= 0.0;
    sides(one, other) && sides(other, one)
}

/// On which side of a piece's line a point lies: positive to the left.
pub(super) fn side(piece: &Piece, point: Chromaticity) -> f64 {
    (piece.to.x - piece.from.x) * (point.y - piece.from.y) - (piece.to.y - piece.from.y) * (point.x - piece.from.x)
}

/// The point of a piece nearest to another.
pub(super) fn closest_on(piece: &Piece, point: Chromaticity) -> Chromaticity {
    let (dx, dy) = (piece.to.x - piece.from.x, piece.to.y - piece.from.y);
    let along = ((point.x - piece.from.x) * dx + (point.y - piece.from.y) * dy) / (dx * dx + dy * dy);
    // A piece without length has no direction.
    piece.from.towards(piece.to, if along.is_finite() { along.clamp(0.0, 1.0) } else { 0.0 })
}

/// Whether a closed outline goes round a point that does not lie on it: a ray to the right crosses it an odd number of
/// times.
pub(super) fn winds_round(outline: impl Iterator<Item = Piece>, point: Chromaticity) -> bool {
    let crossed = outline.filter(|piece| {
        let rises = piece.from.y <= point.y && point.y < piece.to.y;
        let falls = piece.to.y <= point.y && point.y < piece.from.y;
        (rises && side(piece, point) > 0.0) || (falls && side(piece, point) < 0.0)
    });
    crossed.count() % 2 == 1
}

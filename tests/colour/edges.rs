//! Laws of regions: a point that crosses an edge flips the verdict exactly there, at corners that turn in too; the
//! distance grows no faster than the point moves; where the list of edges begins, and which way round it goes, says
//! nothing.

use proptest::prelude::*;
use wayproof::colour::{Chromaticity, Edge, EdgeTerms, Locus, Path, Region, RegionError};

use super::{all, at, region};

/// Far more than rounding, far less than any straight edge is long.
const STEP: f64 = 1e-6;

fn moved(point: Chromaticity, angle: f64, far: f64) -> Chromaticity {
    at(point.x + far * angle.cos(), point.y + far * angle.sin())
}

fn angle(from: Chromaticity, to: Chromaticity) -> f64 {
    (to.y - from.y).atan2(to.x - from.x)
}

type Pieces<'r> = Vec<(Chromaticity, Chromaticity, &'r Edge)>;

/// A part of the border, and the share of the way along it.
fn on_border(region: &Region, which: usize, share: f64) -> (Chromaticity, f64, f64) {
    let pieces: Pieces<'_> = region.border().collect();
    // Each edge is as likely as any other, however many pieces it has.
    let mut edges: Vec<*const Edge> = pieces.iter().map(|(_, _, edge)| std::ptr::from_ref(*edge)).collect();
    edges.dedup();
    let edge = edges[which % edges.len()];
    let of_it: Pieces<'_> = pieces.into_iter().filter(|(_, _, known)| std::ptr::from_ref(*known) == edge).collect();
    let (from, to, _) = of_it[(which / edges.len()) % of_it.len()];
    (from.towards(to, share), angle(from, to), from.distance(to).value())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    #[test]
    fn the_verdict_flips_exactly_on_each_edge(pick in 0..1000_usize, which in 0..100_000_usize, share in 0.05..0.95_f64) {
        let regions = all();
        let region = &regions[pick % regions.len()];
        let (point, along, length) = on_border(region, which, share);
        let step = STEP.min(length / 100.0);
        let on = region.signed_distance(point);
        prop_assert_eq!(on.distance.value(), 0.0, "{:?} of {}", point, region.id);
        prop_assert!(region.contains(point));
        let sides = [1.0, -1.0].map(|side| {
            let beside = moved(point, along + side * std::f64::consts::FRAC_PI_2, step);
            region.signed_distance(beside).distance.value()
        });
        prop_assert!((sides[0] + sides[1]).abs() < 1e-3 * step, "{:?} beside {:?} of {}", sides, point, region.id);
        prop_assert!((sides[0].abs() - step).abs() < 1e-3 * step, "{:?} beside {:?} of {}", sides, point, region.id);
    }

    /// Whichever way a point leaves a corner: inside within the corner's angle, outside beyond it.
    #[test]
    fn the_verdict_at_a_corner_is_that_of_its_angle(pick in 0..1000_usize, which in 0..100_usize, turn in 0.0..std::f64::consts::TAU) {
        let regions = all();
        let region = &regions[pick % regions.len()];
        // The pieces of a union are no way round.
        if region.id != "red-widened" {
            let pieces: Pieces<'_> = region.border().collect();
            let next = |at: usize| pieces[(at + 1) % pieces.len()];
            let straight = |edge: &Edge| matches!(edge.path, Path::Straight(_));
            let corners: Vec<usize> = (0..pieces.len())
                .filter(|at| straight(pieces[*at].2) || straight(next(*at).2))
                .collect();
            let at_corner = corners[which % corners.len()];
            let ((before, corner, _), (_, after, _)) = (pieces[at_corner], next(at_corner));
            let area: f64 = pieces.iter().map(|(from, to, _)| from.x * to.y - to.x * from.y).sum();
            // Inside lies to the left of an outline that goes round against the clock.
            let (first, last) = match area > 0.0 {
                true => (angle(corner, after), angle(corner, before)),
                false => (angle(corner, before), angle(corner, after)),
            };
            let wide = (last - first).rem_euclid(std::f64::consts::TAU);
            let inside = turn < wide;
            let near_edge = [0.0, wide, std::f64::consts::TAU].iter().any(|edge| (turn - edge).abs() < 1e-3);
            let point = moved(corner, first + turn, 1e-6);
            prop_assert!(region.contains(corner));
            prop_assert!(near_edge || region.contains(point) == inside, "{:?} at {:?} of {}", turn, corner, region.id);
        }
    }

    #[test]
    fn distance_grows_no_faster_than_the_point_moves(
        pick in 0..1000_usize, x in 0.0..0.75_f64, y in 0.0..0.85_f64, turn in 0.0..6.3_f64, far in 0.0..0.2_f64,
    ) {
        let regions = all();
        let region = &regions[pick % regions.len()];
        let (one, other) = (at(x, y), moved(at(x, y), turn, far));
        let distance = |point| region.signed_distance(point).distance.value();
        prop_assert!((distance(one) - distance(other)).abs() <= far + 1e-8, "{} {:?} {:?}", region.id, one, other);
        let locus = Locus::cie_1931();
        if locus.beyond(one).is_none() && locus.beyond(other).is_none() {
            let room = |point| region.room(point).distance.value();
            prop_assert!((room(one) - room(other)).abs() <= far + 1e-8, "{} {:?} {:?}", region.id, one, other);
            prop_assert!(room(one) >= distance(one) - 1e-9);
            prop_assert_eq!(room(one) >= 0.0, region.contains(one));
        }
    }

    #[test]
    fn where_the_edges_begin_and_which_way_they_go_says_nothing(
        pick in 0..1000_usize, turn in 0..10_usize, reversed in any::<bool>(), x in 0.0..0.75_f64, y in 0.0..0.85_f64,
    ) {
        let locus = Locus::cie_1931();
        let regions: Vec<_> = all().iter().filter(|region| region.id != "red-widened").collect();
        let region = &regions[pick % regions.len()];
        let mut terms = terms_of(region);
        if reversed {
            terms = turned_round(&terms);
        }
        let count = terms.len();
        terms.rotate_left(turn % count);
        let other = Region::new("other".to_owned(), String::new(), &terms, &locus).unwrap();
        let (one, other) = (region.signed_distance(at(x, y)), other.signed_distance(at(x, y)));
        prop_assert!((one.distance.value() - other.distance.value()).abs() < 1e-9, "{} {:?} {:?}", region.id, one, other);
    }
}

/// The edges with the corners where they begin.
fn terms_of(region: &Region) -> Vec<EdgeTerms> {
    let begins = |edge: &Edge| {
        region.border().find(|(_, _, known)| std::ptr::eq(*known, edge)).map(|(from, _, _)| from).unwrap()
    };
    let terms = |edge: &Edge| EdgeTerms { name: edge.name.clone(), path: edge.path, from: begins(edge) };
    region.edges().iter().map(terms).collect()
}

/// The same edges the other way round: each begins where it ended.
fn turned_round(terms: &[EdgeTerms]) -> Vec<EdgeTerms> {
    let ends = terms.iter().cycle().skip(1);
    let mut turned: Vec<EdgeTerms> =
        terms.iter().zip(ends).map(|(edge, next)| EdgeTerms { from: next.from, ..edge.clone() }).collect();
    turned.reverse();
    turned
}

/// Daylight white and two more points that an edge taken as a half-plane would throw out.
#[test]
fn regions_that_turn_in_keep_what_lies_behind_the_corner() {
    for (id, inside, outside) in [
        ("white-2-digit", at(0.3127, 0.3290), at(0.46, 0.375)),
        ("white-3-digit", at(0.360, 0.330), at(0.46, 0.378)),
        ("signal-blue-2020", at(0.155, 0.260), at(0.165, 0.250)),
        ("red-widened", at(0.630, 0.330), at(0.645, 0.315)),
    ] {
        let region = region(id);
        assert!(region.contains(inside) && !region.contains(outside), "{id}");
    }
}

/// The border of a union is none of what lies inside one of its parts.
#[test]
fn what_lies_deep_inside_a_union_is_far_from_its_border() {
    let (union, red, extra) = (region("red-widened"), region("red-2-digit"), region("red-extra-area"));
    let point = at(0.664, 0.3299);
    let room = |region: &Region| region.room(point).distance.value();
    assert!(room(red) < 0.0002 && room(extra) < 0.01);
    let corner = at(0.66, 0.32);
    assert!((room(union) - corner.distance(point).value()).abs() < 1e-9, "{:?}", union.room(point));
    // On the edge of the red, which is none of the union.
    let on_edge = at(0.664, 0.33);
    assert_eq!(red.signed_distance(on_edge).distance.value(), 0.0);
    assert!((union.room(on_edge).distance.value() - corner.distance(on_edge).value()).abs() < 1e-9);
    assert!(union.border().all(|(from, to, _)| from != to && union.contains(from.towards(to, 0.5))));
}

/// A saturated red lies a hair inside the locus, and still has all the room to the limits of red.
#[test]
fn the_locus_takes_no_room() {
    let red = region("red-3-digit");
    let lamp = at(0.702593, 0.297318);
    assert!(red.signed_distance(lamp).distance.value() < 1e-4);
    assert_eq!(red.signed_distance(lamp).edge, "spectral locus");
    let room = red.room(lamp);
    assert_eq!(room.edge, "purple");
    assert!((room.distance.value() - (0.702593 + 0.297318 - 0.98) / 2_f64.sqrt()).abs() < 1e-9, "{room:?}");
}

#[test]
fn edges_that_enclose_nothing_are_refused() {
    let locus = Locus::cie_1931();
    let edge = |line: &str, x: f64, y: f64| EdgeTerms {
        name: line.to_owned(),
        path: Path::Straight(wayproof::colour::Line::parse(line).unwrap()),
        from: at(x, y),
    };
    let error = |terms: &[EdgeTerms]| Region::new(String::new(), String::new(), terms, &locus).unwrap_err();
    assert_eq!(error(&[]), RegionError::Empty);
    let square =
        [edge("x = 0.3", 0.3, 0.3), edge("y = 0.4", 0.3, 0.4), edge("x = 0.4", 0.4, 0.4), edge("y = 0.3", 0.4, 0.3)];
    let region = Region::new(String::new(), String::new(), &square, &locus).unwrap();
    assert!(region.contains(at(0.35, 0.35)) && !region.contains(at(0.25, 0.35)));
    let mut open = square.to_vec();
    open[2].from = at(0.45, 0.4);
    assert!(matches!(error(&open), RegionError::Open { edge: 2, .. }), "{:?}", error(&open));
    let bow = [
        edge("y = x", 0.28, 0.28),
        edge("y = 0.4", 0.4, 0.4),
        edge("y = 0.7 - x", 0.3, 0.4),
        edge("y = 0.28", 0.42, 0.28),
    ];
    assert!(matches!(error(&bow), RegionError::Crossing { .. }), "{:?}", error(&bow));
}

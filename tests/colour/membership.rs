//! Which region a chromaticity lies in: against memberships computed elsewhere, points worked out by hand, and the
//! inequalities of the documents at any point.

use proptest::prelude::*;
use wayproof::colour::{Chromaticity, Locus, Path};
use wayproof::ruleset::Basis;

use super::{all, at, number, own, possible, region, shipped, table};

#[test]
fn memberships_are_those_computed_elsewhere() {
    let locus = Locus::cie_1931();
    let rows = table("colour_membership.csv");
    assert_eq!(rows.len(), 115);
    // The last two rest on limits that were remembered there; the regions here have the same lines.
    for (column, id) in [
        ("aviation_red_14cfr", "aviation-red"),
        ("aviation_green_14cfr", "aviation-green"),
        ("kkk_extra_red_box", "red-extra-area"),
        ("fmvss108_red_MEMORY", "red-2-digit"),
        ("fmvss108_amber_MEMORY", "amber"),
    ] {
        let region = region(id);
        let mut inside = 0;
        for row in &rows {
            let point = possible(&locus, at(number(row, "x"), number(row, "y")));
            let found = region.contains(point);
            assert_eq!(found, row[column] == "1", "{} in {id}: {:?}", row["id"], region.signed_distance(point));
            inside += usize::from(found);
        }
        assert!(inside > 0, "{id}");
    }
}

#[test]
fn points_worked_out_by_hand_lie_where_they_should() {
    for row in table("points.csv") {
        let point = at(number(&row, "x"), number(&row, "y"));
        for (column, inside) in [("inside", true), ("outside", false)] {
            for id in row[column].split_whitespace() {
                let region = region(id);
                assert_eq!(region.contains(point), inside, "{point:?} in {id}: {:?}", region.signed_distance(point));
            }
        }
    }
}

/// Corners to the four digits that were computed elsewhere, and the wavelength of those on the locus to 0.1 nm.
#[test]
fn corners_are_where_the_edges_meet() {
    let locus = Locus::cie_1931();
    for row in table("corners.csv") {
        let region = region(&row["region"]);
        let corner = at(number(&row, "x"), number(&row, "y"));
        let nearest = region.border().map(|(from, _, _)| from).min_by(|one, other| {
            let distance = |point: &Chromaticity| point.distance(corner).value();
            distance(one).total_cmp(&distance(other))
        });
        let nearest = nearest.unwrap();
        let off = (nearest.x - corner.x).abs().max((nearest.y - corner.y).abs());
        assert!(off <= 0.5e-4 + 1e-9, "{off:e} at {nearest:?}: {row:?}");
        if !row["nm"].is_empty() {
            let pure = |off: f64| locus.at(wayproof::units::Wavelength::new(number(&row, "nm") + off)).unwrap();
            let span = pure(-0.06).distance(pure(0.06)).value();
            let ends = [pure(-0.06), pure(0.06)].map(|end| end.distance(nearest).value());
            assert!(ends[0] <= span && ends[1] <= span, "{row:?}");
        }
    }
}

/// What a document writes as inequalities, with white and signal blue as their corners turn in.
fn by_inequalities(id: &str, Chromaticity { x, y }: Chromaticity) -> bool {
    match id {
        "red-2-digit" => y <= 0.33 && y >= 0.98 - x,
        "red-3-digit" => y <= 0.335 && y >= 0.98 - x,
        "red-extra-area" => (0.32..=0.34).contains(&y) && x >= 0.62,
        "red-widened" => by_inequalities("red-2-digit", at(x, y)) || by_inequalities("red-extra-area", at(x, y)),
        "amber" => y >= 0.39 && y >= 0.79 - 0.67 * x && y <= x - 0.12,
        "amber-1968" => (0.398..=0.429).contains(&y) && 1.0 - x - y <= 0.007,
        "white-2-digit" => {
            let low = (0.05 + 0.75 * x).min(0.38);
            (0.31..=0.5).contains(&x) && y <= 0.15 + 0.64 * x && y <= 0.44 && y >= low
        }
        "white-3-digit" => {
            let low = (0.05 + 0.75 * x).min(0.382);
            (0.31..=0.5).contains(&x) && y <= 0.15 + 0.64 * x && y <= 0.44 && y >= low
        }
        "blue-restricted-2-digit" => y <= 0.07 + 0.81 * x && x <= 0.40 - y && x <= 0.13 + 0.60 * y,
        "blue-r65" => y <= 0.065 + 0.805 * x && x <= 0.400 - y && x <= 0.133 + 0.600 * y,
        "signal-blue-2020" => y <= 0.280 && x <= (0.400 - y).max(0.160) && x <= 0.133 + 0.600 * y,
        "signal-blue-before-2020" => y <= 0.320 && x <= (0.40 - y).max(0.16) && x <= 0.130 + 0.600 * y,
        "green-2-digit" => y <= 0.73 - 0.73 * x && x <= 0.63 * y - 0.04 && y >= 0.50 - 0.50 * x,
        "blue-green-2020" => y >= 0.320 && x <= 0.200 && y <= 0.500 - 0.500 * x,
        "selective-yellow" => {
            let sides = y <= 1.290 * x - 0.100 && y >= 0.138 + 0.580 * x;
            sides && y >= 0.440 && y >= 0.940 - x
        }
        "aviation-red" => y <= 0.335 && 1.0 - x - y <= 0.002,
        "aviation-green" => x <= 0.440 - 0.320 * y && x <= y - 0.170 && y >= 0.390 - 0.170 * x,
        other => panic!("no inequalities for {other}"),
    }
}

fn agrees(point: Chromaticity, locus: &Locus) {
    for region in all() {
        let found = region.signed_distance(point);
        // On an edge the last bit of a sum decides.
        if found.distance.value().abs() > 1e-7 && locus.beyond(point).is_none() {
            assert_eq!(found.distance.value() > 0.0, by_inequalities(&region.id, point), "{point:?} in {}", region.id);
        }
    }
}

#[test]
fn a_fine_grid_lies_as_the_inequalities_say() {
    let locus = Locus::cie_1931();
    let step = |at: u32| f64::from(at) * 0.0073 + 0.0011;
    for x in 0..102 {
        for y in 0..116 {
            agrees(at(step(x), step(y)), &locus);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn any_light_lies_as_the_inequalities_say(x in 0.0..0.75_f64, y in 0.0..0.85_f64) {
        agrees(at(x, y), &Locus::cie_1931());
    }
}

#[test]
fn every_region_says_where_it_comes_from_and_none_is_better_known_than_its_edges() {
    let regions = shipped();
    assert_eq!(regions.len(), 15);
    for known in &regions {
        let straight = known.region.edges().iter().zip(&known.edges);
        assert_eq!(known.region.edges().len(), known.edges.len(), "{}", known.region.id);
        assert!(known.edges.iter().all(|cite| cite.basis <= known.basis()), "{}", known.region.id);
        assert!(straight.filter(|(edge, _)| matches!(edge.path, Path::Straight(_))).count() >= 1);
        assert_ne!(known.basis(), Basis::Read, "nobody here has read all edges of `{}`", known.region.id);
    }
    let basis = |id: &str| regions.iter().find(|known| known.region.id == id).unwrap().basis();
    assert_eq!(basis("red-2-digit"), Basis::SecondHand);
    assert_eq!(basis("blue-r65"), Basis::Memory);
    assert_eq!(basis("signal-blue-before-2020"), Basis::Memory);
    assert_eq!(own().iter().map(|known| known.basis()).max(), Some(Basis::Read));
}

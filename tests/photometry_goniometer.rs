//! Goniometer angles against values computed outside, and against each other.

// A test may fail loudly.

use glam::DVec3;
use wayproof::photometry::{Direction, Frame, Goniometer, Zero};
use wayproof::units::Degrees;

/// tests/reference/photometry/README.md says where the values come from.
const TRANSFORMS: &str = include_str!("reference/photometry/goniometer_transforms.csv");

const HUNG: Goniometer = Goniometer::Hung { turned: Degrees::ZERO };
const FACE_DOWN: Goniometer = Goniometer::FaceDown { turned: Degrees::ZERO };

fn degrees((first, second): (Degrees, Degrees)) -> (f64, f64) {
    (first.value(), second.value())
}

/// The printed values have nine decimals; half of the last one is rounding.
fn close(found: f64, wanted: f64) -> bool {
    (found - wanted).abs() <= 1e-9
}

fn rows() -> Vec<Vec<f64>> {
    let lines = TRANSFORMS.lines().skip(1);
    lines.map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect()).collect()
}

#[test]
fn transforms_meet_the_reference_to_1e_9_degrees() {
    let rows = rows();
    assert_eq!(rows.len(), 144);
    for row in rows {
        let [h, v, x, y, z, b_h, b_v, c, gamma, face_c, face_gamma] = row[..] else { panic!("{row:?}") };
        let direction = Direction::from_h_v(Degrees::new(h), Degrees::new(v));
        assert!((direction.vector() - DVec3::new(x, y, z)).length() < 2e-12, "{row:?}");
        for (goniometer, wanted) in [
            (Goniometer::VerticalAxis, (h, v)),
            (Goniometer::HorizontalAxis, (b_h, b_v)),
            (HUNG, (c, gamma)),
            (FACE_DOWN, (face_c, face_gamma)),
        ] {
            let found = degrees(goniometer.angles(direction));
            assert!(close(found.0, wanted.0) && close(found.1, wanted.1), "{goniometer:?} {found:?} {row:?}");
            let back = goniometer.direction(Degrees::new(found.0), Degrees::new(found.1));
            assert!((back.vector() - direction.vector()).length() < 1e-14, "{goniometer:?} {row:?}");
        }
    }
}

#[test]
fn type_a_to_hung_type_c_is_relabelling() {
    // C = (360 - H) mod 360, gamma = 90 + V.
    for (h, v) in [(0.0, 0.0), (20.0, 5.0), (-90.0, -10.0), (135.0, 60.0), (180.0, 0.0)] {
        let direction = Direction::from_h_v(Degrees::new(h), Degrees::new(v));
        let (c, gamma) = degrees(HUNG.angles(direction));
        assert!(close(c, (360.0 - h) % 360.0) && close(gamma, 90.0 + v), "{h} {v} {c} {gamma}");
    }
}

#[test]
fn right_at_a_pole_the_turning_angle_is_zero() {
    let toward = |x, y, z| Direction::new(DVec3::new(x, y, z)).unwrap();
    for (goniometer, pole, second) in [
        (HUNG, toward(-0.0, -0.0, -1.0), 0.0),
        (HUNG, toward(1e-17, -1e-17, 3.0), 180.0),
        (FACE_DOWN, toward(1.0, -0.0, -0.0), 0.0),
        (Goniometer::VerticalAxis, toward(-0.0, 0.0, 1.0), 90.0),
    ] {
        assert_eq!(degrees(goniometer.angles(pole)), (0.0, second), "{goniometer:?}");
    }
    assert_eq!(degrees(Goniometer::HorizontalAxis.angles(toward(-0.0, 1.0, 0.0))), (-90.0, 0.0));
}

#[test]
fn no_direction_without_a_length() {
    assert_eq!(Direction::new(DVec3::ZERO), None);
    assert_eq!(Direction::new(DVec3::new(f64::NAN, 0.0, 1.0)), None);
    assert_eq!(Direction::new(DVec3::new(f64::INFINITY, 0.0, 1.0)), None);
    assert_eq!(Direction::new(DVec3::new(0.0, 0.0, 5.0)).unwrap().vector(), DVec3::Z);
}

#[test]
fn frames_and_places_of_c0_are_words() {
    for frame in Frame::ALL {
        assert_eq!(Frame::parse(frame.name()), Some(frame));
    }
    for zero in Zero::ALL {
        assert_eq!(Zero::parse(zero.name()), Some(zero));
    }
    assert_eq!(Frame::parse("A"), None);
    assert_eq!(Zero::parse("front"), None);
}

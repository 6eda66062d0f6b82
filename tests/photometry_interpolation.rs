//! Laws that interpolation in a grid keeps, on grids of many shapes.

// A test may fail loudly.

use std::fmt::Write as _;

use proptest::prelude::*;
use wayproof::photometry::{Direction, Distribution, Frame, Goniometer, Zero, read_grid, read_lm63};
use wayproof::units::{Candela, Degrees};

/// Ascending angles from steps: regular where all steps are equal.
fn angles(start: f64, steps: &[f64]) -> Vec<f64> {
    let mut angles = vec![start];
    angles.extend(steps.iter().scan(start, |angle, step| {
        *angle += step;
        Some(*angle)
    }));
    angles
}

fn axis(start: f64, end: f64, most: usize) -> impl Strategy<Value = Vec<f64>> {
    let step = (end - start) / 20.0;
    let uneven = prop::collection::vec(step * 0.1..step, 1..most);
    let even = (step * 0.1..step, 1..most).prop_map(|(step, count)| vec![step; count]);
    prop_oneof![uneven, even].prop_map(move |steps| angles(start, &steps))
}

/// Rows of V with the values of all H.
#[derive(Clone, Debug)]
struct Table {
    h: Vec<f64>,
    v: Vec<f64>,
    rows: Vec<Vec<f64>>,
}

fn table() -> impl Strategy<Value = Table> {
    (axis(-80.0, 80.0, 18), axis(-40.0, 40.0, 18)).prop_flat_map(|(h, v)| {
        let rows = prop::collection::vec(prop::collection::vec(0.0..50_000.0, h.len()), v.len());
        rows.prop_map(move |rows| Table { h: h.clone(), v: v.clone(), rows })
    })
}

impl Table {
    fn read(&self, frame: Frame) -> Distribution {
        let mut text = "V\\H".to_owned();
        self.h.iter().for_each(|h| write!(text, ",{h}").unwrap());
        for (v, row) in self.v.iter().zip(&self.rows) {
            write!(text, "\n{v}").unwrap();
            row.iter().for_each(|value| write!(text, ",{value}").unwrap());
        }
        read_grid(text.as_bytes(), Some(frame)).unwrap().distribution
    }

    fn scaled(&self, by: f64) -> Self {
        let rows = self.rows.iter().map(|row| row.iter().map(|value| value * by).collect()).collect();
        Self { rows, ..self.clone() }
    }

    fn mirrored(&self) -> Self {
        let turned = |numbers: &[f64]| numbers.iter().rev().copied().collect::<Vec<_>>();
        let h = turned(&self.h).iter().map(|h| -h).collect();
        Self { h, v: self.v.clone(), rows: self.rows.iter().map(|row| turned(row)).collect() }
    }
}

fn goniometer(frame: Frame) -> Goniometer {
    if frame == Frame::HorizontalAxis { Goniometer::HorizontalAxis } else { Goniometer::VerticalAxis }
}

fn at(distribution: &Distribution, frame: Frame, h: f64, v: f64) -> Option<f64> {
    distribution.at(goniometer(frame).direction(Degrees::new(h), Degrees::new(v))).map(Candela::value)
}

fn frames() -> impl Strategy<Value = Frame> {
    prop_oneof![Just(Frame::VerticalAxis), Just(Frame::HorizontalAxis)]
}

/// A place within the table: which cell, and how far into it.
fn within(axis: &[f64], place: f64) -> f64 {
    let (first, last) = (axis[0], axis[axis.len() - 1]);
    first + (last - first) * place
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1.0)
}

proptest! {
    #[test]
    fn values_at_the_measured_directions_are_met_exactly(table in table(), frame in frames()) {
        let distribution = table.read(frame);
        for (v, row) in table.v.iter().zip(&table.rows) {
            for (h, value) in table.h.iter().zip(row) {
                prop_assert_eq!(at(&distribution, frame, *h, *v), Some(*value), "H {} V {}", h, v);
            }
        }
        prop_assert_eq!(distribution.nodes().count(), table.h.len() * table.v.len());
        for (direction, value) in distribution.nodes() {
            prop_assert_eq!(distribution.at(direction), Some(value));
        }
    }

    /// The formula again, written apart: the cell is searched from the start, the weights are areas.
    #[test]
    fn between_them_it_is_bilinear(table in table(), frame in frames(), across in 0.0..1.0, along in 0.0..1.0) {
        let (h, v) = (within(&table.h, across), within(&table.v, along));
        let cell = |axis: &[f64], angle: f64| (1..axis.len()).find(|at| angle <= axis[*at]).unwrap();
        let (i, j) = (cell(&table.h, h), cell(&table.v, v));
        let (left, right) = (h - table.h[i - 1], table.h[i] - h);
        let (below, above) = (v - table.v[j - 1], table.v[j] - v);
        let sum = table.rows[j][i] * left * below
            + table.rows[j][i - 1] * right * below
            + table.rows[j - 1][i] * left * above
            + table.rows[j - 1][i - 1] * right * above;
        let wanted = sum / ((left + right) * (below + above));
        let found = at(&table.read(frame), frame, h, v).unwrap();
        prop_assert!(close(found, wanted), "{} {}", found, wanted);
    }

    #[test]
    fn it_scales_with_the_values(table in table(), frame in frames(), across in 0.0..1.0, along in 0.0..1.0) {
        let (h, v) = (within(&table.h, across), within(&table.v, along));
        let once = at(&table.read(frame), frame, h, v).unwrap();
        let double = at(&table.scaled(2.0).read(frame), frame, h, v).unwrap();
        prop_assert_eq!(2.0 * once, double);
        let third = at(&table.scaled(1.0 / 3.0).read(frame), frame, h, v).unwrap();
        prop_assert!(close(once / 3.0, third));
    }

    #[test]
    fn a_mirrored_table_gives_mirrored_light(table in table(), frame in frames(), across in 0.0..1.0, along in 0.0..1.0) {
        let (h, v) = (within(&table.h, across), within(&table.v, along));
        let (plain, mirrored) = (table.read(frame), table.mirrored().read(frame));
        let pair = (at(&plain, frame, h, v), at(&mirrored, frame, -h, v));
        prop_assert!(close(pair.0.unwrap(), pair.1.unwrap()), "{:?}", pair);
    }

    #[test]
    fn it_stays_between_least_and_greatest_and_ends_at_the_edge(table in table(), frame in frames(), h in -180.0..180.0, v in -89.0..89.0) {
        let distribution = table.read(frame);
        let (h, v) = if frame == Frame::HorizontalAxis { (h / 2.0, v * 2.0) } else { (h, v) };
        let inside = |axis: &[f64], angle: f64| (axis[0]..=axis[axis.len() - 1]).contains(&angle);
        let found = at(&distribution, frame, h, v);
        prop_assert_eq!(found.is_some(), inside(&table.h, h) && inside(&table.v, v));
        if let Some(found) = found {
            let all = table.rows.iter().flatten().copied();
            let (least, most) = all.fold((f64::MAX, 0.0), |(least, most): (f64, f64), value| (least.min(value), most.max(value)));
            prop_assert!(found >= least * (1.0 - 1e-12) && found <= most * (1.0 + 1e-12));
            prop_assert_eq!(distribution.peak(), Some(Candela::new(most)));
        }
    }

    /// Type C with each mirror: the same light in C and in its mirror images.
    #[test]
    fn symmetric_planes_give_the_same_light(values in prop::collection::vec(1.0..9000.0, 12), c in 0.0..360.0, gamma in 0.0..90.0) {
        let words: Vec<String> = values.iter().map(f64::to_string).collect();
        let read = |h: &str| {
            let text = format!("IESNA:LM-63-2002\nTILT=NONE\n1 -1 1 3 4 1 2 0 0 0\n1 1 1\n0 30 90\n{h}\n{}\n", words.join("\n"));
            read_lm63(text.as_bytes(), Some(Frame::BeamAxis), Some(Zero::Up)).unwrap().distribution
        };
        let light = |distribution: &Distribution, c: f64| {
            let face_down = Goniometer::FaceDown { turned: Degrees::ZERO };
            distribution.at(face_down.direction(Degrees::new(c), Degrees::new(gamma))).map(Candela::value).unwrap()
        };
        let half = read("0 50 130 180");
        prop_assert!(close(light(&half, c), light(&half, 360.0 - c)));
        let sideways = read("90 140 220 270");
        prop_assert!(close(light(&sideways, c), light(&sideways, 180.0 - c)));
        prop_assert!(close(light(&sideways, c), light(&half, c - 90.0)));
        let quarter = read("0 20 70 90");
        prop_assert!(close(light(&quarter, c), light(&quarter, 360.0 - c)));
        prop_assert!(close(light(&quarter, c), light(&quarter, 180.0 - c)));
    }
}

#[test]
fn right_on_the_edge_is_data_and_a_hair_outside_is_none() {
    let distribution =
        read_grid::<Candela>(b"V\\H,-30,30\n-7,1,1\n7,1,1\n", Some(Frame::VerticalAxis)).unwrap().distribution;
    let at = |h, v| at(&distribution, Frame::VerticalAxis, h, v);
    for (h, v) in [(-30.0, -7.0), (30.0, 7.0), (30.0 + 5e-10, 0.0), (-30.0 - 5e-10, 0.0), (0.0, 7.0 + 5e-10)] {
        assert_eq!(at(h, v), Some(1.0), "{h} {v}");
    }
    for (h, v) in [(30.0 + 1e-8, 0.0), (-30.0 - 1e-8, 0.0), (0.0, 7.0 + 1e-8), (0.0, -7.0 - 1e-8), (180.0, 0.0)] {
        assert_eq!(at(h, v), None, "{h} {v}");
    }
}

#[test]
fn the_angles_for_a_report_are_the_lamps_own_whatever_the_frame() {
    let distribution = read_grid::<Candela>(b"V\\H,0\n0,1\n", Some(Frame::HorizontalAxis)).unwrap().distribution;
    let direction = Direction::new(glam::DVec3::new(1.0, -1.0, 1.0)).unwrap();
    let (h, v) = distribution.angles(direction);
    // By hand: 45 to the right; up by the angle whose tangent is 1/sqrt 2.
    assert!((h.value() - 45.0).abs() < 1e-12 && (v.value() - 35.264_389_682_754_654).abs() < 1e-12, "{h:?} {v:?}");
}

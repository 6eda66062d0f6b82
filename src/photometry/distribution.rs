//! How much light a lamp sends which way: a grid of measured values, or a declared figure.
//!
//! Between measured directions the values are interpolated bilinearly in the file's own two angles.
//! Outside them there is no data, which is neither zero nor the value at the edge.

use std::marker::PhantomData;

use super::error::Note;
use super::frame::{Direction, Goniometer, once_round};
use crate::units::{Candela, Degrees, OpticalPower};

/// Angles nearer than this (degrees) are the same: rounding in the turn to the file's frame must neither
/// throw a direction over the edge of the data nor ask for a neighbour that it does not need.
const SAME: f64 = 1e-9;

/// More values than this in one file are a mistake: a quarter of a degree over the whole sphere takes a million.
pub(super) const MOST_VALUES: usize = 2_000_000;

/// What a distribution can hold: luminous intensity, or the optical power of one flash pattern.
pub trait Light: Copy {
    /// The unit in a table's header.
    const UNIT: &'static str;
    /// From a number in that unit.
    fn from_number(number: f64) -> Self;
}

impl Light for Candela {
    const UNIT: &'static str = "cd";
    fn from_number(number: f64) -> Self {
        Self::new(number)
    }
}

impl Light for OpticalPower {
    const UNIT: &'static str = "cd.s/min";
    fn from_number(number: f64) -> Self {
        Self::new(number)
    }
}

/// The light of one lamp by direction. Cheap to ask, and it never changes.
#[derive(Clone, Debug, PartialEq)]
pub struct Distribution<Q = Candela> {
    shape: Shape,
    quantity: PhantomData<Q>,
}

#[derive(Clone, Debug, PartialEq)]
enum Shape {
    Grid(Grid),
    Declared { axis: f64, exponent: f64, reach: f64 },
}

/// Why a declared figure is none.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum DeclaredError {
    /// The figure on the axis is not a positive intensity.
    #[error("the intensity on the axis must be above 0 cd")]
    Axis,
    /// The half-angle cannot be one.
    #[error("the half-angle (from the axis to half the intensity) must lie between 0 and 90 deg")]
    HalfAngle,
}

impl Distribution<Candela> {
    /// What a cut sheet gives: intensity on the axis, and the angle from the axis to half of it.
    ///
    /// `I = I0 cos^m`, `m = ln 0.5 / ln cos(half-angle)`, the usual shape of a diffuse source (practice);
    /// no data past twice the half-angle, nor behind the lamp. An estimate, and to be shown as one.
    pub fn declared(axis: Candela, half_angle: Degrees) -> Result<Self, DeclaredError> {
        let (axis, half) = (axis.value(), half_angle.value());
        if !(axis.is_finite() && axis > 0.0) {
            return Err(DeclaredError::Axis);
        }
        if !(half > 0.0 && half < 90.0) {
            return Err(DeclaredError::HalfAngle);
        }
        let exponent = 0.5f64.ln() / half.to_radians().cos().ln();
        // Below about 1e-8 degrees the cosine is 1 and the exponent has no value.
        if !exponent.is_finite() {
            return Err(DeclaredError::HalfAngle);
        }
        let shape = Shape::Declared { axis, exponent, reach: (2.0 * half).min(90.0) };
        Ok(Self { shape, quantity: PhantomData })
    }
}

impl<Q: Light> Distribution<Q> {
    pub(super) fn new(grid: Grid) -> Self {
        Self { shape: Shape::Grid(grid), quantity: PhantomData }
    }

    /// The light in a direction of the lamp's frame; `None` where there is no data.
    pub fn at(&self, direction: Direction) -> Option<Q> {
        match &self.shape {
            Shape::Grid(grid) => grid.at(direction),
            Shape::Declared { axis, exponent, reach } => {
                let unit = direction.vector();
                let off = unit.y.hypot(unit.z).atan2(unit.x);
                (off.to_degrees() <= reach + SAME).then(|| axis * off.cos().max(0.0).powf(*exponent))
            }
        }
        .map(Q::from_number)
    }

    /// The lamp's own H and V in a direction, for a report: always about the vertical axis.
    pub fn angles(&self, direction: Direction) -> (Degrees, Degrees) {
        direction.h_v()
    }

    /// How the file numbers directions; `None` for a declared figure.
    pub fn goniometer(&self) -> Option<Goniometer> {
        match &self.shape {
            Shape::Grid(grid) => Some(grid.goniometer),
            Shape::Declared { .. } => None,
        }
    }

    /// The greatest value in the data; `None` where all of it is holes.
    pub fn peak(&self) -> Option<Q> {
        match &self.shape {
            Shape::Grid(grid) => grid.values.iter().copied().filter(|value| !value.is_nan()).reduce(f64::max),
            Shape::Declared { axis, .. } => Some(*axis),
        }
        .map(Q::from_number)
    }

    /// The directions of the file's own values, with these; holes are left out. None for a declared figure.
    pub fn nodes(&self) -> impl Iterator<Item = (Direction, Q)> + '_ {
        let grid = match &self.shape {
            Shape::Grid(grid) => Some(grid),
            Shape::Declared { .. } => None,
        };
        grid.into_iter().flat_map(Grid::nodes).map(|(direction, value)| (direction, Q::from_number(value)))
    }
}

/// What the tabulated planes say about the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Symmetry {
    /// Nothing: what is not tabulated is not known.
    None,
    /// The light is the same in all planes.
    Rotational,
    /// The half circle from the first plane is mirrored in that plane.
    Half,
    /// The quarter circle from plane 0 is mirrored in the planes 0 and 90.
    Quarter,
    /// Left mirrors right.
    LeftRight,
}

/// Values over the two angles of a goniometer.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Grid {
    pub goniometer: Goniometer,
    pub symmetry: Symmetry,
    pub first: Axis,
    pub second: Axis,
    /// All second angles of the first plane, then of the next; NaN is a hole.
    pub values: Vec<f64>,
}

impl Grid {
    fn at(&self, direction: Direction) -> Option<f64> {
        let (first, second) = self.goniometer.angles(direction);
        let (plane, across) = self.first.locate(self.fold(first.value()))?;
        let (row, along) = self.second.locate(second.value())?;
        let mut sum = 0.0;
        for (plane, weight) in [(plane, 1.0 - across), (plane + 1, across)] {
            for (row, share) in [(row, 1.0 - along), (row + 1, along)] {
                let weight = weight * share;
                // A corner without weight may be a hole, or beyond the last plane.
                if weight > 0.0 {
                    sum += weight * self.value(plane, row)?;
                }
            }
        }
        (!sum.is_nan()).then_some(sum)
    }

    fn value(&self, plane: usize, row: usize) -> Option<f64> {
        self.values.get(plane * self.second.nodes.len() + row).copied()
    }

    /// The plane, among those tabulated, that holds the same light.
    fn fold(&self, angle: f64) -> f64 {
        let start = self.first.nodes.first().copied().unwrap_or(0.0);
        match self.symmetry {
            Symmetry::None => angle,
            Symmetry::Rotational => start,
            Symmetry::LeftRight => angle.abs(),
            Symmetry::Half => start + fold_half(angle - start),
            Symmetry::Quarter => {
                let half = fold_half(angle);
                half.min(180.0 - half)
            }
        }
    }

    fn nodes(&self) -> impl Iterator<Item = (Direction, f64)> + '_ {
        let pairs =
            self.first.nodes.iter().flat_map(|first| self.second.nodes.iter().map(move |second| (first, second)));
        pairs.zip(&self.values).filter(|(_, value)| !value.is_nan()).map(|((first, second), value)| {
            (self.goniometer.direction(Degrees::new(*first), Degrees::new(*second)), *value)
        })
    }

    /// All values that the planes give for one and the same direction (straight down, the beam axis of a
    /// face-down lamp, ...): angle there, least and greatest value.
    fn poles(&self) -> Vec<(f64, f64, f64)> {
        let by_second = !matches!(self.goniometer, Goniometer::HorizontalAxis);
        let (axis, ends) = match self.goniometer {
            Goniometer::VerticalAxis => (&self.second, [-90.0, 90.0]),
            Goniometer::HorizontalAxis => (&self.first, [-90.0, 90.0]),
            Goniometer::Hung { .. } | Goniometer::FaceDown { .. } => (&self.second, [0.0, 180.0]),
        };
        let mut found = Vec::new();
        for end in ends {
            let Some(at) = axis.nodes.iter().position(|node| (node - end).abs() <= SAME) else { continue };
            let others = if by_second { self.first.nodes.len() } else { self.second.nodes.len() };
            let values =
                (0..others).filter_map(|other| if by_second { self.value(other, at) } else { self.value(at, other) });
            let (least, most) = values
                .filter(|value| !value.is_nan())
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), value| (least.min(value), most.max(value)));
            if least <= most {
                found.push((end, least, most));
            }
        }
        found
    }
}

/// Repeats the first plane a full turn later where the planes stop short of it by no more than their widest step.
/// Says whether it did.
pub(super) fn close_circle(planes: &mut Vec<f64>, values: &mut Vec<f64>, rows: usize) -> bool {
    let (Some(first), Some(last)) = (planes.first().copied(), planes.last().copied()) else { return false };
    let widest = planes.iter().zip(planes.iter().skip(1)).map(|(a, b)| b - a).fold(0.0, f64::max);
    let gap = first + 360.0 - last;
    if gap <= 0.0 || gap > widest + 1e-9 {
        return false;
    }
    planes.push(first + 360.0);
    values.extend_from_within(..rows.min(values.len()));
    true
}

/// Straight down (or along the beam) is one direction, and the planes should agree about it.
pub(super) fn note_poles(grid: &Grid, notes: &mut Vec<Note>) {
    for (angle, least, most) in grid.poles() {
        if most - least > 1e-9 * most {
            let message = format!(
                "at {angle} deg all planes meet in one direction, but give {least} to {most}; there the value of plane 0 is used"
            );
            notes.push(Note::new(None, message));
        }
    }
}

/// 0 to 360 mirrored in the plane 0-180.
fn fold_half(angle: f64) -> f64 {
    let round = once_round(angle);
    if round > 180.0 { 360.0 - round } else { round }
}

/// The tabulated angles in one direction, ascending.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Axis {
    nodes: Vec<f64>,
    /// The angle turns through the full circle, so that 350 is -10.
    around: bool,
    /// Nodes per degree, where they are evenly spaced.
    per_degree: Option<f64>,
}

impl Axis {
    /// `nodes` must ascend; the readers see to that.
    pub(super) fn new(nodes: Vec<f64>, around: bool) -> Self {
        let per_degree = match nodes.as_slice() {
            [first, second, ..] => {
                let step = second - first;
                // Against the first node, so that small differences cannot add up to a whole step.
                let even = (0u32..).zip(&nodes).all(|(at, node)| (first + f64::from(at) * step - node).abs() <= SAME);
                (even && step > 1e3 * SAME).then_some(step.recip())
            }
            _ => None,
        };
        Self { nodes, around, per_degree }
    }

    /// The node at or below an angle, and the way to the next one (0 up to, not including, 1).
    fn locate(&self, angle: f64) -> Option<(usize, f64)> {
        let (first, last) = (*self.nodes.first()?, *self.nodes.last()?);
        let mut angle = angle;
        if self.around {
            angle = first + once_round(angle - first);
            if angle > last + SAME && angle - 360.0 >= first - SAME {
                angle = first;
            }
        }
        // Written so that NaN is outside.
        if !(angle >= first - SAME && angle <= last + SAME) {
            return None;
        }
        let low = self.below(angle.clamp(first, last));
        let from = *self.nodes.get(low)?;
        let Some(to) = self.nodes.get(low + 1).copied() else { return Some((low, 0.0)) };
        if angle - from <= SAME {
            Some((low, 0.0))
        } else if to - angle <= SAME {
            Some((low + 1, 0.0))
        } else {
            Some((low, (angle - from) / (to - from)))
        }
    }

    /// Index of the last node not above an angle within the axis.
    fn below(&self, angle: f64) -> usize {
        let Some((rate, first)) = self.per_degree.zip(self.nodes.first()) else {
            return self.nodes.partition_point(|node| *node <= angle).saturating_sub(1);
        };
        // The angle is not below the first node, and `as` holds what is too large at the end.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let guess = (((angle - first) * rate) as usize).min(self.nodes.len().saturating_sub(1));
        // Rounding can put the guess one off on either side.
        if self.nodes.get(guess).is_some_and(|node| *node > angle) {
            guess.saturating_sub(1)
        } else if self.nodes.get(guess + 1).is_some_and(|node| *node <= angle) {
            guess + 1
        } else {
            guess
        }
    }
}

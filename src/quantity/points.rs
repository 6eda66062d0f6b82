//! What arrives point by point and head by head, of the heads that count: for drawings and tables beside a finding. The
//! sums are those that the quantities in `optical.rs` judge.

use super::{Ask, bearing, counting, points};
use crate::measure::{LitHead, Sample, Survey};
use crate::units::{Degrees, OpticalPower};

/// The points that are asked about, and what each head that counts gives there.
#[derive(Debug)]
pub struct ByHead<'s, 'a> {
    /// The points, in the order of the zone (of all zones where none is asked about).
    pub bearings: Vec<Degrees>,
    /// Heads in the order of the package, each with one sample a point.
    pub heads: Vec<(&'s LitHead<'a>, Vec<Sample>)>,
}

/// Looks at the points of `ask` from one elevation: a place in [`Survey::elevations`].
pub fn by_head<'s, 'a>(survey: &'s Survey<'a>, ask: &Ask<'_>, elevation: usize) -> ByHead<'s, 'a> {
    let points: Vec<usize> = points(survey, ask).collect();
    let samples = |lit: &LitHead<'_>| points.iter().map(|at| lit.at(elevation, *at)).collect();
    ByHead {
        bearings: points.iter().map(|at| bearing(survey, *at)).collect(),
        heads: counting(survey, ask).into_iter().map(|lit| (lit, samples(lit))).collect(),
    }
}

impl ByHead<'_, '_> {
    /// The samples at one point, head by head.
    pub fn at(&self, point: usize) -> impl Iterator<Item = Sample> {
        self.heads.iter().map(move |(_, samples)| samples.get(point).copied().unwrap_or(Sample::NoData))
    }

    /// What is known to arrive at a point: a lower bound where [`ByHead::lacks_data`].
    pub fn at_least(&self, point: usize) -> OpticalPower {
        self.at(point).map(Sample::at_least).sum()
    }

    /// Whether it is not known of some head what it gives there.
    pub fn lacks_data(&self, point: usize) -> bool {
        self.at(point).any(|sample| sample == Sample::NoData)
    }
}

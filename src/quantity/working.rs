//! What a value is made of, head by head, for `explain`.

use crate::measure::Sample;
use crate::package::Grade;
use crate::units::Degrees;

/// What a value is made of, for `explain`.
#[derive(Clone, Debug, Default)]
pub struct Working {
    /// Heads that contribute, strongest first; their shares add up to the value.
    pub parts: Vec<Part>,
    /// Heads that do not count here, and why.
    pub left_out: Vec<(String, String)>,
    /// Further lines.
    pub lines: Vec<String>,
    /// A plot in characters, printed as it is.
    pub plot: Vec<String>,
}

/// One head's part in a sum.
#[derive(Clone, Debug)]
pub struct Part {
    /// The head.
    pub head: String,
    /// Its colour.
    pub colour: String,
    /// Where it is strongest among the points looked at.
    pub bearing: Degrees,
    /// And the elevation there.
    pub elevation: Degrees,
    /// The head's own H and V towards that point.
    pub lamp: (Degrees, Degrees),
    /// Its intensity there, in candela, where the data are candela.
    pub intensity: Option<f64>,
    /// Mean level over the period.
    pub on_fraction: f64,
    /// What it adds, in the base unit of the quantity.
    pub adds: f64,
    /// At how many points it is lit, hidden, behind its plane, without data.
    pub points: PointCount,
    /// Its evidence.
    pub evidence: Grade,
    /// The report it stands in.
    pub report: Option<String>,
}

/// Points of a head by what arrives there.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PointCount {
    /// Light arrives (or would, were the figure above zero).
    pub lit: usize,
    /// The body stands in between.
    pub hidden: usize,
    /// Behind the mounting plane.
    pub behind: usize,
    /// Outside the data.
    pub no_data: usize,
}

impl PointCount {
    pub(crate) fn add(&mut self, sample: Sample) {
        match sample {
            Sample::Power(_) => self.lit += 1,
            Sample::Hidden => self.hidden += 1,
            Sample::Behind => self.behind += 1,
            Sample::NoData => self.no_data += 1,
        }
    }
}

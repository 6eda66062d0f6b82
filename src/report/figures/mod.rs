//! Drawings of one vehicle and its light, and tables of what they are drawn from: calm, readable in black and white, and
//! nothing in them moves. Each figure is what the quantities that judge give in the state that is told; nothing is
//! drawn where there are no data.
//!
//! [`Drawings`] computes the light of each way of looking once and gives the figures of each kind; one file a kind.

mod batteries;
mod bearings;
mod canvas;
mod currents;
mod labels;
mod layout;
mod polar;
mod polar_drawing;
mod round;
mod scale;
mod sound;
mod strips;
mod usage;
mod views;

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use self::views::{View, with_state};

pub(super) use self::views::whole_state;
use super::Report;
use super::paper::Figure;
use crate::judge::Finding;
use crate::measure::{Looks, Method, Survey};
use crate::ruleset::{Rule, Ruleset};

pub use bearings::{BearingTable, HeadRow};
pub use layout::{Layout, Position};
pub use polar::{OfZone, Polar, PolarPoint, Sum};
pub use round::{CENTRE, RADIUS};
pub use scale::Scale;
pub use strips::Strip;

/// A ruleset, by its place, with the light from where it looks.
type Known<'a> = (usize, Method, Rc<Looks<'a>>);

/// The figures of a report.
#[derive(Debug)]
pub struct Drawings<'a> {
    report: &'a Report<'a>,
    looks: RefCell<Vec<Known<'a>>>,
    views: OnceCell<Vec<View>>,
}

/// Quantities that add up optical power over points.
const SUMS: &[&str] = &["zone-total-optical-power", "least-point-optical-power", "least-off-plane-optical-power"];

impl<'a> Drawings<'a> {
    /// Of a report; nothing is computed before it is asked for.
    pub fn of(report: &'a Report<'a>) -> Self {
        Self { report, looks: RefCell::default(), views: OnceCell::new() }
    }

    /// Optical power against bearing: for each mode and level of which a ruleset asks sums of light in the state with the
    /// least margin, and in the states of findings that fail; then for each other mode with heads that flash, without
    /// limits.
    pub fn polars(&self) -> Vec<Polar> {
        let mut drawn = Vec::new();
        for view in self.views() {
            drawn.extend(polar::polar(self, drawn.len() + 1, view));
        }
        drawn
    }

    /// Who gives what at which bearing, for required findings on zones that fail or are open.
    pub fn bearing_tables(&self) -> Vec<BearingTable> {
        bearings::tables(self)
    }

    /// When each head is lit, in the worst state of each mode and in those of its findings on sums of light that fail.
    /// Modes without a lit head have none.
    pub fn strips(&self) -> Vec<Strip> {
        strips::strips(self)
    }

    /// Where everything is mounted: plan and elevations, and which number is which.
    pub fn layout(&self) -> Layout {
        layout::layout(self.report)
    }

    /// The current over time of each circuit whose current varies, in the worst state of its findings.
    pub fn currents(&self) -> Vec<Figure> {
        currents::currents(self.report)
    }

    /// What each battery gives in each mode; none where no supply is described.
    pub fn batteries(&self) -> Option<Figure> {
        batteries::batteries(self.report)
    }

    /// How much of its fuse and of its wire each circuit takes; none where no rule asks.
    pub fn circuit_use(&self) -> Option<Figure> {
        usage::circuit_use(self.report)
    }

    /// The level round the vehicle; soundings that are as loud everywhere share a figure.
    pub fn sound(&self) -> Vec<Figure> {
        sound::sound(self.report)
    }

    fn ruleset(&self, at: usize) -> Option<&'a Ruleset> {
        self.report.rulesets.get(at)
    }

    /// What there is to draw of the light.
    fn views(&self) -> &[View] {
        self.views.get_or_init(|| views::views(self))
    }

    /// The light from where a rule looks, computed once.
    fn looks(&self, at: usize, method: Method) -> Option<Rc<Looks<'a>>> {
        let known = |(ruleset, how, _): &&Known<'a>| *ruleset == at && *how == method;
        let found = self.looks.borrow().iter().find(known).map(|(.., looks)| looks.clone());
        if found.is_some() {
            return found;
        }
        let looks = Rc::new(Looks::new(self.report.conduct, &self.ruleset(at)?.protocol, method));
        self.looks.borrow_mut().push((at, method, looks.clone()));
        Some(looks)
    }

    fn survey(&self, ruleset: usize, method: Method, state: &[usize]) -> Option<Survey<'a>> {
        let state = self.report.conduct.space().state(state);
        Some(self.looks(ruleset, method)?.survey_in(&state))
    }

    /// The rule that a finding is on; none where it is on what several rulesets ask together.
    fn rule_of(&self, finding: &Finding) -> Option<&'a Rule> {
        let trace = finding.trace.as_ref().filter(|_| !finding.is_meeting())?;
        self.ruleset(trace.ruleset)?.rules.get(trace.rule)
    }

    /// A mode by its name.
    fn mode(&self, at: usize) -> &'a str {
        self.report.package().modes.get(at).map_or("", |mode| mode.id.as_str())
    }

    /// A level in words.
    fn level(&self, ruleset: usize, level: Option<usize>) -> String {
        let name = level.and_then(|at| self.ruleset(ruleset)?.protocol.levels.get(at));
        name.map_or("all heads together".to_owned(), |level| format!("{} level", level.name))
    }
}

/// The worse verdict first, then the smaller margin; of equals the order stays.
fn worse_first(one: &Finding, other: &Finding) -> std::cmp::Ordering {
    let margin = |finding: &Finding| finding.margin.unwrap_or(f64::NEG_INFINITY);
    other.verdict.cmp(&one.verdict).then(margin(one).total_cmp(&margin(other)))
}

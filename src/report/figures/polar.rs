//! Optical power round the vehicle: what arrives at each zone's points, and what is asked of them, in one mode, level and
//! state. `polar_drawing.rs` draws it.

use super::super::paper::Figure;
use super::polar_drawing::draw;
use super::scale::Scale;
use super::{Drawings, View};
use crate::judge::{Finding, Found, Verdict, ask_of};
use crate::measure::{Boundary, BoundaryPoints, Method, Sample, Sector, Survey};
use crate::package::{Decision, Grade};
use crate::quantity::{Ask, ByHead, DeviceAsk, Measure, Value, by_head};
use crate::ruleset::{Demand, Limit, Permitted, Require, Rule, Ruleset, Strength};
use crate::units::Degrees;

/// A plot, and what is plotted.
#[derive(Debug)]
pub struct Polar {
    /// Place of the ruleset in the report's list.
    pub ruleset: usize,
    /// Place of the mode in the package.
    pub mode: usize,
    /// Place of the level in the ruleset's list; all heads together without one.
    pub level: Option<usize>,
    /// The state, as the position of each input.
    pub state: Vec<usize>,
    /// How far from the middle figures are drawn.
    pub scale: Scale,
    /// What arrives in each zone.
    pub zones: Vec<OfZone>,
    /// The drawing.
    pub figure: Figure,
}

/// One zone of a plot; figures in cd.s/min.
#[derive(Clone, Debug)]
pub struct OfZone {
    /// Its name.
    pub name: String,
    /// Its limits, clockwise.
    pub limits: (Degrees, Degrees),
    /// Its points in the horizontal plane, clockwise.
    pub points: Vec<PolarPoint>,
    /// The least that each point has to get, where the ruleset asks for it and the limit decides.
    pub asked_of_points: Option<f64>,
    /// Some of what is known to arrive rests on an estimate.
    pub on_estimate: bool,
    /// Found and asked, rule by rule: the quantity, what it comes to in this state, what is asked.
    pub sums: Vec<Sum>,
}

/// What a rule on a zone asks, and what it gets in the state of the plot; figures in cd.s/min.
#[derive(Clone, Debug)]
pub struct Sum {
    /// The quantity's name.
    pub quantity: &'static str,
    /// What is known to be there.
    pub found: f64,
    /// What may be there at most: more than is found where data are missing.
    pub most: f64,
    /// What is asked at least; none where nobody here knows the figure.
    pub asked: Option<f64>,
    /// Whether what is asked decides anything; limits from memory may be left out.
    pub heeded: bool,
    /// Where the found figure stands.
    pub bearing: Option<Degrees>,
    /// It rests on an estimate.
    pub on_estimate: bool,
    /// What the finding on the limit says of this very figure.
    pub verdict: Option<Verdict>,
    /// What it says of another one, the worst.
    pub verdict_on_worst: Option<Verdict>,
}

impl Sum {
    /// Whether there may be more than was found.
    pub(super) fn is_bound(&self) -> bool {
        self.most > self.found
    }

    /// Whether a finding is on this figure.
    fn is_of(&self, finding: &Finding) -> bool {
        let Found::Number(number) = finding.found else { return false };
        let number = finding.unit.to_base(number);
        // Findings are freed from the last bit that a conversion of units leaves.
        let same = |figure: f64| (figure - number).abs() <= 1e-12 * number.abs();
        same(self.found) || same(self.most)
    }
}

/// One point of a plot.
#[derive(Clone, Copy, Debug)]
pub struct PolarPoint {
    /// Clockwise from straight ahead.
    pub bearing: Degrees,
    /// What is known to arrive, in cd.s/min.
    pub at_least: f64,
    /// Whether that is all of it: no head lacks data there.
    pub complete: bool,
}

/// Draws one view; nothing where the ruleset has no zones, or where nothing is asked and no head counts.
pub(super) fn polar(drawings: &Drawings<'_>, number: usize, view: &View) -> Option<Polar> {
    let ruleset = drawings.ruleset(view.ruleset)?;
    let survey = drawings.survey(view.ruleset, view.method, &view.state)?;
    let sectors = 0..ruleset.protocol.zones.sectors.len();
    let zones: Vec<OfZone> = match &view.worst {
        Some(worst) => {
            let purpose = worst.scope.purpose.as_deref();
            sectors.filter_map(|at| zone(drawings, ruleset, &survey, view, (purpose, at))).collect()
        }
        None => sectors.filter_map(|at| zone_without_limits(ruleset, &survey, at)).collect(),
    };
    if zones.is_empty() {
        return None;
    }
    let points = zones.iter().flat_map(|zone| &zone.points).map(|point| point.at_least);
    let limit = zones.iter().filter_map(|zone| zone.asked_of_points).reduce(f64::max);
    let scale = Scale::for_range(points.fold(0.0, f64::max), limit);
    let figure = draw(drawings, number, view, &zones, &scale);
    let (ruleset, mode, level) = (view.ruleset, view.mode, view.level);
    Some(Polar { ruleset, mode, level, state: view.state.clone(), scale, zones, figure })
}

/// Whether a view shows already that what a finding is on falls short. Guarded, a figure below what is asked need not: only
/// that of the finding itself surely does.
pub(super) fn falls_short(drawings: &Drawings<'_>, view: &View, finding: &Finding) -> bool {
    let guarded = drawings.report.package().decision == Decision::Guarded;
    let is_short = |sum: &Sum| {
        let below = sum.heeded && sum.asked.is_some_and(|asked| sum.most < asked);
        sum.quantity == finding.quantity && (sum.is_of(finding) || below && !guarded)
    };
    let short = || {
        let ruleset = drawings.ruleset(view.ruleset)?;
        let survey = drawings.survey(view.ruleset, view.method, &view.state)?;
        let sectors = &ruleset.protocol.zones.sectors;
        let at = sectors.iter().position(|sector| finding.scope.zone.as_ref() == Some(&sector.name))?;
        let zone = zone(drawings, ruleset, &survey, view, (finding.scope.purpose.as_deref(), at))?;
        Some(zone.sums.iter().any(is_short))
    };
    short().unwrap_or_default()
}

/// Where it is open to whom the points on a dividing line belong they are drawn with both zones.
fn boundary(ruleset: &Ruleset) -> Boundary {
    if ruleset.protocol.zones.boundary_points == BoundaryPoints::First { Boundary::First } else { Boundary::Both }
}

/// A zone with none of its figures yet.
fn empty(sector: &Sector) -> OfZone {
    OfZone {
        name: sector.name.clone(),
        limits: (sector.from, sector.to),
        points: Vec::new(),
        asked_of_points: None,
        on_estimate: false,
        sums: Vec::new(),
    }
}

/// Puts in what arrives at each point. Where nobody says which colours count, nothing is known.
fn fill(zone: &mut OfZone, by_head: &ByHead<'_, '_>, colours_known: bool) {
    let point = |(at, bearing): (usize, &Degrees)| PolarPoint {
        bearing: *bearing,
        at_least: by_head.at_least(at).value(),
        complete: colours_known && !by_head.lacks_data(at),
    };
    zone.points = by_head.bearings.iter().enumerate().map(point).collect();
    let gives = |samples: &[Sample]| samples.iter().any(|sample| sample.at_least().value() > 0.0);
    zone.on_estimate =
        by_head.heads.iter().any(|(lit, samples)| lit.emitter.evidence.grade == Grade::Estimate && gives(samples));
}

/// A zone of a mode of which nothing is asked: all warning heads that flash, whatever they show; none where there are
/// none.
fn zone_without_limits(ruleset: &Ruleset, survey: &Survey<'_>, at: usize) -> Option<OfZone> {
    let sector = ruleset.protocol.zones.sectors.get(at)?;
    let ask = Ask {
        purpose: None,
        leads_to: None,
        level: None,
        zone: Some(at),
        boundary: boundary(ruleset),
        permitted: None,
        with_uncertainty: false,
        device: DeviceAsk { ruleset: &ruleset.id, ..DeviceAsk::default() },
        listen: None,
        item: None,
    };
    let by_head = by_head(survey, &ask, 0);
    let mut found = empty(sector);
    fill(&mut found, &by_head, true);
    (!by_head.heads.is_empty()).then_some(found)
}

/// The finding on a limit, in whatever state it is worst.
fn finding_on<'d>(drawings: &Drawings<'d>, ruleset: &Ruleset, rule: &Rule, limit: &Limit) -> Option<&'d Finding> {
    let level = limit.level.and_then(|at| ruleset.protocol.levels.get(at)).map(|level| level.name.as_str());
    let zone = limit.zone.and_then(|at| ruleset.protocol.zones.sectors.get(at)).map(|sector| sector.name.as_str());
    drawings.report.judged.findings.iter().find(|finding| {
        let scope = &finding.scope;
        let place = (scope.purpose.as_deref(), scope.level.as_deref(), scope.zone.as_deref());
        (&finding.ruleset, &finding.rule) == (&ruleset.id, &rule.id) && place == (limit.purpose.as_deref(), level, zone)
    })
}

/// The limits that a ruleset puts on sums of light there, each with its rule.
fn limits<'r>(
    ruleset: &'r Ruleset,
    (purpose, level, zone): (Option<&'r str>, Option<usize>, usize),
    method: Method,
) -> impl Iterator<Item = (&'r Rule, &'r Limit)> {
    let of_light = move |rule: &&Rule| {
        let asks = rule.require == Require::AtLeast && rule.strength == Strength::Required;
        super::SUMS.contains(&rule.quantity.name) && asks && rule.method == method
    };
    let here = move |limit: &&Limit| {
        let place = (limit.purpose.as_deref(), limit.level, limit.zone);
        place == (purpose, level, Some(zone)) && limit.colour.is_none()
    };
    let rules = ruleset.rules.iter().filter(of_light);
    rules.flat_map(move |rule| rule.limits.iter().filter(here).map(move |limit| (rule, limit)))
}

fn zone(
    drawings: &Drawings<'_>,
    ruleset: &Ruleset,
    survey: &Survey<'_>,
    view: &View,
    (purpose, at): (Option<&str>, usize),
) -> Option<OfZone> {
    let zones = &ruleset.protocol.zones;
    let sector = zones.sectors.get(at)?;
    let decision = drawings.report.package().decision;
    let mut found = empty(sector);
    for (rule, limit) in limits(ruleset, (purpose, view.level, at), view.method) {
        let permitted = ruleset.permitted_by(limit);
        let ask = |boundary| ask_of(ruleset, rule, limit, boundary, permitted.list(), decision);
        if found.points.is_empty() {
            let by_head = by_head(survey, &ask(boundary(ruleset)), 0);
            fill(&mut found, &by_head, permitted != Permitted::Unknown);
        }
        let Measure::Light { measure, .. } = rule.quantity.measure else { continue };
        let asked = match limit.demand {
            Demand::Number(number) => Some(rule.unit.to_base(number)),
            _ => None,
        };
        let heeded = drawings.report.judged.terms.heeds(limit);
        if rule.quantity.name == "least-point-optical-power" {
            found.asked_of_points = asked.filter(|_| heeded).or(found.asked_of_points);
        }
        let readings = zones.boundary_points.readings().iter();
        let measured = readings.flat_map(|boundary| measure(survey, &ask(*boundary)));
        let sums = measured.filter_map(|one| match one.value {
            Value::Number { low, high, .. } => Some(Sum {
                quantity: rule.quantity.name,
                found: low,
                most: if permitted == Permitted::Unknown { f64::INFINITY } else { high },
                asked,
                heeded,
                bearing: one.witness.bearing,
                on_estimate: one.evidence == Some(Grade::Estimate),
                verdict: None,
                verdict_on_worst: None,
            }),
            _ => None,
        });
        let least = sums.reduce(|least, one| if one.found < least.found { one } else { least });
        found.sums.extend(least.map(|mut sum| {
            let finding = finding_on(drawings, ruleset, rule, limit);
            let of_mode =
                |finding: &&Finding| finding.trace.as_ref().is_some_and(|trace| trace.mode == Some(view.mode));
            if finding.filter(of_mode).is_some_and(|finding| sum.is_of(finding)) {
                sum.verdict = finding.map(|finding| finding.verdict);
            } else {
                sum.verdict_on_worst = finding.map(|finding| finding.verdict);
            }
            sum
        }));
    }
    (!found.points.is_empty()).then_some(found)
}

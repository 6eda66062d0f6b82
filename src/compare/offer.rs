//! What each of several offers comes to, figure by figure. Nothing is weighed against another and no lamps are counted:
//! who decides sees each figure, and where one is not known, why.

use std::collections::BTreeSet;

use super::extent::extents;
use super::margins::{margins, worst};
use super::power::power_rows;
use crate::judge::{APPLIES, Finding, Judged, Verdict};
use crate::measure::Conduct;
use crate::package::Grade;
use crate::ruleset::Strength;

/// One offer, judged.
#[derive(Clone, Copy, Debug)]
pub struct Offer<'a> {
    /// The vehicle.
    pub conduct: &'a Conduct<'a>,
    /// What was found.
    pub judged: &'a Judged,
}

/// Which findings a row hangs on.
type Asked<'f> = &'f dyn Fn(&Finding) -> bool;

impl<'a> Offer<'a> {
    /// The rulesets that are not for this vehicle, by id: they leave most of it unjudged.
    pub fn unfit(&self) -> Vec<&'a str> {
        let unfit = self.judged.findings.iter().filter(|finding| finding.rule == APPLIES);
        unfit.filter(|finding| finding.verdict != Verdict::Pass).map(|finding| finding.ruleset.as_str()).collect()
    }
}

/// What a row speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Findings by verdict.
    Findings,
    /// The worst margin of each zone.
    Margins,
    /// What a single failure takes.
    Failures,
    /// Currents and batteries.
    Power,
    /// How well the light is known.
    Evidence,
}

impl Part {
    /// Every part, in the order in which they are told, with its heading.
    pub const ALL: [(Self, &'static str); 5] = [
        (Self::Findings, "Findings"),
        (Self::Margins, "Worst margin of what each zone requires"),
        (Self::Failures, "When one thing fails"),
        (Self::Power, "Supply"),
        (Self::Evidence, "What the light of the lamps is known from (lights in use)"),
    ];
}

/// Which figure of a row is the better one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Better {
    /// The greatest.
    More,
    /// The least.
    Less,
}

/// How the figures of a row are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A number of things.
    Count,
    /// A margin, as the finding has it.
    Margin,
    /// A figure with its unit.
    In(&'static str),
}

impl Shape {
    /// A figure as it is read: figures that read alike are alike, whatever stands behind their last digit.
    fn rounded(self, value: f64) -> f64 {
        let to = |step: f64| (value / step).round() * step;
        match self {
            Self::Count => value,
            // Margins are written in per cent, below ten with one digit behind the point.
            Self::Margin if value.abs() < 0.1 => to(1e-3),
            Self::Margin | Self::In(_) => to(1e-2),
        }
    }
}

/// What one offer comes to in one row.
#[derive(Clone, Debug)]
pub struct Cell<'a> {
    /// The figure; none where nothing can be said.
    pub value: Option<f64>,
    /// The finding that it is taken from.
    pub finding: Option<&'a Finding>,
    /// At which voltage it holds, where that matters.
    pub at: Option<String>,
    /// Why it is not known, or not for sure.
    pub open: Option<String>,
    /// No other offer is better here, and all are known.
    pub best: bool,
}

impl<'a> Cell<'a> {
    /// A figure that is known.
    pub(super) fn known(value: f64) -> Self {
        Self { value: Some(value), finding: None, at: None, open: None, best: false }
    }

    /// Nothing, and why.
    pub(super) fn open(why: impl Into<String>) -> Self {
        Self { value: None, finding: None, at: None, open: Some(why.into()), best: false }
    }

    /// What a finding says that does not pass is the best of nothing.
    fn passes(&self) -> bool {
        self.finding.is_none_or(|finding| finding.verdict == Verdict::Pass)
    }

    /// A count.
    fn count(things: usize) -> Self {
        // Far fewer than a number can hold.
        Self::known(u32::try_from(things).map_or(f64::INFINITY, f64::from))
    }
}

/// One row: a figure of every offer.
#[derive(Clone, Debug)]
pub struct OfferRow<'a> {
    /// What it speaks of.
    pub part: Part,
    /// What the figure is.
    pub name: String,
    /// Which is better; none where neither is.
    pub better: Option<Better>,
    /// How it is written.
    pub shape: Shape,
    /// One an offer.
    pub cells: Vec<Cell<'a>>,
}

impl<'a> OfferRow<'a> {
    /// A row with the best of it marked, ties too: only where every figure is known and they differ.
    pub(super) fn new(
        part: Part,
        name: impl Into<String>,
        shape: Shape,
        better: Option<Better>,
        mut cells: Vec<Cell<'a>>,
    ) -> Self {
        let known = cells.iter().map(|cell| cell.value.filter(|_| cell.open.is_none())).collect::<Option<Vec<f64>>>();
        // Less fails is still a fail, and what rests on an estimate may be less good than any other.
        let estimated = cells.iter().any(|cell| cell.finding.is_some_and(Finding::on_estimate));
        // Twice the flashes that are asked for are no better than just enough.
        let is_light = |cell: &Cell<'_>| cell.finding.is_none_or(|finding| finding.unit.dimension().is_light());
        let comparable = !estimated && (shape != Shape::Margin || cells.iter().all(is_light));
        if let (Some(better), Some(values), true) = (better, known, comparable) {
            let (least, greatest) = values
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), one| (low.min(*one), high.max(*one)));
            let best = if better == Better::More { greatest } else { least };
            let near = |one: f64, other: f64| shape.rounded(one) == shape.rounded(other);
            if !near(least, greatest) {
                for cell in &mut cells {
                    cell.best = cell.passes() && cell.value.is_some_and(|value| near(value, best));
                }
            }
        }
        Self { part, name: name.into(), better, shape, cells }
    }

    /// A row that hangs on findings, `of_it` those of each offer: less that is judged is not better, so nothing is
    /// marked where a ruleset does not fit one of the offers, or other rules were judged for one than for another.
    pub(super) fn judged(
        (part, name): (Part, impl Into<String>),
        shape: Shape,
        better: Option<Better>,
        mut cells: Vec<Cell<'a>>,
        (offers, of_it): (&[Offer<'a>], Asked<'_>),
    ) -> Self {
        let unfit: Vec<Vec<&str>> = offers.iter().map(Offer::unfit).collect();
        let judged = offers.iter().map(|offer| {
            let all = offer.judged.findings.iter().filter(|finding| of_it(finding));
            all.filter(|finding| finding.verdict != Verdict::NotApplicable).map(question).collect::<BTreeSet<_>>()
        });
        let judged: Vec<BTreeSet<Question<'_>>> = judged.collect();
        let alike = unfit.iter().all(Vec::is_empty) && judged.windows(2).all(|pair| pair.first() == pair.last());
        for ((cell, unfit), judged) in cells.iter_mut().zip(&unfit).zip(&judged) {
            if shape != Shape::Count && !unfit.is_empty() && judged.is_empty() {
                cell.open = Some(format!("{} does not fit it", unfit.join(", ")));
            }
        }
        Self::new(part, name, shape, better.filter(|_| alike), cells)
    }
}

/// What is asked in one place: the ruleset, the rule, and the purpose, level and zone. How many heads it is asked of is
/// no matter.
type Question<'f> = (&'f str, &'f str, Option<&'f str>, Option<&'f str>, Option<&'f str>);

fn question(finding: &Finding) -> Question<'_> {
    let scope = &finding.scope;
    let (purpose, level) = (scope.purpose.as_deref(), scope.level.as_deref());
    (&finding.ruleset, &finding.rule, purpose, level, scope.zone.as_deref())
}

/// All rows, in the order of their parts; the order of the offers orders the cells and nothing else.
pub fn offer_rows<'a>(offers: &[Offer<'a>]) -> Vec<OfferRow<'a>> {
    let mut rows = counts(offers);
    rows.extend(margins(offers));
    rows.extend(failures(offers));
    rows.extend(power_rows(offers));
    rows.extend(evidence(offers));
    // Whoever is asked in fewer states is not better by that.
    if !extents(offers).is_empty() {
        rows.iter_mut().flat_map(|row| &mut row.cells).for_each(|cell| cell.best = false);
    }
    rows
}

pub(super) fn required<'a>(offer: &Offer<'a>) -> impl Iterator<Item = &'a Finding> + use<'a> {
    offer.judged.findings.iter().filter(|finding| finding.strength == Strength::Required)
}

fn counts<'a>(offers: &[Offer<'a>]) -> Vec<OfferRow<'a>> {
    let row = |name: &str, better: Option<Better>, count: &dyn Fn(&Offer<'a>) -> usize| {
        let cells = offers.iter().map(|offer| Cell::count(count(offer))).collect();
        let strength = if name.starts_with("advice") { Strength::Advice } else { Strength::Required };
        let of_it = |finding: &Finding| finding.strength == strength;
        OfferRow::judged((Part::Findings, name), Shape::Count, better, cells, (offers, &of_it))
    };
    let less = Some(Better::Less);
    // Fewer fails say nothing where more is not shown.
    let open = |counts: &crate::judge::Counts| counts.not_shown + counts.too_close > 0;
    let settled =
        |of: fn(&Judged) -> &crate::judge::Counts| less.filter(|_| !offers.iter().any(|offer| open(of(offer.judged))));
    let (required, advice) = (settled(|judged| &judged.summary.required), settled(|judged| &judged.summary.advice));
    let mut rows = vec![
        row("required: pass", None, &|offer| offer.judged.summary.required.pass),
        none_over_zero(row("required: fail", required, &|offer| offer.judged.summary.required.fail)),
        row("required: not shown", less, &|offer| offer.judged.summary.required.not_shown),
        row("required: too close", less, &|offer| offer.judged.summary.required.too_close),
        row("required: excepted in writing", less, &|offer| offer.judged.summary.required.excepted),
        row("required: resting on an estimate", required, &|offer| offer.judged.summary.required.on_estimate),
        row("required: on a limit from memory", None, &|offer| offer.judged.summary.required.on_memory),
        row("required: not applicable", None, &|offer| offer.judged.summary.required.not_applicable),
        none_over_zero(row("advice: fail", advice, &|offer| offer.judged.summary.advice.fail)),
        row("advice: not shown", less, &|offer| offer.judged.summary.advice.not_shown),
    ];
    if offers.iter().any(|offer| !offer.unfit().is_empty()) {
        rows.push(row("rulesets that do not fit the vehicle", None, &|offer| offer.unfit().len()));
    }
    rows
}

/// Fewer fails than another has are fails all the same.
fn none_over_zero(mut row: OfferRow<'_>) -> OfferRow<'_> {
    row.cells.iter_mut().for_each(|cell| cell.best &= cell.value == Some(0.0));
    row
}

/// Names in the order in which they are met first, sorted so that the order of the offers does not matter.
pub(super) fn met<T: Ord>(names: impl Iterator<Item = T>) -> Vec<T> {
    names.collect::<std::collections::BTreeSet<T>>().into_iter().collect()
}

/// What a single failure leaves dark, and the margin of the totals that are left.
fn failures<'a>(offers: &[Offer<'a>]) -> Vec<OfferRow<'a>> {
    let signals = [
        ("signal-with-one-head-dark", "points that one dark head leaves without a signal"),
        ("signal-with-one-circuit-dark", "points that one dark circuit leaves without a signal"),
        ("signal-with-one-output-dark", "points that one dark output leaves without a signal"),
    ];
    let mut rows = Vec::new();
    for (quantity, says) in signals {
        for purpose in purposes_of(offers, quantity) {
            let cells = offers.iter().map(|offer| most_lost(of_quantity(offer, quantity, &purpose))).collect();
            let name = format!("{purpose}: {says}, in the worst zone");
            let of_it = |finding: &Finding| is_of_quantity(finding, quantity, &purpose);
            let (what, shape) = ((Part::Failures, name), Shape::In("points"));
            rows.push(OfferRow::judged(what, shape, Some(Better::Less), cells, (offers, &of_it)));
        }
    }
    let quantity = "zone-total-with-one-head-dark";
    for purpose in purposes_of(offers, quantity) {
        let cells = offers.iter().map(|offer| worst(of_quantity(offer, quantity, &purpose))).collect();
        let name = format!("{purpose}: margin of the totals with one head dark");
        let of_it = |finding: &Finding| is_of_quantity(finding, quantity, &purpose);
        let (what, shape) = ((Part::Failures, name), Shape::Margin);
        rows.push(OfferRow::judged(what, shape, Some(Better::More), cells, (offers, &of_it)));
    }
    rows
}

fn of_quantity<'a>(offer: &Offer<'a>, quantity: &str, purpose: &str) -> impl Iterator<Item = &'a Finding> {
    offer.judged.findings.iter().filter(move |finding| is_of_quantity(finding, quantity, purpose))
}

fn is_of_quantity(finding: &Finding, quantity: &str, purpose: &str) -> bool {
    finding.quantity == quantity && finding.scope.purpose.as_deref().unwrap_or(ANY_PURPOSE) == purpose
}

/// How rules are called that speak of no purpose.
const ANY_PURPOSE: &str = "any use";

fn purposes_of(offers: &[Offer<'_>], quantity: &str) -> Vec<String> {
    let of_it = offers.iter().flat_map(|offer| &offer.judged.findings).filter(|finding| finding.quantity == quantity);
    met(of_it.map(|finding| finding.scope.purpose.clone().unwrap_or_else(|| ANY_PURPOSE.to_owned())))
}

fn most_lost<'a>(findings: impl Iterator<Item = &'a Finding>) -> Cell<'a> {
    let (mut cell, mut lacking, mut any) =
        (Cell { value: None, finding: None, at: None, open: None, best: false }, 0_usize, false);
    for finding in findings.filter(|finding| finding.verdict != Verdict::NotApplicable) {
        any = true;
        match &finding.found {
            crate::judge::Found::Number(lost) if finding.verdict != Verdict::NotShown => {
                if cell.value.is_none_or(|most| *lost > most) {
                    (cell.value, cell.finding) = (Some(*lost), Some(finding));
                }
            }
            _ => lacking += 1,
        }
    }
    cell.open = match (any, lacking, cell.value) {
        (false, ..) => Some("no rule asks for it".to_owned()),
        (true, 0, _) => None,
        (true, lacking, Some(_)) => Some(format!("{lacking} not shown; the most of the others")),
        (true, lacking, None) => Some(format!("{lacking} not shown")),
    };
    cell
}

/// Lights that are shown in some state, by the grade of what is known of them. Which offer has more of a grade says
/// nothing by itself, so nothing is marked.
fn evidence<'a>(offers: &[Offer<'a>]) -> Vec<OfferRow<'a>> {
    let grades = [Grade::Laboratory, Grade::Measured, Grade::Maker, Grade::Estimate];
    let row = |name: &str, counts: &dyn Fn(Option<Grade>) -> bool| {
        let cells = offers.iter().map(|offer| Cell::count(lights(offer).filter(|grade| counts(*grade)).count()));
        OfferRow::new(Part::Evidence, name, Shape::Count, None, cells.collect())
    };
    let mut rows: Vec<OfferRow<'a>> =
        grades.iter().map(|known| row(known.word(), &|grade| grade == Some(*known))).collect();
    rows.push(row("no light is stated", &|grade| grade.is_none()));
    rows
}

/// One a head and colour that is shown: the grade of its light, none where no light is stated.
fn lights<'a>(offer: &Offer<'a>) -> impl Iterator<Item = Option<Grade>> + use<'a> {
    let package = offer.conduct.package;
    let shows = package.displays.iter().flat_map(|display| &display.shows);
    let pairs: std::collections::BTreeSet<(usize, usize)> = shows.map(|show| (show.head, show.emitter)).collect();
    pairs.into_iter().filter_map(|(head, emitter)| {
        let model = package.models.get(package.heads.get(head)?.model)?;
        let emitter = model.emitters.get(emitter)?;
        Some(emitter.light.as_ref().map(|_| emitter.evidence.grade))
    })
}

//! Which modes are drawn in which states: for each mode and level that a ruleset asks sums of light of, the state with
//! the least margin, then those of other findings that fail there alone; of any other mode the worst state of its findings on light.

use super::polar::falls_short;
use super::{Drawings, SUMS, worse_first};
use crate::judge::{Finding, Verdict, judge_within};
use crate::measure::{Conduct, Method};
use crate::quantity::{Measure, find};
use crate::ruleset::{Rule, Ruleset, Strength};

/// States that are drawn of one mode and level beside that of the least margin, each for a finding that fails there and
/// in none drawn before; `explain` tells of all others.
const MORE_STATES: usize = 3;

/// One mode and level of a ruleset in one state.
#[derive(Clone, Debug)]
pub(super) struct View {
    pub ruleset: usize,
    pub mode: usize,
    pub level: Option<usize>,
    pub method: Method,
    pub state: Vec<usize>,
    /// The finding whose worst state it is; none where no ruleset asks sums of light of the mode.
    pub worst: Option<Finding>,
    /// Whether that finding is one of the report: of a mode that is not the worst of its purpose the report has none.
    pub in_report: bool,
    /// The state in words.
    pub with: String,
}

/// What there is to draw, by ruleset, mode and level, the worst state first; then the modes of which nothing is asked.
pub(super) fn views(drawings: &Drawings<'_>) -> Vec<View> {
    let mut views: Vec<View> = Vec::new();
    for (at, ruleset) in drawings.report.rulesets.iter().enumerate() {
        let findings = drawings.report.judged.findings.iter();
        let found: Vec<View> = findings.filter_map(|finding| view(drawings, at, finding)).collect();
        let others = other_modes(drawings, (at, ruleset), &found);
        views.extend(found.into_iter().chain(others));
    }
    views.sort_by(|one, other| {
        let place = |view: &View| (view.ruleset, view.mode, view.level);
        let worse = one.worst.as_ref().zip(other.worst.as_ref()).map(|(one, other)| worse_first(one, other));
        place(one).cmp(&place(other)).then(worse.unwrap_or(std::cmp::Ordering::Equal))
    });
    let mut kept: Vec<View> = Vec::new();
    for view in views {
        let same = |known: &&View| (known.ruleset, known.mode, known.level) == (view.ruleset, view.mode, view.level);
        let drawn: Vec<&View> = kept.iter().filter(same).collect();
        let fails = view.worst.as_ref().filter(|worst| worst.verdict == Verdict::Fail);
        let is_told = |worst: &Finding| drawn.iter().any(|known| falls_short(drawings, known, worst));
        if drawn.is_empty() || fails.is_some_and(|worst| drawn.len() <= MORE_STATES && !is_told(worst)) {
            kept.push(view);
        }
    }
    kept.into_iter().chain(without_limits(drawings)).collect()
}

/// The view of a finding on a sum of light; none of any other.
fn view(drawings: &Drawings<'_>, ruleset: usize, finding: &Finding) -> Option<View> {
    let rule = drawings.rule_of(finding).filter(|rule| is_on_sums(rule))?;
    let trace = finding.trace.as_ref().filter(|trace| trace.ruleset == ruleset)?;
    Some(View {
        ruleset,
        mode: trace.mode?,
        level: rule.limits.get(trace.limit)?.level,
        method: rule.method,
        state: trace.state.clone()?,
        worst: Some(finding.clone()),
        in_report: true,
        with: with_state(drawings.report.conduct, trace.state.as_deref()?),
    })
}

fn is_on_sums(rule: &Rule) -> bool {
    SUMS.contains(&rule.quantity.name) && rule.strength == Strength::Required
}

/// The whole state that is drawn: `; with park in, all else at rest`. Nothing where the inputs are the modes alone.
pub(super) fn with_state(conduct: &Conduct<'_>, state: &[usize]) -> String {
    match whole_state(conduct, state) {
        None => String::new(),
        Some(words) if state.iter().all(|position| *position == 0) => format!("; {words}"),
        Some(words) => format!("; with {words}"),
    }
}

/// A whole state in words, `park in, all else at rest`, for what a figure was found in: a finding tells less, since it
/// holds whatever the rest is. `None` where the inputs are the modes alone.
pub(in crate::report) fn whole_state(conduct: &Conduct<'_>, state: &[usize]) -> Option<String> {
    let space = conduct.space();
    if !space.inputs().described {
        return None;
    }
    let set: Vec<(usize, usize)> = state.iter().copied().enumerate().filter(|(_, position)| *position > 0).collect();
    Some(match (set.len(), state.len()) {
        (0, _) => "all inputs at rest".to_owned(),
        (set_inputs, all) if set_inputs == all => space.words(&set),
        _ => format!("{}, all else at rest", space.words(&set)),
    })
}

/// A finding stands for the worst of the modes that serve its purpose: the others are judged by themselves.
fn other_modes(drawings: &Drawings<'_>, (at, ruleset): (usize, &Ruleset), found: &[View]) -> Vec<View> {
    let (report, conduct) = (drawings.report, drawings.report.conduct);
    let mut views = Vec::new();
    for (mode, region) in conduct.modes.iter().enumerate() {
        let purpose = report.package().modes.get(mode).and_then(|mode| mode.purpose.as_deref());
        let asks = |rule: &Rule| {
            is_on_sums(rule) && rule.limits.iter().any(|limit| purpose.is_some() && limit.purpose.as_deref() == purpose)
        };
        let drawn = found.iter().any(|view| view.mode == mode);
        // Where nothing was found of the purpose at all the ruleset does not fit the vehicle.
        let fits = found.iter().any(|view| {
            view.worst.as_ref().is_some_and(|worst| purpose.is_some() && worst.scope.purpose.as_deref() == purpose)
        });
        if drawn || !fits || region.is_empty() || !ruleset.rules.iter().any(asks) {
            continue;
        }
        let mut alone = ruleset.clone();
        alone.rules.iter_mut().filter(|rule| !is_on_sums(rule)).for_each(|rule| rule.limits.clear());
        let judged = judge_within(conduct, std::slice::from_ref(&alone), report.judged.terms, region);
        views.extend(judged.findings.into_iter().filter_map(|mut finding| {
            let of_it = purpose.is_some() && finding.scope.purpose.as_deref() == purpose;
            finding.trace.as_mut().filter(|_| of_it)?.ruleset = at;
            Some(View { mode, in_report: false, ..view(drawings, at, &finding)? })
        }));
    }
    views
}

/// Modes of which no ruleset asks sums of light, looked at as the first ruleset with zones does.
fn without_limits(drawings: &Drawings<'_>) -> Vec<View> {
    let rulesets = drawings.report.rulesets;
    let Some(ruleset) = rulesets.iter().position(|ruleset| !ruleset.protocol.zones.sectors.is_empty()) else {
        return Vec::new();
    };
    let asked = |mode: usize| {
        let purpose = drawings.report.package().modes.get(mode).and_then(|mode| mode.purpose.as_deref());
        let rules = rulesets.iter().flat_map(|ruleset| &ruleset.rules).filter(|rule| is_on_sums(rule));
        let mut limits = rules.flat_map(|rule| &rule.limits);
        purpose.is_some() && limits.any(|limit| limit.purpose.as_deref() == purpose)
    };
    let modes = (0..drawings.report.conduct.modes.len()).filter(|mode| !asked(*mode));
    let view = |mode: usize| {
        let (state, with) = state_of(drawings, mode)?;
        Some(View { ruleset, mode, level: None, method: Method::Angular, state, worst: None, in_report: false, with })
    };
    modes.filter_map(view).collect()
}

/// The worst state of any finding on the light of a mode, else its first state, with what is set beside the mode.
pub(super) fn state_of(drawings: &Drawings<'_>, mode: usize) -> Option<(Vec<usize>, String)> {
    let of_light = |finding: &&Finding| {
        let of_it = finding.trace.as_ref().is_some_and(|trace| trace.mode == Some(mode) && trace.state.is_some());
        of_it && find(finding.quantity).is_some_and(|quantity| matches!(quantity.measure, Measure::Light { .. }))
    };
    let conduct = drawings.report.conduct;
    let findings = drawings.report.judged.findings.iter().filter(of_light);
    if let Some(worst) = findings.min_by(|one, other| worse_first(one, other)) {
        let state = worst.trace.as_ref()?.state.clone()?;
        let with = with_state(conduct, &state);
        return Some((state, with));
    }
    let state = conduct.space().first(conduct.modes.get(mode)?)?;
    let with = with_state(conduct, &state);
    Some((state, with))
}

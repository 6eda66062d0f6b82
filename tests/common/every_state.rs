//! The rules on light with a number, asked of one state after the other: no state is spared, none is bounded.

use std::collections::BTreeMap;

use wayproof::judge::Verdict;
use wayproof::logic::Space;
use wayproof::measure::{Looks, Survey};
use wayproof::quantity::{Ask, DeviceAsk, Measure, Value};
use wayproof::ruleset::{Demand, Limit, Require, Rule, Ruleset, Strength};

/// What is found for one limit: the verdict, and the number in the unit of the rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    pub verdict: Verdict,
    pub number: f64,
}

/// All states of the inputs, one after the other: the place of the position of each.
pub fn every_state(space: &Space) -> Vec<Vec<usize>> {
    let mut states = vec![Vec::new()];
    for input in &space.inputs().list {
        let with = |state: &Vec<usize>, position| [state.as_slice(), &[position]].concat();
        let longer = |state| (0..input.positions.len()).map(move |position| with(state, position));
        states = states.iter().flat_map(longer).collect();
    }
    states
}

/// The worst over some states of what each limit on light comes to, by the ids of the findings; of one rule, or of all.
pub fn worst_of(
    looks: &Looks<'_>,
    ruleset: &Ruleset,
    only: Option<&str>,
    states: &[Vec<usize>],
) -> BTreeMap<String, Worst> {
    let (conduct, method) = (looks.conduct, looks.method);
    let mut worst: BTreeMap<String, Worst> = BTreeMap::new();
    for state in states {
        let mode = conduct.package.modes.iter().find(|mode| mode.when.holds(state)).expect("a mode");
        let survey = looks.survey_in(&conduct.space().state(state));
        let asked = |rule: &&Rule| {
            let asked = only.is_none_or(|only| rule.id == only);
            asked && rule.strength != Strength::Caution && !rule.quantity.each_head
        };
        for rule in ruleset.rules.iter().filter(asked).filter(|rule| rule.method == method) {
            let served = |limit: &&Limit| mode.purpose.is_some() && limit.purpose == mode.purpose;
            for limit in rule.limits.iter().filter(served) {
                let Some(found) = found(ruleset, rule, limit, &survey) else { continue };
                let known = worst.entry(id_of(ruleset, rule, limit)).or_insert(found);
                if rank(found, rule, limit) > rank(*known, rule, limit) {
                    *known = found;
                }
            }
        }
    }
    worst
}

/// The id of a finding, as reports print it.
fn id_of(ruleset: &Ruleset, rule: &Rule, limit: &Limit) -> String {
    let protocol = &ruleset.protocol;
    let level = limit.level.map(|at| protocol.levels[at].name.clone());
    let zone = limit.zone.map(|at| protocol.zones.sectors[at].name.clone());
    let place: Vec<String> = [limit.purpose.clone(), level, zone].into_iter().flatten().collect();
    format!("{}:{}@{}", ruleset.id, rule.id, place.join("/"))
}

/// What comes out in one state; where the readings of the boundary points disagree, nothing is shown.
fn found(ruleset: &Ruleset, rule: &Rule, limit: &Limit, survey: &Survey<'_>) -> Option<Worst> {
    let Measure::Light { measure, .. } = rule.quantity.measure else { return None };
    let Demand::Number(_) = limit.demand else { return None };
    let permitted = ruleset.permitted(limit.purpose.as_deref()?, limit.zone);
    let readings = ruleset.protocol.zones.boundary_points.readings();
    let readings = if rule.quantity.scope.zone { readings } else { &readings[..1] };
    let one = |boundary| {
        let (purpose, level, zone) = (limit.purpose.as_deref(), limit.level, limit.zone);
        let leads_to = limit.leads_to.as_deref();
        let ask = Ask {
            purpose,
            leads_to,
            level,
            zone,
            boundary,
            permitted: permitted.list(),
            with_uncertainty: false,
            device: DeviceAsk { terms: rule.device.as_ref(), ..DeviceAsk::default() },
            listen: None,
            item: None,
        };
        of_value(&measure(survey, &ask)[0].value, rule, limit)
    };
    let found: Vec<Worst> = readings.iter().map(|boundary| one(*boundary)).collect::<Option<_>>()?;
    let worse = |a: Worst, b: Worst| if rank(b, rule, limit) > rank(a, rule, limit) { b } else { a };
    let one_verdict = found.iter().all(|one| one.verdict == found[0].verdict);
    let worst = found.into_iter().reduce(worse)?;
    Some(if one_verdict { worst } else { Worst { verdict: Verdict::NotShown, ..worst } })
}

fn of_value(value: &Value, rule: &Rule, limit: &Limit) -> Option<Worst> {
    let (Value::Number { low, high, occurs }, Demand::Number(asked)) = (value, &limit.demand) else { return None };
    let (low, high) = (rule.unit.from_base(*low), rule.unit.from_base(*high));
    let (meets, misses) = match rule.require {
        Require::AtLeast => (low >= *asked, high < *asked),
        Require::AtMost => (high <= *asked, low > *asked),
        _ => return None,
    };
    let verdict = match (meets, misses || *occurs) {
        (true, _) => Verdict::Pass,
        (false, true) => Verdict::Fail,
        (false, false) => Verdict::NotShown,
    };
    // Of what is not sure to occur, that end is told which even so decides.
    let sure = *occurs || low >= high;
    let number = match rule.require {
        Require::AtLeast if verdict == Verdict::Fail && !sure => high,
        Require::AtLeast => low,
        _ => high,
    };
    Some(Worst { verdict, number })
}

/// A worse verdict is worse, then less room.
fn rank(worst: Worst, rule: &Rule, limit: &Limit) -> (Verdict, f64) {
    let Demand::Number(asked) = limit.demand else { unreachable!("only numbers are found") };
    let over = worst.number - asked;
    (worst.verdict, if rule.require == Require::AtLeast { -over } else { over })
}

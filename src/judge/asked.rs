//! What a limit asks of a quantity, for the judge and for whoever wants to see once more how a finding's value is made.

use super::Finding;
use crate::measure::{Boundary, Conduct, Looks, Survey};
use crate::package::Decision;
use crate::quantity::{Ask, DeviceAsk, Measure, Measured, Working, how_it_flows};
use crate::ruleset::{Limit, Rule, Ruleset};
use crate::units::Degrees;

/// What is asked of a quantity for one limit.
pub fn ask_of<'l>(
    ruleset: &'l Ruleset,
    rule: &'l Rule,
    limit: &'l Limit,
    boundary: Boundary,
    permitted: Option<&'l [String]>,
    decision: Decision,
) -> Ask<'l> {
    let class = limit.class.as_deref().map(|class| (ruleset.id.as_str(), class));
    let item = limit.item.as_deref();
    let device = DeviceAsk {
        terms: rule.device.as_ref(),
        colour: limit.colour.as_deref(),
        class,
        ruleset: &ruleset.id,
        regions: &limit.regions,
    };
    let with_uncertainty = decision == Decision::Guarded;
    let (purpose, leads_to) = (limit.purpose.as_deref(), limit.leads_to.as_deref());
    let listen = rule.listen.as_ref();
    let (level, zone) = (limit.level, limit.zone);
    Ask { purpose, leads_to, level, zone, boundary, permitted, with_uncertainty, device, listen, item }
}

/// What a finding's value is made of, measured once more in its worst state.
pub fn working(conduct: &Conduct<'_>, rulesets: &[Ruleset], finding: &Finding) -> Working {
    let made = || {
        let trace = finding.trace.as_ref()?;
        let ruleset = rulesets.get(trace.ruleset)?;
        let rule = ruleset.rules.get(trace.rule)?;
        let limit = rule.limits.get(trace.limit)?;
        let permitted = ruleset.permitted_by(limit);
        let ask = ask_of(ruleset, rule, limit, trace.boundary, permitted.list(), conduct.package.decision);
        let (survey, measured) = match rule.quantity.measure {
            Measure::Light { measure, .. } => {
                let state = conduct.space().state(trace.state.as_ref()?);
                let survey = Looks::new(conduct, &ruleset.protocol, rule.method).survey_in(&state);
                let measured = measure(&survey, &ask);
                (survey, measured)
            }
            Measure::Mounting(measure) => {
                let survey = Survey::dark(conduct.package, &ruleset.protocol, rule.method);
                let measured = measure(&survey, &ask);
                (survey, measured)
            }
            Measure::Device(measure) => {
                // One emitter is shown in several ways, and the finding is of one of them.
                let state = conduct.space().state(trace.state.as_ref()?);
                let one = |one: &Measured| {
                    let there = one.states.as_ref().is_some_and(|states| conduct.space().meet(states, &state));
                    there && one.head == finding.scope.head && one.emitter == finding.scope.emitter
                };
                let measured = measure(conduct, &ruleset.protocol, &ask).into_iter().find(one)?;
                return Some(Working { lines: measured.steps, ..Working::default() });
            }
            Measure::Power(measure) => {
                let one = |one: &Measured| one.circuit == finding.scope.circuit && one.supply == finding.scope.supply;
                let measured = measure(conduct, &ask).into_iter().find(one)?;
                return Some(how_it_flows(conduct, &ask, &measured));
            }
            Measure::Sound(measure) => {
                let scope = &finding.scope;
                let one =
                    |one: &Measured| one.sounder == scope.sounder && one.tone == scope.tone && one.place == scope.place;
                let measured = measure(conduct, &ask).into_iter().find(one)?;
                return Some(Working { lines: measured.steps, ..Working::default() });
            }
            Measure::States(_) | Measure::Stated(_) => return None,
        };
        let same = |one: &&Measured| one.head == finding.scope.head && one.emitter == finding.scope.emitter;
        let mut measured = measured.iter().find(same).or(measured.first())?.clone();
        // The place that decided, whichever end of the value it belongs to.
        measured.witness.bearing = finding.witness.bearing.map(Degrees::new);
        measured.witness.elevation = finding.witness.elevation.map(Degrees::new);
        Some((rule.quantity.working)(&survey, &ask, &measured))
    };
    made().unwrap_or_default()
}

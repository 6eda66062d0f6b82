//! How limits that meet are told: as one finding with what all of them allow together, whose notes say who asks what.

use super::{CONFLICT, Meeting, Member, NARROWED};
use crate::judge::compare::compare;
use crate::judge::readings::is_worse;
use crate::judge::{Finding, FindingScope, FindingWitness, Found, Together, Verdict};
use crate::package::Decision;
use crate::quantity::{Uncertainty, Value, one_thing};
use crate::ruleset::{Basis, Citation, Demand, Require, Rule, Strength};
use crate::units::{Dimension, Unit};

/// The finding on a meeting; none where what is left cannot be said as one limit, since each is judged by itself too.
pub(super) fn told(meeting: &Meeting, group: &[Member<'_>], findings: &[Finding]) -> Option<Finding> {
    let members: Vec<&Member<'_>> = meeting.deciding.iter().filter_map(|at| group.get(*at)).collect();
    let first = members.first()?;
    let unit = first.rule.unit;
    let found = members.iter().filter_map(|member| findings.get(member.at));
    let worst = found.reduce(|worst, next| if is_worse(next, worst) { next } else { worst })?;
    let level = first.limit.level.filter(|_| !first.rule.quantity.each_head);
    let scope = FindingScope {
        purpose: meeting.purpose.clone(),
        mode: worst.scope.mode.clone(),
        level: level.and_then(|at| first.ruleset.protocol.levels.get(at)).map(|level| level.name.clone()),
        zone: findings.get(first.at)?.scope.zone.clone(),
        emitter: meeting.emitter.clone(),
        item: first.limit.item.clone(),
        ..FindingScope::default()
    };
    let clash = meeting.joint.is_empty();
    let kind = if clash { CONFLICT } else { NARROWED };
    let quantity = one_thing(first.rule.quantity);
    let (require, limit) =
        if clash { (Require::Exactly, Demand::Words(Vec::new())) } else { meeting.joint.as_limit(unit)? };
    let mut asked: Vec<(&Rule, String)> = Vec::new();
    for member in &members {
        let line = asks(member);
        if !asked.iter().any(|(_, known)| *known == line) {
            asked.push((member.rule, line));
        }
    }
    let mut finding = Finding {
        id: format!("{kind}:{quantity}@{}", Finding::place(&scope)),
        rule: quantity.to_owned(),
        ruleset: kind.to_owned(),
        says: match clash {
            true => "What these rulesets ask of one place cannot be met together: the authority having jurisdiction has to say which of them counts.".to_owned(),
            false => "What these rulesets ask of one place, together: fewer values than either allows.".to_owned(),
        },
        strength: Strength::Required,
        scope,
        require,
        limit,
        verdict: if clash { Verdict::Fail } else { worst.verdict },
        source: joint_source(&members),
        together: together(&members),
        ..worst.clone()
    };
    finding.unit = unit;
    finding.witness =
        FindingWitness { head: worst.scope.head.clone().or(worst.witness.head.clone()), ..finding.witness };
    finding.found = in_unit(&worst.found, worst.unit, unit);
    finding.margin = if clash { None } else { margin(&finding) };
    finding.evidence = finding.evidence.filter(|_| !clash);
    let lines = asked.into_iter().map(|(_, line)| line);
    finding.notes = match clash {
        true => std::iter::once("no value meets all of these".to_owned()).chain(lines).collect(),
        false => worst.notes.iter().cloned().chain(lines).collect(),
    };
    if clash {
        finding.would_show = None;
    }
    Some(finding)
}

/// `zones-two-level:flash-rate asks at least 75 /min: NFPA ... [memory]`
fn asks(member: &Member<'_>) -> String {
    let Member { ruleset, rule, limit, .. } = member;
    let unit = if rule.unit.dimension() == Dimension::Words { "" } else { rule.unit.symbol() };
    let demand = format!("{} {} {unit}", rule.require.word().replace('-', " "), limit.demand.in_words());
    let (source, basis) = (limit.source.in_words(), limit.source.basis.word());
    format!("{}:{} asks {}: {source} [{basis}]", ruleset.id, rule.id, demand.trim_end())
}

/// The limits that meet, each rule's once.
fn together(members: &[&Member<'_>]) -> Vec<Together> {
    let mut together: Vec<Together> = Vec::new();
    for Member { ruleset, rule, limit, .. } in members {
        let one = Together {
            ruleset: ruleset.id.clone(),
            rule: rule.id.clone(),
            require: rule.require,
            limit: limit.demand.clone(),
            unit: rule.unit,
            source: limit.source.clone(),
        };
        if !together.contains(&one) {
            together.push(one);
        }
    }
    together
}

/// The rules that meet; known no better than the least known of them.
fn joint_source(members: &[&Member<'_>]) -> Citation {
    let mut names: Vec<String> = Vec::new();
    for member in members {
        let name = format!("{}:{}", member.ruleset.id, member.rule.id);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let basis = members.iter().map(|member| member.limit.source.basis).max().unwrap_or(Basis::Memory);
    Citation::own(format!("{} together", names.join(" and ")), basis)
}

fn in_unit(found: &Found, from: Unit, to: Unit) -> Found {
    match found {
        Found::Number(number) if from != to => Found::Number(to.from_base(from.to_base(*number))),
        found => found.clone(),
    }
}

/// The room in the joint range.
fn margin(finding: &Finding) -> Option<f64> {
    let Found::Number(found) = finding.found else { return None };
    // Where not even each limit by itself is decided, the joint one has no margin either.
    let decided = matches!(finding.verdict, Verdict::Pass | Verdict::Fail | Verdict::TooClose);
    let value = Value::exactly(finding.unit.to_base(found));
    let compared =
        compare(&value, Uncertainty::NotAsked, &finding.limit, finding.require, finding.unit, Decision::Simple);
    compared.margin.filter(|_| decided)
}

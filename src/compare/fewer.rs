//! Findings that got better only because the vehicle is asked in fewer states: a mode takes something for granted or is
//! narrower, more is said never to occur, a door that opened is no longer described. Nothing on the vehicle is better
//! by that.

use std::collections::HashMap;

use super::Move;
use super::blend::{blended, copied};
use super::changed::{Change, Difference, between};
use super::facts::{Kind, NOT_STATED, things};
use super::inputs::{are_alike, over_all};
use super::moved::{Moved, in_order};
use crate::judge::{Finding, Terms, Verdict, judge};
use crate::logic::Condition;
use crate::measure::Conduct;
use crate::package::{Body, Package};
use crate::ruleset::Ruleset;

/// Puts findings that got better by nothing else under [`Move::Fewer`]. Where it cannot be tried whether something else
/// made them better, and they are asked in fewer states, that is said of them.
pub fn in_fewer_states(
    old: &Package,
    new: &Package,
    lines: &[Difference],
    moved: &mut [Moved<'_>],
    rulesets: &[Ruleset],
    terms: Terms,
) {
    let narrowing: Vec<&Difference> = lines.iter().filter(|line| may_narrow(line)).collect();
    let better = |moved: &Moved<'_>| {
        let passes = moved.new.is_some_and(|finding| matches!(finding.verdict, Verdict::Pass | Verdict::TooClose));
        passes && matches!(moved.how, Move::Better | Move::NewlyShown)
    };
    if narrowing.is_empty() || !moved.iter().any(better) {
        return;
    }
    let shared = if are_alike(old, new) { None } else { over_all(old, new) };
    let (before, after) = shared.as_ref().map_or((old, new), |(old, new)| (old, new));
    let asked = Asked { old: &Conduct::new(before), new: &Conduct::new(after), same_inputs: are_alike(before, after) };
    let without = blended(after, before, &narrowing).filter(|without| {
        let rest = lines.iter().filter(|line| !may_narrow(line) && (shared.is_none() || line.kind != Kind::Input));
        asked.same_inputs && between(&things(before), &things(without)).iter().eq(rest)
    });
    let judged = without.map(|without| judge(&Conduct::new(&without), rulesets, terms).findings);
    let without: Option<HashMap<&str, Verdict>> =
        judged.as_ref().map(|findings| findings.iter().map(|finding| (finding.id.as_str(), finding.verdict)).collect());
    // Where only bodies are described less, those that stand there in no state more than these always do are enough.
    let only_bodies = narrowing.iter().all(|line| line.kind == Kind::Body) && !lines.iter().any(Difference::is_length);
    let always = (without.is_none() && only_bodies).then(|| {
        let package = with_bodies(new, old, &narrowing);
        let findings = judge(&Conduct::new(&package), rulesets, terms).findings;
        findings.into_iter().map(|finding| (finding.id, finding.verdict)).collect::<HashMap<String, Verdict>>()
    });
    for one in moved.iter_mut().filter(|moved| better(moved)) {
        let Some(finding) = one.new else { continue };
        let not_by_that = match (&without, &always) {
            (Some(known), _) => known.get(one.id()) == Some(&finding.verdict),
            (None, Some(known)) => known.get(one.id()) == Some(&finding.verdict),
            (None, None) => false,
        };
        let described_less = narrowing.iter().any(|line| matches!(line.kind, Kind::Body | Kind::Head));
        if !not_by_that && (described_less || asked.is_less(finding)) {
            if without.is_some() {
                one.how = Move::Fewer;
            } else {
                one.fewer_untried = true;
            }
        }
    }
    in_order(moved);
}

/// A package with bodies of another put in, as if they always stood there.
fn with_bodies(package: &Package, other: &Package, lines: &[&Difference]) -> Package {
    let mut made = copied(package);
    let named = |id: &String| lines.iter().any(|line| line.ids.contains(id));
    made.bodies.retain(|body| !named(&body.id));
    let put_in = other.bodies.iter().filter(|body| named(&body.id));
    made.bodies.extend(put_in.map(|body| Body { when: Condition::Always, ..body.clone() }));
    made
}

/// Whether a change may be one of what is asked rather than of the vehicle.
fn may_narrow(line: &Difference) -> bool {
    let gone = matches!(line.change, Change::Gone(_));
    let says = |keys: &[&str]| matches!(&line.change, Change::Says { key, .. } if keys.contains(&key.as_str()));
    match line.kind {
        Kind::Mode => gone || says(&["when", "assumed"]),
        Kind::Package => says(&["what cannot occur"]),
        // What stands there always takes light in all states, and is a part of the vehicle.
        Kind::Body => matches!(&line.change, Change::Gone(what) if !what.contains("when always")) || says(&["when"]),
        Kind::Head => matches!(&line.change, Change::Says { key, after, .. } if key == "moves" && after == NOT_STATED),
        _ => false,
    }
}

/// The states in which both are judged.
struct Asked<'c, 'p> {
    old: &'c Conduct<'p>,
    new: &'c Conduct<'p>,
    same_inputs: bool,
}

impl Asked<'_, '_> {
    /// Whether a finding is asked in fewer states than before.
    fn is_less(&self, finding: &Finding) -> bool {
        let states = |conduct: &Conduct<'_>| match &finding.scope.purpose {
            Some(purpose) => conduct.purpose(purpose),
            None => conduct.space().allowed().clone(),
        };
        let (old, new) = (states(self.old), states(self.new));
        if self.same_inputs {
            return !self.old.space().minus(&old, &new).is_empty();
        }
        self.new.space().count(&new) < self.old.space().count(&old)
    }
}

//! The least of some levels and the greatest of them are two quantities, and no range is narrowed between them: but a
//! least that is asked above the greatest that is allowed is met by nothing.

use super::telling::told;
use super::{Key, Meeting, Member, Place, add, are_apart, cells, grouped, key};
use crate::judge::Finding;
use crate::quantity::{ListenTerms, least_of};
use crate::ruleset::{Allowed, Limit, Rule, Ruleset};

/// Conflicts between what is asked of the least level and what is allowed of the greatest at one place.
pub(super) fn least_over_greatest(
    rulesets: &[Ruleset],
    findings: &[Finding],
    places: &[Option<Place>],
) -> Vec<Finding> {
    let mut made = Vec::new();
    for group in grouped(rulesets, findings, places, level_key) {
        let mut met: Vec<Meeting> = Vec::new();
        for (_, _, here) in cells(&group, findings) {
            let mut deciding: Vec<usize> = Vec::new();
            for (one, other) in here.iter().flat_map(|one| here.iter().map(move |other| (*one, *other))) {
                let pair = group.get(one).zip(group.get(other));
                if pair.is_some_and(|(least, greatest)| nothing_between(least, greatest, findings)) {
                    deciding.extend([one, other].into_iter().filter(|at| !deciding.contains(at)).collect::<Vec<_>>());
                }
            }
            if deciding.is_empty() {
                continue;
            }
            let rules =
                deciding.iter().filter_map(|at| group.get(*at)).map(|one| std::ptr::from_ref(one.rule)).collect();
            let joint = Allowed::Numbers(Vec::new());
            add(&mut met, Meeting { purpose: None, emitter: None, deciding, rules, joint, once: (true, true) });
        }
        made.extend(met.iter().filter_map(|meeting| told(meeting, &group, findings)));
    }
    made
}

/// Whether the one asks of the least level more than the other allows of the greatest, of sounders that both speak of.
fn nothing_between(least: &Member<'_>, greatest: &Member<'_>, findings: &[Finding]) -> bool {
    let is_least = |member: &Member<'_>| least_of(member.rule.quantity).is_some_and(|(_, is_least)| is_least);
    let terms = |member: &Member<'_>| member.rule.listen.clone().unwrap_or_default();
    // Both findings are on one sounder, or on the sum of those that their rules name.
    let of_one = findings.get(least.at).is_some_and(|finding| finding.scope.sounder.is_some());
    is_least(least)
        && !is_least(greatest)
        && are_apart(least, greatest)
        && (of_one || terms(greatest).covers(&terms(least)))
        && level_is_over((&least.allowed, &terms(least)), &greatest.allowed)
}

/// Whether a least level, heard so, is asked above the greatest that is allowed.
pub fn level_is_over((least, terms): (&Allowed, &ListenTerms), greatest: &Allowed) -> bool {
    let (Allowed::Numbers(asked), Allowed::Numbers(allowed)) = (least, greatest) else { return false };
    let from = asked.iter().map(|stretch| stretch.low).reduce(f64::min);
    let to = allowed.iter().map(|stretch| stretch.high).reduce(f64::max);
    let apart = |(from, to): (f64, f64)| from > to && from - to > 1e-9;
    !terms.lifts_all() && from.zip(to).is_some_and(apart)
}

/// The same for the least and the greatest of the same levels, at whichever angles and of whichever sounders.
fn level_key<'a>(ruleset: &'a Ruleset, rule: &'a Rule, limit: &'a Limit, finding: &Finding) -> Option<Key<'a>> {
    let (quantity, _) = least_of(rule.quantity)?;
    let listen = Some(rule.listen.clone().unwrap_or_default().place());
    Some(Key { quantity, listen, ..key(ruleset, rule, limit, finding) })
}

//! Where several rulesets ask one thing of one place: no value meets both, fewer values than either allows, or one asks
//! it more strictly than the other.
//!
//! Nothing is measured here. What was found for each of the limits is put together: a value meets the joint range if
//! and only if it meets every limit, so the joint verdict is the worst of theirs.

mod levels;
mod telling;

pub use levels::level_is_over;

use rustc_hash::FxHashMap;

use self::telling::told;
use super::{Finding, FindingScope, Verdict};
use crate::measure::{Boundary, Method};
use crate::quantity::{DeviceKind, DeviceTerms, ListenTerms, Measure, Quantity, least_of, one_thing};
use crate::ruleset::{Allowed, Limit, Rule, Ruleset, Strength};
use crate::units::{Degrees, Length};

/// The rule of a finding: of the ruleset in the list, of the rule in it, of the limit in that.
pub(super) type Place = (usize, usize, usize);

/// In place of a ruleset's id.
const CONFLICT: &str = "conflict";
const NARROWED: &str = "narrowed";

/// Quantities whose words each ruleset chooses for itself.
const OWN_WORDS: [&str; 3] = ["claimed-class", "sounder-class", "vehicle-class"];

/// Whether each ruleset chooses the words of a quantity for itself: then limits of two on it never meet.
pub fn has_own_words(quantity: &Quantity) -> bool {
    OWN_WORDS.contains(&quantity.name)
}

/// Whether this stands in place of a ruleset's id.
pub(super) fn is_meeting(ruleset: &str) -> bool {
    matches!(ruleset, CONFLICT | NARROWED)
}

/// One limit that was judged, with the finding on it.
struct Member<'a> {
    ruleset: &'a Ruleset,
    rule: &'a Rule,
    limit: &'a Limit,
    allowed: Allowed,
    /// The place of its finding.
    at: usize,
}

/// What must be the same for two limits to ask one thing of one place. Purposes, heads and colours are looked at apart:
/// a limit that names none speaks of all.
#[derive(PartialEq)]
struct Key<'a> {
    quantity: &'static str,
    method: Option<Method>,
    /// Where on the lamp one looks, and how; of which lamps that is asked the heads tell.
    device: DeviceTerms,
    /// Where one listens, and to what; of quantities of single sounders these tell of which kinds and tones it is asked.
    listen: Option<ListenTerms>,
    item: Option<&'a str>,
    /// Words that are a ruleset's own mean nothing to another one.
    own_words: Option<&'a str>,
    /// The band of heights, whatever it is called; of quantities of single heads the heads tell.
    band: Option<[Option<Length>; 3]>,
    /// The bearings looked at, whatever the zone is called.
    bearings: Option<Vec<Degrees>>,
    leads_to: Option<&'a str>,
    /// Light of one colour is another thing than all light.
    counted: Option<&'a str>,
}

/// Limits that meet at a place, and which of them decide there.
struct Meeting {
    purpose: Option<String>,
    emitter: Option<String>,
    /// Places in the group of those that no other one implies.
    deciding: Vec<usize>,
    /// The rules of the first of them.
    rules: Vec<*const Rule>,
    /// What all of them allow together.
    joint: Allowed,
    /// Whether one of them speaks of no purpose, and of no colour: then it is asked once for all.
    once: (bool, bool),
}

/// The findings on limits that several rulesets set together; where one asks more strictly than another, that one's
/// finding says so.
pub(super) fn meetings(rulesets: &[Ruleset], findings: &mut [Finding], places: &[Option<Place>]) -> Vec<Finding> {
    let mut made = Vec::new();
    let mut notes: Vec<(usize, String)> = Vec::new();
    for group in groups(rulesets, findings, places) {
        let mut met: Vec<Meeting> = Vec::new();
        for (purpose, emitter, here) in cells(&group, findings) {
            let deciding = deciding(&group, &here, &mut notes);
            let Some((deciding, joint)) = needed(&group, deciding) else { continue };
            if !several_voices(&group, &deciding) {
                continue;
            }
            let rules =
                deciding.iter().filter_map(|at| group.get(*at)).map(|one| std::ptr::from_ref(one.rule)).collect();
            let limits = || deciding.iter().filter_map(|at| group.get(*at)).map(|one| one.limit);
            let purpose = purpose.filter(|_| limits().any(|limit| limit.purpose.is_some()));
            let emitter = emitter.filter(|_| limits().any(|limit| limit.colour.is_some()));
            let once = (limits().any(|limit| limit.purpose.is_none()), limits().any(|limit| limit.colour.is_none()));
            add(&mut met, Meeting { purpose, emitter, deciding, rules, joint, once });
        }
        made.extend(met.iter().filter_map(|meeting| told(meeting, &group, findings)));
    }
    made.extend(levels::least_over_greatest(rulesets, findings, places));
    for (at, note) in notes {
        if let Some(finding) = findings.get_mut(at).filter(|finding| !finding.notes.contains(&note)) {
            finding.notes.push(note);
        }
    }
    made
}

/// The quantities of which several voices speak; on the others no limits meet.
fn contested(rulesets: &[Ruleset]) -> Vec<&'static str> {
    let mut voices: Vec<(&'static str, usize, Option<&str>)> = Vec::new();
    for (at, ruleset) in rulesets.iter().enumerate() {
        for rule in &ruleset.rules {
            let quantity = least_of(rule.quantity).map_or(one_thing(rule.quantity), |(least, _)| least);
            for limit in &rule.limits {
                let voice = (quantity, at, limit.source.authority.as_deref());
                if voices.last() != Some(&voice) && !voices.contains(&voice) {
                    voices.push(voice);
                }
            }
        }
    }
    let several = |quantity: &&str| voices.iter().filter(|(known, ..)| known == quantity).nth(1).is_some();
    voices.iter().map(|(quantity, ..)| *quantity).filter(several).collect()
}

/// Required limits with the same key, where more than one speaks.
fn groups<'a>(rulesets: &'a [Ruleset], findings: &[Finding], places: &[Option<Place>]) -> Vec<Vec<Member<'a>>> {
    grouped(rulesets, findings, places, |ruleset, rule, limit, finding| Some(key(ruleset, rule, limit, finding)))
}

/// Required limits with the same key, if they have one, where more than one speaks.
fn grouped<'a>(
    rulesets: &'a [Ruleset],
    findings: &[Finding],
    places: &[Option<Place>],
    key: impl Fn(&'a Ruleset, &'a Rule, &'a Limit, &Finding) -> Option<Key<'a>>,
) -> Vec<Vec<Member<'a>>> {
    let contested = contested(rulesets);
    let mut groups: Vec<(Key<'a>, Vec<Member<'a>>)> = Vec::new();
    for ((at, finding), place) in findings.iter().enumerate().zip(places) {
        let Some((ruleset, rule, limit)) = *place else { continue };
        let Some(ruleset) = rulesets.get(ruleset) else { continue };
        let Some(rule) = ruleset.rules.get(rule) else { continue };
        let Some(limit) = rule.limits.get(limit) else { continue };
        if !contested.contains(&least_of(rule.quantity).map_or(one_thing(rule.quantity), |(least, _)| least)) {
            continue;
        }
        // Of a quantity of single heads a limit without a head speaks of none.
        let of_nothing = rule.quantity.each_head && finding.scope.head.is_none();
        let not_asked = finding.verdict == Verdict::NotApplicable;
        if finding.strength != Strength::Required || of_nothing || not_asked {
            continue;
        }
        let Some(allowed) = Allowed::of(rule.require, &limit.demand, rule.unit) else { continue };
        let Some(key) = key(ruleset, rule, limit, finding) else { continue };
        let member = Member { ruleset, rule, limit, allowed, at };
        match groups.iter_mut().find(|(known, _)| *known == key) {
            Some((_, members)) => members.push(member),
            None => groups.push((key, vec![member])),
        }
    }
    let several = |members: &Vec<Member<'a>>| {
        members.split_first().is_some_and(|(first, rest)| rest.iter().any(|other| are_apart(first, other)))
    };
    groups.into_iter().map(|(_, members)| members).filter(several).collect()
}

fn key<'a>(ruleset: &'a Ruleset, rule: &'a Rule, limit: &'a Limit, finding: &Finding) -> Key<'a> {
    let zones = &ruleset.protocol.zones;
    let sector = zones.sectors.iter().find(|sector| Some(&sector.name) == finding.scope.zone.as_ref());
    let bearings = sector.map(|sector| {
        let points = sector.points(Boundary::Both).iter();
        points.filter_map(|at| zones.bearings.get(*at).copied()).collect()
    });
    let level = limit.level.filter(|_| !rule.quantity.each_head).and_then(|at| ruleset.protocol.levels.get(at));
    let band = level.map(|level| [level.from, level.above, level.to]);
    let of_sound = matches!(rule.quantity.measure, Measure::Sound(_));
    // Of which sounders a class speaks each ruleset says for itself; of single ones their ids tell.
    let of_own_class = of_sound && limit.class.is_some() && finding.scope.sounder.is_none();
    Key {
        quantity: one_thing(rule.quantity),
        method: rule.quantity.looks.then_some(rule.method),
        device: DeviceTerms { of: DeviceKind::Any, group: None, ..rule.device.clone().unwrap_or_default() },
        listen: of_sound.then(|| {
            let terms = rule.listen.clone().unwrap_or_default().spelt_out();
            match finding.scope.sounder {
                Some(_) => ListenTerms { of: Vec::new(), tones: Vec::new(), ..terms },
                None => terms,
            }
        }),
        item: limit.item.as_deref(),
        own_words: (has_own_words(rule.quantity) || of_own_class).then_some(ruleset.id.as_str()),
        band,
        bearings,
        leads_to: limit.leads_to.as_deref(),
        counted: limit.colour.as_deref().filter(|_| rule.quantity.counts_permitted),
    }
}

/// Whether two limits are by different words: of two rulesets, or of one that an overlay has changed.
fn are_apart(one: &Member<'_>, other: &Member<'_>) -> bool {
    let same_rule = std::ptr::eq(one.rule, other.rule);
    let same_word = one.limit.source.authority == other.limit.source.authority;
    !std::ptr::eq(one.ruleset, other.ruleset) || (!same_rule && !same_word)
}

/// The members of a group that speak of one purpose, one head and one colour: purpose, colour, places in the group.
type Cell = (Option<String>, Option<String>, Vec<usize>);

fn cells(group: &[Member<'_>], findings: &[Finding]) -> Vec<Cell> {
    let scopes: Vec<&FindingScope> =
        group.iter().filter_map(|member| findings.get(member.at)).map(|finding| &finding.scope).collect();
    let named = |of: fn(&FindingScope) -> &Option<String>| {
        let mut names: Vec<Option<&str>> = Vec::new();
        for name in scopes.iter().filter_map(|scope| of(scope).as_deref()) {
            if !names.contains(&Some(name)) {
                names.push(Some(name));
            }
        }
        if names.is_empty() { vec![None] } else { names }
    };
    let (purposes, emitters) = (named(|scope| &scope.purpose), named(|scope| &scope.emitter));
    // Of a quantity either every finding is on a head (a circuit, a source) or none is. Of many heads each is gone through once.
    let mut heads: Vec<Vec<usize>> = Vec::new();
    let mut places: FxHashMap<(Option<&str>, Option<&str>), usize> = FxHashMap::default();
    for (at, scope) in scopes.iter().enumerate() {
        let named = [&scope.head, &scope.circuit, &scope.supply, &scope.sounder, &scope.place];
        let thing = named.into_iter().find_map(Option::as_ref);
        let thing = (thing.map(String::as_str), scope.tone.as_deref());
        let place = *places.entry(thing).or_insert(heads.len());
        match heads.get_mut(place) {
            Some(members) => members.push(at),
            None => heads.push(vec![at]),
        }
    }
    let mut cells = Vec::new();
    for purpose in &purposes {
        for head in &heads {
            for emitter in &emitters {
                let speaks = |its: &Option<String>, asked: Option<&str>| its.is_none() || its.as_deref() == asked;
                let here = |at: &usize| {
                    let here =
                        |scope: &&FindingScope| speaks(&scope.purpose, *purpose) && speaks(&scope.emitter, *emitter);
                    scopes.get(*at).is_some_and(here)
                };
                let members: Vec<usize> = head.iter().copied().filter(here).collect();
                if members.len() > 1 {
                    cells.push((purpose.map(str::to_owned), emitter.map(str::to_owned), members));
                }
            }
        }
    }
    cells
}

/// Those that no other one implies; the finding of one that is asked more strictly elsewhere gets a note.
fn deciding(group: &[Member<'_>], here: &[usize], notes: &mut Vec<(usize, String)>) -> Vec<usize> {
    let mut deciding = Vec::new();
    for at in here.iter().copied() {
        let Some(one) = group.get(at) else { continue };
        // Of limits that ask the same the first stands for all.
        let stricter = here.iter().copied().filter(|other| *other != at).find(|other_at| {
            let Some(other) = group.get(*other_at) else { return false };
            let back = one.allowed.implies(&other.allowed);
            other.allowed.implies(&one.allowed) && (!back || *other_at < at)
        });
        let Some(other) = stricter.and_then(|at| group.get(at)) else {
            deciding.push(at);
            continue;
        };
        if are_apart(one, other) && !one.allowed.implies(&other.allowed) {
            let only = other.limit.purpose.as_ref().filter(|_| one.limit.purpose.is_none());
            let only = only.map(|purpose| format!(", while {purpose}")).unwrap_or_default();
            notes.push((one.at, format!("asked more strictly by {}:{}{only}", other.ruleset.id, other.rule.id)));
        }
    }
    deciding
}

/// Whether limits are by different words; those of one voice are that voice's own affair.
fn several_voices(group: &[Member<'_>], deciding: &[usize]) -> bool {
    let members = || deciding.iter().filter_map(|at| group.get(*at));
    members().any(|one| members().any(|other| are_apart(one, other)))
}

/// What all of them allow together, and those of them that make it so.
fn needed(group: &[Member<'_>], mut deciding: Vec<usize>) -> Option<(Vec<usize>, Allowed)> {
    let allowed = |at: &usize| group.get(*at).map(|one| &one.allowed);
    let together = |places: &mut dyn Iterator<Item = &usize>| {
        places.filter_map(allowed).cloned().reduce(|one, other| one.and(&other).unwrap_or(one))
    };
    let joint = together(&mut deciding.iter())?;
    if joint.is_empty() {
        // Of several those clash that have nothing in common with some other one.
        let clashes = |at: &usize| {
            deciding.iter().any(|other| together(&mut [at, other].into_iter()).is_some_and(|both| both.is_empty()))
        };
        let clashing: Vec<usize> = deciding.iter().filter(|at| clashes(at)).copied().collect();
        return Some((if clashing.is_empty() { deciding } else { clashing }, joint));
    }
    for at in deciding.clone() {
        let rest: Vec<usize> = deciding.iter().filter(|other| **other != at).copied().collect();
        if rest.len() > 1 && together(&mut rest.iter()).is_some_and(|rest| rest.implies(&joint)) {
            deciding = rest;
        }
    }
    Some((deciding, joint))
}

/// Adds a meeting; one of the same rules with the same outcome is one with it where it is asked once for all.
fn add(met: &mut Vec<Meeting>, new: Meeting) {
    let same = |known: &&mut Meeting| {
        let purpose = known.purpose == new.purpose || new.once.0;
        let emitter = known.emitter == new.emitter || new.once.1;
        purpose && emitter && known.joint == new.joint && known.once == new.once && known.rules == new.rules
    };
    match met.iter_mut().find(same) {
        Some(known) => {
            known.purpose = known.purpose.take().filter(|purpose| Some(purpose) == new.purpose.as_ref());
            known.emitter = known.emitter.take().filter(|emitter| Some(emitter) == new.emitter.as_ref());
            known.deciding.extend(new.deciding);
        }
        None => met.push(new),
    }
}

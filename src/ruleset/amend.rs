//! What an overlay does to single limits: whether a change is tighter or looser, and which of two overlays wins.
//!
//! What a law asks only a law loosens or removes; advice loosens and removes nothing that is required; of two overlays
//! that change one limit the one of higher precedence wins, and among equals the later asked.

use super::allowed::Allowed;
use super::limits::Scope;
use super::{Citation, Demand, Limit, Overlaid, Require, Rule, Ruleset, Strength};
use crate::measure::Protocol;
use crate::units::Unit;

/// How much the word of an overlay counts against that of another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Precedence {
    /// A recommendation.
    Advice,
    /// What a buyer and a builder agreed.
    Contract,
    /// A published standard.
    Standard,
    /// A law, or an order by one.
    Law,
}

/// The words for [`Precedence`].
pub const PRECEDENCES: &[(&str, Precedence)] = &[
    ("law", Precedence::Law),
    ("standard", Precedence::Standard),
    ("contract", Precedence::Contract),
    ("advice", Precedence::Advice),
];

impl Precedence {
    /// The word in files and print.
    pub fn word(self) -> &'static str {
        PRECEDENCES.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// What became of a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Amended {
    /// It is not asked any more.
    Removed,
    /// Values meet it that did not before.
    Loosened,
    /// It asks something else, and which is stricter cannot be said: a figure was missing, or ranges cross.
    Changed,
    /// Fewer values meet it.
    Tightened,
    /// It asks the same, by another authority.
    Restated,
    /// It was not asked before.
    Added,
}

impl Amended {
    /// The word in files and print.
    pub fn word(self) -> &'static str {
        match self {
            Self::Removed => "removed",
            Self::Loosened => "loosened",
            Self::Changed => "changed",
            Self::Tightened => "tightened",
            Self::Restated => "restated",
            Self::Added => "added",
        }
    }
}

/// Where a limit holds, by the names of its ruleset.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LimitPlace {
    /// For which purpose.
    pub purpose: Option<String>,
    /// On which level.
    pub level: Option<String>,
    /// In which zone.
    pub zone: Option<String>,
    /// For emitters of which colour.
    pub colour: Option<String>,
    /// For devices of which class.
    pub class: Option<String>,
    /// About which thing a person states something.
    pub item: Option<String>,
}

impl LimitPlace {
    pub(super) fn of(scope: &Scope, protocol: &Protocol) -> Self {
        let (purpose, level, zone, colour, class, item) = scope.clone();
        let level = level.and_then(|at| protocol.levels.get(at)).map(|level| level.name.clone());
        let zone = zone.and_then(|at| protocol.zones.sectors.get(at)).map(|sector| sector.name.clone());
        Self { purpose, level, zone, colour, class, item }
    }

    /// `A calling/upper`: where in space or colour, then when; nothing for the whole vehicle.
    pub fn in_words(&self) -> String {
        let class = self.class.as_ref().map(|class| format!("class {class}"));
        let near: Vec<&str> =
            [&self.zone, &self.colour, &class, &self.item].into_iter().flatten().map(String::as_str).collect();
        let wide: Vec<&str> = [&self.purpose, &self.level].into_iter().flatten().map(String::as_str).collect();
        format!("{} {}", near.join(" "), wide.join("/")).trim().to_owned()
    }
}

/// What an overlay did to one limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Amendment {
    /// The rule's id.
    pub rule: String,
    /// Where the limit holds.
    pub place: LimitPlace,
    /// The unit of both demands.
    pub unit: Unit,
    /// What became of it, seen from the ruleset without any overlay.
    pub kind: Amended,
    /// What the ruleset asks without any overlay.
    pub from: Option<Demand>,
    /// What the overlay asks; nothing where it removes.
    pub to: Option<Demand>,
    /// Where that comes from.
    pub source: Citation,
    /// The overlay or ruleset whose word counts more, so that this one is set aside.
    pub lost_to: Option<String>,
    pub(super) scope: Scope,
}

/// How a new demand is to an old one.
pub(super) fn direction(require: Require, unit: Unit, old: Option<&Demand>, new: Option<&Demand>) -> Amended {
    let (Some(old), Some(new)) = (old, new) else {
        return if new.is_some() { Amended::Added } else { Amended::Removed };
    };
    if old == new {
        return Amended::Restated;
    }
    let (Some(old), Some(new)) = (Allowed::of(require, old, unit), Allowed::of(require, new, unit)) else {
        return Amended::Changed;
    };
    match (new.implies(&old), old.implies(&new)) {
        (true, true) => Amended::Restated,
        (true, false) => Amended::Tightened,
        (false, true) => Amended::Loosened,
        (false, false) => Amended::Changed,
    }
}

impl Amendment {
    /// Whether it lets anything pass that did not before.
    fn gives_way(&self) -> bool {
        match self.kind {
            Amended::Removed | Amended::Loosened => true,
            // Filling in what was missing takes nothing away.
            Amended::Changed => !matches!(self.from, Some(Demand::Missing { .. })),
            Amended::Tightened | Amended::Restated | Amended::Added => false,
        }
    }
}

/// Puts `new` in the place of the limit on `scope`, or takes that away, unless a word that counts more is against it;
/// what was done goes to `overlay`.
pub(super) fn amend(ruleset: &mut Ruleset, overlay: &mut Overlaid, at: usize, scope: Scope, new: New) {
    let Ruleset { protocol, rules, overlays, precedence, id, .. } = ruleset;
    let Some(rule) = rules.get_mut(at) else { return };
    let (limit, source) = match new {
        New::Limit(limit) => {
            let source = limit.source.clone();
            (Some(*limit), source)
        }
        New::Nothing(source) => (None, source),
    };
    let held = rule.limits.iter().position(|limit| limit.scope() == scope);
    let asked = held.and_then(|held| rule.limits.get(held)).map(|limit| limit.demand.clone());
    let of_others = overlays.iter_mut().filter(|other| other.in_force);
    let mut holder = of_others
        .flat_map(|other| {
            let (precedence, id) = (other.precedence, other.id.clone());
            other.amendments.iter_mut().map(move |amendment| (precedence, id.clone(), amendment))
        })
        .find(|(_, _, done)| done.rule == rule.id && done.scope == scope && done.lost_to.is_none());
    let from = holder.as_ref().map_or(asked, |(_, _, done)| done.from.clone());
    let to = limit.as_ref().map(|limit| limit.demand.clone());
    let kind = direction(rule.require, rule.unit, from.as_ref(), to.as_ref());
    let mut amendment = amendment_on(rule, protocol, &scope, kind, source);
    (amendment.from, amendment.to) = (from, to);
    let against_law = *precedence == Precedence::Law && overlay.precedence < Precedence::Law;
    let mere_advice = overlay.precedence == Precedence::Advice && rule.strength == Strength::Required;
    amendment.lost_to = match &holder {
        Some((precedence, id, _)) if *precedence > overlay.precedence => Some(id.clone()),
        _ if (against_law || mere_advice) && amendment.gives_way() => Some(id.clone()),
        _ => None,
    };
    if amendment.lost_to.is_none() {
        if let Some((_, _, done)) = &mut holder {
            done.lost_to = Some(overlay.id.clone());
        }
        match (held, limit) {
            (Some(held), Some(limit)) => rule.limits.iter_mut().skip(held).take(1).for_each(|old| *old = limit.clone()),
            (None, Some(limit)) => rule.limits.push(limit),
            (Some(held), None) => {
                rule.limits.remove(held);
            }
            (None, None) => {}
        }
    }
    overlay.amendments.push(amendment);
}

/// What comes into the place of a limit.
pub(super) enum New {
    /// Another limit.
    Limit(Box<Limit>),
    /// Nothing, as this source says.
    Nothing(Citation),
}

/// That a whole rule was added, limit by limit, so that others may change these.
pub(super) fn added(rule: &Rule, protocol: &Protocol, overlay: &mut Overlaid) {
    for limit in &rule.limits {
        let mut amendment = amendment_on(rule, protocol, &limit.scope(), Amended::Added, limit.source.clone());
        amendment.to = Some(limit.demand.clone());
        overlay.amendments.push(amendment);
    }
}

fn amendment_on(rule: &Rule, protocol: &Protocol, scope: &Scope, kind: Amended, source: Citation) -> Amendment {
    Amendment {
        rule: rule.id.clone(),
        place: LimitPlace::of(scope, protocol),
        unit: rule.unit,
        kind,
        from: None,
        to: None,
        source,
        lost_to: None,
        scope: scope.clone(),
    }
}

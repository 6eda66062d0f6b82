//! What a change moved: findings of the same id before and after.
//!
//! A finding got better or worse by its verdict: `fail`, `too-close`, `pass`, from worst to best; what fails now is worse
//! whatever it was, but for what was not shown before: that is newly shown to fail. To `not-shown` and from it, and to `not-applicable` and from it, are said apart: neither is better or
//! worse than a verdict. So is what is excepted now, or no longer: nothing on the vehicle is good by a letter.

use std::collections::HashMap;

use crate::judge::{Finding, Found, Verdict};
use crate::ruleset::Strength;

/// How a finding moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Move {
    /// Its verdict got worse, or it fails now.
    Worse,
    /// What was missing is there now, and it fails.
    ShownToFail,
    /// It is accepted in writing only now.
    Excepted,
    /// What was accepted in writing does not need to be any more, or is too close now.
    NotExcepted,
    /// Data that it needs are missing now.
    NewlyNotShown,
    /// It is there only now.
    Appeared,
    /// It rests on weaker or stronger evidence than before, with the same verdict.
    Evidence,
    /// Its rule speaks of the vehicle only now, or no longer.
    Applies,
    /// What was missing is there now.
    NewlyShown,
    /// Its verdict got better, and only because it is asked in fewer states.
    Fewer,
    /// Its verdict got better.
    Better,
    /// It is there no longer.
    Gone,
    /// The verdict is the same, and what was found is another figure.
    Figure,
}

impl Move {
    /// Every way, in the order in which they are told.
    pub const ALL: [Self; 13] = [
        Self::Worse,
        Self::ShownToFail,
        Self::Excepted,
        Self::NotExcepted,
        Self::NewlyNotShown,
        Self::Appeared,
        Self::Evidence,
        Self::Applies,
        Self::NewlyShown,
        Self::Fewer,
        Self::Better,
        Self::Gone,
        Self::Figure,
    ];

    /// One word for files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Worse => "worse",
            Self::ShownToFail => "newly-shown-to-fail",
            Self::Excepted => "excepted-now",
            Self::NotExcepted => "no-longer-excepted",
            Self::NewlyNotShown => "newly-not-shown",
            Self::Appeared => "new",
            Self::Evidence => "other-evidence",
            Self::Applies => "other-scope",
            Self::NewlyShown => "newly-shown",
            Self::Fewer => "fewer-states",
            Self::Better => "better",
            Self::Gone => "gone",
            Self::Figure => "same-verdict",
        }
    }

    /// As a heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::Worse => "Worse",
            Self::ShownToFail => "Newly shown to fail",
            Self::Excepted => "Excepted now",
            Self::NotExcepted => "No longer excepted",
            Self::NewlyNotShown => "Newly not shown",
            Self::Appeared => "Judged only now",
            Self::Evidence => "Same verdict on other evidence",
            Self::Applies => "The rule speaks of it only now, or no longer",
            Self::NewlyShown => "Newly shown",
            Self::Fewer => "Better only because fewer states are asked",
            Self::Better => "Better",
            Self::Gone => "Judged no longer",
            Self::Figure => "Same verdict, another figure",
        }
    }
}

/// One finding before and after.
#[derive(Clone, Debug)]
pub struct Moved<'f> {
    /// How it moved.
    pub how: Move,
    /// Before, where it was there.
    pub old: Option<&'f Finding>,
    /// After, where it is there.
    pub new: Option<&'f Finding>,
    /// It got better, fewer states are asked, and whether it is only that could not be tried.
    pub fewer_untried: bool,
}

impl<'f> Moved<'f> {
    /// The later finding, or the earlier where there is no later.
    pub fn finding(&self) -> Option<&'f Finding> {
        self.new.or(self.old)
    }

    /// Its id.
    pub fn id(&self) -> &'f str {
        self.finding().map_or("", |finding| &finding.id)
    }

    /// Whether its rule decides, rather than advises.
    pub fn is_required(&self) -> bool {
        self.finding().is_some_and(|finding| finding.strength == Strength::Required)
    }

    /// How far its margin moved, as the margin is given; upwards is more room.
    pub fn by(&self) -> Option<f64> {
        let margin = |finding: Option<&Finding>| finding.and_then(|finding| finding.margin);
        Some(margin(self.new)? - margin(self.old)?)
    }
}

/// Findings that moved: by how they moved, required ones first, then in the order in which they are judged; those of the
/// same verdict with the largest move of their margin first.
pub fn moved<'f>(old: &'f [Finding], new: &'f [Finding]) -> Vec<Moved<'f>> {
    let by_id: HashMap<&str, &Finding> = old.iter().map(|finding| (finding.id.as_str(), finding)).collect();
    let mut seen: HashMap<&str, ()> = HashMap::new();
    let mut all = Vec::new();
    for finding in new {
        seen.insert(&finding.id, ());
        match by_id.get(finding.id.as_str()) {
            None => all.push(Moved { how: Move::Appeared, old: None, new: Some(finding), fewer_untried: false }),
            Some(before) => {
                all.extend(how(before, finding).map(|how| Moved {
                    how,
                    old: Some(before),
                    new: Some(finding),
                    fewer_untried: false,
                }));
            }
        }
    }
    let gone = old.iter().filter(|finding| !seen.contains_key(finding.id.as_str()));
    all.extend(gone.map(|finding| Moved { how: Move::Gone, old: Some(finding), new: None, fewer_untried: false }));
    in_order(&mut all);
    all
}

/// As they are told: by how they moved, required ones first.
pub(super) fn in_order(all: &mut [Moved<'_>]) {
    all.sort_by(|one, other| {
        let size = |moved: &Moved<'_>| if moved.how == Move::Figure { moved.by().map_or(0.0, f64::abs) } else { 0.0 };
        let first = (one.how, !one.is_required()).cmp(&(other.how, !other.is_required()));
        first.then(size(other).total_cmp(&size(one)))
    });
}

/// From worst to best; none for what is no answer of the vehicle's own.
fn rank(verdict: Verdict) -> Option<u8> {
    match verdict {
        Verdict::Fail => Some(0),
        Verdict::TooClose => Some(1),
        Verdict::Pass => Some(2),
        Verdict::Excepted | Verdict::NotShown | Verdict::NotApplicable => None,
    }
}

/// How a finding moved; none where it says the same.
fn how(old: &Finding, new: &Finding) -> Option<Move> {
    if old.verdict != new.verdict {
        return Some(match (old.verdict, new.verdict) {
            (Verdict::NotShown, Verdict::Fail) => Move::ShownToFail,
            (_, Verdict::Fail) => Move::Worse,
            (_, Verdict::Excepted) => Move::Excepted,
            (_, Verdict::NotShown) => Move::NewlyNotShown,
            (Verdict::Excepted, _) => Move::NotExcepted,
            (Verdict::NotApplicable, _) | (_, Verdict::NotApplicable) => Move::Applies,
            (Verdict::NotShown, _) => Move::NewlyShown,
            (before, after) if rank(after) < rank(before) => Move::Worse,
            _ => Move::Better,
        });
    }
    // Where there is no verdict, nothing rests on the evidence.
    let rests = rank(new.verdict).is_some() || new.verdict == Verdict::Excepted;
    if old.evidence != new.evidence && rests {
        return Some(Move::Evidence);
    }
    (!alike(&old.found, &new.found)).then_some(Move::Figure)
}

/// The same but for what sums leave behind when they are made in another order.
pub(super) fn alike(one: &Found, other: &Found) -> bool {
    match (one, other) {
        (Found::Number(one), Found::Number(other)) => {
            one == other || (one - other).abs() <= 1e-9 * one.abs().max(other.abs())
        }
        _ => one == other,
    }
}

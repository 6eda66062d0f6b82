//! Which change moved which finding: each change is put into the old package alone, and taken out of the new one alone,
//! and both are judged again.
//!
//! A change that cannot be put in alone (other inputs, another length of the vehicle, a part that needs another) is not
//! told apart, and then nothing is said of causes that could be its.

use std::collections::HashMap;

use super::blend::blended;
use super::changed::{Difference, between};
use super::facts::{Kind, things};
use super::moved::{Moved, alike};
use crate::judge::{Finding, Terms, judge};
use crate::measure::Conduct;
use crate::package::Package;
use crate::ruleset::Ruleset;

/// With more changes than this, they are not tried one by one.
const MOST_CAUSES: usize = 40;

/// What a change has to do with a finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// No other change touches it: put in alone it moves the finding to what it is now, taken out it moves it back.
    Alone,
    /// Put in alone it already gives this verdict; others touch the finding too.
    Enough,
    /// Taken out alone, the verdict is what it was before; others touch the finding too.
    Needed,
    /// It moves the finding, though alone it does not decide.
    Touches,
}

impl Part {
    /// In words, behind the change.
    pub fn word(self) -> &'static str {
        match self {
            Self::Alone => "alone",
            Self::Enough => "enough by itself",
            Self::Needed => "not without it",
            Self::Touches => "takes part",
        }
    }
}

/// One change, and lines that can only be told together with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    /// Which lines of the differences, from 0.
    pub lines: Vec<usize>,
    /// It was put in and taken out alone.
    pub told_apart: bool,
}

/// Why a finding moved.
#[derive(Clone, Debug, PartialEq)]
pub struct Because {
    /// Which of [`Causes::list`].
    pub cause: usize,
    /// What it has to do with it.
    pub part: Part,
}

/// What moved what.
#[derive(Clone, Debug, Default)]
pub struct Causes {
    /// Every change.
    pub list: Vec<Cause>,
    /// For each finding that moved, in their order, the changes that touch it; empty where none was found to.
    pub of: Vec<Vec<Because>>,
    /// Why nothing is said of causes.
    pub silent: Option<&'static str>,
}

/// Tries each change alone. `judge` means by `rulesets`, on the day of `terms`.
pub fn causes(
    old: (&Package, &[Finding]),
    new: (&Package, &[Finding]),
    lines: &[Difference],
    moved: &[Moved<'_>],
    rulesets: &[Ruleset],
    terms: Terms,
) -> Causes {
    let mut causes = Causes { list: grouped(lines), of: vec![Vec::new(); moved.len()], silent: None };
    let of_length = |line: &Difference| line.kind == Kind::Vehicle && line.said().starts_with("length ");
    // Conditions speak of inputs by their places; in a package without a controller these are its modes.
    let inputs = |package: &Package| format!("{:?}", package.space.inputs());
    if inputs(old.0) != inputs(new.0) {
        causes.silent = Some("the inputs, or the list of modes, differ, so the changes cannot be tried one by one");
    } else if lines.iter().any(of_length) {
        causes.silent = Some("the length of the vehicle differs, so the changes cannot be tried one by one");
    } else if causes.list.len() > MOST_CAUSES {
        causes.silent = Some("there are too many changes to try them one by one");
    }
    if causes.silent.is_some() || moved.is_empty() {
        return causes;
    }
    let was: HashMap<&str, &Finding> = by_id(old.1);
    let is: HashMap<&str, &Finding> = by_id(new.1);
    let facts = (things(old.0), things(new.0));
    for (at, cause) in causes.list.iter_mut().enumerate() {
        let of_it: Vec<&Difference> = cause.lines.iter().filter_map(|line| lines.get(*line)).collect();
        let rest: Vec<&Difference> = lines.iter().filter(|line| !of_it.contains(line)).collect();
        let with = blended(old.0, new.0, &of_it).filter(|with| {
            let left = between(&things(with), &facts.1);
            left.iter().eq(rest.iter().copied())
        });
        let without = blended(new.0, old.0, &of_it).filter(|without| {
            let left = between(&facts.0, &things(without));
            left.iter().eq(rest.iter().copied())
        });
        let (Some(with), Some(without)) = (with, without) else { continue };
        cause.told_apart = true;
        let judged = |package: &Package| judge(&Conduct::new(package), rulesets, terms).findings;
        let (with, without) = (judged(&with), judged(&without));
        let (with, without) = (by_id(&with), by_id(&without));
        for (place, moved) in moved.iter().enumerate() {
            let id = moved.id();
            let put_in = !same(with.get(id), was.get(id));
            let taken_out = !same(without.get(id), is.get(id));
            let part = if same(with.get(id), is.get(id)) && same(without.get(id), was.get(id)) {
                Part::Alone
            } else if put_in && same_verdict(with.get(id), is.get(id)) && !same_verdict(was.get(id), is.get(id)) {
                Part::Enough
            } else if taken_out && same_verdict(without.get(id), was.get(id)) && !same_verdict(was.get(id), is.get(id))
            {
                Part::Needed
            } else if put_in || taken_out {
                Part::Touches
            } else {
                continue;
            };
            if let Some(of) = causes.of.get_mut(place) {
                of.push(Because { cause: at, part });
            }
        }
    }
    for of in causes.of.iter_mut().filter(|of| of.len() > 1) {
        // Where another touches it too, none of them is alone.
        of.iter_mut().filter(|because| because.part == Part::Alone).for_each(|because| because.part = Part::Enough);
    }
    causes
}

/// One cause a line; all that is wired is one, and so is what is said of one thing that is taken over as a whole.
fn grouped(lines: &[Difference]) -> Vec<Cause> {
    let mut list: Vec<Cause> = Vec::new();
    let whole = |kind: Kind| {
        kind.is_wired()
            || matches!(
                kind,
                Kind::Body | Kind::Row | Kind::Model | Kind::Mode | Kind::Pattern | Kind::Statement | Kind::Exception
            )
    };
    let hangs_together = |one: &Difference, other: &Difference| {
        let wired = one.kind.is_wired() && other.kind.is_wired();
        let same = (one.kind, &one.within) == (other.kind, &other.within)
            && whole(one.kind)
            && one.ids.iter().any(|id| other.ids.contains(id));
        wired || same
    };
    for (at, line) in lines.iter().enumerate() {
        let mut joined = Cause { lines: vec![at], told_apart: false };
        let touches = |cause: &Cause| {
            cause.lines.iter().filter_map(|known| lines.get(*known)).any(|known| hangs_together(known, line))
        };
        // A line may join several that stood apart.
        for cause in list.extract_if(.., |cause| touches(cause)) {
            joined.lines.extend(cause.lines);
        }
        joined.lines.sort_unstable();
        list.push(joined);
    }
    list
}

fn by_id(findings: &[Finding]) -> HashMap<&str, &Finding> {
    findings.iter().map(|finding| (finding.id.as_str(), finding)).collect()
}

fn same_verdict(one: Option<&&Finding>, other: Option<&&Finding>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => one.verdict == other.verdict,
        (None, None) => true,
        _ => false,
    }
}

fn same(one: Option<&&Finding>, other: Option<&&Finding>) -> bool {
    let figures = match (one, other) {
        (Some(one), Some(other)) => alike(&one.found, &other.found) && one.evidence == other.evidence,
        _ => true,
    };
    figures && same_verdict(one, other)
}

//! Which change moved which finding: each change is put into the old package alone, and taken out of the new one alone,
//! and both are judged again.
//!
//! A change that cannot be put in alone (other positions of an input, another length of the vehicle, a part that needs
//! another) is not told apart, and then nothing is said of causes that could be its. Inputs that one package alone has are
//! put into the other before anything is tried, and what that moves is charged to them.

use std::collections::HashMap;

use super::blend::blended;
use super::changed::{Difference, between};
use super::facts::{Kind, things};
use super::inputs::{are_alike, over_all};
use super::moved::{Moved, alike};
use super::wired::stands_alone;
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
    /// Every word.
    pub const ALL: [Self; 4] = [Self::Alone, Self::Enough, Self::Needed, Self::Touches];

    /// What the word says, for a legend.
    pub fn says(self) -> &'static str {
        match self {
            Self::Alone => "this change and no other moves the finding",
            Self::Enough => "put in alone, this change gives the verdict already, and others touch the finding too",
            Self::Needed => "without this change the verdict would be what it was, and others touch the finding too",
            Self::Touches => "this change moves the figure, and does not decide the verdict by itself",
        }
    }

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
    let list = grouped(lines, old.0, new.0);
    let mut causes = Causes { list, of: vec![Vec::new(); moved.len()], silent: None };
    // Conditions speak of inputs by their places.
    let shared = if are_alike(old.0, new.0) { None } else { over_all(old.0, new.0) };
    if !are_alike(old.0, new.0) && shared.is_none() {
        causes.silent = Some(
            "an input of both has other positions, or the list of modes differs, so that the states of one are not those of the other, and the changes cannot be tried one by one",
        );
    } else if lines.iter().any(Difference::is_length) {
        causes.silent = Some("the length of the vehicle differs, so the changes cannot be tried one by one");
    } else if causes.list.len() > MOST_CAUSES {
        causes.silent = Some("there are too many changes to try them one by one");
    }
    if causes.silent.is_some() || moved.is_empty() {
        return causes;
    }
    let judged = |package: &Package| judge(&Conduct::new(package), rulesets, terms).findings;
    let over = shared.as_ref().map(|(old, new)| (judged(old), judged(new)));
    let (first, last) = shared.as_ref().map_or((old.0, new.0), |(old, new)| (old, new));
    let (before, after) = over.as_ref().map_or((old.1, new.1), |(old, new)| (old, new));
    let facts = (things(first), things(last));
    // Inputs have been put in on both sides.
    let tried = |line: &&Difference| shared.is_none() || line.kind != Kind::Input;
    if !between(&facts.0, &facts.1).iter().eq(lines.iter().filter(tried)) {
        causes.silent = Some("the inputs differ, and the conditions of both cannot be held against each other");
        return causes;
    }
    let (was, is): (HashMap<&str, &Finding>, HashMap<&str, &Finding>) = (by_id(before), by_id(after));
    if shared.is_some() {
        of_inputs(&mut causes, lines, moved, (&by_id(old.1), &was), (&is, &by_id(new.1)));
    }
    for (at, cause) in causes.list.iter_mut().enumerate() {
        let of_it: Vec<&Difference> = cause.lines.iter().filter_map(|line| lines.get(*line)).collect();
        if cause.told_apart {
            continue;
        }
        let rest: Vec<&Difference> = lines.iter().filter(tried).filter(|line| !of_it.contains(line)).collect();
        let with = blended(first, last, &of_it).filter(|with| {
            let left = between(&things(with), &facts.1);
            left.iter().eq(rest.iter().copied())
        });
        let without = blended(last, first, &of_it).filter(|without| {
            let left = between(&facts.0, &things(without));
            left.iter().eq(rest.iter().copied())
        });
        let (Some(with), Some(without)) = (with, without) else { continue };
        cause.told_apart = true;
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

/// Charges to the inputs that one package alone has what they move: `old` and `new` hold the findings before and after
/// these were put in.
fn of_inputs(
    causes: &mut Causes,
    lines: &[Difference],
    moved: &[Moved<'_>],
    old: (&HashMap<&str, &Finding>, &HashMap<&str, &Finding>),
    new: (&HashMap<&str, &Finding>, &HashMap<&str, &Finding>),
) {
    let is_input = |at: &usize| lines.get(*at).is_some_and(|line| line.kind == Kind::Input);
    let Some(at) = causes.list.iter().position(|cause| cause.lines.iter().all(is_input)) else { return };
    if let Some(cause) = causes.list.get_mut(at) {
        cause.told_apart = true;
    }
    for (of, moved) in causes.of.iter_mut().zip(moved) {
        let id = moved.id();
        let put_in = !same(old.0.get(id), old.1.get(id));
        let taken_out = !same(new.0.get(id), new.1.get(id));
        let whole = (put_in && same(old.1.get(id), new.1.get(id))) || (taken_out && same(old.0.get(id), new.0.get(id)));
        if put_in || taken_out {
            of.push(Because { cause: at, part: if whole { Part::Alone } else { Part::Touches } });
        }
    }
}

/// One cause a line; what is wired and does not stand by itself is one, and so are the inputs, and what is said of one
/// thing that is taken over as a whole.
fn grouped(lines: &[Difference], old: &Package, new: &Package) -> Vec<Cause> {
    let mut list: Vec<Cause> = Vec::new();
    let whole = |kind: Kind| {
        matches!(
            kind,
            Kind::Body | Kind::Row | Kind::Model | Kind::Mode | Kind::Pattern | Kind::Statement | Kind::Exception
        )
    };
    let hangs = |line: &Difference| line.kind.is_wired() && !stands_alone(line, old, new);
    let hangs_together = |one: &Difference, other: &Difference| {
        let wired = hangs(one) && hangs(other);
        let inputs = one.kind == Kind::Input && other.kind == Kind::Input;
        let same = (one.kind, &one.within) == (other.kind, &other.within)
            && whole(one.kind)
            && one.ids.iter().any(|id| other.ids.contains(id));
        wired || inputs || same
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

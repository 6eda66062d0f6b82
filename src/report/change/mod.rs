//! Before and after: what was changed between two packages, and every finding that it moved.

mod csv_rows;
mod json;
mod page;
mod table;

pub(super) use page::quoted;

use super::number::{margin, pair};
use super::{Report, verdict_word};
use crate::compare::{Because, Causes, Difference, Move, Moved, Part, Renamed};
use crate::judge::{Finding, Verdict};
use crate::load::files::InputFile;
use crate::ruleset::Strength;

/// Everything that is said of a change.
#[derive(Debug)]
pub struct Changed<'a> {
    /// The package before.
    pub old: &'a Report<'a>,
    /// The package after, judged by the same rulesets on the same day.
    pub new: &'a Report<'a>,
    /// What was changed.
    pub lines: &'a [Difference],
    /// What that moved.
    pub moved: &'a [Moved<'a>],
    /// Which change moved what.
    pub causes: &'a Causes,
    /// What is only called otherwise: it moves nothing.
    pub renamed: &'a [Renamed],
    /// What the packages ask to be judged by, where that differs: it moves nothing, as both are judged alike.
    pub asked: &'a [String],
    /// What a reader must know of the rulesets.
    pub remarks: &'a [String],
    /// The files of both.
    pub inputs: &'a [InputFile],
}

/// A way of writing it.
#[derive(Clone, Copy, Debug)]
pub struct ChangeFormat {
    /// Its name on the command line.
    pub name: &'static str,
    /// Whether a person reads it (it may then be coloured).
    pub for_people: bool,
    /// Writes it.
    pub write: fn(&Changed<'_>) -> String,
}

/// Every format.
pub const CHANGE_FORMATS: &[ChangeFormat] = &[
    ChangeFormat { name: "table", for_people: true, write: table::write },
    ChangeFormat { name: "json", for_people: false, write: json::write },
    ChangeFormat { name: "csv", for_people: false, write: csv_rows::write },
];

/// How many required rules say now what they did not say before.
struct Now {
    fails: usize,
    open: usize,
    excepted: usize,
}

impl Changed<'_> {
    /// The page to hold.
    ///
    /// # Errors
    /// What the template asks and does not get: a mistake in this program.
    pub fn page(&self) -> Result<Vec<u8>, String> {
        page::write(self)
    }

    /// 0 where nothing got worse; 1 where a required rule fails that did not; 3 where none does, and one is not shown,
    /// too close, excepted or on an estimate that was not, or nothing was judged.
    pub fn status(&self) -> u8 {
        let now = self.now();
        if now.fails > 0 {
            1
        } else if now.open + now.excepted > 0 || !self.new.judged.summary.anything_judged {
            3
        } else {
            0
        }
    }

    /// What came of it, in words that agree with the status.
    fn verdict(&self) -> String {
        let now = self.now();
        let many = |count: usize| if count == 1 { "rule is" } else { "rules are" };
        let mut but = Vec::new();
        if now.open > 0 {
            but.push(format!("{} required {} open that was not", now.open, many(now.open)));
        }
        if now.excepted > 0 {
            let count = now.excepted;
            but.push(format!("{count} required {} met only by an exception that did not stand before", many(count)));
        }
        if !self.new.judged.summary.anything_judged {
            but.push("nothing was judged".to_owned());
        }
        match self.status() {
            1 => "A required rule fails that did not fail before".to_owned(),
            3 => format!("No required rule fails that did not fail before, but {}", but.join(", and ")),
            _ => "Nothing that is required got worse".to_owned(),
        }
    }

    /// How many required rules fail, are open, or are excepted that were not.
    fn now(&self) -> Now {
        let required = || self.moved.iter().filter(|moved| moved.is_required());
        let is_now = |moved: &Moved<'_>, verdict: Verdict| {
            let is = |finding: Option<&Finding>| finding.is_some_and(|finding| finding.verdict == verdict);
            is(moved.new) && !is(moved.old)
        };
        let estimated = |finding: Option<&Finding>| finding.is_some_and(Finding::on_estimate);
        let opened = |moved: &&Moved<'_>| {
            let open = [Verdict::NotShown, Verdict::TooClose].iter().any(|verdict| is_now(moved, *verdict));
            open || (estimated(moved.new) && !estimated(moved.old))
        };
        Now {
            fails: required().filter(|moved| is_now(moved, Verdict::Fail)).count(),
            open: required().filter(opened).count(),
            excepted: required().filter(|moved| is_now(moved, Verdict::Excepted)).count(),
        }
    }

    /// Findings that moved in one way, and where they stand in the list.
    fn of(&self, how: Move) -> impl Iterator<Item = (usize, &Moved<'_>)> {
        self.moved.iter().enumerate().filter(move |(_, moved)| moved.how == how)
    }

    /// What came of it, in one line.
    fn result(&self) -> String {
        let count = |how: Move| self.of(how).filter(|(_, moved)| moved.is_required()).count();
        let advice = self.moved.iter().filter(|moved| !moved.is_required() && moved.how != Move::Figure).count();
        let told: Vec<String> = Move::ALL
            .iter()
            .filter(|how| **how != Move::Figure && count(**how) > 0)
            .map(|how| format!("{} {}", count(*how), how.title().to_lowercase()))
            .collect();
        let required = if told.is_empty() { "no verdict moved".to_owned() } else { told.join(", ") };
        let advice = if advice > 0 { format!("; of advice {advice} moved") } else { String::new() };
        format!("Required rules: {required}{advice}.")
    }

    /// The changes that touch a finding, by their numbers from 1: `change 2 alone`.
    fn because(&self, place: usize) -> String {
        let of = self.causes.of.get(place).map(Vec::as_slice).unwrap_or_default();
        let said = of.iter().map(|because| format!("{} {}", numbered(&self.numbers(because)), because.part.word()));
        let said: Vec<String> = said.collect();
        let said = match said.is_empty() && self.causes.silent.is_none() {
            true => "changes that are not told apart".to_owned(),
            false => said.join("; "),
        };
        let fewer = self.moved.get(place).is_some_and(|moved| moved.how == Move::Fewer);
        let untried = self.moved.get(place).is_some_and(|moved| moved.fewer_untried);
        let parts = [
            Some(said).filter(|said| !said.is_empty()),
            fewer.then(|| "asked in fewer states".to_owned()),
            untried.then(|| "how much of it is only fewer states could not be tried".to_owned()),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join(": ")
    }

    /// The numbers of the changes of a cause, from 1.
    fn numbers(&self, because: &Because) -> Vec<usize> {
        let cause = self.causes.list.get(because.cause);
        cause.map(|cause| cause.lines.iter().map(|line| line + 1).collect()).unwrap_or_default()
    }

    /// How causes were found, for a reader who has to rely on it.
    fn how_sure(&self) -> String {
        if let Some(why) = self.causes.silent {
            return format!("Which change moved what is NOT told: {why}.");
        }
        if self.moved.is_empty() {
            return String::new();
        }
        let apart = self.causes.list.iter().filter(|cause| cause.told_apart).count();
        let all = self.causes.list.len();
        let tried = "put into the old package alone, and taken out of the new one alone, and both were judged again";
        let rest = if apart == all {
            String::new()
        } else {
            let open: Vec<String> = self
                .causes
                .list
                .iter()
                .filter(|cause| !cause.told_apart)
                .flat_map(|cause| &cause.lines)
                .map(|line| (line + 1).to_string())
                .collect();
            let word = if open.len() == 1 { "change" } else { "changes" };
            format!(" Of {word} {} this could not be done, and nothing is said.", open.join(", "))
        };
        if apart == 0 {
            return format!("Which change moved what is not told: none of them can be tried alone.{rest}");
        }
        format!("Which change moved what: each was {tried}.{rest} {}", Self::legend())
    }

    /// What the words behind a change say.
    fn legend() -> String {
        let said: Vec<String> = Part::ALL.iter().map(|part| format!("`{}`: {}", part.word(), part.says())).collect();
        format!("The words behind a change: {}.", said.join("; "))
    }

    /// Why a finding is what it is now: its first note, where it is another than before or the finding moved.
    fn why(moved: &Moved<'_>) -> Option<String> {
        let first = |finding: Option<&Finding>| finding.and_then(|finding| finding.notes.first()).cloned();
        let (was, is) = (first(moved.old), first(moved.new));
        match moved.how {
            Move::Figure => is.filter(|is| Some(is) != was.as_ref()),
            _ => is.or_else(|| was.map(|was| format!("before: {was}"))),
        }
    }
}

/// `change 2`, `changes 1 to 5 (tried together)`.
fn numbered(numbers: &[usize]) -> String {
    let in_a_row = numbers.windows(2).all(|pair| matches!(pair, [one, next] if one + 1 == *next));
    match numbers {
        [one] => format!("change {one}"),
        [first, .., last] if in_a_row && numbers.len() > 2 => format!("changes {first} to {last} (tried together)"),
        _ => {
            let numbers: Vec<String> = numbers.iter().map(usize::to_string).collect();
            format!("changes {} (tried together)", numbers.join(" and "))
        }
    }
}

/// Verdict, found and margin of one of the two, as text; dashes where there is none.
fn side(finding: Option<&Finding>) -> (String, String, String) {
    let Some(finding) = finding else { return ("-".to_owned(), "-".to_owned(), String::new()) };
    (verdict_word(finding).replace('-', " "), pair(finding).0, margin(finding))
}

/// A strength as it stands in a list.
fn strength(finding: &Finding) -> &'static str {
    match finding.strength {
        Strength::Required => "required",
        Strength::Advice | Strength::Caution => "advice",
    }
}

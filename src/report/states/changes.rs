//! Single changes of inputs in words: to which row each leads, and what changes there.

use super::lit::{Lit, lit, names};
use super::{Hidden, Row, States, hidden_lines, known};
use crate::logic::{Input, Region};
use crate::measure::Change;

/// Of more rows than this the first is told, and the numbers of the others.
const MOST_TOLD: usize = 4;

const UNLISTED: &str = "a light that is not listed";

/// Every change that changes something, then the inputs that change nothing.
pub(super) fn told(states: &States<'_>, row: &Row<'_>) -> Vec<String> {
    let inputs = &states.conduct.space().inputs().list;
    let from = Origin { states, row, expected: expected(states, row) };
    let mut told: Vec<String> = Vec::new();
    let mut idle: Vec<String> = Vec::new();
    for (at, input) in inputs.iter().enumerate() {
        let changes: Vec<&Change> = row.changes.iter().filter(|change| change.input == at).collect();
        let before = told.len();
        for change in &changes {
            let set = states.position(at, change.position).unwrap_or_default();
            told.extend(from.then(change).map(|then| format!("{set} -> {then}")));
        }
        if told.len() == before && !changes.is_empty() {
            idle.push(called(input));
        }
    }
    if !idle.is_empty() {
        told.push(format!("no change of light: {}", idle.join(", ")));
    }
    told
}

/// A row from which inputs are changed.
struct Origin<'s, 'a> {
    states: &'s States<'a>,
    row: &'s Row<'a>,
    /// For each input the place of the position that a person finds it in who sets the row's first setting and leaves
    /// all else at rest.
    expected: Vec<usize>,
}

/// What follows for each input from what is asked for and the row's first setting; rest, where nothing does.
fn expected(states: &States<'_>, row: &Row<'_>) -> Vec<usize> {
    let space = states.conduct.space();
    let first = row.settings.first().into_iter().flatten();
    let asked = known(space, &states.wishes).clone();
    let set = first.fold(asked, |set, (input, position)| space.and(&set, &space.with(*input, *position)));
    let of_input = |(at, input): (usize, &Input)| {
        let mut possible = (0..input.positions.len()).filter(|position| space.meet(&set, &space.with(at, *position)));
        let first = possible.next().unwrap_or_default();
        if possible.next().is_none() { first } else { 0 }
    };
    space.inputs().list.iter().enumerate().map(of_input).collect()
}

impl Origin<'_, '_> {
    /// What a change does; none where it changes no light.
    fn then(&self, change: &Change) -> Option<String> {
        let own = self.row.number - 1;
        let others: Vec<usize> = change.to.iter().map(|(at, _)| *at).filter(|at| *at != own).collect();
        match (others.as_slice(), change.unlisted) {
            ([], false) => {
                let hidden = newly(self.states, self.row, change);
                (!hidden.is_empty()).then(|| format!("the same row; {}", hidden.join("; ")))
            }
            ([only], false) if change.to.len() == 1 => Some(format!("row {}; {}", only + 1, self.differences(*only))),
            (others, false) if others.len() <= MOST_TOLD => Some(self.which(change)),
            (others, _) => Some(self.many(change, others)),
        }
    }

    /// Few rows, each with the other inputs that lead there, and what the first of them lights:
    /// `row 5 with day (amber ...: side), or row 6 with night`.
    fn which(&self, change: &Change) -> String {
        let space = self.states.conduct.space();
        let is_first = |(at, _): &&(usize, Region)| Some(*at) == change.first;
        let (first, others): (Vec<_>, Vec<_>) = change.to.iter().partition(is_first);
        let mut lights = true;
        let mut of_row = |(at, region): &(usize, Region)| {
            let place = self.place(*at);
            let (settings, whole) = space.cover_within(&change.after, region, 2);
            let words: Vec<String> = settings.iter().map(|setting| space.words(setting)).collect();
            let with = match (whole, Some(*at) == change.first) {
                (true, _) => format!(" with {}", words.join(" or ")),
                (false, true) => format!(" {}", self.at_rest(change)),
                (false, false) => String::new(),
            };
            let is_row = at + 1 != self.row.number;
            let what = if lights && is_row { format!(" ({})", self.differences(*at)) } else { String::new() };
            lights &= !is_row;
            format!("{place}{with}{what}")
        };
        let said: Vec<String> = first.into_iter().chain(others).map(&mut of_row).collect();
        said.join(", or ")
    }

    /// Many rows, or lights beyond those listed: where the row's first setting leads, and the numbers of the others.
    fn many(&self, change: &Change, rows: &[usize]) -> String {
        let own = self.row.number - 1;
        let stays = change.to.iter().any(|(at, _)| *at == own);
        let others: Vec<usize> = rows.iter().copied().filter(|at| Some(*at) != change.first).collect();
        let mut left = Vec::new();
        match others.as_slice() {
            [] => {}
            [only] => left.push(format!("row {}", only + 1)),
            _ => left.push(format!("one of the rows {}", ranges(&others))),
        }
        if stays && change.first != Some(own) {
            left.push("no change".to_owned());
        }
        if change.unlisted && change.first.is_some() {
            left.push(UNLISTED.to_owned());
        }
        let first = change.first.map_or_else(|| UNLISTED.to_owned(), |at| self.place(at));
        if left.is_empty() {
            return first;
        }
        let row = change.first.filter(|at| *at != own);
        let what = row.map(|at| format!(" ({})", self.differences(at))).unwrap_or_default();
        format!("{first} {}{what}, else {}", self.at_rest(change), left.join(", or "))
    }

    fn place(&self, at: usize) -> String {
        if at + 1 == self.row.number { "no change".to_owned() } else { format!("row {}", at + 1) }
    }

    /// From which of the row's states the first target is told: `with the rest at rest`, `with night, the rest at rest`.
    fn at_rest(&self, change: &Change) -> String {
        let pairs = change.from.iter().zip(&self.expected).enumerate();
        let moved = pairs.filter(|(input, (at, expected))| *input != change.input && at != expected);
        let words = moved.filter_map(|(input, (at, _))| self.states.position(input, *at));
        let named: Vec<&str> = words.chain(std::iter::once("the rest at rest")).collect();
        format!("with {}", named.join(", "))
    }

    /// What heads show in another row and not in this one, and which go dark.
    fn differences(&self, to: usize) -> String {
        let package = self.states.conduct.package;
        let Some(light) = self.states.lights.list.get(to) else { return String::new() };
        let differ = self.row.light.differs(light);
        let shown: Vec<_> = differ.iter().filter_map(|head| Some((*head, (*light.shown.get(*head)?)?))).collect();
        let dark: Vec<usize> = differ.into_iter().filter(|head| !shown.iter().any(|(lit, _)| lit == head)).collect();
        let mut said: Vec<String> = lit(package, &shown).iter().map(Lit::line).collect();
        if !dark.is_empty() {
            said.push(format!("dark: {}", names(package, &dark).join(", ")));
        }
        said.join("; ")
    }
}

/// What an input is called: a switch by its name, what is on or off by its words, `park in/out`.
fn called(input: &Input) -> String {
    let words: Vec<Vec<&str>> =
        input.positions.iter().map(|position| position.words.split_whitespace().collect()).collect();
    let Some((first, others)) = words.split_first() else { return input.id.clone() };
    let is_common = |at: &usize| others.iter().all(|other| other.get(*at) == first.get(*at));
    // Each keeps a word of its own: of `door` and `door shut` nothing is common.
    let shortest = words.iter().map(Vec::len).min().unwrap_or_default();
    let common = (0..shortest.saturating_sub(1)).take_while(is_common).count();
    let name = first.iter().take(common).copied().collect::<Vec<_>>().join(" ");
    if !input.is_bool && !name.is_empty() {
        return name;
    }
    let own = words.iter().map(|words| words.iter().skip(common).copied().collect::<Vec<_>>().join(" "));
    let own = own.rev().collect::<Vec<_>>().join("/");
    if name.is_empty() { own } else { format!("{name} {own}") }
}

/// What is hidden or moved after a change within the row and was not before.
fn newly(states: &States<'_>, row: &Row<'_>, change: &Change) -> Vec<String> {
    let space = states.conduct.space();
    let new =
        |hidden: &&Hidden| space.meet(&hidden.states, &change.after) && !space.meet(&hidden.states, &change.before);
    let hidden: Vec<&Hidden> = row.hidden.iter().filter(new).collect();
    hidden_lines(states, &hidden).into_iter().map(|(_, what)| what).collect()
}

/// `3 to 7, 9`: places in the list as rows.
pub(super) fn ranges(places: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for row in places.iter().map(|at| at + 1) {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == row => *last = row,
            _ => runs.push((row, row)),
        }
    }
    let run = |(first, last): &(usize, usize)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first} to {last}"),
    };
    runs.iter().map(run).collect::<Vec<_>>().join(", ")
}

//! Single changes of inputs in words: to which row each leads, and what changes there.

use super::lit::{Lit, lit, names};
use super::{Hidden, Row, States, hidden_lines};
use crate::measure::Change;

/// More rows than this are not told apart; their numbers are enough then.
const MOST_TOLD: usize = 4;

/// Every change that changes something, then the inputs that change nothing.
pub(super) fn told(states: &States<'_>, row: &Row<'_>) -> Vec<String> {
    let inputs = &states.conduct.space().inputs().list;
    let mut told: Vec<String> = Vec::new();
    let mut idle: Vec<&str> = Vec::new();
    for (at, input) in inputs.iter().enumerate() {
        let changes: Vec<&Change> = row.changes.iter().filter(|change| change.input == at).collect();
        let before = told.len();
        for change in &changes {
            let set = states.position(at, change.position).unwrap_or_default();
            told.extend(then(states, row, change).map(|then| format!("{set} -> {then}")));
        }
        if told.len() == before && !changes.is_empty() {
            idle.push(&input.id);
        }
    }
    if !idle.is_empty() {
        told.push(format!("no change of light: {}", idle.join(", ")));
    }
    told
}

/// What a change does; none where it changes no light.
fn then(states: &States<'_>, row: &Row<'_>, change: &Change) -> Option<String> {
    let own = row.number - 1;
    let others: Vec<usize> = change.to.iter().map(|(at, _)| *at).filter(|at| *at != own).collect();
    match (others.as_slice(), change.unlisted) {
        ([], false) => {
            let hidden = newly(states, row, change);
            (!hidden.is_empty()).then(|| format!("the same row; {}", hidden.join("; ")))
        }
        ([only], false) if change.to.len() == 1 => {
            Some(format!("row {}; {}", only + 1, differences(states, row, *only)))
        }
        (others, unlisted) if unlisted || others.len() > MOST_TOLD => {
            let rows = if others.is_empty() { String::new() } else { format!("one of the rows {}", ranges(others)) };
            let stays = if change.to.len() > others.len() { "no change" } else { "" };
            let beyond = if unlisted { "a light that is not listed" } else { "" };
            let said: Vec<&str> = [rows.as_str(), stays, beyond].into_iter().filter(|said| !said.is_empty()).collect();
            // Where all lead to one thing the other inputs decide nothing that is told here.
            let by = if said.len() > 1 || others.len() > 1 { ", as the other inputs stand" } else { "" };
            Some(format!("{}{by}", said.join(", or ")))
        }
        _ => Some(which(states, row, change)),
    }
}

/// Few rows, each with the other inputs that lead there: `row 5 with day, or row 6 with night`.
fn which(states: &States<'_>, row: &Row<'_>, change: &Change) -> String {
    let space = states.conduct.space();
    let mut named = states.words(row);
    named.extend(states.position(change.input, change.position));
    let of_row = |(at, region): &(usize, crate::logic::Region)| {
        let place = if at + 1 == row.number { "no change".to_owned() } else { format!("row {}", at + 1) };
        let (settings, whole) = space.cover(region, 2);
        let words: Option<Vec<String>> =
            settings.iter().map(|setting| words_beyond(&space.words(setting), &named)).collect();
        match words {
            Some(words) if whole => format!("{place} with {}", words.join(" or ")),
            _ => place,
        }
    };
    let said: Vec<String> = change.to.iter().map(of_row).collect();
    said.join(", or ")
}

/// What heads show in another row and not in this one, and which go dark.
fn differences(states: &States<'_>, row: &Row<'_>, to: usize) -> String {
    let package = states.conduct.package;
    let Some(light) = states.lights.list.get(to) else { return String::new() };
    let differ = row.light.differs(light);
    let shown: Vec<_> = differ.iter().filter_map(|head| Some((*head, (*light.shown.get(*head)?)?))).collect();
    let dark: Vec<usize> = differ.into_iter().filter(|head| !shown.iter().any(|(lit, _)| lit == head)).collect();
    let mut said: Vec<String> = lit(package, &shown).iter().map(Lit::line).collect();
    if !dark.is_empty() {
        said.push(format!("dark: {}", names(package, &dark).join(", ")));
    }
    said.join("; ")
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

/// The words of a setting that are not named already.
fn words_beyond(state: &str, named: &[&str]) -> Option<String> {
    let more: Vec<&str> = state.split(", ").filter(|words| !named.contains(words)).collect();
    (!more.is_empty()).then(|| more.join(", "))
}

//! Single changes of inputs in words: to which row each leads, and what changes there.

use super::lit::{lit, names};
use super::{Row, States};
use crate::measure::Change;

/// More rows than this are not told apart: other inputs decide which it is.
const MOST_TOLD: usize = 2;

/// One change, or several that do the same.
pub(super) struct Told {
    /// What is set: `brake pressed`.
    pub set: String,
    /// Where it leads and what changes.
    pub then: String,
}

/// Every change that changes something, and the inputs that change nothing.
pub(super) fn told(states: &States<'_>, row: &Row<'_>) -> (Vec<Told>, Vec<String>) {
    let inputs = &states.conduct.space().inputs().list;
    let mut told: Vec<Told> = Vec::new();
    let mut idle: Vec<String> = Vec::new();
    for (at, input) in inputs.iter().enumerate() {
        let changes: Vec<&Change> = row.changes.iter().filter(|change| change.input == at).collect();
        let mut changed = false;
        for change in &changes {
            let Some(then) = then(states, row, change) else { continue };
            changed = true;
            let set = input.positions.get(change.position).map(|position| position.words.clone()).unwrap_or_default();
            told.push(Told { set, then });
        }
        if !changed && !changes.is_empty() {
            idle.push(input.id.clone());
        }
    }
    (told, idle)
}

/// What a change does; none where it changes no light.
fn then(states: &States<'_>, row: &Row<'_>, change: &Change) -> Option<String> {
    let own = row.number - 1;
    let stays = change.to.contains(&own);
    let others: Vec<usize> = change.to.iter().copied().filter(|at| *at != own).collect();
    let hidden = newly(states, row, change);
    if others.is_empty() && !change.unlisted {
        return (!hidden.is_empty()).then(|| format!("the same row, {}", hidden.join("; ")));
    }
    let mut said: Vec<String> = Vec::new();
    if others.len() <= MOST_TOLD {
        let row_of = |at: &usize| format!("row {}: {}", at + 1, differences(states, row, *at));
        said.extend(others.iter().map(row_of));
    } else {
        said.push(format!("one of the rows {}", ranges(&others)));
    }
    if change.unlisted {
        said.push("lights that are not listed".to_owned());
    }
    if stays {
        said.push("no change".to_owned());
    }
    let by = if said.len() > 1 || others.len() > MOST_TOLD { ", as the other inputs stand" } else { "" };
    Some(format!("{}{by}", said.join("; or ")))
}

/// What heads show in another row and not in this one, and which go dark.
fn differences(states: &States<'_>, row: &Row<'_>, to: usize) -> String {
    let package = states.conduct.package;
    let Some(light) = states.lights.list.get(to) else { return String::new() };
    let differ = row.light.differs(light);
    let shown: Vec<_> = differ.iter().filter_map(|head| Some((*head, (*light.shown.get(*head)?)?))).collect();
    let dark: Vec<usize> = differ.into_iter().filter(|head| !shown.iter().any(|(lit, _)| lit == head)).collect();
    let mut said: Vec<String> = lit(package, &shown).iter().map(super::Lit::line).collect();
    if !dark.is_empty() {
        said.push(format!("dark: {}", names(package, &dark).join(", ")));
    }
    said.join("; ")
}

/// What is hidden or moved after a change within the row and was not before.
fn newly(states: &States<'_>, row: &Row<'_>, change: &Change) -> Vec<String> {
    let space = states.conduct.space();
    let new = |hidden: &&super::Hidden| {
        space.meet(&hidden.states, &change.after) && !space.meet(&hidden.states, &change.before)
    };
    row.hidden.iter().filter(new).map(|hidden| hidden.what(states)).collect()
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

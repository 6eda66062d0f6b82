//! Which display shows which heads, and from which others it took them: over all states, and in one of them.

use super::text::{paragraph, settings};
use crate::logic::Region;
use crate::measure::{Conduct, Shown};
use crate::package::Role;
use crate::units::format_number;

/// Which displays take heads from others, and with what setting; in the order in which heads meet them.
pub(super) fn overrides(conduct: &Conduct<'_>, width: u16, out: &mut String) {
    let space = conduct.space();
    let mut taken: Vec<(usize, usize, Region, Vec<&str>)> = Vec::new();
    for one in &conduct.overrides {
        let head = head(conduct, one.head);
        match taken.iter_mut().find(|(winner, loser, ..)| (*winner, *loser) == (one.winner, one.loser)) {
            Some((_, _, region, heads)) => {
                *region = space.or(region, &one.region);
                if !heads.contains(&head) {
                    heads.push(head);
                }
            }
            None => taken.push((one.winner, one.loser, one.region.clone(), vec![head])),
        }
    }
    for (winner, loser, region, heads) in taken {
        let (winner, loser) = (conduct.display(winner), conduct.display(loser));
        let who = if winner == loser {
            format!("a later row of display \"{winner}\" wins")
        } else {
            format!("display \"{winner}\" wins over \"{loser}\"")
        };
        let when = settings(space, &region, 3);
        paragraph(&format!("- {who} for {}, with {when}", heads.join(", ")), "  ", width, out);
    }
}

/// What each head shows in one state, by displays, with the displays that lost it; then the dark ones.
pub(super) fn in_state(conduct: &Conduct<'_>, state: &[usize]) -> Vec<String> {
    let space = conduct.space();
    let state = space.state(state);
    let mut lines: Vec<(String, Vec<&str>)> = Vec::new();
    let mut dark = Vec::new();
    for (at, of) in conduct.package.heads.iter().enumerate() {
        let Some(shown) = conduct.shown_in(at, &state) else {
            dark.push(of.id.as_str());
            continue;
        };
        let mut losers: Vec<String> = Vec::new();
        for one in conduct.overrides.iter().filter(|one| one.head == at && space.meet(&one.region, &state)) {
            let loser = format!("\"{}\"", conduct.display(one.loser));
            if one.loser != shown.display && !losers.contains(&loser) {
                losers.push(loser);
            }
        }
        let over = if losers.is_empty() { String::new() } else { format!(", taken from {}", losers.join(", ")) };
        let line = format!("\"{}\" shows {}{over}", conduct.display(shown.display), look(conduct, at, &shown));
        match lines.iter_mut().find(|(known, _)| *known == line) {
            Some((_, heads)) => heads.push(&of.id),
            None => lines.push((line, vec![&of.id])),
        }
    }
    let dark = (!dark.is_empty()).then(|| ("dark".to_owned(), dark));
    lines.into_iter().chain(dark).map(|(line, heads)| format!("{line}: {}", heads.join(", "))).collect()
}

/// `red in pattern two-pulse-800ms, dimmed to 40 % by "night"`.
fn look(conduct: &Conduct<'_>, at: usize, shown: &Shown<'_>) -> String {
    let package = conduct.package;
    let colour = shown.colour(package, at);
    let pattern = shown.show.pattern.and_then(|at| package.patterns.get(at));
    let how = pattern.map_or("steady".to_owned(), |pattern| format!("in pattern {}", pattern.id));
    let level = shown.level.value();
    let dimmed = if level < 1.0 { format!(", dimmed to {} %", format_number(level * 100.0, 1)) } else { String::new() };
    let by = shown.dimmed_by.map(|by| format!(" by \"{}\"", conduct.display(by))).unwrap_or_default();
    let role = shown.show.role;
    let role = if role == Role::Warning { String::new() } else { format!(" ({})", role.word()) };
    format!("{colour} {how}{dimmed}{by}{role}")
}

fn head<'a>(conduct: &Conduct<'a>, at: usize) -> &'a str {
    conduct.package.heads.get(at).map_or("", |head| head.id.as_str())
}

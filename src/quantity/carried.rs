//! What lasts on a head across a single change of an input: light that should have ended when the purpose began.

use rustc_hash::FxHashMap;

use super::states::{PURPOSE, add_occurrence, in_words, name, of_states, served_with_inputs};
use super::{Quantity, add_word};
use crate::logic::{Region, Space};
use crate::measure::{Conduct, Shown};
use crate::package::Role;
use crate::units::Dimension;

/// What lasts when one input changes into the purpose.
pub(super) static CARRIED_INTO: Quantity = of_states(
    "carried-into",
    "colours of warning heads, and roles of others, that stay lit on a head while one input changes into the purpose",
    Dimension::Words,
    PURPOSE,
    "with all lights on, set the parking brake, and do the same with every other input that leads here: note what stays",
    |conduct, _, ask| {
        served_with_inputs(conduct, ask, |space, states| {
            let inputs = space.deciding(states);
            // By word, for white light is white light whichever display shows it before and after.
            let mut words: Vec<(usize, &str, Region)> = Vec::new();
            for (region, head, what) in conduct.shown() {
                let word = word_of(conduct, head, what);
                match words.iter_mut().find(|(known, said, _)| (*known, *said) == (head, word)) {
                    Some((_, _, known)) => *known = space.or(known, region),
                    None => words.push((head, word, region.clone())),
                }
            }
            let (mut shown, mut occurrences) = (Vec::new(), Vec::new());
            let mut known: FxHashMap<&Region, (Region, Vec<&str>)> = FxHashMap::default();
            for (head, word, region) in &words {
                let (stays, by) = known.entry(region).or_insert_with(|| stays(space, region, states, &inputs));
                if !stays.is_empty() {
                    add_word(&mut shown, word, name(conduct, *head));
                    add_occurrence(space, &mut occurrences, word, stays, by);
                }
            }
            in_words(shown, occurrences)
        })
    },
);

/// The states of `into` that lie in `region`, and from outside of `into` are reached within it by one input's change;
/// with the positions, in words, that do it.
fn stays<'s>(space: &'s Space, region: &Region, into: &Region, inputs: &[usize]) -> (Region, Vec<&'s str>) {
    let (before, after) = (space.minus(region, into), space.and(region, into));
    let (mut all, mut by) = (space.none(), Vec::new());
    if before.is_empty() || after.is_empty() {
        return (all, by);
    }
    for input in inputs {
        let positions = space.inputs().list.get(*input).map_or(&[][..], |input| input.positions.as_slice());
        for (at, position) in positions.iter().enumerate() {
            let reached = space.and(&space.after(&before, *input, at), &after);
            if !reached.is_empty() {
                all = space.or(&all, &reached);
                by.push(position.words.as_str());
            }
        }
    }
    (all, by)
}

fn word_of<'a>(conduct: &Conduct<'a>, head: usize, shown: &Shown<'a>) -> &'a str {
    let role = shown.show.role;
    if role == Role::Warning { shown.colour(conduct.package, head) } else { role.word() }
}

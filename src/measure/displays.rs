//! Which display a head ends in: a later one wins, and the tool says whom it took the head from.

use crate::package::{Mode, Package, Show};

/// A display that took a head from an earlier one.
#[derive(Debug, PartialEq, Eq)]
pub struct Override {
    /// The head's id.
    pub head: String,
    /// The display that shows it.
    pub winner: String,
    /// The display that wanted it too.
    pub loser: String,
}

/// What each head of the package shows in a mode (in the order of the heads), and who lost one.
pub fn shown<'a>(package: &'a Package, mode: &Mode) -> (Vec<Option<&'a Show>>, Vec<Override>) {
    let mut shown: Vec<Option<(&Show, &str)>> = vec![None; package.heads.len()];
    let mut overrides = Vec::new();
    for display in mode.displays.iter().filter_map(|at| package.displays.get(*at)) {
        for show in &display.shows {
            let Some(slot) = shown.get_mut(show.head) else { continue };
            if let (Some((_, loser)), Some(head)) = (&slot, package.heads.get(show.head)) {
                let (head, winner, loser) = (head.id.clone(), display.id.clone(), (*loser).to_owned());
                overrides.push(Override { head, winner, loser });
            }
            *slot = Some((show, &display.id));
        }
    }
    (shown.into_iter().map(|slot| slot.map(|(show, _)| show)).collect(), overrides)
}

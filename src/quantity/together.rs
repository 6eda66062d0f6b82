//! What is seen at the same time: the states parted by the set of things that heads show in them.
//!
//! An arrow, or the headlamps of one side, is made of several heads, and another display may take one of them in some
//! states. So nothing is said of such a group from the rows of a display, but from each part of the states in which the
//! same of it are seen.

use rustc_hash::FxHashMap;

use crate::logic::{Region, Space};

/// Beyond this many sets of things shown together they are not told apart.
const MOST_SETS: usize = 4_096;

/// The states parted by which of `shown` are there, each as places in `shown`; where none is there makes no part.
/// Things of one region are told apart from none but others.
pub(super) fn parted(space: &Space, shown: &[&Region]) -> Vec<(Region, Vec<usize>)> {
    let mut alike: Vec<(&Region, Vec<usize>)> = Vec::new();
    let mut known: FxHashMap<&Region, usize> = FxHashMap::default();
    for (at, region) in shown.iter().enumerate().filter(|(_, region)| !region.is_empty()) {
        let place = *known.entry(region).or_insert(alike.len());
        match alike.get_mut(place) {
            Some((_, members)) => members.push(at),
            None => alike.push((region, vec![at])),
        }
    }
    let any = alike.iter().fold(space.none(), |any, (region, _)| space.or(&any, region));
    let mut parts: Vec<(Region, Vec<usize>)> = vec![(any, Vec::new())];
    for (region, members) in alike {
        let mut next = Vec::new();
        for (part, there) in parts {
            let (inside, outside) = (space.and(&part, region), space.minus(&part, region));
            if !inside.is_empty() {
                next.push((inside, there.iter().chain(&members).copied().collect()));
            }
            if !outside.is_empty() {
                next.push((outside, there));
            }
        }
        parts = next;
        if parts.len() > MOST_SETS {
            space.give_up();
            return Vec::new();
        }
    }
    parts.retain(|(_, there)| !there.is_empty());
    parts.iter_mut().for_each(|(_, there)| there.sort_unstable());
    parts
}

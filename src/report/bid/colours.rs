//! What a clause on colours or on light in a zone leaves to others: the edges of the colour regions that it names, and the
//! clauses that say which colours count.

use super::BidPaper;
use crate::bid::{Bid, Clause};
use crate::report::rules::described;
use crate::ruleset::{Demand, Require, Strength};

/// The quantity whose words are names of regions.
const NAMES_REGIONS: &str = "chromaticity-regions";

/// What stands before regions.
pub(super) const REGIONS: &str = "Corners are x, y of the CIE 1931 diagram (2-degree observer), each with the edge that begins there and runs to the next; what is inside is wanted, and the edges belong to it.";

/// Every region that a clause names, once: what it is called, then its edges and sources.
pub(super) fn regions(paper: &BidPaper<'_>) -> Vec<(String, Vec<String>)> {
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    for clause in paper.bid.clauses.iter().filter(|clause| clause.quantity == Some(NAMES_REGIONS)) {
        let of = clause.id.split_once(':').and_then(|(id, _)| paper.rulesets.iter().find(|known| known.id == id));
        let words = clause.rows.iter().filter_map(|row| match &row.demand {
            Some(Demand::Words(words)) => Some(words),
            _ => None,
        });
        for region in words.flatten().filter_map(|word| of?.regions.find(word)) {
            let one = described(region);
            if !found.contains(&one) {
                found.push(one);
            }
        }
    }
    found
}

/// Whose light counts in a clause on a zone, and where that is said; nothing where colours are no matter.
pub(super) fn counted(bid: &Bid, clause: &Clause) -> Option<String> {
    clause.known_quantity().filter(|quantity| quantity.counts_permitted)?;
    let says = |other: &&Clause| {
        let of_colours = other.quantity == Some("colours-shown") && other.require == Some(Require::Only);
        of_colours && other.strength == Strength::Required && other.layout == clause.layout
    };
    let ids: Vec<&str> = bid.clauses.iter().filter(says).map(|other| other.id.as_str()).collect();
    Some(match ids.as_slice() {
        [] => "counted are flashing warning heads of every colour, since no clause here says which colours a zone may be shown".to_owned(),
        ids => format!(
            "counted are flashing warning heads alone whose colour is permitted in that zone and use; the light of all others is left out: see {}",
            ids.join(", ")
        ),
    })
}

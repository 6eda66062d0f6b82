//! Rulesets for people: the list of those that come with the tool, and one as a requirement to be read.

mod list;
mod regions;
mod show;

pub use list::list;
pub(super) use regions::described;
pub use regions::show_regions;
pub use show::show;

use crate::ruleset::{BASES, Basis, Demand, Ruleset};

/// How many limits of a ruleset rest on each basis, in the order of [`BASES`], and how many are missing.
fn counts(ruleset: &Ruleset) -> (Vec<(Basis, usize)>, usize) {
    let limits = || ruleset.rules.iter().flat_map(|rule| &rule.limits);
    let is_missing = |demand: &Demand| matches!(demand, Demand::Missing { .. });
    let missing = limits().filter(|limit| is_missing(&limit.demand)).count();
    let known =
        |basis: Basis| limits().filter(|limit| limit.source.basis == basis && !is_missing(&limit.demand)).count();
    (BASES.iter().map(|(_, basis)| (*basis, known(*basis))).collect(), missing)
}

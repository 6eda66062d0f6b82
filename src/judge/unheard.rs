//! Limits on sound of which nothing can be measured, though something sounds: no sheet has a tone of which the rule speaks,
//! no shift is described, the table of levels is missing, or no sounder is of the class.

use super::asked::ask_of;
use super::assemble::bare;
use super::would_show::{change_to_type, what_shows};
use super::{Finding, Verdict};
use crate::measure::{Boundary, Conduct};
use crate::quantity::{ListenKey, has_asked, is_of_shift, listen_keys, other_tones};
use crate::ruleset::{Demand, Limit, Require, Rule, Ruleset};
use crate::units::Dimension;

/// What is said where ears are asked for and none are described.
pub(super) const NO_EXPOSURE: &str = "no [[exposure]] is described";

/// The findings on a limit of which nothing needs to be measured; `None` where it has to be.
pub(super) fn unheard(conduct: &Conduct<'_>, ruleset: &Ruleset, rule: &Rule, limit: &Limit) -> Option<Vec<Finding>> {
    let ask = ask_of(ruleset, rule, limit, Boundary::Both, None, conduct.package.decision);
    let side = &conduct.package.sound;
    let open = |note: &str| {
        let mut finding = bare(ruleset, rule, limit, Verdict::NotShown, note);
        finding.would_show = Some(what_shows(note, ruleset, rule, limit));
        Some(vec![finding])
    };
    if is_of_shift(rule.quantity) {
        return if side.exposures.is_empty() && !side.sounders.is_empty() { open(NO_EXPOSURE) } else { None };
    }
    // A row of a class that nothing here claims is not worth a word.
    if limit.class.is_some() && !has_asked(conduct, &ask) {
        return Some(Vec::new());
    }
    if lacks_table(rule) && has_asked(conduct, &ask) {
        let (note, see) = match &limit.demand {
            Demand::Missing { why, see } => (format!("limit missing: {why}"), see.as_deref()),
            _ => ("no `table` of levels stands in `listen` of this rule".to_owned(), None),
        };
        let mut finding = bare(ruleset, rule, limit, Verdict::NotShown, &note);
        let see = see.map(|see| format!("look up {see}; then ")).unwrap_or_default();
        let lines = change_to_type(ruleset, rule);
        finding.would_show = Some(format!("{see}paste into an overlay, with your figure for each `...`:\n{lines}"));
        return Some(vec![finding]);
    }
    // What has to be there and is there by another name only, or not at all: a tone may be misspelt in the rule.
    // A range of a rate or a frequency asks for no tone: a siren need not yelp.
    let of_levels = rule.quantity.dimension == Dimension::SoundLevel;
    let is_wanted = match rule.require {
        Require::AtLeast | Require::SomeOf | Require::Exactly => true,
        Require::Between => of_levels,
        _ => false,
    };
    let other = other_tones(conduct, &ask).filter(|_| is_wanted && limit.class.is_none())?;
    let asked = rule.listen.as_ref().map(|terms| terms.tones.join("`, `")).unwrap_or_default();
    open(&format!("no sheet has the tone `{asked}`; they have: {}", other.join(", ")))
}

/// Whether a rule compares with a table that it does not have.
pub(super) fn lacks_table(rule: &Rule) -> bool {
    let needs = listen_keys(rule.quantity).is_some_and(|keys| keys.needed.contains(&ListenKey::Table));
    needs && !rule.listen.as_ref().is_some_and(|terms| terms.has(ListenKey::Table))
}

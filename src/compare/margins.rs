//! The margins of each offer, zone by zone: how much light there is over what is asked, or how much something fails by.

use super::offer::{Better, Cell, Offer, OfferRow, Part, Shape, met, required};
use crate::judge::{Finding, Verdict};
use crate::ruleset::Strength;
use crate::units::Dimension;

/// Where a zone rule holds: purpose, level and zone.
fn zone_of(finding: &Finding) -> Option<String> {
    let scope = &finding.scope;
    let zone = scope.zone.as_ref()?;
    let parts = [scope.purpose.as_ref(), scope.level.as_ref(), Some(zone)];
    Some(parts.into_iter().flatten().map(String::as_str).collect::<Vec<_>>().join("/"))
}

/// The worst margin among findings: of those that do not pass, else of light, else of anything. Open where one of them is
/// not shown, or where there are none.
pub(super) fn worst<'a>(findings: impl Iterator<Item = &'a Finding>) -> Cell<'a> {
    let (mut cell, mut lacking, mut any) =
        (Cell { value: None, finding: None, at: None, open: None, best: false }, 0_usize, false);
    // What is shown first: what does not pass, then light.
    let place = |finding: &Finding| {
        let passes = finding.verdict == Verdict::Pass;
        (passes, passes && !finding.unit.dimension().is_light())
    };
    for finding in findings.filter(|finding| finding.verdict != Verdict::NotApplicable) {
        any = true;
        if finding.verdict == Verdict::NotShown {
            lacking += 1;
            continue;
        }
        // A distance in the colour diagram is no share of a limit.
        let margin = finding.margin.filter(|_| finding.unit.dimension() != Dimension::Words);
        let Some(margin) = margin else { continue };
        let known = cell.finding.map(place).zip(cell.value);
        let here = place(finding);
        if known.is_none_or(|(known, least)| here < known || here == known && margin < least) {
            (cell.value, cell.finding) = (Some(margin), Some(finding));
        }
    }
    cell.open = match (any, lacking, cell.value) {
        (false, ..) => Some("nothing is required of it here".to_owned()),
        (true, 0, Some(_)) => None,
        (true, 0, None) => Some("no margin".to_owned()),
        (true, lacking, Some(_)) => Some(format!("{lacking} not shown; the worst of the others")),
        (true, lacking, None) => Some(format!("{lacking} not shown")),
    };
    cell
}

pub(super) fn margins<'a>(offers: &[Offer<'a>]) -> Vec<OfferRow<'a>> {
    let zones = met(offers.iter().flat_map(|offer| required(offer).filter_map(zone_of)));
    let of = |name: String, here: &dyn Fn(&Finding) -> bool| {
        let cells = offers.iter().map(|offer| worst(required(offer).filter(|finding| here(finding)))).collect();
        let of_it = |finding: &Finding| finding.strength == Strength::Required && here(finding);
        OfferRow::judged((Part::Margins, name), Shape::Margin, Some(Better::More), cells, (offers, &of_it))
    };
    let mut rows = Vec::new();
    if !zones.is_empty() {
        rows.push(of("the worst of all zones".to_owned(), &|finding| zone_of(finding).is_some()));
    }
    rows.extend(zones.into_iter().map(|zone| of(zone.clone(), &|finding| zone_of(finding).as_ref() == Some(&zone))));
    rows
}

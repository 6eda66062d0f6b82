//! The supply of each offer: mean currents, what is left hot at idle, how long a battery lasts with the engine off.

use super::offer::{Better, Cell, Offer, OfferRow, Part, Shape};
use crate::logic::Region;
use crate::measure::{Balance, EngineOff, LoadAnalysis, Power, Range};

/// The use that empties a battery: standing in the way for hours.
const STANDING: &str = "blocking";

/// Rows battery by battery; none where no offer describes its supply.
pub(super) fn power_rows<'a>(offers: &[Offer<'a>]) -> Vec<OfferRow<'a>> {
    let ids: std::collections::BTreeSet<&str> = offers
        .iter()
        .filter_map(|offer| offer.conduct.package.supply.as_ref())
        .flat_map(|supply| supply.batteries.iter().map(|battery| battery.id.as_str()))
        .collect();
    let modes = offers.iter().flat_map(|offer| &offer.conduct.package.modes);
    let purposes: std::collections::BTreeSet<&str> = modes.filter_map(|mode| mode.purpose.as_deref()).collect();
    let stands = offers.iter().all(|offer| offer.conduct.serving(STANDING).next().is_some());
    let (while_standing, standing) = if stands { ("while blocking", Some(STANDING)) } else { ("in all states", None) };
    let mut rows = Vec::new();
    for id in ids {
        for purpose in &purposes {
            let name = format!("battery {id}: mean of the continuous loads while {purpose}");
            let cells = each(offers, id, Some(purpose), loads);
            rows.push(OfferRow::new(Part::Power, name, Shape::In("A"), Some(Better::Less), cells));
        }
        let name = format!("battery {id}: left hot at idle {while_standing}");
        let cells = each(offers, id, standing, left);
        rows.push(OfferRow::new(Part::Power, name, Shape::In("A"), Some(Better::More), cells));
        let name = format!("battery {id}: lasts with the engine off {while_standing}");
        let cells = each(offers, id, standing, lasts);
        rows.push(OfferRow::new(Part::Power, name, Shape::In("h"), Some(Better::More), cells));
    }
    rows
}

type Ask = fn(&Offer<'_>, &Power, usize, &Region) -> Result<Option<(Range, f64)>, String>;

/// What one question comes to for each offer.
fn each<'a>(offers: &[Offer<'a>], id: &str, purpose: Option<&str>, ask: Ask) -> Vec<Cell<'a>> {
    offers.iter().map(|offer| one(offer, id, purpose, ask)).collect()
}

fn one<'a>(offer: &Offer<'a>, id: &str, purpose: Option<&str>, ask: Ask) -> Cell<'a> {
    let Some(power) = offer.conduct.power() else { return Cell::open("no supply is described") };
    let Some(battery) = power.supply.batteries.iter().position(|battery| battery.id == id) else {
        return Cell::open("no battery of this name");
    };
    let states = match purpose {
        Some(purpose) => offer.conduct.purpose(purpose),
        None => offer.conduct.space().allowed().clone(),
    };
    if states.is_empty() {
        return Cell::open("no mode serves it");
    }
    match ask(offer, power, battery, &states) {
        Ok(Some((range, worse))) => figure(range, worse),
        Ok(None) => Cell::open("nothing hangs on it"),
        Err(why) => Cell::open(why),
    }
}

/// The worse end of a range; open where the ends differ by more than is printed.
fn figure<'a>(range: Range, worse: f64) -> Cell<'a> {
    if !worse.is_finite() {
        return Cell::open("a current is not stated");
    }
    let mut cell = Cell::known(worse);
    if (range.high - range.low).abs() > 5e-3 {
        cell.open = Some(format!("somewhere from {:.2} to {:.2}; the worse end", range.low, range.high));
    }
    cell
}

fn loads(offer: &Offer<'_>, power: &Power, battery: usize, states: &Region) -> Result<Option<(Range, f64)>, String> {
    power.all_wired()?;
    let analysis = LoadAnalysis::of(offer.conduct, power, battery, states, "regulated")?;
    Ok(analysis.map(|analysis| analysis.total()).map(|total| (total, total.high)))
}

fn left(offer: &Offer<'_>, power: &Power, battery: usize, states: &Region) -> Result<Option<(Range, f64)>, String> {
    let balance = Balance::of(offer.conduct, power, battery, states, &["regulated"])?;
    Ok(balance.map(|balance| (balance.left_total, balance.left_total.low)))
}

fn lasts(offer: &Offer<'_>, power: &Power, battery: usize, states: &Region) -> Result<Option<(Range, f64)>, String> {
    let off = EngineOff::of(offer.conduct, power, battery, states)?;
    let hours = |seconds: f64| seconds / 3600.0;
    Ok(off.map(|off| (Range { low: hours(off.lasts.low), high: hours(off.lasts.high) }, hours(off.lasts.low))))
}

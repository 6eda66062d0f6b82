//! The supply of each offer: mean currents, what is left hot at idle, how long a battery lasts with the engine off.
//!
//! Where a rule judges a figure, the figure of its finding stands, so that no row says other than `check`; where none
//! does, it is worked out at the same voltages. Every figure says at which voltage it holds.

use super::offer::{Better, Cell, Offer, OfferRow, Part, Shape};
use crate::judge::{Finding, Found, Verdict};
use crate::logic::Region;
use crate::measure::{Balance, EngineOff, LoadAnalysis, Power, Range};
use crate::units::{Unit, Volt, format_number};

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
        // What a rule asks to be left over the minimum continuous load is shown where one asks for it.
        let asked = |quantity: &str| offers.iter().any(|offer| judged(offer, quantity, id, standing).is_some());
        if asked(MINIMUM) {
            let name = format!("battery {id}: left hot at idle over the minimum continuous load {while_standing}");
            rows.push(of_rule(offers, name, "A", (id, standing, MINIMUM), left_minimum));
        }
        let name = format!("battery {id}: left hot at idle {while_standing}");
        rows.push(of_rule(offers, name, "A", (id, standing, TOTAL), left));
        let name = format!("battery {id}: lasts with the engine off {while_standing}");
        rows.push(of_rule(offers, name, "h", (id, standing, LASTS), lasts));
    }
    rows
}

/// Quantities that rules ask for.
const MINIMUM: &str = "hot-idle-margin";
const TOTAL: &str = "hot-idle-margin-total";
const LASTS: &str = "engine-off-time";

/// Between which ends a figure lies, which of them is the worse, and the voltage at which it holds.
struct Figure {
    range: Range,
    worse: f64,
    at: Volt,
}

type Ask = fn(&Offer<'_>, &Power, usize, &Region) -> Result<Option<Figure>, String>;

/// What one question comes to for each offer.
fn each<'a>(offers: &[Offer<'a>], id: &str, purpose: Option<&str>, ask: Ask) -> Vec<Cell<'a>> {
    offers.iter().map(|offer| one(offer, id, purpose, ask)).collect()
}

/// A row of which rules may judge the figure; more of it is better.
fn of_rule<'a>(
    offers: &[Offer<'a>],
    name: String,
    unit: &'static str,
    (id, standing, quantity): (&str, Option<&str>, &str),
    ask: Ask,
) -> OfferRow<'a> {
    let mut cells = each(offers, id, standing, ask);
    for (cell, offer) in cells.iter_mut().zip(offers) {
        let finding = judged(offer, quantity, id, standing);
        let found = finding.and_then(|finding| amount(finding, unit));
        if let (Some(finding), Some(found)) = (finding, found) {
            if cell.value.is_none_or(|worse| (worse - found).abs() > 5e-3) {
                // The judge shows the end that decides, which of a range that fails may be the better one.
                cell.open.iter_mut().for_each(|open| *open = open.replace("; the worse end", "; as judged"));
            }
            (cell.value, cell.finding) = (Some(found), Some(finding));
        }
    }
    OfferRow::new(Part::Power, name, Shape::In(unit), Some(Better::More), cells)
}

/// The finding on a quantity of a battery; of several rules the one with the worst verdict.
fn judged<'a>(offer: &Offer<'a>, quantity: &str, id: &str, standing: Option<&str>) -> Option<&'a Finding> {
    let of_it = |finding: &&Finding| {
        finding.quantity == quantity
            && finding.scope.supply.as_deref() == Some(id)
            && standing.is_some()
            && finding.scope.purpose.as_deref() == standing
            && finding.verdict != Verdict::NotApplicable
    };
    offer.judged.findings.iter().filter(of_it).max_by_key(|finding| finding.verdict)
}

/// What was found, in a unit.
fn amount(finding: &Finding, unit: &str) -> Option<f64> {
    let Found::Number(found) = finding.found else { return None };
    let unit = Unit::parse(unit)?;
    (unit.dimension() == finding.unit.dimension()).then(|| unit.from_base(finding.unit.to_base(found)))
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
        Ok(Some(found)) => figure(&found),
        Ok(None) => Cell::open("nothing hangs on it"),
        Err(why) => Cell::open(why),
    }
}

/// The worse end of a range; open where the ends differ by more than is printed.
fn figure<'a>(found: &Figure) -> Cell<'a> {
    let Figure { range, worse, at } = *found;
    if !worse.is_finite() {
        return Cell::open("a current is not stated");
    }
    let mut cell = Cell::known(worse);
    cell.at = Some(format!("at {} V", format_number(at.value(), 2)));
    if (range.high - range.low).abs() > 5e-3 {
        cell.open = Some(format!("somewhere from {:.2} to {:.2}; the worse end", range.low, range.high));
    }
    cell
}

fn loads(offer: &Offer<'_>, power: &Power, battery: usize, states: &Region) -> Result<Option<Figure>, String> {
    power.all_wired()?;
    let analysis = LoadAnalysis::of(offer.conduct, power, battery, states, "regulated")?;
    Ok(analysis.map(|analysis| {
        let range = analysis.total();
        Figure { range, worse: range.high, at: analysis.volts }
    }))
}

/// The balance at the worst of the voltages with the engine running, as rules judge it.
fn balance(offer: &Offer<'_>, power: &Power, battery: usize, states: &Region) -> Result<Option<Balance>, String> {
    Balance::of(offer.conduct, power, battery, states, &["running", "regulated"])
}

fn left_minimum(offer: &Offer<'_>, power: &Power, battery: usize, states: &Region) -> Result<Option<Figure>, String> {
    let balance = balance(offer, power, battery, states)?;
    Ok(balance.map(|found| Figure {
        range: found.left_minimum,
        worse: found.left_minimum.low,
        at: found.minimum.volts,
    }))
}

fn left(offer: &Offer<'_>, power: &Power, battery: usize, states: &Region) -> Result<Option<Figure>, String> {
    let balance = balance(offer, power, battery, states)?;
    Ok(balance.map(|found| Figure { range: found.left_total, worse: found.left_total.low, at: found.total.volts }))
}

fn lasts(offer: &Offer<'_>, power: &Power, battery: usize, states: &Region) -> Result<Option<Figure>, String> {
    let off = EngineOff::of(offer.conduct, power, battery, states)?;
    let hours = |seconds: f64| seconds / 3600.0;
    Ok(off.map(|off| Figure {
        range: Range { low: hours(off.lasts.low), high: hours(off.lasts.high) },
        worse: hours(off.lasts.low),
        at: off.most.volts,
    }))
}

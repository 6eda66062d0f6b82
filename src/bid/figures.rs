//! Figures that cannot be meant: limits that everything or nothing meets, uses of the vehicle that nobody serves, flashes
//! for which a minute is too short, words that name another figure than the limit.

use std::collections::BTreeMap;

use super::conditions::dark_time;
use super::{Bid, Cause, Clause, Fault, Row};
use crate::diagnostic::nearest;
use crate::ruleset::{Allowed, Demand, Require, shipped};
use crate::units::{Dimension, Length, Unit, format_number};

/// What is counted, or is of light or time: never less than nothing.
const NEVER_NEGATIVE: [Dimension; 14] = [
    Dimension::Area,
    Dimension::Time,
    Dimension::Rate,
    Dimension::Intensity,
    Dimension::FlashEnergy,
    Dimension::OpticalPower,
    Dimension::Illuminance,
    Dimension::SoundLevel,
    Dimension::Points,
    Dimension::Heads,
    Dimension::Sounders,
    Dimension::States,
    Dimension::Displays,
    Dimension::Modes,
];

/// Lengths that are measured from the ground or from end to end; others may lie on either side of where they begin.
const LENGTHS: [&str; 5] = [
    "optical-centre-height",
    "lowest-front-height",
    "greatest-head-height",
    "largest-gap-along-side",
    "vehicle-length",
];

/// Rates of one lamp, which is dark after each of its flashes.
const RATES: [&str; 3] = ["flash-rate", "device-flash-rate", "headlamp-flash-rate"];

/// How many limits of a draft are for each use of the vehicle.
pub(super) type Uses<'a> = BTreeMap<&'a str, usize>;

/// Counts them.
pub(super) fn uses(bid: &Bid) -> Uses<'_> {
    let mut uses = Uses::new();
    for purpose in bid.clauses.iter().flat_map(|clause| &clause.rows).filter_map(|row| row.purpose.as_deref()) {
        *uses.entry(purpose).or_default() += 1;
    }
    uses
}

/// What cannot be meant in a clause.
pub(super) fn figures(bid: &Bid, clause: &Clause, uses: &Uses<'_>, faults: &mut Vec<Fault>) {
    for row in &clause.rows {
        of_row(bid, clause, row, faults);
        purpose(clause, row, uses, faults);
    }
    faults.extend(other_words(clause));
}

fn of_row(bid: &Bid, clause: &Clause, row: &Row, faults: &mut Vec<Fault>) {
    let (Some(require), Some(unit), Some(demand)) = (clause.require, clause.known_unit(), &row.demand) else { return };
    let quantity = clause.known_quantity();
    let Some(Allowed::Numbers(stretches)) = Allowed::of(require, demand, unit) else { return };
    if quantity.is_some_and(|quantity| quantity.dimension != unit.dimension()) {
        return;
    }
    let never_negative =
        NEVER_NEGATIVE.contains(&unit.dimension()) || quantity.is_some_and(|quantity| LENGTHS.contains(&quantity.name));
    let (low, high) = stretches.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), stretch| {
        (low.min(stretch.low), high.max(stretch.high))
    });
    let mut say = |cause, code, says: String, help: &str| {
        faults.push(Fault::on(clause, cause, code, says, help).in_row(row));
    };
    let asked = || format!("{} {} {unit}", require.word().replace('-', " "), demand.in_words());
    // Of a range the lower end may be nothing at all.
    let least_met_by_all = low.is_finite() && (low < 0.0 || (low == 0.0 && require == Require::AtLeast));
    if never_negative && high < 0.0 {
        let says = format!("{}: nothing is less than nothing", asked());
        say(Cause::CannotBeMet, "below-zero", says, "write the figure that is meant, without the sign");
    } else if never_negative && least_met_by_all {
        let says = format!("{}: everything meets that, a lamp that is off too", asked());
        say(Cause::CannotBeTested, "met-by-all", says, "write the figure that is meant, or strike the limit out");
    }
    let band = row.level.as_ref().and_then(|name| bid.layout_of(clause)?.level(name));
    let of_height = quantity.is_some_and(|quantity| quantity.name == "optical-centre-height");
    if let Some(band) = band.filter(|_| of_height && high >= 0.0) {
        let lowest = band.from.or(band.above).map_or(0.0, Length::value);
        let highest = band.to.map_or(f64::INFINITY, Length::value);
        // Above a height is not at it.
        let reaches = |most: f64| most > lowest || (most >= lowest && band.above.is_none());
        if !stretches.iter().any(|stretch| reaches(stretch.high) && stretch.low <= highest) {
            let ends = [("from", band.from), ("above", band.above), ("to", band.to)];
            let ends = ends.iter().filter_map(|(word, end)| {
                Some(format!("{word} {} {unit}", format_number(unit.from_base(end.as_ref()?.value()), 1)))
            });
            let ends: Vec<String> = ends.collect();
            let says = format!("{}: the level `{}` is {}, so no head of it does", asked(), band.name, ends.join(" "));
            say(
                Cause::CannotBeMet,
                "outside-its-level",
                says,
                "write a height of the level, or bound the level otherwise",
            );
        }
    }
    let rate = quantity.is_some_and(|quantity| RATES.contains(&quantity.name));
    if let Some(dark) = dark_time(bid, clause).filter(|_| rate && low.is_finite()) {
        #[allow(clippy::cast_precision_loss)] // Far below 2^53: a time between two flashes.
        let dark = dark.get() as f64 / 1e6;
        if low * dark >= 60.0 {
            let says = format!(
                "{} flashes a minute, each with {} ms dark after it, take {} s of every minute, and are never lit",
                format_number(low, 0),
                format_number(dark * 1e3, 0),
                format_number(low * dark, 0)
            );
            let help = format!("a rate below {} /min, or another `dark-at-least`", format_number(60.0 / dark, 0));
            say(Cause::CannotBeMet, "too-fast", says, &help);
        }
    }
}

/// A use that stands in a draft nearly as another one does: no mode of a vehicle serves it.
fn purpose(clause: &Clause, row: &Row, uses: &Uses<'_>, faults: &mut Vec<Fault>) {
    let Some(purpose) = row.purpose.as_deref().filter(|purpose| !shipped::PURPOSES.contains(purpose)) else { return };
    let own = uses.get(purpose).copied().unwrap_or_default();
    let oftener = uses.iter().filter(|(_, times)| **times > own).map(|(other, _)| *other);
    let known: Vec<&str> = shipped::PURPOSES.iter().copied().chain(oftener).collect();
    if let Some(near) = nearest(purpose, &known) {
        let says = format!("`{purpose}`: no other demand speaks of this use");
        let help = format!("did you mean `{near}`? A mode serves a use only where both are spelt alike");
        faults.push(Fault::on(clause, Cause::CannotBeTested, "unknown-purpose", says, help).in_row(row));
    }
}

/// Words that hold figures in the clause's unit, none of which is one of its limits.
fn other_words(clause: &Clause) -> Option<Fault> {
    let unit = clause.known_unit()?;
    let mut limits: Vec<f64> = Vec::new();
    for row in &clause.rows {
        match row.demand {
            Some(Demand::Number(value)) => limits.push(value),
            Some(Demand::Range { from, to }) => limits.extend([from, to]),
            _ => {}
        }
    }
    let said = figures_in(&clause.says, unit);
    let is_limit = |said: &f64| limits.iter().any(|limit| (limit - said).abs() <= 1e-9 * limit.abs());
    if limits.is_empty() || said.iter().any(is_limit) {
        return None;
    }
    let first = said.first()?;
    let shown = |value: f64| {
        let digits = (0..6).find(|digits| format_number(value, *digits).replace(',', "").parse() == Ok(value));
        format_number(value, digits.unwrap_or(6))
    };
    let limits: Vec<String> = limits.iter().map(|limit| shown(*limit)).collect();
    let says = format!("the words say {}, the limit {}", shown(*first), limits.join(", "));
    let help = "write one figure in both, or leave it out of the words";
    Some(Fault::on(clause, Cause::Advice, "other-figure", says, help))
}

/// Every number of a text behind which this unit stands, and every one that ends a part of a sentence and before which
/// stands that it is a least or a most.
fn figures_in(text: &str, unit: Unit) -> Vec<f64> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut found = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let word = word.trim_start_matches(['(', '"', '\'']);
        let end = word.find(|letter: char| !letter.is_ascii_digit() && letter != ',' && letter != '.');
        let (number, behind) = word.split_at(end.unwrap_or(word.len()));
        let ends =
            number.ends_with([',', '.']) || (end.is_some() && behind.chars().all(|letter| ",.;:)".contains(letter)));
        let Ok(value) = number.trim_end_matches([',', '.']).replace(',', "").parse::<f64>() else { continue };
        let next = if behind.is_empty() { words.get(at + 1).copied().unwrap_or_default() } else { behind };
        let next = next.trim_end_matches(['.', ',', ';', ':', '"', ')']);
        let of_unit = next == unit.symbol() || Unit::parse(next).is_some_and(|named| named.symbol() == unit.symbol());
        let before = |back: usize| at.checked_sub(back).and_then(|at| words.get(at)).copied().unwrap_or_default();
        let bound = ["least", "most", "than", "exactly"].contains(&before(1).to_lowercase().as_str());
        // "A 12 V system" is a kind of thing.
        if matches!(before(1).to_lowercase().as_str(), "a" | "an") {
            continue;
        }
        if !ends && of_unit || bound && (ends || at + 1 == words.len()) {
            found.push(value);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::figures_in;
    use crate::units::Unit;

    #[test]
    fn figures_are_found_with_their_unit_and_no_others() {
        let of = |text: &str| figures_in(text, Unit::parse("cd").unwrap());
        assert_eq!(of("at least 900,000 cd."), [900_000.0]);
        assert_eq!(of("It gives 1.5cd, or (20 cd) at 6 m and 5 deg."), [1.5, 20.0]);
        assert_eq!(of("No more than 900,000, please."), [900_000.0]);
        assert_eq!(of("gives at least 12"), [12.0]);
        assert_eq!(of("at least 2 lamps of type 7, by 5 and 6."), [0.0; 0]);
        assert_eq!(of("A 12 cd lamp and an 8 cd lamp."), [0.0; 0]);
        assert_eq!(of("1.2.3 cd ,. 5, cd -"), [0.0; 0]);
    }
}

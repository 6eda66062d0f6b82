//! Whether any device of a catalogue can meet the demands of a draft. Every bound here lies on the side of the device: what
//! is told to be out of reach is so however the device is aimed and whatever pattern it runs, as far as its papers go.

use super::conditions::dark_time;
use super::contradict::COLOURS;
use super::layout::{lies_within, same_zone};
use super::single::{single_lamp, sound_level};
use super::totals::{Takes, Zones, zone_total};
use super::{Bid, Cause, Clause, Fault, Row};
use crate::measure::{Bare, bare};
use crate::package::{Model, SounderModel};
use crate::quantity::{DeviceTerms, Quantity};
use crate::ruleset::{Allowed, Demand, Require, Strength};
use crate::units::{Dimension, Share, Unit, format_number};

/// The devices that a bidder could choose from.
#[derive(Clone, Copy, Debug, Default)]
pub struct Devices<'a> {
    /// Lamps.
    pub models: &'a [Model],
    /// Sounders.
    pub sounders: &'a [SounderModel],
}

/// What a catalogue says of a draft.
#[derive(Debug, Default, PartialEq)]
pub struct Feasible {
    /// Demands that no device meets.
    pub faults: Vec<Fault>,
    /// Totals of zones that some device can meet, and how many of it they take at least.
    pub takes: Vec<Takes>,
    /// What was not looked at, and why.
    pub unseen: Vec<String>,
}

/// A look at a draft that goes on.
pub(super) struct Look<'a> {
    pub bid: &'a Bid,
    pub devices: Devices<'a>,
    pub zones: Zones,
    pub found: Feasible,
}

/// A candidate with the most that it could reach; `None` where its papers do not say.
pub(super) type Candidate<'a> = (String, Option<f64>, &'a str);

/// Looks for a device for each required demand on single devices and for each zone's total.
pub fn feasible(bid: &Bid, devices: Devices<'_>) -> Feasible {
    let mut look = Look { bid, devices, zones: Zones::default(), found: Feasible::default() };
    let mut others: Vec<&str> = Vec::new();
    for clause in bid.clauses.iter().filter(|clause| clause.strength == Strength::Required) {
        let Some((quantity, require, unit)) = measurable(clause) else { continue };
        for row in &clause.rows {
            let Some(demand) = row.demand.as_ref().filter(|demand| !matches!(demand, Demand::Missing { .. })) else {
                continue;
            };
            let looked = match demand {
                Demand::Words(words) => of_words(&mut look, clause, row, require, words),
                _ => of_numbers(&mut look, clause, row, (quantity, require, unit), demand),
            };
            if !looked && !others.contains(&clause.id.as_str()) {
                others.push(&clause.id);
            }
        }
    }
    if !others.is_empty() {
        let said = "not looked at, since more than a catalogue decides it";
        look.found.unseen.push(format!("{said}: {}", others.join(", ")));
    }
    look.found
}

/// Clauses whose unit fits what they are about.
fn measurable(clause: &Clause) -> Option<(&'static Quantity, Require, Unit)> {
    let (quantity, require, unit) = (clause.known_quantity()?, clause.require?, clause.known_unit()?);
    (quantity.dimension == unit.dimension()).then_some((quantity, require, unit))
}

/// The ruleset whose classes a clause speaks of.
pub(super) fn ruleset_of(clause: &Clause) -> &str {
    clause.id.split_once(':').map_or(clause.layout.as_deref().unwrap_or_default(), |(ruleset, _)| ruleset)
}

/// Whether a colour may be shown in a zone in one use, by every required clause that says so.
pub(super) fn is_permitted(bid: &Bid, asked: (&Clause, &Row), colour: &str) -> bool {
    let zone = |clause: &Clause, row: &Row| bid.layout_of(clause)?.zone(row.zone.as_ref()?);
    let here = |clause: &Clause, row: &Row| {
        let use_meets = row.purpose.is_none() || asked.1.purpose.is_none() || row.purpose == asked.1.purpose;
        // What a zone forbids it forbids in each part of it.
        let binds = matches!(clause.require, Some(Require::Only | Require::NoneOf | Require::Exactly));
        let of_one_layout = clause.layout.is_some() && clause.layout == asked.0.layout;
        let meets = |(outer, inner)| same_zone(outer, inner) || binds && of_one_layout && lies_within(inner, outer);
        let zone_meets = row.zone.is_none() || zone(clause, row).zip(zone(asked.0, asked.1)).is_some_and(meets);
        use_meets && zone_meets
    };
    let of_colours = |clause: &&Clause| {
        clause.strength == Strength::Required && clause.quantity.is_some_and(|name| COLOURS.contains(&name))
    };
    bid.clauses.iter().filter(of_colours).all(|clause| {
        clause.rows.iter().filter(|row| here(clause, row)).all(|row| match (&row.demand, clause.require) {
            (Some(Demand::Words(words)), Some(Require::Only | Require::Exactly)) => {
                words.iter().any(|word| word == colour)
            }
            (Some(Demand::Words(words)), Some(Require::NoneOf)) => !words.iter().any(|word| word == colour),
            _ => true,
        })
    })
}

/// Colours and classes that somebody's catalogue must have. False where nothing was looked at.
fn of_words(look: &mut Look<'_>, clause: &Clause, row: &Row, require: Require, words: &[String]) -> bool {
    // A catalogue of sounders says nothing of colours.
    if look.devices.models.is_empty() {
        return false;
    }
    let (what, has): (&str, bool) = match (clause.quantity, require) {
        (Some(name), Require::NoneOf) if COLOURS.contains(&name) => return true,
        (Some(name), _) if COLOURS.contains(&name) => {
            let shows = |word: &String| bare(look.devices.models).any(|bare| bare.emitter.colour == *word);
            let some = words.is_empty() || words.iter().any(shows);
            let all = words.iter().all(shows);
            ("shows", if require == Require::Exactly { all } else { some })
        }
        (Some("emitter-colour"), Require::Only | Require::SomeOf) => {
            ("shows", words.iter().any(|word| bare(look.devices.models).any(|bare| bare.emitter.colour == *word)))
        }
        (Some("claimed-class"), Require::Only | Require::SomeOf) => {
            let claims = |model: &Model| {
                model.class(ruleset_of(clause)).is_some_and(|class| words.iter().any(|word| word == class))
            };
            ("claims the class", look.devices.models.iter().any(claims))
        }
        _ => return false,
    };
    if !has {
        let says = format!("no device of the catalogue {what} {}", words.join(" or "));
        let help = "ask for what is made, or add the catalogue of a device that does";
        look.found.faults.push(Fault::on(clause, Cause::CannotBeMet, "no-device", says, help).in_row(row));
    }
    true
}

/// Figures. False where nothing was looked at.
fn of_numbers(
    look: &mut Look<'_>,
    clause: &Clause,
    row: &Row,
    (quantity, require, unit): (&'static Quantity, Require, Unit),
    demand: &Demand,
) -> bool {
    let Some(Allowed::Numbers(stretches)) = Allowed::of(require, demand, unit) else { return false };
    let Some(least) = stretches.iter().map(|stretch| stretch.low).reduce(f64::min).filter(|least| least.is_finite())
    else {
        return false;
    };
    match quantity.name {
        "zone-total-optical-power" => zone_total(look, clause, row, (least, unit)),
        "optical-centre-height" => {
            let fits = |model: &&Model| model.max_height.is_none_or(|height| height.value() >= least);
            if !look.devices.models.is_empty() && !look.devices.models.iter().any(|model| fits(&model)) {
                let highest = look.devices.models.iter().filter_map(|model| Some((model, model.max_height?)));
                let highest = highest.max_by(|one, other| one.1.value().total_cmp(&other.1.value()));
                let nearest = highest.map(|(model, height)| (model.id.clone(), height.value()));
                refuse(clause, row, (least, unit), nearest, &mut look.found);
            }
            !look.devices.models.is_empty()
        }
        "sound-level" => sound_level(look, clause, row, (least, unit)),
        _ => single_lamp(look, clause, row, (least, unit)),
    }
}

/// Nothing reaches a limit; the nearest device is named, and by how much it falls short.
pub(super) fn refuse(
    clause: &Clause,
    row: &Row,
    (least, unit): (f64, Unit),
    nearest: Option<(String, f64)>,
    found: &mut Feasible,
) {
    let shown = |value: f64| short(unit.from_base(value));
    let near = nearest.map_or_else(String::new, |(name, value)| {
        let lacks = match unit.dimension() {
            // A share of a level says nothing.
            Dimension::SoundLevel => format!(", {} dB short", format_number(least - value, 1)),
            _ if least != 0.0 => format!(", {} % short", format_number((least - value) / least.abs() * 100.0, 0)),
            _ => String::new(),
        };
        format!("; the nearest is `{name}` with at most {} {unit}{lacks}", shown(value))
    });
    let says = format!("no device of the catalogue reaches {} {unit}{near}", shown(least));
    let help = "lower the limit, permit what reaches it, or add the catalogue of a device that does";
    found.faults.push(Fault::on(clause, Cause::CannotBeMet, "no-device", says, help).in_row(row));
}

/// As many digits as matter.
pub(super) fn short(value: f64) -> String {
    let digits = match value.abs() {
        size if size >= 100.0 => 0,
        size if size >= 1.0 => 2,
        _ => 4,
    };
    format_number(value, digits)
}

/// How many flashes a minute the required clauses surely ask of every lamp of which a clause speaks, in this use: a clause
/// on some lamps, levels, zones or colours, or one that counts by another dark time, may not be on this lamp.
pub(super) fn least_rate(bid: &Bid, asked: &Clause, purpose: &Option<String>) -> Option<f64> {
    let of_rate = |clause: &&Clause| {
        let named = clause.quantity.is_some_and(|name| ["flash-rate", "device-flash-rate"].contains(&name));
        let of_every_lamp = clause.device.as_ref().is_none_or(|terms| *terms == DeviceTerms::default());
        let counts_alike = dark_time(bid, clause) == dark_time(bid, asked);
        named && clause.strength == Strength::Required && of_every_lamp && counts_alike
    };
    let rows = bid.clauses.iter().filter(of_rate).flat_map(|clause| clause.rows.iter().map(move |row| (clause, row)));
    let rates = rows.filter_map(|(clause, row)| {
        let narrows = [&row.class, &row.colour, &row.level, &row.zone, &row.leads_to, &row.item];
        let of_all = narrows.iter().all(|part| part.is_none());
        let here = row.purpose.is_none() || row.purpose == *purpose;
        let (_, require, unit) = measurable(clause).filter(|_| of_all && here)?;
        let Allowed::Numbers(stretches) = Allowed::of(require, row.demand.as_ref()?, unit)? else { return None };
        stretches.iter().map(|stretch| stretch.low).reduce(f64::min).filter(|low| low.is_finite() && *low > 0.0)
    });
    rates.reduce(f64::max)
}

/// The greatest mean light of a lamp that flashes, as a share of its light: it is dark once a flash for as long as the layout
/// says, and what the layout calls dark may still be a share of its peak.
pub(super) fn most_lit(bid: &Bid, clause: &Clause, purpose: &Option<String>) -> Share {
    let layout = bid.layout_of(clause);
    let dark = layout.and_then(|layout| layout.dark_at_least);
    #[allow(clippy::cast_precision_loss)] // Far below 2^53: a time between two flashes.
    let dark = dark.map_or(0.0, |dark| dark.get() as f64 / 60e6);
    let glow = layout.and_then(|layout| layout.lit_above).map_or(0.0, Share::value);
    let dark = (least_rate(bid, clause, purpose).unwrap_or(0.0) * dark).clamp(0.0, 1.0);
    Share::new(1.0 - dark * (1.0 - glow))
}

/// The first of those that reach most, of which anything is known.
pub(super) fn best_of(candidates: &[Candidate<'_>]) -> Option<(String, f64)> {
    let known = candidates.iter().filter_map(|(name, value, _)| Some((name.clone(), (*value)?)));
    known.reduce(|best, next| if next.1 > best.1 { next } else { best })
}

pub(super) fn name_of(bare: &Bare<'_>) -> String {
    format!("{} ({})", bare.model.id, bare.emitter.colour)
}

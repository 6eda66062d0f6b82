//! What a quantity is: its name, unit and scope, how a person would measure it, and how it is computed.
//!
//! A quantity turns a [`Survey`] into [`Measured`] values; it knows no limit. Adding one: write it in the file of
//! its family and add its line to [`QUANTITIES`] in `registry.rs`.

mod arrow;
mod arrow_elements;
mod carried;
mod chromaticity;
mod colour;
mod device;
mod device_beam;
mod device_light;
mod device_time;
mod distance;
mod electrical;
mod eye_height;
mod failure;
mod fitted;
mod flash;
mod hazard;
mod measured;
mod mounting;
mod on_vehicle;
mod optical;
mod points;
mod power;
mod registry;
mod sound;
mod stated;
mod states;
mod together;
mod vehicle_lamps;
mod ways;
mod working;

use std::cmp::Ordering;

use crate::logic::Region;
use crate::measure::{Boundary, Conduct, LitHead, Protocol, Reach, Sample, Survey};
use crate::package::{Grade, Package, Role};
use crate::units::{Degrees, Dimension, Unit};

pub use device::{
    Angle, DEVICE_KINDS, DEVICE_LIGHTS, DeviceAsk, DeviceKey, DeviceKind, DeviceLight, DeviceTerms, Lamp, TablePoint,
    lamps,
};
pub use measured::{Measured, Occurrence, Value, Witness};
pub use on_vehicle::{
    OnVehicle, Proof, by_hand, is_drop_of_source, is_seen_at_zero, is_worked_out, may_be_negative, on_vehicle,
    on_vehicle_of, volts_of_drop, what_is_written,
};
pub use optical::Uncertainty;
pub use points::{ByHead, by_head};
pub use power::how as how_it_flows;
pub use registry::{QUANTITIES, device_keys, find, least_of, one_thing};
pub use sound::{ListenKey, ListenTerms, Listens, Side, has_asked, is_of_shift, listen_keys, other_tones};
pub use vehicle_lamps::LAMP_TROUBLES;
pub use ways::in_all;
pub use working::{Part, PointCount, Working};

/// The current that is the whole of a quantity which is a share of what a circuit may carry; see `power/circuit.rs`.
pub fn whole_current(conduct: &Conduct<'_>, quantity: &str, circuit: &str) -> Option<crate::units::Ampere> {
    power::circuit::whole(conduct, quantity, circuit)
}

/// The least and the most that a circuit's greatest current comes to over the voltages of its source, in amperes, these
/// voltages in words, and whether it may vary at one voltage too; see `power/circuit.rs`.
pub fn current_by_voltage(conduct: &Conduct<'_>, circuit: &str) -> Option<((f64, f64), Vec<String>, bool)> {
    power::circuit::by_voltage(conduct, circuit).map(|(range, at, varies)| ((range.low, range.high), at, varies))
}

/// The states in which as much flows in a circuit as in these; see `power/circuit.rs`.
pub fn as_loaded(conduct: &Conduct<'_>, quantity: &str, circuit: &str, at: Option<&Region>) -> Option<Region> {
    power::circuit::as_loaded(conduct, quantity, circuit, at)
}

/// Something the tool can compute.
#[derive(Debug)]
pub struct Quantity {
    /// Its name in rulesets.
    pub name: &'static str,
    /// What it is, in one sentence.
    pub says: &'static str,
    /// Its dimension; a rule's unit must fit.
    pub dimension: Dimension,
    /// What a limit must name.
    pub scope: Scope,
    /// What more it is found for, by itself (each head).
    pub each_head: bool,
    /// Whether it depends on from where one looks.
    pub looks: bool,
    /// Whether it counts heads of permitted colours only; a limit on it may narrow them to one colour.
    pub counts_permitted: bool,
    /// How a person would measure it.
    pub by_hand: &'static str,
    /// Computes it.
    pub measure: Measure,
    /// What a value is made of.
    pub working: fn(&Survey<'_>, &Ask<'_>, &Measured) -> Working,
}

/// How a quantity is computed, and from what.
#[derive(Clone, Copy, Debug)]
pub enum Measure {
    /// From the heads that are lit.
    Light {
        /// What one more lit head does to it.
        one_more: OneMore,
        /// Whether a head that is lit so can change it; heads that cannot are not looked at.
        heeds: fn(&LitHead<'_>, &Ask<'_>, &Protocol) -> bool,
        /// How two ways in which one head is lit compare, where it heeds both: `Less` where the first in place of the
        /// second is to the value as one lit head less, `Equal` where they are one to it.
        compare: fn(&LitHead<'_>, &LitHead<'_>, &Ask<'_>, &Protocol) -> Option<Ordering>,
        /// Computes it.
        measure: fn(&Survey<'_>, &Ask<'_>) -> Vec<Measured>,
    },
    /// From where things are mounted, lit or not.
    Mounting(fn(&Survey<'_>, &Ask<'_>) -> Vec<Measured>),
    /// From what the heads show over all states.
    States(fn(&Conduct<'_>, &Protocol, &Ask<'_>) -> Vec<Measured>),
    /// From what single heads show in any state, each by itself and in the lamp's own frame.
    Device(fn(&Conduct<'_>, &Protocol, &Ask<'_>) -> Vec<Measured>),
    /// From what flows in the circuits, over all states.
    Power(fn(&Conduct<'_>, &Ask<'_>) -> Vec<Measured>),
    /// From what sounds, over all states.
    Sound(fn(&Conduct<'_>, &Ask<'_>) -> Vec<Measured>),
    /// From what a person vouches for or measured; a figure is of the quantity's dimension.
    Stated(fn(&Package, &Ask<'_>, Dimension) -> Vec<Measured>),
}

/// What one more lit head does to a quantity; where it is known, few of many states need to be looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OneMore {
    /// It stays or grows; words stay, or more come.
    Raises,
    /// It stays or falls.
    Lowers,
    /// Either.
    Either,
}

/// What a limit on a quantity must name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scope {
    /// A purpose.
    pub purpose: bool,
    /// Whether a level may, must or must not be named.
    pub level: LevelScope,
    /// A zone.
    pub zone: bool,
}

/// Whether a limit names a level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LevelScope {
    /// Never.
    Never,
    /// Where the ruleset has levels that are judged apart.
    Optional,
    /// Always.
    Always,
}

/// What is asked about.
#[derive(Clone, Copy, Debug)]
pub struct Ask<'a> {
    /// A purpose.
    pub purpose: Option<&'a str>,
    /// The purpose that a change has to lead into; any other one without.
    pub leads_to: Option<&'a str>,
    /// A level, as a place in the protocol's list; all heads together without one.
    pub level: Option<usize>,
    /// A zone, as a place in the protocol's list.
    pub zone: Option<usize>,
    /// Whom points on a dividing line belong to.
    pub boundary: Boundary,
    /// The colours that count here; all without a list.
    pub permitted: Option<&'a [String]>,
    /// Whether uncertainty is wanted (it costs time).
    pub with_uncertainty: bool,
    /// Of which devices, for quantities of single devices.
    pub device: DeviceAsk<'a>,
    /// For sounders: of which, and where one listens.
    pub listen: Option<&'a ListenTerms>,
    /// For what a person states: about which thing.
    pub item: Option<&'a str>,
}

/// Why a lit head does not count here; `None` when it does.
fn why_not_counted(lit: &LitHead<'_>, ask: &Ask<'_>) -> Option<&'static str> {
    if lit.role != Role::Warning {
        Some("not a warning head")
    } else if ask.level.is_some() && lit.level != ask.level {
        Some("another level")
    } else if !lit.flashing {
        Some("steady: permitted, and not counted")
    } else if ask.device.colour.is_some_and(|colour| lit.emitter.colour != colour) {
        Some("another colour")
    } else if ask.permitted.is_some_and(|permitted| !permitted.contains(&lit.emitter.colour)) {
        Some("its colour is not permitted here")
    } else {
        None
    }
}

/// The heads that count for what is asked.
fn counting<'s, 'a>(survey: &'s Survey<'a>, ask: &Ask<'_>) -> Vec<&'s LitHead<'a>> {
    // Mostly all of them: what cannot change the value was left out before.
    let mut counting = Vec::with_capacity(survey.lit.len());
    counting.extend(survey.lit.iter().map(|lit| &**lit).filter(|lit| why_not_counted(lit, ask).is_none()));
    counting
}

/// A head that counts, and from which anything may arrive in the zone.
fn counts_here(lit: &LitHead<'_>, ask: &Ask<'_>, protocol: &Protocol) -> bool {
    let arrives = |sample: Sample| sample == Sample::NoData || sample.at_least().value() > 0.0;
    let rows = 0..=protocol.zones.off_plane.len();
    let at = |row: usize| lit.knows(row) && zone_points(protocol, ask).any(|at| arrives(lit.at(row, at)));
    why_not_counted(lit, ask).is_none() && rows.into_iter().any(at)
}

/// The H-plane points of the zone asked about; all points without a zone.
fn points<'p>(survey: &Survey<'p>, ask: &Ask<'_>) -> impl Iterator<Item = usize> + Clone + use<'p> {
    zone_points(survey.protocol, ask)
}

fn zone_points<'p>(protocol: &'p Protocol, ask: &Ask<'_>) -> impl Iterator<Item = usize> + Clone + use<'p> {
    let zones = &protocol.zones;
    let (of_sector, of_all) = match ask.zone.and_then(|zone| zones.sectors.get(zone)) {
        Some(sector) => (sector.points(ask.boundary), 0..0),
        None => (&[][..], 0..zones.bearings.len()),
    };
    of_sector.iter().copied().chain(of_all)
}

/// A bearing by its place.
fn bearing(survey: &Survey<'_>, at: usize) -> Degrees {
    survey.protocol.zones.bearings.get(at).copied().unwrap_or(Degrees::ZERO)
}

/// The heads whose signal reaches a point, and those of which that is not known.
fn reaching<'h, 'a>(heads: &[&'h LitHead<'a>], point: usize) -> (Vec<&'h LitHead<'a>>, Vec<&'h LitHead<'a>>) {
    let (mut sure, mut unsure) = (Vec::with_capacity(heads.len()), Vec::new());
    for lit in heads {
        match lit.reach(point) {
            Reach::Surely => sure.push(*lit),
            Reach::Perhaps => unsure.push(*lit),
            Reach::No => {}
        }
    }
    (sure, unsure)
}

/// Whether it is not known at some point in the horizontal plane what a head gives.
fn lacks_data(survey: &Survey<'_>, ask: &Ask<'_>, lit: &LitHead<'_>) -> bool {
    lit.lacks_data() && points(survey, ask).any(|point| lit.reach(point) == Reach::Perhaps)
}

/// The weakest evidence of the heads from which anything is known to arrive at these points of the horizontal plane.
fn evidence_at(heads: &[&LitHead<'_>], points: impl Iterator<Item = usize> + Clone) -> Option<Grade> {
    let gives = |lit: &LitHead<'_>| points.clone().any(|at| lit.at(0, at).at_least().value() > 0.0);
    heads.iter().fold(None, |weakest, lit| {
        // Evidence that is no weaker than what is known changes nothing, whether the head gives anything or not.
        let grade = Some(lit.emitter.evidence.grade);
        if grade > weakest && gives(lit) { grade } else { weakest }
    })
}

/// The weakest of some grades.
fn weakest(grades: impl IntoIterator<Item = Grade>) -> Option<Grade> {
    grades.into_iter().max()
}

/// `1 head`, `3 heads`.
fn heads_without_data(ids: &[&str]) -> String {
    match ids {
        [one] => format!("no data for `{one}` at some of the points"),
        _ => format!("no data for {} heads at some of the points: {}", ids.len(), ids.join(", ")),
    }
}

/// Adds a head to those that bear a word; words stand in the order of the alphabet, heads in that of the package, and
/// each once.
fn add_word(words: &mut Vec<(String, Vec<String>)>, word: &str, head: &str) {
    match words.binary_search_by(|(known, _)| known.as_str().cmp(word)) {
        Ok(at) => {
            let heads = words.get_mut(at).map(|(_, heads)| heads);
            heads
                .filter(|heads| heads.iter().all(|known| known != head))
                .into_iter()
                .for_each(|heads| heads.push(head.to_owned()));
        }
        Err(at) => words.insert(at, (word.to_owned(), vec![head.to_owned()])),
    }
}

/// A number of things as a value.
fn counted(things: usize) -> f64 {
    f64::from(u32::try_from(things).unwrap_or(u32::MAX))
}

/// A quantity that has nothing more to say in `explain`.
fn no_working(_: &Survey<'_>, _: &Ask<'_>, _: &Measured) -> Working {
    Working::default()
}

/// The unit a number of this quantity is in before a rule's own unit is applied.
pub fn base_unit(quantity: &Quantity) -> Unit {
    Unit::base(quantity.dimension)
}

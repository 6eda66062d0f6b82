//! What is asked of single devices: which of them a limit speaks of, and where on the lamp itself one looks. Zones and
//! bearings are the vehicle's; these directions are the lamp's own.

use std::sync::Arc;

use super::{Ask, LevelScope, Measure, Measured, Quantity, Scope, Value, Witness, no_working};
use crate::colour;
use crate::logic::Region;
use crate::measure::{Conduct, Protocol, Shown, counts_as_flashing};
use crate::package::{Emitter, Head, Model, Role};
use crate::units::{Degrees, Dimension, Rate};

/// What a rule on devices says beside its limits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DeviceTerms {
    /// Of which devices it speaks.
    pub of: DeviceKind,
    /// Directions of the lamp at which one looks.
    pub angles: Vec<Angle>,
}

/// A direction in the lamp's own frame, vertical axis first: H positive to the right, V positive up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Angle {
    /// To the right as seen from behind the lamp.
    pub h: Degrees,
    /// Up.
    pub v: Degrees,
}

/// Of which devices a rule speaks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DeviceKind {
    /// Of all.
    #[default]
    Any,
    /// Of lamps that light all round.
    AllRound,
    /// Of lamps that look one way.
    Directional,
}

/// The words for [`DeviceKind`].
pub const DEVICE_KINDS: &[(&str, DeviceKind)] =
    &[("any", DeviceKind::Any), ("all-round", DeviceKind::AllRound), ("directional", DeviceKind::Directional)];

/// What a limit on devices narrows them to.
#[derive(Clone, Copy, Debug, Default)]
pub struct DeviceAsk<'a> {
    /// What its rule says.
    pub terms: Option<&'a DeviceTerms>,
    /// Emitters of this colour only.
    pub colour: Option<&'a str>,
    /// Models that claim a class: the ruleset that knows it, the class.
    pub class: Option<(&'a str, &'a str)>,
    /// The regions of colour that its words name.
    pub regions: &'a [Arc<colour::Region>],
}

/// One way in which one emitter is shown, and in which states.
pub(super) struct Shining<'c, 'a> {
    pub head: &'a Head,
    pub model: &'a Model,
    pub emitter: &'a Emitter,
    pub shown: &'c Shown<'a>,
    pub states: &'c Region,
}

/// Everything that warning heads show and the limit speaks of.
pub(super) fn shining<'c, 'a>(conduct: &'c Conduct<'a>, ask: &Ask<'_>) -> Vec<Shining<'c, 'a>> {
    let of = ask.device.terms.map(|terms| terms.of).unwrap_or_default();
    let asked = |one: &Shining<'c, 'a>| {
        let kind = match of {
            DeviceKind::Any => true,
            DeviceKind::AllRound => one.model.all_round,
            DeviceKind::Directional => !one.model.all_round,
        };
        let class = ask.device.class.is_none_or(|(ruleset, class)| one.model.class(ruleset) == Some(class));
        kind && class && ask.device.colour.is_none_or(|colour| one.emitter.colour == colour)
    };
    let one = |(states, at, shown): (&'c Region, usize, &'c Shown<'a>)| {
        let head = conduct.package.heads.get(at)?;
        let model = conduct.package.models.get(head.model)?;
        let emitter = model.emitters.get(shown.show.emitter)?;
        Some(Shining { head, model, emitter, shown, states })
    };
    let warning = conduct.shown().filter(|(_, _, shown)| shown.show.role == Role::Warning);
    warning.filter_map(one).filter(asked).collect()
}

/// For each head and colour what `of` makes of the ways in which it is shown; equal values of one are found once, in
/// all their states.
pub(super) fn each_emitter<'c, 'a>(
    conduct: &'c Conduct<'a>,
    ask: &Ask<'_>,
    of: impl Fn(&Shining<'c, 'a>) -> Measured,
) -> Vec<Measured> {
    let mut found: Vec<Measured> = Vec::new();
    for one in shining(conduct, ask) {
        let mut measured = of(&one);
        measured.head = Some(one.head.id.clone());
        measured.emitter = Some(one.emitter.colour.clone());
        measured.witness = Witness { head: Some(one.head.id.clone()), ..measured.witness };
        let same = |known: &&mut Measured| {
            known.head == measured.head && known.emitter == measured.emitter && known.value == measured.value
        };
        match found.iter_mut().find(same) {
            Some(known) => known.states = known.states.take().map(|known| conduct.space().or(&known, one.states)),
            None => found.push(Measured { states: Some(one.states.clone()), ..measured }),
        }
    }
    found
}

/// What the quantities of single devices have in common.
pub(super) const fn of_devices(
    name: &'static str,
    says: &'static str,
    dimension: Dimension,
    by_hand: &'static str,
    measure: fn(&Conduct<'_>, &Protocol, &Ask<'_>) -> Vec<Measured>,
) -> Quantity {
    Quantity {
        name,
        says,
        dimension,
        scope: Scope { purpose: false, level: LevelScope::Never, zone: false },
        each_head: true,
        looks: false,
        counts_permitted: false,
        by_hand,
        measure: Measure::Device(measure),
        working: no_working,
    }
}

/// How often a head flashes, whatever the use.
pub(super) static FLASH_RATE: Quantity = of_devices(
    "device-flash-rate",
    "flashes of one head over time, in every state in which it flashes",
    Dimension::Rate,
    "film the head at 240 frames a second through several of its periods and count the dark gaps",
    |conduct, protocol, ask| {
        let terms = &protocol.flash;
        let rate = |one: &Shining<'_, '_>| {
            let timeline = one.shown.timeline(conduct.package);
            let rate = match counts_as_flashing(&timeline, terms) {
                true => timeline.rate(terms.dark_at_least, terms.lit_above, terms.rate),
                false => Rate::ZERO,
            };
            Measured::new(Value::exactly(rate.per_minute()))
        };
        each_emitter(conduct, ask, rate)
    },
);

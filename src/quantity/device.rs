//! What is asked of single devices: which of them a limit speaks of, and where on the lamp itself one looks. Zones and
//! bearings are the vehicle's; these directions are the lamp's own.

use std::sync::Arc;

use std::collections::HashSet;

use super::{Ask, LevelScope, Measure, Measured, Quantity, Scope, Value, Witness, no_working};
use crate::colour;
use crate::flash::EffectiveMethod;
use crate::logic::Region;
use crate::measure::{Conduct, Protocol, Shown, counts_as_flashing};
use crate::package::{Emitter, Head, Model, Role};
use crate::units::{Candela, Degrees, Dimension, Length, Rate, Share, format_number};

/// What a rule on devices says beside its limits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DeviceTerms {
    /// Of which devices it speaks.
    pub of: DeviceKind,
    /// Of light at which level.
    pub light: DeviceLight,
    /// Of heads of this group only.
    pub group: Option<String>,
    /// Directions of the lamp at which one looks.
    pub angles: Vec<Angle>,
    /// How effective intensity is found; there is no usual way.
    pub effective: Option<EffectiveMethod>,
    /// Directions that ask for an intensity each, by colour.
    pub table: Vec<TablePoint>,
    /// By how much the lamp may be turned for the test, to either side and up or down.
    pub reaim: Option<Angle>,
    /// How far away one stands.
    pub distance: Option<Length>,
    /// What is left of the greatest intensity at the edge of the beam.
    pub share: Option<Share>,
    /// Which share of its peak light has to exceed to count as lit; as the ruleset has it without one.
    pub lit_above: Option<Share>,
    /// Above this light counts as lit, however small a share of the peak it is.
    pub dark_below: Option<Candela>,
}

/// One direction of a table of intensities.
#[derive(Clone, Debug, PartialEq)]
pub struct TablePoint {
    /// Where.
    pub at: Angle,
    /// The colour and what it asks for.
    pub least: Vec<(String, Candela)>,
}

/// What a rule can say in `device` beside `of` and `light`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DeviceKey {
    /// Directions.
    Angles,
    /// A method.
    Effective,
    /// Directions with their intensities.
    Table,
    /// A tolerance of aim.
    Reaim,
    /// A distance.
    Distance,
    /// A share.
    Share,
    /// A group of heads.
    Group,
    /// A share of the peak.
    LitAbove,
    /// An intensity.
    DarkBelow,
}

impl DeviceKey {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Angles,
        Self::Effective,
        Self::Table,
        Self::Reaim,
        Self::Distance,
        Self::Share,
        Self::Group,
        Self::LitAbove,
        Self::DarkBelow,
    ];

    /// As written in a ruleset, with an example.
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Angles => ("angles", "angles = { h = [\"-5 deg\", \"0 deg\", \"5 deg\"], v = [\"0 deg\"] }"),
            Self::Effective => ("effective", "effective = \"blondel-rey\", whichever method the document names"),
            Self::Table => ("table", "table = [{ h = [\"0 deg\"], v = [\"0 deg\"], least = { red = \"25 cd\" } }]"),
            Self::Reaim => ("reaim", "reaim = { h = \"1 deg\", v = \"0.5 deg\" }"),
            Self::Distance => ("distance", "distance = \"500 ft\""),
            Self::Share => ("share", "share = \"10 %\""),
            Self::Group => ("group", "group = \"grille\""),
            Self::LitAbove => ("lit-above", "lit-above = \"1 %\""),
            Self::DarkBelow => ("dark-below", "dark-below = \"10 cd\""),
        }
    }
}

impl DeviceTerms {
    /// Whether a key is there.
    pub fn has(&self, key: DeviceKey) -> bool {
        match key {
            DeviceKey::Angles => !self.angles.is_empty(),
            DeviceKey::Effective => self.effective.is_some(),
            DeviceKey::Table => !self.table.is_empty(),
            DeviceKey::Reaim => self.reaim.is_some(),
            DeviceKey::Distance => self.distance.is_some(),
            DeviceKey::Share => self.share.is_some(),
            DeviceKey::Group => self.group.is_some(),
            DeviceKey::LitAbove => self.lit_above.is_some(),
            DeviceKey::DarkBelow => self.dark_below.is_some(),
        }
    }

    /// How one looks, in words, beside the kind of device and the table.
    pub fn describe(&self) -> Vec<String> {
        let mut said = Vec::new();
        match self.light {
            DeviceLight::Any => {}
            DeviceLight::Full => said.push("while nothing dims it".to_owned()),
            DeviceLight::Dimmed => said.push("while it is dimmed".to_owned()),
        }
        said.extend(self.group.as_ref().map(|group| format!("heads of the group `{group}`")));
        if !self.angles.is_empty() {
            let spread = |of: fn(&Angle) -> Degrees| {
                let all = self.angles.iter().map(|angle| of(angle).value());
                let (low, high) =
                    all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
                if low < high { format!("{low} to {high}") } else { low.to_string() }
            };
            let (h, v) = (spread(|angle| angle.h), spread(|angle| angle.v));
            said.push(format!("directions of the lamp: {}, H {h} deg, V {v} deg", self.angles.len()));
        }
        said.extend(self.effective.map(|method| format!("effective intensity by {}", method.word())));
        said.extend(
            self.reaim
                .map(|reach| format!("aim within {} deg across, {} deg up and down", reach.h.value(), reach.v.value())),
        );
        said.extend(self.distance.map(|distance| format!("distance {} m", format_number(distance.value(), 2))));
        said.extend(self.share.map(|share| format!("share {} %", format_number(share.value() * 100.0, 2))));
        let lit_above =
            self.lit_above.map(|share| format!("{} % of its peak", format_number(share.value() * 100.0, 2)));
        let dark_below = self.dark_below.map(|least| format!("{} cd", format_number(least.value(), 2)));
        let above: Vec<String> = lit_above.into_iter().chain(dark_below).collect();
        said.extend((!above.is_empty()).then(|| format!("lit is what exceeds {}", above.join(", or "))));
        said
    }
}

impl TablePoint {
    /// The direction, and what it asks for.
    pub fn describe(&self) -> String {
        let least = self.least.iter().map(|(colour, least)| format!("{colour} {} cd", least.value()));
        let least: Vec<String> = least.collect();
        format!("H {} V {} deg: {}", self.at.h.value(), self.at.v.value(), least.join(", "))
    }
}

/// Of light at which level a rule speaks. What is dimmed at night is asked for less than by day.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DeviceLight {
    /// Of all light.
    #[default]
    Any,
    /// Of light that nothing dims.
    Full,
    /// Of dimmed light.
    Dimmed,
}

/// The words for [`DeviceLight`].
pub const DEVICE_LIGHTS: &[(&str, DeviceLight)] =
    &[("any", DeviceLight::Any), ("full", DeviceLight::Full), ("dimmed", DeviceLight::Dimmed)];

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
    /// Emitters of this colour only; of quantities of light too.
    pub colour: Option<&'a str>,
    /// Models that claim a class: the ruleset that knows it, the class.
    pub class: Option<(&'a str, &'a str)>,
    /// The regions of colour that its words name.
    pub regions: &'a [Arc<colour::Region>],
    /// The ruleset that asks.
    pub ruleset: &'a str,
}

/// A lamp of which a rule on devices could speak.
#[derive(Clone, Copy, Debug)]
pub struct Lamp<'a> {
    /// The head's id.
    pub head: &'a str,
    /// What it shows.
    pub colour: &'a str,
    /// What it is.
    pub model: &'a Model,
}

/// The lamps on which a rule is, at whatever level they are shown, each head and colour once.
pub fn lamps<'a>(conduct: &Conduct<'a>, terms: Option<&DeviceTerms>) -> Vec<Lamp<'a>> {
    let (of, group) = terms.map(|terms| (terms.of, terms.group.as_ref())).unwrap_or_default();
    let mut told: HashSet<(&str, &str)> = HashSet::new();
    let one = |one: Shining<'_, 'a>| Lamp { head: &one.head.id, colour: &one.emitter.colour, model: one.model };
    let shown = all_shining(conduct).filter(|one| of.fits(one.model) && one.is_in(group)).map(one);
    shown.filter(|lamp| told.insert((lamp.head, lamp.colour))).collect()
}

/// One way in which one emitter is shown, and in which states.
pub(super) struct Shining<'c, 'a> {
    pub head: &'a Head,
    pub model: &'a Model,
    pub emitter: &'a Emitter,
    pub shown: &'c Shown<'a>,
    pub states: &'c Region,
}

impl Shining<'_, '_> {
    fn is_in(&self, group: Option<&String>) -> bool {
        group.is_none_or(|group| self.head.groups.contains(group))
    }
}

impl DeviceKind {
    /// Of which heads a rule speaks.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Any => "each warning head",
            Self::AllRound => "each head that lights all round",
            Self::Directional => "each head that looks one way",
        }
    }

    fn fits(self, model: &Model) -> bool {
        match self {
            Self::Any => true,
            Self::AllRound => model.all_round,
            Self::Directional => !model.all_round,
        }
    }
}

/// Everything that warning heads show and the limit speaks of.
pub(super) fn shining<'c, 'a>(conduct: &'c Conduct<'a>, ask: &Ask<'_>) -> Vec<Shining<'c, 'a>> {
    let (of, light) = ask.device.terms.map(|terms| (terms.of, terms.light)).unwrap_or_default();
    let asked = |one: &Shining<'c, 'a>| {
        let kind = of.fits(one.model);
        let dimmed = one.shown.level < Share::new(1.0);
        let level = match light {
            DeviceLight::Any => true,
            DeviceLight::Full => !dimmed,
            DeviceLight::Dimmed => dimmed,
        };
        let grouped = one.is_in(ask.device.terms.and_then(|terms| terms.group.as_ref()));
        let class = ask.device.class.is_none_or(|(ruleset, class)| one.model.class(ruleset) == Some(class));
        kind && level && grouped && class && ask.device.colour.is_none_or(|colour| one.emitter.colour == colour)
    };
    all_shining(conduct).filter(asked).collect()
}

/// Everything that warning heads show.
fn all_shining<'c, 'a>(conduct: &'c Conduct<'a>) -> impl Iterator<Item = Shining<'c, 'a>> {
    let one = |(states, at, shown): (&'c Region, usize, &'c Shown<'a>)| {
        let head = conduct.package.heads.get(at)?;
        let model = conduct.package.models.get(head.model)?;
        let emitter = model.emitters.get(shown.show.emitter)?;
        Some(Shining { head, model, emitter, shown, states })
    };
    let warning = conduct.shown().filter(|(_, _, shown)| shown.show.role == Role::Warning);
    warning.filter_map(one)
}

/// For each head and colour what `of` makes of the ways in which it is shown; equal values of one are found once, in
/// all their states.
pub(super) fn each_emitter<'c, 'a>(
    conduct: &'c Conduct<'a>,
    ask: &Ask<'_>,
    of: impl Fn(&Shining<'c, 'a>) -> Measured,
) -> Vec<Measured> {
    each_emitter_of(conduct, ask, |one| Some(of(one)))
}

/// The same, of those ways that `of` has something to say of.
pub(super) fn each_emitter_of<'c, 'a>(
    conduct: &'c Conduct<'a>,
    ask: &Ask<'_>,
    of: impl Fn(&Shining<'c, 'a>) -> Option<Measured>,
) -> Vec<Measured> {
    let mut found: Vec<Measured> = Vec::new();
    for one in shining(conduct, ask) {
        let Some(mut measured) = of(&one) else { continue };
        measured.head = Some(one.head.id.clone());
        measured.emitter = Some(one.emitter.colour.clone());
        measured.witness = Witness { head: Some(one.head.id.clone()), ..measured.witness };
        let same = |known: &&mut Measured| known.emitter == measured.emitter && known.value == measured.value;
        // The ways of one head stand together.
        let of_head = found.iter_mut().rev().take_while(|known| known.head == measured.head);
        match of_head.into_iter().find(same) {
            Some(known) => known.states = known.states.take().map(|known| conduct.space().or(&known, one.states)),
            None => found.push(Measured { states: Some(one.states.clone()), ..measured }),
        }
    }
    found.extend(never_so(conduct, ask));
    found
}

/// Emitters that are shown, and never at the level of which the rule speaks: what they would give there is not known.
fn never_so(conduct: &Conduct<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    let Some(terms) = ask.device.terms.filter(|terms| terms.light != DeviceLight::Any) else { return Vec::new() };
    let at_any = DeviceTerms { light: DeviceLight::Any, ..terms.clone() };
    let any = Ask { device: DeviceAsk { terms: Some(&at_any), ..ask.device }, ..*ask };
    let name = |one: &Shining<'_, '_>| (one.head.id.clone(), one.emitter.colour.clone());
    let mut told: HashSet<(String, String)> = shining(conduct, ask).iter().map(name).collect();
    let why = if terms.light == DeviceLight::Full { "it is never shown at full light" } else { "it is never dimmed" };
    let mut found = Vec::new();
    for one in shining(conduct, &any) {
        if told.insert(name(&one)) {
            let mut measured = Measured::new(Value::Unknown(why.to_owned()));
            (measured.head, measured.emitter) = (Some(one.head.id.clone()), Some(one.emitter.colour.clone()));
            found.push(measured);
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

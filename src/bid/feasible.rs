//! Whether any device of a catalogue can meet the demands of a draft. Every bound here lies on the side of the device: what
//! is told to be out of reach is so however the device is aimed and whatever pattern it runs, as far as its papers go.

use super::contradict::COLOURS;
use super::layout::same_zone;
use super::single::{single_lamp, sound_level};
use super::{Bid, Cause, Clause, Fault, Row};
use crate::measure::{Bare, IntoZone, Method, bare, looks_into};
use crate::package::{Model, SounderModel};
use crate::quantity::Quantity;
use crate::ruleset::{Allowed, Demand, Require, Strength};
use crate::units::{Degrees, Dimension, OpticalPower, Share, Unit, format_number};

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
    /// Demands that some device can meet, and what it takes.
    pub within_reach: Vec<String>,
    /// What was not looked at, and why.
    pub unseen: Vec<String>,
}

/// A look at a draft that goes on.
pub(super) struct Look<'a> {
    pub bid: &'a Bid,
    pub devices: Devices<'a>,
    zones: Zones,
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
fn is_permitted(bid: &Bid, asked: (&Clause, &Row), colour: &str) -> bool {
    let zone = |clause: &Clause, row: &Row| bid.layout_of(clause)?.zone(row.zone.as_ref()?);
    let here = |clause: &Clause, row: &Row| {
        let use_meets = row.purpose.is_none() || asked.1.purpose.is_none() || row.purpose == asked.1.purpose;
        let zone_meets = row.zone.is_none()
            || zone(clause, row).zip(zone(asked.0, asked.1)).is_some_and(|(one, other)| same_zone(one, other));
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
fn short(value: f64) -> String {
    let digits = match value.abs() {
        size if size >= 100.0 => 0,
        size if size >= 1.0 => 2,
        _ => 4,
    };
    format_number(value, digits)
}

/// What every device could give into zones, each zone looked at once, whatever asks for it.
#[derive(Default)]
struct Zones {
    known: Vec<(Vec<Degrees>, Vec<Option<IntoZone>>)>,
    /// How often light was asked of a device.
    looks: usize,
}

/// Some seconds of work. What is more is bounded, and told not to have been looked at.
const MOST_LOOKS: usize = 20_000_000;

impl Zones {
    /// For each emitter of the models, lit all the time.
    fn sums(&mut self, models: &[Model], points: &[Degrees]) -> &[Option<IntoZone>] {
        let known = self.known.iter().position(|(known, _)| known == points);
        let at = known.unwrap_or_else(|| {
            let work = self.looks.saturating_add(looks_into(points).saturating_mul(bare(models).count()));
            let search = work <= MOST_LOOKS;
            if search {
                self.looks = work;
            }
            self.known.push((points.to_vec(), bare(models).map(|bare| bare.into_zone(points, search)).collect()));
            self.known.len() - 1
        });
        self.known.get(at).map_or(&[], |(_, sums)| sums)
    }
}

/// How many flashes a minute the required clauses ask of a lamp at least, in this use.
pub(super) fn least_rate(bid: &Bid, purpose: &Option<String>) -> Option<f64> {
    let of_rate = |clause: &&Clause| {
        let named = clause.quantity.is_some_and(|name| ["flash-rate", "device-flash-rate"].contains(&name));
        named && clause.strength == Strength::Required
    };
    let rows = bid.clauses.iter().filter(of_rate).flat_map(|clause| clause.rows.iter().map(move |row| (clause, row)));
    let rates = rows.filter_map(|(clause, row)| {
        // A rate that only some lamps must have, or that holds in another use, bounds no other.
        let of_all = row.class.is_none() && row.colour.is_none();
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
    let dark = (least_rate(bid, purpose).unwrap_or(0.0) * dark).clamp(0.0, 1.0);
    Share::new(1.0 - dark * (1.0 - glow))
}

/// Under what a head is taken to give so much, which a mounted one hardly does.
fn assumed(bid: &Bid, clause: &Clause, purpose: &Option<String>, lit: Share) -> String {
    let dark = bid.layout_of(clause).and_then(|layout| layout.dark_at_least);
    let light = match (least_rate(bid, purpose), dark) {
        (Some(rate), Some(dark)) => format!(
            "lit {} % of the time, since it flashes {} times a minute or more and is dark for {dark} each time",
            format_number(lit.value() * 100.0, 0),
            format_number(rate, 0)
        ),
        _ => "lit all the time, since no required flash rate with a dark time bounds it".to_owned(),
    };
    format!("taken: {light}; at the best aim tried; nothing before it; as its papers say; a fitted head gives less")
}

/// Heads that a zone's total takes. False where nothing was looked at.
fn zone_total(look: &mut Look<'_>, clause: &Clause, row: &Row, limit: (f64, Unit)) -> bool {
    let points =
        row.zone.as_ref().zip(look.bid.layout_of(clause)).map(|(zone, layout)| layout.points_about_middle(zone));
    // From a ring a lamp is seen under other angles, by where it stands.
    let on_a_ring = matches!(clause.method, Some(Method::Ring { .. }));
    let Some(points) = points.filter(|points| !points.is_empty() && !on_a_ring) else { return false };
    if look.devices.models.is_empty() || limit.0 <= 0.0 {
        return false;
    }
    let lit = most_lit(look.bid, clause, &row.purpose);
    let wanted = |bare: &Bare<'_>| row.colour.as_ref().is_none_or(|colour| bare.emitter.colour == *colour);
    let sums = look.zones.sums(look.devices.models, &points);
    let candidates = |of: &dyn Fn(&IntoZone) -> Option<OpticalPower>| -> Vec<Candidate<'_>> {
        let all = bare(look.devices.models).zip(sums).filter(|(bare, _)| wanted(bare));
        let one = |sum: &IntoZone| of(sum).map(|power| sum.lit(power, lit).value());
        all.map(|(bare, sum)| (name_of(&bare), sum.as_ref().and_then(one), bare.emitter.colour.as_str())).collect()
    };
    let (tried, bounds) = (candidates(&|sum| sum.tried), candidates(&|sum| Some(sum.most)));
    let is_here = |(_, _, colour): &Candidate<'_>| is_permitted(look.bid, (clause, row), colour);
    let (permitted, others): (Vec<Candidate<'_>>, Vec<Candidate<'_>>) = tried.into_iter().partition(is_here);
    let bounds: Vec<Candidate<'_>> = bounds.into_iter().filter(is_here).collect();
    let here = std::iter::once(clause.id.as_str()).chain(row.scope()).collect::<Vec<_>>().join("/");
    if permitted.is_empty() {
        let says = "no device of the catalogue shows a colour that is permitted there";
        let help = "permit a colour that is made, or add the catalogue of a device that shows one";
        look.found.faults.push(Fault::on(clause, Cause::CannotBeMet, "no-device", says, help).in_row(row));
        return true;
    }
    let unknown = bounds.iter().any(|(_, value, _)| value.is_none());
    let Some((strongest, bound)) = best_of(&bounds).filter(|(_, bound)| *bound > 0.0) else {
        look.found
            .unseen
            .push(format!("{here}: nothing is known of the light of the devices that are permitted there"));
        return true;
    };
    let shown = |value: f64| short(limit.1.from_base(value));
    let assumed = assumed(look.bid, clause, &row.purpose, lit);
    let best = best_of(&permitted).filter(|(_, most)| *most > 0.0);
    let heads = best.as_ref().map(|(_, most)| (limit.0 / most).ceil());
    let takes = best.as_ref().zip(heads);
    let takes = takes.map(|((name, _), heads)| format!("takes {}, the best being {name} ({assumed})", heads_of(heads)));
    // Only what no aim reaches is out of reach: the aims that were tried are not all.
    match look.bid.most_heads.map(f64::from).filter(|fit| heads.is_none_or(|heads| heads > *fit)) {
        Some(_) if unknown => {
            look.found.unseen.push(format!("{here}: not known of every device that is permitted there"))
        }
        Some(fit) if bound * fit >= limit.0 => {
            let said = best.map_or_else(
                || "not looked at, since these zones and devices are too many to try every aim".to_owned(),
                |(name, most)| {
                    let (many, reach) = (heads_of(fit), shown(most * fit));
                    format!(
                        "not known: {many} of {name} give {reach} of {} {} at the best aim tried",
                        shown(limit.0),
                        limit.1
                    )
                },
            );
            look.found
                .unseen
                .push(format!("{here}: {said}; no aim of any device gives more than {}", shown(bound * fit)));
        }
        Some(fit) => {
            let reach = bound * fit;
            let other = best_of(&others).filter(|(_, value)| *value > 0.0 && value * fit >= limit.0);
            let other = other.map(|(name, value)| {
                format!(
                    "; {name}, whose colour is not permitted there, would take {}",
                    heads_of((limit.0 / value).ceil())
                )
            });
            let says = format!(
                "{} of the best device, {strongest}, give at most {} of {} {}, {} % short{}",
                heads_of(fit),
                shown(reach),
                shown(limit.0),
                limit.1,
                format_number((limit.0 - reach) / limit.0 * 100.0, 0),
                other.unwrap_or_default()
            );
            let help = "lower the total, permit a colour that reaches it, make room for more heads, or add the catalogue of a stronger device";
            look.found.faults.push(Fault::on(clause, Cause::CannotBeMet, "out-of-reach", says, help).in_row(row));
        }
        None => match takes {
            Some(says) if look.bid.most_heads.is_none() && heads.is_some_and(|heads| heads > 1.0) => {
                let help = "say how many are allowed: most-heads = ... in [bid]";
                look.found.faults.push(Fault::on(clause, Cause::Advice, "heads-not-said", says, help).in_row(row));
            }
            Some(takes) => look.found.within_reach.push(format!("{here}: {takes}")),
            None => {
                look.found.unseen.push(format!("{here}: not looked at, since no aim was tried that gives light there"))
            }
        },
    }
    true
}

/// `1 head`, `12 heads`.
fn heads_of(many: f64) -> String {
    format!("{} {}", format_number(many, 0), if many == 1.0 { "head" } else { "heads" })
}

/// The first of those that reach most, of which anything is known.
pub(super) fn best_of(candidates: &[Candidate<'_>]) -> Option<(String, f64)> {
    let known = candidates.iter().filter_map(|(name, value, _)| Some((name.clone(), (*value)?)));
    known.reduce(|best, next| if next.1 > best.1 { next } else { best })
}

pub(super) fn name_of(bare: &Bare<'_>) -> String {
    format!("{} ({})", bare.model.id, bare.emitter.colour)
}

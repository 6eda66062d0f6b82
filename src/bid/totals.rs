//! Totals of zones against a catalogue: whether any aim of any device gives that much, and how many heads it takes at
//! least.

use super::feasible::{Candidate, Look, best_of, is_permitted, least_rate, most_lit, name_of, short};
use super::{Bid, Cause, Clause, Fault, Row};
use crate::measure::{Bare, IntoZone, Method, bare, looks_into};
use crate::package::Model;
use crate::units::{Degrees, OpticalPower, Share, Unit, format_number};

/// How many heads a total takes at least.
#[derive(Clone, Debug, PartialEq)]
pub struct Takes {
    /// The clause and the limit in it.
    pub at: String,
    /// What is asked, with its unit.
    pub asked: String,
    /// How many heads of the best device, at least.
    pub heads: String,
    /// The best device.
    pub device: String,
    /// Under what: the same for many.
    pub taken: String,
}

/// What every device could give into zones, each zone looked at once, whatever asks for it.
#[derive(Default)]
pub(super) struct Zones {
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

/// Under what a head is taken to give so much, which a mounted one hardly does.
fn assumed(bid: &Bid, clause: &Clause, purpose: &Option<String>, lit: Share) -> String {
    let dark = bid.layout_of(clause).and_then(|layout| layout.dark_at_least);
    let light = match (least_rate(bid, clause, purpose), dark) {
        (Some(rate), Some(dark)) => format!(
            "lit {} % of the time, since it flashes {} times a minute or more and is dark for {dark} each time",
            format_number(lit.value() * 100.0, 0),
            format_number(rate, 0)
        ),
        _ => "lit all the time, since no required flash rate with a dark time bounds it".to_owned(),
    };
    format!(
        "{light}; at the best aim tried; nothing before it; as its papers say. A usual pattern is lit for a smaller share of the time and a fitted head is not aimed at its best: then it takes more heads, how many the pattern and the mounting decide"
    )
}

/// Heads that a zone's total takes. False where nothing was looked at.
pub(super) fn zone_total(look: &mut Look<'_>, clause: &Clause, row: &Row, limit: (f64, Unit)) -> bool {
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
    let takes = best.as_ref().zip(heads).map(|((name, _), heads)| Takes {
        at: here.clone(),
        asked: format!("{} {}", shown(limit.0), limit.1),
        heads: format!("at least {}", heads_of(heads)),
        device: name.clone(),
        taken: assumed,
    });
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
            Some(takes) if look.bid.most_heads.is_none() && heads.is_some_and(|heads| heads > 1.0) => {
                let Takes { heads, device, .. } = &takes;
                let says = format!("takes {heads}, the best being {device}; with any usual pattern more");
                let help = "say how many are allowed: most-heads = ... in [bid]";
                look.found.faults.push(Fault::on(clause, Cause::Advice, "heads-not-said", says, help).in_row(row));
                look.found.takes.push(takes);
            }
            Some(takes) => look.found.takes.push(takes),
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

//! How a ruleset looks at a vehicle: its tables `[zones]`, `[levels]`, `[flash]` and `[signal]`.
//!
//! What cannot be read, or is left out since no rule needs it, is replaced by a stand-in, so that the rules are checked in the same run; the error that was
//! logged keeps it from being judged by.

use super::Citation;
use super::citation::Citations;
use crate::diagnostic::Diagnostic;
use crate::flash::RateBy;
use crate::load::reader::{Node, Table, Text, is_id, transpose};
use crate::measure::{BoundaryPoints, ColourInZone, FlashTerms, Level, Protocol, Signal, Zones};
use crate::units::{Degrees, Length, Micros, OpticalPower, Share, Volt};

/// What is not a limit and still decides, each with its source.
pub(super) type Conventions = Vec<(String, Citation)>;

/// Points around a vehicle, and elevations beside the horizontal plane: many times what any requirement asks.
const MOST_POINTS: f64 = 7200.0;
const MOST_ELEVATIONS: usize = 32;
/// Bands of mounting heights.
const MOST_LEVELS: usize = 32;

/// Reads all four tables.
pub(super) fn read_protocol(top: &mut Table<'_>, citations: &Citations, said: &mut Conventions) -> Protocol {
    let zones = top.get("zones").and_then(|node| node.table());
    let (zones, voltage) = zones
        .map_or_else(|| (stand_in_zones(Vec::new()), None), |table| read_zones(Terms::new(table, citations, said)));
    let levels = top.get("levels").and_then(|node| node.table());
    let levels = levels.map(|table| read_levels(table, citations, said)).unwrap_or_default();
    let flash = top.get("flash").and_then(|node| node.table());
    let flash = flash.and_then(|table| read_flash(Terms::new(table, citations, said)));
    let signal = top.get("signal").and_then(|node| node.table());
    let signal = signal.and_then(|table| read_signal(Terms::new(table, citations, said)));
    let stand_in = FlashTerms { dark_at_least: Micros::new(1), lit_above: Share::ZERO, rate: RateBy::CountOverTime };
    let flash = flash.unwrap_or(stand_in);
    let stand_in = Signal { at_least: OpticalPower::ZERO, colour_in_zone: ColourInZone::Axis };
    Protocol { zones, levels, flash, signal: signal.unwrap_or(stand_in), voltage }
}

/// A table whose values may each say where they come from: bare, or `{ value = ..., basis = ... }`.
struct Terms<'d, 'c> {
    table: Table<'d>,
    citations: &'c Citations,
    cite: Citation,
    said: &'c mut Conventions,
}

impl<'d, 'c> Terms<'d, 'c> {
    fn new(mut table: Table<'d>, citations: &'c Citations, said: &'c mut Conventions) -> Self {
        let cite = citations.require(&mut table);
        Self { table, citations, cite, said }
    }

    fn require<T>(&mut self, key: &'static str, name: &str, read: impl Fn(&Node<'_>) -> Option<T>) -> Option<T> {
        let node = self.table.require(key)?;
        self.value(&node, name, read)
    }

    fn get<T>(&mut self, key: &'static str, name: &str, read: impl Fn(&Node<'_>) -> Option<T>) -> Option<T> {
        let node = self.table.get(key)?;
        self.value(&node, name, read)
    }

    fn value<T>(&mut self, node: &Node<'_>, name: &str, read: impl Fn(&Node<'_>) -> Option<T>) -> Option<T> {
        let (value, citation) = if node.is_table() {
            let mut table = node.table()?;
            let value = table.require("value").and_then(|node| read(&node));
            let citation = self.citations.refine(&mut table, &self.cite);
            table.finish();
            (value?, citation?)
        } else {
            (read(node)?, self.cite.clone())
        };
        self.said.push((name.to_owned(), citation));
        Some(value)
    }
}

fn read_zones(mut terms: Terms<'_, '_>) -> (Zones, Option<Volt>) {
    let log = terms.table.log();
    terms.table.require("origin").and_then(|node| node.word(&[("vehicle-centre", ())]));
    let step = terms.require("step", "step between points", |node| {
        node.within(Degrees::new(0.1), Degrees::new(90.0), "0.1 to 90 deg")
    });
    let off_plane = terms.get("off-plane", "points beside the horizontal plane", |node| {
        let elevations = node.list();
        if elevations.len() > MOST_ELEVATIONS {
            let message = format!("{} elevations are more than anyone measures", elevations.len());
            node.error("too-many-points", message, format!("write up to {MOST_ELEVATIONS}"));
            return None;
        }
        let (down, up) = (Degrees::new(-90.0), Degrees::new(90.0));
        Some(elevations.iter().filter_map(|node| node.within(down, up, "-90 to 90 deg")).collect::<Vec<_>>())
    });
    let words =
        [("both", BoundaryPoints::Both), ("first", BoundaryPoints::First), ("unknown", BoundaryPoints::Unknown)];
    let boundary = terms.require("boundary-points", "boundary points", |node| node.word(&words));
    let voltage = terms.get("voltage", "test voltage", |node| node.positive::<Volt>());
    let sectors_node = terms.table.require("sectors");
    let sectors = sectors_node.as_ref().and_then(|node| node.table());
    terms.table.finish();
    terms.said.push(("zones".to_owned(), terms.cite));
    let entries = sectors.map(|table| table.entries()).unwrap_or_default();
    let names = || entries.iter().map(|(name, _)| name.text.clone()).collect();
    let sectors: Vec<_> = entries.iter().map(|(name, node)| read_sector(name, node)).collect();
    let sectors: Option<Vec<_>> = sectors.into_iter().collect();
    let (Some(node), Some(sectors), Some(step), Some(boundary)) = (sectors_node, sectors, step, boundary) else {
        return (stand_in_zones(names()), voltage);
    };
    if sectors.is_empty() {
        node.error("no-zones", "there is no sector", "for example { A = [\"-45 deg\", \"45 deg\"] }");
    }
    let width: f64 = sectors.iter().map(|(_, from, to)| (to.value() - from.value()).abs()).sum();
    if width / step.value() > MOST_POINTS {
        node.error("too-many-points", "these sectors have too many points at this step", "widen the step");
        return (stand_in_zones(names()), voltage);
    }
    let zones = Zones::new(sectors, step, off_plane.unwrap_or_default(), boundary).unwrap_or_else(|error| {
        log.push(Diagnostic::error("bad-zones", error).at(&node.span(), ""));
        stand_in_zones(names())
    });
    (zones, voltage)
}

/// A name and two limits, clockwise.
fn read_sector(name: &Text, node: &Node<'_>) -> Option<(String, Degrees, Degrees)> {
    is_id(name, node.log());
    let (low, high) = (Degrees::new(-360.0), Degrees::new(720.0));
    let parts = node.list();
    let limits: Vec<Option<Degrees>> = parts.iter().map(|node| node.within(low, high, "-360 to 720 deg")).collect();
    match limits.as_slice() {
        [from, to] => Some((name.text.clone(), (*from)?, (*to)?)),
        _ => {
            node.error("bad-sector", "a sector has two limits, clockwise", "for example [\"-45 deg\", \"45 deg\"]");
            None
        }
    }
}

/// Zones with the right names, so that limits which use them are not called mistaken too.
fn stand_in_zones(names: Vec<String>) -> Zones {
    let step = Degrees::new(5.0);
    let sectors = names.into_iter().map(|name| (name, Degrees::ZERO, step)).collect();
    Zones::new(sectors, step, Vec::new(), BoundaryPoints::Both).unwrap_or_else(|_| Zones {
        bearings: Vec::new(),
        sectors: Vec::new(),
        off_plane: Vec::new(),
        boundary_points: BoundaryPoints::Both,
    })
}

fn read_levels(mut table: Table<'_>, citations: &Citations, said: &mut Conventions) -> Vec<Level> {
    let log = table.log();
    let cite = citations.require(&mut table);
    let mut levels: Vec<(Level, Text)> = Vec::new();
    let entries: Vec<_> = table.entries().into_iter().filter(|(name, _)| name.text != "cite").collect();
    if let Some((name, node)) = entries.get(MOST_LEVELS) {
        let message = format!("`{}` is one level too many: up to {MOST_LEVELS} are read", name.text);
        node.error("too-many-levels", message, "a level is a band of mounting heights that is judged on its own");
    }
    for (name, node) in entries.into_iter().take(MOST_LEVELS) {
        is_id(&name, log);
        let Some(band) = node.table() else { continue };
        let mut band = band.named(format!("level `{}`", name.text));
        let mut height = |key| transpose(band.get(key).map(|node| node.quantity::<Length>()));
        let ends = (height("from"), height("above"), height("to"));
        let source = citations.refine(&mut band, &cite);
        band.finish();
        said.extend(source.map(|source| (format!("level {}", name.text), source)));
        let (Some(from), Some(above), Some(to)) = ends else {
            // A stand-in that holds no height, so that limits may name the level.
            let nowhere = Some(Length::new(-1.0));
            levels.push((Level { name: name.text.clone(), from: None, above: None, to: nowhere }, name));
            continue;
        };
        if from.is_some() && above.is_some() {
            node.error("bad-level", "a band begins either `from` or `above` a height", "keep one of them");
        }
        let low = from.or(above);
        if low.zip(to).is_some_and(|(low, to)| to < low || (to == low && above.is_some())) {
            node.error("bad-level", "no height lies in this band", "write its lower end under `from` or `above`");
        }
        let level = Level { name: name.text.clone(), from, above, to };
        if let Some((_, other)) = levels.iter().find(|(other, _)| overlap(other, &level)) {
            let message = format!("the levels `{}` and `{}` share heights", other.text, name.text);
            let error =
                Diagnostic::error("bad-level", message).at(&name.span, "this one").at(&other.span, "and this one");
            log.push(error.help("where one ends `to` a height, let the next begin `above` it"));
        }
        levels.push((level, name));
    }
    levels.into_iter().map(|(level, _)| level).collect()
}

/// Whether some height lies in both bands.
fn overlap(one: &Level, other: &Level) -> bool {
    let low = |level: &Level| level.from.or(level.above).map_or(f64::NEG_INFINITY, Length::value);
    let high = |level: &Level| level.to.map_or(f64::INFINITY, Length::value);
    let (low, high) = (low(one).max(low(other)), high(one).min(high(other)));
    let end = Length::new(low);
    low < high || (low == high && one.holds(end) && other.holds(end))
}

fn read_flash(mut terms: Terms<'_, '_>) -> Option<FlashTerms> {
    let words = [("count-over-time", RateBy::CountOverTime), ("mean-of-cycles", RateBy::MeanOfCycles)];
    let dark = terms.require("dark-at-least", "dark time that ends a flash", |node| node.positive::<Micros>());
    let lit = terms.require("lit-above", "lit means above", |node| {
        node.within(Share::ZERO, Share::new(0.999), "0 to below 100 %")
    });
    let rate = terms.require("rate", "way of counting a rate", |node| node.word(&words));
    terms.table.finish();
    Some(FlashTerms { dark_at_least: dark?, lit_above: lit?, rate: rate? })
}

fn read_signal(mut terms: Terms<'_, '_>) -> Option<Signal> {
    let words = [("axis", ColourInZone::Axis), ("light", ColourInZone::Light)];
    let at_least = terms.require("at-least", "signal", |node| node.positive::<OpticalPower>());
    let colour = terms.require("colour-in-zone", "colour in a zone", |node| node.word(&words));
    terms.table.finish();
    Some(Signal { at_least: at_least?, colour_in_zone: colour? })
}

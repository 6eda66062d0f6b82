//! Zones and levels as a bid names them: where each begins and ends, so that a clause on one of them can be tested.

use crate::geometry::{direction, fold};
use crate::measure::Level;
use crate::ruleset::Ruleset;
use crate::units::{Degrees, Length, Micros, Share, Unit, Volt, format_number};

/// The zones and levels of one ruleset.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Its name: the ruleset's.
    pub id: String,
    /// Each zone, clockwise from one bearing to another.
    pub zones: Vec<(String, Degrees, Degrees)>,
    /// How far apart points are looked at.
    pub step: Option<Degrees>,
    /// Each level and its band of heights.
    pub levels: Vec<Level>,
    /// How long it is dark between two flashes.
    pub dark_at_least: Option<Micros>,
    /// Which share of its peak light has to exceed to count as lit.
    pub lit_above: Option<Share>,
    /// The voltage at which figures hold.
    pub voltage: Option<Volt>,
}

/// A zone is not looked at more finely: a point a degree.
const MOST_POINTS: usize = 361;

impl Layout {
    /// That of a ruleset, where it has zones or levels.
    pub fn of(ruleset: &Ruleset) -> Option<Self> {
        let protocol = &ruleset.protocol;
        let zones: Vec<(String, Degrees, Degrees)> =
            protocol.zones.sectors.iter().map(|zone| (zone.name.clone(), zone.from, zone.to)).collect();
        let used = !zones.is_empty() || !protocol.levels.is_empty();
        used.then(|| Self {
            id: ruleset.id.clone(),
            step: protocol.zones.sectors.first().and_then(|zone| {
                let steps = zone.points(crate::measure::Boundary::Both).len().checked_sub(1)?;
                let steps = f64::from(u32::try_from(steps).ok().filter(|steps| *steps > 0)?);
                Some(Degrees::new((zone.to.value() - zone.from.value()) / steps))
            }),
            zones,
            levels: protocol.levels.clone(),
            // A stand-in where no rule needs it says nothing.
            dark_at_least: Some(protocol.flash.dark_at_least).filter(|dark| dark.get() > 1),
            voltage: protocol.voltage,
            lit_above: Some(protocol.flash.lit_above).filter(|share| *share > Share::ZERO),
        })
    }

    /// The zone called `name`.
    pub fn zone(&self, name: &str) -> Option<(Degrees, Degrees)> {
        self.zones.iter().find(|(known, _, _)| known == name).map(|(_, from, to)| (*from, *to))
    }

    /// The level called `name`.
    pub fn level(&self, name: &str) -> Option<&Level> {
        self.levels.iter().find(|level| level.name == name)
    }

    /// Where each zone and level begins and ends, in words: without that no clause that names one can be tested.
    pub fn describe(&self) -> Vec<String> {
        let number = |value: f64| format_number(value, 1).trim_end_matches(".0").to_owned();
        let mut said = Vec::new();
        if !self.zones.is_empty() {
            let zone = |(name, from, to): &(String, Degrees, Degrees)| {
                format!("{name} from {} to {} deg", number(from.value()), number(to.value()))
            };
            let zones: Vec<String> = self.zones.iter().map(zone).collect();
            said.push(format!("zones, clockwise, 0 deg straight ahead: {}", zones.join("; ")));
        }
        said.extend(
            self.step.map(|step| format!("a point every {} deg of a zone, its ends included", number(step.value()))),
        );
        for level in &self.levels {
            let ends = [("from", level.from), ("above", level.above), ("to", level.to)];
            let ends: Vec<String> =
                ends.iter().filter_map(|(word, end)| end.map(|end| format!("{word} {}", height(end)))).collect();
            let ends = if ends.is_empty() { "any height".to_owned() } else { ends.join(" ") };
            said.push(format!("level {}: optical centres {ends} above the ground", level.name));
        }
        said.extend(
            self.dark_at_least.map(|dark| format!("two flashes are two where it is dark between them for {dark}")),
        );
        said.extend(
            self.lit_above
                .map(|share| format!("light up to {} % of its peak counts as dark", number(share.value() * 100.0))),
        );
        said.extend(
            self.voltage.map(|voltage| format!("figures hold at {} V at the lamp", format_number(voltage.value(), 1))),
        );
        said
    }

    /// The points of a zone, counted from its middle, clockwise; none without a step, or where it is finer than a degree
    /// all round.
    pub fn points_about_middle(&self, name: &str) -> Vec<Degrees> {
        let (Some((from, to)), Some(step)) = (self.zone(name), self.step) else { return Vec::new() };
        let width = to.value() - from.value();
        let steps = (width / step.value()).round();
        let at = (0_u32..).map(f64::from).take_while(|at| *at <= steps);
        let points: Vec<Degrees> =
            at.take(MOST_POINTS + 1).map(|at| Degrees::new(at * step.value() - width / 2.0)).collect();
        if points.len() > MOST_POINTS { Vec::new() } else { points }
    }
}

/// As the trade measures it, and in metres.
fn height(of: Length) -> String {
    let inches =
        Unit::parse("in").map(|unit| format!("{} in", format_number(of.in_unit(unit), 1).trim_end_matches(".0")));
    format!("{} ({} m)", inches.unwrap_or_default(), format_number(of.value(), 2))
}

/// Whether two zones are one, whatever they are called and however their bearings are written.
pub(super) fn same_zone(one: (Degrees, Degrees), other: (Degrees, Degrees)) -> bool {
    let near = |one: Degrees, other: Degrees| {
        (direction(fold(one), Degrees::ZERO) - direction(fold(other), Degrees::ZERO)).length() < 1e-9
    };
    let width = |zone: (Degrees, Degrees)| zone.1.value() - zone.0.value();
    near(one.0, other.0) && (width(one) - width(other)).abs() < 1e-9
}

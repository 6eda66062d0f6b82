//! Zones, levels and flashes as a bid names them: where each begins and ends, so that a clause on one of them can be tested.

use super::Free;
use crate::flash::RateBy;
use crate::geometry::{direction, fold};
use crate::measure::{BoundaryPoints, ColourInZone, Level, Protocol};
use crate::ruleset::{Basis, Citation, Ruleset};
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
    /// Where each of these comes from, by its name; and what else decides how the vehicle is looked at.
    pub terms: Vec<Free>,
}

/// Names under which rulesets cite what stands in a layout.
const ZONES: &str = "zones";
const STEP: &str = "step between points";
const DARK: &str = "dark time that ends a flash";
const LIT: &str = "lit means above";
const VOLTAGE: &str = "test voltage";

/// A zone is not looked at more finely: a point a degree.
const MOST_POINTS: usize = 361;

impl Layout {
    /// That of a ruleset, where it has zones or levels, or says what counts as two flashes.
    pub fn of(ruleset: &Ruleset) -> Option<Self> {
        let protocol = &ruleset.protocol;
        let zones: Vec<(String, Degrees, Degrees)> =
            protocol.zones.sectors.iter().map(|zone| (zone.name.clone(), zone.from, zone.to)).collect();
        // A stand-in where no rule needs it says nothing.
        let dark_at_least = Some(protocol.flash.dark_at_least).filter(|dark| dark.get() > 1);
        let used = !zones.is_empty() || !protocol.levels.is_empty() || dark_at_least.is_some();
        used.then(|| Self {
            id: ruleset.id.clone(),
            step: protocol.zones.sectors.first().and_then(|zone| {
                let steps = zone.points(crate::measure::Boundary::Both).len().checked_sub(1)?;
                let steps = f64::from(u32::try_from(steps).ok().filter(|steps| *steps > 0)?);
                Some(Degrees::new((zone.to.value() - zone.from.value()) / steps))
            }),
            zones,
            levels: protocol.levels.clone(),
            dark_at_least,
            voltage: protocol.voltage,
            lit_above: Some(protocol.flash.lit_above).filter(|share| *share > Share::ZERO),
            terms: ruleset.conventions.iter().map(|(name, source)| term(&ruleset.protocol, name, source)).collect(),
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
            said.push(self.sourced(ZONES, format!("zones, clockwise, 0 deg straight ahead: {}", zones.join("; "))));
        }
        let step = self.step.map(|step| format!("a point every {} deg of a zone", number(step.value())));
        said.extend(step.map(|step| self.sourced(STEP, step)));
        for level in &self.levels {
            let ends = [("from", level.from), ("above", level.above), ("to", level.to)];
            let ends: Vec<String> =
                ends.iter().filter_map(|(word, end)| end.map(|end| format!("{word} {}", height(end)))).collect();
            let ends = if ends.is_empty() { "any height".to_owned() } else { ends.join(" ") };
            let name = format!("level {}", level.name);
            said.push(self.sourced(&name, format!("{name}: optical centres {ends} above the ground")));
        }
        let dark =
            self.dark_at_least.map(|dark| format!("two flashes are two where it is dark between them for {dark}"));
        said.extend(dark.map(|dark| self.sourced(DARK, dark)));
        let lit = self.lit_above.map(|share| number(share.value() * 100.0));
        said.extend(lit.map(|share| self.sourced(LIT, format!("light up to {share} % of its peak counts as dark"))));
        let voltage = self.voltage.map(|voltage| format_number(voltage.value(), 1));
        said.extend(voltage.map(|voltage| self.sourced(VOLTAGE, format!("figures hold at {voltage} V at the lamp"))));
        let more = self.terms.iter().filter(|term| !self.is_figure(&term.says));
        said.extend(more.map(|term| format!("{} ({})", term.says, cited(term))));
        said
    }

    /// A figure with where it comes from.
    fn sourced(&self, name: &str, says: String) -> String {
        let source = self.terms.iter().find(|term| term.says == name).map_or("source not said".to_owned(), cited);
        format!("{says} ({source})")
    }

    /// Whether this is the name of something that stands in the layout with its figure.
    fn is_figure(&self, name: &str) -> bool {
        let level = name.strip_prefix("level ").is_some_and(|level| self.level(level).is_some());
        level || [ZONES, STEP, DARK, LIT, VOLTAGE].contains(&name)
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

fn cited(term: &Free) -> String {
    let basis = term.basis.map_or("basis not said", Basis::word);
    format!("{} [{basis}]", term.source.as_deref().unwrap_or("source not said"))
}

/// What a ruleset cites, by its name where its figure stands in the layout, else in words.
fn term(protocol: &Protocol, name: &str, source: &Citation) -> Free {
    let says = match name {
        "boundary points" => match protocol.zones.boundary_points {
            BoundaryPoints::Both => "a point on a dividing line belongs to both zones".to_owned(),
            BoundaryPoints::First => "a point on a dividing line belongs to the zone that it begins".to_owned(),
            BoundaryPoints::Unknown => {
                "not known whether a point on a dividing line belongs to both zones or to the one that it begins: \
                 look it up; until then both have to be met"
                    .to_owned()
            }
        },
        "points beside the horizontal plane" => {
            let plane = protocol.zones.off_plane.iter().map(|at| format!("{} deg", at.value()));
            format!("points off the horizontal plane: {} from it", plane.collect::<Vec<_>>().join(", "))
        }
        "signal" => {
            let least = format_number(protocol.signal.at_least.value(), 0);
            format!("a signal reaches a point where a head gives it at least {least} cd.s/min")
        }
        "colour in a zone" => match protocol.signal.colour_in_zone {
            ColourInZone::Axis => "a head shows its colour in the zone into which its axis points".to_owned(),
            ColourInZone::Light => "a head shows its colour in each zone that its signal reaches".to_owned(),
        },
        "way of counting a rate" => match protocol.flash.rate {
            RateBy::CountOverTime => "a flash rate is the flashes counted, by the time they took".to_owned(),
            RateBy::MeanOfCycles => "a flash rate is the mean over the cycles of the pattern".to_owned(),
        },
        name => name.to_owned(),
    };
    Free { says, source: Some(source.in_words()), basis: Some(source.basis) }
}

/// As the trade measures it, and in metres.
fn height(of: Length) -> String {
    let inches =
        Unit::parse("in").map(|unit| format!("{} in", format_number(of.in_unit(unit), 1).trim_end_matches(".0")));
    format!("{} ({} m)", inches.unwrap_or_default(), format_number(of.value(), 2))
}

/// Whether a zone lies within another, its ends included.
pub(super) fn lies_within(inner: (Degrees, Degrees), outer: (Degrees, Degrees)) -> bool {
    let width = |zone: (Degrees, Degrees)| zone.1.value() - zone.0.value();
    let ahead = (inner.0.value() - outer.0.value()).rem_euclid(360.0);
    // The last bit of a whole turn is none.
    let ahead = if 360.0 - ahead < 1e-9 { 0.0 } else { ahead };
    width(outer) >= 360.0 - 1e-9 || ahead + width(inner) <= width(outer) + 1e-9
}

/// Whether two zones are one, whatever they are called and however their bearings are written.
pub(super) fn same_zone(one: (Degrees, Degrees), other: (Degrees, Degrees)) -> bool {
    let near = |one: Degrees, other: Degrees| {
        (direction(fold(one), Degrees::ZERO) - direction(fold(other), Degrees::ZERO)).length() < 1e-9
    };
    let width = |zone: (Degrees, Degrees)| zone.1.value() - zone.0.value();
    near(one.0, other.0) && (width(one) - width(other)).abs() < 1e-9
}

//! Lamps and loads of a tree of circuits as they draw in one case: a law, a level over time, a clock.

use super::{Switched, Tree, hanging};
use crate::electrical::Driver;
use crate::flash::{Pulse, Timeline};
use crate::measure::Shown;
use crate::package::{Grade, LoadKind, Package, Plug, Rating, Role, Supply};
use crate::units::{Ampere, Micros, Share, Volt, Watt};

/// Something that draws current at the end of a branch.
#[derive(Clone, Debug)]
pub(super) struct Consumer {
    /// The head's or the load's id.
    pub name: String,
    /// The branch at whose end it hangs, as a place in its tree.
    pub branch: usize,
    /// Its level over time; none for one that is steady.
    pub timeline: Option<Timeline>,
    /// Its level where it is steady.
    pub level: f64,
    /// The clock that keeps its phase.
    pub clock: Option<String>,
    /// What is known of its current.
    pub draw: Draw,
    /// What a load analysis calls it.
    pub kind: LoadKind,
    /// Which of [`Package::heads`](crate::package::Package::heads) it is; none for what is no lamp.
    pub head: Option<usize>,
    /// It charges another battery.
    pub charges: bool,
    /// How well its current is known.
    pub grade: Grade,
}

/// How a current follows level and voltage.
#[derive(Clone, Copy, Debug)]
pub(super) enum Draw {
    /// Nothing is known.
    Unknown,
    /// `standby + (lit - standby) x level`, the latter by the law.
    Known {
        /// At the level 1.
        lit: Ampere,
        /// At the level 0, at any voltage.
        standby: Ampere,
        /// The voltage at which `lit` holds; at any where it is not stated.
        at: Option<Volt>,
        /// The law; none where it is not stated.
        driver: Option<Driver>,
    },
}

impl Draw {
    /// The law is not stated, or the voltage at which the current holds.
    pub fn is_unstated(&self) -> bool {
        match self {
            Self::Unknown | Self::Known { at: None, driver: Some(Driver::ConstantCurrent), .. } => false,
            Self::Known { at, driver, .. } => at.is_none() || driver.is_none(),
        }
    }
}

impl Consumer {
    pub fn grade(&self) -> Option<Grade> {
        match self.draw {
            Draw::Unknown => None,
            Draw::Known { .. } => Some(self.grade),
        }
    }
}

/// Everything that draws current on a tree while its heads show this and these of its loads are switched on.
pub(super) fn consumers(
    package: &Package,
    supply: &Supply,
    tree: &Tree,
    shown: &[Option<Shown<'_>>],
    on: &[bool],
) -> Vec<Consumer> {
    let mut found = Vec::new();
    for (at, shown) in shown.iter().enumerate() {
        let Some(shown) = shown else { continue };
        let circuit = supply.of_heads.get(at).copied().flatten();
        let branch = circuit.and_then(|circuit| tree.circuits.iter().position(|known| *known == circuit));
        let Some((branch, head)) = branch.zip(package.heads.get(at)) else { continue };
        let Some(model) = package.models.get(head.model) else { continue };
        let Some(emitter) = model.emitters.get(shown.show.emitter) else { continue };
        let draw = emitter.current.map_or(Draw::Unknown, |current| Draw::Known {
            lit: current.lit,
            standby: current.standby,
            at: current.at,
            driver: model.driver,
        });
        let timeline = shown.show.pattern.map(|_| dimmed(&shown.timeline(package), shown.level));
        found.push(Consumer {
            name: head.id.clone(),
            branch,
            timeline,
            level: shown.level.value(),
            clock: head.clock.clone(),
            draw,
            kind: kind_of(shown.show.role),
            head: Some(at),
            charges: false,
            grade: emitter.evidence.grade,
        });
    }
    for ((branch, one), on) in hanging(supply, tree).into_iter().zip(on) {
        if *on {
            found.extend(load(supply, branch, &one));
        }
    }
    found
}

/// Warning lamps and the lamps of the road stay lit; light to work by may go out (from memory, the fire standard's list).
fn kind_of(role: Role) -> LoadKind {
    match role {
        Role::Scene => LoadKind::Continuous,
        _ => LoadKind::Minimum,
    }
}

fn load(supply: &Supply, branch: usize, one: &Switched<'_>) -> Option<Consumer> {
    let steady = |name: &str, draw: Draw, grade: Grade| Consumer {
        name: name.to_owned(),
        branch,
        timeline: None,
        level: 1.0,
        clock: None,
        draw,
        kind: LoadKind::Continuous,
        head: None,
        charges: false,
        grade,
    };
    match one {
        Switched::Load(load) => {
            let draw = match (load.at, load.rating) {
                (Plug::Inverter(at), rating) => {
                    let efficiency = supply.inverters.get(at).and_then(|inverter| inverter.efficiency);
                    let output = match rating {
                        Rating::Power(power) => power,
                        Rating::Current(current, voltage, _) => Watt::new(current.value() * voltage.value()),
                    };
                    efficiency.map_or(Draw::Unknown, |share| of_power(Watt::new(output.value() / share.value())))
                }
                (_, Rating::Power(power)) => of_power(power),
                (_, Rating::Current(lit, at, driver)) => {
                    Draw::Known { lit, standby: Ampere::ZERO, at: Some(at), driver }
                }
            };
            let timeline = (load.share.value() < 1.0).then(|| at_times(load.share)).flatten();
            let level = if load.share.value() > 0.0 { 1.0 } else { 0.0 };
            Some(Consumer { timeline, level, kind: load.kind, ..steady(&load.id, draw, load.evidence.grade) })
        }
        Switched::Converter(converter) => {
            let output = converter.voltage.value() * converter.output.value();
            let draw = converter.efficiency.map_or(Draw::Unknown, |share| of_power(Watt::new(output / share.value())));
            let steady = steady(&converter.id, with_idle(draw, converter.idle), Grade::Maker);
            Some(Consumer { charges: converter.charges.is_some(), ..steady })
        }
        Switched::Inverter(at) => {
            let inverter = supply.inverters.get(*at)?;
            let driver = Some(Driver::ConstantCurrent);
            let idle = Draw::Known { lit: inverter.idle, standby: Ampere::ZERO, at: None, driver };
            Some(steady(&inverter.id, idle, Grade::Maker))
        }
    }
}

/// A power, whatever the voltage.
fn of_power(power: Watt) -> Draw {
    let at = Volt::new(1.0);
    Draw::Known {
        lit: Ampere::new(power.value()),
        standby: Ampere::ZERO,
        at: Some(at),
        driver: Some(Driver::ConstantPower),
    }
}

fn with_idle(draw: Draw, idle: Ampere) -> Draw {
    match draw {
        Draw::Known { lit, at, driver, .. } => Draw::Known { lit: lit + idle, standby: idle, at, driver },
        Draw::Unknown => Draw::Unknown,
    }
}

/// On for a share of each minute, at nobody's time: averages and squares are right, and the phase is free.
fn at_times(share: Share) -> Option<Timeline> {
    let period = Micros::new(60_000_000);
    // A share from 0 to 1 of a minute fits.
    #[allow(clippy::cast_possible_truncation)]
    let end = Micros::new((share.value() * 60e6) as i64);
    Timeline::new(period, vec![Pulse { start: Micros::ZERO, end, level: Share::new(1.0) }]).ok()
}

/// A timeline at a lower level.
fn dimmed(timeline: &Timeline, level: Share) -> Timeline {
    if level.value() >= 1.0 {
        return timeline.clone();
    }
    let pulse = |pulse: &Pulse| Pulse { level: pulse.level * level.value(), ..*pulse };
    let pulses = timeline.pulses().iter().map(pulse).collect();
    Timeline::new(timeline.period(), pulses).unwrap_or_else(|_| timeline.clone())
}

//! The currents and voltages of one tree of circuits in one case at one voltage.
//!
//! On one clock the tree is solved at each moment at which something changes, so averages, RMS and peaks are exact;
//! clocks that run free of each other are bounded (`free.rs`). A law that is not stated is tried as the most and as the
//! least that any law draws.

use rustc_hash::FxHashMap;

use super::Tree;
use super::consumer::{Consumer, Draw};
use super::free::Meetings;
use crate::electrical::{Branch, CurrentTrain, Driver, NoOperatingPoint, levels, solve as solve_tree};
use crate::flash::Timeline;
use crate::package::{Feed, Supply, Voltages};
use crate::units::{Ampere, Micros, Ohm, Volt};

/// Between which two figures something lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// At least this.
    pub low: f64,
    /// At most this.
    pub high: f64,
}

/// What flows through one circuit.
#[derive(Clone, Debug)]
pub struct Flow {
    /// Its mean, in amperes.
    pub average: Range,
    /// Root of the mean square, in amperes.
    pub rms: Range,
    /// The greatest, in amperes.
    pub peak: Range,
    /// The lowest voltage at its far end.
    pub voltage: Range,
    /// The current over time, where all is on one clock and known, and how long each thing is on.
    pub train: Option<CurrentTrain>,
}

/// What flows through the circuits of a tree.
#[derive(Clone, Debug)]
pub struct Flows {
    /// What the voltage of the source is called, and what it is.
    pub source: (&'static str, Volt),
    /// One a circuit of the tree; none where the wires cannot carry the load.
    pub flows: Option<Vec<Flow>>,
    /// The mean current of each that draws, in amperes, as [`Case::drawing`](super::Case) lists them.
    pub draws: Vec<Range>,
}

impl Range {
    /// One figure.
    pub const fn exactly(value: f64) -> Self {
        Self { low: value, high: value }
    }

    /// Both.
    pub fn join(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }
}

impl std::ops::Add for Range {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { low: self.low + other.low, high: self.high + other.high }
    }
}

/// Solves a tree at each of some voltages of its source.
pub(super) fn solve(
    supply: &Supply,
    wires: &[Branch],
    consumers: &[Consumer],
    sources: &[(&'static str, Volt)],
) -> Vec<Flows> {
    // What is on when hangs on no voltage and no law.
    let timing = Timing::of(consumers);
    sources.iter().map(|source| solve_at(supply, wires, consumers, &timing, *source)).collect()
}

fn solve_at(
    supply: &Supply,
    wires: &[Branch],
    consumers: &[Consumer],
    timing: &Timing,
    source: (&'static str, Volt),
) -> Flows {
    let unstated = consumers.iter().any(|one| one.draw.is_unstated());
    // Both ends of what an unstated law can be, and of the voltage at which a current holds. Which law draws most
    // changes where a lamp's voltage crosses the one at which its current is stated, so no law is taken for both.
    let laws: &[Driver] = if unstated { &[Driver::Most, Driver::Least] } else { &[Driver::ConstantPower] };
    let solved = laws.iter().map(|law| {
        let bench = Bench { voltages: supply.voltages, wires, consumers, source: source.1, law: *law };
        match timing {
            Timing::OneClock(moments) => bench.of_one_clock(moments).ok(),
            Timing::Free(meetings) => bench.bounded(meetings).ok(),
        }
    });
    // What draws an unknown current lowers the voltage of all that share a wire with it, and so raises what they draw.
    let unknown = consumers.iter().any(|one| matches!(one.draw, Draw::Unknown));
    let solved = solved.reduce(join).flatten().map(|solved| if unknown { solved.open() } else { solved });
    let (flows, draws) = solved.map_or((None, Vec::new()), |solved| (Some(solved.flows), solved.draws));
    Flows { source, flows, draws }
}

/// Whether all that varies keeps its phase.
fn is_exact(consumers: &[Consumer]) -> bool {
    let mut varying = consumers.iter().filter(|one| one.timeline.is_some());
    let Some(first) = varying.next() else { return true };
    let mut others = varying.peekable();
    others.peek().is_none() || (first.clock.is_some() && others.all(|other| other.clock == first.clock))
}

/// When which consumers are on.
enum Timing {
    /// All that varies keeps its phase.
    OneClock(Moments),
    /// Clocks that run free of each other.
    Free(Meetings),
}

/// What happens on one clock.
struct Moments {
    /// Up to when nothing changes, and at which of the levels everything is until then.
    steps: Vec<(Micros, usize)>,
    /// A level for every consumer; each such list once.
    levels: Vec<Vec<f64>>,
}

impl Timing {
    fn of(consumers: &[Consumer]) -> Self {
        let moments = if is_exact(consumers) { Moments::of(consumers) } else { None };
        moments.map_or_else(|| Self::Free(Meetings::of(consumers)), Self::OneClock)
    }
}

impl Moments {
    /// `None` where there is no common period.
    fn of(consumers: &[Consumer]) -> Option<Self> {
        let varying: Vec<&Timeline> = consumers.iter().filter_map(|one| one.timeline.as_ref()).collect();
        let mut known: FxHashMap<Vec<u64>, usize> = FxHashMap::default();
        let mut moments = Self { steps: Vec::new(), levels: Vec::new() };
        for (end, levels) in levels(&varying)? {
            let key: Vec<u64> = levels.iter().map(|level| level.to_bits()).collect();
            let next = moments.levels.len();
            let at = *known.entry(key).or_insert(next);
            if at == next {
                let mut varying = levels.into_iter();
                let level = |one: &Consumer| match one.timeline {
                    Some(_) => varying.next().unwrap_or(0.0),
                    None => one.level,
                };
                moments.levels.push(consumers.iter().map(level).collect());
            }
            moments.steps.push((end, at));
        }
        Some(moments)
    }
}

/// A tree that has an operating point.
pub(super) struct AtWork {
    pub flows: Vec<Flow>,
    pub draws: Vec<Range>,
}

impl AtWork {
    /// Only lower bounds are left.
    fn open(mut self) -> Self {
        for flow in &mut self.flows {
            for range in [&mut flow.average, &mut flow.rms, &mut flow.peak] {
                range.high = f64::INFINITY;
            }
            flow.voltage.low = 0.0;
            flow.train = None;
        }
        self.draws.iter_mut().for_each(|draw| draw.high = f64::INFINITY);
        self
    }
}

fn join(one: Option<AtWork>, other: Option<AtWork>) -> Option<AtWork> {
    let (one, other) = match (one, other) {
        (Some(one), Some(other)) => (one, other),
        // One end has an operating point and the other has none: nothing is sure but the lower bounds.
        (Some(only), None) | (None, Some(only)) => return Some(only.open()),
        (None, None) => return None,
    };
    let joined = |(one, other): (Flow, Flow)| Flow {
        average: one.average.join(other.average),
        rms: one.rms.join(other.rms),
        peak: one.peak.join(other.peak),
        voltage: one.voltage.join(other.voltage),
        train: None,
    };
    let draws = one.draws.into_iter().zip(other.draws).map(|(one, other)| one.join(other)).collect();
    Some(AtWork { flows: one.flows.into_iter().zip(other.flows).map(joined).collect(), draws })
}

/// The wires of a tree, with nothing on them.
pub(super) fn wires(supply: &Supply, tree: &Tree) -> Vec<Branch> {
    let branch = |at: usize| {
        let circuit = tree.circuits.get(at).and_then(|circuit| supply.circuits.get(*circuit));
        let cable = circuit.and_then(|circuit| circuit.cable);
        // A wire that is not described loses nothing here; rules on voltage say that it is not.
        let resistance = cable.map_or(Ohm::ZERO, |cable| cable.wire.resistance());
        Branch { parent: parent(supply, tree, at), resistance, loads: Vec::new() }
    };
    (0..tree.circuits.len()).map(branch).collect()
}

/// The branch that feeds a branch.
fn parent(supply: &Supply, tree: &Tree, branch: usize) -> Option<usize> {
    let circuit = tree.circuits.get(branch).and_then(|circuit| supply.circuits.get(*circuit))?;
    match circuit.from {
        Feed::Circuit(from) => tree.circuits.iter().position(|known| *known == from),
        Feed::Battery(_) | Feed::Converter(_) => None,
    }
}

/// One tree with all laws settled.
pub(super) struct Bench<'a> {
    voltages: Voltages,
    pub(super) wires: &'a [Branch],
    pub(super) consumers: &'a [Consumer],
    pub(super) source: Volt,
    law: Driver,
}

pub(super) type Solved = Result<AtWork, NoOperatingPoint>;

impl Bench<'_> {
    /// The law of a consumer: how much it draws over its standby, at which voltage, by which law.
    pub(super) fn draw(&self, one: &Consumer) -> Option<(Ampere, Ampere, Volt, Driver)> {
        match one.draw {
            Draw::Unknown => None,
            Draw::Known { lit, standby, at: Some(at), driver } => {
                Some((lit - standby, standby, at, driver.unwrap_or(self.law)))
            }
            Draw::Known { lit, standby, at: None, driver: Some(Driver::ConstantCurrent) } => {
                Some((lit - standby, standby, self.source, Driver::ConstantCurrent))
            }
            // It may hold at any of the voltages that are judged.
            Draw::Known { lit, standby, at: None, driver } => {
                let Voltages { battery, regulated, .. } = self.voltages;
                let over = lit - standby;
                let most = self.law != Driver::Least;
                let wide = regulated.value() / battery.value();
                Some(match driver {
                    None => (if most { over * wide } else { over * (1.0 / wide) }, standby, battery, self.law),
                    Some(driver) => {
                        // The current that would be stated at the lowest voltage.
                        let ends = [battery, regulated].map(|at| driver.current(over, at, battery).value());
                        let end = if most { ends[0].max(ends[1]) } else { ends[0].min(ends[1]) };
                        (Ampere::new(end), standby, battery, driver)
                    }
                })
            }
        }
    }

    /// The tree while its consumers are at these levels.
    pub(super) fn loaded(&self, levels: &[f64]) -> Vec<Branch> {
        let mut branches = self.wires.to_vec();
        for (one, level) in self.consumers.iter().zip(levels) {
            let Some((over, standby, at, driver)) = self.draw(one) else { continue };
            let Some(branch) = branches.get_mut(one.branch) else { continue };
            if *level > 0.0 {
                branch.loads.push((driver, over * *level, at));
            }
            if standby.value() > 0.0 {
                branch.loads.push((Driver::ConstantCurrent, standby, at));
            }
        }
        branches
    }

    /// All on one clock: solved wherever anything changes.
    fn of_one_clock(&self, Moments { steps, levels }: &Moments) -> Solved {
        let mut solved = Vec::with_capacity(levels.len());
        // For each moment what each consumer draws.
        let mut drawn: Vec<Vec<f64>> = Vec::with_capacity(levels.len());
        for levels in levels {
            let operating = solve_tree(self.source, &self.loaded(levels))?;
            let of = |(one, level): (&Consumer, &f64)| self.current(one, *level, &operating.voltages);
            drawn.push(self.consumers.iter().zip(levels).map(of).collect());
            solved.push(operating);
        }
        let flow = |branch: usize| {
            let current = |at: &usize| solved.get(*at).and_then(|all| all.currents.get(branch)).copied();
            let steps = steps.iter().map(|(end, at)| (*end, current(at).unwrap_or(Ampere::ZERO))).collect();
            let train = CurrentTrain::stepping(steps);
            let voltages = solved.iter().filter_map(|all| all.voltages.get(branch));
            let voltage = voltages.map(|volts| volts.value()).fold(f64::INFINITY, f64::min);
            let (rms, peak) = (train.rms().value(), train.peak().value());
            let loose = self.is_at_nobodys_time(branch);
            Flow {
                average: Range::exactly(train.average().value()),
                // Of what is on for a share of the time nobody says how long at once: long enough to heat a wire.
                rms: Range { low: rms, high: if loose { peak } else { rms } },
                peak: Range::exactly(peak),
                voltage: Range::exactly(voltage),
                train: (!loose).then_some(train),
            }
        };
        let draw = |at: usize| {
            let current = |moment: &usize| drawn.get(*moment).and_then(|all| all.get(at)).copied().unwrap_or(0.0);
            let steps = steps.iter().map(|(end, moment)| (*end, Ampere::new(current(moment)))).collect();
            Range::exactly(CurrentTrain::stepping(steps).average().value())
        };
        let draws = (0..self.consumers.len()).map(draw).collect();
        Ok(AtWork { flows: (0..self.wires.len()).map(flow).collect(), draws })
    }

    /// What a consumer draws at a level, in amperes.
    fn current(&self, one: &Consumer, level: f64, voltages: &[Volt]) -> f64 {
        let volts = voltages.get(one.branch).copied().unwrap_or(self.source);
        let drawn = self.draw(one).map(|(over, standby, at, driver)| driver.current(over * level, at, volts) + standby);
        drawn.map_or(0.0, Ampere::value)
    }

    /// Whether something is beneath a branch of which only the share of the time is known.
    pub(super) fn is_at_nobodys_time(&self, branch: usize) -> bool {
        let mut consumers = self.consumers.iter().enumerate();
        consumers.any(|(at, one)| one.head.is_none() && one.timeline.is_some() && self.is_beneath(at, branch))
    }

    /// Whether a consumer's current flows through a branch.
    pub(super) fn is_beneath(&self, consumer: usize, branch: usize) -> bool {
        let mut at = self.consumers.get(consumer).map(|one| one.branch);
        while let Some(here) = at {
            if here == branch {
                return true;
            }
            at = self.wires.get(here).and_then(|wire| wire.parent);
        }
        false
    }
}

//! The currents and voltages of one tree of circuits in one case at one voltage.
//!
//! On one clock the tree is solved at each moment at which something changes, so averages, RMS and peaks are exact. What
//! runs free of each other is bounded: with each lamp's current at the source's voltage, and at the voltage left when
//! their worst moments meet. A law that is not stated is tried as the most and as the least that any law draws.

use std::collections::HashMap;

use super::Tree;
use super::consumer::{Consumer, Draw};
use crate::electrical::{Branch, CurrentTrain, Driver, NoOperatingPoint, Together, levels, solve as solve_tree};
use crate::flash::Timeline;
use crate::package::{Feed, Supply};
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
    /// All that flows is on one clock, so the figures are exact.
    pub exact: bool,
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

/// Solves a tree.
pub(super) fn solve(supply: &Supply, tree: &Tree, consumers: &[Consumer], source: (&'static str, Volt)) -> Flows {
    let unstated = consumers.iter().any(|one| matches!(one.draw, Draw::Known { driver: None, at: Some(_), .. }));
    // Both ends of what an unstated law can be. Which law draws most changes where a lamp's voltage crosses the one at
    // which its current is stated, so no law is taken for both.
    let laws: &[Driver] = if unstated { &[Driver::Most, Driver::Least] } else { &[Driver::ConstantPower] };
    let exact = is_exact(consumers);
    let solved = laws.iter().map(|law| {
        let bench = Bench { supply, tree, consumers, source: source.1, law: *law };
        let of_one_clock = if exact { bench.of_one_clock() } else { None };
        of_one_clock.unwrap_or_else(|| bench.bounded()).ok()
    });
    let solved = solved.reduce(join).flatten().map(|mut solved| {
        hide_unknown(supply, tree, consumers, &mut solved);
        solved
    });
    let (flows, draws) = solved.map_or((None, Vec::new()), |solved| (Some(solved.flows), solved.draws));
    Flows { source, flows, draws, exact }
}

/// Whether all that varies keeps its phase.
fn is_exact(consumers: &[Consumer]) -> bool {
    let mut varying = consumers.iter().filter(|one| one.timeline.is_some());
    let Some(first) = varying.next() else { return true };
    let mut others = varying.peekable();
    others.peek().is_none() || (first.clock.is_some() && others.all(|other| other.clock == first.clock))
}

/// A tree that has an operating point.
struct AtWork {
    flows: Vec<Flow>,
    draws: Vec<Range>,
}

fn join(one: Option<AtWork>, other: Option<AtWork>) -> Option<AtWork> {
    let (one, other) = (one?, other?);
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

/// Above something of which nothing is known, only lower bounds are left.
fn hide_unknown(supply: &Supply, tree: &Tree, consumers: &[Consumer], solved: &mut AtWork) {
    for (one, draw) in consumers.iter().zip(&mut solved.draws).filter(|(one, _)| matches!(one.draw, Draw::Unknown)) {
        draw.high = f64::INFINITY;
        let mut at = Some(one.branch);
        while let Some(flow) = at.and_then(|branch| solved.flows.get_mut(branch)) {
            for range in [&mut flow.average, &mut flow.rms, &mut flow.peak] {
                range.high = f64::INFINITY;
            }
            flow.voltage.low = 0.0;
            flow.train = None;
            at = at.and_then(|branch| parent(supply, tree, branch));
        }
    }
}

/// The branch that feeds a branch.
pub(super) fn parent(supply: &Supply, tree: &Tree, branch: usize) -> Option<usize> {
    let circuit = tree.circuits.get(branch).and_then(|circuit| supply.circuits.get(*circuit))?;
    match circuit.from {
        Feed::Circuit(from) => tree.circuits.iter().position(|known| *known == from),
        Feed::Battery(_) | Feed::Converter(_) => None,
    }
}

/// Each way in which moments of several groups can meet; everything at its peak at once where there are too many ways.
fn together(groups: &[Vec<Vec<f64>>]) -> Vec<Vec<f64>> {
    let most = |one: &[f64], other: &[f64]| one.iter().zip(other).map(|(one, other)| one.max(*other)).collect();
    let ways = groups.iter().fold(1_usize, |ways, moments| ways.saturating_mul(moments.len()));
    let mut met: Vec<Vec<f64>> = Vec::new();
    for moments in groups {
        met = match met.is_empty() {
            true => moments.clone(),
            false => met.iter().flat_map(|one| moments.iter().map(|other| most(one, other))).collect(),
        };
        if ways > MOST_MEETINGS {
            met = met.into_iter().reduce(|one, other| most(&one, &other)).into_iter().collect();
        }
    }
    met
}

/// More ways in which clocks that run free can meet are not gone through.
const MOST_MEETINGS: usize = 256;

/// One tree with all laws settled.
struct Bench<'a> {
    supply: &'a Supply,
    tree: &'a Tree,
    consumers: &'a [Consumer],
    source: Volt,
    law: Driver,
}

type Solved = Result<AtWork, NoOperatingPoint>;

impl Bench<'_> {
    fn branches(&self) -> Vec<Branch> {
        let branch = |at: usize| {
            let circuit = self.tree.circuits.get(at).and_then(|circuit| self.supply.circuits.get(*circuit));
            let cable = circuit.and_then(|circuit| circuit.cable);
            // A wire that is not described loses nothing here; rules on voltage say that it is not.
            let resistance = cable.map_or(Ohm::ZERO, |cable| cable.wire.resistance());
            Branch { parent: parent(self.supply, self.tree, at), resistance, loads: Vec::new() }
        };
        (0..self.tree.circuits.len()).map(branch).collect()
    }

    /// The law of a consumer: how much it draws over its standby, at which voltage, by which law.
    fn draw(&self, one: &Consumer) -> Option<(Ampere, Ampere, Volt, Driver)> {
        match one.draw {
            Draw::Unknown => None,
            Draw::Known { lit, standby, at: Some(at), driver } => {
                Some((lit - standby, standby, at, driver.unwrap_or(self.law)))
            }
            Draw::Known { lit, standby, at: None, .. } => {
                Some((lit - standby, standby, self.source, Driver::ConstantCurrent))
            }
        }
    }

    /// The tree while its consumers are at these levels.
    fn loaded(&self, levels: &[f64]) -> Vec<Branch> {
        let mut branches = self.branches();
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

    /// All on one clock: solved wherever anything changes. `None` where there is no common period.
    fn of_one_clock(&self) -> Option<Solved> {
        let varying: Vec<&Timeline> = self.consumers.iter().filter_map(|one| one.timeline.as_ref()).collect();
        let moments = levels(&varying)?;
        let mut known: HashMap<Vec<u64>, usize> = HashMap::new();
        let mut solved = Vec::new();
        let mut steps: Vec<(Micros, usize)> = Vec::with_capacity(moments.len());
        // For each moment what each consumer draws.
        let mut drawn: Vec<Vec<f64>> = Vec::new();
        for (end, levels) in moments {
            let key: Vec<u64> = levels.iter().map(|level| level.to_bits()).collect();
            let at = match known.get(&key) {
                Some(at) => *at,
                None => {
                    let mut varying = levels.into_iter();
                    let level = |one: &Consumer| match one.timeline {
                        Some(_) => varying.next().unwrap_or(0.0),
                        None => one.level,
                    };
                    let levels: Vec<f64> = self.consumers.iter().map(level).collect();
                    match solve_tree(self.source, &self.loaded(&levels)) {
                        Ok(operating) => {
                            let of = |(one, level): (&Consumer, &f64)| self.current(one, *level, &operating.voltages);
                            drawn.push(self.consumers.iter().zip(&levels).map(of).collect());
                            solved.push(operating);
                        }
                        Err(error) => return Some(Err(error)),
                    }
                    known.insert(key, solved.len() - 1);
                    solved.len() - 1
                }
            };
            steps.push((end, at));
        }
        let flow = |branch: usize| {
            let current = |at: &usize| solved.get(*at).and_then(|all| all.currents.get(branch)).copied();
            let steps = steps.iter().map(|(end, at)| (*end, current(at).unwrap_or(Ampere::ZERO))).collect();
            let train = CurrentTrain::stepping(steps);
            let voltages = solved.iter().filter_map(|all| all.voltages.get(branch));
            let voltage = voltages.map(|volts| volts.value()).fold(f64::INFINITY, f64::min);
            Flow {
                average: Range::exactly(train.average().value()),
                rms: Range::exactly(train.rms().value()),
                peak: Range::exactly(train.peak().value()),
                voltage: Range::exactly(voltage),
                // Of what is on for a share of the time nobody says how long at once.
                train: (!self.is_at_nobodys_time(branch)).then_some(train),
            }
        };
        let draw = |at: usize| {
            let current = |moment: &usize| drawn.get(*moment).and_then(|all| all.get(at)).copied().unwrap_or(0.0);
            let steps = steps.iter().map(|(end, moment)| (*end, Ampere::new(current(moment)))).collect();
            Range::exactly(CurrentTrain::stepping(steps).average().value())
        };
        let draws = (0..self.consumers.len()).map(draw).collect();
        Some(Ok(AtWork { flows: (0..self.tree.circuits.len()).map(flow).collect(), draws }))
    }

    /// What a consumer draws at a level, in amperes.
    fn current(&self, one: &Consumer, level: f64, voltages: &[Volt]) -> f64 {
        let volts = voltages.get(one.branch).copied().unwrap_or(self.source);
        let drawn = self.draw(one).map(|(over, standby, at, driver)| driver.current(over * level, at, volts) + standby);
        drawn.map_or(0.0, Ampere::value)
    }

    /// What runs free: between the currents at the source's voltage and those when all are at their peak.
    fn bounded(&self) -> Solved {
        let groups = self.groups();
        let moments: Vec<Vec<Vec<f64>>> = groups.iter().map(|group| self.moments(group)).collect();
        // Clocks that run free of each other meet in every way sooner or later.
        let lowest = self.lowest(&together(&moments))?;
        // What is surely lost: a group alone, at its worst moment. Less than what was solved above.
        let alone: Vec<Vec<Volt>> = moments.iter().map(|moments| self.lowest(moments).unwrap_or_default()).collect();
        let flow = |branch: usize| {
            let beneath = |at: &usize| self.is_beneath(*at, branch);
            let (low, high): (Vec<_>, Vec<_>) = groups
                .iter()
                .filter_map(|group| {
                    let members: Vec<usize> = group.iter().copied().filter(beneath).collect();
                    (!members.is_empty()).then(|| self.trains(&members, &lowest))
                })
                .unzip();
            let (low, high): (Vec<CurrentTrain>, Vec<CurrentTrain>) = (low.concat(), high.concat());
            let (least, most) = (Together::of(&low), Together::of(&high));
            let best = alone.iter().filter_map(|voltages| voltages.get(branch)).map(|volts| volts.value());
            let worst = lowest.get(branch).map_or(0.0, |volts| volts.value());
            Flow {
                average: Range { low: least.average.value(), high: most.average.value() },
                rms: Range { low: least.rms.value(), high: most.rms_bound.value() },
                peak: Range { low: least.peak.value(), high: most.peak_bound.value() },
                voltage: Range { low: worst, high: best.fold(self.source.value(), f64::min).max(worst) },
                train: None,
            }
        };
        let draw = |at: usize| {
            let (low, high) = self.trains(&[at], &lowest);
            Range { low: Together::of(&low).average.value(), high: Together::of(&high).average.value() }
        };
        let draws = (0..self.consumers.len()).map(draw).collect();
        Ok(AtWork { flows: (0..self.tree.circuits.len()).map(flow).collect(), draws })
    }

    /// The lowest voltage at each branch over some moments, each a level for every consumer.
    fn lowest(&self, moments: &[Vec<f64>]) -> Result<Vec<Volt>, NoOperatingPoint> {
        let mut lowest: Vec<Volt> = vec![self.source; self.tree.circuits.len()];
        for levels in moments {
            let voltages = solve_tree(self.source, &self.loaded(levels))?.voltages;
            lowest.iter_mut().zip(voltages).filter(|(old, new)| new < *old).for_each(|(old, new)| *old = new);
        }
        Ok(lowest)
    }

    /// The moments of a group at which most is on: a level for every consumer, nought for those of other groups. Without
    /// a common period all of it is on at once.
    fn moments(&self, group: &[usize]) -> Vec<Vec<f64>> {
        let varying = |at: &usize| Some((*at, self.consumers.get(*at)?.timeline.as_ref()?));
        let (places, timelines): (Vec<usize>, Vec<&Timeline>) = group.iter().filter_map(varying).unzip();
        let mut steady = vec![0.0; self.consumers.len()];
        for at in group.iter().filter(|at| !places.contains(at)) {
            if let Some((level, one)) = steady.get_mut(*at).zip(self.consumers.get(*at)) {
                *level = one.level;
            }
        }
        let peaks = || vec![timelines.iter().map(|timeline| timeline.peak().value()).collect()];
        let steps =
            levels(&timelines).map_or_else(peaks, |steps| steps.into_iter().map(|(_, levels)| levels).collect());
        let mut most: Vec<Vec<f64>> = Vec::new();
        for step in steps {
            let within = |one: &[f64], other: &[f64]| one.iter().zip(other).all(|(one, other)| one <= other);
            if !most.iter().any(|known| within(&step, known)) {
                most.retain(|known| !within(known, &step));
                most.push(step);
            }
        }
        let of_all = |step: Vec<f64>| {
            let mut all = steady.clone();
            for (at, level) in places.iter().zip(step) {
                all.iter_mut().skip(*at).take(1).for_each(|known| *known = level);
            }
            all
        };
        most.into_iter().map(of_all).collect()
    }

    /// Consumers that keep their phases, by place; what is steady goes with the first.
    fn groups(&self) -> Vec<Vec<usize>> {
        let mut groups: Vec<(Option<&str>, Vec<usize>)> = Vec::new();
        let mut steady = Vec::new();
        for (at, one) in self.consumers.iter().enumerate() {
            let clock = one.clock.as_deref();
            if one.timeline.is_none() {
                steady.push(at);
            } else if let Some((_, group)) = groups.iter_mut().find(|(known, _)| known.is_some() && *known == clock) {
                group.push(at);
            } else {
                groups.push((clock, vec![at]));
            }
        }
        let mut groups: Vec<Vec<usize>> = groups.into_iter().map(|(_, group)| group).collect();
        match groups.first_mut() {
            Some(first) => first.extend(steady),
            None => groups.push(steady),
        }
        groups
    }

    /// The trains of a group with the least and with the most that each can draw: one sum, or each alone where the group
    /// has no common period.
    fn trains(&self, members: &[usize], lowest: &[Volt]) -> (Vec<CurrentTrain>, Vec<CurrentTrain>) {
        let mut both = (Vec::new(), Vec::new());
        for one in members.iter().filter_map(|at| self.consumers.get(*at)) {
            let Some((over, standby, at, driver)) = self.draw(one) else { continue };
            let volts = lowest.get(one.branch).copied().unwrap_or(self.source);
            let [mut low, mut high] = [self.source, volts].map(|volts| driver.current(over, at, volts));
            if low > high {
                (low, high) = (high, low);
            }
            // These two turn where the voltage passes the stated one, at which they draw what is stated.
            if (volts..=self.source).contains(&at) {
                match driver {
                    Driver::Most => low = over,
                    Driver::Least => high = over,
                    _ => {}
                }
            }
            let train = |over: Ampere| match &one.timeline {
                Some(timeline) => CurrentTrain::of(timeline, over + standby, standby),
                None => CurrentTrain::steady(over * one.level + standby),
            };
            both.0.push(train(low));
            both.1.push(train(high));
        }
        let sum = |trains: Vec<CurrentTrain>| {
            let sum = CurrentTrain::sum(&trains.iter().collect::<Vec<_>>());
            sum.map_or(trains, |sum| vec![sum])
        };
        (sum(both.0), sum(both.1))
    }

    /// Whether something is beneath a branch of which only the share of the time is known.
    fn is_at_nobodys_time(&self, branch: usize) -> bool {
        let mut consumers = self.consumers.iter().enumerate();
        consumers.any(|(at, one)| !one.is_head && one.timeline.is_some() && self.is_beneath(at, branch))
    }

    /// Whether a consumer's current flows through a branch.
    fn is_beneath(&self, consumer: usize, branch: usize) -> bool {
        let mut at = self.consumers.get(consumer).map(|one| one.branch);
        while let Some(here) = at {
            if here == branch {
                return true;
            }
            at = parent(self.supply, self.tree, here);
        }
        false
    }
}

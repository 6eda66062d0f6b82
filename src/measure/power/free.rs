//! Clocks that run free of each other: bounds of what flows in a tree of circuits.
//!
//! Each lamp is taken with its current at the source's voltage, and at the voltage that is left when the worst moments of
//! all clocks meet, as they do sooner or later.

use super::consumer::Consumer;
use super::flow::{AtWork, Bench, Flow, Range, Solved};
use crate::electrical::{CurrentTrain, Driver, NoOperatingPoint, Together, levels, solve};
use crate::flash::Timeline;
use crate::units::{Ampere, Volt};

/// More ways in which clocks that run free can meet are not gone through.
const MOST_MEETINGS: usize = 256;

/// Clocks that run free of each other.
pub(super) struct Meetings {
    /// Consumers that keep their phases, by place.
    groups: Vec<Vec<usize>>,
    /// The moments of each group at which most is on.
    moments: Vec<Vec<Vec<f64>>>,
    /// The ways in which these meet.
    met: Vec<Vec<f64>>,
}

impl Meetings {
    pub fn of(consumers: &[Consumer]) -> Self {
        let groups = groups(consumers);
        let moments: Vec<Vec<Vec<f64>>> = groups.iter().map(|group| moments(consumers, group)).collect();
        let met = together(&moments);
        Self { groups, moments, met }
    }
}

impl Bench<'_> {
    /// What runs free: between the currents at the source's voltage and those when all are at their peak.
    pub(super) fn bounded(&self, Meetings { groups, moments, met }: &Meetings) -> Solved {
        // Clocks that run free of each other meet in every way sooner or later.
        let lowest = self.lowest(met)?;
        // What is surely lost: a group alone, at its worst moment. Less than what was solved above.
        let alone: Vec<Vec<Volt>> = moments.iter().map(|moments| self.lowest(moments).unwrap_or_default()).collect();
        // Of each consumer the least and the most that it can draw over time.
        let trains: Vec<Option<Ends>> = self.consumers.iter().map(|one| self.ends(one, &lowest)).collect();
        let flow = |branch: usize| {
            let beneath = |at: &usize| self.is_beneath(*at, branch);
            let (mut low, mut high) = (Vec::new(), Vec::new());
            for group in groups {
                let members = group.iter().copied().filter(beneath);
                let (least, most): (Vec<&CurrentTrain>, Vec<&CurrentTrain>) =
                    members.filter_map(|at| trains.get(at)?.as_ref()).map(|(least, most)| (least, most)).unzip();
                if !least.is_empty() {
                    low.extend(summed(&least));
                    high.extend(summed(&most));
                }
            }
            let (least, most) = (Together::of(&low), Together::of(&high));
            let best = alone.iter().filter_map(|voltages| voltages.get(branch)).map(|volts| volts.value());
            let worst = lowest.get(branch).map_or(0.0, |volts| volts.value());
            let loose = self.is_at_nobodys_time(branch);
            let rms = if loose { most.peak_bound } else { most.rms_bound };
            Flow {
                average: Range { low: least.average.value(), high: most.average.value() },
                rms: Range { low: least.rms.value(), high: rms.value() },
                peak: Range { low: least.peak.value(), high: most.peak_bound.value() },
                voltage: Range { low: worst, high: best.fold(self.source.value(), f64::min).max(worst) },
                train: None,
            }
        };
        let draw = |ends: &Option<Ends>| {
            let average = |train: &CurrentTrain| train.average().value();
            ends.as_ref().map_or(Range::exactly(0.0), |(low, high)| Range { low: average(low), high: average(high) })
        };
        let draws = trains.iter().map(draw).collect();
        Ok(AtWork { flows: (0..self.wires.len()).map(flow).collect(), draws })
    }

    /// The lowest voltage at each branch over some moments, each a level for every consumer.
    fn lowest(&self, moments: &[Vec<f64>]) -> Result<Vec<Volt>, NoOperatingPoint> {
        let mut lowest: Vec<Volt> = vec![self.source; self.wires.len()];
        for levels in moments {
            let voltages = solve(self.source, &self.loaded(levels))?.voltages;
            lowest.iter_mut().zip(voltages).filter(|(old, new)| new < *old).for_each(|(old, new)| *old = new);
        }
        Ok(lowest)
    }

    /// The least and the most that a consumer can draw over time, from the source's voltage down to the lowest; none
    /// where nothing is known.
    fn ends(&self, one: &Consumer, lowest: &[Volt]) -> Option<Ends> {
        let (over, standby, at, driver) = self.draw(one)?;
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
        Some((train(low), train(high)))
    }
}

/// The least and the most of something over time.
type Ends = (CurrentTrain, CurrentTrain);

/// The moments of a group at which most is on: a level for every consumer, nought for those of other groups. Without
/// a common period all of it is on at once.
fn moments(consumers: &[Consumer], group: &[usize]) -> Vec<Vec<f64>> {
    let varying = |at: &usize| Some((*at, consumers.get(*at)?.timeline.as_ref()?));
    let (places, timelines): (Vec<usize>, Vec<&Timeline>) = group.iter().filter_map(varying).unzip();
    let mut steady = vec![0.0; consumers.len()];
    for at in group.iter().filter(|at| !places.contains(at)) {
        if let Some((level, one)) = steady.get_mut(*at).zip(consumers.get(*at)) {
            *level = one.level;
        }
    }
    let peaks = || vec![timelines.iter().map(|timeline| timeline.peak().value()).collect()];
    let steps = levels(&timelines).map_or_else(peaks, |steps| steps.into_iter().map(|(_, levels)| levels).collect());
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
fn groups(consumers: &[Consumer]) -> Vec<Vec<usize>> {
    let mut groups: Vec<(Option<&str>, Vec<usize>)> = Vec::new();
    let mut steady = Vec::new();
    for (at, one) in consumers.iter().enumerate() {
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

/// One sum of trains on one clock, or each alone where they have no common period.
fn summed(trains: &[&CurrentTrain]) -> Vec<CurrentTrain> {
    CurrentTrain::sum(trains).map_or_else(|| trains.iter().map(|train| (*train).clone()).collect(), |sum| vec![sum])
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

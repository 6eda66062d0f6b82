//! Current over time: what a head draws over the period of its pattern, the sum of heads on one clock, and what can be
//! said of several that run free.

use crate::flash::{LONGEST_PERIOD, Timeline, common_period};
use crate::units::{Ampere, Micros};

/// More steps than this in one common period are not gone through.
const MOST_STEPS: i64 = 20_000;
/// More levels than this are not held.
const MOST_LEVELS: i64 = 2_000_000;

/// Current over one period, repeated for ever, in steps: each holds up to, not at, its end.
#[derive(Clone, Debug, PartialEq)]
pub struct CurrentTrain {
    period: i64,
    // Ends in order, the last at the period; amperes.
    steps: Vec<(i64, f64)>,
}

/// What several trains of current come to together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Together {
    /// The mean over time: averages add, whatever the phases.
    pub average: Ampere,
    /// Root of the mean square: exact on one clock, else the mean over all phases.
    pub rms: Ampere,
    /// The most that the root of the mean square can be, whatever the phases.
    pub rms_bound: Ampere,
    /// A current that is surely reached.
    pub peak: Ampere,
    /// The most that can flow at once: the same on one clock, else all peaks together.
    pub peak_bound: Ampere,
}

impl CurrentTrain {
    /// The same current at all times.
    pub fn steady(current: Ampere) -> Self {
        Self { period: 1_000_000, steps: vec![(1_000_000, current.value())] }
    }

    /// What a head draws that shows a timeline: `standby` while dark, and in proportion to the level between that and
    /// `lit` at the level 1 (practice: a dimmed driver is switched on and off faster than anybody sees).
    pub fn of(timeline: &Timeline, lit: Ampere, standby: Ampere) -> Self {
        let (lit, standby) = (lit.value(), standby.value());
        let period = timeline.period().get();
        let mut steps: Vec<(i64, f64)> = Vec::with_capacity(2 * timeline.pulses().len() + 1);
        let mut until = 0;
        for pulse in timeline.pulses() {
            if pulse.start.get() > until {
                steps.push((pulse.start.get(), standby));
            }
            steps.push((pulse.end.get(), standby + (lit - standby) * pulse.level.value()));
            until = pulse.end.get();
        }
        if until < period {
            steps.push((period, standby));
        }
        Self { period, steps }
    }

    /// From steps that follow each other, each up to its end; the last ends the period.
    pub fn stepping(steps: Vec<(Micros, Ampere)>) -> Self {
        let steps: Vec<(i64, f64)> = steps.into_iter().map(|(end, current)| (end.get(), current.value())).collect();
        Self { period: steps.last().map_or(1, |(end, _)| *end), steps }
    }

    /// After how much time it repeats.
    pub fn period(&self) -> Micros {
        Micros::new(self.period)
    }

    /// The steps: each ends at its time.
    pub fn steps(&self) -> impl Iterator<Item = (Micros, Ampere)> {
        self.steps.iter().map(|(end, current)| (Micros::new(*end), Ampere::new(*current)))
    }

    /// The sum of trains that keep their phases. `None` where they have no common period of a minute or less, or too
    /// many steps in it.
    pub fn sum(trains: &[&Self]) -> Option<Self> {
        let period =
            trains.iter().try_fold(1, |period, train| common_period(period, train.period, LONGEST_PERIOD.get()))?;
        let steps: i64 = trains
            .iter()
            .map(|train| period / train.period * i64::try_from(train.steps.len()).unwrap_or(i64::MAX / 2))
            .sum();
        if steps > MOST_STEPS {
            return None;
        }
        if let [one] = trains {
            let mut steps = one.steps.clone();
            steps.dedup_by(|next, last| {
                let same = last.1 == next.1;
                if same {
                    last.0 = next.0;
                }
                same
            });
            return Some(Self { period, steps });
        }
        // Where each train steps, and by how much, then all of these in order: the current at the start is what each
        // begins with.
        let mut starts: Vec<f64> = Vec::with_capacity(trains.len());
        let mut ends: Vec<(i64, usize, f64)> = Vec::new();
        for (at, train) in trains.iter().enumerate() {
            starts.push(train.steps.first().map_or(0.0, |(_, current)| *current));
            let next = train.steps.iter().cycle().skip(1);
            for round in 0..period / train.period {
                for ((end, _), (_, after)) in train.steps.iter().zip(next.clone()) {
                    ends.push((round * train.period + end, at, *after));
                }
            }
        }
        // Each train's stand in order already, and where several step at once, in the order of the trains.
        ends.sort_by_key(|(end, _, _)| *end);
        let mut steps: Vec<(i64, f64)> = Vec::with_capacity(ends.len());
        for same in ends.chunk_by(|one, other| one.0 == other.0) {
            // Summed anew rather than stepped, so that nothing drifts.
            let sum: f64 = starts.iter().sum();
            let end = same.first().map_or(period, |(end, _, _)| *end);
            match steps.last_mut() {
                Some(last) if last.1 == sum => last.0 = end,
                _ => steps.push((end, sum)),
            }
            for (_, at, after) in same {
                starts.get_mut(*at).into_iter().for_each(|current| *current = *after);
            }
        }
        Some(Self { period, steps })
    }

    /// Each step with how long it lasts, in microseconds.
    fn lasting(&self) -> impl Iterator<Item = (f64, f64)> {
        let starts = std::iter::once(0).chain(self.steps.iter().map(|(end, _)| *end));
        self.steps.iter().zip(starts).map(|((end, current), start)| (micros(end - start), *current))
    }

    /// Mean over the period.
    pub fn average(&self) -> Ampere {
        Ampere::new(self.lasting().map(|(lasts, current)| lasts * current).sum::<f64>() / micros(self.period))
    }

    /// Root of the mean square over the period.
    pub fn rms(&self) -> Ampere {
        Ampere::new(self.mean_square().sqrt())
    }

    fn mean_square(&self) -> f64 {
        self.lasting().map(|(lasts, current)| lasts * current * current).sum::<f64>() / micros(self.period)
    }

    /// The greatest current.
    pub fn peak(&self) -> Ampere {
        Ampere::new(self.steps.iter().map(|(_, current)| *current).fold(0.0, f64::max))
    }

    /// The least current.
    fn least(&self) -> f64 {
        self.steps.iter().map(|(_, current)| *current).fold(f64::INFINITY, f64::min)
    }

    /// What an alternating-current clamp would show: the RMS without the average.
    pub fn ripple(&self) -> Ampere {
        Ampere::new((self.mean_square() - self.average().value().powi(2)).max(0.0).sqrt())
    }

    /// Times during which more than `threshold` flows: how long, and the greatest current in it; one that fills the
    /// period lasts for ever and has no length.
    pub fn above(&self, threshold: Ampere) -> Vec<(Option<Micros>, Ampere)> {
        let over = |current: f64| current > threshold.value();
        if self.steps.iter().all(|(_, current)| over(*current)) {
            return vec![(None, self.peak())];
        }
        let mut times: Vec<(i64, f64)> = Vec::new();
        let (mut start, mut open) = (0, false);
        for (end, current) in &self.steps {
            match times.last_mut().filter(|_| open) {
                Some((lasts, peak)) if over(*current) => (*lasts, *peak) = (*lasts + end - start, peak.max(*current)),
                _ if over(*current) => times.push((end - start, *current)),
                _ => {}
            }
            (start, open) = (*end, over(*current));
        }
        // One that goes on over the end of the period is one.
        let begins = self.steps.first().is_some_and(|(_, current)| over(*current));
        if begins
            && open
            && times.len() > 1
            && let Some((lasts, peak)) = times.pop()
        {
            times.first_mut().into_iter().for_each(|first| *first = (first.0 + lasts, first.1.max(peak)));
        }
        times.into_iter().map(|(lasts, peak)| (Some(Micros::new(lasts)), Ampere::new(peak))).collect()
    }
}

impl Together {
    /// Groups that run free of each other, each keeping its own phases.
    ///
    /// Over all phases the mean of the square is the square of the mean plus the variances; by Minkowski's inequality
    /// the root of the mean square never exceeds the sum of the roots.
    pub fn of(groups: &[CurrentTrain]) -> Self {
        let sum = |of: fn(&CurrentTrain) -> f64| groups.iter().map(of).sum::<f64>();
        let average = sum(|train| train.average().value());
        let variances = sum(|train| (train.mean_square() - train.average().value().powi(2)).max(0.0));
        let least = sum(CurrentTrain::least);
        let surely = |train: &CurrentTrain| least - train.least() + train.peak().value();
        Self {
            average: Ampere::new(average),
            rms: Ampere::new((average * average + variances).sqrt()),
            rms_bound: Ampere::new(sum(|train| train.rms().value())),
            peak: Ampere::new(groups.iter().map(surely).fold(0.0, f64::max)),
            peak_bound: Ampere::new(sum(|train| train.peak().value())),
        }
    }
}

/// Over the common period of lights that keep their phases: up to when nothing changes, and the level of each. `None`
/// where they have no common period of a minute or less, or change too often in it.
pub fn levels(timelines: &[&Timeline]) -> Option<Vec<(Micros, Vec<f64>)>> {
    let period = |all, one: &&Timeline| common_period(all, one.period().get(), LONGEST_PERIOD.get());
    let period = timelines.iter().try_fold(1, period)?;
    let changes = |one: &&Timeline| 2 * i64::try_from(one.pulses().len()).unwrap_or(MOST_STEPS);
    let steps: i64 = timelines.iter().map(|one| period / one.period().get() * changes(one)).sum();
    // Each step holds the level of each.
    let held = steps.saturating_mul(i64::try_from(timelines.len()).unwrap_or(i64::MAX));
    if steps > MOST_STEPS || held > MOST_LEVELS {
        return None;
    }
    let mut ends: Vec<i64> = vec![period];
    for one in timelines {
        for round in 0..period / one.period().get() {
            let begins = round * one.period().get();
            ends.extend(one.pulses().iter().flat_map(|pulse| [begins + pulse.start.get(), begins + pulse.end.get()]));
        }
    }
    ends.retain(|end| *end > 0);
    ends.sort_unstable();
    ends.dedup();
    let level = |one: &Timeline, at: i64| {
        let at = at.rem_euclid(one.period().get());
        let pulse = one.pulses().iter().find(|pulse| (pulse.start.get()..pulse.end.get()).contains(&at));
        pulse.map_or(0.0, |pulse| pulse.level.value())
    };
    let mut start = 0;
    let step = |end: i64| {
        let levels = timelines.iter().map(|one| level(one, start)).collect();
        start = end;
        (Micros::new(end), levels)
    };
    Some(ends.into_iter().map(step).collect())
}

/// Times inside a period are at most a minute, so they are exact as a float.
fn micros(time: i64) -> f64 {
    u32::try_from(time).map_or(0.0, f64::from)
}

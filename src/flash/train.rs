//! The light of one head, or of several in step, at one place: steps of candela that repeat with a period. Flashes are
//! cut out of it one by one, since most quantities of a device are about one flash.

use super::effective::EffectiveMethod;
use super::waveform::Waveform;
use super::{LONGEST_PERIOD, LitIntervals, Timeline, common_period};
use crate::units::{Candela, CandelaSeconds, Micros, Share};

/// Light in steps, repeated for ever.
#[derive(Clone, Debug, PartialEq)]
pub struct Train {
    period: i64,
    /// Start, end, candela: in order, apart from each other, inside the period, none dark.
    steps: Vec<(i64, i64, f64)>,
}

/// One flash of a train: from where it lights up to where the next one does.
#[derive(Clone, Debug, PartialEq)]
pub struct Flash {
    /// All its light; time runs from its start.
    pub light: Waveform,
    /// From its start to the end of its last lit time: short gaps within it belong to it.
    pub lit: Micros,
    /// The dark time after it.
    pub dark: Micros,
}

impl Train {
    /// A timeline whose full level is `peak`.
    pub fn new(timeline: &Timeline, peak: Candela) -> Self {
        let step = |pulse: &super::Pulse| (pulse.start.get(), pulse.end.get(), pulse.level.value() * peak.value());
        let steps = timeline.pulses().iter().map(step).filter(|(_, _, level)| *level > 0.0).collect();
        Self { period: timeline.period().get(), steps }
    }

    /// The light of several trains that keep step, added up over their common period. `None` where that is longer than
    /// [`LONGEST_PERIOD`].
    pub fn sum(trains: &[Self]) -> Option<Self> {
        let first = trains.first()?.period;
        let period =
            trains.iter().try_fold(first, |all, train| common_period(all, train.period, LONGEST_PERIOD.get()))?;
        // Where the light changes, and the light of which train to what.
        let mut changes: Vec<(i64, usize, f64)> = Vec::new();
        for (at, train) in trains.iter().enumerate() {
            for (start, end, level) in &train.steps {
                let mut delay = 0;
                while delay < period {
                    changes.extend([(start + delay, at, *level), (end + delay, at, -level)]);
                    delay += train.period;
                }
            }
        }
        changes.sort_unstable_by_key(|(time, at, _)| (*time, *at));
        // Each level is kept apart and added up anew, so that nothing is left over where all is dark.
        let mut levels = vec![0.0_f64; trains.len()];
        let mut steps: Vec<(i64, i64, f64)> = Vec::new();
        let mut since = 0;
        for now in changes.chunk_by(|a, b| a.0 == b.0) {
            let Some((time, _, _)) = now.first() else { continue };
            push(&mut steps, (since, *time, levels.iter().sum()));
            since = *time;
            for of_train in now.chunk_by(|a, b| a.1 == b.1) {
                let begun = of_train.iter().map(|(_, _, change)| *change).find(|change| *change > 0.0);
                let place = of_train.first().and_then(|(_, at, _)| levels.get_mut(*at));
                place.into_iter().for_each(|level| *level = begun.unwrap_or(0.0));
            }
        }
        push(&mut steps, (since, period, levels.iter().sum()));
        Some(Self { period, steps })
    }

    /// After how much time it repeats.
    pub fn period(&self) -> Micros {
        Micros::new(self.period)
    }

    /// The greatest intensity.
    pub fn peak(&self) -> Candela {
        Candela::new(self.steps.iter().map(|(_, _, level)| *level).fold(0.0, f64::max))
    }

    /// Candela-seconds in one period.
    pub fn energy(&self) -> CandelaSeconds {
        self.whole(0).energy()
    }

    /// When it is above a share of its peak.
    pub fn lit(&self, lit_above: Share) -> LitIntervals {
        let threshold = lit_above.value() * self.peak().value();
        let lit = self.steps.iter().filter(|(_, _, level)| *level > threshold);
        LitIntervals::from_pieces(self.period, lit.map(|(start, end, _)| (*start, *end)).collect())
    }

    /// Its flashes, each once: gaps shorter than `dark_at_least` do not end one. None for light that never goes dark
    /// that long.
    pub fn flashes(&self, dark_at_least: Micros, lit_above: Share) -> Vec<Flash> {
        let lit = self.lit(lit_above);
        let mut gaps: Vec<(i64, i64)> =
            lit.gaps(dark_at_least.get()).map(|(start, length)| ((start + length) % self.period, length)).collect();
        gaps.sort_unstable();
        let next = gaps.iter().cycle().skip(1);
        let flash = |((start, _), (end, dark)): (&(i64, i64), &(i64, i64))| {
            let length = match (end - start).rem_euclid(self.period) {
                0 => self.period,
                length => length,
            };
            let light = self.light(*start, length).repeated(Micros::new(self.period));
            Flash { light, lit: Micros::new(length - dark), dark: Micros::new(*dark) }
        };
        gaps.iter().zip(next).map(flash).collect()
    }

    /// The effective intensity of each flash; of the train as a whole for a method that heeds all flashes. None where
    /// it does not flash.
    pub fn effective(
        &self,
        method: EffectiveMethod,
        a: Micros,
        dark_at_least: Micros,
        lit_above: Share,
    ) -> Vec<Candela> {
        let flashes = self.flashes(dark_at_least, lit_above);
        if method == EffectiveMethod::ModifiedAllardEndless {
            let all = flashes.first().map(|_| self.whole(0).effective(method, a));
            return all.into_iter().collect();
        }
        flashes.iter().map(|flash| flash.light.effective(method, a)).collect()
    }

    /// The effective intensity of all its light, for a train that never goes dark long enough to flash: that of two
    /// periods on end, so that no pulse is cut, or of one where only energy and peak count.
    pub fn effective_throughout(&self, method: EffectiveMethod, a: Micros) -> Candela {
        match method {
            EffectiveMethod::FormFactor | EffectiveMethod::OnTime | EffectiveMethod::ModifiedAllardEndless => {
                self.whole(0).effective(method, a)
            }
            EffectiveMethod::BlondelRey | EffectiveMethod::Allard | EffectiveMethod::ModifiedAllard => {
                self.light(0, 2 * self.period).effective(method, a)
            }
        }
    }

    /// One period, repeated.
    fn whole(&self, from: i64) -> Waveform {
        self.light(from, self.period).repeated(Micros::new(self.period))
    }

    /// The light from `start` within a period on for `length`, which is at most two periods; time runs from there.
    fn light(&self, start: i64, length: i64) -> Waveform {
        let rounds = [0, self.period, 2 * self.period].into_iter().flat_map(|later| {
            self.steps.iter().map(move |(begins, ends, level)| (begins + later - start, ends + later - start, *level))
        });
        let inside = rounds.map(|(begins, ends, level)| (begins.max(0), ends.min(length), level));
        let steps = inside.filter(|(begins, ends, _)| begins < ends);
        Waveform::steps(
            steps.map(|(begins, ends, level)| (Micros::new(begins), Micros::new(ends), Candela::new(level))),
        )
    }
}

/// Adds a step unless it is empty or dark; equal light that goes on is one step.
fn push(steps: &mut Vec<(i64, i64, f64)>, step: (i64, i64, f64)) {
    let (start, end, level) = step;
    if start >= end || level <= 0.0 {
        return;
    }
    match steps.last_mut() {
        Some(last) if last.1 == start && last.2 == level => last.1 = end,
        _ => steps.push(step),
    }
}

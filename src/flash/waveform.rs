//! One flash as straight pieces of luminous intensity over time, and what can be read off it exactly: its peak, its
//! energy, how long it is lit, and its effective intensity by each method.

use super::effective::{EffectiveMethod, seconds};
use super::kernel::Kernel;
use crate::units::{Candela, CandelaSeconds, Micros};

/// Light over time, made of straight pieces; dark outside them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Waveform {
    /// Lit pieces in order of time, none over another.
    pieces: Vec<Piece>,
    /// After how many seconds the same comes again.
    repeats: Option<f64>,
}

/// A straight piece of light: seconds and candela at both of its ends.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Piece {
    start: f64,
    end: f64,
    from: f64,
    to: f64,
}

impl Piece {
    fn new(start: Micros, end: Micros, from: Candela, to: Candela) -> Option<Self> {
        let piece = Self { start: seconds(start), end: seconds(end), from: from.value(), to: to.value() };
        (piece.end > piece.start && (piece.from > 0.0 || piece.to > 0.0)).then_some(piece)
    }

    fn length(&self) -> f64 {
        self.end - self.start
    }

    fn slope(&self) -> f64 {
        (self.to - self.from) / self.length()
    }

    fn intensity(&self, t: f64) -> f64 {
        if self.from == self.to { self.from } else { self.from + self.slope() * (t - self.start) }
    }

    /// Candela-seconds from its start up to `t`.
    fn energy_until(&self, t: f64) -> f64 {
        0.5 * (self.from + self.intensity(t)) * (t - self.start)
    }

    /// When it has an intensity, if that is neither at its ends nor all the time.
    fn crosses(&self, level: f64) -> Option<f64> {
        let t = self.start + (level - self.from) / self.slope();
        (t > self.start && t < self.end).then_some(t)
    }
}

impl Waveform {
    /// Straight from point to point, given in order of time; two points at one time are a jump. An intensity below
    /// zero is none.
    pub fn through(points: &[(Micros, Candela)]) -> Self {
        let light = |intensity: Candela| Candela::new(intensity.value().max(0.0));
        let pairs = points.iter().zip(points.iter().skip(1));
        let pieces = pairs.filter_map(|((start, from), (end, to))| Piece::new(*start, *end, light(*from), light(*to)));
        Self { pieces: pieces.collect(), repeats: None }
    }

    /// Steps of constant light: start, end, intensity, in order of time.
    pub(super) fn steps(steps: impl Iterator<Item = (Micros, Micros, Candela)>) -> Self {
        let pieces = steps.filter_map(|(start, end, level)| Piece::new(start, end, level, level));
        Self { pieces: pieces.collect(), repeats: None }
    }

    /// The same light again each `period`; it must be over by then.
    pub fn repeated(mut self, period: Micros) -> Self {
        let first = self.pieces.first().map_or(0.0, |piece| piece.start);
        let last = self.pieces.last().map_or(0.0, |piece| piece.end);
        // A shorter period would lay the light over itself, which is another waveform.
        self.repeats = Some(seconds(period)).filter(|period| *period > 0.0 && last - first <= period * (1.0 + 1e-12));
        self
    }

    /// The greatest intensity.
    pub fn peak(&self) -> Candela {
        Candela::new(self.pieces.iter().map(|piece| piece.from.max(piece.to)).fold(0.0, f64::max))
    }

    /// The integral of intensity over time.
    pub fn energy(&self) -> CandelaSeconds {
        CandelaSeconds::new(self.pieces.iter().map(|piece| piece.energy_until(piece.end)).sum())
    }

    /// The steady intensity that is seen as well, by a named method with the time constant `a`.
    pub fn effective(&self, method: EffectiveMethod, a: Micros) -> Candela {
        let a = seconds(a);
        let energy = self.energy().value();
        if !(energy > 0.0 && a > 0.0) {
            return Candela::ZERO;
        }
        let hyperbolic = Kernel::Hyperbolic { a };
        Candela::new(match method {
            EffectiveMethod::BlondelRey => self.best_window(a),
            EffectiveMethod::FormFactor => energy / (a + energy / self.peak().value()),
            EffectiveMethod::OnTime => energy / (a + self.pieces.iter().map(Piece::length).sum::<f64>()),
            EffectiveMethod::Allard => self.greatest_answer(Kernel::Exponential { a }, a),
            EffectiveMethod::ModifiedAllard => self.greatest_answer(hyperbolic, a),
            EffectiveMethod::ModifiedAllardEndless => {
                let kernel = self.repeats.map_or(hyperbolic, |period| Kernel::Endless { a, period });
                self.greatest_answer(kernel, a)
            }
        })
    }

    /// The greatest energy of a window over `a` and the length of the window (Dinkelbach's iteration).
    ///
    /// For a trial value L the best window is the one with the greatest rise of `energy - L t`, which turns only at ends
    /// of pieces and where the intensity is L; its own value is the next L. L grows, and stops at the optimum.
    fn best_window(&self, a: f64) -> f64 {
        let mut best = 0.0;
        // A handful is enough; the bound only makes sure that rounding cannot go on for ever.
        for _ in 0..64 {
            let next = self.window_at(best, a);
            if next <= best {
                break;
            }
            best = next;
        }
        best
    }

    /// The value of the window in which `energy - level t` rises most.
    fn window_at(&self, level: f64, a: f64) -> f64 {
        // Energy and time at the lowest point so far, and of the best window.
        let mut lowest: Option<(f64, f64)> = None;
        let mut best = (f64::NEG_INFINITY, 0.0);
        let mut before = 0.0;
        for piece in &self.pieces {
            let turns = if piece.from == piece.to { None } else { piece.crosses(level) };
            for t in [Some(piece.start), turns, Some(piece.end)].into_iter().flatten() {
                let here = (before + piece.energy_until(t), t);
                let rise = |from: (f64, f64)| (here.0 - from.0) - level * (here.1 - from.1);
                match lowest {
                    Some(from) if rise(from) > 0.0 => {
                        if rise(from) > best.0 {
                            best = (rise(from), (here.0 - from.0) / (a + here.1 - from.1));
                        }
                    }
                    _ => lowest = Some(here),
                }
            }
            before += piece.energy_until(piece.end);
        }
        best.1
    }

    /// The greatest answer of a kernel: at an end of a piece, or within one where the answer stops growing, which is
    /// looked for in steps of a sixteenth of the time constant and then pinned down by halving.
    fn greatest_answer(&self, kernel: Kernel, a: f64) -> f64 {
        let mut greatest: f64 = 0.0;
        for (at, piece) in self.pieces.iter().enumerate() {
            let steps = (piece.length() / (a / 16.0)).ceil().clamp(1.0, 256.0);
            let mut low = (piece.start, self.growth(kernel, at, piece.start));
            let mut step = 1.0;
            while step <= steps {
                let t = if step == steps { piece.end } else { piece.start + piece.length() * step / steps };
                let high = (t, self.growth(kernel, at, t));
                if low.1 > 0.0 && high.1 < 0.0 {
                    let top = self.turning_point(kernel, at, low.0, high.0);
                    greatest = greatest.max(self.answer(kernel, top));
                }
                low = high;
                step += 1.0;
            }
            greatest = greatest.max(self.answer(kernel, piece.end)).max(self.answer(kernel, piece.start));
        }
        greatest
    }

    fn turning_point(&self, kernel: Kernel, at: usize, mut low: f64, mut high: f64) -> f64 {
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.growth(kernel, at, middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// The kernel over all light so far, at `now`.
    fn answer(&self, kernel: Kernel, now: f64) -> f64 {
        let part = |piece: &Piece, start: f64, end: f64, now: f64| {
            let (oldest, newest) = (now - start, now - end);
            // By parts: the light at both ends times the first integral, less the slope times the second.
            piece.intensity(start) * kernel.once(oldest) - piece.intensity(end) * kernel.once(newest)
                + piece.slope() * (kernel.twice(oldest) - kernel.twice(newest))
        };
        let mut sum = 0.0;
        for piece in &self.pieces {
            if piece.start < now {
                sum += part(piece, piece.start, piece.end.min(now), now);
            }
            // What is still to come in this period has been there in all those before.
            if let Some(period) = kernel.period().filter(|_| piece.end > now) {
                sum += part(piece, piece.start.max(now), piece.end, now + period);
            }
        }
        sum
    }

    /// How fast the answer grows at `now` within the piece `at`: its ends count as seen from inside.
    fn growth(&self, kernel: Kernel, at: usize, now: f64) -> f64 {
        let mut sum = 0.0;
        for (place, piece) in self.pieces.iter().enumerate() {
            // When the light began and ended, counted back from now; a period earlier where that is still to come.
            let (mut started, mut ended) = (now - piece.start, now - piece.end);
            let rising = |oldest: f64, newest: f64| piece.slope() * (kernel.once(oldest) - kernel.once(newest));
            match kernel.period() {
                None if place > at => break,
                None if place == at => sum += piece.from * kernel.at(started) + rising(started, 0.0),
                Some(period) if place == at => {
                    ended += period;
                    sum += piece.from * kernel.at(started) - piece.to * kernel.at(ended);
                    sum += rising(started, 0.0) + rising(period, ended);
                }
                period => {
                    if place > at {
                        let period = period.unwrap_or(0.0);
                        (started, ended) = (started + period, ended + period);
                    }
                    sum += piece.from * kernel.at(started) - piece.to * kernel.at(ended) + rising(started, ended);
                }
            }
        }
        sum
    }
}

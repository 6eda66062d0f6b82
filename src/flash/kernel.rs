//! How the eye answers a moment of light later on, for the methods that convolve: the kernel, and what comes of
//! integrating it once and twice, so that straight pieces of light need no numerical integration.
//!
//! A train that never ends sums a kernel over all its periods, which is a polygamma function; these stand here too.

/// The answer, after some seconds, to light of one candela-second; `a` is the time constant in seconds.
#[derive(Clone, Copy, Debug)]
pub(super) enum Kernel {
    /// `exp(-t/a) / a`.
    Exponential { a: f64 },
    /// `a / (a + t)^2`.
    Hyperbolic { a: f64 },
    /// The hyperbolic kernel summed over `t`, `t` and one period, `t` and two periods, and so on.
    Endless { a: f64, period: f64 },
}

impl Kernel {
    /// The kernel itself.
    pub fn at(self, t: f64) -> f64 {
        match self {
            Self::Exponential { a } => (-t / a).exp() / a,
            Self::Hyperbolic { a } => a / ((a + t) * (a + t)),
            Self::Endless { a, period } => a / (period * period) * trigamma((a + t) / period),
        }
    }

    /// Its integral.
    pub fn once(self, t: f64) -> f64 {
        match self {
            Self::Exponential { a } => -(-t / a).exp(),
            Self::Hyperbolic { a } => -a / (a + t),
            Self::Endless { a, period } => a / period * digamma((a + t) / period),
        }
    }

    /// The integral of its integral.
    pub fn twice(self, t: f64) -> f64 {
        match self {
            Self::Exponential { a } => a * (-t / a).exp(),
            Self::Hyperbolic { a } => -a * (a + t).ln(),
            Self::Endless { a, period } => a * ln_gamma((a + t) / period),
        }
    }

    /// The time after which the next period is heard as well.
    pub fn period(self) -> Option<f64> {
        match self {
            Self::Exponential { .. } | Self::Hyperbolic { .. } => None,
            Self::Endless { period, .. } => Some(period),
        }
    }
}

/// From here on the asymptotic series below are exact to the last digits of a float.
const LARGE: f64 = 12.0;

/// The logarithm of the gamma function for `x > 0`: recurrence up to [`LARGE`], then Stirling's series.
fn ln_gamma(x: f64) -> f64 {
    let (x, product) = raise(x, 1.0, |product, x| product * x);
    let z = 1.0 / (x * x);
    let series = (1.0 / 12.0 - z * (1.0 / 360.0 - z * (1.0 / 1260.0 - z * (1.0 / 1680.0 - z / 1188.0)))) / x;
    (x - 0.5) * x.ln() - x + 0.5 * std::f64::consts::TAU.ln() + series - product.ln()
}

/// Its first derivative.
fn digamma(x: f64) -> f64 {
    let (x, sum) = raise(x, 0.0, |sum, x| sum + 1.0 / x);
    let z = 1.0 / (x * x);
    let series = z * (1.0 / 12.0 - z * (1.0 / 120.0 - z * (1.0 / 252.0 - z * (1.0 / 240.0 - z / 132.0))));
    x.ln() - 0.5 / x - series - sum
}

/// Its second derivative.
fn trigamma(x: f64) -> f64 {
    let (x, sum) = raise(x, 0.0, |sum, x| sum + 1.0 / (x * x));
    let z = 1.0 / (x * x);
    let series = z * (1.0 / 6.0 - z * (1.0 / 30.0 - z * (1.0 / 42.0 - z * (1.0 / 30.0 - z * 5.0 / 66.0)))) / x;
    1.0 / x + 0.5 * z + series + sum
}

/// Steps `x` up until it is large, and folds what each step leaves behind.
fn raise(mut x: f64, start: f64, step: impl Fn(f64, f64) -> f64) -> (f64, f64) {
    let mut left = start;
    while x < LARGE {
        left = step(left, x);
        x += 1.0;
    }
    (x, left)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gamma_functions_have_their_known_values() {
        let near = |found: f64, known: f64| assert!((found - known).abs() < 1e-13 * known.abs().max(1.0), "{found}");
        let euler = 0.577_215_664_901_532_9;
        near(digamma(1.0), -euler);
        near(digamma(0.5), -euler - 2.0 * 2f64.ln());
        near(trigamma(1.0), std::f64::consts::PI.powi(2) / 6.0);
        near(trigamma(0.5), std::f64::consts::PI.powi(2) / 2.0);
        near(ln_gamma(1.0), 0.0);
        near(ln_gamma(0.5), 0.5 * std::f64::consts::PI.ln());
        near(ln_gamma(21.0), (1..=20).map(|n| f64::from(n).ln()).sum());
    }

    #[test]
    fn each_integral_has_the_one_before_as_its_slope() {
        let (a, period) = (0.2, 0.8);
        for kernel in [Kernel::Exponential { a }, Kernel::Hyperbolic { a }, Kernel::Endless { a, period }] {
            for t in [0.0, 0.013, 0.1, 0.4, 0.79] {
                let slope = |f: &dyn Fn(f64) -> f64| (f(t + 1e-5) - f(t - 1e-5)) / 2e-5;
                assert!((slope(&|t| kernel.twice(t)) - kernel.once(t)).abs() < 1e-6, "{kernel:?} {t}");
                assert!((slope(&|t| kernel.once(t)) - kernel.at(t)).abs() < 1e-6, "{kernel:?} {t}");
            }
        }
    }

    /// What the source checked too: the closed form against a plain sum over 200 000 periods.
    #[test]
    fn an_endless_train_is_the_sum_over_its_periods() {
        let (a, period) = (0.2, 0.8);
        let (one, all) = (Kernel::Hyperbolic { a }, Kernel::Endless { a, period });
        let answer = |kernel: Kernel, after: f64| kernel.once(after + 0.05) - kernel.once(after);
        let sum: f64 = (0..200_000).map(|n| answer(one, f64::from(n) * period)).sum();
        assert!((answer(all, 0.0) - sum).abs() < 1e-6, "{sum}");
    }
}

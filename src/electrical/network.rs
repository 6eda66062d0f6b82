//! Voltage at each load of a tree of wires, whatever law their currents follow.
//!
//! Each load is a conductance `g = I(V) / V` that never grows with its voltage (exponents from -1 to 1). The tree with
//! given conductances is linear, and more conductance anywhere lowers every voltage. So, begun with the source's voltage
//! everywhere, each round can only lower the voltages, and they fall to the greatest solution there is: the operating
//! point. Where there is none (a constant-power load behind too much resistance) the voltage falls away instead.

use super::Driver;
use crate::units::{Ampere, Ohm, Volt};

/// A wire, and what hangs on its far end. A parent stands before its children.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// The branch at whose far end it begins; the source without one.
    pub parent: Option<usize>,
    /// Both legs.
    pub resistance: Ohm,
    /// Loads at its far end: how the current follows the voltage, and how much it is at which voltage.
    pub loads: Vec<(Driver, Ampere, Volt)>,
}

/// A tree at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Operating {
    /// At the far end of each branch.
    pub voltages: Vec<Volt>,
    /// Through each branch.
    pub currents: Vec<Ampere>,
    /// Out of the source.
    pub source_current: Ampere,
}

/// The loads ask for more power than the wires can carry at this voltage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no operating point: the wires cannot carry this load at this voltage")]
pub struct NoOperatingPoint {
    /// The branch at whose end the voltage falls away.
    pub branch: usize,
}

/// Rounds after which a load so near its limit is taken to be beyond it.
const ROUNDS: usize = 20_000;
/// Below this share of the source's voltage no driver holds its law.
const FALLEN: f64 = 0.05;
/// Voltages that move less than this share of the source's are at rest.
const AT_REST: f64 = 1e-13;

/// The voltages and currents of a tree at a source voltage.
///
/// # Errors
/// Where the loads have no operating point.
pub fn solve(source: Volt, branches: &[Branch]) -> Result<Operating, NoOperatingPoint> {
    let source = source.value();
    let mut voltages = vec![source; branches.len()];
    for _ in 0..ROUNDS {
        let next = linear(source, branches, &voltages);
        let moved = voltages.iter().zip(&next).map(|(old, new)| (old - new).abs()).fold(0.0, f64::max);
        voltages = next;
        let loaded = |branch: &Branch| branch.loads.iter().any(|(_, current, _)| current.value() > 0.0);
        let fallen = branches.iter().zip(&voltages).position(|(branch, v)| loaded(branch) && *v < FALLEN * source);
        if let Some(branch) = fallen {
            return Err(NoOperatingPoint { branch });
        }
        if !moved.is_finite() || voltages.iter().any(|volts| volts.is_nan()) {
            break;
        }
        if moved <= AT_REST * source {
            return Ok(at_rest(branches, &voltages));
        }
    }
    let lowest = voltages.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(at, _)| at);
    Err(NoOperatingPoint { branch: lowest })
}

/// The current of all loads at the end of a branch.
fn drawn(branch: &Branch, voltage: f64) -> f64 {
    let now = Volt::new(voltage);
    branch.loads.iter().map(|(driver, current, at)| driver.current(*current, *at, now).value()).sum()
}

/// One round: the tree with the conductances of the voltages before, solved from the leaves to the source and back.
fn linear(source: f64, branches: &[Branch], before: &[f64]) -> Vec<f64> {
    // The conductance seen at the far end of each branch, all that hangs on it included.
    let mut seen: Vec<f64> =
        branches.iter().zip(before).map(|(branch, voltage)| drawn(branch, *voltage) / voltage).collect();
    for (at, branch) in branches.iter().enumerate().rev() {
        let here = seen.get(at).copied().unwrap_or(0.0);
        let through = here / (1.0 + here * branch.resistance.value());
        branch.parent.and_then(|parent| seen.get_mut(parent)).into_iter().for_each(|above| *above += through);
    }
    let mut voltages: Vec<f64> = Vec::with_capacity(branches.len());
    for (branch, here) in branches.iter().zip(&seen) {
        let above = branch.parent.map_or(source, |parent| voltages.get(parent).copied().unwrap_or(source));
        voltages.push(above / (1.0 + here * branch.resistance.value()));
    }
    voltages
}

fn at_rest(branches: &[Branch], voltages: &[f64]) -> Operating {
    let mut currents: Vec<f64> =
        branches.iter().zip(voltages).map(|(branch, voltage)| drawn(branch, *voltage)).collect();
    let mut source_current = 0.0;
    for (at, branch) in branches.iter().enumerate().rev() {
        let through = currents.get(at).copied().unwrap_or(0.0);
        match branch.parent.and_then(|parent| currents.get_mut(parent)) {
            Some(above) => *above += through,
            None => source_current += through,
        }
    }
    Operating {
        voltages: voltages.iter().copied().map(Volt::new).collect(),
        currents: currents.into_iter().map(Ampere::new).collect(),
        source_current: Ampere::new(source_current),
    }
}

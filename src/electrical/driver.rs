//! How the current of a lamp follows its voltage.

use crate::units::{Ampere, Volt};

/// How the current of a load follows its voltage: `I = I0 (V / V0)^n`, with `n` from -1 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Driver {
    /// A switching driver: n = -1, the lower the voltage the more it draws.
    ConstantPower,
    /// A linear driver: n = 0.
    ConstantCurrent,
    /// A resistor or a heater: n = 1.
    Resistive,
    /// A declared exponent; a filament has about 0.55 (from memory).
    Exponent(f64),
    /// Not stated: at each voltage the most that any law from -1 to 1 draws.
    Most,
    /// Not stated: at each voltage the least.
    Least,
}

impl Driver {
    /// The current at a voltage, from the one that is stated at another.
    pub fn current(self, stated: Ampere, at: Volt, now: Volt) -> Ampere {
        let (volts, at) = (now.value(), at.value());
        Ampere::new(match self {
            Self::ConstantPower => stated.value() * at / volts,
            Self::ConstantCurrent => stated.value(),
            Self::Resistive => stated.value() * volts / at,
            Self::Exponent(n) => stated.value() * (volts / at).powf(n.clamp(-1.0, 1.0)),
            Self::Most => stated.value() * (volts / at).max(at / volts),
            Self::Least => stated.value() * (volts / at).min(at / volts),
        })
    }
}

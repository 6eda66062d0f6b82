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
}

impl Driver {
    /// The exponent n.
    pub fn exponent(self) -> f64 {
        match self {
            Self::ConstantPower => -1.0,
            Self::ConstantCurrent => 0.0,
            Self::Resistive => 1.0,
            Self::Exponent(n) => n.clamp(-1.0, 1.0),
        }
    }

    /// The current at a voltage, from the one that is stated at another.
    pub fn current(self, stated: Ampere, at: Volt, now: Volt) -> Ampere {
        let (volts, at) = (now.value(), at.value());
        Ampere::new(match self {
            Self::ConstantPower => stated.value() * at / volts,
            Self::ConstantCurrent => stated.value(),
            Self::Resistive => stated.value() * volts / at,
            Self::Exponent(_) => stated.value() * (volts / at).powf(self.exponent()),
        })
    }
}

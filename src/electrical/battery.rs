//! Batteries with the engine off, what stopping and starting it saves, and loads behind converters.

use crate::units::{Ampere, AmpereHour, LitrePerHour, Seconds, Share, Volt, Watt};

/// What a battery is made of, as far as it changes how long it lasts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chemistry {
    /// Lead-acid of any kind: the more is drawn, the less is there (Peukert).
    Lead,
    /// Lithium iron phosphate: the charge hardly depends on the current.
    Lithium,
}

/// Batteries of one kind side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bank {
    /// What it is made of.
    pub chemistry: Chemistry,
    /// All of them together.
    pub capacity: AmpereHour,
    /// The discharge time at which the capacity is stated.
    pub rate: Seconds,
    /// Which share of the charge may be used.
    pub usable: Share,
    /// Peukert's exponent; 1 where the charge does not depend on the current.
    pub exponent: f64,
}

impl Bank {
    /// How long it gives a current: `usable x H (C / (I H))^k`, with the capacity at its own rate H. The short form
    /// `C / I^k` is wrong unless H is one hour. The convention for the usable share is a share of the time. Below the
    /// current of its own rate a battery gives no more than its capacity.
    pub fn lasts(&self, current: Ampere) -> Seconds {
        let hours = self.rate.value() / 3600.0;
        let stretched = hours * (self.capacity.value() / (current.value() * hours)).powf(self.exponent);
        let slow = self.capacity.value() / current.value();
        Seconds::new(3600.0 * self.usable.value() * stretched.min(slow.max(hours)))
    }
}

/// Peukert's exponent from a capacity at its rate and a reserve capacity: minutes at 25 A.
pub fn exponent_of(capacity: AmpereHour, rate: Seconds, reserve: Seconds) -> f64 {
    let hours = rate.value() / 3600.0;
    (rate.value() / reserve.value()).ln() / (25.0 * hours / capacity.value()).ln()
}

/// The charge that a reserve capacity is, at its 25 A.
pub fn reserve_charge(reserve: Seconds) -> AmpereHour {
    AmpereHour::new(25.0 * reserve.value() / 3600.0)
}

/// The greatest load that `batteries` with a reserve capacity carry for `time` out of a share of the reserve:
/// `25 n (share RC / t)^(1/k)`. A construction of ours: the voltage, and the start after it, mostly bind before.
pub fn greatest_reserve_load(batteries: u32, reserve: Seconds, exponent: f64, share: Share, time: Seconds) -> Ampere {
    let part = share.value() * reserve.value() / time.value();
    Ampere::new(25.0 * f64::from(batteries) * part.powf(1.0 / exponent))
}

/// What a converter, inverter or charger draws to give a power.
pub fn input_current(output: Watt, efficiency: Share, input: Volt) -> Ampere {
    Ampere::new(output.value() / (efficiency.value() * input.value()))
}

/// What a shore inlet may give for hours: 80 % of its rating (NEC 210.20(A), second-hand).
pub fn shore_power(inlet: Ampere, voltage: Volt) -> Watt {
    Watt::new(0.8 * inlet.value() * voltage.value())
}

/// An engine that is stopped, and started when a share of the battery is gone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StopStart {
    /// Of the whole battery.
    pub capacity: AmpereHour,
    /// The share that goes out and in each round.
    pub window: Share,
    /// While the engine stands.
    pub off: Ampere,
    /// Into the battery while it runs, after all loads.
    pub net: Ampere,
    /// Of charging.
    pub efficiency: Share,
}

impl StopStart {
    /// How long the engine stands each round.
    pub fn stands(&self) -> Seconds {
        Seconds::new(3600.0 * self.capacity.value() * self.window.value() / self.off.value())
    }

    /// How long it runs each round.
    pub fn runs(&self) -> Seconds {
        Seconds::new(
            3600.0 * self.capacity.value() * self.window.value() / (self.net.value() * self.efficiency.value()),
        )
    }

    /// The share of the time in which it runs.
    pub fn running(&self) -> Share {
        Share::new(self.runs().value() / (self.runs().value() + self.stands().value()))
    }
}

/// What an idling engine burns without load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IdleRate {
    /// The kind of vehicle, as files name it.
    pub vehicle: &'static str,
    /// What it burns.
    pub rate: LitrePerHour,
}

const fn gallons(vehicle: &'static str, per_hour: f64) -> IdleRate {
    IdleRate { vehicle, rate: LitrePerHour::new(per_hour * 3.785_411_784) }
}

/// Idle fuel without load: US DOE Vehicle Technologies Fact 861, 2015-02-23 (second-hand; gallons an hour there).
pub const IDLE_RATES: &[IdleRate] = &[
    gallons("large-sedan-gasoline", 0.39),
    gallons("medium-heavy-truck-gasoline", 0.84),
    gallons("medium-heavy-truck-diesel", 0.44),
    gallons("delivery-truck-diesel", 0.84),
    gallons("tow-truck-diesel", 0.59),
    gallons("bucket-truck-diesel", 0.90),
    gallons("combination-truck-diesel", 0.49),
];

//! Batteries with the engine off, what stopping and starting it saves, and loads behind converters.

use crate::units::{Ampere, AmpereHour, Litre, LitrePerHour, Seconds, Share, Volt, Watt};

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

/// The current of a reserve capacity, in amperes (SAE J537, second-hand).
const RESERVE: f64 = 25.0;

/// Peukert's exponent from a capacity at its rate and a reserve capacity: minutes at 25 A.
pub fn exponent_of(capacity: AmpereHour, rate: Seconds, reserve: Seconds) -> f64 {
    let hours = rate.value() / 3600.0;
    (rate.value() / reserve.value()).ln() / (RESERVE * hours / capacity.value()).ln()
}

/// The reserve capacity that a charge is: how long it gives 25 A.
pub fn reserve_of(capacity: AmpereHour) -> Seconds {
    Seconds::new(3600.0 * capacity.value() / RESERVE)
}

/// The share of their reserve capacity that `batteries` give in a time: `t / RC x (I / (25 n))^k`. A construction of
/// ours: the voltage, and the start after it, mostly bind before.
pub fn reserve_used(current: Ampere, batteries: u32, reserve: Seconds, exponent: f64, time: Seconds) -> Share {
    let of_one = current.value() / (RESERVE * f64::from(batteries));
    Share::new(time.value() / reserve.value() * of_one.powf(exponent))
}

/// What a converter, inverter or charger draws to give a power.
pub fn input_current(output: Watt, efficiency: Share, input: Volt) -> Ampere {
    Ampere::new(output.value() / (efficiency.value() * input.value()))
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

    /// How often the engine starts in some time.
    pub fn starts_in(&self, time: Seconds) -> f64 {
        time.value() / (self.stands() + self.runs()).value()
    }

    /// How much of some time the engine stands, where it would idle all along.
    pub fn saves_of(&self, time: Seconds) -> Seconds {
        time * (1.0 - self.running().value())
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

impl IdleRate {
    /// What it burns in some time.
    pub fn burns_in(&self, time: Seconds) -> Litre {
        Litre::new(self.rate.value() * time.value() / 3600.0)
    }
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

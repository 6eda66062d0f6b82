//! Absorption of sound by air: ISO 9613-1:1993, pure tones.

use crate::units::{Celsius, Decibels, Kilopascal, Length, Share};

/// The air between a source and a listener.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Its temperature.
    pub temperature: Celsius,
    /// Its relative humidity.
    pub humidity: Share,
    /// Its pressure.
    pub pressure: Kilopascal,
}

/// Reference pressure, in kilopascal.
const REFERENCE: f64 = 101.325;
/// 20 degC in kelvin, and the triple point of water.
const T0: f64 = 293.15;
const T01: f64 = 273.16;

impl Air {
    /// 20 degC, 70 % and one atmosphere, as check values mostly have it.
    pub const MILD: Self =
        Self { temperature: Celsius::new(20.0), humidity: Share::new(0.7), pressure: Kilopascal::new(REFERENCE) };

    /// Molar concentration of water vapour in per cent (annex B).
    pub fn vapour(&self) -> f64 {
        let kelvin = self.temperature.value() + 273.15;
        let saturation = 10_f64.powf(-6.8346 * (T01 / kelvin).powf(1.261) + 4.6151);
        100.0 * self.humidity.value() * saturation / (self.pressure.value() / REFERENCE)
    }

    /// The relaxation frequencies of oxygen and nitrogen, in hertz.
    pub fn relaxation(&self) -> (f64, f64) {
        let kelvin = self.temperature.value() + 273.15;
        let (share, h) = (self.pressure.value() / REFERENCE, self.vapour());
        let oxygen = share * (24.0 + 4.04e4 * h * (0.02 + h) / (0.391 + h));
        let warm = (-4.170 * ((kelvin / T0).powf(-1.0 / 3.0) - 1.0)).exp();
        let nitrogen = share * (kelvin / T0).powf(-0.5) * (9.0 + 280.0 * h * warm);
        (oxygen, nitrogen)
    }

    /// What is lost over a distance at a frequency in hertz; the exact midband of a band, not its label.
    pub fn absorbs(&self, hertz: f64, over: Length) -> Decibels {
        let kelvin = self.temperature.value() + 273.15;
        let share = self.pressure.value() / REFERENCE;
        let (oxygen, nitrogen) = self.relaxation();
        let squared = hertz * hertz;
        let classical = 1.84e-11 / share * (kelvin / T0).sqrt();
        let of_oxygen = 0.012_75 * (-2239.1 / kelvin).exp() / (oxygen + squared / oxygen);
        let of_nitrogen = 0.1068 * (-3352.0 / kelvin).exp() / (nitrogen + squared / nitrogen);
        let per_metre = 8.686 * squared * (classical + (kelvin / T0).powf(-2.5) * (of_oxygen + of_nitrogen));
        Decibels::new(per_metre * over.value())
    }
}

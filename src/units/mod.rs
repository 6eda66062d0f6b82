//! Typed quantities of the trade, read from text with a unit and printed back.
//!
//! A figure without its unit is how a package passes on paper and fails on the road, so nothing
//! crosses a module border as a bare number. Each quantity is held in one base unit; the table of [`Unit`]
//! says what else is read and by which factor.

mod amount;
mod rate;
mod unit;

pub use amount::{Amount, AmountError, digits_apart, format_number};
pub use rate::Rate;
pub use unit::{Dimension, Unit};

/// A quantity that is one `f64` in its base unit.
macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident: $dimension:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// None of it.
            pub const ZERO: Self = Self(0.0);

            /// From a number in the base unit named at the type.
            pub const fn new(value: f64) -> Self {
                Self(value)
            }

            /// The number in the base unit named at the type.
            pub const fn value(self) -> f64 {
                self.0
            }

            /// The number in another unit of the same dimension; in the base unit otherwise.
            pub fn in_unit(self, unit: Unit) -> f64 {
                if unit.dimension() == Dimension::$dimension { unit.from_base(self.0) } else { self.0 }
            }
        }

        impl TryFrom<Amount> for $name {
            type Error = AmountError;

            fn try_from(amount: Amount) -> Result<Self, AmountError> {
                amount.in_dimension(Dimension::$dimension).map(Self)
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
                Self(values.map(|value| value.0).sum())
            }
        }
    )*};
}

quantities! {
    /// A length in metres.
    Length: Length;
    /// An angle in degrees.
    Degrees: Angle;
    /// Luminous intensity in candela.
    Candela: Intensity;
    /// Light of a flashing head in one direction, in candela-seconds per minute:
    /// 60 times the mean intensity over the period.
    OpticalPower: OpticalPower;
    /// Luminous intensity over time: the light of one flash in one direction, in candela-seconds.
    CandelaSeconds: FlashEnergy;
    /// Illuminance in lux.
    Lux: Illuminance;
    /// Electric potential in volts.
    Volt: Voltage;
    /// Electric current in amperes.
    Ampere: Current;
    /// Electric power in watts.
    Watt: Power;
    /// Electric resistance in ohms.
    Ohm: Resistance;
    /// Electric charge in ampere-hours.
    AmpereHour: Charge;
    /// Energy in watt-hours.
    WattHour: Energy;
    /// A temperature in degrees Celsius.
    Celsius: Temperature;
    /// A time in seconds, where it need not be exact: how long a battery lasts.
    Seconds: Time;
    /// An area in square metres.
    Area: Area;
    /// A volume in litres.
    Litre: Volume;
    /// A volume an hour, in litres an hour.
    LitrePerHour: FuelRate;
    /// An A-weighted sound pressure level re 20 uPa, in decibels.
    SoundLevel: SoundLevel;
    /// A difference of sound levels, in decibels.
    Decibels: Decibels;
    /// A pressure of air, in kilopascal.
    Kilopascal: Pressure;
    /// How often something comes again, in times a minute, where it need not be exact.
    PerMinute: Rate;
    /// A share of a whole, 1 meaning all of it.
    Share: Share;
    /// A wavelength of light in nanometres.
    Wavelength: Wavelength;
}

/// A time in whole microseconds, so that flash patterns are exact.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Micros(i64);

impl Micros {
    /// No time.
    pub const ZERO: Self = Self(0);

    /// From whole microseconds.
    pub const fn new(micros: i64) -> Self {
        Self(micros)
    }

    /// Whole microseconds.
    pub const fn get(self) -> i64 {
        self.0
    }
}

impl std::fmt::Display for Micros {
    /// In milliseconds, exactly.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (whole, part) = (self.0.unsigned_abs() / 1000, self.0.unsigned_abs() % 1000);
        f.write_str(if self.0 < 0 { "-" } else { "" })?;
        match part {
            0 => write!(f, "{whole} ms"),
            _ => write!(f, "{whole}.{} ms", format!("{part:03}").trim_end_matches('0')),
        }
    }
}

impl TryFrom<Amount> for Micros {
    type Error = AmountError;

    /// Fails for other dimensions, for parts of a microsecond, and beyond about 100 days.
    fn try_from(amount: Amount) -> Result<Self, AmountError> {
        let micros = amount.in_dimension(Dimension::Time)? * 1e6;
        let whole = micros.round();
        if (micros - whole).abs() > 1e-9 * micros.abs().max(1.0) || whole.abs() > 9e12 {
            return Err(AmountError::NotWholeMicros { text: amount.to_string() });
        }
        // In range by the test above.
        #[allow(clippy::cast_possible_truncation)]
        Ok(Self(whole as i64))
    }
}

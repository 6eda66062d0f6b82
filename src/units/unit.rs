//! Which units are read, what they measure, and how they convert. Adding a unit is one row here.

use std::fmt;

/// What a unit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// Base unit metre.
    Length,
    /// Base unit square metre.
    Area,
    /// Base unit degree.
    Angle,
    /// Base unit second.
    Time,
    /// Base unit one per minute.
    Rate,
    /// Base unit candela.
    Intensity,
    /// Base unit candela-second (one flash).
    FlashEnergy,
    /// Base unit candela-second per minute.
    OpticalPower,
    /// Base unit lux.
    Illuminance,
    /// Base unit ampere.
    Current,
    /// Base unit volt.
    Voltage,
    /// Base unit watt.
    Power,
    /// Base unit ohm.
    Resistance,
    /// Base unit ampere-hour.
    Charge,
    /// Base unit watt-hour.
    Energy,
    /// Base unit degree Celsius.
    Temperature,
    /// Base unit litre.
    Volume,
    /// Base unit litre per hour.
    FuelRate,
    /// Base unit A-weighted decibel.
    SoundLevel,
    /// Base unit decibel: a difference of levels.
    Decibels,
    /// Base unit kilopascal.
    Pressure,
    /// Base unit one (100 %).
    Share,
    /// Base unit nanometre.
    Wavelength,
    /// A number of measurement points.
    Points,
    /// A number of heads.
    Heads,
    /// A number of sounders.
    Sounders,
    /// A number of states of the inputs.
    States,
    /// A number of displays.
    Displays,
    /// A number of modes.
    Modes,
    /// Words rather than a number (colours shown).
    Words,
}

/// One unit: its symbol in files and print, what it measures, and its size in the base unit.
#[derive(Clone, Copy)]
pub struct Unit(&'static Row);

struct Row {
    symbol: &'static str,
    dimension: Dimension,
    // Two whole numbers rather than one factor: 12 in and 1 ft are then the same number of metres.
    times: f64,
    over: f64,
    // Where its zero lies, in the unit itself: 32 degF is 0 degC.
    zero: f64,
}

macro_rules! units {
    ($($symbol:literal $dimension:ident $times:literal / $over:literal $(from $zero:literal)?;)*) => {
        static UNITS: &[Row] = &[$(Row {
            symbol: $symbol, dimension: Dimension::$dimension, times: $times, over: $over, zero: 0.0 $(+ $zero)?
        }),*];
    };
}

/// Stands in for a dimension without a row, which a test rules out.
static FIRST: Row = Row { symbol: "m", dimension: Dimension::Length, times: 1.0, over: 1.0, zero: 0.0 };

// The first row of a dimension is its base unit. The inch is 25.4 mm exactly (1959 agreement), the
// gallon that of the United States, 231 cubic inches.
units! {
    "m" Length 1.0 / 1.0;
    "cm" Length 1.0 / 100.0;
    "mm" Length 1.0 / 1000.0;
    "km" Length 1000.0 / 1.0;
    "in" Length 254.0 / 10_000.0;
    "ft" Length 3048.0 / 10_000.0;
    "m2" Area 1.0 / 1.0;
    "cm2" Area 1.0 / 10_000.0;
    "mm2" Area 1.0 / 1_000_000.0;
    "sq in" Area 64_516.0 / 100_000_000.0;
    "sq ft" Area 9_290_304.0 / 100_000_000.0;
    "deg" Angle 1.0 / 1.0;
    "s" Time 1.0 / 1.0;
    "ms" Time 1.0 / 1000.0;
    "us" Time 1.0 / 1_000_000.0;
    "min" Time 60.0 / 1.0;
    "h" Time 3600.0 / 1.0;
    "/min" Rate 1.0 / 1.0;
    "Hz" Rate 60.0 / 1.0;
    "/h" Rate 1.0 / 60.0;
    "cd" Intensity 1.0 / 1.0;
    "kcd" Intensity 1000.0 / 1.0;
    "cd.s" FlashEnergy 1.0 / 1.0;
    "cd.s/min" OpticalPower 1.0 / 1.0;
    "lx" Illuminance 1.0 / 1.0;
    "mlx" Illuminance 1.0 / 1000.0;
    "A" Current 1.0 / 1.0;
    "mA" Current 1.0 / 1000.0;
    "V" Voltage 1.0 / 1.0;
    "W" Power 1.0 / 1.0;
    "kW" Power 1000.0 / 1.0;
    "ohm" Resistance 1.0 / 1.0;
    "mohm" Resistance 1.0 / 1000.0;
    "Ah" Charge 1.0 / 1.0;
    "Wh" Energy 1.0 / 1.0;
    "kWh" Energy 1000.0 / 1.0;
    "degC" Temperature 1.0 / 1.0;
    "degF" Temperature 5.0 / 9.0 from 32.0;
    "L" Volume 1.0 / 1.0;
    "gal" Volume 3_785_411_784.0 / 1_000_000_000.0;
    "L/h" FuelRate 1.0 / 1.0;
    "gal/h" FuelRate 3_785_411_784.0 / 1_000_000_000.0;
    "dB(A)" SoundLevel 1.0 / 1.0;
    "dB" Decibels 1.0 / 1.0;
    "kPa" Pressure 1.0 / 1.0;
    "hPa" Pressure 1.0 / 10.0;
    "share" Share 1.0 / 1.0;
    "%" Share 1.0 / 100.0;
    "nm" Wavelength 1.0 / 1.0;
    "points" Points 1.0 / 1.0;
    "heads" Heads 1.0 / 1.0;
    "sounders" Sounders 1.0 / 1.0;
    "states" States 1.0 / 1.0;
    "displays" Displays 1.0 / 1.0;
    "modes" Modes 1.0 / 1.0;
    "words" Words 1.0 / 1.0;
    "colours" Words 1.0 / 1.0;
    "roles" Words 1.0 / 1.0;
    "troubles" Words 1.0 / 1.0;
}

impl Unit {
    /// The unit written as `symbol`, if it is one of ours.
    pub fn parse(symbol: &str) -> Option<Self> {
        UNITS.iter().find(|row| row.symbol == symbol).map(Self)
    }

    /// The base unit of a dimension.
    pub fn base(dimension: Dimension) -> Self {
        // Every dimension has a row (a test walks them).
        Self(UNITS.iter().find(|row| row.dimension == dimension).unwrap_or(&FIRST))
    }

    /// As written in files and print.
    pub fn symbol(self) -> &'static str {
        self.0.symbol
    }

    /// What it measures.
    pub fn dimension(self) -> Dimension {
        self.0.dimension
    }

    /// A number of these in the base unit.
    pub fn to_base(self, number: f64) -> f64 {
        (number - self.0.zero) * self.0.times / self.0.over
    }

    /// A number of base units in this unit.
    pub fn from_base(self, number: f64) -> f64 {
        number * self.0.over / self.0.times + self.0.zero
    }

    /// Every unit that is read, in the order of the table.
    pub fn all() -> impl Iterator<Item = Self> {
        UNITS.iter().map(Self)
    }
}

impl Dimension {
    /// Whether it is an amount of light, of which more over a least is more to be seen by.
    pub fn is_light(self) -> bool {
        matches!(self, Self::Intensity | Self::FlashEnergy | Self::OpticalPower | Self::Illuminance)
    }

    /// What fits, for a message: `"m", "cm", ...`.
    pub fn symbols(self) -> String {
        let of_it = Unit::all().filter(|unit| unit.dimension() == self);
        of_it.map(|unit| format!("\"{}\"", unit.symbol())).collect::<Vec<_>>().join(", ")
    }

    /// The name for a message, with its article: `a length`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Area => "an area",
            Self::Angle => "an angle",
            Self::Time => "a time",
            Self::Rate => "a rate",
            Self::Intensity => "a luminous intensity",
            Self::FlashEnergy => "a flash energy",
            Self::OpticalPower => "an optical power",
            Self::Illuminance => "an illuminance",
            Self::Current => "a current",
            Self::Voltage => "a voltage",
            Self::Power => "an electric power",
            Self::Resistance => "a resistance",
            Self::Charge => "an electric charge",
            Self::Energy => "an energy",
            Self::Temperature => "a temperature",
            Self::Volume => "a volume",
            Self::FuelRate => "a volume an hour",
            Self::SoundLevel => "a sound level",
            Self::Decibels => "a difference of levels",
            Self::Pressure => "a pressure",
            Self::Share => "a share",
            Self::Wavelength => "a wavelength",
            Self::Points => "a number of points",
            Self::Heads => "a number of heads",
            Self::Sounders => "a number of sounders",
            Self::States => "a number of states",
            Self::Displays => "a number of displays",
            Self::Modes => "a number of modes",
            Self::Words => "a list of words",
        }
    }
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        self.0.symbol == other.0.symbol
    }
}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0.symbol)
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0.symbol)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_base_unit_has_factor_one_and_each_symbol_is_unique() {
        for unit in Unit::all() {
            assert_eq!(Unit::base(unit.dimension()).to_base(1.0), 1.0, "{unit}");
            assert_eq!(Unit::all().filter(|other| other.symbol() == unit.symbol()).count(), 1, "{unit}");
            assert_eq!(Unit::parse(unit.symbol()), Some(unit));
        }
    }

    #[test]
    fn what_is_counted_has_a_dimension_of_its_own_and_words_share_one() {
        let dimension = |symbol| Unit::parse(symbol).map(Unit::dimension);
        for (symbol, counted) in
            [("states", Dimension::States), ("displays", Dimension::Displays), ("modes", Dimension::Modes)]
        {
            assert_eq!(dimension(symbol), Some(counted));
            assert_eq!(counted.name(), format!("a number of {symbol}"));
        }
        for symbol in ["colours", "roles", "troubles"] {
            assert_eq!(dimension(symbol), Some(Dimension::Words), "{symbol}");
        }
    }

    #[test]
    fn temperatures_meet_where_they_are_known_to() {
        let celsius = |number| Unit::parse("degF").unwrap().to_base(number);
        assert_eq!([celsius(32.0), celsius(212.0), celsius(-40.0)], [0.0, 100.0, -40.0]);
        assert_eq!(Unit::parse("degF").unwrap().from_base(100.0), 212.0);
    }

    #[test]
    fn inch_and_foot_agree_with_their_definition() {
        let metres = |symbol, number| Unit::parse(symbol).unwrap().to_base(number);
        for number in 1..2000 {
            let number = f64::from(number);
            assert_eq!(metres("ft", number), metres("in", 12.0 * number));
            assert_eq!(metres("in", 10.0 * number), metres("mm", 254.0 * number));
        }
    }
}

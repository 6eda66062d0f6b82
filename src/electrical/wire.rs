//! Wire: its cross-section by number or in square millimetres, its resistance when warm, and what a law lets it carry.

use crate::units::{Ampere, Area, Celsius, Length, Ohm, Share};

/// Annealed copper at 20 degC, in ohm millimetre squared per metre (100 % IACS).
const RESISTIVITY: f64 = 17.241e-3;
/// How it grows, per kelvin at 20 degC.
const PER_KELVIN: f64 = 0.00393;

/// A size of wire.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Size {
    /// By the number of the American wire gauge; 1/0 is 0, 2/0 is -1 and so on.
    Awg(i32),
    /// By the number of the vehicle standard SAE J1127/J1128, which holds less copper than the gauge of that number.
    Sae(i32),
    /// By its cross-section.
    Metric(Area),
}

/// What is known of the strands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Strand {
    /// One solid conductor: nothing is added.
    Solid,
    /// Strands, laid round each other: 2 % for numbered sizes; metric sizes 19.2 %, no less than every published maximum
    /// (IEC 60228 up to class 5 coated, of which 1.5 mm2 needs it all; ISO 6722).
    Stranded,
}

/// The temperature rating of the insulation, as the ampacity table has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Insulation {
    /// 60 degC.
    C60,
    /// 75 degC.
    C75,
    /// 80 degC.
    C80,
    /// 90 degC.
    C90,
    /// 105 degC.
    C105,
    /// 125 degC.
    C125,
    /// 200 degC.
    C200,
}

/// A run of wire to a load and back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wire {
    /// Its size.
    pub size: Size,
    /// One way.
    pub length: Length,
    /// Its strands.
    pub strand: Strand,
    /// Its own temperature in use.
    pub temperature: Celsius,
}

// Least areas of SAE J1127/J1128 in circular mils, as two makers' pages give them (second-hand).
const SAE_AREAS: &[(i32, f64)] = &[
    (18, 1537.0),
    (16, 2336.0),
    (14, 3702.0),
    (12, 5833.0),
    (10, 9343.0),
    (8, 14_810.0),
    (6, 24_538.0),
    (4, 37_360.0),
    (2, 62_450.0),
    (1, 77_790.0),
    (0, 98_980.0),
    (-1, 125_100.0),
    (-2, 158_600.0),
    (-3, 205_500.0),
];
/// A circular mil in square millimetres.
const CMIL: f64 = 5.067_075e-4;

// 33 CFR 183.425 Table 5: amperes at 30 degC around it by number and insulation, 60 to 200 degC.
const AMPACITY: &[(i32, [f64; 7])] = &[
    (18, [10.0, 10.0, 15.0, 20.0, 20.0, 25.0, 25.0]),
    (16, [15.0, 15.0, 20.0, 25.0, 25.0, 30.0, 35.0]),
    (14, [20.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0]),
    (12, [25.0, 25.0, 35.0, 40.0, 45.0, 50.0, 55.0]),
    (10, [40.0, 40.0, 50.0, 55.0, 60.0, 70.0, 70.0]),
    (8, [55.0, 65.0, 70.0, 70.0, 80.0, 90.0, 100.0]),
    (6, [80.0, 95.0, 100.0, 100.0, 120.0, 125.0, 135.0]),
    (4, [105.0, 125.0, 130.0, 135.0, 160.0, 170.0, 180.0]),
    (3, [120.0, 145.0, 150.0, 155.0, 180.0, 195.0, 210.0]),
    (2, [140.0, 170.0, 175.0, 180.0, 210.0, 225.0, 240.0]),
    (1, [165.0, 195.0, 210.0, 210.0, 245.0, 265.0, 280.0]),
    (0, [195.0, 230.0, 245.0, 245.0, 285.0, 305.0, 325.0]),
    (-1, [225.0, 265.0, 285.0, 285.0, 330.0, 355.0, 370.0]),
    (-2, [260.0, 310.0, 330.0, 330.0, 385.0, 410.0, 430.0]),
    (-3, [300.0, 360.0, 385.0, 385.0, 445.0, 475.0, 510.0]),
];

impl Size {
    /// Reads `14 AWG`, `2/0 AWG`, `14 SAE`, `2.5 mm2`; `None` for what is none of these, or is a size that is not made.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        if let Some(number) = text.strip_suffix("mm2") {
            let area: f64 = number.trim().parse().ok()?;
            return (0.1..=500.0).contains(&area).then(|| Self::Metric(Area::new(area * 1e-6)));
        }
        let (number, kind) = text.rsplit_once(' ')?;
        let number = match number.trim().split_once('/') {
            Some((noughts, "0")) => 1 - noughts.parse::<i32>().ok().filter(|noughts| (1..=4).contains(noughts))?,
            Some(_) => return None,
            None => number.trim().parse().ok()?,
        };
        match kind {
            "AWG" => (-3..=30).contains(&number).then_some(Self::Awg(number)),
            "SAE" => SAE_AREAS.iter().any(|(known, _)| *known == number).then_some(Self::Sae(number)),
            _ => None,
        }
    }

    /// Its copper. The gauge is `0.127 mm x 92^((36 - n) / 39)` across (ASTM B258).
    pub fn area(self) -> Area {
        match self {
            Self::Awg(number) => {
                let diameter = 0.127e-3 * 92_f64.powf(f64::from(36 - number) / 39.0);
                Area::new(std::f64::consts::PI * diameter * diameter / 4.0)
            }
            Self::Sae(number) => {
                let cmil = SAE_AREAS.iter().find(|(known, _)| *known == number).map_or(0.0, |(_, cmil)| *cmil);
                Area::new(cmil * CMIL * 1e-6)
            }
            Self::Metric(area) => area,
        }
    }

    /// What 33 CFR 183.425 (Table 5, boats; 30 degC around it) lets it carry. The table goes by number: an SAE size
    /// stands for that of its number, a metric size has none.
    pub fn ampacity(self, insulation: Insulation) -> Option<Ampere> {
        let (Self::Awg(number) | Self::Sae(number)) = self else { return None };
        let row = AMPACITY.iter().find(|(known, _)| *known == number)?;
        row.1.get(insulation.column()).copied().map(Ampere::new)
    }
}

impl std::fmt::Display for Size {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let numbered = |number: i32| if number < 1 { format!("{}/0", 1 - number) } else { number.to_string() };
        match self {
            Self::Awg(number) => write!(f, "{} AWG", numbered(*number)),
            Self::Sae(number) => write!(f, "{} SAE", numbered(*number)),
            Self::Metric(area) => write!(f, "{} mm2", (area.value() * 1e9).round() / 1e3),
        }
    }
}

impl Strand {
    /// What the lay adds to the length of copper.
    fn factor(self, size: Size) -> f64 {
        match (self, size) {
            (Self::Solid, _) => 1.0,
            (Self::Stranded, Size::Awg(_) | Size::Sae(_)) => 1.02,
            (Self::Stranded, Size::Metric(_)) => 1.192,
        }
    }
}

impl Insulation {
    /// By its temperature; `None` where the table has no such column.
    pub fn parse(temperature: Celsius) -> Option<Self> {
        let all = [Self::C60, Self::C75, Self::C80, Self::C90, Self::C105, Self::C125, Self::C200];
        all.into_iter().find(|known| known.rated() == temperature)
    }

    /// Its rating.
    pub fn rated(self) -> Celsius {
        let degrees = [60.0, 75.0, 80.0, 90.0, 105.0, 125.0, 200.0];
        Celsius::new(degrees.get(self.column()).copied().unwrap_or(0.0))
    }

    fn column(self) -> usize {
        match self {
            Self::C60 => 0,
            Self::C75 => 1,
            Self::C80 => 2,
            Self::C90 => 3,
            Self::C105 => 4,
            Self::C125 => 5,
            Self::C200 => 6,
        }
    }

    /// What is left in an engine space: second-hand for 105 degC, from memory for the others, not known for 200 degC.
    pub fn in_engine_space(self) -> Option<Share> {
        let left = [0.58, 0.75, 0.78, 0.82, 0.85, 0.89];
        left.get(self.column()).copied().map(Share::new)
    }
}

impl Wire {
    /// Both legs: `rho / A x 2 L x lay x (1 + 0.00393 (T - 20))`.
    pub fn resistance(&self) -> Ohm {
        let warm = 1.0 + PER_KELVIN * (self.temperature.value() - 20.0);
        let per_metre = RESISTIVITY / (self.size.area().value() * 1e6) * self.strand.factor(self.size) * warm;
        Ohm::new(per_metre * 2.0 * self.length.value())
    }
}

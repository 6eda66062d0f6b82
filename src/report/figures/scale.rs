//! How far from the middle a figure is drawn, and which figures get a ring: straight, by the root, or by powers of ten,
//! as the range asks for it.

/// A way from figures to shares of the radius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// The figure at the rim.
    pub most: f64,
    kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Straight,
    Root,
    /// Powers of ten from this figure on; within it straight down to nothing.
    Tens(f64),
}

/// The share of the radius within which a scale of powers of ten is straight.
const INNER: f64 = 0.12;

/// Rings closer than this cannot be told apart.
const LEAST_GAP: f64 = 0.13;

impl Scale {
    /// A scale on which `greatest` has its place, and `limit`, where there is one, lies well off the middle.
    pub fn for_range(greatest: f64, limit: Option<f64>) -> Self {
        let greatest = if greatest.is_finite() && greatest > 0.0 { greatest } else { 1.0 };
        let limit = limit.filter(|limit| limit.is_finite() && *limit > 0.0);
        let most = round_up(greatest.max(limit.unwrap_or(0.0)));
        let kind = match limit.map(|limit| most / limit) {
            None => Kind::Root,
            Some(ratio) if ratio <= 5.0 => Kind::Straight,
            Some(ratio) if ratio <= 60.0 => Kind::Root,
            Some(_) => Kind::Tens(10_f64.powf(limit.unwrap_or(1.0).log10().floor() - 1.0)),
        };
        Self { most, kind }
    }

    /// The place of a figure, as a share of the radius.
    pub fn radius(&self, value: f64) -> f64 {
        let share = value.max(0.0) / self.most;
        match self.kind {
            Kind::Straight => share,
            Kind::Root => share.sqrt(),
            Kind::Tens(from) if value <= from => INNER * value.max(0.0) / from,
            Kind::Tens(from) => INNER + (1.0 - INNER) * (value / from).log10() / (self.most / from).log10(),
        }
    }

    /// In words.
    pub fn says(&self) -> &'static str {
        match self.kind {
            Kind::Straight => "the distance from the middle is in proportion to the figure",
            Kind::Root => "the distance from the middle goes by the square root of the figure",
            Kind::Tens(_) => {
                "the distance from the middle goes by powers of ten, straight to nothing in the innermost ring"
            }
        }
    }

    /// Figures that get a ring, the greatest first.
    pub fn rings(&self) -> Vec<f64> {
        let mut rings = vec![self.most];
        let top = self.most.log10().ceil();
        let steps = [5.0, 2.0, 1.0];
        let decades = (0..8_i32).map(|down| 10_f64.powf(top - f64::from(down)));
        let figures = decades.flat_map(|decade| steps.map(|step| step * decade));
        let mut last = 1.0;
        for figure in figures.filter(|figure| *figure < self.most) {
            let only_tens = matches!(self.kind, Kind::Tens(_)) && figure.log10().fract().abs() > 1e-9;
            let radius = self.radius(figure);
            let inner = if let Kind::Tens(_) = self.kind { INNER - 1e-9 } else { LEAST_GAP };
            if !only_tens && radius >= inner && last - radius >= LEAST_GAP {
                rings.push(figure);
                last = radius;
            }
        }
        rings
    }
}

/// The next round figure: 1, 1.5, 2, 3, 4, 5, 6, 8 or 10 times a power of ten.
pub fn round_up(value: f64) -> f64 {
    let decade = 10_f64.powf(value.log10().floor());
    let step = [1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0].into_iter().find(|step| step * decade >= value * (1.0 - 1e-12));
    step.unwrap_or(10.0) * decade
}

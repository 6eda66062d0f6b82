//! Straight edges as documents print them: `y = 0.980 - x`, `x = 0.133 + 0.600y`, `x = 0.310`.

use super::Chromaticity;

/// A straight line in the x, y diagram: `a x + b y = c`, with a and b of length one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    a: f64,
    b: f64,
    c: f64,
}

/// Why a text is no equation of a line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LineError {
    /// It does not begin with `x =` or `y =`.
    #[error("an edge begins with `x =` or `y =`")]
    NoSide,
    /// A term is neither a number nor a number of times the other coordinate.
    #[error("`{0}` is neither a number nor a number times the other coordinate")]
    BadTerm(String),
    /// Nothing stands behind the sign.
    #[error("nothing stands behind `=`")]
    Empty,
}

impl Line {
    /// Reads an equation.
    pub fn parse(text: &str) -> Result<Self, LineError> {
        let plain: String = text.chars().filter(|c| !c.is_whitespace()).collect();
        let (side, rest) = plain.split_once('=').ok_or(LineError::NoSide)?;
        let other = match side {
            "x" => 'y',
            "y" => 'x',
            _ => return Err(LineError::NoSide),
        };
        if rest.is_empty() {
            return Err(LineError::Empty);
        }
        let (mut constant, mut slope) = (0.0, 0.0);
        for term in terms(rest) {
            let bad = || LineError::BadTerm(term.to_owned());
            match term.strip_suffix(other) {
                Some(factor) => {
                    slope += match factor.strip_suffix('*').unwrap_or(factor) {
                        "" | "+" => 1.0,
                        "-" => -1.0,
                        factor => number(factor).ok_or_else(bad)?,
                    }
                }
                None => constant += number(term).ok_or_else(bad)?,
            }
        }
        let size = f64::hypot(1.0, slope);
        let (a, b) = if side == "x" { (1.0, -slope) } else { (-slope, 1.0) };
        Ok(Self { a: a / size, b: b / size, c: constant / size })
    }

    /// The line through two points.
    pub fn through(from: Chromaticity, to: Chromaticity) -> Self {
        let (a, b) = (to.y - from.y, from.x - to.x);
        let size = a.hypot(b);
        Self { a: a / size, b: b / size, c: (a * from.x + b * from.y) / size }
    }

    /// How far a point is off the line; the sign says on which side.
    pub(super) fn offset(self, point: Chromaticity) -> f64 {
        self.a * point.x + self.b * point.y - self.c
    }

    /// Where two lines cross; none for lines that are as good as parallel.
    pub fn crossing(self, other: Self) -> Option<Chromaticity> {
        let size = self.a * other.b - other.a * self.b;
        let at = |u: f64| u / size;
        let point =
            Chromaticity { x: at(self.c * other.b - other.c * self.b), y: at(self.a * other.c - other.a * self.c) };
        (size.abs() > 1e-6).then_some(point)
    }
}

/// The terms of a sum, each with its sign.
fn terms(sum: &str) -> Vec<&str> {
    let mut terms = Vec::new();
    let mut start = 0;
    for (at, _) in sum.match_indices(['+', '-']).filter(|(at, _)| *at > 0) {
        terms.push(sum.get(start..at).unwrap_or_default());
        start = at;
    }
    terms.push(sum.get(start..).unwrap_or_default());
    terms
}

/// A finite number of plain digits.
fn number(text: &str) -> Option<f64> {
    let plain = text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '+' | '-'));
    text.parse().ok().filter(|_| plain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_are_read_as_they_are_printed() {
        let on = |text: &str, x: f64, y: f64| Line::parse(text).unwrap().offset(Chromaticity { x, y }).abs() < 1e-12;
        assert!(on("y = 0.335", 0.1, 0.335) && on("x = 0.31", 0.31, 0.9));
        assert!(on("y = 0.980 - x", 0.645, 0.335) && on("y=-x+0.98", 0.645, 0.335));
        assert!(on("x = 0.133 + 0.600y", 0.223, 0.15) && on("x = 0.600*y + 0.133", 0.223, 0.15));
        assert!(on("y = 1.290x - 0.100", 0.5, 0.545) && on("y = x - 0.120", 0.5, 0.38));
    }

    #[test]
    fn what_is_no_edge_says_why() {
        let error = |text: &str| Line::parse(text).unwrap_err();
        assert_eq!(error("z = 0.5"), LineError::NoSide);
        assert_eq!(error("0.335"), LineError::NoSide);
        assert_eq!(error("y = "), LineError::Empty);
        assert_eq!(error("y = 0.1 + 0.2y"), LineError::BadTerm("+0.2y".to_owned()));
        assert_eq!(error("y = 0,335"), LineError::BadTerm("0,335".to_owned()));
        assert_eq!(error("y = inf"), LineError::BadTerm("inf".to_owned()));
        assert_eq!(error("y = 0.1 - - x"), LineError::BadTerm("-".to_owned()));
    }
}

//! To which vehicles a ruleset applies: `vehicle.length >= 25 ft or any head.height > 8 ft`.
//!
//! Grammar: `or` of `and` of an optional `not` before a comparison or a condition in parentheses. `head` means the
//! warning heads.

use crate::package::{Package, Role};
use crate::units::{Amount, Dimension};

/// A condition on a vehicle.
#[derive(Clone, Debug, PartialEq)]
pub enum Condition {
    /// All hold.
    And(Vec<Condition>),
    /// One holds.
    Or(Vec<Condition>),
    /// It does not hold.
    Not(Box<Condition>),
    /// A figure compared with a length in metres.
    Compare {
        /// Which figure.
        figure: Figure,
        /// How.
        relation: Relation,
        /// With what, in metres.
        metres: f64,
    },
}

/// A figure of the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    /// Bumper to bumper.
    Length,
    /// Widest.
    Width,
    /// Highest.
    Height,
    /// The height of some warning head.
    AnyHeadHeight,
    /// The height of every warning head.
    AllHeadHeight,
}

/// A comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Relation {
    /// Above.
    Above,
    /// At least.
    AtLeast,
    /// Below.
    Below,
    /// At most.
    AtMost,
}

/// Where a condition goes wrong: byte offset, length, what is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ConditionError {
    /// Byte offset in the text.
    pub at: usize,
    /// How many bytes.
    pub len: usize,
    /// What is wrong.
    pub message: String,
}

impl Condition {
    /// Reads a condition.
    pub fn parse(text: &str) -> Result<Self, ConditionError> {
        let mut parser = Parser { tokens: tokens(text), next: 0, end: text.len(), depth: 0 };
        let condition = parser.or()?;
        match parser.peek() {
            None => Ok(condition),
            Some(_) => Err(parser.error("`and`, `or` or the end is expected here")),
        }
    }

    /// Whether it holds for a vehicle.
    pub fn holds(&self, package: &Package) -> bool {
        match self {
            Self::And(parts) => parts.iter().all(|part| part.holds(package)),
            Self::Or(parts) => parts.iter().any(|part| part.holds(package)),
            Self::Not(part) => !part.holds(package),
            Self::Compare { figure, relation, metres } => {
                let compare = |value: f64| match relation {
                    Relation::Above => value > *metres,
                    Relation::AtLeast => value >= *metres,
                    Relation::Below => value < *metres,
                    Relation::AtMost => value <= *metres,
                };
                let vehicle = &package.vehicle;
                let mut heights = package
                    .heads
                    .iter()
                    .filter(|head| head.role == Role::Warning)
                    .map(|head| head.pose.height().value());
                match figure {
                    Figure::Length => compare(vehicle.length.value()),
                    Figure::Width => compare(vehicle.width.value()),
                    Figure::Height => compare(vehicle.height.value()),
                    Figure::AnyHeadHeight => heights.any(compare),
                    Figure::AllHeadHeight => heights.all(compare),
                }
            }
        }
    }
}

struct Token<'t> {
    at: usize,
    text: &'t str,
}

/// Words, numbers and operators; spaces part them.
fn tokens(text: &str) -> Vec<Token<'_>> {
    let kind = |c: char| match c {
        '(' => 1,
        ')' => 2,
        '<' | '>' | '=' | '!' => 3,
        c if c.is_whitespace() => 4,
        _ => 5,
    };
    let mut tokens: Vec<Token<'_>> = Vec::new();
    let mut start: Option<(usize, i32)> = None;
    let mut cut = |from: usize, to: usize| {
        if let Some(piece) = text.get(from..to) {
            tokens.push(Token { at: from, text: piece });
        }
    };
    for (at, c) in text.char_indices() {
        let now = kind(c);
        // Parentheses stand alone, so that `((` is two tokens.
        if let Some((from, before)) = start
            && (before != now || before <= 2)
        {
            cut(from, at);
            start = None;
        }
        if now != 4 && start.is_none() {
            start = Some((at, now));
        }
    }
    if let Some((from, _)) = start {
        cut(from, text.len());
    }
    tokens
}

struct Parser<'t> {
    tokens: Vec<Token<'t>>,
    next: usize,
    end: usize,
    depth: usize,
}

impl<'t> Parser<'t> {
    fn peek(&self) -> Option<&'t str> {
        self.tokens.get(self.next).map(|token| token.text)
    }

    fn take(&mut self, word: &str) -> bool {
        let found = self.peek() == Some(word);
        self.next += usize::from(found);
        found
    }

    fn error(&self, message: impl Into<String>) -> ConditionError {
        let place = self.tokens.get(self.next).map_or((self.end, 0), |token| (token.at, token.text.len()));
        ConditionError { at: place.0, len: place.1, message: message.into() }
    }

    fn or(&mut self) -> Result<Condition, ConditionError> {
        let mut parts = vec![self.and()?];
        while self.take("or") {
            parts.push(self.and()?);
        }
        Ok(if parts.len() == 1 { parts.swap_remove(0) } else { Condition::Or(parts) })
    }

    fn and(&mut self) -> Result<Condition, ConditionError> {
        let mut parts = vec![self.not()?];
        while self.take("and") {
            parts.push(self.not()?);
        }
        Ok(if parts.len() == 1 { parts.swap_remove(0) } else { Condition::And(parts) })
    }

    fn not(&mut self) -> Result<Condition, ConditionError> {
        self.depth += 1;
        if self.depth > 64 {
            return Err(self.error("this condition is nested too deeply"));
        }
        let condition = if self.take("not") {
            Condition::Not(Box::new(self.not()?))
        } else if self.take("(") {
            let inner = self.or()?;
            if !self.take(")") {
                return Err(self.error("`)` is expected here"));
            }
            inner
        } else {
            self.comparison()?
        };
        self.depth -= 1;
        Ok(condition)
    }

    fn comparison(&mut self) -> Result<Condition, ConditionError> {
        let any = self.take("any");
        let all = !any && self.take("all");
        let figure = match (self.peek(), any, all) {
            (Some("vehicle.length"), false, false) => Figure::Length,
            (Some("vehicle.width"), false, false) => Figure::Width,
            (Some("vehicle.height"), false, false) => Figure::Height,
            (Some("head.height"), true, false) => Figure::AnyHeadHeight,
            (Some("head.height"), false, true) => Figure::AllHeadHeight,
            (Some("head.height"), false, false) => {
                return Err(self.error("say `any head.height` or `all head.height`"));
            }
            _ => {
                let known = "vehicle.length, vehicle.width, vehicle.height, any head.height or all head.height";
                return Err(self.error(format!("{known} is expected here")));
            }
        };
        self.next += 1;
        let relation = match self.peek() {
            Some(">") => Relation::Above,
            Some(">=") => Relation::AtLeast,
            Some("<") => Relation::Below,
            Some("<=") => Relation::AtMost,
            _ => return Err(self.error("one of > >= < <= is expected here")),
        };
        self.next += 1;
        let number = self.peek().unwrap_or_default().to_owned();
        // `25 ft` is two tokens, `25ft` one.
        let unit = self.tokens.get(self.next + 1).map_or("", |token| token.text);
        let (amount, used) = match Amount::parse(&number) {
            Ok(amount) => (Ok(amount), 1),
            Err(_) => (Amount::parse(&format!("{number} {unit}")), 2),
        };
        match amount.and_then(|amount| amount.in_dimension(Dimension::Length)) {
            Ok(metres) => {
                self.next += used;
                Ok(Condition::Compare { figure, relation, metres })
            }
            Err(error) => Err(self.error(format!("a length such as `25 ft` is expected here: {error}"))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn and_binds_closer_than_or() {
        let condition =
            Condition::parse("vehicle.length >= 25 ft or not (any head.height > 8ft) and vehicle.width < 3 m");
        let Ok(Condition::Or(parts)) = condition else { panic!("{condition:?}") };
        assert!(matches!(parts.as_slice(), [Condition::Compare { .. }, Condition::And(_)]));
    }

    #[test]
    fn points_at_what_is_wrong() {
        let error = Condition::parse("vehicle.lenght > 3 m").unwrap_err();
        assert_eq!((error.at, error.len), (0, 14));
        let error = Condition::parse("vehicle.length > 3").unwrap_err();
        assert!(error.message.contains("no unit"), "{error:?}");
        assert!(Condition::parse("").is_err());
        assert!(Condition::parse(&"(".repeat(500)).is_err());
    }
}

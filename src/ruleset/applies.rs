//! To which vehicles a ruleset applies: `vehicle.length >= 25 ft or any head.height > 8 ft`.
//!
//! The connectives are those of [`crate::logic::expression`]; here are the comparisons. `head` means the warning heads.

use winnow::Parser;
use winnow::combinator::{alt, opt, preceded};
use winnow::error::ErrMode;
use winnow::token::take_while;

use crate::logic::Mistake;
use crate::logic::expression::{self, Grammar, Piece, Read, Source, blank, piece, word};
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

impl Condition {
    /// Reads a condition.
    pub fn parse(text: &str) -> Result<Self, Mistake> {
        expression::parse(text, &mut Comparisons)
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

/// The figures by the words that stand for them.
const FIGURES: &[(&str, Figure)] = &[
    ("vehicle.length", Figure::Length),
    ("vehicle.width", Figure::Width),
    ("vehicle.height", Figure::Height),
    ("any head.height", Figure::AnyHeadHeight),
    ("all head.height", Figure::AllHeadHeight),
];

/// The atoms of conditions on a vehicle.
struct Comparisons;

impl Grammar for Comparisons {
    type Condition = Condition;

    fn atom(&mut self, input: &mut Source<'_>) -> Read<Condition> {
        let figure = figure(input)?;
        let sign = piece(input)?;
        let relation = match sign.text {
            ">" => Relation::Above,
            ">=" => Relation::AtLeast,
            "<" => Relation::Below,
            "<=" => Relation::AtMost,
            _ => return sign.fail("one of > >= < <= is expected here", None),
        };
        Ok(Condition::Compare { figure, relation, metres: length(input)? })
    }

    fn not(&self, inner: Condition) -> Condition {
        Condition::Not(Box::new(inner))
    }

    fn and(&self, parts: Vec<Condition>) -> Condition {
        Condition::And(parts)
    }

    fn or(&self, parts: Vec<Condition>) -> Condition {
        Condition::Or(parts)
    }
}

/// `vehicle.length` or `any head.height`
fn figure(input: &mut Source<'_>) -> Read<Figure> {
    let which = opt(alt((word("any"), word("all")))).parse_next(input)?;
    let name = piece(input)?;
    let words = which.map_or(name.text.to_owned(), |which| format!("{} {}", which.text, name.text));
    if let Some((_, figure)) = FIGURES.iter().find(|(known, _)| *known == words) {
        return Ok(*figure);
    }
    if words == "head.height" {
        return name.fail("say `any head.height` or `all head.height`", None);
    }
    let known: Vec<String> = FIGURES.iter().map(|(known, _)| (*known).to_owned()).collect();
    let unknown = name.is_name().then_some((words, known));
    Err(ErrMode::Cut(Mistake { unknown, ..name.mistake("a figure of the vehicle is expected here", None) }))
}

/// `25 ft` or `25ft`, in metres.
fn length(input: &mut Source<'_>) -> Read<f64> {
    let (number, place) = preceded(blank, take_while(0.., is_of_amount).with_span()).parse_next(input)?;
    let mut written = Piece { text: number, range: place };
    let mut amount = Amount::parse(number);
    let mut behind = *input;
    let (unit, place) = preceded(blank, take_while(0.., is_of_amount).with_span()).parse_next(&mut behind)?;
    // `in` is no word of these conditions but the inch.
    if amount.is_err() && !unit.is_empty() && !matches!(unit, "and" | "or" | "not") {
        amount = Amount::parse(&format!("{number} {unit}"));
        written.range.end = place.end;
        *input = behind;
    }
    match amount.and_then(|amount| amount.in_dimension(Dimension::Length)) {
        Ok(metres) => Ok(metres),
        Err(error) => written.fail(format!("a length such as `25 ft` is expected here: {error}"), None),
    }
}

/// Numbers and units hold more than names do: `%`, or a stray `"`.
fn is_of_amount(c: char) -> bool {
    !c.is_whitespace() && !"()<>=!&|".contains(c)
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
    fn lengths_may_touch_their_unit_and_inches_are_no_word() {
        for text in ["vehicle.length >= 300 in", "vehicle.length>=300in", "vehicle.length >= 7.62 m"] {
            let Ok(Condition::Compare { metres, .. }) = Condition::parse(text) else { panic!("{text}") };
            assert!((metres - 7.62).abs() < 1e-12, "{text}: {metres}");
        }
    }

    #[test]
    fn points_at_what_is_wrong() {
        for (text, at, len, message, help) in [
            ("vehicle.lenght > 3 m", 0, 14, "a figure of the vehicle", None),
            ("any vehicle.length > 3 m", 4, 14, "a figure of the vehicle", None),
            ("head.height > 3 m", 0, 11, "say `any head.height` or `all head.height`", None),
            ("vehicle.length = 3 m", 15, 1, "one of > >= < <= is expected here", None),
            ("vehicle.length > 3", 17, 1, "`3` has no unit", None),
            ("vehicle.length > 3 and vehicle.width > 2 m", 17, 1, "`3` has no unit", None),
            ("vehicle.length > 3 yd", 17, 4, "`yd` is not a unit", None),
            ("vehicle.length > 3 kg", 17, 4, "`kg` is not a unit", None),
            ("vehicle.length > 3 s", 17, 3, "`s` is a time, but a length is needed", None),
            ("vehicle.length > ", 17, 0, "a length such as", None),
            ("vehicle.length > 3 m < 5 m", 21, 1, "`and`, `or` or the end is", Some("two sides")),
            ("vehicle.length > 3 m && vehicle.width > 2 m", 21, 2, "`and`, `or` or the end is", Some("`and`")),
            ("(vehicle.length > 3 m", 21, 0, "`and`, `or` or `)` is expected here", None),
            ("", 0, 0, "a figure of the vehicle", None),
        ] {
            let error = Condition::parse(text).unwrap_err();
            assert_eq!((error.at, error.len), (at, len), "{text}: {error:?}");
            assert!(error.message.contains(message), "{text}: {error:?}");
            match help {
                Some(help) => assert!(error.help.as_deref().is_some_and(|said| said.contains(help)), "{error:?}"),
                None => assert_eq!(error.help, None, "{text}"),
            }
        }
        let error = Condition::parse("vehicle.lenght > 3 m").unwrap_err();
        assert!(error.unknown.is_some_and(|(name, known)| name == "vehicle.lenght" && known.len() == 5));
        assert!(Condition::parse(&"(".repeat(500)).is_err());
    }
}

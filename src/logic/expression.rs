//! The connectives of conditions: `and`, `or`, `not` and parentheses over atoms that a [`Grammar`] reads, so that
//! conditions on a vehicle and conditions over inputs are joined, bounded and faulted in the same way.
//!
//! `not` binds closest, then `and`, then `or`. A text is read once from left to right; its length and its nesting are
//! bounded, so that no text takes long or overflows the stack.

use std::ops::Range;

use winnow::Parser;
use winnow::combinator::{alt, cut_err, empty, preceded, separated, terminated};
use winnow::error::{ErrMode, ModalResult, ParserError};
use winnow::stream::{LocatingSlice, Location};
use winnow::token::{any, take_till, take_while};

use super::Mistake;

/// The text of a condition, with the place reached.
pub type Source<'t> = LocatingSlice<&'t str>;

/// What a parser found, or where it failed. The next piece tells what it must be, so a failure is final.
pub type Read<T> = ModalResult<T, Mistake>;

/// A person reads no longer condition; bytes.
const LONGEST: usize = 4096;

/// `not` and parentheses inside each other.
const DEEPEST: usize = 64;

/// Words that mean something in conditions, in any case, so that no input and no position can be called so.
const RESERVED: &[&str] = &["and", "or", "not", "in", "always"];

/// One kind of condition: its atoms, and what the connectives make of them.
pub trait Grammar {
    /// What is read.
    type Condition;
    /// Reads one atom, or says what is expected in its place.
    fn atom(&mut self, input: &mut Source<'_>) -> Read<Self::Condition>;
    /// The other does not hold.
    fn not(&self, inner: Self::Condition) -> Self::Condition;
    /// All of two or more hold.
    fn and(&self, parts: Vec<Self::Condition>) -> Self::Condition;
    /// At least one of two or more holds.
    fn or(&self, parts: Vec<Self::Condition>) -> Self::Condition;
}

/// Reads a whole text.
pub fn parse<G: Grammar>(text: &str, grammar: &mut G) -> Result<G::Condition, Mistake> {
    if text.len() > LONGEST {
        let piece = Piece { text, range: 0..text.len() };
        return Err(piece.mistake("this condition is longer than 4,096 bytes", Some("write a shorter one".to_owned())));
    }
    let mut input = LocatingSlice::new(text);
    let whole = terminated(|input: &mut Source<'_>| or(input, grammar, 0), closing("")).parse_next(&mut input);
    whole.map_err(|error| error.into_inner().unwrap_or_else(|_| Mistake::from_input(&input)))
}

/// Whether a word means something in conditions, so that no input and no position can be called so.
pub fn is_reserved(word: &str) -> bool {
    RESERVED.iter().any(|reserved| word.eq_ignore_ascii_case(reserved))
}

fn or<G: Grammar>(input: &mut Source<'_>, grammar: &mut G, depth: usize) -> Read<G::Condition> {
    let part = |input: &mut Source<'_>| and(input, grammar, depth);
    let parts: Vec<_> = separated(1.., part, word("or")).parse_next(input)?;
    Ok(alone(parts).unwrap_or_else(|parts| grammar.or(parts)))
}

fn and<G: Grammar>(input: &mut Source<'_>, grammar: &mut G, depth: usize) -> Read<G::Condition> {
    let part = |input: &mut Source<'_>| operand(input, grammar, depth);
    let parts: Vec<_> = separated(1.., part, word("and")).parse_next(input)?;
    Ok(alone(parts).unwrap_or_else(|parts| grammar.and(parts)))
}

/// The only part, or all of them where there are more.
fn alone<T>(mut parts: Vec<T>) -> Result<T, Vec<T>> {
    match (parts.pop(), parts.is_empty()) {
        (Some(only), true) => Ok(only),
        (last, _) => {
            parts.extend(last);
            Err(parts)
        }
    }
}

fn operand<G: Grammar>(input: &mut Source<'_>, grammar: &mut G, depth: usize) -> Read<G::Condition> {
    let first = ahead(input);
    match first.text {
        "not" | "(" if depth == DEEPEST => {
            first.fail("this condition is nested more than 64 deep", Some("write it with fewer parentheses".to_owned()))
        }
        "not" => {
            piece(input)?;
            let inner = operand(input, grammar, depth + 1)?;
            Ok(grammar.not(inner))
        }
        "(" => {
            piece(input)?;
            let inner = |input: &mut Source<'_>| or(input, grammar, depth + 1);
            terminated(inner, closing(")")).parse_next(input)
        }
        text if meant(text) == Some("not") => first.fail("a condition is expected here", instead_of(text)),
        _ => cut_err(|input: &mut Source<'_>| grammar.atom(input)).parse_next(input),
    }
}

/// What may stand behind a complete condition: `)`, or nothing at the end of the text.
fn closing(wanted: &'static str) -> impl FnMut(&mut Source<'_>) -> Read<()> {
    move |input| {
        let found = piece(input)?;
        if found.text == wanted {
            return Ok(());
        }
        let wanted = if wanted.is_empty() { "the end" } else { "`)`" };
        let help = match found.text {
            ")" => Some("this `)` closes nothing".to_owned()),
            "," => Some("join conditions with `and` or `or`".to_owned()),
            text if meant(text).is_some_and(|word| word != "not") => instead_of(text),
            text if text.starts_with(is_comparison) => {
                Some("a comparison has two sides; join two with `and` or `or`".to_owned())
            }
            _ if found.is_name() => Some("join conditions with `and` or `or`; names have no spaces".to_owned()),
            _ => None,
        };
        found.fail(format!("`and`, `or` or {wanted} is expected here"), help)
    }
}

/// The connective that somebody means who writes it as other languages do.
fn meant(text: &str) -> Option<&'static str> {
    match text {
        "&" | "&&" => Some("and"),
        "|" | "||" => Some("or"),
        "!" | "!!" | "~" => Some("not"),
        _ => ["and", "or", "not"].into_iter().find(|word| text.eq_ignore_ascii_case(word)),
    }
}

fn instead_of(text: &str) -> Option<String> {
    meant(text).filter(|word| *word != text).map(|word| format!("write `{word}` instead of `{text}`"))
}

/// A name, an operator, a text in quotes or one other character; empty at the end of the text.
#[derive(Clone, Debug)]
pub struct Piece<'t> {
    /// As written.
    pub text: &'t str,
    /// Its bytes in the whole text.
    pub range: Range<usize>,
}

impl Piece<'_> {
    /// A mistake at this place.
    pub fn mistake(&self, message: impl Into<String>, help: Option<String>) -> Mistake {
        Mistake { at: self.range.start, len: self.range.len(), message: message.into(), help, unknown: None }
    }

    /// Reading ends here.
    pub fn fail<T>(&self, message: impl Into<String>, help: Option<String>) -> Read<T> {
        Err(ErrMode::Cut(self.mistake(message, help)))
    }

    /// Whether it can name something: letters, digits, `.`, `_`, `-`, and no word of conditions.
    pub fn is_name(&self) -> bool {
        self.text.starts_with(is_of_name) && !is_reserved(self.text)
    }
}

/// Takes the next piece, spaces before it skipped; never fails.
pub fn piece<'t>(input: &mut Source<'t>) -> Read<Piece<'t>> {
    let quoted = |quote: char| (quote, take_till(0.., quote), alt((quote.void(), empty))).void();
    let kinds = alt((
        take_while(1.., is_of_name).void(),
        take_while(1.., is_comparison).void(),
        take_while(1.., '&').void(),
        take_while(1.., '|').void(),
        quoted('"'),
        quoted('\''),
        quoted('`'),
        any.void(),
        empty,
    ));
    let (text, range) = preceded(blank, kinds.take().with_span()).parse_next(input)?;
    Ok(Piece { text, range })
}

/// The next piece, left where it is.
pub fn ahead<'t>(input: &Source<'t>) -> Piece<'t> {
    let mut copy = *input;
    piece(&mut copy).unwrap_or(Piece { text: "", range: input.current_token_start()..input.current_token_start() })
}

/// Takes the next piece if it is this word; `and` is not found in `and-1`.
pub fn word<'t>(wanted: &'static str) -> impl Parser<Source<'t>, Piece<'t>, ErrMode<Mistake>> {
    piece.verify(move |piece: &Piece<'t>| piece.text == wanted)
}

/// Skips spaces.
pub fn blank(input: &mut Source<'_>) -> Read<()> {
    take_while(0.., char::is_whitespace).void().parse_next(input)
}

fn is_of_name(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-')
}

/// The characters of comparisons, those of other languages included, so that `<>` or `:=` is one piece.
fn is_comparison(c: char) -> bool {
    matches!(c, '=' | '!' | '<' | '>' | '~' | ':')
}

/// Every failure that a person sees is a [`Piece::fail`]; this one says "try the next" between combinators.
impl<'t> ParserError<Source<'t>> for Mistake {
    type Inner = Self;

    fn from_input(input: &Source<'t>) -> Self {
        let (at, message) = (input.current_token_start(), "this is not expected here".to_owned());
        Self { at, len: 0, message, help: None, unknown: None }
    }

    fn into_inner(self) -> Result<Self, Self> {
        Ok(self)
    }
}

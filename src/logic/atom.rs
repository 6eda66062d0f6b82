//! The atoms of conditions over inputs: `always`, `parked`, `warning == high`, `warning in [low, high]`. Each is bound
//! as it is read; a name that does not fit is noted, and reading goes on.

use std::ops::Range;

use winnow::Parser;
use winnow::combinator::separated;
use winnow::stream::Location;

use super::expression::{Grammar, Piece, Read, Source, ahead, piece, word};
use super::{Condition, Input, Inputs, Mistake};

/// Nobody mends more at once, and each may hold many names.
const MOST_MISTAKES: usize = 100;

/// Names handed on for a suggestion: more than any vehicle has, few enough to be quick.
const MOST_NAMES: usize = 2000;

/// Reads atoms and binds their names.
pub(super) struct Binder<'i> {
    inputs: &'i Inputs,
    /// Every name and type that does not fit, in the order of the text.
    pub(super) mistakes: Vec<Mistake>,
}

impl<'i> Binder<'i> {
    pub(super) fn new(inputs: &'i Inputs) -> Self {
        Self { inputs, mistakes: Vec::new() }
    }

    fn note(&mut self, mistake: Mistake) {
        if self.mistakes.len() < MOST_MISTAKES {
            self.mistakes.push(mistake);
        }
    }

    fn subject<'t>(&self, name: Piece<'t>) -> Subject<'i, 't> {
        let bound = self.inputs.find(name.text);
        Subject { name, bound: bound.and_then(|at| Some((at, self.inputs.list.get(at)?))) }
    }

    /// People write `warning == low or high`, and mean a position.
    fn unknown_input(&self, name: &Piece<'_>) -> Mistake {
        let text = name.text;
        let whose = self.inputs.list.iter().find(|input| !input.is_bool && input.find(text).is_some());
        let help = whose.map(|whose| format!("`{text}` is a position of `{0}`: write `{0} == {text}`", whose.id));
        let known = self.inputs.list.iter().map(|input| &input.id);
        unknown(name.mistake(format!("there is no input `{text}`"), help), text, known)
    }

    /// The input alone; `Always` where a mistake is noted, for then nothing is made of the condition.
    fn alone(&mut self, subject: &Subject<'_, '_>) -> Condition {
        let name = &subject.name;
        match subject.bound {
            Some((input, bound)) if bound.is_bool => return Condition::Is { input, positions: vec![1] },
            Some(_) => {
                let help = Some(format!("compare it: `{}`", subject.one()));
                self.note(name.mistake(format!("`{}` has positions", name.text), help));
            }
            None => self.note(self.unknown_input(name)),
        }
        Condition::Always
    }

    /// The input in one of these positions; `Always` like [`Binder::alone`].
    fn compared(&mut self, subject: &Subject<'_, '_>, wanted: &[Piece<'_>], range: Range<usize>) -> Condition {
        let name = &subject.name;
        match subject.bound {
            Some((_, bound)) if bound.is_bool => {
                self.note(Piece { text: name.text, range }.mistake(subject.no_positions(), subject.for_bool()));
            }
            Some((input, bound)) => return Condition::Is { input, positions: self.positions(bound, wanted) },
            None => self.note(self.unknown_input(name)),
        }
        Condition::Always
    }

    /// What somebody means who compares an input with another one, or with a position of another one.
    fn instead_of_position(&self, text: &str) -> Option<String> {
        if self.inputs.find(text).is_some() {
            return Some(format!("`{text}` is an input of its own; join two conditions with `and` or `or`"));
        }
        let whose = self.inputs.list.iter().find(|input| !input.is_bool && input.find(text).is_some())?;
        Some(format!("`{text}` is a position of `{}`", whose.id))
    }

    fn positions(&mut self, input: &Input, wanted: &[Piece<'_>]) -> Vec<usize> {
        let mut positions = Vec::new();
        for piece in wanted {
            let text = piece.text;
            match input.find(text) {
                Some(position) if positions.contains(&position) => {
                    let help = Some("write each position once".to_owned());
                    self.note(piece.mistake(format!("`{text}` stands twice in this list"), help));
                }
                Some(position) => positions.push(position),
                None => {
                    let help = self.instead_of_position(text);
                    let mistake = piece.mistake(format!("`{}` has no position `{text}`", input.id), help);
                    self.note(unknown(mistake, text, input.positions.iter().map(|position| &position.id)));
                }
            }
        }
        positions.sort_unstable();
        positions
    }
}

fn unknown<'n>(mistake: Mistake, name: &str, known: impl Iterator<Item = &'n String>) -> Mistake {
    Mistake { unknown: Some((name.to_owned(), known.take(MOST_NAMES).cloned().collect())), ..mistake }
}

impl Grammar for Binder<'_> {
    type Condition = Condition;

    fn atom(&mut self, input: &mut Source<'_>) -> Read<Condition> {
        let name = piece(input)?;
        if name.text == "always" {
            return Ok(Condition::Always);
        }
        if !name.is_name() {
            let help = match (name.text, self.inputs.list.first()) {
                (text, _) if text.eq_ignore_ascii_case("always") => "write `always`".to_owned(),
                (text, _) if is_quoted(text) => without_quotes(text),
                (_, Some(first)) if first.is_bool => format!("for example `{}`", first.id),
                (_, Some(first)) => format!("for example `{}`", one(first)),
                (_, None) => "`always` holds in every state".to_owned(),
            };
            return name.fail("a condition is expected here", Some(help));
        }
        let subject = self.subject(name);
        let sign = ahead(input);
        let wanted = match sign.text {
            "==" | "!=" => subject.one_position(input)?,
            "in" => subject.listed_positions(input)?,
            _ => {
                subject.no_foreign_sign(*input)?;
                return Ok(self.alone(&subject));
            }
        };
        let range = subject.name.range.start..input.current_token_start();
        let condition = self.compared(&subject, &wanted, range);
        Ok(if sign.text == "!=" { self.not(condition) } else { condition })
    }

    fn not(&self, inner: Condition) -> Condition {
        match inner {
            Condition::Is { input, positions } => {
                let all = self.inputs.list.get(input).map_or(0, |input| input.positions.len());
                Condition::Is { input, positions: (0..all).filter(|at| !positions.contains(at)).collect() }
            }
            Condition::Not(inner) => *inner,
            inner => Condition::Not(Box::new(inner)),
        }
    }

    fn and(&self, parts: Vec<Condition>) -> Condition {
        let flat = parts.into_iter().flat_map(|part| match part {
            Condition::And(inner) => inner,
            part => vec![part],
        });
        Condition::And(flat.collect())
    }

    fn or(&self, parts: Vec<Condition>) -> Condition {
        let flat = parts.into_iter().flat_map(|part| match part {
            Condition::Or(inner) => inner,
            part => vec![part],
        });
        Condition::Or(flat.collect())
    }
}

/// The input that an atom speaks of, and what would be right to say of it.
struct Subject<'i, 't> {
    name: Piece<'t>,
    bound: Option<(usize, &'i Input)>,
}

impl Subject<'_, '_> {
    /// `== high`
    fn one_position<'t>(&self, input: &mut Source<'t>) -> Read<Vec<Piece<'t>>> {
        let sign = piece(input)?;
        let found = piece(input)?;
        let several = || Some(format!("several positions are listed: `{}`", self.several()));
        if !found.is_name() {
            let help = match found.text {
                text if is_quoted(text) => Some(without_quotes(text)),
                "[" | "(" => several(),
                _ => Some(format!("for example `{}`", self.one())),
            };
            return self.fail(&found, "a position is expected here", help);
        }
        match ahead(input) {
            comma if comma.text == "," => {
                self.fail(&comma, &format!("one position stands behind `{}`", sign.text), several())
            }
            _ => Ok(vec![found]),
        }
    }

    /// `in [low, high]`
    fn listed_positions<'t>(&self, input: &mut Source<'t>) -> Read<Vec<Piece<'t>>> {
        piece(input)?;
        let right = || Some(format!("write `{}`", self.several()));
        let open = piece(input)?;
        if open.text != "[" {
            return self.fail(&open, "`[` is expected here", right());
        }
        let one = |input: &mut Source<'t>| match piece(input)? {
            found if found.is_name() => Ok(found),
            found if is_quoted(found.text) => {
                self.fail(&found, "a position is expected here", Some(without_quotes(found.text)))
            }
            found => self.fail(&found, "a position is expected here", right()),
        };
        let found = separated(1.., one, word(",")).parse_next(input)?;
        let close = piece(input)?;
        if close.text == "]" { Ok(found) } else { self.fail(&close, "`,` or `]` is expected here", right()) }
    }

    /// Says what is right where a comparison of other languages stands behind the name: `=`, `<>`, `is not`, `not in`.
    fn no_foreign_sign(&self, mut input: Source<'_>) -> Read<()> {
        let mut found = piece(&mut input)?;
        let next = piece(&mut input)?;
        let (sign, then) = (found.text.to_ascii_lowercase(), next.text.to_ascii_lowercase());
        if matches!((sign.as_str(), then.as_str()), ("not" | "!" | "is", "in") | ("is", "not")) {
            found.range.end = next.range.end;
        }
        let help = match (sign.as_str(), then.as_str()) {
            ("not" | "!", "in") => format!("write `not {}`", self.several()),
            ("is", "in") | ("in", _) => "write `in`".to_owned(),
            ("is", "not") | ("<>", _) => "write `!=`".to_owned(),
            ("is" | "equals" | "eq", _) => "write `==`".to_owned(),
            (order, _) if order.starts_with(['<', '>']) => {
                format!("positions have no order; list those that fit: `{}`", self.several())
            }
            (sign, _) if sign.starts_with(['=', '!', '~', ':']) => {
                format!("write `{}`", if sign.contains(['!', '~']) { "!=" } else { "==" })
            }
            _ => return Ok(()),
        };
        self.fail(&found, "`==`, `!=` or `in` is expected here", Some(help))
    }

    /// Fails with what is expected, unless nothing of that kind can stand behind this input.
    fn fail<T>(&self, found: &Piece<'_>, message: &str, help: Option<String>) -> Read<T> {
        match self.bound {
            Some((_, input)) if input.is_bool => found.fail(self.no_positions(), self.for_bool()),
            _ => found.fail(message, help),
        }
    }

    fn no_positions(&self) -> String {
        format!("`{}` is on or off and has no positions", self.name.text)
    }

    fn for_bool(&self) -> Option<String> {
        Some(format!("write `{0}` or `not {0}`", self.name.text))
    }

    fn one(&self) -> String {
        self.bound.map_or_else(|| format!("{} == POSITION", self.name.text), |(_, input)| one(input))
    }

    fn several(&self) -> String {
        let positions = self.bound.map_or(&[][..], |(_, input)| &input.positions);
        let listed: Vec<&str> = match positions {
            [.., first, last] => vec![&first.id, &last.id],
            _ => vec!["POSITION", "POSITION"],
        };
        format!("{} in [{}]", self.name.text, listed.join(", "))
    }
}

/// An example: the last position is the one that people have in mind.
fn one(input: &Input) -> String {
    format!("{} == {}", input.id, input.positions.last().map_or("POSITION", |position| &position.id))
}

fn is_quoted(text: &str) -> bool {
    text.starts_with(['"', '\'', '`'])
}

fn without_quotes(text: &str) -> String {
    match text.trim_matches(['"', '\'', '`']) {
        "" => "names stand without quotes".to_owned(),
        name => format!("write `{name}` without quotes"),
    }
}

//! Words that say that a lamp may be another than it looks like in the sheet: no warning lamp, not there, leaning; and the
//! side that stands beside a figure.

use super::words::tokens;

/// A word of a place or a model by which a lamp may be no warning lamp.
pub(super) fn other_use(text: &str) -> Option<String> {
    const WORDS: &[&str] = &[
        "scene",
        "work",
        "flood",
        "alley",
        "tail",
        "stop",
        "brake",
        "turn",
        "indicator",
        "reverse",
        "reversing",
        "backup",
        "headlamp",
        "headlight",
        "arrow",
        "ground",
        "step",
        "compartment",
        "cabin",
        "dome",
        "brow",
    ];
    tokens(text).into_iter().find(|word| WORDS.contains(&word.as_str()))
}

/// A word that may say something of the lamp.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Hint {
    pub word: String,
    /// It speaks of the lamp, as far as words show.
    pub is_sure: bool,
}

impl Hint {
    pub fn surely(self) -> Self {
        Self { is_sure: true, ..self }
    }
}

/// What a lamp is called.
const LAMP: &[&str] = &["lamp", "lamps", "light", "lights", "lighthead", "head", "unit", "item", "signal"];

/// A remark in its clauses, each as words; what is denied is written apart.
fn clauses(text: &str) -> Vec<Vec<String>> {
    let small =
        text.to_lowercase().replace(['\u{2019}', '\u{2018}'], "'").replace("n't", " not").replace("w/o", "without");
    let is_end = |c: char| matches!(c, ',' | ';' | ':' | '(' | ')' | '[' | ']' | '!' | '?' | '\u{2013}' | '\u{2014}');
    // A point ends a clause where a blank or nothing follows it.
    small.split(is_end).flat_map(|part| part.split(". ")).map(tokens).filter(|words| !words.is_empty()).collect()
}

fn is_one_of(word: Option<&String>, words: &[&str]) -> bool {
    word.is_some_and(|word| words.contains(&word.as_str()))
}

/// Whether the word at this place is denied: `not removed`, `no wedge or shim`, `shim is not required`.
fn is_denied(words: &[String], at: usize, hints: &[&str]) -> bool {
    const NO: &[&str] = &["no", "not", "never", "without", "cannot", "none", "non"];
    const BETWEEN: &[&str] = &["a", "an", "any", "the", "to", "be", "been", "or", "nor"];
    let (before, behind) = words.split_at_checked(at).unwrap_or((words, &[]));
    let mut before =
        before.iter().rev().skip_while(|word| is_one_of(Some(word), BETWEEN) || is_one_of(Some(word), hints));
    let mut behind = behind.iter().skip(1).skip_while(|word| is_one_of(Some(word), &["is", "are", "was", "were"]));
    is_one_of(before.next(), NO) || is_one_of(behind.next(), &["not", "never"])
}

/// A word of a remark or a name by which a lamp may not be there any more, or not yet. Sure where nothing else is spoken of:
/// the word begins the clause or stands behind the lamp, and names no other thing.
pub(super) fn gone(text: &str) -> Option<Hint> {
    const WORDS: &[&str] = &[
        "deleted",
        "delete",
        "removed",
        "remove",
        "void",
        "voided",
        "omitted",
        "omit",
        "obsolete",
        "cancelled",
        "canceled",
        "superseded",
        "spare",
        "uninstalled",
    ];
    // There only where they are not denied.
    const THERE: &[&str] = &["fitted", "installed", "mounted", "present"];
    const WHEELS: &[&str] = &["wheel", "tire", "tyre"];
    const DELETED: &[&str] = &["deleted", "delete", "cancelled", "canceled", "voided"];
    let clauses = clauses(text);
    let hints = clauses.iter().flat_map(|words| {
        (0..words.len()).filter_map(|at| {
            let word = words.get(at)?;
            let is_gone = WORDS.contains(&word.as_str()) && !is_denied(words, at, WORDS);
            let from = match THERE.contains(&word.as_str()) {
                true => denial(words, at)?,
                false if is_gone && !is_one_of(words.get(at + 1), WHEELS) => at,
                false => return None,
            };
            let of_lamp = is_of_lamp(words, from) && names_nothing(words, at);
            let by_order = DELETED.contains(&word.as_str()) && is_one_of(words.get(at + 1), &["per"]);
            Some(Hint { word: word.clone(), is_sure: of_lamp || by_order })
        })
    });
    surest(hints)
}

/// Where the denial stands of a word such as `fitted` at this place: `not fitted`, `no longer fitted`.
fn denial(words: &[String], at: usize) -> Option<usize> {
    let is = |back: usize, known: &[&str]| at.checked_sub(back).is_some_and(|at| is_one_of(words.get(at), known));
    match (is(1, &["not", "never"]), is(1, &["longer", "yet"]) && is(2, &["no", "not"])) {
        (true, _) => at.checked_sub(1),
        (false, true) => at.checked_sub(2),
        (false, false) => None,
    }
}

/// Whether nothing but the lamp stands before a word of its clause.
fn is_of_lamp(words: &[String], at: usize) -> bool {
    const VERBS: &[&str] =
        &["was", "were", "is", "are", "be", "been", "being", "has", "have", "had", "to", "will", "now", "already"];
    let mut before = words.iter().take(at).rev().skip_while(|word| is_one_of(Some(word), VERBS));
    before.next().is_none_or(|word| LAMP.contains(&word.as_str()))
}

/// Whether behind a word of its clause no other thing is named: nothing stands there, a figure, the lamp, or when and why.
fn names_nothing(words: &[String], at: usize) -> bool {
    const WHY: &[&str] = &[
        "per", "yet", "by", "from", "in", "on", "at", "see", "due", "as", "since", "until", "under", "and", "for",
        "this", "the",
    ];
    let next = words.get(at + 1);
    let is_it = |word: &&String| is_one_of(Some(word), WHY) || is_one_of(Some(word), LAMP);
    // `the` lamp, not `the` cover.
    let is_other = is_one_of(next, &["this", "the"]) && !is_one_of(words.get(at + 2), LAMP);
    !is_other && next.is_none_or(|word| is_it(&word) || word.starts_with(|c: char| c.is_ascii_digit()))
}

/// The first that is sure, or else the first.
fn surest(hints: impl Iterator<Item = Hint>) -> Option<Hint> {
    let mut all: Vec<Hint> = hints.collect();
    let at = all.iter().position(|hint| hint.is_sure).unwrap_or(0);
    if all.is_empty() { None } else { Some(all.swap_remove(at)) }
}

/// Which of `wedge` and `tilt` a remark speaks of: sure by a wedge, or by a figure in degrees.
pub(super) fn leans(text: &str) -> Option<(&'static str, Hint)> {
    const WEDGE: &[&str] = &["wedge", "wedges", "wedged", "shim", "shims", "shimmed"];
    const TILT: &[&str] = &["tilt", "tilted", "angled", "slope", "sloped"];
    let clauses = clauses(text);
    let says = |known: &[&str]| {
        let found = clauses.iter().find_map(|words| {
            (0..words.len())
                .find(|at| is_one_of(words.get(*at), known) && !is_denied(words, *at, known))
                .and_then(|at| words.get(at))
        });
        found.cloned()
    };
    if let Some(word) = says(WEDGE) {
        return Some(("wedge", Hint { word, is_sure: true }));
    }
    says(TILT).map(|word| ("tilt", Hint { word, is_sure: has_degrees(text) }))
}

/// Whether a figure in degrees stands in a text.
fn has_degrees(text: &str) -> bool {
    let small = text.to_lowercase();
    let mut parts = small.split(|c: char| c.is_ascii_digit() || c == '.').skip(1).map(str::trim_start);
    parts.any(|rest| rest.starts_with(['°', 'º']) || rest.starts_with("deg"))
}

/// A word of a remark by which a lamp may be no warning lamp. Sure where it says what lamp it is, or nothing else.
pub(super) fn names_use(text: &str) -> Option<Hint> {
    const BESIDE: &[&str] = &[
        "as",
        "also",
        "for",
        "used",
        "use",
        "only",
        "and",
        "or",
        "left",
        "right",
        "rear",
        "front",
        "combination",
        "combined",
        "led",
    ];
    const NEAR: &[&str] = &["above", "below", "before", "behind", "beside", "between", "near", "next", "over", "under"];
    let clauses = clauses(text);
    let hints = clauses.iter().flat_map(|words| {
        let is_use = |word: &String| other_use(word).is_some();
        let is_all =
            words.iter().all(|word| is_use(word) || is_one_of(Some(word), BESIDE) || is_one_of(Some(word), LAMP));
        (0..words.len()).filter_map(move |at| {
            let word = words.get(at).filter(|word| is_use(word) && !is_denied(words, at, &[]))?;
            // `above the work light` is the place of another one.
            let is_near = words.iter().take(at).any(|word| NEAR.contains(&word.as_str()));
            let is_sure = is_all || (is_one_of(words.get(at + 1), LAMP) && !is_near);
            Some(Hint { word: word.clone(), is_sure })
        })
    });
    surest(hints)
}

/// A figure and the side that stands beside it in the same cell: `15 L`, `43RH`, `30 L/R`, `left 12"`. The side as `left`,
/// `right` or `both`.
pub(super) fn sided(text: &str) -> Option<(&str, &'static str)> {
    const WORDS: &[(&str, &str)] = &[
        ("l/r", "both"),
        ("r/l", "both"),
        ("both", "both"),
        ("left", "left"),
        ("right", "right"),
        ("lhs", "left"),
        ("rhs", "right"),
        ("lh", "left"),
        ("rh", "right"),
        ("l", "left"),
        ("r", "right"),
    ];
    let text = text.trim();
    WORDS.iter().find_map(|(word, side)| {
        let same = |part: Option<&str>| part.is_some_and(|part| part.eq_ignore_ascii_case(word));
        let last = text.len().checked_sub(word.len())?;
        let (behind, before) = (text.get(..last), text.get(word.len()..));
        let rest = match (same(text.get(last..)), same(text.get(..word.len()))) {
            (true, _) => behind.filter(|rest| !rest.ends_with(char::is_alphabetic))?,
            (false, true) => before.filter(|rest| !rest.starts_with(char::is_alphabetic))?,
            (false, false) => return None,
        };
        rest.contains(|c: char| c.is_ascii_digit()).then(|| (rest.trim(), *side))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hints_are_seen() {
        assert_eq!(other_use("rear scene lamp").as_deref(), Some("scene"));
        assert_eq!(other_use("rear upper"), None);
        for (text, expected) in [
            ("15 L", Some(("15", "left"))),
            ("43RH", Some(("43", "right"))),
            ("30 L/R", Some(("30", "both"))),
            ("left 12 in", Some(("12 in", "left"))),
            ("15 in R", Some(("15 in", "right"))),
            ("15 mil", None),
            ("15", None),
            ("L", None),
        ] {
            assert_eq!(sided(text), expected, "{text}");
        }
        let hint = |word: &str, is_sure| Some(Hint { word: word.to_owned(), is_sure });
        assert_eq!(gone("DELETED per change order 2"), hint("deleted", true));
        assert_eq!((gone("above the spare wheel"), gone("spare connector")), (None, hint("spare", false)));
        assert_eq!(leans("with a wedge of 4 deg").map(|(what, _)| what), Some("wedge"));
    }
}

//! Words that say that a lamp may be another than it looks like in the sheet: no warning lamp, not there, leaning; and the
//! side that stands beside a figure.

use super::words::tokens;

/// A word of a place, a model or a remark by which a lamp may be no warning lamp.
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

/// A word of a remark or a name by which a lamp may not be there any more, or not yet.
pub(super) fn gone(text: &str) -> Option<String> {
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
    let words = tokens(text);
    let is_wheel = |at: usize| words.get(at + 1).is_some_and(|next| matches!(next.as_str(), "wheel" | "tire" | "tyre"));
    let found = words.iter().enumerate().find(|(at, word)| WORDS.contains(&word.as_str()) && !is_wheel(*at));
    found.map(|(_, word)| word.clone())
}

/// Which of `wedge` and `tilt` a remark speaks of.
pub(super) fn leans(text: &str) -> Option<&'static str> {
    let words = tokens(text);
    let says = |known: &[&str]| words.iter().any(|word| known.contains(&word.as_str()));
    match (says(&["wedge", "wedged", "shim", "shimmed"]), says(&["tilt", "tilted", "angled", "slope", "sloped"])) {
        (true, _) => Some("wedge"),
        (false, true) => Some("tilt"),
        (false, false) => None,
    }
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
        assert_eq!(gone("DELETED per change order 2").as_deref(), Some("deleted"));
        assert_eq!((gone("above the spare wheel"), leans("with a wedge of 4 deg")), (None, Some("wedge")));
    }
}

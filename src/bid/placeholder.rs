//! Answers that answer nothing: what stands in a draft until somebody knows better. One list, whichever part of the draft
//! holds it.

/// As they stand in a text, in small letters, without what is around them.
const PLACEHOLDERS: &[&str] = &[
    "anybody",
    "anyone",
    "anytime",
    "anywhere",
    "as soon as possible",
    "asap",
    "at some point",
    "blank",
    "by agreement",
    "dito",
    "ditto",
    "fill in",
    "in due course",
    "later",
    "later on",
    "n a",
    "n/a",
    "na",
    "nil",
    "no idea",
    "none",
    "not applicable",
    "not known",
    "not said",
    "not yet known",
    "null",
    "open",
    "pending",
    "same",
    "same as above",
    "see above",
    "see below",
    "somebody",
    "somehow",
    "someone",
    "sometime",
    "somewhere",
    "soon",
    "t b a",
    "t b c",
    "t b d",
    "tba",
    "tbc",
    "tbd",
    "text",
    "to be advised",
    "to be agreed",
    "to be announced",
    "to be confirmed",
    "to be decided",
    "to be defined",
    "to be determined",
    "to be filled in",
    "to be named",
    "to be specified",
    "to do",
    "todo",
    "unknown",
    "when known",
    "when ready",
    "xx",
    "xxx",
];

/// Whether a text says anything: it has a letter or a digit, does not stand as a whole in brackets for something to be put
/// in, and is no placeholder.
pub(super) fn is_said(text: &str) -> bool {
    let text = text.trim();
    let bracketed = [('<', '>'), ('[', ']'), ('{', '}')].iter().any(|(from, to)| {
        text.strip_prefix(*from)
            .and_then(|rest| rest.strip_suffix(*to))
            .is_some_and(|inner| !inner.contains([*from, *to]))
    });
    let bare = text.to_lowercase().replace(['.', '_', '-'], " ");
    let bare = bare.trim_matches(|letter: char| !letter.is_alphanumeric());
    let bare = bare.split_whitespace().collect::<Vec<_>>().join(" ");
    !bracketed && !bare.is_empty() && PLACEHOLDERS.binary_search(&bare.as_str()).is_err()
}

/// Whether something is there and says anything.
pub(super) fn is_there(text: Option<&String>) -> bool {
    text.is_some_and(|text| is_said(text))
}

#[cfg(test)]
mod tests {
    use super::{PLACEHOLDERS, is_said};

    #[test]
    fn the_list_is_in_order_and_every_word_of_it_is_found_however_it_is_written() {
        assert!(PLACEHOLDERS.is_sorted());
        for word in PLACEHOLDERS {
            for text in [(*word).to_owned(), word.to_uppercase(), format!(" {word}. "), format!("({word})")] {
                assert!(!is_said(&text), "{text}");
            }
            assert!(is_said(&format!("{word} of the yard")), "{word}");
        }
        for text in ["", " ", "...", "-", "???", "___", "\n", "[name]", "<where>", "T.B.D.", "to-be-determined"] {
            assert!(!is_said(text), "{text}");
        }
        for text in ["yard", "5", "[1] and [2]", "within 14 days", "日"] {
            assert!(is_said(text), "{text}");
        }
    }
}

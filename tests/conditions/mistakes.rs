//! What is said of each mistake in a condition, and where: byte offset and length.

use wayproof::logic::{Condition, Inputs, Mistake};

use super::{inputs, usual};

/// The text, where, how long, what is said, what would be right.
type Case = (&'static str, usize, usize, &'static str, Option<&'static str>);

fn check(cases: &[Case]) {
    for (text, at, len, message, help) in cases {
        let mistakes = Condition::parse(text, &usual()).expect_err(text);
        let [Mistake { at: found_at, len: found_len, message: said, help: helped, .. }] = mistakes.as_slice() else {
            panic!("{text}: {mistakes:?}");
        };
        assert_eq!(
            (*found_at, *found_len, said.as_str(), helped.as_deref()),
            (*at, *len, *message, *help),
            "{text}: {mistakes:?}"
        );
    }
}

const CONDITION: &str = "a condition is expected here";
const POSITION: &str = "a position is expected here";
const SIGN: &str = "`==`, `!=` or `in` is expected here";
const AFTER: &str = "`and`, `or` or the end is expected here";
const INSIDE: &str = "`and`, `or` or `)` is expected here";
const EXAMPLE: Option<&str> = Some("for example `warning == high`");
const LIST: Option<&str> = Some("write `warning in [low, high]`");
const TWO_SIDES: Option<&str> = Some("a comparison has two sides; join two with `and` or `or`");
const TWO_NAMES: Option<&str> = Some("join conditions with `and` or `or`; names have no spaces");

#[test]
fn connectives_out_of_place() {
    check(&[
        ("", 0, 0, CONDITION, EXAMPLE),
        ("  ", 2, 0, CONDITION, EXAMPLE),
        ("and parked", 0, 3, CONDITION, EXAMPLE),
        ("parked and", 10, 0, CONDITION, EXAMPLE),
        ("parked or or rear-door", 10, 2, CONDITION, EXAMPLE),
        ("parked and and rear-door", 11, 3, CONDITION, EXAMPLE),
        ("not", 3, 0, CONDITION, EXAMPLE),
        ("in [low]", 0, 2, CONDITION, EXAMPLE),
        ("()", 1, 1, CONDITION, EXAMPLE),
        ("== high", 0, 2, CONDITION, EXAMPLE),
        ("é", 0, 2, CONDITION, EXAMPLE),
        ("(parked", 7, 0, INSIDE, None),
        ("(parked rear-door)", 8, 9, INSIDE, TWO_NAMES),
        ("parked)", 6, 1, AFTER, Some("this `)` closes nothing")),
        ("parked rear-door", 7, 9, AFTER, TWO_NAMES),
        ("parked not rear-door", 7, 3, AFTER, None),
        ("parked, rear-door", 6, 1, AFTER, Some("join conditions with `and` or `or`")),
        ("parked && rear-door", 7, 2, AFTER, Some("write `and` instead of `&&`")),
        ("parked & rear-door", 7, 1, AFTER, Some("write `and` instead of `&`")),
        ("parked||rear-door", 6, 2, AFTER, Some("write `or` instead of `||`")),
        ("parked AND rear-door", 7, 3, AFTER, Some("write `and` instead of `AND`")),
        ("(warning == low OR parked)", 16, 2, INSIDE, Some("write `or` instead of `OR`")),
        ("!parked", 0, 1, CONDITION, Some("write `not` instead of `!`")),
        ("parked and !rear-door", 11, 1, CONDITION, Some("write `not` instead of `!`")),
        ("NOT parked", 0, 3, CONDITION, Some("write `not` instead of `NOT`")),
        ("Always", 0, 6, CONDITION, Some("write `always`")),
        ("always == high", 7, 2, AFTER, TWO_SIDES),
        ("\"parked\"", 0, 8, CONDITION, Some("write `parked` without quotes")),
        ("'parked", 0, 7, CONDITION, Some("write `parked` without quotes")),
        ("\"\"", 0, 2, CONDITION, Some("names stand without quotes")),
    ]);
    let mistakes = Condition::parse("", &inputs(&[])).unwrap_err();
    assert_eq!(mistakes[0].help.as_deref(), Some("`always` holds in every state"));
}

#[test]
fn comparisons_as_other_languages_write_them() {
    check(&[
        ("warning = high", 8, 1, SIGN, Some("write `==`")),
        ("warning === high", 8, 3, SIGN, Some("write `==`")),
        ("warning: high", 7, 1, SIGN, Some("write `==`")),
        ("warning is high", 8, 2, SIGN, Some("write `==`")),
        ("warning IS high", 8, 2, SIGN, Some("write `==`")),
        ("warning equals high", 8, 6, SIGN, Some("write `==`")),
        ("warning is not high", 8, 6, SIGN, Some("write `!=`")),
        ("warning <> high", 8, 2, SIGN, Some("write `!=`")),
        ("warning !== high", 8, 3, SIGN, Some("write `!=`")),
        ("warning ~= high", 8, 2, SIGN, Some("write `!=`")),
        ("warning IN [low]", 8, 2, SIGN, Some("write `in`")),
        ("warning is in [low]", 8, 5, SIGN, Some("write `in`")),
        ("warning not in [low]", 8, 6, SIGN, Some("write `not warning in [low, high]`")),
        ("warning >= low", 8, 2, SIGN, Some("positions have no order; list those that fit: `warning in [low, high]`")),
        ("siren = high", 6, 1, SIGN, Some("write `==`")),
        ("warning == low == high", 15, 2, AFTER, TWO_SIDES),
        (
            "warning == low, high",
            14,
            1,
            "one position stands behind `==`",
            Some("several positions are listed: `warning in [low, high]`"),
        ),
        ("warning != (low or high)", 11, 1, POSITION, Some("several positions are listed: `warning in [low, high]`")),
        ("warning == [low, high]", 11, 1, POSITION, Some("several positions are listed: `warning in [low, high]`")),
        ("warning == \"high\"", 11, 6, POSITION, Some("write `high` without quotes")),
        ("warning in ['low', 'high']", 12, 5, POSITION, Some("write `low` without quotes")),
        ("warning ==", 10, 0, POSITION, EXAMPLE),
        ("warning == and parked", 11, 3, POSITION, EXAMPLE),
        ("siren ==", 8, 0, POSITION, Some("for example `siren == POSITION`")),
        ("warning in (low, high)", 11, 1, "`[` is expected here", LIST),
        ("warning in low", 11, 3, "`[` is expected here", LIST),
        ("siren in low", 9, 3, "`[` is expected here", Some("write `siren in [POSITION, POSITION]`")),
        ("warning in []", 12, 1, POSITION, LIST),
        ("warning in [low,]", 16, 1, POSITION, LIST),
        ("warning in [low high]", 16, 4, "`,` or `]` is expected here", LIST),
        ("warning in [low", 15, 0, "`,` or `]` is expected here", LIST),
    ]);
}

#[test]
fn names_and_types_that_do_not_fit() {
    const PARKED: (&str, Option<&str>) =
        ("`parked` is on or off and has no positions", Some("write `parked` or `not parked`"));
    check(&[
        (
            "rear-door == open",
            0,
            17,
            "`rear-door` is on or off and has no positions",
            Some("write `rear-door` or `not rear-door`"),
        ),
        ("(parked == true) and always", 1, 14, PARKED.0, PARKED.1),
        ("parked != on", 0, 12, PARKED.0, PARKED.1),
        ("parked in [on, off] ", 0, 19, PARKED.0, PARKED.1),
        ("parked = true", 7, 1, PARKED.0, PARKED.1),
        ("parked is true", 7, 2, PARKED.0, PARKED.1),
        ("parked ==", 9, 0, PARKED.0, PARKED.1),
        ("always and warning", 11, 7, "`warning` has positions", Some("compare it: `warning == high`")),
        (
            "warning == low or high",
            18,
            4,
            "there is no input `high`",
            Some("`high` is a position of `warning`: write `warning == high`"),
        ),
        (
            "high == warning",
            0,
            4,
            "there is no input `high`",
            Some("`high` is a position of `warning`: write `warning == high`"),
        ),
        ("siren", 0, 5, "there is no input `siren`", None),
        ("siren in [low]", 0, 5, "there is no input `siren`", None),
        ("warning == hihg", 11, 4, "`warning` has no position `hihg`", None),
        (
            "warning != parked",
            11,
            6,
            "`warning` has no position `parked`",
            Some("`parked` is an input of its own; join two conditions with `and` or `or`"),
        ),
        ("warning == left", 11, 4, "`warning` has no position `left`", Some("`left` is a position of `arrow`")),
        ("warning in [low, high, low]", 23, 3, "`low` stands twice in this list", Some("write each position once")),
    ]);
}

#[test]
fn all_names_that_do_not_fit_come_at_once_with_those_that_are_known() {
    let text = "waring == low or not (warning in [hihg, low, of] and parked == on) or warning or (siren)";
    let mistakes = Condition::parse(text, &usual()).unwrap_err();
    let places: Vec<&str> = mistakes.iter().map(|mistake| &text[mistake.at..mistake.at + mistake.len]).collect();
    assert_eq!(places, ["waring", "hihg", "of", "parked == on", "warning", "siren"]);
    let known = |at: usize| mistakes[at].unknown.as_ref().map(|(name, known)| (name.as_str(), known.join(" ")));
    assert_eq!(known(0), Some(("waring", "warning parked rear-door arrow".to_owned())));
    assert_eq!(known(1), Some(("hihg", "off low high".to_owned())));
    assert_eq!(known(2), Some(("of", "off low high".to_owned())));
    assert_eq!((known(3), known(4)), (None, None));
    assert_eq!(known(5), Some(("siren", "warning parked rear-door arrow".to_owned())));
    // A mistake of grammar stands alone: what is read around it may be no condition at all.
    let mistakes = Condition::parse("waring == low or parked = true or siren", &usual()).unwrap_err();
    assert_eq!(mistakes.iter().map(|mistake| mistake.at).collect::<Vec<_>>(), [24]);
}

#[test]
fn deep_and_long_texts_are_answered() {
    let inputs = usual();
    let nested = |open: &str, close: &str, times: usize| format!("{}parked{}", open.repeat(times), close.repeat(times));
    let deep = |text: &str| {
        let mistakes = Condition::parse(text, &inputs).unwrap_err();
        assert_eq!(mistakes[0].message, "this condition is nested more than 64 deep");
        assert_eq!(mistakes[0].help.as_deref(), Some("write it with fewer parentheses"));
        (mistakes[0].at, mistakes[0].len)
    };
    assert!(Condition::parse(&nested("(", ")", 64), &inputs).is_ok());
    assert!(Condition::parse(&nested("not ", "", 64), &inputs).is_ok());
    assert!(Condition::parse(&nested("not (", ")", 32), &inputs).is_ok());
    assert!(Condition::parse(&nested("always or (parked and (", "))", 32), &inputs).is_ok());
    assert_eq!(deep(&nested("(", ")", 65)), (64, 1));
    assert_eq!(deep(&nested("not ", "", 65)), (256, 3));
    assert_eq!(deep(&nested("not (", ")", 33)), (160, 3));
    assert_eq!(deep(&"(".repeat(4096)), (64, 1));

    let long = format!("parked{}", " or parked".repeat(409));
    assert_eq!(long.len(), 4096);
    assert!(Condition::parse(&long, &inputs).is_ok());
    let mistakes = Condition::parse(&format!("{long} "), &inputs).unwrap_err();
    let [Mistake { at: 0, len: 4097, message, .. }] = mistakes.as_slice() else { panic!("{mistakes:?}") };
    assert_eq!(message, "this condition is longer than 4,096 bytes");
    // Many mistakes, each with many known names.
    let list = (0..5000).map(|at| inputs.list[at % 4].clone()).collect();
    let many = Inputs { list, described: true };
    let mistakes = Condition::parse(&format!("a{}", " or a".repeat(800)), &many).unwrap_err();
    assert_eq!(mistakes.len(), 100);
    assert!(mistakes.iter().all(|mistake| mistake.unknown.as_ref().is_some_and(|(_, known)| known.len() == 2000)));
}

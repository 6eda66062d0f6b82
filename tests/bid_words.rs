//! Words by which nothing can be tested, sentence by sentence: what is told of each, and sentences of the trade that hold
//! such words and can be tested all the same.

mod common;

use common::root;
use wayproof::bid::{lint, read_draft};
use wayproof::diagnostic::{Log, Sources};

/// The words that are told of a sentence in the clean draft.
fn told(sentence: &str) -> Vec<String> {
    let text = std::fs::read_to_string(root().join("tests/bid/clean.toml")).unwrap();
    let text = text.replace("Each switch has a label.", sentence);
    let (sources, log) = (Sources::default(), Log::default());
    let bid = read_draft("draft.toml", text.as_bytes(), &sources, &log).unwrap();
    let found = lint(&bid, &[], &[]).into_iter().filter(|fault| fault.id() == "unclear-word@labels");
    found.map(|fault| fault.says.split('`').nth(1).unwrap().to_owned()).collect()
}

#[test]
fn sentences_that_nobody_can_test_are_told_by_their_words() {
    for (sentence, words) in [
        ("Each lamp is bright.", "is bright"),
        ("Lamps are of satisfactory finish.", "satisfactory"),
        ("Lamps are acceptable to the chief.", "acceptable to"),
        ("Lamps have good brightness at night.", "good brightness"),
        ("Lamps work in normal conditions.", "in normal conditions"),
        ("Lamps meet or exceed the standard.", "meet or exceed"),
        ("Lamps flash at a high rate.", "high rate"),
        ("The siren is loud.", "is loud"),
        ("It follows the latest version of the standard.", "latest version"),
        ("It follows the current revision of the standard.", "current revision"),
        ("It follows the standard as amended.", "as amended"),
        ("Lamps are similar to those on unit 4.", "similar to"),
        ("Lamps are of the same type as on the present truck.", "same type as"),
        ("It is tested in normal use.", "normal use"),
        ("It is looked at in normal use at night.", "normal use"),
        ("Lamps are fitted properly.", "properly"),
        ("The work is done in a professional manner.", "professional"),
        ("Lamps are bright enough.", "bright enough"),
    ] {
        assert_eq!(told(sentence), [words], "{sentence}");
    }
    // With a way to show it, what is better can be told.
    assert_eq!(told("Lamps of 500 cd or better."), [""; 0]);
}

#[test]
fn terms_of_the_trade_are_no_faults() {
    for sentence in [
        "Each lamp has a quick-release bracket.",
        "A licensed professional engineer seals the drawing.",
        "The fuse is a quick-acting one of 15 A.",
        "Switches stand within reach of the driver, and their bright and dim positions are marked.",
        "The lamp is lit at its high level by day and at its low level at night.",
        "Heads of a pair are identical.",
        "Other lamps may not be similar to stop lamps.",
        "Each lamp is of the same type as listed in the schedule below.",
        "The siren is tested in normal use at 20 degC.",
    ] {
        assert_eq!(told(sentence), [""; 0], "{sentence}");
    }
}

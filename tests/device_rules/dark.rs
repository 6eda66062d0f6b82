//! What counts as dark between flashes where a rule says so itself: a share of the peak, an intensity, or both.
//!
//! The lamp gives 1500 cd. Its pattern is lit for 200 ms of a second, then glows for 200 ms: dark for 800 ms where the
//! glow counts as dark, for 600 ms where it does not.

use super::common::case::{number, same};
use super::common::{finding, judge_files};
use super::{CATALOGUE, beams, head, noted, package, rule, ruleset, show};
use wayproof::judge::{Judged, Verdict};

/// A model of which nothing is known.
const UNKNOWN: &str = "[[model]]\nid = \"unknown\"\n[[model.emitter]]\ncolour = \"red\"\n";

fn glowing(model: &str, glow: &str, device: &str, more: &str) -> Judged {
    let pattern = format!(
        "[[pattern]]\nid = \"glow\"\nperiod = \"1 s\"\npulses = [[\"0 ms\", \"200 ms\"], [\"200 ms\", \"400 ms\", \"{glow}\"]]\n{more}"
    );
    let text = package(&head("one", model, ""), &show("one", "red", "glow"), &pattern);
    let rules = [
        rule("off", "flash-off-time", "ms", "at-least", device, "value = 700"),
        rule("on", "flash-on-time", "ms", "at-most", device, "value = 300"),
    ];
    let (rules, catalogue, beams) = (ruleset(&rules.concat()), format!("{CATALOGUE}{UNKNOWN}"), beams());
    let mut files = vec![("package.toml", &*text), ("case.toml", &*rules), ("catalogue.toml", &*catalogue)];
    files.extend(beams.iter().map(|(name, text)| (*name, text.as_str())));
    judge_files(&files)
}

#[test]
fn the_rule_says_what_counts_as_dark() {
    for (glow, device, off) in [
        // The ruleset's tenth.
        ("5 %", "", 800.0),
        ("12 %", "", 600.0),
        ("5 %", "lit-above = \"1 %\"", 600.0),
        ("0.8 %", "lit-above = \"1 %\"", 800.0),
        // 12 cd of 1500; 9 cd.
        ("0.8 %", "lit-above = \"1 %\", dark-below = \"10 cd\"", 600.0),
        ("0.6 %", "lit-above = \"1 %\", dark-below = \"10 cd\"", 800.0),
        // An intensity that is more than the share leaves the share.
        ("1.2 %", "lit-above = \"1 %\", dark-below = \"100 cd\"", 600.0),
        ("5 %", "dark-below = \"100 cd\"", 800.0),
        ("5 %", "dark-below = \"70 cd\"", 600.0),
    ] {
        let judged = glowing("flat", glow, device, "");
        let found = number(&judged, "case:off@one/red");
        assert!((found - off).abs() < 1e-9, "{glow} {device}: {found}");
        same(number(&judged, "case:on@one/red"), 1000.0 - off);
        let expected = if off > 700.0 { Verdict::Pass } else { Verdict::Fail };
        assert_eq!(finding(&judged, "case:off@one/red").verdict, expected, "{glow} {device}");
    }
}

/// At half its level the lamp gives 750 cd, and the glow of 12 cd is one of 6.
#[test]
fn a_dimmed_lamp_is_dark_sooner() {
    let dim = "[[display]]\nid = \"dim\"\nwhen = \"warning\"\ndim-to = \"50 %\"\nshow = [{ head = \"one\" }]\n";
    let judged = glowing("flat", "0.8 %", "lit-above = \"1 %\", dark-below = \"10 cd\"", dim);
    same(number(&judged, "case:off@one/red"), 800.0);
}

#[test]
fn without_data_an_intensity_leaves_both_open() {
    let judged = glowing("unknown", "0.8 %", "lit-above = \"1 %\", dark-below = \"10 cd\"", "");
    let found = finding(&judged, "case:off@one/red");
    assert_eq!(found.verdict, Verdict::NotShown);
    assert!(noted(found, "no data for its greatest intensity"), "{:?}", found.notes);
    // A share alone needs no data.
    let judged = glowing("unknown", "0.8 %", "lit-above = \"1 %\"", "");
    same(number(&judged, "case:off@one/red"), 800.0);
}

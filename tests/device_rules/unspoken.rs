//! Lamps of which no row of a ruleset speaks: said once, and never as a pass.

use super::common::{finding, judge_files};
use super::{ACROSS, CATALOGUE, beams, head, package, rule, ruleset, show};
use wayproof::judge::{Finding, Judged, Verdict};

/// A red lamp, with a class or without, judged by some rules.
fn judged(class: &str, pattern: &str, rules: &[String]) -> Judged {
    let text = package(&head("one", "flat", ""), &show("one", "red", pattern), "");
    let classes = format!("id = \"flat\"\nclasses = {{ case = \"{class}\" }}");
    let catalogue = if class.is_empty() { CATALOGUE.to_owned() } else { CATALOGUE.replace("id = \"flat\"", &classes) };
    let (rules, beams) = (ruleset(&rules.concat()), beams());
    let mut files = vec![("package.toml", &*text), ("case.toml", &*rules), ("catalogue.toml", &*catalogue)];
    files.extend(beams.iter().map(|(name, text)| (*name, text.as_str())));
    judge_files(&files)
}

fn intensity(id: &str, limit: &str) -> String {
    let device = format!("effective = \"form-factor\", {ACROSS}");
    rule(id, "effective-intensity", "cd", "at-least", &device, limit)
}

fn ids(judged: &Judged) -> Vec<(&str, Verdict)> {
    judged.findings.iter().map(|finding: &Finding| (finding.id.as_str(), finding.verdict)).collect()
}

#[test]
fn a_colour_that_no_row_lists_is_told_once() {
    let amber = intensity("amber", "colours = { amber = 100 }");
    let blue = intensity("blue", "colours = { blue = 100 }");
    let judged_by = |rules: &[String]| judged("", "half", rules);
    let one = judged_by(&[amber.clone(), blue.clone()]);
    // The second has nothing to judge either, and says no more than that.
    let expected = [("case:amber@vehicle", Verdict::NotApplicable), ("case:blue@vehicle", Verdict::NotApplicable)];
    assert_eq!(ids(&one), expected);
    assert_eq!(finding(&one, "case:amber@vehicle").notes, ["no limit here speaks of red: not judged: one"]);
    assert_eq!(finding(&one, "case:blue@vehicle").notes, ["no head here to judge"]);
    // Another rule on the quantity speaks of red.
    let other = judged_by(&[amber, intensity("red", "colours = { red = 100 }")]);
    assert_eq!(finding(&other, "case:amber@vehicle").notes, ["no head here to judge"]);
    assert_eq!(finding(&other, "case:red@one/red").verdict, Verdict::Pass);
}

#[test]
fn a_lamp_without_the_class_by_which_the_rows_go_is_not_shown() {
    let rows = intensity("light", "class = \"1\", value = 100");
    let open = judged("", "half", std::slice::from_ref(&rows));
    assert_eq!(ids(&open), [("case:light@vehicle", Verdict::NotShown)]);
    let found = finding(&open, "case:light@vehicle");
    let note = "no class is claimed for the model `flat`, and the limits go by it: not judged: one";
    assert_eq!(found.notes, [note]);
    let said = "the class on its mark, at the model `flat` in the catalogue, for example classes = { case = \"1\" }";
    assert_eq!(found.would_show.as_deref(), Some(said));
    // Where the class itself is asked for, that finding decides.
    let claimed = rule("claimed", "claimed-class", "words", "some-of", "", "value = [\"1\"]");
    let asked = judged("", "half", &[claimed, rows.clone()]);
    let expected = [("case:claimed@one/red", Verdict::NotShown), ("case:light@vehicle", Verdict::NotApplicable)];
    assert_eq!(ids(&asked), expected);
    // A lamp of another class is known to be none of these; one of this class is judged.
    let other = judged("2", "half", std::slice::from_ref(&rows));
    assert_eq!(ids(&other), [("case:light@vehicle", Verdict::NotApplicable)]);
    assert_eq!(
        finding(&other, "case:light@vehicle").notes,
        ["no limit here speaks of red in class 2: not judged: one"]
    );
    assert_eq!(ids(&judged("1", "half", &[rows])), [("case:light@1/one/red", Verdict::Pass)]);
}

/// A lamp that does not flash has no effective intensity, so nothing of it is left unjudged.
#[test]
fn what_the_quantity_does_not_look_at_is_not_told() {
    let text = package(&head("one", "flat", ""), "{ head = \"one\", colour = \"red\", pattern = \"steady\" }", "");
    let (rules, beams) = (ruleset(&intensity("light", "class = \"1\", value = 100")), beams());
    let mut files = vec![("package.toml", &*text), ("case.toml", &*rules), ("catalogue.toml", CATALOGUE)];
    files.extend(beams.iter().map(|(name, text)| (*name, text.as_str())));
    let judged = judge_files(&files);
    assert_eq!(finding(&judged, "case:light@vehicle").notes, ["no head here to judge"]);
}

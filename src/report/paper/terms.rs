//! Terms that documents explain to who receives them: only those that occur in one.

use serde::Serialize;

/// A term and what it means.
#[derive(Clone, Copy, Debug, Serialize)]
pub(super) struct Term {
    term: &'static str,
    means: &'static str,
}

/// What is looked for, the term, and what it means.
const TERMS: &[(&[&str], &str, &str)] = &[
    (&["AHJ"], "AHJ", "the authority having jurisdiction: whoever by law accepts the vehicle or not"),
    (&["too close"], "too close", "nearer to the limit than the figure is certain: neither a pass nor a fail"),
    (&["not shown"], "not shown", "something is missing that a verdict needs; never a pass"),
    (
        &["xcepted", "accepted in writing"],
        "excepted",
        "not met or not shown, and accepted in writing by who may, until a day",
    ),
    (
        &["margin"],
        "margin",
        "the room between what was found and the limit, as a share of the limit; below zero it is not met",
    ),
    (
        &["uarded"],
        "guarded",
        "a pass is one only where the figure is better than the limit by its whole uncertainty U (JCGM 106:2012)",
    ),
    (
        &["U = ", ">U<", "&#177; U"],
        "U",
        "expanded uncertainty: the true value lies within U of the figure, with k = 2 in about 95 of 100 cases",
    ),
    (&["k = "], "k", "the factor between a standard uncertainty and U"),
    (
        &["cd.s&#x2f;min", "cd.s/min"],
        "cd.s/min",
        "candela seconds a minute: intensity times the seconds that it shines in a minute, added up over lamps (optical power)",
    ),
    (&["dividing line"], "dividing line", "the bearing at which one zone ends and the next begins"),
    (
        &["memory</", "[memory]", "rom memory"],
        "memory",
        "a limit remembered and not read in its document: compare it with your own copy",
    ),
    (
        &["second-hand"],
        "second-hand",
        "a limit known from another's text about the document: compare it with your own copy",
    ),
    (&["enough by itself"], "enough by itself", "this change alone makes the finding what it is now"),
    (&["not without it"], "not without it", "with this change taken out the finding is not what it is now"),
    (&["RMS"], "RMS", "root of the mean square of a current: what heats fuse and wire"),
];

/// Documents that go to people who did not make them.
const EXPLAINED: &[&str] = &["page.html", "record.html", "letter.html", "change.html", "compare.html"];

/// The terms of a document as it stands.
pub(super) fn terms_in(template: &str, document: &str) -> Vec<Term> {
    let (_, main) = document.split_once("<main>").unwrap_or_default();
    let occurs =
        |looked_for: &&[&str]| EXPLAINED.contains(&template) && looked_for.iter().any(|one| main.contains(one));
    let all = TERMS.iter().filter(|(looked_for, _, _)| occurs(looked_for));
    all.map(|(_, term, means)| Term { term, means }).collect()
}

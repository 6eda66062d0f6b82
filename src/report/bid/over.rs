//! What looking a draft over found, for a terminal: heaviest first, each with its line and what to do about it.

use crate::bid::{Cause, Fault, Feasible};
use crate::report::CAUTIONS;
use crate::report::text::{heading, paragraph};

/// The whole of it. `line` says on which line of the draft a fault stands. `feasible` is there where a catalogue was given.
pub fn looked_over(
    name: &str,
    faults: &[Fault],
    feasible: Option<&Feasible>,
    line: &dyn Fn(&Fault) -> Option<usize>,
    width: u16,
) -> String {
    let mut out = String::new();
    for (cause, title) in [
        (Cause::CannotBeMet, "No bidder can meet this"),
        (Cause::CannotBeTested, "Nobody can test this as it stands"),
        (Cause::Advice, "To be looked up before anybody signs"),
    ] {
        let mut of_cause = faults.iter().filter(|fault| fault.cause == cause).peekable();
        if of_cause.peek().is_none() {
            continue;
        }
        heading(title, width, &mut out);
        for together in alike(of_cause) {
            let id = |fault: &&Fault| {
                format!("{}{}", fault.id(), line(fault).map(|line| format!(" (line {line})")).unwrap_or_default())
            };
            let ids: Vec<String> = together.iter().map(id).collect();
            let Some(first) = together.first() else { continue };
            paragraph(&format!("{}: {}", ids.join(", "), first.says), "  ", width, &mut out);
            paragraph(&format!("  do: {}", first.help), "    ", width, &mut out);
        }
    }
    match feasible {
        None => {
            heading("Devices", width, &mut out);
            paragraph(
                "No catalogue was given, so it was not asked whether any device can meet this: --catalogue FILE",
                "  ",
                width,
                &mut out,
            );
        }
        Some(feasible) => {
            for (title, lines) in [
                ("Within reach of the catalogue", &feasible.within_reach),
                ("Not looked at, or not known", &feasible.unseen),
            ] {
                if !lines.is_empty() {
                    heading(title, width, &mut out);
                    lines.iter().for_each(|line| paragraph(&format!("- {line}"), "  ", width, &mut out));
                }
            }
        }
    }
    heading("Take care", width, &mut out);
    CAUTIONS.iter().for_each(|caution| paragraph(&format!("- {caution}"), "  ", width, &mut out));
    out.push('\n');
    let many = |cause: Cause| faults.iter().filter(|fault| fault.cause == cause).count();
    let (met, tested, advice) = (many(Cause::CannotBeMet), many(Cause::CannotBeTested), many(Cause::Advice));
    let line = format!("{name}: {met} cannot be met, {tested} cannot be tested, {advice} to be looked up");
    paragraph(&line, "  ", width, &mut out);
    out.trim_start_matches('\n').to_owned()
}

/// Faults of which the same is to be said and done, together.
fn alike<'a>(faults: impl Iterator<Item = &'a Fault>) -> Vec<Vec<&'a Fault>> {
    let mut groups: Vec<Vec<&Fault>> = Vec::new();
    for fault in faults {
        let same = |group: &&mut Vec<&Fault>| {
            group
                .first()
                .is_some_and(|first| first.code == fault.code && first.says == fault.says && first.help == fault.help)
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(fault),
            None => groups.push(vec![fault]),
        }
    }
    groups
}

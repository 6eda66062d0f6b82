//! What looking a draft over found, for a terminal: heaviest first, each with its line and what to do about it.

use comfy_table::{ContentArrangement, Table, presets};

use crate::bid::{Cause, Fault, Feasible, Takes};
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
            takes(&feasible.takes, width, &mut out);
            if !feasible.unseen.is_empty() {
                heading("Not looked at, or not known", width, &mut out);
                feasible.unseen.iter().for_each(|line| paragraph(&format!("- {line}"), "  ", width, &mut out));
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

/// How many heads totals take at least: a table, and once for all that share it under what.
fn takes(all: &[Takes], width: u16, out: &mut String) {
    if all.is_empty() {
        return;
    }
    heading("Heads that a total takes at least", width, out);
    let mut assumed: Vec<&str> = Vec::new();
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
    table.set_header(["limit", "asked", "heads", "best device", "taken"]);
    for one in all {
        let known = assumed.iter().position(|known| *known == one.taken);
        let number = known.unwrap_or_else(|| {
            assumed.push(&one.taken);
            assumed.len() - 1
        });
        table.add_row([&one.at, &one.asked, &one.heads, &one.device, &format!("({})", number + 1)]);
    }
    for column in table.column_iter_mut() {
        column.set_padding((0, 2));
    }
    for line in table.lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
    for (at, taken) in assumed.iter().enumerate() {
        paragraph(&format!("({}) taken: {taken}.", at + 1), "    ", width, out);
    }
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

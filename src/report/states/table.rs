//! The truth table for a person who stands at the vehicle and sets one row after the other.

use super::changes::ranges;
use super::worst::{Worst, place, worst};
use super::{Row, States, Use, hidden_lines, in_words};
use crate::judge::{APPLIES, Finding, VERDICTS, Verdict};
use crate::report::CAUTIONS;
use crate::report::number::margin;
use crate::report::table::look_at;
use crate::report::text::{heading, labelled, paragraph};
use crate::units::format_number;

/// A row names at most this many settings.
const MOST_NAMED: usize = 3;

/// What setting states on a vehicle asks for.
const CARE: &str = "Setting these states moves doors, ladders and racks, engages gears and lights lamps for long: chock the wheels, keep people clear of what moves, do not look into lamps that flash, and watch the battery.";

/// The whole table.
pub(super) fn write(states: &States<'_>) -> String {
    let mut out = String::new();
    header(states, &mut out);
    for row in &states.rows {
        out.push('\n');
        one(states, row, &mut out);
    }
    result(states, &mut out);
    out
}

fn header(states: &States<'_>, out: &mut String) {
    let width = states.wishes.width;
    let package = states.conduct.package;
    let title = format!(
        "{}  ({}), as of {}: what is lit in every state",
        package.vehicle.name, package.file, states.wishes.as_of
    );
    paragraph(&title, "", width, out);
    out.push('\n');
    let mut said: Vec<String> = vec![what_a_row_is(states)];
    let others = if states.conduct.space().inputs().described {
        "Inputs that a row does not name may be in any position. "
    } else {
        ""
    };
    said.push(format!(
        "{others}What comes and goes before the lamps, as an open door does, makes no row of its own: it stands under `hidden`, with the number of bearings."
    ));
    let names: Vec<&str> = states.rulesets.iter().map(|ruleset| ruleset.id.as_str()).collect();
    said.push(if names.is_empty() {
        "No ruleset is asked for, so no row is judged, and what bodies hide was not looked at.".to_owned()
    } else {
        format!("Verdict and margin are those of the required rules on light of {}, the least favourable over the row's states; doors and the like that a margin does not name are then at rest. Rules on switches and modes look at all states together: see `wayproof check`.", names.join(", "))
    });
    said.extend(left_out(states));
    for line in said {
        paragraph(&line, "", width, out);
    }
}

/// What makes a row, how many states there are, and which cannot occur.
fn what_a_row_is(states: &States<'_>) -> String {
    let count = |number: f64| format_number(number, 0);
    let inputs = states.conduct.space().inputs();
    let lights = how_many(states.lights.list.len());
    let at_least = if states.unlisted > 0.0 { "more than " } else { "" };
    let row = "A row is one light: in all its states every head shows the same colour in the same pattern, phase, level and role, or is dark.";
    if !inputs.described {
        let modes = states.conduct.package.modes.len();
        return format!(
            "{row} The package has no [inputs], so each of its {modes} modes is one state; they show {lights} distinct lights."
        );
    }
    let of = format!(
        "{} states of {} inputs can occur and show {at_least}{lights} distinct lights",
        count(states.states),
        inputs.list.len()
    );
    if states.never.states == 0.0 {
        return format!("{row} {of}.");
    }
    let never = in_words(states.conduct.space(), &states.never.settings, states.never.whole, MOST_NAMED);
    format!(
        "{row} {of}; {} more are left out, since `never` says that they cannot: {never}.",
        count(states.never.states)
    )
}

/// A whole number with its thousands set apart.
fn how_many(things: usize) -> String {
    format_number(u32::try_from(things).map_or(f64::INFINITY, f64::from), 0)
}

/// Rows that are not there, and why.
fn left_out(states: &States<'_>) -> Vec<String> {
    let mut said = Vec::new();
    if states.unlisted > 0.0 {
        said.push(format!(
            "? This table is cut: {} states show lights beyond the first {}, which were not looked at. Say with `never` what cannot occur, or leave out inputs.",
            format_number(states.unlisted, 0),
            how_many(states.lights.list.len())
        ));
    }
    let (printed, all) = (states.rows.len(), states.lights.list.len());
    if printed < all {
        let (printed, all) = (how_many(printed), how_many(all));
        said.push(format!("? Only rows 1 to {printed} of {all} are printed and judged, as --rows asks."));
    }
    said
}

fn one(states: &States<'_>, row: &Row<'_>, out: &mut String) {
    let width = states.wishes.width;
    let space = states.conduct.space();
    let settings = in_words(space, &row.settings, row.whole, MOST_NAMED);
    labelled(&format!("row {}", row.number), &settings, width, out);
    labelled("states", &uses(row), width, out);
    if row.lit.is_empty() {
        labelled("lit", "nothing", width, out);
    }
    for (at, lit) in row.lit.iter().enumerate() {
        labelled(if at == 0 { "lit" } else { "" }, &lit.line(), width, out);
    }
    let hidden = hidden_lines(states, &row.hidden.iter().collect::<Vec<_>>());
    for (at, (when, what)) in hidden.iter().enumerate() {
        labelled(if at == 0 { "hidden" } else { "" }, &format!("with {when}: {what}"), width, out);
    }
    verdict(states, row, out);
    if states.wishes.changes {
        for (at, line) in row.told.iter().enumerate() {
            labelled(if at == 0 { "changes" } else { "" }, line, width, out);
        }
    }
}

/// How many states, and which modes they belong to.
pub(super) fn uses(row: &Row<'_>) -> String {
    let count = |number: f64| format_number(number, 0);
    let used = |used: &Use<'_>| {
        let purpose = used.purpose.map(|purpose| format!(" ({purpose})")).unwrap_or_default();
        let part = if used.states < row.states { format!(" in {} of them", count(used.states)) } else { String::new() };
        let assumed = if used.judged < used.states {
            format!(", judged in {} of them, as it assumes", count(used.judged))
        } else {
            String::new()
        };
        format!("mode {}{purpose}{part}{assumed}", used.mode)
    };
    let mut said: Vec<String> = row.uses.iter().map(used).collect();
    if row.uses.is_empty() {
        said.push("no mode".to_owned());
    } else if row.unused > 0.0 {
        said.push(format!("no mode in {} of them", count(row.unused)));
    }
    format!("{}; {}", count(row.states), said.join("; "))
}

fn verdict(states: &States<'_>, row: &Row<'_>, out: &mut String) {
    let width = states.wishes.width;
    let Some(worst) = worst(row) else {
        let (mark, why) = not_judged(states, row);
        labelled(mark, why, width, out);
        return;
    };
    let least = worst.least.map(|finding| least(states, finding));
    let of_heads = worst
        .least_of_heads
        .map(|finding| format!("least margin of a head by itself {}: {}", margin(finding), place(states, finding)));
    let mut lines: Vec<String> = Vec::new();
    if worst.verdict != Verdict::Pass {
        let named: Vec<&str> = worst.having.iter().take(MOST_NAMED).map(|finding| place(states, finding)).collect();
        let more = match worst.having.len() - named.len() {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        lines.push(format!("{} of {} findings: {}{more}", worst.having.len(), worst.judged, named.join(", ")));
    }
    lines.extend(least);
    lines.extend(of_heads);
    let mut labels = vec![mark(&worst)];
    labels.resize(lines.len(), String::new());
    for (label, line) in labels.iter().zip(&lines) {
        labelled(label, line, width, out);
    }
    if lines.is_empty() {
        labelled(&mark(&worst), &format!("all {} findings", worst.judged), width, out);
    }
}

/// The verdict with its mark, as other tables print it.
fn mark(worst: &Worst<'_>) -> String {
    let mark = match worst.verdict {
        Verdict::Pass => "  ",
        Verdict::Fail => return "X FAIL".to_owned(),
        Verdict::NotShown => "? ",
        Verdict::TooClose => "~ ",
        Verdict::Excepted => "= ",
        Verdict::NotApplicable => "- ",
    };
    format!("{mark}{}", worst.verdict.print())
}

fn least(states: &States<'_>, finding: &Finding) -> String {
    let with = states.with_doors(finding).map(|doors| format!(", with {doors}")).unwrap_or_default();
    let look = look_at(finding, true);
    let look = if look.is_empty() { String::new() } else { format!(", look at {look}") };
    format!("least margin {}: {}{look}{with}", margin(finding), place(states, finding))
}

/// Why a row has no verdict: a mark, and the reason.
fn not_judged(states: &States<'_>, row: &Row<'_>) -> (&'static str, &'static str) {
    if states.is_asked(row) && row.findings.is_none() {
        return ("? not shown", "too many different states: this row was not judged");
    }
    let why = if states.rulesets.is_empty() {
        "not judged: no ruleset is asked for"
    } else if row.uses.is_empty() {
        "not judged: it serves no mode"
    } else if row.uses.iter().all(|used| used.purpose.is_none()) {
        "not judged: the rules ask nothing of a mode without a purpose"
    } else if !states.is_asked(row) {
        "not judged: the mode assumes that these states do not occur"
    } else {
        "not judged: no required rule asks anything of this light"
    };
    ("", why)
}

fn result(states: &States<'_>, out: &mut String) {
    let width = states.wishes.width;
    heading("Result", width, out);
    for caution in CAUTIONS.iter().chain(&[CARE]) {
        paragraph(&format!("- {caution}"), "  ", width, out);
    }
    for ruleset in states.rulesets {
        let misfits = |finding: &Finding| {
            finding.rule == APPLIES && finding.ruleset == ruleset.id && finding.verdict == Verdict::Fail
        };
        if states.rows.iter().flat_map(|row| row.findings.iter()).flat_map(|findings| findings.iter()).any(misfits) {
            let line = format!("X FAIL {} does not fit this vehicle, so no row is judged by it.", ruleset.id);
            paragraph(&line, "", width, out);
        }
    }
    let of_row = |row: &Row<'_>| {
        let open = states.is_asked(row) && row.findings.is_none();
        let verdict = if open { Verdict::NotShown } else { worst(row)?.verdict };
        Some((row.number - 1, verdict))
    };
    let judged: Vec<(usize, Verdict)> = states.rows.iter().filter_map(of_row).collect();
    let tally = |(word, verdict): &(&str, Verdict)| {
        let rows = judged.iter().filter(|(_, of_row)| of_row == verdict).count();
        (rows > 0 || matches!(verdict, Verdict::Pass | Verdict::Fail))
            .then(|| format!("{rows} {}", word.replace('-', " ")))
    };
    let tally: Vec<String> = VERDICTS.iter().filter_map(tally).collect();
    let (rows, all) = (how_many(judged.len()), how_many(states.rows.len()));
    paragraph(&format!("Rows judged: {rows} of {all}: {}.", tally.join(", ")), "", width, out);
    let last = [(Verdict::Fail, "X FAIL"), (Verdict::TooClose, "~ too close"), (Verdict::NotShown, "? not shown")];
    for (verdict, mark) in last {
        let rows: Vec<usize> = judged.iter().filter(|(_, of_row)| *of_row == verdict).map(|(at, _)| *at).collect();
        if !rows.is_empty() {
            let word = if rows.len() == 1 { "row" } else { "rows" };
            paragraph(&format!("{mark} {word} {}", ranges(&rows)), "    ", width, out);
        }
    }
}

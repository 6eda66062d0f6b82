//! The truth table for a person who stands at the vehicle and sets one row after the other.

use super::changes::ranges;
use super::worst::{Worst, place, worst};
use super::{Row, States, Use, When, hidden_lines, in_words};
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

/// What stands before lamps or moves them.
const DOORS: &str = "doors and the like";

/// How verdicts are to be read where something comes and goes before the lamps.
const RESTING: &str = " Where a row does not pass, the findings that stand with all of these at rest, as far as the row lets them be, come first, and then those that take a door open or the like.";

/// How changes are to be read.
const CHANGES: &str = "A change that leads to one of several rows names first the row that it leads to from the row's first setting, with all that this does not name at rest unless more is said.";

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
    said.extend(states.wishes.when.as_ref().map(|when| what_is_asked(states, when)));
    let others = if states.conduct.space().inputs().described {
        if states.wishes.when.is_some() {
            "Inputs that neither the condition nor a row names may be in any position. "
        } else {
            "Inputs that a row does not name may be in any position. "
        }
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
        format!("Verdict and margin are those of the required rules on light of {}, the least favourable over the row's states; {DOORS} that a margin does not name are then at rest.{} Rules on switches and modes look at all states together: see `wayproof check`.", names.join(", "), if states.doors.is_empty() { "" } else { RESTING })
    });
    let overlays = states.rulesets.iter().flat_map(|ruleset| &ruleset.overlays);
    said.extend(overlays.filter_map(|overlay| overlay.not_in_force(states.wishes.as_of)));
    if states.wishes.changes {
        said.push(CHANGES.to_owned());
    }
    said.extend(left_out(states));
    for line in said {
        paragraph(&line, "", width, out);
    }
}

/// What the condition asked for picks out.
fn what_is_asked(states: &States<'_>, when: &When) -> String {
    let count = |number: f64| format_number(number, 0);
    let rows = if states.asked == 1 { "row" } else { "rows" };
    let at_least = if states.unlisted > 0.0 { "more than " } else { "" };
    format!(
        "Asked with --when: {}. {} of these states in {at_least}{} {rows} meet it, and all that follows speaks of them alone: settings say what to set beyond it. Rows have their numbers in the whole table.",
        when.text,
        count(states.states_asked),
        how_many(states.asked)
    )
}

/// What makes a row, how many states there are, and which cannot occur.
fn what_a_row_is(states: &States<'_>) -> String {
    let count = |number: f64| format_number(number, 0);
    let inputs = states.conduct.space().inputs();
    let lights = how_many(states.lights.list.len());
    let beyond = !states.lights.rest.is_empty();
    let at_least = if beyond { "more than " } else { "" };
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
    if states.rows.len() < states.asked {
        let (printed, all) = (how_many(states.rows.len()), how_many(states.asked));
        said.push(if states.wishes.when.is_none() {
            format!("? Only rows 1 to {printed} of {all} are printed and judged, as --rows asks.")
        } else {
            let are = if states.rows.len() == 1 { "is" } else { "are" };
            format!("? Of these {all} rows only {printed} {are} printed and judged, as --rows asks.")
        });
    }
    said
}

fn one(states: &States<'_>, row: &Row<'_>, out: &mut String) {
    let width = states.wishes.width;
    labelled(&format!("row {}", row.number), &states.settings(row, MOST_NAMED), width, out);
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
    let of = if row.states < row.all_states {
        format!("{} of the row's {}", count(row.states), count(row.all_states))
    } else {
        count(row.states)
    };
    format!("{of}; {}", said.join("; "))
}

fn verdict(states: &States<'_>, row: &Row<'_>, out: &mut String) {
    let width = states.wishes.width;
    let Some(worst) = worst(states, row) else {
        let (mark, why) = not_judged(states, row);
        labelled(mark, &why, width, out);
        return;
    };
    let mut lines: Vec<String> = who_has_it(states, &worst);
    lines.extend(worst.least.map(|finding| least(states, finding)));
    lines.extend(
        worst
            .least_of_heads
            .map(|finding| format!("least margin of a head by itself {}: {}", margin(finding), place(states, finding))),
    );
    let mut labels = vec![mark(&worst)];
    labels.resize(lines.len(), String::new());
    for (label, line) in labels.iter().zip(&lines) {
        labelled(label, line, width, out);
    }
    if lines.is_empty() {
        labelled(&mark(&worst), &format!("all {} findings", worst.judged), width, out);
    }
}

/// The findings with the worst verdict: first those that have it at rest, then by what must be open or moved.
fn who_has_it(states: &States<'_>, worst: &Worst<'_>) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = |with: &str, findings: &[&Finding]| {
        let places: Vec<&str> = findings.iter().map(|finding| place(states, finding)).collect();
        let how_many = match lines.len() {
            0 => format!("{} of {} findings", findings.len(), worst.judged),
            _ => format!("{} more", findings.len()),
        };
        lines.push(format!("{how_many}{with}: {}", places.join(", ")));
    };
    if !worst.at_rest.is_empty() {
        let with = if worst.resting.is_some() { format!(" with {DOORS} at rest") } else { String::new() };
        line(&with, &worst.at_rest);
    }
    for (with, findings) in &worst.only_with {
        line(&format!(" with {with}"), findings);
    }
    if let (false, Some((verdict, least))) = (worst.only_with.is_empty() || !worst.at_rest.is_empty(), worst.resting) {
        let least = least.map(|finding| format!(", least margin {}: {}", margin(finding), place(states, finding)));
        lines.push(match verdict {
            Verdict::NotApplicable => format!("nothing is judged with {DOORS} at rest"),
            verdict => format!("{} with {DOORS} at rest{}", verdict.print(), least.unwrap_or_default()),
        });
    }
    lines
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
fn not_judged(states: &States<'_>, row: &Row<'_>) -> (&'static str, String) {
    if states.is_asked(row) && row.findings.is_none() {
        return ("? not shown", "too many different states: this row was not judged".to_owned());
    }
    let why = if states.rulesets.is_empty() {
        "no ruleset is asked for"
    } else if row.uses.is_empty() {
        return ("", "not judged: these states are in no mode".to_owned());
    } else if row.uses.iter().all(|used| used.purpose.is_none()) {
        "the rules ask nothing of a mode without a purpose"
    } else if !states.is_asked(row) {
        "the mode assumes that these states do not occur"
    } else {
        "no required rule asks anything of this light"
    };
    let in_no_mode = match row.unused {
        0.0 => String::new(),
        unused => format!(", and {} of these states are in no mode", format_number(unused, 0)),
    };
    ("", format!("not judged: {why}{in_no_mode}"))
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
        if states.rows.iter().flat_map(|row| row.findings.iter()).flat_map(|of| &of.whole).any(misfits) {
            let line = format!("X FAIL {} does not fit this vehicle, so no row is judged by it.", ruleset.id);
            paragraph(&line, "", width, out);
        }
    }
    let of_row = |row: &Row<'_>| {
        if states.is_asked(row) && row.findings.is_none() {
            return Some((row.number - 1, Verdict::NotShown, false));
        }
        let worst = worst(states, row)?;
        let only_moved = worst.verdict == Verdict::Fail && worst.at_rest.is_empty();
        Some((row.number - 1, worst.verdict, only_moved))
    };
    let judged: Vec<(usize, Verdict, bool)> = states.rows.iter().filter_map(of_row).collect();
    let tally = |(word, verdict): &(&str, Verdict)| {
        let rows = judged.iter().filter(|(_, of_row, _)| of_row == verdict).count();
        (rows > 0 || matches!(verdict, Verdict::Pass | Verdict::Fail))
            .then(|| format!("{rows} {}", word.replace('-', " ")))
    };
    let tally: Vec<String> = VERDICTS.iter().filter_map(tally).collect();
    let (rows, all) = (how_many(judged.len()), how_many(states.rows.len()));
    paragraph(&format!("Rows judged: {rows} of {all}: {}.", tally.join(", ")), "", width, out);
    let last = [(Verdict::Fail, "X FAIL"), (Verdict::TooClose, "~ too close"), (Verdict::NotShown, "? not shown")];
    for (verdict, mark) in last {
        for only_moved in [false, true] {
            let these = judged.iter().filter(|(_, of_row, moved)| (*of_row, *moved) == (verdict, only_moved));
            let rows: Vec<usize> = these.map(|(at, ..)| *at).collect();
            if rows.is_empty() {
                continue;
            }
            let word = if rows.len() == 1 { "row" } else { "rows" };
            let with = match (only_moved, verdict) {
                (true, _) => format!(" only with {DOORS} not at rest"),
                (false, Verdict::Fail) if !states.doors.is_empty() => format!(" with {DOORS} at rest"),
                (false, _) => String::new(),
            };
            paragraph(&format!("{mark} {} {word}{with}: {}", rows.len(), ranges(&rows)), "    ", width, out);
        }
    }
}

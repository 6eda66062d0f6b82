//! The record on a terminal: what was read line by line, what is wrong with the record, and what has to be put right.

use super::super::text::{heading, labelled, paragraph};
use super::super::{CAUTIONS, Report};
use super::rows::{NOT_READ, closing, remark_rows, row, unread_rows};
use super::{beyond, last_word, result, rule};
use crate::readings::{Line, ReadingsJudged, STOPS, Stop, deficiencies};

/// Everything that was read, and what is open.
pub fn readings_table(report: &Report<'_>, judged: &ReadingsJudged) -> String {
    let width = report.width;
    let mut out = String::new();
    let package = report.package();
    paragraph(
        &format!("{}  ({}), readings as of {}", package.vehicle.name, package.file, judged.as_of),
        "",
        width,
        &mut out,
    );
    for other in &judged.made_from_others {
        paragraph(other, "", width, &mut out);
    }
    paragraph(&rule(judged), "", width, &mut out);
    for (name, stop) in STOPS {
        lines_of(judged, name, *stop, width, &mut out);
    }
    let unread = unread_rows(judged);
    if !unread.is_empty() {
        heading("What no reading decides, by calculation", width, &mut out);
        for one in unread {
            labelled(&one.verdict.replace('-', " "), &one.finding, width, &mut out);
            let facts = [("", one.stands), ("found ", one.found), ("required ", one.required), ("set: ", one.set_to)];
            let facts = facts.iter().filter(|(_, text)| !text.is_empty()).map(|(lead, text)| format!("{lead}{text}"));
            labelled("", &facts.collect::<Vec<_>>().join("; "), width, &mut out);
            if !one.note.is_empty() {
                // What is to be pasted stands in `check`.
                labelled("", one.note.lines().next().unwrap_or_default(), width, &mut out);
            }
        }
    }
    let remarks = remark_rows(judged);
    if !remarks.is_empty() {
        heading("What is wrong with readings", width, &mut out);
        for remark in remarks {
            paragraph(
                &format!(
                    "{}: {} ({}, {}{}): {}",
                    remark.kind,
                    remark.line,
                    remark.on,
                    remark.standing,
                    if remark.advice { ", advice" } else { "" },
                    remark.text
                ),
                "  ",
                width,
                &mut out,
            );
        }
    }
    let all = deficiencies(judged);
    if !all.is_empty() {
        heading("Deficiencies", width, &mut out);
        for one in all.iter().filter_map(|one| closing(judged, one)) {
            let rest = if one.is_open {
                format!("; due {}; responsible: {}; to do: {}", one.due, one.responsible, one.to_do)
            } else {
                String::new()
            };
            let line = format!("{}: {}{rest}", one.standing, one.line);
            paragraph(&line, "  ", width, &mut out);
            for told in &one.history {
                paragraph(&format!("  {told}"), "    ", width, &mut out);
            }
        }
    }
    heading("Result", width, &mut out);
    for caution in CAUTIONS {
        paragraph(&format!("- {caution}"), "  ", width, &mut out);
    }
    for doubt in &package.doubts {
        paragraph(&format!("Doubtful in the package: {doubt}"), "  ", width, &mut out);
    }
    paragraph(&result(judged), "", width, &mut out);
    paragraph(&beyond(judged), "", width, &mut out);
    paragraph(&last_word(judged).1, "", width, &mut out);
    out
}

/// What was read at one stop; lines that nobody read are only counted.
fn lines_of(judged: &ReadingsJudged, name: &str, stop: Stop, width: u16, out: &mut String) {
    let here = |line: &Line| line.stop == stop;
    let all = judged.lines.iter().filter(|line| here(line)).count();
    if all == 0 {
        return;
    }
    heading(name, width, out);
    let mut read = 0;
    for (at, line) in judged.lines.iter().enumerate().filter(|(_, line)| here(line)) {
        let Some(one) = row(judged, at).filter(|one| one.verdict != NOT_READ) else { continue };
        read += 1;
        let advice = if one.advice { " (advice)" } else { "" };
        let differs = if one.differs { " (differs from the calculation)" } else { "" };
        labelled(&one.verdict.replace('-', " "), &format!("{}{advice}{differs}", line.id), width, out);
        let said = |lead: &str, text: &str| if text.is_empty() { String::new() } else { format!(", {lead} {text}") };
        let uncertainty = said("U =", &one.expanded_uncertainty) + &said("meets the limit with", &one.probability);
        let basis = line.source.basis.word();
        let facts = format!("limit {} [{basis}]; computed {}; read {}{uncertainty}", one.limit, one.computed, one.read);
        labelled("", &facts, width, out);
        if !one.why.is_empty() {
            labelled("", &one.why, width, out);
        }
    }
    if read < all {
        paragraph(&format!("not read: {} of {all} lines", all - read), "  ", width, out);
    }
}

//! The letter on deficiencies: what was found wanting, by when it has to be put right and by whom, and how it is closed.

use serde::Serialize;

use super::super::paper::{Paper, in_html};
use super::rests_on::{Exception, exceptions, not_settled};
use super::rows::{Closing, Unread, closing, unread_rows};
use super::{beyond, judged, rule};
use crate::readings::{Standing, deficiencies};

/// What is the letter's own.
#[derive(Serialize)]
struct Letter {
    vehicle: String,
    owner: String,
    as_of: String,
    rule: String,
    others: Vec<String>,
    open: Vec<Closing>,
    closed: Vec<Closing>,
    exceptions: Vec<Exception>,
    not_settled: Vec<String>,
    not_read: usize,
    beyond: String,
    unread: Vec<Unread>,
}

/// Writes the letter.
pub(in crate::report) fn write_html(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let judged = judged(paper)?;
    let all = deficiencies(judged);
    let undated: Vec<&str> = all
        .iter()
        .filter(|one| one.due.is_none() && matches!(one.standing, Standing::Open | Standing::Overdue))
        .filter_map(|one| Some(judged.lines.get(one.line)?.id.as_str()))
        .collect();
    if !undated.is_empty() {
        return Err(format!(
            "a letter says by which day what is open has to be put right, and nothing sets one for {}: write \
             `due-within-days = 21` under [record] of the readings, or `due = 2026-12-18` at each of these readings (column \
             `due` of a table)",
            undated.join(", ")
        ));
    }
    let (open, closed) = all.iter().filter_map(|one| closing(judged, one)).partition(|one| one.is_open);
    let vehicle = &paper.report.package().vehicle;
    let letter = Letter {
        vehicle: vehicle.name.clone(),
        owner: vehicle.owner.clone().unwrap_or_default(),
        as_of: judged.as_of.to_string(),
        rule: rule(judged),
        others: judged.made_from_others.clone(),
        open,
        closed,
        exceptions: exceptions(paper.report.package(), judged),
        not_settled: not_settled(judged),
        not_read: judged.tally.not_read,
        beyond: beyond(judged),
        unread: unread_rows(judged),
    };
    in_html("letter.html", &format!("Deficiencies: {}", vehicle.name), paper, letter)
}

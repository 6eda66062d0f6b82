//! The letter on deficiencies: what was found wanting, by when it has to be put right and by whom, and how it is closed.

use serde::Serialize;

use super::super::paper::{Paper, in_html};
use super::rows::{Closing, Unread, closing, exceptions, unread_rows};
use super::{beyond, judged, rule};
use crate::readings::deficiencies;

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
    exceptions: Vec<[String; 6]>,
    not_read: usize,
    beyond: String,
    unread: Vec<Unread>,
}

/// Writes the letter.
pub(in crate::report) fn write_html(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let judged = judged(paper)?;
    let all = deficiencies(judged);
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
        exceptions: exceptions(judged),
        not_read: judged.tally.not_read,
        beyond: beyond(judged),
        unread: unread_rows(judged),
    };
    in_html("letter.html", &format!("Deficiencies: {}", vehicle.name), paper, letter)
}

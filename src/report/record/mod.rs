//! The record of an acceptance: every line with its limit, what was computed, what was read and what that means; faults
//! of the record, exceptions, and deficiencies. On a terminal, as a page, and as a file for other programs; the letter
//! on deficiencies is in `letter`.

mod letter;
mod rests_on;
mod rows;
mod text;

use serde::Serialize;

use super::paper::{Paper, in_html};
use super::sheet::remarks;
use crate::judge::Status;
use crate::package::Decision;
use crate::readings::{Beyond, ReadingsJudged, STOPS, deficiencies};

pub(super) use letter::write_html as write_letter;
use rests_on::{Exception, Photo, Tool, exceptions, instruments, photos};
use rows::{Closing, NOT_READ, Remark, Row, Unread, closing, remark_rows, row, unread_rows};
pub use text::readings_table;

/// What is said where a record is asked for and nothing was read.
const WITHOUT: &str = "nothing was read: name the file of readings with --readings FILE";

/// What is the record's own.
#[derive(Serialize)]
struct Page {
    owner: String,
    as_of: String,
    /// The days on which it was read.
    days: String,
    /// From which other files its sheets were made.
    others: Vec<String>,
    word: String,
    result: String,
    beyond: String,
    unread: Vec<Unread>,
    class: &'static str,
    rule: String,
    stops: Vec<Stop>,
    remarks: Vec<Remark>,
    deficiencies: Vec<Closing>,
    exceptions: Vec<Exception>,
    instruments: Vec<Tool>,
    photos: Vec<Photo>,
}

#[derive(Serialize)]
struct Stop {
    id: String,
    name: &'static str,
    rows: Vec<Row>,
    unread: Vec<String>,
}

fn judged<'a>(paper: &Paper<'a>) -> Result<&'a ReadingsJudged, String> {
    paper.readings.ok_or_else(|| WITHOUT.to_owned())
}

/// The decision rule in words.
pub(super) fn rule(judged: &ReadingsJudged) -> String {
    let k = judged.rule.k;
    match judged.rule.decision {
        Decision::Guarded => format!(
            "Guarded decisions (JCGM 106:2012): within U = k u of a limit, k = {k}, a reading is too close to tell; beyond it, it passes or fails."
        ),
        Decision::Simple => format!(
            "Simple acceptance (JCGM 106:2012): the reading alone decides; U = k u with k = {k} is printed beside it."
        ),
    }
}

/// What the record comes to, in a sentence.
pub(super) fn result(judged: &ReadingsJudged) -> String {
    let tally = judged.tally;
    let parts = [
        (tally.pass, "pass"),
        (tally.fail, "fail"),
        (tally.too_close, "too close"),
        (tally.not_shown, "not shown"),
        (tally.not_read, "not read"),
        (tally.excepted, "excepted"),
    ];
    let parts = parts.iter().filter(|(count, word)| *count > 0 || matches!(*word, "pass" | "fail"));
    let counts: Vec<String> = parts.map(|(count, word)| format!("{count} {word}")).collect();
    // What is listed as open, and nothing else.
    let (required, advice): (Vec<Remark>, Vec<Remark>) =
        remark_rows(judged).into_iter().filter(Remark::is_open_difference).partition(|remark| !remark.advice);
    let of_advice = match advice.len() {
        0 => String::new(),
        more => format!(", and {more} on advice"),
    };
    let disagree = match (required.len(), advice.len()) {
        (0, 0) => String::new(),
        (1, _) => format!("; 1 reading does not fit the calculation{of_advice}"),
        (more, _) => format!("; {more} readings do not fit the calculation{of_advice}"),
    };
    let memory = match tally.on_memory {
        0 => String::new(),
        1 => " Of these, 1 rests on a limit that is known from memory: compare it with your own copy of the document."
            .to_owned(),
        more => format!(
            " Of these, {more} rest on limits that are known from memory: compare them with your own copy of the document."
        ),
    };
    let advice = format!("Advice that does not pass or was not read: {}.", tally.advice_open);
    format!("Required lines: {}{disagree}.{memory} {advice}", counts.join(", "))
}

/// What stands beside the lines, in a sentence.
pub(super) fn beyond(judged: &ReadingsJudged) -> String {
    let Beyond { fail, open, excepted } = judged.tally.beyond;
    let lead = "Light totals and whatever else no reading decides stand as the calculation has them";
    match (fail + open, excepted) {
        (0, 0) => format!("{lead}: nothing required is open there."),
        (_, 0) => format!("{lead}: {fail} required fail, {open} required are open."),
        _ => format!("{lead}: {fail} required fail, {open} required are open, {excepted} were accepted in writing."),
    }
}

/// The last word on it: the worse of what was read and of what no reading decides.
pub(super) fn last_word(judged: &ReadingsJudged) -> (&'static str, String) {
    let lines = match judged.tally.of_lines() {
        Status::Met => "Every required line was read and passes, or was accepted in writing",
        Status::Failed => "At least one required line fails",
        Status::Open => "No required line fails, but something is open",
    };
    let beside = match judged.tally.beyond.status() {
        Status::Met => "",
        Status::Failed => "; by calculation, at least one requirement that no reading decides is not met",
        Status::Open => "; by calculation, at least one requirement that no reading decides is open",
    };
    let class = match judged.tally.status() {
        Status::Met => "pass",
        Status::Failed => "fail",
        Status::Open => "not-shown",
    };
    (class, format!("{lines}{beside}."))
}

/// The days of the first and the last reading, in words.
fn days(judged: &ReadingsJudged) -> String {
    let mut days: Vec<_> = judged.record.readings.iter().map(|reading| reading.on).collect();
    days.sort_by_key(|day| (day.year, day.month, day.day));
    match (days.first(), days.last()) {
        (Some(first), Some(last)) if first == last => format!("read on {first}"),
        (Some(first), Some(last)) => format!("read from {first} to {last}"),
        _ => "nothing was read".to_owned(),
    }
}

/// The record to keep.
pub(super) fn write_html(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let judged = judged(paper)?;
    let stops = STOPS.iter().map(|(name, stop)| {
        let here = (0..judged.lines.len()).filter(|at| judged.lines.get(*at).is_some_and(|line| line.stop == *stop));
        let (unread, rows): (Vec<Row>, Vec<Row>) =
            here.filter_map(|at| row(judged, at)).partition(|row| row.verdict == NOT_READ);
        let unread = unread.into_iter().map(|row| row.line).collect();
        Stop { id: name.replace(' ', "-"), name, rows, unread }
    });
    let vehicle = &paper.report.package().vehicle;
    let (class, word) = last_word(judged);
    let page = Page {
        owner: vehicle.owner.clone().unwrap_or_default(),
        as_of: judged.as_of.to_string(),
        days: days(judged),
        others: judged.made_from_others.clone(),
        word,
        result: result(judged),
        beyond: beyond(judged),
        unread: unread_rows(judged),
        class,
        rule: rule(judged),
        stops: stops.filter(|stop| !stop.rows.is_empty() || !stop.unread.is_empty()).collect(),
        remarks: remark_rows(judged),
        deficiencies: deficiencies(judged).iter().filter_map(|one| closing(judged, one)).collect(),
        exceptions: exceptions(paper.report.package(), judged),
        instruments: instruments(judged),
        photos: photos(judged),
    };
    in_html("record.html", &format!("Acceptance record: {}", vehicle.name), paper, page)
}

/// The record as other programs read it.
#[derive(Serialize)]
struct File {
    format: u8,
    vehicle: String,
    as_of: String,
    rule: String,
    k: f64,
    doubts: Vec<String>,
    #[serde(rename = "made-from-others")]
    others: Vec<String>,
    summary: Summary,
    line: Vec<Row>,
    unread: Vec<Unread>,
    remark: Vec<Remark>,
    deficiency: Vec<Closing>,
    exception: Vec<Exception>,
    instrument: Vec<Tool>,
    photo: Vec<Photo>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct Summary {
    pass: usize,
    fail: usize,
    too_close: usize,
    not_shown: usize,
    not_read: usize,
    excepted: usize,
    disagree: usize,
    on_memory: usize,
    /// What no reading decides, by calculation.
    unread_fail: usize,
    unread_open: usize,
    unread_excepted: usize,
}

/// The record in TOML: what each line came to.
pub(super) fn write_toml(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let judged = judged(paper)?;
    let tally = judged.tally;
    let guarded = judged.rule.decision == Decision::Guarded;
    let file = File {
        format: 1,
        vehicle: paper.report.package().vehicle.name.clone(),
        as_of: judged.as_of.to_string(),
        rule: if guarded { "guarded" } else { "simple" }.to_owned(),
        k: judged.rule.k,
        doubts: paper.report.package().doubts.clone(),
        others: judged.made_from_others.clone(),
        summary: Summary {
            pass: tally.pass,
            fail: tally.fail,
            too_close: tally.too_close,
            not_shown: tally.not_shown,
            not_read: tally.not_read,
            excepted: tally.excepted,
            disagree: tally.disagree,
            on_memory: tally.on_memory,
            unread_fail: tally.beyond.fail,
            unread_open: tally.beyond.open,
            unread_excepted: tally.beyond.excepted,
        },
        line: (0..judged.lines.len()).filter_map(|at| row(judged, at)).collect(),
        unread: unread_rows(judged),
        remark: remark_rows(judged),
        deficiency: deficiencies(judged).iter().filter_map(|one| closing(judged, one)).collect(),
        exception: exceptions(paper.report.package(), judged),
        instrument: instruments(judged),
        photo: photos(judged),
    };
    let mut text = toml::to_string(&file).map_err(|error| error.to_string())?;
    text.push('\n');
    text.push_str(&remarks(paper));
    Ok(text.into_bytes())
}

//! Reading files of readings: TOML here, tables in `read_csv`; photographs by their hashes.

use std::path::{Path, PathBuf};

use super::decide::DecisionRule;
use super::instrument::{A_REASON, ONE_DIGIT, is_no_reason, one_digit, unlike_calibration};
use super::read_csv::read_table;
use super::record::{Accepted, Instrument, MOST_INSTRUMENTS, Reading, Record, key, told_of_early};
use super::uncertainty::{Kind, Spread};
use crate::diagnostic::{Diagnostic, Log, Sources, Span};
use crate::load::distinct::Distinct;
use crate::load::files::{read_file, read_inside, sha256};
use crate::load::reader::{Date, Node, Table, document};
use crate::load::text::decode;
use crate::package::Decision;
use crate::units::Amount;

/// Words for decisions.
pub const DECISIONS: &[(&str, Decision)] = &[("simple", Decision::Simple), ("guarded", Decision::Guarded)];

/// Reads one file of readings, a table where its name ends in `.csv`. Mistakes go to the log.
pub fn read(path: &Path, sources: &Sources, log: &Log) -> Option<Record> {
    let name = path.display().to_string();
    let bytes = match read_file(path, &name) {
        Ok(bytes) => bytes,
        Err(error) => {
            log.push(error.diagnostic(None));
            return None;
        }
    };
    sources.remember(path, &bytes);
    let folder = path.parent().map_or_else(PathBuf::new, Path::to_path_buf);
    let photos = Photos { folder, sources, log };
    let is_table = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
    let text = match decode(&bytes, &name).and_then(|text| a_sheet(text, &name, is_table)) {
        Ok(text) => text,
        Err(error) => {
            log.push(error.in_file(&name));
            return None;
        }
    };
    let source = sources.add(&name, text);
    if is_table { read_table(text, source, &photos) } else { document(text, source, log, |top| read_top(top, &photos)) }
}

/// A text that can be a sheet of readings; what is surely another kind of file is told in one sentence.
fn a_sheet<'t>(text: &'t str, name: &str, is_table: bool) -> Result<&'t str, Diagnostic> {
    let other = |what: &str, help: &str| {
        Err(Diagnostic::error("other-format", format!("`{name}` is {what}, not a sheet of readings")).help(help))
    };
    if text.trim_start().starts_with('<') {
        return other(
            "a page in HTML or XML",
            "fill in the sheet in CSV or TOML: `report PACKAGE --as sheet -o sheet.csv`",
        );
    }
    let header = text.lines().find(|line| !line.trim().is_empty() && !line.starts_with('#')).unwrap_or_default();
    if is_table && header.contains('\t') && !header.contains([',', ';']) {
        return other("parted by tabs", "save it again as CSV, with commas or semicolons between the cells");
    }
    Ok(text)
}

/// Pictures beside a file of readings.
pub(super) struct Photos<'a> {
    folder: PathBuf,
    sources: &'a Sources,
    pub log: &'a Log,
}

impl Photos<'_> {
    /// A picture with its hash; an error where it is not there.
    pub fn named(&self, name: &str, span: &Span) -> Option<(String, String)> {
        match read_inside(name, std::slice::from_ref(&self.folder)) {
            Ok(file) => {
                self.sources.remember(&file.path, &file.bytes);
                Some((name.to_owned(), sha256(&file.bytes)))
            }
            Err(error) => {
                self.log.push(error.diagnostic(Some(span)));
                None
            }
        }
    }
}

fn read_top(mut top: Table<'_>, photos: &Photos<'_>) -> Option<Record> {
    let log = photos.log;
    let mut record = Record::default();
    let mut usual = Usual::default();
    if let Some(mut table) = top.get("record").and_then(|node| node.table()) {
        record.vehicles.extend(table.get("vehicle").and_then(|node| node.text()));
        usual.by = table.get("by").and_then(|node| written(&node, "name who took the readings, or leave it out"));
        usual.on = table.get("on").and_then(|node| node.date());
        record.due_within = table.get("due-within-days").and_then(|node| days(&node));
        table.finish();
    }
    if let Some(mut table) = top.get("decision").and_then(|node| node.table()) {
        let span = table.span();
        let rule = table.require("rule").and_then(|node| node.word(DECISIONS));
        let k = table.get("k").map_or(Some(DecisionRule::default().k), |node| coverage(&node));
        table.finish();
        record.decision = rule.zip(k).map(|(decision, k)| (DecisionRule { decision, k }, span));
    }
    let mut ids = Distinct::new("instruments", log);
    let instruments = top.tables("instrument").into_iter().filter_map(read_instrument);
    record.instruments = instruments.filter(|instrument| ids.keeps(&instrument.id)).collect();
    if let Some(one) = record.instruments.get(MOST_INSTRUMENTS) {
        log.push(too_many(&one.id.span));
        record.instruments.truncate(MOST_INSTRUMENTS);
    }
    for table in top.tables("reading") {
        match read_reading(table, &usual, photos) {
            Some(Some(reading)) => record.readings.push(reading),
            Some(None) => record.blank += 1,
            None => {}
        }
    }
    record.exceptions = top.tables("exception").into_iter().filter_map(read_exception).collect();
    top.finish();
    Some(record)
}

/// What holds for readings that do not say otherwise.
#[derive(Default)]
struct Usual {
    by: Option<String>,
    on: Option<Date>,
}

/// What is said of the first instrument too many.
pub(super) fn too_many(span: &Span) -> Diagnostic {
    let message = format!("more than {MOST_INSTRUMENTS} instruments");
    Diagnostic::error("too-many-instruments", message).at(span, "").help("describe those that were used")
}

fn days(node: &Node<'_>) -> Option<u16> {
    let number = node.number()?;
    let whole = (1..=3650_u16).find(|days| f64::from(*days) == number);
    if whole.is_none() {
        node.error("out-of-range", "this is no number of days", "write a whole number of days from 1 to 3650");
    }
    whole
}

fn coverage(node: &Node<'_>) -> Option<f64> {
    let k = node.number()?;
    if !(1.0..=5.0).contains(&k) {
        node.error("out-of-range", "no coverage factor is like this", "write k from 1 to 5; 2 is about 95 %");
        return None;
    }
    Some(k)
}

fn spread(node: &Node<'_>) -> Option<(Spread, String)> {
    let text = node.text()?;
    match Spread::parse(&text.text) {
        Ok(spread) => Some((spread, text.text)),
        Err(why) => {
            let help =
                "a share, a figure with its unit and digits of the display, added up: \"2 % + 5 digits\", \"0.5 in\"";
            node.error("bad-uncertainty", why, help);
            None
        }
    }
}

fn amount(node: &Node<'_>) -> Option<Amount> {
    let text = node.text()?;
    let digit = one_digit(&text.text);
    if let Err((code, message)) = &digit {
        node.error(code, message.clone(), ONE_DIGIT);
    }
    digit.ok()
}

fn read_instrument(mut table: Table<'_>) -> Option<Instrument> {
    let log = table.log();
    let span = table.span();
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("the instrument `{}`", id.text));
    }
    let mut text = |key| table.get(key).and_then(|node| node.text()).map(|text| text.text);
    let (kind, serial, class) = (text("kind"), text("serial"), text("class"));
    let without = table.get("no-calibration").and_then(|node| {
        let text = written(&node, A_REASON)?;
        if is_no_reason(&text) {
            node.error("no-reason", format!("`{text}` is no reason"), A_REASON);
            return None;
        }
        Some(text)
    });
    let expanded = table.get("uncertainty").and_then(|node| spread(&node));
    let limits = table.get("limits-of-error").and_then(|node| spread(&node));
    let k = table.get("k").map_or(Some(2.0), |node| coverage(&node))?;
    let digit = table.get("digit").and_then(|node| amount(&node));
    let mut date = |key| table.get(key).and_then(|node| node.date());
    let (calibrated, due) = (date("calibrated"), date("due"));
    let named = id.as_ref().map_or("it", |id| &id.text);
    if let Some((code, message, help)) = unlike_calibration(named, calibrated, due) {
        log.push(Diagnostic::error(code, message).at(&span, "").help(help));
    }
    table.finish();
    if let (Some(_), Some(_)) = (&expanded, &limits) {
        let error = Diagnostic::error(
            "two-uncertainties",
            "`uncertainty` and `limits-of-error` both say how far it may be off",
        );
        log.push(
            error.at(&span, "").help("keep what its paper says: the certificate's uncertainty, or the maker's limits"),
        );
    }
    let expanded = expanded.map(|(spread, said)| (spread, Kind::Expanded { k }, said));
    let limits = limits.map(|(spread, said)| (spread, Kind::LimitsOfError, said));
    let found = expanded.or(limits);
    let said = found.as_ref().map(|(_, _, said)| said.clone());
    let spread = found.map(|(spread, kind, _)| (spread, kind));
    Some(Instrument { id: id?, kind, serial, class, spread, said, digit, calibrated, due, without })
}

/// `Some(None)` for a line that nothing was written into.
fn read_reading(mut table: Table<'_>, usual: &Usual, photos: &Photos<'_>) -> Option<Option<Reading>> {
    let span = table.span();
    let line = table.require("line").and_then(|node| node.text());
    if let Some(line) = &line {
        table = table.named(format!("the reading on `{}`", line.text));
    }
    let value = table.require_like("value", "value = \"44.1 in\"").and_then(|node| node.text());
    let own = table.get("uncertainty").and_then(|node| spread(&node)).map(|(spread, _)| spread);
    let k = table.get("k").map_or(Some(2.0), |node| coverage(&node));
    let instrument = table.get("instrument").and_then(|node| node.text()).filter(|text| !text.text.trim().is_empty());
    let mut text = |key| {
        let found = table.get(key).and_then(|node| node.text()).map(|text| text.text);
        found.filter(|text| !text.trim().is_empty())
    };
    let (by, note, responsible, mark) = (text("by"), text("note"), text("responsible"), text("mark"));
    let mut date = |key| table.get(key).and_then(|node| node.date());
    let (on, due) = (date("on"), date("due"));
    let pictures = table.get("photos").map(|node| node.texts()).unwrap_or_default();
    let is_blank = value.as_ref().is_some_and(|value| value.text.trim().is_empty());
    let (by, on) = (by.or_else(|| usual.by.clone()), on.or(usual.on));
    let missing = [("by", by.is_none(), "by = \"name or office\""), ("on", on.is_none(), "on = 2026-11-20")];
    for (key, missing, example) in missing {
        if missing && !is_blank {
            let error = Diagnostic::error("missing-key", format!("`{key}` is missing in {}", table.name()));
            let help = format!("for example {example}, here or in [record] for all readings");
            table.log().push(error.at(&span, "here").help(help));
        }
    }
    table.finish();
    if is_blank {
        return Some(None);
    }
    on.iter().for_each(|on| told_of_early(*on, due, &span, photos.log));
    let photos = pictures.iter().filter_map(|name| photos.named(&name.text, &name.span)).collect();
    let (line, value, by, on) = (line?, value?, by?, on?);
    let uncertainty = own.zip(k);
    Some(Some(Reading { line, mark, value, uncertainty, instrument, by, on, note, photos, responsible, due, span }))
}

fn read_exception(mut table: Table<'_>) -> Option<Accepted> {
    let line = table.require("line").and_then(|node| node.text());
    if let Some(line) = &line {
        table = table.named(format!("the exception for `{}`", line.text));
    }
    let mut text = |key| table.require(key).and_then(|node| written(&node, NAMES));
    let (by, reason, reference) = (text("accepted-by"), text("reason"), text("reference"));
    let mut date = |key| table.require(key).and_then(|node| node.date());
    let (on, until) = (date("on"), date("until"));
    if let (Some(on), Some(until)) = (on, until)
        && key(on) > key(until)
    {
        let error = Diagnostic::error("ends-before-it-begins", format!("accepted on {on}, and only until {until}"));
        table.log().push(error.at(&table.span(), "here").help("`until` is the last day on which it holds"));
    }
    table.finish();
    Some(Accepted { line: line?, by: by?, reason: reason?, reference: reference?, on: on?, until: until? })
}

/// What an exception says.
const NAMES: &str = "an exception names who accepted what, why and in which paper";

/// A text with something in it.
fn written(node: &Node<'_>, help: &str) -> Option<String> {
    let text = node.text()?;
    if text.text.trim().is_empty() {
        node.error("empty-text", "nothing is written here", help);
        return None;
    }
    Some(text.text)
}

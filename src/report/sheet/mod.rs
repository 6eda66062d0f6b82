//! The acceptance sheet: the lines of a walk round the vehicle, to be filled in on paper, in a spreadsheet or in a text
//! editor. Nothing on it is a result; what was computed stands beside the limit so that a reading can be held against
//! both.

mod rows;

use serde::Serialize;

use super::csv_rows::as_text;
use super::paper::{Paper, in_html, made_from};
use super::{CAUTIONS, Report};
use crate::load::text::quoted;
use crate::quantity::Proof;
use crate::readings::{Answer, Line, STOPS, lines, listed};
use crate::ruleset::Strength;

pub(super) use rows::{NOT_KNOWN_WELL, expected, limit, reckon, unit};

/// Heads named on paper before the rest is only counted.
const MOST_NAMED: usize = 12;

/// Empty rows for instruments.
const INSTRUMENTS: usize = 4;

/// What is the sheet's own.
#[derive(Serialize)]
struct Sheet {
    owner: String,
    count: usize,
    stops: Vec<Stop>,
    instruments: Vec<usize>,
}

/// One stop of the walk.
#[derive(Serialize)]
struct Stop {
    id: String,
    name: &'static str,
    groups: Vec<Group>,
}

/// Lines that are shown in the same way, under one heading.
#[derive(Serialize)]
struct Group {
    says: String,
    how: String,
    rows: Vec<Row>,
}

/// What is said once of a line and of those after it.
fn heading(line: &Line) -> (String, String) {
    let advice = if line.strength == Strength::Required { "" } else { " (advice)" };
    let reckon = match reckon(line) {
        reckon if reckon.is_empty() => reckon,
        reckon => format!(", reckon with {reckon}"),
    };
    let source = format!("{} [{}]", line.source.in_words(), line.source.basis.word());
    let how = format!("{} ({}{reckon}): {}. {source}", line.proof.word(), line.instrument, line.by_hand);
    (format!("{}{advice}", line.says), how)
}

/// Lines in their order, those after each other that are shown in the same way together.
fn groups(lines: &[(usize, &Line)]) -> Vec<Group> {
    let alike = lines.chunk_by(|(_, one), (_, other)| heading(one) == heading(other));
    let groups = alike.filter_map(|part| {
        let (says, how) = heading(part.first()?.1);
        Some(Group { says, how, rows: part.iter().map(|(number, line)| row(*number, line, MOST_NAMED)).collect() })
    });
    groups.collect()
}

/// One line to fill in.
#[derive(Serialize)]
struct Row {
    number: usize,
    id: String,
    says: String,
    about: String,
    of: String,
    set_to: String,
    method: &'static str,
    how: String,
    limit: String,
    expected: String,
    unit: &'static str,
    with: &'static str,
    reckon: String,
    source: String,
}

fn all_lines(report: &Report<'_>) -> Vec<Line> {
    lines(report.conduct, report.rulesets, report.judged)
}

fn row(number: usize, line: &Line, most: usize) -> Row {
    Row {
        number,
        id: line.id.clone(),
        says: line.whole(),
        about: line.about.clone(),
        of: listed(&line.of, most),
        set_to: line.state.clone().unwrap_or_default(),
        method: line.proof.word(),
        how: line.by_hand.clone(),
        limit: limit(line),
        expected: expected(line),
        unit: unit(line),
        with: line.instrument,
        reckon: reckon(line),
        source: format!("{} [{}]", line.source.in_words(), line.source.basis.word()),
    }
}

/// The sheet to print.
pub(super) fn write_html(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let lines = all_lines(paper.report);
    let numbered: Vec<(usize, &Line)> = lines.iter().enumerate().map(|(at, line)| (at + 1, line)).collect();
    let stops = STOPS.iter().map(|(name, stop)| Stop {
        id: name.replace(' ', "-"),
        name,
        groups: groups(&numbered.iter().filter(|(_, line)| line.stop == *stop).copied().collect::<Vec<_>>()),
    });
    let vehicle = &paper.report.package().vehicle;
    let sheet = Sheet {
        owner: vehicle.owner.clone().unwrap_or_default(),
        count: lines.len(),
        stops: stops.filter(|stop| !stop.groups.is_empty()).collect(),
        instruments: (1..=INSTRUMENTS).collect(),
    };
    in_html("sheet.html", &format!("Acceptance sheet: {}", vehicle.name), paper, sheet)
}

/// The columns of the table, as it is filled in and read back.
const HEADER: [&str; 31] = [
    "line",
    "where",
    "what",
    "heads",
    "set-to",
    "method",
    "how",
    "with",
    "reckon-with",
    "limit",
    "expected",
    "value",
    "unit",
    "uncertainty",
    "instrument",
    "instrument-kind",
    "instrument-uncertainty",
    "instrument-limits-of-error",
    "digit",
    "calibrated",
    "calibration-due",
    "no-calibration",
    "by",
    "on",
    "photos",
    "responsible",
    "due",
    "note",
    "vehicle",
    "mark",
    "source",
];

/// How a sheet is filled in, whatever it is written as.
const FILL_IN: &[&str] = &[
    "Where several heads stand on one line, write the reading that is farthest off: the line's id ends in /all. A reading of one of them alone has that head's id there instead, and the line passes when each was read.",
    "Leave `mark` as it is: it tells whether the line still asks the same after the package was changed.",
    "Light totals of zones, least points and the like are not proved by this sheet: no instrument on the vehicle shows them.",
];

/// The same of a table.
const FILL_IN_TABLE: &[&str] = &[
    "Write into: value, unit, uncertainty (of this reading, k = 2), instrument (its id), by, on (a day such as 2026-11-18; format the column as text), photos (names of files, parted by ;), responsible, due, note.",
    "An instrument is described once, in any row that names it: instrument-kind, instrument-uncertainty (k = 2) or instrument-limits-of-error (such as 2 % + 5 digits), digit (what the last digit is worth, such as 0.01 A), calibrated, calibration-due, or no-calibration (why it needs none).",
    "A second reading is a second row of the same line. What was accepted in writing, and another decision rule, stand in a TOML file beside this one: `wayproof rules schema readings`.",
];

/// The same of a file in TOML.
const FILL_IN_FILE: &[&str] = &[
    "Keys of a reading: line, value, uncertainty (of this reading) with k, instrument (its id), by, on, note,",
    "photos = [\"rear.jpg\", \"left.jpg\"], responsible, due.",
    "Keys of an instrument: id, kind, serial, class, uncertainty (with k) or limits-of-error, digit (what the last digit is",
    "worth), calibrated, due, or no-calibration = \"why it needs none\".",
    "What was accepted in writing: [[exception]] with line, accepted-by, reason, reference, on, until.",
];

/// The sheet as a table to fill in; remarks stand in lines that begin with `#`.
pub(super) fn write_csv(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |error: csv::Error| error.to_string();
    writer.write_record(HEADER).map_err(failed)?;
    let vehicle = &paper.report.package().vehicle.name;
    for line in all_lines(paper.report) {
        let one = row(0, &line, usize::MAX);
        let cells = HEADER.map(|column| match column {
            "line" => one.id.as_str(),
            "where" => line.stop.word(),
            "what" => one.says.as_str(),
            "heads" => one.of.as_str(),
            "set-to" => one.set_to.as_str(),
            "method" => one.method,
            "how" => one.how.as_str(),
            "with" => one.with,
            "reckon-with" => one.reckon.as_str(),
            "limit" => one.limit.as_str(),
            // A dash would be kept as text by an apostrophe.
            "expected" if one.expected == "-" => "",
            "expected" => one.expected.as_str(),
            "unit" => one.unit,
            "vehicle" => vehicle.as_str(),
            "mark" => line.mark.as_deref().unwrap_or_default(),
            "source" => one.source.as_str(),
            _ => "",
        });
        writer.write_record(cells.map(|cell| as_text(&cell.replace(['\n', '\r'], " ")))).map_err(failed)?;
    }
    let table = writer.into_inner().map_err(|error| error.to_string())?;
    let fill: String = FILL_IN.iter().chain(FILL_IN_TABLE).map(|line| format!("# {line}\n")).collect();
    // Spreadsheets take a table for UTF-8 only where it begins with this mark.
    let mut bytes = "\u{feff}".as_bytes().to_vec();
    bytes.extend(table);
    bytes.extend(fill.into_bytes());
    bytes.extend(remarks(paper).into_bytes());
    Ok(bytes)
}

/// Cautions and what it was made from, each line behind a `#`.
pub(super) fn remarks(paper: &Paper<'_>) -> String {
    let cautions = CAUTIONS.iter().map(|caution| format!("# {caution}\n"));
    let files = made_from(paper.inputs);
    let files = files.lines().map(|line| format!("# {line}\n"));
    let by = format!(
        "# written by {} {}, judged as of {}\n",
        env!("CARGO_PKG_NAME"),
        env!("CARGO_PKG_VERSION"),
        paper.report.as_of
    );
    cautions.chain([by]).chain(files).collect()
}

/// The sheet as a file to fill in: every line with its limit beside it, and nothing in it yet.
pub(super) fn write_toml(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let report = paper.report;
    let vehicle = &report.package().vehicle;
    let mut out = format!(
        "# Acceptance sheet of {}, as of {}. Write what is read between the quotation marks of `value`, with its unit;\n\
         # a line left empty is not read, and never a pass. `wayproof readings PACKAGE THIS-FILE` judges it.\n\
         # `wayproof rules schema readings` prints what else may stand here.\n\
         # For a second reading, copy the line, write the new value and its day.\n\
         # `uncertainty = \"0.5 in\"` beside a value is its own (k = 2); beside a value in % it is in points of it, and\n\
         # \"5 % of reading\" is a share of it.\n\
         format = 1\n\n[record]\nvehicle = {}\n# by = \"name or office\"         # of all readings that do not say it themselves\n\
         # on = {}                 # the same for the day\n# due-within-days = 14         # for what has to be put right\n\n\
         [decision]\nrule = \"guarded\"               # or \"simple\": then the reading alone decides\nk = 2\n\n\
         # One block an instrument; `uncertainty` is the expanded one of its certificate (k = 2), or write\n\
         # `limits-of-error`, as its maker states them.\n# [[instrument]]\n# id = \"clamp\"\n# kind = \"clamp meter\"\n\
         # limits-of-error = \"2 % + 5 digits\"\n# digit = \"0.01 A\"\n# calibrated = {}\n# due = {}\n",
        in_one_line(&vehicle.name),
        report.as_of,
        quoted(&vehicle.name),
        report.as_of,
        report.as_of,
        report.as_of,
    );
    out.push('\n');
    FILL_IN.iter().chain(FILL_IN_FILE).for_each(|line| out.push_str(&format!("# {line}\n")));
    let mut before = None;
    for line in all_lines(report) {
        if before.replace(line.stop) != Some(line.stop) {
            out.push_str(&format!("\n# ---- {} ----\n", line.stop.word()));
        }
        let one = row(0, &line, usize::MAX);
        let said = [
            ("", one.says),
            ("on: ", one.of),
            ("set to: ", one.set_to),
            ("how: ", format!("{}; {}", one.method, one.how)),
            ("reckon with ", one.reckon),
            ("limit: ", one.limit),
            ("computed: ", one.expected),
            ("source: ", one.source),
        ];
        out.push('\n');
        for (lead, text) in said.iter().filter(|(_, text)| !text.is_empty()) {
            out.push_str(&format!("# {lead}{}\n", in_one_line(text)));
        }
        out.push_str(&format!("[[reading]]\nline = {}\nvalue = \"\"{}\n", quoted(&line.id), hint(&line)));
        if line.proof == Proof::Measure {
            out.push_str("instrument = \"\"\n");
        }
        if let Some(mark) = &line.mark {
            out.push_str(&format!("mark = {}\n", quoted(mark)));
        }
    }
    out.push('\n');
    out.push_str(&remarks(paper));
    Ok(out.into_bytes())
}

/// A text as a remark may hold it: a line break would end the remark, and TOML takes no other control letters in it.
fn in_one_line(text: &str) -> String {
    text.split(|c: char| c.is_whitespace() || c.is_control())
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// What may be written, where that is not plain.
fn hint(line: &Line) -> String {
    match line.answer {
        Answer::YesNo => "   # yes or no".to_owned(),
        Answer::Words => "   # words, or none".to_owned(),
        Answer::Count => "   # a number".to_owned(),
        Answer::Figure => match line.unit.symbol() {
            "/min" => "   # in /min, or as counted: \"75 in 60 s\"".to_owned(),
            "in" => "   # in inches: \"44.1 in\"".to_owned(),
            symbol => format!("   # in {symbol}"),
        },
    }
}

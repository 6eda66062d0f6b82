//! The acceptance sheet: the lines of a walk round the vehicle, to be filled in on paper, in a spreadsheet or in a text
//! editor. Nothing on it is a result; what was computed stands beside the limit so that a reading can be held against
//! both.

mod care;
mod page;
mod rows;

use serde::Serialize;

use care::{BEFORE, FILL_IN, FILL_IN_FILE, FILL_IN_TABLE};

use super::CAUTIONS;
use super::csv_rows::as_text;
use super::paper::{Paper, made_from};
use crate::load::text::{in_remark, quoted};
use crate::quantity::Proof;
use crate::readings::{Answer, COLUMNS, EXPLAINING, Line, Stop as Place, lines, listed};
use crate::ruleset::Strength;

pub(super) use page::write_html;
pub(super) use rows::{NOT_KNOWN_WELL, expected, limit, reckon, unit};

/// What may be left out of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// What decides nothing.
    Advice,
    /// What stands in papers and labels, and is shown at the desk.
    Papers,
}

/// The words for it.
pub const LEFT_OUT: &[(&str, LeftOut)] = &[("advice", LeftOut::Advice), ("papers", LeftOut::Papers)];

impl LeftOut {
    /// Whether a line is left out with it.
    fn takes(self, line: &Line) -> bool {
        match self {
            Self::Advice => line.strength != Strength::Required,
            Self::Papers => line.proof == Proof::Papers || line.stop == Place::Papers,
        }
    }

    /// What it is called on the sheet.
    fn told(self) -> &'static str {
        match self {
            Self::Advice => "of advice",
            Self::Papers => "that papers and labels prove",
        }
    }
}

/// The lines of a sheet, and a word about those that were left out.
fn lines_of(paper: &Paper<'_>) -> (Vec<Line>, String) {
    let report = paper.report;
    let (mut kept, mut told) = (lines(report.conduct, report.rulesets, report.judged), Vec::new());
    for (_, one) in LEFT_OUT.iter().filter(|(_, one)| paper.left_out.contains(one)) {
        let before = kept.len();
        kept.retain(|line| !one.takes(line));
        told.push(format!("{} lines {}", before - kept.len(), one.told()));
    }
    let told = match told.is_empty() {
        true => String::new(),
        false => format!("Left out of this sheet: {}. They stay not read until they are read.", told.join(", ")),
    };
    (kept, told)
}

/// What to take care of, in the words that the box before the first line explains.
fn in_short(line: &Line) -> String {
    let words = line.care.iter().map(|care| care.split(':').next().unwrap_or_default());
    words.collect::<Vec<_>>().join(", ")
}

/// What stands before the `@` of an id.
fn rule(line: &Line) -> &str {
    line.id.split_once('@').map_or("", |(rule, _)| rule)
}

/// One line to fill in.
#[derive(Serialize)]
struct Row {
    number: usize,
    id: String,
    /// Its id from the `@` on.
    place: String,
    says: String,
    about: String,
    of: String,
    set_to: String,
    care: String,
    method: &'static str,
    how: String,
    limit: String,
    expected: String,
    /// What else is computed and written down, in few words.
    beside: String,
    unit: &'static str,
    with: &'static str,
    reckon: String,
    source: String,
}

/// How it is done, and what is written down beside.
fn by_hand(line: &Line) -> String {
    let beside = line.beside.as_ref().map(|beside| format!("; write down {}", beside.what));
    format!("{}{}", line.by_hand, beside.unwrap_or_default())
}

/// The same in one text, with what to take care of first.
fn how(line: &Line) -> String {
    let computed = line.beside.as_ref().map(|beside| format!("{} computed", beside.computed));
    let parts = line.care.iter().map(|care| (*care).to_owned()).chain([by_hand(line)]).chain(computed);
    parts.collect::<Vec<_>>().join("; ")
}

fn source(line: &Line) -> String {
    format!("{} [{}]", line.source.in_words(), line.source.basis.word())
}

fn row(number: usize, line: &Line, most: usize) -> Row {
    Row {
        number,
        id: line.id.clone(),
        place: line.id.strip_prefix(rule(line)).unwrap_or_default().to_owned(),
        says: line.whole(),
        about: line.about.clone(),
        of: listed(&line.of, most),
        set_to: line.state.clone().unwrap_or_default(),
        care: in_short(line),
        method: line.proof.word(),
        how: how(line),
        limit: limit(line),
        expected: expected(line),
        beside: line.beside.as_ref().map(|beside| beside.computed.clone()).unwrap_or_default(),
        unit: unit(line),
        with: line.instrument,
        reckon: reckon(line),
        source: source(line),
    }
}

/// The columns of the table, as they are read back: after the line what explains it, then what is filled in, and where
/// the limit is from at the end.
fn columns() -> Vec<&'static str> {
    let (source, explained): (Vec<_>, Vec<_>) = EXPLAINING.iter().copied().partition(|column| *column == "source");
    COLUMNS.iter().take(1).copied().chain(explained).chain(COLUMNS.iter().skip(1).copied()).chain(source).collect()
}

/// What is doubtful about the package, in one line.
fn doubts(paper: &Paper<'_>) -> String {
    let doubts = paper.report.package().doubts.join(" | ");
    let told = format!("Doubts about the package: {}", in_one_line(&doubts));
    if doubts.is_empty() { doubts } else { in_remark(&told) }
}

/// Remarks of a table or a file, each in a line of its own.
fn remarked<'a>(lines: impl Iterator<Item = &'a str>) -> String {
    lines.filter(|line| !line.is_empty()).map(|line| format!("# {line}\n")).collect()
}

/// The sheet as a table to fill in; remarks stand in lines that begin with `#`, before the header and behind the last row:
/// between rows one could hide a reading.
pub(super) fn write_csv(paper: &Paper<'_>) -> Result<Vec<u8>, String> {
    let failed = |error: csv::Error| error.to_string();
    let (lines, left_out) = lines_of(paper);
    let (columns, doubts) = (columns(), doubts(paper));
    let first = BEFORE.iter().chain(CAUTIONS).chain(FILL_IN).chain(FILL_IN_TABLE).copied();
    let first = remarked(first.chain([left_out.as_str(), doubts.as_str()]));
    // Spreadsheets take a table for UTF-8 only where it begins with this mark.
    let bytes = format!("\u{feff}{first}{}\n", columns.join(",")).into_bytes();
    let mut writer = csv::Writer::from_writer(bytes);
    let vehicle = &paper.report.package().vehicle.name;
    for line in lines {
        let one = row(0, &line, usize::MAX);
        let cells = columns.iter().map(|column| match *column {
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
    let mut bytes = writer.into_inner().map_err(|error| error.to_string())?;
    bytes.extend(origin(paper).into_bytes());
    Ok(bytes)
}

/// Cautions and what it was made from, each line behind a `#`.
pub(super) fn remarks(paper: &Paper<'_>) -> String {
    remarked(CAUTIONS.iter().copied()) + &origin(paper)
}

/// What it was made from, each line behind a `#`.
fn origin(paper: &Paper<'_>) -> String {
    let files = made_from(paper.inputs);
    let (name, version, as_of) = (env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION"), paper.report.as_of);
    let by = format!("written by {name} {version}, judged as of {as_of}");
    remarked([by.as_str()].into_iter().chain(files.lines()))
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
    let (lines, left_out) = lines_of(paper);
    let doubts = doubts(paper);
    let first = FILL_IN.iter().chain(FILL_IN_FILE).copied().chain([left_out.as_str(), doubts.as_str()]);
    out.push_str(&remarked(first));
    out.push_str("\n# ---- take care ----\n");
    out.push_str(&remarked(BEFORE.iter().chain(CAUTIONS).copied()));
    let mut before = None;
    for line in lines {
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
    out.push_str(&origin(paper));
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

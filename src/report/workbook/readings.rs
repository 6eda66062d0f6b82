//! What was read on the vehicle, one row a reading in the order of the walk; a line that nobody read has a row that says
//! so. It is a result: readings are filled in on the acceptance sheet.

use super::super::paper::Paper;
use super::super::sheet::{NOT_KNOWN_WELL, limit, unit};
use super::table::{Cell, Table};
use crate::judge::{Found, Verdict};
use crate::readings::{Line, LineResult, ReadingsJudged, lines, listed};

const HEAD: [&str; 24] = [
    "stop",
    "line",
    "what is shown",
    "on what",
    "set the vehicle to",
    "limit",
    "computed",
    "how well computed",
    "reading",
    "unit",
    "expanded uncertainty",
    "instrument",
    "serial of the instrument",
    "calibration due",
    "verdict",
    "which counts",
    "where the line stands",
    "accepted in writing",
    "to know",
    "by",
    "on",
    "photos",
    "responsible",
    "due",
];

/// What stands beside a line that nobody read: this sheet is a result.
const NOT_HERE: &str = "not read; a reading is filled in on the acceptance sheet, not here";

/// Lines with what was read of them.
pub(super) fn table(paper: &Paper<'_>) -> Table {
    let mut table = Table::new("Readings", 2, &HEAD);
    match paper.readings {
        Some(read) => {
            for (at, line) in read.lines.iter().enumerate() {
                let result = read.results.get(at);
                let of_line = read.judgements.iter().enumerate().filter(|(_, judgement)| judgement.line == at);
                let rows: Vec<Vec<Cell>> = of_line.map(|(place, _)| row(line, Some((read, place)), result)).collect();
                match rows.is_empty() {
                    true => table.rows.push(row(line, None, result)),
                    false => table.rows.extend(rows),
                }
            }
        }
        None => {
            let report = paper.report;
            let lines = lines(report.conduct, report.rulesets, report.judged);
            table.rows.extend(lines.iter().map(|line| row(line, None, None)));
        }
    }
    table
}

fn found(found: &Found) -> Cell {
    match found {
        Found::Number(number) => Cell::from(*number),
        Found::Words(words) if words.is_empty() => Cell::from("none"),
        Found::Words(words) => Cell::from(words.join(" ")),
        Found::Nothing => Cell::Empty,
    }
}

/// Where a line stands by the reading that counts, and what was accepted of it.
fn standing(line: &Line, result: Option<&LineResult>) -> [Cell; 2] {
    match result {
        Some(result) => [Verdict::print(result.verdict).into(), result.notes.join("; ").into()],
        None => [Cell::Empty, line.excepted.as_ref().map(|note| format!("{note} (in the package)")).into()],
    }
}

/// A line with one of its readings, by the place of its judgement.
fn row(line: &Line, read: Option<(&ReadingsJudged, usize)>, result: Option<&LineResult>) -> Vec<Cell> {
    let is_bound = !line.is_value && matches!(line.expected, Found::Number(_));
    let mut cells = vec![
        Cell::from(line.stop.word()),
        Cell::from(line.id.as_str()),
        Cell::from(line.whole()),
        Cell::from(listed(&line.of, usize::MAX)),
        Cell::from(line.state.clone()),
        Cell::from(limit(line)),
        found(&line.expected),
        if is_bound { NOT_KNOWN_WELL.into() } else { Cell::Empty },
    ];
    let counts = result.and_then(|result| result.judgement);
    let [stands, accepted] = standing(line, result);
    let reading = read.and_then(|(read, place)| {
        let judgement = read.judgements.get(place)?;
        Some((read, judgement, read.record.readings.get(judgement.reading)?, counts == Some(place)))
    });
    let Some((read, judgement, reading, counts)) = reading else {
        cells.extend([Cell::Empty, Cell::from(unit(line))]);
        cells.extend(std::iter::repeat_n(Cell::Empty, 6));
        cells.extend([stands, accepted, NOT_HERE.into()]);
        return cells;
    };
    let instrument = reading
        .instrument
        .as_ref()
        .and_then(|name| read.record.instruments.iter().find(|known| known.id.text == name.text));
    let faults = judgement.faults.iter().map(|fault| fault.text.as_str());
    let known: Vec<&str> =
        faults.chain(judgement.notes.iter().map(String::as_str)).chain(reading.note.as_deref()).collect();
    let day = |day: Option<crate::load::reader::Date>| Cell::from(day.map(|day| day.to_string()));
    let photos: Vec<String> = reading.photos.iter().map(|(file, sha256)| format!("{file} {sha256}")).collect();
    cells.extend([
        found(&judgement.found),
        Cell::from(unit(line)),
        Cell::from(judgement.expanded),
        Cell::from(reading.instrument.as_ref().map(|name| name.text.clone())),
        Cell::from(instrument.and_then(|instrument| instrument.serial.clone())),
        day(instrument.and_then(|instrument| instrument.due)),
        Cell::from(Verdict::print(judgement.verdict)),
        Cell::from(if counts { "this one" } else { "another" }),
        stands,
        accepted,
        Cell::from(known.join("; ")),
        Cell::from(reading.by.as_str()),
        day(Some(reading.on)),
        Cell::from(photos.join("; ")),
        Cell::from(reading.responsible.clone()),
        day(reading.due),
    ]);
    cells
}

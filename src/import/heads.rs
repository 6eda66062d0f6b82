//! Heads of columns: the words and the unit of each, which rows are rows of heads, and heads of two lines made one.

use super::book::{Row, Sheet};
use super::columns::{FIELDS, Field};
use super::figures::{gauge, unit};
use crate::units::Dimension;

/// The head of the table stands among the first so many rows in which something stands.
const LOOK_FOR_HEAD: usize = 40;
/// A head of columns that is longer is a sentence.
const LONGEST_HEAD: usize = 60;
/// Stands between the two lines of a title.
const LINES: &str = " | ";

/// The head of a column as words, and the unit that it names.
pub(super) struct Head {
    pub words: String,
    pub unit: Option<String>,
}

/// Makes one row of two where a second line of heads stands directly under the first, and tells it. A line of groups above
/// heads that are whole without it stays what it is.
pub(super) fn join_lines(sheet: &mut Sheet) {
    let mut joined: Vec<Row> = Vec::with_capacity(sheet.rows.len());
    let mut rows = std::mem::take(&mut sheet.rows).into_iter().peekable();
    while let Some(mut row) = rows.next() {
        let second = rows.next_if(|next| next.number == row.number + 1 && are_one_head(&row, next));
        if let Some(second) = second {
            let note = format!(
                "rows {} and {} are two lines of one head: the title of each column is made of both",
                row.number, second.number
            );
            sheet.notes.push(note);
            let wide = row.cells.len().max(second.cells.len());
            row.cells = (0..wide).map(|at| title(row.cell(at), second.cell(at))).collect();
        }
        joined.push(row);
    }
    sheet.rows = joined;
}

fn title(first: &str, second: &str) -> String {
    let parts: Vec<&str> = [first, second].into_iter().filter(|part| !part.is_empty()).collect();
    parts.join(LINES)
}

/// Whether the second row goes on with the heads of the first.
fn are_one_head(first: &Row, second: &Row) -> bool {
    if !is_heads(first) || first.cells == second.cells {
        return false;
    }
    let filled = second.cells.iter().filter(|cell| !cell.is_empty());
    let is_title = |cell: &String| known(cell).is_some() || is_unit_alone(cell);
    let is_second = is_heads(second) || (second.filled() > 1 && filled.clone().all(is_title));
    let is_whole = (0..first.cells.len()).all(|at| first.cell(at).is_empty() || !second.cell(at).is_empty());
    is_second && !(is_whole && known_in(second) > known_in(first))
}

/// Whether a cell holds a unit in brackets and nothing else.
fn is_unit_alone(cell: &str) -> bool {
    let head = read_head(cell);
    head.words.is_empty() && head.unit.is_some()
}

/// Whether a row is one of heads: at least three that are known, and hardly a figure.
pub(super) fn is_heads(row: &Row) -> bool {
    let known = known_in(row);
    known >= 3 && known > 2 * row.cells.iter().filter(|cell| is_figure(cell)).count()
}

fn is_figure(cell: &str) -> bool {
    cell.trim_start_matches('-').starts_with(|c: char| c.is_ascii_digit())
}

/// What a title means, where that is known. None of the heads begins with a figure.
fn known(cell: &str) -> Option<&'static Field> {
    if cell.is_empty() || is_figure(cell) { None } else { known_head(&read_title(cell).words) }
}

fn known_in(row: &Row) -> usize {
    row.cells.iter().filter(|cell| known(cell).is_some()).count()
}

/// The first row with the most heads that are known; at least three, so that a title is not taken for one.
pub(super) fn head_row(sheet: &Sheet) -> Option<&Row> {
    let mut best: Option<(usize, &Row)> = None;
    for row in sheet.rows.iter().take(LOOK_FOR_HEAD) {
        let known = known_in(row);
        if known >= 3 && best.is_none_or(|(most, _)| known > most) {
            best = Some((known, row));
        }
    }
    best.map(|(_, row)| row)
}

/// A head of one line or two. Where both together are none that is known, the second line says it, then the first.
pub(super) fn read_title(cell: &str) -> Head {
    let whole = read_head(cell);
    let Some((first, second)) = cell.split_once(LINES).filter(|_| known_head(&whole.words).is_none()) else {
        return whole;
    };
    let (first, second) = (read_head(first), read_head(second));
    let unit = second.unit.clone().or(first.unit.clone());
    match [second, first].into_iter().find(|line| known_head(&line.words).is_some()) {
        Some(line) => Head { unit, ..line },
        None => whole,
    }
}

/// Parts the unit from a head: `Height (in)`, `Length [ft]`, `Fuse, A`.
fn read_head(cell: &str) -> Head {
    let mut text = cell.to_lowercase();
    if text.chars().count() > LONGEST_HEAD {
        return Head { words: String::new(), unit: None };
    }
    let mut said = None;
    if let Some((before, inside)) = cell.split_once(['(', '[']) {
        let inside = inside.split([')', ']']).next().unwrap_or_default();
        if is_unit(inside) {
            said = Some(inside.trim().to_owned());
            text = before.to_lowercase();
        }
    }
    let mut words: Vec<String> = text
        .split(|c: char| !(c.is_alphanumeric() || matches!(c, '"' | '°' | '²')))
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect();
    if said.is_none() && words.len() > 1 && words.last().is_some_and(|last| is_unit(last)) {
        said = words.pop();
    }
    Head { words: words.join(" "), unit: said }
}

fn is_unit(word: &str) -> bool {
    let known = [Dimension::Length, Dimension::Angle, Dimension::Current, Dimension::Temperature];
    gauge(word).is_some() || known.into_iter().any(|dimension| unit(word, dimension).is_some())
}

pub(super) fn known_head(words: &str) -> Option<&'static Field> {
    let spelt: String = words.replace('-', " ");
    FIELDS.iter().find(|field| field.heads.contains(&spelt.as_str()) || field.name.replace('-', " ") == spelt)
}

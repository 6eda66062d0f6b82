//! Tables from a spreadsheet: an H-V grid, or a list of points that fill one.
//!
//! A grid begins with `V\H` and the H angles, then one row a V angle; an empty cell is a hole. A list
//! begins with `H,V,cd` (or `H,V,cd.s/min`). Semicolons and a byte order mark are taken as spreadsheets write them.

use std::collections::HashMap;

use super::distribution::{Axis, Distribution, Grid, Light, MOST_VALUES, Symmetry, note_poles};
use super::error::{Fault, Note, ReadError};
use super::frame::{Frame, Goniometer};
use super::scan::{Piece, Text, number, number_with_comma, shown};
use super::{Format, Header, Read};

/// More cells in one row than this are no table of angles: a tenth of a degree all round takes 3,601.
const MOST_COLUMNS: usize = 10_000;

/// Reads an H-V grid: the first row `V\H` and the H angles, then one row a V angle.
///
/// The table does not say its unit: `Q` is what the caller knows it to hold. `frame` must be said.
pub fn read_grid<Q: Light>(bytes: &[u8], frame: Option<Frame>) -> Result<Read<Q>, ReadError> {
    const HELP: &str = "a grid begins with the cell `V\\H` and the H angles, then has one row a V angle";
    let text = Text::new(bytes);
    let table = Table::new(&text);
    let mut rows = table.rows();
    let empty = || ReadError::new(Fault::Format, "the grid has no values").help(HELP);
    let mut head = rows.next().ok_or_else(empty)?;
    while head.last().is_some_and(|cell| cell.text.is_empty()) {
        head.pop();
    }
    let (corner, across) = head.split_first().ok_or_else(empty)?;
    if !corner.text.replace(' ', "").eq_ignore_ascii_case("V\\H") {
        let message = format!("the first cell is `{}`", shown(corner.text));
        return Err(text.error(Fault::Format, corner.at, message).help(HELP));
    }
    if across.len() >= MOST_COLUMNS {
        return Err(text.error(Fault::Count, corner.at, format!("the grid has more than {MOST_COLUMNS} columns")));
    }
    let goniometer = goniometer(frame)?;
    let mut first = Angles::new("H", goniometer != Goniometer::HorizontalAxis);
    for cell in across {
        first.push(&table, *cell)?;
    }
    let planes = first.values.len();
    let mut second = Angles::new("V", goniometer == Goniometer::HorizontalAxis);
    let mut values = Vec::new();
    for row in rows {
        let Some((angle, cells)) = row.split_first() else { continue };
        second.push(&table, *angle)?;
        let beyond = cells.get(planes..).map(|extra| extra.iter().any(|cell| !cell.text.is_empty()));
        if beyond != Some(false) {
            let message = format!("the row of V = {} has {} cells for {planes} H angles", angle.text, cells.len());
            return Err(text
                .error(Fault::Count, angle.at, message)
                .help("a cell for each H angle, an empty one where nothing was measured"));
        }
        if values.len() + planes > MOST_VALUES {
            return Err(text.error(Fault::Count, angle.at, format!("the grid has more than {MOST_VALUES} cells")));
        }
        for cell in cells.iter().take(planes) {
            values.push(if cell.text.is_empty() { f64::NAN } else { table.light::<Q>(*cell)? });
        }
    }
    if values.is_empty() {
        return Err(empty());
    }
    let count = second.values.len();
    let mut notes = table.notes();
    let holes = values.iter().filter(|value| value.is_nan()).count();
    if holes > 0 {
        notes.push(Note::new(None, format!("{holes} of {} cells are empty: no data around them", values.len())));
    }
    let column = |plane: usize| values.iter().skip(plane).step_by(planes).copied();
    let mut by_plane: Vec<f64> = Vec::with_capacity(values.len());
    for plane in 0..planes {
        // Angles may descend; the grid ascends.
        let plane = if first.down { planes - 1 - plane } else { plane };
        if second.down {
            by_plane.extend(column(plane).collect::<Vec<_>>().iter().rev())
        } else {
            by_plane.extend(column(plane))
        }
    }
    debug_assert_eq!(by_plane.len(), planes * count);
    Ok(finish(Format::Grid, goniometer, first.ascending(), second.ascending(), by_plane, notes))
}

/// Reads a list of points, `H,V,cd` (for [`Candela`](crate::units::Candela)) or `H,V,cd.s/min` (for
/// [`OpticalPower`](crate::units::OpticalPower)), in any order. The points must lie on a grid; where one is missing
/// there is no data. `frame` must be said.
pub fn read_points<Q: Light>(bytes: &[u8], frame: Option<Frame>) -> Result<Read<Q>, ReadError> {
    let text = Text::new(bytes);
    let table = Table::new(&text);
    let mut rows = table.rows();
    let wanted = ["H", "V", Q::UNIT];
    let help = format!("the first line of a point list here is `{}`", wanted.join(","));
    let empty = || ReadError::new(Fault::Format, "the list has no points").help(&help);
    let head = rows.next().ok_or_else(empty)?;
    let (names, beyond) = head.split_at_checked(3).unwrap_or((&[], &head));
    let fits = wanted.iter().zip(names).all(|(word, cell)| word.eq_ignore_ascii_case(cell.text));
    if names.is_empty() || !fits || beyond.iter().any(|cell| !cell.text.is_empty()) {
        let cells: Vec<&str> = head.iter().map(|cell| cell.text).collect();
        let at = head.first().map_or(0, |cell| cell.at);
        return Err(text
            .error(Fault::Format, at, format!("the first line is `{}`", shown(&cells.join(","))))
            .help(&help));
    }
    let goniometer = goniometer(frame)?;
    let mut points = Vec::new();
    for row in rows {
        let start = row.first().map_or(0, |cell| cell.at);
        let [h, v, light, beyond @ ..] = row.as_slice() else {
            let message = format!("{} cells where H, V and {} should stand", row.len(), Q::UNIT);
            return Err(text.error(Fault::Count, start, message));
        };
        if let Some(extra) = beyond.iter().find(|cell| !cell.text.is_empty()) {
            return Err(text.error(Fault::Count, extra.at, format!("a fourth cell, `{}`", shown(extra.text))));
        }
        if points.len() == MOST_VALUES {
            return Err(text.error(Fault::Count, start, format!("the list has more than {MOST_VALUES} points")));
        }
        let turning = goniometer == Goniometer::HorizontalAxis;
        points.push(Point {
            h: table.angle(*h, "H", !turning)?,
            v: table.angle(*v, "V", turning)?,
            light: table.light::<Q>(*light)?,
            at: start,
        });
    }
    if points.is_empty() {
        return Err(empty());
    }
    let first = sorted(points.iter().map(|point| point.h));
    let second = sorted(points.iter().map(|point| point.v));
    let cells = first.len().checked_mul(second.len()).filter(|cells| *cells <= MOST_VALUES).ok_or_else(|| {
        let message = format!(
            "{} points with {} different H and {} different V do not fill a grid",
            points.len(),
            first.len(),
            second.len()
        );
        ReadError::new(Fault::Count, message).help("points must share their H and V with others, as on a grid")
    })?;
    for (angles, name) in [(&first, "H"), (&second, "V")] {
        if angles.first().zip(angles.last()).is_some_and(|(least, most)| most - least > 360.0) {
            return Err(ReadError::new(Fault::Angles, format!("the {name} angles go more than once round")));
        }
    }
    let index =
        |angles: &[f64]| angles.iter().enumerate().map(|(at, angle)| (angle.to_bits(), at)).collect::<HashMap<_, _>>();
    let (planes, rows) = (index(&first), index(&second));
    let mut values = vec![f64::NAN; cells];
    for point in &points {
        let at = planes
            .get(&point.h.to_bits())
            .zip(rows.get(&point.v.to_bits()))
            .map(|(plane, row)| plane * second.len() + row);
        let Some(cell) = at.and_then(|at| values.get_mut(at)) else { continue };
        if !cell.is_nan() {
            let before = points
                .iter()
                .find(|other| other.h == point.h && other.v == point.v)
                .map_or(0, |other| text.line(other.at));
            let message = format!("the point H = {}, V = {} stands in line {before} already", point.h, point.v);
            return Err(text.error(Fault::Angles, point.at, message).help("one value for one direction"));
        }
        *cell = point.light;
    }
    let mut notes = table.notes();
    if points.len() < cells {
        let message = format!("{} of {cells} grid points are missing: no data around them", cells - points.len());
        notes.push(Note::new(None, message));
    }
    Ok(finish(Format::Points, goniometer, first, second, values, notes))
}

struct Point {
    h: f64,
    v: f64,
    light: f64,
    at: usize,
}

fn finish<Q: Light>(
    format: Format,
    goniometer: Goniometer,
    first: Vec<f64>,
    second: Vec<f64>,
    values: Vec<f64>,
    mut notes: Vec<Note>,
) -> Read<Q> {
    let around = goniometer != Goniometer::HorizontalAxis;
    let (first, second) = (Axis::new(first, around), Axis::new(second, !around));
    let grid = Grid { goniometer, symmetry: Symmetry::None, first, second, values };
    note_poles(&grid, &mut notes);
    let header = Header { format, letter: None, factor: 1.0, labels: Vec::new() };
    Read { distribution: Distribution::new(grid), header, notes }
}

fn goniometer(frame: Option<Frame>) -> Result<Goniometer, ReadError> {
    let frame = frame.ok_or_else(|| {
        ReadError::new(Fault::Orientation, "it is not said about which axis H and V were turned").help(
            "`frame = \"vertical-axis\"` (H is the azimuth, as on a vehicle lamp bench) or `frame = \"horizontal-axis\"`",
        )
    })?;
    Goniometer::for_h_v(frame)
}

fn sorted(angles: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut angles: Vec<f64> = angles.collect();
    angles.sort_by(f64::total_cmp);
    angles.dedup();
    angles
}

/// Angles of a grid as they come: all ascending, or all descending.
struct Angles {
    name: &'static str,
    turning: bool,
    down: bool,
    values: Vec<f64>,
}

impl Angles {
    fn new(name: &'static str, turning: bool) -> Self {
        Self { name, turning, down: false, values: Vec::new() }
    }

    fn push(&mut self, table: &Table<'_>, cell: Piece<'_>) -> Result<(), ReadError> {
        let angle = table.angle(cell, self.name, self.turning)?;
        if let [first, second @ ..] = self.values.as_slice() {
            let last = second.last().unwrap_or(first);
            self.down = if second.is_empty() { angle < *first } else { self.down };
            if angle == *last || (angle < *last) != self.down {
                let message = format!("the {} angle {angle} follows {last}", self.name);
                return Err(table
                    .text
                    .error(Fault::Angles, cell.at, message)
                    .help("angles must all ascend (or all descend)"));
            }
            if (angle - first).abs() > 360.0 {
                let message = format!("the {} angles go more than once round", self.name);
                return Err(table.text.error(Fault::Angles, cell.at, message));
            }
        }
        self.values.push(angle);
        Ok(())
    }

    fn ascending(mut self) -> Vec<f64> {
        if self.down {
            self.values.reverse();
        }
        self.values
    }
}

/// A CSV text whose cells hold no separators and no line ends, as a table of numbers has them.
struct Table<'t> {
    text: &'t Text<'t>,
    separator: char,
    decimal_comma: bool,
}

impl<'t> Table<'t> {
    fn new(text: &'t Text<'t>) -> Self {
        let semicolons =
            text.lines().find(|line| !line.text.trim().is_empty()).is_some_and(|line| line.text.contains(';'));
        let decimal_comma = semicolons && text.as_str().contains(',');
        Self { text, separator: if semicolons { ';' } else { ',' }, decimal_comma }
    }

    fn notes(&self) -> Vec<Note> {
        let message = "cells are parted by semicolons; commas in numbers are read as decimal commas";
        if self.decimal_comma { vec![Note::new(None, message)] } else { Vec::new() }
    }

    /// The cells of each row that is not blank, without white space and quotes around them; of overlong rows the
    /// first [`MOST_COLUMNS`] and one more.
    fn rows(&self) -> impl Iterator<Item = Vec<Piece<'t>>> {
        let separator = self.separator;
        let has_text = move |line: &Piece<'_>| line.text.contains(|c: char| c != separator && !c.is_whitespace());
        self.text.lines().filter(has_text).map(move |line| {
            let mut at = line.at;
            let cells = line.text.split(separator).take(MOST_COLUMNS + 1).map(|raw| {
                let start = at + raw.len() - raw.trim_start().len();
                at += raw.len() + separator.len_utf8();
                let cell = raw.trim();
                let bare = cell.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).unwrap_or(cell);
                Piece { at: start, text: bare.trim() }
            });
            cells.collect()
        })
    }

    fn number(&self, cell: Piece<'_>, what: impl Fn() -> String) -> Result<f64, ReadError> {
        let value = if self.decimal_comma { number_with_comma(cell.text) } else { number(cell.text) };
        value.ok_or_else(|| {
            let what = what();
            let message = match cell.text {
                "" => format!("{what} is missing"),
                text => format!("`{}` stands where {what} should", shown(text)),
            };
            self.text.error(Fault::Number, cell.at, message).help("a number alone, without a unit")
        })
    }

    /// An angle: a turning one within one turn either way, the other from pole to pole.
    fn angle(&self, cell: Piece<'_>, name: &str, turning: bool) -> Result<f64, ReadError> {
        let angle = self.number(cell, || format!("the {name} angle"))?;
        let most = if turning { 360.0 } else { 90.0 };
        if (-most..=most).contains(&angle) {
            return Ok(angle);
        }
        let message = format!("the {name} angle {angle} is outside -{most} to {most}");
        Err(self.text.error(Fault::Angles, cell.at, message))
    }

    fn light<Q: Light>(&self, cell: Piece<'_>) -> Result<f64, ReadError> {
        let value = self.number(cell, || "a value".to_owned())?;
        if value >= 0.0 {
            return Ok(value);
        }
        let message = format!("the value `{}` is negative", shown(cell.text));
        Err(self.text.error(Fault::Value, cell.at, message).help(format!("a number of {}, 0 or more", Q::UNIT)))
    }
}

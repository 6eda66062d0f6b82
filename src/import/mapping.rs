//! The mapping: what each column of a sheet means, in a file that a person reads, corrects and confirms.

use super::book::letters;
use super::columns::{FIELDS, Field, Measures, NOTHING};
use super::figures::{GAUGES, Gauge, unit};
use super::words::{Country, Side};
use crate::diagnostic::{Log, SourceId};
use crate::load::reader::{Node, Table, document};
use crate::load::text::quoted;
use crate::units::{Dimension, Unit};

/// A whole mapping.
#[derive(Clone, Debug, Default)]
pub struct Mapping {
    /// A person has looked through it.
    pub confirmed: bool,
    /// One a sheet that is read.
    pub sheets: Vec<SheetMap>,
    /// What the sheet does not say of the vehicle: name, length, width, height.
    pub vehicle: [Option<String>; 4],
    /// On which sides driver and kerb are.
    pub country: Country,
    /// Cells that are to be read as something else.
    pub reads: Vec<ReadAs>,
    /// Sheets that were there when the mapping was made, and are left aside; none where it does not say them.
    pub aside: Option<Vec<String>>,
}

/// The keys of [`Mapping::vehicle`].
pub(super) const VEHICLE: [&str; 4] = ["name", "length", "width", "height"];

/// What one sheet's columns mean.
#[derive(Clone, Debug, Default)]
pub struct SheetMap {
    /// Its name.
    pub name: String,
    /// The number of the row that heads the columns.
    pub head_row: usize,
    /// A comma stands before decimals.
    pub comma: bool,
    /// Its columns, from left to right.
    pub columns: Vec<ColumnMap>,
}

/// What one column means.
#[derive(Clone, Debug, Default)]
pub struct ColumnMap {
    /// Its place, from 0; beyond all where the mapping does not say it.
    pub at: usize,
    /// Its head, as it stands in the sheet.
    pub head: String,
    /// What it means; left aside without.
    pub means: Option<&'static Field>,
    /// The unit of cells that have none: a symbol, or for sizes of wire how they are counted.
    pub unit: Option<String>,
    /// How sure that is.
    pub sure: &'static str,
    /// And why.
    pub why: String,
    /// Some of its cells.
    pub examples: Vec<String>,
}

/// Cells that say one thing and mean another.
#[derive(Clone, Debug)]
pub struct ReadAs {
    /// Of which column, by its meaning.
    pub column: &'static Field,
    /// Of which lamp or circuit; of all without.
    pub id: Option<String>,
    /// What the cell says.
    pub says: String,
    /// What is read instead.
    pub reads: String,
}

impl ColumnMap {
    /// The unit of cells that have none, of this dimension.
    pub(super) fn unit_of(&self, dimension: Dimension) -> Option<Unit> {
        self.unit.as_deref().and_then(|word| unit(word, dimension))
    }

    /// How bare sizes of wire are counted.
    pub(super) fn gauge(&self) -> Option<Gauge> {
        let word = self.unit.as_deref()?;
        GAUGES.iter().find(|(known, _)| *known == word).map(|(_, gauge)| *gauge)
    }
}

/// The mapping's file: what is proposed, with examples, to be corrected and confirmed. `file` is the name of the sheet's.
pub fn to_text(mapping: &Mapping, file: &str) -> String {
    let mut text = String::new();
    let mut line = |one: &str| {
        text.push_str(one);
        text.push('\n');
    };
    line(&format!(
        "# What the columns of {} mean: a proposal. Nothing is made of the sheet until you confirm it.",
        plain(file)
    ));
    line("# 1. Read each `means` and `unit`; correct what is wrong. `means = \"nothing\"` leaves a column aside.");
    line("# 2. Set `confirmed = true`.");
    line("# 3. Run the same command again.");
    line("# `means` is one of:");
    for field in FIELDS {
        line(&format!("#   {:<14} {}", field.name, field.says));
    }
    line("format = 1");
    line("confirmed = false");
    // Written where it is empty too: otherwise nobody could tell a sheet that came later.
    if let Some(aside) = &mapping.aside {
        line("# Sheets of the workbook that are not read.");
        let aside: Vec<String> = aside.iter().map(|name| quoted(name)).collect();
        line(&format!("aside = [{}]", aside.join(", ")));
    }
    line("");
    line(
        "# What the sheet does not say and a package needs, for example length = \"330 in\". What stays empty becomes `?`.",
    );
    line("[vehicle]");
    for (key, value) in VEHICLE.iter().zip(&mapping.vehicle) {
        line(&format!("{key} = {}", quoted(value.as_deref().unwrap_or_default())));
    }
    line("");
    line(
        "# left or right, where the sheet speaks of the driver's side (DS, PS) or of the kerb (curb side, nearside, offside).",
    );
    line("[sides]");
    let side = |side: Option<Side>| quoted(side.map_or("", Side::word));
    line(&format!("driver = {}", side(mapping.country.driver)));
    line(&format!("kerb = {}", side(mapping.country.kerb)));
    line("");
    line("# Cells that say one thing and mean another, each:");
    line("# [[reads]]");
    line("# column = \"faces\"              # by its meaning");
    line("# id = \"L3\"                     # of one lamp or circuit; leave it out for all");
    line("# says = \"side\"");
    line("# as = \"left\"");
    for sheet in &mapping.sheets {
        line("");
        line("[[sheet]]");
        line(&format!("name = {}", quoted(&sheet.name)));
        line(&format!("head-row = {}", sheet.head_row));
        line(&format!("decimals = {}", quoted(if sheet.comma { "comma" } else { "point" })));
        for column in &sheet.columns {
            line("");
            let examples: Vec<String> = column.examples.iter().map(|example| plain(example)).collect();
            let examples = if examples.is_empty() { "nothing below it".to_owned() } else { examples.join(" | ") };
            line(&format!("# column {}: {examples}", letters(column.at)));
            let sure = if column.sure.is_empty() { String::new() } else { format!("{}: ", column.sure.to_uppercase()) };
            line(&format!("# {sure}{}", plain(&column.why)));
            line("[[sheet.column]]");
            line(&format!("head = {}", quoted(&column.head)));
            line(&format!("at = {}", quoted(&letters(column.at))));
            line(&format!("means = {}", quoted(column.means.map_or(NOTHING, |means| means.name))));
            let needs_unit =
                column.means.is_some_and(|means| matches!(means.measures, Measures::Figure(_) | Measures::WireSize));
            if needs_unit {
                line(&format!("unit = {}", quoted(column.unit.as_deref().unwrap_or_default())));
            }
        }
    }
    text
}

/// A text that can stand in a comment.
pub(super) fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// Reads a mapping; mistakes go to the log.
pub fn read_mapping(text: &str, source: SourceId, log: &Log) -> Option<Mapping> {
    let mapping = document(text, source, log, |mut top| {
        let confirmed = top.require("confirmed").and_then(|node| node.boolean());
        let aside = top.get("aside").map(|node| node.texts().into_iter().map(|text| text.text).collect());
        let vehicle = top.get("vehicle").and_then(|node| node.table()).map(read_vehicle).unwrap_or_default();
        let country = top.get("sides").and_then(|node| node.table()).map(read_sides).unwrap_or_default();
        let reads = top.tables("reads").into_iter().filter_map(read_as).collect();
        let sheets: Vec<Option<SheetMap>> = top.tables("sheet").into_iter().map(read_sheet).collect();
        top.finish();
        let sheets = sheets.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Mapping { confirmed: confirmed?, sheets, vehicle, country, reads, aside })
    });
    mapping.filter(|_| !log.has_errors())
}

/// A text that is not empty.
fn filled(node: Option<Node<'_>>) -> Option<String> {
    node.and_then(|node| node.text()).map(|text| text.text).filter(|text| !text.trim().is_empty())
}

fn read_vehicle(mut table: Table<'_>) -> [Option<String>; 4] {
    let name = filled(table.get("name"));
    let sizes = ["length", "width", "height"].map(|key| {
        let node = table.get(key)?;
        let written = node.text().filter(|text| !text.text.trim().is_empty())?;
        node.positive::<crate::units::Length>().map(|_| written.text)
    });
    table.finish();
    let [length, width, height] = sizes;
    [name, length, width, height]
}

fn read_sides(mut table: Table<'_>) -> Country {
    let words = [("left", Some(Side::Left)), ("right", Some(Side::Right)), ("", None)];
    let mut side = |key| table.get(key).and_then(|node| node.word(&words)).flatten();
    let country = Country { driver: side("driver"), kerb: side("kerb") };
    table.finish();
    country
}

/// A meaning by its name; `None` where it is none of them, `Some(None)` for `nothing`.
fn meaning(node: &Node<'_>) -> Option<Option<&'static Field>> {
    let words: Vec<(&str, Option<&'static Field>)> =
        FIELDS.iter().map(|field| (field.name, Some(field))).chain([(NOTHING, None)]).collect();
    node.word(&words)
}

fn read_as(mut table: Table<'_>) -> Option<ReadAs> {
    let column = table.require("column").and_then(|node| meaning(&node)).flatten();
    let id = table.get("id").and_then(|node| node.text()).map(|text| text.text);
    let says = table.require("says").and_then(|node| node.text());
    let reads = table.require("as").and_then(|node| node.text());
    table.finish();
    Some(ReadAs { column: column?, id, says: says?.text, reads: reads?.text })
}

fn read_sheet(mut table: Table<'_>) -> Option<SheetMap> {
    let name = table.require("name").and_then(|node| node.text());
    let head_row = table.require("head-row").and_then(|node| {
        let number = node.number()?;
        let fits = number.fract() == 0.0 && (1.0..=1e6).contains(&number);
        if !fits {
            node.error("out-of-range", "a row has a whole number from 1 on", "as the spreadsheet numbers it");
            return None;
        }
        // Whole and small, by the test above.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Some(number as usize)
    });
    let decimals = table.get("decimals").map_or(Some(false), |node| node.word(&[("point", false), ("comma", true)]));
    let columns: Vec<Option<ColumnMap>> = table.tables("column").into_iter().map(read_column).collect();
    table.finish();
    let columns = columns.into_iter().collect::<Option<Vec<_>>>()?;
    Some(SheetMap { name: name?.text, head_row: head_row?, comma: decimals?, columns })
}

fn read_column(mut table: Table<'_>) -> Option<ColumnMap> {
    let head = table.require("head").and_then(|node| node.text());
    let at = table.get("at").and_then(|node| column_of(&node));
    let means = table.require("means").and_then(|node| meaning(&node));
    let unit = table.get("unit");
    let unit = match (unit, means.flatten()) {
        (Some(node), Some(means)) => read_unit(&node, means)?,
        _ => None,
    };
    table.finish();
    Some(ColumnMap { at: at.unwrap_or(usize::MAX), head: head?.text, means: means?, unit, ..ColumnMap::default() })
}

/// The place of a column by its letters.
fn column_of(node: &Node<'_>) -> Option<usize> {
    let text = node.text()?;
    let is_letters = !text.text.is_empty() && text.text.len() <= 3 && text.text.bytes().all(|b| b.is_ascii_uppercase());
    if !is_letters {
        node.error("bad-column", "a column is named by its letters", "for example \"C\" or \"AB\"");
        return None;
    }
    Some(text.text.bytes().fold(0, |place, letter| place * 26 + usize::from(letter - b'A') + 1) - 1)
}

/// A unit that fits the meaning; `Some(None)` where none is said.
fn read_unit(node: &Node<'_>, means: &'static Field) -> Option<Option<String>> {
    let text = node.text()?.text;
    if text.trim().is_empty() {
        return Some(None);
    }
    let fits = match means.measures {
        Measures::Figure(dimension) => unit(&text, dimension).is_some(),
        Measures::WireSize => GAUGES.iter().any(|(word, _)| *word == text),
        Measures::Words | Measures::Count => false,
    };
    if !fits {
        let help = match means.measures {
            Measures::Figure(dimension) => format!("units that fit: {}", dimension.symbols()),
            Measures::WireSize => "AWG, SAE or mm2".to_owned(),
            Measures::Words | Measures::Count => "this column takes no unit".to_owned(),
        };
        node.error("unknown-unit", format!("`{text}` is no unit of `{}`", means.name), help);
        return None;
    }
    Some(Some(text))
}

#[cfg(test)]
mod tests {
    use super::super::book::read_book;
    use super::super::propose::propose;
    use super::*;
    use crate::diagnostic::Sources;

    #[test]
    fn what_is_written_is_read_again() {
        let sheet = b"Lamp schedule\n\nid,model,height (in),faces,wire\nL1,x,40,front,14\n";
        let book = read_book(sheet, "lamps.csv").unwrap();
        let proposed = propose(&book, None).unwrap();
        let text = to_text(&proposed, "lamps.csv");
        let (sources, log) = (Sources::default(), Log::default());
        let read = read_mapping(&text, sources.add("mapping.toml", &text), &log).unwrap();
        assert!(!read.confirmed && log.take().is_empty());
        let told = |mapping: &Mapping| -> Vec<(String, usize, Option<&str>, Option<String>)> {
            let columns = mapping.sheets.iter().flat_map(|sheet| &sheet.columns);
            columns.map(|one| (one.head.clone(), one.at, one.means.map(|means| means.name), one.unit.clone())).collect()
        };
        assert_eq!(told(&read), told(&proposed));
        assert_eq!(read.sheets[0].head_row, 3);
        let names: Vec<_> = told(&read).into_iter().map(|(_, _, means, _)| means).collect();
        assert_eq!(names, [Some("id"), Some("model"), Some("height"), Some("faces"), Some("wire-size")]);
    }
}

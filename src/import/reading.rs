//! A sheet as its mapping reads it: rows of cells by their meaning.

use std::cell::RefCell;
use std::collections::BTreeSet;

use super::book::{Book, Kind, Row, Sheet, Unsure, letters};
use super::columns::{Field, Measures};
use super::figures::{Writing, amount, has_decimals, has_mark, is_plausible, may_be_thousands};
use super::heads::is_heads;
use super::mapping::{ColumnMap, Mapping, ReadAs, SheetMap};
use super::record::{Doubt, Imported, why_nothing};
use crate::load::reader::is_name;
use crate::units::Amount;

/// A sheet as its mapping reads it.
pub(super) struct Reading<'a> {
    pub sheet: &'a Sheet,
    pub mapping: &'a Mapping,
    pub comma: bool,
    /// Row of the heads.
    head: &'a Row,
    /// Place of each column in the sheet, and what it means.
    columns: Vec<(usize, &'a ColumnMap)>,
    /// Point and comma both stand in figures of the sheet.
    mixed: bool,
    /// Places of columns of which a figure shows that its mark stands before decimals: not just three digits follow it.
    settled: Vec<usize>,
    /// The heads of another table below.
    next: Option<&'a Row>,
    /// Which of the mapping's `[[reads]]` were met.
    reads: RefCell<BTreeSet<usize>>,
}

/// A cell that is not empty.
#[derive(Clone, Debug)]
pub(super) struct Cell<'a> {
    /// What is read: the cell's text, or what the mapping says it means.
    pub text: String,
    /// Where it stands, for a person.
    pub place: String,
    pub column: &'a ColumnMap,
    /// Its place in the row.
    pub at: usize,
    pub kind: Kind,
}

impl Cell<'_> {
    /// Why it says nothing for sure, or nothing at all.
    pub fn why_nothing(&self) -> Option<String> {
        match self.kind.unsure {
            Some(Unsure::Struck) => Some(format!("`{}` is struck through, wholly or in part", self.text)),
            Some(Unsure::ShownOtherwise) => {
                Some(format!("the spreadsheet shows another figure than the `{}` that the cell holds", self.text))
            }
            Some(Unsure::Swallows) => Some("whole rows stand in this cell, behind a quotation mark".to_owned()),
            None => why_nothing(&self.text),
        }
    }
}

impl<'a> Reading<'a> {
    /// Finds the sheet, its heads and its columns; columns may have moved since.
    pub fn new(book: &'a Book, of_sheet: &'a SheetMap, mapping: &'a Mapping) -> Result<Self, String> {
        let named = book.sheets.iter().find(|sheet| sheet.name == of_sheet.name);
        // A text file is its only sheet, whatever it is called now.
        let only = book.sheets.first().filter(|_| book.sheets.len() == 1 && mapping.sheets.len() == 1);
        let sheet = named.or(only).ok_or_else(|| {
            let names: Vec<&str> = book.sheets.iter().map(|sheet| sheet.name.as_str()).collect();
            format!("the mapping speaks of a sheet `{}`; there are: {}", of_sheet.name, names.join(", "))
        })?;
        let used: Vec<&ColumnMap> = of_sheet.columns.iter().filter(|column| column.means.is_some()).collect();
        // A column without a title is known by its place alone.
        let has = |row: &Row, column: &ColumnMap| match column.head.is_empty() {
            true => row.cell(column.at).is_empty(),
            false => row.cells.contains(&column.head),
        };
        let holds_all = |row: &&Row| used.iter().all(|column| has(row, column));
        let there = sheet.rows.iter().find(|row| row.number == of_sheet.head_row).filter(holds_all);
        let head = there.or_else(|| sheet.rows.iter().find(holds_all)).ok_or_else(|| {
            let near = sheet.rows.iter().find(|row| row.number == of_sheet.head_row);
            let lost = used.iter().filter(|column| near.is_none_or(|row| !has(row, column)));
            let named = |column: &ColumnMap| match column.head.is_empty() {
                true => format!("empty cell in {}, where a column without a title was", letters(column.at)),
                false => format!("`{}`", column.head),
            };
            let lost: Vec<String> = lost.map(|column| named(column)).collect();
            format!(
                "no row of the sheet `{}` has all heads of the mapping any more; row {} has no {}: make the mapping anew, or put the heads right",
                sheet.name,
                of_sheet.head_row,
                lost.join(", ")
            )
        })?;
        let mut columns = Vec::new();
        for column in used {
            columns.push((place_of(column, of_sheet, sheet, head)?, column));
        }
        for (at, (_, column)) in columns.iter().enumerate() {
            let means = column.means.map_or("", |means| means.name);
            let twice = columns.iter().skip(at + 1).any(|(_, other)| other.means == column.means);
            if twice && means != "notes" {
                return Err(format!("two columns of the sheet `{}` mean `{means}`: keep one of them", sheet.name));
            }
        }
        let all = || sheet.rows.iter().filter(|row| row.number > head.number);
        let is_head = |row: &&Row| columns.iter().all(|(at, column)| row.cell(*at) == column.head);
        let next = all().find(|row| is_heads(row) && !is_head(row));
        let below = || all().take_while(move |row| next.is_none_or(|next| row.number < next.number));
        let is_figures = |column: &ColumnMap| {
            column.means.is_some_and(|means| matches!(means.measures, Measures::Figure(_) | Measures::WireSize))
        };
        let figures = || columns.iter().filter(|(_, column)| is_figures(column)).map(|(at, _)| *at);
        let texts = |at: usize| below().filter(move |row| !row.kind(at).number).map(move |row| row.cell(at));
        let holds = |mark: char| figures().any(|at| texts(at).any(|text| has_mark(text, mark)));
        let mixed = holds(',') && holds('.');
        let settled = figures().filter(|at| texts(*at).any(has_decimals)).collect();
        Ok(Self {
            sheet,
            mapping,
            comma: of_sheet.comma,
            head,
            columns,
            mixed,
            settled,
            next,
            reads: RefCell::default(),
        })
    }

    pub fn has(&self, name: &str) -> bool {
        self.meanings().any(|means| means == name)
    }

    /// What the columns of the sheet mean.
    pub fn meanings(&self) -> impl Iterator<Item = &'static str> {
        self.columns.iter().filter_map(|(_, column)| column.means).map(|means| means.name)
    }

    /// Whether rows stand for lamps: something is said that only lamps have.
    pub fn speaks_of_lamps(&self) -> bool {
        let of_lamp = |field: &Field| !field.of_circuit && !matches!(field.name, "circuit" | "notes" | "current");
        self.columns.iter().filter_map(|(_, column)| column.means).any(of_lamp)
    }

    /// Whether something is said of circuits, and which they are.
    pub fn speaks_of_circuits(&self) -> bool {
        self.has("circuit") && self.columns.iter().filter_map(|(_, column)| column.means).any(|field| field.of_circuit)
    }

    /// The place of a row, for a person.
    pub fn row_place(&self, row: &Row) -> String {
        format!("{} row {}", self.sheet.name, row.number)
    }

    /// The rows of the schedule: without the head where it is repeated, headings between rows and sums below, up to where
    /// another table begins. What is passed over is told.
    pub fn rows(&self, told: &mut Imported) -> Vec<&'a Row> {
        let mut rows = Vec::new();
        told.notes.extend(self.sheet.notes.iter().map(|note| format!("{}: {note}", self.sheet.name)));
        for (number, why) in
            self.sheet.doubts.iter().filter(|(number, _)| *number == self.head.number || self.is_below(*number))
        {
            let place = format!("{} row {number}", self.sheet.name);
            told.counts.push(Doubt { place, id: String::new(), what: "row", why: why.clone() });
        }
        for row in self.below() {
            let known = self.columns.iter().filter(|(at, _)| !row.cell(*at).is_empty()).count();
            let first = first_of(row);
            let place = self.row_place(row);
            if self.columns.iter().all(|(at, column)| row.cell(*at) == column.head) {
                told.notes.push(format!("{place}: the heads again, passed over"));
            } else if is_sum(row) && self.may_be_thing(row) {
                let why =
                    format!("`{first}`: a sum, or a lamp or circuit of that name? It is not read; call it otherwise");
                told.counts.push(Doubt { place, id: String::new(), what: "row", why });
            } else if is_sum(row) {
                told.notes.push(format!("{place}: `{first}`: a sum, passed over"));
            } else if row.filled() == 1 && self.columns.len() > 2 && self.may_be_id(row) {
                let why = format!(
                    "`{first}` stands alone: a heading, or something of which nothing else is said? It is not read"
                );
                told.counts.push(Doubt { place, id: String::new(), what: "row", why });
            } else if row.filled() == 1 && self.columns.len() > 2 {
                told.notes.push(format!("{place}: `{first}` stands alone: taken for a heading, passed over"));
            } else if known > 0 {
                rows.push(row);
            } else {
                told.notes.push(format!("{place}: nothing in a column that is read, passed over"));
            }
        }
        if let Some(next) = self.next {
            let is_read =
                self.mapping.sheets.iter().any(|one| one.name == self.sheet.name && one.head_row == next.number);
            let left = self.sheet.rows.iter().filter(|row| row.number > next.number).count();
            let place = self.row_place(next);
            let mut why = format!(
                "another table begins here, with heads of its own: the {left} rows below are not read. Give it a sheet of its own, or a [[sheet]] of its own in the mapping, with head-row = {}",
                next.number
            );
            if rows.is_empty() {
                why.push_str(&format!(
                    ". If it is a second line of the heads in row {}, put both lines into one row",
                    self.head.number
                ));
            }
            if !is_read {
                told.counts.push(Doubt { place, id: String::new(), what: "table", why });
            }
        }
        rows
    }

    /// The number of the row of its heads, and which of the mapping's `[[reads]]` were met.
    pub fn met(&self) -> (usize, BTreeSet<usize>) {
        (self.head.number, self.reads.borrow().clone())
    }

    /// Columns of which the mapping says nothing, since they came later; and a table that stands beside this one.
    pub fn columns_beyond(&self, of_sheet: &SheetMap) -> Vec<Doubt> {
        let wide = self.below().map(|row| row.cells.len()).chain([self.head.cells.len()]).max().unwrap_or(0);
        let known = |at: usize| {
            let title = self.head.cell(at);
            let is_it = |column: &ColumnMap| column.head == title && (!title.is_empty() || column.at == at);
            of_sheet.columns.iter().any(is_it)
        };
        let says = |at: &usize| !self.head.cell(*at).is_empty() || self.below().any(|row| !row.cell(*at).is_empty());
        let beyond = (0..wide).filter(|at| !known(*at)).filter(says).map(|at| {
            let place = format!("{}!{}{}", self.sheet.name, letters(at), self.head.number);
            let title = self.head.cell(at);
            let named = if title.is_empty() { "a column without a title".to_owned() } else { format!("`{title}`") };
            let why = format!(
                "{named} is not in the mapping, and not read: add it there (`means = \"nothing\"` leaves it aside), or make the mapping anew"
            );
            Doubt { place, id: String::new(), what: "column", why }
        });
        let is_read = |column: &&ColumnMap| self.columns.iter().any(|(_, used)| used.head == column.head);
        let twins: Vec<&ColumnMap> = of_sheet
            .columns
            .iter()
            .filter(|column| column.means.is_none() && !column.head.is_empty())
            .filter(is_read)
            .collect();
        let beside = twins.first().filter(|_| twins.len() >= 3).map(|first| {
            let place = format!("{}!{}{}", self.sheet.name, letters(first.at), self.head.number);
            let why =
                "another table with the same heads stands beside this one, and is not read: give it a sheet of its own";
            Doubt { place, id: String::new(), what: "table", why: why.to_owned() }
        });
        beyond.chain(beside).collect()
    }

    /// The rows of this table, below its heads.
    fn below(&self) -> impl Iterator<Item = &'a Row> {
        self.sheet.rows.iter().filter(|row| self.is_below(row.number))
    }

    fn is_below(&self, number: usize) -> bool {
        number > self.head.number && self.next.is_none_or(|next| number < next.number)
    }

    /// Whether a row has more of a lamp or circuit than a sum has.
    fn may_be_thing(&self, row: &Row) -> bool {
        const OF_ONE: [&str; 7] = ["model", "height", "faces", "behind-front", "from", "wire-size", "wire-length"];
        let of_one = |column: &ColumnMap| column.means.is_some_and(|means| OF_ONE.contains(&means.name));
        self.columns.iter().filter(|(at, column)| of_one(column) && !row.cell(*at).is_empty()).count() > 1
    }

    /// Whether what stands alone in a row stands where names do, and looks like one.
    fn may_be_id(&self, row: &Row) -> bool {
        let first = first_of(row);
        let named = |column: &ColumnMap| column.means.is_some_and(|means| matches!(means.name, "id" | "circuit"));
        let stands = self.columns.iter().any(|(at, column)| named(column) && !row.cell(*at).is_empty());
        stands && is_name(first) && first.contains(|c: char| c.is_ascii_digit())
    }

    /// The sums below or between the rows: where each stands, its row, whether it is of all rows above, and how many lamps
    /// it says, where it says that.
    pub fn sums(&self) -> Vec<(usize, String, bool, Option<usize>)> {
        let below = self.below().filter(|row| is_sum(row) && !self.may_be_thing(row));
        let is_figure = |at: usize| {
            let column = self.columns.iter().find(|(known, _)| *known == at);
            column
                .and_then(|(_, column)| column.means)
                .is_some_and(|means| !matches!(means.measures, Measures::Words | Measures::Count))
        };
        let sums = below.map(|row| {
            let is_all = words(first_of(row)).any(|word| word == "grand");
            let quantity = self.cell(row, "quantity", "").map(|cell| cell.text);
            let others = row.cells.iter().enumerate().filter(|(at, _)| !is_figure(*at));
            let said = match quantity {
                Some(quantity) => whole(&quantity),
                None => others.filter_map(|(_, cell)| whole(cell)).next(),
            };
            (row.number, self.row_place(row), is_all, said)
        });
        sums.collect()
    }

    /// The cell of a row that means this; `id` is that of the lamp or circuit, where it is known.
    pub fn cell(&self, row: &Row, name: &str, id: &str) -> Option<Cell<'a>> {
        let (at, column) =
            self.columns.iter().find(|(_, column)| column.means.is_some_and(|means| means.name == name))?;
        self.cell_at(row, *at, column, id)
    }

    fn cell_at(&self, row: &Row, at: usize, column: &'a ColumnMap, id: &str) -> Option<Cell<'a>> {
        let said = row.cell(at);
        let means = column.means?;
        let is_it =
            |one: &ReadAs| one.column == means && one.says == said && one.id.as_ref().is_none_or(|known| known == id);
        let reads = self.mapping.reads.iter().enumerate().find(|(_, one)| is_it(one));
        self.reads.borrow_mut().extend(reads.map(|(place, _)| place));
        let text = reads.map_or(said, |(_, one)| one.reads.as_str()).trim().to_owned();
        let place = format!("{}!{}{}", self.sheet.name, letters(at), row.number);
        // What the mapping reads instead is sure.
        let kind = if reads.is_some() { Kind::default() } else { row.kind(at) };
        (!text.is_empty()).then_some(Cell { text, place, column, at, kind })
    }

    /// All remarks of a row; `id` is that of the lamp or circuit.
    pub fn notes(&self, row: &Row, id: &str) -> Vec<String> {
        let of_it = self.columns.iter().filter(|(_, column)| column.means.is_some_and(|means| means.name == "notes"));
        of_it.filter_map(|(at, column)| self.cell_at(row, *at, column, id)).map(|cell| cell.text).collect()
    }

    /// What stands in the column of this title, read or not, and where; none where there is no such column.
    pub fn headed(&self, row: &Row, title: &str) -> Option<(String, String)> {
        let at = self.head.cells.iter().position(|cell| cell == title)?;
        Some((row.cell(at).to_owned(), format!("{}!{}{}", self.sheet.name, letters(at), row.number)))
    }

    /// A cell as an amount.
    pub fn amount(&self, cell: &Cell<'_>) -> Result<Amount, String> {
        let Some(Measures::Figure(dimension)) = cell.column.means.map(|means| means.measures) else {
            return Err(format!("`{}` is no figure", cell.text));
        };
        let comma = self.comma && !cell.kind.number;
        let amount = amount(&cell.text, dimension, Writing { unit: cell.column.unit_of(dimension), comma })?;
        if cell.kind.number || !may_be_thousands(&cell.text) {
            return Ok(amount);
        }
        let why = if self.mixed {
            "the sheet has both point and comma in figures"
        } else if !self.settled.contains(&cell.at) && is_plausible(amount, 1000.0) {
            "three digits follow its only mark, and no other figure of its column shows which"
        } else {
            return Ok(amount);
        };
        Err(format!("`{}` may be thousands or decimals: {why}", cell.text))
    }
}

/// Where a column stands now. A title that stands once is found wherever it is; of several that are alike, and of a column
/// without one, the place is known only while nothing has moved.
fn place_of(column: &ColumnMap, of_sheet: &SheetMap, sheet: &Sheet, head: &Row) -> Result<usize, String> {
    let places = |title: &str| -> Vec<usize> {
        head.cells.iter().enumerate().filter(|(_, cell)| *cell == title).map(|(at, _)| at).collect()
    };
    let alike = of_sheet.columns.iter().filter(|other| other.head == column.head).count();
    let here = places(&column.head);
    if let ([one], 1, false) = (here.as_slice(), alike, column.head.is_empty()) {
        return Ok(*one);
    }
    let has_moved = |other: &ColumnMap| !other.head.is_empty() && !places(&other.head).contains(&other.at);
    let is_there = column.head.is_empty() || (here.contains(&column.at) && here.len() == alike);
    if is_there && !of_sheet.columns.iter().any(has_moved) {
        return Ok(column.at);
    }
    let which = if column.head.is_empty() {
        "a column without a title".to_owned()
    } else {
        format!("the title `{}`, which stands {} times,", column.head, here.len())
    };
    Err(format!(
        "the columns of the sheet `{}` are not where the mapping says, so {which} cannot be told: give each column a title of its own and make the mapping anew",
        sheet.name
    ))
}

/// The first cell that holds something.
fn first_of(row: &Row) -> &str {
    row.cells.iter().find(|cell| !cell.is_empty()).map_or("", String::as_str)
}

fn words(text: &str) -> impl Iterator<Item = String> {
    text.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase)
}

/// Whether a row sums up others.
fn is_sum(row: &Row) -> bool {
    const SUMS: [&str; 6] = ["total", "totals", "subtotal", "subtotals", "sum", "sums"];
    words(first_of(row)).any(|word| SUMS.contains(&word.as_str()))
}

/// The only number in a text, where it is a whole one.
fn whole(text: &str) -> Option<usize> {
    let mut numbers = words(text).filter(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    let one = numbers.next()?;
    if numbers.next().is_some() { None } else { one.parse().ok() }
}

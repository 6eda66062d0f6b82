//! One sheet that holds one table: heads that stay in sight, a filter, a print area, widths that fit.

use rust_xlsxwriter::{Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError};

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Cell {
    Text(String),
    /// In the unit of its column.
    Number(f64),
    Empty,
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text.to_owned()) }
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text) }
    }
}

impl From<Option<String>> for Cell {
    fn from(text: Option<String>) -> Self {
        text.map_or(Self::Empty, Self::from)
    }
}

impl From<f64> for Cell {
    /// What is not finite is not known, and stays empty.
    fn from(number: f64) -> Self {
        if number.is_finite() { Self::Number(number) } else { Self::Empty }
    }
}

impl From<Option<f64>> for Cell {
    fn from(number: Option<f64>) -> Self {
        number.map_or(Self::Empty, Self::from)
    }
}

/// One sheet.
#[derive(Debug)]
pub(super) struct Table {
    pub name: &'static str,
    pub head: Vec<String>,
    pub rows: Vec<Vec<Cell>>,
    /// Columns on the left that stay in sight.
    pub fixed: u16,
}

/// No text in a cell is longer than the file format lets it be.
const LONGEST_TEXT: usize = 32_000;
/// Letters side by side on a page across that can still be read.
const PAGE: u32 = 200;
/// Rows that the file format can hold.
const MOST_ROWS: usize = 1_000_000;

pub(super) fn bold() -> Format {
    Format::new().set_bold()
}

/// A text that is not too long for a cell; a longer one says that it goes on.
pub(super) fn fitting(text: &str) -> String {
    if text.chars().count() <= LONGEST_TEXT {
        return text.to_owned();
    }
    text.chars().take(LONGEST_TEXT).chain(" ... (longer than a cell can hold)".chars()).collect()
}

/// How many lines a text takes up in a column of a width, in letters; of longer ones rather one too many, since words are
/// not parted.
pub(super) fn lines(text: &str, width: u32) -> u32 {
    let letters = u32::try_from(text.chars().count()).unwrap_or(u32::MAX);
    if letters.saturating_add(2) <= width { 1 } else { letters.div_ceil(width.saturating_sub(5).max(4)) }
}

/// The height of a row, in points. Not every program makes rows as high as their texts by itself.
pub(super) fn height(lines: u32) -> f64 {
    15.0 * f64::from(lines.clamp(1, 27))
}

impl Table {
    pub fn new(name: &'static str, fixed: u16, head: &[&str]) -> Self {
        let head = head.iter().map(|title| (*title).to_owned()).collect();
        Self { name, head, rows: Vec::new(), fixed }
    }

    /// Adds the sheet.
    pub fn write(&self, workbook: &mut Workbook) -> Result<(), XlsxError> {
        let sheet = workbook.add_worksheet();
        sheet.set_name(self.name)?;
        let title = bold().set_text_wrap().set_border_bottom(FormatBorder::Thin).set_align(FormatAlign::Top);
        let number = Format::new().set_num_format("#,##0.######").set_align(FormatAlign::Top);
        let text = Format::new().set_align(FormatAlign::Top).set_text_wrap();
        let (mut wide, mut widths) = (0, Vec::new());
        for (column, head) in (0_u16..).zip(&self.head) {
            sheet.write_string_with_format(0, column, fitting(head), &title)?;
            let letters = self.width_of(usize::from(column));
            sheet.set_column_width(column, f64::from(letters))?;
            wide += letters;
            widths.push(letters);
        }
        for (row, cells) in (1..).zip(self.rows.iter().take(MOST_ROWS)) {
            for (column, cell) in (0..).zip(cells) {
                match cell {
                    Cell::Text(one) => sheet.write_string_with_format(row, column, fitting(one), &text)?,
                    // A whole number needs no decimals, nor a point that waits for them.
                    Cell::Number(one) if one.fract() == 0.0 => {
                        let whole = number.clone().set_num_format("#,##0");
                        sheet.write_number_with_format(row, column, *one, &whole)?
                    }
                    Cell::Number(one) => sheet.write_number_with_format(row, column, *one, &number)?,
                    Cell::Empty => continue,
                };
            }
            let texts = cells.iter().zip(&widths).map(|(cell, width)| match cell {
                Cell::Text(text) => lines(text, *width),
                Cell::Number(_) | Cell::Empty => 1,
            });
            sheet.set_row_height(row, height(texts.max().unwrap_or(1)))?;
        }
        let of_head = self.head.iter().zip(&widths).map(|(head, width)| lines(head, *width));
        sheet.set_row_height(0, height(of_head.max().unwrap_or(1)))?;
        let last_row = u32::try_from(self.rows.len().min(MOST_ROWS)).unwrap_or(0);
        let last_column = u16::try_from(self.head.len()).unwrap_or(1).saturating_sub(1);
        sheet.set_freeze_panes(1, self.fixed)?;
        sheet.autofilter(0, 0, last_row, last_column)?;
        sheet.set_print_area(0, 0, last_row, last_column)?;
        sheet.set_repeat_rows(0, 0)?;
        if let Some(last_fixed) = self.fixed.checked_sub(1) {
            sheet.set_repeat_columns(0, last_fixed)?;
        }
        sheet.set_landscape();
        // As many pages side by side as it takes to be read.
        sheet.set_print_fit_to_pages(u16::try_from(wide.div_ceil(PAGE)).unwrap_or(1).max(1), 0);
        footer(sheet);
        Ok(())
    }

    /// As wide as its longest cell, within reason: longer texts are wrapped.
    fn width_of(&self, column: usize) -> u32 {
        let cells = self.rows.iter().filter_map(|row| row.get(column)).map(|cell| match cell {
            Cell::Text(text) => text.chars().count(),
            Cell::Number(number) => format!("{number:.6}").trim_end_matches('0').len() + 1,
            Cell::Empty => 0,
        });
        let words = self.head.get(column).into_iter().flat_map(|head| head.split(' ')).map(|word| word.chars().count());
        let longest = cells.chain(words).max().unwrap_or(0).clamp(5, 48);
        // The filter's mark stands beside the title.
        u32::try_from(longest).unwrap_or(48) + 3
    }
}

/// Which sheet, which page.
pub(super) fn footer(sheet: &mut Worksheet) {
    sheet.set_footer("&L&F  &A&Rpage &P of &N");
}

//! What a workbook shows of a cell besides the text or number that it holds: that it is struck through, wholly or in part;
//! words that its number format puts round a figure; in an ods file also which cells are merged.

use std::collections::{BTreeMap, HashMap, HashSet};

use calamine::Style;

use super::book::{MOST_COLUMNS, MOST_ROWS, Unsure};
use super::bounds::{attributes, count_of, end_of_markup, name_of};

/// What the style of a cell adds to it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Dress {
    pub unsure: Option<Unsure>,
    /// What stands before and behind a number.
    pub round: Option<(String, String)>,
}

/// The styles that add something, by their ids.
pub(super) fn dresses(styles: &[Style]) -> BTreeMap<usize, Dress> {
    let of = |style: &Style| {
        let struck = style.font.as_ref().is_some_and(|font| font.has_strikethrough());
        let round = style.number_format.as_ref().map_or(Round::Nothing, |format| round(&format.format_code));
        match (struck, round) {
            (true, _) => Some(Dress { unsure: Some(Unsure::Struck), round: None }),
            (false, Round::Words(before, after)) => Some(Dress { unsure: None, round: Some((before, after)) }),
            (false, Round::Unclear) => Some(Dress { unsure: Some(Unsure::ShownOtherwise), round: None }),
            (false, Round::Nothing) => None,
        }
    };
    styles.iter().enumerate().filter_map(|(id, style)| Some((id, of(style)?))).collect()
}

/// Whether letters or signs round a figure say something of it.
fn says(text: &str) -> bool {
    text.chars().any(|c| !c.is_whitespace() && !"()+-\u{2212}".contains(c))
}

/// What a number format puts round a figure.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Round {
    Nothing,
    Words(String, String),
    /// It parts the figure, or shows another one.
    Unclear,
}

/// Reads the code of a number format, of which the first section is for positive numbers and the second for negative ones.
fn round(code: &str) -> Round {
    let parts = sections(code);
    let first = parts.first().map_or(Round::Nothing, |part| of_section(part));
    let second = parts.get(1).map(|part| of_section(part));
    if second.is_some_and(|second| second != first) { Round::Unclear } else { first }
}

/// A letter of a format: as it is shown, or as it stands for something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Letter {
    Shown(char),
    Code(char),
}

fn sections(code: &str) -> Vec<Vec<Letter>> {
    let mut all = vec![Vec::new()];
    let mut letters = code.chars();
    while let Some(c) = letters.next() {
        let mut add = |letter: Letter| {
            if let Some(last) = all.last_mut() {
                last.push(letter);
            }
        };
        match c {
            '"' => letters.by_ref().take_while(|c| *c != '"').for_each(|c| add(Letter::Shown(c))),
            '\\' => letters.next().into_iter().for_each(|c| add(Letter::Shown(c))),
            // A blank as wide as the next letter, or that letter as often as there is room.
            '_' | '*' => drop(letters.next()),
            '[' => {
                let inside: String = letters.by_ref().take_while(|c| *c != ']').collect();
                // `[$in-409]` shows a text; a colour or a condition shows none.
                let shown = inside.strip_prefix('$').map(|rest| rest.split('-').next().unwrap_or_default());
                shown.unwrap_or_default().chars().for_each(|c| add(Letter::Shown(c)));
            }
            ';' => all.push(Vec::new()),
            _ => add(Letter::Code(c)),
        }
    }
    all
}

fn of_section(section: &[Letter]) -> Round {
    let general: Vec<Letter> = "General".chars().map(Letter::Code).collect();
    let is_digit = |letter: &Letter| matches!(letter, Letter::Code('0' | '#' | '?'));
    let start = section.windows(general.len()).position(|part| part == general);
    let (first, last) = match start {
        Some(start) => (start, start + general.len() - 1),
        None => match (section.iter().position(is_digit), section.iter().rposition(is_digit)) {
            (Some(first), Some(last)) => (first, last),
            _ => return Round::Nothing,
        },
    };
    let text = |part: &[Letter]| -> String {
        let shown = part.iter().filter_map(|letter| match letter {
            Letter::Shown(c) => Some(*c),
            Letter::Code(_) => None,
        });
        shown.collect()
    };
    let part = |from: usize, to: usize| section.get(from..to).unwrap_or_default();
    let (before, within, after) = (part(0, first), part(first, last + 1), part(last + 1, section.len()));
    let is_scaled = section.contains(&Letter::Code('%')) || after.first() == Some(&Letter::Code(','));
    let (before, after) = (text(before), text(after));
    if says(&text(within)) || is_scaled {
        return Round::Unclear;
    }
    let kept = |text: String| if says(&text) { text } else { String::new() };
    match (kept(before), kept(after)) {
        (before, after) if before.is_empty() && after.is_empty() => Round::Nothing,
        (before, after) => Round::Words(before, after),
    }
}

/// A text as its letters and digits: what both a file's own writing of it and the text that is read have in common.
pub(super) fn key(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some(at) = rest.find('&') {
        let (before, after) = rest.split_at(at);
        plain.push_str(before);
        // `&quot;` and the like stand for one letter.
        let end = after.find(';').filter(|end| *end < 10);
        rest = after.get(end.map_or(1, |end| end + 1)..).unwrap_or_default();
    }
    plain.push_str(rest);
    plain.chars().filter(char::is_ascii_alphanumeric).collect()
}

/// The part of a name behind its prefix; the stroke of a tag that closes stays.
fn local(name: &[u8]) -> (bool, &[u8]) {
    let (closes, name) = name.strip_prefix(b"/").map_or((false, name), |name| (true, name));
    (closes, name.rsplit(|byte| *byte == b':').next().unwrap_or(name))
}

/// Texts of an xlsx part of which some letters are struck through; none where the part cannot be told apart.
pub(super) fn struck_texts(xml: &[u8]) -> Option<HashSet<String>> {
    let mut found = HashSet::new();
    let (mut whole, mut is_struck, mut any, mut in_text) = (None::<String>, false, false, false);
    let mut rest = xml;
    while let Some(at) = rest.iter().position(|byte| *byte == b'<') {
        let (before, markup) = rest.split_at(at);
        if let Some(whole) = whole.as_mut().filter(|_| in_text) {
            let text = String::from_utf8_lossy(before);
            any |= is_struck && !text.trim().is_empty();
            whole.push_str(&text);
        }
        let (tag, after) = markup.split_at_checked(end_of_markup(markup)?)?;
        rest = after;
        let is_empty = tag.ends_with(b"/>");
        match local(name_of(tag)) {
            (false, b"si" | b"is") if !is_empty => (whole, any) = (Some(String::new()), false),
            (true, b"si" | b"is") => found.extend(whole.take().filter(|_| any).map(|text| key(&text))),
            (false, b"r") => is_struck = false,
            (false, b"strike") => {
                let is_off = |(name, value): &(&[u8], &[u8])| *name == b"val" && matches!(*value, b"0" | b"false");
                is_struck = !attributes(tag)?.iter().any(is_off);
            }
            (closes, b"t") => in_text = !closes && !is_empty,
            _ => {}
        }
    }
    Some(found)
}

/// What an ods file shows of the cells of one sheet.
#[derive(Clone, Debug, Default)]
pub(super) struct Shown {
    /// The first and last cell of each region that is merged; row and column from 0.
    pub merged: Vec<((u32, u32), (u32, u32))>,
    pub struck: HashSet<(usize, usize)>,
    /// What stands round the number that a cell shows.
    pub round: HashMap<(usize, usize), Dress>,
}

/// What a text shows round a figure.
fn round_in(text: &str) -> Dress {
    let is_figure = |c: char| c.is_ascii_digit();
    let (Some(first), Some(last)) = (text.find(is_figure), text.rfind(is_figure)) else { return Dress::default() };
    let (before, rest) = text.split_at_checked(first).unwrap_or_default();
    let (figure, after) = rest.split_at_checked(last + 1 - first).unwrap_or_default();
    let is_one = figure.chars().all(|c| is_figure(c) || matches!(c, '.' | ',' | ' ' | '\u{a0}' | '\u{202f}' | '/'));
    match (is_one && !after.contains('%'), says(before) || says(after)) {
        (false, _) => Dress { unsure: Some(Unsure::ShownOtherwise), round: None },
        (true, true) => {
            let kept = |part: &str| if says(part) { part.to_owned() } else { String::new() };
            Dress { unsure: None, round: Some((kept(before), kept(after))) }
        }
        (true, false) => Dress::default(),
    }
}

/// The sheets of an ods file, by their names; what could be told apart of it.
pub(super) fn of_ods(content: &[u8]) -> BTreeMap<String, Shown> {
    let mut sheets = BTreeMap::new();
    let _ = walk_ods(content, &mut sheets);
    sheets
}

fn walk_ods(content: &[u8], sheets: &mut BTreeMap<String, Shown>) -> Option<()> {
    let mut struck_styles: HashSet<Vec<u8>> = HashSet::new();
    let (mut style, mut sheet) = (Vec::new(), None::<(String, Shown)>);
    let (mut row, mut rows, mut column, mut cells) = (0_usize, 1_usize, 0_usize, 1_usize);
    let mut number = None::<String>;
    let mut rest = content;
    while let Some(at) = rest.iter().position(|byte| *byte == b'<') {
        let (between, markup) = rest.split_at(at);
        if let Some(number) = &mut number {
            number.push_str(&unescaped(&String::from_utf8_lossy(between)));
        }
        let (tag, after) = markup.split_at_checked(end_of_markup(markup)?)?;
        rest = after;
        let closed = tag.ends_with(b"/>");
        let said = |key: &[u8]| -> Option<Vec<u8>> {
            attributes(tag)?.iter().find(|(name, _)| *name == key).map(|(_, value)| value.to_vec())
        };
        match name_of(tag) {
            b"style:style" => style = said(b"style:name").unwrap_or_default(),
            b"style:text-properties" => {
                let is_struck = said(b"style:text-line-through-style").is_some_and(|line| line != b"none");
                struck_styles.extend(is_struck.then(|| style.clone()));
            }
            b"table:table" if sheet.is_none() => {
                let name = String::from_utf8(said(b"table:name").unwrap_or_default()).ok()?;
                sheet = (!closed).then(|| (unescaped(&name), Shown::default()));
                row = 0;
            }
            b"/table:table" => sheets.extend(sheet.take()),
            b"table:table-row" => {
                (rows, column) = (count_of(tag, b"table:number-rows-repeated")?, 0);
                row = row.saturating_add(if closed { rows } else { 0 });
            }
            b"/table:table-cell" => {
                let place = (row, column.saturating_sub(cells));
                let dress = number.take().map(|text| round_in(&text)).unwrap_or_default();
                if let Some((_, shown)) = sheet.as_mut().filter(|_| dress != Dress::default() && row < MOST_ROWS) {
                    shown.round.insert(place, dress);
                }
            }
            b"/table:table-row" => row = row.saturating_add(rows),
            b"table:table-cell" | b"table:covered-table-cell" | b"text:span" => {
                let is_span = name_of(tag) == b"text:span";
                if !is_span {
                    cells = count_of(tag, b"table:number-columns-repeated")?;
                }
                let Some((_, shown)) = &mut sheet else { continue };
                let named = if is_span { said(b"text:style-name") } else { said(b"table:style-name") };
                let from = if is_span { column.saturating_sub(cells) } else { column };
                if row < MOST_ROWS && named.is_some_and(|named| struck_styles.contains(&named)) {
                    let places = (row..row.saturating_add(rows).min(MOST_ROWS)).take(100);
                    let columns = || from..from.saturating_add(cells).min(MOST_COLUMNS);
                    shown.struck.extend(places.flat_map(|row| columns().map(move |column| (row, column))));
                }
                if is_span {
                    continue;
                }
                // A number may be shown with its unit, which the value does not hold.
                let is_number = said(b"office:value-type").is_some_and(|kind| kind == b"float");
                number = (is_number && !closed && cells == 1 && rows == 1).then(String::new);
                let deep = count_of(tag, b"table:number-rows-spanned")?;
                let first = u32::try_from(row).ok().zip(u32::try_from(column).ok());
                if let (Some((row, column)), true) = (first, deep > 1 && shown.merged.len() < MOST_ROWS) {
                    let last = row.saturating_add(u32::try_from(deep - 1).unwrap_or(u32::MAX));
                    shown.merged.push(((row, column), (last, column)));
                }
                column = column.saturating_add(cells);
            }
            _ => {}
        }
    }
    Some(())
}

/// A name as it is read.
fn unescaped(text: &str) -> String {
    let pairs = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&apos;", "'"), ("&amp;", "&")];
    pairs.iter().fold(text.to_owned(), |text, (code, letter)| text.replace(code, letter))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_format_puts_round_a_figure_is_read() {
        let words = |before: &str, after: &str| Round::Words(before.to_owned(), after.to_owned());
        for (code, expected) in [
            ("General", Round::Nothing),
            ("#,##0.######", Round::Nothing),
            ("0.00_);[Red]\\(0.00\\)", Round::Nothing),
            ("# ?/?", Round::Nothing),
            ("0\" in\"", words("", " in")),
            ("General\\ \"mm\"", words("", " mm")),
            ("0.0\\\u{b0}", words("", "\u{b0}")),
            ("\"L\"00", words("L", "")),
            ("0[$ in-409]", words("", " in")),
            ("0\" in\";-0\" in\"", words("", " in")),
            ("0\" in\";0\" left\"", Round::Unclear),
            ("0\"' \"00\"\"\"", Round::Unclear),
            ("0%", Round::Unclear),
            ("0,", Round::Unclear),
        ] {
            assert_eq!(round(code), expected, "{code}");
        }
    }

    #[test]
    fn texts_that_are_struck_in_part_are_found() {
        let item = |runs: &str| format!("<sst><si>{runs}</si></sst>");
        let run = |mark: &str, text: &str| format!("<r><rPr>{mark}</rPr><t>{text}</t></r>");
        for (runs, expected) in [
            (run("<strike/>", "40") + &run("<b/>", "42&quot;"), Some("4042")),
            (run("<strike val=\"0\"/>", "40") + &run("", "42"), None),
            (run("<strike/>", " ") + &run("", "42"), None),
            ("<t>40</t>".to_owned(), None),
        ] {
            let found = struck_texts(item(&runs).as_bytes()).unwrap();
            assert_eq!(found.into_iter().collect::<Vec<_>>(), expected.into_iter().collect::<Vec<_>>(), "{runs}");
        }
        assert_eq!(key("40 \"&quot;&#176;42"), "4042");
    }
}

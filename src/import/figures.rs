//! Figures as people write them in cells: `12 1/2"`, `3' 6"`, `305mm`, `12,5`, `15 A`; never more than the cell says.

use crate::electrical::Size;
use crate::units::{Amount, Dimension, Unit};

/// How a column's figures are written.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Writing {
    /// The unit that a cell without one has.
    pub unit: Option<Unit>,
    /// A comma stands before decimals.
    pub comma: bool,
}

/// The unit that a word or sign means; of those that people write beside the units that are read elsewhere.
pub(super) fn unit(word: &str, dimension: Dimension) -> Option<Unit> {
    let small = word.trim().trim_end_matches('.').to_lowercase();
    let known = match (small.as_str(), dimension) {
        ("\"" | "''" | "″" | "”" | "“" | "in" | "inch" | "inches" | "ins", Dimension::Length) => "in",
        ("'" | "′" | "’" | "ft" | "foot" | "feet", Dimension::Length) => "ft",
        ("mm" | "millimetre" | "millimeter" | "millimetres" | "millimeters", Dimension::Length) => "mm",
        ("m" | "metre" | "meter" | "metres" | "meters" | "mtr", Dimension::Length) => "m",
        ("cm", Dimension::Length) => "cm",
        ("°" | "deg" | "degree" | "degrees" | "º", Dimension::Angle) => "deg",
        ("a" | "amp" | "amps" | "ampere" | "amperes", Dimension::Current) => "A",
        ("ma" | "milliamp" | "milliamps", Dimension::Current) => "mA",
        ("°c" | "degc" | "deg c" | "c" | "ºc", Dimension::Temperature) => "degC",
        ("°f" | "degf" | "deg f" | "f" | "ºf", Dimension::Temperature) => "degF",
        _ => word.trim(),
    };
    Unit::parse(known).filter(|unit| unit.dimension() == dimension)
}

/// A number as written; none where it may be two numbers.
pub(super) fn number(text: &str, comma: bool) -> Result<f64, String> {
    // A blank within a number may part thousands, or two numbers.
    let text = text.trim().replace('\u{2212}', "-");
    let (mark, other) = if comma { (',', '.') } else { ('.', ',') };
    let not = || format!("`{text}` is not a number");
    let unsigned = text.trim_start_matches(['-', '+']);
    if unsigned.is_empty() || !unsigned.chars().all(|c| c.is_ascii_digit() || c == mark || c == other) {
        return Err(not());
    }
    if unsigned.contains(other) {
        // Thousands, or the decimals of somebody else.
        return Err(format!("`{text}` may be thousands or decimals: the sheet writes decimals with `{mark}`"));
    }
    let plain = text.replace(mark, ".");
    plain.parse::<f64>().ok().filter(|number| number.is_finite()).ok_or_else(not)
}

/// A length with halves and quarters of an inch: `12 1/2`, `12-1/2`, `3/8"`. `40/42` is two figures, and so may `30/32` and
/// a bare `7/8` be: the part below is one of a rule's, that above is odd and smaller, and a whole number stands before it or
/// a unit behind it.
fn with_fraction(text: &str, comma: bool, unit: Unit, has_unit: bool) -> Result<f64, String> {
    let Some((before, below)) = text.split_once('/') else { return number(text, comma) };
    let not = || format!("`{}` is not a number, or two of them", text.trim());
    let (whole, above, has_whole) = match before.trim().rsplit_once([' ', '-']) {
        Some((whole, above)) if !whole.trim().is_empty() => (number(whole, comma)?, above, true),
        Some((_, above)) if before.trim().starts_with('-') => return Err(format!("{}: minus {above}?", not())),
        _ => (0.0, before, false),
    };
    let (above, below) = (number(above, comma)?, number(below, comma)?);
    let is_length = unit.dimension() == Dimension::Length && matches!(unit.symbol(), "in" | "ft");
    let of_a_rule = [2.0, 4.0, 8.0, 16.0, 32.0, 64.0].contains(&below);
    let fits = is_length
        && of_a_rule
        && above % 2.0 == 1.0
        && above < below
        && (has_whole || has_unit)
        && whole.fract() == 0.0;
    let sign = if before.trim().starts_with('-') { -1.0 } else { 1.0 };
    if fits { Ok(whole + sign * above / below) } else { Err(not()) }
}

/// Halves, quarters and eighths that are one sign, and the stroke of a fraction, as `with_fraction` reads them; none where
/// none stands there. One sign cannot be two figures: `½` alone is `0 1/2`.
fn spelt_out(text: &str) -> Option<String> {
    const SIGNS: [(char, &str); 8] = [
        ('\u{2044}', "/"),
        ('½', "1/2"),
        ('¼', "1/4"),
        ('¾', "3/4"),
        ('⅛', "1/8"),
        ('⅜', "3/8"),
        ('⅝', "5/8"),
        ('⅞', "7/8"),
    ];
    let mut spelt = String::new();
    for c in text.chars() {
        match SIGNS.iter().find(|(sign, _)| *sign == c) {
            Some((_, "/")) => spelt.push('/'),
            Some((_, fraction)) => {
                let stands_behind = spelt.trim_end().ends_with(|c: char| c.is_ascii_digit());
                spelt.push_str(if stands_behind { " " } else { "0 " });
                spelt.push_str(fraction);
            }
            None => spelt.push(c),
        }
    }
    (spelt != text).then_some(spelt)
}

/// A cell as an amount of this dimension.
///
/// # Errors
/// Says what is doubtful about it.
pub(super) fn amount(text: &str, dimension: Dimension, writing: Writing) -> Result<Amount, String> {
    if let Some(spelt) = spelt_out(text).filter(|_| dimension == Dimension::Length) {
        return amount(&spelt, dimension, writing);
    }
    let text = text.trim();
    if text.starts_with(['~', '≈', '?']) || text.ends_with('?') || text.to_lowercase().starts_with("approx") {
        return Err(format!("`{text}` is not a sure figure"));
    }
    let is_digit = |c: char| c.is_ascii_digit() || matches!(c, ',' | '.' | '/' | ' ' | '-' | '+' | '\u{2212}');
    let end = text.find(|c| !is_digit(c)).unwrap_or(text.len());
    let (figure, rest) = text.split_at_checked(end).unwrap_or((text, ""));
    let rest = rest.trim();
    if figure.trim().is_empty() {
        return Err(format!("`{text}` is not a figure"));
    }
    let (is_foot, after) = match rest.chars().next() {
        Some(c @ ('\'' | '′' | '’')) if dimension == Dimension::Length && !rest.starts_with("''") => {
            (true, rest.get(c.len_utf8()..).unwrap_or_default().trim())
        }
        _ if dimension == Dimension::Length => {
            let end = rest.find(|c: char| !(c.is_alphabetic() || c == '.')).unwrap_or(rest.len());
            let (word, after) = rest.split_at_checked(end).unwrap_or((rest, ""));
            (unit(word, dimension).is_some_and(|unit| unit.symbol() == "ft"), after.trim())
        }
        _ => (false, ""),
    };
    // `8'-10`: the stroke parts feet from inches.
    let after = after.strip_prefix(['-', '\u{2013}']).map_or(after, str::trim);
    if is_foot && after.starts_with(|c: char| c.is_ascii_digit()) {
        // Feet and inches.
        let inches = amount(after, dimension, Writing { unit: unit("in", dimension), ..writing })?;
        let feet = number(figure, writing.comma)?;
        let sign = if figure.trim().starts_with('-') { -1.0 } else { 1.0 };
        // `1'250` may be thousands where lengths are in millimetres.
        let is_bare = after.ends_with(|c: char| c.is_ascii_digit());
        let is_metric = writing.unit.is_some_and(|unit| !matches!(unit.symbol(), "in" | "ft"));
        let fits = inches.unit().symbol() == "in" && (0.0..12.0).contains(&inches.number()) && feet.fract() == 0.0;
        if !fits || (is_bare && is_metric) {
            return Err(format!("`{text}` is not feet and inches"));
        }
        return Amount::new(feet * 12.0 + sign * inches.number(), inches.unit()).map_err(|error| error.to_string());
    }
    let own = if rest.is_empty() { None } else { Some(unit(rest, dimension)) };
    let unit = match (own, writing.unit) {
        (Some(Some(own)), _) => own,
        (Some(None), _) => return Err(format!("`{text}`: `{rest}` is no unit of {}", dimension.name())),
        (None, Some(unit)) => unit,
        (None, None) => return Err(format!("`{text}` has no unit, nor has the head of its column")),
    };
    let figure = with_fraction(figure, writing.comma, unit, own.is_some())?;
    Amount::new(figure, unit).map_err(|error| error.to_string())
}

/// What the bare number of a wire's size counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Gauge {
    Awg,
    Sae,
    Square,
}

/// The words for [`Gauge`] in a mapping.
pub(super) const GAUGES: &[(&str, Gauge)] = &[("AWG", Gauge::Awg), ("SAE", Gauge::Sae), ("mm2", Gauge::Square)];

/// What a head or a cell says of how sizes of wire are counted.
pub(super) fn gauge(word: &str) -> Option<Gauge> {
    match word.trim().trim_end_matches('.').to_lowercase().as_str() {
        "awg" => Some(Gauge::Awg),
        "sae" => Some(Gauge::Sae),
        "mm2" | "mm²" | "mm^2" | "sq mm" | "sqmm" | "qmm" => Some(Gauge::Square),
        _ => None,
    }
}

/// A size of wire as a package writes it.
///
/// # Errors
/// Says what is doubtful about it: a bare `14 ga` may be AWG or the smaller SAE size.
pub(super) fn wire_size(text: &str, usual: Option<Gauge>, comma: bool) -> Result<String, String> {
    let text = text.trim();
    let bare = text.trim_start_matches(['#', ' ']);
    let end = bare.find(|c: char| !(c.is_ascii_digit() || matches!(c, '/' | '.' | ','))).unwrap_or(bare.len());
    let (figure, rest) = bare.split_at_checked(end).unwrap_or((bare, ""));
    let rest = rest.trim();
    let usual = match (gauge(rest), rest.to_lowercase().as_str()) {
        (Some(own), _) => Some(own),
        (None, "" | "ga" | "ga." | "gauge") => usual,
        (None, _) => return Err(format!("`{text}` is not a size of wire")),
    };
    let size = match usual {
        Some(Gauge::Awg) => format!("{figure} AWG"),
        Some(Gauge::Sae) => format!("{figure} SAE"),
        Some(Gauge::Square) => format!("{} mm2", number(figure, comma)?),
        None => return Err(format!("`{text}`: AWG, or the SAE size of that number, which holds less copper, or mm2?")),
    };
    Size::parse(&size).map(|_| size).ok_or_else(|| format!("`{text}` is not a size of wire that is made"))
}

/// A whole number of things, 1 to 99.
pub(super) fn count(text: &str) -> Result<usize, String> {
    let digits = text.trim().trim_end_matches(['x', 'X']).trim();
    let count = digits.parse::<usize>().ok().filter(|count| (1..=99).contains(count));
    count.ok_or_else(|| format!("`{text}` is not a number of lamps from 1 to 99"))
}

/// Whether a point or comma stands between two digits.
pub(super) fn has_mark(text: &str, mark: char) -> bool {
    let letters: Vec<char> = text.chars().collect();
    let is_digit = |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(char::is_ascii_digit);
    letters.iter().enumerate().any(|(at, c)| *c == mark && is_digit(at.checked_sub(1)) && is_digit(Some(at + 1)))
}

/// Whether a figure has a mark that is sure to stand before decimals: not just three digits follow it.
pub(super) fn has_decimals(text: &str) -> bool {
    (has_mark(text, '.') || has_mark(text, ',')) && !may_be_thousands(text)
}

/// Whether so many times the amount may stand in a schedule of a vehicle: no vehicle is 30 m long, none has a fuse of
/// 1000 A.
pub(super) fn is_plausible(amount: Amount, times: f64) -> bool {
    let dimension = amount.unit().dimension();
    let most = match dimension {
        Dimension::Length => 30.0,
        Dimension::Angle => 360.0,
        _ => 1000.0,
    };
    amount.in_dimension(dimension).is_ok_and(|base| (base * times).abs() < most)
}

/// Whether a figure has one point or comma, before just three digits.
pub(super) fn may_be_thousands(text: &str) -> bool {
    let digits = |part: &str| part.chars().take_while(char::is_ascii_digit).count();
    let part = text.find(|c: char| c.is_ascii_digit()).and_then(|at| text.get(at..)).unwrap_or_default();
    let whole = digits(part);
    let after = part.get(whole..).and_then(|rest| rest.strip_prefix(['.', ',']));
    !part.starts_with('0') && (1..=3).contains(&whole) && after.is_some_and(|after| digits(after) == 3)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(text: &str, unit_word: &str, comma: bool) -> Result<String, String> {
        let writing = Writing { unit: unit(unit_word, Dimension::Length), comma };
        amount(text, Dimension::Length, writing).map(|amount| amount.to_string())
    }

    #[test]
    fn lengths_are_read_as_people_write_them() {
        for (text, expected) in [
            ("12\"", "12 in"),
            ("12 1/2\"", "12.5 in"),
            ("12-1/2″", "12.5 in"),
            ("-44\"", "-44 in"),
            ("-44 1/4 in", "-44.25 in"),
            ("3' 6\"", "42 in"),
            ("3'6 1/2\"", "42.5 in"),
            ("9 ft", "9 ft"),
            ("9'", "9 ft"),
            ("10 ft 6 in", "126 in"),
            ("-10 ft. 6 1/2 in", "-126.5 in"),
            ("10feet 6inches", "126 in"),
            ("8'-10\"", "106 in"),
            ("8' - 10 1/2\"", "106.5 in"),
            ("8'10\"", "106 in"),
            ("8 ft - 10 in", "106 in"),
            ("15/16\"", "0.9375 in"),
            ("305mm", "305 mm"),
            ("3/8\"", "0.375 in"),
            ("1.016 m", "1.016 m"),
            ("49", "49 mm"),
        ] {
            assert_eq!(length(text, "mm", false).as_deref(), Ok(expected), "{text}");
        }
        assert_eq!(length("1016,5", "mm", true).as_deref(), Ok("1016.5 mm"));
        for doubtful in [
            "1,016",
            "12 1/2 3\"",
            "~40\"",
            "40?",
            "4 furlong",
            "TBD",
            "",
            "-",
            "12/5\"",
            "3' 14\"",
            "40-42",
            "1 016",
            "10 ft 14 in",
            "10 ft 6 mm",
            "10 in 6 in",
            "40/42\"",
            "30/32\"",
            "3/10\"",
            "7/8",
            "12 1/2",
            "12 1/2 mm",
            "1'006",
            "10 ft in",
        ] {
            assert!(length(doubtful, "mm", false).is_err(), "{doubtful}");
        }
        assert!(length("1.016", "mm", true).is_err());
        assert!(length("12", "", false).is_err(), "no unit anywhere");
    }

    #[test]
    fn sizes_of_wire_are_never_guessed() {
        assert_eq!(wire_size("14 AWG", None, false).as_deref(), Ok("14 AWG"));
        assert_eq!(wire_size("#14", Some(Gauge::Awg), false).as_deref(), Ok("14 AWG"));
        assert_eq!(wire_size("2/0", Some(Gauge::Sae), false).as_deref(), Ok("2/0 SAE"));
        assert_eq!(wire_size("2,5 mm²", None, true).as_deref(), Ok("2.5 mm2"));
        for doubtful in ["14 ga", "14", "15 SAE", "heavy", "99 AWG"] {
            assert!(wire_size(doubtful, None, false).is_err(), "{doubtful}");
        }
    }
}

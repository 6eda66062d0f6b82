//! Where a lamp is and where it looks: figures along and across the vehicle, and what the words of a place say without
//! leaving a choice.

use super::differ::degrees;
use super::hints::sided;
use super::lamps::{ACROSS, OfRow};
use super::reading::Cell;
use super::record::{DOUBTFUL, Imported, Record};
use super::words::{Side, facing, slug};
use crate::units::Amount;

/// A cell without the side that stands beside its figure, and that side.
fn parted<'a>(cell: &Cell<'a>) -> (Cell<'a>, Option<&'static str>) {
    match sided(&cell.text) {
        Some((figure, side)) => (Cell { text: figure.to_owned(), ..cell.clone() }, Some(side)),
        None => (cell.clone(), None),
    }
}

impl OfRow<'_, '_> {
    pub(super) fn groups(&self, record: &mut Record, imported: &mut Imported) {
        if let Some(cell) = self.cell("groups", record, imported) {
            let names: Vec<String> =
                cell.text.split([' ', ';', ',']).map(slug).filter(|name| !name.is_empty()).collect();
            return record.set("groups", names.join(" "));
        }
        if let Some(cell) = &self.no_location
            && let Some(why) = cell.why_nothing()
        {
            // The words of a place are where the groups come from.
            return imported.doubt(record, &cell.place, "groups", why);
        }
        let Some(location) = &self.location else { return };
        // Left and right are of one group.
        let words = slug(&location.text);
        let sides =
            ["left", "right", "lh", "rh", "ds", "ps", "driver", "passenger", "both", "side", "sides", "each", "l", "r"];
        let words: Vec<&str> = words.split('-').filter(|word| !sides.contains(word)).collect();
        if words.is_empty() {
            return;
        }
        // What stands on a side towards the front does not light with the front.
        let is_end = self.spot.lateral && words.iter().any(|word| matches!(*word, "front" | "rear"));
        let name = format!("{}{}", if is_end { "side-" } else { "" }, words.join("-"));
        imported.derive(record, &location.place, "groups", &name, &format!("the place `{}`", location.text));
    }

    /// Along and across the vehicle; of a pair the side that the row speaks of, where a figure says it.
    pub(super) fn place(&self, record: &mut Record, imported: &mut Imported, is_pair: bool) -> Option<Side> {
        let mut of_pair = None;
        let row = self.reading.row_place(self.row);
        let mut along = None;
        for name in ["behind-front", "ahead"] {
            if let Some(cell) = self.cell(name, record, imported) {
                match self.reading.amount(&cell) {
                    Ok(amount) => record.set(name, amount.to_string()),
                    Err(why) => imported.doubt(record, &cell.place, name, why),
                }
                along = along.or(Some(name));
            }
        }
        let along_known = record.get("behind-front").is_some() || record.get("ahead").is_some();
        let is_known = self.is_known(&record.id);
        let onto_knows = |column: &str| is_known && !self.reading.has(column);
        if !(along_known || onto_knows("behind-front") && onto_knows("ahead")) {
            imported.doubt(record, &row, "behind-front", "not said how far behind the front it stands");
        }
        let side = if is_pair { Some(Side::Left) } else { self.spot.side() };
        let (to_right, to_left) = (self.cell("right", record, imported), self.cell("left", record, imported));
        if record.cells.remove("left").is_some() && to_right.is_none() {
            // The cell says nothing, and that was told of it.
            record.set("right", DOUBTFUL);
        }
        if let (Some(one), Some(other)) = (&to_right, &to_left) {
            let why = format!("`{}` right and `{}` left of the middle", one.text, other.text);
            imported.doubt(record, &one.place, "right", why);
        } else if let Some((cell, turned)) = to_right
            .map(|cell| (cell, 1.0))
            .or(to_left.map(|cell| (cell, -1.0)).filter(|_| record.get("right") != Some(DOUBTFUL)))
        {
            let (figure, beside) = parted(&cell);
            let turned = match beside {
                Some("left") => -1.0,
                Some("right") => 1.0,
                _ => turned,
            };
            let amount = self.reading.amount(&figure).and_then(|amount| {
                if beside.is_some() && amount.number() < 0.0 {
                    return Err(format!("`{}`: a negative figure, and a side", cell.text));
                }
                // No minus before a zero.
                Amount::new(amount.number() * turned + 0.0, amount.unit()).map_err(|error| error.to_string())
            });
            of_pair = match &amount {
                Ok(amount) if amount.number() > 0.0 => Some(Side::Right),
                Ok(amount) if amount.number() < 0.0 => Some(Side::Left),
                _ => None,
            };
            match amount {
                Ok(amount) if is_pair && amount.number() > 0.0 => {
                    let why = format!("`{}`, of the pair the left one", cell.text);
                    let left = format!("-{amount}");
                    imported.derive(record, &cell.place, "right", &left, &why);
                }
                Ok(amount) => {
                    let says = if amount.number() < 0.0 { Side::Left } else { Side::Right };
                    match side {
                        Some(words) if words != says && amount.number() != 0.0 => {
                            let why = format!(
                                "`{}` is on the {} side, the words say {}: is it the distance from the middle?",
                                cell.text,
                                says.word(),
                                words.word()
                            );
                            imported.doubt(record, &cell.place, "right", why);
                        }
                        _ => record.set("right", amount.to_string()),
                    }
                }
                Err(why) => imported.doubt(record, &cell.place, "right", why),
            }
        } else if let Some(cell) = self.cell("from-middle", record, imported) {
            record.cells.remove("from-middle");
            let (figure, beside) = parted(&cell);
            let differs = beside.is_some_and(|beside| side.is_some_and(|side| side.word() != beside) && !is_pair);
            match (self.reading.amount(&figure), side) {
                (Err(why), _) => imported.doubt(record, &cell.place, "right", why),
                (Ok(amount), _) if amount.number() == 0.0 => record.set("right", amount.to_string()),
                (Ok(amount), _) if amount.number() < 0.0 => {
                    let why = format!("`{}` is negative: from the middle to which side?", cell.text);
                    imported.doubt(record, &cell.place, "right", why);
                }
                (Ok(_), Some(side)) if differs => {
                    let why = format!("`{}`, and the words say {}", cell.text, side.word());
                    imported.doubt(record, &cell.place, "right", why);
                }
                (Ok(amount), Some(side)) => {
                    let right = format!("{}{amount}", if side == Side::Left { "-" } else { "" });
                    match &self.location {
                        Some(location) if self.by_words && !is_pair && beside.is_none() => {
                            let why = format!("`{}` and the place `{}`", cell.text, location.text);
                            imported.derive(record, &location.place, "right", &right, &why);
                        }
                        _ => record.set("right", right),
                    }
                }
                (Ok(amount), None) => {
                    let why = match &self.spot.unknown_side {
                        Some(word) => {
                            format!("{amount} to which side? `{word}` changes with the country: say it in [sides]")
                        }
                        None => format!("{amount} to which side?"),
                    };
                    imported.doubt(record, &cell.place, "right", why);
                }
            }
        } else if record.get("from-middle").is_some() {
            // The cell says nothing, and that was told of it.
            record.cells.remove("from-middle");
            record.set("right", DOUBTFUL);
        } else if record.get("right").is_none() && !ACROSS.iter().all(|name| onto_knows(name)) {
            if self.spot.is_middle() {
                let words = self.location.as_ref().map_or("words", |cell| cell.text.as_str());
                imported.derive(record, &row, "right", "0 in", &format!("the place `{words}`"));
            } else {
                imported.doubt(record, &row, "right", "not said how far right or left of the middle it stands");
            }
        }
        of_pair
    }

    /// Of a pair the left lamp is written down and the right one is its mirror image: what the row says of the right one
    /// is turned, and a direction to the right of which it does not say whose it is is asked for.
    pub(super) fn turn(&self, record: &mut Record, imported: &mut Imported, of: Option<Side>) {
        let place = self.reading.row_place(self.row);
        let is_inward = |degrees: f64| degrees > 0.0 && degrees < 180.0;
        if let Some(degrees) = degrees(record).filter(|degrees| degrees % 180.0 != 0.0) {
            let said = record.get("faces").unwrap_or_default().to_owned();
            match (of, is_inward(degrees)) {
                (Some(Side::Right), true) => {
                    let turned = if said == "right" { "left".to_owned() } else { format!("{} deg", 360.0 - degrees) };
                    let why = format!("`{said}` of the right one; of the pair the left one");
                    imported.derive(record, &place, "faces", &turned, &why);
                }
                (Some(Side::Left) | None, false) => {}
                _ => {
                    let why = format!("`{said}`: of which of the two? The left one would look across the vehicle");
                    imported.doubt(record, &place, "faces", why);
                }
            }
        }
        let Some(roll) = record.get("roll").map(str::to_owned).filter(|roll| roll != DOUBTFUL) else { return };
        match (of, roll.strip_prefix('-')) {
            _ if Amount::parse(&roll).is_ok_and(|roll| roll.number() == 0.0) => {}
            (Some(Side::Left), _) => {}
            (Some(Side::Right), less) => {
                let turned = less.map_or_else(|| format!("-{roll}"), str::to_owned);
                let why = format!("`{roll}` of the right one; of the pair the left one");
                imported.derive(record, &place, "roll", &turned, &why);
            }
            (None, _) => imported.doubt(record, &place, "roll", format!("`{roll}`: of which of the two?")),
        }
    }

    pub(super) fn faces(&self, record: &mut Record, imported: &mut Imported) {
        let country = self.reading.mapping.country;
        if let Some(cell) = self.cell("faces", record, imported) {
            if cell.text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.')) {
                match self.reading.amount(&cell) {
                    Ok(amount) => record.set("faces", amount.to_string()),
                    Err(why) => imported.doubt(record, &cell.place, "faces", why),
                }
                return;
            }
            match facing(&cell.text, country) {
                Ok(word) => record.set("faces", word),
                Err(why) => imported.doubt(record, &cell.place, "faces", why),
            }
            return;
        }
        if record.get("faces").is_some() {
            return;
        }
        match (&self.location, self.spot.faces()) {
            (Some(location), Some(word)) => {
                imported.derive(record, &location.place, "faces", word, &format!("the place `{}`", location.text));
            }
            (Some(location), None) if !self.is_known(&record.id) => {
                let why = match &self.spot.unknown_side {
                    Some(word) => {
                        format!("the place `{}`: `{word}` changes with the country: say it in [sides]", location.text)
                    }
                    None => format!("the place `{}` does not say where it looks", location.text),
                };
                imported.doubt(record, &location.place, "faces", why);
            }
            _ => {}
        }
    }
}

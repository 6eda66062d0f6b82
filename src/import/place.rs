//! Where a lamp is and where it looks: figures along and across the vehicle, and what the words of a place say without
//! leaving a choice.

use super::lamps::{ACROSS, OfRow};
use super::record::{DOUBTFUL, Imported, Record, why_nothing};
use super::words::{Side, facing, slug};
use crate::units::Amount;

impl OfRow<'_, '_> {
    pub(super) fn groups(&self, record: &mut Record, imported: &mut Imported) {
        if let Some(cell) = self.cell("groups", record, imported) {
            let names: Vec<String> =
                cell.text.split([' ', ';', ',']).map(slug).filter(|name| !name.is_empty()).collect();
            return record.set("groups", names.join(" "));
        }
        if let Some(cell) = &self.no_location
            && let Some(why) = why_nothing(&cell.text)
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
        if !words.is_empty() {
            imported.derive(
                record,
                &location.place,
                "groups",
                &words.join("-"),
                &format!("the place `{}`", location.text),
            );
        }
    }

    /// Along and across the vehicle.
    pub(super) fn place(&self, record: &mut Record, imported: &mut Imported, is_pair: bool) {
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
        let is_known = self.onto.is_some_and(|onto| onto.lamp(&record.id).is_some());
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
            let amount = self.reading.amount(&cell);
            let amount = amount.and_then(|amount| {
                // No minus before a zero.
                Amount::new(amount.number() * turned + 0.0, amount.unit()).map_err(|error| error.to_string())
            });
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
            match (self.reading.amount(&cell), side) {
                (Err(why), _) => imported.doubt(record, &cell.place, "right", why),
                (Ok(amount), _) if amount.number() == 0.0 => record.set("right", amount.to_string()),
                (Ok(amount), _) if amount.number() < 0.0 => {
                    let why = format!("`{}` is negative: from the middle to which side?", cell.text);
                    imported.doubt(record, &cell.place, "right", why);
                }
                (Ok(amount), Some(Side::Left)) => record.set("right", format!("-{amount}")),
                (Ok(amount), Some(Side::Right)) => record.set("right", amount.to_string()),
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
            (Some(location), None) if self.onto.and_then(|onto| onto.lamp(&record.id)).is_none() => {
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

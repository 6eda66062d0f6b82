//! Rows to lamps: each cell as it stands where it is sure, `?` and a doubt where it is not, and what words of a place
//! say without leaving a choice.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::against::count_again;
use super::book::Row;
use super::figures::count;
use super::hints::{Hint, gone, leans, names_use, other_use, sided};
use super::onto::Onto;
use super::reading::{Cell, Reading};
use super::record::{Doubt, Imported, Record, says_nothing};
use super::words::{Spot, colours, level, role, slug};
use crate::load::reader::is_name;

/// Figures that are read as they stand.
const FIGURES: [&str; 4] = ["height", "tilt", "wedge", "roll"];
/// Names that are kept as they stand.
const NAMES: [&str; 4] = ["circuit", "output", "clock", "level"];

/// Columns that say how far from the middle it is.
pub(super) const ACROSS: [&str; 3] = ["right", "left", "from-middle"];

/// What a package cannot do without.
const NEEDED: [&str; 3] = ["model", "height", "faces"];

/// The ids that lamps have, and for each that stood twice the number that comes next.
struct Taken {
    ids: HashSet<String>,
    next: HashMap<String, usize>,
}

impl Taken {
    /// Takes the id, or with a number behind it the first that is free.
    fn free(&mut self, id: &str) -> String {
        if self.ids.insert(id.to_owned()) {
            return id.to_owned();
        }
        let next = self.next.entry(id.to_owned()).or_insert(2);
        loop {
            let numbered = format!("{id}-{next}");
            *next += 1;
            if self.ids.insert(numbered.clone()) {
                return numbered;
            }
        }
    }
}

/// One row with what its words say.
pub(super) struct OfRow<'r, 'a> {
    pub reading: &'r Reading<'a>,
    pub row: &'r Row,
    pub spot: Spot,
    /// The side that it names stands in the words of the place alone.
    pub by_words: bool,
    pub location: Option<Cell<'a>>,
    /// The cell of the place, where it says none.
    pub no_location: Option<Cell<'a>>,
    pub onto: Option<&'r Onto>,
}

/// Adds the lamps of a sheet.
pub(super) fn read(reading: &Reading<'_>, onto: Option<&Onto>, imported: &mut Imported) {
    let mut taken = Taken { ids: imported.lamps.iter().map(|lamp| lamp.id.clone()).collect(), next: HashMap::new() };
    let rows = reading.rows(imported);
    let mut made = Vec::new();
    for row in rows {
        // The place may be a cell that reads as something else for one lamp only.
        let id = reading.cell(row, "id", "").map(|cell| cell.text).filter(|id| !says_nothing(id)).unwrap_or_default();
        let (location, no_location) = match reading.cell(row, "location", &id) {
            Some(cell) if cell.why_nothing().is_some() => (None, Some(cell)),
            cell => (cell, None),
        };
        let side = reading.cell(row, "side", &id).map(|cell| cell.text).unwrap_or_default();
        let words = location.as_ref().map(|cell| cell.text.as_str()).unwrap_or_default();
        let mut spot = Spot::read(words, &side, reading.mapping.country);
        let by_words = side.is_empty() && spot.side().is_some();
        // `15 L`: the side stands beside the figure. Where it is said elsewhere too, both have to agree.
        let across = ACROSS.iter().find_map(|name| reading.cell(row, name, &id));
        let beside = across.as_ref().and_then(|cell| sided(&cell.text)).map(|(_, side)| side);
        match (beside, spot.side(), spot.both) {
            (Some("left"), None, false) => spot.left = true,
            (Some("right"), None, false) => spot.right = true,
            (Some("both"), None, _) => spot.both = true,
            _ => {}
        }
        let lamps = OfRow { reading, row, spot, by_words, location, no_location, onto }.read(&id, &mut taken, imported);
        made.push((row.number, lamps));
    }
    count_again(reading, &made, imported);
    let missing = ["model", "height"].into_iter().filter(|name| !reading.has(name) && onto.is_none());
    for name in missing {
        imported.notes.push(format!("{}: no column says `{name}`: it is `?` for every lamp", reading.sheet.name));
    }
    if !reading.has("role") && onto.is_none() {
        let note = "no column says what a lamp is there for: without a word of another use it is a warning lamp";
        imported.notes.push(format!("{}: {note}", reading.sheet.name));
    }
}

impl OfRow<'_, '_> {
    /// Adds the lamps of the row; how many stand on the vehicle.
    fn read(&self, id: &str, taken: &mut Taken, imported: &mut Imported) -> usize {
        let place = self.reading.row_place(self.row);
        let quantity = self.reading.cell(self.row, "quantity", id);
        let counted = |cell: &Cell<'_>| cell.why_nothing().map_or_else(|| count(&cell.text), Err);
        let (many, unsure) = match quantity.as_ref().map(counted) {
            None => (1, None),
            Some(Ok(many)) => (many, None),
            Some(Err(why)) => (1, Some(why)),
        };
        let stem = match (slug(id), &self.location) {
            _ if is_name(id) => id.to_owned(),
            (name, _) if !name.is_empty() => name,
            (_, Some(location)) if !slug(&location.text).is_empty() => slug(&location.text),
            _ => format!("row-{}", self.row.number),
        };
        let is_pair = many == 2 && self.spot.both;
        let ids: Vec<String> = match (many, is_pair) {
            (1, _) => vec![stem.clone()],
            (_, true) => vec![format!("{}-left", stem.trim_end_matches("-left").trim_end_matches("-right"))],
            (many, false) => (1..=many).map(|at| format!("{stem}-{at}")).collect(),
        };
        let mut stand = 0;
        for one in ids {
            let mut record = Record { id: taken.free(&one), place: place.clone(), ..Record::default() };
            if id.is_empty() {
                let known = record.id.clone();
                imported.derive(&mut record, &place, "id", &known, "the place, since no cell names the lamp");
            } else if record.id != *id && many == 1 {
                let why =
                    format!("`{id}`, which is no name or stands twice; names have letters, digits, `.`, `_`, `-`");
                let known = record.id.clone();
                imported.derive(&mut record, &place, "id", &known, &why);
            }
            record.cells.remove("id");
            if is_pair {
                imported.derive(&mut record, &place, "mirror", "yes", "two of them, and words that name both sides");
            }
            self.fill(&mut record, imported, is_pair);
            if quantity.is_none() && self.reading.has("quantity") {
                let why = "`1`, since no number of lamps stands there".to_owned();
                imported.derived.push(Doubt { place: place.clone(), id: record.id.clone(), what: "quantity", why });
            }
            self.compare_beside(&mut record, imported);
            self.tell_moved(&record, imported);
            if many > 1 && !is_pair {
                for what in ["behind-front", "right"] {
                    imported.doubt(&mut record, &place, what, format!("one place is said for {many} lamps"));
                }
            }
            if many == 1 && self.spot.both && record.get("mirror") != Some("yes") && !self.is_known(&record.id) {
                let why = "words of both sides, and one lamp: is it one of two?";
                imported.doubt(&mut record, &place, "right", why);
            }
            if let Some(why) = &unsure {
                let at = quantity.as_ref().map_or(place.as_str(), |cell| cell.place.as_str());
                imported.doubt(&mut record, at, "right", format!("{why}: so how many stand where?"));
            }
            stand += if many == 1 && record.get("mirror") == Some("yes") { 2 } else { 0 };
            imported.lamps.push(record);
        }
        stand.max(many)
    }

    /// A cell of this row that is not empty and says something.
    pub fn cell(&self, name: &'static str, record: &mut Record, imported: &mut Imported) -> Option<Cell<'_>> {
        let cell = self.reading.cell(self.row, name, &record.id)?;
        if let Some(why) = cell.why_nothing() {
            imported.doubt(record, &cell.place, name, why);
            return None;
        }
        Some(cell)
    }

    fn fill(&self, record: &mut Record, imported: &mut Imported, is_pair: bool) {
        let place = self.reading.row_place(self.row);
        for name in ["model", "serial"] {
            if let Some(cell) = self.cell(name, record, imported) {
                record.set(name, cell.text);
            }
        }
        for name in NAMES {
            if let Some(cell) = self.cell(name, record, imported) {
                self.name(name, &cell, record, imported);
            }
        }
        for name in FIGURES {
            if let Some(cell) = self.cell(name, record, imported) {
                match self.reading.amount(&cell) {
                    Ok(amount) => record.set(name, amount.to_string()),
                    Err(why) => imported.doubt(record, &cell.place, name, why),
                }
            }
        }
        self.groups(record, imported);
        let of_right = self.place(record, imported, is_pair);
        self.faces(record, imported);
        if is_pair {
            self.turn(record, imported, of_right);
        }
        // A level in full words. Of the words of a place none is taken for it: an upper grille is low, and the height says it.
        if let Some(word) = record.get("level").and_then(level) {
            record.set("level", word);
        }
        self.role(record, imported);
        for name in ["mirror", "mirrored-beam"] {
            let Some(cell) = self.cell(name, record, imported) else { continue };
            match cell.text.to_lowercase().as_str() {
                "yes" | "true" | "x" | "y" | "1" => record.set(name, "yes"),
                "no" | "false" | "n" | "0" => {}
                _ => imported.doubt(record, &cell.place, name, format!("`{}`: yes or no?", cell.text)),
            }
        }
        if let Some(cell) = self.cell("colour", record, imported) {
            match colours(&cell.text) {
                Ok(known) if known.iter().all(|colour| cell.text.to_lowercase().contains(colour)) => {
                    record.set("colour", known.join(" "));
                }
                Ok(known) => {
                    imported.derive(record, &cell.place, "colour", &known.join(" "), &format!("`{}`", cell.text));
                }
                Err(why) => imported.doubt(record, &cell.place, "colour", why),
            }
        }
        for name in ["current", "pattern"] {
            if let Some(cell) = self.reading.cell(self.row, name, &record.id) {
                record.remarks.push(format!("{name}: {}", cell.text));
            }
        }
        let notes = self.reading.notes(self.row, &record.id);
        self.keep_known(record);
        self.look_through(&notes, record, imported);
        record.remarks.extend(notes);
        self.check_colour(record, imported);
        for name in NEEDED {
            if record.get(name).is_none() {
                imported.doubt(record, &place, name, "not said");
            }
        }
    }

    /// What the package says of the lamp of this id, where the sheet has no column for it.
    fn keep_known(&self, record: &mut Record) {
        let Some(known) = self.onto.and_then(|onto| onto.lamp(&record.id)) else { return };
        let is_along = |name: &str| matches!(name, "behind-front" | "ahead");
        let is_across = |name: &str| ACROSS.contains(&name);
        let has = |name: &str| match name {
            along if is_along(along) => self.reading.has("behind-front") || self.reading.has("ahead"),
            across if is_across(across) => ACROSS.iter().any(|name| self.reading.has(name)),
            // What was read from words gives way to what the package says.
            other => self.reading.has(other),
        };
        let kept: BTreeMap<&'static str, String> =
            known.cells.into_iter().filter(|(name, value)| !has(name) && !value.is_empty()).collect();
        record.cells.extend(kept);
    }

    fn name(&self, what: &'static str, cell: &Cell<'_>, record: &mut Record, imported: &mut Imported) {
        match imported.name_of(what, &cell.text) {
            Ok(name) if name == cell.text => record.set(what, name),
            Ok(name) => {
                imported.derive(record, &cell.place, what, &name, &format!("`{}`, which is no name", cell.text))
            }
            Err(why) => imported.doubt(record, &cell.place, what, why),
        }
    }

    /// Whether the package that gives the rest has this lamp.
    pub(super) fn is_known(&self, id: &str) -> bool {
        self.onto.is_some_and(|onto| onto.lamp(id).is_some())
    }

    /// Words by which a lamp may not be there, or may lean though no column says it.
    fn look_through(&self, notes: &[String], record: &mut Record, imported: &mut Imported) {
        let place = self.reading.row_place(self.row);
        let name = self.reading.cell(self.row, "id", &record.id).filter(|cell| cell.kind.unsure.is_some());
        if let Some(why) = name.and_then(|cell| cell.why_nothing()) {
            imported.doubt(record, &place, "model", format!("{why}: is the lamp there?"));
        }
        let model = self.reading.cell(self.row, "model", &record.id).map(|cell| cell.text);
        let mut asked = Vec::new();
        // A name says nothing of other things.
        let names: Vec<String> = model.into_iter().chain([record.id.clone()]).collect();
        let of_names = names.iter().map(|name| (name, gone(name).map(Hint::surely)));
        for (said, hint) in notes.iter().map(|note| (note, gone(note))).chain(of_names) {
            match hint {
                Some(Hint { word, is_sure: true }) => {
                    let why = format!("`{said}`: is the lamp there? If not, take its row out (`{word}`)");
                    return imported.doubt(record, &place, "model", why);
                }
                Some(Hint { word, .. }) => asked.push(("model", format!("`{said}`: `{word}`: is the lamp there?"))),
                None => {}
            }
        }
        for said in notes {
            let Some((what, hint)) = leans(said).filter(|(what, _)| record.get(what).is_none()) else { continue };
            let why = format!("`{said}`: by how many degrees? No cell says it");
            if hint.is_sure {
                imported.doubt(record, &place, what, why);
            } else {
                asked.push((what, format!("`{said}`: `{}`: does the lamp lean? No cell says it.", hint.word)));
            }
        }
        for (what, why) in asked {
            imported.ask(record, &place, what, &why);
        }
    }

    fn role(&self, record: &mut Record, imported: &mut Imported) {
        if let Some(cell) = self.cell("role", record, imported) {
            match role(&cell.text) {
                Ok(word) => record.set("role", word),
                Err(why) => imported.doubt(record, &cell.place, "role", why),
            }
            return;
        }
        if record.get("role").is_some() || self.is_known(&record.id) {
            return;
        }
        let words = self.location.iter().map(|cell| cell.text.clone());
        let model = self.reading.cell(self.row, "model", &record.id).map(|cell| cell.text);
        let words: Vec<String> = words.chain(model).chain([record.id.clone()]).collect();
        let place = self.reading.row_place(self.row);
        let is_it = "is it a warning lamp? write warning, scene, stop, turn, tail, reverse, arrow ...";
        let notes = self.reading.notes(self.row, &record.id);
        let of_notes: Vec<Hint> = notes.iter().filter_map(|note| names_use(note)).collect();
        let sure = of_notes.iter().find(|hint| hint.is_sure).map(|hint| hint.word.clone());
        if let Some(word) = other_use(&words.join(" ")).or(sure) {
            imported.doubt(record, &place, "role", format!("`{word}`: {is_it}"));
        } else if let Some(hint) = of_notes.first() {
            imported.ask(record, &place, "role", &format!("`{}` in a remark: {is_it}", hint.word));
        }
    }
}

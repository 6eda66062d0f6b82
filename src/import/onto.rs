//! A package that gives all but its lamps and circuits: what it says of a lamp, and its file with other lamps in it.

use std::collections::{BTreeMap, HashSet};

use super::before::{Before, circuits_of};
use super::differ::{same, twin_of};
use super::record::{DOUBTFUL, Doubt, Record};
use crate::diagnostic::{Log, Sources};
use crate::load::text::{decode, quoted};
use crate::package::{BESIDE, Beside, Head, Model, Package, PackageFile, Written, beside, load};

/// The package.
#[derive(Debug)]
pub struct Onto {
    /// Its name for messages.
    pub name: String,
    text: String,
    raw: toml::Table,
    lamps: BTreeMap<String, Record>,
    order: Vec<String>,
    /// The colours of each model.
    colours: BTreeMap<String, Vec<String>>,
    /// What its workbook shows beside, of each lamp and of each model.
    beside: (BTreeMap<String, Shown>, BTreeMap<String, Shown>),
}

/// Under the titles [`BESIDE`].
type Shown = [Beside; BESIDE.len()];

/// Reads it; it has to be without mistakes.
pub fn read_onto(file: &PackageFile, sources: &Sources, log: &Log) -> Option<Onto> {
    let (package, _) = load(file, sources, log);
    let package = package?;
    let text = decode(&file.bytes, &file.name).ok()?.replace("\r\n", "\n");
    let raw: toml::Table = text.parse().ok()?;
    let lamps: Vec<Record> = lamps_of(&package);
    let order = lamps.iter().map(|lamp| lamp.id.clone()).collect();
    let lamps = lamps.into_iter().map(|lamp| (lamp.id.clone(), lamp)).collect();
    let colours_of = |model: &Model| model.emitters.iter().map(|emitter| emitter.colour.clone()).collect();
    let colours = package.models.iter().map(|model| (model.id.clone(), colours_of(model))).collect();
    let of_lamp = |head: &Head| (head.id.clone(), beside(Some(head), package.models.get(head.model)));
    let of_model = |model: &Model| (model.id.clone(), beside(None, Some(model)));
    let beside = (package.heads.iter().map(of_lamp).collect(), package.models.iter().map(of_model).collect());
    Some(Onto { name: file.name.clone(), text, raw, lamps, order, colours, beside })
}

/// The lamps of a package, as a schedule writes them; lengths in the unit that takes fewer digits.
fn lamps_of(package: &Package) -> Vec<Record> {
    let Some(unit) = Written::unit_of(package) else { return Vec::new() };
    let lamps = package.heads.iter().map(|head| {
        let at = Written::of(head, &package.vehicle, unit);
        let mut lamp = Record { id: head.id.clone(), place: "the package".to_owned(), ..Record::default() };
        lamp.set("model", package.models.get(head.model).map(|model| model.id.clone()).unwrap_or_default());
        lamp.set("groups", head.groups.join(" "));
        for (name, number) in [("behind-front", at.behind_front), ("right", at.right), ("height", at.height)] {
            lamp.set(name, format!("{number} {unit}"));
        }
        for (name, number) in [("faces", at.faces), ("tilt", at.tilt), ("wedge", at.wedge), ("roll", at.roll)] {
            lamp.set(name, format!("{number} deg"));
        }
        lamp.set("role", head.role.word());
        let words = [
            ("level", &head.level),
            ("circuit", &head.circuit),
            ("output", &head.output),
            ("clock", &head.clock),
            ("serial", &head.serial),
        ];
        for (name, word) in words {
            if let Some(word) = word {
                lamp.set(name, word.as_str());
            }
        }
        if head.mirrored_beam {
            lamp.set("mirrored-beam", "yes");
        }
        lamp
    });
    lamps.collect()
}

/// Lamps that a table cannot hold, as blocks of the package's file.
#[derive(Debug, Default)]
pub(super) struct Blocks {
    pub texts: Vec<String>,
    /// The lamps that stand in them.
    pub held: HashSet<String>,
    pub doubts: Vec<Doubt>,
}

impl Onto {
    /// What the package says of a lamp.
    pub(super) fn lamp(&self, id: &str) -> Option<Record> {
        self.lamps.get(id).cloned()
    }

    /// The colours that a model of its catalogues can show.
    pub(super) fn colours(&self, model: &str) -> Option<&[String]> {
        self.colours.get(model).map(Vec::as_slice)
    }

    /// What may stand in a column of its workbook that is left aside: what is shown of the lamp now, and of a new lamp or
    /// another model what would be shown.
    pub(super) fn beside(&self, id: &str, model: &str) -> impl Iterator<Item = (&'static str, Vec<&Beside>)> {
        let (lamp, model) = (self.beside.0.get(id), self.beside.1.get(model));
        BESIDE.into_iter().enumerate().map(move |(at, title)| {
            let of_lamp = lamp.and_then(|shown| shown.get(at));
            let of_model = model.and_then(|shown| shown.get(at));
            // Glass and places are the lamp's own.
            let of_model = of_model.filter(|shown| of_lamp.is_none() || **shown != Beside::Nothing);
            (title, of_lamp.into_iter().chain(of_model).collect())
        })
    }

    /// Whether the lamp stands elsewhere in some states.
    pub(super) fn has_places(&self, id: &str) -> bool {
        self.table(id).is_some_and(|table| table.contains_key("poses"))
    }

    /// Its lamps and circuits, to compare with.
    pub fn before(&self) -> Before {
        let lamps = self.order.iter().filter_map(|id| self.lamps.get(id).cloned()).collect();
        Before { lamps, circuits: circuits_of(&self.raw), is_whole: false }
    }

    /// The table of the package that makes this lamp, itself or as its twin.
    fn table(&self, id: &str) -> Option<&toml::Table> {
        let tables = self.raw.get("head").and_then(toml::Value::as_array).into_iter().flatten();
        tables.filter_map(toml::Value::as_table).find(|table| {
            let own = table.get("id").and_then(toml::Value::as_str).unwrap_or_default();
            let mirrored = table.get("mirror").and_then(toml::Value::as_bool) == Some(true);
            let twin = || twin_of(&Record { id: own.to_owned(), ..Record::default() }).map(|twin| twin.id);
            own == id || (mirrored && twin().as_deref() == Some(id))
        })
    }

    /// Lamps with poses, glass before them or a mirrored beam: no table holds these, so they become blocks again.
    pub(super) fn blocks(&self, lamps: &[Record]) -> Blocks {
        let mut blocks = Blocks::default();
        for lamp in lamps {
            if blocks.held.contains(&lamp.id) {
                continue;
            }
            let empty = toml::Table::new();
            let table = self.table(&lamp.id).unwrap_or(&empty);
            let mirrored = table.get("mirror").and_then(toml::Value::as_bool) == Some(true);
            let has_more = table.contains_key("poses") || table.contains_key("behind");
            let twin = twin_of(lamp).and_then(|twin| Some((lamps.iter().find(|one| one.id == twin.id)?, twin)));
            let handed = lamp.get("mirrored-beam") == Some("yes")
                || twin.as_ref().is_some_and(|(other, _)| mirrored && other.get("mirrored-beam") == Some("yes"));
            if !has_more && !handed {
                continue;
            }
            let pair = twin.filter(|(other, twin)| (mirrored || handed) && is_pair(lamp, other, twin));
            let lacks_twin = (mirrored && has_more || handed) && pair.is_none();
            // The one that the package calls the head, not its twin.
            let own = table.get("id").and_then(toml::Value::as_str).unwrap_or(&lamp.id);
            let (first, second) = match pair {
                Some((other, _)) if other.id == own => (other, Some(lamp)),
                Some((other, _)) if lamp.get("mirrored-beam") == Some("yes") => (other, Some(lamp)),
                Some((other, _)) => (lamp, Some(other)),
                None => (lamp, None),
            };
            if lacks_twin {
                let why = "its beam or its poses are those of a mirrored twin, and the other side is not its mirror image any more";
                let doubt =
                    Doubt { place: lamp.place.clone(), id: lamp.id.clone(), what: "mirror", why: why.to_owned() };
                blocks.doubts.push(doubt);
            }
            blocks.texts.push(block(first, second, table, lacks_twin));
            blocks.held.insert(first.id.clone());
            blocks.held.extend(second.map(|second| second.id.clone()));
        }
        blocks
    }

    /// The package's file with other lamps and, where there are any, other circuits.
    ///
    /// # Errors
    /// Says that the file is written in a way that cannot be changed here.
    pub(super) fn with(&self, head_blocks: &[String], circuit_blocks: &[String]) -> Result<String, String> {
        let mut lines: Vec<String> =
            self.text.lines().filter(|line| !line.starts_with("#:schema")).map(str::to_owned).collect();
        replace(&mut lines, "head", head_blocks);
        if !circuit_blocks.is_empty() {
            replace(&mut lines, "circuit", circuit_blocks);
        }
        name_heads(&mut lines);
        let text = lines.join("\n") + "\n";
        let cannot = || format!("{} is written in a way that cannot be changed line by line here", self.name);
        let new: toml::Table = text.parse().map_err(|_| cannot())?;
        let rest = |table: &toml::Table| {
            let mut table = table.clone();
            table.remove("head");
            table.remove("heads");
            if !circuit_blocks.is_empty() {
                table.remove("circuit");
            }
            table
        };
        let count = |table: &toml::Table, key| table.get(key).and_then(toml::Value::as_array).map_or(0, Vec::len);
        let whole = rest(&new) == rest(&self.raw)
            && count(&new, "head") == head_blocks.len()
            && (circuit_blocks.is_empty() || count(&new, "circuit") == circuit_blocks.len())
            && new.get("heads").and_then(toml::Value::as_str) == Some("heads.csv");
        if whole { Ok(text) } else { Err(cannot()) }
    }
}

/// Whether two lamps are what one block with `mirror = true` makes.
fn is_pair(lamp: &Record, other: &Record, twin: &Record) -> bool {
    let cells = [
        "model",
        "groups",
        "behind-front",
        "ahead",
        "right",
        "height",
        "faces",
        "tilt",
        "wedge",
        "roll",
        "level",
        "role",
        "clock",
    ];
    let open = |record: &Record| cells.iter().any(|cell| record.get(cell) == Some(DOUBTFUL));
    // A serial number of the twin alone cannot be written.
    !open(lamp) && !open(other) && cells.iter().all(|cell| same(other, twin, cell))
}

/// One `[[head]]`.
fn block(lamp: &Record, twin: Option<&Record>, table: &toml::Table, lacks_twin: bool) -> String {
    let mut text = format!("[[head]]\nid = {}\n", quoted(&lamp.id));
    let mut line = |key: &str, value: String| text.push_str(&format!("{key} = {value}\n"));
    line("model", quoted(lamp.get("model").unwrap_or(DOUBTFUL)));
    let groups: Vec<String> = lamp.get("groups").into_iter().flat_map(|all| all.split(' ')).map(quoted).collect();
    if !groups.is_empty() {
        line("groups", format!("[{}]", groups.join(", ")));
    }
    let along = if lamp.get("ahead").is_some() { "ahead" } else { "behind-front" };
    let at: Vec<String> = [along, "right", "height"]
        .iter()
        .map(|key| {
            format!("{key} = {}", quoted(lamp.get(key).unwrap_or(if *key == "right" { "0 in" } else { DOUBTFUL })))
        })
        .collect();
    line("at", format!("{{ {} }}", at.join(", ")));
    line("faces", quoted(lamp.get("faces").unwrap_or(DOUBTFUL)));
    for key in ["tilt", "wedge", "roll", "level", "role", "clock"] {
        let zero = matches!(key, "tilt" | "wedge" | "roll") && lamp.get(key) == Some("0 deg");
        if let Some(value) = lamp.get(key).filter(|_| !zero) {
            line(key, quoted(value));
        }
    }
    for key in ["circuit", "output", "serial"] {
        match (lamp.get(key), twin.map(|twin| twin.get(key))) {
            // What a twin shares goes without saying, of circuits.
            (Some(own), Some(Some(other))) if key != "circuit" || own != other => {
                let is_right = lamp.id.ends_with("-right");
                let (left, right) = if is_right { (other, own) } else { (own, other) };
                line(key, format!("{{ left = {}, right = {} }}", quoted(left), quoted(right)));
            }
            (Some(own), _) => line(key, quoted(own)),
            (None, Some(Some(other))) => {
                line(&format!("# {key} of the twin"), quoted(other));
            }
            (None, _) => {}
        }
    }
    if lacks_twin {
        line("mirror", quoted(DOUBTFUL));
    } else if twin.is_some() {
        line("mirror", "true".to_owned());
    }
    for key in ["behind", "poses"] {
        if let Some(value) = table.get(key) {
            line(key, value.to_string());
        }
    }
    text
}

/// The first word of a table's name, where the line opens a table.
fn opens(line: &str) -> Option<&str> {
    let line = line.split('#').next().unwrap_or_default().trim();
    let inside = line.strip_prefix("[[").and_then(|rest| rest.strip_suffix("]]"));
    let inside = inside.or_else(|| line.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')))?.trim();
    let is_name =
        !inside.is_empty() && inside.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.'));
    is_name.then(|| inside.split('.').next().unwrap_or_default())
}

/// Takes all tables of a kind out, and puts others where the first of them stood, or at the end.
fn replace(lines: &mut Vec<String>, kind: &str, blocks: &[String]) {
    let mut kept: Vec<String> = Vec::new();
    let mut place = None;
    let mut at = 0;
    while let Some(line) = lines.get(at) {
        if opens(line) != Some(kind) {
            kept.push(line.clone());
            at += 1;
            continue;
        }
        place = place.or(Some(kept.len()));
        let rest = lines.iter().skip(at + 1);
        let end = at + 1 + rest.take_while(|line| opens(line).is_none()).count();
        // Remarks above the next table are about that.
        let body = lines.get(at..end).unwrap_or_default();
        let said = |line: &&String| line.trim().is_empty() || line.trim_start().starts_with('#');
        let trailing = body.iter().rev().take_while(said).count();
        // Between two of the kind nothing is kept.
        if lines.get(end).and_then(|line| opens(line)) != Some(kind) {
            kept.extend(body.iter().skip(body.len() - trailing).cloned());
        }
        at = end;
    }
    let place = place.unwrap_or(kept.len());
    let new = blocks.iter().flat_map(|block| block.lines().map(str::to_owned).chain([String::new()]));
    let tail = kept.split_off(place.min(kept.len()));
    *lines = kept.into_iter().chain(new).chain(tail).collect();
}

/// Says where the lamps stand.
fn name_heads(lines: &mut Vec<String>) {
    const HEADS: &str = "heads = \"heads.csv\"";
    let top = lines.iter().position(|line| opens(line).is_some()).unwrap_or(lines.len());
    let is_key = |line: &String, key: &str| {
        line.trim_start().strip_prefix(key).is_some_and(|rest| rest.trim_start().starts_with('='))
    };
    let known = lines.iter().take(top).position(|line| is_key(line, "heads"));
    match known.and_then(|at| lines.get_mut(at)) {
        Some(line) => HEADS.clone_into(line),
        None => {
            let format = lines.iter().take(top).position(|line| is_key(line, "format"));
            lines.insert(format.map_or(0, |at| at + 1), HEADS.to_owned());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_of_a_kind_are_taken_out_and_remarks_on_the_next_stay() {
        let text = "format = 1\n# lamps\n[[head]]\nid = \"a\"\npulses = [\n  [1],\n]\n\n[[head]]\nid = \"b\"\n\n# ---- rest ----\n[[mode]]\nid = \"m\"";
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        replace(&mut lines, "head", &["[[head]]\nid = \"c\"\n".to_owned()]);
        name_heads(&mut lines);
        let expected = "format = 1\nheads = \"heads.csv\"\n# lamps\n[[head]]\nid = \"c\"\n\n\n# ---- rest ----\n[[mode]]\nid = \"m\"";
        assert_eq!(lines.join("\n"), expected);
    }
}

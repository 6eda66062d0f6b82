//! A sheet that was edited, against the package that was made before: which lamps and circuits came, went and changed.

use std::collections::BTreeMap;

use super::before::Before;
use super::mapping::plain;
use super::record::{DOUBTFUL, Record};
use crate::load::text::in_remark;
use crate::units::Amount;

/// What changed.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// It is new.
    Added {
        /// `lamp` or `circuit`.
        kind: &'static str,
        /// Its id.
        id: String,
    },
    /// It is there no more.
    Gone {
        /// `lamp` or `circuit`.
        kind: &'static str,
        /// Its id.
        id: String,
    },
    /// One of its cells changed.
    Changed {
        /// `lamp` or `circuit`.
        kind: &'static str,
        /// Its id.
        id: String,
        /// Which.
        what: &'static str,
        /// As it was; empty where nothing was said.
        was: String,
        /// As it is.
        is: String,
    },
}

/// A cell that can be compared, whatever unit it is written in.
#[derive(Clone, Debug, PartialEq)]
enum Canon {
    /// In the base unit.
    Number(f64),
    Text(String),
}

/// How warm the copper of a wire is where the package does not say it, as its reader has it.
const WARM_COPPER: &str = "75 degC";

const LAMP: [&str; 18] = [
    "model",
    "colour",
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
    "circuit",
    "output",
    "clock",
    "serial",
    "mirrored-beam",
];
const CIRCUIT: [&str; 11] = [
    "from",
    "fuse-kind",
    "fuse-rating",
    "fuse-ambient",
    "wire-size",
    "wire-length",
    "strand",
    "insulation",
    "copper",
    "engine-space",
    "ampacity",
];

fn base(text: &str) -> Option<f64> {
    let amount = Amount::parse(text).ok()?;
    amount.in_dimension(amount.unit().dimension()).ok()
}

/// Where a lamp looks, 0 to 360 degrees clockwise from ahead.
pub(super) fn degrees(lamp: &Record) -> Option<f64> {
    let text = lamp.get("faces")?;
    let words = [("front", 0.0), ("right", 90.0), ("rear", 180.0), ("left", 270.0)];
    let word = words.iter().find(|(word, _)| *word == text).map(|(_, degrees)| *degrees);
    word.or_else(|| base(text)).map(|faces| faces.rem_euclid(360.0))
}

/// A cell of a lamp or circuit; none where nothing is said, or what goes without saying.
fn canon(record: &Record, what: &str) -> Option<Canon> {
    let found = match what {
        "faces" => {
            let text = record.get("faces")?;
            degrees(record).map_or_else(|| Canon::Text(text.to_owned()), Canon::Number)
        }
        // A model whose colour is not known is written with `?`.
        "colour" => Canon::Text(record.get("colour").unwrap_or(DOUBTFUL).to_owned()),
        _ => {
            let text = record.get(what)?;
            base(text).map_or_else(|| Canon::Text(text.to_owned()), Canon::Number)
        }
    };
    let goes_without_saying = match (what, &found) {
        ("tilt" | "wedge" | "roll" | "right", Canon::Number(number)) => *number == 0.0,
        // What a package takes where none is said.
        ("copper", Canon::Number(number)) => base(WARM_COPPER).is_some_and(|warm| (number - warm).abs() < 1e-9),
        ("role", Canon::Text(word)) => word == "warning",
        ("strand", Canon::Text(word)) => word == "stranded",
        _ => false,
    };
    (!goes_without_saying).then_some(found)
}

fn is_same(one: &Option<Canon>, other: &Option<Canon>) -> bool {
    match (one, other) {
        (Some(Canon::Number(one)), Some(Canon::Number(other))) => (one - other).abs() <= 1e-7 * one.abs().max(1.0),
        _ => one == other,
    }
}

/// Whether what a record says here is the same in both.
pub(super) fn same(one: &Record, other: &Record, what: &str) -> bool {
    is_same(&canon(one, what), &canon(other, what))
}

/// The mirrored twin of a lamp.
pub(super) fn twin_of(lamp: &Record) -> Option<Record> {
    let id = match (lamp.id.strip_suffix("-left"), lamp.id.strip_suffix("-right")) {
        (Some(stem), _) => format!("{stem}-right"),
        (_, Some(stem)) => format!("{stem}-left"),
        _ => return None,
    };
    let mut twin = Record { id, ..lamp.clone() };
    for name in ["right", "roll"] {
        if let Some(text) = lamp.get(name).filter(|text| base(text).is_some()) {
            let turned = text.strip_prefix('-').map_or_else(|| format!("-{text}"), str::to_owned);
            twin.set(name, turned);
        }
    }
    if let Some(Canon::Number(faces)) = canon(lamp, "faces") {
        twin.set("faces", format!("{} deg", (360.0 - faces).rem_euclid(360.0)));
    }
    for name in ["output", "serial", "mirror"] {
        twin.cells.remove(name);
    }
    Some(twin)
}

/// Lamps with their twins, as they stand on the vehicle.
fn all_lamps(lamps: &[Record]) -> Vec<Record> {
    let mut all = Vec::new();
    for lamp in lamps {
        let twin = if lamp.get("mirror") == Some("yes") { twin_of(lamp) } else { None };
        let mut one = lamp.clone();
        one.cells.remove("mirror");
        all.push(one);
        all.extend(twin);
    }
    all
}

/// What changed from one to the other; onto a package, of circuits only where both speak of them.
pub fn differ(before: &Before, lamps: &[Record], circuits: &[Record]) -> Vec<Change> {
    let mut changes = Vec::new();
    let is_whole = before.is_whole;
    compare(("lamp", &LAMP), &all_lamps(&before.lamps), &all_lamps(lamps), is_whole, &mut changes);
    if is_whole || (!circuits.is_empty() && !before.circuits.is_empty()) {
        compare(("circuit", &CIRCUIT), &before.circuits, circuits, is_whole, &mut changes);
    }
    changes
}

/// Remarks as they stand in a file.
fn remarks(record: &Record) -> String {
    in_remark(&plain(&record.remarks.join("; ")))
}

fn compare(
    (kind, cells): (&'static str, &[&'static str]),
    before: &[Record],
    now: &[Record],
    is_whole: bool,
    changes: &mut Vec<Change>,
) {
    let known: BTreeMap<&str, &Record> = before.iter().map(|one| (one.id.as_str(), one)).collect();
    let here: BTreeMap<&str, &Record> = now.iter().map(|one| (one.id.as_str(), one)).collect();
    for one in now {
        let Some(old) = known.get(one.id.as_str()) else {
            changes.push(Change::Added { kind, id: one.id.clone() });
            continue;
        };
        for what in cells {
            // Of a model that the import did not make its catalogue says the colours.
            if (*what != "colour" || old.get("colour").is_some()) && !same(old, one, what) {
                let said = |record: &Record| record.get(what).unwrap_or_default().to_owned();
                changes.push(Change::Changed { kind, id: one.id.clone(), what, was: said(old), is: said(one) });
            }
        }
        let (was, is) = (remarks(old), remarks(one));
        if is_whole && was != is {
            changes.push(Change::Changed { kind, id: one.id.clone(), what: "notes", was, is });
        }
    }
    for one in before.iter().filter(|one| !here.contains_key(one.id.as_str())) {
        changes.push(Change::Gone { kind, id: one.id.clone() });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lamp(id: &str, cells: &[(&'static str, &str)]) -> Record {
        let cells = cells.iter().map(|(name, text)| (*name, (*text).to_owned())).collect();
        Record { id: id.to_owned(), cells, ..Record::default() }
    }

    #[test]
    fn the_same_in_other_units_is_no_change() {
        let before = Before {
            lamps: vec![lamp(
                "a-left",
                &[("height", "40 in"), ("faces", "left"), ("right", "-10 in"), ("mirror", "yes")],
            )],
            circuits: Vec::new(),
            is_whole: false,
        };
        let now = [
            lamp("a-left", &[("height", "1016 mm"), ("faces", "270 deg"), ("right", "-254 mm"), ("tilt", "0 deg")]),
            lamp("a-right", &[("height", "1016 mm"), ("faces", "right"), ("right", "254 mm"), ("role", "warning")]),
        ];
        assert_eq!(differ(&before, &now, &[]), []);
        let moved = [lamp("a-left", &[("height", "41 in"), ("faces", "left"), ("right", "-10 in")]), lamp("b", &[])];
        assert_eq!(
            differ(&before, &moved, &[]),
            [
                Change::Changed {
                    kind: "lamp",
                    id: "a-left".to_owned(),
                    what: "height",
                    was: "40 in".to_owned(),
                    is: "41 in".to_owned()
                },
                Change::Added { kind: "lamp", id: "b".to_owned() },
                Change::Gone { kind: "lamp", id: "a-right".to_owned() },
            ]
        );
    }
}

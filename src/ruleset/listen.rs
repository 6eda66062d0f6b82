//! The key `listen` of a rule on sound: of which sounders and tones it speaks, and where one listens.

use super::{Demand, Limit};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::{Node, Table, transpose};
use crate::package::SounderKind;
use crate::quantity::{ListenKey, ListenTerms, Listens, Measure, Quantity, Side, listen_keys};
use crate::units::{Decibels, Degrees, Length, SoundLevel};

/// Many times what any requirement looks at.
const MOST_ANGLES: usize = 1000;

/// Reads `{ of = [...], tones = [...], distance = "3 m", angles = [...], ... }`.
pub(crate) fn read_listen(node: &Node<'_>) -> Option<ListenTerms> {
    let mut table = node.table()?.named("`listen`");
    let of = table.get("of").map(|node| {
        let kinds = node.list();
        let named = names_any(&node, kinds.len(), "of = [\"siren-speaker\"]");
        kinds.iter().map(|node| node.word(&SounderKind::WORDS)).collect::<Option<Vec<_>>>().filter(|_| named)
    });
    let tones = table.get("tones").map(|node| {
        let tones: Vec<String> = node.texts().into_iter().map(|text| text.text).collect();
        names_any(&node, tones.len(), "tones = [\"wail\"]").then_some(tones)
    });
    let distance = table.get("distance").map(|node| node.positive::<Length>());
    let angles = table.get("angles").map(|node| read_angles(&node));
    let points = table.get("table").map(|node| read_table(&node));
    let low = table.get("low").and_then(|node| node.table()).map(read_low);
    let from = table.get("from").map(|node| node.word(&Side::WORDS));
    let height = table.get("height").map(|node| node.positive::<Length>());
    let over = table.get("over").map(|node| node.within(Decibels::ZERO, Decibels::new(60.0), "0 to 60 dB"));
    let in_closed_car = table.get("in-closed-car").map(|node| node.boolean());
    table.finish();
    Some(ListenTerms {
        of: transpose(of)?.unwrap_or_default(),
        tones: transpose(tones)?.unwrap_or_default(),
        distance: transpose(distance)?,
        angles: transpose(angles)?.unwrap_or_default(),
        table: transpose(points)?.unwrap_or_default(),
        low: transpose(low)?,
        from: transpose(from)?,
        height: transpose(height)?,
        over: transpose(over)?,
        in_closed_car: transpose(in_closed_car)?.unwrap_or(false),
    })
}

/// A list without a word in it would be taken for one that names all.
fn names_any(node: &Node<'_>, words: usize, example: &str) -> bool {
    if node.is_list() && words == 0 {
        node.error(
            "nothing-named",
            "this list names nothing",
            format!("leave it out for all, or for example {example}"),
        );
        return false;
    }
    true
}

fn read_angle(node: &Node<'_>) -> Option<Degrees> {
    node.within(Degrees::new(-180.0), Degrees::new(180.0), "-180 to 180 deg")
}

fn read_angles(node: &Node<'_>) -> Option<Vec<Degrees>> {
    let nodes = node.list();
    if nodes.is_empty() || nodes.len() > MOST_ANGLES {
        let message = format!("{} angles are listed; there are 1 to {MOST_ANGLES}", nodes.len());
        node.error("no-angles", message, "for example [\"-20 deg\", \"0 deg\", \"20 deg\"]");
        return None;
    }
    nodes.iter().map(read_angle).collect()
}

/// `[["0 deg", "120 dB(A)"], ...]`.
fn read_table(node: &Node<'_>) -> Option<Vec<(Degrees, SoundLevel)>> {
    const EXAMPLE: &str = "for example [[\"0 deg\", \"120 dB(A)\"], [\"50 deg\", \"109 dB(A)\"]]";
    let rows = node.list();
    if rows.is_empty() || rows.len() > MOST_ANGLES {
        node.error("no-angles", format!("{} rows are listed; there are 1 to {MOST_ANGLES}", rows.len()), EXAMPLE);
        return None;
    }
    let row = |row: &Node<'_>| match row.list().as_slice() {
        [angle, level] => {
            Some((read_angle(angle)?, level.within(SoundLevel::ZERO, SoundLevel::new(180.0), "0 to 180 dB(A)")?))
        }
        _ => {
            row.error("no-level", "an angle and its level stand in each row", EXAMPLE);
            None
        }
    };
    rows.iter().map(row).collect()
}

/// `{ points = 3, by = "1 dB" }`.
fn read_low(mut table: Table<'_>) -> Option<(u32, Decibels)> {
    let points = table.require("points").and_then(|node| {
        let number = node.number()?;
        let whole = (1..=1000_u32).find(|whole| f64::from(*whole) == number);
        if whole.is_none() {
            node.error("out-of-range", "a number of points is a whole number from 1 to 1000", "for example points = 3");
        }
        whole
    });
    let by = table.require("by").and_then(|node| node.within(Decibels::ZERO, Decibels::new(20.0), "0 to 20 dB"));
    table.finish();
    Some((points?, by?))
}

/// What a quantity needs and does not find in `listen`, and what it finds there and cannot use.
pub(super) fn check_listen(
    rule: &Span,
    node: Option<&Node<'_>>,
    terms: Option<&ListenTerms>,
    quantity: &Quantity,
    limits: &[Limit],
    log: &Log,
) {
    let of_sound = matches!(quantity.measure, Measure::Sound(_));
    if let (Some(node), false) = (node, of_sound) {
        let message = format!("`{}` is nothing that sounds", quantity.name);
        node.error("wrong-scope", message, "leave `listen` out");
        return;
    }
    let Some(Listens { needed, more }) = listen_keys(quantity) else { return };
    let place = node.map_or_else(|| rule.clone(), Node::span);
    // A table that nobody here knows stands nowhere: then the limits say that it is missing.
    let unknown = !limits.is_empty() && limits.iter().all(|limit| matches!(limit.demand, Demand::Missing { .. }));
    for key in ListenKey::ALL {
        let (name, example) = key.words();
        let has = terms.is_some_and(|terms| terms.has(key));
        if needed.contains(&key) && !has && !(key == ListenKey::Table && unknown) {
            let message = format!("a rule on `{}` needs `{name}` in `listen`", quantity.name);
            log.push(Diagnostic::error("missing-key", message).at(&place, "").help(format!("for example {example}")));
        } else if has && !needed.contains(&key) && !more.contains(&key) {
            let message = format!("`{}` makes no use of `{name}`", quantity.name);
            log.push(Diagnostic::error("wrong-scope", message).at(&place, "").help(format!("leave `{name}` out")));
        }
    }
}

//! A draft as people edit it: TOML, read with places. What cannot be read is a mistake of the file and told with its
//! line; what is left out is no mistake here, since looking for that is what the draft is read for.

use super::proof::{Heading, Proof};
use super::{Acceptance, Bid, Clause, Free, Layout, Place, Row};
use crate::diagnostic::{Diagnostic, Log, Sources};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text, document, is_name, transpose};
use crate::load::text::decode;
use crate::measure::Level;
use crate::quantity::{self, QUANTITIES};
use crate::ruleset::{BASES, Demand, REQUIRES, STRENGTHS, Strength, read_device, read_listen, read_method};
use crate::units::{Degrees, Length, Micros, Share, Volt};

/// More than anybody reads; each limit is held against every other.
const MOST_CLAUSES: usize = 2_000;
const MOST_LIMITS: usize = 4_000;
/// More than any requirement has; each zone is lit by every device of a catalogue.
const MOST_ZONES: usize = 64;

/// Reads a draft. Where the log has errors it is not fit to be looked over.
pub fn read_draft(name: &str, bytes: &[u8], sources: &Sources, log: &Log) -> Option<Bid> {
    let text = decode(bytes, name).map_err(|error| log.push(error)).ok()?;
    let source = sources.add(name, text);
    document(text, source, log, read_bid)
}

fn words<T: Copy, const N: usize>(words: &[(&'static str, T, &'static str); N]) -> [(&'static str, T); N] {
    words.map(|(word, value, _)| (word, value))
}

fn plain(node: Option<Node<'_>>) -> Option<String> {
    node.and_then(|node| node.text()).map(|text| text.text)
}

fn read_bid(mut top: Table<'_>) -> Option<Bid> {
    let log = top.log();
    let mut bid = Bid::default();
    if let Some(mut table) = top.require("bid").and_then(|node| node.table()).map(|table| table.named("`[bid]`")) {
        bid.title = plain(table.get("title"));
        let rests_on = table.get("rests-on").map(|node| node.texts()).unwrap_or_default();
        bid.rests_on = rests_on.into_iter().map(|text| text.text).collect();
        let precedence = table.get("precedence").map(|node| node.texts()).unwrap_or_default();
        bid.precedence = precedence.into_iter().map(|text| text.text).collect();
        bid.equals = plain(table.get("equals"));
        bid.most_heads = table.get("most-heads").and_then(|node| whole(&node));
        table.finish();
    }
    if let Some(table) = top.get("acceptance").and_then(|node| node.table()) {
        let mut table = table.named("`[acceptance]`");
        bid.acceptance = Acceptance {
            place: plain(table.get("place")),
            time: plain(table.get("time")),
            method: plain(table.get("method")),
            criteria: plain(table.get("criteria")),
            signed_by: plain(table.get("signed-by")),
        };
        table.finish();
    }
    let mut ids = Distinct::new("layouts", log);
    for table in top.tables("layout") {
        let Some((id, layout)) = read_layout(table) else { continue };
        if ids.keeps(&id) {
            bid.layouts.push(layout);
        }
    }
    let tables = top.tables("clause");
    if tables.is_empty() || tables.len() > MOST_CLAUSES {
        let message = format!("this draft has {} clauses; a draft has 1 to {MOST_CLAUSES}", tables.len());
        let error = Diagnostic::error("no-clause", message).at(&top.span(), "");
        log.push(error.help("a clause is a table `[[clause]]`; `wayproof bid RULESET -o FILE.toml` writes some"));
    }
    let mut ids = Distinct::new("clauses", log);
    for table in tables.into_iter().take(MOST_CLAUSES) {
        let Some((id, clause)) = read_clause(table, log) else { continue };
        if ids.keeps(&id) {
            bid.clauses.push(clause);
        }
    }
    let limits: usize = bid.clauses.iter().map(|clause| clause.rows.len()).sum();
    let zones: usize = bid.layouts.iter().map(|layout| layout.zones.len()).sum();
    for (what, found, most) in [("limits", limits, MOST_LIMITS), ("zones", zones, MOST_ZONES)] {
        if found > most {
            let error =
                Diagnostic::error("too-many", format!("this draft has {found} {what}; a draft has {most} at most"));
            log.push(error.at(&top.span(), "").help("make several drafts of it"));
        }
    }
    bid.free.extend(top.tables("free").into_iter().filter_map(|table| read_free(table, "[[free]]")));
    top.finish();
    Some(bid)
}

/// Something said, where it comes from and how that is known.
fn read_free(table: Table<'_>, name: &'static str) -> Option<Free> {
    let mut table = table.named(name);
    let says = table.require("says").and_then(|node| node.text()).map(|text| text.text);
    let source = plain(table.get("source"));
    let basis = table.get("basis").map(|node| node.word(BASES));
    table.finish();
    Some(Free { says: says?, source, basis: transpose(basis)? })
}

/// A whole number of things, 1 to 1000.
fn whole(node: &Node<'_>) -> Option<u32> {
    let number = node.number()?;
    let found = (1..=1000_u32).find(|whole| f64::from(*whole) == number);
    if found.is_none() {
        node.error("out-of-range", "this is a whole number from 1 to 1000", "for example most-heads = 12");
    }
    found
}

fn read_layout(table: Table<'_>) -> Option<(Text, Layout)> {
    let mut table = table.named("[[layout]]");
    let id = table.require("id").and_then(|node| node.id());
    let zones = table.get("zones").and_then(|node| node.table());
    let zones: Vec<Option<(String, Degrees, Degrees)>> = zones
        .map(|zones| zones.entries().iter().map(|(name, node)| read_zone(name, node)).collect())
        .unwrap_or_default();
    let step = table.get("step").map(|node| node.within(Degrees::new(0.1), Degrees::new(90.0), "0.1 to 90 deg"));
    let levels = table.get("levels").and_then(|node| node.table());
    let levels: Vec<Option<Level>> = levels
        .map(|levels| levels.entries().iter().map(|(name, node)| read_level(name, node)).collect())
        .unwrap_or_default();
    let dark = table.get("dark-at-least").map(|node| node.positive::<Micros>());
    let voltage = table.get("voltage").map(|node| node.positive::<Volt>());
    let terms: Vec<Option<Free>> =
        table.tables("terms").into_iter().map(|table| read_free(table, "[[layout.terms]]")).collect();
    let lit = table.get("lit-above").map(|node| node.within(Share::ZERO, Share::new(1.0), "0 to 100 %"));
    table.finish();
    let id = id?;
    let layout = Layout {
        id: id.text.clone(),
        zones: zones.into_iter().collect::<Option<_>>()?,
        step: transpose(step)?,
        levels: levels.into_iter().collect::<Option<_>>()?,
        dark_at_least: transpose(dark)?,
        lit_above: transpose(lit)?,
        voltage: transpose(voltage)?,
        terms: terms.into_iter().collect::<Option<_>>()?,
    };
    Some((id, layout))
}

/// `A = ["-45 deg", "45 deg"]`.
fn read_zone(name: &Text, node: &Node<'_>) -> Option<(String, Degrees, Degrees)> {
    let list = node.list();
    let (low, high) = (Degrees::new(-360.0), Degrees::new(720.0));
    let ends: Option<Vec<Degrees>> = list.iter().map(|node| node.within(low, high, "-360 to 720 deg")).collect();
    match ends?.as_slice() {
        [from, to] if from < to && to.value() - from.value() <= 360.0 => Some((name.text.clone(), *from, *to)),
        _ => {
            node.error(
                "bad-range",
                "a zone goes clockwise from one bearing to another",
                "for example A = [\"-45 deg\", \"45 deg\"]",
            );
            None
        }
    }
}

/// `upper = { above = "62 in" }`.
fn read_level(name: &Text, node: &Node<'_>) -> Option<Level> {
    let mut table = node.table()?.named("a level");
    let mut end = |key| table.get(key).map(|node| node.quantity::<Length>());
    let (from, above, to) = (end("from"), end("above"), end("to"));
    table.finish();
    Some(Level { name: name.text.clone(), from: transpose(from)?, above: transpose(above)?, to: transpose(to)? })
}

/// Ids may name the ruleset before a colon.
fn read_id(node: &Node<'_>) -> Option<Text> {
    let id = node.text()?;
    let fits = id.text.split(':').count() <= 2 && id.text.split(':').all(is_name);
    if !fits {
        let message = format!("`{}` cannot be an id", id.text);
        node.error(
            "bad-id",
            message,
            "ids are made of letters, digits, `.`, `_` and `-`, with one `:` behind a ruleset",
        );
    }
    fits.then_some(id)
}

fn read_clause(mut table: Table<'_>, log: &Log) -> Option<(Text, Clause)> {
    let id = table.require("id").and_then(|node| read_id(&node));
    if let Some(id) = &id {
        table = table.named(format!("clause `{}`", id.text));
    }
    let says = table.require("says").and_then(|node| node.text()).map(|text| text.text);
    let heading = table.get("heading").map(|node| node.word(&words(&Heading::WORDS)));
    let quantity = table.get("quantity").map(|node| {
        let name = node.text()?;
        let found = quantity::find(&name.text).map(|quantity| quantity.name);
        if found.is_none() {
            let error = Diagnostic::error("unknown-quantity", format!("there is no quantity `{}`", name.text));
            let error = error
                .at(&name.span, "")
                .help("`attested`, or one that begins with `stated-`, where the tool knows none for this demand");
            log.suggest(error, &name.text, QUANTITIES.iter().map(|known| known.name));
        }
        found
    });
    let unit = plain(table.get("unit"));
    let require = table.get("require").map(|node| node.word(REQUIRES));
    let strength = table.get("strength").map_or(Some(Strength::Required), |node| node.word(STRENGTHS));
    let layout = plain(table.get("layout"));
    let method = table.get("method").map(|node| read_method(&node));
    let device = table.get("device").map(|node| read_device(&node));
    let listen = table.get("listen").map(|node| read_listen(&node));
    let rows = table.get("limits").map(|node| node.list()).unwrap_or_default();
    let rows: Vec<Option<Row>> = rows.iter().map(read_row).collect();
    let proof = table.get("proof").map(|node| node.word(&Proof::WORDS));
    let mut text = |key| plain(table.get(key));
    let (tested, by, when) = (text("tested"), text("by"), text("when"));
    let (paper, deviation, source) = (text("paper"), text("deviation"), text("source"));
    let basis = table.get("basis").map(|node| node.word(BASES));
    table.finish();
    let id = id?;
    let quantity = transpose(quantity)?;
    let own = quantity.and_then(quantity::find).map_or(Heading::Papers, super::proof::heading_of);
    let clause = Clause {
        id: id.text.clone(),
        heading: transpose(heading)?.unwrap_or(own),
        says: says?,
        quantity,
        unit,
        require: transpose(require)?,
        strength: strength?,
        layout,
        method: transpose(method)?,
        device: transpose(device)?,
        listen: transpose(listen)?,
        proof: transpose(proof)?,
        tested,
        by,
        when,
        paper,
        deviation,
        source,
        basis: transpose(basis)?,
        rows: rows.into_iter().collect::<Option<_>>()?,
        place: Place(Some(id.span.clone())),
    };
    Some((id, clause))
}

fn read_row(node: &Node<'_>) -> Option<Row> {
    let mut table = node.table()?.named("this limit");
    let mut text = |key| plain(table.get(key));
    let (purpose, leads_to, level, zone) = (text("purpose"), text("leads-to"), text("level"), text("zone"));
    let (colour, class, item) = (text("colour"), text("class"), text("item"));
    let (source, see) = (text("source"), text("see"));
    let value = table.get("value");
    let mut number = |key| table.get(key).map(|node| node.number());
    let (from, to) = (number("from"), number("to"));
    let missing = table.get("missing").map(|node| node.text());
    let basis = table.get("basis").map(|node| node.word(BASES));
    let place = Place(Some(table.span()));
    table.finish();
    let (from, to) = (transpose(from)?, transpose(to)?);
    let demand = match (value, from, to, transpose(missing)?) {
        (None, None, None, None) => None,
        (Some(node), None, None, None) if node.is_list() || node.is_text() => {
            Some(Demand::Words(node.texts().into_iter().map(|text| text.text).collect()))
        }
        (Some(node), None, None, None) => Some(Demand::Number(node.number()?)),
        (None, Some(from), Some(to), None) if from <= to => Some(Demand::Range { from, to }),
        (None, None, None, Some(why)) => Some(Demand::Missing { why: why.text, see }),
        _ => {
            let help = "write `value`, or `from` and `to`, the lower end first, or `missing = \"why\"`";
            node.error("bad-limit", "this row says more than one limit, or half of one", help);
            return None;
        }
    };
    let basis = transpose(basis)?;
    Some(Row { purpose, leads_to, level, zone, colour, class, item, demand, source, basis, place })
}

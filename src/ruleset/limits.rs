//! Limit tables: rows with a purpose, a level and a cell a zone, as published requirements print them.

use std::collections::HashMap;

use super::citation::Citations;
use super::regions::{Regions, SourcedRegion};
use super::{Basis, Citation, Demand, Limit, Require, Rule, Ruleset};
use crate::diagnostic::{Diagnostic, Span, nearest};
use crate::load::reader::{Node, Table, Text, transpose};
use crate::measure::Protocol;
use crate::package::{Mount, ROLES, Role, SounderKind};
use crate::quantity::{LevelScope, Measure, Quantity, is_of_shift};
use crate::units::Dimension;

/// What a row is read against.
pub(super) struct RowContext<'a> {
    pub protocol: &'a Protocol,
    pub quantity: &'static Quantity,
    pub require: Require,
    pub citations: &'a Citations,
    pub regions: &'a Regions,
    pub rule_cite: &'a Citation,
}

impl<'a> RowContext<'a> {
    /// For rows that an overlay writes on a rule of a ruleset.
    pub(super) fn of(rule: &Rule, ruleset: &'a Ruleset, citations: &'a Citations, rule_cite: &'a Citation) -> Self {
        let Ruleset { protocol, regions, .. } = ruleset;
        Self { protocol, quantity: rule.quantity, require: rule.require, citations, regions, rule_cite }
    }
}

/// Where a limit holds: purpose, level, zone, colour, class, item.
pub(super) type Scope = (Option<String>, Option<usize>, Option<usize>, Option<String>, Option<String>, Option<String>);

impl Limit {
    pub(super) fn scope(&self) -> Scope {
        (self.purpose.clone(), self.level, self.zone, self.colour.clone(), self.class.clone(), self.item.clone())
    }
}

/// A row of limits as a rule on this quantity would have it, for messages.
pub(super) fn example_row(quantity: &Quantity, require: Require, protocol: &Protocol) -> String {
    let mut keys = Vec::new();
    keys.extend(quantity.scope.purpose.then(|| "purpose = \"calling\"".to_owned()));
    keys.extend(leads_somewhere(quantity).then(|| "leads-to = \"blocking\"".to_owned()));
    let level = protocol.levels.first().filter(|_| quantity.scope.level == LevelScope::Always);
    keys.extend(level.map(|level| format!("level = \"{}\"", level.name)));
    keys.extend(needs_item(quantity).then(|| "item = \"what-is-stated\"".to_owned()));
    let known = vocabulary(quantity).and_then(|words| words.first().copied());
    let figure = match (quantity.dimension, quantity.name) {
        (Dimension::Words, "claimed-class" | "vehicle-class" | "sounder-class") => "[\"1\"]".to_owned(),
        (Dimension::Words, _) if needs_item(quantity) => "[\"yes\"]".to_owned(),
        (Dimension::Words, "sounder-tones") => "[\"wail\"]".to_owned(),
        (Dimension::Words, _) => format!("[\"{}\"]", known.unwrap_or("amber")),
        _ => "120".to_owned(),
    };
    let range = "from = 60, to = 120";
    let zone = protocol.zones.sectors.first().map_or("A", |sector| &sector.name);
    keys.push(match (quantity.scope.zone, require.asks_a_range()) {
        (true, true) => format!("zones = {{ {zone} = {{ {range} }} }}"),
        (true, false) => format!("zones = {{ {zone} = {figure} }}"),
        (false, true) => range.to_owned(),
        (false, false) => format!("value = {figure}"),
    });
    format!("{{ {} }}", keys.join(", "))
}

/// Whether its limits name what a person states.
fn needs_item(quantity: &Quantity) -> bool {
    matches!(quantity.measure, Measure::Stated(_)) && quantity.name != "vehicle-class"
}

/// Reads all rows of a rule; two limits on one place are an error.
pub(super) fn read_limits(node: &Node<'_>, context: &RowContext<'_>) -> Vec<Limit> {
    let mut met: HashMap<Scope, Span> = HashMap::new();
    let mut limits: Vec<Limit> = Vec::new();
    let rows = node.list();
    if node.is_list() && rows.is_empty() {
        node.error(
            "no-limit",
            "this rule has no limit, so it asks nothing",
            "write a row, or `missing = \"why\"` in one",
        );
    }
    for limit in rows.iter().filter_map(Node::table).flat_map(|table| read_row(table, context)) {
        if let Some(first) = met.get(&limit.scope()) {
            let error = Diagnostic::error("double-limit", "this place has two limits in one rule");
            node.log().push(error.at(&limit.span, "again here").at(first, "first here"));
        } else {
            met.insert(limit.scope(), limit.span.clone());
            limits.push(limit);
        }
    }
    limits
}

fn read_row(table: Table<'_>, context: &RowContext<'_>) -> Vec<Limit> {
    let mut table = table.named("this row of limits");
    let log = table.log();
    let quantity = context.quantity;
    let span = table.span();
    let purpose = table.get("purpose").map(|node| node.id());
    let leads_to = table.get("leads-to").map(|node| node.id());
    let level = table.get("level").map(|node| read_level(&node, context));
    let zones = table.get("zones");
    let of_devices = matches!(quantity.measure, Measure::Device(_));
    let colours = table.get("colours");
    let colour = table.get("colour").map(|node| node.id());
    let class = table.get("class").map(|node| node.id());
    let item = table.get("item").map(|node| node.id());
    // Devices that claim classes, and vehicles.
    let has_class = match quantity.measure {
        Measure::Stated(_) => true,
        Measure::Sound(_) => !is_of_shift(quantity),
        _ => false,
    };
    let wrong_item = match (item.is_some(), needs_item(quantity)) {
        (false, true) => Some("needs an `item`, the name under which a person states it"),
        (true, false) => Some("has no `item`"),
        _ => None,
    };
    let wrong_device = match (colours.is_some() && !of_devices, class.is_some() && !of_devices && !has_class) {
        (false, false) => None,
        (_, false) => Some("speaks of no `colours`"),
        (false, true) => Some("speaks of no `class`"),
        (true, true) => Some("speaks of no `colours` and no `class`"),
    };
    let wrong_colour = match (colour.is_some(), of_devices) {
        (true, true) => Some("names its colours in `colours`, each with what is asked of it"),
        (true, false) if !quantity.counts_permitted => Some("counts no heads, so none of one `colour`"),
        _ => None,
    };
    let one_level = context.protocol.levels.is_empty();
    let wrong_purpose = match (purpose.is_some(), quantity.scope.purpose) {
        (false, true) => Some("needs a `purpose`"),
        (true, false) => Some("has no purpose"),
        _ => None,
    };
    let wrong_level = match (level.is_some(), quantity.scope.level) {
        (false, LevelScope::Always) if !one_level => Some("needs a `level`"),
        (true, LevelScope::Never) => Some("has no level"),
        _ => None,
    };
    let wrong_zones = match (zones.is_some(), quantity.scope.zone) {
        (false, true) => Some("needs `zones`"),
        (true, false) => Some("has no zones"),
        _ => None,
    };
    let wrong_end = match (leads_to.is_some(), leads_somewhere(quantity)) {
        (false, true) => Some("needs `leads-to`, the purpose that has to follow"),
        (true, false) => Some("leads to no purpose"),
        _ => None,
    };
    let complaints = [wrong_purpose, wrong_end, wrong_level, wrong_zones, wrong_device, wrong_colour, wrong_item];
    for complaint in complaints.into_iter().flatten() {
        let message = format!("a limit on `{}` {complaint}", quantity.name);
        let error = Diagnostic::error("wrong-scope", message).at(&span, "in this row");
        let row = example_row(quantity, context.require, context.protocol);
        log.push(error.help(format!("for example {row}")));
    }
    let cells = match (zones, colours) {
        _ if wrong_zones.is_some() || wrong_device.is_some() => return Vec::new(),
        (Some(node), _) => {
            table.finish();
            read_zones(&node, context)
        }
        (None, Some(node)) => {
            table.finish();
            read_colours(&node, context)
        }
        (None, None) => vec![(Place::Everywhere, read_cell_table(table, context), span)],
    };
    // What is wrong about a scope has been reported; a limit for another place would be worse than none.
    let names = [purpose, leads_to, class, item, colour].map(transpose);
    let ([Some(purpose), Some(leads_to), Some(class), Some(item), Some(counted)], Some(level)) =
        (names, transpose(level))
    else {
        return Vec::new();
    };
    let [purpose, leads_to, class, item, counted] =
        [purpose, leads_to, class, item, counted].map(|name| name.map(|text| text.text));
    let limit = |(place, cell, span): Cell| {
        let (demand, mut source) = cell?;
        let regions = named_regions(&demand, context);
        // A limit is no better known than the edges that it asks for.
        source.basis = regions.iter().map(|region| region.basis()).fold(source.basis, Basis::max);
        let regions = regions.into_iter().map(|named| named.region.clone()).collect();
        let (zone, colour) = match place {
            Place::Everywhere => (None, counted.clone()),
            Place::Zone(zone) => (Some(zone), counted.clone()),
            Place::Colour(colour) => (None, Some(colour)),
        };
        let (purpose, leads_to) = (purpose.clone(), leads_to.clone());
        let (class, item) = (class.clone(), item.clone());
        Some(Limit { purpose, leads_to, level, zone, colour, class, item, regions, demand, source, span })
    };
    cells.into_iter().filter_map(limit).collect()
}

/// What a cell of a row narrows its limit to.
enum Place {
    Everywhere,
    Zone(usize),
    Colour(String),
}

/// A place, what is asked there, and where that stands.
type Cell = (Place, Option<(Demand, Citation)>, Span);

fn read_colours(node: &Node<'_>, context: &RowContext<'_>) -> Vec<Cell> {
    let Some(colours) = node.table() else { return Vec::new() };
    let entries = colours.entries();
    if entries.is_empty() {
        node.error("no-limit", "this row says no limit", "for example colours = { amber = 230 }");
    }
    let cell = |(name, node): (Text, Node<'_>)| (Place::Colour(name.text), read_cell(&node, context), node.span());
    entries.into_iter().map(cell).collect()
}

fn read_zones(node: &Node<'_>, context: &RowContext<'_>) -> Vec<Cell> {
    let Some(zones) = node.table() else { return Vec::new() };
    let entries = zones.entries();
    if entries.is_empty() {
        node.error("no-limit", "this row says no limit", "for example zones = { A = 1_000_000 }");
    }
    let sectors = &context.protocol.zones.sectors;
    let mut cells = Vec::new();
    for (name, node) in entries {
        let cell = read_cell(&node, context);
        match sectors.iter().position(|sector| sector.name == name.text) {
            Some(zone) => cells.push((Place::Zone(zone), cell, node.span())),
            // Without any zone the ruleset has its error already.
            None if sectors.is_empty() => {}
            None => {
                let error = Diagnostic::error("unknown-zone", format!("there is no zone `{}`", name.text));
                let known = sectors.iter().map(|sector| sector.name.as_str());
                node.log().suggest(error.at(&name.span, ""), &name.text, known);
            }
        }
    }
    cells
}

fn read_level(node: &Node<'_>, context: &RowContext<'_>) -> Option<usize> {
    let text = node.text()?;
    let levels = &context.protocol.levels;
    let found = levels.iter().position(|level| level.name == text.text);
    if found.is_none() {
        let error = Diagnostic::error("unknown-level", format!("there is no level `{}`", text.text));
        let error = error.at(&text.span, "");
        let error = if levels.is_empty() { error.help("levels are named under [levels]") } else { error };
        node.log().suggest(error, &text.text, levels.iter().map(|level| level.name.as_str()));
    }
    found
}

/// A number, a list of words, or a table that says more.
fn read_cell(node: &Node<'_>, context: &RowContext<'_>) -> Option<(Demand, Citation)> {
    if node.is_table() {
        return read_cell_table(node.table()?.named("this limit"), context);
    }
    let demand = read_value(node, context)?;
    Some((demand, context.rule_cite.clone()))
}

fn read_cell_table(mut table: Table<'_>, context: &RowContext<'_>) -> Option<(Demand, Citation)> {
    let span = table.span();
    let log = table.log();
    let value = table.get("value").map(|node| read_value(&node, context));
    let from = table.get("from").map(|node| read_number(&node));
    let to = table.get("to").map(|node| read_number(&node));
    let missing = table.get("missing").map(|node| node.text());
    let see = table.get("see").and_then(|node| node.text()).map(|text| text.text);
    let source = context.citations.refine(&mut table, context.rule_cite);
    table.finish();
    let demand = match (value, from, to, missing) {
        (Some(value), None, None, None) => value?,
        (None, Some(from), Some(to), None) => {
            let (from, to) = (from?, to?);
            if !context.require.asks_a_range() || from > to {
                let error = Diagnostic::error("bad-range", "a range fits `between` and `outside`, its lower end first");
                log.push(error.at(&span, ""));
                return None;
            }
            Demand::Range { from, to }
        }
        (None, None, None, Some(why)) => Demand::Missing { why: why?.text, see },
        _ => {
            let help = if context.require.asks_a_range() {
                "write `from` and `to`, or `missing = \"why\"`"
            } else {
                "write `value`, or `missing = \"why\"`"
            };
            log.push(Diagnostic::error("no-limit", "this row says no limit").at(&span, "").help(help));
            return None;
        }
    };
    Some((demand, source?))
}

pub(super) fn read_value(node: &Node<'_>, context: &RowContext<'_>) -> Option<Demand> {
    if context.quantity.dimension == Dimension::Words {
        return read_words(node, context).map(Demand::Words);
    }
    if context.require.asks_a_range() {
        let message = format!("`{}` needs two ends", context.require.word());
        node.error("bad-range", message, "write { from = ..., to = ... }");
        return None;
    }
    read_number(node).map(Demand::Number)
}

/// Words that the quantity can find: a misspelt one would be found nowhere, and `none-of` it would always pass.
fn read_words(node: &Node<'_>, context: &RowContext<'_>) -> Option<Vec<String>> {
    let words = node.texts();
    if node.is_list() && words.is_empty() && matches!(context.require, Require::NoneOf | Require::SomeOf) {
        let message = format!("`{}` no word asks nothing", context.require.word());
        node.error("no-limit", message, "list the words, or write `missing = \"why\"`");
        return None;
    }
    if names_regions(context.quantity) {
        let known = words.iter().filter(|word| context.regions.named(word, node.log()).is_some()).count();
        return (known == words.len()).then(|| words.into_iter().map(|word| word.text).collect());
    }
    let known = vocabulary(context.quantity);
    let is_known = |word: &Text| {
        let fits = known.as_ref().is_none_or(|known| known.contains(&word.text.as_str()));
        if let (Some(known), false) = (&known, fits) {
            let message = format!("`{}` finds no `{}`", context.quantity.name, word.text);
            let near = nearest(&word.text, known).map(|near| format!("did you mean `{near}`? ")).unwrap_or_default();
            let error = Diagnostic::error("unknown-word", message).at(&word.span, "");
            node.log().push(error.help(format!("{near}one of: {}", known.join(", "))));
        }
        fits
    };
    let fitting = words.iter().filter(|word| is_known(word)).count();
    (fitting == words.len()).then(|| words.into_iter().map(|word| word.text).collect())
}

/// Whether the words of a quantity are the ids of colour regions.
pub(super) fn names_regions(quantity: &Quantity) -> bool {
    quantity.name == NAMES_REGIONS
}

/// The quantity whose words are the ids of colour regions.
pub(super) const NAMES_REGIONS: &str = "chromaticity-regions";

/// The regions that a demand names.
fn named_regions<'a>(demand: &Demand, context: &RowContext<'a>) -> Vec<&'a SourcedRegion> {
    match demand {
        Demand::Words(words) if names_regions(context.quantity) => {
            words.iter().filter_map(|word| context.regions.find(word)).collect()
        }
        _ => Vec::new(),
    }
}

/// Whether a quantity asks into which purpose a change leads.
fn leads_somewhere(quantity: &Quantity) -> bool {
    matches!(quantity.name, "states-not-ended-by-park-in" | "states-not-ended-by-park-out")
}

/// The words that a quantity can find, where they are not the names of colours, which are the catalogues' own.
fn vocabulary(quantity: &Quantity) -> Option<Vec<&'static str>> {
    match quantity.name {
        "roles-lit" => {
            let others = ROLES.iter().filter(|(_, role)| *role != Role::Warning);
            Some(others.map(|(word, _)| *word).collect())
        }
        "sounder-mount" => Some(Mount::WORDS.iter().map(|(word, _)| *word).collect()),
        name if name.starts_with("sounder-kinds-") => Some(SounderKind::WORDS.iter().map(|(word, _)| *word).collect()),
        "vehicle-lamp-troubles" => Some(vec!["dimmed", "flashed", "hidden", "taken-over", "turned-away"]),
        _ => None,
    }
}

/// A number that a requirement can ask (practice); margins are shares of it, and must stay finite.
fn read_number(node: &Node<'_>) -> Option<f64> {
    let number = node.number()?;
    if number != 0.0 && !(1e-9..=1e12).contains(&number.abs()) {
        node.error("out-of-range", "this limit cannot be meant", "check the figure, and the unit of the rule");
        return None;
    }
    Some(number)
}

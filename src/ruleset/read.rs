//! A ruleset file to a [`Ruleset`]: its head, to which vehicles it applies, its rules, what it leaves free.

use super::citation::Citations;
use super::device::{check_device, read_device};
use super::limits::{RowContext, example_row, names_regions, read_limits};
use super::listen::{check_listen, read_listen};
use super::regions::Regions;
use super::terms::read_protocol;
use super::{
    Applies, Citation, Condition, PRECEDENCES, Permission, Precedence, REQUIRES, Require, Rule, Ruleset, STRENGTHS,
    Strength,
};
use crate::diagnostic::{Diagnostic, Log};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, transpose};
use crate::measure::{Method, Protocol};
use crate::quantity::{self, Measure, QUANTITIES, Quantity, device_keys};
use crate::units::{Dimension, Length, Unit};

/// Reads a ruleset. Where the log has errors it is not fit to judge by: parts of it may be stand-ins.
pub(super) fn read_ruleset(mut top: Table<'_>, sha256: String) -> Option<Ruleset> {
    let log = top.log();
    let head = top.require("ruleset").and_then(|node| node.table()).and_then(Head::read);
    let citations = Citations::new(&mut top, None);
    let applies = top.get("applies").and_then(|node| node.table());
    let applies = applies.and_then(|table| read_applies(table, &citations));
    let mut conventions = Vec::new();
    let lacks: Vec<&'static str> = NEEDED.iter().map(|(key, _)| *key).filter(|key| !top.has(key)).collect();
    let protocol = read_protocol(&mut top, &citations, &mut conventions);
    let mut rules = top.tables("rule");
    let mut regions = Regions::default();
    regions.read_with(&mut top, &mut rules, &citations);
    let mut ids = Distinct::new("rules", log);
    let rules = rules.into_iter().filter_map(|table| read_rule(table, &protocol, &citations, &regions));
    let rules: Vec<Rule> = rules.filter(|rule| ids.is_new(&rule.id, &rule.span)).collect();
    for known in regions.iter().filter(|known| is_named(&known.region.id, &rules)) {
        let cite = Citation { basis: known.basis(), ..known.source.clone() };
        conventions.push((format!("region {}, {}", known.region.id, known.region.title), cite));
    }
    complain_of_lacks(&lacks, &rules, "this file", log);
    if rules.is_empty() && !log.has_errors() {
        let warning = Diagnostic::warning("no-rules", "this ruleset has no rule, so nothing is judged by it");
        log.push(warning.at(&top.span(), "").help("a rule is a table `[[rule]]`"));
    }
    let permitted =
        top.tables("permitted").into_iter().filter_map(|table| read_permission(table, &citations)).collect();
    top.finish();
    let Head { id, title, edition, defers_to, precedence, until, about } = head?;
    Some(Ruleset {
        id,
        title,
        edition,
        defers_to,
        precedence,
        until,
        about,
        sha256,
        applies,
        protocol,
        conventions,
        rules,
        permitted,
        regions,
        lacks,
        overlays: Vec::new(),
    })
}

/// Findings on several rulesets begin with these.
const RESERVED: [&str; 2] = ["conflict", "narrowed"];

/// Whether a limit names a colour region.
fn is_named(region: &str, rules: &[Rule]) -> bool {
    rules.iter().flat_map(|rule| &rule.limits).any(|limit| limit.regions.iter().any(|named| named.id == region))
}

type Needed = (&'static str, fn(&Quantity) -> bool);

/// Mounting rules that ask which zone a head faces.
const LOOK_AT_ZONES: [&str; 4] =
    ["distance-ahead-of-front-axle", "distance-behind-rear-axle", "largest-gap-along-side", "lowest-front-height"];

/// The tables that say how to look at a vehicle, and which quantities need them.
const NEEDED: [Needed; 3] = [
    ("zones", |quantity| {
        quantity.scope.zone
            || matches!(quantity.measure, Measure::Light { .. })
            || LOOK_AT_ZONES.contains(&quantity.name)
    }),
    ("flash", |quantity| {
        !names_regions(quantity)
            && !matches!(
                quantity.measure,
                Measure::Mounting(_) | Measure::Stated(_) | Measure::Power(_) | Measure::Sound(_)
            )
    }),
    ("signal", |quantity| matches!(quantity.measure, Measure::Light { .. })),
];

/// Says of each table that a ruleset lacks which rule needs it first. `whose` has no such table.
pub(super) fn complain_of_lacks(lacks: &[&str], rules: &[Rule], whose: &str, log: &Log) {
    for (key, needs) in NEEDED.iter().filter(|(key, _)| lacks.contains(key)) {
        if let Some(rule) = rules.iter().find(|rule| needs(rule.quantity)) {
            let message = format!("{whose} has no table `[{key}]`, and the rule `{}` needs it", rule.id);
            log.push(Diagnostic::error("missing-key", message).at(&rule.span, "this rule"));
        }
    }
}

/// What stands in `[ruleset]`.
struct Head {
    id: String,
    title: String,
    edition: String,
    defers_to: String,
    precedence: Precedence,
    until: Option<crate::load::reader::Date>,
    about: Option<String>,
}

impl Head {
    fn read(mut table: Table<'_>) -> Option<Self> {
        let id = table.require("id").and_then(|node| node.id());
        let mut text = |key| table.require(key).and_then(|node| node.text()).map(|text| text.text);
        let (title, edition, defers_to) = (text("title"), text("edition"), text("defers-to"));
        let precedence = table.get("precedence").map_or(Some(Precedence::Standard), |node| node.word(PRECEDENCES));
        let until = table.get("until").and_then(|node| node.date());
        let about = table.get("about").and_then(|node| node.text()).map(|text| text.text);
        let log = table.log();
        table.finish();
        let (id, title, edition, defers_to) = (id?, title?, edition?, defers_to?);
        if RESERVED.contains(&id.text.as_str()) {
            let message = format!("`{}` names what several rulesets ask together", id.text);
            let error = Diagnostic::error("reserved-name", message).at(&id.span, "");
            log.push(error.help("choose another id for this ruleset"));
            return None;
        }
        Some(Self { id: id.text, title, edition, defers_to, precedence: precedence?, until, about })
    }
}

fn read_applies(mut table: Table<'_>, citations: &Citations) -> Option<Applies> {
    let log = table.log();
    let when = table.require("when").and_then(|node| node.text());
    let source = citations.require(&mut table);
    table.finish();
    let when = when?;
    match Condition::parse(&when.text) {
        Ok(condition) => Some(Applies { when: condition, text: when.text, source }),
        Err(error) => {
            let span = when.part(error.at, error.len);
            let diagnostic = Diagnostic::error("bad-condition", error.message).at(&span, "");
            let diagnostic = match (error.help, error.unknown) {
                (Some(help), _) => diagnostic.help(help),
                (None, Some((name, known))) => diagnostic.nearest(&name, known.iter().map(String::as_str)),
                (None, None) => diagnostic.help("for example: vehicle.length >= 25 ft or any head.height > 8 ft"),
            };
            log.push(diagnostic);
            None
        }
    }
}

fn read_permission(table: Table<'_>, citations: &Citations) -> Option<Permission> {
    let mut table = table.named("[[permitted]]");
    let says = table.require("says").and_then(|node| node.text());
    let source = citations.require(&mut table);
    table.finish();
    Some(Permission { says: says?.text, source })
}

/// A rule of a ruleset, or one that an overlay adds.
pub(super) fn read_rule(
    mut table: Table<'_>,
    protocol: &Protocol,
    citations: &Citations,
    regions: &Regions,
) -> Option<Rule> {
    let log = table.log();
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("rule `{}`", id.text));
    }
    let says = table.require("says").and_then(|node| node.text());
    let quantity_node = table.require("quantity");
    let quantity = quantity_node.as_ref().and_then(read_quantity);
    let unit = table.require("unit").and_then(|node| read_unit(&node, quantity));
    let device_node = table.get("device");
    let device = device_node.as_ref().map(read_device);
    let listen_node = table.get("listen");
    let listen = listen_node.as_ref().map(read_listen);
    let method = table.get("method").map_or(Some(Method::Angular), |node| read_method(&node));
    let require_node = table.require("require");
    let require = require_node.as_ref().and_then(|node| node.word(REQUIRES));
    let strength = table.get("strength").map_or(Some(Strength::Required), |node| node.word(STRENGTHS));
    let rule_cite: Citation = citations.require(&mut table);
    let row = quantity.zip(require).map(|(quantity, require)| example_row(quantity, require, protocol));
    let row = row.unwrap_or_else(|| "{ value = 120 }".to_owned());
    let limits_node = table.require_like("limits", &format!("limits = [{row}]"));
    table.finish();
    let (quantity, require) = (quantity?, require?);
    if let (Some(node), false) = (&require_node, can_be_asked(require, quantity.dimension)) {
        let words = quantity.dimension == Dimension::Words;
        let help =
            if words { "only, none-of, some-of or exactly" } else { "at-least, at-most, between, outside or exactly" };
        let message = format!("`{}` cannot be asked of `{}`", require.word(), quantity.name);
        node.error("wrong-require", message, format!("write {help}"));
        return None;
    }
    if let (Some(node), true, false) = (&require_node, names_regions(quantity), require == Require::SomeOf) {
        let message = format!("`{}` looks at the regions that are listed alone", quantity.name);
        node.error("wrong-require", message, "write `require = \"some-of\"`");
        return None;
    }
    if let (Some(node), Some(Method::Ring { .. }), "least-off-plane-optical-power") =
        (&quantity_node, method, quantity.name)
    {
        let error = Diagnostic::error("no-off-plane-on-a-ring", "points beside the horizontal plane need directions");
        log.push(error.at(&node.span(), "").help("write `method = \"angular\"`"));
    }
    if let (Some(node), Some(Method::Angular), "light-at-eye-height") = (&quantity_node, method, quantity.name) {
        let error = Diagnostic::error("missing-key", "eyes at a height are somewhere on a ring, not in a direction");
        log.push(
            error
                .at(&node.span(), "")
                .help("for example method = { ring = { radius = \"100 ft\", height = \"4 ft\" } }"),
        );
    }
    let of_devices = matches!(quantity.measure, Measure::Device(_)) || device_keys(quantity).is_some();
    if let (Some(node), false) = (&device_node, of_devices) {
        let message = format!("`{}` does not look at single devices", quantity.name);
        node.error("wrong-scope", message, "leave `device` out");
    }
    let context = RowContext { protocol, quantity, require, citations, regions, rule_cite: &rule_cite };
    let limits = read_limits(&limits_node?, &context);
    let (id, says, unit) = (id?, says?.text, unit?);
    if matches!(id.text.as_str(), "applies" | "edition") {
        let error =
            Diagnostic::error("reserved-name", format!("`{}` already names a finding of every ruleset", id.text));
        log.push(error.at(&id.span, "").help("choose another id for this rule"));
        return None;
    }
    let (method, strength, device, listen) = (method?, strength?, transpose(device)?, transpose(listen)?);
    check_device(&id.span, device_node.as_ref(), &device.clone().unwrap_or_default(), quantity, log);
    check_listen(&id.span, listen_node.as_ref(), listen.as_ref(), quantity, &limits, log);
    Some(Rule { id: id.text, says, quantity, unit, method, device, listen, require, strength, limits, span: id.span })
}

fn read_quantity(node: &Node<'_>) -> Option<&'static quantity::Quantity> {
    let name = node.text()?;
    let found = quantity::find(&name.text);
    if found.is_none() {
        let error = Diagnostic::error("unknown-quantity", format!("there is no quantity `{}`", name.text));
        node.log().suggest(error.at(&name.span, ""), &name.text, QUANTITIES.iter().map(|known| known.name));
    }
    found
}

/// The unit of a rule's limits, which must fit its quantity where that is known.
fn read_unit(node: &Node<'_>, quantity: Option<&'static quantity::Quantity>) -> Option<Unit> {
    let symbol = node.text()?;
    let Some(unit) = Unit::parse(&symbol.text) else {
        let error = Diagnostic::error("unknown-unit", format!("`{}` is not a unit that is read here", symbol.text));
        let help = quantity.map(|quantity| format!("units that fit: {}", quantity.dimension.symbols()));
        let error = error.at(&symbol.span, "").help(help.unwrap_or_else(|| "write the unit of its limits".to_owned()));
        node.log().push(error);
        return None;
    };
    if let Some(quantity) = quantity.filter(|quantity| quantity.dimension != unit.dimension()) {
        let message = format!("`{unit}` does not fit `{}`, which is {}", quantity.name, quantity.dimension.name());
        let help = format!("units that fit: {}", quantity.dimension.symbols());
        node.error("wrong-dimension", message, help);
        return None;
    }
    Some(unit)
}

fn can_be_asked(require: Require, dimension: Dimension) -> bool {
    let words = dimension == Dimension::Words;
    match require {
        Require::AtLeast | Require::AtMost | Require::Between | Require::Outside => !words,
        Require::Only | Require::NoneOf | Require::SomeOf => words,
        Require::Exactly => true,
    }
}

/// `"angular"`, or `{ ring = { radius, height } }`.
pub(crate) fn read_method(node: &Node<'_>) -> Option<Method> {
    if node.is_text() {
        return node.word(&[("angular", Method::Angular)]);
    }
    let mut table = node.table()?.named("`method`");
    let ring = table.require("ring").and_then(|node| node.table());
    table.finish();
    let mut ring = ring?;
    let radius = ring.require("radius").and_then(|node| node.positive::<Length>());
    let height = ring.require("height").and_then(|node| {
        let height: Length = node.quantity()?;
        if height < Length::ZERO {
            node.error("below-ground", "a height below the ground cannot be", "measure from level ground up");
        }
        Some(height)
    });
    ring.finish();
    Some(Method::Ring { radius: radius?, height: height? })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Log, Sources};
    use crate::load::reader::document;
    use crate::ruleset::{Basis, Demand, Origin};

    const TERMS: &str = r#"
format = 1
[ruleset]
id = "yard"
title = "Yard rules"
edition = "1"
defers-to = "the authority having jurisdiction"
[[document]]
id = "letter"
title = "A letter"
edition = "7"
[zones]
cite = { own = "a yard has one zone" }
origin = "vehicle-centre"
step = "5 deg"
boundary-points = "first"
sectors = { round = ["0 deg", "360 deg"] }
[flash]
cite = { own = "as the yard counts" }
dark-at-least = "160 ms"
lit-above = "10 %"
rate = "count-over-time"
[signal]
cite = { own = "as the yard sees" }
at-least = "100 cd.s/min"
colour-in-zone = "axis"
[[rule]]
id = "rate"
says = "No head flashes at a rate that unsettles the yard's horses."
quantity = "flash-rate"
unit = "/min"
require = "outside"
cite = { own = "the stable says so" }
"#;

    /// The ruleset, and the codes of what was wrong.
    fn read(tail: &str) -> (Option<Ruleset>, Vec<String>) {
        let (sources, log) = (Sources::default(), Log::default());
        let text = format!("{TERMS}{tail}");
        let source = sources.add("yard.toml", &text);
        let ruleset = document(&text, source, &log, |top| read_ruleset(top, String::new()));
        (ruleset, log.take().iter().map(|said| said.code.to_string()).collect())
    }

    const RANGE: &str = r#"limits = [{ purpose = "calling", from = 300, to = 1800 }]"#;

    #[test]
    fn a_range_that_is_not_wanted_is_read_as_a_range() {
        let (ruleset, said) = read(RANGE);
        assert_eq!(said, [""; 0]);
        let rules = ruleset.unwrap().rules;
        assert_eq!(rules[0].require, Require::Outside);
        assert_eq!(rules[0].limits[0].demand, Demand::Range { from: 300.0, to: 1800.0 });
        let single = read(r#"limits = [{ purpose = "calling", value = 300 }]"#);
        assert_eq!(single.1, ["bad-range"]);
        let turned = read(r#"limits = [{ purpose = "calling", from = 1800, to = 300 }]"#);
        assert_eq!(turned.1, ["bad-range"]);
    }

    #[test]
    fn what_is_left_free_is_kept_with_its_source() {
        let free = r#"
[[permitted]]
says = "One lamp may serve both uses."
cite = { document = "letter", clause = "line 3", basis = "read" }
[[permitted]]
says = "A lamp may be left out."
cite = { own = "nobody has asked for it yet" }
"#;
        let (ruleset, said) = read(&format!("{RANGE}{free}"));
        assert_eq!(said, [""; 0]);
        let permitted = ruleset.unwrap().permitted;
        assert_eq!(permitted.len(), 2);
        assert_eq!(permitted[0].says, "One lamp may serve both uses.");
        let Origin::Document { title, edition, clause } = &permitted[0].source.origin else { panic!("{permitted:?}") };
        assert_eq!((title.as_str(), edition.as_str(), clause.as_str()), ("A letter", "7", "line 3"));
        assert_eq!((permitted[0].source.basis, permitted[1].source.basis), (Basis::Read, Basis::Practice));
    }

    #[test]
    fn a_permission_without_words_or_source_is_a_mistake() {
        let nothing = read(&format!("{RANGE}\n[[permitted]]\nwhen = \"always\"\n"));
        assert_eq!(nothing.1, ["missing-key", "missing-key", "unknown-key"]);
        let unknown = "[[permitted]]\nsays = \"x\"\ncite = { document = \"memo\", clause = \"1\", basis = \"read\" }\n";
        assert_eq!(read(&format!("{RANGE}\n{unknown}")).1, ["unknown-document"]);
    }
}

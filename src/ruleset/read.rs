//! Ruleset files to [`Ruleset`]s: finds them, reads their tables, checks units and scopes.

use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::citation::{Citations, valued};
use super::limits::{RowContext, read_limits};
use super::{Applies, Citation, Condition, REQUIRES, Require, Rule, Ruleset, Strength, overlay, shipped};
use crate::diagnostic::{Diagnostic, Log, SourceId, Sources, Span};
use crate::flash::RateBy;
use crate::load::files::{read_file, read_inside};
use crate::load::reader::{Node, Table, Text, document, without_mark};
use crate::measure::{BoundaryPoints, ColourInZone, FlashTerms, Level, Method, Protocol, Signal, Zones};
use crate::quantity::{self, QUANTITIES};
use crate::units::{Degrees, Dimension, Length, Micros, OpticalPower, Share, Unit, Volt};

/// An overlay that changed a ruleset.
#[derive(Clone, Debug, PartialEq)]
pub struct Overlaid {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Which edition.
    pub edition: String,
    /// By whose authority.
    pub authority: String,
    /// In which letter.
    pub reference: String,
    /// SHA-256 of the file, in hex.
    pub sha256: String,
}

/// Finds and reads rulesets and overlays.
#[derive(Debug)]
pub struct Loader<'a> {
    /// Where texts are kept.
    pub sources: &'a Sources,
    /// Where mistakes go.
    pub log: &'a Log,
    /// Folders that a package's own files may lie in.
    pub folders: Vec<PathBuf>,
    /// What was asked for so far.
    pub rulesets: Vec<Ruleset>,
}

/// A ruleset file that was found.
struct Found {
    text: String,
    name: String,
    folder: Option<PathBuf>,
}

impl<'a> Loader<'a> {
    /// A loader that looks in `folders` for what packages name.
    pub fn new(sources: &'a Sources, log: &'a Log, folders: Vec<PathBuf>) -> Self {
        Self { sources, log, folders, rulesets: Vec::new() }
    }

    /// Adds a ruleset that a package names: a shipped one, or a file beside the package.
    pub fn add_named(&mut self, name: &Text) {
        let found = self.find(&name.text, Some(&name.span), None);
        self.add(found);
    }

    /// Adds a ruleset from the command line: a shipped one, or a file anywhere.
    pub fn add_anywhere(&mut self, name: &str) {
        let found = self.find(name, None, Some(Path::new("")));
        self.add(found);
    }

    /// `anywhere`: a folder that a path may start from without limits; otherwise it stays in the package's folders.
    fn find(&self, name: &str, span: Option<&Span>, anywhere: Option<&Path>) -> Option<Found> {
        if let Some(text) = shipped::find(name) {
            return Some(Found { text: text.to_owned(), name: format!("{name} (shipped)"), folder: None });
        }
        let looks_like_file =
            name.contains(['/', '\\']) || Path::new(name).extension().is_some_and(|end| end == "toml");
        let at = |mut diagnostic: Diagnostic| {
            if let (Some(span), true) = (span, diagnostic.labels.is_empty()) {
                diagnostic = diagnostic.at(span, "named here");
            }
            self.log.push(diagnostic);
        };
        if !looks_like_file {
            let error = Diagnostic::error("unknown-ruleset", format!("there is no ruleset `{name}`"));
            let error = error.help("shipped rulesets go by name, others by a path that ends in .toml");
            at(error.nearest(name, shipped::SHIPPED.iter().map(|(id, _)| *id)));
            return None;
        }
        let read = match anywhere {
            Some(folder) => {
                let path = folder.join(name);
                read_file(&path, name).map(|bytes| (bytes, path))
            }
            None => read_inside(name, &self.folders).map(|file| (file.bytes, file.path)),
        };
        let (bytes, path) = match read {
            Ok(read) => read,
            Err(error) => {
                at(error.diagnostic(span));
                return None;
            }
        };
        match String::from_utf8(bytes) {
            Ok(text) => {
                let folder = Some(path.parent().map_or_else(PathBuf::new, Path::to_path_buf));
                Some(Found { text, name: path.display().to_string(), folder })
            }
            Err(_) => {
                at(Diagnostic::error("not-text", format!("`{name}` is not UTF-8 text")));
                None
            }
        }
    }

    fn add(&mut self, found: Option<Found>) {
        let Some(found) = found else { return };
        let text = without_mark(&found.text);
        let source = self.sources.add(&found.name, text);
        let sha256: String = Sha256::digest(found.text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect();
        let log = self.log;
        document(text, source, log, |mut top| {
            if top.has("overlay") {
                let overlay = overlay::Overlay::begin(&mut top, sha256)?;
                let base = self.base_of(&overlay, found.folder.as_deref())?;
                let ruleset = self.rulesets.get_mut(base)?;
                overlay.apply(top, ruleset);
                return Some(());
            }
            let ruleset = read_ruleset(top, source, sha256)?;
            if self.rulesets.iter().any(|known| known.id == ruleset.id) {
                let warning = Diagnostic::warning("double-ruleset", format!("`{}` is asked for twice", ruleset.id));
                log.push(warning.in_file(found.name.clone()).help("it is judged once"));
            } else {
                self.rulesets.push(ruleset);
            }
            Some(())
        });
    }

    /// The ruleset an overlay extends, read now if it has not been asked for.
    fn base_of(&mut self, overlay: &overlay::Overlay, folder: Option<&Path>) -> Option<usize> {
        let name = &overlay.extends;
        let known = |rulesets: &[Ruleset], id: &str| rulesets.iter().position(|ruleset| ruleset.id == id);
        if let Some(at) = known(&self.rulesets, &name.text) {
            return Some(at);
        }
        let before = self.rulesets.len();
        let base = self.find(&name.text, Some(&name.span), folder);
        self.add(base);
        (self.rulesets.len() > before).then_some(before)
    }
}

fn read_ruleset(mut top: Table<'_>, _source: SourceId, sha256: String) -> Option<Ruleset> {
    let log = top.log();
    let mut head = top.require("ruleset")?.table()?;
    let id = head.require("id").and_then(|node| node.id());
    let mut text = |key| head.require(key).and_then(|node| node.text()).map(|text| text.text);
    let (title, edition, defers_to) = (text("title"), text("edition"), text("defers-to"));
    let until = head.get("until").and_then(|node| node.date());
    head.finish();
    let documents = Citations::read_documents(&mut top);
    let citations = Citations { documents, authority: None };
    let mut conventions = Vec::new();
    let applies = top.get("applies").and_then(|node| node.table()).map(|table| read_applies(table, &citations));
    let zones = top.require("zones").and_then(|node| node.table());
    let zones = zones.and_then(|table| read_zones(table, &citations, &mut conventions));
    let levels = top.get("levels").and_then(|node| node.table());
    let levels = levels.map_or(Some(Vec::new()), |table| read_levels(table, &citations, &mut conventions));
    let flash = top.require("flash").and_then(|node| node.table());
    let flash = flash.and_then(|table| read_flash(table, &citations, &mut conventions));
    let signal = top.require("signal").and_then(|node| node.table());
    let signal = signal.and_then(|table| read_signal(table, &citations, &mut conventions));
    let (zones, voltage) = zones?;
    let protocol = Protocol { zones, levels: levels?, flash: flash?, signal: signal?, voltage };
    let mut rules: Vec<Rule> = Vec::new();
    for rule in top.tables("rule").into_iter().filter_map(|table| read_rule(table, &protocol, &citations)) {
        match rules.iter().find(|earlier| earlier.id == rule.id) {
            Some(first) => {
                let error = Diagnostic::error("double-id", format!("two rules are called `{}`", rule.id));
                log.push(error.at(&rule.span, "this one").at(&first.span, "and this one"));
            }
            None => rules.push(rule),
        }
    }
    top.finish();
    let applies = match applies {
        Some(applies) => Some(applies?),
        None => None,
    };
    Some(Ruleset {
        id: id?.text,
        title: title?,
        edition: edition?,
        defers_to: defers_to?,
        until,
        sha256,
        applies,
        protocol,
        conventions,
        rules,
        overlays: Vec::new(),
    })
}

fn read_applies(mut table: Table<'_>, citations: &Citations) -> Option<Applies> {
    let when = table.require("when").and_then(|node| node.text());
    let source = citations.require(&mut table);
    let log = table.log();
    table.finish();
    let when = when?;
    match Condition::parse(&when.text) {
        Ok(condition) => Some(Applies { when: condition, text: when.text, source: source? }),
        Err(error) => {
            // The text starts one byte into the value: behind its quotation mark.
            let start = when.span.range.start + 1 + error.at;
            let span = Span { source: when.span.source, range: start..start + error.len };
            log.push(Diagnostic::error("bad-condition", error.message).at(&span, ""));
            None
        }
    }
}

type Conventions = Vec<(String, Citation)>;

fn read_zones(mut table: Table<'_>, citations: &Citations, said: &mut Conventions) -> Option<(Zones, Option<Volt>)> {
    let log = table.log();
    let span = table.span();
    let cite = citations.require(&mut table);
    table.require("origin").and_then(|node| node.word(&[("vehicle-centre", ())]));
    let step = table.require("step");
    let off_plane = table.get("off-plane");
    let boundary = table.require("boundary-points");
    let voltage = table.get("voltage");
    let sectors = table.require("sectors").and_then(|node| node.table());
    table.finish();
    let cite = cite?;
    let step = valued("step between points", &step?, citations, &cite, said, |node| {
        node.positive::<Degrees>(Dimension::Angle)
    });
    let angles = |node: &Node<'_>| -> Option<Vec<Degrees>> {
        let list = node.list();
        Some(list.iter().filter_map(|node| node.quantity(Dimension::Angle)).collect())
    };
    let off_plane = match off_plane {
        Some(node) => valued("points beside the horizontal plane", &node, citations, &cite, said, angles),
        None => Some(Vec::new()),
    };
    let words =
        [("both", BoundaryPoints::Both), ("first", BoundaryPoints::First), ("unknown", BoundaryPoints::Unknown)];
    let boundary = valued("boundary points", &boundary?, citations, &cite, said, |node| node.word(&words));
    let voltage = match voltage {
        Some(node) => Some(valued("test voltage", &node, citations, &cite, said, |node| {
            node.positive::<Volt>(Dimension::Voltage)
        })?),
        None => None,
    };
    let mut named = Vec::new();
    for (name, node) in sectors?.entries() {
        let limits = angles(&node)?;
        match limits.as_slice() {
            [from, to] => named.push((name.text, *from, *to)),
            _ => {
                node.error("bad-sector", "a sector has two limits, clockwise", "for example [\"-45 deg\", \"45 deg\"]")
            }
        }
    }
    said.push(("zones".to_owned(), cite));
    match Zones::new(named, step?, off_plane?, boundary?) {
        Ok(zones) => Some((zones, voltage)),
        Err(error) => {
            log.push(Diagnostic::error("bad-zones", error).at(&span, ""));
            None
        }
    }
}

fn read_levels(mut table: Table<'_>, citations: &Citations, said: &mut Conventions) -> Option<Vec<Level>> {
    let cite = citations.require(&mut table)?;
    let mut levels = Vec::new();
    for (name, node) in table.entries().into_iter().filter(|(name, _)| name.text != "cite") {
        let mut band = node.table()?;
        let mut height = |key| band.get(key).map(|node| node.quantity::<Length>(Dimension::Length));
        let (from, above, to) = (height("from"), height("above"), height("to"));
        let source = citations.refine(&mut band, &cite);
        band.finish();
        let known = |height: Option<Option<Length>>| height.map_or(Some(None), |height| height.map(Some));
        said.push((format!("level {}", name.text), source?));
        levels.push(Level { name: name.text, from: known(from)?, above: known(above)?, to: known(to)? });
    }
    Some(levels)
}

fn read_flash(mut table: Table<'_>, citations: &Citations, said: &mut Conventions) -> Option<FlashTerms> {
    let cite = citations.require(&mut table);
    let (dark, lit, rate) = (table.require("dark-at-least"), table.require("lit-above"), table.require("rate"));
    table.finish();
    let cite = cite?;
    let words = [("count-over-time", RateBy::CountOverTime), ("mean-of-cycles", RateBy::MeanOfCycles)];
    let dark = valued("dark time that ends a flash", &dark?, citations, &cite, said, |node| {
        node.positive::<Micros>(Dimension::Time)
    });
    let lit = valued("lit means above", &lit?, citations, &cite, said, |node| node.quantity::<Share>(Dimension::Share));
    let rate = valued("way of counting a rate", &rate?, citations, &cite, said, |node| node.word(&words));
    Some(FlashTerms { dark_at_least: dark?, lit_above: lit?, rate: rate? })
}

fn read_signal(mut table: Table<'_>, citations: &Citations, said: &mut Conventions) -> Option<Signal> {
    let cite = citations.require(&mut table);
    let (at_least, colour) = (table.require("at-least"), table.require("colour-in-zone"));
    table.finish();
    let cite = cite?;
    let at_least = valued("signal", &at_least?, citations, &cite, said, |node| {
        node.positive::<OpticalPower>(Dimension::OpticalPower)
    });
    let words = [("axis", ColourInZone::Axis), ("light", ColourInZone::Light)];
    let colour = valued("colour in a zone", &colour?, citations, &cite, said, |node| node.word(&words));
    Some(Signal { at_least: at_least?, colour_in_zone: colour? })
}

fn read_rule(table: Table<'_>, protocol: &Protocol, citations: &Citations) -> Option<Rule> {
    let mut table = table;
    let log = table.log();
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("rule `{}`", id.text));
    }
    let says = table.require("says").and_then(|node| node.text());
    let quantity = table.require("quantity").and_then(|node| node.text());
    let unit = table.require("unit").and_then(|node| node.text());
    let method = table.get("method").map_or(Some(Method::Angular), |node| read_method(&node));
    let require_node = table.require("require");
    let require = require_node.as_ref().and_then(|node| node.word(REQUIRES));
    let strengths = [("required", Strength::Required), ("advice", Strength::Advice)];
    let strength = table.get("strength").map_or(Some(Strength::Required), |node| node.word(&strengths));
    let cite = citations.require(&mut table);
    let limits = table.require("limits");
    table.finish();
    let (quantity, unit) = (quantity?, unit?);
    let Some(found) = quantity::find(&quantity.text) else {
        let error = Diagnostic::error("unknown-quantity", format!("there is no quantity `{}`", quantity.text));
        let known = QUANTITIES.iter().map(|known| known.name);
        log.push(error.at(&quantity.span, "").nearest(&quantity.text, known));
        return None;
    };
    let Some(unit) = Unit::parse(&unit.text).filter(|unit| unit.dimension() == found.dimension) else {
        let message = format!("`{}` does not fit `{}`, which is {}", unit.text, found.name, found.dimension.name());
        let error = Diagnostic::error("wrong-dimension", message).at(&unit.span, "");
        log.push(error.help(format!("units that fit: {}", found.dimension.symbols())));
        return None;
    };
    let (require, method) = (require?, method?);
    let words = found.dimension == Dimension::Words;
    let fits = match require {
        Require::AtLeast | Require::AtMost | Require::Between => !words,
        Require::Only | Require::NoneOf | Require::SomeOf => words,
        Require::Exactly => true,
    };
    if let (false, Some(node)) = (fits, &require_node) {
        let help = if words { "only, none-of, some-of or exactly" } else { "at-least, at-most, between or exactly" };
        let message = format!("`{}` cannot be asked of `{}`", require.word(), found.name);
        node.error("wrong-require", message, format!("write {help}"));
        return None;
    }
    if method != Method::Angular && found.name == "least-off-plane-optical-power" {
        let error = Diagnostic::error("no-off-plane-on-a-ring", "points beside the horizontal plane need directions");
        log.push(error.at(&quantity.span, "").help("write `method = \"angular\"`"));
        return None;
    }
    let rule_cite = cite?;
    let context = RowContext { protocol, quantity: found, require, citations, rule_cite: &rule_cite };
    let limits = read_limits(&limits?, &context);
    let id = id?;
    Some(Rule {
        id: id.text,
        says: says?.text,
        quantity: found,
        unit,
        method,
        require,
        strength: strength?,
        limits,
        span: id.span,
    })
}

/// `"angular"`, or `{ ring = { radius, height } }`.
fn read_method(node: &Node<'_>) -> Option<Method> {
    if node.is_text() {
        return node.word(&[("angular", Method::Angular)]);
    }
    let mut table = node.table()?.named("`method`");
    let mut ring = table.require("ring")?.table()?;
    let radius = ring.require("radius").and_then(|node| node.positive::<Length>(Dimension::Length));
    let height = ring.require("height").and_then(|node| node.quantity::<Length>(Dimension::Length));
    ring.finish();
    table.finish();
    Some(Method::Ring { radius: radius?, height: height? })
}

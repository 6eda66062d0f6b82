//! Colour regions as files state them: `[[region]]` with edges or a union, each edge with its source. Those that come
//! with the tool stand in `rulesets/colour-regions.toml`; a ruleset may add its own.

use std::collections::HashSet;
use std::sync::Arc;

use super::citation::Citations;
use super::limits::NAMES_REGIONS;
use super::{Basis, Citation};
use crate::colour::{Chromaticity, EdgeTerms, Line, Locus, Path, Region, RegionError};
use crate::diagnostic::{Diagnostic, Log, Sources, Span};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text, document};

const SHIPPED: &str = include_str!("../../rulesets/colour-regions.toml");

/// An edge that is a piece of the spectral locus is called so.
const LOCUS: &str = "spectral locus";

/// A region with more edges is a mistake of the file, and testing whether edges cross takes their number squared.
const MOST_EDGES: usize = 64;

/// Regions by name.
#[derive(Clone, Debug, Default)]
pub struct Regions {
    known: Vec<SourcedRegion>,
    /// Those whose own mistakes have been reported.
    broken: HashSet<String>,
}

/// A region with where it comes from.
#[derive(Clone, Debug)]
pub struct SourcedRegion {
    /// The region.
    pub region: Arc<Region>,
    /// Where the region as a whole comes from.
    pub source: Citation,
    /// Where each edge comes from.
    pub edges: Vec<Citation>,
}

impl SourcedRegion {
    /// How its least known edge is known.
    pub fn basis(&self) -> Basis {
        self.edges.iter().map(|cite| cite.basis).fold(self.source.basis, Basis::max)
    }
}

impl Regions {
    /// Those that come with the tool.
    pub fn shipped(log: &Log) -> Self {
        // A test sees to it that nothing is said of this text, so nothing points into it.
        let source = Sources::default().add("colour-regions (shipped)", SHIPPED);
        let mut regions = Self::default();
        document(SHIPPED, source, log, |mut top| {
            let citations = Citations::new(&mut top, None);
            regions.read(&mut top, &citations);
            top.finish();
            Some(())
        });
        regions
    }

    /// All of them, in the order of the files.
    pub fn iter(&self) -> impl Iterator<Item = &SourcedRegion> {
        self.known.iter()
    }

    /// The region called so.
    pub fn find(&self, id: &str) -> Option<&SourcedRegion> {
        self.known.iter().find(|known| known.region.id == id)
    }

    /// The region that a file names; an unknown name is reported.
    pub fn named(&self, name: &Text, log: &Log) -> Option<&SourcedRegion> {
        let found = self.find(&name.text);
        if found.is_none() && !self.broken.contains(&name.text) {
            let error = Diagnostic::error("unknown-region", format!("there is no colour region `{}`", name.text));
            let known = self.known.iter().map(|known| known.region.id.as_str());
            log.suggest(error.at(&name.span, "named here"), &name.text, known);
        }
        found
    }

    /// Adds each `[[region]]` of a file with these rules; the regions that come with the tool are read only where any
    /// are needed.
    pub(super) fn read_with(&mut self, top: &mut Table<'_>, rules: &mut [Table<'_>], citations: &Citations) {
        let is_asked = |node: Node<'_>| node.is_text() && node.text().is_some_and(|name| name.text == NAMES_REGIONS);
        let asked = rules.iter_mut().any(|rule| rule.get("quantity").is_some_and(is_asked));
        if self.known.is_empty() && (asked || top.has("region")) {
            *self = Self::shipped(top.log());
        }
        self.read(top, citations);
    }

    fn read(&mut self, top: &mut Table<'_>, citations: &Citations) {
        let log = top.log();
        let locus = Locus::cie_1931();
        let mut ids = Distinct::new("colour regions", log);
        for table in top.tables("region") {
            let (id, region) = self.read_region(table, citations, &locus);
            let Some(id) = id.filter(|id| ids.keeps(id)) else { continue };
            if self.find(&id.text).is_some() {
                let error = Diagnostic::error("double-id", format!("there is a colour region `{}` already", id.text));
                log.push(error.at(&id.span, "").help("give your region an id of its own"));
                continue;
            }
            match region {
                Some(region) => self.known.push(region),
                None => {
                    self.broken.insert(id.text);
                }
            }
        }
    }

    fn read_region(
        &self,
        mut table: Table<'_>,
        citations: &Citations,
        locus: &Locus,
    ) -> (Option<Text>, Option<SourcedRegion>) {
        let log = table.log();
        let id = table.require("id").and_then(|node| node.id());
        if let Some(id) = &id {
            table = table.named(format!("region `{}`", id.text));
        }
        let title = table.require("title").and_then(|node| node.text());
        let source = citations.require(&mut table);
        let (edges, union) = (table.get("edges"), table.get("union"));
        let span = table.span();
        table.finish();
        let name = id.as_ref().map(|id| id.text.clone()).unwrap_or_default();
        let title = title.map(|title| title.text);
        let read = match (edges, union) {
            (Some(edges), None) => {
                let read = read_edges(&edges, citations, &source);
                read.and_then(|edges| enclosed(name, title?, &edges, locus, &span, log))
            }
            (None, Some(union)) => self.read_union(&union, name, title),
            _ => {
                let error = Diagnostic::error("no-edges", "a region has either `edges` or a `union`");
                log.push(error.at(&span, "").help("union = [\"one\", \"other\"] is what lies in any of them"));
                None
            }
        };
        let region = read.map(|(region, edges)| SourcedRegion { region: Arc::new(region), source, edges });
        (id, region)
    }

    fn read_union(&self, node: &Node<'_>, id: String, title: Option<String>) -> Option<(Region, Vec<Citation>)> {
        let names = node.texts();
        let parts: Vec<&SourcedRegion> = names.iter().filter_map(|name| self.named(name, node.log())).collect();
        if parts.len() < names.len() {
            return None;
        }
        let shapes: Vec<&Region> = parts.iter().map(|part| &*part.region).collect();
        let edges = parts.iter().flat_map(|part| part.edges.iter().cloned()).collect();
        let Some(region) = Region::union(id, title?, &shapes) else {
            node.error("no-edges", "this union joins nothing", "name at least one region");
            return None;
        };
        Some((region, edges))
    }
}

/// An edge as it is read, with its source and its place.
struct SourcedEdge {
    terms: EdgeTerms,
    source: Citation,
    span: Span,
}

fn read_edges(node: &Node<'_>, citations: &Citations, source: &Citation) -> Option<Vec<SourcedEdge>> {
    let list = node.list();
    if list.len() > MOST_EDGES {
        node.error("too-many", format!("a region has at most {MOST_EDGES} edges"), "join edges on one line");
        return None;
    }
    let edges: Vec<Option<SourcedEdge>> = list.iter().map(|node| read_edge(node, citations, source)).collect();
    edges.into_iter().collect()
}

fn read_edge(node: &Node<'_>, citations: &Citations, source: &Citation) -> Option<SourcedEdge> {
    let mut table = node.table()?.named("this edge");
    let span = table.span();
    let log = table.log();
    let (line, along) = (table.get("line"), table.get("along"));
    let path = match (&line, &along) {
        (Some(line), None) => read_line(line).map(Path::Straight),
        (None, Some(along)) => along.word(&[("spectral-locus", Path::Locus)]),
        _ => {
            let error = Diagnostic::error("no-edge", "an edge has either a `line` or runs `along` the spectral locus");
            let help = "line = \"y = 0.980 - x\", or along = \"spectral-locus\"";
            log.push(error.at(&span, "").help(help));
            None
        }
    };
    let name = if along.is_some() { table.get("name") } else { table.require("name") };
    let name = match name {
        Some(node) => node.text().map(|name| name.text),
        None => Some(LOCUS.to_owned()).filter(|_| along.is_some()),
    };
    let from = table.require("from").and_then(|node| read_corner(&node));
    let source = citations.refine(&mut table, source);
    table.finish();
    Some(SourcedEdge { terms: EdgeTerms { name: name?, path: path?, from: from? }, source: source?, span })
}

fn read_line(node: &Node<'_>) -> Option<Line> {
    let text = node.text()?;
    let read = Line::parse(&text.text);
    read.map_err(|error| node.error("bad-line", error.to_string(), "for example y = 0.980 - x, or x = 0.310")).ok()
}

fn read_corner(node: &Node<'_>) -> Option<Chromaticity> {
    let list = node.list();
    let values: Vec<f64> = list.iter().filter_map(Node::number).collect();
    match values.as_slice() {
        [x, y] if (0.0..=1.0).contains(x) && (0.0..=1.0).contains(y) => Some(Chromaticity { x: *x, y: *y }),
        // What is no number has been reported.
        _ if node.is_list() && values.len() == list.len() => {
            node.error("bad-corner", "this is no corner in the x, y diagram", "write `[x, y]`, each from 0 to 1");
            None
        }
        _ => None,
    }
}

/// The region within the edges, or the error at the edges that do not fit.
fn enclosed(
    id: String,
    title: String,
    edges: &[SourcedEdge],
    locus: &Locus,
    span: &Span,
    log: &Log,
) -> Option<(Region, Vec<Citation>)> {
    let terms: Vec<EdgeTerms> = edges.iter().map(|edge| edge.terms.clone()).collect();
    let error = match Region::new(id, title, &terms, locus) {
        Ok(region) => return Some((region, edges.iter().map(|edge| edge.source.clone()).collect())),
        Err(error) => error,
    };
    let place = |edge: usize| edges.get(edge).map_or(span, |edge| &edge.span);
    let said = error.to_string();
    log.push(match &error {
        RegionError::Empty => {
            let help = "an edge begins where the one before it ends, and two lines and the locus enclose something";
            Diagnostic::error("empty-region", said).at(span, "").help(help)
        }
        RegionError::Open { edge, meet, .. } => {
            let error = Diagnostic::error("open-region", said).at(place(*edge), "begins here");
            let before = edge.checked_sub(1).unwrap_or(edges.len().saturating_sub(1));
            let error = error.at(place(before), "the edge before it");
            match meet {
                Some(meet) => {
                    error.help(format!("they meet at ({:.4}, {:.4}): check `from` and both lines", meet.x, meet.y))
                }
                None => error.help("they meet nowhere: check both, and the order of the edges"),
            }
        }
        RegionError::Crossing { edge, other, .. } => Diagnostic::error("crossing-edges", said)
            .at(place(*other), "this edge")
            .at(place(*edge), "and this one")
            .help("list the edges in the order in which they lead round the region"),
    });
    None
}

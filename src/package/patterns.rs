//! Flash patterns: a period and its pulses, every mistake of a pattern at once.

use std::collections::{HashMap, HashSet};

use super::{Pattern, STEADY};
use crate::diagnostic::{Diagnostic, Log};
use crate::flash::{Pulse, Timeline};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table};
use crate::units::{Micros, Share};

/// More pulses than this in one period are a mistake of the file, not a pattern.
const MOST_PULSES: usize = 1000;

/// The patterns of a package, and the names of those whose own mistakes have been reported.
pub(super) struct Patterns {
    pub kept: Vec<Pattern>,
    pub by_id: HashMap<String, usize>,
    pub broken: HashSet<String>,
}

pub(super) fn read_patterns(tables: Vec<Table<'_>>, log: &Log) -> Patterns {
    let mut patterns = Patterns { kept: Vec::new(), by_id: HashMap::new(), broken: HashSet::new() };
    let mut ids = Distinct::new("patterns", log);
    for mut table in tables {
        let id = table.require("id").and_then(|node| node.id());
        if let Some(id) = &id {
            table = table.named(format!("pattern `{}`", id.text));
            if id.text == STEADY {
                let error = Diagnostic::error("reserved-name", "`steady` already means lit all the time");
                log.push(error.at(&id.span, "").help("choose another id for this pattern"));
            }
        }
        let name = id.as_ref().map_or("", |id| id.text.as_str());
        let index = table.get("index").and_then(|node| node.text()).map(|text| text.text);
        let timeline = read_timeline(table, name);
        let Some(id) = id.filter(|id| ids.keeps(id)) else { continue };
        match timeline {
            Some(timeline) => {
                patterns.by_id.insert(id.text.clone(), patterns.kept.len());
                patterns.kept.push(Pattern { id: id.text, timeline, index });
            }
            None => {
                patterns.broken.insert(id.text);
            }
        }
    }
    patterns
}

fn read_timeline(mut table: Table<'_>, name: &str) -> Option<Timeline> {
    let log = table.log();
    let period_node = table.require("period");
    let period = period_node.as_ref().and_then(|node| node.positive::<Micros>());
    let pulses_node = table.require("pulses");
    table.finish();
    let pulses_node = pulses_node?;
    let nodes = pulses_node.list();
    if nodes.len() > MOST_PULSES {
        let message = format!("pattern `{name}` has {} pulses; up to {MOST_PULSES} are read", nodes.len());
        pulses_node.error("too-many-pulses", message, "write one period of the pattern");
        return None;
    }
    let pulses: Vec<Option<Pulse>> = nodes.iter().map(read_pulse).collect();
    let (period, period_node) = (period?, period_node?);
    let pulses: Vec<Pulse> = pulses.into_iter().collect::<Option<_>>()?;
    for mistake in Timeline::mistakes(period, &pulses) {
        let mut error = Diagnostic::error("bad-pattern", format!("pattern `{name}`: {mistake}"));
        for node in mistake.pulses().iter().filter_map(|at| nodes.get(*at)) {
            error = error.at(&node.span(), "this pulse");
        }
        if pulses.is_empty() {
            error = error.at(&pulses_node.span(), "no pulse here");
        }
        error = error.at(&period_node.span(), "the period");
        log.push(error.help("pulses are [start, end], apart from each other and inside one period"));
    }
    Timeline::new(period, pulses).ok()
}

/// `["0 ms", "50 ms"]`, or with a level, `["0 ms", "50 ms", "60 %"]`.
fn read_pulse(node: &Node<'_>) -> Option<Pulse> {
    let parts = if node.is_list() { node.list() } else { Vec::new() };
    match parts.as_slice() {
        [start, end, level @ ..] if level.len() <= 1 => {
            let start = start.quantity::<Micros>();
            let end = end.quantity::<Micros>();
            let level = level.first().map_or(Some(Share::new(1.0)), |node| node.positive());
            Some(Pulse { start: start?, end: end?, level: level? })
        }
        _ => {
            node.error("bad-pulse", "a pulse is a list of its start and its end", "for example [\"0 ms\", \"50 ms\"]");
            None
        }
    }
}

//! Names of the electrical side bound to places, and circuits put in the order of their tree.

use super::{Battery, Circuit, Feed, Plug, Supply};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::reader::{Node, Table, Text};
use crate::package::Head;

/// A part as read, with its name; nothing is kept where its own mistakes have been reported.
pub(super) struct Doc<T> {
    pub id: Text,
    pub kept: Option<T>,
}

/// The names that parts call each other by, by place.
pub(super) struct Names {
    pub batteries: Vec<Text>,
    pub converters: Vec<Text>,
    pub circuits: Vec<Text>,
    pub inverters: Vec<Text>,
    pub inlets: Vec<Text>,
}

impl Names {
    /// Of tables that are not read yet; batteries are.
    pub fn of<'d>(
        batteries: &[Doc<Battery>],
        converters: &[Table<'d>],
        circuits: &[Table<'d>],
        inverters: &[Table<'d>],
        inlets: &[Table<'d>],
    ) -> Self {
        let names = |tables: &[Table<'d>]| -> Vec<Text> {
            let id =
                |(key, node): (Text, Node<'d>)| (key.text == "id" && node.is_text()).then(|| node.text()).flatten();
            tables.iter().filter_map(|table| table.entries().into_iter().find_map(id)).collect()
        };
        Self {
            batteries: batteries.iter().map(|doc| doc.id.clone()).collect(),
            converters: names(converters),
            circuits: names(circuits),
            inverters: names(inverters),
            inlets: names(inlets),
        }
    }

    /// A battery, a converter or a circuit.
    pub fn feed(&self, name: &Text, log: &Log) -> Option<Feed> {
        let place = |known: &[Text]| known.iter().position(|known| known.text == name.text);
        let battery = place(&self.batteries).map(Feed::Battery);
        let found = battery.or_else(|| place(&self.converters).map(Feed::Converter));
        let found = found.or_else(|| place(&self.circuits).map(Feed::Circuit));
        if found.is_none() {
            let message = format!("there is no battery, converter or circuit `{}`", name.text);
            let known = self.batteries.iter().chain(&self.converters).chain(&self.circuits);
            log.suggest(
                Diagnostic::error("unknown-feed", message).at(&name.span, "named here"),
                &name.text,
                known.map(|known| known.text.as_str()),
            );
        }
        found
    }
}

/// The place of a name among others of its kind.
pub(super) fn find(name: &Text, known: &[Text], kind: &str, log: &Log) -> Option<usize> {
    let found = known.iter().position(|known| known.text == name.text);
    if found.is_none() {
        let error = Diagnostic::error("unknown-feed", format!("there is no {kind} `{}`", name.text));
        log.suggest(error.at(&name.span, "named here"), &name.text, known.iter().map(|known| known.text.as_str()));
    }
    found
}

/// Puts circuits behind those that feed them, and finds the circuit of each head. `None` where circuits feed each other
/// in a ring, or a head names a circuit that is not there.
pub(super) fn bind_circuits(supply: &mut Supply, heads: &[Head], names: &Names, log: &Log) -> Option<()> {
    let mut order: Vec<usize> = Vec::with_capacity(supply.circuits.len());
    while order.len() < supply.circuits.len() {
        let ready = |(at, circuit): &(usize, &Circuit)| {
            // Behind a converter a circuit hangs on what feeds that.
            let from = match circuit.from {
                Feed::Converter(at) => supply.converters.get(at).map_or(circuit.from, |converter| converter.from),
                other => other,
            };
            let fed = match from {
                Feed::Circuit(from) => order.contains(&from),
                Feed::Battery(_) | Feed::Converter(_) => true,
            };
            fed && !order.contains(at)
        };
        let next: Vec<usize> = supply.circuits.iter().enumerate().filter(ready).map(|(at, _)| at).collect();
        if next.is_empty() {
            let ring = (0..supply.circuits.len()).find(|at| !order.contains(at));
            let span = ring.and_then(|at| names.circuits.get(at)).map(|name| name.span.clone());
            let error = Diagnostic::error("ring", "these circuits feed each other, and nothing feeds them");
            log.push(span.iter().fold(error, |error, span| error.at(span, "one of them")));
            return None;
        }
        order.extend(next);
    }
    let moved = |at: usize| order.iter().position(|old| *old == at).unwrap_or(at);
    let feed = |feed: Feed| match feed {
        Feed::Circuit(at) => Feed::Circuit(moved(at)),
        other => other,
    };
    supply.circuits.iter_mut().for_each(|circuit| circuit.from = feed(circuit.from));
    supply.converters.iter_mut().for_each(|converter| converter.from = feed(converter.from));
    supply.inverters.iter_mut().for_each(|inverter| inverter.circuit = moved(inverter.circuit));
    for load in &mut supply.loads {
        if let Plug::Circuit(at) = load.at {
            load.at = Plug::Circuit(moved(at));
        }
    }
    let circuits = order.iter().filter_map(|at| supply.circuits.get(*at).cloned()).collect();
    supply.circuits = circuits;
    let before = log.errors();
    // A head and its twin are one row, and what is wrong in it is told once.
    let mut told: Option<(&Span, &str)> = None;
    let mut of_heads: Vec<Option<usize>> = Vec::with_capacity(heads.len());
    for head in heads {
        let found = head.circuit.as_ref().map(|name| {
            let found = supply.circuits.iter().position(|circuit| circuit.id == *name);
            if found.is_none() && told != Some((&head.span, name)) {
                told = Some((&head.span, name));
                let message = format!("head `{}` hangs on the circuit `{name}`, which is not described", head.id);
                let error = Diagnostic::error("unknown-feed", message).at(&head.span, "this head");
                log.suggest(error, name, supply.circuits.iter().map(|circuit| circuit.id.as_str()));
            }
            found
        });
        of_heads.push(found.flatten());
    }
    supply.of_heads = of_heads;
    (log.errors() == before).then_some(())
}

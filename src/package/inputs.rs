//! `[inputs]` and what is said in terms of them: conditions of displays, modes, bodies and poses, and `never`.
//!
//! A package without `[inputs]` lists in each mode what is on. One switch that stands for the list of modes makes it
//! the same thing: a display is on in the modes that list it, a body stands there in the modes that give its name.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};

use crate::diagnostic::{Diagnostic, Log, Span};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text, is_name};
use crate::logic::expression::is_reserved;
use crate::logic::{Condition, Input, Inputs, MEANINGS, MOST_BITS, Mistake, Position, bits_of};

/// The inputs of a package, and the names that its modes give where it has none.
pub(super) struct Signals<'d> {
    pub inputs: Inputs,
    log: &'d Log,
    given: HashMap<String, Vec<usize>>,
    asked: RefCell<HashSet<String>>,
}

impl<'d> Signals<'d> {
    /// Reads `[inputs]`; without it, `modes` are the positions of the one switch there is.
    pub fn read(top: &mut Table<'d>, modes: &mut [Table<'d>], log: &'d Log) -> Self {
        let asked = RefCell::new(HashSet::new());
        if let Some(table) = top.get("inputs").and_then(|node| node.table()) {
            return Self { inputs: read_inputs(&table, log), log, given: HashMap::new(), asked };
        }
        let mut given: HashMap<String, Vec<usize>> = HashMap::new();
        let mut positions = Vec::new();
        for (at, mode) in modes.iter_mut().enumerate() {
            let id = mode.get("id").filter(Node::is_text).and_then(|node| node.text());
            let id = id.map_or_else(String::new, |id| id.text);
            positions.push(Position { words: format!("mode {id}"), id });
            for name in mode.get("given").map(|node| node.texts()).unwrap_or_default() {
                given.entry(name.text).or_default().push(at);
            }
        }
        let list = vec![Input { id: "mode".to_owned(), positions, is_bool: false, means: None }];
        Self { inputs: Inputs { list, described: false }, log, given, asked }
    }

    /// The condition of a display or a mode.
    pub fn condition(&self, node: &Node<'_>) -> Option<Condition> {
        if self.inputs.described {
            return self.parse(node);
        }
        let help = "name the inputs in a table [inputs], or list in each mode its `displays`";
        node.error("no-inputs", "a condition needs inputs, and this package has none", help);
        None
    }

    /// The condition of a body or a pose: without inputs, one bare name that modes give.
    pub fn standing(&self, node: &Node<'_>) -> Option<Condition> {
        if self.inputs.described {
            return self.parse(node);
        }
        let name = node.text()?;
        if !is_name(&name.text) {
            let message = format!("`{}` is not one bare name", name.text);
            let help =
                "without [inputs], write one name here, and list it under `given` in the modes in which it is true";
            node.error("not-a-name", message, help);
            return None;
        }
        let positions = self.given.get(&name.text).cloned().unwrap_or_default();
        self.asked.borrow_mut().insert(name.text);
        Some(Condition::Is { input: 0, positions })
    }

    fn parse(&self, node: &Node<'_>) -> Option<Condition> {
        let text = node.text()?;
        match Condition::parse(&text.text, &self.inputs) {
            Ok(condition) => Some(condition),
            Err(mistakes) => {
                mistakes.into_iter().for_each(|mistake| self.report(mistake, &text));
                None
            }
        }
    }

    fn report(&self, mistake: Mistake, text: &Text) {
        let span = text.part(mistake.at, mistake.len);
        let error = Diagnostic::error("bad-condition", mistake.message).at(&span, "");
        match (mistake.help, mistake.unknown) {
            (Some(help), _) => self.log.push(error.help(help)),
            (None, Some((name, known))) => self.log.suggest(error, &name, known.iter().map(String::as_str)),
            (None, None) => self.log.push(error),
        }
    }

    /// Names that a mode gives and nothing waits for.
    pub fn check_given(&self, given: &[Text]) {
        let asked = self.asked.borrow();
        for name in given.iter().filter(|name| !asked.contains(&name.text)) {
            let message = format!("no body and no pose says `when = \"{}\"`", name.text);
            let error = Diagnostic::error("unknown-condition", message).at(&name.span, "given here");
            self.log.suggest(error, &name.text, asked.iter().map(String::as_str));
        }
    }

    /// `never`: what cannot occur, one condition or a list of them.
    pub fn read_never(&self, top: &mut Table<'d>) -> Vec<Condition> {
        let Some(node) = top.get("never") else { return Vec::new() };
        let nodes = if node.is_list() { node.list() } else { vec![node] };
        nodes.iter().filter_map(|node| self.condition(node)).collect()
    }
}

fn read_inputs(table: &Table<'_>, log: &Log) -> Inputs {
    let mut list: Vec<(Input, Span)> = Vec::new();
    for (name, node) in table.entries() {
        if !fits(&name, log) {
            continue;
        }
        if let Some(input) = read_input(&name, &node) {
            let twice = list.iter().find(|(known, _)| input.means.is_some() && known.means == input.means);
            if let Some((first, span)) = twice {
                let message = format!("`{}` and `{}` mean the same to rules", first.id, input.id);
                let error = Diagnostic::error("double-meaning", message).at(&name.span, "").at(span, "first here");
                log.push(error.help("keep `means` at the one that the controller acts on"));
            }
            list.push((input, name.span));
        }
    }
    let mut room = MOST_BITS;
    for (input, span) in &list {
        let Some(left) = room.checked_sub(bits_of(input)) else {
            let message = format!("more inputs than can be looked at together: {MOST_BITS} that are on or off");
            log.push(Diagnostic::error("too-many-inputs", message).at(span, "up to this one"));
            break;
        };
        room = left;
    }
    if list.is_empty() && !log.has_errors() {
        let warning = Diagnostic::warning("no-inputs", "no input is named here, so nothing can be switched");
        log.push(warning.at(&table.span(), "").help("for example parked = \"bool\", or warning = [\"off\", \"high\"]"));
    }
    Inputs { list: list.into_iter().map(|(input, _)| input).collect(), described: true }
}

/// Whether an input or a position may be called so.
fn fits(name: &Text, log: &Log) -> bool {
    // The words of conditions cannot be names.
    if is_reserved(&name.text) || !is_name(&name.text) {
        let message = format!("`{}` cannot name an input or a position", name.text);
        let error = Diagnostic::error("bad-name", message).at(&name.span, "");
        let help = "names are made of letters, digits, `.`, `_` and `-`, and are not and, or, not, in, always";
        log.push(error.help(help));
        return false;
    }
    true
}

/// `"bool"`, a list of positions, or a table that says more.
fn read_input(name: &Text, node: &Node<'_>) -> Option<Input> {
    let id = name.text.clone();
    if node.is_list() {
        let positions = read_positions(node, &id)?;
        return Some(Input { id, positions, is_bool: false, means: None });
    }
    if node.is_text() {
        node.word(&[("bool", ())])?;
        return Some(on_or_off(id, None, None));
    }
    let mut table = node.table()?.named(format!("input `{id}`"));
    let means = table.get("means").map(|node| node.word(MEANINGS));
    let called = table.get("called").map(|node| node.text());
    let positions = table.get("positions").map(|node| (read_positions(&node, &id), node));
    let mut words = |key| table.get(key).and_then(|node| Some((node.text()?.text, node.span())));
    let (on, off) = (words("on"), words("off"));
    table.finish();
    let means = match means {
        Some(word) => Some(word?),
        None => None,
    };
    let Some((positions, node)) = positions else {
        if let Some(Some(called)) = called {
            let error = Diagnostic::error("no-positions", "an input that is on or off is called by its words");
            node.log().push(error.at(&called.span, "").help("write `on` and `off`, as on = \"door open\""));
            return None;
        }
        return Some(Input { means, ..on_or_off(id, on, off) });
    };
    if let Some((_, span)) = on.or(off) {
        let error = Diagnostic::error("on-with-positions", "an input with positions has no `on` and no `off`");
        node.log().push(error.at(&span, "").help("say what the switch is called: called = \"arrow switch\""));
    }
    if means.is_some() {
        node.error("meaning-of-positions", "only an input that is on or off can mean something to rules", "split it");
    }
    let called = called.flatten().map_or_else(|| id.clone(), |called| called.text);
    let mut positions = positions?;
    for position in &mut positions {
        position.words = format!("{called} {}", position.id);
    }
    Some(Input { id, positions, is_bool: false, means })
}

fn on_or_off(id: String, on: Option<(String, Span)>, off: Option<(String, Span)>) -> Input {
    let words =
        |said: Option<(String, Span)>, word: &str| said.map_or_else(|| format!("{id} {word}"), |(text, _)| text);
    let (on, off) = (words(on, "on"), words(off, "off"));
    let position = |id: &str, words| Position { id: id.to_owned(), words };
    Input { positions: vec![position("off", off), position("on", on)], id, is_bool: true, means: None }
}

fn read_positions(node: &Node<'_>, id: &str) -> Option<Vec<Position>> {
    let names = node.texts();
    if names.len() < 2 {
        let help = "name two positions or more, the position of rest first, or write \"bool\"";
        node.error("too-few-positions", format!("`{id}` has nothing to switch between"), help);
        return None;
    }
    let mut known = Distinct::new("positions", node.log());
    let fitting = names.iter().filter(|name| fits(name, node.log()) && known.keeps(name)).count();
    let position = |name: Text| Position { words: format!("{id} {}", name.text), id: name.text };
    (fitting == names.len()).then(|| names.into_iter().map(position).collect())
}

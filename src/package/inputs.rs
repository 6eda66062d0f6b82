//! `[inputs]` and what is said in terms of them: conditions of displays, modes, bodies and poses, and `never`.
//!
//! A package without `[inputs]` lists in each mode what is on. One switch that stands for the list of modes makes it
//! the same thing: a display is on in the modes that list it, a body stands there in the modes that give its name.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};

use crate::diagnostic::{Diagnostic, Log, SourceId, Span};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text, is_name};
use crate::logic::expression::is_reserved;
use crate::logic::{Condition, Input, Inputs, MEANINGS, MOST_BITS, Mistake, Position, bits_of};

/// No switch has more positions than this.
const MOST_POSITIONS: usize = 256;

/// The inputs of a package, and the names that its modes give where it has none.
pub(super) struct Signals<'d> {
    pub inputs: Inputs,
    /// Where each of them is named; none where they stand for modes.
    pub places: Vec<Span>,
    /// Inputs whose own mistakes have been reported; all there may be where the table cannot be read at all.
    broken: Broken,
    log: &'d Log,
    given: HashMap<String, Vec<usize>>,
    asked: RefCell<HashSet<String>>,
}

/// Names that conditions may use without being called mistaken too.
enum Broken {
    Names(HashSet<String>),
    All,
}

impl Broken {
    fn holds(&self, name: &str) -> bool {
        match self {
            Self::Names(names) => names.contains(name),
            Self::All => true,
        }
    }
}

impl<'d> Signals<'d> {
    /// Reads `[inputs]`; without it, `modes` are the positions of the one switch there is.
    pub fn read(top: &mut Table<'d>, modes: &mut [Table<'d>], log: &'d Log) -> Self {
        let asked = RefCell::new(HashSet::new());
        if let Some(node) = top.get("inputs") {
            let none = || (Vec::new(), Broken::All);
            let (named, broken) = node.table().map_or_else(none, |table| read_inputs(&table, log));
            let (list, places) = named.into_iter().unzip();
            let inputs = Inputs { list, described: true };
            return Self { inputs, places, broken, log, given: HashMap::new(), asked };
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
        let broken = Broken::Names(HashSet::new());
        Self { inputs: Inputs { list, described: false }, places: Vec::new(), broken, log, given, asked }
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
        if mistake.unknown.as_ref().is_some_and(|(name, _)| self.broken.holds(name)) {
            return;
        }
        let span = text.part(mistake.at, mistake.len);
        tell(mistake, &span, self.log);
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

    /// `never`: what cannot occur, one condition or a list of them, each with its place.
    pub fn read_never(&self, top: &mut Table<'d>) -> Vec<(Condition, Span)> {
        let Some(node) = top.get("never") else { return Vec::new() };
        let nodes = if node.is_list() { node.list() } else { vec![node] };
        nodes.iter().filter_map(|node| Some((self.condition(node)?, node.span()))).collect()
    }
}

/// Reads a condition that stands in no file of the package: the whole of `source`.
pub fn read_condition(text: &str, source: SourceId, inputs: &Inputs, log: &Log) -> Option<Condition> {
    let place = |mistake: &Mistake| Span { source, range: mistake.at..mistake.at + mistake.len };
    let told = |mistake: Mistake| {
        let span = place(&mistake);
        tell(mistake, &span, log);
    };
    Condition::parse(text, inputs).map_err(|mistakes| mistakes.into_iter().for_each(told)).ok()
}

fn tell(mistake: Mistake, span: &Span, log: &Log) {
    let error = Diagnostic::error("bad-condition", mistake.message).at(span, "");
    match (mistake.help, mistake.unknown) {
        (Some(help), _) => log.push(error.help(help)),
        (None, Some((name, known))) => log.suggest(error, &name, known.iter().map(String::as_str)),
        (None, None) => log.push(error),
    }
}

/// The inputs, each with its place.
fn read_inputs(table: &Table<'_>, log: &Log) -> (Vec<(Input, Span)>, Broken) {
    let mut list: Vec<(Input, Span)> = Vec::new();
    let mut broken = HashSet::new();
    for (name, node) in table.entries() {
        let input = if fits(&name, log) { read_input(&name, &node) } else { None };
        if input.is_none() {
            broken.insert(name.text.clone());
        }
        if let Some(input) = input {
            let same = |means| list.iter().find(|(known, _)| known.means == Some(means));
            if let Some((first, span)) = input.means.and_then(same) {
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
    (list, Broken::Names(broken))
}

/// Whether an input or a position may be called so.
fn fits(name: &Text, log: &Log) -> bool {
    let (why, help) = if is_reserved(&name.text) {
        (
            " in conditions, where it has a meaning of its own",
            "call it otherwise; the words of conditions are and, or, not, in, always",
        )
    } else if !is_name(&name.text) {
        ("", "names are made of letters, digits, `.`, `_` and `-`")
    } else {
        return true;
    };
    let message = format!("`{}` cannot name an input or a position{why}", name.text);
    let error = Diagnostic::error("bad-name", message).at(&name.span, "");
    let joined = name.text.split_whitespace().collect::<Vec<_>>().join("-");
    log.push(if joined != name.text && is_name(&joined) {
        error.help(format!("names have no spaces; use a hyphen: `{joined}`"))
    } else {
        error.help(help)
    });
    false
}

/// `"bool"`, a list of positions, or a table that says more.
fn read_input(name: &Text, node: &Node<'_>) -> Option<Input> {
    let id = name.text.clone();
    if is_meant_for_the_file(name, node) {
        return None;
    }
    if node.is_list() {
        let positions = read_positions(node, &id)?;
        return Some(Input { id, positions, is_bool: false, means: None });
    }
    if !node.is_table() {
        return is_bool(node).then(|| on_or_off(id, None, None));
    }
    let mut table = node.table()?.named(format!("input `{id}`"));
    let meaning = table.get("means");
    let means = meaning.as_ref().map(|node| node.word(MEANINGS));
    let called = table.get("called").map(|node| node.text());
    let positions = table.get("positions").map(|node| read_positions(&node, &id));
    let mut words = |key| table.get(key).and_then(|node| Some((node.text()?.text, node.span())));
    let (on, off) = (words("on"), words("off"));
    table.finish();
    let means = match means {
        Some(word) => Some(word?),
        None => None,
    };
    let Some(positions) = positions else {
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
    if let (Some(node), Some(_)) = (meaning, means) {
        let help = "let an input that is on or off say it: parked = { means = \"park\" }";
        node.error("meaning-of-positions", "only an input that is on or off can mean something to rules", help);
    }
    let called = called.flatten().map_or_else(|| id.clone(), |called| called.text);
    let mut positions = positions?;
    for position in &mut positions {
        position.words = format!("{called} {}", position.id);
    }
    Some(Input { id, positions, is_bool: false, means })
}

/// Whether this says that an input is on or off.
fn is_bool(node: &Node<'_>) -> bool {
    let kind = if node.is_text() { node.text().map(|kind| kind.text) } else { None };
    if kind.as_deref() == Some("bool") {
        return true;
    }
    let what = kind.map_or_else(|| "this".to_owned(), |kind| format!("`{kind}`"));
    let help =
        "write \"bool\" for what is on or off, or its positions, the one of rest first: [\"off\", \"low\", \"high\"]";
    node.error("no-kind-of-input", format!("{what} is no kind of input"), help);
    false
}

/// What stands behind the head of a table belongs to it, also what was meant for the whole file.
fn is_meant_for_the_file(name: &Text, node: &Node<'_>) -> bool {
    let is_condition = |node: &Node<'_>| node.is_text() && node.text().is_some_and(|text| !is_name(&text.text));
    let nodes = if node.is_list() { node.list() } else { vec![node.clone()] };
    let meant = name.text == "never" && nodes.iter().any(is_condition);
    if meant {
        let help = "write `never = ...` above the first table of the file, beside `rules` and `catalogues`";
        node.error("never-as-input", "inside [inputs], `never` names an input", help);
    }
    meant
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
    if !node.is_list() {
        return None;
    }
    if names.len() > MOST_POSITIONS {
        let message = format!("`{id}` has {} positions; up to {MOST_POSITIONS} are read", names.len());
        node.error("too-many-positions", message, "list the positions of one switch");
        return None;
    }
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

//! Conditions over inputs: what they mean (against trees evaluated directly, in every state), the sets of states in
//! which they hold, how they are written back, and what is said, with its place, of each mistake.

#[path = "conditions/mistakes.rs"]
mod mistakes;

use proptest::prelude::*;
use wayproof::logic::expression::is_reserved;
use wayproof::logic::{Condition, Input, Inputs, Position, Region, Space};

/// Inputs by name; no positions make one that is on or off.
fn inputs(list: &[(&str, &[&str])]) -> Inputs {
    let one = |(id, positions): &(&str, &[&str])| {
        let is_bool = positions.is_empty();
        let ids: Vec<&str> = if is_bool { vec!["off", "on"] } else { positions.to_vec() };
        let position = |position: &&str| Position { id: (*position).to_owned(), words: format!("{id} {position}") };
        Input { id: (*id).to_owned(), positions: ids.iter().map(position).collect(), is_bool, means: None }
    };
    Inputs { list: list.iter().map(one).collect(), described: true }
}

/// The inputs that people have in mind.
fn usual() -> Inputs {
    inputs(&[("warning", &["off", "low", "high"]), ("parked", &[]), ("rear-door", &[]), ("arrow", &["off", "left"])])
}

/// Names that hold the words of conditions.
const TRICKY: &[(&str, &[&str])] =
    &[("and-1", &["or.left", "in_2", "3"]), ("band", &[]), ("not-parked", &[]), ("Inner", &["nota", "or-", "-and"])];

/// All states, each one place a position for every input.
fn states(inputs: &Inputs) -> Vec<Vec<usize>> {
    let mut states = vec![Vec::new()];
    for input in &inputs.list {
        let longer = |state: &Vec<usize>| -> Vec<Vec<usize>> {
            (0..input.positions.len()).map(|at| [state.as_slice(), &[at]].concat()).collect()
        };
        states = states.iter().flat_map(longer).collect();
    }
    states
}

fn read(text: &str, inputs: &Inputs) -> Condition {
    Condition::parse(text, inputs).unwrap_or_else(|mistakes| panic!("{text}: {mistakes:?}"))
}

/// A condition as a tree over [`TRICKY`], with the spaces and the needless parentheses that it is written with.
#[derive(Clone, Debug)]
struct Tree {
    kind: Kind,
    gap: &'static str,
    pairs: usize,
}

#[derive(Clone, Debug)]
enum Kind {
    Always,
    On(usize),
    Equal(usize, usize),
    Unequal(usize, usize),
    OneOf(usize, Vec<usize>),
    Not(Box<Tree>),
    And(Vec<Tree>),
    Or(Vec<Tree>),
}

impl Tree {
    fn holds(&self, state: &[usize]) -> bool {
        match &self.kind {
            Kind::Always => true,
            Kind::On(input) => state[*input] == 1,
            Kind::Equal(input, position) => state[*input] == *position,
            Kind::Unequal(input, position) => state[*input] != *position,
            Kind::OneOf(input, positions) => positions.iter().any(|position| state[*input] == *position),
            Kind::Not(inner) => !inner.holds(state),
            Kind::And(parts) => parts.iter().fold(true, |all, part| all & part.holds(state)),
            Kind::Or(parts) => parts.iter().fold(false, |one, part| one | part.holds(state)),
        }
    }

    /// `around` is 0 at the outside and in parentheses, 1 inside `or`, 2 inside `and`, 3 behind `not`.
    fn text(&self, around: usize) -> String {
        let gap = self.gap;
        let space = if gap.is_empty() { " " } else { gap };
        let name = |input: &usize| TRICKY[*input].0;
        let position = |input: &usize, at: &usize| TRICKY[*input].1[*at];
        let joined = |parts: &[Tree], own, word: &str| {
            let parts: Vec<String> = parts.iter().map(|part| part.text(own)).collect();
            (own, parts.join(&format!("{space}{word}{space}")))
        };
        let (own, text) = match &self.kind {
            Kind::Always => (3, "always".to_owned()),
            Kind::On(input) => (3, name(input).to_owned()),
            Kind::Equal(input, at) => (3, format!("{}{gap}=={gap}{}", name(input), position(input, at))),
            Kind::Unequal(input, at) => (3, format!("{}{gap}!={gap}{}", name(input), position(input, at))),
            Kind::OneOf(input, some) => {
                let some: Vec<&str> = some.iter().map(|at| position(input, at)).collect();
                let some = some.join(&format!("{gap},{gap}"));
                (3, format!("{}{space}in{gap}[{gap}{some}{gap}]", name(input)))
            }
            Kind::Not(inner) => (3, format!("not{space}{}", inner.text(3))),
            Kind::And(parts) => joined(parts, 2, "and"),
            Kind::Or(parts) => joined(parts, 1, "or"),
        };
        let pairs = self.pairs + usize::from(own < around);
        format!("{}{text}{gap}{}", format!("({gap}").repeat(pairs), ")".repeat(pairs))
    }
}

fn any_tree() -> impl Strategy<Value = Tree> {
    let dressed = |kind: BoxedStrategy<Kind>| {
        let gap = prop::sample::select(&["", " ", "  ", "\t", "\n "][..]);
        (kind, gap, 0..2_usize).prop_map(|(kind, gap, pairs)| Tree { kind, gap, pairs })
    };
    let named = prop::sample::select(vec![0_usize, 3]);
    let atom = prop_oneof![
        1 => Just(Kind::Always),
        3 => (1..3_usize).prop_map(Kind::On),
        2 => (named.clone(), 0..3_usize).prop_map(|(input, at)| Kind::Equal(input, at)),
        2 => (named.clone(), 0..3_usize).prop_map(|(input, at)| Kind::Unequal(input, at)),
        2 => (named, prop::sample::subsequence(vec![0_usize, 1, 2], 1..=3).prop_shuffle())
            .prop_map(|(input, some)| Kind::OneOf(input, some)),
    ];
    dressed(atom.boxed()).prop_recursive(5, 40, 3, move |tree| {
        let some = prop::collection::vec(tree.clone(), 2..4);
        let kind = prop_oneof![
            tree.prop_map(|inner| Kind::Not(Box::new(inner))),
            some.clone().prop_map(Kind::And),
            some.prop_map(Kind::Or),
        ];
        dressed(kind.boxed())
    })
}

/// What is promised of any text: an answer, and places inside the text.
fn answered(text: &str, inputs: &Inputs) -> Result<(), TestCaseError> {
    match Condition::parse(text, inputs) {
        Ok(condition) => {
            let written = condition.text(inputs);
            prop_assert_eq!(Condition::parse(&written, inputs), Ok(condition), "{}", written);
        }
        Err(mistakes) => {
            prop_assert!(!mistakes.is_empty());
            for mistake in mistakes {
                prop_assert!(text.get(mistake.at..mistake.at + mistake.len).is_some(), "{:?} in {:?}", mistake, text);
                // The place that says "try the next" between combinators is never shown.
                prop_assert!(mistake.message.len() > 10 && mistake.message != "this is not expected here");
            }
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn a_condition_means_its_tree_in_every_state_and_is_read_again_from_its_text(tree in any_tree()) {
        let inputs = inputs(TRICKY);
        let text = tree.text(0);
        prop_assume!(text.len() <= 4096);
        let condition = Condition::parse(&text, &inputs);
        prop_assert!(condition.is_ok(), "{}: {:?}", text, condition);
        let condition = condition.unwrap();
        for state in states(&inputs) {
            prop_assert_eq!(condition.holds(&state), tree.holds(&state), "{} in {:?}", text, state);
        }
        let written = condition.text(&inputs);
        prop_assert_eq!(Condition::parse(&written, &inputs), Ok(condition), "{}", written);
        // Fewest parentheses: without any one pair it is another condition, or none.
        for (open, close) in pairs(&written) {
            let without = format!("{} {} {}", &written[..open], &written[open + 1..close], &written[close + 1..]);
            prop_assert_ne!(Condition::parse(&without, &inputs), Condition::parse(&written, &inputs), "{}", written);
        }
    }

    /// Sets of states as diagrams, against the states gone through one by one.
    #[test]
    fn sets_of_states_are_those_in_which_the_trees_hold(one in any_tree(), other in any_tree(), never in any_tree()) {
        let inputs = inputs(TRICKY);
        let texts = [&one, &other, &never].map(|tree| tree.text(0));
        prop_assume!(texts.iter().all(|text| text.len() <= 4096));
        let [first, second, ruled_out] = texts.map(|text| read(&text, &inputs));
        let space = Space::new(&inputs, &[ruled_out]);
        let states = states(&inputs);
        let can: Vec<&Vec<usize>> = states.iter().filter(|state| !never.holds(state)).collect();
        let (a, b) = (space.holds(&first), space.holds(&second));
        let is = |region: &Region, holds: &dyn Fn(&[usize]) -> bool| {
            let held: Vec<_> = can.iter().filter(|state| holds(state)).collect();
            let found: Vec<_> = states.iter().filter(|state| space.meet(&space.state(state), region)).collect();
            prop_assert_eq!(held.len(), found.len());
            prop_assert!(held.iter().zip(&found).all(|(held, found)| **held == *found));
            prop_assert_eq!(space.count(region), held.len() as f64);
            prop_assert_eq!(region.is_empty(), held.is_empty());
            prop_assert_eq!(space.first(region).is_some_and(|state| holds(&state)), !held.is_empty());
            Ok(())
        };
        is(space.allowed(), &|_| true)?;
        is(&a, &|state| one.holds(state))?;
        is(&space.and(&a, &b), &|state| one.holds(state) && other.holds(state))?;
        is(&space.or(&a, &b), &|state| one.holds(state) || other.holds(state))?;
        is(&space.minus(&a, &b), &|state| one.holds(state) && !other.holds(state))?;
        prop_assert_eq!(space.meet(&a, &b), can.iter().any(|state| one.holds(state) && other.holds(state)));
        for (input, positions) in inputs.list.iter().map(|input| input.positions.len()).enumerate() {
            for position in 0..positions {
                // One change of this input leads from `from` to `to`.
                let leads = |from: &[usize], to: &[usize]| {
                    let same = from.iter().zip(to).enumerate().all(|(at, (one, other))| at == input || one == other);
                    same && from[input] != position && to[input] == position
                };
                let after = space.after(&a, input, position);
                is(&after, &|to| can.iter().any(|from| one.holds(from) && leads(from, to)))?;
                let before = space.before(&a, input, position);
                is(&before, &|from| can.iter().any(|to| one.holds(to) && leads(from, to)))?;
            }
        }
        let fits = |setting: &[(usize, usize)], state: &[usize]| setting.iter().all(|(at, position)| state[*at] == *position);
        let inside = |setting: &[(usize, usize)]| can.iter().all(|state| !fits(setting, state) || one.holds(state));
        let (settings, whole) = space.cover(&a, states.len());
        prop_assert!(whole);
        for setting in &settings {
            prop_assert!(inside(setting), "{:?}", setting);
            for at in 0..setting.len() {
                let fewer = [&setting[..at], &setting[at + 1..]].concat();
                prop_assert!(!inside(&fewer), "{:?} says more than it must", setting);
            }
        }
        is(&a, &|state| settings.iter().any(|setting| fits(setting, state)))?;
        prop_assert!(!space.is_tangled());
    }

    #[test]
    fn any_text_is_answered(text in any::<String>(), plain in "[a-z0-9 ()=!&|<>,\\[\\]\"'éß-]{0,80}") {
        answered(&text, &usual())?;
        answered(&plain, &usual())?;
    }

    #[test]
    fn any_words_are_answered(words in prop::collection::vec(prop::sample::select(
        &["warning", "parked", "rear-door", "arrow", "high", "low", "and", "or", "not", "(", ")", "==", "!=", "in", "[", "]",
          ",", "always", "=", "&&", "NOT", "is", "é", "\"", "true"][..]), 0..12), gap in prop::sample::select(&["", " "][..]))
    {
        answered(&words.join(gap), &usual())?;
        answered(&words.join(" "), &inputs(&[]))?;
    }
}

/// Where each parenthesis opens and closes.
fn pairs(text: &str) -> Vec<(usize, usize)> {
    let (mut open, mut found) = (Vec::new(), Vec::new());
    for (at, c) in text.char_indices() {
        match c {
            '(' => open.push(at),
            ')' => found.push((open.pop().unwrap(), at)),
            _ => {}
        }
    }
    found
}

#[test]
fn conditions_that_differ_only_in_writing_are_equal() {
    let inputs = usual();
    for same in [
        &[
            "warning == high",
            "((warning==high))",
            "not warning != high",
            "not not warning == high",
            "warning in [high]",
        ][..],
        &["warning != off", "not warning == off", "warning in [low, high]", "warning in [ high,low ]"],
        &["not parked", "not (not not (parked))"],
        &["parked and rear-door and warning == low", "parked and (rear-door and (warning == low))"],
        &["parked or rear-door or warning == low", "((parked or rear-door)) or (warning == low)"],
        &["not (parked or rear-door)", "not not not (parked or (rear-door))"],
        &["parked or rear-door and always", "parked or (rear-door and always)"],
    ] {
        for text in same {
            assert_eq!(read(text, &inputs), read(same[0], &inputs), "{text}");
        }
    }
    assert_ne!(read("parked or rear-door and always", &inputs), read("(parked or rear-door) and always", &inputs));
    assert_ne!(read("not parked and rear-door", &inputs), read("not (parked and rear-door)", &inputs));
}

#[test]
fn a_condition_is_written_shortly() {
    let inputs = usual();
    for (text, written) in [
        ("always", "always"),
        ("not always", "not always"),
        ("not (parked)", "not parked"),
        ("not warning == high", "warning != high"),
        ("warning in [high, low]", "warning != off"),
        ("warning in [off, low, high]", "warning in [off, low, high]"),
        ("not warning in [off, low, high]", "not warning in [off, low, high]"),
        ("arrow != off", "arrow == left"),
        ("(parked and (rear-door or always)) or (arrow == left)", "parked and (rear-door or always) or arrow == left"),
        ("not (parked and rear-door)", "not (parked and rear-door)"),
        ("not (not (parked or rear-door))", "parked or rear-door"),
    ] {
        assert_eq!(read(text, &inputs).text(&inputs), written);
    }
    // Conditions that are made, not read, are written as what they mean.
    let parked = |positions: &[usize]| Condition::Is { input: 1, positions: positions.to_vec() };
    let either = Condition::Or(vec![parked(&[1]), Condition::Always]);
    for (made, written) in [
        (Condition::And(vec![]), "always"),
        (Condition::Or(vec![]), "not always"),
        (parked(&[]), "not always"),
        (parked(&[0, 1]), "always"),
        (Condition::Not(Box::new(parked(&[0]))), "not not parked"),
        (Condition::Is { input: 9, positions: vec![0] }, "not always"),
        (Condition::Not(Box::new(Condition::And(vec![either.clone()]))), "not (parked or always)"),
        (Condition::And(vec![Condition::Or(vec![either]), parked(&[0])]), "(parked or always) and not parked"),
    ] {
        assert_eq!(made.text(&inputs), written);
        let again = read(written, &inputs);
        for state in states(&inputs) {
            assert_eq!(made.holds(&state), again.holds(&state), "{written}");
        }
    }
}

/// A position may bear the name of an input, also of its own: behind `==` and in a list stand positions only.
#[test]
fn names_of_inputs_and_of_positions_do_not_meet() {
    let inputs = inputs(&[("gear", &["drive", "reverse", "gear"]), ("reverse", &[])]);
    let holding = |text: &str| -> Vec<Vec<usize>> {
        let condition = read(text, &inputs);
        assert_eq!(read(&condition.text(&inputs), &inputs), condition, "{text}");
        states(&inputs).into_iter().filter(|state| condition.holds(state)).collect()
    };
    assert_eq!(holding("gear == reverse"), [[1, 0], [1, 1]]);
    assert_eq!(holding("gear == reverse and reverse"), [[1, 1]]);
    assert_eq!(holding("gear == gear and not reverse"), [[2, 0]]);
    assert_eq!(holding("gear in [reverse, gear] and reverse"), [[1, 1], [2, 1]]);
}

#[test]
fn words_of_conditions_name_nothing() {
    for word in ["and", "or", "not", "in", "always", "AND", "In"] {
        assert!(is_reserved(word), "{word}");
    }
    for name in ["band", "and-1", "not-parked", "in_2", "always.", "x", ""] {
        assert!(!is_reserved(name), "{name}");
    }
}

/// Lamps of a tail and reverse light as a table of rows with don't-cares (`-`). Truth tables in this shape are how
/// open-source vehicle projects write their lamp logic (second-hand knowledge); this one is invented. A lamp is lit in
/// the rows that name it.
const TABLE: &[([&str; 3], &str)] = &[
    // ignition, reverse, brake; lit
    (["off", "-", "off"], ""),
    (["off", "-", "on"], "stop"),
    (["accessory", "-", "off"], "tail"),
    (["accessory", "-", "on"], "tail stop"),
    (["run", "off", "off"], "tail"),
    (["run", "off", "on"], "tail stop"),
    (["run", "on", "off"], "tail reverse"),
    (["run", "on", "on"], "tail stop reverse"),
];

/// One row as a condition.
fn row(cells: &[&str; 3]) -> String {
    let [ignition, reverse, brake] = cells;
    let mut parts = vec![format!("ignition == {ignition}")];
    for (name, cell) in [("reverse", reverse), ("brake", brake)] {
        match *cell {
            "on" => parts.push(name.to_owned()),
            "off" => parts.push(format!("not {name}")),
            _ => {}
        }
    }
    parts.join(" and ")
}

#[test]
fn a_table_of_lamps_and_short_conditions_agree() {
    let inputs = inputs(&[("ignition", &["off", "accessory", "run"]), ("reverse", &[]), ("brake", &[])]);
    let states = states(&inputs);
    assert_eq!(states.len(), 12);
    let rows: Vec<Condition> = TABLE.iter().map(|(cells, _)| read(&row(cells), &inputs)).collect();
    for state in &states {
        assert_eq!(rows.iter().filter(|row| row.holds(state)).count(), 1, "one row a state: {state:?}");
    }
    for (lamp, short) in [("tail", "ignition != off"), ("stop", "brake"), ("reverse", "ignition == run and reverse")] {
        let lit = TABLE.iter().filter(|(_, lit)| lit.split(' ').any(|name| name == lamp));
        let long: Vec<String> = lit.map(|(cells, _)| row(cells)).collect();
        let (long, short) = (read(&long.join(" or "), &inputs), read(short, &inputs));
        for state in &states {
            assert_eq!(long.holds(state), short.holds(state), "{lamp} in {state:?}");
        }
    }
    // By hand: ignition in run, reverse gear, no brake.
    assert!(read("ignition == run and reverse", &inputs).holds(&[2, 1, 0]));
    assert!(!read("brake", &inputs).holds(&[2, 1, 0]));
}

//! Small packages at random, and what their heads show in every state: each state is gone through, and displays are
//! laid over each other one by one.

use proptest::prelude::*;

/// Positions of an input by name.
const BOOL: &[&str] = &["off", "on"];
const SWITCH: &[&str] = &["off", "low", "high"];

/// One lamp of two colours.
pub const CATALOGUE: &str = r#"
format = 1
[[model]]
id = "lamp"
[[model.emitter]]
colour = "red"
declared = { axis = "100 cd", half-angle = "60 deg" }
[[model.emitter]]
colour = "amber"
declared = { axis = "100 cd", half-angle = "60 deg" }
"#;

/// Heads, each with its groups and its side.
pub const HEADS: [(&str, &[&str], &str); 5] = [
    ("one-left", &["ones", "all"], "-0.5 m"),
    ("one-right", &["ones", "all"], "0.5 m"),
    ("two-left", &["twos", "all"], "-0.7 m"),
    ("two-right", &["twos", "all", "odd"], "0.7 m"),
    ("middle", &["all", "odd"], "0 m"),
];

/// A condition over inputs, by their places.
#[derive(Clone, Debug)]
pub enum Tree {
    Is(usize, usize),
    Not(Box<Tree>),
    And(Box<Tree>, Box<Tree>),
    Or(Box<Tree>, Box<Tree>),
}

/// One row of a display.
#[derive(Clone, Debug)]
pub struct Row {
    who: usize,
    colour: &'static str,
    pattern: &'static str,
    left: i64,
    right: i64,
    role: Option<&'static str>,
    level: u8,
}

#[derive(Clone, Debug)]
pub enum Does {
    Shows(Vec<Row>),
    DimsAll(u8),
    Dims(u8, usize),
}

#[derive(Clone, Debug)]
pub struct Case {
    /// Whether each input is a switch of three positions.
    pub inputs: Vec<bool>,
    pub never: Option<Tree>,
    pub displays: Vec<(Tree, Does)>,
    pub mode: Tree,
    /// What may be asked for.
    pub asked: Tree,
}

/// What a head shows, in words.
pub type Look = Option<String>;

/// A state: the place of the position of each input.
pub type State = Vec<usize>;

pub fn cases() -> impl Strategy<Value = Case> {
    proptest::collection::vec(any::<bool>(), 1..5).prop_flat_map(|inputs| {
        let tree = trees(inputs.clone());
        let displays = proptest::collection::vec((tree.clone(), does()), 1..6);
        (Just(inputs), proptest::option::of(tree.clone()), displays, tree.clone(), tree)
            .prop_map(|(inputs, never, displays, mode, asked)| Case { inputs, never, displays, mode, asked })
    })
}

fn trees(inputs: Vec<bool>) -> BoxedStrategy<Tree> {
    let leaf = (0..inputs.len(), 0..6_usize).prop_map(move |(input, position)| {
        let positions = if inputs[input] { SWITCH.len() } else { BOOL.len() };
        Tree::Is(input, position % positions)
    });
    leaf.prop_recursive(2, 6, 2, |inner| {
        prop_oneof![
            inner.clone().prop_map(|tree| Tree::Not(Box::new(tree))),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| Tree::And(Box::new(a), Box::new(b))),
            (inner.clone(), inner).prop_map(|(a, b)| Tree::Or(Box::new(a), Box::new(b))),
        ]
    })
    .boxed()
}

/// Who is named: a head, or a group of [`groups`] beyond the last head.
fn who() -> impl Strategy<Value = usize> {
    0..HEADS.len() + groups().len()
}

fn groups() -> Vec<&'static str> {
    vec!["ones", "twos", "all", "odd"]
}

fn does() -> impl Strategy<Value = Does> {
    let level = prop_oneof![Just(100_u8), Just(40)];
    let row = (
        who(),
        prop_oneof![Just("red"), Just("amber")],
        prop_oneof![Just("half"), Just("other"), Just("steady")],
        prop_oneof![Just(0_i64), Just(200)],
        prop_oneof![Just(0_i64), Just(200)],
        proptest::option::of(prop_oneof![Just("warning"), Just("stop")]),
        level.clone(),
    );
    // No phase by side for a row that names a head in the middle: it has none.
    let row = row.prop_map(|(who, colour, pattern, left, right, role, level)| {
        let right = if members(who).contains(&4) { left } else { right };
        Row { who, colour, pattern, left, right, role, level }
    });
    prop_oneof![
        4 => proptest::collection::vec(row, 1..3).prop_map(Does::Shows),
        1 => level.clone().prop_map(Does::DimsAll),
        1 => (level, who()).prop_map(|(level, who)| Does::Dims(level, who)),
    ]
}

/// The heads that a name stands for.
fn members(who: usize) -> Vec<usize> {
    if who < HEADS.len() {
        return vec![who];
    }
    let group = groups()[who - HEADS.len()];
    (0..HEADS.len()).filter(|at| HEADS[*at].1.contains(&group)).collect()
}

fn name(who: usize) -> String {
    if who < HEADS.len() {
        format!("head = \"{}\"", HEADS[who].0)
    } else {
        format!("group = \"{}\"", groups()[who - HEADS.len()])
    }
}

impl Tree {
    pub fn holds(&self, state: &[usize]) -> bool {
        match self {
            Self::Is(input, position) => state[*input] == *position,
            Self::Not(inner) => !inner.holds(state),
            Self::And(a, b) => a.holds(state) && b.holds(state),
            Self::Or(a, b) => a.holds(state) || b.holds(state),
        }
    }

    pub fn text(&self, case: &Case) -> String {
        match self {
            Self::Is(input, position) if !case.inputs[*input] => {
                format!("{}i{input}", if *position == 0 { "not " } else { "" })
            }
            Self::Is(input, position) => format!("i{input} == {}", case.positions(*input)[*position]),
            Self::Not(inner) => format!("not ({})", inner.text(case)),
            Self::And(a, b) => format!("({}) and ({})", a.text(case), b.text(case)),
            Self::Or(a, b) => format!("({}) or ({})", a.text(case), b.text(case)),
        }
    }
}

impl Case {
    pub fn positions(&self, input: usize) -> &'static [&'static str] {
        if self.inputs[input] { SWITCH } else { BOOL }
    }

    /// All states that can occur, rest positions first, the last input changing fastest.
    pub fn states(&self) -> Vec<State> {
        let mut states = vec![Vec::new()];
        for input in 0..self.inputs.len() {
            let longer = |state: &State| -> Vec<State> {
                (0..self.positions(input).len()).map(|at| [state.as_slice(), &[at]].concat()).collect()
            };
            states = states.iter().flat_map(longer).collect();
        }
        let never = |state: &State| self.never.as_ref().is_some_and(|never| never.holds(state));
        states.into_iter().filter(|state| !never(state)).collect()
    }

    /// What every head shows in a state.
    pub fn light(&self, state: &[usize]) -> Vec<Look> {
        let mut shown: Vec<Option<(&Row, i64, u8)>> = vec![None; HEADS.len()];
        for (when, does) in &self.displays {
            if !when.holds(state) {
                continue;
            }
            let dimmed = match does {
                Does::Shows(rows) => {
                    for row in rows {
                        for head in members(row.who) {
                            let phase = if HEADS[head].2.starts_with('-') { row.left } else { row.right };
                            shown[head] = Some((row, phase, row.level));
                        }
                    }
                    continue;
                }
                Does::DimsAll(level) => (*level, (0..HEADS.len()).collect()),
                Does::Dims(level, who) => (*level, members(*who)),
            };
            for head in dimmed.1 {
                if let Some((_, _, level)) = &mut shown[head] {
                    *level = (*level).min(dimmed.0);
                }
            }
        }
        let words = |(row, phase, level): (&Row, i64, u8)| {
            let phase = if row.pattern == "steady" { 0 } else { phase };
            look(row.colour, row.pattern, phase, level, row.role.unwrap_or("warning"))
        };
        shown.into_iter().map(|shown| shown.map(words)).collect()
    }

    pub fn package(&self) -> String {
        let input = |at: usize| {
            if self.inputs[at] {
                format!("i{at} = [\"off\", \"low\", \"high\"]\n")
            } else {
                format!("i{at} = \"bool\"\n")
            }
        };
        let inputs: String = (0..self.inputs.len()).map(input).collect();
        let never = self.never.as_ref().map(|never| format!("never = \"{}\"\n", never.text(self))).unwrap_or_default();
        let heads: String = HEADS.iter().map(|(id, groups, right)| {
            format!("[[head]]\nid = \"{id}\"\nmodel = \"lamp\"\ngroups = {groups:?}\nat = {{ ahead = \"0 m\", right = \"{right}\", height = \"1 m\" }}\nfaces = \"front\"\n")
        }).collect();
        let displays: String =
            self.displays.iter().enumerate().map(|(at, display)| self.display(at, display)).collect();
        format!(
            "format = 1\ncatalogues = [\"catalogue.toml\"]\n{never}\
             [vehicle]\nname = \"case\"\nlength = \"6 m\"\nwidth = \"2 m\"\nheight = \"2 m\"\n\
             [inputs]\n{inputs}{heads}\
             [[pattern]]\nid = \"half\"\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"400 ms\"]]\n\
             [[pattern]]\nid = \"other\"\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"200 ms\"]]\n\
             {displays}[[mode]]\nid = \"use\"\nwhen = \"{}\"\npurpose = \"calling\"\n",
            self.mode.text(self)
        )
    }

    fn display(&self, at: usize, (when, does): &(Tree, Does)) -> String {
        let row = |row: &Row| {
            let role = row.role.map(|role| format!(", role = \"{role}\"")).unwrap_or_default();
            let phase = if row.left == row.right {
                format!("\"{} ms\"", row.left)
            } else {
                format!("{{ left = \"{} ms\", right = \"{} ms\" }}", row.left, row.right)
            };
            format!(
                "{{ {}, colour = \"{}\", pattern = \"{}\", phase = {phase}, dim-to = \"{} %\"{role} }}, ",
                name(row.who),
                row.colour,
                row.pattern,
                row.level
            )
        };
        let does = match does {
            Does::Shows(rows) => format!("show = [{}]\n", rows.iter().map(row).collect::<String>()),
            Does::DimsAll(level) => format!("dim-to = \"{level} %\"\n"),
            Does::Dims(level, who) => format!("dim-to = \"{level} %\"\nshow = [{{ {} }}]\n", name(*who)),
        };
        format!("[[display]]\nid = \"d{at}\"\nwhen = \"{}\"\n{does}", when.text(self))
    }
}

/// As both sides write what a head shows.
pub fn look(colour: &str, pattern: &str, phase: i64, level: u8, role: &str) -> String {
    format!("{colour} {pattern} {phase} ms {level} % {role}")
}

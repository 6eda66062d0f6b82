//! The truth table of the controller: one row a distinct light, with the settings that lead to it, what is lit, which
//! mode it serves and the least margin of its states.
//!
//! What hangs on states is put into rows first; a row is judged afterwards and handed over. So a format only writes.

mod changes;
mod csv_rows;
mod json;
mod lit;
mod table;
mod worst;

use std::rc::Rc;

use crate::judge::Finding;
use crate::load::reader::Date;
use crate::logic::{Region, Setting, Space};
use crate::measure::{Change, Conduct, Light, Lights, Move, Shade, come_and_go, moves};
use crate::ruleset::Ruleset;

use lit::{Lit, lit};

/// More settings than this are not named, whatever the format; the table names fewer.
const MOST_SETTINGS: usize = 64;

/// What is asked of the table.
#[derive(Clone, Debug)]
pub struct Wishes {
    /// The day of judgement.
    pub as_of: Date,
    /// Columns of the terminal.
    pub width: u16,
    /// Rows to print; all without.
    pub rows: Option<usize>,
    /// Whether single changes of inputs are told.
    pub changes: bool,
    /// The states to speak of; all without.
    pub when: Option<When>,
}

/// A condition that is asked for.
#[derive(Clone, Debug)]
pub struct When {
    /// As it was written.
    pub text: String,
    /// The states in which it holds.
    pub states: Region,
}

/// The truth table.
#[derive(Debug)]
pub struct States<'a> {
    /// The vehicle over all its states.
    conduct: &'a Conduct<'a>,
    lights: &'a Lights<'a>,
    rulesets: &'a [Ruleset],
    wishes: Wishes,
    /// The rows to print.
    pub rows: Vec<Row<'a>>,
    /// How many rows there would be without a wish for fewer.
    asked: usize,
    /// How many states can occur.
    states: f64,
    /// How many of them are asked for.
    states_asked: f64,
    /// How many of these are in no row, since there are too many lights.
    unlisted: f64,
    never: Never,
    /// The inputs that move bodies and heads.
    doors: Vec<usize>,
}

/// States that `never` leaves out.
#[derive(Debug)]
struct Never {
    states: f64,
    settings: Vec<Setting>,
    whole: bool,
}

/// One distinct light, in the states that are asked for.
#[derive(Debug)]
pub struct Row<'a> {
    /// These states.
    pub region: Region,
    /// From one, whichever rows are asked for.
    pub number: usize,
    light: &'a Light<'a>,
    /// What to set beyond what is asked for.
    settings: Vec<Setting>,
    whole: bool,
    states: f64,
    /// How many states show the light, asked for or not.
    all_states: f64,
    uses: Vec<Use<'a>>,
    unused: f64,
    lit: Vec<Lit<'a>>,
    hidden: Vec<Hidden>,
    changes: Vec<Change>,
    /// The changes in words, one line each; last the inputs that change nothing.
    told: Vec<String>,
    /// What the rules say of it; none where it was not judged.
    pub findings: Option<Rc<OfRow>>,
}

/// The findings of a row.
#[derive(Debug)]
pub struct OfRow {
    /// Each is the least favourable over all the row's states.
    pub whole: Vec<Finding>,
    /// The same over its states with doors and the like at rest, as far as the row lets them; none where they do
    /// nothing, or all is well with them too.
    pub at_rest: Option<Vec<Finding>>,
}

/// A mode that a row serves.
#[derive(Debug)]
struct Use<'a> {
    mode: &'a str,
    purpose: Option<&'a str>,
    /// In how many of the row's states it holds.
    states: f64,
    /// In how many of them it is judged.
    judged: f64,
}

/// What is taken from a row's light, or moved, while something holds.
#[derive(Debug)]
struct Hidden {
    /// When, in words.
    when: String,
    /// The states.
    states: Region,
    /// Places of the bodies that hide; none where heads move.
    bodies: Vec<usize>,
    /// Heads, with at how many bearings they are hidden, and of how many.
    heads: Vec<(usize, usize, usize)>,
}

/// A way of writing it.
#[derive(Clone, Copy, Debug)]
pub struct StatesFormat {
    /// Its name on the command line.
    pub name: &'static str,
    /// Whether a person reads it (it may then be coloured).
    pub for_people: bool,
    /// Writes it.
    pub write: fn(&States<'_>) -> String,
}

/// Every format.
pub const STATES_FORMATS: &[StatesFormat] = &[
    StatesFormat { name: "table", for_people: true, write: table::write },
    StatesFormat { name: "json", for_people: false, write: json::write },
    StatesFormat { name: "ndjson", for_people: false, write: json::write_lines },
    StatesFormat { name: "csv", for_people: false, write: csv_rows::write },
];

impl<'a> States<'a> {
    /// Puts the lights into rows. `shades` is what bodies hide; none where no ruleset says from where to look.
    pub fn new(
        conduct: &'a Conduct<'a>,
        lights: &'a Lights<'a>,
        shades: Option<&[Shade]>,
        rulesets: &'a [Ruleset],
        wishes: Wishes,
    ) -> Self {
        let space = conduct.space();
        let moves = moves(conduct);
        let mut table = Self {
            conduct,
            lights,
            rulesets,
            rows: Vec::new(),
            asked: 0,
            states: space.count(space.allowed()),
            states_asked: space.count(known(space, &wishes)),
            unlisted: space.count(&space.and(&lights.rest, known(space, &wishes))),
            wishes,
            never: never(space),
            // Without inputs a state is a mode, and the row names it.
            doors: if space.inputs().described { come_and_go(conduct.package) } else { Vec::new() },
        };
        let most = table.wishes.rows.unwrap_or(usize::MAX);
        for (at, light) in lights.list.iter().enumerate() {
            let region = space.and(&light.region, known(space, &table.wishes));
            if region.is_empty() {
                continue;
            }
            table.asked += 1;
            if table.rows.len() < most {
                let row = table.row(at, light, region, shades.unwrap_or_default(), &moves);
                let told = if table.wishes.changes { changes::told(&table, &row) } else { Vec::new() };
                table.rows.push(Row { told, ..row });
            }
        }
        table
    }

    fn row(&self, at: usize, light: &'a Light<'a>, region: Region, shades: &[Shade], moves: &[Move]) -> Row<'a> {
        let space = self.conduct.space();
        let package = self.conduct.package;
        let (settings, whole) = space.cover_within(known(space, &self.wishes), &region, MOST_SETTINGS);
        let shown = light.shown.iter().enumerate().filter_map(|(head, shown)| Some((head, (*shown)?)));
        let shown: Vec<_> = shown.collect();
        let mut unused = region.clone();
        let mut uses = Vec::new();
        for (mode, judged) in package.modes.iter().zip(&self.conduct.modes) {
            let held = space.and(&space.holds(&mode.when), &region);
            if held.is_empty() {
                continue;
            }
            unused = space.minus(&unused, &held);
            uses.push(Use {
                mode: &mode.id,
                purpose: mode.purpose.as_deref(),
                states: space.count(&held),
                judged: space.count(&space.and(judged, &held)),
            });
        }
        Row {
            number: at + 1,
            light,
            settings,
            whole,
            states: space.count(&region),
            all_states: space.count(&light.region),
            uses,
            unused: space.count(&unused),
            lit: lit(package, &shown),
            hidden: self.hidden(light, &region, shades, moves),
            changes: if self.wishes.changes { self.lights.changes(space, &region) } else { Vec::new() },
            region,
            told: Vec::new(),
            findings: None,
        }
    }

    /// What comes and goes before the lit heads of a light in these states.
    fn hidden(&self, light: &Light<'_>, states: &Region, shades: &[Shade], moves: &[Move]) -> Vec<Hidden> {
        let space = self.conduct.space();
        let lit = |head: usize| light.shown.get(head).is_some_and(Option::is_some);
        let mut all: Vec<Hidden> = Vec::new();
        for shade in shades.iter().filter(|shade| lit(shade.head) && space.meet(&shade.states, states)) {
            let head = (shade.head, shade.hidden, shade.of);
            match all.iter_mut().find(|known| known.bodies == shade.bodies) {
                Some(known) => {
                    known.states = space.or(&known.states, &shade.states);
                    known.heads.push(head);
                }
                None => all.push(Hidden {
                    when: some_settings(space, &shade.when, 2),
                    states: shade.states.clone(),
                    bodies: shade.bodies.clone(),
                    heads: vec![head],
                }),
            }
        }
        for one in moves.iter().filter(|one| lit(one.head) && space.meet(&one.states, states)) {
            let same = |known: &&mut Hidden| known.bodies.is_empty() && known.states == one.states;
            match all.iter_mut().find(same) {
                Some(known) => known.heads.push((one.head, 0, 0)),
                None => all.push(Hidden {
                    when: some_settings(space, &one.states, 2),
                    states: one.states.clone(),
                    bodies: Vec::new(),
                    heads: vec![(one.head, 0, 0)],
                }),
            }
        }
        all
    }

    /// Whether the rules ask anything of a row.
    pub fn is_asked(&self, row: &Row<'_>) -> bool {
        let every_mode = self.rulesets.iter().any(Ruleset::judges_every_mode);
        let is_asked = |used: &Use<'_>| (used.purpose.is_some() || every_mode) && used.judged > 0.0;
        !self.rulesets.is_empty() && row.uses.iter().any(is_asked)
    }

    /// What stood before the heads where a finding is worst: `rear door open, ladder stowed`. What is not named was at
    /// rest; the inputs that move nothing are as the row says.
    fn with_doors(&self, finding: &Finding) -> Option<String> {
        let state = finding.trace.as_ref()?.state.as_ref()?;
        let moved = self.doors.iter().filter_map(|at| Some((*at, *state.get(*at)?))).filter(|(_, at)| *at > 0);
        let words: Vec<&str> = moved.filter_map(|(input, at)| self.position(input, at)).collect();
        (!words.is_empty()).then(|| words.join(", "))
    }

    /// What must stand before the heads or be moved for a finding to be as bad as it is: `rear door open`. What
    /// stands so in all the row's states is left out.
    fn needed(&self, row: &Row<'_>, finding: &Finding) -> String {
        let state = finding.trace.as_ref().and_then(|trace| trace.state.as_ref());
        let set: Vec<&str> = finding.witness.state.iter().flat_map(|words| words.split(", ")).collect();
        let space = self.conduct.space();
        let stands = self.doors.iter().filter_map(|input| Some((*input, *state?.get(*input)?)));
        let not_always = stands.filter(|(input, at)| !space.minus(&row.region, &space.with(*input, *at)).is_empty());
        let words = not_always.filter_map(|(input, at)| self.position(input, at));
        let words: Vec<&str> = words.filter(|words| set.contains(words)).collect();
        match (words.as_slice(), self.with_doors(finding)) {
            ([], Some(with)) => with,
            ([], None) => "doors and the like not at rest".to_owned(),
            (words, _) => words.join(", "),
        }
    }

    /// The settings of a row in words, at most `most` of them.
    fn settings(&self, row: &Row<'_>, most: usize) -> String {
        match row.settings.as_slice() {
            [only] if only.is_empty() && self.wishes.when.is_some() => "nothing more to set".to_owned(),
            settings => in_words(self.conduct.space(), settings, row.whole, most),
        }
    }

    /// An input in a position, in words.
    fn position(&self, input: usize, position: usize) -> Option<&'a str> {
        let input = self.conduct.space().inputs().list.get(input)?;
        Some(input.positions.get(position)?.words.as_str())
    }

    fn head(&self, at: usize) -> &'a str {
        self.conduct.package.heads.get(at).map_or("", |head| head.id.as_str())
    }
}

impl Hidden {
    /// What happens to the heads, without when: what is hidden wholly, what in part and how much at most, what moves.
    fn what(&self, states: &States<'_>) -> String {
        let names = |heads: &[(usize, usize, usize)]| {
            let heads: Vec<usize> = heads.iter().map(|(head, _, _)| *head).collect();
            lit::names(states.conduct.package, &heads).join(", ")
        };
        if self.bodies.is_empty() {
            return format!("{} moved", names(&self.heads));
        }
        let (wholly, in_part): (Vec<_>, Vec<_>) = self.heads.iter().partition(|(_, hidden, of)| hidden == of);
        let mut said = Vec::new();
        if !wholly.is_empty() {
            said.push(format!("{} wholly hidden", names(&wholly)));
        }
        // Of two shares the larger: hidden / of, compared without division.
        if let Some((_, hidden, of)) = in_part.iter().copied().max_by(|a, b| (a.1 * b.2).cmp(&(b.1 * a.2))) {
            let at_most = if in_part.iter().all(|head| (head.1, head.2) == (hidden, of)) { "" } else { "at most " };
            let who = if in_part.len() == 1 { "it" } else { "each" };
            let bearings = format!("{at_most}{hidden} of the {of} bearings that {who} lights");
            said.push(format!("{} hidden in part ({bearings})", names(&in_part)));
        }
        said.join("; ")
    }
}

/// What happens to a row's light, one line for what happens together.
fn hidden_lines(states: &States<'_>, hidden: &[&Hidden]) -> Vec<(String, String)> {
    let mut lines: Vec<(String, String)> = Vec::new();
    for one in hidden {
        let what = one.what(states);
        match lines.iter_mut().find(|(when, _)| *when == one.when) {
            Some((_, said)) => *said = format!("{said}; {what}"),
            None => lines.push((one.when.clone(), what)),
        }
    }
    lines
}

/// The states that are asked for.
fn known<'w>(space: &'w Space, wishes: &'w Wishes) -> &'w Region {
    wishes.when.as_ref().map_or(space.allowed(), |when| &when.states)
}

/// What `never` leaves out of all settings of the inputs.
fn never(space: &Space) -> Never {
    let whole = Space::new(space.inputs(), &[]);
    let out = whole.minus(whole.allowed(), space.allowed());
    let (settings, complete) = whole.cover(&out, 3);
    Never { states: whole.count(&out), settings, whole: complete }
}

/// Some of the settings that lead to these states: `warning high, park in; or warning low`.
fn some_settings(space: &Space, states: &Region, most: usize) -> String {
    let (settings, whole) = space.cover(states, MOST_SETTINGS);
    in_words(space, &settings, whole, most)
}

/// At most `most` settings in words, and how many more there are.
fn in_words(space: &Space, settings: &[Setting], whole: bool, most: usize) -> String {
    let said: Vec<String> = settings.iter().take(most).map(|setting| space.words(setting)).collect();
    let left = settings.len().saturating_sub(most);
    let more = match (left, whole) {
        (0, true) => String::new(),
        (1, true) => "; or 1 other setting".to_owned(),
        (left, true) => format!("; or {left} other settings"),
        (left, false) => format!("; or more than {left} other settings"),
    };
    format!("{}{more}", said.join("; or "))
}

//! A package as plain facts: things with an id, each with keys and what is said under them, in the words of a technician.
//!
//! Every structure is taken apart field by field and none is left out with `..`, so that a new field has to be said here
//! before the program compiles. What is said has digits enough that another figure is another text.

mod devices;
mod lights;
mod mounting;
mod sound;
mod supply;

pub(super) use mounting::{BEHIND, HEIGHT, RIGHT};

use crate::load::files::sha256;
use crate::load::reader::Date;
use crate::logic::{Condition, Inputs};
use crate::package::{Decision, Evidence, Exception, Package, Said, Statement};
use crate::units::{Length, Share};

/// What stands for a key that a package leaves out.
pub const NOT_STATED: &str = "not stated";

/// The key under which a display says which heads it dims, sorted by name.
pub(super) const DIMS: &str = "dims";

/// What kind of thing a fact speaks of, in the order in which they are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The package as a whole.
    Package,
    /// The vehicle's own figures.
    Vehicle,
    /// What can hide a head.
    Body,
    /// One head.
    Head,
    /// A device model that heads use.
    Model,
    /// A signal of the controller.
    Input,
    /// A flash pattern.
    Pattern,
    /// A display as a whole.
    Display,
    /// What one head does in one display.
    Row,
    /// A use of the vehicle.
    Mode,
    /// The electrical side as a whole.
    Supply,
    /// A battery.
    Battery,
    /// An alternator.
    Alternator,
    /// A converter.
    Converter,
    /// An inverter.
    Inverter,
    /// A shore inlet.
    Inlet,
    /// A circuit with its fuse and wire.
    Circuit,
    /// A load that is no lamp.
    Load,
    /// A model of a sounder.
    SounderModel,
    /// A sounder.
    Sounder,
    /// When sounders sound.
    Sounding,
    /// What is assumed where one listens.
    Listening,
    /// What one person hears over a shift.
    Exposure,
    /// What a person vouches for.
    Statement,
    /// What was accepted in writing.
    Exception,
}

impl Kind {
    /// Before the id, for a person; heads and statements go by their ids alone.
    pub fn word(self) -> &'static str {
        match self {
            Self::Package => "package",
            Self::Vehicle => "vehicle",
            Self::Body => "body",
            Self::Head => "head",
            Self::Model | Self::SounderModel => "model",
            Self::Input => "input",
            Self::Pattern => "pattern",
            Self::Display | Self::Row => "display",
            Self::Mode => "mode",
            Self::Supply => "supply",
            Self::Battery => "battery",
            Self::Alternator => "alternator",
            Self::Converter => "converter",
            Self::Inverter => "inverter",
            Self::Inlet => "inlet",
            Self::Circuit => "circuit",
            Self::Load => "load",
            Self::Sounder => "sounder",
            Self::Sounding => "sounding",
            Self::Listening => "listening",
            Self::Exposure => "exposure",
            Self::Statement => "statement",
            Self::Exception => "exception",
        }
    }

    /// Of two that claim the same, the later one wins.
    pub(super) fn is_ordered(self) -> bool {
        matches!(self, Self::Display | Self::Sounding)
    }

    /// Part of the electrical side or of what sounds: these hang together, and are undone together.
    pub(super) fn is_wired(self) -> bool {
        self >= Self::Supply && self <= Self::Exposure
    }
}

/// One key of a thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Fact {
    /// The key, as a person would name it.
    pub key: String,
    /// What is said under it.
    pub text: String,
    /// What the mirrored twin says under it where it says the same; without it, the same text.
    pub mirrored: Option<String>,
}

/// One thing with all that is said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Thing {
    /// What it is.
    pub kind: Kind,
    /// The display of a row.
    pub within: Option<String>,
    /// Its id; of a row that of its head.
    pub id: String,
    /// What is said of it.
    pub facts: Vec<Fact>,
}

impl Thing {
    /// How it is matched.
    pub(super) fn key(&self) -> (Kind, Option<&str>, &str) {
        (self.kind, self.within.as_deref(), &self.id)
    }

    pub(super) fn fact(&self, key: &str) -> Option<&Fact> {
        self.facts.iter().find(|fact| fact.key == key)
    }

    /// What is stated of it, in one line; `mirrored` as its twin says it.
    pub(super) fn in_short(&self, mirrored: bool) -> String {
        let stated = self.facts.iter().filter(|fact| fact.text != NOT_STATED);
        let said = stated.map(|fact| match &fact.mirrored {
            Some(text) if mirrored => format!("{} {text}", fact.key),
            _ => format!("{} {}", fact.key, fact.text),
        });
        said.collect::<Vec<_>>().join("; ")
    }
}

/// Facts in the making.
#[derive(Default)]
struct Facts(Vec<Fact>);

impl Facts {
    fn say(&mut self, key: impl Into<String>, text: impl Into<String>) {
        self.0.push(Fact { key: key.into(), text: text.into(), mirrored: None });
    }

    fn say_if(&mut self, key: impl Into<String>, text: Option<String>) {
        self.say(key, text.unwrap_or_else(|| NOT_STATED.to_owned()));
    }

    fn say_mirrored(&mut self, key: &str, text: String, mirrored: String) {
        self.0.push(Fact { key: key.to_owned(), text, mirrored: Some(mirrored) });
    }

    fn of(self, kind: Kind, id: impl Into<String>) -> Thing {
        Thing { kind, within: None, id: id.into(), facts: self.0 }
    }
}

/// A package as things, each kind in the order of the file.
pub fn things(package: &Package) -> Vec<Thing> {
    let Package {
        // Which file it is, and what it held, is said of every document; models are asked for by heads.
        file: _,
        sha256: _,
        models: _,
        // What was doubtful in its files is told when they are read.
        doubts: _,
        vehicle,
        bodies,
        heads,
        space,
        never,
        patterns,
        displays,
        modes,
        exceptions,
        statements,
        supply,
        sound,
        decision,
    } = package;
    let inputs = space.inputs();
    let mut whole = Facts::default();
    let cannot: Vec<String> = never.iter().map(|condition| when(condition, inputs)).collect();
    whole.say("what cannot occur", if cannot.is_empty() { "nothing".to_owned() } else { cannot.join("; ") });
    let decides = match decision {
        Decision::Simple => "simple acceptance",
        Decision::Guarded => "guarded acceptance",
    };
    whole.say("decision", decides);
    let mut all = vec![whole.of(Kind::Package, ""), mounting::vehicle(vehicle)];
    all.extend(bodies.iter().map(|body| mounting::body(body, vehicle, inputs)));
    all.extend(heads.iter().map(|head| mounting::head(head, package)));
    all.extend(devices::models(package));
    all.extend(lights::inputs(inputs));
    all.extend(patterns.iter().map(lights::pattern));
    all.extend(displays.iter().map(|display| lights::display(display, package)));
    all.extend(displays.iter().flat_map(|display| lights::rows(display, package)));
    all.extend(modes.iter().map(|mode| lights::mode(mode, inputs)));
    all.extend(supply.iter().flat_map(|supply| supply::supply(supply, inputs)));
    all.extend(sound::side(sound, package));
    all.extend(statements.iter().map(statement));
    all.extend(of_exceptions(exceptions));
    all
}

fn statement(statement: &Statement) -> Thing {
    let Statement { item, said, by, on, reference, span: _ } = statement;
    let mut facts = Facts::default();
    facts.say(
        "answer",
        match said {
            Said::Answer(answer) => answer.clone(),
            Said::Figure(amount) => amount.to_string(),
        },
    );
    facts.say("by", by);
    facts.say("on", on.to_string());
    facts.say_if("reference", reference.clone());
    facts.of(Kind::Statement, item)
}

/// One thing a finding; where several were accepted of it, the thing has the keys of all.
fn of_exceptions(exceptions: &[Exception]) -> Vec<Thing> {
    let mut findings: Vec<(&str, Facts, usize)> = Vec::new();
    for Exception { finding, accepted_by, reference, on, until, reason, span: _ } in exceptions {
        let known = findings.iter().position(|(known, ..)| known == finding);
        let at = known.unwrap_or_else(|| {
            findings.push((finding, Facts::default(), 0));
            findings.len() - 1
        });
        let Some((_, facts, many)) = findings.get_mut(at) else { continue };
        *many += 1;
        let lead = if *many == 1 { String::new() } else { format!("in exception {many}: ") };
        facts.say(format!("{lead}accepted by"), accepted_by);
        facts.say(format!("{lead}reference"), reference);
        facts.say(format!("{lead}on"), on.to_string());
        facts.say(format!("{lead}until"), until.to_string());
        facts.say(format!("{lead}reason"), reason);
    }
    findings.into_iter().map(|(finding, facts, _)| facts.of(Kind::Exception, finding)).collect()
}

/// How well something is known, in words.
fn evidence(evidence: &Evidence) -> String {
    let Evidence { grade, report, date, pattern_index } = evidence;
    let mut said = grade.word().to_owned();
    report.iter().for_each(|report| said.push_str(&format!(", report {report}")));
    date.iter().for_each(|date: &Date| said.push_str(&format!(", {date}")));
    pattern_index.iter().for_each(|index| said.push_str(&format!(", for its pattern {index}")));
    said
}

/// When something holds; in a package without a controller, in which of its modes.
pub(super) fn when(condition: &Condition, inputs: &Inputs) -> String {
    if inputs.described || *condition == Condition::Always {
        return condition.text(inputs);
    }
    let modes = inputs.list.first().map(|one| one.positions.as_slice()).unwrap_or_default();
    let held = modes.iter().enumerate().filter(|(at, _)| condition.holds(&[*at])).map(|(_, mode)| mode.id.as_str());
    let held: Vec<&str> = held.collect();
    match held.as_slice() {
        [] => "in no mode".to_owned(),
        some => format!("in {}", some.join(", ")),
    }
}

/// A figure with its unit, to a millionth: what a unit's factor leaves behind in a sum is no change.
fn figure(value: f64, unit: &str) -> String {
    let rounded = (value * 1e6).round() / 1e6;
    // A negative nothing is nothing.
    let shown = if rounded == 0.0 { 0.0 } else { rounded };
    if unit.is_empty() { shown.to_string() } else { format!("{shown} {unit}") }
}

/// In inches where they are round to a thousandth, else in millimetres: a drawing has one or the other.
fn length(length: Length) -> String {
    let inches = length.value() / 0.0254;
    let is_round = ((inches * 1e3).round() / 1e3 - inches).abs() < 1e-6;
    if is_round { figure(inches, "in") } else { figure(length.value() * 1e3, "mm") }
}

fn percent(share: Share) -> String {
    figure(share.value() * 100.0, "%")
}

fn yes(holds: bool) -> &'static str {
    if holds { "yes" } else { "no" }
}

/// Pairs of a ruleset and the class that is claimed under it.
fn classes(classes: &[(String, String)]) -> String {
    let said: Vec<String> = classes.iter().map(|(ruleset, class)| format!("{ruleset}: {class}")).collect();
    if said.is_empty() { NOT_STATED.to_owned() } else { said.join(", ") }
}

/// A short name for figures that are too many to say: other figures have another.
fn fingerprint(figures: &impl std::fmt::Debug) -> String {
    sha256(format!("{figures:?}").as_bytes()).chars().take(12).collect()
}

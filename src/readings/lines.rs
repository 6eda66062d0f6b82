//! The lines of an acceptance sheet: what a person on the vehicle can measure, look at or read, in the order of a walk
//! round it. A line is made of the findings that one measurement decides: heads of one side that are asked for the same
//! and are expected to show the same stand on one line, and each of their findings names its own head only.

use super::asking::{answer, how, limit_of};
use super::currents::{in_amperes, is_one_current, take_stricter};
use super::identity;
use super::set_to::{SetTo, Setter};
use super::words::{ANSWERS, known, must_be_named};
use crate::judge::{APPLIES, Finding, Found, Judged, Verdict};
use crate::measure::Conduct;
use crate::package::Package;
use crate::quantity::{Proof, may_be_negative, on_vehicle, on_vehicle_of, volts_of_drop};
use crate::ruleset::{Citation, Demand, Require, Ruleset, Strength};
use crate::units::{Amount, Degrees, Dimension, Unit};

/// Where on the walk a line stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stop {
    /// Before the vehicle.
    Front,
    /// On its right.
    Right,
    /// Behind it.
    Rear,
    /// On its left.
    Left,
    /// The vehicle as a whole.
    Around,
    /// At the switches.
    Switches,
    /// At batteries, fuses and wires.
    Power,
    /// Where one listens.
    Sound,
    /// At the desk.
    Papers,
}

/// All stops of the walk, with what they are called.
pub const STOPS: &[(&str, Stop)] = &[
    ("front", Stop::Front),
    ("right side", Stop::Right),
    ("rear", Stop::Rear),
    ("left side", Stop::Left),
    ("all round", Stop::Around),
    ("switches", Stop::Switches),
    ("power", Stop::Power),
    ("sound", Stop::Sound),
    ("papers", Stop::Papers),
];

impl Stop {
    /// What it is called.
    pub fn word(self) -> &'static str {
        STOPS.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }

    /// The side of the vehicle that lies in a direction from its middle.
    pub(super) fn towards(bearing: Degrees) -> Self {
        match bearing.value().rem_euclid(360.0) {
            b if (45.0..135.0).contains(&b) => Self::Right,
            b if (135.0..=225.0).contains(&b) => Self::Rear,
            b if b > 225.0 && b <= 315.0 => Self::Left,
            _ => Self::Front,
        }
    }
}

/// What is written into a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// A figure in a unit that fits.
    Figure,
    /// A number of things.
    Count,
    /// Words of a list.
    Words,
    /// Whether what the line says is so.
    YesNo,
}

/// What the calculation says of the value that a reading meets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Calculated {
    /// It is the expected value.
    Value,
    /// It lies between these, by the voltage at which it is read; in the line's unit.
    Between(f64, f64),
    /// The expected value is the worst end of it: a better one is none that was not computed.
    WorstEnd,
}

/// What a value hangs on and is written down with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// What that is.
    pub what: String,
    /// What was computed from the least of it to the most.
    pub computed: String,
}

/// One line.
#[derive(Clone, Debug)]
pub struct Line {
    /// The id of its finding; where several things stand on it, one of its own, with which all of them are read at once,
    /// as on lines on which heads are fitted.
    pub id: String,
    /// Ids of all findings that it decides.
    pub findings: Vec<String>,
    /// The limit of each of them, in `unit`, where one current meets those of fuse and wire.
    pub(super) limits: Vec<(String, Demand)>,
    /// The quantity's name; empty for questions of our own.
    pub quantity: &'static str,
    /// Whether all its findings are met by calculation; none where one is neither met nor not.
    pub met: Option<bool>,
    /// Where on the walk.
    pub stop: Stop,
    /// What is to be shown.
    pub says: String,
    /// Where and when of it this line is: purpose, zone, level.
    pub about: String,
    /// On which heads, circuits, items, if on some.
    pub of: Vec<String>,
    /// How it is shown.
    pub proof: Proof,
    /// How a person does it.
    pub by_hand: String,
    /// With what.
    pub instrument: &'static str,
    /// The expanded uncertainty (k = 2) that the trade reckons with, and how that is known.
    pub reckon: Option<(Amount, &'static str)>,
    /// What is written into it.
    pub answer: Answer,
    /// How reading and limit are compared.
    pub require: Require,
    /// The limit, in `unit`.
    pub limit: Demand,
    /// The unit of limit and expected value.
    pub unit: Unit,
    /// What the calculation found; of questions `yes` where what is asked is so.
    pub expected: Found,
    /// Whether what was found is a value rather than a bound of it.
    pub is_value: bool,
    /// What is known of that value beside.
    pub calculated: Calculated,
    /// What the vehicle is set to.
    pub state: Option<String>,
    /// What to take care of in that setting, the most dangerous first.
    pub care: Vec<&'static str>,
    /// What is written down beside the value, and what was computed for that, where it hangs on it.
    pub beside: Option<Beside>,
    /// Whether it decides.
    pub strength: Strength,
    /// Where the limit comes from.
    pub source: Citation,
    /// What was accepted in writing of it, in the package itself.
    pub excepted: Option<String>,
    /// The words that it knows, where words are written into it.
    pub words: Vec<String>,
    /// They are answers, of which one is true, rather than a list that may be empty.
    pub one_word: bool,
    /// Whether what is read may lie below zero.
    pub signed: bool,
    /// What it asks, in few letters, where its answer does not say it.
    pub mark: Option<String>,
    /// The voltage of which a drop is a share, at most.
    pub(super) volts: Option<f64>,
    /// Others that are alike stand on it too.
    pub(super) joins: bool,
}

impl Line {
    /// What is to be shown, and of what.
    pub fn whole(&self) -> String {
        if self.about.is_empty() { self.says.clone() } else { format!("{} ({})", self.says, self.about) }
    }

    /// The findings of the things that are read one by one, where several stand on it; none where there is one.
    pub fn things(&self) -> &[String] {
        if self.findings.contains(&self.id) { &[] } else { &self.findings }
    }
}

/// What is asked of a question.
pub(super) fn yes() -> Demand {
    Demand::Words(vec!["yes".to_owned()])
}

/// The lines of a judged package, in the order of the walk.
pub fn lines(conduct: &Conduct<'_>, rulesets: &[Ruleset], judged: &Judged) -> Vec<Line> {
    let package = conduct.package;
    let setter = Setter::new(conduct);
    let mut lines: Vec<Line> = Vec::new();
    for finding in &judged.findings {
        let applies = finding.verdict != Verdict::NotApplicable && finding.rule != APPLIES && !finding.is_meeting();
        let proof = on_vehicle(finding.quantity).proof;
        // What nothing on the vehicle shows rests on its heads; they have lines of their own.
        if !applies || proof == Proof::Heads || crate::quantity::find(finding.quantity).is_none() {
            continue;
        }
        let line = of_finding(package, rulesets, finding, setter.of(finding));
        let volts = conduct.power().and_then(|power| volts_of_drop(finding.quantity, power.supply.system.value()));
        let line = in_amperes(conduct, finding, Line { volts, ..line });
        if let Some(known) = lines.iter_mut().find(|known| is_one_current(known, &line)) {
            take_stricter(known, line);
        } else if let Some(known) = lines.iter_mut().find(|known| is_one(known, &line)) {
            known.findings.extend(line.findings);
            known.of.extend(line.of);
        } else {
            lines.push(line);
        }
    }
    for line in lines.iter_mut().filter(|line| line.joins && line.findings.len() > 1) {
        line.id.push_str("/all");
    }
    lines.extend(identity::lines(package));
    for line in &mut lines {
        line.mark = super::mark::mark(package, line);
    }
    // What decides stands before what is advice.
    lines.sort_by_key(|line| (line.stop, line.strength != Strength::Required));
    lines
}

/// Whether one look or measurement decides both.
fn is_one(one: &Line, other: &Line) -> bool {
    let alike = one.stop == other.stop && one.proof == other.proof && one.answer == other.answer;
    let asked =
        one.says == other.says && one.about == other.about && one.require == other.require && one.limit == other.limit;
    let shown = one.expected == other.expected && one.met == other.met && one.is_value == other.is_value;
    let shown = shown && one.state == other.state && one.unit == other.unit;
    let same = one.strength == other.strength && one.source == other.source && one.excepted == other.excepted;
    let joins = one.joins && other.joins && same;
    joins && alike && asked && shown
}

fn of_finding(package: &Package, rulesets: &[Ruleset], finding: &Finding, set_to: SetTo) -> Line {
    let shown = on_vehicle_of(finding.quantity, finding.scope.item.as_deref());
    let answer = answer(finding, shown.proof);
    let scope = &finding.scope;
    let is_so = match finding.verdict {
        Verdict::Pass => Found::Words(vec!["yes".to_owned()]),
        Verdict::Fail => Found::Words(vec!["no".to_owned()]),
        _ => Found::Nothing,
    };
    let question = answer == Answer::YesNo;
    let own = |limit: &Demand| if matches!(limit, Demand::Missing { .. }) { limit.clone() } else { yes() };
    let of = [&scope.head, &scope.circuit, &scope.supply, &scope.sounder, &scope.item];
    let zone = scope.zone.as_ref().map(|zone| format!("zone {zone}"));
    let level = scope.level.as_ref().map(|level| format!("{level} level"));
    let class = scope.class.as_ref().map(|class| format!("class {class}"));
    let plain = [&scope.emitter, &scope.tone, &scope.place].map(Clone::clone);
    let about = [scope.purpose.clone(), zone, level, class]
        .into_iter()
        .chain(plain)
        .chain([limit_of(finding, answer)])
        .flatten();
    Line {
        id: finding.id.clone(),
        findings: vec![finding.id.clone()],
        limits: Vec::new(),
        quantity: finding.quantity,
        met: match finding.was.unwrap_or(finding.verdict) {
            Verdict::Pass => Some(true),
            Verdict::Fail => Some(false),
            _ => None,
        },
        stop: stop(package, rulesets, finding, shown.proof),
        says: finding.says.clone(),
        about: about.collect::<Vec<_>>().join(", "),
        of: of.into_iter().flatten().cloned().collect(),
        proof: shown.proof,
        by_hand: how(finding, answer, shown.proof),
        instrument: shown.instrument,
        reckon: shown.reckoned().map(|amount| (amount, shown.basis)),
        answer,
        require: if question { Require::Only } else { finding.require },
        limit: if question { own(&finding.limit) } else { finding.limit.clone() },
        unit: if question { Unit::base(Dimension::Words) } else { finding.unit },
        expected: if question { is_so } else { finding.found.clone() },
        is_value: finding.was.unwrap_or(finding.verdict) != Verdict::NotShown,
        calculated: if is_worst_end(finding) { Calculated::WorstEnd } else { Calculated::Value },
        state: set_to.words,
        care: set_to.care,
        beside: None,
        strength: finding.strength,
        source: finding.source.clone(),
        excepted: (finding.verdict == Verdict::Excepted).then(|| finding.note()),
        words: if question { ANSWERS.map(str::to_owned).to_vec() } else { known(package, rulesets, finding) },
        one_word: question || must_be_named(finding.quantity),
        signed: may_be_negative(finding.quantity),
        mark: None,
        volts: None,
        // Heads that are asked for the same and show the same; fuses and wires that are read.
        joins: scope.head.is_some() || (scope.circuit.is_some() && question),
    }
}

/// Whether what was found is the worst of several voltages, or one end of what is not known exactly.
fn is_worst_end(finding: &Finding) -> bool {
    let of_power = crate::quantity::find(finding.quantity)
        .is_some_and(|quantity| matches!(quantity.measure, crate::quantity::Measure::Power(_)));
    of_power || finding.notes.iter().any(|note| note.contains("bounds"))
}

/// Where on the walk a finding is looked at.
fn stop(package: &Package, rulesets: &[Ruleset], finding: &Finding, proof: Proof) -> Stop {
    let scope = &finding.scope;
    // The labels of a fuse and its wire are read where they are.
    if proof == Proof::Papers && scope.circuit.is_none() {
        return Stop::Papers;
    }
    let head = scope.head.as_ref().and_then(|id| package.heads.iter().find(|head| head.id == *id));
    if let Some(head) = head {
        return side_of(head);
    }
    let ruleset = rulesets.iter().find(|ruleset| ruleset.id == finding.ruleset);
    let sectors = ruleset.map(|ruleset| ruleset.protocol.zones.sectors.as_slice()).unwrap_or_default();
    let sector = scope.zone.as_ref().and_then(|zone| sectors.iter().find(|sector| sector.name == *zone));
    if let Some(sector) = sector {
        let width = (sector.to.value() - sector.from.value()).rem_euclid(360.0);
        return Stop::towards(sector.from + Degrees::new(0.5 * width));
    }
    family(finding)
}

/// By what is measured, where no side of the vehicle is meant.
fn family(finding: &Finding) -> Stop {
    let scope = &finding.scope;
    // What a person vouches for has one quantity; what it is about stands in its names.
    let stated = finding.scope.item.is_some();
    let about = if stated { finding.id.as_str() } else { finding.quantity };
    let is = |words: &[&str]| words.iter().any(|word| about.contains(word));
    if stated && is(&["voltage", "load-analysis", "supply", "battery"]) {
        return Stop::Power;
    }
    if stated && is(&["siren", "horn", "back-up-alarm"]) {
        return Stop::Sound;
    }
    if stated {
        return if is(&["switch", "telltale", "control"]) { Stop::Switches } else { Stop::Around };
    }
    let dimension = finding.unit.dimension();
    if scope.sounder.is_some() || is(&["sound", "noise", "silent", "heard", "exposure", "tone", "speakers"]) {
        return Stop::Sound;
    }
    let electrical = matches!(dimension, Dimension::Current | Dimension::Voltage | Dimension::Charge);
    let of_power = is(&["fuse", "wire", "idle", "engine-off", "reserve-used", "voltage", "current", "-use"]);
    if scope.circuit.is_some() || scope.supply.is_some() || electrical || of_power {
        return Stop::Power;
    }
    let of_logic = is(&["states", "modes", "displays", "master", "lit", "carried", "flashers", "flashed", "troubles"]);
    if of_logic || is(&["headlamp", "arrow", "park"]) { Stop::Switches } else { Stop::Around }
}

/// The side of the vehicle on which a head is looked at: that to which it shines.
pub(super) fn side_of(head: &crate::package::Head) -> Stop {
    Stop::towards(head.pose.axis_bearing())
}

/// Ids in few words: twins stand together, and beyond `most` the rest is only counted.
pub fn listed(ids: &[String], most: usize) -> String {
    let mut shown: Vec<String> = Vec::new();
    let mut named = 0;
    let mut rest = ids.iter().peekable();
    while let Some(id) = rest.next() {
        if shown.len() == most {
            break;
        }
        let twin = id.strip_suffix("-left").map(|stem| format!("{stem}-right"));
        if twin.is_some() && rest.peek().copied() == twin.as_ref() {
            rest.next();
            named += 1;
            shown.push(format!("{id} and -right"));
        } else {
            shown.push(id.clone());
        }
        named += 1;
    }
    let more = ids.len() - named;
    let shown = shown.join(", ");
    if more == 0 { shown } else { format!("{shown} and {more} more") }
}

#[cfg(test)]
mod tests {
    use super::listed;

    #[test]
    fn twins_stand_together_and_the_rest_is_counted() {
        let ids = ["a-left", "a-right", "b", "c-left", "d-right"].map(str::to_owned);
        assert_eq!(listed(&ids, 9), "a-left and -right, b, c-left, d-right");
        assert_eq!(listed(&ids, 2), "a-left and -right, b and 2 more");
        assert_eq!(listed(&[], 2), "");
    }
}

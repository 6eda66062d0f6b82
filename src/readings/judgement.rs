//! One reading beside its line: what it says of the limit, whether it fits what was computed, and whether its instrument
//! can carry it. A fault of the record never makes a verdict better: it takes a pass away, and leaves a fail.

use super::close::differs_by;
use super::decide::{DecisionRule, Interval, conformance, decide};
use super::instrument::{YEARS_WITHOUT_END, is_too_old};
use super::lines::{Answer, Calculated, Line};
use super::of_reading::{Known, known};
use super::record::{Reading, Record, key};
use super::taken::{Counted, Taken, taken};
use super::uncertainty::Spread;
use crate::diagnostic::Log;
use crate::judge::{Found, Terms, Verdict};
use crate::package::Decision;
use crate::quantity::Proof;
use crate::ruleset::{Basis, Demand, Require};
use crate::units::{Amount, digits_apart, format_number};

/// What is wrong with a reading beside its verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FaultKind {
    /// It differs from what was computed by more than both are uncertain: a wrong head, pattern or wire.
    Disagrees,
    /// The calibration had run out.
    Expired,
    /// It was calibrated only afterwards.
    CalibratedLater,
    /// It was calibrated years ago, and nothing says until when that holds.
    EndlessCalibration,
    /// Nothing is said of a calibration.
    NoCalibration,
    /// No instrument is named, or none that is described.
    NoInstrument,
    /// The instrument's uncertainty does not fit what was read.
    WrongInstrument,
    /// Nothing says how far it may be off.
    NoUncertainty,
    /// It is dated after the day of judgement.
    ReadLater,
}

/// Words for faults, as files and tables say them.
pub const FAULTS: &[(&str, FaultKind)] = &[
    ("disagrees", FaultKind::Disagrees),
    ("expired-calibration", FaultKind::Expired),
    ("calibrated-later", FaultKind::CalibratedLater),
    ("endless-calibration", FaultKind::EndlessCalibration),
    ("no-calibration", FaultKind::NoCalibration),
    ("no-instrument", FaultKind::NoInstrument),
    ("wrong-instrument", FaultKind::WrongInstrument),
    ("no-uncertainty", FaultKind::NoUncertainty),
    ("read-later", FaultKind::ReadLater),
];

impl FaultKind {
    /// The word.
    pub fn word(self) -> &'static str {
        FAULTS.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// A fault, and what it means.
#[derive(Clone, Debug)]
pub struct Fault {
    /// What.
    pub kind: FaultKind,
    /// In words.
    pub text: String,
    /// Whether nothing passes with it.
    pub blocks: bool,
}

/// What one reading comes to.
#[derive(Clone, Debug)]
pub struct Judgement {
    /// Place of its line.
    pub line: usize,
    /// Place of the reading.
    pub reading: usize,
    /// By the limit, its uncertainty and its faults.
    pub verdict: Verdict,
    /// What was read, in the line's unit.
    pub found: Found,
    /// Its expanded uncertainty U = k u for the rule's k, in the line's unit.
    pub expanded: Option<f64>,
    /// The probability that the true value meets the limit.
    pub probability: Option<f64>,
    /// Whether there is a limit to hold it against; where there is none, the vehicle is not to blame.
    pub limit_known: bool,
    /// What is wrong beside.
    pub faults: Vec<Fault>,
    /// What a reader must know.
    pub notes: Vec<String>,
}

impl Judgement {
    /// Whether it says something that was not computed.
    pub fn disagrees(&self) -> bool {
        self.faults.iter().any(|fault| fault.kind == FaultKind::Disagrees)
    }

    /// Whether a fault lets it prove nothing.
    pub fn is_worthless(&self) -> bool {
        self.faults.iter().any(|fault| fault.blocks)
    }

    /// Whether nothing is left to do after it.
    pub fn is_good(&self) -> bool {
        self.verdict == Verdict::Pass && !self.disagrees()
    }
}

/// What every reading is judged with.
pub(super) struct Desk<'a> {
    pub record: &'a Record,
    pub rule: DecisionRule,
    pub terms: Terms,
    pub log: &'a Log,
}

impl Desk<'_> {
    /// `None` where what was written cannot be read; the log says so.
    pub fn judge(&self, line: &Line, line_at: usize, reading: &Reading, at: usize) -> Option<Judgement> {
        let taken = taken(line, &reading.value, self.log)?;
        let mut judgement = Judgement {
            line: line_at,
            reading: at,
            verdict: Verdict::NotShown,
            found: Found::Nothing,
            expanded: None,
            probability: None,
            limit_known: true,
            faults: Vec::new(),
            notes: Vec::new(),
        };
        if line.answer == Answer::Figure || reading.instrument.is_some() {
            self.instrument(line, reading, &mut judgement);
        }
        match taken {
            Taken::Number { value, counted } => {
                judgement.found = Found::Number(value);
                self.number(line, reading, value, counted, &mut judgement);
            }
            Taken::Words(words) => {
                judgement.verdict = by_words(&words, line);
                if let (Found::Words(expected), true) = (&line.expected, line.is_value)
                    && !same(expected, &words)
                {
                    let says = |words: &[String]| if words.is_empty() { "none".to_owned() } else { words.join(" ") };
                    let text = format!("by the package it is {}, this says {}", says(expected), says(&words));
                    judgement.faults.push(Fault { kind: FaultKind::Disagrees, text, blocks: false });
                }
                judgement.found = Found::Words(words);
            }
        }
        if let Demand::Missing { why, see } = &line.limit {
            judgement.verdict = Verdict::NotShown;
            judgement.limit_known = false;
            let see = see.as_deref().map(|see| format!("; look up {see}")).unwrap_or_default();
            judgement.notes.push(format!("limit missing: {why}{see}"));
        }
        if self.terms.without_memory && line.source.basis == Basis::Memory {
            judgement.verdict = Verdict::NotShown;
            judgement.limit_known = false;
            judgement.notes.push("its limit is known from memory only".to_owned());
        }
        let as_of = self.terms.as_of;
        if key(reading.on) > key(as_of) {
            let text = format!("read on {}, after the day of judgement, {as_of}", reading.on);
            judgement.faults.push(Fault { kind: FaultKind::ReadLater, text, blocks: true });
        }
        if judgement.is_worthless() {
            // What nothing vouches for has no probability either.
            judgement.probability = None;
            if judgement.verdict == Verdict::Pass {
                judgement.verdict = Verdict::NotShown;
            }
        }
        Some(judgement)
    }

    /// What is wrong with the instrument, on the day of the reading.
    fn instrument(&self, line: &Line, reading: &Reading, judgement: &mut Judgement) {
        let mut fault = |kind, text: String| judgement.faults.push(Fault { kind, text, blocks: true });
        let Some(named) = &reading.instrument else {
            if line.proof == Proof::Measure {
                fault(FaultKind::NoInstrument, "no instrument is named".to_owned());
            }
            return;
        };
        let Some(instrument) = self.record.instrument(&named.text) else {
            fault(FaultKind::NoInstrument, format!("the instrument `{}` is not described", named.text));
            return;
        };
        let id = &instrument.id.text;
        match (instrument.calibrated, instrument.due) {
            (_, Some(due)) if key(reading.on) > key(due) => {
                fault(FaultKind::Expired, format!("the calibration of `{id}` ended on {due}, before this reading"));
            }
            (Some(calibrated), _) if key(reading.on) < key(calibrated) => {
                let text = format!("`{id}` was calibrated on {calibrated}, after this reading");
                fault(FaultKind::CalibratedLater, text);
            }
            (Some(calibrated), None) if is_too_old(calibrated, reading.on) => {
                let text = format!(
                    "calibration without an end: `{id}` was calibrated on {calibrated}, more than {YEARS_WITHOUT_END} \
                     years before this reading, and no `due` is stated [practice]"
                );
                fault(FaultKind::EndlessCalibration, text);
            }
            (None, None) if instrument.without.is_none() => {
                fault(FaultKind::NoCalibration, format!("nothing is said of a calibration of `{id}`"));
            }
            _ => {}
        }
    }

    /// A figure beside limit and calculation.
    fn number(&self, line: &Line, reading: &Reading, value: f64, counted: Option<Counted>, judgement: &mut Judgement) {
        let unit = line.unit;
        let Known { standard: known, notes, wrong } = known(self.record, line, reading, value, counted);
        judgement.notes.extend(notes);
        let is_wrong = wrong.is_some();
        let fault = |text| Fault { kind: FaultKind::WrongInstrument, text, blocks: true };
        judgement.faults.extend(wrong.map(fault));
        let k = self.rule.k;
        judgement.expanded = known.map(|standard| k * standard);
        let reckoned = |at: f64| line.reckon.and_then(|(amount, _)| reckoned(amount, at, line)).map(|u| 0.5 * k * u);
        if known.is_none() && !is_wrong {
            let guarded = self.rule.decision == Decision::Guarded;
            let text = if guarded {
                "nothing says how far it may be off, so no guard band can be kept"
            } else {
                "nothing says how far it may be off; the figure alone decides"
            };
            judgement.faults.push(Fault { kind: FaultKind::NoUncertainty, text: text.to_owned(), blocks: guarded });
        }
        if let Some(allowed) = Interval::by(&line.limit, line.require) {
            judgement.verdict = decide(value, judgement.expanded.unwrap_or(0.0), &allowed, self.rule);
            let uncertain = known.filter(|standard| *standard > 0.0);
            judgement.probability = uncertain.map(|standard| conformance(value, standard, &allowed));
            if uncertain.is_some() && allowed.from == allowed.to && !allowed.outside {
                let note = "the limit is one single value, which no reading with an uncertainty shows: agree with the AHJ what is near enough";
                judgement.notes.push(note.to_owned());
            }
        }
        let beside = reckoned(value);
        if let (Some(own), Some(usual)) = (judgement.expanded, beside)
            && own < 0.99 * usual
        {
            let digits = digits_apart(&[own, usual], 1);
            judgement.notes.push(format!(
                "U = {} {unit} is the instrument's; with place and handling the trade reckons with {} {unit} [{}]",
                format_number(own, digits),
                format_number(usual, digits),
                line.reckon.map_or("", |(_, basis)| basis),
            ));
        }
        let Found::Number(expected) = line.expected else { return };
        if !line.is_value {
            return;
        }
        if line.answer == Answer::Count {
            if expected != value {
                let text =
                    format!("the calculation counts {}, this {}", format_number(expected, 0), format_number(value, 0));
                judgement.faults.push(disagreement(line, &text));
            }
            return;
        }
        let (least, most) = match (line.calculated, line.require) {
            (Calculated::Between(least, most), _) => (least, most),
            (Calculated::WorstEnd, Require::AtMost) => (f64::NEG_INFINITY, expected),
            (Calculated::WorstEnd, Require::AtLeast) => (expected, f64::INFINITY),
            _ => (expected, expected),
        };
        let nearest = value.max(least).min(most);
        // What the calculation starts from was measured or stated no better than the trade measures.
        let Some(of_calculation) = reckoned(nearest) else {
            judgement
                .notes
                .push("how far the calculation may be off is not known, so the two are not compared".to_owned());
            return;
        };
        let of_reading = judgement.expanded.or(beside).unwrap_or(0.0);
        let both = of_reading.hypot(of_calculation);
        // What the sheet prints is rounded, and a person compares with that.
        let differs = |from: f64| (value - from).abs() > (both + line.rounding(from)) * (1.0 + 1e-9);
        if differs(nearest) {
            let digits = digits_apart(&[value, nearest, both], 1);
            let number = |number| format_number(number, digits);
            let computed = if least.is_finite() && most.is_finite() && least < most {
                format!("{} to {} {unit} was computed, by voltage", number(least), number(most))
            } else {
                format!("{} {unit} was computed", number(nearest))
            };
            let text = format!(
                "{computed}, {} {unit} read: more apart than both are uncertain, {} {unit}",
                number(value),
                number(both)
            );
            judgement.faults.push(disagreement(line, &text));
        } else if line.calculated == Calculated::WorstEnd && differs(expected) {
            let note = "computed is the worst end of what may be; a reading on the good side of it is no disagreement";
            judgement.notes.push(note.to_owned());
        }
    }
}

/// What the trade reckons with at a value, in the line's unit (k = 2).
fn reckoned(amount: Amount, at: f64, line: &Line) -> Option<f64> {
    Spread::parse(&amount.to_string()).ok()?.at(at, line.unit, None).ok()
}

fn disagreement(line: &Line, text: &str) -> Fault {
    let text = format!("{text}; look for: {}", differs_by(line));
    Fault { kind: FaultKind::Disagrees, text, blocks: false }
}

/// Whether two lists hold the same words, in any order.
fn same(one: &[String], other: &[String]) -> bool {
    one.iter().all(|word| has(other, word)) && other.iter().all(|word| has(one, word))
}

fn has(list: &[String], word: &str) -> bool {
    list.iter().any(|known| known.eq_ignore_ascii_case(word))
}

fn by_words(words: &[String], line: &Line) -> Verdict {
    let Demand::Words(listed) = &line.limit else { return Verdict::NotShown };
    let met = match line.require {
        Require::NoneOf => !words.iter().any(|word| has(listed, word)),
        Require::SomeOf => words.iter().any(|word| has(listed, word)),
        Require::Exactly => same(words, listed),
        _ => words.iter().all(|word| has(listed, word)),
    };
    if met { Verdict::Pass } else { Verdict::Fail }
}

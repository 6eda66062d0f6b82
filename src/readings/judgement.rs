//! One reading beside its line: what it says of the limit, whether it fits what was computed, and whether its instrument
//! can carry it. A fault of the record never makes a verdict better: it takes a pass away, and leaves a fail.

use super::compared::{Compared, compared, compared_words, has, same};
use super::decide::{DecisionRule, Interval, conformance, decide};
use super::instrument::{YEARS_WITHOUT_END, is_too_old};
use super::lines::{Answer, Line};
use super::of_reading::{Known, known};
use super::record::{Reading, Record, key};
use super::taken::{How, Taken, taken};
use crate::diagnostic::Log;
use crate::judge::{Found, Terms, Verdict};
use crate::package::Decision;
use crate::quantity::Proof;
use crate::ruleset::{Basis, Demand, Require};
use crate::units::{digits_apart, format_number};

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
    /// Its own uncertainty is below that of its instrument.
    Understated,
    /// Nothing says how far it may be off.
    NoUncertainty,
    /// It is dated after the day of judgement.
    ReadLater,
    /// Its line asked something else when the sheet was made.
    OtherSheet,
    /// It was read years before the day of judgement.
    OldReading,
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
    ("understated-uncertainty", FaultKind::Understated),
    ("no-uncertainty", FaultKind::NoUncertainty),
    ("read-later", FaultKind::ReadLater),
    ("other-sheet", FaultKind::OtherSheet),
    ("old-reading", FaultKind::OldReading),
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
    /// Whether it is worse than what was computed, by more than both are uncertain.
    pub is_worse: bool,
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
            is_worse: false,
            limit_known: true,
            faults: Vec::new(),
            notes: Vec::new(),
        };
        if line.answer == Answer::Figure || reading.instrument.is_some() {
            self.instrument(line, reading, &mut judgement);
        }
        match taken {
            Taken::Number { value, how } => {
                judgement.found = Found::Number(value);
                self.number(line, reading, value, how, &mut judgement);
            }
            Taken::Words(words) => {
                judgement.verdict = by_words(&words, line);
                self.beside(line, compared_words(line, &words), &mut judgement);
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
        if let (Some(then), Some(now)) = (&reading.mark, &line.mark)
            && then != now
        {
            let text = "what this line asks was changed in the package since its sheet was made (its mark was \
                        `THEN`, and is `NOW`): look again, on a new sheet";
            let text = text.replace("THEN", then).replace("NOW", now);
            judgement.faults.push(Fault { kind: FaultKind::OtherSheet, text, blocks: true });
        }
        if is_too_old(reading.on, as_of) {
            let text = format!(
                "read on {}, more than {YEARS_WITHOUT_END} years before the day of judgement: nobody knows that it is still so [practice]",
                reading.on
            );
            judgement.faults.push(Fault { kind: FaultKind::OldReading, text, blocks: false });
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
    fn number(&self, line: &Line, reading: &Reading, value: f64, how: Option<How>, judgement: &mut Judgement) {
        let unit = line.unit;
        let Known { standard: known, notes, wrong, understated } = known(self.record, line, reading, value, how);
        judgement.notes.extend(notes);
        let is_wrong = wrong.is_some();
        let fault = |kind, blocks| move |text| Fault { kind, text, blocks };
        judgement.faults.extend(wrong.map(fault(FaultKind::WrongInstrument, true)));
        judgement.faults.extend(understated.map(fault(FaultKind::Understated, false)));
        let k = self.rule.k;
        judgement.expanded = known.map(|standard| k * standard);
        let usual = line.reckoned(value, k).filter(|_| how.is_none());
        if let (Some(own), Some(usual)) = (judgement.expanded, usual)
            && own < usual
        {
            judgement.expanded = Some(usual);
            if own < 0.99 * usual {
                let digits = digits_apart(&[own, usual], 1);
                judgement.notes.push(format!(
                    "U = {} {unit} is taken: the trade reckons with it, place and handling included [{}]; by the figures of the reading it is {} {unit}",
                    format_number(usual, digits),
                    line.reckon.map_or("", |(_, basis)| basis),
                    format_number(own, digits),
                ));
            }
        }
        let known = judgement.expanded.map(|expanded| expanded / k);
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
        // What is refused says nothing of the calculation either.
        if is_wrong {
            return;
        }
        let of_reading = judgement.expanded.or(line.reckoned(value, k)).unwrap_or(0.0);
        let compared = compared(line, value, of_reading, k, judgement.verdict);
        judgement.notes.extend(compared.note.map(str::to_owned));
        self.beside(line, compared, judgement);
    }

    /// What it means that a reading differs from what was computed, or passes where that fails.
    fn beside(&self, line: &Line, compared: Compared, judgement: &mut Judgement) {
        judgement.is_worse = compared.is_worse;
        let overturns = judgement.verdict == Verdict::Pass && line.met == Some(false);
        let text = match (compared.differs, overturns) {
            (None, false) => return,
            (Some(differs), false) => differs,
            (differs, true) => {
                judgement.verdict = Verdict::NotShown;
                judgement.probability = None;
                let lead = differs.map(|differs| format!("{differs}; ")).unwrap_or_default();
                format!("{lead}{OVERTURNS}")
            }
        };
        judgement.faults.push(Fault { kind: FaultKind::Disagrees, text, blocks: false });
    }
}

/// What is said of a reading that passes where the calculation fails.
const OVERTURNS: &str = "the calculation fails it: find out why before either is believed, and correct the package or have it accepted in writing";

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

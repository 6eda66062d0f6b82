//! What was read on the vehicle, line by line of an acceptance sheet: each reading beside its limit and beside what was
//! computed, decided by its uncertainty; what is wrong until a later reading closes it.

mod asking;
mod beyond;
mod close;
mod compared;
mod counting;
mod currents;
mod decide;
mod described;
mod identity;
mod instrument;
mod judge;
mod judgement;
mod lines;
mod mark;
mod of_reading;
mod read;
mod read_csv;
mod record;
mod set_to;
mod taken;
mod uncertainty;
mod unlike;
mod words;

pub use beyond::{Beyond, beyond};
pub use close::{Deficiency, Standing, deficiencies};
pub use decide::{DecisionRule, Interval, conformance, decide};
pub use judge::{LineResult, ReadingsJudged, Tally, judge_readings};
pub use judgement::{FAULTS, Fault, FaultKind, Judgement};
pub use lines::{Answer, Beside, Calculated, Line, STOPS, Stop, lines, listed};
pub use read::{DECISIONS, read};
pub use read_csv::{COLUMNS, EXPLAINING};
pub use record::{Accepted, Instrument, Reading, Record};
pub use uncertainty::{Kind, Spread};

//! Words and pictures only: nothing here computes what a finding does not already hold.
//!
//! Adding a format: one file here with a function from [`Report`] to text, and one line in [`FORMATS`].

mod bid;
mod change;
mod compare;
mod csv_rows;
mod explain;
pub mod figures;
mod json;
mod layers;
mod number;
mod page;
mod paper;
mod power;
mod record;
pub mod rules;
mod sheet;
mod sound;
mod states;
mod table;
mod text;
mod workbook;

use crate::judge::{Finding, Judged, Verdict};
use crate::load::reader::Date;
use crate::measure::Conduct;
use crate::package::Package;
use crate::ruleset::{Ruleset, Strength};

pub use bid::{BID_ENDINGS, BidPaper, WriteBid, bid_text, looked_over};
pub use change::{CHANGE_FORMATS, ChangeFormat, Changed};
pub use compare::Offers;
pub use explain::explain;
pub use paper::{Anchor, Figure, Mark, PAPERS, Paper, PaperKind, Write, named_in};
pub use power::{changed, load_analysis};
pub use record::readings_table;
pub use sheet::{LEFT_OUT, LeftOut};
pub use states::{OfRow, Row, STATES_FORMATS, States, StatesFormat, When, Wishes};
pub use workbook::ABOUT_SHEET;

/// What the usual cautions say; printed with every result.
pub const CAUTIONS: &[&str] = &[
    "The authority having jurisdiction (AHJ), the law and licensed practice decide; this is a calculation from what the files say.",
    "It cannot show which lamp is really fitted, its true aim and pattern, dirt, ageing, heat, wiring faults or what a lamp does in a laboratory; those need inspection and test.",
    "Flashing light can trigger seizures and dazzle at close range, sirens and horns damage hearing, battery currents burn: look, listen and measure with protection.",
];

/// Everything a report may speak of.
#[derive(Debug)]
pub struct Report<'a> {
    /// The vehicle over all its states.
    pub conduct: &'a Conduct<'a>,
    /// The rulesets asked for.
    pub rulesets: &'a [Ruleset],
    /// What was found.
    pub judged: &'a Judged,
    /// The day of judgement.
    pub as_of: Date,
    /// Which verdicts are printed; all without a list. Never changes the summary.
    pub only: &'a [Verdict],
    /// Whether advice and cautions are printed. Never changes the summary.
    pub advice: bool,
    /// Columns of the terminal.
    pub width: u16,
}

/// A way of writing a report.
#[derive(Clone, Copy, Debug)]
pub struct Format {
    /// Its name on the command line.
    pub name: &'static str,
    /// Whether a person reads it (it may then be coloured).
    pub for_people: bool,
    /// Writes it.
    pub write: fn(&Report<'_>) -> String,
}

/// Every format.
pub const FORMATS: &[Format] = &[
    Format { name: "table", for_people: true, write: table::write },
    Format { name: "json", for_people: false, write: json::write },
    Format { name: "ndjson", for_people: false, write: json::write_lines },
    Format { name: "csv", for_people: false, write: csv_rows::write },
];

impl<'a> Report<'a> {
    /// The vehicle.
    fn package(&self) -> &'a Package {
        self.conduct.package
    }

    /// The findings to print.
    fn findings(&self) -> impl Iterator<Item = &Finding> {
        let wanted = |finding: &&Finding| {
            let asked = self.only.is_empty() || self.only.contains(&finding.verdict);
            asked && (self.advice || finding.strength == Strength::Required)
        };
        self.judged.findings.iter().filter(wanted)
    }

    /// What to take care of; left out where only some verdicts are asked for, as it has none.
    fn cautions(&self) -> impl Iterator<Item = &Finding> {
        self.judged.cautions.iter().filter(|_| self.advice && self.only.is_empty())
    }
}

/// The verdict in one word; a caution has none.
fn verdict_word(finding: &Finding) -> &'static str {
    if finding.strength == Strength::Caution { "caution" } else { finding.verdict.word() }
}

/// Text with verdicts coloured for a terminal: words stay as they are.
pub fn colour(text: &str) -> String {
    table::colour(text)
}

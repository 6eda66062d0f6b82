//! Offers side by side: one column an offer, one row a figure, and what is open or excepted in each. None is ranked.

mod csv_rows;
mod page;
mod table;

use super::Report;
use super::number::margin;
use crate::compare::{Better, Cell, Offer, OfferPart, OfferRow, Shape, extents};
use crate::judge::{Finding, Verdict};
use crate::load::files::InputFile;
use crate::load::reader::Date;
use crate::package::Exception;
use crate::ruleset::Strength;
use crate::units::format_number;

/// What a reader has to know before he reads a row.
const HOW_TO_READ: &str = "Every figure stands by itself: no offer is ranked, and lamps are not counted. The word `best` stands at the best figure of a row, at several where they tie; nowhere in a row of which a figure is not known or rests on an estimate, where all are alike, where a ruleset does not fit an offer, where other rules were judged for one than for another, or where one is judged in other states than another; and never at a figure that fails. Figures that read alike are alike. Fails are not weighed against each other while something is not shown. The margin of a zone is the worst of what does not pass there, else the worst of its light: more flashes than are asked for are no better.";

/// Everything that is said of several offers.
#[derive(Debug)]
pub struct Offers<'a> {
    /// What each is called in the document.
    pub labels: &'a [String],
    /// Each of them, judged by the same rulesets on the same day.
    pub reports: &'a [Report<'a>],
    /// The figures.
    pub rows: &'a [OfferRow<'a>],
    /// What a reader must know of the rulesets.
    pub remarks: &'a [String],
    /// The files of all.
    pub inputs: &'a [InputFile],
}

impl Offers<'_> {
    /// For a terminal.
    pub fn table(&self) -> String {
        table::write(self)
    }

    /// Rows for a spreadsheet.
    pub fn csv(&self) -> String {
        csv_rows::write(self)
    }

    /// The page to hold.
    ///
    /// # Errors
    /// What the template asks and does not get: a mistake in this program.
    pub fn page(&self) -> Result<Vec<u8>, String> {
        page::write(self)
    }

    /// `A: Rescue 4 (rescue-4/package.toml)`, one an offer.
    fn named(&self) -> impl Iterator<Item = (&str, &Report<'_>)> {
        self.labels.iter().map(String::as_str).zip(self.reports)
    }

    /// Which rulesets do not fit which offer, a sentence each.
    fn misfits(&self) -> Vec<String> {
        (0..self.reports.len()).filter_map(|at| self.misfit(at)).collect()
    }

    /// Which rulesets do not fit one of them.
    fn misfit(&self, at: usize) -> Option<String> {
        let (label, report) = self.named().nth(at)?;
        let unfit = Offer { conduct: report.conduct, judged: report.judged }.unfit();
        let named: Vec<String> = unfit.iter().map(|id| format!("`{id}`")).collect();
        let (which, do_not, their) = match named.len() {
            0 => return None,
            1 => ("The ruleset", "does not", "its"),
            _ => ("The rulesets", "do not", "their"),
        };
        let named = named.join(", ");
        Some(format!(
            "{which} {named} {do_not} fit `{label}`: {their} rules are not judged for it, and less that is judged is not better; --rules names what fits all"
        ))
    }

    /// That the offers are judged in other states than each other, and in what; nothing where all are asked alike.
    fn states(&self) -> Option<String> {
        let all: Vec<Offer<'_>> =
            self.reports.iter().map(|report| Offer { conduct: report.conduct, judged: report.judged }).collect();
        let of = |said: Vec<String>| {
            let each = self.labels.iter().zip(said).map(|(label, said)| format!("{label}: {said}"));
            each.collect::<Vec<_>>().join(" | ")
        };
        let differ = extents(&all).into_iter().map(|extent| format!("{}: {}", extent.what, of(extent.of)));
        let differ: Vec<String> = differ.collect();
        (!differ.is_empty()).then(|| {
            format!(
                "The offers are not judged in the same states, so nothing is marked: whoever describes fewer is asked less. {}",
                differ.join(". ")
            )
        })
    }

    /// What has to be known before any figure is read.
    fn remarks(&self) -> Vec<String> {
        self.remarks.iter().cloned().chain(self.misfits()).chain(self.states()).collect()
    }

    /// The rulesets that all are judged by.
    fn rulesets(&self) -> String {
        let rulesets = self.reports.first().map(|report| report.rulesets).unwrap_or_default();
        rulesets.iter().map(|one| format!("{} (edition {})", one.id, one.edition)).collect::<Vec<_>>().join(", ")
    }
}

/// What stands in a cell: the figure, which rule it is of, why it is open, whether it is the best.
fn said(row: &OfferRow<'_>, cell: &Cell<'_>) -> String {
    let mut parts = vec![figure(row, cell)];
    parts.extend(cell.at.clone());
    let verdict = |finding: &Finding| match finding.verdict {
        Verdict::Pass => String::new(),
        verdict => format!(", {}", verdict.print()),
    };
    match (cell.finding, row.shape) {
        (Some(finding), Shape::Margin) => parts.push(format!("({}{})", finding.rule, verdict(finding))),
        // Of a figure of the supply, where a limit says something of it.
        (Some(finding), Shape::In(_)) if row.part == OfferPart::Power && finding.verdict != Verdict::NotShown => {
            parts.push(format!("({}{})", finding.rule, verdict(finding)));
        }
        _ => {}
    }
    if let Some(open) = &cell.open {
        parts.push(format!("? {open}"));
    }
    if cell.best {
        parts.push("best".to_owned());
    }
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

fn figure(row: &OfferRow<'_>, cell: &Cell<'_>) -> String {
    match (row.shape, cell.value, cell.finding) {
        (_, None, _) => String::new(),
        (Shape::Margin, Some(_), Some(finding)) => margin(finding),
        (Shape::Count, Some(value), _) | (Shape::Margin, Some(value), None) => format_number(value, 0),
        (Shape::In(unit), Some(value), _) => {
            let digits = if unit == "points" { 0 } else { 2 };
            format!("{} {unit}", format_number(value, digits))
        }
    }
}

fn better(row: &OfferRow<'_>) -> &'static str {
    match row.better {
        Some(Better::More) => "more is better",
        Some(Better::Less) => "less is better",
        None => "",
    }
}

/// How an offer stands, in one line: `fails 35 required rules`.
fn standing_of(report: &Report<'_>) -> String {
    let counts = &report.judged.summary.required;
    let many = |count: usize, one: &str, more: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        count => Some(format!("{count} {more}")),
    };
    let fails = many(counts.fail, "required finding", "required findings").map(|many| format!("FAILS {many}"));
    let open = counts.not_shown + counts.too_close;
    let open = many(open, "required finding is open", "required findings are open");
    let estimate = many(counts.on_estimate, "rests on an estimate", "rest on an estimate");
    let excepted = many(counts.excepted, "is excepted in writing", "are excepted in writing");
    let said: Vec<String> = [fails, open, estimate, excepted].into_iter().flatten().collect();
    match said.is_empty() {
        true if report.judged.summary.anything_judged => {
            "fails nothing that is required, and nothing of it is open".to_owned()
        }
        true => "nothing was judged".to_owned(),
        false => said.join(", "),
    }
}

/// Required findings that fail, those of one rule in one line.
fn failures(report: &Report<'_>) -> Vec<String> {
    let fails = |finding: &&Finding| finding.verdict == Verdict::Fail && finding.strength == Strength::Required;
    let mut rules: Vec<(&str, String, Vec<&str>)> = Vec::new();
    for finding in report.judged.findings.iter().filter(fails) {
        let rule = format!("{}:{}", finding.ruleset, finding.rule);
        match rules.iter_mut().find(|(_, known, _)| *known == rule) {
            Some((.., ids)) => ids.push(&finding.id),
            None => rules.push((&finding.says, rule, vec![&finding.id])),
        }
    }
    rules.into_iter().map(|(says, _, ids)| format!("{says} {}", ids.join(", "))).collect()
}

/// Required findings that are open: why each is, and what would show it; those for the same reason in one line.
fn unknowns(report: &Report<'_>) -> Vec<String> {
    let open = |finding: &&Finding| {
        let is_open = matches!(finding.verdict, Verdict::NotShown | Verdict::TooClose) || finding.on_estimate();
        is_open && finding.strength == Strength::Required
    };
    let mut reasons: Vec<(String, Vec<&str>)> = Vec::new();
    for finding in report.judged.findings.iter().filter(open) {
        let why = why_open(finding);
        match reasons.iter_mut().find(|(known, _)| *known == why) {
            Some((_, ids)) => ids.push(&finding.id),
            None => reasons.push((why, vec![&finding.id])),
        }
    }
    reasons.into_iter().map(|(why, ids)| format!("{why}: {}", ids.join(", "))).collect()
}

/// Why a finding is open, in one line.
fn why_open(finding: &Finding) -> String {
    let word = match finding.verdict {
        Verdict::NotShown | Verdict::TooClose => finding.verdict.print(),
        verdict => format!("{} on an estimate", verdict.print()),
    };
    // What is to be typed stands below the first line, and belongs to `check`.
    let would = finding.would_show.as_deref().and_then(|text| text.lines().next());
    let would = would.map(|line| match (line.ends_with(':'), line.rsplit_once("; ")) {
        (true, Some((look_up, _))) => look_up,
        _ => line,
    });
    match would {
        Some(would) => format!("{word} (would show it: {would})"),
        None => word,
    }
}

/// Exceptions that the package names, each in one line, and whether it holds on the day of judgement.
fn exceptions(report: &Report<'_>) -> Vec<String> {
    let one = |exception: &Exception| {
        let holds = match standing(exception, report.as_of) {
            Standing::Holds => String::new(),
            Standing::Over => format!(" - OVER since {}: it covers nothing any more", exception.until),
            Standing::Later => format!(" - begins on {}: it covers nothing yet", exception.on),
        };
        format!(
            "{}: accepted by {}, {}, from {} until {}: {}{holds}",
            exception.finding,
            exception.accepted_by,
            exception.reference,
            exception.on,
            exception.until,
            exception.reason
        )
    };
    report.package().exceptions.iter().map(one).collect()
}

/// How many there are, and how many of them do not hold: `2 exceptions, 1 of them over`.
fn how_many(report: &Report<'_>) -> String {
    let all = &report.package().exceptions;
    let of = |wanted: Standing| all.iter().filter(|one| standing(one, report.as_of) == wanted).count();
    let mut said = match all.len() {
        0 => "none".to_owned(),
        1 => "1 exception".to_owned(),
        many => format!("{many} exceptions"),
    };
    for (count, word) in [(of(Standing::Over), "over"), (of(Standing::Later), "not yet begun")] {
        if count > 0 {
            said.push_str(&format!(", {count} of them {word}"));
        }
    }
    said
}

/// Whether an exception holds on a day; both its days are days on which it does.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Standing {
    Holds,
    Over,
    Later,
}

fn standing(exception: &Exception, as_of: Date) -> Standing {
    if as_of > exception.until {
        Standing::Over
    } else if as_of < exception.on {
        Standing::Later
    } else {
        Standing::Holds
    }
}

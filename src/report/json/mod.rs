//! JSON for other programs: stable keys, numbers as numbers in the stated unit, absent keys left out.

mod overlay;

use serde::Serialize;

use super::{Report, verdict_word};
use crate::judge::{Finding, FindingScope, FindingWitness, Found, Summary, Together};
use crate::load::reader::Date;
use crate::package::Package;
use crate::ruleset::{Citation, Demand, Origin, Overlaid, Ruleset};

#[derive(Serialize)]
struct Document<'a> {
    #[serde(flatten)]
    identity: Identity<'a>,
    summary: Summary,
    /// What was doubtful when the files were read.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    doubts: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    findings: Option<Vec<FindingLine<'a>>>,
    /// What to take care of; no verdict.
    #[serde(skip_serializing_if = "Option::is_none")]
    cautions: Option<Vec<FindingLine<'a>>>,
}

/// What every document says of itself.
#[derive(Serialize)]
pub(super) struct Identity<'a> {
    format: u32,
    tool: Tool,
    as_of: String,
    package: PackageLine<'a>,
    rulesets: Vec<RulesetLine<'a>>,
}

#[derive(Serialize)]
struct Tool {
    name: &'static str,
    version: &'static str,
}

#[derive(Serialize)]
struct PackageLine<'a> {
    file: &'a str,
    name: &'a str,
    sha256: &'a str,
}

#[derive(Serialize)]
struct RulesetLine<'a> {
    id: &'a str,
    edition: &'a str,
    sha256: &'a str,
    #[serde(flatten)]
    overlay: Option<overlay::Entry<'a>>,
}

#[derive(Serialize)]
struct FindingLine<'a> {
    id: &'a str,
    rule: &'a str,
    ruleset: &'a str,
    strength: &'static str,
    quantity: &'static str,
    unit: &'static str,
    scope: &'a FindingScope,
    require: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit: Option<Figure<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    found: Option<Figure<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    margin: Option<f64>,
    verdict: &'static str,
    basis: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    evidence: Option<&'static str>,
    #[serde(skip_serializing_if = "FindingWitness::is_empty")]
    witness: &'a FindingWitness,
    source: Source<'a>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    together: Vec<TogetherLine<'a>>,
    #[serde(skip_serializing_if = "String::is_empty")]
    note: String,
}

/// One of the limits that meet in a finding on several.
#[derive(Serialize)]
struct TogetherLine<'a> {
    ruleset: &'a str,
    rule: &'a str,
    require: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit: Option<Figure<'a>>,
    unit: &'static str,
    basis: &'static str,
    source: Source<'a>,
}

impl<'a> From<&'a Together> for TogetherLine<'a> {
    fn from(one: &'a Together) -> Self {
        Self {
            ruleset: &one.ruleset,
            rule: &one.rule,
            require: one.require.word(),
            limit: figure(&one.limit),
            unit: one.unit.symbol(),
            basis: one.source.basis.word(),
            source: Source::from(&one.source),
        }
    }
}

#[derive(Serialize)]
#[serde(untagged)]
enum Figure<'a> {
    Number(f64),
    Range { from: f64, to: f64 },
    Words(&'a [String]),
}

#[derive(Serialize)]
struct Source<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    document: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    edition: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    clause: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    own: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    authority: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    address: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    seen: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    confirmed: Option<Confirmation<'a>>,
}

#[derive(Serialize)]
struct Confirmation<'a> {
    by: &'a str,
    on: String,
    edition: &'a str,
    clause: &'a str,
}

impl<'a> From<&'a Citation> for Source<'a> {
    fn from(cited: &'a Citation) -> Self {
        let (document, edition, clause, own) = match &cited.origin {
            Origin::Document { title, edition, clause } => (Some(title), Some(edition), Some(clause), None),
            Origin::Own(why) => (None, None, None, Some(why)),
        };
        let confirmed = cited.confirmed.as_ref().map(|confirmed| Confirmation {
            by: &confirmed.by,
            on: confirmed.on.to_string(),
            edition: &confirmed.edition,
            clause: &confirmed.clause,
        });
        Self {
            document: document.map(String::as_str),
            edition: edition.map(String::as_str),
            clause: clause.map(String::as_str),
            own: own.map(String::as_str),
            authority: cited.authority.as_deref(),
            address: cited.address.as_deref(),
            seen: cited.seen.map(|day| day.to_string()),
            confirmed,
        }
    }
}

impl FindingWitness {
    pub(super) fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// The whole report as one document.
pub(super) fn write(report: &Report<'_>) -> String {
    let mut document = document(report);
    document.findings = Some(report.findings().map(line).collect());
    document.cautions = Some(report.cautions().map(line).collect());
    to_text(serde_json::to_string_pretty(&document))
}

/// One line a finding, after a first line with all the rest.
pub(super) fn write_lines(report: &Report<'_>) -> String {
    let head = to_text(serde_json::to_string(&document(report)));
    let lines =
        report.findings().chain(report.cautions()).map(|finding| to_text(serde_json::to_string(&line(finding))));
    std::iter::once(head).chain(lines).collect()
}

/// Every number that reaches this point is finite and every key a text, so writing cannot go wrong.
pub(super) fn to_text(written: Result<String, serde_json::Error>) -> String {
    written.map(|text| text + "\n").unwrap_or_default()
}

fn document<'a>(report: &Report<'a>) -> Document<'a> {
    Document {
        identity: identity(report.package(), report.rulesets, report.as_of),
        summary: report.judged.summary,
        doubts: &report.package().doubts,
        findings: None,
        cautions: None,
    }
}

/// The tool, the day and the files, each with its hash.
pub(super) fn identity<'a>(package: &'a Package, asked: &'a [Ruleset], as_of: Date) -> Identity<'a> {
    let mut rulesets = Vec::new();
    for ruleset in asked {
        let Ruleset { id, edition, sha256, .. } = ruleset;
        rulesets.push(RulesetLine { id, edition, sha256, overlay: None });
        for overlay in &ruleset.overlays {
            let Overlaid { id, edition, sha256, .. } = overlay;
            let overlay = Some(overlay::entry(overlay, ruleset));
            rulesets.push(RulesetLine { id, edition, sha256, overlay });
        }
    }
    Identity {
        format: 1,
        tool: Tool { name: env!("CARGO_PKG_NAME"), version: env!("CARGO_PKG_VERSION") },
        as_of: as_of.to_string(),
        package: PackageLine { file: &package.file, name: &package.vehicle.name, sha256: &package.sha256 },
        rulesets,
    }
}

/// A demand as a figure; none where it is missing.
fn figure(demand: &Demand) -> Option<Figure<'_>> {
    match demand {
        Demand::Number(number) => Some(Figure::Number(*number)),
        Demand::Range { from, to } => Some(Figure::Range { from: *from, to: *to }),
        Demand::Words(words) => Some(Figure::Words(words)),
        Demand::Missing { .. } => None,
    }
}

fn line(finding: &Finding) -> FindingLine<'_> {
    let found = match &finding.found {
        Found::Number(number) => Some(Figure::Number(*number)),
        Found::Words(words) => Some(Figure::Words(words)),
        Found::Nothing => None,
    };
    FindingLine {
        id: &finding.id,
        rule: &finding.rule,
        ruleset: &finding.ruleset,
        strength: finding.strength.word(),
        quantity: finding.quantity,
        unit: finding.unit.symbol(),
        scope: &finding.scope,
        require: finding.require.word(),
        limit: figure(&finding.limit),
        found,
        margin: finding.margin,
        verdict: verdict_word(finding),
        basis: finding.source.basis.word(),
        evidence: finding.evidence.map(crate::package::Grade::word),
        witness: &finding.witness,
        source: Source::from(&finding.source),
        together: finding.together.iter().map(TogetherLine::from).collect(),
        note: finding.note(),
    }
}

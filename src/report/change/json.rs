//! Before and after as JSON: stable keys, absent ones left out.

use serde::Serialize;

use super::{Changed, strength};
use crate::compare::{Change, Difference, Moved, Renamed};
use crate::judge::{Finding, Found, Summary};
use crate::report::{Report, verdict_word};
use crate::ruleset::Ruleset;

#[derive(Serialize)]
struct Document<'a> {
    format: u32,
    tool: Tool,
    as_of: String,
    old: Side<'a>,
    new: Side<'a>,
    rulesets: Vec<RulesetLine<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    renamed: Vec<RenamedLine<'a>>,
    asked: &'a [String],
    remarks: &'a [String],
    changes: Vec<ChangeLine<'a>>,
    moved: Vec<MovedLine<'a>>,
    causes: String,
    status: u8,
}

#[derive(Serialize)]
struct Tool {
    name: &'static str,
    version: &'static str,
}

#[derive(Serialize)]
struct Side<'a> {
    file: &'a str,
    name: &'a str,
    sha256: &'a str,
    summary: Summary,
}

#[derive(Serialize)]
struct RulesetLine<'a> {
    id: &'a str,
    edition: &'a str,
    sha256: &'a str,
}

#[derive(Serialize)]
struct ChangeLine<'a> {
    number: usize,
    kind: &'static str,
    ids: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    display: Option<&'a str>,
    what: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    key: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    before: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    after: Option<&'a str>,
    mirrored: bool,
    text: String,
}

#[derive(Serialize)]
struct RenamedLine<'a> {
    kind: &'static str,
    before: &'a str,
    after: &'a str,
}

#[derive(Serialize)]
struct MovedLine<'a> {
    id: &'a str,
    how: &'static str,
    strength: &'static str,
    unit: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    old: Option<FindingLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    new: Option<FindingLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<String>,
    because: Vec<BecauseLine>,
}

#[derive(Serialize)]
struct FindingLine<'a> {
    verdict: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    found: Option<Figure<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    margin: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    evidence: Option<&'static str>,
    basis: &'static str,
}

#[derive(Serialize)]
#[serde(untagged)]
enum Figure<'a> {
    Number(f64),
    Words(&'a [String]),
}

#[derive(Serialize)]
struct BecauseLine {
    changes: Vec<usize>,
    part: &'static str,
}

/// The whole document.
pub(super) fn write(changed: &Changed<'_>) -> String {
    let document = Document {
        format: 1,
        tool: Tool { name: env!("CARGO_PKG_NAME"), version: env!("CARGO_PKG_VERSION") },
        as_of: changed.new.as_of.to_string(),
        old: side(changed.old),
        new: side(changed.new),
        rulesets: changed.new.rulesets.iter().map(ruleset).collect(),
        renamed: changed.renamed.iter().map(renamed).collect(),
        asked: changed.asked,
        remarks: changed.remarks,
        changes: changed.lines.iter().enumerate().map(|(at, line)| change(at, line)).collect(),
        moved: changed.moved.iter().enumerate().map(|(place, moved)| one(changed, place, moved)).collect(),
        causes: changed.how_sure(),
        status: changed.status(),
    };
    // Numbers that are no numbers cannot be written; there are none.
    serde_json::to_string_pretty(&document).map(|text| text + "\n").unwrap_or_default()
}

fn side<'a>(report: &'a Report<'_>) -> Side<'a> {
    let package = report.package();
    let summary = report.judged.summary;
    Side { file: &package.file, name: &package.vehicle.name, sha256: &package.sha256, summary }
}

fn ruleset(ruleset: &Ruleset) -> RulesetLine<'_> {
    RulesetLine { id: &ruleset.id, edition: &ruleset.edition, sha256: &ruleset.sha256 }
}

fn renamed(one: &Renamed) -> RenamedLine<'_> {
    RenamedLine { kind: one.kind.word(), before: &one.before, after: &one.after }
}

fn change(at: usize, line: &Difference) -> ChangeLine<'_> {
    let (what, key, before, after) = match &line.change {
        Change::New(said) => ("new", None, None, Some(said.as_str())),
        Change::Gone(said) => ("gone", None, Some(said.as_str()), None),
        Change::Says { key, before, after } => {
            ("changed", Some(key.as_str()), Some(before.as_str()), Some(after.as_str()))
        }
        Change::Order { before, after } => ("order", None, Some(before.as_str()), Some(after.as_str())),
    };
    ChangeLine {
        number: at + 1,
        kind: line.kind.word(),
        ids: &line.ids,
        display: line.within.as_deref(),
        what,
        key,
        before,
        after,
        mirrored: line.is_mirrored,
        text: line.in_words(),
    }
}

fn one<'a>(changed: &'a Changed<'_>, place: usize, moved: &'a Moved<'_>) -> MovedLine<'a> {
    let of = changed.causes.of.get(place).map(Vec::as_slice).unwrap_or_default();
    MovedLine {
        id: moved.id(),
        how: moved.how.word(),
        strength: moved.finding().map_or("", strength),
        unit: moved.finding().map_or("", |finding| finding.unit.symbol()),
        old: moved.old.map(finding),
        new: moved.new.map(finding),
        note: Changed::why(moved),
        because: of
            .iter()
            .map(|because| BecauseLine { changes: changed.numbers(because), part: because.part.word() })
            .collect(),
    }
}

fn finding(finding: &Finding) -> FindingLine<'_> {
    FindingLine {
        verdict: verdict_word(finding),
        found: match &finding.found {
            Found::Number(number) => Some(Figure::Number(*number)),
            Found::Words(words) => Some(Figure::Words(words)),
            Found::Nothing => None,
        },
        margin: finding.margin,
        evidence: finding.evidence.map(crate::package::Grade::word),
        basis: finding.source.basis.word(),
    }
}

//! Before and after as CSV: a row a change, then a row a finding that moved; the files that it was made from stand last.

use super::{Changed, strength};
use crate::judge::{Finding, Found};
use crate::report::CAUTIONS;
use crate::report::csv_rows::as_text;
use crate::report::number::pair;
use crate::report::table::unit_shown;
use crate::report::verdict_word;

const HEADER: [&str; 14] = [
    "what",
    "id",
    "how",
    "strength",
    "verdict_before",
    "verdict_after",
    "before",
    "after",
    "unit",
    "required",
    "margin_before",
    "margin_after",
    "by",
    "note",
];

/// All rows.
pub(super) fn write(changed: &Changed<'_>) -> String {
    let mut rows = vec![HEADER.map(str::to_owned)];
    for (at, line) in changed.lines.iter().enumerate() {
        let mut row: [String; 14] = Default::default();
        let said = [format!("change {}", at + 1), line.subject(), line.said()];
        row.iter_mut().zip(said).for_each(|(cell, text)| *cell = text);
        rows.push(row);
    }
    for one in changed.renamed {
        let mut row: [String; 14] = Default::default();
        let said = ["renamed".to_owned(), one.after.clone(), one.in_words()];
        row.iter_mut().zip(said).for_each(|(cell, text)| *cell = text);
        rows.push(row);
    }
    for line in changed.asked {
        let mut row: [String; 14] = Default::default();
        row.iter_mut().zip(["asked for", line]).for_each(|(cell, text)| text.clone_into(cell));
        rows.push(row);
    }
    for (place, moved) in changed.moved.iter().enumerate() {
        let Some(finding) = moved.finding() else { continue };
        let verdict = |finding: Option<&Finding>| finding.map_or(String::new(), |one| verdict_word(one).to_owned());
        let margin = |finding: Option<&Finding>| {
            finding.and_then(|finding| finding.margin).map(|margin| margin.to_string()).unwrap_or_default()
        };
        rows.push([
            "finding".to_owned(),
            moved.id().to_owned(),
            moved.how.word().to_owned(),
            strength(finding).to_owned(),
            verdict(moved.old),
            verdict(moved.new),
            found(moved.old),
            found(moved.new),
            unit_shown(finding.unit).to_owned(),
            pair(finding).1,
            margin(moved.old),
            margin(moved.new),
            changed.because(place),
            Changed::why(moved).unwrap_or_default(),
        ]);
    }
    let rulesets: Vec<&str> = changed.new.rulesets.iter().map(|ruleset| ruleset.id.as_str()).collect();
    let judged = format!("both judged as of {} by {}", changed.new.as_of, rulesets.join(", "));
    let sure = Some(changed.how_sure()).filter(|sure| !sure.is_empty());
    let said = [judged, format!("{}. {}", changed.verdict(), changed.result())]
        .into_iter()
        .chain(changed.remarks.iter().cloned());
    for line in said.chain(sure).chain(CAUTIONS.iter().map(|caution| (*caution).to_owned())) {
        let mut row: [String; 14] = Default::default();
        row.iter_mut().zip(["read this".to_owned(), String::new(), line]).for_each(|(cell, text)| *cell = text);
        rows.push(row);
    }
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for row in rows {
        // Writing to memory does not fail.
        let _ = writer.write_record(row.iter().map(|cell| as_text(cell)));
    }
    for file in crate::report::paper::made_from(changed.inputs).lines() {
        let _ = writer.write_record([file]);
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

fn found(finding: Option<&Finding>) -> String {
    match finding.map(|finding| &finding.found) {
        Some(Found::Number(number)) => number.to_string(),
        Some(Found::Words(words)) => words.join(" "),
        Some(Found::Nothing) | None => String::new(),
    }
}

//! Before and after as a page, for a change order: what came of it first, then the changes, then what they moved.

use serde::Serialize;

use super::table::tally;
use super::{Changed, side, strength};
use crate::compare::{Move, Moved};
use crate::report::number::pair;
use crate::report::paper::in_html_of;
use crate::report::table::unit_shown;
use crate::report::text::setting;
use crate::report::verdict_word;

#[derive(Serialize)]
struct Page<'a> {
    class: &'static str,
    word: String,
    result: String,
    sides: Vec<Side<'a>>,
    rulesets: String,
    remarks: Vec<String>,
    changes: Vec<ChangeRow>,
    asked: Vec<String>,
    silent: bool,
    moved: Vec<Part>,
    how_sure: String,
}

#[derive(Serialize)]
struct Side<'a> {
    label: &'static str,
    name: &'a str,
    file: &'a str,
    required: String,
    advice: String,
}

#[derive(Serialize)]
struct ChangeRow {
    subject: String,
    said: String,
}

/// Findings that moved in one way.
#[derive(Serialize)]
struct Part {
    id: &'static str,
    title: &'static str,
    counts: String,
    rows: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    /// In parts between which a line may end.
    id: Vec<String>,
    says: String,
    strength: &'static str,
    class_before: &'static str,
    class_after: &'static str,
    before: String,
    after: String,
    found_before: String,
    found: String,
    required: String,
    unit: &'static str,
    margin_before: String,
    margin: String,
    set: String,
    why: String,
    because: String,
}

/// Writes the page.
pub(super) fn write(changed: &Changed<'_>) -> Result<Vec<u8>, String> {
    let class = match changed.status() {
        1 => "fail",
        3 => "not-shown",
        _ => "pass",
    };
    let part = |how: Move| {
        let rows: Vec<Row> = changed.of(how).map(|(place, moved)| row(changed, place, moved)).collect();
        let required = changed.of(how).filter(|(_, moved)| moved.is_required()).count();
        let counts = format!("{required} required, {} advice", rows.len().saturating_sub(required));
        (!rows.is_empty()).then(|| Part { id: how.word(), title: how.title(), counts, rows })
    };
    let rulesets = changed.new.rulesets.iter().map(|one| format!("{} (edition {})", one.id, one.edition));
    let page = Page {
        class,
        word: changed.verdict(),
        result: changed.result(),
        sides: [("before", changed.old), ("after", changed.new)]
            .map(|(label, report)| Side {
                label,
                name: &report.package().vehicle.name,
                file: &report.package().file,
                required: tally(&report.judged.summary.required),
                advice: tally(&report.judged.summary.advice),
            })
            .into(),
        rulesets: rulesets.collect::<Vec<_>>().join(", "),
        remarks: changed.remarks.iter().map(|remark| quoted(remark)).collect(),
        changes: changed
            .lines
            .iter()
            .map(|line| ChangeRow { subject: quoted(&line.subject()), said: quoted(&line.said()) })
            .collect(),
        asked: {
            let renamed = changed.renamed.iter().map(|one| quoted(&one.in_words()));
            renamed.chain(changed.asked.iter().map(|line| quoted(line))).collect()
        },
        silent: changed.causes.silent.is_some() && !changed.moved.is_empty(),
        moved: Move::ALL.iter().filter_map(|how| part(*how)).collect(),
        how_sure: quoted(&changed.how_sure()),
    };
    let title = format!("{}: before and after", changed.new.package().vehicle.name);
    in_html_of("change.html", &title, changed.new.as_of, changed.inputs, page)
}

fn row(changed: &Changed<'_>, place: usize, moved: &Moved<'_>) -> Row {
    let ((before, found_before, margin_before), (after, found, margin)) = (side(moved.old), side(moved.new));
    let finding = moved.finding();
    Row {
        id: moved.id().split_inclusive([':', '@', '/']).map(str::to_owned).collect(),
        says: finding.map(|finding| finding.says.clone()).unwrap_or_default(),
        strength: finding.map_or("", strength),
        class_before: moved.old.map_or("", verdict_word),
        class_after: moved.new.map_or("", verdict_word),
        before,
        after,
        found_before,
        found,
        required: finding.map(|finding| pair(finding).1).unwrap_or_default(),
        unit: finding.map_or("", |finding| unit_shown(finding.unit)),
        margin_before,
        margin,
        set: moved.new.and_then(setting).unwrap_or_default(),
        why: Changed::why(moved).map(|why| quoted(&why)).unwrap_or_default(),
        because: changed.because(place),
    }
}

/// Names as a page quotes them; on a terminal they stand between backticks.
pub(in crate::report) fn quoted(text: &str) -> String {
    text.replace('`', "\"")
}

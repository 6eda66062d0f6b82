//! Before and after for a terminal: the changes, numbered, then the findings that they moved.

use super::{Changed, side, strength};
use crate::compare::{Move, Moved};
use crate::judge::{Counts, Verdict};
use crate::report::CAUTIONS;
use crate::report::number::pair;
use crate::report::table::unit_shown;
use crate::report::text::{heading, paragraph, setting};

/// Figures that moved under the same verdict are many; so many are printed.
const MOST_FIGURES: usize = 10;

/// The whole text.
pub(super) fn write(changed: &Changed<'_>) -> String {
    let mut out = String::new();
    let width = changed.new.width;
    for (label, report) in [("before", changed.old), ("after", changed.new)] {
        let package = report.package();
        paragraph(&format!("{label}: {} ({})", package.vehicle.name, package.file), "  ", width, &mut out);
    }
    let rulesets: Vec<&str> = changed.new.rulesets.iter().map(|ruleset| ruleset.id.as_str()).collect();
    let judged = format!("both judged as of {} by {}", changed.new.as_of, rulesets.join(", "));
    paragraph(&judged, "  ", width, &mut out);
    changed.remarks.iter().for_each(|remark| paragraph(&format!("! {remark}"), "  ", width, &mut out));
    heading("What was changed", width, &mut out);
    for (at, line) in changed.lines.iter().enumerate() {
        paragraph(&format!("{:>2}. {}", at + 1, line.in_words()), "    ", width, &mut out);
    }
    for one in changed.renamed {
        paragraph(&format!(" -  {}", one.in_words()), "    ", width, &mut out);
    }
    changed.asked.iter().for_each(|line| paragraph(&format!(" -  {line}"), "    ", width, &mut out));
    if changed.lines.is_empty() && changed.asked.is_empty() && changed.renamed.is_empty() {
        paragraph("Nothing that the packages say.", "", width, &mut out);
    }
    if changed.causes.silent.is_some() && !changed.moved.is_empty() {
        paragraph(&changed.how_sure(), "", width, &mut out);
    }
    for how in Move::ALL {
        of(changed, how, &mut out);
    }
    heading("Result", width, &mut out);
    CAUTIONS.iter().for_each(|caution| paragraph(&format!("- {caution}"), "  ", width, &mut out));
    paragraph(&changed.how_sure(), "", width, &mut out);
    for (label, report) in [("before", changed.old), ("after", changed.new)] {
        let line = format!("Required {label}: {}.", tally(&report.judged.summary.required));
        paragraph(&line, "", width, &mut out);
    }
    paragraph(&changed.result(), "", width, &mut out);
    let sign = match changed.status() {
        1 => "X FAIL ",
        3 => "? ",
        _ => "",
    };
    paragraph(&format!("{sign}{}.", changed.verdict()), "", width, &mut out);
    out
}

fn of(changed: &Changed<'_>, how: Move, out: &mut String) {
    let width = changed.new.width;
    let all: Vec<(usize, &Moved<'_>)> = changed.of(how).collect();
    if all.is_empty() {
        return;
    }
    let required = all.iter().filter(|(_, moved)| moved.is_required()).count();
    let title = format!("{}: {required} required, {} advice", how.title(), all.len() - required);
    heading(&title, width, out);
    let most = if how == Move::Figure { MOST_FIGURES } else { usize::MAX };
    if all.len() > most {
        let line = format!("The {most} of which the margin moved most; `--format csv` has all.");
        paragraph(&line, "", width, out);
    }
    for (place, moved) in all.iter().take(most) {
        one(changed, *place, moved, out);
    }
}

fn one(changed: &Changed<'_>, place: usize, moved: &Moved<'_>, out: &mut String) {
    let width = changed.new.width;
    let Some(finding) = moved.finding() else { return };
    let ((was, found_before, margin_before), (is, found, margin)) = (side(moved.old), side(moved.new));
    let sign = match moved.new.map(|finding| finding.verdict) {
        Some(Verdict::Fail) => "X",
        Some(Verdict::NotShown | Verdict::TooClose | Verdict::Excepted) => "?",
        _ => "-",
    };
    let verdict = if was == is { is } else { format!("{was} -> {is}") };
    let advice = if moved.is_required() { String::new() } else { format!(" ({})", strength(finding)) };
    paragraph(&format!("{sign} {}{advice}: {verdict}", moved.id()), "    ", width, out);
    let mut figures =
        format!("found {found_before} -> {found} {}, required {}", unit_shown(finding.unit), pair(finding).1)
            .replace(" ,", ",");
    if !margin_before.is_empty() || !margin.is_empty() {
        let or_none = |text: String| if text.is_empty() { "-".to_owned() } else { text };
        figures.push_str(&format!("; margin {} -> {}", or_none(margin_before), or_none(margin)));
    }
    paragraph(&format!("    {figures}"), "    ", width, out);
    let evidence = |finding: Option<&crate::judge::Finding>| {
        finding.and_then(|finding| finding.evidence).map_or("-", crate::package::Grade::word)
    };
    if moved.how == Move::Evidence {
        let line = format!("    evidence {} -> {}", evidence(moved.old), evidence(moved.new));
        paragraph(&line, "    ", width, out);
    }
    if let Some(why) = Changed::why(moved) {
        paragraph(&format!("    note: {why}"), "    ", width, out);
    }
    if let Some(set) = moved.new.and_then(setting).filter(|_| moved.how != Move::Figure) {
        paragraph(&format!("    set: {set}"), "    ", width, out);
    }
    let because = changed.because(place);
    if !because.is_empty() {
        paragraph(&format!("    by {because}"), "    ", width, out);
    }
}

/// All six verdicts that occur.
pub(super) fn tally(counts: &Counts) -> String {
    let all = [
        (counts.pass, "pass"),
        (counts.fail, "fail"),
        (counts.too_close, "too close"),
        (counts.not_shown, "not shown"),
        (counts.not_applicable, "not applicable"),
        (counts.excepted, "excepted"),
    ];
    let said = all.iter().enumerate().filter(|(at, (count, _))| *at < 2 || *count > 0);
    said.map(|(_, (count, word))| format!("{count} {word}")).collect::<Vec<_>>().join(", ")
}

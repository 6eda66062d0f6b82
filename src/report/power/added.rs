//! What one more lamp changes: each verdict and each figure of the supply, before and after.

use super::super::number::pair;
use super::super::text::{heading, paragraph};
use super::super::{CAUTIONS, Report};
use crate::judge::{Judged, Verdict};

/// What another lamp changes: every verdict that is another one, and every figure of the supply that moved.
pub fn changed(report: &Report<'_>, before: &Judged) -> String {
    let mut out = String::new();
    let width = report.width;
    let (package, lamp) = (report.package(), report.package().heads.last());
    paragraph(&format!("{} ({}), as of {}", package.vehicle.name, package.file, report.as_of), "", width, &mut out);
    if let Some(lamp) = lamp {
        let model = package.models.get(lamp.model).map_or("", |model| model.id.as_str());
        let circuit = lamp.circuit.as_deref().unwrap_or("no circuit");
        paragraph(&format!("With one more lamp, `{}`: model {model}, on {circuit}", lamp.id), "  ", width, &mut out);
    }
    heading("What it changes", width, &mut out);
    let mut any = false;
    for finding in report.findings() {
        let old = before.findings.iter().find(|old| old.id == finding.id);
        let of_supply = finding.scope.circuit.is_some() || finding.scope.supply.is_some();
        let moved = old.is_none_or(|old| old.verdict != finding.verdict || (of_supply && old.found != finding.found));
        // A lamp that passes what each lamp is asked is no news.
        if !moved || (old.is_none() && finding.verdict == Verdict::Pass) {
            continue;
        }
        let (now, required) = pair(finding);
        let was = old.map_or("-".to_owned(), |old| pair(old).0);
        // What prints as equal is no news either.
        if was == now && old.is_some_and(|old| old.verdict == finding.verdict) {
            continue;
        }
        any = true;
        let now_says = finding.verdict.print();
        let verdict = match old {
            Some(old) if old.verdict != finding.verdict => format!("{} before, {now_says} now", old.verdict.print()),
            _ => now_says.to_owned(),
        };
        let sign = if finding.verdict == Verdict::Fail { "X" } else { "-" };
        let line = format!("{sign} {}: {was} to {now} {}, required {required}: {verdict}", finding.id, finding.unit);
        paragraph(&line, "  ", width, &mut out);
    }
    if !any {
        paragraph("No verdict, and no figure of the supply.", "", width, &mut out);
    }
    heading("Result", width, &mut out);
    CAUTIONS.iter().for_each(|caution| paragraph(&format!("- {caution}"), "  ", width, &mut out));
    let count = |judged: &Judged| {
        format!(
            "{} pass, {} fail, {} not shown",
            judged.summary.required.pass, judged.summary.required.fail, judged.summary.required.not_shown
        )
    };
    paragraph(&format!("Required before: {}.", count(before)), "", width, &mut out);
    paragraph(&format!("Required with it: {}.", count(report.judged)), "", width, &mut out);
    out
}

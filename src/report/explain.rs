//! How one finding came about: the rule, the heads with their shares, and what was left out.

use comfy_table::{CellAlignment, Table, presets};

use super::CAUTIONS;
use super::layers::in_state;
use super::number::{margin, pair};
use super::sound::{is_on_sound, sounding_in};
use super::text::{labelled, paragraph, setting};
use crate::judge::{Finding, Verdict};
use crate::measure::Conduct;
use crate::quantity::{Part, Quantity, Working};
use crate::ruleset::{Confirmed, Demand};
use crate::units::{Dimension, format_number};

/// The page for one finding. `working` is what its value is made of.
pub fn explain(
    conduct: &Conduct<'_>,
    finding: &Finding,
    quantity: Option<&Quantity>,
    working: &Working,
    width: u16,
) -> String {
    let (found, required) = pair(finding);
    let unit = if finding.unit.dimension() == Dimension::Words { "" } else { finding.unit.symbol() };
    let required_unit = if matches!(finding.limit, Demand::Missing { .. }) { "" } else { unit };
    let witness = &finding.witness;
    let bearing = witness
        .bearing
        .map(|bearing| format!("bearing {bearing} deg, elevation {} deg", witness.elevation.unwrap_or(0.0)));
    let mut lines = vec![("asks", finding.says.clone())];
    lines.extend(quantity.map(|quantity| ("quantity", format!("{}: {}", quantity.name, quantity.says))));
    let counted = finding.scope.emitter.as_ref().filter(|_| quantity.is_some_and(|quantity| quantity.counts_permitted));
    lines.extend(counted.map(|colour| ("counts", format!("heads that show {colour}, and no others"))));
    lines.push(("required", format!("{required} {required_unit}")));
    lines.push(("found", format!("{found} {unit}")));
    lines.push(("margin", if finding.margin.is_some() { margin(finding) } else { "none".to_owned() }));
    lines.push(("verdict", super::verdict_word(finding).replace('-', " ")));
    lines.push(("source", format!("{} [{}]", finding.source.in_words(), finding.source.basis.word())));
    let source = &finding.source;
    lines.extend(source.address.iter().map(|address| ("seen at", address.clone())));
    lines.extend(source.seen.iter().map(|day| ("seen on", day.to_string())));
    lines.extend(source.confirmed.iter().map(|confirmed| {
        let Confirmed { by, on, edition, clause } = confirmed;
        ("confirmed", format!("by {by} on {on}, against edition {edition}, {clause}"))
    }));
    let weakest = |grade: crate::package::Grade| {
        let of_supply = finding.scope.circuit.is_some() || finding.scope.supply.is_some();
        let whose = match (of_supply, is_on_sound(finding)) {
            (true, _) => "what draws the current",
            (_, true) => "what sounds",
            _ => "the heads whose light reaches the zone",
        };
        format!("{} (the weakest of {whose})", grade.word())
    };
    lines.extend(finding.evidence.map(|grade| ("evidence", weakest(grade))));
    lines.extend(
        setting(finding).map(|setting| (if finding.verdict == Verdict::Fail { "set" } else { "worst with" }, setting)),
    );
    lines.extend(bearing.map(|bearing| ("look at", bearing)));
    lines.extend(witness.head.iter().map(|head| ("head", head.clone())));
    lines.extend(finding.method.iter().map(|method| ("method", method.clone())));
    lines.extend(finding.notes.iter().map(|note| ("note", note.clone())));
    lines.extend(finding.would_show.iter().map(|what| ("shown by", what.clone())));
    lines.extend(quantity.map(|quantity| ("by hand", quantity.by_hand.to_owned())));
    let mut out = format!("{}\n\n", finding.id);
    for (label, text) in lines {
        // What is to be pasted stands below, line by line as it is.
        let (said, pasted) = match label {
            "shown by" => text.split_once('\n').unwrap_or((&text, "")),
            _ => (text.as_str(), ""),
        };
        labelled(label, said, width, &mut out);
        pasted.lines().for_each(|line| out.push_str(&format!("          {line}\n")));
    }
    if !working.parts.is_empty() {
        out.push_str(&format!("\n{}\n", parts_table(&working.parts, unit, width)));
        let key = "Lit, hidden, behind, no data: at how many points the head is lit, hidden by the body, behind its mounting \
                   plane, or outside its data. Strongest at: bearing and elevation, deg. Lamp H and V: the head's own angles, deg.";
        paragraph(key, "", width, &mut out);
    }
    let mut line = |text: String, indent| paragraph(&text, indent, width, &mut out);
    if !working.lines.is_empty() {
        line(String::new(), "");
        line("working".to_owned(), "");
        for one in &working.lines {
            // What fits stands as it is, its columns too.
            match one.chars().count() + 2 <= usize::from(width) {
                true => out.push_str(&format!("  {one}\n")),
                false => paragraph(&format!("  {one}"), "    ", width, &mut out),
            }
        }
    }
    if !working.plot.is_empty() {
        out.push('\n');
        working.plot.iter().for_each(|row| out.push_str(&format!("{row}\n")));
    }
    let mut line = |text: String, indent| paragraph(&text, indent, width, &mut out);
    if !working.left_out.is_empty() {
        line(String::new(), "");
        line("lit, and not counted here".to_owned(), "");
        let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
        for (head, why) in &working.left_out {
            match reasons.iter_mut().find(|(known, _)| known == why) {
                Some((_, heads)) => heads.push(head),
                None => reasons.push((why, vec![head])),
            }
        }
        for (why, heads) in reasons {
            line(format!("  {why}: {}", heads.join(", ")), "    ");
        }
    }
    if let Some(state) = finding.trace.as_ref().and_then(|trace| trace.state.as_ref()) {
        line(String::new(), "");
        let space = conduct.space();
        let all: Vec<(usize, usize)> = state.iter().copied().enumerate().collect();
        let with = if space.inputs().described { format!(", with {}", space.words(&all)) } else { String::new() };
        let of_sound = is_on_sound(finding);
        let (what, lines) = match of_sound {
            true => ("what sounds there", sounding_in(conduct, state)),
            false => ("what each head shows there", in_state(conduct, state)),
        };
        line(format!("{what}{with}"), "  ");
        for one in lines {
            line(format!("  {one}"), "    ");
        }
    }
    line(String::new(), "");
    for caution in CAUTIONS {
        line(format!("- {caution}"), "  ");
    }
    out
}

/// What each head adds, then where it is strongest and how; one table where there is room, else two.
fn parts_table(parts: &[Part], unit: &str, width: u16) -> String {
    let total: f64 = parts.iter().map(|part| part.adds).sum();
    let share = |part: &Part| {
        if total > 0.0 { format!("{} %", format_number(part.adds / total * 100.0, 2)) } else { String::new() }
    };
    let sums = |part: &Part| vec![part.colour.clone(), format_number(part.adds, 1), share(part)];
    let points = |part: &Part| {
        let counts = part.points;
        [counts.lit, counts.hidden, counts.behind, counts.no_data].map(|count| count.to_string()).to_vec()
    };
    let places = |part: &Part| {
        let elevation = part.elevation.value();
        let elevation = if elevation == 0.0 { String::new() } else { format!(" {elevation:+}") };
        vec![
            format!("{}{elevation}", part.bearing.value()),
            format_number(part.lamp.0.value(), 2),
            format_number(part.lamp.1.value(), 2),
            part.intensity.map(|intensity| format_number(intensity, 1)).unwrap_or_default(),
            format!("{} %", format_number(part.on_fraction * 100.0, 2)),
        ]
    };
    let evidence = |part: &Part| vec![part.evidence.word().to_owned(), part.report.clone().unwrap_or_default()];
    let sum_header = vec!["colour", unit, "share"];
    let point_header = vec!["lit", "hidden", "behind", "no data"];
    let place_header = vec!["strongest at", "lamp H", "lamp V", "candela", "on"];
    let evidence_header = vec!["evidence", "report"];
    let together = vec![String::new(), format_number(total, 1), "100 %".to_owned()];
    if width >= 140 {
        let header = [sum_header, point_header, place_header, evidence_header].concat();
        let row = |part: &Part| [sums(part), points(part), places(part), evidence(part)].concat();
        return aligned(&header, parts.iter(), row, Some(together));
    }
    let row = |part: &Part| [sums(part), points(part)].concat();
    let first = aligned(&[sum_header, point_header].concat(), parts.iter(), row, Some(together));
    let row = |part: &Part| [places(part), evidence(part)].concat();
    let lit = parts.iter().filter(|part| part.adds > 0.0);
    let second = aligned(&[place_header, evidence_header].concat(), lit, row, None);
    format!("{first}\n\n{second}\n")
}

fn aligned<'p>(
    header: &[&str],
    parts: impl Iterator<Item = &'p Part>,
    row: impl Fn(&Part) -> Vec<String>,
    last: Option<Vec<String>>,
) -> String {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_header([&["head"], header].concat());
    for part in parts {
        table.add_row([vec![part.head.clone()], row(part)].concat());
    }
    if let Some(last) = last {
        table.add_row([vec!["together".to_owned()], last].concat());
    }
    for (column, title) in table.column_iter_mut().zip([&["head"], header].concat()) {
        column.set_padding((0, 2));
        if !matches!(title, "head" | "colour" | "evidence" | "report") {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let lines: Vec<String> = table.lines().map(|line| line.trim_end().to_owned()).collect();
    lines.join("\n")
}

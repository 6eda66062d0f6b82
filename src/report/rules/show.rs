//! `rules show`: one ruleset as a requirement: what is asked, of what, how much, and where that comes from.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use super::counts;
use crate::report::text::{heading, paragraph};
use crate::ruleset::{Citation, Demand, Limit, Require, Rule, Ruleset, Strength};
use crate::units::{Dimension, format_number};

/// The whole of it.
pub fn show(ruleset: &Ruleset, width: u16) -> String {
    let mut out = String::new();
    paragraph(&format!("{}: {}", ruleset.id, ruleset.title), "  ", width, &mut out);
    paragraph(&format!("edition {}; defers to {}", ruleset.edition, ruleset.defers_to), "  ", width, &mut out);
    out.extend(ruleset.about.iter().flat_map(|about| {
        let mut text = String::new();
        paragraph(about, "", width, &mut text);
        text.chars().collect::<Vec<_>>()
    }));
    let (known, missing) = counts(ruleset);
    let mut said: Vec<String> =
        known.iter().filter(|(_, many)| *many > 0).map(|(basis, many)| format!("{many} {}", basis.word())).collect();
    said.extend((missing > 0).then(|| format!("{missing} missing")));
    if !said.is_empty() {
        paragraph(&format!("limits: {}", said.join(", ")), "  ", width, &mut out);
    }
    if let Some(applies) = &ruleset.applies {
        paragraph(&format!("applies when {}", applies.text), "  ", width, &mut out);
        source(&applies.source, width, &mut out);
    }
    for overlay in &ruleset.overlays {
        let line =
            format!("changed by {} ({}), {}: {}", overlay.title, overlay.id, overlay.authority, overlay.reference);
        paragraph(&line, "  ", width, &mut out);
    }
    for (strength, title) in [
        (Strength::Required, "What is required"),
        (Strength::Advice, "Advice"),
        (Strength::Caution, "Cautions (never a verdict)"),
    ] {
        let rules: Vec<&Rule> = ruleset.rules.iter().filter(|rule| rule.strength == strength).collect();
        if rules.is_empty() {
            continue;
        }
        heading(title, width, &mut out);
        rules.iter().for_each(|one| rule(ruleset, one, width, &mut out));
    }
    if !ruleset.permitted.is_empty() {
        heading("What is left free", width, &mut out);
        for free in &ruleset.permitted {
            paragraph(&format!("- {}", free.says), "  ", width, &mut out);
            source(&free.source, width, &mut out);
        }
    }
    if !ruleset.conventions.is_empty() {
        heading("What is not a limit and still decides", width, &mut out);
        for (name, cite) in &ruleset.conventions {
            paragraph(&format!("- {name}: {} [{}]", cite.in_words(), cite.basis.word()), "  ", width, &mut out);
        }
    }
    out
}

fn rule(ruleset: &Ruleset, rule: &Rule, width: u16, out: &mut String) {
    out.push('\n');
    paragraph(&rule.id, "", width, out);
    paragraph(&format!("  {}", rule.says), "  ", width, out);
    let of = rule.device.as_ref().map(|device| device.of.in_words());
    let looks = rule.quantity.looks.then(|| rule.method.describe());
    let terms = rule.device.iter().flat_map(|device| device.describe());
    let terms = terms.chain(rule.listen.iter().flat_map(|listen| listen.describe()));
    let more = of.map(str::to_owned).into_iter().chain(terms).chain(looks);
    let more: String = more.map(|text| format!("; {text}")).collect();
    paragraph(&format!("  Found: {}{more}.", rule.quantity.says), "  ", width, out);
    for point in rule.device.iter().flat_map(|device| &device.table) {
        paragraph(&format!("    {}", point.describe()), "      ", width, out);
    }
    for (angle, least) in rule.listen.iter().flat_map(|listen| &listen.table) {
        let number = |value: f64| format_number(value, 1);
        let line = format!("    {} deg off its axis: at least {} dB(A)", number(angle.value()), number(least.value()));
        paragraph(&line, "      ", width, out);
    }
    limits(ruleset, rule, width, out);
    // Where all limits come from one place it is said once.
    let mut sources: Vec<&Citation> = Vec::new();
    for limit in &rule.limits {
        if !sources.contains(&&limit.source) {
            sources.push(&limit.source);
        }
    }
    sources.iter().for_each(|cite| source(cite, width, out));
    for (limit, why, see) in rule.limits.iter().filter_map(|limit| match &limit.demand {
        Demand::Missing { why, see } => Some((limit, why, see)),
        _ => None,
    }) {
        let see = see.as_deref().map(|see| format!("; look up {see}")).unwrap_or_default();
        paragraph(&format!("  missing{}: {why}{see}", place(ruleset, limit)), "    ", width, out);
    }
}

/// `, calling upper A`, for a limit that is missing.
fn place(ruleset: &Ruleset, limit: &Limit) -> String {
    let (purpose, class, item) = (limit.purpose.clone(), limit.class.clone(), limit.item.clone());
    let parts = [purpose, level(ruleset, limit), counted(limit), column(ruleset, limit), class, item];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() { String::new() } else { format!(" for {}", parts.join(" ")) }
}

fn level(ruleset: &Ruleset, limit: &Limit) -> Option<String> {
    limit.level.and_then(|at| ruleset.protocol.levels.get(at)).map(|level| level.name.clone())
}

/// `amber light`, for a limit in a zone that counts light of one colour alone.
fn counted(limit: &Limit) -> Option<String> {
    limit.zone.and(limit.colour.as_ref()).map(|colour| format!("{colour} light"))
}

/// What stands over a limit's column: its zone or its colour.
fn column(ruleset: &Ruleset, limit: &Limit) -> Option<String> {
    let zone = limit.zone.and_then(|at| ruleset.protocol.zones.sectors.get(at)).map(|sector| sector.name.clone());
    zone.or_else(|| limit.colour.clone())
}

/// Rows by purpose, level and class; a column a zone or a colour.
fn limits(ruleset: &Ruleset, rule: &Rule, width: u16, out: &mut String) {
    let mut columns: Vec<Option<String>> = Vec::new();
    let mut rows: Vec<(Vec<String>, Vec<&Limit>)> = Vec::new();
    for limit in &rule.limits {
        let here = column(ruleset, limit);
        if !columns.contains(&here) {
            columns.push(here);
        }
        let class = limit.class.as_ref().map(|class| format!("class {class}"));
        let leads_to = limit.leads_to.as_ref().map(|leads_to| format!("then {leads_to}"));
        let level = level(ruleset, limit);
        let parts = [limit.purpose.clone(), leads_to, level, counted(limit), class, limit.item.clone()];
        let label: Vec<String> = parts.into_iter().flatten().collect();
        match rows.iter_mut().find(|(known, _)| *known == label) {
            Some((_, limits)) => limits.push(limit),
            None => rows.push((label, vec![limit])),
        }
    }
    let one_basis = rule.limits.windows(2).all(|pair| matches!(pair, [a, b] if a.source.basis == b.source.basis));
    let alone = matches!((columns.as_slice(), rows.as_slice()), ([_], [_]));
    let cell = |limit: &Limit| {
        let basis = if one_basis { String::new() } else { format!(" [{}]", limit.source.basis.word()) };
        match &limit.demand {
            Demand::Missing { .. } => "missing".to_owned(),
            demand => format!("{}{basis}", demanded(rule, demand, alone)),
        }
    };
    if let ([only], [(label, limits)]) = (columns.as_slice(), rows.as_slice()) {
        let at = only.iter().chain(label).cloned().collect::<Vec<_>>().join(" ");
        let at = if at.is_empty() { at } else { format!("{at}: ") };
        for limit in limits {
            paragraph(&format!("  Required: {at}{}", cell(limit)), "    ", width, out);
        }
        return;
    }
    // What all cells have in common stands over them.
    let unit = if rule.unit.dimension() == Dimension::Words { String::new() } else { format!(", in {}", rule.unit) };
    paragraph(&format!("  Required: {}{unit}", sign(rule.require)), "    ", width, out);
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
    let titles = columns.iter().map(|title| title.clone().unwrap_or_else(|| "required".to_owned()));
    table.set_header(std::iter::once("  for".to_owned()).chain(titles));
    for (label, limits) in &rows {
        let label = if label.is_empty() { "  all".to_owned() } else { format!("  {}", label.join(", ")) };
        let in_column = |title: &Option<String>| {
            let here = limits.iter().find(|limit| column(ruleset, limit) == *title);
            here.map(|limit| cell(limit)).unwrap_or_default()
        };
        table.add_row(std::iter::once(label).chain(columns.iter().map(in_column)));
    }
    for (at, table_column) in table.column_iter_mut().enumerate() {
        table_column.set_padding((0, 2));
        if at > 0 {
            table_column.set_cell_alignment(CellAlignment::Right);
        }
    }
    for line in table.lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

fn sign(require: Require) -> &'static str {
    match require {
        Require::AtLeast => "at least",
        Require::AtMost => "at most",
        Require::Between => "between",
        Require::Outside => "not from",
        Require::Only => "only",
        Require::NoneOf => "none of",
        Require::SomeOf => "one of",
        Require::Exactly => "exactly",
    }
}

/// `at least 1,000,000 cd.s/min` where it stands alone, `1,000,000` in a table.
fn demanded(rule: &Rule, demand: &Demand, alone: bool) -> String {
    let words = rule.unit.dimension() == Dimension::Words;
    let unit = if words || !alone { String::new() } else { format!(" {}", rule.unit) };
    let sign = match sign(rule.require) {
        "between" | "exactly" => String::new(),
        sign if alone => format!("{sign} "),
        _ => String::new(),
    };
    let number = |value: f64| {
        let digits = (0..6).find(|digits| format_number(value, *digits).replace(',', "").parse() == Ok(value));
        format_number(value, digits.unwrap_or(6))
    };
    match demand {
        Demand::Number(value) => format!("{sign}{}{unit}", number(*value)),
        Demand::Range { from, to } => format!("{sign}{} to {}{unit}", number(*from), number(*to)),
        Demand::Words(words) if words.is_empty() => "none".to_owned(),
        Demand::Words(words) => format!("{sign}{}", words.join(", ")),
        Demand::Missing { .. } => "missing".to_owned(),
    }
}

fn source(cite: &Citation, width: u16, out: &mut String) {
    paragraph(&format!("  Source: {} [{}]", cite.in_words(), cite.basis.word()), "    ", width, out);
    let seen = cite.seen.map(|day| format!(" on {day}")).unwrap_or_default();
    if let Some(address) = &cite.address {
        paragraph(&format!("    seen at {address}{seen}"), "    ", width, out);
    }
}

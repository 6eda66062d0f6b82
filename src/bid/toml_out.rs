//! A draft as TOML, to be edited and read again: what is written here is read by the draft's reader as the same bid.

use super::{Bid, Clause, Free, Layout, Row};
use crate::measure::Method;
use crate::quantity::{Angle, DEVICE_KINDS, DEVICE_LIGHTS, DeviceKind, DeviceLight, DeviceTerms, ListenTerms};
use crate::ruleset::{Basis, Demand};
use crate::units::Degrees;

/// The whole draft. `made_from` names files with their hashes, one line each; they stand at the top as remarks.
pub fn to_toml(bid: &Bid, made_from: &str) -> String {
    let mut out = String::from(
        "# A draft of the requirements of a bid: edit it, and look it over with `wayproof bid check FILE`.\n\
         # A figure whose basis is `memory` must be looked up before it goes into a contract.\n\
         # The authority having jurisdiction (AHJ), the law and licensed practice decide.\n",
    );
    made_from.lines().for_each(|line| out.push_str(&format!("# {line}\n")));
    out.push_str("format = 1\n\n[bid]\n");
    text_line("title", bid.title.as_deref(), &mut out);
    if !bid.rests_on.is_empty() {
        out.push_str(&format!("rests-on = {}\n", texts(&bid.rests_on)));
    }
    if !bid.precedence.is_empty() {
        out.push_str(&format!("precedence = {}\n", texts(&bid.precedence)));
    }
    text_line("equals", bid.equals.as_deref(), &mut out);
    out.extend(bid.most_heads.map(|most| format!("most-heads = {most}\n")));
    out.push_str("\n[acceptance]\n");
    bid.acceptance.parts().iter().for_each(|(key, value)| text_line(key, value.as_deref(), &mut out));
    bid.layouts.iter().for_each(|layout| write_layout(layout, &mut out));
    bid.clauses.iter().for_each(|clause| write_clause(clause, &mut out));
    bid.free.iter().for_each(|free| write_free("[[free]]", free, &mut out));
    out
}

fn write_free(title: &str, free: &Free, out: &mut String) {
    out.push_str(&format!("\n{title}\n"));
    text_line("says", Some(&free.says), out);
    text_line("source", free.source.as_deref(), out);
    text_line("basis", free.basis.map(Basis::word), out);
}

/// A text in quotes, escaped.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            letter if letter.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(letter))),
            letter => out.push(letter),
        }
    }
    out.push('"');
    out
}

fn texts<T: AsRef<str>>(texts: &[T]) -> String {
    format!("[{}]", texts.iter().map(|text| quoted(text.as_ref())).collect::<Vec<_>>().join(", "))
}

fn text_line(key: &str, text: Option<&str>, out: &mut String) {
    out.extend(text.map(|text| format!("{key} = {}\n", quoted(text))));
}

/// A number that is read again to the last bit.
fn number(value: f64) -> String {
    if value.abs() < 1e15 { value.to_string() } else { format!("{value:?}") }
}

/// A figure with its unit, in quotes.
fn figure(value: f64, unit: &str) -> String {
    format!("\"{} {unit}\"", number(value))
}

fn figures(values: &[f64], unit: &str) -> String {
    format!("[{}]", values.iter().map(|value| figure(*value, unit)).collect::<Vec<_>>().join(", "))
}

fn write_layout(layout: &Layout, out: &mut String) {
    out.push_str("\n[[layout]]\n");
    text_line("id", Some(&layout.id), out);
    if !layout.zones.is_empty() {
        let zone = |(name, from, to): &(String, Degrees, Degrees)| {
            format!("{} = {}", quoted(name), figures(&[from.value(), to.value()], "deg"))
        };
        let zones: Vec<String> = layout.zones.iter().map(zone).collect();
        out.push_str(&format!("zones = {{ {} }}\n", zones.join(", ")));
    }
    out.extend(layout.step.map(|step| format!("step = {}\n", figure(step.value(), "deg"))));
    if !layout.levels.is_empty() {
        let levels = layout.levels.iter().map(|level| {
            let ends = [("from", level.from), ("above", level.above), ("to", level.to)];
            let ends = ends.iter().filter_map(|(key, end)| Some(format!("{key} = {}", figure((*end)?.value(), "m"))));
            format!("{} = {{ {} }}", quoted(&level.name), ends.collect::<Vec<_>>().join(", "))
        });
        out.push_str(&format!("levels = {{ {} }}\n", levels.collect::<Vec<_>>().join(", ")));
    }
    // Told as people say it, where that is whole.
    let dark = |micros: i64| match micros % 1000 {
        0 => format!("{} ms", micros / 1000),
        _ => format!("{micros} us"),
    };
    out.extend(layout.dark_at_least.map(|time| format!("dark-at-least = \"{}\"\n", dark(time.get()))));
    out.extend(layout.voltage.map(|voltage| format!("voltage = {}\n", figure(voltage.value(), "V"))));
    out.extend(layout.lit_above.map(|share| format!("lit-above = {}\n", figure(share.value(), "share"))));
    layout.terms.iter().for_each(|term| write_free("[[layout.terms]]", term, out));
}

fn write_clause(clause: &Clause, out: &mut String) {
    out.push_str("\n[[clause]]\n");
    text_line("id", Some(&clause.id), out);
    text_line("heading", Some(clause.heading.word()), out);
    text_line("says", Some(&clause.says), out);
    text_line("quantity", clause.quantity, out);
    text_line("unit", clause.unit.as_deref(), out);
    text_line("require", clause.require.map(crate::ruleset::Require::word), out);
    if clause.strength != crate::ruleset::Strength::Required {
        text_line("strength", Some(clause.strength.word()), out);
    }
    text_line("layout", clause.layout.as_deref(), out);
    match clause.method {
        None => {}
        Some(Method::Angular) => out.push_str("method = \"angular\"\n"),
        Some(Method::Ring { radius, height }) => out.push_str(&format!(
            "method = {{ ring = {{ radius = {}, height = {} }} }}\n",
            figure(radius.value(), "m"),
            figure(height.value(), "m")
        )),
    }
    out.extend(clause.device.as_ref().map(|device| format!("device = {}\n", device_terms(device))));
    out.extend(clause.listen.as_ref().map(|listen| format!("listen = {}\n", listen_terms(listen))));
    if !clause.rows.is_empty() {
        out.push_str("limits = [\n");
        clause.rows.iter().for_each(|row| out.push_str(&format!("  {{ {} }},\n", limit(row))));
        out.push_str("]\n");
    }
    text_line("proof", clause.proof.map(super::Proof::word), out);
    text_line("tested", clause.tested.as_deref(), out);
    text_line("by", clause.by.as_deref(), out);
    text_line("when", clause.when.as_deref(), out);
    text_line("paper", clause.paper.as_deref(), out);
    text_line("deviation", clause.deviation.as_deref(), out);
    text_line("source", clause.source.as_deref(), out);
    text_line("basis", clause.basis.map(Basis::word), out);
}

fn limit(row: &Row) -> String {
    let mut keys = Vec::new();
    let mut text = |key: &str, text: &Option<String>| {
        keys.extend(text.as_ref().map(|text| format!("{key} = {}", quoted(text))));
    };
    text("purpose", &row.purpose);
    text("leads-to", &row.leads_to);
    text("level", &row.level);
    text("zone", &row.zone);
    text("colour", &row.colour);
    text("class", &row.class);
    text("item", &row.item);
    match &row.demand {
        None => {}
        Some(Demand::Number(value)) => keys.push(format!("value = {}", number(*value))),
        Some(Demand::Range { from, to }) => keys.push(format!("from = {}, to = {}", number(*from), number(*to))),
        Some(Demand::Words(words)) => keys.push(format!("value = {}", texts(words))),
        Some(Demand::Missing { why, see }) => {
            keys.push(format!("missing = {}", quoted(why)));
            keys.extend(see.as_ref().map(|see| format!("see = {}", quoted(see))));
        }
    }
    keys.extend(row.source.as_ref().map(|source| format!("source = {}", quoted(source))));
    keys.extend(row.basis.map(|basis| format!("basis = {}", quoted(basis.word()))));
    keys.join(", ")
}

/// As a ruleset has it.
fn device_terms(terms: &DeviceTerms) -> String {
    let mut keys = Vec::new();
    if terms.of != DeviceKind::Any {
        let word = DEVICE_KINDS.iter().find(|(_, kind)| *kind == terms.of).map_or("any", |(word, _)| word);
        keys.push(format!("of = {}", quoted(word)));
    }
    if terms.light != DeviceLight::Any {
        let word = DEVICE_LIGHTS.iter().find(|(_, light)| *light == terms.light).map_or("any", |(word, _)| word);
        keys.push(format!("light = {}", quoted(word)));
    }
    keys.extend(terms.group.as_ref().map(|group| format!("group = {}", quoted(group))));
    if !terms.angles.is_empty() {
        // Every H stands at every V: so they were read.
        let each = |of: fn(&Angle) -> Degrees| {
            let mut each: Vec<f64> = Vec::new();
            for value in terms.angles.iter().map(|angle| of(angle).value()) {
                if !each.contains(&value) {
                    each.push(value);
                }
            }
            figures(&each, "deg")
        };
        keys.push(format!("angles = {{ h = {}, v = {} }}", each(|angle| angle.h), each(|angle| angle.v)));
    }
    keys.extend(terms.effective.map(|method| format!("effective = {}", quoted(method.word()))));
    if !terms.table.is_empty() {
        let row = |point: &crate::quantity::TablePoint| {
            let least: Vec<String> = point
                .least
                .iter()
                .map(|(colour, least)| format!("{} = {}", quoted(colour), figure(least.value(), "cd")))
                .collect();
            let (h, v) = (figures(&[point.at.h.value()], "deg"), figures(&[point.at.v.value()], "deg"));
            format!("{{ h = {h}, v = {v}, least = {{ {} }} }}", least.join(", "))
        };
        keys.push(format!("table = [{}]", terms.table.iter().map(row).collect::<Vec<_>>().join(", ")));
    }
    keys.extend(terms.reaim.map(|aim| {
        format!("reaim = {{ h = {}, v = {} }}", figure(aim.h.value(), "deg"), figure(aim.v.value(), "deg"))
    }));
    keys.extend(terms.distance.map(|distance| format!("distance = {}", figure(distance.value(), "m"))));
    keys.extend(terms.share.map(|share| format!("share = {}", figure(share.value(), "share"))));
    keys.extend(terms.lit_above.map(|share| format!("lit-above = {}", figure(share.value(), "share"))));
    keys.extend(terms.dark_below.map(|least| format!("dark-below = {}", figure(least.value(), "cd"))));
    if keys.is_empty() { "{}".to_owned() } else { format!("{{ {} }}", keys.join(", ")) }
}

/// As a ruleset has it.
fn listen_terms(terms: &ListenTerms) -> String {
    let mut keys = Vec::new();
    if !terms.of.is_empty() {
        keys.push(format!("of = {}", texts(&terms.of.iter().map(|kind| kind.word()).collect::<Vec<_>>())));
    }
    if !terms.tones.is_empty() {
        keys.push(format!("tones = {}", texts(&terms.tones)));
    }
    keys.extend(terms.distance.map(|distance| format!("distance = {}", figure(distance.value(), "m"))));
    if !terms.angles.is_empty() {
        let angles: Vec<f64> = terms.angles.iter().map(|angle| angle.value()).collect();
        keys.push(format!("angles = {}", figures(&angles, "deg")));
    }
    if !terms.table.is_empty() {
        let row = |(angle, level): &(Degrees, crate::units::SoundLevel)| {
            format!("[{}, {}]", figure(angle.value(), "deg"), figure(level.value(), "dB(A)"))
        };
        keys.push(format!("table = [{}]", terms.table.iter().map(row).collect::<Vec<_>>().join(", ")));
    }
    keys.extend(
        terms.low.map(|(points, by)| format!("low = {{ points = {points}, by = {} }}", figure(by.value(), "dB"))),
    );
    keys.extend(terms.from.map(|side| format!("from = {}", quoted(side.word()))));
    keys.extend(terms.height.map(|height| format!("height = {}", figure(height.value(), "m"))));
    keys.extend(terms.over.map(|over| format!("over = {}", figure(over.value(), "dB"))));
    keys.extend(terms.in_closed_car.then(|| "in-closed-car = true".to_owned()));
    if keys.is_empty() { "{}".to_owned() } else { format!("{{ {} }}", keys.join(", ")) }
}

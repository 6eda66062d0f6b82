//! What an import made before, read back from its files: lamps and circuits with their colours and remarks.

use std::collections::BTreeMap;

use super::record::Record;
use crate::load::text::{decode_table, from_cell};

/// Lamps and circuits of a package.
#[derive(Clone, Debug, Default)]
pub struct Before {
    /// Every lamp, twins too.
    pub lamps: Vec<Record>,
    /// Every circuit; none where the package says nothing of them.
    pub circuits: Vec<Record>,
    /// An import made it, so that colours and remarks are known, and what is not there any more is gone.
    pub is_whole: bool,
}

/// Lamps and circuits of a package that an import made before, from its files. What cannot be read is not there: a package
/// with `?` in it is read all the same.
pub fn made_before(heads: Option<&[u8]>, models: Option<&[u8]>, package: Option<&[u8]>) -> Before {
    let text =
        |bytes: Option<&[u8]>| bytes.and_then(|bytes| decode_table(bytes, "").ok().map(|text| text.into_owned()));
    let table = |text: &Option<String>| text.as_ref().and_then(|text| text.parse::<toml::Table>().ok());
    let (heads, models, package) = (text(heads), text(models), text(package));
    let mut lamps = heads.as_deref().map(lamps_of).unwrap_or_default();
    let colours = table(&models).map(|table| colours_of(&table)).unwrap_or_default();
    let said = heads.as_deref().map(remarks_in).unwrap_or_default();
    for lamp in &mut lamps {
        let of_it = lamp.get("model").and_then(|model| colours.get(model));
        if let Some(of_it) = of_it.cloned() {
            lamp.set("colour", of_it);
        }
        lamp.remarks = said.get(&lamp.id).cloned().into_iter().collect();
    }
    let mut circuits = table(&package).map(|table| circuits_of(&table)).unwrap_or_default();
    let said = package.as_deref().map(remarks_in).unwrap_or_default();
    for circuit in &mut circuits {
        circuit.remarks = said.get(&circuit.id).cloned().into_iter().collect();
    }
    Before { lamps, circuits, is_whole: true }
}

/// The colours of each model.
fn colours_of(models: &toml::Table) -> BTreeMap<String, String> {
    let list = |table: &toml::Table, key: &str| -> Vec<toml::Table> {
        let all = table.get(key).and_then(toml::Value::as_array).cloned().unwrap_or_default();
        all.into_iter().filter_map(|one| one.as_table().cloned()).collect()
    };
    let text = |table: &toml::Table, key: &str| table.get(key).and_then(toml::Value::as_str).map(str::to_owned);
    let of = |model: &toml::Table| {
        let colours: Vec<String> = list(model, "emitter").iter().filter_map(|one| text(one, "colour")).collect();
        Some((text(model, "id")?, colours.join(" ")))
    };
    list(models, "model").iter().filter_map(of).collect()
}

/// The remarks that an import wrote above a row or a `[[circuit]]`, by the id of what they are about: `# SHEET row 7: TEXT`.
fn remarks_in(text: &str) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    let mut above = None;
    for line in text.lines() {
        let comment = line.strip_prefix("# ").filter(|rest| !rest.starts_with("? "));
        if let Some(rest) = comment {
            let remark = rest.split_once(" row ").and_then(|(_, rest)| rest.split_once(": "));
            let remark = remark.filter(|(row, _)| row.bytes().all(|byte| byte.is_ascii_digit()));
            above = remark.map(|(_, text)| text.to_owned()).or(above);
        } else if !line.starts_with('#') && line != "[[circuit]]" {
            let id = match line.strip_prefix("id = ") {
                Some(quoted) => quoted.trim().trim_matches('"').to_owned(),
                None => {
                    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(line.as_bytes());
                    let row = reader.records().find_map(Result::ok);
                    row.and_then(|row| row.get(0).map(|id| from_cell(id).to_owned())).unwrap_or_default()
                }
            };
            found.extend(above.take().map(|remark| (id, remark)));
        }
    }
    found
}

fn lamps_of(text: &str) -> Vec<Record> {
    let mut builder = csv::ReaderBuilder::new();
    builder.has_headers(false).flexible(true).trim(csv::Trim::All).comment(Some(b'#'));
    let mut reader = builder.from_reader(text.as_bytes());
    let mut records = reader.records().filter_map(Result::ok);
    let Some(head) = records.next() else { return Vec::new() };
    let known = |title: &str| {
        let (name, unit) = title.split_once('(').unwrap_or((title, ""));
        let field = super::columns::field(name.trim()).map(|field| field.name);
        (field, unit.trim_end_matches(')').trim().to_owned())
    };
    let columns: Vec<(Option<&'static str>, String)> = head.iter().map(known).collect();
    let lamps = records.map(|row| {
        let mut lamp = Record::default();
        for ((name, unit), cell) in columns.iter().zip(row.iter().map(from_cell)) {
            match name {
                Some("id") => lamp.id = cell.to_owned(),
                Some(name) if !cell.is_empty() => {
                    let is_bare = cell.parse::<f64>().is_ok();
                    lamp.set(
                        name,
                        if is_bare && !unit.is_empty() { format!("{cell} {unit}") } else { cell.to_owned() },
                    );
                }
                _ => {}
            }
        }
        lamp
    });
    lamps.filter(|lamp| !lamp.id.is_empty()).collect()
}

/// The circuits of a package as it is written.
pub(super) fn circuits_of(package: &toml::Table) -> Vec<Record> {
    let list = package.get("circuit").and_then(toml::Value::as_array);
    let tables = list.into_iter().flatten().filter_map(toml::Value::as_table);
    let text = |value: Option<&toml::Value>| match value {
        Some(toml::Value::String(text)) => Some(text.clone()),
        Some(toml::Value::Boolean(true)) => Some("yes".to_owned()),
        _ => None,
    };
    let records = tables.map(|table| {
        let mut circuit = Record { id: text(table.get("id")).unwrap_or_default(), ..Record::default() };
        let part =
            |of: &str, key: &str| text(table.get(of).and_then(toml::Value::as_table).and_then(|part| part.get(key)));
        for (name, value) in [
            ("from", text(table.get("from"))),
            ("fuse-kind", part("fuse", "kind")),
            ("fuse-rating", part("fuse", "rating")),
            ("fuse-ambient", part("fuse", "ambient")),
            ("wire-size", part("wire", "size")),
            ("wire-length", part("wire", "length")),
            ("strand", part("wire", "strand")),
            ("insulation", part("wire", "insulation")),
            ("copper", part("wire", "temperature")),
            ("engine-space", part("wire", "engine-space")),
            ("ampacity", part("wire", "ampacity")),
        ] {
            if let Some(value) = value {
                circuit.set(name, value);
            }
        }
        circuit
    });
    records.collect()
}

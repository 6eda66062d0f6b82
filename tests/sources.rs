//! Where every value of every shipped ruleset comes from: each has a document with edition and clause and a basis, or
//! our own reason; what was read has an address and a day; what is recalled says so in the file itself.
//!
//! Two ways that share no code: the rulesets as loaded, and the files as TOML.

use std::collections::BTreeMap;

use toml::{Table, Value};
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::load::reader::Date;
use wayproof::ruleset::shipped::SHIPPED;
use wayproof::ruleset::{BASES, Basis, Citation, Loader, Origin, Rule, Ruleset};

fn loaded(id: &str) -> Ruleset {
    let (sources, log) = (Sources::default(), Log::default());
    let mut loader = Loader::new(&sources, &log, Vec::new());
    loader.add_anywhere(id);
    let mut found = loader.rulesets;
    let said = log.take();
    assert!(said.is_empty(), "{id}: {}", render(&said, &sources, false));
    found.remove(0)
}

/// What a citation lacks; nothing where it is whole.
fn lacks(source: &Citation) -> Vec<&'static str> {
    let mut lacks = Vec::new();
    match &source.origin {
        Origin::Document { title, edition, clause } => {
            let empty = [(title, "title"), (edition, "edition"), (clause, "clause")];
            lacks.extend(empty.iter().filter(|(text, _)| text.trim().is_empty()).map(|(_, what)| *what));
        }
        Origin::Own(why) if why.trim().is_empty() => lacks.push("reason"),
        // What was read was read in a document that can be named.
        Origin::Own(_) if source.basis == Basis::Read => lacks.push("document"),
        Origin::Own(_) => {}
    }
    if source.basis == Basis::Read {
        lacks.extend(source.address.is_none().then_some("address"));
        lacks.extend(source.seen.is_none().then_some("day"));
    }
    lacks
}

/// Every value with the name of its place.
fn values(ruleset: &Ruleset) -> Vec<(String, &Citation)> {
    let mut values = Vec::new();
    for rule in &ruleset.rules {
        values.extend(rule.limits.iter().map(|limit| (format!("rule {}", rule.id), &limit.source)));
    }
    values.extend(ruleset.conventions.iter().map(|(name, source)| (format!("convention {name}"), source)));
    values.extend(ruleset.applies.iter().map(|applies| ("applies".to_owned(), &applies.source)));
    values.extend(ruleset.permitted.iter().map(|free| (format!("permitted {}", free.says), &free.source)));
    values
}

#[test]
fn every_value_has_its_source_and_what_was_read_its_address_and_day() {
    let (mut addresses, mut walked) = (0, 0);
    for (id, _) in SHIPPED {
        let ruleset = loaded(id);
        let values = values(&ruleset);
        assert!(!values.is_empty(), "{id} has no value");
        walked += values.len();
        for (name, source) in values {
            assert_eq!(lacks(source), Vec::<&str>::new(), "{id}, {name}: {source:?}");
            addresses += usize::from(source.address.is_some());
        }
    }
    assert!(walked > 400 && addresses > 8, "{walked} values, {addresses} of them with an address");
}

/// The walk finds what it looks for.
#[test]
fn a_value_without_its_source_is_found_out() {
    let origin = |title: &str, clause: &str| Origin::Document {
        title: title.to_owned(),
        edition: "1".to_owned(),
        clause: clause.to_owned(),
    };
    let whole = Citation {
        origin: origin("a code", "2"),
        address: Some("https://code.example/2".to_owned()),
        seen: Some(Date { year: 2026, month: 11, day: 20 }),
        ..Citation::own("", Basis::Read)
    };
    assert_eq!(lacks(&whole), [""; 0]);
    let spoilt: [(Citation, &[&str]); 6] = [
        (Citation { seen: None, ..whole.clone() }, &["day"]),
        (Citation { address: None, ..whole.clone() }, &["address"]),
        (Citation { origin: origin("", "2"), ..whole.clone() }, &["title"]),
        (Citation { origin: origin("a code", " "), ..whole.clone() }, &["clause"]),
        (Citation { origin: Origin::Own("why".to_owned()), ..whole.clone() }, &["document"]),
        (Citation::own("", Basis::Practice), &["reason"]),
    ];
    for (source, missing) in spoilt {
        assert_eq!(lacks(&source), missing, "{source:?}");
    }
}

/// The basis that a cell of the file has in words: its own, else that of its own `cite`, else that of its table's.
/// `None` where neither says one.
fn said_basis(cell: &Value, table: &Table) -> Option<String> {
    let in_cite = |cite: &Value| {
        let said = cite.get("basis").and_then(Value::as_str).map(str::to_owned);
        // Our own reason is practice by itself.
        said.or_else(|| cite.get("own").map(|_| "practice".to_owned()))
    };
    let own = cell.get("basis").and_then(Value::as_str).map(str::to_owned);
    own.or_else(|| cell.get("cite").and_then(in_cite)).or_else(|| table.get("cite").and_then(in_cite))
}

/// The cells of a rule: one a row, or one a zone or colour of it.
fn cells(row: &Value) -> Vec<&Value> {
    let parts = ["zones", "colours"].iter().filter_map(|key| row.get(key)?.as_table());
    let cells: Vec<&Value> = parts.flat_map(|table| table.values()).collect();
    if cells.is_empty() { vec![row] } else { cells }
}

/// How well a basis that is said in words is known, the best first.
fn rank(word: &str) -> Basis {
    BASES.iter().find(|(known, _)| *known == word).unwrap_or_else(|| panic!("{word} is no basis")).1
}

/// How the least known edge of each shipped region is known, as its file says it in words.
fn regions_in_words() -> BTreeMap<String, Basis> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/rulesets/colour-regions.toml");
    let file: Table = std::fs::read_to_string(path).unwrap().parse().unwrap();
    let mut known: BTreeMap<String, Basis> = BTreeMap::new();
    for table in file["region"].as_array().unwrap() {
        let table = table.as_table().unwrap();
        let own = said_basis(&Value::Boolean(true), table).unwrap();
        let edges = table.get("edges").and_then(Value::as_array).into_iter().flatten();
        let edges = edges.map(|edge| rank(&said_basis(edge, table).unwrap()));
        let parts = table.get("union").and_then(Value::as_array).into_iter().flatten();
        let parts: Vec<Basis> = parts.map(|part| known[part.as_str().unwrap()]).collect();
        let worst = edges.chain(parts).fold(rank(&own), Basis::max);
        known.insert(table["id"].as_str().unwrap().to_owned(), worst);
    }
    known
}

/// A limit that names colour regions is known just as well as it says, or as the least known of them.
fn of_regions(table: &Table, rule: &Rule) {
    let regions = regions_in_words();
    for limit in &rule.limits {
        let mut rows = table["limits"].as_array().unwrap().iter();
        let cell = match &limit.colour {
            Some(colour) => rows.find_map(|row| row.get("colours")?.get(colour)),
            None => rows.find(|row| row.get("colours").is_none()),
        };
        let cell = cell.unwrap();
        let words = cell.get("value").unwrap_or(cell).as_array().unwrap();
        let worst = words.iter().map(|word| regions[word.as_str().unwrap()]);
        let expected = worst.fold(rank(&said_basis(cell, table).unwrap()), Basis::max);
        assert_eq!(limit.source.basis, expected, "{} {:?}", rule.id, limit.colour);
        assert_eq!(limit.regions.len(), words.len(), "{} {:?}", rule.id, limit.colour);
    }
}

/// What is recalled says `memory` in the cell or its table, and so it is loaded: as many values of each basis as the
/// file has words for it.
#[test]
fn the_file_says_in_words_what_each_basis_is() {
    let (mut recalled, mut regional) = (0, 0);
    for (id, text) in SHIPPED {
        let file: Table = text.parse().unwrap();
        let ruleset = loaded(id);
        for (table, rule) in file["rule"].as_array().unwrap().iter().zip(&ruleset.rules) {
            let table = table.as_table().unwrap();
            assert_eq!(table["id"].as_str(), Some(rule.id.as_str()));
            let mut said: BTreeMap<String, usize> = BTreeMap::new();
            for cell in table["limits"].as_array().unwrap().iter().flat_map(cells) {
                let basis = said_basis(cell, table).unwrap_or_else(|| panic!("{id} {}: {cell} has no basis", rule.id));
                *said.entry(basis).or_default() += 1;
            }
            if rule.limits.iter().any(|limit| !limit.regions.is_empty()) {
                of_regions(table, rule);
                regional += 1;
                continue;
            }
            let mut known: BTreeMap<String, usize> = BTreeMap::new();
            for limit in &rule.limits {
                *known.entry(limit.source.basis.word().to_owned()).or_default() += 1;
            }
            assert_eq!(known, said, "{id} {}", rule.id);
            recalled += said.get("memory").copied().unwrap_or(0);
        }
        for name in ["zones", "levels", "flash", "signal", "applies"] {
            let Some(table) = file.get(name).and_then(Value::as_table) else { continue };
            for (key, cell) in table.iter().filter(|(key, _)| *key != "cite") {
                let basis = said_basis(cell, table);
                assert!(basis.is_some(), "{id} [{name}] {key} has no basis");
            }
        }
    }
    assert!(recalled > 100, "{recalled} values are recalled");
    assert_eq!(regional, 5, "rules that name regions");
}

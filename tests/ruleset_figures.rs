//! The figures of the shipped rulesets and colour regions against a second list of them, typed apart from the ruleset
//! files: exactly these, and none beyond.
//!
//! Outside values: tests/reference/rules, see the README there. The zone rulesets are held to theirs in `rulesets.rs`.

mod common;

use std::collections::{BTreeMap, BTreeSet, HashMap};

use common::{close, root};
use toml::{Table, Value};
use wayproof::colour::Line;
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::flash::{EffectiveMethod, RateBy};
use wayproof::measure::{BoundaryPoints, ColourInZone};
use wayproof::quantity::{DEVICE_KINDS, DEVICE_LIGHTS, DeviceKind, DeviceLight, DeviceTerms, ListenTerms};
use wayproof::ruleset::shipped::SHIPPED;
use wayproof::ruleset::{Citation, Limit, Loader, Origin, Regions, Rule, Ruleset};

type Row = HashMap<String, String>;

fn table(name: &str) -> Vec<Row> {
    common::rows(&root().join("tests/reference/rules").join(name))
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column}: {row:?}"))
}

/// Those whose figures are listed: all but the rulesets on zones of optical power.
fn listed() -> Vec<Ruleset> {
    let ids = SHIPPED.iter().map(|(id, _)| *id).filter(|id| !id.starts_with("zones-"));
    let load = |id: &str| {
        let (sources, log) = (Sources::default(), Log::default());
        let mut loader = Loader::new(&sources, &log, Vec::new());
        loader.add_anywhere(id);
        let mut found = loader.rulesets;
        let said = log.take();
        assert!(said.is_empty(), "{id}: {}", render(&said, &sources, false));
        found.remove(0)
    };
    ids.map(load).collect()
}

/// What the list says of a source: basis, document as `title (edition)`, clause.
struct Documents(HashMap<String, Row>);

impl Documents {
    fn read() -> Self {
        Self(table("documents.csv").into_iter().map(|row| (row["key"].clone(), row)).collect())
    }

    /// Basis, document and clause of a source in the words of the list; what no listed document is stands for itself.
    fn source(&self, cite: &Citation) -> [String; 3] {
        let basis = cite.basis.word().to_owned();
        let Origin::Document { title, edition, clause } = &cite.origin else {
            return [basis, "own".to_owned(), String::new()];
        };
        let is_meant = |row: &&Row| title.starts_with(&row["title begins"]) && *edition == row["edition"];
        let keys: Vec<&str> = self.0.values().filter(is_meant).map(|row| row["key"].as_str()).collect();
        let document = match keys.as_slice() {
            [one] => (*one).to_owned(),
            _ => format!("{title} ({edition}) is {} of the listed documents", keys.len()),
        };
        [basis, document, clause.clone()]
    }
}

/// Fails with what only one side has.
fn agree(listed: Vec<String>, shipped: Vec<String>) {
    let counted = |lines: &[String]| {
        let mut counted: BTreeMap<String, usize> = BTreeMap::new();
        lines.iter().for_each(|line| *counted.entry(line.clone()).or_default() += 1);
        counted.into_iter().collect::<BTreeSet<_>>()
    };
    let (listed, shipped) = (counted(&listed), counted(&shipped));
    let (only_listed, only_shipped) = (listed.difference(&shipped), shipped.difference(&listed));
    let (only_listed, only_shipped): (Vec<_>, Vec<_>) = (only_listed.collect(), only_shipped.collect());
    assert!(only_listed.is_empty() && only_shipped.is_empty(), "listed: {only_listed:#?}\nshipped: {only_shipped:#?}");
}

fn columns(row: &Row, names: &[&str]) -> String {
    names.iter().map(|name| row[*name].as_str()).collect::<Vec<_>>().join(" | ")
}

#[test]
fn limits_are_those_of_the_list_and_no_others() {
    let documents = Documents::read();
    let names =
        ["ruleset", "rule", "strength", "require", "purpose", "class", "colour", "zone", "item", "asks", "unit"];
    let names = [&names[..], &["basis", "document", "clause"]].concat();
    let rows = table("limits.csv");
    let line = |ruleset: &Ruleset, rule: &Rule, limit: &Limit| {
        assert!(limit.level.is_none() && limit.leads_to.is_none(), "{} {}", ruleset.id, rule.id);
        let zone = limit.zone.map(|at| ruleset.protocol.zones.sectors[at].name.clone());
        let scope = [limit.purpose.clone(), limit.class.clone(), limit.colour.clone(), zone, limit.item.clone()];
        let of_rule = [&ruleset.id, &rule.id, rule.strength.word(), rule.require.word()].map(str::to_owned);
        // The list writes figures without separators.
        let asks = [limit.demand.in_words().replace(',', ""), rule.unit.symbol().to_owned()];
        let scope = scope.map(Option::unwrap_or_default);
        [&of_rule[..], &scope[..], &asks[..], &documents.source(&limit.source)[..]].concat().join(" | ")
    };
    let rulesets = listed();
    let of_rule =
        |ruleset: &Ruleset, rule: &Rule| rule.limits.iter().map(|limit| line(ruleset, rule, limit)).collect::<Vec<_>>();
    let shipped: Vec<String> = rulesets
        .iter()
        .flat_map(|ruleset| ruleset.rules.iter().flat_map(|rule| of_rule(ruleset, rule)).collect::<Vec<_>>())
        .collect();
    assert!(rows.len() > 250, "{}", rows.len());
    agree(rows.iter().map(|row| columns(row, &names)).collect(), shipped);
}

/// `-45 to 45 by 5`, or single angles.
fn axis(text: &str) -> Vec<f64> {
    let words: Vec<f64> = text.split(' ').filter_map(|word| word.parse().ok()).collect();
    match (text.contains(" to "), words.as_slice()) {
        (true, [from, to, step]) => {
            let mut all = vec![*from];
            while all[all.len() - 1] < *to {
                all.push(all[all.len() - 1] + step);
            }
            all
        }
        _ => words,
    }
}

/// What a rule says in `device`, as one line; every field of it is named here.
fn described(terms: &DeviceTerms) -> String {
    let DeviceTerms { of, light, group, angles, effective, table: _, reaim, distance, share, lit_above, dark_below } =
        terms;
    let angles: Vec<String> = angles.iter().map(|angle| format!("{},{}", angle.v.value(), angle.h.value())).collect();
    let reaim = reaim.map(|reach| format!("{} {}", reach.h.value(), reach.v.value())).unwrap_or_default();
    let effective = effective.map(EffectiveMethod::word).unwrap_or_default();
    let metres = distance.map(|distance| format!("{:.6}", distance.value())).unwrap_or_default();
    let share = share.map(|share| format!("{:.6}", share.value())).unwrap_or_default();
    let group = group.clone().unwrap_or_default();
    let lit_above = lit_above.map(|share| format!("{:.6}", share.value())).unwrap_or_default();
    let dark_below = dark_below.map(|least| format!("{:.6}", least.value())).unwrap_or_default();
    let dark = format!("[{lit_above}] [{dark_below}]");
    format!("{of:?} {light:?} [{group}] {effective} [{metres}] [{share}] {dark} [{reaim}] {}", angles.join(" "))
}

#[test]
fn rules_on_single_lamps_look_where_the_list_says() {
    let one = |row: &Row| {
        let word = |column: &str| Some(row[column].as_str()).filter(|word| !word.is_empty());
        let of = word("of").map(|word| DEVICE_KINDS.iter().find(|(known, _)| *known == word).unwrap().1);
        let light = word("light").map(|word| DEVICE_LIGHTS.iter().find(|(known, _)| *known == word).unwrap().1);
        let (of, light) = (of.unwrap_or(DeviceKind::Any), light.unwrap_or(DeviceLight::Any));
        let h = axis(&row["h"]);
        let v = axis(&row["v"]);
        let angles: Vec<String> = v.iter().flat_map(|v| h.iter().map(move |h| format!("{v},{h}"))).collect();
        let reaim = word("reaim h").map(|h| format!("{h} {}", row["reaim v"])).unwrap_or_default();
        let metres = word("distance ft").map(|_| format!("{:.6}", number(row, "distance ft") * 0.3048));
        let share = word("share %").map(|_| format!("{:.6}", number(row, "share %") / 100.0));
        let (group, effective) = (&row["group"], &row["effective"]);
        let (metres, share) = (metres.unwrap_or_default(), share.unwrap_or_default());
        let lit_above = word("lit above %").map(|_| format!("{:.6}", number(row, "lit above %") / 100.0));
        let dark_below = word("dark below cd").map(|_| format!("{:.6}", number(row, "dark below cd")));
        let dark = format!("[{}] [{}]", lit_above.unwrap_or_default(), dark_below.unwrap_or_default());
        let angles = angles.join(" ");
        let said = format!("{of:?} {light:?} [{group}] {effective} [{metres}] [{share}] {dark} [{reaim}] {angles}");
        format!("{} {}: {said}", row["ruleset"], row["rule"])
    };
    let rulesets = listed();
    let device = |ruleset: &Ruleset, rule: &Rule| {
        Some(format!("{} {}: {}", ruleset.id, rule.id, described(rule.device.as_ref()?)))
    };
    let shipped = rulesets
        .iter()
        .flat_map(|ruleset| ruleset.rules.iter().filter_map(|rule| device(ruleset, rule)).collect::<Vec<_>>());
    agree(table("devices.csv").iter().map(one).collect(), shipped.collect());
}

/// What a rule says in `listen`, as one line; every field of it is named here.
fn heard(terms: &ListenTerms) -> String {
    let ListenTerms { of, tones, distance, angles, table, low, from, height, over, in_closed_car } = terms;
    let of: Vec<&str> = of.iter().map(|kind| kind.word()).collect();
    let angles: Vec<f64> = angles.iter().map(|angle| angle.value()).collect();
    let table: Vec<(f64, f64)> = table.iter().map(|(angle, level)| (angle.value(), level.value())).collect();
    let distance = distance.map(|distance| format!("{:.6}", distance.value()));
    let low = low.map(|(points, by)| (points, by.value()));
    let (from, height) = (from.map(|side| side.word()), height.map(|height| height.value()));
    let over = over.map(|over| over.value());
    format!("{of:?} {tones:?} {distance:?} {angles:?} {table:?} {low:?} {from:?} {height:?} {over:?} {in_closed_car}")
}

#[test]
fn rules_on_sounders_listen_where_the_list_says() {
    let one = |row: &Row| {
        let word = |column: &str| Some(row[column].as_str()).filter(|word| !word.is_empty());
        let words = |column: &str| row[column].split_whitespace().map(str::to_owned).collect::<Vec<_>>();
        let number = |column: &str| word(column).map(|_| number(row, column));
        // A foot is 0.3048 m by definition.
        let metres = |text: &str| {
            let (figure, unit) = text.split_once(' ').unwrap();
            let unit = [("m", 1.0), ("ft", 0.3048)].into_iter().find(|(known, _)| *known == unit).unwrap().1;
            format!("{:.6}", figure.parse::<f64>().unwrap() * unit)
        };
        let distance = word("distance").map(metres);
        let angles = axis(&row["angles"]);
        let low = number("low points").map(|points| (points as u32, number("low dB").unwrap()));
        let closed_car = match row["closed car"].as_str() {
            "yes" => true,
            "" => false,
            other => panic!("{other} is neither yes nor nothing"),
        };
        let (of, tones) = (words("of"), words("tones"));
        let (from, height, over) = (word("from"), number("height m"), number("over dB"));
        let table: [(f64, f64); 0] = [];
        let said = format!(
            "{of:?} {tones:?} {distance:?} {angles:?} {table:?} {low:?} {from:?} {height:?} {over:?} {closed_car}"
        );
        format!("{} {}: {said}", row["ruleset"], row["rule"])
    };
    let rulesets = listed();
    let of =
        |ruleset: &Ruleset, rule: &Rule| Some(format!("{} {}: {}", ruleset.id, rule.id, heard(rule.listen.as_ref()?)));
    let shipped = rulesets
        .iter()
        .flat_map(|ruleset| ruleset.rules.iter().filter_map(|rule| of(ruleset, rule)).collect::<Vec<_>>());
    agree(table("listening.csv").iter().map(one).collect(), shipped.collect());
}

#[test]
fn the_table_of_steady_lamps_is_that_of_the_list() {
    let one = |row: &Row| {
        let asks = ["red", "amber", "blue"].into_iter().filter(|colour| !row[*colour].is_empty());
        let asks: Vec<String> = asks.map(|colour| format!("{colour} {}", number(row, colour))).collect();
        format!("{} V {} H {}: {}", row["rule"], number(row, "v"), number(row, "h"), asks.join(" "))
    };
    let rulesets = listed();
    let rules = rulesets.iter().flat_map(|ruleset| &ruleset.rules);
    let points = |rule: &Rule| {
        let points = rule.device.iter().flat_map(|device| &device.table);
        let line = |point: &wayproof::quantity::TablePoint| {
            let asks = point.least.iter().map(|(colour, least)| format!("{colour} {}", least.value()));
            let asks: Vec<String> = asks.collect();
            format!("{} V {} H {}: {}", rule.id, point.at.v.value(), point.at.h.value(), asks.join(" "))
        };
        points.map(line).collect::<Vec<_>>()
    };
    agree(table("lamp-table.csv").iter().map(one).collect(), rules.flat_map(points).collect());
}

/// The value behind a convention, in the words of the list.
fn value(ruleset: &Ruleset, convention: &str) -> String {
    let protocol = &ruleset.protocol;
    match convention {
        "step between points" => {
            let [first, second, ..] = protocol.zones.bearings.as_slice() else {
                panic!("{} has no points", ruleset.id)
            };
            (second.value() - first.value()).rem_euclid(360.0).to_string()
        }
        "boundary points" => match protocol.zones.boundary_points {
            BoundaryPoints::Both => "both".to_owned(),
            BoundaryPoints::First => "first".to_owned(),
            BoundaryPoints::Unknown => "unknown".to_owned(),
        },
        "zones" => {
            let sectors = protocol.zones.sectors.iter();
            let said = sectors.map(|one| format!("{} {} to {}", one.name, one.from.value(), one.to.value()));
            said.collect::<Vec<_>>().join("; ")
        }
        "test voltage" => format!("{} V", protocol.voltage.unwrap().value()),
        "dark time that ends a flash" => format!("{} ms", protocol.flash.dark_at_least.get() / 1000),
        "lit means above" => {
            let percent = protocol.flash.lit_above.value() * 100.0;
            assert!(close(percent, percent.round(), 1e-9), "{percent}");
            format!("{} %", percent.round())
        }
        "way of counting a rate" => match protocol.flash.rate {
            RateBy::CountOverTime => "count over time".to_owned(),
            RateBy::MeanOfCycles => "mean of cycles".to_owned(),
        },
        "signal" => format!("{} cd.s/min", protocol.signal.at_least.value()),
        "colour in a zone" => match protocol.signal.colour_in_zone {
            ColourInZone::Axis => "axis".to_owned(),
            ColourInZone::Light => "light".to_owned(),
        },
        _ => format!("no value of `{convention}` is known to this test"),
    }
}

#[test]
fn conventions_are_those_of_the_list_and_no_others() {
    let documents = Documents::read();
    let names = ["ruleset", "convention", "value", "basis", "document", "clause"];
    let rulesets = listed();
    let of = |ruleset: &Ruleset| {
        // The regions stand in a list of their own.
        let own = ruleset.conventions.iter().filter(|(name, _)| !name.starts_with("region "));
        let line = |(name, cite): &(String, Citation)| {
            let said = [ruleset.id.clone(), name.clone(), value(ruleset, name)];
            [&said[..], &documents.source(cite)[..]].concat().join(" | ")
        };
        own.map(line).collect::<Vec<_>>()
    };
    let shipped = rulesets.iter().flat_map(of).collect();
    agree(table("conventions.csv").iter().map(|row| columns(row, &names)).collect(), shipped);
}

/// Edges with names, corners, equations and sources; an equation is the same however it is written.
#[test]
fn colour_regions_are_those_of_the_list_and_no_others() {
    let documents = Documents::read();
    let line = |text: &str| match Line::parse(text) {
        Ok(line) => format!("{line:?}"),
        Err(_) => text.to_owned(),
    };
    // `x = 0.993 - y` and `y = 0.993 - x` are one line.
    let same_way = |text: &str| match text.strip_prefix("x = ").and_then(|rest| rest.strip_suffix(" - y")) {
        Some(constant) => line(&format!("y = {constant} - x")),
        None => line(text),
    };
    let one = |row: &Row| {
        let corner = format!("{}, {}", row["x"], row["y"]);
        format!(
            "{} {} {} ({corner}) {}",
            row["region"],
            row["edge"],
            same_way(&row["line"]),
            columns(row, &["basis", "document", "clause"])
        )
    };
    let log = Log::default();
    let regions = Regions::shipped(&log);
    let file: Table = std::fs::read_to_string(root().join("rulesets/colour-regions.toml")).unwrap().parse().unwrap();
    let mut shipped = Vec::new();
    for table in file["region"].as_array().unwrap() {
        let id = table["id"].as_str().unwrap();
        let known = regions.find(id).unwrap();
        if let Some(parts) = table.get("union").and_then(Value::as_array) {
            let parts: Vec<&str> = parts.iter().map(|part| part.as_str().unwrap()).collect();
            let source = documents.source(&known.source).join(" | ");
            shipped.push(format!("{id} union {} (, ) {source}", parts.join(" ")));
            continue;
        }
        let edges = table["edges"].as_array().unwrap();
        assert_eq!(edges.len(), known.edges.len(), "{id}");
        for (edge, cite) in edges.iter().zip(&known.edges) {
            let text = |key: &str| edge.get(key).and_then(Value::as_str).unwrap_or_default();
            let name = if edge.get("along").is_some() { "locus" } else { text("name") };
            let corner: Vec<String> =
                edge["from"].as_array().unwrap().iter().map(|at| format!("{:.3}", at.as_float().unwrap())).collect();
            let source = documents.source(cite).join(" | ");
            shipped.push(format!("{id} {name} {} ({}) {source}", same_way(text("line")), corner.join(", ")));
        }
    }
    assert_eq!(regions.iter().count(), file["region"].as_array().unwrap().len());
    agree(table("regions.csv").iter().map(one).collect(), shipped);
}

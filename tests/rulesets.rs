//! The shipped rulesets: listed, readable, and holding the published figures with their basis.
//!
//! The figures are those recalled from NFPA 1901 (2016), tables 13.8.13.5 and 13.8.14 (basis: memory), and the
//! colour table that a vehicle builder's page repeats (basis: second-hand). They are typed here a second time so that
//! a slip of the finger in either place shows.

use wayproof::diagnostic::{Log, Sources};
use wayproof::ruleset::{Basis, Demand, Loader, Require, Ruleset, Strength, shipped};

fn load(name: &str) -> Ruleset {
    let (sources, log) = (Sources::default(), Log::default());
    let mut loader = Loader::new(&sources, &log, Vec::new());
    loader.add_anywhere(name);
    let mut rulesets = loader.rulesets;
    let said = log.take();
    assert!(said.is_empty(), "{name}: {said:?}");
    rulesets.remove(0)
}

fn limit(ruleset: &Ruleset, rule: &str, purpose: &str, level: Option<&str>, zone: &str) -> (Demand, Basis) {
    let rule = ruleset.rules.iter().find(|known| known.id == rule).unwrap_or_else(|| panic!("no rule {rule}"));
    let zone = ruleset.protocol.zones.sectors.iter().position(|sector| sector.name == zone);
    let level = level.map(|level| ruleset.protocol.levels.iter().position(|known| known.name == level).unwrap());
    let here = rule
        .limits
        .iter()
        .find(|limit| limit.purpose.as_deref() == Some(purpose) && limit.zone == zone && limit.level == level);
    let here = here.unwrap_or_else(|| panic!("no limit {} {purpose} {level:?} {zone:?}", rule.id));
    (here.demand.clone(), here.source.basis)
}

#[test]
fn every_file_is_shipped_and_reads_without_a_word() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("rulesets");
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path().file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    names.sort();
    let mut listed: Vec<&str> = shipped::SHIPPED.iter().map(|(id, _)| *id).collect();
    listed.sort_unstable();
    assert_eq!(names, listed);
    for name in listed {
        assert_eq!(load(name).id, name);
    }
}

#[test]
fn the_large_table() {
    let ruleset = load("zones-two-level");
    let (memory, number) = (Basis::Memory, Demand::Number);
    for purpose in ["calling", "blocking"] {
        for zone in ["A", "B", "C", "D"] {
            let upper = match (purpose, zone) {
                ("calling", "A") => 1e6,
                ("blocking", "C") => 8e5,
                _ => 4e5,
            };
            let at = |rule: &str, level: &str| limit(&ruleset, rule, purpose, Some(level), zone);
            assert_eq!(at("zone-total", "upper"), (number(upper), memory), "{purpose} {zone}");
            assert_eq!(at("zone-total", "lower"), (number(150_000.0), memory));
            assert_eq!(at("least-point", "upper"), (number(10_000.0), memory));
            assert_eq!(at("least-point", "lower"), (number(3_750.0), memory));
            assert_eq!(at("off-plane-point", "upper"), (number(3_500.0), memory));
            assert_eq!(at("off-plane-point", "lower"), (number(1_300.0), memory));
            assert_eq!(at("one-head-dark", "upper").0, number(0.0));
            assert_eq!(at("one-head-dark", "lower").0, number(0.0));
        }
    }
}

#[test]
fn the_small_table_leaves_the_sides_open_with_a_reason() {
    let ruleset = load("zones-one-level");
    for (purpose, a, c) in [("calling", 1e6, 4e5), ("blocking", 4e5, 8e5)] {
        assert_eq!(limit(&ruleset, "zone-total", purpose, None, "A").0, Demand::Number(a));
        assert_eq!(limit(&ruleset, "zone-total", purpose, None, "C").0, Demand::Number(c));
        for zone in ["A", "C"] {
            assert_eq!(limit(&ruleset, "least-point", purpose, None, zone).0, Demand::Number(10_000.0));
            assert_eq!(limit(&ruleset, "off-plane-point", purpose, None, zone).0, Demand::Number(3_500.0));
        }
        for zone in ["B", "D"] {
            for rule in ["zone-total", "least-point", "off-plane-point"] {
                let (demand, _) = limit(&ruleset, rule, purpose, None, zone);
                let Demand::Missing { why, see: Some(see) } = demand else { panic!("{rule} {zone}: {demand:?}") };
                assert!(!why.is_empty() && see.contains("13.8.14"), "{why} {see}");
            }
        }
    }
}

#[test]
fn colours_by_zone_and_purpose() {
    for name in ["zones-two-level", "zones-one-level"] {
        let ruleset = load(name);
        for purpose in ["calling", "blocking"] {
            for zone in ["A", "B", "C", "D"] {
                let (demand, basis) = limit(&ruleset, "colours", purpose, None, zone);
                let Demand::Words(words) = demand else { panic!("{demand:?}") };
                let permitted = |colour: &str| words.iter().any(|word| word == colour);
                assert_eq!(basis, Basis::SecondHand);
                assert!(permitted("red") && permitted("blue") && !permitted("green"));
                assert_eq!(permitted("amber"), !(purpose == "calling" && zone == "A"), "{purpose} {zone}");
                assert_eq!(permitted("white"), purpose == "calling" && zone != "C", "{purpose} {zone}");
            }
        }
    }
}

#[test]
fn rates_heights_and_the_open_cap_on_current() {
    for name in ["zones-two-level", "zones-one-level"] {
        let ruleset = load(name);
        let rule = |id: &str| ruleset.rules.iter().find(|rule| rule.id == id).unwrap();
        assert!(rule("flash-rate").limits.iter().all(|limit| limit.demand == Demand::Number(75.0)));
        assert!(rule("flash-sum").limits.iter().all(|limit| limit.demand == Demand::Number(150.0)));
        assert_eq!(rule("flash-merge").strength, Strength::Advice);
        assert_eq!(rule("steady-heads").strength, Strength::Advice);
        assert_eq!(rule("current").strength, Strength::Advice);
        assert!(rule("current").limits.iter().all(|limit| matches!(limit.demand, Demand::Missing { .. })));
        for (what, citation) in &ruleset.conventions {
            assert!(citation.basis != Basis::Read, "{what}: nothing here was read in the document itself");
        }
    }
    let large = load("zones-two-level");
    let height = large.rules.iter().find(|rule| rule.id == "lower-height").unwrap();
    assert_eq!(height.require, Require::Between);
    assert_eq!(height.limits[0].demand, Demand::Range { from: 18.0, to: 62.0 });
    let spacing = large.rules.iter().find(|rule| rule.id == "lower-spacing").unwrap();
    assert_eq!((&spacing.limits[0].demand, spacing.unit.symbol()), (&Demand::Number(25.0), "ft"));
}

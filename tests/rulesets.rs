//! The rulesets that come with the tool: all of them load, every figure says where it comes from, and the figures are
//! those of the notes from which the files were written, typed here a second time.
//!
//! Outside sources: notes on NFPA 1901 (2016) 13.8. Rows are called N-L-.. (large apparatus), N-S-.. (small), N-COL-..
//! (colours) and N-SWI-.. (switches). All figures but the colours are recalled, not read, so every one must say
//! `memory`. WAC 204-21-130(2) was seen, the day not noted; MUTCD 2009, 6F.61, was seen on two other pages that agree (M-10 to M-16).

mod common;

use std::collections::BTreeSet;

use wayproof::diagnostic::{Log, Sources, render};
use wayproof::quantity::Measure;
use wayproof::ruleset::shipped::SHIPPED;
use wayproof::ruleset::{Basis, Demand, Limit, Loader, Origin, Require, Rule, Ruleset, Strength};

/// The rulesets on warning lights in zones.
const ZONES: [&str; 2] = ["zones-two-level", "zones-one-level"];

fn ruleset(id: &str) -> Ruleset {
    let (sources, log) = (Sources::default(), Log::default());
    let mut loader = Loader::new(&sources, &log, Vec::new());
    loader.add_anywhere(id);
    let mut found = loader.rulesets;
    let said = log.take();
    assert!(said.is_empty(), "{id}: {}", render(&said, &sources, false));
    assert_eq!(found.len(), 1, "{id}");
    found.remove(0)
}

fn rule<'r>(ruleset: &'r Ruleset, id: &str) -> &'r Rule {
    ruleset.rules.iter().find(|rule| rule.id == id).unwrap_or_else(|| panic!("{} has no {id}", ruleset.id))
}

fn limit<'r>(ruleset: &'r Ruleset, id: &str, purpose: &str, level: Option<&str>, zone: &str) -> &'r Limit {
    let protocol = &ruleset.protocol;
    let level = level.map(|name| protocol.levels.iter().position(|level| level.name == name).unwrap());
    let zone = protocol.zones.sectors.iter().position(|sector| sector.name == zone);
    let mut limits = rule(ruleset, id).limits.iter();
    let found =
        limits.find(|limit| limit.purpose.as_deref() == Some(purpose) && limit.level == level && limit.zone == zone);
    found.unwrap_or_else(|| panic!("{id} has no limit for {purpose} {level:?} {zone:?}"))
}

#[test]
fn every_file_is_shipped_and_loads_without_a_word() {
    let files: BTreeSet<String> = std::fs::read_dir(common::root().join("rulesets"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        // The schemas of all kinds of files lie beside them.
        .filter(|name| name != "schemas")
        .collect();
    // The regions of colours are no ruleset, but what rulesets name.
    let listed = SHIPPED.iter().map(|(id, _)| format!("{id}.toml"));
    let listed: BTreeSet<String> = listed.chain(["colour-regions.toml".to_owned()]).collect();
    assert_eq!(files, listed);
    for (id, text) in SHIPPED {
        let ruleset = ruleset(id);
        assert_eq!(ruleset.id, *id, "the file is called as its ruleset");
        assert!(ruleset.defers_to.ends_with("the authority having jurisdiction"), "{id}");
        // A vehicle without flashing headlamps or arrows needs no word: nothing of them is asked of it.
        assert_eq!(ruleset.applies.is_some(), ZONES.contains(id), "{id} says which vehicles it fits");
        let file = std::fs::read_to_string(common::root().join(format!("rulesets/{id}.toml"))).unwrap();
        assert_eq!(*text, file);
    }
}

#[test]
fn every_limit_and_convention_says_where_it_comes_from() {
    for (id, _) in SHIPPED {
        let ruleset = ruleset(id);
        let limits = ruleset.rules.iter().flat_map(|rule| rule.limits.iter().map(|limit| (&rule.id, &limit.source)));
        let conventions = ruleset.conventions.iter().map(|(name, source)| (name, source));
        let (mut checked, mut own) = (0, 0);
        for (name, source) in limits.chain(conventions) {
            checked += 1;
            match &source.origin {
                Origin::Document { title, edition, clause } => {
                    assert!(!title.is_empty() && !edition.is_empty() && !clause.is_empty(), "{id} {name}");
                    assert_ne!(source.basis, Basis::Practice, "{id} {name}: a document is no habit");
                    let unread = ["NFPA", "MUTCD", "PATA"].iter().any(|unread| title.starts_with(unread));
                    assert!(source.basis != Basis::Read || !unread, "{id} {name}: who has read {title}?");
                }
                Origin::Own(why) => {
                    own += 1;
                    assert!(why.len() > 20, "{id} {name}: `{why}` is no reason");
                    assert_ne!(source.basis, Basis::Read, "{id} {name}: what was read has a name");
                }
            }
            assert_ne!(source.basis, Basis::Confirmed, "{id} {name}: only a user can confirm");
        }
        // Those with conventions of their own have reasons of their own.
        let (fewest, fewest_own) = match *id {
            id if ZONES.contains(&id) => (50, Some(5)),
            "headlamp-flashing" | "directional-arrow" => (10, Some(5)),
            // Short documents: one or two figures of a law each, or of one device.
            "siren-110-at-3.5-m" | "siren-104-at-7-m" => (0, None),
            "siren-90-to-120-at-20-m" | "siren-cap-90-at-50-ft" | "road-horns" => (1, None),
            "travel-alarms" => (5, None),
            _ => (6, None),
        };
        assert!(checked > fewest, "{id}: {checked} sources");
        assert!(fewest_own.is_none_or(|fewest| own > fewest), "{id}: {own} of {checked} sources are our own");
        // Only who looks from somewhere has to say from where.
        let looks = ruleset.rules.iter().any(|rule| matches!(rule.quantity.measure, Measure::Light { .. }));
        let names: BTreeSet<&str> = ruleset.conventions.iter().map(|(name, _)| name.as_str()).collect();
        for name in ["zones", "boundary points", "signal", "colour in a zone", "dark time that ends a flash"] {
            assert!(!looks || names.contains(name), "{id}: {name} is missing in {names:?}");
        }
    }
}

/// Purpose, zone, level, H total, any H point, any point 5 degrees up or down.
const LARGE: &[(&str, &str, &str, f64, f64, f64)] = &[
    ("calling", "A", "upper", 1e6, 1e4, 3500.0),       // N-L-01
    ("calling", "B", "upper", 4e5, 1e4, 3500.0),       // N-L-02
    ("calling", "C", "upper", 4e5, 1e4, 3500.0),       // N-L-03
    ("calling", "D", "upper", 4e5, 1e4, 3500.0),       // N-L-04
    ("calling", "A", "lower", 1.5e5, 3750.0, 1300.0),  // N-L-05
    ("calling", "B", "lower", 1.5e5, 3750.0, 1300.0),  // N-L-06
    ("calling", "C", "lower", 1.5e5, 3750.0, 1300.0),  // N-L-07
    ("calling", "D", "lower", 1.5e5, 3750.0, 1300.0),  // N-L-08
    ("blocking", "A", "upper", 4e5, 1e4, 3500.0),      // N-L-09
    ("blocking", "B", "upper", 4e5, 1e4, 3500.0),      // N-L-10
    ("blocking", "C", "upper", 8e5, 1e4, 3500.0),      // N-L-11
    ("blocking", "D", "upper", 4e5, 1e4, 3500.0),      // N-L-12
    ("blocking", "A", "lower", 1.5e5, 3750.0, 1300.0), // N-L-13
    ("blocking", "B", "lower", 1.5e5, 3750.0, 1300.0), // N-L-14
    ("blocking", "C", "lower", 1.5e5, 3750.0, 1300.0), // N-L-15
    ("blocking", "D", "lower", 1.5e5, 3750.0, 1300.0), // N-L-16
];

const LIGHT_RULES: [&str; 3] = ["zone-total", "least-point", "off-plane-point"];

fn assert_figure(limit: &Limit, figure: f64, place: &str) {
    assert_eq!(limit.demand, Demand::Number(figure), "{place}");
    assert_eq!(limit.source.basis, Basis::Memory, "{place}");
}

#[test]
fn figures_for_large_apparatus() {
    let ruleset = ruleset("zones-two-level");
    for (purpose, zone, level, total, point, off) in LARGE {
        for (id, figure) in LIGHT_RULES.into_iter().zip([total, point, off]) {
            let place = format!("{id} {purpose} {level} {zone}");
            assert_figure(limit(&ruleset, id, purpose, Some(level), zone), *figure, &place);
        }
    }
    for id in LIGHT_RULES {
        assert_eq!(rule(&ruleset, id).limits.len(), LARGE.len(), "{id} has no further limits");
        assert_eq!(rule(&ruleset, id).unit.symbol(), "cd.s/min");
        assert_eq!(rule(&ruleset, id).strength, Strength::Required);
    }
}

#[test]
fn figures_for_small_apparatus_and_the_missing_ones() {
    let ruleset = ruleset("zones-one-level");
    let known = [
        ("calling", "A", 1e6),  // N-S-01
        ("calling", "C", 4e5),  // N-S-03
        ("blocking", "A", 4e5), // N-S-05
        ("blocking", "C", 8e5), // N-S-07
    ];
    for (purpose, zone, total) in known {
        for (id, figure) in LIGHT_RULES.into_iter().zip([total, 1e4, 3500.0]) {
            assert_figure(limit(&ruleset, id, purpose, None, zone), figure, &format!("{id} {purpose} {zone}"));
        }
    }
    // N-S-02, -04, -06, -08: the sides are recalled too vaguely to judge by.
    for (purpose, zone) in [("calling", "B"), ("calling", "D"), ("blocking", "B"), ("blocking", "D")] {
        for id in LIGHT_RULES {
            let Demand::Missing { why, see } = &limit(&ruleset, id, purpose, None, zone).demand else {
                panic!("{id} {purpose} {zone} must not be judged")
            };
            assert!(why.len() > 20, "{why}");
            assert!(see.as_deref().is_some_and(|see| see.contains("13.8.14")), "{see:?}");
        }
    }
    for id in LIGHT_RULES {
        assert_eq!(rule(&ruleset, id).limits.len(), 8, "{id}");
    }
}

/// N-COL-1 to -4: red and blue anywhere; amber anywhere but to the front while calling; white anywhere but to the
/// rear while calling, and nowhere while blocking.
#[test]
fn colours() {
    for id in ZONES {
        let ruleset = ruleset(id);
        for purpose in ["calling", "blocking"] {
            for zone in ["A", "B", "C", "D"] {
                let limit = limit(&ruleset, "colours", purpose, None, zone);
                assert_eq!(limit.source.basis, Basis::SecondHand, "{id} {purpose} {zone}");
                let Demand::Words(words) = &limit.demand else { panic!("{id} {purpose} {zone}") };
                let found: BTreeSet<&str> = words.iter().map(String::as_str).collect();
                let mut expected = BTreeSet::from(["red", "blue"]);
                if purpose == "blocking" || zone != "A" {
                    expected.insert("amber");
                }
                if purpose == "calling" && zone != "C" {
                    expected.insert("white");
                }
                assert_eq!(found, expected, "{id} {purpose} {zone}");
            }
        }
    }
}

/// 75 a minute each source, 150 at a point (N-FLR-1, -2); no cap in amperes is judged (N-ELE-1 is unsure).
#[test]
fn flash_rates_and_the_cap_in_amperes() {
    for id in ZONES {
        let ruleset = ruleset(id);
        for (name, figure, limits) in [("flash-rate", 75.0, 2), ("flash-sum", 150.0, 8)] {
            let rule = rule(&ruleset, name);
            assert_eq!(rule.limits.len(), limits, "{id} {name}");
            assert_eq!(rule.unit.symbol(), "/min");
            assert!(rule.limits.iter().all(|limit| limit.demand == Demand::Number(figure)), "{id} {name}");
        }
        let current = rule(&ruleset, "current");
        assert_eq!(current.strength, Strength::Advice);
        assert!(current.limits.iter().all(|limit| matches!(limit.demand, Demand::Missing { .. })), "{id}");
        assert_eq!(current.limits.len(), 2, "{id}");
    }
}

/// One dark head leaves no point without a signal (N-FAI-1); heights 18 to 62 in (N-MNT-4); 25 ft between neighbours
/// (N-MNT-7); what is only told never decides.
#[test]
fn single_failure_mounting_and_advice() {
    for id in ZONES {
        let ruleset = ruleset(id);
        let dark = rule(&ruleset, "one-head-dark");
        assert_eq!(dark.limits.len(), 8 * ruleset.protocol.levels.len().max(1), "{id}");
        assert!(dark.limits.iter().all(|limit| limit.demand == Demand::Number(0.0)), "{id}");
        assert_eq!(dark.strength, Strength::Required);
        for advice in ["flash-merge", "steady-heads"] {
            assert_eq!(rule(&ruleset, advice).strength, Strength::Advice, "{id} {advice}");
        }
    }
    let large = ruleset("zones-two-level");
    let height = rule(&large, "lower-height");
    assert_eq!((height.require, height.unit.symbol()), (Require::Between, "in"));
    assert_eq!(height.limits[0].demand, Demand::Range { from: 18.0, to: 62.0 });
    let spacing = rule(&large, "lower-spacing");
    assert_eq!((&spacing.limits[0].demand, spacing.unit.symbol()), (&Demand::Number(25.0), "ft"));
}

/// No limit claims to be known better than it is. Nothing here was read in the apparatus standard itself.
#[test]
fn the_shipped_rules_say_how_they_are_known() {
    use Basis::{Memory, Practice, SecondHand};
    use Strength::{Advice, Caution, Required};
    let switches: &[(&str, Basis, Strength)] = &[
        ("circuit-dark", Practice, Advice),
        ("output-dark", Practice, Advice),
        ("total-with-head-dark", Memory, Advice),
        ("total-with-circuit-dark", Memory, Advice),
        ("total-with-output-dark", Memory, Advice),
        ("clock-lost", Practice, Advice),
        ("master", Memory, Required),
        ("two-modes", SecondHand, Required),
        ("park-to-blocking", Memory, Required),
        ("release-to-calling", Memory, Advice),
        ("dark-states", Memory, Required),
        ("states-in-no-mode", Practice, Required),
        ("displays-never-visible", Practice, Required),
        ("warning-colours", SecondHand, Required),
        ("roles", Practice, Required),
        ("carried-into", Practice, Required),
        ("vehicle-lamps", Practice, Required),
        ("vehicle-lamps-flash", SecondHand, Required),
        ("flash-sum-caution", SecondHand, Caution),
        ("pulse-train-caution", SecondHand, Caution),
    ];
    let headlamps: &[(&str, Basis, Strength)] = &[
        ("flash-rate", SecondHand, Required),
        ("alternating", Practice, Required),
        ("upper-beam-only", SecondHand, Required),
        ("fail-safe", SecondHand, Required),
        ("driver-first", SecondHand, Required),
    ];
    let arrows: &[(&str, Basis, Strength)] = &[
        ("flash-rate", SecondHand, Required),
        ("colour", SecondHand, Required),
        ("on-time", SecondHand, Required),
        ("equal-steps", SecondHand, Required),
        ("in-order", Practice, Required),
        ("merging-only", SecondHand, Required),
        ("light-taken", Practice, Advice),
    ];
    for (name, expected, first) in [
        ("zones-two-level", switches, "circuit-dark"),
        ("zones-one-level", switches, "circuit-dark"),
        ("headlamp-flashing", headlamps, "flash-rate"),
        ("directional-arrow", arrows, "flash-rate"),
    ] {
        let ruleset = ruleset(name);
        let rules = ruleset.rules.iter().skip_while(|rule| rule.id != first).take(expected.len());
        let rules: Vec<_> = rules.collect();
        assert_eq!(rules.len(), expected.len(), "{name}");
        for (rule, (id, basis, strength)) in rules.iter().zip(expected) {
            assert_eq!((rule.id.as_str(), rule.strength), (*id, *strength), "{name}");
            for limit in &rule.limits {
                assert_eq!(limit.source.basis, *basis, "{name} {id}");
            }
        }
    }
}

/// What the documents leave free: a way to modify the modes, one lamp in both (recalled), flashing headlamps (seen, the day not noted).
#[test]
fn what_is_left_free_stands_in_both_zone_rulesets() {
    for name in ZONES {
        let bases: Vec<Basis> = ruleset(name).permitted.iter().map(|free| free.source.basis).collect();
        assert_eq!(bases, [Basis::Memory, Basis::Memory, Basis::SecondHand], "{name}");
    }
}

/// P-04, N-SWI-2, M-10 to M-13, and what is asked of screens.
#[test]
fn figures_of_headlamps_arrows_and_cautions() {
    let words = |list: &[&str]| Demand::Words(list.iter().map(|word| (*word).to_owned()).collect());
    for (name, id, require, demand, unit) in [
        ("headlamp-flashing", "flash-rate", Require::Between, Demand::Range { from: 60.0, to: 120.0 }, "/min"),
        ("headlamp-flashing", "alternating", Require::AtMost, Demand::Number(0.0), "%"),
        ("headlamp-flashing", "upper-beam-only", Require::AtMost, Demand::Number(0.0), "heads"),
        ("headlamp-flashing", "fail-safe", Require::AtMost, Demand::Number(0.0), "heads"),
        ("headlamp-flashing", "driver-first", Require::AtMost, Demand::Number(0.0), "states"),
        ("directional-arrow", "flash-rate", Require::Between, Demand::Range { from: 25.0, to: 40.0 }, "/min"),
        ("directional-arrow", "colour", Require::Only, words(&["amber"]), "colours"),
        ("directional-arrow", "on-time", Require::AtLeast, Demand::Number(50.0), "%"),
        ("directional-arrow", "equal-steps", Require::Exactly, Demand::Number(25.0), "%"),
        ("directional-arrow", "in-order", Require::AtMost, Demand::Number(0.0), "heads"),
        ("directional-arrow", "merging-only", Require::AtMost, Demand::Number(0.0), "states"),
        ("zones-two-level", "two-modes", Require::AtLeast, Demand::Number(1.0), "modes"),
        ("zones-two-level", "warning-colours", Require::NoneOf, words(&["white"]), "colours"),
        ("zones-two-level", "roles", Require::NoneOf, words(&["headlamp-flasher"]), "roles"),
        ("zones-two-level", "flash-sum-caution", Require::AtMost, Demand::Number(180.0), "/min"),
        ("zones-two-level", "pulse-train-caution", Require::Outside, Demand::Range { from: 5.0, to: 30.0 }, "Hz"),
    ] {
        let ruleset = ruleset(name);
        let rule = rule(&ruleset, id);
        assert_eq!((rule.require, rule.unit.symbol()), (require, unit), "{name} {id}");
        assert!(rule.limits.iter().all(|limit| limit.demand == demand), "{name} {id}: {:?}", rule.limits);
    }
}

/// What is asked of switches and of what fails is asked alike, whatever the size; totals with something dark take the
/// figures of the totals.
#[test]
fn both_sizes_are_asked_the_same_of_switches() {
    let [large, small] = ZONES.map(ruleset);
    for id in ["master", "two-modes", "park-to-blocking", "carried-into", "vehicle-lamps", "vehicle-lamps-flash"] {
        let demands = |ruleset: &Ruleset| -> Vec<Demand> {
            rule(ruleset, id).limits.iter().map(|limit| limit.demand.clone()).collect()
        };
        assert_eq!(demands(&large), demands(&small), "{id}");
        assert_eq!(rule(&large, id).says, rule(&small, id).says, "{id}");
    }
    for ruleset in [&large, &small] {
        let figures = |id: &str| -> Vec<(Option<usize>, Demand)> {
            rule(ruleset, id).limits.iter().map(|limit| (limit.zone, limit.demand.clone())).collect()
        };
        for dark in ["total-with-head-dark", "total-with-circuit-dark", "total-with-output-dark"] {
            assert_eq!(figures(dark), figures("zone-total"), "{} {dark}", ruleset.id);
        }
    }
}

//! The demo vehicles of other trades, an ambulance and a road-service truck: they load without a word, nothing that they
//! ask for fails, and they are built to what an order for them says.
//!
//! The orders stand beside this file, one a package. Every lamp, place and use that they speak of is counted below.

mod common;

use std::collections::BTreeMap;

use common::root;
use serde_json::Value as Json;
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::package::{PackageFile, load};

/// The packages, and how many required findings pass, are not shown and are not applicable by the rulesets that each
/// names.
const DEMOS: [(&str, [u64; 3]); 2] = [("medic-6", [201, 6, 10]), ("amber-9", [136, 3, 6])];

/// The rules that do not speak of a vehicle: the beacon has one level of light and shows amber; the arrows flash all at
/// once, and an arrow that runs would be asked for its steps; amber asks nobody for the right of way, so no load is judged
/// while calling; nothing hangs on a converter, and the road-service truck has neither inverter nor shore inlet; neither is
/// a refuse truck; the ambulance's siren claims class A.
const NOT_APPLICABLE: [(&str, &[&str]); 2] = [
    (
        "medic-6",
        &[
            "all-round-lamp:day-above-and-below",
            "all-round-lamp:day-amber-above-and-below",
            "all-round-lamp:day-on-axis",
            "all-round-lamp:night-above-and-below",
            "all-round-lamp:night-amber-above-and-below",
            "all-round-lamp:night-on-axis",
            "all-round-lamp:one-level-above-and-below",
            "back-up-alarms:alarm-heard-at-100-ft",
            "sounders:siren-level-by-class-b",
            "supply-12v:converter",
        ],
    ),
    (
        "amber-9",
        &[
            "back-up-alarms:alarm-heard-at-100-ft",
            "directional-arrow:equal-steps",
            "directional-arrow:in-order",
            "load-analysis:hot-idle-total",
            "supply-12v:converter",
            "supply-12v:inverter",
            "supply-12v:shore",
        ],
    ),
];

/// Runs `check` on a fixed day: exit status, what it found, what it had to say.
fn check(package: &str, more: &[&str]) -> (i32, String, String) {
    let file = format!("demo-data/{package}/package.toml");
    let args = [&["check", file.as_str(), "--as-of", "2026-11-25", "--format", "json"], more].concat();
    let mut command = assert_cmd::Command::cargo_bin("wayproof").unwrap();
    let output = command.current_dir(root()).args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn findings(report: &Json) -> &[Json] {
    report["findings"].as_array().unwrap()
}

#[test]
fn they_load_without_a_word() {
    for (name, _) in DEMOS {
        let folder = root().join("demo-data").join(name);
        let bytes = std::fs::read(folder.join("package.toml")).unwrap();
        let file = PackageFile { name: name.to_owned(), bytes, folder, libraries: Vec::new() };
        let (sources, log) = (Sources::default(), Log::default());
        let (package, _) = load(&file, &sources, &log);
        assert_eq!(render(&log.take(), &sources, false), "", "{name}");
        assert!(package.is_some(), "{name}");
    }
}

#[test]
fn nothing_fails_and_only_missing_limits_stay_open() {
    for (name, [passes, missing, not_applicable]) in DEMOS {
        let (status, out, said) = check(name, &[]);
        let report: Json = serde_json::from_str(&out).unwrap();
        let summary = &report["summary"];
        for open in ["fail", "too-close", "on-estimate"] {
            assert_eq!(summary[open], 0, "{name} {open}: {summary}");
        }
        assert_eq!((status, &summary["pass"]), (3, &Json::from(passes)), "{name}");
        assert_eq!(
            (&summary["not-shown"], &summary["not-applicable"]),
            (&missing.into(), &not_applicable.into()),
            "{name}"
        );
        assert_eq!(summary["advice"]["not-applicable"], u64::from(name == "amber-9"), "{name}");
        let open =
            findings(&report).iter().filter(|one| one["verdict"] == "not-shown" && one["strength"] == "required");
        for finding in open {
            assert!(finding["note"].as_str().unwrap().starts_with("limit missing: "), "{name}: {finding}");
        }
        assert_eq!(said, "", "{name}");
    }
}

#[test]
fn only_rules_that_speak_of_other_vehicles_are_not_applicable() {
    for (name, expected) in NOT_APPLICABLE {
        let (_, out, _) = check(name, &[]);
        let report: Json = serde_json::from_str(&out).unwrap();
        let left = findings(&report).iter().filter(|one| one["verdict"] == "not-applicable");
        let left = left.map(|one| one["id"].as_str().unwrap().split('@').next().unwrap().to_owned());
        assert_eq!(left.collect::<std::collections::BTreeSet<_>>().into_iter().collect::<Vec<_>>(), expected, "{name}");
    }
}

#[test]
fn the_same_files_and_date_give_the_same_bytes() {
    for (name, _) in DEMOS {
        assert_eq!(check(name, &[]), check(name, &[]), "{name}");
    }
}

/// How many findings each rule of an order has: lamps of which a rule on devices speaks, or uses of the vehicle.
fn judged_by_order(package: &str) -> BTreeMap<String, usize> {
    let (status, out, _) = check(package, &["--rules", &format!("tests/demo_trade/{package}.toml")]);
    let report: Json = serde_json::from_str(&out).unwrap();
    let mut counted = BTreeMap::new();
    for finding in findings(&report) {
        assert_eq!(finding["verdict"], "pass", "{finding}");
        *counted.entry(finding["rule"].as_str().unwrap().to_owned()).or_default() += 1;
    }
    assert_eq!(status, 0, "{package}");
    counted
}

/// Twelve red lamps, one clear and one amber, and the beacon; each place in two uses.
#[test]
fn the_ambulance_is_built_to_its_order() {
    let counted = judged_by_order("medic-6");
    for (rule, heads) in [("rate", 15), ("on-share", 15), ("dark", 15), ("below-max-height", 15), ("aim", 15)] {
        assert_eq!(counted[rule], heads, "{rule}");
    }
    for (rule, heads) in [("spread", 14), ("spread-upright", 14), ("grid", 14), ("fenders", 2)] {
        assert_eq!(counted[rule], heads, "{rule}");
    }
    assert_eq!((counted["beacon-level"], counted["beacon-steep"]), (1, 1));
    let places = counted.iter().filter(|(rule, _)| rule.ends_with("-always") || rule.ends_with("-ever"));
    assert_eq!(places.map(|(_, uses)| *uses).collect::<Vec<_>>(), vec![2; 18]);
}

/// Two beacons, and eight lamps that look one way.
#[test]
fn the_road_service_truck_is_built_to_its_order() {
    let counted = judged_by_order("amber-9");
    for (rule, heads) in [("rate", 10), ("on-share", 10), ("dark", 10), ("below-max-height", 10), ("aim", 10)] {
        assert_eq!(counted[rule], heads, "{rule}");
    }
    assert_eq!(counted["beacon-power"], 2);
    let places = counted.iter().filter(|(rule, _)| rule.ends_with("-always"));
    assert_eq!(places.map(|(_, uses)| *uses).collect::<Vec<_>>(), vec![1; 4]);
}

/// Fifteen elements: a head of five to each side and a shaft of five between them.
#[test]
fn the_board_shows_a_head_and_the_shaft() {
    let file = root().join("demo-data/amber-9/package.toml");
    let (package, _) = common::load_file(&file, &[]);
    let elements = |id: &str| package.displays.iter().find(|display| display.id == id).unwrap().shows.len();
    let all = package.heads.iter().filter(|head| head.groups.iter().any(|group| group == "board"));
    assert_eq!(all.count(), 15);
    assert_eq!((elements("arrow left"), elements("arrow right"), elements("caution bar")), (10, 10, 5));
}

#[test]
fn two_rules_on_the_flash_rate_of_one_lamp_are_narrowed_once_with_both_sources() {
    let (_, out, _) = check("medic-6", &["--rules", "ambulance-fixed-set", "--rules", "all-round-lamp"]);
    let report: Json = serde_json::from_str(&out).unwrap();
    let rate = |one: &&Json| one["id"].as_str().unwrap().starts_with("narrowed:flash-rate@");
    let narrowed: Vec<&Json> = findings(&report).iter().filter(rate).collect();
    assert_eq!(narrowed.len(), 1, "{narrowed:?}");
    let limit = &narrowed[0]["limit"];
    assert_eq!((limit["from"].as_f64(), limit["to"].as_f64()), (Some(120.0), Some(125.0)), "{limit}");
    assert_eq!(narrowed[0]["unit"], "/min");
    let together = narrowed[0]["together"].as_array().unwrap();
    let documents: Vec<&str> = together.iter().map(|one| one["source"]["document"].as_str().unwrap()).collect();
    assert!(
        documents[0].starts_with("KKK-A-1822") && documents[1].starts_with("UN Regulation No. 65"),
        "{documents:?}"
    );
}

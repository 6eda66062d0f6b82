//! `wayproof bid check` with a catalogue: nothing is told to be out of reach that a device may reach. One clause is put
//! into the clean draft at a time; the lamp gives 1000 cd everywhere, so every bound is worked out by hand.

mod common;

use std::path::PathBuf;

use assert_cmd::Command;
use common::root;
use wayproof::bid::{Devices, Fault, Feasible, feasible, read_draft};
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::package::read_models;

fn found(draft: &str, catalogue: &str) -> Feasible {
    let (sources, log) = (Sources::default(), Log::default());
    let bid = read_draft("draft.toml", draft.as_bytes(), &sources, &log);
    let files: Vec<PathBuf> = vec![root().join(catalogue)];
    let (models, sounders) = read_models(&files, &sources, &log);
    assert!(!log.has_errors(), "{}\n{draft}", render(&log.take(), &sources, false));
    feasible(&bid.unwrap(), Devices { models: &models, sounders: &sounders })
}

/// The clean draft with the total at `least`, and one more clause on rates.
fn with_rate(least: u32, clause: &str) -> String {
    let text = std::fs::read_to_string(root().join("tests/bid/clean.toml")).unwrap();
    let text = text.replace("900_000", &least.to_string());
    format!(
        "{text}\n[[clause]]\nid = \"more\"\nsays = \"Some lamps flash faster.\"\nunit = \"/min\"\nrequire = \"at-least\"\n{clause}\n"
    )
}

/// 19 points, 60 s, 1000 cd: lit for 80 % at 75 flashes a minute that are dark for 160 ms, 912,000; at 200 flashes a
/// minute lit for 47 %, 532,000.
#[test]
fn only_a_rate_that_binds_every_head_of_a_total_bounds_it() {
    let two_layouts = "[[layout]]\nid = \"quick\"\ndark-at-least = \"20 ms\"\n";
    for (what, clause, bounds) in [
        ("every lamp", "quantity = \"device-flash-rate\"\nlimits = [{ value = 200 }]", true),
        (
            "every head in this use",
            "quantity = \"flash-rate\"\nlimits = [{ purpose = \"blocking\", value = 200 }]",
            true,
        ),
        ("another use", "quantity = \"flash-rate\"\nlimits = [{ purpose = \"calling\", value = 200 }]", false),
        (
            "a group",
            "quantity = \"device-flash-rate\"\ndevice = { group = \"grille\" }\nlimits = [{ value = 200 }]",
            false,
        ),
        (
            "a kind",
            "quantity = \"device-flash-rate\"\ndevice = { of = \"all-round\" }\nlimits = [{ value = 200 }]",
            false,
        ),
        (
            "dimmed light",
            "quantity = \"device-flash-rate\"\ndevice = { light = \"dimmed\" }\nlimits = [{ value = 200 }]",
            false,
        ),
        ("a colour", "quantity = \"device-flash-rate\"\nlimits = [{ colour = \"blue\", value = 200 }]", false),
        ("a class", "quantity = \"device-flash-rate\"\nlimits = [{ class = \"2\", value = 200 }]", false),
        (
            "a level",
            "quantity = \"flash-rate\"\nlimits = [{ purpose = \"blocking\", level = \"upper\", value = 200 }]",
            false,
        ),
        (
            "another dark time",
            "quantity = \"flash-rate\"\nlayout = \"quick\"\nlimits = [{ purpose = \"blocking\", value = 200 }]",
            false,
        ),
    ] {
        let mut draft = with_rate(600_000, clause);
        if clause.contains("quick") {
            draft.push_str(two_layouts);
            // The rate of the clean draft goes by its own layout now.
            draft =
                draft.replace("quantity = \"flash-rate\"\nunit", "quantity = \"flash-rate\"\nlayout = \"set\"\nunit");
        }
        let ids: Vec<String> = found(&draft, "tests/bid/lamps.toml").faults.iter().map(Fault::id).collect();
        let out = ids.iter().any(|id| id.starts_with("out-of-reach@set:total"));
        assert_eq!(out, bounds, "{what}: {ids:?}");
    }
}

#[test]
fn a_catalogue_of_sounders_says_nothing_of_lamps() {
    let draft = with_rate(900_000, "quantity = \"device-flash-rate\"\nlimits = [{ value = 60 }]");
    let classes = "[[clause]]\nid = \"class\"\nsays = \"Lamps are of this class.\"\nquantity = \"claimed-class\"\n\
                   unit = \"words\"\nrequire = \"some-of\"\nlimits = [{ value = [\"1\"] }]\n";
    let found = found(&format!("{draft}\n{classes}"), "demo-data/catalogue/sounders.toml");
    assert_eq!(found.faults.iter().map(Fault::id).collect::<Vec<_>>(), [""; 0]);
    let not_looked_at = found.unseen.iter().find(|line| line.contains("not looked at")).unwrap();
    assert!(not_looked_at.contains("set:colours") && not_looked_at.contains("class"), "{not_looked_at}");
}

/// Heads stand in a table, each as the least that it takes, and what is taken for granted is said once.
#[test]
fn how_many_heads_it_takes_is_a_least_and_its_terms_are_said_once() {
    let file = root().join("tests/bid/clean.toml");
    let text = std::fs::read_to_string(file).unwrap().replace(
        "zone = \"rear\", value = 900_000 }",
        "zone = \"rear\", value = 900_000 }, { purpose = \"blocking\", level = \"upper\", zone = \"front\", value = 800_000 }",
    );
    let folder = tempfile::tempdir().unwrap();
    let draft = folder.path().join("draft.toml");
    std::fs::write(&draft, text).unwrap();
    let output = Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .env("COLUMNS", "120")
        .args(["bid", "check", draft.to_str().unwrap(), "--catalogue", "tests/bid/lamps.toml"])
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("upper/rear 900,000 cd.s/min at least 1 head flat-lamp-7 (red) (1)"), "{said}");
    assert!(said.contains("upper/front 800,000 cd.s/min at least 1 head flat-lamp-7 (red) (1)"), "{said}");
    assert_eq!(said.matches("lit 80 % of the time").count(), 1, "{said}");
    assert!(said.contains("A usual pattern is lit for a smaller share of the time"), "{said}");
}

/// What a single lamp gives in a flash is bounded by a rate alone that all lamps must have: 1000 cd for the 0.64 s of 0.8 s
/// that are left at 75 flashes a minute are 640 cd.s; at 200 flashes a minute 140 cd.s are left.
#[test]
fn a_rate_of_some_lamps_bounds_no_other_lamp() {
    let more = |least: u32, group: &str| {
        let rate = format!("quantity = \"device-flash-rate\"\n{group}limits = [{{ value = 200 }}]");
        let all = "[[clause]]\nid = \"all\"\nsays = \"x\"\nquantity = \"device-flash-rate\"\nunit = \"/min\"\n\
                   require = \"at-least\"\nlimits = [{ value = 75 }]\n";
        let energy = format!(
            "[[clause]]\nid = \"energy\"\nsays = \"x\"\nquantity = \"flash-energy\"\nunit = \"cd.s\"\nrequire = \"at-least\"\n\
             layout = \"set\"\ndevice = {{ angles = {{ h = [\"0 deg\"], v = [\"0 deg\"] }} }}\nlimits = [{{ value = {least} }}]\n"
        );
        let found = found(&format!("{}\n{all}\n{energy}", with_rate(100_000, &rate)), "tests/bid/lamps.toml");
        // The other lamp of the catalogue has no light stated: only the one that is known is told of.
        found.unseen.iter().any(|line| line.contains("energy: not known of"))
    };
    assert!(!more(600, "device = { group = \"grille\" }\n"), "640 cd.s are enough");
    assert!(more(650, "device = { group = \"grille\" }\n"));
    assert!(more(600, ""), "140 cd.s are not");
}

/// Only blue may show in a zone, and no lamp of the catalogue is blue: nothing gives a zone within it its total.
#[test]
fn what_a_wider_zone_forbids_counts_in_no_zone_within_it() {
    let text = std::fs::read_to_string(root().join("tests/bid/clean.toml")).unwrap();
    let text =
        text.replace("zones = {", "zones = { back = [\"90 deg\", \"270 deg\"], side = [\"150 deg\", \"270 deg\"],");
    let faults = |require: &str, zone: &str, colour: &str| {
        let only = format!(
            "[[clause]]\nid = \"only\"\nsays = \"x\"\nquantity = \"colours-shown\"\nunit = \"colours\"\nrequire = \"{require}\"\n\
             layout = \"set\"\nlimits = [{{ zone = \"{zone}\", value = [\"{colour}\"] }}]\n"
        );
        let found = found(&format!("{text}\n{only}"), "tests/bid/lamps.toml");
        let of_total = found.faults.iter().map(Fault::id).filter(|id| id.contains("set:total"));
        of_total.count()
    };
    assert_eq!(faults("only", "back", "purple"), 1);
    assert_eq!(faults("none-of", "back", "purple"), 0);
    // What shows somewhere in the wider zone, and a zone that only overlaps, say nothing of this one.
    assert_eq!(faults("some-of", "back", "purple"), 0);
    assert_eq!(faults("only", "side", "purple"), 0);
}

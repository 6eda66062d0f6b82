//! Rules on devices that do not say how to look, or say what is of no use.

use wayproof::diagnostic::{Log, Sources, render};
use wayproof::ruleset::Loader;

use super::common::folder;
use super::far::{ZONES, far};
use super::{ACROSS, rule, ruleset};

/// What the loader says of a ruleset with these rules.
pub fn mistakes(rules: &str) -> String {
    let (_dir, path) = folder(&[("case.toml", &ruleset(&format!("{ZONES}{rules}")))]);
    let (sources, log) = (Sources::default(), Log::default());
    let mut loader = Loader::new(&sources, &log, Vec::new());
    loader.add_anywhere(&path.display().to_string());
    assert!(log.has_errors(), "{rules}");
    render(&log.take(), &sources, false)
}

#[test]
fn a_rule_that_does_not_say_how_is_refused() {
    let limit = "value = 1";
    let said =
        |quantity: &str, unit: &str, device: &str| mistakes(&rule("r", quantity, unit, "at-least", device, limit));
    let needs = |said: &str, quantity: &str, key: &str| {
        let sentence = format!("a rule on `{quantity}` needs `{key}` in `device`");
        assert!(said.contains(&sentence), "{sentence}: {said}");
    };
    needs(&said("effective-intensity", "cd", ACROSS), "effective-intensity", "effective");
    needs(&said("effective-intensity", "cd", ""), "effective-intensity", "angles");
    needs(&said("flash-energy", "cd.s", ""), "flash-energy", "angles");
    needs(&said("lit-intensity-ratio", "%", ""), "lit-intensity-ratio", "table");
    needs(&said("beam-spread-across", "deg", ""), "beam-spread-across", "share");
    let vague = said("effective-intensity", "cd", &format!("effective = \"usual\", {ACROSS}"));
    assert!(vague.contains("`usual` does not fit `effective`"), "{vague}");
    let idle = said("flash-energy", "cd.s", &format!("effective = \"allard\", {ACROSS}"));
    assert!(idle.contains("`flash-energy` makes no use of `effective`"), "{idle}");
    let far_without = mistakes(&far("r", "100 m", "allard").replace("distance = \"100 m\", ", ""));
    needs(&far_without, "illuminance-at-distance", "distance");
    let summed = mistakes(&far("r", "100 m", "on-time"));
    assert!(summed.contains("`on-time` is a method for the flash of one lamp"), "{summed}");
}

#[test]
fn colours_of_devices_and_of_light_are_named_by_their_own_keys() {
    let device = rule("r", "device-flash-rate", "/min", "at-least", "", "colour = \"red\", value = 1");
    let said = mistakes(&device);
    assert!(said.contains("names its colours in `colours`"), "{said}");
    let shown = rule(
        "r",
        "colours-shown",
        "colours",
        "only",
        "",
        "purpose = \"calling\", colour = \"red\", zones = { A = [\"red\"] }",
    );
    let said = mistakes(&shown);
    assert!(said.contains("counts no heads, so none of one `colour`"), "{said}");
    let useless = mistakes(&rule(
        "r",
        "flash-energy",
        "cd.s",
        "at-least",
        &format!("lit-above = \"1 %\", {ACROSS}"),
        "value = 1",
    ));
    assert!(useless.contains("`flash-energy` makes no use of `lit-above`"), "{useless}");
}

//! Illuminance far away: against a table, of lamps in step and free of each other, over all states.

use wayproof::judge::{Found, Verdict, judge};
use wayproof::measure::{Conduct, Looks, Method};

use super::common::case::{number, same};
use super::common::every_state::{every_state, worst_of};
use super::common::{self, close, finding, folder, load_file, many_inputs, terms};
use super::{head, noted, package, rule, ruleset, run, show};

pub const ZONES: &str = r#"
[zones]
cite = { own = "a case" }
origin = "vehicle-centre"
step = "5 deg"
boundary-points = "both"
sectors = { A = ["-45 deg", "45 deg"], B = ["45 deg", "135 deg"], C = ["135 deg", "225 deg"], D = ["225 deg", "315 deg"] }
[signal]
cite = { own = "a case" }
at-least = "100 cd.s/min"
colour-in-zone = "axis"
"#;

pub fn far(id: &str, distance: &str, method: &str) -> String {
    let device = format!("distance = \"{distance}\", effective = \"{method}\"");
    rule(id, "illuminance-at-distance", "lx", "at-least", &device, "purpose = \"calling\", zones = { A = 0.01 }")
}

/// 1500 cd for half of 800 ms are 1000 cd effective by Blondel-Rey.
#[test]
fn illuminance_far_away_is_as_in_the_reference() {
    let rows = common::rows(&common::root().join("tests/reference/photometry/illuminance_at_distance.csv"));
    assert_eq!(rows.len(), 18);
    let rules = rows
        .iter()
        .map(|row| far(&format!("at-{}", row["distance_ft"]), &format!("{} ft", row["distance_ft"]), "blondel-rey"));
    let rules: String = rules.collect();
    let package = package(&head("one", "flat", ""), &show("one", "red", "half"), "");
    let judged = run(&package, &ruleset(&format!("{ZONES}{rules}")));
    for row in rows {
        let known: f64 = row["E_lx_per_1000cd"].parse().unwrap();
        let found = number(&judged, &format!("case:at-{}@calling/A", row["distance_ft"]));
        assert!((found - known).abs() < 1e-8 * known.max(0.1), "{found} {known}");
    }
}

#[test]
fn light_in_step_is_added_and_free_clocks_give_bounds() {
    let at = |clock: &str| ["one", "two"].map(|id| head(id, "flat", clock)).concat();
    let together = ["one", "two"].map(|id| show(id, "red", "half")).concat();
    let turns = format!(
        "{}{{ head = \"two\", colour = \"red\", pattern = \"half\", phase = \"400 ms\" }}",
        show("one", "red", "half")
    );
    let rules = ruleset(&format!("{ZONES}{}", far("far", "100 m", "blondel-rey")));
    let found = |heads: &str, shows: &str| {
        let judged = run(&package(heads, shows, ""), &rules);
        let finding = finding(&judged, "case:far@calling/A").clone();
        (number(&judged, "case:far@calling/A"), finding)
    };
    // 3000 cd for 0.4 s: 2000 cd effective, over 100 m squared.
    let (in_step, _) = found(&at("clock = \"main\""), &together);
    same(in_step, 0.2);
    // In turns they never go dark: two periods of 1500 cd on end, 2400 cd.s over 0.2 s + 1.6 s.
    let (in_turns, _) = found(&at("clock = \"main\""), &turns);
    same(in_turns, 2400.0 / 1.8 / 1e4);
    // Free of each other: at least 1000 cd, at most both peaks.
    let (free, finding) = found(&at(""), &together);
    same(free, 0.1);
    assert_eq!(finding.verdict, Verdict::Pass);
    assert!(noted(&finding, "only bounds are known where clocks run free"));
}

/// Two vehicles of 7 and 8 inputs, each of their states gone through.
#[test]
fn the_least_over_all_states_is_found() {
    let limits: Vec<String> = ["A", "B", "C", "D"].map(|zone| format!("{zone} = 0.01")).to_vec();
    let rules = ["blondel-rey", "form-factor", "modified-allard"].map(|method| {
        let device = format!("distance = \"100 m\", effective = \"{method}\"");
        let limit = format!("purpose = \"calling\", zones = {{ {} }}", limits.join(", "));
        rule(method, "illuminance-at-distance", "lx", "at-least", &device, &limit)
    });
    let rules = ruleset(&format!("{ZONES}{}", rules.concat()));
    for (inputs, heads) in [(7, 32), (8, 12)] {
        let text = many_inputs::package(inputs, heads);
        let files =
            [("package.toml", &*text), ("catalogue.toml", many_inputs::CATALOGUE), ("case.toml", rules.as_str())];
        let (dir, path) = folder(&files);
        let (package, rulesets) = load_file(&path, &[&dir.path().join("case.toml").display().to_string()]);
        let conduct = Conduct::new(&package);
        let judged = judge(&conduct, &rulesets, terms());
        let looks = Looks::new(&conduct, &rulesets[0].protocol, Method::Angular);
        let expected = worst_of(&looks, &rulesets[0], None, &every_state(conduct.space()));
        assert_eq!(expected.len(), 12);
        assert!(expected.values().any(|worst| worst.number > 0.0));
        for (id, expected) in expected {
            let found = finding(&judged, &id);
            let Found::Number(number) = found.found else { panic!("{id}: {:?}", found.found) };
            let same = found.verdict == expected.verdict && close(number, expected.number, 1e-9);
            assert!(same, "{inputs} inputs, {id}: {:?} {number}, gone through: {expected:?}", found.verdict);
        }
    }
}

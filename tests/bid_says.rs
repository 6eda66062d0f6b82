//! What a clause says of lamps, zones and colours, in each format that people hold: nothing that decides is left out.

mod common;

use assert_cmd::Command;
use common::root;

/// What `wayproof bid` writes of some rulesets.
fn bid(rules: &[&str], ending: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(format!("bid.{ending}"));
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(root()).arg("bid").args(rules).args(["--as-of", "2026-11-25"]);
    if ending != "text" {
        command.arg("-o").arg(&file);
    }
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = if ending == "text" {
        String::from_utf8(output.stdout).unwrap()
    } else {
        std::fs::read_to_string(&file).unwrap()
    };
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_clause_says_for_which_lamps_it_is() {
    for ending in ["text", "html", "csv"] {
        let said = bid(&["all-round-lamp"], ending);
        assert!(said.contains("each head that lights all round"), "{ending}: {said}");
        let said = bid(&["device-classes"], ending);
        assert!(said.contains("each head that looks one way"), "{ending}: {said}");
    }
}

/// The corners of a region as `rules show` has them, in each format; a draft is read again as before.
#[test]
fn regions_that_are_named_are_bounded() {
    let shown = Command::cargo_bin("wayproof").unwrap().args(["rules", "show", "colour-regions"]).output().unwrap();
    let shown = String::from_utf8(shown.stdout).unwrap();
    let of = |id: &str| {
        let region = shown.split("\n\n").find(|part| part.trim_start().starts_with(&format!("{id}: "))).unwrap();
        let corners = region.lines().filter_map(|line| line.trim().strip_prefix("from ("));
        corners
            .map(|line| format!("from ({}", line.split(',').take(2).collect::<Vec<_>>().join(",")))
            .collect::<Vec<_>>()
    };
    for ending in ["text", "html", "csv", "toml"] {
        let said = bid(&["zones-two-level"], ending);
        for (region, corners) in [("red-3-digit", of("red-3-digit"))] {
            assert!(said.contains(&format!("{region}: ")), "{ending}: {region}");
            assert!(corners.len() >= 3, "{corners:?}");
            for corner in corners {
                assert!(said.contains(&corner), "{ending} {region}: {corner}");
            }
        }
        // Who names no region gets none.
        assert!(!bid(&["headlamp-flashing"], ending).contains("Corners are x, y"), "{ending}");
    }
}

/// The light of a colour that a zone may not be shown is left out of the sum: who reads the sum has to know.
#[test]
fn a_clause_on_a_zone_says_whose_light_counts() {
    for ending in ["text", "html", "csv"] {
        let said = bid(&["zones-two-level"], ending);
        let counts = "counted are flashing warning heads alone whose colour is permitted in that zone and use; the light of all others is left out: see zones-two-level:colours";
        // The total, the least point, that off the plane, the sum of flashes and the like.
        assert!(said.matches(counts).count() >= 4, "{ending}: {}", said.matches(counts).count());
    }
}

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

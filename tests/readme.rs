//! What the README shows is what the tool prints: every block that begins with `$ wayproof` is run, and its lines
//! must appear in the output in their order (`...` stands for lines left out).

use std::path::Path;

#[test]
fn every_output_in_the_readme_is_printed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let mut blocks = 0;
    for block in readme.split("```text\n").skip(1) {
        let block = block.split("```").next().unwrap();
        let (command, shown) = block.split_once('\n').unwrap();
        let Some(command) = command.strip_prefix("$ wayproof ") else { continue };
        blocks += 1;
        let output = assert_cmd::Command::cargo_bin("wayproof")
            .unwrap()
            .current_dir(root)
            .args(command.split_whitespace())
            .env("COLUMNS", "80")
            .output()
            .unwrap();
        let printed = String::from_utf8(output.stdout).unwrap();
        let mut rest = printed.lines();
        for line in shown.lines().filter(|line| *line != "...") {
            assert!(rest.any(|found| found == line), "`wayproof {command}` does not print, in this order:\n{line}");
        }
    }
    assert_eq!(blocks, 14, "blocks that begin with `$ wayproof`");
}

#[test]
fn the_confirmation_in_the_readme_is_that_of_the_demo() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let shown = readme.split("```toml\n").find(|block| block.starts_with("[[confirm]]")).unwrap();
    let overlay = std::fs::read_to_string(root.join("demo-data/overlays/kestrow-copy.toml")).unwrap();
    assert!(overlay.ends_with(shown.split("```").next().unwrap()), "{shown}");
}

#[test]
fn the_readme_names_its_two_commands_and_ci_runs_them() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let ci = std::fs::read_to_string(root.join(".ci/run")).unwrap();
    assert!(readme.contains("cargo run --release -- check demo-data/rescue-4/package.toml\ncargo test\n"));
    assert!(ci.contains("cargo test"));
    assert!(ci.contains("check demo-data/rescue-4/package.toml"));
}

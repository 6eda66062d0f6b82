//! `wayproof rules`: the list, one ruleset to read, the lint, the first file.

mod common;

use std::path::Path;
use std::process::Command;

use assert_cmd::prelude::*;

fn wayproof(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    let output = command.current_dir(folder).env("COLUMNS", "90").args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

#[test]
fn the_list_names_every_shipped_ruleset_and_counts_its_limits() {
    let (status, list, said) = wayproof(&common::root(), &["rules"]);
    assert_eq!((status, said.as_str()), (0, ""));
    assert_eq!(list, wayproof(&common::root(), &["rules", "list"]).1);
    let table = list.split("How many limits").nth(1).unwrap();
    let mut columns = table.lines().find(|line| line.starts_with("ruleset")).unwrap().split_whitespace();
    assert_eq!(
        columns.by_ref().collect::<Vec<_>>().join(" "),
        "ruleset edition limits read second-hand memory practice confirmed missing"
    );
    for (id, text) in wayproof::ruleset::shipped::SHIPPED {
        let row = table.lines().find(|line| line.split_whitespace().next() == Some(id)).unwrap();
        let numbers: Vec<usize> = row.split_whitespace().skip(2).map(|cell| cell.parse().unwrap_or(0)).collect();
        assert_eq!(numbers[0], numbers[1..].iter().sum::<usize>(), "{id}: a limit has one basis, or is missing");
        assert!(numbers[0] > 0, "{id}");
        assert!(numbers[6] >= text.matches("missing = ").count().min(1), "{id}");
    }
}

#[test]
fn one_ruleset_reads_as_a_requirement() {
    let (status, shown, said) = wayproof(&common::root(), &["rules", "show", "directional-arrow"]);
    assert_eq!((status, said.as_str()), (0, ""));
    insta::assert_snapshot!("rules_show_directional_arrow", shown);
    for (id, _) in wayproof::ruleset::shipped::SHIPPED {
        let (status, shown, _) = wayproof(&common::root(), &["rules", "show", id]);
        assert_eq!(status, 0, "{id}");
        // An address is not broken in two.
        for line in shown.lines().filter(|line| !line.contains("://")) {
            assert!(line.chars().count() <= 90, "{id}: {line}");
        }
        for sign in ["[[", " = {", "limits ="] {
            assert!(!shown.contains(sign), "{id} is written as TOML: {sign}");
        }
    }
}

#[test]
fn no_shipped_ruleset_has_a_word_said_against_it() {
    for (id, _) in wayproof::ruleset::shipped::SHIPPED {
        let (status, _, said) = wayproof(&common::root(), &["rules", "check", &format!("rulesets/{id}.toml")]);
        assert_eq!((status, said.as_str()), (0, ""), "{id}");
    }
}

#[test]
fn a_first_ruleset_is_fit_to_judge_by_and_is_not_written_twice() {
    let folder = tempfile::tempdir().unwrap();
    let (status, wrote, _) = wayproof(folder.path(), &["rules", "new", "yard"]);
    assert_eq!(status, 0);
    assert!(wrote.contains("yard.toml"), "{wrote}");
    let (status, checked, said) = wayproof(folder.path(), &["rules", "check", "yard.toml"]);
    assert_eq!((status, checked.as_str(), said.as_str()), (0, "yard: 2 rules, 3 limits; no mistake\n", ""));
    let (status, _, said) = wayproof(folder.path(), &["rules", "new", "yard"]);
    assert_eq!(status, 2, "{said}");
    let (status, _, said) = wayproof(folder.path(), &["rules", "new", "../yard"]);
    assert_eq!(status, 2, "{said}");
    let package = common::root().join("demo-data/rescue-4/package.toml");
    let args = ["check", package.to_str().unwrap(), "--rules", "yard.toml", "--format", "csv"];
    let (status, rows, said) = wayproof(folder.path(), &args);
    assert_eq!((status, said.as_str()), (3, ""), "one limit is missing");
    let row = |id: &str| rows.lines().find(|line| line.starts_with(id)).unwrap_or_else(|| panic!("no {id}")).to_owned();
    assert!(row("yard:head-flash-rate@red,").contains(",not-shown,"));
    assert!(row("yard:head-flash-rate@rear-door-lamp/amber,").contains(",pass,"));
}

/// What is wrong, and the code of the warning.
const LINTS: &[(&str, &str)] = &[
    (
        "unknown-colour",
        "[[rule]]\nid = \"x\"\nsays = \"x\"\nquantity = \"emitter-colour\"\nunit = \"words\"\nrequire = \"none-of\"\ncite = { own = \"as the yard wants it\" }\nlimits = [{ value = [\"ambr\"] }]\n",
    ),
    (
        "asks-nothing",
        "[[rule]]\nid = \"x\"\nsays = \"x\"\nquantity = \"device-flash-rate\"\nunit = \"/min\"\nrequire = \"at-least\"\ncite = { own = \"as the yard wants it\" }\nlimits = [{ value = 0 }]\n",
    ),
    (
        "never-met",
        "[[rule]]\nid = \"x\"\nsays = \"x\"\nquantity = \"device-flash-rate\"\nunit = \"/min\"\nrequire = \"at-most\"\ncite = { own = \"as the yard wants it\" }\nlimits = [{ value = -1 }]\n",
    ),
    (
        "weak-source",
        "[[rule]]\nid = \"x\"\nsays = \"x\"\nquantity = \"states-in-no-mode\"\nunit = \"states\"\nrequire = \"at-most\"\ncite = { own = \"so\" }\nlimits = [{ value = 0 }]\n",
    ),
    (
        "odd-purpose",
        "[[rule]]\nid = \"x\"\nsays = \"x\"\nquantity = \"modes-serving-purpose\"\nunit = \"modes\"\nrequire = \"at-least\"\ncite = { own = \"as the yard wants it\" }\nlimits = [{ purpose = \"caling\", value = 1 }]\n",
    ),
    (
        "asked-twice",
        "[[rule]]\nid = \"x\"\nsays = \"x\"\nquantity = \"states-in-no-mode\"\nunit = \"states\"\nrequire = \"at-most\"\ncite = { own = \"as the yard wants it\" }\nlimits = [{ value = 0 }]\n[[rule]]\nid = \"y\"\nsays = \"y\"\nquantity = \"states-in-no-mode\"\nunit = \"states\"\nrequire = \"at-most\"\ncite = { own = \"as the yard wants it\" }\nlimits = [{ value = 1 }]\n",
    ),
];

const HEAD: &str = "format = 1\n[ruleset]\nid = \"yard\"\ntitle = \"Yard\"\nedition = \"1\"\ndefers-to = \"the authority having jurisdiction\"\n[flash]\ncite = { own = \"as the yard counts\" }\ndark-at-least = \"160 ms\"\nlit-above = \"10 %\"\nrate = \"count-over-time\"\n";

#[test]
fn the_lint_says_what_is_surely_not_meant() {
    let folder = tempfile::tempdir().unwrap();
    for (code, rules) in LINTS {
        std::fs::write(folder.path().join("yard.toml"), format!("{HEAD}{rules}")).unwrap();
        let (status, _, said) = wayproof(folder.path(), &["rules", "check", "yard.toml"]);
        assert_eq!(status, 0, "{code}: {said}");
        assert_eq!(said.matches("warning[").count(), 1, "{code}: {said}");
        assert!(said.contains(&format!("warning[{code}]")), "{code}: {said}");
    }
    let (status, _, said) = wayproof(folder.path(), &["rules", "show", "zones-two-levle"]);
    assert_eq!(status, 2);
    assert!(said.contains("did you mean `zones-two-level`"), "{said}");
}

#[test]
fn the_schema_of_a_kind_is_printed_as_it_lies_beside_the_rulesets() {
    for kind in wayproof::schema::KINDS {
        let (status, out, said) = wayproof(&common::root(), &["rules", "schema", kind.name]);
        assert_eq!((status, said.as_str()), (0, ""), "{}", kind.name);
        let file = common::root().join(format!("rulesets/schemas/{}.json", kind.name));
        assert_eq!(out, std::fs::read_to_string(file).unwrap(), "{}", kind.name);
    }
    let (status, out, said) = wayproof(&common::root(), &["rules", "schema", "lamp"]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(said.contains("package, catalogue, ruleset, overlay, readings, mapping, record, bid"), "{said}");
}

/// What is there is named, stays as it was, and what to do is said.
#[test]
fn what_is_there_already_is_not_written_again() {
    let folder = tempfile::tempdir().unwrap();
    for (args, file, next) in [
        (&["new", "mine"][..], "mine/package.toml", "wayproof check mine/package.toml"),
        (&["rules", "new", "yard"], "yard.toml", "wayproof rules check yard.toml"),
    ] {
        assert_eq!(wayproof(folder.path(), args).0, 0);
        std::fs::write(folder.path().join(file), "edited").unwrap();
        let (status, _, said) = wayproof(folder.path(), args);
        assert_eq!(status, 2);
        assert!(said.contains("is there already; nothing was written, and it stays as it was\nhelp: "), "{said}");
        assert!(said.ends_with(&format!("or go on with what is there: {next}\n")), "{said}");
        assert!(!said.contains("os error"), "{said}");
        assert_eq!(std::fs::read_to_string(folder.path().join(file)).unwrap(), "edited");
    }
}

/// Joined areas that overlap have one outline, edge after edge as one walks round it.
#[test]
fn a_union_of_colours_is_shown_as_its_outline() {
    let folder = tempfile::tempdir().unwrap();
    let (_, shown, _) = wayproof(folder.path(), &["rules", "show", "colour-regions"]);
    let widened = shown.split("\nred-widened: ").nth(1).unwrap().split("\n\n").next().unwrap();
    let edges =
        widened.lines().filter_map(|line| line.strip_prefix("  from (")?.split_once("): ")?.1.split_once(" edge"));
    let edges: Vec<&str> = edges.map(|(edge, _)| edge).collect();
    assert_eq!(edges, ["purple", "spectral locus", "yellow", "white", "lower"]);
    assert!(!shown.contains("outline"), "no region comes in two pieces");
}

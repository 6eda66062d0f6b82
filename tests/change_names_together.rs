//! `wayproof change`: several things that are called otherwise at once. Lists that stand in the order of the names, things
//! that say the same and differ only in what hangs on them, and more of them than are looked at.

mod common;

use common::root;

const BASE: &str = "demo-data/brush-2-complete/package.toml";

/// A demo package with texts replaced, beside its other files.
fn varied(base: &str, changes: &[(&str, &str)]) -> (tempfile::TempDir, String) {
    let dir = tempfile::tempdir().unwrap();
    let folder = root().join(base).parent().unwrap().to_path_buf();
    for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
        if entry.file_type().unwrap().is_file() {
            std::fs::copy(entry.path(), dir.path().join(entry.file_name())).unwrap();
        }
    }
    let path = dir.path().join("package.toml");
    let mut text = std::fs::read_to_string(&path).unwrap();
    for (from, to) in changes {
        let heads = dir.path().join("heads.csv");
        match from.strip_prefix("heads.csv:") {
            None => {
                assert!(text.contains(from), "{from}");
                text = text.replace(from, to);
            }
            Some(from) => {
                let of_heads = std::fs::read_to_string(&heads).unwrap();
                assert!(of_heads.contains(from), "{from}");
                std::fs::write(&heads, of_heads.replace(from, to)).unwrap();
            }
        }
    }
    std::fs::write(&path, text).unwrap();
    let name = path.to_str().unwrap().to_owned();
    (dir, name)
}

fn change(old: &str, new: &str, more: &[&str]) -> (String, String, Option<i32>) {
    let output = assert_cmd::Command::cargo_bin("wayproof")
        .unwrap()
        .current_dir(root())
        .args(["change", old, new, "--library", "demo-data/catalogue", "--as-of", "2026-11-27"])
        .args(more)
        .env("COLUMNS", "250")
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

type Edits = Vec<(&'static str, &'static str)>;

/// The visor lamps flash too slowly: they fail.
const SLOW: (&str, &str) = (
    "period = \"750 ms\"\npulses = [[\"0 ms\", \"100 ms\"]]",
    "period = \"1000 ms\"\npulses = [[\"0 ms\", \"100 ms\"]]",
);

/// A display of the night dims both, in a list that is sorted by name.
#[test]
fn a_list_in_another_order_hides_no_name() {
    let (_one, old) = varied(BASE, &[SLOW]);
    for (stem, id) in [
        ("windshield", "id = \"windshield-left\""),
        ("vizor", "id = \"vizor-left\""),
        ("aisor", "id = \"aisor-left\""),
        ("hood", "id = \"hood-left\""),
    ] {
        let (_other, new) = varied(BASE, &[SLOW, ("id = \"visor-left\"", id)]);
        let (text, errors, status) = change(&old, &new, &[]);
        assert_eq!(status, Some(0), "{text}{errors}");
        for side in ["left", "right"] {
            assert!(text.contains(&format!("head visor-{side} is called {stem}-{side} now")), "{text}");
        }
        assert!(!text.contains(" 1. ") && text.contains("Required rules: no verdict moved."), "{text}");
    }
    // One of the list is left out as well: that is told.
    let (_other, new) = varied(
        BASE,
        &[SLOW, ("id = \"visor-left\"", "id = \"hood-left\""), ("dim-to = \"40 %\"", "dim-to = \"45 %\"")],
    );
    let (text, ..) = change(&old, &new, &[]);
    assert!(
        text.contains("head visor-left is called hood-left now") && text.contains(" 1. display marking by night: dims"),
        "{text}"
    );
}

/// Two circuits with the same fuse and wire, and two patterns with the same pulses: what hangs on them tells which is which,
/// in whichever order they stand.
#[test]
fn what_hangs_on_a_thing_tells_which_it_is() {
    let ten = "fuse = { kind = \"blade\", rating = \"10 A\" }\nwire = { size = \"12 AWG\", length = \"10 ft\"";
    let alike: Edits = vec![
        ("fuse = { kind = \"blade\", rating = \"20 A\" }\nwire = { size = \"12 AWG\", length = \"6 ft\"", ten),
        ("fuse = { kind = \"blade\", rating = \"15 A\" }\nwire = { size = \"12 AWG\", length = \"10 ft\"", ten),
    ];
    let circuits: Edits = vec![
        ("id = \"rear\"\nfrom = \"bed-feed\"", "id = \"c2\"\nfrom = \"bed-feed\""),
        ("id = \"work\"\nfrom = \"bed-feed\"", "id = \"c1\"\nfrom = \"bed-feed\""),
        ("heads.csv:,rear,R3", ",c2,R3"),
        ("heads.csv:,rear,R4", ",c2,R4"),
        ("heads.csv:,work,W1", ",c1,W1"),
    ];
    let (_one, old) = varied(BASE, &alike);
    let (_other, new) = varied(BASE, &[alike.clone(), circuits].concat());
    // The lamps are called otherwise too.
    for lamps in [false, true] {
        for file in ["heads.csv", "package.toml"].iter().filter(|_| lamps) {
            let file = std::path::Path::new(&new).with_file_name(file);
            let text = std::fs::read_to_string(&file).unwrap();
            assert!(text.contains("rear-corner-low-"), "{text}");
            std::fs::write(&file, text.replace("rear-corner-", "rear-edge-")).unwrap();
        }
        for turned in [false, true] {
            if turned {
                let text = std::fs::read_to_string(&new).unwrap();
                let at = |from: &str| text.find(from).unwrap();
                let places =
                    [at("[[circuit]]\nid = \"c2\""), at("[[circuit]]\nid = \"c1\""), at("[[circuit]]\nid = \"siren\"")];
                if places[0] < places[1] {
                    let parts = [
                        &text[..places[0]],
                        &text[places[1]..places[2]],
                        &text[places[0]..places[1]],
                        &text[places[2]..],
                    ];
                    std::fs::write(&new, parts.concat()).unwrap();
                }
            }
            let (text, errors, status) = change(&old, &new, &[]);
            assert_eq!(status, Some(0), "{text}{errors}");
            assert!(
                text.contains("circuit rear is called c2 now") && text.contains("circuit work is called c1 now"),
                "{text}"
            );
            assert!(!text.contains(" 1. ") && text.contains("Required rules: no verdict moved."), "{text}");
        }
    }
}

#[test]
fn a_pattern_is_the_one_that_its_rows_run() {
    const ONE: &str = "[[pattern]]\nid = \"two-pulse-800ms\"           # 75 flashes a minute\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"50 ms\"], [\"100 ms\", \"150 ms\"]]\n\n";
    let named = |id: &str| ONE.replace("two-pulse-800ms", id);
    let row = "group = \"rear-low\", colour = \"red\", pattern = \"two-pulse-800ms\"";
    let run = |id: &str| row.replace("two-pulse-800ms", id);
    let (_one, old) = varied(BASE, &[(ONE, &(ONE.to_owned() + &named("alt"))), (row, &run("alt"))]);
    let both = named("p2") + &named("p1");
    let (_other, new) = varied(BASE, &[(ONE, &both), (row, &run("p2")), ("\"two-pulse-800ms\"", "\"p1\"")]);
    let (text, ..) = change(&old, &new, &[]);
    assert!(!text.contains("alt is called p1") && !text.contains("two-pulse-800ms is called p2"), "{text}");
    assert!(text.contains("pattern alt is called p2 now"), "{text}");
}

/// Patterns that no row runs, each with a period of its own.
#[test]
fn what_is_not_looked_at_is_said() {
    let spare = |lead: &str, many: usize| {
        let one = |at: usize| {
            format!(
                "[[pattern]]\nid = \"{lead}-{at}\"\nperiod = \"{} ms\"\npulses = [[\"0 ms\", \"50 ms\"]]\n\n",
                700 + at
            )
        };
        (0..many).map(one).collect::<String>() + "[[display]]\nid = \"marking by night\""
    };
    const BEFORE: &str = "[[display]]\nid = \"marking by night\"";
    for (many, told) in [(200, false), (201, true)] {
        let (_one, old) = varied(BASE, &[(BEFORE, &spare("old", many))]);
        let (_other, new) = varied(BASE, &[(BEFORE, &spare("new", many))]);
        let (text, ..) = change(&old, &new, &[]);
        let said = "! more may only have another name than is told here: 200 pairs";
        assert_eq!(text.contains(said), told, "{many}: {text}");
        assert_eq!(text.contains("pattern old-200: gone"), told, "{text}");
    }
}

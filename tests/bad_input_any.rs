//! Any bytes at all: an error or a value, never a panic, and nothing that is not a finite number in what is printed.
//!
//! Arbitrary bytes, and demo files cut short or with pieces changed, go the whole way to every output format.

mod common;

use std::path::PathBuf;
use std::time::{Duration, Instant};

use common::{root, terms};
use proptest::prelude::*;
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::judge::judge;
use wayproof::measure::Conduct;
use wayproof::package::{PackageFile, load};
use wayproof::report::{FORMATS, Report};
use wayproof::ruleset::{Condition, Loader};

/// Loads, judges and prints, whatever comes; the longest a reader may take is 2 s (here unoptimised).
fn whole_way(package: &[u8], folder: PathBuf, rules: &str) {
    let start = Instant::now();
    let (sources, log) = (Sources::default(), Log::default());
    let libraries = vec![root().join("demo-data/catalogue")];
    let inputs = PackageFile { name: "any".to_owned(), bytes: package.to_vec(), folder, libraries };
    let (package, _) = load(&inputs, &sources, &log);
    let mut loader = Loader::new(&sources, &log, Vec::new());
    loader.add_anywhere(rules);
    let rulesets = loader.rulesets;
    let said = render(&log.take(), &sources, false);
    assert!(package.is_some() || !said.is_empty(), "no package, and nothing said");
    if let Some(package) = package {
        let conduct = Conduct::new(&package);
        let judged = judge(&conduct, &rulesets, terms());
        let (as_of, only) = (terms().as_of, &[][..]);
        let report = Report { conduct: &conduct, rulesets: &rulesets, judged: &judged, as_of, only, width: 80 };
        for format in FORMATS {
            let text = (format.write)(&report);
            for word in ["NaN", "nan ", "inf ", "inf,", "null"] {
                assert!(!text.contains(word), "{}: {word} in {text}", format.name);
            }
        }
    }
    assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
}

fn demo(name: &str) -> (Vec<u8>, PathBuf) {
    let folder = root().join("demo-data").join(name);
    (std::fs::read(folder.join("package.toml")).unwrap(), folder)
}

/// A text with the number at one of its numbers replaced; numbers stand behind one of `before`.
fn with_figure(text: &str, before: &[char], which: &prop::sample::Index, figure: &str) -> String {
    let numbers: Vec<(usize, usize)> = text
        .match_indices(before)
        .filter_map(|(at, mark)| {
            let from = at + mark.len();
            let len = text[from..].find(|c: char| !(c.is_ascii_digit() || "-._".contains(c)))?;
            (len > 0).then_some((from, len))
        })
        .collect();
    let (at, len) = numbers[which.index(numbers.len())];
    format!("{}{figure}{}", &text[..at], &text[at + len..])
}

/// Figures a hostile or careless hand could write in a figure's place.
const FIGURES: &[&str] = &[
    "1e300",
    "1e-300",
    "-1e300",
    "0",
    "-0.0",
    "1e308",
    "99999999999999999999",
    "4e-324",
    "nan",
    "inf",
    "1e999",
    // The largest and smallest that are read at all.
    "1e5",
    "-1e5",
    "1e-6",
    "1e9",
    "1e12",
    "1e-9",
    "90",
    "3600",
    "9e8",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        whole_way(&bytes, PathBuf::new(), "zones-one-level");
    }

    #[test]
    fn a_demo_package_cut_short(share in 0.0..1.0f64) {
        let (bytes, folder) = demo("brush-2");
        let end = (bytes.len() as f64 * share) as usize;
        whole_way(&bytes[..end], folder, "zones-one-level");
    }

    #[test]
    fn a_demo_package_with_changed_pieces(changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6)) {
        let (mut bytes, folder) = demo("rescue-4");
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        whole_way(&bytes, folder, "zones-two-level");
    }

    #[test]
    fn a_demo_package_with_wild_figures(which in any::<prop::sample::Index>(), figure in prop::sample::select(FIGURES)) {
        let (bytes, folder) = demo("rescue-4");
        let text = String::from_utf8(bytes).unwrap();
        whole_way(with_figure(&text, &['"'], &which, figure).as_bytes(), folder, "zones-two-level");
    }

    #[test]
    fn a_ruleset_with_wild_figures(which in any::<prop::sample::Index>(), figure in prop::sample::select(FIGURES)) {
        // In a title these two would be printed as the words they are; as limits they have samples of their own.
        prop_assume!(!matches!(figure, "nan" | "inf"));
        let text = std::fs::read_to_string(root().join("rulesets/zones-two-level.toml")).unwrap();
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("rules.toml");
        std::fs::write(&path, with_figure(&text, &['"', ' '], &which, figure)).unwrap();
        let (package, folder) = demo("rescue-4");
        whole_way(&package, folder, path.to_str().unwrap());
    }

    #[test]
    fn catalogues_and_intensity_files_with_wild_figures(
        which in any::<prop::sample::Index>(),
        file in any::<prop::sample::Index>(),
        figure in prop::sample::select(FIGURES),
    ) {
        prop_assume!(!matches!(figure, "nan" | "inf"));
        // Beside the package they come before those of the library.
        let dir = tempfile::tempdir().unwrap();
        let (package, folder) = demo("brush-2");
        let catalogue = root().join("demo-data/catalogue");
        let mut names: Vec<_> = std::fs::read_dir(&catalogue).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        names.sort();
        for name in &names {
            std::fs::copy(catalogue.join(name), dir.path().join(name)).unwrap();
        }
        std::fs::copy(folder.join("heads.csv"), dir.path().join("heads.csv")).unwrap();
        let path = dir.path().join(&names[file.index(names.len())]);
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, with_figure(&text, &['"', ' ', ',', '\n'], &which, figure)).unwrap();
        whole_way(&package, dir.path().to_path_buf(), "zones-one-level");
    }

    #[test]
    fn a_ruleset_or_overlay_with_changed_pieces(
        overlay in any::<bool>(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..4),
        keep in 0.2..1.2f64,
    ) {
        let name = if overlay { "demo-data/overlays/kestrow-limits.toml" } else { "rulesets/zones-two-level.toml" };
        let mut bytes = std::fs::read(root().join(name)).unwrap();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        bytes.truncate((bytes.len() as f64 * keep) as usize);
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("rules.toml");
        std::fs::write(&path, bytes).unwrap();
        let (package, folder) = demo("brush-2");
        whole_way(&package, folder, path.to_str().unwrap());
    }

    #[test]
    fn a_table_of_heads_with_changed_pieces(changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6)) {
        let dir = tempfile::tempdir().unwrap();
        let (package, folder) = demo("brush-2");
        let mut bytes = std::fs::read(folder.join("heads.csv")).unwrap();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        std::fs::write(dir.path().join("heads.csv"), bytes).unwrap();
        whole_way(&package, dir.path().to_path_buf(), "zones-one-level");
    }

    #[test]
    fn any_condition(text in "[a-z.<>=() 0-9\"é-]{0,60}", words in prop::collection::vec(prop::sample::select(
        &["vehicle.length", "any", "all", "head.height", ">=", "<", "25", "ft", "(", ")", "and", "or", "not", "3m", "é"][..]), 0..30))
    {
        for text in [text, words.join(" ")] {
            if let Err(error) = Condition::parse(&text) {
                prop_assert!(error.at <= text.len() && !error.message.is_empty());
            }
        }
    }
}

#[test]
fn deep_and_long_files_end_in_time() {
    let deep = format!("format = 1\nx = {}{}", "[".repeat(100_000), "]".repeat(100_000));
    whole_way(deep.as_bytes(), PathBuf::new(), "zones-one-level");
    let head = |at: usize| {
        format!(
            "[[head]]\nid = \"h{at}\"\nmodel = \"m\"\nat = {{ ahead = \"0 m\", height = \"1 m\" }}\nfaces = \"front\"\n"
        )
    };
    let vehicle = "format = 1\n[vehicle]\nname = \"x\"\nlength = \"5 m\"\nwidth = \"2 m\"\nheight = \"2 m\"\n";
    let many: String = (0..20_000).map(head).collect();
    whole_way(format!("{vehicle}{many}").as_bytes(), PathBuf::new(), "zones-one-level");
    let patterns: String = (0..5_000)
        .map(|at| format!("[[pattern]]\nid = \"p{at}\"\nperiod = \"1 s\"\npulses = [[\"0 s\", \"1 ms\"]]\n"))
        .collect();
    whole_way(format!("{vehicle}{patterns}").as_bytes(), PathBuf::new(), "zones-one-level");
}

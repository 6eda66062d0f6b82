//! Any bytes at all: an error or a value, never a panic, and nothing that is not a finite number in what is printed.
//!
//! Arbitrary bytes, and demo files cut short or with pieces changed, go the whole way to every output format.

mod common;

use std::path::PathBuf;
use std::time::Duration;

use common::{root, terms, thread_time};
use proptest::prelude::*;
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::judge::judge;
use wayproof::measure::Conduct;
use wayproof::package::{PackageFile, load};
use wayproof::report::{FORMATS, Report};
use wayproof::ruleset::{Condition, Loader};

/// Loads, judges and prints, whatever comes; the longest it may take is 20 s, unoptimised. What is said where
/// nothing is judged.
fn whole_way(package: &[u8], folder: PathBuf, rules: &str) -> Option<String> {
    let start = thread_time();
    let (sources, log) = (Sources::default(), Log::default());
    let libraries = vec![root().join("demo-data/catalogue")];
    let inputs = PackageFile { name: "any".to_owned(), bytes: package.to_vec(), folder, libraries };
    let (package, _) = load(&inputs, &sources, &log);
    let mut loader = Loader::new(&sources, &log, Vec::new());
    loader.add_anywhere(rules);
    let rulesets = loader.rulesets;
    let said = render(&log.take(), &sources, false);
    assert!(package.is_some() || !said.is_empty(), "no package, and nothing said");
    let judged = package.is_some();
    if let Some(package) = package {
        let conduct = Conduct::new(&package);
        let judged = judge(&conduct, &rulesets, terms());
        let (as_of, only) = (terms().as_of, &[][..]);
        let report =
            Report { conduct: &conduct, rulesets: &rulesets, judged: &judged, as_of, only, advice: true, width: 80 };
        for format in FORMATS {
            let text = (format.write)(&report);
            for word in ["NaN", "nan ", "inf ", "inf,", "null"] {
                assert!(!text.contains(word), "{}: {word} in {text}", format.name);
            }
        }
    }
    let taken = thread_time().saturating_sub(start);
    assert!(taken < Duration::from_secs(20), "{taken:?}");
    (!judged).then_some(said)
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

// What is only read takes no time, what is judged as a rule does.
/// A ruleset, and overlays that change, add and remove.
const RULES: &[&str] = &[
    "rulesets/zones-two-level.toml",
    "demo-data/overlays/kestrow-limits.toml",
    "demo-data/overlays/kestrow-county.toml",
    "demo-data/overlays/kestrow-expired.toml",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        whole_way(&bytes, PathBuf::new(), "zones-one-level");
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

proptest! {
    #![proptest_config(ProptestConfig { cases: 20, ..ProptestConfig::default() })]

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
        name in prop::sample::select(RULES),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..4),
        keep in 0.2..1.2f64,
    ) {
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
}

/// A small package whose conditions are any texts: of a display, a dimming one, a mode, what it assumes, a body, a pose
/// and `never`.
fn switched(inputs: &str, conditions: &[String]) -> String {
    let mut conditions = conditions.iter().map(|text| format!("{text:?}").replace("\\'", "'")).cycle();
    let mut next = || conditions.next().unwrap();
    let (never, other) = (next(), next());
    let head = format!(
        "format = 1\nnever = [{never}, {other}]\ncatalogues = [\"round-lamp.toml\"]\n[inputs]\n{inputs}\n\
         [vehicle]\nname = \"x\"\nlength = \"5 m\"\nwidth = \"2 m\"\nheight = \"2 m\"\n\
         [[head]]\nid = \"a-left\"\nmodel = \"lamp\"\nmirror = true\nfaces = \"front\"\n\
         at = {{ ahead = \"2.4 m\", right = \"-0.6 m\", height = \"1 m\" }}\nposes = [{{ when = {}, faces = \"left\" }}]\n",
        next()
    );
    let body = "from = { ahead = \"2.5 m\", right = \"-1 m\", height = \"0 m\" }\nto = { ahead = \"3 m\", right = \"0 m\", height = \"2 m\" }";
    let show = "show = [{ head = \"a-left\", colour = \"red\", pattern = \"p\" }, { head = \"a-right\", colour = \"red\", pattern = \"steady\" }]";
    format!(
        "{head}[[body]]\nid = \"door\"\nwhen = {}\n{body}\n[[pattern]]\nid = \"p\"\nperiod = \"1 s\"\npulses = [[\"0 s\", \"100 ms\"]]\n\
         [[display]]\nid = \"d\"\nwhen = {}\n{show}\n[[display]]\nid = \"night\"\nwhen = {}\ndim-to = \"40 %\"\n\
         [[mode]]\nid = \"m\"\npurpose = \"calling\"\nwhen = {}\nassume = {}\n",
        next(),
        next(),
        next(),
        next(),
        next()
    )
}

const LAMP: &str = "format = 1\n[[model]]\nid = \"lamp\"\n[[model.emitter]]\ncolour = \"red\"\n\
    declared = { axis = \"900 cd\", half-angle = \"20 deg\" }\n";

fn switched_way(inputs: &str, conditions: &[String]) -> Option<String> {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("round-lamp.toml"), LAMP).unwrap();
    whole_way(switched(inputs, conditions).as_bytes(), dir.path().to_path_buf(), "zones-one-level")
}

const INPUTS: &str = "warning = [\"off\", \"low\", \"high\"]\nparked = { means = \"park\" }\ndoor = \"bool\"\n";

/// A condition that is right, but says anything.
fn right() -> impl Strategy<Value = String> {
    let atom = prop::sample::select(
        &["always", "parked", "door", "warning == high", "warning != low", "warning in [off, low]"][..],
    );
    atom.prop_map(str::to_owned).prop_recursive(3, 12, 3, |inner| {
        let joined = |word: &'static str| {
            prop::collection::vec(inner.clone(), 2..4).prop_map(move |parts| format!("({})", parts.join(word)))
        };
        prop_oneof![inner.clone().prop_map(|inner| format!("not {inner}")), joined(" and "), joined(" or ")]
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn any_conditions_of_a_package(texts in prop::collection::vec("[a-z =!()\\[\\],\"'\\\\é\n-]{0,40}", 8), words in prop::collection::vec(
        prop::collection::vec(prop::sample::select(&["warning", "parked", "door", "high", "low", "and", "or", "not", "(", ")",
            "==", "!=", "in", "[", "]", ",", "always"][..]), 0..8), 8))
    {
        switched_way(INPUTS, &texts);
        switched_way(INPUTS, &words.iter().map(|words| words.join(" ")).collect::<Vec<_>>());
    }

    #[test]
    fn right_conditions_of_a_package(mut conditions in prop::collection::vec(right(), 8)) {
        // What never occurs leaves some states.
        conditions.iter_mut().take(2).for_each(|never| *never = format!("door and {never}"));
        prop_assert_eq!(switched_way(INPUTS, &conditions), None);
    }

    #[test]
    fn any_inputs_of_a_package(inputs in "([a-z]{1,3} = (\"[a-z]{0,4}\"|\\[(\"[a-z]{1,2}\"(, )?){0,4}\\]|\\{( ?(means|on|off|called|positions) = (\"park\"|\"on\"|\\[\"a\", \"b\"\\]),?){0,3} ?\\}|[0-9])\n){0,6}") {
        switched_way(&inputs, &["always".to_owned(), "a".to_owned(), "not b".to_owned()]);
    }
}

/// A file with lines taken out, doubled or moved: most of them are still TOML.
fn with_lines_moved(text: &str, changes: &[(prop::sample::Index, prop::sample::Index, u8)]) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    for (from, to, kind) in changes {
        let (from, to) = (from.index(lines.len()), to.index(lines.len()));
        match kind {
            0 => drop(lines.remove(from)),
            1 => lines.insert(to, lines[from]),
            2 => lines.swap(from, to),
            _ => {
                let line = lines.remove(from);
                lines.insert(to.min(lines.len()), line);
            }
        }
    }
    lines.join("\n")
}

/// A file with a name or number put in the place of another one of the same file.
fn with_words_changed(text: &str, changes: &[(prop::sample::Index, prop::sample::Index)]) -> String {
    let mut text = text.to_owned();
    for (from, to) in changes {
        let is_word = |c: char| c.is_ascii_alphanumeric() || "-._".contains(c);
        let mut words: Vec<(usize, usize)> = Vec::new();
        for (at, c) in text.char_indices().filter(|(_, c)| is_word(*c)) {
            match words.last_mut() {
                Some((_, end)) if *end == at => *end = at + c.len_utf8(),
                _ => words.push((at, at + c.len_utf8())),
            }
        }
        let ((from, from_end), (to, to_end)) = (words[from.index(words.len())], words[to.index(words.len())]);
        let word = text[to..to_end].to_owned();
        text.replace_range(from..from_end, &word);
    }
    text
}

/// The demos with most logic in them, and the shortest.
fn logic_demo(which: &prop::sample::Index) -> (String, PathBuf) {
    let names = ["rescue-4-logic-faults", "brush-2-complete", "brush-2-faults"];
    let (bytes, folder) = demo(names[which.index(names.len())]);
    (String::from_utf8(bytes).unwrap(), folder)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn a_demo_package_with_lines_moved(
        which in any::<prop::sample::Index>(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0..4_u8), 1..4),
    ) {
        let (text, folder) = logic_demo(&which);
        whole_way(with_lines_moved(&text, &changes).as_bytes(), folder, "zones-two-level");
    }

    #[test]
    fn a_demo_package_with_words_changed(
        which in any::<prop::sample::Index>(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 1..3),
    ) {
        let (text, folder) = logic_demo(&which);
        whole_way(with_words_changed(&text, &changes).as_bytes(), folder, "zones-two-level");
    }

    #[test]
    fn a_demo_package_with_another_condition(
        which in any::<prop::sample::Index>(),
        at in any::<prop::sample::Index>(),
        from in any::<prop::sample::Index>(),
    ) {
        let (bytes, folder) = demo(["rescue-4-logic-faults", "brush-2-complete"][which.index(2)]);
        let text = String::from_utf8(bytes).unwrap();
        // The conditions of a package fit its inputs, and put elsewhere they mean something else.
        let conditions: Vec<(usize, &str)> = text
            .match_indices("when = \"")
            .filter_map(|(at, mark)| Some((at + mark.len(), text[at + mark.len()..].split('"').next()?)))
            .collect();
        let ((at, old), (_, new)) = (conditions[at.index(conditions.len())], conditions[from.index(conditions.len())]);
        let changed = format!("{}{}{}", &text[..at], format_args!("not ({new})"), &text[at + old.len()..]);
        prop_assert_eq!(whole_way(changed.as_bytes(), folder, "zones-two-level"), None);
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

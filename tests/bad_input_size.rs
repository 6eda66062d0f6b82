//! Files of a size that no person writes: what is wrong with them is told in time, whatever is repeated in them.
//!
//! A reader that compares each name with each other one would need four times as long for twice as many. What is bounded
//! is the time that the machine gives to the test, so that it does not matter what else runs there.

mod common;

use std::fmt::Write;
use std::path::PathBuf;
use std::time::Duration;

use common::thread_time;

use wayproof::diagnostic::{Log, Sources, render};
use wayproof::package::{Package, PackageFile, load};
use wayproof::ruleset::Loader;

const MANY: usize = 50_000;
const IN_TIME: Duration = Duration::from_secs(20);
const START: &str = "format = 1\ncatalogues = [\"lamps.toml\"]\nheads = \"heads.csv\"\n\
    [vehicle]\nname = \"x\"\nlength = \"5 m\"\nwidth = \"2 m\"\nheight = \"2 m\"\n";
const PATTERN: &str = "[[pattern]]\nid = \"p\"\nperiod = \"1 s\"\npulses = [[\"0 s\", \"100 ms\"]]\n";
const COLUMNS: &str = "id,model,groups,ahead (m),right (m),height (m),faces\n";
const LAMP: &str = "format = 1\n[[model]]\nid = \"lamp\"\n[[model.emitter]]\ncolour = \"red\"\n";

/// Repeats what `line` writes for each number.
fn lines(number: usize, line: impl Fn(usize) -> String) -> String {
    (0..number).fold(String::new(), |mut text, at| {
        writeln!(text, "{}", line(at)).unwrap();
        text
    })
}

fn heads(number: usize) -> String {
    lines(number, |at| format!("h{at},lamp,all g{at},1,-1,1,front"))
}

/// What a package with this table of heads and catalogue is read as, and what is said of it; fails where it takes long.
fn read(package: &str, heads: &str, lamps: &str) -> (Option<Package>, String, usize) {
    let (package, said, errors, _) = timed(package, heads, lamps);
    (package, said, errors)
}

/// The same, and how long it took.
fn timed(package: &str, heads: &str, lamps: &str) -> (Option<Package>, String, usize, Duration) {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("heads.csv"), format!("{COLUMNS}{heads}")).unwrap();
    std::fs::write(dir.path().join("lamps.toml"), lamps).unwrap();
    let start = thread_time();
    let (sources, log) = (Sources::default(), Log::default());
    let folder = dir.path().to_path_buf();
    let inputs = PackageFile { name: "package.toml".to_owned(), bytes: package.into(), folder, libraries: Vec::new() };
    let (package, _) = load(&inputs, &sources, &log);
    let errors = log.errors();
    let said = render(&log.take(), &sources, false);
    let taken = thread_time().saturating_sub(start);
    assert!(taken < IN_TIME, "{taken:?}");
    (package, said, errors, taken)
}

/// The texts of a package, a table of heads and a catalogue.
type Files = (String, String, String);

/// What files of this size are read as. They take about twice the time of files of half the size: the better of two runs,
/// since a page of memory may come late.
fn read_growing(number: usize, files: impl Fn(usize) -> Files) -> (Option<Package>, String, usize) {
    let runs = |number: usize| {
        let (package, heads, lamps) = files(number);
        let mut runs: Vec<_> = (0..2).map(|_| timed(&package, &heads, &lamps)).collect();
        runs.sort_by_key(|run| run.3);
        runs.swap_remove(0)
    };
    let half = runs(number / 2).3;
    let (package, said, errors, whole) = runs(number);
    println!("{number}: {whole:?}, {} {half:?}", number / 2);
    // The time is counted in ticks of some milliseconds.
    assert!(whole <= 3 * half + Duration::from_millis(20), "{number} take {whole:?}, half as many {half:?}");
    (package, said, errors)
}

fn groups_and_shows(number: usize) -> Files {
    let half = number / 2;
    let shows = lines(half, |at| format!("{{ group = \"g{at}\", colour = \"red\", pattern = \"p\" }},"));
    let more = lines(half, |at| format!("{{ head = \"h{}\", colour = \"red\", pattern = \"p\" }},", at + half));
    let display =
        format!("[[display]]\nid = \"d\"\nshow = [\n{shows}{more}]\n[[mode]]\nid = \"m\"\ndisplays = [\"d\"]\n");
    (format!("{START}{PATTERN}{display}"), heads(number), LAMP.to_owned())
}

#[test]
fn many_heads_each_with_a_group_and_a_show() {
    let (package, said, _) = read_growing(MANY, groups_and_shows);
    assert_eq!(package.map(|package| package.heads.len()), Some(MANY), "{said}");
}

fn tables_of_each_kind(number: usize) -> Files {
    let patterns = lines(number, |at| PATTERN.replace("\"p\"", &format!("\"p{at}\"")));
    let displays = lines(number, |at| {
        format!("[[display]]\nid = \"d{at}\"\nshow = [{{ head = \"h1\", colour = \"red\", pattern = \"p{at}\" }}]")
    });
    let modes = lines(number, |at| format!("[[mode]]\nid = \"m{at}\"\ndisplays = [\"d{at}\"]"));
    let models = lines(number, |at| format!("[[model]]\nid = \"lamp{at}\"\n[[model.emitter]]\ncolour = \"red\""));
    (format!("{START}{patterns}{displays}{modes}"), heads(2), format!("{LAMP}{models}"))
}

#[test]
fn many_patterns_displays_modes_and_models() {
    let (package, said, _) = read_growing(MANY / 4, tables_of_each_kind);
    assert_eq!(package.map(|package| package.modes.len()), Some(MANY / 4), "{said}");
}

fn unknown_names(number: usize) -> Files {
    let shows = lines(number, |at| format!("{{ head = \"x{at}\", colour = \"red\", pattern = \"p\" }},"));
    let display = format!("[[display]]\nid = \"d\"\nshow = [\n{shows}]\n");
    let models = lines(number, |at| format!("[[model]]\nid = \"lamp{at}\"\n[[model.emitter]]\ncolour = \"red\""));
    let unknown = lines(number, |at| format!("u{at},lmap{at},all,1,-1,1,front"));
    let heads = format!("{}{unknown}", heads(number));
    (format!("{START}{PATTERN}{display}"), heads, format!("{LAMP}{models}"))
}

#[test]
fn many_unknown_names() {
    let (package, said, errors) = read_growing(MANY / 4, unknown_names);
    assert!(package.is_none());
    assert_eq!(errors, MANY / 2);
    assert!(said.contains("more mistakes or remarks like these are not shown"), "{said}");
    assert!(said.contains("did you mean"), "{said}");
}

fn one_id(number: usize) -> Files {
    let same = lines(number, |_| "same,lamp,all,1,-1,1,front".to_owned());
    (START.to_owned(), format!("same,lamp,all,1,-1,1,front\n{}{same}", heads(number)), LAMP.to_owned())
}

#[test]
fn one_id_many_times_far_apart() {
    let (_, said, errors) = read_growing(MANY / 2, one_id);
    assert_eq!(errors, MANY / 2);
    assert!(said.contains("first here") && said.contains("again here"), "{said}");
}

#[test]
fn a_group_of_all_in_very_many_shows() {
    let show = "{ group = \"all\", colour = \"red\", pattern = \"p\" },";
    let display = lines(1000, |at| format!("[[display]]\nid = \"d{at}\"\nshow = [{}]", show.repeat(10)));
    let (package, said, _) = read(&format!("{START}{PATTERN}{display}"), &heads(10_000), LAMP);
    assert!(package.is_none() && said.contains("error[too-many-shows]"), "{said}");
}

#[test]
fn one_line_without_end() {
    let keys = (0..MANY).fold(String::new(), |text, at| text + &format!("k{at} = 1, "));
    let (_, said, errors) = read(&format!("format = 1\nvehicle = {{ {keys}name = \"x\" }}\n"), &heads(1), LAMP);
    // The three sizes are missing too.
    assert_eq!(errors, MANY + 3);
    assert!(said.len() < 1_000_000, "{} bytes", said.len());
    let (_, said, _) = read(&format!("format = {}", "9".repeat(4 * 1024 * 1024)), &heads(1), LAMP);
    assert!(said.contains("error[") && said.len() < 10_000, "{} bytes", said.len());
}

#[test]
fn depth_without_end() {
    for text in [
        format!("format = 1\n{} = 1\n", vec!["a"; MANY].join(".")),
        format!("format = 1\n[{}]\n", vec!["a"; MANY].join(".")),
        format!("format = 1\nx = {}1{}\n", "{ a = ".repeat(MANY), " }".repeat(MANY)),
        format!("format = 1\nx = {}", "[".repeat(MANY)),
    ] {
        let (package, said, errors) = read(&text, &heads(1), LAMP);
        assert!(package.is_none() && errors > 0, "{}", &said[..said.len().min(300)]);
    }
}

#[test]
fn a_header_without_end_and_a_quotation_without_end() {
    let (_, said, _) = read(START, &heads(1).replace("h0", &"x,".repeat(MANY)), LAMP);
    assert!(said.contains("error[too-many-cells]"), "{said}");
    let (_, said, _) = read(START, &format!("\"a-left,lamp\n{}", heads(MANY)), LAMP);
    assert!(said.contains("error["), "{said}");
    let quoted = lines(MANY / 4, |at| format!("\"h{at} \"\"odd\"\"\",lamp,all,1,-1,1,front"));
    let (_, said, errors) = read(START, &quoted, LAMP);
    assert_eq!(errors, MANY / 4, "{said}");
}

#[test]
fn a_ruleset_with_very_many_rules_documents_and_limits() {
    let text = include_str!("bad-input/files/rulesets/ruleset-without-a-source.toml");
    let (start, rule) = text.split_at(text.find("[[rule]]").unwrap());
    let rule =
        rule.replace("limits = [", "cite = { document = \"letter\", clause = \"3\", basis = \"read\" }\nlimits = [");
    let documents = lines(MANY / 4, |at| format!("[[document]]\nid = \"d{at}\"\ntitle = \"x\"\nedition = \"1\""));
    let rules = lines(MANY / 10, |at| rule.replace("zone-total\"", &format!("zone-total-{at}\"")));
    let limits = lines(MANY / 2, |at| format!("{{ purpose = \"p{at}\", level = \"upper\", zones = {{ A = 1 }} }},"));
    let long = rule.replace("limits = [", &format!("limits = [\n{limits}"));
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("rules.toml");
    for text in [format!("{start}{documents}{rules}"), format!("{start}{long}{long}")] {
        std::fs::write(&path, text).unwrap();
        let begin = thread_time();
        let (sources, log) = (Sources::default(), Log::default());
        let mut loader = Loader::new(&sources, &log, Vec::<PathBuf>::new());
        loader.add_anywhere(path.to_str().unwrap());
        assert_eq!(loader.rulesets.len(), 1);
        assert!(log.errors() <= 1, "{}", render(&log.take(), &sources, false));
        let taken = thread_time().saturating_sub(begin);
        assert!(taken < IN_TIME, "{taken:?}");
    }
}

/// What a switch with inputs and conditions of any number is read as.
const SWITCHED: &str = "[inputs]\nwarning = [\"off\", \"low\", \"high\"]\nparked = \"bool\"\nrear-door = \"bool\"\n";

/// Displays and a mode, so that what is said of states that are never reached is looked for.
const SHOWN: &str = "[[display]]\nid = \"d\"\nwhen = \"always\"\nshow = [{ group = \"all\", colour = \"red\", pattern = \"p\" }]\n\
    [[mode]]\nid = \"m\"\nwhen = \"always\"\n";

fn tables_last(before: &str, tables: &str) -> String {
    let (top, vehicle) = START.split_once("[vehicle]").unwrap();
    format!("{top}{before}[vehicle]{vehicle}{tables}{PATTERN}")
}

#[test]
fn very_many_inputs_and_positions() {
    let inputs = lines(MANY, |at| format!("i{at} = \"bool\""));
    let (_, said, errors) = read(&tables_last("", &format!("[inputs]\n{inputs}{SHOWN}")), &heads(1), LAMP);
    assert!(said.contains("error[too-many-inputs]") && errors == 1, "{said}");
    let positions = lines(MANY, |at| format!("\"p{at}\","));
    let (_, said, errors) = read(&tables_last("", &format!("[inputs]\nx = [{positions}]\n{SHOWN}")), &heads(1), LAMP);
    assert!(said.contains("error[too-many-positions]") && errors == 1, "{said}");
    let wrong = lines(MANY, |at| format!("not.{at} = 1"));
    let (_, _, errors) = read(&tables_last("", &format!("[inputs]\n{wrong}{SHOWN}")), &heads(1), LAMP);
    assert!(errors >= 1);
}

fn condition(at: usize) -> &'static str {
    let conditions = ["parked and rear-door", "warning in [low, high] or not parked", "not (parked or rear-door)"];
    conditions[at % conditions.len()]
}

fn conditions(number: usize) -> Files {
    let displays = lines(number, |at| {
        let when = condition(at);
        format!(
            "[[display]]\nid = \"d{at}\"\nwhen = \"{when}\"\nshow = [{{ head = \"h0\", colour = \"red\", pattern = \"p\" }}]"
        )
    });
    let modes = lines(number, |at| {
        let purpose = ["calling", "blocking"][at % 2];
        format!("[[mode]]\nid = \"m{at}\"\npurpose = \"{purpose}\"\nwhen = \"{}\"", condition(at))
    });
    (tables_last("", &format!("{SWITCHED}{displays}{modes}")), heads(1), LAMP.to_owned())
}

#[test]
fn very_many_conditions() {
    let (package, said, _) = read_growing(MANY / 10, conditions);
    assert_eq!(package.map(|package| package.modes.len()), Some(MANY / 10), "{said}");
    assert!(said.contains("warning[two-purposes]"), "{said}");
    let never = lines(MANY / 20, |_| "\"parked and warning == off\",".to_owned());
    let text = tables_last(&format!("never = [{never}]\n"), &format!("{SWITCHED}{SHOWN}"));
    let (package, said, _) = read(&text, &heads(1), LAMP);
    assert!(package.is_some() && said.contains("warning[idle-never]"), "{said}");
    let wrong = lines(MANY / 20, |at| format!("\"praked and warning == of{at}\","));
    let text = tables_last(&format!("never = [{wrong}]\n"), &format!("{SWITCHED}{SHOWN}"));
    let (_, said, errors) = read(&text, &heads(1), LAMP);
    assert_eq!(errors, 2 * (MANY / 20));
    assert!(said.contains("did you mean `parked`?"), "{said}");
    let poses = lines(MANY / 20, |at| format!("{{ when = \"{}\", faces = \"left\" }},", condition(at)));
    let head = format!(
        "[[head]]\nid = \"x\"\nmodel = \"lamp\"\nat = {{ ahead = \"0 m\", height = \"1 m\" }}\nfaces = \"front\"\nposes = [{poses}]\n"
    );
    let (package, said, _) = read(&tables_last("", &format!("{SWITCHED}{SHOWN}{head}")), &heads(1), LAMP);
    assert!(package.is_some(), "{said}");
}

/// Each mode is compared with those of other purposes.
#[test]
fn very_many_purposes() {
    let modes =
        lines(MANY / 20, |at| format!("[[mode]]\nid = \"m{at}\"\npurpose = \"p{at}\"\nwhen = \"{}\"", condition(at)));
    let (package, said, _) = read(&tables_last("", &format!("{SWITCHED}{modes}")), &heads(1), LAMP);
    assert_eq!(package.map(|package| package.modes.len()), Some(MANY / 20), "{said}");
}

/// Each row shows again what the row before it shows, and each line has a quote of a word processor.
#[test]
fn very_many_doubts_and_slips_of_one_kind() {
    let rows = lines(MANY / 20, |_| "{ group = \"all\", colour = \"red\", pattern = \"p\" },".to_owned());
    let display = format!("[[display]]\nid = \"d\"\nwhen = \"parked\"\nshow = [\n{rows}]\n");
    let mode = "[[mode]]\nid = \"m\"\nwhen = \"warning == high and rear-door\"\n";
    let (package, said, _) = read(&tables_last("", &format!("{SWITCHED}{display}{mode}")), &heads(20), LAMP);
    assert!(package.is_some() && said.contains("warning[row-without-heads]"), "{said}");
    let sides = |side: &str| lines(MANY / 2, |at| format!("x{at}-{side},lamp,all,1,-1,1,front"));
    let (package, said, _) =
        read(&tables_last("", &format!("{SWITCHED}{mode}")), &(sides("left") + &sides("right")), LAMP);
    assert!(package.is_some() && said.contains("warning[head-in-no-mode]"), "{said}");
    let quotes = lines(MANY / 4, |at| format!("k{at} = \u{201c}x\u{201d}"));
    let (_, said, errors) = read(&format!("format = 1\n{quotes}"), &heads(1), LAMP);
    assert!(errors == 1 && said.contains("typographic quotes stand on 12500 lines"), "{said}");
    let tables = lines(MANY / 4, |_| "[mode]\nid = \"m\"".to_owned());
    let (_, said, errors) = read(&format!("format = 1\n{tables}"), &heads(1), LAMP);
    assert!(errors == 1 && said.contains("`[[mode]]`"), "{said}");
}

/// Without inputs the modes are the positions of one switch.
#[test]
fn very_many_modes_that_list_displays() {
    let displays = lines(100, |at| {
        format!("[[display]]\nid = \"d{at}\"\nshow = [{{ head = \"h0\", colour = \"red\", pattern = \"p\" }}]")
    });
    // Each display is on in a set of modes of its own.
    let modes = lines(MANY / 50, |at| {
        let listed: Vec<String> =
            (0..100).filter(|one| (at + one) % (one + 2) < 2).map(|one| format!("\"d{one}\"")).collect();
        format!("[[mode]]\nid = \"m{at}\"\ndisplays = [{}]", listed.join(", "))
    });
    let (package, said, _) = read(&tables_last("", &format!("{displays}{modes}")), &heads(1), LAMP);
    assert_eq!(package.map(|package| package.modes.len()), Some(MANY / 50), "{said}");
}

/// Sets of states that cannot be held are given up in time, wherever they come from.
#[test]
fn tangled_conditions_are_given_up() {
    let pairs = |from: usize| {
        let pairs: Vec<String> = (from..from + 30).map(|at| format!("(a{} and b{at})", (at * 7) % 31)).collect();
        pairs.join(" or ")
    };
    let names = |side: &str| lines(31, |at| format!("{side}{at} = \"bool\""));
    let inputs = format!("[inputs]\nwarning = [\"off\", \"high\"]\n{}{}", names("a"), names("b"));
    let displays = lines(100, |at| {
        let when = pairs(at % 2);
        format!(
            "[[display]]\nid = \"d{at}\"\nwhen = \"{when}\"\nshow = [{{ group = \"all\", colour = \"red\", pattern = \"p\" }}]"
        )
    });
    let mode = "[[mode]]\nid = \"m\"\nwhen = \"warning == high\"\n";
    let (package, said, _) = read(&tables_last("", &format!("{inputs}{displays}{mode}")), &heads(1), LAMP);
    assert!(package.is_some() && said.contains("warning[tangled-conditions]"), "{said}");
    let never = format!("never = [{}]\n", lines(100, |at| format!("\"{}\",", pairs(at % 2))));
    let (package, said, _) = read(&tables_last(&never, &format!("{inputs}{SHOWN}")), &heads(1), LAMP);
    assert!(package.is_some() && said.contains("warning[tangled-conditions]"), "{said}");
}

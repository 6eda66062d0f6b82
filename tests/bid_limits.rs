//! What a bid says of its limits: where they hold, where they come from, which can be met with a catalogue and which by
//! nobody. Against lamps whose figures are worked out by hand, the demo truck as it is judged, and laws.

mod common;

use std::collections::BTreeSet;
use std::path::PathBuf;

use assert_cmd::Command;
use common::root;
use proptest::prelude::*;
use wayproof::bid::{Bid, Cause, Devices, Fault, Feasible, Wishes, contradictions, feasible, lint, read_draft};
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::package::{Model, SounderModel, read_models};
use wayproof::ruleset::{Allowed, Demand, REQUIRES, Require};
use wayproof::units::Unit;

const CATALOGUES: [&str; 3] = [
    "demo-data/catalogue/edge-lamps.toml",
    "demo-data/catalogue/perimeter-lamps.toml",
    "demo-data/catalogue/sounders.toml",
];

fn read(text: &str) -> Option<Bid> {
    let (sources, log) = (Sources::default(), Log::default());
    let bid = read_draft("draft.toml", text.as_bytes(), &sources, &log);
    assert!(!log.has_errors(), "{}", render(&log.take(), &sources, false));
    bid
}

fn catalogue(files: &[&str]) -> (Vec<Model>, Vec<SounderModel>) {
    let (sources, log) = (Sources::default(), Log::default());
    let files: Vec<PathBuf> = files.iter().map(|file| root().join(file)).collect();
    let found = read_models(&files, &sources, &log);
    assert!(!log.has_errors(), "{}", render(&log.take(), &sources, false));
    found
}

fn clean() -> String {
    std::fs::read_to_string(root().join("tests/bid/clean.toml")).unwrap()
}

fn run(args: &[&str]) -> String {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    let output = command.current_dir(root()).env("COLUMNS", "120").args(args).output().unwrap();
    // Wherever lines are broken.
    String::from_utf8(output.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A round of points and forty uses with a rate each: what a lamp gives is looked at once.
#[test]
fn many_uses_of_one_zone_cost_one_look() {
    let rows = |of: &dyn Fn(usize) -> String| (0..40).map(of).collect::<Vec<_>>().join(", ");
    let totals = rows(&|at| format!("{{ purpose = \"p{at}\", level = \"upper\", zone = \"rear\", value = 2e9 }}"));
    let rates = rows(&|at| format!("{{ purpose = \"p{at}\", from = {}, to = 125 }}", 60 + at));
    let text = clean()
        .replace("rear = [\"135 deg\", \"225 deg\"]", "rear = [\"0 deg\", \"360 deg\"]")
        .replace("step = \"5 deg\"", "step = \"1 deg\"")
        .replace("{ purpose = \"blocking\", level = \"upper\", zone = \"rear\", value = 900_000 }", &totals)
        .replace("{ purpose = \"blocking\", from = 75, to = 125 }", &rates)
        // Permitted colours are said of every use, so that it is known which lamps count.
        .replace("{ purpose = \"blocking\", zone = \"rear\", value = [\"red\"", "{ zone = \"rear\", value = [\"red\"");
    let (bid, (models, sounders)) = (read(&text).unwrap(), catalogue(&["tests/bid/lamps.toml"]));
    let start = common::thread_time();
    let found = feasible(&bid, Devices { models: &models, sounders: &sounders });
    assert!(common::thread_time() - start < std::time::Duration::from_secs(15));
    // 182 of 361 points lie before it, the first and the last being one place, 1000 cd each, dark for 160 ms a flash: 60 flashes leave 84 % of the time.
    let first = found.faults.iter().find(|fault| fault.id() == "out-of-reach@set:total/p0/upper/rear").unwrap();
    assert!(first.says.contains("at most 9,172,800 of"), "{}", first.says);
    assert_eq!(found.faults.iter().filter(|fault| fault.code == "out-of-reach").count(), 40);
}

/// A lamp that shines 20 degrees up, as some are mounted: turned down it gives much, and no search proves that none does.
#[test]
fn no_verdict_rests_on_the_aims_that_were_tried() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("up.csv"), "V\\H,-90,90\n-90,1,1\n10,1,1\n20,1000,1000\n30,1,1\n90,1,1\n").unwrap();
    let lamp = "format = 1\n[[model]]\nid = \"up\"\n[[model.emitter]]\ncolour = \"red\"\n\
                intensity = { file = \"up.csv\", frame = \"vertical-axis\" }\n";
    let file = dir.path().join("up.toml");
    std::fs::write(&file, lamp).unwrap();
    let (models, sounders) = catalogue(&[file.to_str().unwrap()]);
    let total = |least: u32| -> Feasible {
        let bid = read(&clean().replace("900_000", &least.to_string())).unwrap();
        feasible(&bid, Devices { models: &models, sounders: &sounders })
    };
    let ids = |found: &Feasible| {
        let of_total = found.faults.iter().map(Fault::id).filter(|id| id.contains("set:total"));
        of_total.collect::<Vec<_>>()
    };
    let within = total(300_000);
    assert_eq!(ids(&within), [""; 0]);
    assert!(within.takes.iter().any(|takes| takes.heads == "at least 1 head"), "{:?}", within.takes);
    // 19 points, 60 s, lit for 80 %, 1000 cd: no aim gives more than 912,000.
    let open = total(911_000);
    assert_eq!(ids(&open), [""; 0]);
    assert!(open.unseen.iter().any(|line| line.contains("not known: 1 head of up (red)")), "{:?}", open.unseen);
    assert_eq!(ids(&total(912_001)), ["out-of-reach@set:total/blocking/upper/rear"]);
}

/// What `within reach` takes for granted stands beside it, with the share of the time that is left beside the dark gaps:
/// 75 flashes a minute with 160 ms dark after each are 12 s of a minute, so 80 % is left.
#[test]
fn what_is_taken_of_a_lamp_is_said() {
    let text = clean();
    let (models, sounders) = catalogue(&["tests/bid/lamps.toml"]);
    let look = |text: &str| feasible(&read(text).unwrap(), Devices { models: &models, sounders: &sounders });
    let near = look(&text).takes;
    assert_eq!(near[0].heads, "at least 1 head");
    for said in ["lit 80 % of the time", "at the best aim tried", "nothing before it", "then it takes more heads"] {
        assert!(near.iter().any(|takes| takes.taken.contains(said)), "{said}: {near:?}");
    }
    let steady = look(&text.replace("dark-at-least = \"160 ms\"\n", "")).takes;
    assert!(steady.iter().any(|takes| takes.taken.contains("lit all the time")), "{steady:?}");
    // 19 points x 60 x 0.8 x 1000 cd are 912,000 a head.
    let open = text.replace("most-heads = 1\n", "");
    assert_eq!(look(&open), look(&text), "one head is a head");
    let many = look(&open.replace("900_000", "140_000_000"));
    assert_eq!(many.takes[0].heads, "at least 154 heads");
    let [fault] = many.faults.as_slice() else { panic!("{:?}", many.faults) };
    assert_eq!((fault.code, fault.cause), ("heads-not-said", Cause::Advice));
    assert!(fault.says.starts_with("takes at least 154 heads, ") && fault.help.contains("most-heads"), "{fault:?}");
}

#[test]
fn a_limit_that_no_value_meets_is_told_once() {
    let ids = |text: &str| {
        let bid = read(text).unwrap();
        assert_eq!(contradictions(&bid), [], "a limit contradicts another limit");
        let found = lint(&bid, &[], &[]);
        found.iter().filter(|fault| fault.cause == Cause::CannotBeMet).map(Fault::id).collect::<Vec<_>>()
    };
    let rate = |require: &str, value: &str| {
        clean().replace("require = \"between\"", require).replace("from = 75, to = 125", value)
    };
    assert_eq!(ids(&rate("require = \"at-most\"", "value = -5")), ["below-zero@set:rate/blocking"]);
    assert_eq!(ids(&rate("require = \"between\"", "from = -9, to = -5")), ["below-zero@set:rate/blocking"]);
    assert_eq!(ids(&rate("require = \"at-most\"", "value = 0")), [""; 0]);
    assert_eq!(ids(&rate("require = \"at-least\"", "value = -5")), [""; 0]);
}

#[test]
fn what_decides_how_one_looks_stands_there_with_its_source() {
    let text = run(&["bid", "zones-two-level", "--advice"]);
    for said in [
        "a signal reaches a point where a head gives it at least 100 cd.s/min (own: a threshold is needed to say that a head's light reaches a point [practice])",
        "a head shows its colour in the zone into which its axis points (own:",
        "points off the horizontal plane: -5 deg, 5 deg from it (NFPA 1901",
        "a flash rate is the flashes counted, by the time they took (own:",
        "not known whether a point on a dividing line belongs to both zones",
        "a point every 5 deg of a zone (NFPA 1901, Standard for Automotive Fire Apparatus (2016), clause 13.8 [memory])",
        "figures hold at 12.8 V at the lamp (NFPA 1901",
        "how much light is a signal: see Zones, levels and flashes",
    ] {
        assert!(text.contains(said), "no `{said}` in {text}");
    }
    assert!(!text.contains("its ends included") && !text.contains("source not said"));
    let dark = text.split("zones-two-level:one-head-dark (").nth(1).unwrap().split(" Tested: ").next().unwrap();
    assert!(dark.contains("how much light is a signal"), "{dark}");
    let first = run(&["bid", "ambulance-fixed-set"]);
    assert!(first.contains("belongs to the zone that it begins"));
    assert!(run(&["bid", "road-service-amber"]).contains("belongs to both zones"));
}

#[test]
fn the_words_round_a_limit_say_what_is_meant() {
    let text = run(&["bid", "zones-two-level", "--advice"]);
    assert!(text.contains("(advice: the figure is to be stated, and need not be met)"), "{text}");
    assert!(!text.contains("not to be met"));
    assert!(text.contains("at least one of") && !text.contains(": one of"));
    assert!(text.contains("from calling to blocking") || text.contains("from blocking to calling"), "{text}");
    assert!(!text.contains("LEFT OUT"));
    let some = run(&["bid", "zones-two-level", "--purpose", "calling"]);
    assert!(some.contains("what the rulesets ask for blocking is LEFT OUT"), "{some}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Loosening a limit never puts it out of reach, and more heads neither.
    #[test]
    fn loosening_never_puts_out_of_reach(
        total in 1e4..5e6_f64, intensity in 10.0..1e5_f64, level in 80.0..140.0_f64, rate in 30..120_i32, heads in 1..6_u32,
        looser in 0.3..1.0_f64, which in 0..5,
    ) {
        let devices = &catalogue(&CATALOGUES);
        let draft = |total: f64, intensity: f64, level: f64, rate: i32, heads: u32| {
            let text = clean().replace("900_000", &total.to_string()).replace("value = 900 ", &format!("value = {intensity} "));
            let text = text.replace("value = 110 ", &format!("value = {level} ")).replace("most-heads = 1", &format!("most-heads = {heads}"));
            let bid = read(&text.replace("from = 75, to = 125", &format!("from = {rate}, to = 125"))).unwrap();
            let (models, sounders) = devices;
            feasible(&bid, Devices { models, sounders }).faults.iter().map(Fault::id).collect::<BTreeSet<_>>()
        };
        let tight = draft(total, intensity, level, rate, heads);
        let loose = match which {
            0 => draft(total * looser, intensity, level, rate, heads),
            1 => draft(total, intensity * looser, level, rate, heads),
            2 => draft(total, intensity, level * looser, rate, heads),
            3 => draft(total, intensity, level, rate - 10, heads),
            _ => draft(total, intensity, level, rate, heads + 1),
        };
        prop_assert!(loose.is_subset(&tight), "{:?} of {:?}", loose, tight);
    }
}

/// What a lamp of the catalogue is told to give at most is more than any lamp of the demo truck is found to give: the
/// truck's totals, found by `check`, take no more heads than it carries.
#[test]
fn what_a_truck_reaches_is_within_reach() {
    let (package, rulesets) = common::load_file(&root().join("demo-data/rescue-4/package.toml"), &["zones-two-level"]);
    let conduct = wayproof::measure::Conduct::new(&package);
    let judged = wayproof::judge::judge(&conduct, &rulesets, common::terms());
    let mut bid = Bid::of(&rulesets, None, &Wishes::default());
    bid.most_heads = Some(u32::try_from(package.heads.len()).unwrap());
    let mut totals = 0;
    let rows = bid.clauses.iter_mut().find(|clause| clause.id == "zones-two-level:zone-total").unwrap();
    for row in &mut rows.rows {
        let of = |finding: &&wayproof::judge::Finding| {
            finding.rule == "zone-total"
                && (&finding.scope.purpose, &finding.scope.level, &finding.scope.zone)
                    == (&row.purpose, &row.level, &row.zone)
        };
        let finding = judged.findings.iter().find(of).unwrap();
        let wayproof::judge::Found::Number(found) = finding.found else { panic!("{}", finding.id) };
        row.demand = Some(Demand::Number(found));
        totals += 1;
    }
    assert_eq!(totals, 16);
    let reach = feasible(&bid, Devices { models: &package.models, sounders: &package.sound.models });
    let told: Vec<&str> = reach.faults.iter().map(|fault| fault.says.as_str()).collect();
    assert_eq!(told, [""; 0]);
    assert_eq!(reach.takes.len(), 16, "{:?}", reach.takes);
}

/// Every comparison that files may ask is one of the arithmetic of sets.
#[test]
fn every_comparison_is_looked_at() {
    let unit = Unit::parse("/min").unwrap();
    for (word, require) in REQUIRES {
        let words = matches!(require, Require::Only | Require::NoneOf | Require::SomeOf);
        let demand = match (words, require.asks_a_range()) {
            (true, _) => Demand::Words(vec!["red".to_owned()]),
            (_, true) => Demand::Range { from: 1.0, to: 2.0 },
            _ => Demand::Number(1.0),
        };
        assert!(Allowed::of(*require, &demand, unit).is_some(), "{word}");
    }
}

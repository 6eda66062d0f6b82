//! Where the time of `check` on the largest demo package goes: loading, judging, reporting; and two peers in the same
//! run. Only `cargo bench` runs this.
//!
//! Peers are other ways to the same answer, not other programs:
//!
//! - `toml_by_serde` parses the same TOML texts into plain tables. It binds no name, keeps no place, reports no second
//!   mistake and reads none of the intensity files, so it is a floor under `load`, not a rival.
//! - `light_point_by_point` computes the zone totals, least points and off-plane points of `light_from_shared_field`
//!   anew for every limit and reading, head by head, as a direct reading of the rules would; both are checked to give
//!   the same numbers before anything is timed.

use std::path::{Path, PathBuf};

use divan::{Bencher, black_box};
use wayproof::diagnostic::{Log, Sources};
use wayproof::judge::{Judged, Terms, judge};
use wayproof::load::reader::Date;
use wayproof::measure::{Boundary, Conduct, LitHead, Looks, Method, Sample, Survey};
use wayproof::package::{Package, PackageFile, Role, load};
use wayproof::quantity::{Ask, Measure, Value, find};
use wayproof::report::{FORMATS, Report};
use wayproof::ruleset::{Limit, Loader, Permitted, Ruleset, shipped};

const DAY: Date = Date { year: 2026, month: 11, day: 25 };
const TERMS: Terms = Terms { as_of: DAY, without_memory: false };

fn main() {
    let (package, rulesets) = loaded();
    let conduct = Conduct::new(&package);
    let shared = shared_field(&conduct, &rulesets[0]);
    let naive = point_by_point(&surveys(&conduct, &rulesets[0]), &rulesets[0]);
    assert_eq!(shared.len(), naive.len());
    for (one, other) in shared.iter().zip(&naive) {
        assert!((one - other).abs() <= 1e-9 * one.abs(), "{one} is not {other}");
    }
    divan::main();
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/rescue-4")
}

fn loaded() -> (Package, Vec<Ruleset>) {
    let (sources, log) = (Sources::default(), Log::default());
    let path = folder().join("package.toml");
    let bytes = std::fs::read(&path).unwrap();
    let inputs = PackageFile { name: path.display().to_string(), bytes, folder: folder(), libraries: Vec::new() };
    let (package, rules) = load(&inputs, &sources, &log);
    let mut loader = Loader::new(&sources, &log, vec![folder()]);
    rules.iter().for_each(|name| loader.add_named(name));
    let rulesets = loader.rulesets;
    assert!(!log.has_errors());
    (package.expect("a package without mistakes"), rulesets)
}

/// Package, catalogues, intensity files and rulesets, from disk to bound names.
#[divan::bench]
fn a_load() -> (Package, Vec<Ruleset>) {
    loaded()
}

#[divan::bench(name = "a_load_peer_toml_by_serde")]
fn toml_by_serde() -> Vec<toml::Table> {
    let catalogue = folder().with_file_name("catalogue");
    let files = ["edge-lamps.toml", "perimeter-lamps.toml", "surface-lamps.toml"].map(|name| catalogue.join(name));
    let mut texts: Vec<String> = files.iter().map(|file| std::fs::read_to_string(file).unwrap()).collect();
    texts.push(std::fs::read_to_string(folder().join("package.toml")).unwrap());
    texts.push(shipped::find("zones-two-level").unwrap().to_owned());
    texts.iter().map(|text| toml::from_str(text).unwrap()).collect()
}

/// Every rule in every state and reading, single failures and flash counts too.
#[divan::bench]
fn b_judge(bencher: Bencher) {
    let (package, rulesets) = loaded();
    bencher.bench_local(|| judge(&Conduct::new(black_box(&package)), &rulesets, TERMS));
}

#[divan::bench(name = "b_judge_light_from_shared_field")]
fn light_from_shared_field(bencher: Bencher) {
    let (package, rulesets) = loaded();
    let conduct = Conduct::new(&package);
    bencher.bench_local(|| shared_field(black_box(&conduct), &rulesets[0]));
}

#[divan::bench(name = "b_judge_light_peer_point_by_point")]
fn light_point_by_point(bencher: Bencher) {
    let (package, rulesets) = loaded();
    let conduct = Conduct::new(&package);
    let surveys = surveys(&conduct, &rulesets[0]);
    bencher.bench_local(|| point_by_point(black_box(&surveys), &rulesets[0]));
}

#[divan::bench(args = FORMATS.iter().map(|format| format.name))]
fn c_report(bencher: Bencher, name: &str) {
    let (package, rulesets) = loaded();
    let conduct = Conduct::new(&package);
    let judged: Judged = judge(&conduct, &rulesets, TERMS);
    let report = Report {
        conduct: &conduct,
        rulesets: &rulesets,
        judged: &judged,
        as_of: DAY,
        only: &[],
        advice: true,
        width: 100,
    };
    let format = FORMATS.iter().find(|format| format.name == name).unwrap();
    bencher.bench_local(|| (format.write)(black_box(&report)));
}

const LIGHT: [&str; 3] = ["zone-total-optical-power", "least-point-optical-power", "least-off-plane-optical-power"];

/// Each limit on light with the mode that serves its purpose and each reading of the boundary points.
fn each_light_limit<'r>(
    package: &Package,
    ruleset: &'r Ruleset,
    mut each: impl FnMut(&'static str, usize, &'r Limit, Boundary),
) {
    for rule in ruleset.rules.iter().filter(|rule| LIGHT.contains(&rule.quantity.name)) {
        for limit in &rule.limits {
            let serves = |mode: &wayproof::package::Mode| mode.purpose == limit.purpose;
            let mode = package.modes.iter().position(serves).unwrap();
            for boundary in [Boundary::Both, Boundary::First] {
                each(rule.quantity.name, mode, limit, boundary);
            }
        }
    }
}

/// The vehicle in one state of each mode.
fn surveys<'a>(conduct: &'a Conduct<'a>, ruleset: &'a Ruleset) -> Vec<Survey<'a>> {
    let (space, looks) = (conduct.space(), Looks::new(conduct, &ruleset.protocol, Method::Angular));
    let survey = |mode| looks.survey_in(&space.state(&space.first(mode).unwrap()));
    conduct.modes.iter().map(survey).collect()
}

fn permitted(ruleset: &Ruleset, limit: &Limit) -> Permitted {
    ruleset.permitted(limit.purpose.as_deref().unwrap(), limit.zone)
}

fn shared_field(conduct: &Conduct<'_>, ruleset: &Ruleset) -> Vec<f64> {
    let surveys = surveys(conduct, ruleset);
    let mut values = Vec::new();
    each_light_limit(conduct.package, ruleset, |name, mode, limit, boundary| {
        let (level, zone, permitted) = (limit.level, limit.zone, permitted(ruleset, limit));
        let purpose = limit.purpose.as_deref();
        let ask = Ask {
            purpose,
            leads_to: None,
            level,
            zone,
            boundary,
            permitted: permitted.list(),
            with_uncertainty: false,
            device: Default::default(),
            listen: None,
            item: None,
        };
        let Measure::Light { measure, .. } = find(name).unwrap().measure else { panic!("{name}") };
        match measure(&surveys[mode], &ask)[0].value {
            Value::Number { low, .. } => values.push(low),
            ref other => panic!("{other:?}"),
        }
    });
    values
}

/// The surveys only say who is lit; making them is not timed here, since their field is not looked at.
fn point_by_point(surveys: &[Survey<'_>], ruleset: &Ruleset) -> Vec<f64> {
    let zones = &ruleset.protocol.zones;
    let mut values = Vec::new();
    each_light_limit(surveys[0].package, ruleset, |name, mode, limit, boundary| {
        let permitted = permitted(ruleset, limit);
        let survey = &surveys[mode];
        let counts = |lit: &&LitHead<'_>| {
            let colour = permitted.list().is_none_or(|colours| colours.contains(&lit.emitter.colour));
            lit.role == Role::Warning && lit.flashing && lit.level == limit.level && colour
        };
        let elevations = survey.elevations();
        let rows = if name == LIGHT[2] { &elevations[1..] } else { &elevations[..1] };
        let (mut total, mut least) = (0.0, f64::INFINITY);
        for elevation in rows {
            for at in zones.sectors[limit.zone.unwrap()].points(boundary) {
                let give = |lit| match survey.detail(lit, zones.bearings[*at], *elevation).sample {
                    Sample::Power(power) => power.value(),
                    Sample::Hidden | Sample::Behind | Sample::NoData => 0.0,
                };
                let power: f64 = survey.lit.iter().map(|lit| &**lit).filter(counts).map(give).sum();
                total += power;
                least = f64::min(least, power);
            }
        }
        values.push(if name == LIGHT[0] { total } else { least });
    });
    values
}

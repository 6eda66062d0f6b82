//! Where the time of `check` on the rescue truck goes: reading, judging, printing; and two peers in the same run.
//!
//! Peers: `plain_toml_parse` reads the package and its catalogues as plain TOML tables, without places, units or
//! names, so the difference to `load` is what diagnostics and binding cost (the intensity files included);
//! `naive_zone_totals` adds up the same zone totals without the survey's stored light, one head and point at a time.

use std::path::{Path, PathBuf};

use divan::{Bencher, black_box};
use wayproof::diagnostic::{Log, Sources};
use wayproof::judge::{Terms, judge};
use wayproof::load::reader::Date;
use wayproof::measure::{Boundary, Method, Survey};
use wayproof::package::{Inputs, Package, load};
use wayproof::quantity::{Ask, find};
use wayproof::report::{FORMATS, Report};
use wayproof::ruleset::{Loader, Ruleset};
use wayproof::units::Degrees;

fn main() {
    divan::main();
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/rescue-4")
}

fn terms() -> Terms {
    Terms { as_of: Date { year: 2026, month: 11, day: 25 }, without_memory: false }
}

fn read() -> (Package, Vec<Ruleset>) {
    let bytes = std::fs::read(folder().join("package.toml")).expect("the demo package");
    let inputs = Inputs { name: "package.toml".to_owned(), bytes, folder: folder(), libraries: Vec::new() };
    let (sources, log) = (Sources::default(), Log::default());
    let (package, rules) = load(&inputs, &sources, &log);
    let mut loader = Loader::new(&sources, &log, vec![folder()]);
    rules.iter().for_each(|name| loader.add_named(name));
    (package.expect("a package without mistakes"), loader.rulesets)
}

#[divan::bench]
fn load_package_catalogues_and_ruleset() -> (Package, Vec<Ruleset>) {
    read()
}

#[divan::bench]
fn plain_toml_parse() -> usize {
    let catalogue = folder().join("../catalogue");
    let files = ["edge-lamps.toml", "perimeter-lamps.toml", "surface-lamps.toml"].map(|name| catalogue.join(name));
    let texts = files
        .iter()
        .chain([&folder().join("package.toml")])
        .map(|path| std::fs::read_to_string(path).expect("a file"))
        .collect::<Vec<_>>();
    texts.iter().map(|text| text.parse::<toml::Table>().expect("TOML").len()).sum()
}

#[divan::bench]
fn judge_everything(bencher: Bencher<'_, '_>) {
    let (package, rulesets) = read();
    bencher.bench(|| judge(black_box(&package), &rulesets, terms()));
}

#[divan::bench]
fn survey_of_one_mode(bencher: Bencher<'_, '_>) {
    let (package, rulesets) = read();
    bencher.bench(|| Survey::new(black_box(&package), package.modes.first(), &rulesets[0].protocol, Method::Angular));
}

#[divan::bench]
fn zone_totals_from_the_survey(bencher: Bencher<'_, '_>) {
    let (package, rulesets) = read();
    let protocol = &rulesets[0].protocol;
    let total = find("zone-total-optical-power").expect("registered");
    bencher.bench(|| {
        let survey = Survey::new(&package, package.modes.first(), protocol, Method::Angular);
        (0..4).map(|zone| (total.measure)(&survey, &ask(zone)).len()).sum::<usize>()
    });
}

fn ask(zone: usize) -> Ask<'static> {
    Ask { level: None, zone: Some(zone), boundary: Boundary::Both, permitted: None, with_uncertainty: false }
}

#[divan::bench]
fn naive_zone_totals(bencher: Bencher<'_, '_>) {
    let (package, rulesets) = read();
    let protocol = &rulesets[0].protocol;
    let survey = Survey::new(&package, package.modes.first(), protocol, Method::Angular);
    bencher.bench(|| {
        let mut total = 0.0;
        for sector in &protocol.zones.sectors {
            for at in sector.points(Boundary::Both) {
                let bearing = protocol.zones.bearings[*at];
                for lit in &survey.lit {
                    total += survey.detail(lit, bearing, Degrees::ZERO).sample.at_least().value();
                }
            }
        }
        total
    });
}

#[divan::bench(args = ["table", "json", "csv"])]
fn print(bencher: Bencher<'_, '_>, name: &str) {
    let (package, rulesets) = read();
    let judged = judge(&package, &rulesets, terms());
    let format = FORMATS.iter().find(|format| format.name == name).expect("a format");
    let as_of = terms().as_of;
    let report = Report { package: &package, rulesets: &rulesets, judged: &judged, as_of, only: &[], width: 100 };
    bencher.bench(|| (format.write)(black_box(&report)));
}

//! Colour by numbers: chromaticity from spectra, wavelengths and mixtures, the regions that documents draw in the x, y
//! diagram, and what is found of the heads of a vehicle.
//!
//! Outside values: tests/reference/colour, see the README there.

mod common;
#[path = "colour/edges.rs"]
mod edges;
#[path = "colour/heads.rs"]
mod heads;
#[path = "colour/light.rs"]
mod light;
#[path = "colour/membership.rs"]
mod membership;

use std::collections::HashMap;
use std::sync::{Arc, LazyLock};

use wayproof::colour::{Chromaticity, Locus, Region};
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::ruleset::Loader;
use wayproof::ruleset::{Regions, SourcedRegion};

/// The rows of a reference table, by the names of its columns.
pub fn table(name: &str) -> Vec<HashMap<String, String>> {
    common::rows(&common::root().join("tests/reference/colour").join(name))
}

pub fn number(row: &HashMap<String, String>, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column}: {row:?}"))
}

pub fn at(x: f64, y: f64) -> Chromaticity {
    Chromaticity { x, y }
}

/// The regions that come with the tool; nothing is said of them.
pub fn shipped() -> Vec<SourcedRegion> {
    let log = Log::default();
    let regions = Regions::shipped(&log);
    let said = log.take();
    assert!(said.is_empty(), "{:?}", said.iter().map(|said| &said.message).collect::<Vec<_>>());
    regions.iter().cloned().collect()
}

/// The regions of tests/reference/colour/own-regions.toml, read as those of a user's own ruleset.
pub fn own() -> Vec<SourcedRegion> {
    let (sources, log) = (Sources::default(), Log::default());
    let mut loader = Loader::new(&sources, &log, Vec::new());
    loader.add_anywhere(common::root().join("tests/reference/colour/own-regions.toml").to_str().unwrap());
    let rulesets = loader.rulesets;
    let said = log.take();
    assert!(said.iter().all(|said| said.code == "no-rules"), "{}", render(&said, &sources, false));
    let shipped = shipped().len();
    rulesets[0].regions.iter().skip(shipped).cloned().collect()
}

static ALL: LazyLock<Vec<Arc<Region>>> =
    LazyLock::new(|| shipped().into_iter().chain(own()).map(|known| known.region).collect());

pub fn all() -> &'static [Arc<Region>] {
    &ALL
}

pub fn region(id: &str) -> &'static Region {
    all().iter().find(|region| region.id == id).unwrap_or_else(|| panic!("no region {id}"))
}

/// The nearest chromaticity on this side of the locus. The z of the tables is rounded, so that from 590 to 650 nm the
/// locus is not quite convex, and a sum over a lamp's spectrum may lie a hair outside.
pub fn possible(locus: &Locus, point: Chromaticity) -> Chromaticity {
    match locus.beyond(point) {
        Some((distance, near)) => {
            assert!(distance.value() < 3e-5, "{point:?} lies {distance:?} outside the locus");
            near
        }
        None => point,
    }
}

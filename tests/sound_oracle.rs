//! Sound against libraries of other people, on random cases: `tests/reference/sound_library.py` draws them and has them
//! computed by the Python packages acoustic-toolbox and pyfar, of one version each. And the levels round whole vehicles
//! against `tests/reference/sound_around.py`, which has readers and a geometry of its own.
//!
//! It needs the Python that the variable WAYPROOF_PYTHON names, with these packages; without it this says that it was
//! skipped. The bound is [`BOUND`] in decibels, absolute, on the level or loss that is asked for: of air that is the
//! loss over the whole distance, up to 500 dB, not the loss per kilometre.

mod common;

use std::collections::HashMap;

use common::oracle::rows_of;
use common::{load_file, root};
use wayproof::measure::Conduct;
use wayproof::measure::sound::{Span, Voice, exposure, level_of, ring};
use wayproof::sound::{Air, a_weighting, add_incoherent};
use wayproof::units::{Celsius, Kilopascal, Length, Share, SoundLevel};

type Row = HashMap<String, String>;

const BOUND: f64 = 1e-5;
const CASES: usize = 500;

fn cases_of(kind: &str) -> Option<Vec<Row>> {
    rows_of("sound_library.py", &[kind])
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column}: {}", row[column]))
}

/// Every row within the bound, and as many of them as were drawn; the results that were asked for, in rising order.
fn compared(rows: &[Row], found: impl Fn(&Row) -> f64) -> Vec<f64> {
    assert_eq!(rows.len(), CASES);
    for row in rows {
        let off = found(row) - number(row, "db");
        assert!(off.abs() <= BOUND, "{row:?}: {} ({off} off)", found(row));
    }
    let mut results: Vec<f64> = rows.iter().map(|row| number(row, "db")).collect();
    results.sort_by(f64::total_cmp);
    results
}

#[test]
fn what_air_takes_is_what_a_library_says_at_any_pressure() {
    let Some(rows) = cases_of("air") else { return };
    let losses = compared(&rows, |row| {
        let air = Air {
            temperature: Celsius::new(number(row, "celsius")),
            humidity: Share::new(number(row, "percent") / 100.0),
            pressure: Kilopascal::new(number(row, "kilopascal")),
        };
        air.absorbs(number(row, "hertz"), Length::new(number(row, "metres"))).value()
    });
    // The cases reach from next to nothing to 500 dB, and from thin air to dense.
    let count = |holds: fn(f64) -> bool| losses.iter().filter(|loss| holds(**loss)).count();
    assert!(losses[0] > 0.0 && losses[CASES - 1] <= 500.0, "{} to {}", losses[0], losses[CASES - 1]);
    assert!(count(|loss| loss < 1.0) >= 10 && count(|loss| loss > 100.0) >= 100 && count(|loss| loss > 400.0) >= 10);
    let pressures = rows.iter().map(|row| number(row, "kilopascal"));
    assert!(pressures.clone().fold(f64::INFINITY, f64::min) < 65.0 && pressures.fold(0.0, f64::max) > 105.0);
}

#[test]
fn levels_add_up_as_a_library_adds_them() {
    let Some(rows) = cases_of("sums") else { return };
    let levels = |row: &Row| -> Vec<SoundLevel> {
        row["levels"].split(' ').map(|level| SoundLevel::new(level.parse().unwrap())).collect()
    };
    compared(&rows, |row| add_incoherent(levels(row)).unwrap().value());
    for count in 2..=6 {
        assert!(rows.iter().any(|row| levels(row).len() == count), "{count} levels");
    }
}

/// Nothing here subtracts levels: what the library leaves of a level and what it took off are that level again.
#[test]
fn what_a_library_takes_off_adds_up_to_the_whole_again() {
    let Some(rows) = cases_of("differences") else { return };
    assert_eq!(rows.len(), CASES);
    for row in &rows {
        let parts = ["part", "db"].map(|column| SoundLevel::new(number(row, column)));
        let off = add_incoherent(parts).unwrap().value() - number(row, "whole");
        assert!(off.abs() <= BOUND, "{row:?}: {off} off");
    }
}

#[test]
fn the_a_weighting_is_the_curve_of_a_library() {
    let Some(rows) = cases_of("weights") else { return };
    let weights = compared(&rows, |row| a_weighting(number(row, "hertz")).value());
    assert!(weights[0] < -65.0 && weights[CASES - 1] > 1.2, "{} to {}", weights[0], weights[CASES - 1]);
}

/// The library that is right about air has the standard's table alone, printed to 0.1 dB: the bound is its rounding.
#[test]
fn the_a_weighting_rounds_to_a_librarys_table() {
    let Some(rows) = cases_of("midbands") else { return };
    assert_eq!(rows.len(), 34);
    for row in &rows {
        let off = a_weighting(number(row, "hertz")).value() - number(row, "db");
        assert!(off.abs() <= 0.05, "{row:?}: {off} off");
    }
}

/// Whole vehicles: each sounding at each place of the ring, each part of each exposure at the ear. Levels agree to
/// 1e-6 dB, silence and unknown alike.
#[test]
fn levels_round_the_demo_vehicles_are_those_of_an_independent_program() {
    let packages = ["rescue-4", "brush-2", "medic-6", "medic-6-sound-faults", "amber-9"];
    let files: Vec<String> = packages.iter().map(|name| format!("demo-data/{name}/package.toml")).collect();
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    let Some(rows) = rows_of("sound_around.py", &files) else { return };
    let ends = |row: &Row| [number(row, "low"), number(row, "high")];
    let agree = |found: Span, row: &Row| {
        for (found, expected) in [found.low, found.high].into_iter().zip(ends(row)) {
            assert!(found == expected || (found - expected).abs() < 1e-6, "{row:?}: {found}");
        }
    };
    let mut compared = 0;
    for file in files {
        let (package, _) = load_file(&root().join(file), &["zones-one-level"]);
        let conduct = Conduct::new(&package);
        let side = &package.sound;
        let here: Vec<&Row> = rows.iter().filter(|row| row["package"] == file).collect();
        for (at, sounding) in side.soundings.iter().enumerate() {
            let voice = |(sounder, sheet): &(usize, usize)| Voice { sounder: *sounder, sheet: *sheet, sounding: at };
            let voices: Vec<Voice> = sounding.rows.iter().map(voice).collect();
            for (bearing, place) in ring(Length::new(15.24), Length::new(1.2), 45) {
                let is_it = |row: &&&Row| {
                    row["where"] == "ring" && row["what"] == sounding.id && number(row, "at") == bearing.value()
                };
                agree(
                    level_of(&conduct, &voices, place).unwrap(),
                    here.iter().find(is_it).unwrap_or_else(|| panic!("{file} {}", sounding.id)),
                );
                compared += 1;
            }
        }
        for one in &side.exposures {
            for (at, part) in exposure(&conduct, one).iter().enumerate() {
                let is_it = |row: &&&Row| row["where"] == "ear" && row["what"] == one.id && row["at"] == at.to_string();
                agree(part.level, here.iter().find(is_it).unwrap_or_else(|| panic!("{file} {}", one.id)));
                compared += 1;
            }
        }
    }
    assert_eq!(compared, rows.len());
    assert!(compared > 150, "{compared}");
}

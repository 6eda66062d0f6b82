//! The reference tables of the electrical side, and what several tests compute from them.

#![allow(dead_code)] // Each test file uses its own part of this.

use std::collections::HashMap;

use wayproof::electrical::{CurrentTrain, Size, Strand, Wire};
use wayproof::units::{Celsius, Length, Micros};

use super::{root, rows};

pub type Row = HashMap<String, String>;

pub fn table(name: &str) -> Vec<Row> {
    rows(&root().join("tests/reference/electrical").join(name))
}

pub fn figure(row: &Row, column: &str) -> Option<f64> {
    let text = row.get(column).unwrap_or_else(|| panic!("no column {column}"));
    (!text.is_empty()).then(|| text.parse().unwrap_or_else(|_| panic!("{column}: {text}")))
}

/// As printed: within half of the last digit. Up to two decimals are taken to be the whole value, whose noughts were
/// left out.
pub fn as_printed(found: f64, printed: &str) -> bool {
    let decimals = printed.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let half = if decimals <= 2 { 1e-9 } else { 0.5 * 0.1_f64.powi(i32::try_from(decimals).unwrap()) };
    (found - printed.parse::<f64>().unwrap()).abs() <= half * (1.0 + 1e-6)
}

/// The same, but never more of the digits than there are: noughts that were left out stand for up to `decimals`.
pub fn to_decimals(found: f64, printed: &str, decimals: i32) -> bool {
    (found - printed.parse::<f64>().unwrap()).abs() <= 0.5 * 0.1_f64.powi(decimals) * (1.0 + 1e-6)
}

pub const FOOT: f64 = 0.3048;
pub const GALLON: f64 = 3.785_411_784;

pub fn wire(size: Size, metres: f64, strand: Strand, degrees: f64) -> Wire {
    Wire { size, length: Length::new(metres), strand, temperature: Celsius::new(degrees) }
}

/// Of a kilometre of one conductor: half of it there, half back.
pub fn per_km(size: Size, strand: Strand, degrees: f64) -> f64 {
    wire(size, 500.0, strand, degrees).resistance().value()
}

/// The same current later by a phase.
pub fn delayed(train: &CurrentTrain, phase: Micros) -> CurrentTrain {
    let period = train.period().get();
    let phase = phase.get().rem_euclid(period);
    // What the delay carries over the end comes first.
    let (mut first, mut rest, mut start) = (Vec::new(), Vec::new(), 0);
    for (end, current) in train.steps() {
        let (begins, ends) = (start + phase, end.get() + phase);
        if ends > period {
            first.push((Micros::new(ends - period), current));
        }
        if begins < period {
            rest.push((Micros::new(ends.min(period)), current));
        }
        start = end.get();
    }
    CurrentTrain::stepping(if phase == 0 { rest } else { first.into_iter().chain(rest).collect() })
}

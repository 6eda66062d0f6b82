//! Figures read back from their drawings: what is drawn of a package, and where its marks lie.

#![allow(dead_code)] // Each test file uses its own part of this.

use wayproof::judge::{Finding, Found, Terms, judge};
use wayproof::measure::Conduct;
use wayproof::report::figures::{CENTRE, Drawings};
use wayproof::report::{Figure, Mark, Report};

use super::case::{beams, files};
use super::{folder, load_file, root, terms};

pub const DEMOS: &[&str] = &[
    "rescue-4",
    "rescue-4-logic-faults",
    "brush-2",
    "brush-2-faults",
    "brush-2-power-faults",
    "medic-6",
    "medic-6-sound-faults",
    "amber-9",
];

/// A package drawn.
pub fn drawn<T>(path: &std::path::Path, terms: Terms, look: impl FnOnce(&Report<'_>, &Drawings<'_>) -> T) -> T {
    let (package, rulesets) = load_file(path, &[]);
    let conduct = Conduct::new(&package);
    let judged = judge(&conduct, &rulesets, terms);
    let report = Report {
        conduct: &conduct,
        rulesets: &rulesets,
        judged: &judged,
        as_of: terms.as_of,
        only: &[],
        advice: true,
        width: 100,
    };
    look(&report, &Drawings::of(&report))
}

pub fn demo<T>(name: &str, look: impl FnOnce(&Report<'_>, &Drawings<'_>) -> T) -> T {
    drawn(&root().join("demo-data").join(name).join("package.toml"), terms(), look)
}

pub fn case<T>(package: &str, rules: &str, look: impl FnOnce(&Report<'_>, &Drawings<'_>) -> T) -> T {
    case_on(package, rules, terms(), look)
}

/// The same on other terms.
pub fn case_on<T>(package: &str, rules: &str, terms: Terms, look: impl FnOnce(&Report<'_>, &Drawings<'_>) -> T) -> T {
    let beams = beams();
    let (_dir, path) = folder(&files(package, rules, &beams));
    drawn(&path, terms, look)
}

/// All figures, in the order of their kinds.
pub fn all(drawings: &Drawings<'_>) -> Vec<Figure> {
    let polars = drawings.polars().into_iter().map(|one| one.figure);
    let strips = drawings.strips().into_iter().map(|one| one.figure);
    let rest = drawings.layout().figures.into_iter().chain(drawings.currents());
    polars
        .chain(strips)
        .chain(rest)
        .chain(drawings.circuit_use())
        .chain(drawings.batteries())
        .chain(drawings.sound())
        .collect()
}

/// The corners of a path.
pub fn corners(d: &str) -> Vec<(f64, f64)> {
    let (mut points, mut at) = (Vec::new(), (0.0, 0.0));
    let starts: Vec<usize> = d.char_indices().filter(|(_, c)| c.is_ascii_alphabetic()).map(|(at, _)| at).collect();
    for (one, from) in starts.iter().enumerate() {
        let to = starts.get(one + 1).copied().unwrap_or(d.len());
        let numbers: Vec<f64> = d[from + 1..to].split_whitespace().map(|text| text.parse().unwrap()).collect();
        match (&d[*from..=*from], &numbers[..]) {
            ("M" | "L", [x, y]) => at = (*x, *y),
            ("H", [x]) => at.0 = *x,
            ("V", [y]) => at.1 = *y,
            ("Z", []) => continue,
            other => panic!("{other:?} in {d}"),
        }
        points.push(at);
    }
    points
}

/// The corners of all paths of a class.
pub fn of_class(figure: &Figure, wanted: &str) -> Vec<Vec<(f64, f64)>> {
    let path = |mark: &Mark| match mark {
        Mark::Path { d, class } if *class == wanted => Some(corners(d)),
        _ => None,
    };
    figure.marks.iter().filter_map(path).collect()
}

/// Where texts stand, what they say, and their class.
pub fn texts(figure: &Figure) -> Vec<(f64, f64, &str, &'static str)> {
    let mut found = Vec::new();
    for mark in &figure.marks {
        if let Mark::Text { x, y, text, class, .. } = mark {
            found.push((*x, *y, text.as_str(), *class));
        }
    }
    found
}

pub fn number(finding: &Finding) -> Option<f64> {
    match finding.found {
        Found::Number(number) => Some(finding.unit.to_base(number)),
        _ => None,
    }
}

/// The radius of a point of a plot.
pub fn radius((x, y): (f64, f64)) -> f64 {
    (x - CENTRE.0).hypot(y - CENTRE.1)
}

/// The place of a bearing at a radius, front up, clockwise.
pub fn at(bearing: f64, radius: f64) -> (f64, f64) {
    let turn = bearing.to_radians();
    (CENTRE.0 + radius * turn.sin(), CENTRE.1 - radius * turn.cos())
}

pub fn is_near(one: (f64, f64), other: (f64, f64)) -> bool {
    (one.0 - other.0).hypot(one.1 - other.1) < 0.02
}

pub const RULES: &str = r#"
[[rule]]
id = "total"
says = "a case"
quantity = "zone-total-optical-power"
unit = "cd.s/min"
require = "at-least"
cite = { own = "a case" }
limits = [{ purpose = "calling", level = "lower", zones = { A = 57000 } }]
[[rule]]
id = "least"
says = "a case"
quantity = "least-point-optical-power"
unit = "cd.s/min"
require = "at-least"
cite = { own = "a case" }
limits = [{ purpose = "calling", level = "lower", zones = { A = 1000 } }]
"#;

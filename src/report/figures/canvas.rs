//! A sheet to draw on: it rounds what is drawn to hundredths, and leaves out what is no number, so that no path ever
//! holds one that a browser cannot read.

use super::super::paper::{Anchor, Figure, Mark};

/// A drawing that is being made.
#[derive(Debug)]
pub(super) struct Canvas {
    width: f64,
    marks: Vec<Mark>,
}

/// A point in user units.
pub(super) type Point = (f64, f64);

/// About how wide a letter of the drawings is, in user units at 11 px.
pub(super) const LETTER: f64 = 6.0;

fn round(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

fn are_numbers(values: &[f64]) -> bool {
    values.iter().all(|value| value.is_finite())
}

/// How wide a text comes out, about.
pub(super) fn text_width(text: &str) -> f64 {
    text.chars().map(|_| LETTER).sum()
}

/// Between ticks of time, in microseconds: a round figure that leaves no more than `most` steps up to a second each.
pub(super) fn time_step(shown: i64, most: i64) -> i64 {
    let steps = [10_000, 20_000, 50_000, 100_000, 200_000, 500_000];
    steps.into_iter().find(|step| shown / step <= most).unwrap_or(1_000_000)
}

/// A text cut to a width, with dots where something was left out.
pub(super) fn fit(text: &str, width: f64) -> String {
    if text_width(text) <= width {
        return text.to_owned();
    }
    let mut cut = String::new();
    for letter in text.chars() {
        if text_width(&cut) + 4.0 * LETTER > width {
            break;
        }
        cut.push(letter);
    }
    format!("{}...", cut.trim_end())
}

impl Canvas {
    pub fn new(width: f64) -> Self {
        Self { width, marks: Vec::new() }
    }

    pub fn line(&mut self, (x1, y1): Point, (x2, y2): Point, class: &'static str) {
        if are_numbers(&[x1, y1, x2, y2]) {
            self.marks.push(Mark::Line { x1: round(x1), y1: round(y1), x2: round(x2), y2: round(y2), class });
        }
    }

    /// A line through points; nothing where there are fewer than two.
    pub fn through(&mut self, points: &[Point], class: &'static str) {
        if points.len() > 1 && points.iter().all(|(x, y)| are_numbers(&[*x, *y])) {
            self.marks.push(Mark::through(points, false, class));
        }
    }

    pub fn circle(&mut self, (x, y): Point, r: f64, class: &'static str) {
        if are_numbers(&[x, y, r]) && r > 0.0 {
            self.marks.push(Mark::Circle { x: round(x), y: round(y), r: round(r), class });
        }
    }

    /// A box from its upper left corner.
    pub fn rect(&mut self, (x, y): Point, width: f64, height: f64, class: &'static str) {
        if are_numbers(&[x, y, width, height]) && width >= 0.0 && height >= 0.0 {
            let (width, height) = (round(width), round(height));
            self.marks.push(Mark::Rect { x: round(x), y: round(y), width, height, class });
        }
    }

    /// Boxes on one base line as one path: each from where to where, and how high.
    pub fn bars(&mut self, base: f64, bars: &[(f64, f64, f64)], class: &'static str) {
        let (mut d, base) = (String::new(), round(base));
        for (from, to, high) in bars {
            if are_numbers(&[*from, *to, *high, base]) {
                let (from, to, top) = (round(*from), round(*to), round(base - high));
                d.push_str(&format!("M{from} {base}V{top}H{to}V{base}Z"));
            }
        }
        if !d.is_empty() {
            self.marks.push(Mark::Path { d, class });
        }
    }

    pub fn text(&mut self, (x, y): Point, anchor: Anchor, text: impl Into<String>, class: &'static str) {
        if are_numbers(&[x, y]) {
            self.marks.push(Mark::Text { x: round(x), y: round(y), anchor, text: text.into(), class });
        }
    }

    /// Lines of text from a point down, broken where they would leave the sheet; the height after the last.
    pub fn lines(&mut self, (x, y): Point, text: &str, class: &'static str) -> f64 {
        let room = self.width - x;
        let (mut y, mut line) = (y, String::new());
        for word in text.split_whitespace() {
            if !line.is_empty() && text_width(&line) + text_width(word) + LETTER > room {
                self.text((x, y), Anchor::Start, std::mem::take(&mut line), class);
                y += 14.0;
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        self.text((x, y), Anchor::Start, line, class);
        y + 14.0
    }

    /// The finished drawing.
    pub fn figure(self, id: String, title: String, description: String, height: f64) -> Figure {
        Figure { id, title, description, width: round(self.width), height: round(height), marks: self.marks }
    }
}

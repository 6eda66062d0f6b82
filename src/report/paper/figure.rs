//! Drawings in a document: marks in user units, with a title and a description for those who cannot see them. The
//! template `figure.html` writes them as SVG, and escapes every text as it does elsewhere.

use serde::Serialize;

/// A drawing.
#[derive(Debug, Serialize)]
pub struct Figure {
    /// Names it within the document.
    pub id: String,
    /// What it shows.
    pub title: String,
    /// The same as it would be told on the telephone.
    pub description: String,
    /// User units from left to right.
    pub width: f64,
    /// User units from top to bottom.
    pub height: f64,
    /// What is drawn, from behind to front.
    pub marks: Vec<Mark>,
}

/// Where a text stands to its point.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Anchor {
    /// It begins there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// One thing that is drawn, in user units; `class` is one of the style sheet's.
#[allow(missing_docs)] // They are called as in SVG.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Mark {
    Line {
        x1: f64,
        y1: f64,
        x2: f64,
        y2: f64,
        class: &'static str,
    },
    /// A path in SVG's own letters, made of numbers only.
    Path {
        d: String,
        class: &'static str,
    },
    Circle {
        x: f64,
        y: f64,
        r: f64,
        class: &'static str,
    },
    Rect {
        x: f64,
        y: f64,
        width: f64,
        height: f64,
        class: &'static str,
    },
    Text {
        x: f64,
        y: f64,
        anchor: Anchor,
        text: String,
        class: &'static str,
    },
}

impl Mark {
    /// A path through points, in user units; `closed` joins the last to the first.
    pub fn through(points: &[(f64, f64)], closed: bool, class: &'static str) -> Self {
        let mut d = String::new();
        for (at, (x, y)) in points.iter().enumerate() {
            d.push_str(&format!("{}{x:.2} {y:.2}", if at == 0 { "M" } else { "L" }));
        }
        if closed {
            d.push('Z');
        }
        Self::Path { d, class }
    }
}

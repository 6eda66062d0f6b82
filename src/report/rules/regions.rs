//! `rules show colour-regions`: the colour regions that come with the tool, corner by corner, each edge with its source.

use crate::colour::{Chromaticity, Edge, Path};
use crate::report::text::{heading, paragraph};
use crate::ruleset::{Regions, SourcedRegion};

/// All of them.
pub fn show_regions(regions: &Regions, width: u16) -> String {
    let mut out = String::new();
    let head = "colour-regions: regions of the CIE 1931 x, y diagram (2-degree observer) that documents give for the \
                colours of lamps. Rules name them in `chromaticity-regions`; what is inside is wanted, and the edges \
                belong to it.";
    paragraph(head, "  ", width, &mut out);
    heading("Regions", width, &mut out);
    regions.iter().for_each(|region| one(region, width, &mut out));
    out
}

/// A piece of a border, and the edge it belongs to.
type Piece<'r> = (Chromaticity, Chromaticity, &'r Edge);

/// Pieces nearer to each other than this meet.
const MEET: f64 = 1e-6;

/// Closed outlines, in each of which a piece begins where the one before it ends: areas that are joined have one where
/// they overlap, and else one each.
fn outlines(border: Vec<Piece<'_>>) -> Vec<Vec<Piece<'_>>> {
    let meet = |one: &Chromaticity, other: &Chromaticity| one.distance(*other).value() < MEET;
    // What bounds both of two joined areas stands there twice.
    let mut pieces: Vec<Piece<'_>> = Vec::new();
    for piece in border {
        if !pieces.iter().any(|(from, to, _)| meet(from, &piece.0) && meet(to, &piece.1)) {
            pieces.push(piece);
        }
    }
    let mut outlines: Vec<Vec<Piece<'_>>> = Vec::new();
    while !pieces.is_empty() {
        let mut outline = vec![pieces.remove(0)];
        while let Some((_, end, _)) = outline.last() {
            let follows = |(from, ..): &Piece<'_>| meet(from, end);
            let Some(next) = pieces.iter().position(follows) else { break };
            outline.push(pieces.remove(next));
        }
        outlines.push(outline);
    }
    outlines
}

fn one(sourced: &SourcedRegion, width: u16, out: &mut String) {
    let (title, lines) = described(sourced);
    out.push('\n');
    paragraph(&title, "  ", width, out);
    lines.iter().for_each(|line| paragraph(&format!("  {line}"), "    ", width, out));
}

/// A region in words: what it is called, then where each edge begins and how it runs, then its sources.
pub(in crate::report) fn described(sourced: &SourcedRegion) -> (String, Vec<String>) {
    let region = &sourced.region;
    let title = format!("{}: {} [{}]", region.id, region.title, sourced.basis().word());
    let mut lines: Vec<String> = Vec::new();
    let outlines = outlines(region.border().collect());
    for (at, outline) in outlines.iter().enumerate() {
        if outlines.len() > 1 {
            lines.push(format!("outline {} of {}", at + 1, outlines.len()));
        }
        // Where one edge ends and the next begins; pieces of the locus lie between.
        let mut last: Option<&str> = None;
        for (from, _, edge) in outline {
            if last == Some(edge.name.as_str()) {
                continue;
            }
            last = Some(edge.name.as_str());
            let path = match edge.path {
                Path::Straight(_) => "straight",
                Path::Locus => "along the spectral locus",
            };
            lines.push(format!("from ({:.4}, {:.4}): {} edge, {path}", from.x, from.y, edge.name));
        }
    }
    let mut said: Vec<String> = Vec::new();
    for cite in std::iter::once(&sourced.source).chain(&sourced.edges) {
        let line = format!("Source: {} [{}]", cite.in_words(), cite.basis.word());
        if !said.contains(&line) {
            said.push(line);
        }
    }
    lines.extend(said);
    (title, lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two squares side by side, their edges in no order.
    #[test]
    fn areas_that_do_not_meet_have_an_outline_each() {
        let edge = Edge { name: "edge".to_owned(), path: Path::Locus };
        let square = |x: f64| {
            let corners = [(x, 0.1), (x + 0.1, 0.1), (x + 0.1, 0.2), (x, 0.2)].map(|(x, y)| Chromaticity { x, y });
            [3, 0, 2, 1].map(|at: usize| (corners[at], corners[(at + 1) % 4], &edge))
        };
        let [one, other] = [square(0.1), square(0.4)];
        // One side twice, as where areas that are joined share it.
        let apart = outlines([&one[..], &other[..], &one[..1]].concat());
        assert_eq!(apart.iter().map(Vec::len).collect::<Vec<_>>(), [4, 4]);
        for outline in apart {
            let ends = outline.iter().cycle().skip(1).map(|(from, ..)| *from);
            assert!(outline.iter().zip(ends).all(|((_, to, _), next)| *to == next));
        }
    }
}

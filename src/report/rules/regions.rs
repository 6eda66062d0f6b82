//! `rules show colour-regions`: the colour regions that come with the tool, corner by corner, each edge with its source.

use crate::colour::Path;
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

fn one(sourced: &SourcedRegion, width: u16, out: &mut String) {
    let region = &sourced.region;
    out.push('\n');
    paragraph(&format!("{}: {} [{}]", region.id, region.title, sourced.basis().word()), "  ", width, out);
    // Where one edge ends and the next begins; pieces of the locus lie between.
    let mut last: Option<&str> = None;
    for (from, _, edge) in region.border() {
        if last == Some(edge.name.as_str()) {
            continue;
        }
        last = Some(edge.name.as_str());
        let path = match edge.path {
            Path::Straight(_) => "straight",
            Path::Locus => "along the spectral locus",
        };
        let line = format!("  from ({:.4}, {:.4}): {} edge, {path}", from.x, from.y, edge.name);
        paragraph(&line, "    ", width, out);
    }
    let mut said: Vec<String> = Vec::new();
    for cite in std::iter::once(&sourced.source).chain(&sourced.edges) {
        let line = format!("  Source: {} [{}]", cite.in_words(), cite.basis.word());
        if !said.contains(&line) {
            paragraph(&line, "    ", width, out);
            said.push(line);
        }
    }
}

//! A bid as one self-contained HTML file: clauses by heading, acceptance, and the matrix for the bidder.

use serde::Serialize;

use super::grid::{Grid, grid};
use super::{BidPaper, before, by_heading, colours, demanded, layouts, parts, warnings, weight};
use crate::bid::{Bid, Clause};
use crate::report::paper::in_html_of;

#[derive(Serialize)]
struct Own {
    warnings: Vec<String>,
    rests_on: Vec<String>,
    layouts: Vec<(String, Vec<String>)>,
    regions_say: &'static str,
    regions: Vec<(String, Vec<String>)>,
    headings: Vec<Heading>,
    free: Vec<String>,
    acceptance: Vec<(&'static str, String)>,
    matrix: Vec<Line>,
}

#[derive(Serialize)]
struct Heading {
    id: &'static str,
    title: &'static str,
    clauses: Vec<One>,
}

#[derive(Serialize)]
struct One {
    id: String,
    anchor: String,
    weight: &'static str,
    says: String,
    /// The only limit, in words; a table otherwise.
    alone: Option<String>,
    grid: Option<Grid>,
    parts: Vec<(&'static str, String)>,
}

#[derive(Serialize)]
struct Line {
    id: String,
    anchor: String,
    asked: String,
    limit: String,
    paper: String,
}

pub(super) fn write(paper: &BidPaper<'_>) -> Result<Vec<u8>, String> {
    let bid = paper.bid;
    let mut headings = Vec::new();
    let mut matrix = Vec::new();
    let mut many = 0_usize;
    for (heading, clauses) in by_heading(bid) {
        let mut shown = Vec::new();
        for clause in clauses {
            many += 1;
            // Ids may hold letters that no anchor may: a number does not.
            let anchor = format!("clause-{many}");
            matrix.push(line(clause, &anchor));
            shown.push(one(bid, clause, anchor));
        }
        headings.push(Heading { id: heading.word(), title: heading.title(), clauses: shown });
    }
    let said = |text: &Option<String>| text.clone().unwrap_or_else(|| "not said".to_owned());
    let mut acceptance: Vec<(&'static str, String)> = bid
        .acceptance
        .parts()
        .iter()
        .map(|(key, text)| (if *key == "signed-by" { "signed by" } else { *key }, said(text)))
        .collect();
    acceptance.push(("which word goes first", bid.precedence.join(", then ")));
    acceptance.push(("something else that is as good", said(&bid.equals)));
    let free = bid.free.iter().map(|free| {
        let basis = free.basis.map(|basis| format!(" [{}]", basis.word())).unwrap_or_default();
        format!("{} Source: {}{basis}", free.says, free.source.as_deref().unwrap_or("not said"))
    });
    let own = Own {
        warnings: warnings(bid),
        rests_on: bid.rests_on.clone(),
        layouts: layouts(bid),
        regions_say: colours::REGIONS,
        regions: colours::regions(paper),
        headings,
        free: free.collect(),
        acceptance,
        matrix,
    };
    in_html_of("bid.html", bid.title.as_deref().unwrap_or("Requirements of a bid"), paper.as_of, paper.inputs, own)
}

fn one(bid: &Bid, clause: &Clause, anchor: String) -> One {
    let alone = match clause.rows.as_slice() {
        [] => Some("not said".to_owned()),
        [alone] => Some(format!("{}{}", before(alone), demanded(clause, alone.demand.as_ref()))),
        _ => None,
    };
    let grid = alone.is_none().then(|| grid(clause));
    One {
        id: clause.id.clone(),
        anchor,
        weight: weight(clause),
        says: clause.says.clone(),
        alone,
        grid,
        parts: parts(bid, clause),
    }
}

fn line(clause: &Clause, anchor: &str) -> Line {
    let limits = match clause.rows.as_slice() {
        [alone] => format!("{}{}", before(alone), demanded(clause, alone.demand.as_ref())),
        [] => "not said".to_owned(),
        rows => format!("{} limits: see the clause", rows.len()),
    };
    Line {
        id: clause.id.clone(),
        anchor: anchor.to_owned(),
        asked: clause.says.clone(),
        limit: limits,
        paper: clause.paper.clone().unwrap_or_else(|| "not said".to_owned()),
    }
}

//! The matrix that a bidder fills in, as CSV: one row a limit, the last columns empty; at the end what it was made from.

use super::{BidPaper, by_heading, figure, holds, sign, unit_of};
use crate::report::csv_rows::as_text;
use crate::report::paper::made_from;
use crate::ruleset::Basis;

/// What stands in the file, and, empty, what the bidder writes.
const HEADER: [&str; 16] = [
    "clause",
    "strength",
    "asked",
    "found",
    "where",
    "comparison",
    "limit",
    "unit",
    "proof",
    "paper",
    "source",
    "basis",
    "complies",
    "figure_offered",
    "paper_offered",
    "deviation",
];

pub(super) fn write(paper: &BidPaper<'_>) -> Result<Vec<u8>, String> {
    let mut rows = vec![HEADER.map(str::to_owned)];
    for (_, clauses) in by_heading(paper.bid) {
        for clause in clauses {
            let line = |place: String, limit: String, source: &str, basis: Option<Basis>| {
                [
                    clause.id.clone(),
                    clause.strength.word().to_owned(),
                    clause.says.clone(),
                    super::found(paper.bid, clause).unwrap_or_default(),
                    place,
                    sign(clause).to_owned(),
                    limit,
                    unit_of(clause).to_owned(),
                    clause.proof.map(crate::bid::Proof::word).unwrap_or_default().to_owned(),
                    clause.paper.clone().unwrap_or_default(),
                    source.to_owned(),
                    basis.map(Basis::word).unwrap_or_default().to_owned(),
                    String::new(),
                    String::new(),
                    String::new(),
                    String::new(),
                ]
            };
            for row in &clause.rows {
                let limit = figure(row.demand.as_ref());
                let source = clause.source_of(row).unwrap_or_default();
                rows.push(line(holds(row), limit, source, clause.basis_of(row)));
            }
            if clause.rows.is_empty() {
                rows.push(line(
                    String::new(),
                    "not said".to_owned(),
                    clause.source.as_deref().unwrap_or_default(),
                    clause.basis,
                ));
            }
        }
    }
    let mut bytes = written(&rows)?;
    // Remarks to whoever fills it in, and the files: they stand behind the rows, one cell each.
    let said = ["complies: yes, no, or with deviation; a deviation states what its clause asks of it"];
    let remarks = said.iter().map(|said| (*said).to_owned());
    let notes = paper.bid.rests_on.iter().cloned().chain(super::warnings(paper.bid)).chain(remarks);
    let regions = super::colours::regions(paper);
    let head = (!regions.is_empty()).then(|| super::colours::REGIONS.to_owned());
    let regions = regions.into_iter().map(|(title, lines)| format!("{title}: {}", lines.join("; ")));
    let notes = notes.chain(head).chain(regions.collect::<Vec<_>>());
    let lines = notes.chain(made_from(paper.inputs).lines().map(str::to_owned).collect::<Vec<_>>());
    let lines: Vec<[String; 1]> = lines.map(|line| [line]).collect();
    bytes.extend(written(&lines)?);
    Ok(bytes)
}

fn written<const N: usize>(rows: &[[String; N]]) -> Result<Vec<u8>, String> {
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for row in rows {
        let pad = HEADER.len().saturating_sub(N);
        let cells = row.iter().map(|cell| as_text(cell)).chain(std::iter::repeat_n(String::new(), pad));
        writer.write_record(cells).map_err(|error| error.to_string())?;
    }
    writer.into_inner().map_err(|error| error.to_string())
}

//! `rules`: what comes with the tool, what each is for, and how sure its limits are.

use comfy_table::{CellAlignment, Table, presets};

use super::counts;
use crate::report::text::{heading, paragraph};
use crate::ruleset::{BASES, Ruleset};

/// One row a ruleset.
pub fn list(rulesets: &[Ruleset], width: u16) -> String {
    let mut out = String::new();
    heading("Rulesets that come with the tool", width, &mut out);
    for ruleset in rulesets {
        let about = ruleset.about.as_deref().unwrap_or(&ruleset.title);
        out.push('\n');
        paragraph(&ruleset.id, "", width, &mut out);
        paragraph(&format!("    {about}"), "    ", width, &mut out);
    }
    out.push('\n');
    paragraph("colour-regions", "", width, &mut out);
    let about = "    No ruleset by itself: regions of the x, y diagram for the colours of lamps, which others name.";
    paragraph(about, "    ", width, &mut out);
    heading("How many limits, and how they are known", width, &mut out);
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    let header = ["ruleset", "edition", "limits"].into_iter().chain(BASES.iter().map(|(word, _)| *word));
    let header: Vec<&str> = header.chain(["missing"]).collect();
    table.set_header(header.clone());
    for ruleset in rulesets {
        let (known, missing) = counts(ruleset);
        let all: usize = known.iter().map(|(_, many)| many).sum::<usize>() + missing;
        let number = |many: usize| if many == 0 { "-".to_owned() } else { many.to_string() };
        let mut cells = vec![ruleset.id.clone(), ruleset.edition.clone(), number(all)];
        cells.extend(known.iter().map(|(_, many)| number(*many)));
        cells.push(number(missing));
        table.add_row(cells);
    }
    for (at, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, if at + 1 == header.len() { 0 } else { 2 }));
        if at >= 2 {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    for line in table.lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out.push('\n');
    let end = "A limit from memory, or second-hand, is to be compared with your own copy of the document; a missing one is \
               never a pass. `wayproof rules show NAME` prints one with its sources. The authority having jurisdiction \
               decides what applies.";
    paragraph(end, "", width, &mut out);
    out
}

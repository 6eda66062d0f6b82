//! One warning for many heads. A slip in one condition, or in the unit of one column, concerns dozens of heads, and
//! dozens of warnings that say the same hide the one that says why.

use std::collections::{HashMap, HashSet};

use super::Head;
use crate::diagnostic::Diagnostic;

/// Heads, or pairs of a left and a right one, that a message names and marks; the rest are counted.
const MOST_NAMED: usize = 6;

/// A warning about these heads, in the order of the file: `message` gets what they are called, and whether that is
/// several; `label` stands at each place.
pub fn at_heads(
    code: &'static str,
    heads: &[&Head],
    message: impl FnOnce(&str, bool) -> String,
    label: &str,
) -> Diagnostic {
    let entries = pairs(heads);
    let names: Vec<String> = entries.iter().take(MOST_NAMED).map(|(name, _)| format!("`{name}`")).collect();
    let more: usize = entries.iter().skip(MOST_NAMED).map(|(_, heads)| heads.len()).sum();
    let mut names = names.join(", ");
    if more > 0 {
        names = format!("{names} and {more} more");
    }
    let mut warning = Diagnostic::warning(code, message(&names, heads.len() > 1));
    let mut marked = Vec::new();
    for head in entries.iter().take(MOST_NAMED).flat_map(|(_, heads)| heads) {
        // A twin has no line of its own.
        if !marked.contains(&&head.span) {
            marked.push(&head.span);
            warning = warning.at(&head.span, label);
        }
    }
    warning
}

/// The heads by what they are called; a left and a right one of the same name are one, `grille-left/right`.
fn pairs<'h>(heads: &[&'h Head]) -> Vec<(String, Vec<&'h Head>)> {
    let there: HashSet<&str> = heads.iter().map(|head| head.id.as_str()).collect();
    let mut met: HashMap<&str, usize> = HashMap::new();
    let mut entries: Vec<(String, Vec<&Head>)> = Vec::new();
    for head in heads {
        let stem = head.id.strip_suffix("-left").or_else(|| head.id.strip_suffix("-right"));
        let pair = stem.filter(|stem| ["left", "right"].iter().all(|side| there.contains(&*format!("{stem}-{side}"))));
        let Some(stem) = pair else {
            entries.push((head.id.clone(), vec![head]));
            continue;
        };
        match met.get(stem).and_then(|at| entries.get_mut(*at)) {
            Some((_, pair)) => pair.push(head),
            None => {
                met.insert(stem, entries.len());
                entries.push((format!("{stem}-left/right"), vec![head]));
            }
        }
    }
    entries
}

//! What a line asked when its sheet was made, in few letters: so that a yes, or one figure for several heads, is not taken
//! for an answer to what the line asks after the package was changed.

use super::lines::{Answer, Line};
use crate::load::files::sha256;
use crate::package::{Head, Package};

/// Letters of a mark.
const LETTERS: usize = 8;

/// What a mark is written with, a letter for each digit of a hash: no digits, which a spreadsheet would take for a number
/// such as 92874e96 or 0123, and no vowels, which would make words of it.
const ALPHABET: [char; 16] = ['g', 'h', 'j', 'k', 'm', 'n', 'p', 'q', 'r', 's', 't', 'v', 'w', 'x', 'y', 'z'];

/// A mark of a text.
fn letters(text: &str) -> String {
    let digits = sha256(text.as_bytes());
    let digits = digits.chars().filter_map(|digit| usize::try_from(digit.to_digit(16)?).ok());
    digits.filter_map(|digit| ALPHABET.get(digit)).take(LETTERS).collect()
}

/// Whether a line needs one: a figure of one thing says itself what was found.
fn needs(line: &Line) -> bool {
    line.answer == Answer::YesNo || !line.things().is_empty()
}

/// The mark of a line; none where it needs none. It hangs on what the line says, on the things that stand on it, and, where
/// it asks whether these heads are fitted, on what each of them is and where.
pub(super) fn mark(package: &Package, line: &Line) -> Option<String> {
    let of_heads = line.id.starts_with("vehicle:heads@");
    let head = |of: &String| {
        // A serial number stands behind the id.
        let id = of.split(' ').next().unwrap_or_default();
        let known = package.heads.iter().find(|head| head.id == id).filter(|_| of_heads);
        format!("{of} {}", known.map(|head| described(package, head)).unwrap_or_default())
    };
    let heads: Vec<String> = line.of.iter().map(head).collect();
    let text = format!("{}\n{}", line.whole(), heads.join("\n"));
    needs(line).then(|| letters(&text))
}

/// What a person looks at: the model and its maker, the papers of each colour, place and aim.
fn described(package: &Package, head: &Head) -> String {
    let at = head.pose.at();
    let millimetres = [at.x, at.y, at.z].map(|metres| format!("{:.0}", 1e3 * metres));
    let aim =
        [head.aim.faces, head.aim.tilt, head.aim.wedge, head.aim.roll].map(|angle| format!("{:.1}", angle.value()));
    let mut said = vec![millimetres.join(" "), aim.join(" ")];
    if let Some(model) = package.models.get(head.model) {
        said.push(format!("{} {}", model.id, model.maker.as_deref().unwrap_or_default()));
        said.extend(model.emitters.iter().map(|emitter| {
            let (evidence, day) = (&emitter.evidence, emitter.evidence.date.map(|day| day.to_string()));
            let report = evidence.report.as_deref().unwrap_or_default();
            format!("{} {report} {} {}", emitter.colour, day.unwrap_or_default(), evidence.grade.word())
        }));
    }
    said.join("; ")
}

#[cfg(test)]
mod tests {
    use super::letters;

    #[test]
    fn no_mark_is_a_number_a_day_or_a_word() {
        let marks: std::collections::BTreeSet<String> = (0..20_000).map(|at: u32| letters(&at.to_string())).collect();
        assert_eq!(marks.len(), 20_000, "each text has its own");
        for mark in marks {
            assert!(mark.len() == 8 && mark.chars().all(|c| ('g'..='z').contains(&c) && !"iou".contains(c)), "{mark}");
        }
    }
}

//! Lines for what no meter on the vehicle shows: light. Its figures come from a laboratory, so what is shown on the
//! vehicle is that these very heads are fitted, stand and aim as drawn, show the colour and run the pattern that was
//! reckoned with, and that nothing hides them; and at the desk, that the report speaks of this device.

use super::lines::{Answer, Calculated, Line, Stop, side_of, yes};
use super::words::ANSWERS;
use crate::judge::Found;
use crate::package::{Head, Package, Role};
use crate::quantity::Proof;
use crate::ruleset::{Basis, Citation, Require, Strength};
use crate::units::{Dimension, Unit};

const HEADS: &str = "These heads are fitted here, each of this model and with the serial number that is named, standing and aimed as described, showing these colours in these patterns; nothing hides any of them. Where none is named, write it down.";
const PAPERS: &str = "The papers of the model speak of this very model, size, colour, pattern and voltage.";
const SOUNDERS: &str = "These sounders are fitted where and as described, and nothing stands before their openings.";

/// One line a side and model, one a model's papers, and one a model of sounders.
pub(super) fn lines(package: &Package) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut met: Vec<(Stop, usize, Vec<&Head>)> = Vec::new();
    let shown = |at: usize| package.displays.iter().any(|display| display.shows.iter().any(|show| show.head == at));
    for (at, head) in package.heads.iter().enumerate() {
        // What no display lights is no warning device here.
        if head.role != Role::Warning && !shown(at) {
            continue;
        }
        let side = side_of(head);
        match met.iter_mut().find(|(stop, model, _)| *stop == side && *model == head.model) {
            Some((_, _, heads)) => heads.push(head),
            None => met.push((side, head.model, vec![head])),
        }
    }
    for (stop, model, heads) in &met {
        let Some(model) = package.models.get(*model) else { continue };
        let about = format!("{} `{}`, showing {}", heads.len(), model.id, switched(package, heads));
        let of = heads.iter().map(|head| with_serial(head)).collect();
        let hand = "label, place, aim (level to 1 deg unless described otherwise), colour and pattern of each head; step \
                    back and see that nothing stands before it";
        lines.push(question(format!("vehicle:heads@{}/{}", side_word(*stop), model.id), *stop, HEADS, about, of, hand));
    }
    let mut models: Vec<usize> = met.iter().map(|(_, model, _)| *model).collect();
    models.sort_unstable();
    models.dedup();
    for model in models.into_iter().filter_map(|at| package.models.get(at)) {
        let reports = model.emitters.iter().map(|emitter| {
            let report = emitter.evidence.report.as_deref().unwrap_or("no report is named");
            let day = emitter.evidence.date.map(|date| format!(" of {date}")).unwrap_or_default();
            format!("{}: {report}{day} ({})", emitter.colour, emitter.evidence.grade.word())
        });
        let hand = "compare the report with the label: a report on another size, colour or pattern shows nothing";
        let id = format!("vehicle:papers@{}", model.id);
        lines.push(Line {
            proof: Proof::Papers,
            instrument: "papers",
            ..question(id, Stop::Papers, PAPERS, model.id.clone(), reports.collect(), hand)
        });
    }
    for (at, model) in package.sound.models.iter().enumerate() {
        let of: Vec<String> = package
            .sound
            .sounders
            .iter()
            .filter(|sounder| sounder.model == at)
            .map(|sounder| sounder.id.clone())
            .collect();
        if of.is_empty() {
            continue;
        }
        let hand = "label, place and direction; nothing stands before the opening";
        lines.push(question(
            format!("vehicle:sounders@{}", model.id),
            Stop::Sound,
            SOUNDERS,
            model.id.clone(),
            of,
            hand,
        ));
    }
    lines
}

/// A question of our own.
fn question(id: String, stop: Stop, says: &str, about: String, of: Vec<String>, by_hand: &str) -> Line {
    let why = "light and sound of a device are shown in a laboratory; the vehicle shows that it is this device";
    Line {
        findings: Vec::new(),
        limits: Vec::new(),
        quantity: "",
        met: Some(true),
        id,
        stop,
        says: says.to_owned(),
        about,
        of,
        proof: Proof::Look,
        by_hand: by_hand.to_owned(),
        instrument: "eye",
        reckon: None,
        answer: Answer::YesNo,
        require: Require::Only,
        limit: yes(),
        unit: Unit::base(Dimension::Words),
        expected: Found::Words(vec!["yes".to_owned()]),
        is_value: true,
        calculated: Calculated::Value,
        state: None,
        care: Vec::new(),
        beside: None,
        strength: Strength::Required,
        source: Citation::own(why, Basis::Practice),
        excepted: None,
        mark: None,
        volts: None,
        joins: false,
        words: ANSWERS.map(str::to_owned).to_vec(),
        one_word: true,
        signed: false,
    }
}

/// Which colours and patterns the displays give some heads.
fn switched(package: &Package, heads: &[&Head]) -> String {
    let mut shown: Vec<String> = Vec::new();
    for show in package.displays.iter().flat_map(|display| &display.shows) {
        let Some(head) = package.heads.get(show.head).filter(|head| heads.iter().any(|known| known.id == head.id))
        else {
            continue;
        };
        let colour = package.models.get(head.model).and_then(|model| model.emitters.get(show.emitter));
        let colour = colour.map_or("", |emitter| emitter.colour.as_str());
        let pattern = match show.pattern.and_then(|at| package.patterns.get(at)) {
            Some(pattern) => match &pattern.index {
                Some(index) => format!("{colour} in `{}` (index {index})", pattern.id),
                None => format!("{colour} in `{}`", pattern.id),
            },
            None => format!("{colour} steady"),
        };
        if !shown.contains(&pattern) {
            shown.push(pattern);
        }
    }
    if shown.is_empty() { "nothing in any display".to_owned() } else { shown.join(", ") }
}

fn with_serial(head: &Head) -> String {
    // Where the register has none, it is written in by hand.
    format!("{} ({})", head.id, head.serial.as_deref().unwrap_or("serial: ________"))
}

/// A word for ids.
fn side_word(stop: Stop) -> &'static str {
    match stop {
        Stop::Right => "right",
        Stop::Left => "left",
        other => other.word(),
    }
}

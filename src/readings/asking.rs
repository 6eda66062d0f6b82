//! How a line is asked: what is written into it, how a person does it, and the figure that a yes answers.

use super::lines::Answer;
use crate::judge::Finding;
use crate::quantity::{Proof, by_hand, is_seen_at_zero, what_is_written};
use crate::ruleset::{Demand, Require};
use crate::units::{Dimension, digits_apart, format_number};

/// What is written into the line of a finding.
pub(super) fn answer(finding: &Finding, proof: Proof) -> Answer {
    match finding.unit.dimension() {
        Dimension::Words => Answer::Words,
        _ if proof == Proof::Measure && is_seen(finding) => Answer::YesNo,
        _ if proof == Proof::Measure => Answer::Figure,
        Dimension::Heads | Dimension::Sounders | Dimension::Modes => Answer::Count,
        // Nobody counts the states of a controller, or measures what stands in papers.
        _ => Answer::YesNo,
    }
}

/// Whether the limit is the end of what can be, which no reading with an uncertainty shows, and a person sees.
fn is_seen(finding: &Finding) -> bool {
    let at_most = finding.require == Require::AtMost;
    let at_end = finding.limit == Demand::Number(0.0) && (at_most || finding.require == Require::AtLeast);
    at_end && is_seen_at_zero(finding.quantity, at_most)
}

/// How a person does it, and what is written down where that is not plain.
pub(super) fn how(finding: &Finding, answer: Answer, proof: Proof) -> String {
    let by_hand = by_hand(finding.quantity);
    match answer {
        Answer::YesNo if proof == Proof::Measure => format!("{by_hand}; write yes where it is as required, else no"),
        Answer::Figure => match what_is_written(finding.quantity) {
            Some(written) => format!("{by_hand}; {written}"),
            None => by_hand.to_owned(),
        },
        _ => by_hand.to_owned(),
    }
}

/// The figure that is asked where the answer is yes or no; what is counted, or is nothing at all, the rule says itself.
pub(super) fn limit_of(finding: &Finding, answer: Answer) -> Option<String> {
    if answer != Answer::YesNo || finding.counts_things() || is_seen(finding) {
        return None;
    }
    let number = |number: f64| format_number(number, digits_apart(&[number], 3));
    let figure = match (&finding.limit, finding.require) {
        (Demand::Number(0.0), _) => return None,
        (Demand::Number(limit), Require::AtLeast) => format!(">= {}", number(*limit)),
        (Demand::Number(limit), Require::AtMost) => format!("<= {}", number(*limit)),
        (Demand::Number(limit), _) => number(*limit),
        (Demand::Range { from, to }, _) if from == to => number(*from),
        (Demand::Range { from, to }, Require::Outside) => format!("outside {} to {}", number(*from), number(*to)),
        (Demand::Range { from, to }, _) => format!("{} to {}", number(*from), number(*to)),
        _ => return None,
    };
    Some(format!("{figure} {}", finding.unit.symbol()).trim_end().to_owned())
}

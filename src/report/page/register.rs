//! The evidence register of the page: which report says what of which lamp, which serial numbers it stands for, what
//! people state, and what was accepted in writing.

use serde::Serialize;

use crate::package::{Figures, Said};
use crate::report::Report;
use crate::units::format_number;

/// Everything that a figure rests on.
#[derive(Serialize)]
pub(super) struct Register {
    devices: Vec<Device>,
    heads: Vec<Head>,
    statements: Vec<Statement>,
    exceptions: Vec<Exception>,
}

/// One colour of one model that is fitted.
#[derive(Serialize)]
struct Device {
    model: String,
    colour: String,
    grade: &'static str,
    report: String,
    date: String,
    what: String,
    uncertainty: String,
    heads: String,
}

/// One lamp.
#[derive(Serialize)]
struct Head {
    id: String,
    model: String,
    serial: String,
    circuit: String,
    output: String,
}

#[derive(Serialize)]
struct Statement {
    item: String,
    said: String,
    by: String,
    on: String,
    reference: String,
}

#[derive(Serialize)]
struct Exception {
    finding: String,
    accepted_by: String,
    reference: String,
    on: String,
    until: String,
    reason: String,
    /// Whether it holds today.
    stands: &'static str,
}

/// What the figures of a package rest on.
pub(super) fn register(report: &Report<'_>) -> Register {
    let package = report.package();
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let model = |at: usize| package.models.get(at);
    let mut devices = Vec::new();
    for (at, model) in package.models.iter().enumerate() {
        let fitted = package.heads.iter().filter(|head| head.model == at);
        let heads: Vec<&str> = fitted.map(|head| head.id.as_str()).collect();
        if heads.is_empty() {
            continue;
        }
        for emitter in &model.emitters {
            let light = emitter.light.as_ref();
            let kind = light.map(|light| match &light.figures {
                Figures::Intensity(_) => "intensity by direction".to_owned(),
                Figures::OpticalPower { pattern, .. } => {
                    format!("optical power by direction, of pattern {pattern} alone")
                }
            });
            let volt = light.and_then(|light| light.at).map(|at| format!(", at {} V", format_number(at.value(), 2)));
            let of_pattern = emitter.evidence.pattern_index.as_ref().map(|index| format!(", of pattern index {index}"));
            let what = kind.unwrap_or_else(|| "no figures of its light".to_owned());
            let share = light.and_then(|light| light.uncertainty);
            devices.push(Device {
                model: model.id.clone(),
                colour: emitter.colour.clone(),
                grade: emitter.evidence.grade.word(),
                report: text(&emitter.evidence.report),
                date: emitter.evidence.date.map(|day| day.to_string()).unwrap_or_default(),
                what: format!("{what}{}{}", volt.unwrap_or_default(), of_pattern.unwrap_or_default()),
                uncertainty: share
                    .map(|share| format!("{} %", format_number(share.value() * 100.0, 2)))
                    .unwrap_or_default(),
                heads: heads.join(", "),
            });
        }
    }
    let head = |head: &crate::package::Head| Head {
        id: head.id.clone(),
        model: model(head.model).map(|model| model.id.clone()).unwrap_or_default(),
        serial: text(&head.serial),
        circuit: text(&head.circuit),
        output: text(&head.output),
    };
    let statement = |one: &crate::package::Statement| Statement {
        item: one.item.clone(),
        said: match &one.said {
            Said::Answer(answer) => answer.clone(),
            Said::Figure(amount) => amount.to_string(),
        },
        by: one.by.clone(),
        on: one.on.to_string(),
        reference: text(&one.reference),
    };
    let idle = &report.judged.idle_exceptions;
    let exception = |(at, one): (usize, &crate::package::Exception)| Exception {
        stands: match () {
            () if one.until < report.as_of => "over",
            () if one.on > report.as_of => "not yet",
            () if idle.contains(&at) => "matches no finding",
            () => "in force",
        },
        finding: one.finding.clone(),
        accepted_by: one.accepted_by.clone(),
        reference: one.reference.clone(),
        on: one.on.to_string(),
        until: one.until.to_string(),
        reason: one.reason.clone(),
    };
    Register {
        devices,
        heads: package.heads.iter().map(head).collect(),
        statements: package.statements.iter().map(statement).collect(),
        exceptions: package.exceptions.iter().enumerate().map(exception).collect(),
    }
}

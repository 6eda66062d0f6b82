//! `wayproof states`: the truth table of the controller, one row a distinct light.

mod alike;

use std::collections::HashMap;
use std::process::ExitCode;
use std::rc::Rc;

use self::alike::{Alike, Seen};
use super::output::{print, save, say};
use super::setup::{Setup, set_up, width};
use super::{BAD_INPUT, StatesArgs};
use crate::diagnostic::{Diagnostic, render};
use crate::judge::{Finding, except, judge_within};
use crate::measure::{Conduct, Lights, Looks, MOST_LIGHTS, Method, shades};
use crate::quantity::Measure;
use crate::report::{STATES_FORMATS, States, Wishes, colour};
use crate::ruleset::{Ruleset, Strength};

pub(super) fn run(args: &StatesArgs) -> ExitCode {
    let Some(setup) = set_up(&args.judge) else { return ExitCode::from(BAD_INPUT) };
    let Some(format) = STATES_FORMATS.iter().find(|format| format.name == args.format) else {
        return ExitCode::from(BAD_INPUT);
    };
    let conduct = Conduct::new(&setup.package);
    let space = conduct.space();
    let lights = Lights::new(&conduct, MOST_LIGHTS);
    let looked =
        setup.rulesets.first().map(|ruleset| shades(&Looks::new(&conduct, &ruleset.protocol, Method::Angular)));
    let wishes = Wishes { as_of: setup.terms.as_of, width: width(), rows: args.rows, changes: args.changes };
    let mut states = States::new(&conduct, &lights, looked.as_deref(), &setup.rulesets, wishes);
    if space.is_tangled() {
        return tangled(&setup);
    }
    judge_rows(&mut states, &conduct, &setup);
    let text = (format.write)(&states);
    match &args.output {
        Some(path) => save(&text, path, 0),
        None if format.for_people => print(&colour(&text), 0),
        None => print(&text, 0),
    }
}

/// Judges each row by itself, by the rules that a row decides.
fn judge_rows(states: &mut States<'_>, conduct: &Conduct<'_>, setup: &Setup) {
    let mut rulesets: Vec<Ruleset> = setup.rulesets.clone();
    for ruleset in &mut rulesets {
        let decides = |measure| matches!(measure, Measure::Light { .. });
        ruleset.rules.retain(|rule| rule.strength == Strength::Required && decides(rule.quantity.measure));
    }
    let alike = Alike::new(conduct, &rulesets);
    let mut known: HashMap<Seen, Rc<Vec<Finding>>> = HashMap::new();
    let asked: Vec<bool> = states.rows.iter().map(|row| states.is_asked(row)).collect();
    for (row, _) in states.rows.iter_mut().zip(asked).filter(|(_, asked)| *asked) {
        let seen = alike.seen(&row.region);
        if let Some(findings) = known.get(&seen) {
            row.findings = Some(findings.clone());
            continue;
        }
        let within = conduct.within(&row.region);
        let mut judged = judge_within(&within, &rulesets, setup.terms, &row.region);
        if conduct.space().is_tangled() {
            // What was told of earlier rows still holds; this one and those after it are not judged.
            return;
        }
        except(&setup.package, &mut judged.findings, setup.terms.as_of);
        let findings = Rc::new(judged.findings);
        known.insert(seen, findings.clone());
        row.findings = Some(findings);
    }
}

fn tangled(setup: &Setup) -> ExitCode {
    let message = "the conditions are too tangled to look at all states, so there is no table";
    let error = Diagnostic::error("tangled-conditions", message).in_file(&setup.package.file);
    let error = error.help(
        "name inputs that are compared with each other one after the other in [inputs], leave out inputs that switch no lamp, or give each controller a package of its own",
    );
    say(&format!("{}\n", render(&[error], &setup.sources, true)));
    ExitCode::from(BAD_INPUT)
}

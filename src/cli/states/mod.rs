//! `wayproof states`: the truth table of the controller, one row a distinct light.

mod alike;

use std::collections::HashMap;
use std::process::ExitCode;
use std::rc::Rc;

use self::alike::{Alike, Seen};
use super::output::{print, print_for_people, save, say};
use super::setup::{Setup, set_up, width};
use super::{BAD_INPUT, StatesArgs};
use crate::diagnostic::{Diagnostic, Log, Span, render};
use crate::judge::{Finding, LESS_TANGLED, Verdict, except, judge_within};
use crate::logic::{Region, Space};
use crate::measure::{Conduct, Lights, Looks, MOST_LIGHTS, Method, shades};
use crate::package::read_condition;
use crate::quantity::Measure;
use crate::report::{OfRow, STATES_FORMATS, States, When, Wishes};
use crate::ruleset::{Ruleset, Strength};

pub(super) fn run(args: &StatesArgs) -> ExitCode {
    let Some(setup) = set_up(&args.judge) else { return ExitCode::from(BAD_INPUT) };
    let Some(format) = STATES_FORMATS.iter().find(|format| format.name == args.format) else {
        return ExitCode::from(BAD_INPUT);
    };
    let conduct = Conduct::new(&setup.package);
    let space = conduct.space();
    let when = match args.when.as_deref().map(|text| asked(text, &setup)) {
        Some(None) => return ExitCode::from(BAD_INPUT),
        when => when.flatten(),
    };
    let lights = Lights::new(&conduct, MOST_LIGHTS);
    let looked =
        setup.rulesets.first().map(|ruleset| shades(&Looks::new(&conduct, &ruleset.protocol, Method::Angular)));
    let wishes = Wishes { as_of: setup.terms.as_of, width: width(), rows: args.rows, changes: args.changes, when };
    let mut states = States::new(&conduct, &lights, looked.as_deref(), &setup.rulesets, wishes);
    if space.is_tangled() {
        return tangled(&setup);
    }
    judge_rows(&mut states, &conduct, &setup);
    let text = (format.write)(&states);
    match &args.output {
        Some(path) => save(&text, path, 0),
        None if format.for_people => print_for_people(&text, 0),
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
    let judged = |states: &Region| {
        let mut judged = judge_within(&conduct.within(states), &rulesets, setup.terms, states);
        except(&setup.package, &mut judged.findings, setup.terms.as_of);
        judged.findings
    };
    let mut known: HashMap<Seen, Rc<OfRow>> = HashMap::new();
    let asked: Vec<bool> = states.rows.iter().map(|row| states.is_asked(row)).collect();
    for (row, _) in states.rows.iter_mut().zip(asked).filter(|(_, asked)| *asked) {
        let seen = alike.seen(&row.region);
        if let Some(findings) = known.get(&seen) {
            row.findings = Some(findings.clone());
            continue;
        }
        let whole = judged(&row.region);
        // What holds whatever stands open holds with all shut.
        let is_well = |finding: &Finding| {
            finding.scope.mode.is_none() || matches!(finding.verdict, Verdict::Pass | Verdict::NotApplicable)
        };
        let at_rest = if whole.iter().all(is_well) { None } else { alike.at_rest(&row.region) };
        let at_rest = at_rest.map(|states| judged(&states));
        if conduct.space().is_tangled() {
            // What was told of earlier rows still holds; this one and those after it are not judged.
            return;
        }
        let findings = Rc::new(OfRow { whole, at_rest });
        known.insert(seen, findings.clone());
        row.findings = Some(findings);
    }
}

/// The states that a condition of the command line asks for; none where it is mistaken, or no state meets it.
pub(super) fn asked(text: &str, setup: &Setup) -> Option<When> {
    let space = &setup.package.space;
    let source = setup.sources.add("<--when>", text);
    let log = Log::default();
    let condition = read_condition(text, source, space.inputs(), &log);
    let states = condition.as_ref().map(|condition| space.holds(condition));
    if let (Some(condition), Some(states)) = (&condition, &states)
        && states.is_empty()
        && !space.is_tangled()
    {
        let span = Span { source, range: 0..text.len() };
        let error = Diagnostic::error("no-such-state", "no state that can occur meets this condition").at(&span, "");
        // Without `never` there are more states.
        let whole = Space::new(space.inputs(), &[]);
        let met = whole.holds(condition);
        log.push(match whole.first(&met) {
            Some(state) => {
                let setting = whole.words(&whole.witness(&met, &state));
                error.help(format!("the package says with `never` that these do not occur: {setting}"))
            }
            None => error.help("it contradicts itself, whatever the inputs are set to"),
        });
    }
    if log.has_errors() {
        say(&format!("{}\n", render(&log.take(), &setup.sources, true)));
        return None;
    }
    states.map(|states| When { text: text.to_owned(), states })
}

fn tangled(setup: &Setup) -> ExitCode {
    let message = "the conditions are too tangled to look at all states, so there is no table";
    let error = Diagnostic::error("tangled-conditions", message).in_file(&setup.package.file);
    let error = error.help(LESS_TANGLED);
    say(&format!("{}\n", render(&[error], &setup.sources, true)));
    ExitCode::from(BAD_INPUT)
}

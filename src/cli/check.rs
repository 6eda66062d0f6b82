//! `wayproof check`: judge a package and print what was found.

use std::mem::ManuallyDrop;
use std::process::ExitCode;

use super::output::{print, print_for_people, save};
use super::report::refuse;
use super::setup::{set_up, width};
use super::{BAD_INPUT, CheckArgs};
use crate::judge::{VERDICTS, Verdict, judge};
use crate::measure::Conduct;
use crate::report::{FORMATS, Report};

pub(super) fn run(args: &CheckArgs) -> ExitCode {
    let Some(setup) = set_up(&args.judge) else { return ExitCode::from(BAD_INPUT) };
    // The process ends with this command; to take all of this apart first, piece by piece, would only take time.
    let setup = ManuallyDrop::new(setup);
    let conduct = ManuallyDrop::new(Conduct::new(&setup.package));
    let judged = ManuallyDrop::new(judge(&conduct, &setup.rulesets, setup.terms));
    setup.warn_of_idle_exceptions(&judged);
    let only: Vec<Verdict> = VERDICTS
        .iter()
        .filter(|(word, _)| args.only.iter().any(|asked| asked == word))
        .map(|(_, verdict)| *verdict)
        .collect();
    let report = Report {
        conduct: &conduct,
        rulesets: &setup.rulesets,
        judged: &judged,
        as_of: setup.terms.as_of,
        only: &only,
        advice: !args.no_advice,
        width: width(),
    };
    let Some(format) = FORMATS.iter().find(|format| format.name == args.format) else {
        return ExitCode::from(BAD_INPUT);
    };
    let text = (format.write)(&report);
    let status = judged.summary.status().code();
    match &args.output {
        Some(path) if setup.has_read(path) => refuse(&format!("{} is what this is made from", path.display())),
        Some(path) => save(&text, path, status),
        None if format.for_people => print_for_people(&text, status),
        None => print(&text, status),
    }
}

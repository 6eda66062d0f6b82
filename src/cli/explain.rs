//! `wayproof explain`: how one number came about.

use std::process::ExitCode;

use super::output::{print, say};
use super::setup::{set_up, width};
use super::{BAD_INPUT, ExplainArgs};
use crate::diagnostic::{Diagnostic, render};
use crate::judge::{Finding, judge, working};
use crate::measure::Conduct;
use crate::quantity;
use crate::report;

pub(super) fn run(args: &ExplainArgs) -> ExitCode {
    let Some(setup) = set_up(&args.judge) else { return ExitCode::from(BAD_INPUT) };
    let conduct = Conduct::new(&setup.package);
    let judged = judge(&conduct, &setup.rulesets, setup.terms);
    let all = || judged.findings.iter().chain(&judged.cautions);
    // The ruleset may be left out where one finding alone is meant.
    let short = |finding: &&Finding| finding.id.split_once(':').is_some_and(|(_, place)| place == args.finding);
    let only = all().find(short).filter(|_| all().filter(short).count() == 1);
    let Some(finding) = all().find(|finding| finding.id == args.finding).or(only) else {
        let error = Diagnostic::error("unknown-finding", format!("no finding is called `{}`", args.finding));
        let known = all().map(|finding| finding.id.as_str());
        let error = error.nearest(&args.finding, known).help("`wayproof check PACKAGE --format csv` lists their ids");
        say(&format!("{}\n", render(&[error], &setup.sources, true)));
        return ExitCode::from(BAD_INPUT);
    };
    let working = working(&conduct, &setup.rulesets, finding);
    print(&report::explain(&conduct, finding, quantity::find(finding.quantity), &working, width()), 0)
}

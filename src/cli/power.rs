//! `wayproof power`: the load analysis, and what one more lamp changes.

use std::process::ExitCode;

use super::output::{print, save};
use super::report::refuse;
use super::setup::{set_up, width};
use super::states::asked;
use super::{BAD_INPUT, PowerArgs};
use crate::judge::judge;
use crate::measure::Conduct;
use crate::package::Addition;
use crate::report::{Report, changed, colour, load_analysis};

pub(super) fn run(args: &PowerArgs) -> ExitCode {
    let Some(mut setup) = set_up(&args.judge) else { return ExitCode::from(BAD_INPUT) };
    if setup.package.supply.is_none() {
        return refuse("the package has no [supply]: it says not what feeds it, so nothing can be added up");
    }
    let serves = |purpose: &str| setup.package.modes.iter().any(|mode| mode.purpose.as_deref() == Some(purpose));
    let purpose = match args.purpose.as_deref() {
        Some(purpose) if !serves(purpose) => return refuse(&format!("no mode serves the purpose `{purpose}`")),
        Some(purpose) => Some(purpose),
        None => Some("blocking").filter(|purpose| serves(purpose)),
    };
    let asked = match args.when.as_deref().map(|text| asked(text, &setup)) {
        Some(None) => return ExitCode::from(BAD_INPUT),
        asked => asked.flatten(),
    };
    let addition = match args.with.as_deref().map(Addition::parse) {
        Some(Err(why)) => return refuse(&format!("--with: {why}")),
        Some(Ok(addition)) => Some(addition),
        None => None,
    };
    let before = addition.as_ref().map(|_| judge(&Conduct::new(&setup.package), &setup.rulesets, setup.terms));
    if let Some(Err(why)) = addition.as_ref().map(|addition| setup.package.add(addition)) {
        return refuse(&format!("--with: {why}"));
    }
    let conduct = Conduct::new(&setup.package);
    let judged = judge(&conduct, &setup.rulesets, setup.terms);
    let report = Report {
        conduct: &conduct,
        rulesets: &setup.rulesets,
        judged: &judged,
        as_of: setup.terms.as_of,
        only: &[],
        advice: true,
        width: width(),
    };
    let text = match &before {
        Some(before) => changed(&report, before),
        None => match (&asked, purpose) {
            (Some(when), _) => load_analysis(&report, &format!("while {}", when.text), &when.states, true),
            (None, Some(purpose)) => {
                load_analysis(&report, &format!("while {purpose}"), &conduct.purpose(purpose), false)
            }
            (None, None) => load_analysis(&report, "in all states", conduct.space().allowed(), false),
        },
    };
    // A lamp that is asked about has an answer; an analysis is only written.
    let status = if before.is_some() { judged.summary.status().code() } else { 0 };
    match &args.output {
        Some(path) if setup.has_read(path) => refuse(&format!("{} is what this is made from", path.display())),
        Some(path) => save(&text, path, status),
        None => print(&colour(&text), status),
    }
}

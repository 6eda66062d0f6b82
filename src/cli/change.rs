//! `wayproof change`: before and after.

use std::path::Path;
use std::process::ExitCode;

use super::output::{print, print_for_people, write_new};
use super::report::{belongs, named_by, refuse};
use super::setup::width;
use super::together::set_up_together;
use super::{BAD_INPUT, ChangeArgs};
use crate::compare::{causes, differences, figures_lost, in_fewer_states, moved, renamed};
use crate::judge::judge;
use crate::measure::Conduct;
use crate::report::{CHANGE_FORMATS, Changed, Report};

pub(super) fn run(args: &ChangeArgs) -> ExitCode {
    let named = match args.together.verify.as_deref().map(named_by) {
        Some(None) => return ExitCode::from(BAD_INPUT),
        named => named.flatten(),
    };
    let packages = [("old".to_owned(), &args.old), ("new".to_owned(), &args.new)];
    let Some(together) = set_up_together(&packages, &args.together) else { return ExitCode::from(BAD_INPUT) };
    let inputs = together.inputs();
    if let (Some(file), Some(named)) = (&args.together.verify, named) {
        return belongs(file, &named, &inputs);
    }
    let [(_, old), (_, new)] = together.all.as_slice() else { return ExitCode::from(BAD_INPUT) };
    let (rulesets, terms) = (together.rulesets(), old.terms);
    // What only got another name is no change of the vehicle.
    let names = renamed(&old.package, &new.package);
    let (first, renamed) = (names.package.as_ref().unwrap_or(&old.package), names.list.as_slice());
    let conducts = (Conduct::new(first), Conduct::new(&new.package));
    let judged = (judge(&conducts.0, rulesets, terms), judge(&conducts.1, rulesets, terms));
    if renamed.is_empty() {
        old.warn_of_idle_exceptions(&judged.0);
    } else if !old.package.exceptions.is_empty() {
        // By the names that they are written with.
        old.warn_of_idle_exceptions(&judge(&Conduct::new(&old.package), rulesets, terms));
    }
    new.warn_of_idle_exceptions(&judged.1);
    let report = |conduct, judged| Report {
        conduct,
        rulesets,
        judged,
        as_of: terms.as_of,
        only: &[],
        advice: true,
        width: width(),
    };
    let (before, after) = (report(&conducts.0, &judged.0), report(&conducts.1, &judged.1));
    let lines = differences(first, &new.package);
    let mut moved = moved(&judged.0.findings, &judged.1.findings);
    let (was, is) = ((first, judged.0.findings.as_slice()), (&new.package, judged.1.findings.as_slice()));
    in_fewer_states(was.0, is.0, &lines, &mut moved, rulesets, terms);
    let causes = causes(was, is, &lines, &moved, rulesets, terms);
    let not_tried = names.not_tried.iter().cloned().collect();
    let remarks = [together.remarks.clone(), figures_lost(first, &new.package), not_tried].concat();
    let changed = Changed {
        old: &before,
        new: &after,
        lines: &lines,
        moved: &moved,
        causes: &causes,
        renamed,
        asked: &together.asked,
        remarks: &remarks,
        inputs: &inputs,
    };
    let status = changed.status();
    let write = |bytes: &[u8], path: &Path| {
        if old.has_read(path) || new.has_read(path) {
            return refuse(&format!("{} is what this is made from", path.display()));
        }
        match write_new(bytes, path, args.together.force) {
            ExitCode::SUCCESS => ExitCode::from(status),
            failed => failed,
        }
    };
    let ending = args.output.as_deref().and_then(Path::extension).and_then(|ending| ending.to_str());
    let ending = ending.unwrap_or_default().to_lowercase();
    if let Some(path) = args.output.as_ref().filter(|_| ending == "html") {
        if args.format.is_some() {
            return refuse(
                "a file that ends in .html is the page: leave --format out, or give the file another ending",
            );
        }
        return match changed.page() {
            Ok(bytes) => write(&bytes, path),
            Err(why) => refuse(&format!("the page cannot be made: {why}")),
        };
    }
    let find = |name: &str| CHANGE_FORMATS.iter().find(|format| format.name == name);
    let by_ending = || find(&ending).or_else(|| find("table"));
    let Some(format) = args.format.as_deref().map_or_else(by_ending, find) else {
        return ExitCode::from(BAD_INPUT);
    };
    let text = (format.write)(&changed);
    match &args.output {
        Some(path) => write(text.as_bytes(), path),
        None if format.for_people => print_for_people(&text, status),
        None => print(&text, status),
    }
}

//! `wayproof compare`: offers side by side.

use std::process::ExitCode;

use super::output::{print_for_people, write_new};
use super::report::{belongs, named_by, refuse};
use super::setup::width;
use super::together::set_up_together;
use super::{BAD_INPUT, CompareArgs};
use crate::compare::{Offer, offer_rows};
use crate::judge::{Judged, judge};
use crate::measure::Conduct;
use crate::report::{Offers, Report};

/// As many columns as letters.
const LABELS: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";

pub(super) fn run(args: &CompareArgs) -> ExitCode {
    let named = match args.together.verify.as_deref().map(named_by) {
        Some(None) => return ExitCode::from(BAD_INPUT),
        named => named.flatten(),
    };
    if args.offers.len() > LABELS.len() {
        return refuse("more than 26 offers do not stand side by side");
    }
    let packages: Vec<_> = LABELS.chars().map(String::from).zip(&args.offers).collect();
    let Some(together) = set_up_together(&packages, &args.together) else { return ExitCode::from(BAD_INPUT) };
    let inputs = together.inputs();
    if let (Some(file), Some(named)) = (&args.together.verify, named) {
        return belongs(file, &named, &inputs);
    }
    let rulesets = together.rulesets();
    let conducts: Vec<Conduct<'_>> = together.all.iter().map(|(_, setup)| Conduct::new(&setup.package)).collect();
    let judged: Vec<Judged> =
        conducts.iter().zip(&together.all).map(|(conduct, (_, setup))| judge(conduct, rulesets, setup.terms)).collect();
    let Some((_, first)) = together.all.first() else { return ExitCode::from(BAD_INPUT) };
    let report = |(conduct, judged)| Report {
        conduct,
        rulesets,
        judged,
        as_of: first.terms.as_of,
        only: &[],
        advice: true,
        width: width(),
    };
    let reports: Vec<Report<'_>> = conducts.iter().zip(&judged).map(report).collect();
    let all: Vec<Offer<'_>> = conducts.iter().zip(&judged).map(|(conduct, judged)| Offer { conduct, judged }).collect();
    let rows = offer_rows(&all);
    let labels: Vec<String> = together.all.iter().map(|(label, _)| label.clone()).collect();
    let (remarks, inputs) = (together.remarks.as_slice(), inputs.as_slice());
    let offers = Offers { labels: &labels, reports: &reports, rows: &rows, remarks, inputs };
    let Some(path) = &args.output else { return print_for_people(&offers.table(), 0) };
    if together.all.iter().any(|(_, setup)| setup.has_read(path)) {
        return refuse(&format!("{} is what this is made from", path.display()));
    }
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_lowercase();
    let bytes = match ending.as_str() {
        "html" => offers.page(),
        "csv" => Ok(offers.csv().into_bytes()),
        _ => {
            let name = path.display();
            return refuse(&format!("offers are written to a file that ends in .html or .csv, and `{name}` does not"));
        }
    };
    match bytes {
        Ok(bytes) => write_new(&bytes, path, args.together.force),
        Err(why) => refuse(&format!("the document cannot be made: {why}")),
    }
}

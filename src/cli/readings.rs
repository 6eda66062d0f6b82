//! `wayproof readings`: judge what was read on the vehicle.

use std::path::PathBuf;
use std::process::ExitCode;

use super::output::{print_for_people, write_new};
use super::report::refuse;
use super::setup::{Setup, report, set_up, width};
use super::{BAD_INPUT, ReadingsArgs};
use crate::diagnostic::Log;
use crate::judge::{Judged, judge};
use crate::measure::Conduct;
use crate::readings::{ReadingsJudged, Record, beyond, judge_readings, lines, read};
use crate::report::{Report, readings_table};

pub(super) fn run(args: &ReadingsArgs) -> ExitCode {
    let Some(setup) = set_up(&args.judge) else { return ExitCode::from(BAD_INPUT) };
    let conduct = Conduct::new(&setup.package);
    let judged = judge(&conduct, &setup.rulesets, setup.terms);
    let Some(readings) = judged_readings(&setup, &conduct, &judged, &args.files) else {
        return ExitCode::from(BAD_INPUT);
    };
    let report = Report {
        conduct: &conduct,
        rulesets: &setup.rulesets,
        judged: &judged,
        as_of: setup.terms.as_of,
        only: &[],
        advice: true,
        width: width(),
    };
    let text = readings_table(&report, &readings);
    let status = readings.tally.status().code();
    match &args.output {
        Some(path) if setup.has_read(path) => {
            refuse(&format!("{} is one of the files that were read; name another file to write", path.display()))
        }
        Some(path) => {
            let written = write_new(text.as_bytes(), path, args.force);
            if written == ExitCode::SUCCESS { ExitCode::from(status) } else { written }
        }
        None => print_for_people(&text, status),
    }
}

/// Reads and judges files of readings; mistakes go to standard error, and then there is no answer.
pub(super) fn judged_readings(
    setup: &Setup,
    conduct: &Conduct<'_>,
    judged: &Judged,
    files: &[PathBuf],
) -> Option<ReadingsJudged> {
    let log = Log::default();
    let record = read_all(setup, files, &log);
    let lines = lines(conduct, &setup.rulesets, judged);
    let beyond = beyond(&lines, judged);
    // A file that cannot be read whole says nothing about lines.
    let mut readings = record
        .filter(|_| !log.has_errors())
        .and_then(|record| judge_readings((lines, beyond), record, &setup.package.vehicle.name, setup.terms, &log));
    if let Some(readings) = &mut readings {
        readings.open_light_of_another(&setup.package, &setup.rulesets, judged);
    }
    report(&log, &setup.sources);
    readings
}

/// Reads files of readings only to know what they hold; `false` where they have mistakes.
pub(super) fn remember(setup: &Setup, files: &[PathBuf]) -> bool {
    let log = Log::default();
    read_all(setup, files, &log);
    let fine = !log.has_errors();
    report(&log, &setup.sources);
    fine
}

fn read_all(setup: &Setup, files: &[PathBuf], log: &Log) -> Option<Record> {
    let read: Vec<Option<Record>> = files.iter().map(|file| read(file, &setup.sources, log)).collect();
    let mut all = Record::default();
    for one in read {
        all.join(one?, log);
    }
    Some(all)
}

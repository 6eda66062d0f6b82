//! `wayproof readings`: judge what was read on the vehicle.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use super::output::{print_for_people, write_new};
use super::report::refuse;
use super::setup::{Setup, report, set_up, width};
use super::{BAD_INPUT, ReadingsArgs};
use crate::diagnostic::Log;
use crate::judge::{Judged, judge};
use crate::load::files::{InputFile, read_file};
use crate::measure::Conduct;
use crate::readings::{ReadingsJudged, Record, beyond, judge_readings, lines, read};
use crate::report::{Report, named_in, readings_table};

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
    // Before the readings are read, since a sheet names none of them.
    let now = setup.inputs();
    let record = read_all(setup, files, &log);
    let (record, unmarked) = record.unzip();
    let lines = lines(conduct, &setup.rulesets, judged);
    let beyond = beyond(judged);
    // A file that cannot be read whole says nothing about lines.
    let mut readings = record
        .filter(|_| !log.has_errors())
        .and_then(|record| judge_readings((lines, beyond), record, &setup.package.vehicle.name, setup.terms, &log));
    if let Some(readings) = &mut readings {
        readings.open_light_of_another(&setup.package, &setup.rulesets, judged);
        let unmarked = unmarked.unwrap_or_default().into_iter().chain(std::iter::repeat(false));
        let others = files.iter().zip(unmarked).filter_map(|(file, unmarked)| made_from_others(file, &now, unmarked));
        readings.made_from_others = others.collect();
    }
    report(&log, &setup.sources);
    readings
}

/// From which files a sheet was made that are not those of the package now, in words; none where they are the same, or
/// where it does not say from which and its lines have marks, which say as much.
fn made_from_others(file: &Path, now: &[InputFile], unmarked: bool) -> Option<String> {
    let name = file.display().to_string();
    let named = named_in(&String::from_utf8_lossy(&read_file(file, &name).ok()?));
    if named.is_empty() {
        return unmarked.then(|| {
            format!("{name}: nothing says from which package this sheet was made; look whether its lines still ask the same.")
        });
    }
    let short = |file: &InputFile| file.sha256.chars().take(12).collect::<String>();
    let then = |one: &&InputFile| !now.contains(one);
    let mut said: Vec<String> = named
        .iter()
        .filter(then)
        .map(|then| {
            let now = now.iter().find(|known| known.name == then.name);
            let now = now.map_or("not read now".to_owned(), |now| format!("now {}", short(now)));
            format!("{} (SHA-256 {}..., {now})", then.name, short(then))
        })
        .collect();
    let added = now.iter().filter(|one| named.iter().all(|known| known.name != one.name));
    said.extend(added.map(|one| format!("without {}", one.name)));
    (!said.is_empty()).then(|| {
        format!("{name} is a sheet that was made from other files than are read now: {}. Lines that asked otherwise are not shown; look whether the rest still fits.", said.join(", "))
    })
}

/// Reads files of readings only to know what they hold; `false` where they have mistakes.
pub(super) fn remember(setup: &Setup, files: &[PathBuf]) -> bool {
    let log = Log::default();
    read_all(setup, files, &log);
    let fine = !log.has_errors();
    report(&log, &setup.sources);
    fine
}

/// What all files hold, and of each whether it has readings and no mark on any of them.
fn read_all(setup: &Setup, files: &[PathBuf], log: &Log) -> Option<(Record, Vec<bool>)> {
    let read: Vec<Option<Record>> = files.iter().map(|file| read(file, &setup.sources, log)).collect();
    let (mut all, mut unmarked) = (Record::default(), Vec::new());
    for one in read {
        let one = one?;
        unmarked.push(!one.readings.is_empty() && one.readings.iter().all(|reading| reading.mark.is_none()));
        all.join(one, log);
    }
    Some((all, unmarked))
}

//! `wayproof report`: write one document for people to hold, or tell whether one still belongs to its files.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use super::output::{print, say, write_new};
use super::readings::{judged_readings, remember};
use super::setup::{Setup, set_up, width};
use super::{BAD_INPUT, ReportArgs};
use crate::import::texts_of;
use crate::judge::judge;
use crate::load::files::{InputFile, read_file};
use crate::measure::Conduct;
use crate::report::{ABOUT_SHEET, LEFT_OUT, LeftOut, PAPERS, Paper, PaperKind, Report, Write, named_in};

pub(super) fn run(args: &ReportArgs) -> ExitCode {
    if let Some(file) = &args.verify {
        return verify(args, file);
    }
    let (Some(kind), Some(path)) = (&args.kind, &args.output) else { return ExitCode::from(BAD_INPUT) };
    let Some(paper) = PAPERS.iter().find(|paper| paper.name == *kind) else { return ExitCode::from(BAD_INPUT) };
    let write = match by_ending(paper, path) {
        Ok(write) => write,
        Err(why) => return refuse(&why),
    };
    if !paper.takes_readings && !args.readings.is_empty() {
        let kinds = PAPERS.iter().filter(|known| known.takes_readings).map(|known| known.name);
        let kinds = kinds.collect::<Vec<_>>().join(", ");
        return refuse(&format!("a {kind} says nothing of readings; these do: {kinds}"));
    }
    let Some(setup) = set_up(&args.judge) else { return ExitCode::from(BAD_INPUT) };
    let left_out: Vec<LeftOut> = LEFT_OUT
        .iter()
        .filter(|(word, _)| args.leave_out.iter().any(|asked| asked == word))
        .map(|(_, what)| *what)
        .collect();
    if !left_out.is_empty() && paper.name != "sheet" {
        return refuse(&format!("--leave-out is for a sheet; a {} says all there is to say", paper.name));
    }
    let made = match made(&setup, write, (&args.readings, &left_out)) {
        Some(made) => made,
        None => return ExitCode::from(BAD_INPUT),
    };
    match made {
        Ok(_) if setup.has_read(path) => refuse(&format!("{} is what this is made from", path.display())),
        Ok(bytes) => write_new(&bytes, path, args.force),
        Err(why) => refuse(&format!("the document cannot be made: {why}")),
    }
}

/// How a document is written to a file of this name.
fn by_ending(paper: &PaperKind, path: &Path) -> Result<Write, String> {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_lowercase();
    let found = paper.endings.iter().find(|(known, _)| *known == ending).map(|(_, write)| *write);
    found.ok_or_else(|| {
        let endings: Vec<String> = paper.endings.iter().map(|(known, _)| format!(".{known}")).collect();
        let name = path.display();
        format!("a {} is written to a file that ends in {}, and `{name}` does not", paper.name, endings.join(" or "))
    })
}

/// `None` where the readings have mistakes, which are told.
fn made(
    setup: &Setup,
    write: Write,
    (readings, left_out): (&[PathBuf], &[LeftOut]),
) -> Option<Result<Vec<u8>, String>> {
    let conduct = Conduct::new(&setup.package);
    let judged = judge(&conduct, &setup.rulesets, setup.terms);
    setup.warn_of_idle_exceptions(&judged);
    let read = if readings.is_empty() { None } else { Some(judged_readings(setup, &conduct, &judged, readings)?) };
    let report = Report {
        conduct: &conduct,
        rulesets: &setup.rulesets,
        judged: &judged,
        as_of: setup.terms.as_of,
        only: &[],
        advice: true,
        width: width(),
    };
    Some(write(&Paper { report: &report, inputs: &setup.inputs(), readings: read.as_ref(), left_out }))
}

pub(super) fn refuse(why: &str) -> ExitCode {
    say(&format!("error: {why}\n"));
    ExitCode::from(BAD_INPUT)
}

/// Compares the files that a document names with those that the package is made of now.
fn verify(args: &ReportArgs, file: &Path) -> ExitCode {
    let Some(named) = named_by(file) else { return ExitCode::from(BAD_INPUT) };
    // Documents about several packages say whose each file is; the labels are those of `change` and `compare`.
    for (label, command) in [("old: ", "change OLD NEW"), ("A: ", "compare OFFER...")] {
        if named.iter().any(|file| file.name.starts_with(label)) {
            let name = file.display();
            return refuse(&format!(
                "{name} is about several packages: `wayproof {command} --verify FILE` compares it"
            ));
        }
    }
    let Some(setup) = set_up(&args.judge) else { return ExitCode::from(BAD_INPUT) };
    if !remember(&setup, &args.readings) {
        return ExitCode::from(BAD_INPUT);
    }
    let mut now = setup.inputs();
    // What a record was made from besides the package, readings and photos, lies where it says.
    for file in named.iter().filter(|file| !file.name.ends_with(" (shipped)")) {
        let path = setup.folder.join(&file.name);
        if now.iter().all(|known| known.name != file.name)
            && let Ok(bytes) = read_file(&path, &file.name)
        {
            now.push(InputFile::new(&path, &bytes, &setup.folder));
        }
    }
    belongs(file, &named, &now)
}

/// The files that a document says it was made from; a document that says nothing of the kind is refused.
pub(super) fn named_by(file: &Path) -> Option<Vec<InputFile>> {
    let named = texts(file).map(|text| named_in(&text)).and_then(|named| match named.is_empty() {
        true => Err(format!("{} does not say what it was made from", file.display())),
        false => Ok(named),
    });
    named.map_err(|why| refuse(&why)).ok()
}

/// The text of a document; a workbook is packed, and its texts are read as lines.
fn texts(file: &Path) -> Result<String, String> {
    let name = file.display();
    let bytes = read_file(file, &name.to_string()).map_err(|error| error.to_string())?;
    if !bytes.starts_with(b"PK") {
        return Ok(String::from_utf8_lossy(&bytes).into_owned());
    }
    texts_of(&bytes, ABOUT_SHEET).map(|texts| texts.join("\n")).map_err(|why| format!("{name}: {why}"))
}

/// Tells whether a document still belongs to these files.
pub(super) fn belongs(file: &Path, named: &[InputFile], now: &[InputFile]) -> ExitCode {
    let (text, same) = compared(named, now);
    let says = if same { "belongs to these files" } else { "does not belong to these files any more" };
    let only = "Only files are compared; whether somebody altered the document itself is not looked at.";
    print(&format!("{text}\n{} {says}\n{only}\n", file.display()), u8::from(!same))
}

/// One line a file, and whether all are as they were.
fn compared(named: &[InputFile], now: &[InputFile]) -> (String, bool) {
    let mut left = named.to_vec();
    let mut take = |is: &dyn Fn(&InputFile) -> bool| left.iter().position(is).map(|at| left.remove(at)).is_some();
    // First what is as it was, so that of two files of one name the right ones meet.
    let kept: Vec<bool> = now.iter().map(|file| take(&|known| known == file)).collect();
    let mut lines = Vec::new();
    for (file, kept) in now.iter().zip(&kept) {
        let said = match (kept, *kept || take(&|known| known.name == file.name)) {
            (true, _) => "the same",
            (false, true) => "CHANGED",
            (false, false) => "NEW",
        };
        lines.push(format!("{said:<9} {}\n", file.name));
    }
    lines.extend(left.iter().map(|file| format!("{:<9} {}\n", "GONE", file.name)));
    let same = left.is_empty() && kept.iter().all(|kept| *kept);
    (lines.concat(), same)
}

//! `wayproof bid`: requirements as clauses for a bid, and a draft of them looked over.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Subcommand};

use super::output::{print, write_new};
use super::report::{belongs, named_by, refuse};
use super::setup::{has_read, report, today, width};
use super::{BAD_INPUT, date};
use crate::bid::{Bid, Cause, Devices, Fault, Wishes, contradictions, feasible, lint, read_draft};
use crate::diagnostic::{Diagnostic, Log, Sources};
use crate::load::files::{InputFile, read_file, sha256};
use crate::load::reader::Date;
use crate::package::read_models;
use crate::report::{BID_ENDINGS, BidPaper, bid_text, looked_over};
use crate::ruleset::Loader;

#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub(super) struct BidArgs {
    #[command(subcommand)]
    what: Option<What>,

    /// Shipped rulesets, or ruleset or overlay files
    #[arg(value_name = "RULESET", required = true)]
    rulesets: Vec<String>,

    /// Clauses for this use of the vehicle, and those for every use (repeatable); all without
    #[arg(long, value_name = "PURPOSE")]
    purpose: Vec<String>,

    /// The title of the document
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,

    /// Clauses for what is advice, too: the bidder states the figure and need not meet it
    #[arg(long)]
    advice: bool,

    /// The day by which overlays are in force, instead of today
    #[arg(long, value_name = "DATE", value_parser = date)]
    as_of: Option<Date>,

    /// The file to write: .html to read and sign, .csv to fill in, .toml to edit; to the terminal without it
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Write over a file that is there already
    #[arg(long, requires = "output")]
    force: bool,

    /// Tell whether a document still belongs to these rulesets, and which of them changed; nothing is written
    #[arg(long, value_name = "FILE", conflicts_with_all = ["output", "purpose", "title", "advice"])]
    verify: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Look a draft over: demands that cannot be tested, that contradict each other, or that no device meets
    #[command(
        after_help = "Exit status: 0 nothing to change; 1 something no bidder can meet; 3 something that cannot be tested as it stands, or \
that has to be looked up or said before anybody signs; 2 bad input or use."
    )]
    Check {
        /// The draft, as `wayproof bid RULESET... -o FILE.toml` writes it
        #[arg(value_name = "FILE")]
        file: PathBuf,

        /// A catalogue of devices from which a bidder could choose (repeatable)
        #[arg(long, value_name = "FILE")]
        catalogue: Vec<PathBuf>,
    },
}

pub(super) fn run(args: &BidArgs) -> ExitCode {
    if let Some(What::Check { file, catalogue }) = &args.what {
        return check(file, catalogue);
    }
    let write = match args.output.as_deref().map(by_ending).transpose() {
        Ok(write) => write,
        Err(why) => return refuse(&why),
    };
    let named = match args.verify.as_deref().map(named_by) {
        Some(None) => return ExitCode::from(BAD_INPUT),
        named => named.flatten(),
    };
    let as_of = args.as_of.unwrap_or_else(today);
    let (sources, log) = (Sources::default(), Log::default());
    let mut loader = Loader::new(&sources, &log, Vec::new()).on(as_of);
    args.rulesets.iter().for_each(|name| loader.add_anywhere(name));
    let rulesets = loader.rulesets;
    let known: Vec<&str> = rulesets.iter().flat_map(|ruleset| ruleset.purposes()).collect();
    for purpose in args.purpose.iter().filter(|purpose| !log.has_errors() && !known.contains(&purpose.as_str())) {
        let error = Diagnostic::error("unknown-purpose", format!("no limit is for the purpose `{purpose}`"));
        log.suggest(error, purpose, known.iter().copied());
    }
    let failed = log.has_errors();
    report(&log, &sources);
    if failed {
        return ExitCode::from(BAD_INPUT);
    }
    let inputs = inputs(&sources);
    if let (Some(named), Some(file)) = (&named, &args.verify) {
        return belongs(file, named, &inputs);
    }
    let wishes = Wishes { purposes: &args.purpose, advice: args.advice, cautions: false };
    let bid = Bid::of(&rulesets, args.title.as_deref(), &wishes);
    let paper = BidPaper { bid: &bid, rulesets: &rulesets, inputs: &inputs, as_of, width: width() };
    match (write, &args.output) {
        (Some(_), Some(path)) if has_read(&sources, path) => {
            refuse(&format!("{} is what this is made from", path.display()))
        }
        (Some(write), Some(path)) => match write(&paper) {
            Ok(bytes) => write_new(&bytes, path, args.force),
            Err(why) => refuse(&format!("the document cannot be made: {why}")),
        },
        _ => print(&bid_text(&paper), 0),
    }
}

/// How a bid is written to a file of this name.
fn by_ending(path: &Path) -> Result<crate::report::WriteBid, String> {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_lowercase();
    let found = BID_ENDINGS.iter().find(|(known, _)| *known == ending).map(|(_, write)| *write);
    let endings: Vec<String> = BID_ENDINGS.iter().map(|(known, _)| format!(".{known}")).collect();
    found.ok_or_else(|| {
        format!("a bid is written to a file that ends in {}, and `{}` does not", endings.join(" or "), path.display())
    })
}

/// Every file that was read, named as it was given.
fn inputs(sources: &Sources) -> Vec<InputFile> {
    let file =
        |(path, bytes): (PathBuf, Vec<u8>)| InputFile { name: path.display().to_string(), sha256: sha256(&bytes) };
    sources.files().into_iter().map(file).collect()
}

fn check(file: &Path, catalogues: &[PathBuf]) -> ExitCode {
    let name = file.display().to_string();
    let bytes = match read_file(file, &name) {
        Ok(bytes) => bytes,
        Err(error) => return refuse(&error.to_string()),
    };
    let (sources, log) = (Sources::default(), Log::default());
    let bid = read_draft(&name, &bytes, &sources, &log);
    let (models, sounders) = read_models(catalogues, &sources, &log);
    let failed = log.has_errors();
    report(&log, &sources);
    let Some(bid) = bid.filter(|_| !failed) else { return ExitCode::from(BAD_INPUT) };
    let devices = Devices { models: &models, sounders: &sounders };
    let met = (!catalogues.is_empty()).then(|| feasible(&bid, devices));
    let mut faults: Vec<Fault> = contradictions(&bid);
    faults.extend(met.iter().flat_map(|met| met.faults.iter().cloned()));
    faults.extend(lint(&bid, &models, &sounders));
    let line = |fault: &Fault| {
        let at = fault.place.0.as_ref()?.range.start;
        Some(bytes.get(..at)?.iter().filter(|byte| **byte == b'\n').count() + 1)
    };
    let status = match faults.iter().map(|fault| fault.cause).min() {
        Some(Cause::CannotBeMet) => 1,
        Some(Cause::CannotBeTested | Cause::Advice) => 3,
        None => 0,
    };
    print(&looked_over(&name, &faults, met.as_ref(), &line, width()), status)
}

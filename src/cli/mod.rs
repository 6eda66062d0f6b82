//! The command line: its words, and the options that commands share.

mod bid;
mod change;
mod check;
mod compare;
mod explain;
mod import;
mod new;
mod output;
mod power;
mod readings;
mod report;
mod rules;
mod setup;
mod states;
mod together;

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};

use crate::judge::VERDICTS;
use crate::load::reader::Date;

/// Shows, before a vehicle is handed over, whether its warning lights do what the published requirements and the
/// authority having jurisdiction ask.
#[derive(Debug, Parser)]
#[command(name = "wayproof", version, about, max_term_width = 100)]
#[command(
    after_help = "Exit status: 0 every required rule passes on evidence better than an estimate; 1 at least one fails; \
3 none fails, but something is open; 2 bad input or use.\n\n\
The authority having jurisdiction, the law and licensed practice decide; a calculation cannot replace inspection and test."
)]
struct Cli {
    #[command(subcommand)]
    command: Command,

    /// Colour of the output.
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto", value_parser = ["auto", "always", "never"])]
    color: String,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Judge a package and print the table
    Check(CheckArgs),
    /// Show how one number came about: which head gave how much, by which rule and source
    Explain(ExplainArgs),
    /// Print the truth table of the controller: one row a distinct light, with the settings that lead to it
    States(StatesArgs),
    /// Print the load analysis: what each battery and alternator carries, circuit by circuit
    Power(PowerArgs),
    /// Offers side by side, figure by figure; nothing is ranked
    Compare(CompareArgs),
    /// Before and after: what was changed between two packages, and every finding that it moved
    Change(ChangeArgs),
    /// Make a package of a spreadsheet: lamp and circuit schedules from xlsx, ods or csv
    Import(ImportArgs),
    /// Write requirements as clauses for a bid, or look a draft of them over
    Bid(bid::BidArgs),
    /// Write a document to hold: the page, the workbook, the acceptance sheet, the record, the letter on
    /// deficiencies
    Report(ReportArgs),
    /// Judge what was read on the vehicle: a filled acceptance sheet beside limits and calculation
    Readings(ReadingsArgs),
    /// The rulesets that come with the tool: list, read, look over, begin
    Rules(rules::RulesArgs),
    /// Write a small commented package and its catalogue, to be edited
    New {
        /// The folder to make; it must not exist yet
        #[arg(value_name = "DIR")]
        folder: PathBuf,
    },
}

/// What every command that judges a package takes.
#[derive(Debug, Args)]
struct JudgeArgs {
    /// The package file, or - for standard input
    #[arg(value_name = "PACKAGE")]
    package: PathBuf,

    /// A shipped ruleset or a ruleset or overlay file, instead of those the package names (repeatable)
    #[arg(long, value_name = "NAME_OR_FILE")]
    rules: Vec<String>,

    /// A folder to look for catalogues and tables in (repeatable)
    #[arg(long, value_name = "DIR")]
    library: Vec<PathBuf>,

    /// The day of judgement, instead of today
    #[arg(long, value_name = "DATE", value_parser = date)]
    as_of: Option<Date>,

    /// Give no verdict where a limit is known from memory only
    #[arg(long)]
    without_memory: bool,
}

#[derive(Debug, Args)]
struct CheckArgs {
    #[command(flatten)]
    judge: JudgeArgs,

    /// How to write it
    #[arg(long, value_name = "FORMAT", default_value = "table",
          value_parser = clap::builder::PossibleValuesParser::new(crate::report::FORMATS.iter().map(|format| format.name)))]
    format: String,

    /// Leave advice and cautions out of what is printed
    #[arg(long)]
    no_advice: bool,

    /// Print only these verdicts; the exit status stays
    #[arg(long, value_name = "VERDICT,...", value_delimiter = ',',
          value_parser = clap::builder::PossibleValuesParser::new(VERDICTS.iter().map(|(word, _)| *word)))]
    only: Vec<String>,

    /// Write to a file instead of the terminal
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct StatesArgs {
    #[command(flatten)]
    judge: JudgeArgs,

    /// How to write it
    #[arg(long, value_name = "FORMAT", default_value = "table",
          value_parser = clap::builder::PossibleValuesParser::new(crate::report::STATES_FORMATS.iter().map(|format| format.name)))]
    format: String,

    /// Speak only of states in which this holds, for example "warning == high and parked"; conditions are written as
    /// in the package
    #[arg(long, value_name = "CONDITION")]
    when: Option<String>,

    /// Tell for each row what one change of an input does
    #[arg(long)]
    changes: bool,

    /// Print and judge only the first rows; all without
    #[arg(long, value_name = "N", value_parser = rows)]
    rows: Option<usize>,

    /// Write to a file instead of the terminal
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct PowerArgs {
    #[command(flatten)]
    judge: JudgeArgs,

    /// The purpose in whose states the loads are added up; `blocking` where a mode serves it, else all states
    #[arg(long, value_name = "PURPOSE", conflicts_with = "when")]
    purpose: Option<String>,

    /// Speak only of states in which this holds, for example "warning == high and parked"; conditions are written as
    /// in the package
    #[arg(long, value_name = "CONDITION")]
    when: Option<String>,

    /// One more lamp, and what it changes: model=MODEL,like=HEAD, and if they differ from that head's,
    /// circuit=CIRCUIT,pattern=PATTERN,colour=COLOUR
    #[arg(long, value_name = "KEY=VALUE,...")]
    with: Option<String>,

    /// Write to a file instead of the terminal
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct ReportArgs {
    #[command(flatten)]
    judge: JudgeArgs,

    /// Which document
    #[arg(long = "as", value_name = "DOCUMENT", required_unless_present = "verify",
          value_parser = clap::builder::PossibleValuesParser::new(crate::report::PAPERS.iter().map(|paper| paper.name)))]
    kind: Option<String>,

    /// The file to write; its ending says how
    #[arg(short, long, value_name = "FILE", required_unless_present = "verify")]
    output: Option<PathBuf>,

    /// A filled acceptance sheet, for the record and the letter (repeatable)
    #[arg(long, value_name = "FILE")]
    readings: Vec<PathBuf>,

    /// Leave these lines out of a sheet: `advice`, which decides nothing, and what `papers` and labels prove at the desk
    #[arg(long, value_name = "WHAT", value_delimiter = ',',
          value_parser = clap::builder::PossibleValuesParser::new(crate::report::LEFT_OUT.iter().map(|(word, _)| *word)))]
    leave_out: Vec<String>,

    /// Write over a file that is there already
    #[arg(long)]
    force: bool,

    /// Tell whether a document still belongs to these files, and which of them changed; nothing is written
    #[arg(long, value_name = "FILE", conflicts_with_all = ["kind", "output", "force"])]
    verify: Option<PathBuf>,
}

/// What every command that judges several packages takes.
#[derive(Debug, Args)]
struct TogetherArgs {
    /// A shipped ruleset or a ruleset or overlay file, instead of those that the first package names (repeatable)
    #[arg(long, value_name = "NAME_OR_FILE")]
    rules: Vec<String>,

    /// A folder to look for catalogues and tables in (repeatable)
    #[arg(long, value_name = "DIR")]
    library: Vec<PathBuf>,

    /// The day of judgement, instead of today
    #[arg(long, value_name = "DATE", value_parser = date)]
    as_of: Option<Date>,

    /// Give no verdict where a limit is known from memory only
    #[arg(long)]
    without_memory: bool,

    /// Write over a file that is there already
    #[arg(long)]
    force: bool,

    /// Tell whether a document still belongs to these files, and which of them changed; nothing is written
    #[arg(long, value_name = "FILE", conflicts_with_all = ["output", "force"])]
    verify: Option<PathBuf>,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Words behind a change: alone - this change and no other moves the finding; enough by itself - put in \
alone it gives the verdict already, and others touch the finding too; not without it - without it the verdict would be \
what it was, and others touch the finding too; takes part - it moves the figure and does not decide the verdict by \
itself.\n\nExit status: 0 nothing that is required got worse; 1 a required rule fails that did not fail before; 3 none \
does, but one is not shown, too close, on an estimate or excepted in writing that was not, or nothing was judged; 2 bad \
input or use."
)]
struct ChangeArgs {
    /// The package file before
    #[arg(value_name = "OLD")]
    old: PathBuf,

    /// The package file after
    #[arg(value_name = "NEW")]
    new: PathBuf,

    #[command(flatten)]
    together: TogetherArgs,

    /// How to write it; without, what the name of the file says, and a table on the terminal
    #[arg(long, value_name = "FORMAT",
          value_parser = clap::builder::PossibleValuesParser::new(crate::report::CHANGE_FORMATS.iter().map(|format| format.name)))]
    format: Option<String>,

    /// Write to a file: a page where its name ends in .html, else what --format says, or .csv or .json
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Exit status: 0 the offers are written side by side, whatever they come to; 2 bad input or use."
)]
struct CompareArgs {
    /// The package file of each offer, two or more
    #[arg(value_name = "OFFER", num_args = 2.., required = true)]
    offers: Vec<PathBuf>,

    #[command(flatten)]
    together: TogetherArgs,

    /// Write to a file: a page where its name ends in .html, rows for a spreadsheet where it ends in .csv
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct ImportArgs {
    /// The spreadsheet: .xlsx, .ods, .csv, .tsv
    #[arg(value_name = "SHEET")]
    sheet_file: PathBuf,

    /// Only this sheet of a workbook; all that look like schedules without
    #[arg(long, value_name = "NAME")]
    sheet: Option<String>,

    /// The folder for the mapping and the package
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,

    /// The mapping to use, instead of mapping.toml in DIR
    #[arg(long, value_name = "FILE")]
    mapping: Option<PathBuf>,

    /// Take everything but the lamps, and the circuits if the sheet has them, from this package
    #[arg(long, value_name = "PACKAGE")]
    onto: Option<PathBuf>,

    /// A folder of catalogues: of that package, or of the models that the sheet names (repeatable)
    #[arg(long, value_name = "DIR")]
    library: Vec<PathBuf>,

    /// Write over a package that is there already
    #[arg(long)]
    force: bool,
}

#[derive(Debug, Args)]
struct ReadingsArgs {
    #[command(flatten)]
    judge: JudgeArgs,

    /// A filled acceptance sheet, in TOML or CSV; several are taken together
    #[arg(value_name = "FILE", required = true)]
    files: Vec<PathBuf>,

    /// Write to a file instead of the terminal
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Write over a file that is there already
    #[arg(long, requires = "output")]
    force: bool,
}

#[derive(Debug, Args)]
struct ExplainArgs {
    #[command(flatten)]
    judge: JudgeArgs,

    /// The finding's id, as `check` prints it: ruleset:rule@purpose/level/zone; the ruleset may be left out where that is clear
    #[arg(value_name = "FINDING")]
    finding: String,
}

/// Exit status for bad input or use; clap uses the same.
const BAD_INPUT: u8 = 2;

/// Runs the program with these arguments.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version go to standard output with 0, usage errors to standard error with 2.
            let _ = error.print();
            return ExitCode::from(if error.use_stderr() { BAD_INPUT } else { 0 });
        }
    };
    let choice = match cli.color.as_str() {
        "always" => anstream::ColorChoice::Always,
        "never" => anstream::ColorChoice::Never,
        _ => anstream::ColorChoice::Auto,
    };
    choice.write_global();
    match cli.command {
        Command::Check(args) => check::run(&args),
        Command::Explain(args) => explain::run(&args),
        Command::States(args) => states::run(&args),
        Command::Power(args) => power::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Change(args) => change::run(&args),
        Command::Report(args) => report::run(&args),
        Command::Import(args) => import::run(&args),
        Command::Bid(args) => bid::run(&args),
        Command::Readings(args) => readings::run(&args),
        Command::Rules(args) => rules::run(&args),
        Command::New { folder } => new::run(&folder),
    }
}

fn rows(text: &str) -> Result<usize, String> {
    text.parse().ok().filter(|rows| *rows > 0).ok_or_else(|| "write a number of rows, 1 or more".to_owned())
}

fn date(text: &str) -> Result<Date, String> {
    let parsed: Result<toml::value::Datetime, _> = text.parse();
    match parsed {
        Ok(toml::value::Datetime { date: Some(date), time: None, offset: None }) => Ok(date),
        _ => Err("write a date such as 2026-11-25".to_owned()),
    }
}

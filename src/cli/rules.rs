//! `wayproof rules`: the rulesets that come with the tool, one to read, one to check, a first one to edit, schemas.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Subcommand};

use super::BAD_INPUT;
use super::output::{print, say};
use super::setup::{report, width};
use crate::diagnostic::{Log, Sources};
use crate::report::rules;
use crate::ruleset::{Loader, Regions, Ruleset, lint, shipped};
use crate::schema::{KINDS, find};

#[derive(Debug, Args)]
pub(super) struct RulesArgs {
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, Subcommand)]
enum What {
    /// List the rulesets that come with the tool (the same as no word at all)
    List,
    /// Print one as a requirement to be read, with its sources
    Show {
        /// A shipped ruleset, or a ruleset or overlay file
        #[arg(value_name = "NAME_OR_FILE")]
        name: String,
    },
    /// Look a ruleset or overlay over for its author
    Check {
        /// The file
        #[arg(value_name = "FILE")]
        file: String,
    },
    /// Write a small commented ruleset NAME.toml, to be edited
    New {
        /// Its id, of letters, digits, `.`, `_` and `-`
        #[arg(value_name = "NAME")]
        name: String,
    },
    /// Print the JSON Schema of a kind of file, by which an editor completes and checks it
    Schema {
        /// The kind
        #[arg(value_name = "KIND",
              value_parser = clap::builder::PossibleValuesParser::new(KINDS.iter().map(|kind| kind.name)))]
        kind: String,
    },
}

pub(super) fn run(args: &RulesArgs) -> ExitCode {
    match args.what.as_ref().unwrap_or(&What::List) {
        What::List => {
            let all: Option<Vec<Ruleset>> =
                shipped::SHIPPED.iter().map(|(name, _)| loaded(name, false)?.pop()).collect();
            all.map_or(ExitCode::from(BAD_INPUT), |all| print(&rules::list(&all, width()), 0))
        }
        What::Show { name } if name == "colour-regions" => {
            let (sources, log) = (Sources::default(), Log::default());
            let regions = Regions::shipped(&log);
            report(&log, &sources);
            print(&rules::show_regions(&regions, width()), 0)
        }
        What::Show { name } => match loaded(name, false) {
            Some(found) => {
                let shown: Vec<String> = found.iter().map(|ruleset| rules::show(ruleset, width())).collect();
                print(&shown.join("\n"), 0)
            }
            None => ExitCode::from(BAD_INPUT),
        },
        What::Check { file } => match loaded(file, true) {
            Some(found) => {
                let said = |ruleset: &Ruleset| {
                    let limits: usize = ruleset.rules.iter().map(|rule| rule.limits.len()).sum();
                    format!("{}: {} rules, {limits} limits; no mistake\n", ruleset.id, ruleset.rules.len())
                };
                print(&found.iter().map(said).collect::<String>(), 0)
            }
            None => ExitCode::from(BAD_INPUT),
        },
        What::New { name } => new(name),
        What::Schema { kind } => find(kind).map_or(ExitCode::from(BAD_INPUT), |kind| print(kind.text, 0)),
    }
}

/// A ruleset, with what its author should know where that is asked for; `None` where it has mistakes, which are said.
fn loaded(name: &str, linted: bool) -> Option<Vec<Ruleset>> {
    let (sources, log) = (Sources::default(), Log::default());
    let mut loader = Loader::new(&sources, &log, Vec::new());
    loader.add_anywhere(name);
    let found = loader.rulesets;
    if linted && !log.has_errors() {
        found.iter().for_each(|ruleset| lint(ruleset, &log));
    }
    let failed = log.has_errors();
    report(&log, &sources);
    (!failed).then_some(found)
}

const FIRST: &str = include_str!("new/ruleset.toml");

fn new(name: &str) -> ExitCode {
    if name.is_empty() || !name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-')) {
        say(&format!("error: `{name}` cannot name a ruleset\nhelp: use letters, digits, `.`, `_` and `-`\n"));
        return ExitCode::from(BAD_INPUT);
    }
    let path = PathBuf::from(format!("{name}.toml"));
    let shown = path.display();
    let written = std::fs::File::create_new(&path)
        .and_then(|mut file| std::io::Write::write_all(&mut file, FIRST.replace("first-rules", name).as_bytes()));
    match written {
        Ok(()) => {
            print(&format!("{shown}: a first ruleset to edit. Look it over with: wayproof rules check {shown}\n"), 0)
        }
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            say(&format!("error: {shown} is there already; nothing was written, and it stays as it was\n"));
            say(&format!("help: choose another name, or go on with what is there: wayproof rules check {shown}\n"));
            ExitCode::from(BAD_INPUT)
        }
        Err(error) => {
            say(&format!("error: {shown} cannot be made: {error}\n"));
            ExitCode::from(BAD_INPUT)
        }
    }
}

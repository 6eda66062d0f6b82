//! The program: parse the command line, call one command, turn its answer into an exit status.

use std::process::ExitCode;

fn main() -> ExitCode {
    wayproof::cli::run(std::env::args_os())
}

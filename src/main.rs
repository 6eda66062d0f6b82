//! The program: parse the command line, call one command, turn its answer into an exit status.

use std::process::ExitCode;

// Judging makes many small lists and sets for a moment each; the system's allocator takes a sixth of the time.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    wayproof::cli::run(std::env::args_os())
}

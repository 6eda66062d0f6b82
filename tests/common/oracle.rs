//! The programs under `tests/reference` that compute things a second time; the variable WAYPROOF_PYTHON names a Python
//! that has NumPy.

use std::collections::HashMap;
use std::io::Write as _;
use std::process::Command;

use super::root;

/// The rows that a program prints as CSV; nothing, and a word about it, where there is no Python to run it.
pub fn rows_of(program: &str, arguments: &[&str]) -> Option<Vec<HashMap<String, String>>> {
    let Some(python) = std::env::var_os("WAYPROOF_PYTHON") else {
        // Straight to standard error: what a passing test prints with the macros is not shown.
        let _ = writeln!(std::io::stderr(), "SKIPPED: WAYPROOF_PYTHON is not set, so {program} was not run");
        return None;
    };
    let mut command = Command::new(python);
    command.current_dir(root()).env("PYTHONDONTWRITEBYTECODE", "1");
    let output = command.arg(format!("tests/reference/{program}")).args(arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut reader = csv::Reader::from_reader(output.stdout.as_slice());
    Some(reader.deserialize().map(Result::unwrap).collect())
}

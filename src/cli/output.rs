//! Writing results: whole or not at all, colour only where it is wanted, and a closed pipe is no error.

use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use super::BAD_INPUT;
use crate::report::colour;

/// To standard error; colour codes are dropped where it is no terminal.
pub(super) fn say(text: &str) {
    let _ = anstream::stderr().lock().write_all(text.as_bytes());
}

/// To standard output for a person: in colour where it is wanted.
pub(super) fn print_for_people(text: &str, status: u8) -> ExitCode {
    if anstream::stdout().current_choice() == anstream::ColorChoice::Never {
        return print(text, status);
    }
    print(&colour(text), status)
}

/// To standard output. A reader that has seen enough is no error.
pub(super) fn print(text: &str, status: u8) -> ExitCode {
    let is_plain = |byte: &u8| *byte == b'\n' || !byte.is_ascii_control();
    let written = if text.as_bytes().iter().all(is_plain) {
        // Nothing that could be a colour code: no need to look for them letter by letter.
        let mut out = std::io::stdout().lock();
        out.write_all(text.as_bytes()).and_then(|()| out.flush())
    } else {
        let mut out = anstream::stdout().lock();
        out.write_all(text.as_bytes()).and_then(|()| out.flush())
    };
    match written {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            say(&format!("error: the result cannot be written: {error}\n"));
            ExitCode::from(BAD_INPUT)
        }
        _ => ExitCode::from(status),
    }
}

/// To a file: written beside it and renamed, so that no half file is ever seen.
pub(super) fn save(text: &str, path: &Path, status: u8) -> ExitCode {
    // A link is written through, not replaced.
    let real = std::fs::canonicalize(path);
    let path = real.as_deref().unwrap_or(path);
    let mut beside = path.as_os_str().to_owned();
    beside.push(format!(".{}.part", std::process::id()));
    let part = Path::new(&beside);
    let written = std::fs::write(part, text).and_then(|()| std::fs::rename(part, path));
    match written {
        Ok(()) => ExitCode::from(status),
        Err(error) => {
            let _ = std::fs::remove_file(part);
            say(&format!("error: {} cannot be written: {error}\n", path.display()));
            ExitCode::from(BAD_INPUT)
        }
    }
}
